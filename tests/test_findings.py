"""The plain data that measures, judge and reports share: verdicts in order, names in a row, what lies above a limit."""

from __future__ import annotations

import pytest

from preflight.errors import NotMeasured, RendererStopped
from preflight.findings import Beyond, Count, Gap, Verdict, listed, with_and


def test_the_worst_verdict_is_the_greatest():
    assert max(Verdict.WARN, Verdict.PASS, Verdict.FAIL) is Verdict.FAIL
    assert max(Verdict.WARN, Verdict.PASS) is Verdict.WARN
    assert max(Verdict.NOTE, Verdict.PASS) is Verdict.PASS
    assert [verdict.word for verdict in Verdict] == ["note", "pass", "warn", "fail"]


@pytest.mark.parametrize(
    ("words", "told"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (iter("abc"), "a, b and c")]
)
def test_words_with_an_and(words, told):
    assert with_and(words) == told


@pytest.mark.parametrize(
    ("count", "most", "told"),
    [
        (0, 2, ""),
        (2, 2, "n0, n1"),
        (3, 2, "n0, n1 and 1 more"),
        (1972, 2, "n0, n1 and 1,970 more"),
    ],
)
def test_the_first_of_many_names(count, most, told):
    assert listed((f"n{k}" for k in range(count)), most) == told


def test_thirty_names_are_told_unless_otherwise_asked():
    assert "more" not in listed(map(str, range(30)))
    assert listed(map(str, range(31))).endswith("29 and 1 more")


@pytest.mark.parametrize(
    ("limit", "amount"), [(280.0, 9.5), (300.0, 9.5), (300.1, 4.0), (320.0, 4.0), (340.0, 0.5), (341.0, 0.0)]
)
def test_what_lies_above_a_limit_is_that_of_the_next_level_known(limit, amount):
    assert Beyond((300.0, 320.0, 340.0), (9.5, 4.0, 0.5), "mm2").above(limit) == (amount, "mm2")


def test_a_gap_says_what_was_raised():
    assert Gap.of(NotMeasured("because", "helps", "press")) == Gap("because", "helps", "press")
    assert Gap.of(RendererStopped("gone")) == Gap("gone", "", "file")


def test_a_count_is_a_number():
    assert Count(3) + Count(4) == 7
