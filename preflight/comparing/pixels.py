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
    height, width = plate.shape
    if rows.start >= 0 and columns.start >= 0 and rows.stop <= height and columns.stop <= width:
        return plate[rows, columns]
    down = np.clip(np.arange(rows.start, rows.stop), 0, height - 1)
    right = np.clip(np.arange(columns.start, columns.stop), 0, width - 1)
    return plate[down[:, None], right[None]]


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


def means(plate: Levels, side: int) -> Numbers:
    """Means of squares of so many pixels; what is left over at the right and at the bottom is left out."""
    height, width = (length // side for length in plate.shape)
    bands = np.zeros((height, plate.shape[1]), np.uint16)
    for shift in range(side):
        bands += plate[shift : height * side : side]
    total = np.zeros((height, width), np.float32)
    for shift in range(side):
        total += bands[:, shift : width * side : side]
    return total / np.float32(side * side)
