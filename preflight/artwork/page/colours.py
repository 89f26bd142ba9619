"""The colours of a page, and questions to all of them at once: a traced picture has hundreds of thousands."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

BY_NAME: Final = ("Separation", "DeviceN")
"""Families whose colours name the plates that they paint; under overprint they leave all others."""


@dataclass(frozen=True)
class Colour:
    """A colour as the file sets it, and what it puts on plates.

    ``space`` is the family named in the file after resolving defaults: ``DeviceCMYK``, ``DeviceGray``, ``DeviceRGB``,
    ``ICCBased-1/3/4``, ``CalGray``, ``CalRGB``, ``Lab``, ``Separation``, ``DeviceN``, ``Pattern``, ``Indexed``.
    ``tints`` maps separation name to 0..1. An object whose colour varies (image, shading, coloured pattern) has
    ``varies`` set, and ``tints`` then names every separation that it can put ink on, at its greatest tint.
    """

    space: str
    tints: tuple[tuple[str, float], ...]
    direct_cmyk: bool = False
    """DeviceCMYK set directly (k, or scn in DeviceCMYK): the only colour whose zeros OPM 1 leaves alone."""
    registration: bool = False
    """Separation All."""
    not_a_plate: str = ""
    """``RGB``, ``Lab`` … when the colour is no plate and somebody has to convert it; empty otherwise."""
    varies: bool = False
    base: str = ""
    """Of Indexed: the family of its base space."""

    @property
    def by_name(self) -> bool:
        """Whether it paints what it names: an Indexed colour is one of its base space (ISO 32000-2, 8.6.6.3)."""
        return (self.base if self.space == "Indexed" else self.space) in BY_NAME

    def tint(self, separation: str) -> float:
        """Tint 0..1 on a separation that this colour names; 0 where it does not name it."""
        return dict(self.tints).get(separation, 0.0)


@dataclass(frozen=True, eq=False)
class Family:
    """Colours that are alike but for their tints, whose fields are those of ``Colour``."""

    space: str
    names: tuple[str, ...]
    tints: NDArray[np.float64]
    """(k, names), 0..1."""
    direct_cmyk: bool = False
    registration: bool = False
    not_a_plate: str = ""
    varies: bool = False
    base: str = ""

    @property
    def by_name(self) -> bool:
        """As in ``Colour``."""
        return (self.base if self.space == "Indexed" else self.space) in BY_NAME

    def names_any(self, separations: Collection[str]) -> bool:
        """Whether its colours name any of these, at whatever tint."""
        return any(name in separations for name in self.names)

    def most(self, separations: Collection[str] | None = None) -> NDArray[np.float64]:
        """For each colour its greatest tint on any of these separations (None: on any at all), (k,)."""
        own = self.tints
        if separations is not None:
            own = own[:, [name in separations for name in self.names]]
        most: NDArray[np.float64] = own.max(axis=1, initial=0.0)
        return most

    @classmethod
    def of(cls, colour: Colour) -> Family:
        """A family of one."""
        tints = np.array([[tint for _, tint in colour.tints]], float)
        return cls(
            colour.space,
            tuple(name for name, _ in colour.tints),
            tints,
            colour.direct_cmyk,
            colour.registration,
            colour.not_a_plate,
            colour.varies,
            colour.base,
        )

    def colour(self, row: int) -> Colour:
        """One of them."""
        tints = tuple(zip(self.names, self.tints[row].tolist(), strict=True))
        return Colour(self.space, tints, self.direct_cmyk, self.registration, self.not_a_plate, self.varies, self.base)


Wanted = Callable[[Family], bool | NDArray[np.bool_]]
"""Which colours of a family are wanted: one answer for all of them or one for each."""


class Colours(Sequence[Colour]):
    """Colours in the order in which the page sets them; families are added at the end."""

    def __init__(self) -> None:
        self._families: list[tuple[Family, NDArray[np.intp]]] = []
        self._where: tuple[NDArray[np.intp], NDArray[np.intp]] | None = None
        """For each colour its family, and its row there."""
        self._count = 0
        self._naming: dict[str, list[int]] = {}
        """For each separation the families that name it."""

    def add(self, family: Family, numbers: NDArray[np.intp]) -> None:
        """Colours of a family, under these numbers."""
        for name in dict.fromkeys(family.names):
            self._naming.setdefault(name, []).append(len(self._families))
        self._families.append((family, numbers))
        self._count += len(numbers)
        self._where = None

    def copy(self) -> Colours:
        """The colours so far; families added to these later are not in it."""
        other = Colours()
        for family, numbers in self._families:
            other.add(family, numbers)
        return other

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, number: int) -> Colour: ...

    @overload
    def __getitem__(self, number: slice) -> Sequence[Colour]: ...

    def __getitem__(self, number: int | slice) -> Colour | Sequence[Colour]:
        if isinstance(number, slice):
            return [self[at] for at in range(*number.indices(self._count))]
        family, row = self._places()
        return self._families[int(family[number])][0].colour(int(row[number]))

    def __iter__(self) -> Iterator[Colour]:
        family, row = self._places()
        return (self._families[at][0].colour(own) for at, own in zip(family.tolist(), row.tolist(), strict=True))

    def _places(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        if self._where is None:
            family, row = np.zeros(self._count, np.intp), np.zeros(self._count, np.intp)
            for at, (_, numbers) in enumerate(self._families):
                family[numbers], row[numbers] = at, np.arange(len(numbers))
            self._where = family, row
        return self._where

    def where(self, wanted: Wanted) -> NDArray[np.bool_]:
        """For each colour whether it is wanted; asked a family at a time."""
        answers = np.zeros(self._count, bool)
        for family, numbers in self._families:
            answers[numbers] = wanted(family)
        return answers

    def where_named(self, separation: str, wanted: Wanted) -> NDArray[np.bool_]:
        """As ``where``, asked only of families that name a separation: where there are thousands each is in few."""
        answers = np.zeros(self._count, bool)
        for at in self._naming.get(separation, ()):
            family, numbers = self._families[at]
            answers[numbers] = wanted(family)
        return answers

    def families(self) -> Iterator[tuple[Family, NDArray[np.intp]]]:
        """Each family with the numbers of its colours."""
        return iter(self._families)

    def inked(self, used: NDArray[np.bool_]) -> dict[str, float]:
        """Separations that the colours used (one answer a colour) name, each with its greatest tint, as they come."""
        found: dict[str, float] = {}
        shown = [(family, numbers, used[numbers]) for family, numbers in self._families]
        order = [(int(numbers[own].min()), at) for at, (_, numbers, own) in enumerate(shown) if own.any()]
        for _, at in sorted(order):
            family, _, own = shown[at]
            for name, tint in zip(family.names, family.tints[own].max(0).tolist(), strict=True):
                found[name] = max(tint, found.get(name, 0.0))
        return found
