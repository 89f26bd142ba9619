"""Which plate stands on which unit by the ticket, how many plates one pass needs, and what would make them fit.

Nothing is judged here. A *plate* is what one separation puts on one unit, so a double hit is two plates.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from preflight.artwork.page.separations import PROCESS
from preflight.inputs.press import Coater, Press
from preflight.inputs.ticket import Ticket


@dataclass(frozen=True)
class Ink:
    """A separation of the file, or something that only the ticket names."""

    name: str
    kind: str
    prints: bool | None = True
    """None where nobody can tell (a sheet without a die); it is then counted."""
    in_file: bool = True
    on_plate: bool = True
    """False for what has no plate: lines of the die, guides."""


@dataclass(frozen=True)
class PlatesOfInk:
    """The plates of one ink."""

    name: str
    kind: str
    hits: int
    units: tuple[int, ...]
    overall: bool = False
    """Printed all over, and never shown in the PDF."""
    also_called: tuple[str, ...] = ()
    """Other names in the file that the ticket says are this ink."""


@dataclass(frozen=True)
class Standing:
    """What the ticket puts on one unit."""

    unit: int
    name: str
    kind: str
    prints: bool | None
    in_file: bool
    overall: bool


@dataclass(frozen=True)
class UnitPlan:
    """The units as the ticket fills them, and the plates that the job needs."""

    plates: tuple[PlatesOfInk, ...]
    standing: tuple[Standing, ...] = ()
    """In unit order; idle units are left out. Empty where the ticket gives no unit list."""
    on_coater: tuple[str, ...] = ()
    """Separations that show where the coating goes: the coater lays them and they need no unit."""

    @property
    def needed(self) -> int:
        """Units that one pass takes."""
        return sum(plates.hits for plates in self.plates)

    def units_of(self, name: str) -> tuple[int, ...]:
        """The units that an ink stands on, by the name that it has once the ticket's ``same_as`` has been followed."""
        return tuple(place.unit for place in self.standing if same_name(place.name, name))


@dataclass(frozen=True)
class WayToFit:
    """A change that takes plates off the units: what it is in one word, what moves, and what is then needed."""

    case: str
    """``varnish to the coater``, ``names merged``, ``varnish to the coater and names merged``."""
    needed: int
    varnish: tuple[str, ...] = ()
    """Varnishes that go to the coater."""
    names: tuple[str, ...] = ()
    """Names that are merged."""


def plan_units(inks: Iterable[Ink], ticket: Ticket | None) -> UnitPlan:
    """Plates by the ticket; ``inks`` come in the file's order, each name once."""
    merged = _merged_by_ticket(list(inks), ticket)
    standing = _standing([ink for ink, _ in merged], ticket)
    coated = ticket.coating.separation if ticket and ticket.coating else None
    plates, on_coater = [], []
    for ink, also_called in merged:
        units = tuple(place.unit for place in standing if not place.overall and place.name == ink.name)
        if not (ink.in_file and ink.on_plate):
            continue
        if coated and not units and any(same_name(name, coated) for name in (ink.name, *also_called)):
            on_coater.append(ink.name)
        elif ink.prints is not False:
            plates.append(PlatesOfInk(ink.name, ink.kind, max(1, len(units)), units, also_called=also_called))
    for name in dict.fromkeys(place.name for place in standing if place.overall):
        places = [place for place in standing if place.overall and place.name == name]
        units = tuple(place.unit for place in places)
        plates.append(PlatesOfInk(name, places[0].kind, len(units), units, overall=True))
    return UnitPlan(tuple(plates), standing, tuple(on_coater))


def same_name(one: str, other: str) -> bool:
    """Whether a ticket and a file mean the same separation: case and blanks are not looked at."""
    return one == other or "".join(one.split()).casefold() == "".join(other.split()).casefold()


def free_coaters(press: Press, ticket: Ticket | None) -> tuple[Coater, ...]:
    """Coaters that the ticket's coating does not need; all of them where the ticket names no coating."""
    coating = ticket.coating if ticket else None
    if coating is None:
        return press.coaters
    area = "plate" if coating.is_patterned else "overall"
    used = next((c for c in press.coaters if can_lay(c, coating.kind, area)), None) or next(iter(press.coaters), None)
    return tuple(coater for coater in press.coaters if used is None or coater.number != used.number)


def can_lay(coater: Coater, kind: str | None, area: str) -> bool:
    """Whether a coater takes a kind of coating and lays it as wanted; what the profile does not say is no hindrance.

    Args:
        coater: the coating station.
        kind: ``uv``, ``water-based`` …; None where nobody says.
        area: ``overall`` or ``plate`` (a pattern; a cut blanket will do for it).
    """
    takes = coater.takes is None or kind is None or kind in coater.takes
    return takes and lays_area(coater, area)


def lays_area(coater: Coater, area: str) -> bool:
    """Whether a coater lays overall or a pattern."""
    return coater.lays is None or area in coater.lays or (area == "plate" and "cut blanket" in coater.lays)


def ways_to_fit(
    plan: UnitPlan, press: Press, ticket: Ticket | None, one_ink: Sequence[Sequence[str]] = ()
) -> list[WayToFit]:
    """What would take plates off the units, smallest change first; each is worked out whether or not it is enough.

    Args:
        plan: the plates as they stand.
        press: its coaters can take a varnish.
        ticket: its coating takes one of them.
        one_ink: groups of names that a person reads as one ink.
    """
    effects = [name for name, note in ticket.separations.items() if note.effect] if ticket else []
    movable = [p for p in plan.plates if p.kind == "varnish" and not any(same_name(p.name, name) for name in effects)]
    moved, saved_by_coater = _varnish_moved(movable, free_coaters(press, ticket))
    merged, saved_by_merging = _merged(plan, one_ink)
    ways = []
    if moved:
        ways.append(WayToFit("varnish to the coater", plan.needed - saved_by_coater, moved))
    if merged:
        ways.append(WayToFit("names merged", plan.needed - saved_by_merging, names=merged))
    if moved and merged:
        both = plan.needed - saved_by_coater - saved_by_merging
        ways.append(WayToFit("varnish to the coater and names merged", both, moved, merged))
    return ways


def _varnish_moved(varnishes: Sequence[PlatesOfInk], coaters: tuple[Coater, ...]) -> tuple[tuple[str, ...], int]:
    """Varnishes that free coaters can lay, one a coater, and the units that this frees.

    An effect varnish is none of them: it works against the coat, and has to stand before it.
    """
    left, moved, saved = list(coaters), [], 0
    for plates in varnishes:
        area = "overall" if plates.overall else "plate"
        coater = next((coater for coater in left if lays_area(coater, area)), None)
        if coater:
            left.remove(coater)
            moved.append(plates.name)
            saved += plates.hits
    return tuple(moved), saved


def _merged(plan: UnitPlan, one_ink: Sequence[Sequence[str]]) -> tuple[tuple[str, ...], int]:
    """Names that would go on to another's plates, and the units that this frees."""
    hits = {plates.name: plates.hits for plates in plan.plates if not plates.overall}
    merged, saved = [], 0
    for group in one_ink:
        present = [name for name in group if name in hits]
        if len(present) > 1:
            merged += present
            saved += sum(hits[name] for name in present) - max(hits[name] for name in present)
    return tuple(merged), saved


def _merged_by_ticket(inks: Sequence[Ink], ticket: Ticket | None) -> list[tuple[Ink, tuple[str, ...]]]:
    """One ink for all names that the ticket says are the same, with the others; it prints where any of them does."""
    groups: dict[str, list[Ink]] = {}
    for ink in inks:
        groups.setdefault(ticket.ink_of(ink.name) if ticket else ink.name, []).append(ink)
    merged = []
    for name, group in groups.items():
        own = next((ink for ink in group if ink.name == name), group[0])
        prints = [ink.prints for ink in group]
        ink = Ink(
            name,
            "process" if own.name != name and name in PROCESS else own.kind,
            True if True in prints else None if None in prints else False,
            any(ink.in_file for ink in group),
            any(ink.on_plate for ink in group),
        )
        merged.append((ink, tuple(ink.name for ink in group if ink.name != name)))
    return merged


def _standing(inks: Sequence[Ink], ticket: Ticket | None) -> tuple[Standing, ...]:
    """The ticket's unit list; names are those of the file where it has them."""
    found = []
    for entry in (ticket.units or ()) if ticket else ():
        if entry.name is None or ticket is None:
            continue
        name = entry.name if entry.overall else ticket.ink_of(entry.name)
        alike = [ink for ink in inks if same_name(ink.name, name)]
        ink = next(
            (ink for ink in alike if ink.in_file != entry.overall),
            alike[0] if alike else Ink(name, "spot", False, False),
        )
        in_file = ink.in_file and not entry.overall
        found.append(
            Standing(entry.number, ink.name, ink.kind, True if entry.overall else ink.prints, in_file, entry.overall)
        )
    return tuple(found)
