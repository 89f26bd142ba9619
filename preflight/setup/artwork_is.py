"""Whether the artwork is a one-up, a whole sheet or a sheet on its plate."""

from __future__ import annotations

from typing import Final, Literal

from preflight.artwork.page.page import Page
from preflight.carton.die import Die
from preflight.findings import Known
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.quantities import Size

ArtworkIs = Literal["one-up", "sheet", "plate"]
_SAME_MM: Final = 1.0


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
