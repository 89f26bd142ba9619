"""Runs of cut line: where they end, what they face, and which of them nobody sees."""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from preflight.carton.cut_edges import _in_order, _pieces, cut_edges

CARD = box(10, 20, 100, 80)


def runs(*outlines, hidden=None):
    return cut_edges(outlines, hidden or [[] for _ in outlines])


def facing(edges, side):
    """Neighbour and length of the runs on one side of the card, from the left or from below."""
    axis, at = {"left": (0, 10), "right": (0, 100), "bottom": (1, 20), "top": (1, 80)}[side]
    found = [edge for edge in edges if np.abs(shapely.get_coordinates(edge.line)[:, axis] - at).max() < 1e-6]
    found.sort(key=lambda edge: edge.line.centroid.coords[0])
    return [(edge.neighbour_mm, round(edge.line.length, 3)) for edge in found]


def test_segments_are_cut_into_pieces_of_at_most_two_millimetres():
    pieces = _pieces(np.array([[2.0, 3, 8, 3], [10, 1, 10, 6], [0, 0, 0, 0.5]]))
    assert pieces[:3].tolist() == [[2, 3, 4, 3], [4, 3, 6, 3], [6, 3, 8, 3]]
    assert pieces[3:6] == pytest.approx(np.array([[10, 1, 10, 8 / 3], [10, 8 / 3, 10, 13 / 3], [10, 13 / 3, 10, 6]]))
    assert pieces[6:].tolist() == [[0, 0, 0, 0.5]]


@pytest.mark.parametrize(
    ("label", "order"),
    [
        ([0, 0, 0], [[0, 1, 2]]),
        ([1, 1, 0, 0, 1], [[2, 3], [4, 0, 1]]),
        ([0, 1, 1, 2], [[0], [1, 2], [3]]),
    ],
)
def test_a_run_may_go_past_the_first_piece_of_the_ring(label, order):
    assert [run.tolist() for run in _in_order(np.array(label))] == order


@pytest.mark.parametrize(
    ("away", "found"), [(11.9, 11.9), (12.0, 12.0), (12.1, None), (0.5, 0.5), (0.16, 0.16), (0.14, 0.0)]
)
@pytest.mark.parametrize("side", ["right", "top", "left", "bottom"])
def test_a_neighbour_is_looked_for_12_mm_out(side, away, found):
    place = {
        "right": (100 + away, 0, 150, 120), "left": (-40, 0, 10 - away, 120),
        "top": (0, 80 + away, 120, 150), "bottom": (0, -40, 120, 20 - away),
    }[side]  # fmt: skip
    card, neighbour = runs(CARD, box(*place))
    for each, length in {"left": 60, "right": 60, "top": 90, "bottom": 90}.items():
        assert facing(card, each) == [(found if each == side else None, length)]
    assert {edge.neighbour_mm for edge in neighbour} == {None, found}


def test_the_nearest_of_two_neighbours_counts():
    card, *_ = runs(CARD, box(108, 0, 120, 120), box(103, 0, 105, 120))
    assert facing(card, "right") == [(3.0, 60)]


def test_a_run_ends_where_the_way_to_the_next_cut_changes():
    card, *_ = runs(CARD, box(101, 0, 120, 50), box(105, 50.5, 120, 120))
    assert facing(card, "right") == [(1.0, 30), (5.0, 30)]


def test_distances_that_are_alike_are_one_run():
    """1.6 mm and 2.8 mm lie in one band, so that the smaller one speaks for both."""
    card, *_ = runs(CARD, box(101.6, 0, 120, 50), box(102.8, 50.5, 120, 120))
    assert facing(card, "right") == [(1.6, 60)]


def test_a_neighbour_that_runs_nearly_across_is_none():
    """Its edge is 80 degrees off the card's; one that is 70 degrees off faces it."""
    for degrees, seen in ((80, False), (70, True)):
        t = np.radians(degrees)
        tip = (102, 49)
        corners = [tip, (102 + 30 * np.sin(t), 49 - 30 * np.cos(t)), (102 + 30 * np.sin(t), 49 + 30 * np.cos(t))]
        card, _ = runs(CARD, Polygon(corners))
        assert any(near is not None for near, _ in facing(card, "right")) == seen


@pytest.mark.parametrize(("degrees", "edges"), [(15, 4), (19, 4), (21, 5), (30, 5)])
def test_a_run_ends_at_a_corner_of_more_than_20_degrees(degrees, edges):
    """The right side is bent outward half way up."""
    out = 30 * np.tan(np.radians(degrees / 2))
    bent = Polygon([(10, 20), (100, 20), (100 + out, 50), (100, 80), (10, 80)])
    assert len(runs(bent)[0]) == edges


@pytest.mark.parametrize(
    ("wide", "lengths"), [(1.0, [59, 60, 89 + 2**0.5, 90]), (1.2, [58.8, 60, 88.8, 90, 1.2 * 2**0.5])]
)
def test_a_chamfer_that_is_too_short_belongs_to_the_side_before_it(wide, lengths):
    """At the upper left corner, anticlockwise after the top; 1.41 mm long, or 1.70 mm."""
    chamfered = Polygon([(10, 20), (100, 20), (100, 80), (10 + wide, 80), (10, 80 - wide)])
    assert sorted(edge.line.length for edge in runs(chamfered)[0]) == pytest.approx(sorted(lengths))


@pytest.mark.parametrize(("wide", "edges"), [(1.5, 6), (1.4, 5)])
def test_a_step_of_1_5_mm_is_a_run_of_its_own(wide, edges):
    """Half way up the right side."""
    right = 100 + wide
    assert len(runs(Polygon([(10, 20), (100, 20), (100, 50), (right, 50), (right, 80), (10, 80)]))[0]) == edges


def test_a_short_run_at_the_start_of_the_ring_belongs_to_the_last_one():
    chamfered = Polygon([(10, 20.9), (10.9, 20), (100, 20), (100, 80), (10, 80)])
    lengths = sorted(edge.line.length for edge in runs(chamfered)[0])
    assert lengths == pytest.approx([60, 59.1 + 0.9 * 2**0.5, 89.1, 90])


def test_cut_outs_have_the_blank_on_their_left_too():
    holed = CARD.difference(box(30, 40, 36, 70))
    (edges,) = runs(holed)
    assert [edge.edge for edge in edges] == ["outer"] * 4 + ["cut-out"] * 4
    sides = {round(edge.line.centroid.x): edge for edge in edges if edge.edge == "cut-out" and edge.line.length > 20}
    assert [sides[x].neighbour_mm for x in (30, 36)] == [6.0, 6.0]
    (_, y0), *_, (_, y1) = sides[30].line.coords
    assert y0 < y1  # upward, the blank on the left
    assert {edge.neighbour_mm for edge in edges if edge.line.length == 6} == {None}


def test_edges_on_flaps_are_hidden_on_the_blank_that_has_them():
    flap = box(10, 20, 25, 80)
    first, second = runs(CARD, box(150, 20, 240, 80), hidden=[[flap], [box(200, 20, 240, 80)]])
    assert sum(edge.line.length for edge in first if edge.hidden) == pytest.approx(15 + 60 + 15, abs=2)
    assert sum(edge.line.length for edge in second if edge.hidden) == pytest.approx(40 + 60 + 40, abs=2)
    for edge in (*first, *second):
        x = edge.line.centroid.x
        assert edge.hidden == (x < 25.5 or x > 199.5)
    assert not any(edge.hidden for edge in runs(CARD)[0])


def test_a_ring_without_a_corner_is_one_run():
    (edges,) = runs(shapely.Point(30, 40).buffer(15, quad_segs=16))
    assert len(edges) == 1
    assert edges[0].line.is_closed


def test_every_blank_has_its_own_edges():
    edges = runs(CARD, box(200, 0, 230, 40))
    assert [sorted(edge.line.length for edge in mine) for mine in edges] == [[60, 60, 90, 90], [30, 30, 40, 40]]
