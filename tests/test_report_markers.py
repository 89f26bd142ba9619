"""Numbers on the picture and values on their scales: apart, bounded, and on the right side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import hypot
from typing import Any

import pytest

from preflight.report.place_markers import DESK, MOST_FRAMES, MOST_PINS, PHONE, lay_out, pin_radius_mm
from preflight.report.scales import WIDTH, scale_of

PAGE = (420.0, 346.0)
RADIUS_MM, PHONE_RADIUS_MM = 6.14, 10.5
"""Of a pin of 11 px where 346 mm are seen 620 px high, and of one of 8.5 px where 420 mm are seen 340 px wide."""


def row(number: int, boxes: Sequence[tuple[float, float, float, float]], verdict: str = "warn") -> dict[str, Any]:
    return {"number": number, "verdict": verdict, "places": [{"box_mm": list(b)} for b in boxes]}


def heads(marks: Any) -> list[tuple[float, float]]:
    return [(m.pin[0] + m.pin[2], m.pin[1] + m.pin[3]) for m in marks if m.pin]


@pytest.mark.parametrize(
    ("page_mm", "screen", "radius_mm"),
    [
        (PAGE, DESK, RADIUS_MM),
        (PAGE, PHONE, PHONE_RADIUS_MM),
        ((780, 310), DESK, 11),  # as wide as the screen: 1 px is 1 mm
        ((390, 1240), DESK, 22),  # as high as it twice over
        ((170, 250), PHONE, 4.25),
    ],
)
def test_pins_are_as_large_as_the_page_is_seen(page_mm, screen, radius_mm):
    assert pin_radius_mm(page_mm, screen) == pytest.approx(radius_mm, abs=0.01)


def test_many_findings_at_one_spot_do_not_cover_each_other():
    marks = lay_out([row(k, [(100, 100, 100.1, 100.1)]) for k in range(1, 21)], PAGE)
    apart = 2 * RADIUS_MM
    assert len(heads(marks)) == 20
    assert all(hypot(a[0] - b[0], a[1] - b[1]) >= apart for a, b in combinations(heads(marks), 2))


def test_pins_leave_the_letters_of_panels_free():
    letters = [(100.0, 246.0), (106.0, 246.0)]
    placed = heads(lay_out([row(k, [(100, 100, 100.1, 100.1)]) for k in range(1, 9)], PAGE, letters=letters))
    assert len(placed) == 8
    assert all(hypot(x - a, y - b) >= 2 * RADIUS_MM for x, y in placed for a, b in letters)


def test_on_a_phone_each_finding_has_one_number_and_none_covers_another():
    boxes = [(40.0 + 30 * (k % 4), 60.0 + 40 * (k // 4)) for k in range(14)]
    rows = [row(k, [(x, y, x + 8, y + 8), (x + 200, y, x + 208, y + 8)]) for k, (x, y) in enumerate(boxes, 1)]
    placed = heads(lay_out(rows, PAGE, PHONE))
    assert len(placed) == 14
    apart = 2 * PHONE_RADIUS_MM
    assert all(hypot(a[0] - b[0], a[1] - b[1]) >= apart for a, b in combinations(placed, 2))


def test_only_a_frame_round_much_of_the_page_is_large():
    marks = lay_out([row(1, [(10, 10, 400, 300), (10, 10, 60, 60)])], PAGE)
    assert {mark.index: mark.large for mark in marks} == {0: True, 1: False}


def test_pins_stay_on_the_page():
    corners = [(0, 0, 1, 1), (419, 0, 420, 1), (0, 345, 1, 346), (419, 345, 420, 346)]
    for x, y in heads(lay_out([row(1, corners)], PAGE)):
        assert 0 <= x <= PAGE[0]
        assert 0 <= y <= PAGE[1]


def test_a_pin_does_not_hide_a_tiny_place():
    mark = lay_out([row(1, [(200, 200, 200.2, 200.2)])], PAGE)[0]
    assert mark.pin is not None
    assert hypot(*mark.pin[2:]) > RADIUS_MM


def test_a_finding_of_many_places_has_few_pins_and_bounded_frames():
    grid = [(4.0 * (k % 100), 3.0 * (k // 100), 4.0 * (k % 100) + 1, 3.0 * (k // 100) + 1) for k in range(5000)]
    marks = lay_out([row(1, grid)], PAGE)
    assert len(heads(marks)) <= MOST_PINS
    assert len(marks) == MOST_FRAMES


def test_frames_hold_their_places_with_y_down():
    mark = lay_out([row(1, [(10, 20, 60, 80)])], PAGE)[0]
    x, y, width, height = mark.frame
    assert (x, y) < (10, 346 - 80)
    assert (x + width, y + height) > (60, 346 - 20)


@pytest.mark.parametrize(
    ("value", "limit", "passes"),
    [
        (0.0, 2.0, "above"),
        (1.9, 2.0, "above"),
        (352.0, 340.0, "below"),
        (8.0, 7.0, "below"),
        (0.95, [0.25, 0.9], "between"),
        (0.2, [0.25, 0.9], "between"),
        (-3.0, 2.0, "above"),
    ],
)
def test_the_allowed_stretch_is_where_the_value_is_not(value, limit, passes):
    quantity = {"value": limit, "unit": "mm"}
    scale = scale_of({"measured": {"value": value, "unit": "mm"}, "limit": quantity, "limit_words": ""})
    assert scale is not None
    low, high = scale.allowed
    assert 0 <= low < high <= WIDTH
    assert scale.measured < low if passes == "above" or value == 0.2 else scale.measured > high
    assert [at for at, _ in scale.limits] == (
        [low] if passes == "above" else [high] if passes == "below" else [low, high]
    )


@pytest.mark.parametrize(
    ("measured", "limit"),
    [
        (("legend only", ""), None),
        (("unit 3", ""), ("unit 1", "")),
        ((True, ""), (False, "")),
        (([1060, 760], "mm"), ([1000, 700], "mm")),
        ((1.0, "mm"), (1.0, "pt")),
        ((1491.5, "mm"), (1.0, "mm")),
        ((443.0, "mm2"), (100.0, "mm2")),
        ((2.0, "units"), (0.0, "units")),
    ],
)
def test_words_sizes_counts_and_what_is_far_off_have_no_scale(measured, limit):
    told = {"value": limit[0], "unit": limit[1]} if limit else None
    finding = {"measured": {"value": measured[0], "unit": measured[1]}, "limit": told, "limit_words": ""}
    assert scale_of(finding) is None
