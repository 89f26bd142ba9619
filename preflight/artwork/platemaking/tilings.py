"""Tiling patterns laid out in full.

PDFium paints a tiling with a small picture of the cell, a whole number of pixels wide and at whole pixels, so that a
cell of 2.3 pixels comes out as one of 3. Laid out as one large cell it is painted truly; where there would be too many
cells, some tens of them are laid out together, and the rounding is that much smaller.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from preflight.artwork.matrices import Matrix, box_through
from preflight.artwork.objects import Box

MOST_CELLS = 2500
_ENOUGH_PX = 96
_MOST_ACROSS = 32
_USUAL_PIXEL_MM = 0.25


@dataclass(frozen=True)
class Layout:
    """Where the cells of one large cell stand, and how large that is; all in pattern space."""

    places: tuple[tuple[float, float], ...]
    bbox: Box
    x_step: float
    y_step: float


def lay_out(bbox: Box, x_step: float, y_step: float, to_mm: Matrix, page_mm: Box, pixel_mm: float) -> Layout | None:
    """Cells that cover the page, or a block of cells to repeat; None where the pattern cannot be laid out."""
    back, pixel_mm = inverse(to_mm), pixel_mm or _USUAL_PIXEL_MM
    x_step, y_step = abs(x_step), abs(y_step)
    if back is None or not x_step or not y_step or not all(map(math.isfinite, (*bbox, x_step, y_step))):
        return None
    x0, y0, x1, y1 = box_through(back, page_mm)
    columns = range(math.floor((x0 - bbox[2]) / x_step), math.ceil((x1 - bbox[0]) / x_step) + 1)
    rows = range(math.floor((y0 - bbox[3]) / y_step), math.ceil((y1 - bbox[1]) / y_step) + 1)
    whole = len(columns) * len(rows) <= MOST_CELLS
    if not whole:
        columns, rows = (
            range(min(_MOST_ACROSS, max(1, math.ceil(_ENOUGH_PX / (step * scale / pixel_mm)))))
            for step, scale in ((x_step, math.hypot(*to_mm[:2])), (y_step, math.hypot(*to_mm[2:4])))
        )
    places = tuple((i * x_step, j * y_step) for j in rows for i in columns)
    outer = (
        bbox[0] + columns[0] * x_step, bbox[1] + rows[0] * y_step,
        bbox[2] + columns[-1] * x_step, bbox[3] + rows[-1] * y_step,
    )  # fmt: skip
    if not whole:
        return Layout(places, outer, len(columns) * x_step, len(rows) * y_step)
    # Larger than anything that is painted with it, and so never repeated.
    wide, high = outer[2] - outer[0] + x1 - x0, outer[3] - outer[1] + y1 - y0
    outer = (outer[0] - wide, outer[1] - high, outer[2] + wide, outer[3] + high)
    return Layout(places, outer, 4 * wide, 4 * high)


def inverse(matrix: Matrix) -> Matrix | None:
    """The matrix that undoes another; None where nothing does."""
    a, b, c, d, e, f = matrix
    determinant = a * d - b * c
    if not math.isfinite(determinant) or abs(determinant) < 1e-12:
        return None
    p, q, r, s = d / determinant, -b / determinant, -c / determinant, a / determinant
    return (p, q, r, s, -(e * p + f * r), -(e * q + f * s))
