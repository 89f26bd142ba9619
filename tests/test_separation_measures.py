"""What each separation does on the job: registration colour, names of one ink, where a name without ink occurs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import PageBoxes
from preflight.carton.die import Die
from preflight.errors import NotMeasured
from preflight.measures import separations
from preflight.measures.separations import (
    colours_that_are_no_plate,
    ink_of_each_spot,
    names_of_one_ink,
    registration_colour_inside,
    units_of_process_names,
)
from tests.test_object_places import line, registration, spot, table, text, thing
from tests.test_overlaps import RectPage, solid
from tests.test_units import job


def patch(left: float, name: str, *, low: float = 45.0, side: float = 4.0) -> dict[str, Any]:
    return thing((left, low, left + side, low + side), spot(name))


BAR = [patch(5 + 6 * at, name) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))]
"""Patches of 4 mm, 6 mm from each other."""


@pytest.mark.parametrize(
    ("things", "is_bar"),
    [
        (BAR, True),
        (BAR[:3], False),
        ([*BAR[:3], patch(23, "Rust")], False),
        ([*BAR[:3], patch(23, "Sage", side=4.31)], False),
        ([*BAR[:3], patch(23, "Sage", side=4.29)], True),
        ([*BAR[:3], patch(23, "Sage", low=45.29)], True),
        ([*BAR[:3], patch(23, "Sage", low=45.31)], False),
        ([*BAR[:3], patch(36.9, "Sage")], True),
        ([*BAR[:3], patch(37.1, "Sage")], False),
        ([*BAR[:3], {**BAR[3], "visible": False}], False),
        ([patch(5 + 14 * at, name, side=12) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))], True),
        ([patch(5 + 14 * at, name, side=12.1) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))], False),
        ([patch(5 + 3 * at, name, side=1.5) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))], True),
        ([patch(5 + 3 * at, name, side=1.4) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))], False),
        ([patch(5, name, low=8 + 6 * at) for at, name in enumerate(("Rust", "Moss", "Fern", "Sage"))], True),
    ],
    ids=["four", "three", "a colour twice", "a larger one", "a little larger", "a little higher", "higher",
         "eight times their side off", "farther off", "one that does not show", "as large as patches are", "larger",
         "as small as patches are", "smaller", "one above the other"],
)  # fmt: skip
def test_patches_in_a_line_are_a_colour_bar(things, is_bar):
    objects = table(*things)
    assert separations._in_a_colour_bar(objects, np.array([0])) is is_bar
    both = table(*things, thing((60, 5, 69, 40), spot("Rust")))
    assert not separations._in_a_colour_bar(both, np.array([0, len(things)]))


def test_nothing_is_no_colour_bar():
    assert separations._in_a_colour_bar(table(*BAR), np.array([], int)) is False


@pytest.mark.parametrize(
    ("legend", "words"),
    [
        (None, "colour bar or marks"),
        (shapely.LineString(), "colour bar or marks"),
        (shapely.LineString([(20, 30), (40, 44)]), "legend of the die"),
        (shapely.LineString([(27, 30), (40, 44)]), "colour bar or marks"),
    ],
    ids=["no legend", "an empty one", "all of them are in it", "one is beside it"],
)
def test_what_is_painted_outside_the_cut_only(legend, words):
    its_job = job("Rust", die=Die("read", "", left_out=legend))
    objects = table(thing((21, 31, 25, 40), spot("Rust")), thing((30, 35, 45, 60), spot("Rust")))
    assert words in separations._outside(its_job, objects, np.array([0, 1]))
    bar = separations._outside(job("Rust"), table(*BAR), np.array([0]))
    assert "row of patches" in bar


def inside(*things: dict[str, Any], **inks: Any) -> Any:
    """A page of 70 x 50 mm of which 10 mm are cut off at the left and 5 mm all round else."""
    page = RectPage(70, 50, inks)
    page.objects = table(*things)
    its_job = job(*inks, page=page)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=(10, 5, 65, 45))
    return its_job


MARK = (5.0, 20.0, 20.0, 22.0)
"""10 x 2 mm of it are inside the cut."""


@pytest.mark.parametrize(
    ("mark", "rust", "moss", "area"),
    [
        (thing(MARK, registration()), solid(MARK), solid(MARK), 20.0),
        (thing(MARK, registration()), solid(MARK), [], None),
        (thing(MARK, registration(0.0)), solid(MARK), solid(MARK), None),
        (thing(MARK, registration(), visible=False), solid(MARK), solid(MARK), None),
        (thing(MARK, spot("Rust")), solid(MARK), solid(MARK), None),
        (thing((2, 20, 9, 22), registration()), solid(MARK), solid(MARK), None),
        (text(MARK, colour=registration()), solid((10, 20, 13, 22)), solid((10, 20, 18, 22)), 6.0),
        (text(MARK, colour=registration(0.5)), [((10, 20, 13, 22), 0.5)], [((10, 20, 13, 22), 0.5)], 6.0),
        (thing(MARK, registration(), painted=Painted.IMAGE, outline=[]), [((10, 20, 15, 22), 0.3)],
         solid((10, 20, 15, 22)), 10.0),
        (line((5, 21), (20, 21), width=1.0, colour=registration()), solid(MARK), solid(MARK), 10.4),
        (text(MARK, colour=registration()), solid((0, 10, 40, 40)), solid((0, 10, 40, 40)), 20.0),
    ],
    ids=["a fill", "not on all plates", "at 0 %", "not shown", "another colour", "outside the cut",
         "text, as much as its letters have", "text at a half", "a picture, where it has any ink", "a line",
         "text, and no more than its box"],
)  # fmt: skip
def test_registration_colour_inside_the_cut(mark, rust, moss, area):
    readings = registration_colour_inside(inside(thing((50, 30, 60, 40)), mark, Rust=rust, Moss=moss))
    assert len(readings) == (area is not None)
    if area is not None:
        assert readings[0].value == pytest.approx(area, rel=0.17)
        assert (readings[0].facts["objects"], readings[0].facts["plates"]) == (1, 2)
        assert readings[0].places[0].separation == "All"
        assert readings[0].known == "assumed"


def test_marks_are_added_up_but_those_that_are_covered_and_those_of_the_die():
    both = solid(MARK, (30, 20, 40, 22), (50, 20, 60, 22), (30, 30, 40, 32))
    marks = [thing(box, registration()) for box, _ in both]
    its_job = inside(*marks, thing((29, 29, 41, 33)), Rust=both, Moss=both)
    reading = registration_colour_inside(its_job)[0]
    assert reading.value == pytest.approx(60, rel=0.05)
    assert reading.facts["objects"] == 3
    of_die = replace(its_job, die=Die("none", "", lines_of={"cut": (0,), "crease": (2,)}))
    reading = registration_colour_inside(of_die)[0]
    assert reading.value == pytest.approx(20, rel=0.05)
    assert reading.facts["objects"] == 1


def test_registration_colour_on_a_page_without_plates_counts_all_the_same():
    reading = registration_colour_inside(inside(thing(MARK, registration())))[0]
    assert (reading.value, reading.facts["plates"]) == (20, 0)


def test_colours_that_are_no_plate_are_counted_by_their_space():
    def coloured(space: str, box: Any, **keys: Any) -> dict[str, Any]:
        return thing(box, Colour(f"Device{space}", (), not_a_plate=space), **keys)

    its_job = inside(
        coloured("RGB", (20, 20, 30, 30)), coloured("Lab", (30, 20, 40, 30)), thing((20, 20, 30, 30)),
        coloured("RGB", (40, 20, 45, 30)), coloured("RGB", (2, 20, 9, 30)), coloured("RGB", (20, 20, 22, 30), alpha=0),
        coloured("Hue", (66, 20, 69, 30)),
    )  # fmt: skip
    readings = colours_that_are_no_plate(its_job)
    assert [(one.group, one.value, one.facts["space"]) for one in readings] == [("Lab", 1, "Lab"), ("RGB", 2, "RGB")]
    assert [place.box_mm for place in readings[1].places] == [(20, 20, 30, 30), (40, 20, 45, 30)]


def test_names_of_one_ink_are_one_reading_a_group():
    its_job = job("Cyan", "Rust", "Moss", "RUST C", "moss", "Fern", prints={"Fern": None})
    readings = names_of_one_ink(its_job)
    assert [(one.value, one.group, one.known) for one in readings] == [
        (2, "Rust, RUST C", "assumed"), (2, "Moss, moss", "assumed"),
    ]  # fmt: skip
    assert readings[0].facts["names"] == "Rust and RUST C"
    assert str(readings[0].facts["areas"]).count("0.5 cm²") == 2
    assert names_of_one_ink(job("Rust", "RUST C"))[0].known == "read"
    assert names_of_one_ink(job("Rust", "RUST C", prints={"RUST C": False})) == []
    assert names_of_one_ink(job("Rust", units=["Rust", {"overall": "RUST C"}])) == []


@pytest.mark.parametrize(
    ("names", "more", "expected"),
    [
        (["Cyan", "Schwarz"], {}, [("Schwarz", 1, "Black")]),
        (["Cyan", "Schwarz", "Gelb"], {}, [("Schwarz", 1, "Black"), ("Gelb", 1, "Yellow")]),
        (["Cyan", "Schwarz"], {"units": ["Schwarz", "Cyan", "Schwarz"]}, [("Schwarz", 2, "Black")]),
        (["Cyan", "Schwarz"], {"known": {"Schwarz": "stated"}}, []),
        (["Black", "black"], {}, []),
        (["Cyan", "Schwarz"], {"prints": {"Schwarz": False}}, []),
        (["Cyan", "Rust"], {"units": ["Cyan", {"overall": "Schwarz"}]}, []),
        (["Cyan", "Black"], {}, []),
    ],
)
def test_units_that_inks_take_which_bear_the_name_of_a_process_ink(names, more, expected):
    found = units_of_process_names(job(*names, **more))
    assert [(one.group, one.value, one.facts["process"]) for one in found] == expected
    assert all(one.facts["colour"] == str(one.facts["process"]).lower() for one in found)


def test_the_ink_of_each_spot_is_told_with_where_its_name_occurs():
    page = RectPage(70, 50, {})
    page.objects = table(thing((20, 20, 30, 30), spot("Fern", 0.0)))
    its_job = job("Cyan", "Rust", "Moss", "Fern", "Cutting", prints={"Moss": None, "Fern": False}, page=page)
    readings = {one.group: one for one in ink_of_each_spot(its_job)}
    assert list(readings) == ["Rust", "Fern"]
    assert (readings["Rust"].value, readings["Rust"].places, "where" in readings["Rust"].facts) == (50.0, (), False)
    assert "0 %" in str(readings["Fern"].facts["where"])
    assert [place.box_mm for place in readings["Fern"].places] == [(20, 20, 30, 30)]


def test_where_no_spot_is_known_to_print_or_not_the_die_is_asked_for():
    unknown = replace(job("Rust", "Moss", prints={"Rust": None, "Moss": None}), artwork_is="sheet")
    with pytest.raises(NotMeasured):
        ink_of_each_spot(unknown)
    in_part = replace(job("Rust", "Moss", prints={"Rust": None}), artwork_is="sheet")
    assert [one.group for one in ink_of_each_spot(in_part)] == ["Moss"]
    assert ink_of_each_spot(replace(job("Cyan", prints={"Cyan": None}), artwork_is="sheet")) == []


OUT = (2.0, 20.0, 9.0, 22.0)


@pytest.mark.parametrize(
    ("things", "area", "told"),
    [
        ([], 0.0, "resources"),
        ([thing((20, 20, 30, 30), spot("Moss"))], 0.0, "resources"),
        ([thing((20, 20, 30, 30), spot("Rust"), alpha=0)], 0.0, "transparent"),
        ([thing((20, 20, 30, 30), spot("Rust", 0.0))], 0.0, "0 %"),
        ([thing((20, 20, 30, 30), spot("Rust"), alpha=0), thing((20, 20, 30, 30), spot("Rust", 0.0))], 0.0, "0 %"),
        ([thing(OUT, spot("Rust"))], 0.0, "outside the cut"),
        ([thing(OUT, spot("Rust")), thing((20, 20, 30, 30), spot("Rust", 0.0))], 0.0, "outside the cut"),
        ([thing(OUT, spot("Rust")), thing((20, 20, 30, 30), spot("Rust", 0.5))], 0.04, "speck of 0.04 mm²"),
        ([thing((20, 20, 30, 30), spot("Rust", 0.019))], 0.0, "1.9 %"),
        ([thing((20, 20, 30, 30), spot("Rust", 0.01)), thing((20, 20, 30, 30), spot("Rust", 0.015))], 0.0, "1.5 %"),
        ([thing((20, 20, 30, 30), spot("Rust", 0.01)), thing((20, 20, 30, 30), spot("Rust", 0.02))], 0.0, "unseen"),
        ([thing((20, 20, 30, 30), spot("Rust"))], 0.0, "unseen"),
    ],
)
def test_where_the_name_of_an_ink_occurs_that_does_not_print(monkeypatch, things, area, told):
    asked = []

    def unseen(its_job, name, rows):
        asked.append((name, rows.tolist()))
        return "unseen"

    monkeypatch.setattr(separations, "why_not_seen", unseen)
    its_job = inside(*things, Rust=[])
    its_job.page.layers = []
    ink = replace(its_job.inks[0], prints=False, area_mm2=area)
    assert told in separations.where_named(its_job, ink)
    assert bool(asked) is (told == "unseen")
    assert all(one == ("Rust", list(range(len(things)))) for one in asked)
