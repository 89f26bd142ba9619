"""The keys of a rule as they are written: names, wordings that quote facts, and parameters."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from preflight.errors import NotUnderstood
from preflight.judging.limits import Limit
from preflight.judging.references import Reference
from preflight.judging.rule_keys import CaseKeys, RuleKeys, quoted


def read(**keys: Any) -> RuleKeys:
    return RuleKeys.model_validate({"rule": "a", **keys})


def refused(**keys: Any) -> dict[str, Any]:
    with pytest.raises(ValidationError) as refusal:
        read(**keys)
    return {".".join(map(str, e["loc"])): e.get("ctx", {}).get("error", e["type"]) for e in refusal.value.errors()}


@pytest.mark.parametrize("name", ["a", "bleed-short", "2-up", "a-b-c3"])
def test_names_of_rules(name):
    assert read(rule=name).rule == name


@pytest.mark.parametrize("name", ["A", "a_b", "-a", "a-", "a--b", "a b", "ä", ""])
def test_what_is_no_name_of_a_rule(name):
    assert isinstance(refused(rule=name)["rule"], NotUnderstood)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("It is {reading} at {place}.", ["reading", "place"]),
        ("{lines:# line|# lines} of {inks:one ink|# inks}", ["lines", "inks"]),
        ("{lines:|#}", ["lines"]),
        ("{{reading}} is no fact", []),
        ("no fact", []),
    ],
)
def test_wordings_and_the_facts_that_they_quote(text, names):
    for key in ("says", "why", "do", "customer"):
        assert getattr(read(**{key: text}), key) == text
        assert getattr(CaseKeys.model_validate({key: text}), key) == text
    assert quoted(text) == names


@pytest.mark.parametrize(
    "text",
    [
        "{a.b}",
        "{a[0]}",
        "{}",
        "{0}",
        "{a!r}",
        "{a:.3f}",
        "{a:x}",
        "{a:x|y|z}",
        "{a:{b}|c}",
        "{a",
        "a}",
        {"reading": "x"},
        "",
    ],
)
def test_what_no_wording_may_quote(text):
    assert isinstance(refused(says=text)["says"], NotUnderstood)


def test_a_text_that_begins_with_a_brace_has_to_stand_in_quotes():
    """YAML reads it as a mapping."""
    assert "quotes" in refused(says={"reading": None})["says"].expected


def test_limits_conditions_parameters_and_rows_are_read():
    keys = read(
        fail="below 2 mm", warn="above press.sheet.largest", when={"job.artwork_is": "is sheet"}, covers="B01",
        cases={"slot": {"fail": "below 1 mm"}, "flap": None}, off=" never ", status="trial",
        **{"with": {"area": "1 cm2", "kinds": ["spot", 7]}},
    )  # fmt: skip
    assert (keys.fail, keys.warn) == (Limit("below", "2 mm"), Limit("above", Reference("press.sheet.largest")))
    assert keys.when == {Reference("job.artwork_is"): Limit("is", "sheet")}
    assert keys.with_ == {"area": "1 cm2", "kinds": ("spot", "7")}
    assert keys.cases is not None
    assert (keys.cases["flap"], keys.cases["slot"]) == (None, CaseKeys.model_validate({"fail": "below 1 mm"}))
    assert (keys.covers, keys.off, keys.status) == (("B01",), "never", "trial")
    assert keys.model_fields_set >= {"fail", "with_", "off"}
    assert "says" not in keys.model_fields_set


@pytest.mark.parametrize(
    ("keys", "where"),
    [
        ({"fail": "under 2 mm"}, "fail"),
        ({"status": "trail"}, "status"),
        ({"if_not_checked": "pass"}, "if_not_checked"),
        ({"with": {"a": {"b": "c"}}}, "with.a"),
        ({"cases": {"slot": {"asks": "x"}}}, "cases.slot.asks"),
        ({"covers": {"a": "b"}}, "covers"),
        ({"asks": ["x"]}, "asks"),
        ({"rules": "x"}, "rules"),
    ],
)
def test_what_is_no_key_of_a_rule(keys, where):
    assert list(refused(**keys)) == [where]
