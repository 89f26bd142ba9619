"""Tiling patterns: which of their cells are in sight, and blocks of cells.

PDFium paints a tiling with a small picture of the cell, a whole number of pixels wide and at whole pixels, so that a
cell of 2.3 pixels comes out as one of 3; and a cell of more than 2^31 pixels not at all, without a word. Where no more
than some thousands are in sight, the cells are drawn one by one (``pattern_painting.py``). Where there are more, some
tens of them are laid out together as one, and the rounding is that much smaller.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from preflight.artwork.page.geometry import Box, Matrix, box_through

MOST_CELLS = 2500
FINEST_PIXEL_MM = 25.4 / 4800
"""Windows may have 1200 dpi, and are drawn four times finer where cells are fine."""
_MOST_PIXELS = 2.0**31 - 2.0**27
_ENOUGH_PX = 96
_MOST_ACROSS = 32
_USUAL_PIXEL_MM = 0.25


@dataclass(frozen=True)
class Lattice:
    """A cell's box and how far apart cells stand, in pattern space; ``to_stream`` is the pattern's matrix."""

    bbox: Box
    x_step: float
    y_step: float
    to_stream: Matrix

    def in_sight(self, box: Box) -> CellRange:
        """Cells that show in a box of the stream that the pattern is used in."""
        back = inverse(self.to_stream)
        if back is None:
            return NO_CELLS
        (x0, y0, x1, y1), (left, low, right, high) = box_through(back, box), self.bbox
        # What is painted may lie beyond the box of its cell by a thousandth.
        wide, tall = (right - left) / 1000, (high - low) / 1000
        columns = range(math.floor((x0 - right - wide) / self.x_step) + 1, math.ceil((x1 - left + wide) / self.x_step))
        rows = range(math.floor((y0 - high - tall) / self.y_step) + 1, math.ceil((y1 - low + tall) / self.y_step))
        return CellRange(columns, rows)

    def places(self, cells: CellRange) -> Iterator[tuple[float, float]]:
        """How far each of some cells is moved, in pattern space."""
        return ((column * self.x_step, row * self.y_step) for row in cells.rows for column in cells.columns)

    def extent(self, cells: CellRange) -> Box:
        """A box with room round some cells, in pattern space."""
        (x0, y0, x1, y1), columns, rows = self.bbox, cells.columns, cells.rows
        wide, tall = x1 - x0, y1 - y0
        return (
            x0 + columns[0] * self.x_step - wide,
            y0 + rows[0] * self.y_step - tall,
            x1 + columns[-1] * self.x_step + wide,
            y1 + rows[-1] * self.y_step + tall,
        )


class CellRange(NamedTuple):
    """Cells of a lattice by the numbers of their columns and rows."""

    columns: range
    rows: range

    @property
    def many(self) -> int:
        """How many there are."""
        return max(0, self.columns.stop - self.columns.start) * max(0, self.rows.stop - self.rows.start)


NO_CELLS = CellRange(range(0), range(0))


def lattice(bbox: Box | None, x_step: float | None, y_step: float | None, to_stream: Matrix) -> Lattice | None:
    """The lattice of a pattern; a step's sign does not matter. None where it has none."""
    if bbox is None or not x_step or not y_step or not all(map(math.isfinite, (*bbox, x_step, y_step, *to_stream))):
        return None
    return Lattice(bbox, abs(x_step), abs(y_step), to_stream)


def block(found: Lattice, to_mm: Matrix, pixel_mm: float) -> tuple[CellRange, Box]:
    """Cells to repeat together, and the box round them; ``to_mm`` is from pattern space."""
    pixel_mm = pixel_mm or _USUAL_PIXEL_MM
    columns, rows = (
        range(min(_MOST_ACROSS, max(1, math.ceil(min(_ENOUGH_PX / max(step * scale / pixel_mm, 1e-9), _MOST_ACROSS)))))
        for step, scale in ((found.x_step, math.hypot(*to_mm[:2])), (found.y_step, math.hypot(*to_mm[2:4])))
    )
    x0, y0, x1, y1 = found.bbox
    return CellRange(columns, rows), (x0, y0, x1 + columns[-1] * found.x_step, y1 + rows[-1] * found.y_step)


def paintable(bbox: Box, to_mm: Matrix, pixel_mm: float) -> bool:
    """Whether PDFium paints a cell of that size; ``pixel_mm`` is 0 where it may be drawn at any resolution."""
    x0, y0, x1, y1 = box_through(to_mm, bbox)
    return (x1 - x0) * (y1 - y0) <= _MOST_PIXELS * (pixel_mm or FINEST_PIXEL_MM) ** 2


def inverse(matrix: Matrix) -> Matrix | None:
    """The matrix that undoes another; None where nothing does."""
    a, b, c, d, e, f = matrix
    determinant = a * d - b * c
    if not math.isfinite(determinant) or abs(determinant) < 1e-12:
        return None
    p, q, r, s = d / determinant, -b / determinant, -c / determinant, a / determinant
    return (p, q, r, s, -(e * p + f * r), -(e * q + f * s))
