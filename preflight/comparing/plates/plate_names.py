"""Which plate of NEW is which of OLD: by name, by a name that the ticket or the house reads as the same, by its ink."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from preflight.comparing.comparison import Difference
from preflight.comparing.pages.aligned_plates import AlignedPlates, PackedPlate
from preflight.inputs.ticket import Ticket
from preflight.measures.one_ink import one_ink_groups
from preflight.setup.unit_plan import same_name

MOST_TRIED: Final = 40
"""Pairs of plates with unlike names that are looked at, whether one is the other renamed."""
SAME_SIZE: Final = 0.1
"""Of their packed sizes: plates that differ by more are not looked at."""

Differ = Callable[[str, str], Difference]
"""What a plate of OLD and one of NEW differ by, by their names."""


@dataclass(frozen=True)
class PlateNames:
    """One plate under its name in OLD, in NEW, or in both."""

    old: str | None
    new: str | None

    @property
    def name(self) -> str:
        """Its name in NEW; in OLD where it is gone."""
        return self.new if self.new is not None else self.old or ""

    @property
    def renamed(self) -> bool:
        """It is in both, and called otherwise."""
        return None not in (self.old, self.new) and self.old != self.new


def pair_plates(aligned: AlignedPlates, differ: Differ, ticket: Ticket | None) -> tuple[PlateNames, ...]:
    """The plates of a page that print in either file, in the order of NEW; those that are gone come last.

    A plate that prints nothing is no plate. Under one name in both it is one plate, whatever is on it; else names that
    are written a little otherwise, or that the ticket says are the same; else plates that are equal.
    """
    old = [name for name, plate in aligned.old.items() if plate.prints]
    new = [name for name, plate in aligned.new.items() if plate.prints]
    found = {name: name for name in new if name in old}
    left = [name for name in old if name not in found]
    for name in (name for name in new if name not in found):
        other = next((each for each in left if _one_ink(each, name, ticket)), None)
        if other is not None:
            found[name] = other
            left.remove(other)
    more = [name for name in new if name not in found]
    for was, name in _equal(aligned, left, more, differ):
        found[name] = was
    gone = [name for name in old if name not in found.values()]
    return (*(PlateNames(found.get(name), name) for name in new), *(PlateNames(name, None) for name in gone))


def _one_ink(one: str, other: str, ticket: Ticket | None) -> bool:
    if ticket is not None and same_name(ticket.ink_of(one), ticket.ink_of(other)):
        return True
    return same_name(one, other) or bool(one_ink_groups((one, other)))


def _equal(aligned: AlignedPlates, old: Sequence[str], new: Sequence[str], differ: Differ) -> Iterable[tuple[str, str]]:
    """Plates of unlike names that are one plate: known by digest, else looked at where they are packed alike."""
    left, found = list(old), dict[str, str]()
    for name in new:
        same = next((each for each in left if aligned.old[each].digest == aligned.new[name].digest), None)
        if same is not None:
            found[name] = same
            left.remove(same)
    tried = 0
    for name in (name for name in new if name not in found):
        for each in sorted(left, key=lambda each: abs(_bytes(aligned.old[each]) - _bytes(aligned.new[name]))):
            larger = max(_bytes(aligned.old[each]), _bytes(aligned.new[name]))
            if abs(_bytes(aligned.old[each]) - _bytes(aligned.new[name])) > SAME_SIZE * larger or tried >= MOST_TRIED:
                break
            tried += 1
            if differ(each, name).how == "none":
                found[name] = each
                left.remove(each)
                break
    return [(was, name) for name, was in found.items()]


def _bytes(plate: PackedPlate) -> int:
    return sum(map(len, plate.bands))
