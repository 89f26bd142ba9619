"""Names that the ticket gives to the lines of the die, against those that the page has."""

from __future__ import annotations

from typing import Final

from preflight.artwork.page.page import Page
from preflight.findings import Unusable
from preflight.inputs.ticket import Ticket
from preflight.suggest import nearest

REGISTRATION_NAMES: Final = ("all", "registration", "registration colour", "registration color")
"""What people call the colorant All (ISO 32000-2, 8.6.6.4)."""


def is_registration(name: str) -> bool:
    """Whether a ticket means registration colour."""
    return " ".join(name.split()).casefold() in REGISTRATION_NAMES


def names_not_found(page: Page, ticket: Ticket | None) -> list[Unusable]:
    """The roles of the die all of whose names are missing on the page, each with the nearest names."""
    known = [*(separation.name for separation in page.separations), *(layer.name for layer in page.layers)]
    registration = any(family.registration for family, _ in page.objects.colours.families())
    said = []
    for role, names in (ticket.die.lines if ticket is not None else {}).items():
        if any(name in known or (registration and is_registration(name)) for name in names):
            continue
        near = list(dict.fromkeys(filter(None, (nearest(name, known) for name in names))))
        stated = f"die.lines.{role}: {', '.join(names)}"
        said.append(Unusable(stated, "the page has no separation or layer of that name", " or ".join(near)))
    return said
