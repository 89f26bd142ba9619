"""The shape that a plate prints, by its tints: where they pass a half, between the middles of pixels.

Marching squares: W. E. Lorensen and H. E. Cline, Marching Cubes, 1987, in two dimensions. Straight edges that the
plates were drawn of by area come out to a few hundredths of a millimetre at 100 dpi.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.plates import Plates
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.press_sheet import PressSheet, Side

HALF: Final = 127.5
"""Level of 255 from which a place is coated: plates of a coat are solid, and their rims are fractions of a pixel."""
COARSER_MM: Final = 0.02
_ENDS: Final = {
    1: ((3, 2),), 2: ((2, 1),), 3: ((3, 1),), 4: ((0, 1),), 5: ((3, 2), (0, 1)), 6: ((0, 2),), 7: ((3, 0),),
    8: ((3, 0),), 9: ((0, 2),), 10: ((3, 0), (2, 1)), 11: ((0, 1),), 12: ((3, 1),), 13: ((2, 1),), 14: ((3, 2),),
}  # fmt: skip
"""Corners that are in (8 upper left, 4 upper right, 2 lower right, 1 lower left) to the sides that the outline joins:
0 upper, 1 right, 2 lower, 3 left. Of two opposite corners each is by itself."""


def shape_on_sheet(sheet: PressSheet, name: str, side: Side = "front") -> BaseGeometry:
    """What a separation prints on the sheet, clips of the blanks honoured, in the sheet's frame."""
    traced: dict[int, BaseGeometry] = {}
    parts = []
    for piece in sheet.pieces:
        if piece.side != side or name not in piece.plates.names:
            continue
        known = id(piece.plates)
        if known not in traced:
            traced[known] = shape_of_plate(piece.plates, name)
        parts.append(shapely.intersection(piece.clip, through(piece.to_sheet, traced[known])))
    return shapely.union_all(parts)


def shape_of_plate(plates: Plates, name: str) -> BaseGeometry:
    """What a separation prints, in mm of the page as displayed; holes are bare."""
    tint = np.pad(plates.tint(name), 1).astype(np.float64)
    segments = _segments(tint)
    if not len(segments):
        return shapely.Polygon()
    lines = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(segments)))
    shape = shapely.build_area(lines)  # rings in rings: every second one is a hole
    mm, (x0, _, _, y1) = plates.mm_per_px, plates.box_mm
    placed = through((mm, 0.0, 0.0, -mm, x0 - 0.5 * mm, y1 + 0.5 * mm), shape)
    return shapely.make_valid(shapely.simplify(placed, COARSER_MM))


def _segments(tint: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pieces of the outline, (k, 2, 2) of (column, row), in pixels of a padded plate."""
    inside = tint > HALF
    code = (8 * inside[:-1, :-1] + 4 * inside[:-1, 1:] + 2 * inside[1:, 1:] + inside[1:, :-1]).astype(np.uint8)
    found = []
    for corners, pairs in _ENDS.items():
        rows, columns = np.nonzero(code == corners)
        if not len(rows):
            continue
        for pair in pairs:
            found.append(np.stack([_on_side(tint, rows, columns, side) for side in pair], 1))
    joined: NDArray[np.float64] = np.vstack(found) if found else np.zeros((0, 2, 2))
    return joined.round(6)


def _on_side(
    tint: NDArray[np.float64], rows: NDArray[np.intp], columns: NDArray[np.intp], side: int
) -> NDArray[np.float64]:
    """Where the outline crosses one side of squares between four middles of pixels."""
    one, other = {0: ((0, 0), (0, 1)), 1: ((0, 1), (1, 1)), 2: ((1, 0), (1, 1)), 3: ((0, 0), (1, 0))}[side]
    a = tint[rows + one[0], columns + one[1]]
    b = tint[rows + other[0], columns + other[1]]
    share = (HALF - a) / (b - a)
    row = rows + one[0] + share * (other[0] - one[0])
    column = columns + one[1] + share * (other[1] - one[1])
    return np.column_stack([column, row])
