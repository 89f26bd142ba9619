"""Brings artwork, die, press and ticket together into the job that the measures look at."""

from __future__ import annotations

from typing import Literal

from preflight.artwork.document import Artwork, Page
from preflight.carton.die import Die, read_die
from preflight.findings import Known
from preflight.measures.inks import inks_on_job
from preflight.measures.job import Job
from preflight.press import Press
from preflight.quantities import Size
from preflight.ticket import Ticket

ArtworkIs = Literal["one-up", "sheet", "plate"]
_SAME_MM = 1.0


def open_job(artwork: Artwork, page: Page, press: Press | None, ticket: Ticket | None) -> Job:
    """The job as far as it is known before the die is read and plates are drawn."""
    none = Die("none", "the die has not been read yet")
    job = Job(artwork, page, none, press, ticket)
    job.artwork_is, job.artwork_is_known, job.artwork_is_because = what_artwork_is(page, none, press, ticket)
    return job


def assemble_job(artwork: Artwork, page: Page, press: Press | None, ticket: Ticket | None) -> Job:
    """The whole job of one page: die read, plates drawn, inks measured."""
    die = read_die(page, ticket)
    job = Job(artwork, page, die, press, ticket)
    job.artwork_is, job.artwork_is_known, job.artwork_is_because = what_artwork_is(page, die, press, ticket)
    if job.artwork_is_known == "assumed":
        job.assumed.append(job.artwork_is_because)
    if die.found == "assumed":
        job.assumed.append(f"The die: {die.because}.")
    else:
        job.assumed += [f"The die: {words}." for words in die.guessed_within]
    for blank in die.blanks:
        job.assumed += [
            f"Blank {blank.number}: {area.kind} guessed: {area.because}."
            for area in blank.areas
            if area.known == "assumed"
        ]
    job.inks = inks_on_job(page, die, ticket, job.artwork_is)
    return job


def what_artwork_is(page: Page, die: Die, press: Press | None, ticket: Ticket | None) -> tuple[ArtworkIs, Known, str]:
    """One-up, sheet or plate; stated on the ticket, else guessed from the page and the press, with the reason."""
    if ticket is not None and ticket.artwork_is is not None:
        return ticket.artwork_is, "stated", "stated on the ticket"  # type: ignore[return-value]
    size = f"{page.width_mm:.0f} x {page.height_mm:.0f} mm"
    if press is not None and _same(page, press.plate.size):
        return (
            "plate",
            "assumed",
            f"The artwork is taken as a sheet on its plate: its page is {size}, the plate's size.",
        )
    sheet = ticket.sheet if ticket is not None else None
    if _same(page, sheet):
        return "sheet", "assumed", f"The artwork is taken as a whole sheet: its page is {size}, the sheet's size."
    if len(die.blanks) > 1 and press is not None and _at_least(page, press.sheet.smallest):
        return "sheet", "assumed", f"The artwork is taken as a whole sheet: {len(die.blanks)} blanks on {size}."
    if not die.blanks and page.boxes.trim is None and press is not None and _at_least(page, press.sheet.smallest):
        return "sheet", "assumed", f"The artwork is taken as a whole sheet: {size}, without die and trim box."
    return "one-up", "assumed", f"The artwork is taken as one-up: a page of {size}."


def _same(page: Page, size: Size | None) -> bool:
    if size is None:
        return False
    sides = (size.across_mm, size.along_mm)
    return any(
        abs(page.width_mm - across) <= _SAME_MM and abs(page.height_mm - along) <= _SAME_MM
        for across, along in (sides, sides[::-1])
    )


def _at_least(page: Page, size: Size | None) -> bool:
    if size is None:
        return False
    shorter, longer = sorted((page.width_mm, page.height_mm))
    return shorter >= min(size.across_mm, size.along_mm) and longer >= max(size.across_mm, size.along_mm)
