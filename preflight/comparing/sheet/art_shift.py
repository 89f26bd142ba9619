"""By how much plates are shifted against each other, to a hundredth of a pixel: gradients, from coarse to fine.

A small shift s changes a picture by its gradient times s (Lucas and Kanade, 1981); s is solved for by least squares,
with weights that leave out what was edited, first on means of 4 x 4 pixels, then finer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

STEEP: Final = 4.0
"""Levels of 255 a pixel: flatter places tell nothing."""
ROUNDS: Final = 4
FEWEST: Final = 30


@dataclass(frozen=True)
class Shift:
    """Of one plate, in pixels: columns to the right, rows down."""

    right: float
    down: float
    weight: float
    """How much of it there is to tell by: sum of the squared slopes."""


def shift_of(old: NDArray[np.uint8], new: NDArray[np.uint8], mask: Mask) -> Shift:
    """How far NEW is shifted against OLD, up to some five pixels; weight 0 where there is nothing to tell by."""
    right = down = weight = 0.0
    old, new, mask = _about_ink(old, new, mask)
    for block in (4, 2, 1):
        one, other, inside = _means(old, block), _means(new, block), _all_in(mask, block)
        whole = round(right / block), round(down / block)
        one, other, inside = _overlap(one, other, inside, *whole)
        found = _solved(_smooth(one), _smooth(other), inside)
        if found is None:
            continue
        right, down = (whole[0] + found[0]) * block, (whole[1] + found[1]) * block
        weight = found[2] * block * block
    return Shift(right, down, weight)


def _about_ink(
    old: NDArray[np.uint8], new: NDArray[np.uint8], mask: Mask
) -> tuple[NDArray[np.uint8], NDArray[np.uint8], Mask]:
    """The part that has ink, and some pixels of bare board round it."""
    inked = (old > 0) | (new > 0)
    rows, columns = np.flatnonzero(inked.any(1)), np.flatnonzero(inked.any(0))
    if not len(rows):
        return old, new, mask
    part = slice(max(0, rows[0] - 8), rows[-1] + 9), slice(max(0, columns[0] - 8), columns[-1] + 9)
    return old[part], new[part], mask[part]


def _means(ink: NDArray[np.uint8], block: int) -> Floats:
    if block == 1:
        return ink.astype(np.float32)
    height, width = (side // block * block for side in ink.shape)
    rows = np.add.reduceat(ink[:height, :width], np.arange(0, height, block), axis=0, dtype=np.float32)
    sums: Floats = np.add.reduceat(rows, np.arange(0, width, block), axis=1)
    return sums / np.float32(block * block)


def _all_in(mask: Mask, block: int) -> Mask:
    if block == 1:
        return mask
    height, width = (side // block * block for side in mask.shape)
    rows = np.logical_and.reduceat(mask[:height, :width], np.arange(0, height, block), axis=0)
    return np.asarray(np.logical_and.reduceat(rows, np.arange(0, width, block), axis=1))


def _overlap(one: Floats, other: Floats, inside: Mask, right: int, down: int) -> tuple[Floats, Floats, Mask]:
    """Both without the whole pixels that they are known to be shifted by."""
    height, width = one.shape
    rows, columns = slice(max(0, -down), height - max(0, down)), slice(max(0, -right), width - max(0, right))
    moved = slice(rows.start + down, rows.stop + down), slice(columns.start + right, columns.stop + right)
    return one[rows, columns], other[moved], inside[rows, columns] & inside[moved]


def _smooth(ink: Floats) -> Floats:
    """Means by 1 4 6 4 1 both ways: the slope of an edge is then known where it is."""
    for _ in (0, 1):
        padded = np.pad(ink, ((2, 2), (0, 0)), mode="edge")
        found = padded[1:-3] + padded[3:-1]
        found *= 4
        found += padded[:-4]
        found += padded[4:]
        found += 6 * padded[2:-2]
        found /= 16
        ink = found.T
    return ink


def _solved(one: Floats, other: Floats, inside: Mask) -> tuple[float, float, float] | None:
    """Shift in pixels right and down, and its weight."""
    if min(one.shape) < 5:
        return None
    mean = (one + other) / 2
    down, right = (np.asarray(slope, np.float32) for slope in np.gradient(mean))
    use = inside & (np.abs(down) + np.abs(right) > STEEP)
    if np.count_nonzero(use) < FEWEST:
        return None
    slopes = np.column_stack([right[use], down[use]]).astype(np.float64)
    change = (one - other)[use].astype(np.float64)
    weights = np.ones(len(change))
    right_down = 0.0, 0.0
    for _ in range(ROUNDS):
        weighted = slopes * weights[:, None]
        inverse = np.linalg.pinv(weighted.T @ slopes, rcond=1e-3, hermitian=True)
        shift = np.asarray(inverse @ (weighted.T @ change), np.float64).reshape(2)
        right_down = float(shift[0]), float(shift[1])
        left = change - slopes @ shift
        spread = max(1.0, 1.5 * float(np.median(np.abs(left))))
        weights = 1 / (1 + (left / (2 * spread)) ** 2) ** 2
    return *right_down, float((slopes**2).sum())
