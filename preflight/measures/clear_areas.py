"""The coating plate on the sheet: what it leaves bare on each blank, what that does to neighbours, its finest parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.errors import NotMeasured
from preflight.findings import Gap, Known, Measured, Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.coating_question import plan_of_job
from preflight.measures.registry import measure
from preflight.measures.sheet_places import blanks_told, once, place_of

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.clear_areas import ClearArea, CoatingPlan
    from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

EDGE_MM: Final = 0.1
"""What reaches into an area by no more than this only touches it: plates are drawn in pixels of 0.25 mm."""
MOST_PARTS: Final = 4000
"""Parts of a coat whose width is looked at."""
AT_ENDS_MM: Final = 2.0
"""The ends of a crease are left out: coat beyond them lies past the cut or on the next panel."""


@measure("coat-in-clear-area", unit="mm", tolerance=0.05, within="cut", facts=("area", "coat", "blanks", "right"))
def coat_in_clear_area(job: Job, *, areas: tuple[str, ...]) -> Measured:
    """Width of the coat that a separation lays in each kind of clear area, on the sheet; the worst blank.

    On a sheet that is laid out, the coat of its own blank counts in ``areas`` of some kinds only; in others, which the
    rules on the artwork look at, that of other blanks alone.
    """
    found = plan_of_job(job)
    if found is None:
        return Measured([])
    sheet, plan = found
    gaps = [Gap(lack, "areas: on the ticket", "ticket") for lack in plan.lacks]
    if plan.asked.separation is None:
        return Measured([], gaps)
    kinds = defaultdict[str, list["ClearArea"]](list)
    for area in plan.areas:
        kinds[area.kind].append(area)
    whole = {kind.casefold() for kind in areas} if sheet.layout is not None else set(map(str.casefold, kinds))
    told = [_coated(job, sheet, plan, of_kind, whole=kind.casefold() in whole) for kind, of_kind in kinds.items()]
    return Measured(told, gaps)


def _coated(job: Job, sheet: PressSheet, plan: CoatingPlan, areas: Sequence[ClearArea], *, whole: bool) -> Reading:
    """The coat in all areas of one kind."""
    worst, wrong, places = 0.0, set[int](), list[Place]()
    for area in areas:
        part = shapely.intersection(plan.drawn, shapely.buffer(area.shape, -EDGE_MM, join_style="mitre"))
        if not whole:
            part = shapely.difference(part, _own_piece(sheet, area.blank))
        width = _width(part)
        if width > EDGE_MM:
            wrong.add(area.blank)
            places += place_of(sheet, job, part, sheet.blanks[_index(sheet, area.blank)])
        worst = max(worst, width + EDGE_MM if width > EDGE_MM else 0.0)
    blanks = {area.blank for area in areas}
    facts = {
        "area": areas[0].kind,
        "coat": plan.asked.separation,
        "blanks": blanks_told(wrong) if wrong else "no blank",
        "right": _right(len(blanks) - len(wrong), len(blanks)),
    }
    return Reading(round(worst, 2), "mm", once(places), _known(job, areas), group=areas[0].kind, facts=facts)


def _right(count: int, of: int) -> str:
    if count == 0:
        return "no blank has it right" if of > 1 else "there is no other one"
    return "1 other blank has it right" if count == 1 else f"{count} other blanks have it right"


@measure(
    "coat-left-beside-clear-area", unit="mm", tolerance=0.02, within="cut", facts=("area", "blanks", "choke", "where")
)
def coat_left_beside_clear_area(job: Job, *, look_mm: float) -> list[Reading]:
    """How far the coat of a visible face goes on past its cut to a bare place of a neighbour, within ``look``.

    Below nought the bare place reaches into the neighbour's face. What nobody sees on the carton (its dust and glue
    flaps) and what the neighbour leaves bare itself may be bare.
    """
    found = _plan_of_plate(job)
    if found is None:
        return []
    sheet, plan = found
    faces = {blank.number: _coated_face(plan, blank) for blank in sheet.blanks}
    numbers = list(faces)
    tree = shapely.STRtree([faces[number] for number in numbers])
    told: dict[tuple[str, float], list[tuple[ClearArea, int, BaseGeometry]]] = defaultdict(list)
    for area in plan.areas:
        for k in tree.query(area.on_plate, predicate="dwithin", distance=look_mm):
            other = numbers[k]
            if other != area.blank:
                left, where = _left(area.on_plate, faces[other])
                told[area.kind, round(left, 1)].append((area, other, where))
    return [_beside(job, sheet, plan, kind, left, pairs) for (kind, left), pairs in sorted(told.items())]


def _left(bare: BaseGeometry, face: BaseGeometry) -> tuple[float, BaseGeometry]:
    """Coat between a bare place and a face, and where that is."""
    into = shapely.intersection(bare, face)
    if _width(into) > 0.01:
        return -_width(into), into
    return float(shapely.distance(bare, face)), shapely.shortest_line(bare, face)


def _coated_face(plan: CoatingPlan, blank: SheetBlank) -> BaseGeometry:
    """What of a blank is coated and seen on the finished carton."""
    from preflight.carton.die import Blank
    from preflight.setup.press_sheet.stepping import hidden_faces

    as_blank = Blank(blank.number, blank.outline, blank.creases, blank.panels, blank.edges, blank.areas)
    own = [area.on_plate for area in plan.areas if area.blank == blank.number]
    seen = shapely.intersection(plan.drawn, blank.outline)
    return shapely.difference(seen, shapely.union_all([*own, *hidden_faces(as_blank)]))


def _beside(
    job: Job,
    sheet: PressSheet,
    plan: CoatingPlan,
    kind: str,
    left: float,
    pairs: Sequence[tuple[ClearArea, int, BaseGeometry]],
) -> Reading:
    places = list[Place]()
    for _, other, where in pairs:
        places += place_of(sheet, job, shapely.buffer(where, 0.5), sheet.blanks[_index(sheet, other)])
    areas = [area for area, _, _ in pairs]
    where = (
        f"it reaches {-left:g} mm into the face of" if left < 0 else f"it leaves {left:g} mm of coat past the cut of"
    )
    facts = {
        "area": kind,
        "blanks": listed([f"{area.blank} beside {other}" for area, other, _ in pairs], 6),
        "choke": f"{plan.asked.choke_mm:g} mm",
        "where": where,
    }
    return Reading(left, "mm", once(places), _known(job, areas), group=f"{kind} {left:g}", facts=facts)


@measure(
    "coating-plate-width", unit="mm", tolerance=0.02, within="cut", cases=("bare",), facts=("what", "blanks", "choke")
)
def coating_plate_width(job: Job, *, look_mm: float) -> Measured:
    """Width of the narrowest line of coat on the coating plate; case ``bare``: of the narrowest bare place in it.

    Only what is narrower than ``look`` is told.
    """
    found = _plan_of_plate(job)
    if found is None:
        return Measured([])
    sheet, plan = found
    coat, gaps = shapely.get_parts(plan.coat), list[Gap]()
    if len(coat) > MOST_PARTS:
        gaps.append(Gap(f"the coat has {len(coat):,} parts", "a coating plate with fewer parts"))
        coat = coat[:0]
    readings = [_fine(job, sheet, plan, "", "line of coat", part, _width(part)) for part in _slim(coat, look_mm)]
    for one, other, away in _strips(plan, look_mm):
        line = shapely.shortest_line(one, other)
        readings.append(_fine(job, sheet, plan, "", "line of coat", line, away))
    for bare in _slim(plan.bare, look_mm):
        readings.append(_fine(job, sheet, plan, "bare", "bare place", bare, _width(bare)))
    return Measured(readings, gaps)


def _strips(plan: CoatingPlan, look_mm: float) -> Iterator[tuple[Polygon, Polygon, float]]:
    """Bare places of the plate with a narrow strip of coat between them."""
    if not plan.bare:
        return
    tree = shapely.STRtree(plan.bare)
    for k, one in enumerate(plan.bare):
        for other in tree.query(one, predicate="dwithin", distance=look_mm):
            if other > k:
                line = shapely.shortest_line(one, plan.bare[other])
                if line.length > 0.01 and shapely.intersection(line, plan.coat).length > 0.01:
                    yield one, plan.bare[other], float(line.length)


def _slim(parts: Sequence[BaseGeometry], look_mm: float) -> list[BaseGeometry]:
    """Parts that are narrower than so much; twice area over outline is the width of a strip, and never more."""
    found = [part for part in parts if part.length and 2 * part.area / part.length < look_mm]
    return [part for part in found if _width(part) < look_mm]


def _fine(
    job: Job, sheet: PressSheet, plan: CoatingPlan, case: str, what: str, shape: BaseGeometry, width: float
) -> Reading:
    near = sorted(sheet.blanks, key=lambda blank: float(blank.outline.distance(shape)))[:1]
    blank = near[0] if near and near[0].outline.distance(shape) < 0.01 else None
    facts = {
        "what": what,
        "blanks": blanks_told([each.number for each in near]),
        "choke": f"{plan.asked.choke_mm:g} mm",
    }
    place = place_of(sheet, job, shapely.buffer(shape, 0.3), blank)
    return Reading(round(width, 2), "mm", place, _known(job, plan.areas), case, f"{what} {width:.1f}", facts)


@measure("coat-from-glue-seam", unit="mm", tolerance=0.02, within="cut", facts=("area", "blanks", "choke"))
def coat_from_glue_seam(job: Job) -> Measured:
    """Distance of the coat on the plate from the crease that each glue flap hangs on."""
    found = _plan_of_plate(job)
    if found is None:
        return Measured([])
    sheet, plan = found
    told: dict[float, list[ClearArea]] = defaultdict(list)
    gaps = list[Gap]()
    for area in plan.areas:
        if area.seam is None:
            continue
        line = _without_ends(area.seam)
        told[round(float(shapely.distance(line, plan.coat)), 2)].append(area)
    return Measured([_seam(job, sheet, plan, away, areas) for away, areas in sorted(told.items())], gaps)


def _without_ends(line: BaseGeometry) -> BaseGeometry:
    from shapely.ops import substring

    parts = [part for part in shapely.get_parts(shapely.line_merge(line)) if part.length > 3 * AT_ENDS_MM]
    return shapely.union_all([substring(part, AT_ENDS_MM, part.length - AT_ENDS_MM) for part in parts] or [line])


def _seam(job: Job, sheet: PressSheet, plan: CoatingPlan, away: float, areas: Sequence[ClearArea]) -> Reading:
    places = list[Place]()
    for area in areas:
        assert area.seam is not None
        places += place_of(sheet, job, shapely.buffer(area.seam, 1.0), sheet.blanks[_index(sheet, area.blank)])
    facts = {
        "area": areas[0].kind,
        "blanks": blanks_told([area.blank for area in areas]),
        "choke": f"{plan.asked.choke_mm:g} mm",
    }
    return Reading(away, "mm", once(places), _known(job, areas), group=f"{away:g}", facts=facts)


# What they share ----------------------------------------------------------------------------------------------------


def _plan_of_plate(job: Job) -> tuple[PressSheet, CoatingPlan] | None:
    """The plan, for what is only known once the choke is; raises NotMeasured where the profile does not say it."""
    found = plan_of_job(job)
    if found is None:
        return None
    press = needs.press(job)
    needs.said(press.coating_plate.choke, "coating_plate: choke", "press profile")
    if found[1].coat.is_empty:
        raise NotMeasured("the coating plate lays nothing on this sheet", "coating: area on the ticket", "ticket")
    return found


def _known(job: Job, areas: Sequence[ClearArea]) -> Known:
    guessed = any(area.known == "assumed" for area in areas) or job.artwork_is_known == "assumed"
    return "assumed" if guessed else needs.die_known(job)


def _width(shape: BaseGeometry) -> float:
    """Width of the widest part of a shape in mm: of the largest circle within it."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 0]
    return max(
        (2 * float(shapely.maximum_inscribed_circle(part, tolerance=0.01).length) for part in parts), default=0.0
    )


def _own_piece(sheet: PressSheet, number: int) -> BaseGeometry:
    piece = sheet.blanks[_index(sheet, number)].piece
    return sheet.pieces[piece].clip if piece is not None else Polygon()


def _index(sheet: PressSheet, number: int) -> int:
    return next(k for k, blank in enumerate(sheet.blanks) if blank.number == number)
