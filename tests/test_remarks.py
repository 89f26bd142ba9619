"""Findings that are only worth knowing: shown last and with a word of their own, and nothing is judged by them."""

from __future__ import annotations

import io
import re
from typing import Any

import jsonschema
import pytest
from rich.console import Console

from preflight.crew.planned_job import JudgedPage, PlannedJob
from preflight.crew.presses_document import build_presses_document
from preflight.crew.setup_document import Made, build_setup_document
from preflight.errors import ExitStatus
from preflight.findings import Finding, Judgement, NotChecked, Place, Verdict, Waived
from preflight.job_facts import final_facts
from preflight.report import words
from preflight.report.document import build_document, sentence
from preflight.report.document_schema import report_schema
from preflight.report.html import render_customer_html, render_html
from preflight.report.place_markers import lay_out
from preflight.report.report import Report
from preflight.report.setup_html import render_setup_html
from preflight.report.setup_sheet import sheet_of
from preflight.report.setup_terminal import print_setup
from preflight.report.terminal import print_closing, print_report
from preflight.report.words import SIGNS
from tests.report_jobs import RUN, carton_job, finding, pictures_of, small_job
from tests.report_page import ReportPage

PLACE = Place((3, 4, 9, 9), 1, "Leaf")
REMARK = finding("little-ink", Verdict.NOTE, says="Leaf takes little ink.", customer="Add ink.", places=(PLACE,))
QUERY = finding("type-small", Verdict.WARN, says="Type is small.", customer="Is it meant?", places=(PLACE,))
TRIAL = finding("new-rule", says="A trial fails.", trial=True)


def judged(*findings: Finding, verdict: Verdict = Verdict.PASS, **more: Any) -> Judgement:
    return Judgement(verdict, findings, **more)


def document_of(*findings: Finding, verdict: Verdict = Verdict.PASS, **more: Any) -> dict[str, Any]:
    return build_document([(final_facts(small_job()), judged(*findings, verdict=verdict, **more))], RUN)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def terminal(document: dict[str, Any], show: Any = print_report, **console: Any) -> str:
    out = io.StringIO()
    show(document, Console(file=out, width=80, **console))
    return out.getvalue()


# The document ------------------------------------------------------------------------------------------------------


def test_remarks_are_listed_behind_all_else_and_counted_apart():
    document = document_of(REMARK, TRIAL, QUERY, verdict=Verdict.WARN)
    assert [f["rule"] for f in document["findings"]] == ["type-small", "new-rule", "little-ink"]
    assert [f["verdict"] for f in document["findings"]] == ["warn", "fail", "note"]
    assert {key: document["counts"][key] for key in ("faults", "queries", "remarks")} == {
        "faults": 0, "queries": 1, "remarks": 1,
    }  # fmt: skip
    jsonschema.Draft202012Validator(report_schema()).validate(document)


def test_a_remark_of_a_trial_rule_is_not_counted():
    assert document_of(finding("a", Verdict.NOTE, trial=True))["counts"]["remarks"] == 0


def test_the_schema_knows_notes_among_findings_and_in_no_verdict():
    document = document_of(REMARK)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(report_schema()).validate({**document, "verdict": "note"})


@pytest.mark.parametrize(("verdict", "others"), [("pass", []), ("warn", ["warn"]), ("fail", ["fail", "warn"])])
def test_the_sentence_says_what_it_says_without_them(verdict, others):
    wrong = [{"verdict": word, "trial": False} for word in others]
    assert sentence(verdict, [*wrong, {"verdict": "note", "trial": False}]) == sentence(verdict, wrong)


def test_counts_name_them_where_there_are_any():
    told, without = (words.counts_words(document_of(*found)) for found in ((REMARK, REMARK), ()))
    assert told.startswith("0 faults, 0 queries, 2 remarks, 0 waived")
    assert without.startswith("0 faults, 0 queries, 0 waived")
    assert words.found_words(document_of(REMARK)) == "1 remark"


def test_exit_status_and_warnings_fail_know_nothing_of_them():
    job = small_job()
    with_remark, with_query = (
        Report([(final_facts(job), judgement)], RUN, [job.page])
        for judgement in (judged(REMARK), judged(QUERY, verdict=Verdict.WARN))
    )
    assert with_remark.exit_status(warnings_fail=True) is with_remark.exit_status() is ExitStatus.OK
    assert with_query.exit_status(warnings_fail=True) is ExitStatus.FAIL
    assert (with_remark.verdict, repr(with_remark).startswith("<Report pass: 0 faults, 0 queries;")) == ("pass", True)


def test_a_waived_remark_is_told_as_one():
    document = document_of(waived=(Waived(REMARK, "agreed", "AB", "2030-01-31"),))
    assert (document["counts"]["remarks"], document["counts"]["waived"]) == (0, 1)
    assert "remark waived by AB" in squeezed(ReportPage(render_html(document)).text)
    jsonschema.Draft202012Validator(report_schema()).validate(document)


def test_a_remark_stands_at_its_unit_without_accusing_it():
    facts = final_facts(carton_job())
    units = {}
    for found in (finding("a", Verdict.NOTE, units=(1,)), finding("a", Verdict.WARN, units=(1,))):
        units[found.verdict] = build_document([(facts, judged(found))], RUN)["units"][0]
    assert (units[Verdict.NOTE]["wrong"], units[Verdict.NOTE]["findings"]) == ([], [1])
    assert (units[Verdict.WARN]["wrong"], units[Verdict.WARN]["findings"]) == (["a"], [1])


# The customer ------------------------------------------------------------------------------------------------------


def test_the_customer_is_sent_no_remark():
    document = document_of(REMARK, QUERY, verdict=Verdict.WARN)
    assert [each["text"] for each in document["message"]["sentences"]] == ["Is it meant?"]
    text = squeezed(ReportPage(render_customer_html(document, [pictures_of(small_job())])).text)
    assert "1 query to answer" in text
    assert "Add ink." not in text
    assert "remark" not in text
    assert "Nothing in your artwork has to be changed." in ReportPage(render_customer_html(document_of(REMARK))).text


# What people read --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("found", "order"),
    [
        ((REMARK,), ["Nothing wrong was found in what was checked.", "Worth knowing", "REMARK 1 little-ink"]),
        ((REMARK, QUERY), ["Findings", "QUERY 1 type-small", "Worth knowing", "REMARK 2 little-ink"]),
    ],
)
def test_the_terminal_lists_them_under_a_heading_of_their_own(found, order):
    document = document_of(*found)
    text = squeezed(terminal(document))
    places = [text.index(part) for part in order]
    assert places == sorted(places)
    coloured = terminal(document, force_terminal=True, color_system="truecolor")
    assert re.sub(r" +$", "", re.sub(r"\x1b\[[\d;]*m", "", coloured), flags=re.M) == terminal(document)
    assert "1 remark" in terminal(document, print_closing)


def test_without_any_nothing_is_said_of_them():
    document = document_of(QUERY)
    everything = terminal(document) + ReportPage(render_html(document)).text
    assert "Worth knowing" not in everything
    assert "REMARK" not in everything


def test_the_page_lists_them_last_with_a_sign_and_a_word():
    document = document_of(REMARK, QUERY, verdict=Verdict.WARN)
    page = ReportPage(render_html(document, [pictures_of(small_job())]))
    text = squeezed(page.text)
    order = [
        text.index(part) for part in ("What is wrong", "Type is small.", "Worth knowing", "Leaf takes little ink.")
    ]
    assert order == sorted(order)
    assert [a["data-finding"] for a in page.having(class_="finding")] == ["1", "2"]
    assert [a["id"] for a in page.having(class_="finding") if "note" in a["class"].split()] == ["f2"]
    assert {a["aria-label"] for a in page.having(class_="pinned")} == {"query 1", "remark 2"}
    for class_ in ("number", "sign"):
        assert sum("note" in a["class"].split() for a in page.having(class_=class_)) == 1


@pytest.mark.parametrize("left_open", [(), (NotChecked("a", "b"),)])
def test_a_page_with_nothing_else_says_that_nothing_is_wrong(left_open):
    page = ReportPage(render_html(document_of(REMARK, not_checked=left_open)))
    text = squeezed(page.text)
    assert "What is wrong" not in text
    assert text.index("Nothing wrong was found") < text.index("Worth knowing") < text.index("Leaf takes little ink.")
    assert [a["class"] for a in page.having(class_="sign")][0] == "sign pass"


def test_a_marker_keeps_the_word_of_its_finding_and_lies_under_those_that_are_worse():
    document = document_of(REMARK, QUERY)
    marks = lay_out(document["findings"], (60, 40))
    assert [mark.verdict for mark in marks] == ["note", "warn"]


def test_every_verdict_of_a_finding_has_a_word_of_its_own():
    assert SIGNS == {"fail": "fault", "warn": "query", "note": "remark"}


# The set-up --------------------------------------------------------------------------------------------------------


def planned(*findings: Finding, verdict: Verdict = Verdict.PASS) -> PlannedJob:
    return PlannedJob([JudgedPage(final_facts(small_job()), judged(*findings, verdict=verdict))], None, None)


def set_up_of(job: PlannedJob) -> dict[str, Any]:
    return build_setup_document(job, Made(RUN.when, (), ""), "Ready for plates.", {})


def test_on_the_set_up_sheet_they_are_watched_and_hold_nothing_up():
    job = planned(REMARK, finding("t", Verdict.NOTE, says="A trial remarks.", trial=True), QUERY, verdict=Verdict.WARN)
    document = set_up_of(job)
    assert (document["verdict"], document["run_it"], document["why_not"]) == ("warn", True, [])
    assert document["queries"] == ["Type is small."]
    assert document["watch"] == ["Leaf takes little ink."]
    assert [entry["verdict"] for entry in document["findings"]] == ["warn", "note"]
    assert sheet_of(document).watch == ("Leaf takes little ink.",)
    assert set_up_of(planned(QUERY, verdict=Verdict.WARN))["watch"] == []


def test_each_rendering_of_the_set_up_has_them_under_what_to_watch():
    document = set_up_of(planned(REMARK))
    page = squeezed(ReportPage(render_setup_html(document)).text)
    for text in (squeezed(terminal(document, print_setup)), page):
        assert "Leaf takes little ink." in text.partition("What to watch")[2]
        assert "Queries to settle" not in text
    assert "remark: Leaf takes little ink." in page


def test_a_remark_is_no_reason_against_a_press():
    for found, reasons in ((REMARK, []), (finding("a"), ["a"])):
        document = build_presses_document([("six.yaml", planned(found))], Made(RUN.when, (), ""))
        told = [reason["rule"] for reason in document["presses"][0]["reasons"]]
        assert [rule for rule in told if rule] == reasons
