"""Small gaps between die lines: which loose end goes where, what is told, and what stays open."""

from types import SimpleNamespace

import numpy as np
import pytest

from preflight.carton.cells.gaps import (
    _ahead,
    _beside,
    _counted,
    _split,
    close_gaps,
    number_nodes,
    roles_at,
)
from preflight.carton.cells.net import build_net
from preflight.carton.lines.drawn_lines import CUT, ROLES, Segments, lengths_of, segments_of
from tests.die_lines import line

CREASE, PERFORATE = ROLES.index("crease"), ROLES.index("perforate")
WALL = line([(50, 0), (50, 90)])


def closed(*lines):
    return close_gaps(segments_of(lines))


def bridges(found):
    """Closed gaps from left to right: where each begins and ends."""
    return sorted(tuple(np.round(each, 3).tolist()) for each in found.bridges)


# One end -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["cut", "crease", "perforate"])
@pytest.mark.parametrize(("short", "done"), [(0.04, True), (0.5, True), (0.95, True), (1.0, True), (1.05, False)])
def test_a_line_goes_on_straight_to_what_it_meets_within_a_millimetre(short, done, role):
    found = closed(line([(20, 30), (50 - short, 30)], role), WALL)
    assert bridges(found) == [(50 - short, 30, 50, 30)] * done
    assert [ROLES[n] for n in found.bridge_roles] == [role] * done
    told = done and short > 0.05
    assert [(b.at, b.crease) for b in found.found] == [((50 - short / 2, 30), role != "cut")] * told
    assert [b.length_mm for b in found.found] == pytest.approx([short] * told)


def test_a_line_goes_on_in_its_own_direction():
    """3 across for 4 up: 0.8 mm short, it meets the wall 0.48 mm farther right."""
    found = closed(line([(20, 10), (50 - 0.48, 10 + 29.52 * 4 / 3)]), WALL)
    assert bridges(found) == [(49.52, 49.36, 50, 50)]
    assert found.found[0].length_mm == pytest.approx(0.8)


@pytest.mark.parametrize(("away", "done"), [(0.3, True), (0.5, True), (0.55, False), (0.9, False)])
def test_an_end_beside_a_line_is_moved_by_half_a_millimetre_at_most(away, done):
    found = closed(line([(50 - away, 30), (50 - away, 60)], "crease"), line([(50, 20), (50, 70)]))
    assert bridges(found) == [(50 - away, 30, 50, 30), (50 - away, 60, 50, 60)] * done
    assert len(found.short) == 0


@pytest.mark.parametrize(("aside", "done"), [(0.1, True), (0.6, True), (0.95, True), (1.05, False)])
def test_two_loose_ends_that_miss_each_other_are_joined(aside, done):
    """Beside each other by more than half a millimetre: only since nothing else joins there."""
    found = closed(line([(20, 30), (50, 30)]), line([(50, 30 + aside), (50, 70)]))
    assert (len(found.bridges) > 0) == done
    assert [b.at for b in found.found] == [(50, pytest.approx(30 + aside / 2))] * done


@pytest.mark.parametrize(
    ("degrees", "length"),
    [(20, 0.9 * np.sin(np.radians(20))), (40, 0.9), (150, 0.9), (-20, 0.9 * np.sin(np.radians(20)))],
)
def test_an_end_goes_sideways_where_that_is_less_than_half_as_far(degrees, length):
    """To a wall through (50, 30), 0.9 mm ahead."""
    step = 20 * np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
    found = closed(line([(20, 30), (49.1, 30)]), line([np.array([50, 30]) - step, np.array([50, 30]) + step]))
    assert [b.length_mm for b in found.found] == pytest.approx([length], abs=1e-3)


def test_a_gap_from_both_sides_is_told_once():
    found = closed(line([(20, 30), (50, 30)]), line([(50.6, 30), (80, 30)]))
    assert [(b.at, round(b.length_mm, 6)) for b in found.found] == [((50.3, 30), 0.6)]
    assert len(found.bridges) == 2


def test_the_nearest_line_ahead_is_met():
    found = closed(line([(20, 30), (49, 30)]), line([(49.4, 0), (49.4, 90)]), line([(49.9, 0), (49.9, 90)]))
    assert [each for each in bridges(found) if each[0] == 49] == [(49, 30, 49.4, 30)]


@pytest.mark.parametrize(
    ("short", "told"), [(0.9, False), (1.1, True), (7.9, True), (8.0, True), (8.1, False)]
)  # fmt: skip
def test_a_crease_that_stops_short_of_a_line_by_8_mm_is_told(short, told):
    found = closed(line([(20, 30), (50 - short, 30)], "crease"), WALL)
    assert [(s.at, round(s.short_mm, 6)) for s in found.short] == [((50 - short, 30), short)] * told
    assert len(closed(line([(20, 30), (50 - short, 30)]), WALL).short) == 0


def test_the_nearest_line_ahead_says_how_short_a_crease_is():
    found = closed(line([(20, 30), (45, 30)], "crease"), line([(52, 0), (52, 90)]), WALL)
    assert [s.short_mm for s in found.short] == pytest.approx([5])


def test_ends_of_cuts_that_meet_nothing():
    found = closed(line([(20, 30), (40, 30)]), line([(20, 50), (40, 50)], "crease"), WALL)
    assert sorted(map(tuple, found.loose_cuts.tolist())) == [(20, 30), (40, 30), (50, 0), (50, 90)]


def test_nothing_is_loose_in_a_ring():
    found = closed(line([(10, 20), (60, 20), (30, 70), (10, 20)]))
    assert (len(found.bridges), found.found, found.short, len(found.loose_cuts)) == (0, [], [], 0)
    assert lengths_of(found.segments).sum() == pytest.approx(line([(10, 20), (60, 20), (30, 70), (10, 20)]).length_mm)


def test_an_end_is_not_brought_to_its_own_line_close_by():
    """A hook: its end is 0.8 mm from the line, 3.4 mm along it; of one with 6 mm along it is closed."""
    small = line([(20, 30), (40, 30), (40, 31.3), (38.7, 31.3), (38.7, 30.8)])
    assert (38.7, 30.8, 38.7, 30) not in bridges(closed(small))
    large = line([(20, 30), (40, 30), (40, 32.5), (37.5, 32.5), (37.5, 30.8)])
    assert (37.5, 30.8, 37.5, 30) in bridges(closed(large))


# Ends that others join --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("short", "done"), [(0.03, True), (0.7, True), (1.1, False)])
def test_a_corner_of_two_creases_goes_on_to_the_cut(short, done):
    corner = (50 - short, 30)
    found = closed(line([(20, 30), corner], "crease"), line([corner, (50 - short, 60)], "crease"), WALL)
    assert ((50 - short, 30, 50, 30) in bridges(found)) == done


@pytest.mark.parametrize(("short", "done"), [(0.03, True), (0.06, False), (0.7, False)])
def test_a_corner_of_two_cuts_is_moved_by_a_rounding_only(short, done):
    corner = (50 - short, 30)
    found = closed(line([(20, 30), corner]), line([corner, (30, 60)]), WALL)
    assert ((50 - short, 30, 50, 30) in bridges(found)) == done


def test_a_crease_that_meets_the_cut_goes_no_farther():
    """It ends on the first wall, where the wall's own pieces join; the second is 0.6 mm on."""
    found = closed(line([(20, 30), (50, 30)], "crease"), WALL, line([(50.6, 0), (50.6, 90)]))
    assert [each for each in bridges(found) if each[1] == 30] == []


def test_a_bridge_has_the_role_of_its_line():
    lines = [line([(20, 30), (49.5, 30)], "perforate"), line([(20, 60), (49.5, 60)], "crease"), WALL]
    found = closed(*lines)
    roles = {round(float(xy[1])): int(role) for xy, role in zip(found.bridges, found.bridge_roles, strict=True)}
    assert roles == {30: PERFORATE, 60: CREASE}
    net = build_net(segments_of(lines))
    ends = {(round(float(xy[1])), int(role)) for xy, role in zip(net.xy, net.role, strict=True) if xy[1] == xy[3]}
    assert ends == {(30, PERFORATE), (60, CREASE)}


# The parts ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("segment", "far", "place"),
    [
        ((10, 0, 10, 8), 8, (10, 3)),
        ((10, 8, 10, 0), 8, (10, 3)),
        ((6, 1, 10, 5), 6, (8, 3)),
        ((2, 0, 2, 8), 0, (2, 3)),
        ((1, 0, 1, 8), np.inf, None),  # behind
        ((5, 3.5, 9, 3.5), np.inf, None),  # beside
        ((10, 4, 10, 8), np.inf, None),  # misses it
        ((10, 3.04, 10, 8), np.hypot(8, 0.04), (10, 3.04)),  # just misses it
        ((10, 3.06, 10, 8), np.inf, None),
        ((10, 0, 10, 2.96), np.hypot(8, 0.04), (10, 2.96)),
        ((10, 0, 10, 2.94), np.inf, None),
    ],
)
def test_how_far_ahead_a_segment_is(segment, far, place):
    found, where = _ahead(np.array([[2.0, 3]]), np.array([[1.0, 0]]), np.array([segment], float))
    assert found[0] == pytest.approx(far)
    assert place is None or where[0] == pytest.approx(place)


@pytest.mark.parametrize(
    ("place", "far", "foot", "corner"),
    [
        ((5, 7), 4, (5, 3), False),
        ((5, 1), 2, (5, 3), False),
        ((2, 6), 3, (2, 3), True),
        ((-1, 7), 5, (2, 3), True),
        ((12, 7), 5, (9, 3), True),
        ((8.9, 3), 0, (8.9, 3), False),
    ],
)
def test_the_nearest_place_of_a_segment(place, far, foot, corner):
    found, where, at_corner = _beside(np.array([place], float), np.array([[2.0, 3, 9, 3]]))
    assert (found[0], *where[0]) == pytest.approx((far, *foot))
    assert at_corner[0] == corner


def test_places_that_agree_to_a_millionth_are_one_node():
    points = np.array([[5.0, 3], [2, 7], [5.0000004, 3], [2, 7.000002], [0.0, 1], [-0.0, 1]])
    nodes = number_nodes(points)
    assert nodes[0] == nodes[2]
    assert nodes[4] == nodes[5]
    assert len(set(nodes.tolist())) == 4


def test_role_and_line_at_a_place():
    source = Segments(
        np.array([[0.0, 3, 40, 3], [10, 3, 20, 3], [5, 0, 5, 9], [10, 3, 12, 3]]),
        np.array([CREASE, CUT, PERFORATE, CUT], np.int8),
        np.array([4, 7, 2, 5]),
    )
    role, drawn = roles_at(source, np.array([[30, 3], [15, 3], [5, 3], [30, 3.002], [30, 3.004], [11, 3.0]]))
    assert role.tolist() == [CREASE, CUT, PERFORATE, CREASE, CREASE, CUT]
    assert drawn.tolist() == [4, 7, 2, 4, -1, 7]


def test_gaps_are_counted_once_and_small_ones_not_at_all():
    ends = np.array([[10.0, 3], [10.5, 3], [20, 8], [30, 9]])
    places = np.array([[10.5, 3], [10, 3], [20, 8.05], [30.06, 9]])
    found = _counted(ends, places, np.array([0.5, 0.5, 0.05, 0.06]), np.array([False, False, False, True]))
    assert [(b.at, b.length_mm, b.crease) for b in found] == [
        ((10.25, 3), 0.5, False), ((pytest.approx(30.03), 9), 0.06, True),
    ]  # fmt: skip


def test_places_become_corners_of_their_segments_in_order():
    xy = np.array([[0.0, 3, 20, 3], [5, 0, 5, -9], [40, 1, 30, 1]])
    found = _split(xy, np.array([2, 0, 2]), np.array([[33.0, 1], [7, 3], [36, 1]]))
    assert found.tolist() == [
        [5, 0, 5, -9], [0, 3, 7, 3], [7, 3, 20, 3], [40, 1, 36, 1], [36, 1, 33, 1], [33, 1, 30, 1],
    ]  # fmt: skip
    assert _split(xy, np.zeros(0, np.intp), np.zeros((0, 2))) is xy


# The net -----------------------------------------------------------------------------------------------------------


def net_of(*lines):
    net = build_net(segments_of(lines))
    return SimpleNamespace(
        net=net,
        pieces=sorted(
            (int(r), int(n), *sorted([tuple(xy[:2]), tuple(xy[2:])]))
            for r, n, xy in zip(net.role, net.line, net.xy.tolist(), strict=True)
        ),
    )


def test_lines_that_cross_are_parted_there():
    found = net_of(line([(0, 3), (20, 3)]), line([(5, 0), (5, 9)], "crease"))
    assert found.pieces == [
        (CUT, 0, (0, 3), (5, 3)), (CUT, 0, (5, 3), (20, 3)), (CREASE, 1, (5, 0), (5, 3)), (CREASE, 1, (5, 3), (5, 9)),
    ]  # fmt: skip
    net = found.net
    ends = np.concatenate([net.a, net.b])
    assert sorted(np.bincount(ends).tolist()) == [1, 1, 1, 1, 4]


def test_where_a_crease_lies_on_the_cut_the_cut_holds():
    found = net_of(line([(5, 3), (9, 3)], "crease"), line([(0, 3), (20, 3)]))
    assert {(role, number) for role, number, *_ in found.pieces} == {(CUT, 1)}


def test_bridges_are_part_of_the_net_and_of_no_drawn_line():
    found = net_of(line([(20, 30), (49.5, 30)], "crease"), WALL)
    assert (CREASE, -1, (49.5, 30), (50, 30)) in found.pieces
    assert (CUT, 1, (50, 0), (50, 30)) in found.pieces


def test_a_net_without_some_segments_and_one_with_some_folded():
    net = net_of(line([(0, 3), (20, 3)]), line([(5, 0), (5, 9)], "perforate")).net
    cut = net.role == CUT
    less = net.without(cut)
    assert (len(less), set(less.role.tolist()), set(less.line.tolist())) == (2, {PERFORATE}, {1})
    assert less.loose_cuts is net.loose_cuts
    folded = net.folding(cut)
    assert [(int(role), int(n)) for role, n in zip(folded.role, folded.line, strict=True)] == [
        (CREASE if mine else PERFORATE, int(n)) for mine, n in zip(cut, net.line, strict=True)
    ]


def test_lines_that_pass_within_a_thousandth_are_snapped_together():
    """The third begins 0.0006 mm beside the first."""
    net = net_of(line([(0, 0), (30, 10)]), line([(15, 5), (15, 20)]), line([(1, 0.334), (1, 9)])).net
    assert np.array_equal(net.xy, np.round(net.xy, 3))
    assert (net.line == 0).sum() == 3
    assert len(net.loose_cuts) == 4
