"""Ends that run along the cut, and edges of shapes that cross it, on reaches made in the test: two stations a mm."""

import numpy as np
import pytest

from preflight.measures.bleed.level_ends import Lengths, along, along_or_ragged, leading_away, level_parts

LENGTHS = Lengths(shortest=4, change=8, rim=16, ragged=24, spacing_mm=0.5, aslant=0.06)
LOOK_MM = 4.0


def ramp(first: float, step: float, count: int) -> np.ndarray:
    return first + step * np.arange(count)


@pytest.mark.parametrize(
    ("values", "level"),
    [
        ([1, 1, 1], []),
        ([1, 1, 1, 1], [(0, 4)]),
        ([0, 0.119, 0, 0], [(0, 4)]),
        ([0, 0.121, 0, 0], []),
        ([0, 0.0, 0, 0.085], [(0, 4)]),
        ([0, 0.0, 0, 0.095], []),
        ([0.095, 0, 0, 0.0], []),
        ([2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 3], [(0, 5), (5, 11)]),
        ([0, 1, 2, 3, 3, 3, 3, 2, 1], [(3, 7)]),
    ],
    ids=["three stations are too short", "four are enough", "a bump of 0.119 mm", "a bump of 0.121 mm",
         "0.085 mm in 1.5 mm", "0.095 mm in 1.5 mm are aslant", "aslant the other way", "two levels",
         "between slopes"],
)  # fmt: skip
def test_an_end_is_level_where_it_keeps_to_one_reach_for_the_shortest_stretch(values, level):
    reach = np.array([9.0, 5.0, 7.0, *values, 6.0, 8.0])
    found = level_parts(reach, (3, 3 + len(values)), LENGTHS)
    assert found == [(start + 3, stop + 3) for start, stop in level]


@pytest.mark.parametrize(
    ("before", "level", "after", "least", "found"),
    [
        (0, 8, 0, 8, True), (0, 8, 0, 9, False), (1, 8, 1, 8, True), (2, 8, 0, 8, False), (0, 8, 2, 8, False),
        (2, 15, 2, 4, False), (2, 16, 2, 4, True), (2, 16, 2, 40, True), (0, 16, 0, 17, False),
    ],
)  # fmt: skip
def test_an_end_that_breaks_off_may_be_short_and_one_that_goes_on_into_slopes_has_to_be_long(
    before, level, after, least, found
):
    reach = np.concatenate([ramp(-0.5 * before, 0.5, before), np.zeros(level), ramp(0.5, 0.5, after)])
    padded = np.concatenate([np.full(3, 3.0), reach, np.full(2, 3.0)])
    expected = [(3 + before, 3 + before + level)] if found else []
    assert along(padded, (3, 3 + len(reach)), least, LENGTHS) == expected


def away(reach: np.ndarray, touched: np.ndarray) -> list[int]:
    return np.flatnonzero(leading_away(reach, touched, LENGTHS, LOOK_MM)).tolist()


@pytest.mark.parametrize(
    ("touching_before", "passes"),
    [([False], True), ([], False), ([True], False), ([True, False], True), ([False, True], True),
     ([False, True, True], False)],
    ids=["nothing touches before it", "the edge begins there", "ink touches before it", "one station before it",
         "two stations before it", "three stations before it"],
)  # fmt: skip
def test_an_end_that_climbs_from_nothing_leads_away(touching_before, passes):
    """Thirty stations that rise by a tenth each, too long to be told by where they come down."""
    n = len(touching_before)
    reach = np.concatenate([np.full(n, LOOK_MM), ramp(0, 0.1, 30), np.full(3, LOOK_MM)])
    touched = np.concatenate([np.array(touching_before, bool), np.ones(33, bool)])
    assert away(reach, touched) == (list(range(n, n + 28)) if passes else [])  # a slope is taken over two stations


def test_an_end_that_falls_to_nothing_leads_away_too():
    reach = np.concatenate([np.full(3, LOOK_MM), ramp(2.9, -0.1, 30), np.full(3, LOOK_MM)])
    touched = np.ones(36, bool)
    assert away(reach, touched) == []
    touched[34] = False
    assert away(reach, touched) == list(range(5, 33))


def test_an_end_that_is_hardly_aslant_leads_nowhere():
    """Slopes of 0.05 and of 0.07 mm a mm; the limit is 0.06."""
    touched = np.concatenate([[False], np.ones(30, bool)])
    for slope, passes in ((0.05, False), (0.07, True)):
        reach = np.concatenate([[LOOK_MM], ramp(0, slope / 2, 30)])
        assert bool(away(reach, touched)) == passes


@pytest.mark.parametrize(("count", "passes"), [(20, True), (24, True), (25, False)])
def test_a_short_end_that_comes_down_from_where_ink_goes_on_leads_away(count, passes):
    reach = np.concatenate([np.full(4, LOOK_MM), ramp(3.9, -0.1, count), np.full(2, 4.0)])
    expected = list(range(4, 4 + count - 2)) if passes else []
    assert away(reach, np.ones(len(reach), bool)) == expected


def test_a_long_end_has_to_come_down_and_go_up_again():
    down = ramp(3.9, -0.1, 30)
    both = np.concatenate([np.full(4, LOOK_MM), down, down[::-1], np.full(4, LOOK_MM)])
    found = away(both, np.ones(len(both), bool))
    assert found == [*range(4, 33), *range(35, 64)]
    assert away(both[:34], np.ones(34, bool)) == []


def ends(
    reach: np.ndarray, *, here=None, passing=None, least: int = 4, enough_mm: float = 2.9
) -> list[tuple[int, int]]:
    here = np.ones(len(reach), bool) if here is None else here
    passing = np.zeros(len(reach), bool) if passing is None else passing
    return along_or_ragged(reach, here, passing, least, LENGTHS, enough_mm)


@pytest.mark.parametrize(("leading", "found"), [(4, [(0, 10)]), (5, []), (6, [])])
def test_an_end_half_of_which_leads_away_does_not_run_along_the_cut(leading, found):
    assert ends(np.full(10, 1.0), passing=np.arange(10) < leading) == found


@pytest.mark.parametrize(("step", "found"), [(0.29, []), (0.31, [(0, 8), (8, 16)])])
def test_a_step_of_three_tenths_parts_two_ends(step, found):
    reach = np.repeat([1.0, 1.0 + step], 8)
    assert ends(reach, least=8) == found


def test_ends_elsewhere_do_not_count():
    here = np.ones(20, bool)
    here[[7, 8]] = False
    assert ends(np.full(20, 1.0), here=here) == [(0, 7), (9, 20)]


def zigzag(count: int, low: float = 1.0) -> np.ndarray:
    return np.where(np.arange(count) % 2, low + 0.5, low)


@pytest.mark.parametrize(("count", "found"), [(23, []), (24, [(0, 24)]), (30, [(0, 30)])])
def test_a_long_ragged_end_is_one(count, found):
    assert ends(zigzag(count)) == found


@pytest.mark.parametrize(
    ("corners", "found"), [((0, 12, 24), []), ((0, 8, 16, 24), [(0, 25)])], ids=["up and down", "and up again"]
)
def test_what_goes_up_and_down_three_times_is_ragged(corners, found):
    """Slopes that add up to two and to three times what lies between the lowest and the highest."""
    assert ends(np.interp(np.arange(25), corners, [0.0, 1.0, 0.0, 1.0][: len(corners)])) == found


def test_a_ragged_end_is_looked_for_only_where_there_is_not_enough_and_nothing_leads_away():
    assert ends(zigzag(30, low=2.9)) == []
    assert ends(zigzag(30, low=2.3)) == [(0, 30)]
    assert ends(zigzag(30), passing=np.arange(30) == 10) == []
    assert ends(zigzag(30), here=np.arange(30) != 10) == []
    assert ends(zigzag(40), here=np.arange(40) != 10) == [(11, 40)]


def test_a_ragged_end_that_holds_a_level_one_is_not_told_twice():
    reach = np.concatenate([zigzag(24), np.full(20, 1.0)])
    assert ends(reach) == [(24, 44)]
    apart = np.concatenate([np.full(20, 1.0), [9.0], zigzag(30)])
    assert ends(apart, here=apart < 9) == [(0, 20), (21, 51)]
