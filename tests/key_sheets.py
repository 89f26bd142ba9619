"""Press sheets made by hand for the ink keys: drawn rectangles on plates, laid at quarter turns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
import shapely.affinity
from shapely import MultiLineString, Polygon

from preflight.artwork.page.geometry import Matrix, box_through, times
from preflight.artwork.page.plates import Plates
from preflight.inputs.press import InkKeys
from preflight.quantities import Size
from preflight.setup.press_sheet.press_sheet import Mark, Piece, PressSheet, SheetBlank

Box = tuple[float, float, float, float]
Drawn = Sequence[tuple[str, float, Box]]
"""Ink, tint, rectangle in mm of the one-up's page."""
DPI = 101.6
"""Four pixels to the mm, so that a rectangle can be drawn truly."""
TURNS: dict[int, tuple[int, int, int, int]] = {
    0: (1, 0, 0, 1),
    90: (0, 1, -1, 0),
    180: (-1, 0, 0, -1),
    270: (0, -1, 1, 0),
}


def keys(count: int = 31, pitch: float = 33.0, first: str | None = None) -> InkKeys:
    return InkKeys.model_validate({"count": count, "pitch": pitch, "first": first})


def plates(width: float, height: float, drawn: Drawn, dpi: float = DPI, names: Sequence[str] = ()) -> Plates:
    """Rectangles on plates, each pixel as full as the rectangle covers it; later ones over earlier ones of the ink."""
    names = tuple(dict.fromkeys([*names, *(ink for ink, _, _ in drawn)]))
    mm = 25.4 / dpi
    columns, rows = round(width / mm), round(height / mm)
    ink = np.zeros((len(names), rows, columns))
    for name, tint, (x0, y0, x1, y1) in drawn:
        across = np.clip(
            (np.minimum(x1, (np.arange(columns) + 1) * mm) - np.maximum(x0, np.arange(columns) * mm)) / mm, 0, 1
        )
        low = height - (np.arange(rows) + 1) * mm
        up = np.clip((np.minimum(y1, low + mm) - np.maximum(y0, low)) / mm, 0, 1)
        share = up[:, None] * across
        at = names.index(name)
        ink[at] = ink[at] * (1 - share) + 255 * tint * share
    return Plates(names, np.round(ink).astype(np.uint8), dpi, (0.0, 0.0, columns * mm, rows * mm))


def laid(at: tuple[float, float], turn: int, width: float, height: float) -> Matrix:
    """The matrix that turns a page and puts the lower-left corner of its box at a place."""
    turned: Matrix = (*TURNS[turn], 0.0, 0.0)
    x0, y0, _, _ = box_through(turned, (0, 0, width, height))
    return times(turned, (1, 0, 0, 1, at[0] - x0, at[1] - y0))


def sheet(
    pieces: Sequence[tuple[Plates, tuple[float, float], int]],
    size: tuple[float, float] = (1020, 700),
    *,
    versions: Sequence[str | None] = (),
    outline: Polygon | None = None,
    marks: Sequence[Mark] = (),
    kinds: Mapping[str, str] | None = None,
    **more: Any,
) -> PressSheet:
    """Pieces (plates, lower-left corner, turn) on a sheet, a blank each: all of its page, or an outline of the page."""
    laid_pieces, blanks = [], []
    for number, (plate, at, turn) in enumerate(pieces):
        width, height = plate.box_mm[2], plate.box_mm[3]
        matrix = laid(at, turn, width, height)
        shape = outline or shapely.box(0, 0, width, height)
        a, b, c, d, e, f = matrix
        on_sheet = shapely.affinity.affine_transform(shape, (a, c, b, d, e, f))
        version = versions[number] if versions else None
        laid_pieces.append(Piece(plate, matrix, on_sheet, version=version))
        blanks.append(
            SheetBlank(number + 1, on_sheet, MultiLineString(), float(turn), version, piece=number, to_sheet=matrix)
        )
    names = dict.fromkeys(name for plate, _, _ in pieces for name in plate.names)
    found = {name: "process" if name in ("Cyan", "Magenta", "Yellow", "Black") else "spot" for name in names}
    return PressSheet(
        Size(*size),
        tuple(blanks),
        tuple(laid_pieces),
        kinds=dict(kinds) if kinds else found,
        marks=tuple(marks),
        **more,
    )


def patch(ink: str, box: Box, tint: float = 1.0, **more: Any) -> Mark:
    return Mark("colour bar", shapely.box(*box), {ink: tint}, **{"known": "stated", **more})
