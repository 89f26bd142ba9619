"""Wordings filled with a reading, its limit and its facts."""

from __future__ import annotations

from typing import Any

import pytest
from shapely import MultiLineString, box

from preflight.carton.die import Blank, Die
from preflight.findings import Beyond, Count, Place, Reading
from preflight.judging.limits import Outcome
from preflight.judging.phrases import Phrase, fact_text, facts_of, reading_text

NO_DIE = Die("none", "no cut line is drawn")
OUTCOME = Outcome(True, 2.0, "minimum 2 mm", "2 mm", 0.5)


def told(
    *members: Reading, places: tuple[Place, ...] = (), outcome: Outcome = OUTCOME, die: Die = NO_DIE
) -> dict[str, str]:
    return facts_of(members, "mm", outcome, places, die)


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("{lines} of {ink}", "3 of Leaf"),
        ("{lines:# line|# lines}", "3 lines"),
        ("{one:# line|# lines}", "1 line"),
        ("{one_place:the place|each of #}", "the place"),
        ("{eleven:# line|# lines}", "11 lines"),
        ("{{x}} {ink}", "{x} Leaf"),
        ("{ink:|}", ""),
        ("plain", "plain"),
    ],
)
def test_a_wording_is_filled(text, filled):
    facts = {"lines": "3", "one": "1", "one_place": "1 place", "eleven": "11", "ink": "Leaf"}
    phrase = Phrase(facts)
    assert phrase.fill(text) == filled
    assert phrase.unknown == []


def test_what_nothing_gives_stays_a_word_and_is_named_once():
    phrase = Phrase({"a": "x"})
    assert phrase.fill("{b} {a} {b} {c:one|many}") == "b x b many"
    assert phrase.unknown == ["b", "c"]


def test_what_may_be_quoted_of_any_reading():
    places = (Place((10, 20, 13, 26), 4, "Leaf"), Place((1, 1, 2, 2), 5, "Fern", "panel 2"))
    assert told(Reading(1.5, "mm"), Reading(1.7, "mm"), Reading(1.9, "mm"), places=places) == {
        "reading": "1.5 mm",
        "limit": "2 mm",
        "asked": "minimum 2 mm",
        "count": "3",
        "places": "2 places",
        "place": "10 mm from the left, 20 mm up",
        "separation": "Leaf",
        "page": "4",
    }


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        ((), ("0 places", "", "", "")),
        (
            (Place((1, 1, 2, 2), 3, None, "top edge"),),
            ("1 place", "at the top edge, 1 mm from the left, 1 mm up", "", "3"),
        ),
    ],
)
def test_of_a_finding_without_a_place_or_an_ink_nothing_is_quoted(places, expected):
    facts = told(Reading(1.5, "mm"), places=places)
    assert (facts["places"], facts["place"], facts["separation"], facts["page"]) == expected


def test_counts_are_added_up_and_lists_joined_and_all_else_is_the_worst_reading_s():
    members = [
        Reading(1.0, facts={"lines": Count(2), "inks": ["Leaf", "Fern"], "gap_mm": 1.0, "side": "left"}),
        Reading(1.5, facts={"lines": Count(3), "inks": ["Fern", "Moss"], "gap_mm": 1.5, "side": "right"}),
        Reading(1.6, facts={"lines": 40, "inks": "Ash"}),
        Reading(1.7),
    ]
    facts = told(*members)
    assert (facts["lines"], facts["inks"], facts["gap_mm"], facts["side"]) == (
        "5",
        "Leaf, Fern, Moss",
        "1.0 mm",
        "left",
    )


@pytest.mark.parametrize(
    ("limit", "told_as"), [(300.0, "9.5 mm²"), (310.0, "4 mm²"), ("white", "9.5 mm²"), (None, "9.5 mm²")]
)
def test_what_lies_beyond_is_told_for_the_limit_that_was_tripped(limit, told_as):
    beyond = Beyond((300.0, 320.0), (9.5, 4.0), "mm2")
    facts = told(Reading(1.0, facts={"area": beyond}), outcome=Outcome(True, limit, "", ""))
    assert facts["area"] == told_as


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("gap_mm", 2, "2.0 mm"),
        ("share_percent", 12.4, "12 %"),
        ("size_pt", 4.63, "4.6 pt"),
        ("photo_ppi", 182.4, "182 ppi"),
        ("time_min", 12, "12 min"),
        ("area_mm2", 9.5, "9.5 mm²"),
        ("gap", 2.5, "2.5"),
        ("gap_mm", "some", "some"),
        ("gap_mm", False, "no"),
        ("peak", (3, "units"), "3 units"),
        ("pair", (3, 4), "3, 4"),
        ("pair", ("a", "b"), "a, b"),
        ("trio", (3, "a", "b"), "3, a, b"),
        ("inks", {"Leaf"}, "Leaf"),
        ("inks", [], ""),
        ("inks", [f"n{k}" for k in range(31)], ", ".join(f"n{k}" for k in range(30)) + " and 1 more"),
        ("thing", object, str(object)),
    ],
)
def test_facts_in_words(name, value: Any, text):
    assert fact_text(name, value) == text


@pytest.mark.parametrize(
    ("value", "unit", "beside", "text"),
    [
        (False, "", "", "no"),
        (1.96, "mm", "", "2.0 mm"),
        (1.96, "mm", "2 mm", "1.96 mm"),
        (2.04, "mm", "2 mm", "2.04 mm"),
        (2.5, "mm", "2 mm", "2.5 mm"),
        (250.4, "ppi", "250 ppi", "250.4 ppi"),
        (250.0, "ppi", "250 ppi", "250 ppi"),
        (7, "plates", "7 plates", "7 plates"),
    ],
)
def test_a_reading_beside_its_limit(value, unit, beside, text):
    assert reading_text(value, unit, beside) == text


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("", "on panel A, 10 mm from the left, 20 mm up"),
        ("top edge of blank 2", "at the top edge of blank 2, 10 mm from the left, 20 mm up"),
    ],
)
def test_a_place_is_told_by_its_own_words_or_else_by_its_panel(path, words):
    panel = box(0, 0, 50, 60)
    die = Die("read", "", (Blank(1, panel, MultiLineString(), (panel,)),))
    assert told(Reading(1.0), places=(Place((10, 20, 13.2, 27), 1, None, path),), die=die)["place"] == words
