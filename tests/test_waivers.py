"""Waivers: which readings they cover, to the millimetre and the day, and what is said of those that cover nothing."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from preflight.findings import Place, Reading, Verdict
from preflight.inputs.ticket import Ticket
from preflight.judging.rulebook import Rule, Rulebook
from preflight.judging.waivers import Waivers
from tests.report_jobs import finding

TODAY = date(2026, 6, 1)
DIGEST = "3f9a12" + "0" * 58


def rule(name: str) -> Rule:
    return Rule(name, "?", "gap", "says", "why", "do", "common practice")


BOOK = Rulebook(
    {name: rule(name) for name in ("gap-narrow", "ink-wide")}, off={"gap-off": "x"}, retired={"gap-old": ()}
)


def waivers(*given: dict[str, Any] | None, run: tuple[str, ...] = ("gap-narrow",), page: int = 1, pages: int = 1):
    listed = [waiver for waiver in given if waiver is not None]
    job: Any = SimpleNamespace(
        ticket=Ticket.model_validate({"waivers": listed}) if None not in given else None,
        artwork=SimpleNamespace(sha256=DIGEST.upper(), page_count=pages),
        page=SimpleNamespace(number=page),
    )
    return Waivers(job, BOOK, [BOOK.rules[name] for name in run], TODAY)


def near(x: float, y: float, **more: Any) -> dict[str, Any]:
    return {"rule": "gap-narrow", "near": [x, y], **more}


EVERYWHERE = {"rule": "gap-narrow"}
BOX = Place((40.0, 20.0, 46.0, 23.0))
FAR = Place((140.0, 20.0, 146.0, 23.0))


@pytest.mark.parametrize(
    ("x", "y", "covered"),
    [
        (43, 21, True),
        (35, 21, True),  # 5 mm to the left
        (34.9, 21, False),
        (51, 21, True),
        (51.1, 21, False),
        (43, 15, True),
        (43, 14.9, False),
        (43, 28, True),
        (43, 28.1, False),
        (37, 16, True),  # 3 and 4 mm off a corner
        (37, 15.9, False),
        (49, 27, True),
        (49.1, 27, False),
    ],
)
def test_a_waiver_covers_what_is_within_5_mm_of_its_point(x, y, covered):
    assert waivers(near(x, y)).covering("gap-narrow", Reading(1.0, places=(BOX,))) == (0 if covered else None)


@pytest.mark.parametrize(
    ("given", "places", "number"),
    [
        ([near(43, 21), near(143, 21)], (BOX, FAR), 0),  # each place near a waiver of its own
        ([near(43, 21), near(143, 21)], (FAR, BOX), 1),
        ([near(43, 21)], (BOX, FAR), None),
        ([near(43, 21)], (FAR, BOX), None),
        ([near(43, 21)], (), None),
        ([EVERYWHERE], (), 0),
        ([near(43, 21), EVERYWHERE], (BOX,), 1),  # what needs no place comes first
        ([{**EVERYWHERE, "rule": "ink-wide"}, EVERYWHERE], (FAR,), 1),
        ([], (BOX,), None),
        ([None], (BOX,), None),
    ],
)
def test_every_place_of_a_reading_has_to_be_covered(given, places, number):
    assert waivers(*given).covering("gap-narrow", Reading(1.0, places=places)) == number


@pytest.mark.parametrize(
    ("more", "covered"),
    [
        ({"until": "2026-06-01"}, True),  # its last day
        ({"until": "2026-05-31"}, False),
        ({"artwork": "3f9a12"}, True),
        ({"artwork": "3f9a13"}, False),
        ({"artwork": "3f9a12", "until": "2026-05-31"}, False),
    ],
)
def test_a_waiver_holds_until_its_day_and_for_its_artwork(more, covered):
    given = waivers({**EVERYWHERE, **more})
    assert (given.covering("gap-narrow", Reading(1.0)) == 0) is covered
    assert [("does not hold" in note) for note in given.notes()] == ([] if covered else [True])


@pytest.mark.parametrize(
    ("waiver", "run", "said"),
    [
        (EVERYWHERE, ("gap-narrow",), "covers nothing"),
        (EVERYWHERE, ("ink-wide",), None),  # its rule was not asked for this time
        ({"rule": "gap-off"}, ("gap-narrow",), "switched off"),
        ({"rule": "gap-old"}, ("gap-narrow",), "retired"),
        ({"rule": "gap-narow"}, ("gap-narrow",), "did you mean gap-narrow?"),
        ({"rule": "zzz"}, ("gap-narrow",), "no such rule"),
    ],
)
def test_what_is_said_of_a_waiver_that_covers_nothing(waiver, run, said):
    notes = list(waivers(waiver, run=run).notes())
    assert [said in note for note in notes if said] == [True] * (said is not None)
    assert len(notes) == (said is not None)
    assert ("did you mean" in "".join(notes)) is (waiver["rule"] == "gap-narow")


def test_only_those_that_were_not_used_are_spoken_of():
    given = waivers(near(43, 21), near(143, 21), near(300, 300), {"rule": "ink-wide"}, run=("gap-narrow", "ink-wide"))
    given.covering("gap-narrow", Reading(1.0, places=(BOX, FAR)))
    assert [note.split()[3] for note in given.notes()] == ["gap-narrow", "ink-wide"]


@pytest.mark.parametrize(("pages", "said"), [(1, False), (2, True)])
def test_of_several_pages_it_is_said_on_which_it_covers_nothing(pages, said):
    [note] = waivers(EVERYWHERE, page=2, pages=pages).notes()
    assert note.endswith("on page 2") is said


WHOLE = {**near(43, 21), "artwork": "3f9a12", "until": "2030-01-31", "reason": "agreed", "by": "AB"}


@pytest.mark.parametrize(
    ("without", "remarks"),
    [
        ([], 0), (["near"], 1), (["artwork"], 1), (["until"], 1), (["reason"], 1), (["by"], 1), (["reason", "by"], 1),
        (["near", "artwork", "until", "by"], 4),
    ],
)  # fmt: skip
def test_what_a_waiver_lacks_is_remarked_upon(without, remarks):
    waived = waivers({key: value for key, value in WHOLE.items() if key not in without}).waived(
        0, finding("gap-narrow")
    )
    assert len([remark for remark in waived.remark.split("; ") if remark]) == remarks
    assert waived.reason == ("" if "reason" in without else "agreed")
    assert waived.by == ("" if "by" in without else "AB")
    assert waived.until == ("" if "until" in without else "2030-01-31")
    assert waived.finding.verdict is Verdict.FAIL


def test_each_waiver_keeps_its_own_words():
    given = waivers(WHOLE, {**WHOLE, "by": "CD"})
    assert given.waived(1, finding("gap-narrow")).by == "CD"
