"""Pictures of a comparison in its PDF: three beside each other, numbered looks, the sheet with its blanks."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any, Final

import numpy as np

from preflight.report import compare_rows as rows
from preflight.report import words
from preflight.report.compare_layout import blank_on_sheet, look_marks, view_title
from preflight.report.compare_places import NumberedPlace
from preflight.report.compared_views import ComparePictures, SheetPicture, Triple
from preflight.report.difference_picture import difference_picture
from preflight.report.pdf_flow import Line, Type, heading, paragraph
from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, width_of
from preflight.report.place_markers import Mark, Screen

Document = Mapping[str, Any]
Over = Callable[[Pen, float, float, float], None]
"""Draws over a picture: pen, its left and upper edge, and points to the mm."""

GAP: Final = 8.0
TALLEST: Final = 270.0
"""Points that a picture is high at most."""
TALLEST_SHEET: Final = 400.0
LOOK: Final = Screen((230.0, 230.0), 6.0, 1)
"""What numbers on a look are laid out for, in points."""
HATCHES: Final = {"other": (1,), "turned": (1, -1), "moved": (0,), "missing": (-1,)}
"""Slopes of the lines over each kind of blank that is not right, as on the page."""
PITCH: Final = 9.0


def look_lines(look: Triple, places: Iterable[NumberedPlace], kind: Type) -> list[Line]:
    """Old, new and the difference of a page, numbered."""
    marks, radius = look_marks(look, places, LOOK)

    def over(pen: Pen, x: float, top: float, scale: float) -> None:
        for mark in marks:
            _draw_frame(pen, mark, x, top, scale)
        for mark in marks:
            _draw_pin(pen, mark, radius, (x, top), scale)

    return [_three(look, ("Old", "New"), kind, over)]


def plate_lines(
    changed: Sequence[Document], pictures: ComparePictures, places: Iterable[NumberedPlace], kind: Type
) -> list[list[Line]]:
    """Each plate that is shown, under its name."""
    by_name, known = {plate["name"]: plate for plate in changed}, {place.number: place for place in places}
    found = []
    for each in pictures.plates:
        plate = by_name[each.name]
        lines = heading(f"{words.short(each.name)}: {rows.called(plate)}", kind)
        if rows.says(plate):
            lines += _kept(paragraph(words.full(rows.says(plate)), kind))
        for triple in each.views:
            title = view_title(triple, known, several=len(pictures.looks) > 1)
            lines += [*_kept(paragraph(title, kind, bold=True)), _three(triple, ("Old", "New"), kind)]
        found.append(lines)
    return found


def blank_lines(blanks: Iterable[Document], pictures: ComparePictures, kind: Type) -> list[Line]:
    """The worst place of each blank that is not right, beside the one-up."""
    by_number = {blank["number"]: blank for blank in blanks}
    lines: list[Line] = []
    for view in pictures.blanks:
        title = by_number[view.number]["says"] or f"Blank {view.number}"
        lines += [*_kept(paragraph(title, kind, bold=True)), _three(view.triple, ("One-up", "Sheet"), kind)]
    return [*heading("Blanks that are not right", kind), *lines] if lines else []


def sheet_lines(sheet: SheetPicture, blanks: Iterable[Document], kind: Type) -> list[Line]:
    """The sheet, each blank with its number and what it is."""
    x0, y0, x1, y1 = sheet.box_mm
    scale = min(kind.room / (x1 - x0), TALLEST_SHEET / (y1 - y0))
    width, height = (x1 - x0) * scale, (y1 - y0) * scale

    def draw(pen: Pen, x: float, top: float) -> None:
        pen.picture(x, top, width, height, sheet.picture)
        for blank in blanks:
            if blank["page"] == sheet.page:
                _draw_blank(pen, blank_on_sheet(blank, sheet), x, top, scale)

    return [Line(height + kind.size, draw)]


def _kept(lines: list[Line]) -> list[Line]:
    """Lines that stay with what follows."""
    return [Line(line.height, line.draw, keep=True) for line in lines]


def _three(triple: Triple, called: tuple[str, str], kind: Type, over: Over | None = None) -> Line:
    """Three pictures with what they are below, and the key of the difference."""
    x0, y0, x1, y1 = triple.box_mm
    width = (kind.room - 2 * GAP) / 3
    scale = min(width / (x1 - x0), TALLEST / (y1 - y0))
    wide, tall = (x1 - x0) * scale, (y1 - y0) * scale

    def draw(pen: Pen, x: float, top: float) -> None:
        parts = ((called[0], triple.old), (called[1], triple.new), ("Difference", triple.difference))
        for k, (title, data) in enumerate(parts):
            at = x + k * (width + GAP)
            pen.picture(at, top, wide, tall, data)
            if over is not None:
                over(pen, at, top, scale)
            pen.text(at, top + tall + 2, title, kind.size, bold=True)
        _draw_key(pen, x + 2 * (width + GAP), top + tall + 2 + kind.size * LEADING, kind.size * 0.85)

    return Line(tall + kind.size * LEADING * 2 + kind.size * 0.9, draw)


def _draw_key(pen: Pen, x: float, top: float, size: float) -> None:
    for less, text in ((True, "- less ink"), (False, "+ more ink")):
        pen.picture(x, top + size * 0.1, size * 1.8, size, _swatch(less=less))
        pen.text(x + size * 2.1, top, text, size)
        x += size * 3.0 + width_of(text, size)


@cache
def _swatch(*, less: bool) -> bytes:
    """A piece of the pattern of what is less, or more."""
    full, bare = np.full((20, 36), 255, np.uint8), np.zeros((20, 36), np.uint8)
    file = io.BytesIO()
    difference_picture(*((full, bare) if less else (bare, full)), least=1).save(file, "PNG")
    return file.getvalue()


def _draw_frame(pen: Pen, mark: Mark, x: float, top: float, scale: float) -> None:
    left, upper, width, height = (side * scale for side in mark.frame)
    pen.box(x + left, top + upper, width, height, line=0.8, dashed=True)


def _draw_pin(pen: Pen, mark: Mark, radius: float, corner: tuple[float, float], scale: float) -> None:
    if mark.pin is None:
        return
    x, top = corner[0] + mark.pin[0] * scale, corner[1] + mark.pin[1] * scale
    middle_x, middle_top, half = x + mark.pin[2] * scale, top + mark.pin[3] * scale, radius * scale
    pen.line(x, top, middle_x, middle_top, 0.6)
    pen.box(middle_x - half, middle_top - half, 2 * half, 2 * half, line=0.8, grey=1.0)
    pen.text(middle_x, middle_top - half * 0.78, mark.number, half * 1.35, bold=True, align="centre")


def _draw_blank(pen: Pen, blank: Mapping[str, Any], x: float, top: float, scale: float) -> None:
    left, upper = x + blank["x"] * scale, top + blank["y"] * scale
    width, height = blank["width"] * scale, blank["height"] * scale
    if blank["kind"] != "same":
        _hatch(pen, (left, upper, width, height), HATCHES[blank["kind"]], dashed=blank["kind"] == "missing")
    pen.box(left, upper, width, height, line=0.6 if blank["kind"] == "same" else 2.0)
    plaque = [side * scale for side in blank["plaque"]]
    pen.box(x + plaque[0], top + plaque[1], plaque[2], plaque[3], line=0.5, grey=1.0)
    size, middle = blank["type"] * scale, x + blank["middle"][0] * scale
    pen.text(middle, top + plaque[1] + size * 0.1, blank["number"], size * 1.2, bold=True, align="centre")
    pen.text(middle, top + plaque[1] + size * 1.5, blank["called"], size, align="centre")


def _hatch(pen: Pen, area: tuple[float, float, float, float], slopes: Iterable[int], *, dashed: bool) -> None:
    """Thin lines over an area, so far apart that what is below can be seen."""
    x, top, width, height = area
    bottom, canvas = pen.height - top - height, pen.canvas
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(x, bottom, width, height)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(0.6)
    if dashed:
        canvas.setDash(3, 3)
    for slope in slopes:
        if slope == 0:
            for k in range(1, int(height / PITCH) + 1):
                canvas.line(x, bottom + k * PITCH, x + width, bottom + k * PITCH)
            continue
        for k in range(int((width + height) / PITCH) + 1):
            foot = x - height + k * PITCH
            start, end = (foot, foot + height) if slope > 0 else (foot + height, foot)
            canvas.line(start, bottom, end, bottom + height)
    canvas.restoreState()
