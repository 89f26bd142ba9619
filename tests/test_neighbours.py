"""Bleed of one blank in another: stations that face each other, how deep ink reaches, who painted it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString

from preflight.artwork.page.objects import Painted
from preflight.carton.die import Blank, CutEdge, Die
from preflight.measures import neighbours
from preflight.measures.neighbours import _depth, _FacingStations, bleed_into_neighbour
from tests.test_object_places import spot, table, thing
from tests.test_overlaps import RectPage, Rects
from tests.test_units import job

RIGHT = LineString([(40, 10), (40, 50)])
"""The right side of the first blank, which lies on its left."""
FIRST = Blank(1, shapely.box(10, 10, 40, 50), MultiLineString(), edges=(CutEdge(RIGHT, "outer", 4.0),))
SECOND = Blank(2, shapely.box(44, 12, 80, 60), MultiLineString())


def facing(*edges: CutEdge, gutter: float = 5.0) -> _FacingStations:
    return _FacingStations.of([replace(SECOND, number=7), replace(FIRST, edges=edges)], gutter)


def test_stations_stand_a_millimetre_apart_and_look_out_of_their_blank():
    short = LineString([(30, 10), (27.4, 10)])
    stations = facing(CutEdge(RIGHT, "outer", 4.0), CutEdge(short, "outer", 2.0))
    assert len(stations.at) == 43
    assert stations.at[[0, 39, 40, 42]] == pytest.approx(np.array([(40, 10.5), (40, 49.5), (29.5, 10), (27.5, 10)]))
    assert stations.outward[[0, 40]] == pytest.approx(np.array([(1, 0), (0, 1)]))
    assert stations.gap_mm[[0, 39, 40]].tolist() == [4, 4, 2]
    assert stations.edge[[0, 39, 40, 42]].tolist() == [0, 0, 1, 1]
    assert set(stations.blank.tolist()) == {1}


@pytest.mark.parametrize(
    ("edge", "faces"),
    [
        (CutEdge(RIGHT, "outer", 5.0), True),
        (CutEdge(RIGHT, "outer", 5.01), False),
        (CutEdge(RIGHT, "outer", 0.0), False),
        (CutEdge(RIGHT, "outer", 0.01), True),
        (CutEdge(RIGHT, "outer", None), False),
        (CutEdge(RIGHT, "cut-out", 4.0), False),
        (CutEdge(LineString([(40, 10), (40, 10.4)]), "outer", 4.0), False),
        (CutEdge(LineString([(40, 10), (40, 10.6)]), "outer", 4.0), True),
    ],
)
def test_only_outer_edges_with_something_near_face_it(edge, faces):
    assert bool(len(facing(edge).at)) is faces


def test_some_stations_and_places_out_of_them():
    stations = facing(CutEdge(RIGHT, "outer", 4.0))
    some = stations.pick(np.arange(40) % 20 == 3)
    assert some.at.tolist() == [[40, 13.5], [40, 33.5]]
    assert some.out(-0.5).tolist() == [[39.5, 13.5], [39.5, 33.5]]
    assert some.out(np.array([1.0, 2.0])).tolist() == [[41, 13.5], [42, 33.5]]


@pytest.mark.parametrize(
    ("change", "first", "depth"),
    [
        ([0, 0, 0, 100, 200, 200, 200], 3, 1.15),
        ([0, 0, 0, 50, 200, 200, 200], 3, 1.15 + 0.25 * 0.25),
        ([0, 0, 0, 150, 200, 200, 0], 3, 1.15 - 0.25 * 0.25),
        ([0, 0, 0, 200, 200, 200, 200], 3, 1.025),
        ([0, 0, 0, 0, 0, 0, 100], 6, 1.775),
        ([0, 20, 0, 0, 40, 40, 40], 4, 1.275 - 0.125),
    ],
    ids=["half of a step", "a quarter", "three quarters", "at once", "at the last", "a little before"],
)
def test_how_deep_ink_reaches_before_it_changes(change, first, depth):
    """Depths are 0.4, 0.65, 0.9 mm …; where it is half changed it ends."""
    found = _depth(np.array([change], float).T, np.array([first]))
    assert found.tolist() == [pytest.approx(depth)]


def sheet(
    rects: Rects, *things: dict[str, Any], first: Blank = FIRST, more: tuple[Blank, ...] = (), **inks: Rects
) -> Any:
    page = RectPage(100, 70, {"Rust": rects, **inks})
    page.objects = table(*things)
    die = Die("stated", "", blanks=(FIRST, SECOND))
    return job("Rust", *inks, page=page, die=die)


def told(
    its_job: Any, *, gutter_mm: float = 6.0, deep_mm: float = 4.0, along_mm: float = 5.0, kinds: Any = ("spot",)
) -> Any:
    return bleed_into_neighbour(its_job, kinds=kinds, gutter_mm=gutter_mm, deep_mm=deep_mm, along_mm=along_mm)


def bleeding(to: float) -> tuple[float, float, float, float]:
    """Ink of the second blank with its bleed, which runs to the left as far as is said."""
    return (to, 8.0, 84.0, 64.0)


def printed(to: float) -> Any:
    return sheet([(bleeding(to), 1.0)], thing(bleeding(to), spot("Rust")))


@pytest.mark.parametrize("to", [38.5, 37.8, 37.0])
def test_bleed_of_the_other_blank_is_found_with_its_depth(to):
    reading = told(printed(to)).readings[0]
    assert reading.value == pytest.approx(40 - to, abs=0.11)
    assert (reading.group, reading.known) == ("1 2", "stated")
    assert (reading.facts["blank"], reading.facts["other"], reading.facts["gutter"]) == (1, 2, "4.0 mm")
    x0, y0, x1, y1 = reading.places[0].box_mm
    assert (x0, y0, x1, y1) == pytest.approx((to, 12.5, 40, 49.5), abs=0.15)
    assert reading.places[0].path == "blank 1"


@pytest.mark.parametrize(
    ("its_job", "more"),
    [
        (printed(40.5), {}),
        (printed(39.9), {}),
        (printed(38.5), {"gutter_mm": 3.9}),
        (printed(34.0), {}),
        (printed(38.5), {"kinds": ("process",)}),
        (printed(38.5), {"along_mm": 38.5}),
        (printed(5.0), {}),
        (sheet([((38.5, 8, 84, 64), 0.13)], thing(bleeding(38.5), spot("Rust"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing((38.5, 8, 43, 64), spot("Rust"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing((30, 8, 84, 64), spot("Rust"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing(bleeding(39.0), spot("Rust"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Rust")), thing((8, 8, 42, 52), spot("Rust"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Moss"))), {}),
        (sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Rust"), painted=Painted.STROKE, outline=[])), {}),
        (sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Rust"), visible=False)), {}),
    ],
    ids=["it ends in the gutter", "it ends at the cut", "the gutter is wide", "deeper than is looked", "other kinds",
         "too short", "one ground on both", "too light", "an object that ends in the gutter",
         "an object that goes on", "an object that ends before the ink", "the blank's own object lies over it",
         "an object in another ink", "a stroke", "nothing that shows"],
)  # fmt: skip
def test_what_is_no_bleed_of_the_other_blank(its_job, more):
    found = told(its_job, **more)
    assert (list(found.readings), list(found.gaps)) == ([], [])


def test_as_long_as_it_has_to_be():
    """The second blank begins at 12 mm, so 38 stations of the first one face it."""
    assert len(told(printed(38.5), along_mm=37.0).readings) == 1
    assert len(told(printed(38.5), along_mm=38.0).readings) == 1


def test_where_the_ink_is_another_the_run_is_parted():
    """Between 28 and 31 mm there is no bleed."""
    parts: Rects = [((38.5, 8, 84, 28), 1.0), ((38.5, 31, 84, 64), 1.0), ((44, 8, 84, 64), 1.0)]
    its_job = sheet(parts, thing(bleeding(38.5), spot("Rust")))
    found = told(its_job).readings
    assert [(one.places[0].box_mm[1], one.places[0].box_mm[3]) for one in found] == [
        (pytest.approx(12.5, abs=1), pytest.approx(27.5, abs=1)), (pytest.approx(31.5, abs=1), pytest.approx(49.5)),
    ]  # fmt: skip


def test_an_edge_that_is_stepped_is_two_runs():
    parts: Rects = [((38.5, 8, 84, 30), 1.0), ((37.5, 30, 84, 64), 1.0)]
    things = [thing((38.5, 8, 84, 30), spot("Rust")), thing((37.5, 30, 84, 64), spot("Rust"))]
    found = told(sheet(parts, *things)).readings
    assert [one.value for one in found] == [pytest.approx(1.5, abs=0.11), pytest.approx(2.5, abs=0.11)]


def test_another_colour_of_the_first_blank_ends_the_bleed_as_bare_board_does():
    mine: Rects = [((5, 8, 38.5, 52), 1.0)]
    its_job = sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Rust")), Moss=mine)
    assert [one.value for one in told(its_job).readings] == [pytest.approx(1.5, abs=0.11)]


def test_one_blank_has_no_neighbour():
    its_job = printed(38.5)
    alone = replace(its_job, die=Die("stated", "", blanks=(FIRST,)))
    assert told(alone).readings == []


def test_more_objects_than_are_looked_through_leave_a_gap(monkeypatch):
    small = [thing((39, 20, 39.1, 40), spot("Rust"), shown=(30, 20, 45, 40))] * 3
    its_job = sheet([(bleeding(38.5), 1.0)], thing(bleeding(38.5), spot("Rust")), *small)
    monkeypatch.setattr(neighbours, "MOST_LOOKED_THROUGH", 4)
    assert len(told(its_job).readings) == 1
    monkeypatch.setattr(neighbours, "MOST_LOOKED_THROUGH", 3)
    found = told(its_job)
    assert (list(found.readings), len(found.gaps), len(found.gaps[0].places)) == ([], 1, 1)


def levels(theirs: float, bleed: float, mine: float = 0.0) -> Any:
    """Ink of the second blank, of its bleed in the gutter and in the first blank, and of the first blank itself."""
    rects = [((44.0, 8.0, 84.0, 64.0), theirs), ((38.5, 8.0, 44.0, 64.0), bleed), ((5.0, 8.0, 44.0, 52.0), mine)]
    return sheet([(box, level / 255) for box, level in rects], thing(bleeding(38.5), spot("Rust")))


@pytest.mark.parametrize(
    ("theirs", "bleed", "mine", "found"),
    [
        (200, 192, 0, True),
        (200, 191, 0, False),
        (192, 200, 0, True),
        (191, 200, 0, False),
        (38, 38, 0, True),
        (37, 37, 0, False),
        (200, 200, 162, True),
        (200, 200, 163, False),
    ],
)
def test_two_places_have_one_colour_up_to_eight_levels_and_two_from_thirty_eight(theirs, bleed, mine, found):
    assert bool(told(levels(theirs, bleed, mine)).readings) is found


@pytest.mark.parametrize(("end", "found"), [(38.0, False), (38.2, True), (38.8, True), (39.0, False)])
def test_an_object_ends_where_its_ink_does_to_four_tenths_of_a_millimetre(end, found):
    its_job = sheet([(bleeding(38.5), 1.0)], thing(bleeding(end), spot("Rust")))
    assert bool(told(its_job).readings) is found


@pytest.mark.parametrize(("step", "runs"), [(0.2, 1), (0.4, 2)])
def test_bleed_that_ends_along_the_cut_is_steady(step, runs):
    parts: Rects = [((38.5, 8, 84, 30), 1.0), ((38.5 - step, 30, 84, 64), 1.0)]
    things = [thing((38.5, 8, 84, 30), spot("Rust")), thing((38.5 - step, 30, 84, 64), spot("Rust"))]
    assert len(told(sheet(parts, *things)).readings) == runs
