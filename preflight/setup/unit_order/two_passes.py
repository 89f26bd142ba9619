"""Two passes where one will not do: the split that parts the least tight joint."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

from preflight.setup.plan_request import PlanRequest
from preflight.setup.press_plan import BrokenJoint
from preflight.setup.unit_order.demands import demands_on
from preflight.setup.unit_order.plan_pass import PlannedPass, cheapest_pass
from preflight.setup.unit_order.plates_on_line import PlatesOnLine

MOST_NAMES: Final = 16
MOST_TRIED: Final = 400
"""Splits for which orders are looked for, best first."""
_FAR: Final = 1e9


@dataclass(frozen=True)
class Split:
    """Two passes that both have an order."""

    first: PlannedPass
    last: PlannedPass
    names: tuple[tuple[str, ...], tuple[str, ...]]
    breaks: tuple[BrokenJoint, ...]


def best_split(line: PlatesOnLine) -> Split | None:
    """The split that parts the least tight joint, then the fewest joints, then the one with more in the first pass."""
    names = tuple(dict.fromkeys(plate.name for plate in line.plates))
    if not 1 < len(names) <= MOST_NAMES:
        return None
    if any(_pass_of(line, frozenset({name}), last=True) is None for name in names):
        return None
    for first in sorted(_candidates(line, names), key=lambda split: _looseness(line, names, split))[:MOST_TRIED]:
        rest = frozenset(names) - first
        early = _pass_of(line, first, last=False)
        late = _pass_of(line, rest, last=True) if early is not None else None
        if early is not None and late is not None:
            told = tuple(name for name in names if name in first), tuple(name for name in names if name in rest)
            return Split(early, late, told, _broken(line, first, rest))
    return None


def _candidates(line: PlatesOnLine, names: tuple[str, ...]) -> Iterator[frozenset[str]]:
    """First passes that leave neither pass too many plates and no order between the passes the wrong way round."""
    units = len(line.unit_numbers)
    hits = {name: len(line.named(name)) for name in names}
    pairs = _order_of_names(line)
    for size in range(1, len(names)):
        for chosen in combinations(names, size):
            first = frozenset(chosen)
            here = sum(hits[name] for name in first)
            enough = here <= units and sum(hits.values()) - here <= units
            if enough and not any(later in first and earlier not in first for earlier, later in pairs):
                yield first


def _order_of_names(line: PlatesOnLine) -> set[tuple[str, str]]:
    """Which ink has to be before which."""
    demands = demands_on(line, line.coater_choices[0], line.job_system)
    return {
        (line.plates[first].name, line.plates[second].name) for demand in demands for first, second in demand.before
    }


def _looseness(line: PlatesOnLine, names: tuple[str, ...], first: frozenset[str]) -> tuple[float, int, int, list[int]]:
    rest = frozenset(names) - first
    broken = _broken(line, first, rest)
    tightest = min((joint.distance_mm for joint in broken), default=_FAR)
    return -tightest, len(broken), -len(first), [names.index(name) for name in names if name in first]


def _broken(line: PlatesOnLine, first: frozenset[str], rest: frozenset[str]) -> tuple[BrokenJoint, ...]:
    """Joints under the plant's limit with one ink in each pass, the tightest first."""
    near = joints(line.request.distance_mm, line.table.joint_mm)
    parted = [
        BrokenJoint(pair, distance)
        for pair, distance in near.items()
        if (pair[0] in first and pair[1] in rest) or (pair[1] in first and pair[0] in rest)
    ]
    return tuple(sorted(parted, key=lambda joint: (joint.distance_mm, joint.separations)))


def joints(distances: Mapping[tuple[str, str], float], limit_mm: float) -> dict[tuple[str, str], float]:
    """Inks that are nearer to each other than the limit."""
    return {pair: distance for pair, distance in distances.items() if distance < limit_mm}


def _pass_of(line: PlatesOnLine, names: frozenset[str], *, last: bool) -> PlannedPass | None:
    plates = tuple(plate for plate in line.plates if plate.name in names)
    request: PlanRequest = replace(line.request, plates=plates)
    if not last:
        request = replace(request, coating=None)
    return cheapest_pass(replace(line, request=request))
