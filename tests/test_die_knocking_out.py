"""Lines of a die as rows of points, and which dashes belong together; places are worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.measures.die_knocking_out import (
    _carries_on,
    _in_line,
    _knocked_out,
    _lost,
    _on_dashes,
    _parted_at_corners,
    _Points,
    _points_on,
    die_line_knocking_out,
)
from tests.test_bleed_search import Scene
from tests.test_finishes import DIE, MOSS, SEPARATIONS, table

DPI = 25.4
"""A pixel is 1 mm."""


@pytest.mark.parametrize(
    ("degrees", "parts"), [(19, [[0, 1, 2]]), (21, [[0, 1], [1, 2]]), (90, [[0, 1], [1, 2]]), (180, [[0, 1], [1, 2]])]
)
def test_lines_are_parted_where_they_turn_by_twenty_degrees(degrees, parts):
    turn = np.radians(degrees)
    points = np.array([[3.0, 5.0], [13.0, 5.0], [13 + 2 * np.cos(turn), 5 + 2 * np.sin(turn)]])
    assert [part.tolist() for part in _parted_at_corners(points)] == [points[part].tolist() for part in parts]


def test_a_curve_stays_whole_and_a_rectangle_is_four_lines():
    curve = np.array([[np.cos(t), np.sin(t)] for t in np.radians(np.arange(0, 181, 15))])
    assert len(_parted_at_corners(curve)) == 1
    box = np.array([(1, 2), (9, 2), (9, 7), (1, 7), (1, 2)], float)
    assert [part.tolist() for part in _parted_at_corners(box)] == [
        [[1, 2], [9, 2]], [[9, 2], [9, 7]], [[9, 7], [1, 7]], [[1, 7], [1, 2]],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("length", "x"), [(2.0, [0.25, 0.75, 1.25, 1.75]), (2.1, [0.25, 0.75, 1.25, 1.75]), (0.4, [0.25]), (0.1, [0.1])]
)
def test_a_point_each_half_millimetre(length, x):
    points = _points_on(LineString([(10, 7), (10 + length, 7)]))
    assert points[:, 0] - 10 == pytest.approx(x)
    assert points[:, 1] == pytest.approx(7)


def run(*xy: tuple[float, float]) -> np.ndarray:
    return np.array(xy, float)


BEFORE = run((10, 20), (14, 20))


@pytest.mark.parametrize(
    ("after", "carries"),
    [
        (run((15, 20), (19, 20)), True), (run((24, 20), (28, 20)), True), (run((24.1, 20), (28, 20)), False),
        (run((15, 20.19), (19, 20)), True), (run((15, 20.3), (19, 20)), False), (run((15, 20), (19, 21)), False),
        (run((15, 20), (15, 24)), False), (run((13, 20), (19, 20)), False), (run((14, 20), (19, 20)), True),
        (run((15, 20), (12, 20)), False), (run((12, 20), (9, 20)), False),
    ],
    ids=["a dash and a gap", "10 mm away", "farther away", "0.19 mm beside", "0.3 mm beside", "aslant",
         "round a corner",
         "it begins before the end", "without a gap", "it turns back", "and farther"],
)  # fmt: skip
def test_a_dash_carries_another_on(after, carries):
    assert _carries_on(BEFORE, after) is carries


def test_dashes_of_one_line_are_joined():
    runs = [BEFORE, run((16, 20), (20, 20)), run((22, 20), (26, 20)), run((26, 22), (26, 26)), run((26, 28), (26, 30))]
    assert [len(own) for own in _in_line(runs)] == [6, 4]
    assert _in_line(runs)[0].tolist() == np.concatenate(runs[:3]).tolist()
    assert _in_line([]) == []


def plates(*channels: np.ndarray) -> Plates:
    ink = np.array(channels, np.uint8)
    height, width = ink.shape[1:]
    return Plates(("Cyan", "Moss")[: len(ink)], ink, DPI, (100.0, 50.0, 100.0 + width, 50.0 + height))


def test_what_is_lost_is_that_of_the_plate_that_loses_most():
    clean = plates(np.array([[100, 200, 50]]), np.array([[10, 20, 250]]))
    here = plates(np.array([[90, 255, 50]]), np.array([[0, 15, 20]]))
    assert _lost(clean, here).tolist() == [[10, 5, 230]]


def test_places_on_dashes_are_where_half_as_much_is_lost_as_nearby():
    """Dashes of two pixels along a row; sums of three by three are looked at within three pixels."""
    lost = np.zeros((9, 20), np.uint8)
    lost[4, [3, 4, 9, 10]] = 200
    middle = 50 + 9 - 4 - 0.5
    xy = np.array([[100 + column + 0.5, middle] for column in range(20)])
    found = np.flatnonzero(_on_dashes(plates(lost), lost, xy)).tolist()
    # Sums: 200 beside a dash, 400 on it, so that places beside it have half of it as well; far from all it is nought.
    assert [column for column in found if 0 < column < 14] == [2, 3, 4, 5, 8, 9, 10, 11]
    assert len(_on_dashes(plates(lost), lost, np.zeros((0, 2)))) == 0


def test_a_weak_place_near_a_strong_one_is_no_dash():
    lost = np.zeros((9, 12), np.uint8)
    lost[4, 3], lost[4, 6] = 200, 90
    xy = np.array([[103.5, 54.5], [106.5, 54.5]])
    assert _on_dashes(plates(lost), lost, xy).tolist() == [True, False]
    lost[4, 6] = 100
    assert _on_dashes(plates(lost), lost, xy).tolist() == [True, True]


def test_a_weak_dash_far_enough_from_strong_ones_is_one():
    """Five pixels from one on each side, above and below: sums of three by three begin four pixels away."""
    lost = np.zeros((17, 17), np.uint8)
    lost[8, [3, 13]] = lost[[3, 13], 8] = 200
    lost[8, 8] = 20
    assert _on_dashes(plates(lost), lost, np.array([[108.5, 58.5]])).tolist() == [True]


def points(*stretches: tuple[int, float, float, float], dashed: bool = False) -> _Points:
    """Points each half millimetre along x: line, from, to, y."""
    xy, line = [], []
    for number, x0, x1, y in stretches:
        own = np.arange(x0 + 0.25, x1, 0.5)
        xy.append(np.column_stack([own, np.full(len(own), y)]))
        line += [number] * len(own)
    return _Points(np.concatenate(xy), np.array(line), np.full(len(line), dashed))


def told(lost: _Points) -> tuple[Any, str, list[tuple[float, ...]]]:
    job: Any = SimpleNamespace(page=SimpleNamespace(number=2))
    found = _knocked_out(job, "Cutting", lost)
    assert {place.separation for place in found.places} == {"Cutting"}
    assert found.facts["length"] == f"{found.value:.0f} mm"
    return found.value, str(found.facts["lines"]), [place.box_mm for place in found.places]


@pytest.mark.parametrize(
    ("lost", "length", "lines", "longest"),
    [
        (points((0, 10, 20, 7)), 10, 1, (10.25, 19.75)),
        (points((0, 10, 20, 7), (1, 30, 50, 7)), 30, 2, (30.25, 49.75)),
        (points((0, 10, 20, 7), (1, 30, 50, 7), (1, 51, 52, 7)), 31, 2, (30.25, 51.75)),
        (points((0, 10, 20, 7), (0, 31, 50, 7)), 29, 2, (31.25, 49.75)),
        (points((0, 10, 20, 7), (0, 20, 50, 9)), 40, 2, (20.25, 49.75)),
        (points((0, 10, 20, 7), (0, 29, 50, 7), dashed=True), 31, 1, (10.25, 49.75)),
        (points((0, 10, 20, 7), (0, 29, 50, 9), dashed=True), 31, 1, (10.25, 49.75)),
        (points((0, 10, 20, 7), (0, 31, 50, 7), dashed=True), 29, 2, (31.25, 49.75)),
    ],
    ids=["one", "two lines", "two lines, one with a gap", "one line with a wide gap", "one line that jumps",
         "dashes of one line", "dashes along a curve", "dashes too far apart"],
)  # fmt: skip
def test_what_is_knocked_out_is_told_by_the_line(lost, length, lines, longest):
    value, words, boxes = told(lost)
    assert value == length
    assert words == f"{lines} line{'s' * (lines > 1)}"
    assert len(boxes) == lines
    assert (boxes[0][0], boxes[0][2]) == longest


def test_of_many_lines_the_longest_are_shown():
    many = points(*((n, 10.0, 12.0 + n, 5.0 + 20 * n) for n in range(13)))
    value, words, boxes = told(many)
    assert value == sum(2 + n for n in range(13))
    assert words.startswith("13 lines")
    assert "12" in words
    assert len(boxes) == 12
    assert boxes[0] == (10.25, 245.0, 23.75, 245.0)


def test_points_of_objects_stand_line_by_line():
    """A dashed stroke round a corner, a plain one, and words, of which there is the box."""
    paths = {2: [np.array([(10, 5), (11, 5), (11, 6.5)], float)], 5: [np.array([(20, 8), (20, 9)], float)], 7: []}
    objects: Any = SimpleNamespace(
        paths=lambda rows: [paths[row] for row in rows],
        dashed=np.array([False, False, True, False, False, False, False, False]),
        shown_mm=np.tile(np.array([30, 40, 31, 40.5], np.float32), (8, 1)),
    )
    found = _Points.of(objects, np.array([2, 5, 7]))
    assert found.line.tolist() == [0, 0, 1, 1, 1, 2, 2, 3, 4, 4, 5, 6, 6]
    assert found.dashed.tolist() == [True] * 5 + [False] * 8
    assert found.xy[:7].tolist() == [[10.25, 5], [10.75, 5], [11, 5.25], [11, 5.75], [11, 6.25], [20, 8.25], [20, 8.75]]
    assert shapely.MultiPoint(found.xy[7:]).bounds == (30, 40, 31, 40.5)
    picked = found.pick(found.line == 2)
    assert (picked.xy.tolist(), picked.line.tolist(), picked.dashed.tolist()) == (
        [[20, 8.25], [20, 8.75]], [2, 2], [False, False],
    )  # fmt: skip
    assert len(_Points.of(objects, np.zeros(0, int)).xy) == 0


# The measure ------------------------------------------------------------------------------------------------------

CUT = shapely.box(5, 7, 55, 37)


class Knocked(Scene):
    """A page on which lines of the die take ink away; ``without`` them the ground is whole."""

    def plates(self, dpi: float, without: frozenset[str] = frozenset()) -> Plates:
        self.asked.append({"without": without})
        return Scene({"Cyan": ground}).drawn((0.0, 0.0, 60.0, 44.0), dpi)

    def window(
        self, box: Any, dpi: float, without: frozenset[str] = frozenset(), edges: str = "smooth", turned: int = 0
    ) -> Plates:
        inks = {"Cyan": ground} if without else self.inks
        return Scene(inks).drawn(box, dpi)


def ground(x: Any, y: Any) -> Any:
    return (x > 10) & (y > 2)


def knocked_out(*rows: tuple[Any, tuple[float, ...], Any], lost: Any = None, overprint: Any = ()) -> list[Any]:
    """Lines as rectangles of the table; where they lie, or where ``lost`` says, the ground is gone."""
    objects = table(*rows, overprint=overprint)  # type: ignore[arg-type]
    objects.dashed = np.zeros(len(rows), bool)

    def left(x, y):
        gone = np.zeros(np.broadcast(x, y).shape, bool)
        for x0, y0, x1, y1 in lost if lost is not None else [box for _, box, _ in rows]:
            gone |= (x > x0) & (x < x1) & (y > y0) & (y < y1)
        return ground(x, y) & ~gone

    scene: Any = Knocked({"Cyan": left})
    scene.objects, scene.separations, scene.over_bounds = objects, SEPARATIONS, []
    job: Any = SimpleNamespace(page=scene, plates=scene.drawn((0.0, 0.0, 60.0, 44.0), 100.0), inside_shape=CUT)
    return die_line_knocking_out(job, kinds=("cut",), beyond_mm=1.0)


LEVEL = (20.0, 20.0, 30.0, 20.5)


@pytest.mark.parametrize(
    ("row", "length"),
    [
        ((Painted.FILL, LEVEL, DIE), 21), ((Painted.FILL, LEVEL, MOSS), None),
        ((Painted.FILL, (2, 20, 9, 20.5), DIE), None),
        ((Painted.FILL, (50, 20, 59.5, 20.5), DIE), 2 * 6 + 0.5), ((Painted.FILL, (20, 38.2, 30, 38.7), DIE), None),
        ((Painted.FILL, (20, 37.4, 30, 37.9), DIE), 21),
    ],
    ids=["over the ground", "an ink", "beside the ground", "up to 1 mm outside the cut", "farther outside",
         "just outside"],
)  # fmt: skip
def test_lines_that_take_ink_away_are_measured_round_their_outline(row, length):
    found = knocked_out(row)
    assert [own.value for own in found] == ([] if length is None else [pytest.approx(length, abs=1.1)])
    assert [own.facts["ink"] for own in found] == ["Cutting"] * len(found)
    assert knocked_out(row, overprint=[0]) == []


def test_lines_that_take_nothing_away_are_not_told():
    assert knocked_out((Painted.FILL, LEVEL, DIE), lost=[]) == []
    assert knocked_out((Painted.FILL, LEVEL, DIE), lost=[(40, 30, 50, 33)]) == []
    [half] = knocked_out((Painted.FILL, LEVEL, DIE), lost=[(20, 19, 25, 22)])
    assert half.value == pytest.approx(10.5, abs=1.1)
