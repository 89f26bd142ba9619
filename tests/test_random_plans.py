"""The unit planner against its referee, which tries all orders: same cost, every demand kept, fewest demands.

``RANDOM_PLANS=5000 pytest tests/test_random_plans.py`` is the long run.
"""

from __future__ import annotations

import os

import pytest

from preflight.setup.plan_request import PlanRequest
from preflight.setup.press_plan import LampSet, PressPlan
from preflight.setup.unit_order.plan_press import plan_press
from tests.plan_referee import Referee, Way
from tests.random_plans import random_request

JOBS = int(os.environ.get("RANDOM_PLANS", "300"))
PARTS = 20


def way_of(plan: PressPlan, request: PlanRequest, referee: Referee) -> list[Way]:
    """The plan as the referee sees it, once for each ink system that its pass could have.

    A lamp before the turn is lit whatever the order wants of it, and so is counted both ways.
    """
    left = list(enumerate(request.plates))
    run = []
    for unit in plan.passes[0].units:
        if unit.separation is not None:
            entry = min((each for each in left if each[1].name == unit.separation), key=lambda each: each[1].hit)
            left.remove(entry)
            run.append((entry[0], unit.unit))
    assert left == []
    turns = {turn.after_unit for turn in request.press.turns}
    lit = frozenset(
        station.after_unit
        for station in plan.passes[0].stations
        if isinstance(station, LampSet) and station.level != "off" and station.after_unit in referee.usable
        and any(number for number in run if number[1] > station.after_unit)
    )  # fmt: skip
    laying = [
        c.coater for c in plan.passes[0].coaters if c.coating is not None and c.because[0].demand != "primer-first"
    ]
    coater = next((each for each in request.press.coaters if each.number in laying), None)
    systems = {referee.job_system, *(referee.system(plate) for plate in request.plates)}
    return [Way(tuple(run), lamps, coater, system) for system in systems for lamps in {lit, lit - turns}]


def agrees(seed: int) -> bool:
    """Whether there is an order; planner and referee agree on it, and on what it costs or what forbids it."""
    request = random_request(seed)
    plan, referee = plan_press(request), Referee(request)
    best = referee.cheapest()
    assert plan.possible == (best is not None), seed
    assert plan.proved_best
    if best is None:
        assert [(each.demand, each.separation) for each in plan.conflict] == referee.fewest_demands(), seed
        return False
    assert plan.cost == best, seed
    ways = way_of(plan, request, referee)
    whole = [way for way in ways if not referee.broken(way)]
    assert whole, seed
    assert min(referee.cost(way) for way in whole) == best, seed
    return True


@pytest.mark.parametrize("part", range(PARTS))
def test_the_planner_agrees_with_all_orders_tried(part):
    possible = [agrees(seed) for seed in range(part, JOBS, PARTS)]
    assert 0 < sum(possible) < len(possible)
