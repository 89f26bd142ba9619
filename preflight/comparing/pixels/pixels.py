"""Arithmetic on the pixels of two plates: parts of a plate past its ends, edges, plates moved by part of a pixel."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Levels = NDArray[np.uint8]
Numbers = NDArray[np.float32]
Value = TypeVar("Value", np.uint8, np.float32)


def around(plate: NDArray[Value], rows: slice, columns: slice) -> NDArray[Value]:
    """Some rows and columns, which may lie past the ends of the plate: there its last pixels go on."""
    kept, ends = [], []
    for side, length in zip((rows, columns), plate.shape, strict=True):
        first, after = min(max(side.start, 0), length - 1), max(min(side.stop, length), 1)
        first, after = min(first, after - 1), max(after, first + 1)
        kept.append(slice(first, after))
        before = min(max(0, first - side.start), side.stop - side.start - 1)
        ends.append((before, side.stop - side.start - before - (after - first)))
    part = plate[kept[0], kept[1]]
    return np.pad(part, ends, "edge") if any(ends[0] + ends[1]) else part


def spread(values: NDArray[Value]) -> NDArray[Value]:
    """The greatest less the least of each pixel and its eight neighbours: the height of an edge there."""
    most, least = values, values
    for axis in (0, 1):
        most, least = _beside(np.maximum, most, axis), _beside(np.minimum, least, axis)
    return most - least


def _beside(choose: np.ufunc, values: NDArray[Value], axis: int) -> NDArray[Value]:
    """The greatest or least of each pixel and the two beside it along an axis."""
    chosen = values.copy()
    to, of = np.moveaxis(chosen, axis, 0), np.moveaxis(values, axis, 0)
    choose(to[1:], of[:-1], out=to[1:])
    choose(to[:-1], of[1:], out=to[:-1])
    return chosen


def softened(values: Numbers) -> Numbers:
    """Means of 5 by 5 pixels, weighed 1 4 6 4 1 each way; two pixels less at every end."""
    for axis in (0, 1):
        of = np.moveaxis(values, axis, 0)
        for _ in range(2):
            pairs = of[1:] + of[:-1]
            of = (pairs[1:] + pairs[:-1]) * np.float32(0.25)
        values = np.moveaxis(of, 0, axis)
    return values


def moved(
    plate: Levels, shift_px: tuple[float, float], rows: slice, columns: slice, curve: Numbers | None = None
) -> Numbers:
    """Rows and columns of a plate that was softened and moved down and to the right by parts of pixels.

    Softened first, since the edge of a shape is a stair that says little of what lies between its pixels.
    """
    whole = [int(np.floor(side)) for side in shift_px]
    down, right = (np.float32(side - part) for side, part in zip(shift_px, whole, strict=True))
    part = around(
        plate,
        slice(rows.start - whole[0] - 3, rows.stop - whole[0] + 2),
        slice(columns.start - whole[1] - 3, columns.stop - whole[1] + 2),
    )
    soft = softened(part.astype(np.float32) if curve is None else curve[part])
    soft = soft[1:] * (1 - down) + soft[:-1] * down
    return soft[:, 1:] * (1 - right) + soft[:, :-1] * right


def shifted(plate: Levels, shift_px: tuple[float, float]) -> Levels:
    """A plate moved down and to the right by parts of pixels: even levels stay what they are, edges do not."""
    whole = [int(np.floor(side)) for side in shift_px]
    down, right = (np.float32(side - part) for side, part in zip(shift_px, whole, strict=True))
    height, width = plate.shape
    laid = np.empty_like(plate)
    for top in range(0, height, 256):
        after = min(height, top + 256)
        part = around(plate, slice(top - whole[0] - 1, after - whole[0]), slice(-whole[1] - 1, width - whole[1]))
        rows = part[1:] * (1 - down) + part[:-1] * down
        laid[top:after] = np.rint(rows[:, 1:] * (1 - right) + rows[:, :-1] * right)
    return laid


def known(shape: tuple[int, ...], shift_px: tuple[float, float]) -> NDArray[np.bool_]:
    """Pixels that a shift does not fill with what is off the plate."""
    kept = np.zeros(shape, bool)
    rows, columns = (
        slice(max(0, int(np.ceil(side))), max(0, length + int(np.floor(min(0.0, side)))))
        for side, length in zip(shift_px, shape, strict=True)
    )
    kept[rows, columns] = True
    return kept


def covered(plate: Levels, shift_px: tuple[float, float], rows: slice, columns: slice) -> tuple[Levels, Levels]:
    """The least and the greatest level among the up to four pixels that each pixel of a moved plate covers."""
    whole = [int(np.floor(side)) for side in shift_px]
    part = around(
        plate,
        slice(rows.start - whole[0] - 1, rows.stop - whole[0]),
        slice(columns.start - whole[1] - 1, columns.stop - whole[1]),
    )
    least, most = np.minimum(part[1:], part[:-1]), np.maximum(part[1:], part[:-1])
    return np.minimum(least[:, 1:], least[:, :-1]), np.maximum(most[:, 1:], most[:, :-1])


def sums(plate: NDArray[np.uint8], side: int) -> NDArray[np.uint32]:
    """Sums over squares of up to 256 pixels a side; those at the right and at the bottom may be cut off."""
    bands = np.zeros((-(-plate.shape[0] // side), plate.shape[1]), np.uint16)
    for shift in range(side):
        part = plate[shift::side]
        bands[: len(part)] += part
    totals = np.zeros((len(bands), -(-plate.shape[1] // side)), np.uint32)
    for shift in range(side):
        columns = bands[:, shift::side]
        totals[:, : columns.shape[1]] += columns
    return totals


def means(plate: Levels, side: int) -> Numbers:
    """Means of squares of so many pixels; what is left over at the right and at the bottom is left out."""
    height, width = (length // side * side for length in plate.shape)
    return (sums(plate[:height, :width], side) / (side * side)).astype(np.float32)
