"""The coating plate for whoever makes it: ``coating-plate.dxf``, and its picture for the set-up sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.crew.clear_areas_part import coating_plan
from preflight.crew.planned_job import PlannedJob
from preflight.errors import NotMeasured
from preflight.findings import listed
from preflight.report.drawing import Drawing, Point, hatch, text_width, widest_place
from preflight.report.dxf import DxfTold, PlateArea, coating_plate_dxf
from preflight.report.layout_looks import SMALL, TYPE
from preflight.report.setup_sheet import sheet_of
from preflight.setup.press_sheet.clear_areas import CoatingPlan
from preflight.setup.press_sheet.press_sheet import PressSheet

Document = Mapping[str, Any]
FILE: Final = "coating-plate.dxf"
COAT: Final = 0.82
"""Grey of the coat in the picture."""
LEFT, RIGHT, TOP, BOTTOM = 12.0, 12.0, 10.0, 26.0
"""Margins round the sheet, as they come out on paper; mm."""
LEAST_SCALE: Final = 0.75
"""Words of areas are made so much smaller at most; then they stand beside them."""
SMALLEST_SCALE: Final = 0.5
"""Or, where there is no room beside them either, so much smaller; then the hatching has to do."""


def coating_files(job: PlannedJob, document: Document) -> dict[str, bytes]:
    """The drawing by its name; none where no coater lays a pattern or the job is not laid out."""
    plan = _plan(job)
    if plan is None or job.sheet is None or job.sheet.layout is None or plan.coat.is_empty:
        return {}
    sheet, told = job.sheet, sheet_of(document)
    plate = job.press.coating_plate if job.press is not None else None
    head = f"Coating plate, {told.job}, {told.title}" if told.title else f"Coating plate, {told.job}"
    data = coating_plate_dxf(
        sheet,
        plate_areas(plan),
        stretch_percent=plate.stretch if plate else None,
        choke_mm=plan.asked.choke_mm,
        told=DxfTold((head, " | ".join(told.identity)), told.run_it, tuple(_notes(plan))),
    )
    return {FILE: data}


def _plan(job: PlannedJob) -> CoatingPlan | None:
    try:
        return coating_plan(job)
    except NotMeasured:
        return None


def plate_areas(plan: CoatingPlan) -> list[PlateArea]:
    """Coat and bare places, as they are to come out on the sheet."""
    coat = [PlateArea(part, coated=True) for part in shapely.get_parts(plan.coat) if isinstance(part, Polygon)]
    bare = list[PlateArea]()
    for place in plan.bare:
        kinds, blanks = plan.kinds_in(place)
        bare.append(PlateArea(place, coated=False, is_=", ".join(kinds), blank=blanks[0] if len(blanks) == 1 else None))
    return [*coat, *bare]


def _notes(plan: CoatingPlan) -> list[str]:
    where = f"where {plan.asked.separation} shows it" if plan.asked.separation else "all over the printable area"
    told = [f"The coat lies {where}; bare: {listed(list(dict.fromkeys(area.kind for area in plan.areas)))}."]
    if plan.asked.bare_gutters:
        told.append("Gutters are bare but for the bleed.")
    if plan.asked.seam_mm is not None:
        told.append(f"The coat stays back {plan.asked.seam_mm:g} mm from the crease of glue flaps.")
    return [*told, *(f"Not known: {lack}." for lack in plan.lacks)]


# The picture ---------------------------------------------------------------------------------------------------------


def coating_drawing(job: PlannedJob, paper_mm: tuple[float, float]) -> Drawing | None:
    """Coat in grey, bare places white and hatched, cuts over them, in the sheet's frame; type for paper of a size."""
    plan, sheet = _plan(job), job.sheet
    if plan is None or sheet is None:
        return None
    across, along = sheet.size.across_mm, sheet.size.along_mm
    unit = max(across / (paper_mm[0] - LEFT - RIGHT), along / (paper_mm[1] - TOP - BOTTOM))
    drawing = Drawing("Coating plate", (-LEFT * unit, -BOTTOM * unit, across + RIGHT * unit, along + TOP * unit))
    drawing.lines("coat", plan.coat, 0.1 * unit, grey=0.4, fill=COAT)
    for blank in sheet.blanks:
        drawing.lines("cut", blank.outline, 0.14 * unit, grey=0.35)
    for bare in plan.bare:
        drawing.lines("bare place", hatch(bare, 1.6 * unit, 45), 0.12 * unit, grey=0.25)
        drawing.lines("bare place", bare, 0.3 * unit)
    numbers = [(str(blank.number), _coated_place(blank.outline, plan.coat)) for blank in sheet.blanks]
    labels = _Labels(drawing, unit, shapely.box(0, 0, across, along), [area.shape for area in plan.areas])
    for says, at in numbers:
        labels.keep(*at, text_width(says, 6 * unit, bold=True), 6 * unit)
    for area in plan.areas:
        labels.put(area.kind, area.shape)
    for says, at in numbers:
        drawing.text(*at, says, 6 * unit, bold=True, backed=True)
    _edges(drawing, sheet, unit)
    _foot(drawing, plan, unit)
    return drawing


def _coated_place(outline: Polygon, coat: BaseGeometry) -> Point:
    coated = shapely.intersection(outline, coat)
    at, _ = widest_place([coated if coated.area > 0 else outline])
    return at


@dataclass
class _Labels:
    """Words of bare areas: in them, else beside them where nothing else is said or bare, and never off the sheet."""

    drawing: Drawing
    unit: float
    sheet: Polygon
    bare: Sequence[Polygon]
    taken: list[Polygon] = field(default_factory=list)

    def keep(self, x: float, y: float, wide: float, high: float) -> None:
        """Something is said here."""
        self.taken.append(shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2))

    def put(self, kind: str, shape: Polygon) -> None:
        """The word where it fits best; smaller in its area where there is no room beside it, else left out."""
        x0, y0, x1, y1 = shape.bounds
        size = TYPE * self.unit
        wide = text_width(kind, size, bold=True)
        turn = 90.0 if y1 - y0 > x1 - x0 and wide > x1 - x0 else 0.0
        along, across = (y1 - y0, x1 - x0) if turn else (x1 - x0, y1 - y0)
        scale = min(1.0, 0.9 * along / wide, 0.9 * across / size)
        if scale < LEAST_SCALE:
            for at, its_turn, less in _beside(shape, wide, size):
                if self._is_free(at, wide * less, size * less, its_turn):
                    self._say(kind, at, size * less, its_turn, backed=False)
                    return
        if scale >= SMALLEST_SCALE:
            self._say(kind, ((x0 + x1) / 2, (y0 + y1) / 2), size * scale, turn, backed=True)

    def _is_free(self, at: Point, wide: float, high: float, turn: float) -> bool:
        box = _box(at, wide, high, turn)
        return bool(self.sheet.contains(box)) and not any(box.intersects(other) for other in (*self.bare, *self.taken))

    def _say(self, kind: str, at: Point, size: float, turn: float, *, backed: bool) -> None:
        self.taken.append(_box(at, text_width(kind, size, bold=True), size, turn))
        self.drawing.text(*at, kind, size, turn_deg=turn, bold=True, backed=backed)


def _box(at: Point, wide: float, high: float, turn: float) -> Polygon:
    x, y = at
    half = (high / 2, wide / 2) if turn else (wide / 2, high / 2)
    return shapely.box(x - half[0], y - half[1], x + half[0], y + half[1])


def _beside(shape: Polygon, wide: float, size: float) -> Iterator[tuple[Point, float, float]]:
    """Middles, turns and scales of a word above, below, right and left of an area."""
    x0, y0, x1, y1 = shape.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    for less in (1.0, LEAST_SCALE):
        away, half = 0.7 * size * less, (wide / 2 + 0.2 * size) * less
        yield (x, y1 + away), 0.0, less
        yield (x, y0 - away), 0.0, less
        yield (x1 + away, y), 90.0, less
        yield (x0 - away, y), 90.0, less
        yield (x1 + half, y), 0.0, less
        yield (x0 - half, y), 0.0, less


def _edges(drawing: Drawing, sheet: PressSheet, unit: float) -> None:
    across, along, away, size = sheet.size.across_mm, sheet.size.along_mm, 4 * unit, TYPE * unit
    drawing.lines("sheet", shapely.box(0, 0, across, along), 0.3 * unit)
    drawing.lines("gripper edge", shapely.LineString([(0, 0), (across, 0)]), 0.9 * unit)
    drawing.text(across / 2, -away, "GRIPPER EDGE", size, bold=True)
    drawing.text(across / 2, along + away, "TAIL", size, bold=True)
    assumed = " (assumed)" if sheet.operator_assumed else ""
    sides = [f"OPERATOR SIDE{assumed}", f"DRIVE SIDE{assumed}"]
    left, right = sides if sheet.operator_side == "left" else sides[::-1]
    drawing.text(-away, along / 2, left, size, turn_deg=90, bold=True)
    drawing.text(across + away, along / 2, right, size, turn_deg=90, bold=True)


def _foot(drawing: Drawing, plan: CoatingPlan, unit: float) -> None:
    """The legend."""
    y, x, size = -14 * unit, 0.0, SMALL * 1.2 * unit
    for says, grey, hatched in (("coat", COAT, False), ("bare", 1.0, True)):
        patch = shapely.box(x, y - 2 * unit, x + 10 * unit, y + 2 * unit)
        drawing.lines("legend", patch, 0.3 * unit, fill=grey)
        if hatched:
            drawing.lines("legend", hatch(patch, 1.6 * unit, 45), 0.12 * unit, grey=0.25)
        drawing.text(x + 12 * unit, y, says, size, align="left")
        x += 16 * unit + text_width(says, size) + 4 * unit
