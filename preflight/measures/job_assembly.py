"""Brings artwork, die, press and ticket together into the job that the measures look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.inputs.ink_names import needs_adhesive
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.measures.plan_question import planned
from preflight.measures.sheet_question import own_sheet
from preflight.measures.what_prints import inks_on_job
from preflight.setup.artwork_is import ArtworkIs, what_artwork_is
from preflight.setup.plan_request import OnPress
from preflight.setup.ticket_names import as_meant

if TYPE_CHECKING:
    from preflight.setup.press_sheet.press_sheet import PressSheet


def begin_job(artwork: Artwork, page: Page, press: Press | None, ticket: Ticket | None) -> Job:
    """The job as far as it is known before the die is read and plates are drawn."""
    none = Die("none", "the die has not been read yet")
    return Job(artwork, page, none, press, ticket, *what_artwork_is(page, none, press, ticket))


def assemble_job(
    artwork: Artwork,
    page: Page,
    press: Press | None,
    ticket: Ticket | None,
    before: OnPress | None = None,
    lay_on_sheet: Callable[[Job], PressSheet | None] | None = None,
    elsewhere: Iterable[str] = (),
) -> Job:
    """The whole job of one page: die read, plates drawn, inks measured.

    Args:
        artwork: the file, open.
        page: one of its pages.
        press: the press profile.
        ticket: the job ticket.
        before: what is on the press now.
        lay_on_sheet: brings a sheet together, where the set-up makes one of all pages; else the page has what it shows
            or what the ticket states.
        elsewhere: separations of the job's other artworks, which the ticket speaks of too.
    """
    die = read_die(page, ticket)
    names = list(dict.fromkeys([*names_in(artwork), *elsewhere]))
    meant = as_meant(ticket, names) if ticket is not None else None
    ticket = meant.ticket if meant is not None else None
    artwork_is, known, because = what_artwork_is(page, die, press, ticket)
    assumed = [because] if known == "assumed" else []
    assumed += [
        *(meant.assumed if meant else ()),
        *_assumed_of_the_sheet(page, artwork_is, ticket),
        *_assumed_of_the_die(die),
    ]
    job = Job(
        artwork,
        page,
        die,
        press,
        ticket,
        artwork_is,
        known,
        because,
        tuple(assumed),
        tuple(_notes(artwork, page)),
        (*(meant.unusable if meant and page is artwork.pages[0] else ()), *die.unusable),
        inks_on_job,
        planned,
        before,
        lay_on_sheet or own_sheet,
        artwork_is != "one-up" or lay_on_sheet is not None or bool(ticket and ticket.layout.stated),
    )
    _ = job.inks  # they are asked for first: what cannot be drawn has to be known before a rule is decided
    return job


def names_in(artwork: Artwork) -> Iterator[str]:
    """Names of the separations of all pages, some more than once."""
    return (separation.name for each in artwork.pages for separation in each.separations)


def _notes(artwork: Artwork, page: Page) -> Iterator[str]:
    yield from _adhesive_plates(page)
    yield from _repaired_without_loss(artwork) if page is artwork.pages[0] else ()


def _assumed_of_the_die(die: Die) -> Iterator[str]:
    if die.found == "assumed":
        yield f"The die: {die.because}."
    else:
        yield from (f"The die: {words}." for words in die.guessed_within)
    for blank in die.blanks:
        for area in blank.areas:
            if area.known == "assumed":
                yield f"Blank {blank.number}: {area.kind} guessed: {area.because}."


def _assumed_of_the_sheet(page: Page, artwork_is: ArtworkIs, ticket: Ticket | None) -> Iterator[str]:
    """What is taken for granted of a sheet that the ticket does not describe; what rests on it only warns."""
    if artwork_is == "one-up":
        return
    if artwork_is == "sheet" and (ticket is None or ticket.sheet is None):
        size = f"{page.width_mm:.0f} x {page.height_mm:.0f} mm"
        yield f"The sheet is assumed to have the size of the page, {size}: the ticket does not say (sheet: size)."
    if ticket is None or ticket.gripper_edge is None:
        yield "The gripper edge is assumed to be the bottom edge: the ticket does not say (gripper_edge)."


def _repaired_without_loss(artwork: Artwork) -> Iterator[str]:
    harmless = [repair.told for repair in artwork.repairs if not repair.lost]
    if harmless:
        yield f"repaired when the file was opened, with nothing lost: {'; '.join(harmless)}"


def _adhesive_plates(page: Page) -> Iterator[str]:
    for separation in page.separations:
        if separation.kind == "foil" and needs_adhesive(separation.name):
            yield (
                f"{separation.name} is a foil and is counted as needing no unit; "
                "cold foil needs one, for its adhesive plate"
            )
