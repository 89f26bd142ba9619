"""Dimensions of a layout: sheet, first blank from the operator side and the gripper edge, pitch, gutters, block."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import shapely

from preflight.artwork.page.geometry import Box
from preflight.report.drawing import Drawing, text_width
from preflight.setup.layout.row_order import rows_of
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

ROWS: Final = (8.5, 14.0, 19.5, 25.0)
"""How far from the sheet each row of dimensions lies, as it comes out on A3; mm."""
BETWEEN_ROWS: Final = 2.75
GUTTERS: Final = 1
LEAST_MM: Final = 0.05
"""Shorter lengths have no dimension."""
Way = Literal["across", "along"]


def place_of(sheet: PressSheet, blank: SheetBlank) -> tuple[float, float]:
    """Distance of the box of a blank from operator side and gripper edge, as files say x and y; mm."""
    x0, y0, x1, _ = blank.outline.bounds
    return min(sheet.from_operator(x0), sheet.from_operator(x1)), y0


def draw_dimensions(drawing: Drawing, sheet: PressSheet, unit: float, type_mm: float) -> None:
    """Across the press below the sheet, along the travel at its left. The first blank is the one at operator side and
    gripper edge.
    """
    pen = _Dimensions(drawing, unit, type_mm)
    size = sheet.size
    pen.draw("across", 3, 0, size.across_mm, f"sheet {size.across_mm:g}")
    pen.draw("along", 3, 0, size.along_mm, f"sheet {size.along_mm:g}")
    if not sheet.blanks:
        return
    rows = rows_of([blank.outline for blank in sheet.blanks])
    whole = shapely.union_all([shapely.box(*blank.outline.bounds) for blank in sheet.blanks]).bounds
    pen.draw("across", 2, whole[0], whole[2], f"block {whole[2] - whole[0]:.1f}")
    _along_the_row(pen, sheet, [sheet.blanks[k] for k in rows[0]])
    first = _first(sheet, [sheet.blanks[k] for k in rows[0]])
    behind = _first(sheet, [sheet.blanks[k] for k in rows[1]]) if len(rows) > 1 else None
    _along_the_travel(pen, sheet, first.outline.bounds, behind.outline.bounds if behind else None, whole)


def _first(sheet: PressSheet, row: Sequence[SheetBlank]) -> SheetBlank:
    return row[0] if sheet.operator_side == "left" else row[-1]


def _along_the_row(pen: _Dimensions, sheet: PressSheet, row: Sequence[SheetBlank]) -> None:
    """From the operator side: x of the first blank, the pitch to the next one, the gutter between their boxes."""
    left = sheet.operator_side == "left"
    ordered = list(row) if left else list(row)[::-1]
    near = [blank.outline.bounds[0 if left else 2] for blank in ordered]
    far = [blank.outline.bounds[2 if left else 0] for blank in ordered]
    edge = 0.0 if left else sheet.size.across_mm
    pen.draw("across", 0, edge, near[0], f"x {abs(near[0] - edge):.1f}")
    if len(ordered) > 1:
        pitches = list(dict.fromkeys(f"{abs(b - a):.1f}" for a, b in zip(near, near[1:], strict=False)))
        says = f"pitch {pitches[0]}" + (f" (then {', '.join(pitches[1:3])})" if len(pitches) > 1 else "")
        pen.draw("across", 0, near[0], near[1], says)
        if (near[1] > far[0]) == left and abs(near[1] - far[0]) > LEAST_MM:
            pen.draw("across", GUTTERS, far[0], near[1], _gap_words(sheet, 0, abs(near[1] - far[0])))


def _gap_words(sheet: PressSheet, way: int, gap_mm: float) -> str:
    """``gutter`` where the boxes lie as far apart as the outlines do; between pointed outlines there is more room."""
    gutters = sheet.layout.gutters_mm if sheet.layout is not None else None
    is_gutter = gutters is None or abs(gutters[way] - gap_mm) < LEAST_MM
    return f"{'gutter' if is_gutter else 'box to box'} {gap_mm:.1f}"


def _along_the_travel(pen: _Dimensions, sheet: PressSheet, first: Box, behind: Box | None, whole: Box) -> None:
    """From the gripper edge: y of the first blank, the pitch to the row behind it and the gutter, the block."""
    pen.draw("along", 0, 0, first[1], f"y {first[1]:.1f}")
    if behind is not None:
        pen.draw("along", 0, first[1], behind[1], f"pitch {behind[1] - first[1]:.1f}")
        if behind[1] - first[3] > LEAST_MM:
            pen.draw("along", GUTTERS, first[3], behind[1], _gap_words(sheet, 1, behind[1] - first[3]))
    pen.draw("along", 2, whole[1], whole[3], f"block {whole[3] - whole[1]:.1f}")


class _Dimensions:
    """Dimension lines in rows beside the sheet."""

    def __init__(self, drawing: Drawing, unit: float, type_mm: float) -> None:
        self.drawing, self.unit, self.type_mm = drawing, unit, type_mm
        self.taken = dict[tuple[Way, float], list[tuple[float, float]]]()

    def draw(self, way: Way, row: int, start: float, end: float, says: str) -> None:
        """One dimension from a place to another; its word beside or below it where it has no room between them."""
        low, high = min(start, end), max(start, end)
        if high - low < LEAST_MM:
            return
        unit, away = self.unit, -ROWS[row] * self.unit
        for place in (low, high):
            self._line(way, (place, -0.5 * unit), (place, away - 0.8 * unit), 0.06)
        self._line(way, (low, away), (high, away), 0.1)
        head = min(1.8 * unit, (high - low) / 2.2)
        for tip, direction in ((low, -1.0), (high, 1.0)):
            point, along = self._turned(way, tip, away), self._turned(way, direction, 0)
            self.drawing.arrow_head(point, along, head)
        wide = text_width(says, self.type_mm) + unit
        middle = (low + high) / 2
        if wide > high - low - 2 * head:
            middle, away = (high + wide / 2 + unit, away) if row == GUTTERS else (middle, away - BETWEEN_ROWS * unit)
        x, y = self._turned(way, self._clear(way, away, middle, wide), away)
        self.drawing.text(x, y, says, self.type_mm, turn_deg=0 if way == "across" else 90, backed=True)

    def _clear(self, way: Way, away: float, middle: float, wide: float) -> float:
        """The middle of a word, moved along its row until it lies on no other one."""
        taken = self.taken.setdefault((way, round(away, 3)), [])
        steps = (sign * k * self.unit for k in range(200) for sign in (1, -1))
        found = next(
            (m for m in (middle + step for step in steps)
             if all(m + wide / 2 <= start or m - wide / 2 >= end for start, end in taken)), middle,
        )  # fmt: skip
        taken.append((found - wide / 2, found + wide / 2))
        return found

    def _line(self, way: Way, start: tuple[float, float], end: tuple[float, float], width: float) -> None:
        ends = [self._turned(way, *start), self._turned(way, *end)]
        self.drawing.lines("dimension", shapely.LineString(ends), width * self.unit)

    def _turned(self, way: Way, place: float, away: float) -> tuple[float, float]:
        return (place, away) if way == "across" else (away, place)
