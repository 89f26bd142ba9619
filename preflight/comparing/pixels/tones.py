"""A change of tone: one curve from OLD's levels to NEW's that fits all of a plate, found where levels are even.

Ink stays where it was and board stays bare: what takes ink away or puts it on bare board is an edit and no tone.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.comparing.pixels.leftovers import SAME_LEVELS
from preflight.comparing.pixels.pixels import Levels, Numbers, means, spread
from preflight.measures.raster import masks

FLAT_LEVELS: Final = 3
"""Within a pixel and its eight neighbours, in both plates: even, as tints and slow gradients are."""
CALM_LEVELS: Final = 48
"""Within a square of four pixels: as in a picture, whose mean is taken."""
CALM_PX: Final = 4
LEAST_PX: Final = 60
"""Even pixels that a level needs to be told of."""
FITS: Final = 0.85
"""Share of the pixels of a level that have to agree, and of all that have ink."""
NEAR: Final = 2
"""Levels that agree."""
LEAST_INK: Final = 0.1
"""Of a level stays at least this share, or it is no tone."""
STEEPEST: Final = 5
SOME_AREA: Final = 0.01
"""Of the area that has ink."""
BAND_PX: Final = 512


def found(old: Levels, new: Levels, inside: NDArray[np.bool_]) -> Numbers | None:
    """The curve from OLD to NEW: a level for each of 256, or None where no curve fits or none is needed.

    Args:
        old: a plate.
        new: a plate of the same shape.
        inside: pixels that count.
    """
    even = np.zeros((256, 256), np.int64)
    every = np.zeros((256, 256), np.int64)
    for top in range(0, old.shape[0], BAND_PX):
        rows = slice(top, top + BAND_PX)
        even += _even(old[rows], new[rows], inside[rows])
    if even[1 + SAME_LEVELS :].sum() < LEAST_PX:
        for top in range(0, old.shape[0], BAND_PX):
            rows = slice(top, top + BAND_PX)
            every += _counted(old[rows][inside[rows]], new[rows][inside[rows]])
        even = every
    return _curve(even)


def greatest(curve: Numbers, old: Levels, inside: NDArray[np.bool_]) -> float:
    """The greatest change of tone in points, signed, over levels that cover some area of OLD."""
    counts = np.bincount(old[inside], minlength=256)
    counts[: 1 + SAME_LEVELS] = 0
    change = curve - np.arange(256, dtype=np.float32)
    order = np.argsort(-np.abs(change), kind="stable")
    covers = np.cumsum(counts[order])
    return float(change[order[np.searchsorted(covers, SOME_AREA * covers[-1])]] / 2.55) if covers[-1] else 0.0


def _even(old: Levels, new: Levels, inside: NDArray[np.bool_]) -> NDArray[np.int64]:
    """How many pixels have which level in OLD and in NEW, where both are even, (256, 256); with means in pictures."""
    rough = np.maximum(spread(old), spread(new))
    flat = (rough <= FLAT_LEVELS) & inside
    counts = _counted(old[flat], new[flat])
    height, width = (length // CALM_PX * CALM_PX for length in old.shape)
    if not height or not width:
        return counts
    calm = masks.coarse(rough[:height, :width], CALM_PX) <= CALM_LEVELS
    calm &= ~masks.coarse((flat | ~inside)[:height, :width], CALM_PX)
    if not calm.any():
        return counts
    middles = [np.rint(means(part[:height, :width], CALM_PX)[calm]).astype(np.uint8) for part in (old, new)]
    return counts + CALM_PX**2 * _counted(*middles)


def _counted(old: Levels, new: Levels) -> NDArray[np.int64]:
    """How many pixels have which level in OLD (rows) and in NEW (columns)."""
    return np.bincount(old.astype(np.intp) * 256 + new, minlength=65536).reshape(256, 256)


def _curve(counts: NDArray[np.int64]) -> Numbers | None:
    """The curve through the middle of each level's counts; None where they do not lie on one, or nothing changes."""
    totals = counts.sum(1)
    running = counts.cumsum(1)
    middle = (running >= np.maximum(1, (totals + 1) // 2)[:, None]).argmax(1)
    if (
        totals[: 1 + SAME_LEVELS].sum()
        and (middle[: 1 + SAME_LEVELS] > 2 * SAME_LEVELS)[totals[: 1 + SAME_LEVELS] > 0].any()
    ):
        return None
    low, high = np.maximum(middle - NEAR, 0), np.minimum(middle + NEAR, 255)
    levels = np.arange(256)
    agree = running[levels, high] - np.where(low > 0, running[levels, low - 1], 0)
    inked = levels > SAME_LEVELS
    told = inked & (totals >= LEAST_PX)
    fit = told & (agree >= FITS * totals)
    if not fit.any() or totals[fit].sum() < FITS * totals[told].sum():
        return None
    changed = fit & (np.abs(middle - levels) > SAME_LEVELS)
    if totals[changed].sum() < SOME_AREA * totals[told].sum():
        return None
    knots, values = np.append(0, levels[fit]), np.append(0, middle[fit])
    if (values[1:] < np.maximum(1, LEAST_INK * knots[1:])).any():
        return None
    rise, run = np.diff(values), np.diff(knots)
    if (rise < -NEAR).any() or (rise > STEEPEST * run + NEAR).any():
        return None
    curve = np.interp(levels, knots, values)
    curve[knots[-1] + 1 :] = np.clip(levels[knots[-1] + 1 :] + values[-1] - knots[-1], 0, 255)
    return np.asarray(curve, np.float32)
