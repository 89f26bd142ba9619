"""Lines drawn twice: what is left of them, and how much was left out."""

import numpy as np
import pytest

from preflight.carton.lines.double_lines import _uncovered, merge_doubles
from preflight.carton.lines.drawn_lines import CUT, ROLES, Segments

CREASE, PERFORATE = ROLES.index("crease"), ROLES.index("perforate")


def segments(*xy, roles=None):
    roles = np.array(roles if roles is not None else [CUT] * len(xy), np.int8)
    return Segments(np.array(xy, float).reshape(-1, 4), roles, np.arange(10, 10 + len(xy)))


def kept(found):
    return sorted((int(line), *map(float, np.round(xy, 3))) for line, xy in zip(found.line, found.xy, strict=True))


def turned(degrees, length=40.0, about=(20.0, 7.0)):
    step = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))]) * length / 2
    return (*(np.array(about) - step), *(np.array(about) + step))


@pytest.mark.parametrize("back", [False, True], ids=["the same way", "the other way"])
@pytest.mark.parametrize(
    ("off", "left"),
    [(0.0, [(10, 16)]), (0.05, [(10, 16)]), (-0.09, [(10, 16)]), (0.11, [(4, 16)]), (-0.11, [(4, 16)])],
)
def test_what_a_line_has_beyond_the_one_before_is_kept(off, left, back):
    second = (16, 7 + off, 4, 7 + off) if back else (4, 7 + off, 16, 7 + off)
    found, gone = merge_doubles(segments((2, 7, 10, 7), second))
    (first, *rest) = kept(found)
    assert first == (10, 2, 7, 10, 7)
    assert [(line, *sorted((x0, x1)), y0, y1) for line, x0, y0, x1, y1 in rest] == [
        (11, a, b, pytest.approx(7 + off), pytest.approx(7 + off)) for a, b in left
    ]
    assert gone == pytest.approx(6 if left == [(10, 16)] else 0)


def test_a_line_over_the_middle_of_another_leaves_both_its_ends():
    found, gone = merge_doubles(segments((5, 3, 5, 9), (5, 1, 5, 20)))
    assert kept(found) == [(10, 5, 3, 5, 9), (11, 5, 1, 5, 3), (11, 5, 9, 5, 20)]
    assert gone == pytest.approx(6)


def test_the_cut_holds_whichever_is_drawn_first():
    found, gone = merge_doubles(segments((2, 7, 10, 7), (10, 7, 2, 7), (2, 7, 10, 7), roles=[CREASE, PERFORATE, CUT]))
    assert (found.role.tolist(), found.line.tolist()) == ([CUT], [12])
    assert gone == pytest.approx(16)


def test_the_first_drawn_of_two_like_lines_holds():
    found, _ = merge_doubles(segments((2, 7, 10, 7), (30, 1, 30, 9), (2, 7, 10, 7), roles=[CREASE] * 3))
    assert found.line.tolist() == [10, 11]


def test_a_piece_that_is_left_keeps_role_and_line():
    found, _ = merge_doubles(segments((2, 7, 10, 7), (1, 1, 1, 4), (4, 7, 16, 7), roles=[CUT, PERFORATE, CREASE]))
    assert sorted(zip(found.line.tolist(), found.role.tolist(), strict=True)) == [
        (10, CUT), (11, PERFORATE), (12, CREASE),
    ]  # fmt: skip


@pytest.mark.parametrize(("overlap", "gone"), [(0.4, 0), (0.49, 0), (0.5, 0.5), (2, 2)])
def test_a_line_that_goes_on_in_another_is_no_double(overlap, gone):
    found, left_out = merge_doubles(segments((0, 7, 32, 7), (32 - overlap, 7, 50, 7)))
    assert left_out == pytest.approx(gone)
    assert kept(found)[1] == (11, 32 if gone else 32 - overlap, 7, 50, 7)


def test_a_short_line_that_is_covered_by_half_stays():
    found, gone = merge_doubles(segments((0, 7, 32, 7), (31.8, 7, 32.2, 7)))
    assert (len(found), gone) == (2, 0)


def test_a_short_line_that_is_covered_wholly_goes():
    found, gone = merge_doubles(segments((0, 7, 32, 7), (12, 7, 12.3, 7)))
    assert len(found) == 1
    assert gone == pytest.approx(0.3)


@pytest.mark.parametrize(("degrees", "gone"), [(15, True), (19, True), (21, False), (90, False), (-15, True)])
def test_lines_that_cross_at_a_wide_angle_are_two(degrees, gone):
    """At 19 degrees 0.61 mm of it lie within 0.1 mm of the other, at 21 degrees 0.56 mm."""
    found, left_out = merge_doubles(segments((0, 7, 40, 7), turned(degrees)))
    within = 0.2 / np.sin(np.radians(abs(degrees))) if gone else 0
    assert left_out == pytest.approx(within, rel=0.06)
    assert len(found) == (3 if gone else 2)


def test_parallel_lines_farther_apart_are_two():
    found, gone = merge_doubles(segments((1, 1, 1, 30), (1.5, 1, 1.5, 30)))
    assert (len(found), gone) == (2, 0)


@pytest.mark.parametrize(
    ("covered", "left"),
    [
        pytest.param([(1, 4)], [(0, 1), (4, 10)], id="one stretch"),
        pytest.param([(1, 4), (4.25, 9)], [(0, 1), (9, 10)], id="hardly apart"),
        pytest.param([(1, 4), (4.4, 9)], [(0, 1), (4, 4.4), (9, 10)], id="apart"),
        pytest.param([(1, 8), (2, 3)], [(0, 1), (8, 10)], id="one within the other"),
        pytest.param([(0.25, 9.75)], [], id="all but its ends"),
        pytest.param([(0.4, 9.6)], [(0, 0.4), (9.6, 10)], id="all but 0.4 mm at its ends"),
        pytest.param([], [(0, 10)], id="nothing"),
    ],
)
def test_what_is_left_between_covered_stretches(covered, left):
    start, end = (np.array([pair[k] for pair in covered], float) for k in (0, 1))
    assert _uncovered(start, end, 10.0) == left
