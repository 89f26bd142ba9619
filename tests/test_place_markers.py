"""Where each number stands: beside a small place, on the corner of a large one, and clear of what is taken.

The page has a millimetre for each pixel of the screen, so that a pin has a radius of 11 mm and "small" is under 33 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from preflight.report.place_markers import DESK, PHONE, Mark, lay_out, pin_radius_mm

PAGE = (780.0, 620.0)
SPECK = (100.0, 200.0, 103.0, 202.0)
"""Its middle is 101.5 mm from the left and 419 mm from the top."""
Box = tuple[float, float, float, float]


def findings(*boxes_of_each: Sequence[Box]) -> list[dict[str, Any]]:
    return [
        {"number": number, "verdict": "fail", "places": [{"box_mm": list(box)} for box in boxes]}
        for number, boxes in enumerate(boxes_of_each, 1)
    ]


def mark_of(box: Box, **more: Any) -> Mark:
    return lay_out(findings([box]), PAGE, **more)[0]


def speck_at(x: float, y: float) -> Box:
    return (x - 1, y - 1, x + 1, y + 1)


def test_the_page_of_these_tests_has_a_millimetre_a_pixel():
    assert pin_radius_mm(PAGE) == 11


@pytest.mark.parametrize(
    ("box", "frame", "foot"),
    [
        # an eighth of a radius (1.32 mm) is added all round
        (SPECK, (98.68, 416.68, 5.64, 4.64), (101.5, 419.0)),
        ((100, 200, 100, 200), (98.68, 418.68, 2.64, 2.64), (100.0, 420.0)),
        ((100, 100, 300, 250), (98.68, 368.68, 202.64, 152.64), (98.68, 368.68)),
        ((100, 100, 300, 102), (98.68, 516.68, 202.64, 4.64), (98.68, 519.0)),
        ((100, 100, 104, 300), (98.68, 318.68, 6.64, 202.64), (102.0, 318.68)),
        ((100, 100, 130.36, 101), (98.68, 517.68, 33.0, 3.64), (98.68, 519.5)),
        ((100, 100, 101, 130.36), (98.68, 488.32, 3.64, 33.0), (100.5, 488.32)),
    ],
    ids=["a speck", "a point", "large", "wide and low", "high and narrow", "as wide as small is", "as high"],
)
def test_a_pin_has_its_foot_on_the_place(box, frame, foot):
    mark = mark_of(box)
    assert mark.frame == frame
    assert mark.pin is not None
    assert mark.pin[:2] == foot


def test_on_a_small_place_the_number_stands_to_the_upper_left():
    pin = mark_of(SPECK).pin
    assert pin is not None
    assert pin[2:] == (-13.22, -13.22)  # 1.7 radii away, y down


@pytest.mark.parametrize("box", [(100, 100, 300, 250), (100, 100, 300, 102), (100, 100, 130.36, 101)])
def test_on_a_large_place_the_number_stands_on_its_corner(box):
    pin = mark_of(box).pin
    assert pin is not None
    assert pin[2:] == (0, 0)


@pytest.mark.parametrize(
    ("letters", "pin"),
    [
        ([(88.28, 405.78)], (13.22, -13.22)),  # on the first spot: the one to the upper right
        ([(73.28, 405.78)], (13.22, -13.22)),  # 15 mm beside the first spot: two pins there would touch
        ([(64.0, 405.78)], (-13.22, -13.22)),  # 24.3 mm beside it
        ([(88.28, 405.78), (114.72, 405.78)], (-13.22, 13.22)),  # above and beside it touches one of the two
    ],
    ids=["taken", "too near", "far enough", "two taken"],
)
def test_a_number_keeps_clear_of_what_is_taken(letters, pin):
    mark = mark_of(SPECK, letters=letters)
    assert mark.pin is not None
    assert mark.pin[2:] == pin


def test_the_next_finding_at_a_place_stands_beside_the_number_of_the_first():
    second, first = lay_out(findings([SPECK], [SPECK]), PAGE)
    assert first.pin is not None
    assert second.pin is not None
    assert (first.number, second.number) == (1, 2)
    assert (first.pin[2:], second.pin[2:]) == ((-13.22, -13.22), (13.22, -13.22))


@pytest.mark.parametrize(
    ("place", "letters", "pin"),
    [
        ((3, 300), [], (13.22, -13.22)),
        ((101, 618), [], (-18.7, 0.0)),
        ((3, 618), [], (18.7, 0.0)),
        ((778, 2), [(764.78, 604.78)], (0.0, -36.3)),
    ],
    ids=["left edge", "top edge", "upper-left corner", "lower-right corner, the first spot taken"],
)
def test_a_number_stands_on_the_page(place, letters, pin):
    mark = mark_of(speck_at(*place), letters=letters)
    assert mark.pin is not None
    assert mark.pin[2:] == pytest.approx(pin, abs=0.011)


def test_where_nothing_is_free_the_first_spot_has_to_do():
    everywhere = [(10.0 * x, 10.0 * y) for x in range(79) for y in range(63)]
    pin = mark_of(SPECK, letters=everywhere).pin
    assert pin is not None
    assert pin[2:] == (-13.22, -13.22)


@pytest.mark.parametrize(
    ("across", "up", "pinned"),
    [(33.0, 0.0, False), (33.1, 0.0, True), (0.0, -33.0, False), (0.0, -33.1, True), (24.0, 24.0, True)],
)
def test_places_of_a_finding_that_lie_near_each_other_share_a_number(across, up, pinned):
    first = speck_at(300, 400)
    marks = lay_out(findings([first, speck_at(300 + across, 400 + up)]), PAGE)
    assert {mark.index: mark.pin is not None for mark in marks} == {0: True, 1: pinned}


@pytest.mark.parametrize(("screen", "most"), [(DESK, 6), (PHONE, 1)])
def test_the_first_places_have_the_numbers(screen, most):
    boxes = [speck_at(50 + 90 * k, 60 + 70 * k) for k in range(8)]
    marks = lay_out(findings(boxes), PAGE, screen)
    assert [mark.index for mark in reversed(marks) if mark.pin] == list(range(most))


def test_the_worst_finding_lies_on_top():
    marks = lay_out(findings([SPECK, speck_at(400, 500)], [speck_at(600, 80)]), PAGE)
    assert [(mark.number, mark.index, mark.verdict) for mark in marks] == [
        (2, 0, "fail"),
        (1, 1, "fail"),
        (1, 0, "fail"),
    ]


@pytest.mark.parametrize(("width", "large"), [(387.36, False), (387.4, True)])
def test_a_frame_round_more_than_a_quarter_of_the_page_is_large(width, large):
    assert mark_of((20, 30, 20 + width, 30 + 307.36)).large is large  # with its room 390 x 310 mm
