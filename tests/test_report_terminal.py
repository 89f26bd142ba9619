"""The report on the terminal: 80 columns, in order, whole without colour."""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace

import pytest
from rich.cells import cell_len
from rich.console import Console

from preflight.findings import Judgement, NotChecked, Place, Verdict
from preflight.job_facts import final_facts, opening_facts
from preflight.report.document import build_document
from preflight.report.terminal import (
    make_console,
    print_closing,
    print_job_line,
    print_opening,
    print_report,
    progress,
)
from tests.report_jobs import RUN, carton_job, carton_judgement, drawn_page, finding, small_job

HOSTILE = "a\x1b]0;title\x07\x1b[2J\u202e[bold]\n" + "x" * 200


def printed(document, *, opened=False, **console) -> str:
    out = io.StringIO()
    print_report(document, Console(file=out, **console), opened=opened)
    return out.getvalue()


@pytest.fixture(scope="module")
def document():
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN)


@pytest.mark.parametrize("width", [80, 200])
def test_no_line_is_longer_than_80_columns_or_ends_in_blanks(document, width):
    for line in printed(document, width=width).splitlines():
        assert cell_len(line) <= 80
        assert line == line.rstrip()


def test_the_parts_stand_in_their_order(document):
    text = re.sub(r"\s+", " ", printed(document))
    parts = [
        document["sentence"],
        "420 x 346 mm, cut 394 x 320 mm",
        "980 x 690 mm",
        "GC2",
        "Copper Glow metallic yes",
        "3 Copper Glow metallic fault 2",
        document["findings"][0]["says"],
        document["findings"][0]["do"],
        document["findings"][-1]["why"],
        document["not_checked"][0]["because"],
        "Not asked - trim-box-off-cut, die-line-missing: the rule is for jobs whose artwork is one-up",
        "- lamp-missing: the rule is for jobs that are coated",
        "Passed 9 rules",
        document["cautions"][0],
    ]
    places = [text.index(part) for part in parts]
    assert places == sorted(places)


def test_the_last_lines_are_the_verdict_the_counts_and_where_the_reports_are(document):
    out = io.StringIO()
    reports = ["/jobs/r.html", f"/jobs/{'long' * 30}.json"]
    print_report(document, Console(file=out, width=80), reports=reports)
    counts = "3 faults, 3 queries, 1 waived, 1 rule switched off, 3 not checked (1 matters)"
    assert out.getvalue().splitlines()[-4:] == [document["sentence"], counts, *(f"Report  {path}" for path in reports)]
    quiet = io.StringIO()
    print_closing(document, Console(file=quiet, width=80), reports)
    assert out.getvalue().endswith("\n" + quiet.getvalue())
    assert len(quiet.getvalue().splitlines()) == 4


def test_coverage_says_what_it_is_of(document):
    assert "kind prints coverage inside the cut unit" in re.sub(r"\s+", " ", printed(document))
    page = build_document([(final_facts(small_job()), Judgement(Verdict.PASS, ()))], RUN)
    assert page["cover_of"] == "page"
    assert "kind prints coverage of the page unit" in re.sub(r"\s+", " ", printed(page))


@pytest.mark.parametrize("subject", ["art.pdf", "a/" * 35 + "art.pdf"])
def test_one_of_several_jobs_is_one_line_or_two(subject):
    out = io.StringIO()
    print_job_line("unreadable", subject, "", Console(file=out, width=80))
    print_job_line("fail", subject, "11 faults, 4 queries", Console(file=out, width=80))
    lines = out.getvalue().splitlines()
    assert lines[0].split() == ["unreadable", subject]
    assert " ".join(lines[1:]).split() == ["fail", subject, "11", "faults,", "4", "queries"]
    assert len(lines) == (2 if len(subject) < 20 else 3)


def test_colour_adds_nothing_to_the_words(document):
    coloured = printed(document, width=80, force_terminal=True, color_system="truecolor")
    assert "\x1b[" in coloured
    assert re.sub(r" +$", "", re.sub(r"\x1b\[[\d;]*m", "", coloured), flags=re.M) == printed(document, width=80)


def test_no_escape_where_colour_is_not_wanted(document, monkeypatch):
    assert "\x1b" not in printed(document)
    monkeypatch.setenv("NO_COLOR", "1")
    assert not re.search(r"\x1b\[[\d;]*3[0-7]", printed(document, force_terminal=True))


def test_hostile_names_steer_no_terminal():
    job = small_job(HOSTILE.replace("\n", ""))
    bad = finding(HOSTILE, says=HOSTILE, why=HOSTILE, do=HOSTILE, places=(Place((1, 1, 2, 2), 1, HOSTILE, HOSTILE),))
    judgement = Judgement(Verdict.FAIL, (bad,), (), (NotChecked(HOSTILE, HOSTILE),), (), (HOSTILE,))
    text = printed(build_document([(final_facts(job), judgement)], RUN), width=80)
    assert not set("\x1b\x07\u202e") & set(text)
    assert "[bold]" in text
    assert max(cell_len(line) for line in text.splitlines()) <= 80


def test_the_opening_needs_no_plates():
    job = carton_job()
    job = replace(job, page=drawn_page(1, 420, 346, job.page.separations, None))
    out = io.StringIO()
    print_opening(opening_facts(job), RUN, Console(file=out, width=80))
    text = re.sub(r"\s+", " ", out.getvalue())
    places = [text.index(part) for part in ("420 x 346 mm", "Mill Brown", "2 technical", "980 x 690 mm", "GC2")]
    assert places == sorted(places)
    assert "trim" not in text


def test_without_the_opening_the_rest_is_whole(document):
    rest = re.sub(r"\s+", " ", printed(document, opened=True))
    assert document["artwork"]["sha256"][:12] not in rest
    assert "Cut 394 x 320 mm" in rest
    assert "Mill Brown spot yes" in rest
    assert document["cautions"][0] in rest


def test_progress_is_silent_where_nobody_watches():
    out = io.StringIO()
    with progress(Console(file=out)) as say:
        say("drawing plates")
    assert out.getvalue() == ""


def test_progress_makes_way_for_the_report(document):
    out = io.StringIO()
    terminal = Console(file=out, force_terminal=True, width=80)
    with progress(terminal) as say:
        say("drawing plates")
        print_report(document, terminal)
    text = out.getvalue()
    assert text.index("drawing plates") < text.index("\x1b[2K", text.index("drawing plates")) < text.index("Cannot run")


def test_progress_shows_on_a_terminal():
    out = io.StringIO()
    with progress(Console(file=out, force_terminal=True, width=80)) as say:
        say("drawing plates\x07 of page 2")
    assert "drawing plates" in out.getvalue()
    assert "\x07" not in out.getvalue()


def test_letters_that_the_encoding_lacks_are_written_as_escapes(monkeypatch):
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="ascii"))
    console = make_console()
    console.print("Kr\u00e4uter")
    sys.stdout.flush()
    assert written.getvalue() == b"Kr\\xe4uter\n"
