"""Brings the press sheet together: the layout of a ticket, a standing die or the tool, or a sheet from outside.

Nothing is judged here, and nothing is drawn before it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from preflight.carton.die import Die
from preflight.errors import NotMeasured
from preflight.findings import listed
from preflight.inputs.press import Press
from preflight.inputs.ticket import ArtworkEntry, Ticket
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.sheet import sheet_on_page
from preflight.measures.standing_die_question import standing_die
from preflight.suggest import nearest

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.layout.layout_request import FreeArea, LayoutRequest
    from preflight.setup.layout.sheet_layout import SheetLayout
    from preflight.setup.press_sheet.press_sheet import PressSheet, Side
    from preflight.setup.press_sheet.stepping import IsFrom, OneUp

Pages = Sequence[tuple[ArtworkEntry | None, Job]]


def own_sheet(job: Job) -> PressSheet | None:
    """The sheet of one page by itself: what it shows, or its blank laid as the ticket states.

    None for further pages of a file whose first page is stepped.

    Raises:
        NotMeasured: as ``sheet_of_jobs`` does.
    """
    if job.artwork_is == "one-up" and job.page is not job.artwork.pages[0]:
        return None
    listed_first = job.ticket.artwork_list[0] if job.ticket and job.ticket.artwork_list else None
    return sheet_of_jobs([(listed_first, job)])


def sheet_of_jobs(jobs: Pages) -> PressSheet:
    """The sheet of all pages of a job, both sides and all versions together.

    A layout that the ticket states, or a standing die, is taken as it is; where there is none the tool makes one.

    Raises:
        NotMeasured: there is no press, no die, no sheet size, or the plates could not be drawn.
    """
    jobs = sorted(jobs, key=lambda page: is_back(page[0]))  # what speaks for the sheet is its printed face
    if jobs[0][1].artwork_is != "one-up":
        return _from_outside(jobs)
    from preflight.measures.marks.marked_sheet import with_own_marks
    from preflight.setup.press_sheet.stepping import Stepped, step

    layout, is_from, bleed_mm = _layout(jobs)
    one_ups = _one_ups(jobs)
    _every_version_there(layout, one_ups, jobs[0][1].ticket)
    side, assumed = operator_side(jobs[0][1].press)
    sheet = step(Stepped(layout, one_ups, bleed_mm, is_from, side, assumed))
    return with_own_marks(sheet, [job for entry, job in jobs if not is_back(entry) and job.artwork_is == "one-up"])


def layout_request(jobs: Pages) -> LayoutRequest:
    """What is asked about the layout.

    Raises:
        NotMeasured: there is no press or no die.
    """
    from preflight.measures.layout_question import asked_of_layout

    return asked_of_layout(jobs)


def is_back(entry: ArtworkEntry | None) -> bool:
    """Whether a page prints the second side of the sheet; the first where the ticket does not say so."""
    return entry is not None and entry.is_back


def operator_side(press: Press | None) -> tuple[Literal["left", "right"], bool]:
    """At which side of the printed face the operator stands, gripper edge down, and whether that is assumed."""
    said = press.operator_side if press else None
    return ("right" if said == "right" else "left"), said is None


# Layouts that are stated -------------------------------------------------------------------------------------------


def _layout(jobs: Pages) -> tuple[SheetLayout, IsFrom, float]:
    """The layout, where it is from, and how far bleed is drawn."""
    from preflight.inputs.layout_table import load_layout_table
    from preflight.setup.layout.lay_out import lay_out

    first = jobs[0][1]
    keys = first.ticket.layout if first.ticket else None
    if keys is not None and keys.blanks is not None:
        return _stated(first), "layout of the ticket", load_layout_table().bleed_mm
    if keys is not None and keys.file is not None:
        return _standing(first), "standing die", load_layout_table().bleed_mm
    request = layout_request(jobs)
    if keys is None or keys.versions != "together":  # they are run one after the other, each on sheets of its own
        request = replace(request, quantities={})
    return lay_out(request), "layout of the tool", request.bleed_mm


def _stated(job: Job) -> SheetLayout:
    from preflight.setup.press_sheet.stated_layout import stated_layout

    ticket, size = needs.ticket(job, "layout: blanks"), None
    size = ticket.sheet
    needs.said(size, "sheet: size")
    assert size is not None
    assert ticket.layout.blanks is not None
    side, _ = operator_side(job.press)
    cut = _one_blank(job).blanks[0].outline
    return stated_layout(ticket.layout.blanks, cut, size, _free(job), ticket.board.grain, side)


def _standing(job: Job) -> SheetLayout:
    side, _ = operator_side(job.press)
    return standing_die(job, _one_blank(job).blanks[0], _free(job), side)


def _free(job: Job) -> FreeArea:
    from preflight.setup.press_sheet.stated_layout import free_area

    return free_area(needs.press(job), job.ticket.layout.bar if job.ticket else None)


# What is stepped ---------------------------------------------------------------------------------------------------


def _one_blank(job: Job) -> Die:
    """The die of a one-up; raises NotMeasured where it has not just one blank."""
    die = needs.die(job)
    if len(die.blanks) != 1:
        because = f"the one-up shows {len(die.blanks)} blanks, and one is laid on the sheet"
        raise NotMeasured(because, "one file for each blank, or artwork_is: sheet where it shows the sheet", "ticket")
    return die


def _one_ups(jobs: Pages) -> list[OneUp]:
    """Every page that is stepped; of each version and side the first."""
    from preflight.setup.press_sheet.stepping import OneUp

    found: dict[tuple[Side, str | None], OneUp] = {}
    for entry, job in jobs:
        side: Side = "back" if is_back(entry) else "front"
        version = entry.version if entry else None
        if (side, version) not in found and job.artwork_is == "one-up":
            die = _one_blank(job) if side == "front" else job.die
            size = job.page.width_mm, job.page.height_mm
            found[side, version] = OneUp(job.plates, die, _kinds(job), size, side, version)
    fronts = [one for one in found.values() if one.side == "front"]
    if not fronts:
        raise NotMeasured("the ticket names no artwork for the outside", "artwork: {file, side: outside}", "ticket")
    return [*fronts, *(one for one in found.values() if one.side == "back")]


def _kinds(job: Job) -> dict[str, str]:
    return {separation.name: separation.kind for separation in job.page.separations if separation.on_plate}


def _every_version_there(layout: SheetLayout, one_ups: Sequence[OneUp], ticket: Ticket | None) -> None:
    """Each blank can be drawn; raises NotMeasured where nobody says what one shows."""
    there = [one.version for one in one_ups if one.side == "front"]
    wanted = {placed.version for placed in layout.blanks}
    if there == [None] or wanted <= set(there):
        return
    if wanted == {None}:  # each version has the sheet for itself
        return
    names = [name for name in there if name]
    unknown = sorted(name for name in wanted - set(there) if name is not None)
    if not unknown:
        because = f"the layout does not say which of {listed(names)} each blank is"
        raise NotMeasured(because, "layout: blanks with a version each", "ticket")
    on_ticket = {entry.version for entry in ticket.artwork_list} if ticket else set()
    if on_ticket.issuperset(unknown):
        because = f"the sheet carries several versions, and a check looks at one page ({listed(unknown)} not at hand)"
        raise NotMeasured(because, "preflight setup, which checks the sheet of all of them")
    near = nearest(unknown[0], names)
    because = f"no artwork is of the version {listed(unknown)}"
    raise NotMeasured(because, f"version: {near}, if that is meant" if near else "its artwork on the ticket", "ticket")


# Sheets from outside -----------------------------------------------------------------------------------------------


def _from_outside(jobs: Pages) -> PressSheet:
    """The sheet that the first page shows, with the back of another page where there is one."""
    from preflight.measures.marks.marked_sheet import with_found_marks
    from preflight.setup.press_sheet.outside_sheet import SheetPage, outside_sheet

    def pages() -> Iterator[SheetPage]:
        for n, (entry, job) in enumerate(jobs):
            if (n == 0 or is_back(entry)) and job.artwork_is != "one-up":
                lies, _ = sheet_on_page(job)
                side: Side = "back" if n and is_back(entry) else "front"
                yield SheetPage(job.plates, job.die, _kinds(job), job.page.number, lies.box, lies.edge, side)

    sheet = outside_sheet(list(pages()), *operator_side(jobs[0][1].press))
    return with_found_marks(sheet, jobs[0][1])
