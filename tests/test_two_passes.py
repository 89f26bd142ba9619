"""The split into two passes against all splits tried, each pass with the referee's orders."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pytest

from preflight.inputs.unit_order_table import load_unit_order
from preflight.setup.plan_request import PlanRequest, PlateToPlace
from preflight.setup.unit_order.plan_press import plan_press
from tests.plan_referee import Referee
from tests.random_plans import random_request


def request_of(seed: int) -> PlanRequest:
    """A random job on too short a press, with joints."""
    draw, request = random.Random(seed), random_request(5 * seed + 1)
    names = sorted({plate.name for plate in request.plates})
    distance = {
        pair: draw.choice([0.0, 0.1, 0.3, 0.39, 0.41]) for pair in combinations(names, 2) if draw.random() < 0.6
    }
    return replace(request, distance_mm=distance, fixed=False)


def splits(request: PlanRequest) -> Iterator[tuple[float, int]]:
    """Of each split that can be printed how tight the tightest joint is that it parts, and how many it parts."""
    limit = load_unit_order().joint_mm
    names = list(dict.fromkeys(plate.name for plate in request.plates))
    for size in range(1, len(names)):
        for first in combinations(names, size):
            early = tuple(plate for plate in request.plates if plate.name in first)
            late = tuple(plate for plate in request.plates if plate.name not in first)
            apart = [
                distance
                for (one, other), distance in request.distance_mm.items()
                if distance < limit and (one in first) != (other in first)
            ]
            if Referee(replace(request, plates=early, coating=None)).cheapest() is None or backwards(
                early, late, request
            ):
                continue
            if Referee(replace(request, plates=late)).cheapest() is not None:
                yield min(apart, default=99.0), -len(apart)


def backwards(early: tuple[PlateToPlace, ...], late: tuple[PlateToPlace, ...], request: PlanRequest) -> bool:
    """Whether the later pass has what must be printed before the earlier one, by rules on pairs."""
    whole = Referee(request)
    at = {(plate.name, plate.hit): number for number, plate in enumerate(request.plates)}
    pairs = [(at[one.name, one.hit], at[other.name, other.hit]) for one in early for other in late]
    return any(rule != "cure-between" for one, other in pairs for rule, _ in whole.pair(one, other, True))


@pytest.mark.parametrize("seed", range(60))
def test_the_split_parts_the_least_tight_joint(seed):
    request = request_of(seed)
    plan = plan_press(request)
    if plan.possible:
        return
    best = max(splits(request), default=None)
    found = next((way for way in plan.ways_out if way.change == "two-passes"), None)
    assert (found is None) == (best is None)
    if found is not None:
        assert (min((joint.distance_mm for joint in found.breaks), default=99.0), -len(found.breaks)) == best


def test_splits_are_among_the_random_jobs():
    plans = [plan_press(request_of(seed)) for seed in range(60)]
    assert sum(any(way.change == "two-passes" and way.breaks for way in plan.ways_out) for plan in plans) > 5
    assert sum(len(plan.passes) == 2 for plan in plans) > 5
