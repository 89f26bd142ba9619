"""When the next operation may start, from the plant's own table of drying."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from preflight.inputs.drying_table import NOT_AT_ONCE, DryingRow
from preflight.inputs.run_table import GoodsWords
from preflight.kinds import UV_LAMPS
from preflight.setup.press_plan import InDelivery, LampSet, Pass
from preflight.setup.run_request import RunRequest
from preflight.setup.wanted import wanted


@dataclass(frozen=True)
class NextOperation:
    """Hours after the last sheet; None where no table says."""

    after_h: float | None = None
    says: str | None = None
    not_checked: tuple[str, ...] = ()


def next_operation(request: RunRequest, rows: Sequence[DryingRow], words: GoodsWords) -> NextOperation:
    """The longest time of all inks; 0 only where lamps cured them, and never for food, film or metallised board."""
    missing = _missing(request)
    if missing:
        return NextOperation(not_checked=missing)
    systems = dict.fromkeys(str(request.system_of(unit)) for unit in request.printing)
    coatings, surface = request.coatings or ("none",), request.surface or ""
    found: list[DryingRow] = []
    for system in systems:
        for coating in coatings:
            row = next((row for row in rows if row.fits(system, coating, surface)), None)
            if row is None:
                key = f"a row for {system} ink, {coating} coating, {surface} board"
                return NextOperation(not_checked=(wanted("Start of the next operation", key, "rules/drying.yaml"),))
            found.append(row)
    longest = max(found, key=lambda row: row.hours)
    against = _not_at_once(request, words) if longest.hours == 0 else ""
    if against:
        return NextOperation(not_checked=(against,))
    return NextOperation(longest.hours, longest.says)


def _missing(request: RunRequest) -> tuple[str, ...]:
    what = "Start of the next operation"
    if not request.printing:
        return (f"{what}: not checked; there is no plan of the units.",)
    gaps = []
    if any(request.system_of(unit) is None for unit in request.printing):
        gaps.append(wanted(what, "ink_system", "ticket"))
    if request.surface is None:
        gaps.append(wanted(what, "board: surface", "ticket"))
    return tuple(gaps)


def _not_at_once(request: RunRequest, words: GoodsWords) -> str:
    """Why 0 hours does not hold; empty where it does."""
    food, what = request.food(words), "Start of the next operation"
    if food is None:
        return wanted(what, "goods: type or contact", "ticket")
    if food:
        return f"{what}: not checked; cartons for food never go on at once, so rules/drying.yaml has to give hours."
    if request.surface in NOT_AT_ONCE:
        return f"{what}: not checked; {request.surface} board never goes on at once, whatever rules/drying.yaml has."
    if not all(_cured(one) for one in request.plan.passes):
        return f"{what}: not checked; no lamp cures behind the last unit."
    return ""


def _cured(one: Pass) -> bool:
    """Whether a lamp is lit behind the last unit and the last coater that are used."""
    lit = False
    for station in one.stations:
        if station in one.plates or station in one.coaters and station in _laying(one):
            lit = False
        elif isinstance(station, LampSet):
            lit = lit or station.lamp in UV_LAMPS and station.level != "off"
        elif isinstance(station, InDelivery):
            pairs = zip(station.holds, station.levels, strict=False)
            lit = lit or any(lamp in UV_LAMPS and level != "off" for lamp, level in pairs)
    return lit


def _laying(one: Pass) -> tuple[object, ...]:
    return tuple(coater for coater in one.coaters if coater.coating is not None)
