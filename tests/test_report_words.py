"""Parts of the document in words: what is said once, what is only called a guess, what a count need not repeat."""

from __future__ import annotations

import re
from typing import Any, Final

import pytest
import shapely

from preflight.carton.places_in_words import blank_labels, lettered_panels
from preflight.quantities import with_squares
from preflight.report.html import strip_columns
from preflight.report.words import (
    board_words,
    figure,
    full,
    is_number,
    job_words,
    measured_words,
    missing_by_reason,
    not_asked_by_reason,
    page_words,
    per_cent,
    place_words,
    plain,
    repaired_words,
    rules_named,
    rules_words,
    separation_words,
    sheet_words,
    short,
    size,
    when_words,
)
from tests.report_jobs import carton_job

FLAT: Final = re.compile(r"\d [cm]?m2\b")


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
        ([("Cyan", "process"), ("Leaf", "spot"), ("Cut", "cut"), ("Text", "guide")], "Cyan, Leaf and 2 non-printing"),
        ([("Cyan", "process")], "Cyan"),
        ([("Cut", "cut")], "1 non-printing"),
        ([], "none"),
    ],
)
def test_the_separations_in_one_line(kinds, told):
    assert separation_words([{"name": name, "kind": kind} for name, kind in kinds]) == told


@pytest.mark.parametrize(
    ("measured", "limit", "words", "told"),
    [
        ((0.0, "mm"), (2.0, "mm"), "minimum 2 mm", ("0.0 mm", "limit: minimum 2 mm")),
        ((9, "plates"), (7, "plates"), "maximum 7 plates", ("9 plates", "limit: maximum 7 plates")),
        ((29.0, "mm2"), (0.1, "mm2"), "maximum 0.1 mm2", ("29 mm²", "limit: maximum 0.1 mm²")),
        ((29.0, "mm2"), (0.1, "mm2"), "none", ("29 mm²", "allowed: none")),
        ((2, "units"), (0, "units"), "none", ("", "")),
        ((0, "units"), (1, "units"), "minimum 1 unit", ("", "")),
        (("refused", ""), ("refused", ""), "not refused", ("", "")),
        ((True, ""), (True, ""), "no", ("", "")),
        (("oxidising", ""), ("uv", ""), "one of uv", ("oxidising", "limit: one of uv")),
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


# Small things in words ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("a\nb\tc\rd", "a b c d"),
        (" ~<&>", " ~<&>"),
        ("\x1f\x7f", "[U+001F][U+007F]"),
        ("\u202eab\u2028", "[U+202E]ab[U+2028]"),
        ("\udc80", "[U+DC80]"),
        ("\ue000", "[U+E000]"),
        ("Gr\u00fcn \u00b2 \u5200", "Gr\u00fcn \u00b2 \u5200"),
        (12, "12"),
    ],
)
def test_what_steers_a_screen_is_written_out(given, shown):
    assert plain(given) == shown


def test_the_middle_of_a_long_name_is_left_out():
    assert short("a" * 90) == "a" * 90
    assert short("abcdefghijkl", 12) == "abcdefghijkl"
    assert short("abcdefghijklm", 12) == "abcdefgh … klm (13 characters)"
    assert short("\n" + "x" * 200).startswith(" xxx")
    assert short("\u202e" * 12, 20).endswith("(12 characters)")  # of the name, and not of what is written out


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (True, "", "yes"),
        (False, "", "no"),
        ("refused", "", "refused"),
        ([1060, 760.5], "mm", "1060 x 760.5 mm"),
        (0, "mm", "0.0 mm"),
        (0.1, "mm", "0.1 mm"),
        (0.099, "mm", "0.099 mm"),
        (2.05, "mm", "2.05 mm"),
        (-2.05, "mm", "-2.05 mm"),
        (9.99, "mm", "9.99 mm"),
        (10.04, "mm", "10 mm"),
        (-12.34, "mm", "-12.3 mm"),
        (2.05, "pt", "2.0 pt"),
        (443.0, "mm2", "443 mm²"),
        (295.0, "g/m2", "295 g/m²"),
        (7, "plates", "7 plates"),
    ],
)
def test_quantities_of_the_document(value, unit, words):
    assert figure({"value": value, "unit": unit}) == words


def test_what_is_not_there_has_no_words():
    assert (figure(None), size(None), per_cent(None), full("")) == ("", "", "", "")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("on 1.7 cm2.", "on 1.7 cm²."),
        ("2 m2 and 3 mm2", "2 m² and 3 mm²"),
        ("Ink mm2", "Ink mm2"),
        ("5 mm22", "5 mm22"),
    ],
)
def test_areas_are_squared(text, shown):
    assert with_squares(text) == shown


@pytest.mark.parametrize(
    ("cover", "words"),
    [
        (0, "0 %"),
        (0.00005, "under 0.01 %"),
        (0.0001, "0.01 %"),
        (0.0042, "0.42 %"),
        (0.01, "1.0 %"),
        (0.094, "9.4 %"),
        (0.1, "10 %"),
        (0.314, "31 %"),
        (1, "100 %"),
    ],
)
def test_covers_have_more_figures_the_smaller_they_are(cover, words):
    assert per_cent(cover) == words


@pytest.mark.parametrize(
    ("box", "where", "words"),
    [
        ([48.04, 120.46, 60, 130], "panel C", "on panel C, 48 mm from the left, 120.5 mm up"),
        ([-0.04, 3.96, 6, 7], "", "0 mm from the left, 4 mm up"),
        ([-1.26, -20, 6, 7], "", "-1.3 mm from the left, -20 mm up"),
    ],
)
def test_a_place_is_told_from_the_lower_left(box, where, words):
    assert place_words({"box_mm": box, "where": where}) == words


@pytest.mark.parametrize(("text", "told"), [("a", "a."), ("a ", "a."), ("a.", "a."), ("a? ", "a? "), ("a!", "a!")])
def test_a_sentence_ends_with_a_full_stop(text, told):
    assert full(text) == told


@pytest.mark.parametrize(
    ("ticket", "words"),
    [
        (None, ""),
        ({"number": "4471", "revision": "C", "title": "Tea"}, "4471 revision C, Tea"),
        ({"number": "4471", "revision": None, "title": None}, "4471"),
        ({"number": None, "revision": "C", "title": "Tea"}, "revision C, Tea"),
    ],
)
def test_the_job_in_words(ticket, words):
    assert job_words({"ticket": ticket}) == words


def test_a_file_is_damaged_where_any_repair_lost_something():
    kept, lost = {"lost": False}, {"lost": True}
    assert "nothing was lost" in repaired_words({"repairs_told": [kept, kept]})
    assert "damaged" in repaired_words({"repairs_told": [kept, lost]})


def test_where_the_page_is_the_trim_it_is_not_said_twice():
    assert page_words(facts("assumed", "", "page")) == "420 x 346 mm (one-up, a guess)"
    assert page_words({**facts("read", ""), "is": "sheet"}) == "420 x 346 mm, cut 394 x 320 mm (sheet)"


@pytest.mark.parametrize(("inks", "more"), [(30, ""), (31, "1 more"), (1500, "1,470 more")])
def test_of_very_many_separations_the_first_thirty_are_named(inks, more):
    told = separation_words([{"name": f"Ink {k}", "kind": "spot"} for k in range(inks)])
    assert ("Ink 29" in told, "Ink 30" in told) == (True, False)
    assert told.endswith(f" and {more}" if more else " and Ink 29")


def test_of_a_long_ink_name_the_middle_is_left_out():
    assert separation_words([{"name": "x" * 41, "kind": "spot"}]).endswith("(41 characters)")
    assert separation_words([{"name": "x" * 40, "kind": "spot"}]) == "x" * 40


@pytest.mark.parametrize(
    ("value", "unit", "limit", "told"),
    [
        (4, "units", 2, ("4 units", "limit: 2 units")),
        (4, "units", 1, ("", "")),
        (4, "mm", 1, ("4.0 mm", "limit: 1.0 mm")),
        (4, "min", 1, ("4 min", "limit: 1 min")),
    ],
)
def test_only_counts_that_should_be_one_or_none_are_told_by_the_sentence_alone(value, unit, limit, told):
    finding = {"measured": {"value": value, "unit": unit}, "limit": {"value": limit, "unit": unit}, "limit_words": ""}
    assert measured_words(finding) == told


@pytest.mark.parametrize(
    ("sheet", "press", "words"),
    [
        (None, None, "not stated"),
        ([980, 690], None, "980 x 690 mm"),
        ([980, 690], ([500, 350], [1000, 700]), "980 x 690 mm; the press takes 500 x 350 mm to 1000 x 700 mm"),
        (None, (None, [1000, 700]), "not stated; the press takes up to 1000 x 700 mm"),
        (None, ([500, 350], None), "not stated"),
    ],
)
def test_the_sheet_in_words(sheet, press, words):
    told = press and {"smallest_mm": press[0], "largest_mm": press[1]}
    assert sheet_words({"sheet": sheet and {"mm": sheet}, "press": told}) == words


@pytest.mark.parametrize(
    ("board", "caliper", "words"),
    [
        ({}, None, "not stated"),
        ({}, [0.25, 0.9], "not stated; the press takes 0.25 to 0.9 mm"),
        ({"grade": "GC2", "caliper_mm": 0.45, "weight_gsm": 295, "grain": "across", "surface": "white"}, [0.25, 0.9],
         "GC2, 0.45 mm, 295 g/m², grain across, white surface; the press takes 0.25 to 0.9 mm"),
        ({"surface": "kraft"}, None, "kraft surface"),
        ({"weight_gsm": 300}, None, "300 g/m²"),
    ],
)  # fmt: skip
def test_the_board_in_words(board, caliper, words):
    nothing = dict.fromkeys(("grade", "caliper_mm", "weight_gsm", "grain", "surface"))
    told = {**nothing, **board} if board else None
    assert board_words({"board": told, "press": caliper and {"caliper_mm": caliper}}) == words


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("2026-03-02T14:05:00+00:00", "2 March 2026, 14:05 UTC"),
        ("2026-11-30T08:07:09+01:00", "30 November 2026, 08:07 UTC+01:00"),
        ("2026-11-30T08:07:09", "30 November 2026, 08:07"),
    ],
)
def test_when_it_was_checked(when, words):
    assert when_words({"run": {"when": when}}) == words


def test_rule_files_of_one_folder_are_told_together():
    of_a_house = [f"/opt/rules/{name}.yaml" for name in "abc"]
    told = rules_words({"run": {"rules": [*of_a_house, "/plant/x.yaml", "/plant/y.yaml", "z.yaml"]}})
    assert told == "rules/ (3 files), x.yaml, y.yaml, z.yaml"


@pytest.mark.parametrize(
    ("count", "told"),
    [(1, "r0"), (7, "r0, r1, r2, r3, r4, r5, r6"), (8, "r0, r1, r2, r3, r4, r5 and 2 more rules")],
)
def test_of_many_rules_six_are_named(count, told):
    assert rules_named([f"r{k}" for k in range(count)]) == told


def entry(rule: str, because: str = "b", helps: str = "h", counts: str = "note", **more: Any) -> dict[str, Any]:
    return {
        "rule": rule, "because": because, "would_help": helps, "counts_as": counts, "own_fault": False, "places": [],
        **more,
    }  # fmt: skip


def test_what_was_not_checked_for_one_reason_stands_together():
    groups = missing_by_reason(
        [
            entry("r1", places=["p", "q"]),
            entry("r2", "other"),
            entry("r3", counts="warn", own_fault=True, places=["q", "s"]),
            entry("r4"),
            entry("r5", helps="else"),
        ]
    )
    assert [group["rules"] for group in groups] == [["r1", "r3", "r4"], ["r2"], ["r5"]]
    assert [group["counts_as"] for group in groups] == ["warn", "note", "note"]
    assert [group["own_fault"] for group in groups] == [True, False, False]
    assert groups[0]["places"] == ["p", "q", "s"]


def test_an_own_fault_of_one_rule_is_not_undone_by_the_next():
    [group] = missing_by_reason([entry("r1", own_fault=True), entry("r2")])
    assert group["own_fault"] is True


def test_what_was_not_asked_for_one_reason_stands_together():
    entries = [{"rule": rule, "because": why} for rule, why in (("r1", "a"), ("r2", "b"), ("r3", "a"))]
    assert not_asked_by_reason(entries) == [{"because": "a", "rules": ["r1", "r3"]}, {"because": "b", "rules": ["r2"]}]


@pytest.mark.parametrize(("value", "number"), [(1, True), (0.5, True), (True, False), ("1", False), (None, False)])
def test_a_yes_is_no_number(value, number):
    assert is_number(value) is number
