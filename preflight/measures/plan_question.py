"""What the planner of the units is asked about a job: its plates, what overlaps what, how near inks stand.

Nothing is planned here. Overlaps are looked for between what hides (metallic, white, effect varnish) and all else, and
distances between inks only for those who ask, because they take time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from typing import Final

import numpy as np

from preflight.artwork.page.objects import Painted
from preflight.errors import NotMeasured
from preflight.inputs.ink_names import needs_adhesive
from preflight.inputs.ticket import SeparationNote, Ticket
from preflight.job import InkOnJob, Job, once_a_job
from preflight.measures import needs, object_places
from preflight.measures.metallics import printed_over
from preflight.measures.one_ink import names_to_merge
from preflight.measures.raster import masks
from preflight.measures.raster.overlaps import overlap
from preflight.setup.plan_request import CoatingToLay, OnPress, Pair, PlanRequest, PlateToPlace
from preflight.setup.press_plan import PressPlan
from preflight.setup.unit_plan import PlatesOfInk, UnitPlan, same_name

MOST_PLATES: Final = 24
"""Nobody runs more in one pass or two; what overlaps what is not looked for beyond."""
TINT_PERCENT: Final = 2.0
TRIM_MM: Final = 0.2
"""Taken off the edges of an overlap, so that traps do not count."""
NEAR_MM: Final = 0.6
"""How far distances are looked for; further where the plant's joint (rules/unit_order.yaml) is wider."""
FINE_TYPE_PT: Final = 8.0
FINE_LINE_MM: Final = 0.5 * 25.4 / 72
"""Type and lines under these are not built of several process inks (common practice)."""
PICTURE_FROM: Final = 0.02
"""Share of a picture that an ink has to be on for the picture to print in it."""
BOARD_L: Final = 95.0
BLACK_L: Final = 16.0
"""L* of coated board and of a black solid on it (ISO 12647-2, coated paper)."""
PROCESS_L: Final[Mapping[str, float]] = {"Cyan": 55.0, "Magenta": 48.0, "Yellow": 89.0, "Black": BLACK_L}
"""L* of process solids on coated paper (ISO 12647-2)."""


def plan_request(job: Job, before: OnPress | None = None, *, distances: bool = False) -> PlanRequest:
    """What the planner is asked about a job on its press.

    Args:
        job: its plates have to be whole.
        before: what is on the press; that of the job where None.
        distances: with the nearest distances of inks, which two passes rest on.

    Raises:
        NotMeasured: there is no press, the plates cannot be drawn, or there are very many of them.
    """
    request = replace(_request(job), before=before or job.before)
    return replace(request, distance_mm=_distances(job)) if distances else request


def planned(job: Job) -> PressPlan:
    """The tool's plan for a job; distances are looked for where it cannot be printed in one pass.

    Raises:
        NotMeasured: as ``plan_request`` does.
    """
    too_many = needs.plan(job).needed > needs.press(job).unit_count
    from preflight.setup.unit_order.plan_press import plan_press  # most checks plan nothing

    plan = plan_press(plan_request(job, distances=too_many))
    return plan if plan.possible or too_many else plan_press(plan_request(job, distances=True))


@once_a_job
def _request(job: Job) -> PlanRequest:
    press, plan, ticket = needs.press(job), needs.plan(job), job.ticket
    if plan.needed > MOST_PLATES:
        raise NotMeasured(f"{plan.needed} plates are more than are planned for one job", "a file with fewer inks")
    plates = tuple(_Plates(job, plan).each())
    coating = ticket.coating if ticket else None
    over = _overlaps(job, plan, plates)
    return PlanRequest(
        _with_white_on_solids(job, plan, plates, over),
        press,
        CoatingToLay(
            coating.kind, "plate" if coating.separation else "overall", coating.separation, tuple(coating.clear or ())
        )
        if coating
        else None,
        surface=ticket.board.surface if ticket else None,
        ink_system=ticket.ink_system if ticket else None,
        wished=_wished(ticket, plan),
        fixed=bool(ticket and ticket.units_fixed),
        overlap_mm2=over,
        aimed=frozenset(
            plate.name
            for plate in plates
            for name, aim in (ticket.aims if ticket else {}).items()
            if same_name(plate.name, name) and (aim.density is not None or aim.lab is not None)
        ),
        one_ink=tuple(names_to_merge([each.name for each in plan.plates if not each.overall])),
    )


def _with_white_on_solids(
    job: Job, plan: UnitPlan, plates: tuple[PlateToPlace, ...], over: Mapping[Pair, float]
) -> tuple[PlateToPlace, ...]:
    """The plates, with whites told that on white board are drawn on top of the inks that they overlap."""
    white_board = job.ticket is not None and job.ticket.board.surface == "white"
    if not white_board or all(plate.kind != "white" for plate in plates):
        return plates
    from preflight.measures.whites import drawn_on_top  # few jobs have a white on white board

    names = {each.name: (each.name, *each.also_called) for each in plan.plates}
    inks = {plate.name for plate in plates if plate.kind in ("process", "spot", "metallic")}

    def on_solids(plate: PlateToPlace) -> bool:
        pairs = [pair for pair in over if plate.name in pair]
        met = [each for pair in pairs for each in pair if each in inks]
        return bool(met) and drawn_on_top(job, names[plate.name], {name for each in met for name in names[each]})

    return tuple(
        replace(plate, on_solids=on_solids(plate)) if plate.kind == "white" and not plate.overall else plate
        for plate in plates
    )


def _wished(ticket: Ticket | None, plan: UnitPlan) -> tuple[str | None, ...] | None:
    """The ticket's unit list by the names of the plates; what has no plate leaves its unit idle."""
    if ticket is None or ticket.units is None:
        return None
    plated = {plates.name for plates in plan.plates}
    by_unit = {place.unit: place.name for place in plan.standing if place.name in plated}
    return tuple(by_unit.get(entry.number) for entry in ticket.units)


def note_of(ticket: Ticket | None, names: tuple[str, ...]) -> SeparationNote:
    """What the ticket says of a separation, under any of its names; an empty note where it says nothing."""
    notes = ticket.separations if ticket else {}
    found = [note for key, note in notes.items() if any(same_name(key, name) for name in names)]
    merged = SeparationNote()
    for note in found:
        merged = merged.model_copy(update={key: value for key, value in note if value is not None})
    return merged


def ink_system_of(ticket: Ticket | None, names: tuple[str, ...]) -> str | None:
    """How an ink dries: as its own note says, else as the job does; None where nobody says."""
    return note_of(ticket, names).ink_system or (ticket.ink_system if ticket else None)


# Plates ------------------------------------------------------------------------------------------------------------


class _Plates:
    """The plates of a job with what is known of each ink."""

    def __init__(self, job: Job, plan: UnitPlan) -> None:
        self.job, self.plan = job, plan

    def each(self) -> Iterator[PlateToPlace]:
        """The hits of an ink are plates of their own."""
        for plates in self.plan.plates:
            plate = self._plate(plates)
            yield from (replace(plate, hit=hit) for hit in range(1, plates.hits + 1))
        for ink in self.job.inks:  # a cold foil is no ink, but its adhesive is laid by a unit
            name = ink.separation.name
            if ink.separation.kind == "foil" and needs_adhesive(name):
                yield PlateToPlace(name, "spot", ink_system=ink_system_of(self.job.ticket, (name,)))

    def _plate(self, plates: PlatesOfInk) -> PlateToPlace:
        job, names = self.job, (plates.name, *plates.also_called)
        inks = self._inks(names)
        note = note_of(job.ticket, names)
        in_file = not plates.overall
        return PlateToPlace(
            plates.name,
            plates.kind,
            cover=min(1.0, sum(ink.cover for ink in inks)) if in_file else 1.0,
            area_mm2=sum(ink.area_mm2 for ink in inks) if in_file else float(job.inside_shape.area),
            ink_system=ink_system_of(job.ticket, names),
            effect=bool(note.effect),
            overall=plates.overall,
            prints=_prints(inks) if in_file else True,
            printed_over=plates.kind == "metallic" and any(printed_over(job, name) for name in names),
            in_pictures=plates.kind == "process" and bool(in_pictures(job).intersection(names)),
            fine_type=plates.kind == "spot" and in_file and bool(self._with_fine_type.intersection(names)),
            darkness=_darkness(plates, inks),
        )

    def _inks(self, names: tuple[str, ...]) -> list[InkOnJob]:
        return [ink for ink in self.job.inks if ink.in_file and ink.separation.name in names]

    @cached_property
    def _with_fine_type(self) -> set[str]:
        """Inks in which fine type or thin lines are printed."""
        objects = needs.objects(self.job)
        small = (objects.painted == Painted.TEXT) & (objects.text_size_pt > 0) & (objects.text_size_pt < FINE_TYPE_PT)
        thin = (objects.painted == Painted.STROKE) & (objects.line_width_mm < FINE_LINE_MM)
        rows = object_places.painting(objects, small | thin)
        return _inked(self.job, object_places.reaching_inside(objects, rows, self.job.inside_shape))


def _prints(inks: list[InkOnJob]) -> bool | None:
    told = [ink.prints for ink in inks]
    return True if True in told else None if None in told else False


@once_a_job
def in_pictures(job: Job) -> frozenset[str]:
    """Separations that pictures inside the cut print in; masks and flat images are none."""
    objects = needs.objects(job, "images")
    pictures = [not (image.is_mask or image.is_soft_mask_only or image.flat) for image in objects.images]
    wanted = np.array([*pictures, False], bool)[objects.image] & (objects.painted == Painted.IMAGE)  # -1 is none
    rows = object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)
    found: set[str] = set()
    for row, box in zip(rows.tolist(), object_places.boxes_of(objects, rows), strict=True):
        part = job.plates.within(box)
        for name, _ in objects.colours[int(objects.colour[row])].tints:  # what it may print in; the plates tell
            if name not in found and masks.inked(part.tint(name), TINT_PERCENT).mean() >= PICTURE_FROM:
                found.add(name)
    return frozenset(found)


def _inked(job: Job, rows: object_places.Rows) -> set[str]:
    """Separations that objects put ink in."""
    objects = job.page.objects
    used = np.zeros(len(objects.colours), bool)
    used[objects.colour[rows]] = True
    return {name for name, tint in objects.colours.inked(used).items() if tint > 0}


def _darkness(plates: PlatesOfInk, inks: list[InkOnJob]) -> float | None:
    """0 for the board to 1 for black, by lightness; a varnish, a primer and a white are as light as the board."""
    if plates.kind in ("white", "varnish", "primer"):
        return 0.0
    lightness = PROCESS_L.get(plates.name)
    if lightness is None:
        looks = next((ink.separation.looks_rgb for ink in inks if ink.separation.looks_rgb is not None), None)
        if looks is None:
            return None
        lightness = BOARD_L / 100 * _lightness(looks)  # white on the screen is bare board
    return round(min(1.0, max(0.0, (BOARD_L - lightness) / (BOARD_L - BLACK_L))), 3)


def _lightness(rgb: tuple[int, int, int]) -> float:
    """L* of a colour on the screen (IEC 61966-2-1, CIE 15)."""
    linear = [level / 12.92 if level <= 0.04045 else ((level + 0.055) / 1.055) ** 2.4 for level in np.array(rgb) / 255]
    luminance = float(np.dot(linear, (0.2126, 0.7152, 0.0722)))
    return 116 * luminance ** (1 / 3) - 16 if luminance > 216 / 24389 else luminance * 24389 / 27


# Overlaps and distances --------------------------------------------------------------------------------------------


def _overlaps(job: Job, plan: UnitPlan, plates: tuple[PlateToPlace, ...]) -> Mapping[Pair, float]:
    """Overlaps of what hides with all else; what is printed overall lies over everything and is not listed."""
    hides = {plate.name for plate in plates if plate.kind in ("metallic", "white") or plate.effect}
    found: dict[Pair, float] = {}
    for one, other in combinations(_in_file(plan), 2):
        if {one.name, other.name} & hides:
            area = max(
                overlap(job, first, second, TRIM_MM, TINT_PERCENT).area_mm2
                for first in (one.name, *one.also_called)
                for second in (other.name, *other.also_called)
            )
            if area > 0:
                found[_pair(one, other)] = round(area, 2)
    return found


@once_a_job
def _distances(job: Job) -> Mapping[Pair, float]:
    """Nearest distances of inks that could stand in different passes; varnish and primer fit whatever they lie on."""
    from preflight.inputs.unit_order_table import load_unit_order  # most jobs are one pass
    from preflight.measures.raster.joints import joint

    inks = [plates for plates in _in_file(needs.plan(job)) if plates.kind not in ("varnish", "primer")]
    up_to_mm = max(NEAR_MM, load_unit_order().joint_mm)
    found: dict[Pair, float] = {}
    for one, other in combinations(inks, 2):
        told = [
            near
            for first in (one.name, *one.also_called)
            for second in (other.name, *other.also_called)
            if (near := joint(job, first, second, up_to_mm, TINT_PERCENT).distance_mm) is not None
        ]
        if told:
            found[_pair(one, other)] = min(told)
    return found


def _in_file(plan: UnitPlan) -> list[PlatesOfInk]:
    return [plates for plates in plan.plates if not plates.overall]


def _pair(one: PlatesOfInk, other: PlatesOfInk) -> Pair:
    first, second = sorted((one.name, other.name))
    return first, second
