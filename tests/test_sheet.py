"""Where the sheet lies on a page or a plate, how far its ink is from the gripper edge, what the press prints of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Blank, Die
from preflight.errors import NotMeasured
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.measures import sheet as sheet_measures
from preflight.measures.sheet import (
    SheetOnPage,
    caliper,
    ink_into_gripper,
    ink_past_printable_area,
    printable_of,
    sheet_on_page,
    sheet_size,
)
from preflight.quantities import Size
from tests.house import units
from tests.test_overlaps import RectPage, Rects, solid

BOX = (40.0, 30.0, 540.0, 350.0)
"""500 x 320 mm, somewhere on a plate."""
EDGES = ("bottom", "top", "left", "right")


def press(**keys: Any) -> Press:
    return Press.model_validate(units(**keys))


def ticket(**keys: Any) -> Ticket:
    return Ticket.model_validate(keys)


def job(
    inks: dict[str, Rects] | None = None,
    *,
    size: tuple[float, float] = (500.0, 320.0),
    die: Die | None = None,
    press_keys: dict[str, Any] | None = None,
    **more: Any,
) -> Job:
    """A page of rectangles as a sheet, if nothing else is said; further keys are the ticket's."""
    page: Any = RectPage(*size, inks or {})
    page.boxes, page.over_bounds, page.uncertain, page.separations = PageBoxes(page.box_mm), [], [], []
    nobody: Any = None
    return Job(
        nobody,
        page,
        die or Die("none", "there is none"),
        press(**press_keys or {}),
        ticket(**more) if more else None,
        artwork_is=more.get("artwork_is", "sheet"),
        artwork_is_known="stated",
    )


@pytest.mark.parametrize(
    ("edge", "expected"),
    [
        ("bottom", (47, 42, 533, 65)),
        ("top", (47, 315, 533, 338)),
        ("left", (52, 37, 75, 343)),
        ("right", (505, 37, 528, 343)),
    ],
)
def test_a_rectangle_of_the_sheet_is_counted_from_its_gripper_edge(edge, expected):
    """7 mm from both sides, from 12 to 35 mm along the travel."""
    assert SheetOnPage(BOX, edge, "stated").rectangle(7, 12, 35) == expected


@pytest.mark.parametrize(
    ("edge", "near", "far"),
    [
        ("bottom", [12, 10, 8, 6], [14, 12, 10, 8]),
        ("top", [306, 308, 310, 312], [308, 310, 312, 314]),
        ("left", [20, 22, 24], [22, 24, 26]),
        ("right", [478, 476, 474], [480, 478, 476]),
    ],
)
def test_both_sides_of_pixels_have_a_depth_from_the_gripper_edge(edge, near, far):
    """Pixels of 2 mm, three across from 60 mm, four down from 44 mm."""
    window = Plates((), np.zeros((0, 4, 3), np.uint8), 12.7, (60.0, 36.0, 66.0, 44.0))
    assert SheetOnPage(BOX, edge, "stated").depth_from_gripper(window) == pytest.approx(np.array([near, far]))


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ({"edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"}}, (15, 10, 314)),
        ({"edges": {"gripper": "10 mm", "tail": "40 mm", "sides": "25 mm"}}, (25, 10, 280)),
        ({"edges": {"gripper": "30 mm", "tail": "6 mm", "sides": "5 mm"}}, (15, 30, 314)),
        ({"edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"}, "sheet": {"largest": "600 x 500 mm"}},
         (5, 10, 314)),
        ({"edges": {}}, (15, 0, 310)),
        ({"edges": {"tail": "6 mm"}, "sheet": {"largest": "600 x 500 mm"}}, (0, 0, 314)),
        ({"edges": {"sides": "5 mm"}, "sheet": {"largest": "600 x 500 mm"}}, (5, 0, 320)),
    ],
)  # fmt: skip
def test_what_the_press_prints_of_a_sheet(keys, expected):
    """A sheet of 500 x 320 mm; if nothing else is said, of 470 x 310 mm from the gripper margin on."""
    given = {"sheet": {"largest": "600 x 500 mm", "printable": "470 x 310 mm"}, **keys}
    assert printable_of(press(**given), Size(500, 320)) == pytest.approx(expected)


@pytest.mark.parametrize("edges", [{}, {"gripper": "10 mm"}])
def test_a_press_that_does_not_say_what_it_prints(edges):
    with pytest.raises(NotMeasured):
        printable_of(press(edges=edges, sheet={"largest": "600 x 500 mm"}), Size(500, 320))


@pytest.mark.parametrize(
    ("keys", "expected", "known"),
    [
        ({"sheet": {"size": "490 x 300 mm"}, "artwork_is": "one-up"}, (490, 300), "stated"),
        ({"artwork_is": "sheet", "gripper_edge": "top"}, (500, 320), "stated"),
        ({"artwork_is": "sheet", "gripper_edge": "bottom"}, (500, 320), "stated"),
        ({"artwork_is": "sheet", "gripper_edge": "left"}, (320, 500), "stated"),
        ({"artwork_is": "sheet", "gripper_edge": "right"}, (320, 500), "stated"),
        ({"artwork_is": "sheet"}, (500, 320), "assumed"),
        ({}, (500, 320), "assumed"),
    ],
)
def test_the_sheet_is_the_tickets_or_the_page_turned_to_its_gripper_edge(keys, expected, known):
    reading = sheet_size(job(**keys))[0]
    assert (reading.value, reading.known, reading.unit) == (expected, known, "mm")


def test_the_gripper_edge_of_what_is_taken_for_a_sheet_is_a_guess():
    guessed = replace(job(artwork_is="sheet", gripper_edge="left"), artwork_is_known="assumed")
    assert (sheet_size(guessed)[0].value, sheet_size(guessed)[0].known) == ((320, 500), "assumed")


@pytest.mark.parametrize("artwork_is", ["one-up", "plate"])
def test_a_page_that_is_no_sheet_has_no_sheet_size(artwork_is):
    with pytest.raises(NotMeasured) as raised:
        sheet_size(job(artwork_is=artwork_is))
    assert raised.value.want_of == "ticket"


@pytest.mark.parametrize(
    ("value", "expected", "end"),
    [
        ("0.86 mm", 0.86 / 0.95, "upper"),
        ("0.5 mm", 0.5 / 1.05, "lower"),
        ("0.6 mm", 0.6 / 1.05, "lower"),
        ("0.61 mm", 0.61 / 0.95, "upper"),
        ("0.2 mm", 0.2 / 1.05, "lower"),
        ("1.0 mm", 1.0 / 0.95, "upper"),
        ("0.19 mm", None, None),
        ("1.01 mm", None, None),
    ],
)
def test_a_caliper_and_what_its_tolerance_may_make_of_it(value, expected, end):
    """Of a press that takes 0.2 to 1.0 mm; out of that range nobody asks for its ends."""
    readings = caliper(job(board={"caliper": value}), tolerance_percent=5)
    assert (readings[0].value, readings[0].case) == (float(value.split()[0]), "")
    if expected is None:
        assert len(readings) == 1
    else:
        assert [(one.case, one.facts["end"]) for one in readings[1:]] == [("near an end", end)]
        assert readings[1].value == pytest.approx(expected)
    assert {one.known for one in readings} == {"stated"}


@pytest.mark.parametrize(
    ("keys", "press_keys", "want_of"),
    [
        ({}, {}, "ticket"),
        ({"board": {"surface": "white"}}, {}, "ticket"),
        ({"board": {"caliper": "0.5 mm"}}, {"board": {}}, "press"),
    ],
)
def test_a_caliper_that_nobody_states(keys, press_keys, want_of):
    with pytest.raises(NotMeasured) as raised:
        caliper(job(press_keys=press_keys, **keys), tolerance_percent=5)
    assert raised.value.want_of == want_of


@pytest.mark.parametrize(
    ("keys", "page", "box", "size"),
    [
        ({"artwork_is": "sheet"}, (500, 320), (0, 0, 500, 320), (500, 320)),
        ({"artwork_is": "sheet", "gripper_edge": "right"}, (500, 320), (0, 0, 500, 320), (320, 500)),
        ({"artwork_is": "sheet", "sheet": {"size": "501 x 319 mm"}}, (500, 320), (0, 0, 500, 320), (500, 320)),
        ({"artwork_is": "sheet", "gripper_edge": "left", "sheet": {"size": "319.5 x 500.5 mm"}}, (500, 320),
         (0, 0, 500, 320), (320, 500)),
        ({"artwork_is": "plate", "sheet": {"size": "500 x 320 mm"}}, (600, 420), (50, 44, 550, 364), (500, 320)),
        ({"artwork_is": "plate", "gripper_edge": "top", "sheet": {"size": "500 x 320 mm"}}, (600, 420),
         (50, 56, 550, 376), (500, 320)),
        ({"artwork_is": "plate", "gripper_edge": "left", "sheet": {"size": "320 x 500 mm"}}, (600, 420),
         (44, 50, 544, 370), (320, 500)),
        ({"artwork_is": "plate", "gripper_edge": "right", "sheet": {"size": "320 x 500 mm"}}, (600, 420),
         (56, 50, 556, 370), (320, 500)),
    ],
)  # fmt: skip
def test_where_the_sheet_lies_on_the_page(keys, page, box, size):
    """In the middle of its plate across, and 44 mm from the edge along the travel."""
    found, its_size = sheet_on_page(job(size=page, **keys))
    assert found.box == pytest.approx(box)
    assert (its_size.across_mm, its_size.along_mm) == size
    assert found.edge == keys.get("gripper_edge", "bottom")


@pytest.mark.parametrize(
    ("keys", "press_keys"),
    [
        ({"artwork_is": "sheet", "sheet": {"size": "501.1 x 320 mm"}}, {}),
        ({"artwork_is": "sheet", "sheet": {"size": "500 x 318.9 mm"}}, {}),
        ({"artwork_is": "sheet", "sheet": {"size": "320 x 500 mm"}}, {}),
        ({"artwork_is": "plate", "sheet": {"size": "400 x 300 mm"}}, {"plate": {"size": "1060 x 820 mm"}}),
        ({"artwork_is": "plate"}, {}),
    ],
    ids=["wider", "shorter", "the other way round", "the press does not say where it starts", "no sheet stated"],
)
def test_nobody_can_tell_where_the_sheet_lies(keys, press_keys):
    with pytest.raises(NotMeasured):
        sheet_on_page(job(press_keys=press_keys, **keys))


BARS = {
    "bottom": (150.0, 6.0, 180.0, 25.0),
    "top": (150.0, 295.0, 180.0, 314.0),
    "left": (6.0, 150.0, 25.0, 180.0),
    "right": (475.0, 150.0, 494.0, 180.0),
}
"""6 mm from an edge of the sheet."""


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("bar", EDGES)
def test_ink_into_the_gripper_edge_is_counted_from_that_edge_only(edge, bar):
    inks = {"Rust": solid(BARS[bar]), "Moss": solid((200, 100, 250, 150))}
    reading = ink_into_gripper(job(inks, artwork_is="sheet", gripper_edge=edge), ink_from_percent=2)[0]
    assert reading.facts["edge"] == edge
    if edge != bar:
        assert (reading.value, reading.places, reading.facts["inks"]) == (0.0, (), "")
        return
    assert reading.value == pytest.approx(4.0, abs=0.07)
    assert reading.facts["inks"] == "Rust"
    x0, y0, x1, y1 = BARS[bar]
    within = {"bottom": (x0, y0, x1, 10), "top": (x0, 310, x1, y1), "left": (x0, y0, 10, y1),
              "right": (490, y0, x1, y1)}[edge]  # fmt: skip
    assert reading.places[0].box_mm == pytest.approx(within, abs=0.15)


@pytest.mark.parametrize(("tint", "value"), [(0.04, 0.0), (0.06, 4.0)])
def test_ink_counts_from_a_tint(tint, value):
    inks = {"Rust": [(BARS["bottom"], tint)], "Moss": [((150.0, 2.0, 180.0, 5.0), 0.04)]}
    reading = ink_into_gripper(job(inks, artwork_is="sheet", gripper_edge="bottom"), ink_from_percent=5)[0]
    assert reading.value == pytest.approx(value, abs=0.1)


def test_ink_up_to_the_edge_of_the_sheet_goes_all_the_way():
    reading = ink_into_gripper(
        job({"Rust": solid((0, 0, 50, 30))}, artwork_is="sheet", gripper_edge="bottom"), ink_from_percent=2
    )[0]
    assert reading.value == pytest.approx(10.0, abs=0.1)


CARTON = (20.0, 30.0, 220.0, 280.0)


def die(box: tuple[float, float, float, float] = CARTON, **more: Any) -> Die:
    blank = Blank(1, shapely.box(*box), shapely.MultiLineString())
    return Die("stated", "", blanks=(blank,), **more)


PRINTS = {"sheet": {"largest": "600 x 500 mm"}, "edges": {"gripper": "10 mm", "tail": "8 mm", "sides": "5 mm"}}


@pytest.mark.parametrize(
    ("box", "ink", "past"),
    [
        ((20, 30, 220, 280), (17, 27, 223, 283), 0.0),
        ((6, 30, 220, 280), (3, 27, 223, 283), 2.0),
        ((280, 30, 496, 280), (277, 27, 498, 283), 3.0),
        ((20, 30, 220, 311), (17, 27, 223, 313), 1.0),
        ((20, 5, 220, 280), (17, 2, 223, 283), 0.0),
        ((6, 30, 220, 311), (3, 27, 223, 316), 2.0),
        ((20, 30, 220, 280), (17, 27, 400, 318), 0.0),
        ((6, 30, 220, 280), (1, 27, 223, 283), 2.0),
    ],
    ids=["inside", "at the left", "at the right", "at the tail", "at the gripper edge it is another measure's",
         "the farther of two, as far as it is bleed", "beside a carton it is a mark",
         "of the bleed no more than is asked"],
)  # fmt: skip
def test_ink_of_the_job_past_what_is_printed(box, ink, past):
    """Of 500 x 320 mm the press prints from 5 mm at the sides and up to 8 mm from the tail; bleed is 3 mm."""
    keys: dict[str, Any] = {"artwork_is": "sheet", "gripper_edge": "bottom"}
    its_job = job({"Rust": solid(ink)}, die=die(box), press_keys=PRINTS, **keys)
    reading = ink_past_printable_area(its_job, ink_from_percent=2, bleed_mm=3)[0]
    assert reading.value == pytest.approx(past, abs=0.07)
    assert reading.known == "stated"
    assert bool(reading.places) is (past > 0)


@pytest.mark.parametrize(
    ("edge", "box", "past"),
    [
        ("top", (20, 1, 220, 280), 7.0),
        ("top", (20, 30, 220, 319), 0.0),
        ("left", (300, 30, 496, 280), 4.0),
        ("left", (2, 30, 220, 280), 0.0),
        ("left", (300, 3, 480, 280), 2.0),
        ("right", (2, 30, 220, 280), 6.0),
        ("right", (300, 30, 498, 280), 0.0),
        ("right", (300, 30, 480, 318), 3.0),
    ],
)
def test_the_tail_is_opposite_the_gripper_edge(edge, box, past):
    keys: dict[str, Any] = {"artwork_is": "sheet", "gripper_edge": edge}
    its_job = job({"Rust": solid(box)}, die=die(box), press_keys=PRINTS, **keys)
    reading = ink_past_printable_area(its_job, ink_from_percent=2, bleed_mm=3)[0]
    assert reading.value == pytest.approx(past, abs=0.07)


def test_past_the_printable_area_it_is_known_as_well_as_the_die_and_the_edge():
    ways: list[Any] = [("stated", "bottom", "stated"), ("assumed", "bottom", "assumed"), ("read", None, "assumed")]
    for found, edge, known in ways:
        keys: dict[str, Any] = {"artwork_is": "sheet"} | ({"gripper_edge": edge} if edge else {})
        its_die = replace(die((6, 30, 220, 280)), found=found)
        its_job = job({"Rust": solid((3, 27, 223, 283))}, die=its_die, press_keys=PRINTS, **keys)
        assert ink_past_printable_area(its_job, ink_from_percent=2, bleed_mm=3)[0].known == known


def test_without_a_die_nobody_tells_ink_of_the_job_from_marks():
    keys: dict[str, Any] = {"artwork_is": "sheet", "gripper_edge": "bottom"}
    inside = job({"Rust": solid((20, 20, 300, 300))}, press_keys=PRINTS, **keys)
    assert ink_past_printable_area(inside, ink_from_percent=2, bleed_mm=3)[0].value == 0
    past = job({"Rust": solid((496, 100, 498, 110))}, press_keys=PRINTS, **keys)
    with pytest.raises(NotMeasured):
        ink_past_printable_area(past, ink_from_percent=2, bleed_mm=3)


def test_ink_in_a_shape_has_its_names_and_a_fine_window():
    its_job = job({"Rust": solid((20, 30, 40, 50)), "Moss": solid((35, 30, 60, 50)), "Far": solid((90, 30, 95, 50))})
    found = sheet_measures._ink_in(its_job, shapely.box(30, 35, 50, 45), 2)
    assert found is not None
    window, ink, names = found
    assert names == "Rust, Moss"
    assert window.dpi == 300
    assert window.box_of(ink) == pytest.approx((30, 35, 50, 45), abs=0.1)
    assert sheet_measures._ink_in(its_job, shapely.box(200, 35, 250, 45), 2) is None
    assert sheet_measures._ink_in(its_job, shapely.Polygon(), 2) is None
    assert sheet_measures._ink_in(its_job, shapely.box(600, 35, 650, 45), 2) is None
    assert sheet_measures._ink_in(job({}), shapely.box(30, 35, 50, 45), 2) is None


def test_a_faint_rim_that_sharp_edges_do_not_show_is_no_ink_in_the_gripper_edge():
    keys: dict[str, Any] = {"artwork_is": "sheet", "gripper_edge": "bottom"}
    for only_smooth, value in (((), 4.0), (("Rust",), 0.0)):
        its_job = job({"Rust": [(BARS["bottom"], 0.3)]}, **keys)
        page: Any = its_job.page
        page.only_smooth = only_smooth
        reading = ink_into_gripper(its_job, ink_from_percent=2)[0]
        assert reading.value == pytest.approx(value, abs=0.1)


def test_the_ink_that_reaches_farthest_counts_of_several():
    inks = {"Rust": solid((150, 6, 180, 25)), "Moss": solid((300, 3, 320, 25)), "Fern": solid((50, 12, 60, 30))}
    reading = ink_into_gripper(job(inks, artwork_is="sheet", gripper_edge="bottom"), ink_from_percent=2)[0]
    assert reading.value == pytest.approx(7.0, abs=0.07)
    assert reading.facts["inks"] == "Rust, Moss"
    assert reading.places[0].box_mm == pytest.approx((150, 3, 320, 10), abs=0.15)


def test_a_gripper_margin_deeper_than_the_sheet_ends_with_it():
    small = job({"Rust": solid((20, 3, 60, 9))}, size=(90.0, 12.0), press_keys={"edges": {"gripper": "15 mm"}},
                artwork_is="sheet", gripper_edge="bottom")  # fmt: skip
    assert ink_into_gripper(small, ink_from_percent=2)[0].value == pytest.approx(12.0, abs=0.07)
