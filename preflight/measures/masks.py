"""Arithmetic on pixel masks: taking off edges, counting joined regions. Rows first, row 0 is the top."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]


def inked(tints: NDArray[np.uint8], tint_percent: float) -> Mask:
    """Pixels at or above a tint in %; 2 % of 255 is 5.1 and 5 counts, since plates are rounded to whole steps."""
    return tints >= max(1, int(tint_percent * 2.55))


def taken_off(mask: Mask, radius_px: float) -> Mask:
    """What is left when a disc of the radius has gone round inside every edge (erosion; outside the array is bare)."""
    left = mask.copy()
    for shifted in _shifted(mask, radius_px):
        left &= shifted
    return left


def put_on(mask: Mask, radius_px: float) -> Mask:
    """The mask grown by a disc of the radius (dilation)."""
    grown = mask.copy()
    for shifted in _shifted(mask, radius_px):
        grown |= shifted
    return grown


def _shifted(mask: Mask, radius_px: float) -> Iterator[Mask]:
    """The mask moved to every pixel of a disc, the centre excepted."""
    reach = int(radius_px)
    padded = np.pad(mask, reach)
    height, width = mask.shape
    for down in range(-reach, reach + 1):
        half = int(np.sqrt(max(0.0, radius_px**2 - down**2)))
        for across in range(-half, half + 1):
            if down or across:
                yield padded[reach + down : reach + down + height, reach + across : reach + across + width]


def without_fringes(mask: Mask, radius_px: float) -> Mask:
    """The mask without what is narrower than the disc (opening)."""
    return put_on(taken_off(mask, radius_px), radius_px) & mask


def solid_squares(mask: Mask, side: int) -> Mask:
    """Upper-left corners of the squares of ``side`` pixels that are wholly set."""
    rows = mask[: max(0, mask.shape[0] - side + 1)].copy()
    for shift in range(1, side):
        rows &= mask[shift : shift + len(rows)]
    columns = rows[:, : max(0, rows.shape[1] - side + 1)].copy()
    for shift in range(1, side):
        columns &= rows[:, shift : shift + columns.shape[1]]
    return columns


@dataclass(frozen=True)
class Region:
    """Pixels that hang together, corners included: half-open row and column ranges and a count."""

    rows: tuple[int, int]
    columns: tuple[int, int]
    pixels: int
    first: tuple[int, int]
    """Row and column of one of its pixels."""


def regions(mask: Mask) -> list[Region]:
    """The joined regions of a mask, largest first.

    Works on runs of set pixels: runs of neighbouring rows that touch are edges of a graph, whose parts are found by
    hooking each root to the smaller one and then shortening all paths.
    """
    set_rows = np.flatnonzero(mask.any(1))
    if not len(set_rows):
        return []
    # Most of a plate is often bare: only the rows that hold something are looked through.
    top_row = int(set_rows[0])
    row, start, stop = _runs(mask[top_row : int(set_rows[-1]) + 1])
    row += top_row
    label = _joined(len(row), *_touching(row, start, stop, mask.shape[1]))
    _, label = np.unique(label, return_inverse=True)
    count = int(label.max()) + 1
    pixels = np.bincount(label, weights=stop - start, minlength=count)
    top, bottom, left, right = (np.full(count, fill) for fill in (mask.shape[0], 0, mask.shape[1], 0))
    np.minimum.at(top, label, row)
    np.maximum.at(bottom, label, row + 1)
    np.minimum.at(left, label, start)
    np.maximum.at(right, label, stop)
    first = np.full(count, len(row))
    np.minimum.at(first, label, np.arange(len(row)))
    return [
        Region(
            (int(top[i]), int(bottom[i])),
            (int(left[i]), int(right[i])),
            int(pixels[i]),
            (int(row[first[i]]), int(start[first[i]])),
        )
        for i in np.argsort(-pixels, kind="stable")
    ]


def region_mask(mask: Mask, region: Region) -> Mask:
    """The pixels of one region of a mask, as a mask of the same size."""
    result = np.zeros_like(mask)
    result[slice(*region.rows), slice(*region.columns)] = region_pixels(mask, region)
    return result


def region_pixels(mask: Mask, region: Region) -> Mask:
    """The pixels of one region of a mask, within the region's own rows and columns."""
    window = mask[slice(*region.rows), slice(*region.columns)]
    row, start, stop = _runs(window)
    label = _joined(len(row), *_touching(row, start, stop, window.shape[1]))
    at = (region.first[0] - region.rows[0], region.first[1] - region.columns[0])
    wanted = label[np.flatnonzero((row == at[0]) & (start == at[1]))[0]]
    inner = np.zeros_like(window)
    for i in np.flatnonzero(label == wanted):
        inner[row[i], start[i] : stop[i]] = True
    return inner


def _runs(mask: Mask) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Row, first column and column after the last of every run of set pixels, in reading order."""
    steps = np.diff(np.pad(mask, ((0, 0), (1, 1))).view(np.int8), axis=1)
    row, start = np.nonzero(steps == 1)
    return row, start, np.nonzero(steps == -1)[1]


def _touching(
    row: NDArray[np.int64], start: NDArray[np.int64], stop: NDArray[np.int64], width: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of runs in neighbouring rows that touch, corners included."""
    span = width + 2
    below = (row + 1) * span
    first = np.searchsorted(row * span + stop, below + start, side="left")
    after = np.searchsorted(row * span + start, below + stop, side="right")
    many = np.maximum(after - first, 0)
    upper = np.repeat(np.arange(len(row)), many)
    offset = np.arange(len(upper)) - np.repeat(np.cumsum(many) - many, many)
    return upper, first[upper] + offset


def _joined(count: int, a: NDArray[np.int64], b: NDArray[np.int64]) -> NDArray[np.int64]:
    """The smallest member of each node's part of the graph."""
    label = np.arange(count)
    while True:
        low, high = np.minimum(label[a], label[b]), np.maximum(label[a], label[b])
        apart = low != high
        if not apart.any():
            return label
        np.minimum.at(label, high[apart], low[apart])
        while not np.array_equal(label, shorter := label[label]):
            label = shorter
