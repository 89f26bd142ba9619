"""What a pair of plates still differs by once a shift and a change of tone are undone and edges have a little play.

An edge that stands ``PLAY_MM`` off is the same edge: that much another grid phase makes. Pictures that were compressed
anew differ a little everywhere; such noise is told by how the differences scatter about their middle in squares of
``NOISE_PX`` pixels, and forgiven up to ``MOST_NOISE`` levels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.comparing.pixels.pixels import Levels, Numbers, around, covered, moved, softened, spread, sums

PLAY_MM: Final = 0.015
SAME_LEVELS: Final = 2
"""Levels of 255 that say nothing: rounding, re-quantisation. A step of tone of 2 % is 5."""
MOST_NOISE: Final = 16.0
"""6 %: what scatters more than this is another picture."""
NOISE_REACH: Final = 5.5
"""How far noise reaches, of its mean: 4.4 standard deviations."""
NOISE_PX: Final = 16
OFF_BY_NOISE: Final = 0.2
"""Of how far noise reaches the middle of a square may be off, or the square differs."""
BAND_PX: Final = 256
"""Rows that are worked on at once, a multiple of ``NOISE_PX``."""
MARGIN_PX: Final = 4
PLAY_WHEN_SOFT: Final = np.float32(0.6)
"""What is left of the play of an edge when it is softened."""
MADE_UP: Final = 0.2
"""Share of an edge, softened, by which pixels half-way between two are off at most."""
EDGE_LEVELS: Final = 16
WHOLE_PX: Final = 0.02
"""A shift this near to whole pixels needs no pixels in between."""


@dataclass(frozen=True)
class Undone:
    """What OLD is put through before it is held against NEW."""

    shift_px: tuple[float, float] = (0.0, 0.0)
    """Down and to the right."""
    curve: NDArray[np.float32] | None = None
    """The level in NEW for each of the 256 of OLD."""

    @property
    def changes(self) -> bool:
        """Whether anything is undone."""
        return self.shift_px != (0.0, 0.0) or self.curve is not None

    @property
    def in_between(self) -> bool:
        """Whether pixels in between are made up, which is only near the truth."""
        return any(abs(side - round(side)) > WHOLE_PX for side in self.shift_px)


NOTHING: Final = Undone()


def roughness(shift_px: tuple[float, float]) -> float:
    """How much pixels have to be made up for a shift: 0 for whole pixels, 1 half-way between."""
    return max(4 * part * (1 - part) for part in (side % 1 for side in shift_px))


def leftover(old: Levels, new: Levels, dpi: float, undone: Undone = NOTHING) -> Levels:
    """By how much each pixel differs, 0 where it is the same and where a shift brings in what is off the plate.

    Args:
        old: a plate, (height, width).
        new: a plate of the same shape.
        dpi: of both.
        undone: what is undone first.
    """
    left = np.zeros(new.shape, np.uint8)
    if undone is not NOTHING:
        for top in range(0, new.shape[0], BAND_PX):
            rows = slice(top, min(new.shape[0], top + BAND_PX))
            left[rows] = _of_band(old, new, dpi, undone, rows, slice(0, new.shape[1]))
        fill_unknown(left, undone)
        return left
    for top in range(0, new.shape[0], BAND_PX):
        rows = slice(top, min(new.shape[0], top + BAND_PX))
        columns = _differing(old[rows], new[rows])
        if columns.stop > columns.start:
            left[rows, columns] = _of_band(old, new, dpi, undone, rows, columns)
    return left


def _differing(old: Levels, new: Levels) -> slice:
    """Columns in which levels differ by more than rounding, whole squares of noise."""
    if np.array_equal(old, new):
        return slice(0, 0)
    found = np.flatnonzero(((np.maximum(old, new) - np.minimum(old, new)) > SAME_LEVELS).any(0))
    if not len(found):
        return slice(0, 0)
    left = int(found[0]) // NOISE_PX * NOISE_PX
    return slice(left, min(old.shape[1], -(-(int(found[-1]) + 1) // NOISE_PX) * NOISE_PX))


def _of_band(old: Levels, new: Levels, dpi: float, undone: Undone, rows: slice, columns: slice) -> Levels:
    """The leftover in some rows and columns."""
    wide = tuple(slice(side.start - MARGIN_PX, side.stop + MARGIN_PX) for side in (rows, columns))
    play = np.float32(PLAY_MM * dpi / 25.4)
    if undone.in_between:
        differs, allowed = _softly(old, new, play, undone, wide)
    else:
        differs, allowed = _sharply(old, new, play, undone, wide)
    inner = (slice(MARGIN_PX, -MARGIN_PX), slice(MARGIN_PX, -MARGIN_PX))
    return _beyond(differs[inner], allowed[inner] + SAME_LEVELS)


def _sharply(
    old: Levels, new: Levels, play: np.float32, undone: Undone, wide: tuple[slice, ...]
) -> tuple[Numbers, Numbers]:
    """By how much pixels differ and may differ, after a shift by whole pixels."""
    down, right = (round(side) for side in undone.shift_px)
    rows, columns = wide
    ours = around(old, slice(rows.start - down, rows.stop - down), slice(columns.start - right, columns.stop - right))
    theirs = around(new, rows, columns)
    allowed = play * np.maximum(spread(ours), spread(theirs))
    held = ours.astype(np.float32)
    if undone.curve is None:
        return theirs - held, allowed
    return _toned(theirs.astype(np.float32), held, undone.curve[ours], allowed)


def _softly(
    old: Levels, new: Levels, play: np.float32, undone: Undone, wide: tuple[slice, ...]
) -> tuple[Numbers, Numbers]:
    """The same, after a shift by parts of pixels: both are softened, and pixels made up in between are a little off.

    A pixel of NEW that lies between the levels of those pixels of OLD that it covers is no difference.
    """
    rows, columns = wide
    held = moved(old, undone.shift_px, rows, columns, undone.curve)
    theirs = softened(
        around(new, slice(rows.start - 2, rows.stop + 2), slice(columns.start - 2, columns.stop + 2)).astype(np.float32)
    )
    rough = roughness(undone.shift_px)
    allowed = (PLAY_WHEN_SOFT * play + np.float32(MADE_UP * rough)) * np.maximum(spread(held), spread(theirs))
    differs = theirs - held
    if undone.curve is not None:
        differs, allowed = _toned(theirs, moved(old, undone.shift_px, rows, columns), held, allowed)
    least, most = covered(old, undone.shift_px, rows, columns)
    if undone.curve is not None:
        least, most = (np.rint(undone.curve[ends]).astype(np.uint8) for ends in (least, most))
    sharp = around(new, rows, columns)
    slack = SAME_LEVELS + play * (most.astype(np.float32) - least)
    allowed[(sharp >= least - slack) & (sharp <= most + slack)] = 255
    return differs, allowed


def _toned(theirs: Numbers, ours: Numbers, held: Numbers, allowed: Numbers) -> tuple[Numbers, Numbers]:
    """By how much pixels differ from OLD through a curve, and may; along an edge they may lie between that and OLD.

    A pixel that an edge fills in part has the level of none of the tints beside it, and so no place on the curve.
    """
    change = held - ours
    play = np.where(spread(ours) > EDGE_LEVELS, spread(change), 0)
    least, most = np.minimum(held, held - np.sign(play) * change), np.maximum(held, held - np.sign(play) * change)
    differs = theirs - held
    given = np.abs(differs) - np.abs(theirs - np.clip(theirs, least - play, most + play))
    return differs, allowed + given + 1


def _beyond(differs: Numbers, allowed: Numbers) -> Levels:
    """Differences that are more than is allowed and more than the noise about them."""
    size = np.abs(differs)
    over = size > allowed
    if over.any():
        height, width = over.shape
        ends = ((0, -height % NOISE_PX), (0, -width % NOISE_PX))
        if any(ends[0] + ends[1]):
            differs, allowed = (np.pad(part, ends, "symmetric") for part in (differs, allowed))
            over = np.pad(over, ends, "symmetric")
        many = sums((np.abs(differs) >= 1).view(np.uint8), NOISE_PX) > NOISE_PX**2 / 2
        _without_noise(_squares(differs), _squares(allowed), _squares(over), *np.nonzero(many))
        over = over[:height, :width]
    return np.where(over, np.clip(np.rint(size), 1, 255), 0).astype(np.uint8)


def _without_noise(
    differs: Numbers, allowed: Numbers, over: NDArray[np.bool_], row: NDArray[np.intp], column: NDArray[np.intp]
) -> None:
    """Takes what is only noise out of ``over``, in some squares of those that all three are cut into."""
    if not len(row):
        return
    parts = differs[row, :, column, :]
    middle = np.median(parts[:, ::2, ::2], (1, 2), keepdims=True)
    scattered = np.abs(parts - middle)
    noise = np.minimum(MOST_NOISE, NOISE_REACH * np.minimum(scattered, MOST_NOISE).mean((1, 2), keepdims=True))
    seen = np.abs(parts) > allowed[row, :, column, :] + noise
    seen |= (np.abs(middle) > SAME_LEVELS + OFF_BY_NOISE * noise) & (scattered <= noise)
    over[row, :, column, :] = seen


def fill_unknown(left: Levels, undone: Undone, before: Levels | None = None) -> None:
    """Puts what was there before, or nothing, where a shift brings in what is off the plate.

    At its other ends it takes no more than that, since what is made up there rests on pixels off the plate.
    """
    was = np.zeros_like(left) if before is None else before
    for axis, side in enumerate(undone.shift_px):
        if not side:
            continue
        part, old = np.moveaxis(left, axis, 0), np.moveaxis(was, axis, 0)
        reach = min(len(part), int(np.ceil(abs(side))) + 2)
        strip = slice(0, reach) if side > 0 else slice(len(part) - reach, len(part))
        part[strip] = old[strip]
        if undone.in_between:
            for end in (slice(0, 3), slice(-3, None)):
                np.minimum(part[end], old[end], out=part[end])


def _squares(values: NDArray[Any]) -> NDArray[Any]:
    """A view (rows of squares, NOISE_PX, columns of squares, NOISE_PX)."""
    return values.reshape(values.shape[0] // NOISE_PX, NOISE_PX, -1, NOISE_PX)
