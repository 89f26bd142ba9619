"""The layout as one drawing in the sheet's frame (printed face, gripper edge down), for SVG and for PDF at full size.

Everything is told by words, dashes and hatching, never by colour: it reads the same in grey. Sizes of type go by the
sheet, so that the whole drawing printed on A3 has type of about 2.6 mm and more. Dimensions are told as files count:
x from the operator side, y from the gripper edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Final, Literal

import shapely

from preflight.report.drawing import Drawing, Point, Text, hatch, text_width, widest_place
from preflight.report.layout_dimensions import draw_dimensions, place_of
from preflight.report.layout_legend import LEGEND_ROW, draw_legend, legend_rows
from preflight.report.layout_looks import (
    A3_MM,
    BOTTOM,
    DIMENSIONS,
    FOLD_WORDS,
    FOLDS,
    HATCHED,
    LEFT,
    RIGHT,
    SMALL,
    TOP,
    TYPE,
)
from preflight.report.pdf_type import LEADING, lines_of
from preflight.report.setup_sheet import first_up
from preflight.setup.press_sheet.press_sheet import Mark, PressSheet, SheetBlank

NEVER: Final = "DO NOT RUN"
LEAST_SCALE: Final = 0.8
"""Words in a blank are made so much smaller at most; then some are left out."""
OUTLINED: Final = frozenset({"visible face", "window"})
"""Areas that are whole panels or holes: outline and word would only cover the rest."""


@dataclass(frozen=True)
class LayoutTold:
    """What stands beside the drawing, in words."""

    job: str = ""
    """Number, revision and title."""
    identity: tuple[str, ...] = ()
    run_it: bool = True
    why_not: tuple[str, ...] = ()
    side_lay: Literal["operator", "drive", "either"] | None = None
    grain: str | None = None
    """As the ticket has it; a sheet from outside says nothing of it."""
    paper_mm: tuple[float, float] = A3_MM
    """What sizes of type go by: as they come out where the drawing fills so much paper."""
    alone: bool = True
    """Whether nothing else on the page says what job it is, why it is laid so, and whether it may be run."""


def layout_svg(sheet: PressSheet, told: LayoutTold | None = None, *, embedded: bool = False) -> str:
    """One SVG text; ``embedded`` without a size of its own, for a page."""
    from preflight.report.drawing_svg import render_svg

    return render_svg(draw_layout(sheet, told or LayoutTold()), embedded=embedded)


def layout_pdf(sheet: PressSheet, told: LayoutTold | None = None) -> bytes:
    """A page of the size of the sheet and its margins, 1:1."""
    from preflight.report.drawing_pdf import render_pdf

    told = told or LayoutTold()
    return render_pdf(draw_layout(sheet, told), " | ".join(told.identity))


def draw_layout(sheet: PressSheet, told: LayoutTold) -> Drawing:
    """All that is drawn, in mm of the sheet's frame."""
    across, along = sheet.size.across_mm, sheet.size.along_mm
    wide, high = told.paper_mm
    unit = max(across / (wide - LEFT - RIGHT), along / (high - TOP - BOTTOM))
    room = across / unit + LEFT + RIGHT - 4  # as on A3
    foot = lines_of(" | ".join(told.identity) or "No ticket", SMALL, room) if told.alone else []
    legend = legend_rows(sheet, room)
    head = _head_lines(sheet, told, across - 30 * unit, unit)
    below = DIMENSIONS + len(legend) * LEGEND_ROW + len(foot) * SMALL * LEADING + 3
    above = max(TOP, 10 + len(head) * TYPE * LEADING) if told.alone else TOP - 6
    box = (-LEFT * unit, -below * unit, across + RIGHT * unit, along + above * unit)
    drawing = Drawing(f"Layout, {told.job}" if told.job else "Layout", box)
    _draw_sheet(drawing, sheet, unit)
    _draw_bleeds(drawing, sheet, unit)
    for blank in sheet.blanks:
        _draw_blank(drawing, blank, unit)
    _draw_marks(drawing, sheet.marks, unit)
    for blank in sheet.blanks:
        _draw_label(drawing, sheet, blank, unit)
    draw_dimensions(drawing, sheet, unit, TYPE * unit)
    _draw_sides(drawing, sheet, told, unit)
    _draw_head(drawing, head, sheet, told.grain, unit)
    draw_legend(drawing, legend, -(DIMENSIONS + 2) * unit, unit)
    for k, line in enumerate(foot):
        y = drawing.box[1] + (2.5 + (len(foot) - 1 - k) * SMALL * LEADING) * unit
        drawing.text(-(LEFT - 2) * unit, y, line, SMALL * unit, align="left")
    if not told.run_it and told.alone:
        _draw_never(drawing, sheet)
    return drawing


# The sheet ---------------------------------------------------------------------------------------------------------


def _draw_sheet(drawing: Drawing, sheet: PressSheet, unit: float) -> None:
    """Its edge, the strip at the gripper edge that holds nothing, and what may be printed on."""
    across, along = sheet.size.across_mm, sheet.size.along_mm
    edge = shapely.box(0, 0, across, along)
    if sheet.layout is not None:
        free = sheet.layout.free
        gripper = shapely.box(0, 0, across, free.gripper_mm)
        drawing.lines("gripper", hatch(gripper, 1.6 * unit, 60), 0.1 * unit, grey=0.45)
        inner = shapely.box(free.sides_mm, free.gripper_mm, across - free.sides_mm, along - free.tail_mm)
        drawing.lines("free area", inner, 0.12 * unit, dash_mm=(0.5 * unit, unit), grey=0.3)
    drawing.lines("sheet", edge, 0.3 * unit)
    drawing.lines("gripper edge", shapely.LineString([(0, 0), (across, 0)]), 0.8 * unit)


def _draw_bleeds(drawing: Drawing, sheet: PressSheet, unit: float) -> None:
    clips = [sheet.pieces[b.piece].clip for b in sheet.blanks if b.piece is not None and b.turn_deg is not None]
    drawing.lines("bleed", clips, 0.08 * unit, grey=0.55, fill=0.86)


def _draw_blank(drawing: Drawing, blank: SheetBlank, unit: float) -> None:
    drawing.lines("blank", blank.outline, fill=1.0)
    for area in blank.areas:
        direction = HATCHED.get(area.kind)
        if direction is not None:
            drawing.lines(area.kind, hatch(area.shape, 1.4 * unit, direction), 0.08 * unit, grey=0.5)
        if area.kind not in OUTLINED:
            drawing.lines(area.kind, area.shape, 0.1 * unit, dash_mm=(0.4 * unit, 0.4 * unit), grey=0.4)
    for role, shape in (blank.folds or {"crease": blank.creases}).items():
        dashes = [length * unit for length in FOLDS.get(role, FOLDS["crease"])]
        drawing.lines(FOLD_WORDS.get(role, "crease"), shape, 0.14 * unit, dash_mm=dashes)
    drawing.lines("cut", blank.outline, 0.22 * unit)


def _draw_marks(drawing: Drawing, marks: Sequence[Mark], unit: float) -> None:
    """Each as dark as its darkest ink; a thin frame keeps light patches in sight."""
    for mark in marks:
        tint = max(mark.inks.values(), default=0.0)
        drawing.lines(mark.kind, mark.shape, 0.04 * unit, grey=0.5, fill=round(1 - 0.8 * min(tint, 1.0), 2))


# Words on the sheet ------------------------------------------------------------------------------------------------


def _draw_label(drawing: Drawing, sheet: PressSheet, blank: SheetBlank, unit: float) -> None:
    """Number, version, turn and place, where the blank has most room; an arrow points up on the one-up as displayed."""
    (cx, cy), room = _most_room(blank)
    number, big, small = str(blank.number), 6.0 * unit, SMALL * unit
    wide_number = text_width("0" * len(str(len(sheet.blanks))), big, bold=True)  # all blanks say as much
    for lines in _label_lines(sheet, blank):
        wide = max([wide_number + 1.3 * big, *(text_width(line, small) for line in lines)])
        high = big + len(lines) * small * LEADING
        scale = min(1.0, room[0] / wide, room[1] / high)
        if scale >= LEAST_SCALE:
            break  # else too small to read on A3: fewer words
    big, small = big * scale, small * scale
    top = cy + high * scale / 2
    drawing.text(cx, top - big / 2, number, big, bold=True, backed=True)
    if blank.turn_deg is not None:
        a, half = radians(blank.turn_deg), 0.45 * big
        x, y = cx - wide_number * scale / 2 - 0.5 * big, top - big / 2
        step = (-sin(a) * half, cos(a) * half)
        drawing.arrow((x - step[0], y - step[1]), (x + step[0], y + step[1]), half, 0.3 * unit)
    for k, line in enumerate(lines):
        drawing.text(cx, top - big - (k + 0.5) * small * LEADING, line, small, backed=True)
    _label_areas(drawing, blank, unit)


def _label_lines(sheet: PressSheet, blank: SheetBlank) -> Sequence[list[str]]:
    """What may be written under the number: all of it, then less and less."""
    x, y = place_of(sheet, blank)
    turn = f"turn {blank.turn_deg:g}°" if blank.turn_deg is not None else "turn not known"
    version = [blank.version] if blank.version else []
    return [*version, turn, f"x {x:.1f} y {y:.1f}"], [*version, turn], version, []


def _most_room(blank: SheetBlank) -> tuple[Point, tuple[float, float]]:
    """Middle, width and depth of the roomiest place in one panel, else in the blank, beside its areas."""
    taken = shapely.union_all([area.shape for area in blank.areas])
    free = [shapely.difference(shape, taken) for shape in blank.panels or (blank.outline,)]
    middle, radius = widest_place(free)
    shape = next((shape for shape in free if shape.covers(shapely.Point(middle))), None)
    if shape is not None and shape.area > 0.85 * shape.envelope.area:  # all but a rectangle
        x0, y0, x1, y1 = shape.bounds
        return ((x0 + x1) / 2, (y0 + y1) / 2), (0.9 * (x1 - x0), 0.9 * (y1 - y0))
    return middle, (1.7 * radius, 1.7 * radius)


def _label_areas(drawing: Drawing, blank: SheetBlank, unit: float) -> None:
    """The word of each area that has room for it, upright or turned."""
    for area in blank.areas:
        if area.kind in OUTLINED:
            continue
        x0, y0, x1, y1 = area.shape.bounds
        long, short, size = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0), SMALL * unit
        scale = min(1.0, 0.9 * long / text_width(area.kind, size), 0.8 * short / size)
        if scale >= LEAST_SCALE:
            turn = 90.0 if y1 - y0 > x1 - x0 else 0.0
            middle = ((x0 + x1) / 2, (y0 + y1) / 2)
            drawing.text(*middle, area.kind, size * scale, turn_deg=turn, backed=True)


def _draw_sides(drawing: Drawing, sheet: PressSheet, told: LayoutTold, unit: float) -> None:
    """Gripper edge and tail, operator and drive side, side lay, colour bar."""
    across, along, away, size = sheet.size.across_mm, sheet.size.along_mm, 3.4 * unit, TYPE * unit
    drawing.text(across / 2, -away, "GRIPPER EDGE", size, bold=True, backed=True)
    drawing.text(across / 2, along + away, "TAIL", size, bold=True)
    assumed = " (assumed)" if sheet.operator_assumed else ""
    sides = [f"OPERATOR SIDE{assumed}", f"DRIVE SIDE{assumed}"]
    left, right = sides if sheet.operator_side == "left" else sides[::-1]
    pushed = {"operator": sheet.operator_side == "left", "drive": sheet.operator_side != "left"}
    at_left = pushed.get(str(told.side_lay))
    for x, name, lay_here in ((-away, left, at_left is True), (across + away, right, at_left is False)):
        high = max(along / 2, _word_of_lay(sheet, unit) + text_width(name, size, bold=True) / 2) if lay_here else 0
        drawing.text(x, high or along / 2, name, size, turn_deg=90, bold=True, backed=True)
    if at_left is not None:
        _draw_side_lay(drawing, sheet, at_left=at_left, unit=unit)
    bar = [mark.shape for mark in sheet.marks if mark.kind == "colour bar"]
    if bar:
        _, y0, _, y1 = shapely.union_all(bar).bounds
        at_tail = y0 > along / 2
        y = along + away if at_tail else -away
        drawing.text(across, y, f"colour bar, {y1 - y0:.1f} mm deep", SMALL * unit, align="right", backed=True)


def _word_of_lay(sheet: PressSheet, unit: float) -> float:
    """Where on the side the word of the side lay ends."""
    return _height_of_lay(sheet) + 16 * unit


def _height_of_lay(sheet: PressSheet) -> float:
    """Where the side lay pushes: at its mark, where there is one."""
    marks = [m.shape.centroid.y for m in sheet.marks if m.kind == "side guide"]
    return float(marks[0]) if marks else 0.12 * sheet.size.along_mm


def _draw_side_lay(drawing: Drawing, sheet: PressSheet, *, at_left: bool, unit: float) -> None:
    """A triangle that pushes at the edge, at the mark where there is one."""
    y = _height_of_lay(sheet)
    x, way = (0.0, 1.0) if at_left else (sheet.size.across_mm, -1.0)
    drawing.arrow_head((x, y), (way, 0), 3.5 * unit)
    drawing.text(x - way * 3.4 * unit, y + 10 * unit, "side lay", SMALL * unit, turn_deg=90, backed=True)


# Words round the sheet ---------------------------------------------------------------------------------------------


def _head_lines(sheet: PressSheet, told: LayoutTold, room: float, unit: float) -> list[tuple[str, bool]]:
    """Lines above the sheet, each with whether it is bold."""
    if not told.alone:
        return []
    layout = sheet.layout
    told_lines = [(told.job or "Layout", True)]
    if not told.run_it:
        told_lines.append((f"{NEVER}: {' '.join(told.why_not[:2]) or 'the check has a fault.'}", True))
    if layout is not None:
        said = [f"{layout.ups} up, {layout.pattern}", f"sheet {sheet.size}", f"used {100 * layout.used_share:.0f} %"]
        gutters = zip(layout.gutters_there_mm or (None, None), ("side by side", "row to row"), strict=True)
        there = [f"{mm:g} mm {way}" for mm, way in gutters if mm is not None]
        said += [f"gutters {', '.join(there)}"] if there else []
        told_lines.append((", ".join(said), False))
        told_lines += [(first_up(line), False) for line in (layout.because, layout.why_not_more) if line]
        told_lines += [(f"Assumed: {line}", False) for line in layout.assumed]
    else:
        told_lines.append((f"Sheet from outside, {sheet.size}, {len(sheet.blanks)} blanks", False))
    if told.side_lay is None:
        told_lines.append(("Side lay not stated", False))
    elif told.side_lay == "either":
        told_lines.append(("Side lay at either side: the same at press and die-cutter, marked on the sheet", False))
    return [
        (line, bold) for text, bold in told_lines for line in lines_of(text, TYPE * unit, room, bold=bold)
    ]  # fmt: skip


def _draw_head(
    drawing: Drawing, lines: Sequence[tuple[str, bool]], sheet: PressSheet, grain: str | None, unit: float
) -> None:
    left, top = -(LEFT - 2) * unit, drawing.box[3] - 3.5 * unit
    for k, (line, bold) in enumerate(lines):
        drawing.text(left, top - k * TYPE * LEADING * unit, line, TYPE * unit, align="left", bold=bold)
    _draw_grain(drawing, sheet, grain, unit)


def _draw_grain(drawing: Drawing, sheet: PressSheet, stated: str | None, unit: float) -> None:
    """An arrow with two heads the way that the fibres run, and the word."""
    grain = (sheet.layout.grain if sheet.layout is not None else None) or stated
    right, y = sheet.size.across_mm, drawing.box[3] - 8 * unit
    if grain is None:
        drawing.text(right, y, "GRAIN not stated", TYPE * unit, align="right", bold=True)
        return
    half = (9 * unit, 0.0) if grain == "across" else (0.0, 5 * unit)
    x = right - 10 * unit
    drawing.arrow((x - half[0], y - half[1]), (x + half[0], y + half[1]), 3 * unit, 0.5 * unit, both=True)
    says = "GRAIN across the press" if grain == "across" else "GRAIN along the travel"
    at = (right, y - 4 * unit) if grain == "across" else (x - 4 * unit, y)
    drawing.text(*at, says, TYPE * unit, align="right", bold=True)


def _draw_never(drawing: Drawing, sheet: PressSheet) -> None:
    """Across the sheet; what is under it stays legible."""
    across, along = sheet.size.across_mm, sheet.size.along_mm
    size = min(across / 6.5, along / 2.2)
    drawing.items.append(
        Text(across / 2, along / 2, NEVER, size, turn_deg=28 if across > along else 55, bold=True, opacity=0.25)
    )
