"""How many blanks of each version a sheet has, against what the ticket wants (L01)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path

from preflight.comparing.comparison import BlankCheck, VersionCount
from preflight.findings import with_and
from preflight.inputs.ticket import Ticket


def meant_versions(ticket: Ticket | None, files: Mapping[str, Path]) -> dict[str, str]:
    """What the ticket calls each version that it means to be printed, by the name that it was given under.

    Args:
        ticket: the job ticket, if any.
        files: the file of each art by its name.
    """
    if ticket is None:
        return {}
    stated = {entry.file.name: entry.version or entry.file.name for entry in ticket.artwork_list}
    called = {*ticket.quantities, *(blank.version for blank in ticket.layout.blanks or ()), *stated.values()}
    by_letters = {each.casefold(): each for each in called if each is not None}  # dark.pdf is of the version Dark
    found = {}
    for name, path in files.items():
        words = [each.casefold() for each in (name, stated.get(path.name), path.stem) if each is not None]
        meant = [by_letters[each] for each in words if each in by_letters]
        if meant:
            found[name] = meant[0]
    return found


def version_counts(checks: Sequence[BlankCheck], ticket: Ticket | None) -> tuple[VersionCount, ...]:
    """Blanks of each version that prints, and of those that the ticket wants and that are not there."""
    there = Counter(check.version for check in checks if check.version is not None and check.kind != "missing")
    wanted = _wanted(ticket, len(checks))
    names = dict.fromkeys([*wanted, *sorted(there)])
    return tuple(VersionCount(name, there.get(name, 0), wanted.get(name)) for name in names)


def _wanted(ticket: Ticket | None, ups: int) -> dict[str, int | None]:
    """Blanks of each version by the ticket's own layout, else by its quantities where they share out evenly."""
    if ticket is None:
        return {}
    laid = Counter(blank.version for blank in ticket.layout.blanks or () if blank.version is not None)
    if laid:
        return dict(laid)
    total = sum(ticket.quantities.values())
    if not total or (ticket.quantity or total) != total:
        return dict.fromkeys(ticket.quantities)
    shares = {name: Fraction(count * ups, total) for name, count in ticket.quantities.items()}
    whole = all(share.denominator == 1 for share in shares.values())
    return {name: int(share) if whole else None for name, share in shares.items()}


def number_up_faults(checks: Sequence[BlankCheck], counts: Sequence[VersionCount], ticket: Ticket | None) -> list[str]:
    """What is wrong with the number of blanks and the mix of versions, in sentences."""
    if ticket is None:
        return []
    found = []
    ups = ticket.layout.ups or len(ticket.layout.blanks or ()) or None
    if ups is not None and ups != len(checks):
        found.append(f"The sheet has {_blanks(len(checks))}; the ticket says {ups}.")
    if any(count.wanted is not None and count.wanted != count.blanks for count in counts):
        mix = with_and(f"{count.blanks} of {count.version}" for count in counts)
        asked = with_and(f"{count.wanted or 0} of {count.version}" for count in counts)
        found.append(f"The versions are {mix}; by the ticket they should be {asked}.")
    elif missing := [count.version for count in counts if not count.blanks]:
        found.append(f"No blank shows {with_and(missing)}, which the ticket wants.")
    return found


def _blanks(count: int) -> str:
    return f"{count} blank{'s' * (count != 1)}"
