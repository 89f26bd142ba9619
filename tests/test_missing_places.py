"""Which places of a page a measure could not see, and what it has found elsewhere."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import shapely
from shapely import LineString, MultiLineString

from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Blank, Die, OpenCut
from preflight.findings import Place, Reading
from preflight.measures import declared
from preflight.measures.missing_places import beyond_open_cuts, box_of, seen, unseen_places

CUT = shapely.box(30, 20, 90, 60)
DIE = Die("read", "", blanks=(Blank(1, CUT, MultiLineString()),))
Box = tuple[float, float, float, float]


def nothing(job):
    """Measures nothing."""
    return []


def measure(*rests_on: Any, within: str = "inside") -> Any:
    return declared(nothing, name="nothing", unit="mm", rests_on=rests_on, within=within)


def job(*places: UncertainPlace, die: Die = DIE, artwork_is: str = "sheet") -> Any:
    page = SimpleNamespace(uncertain=list(places), box_mm=(0.0, 0.0, 140.0, 110.0), number=3)
    return SimpleNamespace(page=page, die=die, artwork_is=artwork_is, inside_shape=CUT)


def place(box: Box, **more: Any) -> UncertainPlace:
    return UncertainPlace("nobody knows", box, **more)


HERE: Box = (40, 30, 50, 40)


@pytest.mark.parametrize(
    ("rests_on", "more", "matters"),
    [
        (("plates",), {}, True),
        (("plates",), {"inks": ("Rust",)}, True),
        (("objects",), {}, False),
        (("objects",), {"unread": True}, True),
        (("objects",), {"inks": ("Rust",), "unread": True}, True),
        (("inks",), {}, True),
        (("inks",), {"inks": ("Rust",)}, False),
        (("inks",), {"inks": ("Rust",), "unread": True}, False),
        (("inks", "objects"), {"inks": (), "unread": False}, False),
        ((), {"unread": True}, False),
    ],
)
def test_a_place_matters_to_what_rests_on_what_is_missing(rests_on, more, matters):
    one = place(HERE, **more)
    assert unseen_places(job(one), measure(*rests_on)) == ([one] if matters else [])


@pytest.mark.parametrize(
    ("box", "page", "inside", "cut"),
    [
        (HERE, True, True, False),
        ((90, 62, 95, 64), True, True, True),
        ((40, 64.9, 50, 70), True, True, True),
        ((40, 65.1, 50, 70), True, False, False),
        ((95.1, 30, 99, 40), True, False, False),
        ((10, 30, 24.9, 40), True, False, False),
        ((36, 30, 50, 40), True, True, False),
        ((34.9, 30, 50, 40), True, True, True),
        ((150, 30, 160, 40), False, False, False),
    ],
    ids=["well inside", "at the corner of the cut", "5 mm outside", "farther outside", "at the right", "at the left",
         "6 mm inside the cut", "5 mm inside the cut", "off the page"],
)  # fmt: skip
def test_a_place_matters_where_the_measure_looks(box, page, inside, cut):
    for zone, expected in (("page", page), ("inside", inside), ("cut", cut)):
        assert bool(unseen_places(job(place(box)), measure("plates", within=zone))) is expected, zone


@pytest.mark.parametrize(("artwork_is", "all_of_it"), [("sheet", True), ("plate", True), ("one-up", False)])
def test_without_a_die_a_sheet_is_looked_at_all_over(artwork_is, all_of_it):
    far = job(place((100, 80, 110, 90)), die=Die("none", ""), artwork_is=artwork_is)
    for zone in ("inside", "cut"):
        assert bool(unseen_places(far, measure("plates", within=zone))) is all_of_it


def test_where_nothing_is_missing_there_is_nothing_unseen():
    assert unseen_places(job(), measure("plates")) == []


def test_what_lies_beyond_an_open_cut_is_unseen():
    fold = LineString([(30, 20), (30.5, 60)])
    die = Die("read", "", open_cuts=(OpenCut(1, (), fold, (1, 2, 29, 60)), OpenCut(2, (), fold, None)))
    found = beyond_open_cuts(job(die=die), measure("plates"))
    assert [(one.box_mm, one.page) for one in found] == [((1, 2, 29, 60), 3), ((30, 20, 30.5, 60), 3)]
    assert len(beyond_open_cuts(job(die=die), measure("inks", within="cut"))) == 2
    assert beyond_open_cuts(job(die=die), measure("plates", within="page")) == []
    assert beyond_open_cuts(job(die=die), measure()) == []


def test_the_box_of_a_shape():
    assert box_of(shapely.LineString([(3, 9), (7, 2)])) == (3, 2, 7, 9)


def reading(*boxes: Box) -> Reading:
    return Reading(1.0, "mm", tuple(Place(box) for box in boxes))


def test_places_that_are_mostly_missing_are_left_out():
    missing = [place((40, 30, 50, 40)), place((50, 30, 52, 40))]
    full, nine_tenths, less = (42, 30, 52, 40), (42.9, 31, 52.9, 39), (43.1, 31, 53.1, 39)
    assert seen([reading(full), reading(nine_tenths)], missing) == []
    assert seen([reading(less)], missing) == [reading(less)]
    assert seen([reading(full, less, nine_tenths)], missing) == [reading(less)]
    assert seen([reading()], missing) == [reading()]


def test_of_nine_tenths_and_more_nothing_is_seen():
    missing = [place((40, 30, 49, 40))]
    assert seen([reading((40, 30, 50, 40))], missing) == []
    assert seen([reading((40, 30, 50.1, 40))], missing) != []


def test_a_place_without_an_area_is_missing_where_it_meets_what_is():
    missing = [place((40, 30, 50, 40))]
    assert seen([reading((45, 20, 45, 35))], missing) == []
    assert seen([reading((55, 20, 55, 35))], missing) != []


def test_where_nothing_is_missing_all_is_seen():
    assert seen([reading(HERE)], []) == [reading(HERE)]
