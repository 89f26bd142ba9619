"""What a check comes to: verdict, exit status, findings of all pages, and the artwork that is let go of."""

from __future__ import annotations

import json
from contextlib import ExitStack
from pathlib import Path

import pytest

from preflight.errors import TRACEBACK_VARIABLE, ExitStatus, WrongUsage
from preflight.findings import Judgement, NotChecked, Verdict
from preflight.job_facts import final_facts
from preflight.report import saving
from preflight.report.report import Report
from tests.report_jobs import RUN, finding, small_job

BROKEN = NotChecked("a", "it broke", own_fault=True)


def report(*judgements: Judgement) -> Report:
    job = small_job()
    return Report([(final_facts(job), judgement) for judgement in judgements], RUN, [job.page] * len(judgements))


@pytest.mark.parametrize(
    ("verdicts", "word", "status", "strict"),
    [
        ((Verdict.PASS,), "pass", 0, 0),
        ((Verdict.WARN,), "warn", 0, 1),
        ((Verdict.FAIL,), "fail", 1, 1),
        ((Verdict.PASS, Verdict.WARN), "warn", 0, 1),
        ((Verdict.FAIL, Verdict.PASS), "fail", 1, 1),
    ],
)
def test_the_verdict_is_the_worst_of_all_pages(verdicts, word, status, strict):
    made = report(*(Judgement(verdict, ()) for verdict in verdicts))
    assert made.verdict == word
    assert made.exit_status() == status
    assert made.exit_status(warnings_fail=False) == status
    assert made.exit_status(warnings_fail=True) == strict


@pytest.mark.parametrize("first", [True, False])
def test_where_a_rule_broke_on_any_page_the_status_says_so(first):
    pages = [Judgement(Verdict.FAIL, (), not_checked=(NotChecked("b", "x"), BROKEN)), Judgement(Verdict.PASS, ())]
    assert report(*(pages if first else pages[::-1])).exit_status() is ExitStatus.OWN_FAULT


def test_findings_are_those_of_all_pages():
    made = report(
        Judgement(Verdict.FAIL, (finding("a"), finding("b"))), Judgement(Verdict.WARN, (finding("c", Verdict.WARN),))
    )
    assert [each.rule for each in made.findings] == ["a", "b", "c"]
    assert [each["name"] for each in made.separations] == ["Leaf"]


def test_the_document_is_made_once():
    made = report(Judgement(Verdict.PASS, ()))
    assert made.document is made.document
    assert made.document["verdict"] == "pass"


def test_the_artwork_is_closed_with_the_report():
    closed: list[str] = []
    started = ExitStack()
    started.callback(closed.append, "closed")
    made = report(Judgement(Verdict.PASS, ()))
    made.started = started
    with made as same:
        assert same is made
        assert closed == []
    assert closed == ["closed"]


def test_each_report_is_saved_for_itself(tmp_path):
    made = report(Judgement(Verdict.PASS, ()))
    lacking = made.save_all([tmp_path / "a.txt", str(tmp_path / "b.json"), tmp_path / "none" / "c.json"])
    assert json.loads((tmp_path / "b.json").read_text()) == made.document
    assert [("a.txt" in each.words, "c.json" in each.words, each.written) for each in lacking] == [
        (True, False, False), (False, True, False),
    ]  # fmt: skip
    made.save(str(tmp_path / "d.json"))
    assert (tmp_path / "d.json").read_bytes() == (tmp_path / "b.json").read_bytes()
    with pytest.raises(WrongUsage):
        made.save(tmp_path / "e.txt")


def test_what_breaks_with_one_report_keeps_back_no_other(monkeypatch):
    monkeypatch.delenv(TRACEBACK_VARIABLE, raising=False)

    def save_one(path):
        if path.name == "memory":
            raise MemoryError
        if path.name == "broken":
            raise KeyError("no such thing")
        return [saving.Shortfall("it lacks a picture", written=True)]

    found = saving.save_each(map(Path, ("memory", "whole", "broken")), save_one)
    assert [each.written for each in found] == [False, True, False]
    assert "memory did not last" in found[0].words
    assert "KeyError" in found[2].words


def test_where_a_fault_happened_is_shown_on_demand_only(monkeypatch, capsys):
    for shown in ("", "1"):
        monkeypatch.setenv(TRACEBACK_VARIABLE, shown)
        assert "ZeroDivisionError" in saving.in_words(ZeroDivisionError("by zero"))
        assert ("by zero" in capsys.readouterr().err) is bool(shown)


def test_json_has_no_letter_that_utf_8_lacks_and_no_infinity():
    text = saving.json_text({"a": "é\udc80", "b": [1]})
    assert text.endswith("}\n")
    assert "é" in text
    assert json.loads(text) == {"a": "é\udc80", "b": [1]}
    assert text.count("\n") > 3
    with pytest.raises(ValueError, match="JSON"):
        saving.json_text({"a": float("inf")})
