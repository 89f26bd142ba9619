"""Parts of the document in words: what is said once, what is only called a guess, what a count need not repeat."""

from __future__ import annotations

import json
import re
from typing import Any, Final

import pytest
import shapely

from preflight import check
from preflight.report.html import strip_columns
from preflight.report.places_in_words import blank_labels, lettered_panels
from preflight.report.words import measured_words, page_words, separation_words
from tests.house import SIX_UNITS, blank_page, with_die
from tests.report_jobs import carton_job
from tests.test_rules_ink_total import BUILDS

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


def test_no_report_for_people_has_a_flat_two(tmp_path):
    page = with_die(blank_page().fill(BUILDS[352], rect=(30, 80, 50, 100)).fill("Mill Brown", rect=(60, 80, 70, 90)))
    page.fill("MILL BROWN C", rect=(60, 100, 70, 110)).fill("Moss Green", rect=(60, 120, 60.2, 120.2))
    (tmp_path / "press.yaml").write_text(json.dumps(SIX_UNITS))
    with check(page.save(tmp_path / "art.pdf"), press=tmp_path / "press.yaml") as report:
        report.save(tmp_path / "report.html")
        said = [text for finding in report.findings for text in (finding.says, finding.why, finding.do)]
        units = {finding.measured[1] for finding in report.findings}
    told = {text for text in said if "cm²" in text or "mm²" in text}
    assert len(told) >= 3, said
    assert not [text for text in said if FLAT.search(text)]
    assert "mm2" in units
    assert not FLAT.findall((tmp_path / "report.html").read_text())
