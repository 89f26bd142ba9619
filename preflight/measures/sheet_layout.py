"""The geometry of a laid-out sheet: how many blanks, how far apart, how near the edges, which way the grain runs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import shapely
from shapely import Polygon

from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Reading
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.grain import School, body_creases, wanted_grain
from preflight.measures.registry import measure
from preflight.measures.sheet_places import alike_blanks, blanks_told, neighbours, of_blanks, once, place_of

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

LEAST_OVERLAP_MM: Final = 0.05


# How many ------------------------------------------------------------------------------------------------------------


@measure(
    "number-up",
    unit="blanks",
    rests_on=["plates"],
    cases=("version missing", "version mix"),
    facts=("ups", "asked", "version", "found"),
)
def number_up(job: Job) -> Measured:
    """By how many blanks the sheet differs from the ticket's number-up.

    Case ``version missing``: versions of the ticket that no blank carries. Case ``version mix``, on a sheet whose
    blanks are told by what they print: blanks that would have to carry another version for the quantities to come out.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return Measured([])
    ticket, ups = job.ticket, len(sheet.blanks)
    readings, gaps = [], []
    asked = ticket.layout.ups if ticket else None
    if asked is not None:
        facts = {"ups": f"{ups}-up", "asked": f"{asked}-up"}
        readings.append(Reading(float(abs(ups - asked)), "blanks", facts=facts, known=needs.die_known(job)))
    elif sheet.layout is None:
        gaps.append(Gap("the ticket does not say how many blanks the sheet has", "layout: ups on the ticket", "ticket"))
    versions = _asked_versions(ticket) if ticket else []
    if len(versions) > 1:
        readings += _versions(job, sheet, versions)
    return Measured(readings, gaps)


def _asked_versions(ticket: Ticket) -> list[str]:
    """Those of the artworks; of one artwork that shows the whole sheet, those that quantities are given for."""
    of_artwork = dict.fromkeys(entry.version for entry in ticket.artwork_list if entry.version)
    return list(of_artwork or ticket.quantities)


def _versions(job: Job, sheet: PressSheet, versions: list[str]) -> Iterator[Reading]:
    carried = Counter(blank.version for blank in sheet.blanks if blank.version)
    if carried:
        for version in versions:
            if version not in carried:
                facts = {"version": version, "ups": f"{len(sheet.blanks)}-up"}
                yield Reading(1.0, "blanks", known="stated", case="version missing", group=version, facts=facts)
        return
    if sheet.layout is not None:
        return
    from preflight.setup.layout.versions import share_of_versions

    assert job.ticket is not None
    groups = [group.numbers for group in sorted(alike_blanks(job), key=lambda each: -len(each.numbers))]
    wanted = share_of_versions({name: job.ticket.quantities.get(name, 0) for name in versions}, len(sheet.blanks))
    sizes, shares = [len(numbers) for numbers in groups], sorted(wanted.values(), reverse=True)
    most = max(len(sizes), len(shares))
    pairs = zip(sizes + [0] * (most - len(sizes)), shares + [0] * (most - len(shares)), strict=True)
    wrong = sum(max(0, share - size) for size, share in pairs)
    facts = {"found": _in_row(sizes), "asked": _in_row(shares)}
    yield Reading(float(wrong), "blanks", known=needs.die_known(job), case="version mix", facts=facts)


def _in_row(counts: Sequence[int]) -> str:
    return " + ".join(str(count) for count in counts)


# Where they lie ------------------------------------------------------------------------------------------------------


@measure("blanks-overlapping", unit="mm", rests_on=[], cases=("off the sheet",), facts=("blanks", "sheet"))
def blanks_overlapping(job: Job) -> list[Reading]:
    """How deep blanks lie on one another; case ``off the sheet``: how far one reaches beyond the sheet's edge."""
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    readings = []
    for one, other in neighbours(sheet, 0.0):
        both = shapely.intersection(Polygon(one.outline.exterior), Polygon(other.outline.exterior))
        deep = _thickness(both)
        if deep > LEAST_OVERLAP_MM:
            places = once(place_of(sheet, job, both, one))
            readings.append(of_blanks(job, deep, [one, other], places, group=f"{one.number} {other.number}"))
    for blank in sheet.blanks:
        x0, y0, x1, y1 = blank.outline.bounds
        beyond = max(-x0, -y0, x1 - sheet.size.across_mm, y1 - sheet.size.along_mm)
        if beyond > LEAST_OVERLAP_MM:
            facts = {"blanks": f"blank {blank.number}", "sheet": str(sheet.size)}
            readings.append(
                Reading(
                    round(beyond, 2), "mm", place_of(sheet, job, blank.outline, blank), needs.die_known(job),
                    "off the sheet", str(blank.number), facts,
                )
            )  # fmt: skip
    return readings or [Reading(0.0, "mm", known=needs.die_known(job))]


def _thickness(shape: shapely.Geometry) -> float:
    """The greatest width of a disc that goes into a shape, about."""
    if shapely.area(shape) < LEAST_OVERLAP_MM**2:
        return 0.0
    return float(2 * shapely.length(shapely.maximum_inscribed_circle(shape, 0.02)))


# Grain ---------------------------------------------------------------------------------------------------------------


@measure("blanks-against-grain", unit="blanks", rests_on=[], cases=("mixed",), facts=("blanks", "wanted", "grain"))
def blanks_against_grain(job: Job, *, grain: School) -> list[Reading]:
    """How many blanks of a layout have their fibres the other way than asked.

    Asked is what the ticket wants on the blank, else ``grain`` says of the plant: across or along its body creases.
    Case ``mixed``: blanks that are turned by 90° against the others, whatever is asked; on sheets from outside too.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    asked = job.ticket.board.grain_on_blank if job.ticket else None
    if asked == "any":
        return []
    turned = _turned(sheet)
    few = min((turned, [b for b in sheet.blanks if b not in turned]), key=len)
    readings = [_grain_reading(job, sheet, few, "mixed")]
    runs = job.ticket.board.grain if job.ticket else None
    if sheet.layout is None:
        return readings
    needs.said(runs, "board: grain")
    if asked is None:
        creases = body_creases(needs.die(job).blanks[0])
        if creases is None:
            because = "no row of panels was found, so its body creases are not known"
            raise NotMeasured(because, "board: grain_on_blank on the ticket", "ticket")
        asked = wanted_grain(grain, creases)
    against = [
        blank for blank in sheet.blanks if blank.turn_deg is not None and (blank.turn_deg % 180 == 0) != (asked == runs)
    ]
    return [*readings, _grain_reading(job, sheet, against, "", {"wanted": asked, "grain": str(runs)})]


def _turned(sheet: PressSheet) -> list[SheetBlank]:
    """Blanks that are turned by 90° against the first one, by what is known of their turn, else by their boxes."""
    first = sheet.blanks[0]

    def lies(blank: SheetBlank) -> bool:
        if blank.turn_deg is not None:
            return blank.turn_deg % 180 == 90
        x0, y0, x1, y1 = blank.outline.bounds
        a0, b0, a1, b1 = first.outline.bounds
        wide, high, w, h = x1 - x0, y1 - y0, a1 - a0, b1 - b0
        return bool(abs(wide - h) < 0.5 and abs(high - w) < 0.5 and abs(w - h) > 1)

    return [blank for blank in sheet.blanks if lies(blank)]


def _grain_reading(
    job: Job, sheet: PressSheet, blanks: list[SheetBlank], case: str, facts: dict[str, str] | None = None
) -> Reading:
    told = {"blanks": blanks_told(b.number for b in blanks) if blanks else "", **(facts or {})}
    places = once(place for blank in blanks for place in place_of(sheet, job, blank.outline, blank))
    return Reading(float(len(blanks)), "blanks", places, needs.die_known(job), case, case, told)


# Stock and yield -----------------------------------------------------------------------------------------------------


@measure("sheet-and-stock", unit="", rests_on=[], words=("stocked", "cut from stock", "to be ordered"),
         facts=("sheet", "stock"))  # fmt: skip
def sheet_and_stock(job: Job) -> list[Reading]:
    """Whether the sheet is in stock, can be cut from one that is, or neither."""
    sheet = job.press_sheet
    if sheet is None:
        return []
    stock, size = needs.press(job).stock, sheet.size
    needs.said(stock, "stock", "press profile")
    word = "to be ordered"
    if any(each.across_mm >= size.across_mm and each.along_mm >= size.along_mm for each in stock):
        word = "cut from stock"
    if any(abs(each.across_mm - size.across_mm) < 0.5 and abs(each.along_mm - size.along_mm) < 0.5 for each in stock):
        word = "stocked"
    facts = {"sheet": str(size), "stock": ", ".join(str(each) for each in stock)}
    return [Reading(word, known="stated", facts=facts)]


@measure("sheet-yield", unit="%", rests_on=[], facts=("ups", "sheet"))
def sheet_yield(job: Job) -> list[Reading]:
    """Area of all blanks over that of the sheet."""
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    share = 100 * sum(blank.outline.area for blank in sheet.blanks) / (sheet.size.across_mm * sheet.size.along_mm)
    facts = {"ups": f"{len(sheet.blanks)}-up", "sheet": str(sheet.size)}
    return [Reading(round(share, 1), "%", known=needs.die_known(job), facts=facts)]
