"""What the planner of the units is asked: plates, what overlaps what, the press, what is on it now. Plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from preflight.inputs.press import Press

Pair = tuple[str, str]


@dataclass(frozen=True)
class PlateToPlace:
    """One plate that wants a unit; the hits of one ink are plates of their own."""

    name: str
    kind: str
    """Of ``PRINTING_KINDS``."""
    hit: int = 1
    """1 for the first plate of this ink, 2 for the second …"""
    cover: float = 0.0
    """Inked fraction inside the cut, 0..1, weighted by tint."""
    area_mm2: float = 0.0
    """Inked area inside the cut."""
    ink_system: str | None = None
    """None where nobody says."""
    effect: bool = False
    """A varnish that works against the coat over it."""
    overall: bool = False
    """Printed all over, and never shown in the PDF."""
    prints: bool | None = True
    """None where nobody can tell."""
    side: Literal["front", "back"] = "front"
    printed_over: bool = False
    """A metallic that other inks are meant to cover."""
    on_solids: bool = False
    """A white that prints on colour: it is drawn on top of what it overlaps, and the board is white."""
    in_pictures: bool = False
    """A process ink that pictures print in."""
    fine_type: bool = False
    """Type or lines too fine to be built of process inks."""
    darkness: float | None = None
    """0 (as light as the board) to 1 (black), by the colour that the file gives the ink; None where it gives none."""


@dataclass(frozen=True)
class CoatingToLay:
    """The coating of the ticket."""

    kind: str | None
    area: Literal["overall", "plate"] = "overall"
    separation: str | None = None
    """What shows where it goes."""
    clear: tuple[str, ...] = ()
    """Areas that it leaves bare though it lays overall."""

    @property
    def to_lay(self) -> Literal["overall", "plate"]:
        """What the coater has to be able to lay: ``plate`` is any pattern, for which a cut blanket will do."""
        return "plate" if self.clear else self.area


@dataclass(frozen=True)
class OnPress:
    """What is on the press before this job."""

    units: tuple[str | None, ...] = ()
    """Ink on unit 1, 2 …; None for a clean one."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """Kind of each of these inks."""
    darkness: Mapping[str, float] = field(default_factory=dict)
    coater: str | None = None
    """Coating in the first coater."""
    ink_system: str | None = None
    goods: str | None = None
    """What went into the cartons of the job before."""


@dataclass(frozen=True)
class PlanRequest:
    """A job and a press."""

    plates: tuple[PlateToPlace, ...]
    """In the file's order."""
    press: Press
    coating: CoatingToLay | None = None
    surface: str | None = None
    """Of the board: ``white``, ``metallised`` …; None where the ticket does not say."""
    ink_system: str | None = None
    """Of the job."""
    wished: tuple[str | None, ...] | None = None
    """What the ticket has on unit 1, 2 …; None where it has no list, and None for an idle unit."""
    fixed: bool = False
    """The list is an order and no wish."""
    overlap_mm2: Mapping[Pair, float] = field(default_factory=dict)
    """Area on which two inks lie over each other inside the cut; the pair in the order of its names. Pairs that are
    not there do not overlap."""
    distance_mm: Mapping[Pair, float] = field(default_factory=dict)
    """Nearest distance of two inks on the plates, 0 where they touch or overlap; pairs that are not there are further
    apart than anybody looked."""
    one_ink: tuple[tuple[str, ...], ...] = ()
    """Names that a person reads as one ink, for the ways out."""
    aimed: frozenset[str] = frozenset()
    """Inks for which the ticket has a density or a colour to aim at."""
    before: OnPress | None = None
