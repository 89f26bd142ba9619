"""The cheapest order of one pass: over the coaters that could lay the coating and the ink systems of the pass."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from preflight.inputs.press import Coater
from preflight.setup.unit_order.demands import Demand, demands_on
from preflight.setup.unit_order.order_search import Order, cheapest_order
from preflight.setup.unit_order.plates_on_line import PlatesOnLine, is_exact
from preflight.setup.unit_order.prices import prices_of_plan


@dataclass(frozen=True)
class PlannedPass:
    """An order that keeps every demand."""

    line: PlatesOnLine
    order: Order
    coater: Coater | None
    demands: tuple[Demand, ...]


def pass_systems(line: PlatesOnLine) -> tuple[str | None, ...]:
    """Ink systems that the pass could run with: the job's, then those of single inks."""
    found = dict.fromkeys([line.job_system, *(line.system(plate) for plate in line.plates)])
    return tuple(system for system in found if system is not None) or (None,)


def choices(line: PlatesOnLine) -> Iterator[tuple[Coater | None, tuple[Demand, ...]]]:
    """Each coater with each ink system, and the demands on an order then."""
    for coater in line.coater_choices:
        for system in pass_systems(line):
            yield coater, demands_on(line, coater, system)


def cheapest_pass(line: PlatesOnLine) -> PlannedPass | None:
    """The cheapest order that keeps every demand, of the first coater where several do it as well; None for none."""
    best: PlannedPass | None = None
    tried: set[Coater | None] = set()
    for coater, demands in choices(line):
        if coater in tried or any(demand.broken for demand in demands) or len(line.plates) > len(line.unit_numbers):
            continue
        tried.add(coater)  # the demands that are left do not depend on the ink system
        order = cheapest_order(prices_of_plan(line, demands), exact=is_exact(line))
        if order is not None and (best is None or order.cost < best.order.cost):
            best = PlannedPass(line, order, coater, demands)
    return best
