"""What a measure declares, and what it is refused for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest

from preflight.findings import Gap, Measured, Reading
from preflight.measures import registry
from preflight.measures.registry import Parameter, declared, measure


def gap_between(job, *, at_least_mm: float, inks: str = "Rust"):
    """How far two things are apart.

    Not the first line.
    """
    return [Reading(float(job) + at_least_mm, "mm")]


@dataclass(frozen=True)
class Many:
    wide_mm: float
    high_mm: float = 3.0
    names: list[str] = field(default_factory=list)


def by_record(job, many):
    """By a record."""
    return Measured([Reading(many.wide_mm * many.high_mm, "mm2")], [Gap("not all of it")])


@pytest.fixture(autouse=True)
def no_measures(monkeypatch):
    monkeypatch.setattr(registry, "MEASURES", {})


def test_parameters_are_read_off_the_signature():
    found = declared(gap_between, name="gap", unit="mm")
    assert found.parameters == (Parameter("at_least_mm", float, required=True), Parameter("inks", str, required=False))
    assert found.summary == "How far two things are apart."
    assert (found.rests_on, found.within, found.record) == (frozenset({"plates", "objects"}), "inside", None)
    assert (found.tolerance, found.cases, found.facts, found.words, found.sizes) == (0.0, (), (), (), False)


def test_parameters_are_read_off_a_record():
    found = declared(by_record, name="size", unit="mm2", record=Many, rests_on=["inks"])
    assert [(one.name, one.required) for one in found.parameters] == [
        ("wide_mm", True), ("high_mm", False), ("names", False),
    ]  # fmt: skip
    assert found.rests_on == frozenset({"inks"})


def test_a_measure_runs_with_its_parameters():
    job: Any = 4
    found = declared(gap_between, name="gap", unit="mm").run(job, {"at_least_mm": 2.5})
    assert ([one.value for one in found.readings], list(found.gaps)) == ([6.5], [])
    recorded = declared(by_record, name="size", unit="mm2", record=Many).run(job, {"wide_mm": 2.0})
    assert ([one.value for one in recorded.readings], len(recorded.gaps)) == ([6.0], 1)


def test_a_measure_is_registered_under_its_name():
    kept = measure("gap", unit="mm", cases=("near", "far"), facts=["ink"], within="page")(gap_between)
    assert kept is gap_between
    assert list(registry.MEASURES) == ["gap"]
    found = registry.MEASURES["gap"]
    assert (found.name, found.unit, found.cases, found.facts, found.within) == (
        "gap", "mm", ("near", "far"), ("ink",), "page",
    )  # fmt: skip
    words = measure("ink system", unit="", words=("uv",))(by_record)
    assert registry.MEASURES["ink system"].words == ("uv",)
    assert words is by_record


def without_words(job):
    return []


def with_blank_words(job):
    """ """
    return []


@pytest.mark.parametrize(
    ("function", "keys"),
    [
        (without_words, {"unit": "mm"}),
        (with_blank_words, {"unit": "mm"}),
        (gap_between, {"unit": ""}),
        (gap_between, {"unit": "mm", "words": ("uv",)}),
        (gap_between, {"unit": "mm", "cases": "near"}),
        (gap_between, {"unit": "mm", "facts": "ink"}),
        (gap_between, {"unit": "", "words": "uv"}),
    ],
    ids=["no docstring", "an empty one", "neither unit nor words", "both", "a case for a list", "a fact for a list",
         "a word for a list"],
)  # fmt: skip
def test_a_declaration_that_is_wrong_is_refused(function, keys):
    with pytest.raises(ValueError, match="gap"):
        measure("gap", **keys)(function)
    assert registry.MEASURES == {}


def test_a_name_is_given_once():
    measure("gap", unit="mm")(gap_between)
    with pytest.raises(ValueError, match="gap"):
        measure("gap", unit="mm2")(by_record)


@pytest.mark.parametrize(
    ("reading", "many"),
    [
        (Reading(1.0, "mm", case="near", facts={"ink": "Rust"}), 0),
        (Reading(1.0), 0),
        (Reading(1.0, "mm", case="far"), 1),
        (Reading(1.0, "mm", facts={"ink": "Rust", "size": 3, "name": ""}), 2),
        (Reading("uv", "mm"), 1),
        (Reading((1.0, 2.0), "mm"), 1),
        (Reading(1.0, "pt"), 1),
        (Reading("uv", "pt", case="far", facts={"size": 3}), 4),
    ],
)
def test_what_a_reading_has_that_was_not_declared(reading, many):
    found = declared(gap_between, name="gap", unit="mm", cases=("near",), facts=("ink",))
    assert len(list(found.undeclared([Reading(2.0, "mm"), reading]))) == many


def test_words_and_sizes_that_were_declared():
    words = declared(gap_between, name="gap", unit="", words=("uv", "ir"))
    assert [len(list(words.undeclared([Reading(value)]))) for value in ("uv", "ir", "air")] == [0, 0, 1]
    sizes = declared(gap_between, name="gap", unit="mm", sizes=True)
    assert list(sizes.undeclared([Reading((1.0, 2.0), "mm")])) == []
    assert len(list(sizes.undeclared([Reading(1.0, "mm")]))) == 1
