"""The names on a ticket against those in the file: what was meant, and what to say of names that nobody has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from preflight.artwork.page.separations import PROCESS, Separation
from preflight.findings import Unusable, with_and
from preflight.inputs.kind_names import classify, load_names
from preflight.inputs.ticket import Ticket
from preflight.kinds import NON_PRINTING_KINDS
from preflight.setup.unit_plan import same_name
from preflight.suggest import nearest

NO_SEPARATION: Final = "the file has no such separation"
LETTERS: Final = {"C": "Cyan", "M": "Magenta", "Y": "Yellow", "K": "Black"}


@dataclass(frozen=True)
class AsMeant:
    """The ticket with names that the file knows, and what was done for that."""

    ticket: Ticket
    assumed: tuple[str, ...] = ()
    unusable: tuple[Unusable, ...] = ()


def as_meant(ticket: Ticket, names: Sequence[str]) -> AsMeant:
    """The ticket read against the separations of the file.

    C, M, Y and K on the unit list and among the changes are the process inks, unless the file or the ticket has a
    separation of that name. A ``same_as`` that leads to a name which neither the file nor the ticket has otherwise,
    and which is no process ink, is left out.
    """
    letters = {
        entry.name: LETTERS[entry.name.strip().upper()]
        for entry in ticket.units or ()
        if entry.name is not None
        and not entry.overall
        and entry.name.strip().upper() in LETTERS
        and entry.name not in ticket.separations
        and not any(same_name(entry.name, name) for name in names)
    }
    units = ticket.unit_list
    if units is not None and letters:
        units = tuple(
            entry and (letters.get(entry[0], entry[0]) if not entry[1] else entry[0], entry[1]) for entry in units
        )
    changes = ticket.changes
    if changes is not None:
        changes = tuple(name if name in ticket.separations else _in_the_file(name, names) for name in changes)
    lost = {name: ticket.ink_of(name) for name in ticket.separations if _leads_nowhere(ticket, name, names)}
    notes = dict(ticket.separations)
    for name in lost:
        notes[name] = notes[name].model_copy(update={"same_as": None})
    meant = ticket
    if letters or lost or changes != ticket.changes:
        meant = ticket.model_copy(update={"unit_list": units, "separations": notes, "changes": changes})
    assumed: tuple[str, ...] = ()
    if letters:
        assumed = (f"{with_and(letters)} on the unit list {_are(letters)} {with_and(letters.values())}.",)
    said = [
        Unusable(
            f"separations.{name}.same_as: {other}",
            f"neither the file nor the unit list has {other}, so {name} stays an ink of its own",
            nearest(other, [each for each in names if each != name]),
        )
        for name, other in lost.items()
    ]
    return AsMeant(meant, assumed, (*said, *_unknown_names(ticket, names)))


def _in_the_file(name: str, names: Sequence[str]) -> str:
    """A name that the ticket lists as changed, as the file writes it; C, M, Y and K are the process inks."""
    if name in names:
        return name
    written = next((known for known in names if same_name(name, known)), name)
    return LETTERS.get(name.strip().upper(), name) if written == name else written


def only_on_ticket(ticket: Ticket | None, known: Sequence[Separation]) -> list[tuple[Separation, bool]]:
    """What the unit list names and the file does not, and whether it is printed overall."""
    listed: dict[str, tuple[Separation, bool]] = {}
    for entry in (ticket.units or ()) if ticket else ():
        if ticket is None or entry.name is None or entry.name in listed:
            continue
        name = entry.name if entry.overall else ticket.ink_of(entry.name)
        if any(same_name(name, s.name) or same_name(name, ticket.ink_of(s.name)) for s in known):
            continue
        note = ticket.separations.get(entry.name)
        stated = note.kind if note else None
        listed[entry.name] = (_named_on_ticket(name, stated, overall=entry.overall), entry.overall)
    return list(listed.values())


def _named_on_ticket(name: str, stated: str | None, *, overall: bool) -> Separation:
    """What a name is that the file does not have; what is printed overall is a varnish unless its name says else."""
    if stated:
        return Separation(name, stated, "stated on the ticket", "stated")
    if any(same_name(ink, name) for ink in PROCESS):
        return Separation(name, "process", "a process colour")
    recognised = classify(name, load_names())
    if recognised and not (overall and recognised[0] in NON_PRINTING_KINDS):
        return Separation(name, *recognised)
    if overall:
        return Separation(name, "varnish", "printed overall, as stated on the ticket", "stated")
    return Separation(name, "spot", "named on the ticket only")


def _leads_nowhere(ticket: Ticket, name: str, names: Sequence[str]) -> bool:
    """Whether a ``same_as`` ends at a name that nothing else speaks of."""
    other = ticket.ink_of(name)
    if other == name or name not in names:
        return False
    listed = [entry.name for entry in ticket.units or () if entry.name is not None]
    coated = [ticket.coating.separation] if ticket.coating and ticket.coating.separation else []
    if any(same_name(other, known) for known in (*names, *listed, *coated, *PROCESS)):
        return False
    return sum(ticket.ink_of(each) == other for each in names) < 2


def _unknown_names(ticket: Ticket, names: Sequence[str]) -> Iterator[Unusable]:
    """Names under ``separations:`` and ``coating:`` that neither the file nor the unit list has."""
    listed = [entry.name for entry in ticket.units or () if entry.name is not None]
    for name in ticket.separations:
        if name not in names and name not in listed:
            yield Unusable(f"separations.{name}", NO_SEPARATION, nearest(name, names))
    area = ticket.coating.separation if ticket.coating else None
    if area is not None and not any(same_name(area, name) for name in (*names, *listed)):
        yield Unusable(f"coating.area: {area}", NO_SEPARATION, nearest(area, names))


def _are(letters: dict[str, str]) -> str:
    return "are taken as" if len(letters) > 1 else "is taken as"
