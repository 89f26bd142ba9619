"""What a limit is held against: which words, sizes and units fit, and a condition that does not hold in plain words."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.errors import NotUnderstood
from preflight.judging.conditions import called, of_measure, of_reference, sort_of, why_not_asked
from preflight.judging.limits import read_limit
from preflight.judging.references import reference
from preflight.measures import declared
from preflight.quantities import Range, Size

GAP = declared(lambda job: [], name="gap", unit="mm")
COUNT = declared(lambda job: [], name="count", unit="plates")
SIZE = declared(lambda job: [], name="size", unit="mm", sizes=True)
WORD = declared(lambda job: [], name="word", unit="", words=("taken", "half-cut"))
ANY_WORD = declared(lambda job: [], name="any-word", unit="")


@pytest.mark.parametrize(
    ("measure", "limit", "fitted"),
    [
        (WORD, "is half cut", "is half-cut"),
        (WORD, "one of [Taken, half cut]", "one of [taken, half-cut]"),
        (ANY_WORD, "is Whatever", "is Whatever"),
        (SIZE, "is 40 x 28 in", "is 1016 x 711.2 mm"),
        (SIZE, "one of [1 x 2 cm, 3 x 4 mm]", "one of [10 x 20 mm, 3 x 4 mm]"),
        (GAP, "outside 1 to 2 mm", "outside 1 to 2 mm"),
        (GAP, "above press.edges.gripper", "above press.edges.gripper"),
        (GAP, "outside press.board.caliper", "outside press.board.caliper"),
        (COUNT, "above press.unit_count", "above press.unit_count"),
        (COUNT, "above 3", "above 3"),
    ],
)
def test_a_limit_that_readings_can_be_held_against(measure, limit, fitted):
    assert str(of_measure(read_limit(limit), measure)) == fitted


@pytest.mark.parametrize(
    ("measure", "limit", "expected"),
    [
        (WORD, "below 2 mm", "one of"),
        (WORD, "outside 1 to 2", "one of"),
        (SIZE, "outside 1 to 2 mm", "below or above"),
        (GAP, "above press.unit_count", "in mm"),
        (COUNT, "above press.edges.gripper", "in plates"),
        (GAP, "above press.board.caliper", "a number"),
        (GAP, "outside press.edges.gripper", "a range"),
        (GAP, "is false", "a number with its unit"),
        (GAP, "one of [2 mm, 3 x 4 mm]", "one number"),
        (GAP, "is press.cures", "a number"),
        (WORD, "is press.unit_count", "a word or a list of words"),
    ],
)
def test_one_that_never_can_be_says_what_is_wanted(measure, limit, expected):
    with pytest.raises(NotUnderstood) as refusal:
        of_measure(read_limit(limit), measure)
    assert expected in refusal.value.expected


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("ticket.quantity", "is 5"),
        ("ticket.quantity", "below 1"),
        ("ticket.quantity", "above 0"),
        ("ticket.quantity", "above 2.5"),
        ("ticket.board.caliper", "above 0 mm"),
        ("ticket.board.weight", "below 1 g/m2"),
        ("ticket.nothing_coated", "is false"),
        ("ticket.sheet", "below 500 x 350 mm"),
        ("job.artwork_is", "one of [sheet, plate]"),
    ],
)
def test_a_condition_that_can_hold(text, limit):
    assert str(of_reference(read_limit(limit), reference(text))) == limit


@pytest.mark.parametrize(
    ("text", "limit", "suggestion"),
    [
        ("ticket.quantity", "is 2.5", ""),
        ("ticket.quantity", "not one of [1, 2.5]", ""),
        ("ticket.quantity", "below 0", ""),
        ("ticket.board.weight", "below 0 g/m2", ""),
        ("ticket.board.caliper", "above 18 points", ""),
        ("ticket.board.caliper", "above 18 pt", ""),
        ("press.board.caliper", "above 0.3 mm", ""),
        ("ticket.nothing_coated", "is yes", ""),
        ("ticket.nothing_coated", "one of [true, fals]", "false"),
        ("ticket.artwork_is", "is shet", "sheet"),
    ],
)
def test_a_condition_that_never_can(text, limit, suggestion):
    with pytest.raises(NotUnderstood) as refusal:
        of_reference(read_limit(limit), reference(text))
    assert refusal.value.suggestion == suggestion


@pytest.mark.parametrize(
    ("kind", "sort"),
    [
        (bool, "true or false"), (int, "a number"), (float, "a number"), (Size, "a size"), (Range, "a range"),
        (str, "a word"), (tuple[str, ...], "a list of words"), (frozenset[str], "a list of words"),
    ],
)  # fmt: skip
def test_what_a_type_is_compared_as(kind, sort):
    assert sort_of(kind) == sort


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("ticket.board.surface", "board surface"),
        ("ticket.ink_system", "ink system"),
        ("press.cures", "ink systems that they dry"),
        ("press.edges.gripper", "edges gripper"),
    ],
)
def test_what_is_referred_to_in_plain_words(text, words):
    assert called(reference(text)) == words


ON_A_JOB: dict[str, Any] = {
    "press.cures": ("uv", "led-uv"),
    "press.board.caliper": Range(0.25, 0.9),
    "press.unit_count": 6,
}


@pytest.mark.parametrize(
    ("text", "limit", "value", "told"),
    [
        ("ticket.nothing_coated", "is true", False, "jobs that are not coated (ticket.nothing_coated)"),
        ("ticket.nothing_coated", "is false", True, "jobs that are coated (ticket.nothing_coated)"),
        ("ticket.nothing_coated", "is not true", True, "jobs that are coated (ticket.nothing_coated)"),
        ("ticket.nothing_coated", "is not false", False, "jobs that are not coated (ticket.nothing_coated)"),
        ("press.unit_count", "below 4", 6, "presses whose number of units is below 4 (press.unit_count); here it is 6"),
        ("ticket.board.caliper", "above 0.5 mm", 0.457, "jobs whose board caliper is above 0.5 mm"),
        ("ticket.board.caliper", "outside press.board.caliper", 0.4,
         "is outside press.board.caliper, which is 0.25 mm to 0.9 mm (ticket.board.caliper); here it is 0.4 mm"),
        ("press.cures", "one of [uv, led-uv]", ("oxidising", "low-energy-uv"),
         "presses with uv or led-uv among the ink systems that they dry (press.cures); "
         "here it is oxidising, low-energy-uv"),
        ("press.cures", "is not uv", ("uv",), "presses without uv among the ink systems"),
        ("ticket.coating.clear", "is code", (),
         "jobs with code among the areas left bare (ticket.coating.clear); here it is nothing"),
        ("ticket.ink_system", "one of press.cures", "oxidising",
         "whose ink system is among press.cures, which is uv, led-uv"),
        ("ticket.ink_system", "is not uv", "uv", "whose ink system is not uv"),
        ("job.die.found", "is not none", "none", "jobs with a die (job.die.found)"),
        ("job.die.found", "one of [none]", "read", "jobs without a die (job.die.found)"),
        ("job.die.found", "not one of [none]", "none", "jobs with a die (job.die.found)"),
        ("job.die.found", "one of [none, assumed]", "read", "jobs whose die is missing or assumed"),
        ("job.die.found", "is not assumed", "assumed", "jobs whose die is not assumed"),
    ],
)  # fmt: skip
def test_why_a_rule_is_not_asked(text, limit, value, told):
    why = why_not_asked(reference(text), read_limit(limit), value, lambda ref: ON_A_JOB[ref.text])
    assert told in why
    assert "  " not in why
