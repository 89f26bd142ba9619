"""Marks of the sheet: colour bar, side-guide mark, register marks and plate labels, and whether they keep off blanks.

Of a sheet from outside they are found on the page (``marks/``); on a sheet that the tool lays out they are its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Reading
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import Kinds, measure

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.measures.marks.marked_sheet import SheetWithMarks
    from preflight.setup.press_sheet.press_sheet import Mark


NAMES: Final = {
    "colour bar": "colour bar",
    "register": "register mark",
    "side guide": "side-guide mark",
    "centre": "centre mark",
    "label": "plate label",
}
"""Kinds of marks that have to keep off the blanks, as people call them."""


def _sheet(job: Job) -> SheetWithMarks | None:
    from preflight.measures.marks.marked_sheet import BLEED_MM, sheet_with_marks

    return sheet_with_marks(job, BLEED_MM)


def _sheet_for_sure(job: Job) -> SheetWithMarks | None:
    """The sheet, where it may be held against a page that something is missing on it."""
    if job.artwork_is_known == "assumed" and job.artwork_is != "one-up":
        because = "whether the page is a whole sheet is a guess, so it cannot be said that marks are missing on it"
        raise NotMeasured(because, "give artwork_is on the ticket", "ticket")
    return _sheet(job)


def _no_bar(job: Job) -> bool:
    return job.ticket is not None and job.ticket.layout.bar == "none"


def _inks(sheet: SheetWithMarks, kinds: Iterable[str]) -> list[str]:
    wanted = set(kinds)
    return [name for name, kind in sheet.inks if kind in wanted]


def _whole(marks: Iterable[Mark]) -> BaseGeometry:
    return shapely.box(*shapely.union_all([mark.shape for mark in marks]).bounds)


# The colour bar ----------------------------------------------------------------------------------------------------


@measure("colour-bars", unit="bars", within="page")
def colour_bars(job: Job) -> list[Reading]:
    """Whether a colour bar stands on the sheet; nothing where the ticket says that there is none to be."""
    if _no_bar(job) or (sheet := _sheet_for_sure(job)) is None:
        return []
    return [Reading(float(bool(sheet.of("colour bar"))), "bars", known=sheet.known)]


@measure("patches-of-inks", unit="solids", within="page", cases=("tints only", "on others"), facts=("inks", "patches"))
def patches_of_inks(job: Job, *, kinds: Kinds) -> list[Reading]:
    """Solid patches of each ink by itself, of these kinds, on the colour bar that is there.

    Case ``tints only``: the bar has tints of it and no solid; ``on others``: its solid only stands on other inks.
    """
    sheet = None if _no_bar(job) else _sheet(job)
    bar = sheet.of("colour bar") if sheet else []
    if sheet is None or not bar:
        return []
    readings = []
    for ink in _inks(sheet, kinds):
        solid = sum(sheet.is_solid(patch, ink) for patch in bar)
        tints = [patch.inks.get(ink, 0.0) for patch in bar]
        case = "" if solid or not max(tints) > 0.02 else "on others" if max(tints) >= 0.95 else "tints only"
        facts = {"inks": [ink], "patches": "1 patch" if len(bar) == 1 else f"{len(bar)} patches"}
        readings.append(
            Reading(float(solid), "solids", sheet.places([_whole(bar)]), sheet.known, case, "the bar", facts)
        )
    return readings


@measure("work-past-bar", unit="mm", within="page", facts=("side", "bar"))
def work_past_bar(job: Job) -> list[Reading]:
    """How much of the width of all blanks the colour bar leaves out at each side of the press."""
    sheet = None if _no_bar(job) else _sheet(job)
    bar = sheet.of("colour bar") if sheet else []
    if sheet is None or not bar:
        return []
    shape = _whole(bar)
    (left, _, right, _), (first, _, last, _) = shape.bounds, sheet.work.bounds
    readings = []
    for past, x in ((left - first, first), (last - right, last)):
        facts = {"side": sheet.side_of(shapely.Point(x, 0)), "bar": f"{right - left:.0f} mm"}
        readings.append(Reading(round(max(0.0, past), 1), "mm", sheet.places([shape]), sheet.frame_known, facts=facts))
    return readings


@measure("zones-without-patch", unit="zones", within="page", facts=("inks", "zones", "with_work"))
def zones_without_patch(job: Job, *, kinds: Kinds, patch_mm: float) -> list[Reading]:
    """For each ink on the bar: ink zones with work in them that have no solid patch of it, of those that it runs past.

    A zone counts where bar and work in it are as wide as a patch of each ink; a patch counts in each zone that has half
    of it or half of ``patch``.
    """
    sheet = None if _no_bar(job) else _sheet(job)
    bar = sheet.of("colour bar") if sheet else []
    if sheet is None or not bar:
        return []
    keys = needs.press(job).ink_keys
    needs.said(keys, "ink_keys", "press profile")
    assert keys is not None
    inks = _inks(sheet, kinds)
    (first, _, last, _), (begin, _, end, _) = sheet.work.bounds, _whole(bar).bounds
    first, last = max(first, begin), min(last, end)
    zones = [
        zone for zone in sheet.zones(keys) if min(zone[2], last) - max(zone[1], first) >= patch_mm * max(1, len(inks))
    ]
    readings = []
    for ink in inks:
        own = [patch.shape.bounds for patch in bar if sheet.is_solid(patch, ink)]
        if own:
            bare = [zone for zone in zones if not any(_stands_in(patch, zone, patch_mm / 2) for patch in own)]
            numbers = ", ".join(str(number) for number, _, _ in sorted(bare))
            facts = {"inks": [ink], "zones": numbers, "with_work": f"{len(zones)}"}
            places = sheet.places(shapely.box(left, 0, right, sheet.size.along_mm) for _, left, right in bare)
            readings.append(Reading(float(len(bare)), "zones", places, sheet.frame_known, group=numbers, facts=facts))
    return readings


def _stands_in(patch: tuple[float, ...], zone: tuple[int, float, float], enough_mm: float) -> bool:
    width = patch[2] - patch[0]
    return min(patch[2], zone[2]) - max(patch[0], zone[1]) >= min(enough_mm, width / 2) - 0.1


# Side guide, register ----------------------------------------------------------------------------------------------


@measure("side-guide-marks", unit="marks", within="page", cases=("other side",), facts=("side", "where"))
def side_guide_marks(job: Job) -> list[Reading]:
    """Side-guide marks at the side where sheets are guided; case ``other side``: they stand at the other one."""
    if (sheet := _sheet_for_sure(job)) is None:
        return []
    lay = needs.press(job).side_lay
    needs.said(lay, "side_lay", "press profile")
    marks = sheet.of("side guide")
    sides = [sheet.side_of(mark.shape) for mark in marks]
    guided = [mark for mark, side in zip(marks, sides, strict=True) if lay in ("either", side)]
    case = "other side" if marks and not guided else ""
    shown = guided or marks
    facts = {"side": str(lay), "where": sheet.where(shown[0].shape) if shown else ""}
    known = "assumed" if job.press and job.press.operator_side is None and lay != "either" else sheet.frame_known
    places = sheet.places(mark.shape for mark in shown)
    return [Reading(float(len(guided)), "marks", places, known, case, facts=facts)]


@measure("register-marks", unit="marks", within="page", cases=("one plate",), facts=("inks", "marks", "lacking"))
def register_marks(job: Job, *, kinds: Kinds) -> list[Reading]:
    """Register marks on the sheet; case ``one plate``: those that have the ink of one plate, of these kinds."""
    if (sheet := _sheet_for_sure(job)) is None:
        return []
    marks = sheet.of("register")
    readings = [Reading(float(len(marks)), "marks", sheet.places(mark.shape for mark in marks), sheet.known)]
    for ink in _inks(sheet, kinds) if len(marks) > 1 else ():
        own = [mark for mark in marks if ink in mark.inks]
        places = sheet.places(mark.shape for mark in marks if ink not in mark.inks)
        facts = {"inks": [ink], "marks": f"{len(marks)}", "lacking": f"{len(marks) - len(own)}"}
        readings.append(Reading(float(len(own)), "marks", places, sheet.known, "one plate", "plates", facts))
    return readings


@measure("register-marks-apart", unit="%", within="page", facts=("apart",))
def register_marks_apart(job: Job) -> list[Reading]:
    """Distance of the two register marks that are farthest apart, over the longer side of the sheet."""
    sheet = _sheet(job)
    marks = sheet.of("register") if sheet else []
    if sheet is None or len(marks) < 2:
        return []
    middles = [shapely.centroid(mark.shape) for mark in marks]
    apart = max(one.distance(other) for one in middles for other in middles)
    share = 100 * apart / max(sheet.size.across_mm, sheet.size.along_mm)
    places = sheet.places(mark.shape for mark in marks)
    return [Reading(round(share, 1), "%", places, sheet.known, facts={"apart": f"{apart:.0f} mm"})]


# Marks and blanks --------------------------------------------------------------------------------------------------


@measure("marks-in-blanks", unit="mm", within="page", cases=("beside",), facts=("mark", "blank", "where"))
def marks_in_blanks(job: Job, *, bleed_mm: float) -> list[Reading]:
    """How far marks reach into the cut of a blank; case ``beside``: their distance from a cut nearer than ``bleed``.

    Looked at are colour bar, register, side-guide and centre marks and plate labels; for the latter ``beside`` is not
    asked. Registration colour wholly inside a cut is left to the rule on it.
    """
    if (sheet := _sheet(job)) is None:
        return []
    return [
        reading
        for kind in NAMES
        for number, cut in sheet.cuts
        if (reading := _at_blank(sheet, kind, number, cut, bleed_mm)) is not None
    ]


def _at_blank(sheet: SheetWithMarks, kind: str, number: int, cut: BaseGeometry, bleed_mm: float) -> Reading | None:
    """How marks of a kind lie to a blank; None where they all keep off it."""
    marks = sheet.of(kind)
    if not marks:
        return None
    shapes = [mark.shape for mark in marks]
    near = [shape for shape in shapes if shape.distance(cut) < bleed_mm]
    inside = [shape for shape in near if shape.intersection(cut).area > 0]
    facts = {"mark": NAMES[kind], "blank": number}
    if inside:
        deep = max(_depth(shape, cut) for shape in inside)
        facts["where"] = sheet.where(inside[0])
        return Reading(round(deep, 2), "mm", sheet.places(inside), sheet.known, "", f"{kind} {number}", facts)
    if not near or kind == "label":
        return None
    facts["where"] = sheet.where(near[0])
    clear = min(shape.distance(cut) for shape in near)
    return Reading(round(clear, 2), "mm", sheet.places(near), sheet.known, "beside", f"{kind} {number}", facts)


def _depth(shape: BaseGeometry, cut: BaseGeometry) -> float:
    """How far the part of a shape that is inside the cut lies from the cut line, at most."""
    corners = shapely.points(shapely.get_coordinates(shapely.intersection(shape, cut)))
    return float(shapely.distance(corners, cut.boundary).max(initial=0.0))


# Labels ------------------------------------------------------------------------------------------------------------


@measure("plate-labels", unit="labels", within="page", facts=("inks",))
def plate_labels(job: Job, *, kinds: Kinds) -> Measured | list[Reading]:
    """Lines of type outside the blanks in the ink of each plate alone.

    What the type says is not read. Where a plate has none and there is something in its ink that nobody can name,
    which may be type in outlines or in a picture, that plate is left open.
    """
    if (sheet := _sheet_for_sure(job)) is None:
        return []
    labels, readings, doubtful = sheet.of("label"), list[Reading](), list[str]()
    for ink in _inks(sheet, kinds):
        own = [mark for mark in labels if set(mark.inks) == {ink}]
        if not own and any(set(mark.inks) == {ink} for mark in sheet.of("unknown")):
            doubtful.append(ink)
            continue
        places = sheet.places(mark.shape for mark in own)
        readings.append(Reading(float(len(own)), "labels", places, sheet.known, "", "plates", {"inks": [ink]}))
    return Measured(readings, list(_open_labels(doubtful, sheet)))


def _open_labels(inks: list[str], sheet: SheetWithMarks) -> Iterator[Gap]:
    if inks:
        alone = [{ink} for ink in inks]
        places = sheet.places(mark.shape for mark in sheet.of("unknown") if set(mark.inks) in alone)
        because = f"something is printed outside the blanks in {', '.join(inks)} that may be a label in outlines"
        yield Gap(because, "labels as type, not as outlines or pictures", places=places[:12])
