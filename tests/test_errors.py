"""Exit statuses and advice stand on the classes; a fault says file, line, key and what was meant."""

from __future__ import annotations

import pytest

from preflight import errors
from preflight.errors import ExitStatus, InputFault, InvalidInput, NotMeasured, NotUnderstood, OverLimit, PreflightError


@pytest.mark.parametrize(
    ("names", "status"),
    [
        ("ArtworkUnreadable ArtworkNotThere ArtworkEmpty PageNotDrawn OutOfTime OutOfMemory Crashed Killed", 3),
        ("InvalidInput NotUnderstood", 4),
        ("WrongUsage", 2),
        ("CannotWrite", 6),
        ("PreflightError NotMeasured PageTooBig NotRead NotDrawn TooBig CannotBeRendered OverLimit", 5),
    ],
)
def test_the_exit_status_of_each_exception(names, status):
    assert {getattr(errors, name).exit_status for name in names.split()} == {status}


def test_the_exit_statuses_are_those_of_the_manual():
    assert {status.name: int(status) for status in ExitStatus} == {
        "OK": 0, "FAIL": 1, "WRONG_USAGE": 2, "ARTWORK_UNREADABLE": 3, "INVALID_INPUT": 4, "OWN_FAULT": 5,
        "REPORT_NOT_WRITTEN": 6, "INTERRUPTED": 130,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (InputFault("a.yaml", 3, "b.caliper", "'x'", "a length"), "a.yaml:3: b.caliper: found 'x', expected a length"),
        (InputFault("a.yaml", 0, "", "a PDF", "YAML"), "a.yaml: found a PDF, expected YAML"),
        (InputFault("a.yaml", 1, "", "'x'", "y", "z"), "a.yaml:1: found 'x', expected y; did you mean z?"),
    ],
)  # fmt: skip
def test_a_fault_in_one_line(fault, told):
    assert str(fault) == told


def test_invalid_input_tells_every_fault_on_a_line():
    faults = [InputFault("a.yaml", 1, "a", "b", "c"), InputFault("a.yaml", 2, "d", "e", "f", "g")]
    refusal = InvalidInput(faults)
    assert refusal.faults == faults
    assert str(refusal).splitlines() == [str(fault) for fault in faults]


def test_what_is_not_understood_keeps_its_parts():
    plain, meant = NotUnderstood("a length"), NotUnderstood("a length", "2 mm")
    assert (plain.expected, plain.suggestion, meant.suggestion) == ("a length", "", "2 mm")
    assert str(plain) == "expected a length"
    assert str(meant) == "expected a length; did you mean 2 mm?"
    assert isinstance(meant, ValueError)


def test_what_is_not_measured_keeps_its_parts():
    bare, full = NotMeasured("why"), NotMeasured("why", "what", "ticket")
    assert (bare.because, bare.would_help, bare.want_of, str(bare)) == ("why", "", "file", "why")
    assert (full.would_help, full.want_of) == ("what", "ticket")


def test_a_stream_over_its_limit_is_told_in_megabytes():
    assert "250 MB" in str(OverLimit(250_000_000))


def test_every_exception_has_an_exit_status_and_advice():
    kinds = [PreflightError]
    for kind in kinds:
        kinds += kind.__subclasses__()
        assert kind.advice.endswith(".")
        assert kind.exit_status in ExitStatus
