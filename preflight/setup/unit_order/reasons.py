"""Why a plate is where it is, in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from preflight.findings import with_and
from preflight.setup.press_plan import Because
from preflight.setup.unit_order.demands import inks_on_metallic
from preflight.setup.unit_order.order_search import Order
from preflight.setup.unit_order.plan_pass import PlannedPass
from preflight.setup.unit_order.plates_on_line import INKS, TRANSPARENT, PlatesOnLine
from preflight.setup.unit_order.prices import chain_place, in_way_of_pictures, steps_down, wish_for_metallic
from preflight.setup.unit_order.wash_ups import SAID, wash_class
from preflight.setup.unit_plan import same_name

_LAST_RESORT: Final = ("coater-lays", "one-ink-system", "one-unit-each")
"""Demands that say nothing of a place where there is anything else to say."""


def why_here(planned: PlannedPass, number: int, unit: int) -> tuple[Because, ...]:
    """The reasons for the place of a plate, hard ones first; there is always one."""
    said = [*_demanded(planned, number), *_wished(planned.line, planned.order, number, unit)]
    if not said:
        said = [Because("one-unit-each", f"{planned.line.plates[number].name} has the next unit that is free.")]
    return tuple(dict.fromkeys(said))


def _demanded(planned: PlannedPass, number: int) -> Iterator[Because]:
    plate = planned.line.plates[number]
    for demand in planned.demands:
        own = demand.separation == plate.name
        pairs = any(number in pair for pair in (*demand.before, *demand.cured))
        if demand.rule not in _LAST_RESORT and (own or pairs) and demand.separation != planned.line.coating_name:
            yield Because(demand.rule, demand.says)


def _wished(line: PlatesOnLine, order: Order, number: int, unit: int) -> Iterator[Because]:
    plate = line.plates[number]
    if plate.kind == "process" and chain_place(line, plate.name) >= 0:
        yield Because("process-chain", f"The plant prints {with_and(line.table.chain)} in this order.")
    if plate.kind == "metallic" and any(each.kind in TRANSPARENT for each in line.plates):
        yield from _metallic(line, order, number)
    yield from _by_cover(line, order, number)
    if len(line.named(plate.name)) > 1:
        yield Because("double-hit-rule", _hits(line, plate.name))
    yield from _washing(line, number, unit)


def _metallic(line: PlatesOnLine, order: Order, number: int) -> Iterator[Because]:
    name = line.plates[number].name
    at = [placed.plate for placed in order.placed]
    own = at.index(number)
    first = wish_for_metallic(line, number) == "first"
    wrong = at[:own] if first else at[own + 1 :]
    if any(line.plates[other].kind in TRANSPARENT for other in wrong):
        return
    if line.table.metallic != "by overlap":
        by = ", by the plant's rule."
    else:
        by = _why_first(line, number) if inks_on_metallic(line, number) else _why_last(line, number)
    where = "before the other inks" if first else "behind the other inks"
    yield Because("metallic-first" if first else "metallic-last", f"{name} is {where}{by}")


def _why_first(line: PlatesOnLine, number: int) -> str:
    if line.plates[number].printed_over:
        return ": the ticket says that they print on it (printed_over)."
    names = _names(line, inks_on_metallic(line, number))
    return f", since {with_and(names)} {'prints' if len(names) == 1 else 'print'} on it."


def _why_last(line: PlatesOnLine, number: int) -> str:
    """Why a metallic stays on top and, where inks overlap it, what the ticket has to say for the other order."""
    name = line.plates[number].name
    met = _names(
        line,
        (
            other
            for other in line.others(number)
            if line.plates[other].kind in TRANSPARENT and line.overlap_share(number, other) > 0
        ),
    )
    if not met:
        return ", since no ink prints on it."
    shares = with_and(f"{own} ({_share(line.overlap_share(number, line.named(own)[0]))} of its area)" for own in met)
    lie, have, them = ("lies", "has", "it") if len(met) == 1 else ("lie", "have", "them")
    return (
        f": {shares} {lie} on less of it than the plant's {line.table.metallic_overlap:g} %. "
        f"If {with_and(met)} {have} to show on {name}, give printed_over on the ticket; {name} then goes before {them}."
    )


def _names(line: PlatesOnLine, numbers: Iterable[int]) -> list[str]:
    return list(dict.fromkeys(line.plates[number].name for number in numbers))


def _share(percent: float) -> str:
    """A share that is never rounded up to a limit that it is under."""
    return f"{math.floor(10 * percent) / 10:.1f} %" if percent >= 0.1 else "under 0.1 %"


def _by_cover(line: PlatesOnLine, order: Order, number: int) -> Iterator[Because]:
    at = [placed.plate for placed in order.placed]
    own = at.index(number)
    before = at[own - 1] if own else None
    plate = line.plates[number]
    if before is None or plate.kind not in INKS or plate.kind == "process" or line.plates[before].kind not in INKS:
        return
    if line.plates[before].name != plate.name and not steps_down(line, before, number):
        cover = f"{100 * plate.cover:.0f} % coverage"
        says = f"{plate.name} ({cover}) is behind {line.plates[before].name}, which covers less or as much."
        if line.plates[before].cover <= plate.cover:
            yield Because("light-before-heavy", says)


def _hits(line: PlatesOnLine, name: str) -> str:
    plates = len(line.named(name))
    rule = {
        "adjacent": "one straight behind the other",
        "apart": "with another ink between",
        "lamp between": "with a lit lamp between",
    }
    return f"{name} prints {plates} times, by the plant's rule {rule[line.table.double_hit]}."


def _washing(line: PlatesOnLine, number: int, unit: int) -> Iterator[Because]:
    before, plate = line.request.before, line.plates[number]
    ink = before.units[unit - 1] if before is not None and unit <= len(before.units) else None
    if ink is None:
        return
    kind = wash_class(line, unit, number)
    if kind is None and same_name(ink, plate.name):
        yield Because("wash-up", f"Unit {unit} has {ink} on it already.")
    elif kind is not None:
        yield Because("wash-up", f"Unit {unit} is washed from {ink}: {SAID[kind]}.")
    process = [other for other in line.plates if other.name == ink and other.kind == "process" and other.in_pictures]
    if process and in_way_of_pictures(line, unit, plate):
        yield Because(
            "spot-out-of-process", f"No other unit was free: pictures print in {ink}, which was on unit {unit}."
        )
