"""Brings artwork, die, press and ticket together into the job that the measures look at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from preflight.artwork.document import Artwork, Page
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.findings import Known
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.measures.ink_names import needs_adhesive
from preflight.measures.inks import inks_on_job
from preflight.measures.job import Job
from preflight.quantities import Size
from preflight.setup.ticket_names import as_meant

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
    names = list(dict.fromkeys(separation.name for each in artwork.pages for separation in each.separations))
    meant = as_meant(ticket, names) if ticket is not None else None
    ticket = meant.ticket if meant is not None else None
    job = Job(artwork, page, die, press, ticket)
    job.artwork_is, job.artwork_is_known, job.artwork_is_because = what_artwork_is(page, die, press, ticket)
    if job.artwork_is_known == "assumed":
        job.assumed.append(job.artwork_is_because)
    job.assumed += [*(meant.assumed if meant else ()), *_assumed_of_the_sheet(job)]
    job.notes += [*(meant.notes if meant and page is artwork.pages[0] else ()), *_adhesive_plates(page)]
    job.notes += _repaired_without_loss(artwork) if page is artwork.pages[0] else ()
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
    job.inks = inks_on_job(job)
    return job


def _assumed_of_the_sheet(job: Job) -> Iterator[str]:
    """What is taken for granted of a sheet that the ticket does not describe; what rests on it only warns."""
    if job.artwork_is == "one-up":
        return
    if job.artwork_is == "sheet" and (job.ticket is None or job.ticket.sheet is None):
        size = f"{job.page.width_mm:.0f} x {job.page.height_mm:.0f} mm"
        yield f"The sheet is taken to be as large as the page, {size}: the ticket does not say (sheet: size)."
    if job.ticket is None or job.ticket.gripper_edge is None:
        yield "The gripper edge is taken to be the bottom one: the ticket does not say (gripper_edge)."


def _repaired_without_loss(artwork: Artwork) -> Iterator[str]:
    harmless = [repair.told for repair in artwork.repairs if not repair.lost]
    if harmless:
        yield f"put right when the file was opened, and nothing is lost by it: {'; '.join(harmless)}"


def _adhesive_plates(page: Page) -> Iterator[str]:
    for separation in page.separations:
        if separation.kind == "foil" and needs_adhesive(separation.name):
            yield (
                f"{separation.name} is a foil and counts as needing no unit; a cold foil is laid with an adhesive "
                "plate, which takes one"
            )


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
