"""Creases side by side and on the cut, on lines made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString

from preflight.artwork.page.objects import Painted
from preflight.carton.die import OpenCut
from preflight.measures.creases import _beside, _clusters, crease_on_the_cut, creases_side_by_side


def pairs(*lines: Any, look_mm: float = 3.0) -> list[tuple[Any, ...]]:
    """Both, where they begin and end beside each other on the first, and how far apart they are."""
    xy = np.array([[*a, *b] for a, b in lines], float)
    return [
        (int(one), int(other), *np.round([*start, *end], 6).tolist(), round(float(far), 6))
        for one, other, start, end, far in zip(*_beside(xy, look_mm), strict=True)
    ]


LEVEL = [(10, 20), (30, 20)]


@pytest.mark.parametrize(
    ("other", "found"),
    [
        ([(10, 22), (30, 22)], (10, 20, 30, 20, 2)),
        ([(30, 22), (10, 22)], (10, 20, 30, 20, 2)),
        ([(15, 17.5), (50, 17.5)], (15, 20, 30, 20, 2.5)),
        ([(5, 22), (12, 22)], (10, 20, 12, 20, 2)),
        ([(12, 22), (18, 22)], (12, 20, 18, 20, 2)),
        ([(5, 22), (10.5, 22)], (10, 20, 10.5, 20, 2)),
        ([(5, 22), (10.4, 22)], None),
        ([(10, 23), (30, 23)], (10, 20, 30, 20, 3)),
        ([(10, 23.1), (30, 23.1)], None),
        ([(12, 21), (22, 21.8)], (12, 20, 22, 20, 1.4)),
        ([(12, 21), (22, 22)], None),
        ([(20, 21), (20, 40)], None),
        ([(31, 20), (50, 20)], None),
    ],
    ids=["along all of it", "the other way round", "farther on", "before it", "within it", "for half a millimetre",
         "for less", "as far as one looks", "farther away", "4.6 degrees aslant", "5.7 degrees aslant", "across",
         "one after the other"],
)  # fmt: skip
def test_pieces_run_beside_each_other(other, found):
    assert pairs(LEVEL, other) == ([] if found is None else [(0, 1, *found)])


def test_a_slanting_pair_is_measured_across_its_own_way():
    """The first rises by 3 in 4; the second lies 2.5 mm beside it, across."""
    (one, other, *where, far), *more = pairs([(0, 0), (40, 30)], [(8 - 1.5, 6 + 2), (16 - 1.5, 12 + 2)])
    assert (one, other, more) == (0, 1, [])
    assert where == pytest.approx([8, 6, 16, 12])
    assert far == pytest.approx(2.5)


def test_each_two_of_several_are_a_pair_once():
    assert [pair[:2] for pair in sorted(pairs(LEVEL, [(10, 21), (30, 21)], [(10, 22), (30, 22)], look_mm=1.5))] == [
        (0, 1), (1, 2),
    ]  # fmt: skip


@pytest.mark.parametrize(("apart_mm", "count"), [(2.9, 1), (3.1, 2)])
def test_stretches_up_to_three_millimetres_apart_hang_together(apart_mm, count):
    start = np.array([[10, 20], [20 + apart_mm, 20], [99, 99]], float)
    end = np.array([[20, 20], [30, 20], [99, 90]], float)
    found = [members.tolist() for members in _clusters(start, end)]
    assert sorted(found) == ([[0, 1], [2]] if count == 1 else [[0], [1], [2]])
    assert list(_clusters(np.zeros((0, 2)), np.zeros((0, 2)))) == []


def job(*, crease: Any = None, blanks: Any = (), drawn: Any = (), **die: Any) -> Any:
    """A job with these crease lines (as one shape), or these drawn lines: what was painted, and points."""
    known = {
        "blanks": blanks or (SimpleNamespace(outline=shapely.box(5, 7, 65, 47)),), "uncertain": (), "open_cuts": (),
        "found": "read", "folds": {} if crease is None else {"crease": crease},
        "lines_of": {"crease": tuple(range(1, len(drawn) + 1))} if drawn else {},
    }  # fmt: skip
    objects = SimpleNamespace(
        painted=np.array([Painted.TEXT, *(what for what, _ in drawn)], np.uint8),
        paths=lambda rows: [[np.array(drawn[row - 1][1], float)] for row in rows],
    )
    page = SimpleNamespace(objects=objects, over_bounds=[], number=2)
    return SimpleNamespace(die=SimpleNamespace(**{**known, **die}), page=page)


def beside(*lines: Any, same_mm=0.2, look_mm=3.0, along_mm=5.0) -> list[Any]:
    return creases_side_by_side(job(crease=MultiLineString(lines)), same_mm=same_mm, look_mm=look_mm, along_mm=along_mm)


def test_two_creases_side_by_side_are_one_reading():
    [found] = beside(LEVEL, [(12, 22), (24, 22)], [(50, 30), (50, 45)])
    assert (found.value, found.unit, found.known) == (2.0, "mm", "read")
    assert dict(found.facts) == {"length": "12 mm", "pieces": 2}
    assert found.places[0].box_mm == pytest.approx((10, 18, 26, 22))  # 12..24 on the first, and 2 mm round it
    assert found.places[0].page == 2


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ([LEVEL, [(10, 20.2), (30, 20.2)]], []), ([LEVEL, [(10, 20.21), (30, 20.21)]], [0.21]),
        ([LEVEL, [(10, 22), (15, 22)]], [2.0]), ([LEVEL, [(10, 22), (14.9, 22)]], []),
        ([LEVEL, [(10, 22), (13, 22)], [(14, 22), (16, 22)]], [2.0]),
        ([LEVEL, [(10, 22), (13, 22)], [(17, 22), (19, 22)]], []),
        ([LEVEL, [(10, 21), (30, 21)], [(40, 40), (60, 40)], [(40, 42.5), (60, 42.5)]], [1.0, 2.5]),
    ],
    ids=["drawn twice", "not quite", "for 5 mm", "for less", "in two pieces", "in two pieces too far apart",
         "two places"],
)  # fmt: skip
def test_creases_are_beside_each_other_for_some_length(lines, found):
    assert sorted(reading.value for reading in beside(*lines)) == found


def test_without_creases_none_are_beside_each_other():
    assert creases_side_by_side(job(), same_mm=0.2, look_mm=3, along_mm=5) == []


S = Painted.STROKE


def on_cut(*drawn: Any, within_mm: float = 0.5, **die: Any) -> list[tuple[Any, Any]]:
    return [
        (reading.value, reading.places[0].box_mm)
        for reading in crease_on_the_cut(job(drawn=drawn, **die), within_mm=within_mm)
    ]


@pytest.mark.parametrize(
    ("drawn", "lengths"),
    [
        ([(S, [(10, 7), (30, 7)])], [20.0]),
        ([(S, [(10, 7.4), (30, 7.4)])], [20.0]),
        ([(S, [(10, 7.6), (30, 7.6)])], []),
        ([(S, [(10, 6.6), (30, 6.6)])], [20.0]),
        ([(Painted.FILL, [(10, 7), (30, 7)])], []),
        ([(S, [(65, 20), (65, 45)]), (S, [(30, 7), (30, 47)])], [25.0]),
        ([(S, [(65, 20), (65, 30), (50, 30)])], []),
        ([(S, [(65, 20), (65, 30), (55.5, 30)])], [10.5]),
        ([(S, [(10, 7), (30, 7)]), (S, [(32.9, 7), (40, 7)])], [27.1]),
        ([(S, [(10, 7), (30, 7)]), (S, [(33.1, 7), (40, 7)])], [20.0, 6.9]),
        ([(S, [(10, 7), (11.1, 7)])], [1.1]),
        ([(S, [(10, 7), (10.9, 7)])], []),
    ],
    ids=["on it", "0.4 mm inside", "0.6 mm inside", "0.4 mm outside", "a fill", "one of two", "less than half on it",
         "half on it", "two that hang together", "two", "1.1 mm", "0.9 mm"],
)  # fmt: skip
def test_a_crease_lies_on_the_cut(drawn, lengths):
    found = on_cut(*drawn)
    assert sorted((length for length, _ in found), reverse=True) == pytest.approx(lengths, abs=0.05)


def test_its_place_is_the_line_with_as_much_round_it():
    [(_, box)] = on_cut((S, [(65, 20), (65, 45)]))
    assert box == pytest.approx((64.5, 19.5, 65.5, 45.5))


def test_a_fold_that_a_blank_ends_in_is_no_cut():
    fold = LineString([(65, 7), (65, 47)])
    open_cuts = (OpenCut(1, (), fold, None),)
    assert on_cut((S, [(65, 20), (65, 45)]), open_cuts=open_cuts) == []
    [(length, _)] = on_cut((S, [(10, 47), (30, 47)]), open_cuts=open_cuts)
    assert length == 20


def test_without_drawn_creases_none_lies_on_the_cut():
    assert on_cut() == []
    assert on_cut((S, [(100, 100), (120, 100)])) == []
