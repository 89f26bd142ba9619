"""Networks of steps drawn by hand: total, longest path, hands, and nobody in a unit that moves."""

from __future__ import annotations

from itertools import combinations, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.setup.step_schedule import Schedule, Step, may_overlap, schedule


def step(name: str, minutes: float, *places: str, hands: int = 0, after: str = "", unit: int | None = None) -> Step:
    return Step(name, minutes, unit, None, hands, frozenset(places), frozenset(filter(None, after.split())))


def starts(found: Schedule) -> dict[str, float]:
    return {timed.step.key: timed.start for timed in found.steps}


def test_no_steps():
    assert schedule([], 2) == Schedule()
    assert Schedule().minutes == 0


def test_longest_path_of_a_network_drawn_by_hand():
    """A (3) then C (4), B (5) beside them, D (2) after both: 9 by A, C, D."""
    network = [
        step("a", 3, "1"),
        step("b", 5, "2"),
        step("c", 4, "1", after="a"),
        step("d", 2, "3", after="b c"),
    ]
    found = schedule(network, 2)
    assert found.minutes == 9
    assert found.longest_path == ("a", "c", "d")
    assert starts(found) == {"a": 0, "b": 0, "c": 3, "d": 7}


HAND_WASHES = [step("wash_up", 6, str(unit), hands=1, unit=unit) for unit in (1, 2, 3, 4)]


@pytest.mark.parametrize(("crew", "minutes"), [(1, 24), (2, 12), (3, 12), (4, 6), (9, 6)])
def test_hands_are_counted(crew, minutes):
    """Four units washed by hand, 6 min each: one after another, two by two, or all at once."""
    assert schedule(HAND_WASHES, crew).minutes == minutes


def test_the_path_goes_by_hands_where_those_are_short():
    found = schedule(HAND_WASHES[:2], 1)
    assert found.longest_path == ("wash_up 1", "wash_up 2")


def test_longer_work_is_taken_up_first():
    """5, 4 and 3 min by two hands: 5 beside 4 and 3 is 7; begun with the short ones it would be 8."""
    works = [step("x", minutes, str(minutes), hands=1, unit=minutes) for minutes in (3, 4, 5)]
    assert schedule(works, 2).minutes == 7


def test_a_step_that_takes_more_hands_than_there_are_takes_all():
    found = schedule([step("heavy", 5, "1", hands=3), step("light", 4, "2", hands=1)], 2)
    assert found.minutes == 9
    assert [timed.hands for timed in found.steps] == [2, 1]


def test_what_the_press_does_at_once_is_counted_once():
    """Common practice, carton-press.md 7.8: about four minutes for an automatic change of all plates."""
    units = ("1", "2", "3", "4")
    steps = [step("plate_change", 4, *units), step("wash_up", 4, "2"), step("ink_preset", 3, *units)]
    at_once = [["plate_change", "wash_up", "ink_preset"]]
    assert schedule(steps, 2, at_once).minutes == 4
    assert schedule(steps, 2).minutes == 11
    assert schedule(steps, 2, [["plate_change", "ink_preset"]]).minutes == 8


def test_nobody_works_in_a_unit_that_moves_whatever_is_called_at_once():
    by_hand, moving = step("plate_change", 8, "1", hands=1), step("wash_up", 5, "1")
    assert not may_overlap(by_hand, moving, [frozenset(("plate_change", "wash_up"))])
    assert schedule([by_hand, moving], 2, [["plate_change", "wash_up"]]).minutes == 13
    assert may_overlap(by_hand, step("wash_up", 5, "2"), [])


def test_steps_of_no_time_hold_up_nobody():
    found = schedule([step("a", 0, "1"), step("b", 2, "1", after="a")], 1)
    assert found.minutes == 2


def test_steps_that_wait_for_each_other_are_named():
    with pytest.raises(ValueError, match="a, b"):
        schedule([step("a", 1, after="b"), step("b", 1, after="a")], 1)


NAMES = ("plate_change", "wash_up", "blanket_wash", "ink_preset")


@st.composite
def networks(draw: st.DrawFn, most: int = 9) -> list[Step]:
    steps: list[Step] = []
    for number in range(draw(st.integers(0, most))):
        earlier = draw(st.sets(st.sampled_from([each.key for each in steps]), max_size=2)) if steps else set()
        places = draw(st.sets(st.sampled_from("1234"), max_size=3))
        minutes = draw(st.integers(0, 20)) / 2
        name, hands = draw(st.sampled_from(NAMES)), draw(st.integers(0, 2))
        steps.append(Step(name, minutes, number, None, hands, frozenset(places), frozenset(earlier)))
    return steps


GROUPS = st.lists(st.lists(st.sampled_from(NAMES), max_size=3), max_size=2)


@given(networks(), st.integers(1, 4), GROUPS)
def test_no_schedule_breaks_a_rule(steps, crew, at_once):
    found = schedule(steps, crew, at_once)
    assert sorted(timed.step.key for timed in found.steps) == sorted(each.key for each in steps)
    ends = {timed.step.key: timed.end for timed in found.steps}
    for timed in found.steps:
        assert all(ends[key] <= timed.start + 1e-6 for key in timed.step.after)
        going = [other for other in found.steps if other.start <= timed.start + 1e-6 < other.end]
        assert sum(other.hands for other in going) <= crew
    for one, other in combinations(found.steps, 2):
        meet = min(one.end, other.end) - max(one.start, other.start) > 1e-6
        if meet and one.step.places & other.step.places:
            assert one.step.hands == other.step.hands == 0
            assert any({one.step.step, other.step.step} <= set(group) for group in at_once)


@given(networks(), st.integers(1, 4), GROUPS)
def test_the_longest_path_is_as_long_as_the_change(steps, crew, at_once):
    found = schedule(steps, crew, at_once)
    minutes = {each.key: each.minutes for each in steps}
    assert found.minutes == pytest.approx(sum(minutes[key] for key in found.longest_path))
    assert found.minutes <= sum(minutes.values()) + 1e-6


@given(networks(most=5), st.integers(1, 3))
def test_close_to_the_shortest_of_all_orders(steps, crew):
    """Against every order tried in turn; a list by priority is at most twice the shortest."""
    if not steps:
        return
    shortest = min(in_turn(order, crew) for order in permutations(steps))
    assert shortest - 1e-6 <= schedule(steps, crew).minutes <= 2 * shortest + 1e-6


def in_turn(order: tuple[Step, ...], crew: int) -> float:
    """Total where each step starts as early as those before it in the order allow; its own arithmetic."""
    placed: list[tuple[float, float, Step]] = []
    ends: dict[str, float] = {}
    for each in order:
        if not each.after <= ends.keys():
            return float("inf")
        earliest = max([ends[key] for key in each.after], default=0.0)
        for at in sorted({earliest, *(end for _, end, _ in placed if end > earliest)}):
            over = [(s, e, o) for s, e, o in placed if s < at + each.minutes and e > at]
            clear = not any(o.places & each.places for _, _, o in over)
            times = {at, *(s for s, _, _ in over if s > at)}
            busy = [sum(min(o.hands, crew) for s, e, o in over if s <= time < e) for time in times]
            if clear and max(busy, default=0) + min(each.hands, crew) <= crew:
                break
        placed.append((at, at + each.minutes, each))
        ends[each.key] = at + each.minutes
    return max(ends.values())
