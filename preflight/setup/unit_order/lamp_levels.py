"""Which lamps are lit, how strongly, and why; those in the delivery too."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from preflight.findings import with_and
from preflight.inputs.press import Delivery, Dryer, Lamp, Turn
from preflight.kinds import UV_LAMPS
from preflight.setup.press_plan import Because, InDelivery, LampLevel, LampSet
from preflight.setup.unit_order.plan_pass import PlannedPass
from preflight.setup.unit_order.plates_on_line import INKS
from preflight.setup.unit_order.prices import steps_down, wishes_lamp_between

_CURE: Final = "cure-between"


def lamp_set(planned: PlannedPass, lamp: Lamp | Dryer, *, coats: bool) -> LampSet:
    """How a lamp or dryer between stations is set.

    Args:
        planned: the order.
        lamp: as it is in the line.
        coats: whether the next station that works is a coater.
    """
    level, rule, says = _between(planned, lamp, coats)
    return LampSet(lamp.kind, lamp.after_unit, level, (Because(rule, says),))


def _between(planned: PlannedPass, lamp: Lamp | Dryer, coats: bool) -> tuple[LampLevel, str, str]:
    line, order = planned.line, planned.order
    before = [placed.plate for placed in order.placed if placed.unit + 1 <= lamp.after_unit]
    behind = [placed.plate for placed in order.placed if placed.unit + 1 > lamp.after_unit]
    if not before:
        return "off", _CURE, "Nothing is printed before it."
    if not _works(planned, lamp.kind, before):
        return "off", _CURE, f"It does nothing for {_systems(planned, before)} ink."
    if isinstance(lamp, Dryer):
        return "low", _CURE, f"It helps {line.plates[before[-1]].name} to set before the next station."
    last = line.plates[before[-1]]
    if not behind and coats:
        if last.kind == "varnish" and last.effect:
            return "off", "effect-before-coat", f"{last.name} meets the coating wet."
        if _last_before_coat(planned, lamp):
            return "full", _CURE, "The inks are cured before the coating."
        return "off", _CURE, "The lamp behind it cures the inks before the coating."
    if _turned_next(planned, lamp, before, behind):
        return "full", _CURE, f"{last.name} is cured before the sheet is turned and lies on the cylinders with it."
    if lamp.after_unit - 1 not in order.lit or not behind:
        return "off", _CURE, "No ink behind it needs the inks before it cured."
    return _lit(planned, before, behind[0], lamp.after_unit)


def _turned_next(planned: PlannedPass, lamp: Lamp, before: Sequence[int], behind: Sequence[int]) -> bool:
    """Whether the sheet is turned between this lamp and the next unit that prints."""
    line = planned.line
    turns = [station for station in line.request.press.line if isinstance(station, Turn)]
    here = any(station.after_unit == lamp.after_unit for station in turns)
    return here and bool(behind) and line.plates[before[-1]].side != line.plates[behind[0]].side


def _last_before_coat(planned: PlannedPass, lamp: Lamp) -> bool:
    """Whether no other lamp before the coater cures what this one does: one is enough, and two over-cure."""
    every = [placed.plate for placed in planned.order.placed]
    line = planned.line.request.press.line
    place = next(at for at, station in enumerate(line) if station is lamp or station == lamp)
    ends = line.index(planned.coater) if planned.coater in line else len(line)
    behind = [station for station in line[place + 1 : ends] if isinstance(station, Lamp)]
    return not any(_works(planned, other.kind, every) for other in behind)


def _lit(planned: PlannedPass, before: Sequence[int], following: int, unit: int) -> tuple[LampLevel, str, str]:
    line = planned.line
    since = max((lit + 1 for lit in planned.order.lit if lit + 1 < unit), default=0)
    wet = {placed.plate for placed in planned.order.placed if since < placed.unit + 1 <= unit}
    needed = [demand for demand in planned.demands if any(first in wet for first, _ in demand.cured)]
    if needed:
        return "full", _CURE, " ".join(demand.says for demand in needed)
    last, after = line.plates[before[-1]], line.plates[following]
    if wishes_lamp_between(line, before[-1], following):
        heavy = last.kind in INKS and 100 * last.cover > line.table.heavy
        level: LampLevel = "full" if heavy or last.kind in line.table.cure_wished else "low"
        return (
            level,
            _CURE,
            f"{after.name} goes on {last.name} ({100 * last.cover:.0f} % coverage), which is cured first.",
        )
    if steps_down(line, before[-1], following):
        return "low", "light-before-heavy", f"{after.name} covers less than {last.name}, which is cured first."
    return "low", "double-hit-rule", f"{last.name} is cured before its next plate."


def in_delivery(planned: PlannedPass, delivery: Delivery, *, last_pass: bool) -> InDelivery:
    """How the lamps and dryers of the delivery are set, and why."""
    every = [placed.plate for placed in planned.order.placed]
    coating = planned.line.request.coating if last_pass else None
    kind = coating.kind if coating is not None and planned.coater is not None else None
    levels: list[LampLevel] = []
    for holds in delivery.holds:
        coated = kind is not None and _dries_coating(planned, holds, kind)
        levels.append("full" if coated or _works(planned, holds, every) else "off")
    what = [f"{_systems(planned, every)} ink"] if every else []
    what += [f"{kind} coating"] if kind else []
    lit = [holds for holds, level in zip(delivery.holds, levels, strict=True) if level != "off"]
    says = (
        f"It dries {with_and(what)} with {with_and(dict.fromkeys(lit))}."
        if lit
        else f"Nothing in it dries {with_and(what) or 'anything'}."
    )
    return InDelivery(delivery.holds, tuple(levels), (Because(_CURE, says),))


def _works(planned: PlannedPass, kind: str, plates: Sequence[int]) -> bool:
    """Whether a lamp or dryer does anything for some of the inks."""
    line = planned.line
    systems = {line.system(line.plates[number]) for number in plates} - {None}
    if kind not in UV_LAMPS:
        return bool(systems & {"oxidising"})
    return any(line.systems.cured_by(str(system), kind) != "no" for system in systems)


def _dries_coating(planned: PlannedPass, holds: str, kind: str) -> bool:
    if kind in UV_LAMPS:
        return holds in UV_LAMPS and planned.line.systems.cured_by(kind, holds) != "no"
    return holds not in UV_LAMPS


def _systems(planned: PlannedPass, plates: Sequence[int]) -> str:
    line = planned.line
    systems = dict.fromkeys(line.system(line.plates[number]) or "this" for number in plates)
    return with_and(systems)
