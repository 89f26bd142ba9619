"""Loose dashes end to end are one dashed line; other short pieces stay what they are."""

import numpy as np
import pytest

from preflight.carton.lines.dashed_lines import join_dashes
from tests.die_lines import circle, line, rectangle


def dashes(length=3.0, gap=1.5, count=3, x=2.0, y=7.0, role="crease", **keys):
    """Level dashes from (x, y) to the right."""
    return [
        line([(x + n * (length + gap), y), (x + n * (length + gap) + length, y)], role, **keys) for n in range(count)
    ]


def turned(points, degrees):
    t = np.radians(degrees)
    return np.array(points) @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 0, 1), (1, 2, 0)], ids=str)
@pytest.mark.parametrize("back", [(), (1,), (0, 2)], ids=str)
def test_three_dashes_are_one_dashed_line_carried_on_by_a_gap(order, back):
    drawn = dashes(drawn_in="Blue")
    drawn = [line(d.points[::-1], d.role, drawn_in="Blue") if n in back else d for n, d in enumerate(drawn)]
    (joined,) = join_dashes([drawn[n] for n in order])
    assert (joined.dashed, joined.role, joined.drawn_in) == (True, "crease", "Blue")
    assert sorted(joined.points[:, 0]) == pytest.approx([0.5, 2, 5, 6.5, 9.5, 11, 14, 15.5])
    assert set(np.sign(np.diff(joined.points[:, 0]))) in ({1.0}, {-1.0})
    assert joined.points[:, 1] == pytest.approx([7] * 8)


def test_an_end_on_another_line_is_not_carried_on():
    joined = join_dashes([*dashes(), line([(2, 0), (2, 30)])])[-1]
    assert sorted(joined.points[:, 0]) == pytest.approx([2, 5, 6.5, 9.5, 11, 14, 15.5])


def test_the_widest_gap_counts_for_what_is_carried_on():
    pieces = [line([(a, 7), (b, 7)], "crease") for a, b in [(2, 5), (6, 9), (11, 14)]]
    (joined,) = join_dashes(pieces)
    assert (joined.points[:, 0].min(), joined.points[:, 0].max()) == pytest.approx((0, 16))


@pytest.mark.parametrize(
    ("keys", "joined"),
    [
        ({"count": 2}, False),
        ({"count": 3}, True),
        ({"length": 8.0}, True),
        ({"length": 8.1}, False),
        ({"gap": 3.9, "length": 4}, True),
        ({"gap": 4.1, "length": 4}, False),
        ({"gap": 2.4, "length": 1}, True),
        ({"gap": 2.6, "length": 1}, False),
        ({"gap": 0.25}, True),
        ({"gap": 0.15}, False),
        ({"dashed": True}, False),
        ({"filled": True}, False),
    ],
    ids=str,
)
def test_which_pieces_are_dashes(keys, joined):
    pieces = dashes(**keys)
    found = join_dashes(pieces)
    assert [len(found), found[0].dashed] == ([1, True] if joined else [len(pieces), keys.get("dashed", False)])


def test_the_longer_of_two_dashes_says_how_wide_a_gap_may_be():
    """Dashes and dots: the dot of 0.5 mm is 2 mm from the next dash."""
    pieces = [line([(a, 7), (b, 7)]) for a, b in [(2, 6), (8, 8.5), (10.5, 14.5)]]
    assert len(join_dashes(pieces)) == 1


@pytest.mark.parametrize(("degrees", "joined"), [(20, True), (30, False), (-20, True), (-30, False)])
def test_dashes_go_on_nearly_straight(degrees, joined):
    """The third dash is turned about the place where the second one ends."""
    third = turned([(1.5, 0), (4.5, 0)], degrees) + (9.5, 7)
    found = join_dashes([*dashes(count=2), line(third, "crease")])
    assert len(found) == (1 if joined else 3)


def test_dashes_of_two_roles_or_inks_are_not_one_line():
    first, second, third = dashes(drawn_in="Blue")
    other_role, other_ink = line(third.points, "cut", drawn_in="Blue"), line(third.points, "crease", drawn_in="Red")
    assert len(join_dashes([first, second, other_role])) == 3
    assert len(join_dashes([first, second, other_ink])) == 3


def test_two_rows_of_dashes_are_two_lines_and_all_else_stays():
    frame = line(rectangle(-20, -20, 90, 60))
    found = join_dashes([*dashes(), frame, *dashes(y=11, count=4)])
    assert found[0] is frame
    assert sorted((float(item.points[0, 1]), len(item.points)) for item in found[1:]) == [(7, 8), (11, 10)]


def test_pieces_that_touch_each_other_are_no_dashes():
    pieces = [line([(2 + 3 * n, 7), (5 + 3 * n, 7)]) for n in range(4)]
    assert len(join_dashes(pieces)) == 4


@pytest.mark.parametrize(
    ("points", "joined"),
    [
        pytest.param([(6.5, 7), (8, 7.2), (9.5, 7)], True, id="hardly bent"),
        pytest.param([(6.5, 7), (8, 9), (9.5, 7)], False, id="a peak"),
        pytest.param(np.column_stack([np.linspace(6.5, 9.5, 40), np.full(40, 7.0)]), True, id="of 40 points"),
        pytest.param(np.column_stack([np.linspace(6.5, 9.5, 41), np.full(41, 7.0)]), False, id="of 41 points"),
    ],
)
def test_a_dash_is_nearly_straight_and_simple(points, joined):
    first, _, third = dashes()
    assert len(join_dashes([first, line(points, "crease"), third])) == (1 if joined else 3)


def test_dashes_round_a_circle_are_one_closed_line():
    """Twenty arcs of 12 degrees with 6 between them."""
    arcs = [np.radians(np.linspace(18 * n, 18 * n + 12, 5)) for n in range(20)]
    pieces = [line([(50 + 20 * np.cos(t), 30 + 20 * np.sin(t)) for t in arc], "crease") for arc in arcs]
    (joined,) = join_dashes(pieces)
    assert joined.dashed
    assert joined.closed
    assert len(joined.points) == 20 * 5 + 1
    assert joined.length_mm == pytest.approx(2 * np.pi * 20, abs=0.2)


def test_nothing_to_join():
    assert join_dashes([]) == []
    ring = line(circle(9, 9, 1))
    assert join_dashes([ring] * 3) == [ring] * 3
