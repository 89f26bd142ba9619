"""The closed language of limits: how each is read, and how a value is held against it to the last figure."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.errors import NotUnderstood
from preflight.judging.limits import Limit, Outcome, hold, read_limit, typed
from preflight.judging.references import Reference
from preflight.quantities import Range, Size

ON_A_JOB: dict[str, Any] = {
    "press.sheet.largest": Size(1000, 700),
    "press.board.caliper": Range(0.25, 0.9),
    "press.cures": ("uv", "led-uv"),
    "press.unit_count": 6,
}


def held(value: Any, limit: str, unit: str = "mm", *more: Any) -> Outcome:
    return hold(value, read_limit(limit), unit, lambda ref: ON_A_JOB[ref.text], *more)


@pytest.mark.parametrize(
    ("text", "comparison", "right"),
    [
        ("below 2 mm", "below", "2 mm"),
        ("  above\n 2   mm ", "above", "2 mm"),
        ("outside 2 to 3 mm", "outside", "2 to 3 mm"),
        ("is not white", "is not", "white"),
        ("is white", "is", "white"),
        ("one of [ a, 'b c' ,\"d\"]", "one of", ("a", "b c", "d")),
        ("not one of [a]", "not one of", ("a",)),
        ("above press.sheet.largest", "above", Reference("press.sheet.largest")),
        ("not one of press.cures", "not one of", Reference("press.cures")),
        ("is belowstairs", "is", "belowstairs"),
    ],
)
def test_a_limit_as_it_is_read(text, comparison, right):
    limit = read_limit(text)
    assert limit == Limit(comparison, right)
    assert read_limit(str(limit)) == limit


@pytest.mark.parametrize("text", [None, 3, ["below 2 mm"], "", "below", "belowstairs 2", "2 mm", "isnot white"])
def test_what_is_no_limit(text):
    with pytest.raises(NotUnderstood):
        read_limit(text)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("is not one of press.cures", "not one of press.cures"),
        ("is one of press.cures", "one of press.cures"),
        ("is not one of a, b", "not one of [a, b]"),
        ("is above 2 mm", "above 2 mm"),
        ("is not above 2 mm", ""),
        ("is is white", "is white"),
        ("is [a, b]", "one of [a, b]"),
        ("is not [a]", "not one of [a]"),
        ("is [a,]", ""),
    ],
)
def test_two_comparisons_in_one_are_refused_with_what_is_meant(text, meant):
    with pytest.raises(NotUnderstood) as refusal:
        read_limit(text)
    assert refusal.value.suggestion == meant


@pytest.mark.parametrize(
    ("limit", "unit", "value"),
    [
        ("below 2 cm", "mm", 20.0),
        ("below 72 pt", "mm", 25.4),
        ("above 500 x 350 mm", "mm", Size(500, 350)),
        ("above 50 X 35 cm", "", Size(500, 350)),
        ("above 2 %", "", 2.0),
        ("outside 5 to 90 %", "%", Range(5, 90)),
        ("outside 5 mm to 9 cm", "mm", Range(5, 90)),
        ("outside 5 to 9 cm", "mm", Range(50, 90)),
        ("outside 3 to 3 mm", "mm", Range(3, 3)),
        ("one of [2 mm, 1 cm]", "mm", (2.0, 10.0)),
        ("one of [a, b]", "", ("a", "b")),
        ("is true", "", True),
        ("is false", "mm", False),
        ("is 3 plates", "plates", 3.0),
        ("is white", "", "white"),
    ],
)
def test_the_right_hand_side_is_typed_by_the_unit_of_the_reading(limit, unit, value):
    got = typed(read_limit(limit), unit)
    assert got == value
    assert type(got) is type(value)


@pytest.mark.parametrize(
    ("limit", "unit"),
    [("outside 9 to 5 mm", "mm"), ("outside 5 mm", "mm"), ("below 5 pt", ""), ("above 5 points", ""), ("below 2", "mm"),
     ("outside 1 to 2 to 3 mm", "mm"), ("below 2 x 3 mm", "%")],
)  # fmt: skip
def test_what_is_no_right_hand_side(limit, unit):
    with pytest.raises(NotUnderstood):
        typed(read_limit(limit), unit)


@pytest.mark.parametrize(
    ("value", "limit", "unit", "outcome"),
    [
        (1.75, "below 2 mm", "mm", Outcome(True, 2.0, "minimum 2 mm", "2 mm", 0.25)),
        (2.5, "below 2 mm", "mm", Outcome(False, 2.0, "minimum 2 mm", "2 mm", -0.5)),
        (352.0, "above 340 %", "%", Outcome(True, 340.0, "maximum 340 %", "340 %", 12.0)),
        ((1010.0, 650.0), "above press.sheet.largest", "mm",
         Outcome(True, (1000.0, 700.0), "maximum 1000 x 700 mm", "1000 x 700 mm", 10.0)),
        ((480.0, 390.0), "below 500 x 350 mm", "mm",
         Outcome(True, (500.0, 350.0), "minimum 500 x 350 mm", "500 x 350 mm", 20.0)),
        (4.0, "outside 5 to 90 %", "%", Outcome(True, 5.0, "5 % to 90 %", "5 % to 90 %", 1.0)),
        (93.0, "outside 5 to 90 %", "%", Outcome(True, 90.0, "5 % to 90 %", "5 % to 90 %", 3.0)),
        (47.5, "outside 5 to 90 %", "%", Outcome(False, 5.0, "5 % to 90 %", "5 % to 90 %", -42.5)),
        (3, "above 0 plates", "plates", Outcome(True, 0.0, "none", "0 plates", 3.0)),
        (3.0, "above 0 mm", "mm", Outcome(True, 0.0, "maximum 0 mm", "0 mm", 3.0)),
        (7, "above press.unit_count", "plates", Outcome(True, 6.0, "maximum 6 plates", "6 plates", 1.0)),
        (0, "below 0 plates", "plates", Outcome(False, 0.0, "minimum 0 plates", "0 plates", 0.0)),
    ],
)  # fmt: skip
def test_how_far_a_number_is_beyond_its_limit(value, limit, unit, outcome):
    assert held(value, limit, unit) == outcome


@pytest.mark.parametrize(
    ("value", "limit", "unit", "outcome"),
    [
        ("grey", "is not white", "", Outcome(True, "white", "white", "white")),
        ("white", "is white", "", Outcome(True, "white", "not white", "white")),
        ("kraft", "one of [grey, kraft]", "", Outcome(True, "grey, kraft", "not one of grey, kraft", "grey, kraft")),
        ("kraft", "not one of [grey]", "", Outcome(True, "grey", "grey", "grey")),
        ("oxidising", "not one of press.cures", "", Outcome(True, "uv, led-uv", "one of uv, led-uv", "uv, led-uv")),
        (True, "is not true", "", Outcome(False, None, "", "True")),
        (3.0, "is not 1 plates", "plates", Outcome(True, 1.0, "1 plate", "1 plate")),
        (2.0, "one of [2 mm, 1 cm]", "mm", Outcome(True, "2.0 mm, 10 mm", "not one of 2.0 mm, 10 mm", "2.0 mm, 10 mm")),
    ],
)  # fmt: skip
def test_words_are_held_without_an_excess(value, limit, unit, outcome):
    assert held(value, limit, unit) == outcome


@pytest.mark.parametrize(
    ("value", "limit", "trips"),
    [
        (1.9, "below 2 mm", False),  # missed by the tolerance
        (1.8999999, "below 2 mm", True),
        (2.1, "above 2 mm", False),
        (2.11, "above 2 mm", True),
        (4.9, "outside 5 to 6 mm", False),
        (4.89, "outside 5 to 6 mm", True),
        (6.1, "outside 5 to 6 mm", False),
        (6.11, "outside 5 to 6 mm", True),
    ],
)
def test_a_limit_missed_by_no_more_than_the_tolerance_is_not_missed(value, limit, trips):
    assert held(value, limit, "mm", 0.1).trips is trips


@pytest.mark.parametrize(
    ("value", "limit", "cap", "trips", "asked"),
    [
        (1.4, "below 2 mm", 1.5, True, 1.5),
        (1.5, "below 2 mm", 1.5, False, 1.5),
        (1.9, "below 2 mm", 3.0, True, 2.0),
        (1.6, "above 2 mm", 1.5, True, 1.5),
    ],
)
def test_a_limit_is_at_most_its_cap(value, limit, cap, trips, asked):
    outcome = held(value, limit, "mm", 0.0, cap)
    assert (outcome.trips, outcome.limit) == (trips, asked)


@pytest.mark.parametrize(
    ("value", "limit", "unit", "trips"),
    [
        ((3, 4, 5), "is 4", "", True),
        ((3, 4), "is 4", "", False),  # two numbers are a size
        (frozenset({"uv"}), "is UV", "", True),
        ((), "is uv", "", False),
        (3.0, "is three", "", False),
        (3.0, "is 3.0000000001", "", True),
        (3.0, "is 3.1", "", False),
        (True, "is 1", "", False),
        ("true", "is true", "", True),
        ((1000.0, 700.0), "is press.sheet.largest", "mm", True),
        ((1000.0, 701.0), "is press.sheet.largest", "mm", False),
        ((999.0, 700.0), "is press.sheet.largest", "mm", False),
    ],
)
def test_what_is_the_same(value, limit, unit, trips):
    assert held(value, limit, unit).trips is trips


@pytest.mark.parametrize(
    ("value", "limit"),
    [
        (1.0, "outside press.unit_count"),
        ("a", "outside 1 to 2 mm"),
        ((1.0, "a"), "below 2 x 3 mm"),
        (False, "above 2 mm"),
    ],
)
def test_what_cannot_be_compared_is_an_error(value, limit):
    with pytest.raises(TypeError):
        held(value, limit)
