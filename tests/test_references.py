"""References into press, ticket and job: what they stand for, in which unit, and what is said where nothing is."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from preflight.carton.die import Die
from preflight.errors import NotMeasured, NotUnderstood
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.judging.references import is_guess, is_reference, look_up, reference
from preflight.quantities import Range, Size

PRESS = Press.model_validate(
    {
        "press": "P",
        "sheet": {"largest": "1000 x 700 mm"},
        "units": [{}, {}, {}],
        "board": {"caliper": "0.25 mm to 0.9 mm"},
        "ink_keys": {"count": "31", "pitch": "33 mm"},
        "cures": ["uv"],
    }
)
TICKET = Ticket.model_validate(
    {"press": "b.yaml", "board": {"caliper": "0.4 mm"}, "quantity": "500", "coating": "none"}
)


def job(press: Press | None = PRESS, ticket: Ticket | None = TICKET, **more: Any) -> Job:
    nothing: Any = SimpleNamespace()
    return Job(nothing, nothing, Die("stated", "stated on the ticket"), press, ticket, **more)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("press.sheet.largest", Size(1000, 700), "mm"),
        ("press.board.caliper", Range(0.25, 0.9), "mm"),
        ("press.ink_keys.count", 31, ""),
        ("press.ink_keys.pitch", 33, "mm"),
        ("press.unit_count", 3, ""),
        ("press.cures", ("uv",), ""),
        ("press.name", "P", ""),
        ("ticket.board.caliper", 0.4, "mm"),
        ("ticket.quantity", 500, ""),
        ("ticket.nothing_coated", True, ""),
        ("job.artwork_is", "sheet", ""),
        ("job.die.found", "stated", ""),
    ],
)
def test_what_a_reference_stands_for(text, value, unit):
    ref = reference(text)
    assert look_up(job(artwork_is="sheet"), ref) == value
    assert ref.unit == unit
    assert ref.root == text.split(".")[0]


@pytest.mark.parametrize(
    ("text", "unit"), [("press.top_speed", "sheets/h"), ("ticket.board.weight", "g/m2"), ("ticket.sheet", "mm")]
)
def test_units_of_values(text, unit):
    assert reference(text).unit == unit


@pytest.mark.parametrize(
    ("text", "given", "want_of", "key", "named"),
    [
        ("press.sheet.smallest", {}, "press", "sheet.smallest", "b.yaml"),
        ("press.sheet.smallest", {"ticket": None}, "press", "sheet.smallest", None),
        ("press.sheet.largest", {"press": None}, "press", "sheet.largest", None),
        ("press.unit_count", {"press": None}, "press", "units", None),
        ("press.name", {"press": None}, "press", "press", None),
        ("ticket.sheet", {}, "ticket", "sheet.size", None),
        ("ticket.coating.kind", {}, "ticket", "coating.kind", None),
        ("ticket.nothing_coated", {"ticket": None}, "ticket", "coating", None),
    ],
)
def test_what_is_missing_is_called_as_it_is_written(text, given, want_of, key, named):
    with pytest.raises(NotMeasured) as missing:
        look_up(job(**given), reference(text))
    assert missing.value.want_of == want_of
    assert key in missing.value.would_help.split()
    assert ("there is no" in missing.value.because) is (want_of in given)
    assert ("b.yaml" in missing.value.because) is (named is not None)
    assert ("b.yaml" in missing.value.would_help) is (named is not None)


@pytest.mark.parametrize(
    ("text", "known", "guess"),
    [
        ("job.artwork_is", "assumed", True),
        ("job.artwork_is", "stated", False),
        ("job.die.found", "assumed", False),
        ("press.unit_count", "assumed", False),
        ("ticket.artwork_is", "assumed", False),  # what the ticket says is no guess
    ],
)
def test_only_what_the_job_assumes_is_a_guess(text, known, guess):
    assert is_guess(job(artwork_is_known=known), reference(text)) is guess


@pytest.mark.parametrize(
    ("text", "is_one"),
    [("press.a", True), ("ticket.a.b_c", True), ("job.x", True), ("job", False), ("plant.a", False), ("job.", False),
     ("job.a b", False), ("xjob.a", False)],
)  # fmt: skip
def test_what_is_meant_as_a_reference(text, is_one):
    assert is_reference(text) is is_one


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("press.shet.largest", "press.sheet.largest"),
        ("press.sheet.largst", "press.sheet.largest"),
        ("ticket.board.calipr", "ticket.board.caliper"),
        ("job.die.fund", "job.die.found"),
        ("press.zzz", ""),
    ],
)
def test_a_slip_in_a_reference_is_put_right_and_the_rest_of_it_kept(text, suggestion):
    with pytest.raises(NotUnderstood) as refusal:
        reference(text)
    assert refusal.value.suggestion == suggestion


def test_references_are_the_same_by_their_text():
    assert reference("press.cures") == reference("press.cures")
    assert {reference("press.cures"), reference("press.cures")} == {reference("press.cures")}
    assert reference("press.cures") != reference("press.name")


def test_a_reference_to_more_than_one_value_names_what_it_holds():
    for text, inner in (("press.sheet", "largest, printable, smallest"), ("press.units", "more than one")):
        with pytest.raises(NotUnderstood) as refusal:
            reference(text)
        assert inner in refusal.value.expected


def test_the_path_of_a_press_is_no_value():
    with pytest.raises(NotUnderstood):
        reference("ticket.press")
    assert TICKET.press == Path("b.yaml")
