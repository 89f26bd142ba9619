"""Which blanks of a sheet print alike, once each is turned as the first of them lies: versions, and strays between."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import IDENTITY, Matrix, box_through, inverse, times
from preflight.carton.alike_blanks import Cut, moves
from preflight.quantities import Size
from preflight.setup.layout.sheet_layout import QUARTER, through
from preflight.setup.press_sheet.coverage import coverage
from preflight.setup.press_sheet.plates_on_sheet import names_on, plates_on_sheet
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

CELL_MM: Final = 1.0
"""Blanks are compared by the mean tints of squares of this size, which no pixel grid disturbs."""
DIFFERS: Final = 51
"""Levels of 255 by which squares of one picture never differ, whatever pixels they were drawn in: an edge within a
pixel is known to a quarter of it each way, 13 %."""
PALE: Final = 8
"""Levels by which a whole patch differs that is not the same, 3 %."""
RIM_MM: Final = 4.0
"""So far inside the cut nothing is compared: a neighbour's bleed makes no version of its own."""
CELL_NUMBER_MM: Final = 8.0
"""What differs only within a box of this size is the number of the cell."""
SPECKS: Final = 2
"""Squares that may differ by chance."""

Levels = NDArray[np.uint8]


@dataclass(frozen=True)
class AlikeGroup:
    """Blanks that print alike."""

    numbers: tuple[int, ...]
    to_first: Mapping[int, Matrix]
    """By number: from places on that blank to the same places on the first, all in the sheet's frame."""


def alike_groups(sheet: PressSheet) -> list[AlikeGroup]:
    """The blanks of a sheet in groups that print alike on the front, each group by its lowest number.

    Blanks of a layout are alike by their version. On a sheet from outside cut and folds have to lie on each other,
    turned by quarters, and what is printed too; a few millimetres along the cut and the cell's number may differ.
    """
    if sheet.layout is not None:
        return _by_version(sheet)
    groups: list[tuple[SheetBlank, Levels, dict[int, Matrix]]] = []
    for blank in sheet.blanks:
        for first, printed, members in groups:
            move = _printed_alike(sheet, blank, first, printed)
            if move is not None:
                members[blank.number] = move
                break
        else:
            groups.append((blank, seen_on(sheet, blank, IDENTITY, blank, CELL_MM), {blank.number: IDENTITY}))
    return [AlikeGroup(tuple(members), members) for _, _, members in groups]


def _by_version(sheet: PressSheet) -> list[AlikeGroup]:
    groups: dict[str | None, list[SheetBlank]] = {}
    for blank in sheet.blanks:
        groups.setdefault(blank.version, []).append(blank)
    return [
        AlikeGroup(
            tuple(blank.number for blank in blanks),
            {
                blank.number: times(inverse(blank.to_sheet), blanks[0].to_sheet)
                for blank in blanks
                if blank.to_sheet and blanks[0].to_sheet
            },
        )
        for blanks in groups.values()
    ]


def _printed_alike(sheet: PressSheet, blank: SheetBlank, first: SheetBlank, printed: Levels) -> Matrix | None:
    """How a blank is moved on to another that prints alike; None where it does not."""
    inner = shapely.buffer(first.outline, -RIM_MM)
    within = _whole_cells(first, inner, printed.shape[1:], CELL_MM)
    for move in moves(Cut(blank.outline, blank.creases), Cut(first.outline, first.creases)):
        own = seen_on(sheet, blank, move.matrix, first, CELL_MM)
        away = np.abs(own.astype(np.int16) - printed).max(0, initial=0) >= DIFFERS
        rows, columns = np.nonzero(away & within)
        if len(rows) <= SPECKS or max(np.ptp(rows), np.ptp(columns)) + 1 <= CELL_NUMBER_MM / CELL_MM:
            found: Matrix = move.matrix
            return found
    return None


def prints_alike_turned(sheet: PressSheet, blank: SheetBlank, turn_deg: int) -> bool:
    """Whether a blank whose outline allows it prints the same when it is turned about the middle of its box.

    No square may differ by ``DIFFERS``, and no three by three squares by ``PALE``, which an edge within a pixel cannot.
    """
    x0, y0, x1, y1 = blank.outline.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    cos, sin = QUARTER[turn_deg % 360]
    about: Matrix = (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
    as_is = seen_on(sheet, blank, IDENTITY, blank, CELL_MM).astype(np.int16)
    away = np.abs(seen_on(sheet, blank, about, blank, CELL_MM) - as_is).max(0, initial=0)
    away[~_whole_cells(blank, blank.outline, away.shape, CELL_MM)] = 0
    if min(away.shape) < 3:
        return bool(away.max(initial=0) < DIFFERS)
    pale = np.lib.stride_tricks.sliding_window_view(away, (3, 3)).min((2, 3))
    return bool(away.max() < DIFFERS and pale.max() < PALE)


def _whole_cells(blank: SheetBlank, shape: shapely.Geometry, size: Sequence[int], cell_mm: float) -> NDArray[np.bool_]:
    """Squares over the box of a blank that lie wholly in a shape."""
    x0, _, _, y1 = blank.outline.bounds
    covered: NDArray[np.bool_] = coverage(shape, x0, y1, cell_mm, (size[0], size[1])) > 1 - 1e-6
    return covered


def seen_on(sheet: PressSheet, blank: SheetBlank, move: Matrix, onto: SheetBlank, cell_mm: float) -> Levels:
    """What a blank prints, moved on to another: mean tints of squares over the box of that: (names, rows, columns)."""
    x0, y0, x1, y1 = onto.outline.bounds
    if blank.piece is None:
        return np.zeros((len(names_on(sheet)), 1, 1), np.uint8)
    piece = sheet.pieces[blank.piece]
    there = shapely.box(x0 - cell_mm, y0 - cell_mm, x1 + cell_mm, y1 + cell_mm)
    on_page = box_through(inverse(piece.to_sheet), through(inverse(move), there).bounds)
    moved = replace(
        piece,
        plates=piece.plates.within(on_page),
        to_sheet=times(times(piece.to_sheet, move), (1, 0, 0, 1, -x0, -y0)),
        clip=through((1, 0, 0, 1, -x0, -y0), there),
    )
    alone = replace(sheet, size=Size(x1 - x0, y1 - y0), pieces=(moved,))
    return plates_on_sheet(alone, 25.4 / cell_mm, names=names_on(sheet)).ink


def lent(sheet: PressSheet, group: AlikeGroup) -> Iterator[tuple[SheetBlank, Matrix]]:
    """Each blank of a group with its way to the first."""
    by_number = {blank.number: blank for blank in sheet.blanks}
    for number in group.numbers:
        yield by_number[number], group.to_first[number]
