"""Lines as they were drawn: what is closed and straight, what can be used of them, and their straight pieces."""

import numpy as np
import pytest

from preflight.carton.lines.drawn_lines import (
    ROLES,
    Segments,
    crossings,
    lengths_of,
    middles_of,
    near_segments,
    pairs_near,
    segments_of,
    usable,
)
from tests.die_lines import line


def points_of(lines):
    return [item.points.tolist() for item in lines]


def bars(*x):
    """Upright segments of 5 mm, one at each place."""
    return Segments(np.array([[at, 2.0, at, 7.0] for at in x]), np.zeros(len(x), np.int8), np.arange(len(x)))


@pytest.mark.parametrize(
    ("points", "closed"),
    [
        pytest.param([(1, 2), (9, 2), (4, 7), (1, 2)], True, id="a triangle"),
        pytest.param([(1, 2), (9, 2), (4, 7), (1.0009, 2)], True, id="off by less than the grid"),
        pytest.param([(1, 2), (9, 2), (4, 7), (1.0011, 2)], False, id="off by more, across"),
        pytest.param([(1, 2), (9, 2), (4, 7), (1, 2.0011)], False, id="off by more, upward"),
        pytest.param([(1, 2), (9, 2), (1, 2)], False, id="there and back"),
        pytest.param([(1, 2), (9, 2), (4, 7), (3, 5)], False, id="open"),
    ],
)
def test_a_line_is_closed_where_it_ends_where_it_starts(points, closed):
    assert line(points).closed is closed


def test_length_is_measured_along_the_line():
    assert line([(1, 2), (4, 6), (4, 16)]).length_mm == 15


@pytest.mark.parametrize(
    ("points", "straight"),
    [
        pytest.param([(1, 2), (4, 6), (7, 10)], True, id="in three points"),
        pytest.param([(3, 1), (13, 1.3), (23, 1)], True, id="a bend of half a thousandth"),
        pytest.param([(3, 1), (13, 1.6), (23, 1)], False, id="a bend of two thousandths"),
        pytest.param([(1, 2), (9, 2), (4, 7), (1, 2)], False, id="closed"),
    ],
)
def test_a_straight_line_is_as_long_as_its_ends_are_apart(points, straight):
    assert line(points).straight is straight


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        pytest.param([(1.23449, 2), (3, 4.56751)], [[[1.234, 2], [3, 4.568]]], id="rounded to a thousandth"),
        pytest.param([(1, 2), (1, 2.0004), (5, 2), (5, 6)], [[[1, 2], [5, 2], [5, 6]]], id="without repeats"),
        pytest.param([(1, 2), (1, 2.0004)], [], id="a point drawn twice is no line"),
        pytest.param([(1, 2), (3, 2), (np.nan, 4), (7, 1), (9, 1)], [[[1, 2], [3, 2]], [[7, 1], [9, 1]]], id="broken"),
        pytest.param([(1, 2), (np.inf, 4), (7, 1), (9, 1)], [[[7, 1], [9, 1]]], id="a point before the break"),
        pytest.param([(1, 2), (3, 19_999.9)], [[[1, 2], [3, 19_999.9]]], id="just near enough"),
        pytest.param([(1, 2), (3, 4), (-20_000, 4)], [[[1, 2], [3, 4]]], id="too far to the left"),
        pytest.param([(np.nan, np.nan), (np.inf, 3)], [], id="no good point"),
    ],
)
def test_what_can_be_used_of_a_line(points, kept):
    assert points_of(usable([line(points)])) == kept


def test_a_line_that_starts_where_the_one_before_ends_keeps_its_start():
    lines = [line([(1, 2), (3, 2)]), line([(3, 2), (3, 9)], "crease", drawn_in="Blue"), line([(3, 9), (3, 9)])]
    kept = usable(lines)
    assert points_of(kept) == [[[1, 2], [3, 2]], [[3, 2], [3, 9]]]
    assert [(item.role, item.drawn_in) for item in kept] == [("cut", ""), ("crease", "Blue")]
    assert usable([]) == []


def test_every_part_of_a_broken_line_keeps_its_role():
    points = [(1, 2), (3, 2), (np.nan, 4), (7, 1), (9, 1), (np.nan, 4), (7, 5), (9, 5)]
    assert [part.role for part in usable([line(points, "perforate")])] == ["perforate"] * 3


def test_straight_pieces_know_their_line_and_its_role():
    lines = [
        line([(1, 2), (3, 2), (3, 5)], "crease"),
        line([(7, 7), (8, 7)], "unknown"),
        line([(9, 1), (9, 2)], "perforate"),
        line([(4, 4), (4, 5)], "half-cut"),
    ]
    found = segments_of(lines)
    assert found.xy.tolist() == [[1, 2, 3, 2], [3, 2, 3, 5], [7, 7, 8, 7], [9, 1, 9, 2], [4, 4, 4, 5]]
    assert [ROLES[role] for role in found.role] == ["crease", "crease", "cut", "perforate", "half-cut"]
    assert found.line.tolist() == [0, 0, 1, 2, 3]
    assert len(segments_of([])) == 0
    assert segments_of([]).xy.shape == (0, 4)


def test_lengths_and_middles_of_segments():
    xy = np.array([[1.0, 2, 4, 6], [10, 1, 10, 8]])
    assert lengths_of(xy).tolist() == [5, 7]
    assert middles_of(xy).tolist() == [[2.5, 4], [10, 4.5]]


@pytest.mark.parametrize(
    ("place", "near"),
    [
        pytest.param((5, 3.5), True, id="beside it, as far as allowed"),
        pytest.param((5, 3.51), False, id="beside it, farther"),
        pytest.param((5, 2.49), False, id="on the other side"),
        pytest.param((9.5, 3), True, id="past its end"),
        pytest.param((9.4, 3.4), False, id="past its end, aslant"),
        pytest.param((1.5, 3), True, id="before its start"),
        pytest.param((1.4, 3), False, id="too far before it"),
    ],
)
def test_places_near_a_segment(place, near):
    at, segment = near_segments(np.array([place, (50, 50)], float), np.array([[30.0, 30, 31, 31], [2, 3, 9, 3]]), 0.5)
    assert list(zip(at.tolist(), segment.tolist(), strict=True)) == [(0, 1)] * near


def test_pairs_of_near_shapes_are_counted_with_each_itself():
    shapes = bars(1, 1.5, 40).shapes()
    assert pairs_near(shapes, shapes, 0.5) == 3 + 2
    assert pairs_near(shapes, shapes, 0.4) == 3
    assert pairs_near(shapes[:1], shapes, 0.5) == 2
    assert pairs_near(shapes[:0], shapes, 0.5) == pairs_near(shapes, shapes[:0], 0.5) == 0


@pytest.mark.parametrize("count", [300, 301, 750])
def test_pairs_of_many_shapes_are_counted_in_a_sample(count):
    shapes = bars(*np.arange(count) * 3.0).shapes()
    assert pairs_near(shapes, shapes, 1.0) == count


def test_crossings_are_those_beyond_the_two_ends_of_each_segment():
    """Of 4 x 6 lines that cross each other 24 times, ten touches are what ten lines end to end in a ring have."""
    xy = [[x, 0.0, x, 50] for x in (3, 5, 9, 11)] + [[0.0, y, 50, y] for y in (2, 4, 8, 9, 20, 30)]
    grid = Segments(np.array(xy), np.zeros(10, np.int8), np.arange(10))
    assert crossings(grid) == 24 - 10


def test_segments_are_picked_by_number():
    segments = Segments(np.arange(12.0).reshape(3, 4), np.array([0, 3, 1], np.int8), np.array([5, 6, 7]))
    picked = segments.pick(np.array([2, 0]))
    assert (picked.role.tolist(), picked.line.tolist()) == ([1, 0], [7, 5])
    assert picked.xy[0].tolist() == [8, 9, 10, 11]
