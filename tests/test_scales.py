"""A measured value beside its limit on a scale: round ends, true places, and the stretch that would have passed."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.report.scales import WIDTH, Scale, scale_of


def scale(value: Any, limit: Any, unit: str = "mm", words: str = "") -> Scale | None:
    measured = {"value": value, "unit": unit}
    return scale_of({"measured": measured, "limit": {"value": limit, "unit": unit}, "limit_words": words})


@pytest.mark.parametrize(
    ("value", "limit", "unit", "ends", "measured", "limits", "allowed"),
    [
        # 0 to 4 mm on 232 of the 260 units: 58 a millimetre, 14 left free at either end
        (0.0, 2.0, "mm", ("0", "4"), 14.0, [130.0], (130.0, 246.0)),
        (352.0, 340.0, "%", ("295", "395"), 146.2, [118.4], (14.0, 118.4)),
        (-3.0, 2.0, "mm", ("-7", "6"), 85.4, [174.6], (174.6, 246.0)),
        (0.04, 0.05, "mm", ("0.03", "0.06"), 91.3, [168.7], (168.7, 246.0)),
        (0.2, [0.25, 0.9], "mm", ("0", "1.5"), 44.9, [52.7, 153.2], (52.7, 153.2)),
        (0.0, 1.25, "pt", ("0", "2.5"), 14.0, [130.0], (130.0, 246.0)),
        (0.0, 0.125, "mm", ("0", "0.3"), 14.0, [110.7], (110.7, 246.0)),
        (1200.0, 900.0, "ppi", ("650", "1450"), 173.5, [86.5], (14.0, 86.5)),
    ],
    ids=["from nothing", "over", "below nothing", "hairlines", "a range", "room of 1", "room of 0.1", "hundreds"],
)
def test_places_on_a_scale_with_round_ends(value, limit, unit, ends, measured, limits, allowed):
    made = scale(value, limit, unit)
    assert made is not None
    assert made.ends == ((14.0, ends[0]), (246.0, ends[1]))
    assert made.measured == measured
    assert [at for at, _ in made.limits] == limits
    assert made.allowed == allowed


def test_both_ends_of_a_limit_of_nothing_lie_apart():
    made = scale(0.0, 0.0, "%")
    assert made is not None
    assert made.ends == ((14.0, "0"), (246.0, "0.01"))


@pytest.mark.parametrize(
    ("limit", "words", "told"),
    [
        (2.0, "minimum 2 mm", ["minimum 2 mm"]),
        (2.0, "", ["2.0 mm"]),
        ([0.25, 0.9], "0.25 mm to 0.9 mm", ["0.25 mm", "0.9 mm"]),  # one wording cannot stand at two places
    ],
)
def test_limits_are_written_at_their_places(limit, words, told):
    made = scale(1.0, limit, words=words)
    assert made is not None
    assert made.measured_words == "1.0 mm"
    assert [label for _, label in made.limits] == told


@pytest.mark.parametrize(
    ("value", "limit", "shown"),
    [
        (20.0, 2.0, True),  # ten times the limit
        (20.1, 2.0, False),
        (-20.1, 2.0, False),
        (9.0, [0.25, 0.9], True),  # of the larger end
        (9.1, [0.25, 0.9], False),
        (20.0, -2.0, True),
        (1.0, [1.0, 2.0, 3.0], False),
        (1.0, [1.0, "some"], False),
        (1.0, "some", False),
        ("some", 1.0, False),
        (True, 1.0, False),
        (1.0, True, False),
    ],
)
def test_what_has_a_scale(value, limit, shown):
    assert (scale(value, limit) is not None) is shown


@pytest.mark.parametrize(("unit", "shown"), [("mm", True), ("pt", True), ("%", True), ("ppi", True), ("mm2", False)])
def test_units_that_a_scale_helps_to_see(unit, shown):
    assert (scale(1.0, 2.0, unit) is not None) is shown


@pytest.mark.parametrize(
    ("place", "words", "middle"),
    [
        (100.0, "2.0 mm", 100.0),
        (3.0, "2 mm", 14.0),  # four letters of 7 units: half of them on either side
        (14.0, "2 mm", 14.0),
        (255.0, "minimum 2 mm", WIDTH - 12 * 3.5),
    ],
)
def test_a_label_stays_on_the_drawing(place, words, middle):
    made = scale(1.0, 2.0)
    assert made is not None
    assert made.beside(place, words) == middle
