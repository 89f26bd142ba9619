"""Arithmetic on pixel masks: taking off edges, counting joined regions. Rows first, row 0 is the top.

``scipy.ndimage`` has most of it, and is the referee of the tests; it is not used here because it is slower at what is
asked: growing a mask of a sheet by a pixel or three takes 4 to 10 times as long, opening levels 12 times, and labelling
the regions of a sheet that holds one patch 80 times, as it looks at every pixel; full of type it takes three quarters.
Importing it takes a quarter of a second of every check.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
HALF_FILLED = 0.4
Tint = TypeVar("Tint", np.bool_, np.uint16)


def inked(tints: NDArray[np.uint8], tint_percent: float) -> Mask:
    """Pixels at or above a tint in %; 2 % of 255 is 5.1 and 5 counts, since plates are rounded to whole steps."""
    return tints >= max(1, int(tint_percent * 2.55))


def taken_off(mask: Mask, radius_px: float) -> Mask:
    """What is left when a disc of the radius has gone round inside every edge (erosion; outside the array is bare)."""
    left = mask.copy()
    for shifted in _shifted(mask, radius_px):
        left &= shifted
    return left


@dataclass(frozen=True)
class Ring:
    """Pixels of a mask, by number as it is flattened, and for each its four neighbours further in; else itself."""

    pixels: NDArray[np.intp]
    inward: NDArray[np.intp]

    @classmethod
    def between(cls, outer: Mask, inner: Mask, first: int) -> Ring:
        """Pixels of a mask that another one lacks; ``first``: number of the upper-left pixel of both."""
        pixels, flat = np.flatnonzero(outer & ~inner), inner.ravel()
        beside = np.clip(pixels + np.array([[-1], [1], [-inner.shape[1]], [inner.shape[1]]]), 0, len(flat) - 1)
        return cls(pixels + first, np.where(flat[beside], beside, pixels) + first)


@dataclass(frozen=True)
class EdgePixels:
    """Pixels along the edge of a mask: ink that ends there fills them by a part only, and is solid for all that."""

    outer: Ring
    """They may lie outside for the most part, and are taken for what is beside them."""
    inner: Ring
    """They are taken for what is beside them where they are about half filled."""

    @classmethod
    def of(cls, mask: Mask) -> EdgePixels:
        """Those of a mask."""
        rows = np.flatnonzero(mask.any(1))
        first, last = (int(rows[0]), int(rows[-1]) + 1) if len(rows) else (0, 1)
        own = mask[first:last]
        once = _surrounded(own)
        start = first * mask.shape[1]
        return cls(Ring.between(own, once, start), Ring.between(once, _surrounded(once), start))

    @cached_property
    def _of_inner(self) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """For what stands beside the outer pixels: its place among the inner ones, and whether it is one of them."""
        last = max(0, len(self.inner.pixels) - 1)
        at = np.minimum(np.searchsorted(self.inner.pixels, self.outer.inward), last)
        return at, (self.inner.pixels[at] == self.outer.inward) if len(self.inner.pixels) else np.zeros(at.shape, bool)

    def missing(self, tints: NDArray[np.uint8]) -> int:
        """Levels that these pixels of a plate lack of what stands beside them."""
        flat = tints.ravel()
        own, beside = flat[self.inner.pixels], flat[self.inner.inward].max(0, initial=0)
        filled = np.where((own >= HALF_FILLED * beside) & (own < beside), beside, own)
        at, is_inner = self._of_inner
        edge = flat[self.outer.inward]
        edge[is_inner] = filled[at[is_inner]]
        outermost = flat[self.outer.pixels]
        lifted = np.maximum(edge.max(0, initial=0), outermost)
        return sum(int(part.sum(dtype=np.int64)) for part in (filled, lifted)) - sum(
            int(part.sum(dtype=np.int64)) for part in (own, outermost)
        )

    def cover(self, tints: NDArray[np.uint8], levels: int, pixels: int) -> float:
        """Inked fraction of the mask that these pixels are the edge of, 0..1 and weighted by tint.

        Args:
            tints: a plate.
            levels: the sum of its tints within the mask.
            pixels: of the mask.
        """
        return (levels + (self.missing(tints) if levels else 0)) / 255 / max(1, pixels)


def _surrounded(mask: Mask) -> Mask:
    """Pixels whose four neighbours are set too, as ``taken_off`` by 1; quick, because it looks at whole pages."""
    left = np.zeros_like(mask)
    np.logical_and(mask[1:-1, :-2], mask[1:-1, 2:], out=left[1:-1, 1:-1])
    left[1:-1] &= mask[1:-1]
    left[1:-1] &= mask[:-2]
    left[1:-1] &= mask[2:]
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


def opened(levels: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """Levels without what is narrower than a square of ``side`` pixels: the greatest of the least in each square."""
    padded = np.pad(levels, side - 1)
    height, width = levels.shape
    shifts = [(down, across) for down in range(side) for across in range(side)]
    tall, wide = height + side - 1, width + side - 1
    least = np.full((tall, wide), 255, np.uint8)
    for down, across in shifts:
        np.minimum(least, padded[down : down + tall, across : across + wide], out=least)
    most = np.zeros_like(levels)
    for down, across in shifts:
        np.maximum(most, least[down : down + height, across : across + width], out=most)
    return most


def solid_squares(mask: Mask, side: int) -> Mask:
    """Upper-left corners of the squares of ``side`` pixels that are wholly set."""
    rows = mask[: max(0, mask.shape[0] - side + 1)].copy()
    for shift in range(1, side):
        rows &= mask[shift : shift + len(rows)]
    columns = rows[:, : max(0, rows.shape[1] - side + 1)].copy()
    for shift in range(1, side):
        columns &= rows[:, shift : shift + columns.shape[1]]
    return columns


def coarse(values: NDArray[Tint], side: int) -> NDArray[Tint]:
    """The greatest value in each square of ``side`` pixels; squares at the right and the bottom may be cut off."""
    # Rows first: along them arrays are read in one go.
    bands = np.zeros((-(-values.shape[0] // side), values.shape[1]), values.dtype)
    for shift in range(side):
        part = values[shift::side]
        np.maximum(bands[: len(part)], part, out=bands[: len(part)])
    squares = np.zeros((len(bands), -(-values.shape[1] // side)), values.dtype)
    for shift in range(side):
        part = bands[:, shift::side]
        np.maximum(squares[:, : part.shape[1]], part, out=squares[:, : part.shape[1]])
    return squares


def tiles(mask: Mask, side: int) -> list[tuple[slice, slice]]:
    """Squares of so many pixels that hold some of a mask, those with most of it first; cut off at its ends."""
    found = []
    height, width = mask.shape
    for top in range(0, height, side):
        band = mask[top : top + side]
        columns = np.flatnonzero(band.any(0))
        for left in (np.unique(columns // side) * side).tolist():
            count = int(np.count_nonzero(band[:, left : left + side]))
            found.append((count, slice(top, min(height, top + side)), slice(left, min(width, left + side))))
    found.sort(key=lambda tile: -tile[0])
    return [(rows, columns) for _, rows, columns in found]


@dataclass(frozen=True)
class Region:
    """Pixels that hang together, corners included: half-open row and column ranges and a count."""

    rows: tuple[int, int]
    columns: tuple[int, int]
    pixels: int
    first: tuple[int, int]
    """Row and column of one of its pixels."""

    @property
    def slices(self) -> tuple[slice, slice]:
        """Rows and columns of the array that hold it."""
        return slice(*self.rows), slice(*self.columns)


def regions(mask: Mask) -> list[Region]:
    """The joined regions of a mask, largest first."""
    return [region for region, _ in _labelled(mask)]


def parts(mask: Mask) -> Iterator[tuple[Region, Mask]]:
    """The joined regions of a mask, largest first, each with its pixels within its own rows and columns."""
    for region, (row, start, stop) in _labelled(mask):
        (top, bottom), (left, right) = region.rows, region.columns
        steps = np.zeros((bottom - top, right - left + 1), np.int8)
        steps[row - top, start - left] = 1
        steps[row - top, stop - left] = -1
        yield region, np.add.accumulate(steps, axis=1, dtype=np.int8)[:, :-1].view(np.bool_)


def _labelled(mask: Mask) -> Iterator[tuple[Region, _Runs]]:
    """Regions, largest first, and the runs of each.

    Works on runs of set pixels: runs of neighbouring rows that touch are edges of a graph, whose parts are found by
    hooking each root to the smaller one and then shortening all paths.
    """
    set_rows = np.flatnonzero(mask.any(1))
    if not len(set_rows):
        return
    # Most of a plate is often bare: only the rows that hold something are looked through.
    top_row = int(set_rows[0])
    row, start, stop = _runs(mask[top_row : int(set_rows[-1]) + 1])
    row += top_row
    label = _joined(len(row), *_touching(row, start, stop, mask.shape[1]))
    roots = np.flatnonzero(label == np.arange(len(row)))
    number = np.zeros(len(row), np.int64)
    number[roots] = np.arange(len(roots))
    order = np.argsort(number[label], kind="stable")
    row, start, stop = row[order], start[order], stop[order]
    begin = np.searchsorted(number[label[order]], np.arange(len(roots)))
    end = np.append(begin[1:], len(row))
    pixels = np.add.reduceat(stop - start, begin)
    left, right = np.minimum.reduceat(start, begin), np.maximum.reduceat(stop, begin)
    for i in np.argsort(-pixels, kind="stable").tolist():
        own = slice(begin[i], end[i])
        rows = (int(row[begin[i]]), int(row[end[i] - 1]) + 1)  # runs stand in reading order
        first = (rows[0], int(start[begin[i]]))
        yield Region(rows, (int(left[i]), int(right[i])), int(pixels[i]), first), (row[own], start[own], stop[own])


_Runs = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]


def _runs(mask: Mask) -> _Runs:
    """Row, first column and column after the last of every run of set pixels, in reading order."""
    padded = np.pad(mask, ((0, 0), (1, 1)))
    edges = np.flatnonzero(padded[:, 1:] != padded[:, :-1])
    row, start = np.divmod(edges[::2], mask.shape[1] + 1)
    return row, start, edges[1::2] - row * (mask.shape[1] + 1)


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


def strongest_around(tints: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The greatest tint in each pixel and its eight neighbours."""
    padded = np.pad(tints, 1)
    across = np.maximum(np.maximum(padded[:, :-2], padded[:, 1:-1]), padded[:, 2:])
    return np.maximum(np.maximum(across[:-2], across[1:-1]), across[2:])


def around(mask: Mask, pixels: int) -> tuple[slice, slice]:
    """Rows and columns that hold all of a mask, and so many pixels more; nothing of an empty one."""
    rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
    if not len(rows):
        return slice(0), slice(0)
    return (
        slice(max(0, int(rows[0]) - pixels), int(rows[-1]) + 1 + pixels),
        slice(max(0, int(columns[0]) - pixels), int(columns[-1]) + 1 + pixels),
    )
