"""Steps of a change laid out in time: what waits for what, what shares a place, and how many hands there are.

Pure arithmetic of networks; what the steps are is for ``changeover``.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

_SAME_TIME: Final = 1e-9
_MOST_SWAPPED: Final = 12


@dataclass(frozen=True)
class Step:
    """One step. With hands it is work by hand; without, the press does it alone."""

    step: str
    """``wash_up``, ``plate_change`` …"""
    minutes: float
    unit: int | None = None
    """None where it is done to several units in one go, or to none."""
    coater: int | None = None
    hands: int = 0
    places: frozenset[str] = frozenset()
    """Units and coaters that move, are washed or are worked in meanwhile."""
    after: frozenset[str] = frozenset()
    """Keys of the steps that have to be over before; those that are not there do not count."""

    @property
    def key(self) -> str:
        """``wash_up 3``; the bare step where it has no place of its own."""
        place = f"coater {self.coater}" if self.coater is not None else self.unit
        return self.step if place is None else f"{self.step} {place}"


@dataclass(frozen=True)
class Timed:
    """A step with its time, in minutes from the start of the change."""

    step: Step
    start: float
    hands: int
    """Never more than there are."""

    @property
    def end(self) -> float:
        """When it is over."""
        return self.start + self.step.minutes


@dataclass(frozen=True)
class Schedule:
    """Steps in order of their start."""

    steps: tuple[Timed, ...] = ()
    longest_path: tuple[str, ...] = ()
    """Keys of the steps that make the change as long as it is, first to last."""

    @property
    def minutes(self) -> float:
        """From the start of the first step to the end of the last."""
        return _total(self.steps)


def schedule(steps: Sequence[Step], crew: int, at_once: Iterable[Collection[str]] = ()) -> Schedule:
    """As short as a few orders of taking up the steps, and swaps in them, make it.

    A step that takes more hands than there are takes all of them.

    Args:
        steps: with keys of their own.
        crew: hands, 1 or more.
        at_once: groups of steps that the press does at the same time, in one place too.

    Raises:
        ValueError: steps wait for each other.
    """
    together = frozenset(frozenset((a, b)) for group in at_once for a in group for b in group)
    tails = _tails(steps)
    orders: tuple[Callable[[Step], float], ...] = (
        lambda step: -tails[step.key],
        lambda step: -step.minutes,
        lambda step: -step.minutes * max(step.hands, 1),
    )
    least = max(tails.values(), default=0.0)
    tried = [_better(sorted(steps, key=order), max(crew, 1), together, least) for order in orders]
    best = min(tried, key=_total)
    return Schedule(tuple(best), _longest_path(best, together))


def may_overlap(one: Step, other: Step, together: Collection[frozenset[str]]) -> bool:
    """Whether two steps can go on at the same time, hands aside.

    In one place only where the press does both by itself and at once: nobody works in a unit that moves or is washed.
    """
    if not one.places & other.places:
        return True
    return not one.hands and not other.hands and frozenset((one.step, other.step)) in together


def _better(order: list[Step], crew: int, together: Collection[frozenset[str]], least: float) -> list[Timed]:
    """The order laid out, with two steps swapped as long as that makes it shorter; long lists are left as they are."""
    best, swaps = _laid_out(order, crew, together), list(combinations(range(len(order)), 2))
    shorter = len(order) <= _MOST_SWAPPED
    while shorter and _total(best) > least + _SAME_TIME:
        shorter = False
        for one, other in swaps:
            order[one], order[other] = order[other], order[one]
            tried = _laid_out(order, crew, together)
            if _total(tried) < _total(best) - _SAME_TIME:
                best, shorter = tried, True
            else:
                order[one], order[other] = order[other], order[one]
    return best


def _total(timed: Sequence[Timed]) -> float:
    return max((each.end for each in timed), default=0.0)


def _laid_out(order: Sequence[Step], crew: int, together: Collection[frozenset[str]]) -> list[Timed]:
    """Each step as early as it can be, those at the front of the list first."""
    done: list[Timed] = []
    waiting = list(order)
    keys, now = {step.key for step in waiting}, 0.0
    while waiting:
        over = {timed.step.key for timed in done if timed.end <= now + _SAME_TIME}
        going = [timed for timed in done if timed.end > now + _SAME_TIME]
        ready = next((step for step in waiting if _can_start(step, over, going, keys, crew, together)), None)
        if ready is not None:
            done.append(Timed(ready, now, min(ready.hands, crew)))
            waiting = [step for step in waiting if step is not ready]
        elif going:
            now = min(timed.end for timed in going)
        else:
            raise ValueError("steps that wait for each other: " + ", ".join(step.key for step in waiting))
    return done


def _can_start(
    step: Step,
    over: Collection[str],
    going: Sequence[Timed],
    keys: Collection[str],
    crew: int,
    together: Collection[frozenset[str]],
) -> bool:
    hands = min(step.hands, crew) + sum(timed.hands for timed in going)
    return (
        hands <= crew
        and all(key in over for key in step.after if key in keys)
        and all(may_overlap(step, timed.step, together) for timed in going)
    )


def _tails(steps: Sequence[Step]) -> dict[str, float]:
    """Minutes from the start of each step to the end of all, hands and places aside."""
    tails = {step.key: step.minutes for step in steps}
    for _ in steps:
        for step in steps:
            for key in step.after & tails.keys():
                before = next(each for each in steps if each.key == key)
                tails[key] = max(tails[key], before.minutes + tails[step.key])
    return tails


def _longest_path(timed: Sequence[Timed], together: Collection[frozenset[str]]) -> tuple[str, ...]:
    """Back from the last step to end, each time to one that ended just then and held it up."""
    path: list[str] = []
    here = max(timed, key=lambda each: each.end, default=None)
    while here is not None and here.step.key not in path:
        path.append(here.step.key)
        here = _held_up_by(here, timed, together)
    return tuple(reversed(path))


def _held_up_by(late: Timed, timed: Sequence[Timed], together: Collection[frozenset[str]]) -> Timed | None:
    """What it had to wait for comes before what was in its place, and that before who had no hand free."""
    ended = [each for each in timed if each is not late and abs(each.end - late.start) <= _SAME_TIME]
    waited = [each for each in ended if each.step.key in late.step.after]
    in_place = [each for each in ended if not may_overlap(each.step, late.step, together)]
    at_work = [each for each in ended if each.hands and late.hands]
    return next(iter((*waited, *in_place, *at_work)), None)
