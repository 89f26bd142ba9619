"""Statements of the ticket that nothing can be done with, waivers that nothing bounds, lengths that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely

from preflight.carton.areas import GLUE_FLAP
from preflight.findings import Place, Reading, Unusable, with_and
from preflight.inputs.ticket import Box, Ticket, TicketArea
from preflight.job import Job
from preflight.measures.registry import measure
from preflight.quantities import INCH_MM, Size
from preflight.suggest import nearest

LEAST_ON_PAGE: Final = 0.5
"""Of an area, for it to be taken for a place of the page."""


@measure(
    "unusable-statements",
    unit="statements",
    rests_on=(),
    within="page",
    facts=("statement", "because", "meant"),
    from_rules=("area_words", "rule_names"),
)
def unusable_statements(job: Job, *, area_words: frozenset[str], rule_names: frozenset[str]) -> list[Reading]:
    """Each statement of the ticket that fits nothing in the file or among the rules, one by one.

    Names that the file does not have, areas of a word that no rule looks at, off the page, on no flap or not on the
    blank that they are for, and waivers of rules that do not exist.
    """
    if job.ticket is None:
        return []
    readings = [_reading(unusable) for unusable in job.unusable]
    if job.page is job.artwork.pages[0]:
        readings += map(_reading, _unknown_areas(job.ticket, area_words))
        readings += map(_reading, _unknown_rules(job.ticket, rule_names))
    return readings + list(_misplaced(job, job.ticket))


def _reading(unusable: Unusable, places: tuple[Place, ...] = ()) -> Reading:
    facts = {
        "statement": unusable.statement,
        "because": unusable.because,
        "meant": f" Did you mean {unusable.meant}?" if unusable.meant else "",
    }
    return Reading(1, "statements", places, "stated", group=f"{unusable.statement} {unusable.because}", facts=facts)


def _unknown_areas(ticket: Ticket, words: frozenset[str]) -> Iterator[Unusable]:
    known = {word.casefold() for word in words}
    for word in dict.fromkeys(area.is_ for area in ticket.areas):
        if word.casefold() not in known:
            yield Unusable(f"areas.is: {word}", "no rule looks at areas of that name", nearest(word, known))
    for word in (ticket.coating.clear if ticket.coating else None) or ():
        if word.casefold() not in known:
            stated = f"coating.clear: {word}"
            yield Unusable(stated, "no rule looks at areas of that name", nearest(word, known))


def _unknown_rules(ticket: Ticket, names: frozenset[str]) -> Iterator[Unusable]:
    for name in dict.fromkeys(waiver.rule for waiver in ticket.waivers):
        if name not in names:
            yield Unusable(f"waivers.rule: {name}", "there is no such rule", nearest(name, names))


def _misplaced(job: Job, ticket: Ticket) -> Iterator[Reading]:
    """Areas that lie where they cannot be meant; those beside a carton that is known have a rule of their own."""
    page = job.page.box_mm
    for area in ticket.areas:
        place = (Place(area.box, job.page.number),)
        if not job.die.blanks and _share_on_page(area.box, page) < LEAST_ON_PAGE:
            size = f"{page[2] - page[0]:.0f} x {page[3] - page[1]:.0f} mm"
            yield _reading(Unusable(_stated(area), f"that lies off the page, which is {size}"), place)
        elif because := _not_on_its_blank(job, area):
            yield _reading(Unusable(_stated(area), because), place)
    for unfit in job.die.unfit_areas:
        x0, y0, x1, y1 = unfit.shape.bounds
        place = (Place((x0, y0, x1, y1), job.page.number),)
        stated = next((_stated(area) for area in ticket.areas if _holds(area, unfit.shape)), f"areas: {GLUE_FLAP}")
        yield _reading(Unusable(stated, "no flap of the carton lies there"), place)


def _share_on_page(box: Box, page: Box) -> float:
    """How much of a box lies on the page, 0..1."""
    whole = shapely.box(*box)
    return float(shapely.intersection(whole, shapely.box(*page)).area / whole.area)


def _holds(area: TicketArea, shape: shapely.Polygon) -> bool:
    return area.is_ == GLUE_FLAP and bool(shapely.covers(shapely.buffer(shapely.box(*area.box), 0.01), shape))


def _not_on_its_blank(job: Job, area: TicketArea) -> str:
    """Why an area is not on the blank that it is for; empty where it is, or where no blank is known."""
    blanks, number = job.die.blanks, area.blank
    if number is None or not blanks:
        return ""
    if number > len(blanks):
        return f"the page has {len(blanks)} blank{'s' if len(blanks) > 1 else ''}"
    box = shapely.box(*area.box)
    on = [blank.number for blank in blanks if shapely.intersection(blank.outline, box).area >= 1.0]
    return f"it lies on blank {with_and(map(str, on))}" if on and number not in on else ""


def _stated(area: TicketArea) -> str:
    box = ", ".join(f"{side:.4g}" for side in area.box)
    return f"areas: {area.is_} at [{box}]{f', blank {area.blank}' if area.blank else ''}"


@measure("unbounded-waivers", unit="waivers", rests_on=(), within="page", facts=("rule", "lacks"))
def unbounded_waivers(job: Job) -> list[Reading]:
    """Waivers of the ticket without reason, name or last day, or that hold at any place of any file.

    A finding without a place (of the sheet, the board, the units) is bound by its artwork.
    """
    if job.ticket is None or job.page is not job.artwork.pages[0]:
        return []
    readings = []
    for number, waiver in enumerate(job.ticket.waivers):
        lacks = [
            *["reason"] * (not waiver.reason),
            *["name (by)"] * (not waiver.by),
            *["last day (until)"] * (waiver.until is None),
            *["place (near) or artwork"] * (waiver.near is None and waiver.artwork is None),
        ]
        if lacks:
            facts = {"rule": waiver.rule, "lacks": f"no {' and no '.join(lacks)}"}
            readings.append(Reading(1, "waivers", (), "stated", group=f"{number}", facts=facts))
    return readings


@measure(
    "stated-lengths",
    unit="mm",
    rests_on=(),
    within="page",
    cases=("sheet", "gripper edge", "edge", "plate lead", "caliper"),
    facts=("key", "meant"),
)
def stated_lengths(job: Job) -> list[Reading]:
    """Every length of the ticket and the press that can be told to be no length of its kind; said on the first page.

    Cases: ``sheet`` (a side of one), ``gripper edge`` and ``edge`` (what cannot be printed), ``plate lead`` (plate
    before the sheet), ``caliper``.
    """
    if job.page is not job.artwork.pages[0]:
        return []
    return [
        Reading(value, "mm", (), "stated", case, group=key, facts={"key": key, "meant": _meant(value)})
        for case, key, value in (*_of_ticket(job), *_of_press(job))
        if value is not None
    ]


def _of_ticket(job: Job) -> Iterator[tuple[str, str, float | None]]:
    if job.ticket is None:
        return
    yield from _sides("sheet", "sheet: size of the ticket", job.ticket.sheet)
    yield "caliper", "board: caliper of the ticket", job.ticket.board.caliper


def _of_press(job: Job) -> Iterator[tuple[str, str, float | None]]:
    press = job.press
    if press is None:
        return
    for name in ("smallest", "largest", "printable"):
        yield from _sides("sheet", f"sheet: {name} of the press", getattr(press.sheet, name))
    for name in ("gripper", "tail", "sides"):
        case = "gripper edge" if name == "gripper" else "edge"
        yield case, f"edges: {name} of the press", getattr(press.edges, name)
    yield "plate lead", "plate: sheet_starts of the press", press.plate.sheet_starts
    if press.board.caliper is not None:
        yield "caliper", "board: caliper of the press", press.board.caliper.low
        yield "caliper", "board: caliper of the press", press.board.caliper.high


def _sides(case: str, key: str, size: Size | None) -> Iterator[tuple[str, str, float | None]]:
    for side in (size.across_mm, size.along_mm) if size is not None else ():
        yield case, key, side


def _meant(value_mm: float) -> str:
    """What the same figure would be in millimetres, if it was given in another unit by mistake, or without its own."""
    if 0.5 <= value_mm < 2:
        return f" Is {value_mm:g} cm meant?"
    eighths = value_mm / INCH_MM * 8
    if abs(eighths - round(eighths)) < 1e-6:
        return f" Is {eighths / 8:g} mm meant?"
    return f" Is {value_mm / 10:g} mm meant?" if value_mm >= 10 and abs(value_mm % 10) < 1e-6 else ""
