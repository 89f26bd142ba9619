"""The one-up as a whole: how much too large it is, what of it the press prints, where its trim box stands."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely

from preflight.artwork.page.page import OverBound, PageBoxes
from preflight.carton.die import Blank, Die
from preflight.errors import NotMeasured
from preflight.measures import one_up
from preflight.measures.one_up import one_up_past_sheet, own_trim, trim_box_off_cut
from preflight.quantities import Size
from tests.test_overlaps import solid
from tests.test_sheet import job, press

ONE_UP: dict[str, Any] = {"artwork_is": "one-up"}
NO_DIE = Die("none", "there is none")


def blanks(*boxes: tuple[float, float, float, float], **more: Any) -> Die:
    return Die(
        more.pop("found", "stated"),
        "",
        blanks=tuple(Blank(n, shapely.box(*box), shapely.MultiLineString()) for n, box in enumerate(boxes, 1)),
        **more,
    )


def with_trim(found: Any, trim: Any) -> Any:
    found.page.boxes = PageBoxes(found.page.box_mm, trim=trim)
    return found


@pytest.mark.parametrize(
    ("trim", "says"),
    [
        (None, False),
        ((0, 0, 500, 320), False),
        ((0.4, 0, 499.6, 319.6), False),
        ((0.5, 0, 500, 320), True),
        ((0, 0, 500, 319.4), True),
        ((10, 20, 480, 300), True),
    ],
)
def test_a_trim_box_that_is_the_page_says_nothing(trim, says):
    assert own_trim(with_trim(job(), trim).page) == (trim if says else None)


@pytest.mark.parametrize(
    ("box", "larger"),
    [
        ((10, 20, 1069, 838), False),
        ((10, 20, 1070, 840), False),
        ((10, 20, 1071, 40), True),
        ((10, 20, 831, 842), True),
        ((10, 20, 830, 1080), False),
        ((10, 20, 831, 1080), True),
        ((10, 20, 30, 1081), True),
    ],
)
def test_what_no_plate_can_hold_either_way_round(box, larger):
    """Plates of 1060 x 820 mm."""
    assert one_up._larger_than_plate(box, press()) is larger
    assert one_up._larger_than_plate(box, None) is False
    assert one_up._larger_than_plate(box, press(plate={})) is False


LARGE = (20.0, 30.0, 470.0, 310.0)
"""450 x 280 mm."""


@pytest.mark.parametrize(
    ("sheet", "past"),
    [
        ("450 x 280 mm", 0.0),
        ("280 x 450 mm", 0.0),
        ("449.5 x 280 mm", 0.5),
        ("450 x 279 mm", 1.0),
        ("279 x 440 mm", 10.0),
        ("440 x 270 mm", 10.0),
        ("460 x 250 mm", 30.0),
        ("300 x 300 mm", 150.0),
    ],
)
def test_by_how_much_the_one_up_is_too_large_the_better_way_round(sheet, past):
    its_job = job(die=blanks((100, 100, 150, 150), LARGE), sheet={"size": sheet}, **ONE_UP)
    reading = one_up_past_sheet(its_job, ink_from_percent=2)[0]
    assert (reading.value, reading.case) == (past, "")
    assert reading.places[0].box_mm == LARGE
    assert reading.known == "stated"


@pytest.mark.parametrize(
    ("die", "known"),
    [
        (blanks(LARGE), "stated"),
        (blanks(LARGE, found="read"), "read"),
        (blanks(LARGE, found="assumed"), "assumed"),
        (blanks(LARGE, uncertain=("two lines may be the cut",)), "assumed"),
    ],
)
def test_the_size_is_known_as_well_as_the_cut(die, known):
    its_job = job(die=die, sheet={"size": "300 x 200 mm"}, **ONE_UP)
    assert one_up_past_sheet(its_job, ink_from_percent=2)[0].known == known


@pytest.mark.parametrize(
    ("trim", "stated", "box", "known"),
    [
        ((10, 20, 480, 300), "stated", (10, 20, 480, 300), "read"),
        ((10, 20, 480, 300), "assumed", (10, 20, 480, 300), "assumed"),
        ((10, 20, 1200, 300), "assumed", (10, 20, 1200, 300), "read"),
        (None, "stated", (0, 0, 500, 320), "assumed"),
    ],
    ids=["a stated one-up", "it may be a plate's", "no plate is as large", "the page"],
)
def test_without_a_die_the_trim_box_is_the_one_up_or_else_the_page(trim, stated, box, known):
    its_job = replace(job(sheet={"size": "200 x 100 mm"}, **ONE_UP), artwork_is_known=stated)
    reading = one_up_past_sheet(with_trim(its_job, trim), ink_from_percent=2)[0]
    assert (reading.places[0].box_mm, reading.known) == (box, known)


def test_a_sheet_without_a_die_is_no_one_up():
    assert one_up_past_sheet(job(artwork_is="sheet", sheet={"size": "200 x 100 mm"}), ink_from_percent=2) == []


def test_the_largest_sheet_of_the_press_stands_in():
    its_job = job(die=blanks((10, 20, 1060, 100)), **ONE_UP)
    assert one_up_past_sheet(its_job, ink_from_percent=2)[0].value == 10
    with pytest.raises(NotMeasured) as raised:
        one_up_past_sheet(replace(its_job, press=None, ticket=None), ink_from_percent=2)
    assert raised.value.want_of == "ticket"


EDGES = {"edges": {"gripper": "12 mm", "tail": "6 mm", "sides": "5 mm"}, "sheet": {"largest": "600 x 500 mm"}}


@pytest.mark.parametrize(
    ("ink", "past", "case"),
    [
        ((30, 45, 460, 300), 0.0, "printable"),
        ((25, 42, 465, 304), 0.0, "printable"),
        ((22, 45, 468, 300), 6.0, "printable"),
        ((30, 30, 460, 310), 18.0, "printable"),
        ((30, 38, 460, 310), 10.0, "printable"),
        ((30, 30, 460, 302), 10.0, "printable"),
        (None, 0.0, ""),
    ],
    ids=["well inside", "up to what is printed", "both sides", "along the travel", "at one end only",
         "at the other end only", "nothing is printed"],
)  # fmt: skip
def test_what_is_printed_on_a_one_up_as_large_as_the_sheet(ink, past, case):
    """On a sheet of 450 x 280 mm: 12 mm are not printed at the gripper edge, 6 mm at the tail, 5 mm at the sides."""
    its_job = job(
        {"Rust": solid(ink) if ink else []}, die=blanks(LARGE), press_keys=EDGES, sheet={"size": "450 x 280 mm"},
        **ONE_UP,
    )  # fmt: skip
    reading = one_up_past_sheet(its_job, ink_from_percent=2)[0]
    assert reading.case == case
    assert reading.value == pytest.approx(past, abs=0.3)


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        (((0, 40), (0, 30)), 10),
        (((4, 36), (7, 27)), 0),
        (((4, 36), (3, 23)), 0),
        (((4, 36), (3, 27)), 4),
        (((2, 36), (7, 27)), 2),
        (((4, 39), (7, 27)), 3),
    ],
)
def test_by_how_much_printing_does_not_fit(printed, expected):
    """40 x 30 mm on as large a sheet: not printed are 4 mm at the sides, 7 mm at the gripper edge, 3 mm at the tail."""
    area = ((4.0, 36.0), (7.0, 27.0))
    assert one_up._past_printable((40, 30), printed, Size(40, 30), area) == pytest.approx(expected)


def test_printing_fits_where_the_one_up_may_be_moved():
    """On a sheet of 50 x 40 mm there are 10 mm to move it by, so 40 x 30 mm of ink want no more than they have."""
    whole = ((0.0, 40.0), (0.0, 30.0))
    assert one_up._past_printable((40, 30), whole, Size(50, 40), ((4.0, 46.0), (7.0, 37.0))) == pytest.approx(0)
    assert one_up._past_printable((40, 30), whole, Size(50, 40), ((5.0, 45.0), (7.0, 37.0))) == pytest.approx(0)
    assert one_up._past_printable((40, 30), whole, Size(50, 40), ((6.0, 44.0), (7.0, 37.0))) == pytest.approx(2)


def test_turned_it_may_fit_better():
    """30 x 40 mm as it lies, the sheet is 40 x 30 mm."""
    printed = ((7.0, 27.0), (4.0, 36.0))
    assert one_up._past_printable((30, 40), printed, Size(40, 30), ((4.0, 36.0), (7.0, 27.0))) == pytest.approx(0)


def test_a_press_that_does_not_say_what_it_prints_prints_all():
    its_job = job(
        {"Rust": solid(LARGE)}, die=blanks(LARGE), press_keys={"edges": {}, "sheet": {"largest": "600 x 500 mm"}},
        sheet={"size": "450 x 280 mm"}, **ONE_UP,
    )  # fmt: skip
    reading = one_up_past_sheet(its_job, ink_from_percent=2)[0]
    assert (reading.value, reading.case) == (0.0, "")
    assert one_up_past_sheet(replace(its_job, press=None), ink_from_percent=2)[0].case == ""


def test_where_objects_are_missing_nobody_knows_what_is_printed():
    its_job = job(die=blanks(LARGE), sheet={"size": "450 x 280 mm"}, **ONE_UP)
    its_job.page.over_bounds.append(OverBound("too much", frozenset({"objects"})))
    with pytest.raises(NotMeasured):
        one_up_past_sheet(its_job, ink_from_percent=2)


# The trim box ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("trim", "cuts", "off", "case"),
    [
        ((20, 30, 470, 310), [LARGE], 0.0, "moved"),
        ((17, 30, 467, 310), [LARGE], 3.0, "moved"),
        ((20, 30, 470, 305), [LARGE], 5.0, ""),
        ((20, 35.5, 470, 310), [LARGE], 5.5, ""),
        ((20, 30, 476, 310), [LARGE], 6.0, ""),
        ((14, 30, 470, 310), [LARGE], 6.0, ""),
        ((20, 30, 471, 310), [LARGE], 1.0, "moved"),
        ((20, 30, 471.1, 310), [LARGE], 1.1, ""),
        ((20, 30, 470, 309), [LARGE], 1.0, "moved"),
        ((20, 30, 470, 308.9), [LARGE], 1.1, ""),
        ((20, 30, 200, 310), [(20, 30, 200, 310), (202, 30, 470, 310)], 0.0, "moved"),
        ((202, 30, 471, 310), [(20, 30, 200, 310), (202, 30, 470, 310)], 1.0, "moved"),
        ((20, 30, 470, 310), [(20, 30, 200, 310), (202, 30, 470, 310)], 0.0, "moved"),
    ],
    ids=["on it", "moved to the left", "its upper side", "its lower side", "its right side", "its left side",
         "a millimetre wider", "more than that", "a millimetre lower", "more than that lower", "one of two blanks",
         "the other one", "both blanks"],
)  # fmt: skip
def test_how_far_the_trim_box_lies_from_the_cut(trim, cuts, off, case):
    reading = trim_box_off_cut(with_trim(job(die=blanks(*cuts), **ONE_UP), trim), same_size_mm=1.0)[0]
    assert reading.value == pytest.approx(off)
    assert reading.case == case
    assert (reading.places[0].box_mm, reading.known) == (trim, "stated")


def test_a_page_without_a_trim_box_of_its_own_is_not_asked():
    assert trim_box_off_cut(with_trim(job(die=NO_DIE), None), same_size_mm=1.0) == []
    with pytest.raises(NotMeasured):
        trim_box_off_cut(with_trim(job(die=NO_DIE), (10, 20, 480, 300)), same_size_mm=1.0)


@pytest.mark.parametrize(
    ("trim", "told", "not_told"),
    [
        ((20, 30, 470, 310), [], ["mm"]),
        ((20.09, 30, 470, 310), [], ["mm"]),
        ((15, 30, 470, 310), ["5.0 mm outside", "left"], ["inside", "right", "top", "bottom", " and ", ","]),
        ((20, 32.5, 470, 310), ["2.5 mm inside", "bottom"], ["outside", "right", "top", "left"]),
        ((20, 30, 473, 306), ["3.0 mm outside", "4.0 mm inside", "right", "top", " and "], ["left", "bottom", ","]),
        ((21, 28, 473, 310), ["1.0 mm inside", "2.0 mm outside", "3.0 mm outside", ", ", " and "], ["top"]),
    ],
)
def test_sides_that_lie_elsewhere_are_told(trim, told, not_told):
    words = one_up._sides(trim, LARGE)
    assert [word for word in told if word not in words] == []
    assert [word for word in not_told if word in words] == []


@pytest.mark.parametrize(
    ("trim", "told"),
    [
        ((20, 30, 470, 310), []),
        ((23, 30, 473, 310), ["3.0 mm to the right"]),
        ((18, 30, 468, 310), ["2.0 mm to the left"]),
        ((20, 31.5, 470, 311.5), ["1.5 mm up"]),
        ((20.05, 26, 470.05, 306), ["4.0 mm down"]),
        ((22, 30, 472, 309), ["2.0 mm to the right", "0.5 mm down"]),
    ],
)
def test_how_far_the_trim_box_was_moved(trim, told):
    """By its middle."""
    cut = LARGE
    assert list(one_up._moves(cut[0] + cut[2], trim[0] + trim[2], cut[1] + cut[3], trim[1] + trim[3])) == told
