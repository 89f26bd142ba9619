"""Piles at feeder and delivery: how many, how high, how heavy."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from preflight.inputs.press import Pile as PileLimits
from preflight.inputs.run_table import PileTable, RunTable
from preflight.inputs.ticket import ABSORBING_NOTHING
from preflight.setup.run_request import RunRequest
from preflight.setup.run_speed import heavy_solids
from preflight.setup.wanted import wanted

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Pile:
    """One pile; its height is of sheets and of the boards between them, without the pallet."""

    sheets: int
    height_mm: float
    mass_kg: float | None
    """With the pallet, without boards that part it."""
    lots: int = 1
    """Parts that boards keep from each other."""
    version: str | None = None
    """Of the cartons on it, where versions are run one after the other: no pile holds two."""


@dataclass(frozen=True)
class Cap:
    """Most that may lie on one another in the delivery."""

    height_mm: float
    because: str


@dataclass(frozen=True)
class Piles:
    """All piles of a run, in the order in which they come."""

    feeder: tuple[Pile, ...] = ()
    delivery: tuple[Pile, ...] = ()
    cap: Cap | None = None
    change_min: float | None = None
    """Time that the press stands for changing piles, all together."""
    not_checked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()

    @property
    def boards(self) -> int:
        """Boards that part the piles of the delivery."""
        return sum(pile.lots - 1 for pile in self.delivery)

    @property
    def heaviest_kg(self) -> float | None:
        """The heaviest pile with its pallet."""
        return max((pile.mass_kg for pile in (*self.feeder, *self.delivery) if pile.mass_kg is not None), default=None)


def plan_piles(
    request: RunRequest, sheets: int | None, table: RunTable, versions: Sequence[tuple[str | None, int]] = ()
) -> Piles:
    """Piles of so many sheets within the profile's limits and, in the delivery, what drying allows.

    Args:
        request: the planned job.
        sheets: all that are run.
        table: rules/run.yaml.
        versions: sheets of each, where several are run one after the other.
    """
    caliper, limits, sheet_kg = request.caliper_mm, request.press.pile, request.sheet_kg
    cap, open_caps = drying_cap(request, table)
    if sheets is None or caliper is None:
        missing = [] if caliper is not None else [wanted("Piles", "board: caliper", "ticket")]
        return Piles(cap=cap, not_checked=(*missing, *open_caps))
    kinds = table.piles
    most = sheets_by_mass(limits.mass, kinds.pallet, sheet_kg)
    feeder = _stacked(sheets, _lot(limits.feeder, caliper, most), 1, caliper, sheet_kg, kinds, 0.0)
    delivery = tuple(
        replace(pile, version=version)
        for version, count in versions or ((None, sheets),)
        for pile in _delivery(count, caliper, sheet_kg, limits, cap, most, kinds)
    )
    change = _change_min(feeder, delivery, limits, kinds)
    found = Piles(feeder, delivery, cap, change, (), tuple(_taken(request, kinds)))
    return Piles(feeder, delivery, cap, change, (*open_caps, *_left_out(request, found, sheets, kinds)), found.assumed)


def sheets_by_height(height_mm: float, caliper_mm: float) -> int:
    """Sheets in a pile of this height, whole ones."""
    return math.floor(height_mm / caliper_mm + _ROUNDING)


def sheets_by_mass(mass_kg: float | None, pallet_kg: float, sheet_kg: float | None) -> int | None:
    """Sheets in a pile of this mass with its pallet; None where there is no limit, or no mass of a sheet."""
    if mass_kg is None or not sheet_kg:
        return None
    return max(math.floor((mass_kg - pallet_kg) / sheet_kg + _ROUNDING), 0)


def drying_cap(request: RunRequest, table: RunTable) -> tuple[Cap | None, tuple[str, ...]]:
    """How high oxidising inks may be piled, and what could not be looked at; inks that lamps cure have no cap."""
    systems = [(unit, request.system_of(unit)) for unit in request.printing]
    gaps = []
    if any(system is None for _, system in systems):
        gaps.append(wanted("Pile height that drying allows", "ink_system", "ticket"))
    oxidising = [unit.separation for unit, system in systems if system == "oxidising"]
    if not oxidising:
        return None, tuple(gaps)
    caps = []
    if request.surface in ABSORBING_NOTHING:
        caps.append(Cap(table.piles.non_absorbent, f"oxidising inks on {request.surface} board"))
    heavy = [name for name in heavy_solids(request, table) if name in oxidising]
    if heavy:
        caps.append(Cap(table.piles.heavy_solids, f"heavy solids of oxidising ink ({', '.join(heavy)})"))
    if request.surface is None:
        gaps.append(wanted("Pile height that drying allows", "board: surface", "ticket"))
    unknown = [name for name in dict.fromkeys(oxidising) if name not in request.cover]
    if unknown:
        gaps.append(f"Pile height that drying allows: not checked for {', '.join(map(str, unknown))}; cover unknown.")
    return min(caps, key=lambda cap: cap.height_mm, default=None), tuple(gaps)


def _lot(height_mm: float, caliper_mm: float, most: int | None) -> int:
    sheets = sheets_by_height(height_mm, caliper_mm)
    return sheets if most is None else min(sheets, most)


def _delivery(
    sheets: int,
    caliper_mm: float,
    sheet_kg: float | None,
    limits: PileLimits,
    cap: Cap | None,
    most: int | None,
    table: PileTable,
) -> tuple[Pile, ...]:
    """A cap makes small piles; with boards to part them, several lots make one pile."""
    if cap is None or cap.height_mm >= limits.delivery:
        return _stacked(sheets, _lot(limits.delivery, caliper_mm, most), 1, caliper_mm, sheet_kg, table, 0.0)
    lot, board, lots = _lot(cap.height_mm, caliper_mm, most), limits.board or 0.0, 1
    if board and lot:
        lots = max(math.floor((limits.delivery + board) / (lot * caliper_mm + board) + _ROUNDING), 1)
        boards_kg = table.board_mass or 0.0
        while lots > 1 and most is not None and lots * lot + (lots - 1) * boards_kg / (sheet_kg or 1) > most:
            lots -= 1
    return _stacked(sheets, lot, lots, caliper_mm, sheet_kg, table, board)


def _stacked(
    sheets: int, lot: int, lots: int, caliper_mm: float, sheet_kg: float | None, table: PileTable, board_mm: float
) -> tuple[Pile, ...]:
    """Full piles and what is left on the last, or all alike; none where not a sheet may lie on a pile."""
    if lot <= 0 or sheets <= 0:
        return ()
    return tuple(
        _pile(count, math.ceil(count / lot), caliper_mm, sheet_kg, table, board_mm)
        for count in shared_out(sheets, lot * lots, table.share_below)
    )


def shared_out(sheets: int, full: int, share_below_percent: float) -> tuple[int, ...]:
    """Sheets of each pile: full ones and the rest, shared evenly where the rest would be a pile hardly begun."""
    whole, rest = divmod(sheets, full)
    if not whole or not rest or rest * 100 >= full * share_below_percent:
        return (*[full] * whole, *[rest] * (rest > 0))
    each, more = divmod(sheets, whole + 1)
    return (*[each + 1] * more, *[each] * (whole + 1 - more))


def _pile(sheets: int, lots: int, caliper_mm: float, sheet_kg: float | None, table: PileTable, board_mm: float) -> Pile:
    mass = None if sheet_kg is None else sheets * sheet_kg + table.pallet + (lots - 1) * (table.board_mass or 0.0)
    return Pile(sheets, sheets * caliper_mm + (lots - 1) * board_mm, mass, lots)


def _change_min(feeder: Sequence[Pile], delivery: Sequence[Pile], limits: PileLimits, table: PileTable) -> float | None:
    """The press stands once where both piles are changed at the same sheet."""
    ends = [set(accumulate(pile.sheets for pile in piles)) for piles in (feeder, delivery)]
    stops = len(set.union(*ends)) - 1
    if limits.non_stop or stops <= 0:
        return 0.0
    return None if table.change is None else stops * table.change


def _left_out(request: RunRequest, piles: Piles, sheets: int, table: PileTable) -> Iterator[str]:
    if request.sheet is None:
        yield wanted("Mass of piles", "sheet: size", "ticket")
    if request.weight_gsm is None:
        yield wanted("Mass of piles", "board: weight", "ticket")
    if request.press.pile.mass is None:
        yield wanted("Greatest mass of a pile", "pile: mass", "press profile")
    if sheets and not (piles.feeder and piles.delivery):
        yield "Piles: not checked; by the limits of the press profile not a single sheet may lie on a pile."
    if piles.change_min is None:
        yield wanted("Time to change piles", "piles: change", "rules/run.yaml")
    if piles.boards and table.board_mass is None:
        yield wanted("Mass of the boards that part a pile", "piles: board_mass", "rules/run.yaml")


def _taken(request: RunRequest, table: PileTable) -> Iterator[str]:
    if request.sheet_kg is not None:
        yield f"A pallet weighs {table.pallet:g} kg (rules/run.yaml)."
