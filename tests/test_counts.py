"""Counts agree with their nouns and with the places that are shown, whatever number of readings is in a finding."""

from __future__ import annotations

import re

import pytest

from preflight.carton.die import Die
from preflight.errors import NotUnderstood
from preflight.findings import Count, Finding, Reading
from preflight.job_facts import final_facts
from preflight.judging.judge import judge
from preflight.judging.limits import hold, read_limit
from preflight.judging.phrases import Phrase, facts_of
from preflight.judging.rule_keys import CaseKeys
from preflight.report.document import build_document
from preflight.report.words import figure, place_words
from tests.drawn import Drawing
from tests.house import WRONG_COUNT, blank_page, job_of, rulebook, with_die
from tests.report_jobs import RUN

ONE_UP = {"artwork_is": "one-up"}
BLACK = (0, 0, 0, 1)


@pytest.mark.parametrize(
    ("text", "facts", "told"),
    [
        ("{objects:# line is|# lines are} thin", {"objects": "1"}, "1 line is thin"),
        ("{objects:# line is|# lines are} thin", {"objects": "12"}, "12 lines are thin"),
        ("{objects:# line is|# lines are} thin", {"objects": "0"}, "0 lines are thin"),
        ("{reading} {reading:is|are} needed", {"reading": "1 plate"}, "1 plate is needed"),
        ("{reading} {reading:is|are} needed", {"reading": "1.5 mm"}, "1.5 mm are needed"),
        ("here{count:|, the worst of # places}", {"count": "1"}, "here"),
        ("here{count:|, the worst of # places}", {"count": "3"}, "here, the worst of 3 places"),
        ("{{{objects}}}", {"objects": "1"}, "{1}"),
    ],
)
def test_wordings_for_one_and_for_several(text, facts, told):
    assert CaseKeys(says=text).says == text
    assert Phrase(facts).fill(text) == told


@pytest.mark.parametrize("text", ["{objects:lines}", "{objects:a|b|c}", "{objects!r}", "{ob jects}", "{objects:>3}"])
def test_other_forms_are_refused(text):
    with pytest.raises((NotUnderstood, ValueError)):
        CaseKeys(says=text)


def test_counts_are_added_lists_joined_and_the_worst_quoted():
    outcome = hold(3.0, read_limit("below 5 pt"), "pt", lambda _reference: None)
    members = [
        Reading(3.0, "pt", facts={"objects": Count(1), "inks": ["Black"], "plates": 7, "where": "left"}),
        Reading(4.0, "pt", facts={"objects": Count(43), "inks": ["Cyan", "Black"], "plates": 7, "where": "right"}),
    ]
    facts = facts_of(members, "pt", outcome, (), Die("none", ""))
    assert (facts["objects"], facts["inks"], facts["plates"], facts["where"]) == ("44", "Black, Cyan", "7", "left")
    assert facts["places"] == "0 places"


def findings(page: Drawing, tmp_path, rule: str) -> list[Finding]:
    return list(judge(job_of(page, tmp_path, ONE_UP), rulebook(), only={rule}).findings)


def small_type(*sizes: float) -> Drawing:
    """A word of each size, 4 mm apart."""
    page = blank_page()
    for number, size in enumerate(sizes):
        page.text("Sage", (40, 80 + 4 * number), size)
    return with_die(page)


def lines(*widths_mm: float) -> Drawing:
    page = blank_page()
    for number, width in enumerate(widths_mm):
        y = 80 + 4 * number
        page.stroke(BLACK, [(40, y), (70, y)], width_mm=width, close=False)
    return with_die(page)


def test_type_of_several_sizes_is_counted_together(tmp_path):
    """One word of 3 pt and five of 4 pt: six pieces in six places, as small as 3 pt."""
    [found] = findings(small_type(3, 4, 4, 4, 4, 4), tmp_path, "text-too-small")
    assert len(found.places) == 6
    assert found.says.startswith("6 pieces of text, the smallest of 3.0 pt")
    [one] = findings(small_type(3), tmp_path, "text-too-small")
    assert one.says.startswith("A piece of text of 3.0 pt")


def test_lines_of_several_widths_are_counted_together(tmp_path):
    """Lines of 0.06, 0.07 (four of them) and 0.08 mm, all of them under 0.09 mm and none under 0.05 mm."""
    [found] = findings(lines(0.06, 0.07, 0.07, 0.07, 0.07, 0.08), tmp_path, "line-too-thin")
    assert len(found.places) == 6
    assert found.says.startswith("6 lines, the thinnest of 0.06 mm")
    [one] = findings(lines(0.06), tmp_path, "line-too-thin")
    assert one.says.startswith("A line of 0.06 mm")


def test_a_hairline_has_no_width(tmp_path):
    [found] = findings(lines(0.0, 0.0), tmp_path, "line-too-thin")
    assert found.case == "hairline"
    assert not re.search(r"\b0\.0\b", found.says + found.why + found.customer)
    assert found.says.startswith("2 lines without a stated width")


@pytest.mark.parametrize(("width", "told"), [(0.003, "0.003 mm"), (0.048, "0.048 mm"), (0.05, "0.05 mm")])
def test_thin_lines_keep_their_width_in_every_report(width, told, tmp_path):
    """To 0.01 mm the first two would be 0.0 mm and 0.05 mm, which is the limit."""
    job = job_of(lines(width), tmp_path, ONE_UP)
    document = build_document([(final_facts(job), judge(job, rulebook(), only={"line-too-thin"}))], RUN)
    [finding] = document["findings"]
    assert finding["measured"] == {"value": width, "unit": "mm"}
    assert told in finding["says"]
    assert figure(finding["measured"]) == told


def on_a_fold(*heights_mm: float) -> Drawing:
    """Words that begin on the fold between panels 1 and 2, which stands at 85 mm."""
    page = blank_page()
    for y in heights_mm:
        page.text("Sage", (85, y), 8)
    return with_die(page)


@pytest.mark.parametrize("number", [1, 2])
def test_places_near_a_fold_are_counted(number, tmp_path):
    found = findings(on_a_fold(*(90 + 10 * k for k in range(number))), tmp_path, "live-matter-near-fold")
    assert len(found) == 1
    assert len(found[0].places) == number
    assert found[0].says.startswith(f"{number} place{'s' * (number > 1)} closer than 1.5 mm to a crease (text)")


def test_what_stands_near_the_fold_is_named_whole(tmp_path):
    page = on_a_fold(90)
    for number, height in enumerate([2, 1.5, 2, 1.5, 2, 1.5]):  # letters of two heights and several widths
        x = 85.3 + 2 * number
        page.fill(BLACK, rect=(x, 120, x + 1.2 + 0.1 * (number % 3), 120 + height))
    [found] = findings(page, tmp_path, "live-matter-near-fold")
    assert len(found.places) == 2
    assert re.match(r"2 places closer than 1.5 mm to a crease \((text, )?outlined type(, text)?\)", found.says)


@pytest.mark.parametrize("number", [1, 3])
def test_objects_at_nought_are_counted(number, tmp_path):
    """As many as lie over the cyan; another one on bare board takes nothing away."""
    page = blank_page().fill((1, 0, 0, 0), rect=(30, 60, 80, 140))
    for k in range(number):
        page.fill("Moss Green", 0.0, rect=(40, 70 + 15 * k, 50, 80 + 15 * k))
    page.fill("Moss Green", 0.0, rect=(90, 70, 100, 80))
    [found] = findings(with_die(page), tmp_path, "spot-at-zero")
    assert len(found.places) == number
    words = "An object in Moss Green at 0 % knocks" if number == 1 else "3 objects in Moss Green at 0 % knock"
    assert found.says.startswith(f"{words} out Cyan ")


def test_pictures_are_counted(tmp_path):
    page = blank_page()
    for number in range(3):
        x = 30 + 17 * number
        samples = bytes((k * 37 + k * k * 11) % 256 for k in range(40 * 40 * 4))
        page.image(samples, 40, 40, (x, 70, x + 15 + number, 86))
    [found] = findings(with_die(page), tmp_path, "image-coarse")
    assert len(found.places) == 3
    assert found.says.startswith("3 pictures, the lowest: resolution 60 ppi at print size (40 x 40 pixels")


def test_lines_that_are_not_all_shown_are_said(tmp_path):
    """Twenty creases knock a line out of a ground; twelve places are shown."""
    page = blank_page().fill((1, 0, 0, 0), rect=(30, 60, 80, 140)).gs(OP=False, op=False)
    for number in range(20):
        y = 62 + 3.5 * number
        page.stroke("Creasing", [(35, y), (75, y)], width_mm=0.5, close=False)
    found = findings(with_die(page), tmp_path, "die-knocks-out")
    [creases] = [one for one in found if "Creasing" in one.says]
    assert len(creases.places) == 12
    assert "(20 lines, the 12 longest of them shown)" in creases.says


@pytest.mark.parametrize("text", ["1 places with", "(1 pieces)", "0.0 mm wide", "{reading}"])
def test_what_is_looked_for_in_every_case_of_the_house(text):
    assert WRONG_COUNT.search(text)
    assert not WRONG_COUNT.search("1 place, 11 places, 0.1 places, stops 0.0 mm past")


def test_a_place_in_words_has_no_minus_nought():
    assert place_words({"box_mm": [-0.01, 3, 4, 5], "where": ""}) == "0 mm from the left, 3 mm up"
