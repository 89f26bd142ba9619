"""A sheet against its one-up, blank by blank and plate by plate (L01, L02, X04)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.geometry import Box
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.comparing.blank_audit import Audited, Auditor
from preflight.comparing.comparison import BlankCheck, Comparison, PlateChange
from preflight.comparing.look_at_sheet import NOISE, SheetLooks
from preflight.comparing.number_up import meant_versions, number_up_faults, version_counts
from preflight.comparing.plates_by_name import paired_names
from preflight.comparing.printed_art import PrintedArt, laid_on, plate_names, read_art
from preflight.comparing.sheet_blanks import SheetPlaces, sheet_places
from preflight.findings import numbers_listed, with_and
from preflight.inputs.ticket import Ticket

SAME_DRAWN: Final = NOISE


def compare_sheet(
    one_up: Artwork, sheet: Artwork, versions: Sequence[tuple[str, Artwork]] = (), ticket: Ticket | None = None
) -> Comparison:
    """Holds every blank of a sheet against the one-up.

    A version that the ticket names is meant to be there; others, as old revisions, are told by their name and are wrong.

    Args:
        one_up: the approved artwork of one blank.
        sheet: the imposed sheet.
        versions: other versions and old revisions by name.
        ticket: says what the die is drawn in, how many up, and which versions.

    Raises:
        NotMeasured: a page cannot be drawn, or the one-up prints nothing.
    """
    arts, unlike = _arts(one_up, versions, ticket)
    page = sheet.pages[0]
    names = paired_names(_order(arts), plate_names(page), ticket)
    order = (*_order(arts), *(name for name in names if name not in _order(arts)))
    looks = SheetLooks(page, order, names)
    die = read_die(page, _without_places(ticket, "sheet"))
    places = sheet_places(looks, die, arts)
    cuts = [(place.number, place.cut) for place in places.places if place.cut is not None]
    files = {arts[0].name: one_up.path, **{name: artwork.path for name, artwork in versions}}
    auditor = Auditor(looks, arts, cuts, places.against, page.number, meant_versions(ticket, files))
    audited = [auditor.audit(place) for place in places.places]
    return _comparison(audited, looks, arts, places, die, ticket, [*unlike, *_pages_left(one_up, sheet)])


def _arts(
    one_up: Artwork, versions: Sequence[tuple[str, Artwork]], ticket: Ticket | None
) -> tuple[list[PrintedArt], list[str]]:
    """The one-up and its versions in one frame, and what is said of versions that do not fit it."""
    stated = _without_places(ticket, "one-up")
    first = read_art(one_up.path.name, one_up, stated)
    others, unlike = list[PrintedArt](), list[str]()
    for name, artwork in versions:
        known = list(first.names)
        art = read_art(name, artwork, stated, paired_names(known, plate_names(artwork.pages[0]), ticket))
        laid = laid_on(art, first)
        if laid is None:
            unlike.append(f"{name}: it has another cut or page than the one-up")
        else:
            others.append(laid)
    return [first, *others], unlike


def _without_places(ticket: Ticket | None, artwork_is: str) -> Ticket | None:
    """The ticket as it holds for one of the files: areas that are stated lie on the artwork of the ticket."""
    if ticket is None:
        return None
    kept = ticket.areas if (ticket.artwork_is or "one-up") == artwork_is else ()
    return ticket.model_copy(update={"artwork_is": artwork_is, "areas": kept})


def _order(arts: Sequence[PrintedArt]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for art in arts for name in art.names))


def _pages_left(one_up: Artwork, sheet: Artwork) -> list[str]:
    files = (("one-up", one_up), ("sheet", sheet))
    return [
        f"only the first page of the {what} is compared; it has {artwork.page_count}"
        for what, artwork in files
        if artwork.page_count > 1
    ]


# What comes of it ------------------------------------------------------------------------------------------------------


def _comparison(
    audited: Sequence[Audited],
    looks: SheetLooks,
    arts: Sequence[PrintedArt],
    places: SheetPlaces,
    die: Die,
    ticket: Ticket | None,
    not_compared: Sequence[str],
) -> Comparison:
    checks = [each.check for each in audited]
    counts = version_counts(checks, ticket)
    faults = number_up_faults(checks, counts, ticket)
    if not checks:
        faults.insert(0, "No blank of the one-up is found on the sheet.")
    common = _common(arts, looks)
    return Comparison(
        "sheet",
        plates=tuple(_plates(audited, looks)),
        blanks=tuple(checks),
        notes=(
            *places.notes,
            *(f"The die of the sheet is uncertain: {each}." for each in die.uncertain),
            *_cell_numbers(audited),
            *_on_common(common, checks, looks, arts),
        ),
        not_compared=(*places.not_compared, *not_compared, *looks.not_drawn),
        faults=tuple(faults),
        versions=counts,
    )


def _plates(audited: Sequence[Audited], looks: SheetLooks) -> list[PlateChange]:
    """Each plate over all blanks that are not right: the change that is largest, and every place."""
    seen: dict[str, list[PlateChange]] = defaultdict(list)
    outside: dict[str, list[tuple[Box, int]]] = defaultdict(list)
    for each in audited:
        for plate in each.check.plates if each.check.kind != "same" else ():
            seen[plate.name].append(plate)
        for name, box in each.outside:
            outside[name].append((box, each.check.page))
    found = []
    for known in looks.order:
        name = looks.names.get(known, known)
        changes = seen.get(name, [])
        beyond = tuple(outside.get(name, ()))
        if changes:
            worst = max(changes, key=lambda change: change.share)
            spots = tuple(place for change in changes for place in change.places)
            found.append(replace(worst, places=spots, outside=beyond))
        elif name != known:
            found.append(PlateChange(name, "renamed", renamed_from=known, outside=beyond))
        else:
            found.append(PlateChange(name, "none", outside=beyond))
    return found


def _cell_numbers(audited: Sequence[Audited]) -> list[str]:
    numbered = [(each.check.number, each.number) for each in audited if each.number is not None]
    if not numbered:
        return []
    x0, y0, x1, y1 = numbered[0][1]
    which = f"Blank{'s' * (len(numbered) > 1)} {numbers_listed(number for number, _ in numbered)}"
    have = "have" if len(numbered) > 1 else "has"
    where = f"the first at ({(x0 + x1) / 2:.0f}, {(y0 + y1) / 2:.0f}) mm"
    return [
        f"{which} {have} something small printed on a glue or dust flap that the one-up has not, {where}: cell numbers?"
    ]


def _common(arts: Sequence[PrintedArt], looks: SheetLooks) -> list[str]:
    """Plates that are the same in all versions, inside the cut of the one-up."""
    if len(arts) < 2:
        return []
    first = arts[0].drawn(looks.order)
    found = []
    for number, name in enumerate(looks.order):
        if all(name in art.names for art in arts) and all(
            art.grid() == arts[0].grid() and _alike(first[number], art.drawn(looks.order)[number]) for art in arts[1:]
        ):
            found.append(name)
    return found


def _alike(
    one: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], other: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]
) -> bool:
    return bool((np.maximum(one, other) - np.minimum(one, other)).max(initial=0) <= SAME_DRAWN)


def _on_common(
    common: Sequence[str], checks: Sequence[BlankCheck], looks: SheetLooks, arts: Sequence[PrintedArt]
) -> list[str]:
    """Whether plates that all versions have in common are the same on all blanks (X04)."""
    if not common or not checks:
        return []
    shown = {looks.names.get(name, name): name for name in common}
    off = {
        name: [check.number for check in checks if any(plate.name == name for plate in check.plates)] for name in shown
    }
    right = [name for name, numbers in off.items() if not numbers]
    of_all = f"in all {len(arts)} versions"
    every = (
        "on every blank that prints in full" if any(check.kind == "missing" for check in checks) else "on every blank"
    )
    said = [f"{with_and(right)} {'are' if len(right) > 1 else 'is'} the same {of_all} and {every}."] if right else []
    return said + [
        f"{name} is the same {of_all}, but not on blank {numbers_listed(numbers)}."
        for name, numbers in off.items()
        if numbers
    ]
