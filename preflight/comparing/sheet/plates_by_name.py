"""Plates of two pages paired by name: spelt alike, called one ink by the ticket, or read as one ink by a person."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from preflight.inputs.ticket import Ticket
from preflight.measures.one_ink import one_ink_groups
from preflight.setup.unit_plan import same_name


def paired_names(known: Sequence[str], own: Sequence[str], ticket: Ticket | None = None) -> dict[str, str]:
    """From each name that is known, and from each other name of a page, to the name of the page's plate.

    Raises:
        InvalidInput: rules/inks.yaml is wrong.
    """
    pairs: dict[str, str] = {}
    for is_one in _ways(ticket):
        for name in own:
            if name in pairs.values():
                continue
            meant = [other for other in known if other not in pairs and is_one(other, name)]
            if len(meant) == 1:
                pairs[meant[0]] = name
    left = [name for name in own if name not in pairs.values()]
    return pairs | {name: name for name in left if name not in pairs}


def _ways(ticket: Ticket | None) -> Iterator[Callable[[str, str], bool]]:
    def goes_by(name: str) -> str:
        return ticket.ink_of(name) if ticket is not None else name

    yield lambda one, other: one == other
    yield lambda one, other: same_name(goes_by(one), goes_by(other))
    yield lambda one, other: bool(one_ink_groups((one, other)))
