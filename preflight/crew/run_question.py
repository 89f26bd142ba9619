"""What the run plan is asked about a job: sheets, board and how much of the sheet each ink covers."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.crew.planned_job import JudgedPage
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job_facts import JobFacts
from preflight.quantities import Size
from preflight.setup.merged_requests import BACK
from preflight.setup.plan_request import PlanRequest
from preflight.setup.press_plan import PressPlan
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.run_request import RunRequest


def run_request(
    pages: Sequence[JudgedPage],
    plan: PressPlan,
    question: PlanRequest,
    press: Press,
    ticket: Ticket | None,
    laid: PressSheet | None = None,
) -> RunRequest:
    """The question; what neither ticket, layout nor artwork tell stays None.

    Of several versions the cover is a mean by their shares of the run.
    """
    facts = pages[0].facts
    sheet, ups = sheet_of(facts, ticket), ups_of(facts, ticket)
    if laid is not None:
        sheet, ups = sheet or laid.size, ups or len(laid.blanks) or None
    cover = _covers(pages, sheet, ups, ticket)
    board, coating = (ticket.board if ticket else None), (ticket.coating if ticket else None)
    notes = ticket.separations if ticket else {}
    return RunRequest(
        plan,
        press,
        sheet=sheet,
        caliper_mm=board.caliper if board else None,
        weight_gsm=board.weight if board else None,
        surface=board.surface if board else None,
        ups=ups,
        quantity=ticket.quantity if ticket else None,
        quantities=dict(ticket.quantities) if ticket and not _all_on_one(laid, ticket) else {},
        versions=() if _all_on_one(laid, ticket) else _versions(ticket),
        ups_by_version=_ups_by_version(laid),
        goods=ticket.goods.type if ticket else None,
        contact=ticket.goods.contact if ticket else None,
        ink_system=ticket.ink_system if ticket else None,
        cover=cover,
        coating=coating.kind if coating else None,
        coating_cover=_coating_cover(facts, ticket, sheet, ups, cover),
        coat_weight_gsm=ticket.coat_weight if ticket else None,
        effects=frozenset(name for name, note in notes.items() if note.effect),
        before=question.before,
    )


def _ups_by_version(laid: PressSheet | None) -> dict[str, int]:
    """Blanks of each version on the sheet; empty where it does not carry several."""
    found: dict[str, int] = {}
    for blank in laid.blanks if laid else ():
        if blank.version is not None:
            found[blank.version] = found.get(blank.version, 0) + 1
    return found if len(found) > 1 else {}


def _covers(
    pages: Sequence[JudgedPage], sheet: Size | None, ups: int | None, ticket: Ticket | None
) -> dict[str, float]:
    """Cover of the sheet by each ink: a mean over the versions by their shares of the run, else the most of any page.

    An ink of both sides has the name of its plate there (``Black (back)``) too.
    """
    found: dict[str, float] = {}
    shares = _shares(ticket)
    by_version: dict[str, dict[str, float]] = {}
    for page in pages:
        version = page.entry.version if page.entry else None
        here = found if version is None else by_version.setdefault(version, {})
        on_back = page.entry is not None and page.entry.is_back
        for name, cover in covers_of_sheet(page.facts, sheet, ups, ticket).items():
            for called in (name, name + BACK) if on_back else (name,):
                here[called] = max(here.get(called, 0.0), cover)
    for version, covers in by_version.items():
        for name, cover in covers.items():
            found[name] = found.get(name, 0.0) + cover * shares.get(version, 1.0)
    return {name: min(1.0, cover) for name, cover in found.items()}


def _shares(ticket: Ticket | None) -> dict[str, float]:
    """Share of each version in the run; those without a quantity share what is left evenly."""
    versions = _versions(ticket)
    if ticket is None or not versions:
        return {}
    stated = {name: float(count) for name, count in ticket.quantities.items() if name in versions}
    total = float(ticket.quantity) if ticket.quantity else sum(stated.values())
    others = [name for name in versions if name not in stated]
    left = max(0.0, total - sum(stated.values())) / len(others) if others else 0.0
    counts = {name: stated.get(name, left) for name in versions}
    every = sum(counts.values())
    return {name: count / every if every else 1 / len(versions) for name, count in counts.items()}


def covers_of_sheet(facts: JobFacts, sheet: Size | None, ups: int | None, ticket: Ticket | None) -> dict[str, float]:
    """Inked fraction of the sheet for each ink, 0..1: what is inside the cut, on all blanks.

    Names that the ticket says are one ink are counted together under the name of that ink. Empty where the sheet or the
    number of blanks is not known. Bars, marks and bleed are not in it.
    """
    blanks = blanks_mm2(facts, ups)
    if sheet is None or blanks is None:
        return {}
    share = min(1.0, blanks / (sheet.across_mm * sheet.along_mm))
    inks = [ink for ink in facts.inks if ink.separation.on_plate or not ink.in_file]
    own = {ink.separation.name: ink.cover * (share if ink.in_file else 1.0) for ink in inks}
    together: dict[str, float] = {}
    for name, cover in own.items():
        known_as = ticket.ink_of(name) if ticket else name
        together[known_as] = min(1.0, together.get(known_as, 0.0) + cover)
    return own | together


def blanks_mm2(facts: JobFacts, ups: int | None) -> float | None:
    """Area inside the cut on the whole sheet."""
    inside = _inside(facts).area
    if facts.artwork_is == "one-up":
        return None if ups is None else inside * ups
    return float(inside)


def _inside(facts: JobFacts) -> BaseGeometry:
    if facts.die.blanks:
        return facts.die.inside
    return shapely.box(*(facts.page.boxes.trim or facts.page.box_mm))


def sheet_of(facts: JobFacts, ticket: Ticket | None) -> Size | None:
    """The ticket's sheet; a page that shows the whole sheet has its size."""
    if ticket is not None and ticket.sheet is not None:
        return ticket.sheet
    if facts.artwork_is != "sheet":
        return None
    across, along = facts.page.width_mm, facts.page.height_mm
    turned = ticket is not None and ticket.gripper_edge in ("left", "right")
    return Size(along, across) if turned else Size(across, along)


def ups_of(facts: JobFacts, ticket: Ticket | None) -> int | None:
    """Blanks on a sheet: as the ticket has it, else those that a sheet shows."""
    if ticket is not None and ticket.layout.ups is not None:
        return ticket.layout.ups
    return len(facts.die.blanks) or None if facts.artwork_is != "one-up" else None


def _all_on_one(laid: PressSheet | None, ticket: Ticket | None) -> bool:
    """Whether an artwork from outside shows the whole sheet, with all versions on it."""
    from_outside = laid is not None and laid.is_from == "sheet from outside"
    return from_outside and not any(entry.version for entry in (ticket.artwork_list if ticket else ()))


def _versions(ticket: Ticket | None) -> tuple[str, ...]:
    listed = [entry.version for entry in ticket.artwork_list if entry.version] if ticket else []
    return tuple(dict.fromkeys([*listed, *(ticket.quantities if ticket else {})]))


def _coating_cover(
    facts: JobFacts, ticket: Ticket | None, sheet: Size | None, ups: int | None, cover: dict[str, float]
) -> float | None:
    """Coated fraction of the sheet: all of it but what is left clear on the blanks, or what its separation shows."""
    coating = ticket.coating if ticket else None
    if coating is None or sheet is None:
        return None
    if coating.separation is not None:
        return cover.get(coating.separation)
    clear = {word.casefold() for word in coating.clear or ()}
    left = sum(area.shape.area for blank in facts.die.blanks for area in blank.areas if area.kind.casefold() in clear)
    times = (ups or 0) if facts.artwork_is == "one-up" else 1
    return max(0.0, 1.0 - float(left) * times / (sheet.across_mm * sheet.along_mm))
