"""Parts of the document in words: what is said once, what is only called a guess, what a count need not repeat."""

from __future__ import annotations

from typing import Any

import pytest
import shapely

from preflight.carton.places_in_words import blank_labels, lettered_panels
from preflight.report.html import strip_columns
from preflight.report.words import measured_words, page_words, separation_words
from tests.report_jobs import carton_job


def facts(known: str, because: str, trim_is: str = "cut") -> dict[str, Any]:
    return {
        "page_mm": [420, 346], "trim_mm": [394, 320], "trim_is": trim_is, "is": "one-up", "is_known": known,
        "is_because": because,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("page", "die_read", "told"),
    [
        (
            facts("stated", "stated on the ticket"), True,
            "420 x 346 mm, cut 394 x 320 mm (one-up, stated on the ticket)",
        ),
        (
            facts("assumed", "The artwork is taken as one-up."), True,
            "420 x 346 mm, cut 394 x 320 mm (one-up, a guess)",
        ),
        (facts("stated", "stated on the ticket", "trim box"), False, "420 x 346 mm (one-up, stated on the ticket)"),
    ],
)  # fmt: skip
def test_the_page_in_words(page, die_read, told):
    assert page_words(page, die_read=die_read) == told


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        ([("Cyan", "process"), ("Leaf", "spot"), ("Cut", "cut"), ("Text", "guide")], "Cyan, Leaf and 2 technical"),
        ([("Cyan", "process")], "Cyan"),
        ([("Cut", "cut")], "1 technical"),
        ([], "none"),
    ],
)
def test_the_separations_in_one_line(kinds, told):
    assert separation_words([{"name": name, "kind": kind} for name, kind in kinds]) == told


@pytest.mark.parametrize(
    ("measured", "limit", "words", "told"),
    [
        ((0.0, "mm"), (2.0, "mm"), "at least 2 mm", ("0.0 mm", "at least 2 mm")),
        ((9, "plates"), (7, "plates"), "at most 7 plates", ("9 plates", "at most 7 plates")),
        ((29.0, "mm2"), (0.1, "mm2"), "at most 0.1 mm2", ("29 mm²", "at most 0.1 mm²")),
        ((2, "units"), (0, "units"), "none", ("", "")),
        ((0, "units"), (1, "units"), "at least 1 unit", ("", "")),
        (("refused", ""), ("refused", ""), "not refused", ("", "")),
        ((True, ""), (True, ""), "no", ("", "")),
        (("oxidising", ""), ("uv", ""), "one of uv", ("oxidising", "one of uv")),
        (("legend only", ""), None, "", ("legend only", "")),
    ],
)
def test_a_count_that_should_be_none_or_one_is_not_said_twice(measured, limit, words, told):
    finding = {
        "measured": dict(zip(("value", "unit"), measured, strict=True)),
        "limit": dict(zip(("value", "unit"), limit, strict=True)) if limit else None,
        "limit_words": words,
    }
    assert measured_words(finding) == told


@pytest.mark.parametrize("tabs", range(1, 40))
def test_no_row_of_plates_holds_a_single_one(tabs):
    columns = strip_columns(tabs)
    assert columns <= 9
    assert tabs <= columns or tabs % columns != 1


def test_letters_stand_in_the_upper_right_of_their_panels():
    die = carton_job().die
    panels = dict(lettered_panels(die))
    labels = blank_labels(die, 4.0)
    assert [letter for letter, _, _ in labels] == list(panels)
    for letter, x, y in labels:
        assert panels[letter].contains(shapely.Point(x, y))
        centre = panels[letter].centroid
        assert x + y > centre.x + centre.y
