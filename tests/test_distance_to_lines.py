"""Lines of a die as a table of pieces; shapely is the referee."""

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString

from preflight.measures.distance_to_lines import FEW_BOXES, Pieces

FIRST = MultiLineString([[(10, 20), (40, 20), (40, 50)], [(60, 5), (70, 9)]])
SECOND = LineString([(80, 30), (95, 75)])
PIECES = Pieces.of([FIRST, SECOND])


def test_each_line_is_parted_into_its_pieces_and_each_sort_has_its_number():
    assert PIECES.xy.tolist() == [[10, 20, 40, 20], [40, 20, 40, 50], [60, 5, 70, 9], [80, 30, 95, 75]]
    assert PIECES.sort.tolist() == [0, 0, 0, 1]
    assert len(PIECES) == 4


def test_no_lines_have_no_pieces():
    assert len(Pieces.of([])) == 0
    assert Pieces.of([]).xy.shape == (0, 4)
    assert Pieces.of([shapely.LineString(), SECOND]).sort.tolist() == [1]
    assert not Pieces.of([]).near(np.array([[0.0, 0, 1, 1]]), 5).any()
    assert len(PIECES.near(np.zeros((0, 4)), 5)) == 0


@pytest.mark.parametrize(
    ("box", "mm", "near"),
    [
        ((15, 22, 17, 24), 2.0, True), ((15, 22, 17, 24), 1.99, False), ((15, 14, 17, 18), 2.0, True),
        ((15, 14, 17, 18), 1.99, False), ((4, 19, 8, 21), 2.0, True), ((4, 19, 8, 21), 1.99, False),
        ((43, 30, 45, 33), 3.0, True), ((43, 30, 45, 33), 2.99, False), ((34, 30, 37, 33), 3.0, True),
        ((34, 30, 37, 33), 2.99, False), ((43, 54, 45, 56), 5.0, True), ((43, 54, 45, 56), 4.99, False),
        ((12, 19, 14, 21), 0.0, True), ((60, 8, 62, 9), 1.0, False), ((60, 8, 62, 9), 2.05, True),
        ((88, 30, 90, 32), 6.9, False), ((88, 30, 90, 32), 7.0, True), ((84, 41, 86, 44), 0.0, True),
    ],
)  # fmt: skip
def test_a_box_is_near_where_a_piece_is(box, mm, near):
    """3 and 4 mm off the end at (40, 50) are 5; the slanting pieces rise by 2 in 5 and by 3 in 1."""
    assert PIECES.near(np.array([box], float), mm).tolist() == [near]


def test_of_several_slanting_pieces_the_nearest_by_its_box_need_not_be_the_one():
    """The box lies in the boxes of both; the first is 3 mm away from it, the second 1 mm."""
    pieces = Pieces.of([LineString([(0, 0), (40, 40)]), LineString([(1, 12), (31, 42)])])
    box = np.array(
        [[10.0, 15.0, 11.0, 18.0]]
    )  # its lower right corner: 4 below the second line, its upper left 3 above
    far = shapely.distance(shapely.box(*box[0]), shapely.linestrings(pieces.xy.reshape(-1, 2, 2)))
    for mm in (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5):
        assert pieces.near(box, mm).tolist() == [bool((far <= mm).any())]


@pytest.mark.parametrize("mm", [0.3, 2.0, 9.0])
@pytest.mark.parametrize("scale", [1.0, 12.0], ids=["a carton", "a sheet"])
@pytest.mark.parametrize("count", [60, 4 * FEW_BOXES])
def test_boxes_are_near_as_shapely_has_it(count, scale, mm):
    dice = np.random.default_rng(count)
    low = dice.uniform(-15, 110, (count, 2)) * scale
    boxes = np.hstack([low, low + dice.uniform(0, 6, (count, 2))])
    pieces = Pieces(PIECES.xy * scale, PIECES.sort)
    lines = shapely.union_all([shapely.union_all(shapely.linestrings(pieces.xy.reshape(-1, 2, 2)))])
    assert (pieces.near(boxes, mm) == (shapely.distance(shapely.box(*boxes.T), lines) <= mm)).all()


@pytest.mark.parametrize("mm", [0.5, 3.0])
def test_of_many_boxes_those_at_the_rim_of_the_die_are_not_dropped(mm):
    """Boxes of 1 x 2 mm in rows, all about the lines: those that touch a millimetre's cell from outside too."""
    x, y = np.meshgrid(np.arange(4, 102, 1.25), np.arange(-2, 82, 1.75))
    boxes = np.column_stack([x.ravel(), y.ravel(), x.ravel() + 1, y.ravel() + 2])
    assert len(boxes) > FEW_BOXES
    lines = shapely.union_all([FIRST, SECOND])
    assert (PIECES.near(boxes, mm) == (shapely.distance(shapely.box(*boxes.T), lines) <= mm)).all()


def test_the_nearest_piece_of_each_group():
    groups = [
        shapely.points([[20, 26], [43, 33], [0, 0]]),
        shapely.points([[65, 0]]),
        shapely.box([78, 200], [20, 200], [79, 201], [29, 201]),
    ]
    first, second, third = PIECES.nearest(groups)
    assert first.distance_mm == pytest.approx(3.0)
    assert second.distance_mm == pytest.approx(7 * 5 / np.hypot(5, 2))
    assert third.distance_mm == pytest.approx(np.hypot(1, 1))
    assert [own.sort for own in (first, second, third)] == [0, 0, 1]
    assert PIECES.nearest([]) == []


def test_strips_are_the_parts_of_a_box_about_each_piece():
    found = PIECES.strips((30, 10, 50, 40), 2.0)
    assert sorted(found) == [(30, 18, 42, 22), (38, 18, 42, 40)]
    assert PIECES.strips((30, 22.5, 37, 40), 2.0) == []
    assert PIECES.strips((62, 0, 100, 3.5), 2.0) == [(62, 3, 72, 3.5)]
    assert PIECES.strips((0, 15, 9, 30), 2.0) == [(8, 18, 9, 22)]
    assert PIECES.strips((30, 22, 38, 40), 2.0) == []  # they only touch
