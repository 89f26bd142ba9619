"""What a job's plan for a press holds: passes with their stations, wash-ups, contradictions and ways out.

Plain records, made by ``unit_order`` and read by the measures, the run plan and the set-up sheet. Nothing is computed
in here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Side = Literal["front", "back"]
LampLevel = Literal["off", "low", "full"]
Change = Literal["merge", "drop", "to-coater", "to-process", "two-passes", "other-press"]


@dataclass(frozen=True)
class Because:
    """One reason for a place or a level."""

    demand: str
    """Of the closed list of demands: ``metallic-by-overlap``, ``process-chain`` …"""
    says: str


@dataclass(frozen=True)
class OnUnit:
    """What one printing unit does in a pass."""

    unit: int
    separation: str | None
    """None: idle."""
    kind: str | None
    side: Side = "front"
    overall: bool = False
    """Printed all over, and never shown in the PDF."""
    ink_system: str | None = None
    because: tuple[Because, ...] = ()


@dataclass(frozen=True)
class LampSet:
    """A lamp between stations, and how it is set."""

    lamp: str
    after_unit: int
    level: LampLevel
    because: tuple[Because, ...] = ()


@dataclass(frozen=True)
class OnCoater:
    """What one coater does in a pass."""

    coater: int
    after_unit: int
    coating: str | None
    """Its kind; None: idle."""
    lays: str | None = None
    """``overall``, ``cut blanket`` or ``plate``."""
    separation: str | None = None
    """The separation that shows where it goes."""
    because: tuple[Because, ...] = ()


@dataclass(frozen=True)
class InDelivery:
    """Lamps and dryers of the delivery, each with its level."""

    holds: tuple[str, ...]
    levels: tuple[LampLevel, ...]
    because: tuple[Because, ...] = ()


Station = OnUnit | LampSet | OnCoater | InDelivery


@dataclass(frozen=True)
class Pass:
    """The sheet once through the press: stations as they stand, feeder to delivery."""

    stations: tuple[Station, ...]

    @property
    def units(self) -> tuple[OnUnit, ...]:
        """The printing units, in order."""
        return tuple(station for station in self.stations if isinstance(station, OnUnit))

    @property
    def coaters(self) -> tuple[OnCoater, ...]:
        """The coaters, in order."""
        return tuple(station for station in self.stations if isinstance(station, OnCoater))

    @property
    def plates(self) -> tuple[OnUnit, ...]:
        """The units that print."""
        return tuple(unit for unit in self.units if unit.separation is not None)


@dataclass(frozen=True)
class WashUp:
    """One unit from the ink of the job before to that of this one."""

    unit: int
    before: str
    after: str
    minutes: float | None
    """None where neither the profile nor the plant's table says."""
    because: str
    """``light after dark``, ``after metallic`` …"""


@dataclass(frozen=True)
class Conflict:
    """One of the fewest demands that together leave no order."""

    demand: str
    separation: str
    says: str


@dataclass(frozen=True)
class BrokenJoint:
    """Two inks that touch and would be printed in different passes."""

    separations: tuple[str, str]
    distance_mm: float


@dataclass(frozen=True)
class WayOut:
    """A change that makes a job fit, with what it saves."""

    change: Change
    separations: tuple[str, ...]
    says: str
    saves_units: int = 0
    saves_pass: bool = False
    passes: tuple[tuple[str, ...], ...] = ()
    """Of two passes: the separations of each."""
    breaks: tuple[BrokenJoint, ...] = ()
    press: str | None = None
    """Of another press: its name."""


@dataclass(frozen=True)
class PressPlan:
    """How a job is set on one press."""

    possible: bool
    """In one pass."""
    proved_best: bool
    passes: tuple[Pass, ...] = ()
    """One; two where that is the cheapest way; none where nothing is possible."""
    wash_ups: tuple[WashUp, ...] = ()
    conflict: tuple[Conflict, ...] = ()
    ways_out: tuple[WayOut, ...] = ()
    cost: float = 0.0
    """Sum of the soft weights that the order pays."""
    assumed: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    """Parts that could not be planned, each with the key that it wants."""
