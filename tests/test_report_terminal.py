"""The report on the terminal: 80 columns, in order, whole without colour."""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace

import pytest
from rich.cells import cell_len
from rich.console import Console

from preflight.findings import Judgement, NotAsked, NotChecked, Place, Verdict, Waived
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job_facts import final_facts, opening_facts
from preflight.report.document import build_document
from preflight.report.terminal import (
    MOST_SEPARATIONS,
    make_console,
    print_closing,
    print_job_line,
    print_opening,
    print_report,
    progress,
)
from tests.report_jobs import PRESS, RUN, TICKET, carton_job, carton_judgement, drawn_page, finding, small_job

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
        "Not asked - trim-box-off-cut, die-line-missing: only for jobs whose artwork is one-up",
        "- lamp-missing: only for jobs that are coated",
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
    closing = "\n".join([document["sentence"], counts, *(f"Report  {path}" for path in reports)])
    assert " ".join(out.getvalue().split()).endswith(" ".join(closing.split()))
    assert out.getvalue().splitlines()[-3:] == closing.splitlines()[-3:]  # no count and no path is parted
    quiet = io.StringIO()
    print_closing(document, Console(file=quiet, width=80), reports)
    assert out.getvalue().endswith("\n" + quiet.getvalue())
    assert " ".join(quiet.getvalue().split()) == " ".join(closing.split())


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
    places = [text.index(part) for part in ("420 x 346 mm", "Mill Brown", "2 non-printing", "980 x 690 mm", "GC2")]
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
    assert text.index("drawing plates") < text.index("\x1b[2K", text.index("drawing plates")) < text.index("Not ready")


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


# Its parts one by one ----------------------------------------------------------------------------------------------


def text_of(job, judgement, **changes) -> str:
    """A report of one page, its lines joined."""
    document = build_document([(final_facts(job), judgement)], RUN)
    document["pages"][0].update(changes)
    return printed({**document, **changes}, width=80)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


PASS = Judgement(Verdict.PASS, ())


def separation(number: int, **more):
    return {"name": f"Ink {number}", "kind": "spot", "prints": None, "cover": 0.31, "units": [3, 5], **more}


def test_a_separation_has_its_cover_and_its_units():
    text = text_of(small_job(), PASS, separations=[separation(1), separation(2, prints=False, units=[], cover=None)])
    assert re.search(r"^  Ink 1 +spot +not known +31 % +3, 5$", text, re.M)
    assert re.search(r"^  Ink 2 +spot +no +-$", text, re.M)
    assert re.search(r"^Separations +kind +prints +coverage", text, re.M)


@pytest.mark.parametrize(("count", "more"), [(MOST_SEPARATIONS, None), (MOST_SEPARATIONS + 1, "1"), (1500, "1,440")])
def test_of_very_many_separations_the_first_sixty_are_listed(count, more):
    text = text_of(small_job(), PASS, separations=[separation(k) for k in range(count)])
    assert ("  Ink 59 " in text, "  Ink 60 " in text) == (True, False)
    assert ("listed in the report file" in text) is (more is not None)
    assert more is None or f"  and {more} more, listed" in text


def test_units_are_listed_with_what_is_wrong_and_the_coaters_below():
    press = Press.model_validate({**PRESS, "line": [*PRESS["line"][:3], {"coater": {}}, {"coater": {}}]})
    ticket = Ticket.model_validate({**TICKET, "units": ["Black", {"overall": "Gloss"}, None]})
    judgement = Judgement(Verdict.FAIL, (finding("a", units=(1,)), finding("b", Verdict.WARN, units=(1, 3))))
    text = text_of(replace(carton_job(), press=press, ticket=ticket), judgement)
    assert re.search(r"^ +1  Black +process +fault 1, query 2$", text, re.M)
    assert re.search(r"^ +2  Gloss +overall$", text, re.M)
    assert re.search(r"^ +3  idle +query 2, the press has no such unit$", text, re.M)
    coaters = re.findall(r"^ +coater +(.*)$", text, re.M)
    assert [coater.split(",")[0] for coater in coaters] == ["uv", "nothing stated"]


def test_where_the_ticket_says_nothing_of_the_units_they_are_only_counted():
    text = text_of(small_job(), PASS)
    assert "7 units; the ticket does not say which ink is on which." in squeezed(text)
    assert "idle" not in text
    bare = text_of(replace(small_job(), press=None), PASS)
    assert "Units" not in bare
    assert "not stated" in bare


def test_a_finding_tells_its_marks_its_figures_and_its_places():
    places = tuple(Place((10.0 * k, 5, 10.0 * k + 1, 6), 1) for k in range(5))
    judgement = Judgement(
        Verdict.FAIL, (finding("a", places=places), finding("b", Verdict.WARN, trial=True, known="assumed", limit=None))
    )
    text = text_of(small_job(), judgement)
    assert re.search(r"^FAULT 1  a$", text, re.M)
    assert re.search(r"^QUERY 2  b, trial rule, does not change the verdict, based on a guess$", text, re.M)
    assert re.search(r"^  measured +1.0 mm; limit: minimum 2 mm$", text, re.M)
    assert re.search(r"^  where +0 mm from the left, 5 mm up$", text, re.M)
    assert "20 mm from the left" in text
    assert "30 mm from the left" not in text
    assert "and 2 more" in text
    assert re.search(r"^  Something about a.\n", text, re.M)
    assert "\n\nQUERY 2" in text
    assert "\nFindings\nFAULT 1" in text


def test_three_places_are_all_told():
    places = tuple(Place((10.0 * k, 5, 10.0 * k + 1, 6), 1) for k in range(3))
    text = text_of(small_job(), Judgement(Verdict.FAIL, (finding("a", places=places),)))
    assert "20 mm from the left" in text
    assert "more" not in text


def test_a_finding_that_says_all_there_is_has_no_figures():
    text = text_of(small_job(), Judgement(Verdict.FAIL, (finding("a", measured=(True, "")),)))
    assert "measured" not in text
    assert "where" not in text


def test_where_nothing_is_wrong_that_is_said():
    text = text_of(small_job(), PASS)
    assert "Nothing wrong was found in what was checked." in text
    for heading in ("Findings", "Not checked", "Not asked", "Assumed", "Notes", "Waived", "Passed"):
        assert heading not in text


def test_what_was_not_checked_says_where_and_what_would_help():
    own = NotChecked("r2", "it broke", own_fault=True)
    place = Place((1, 2, 3, 4), 1)
    judgement = Judgement(
        Verdict.WARN, (), not_checked=(NotChecked("r1", "nobody says", "say it", places=(place,)), own, own)
    )
    text = squeezed(text_of(small_job(), judgement))
    assert "- r1: nobody says. Where: 1 mm from the left, 2 mm up. Needed to check this: say it." in text
    assert "- r2, r2: it broke. This is an internal error." in text


def test_what_is_left_is_told_at_the_end():
    waived = (
        Waived(finding("a", says="It is narrow"), "agreed", "AB", "2030-01-31", "it has no place"),
        Waived(finding("b", says="It is wide"), "", "", "", ""),
        Waived(finding("c", says="It is odd"), "", "CD", ""),
    )
    judgement = Judgement(
        Verdict.PASS, (), waived, passed=("p", "q"), notes=("a note",), not_asked=(NotAsked("n", "not for this"),)
    )
    text = squeezed(text_of(small_job(), judgement, assumed=["a guess"]))
    parts = [
        "Assumed - a guess",
        "Notes - a note",
        "Waived - a: It is narrow. (agreed; AB, until 2030-01-31) it has no place.",
        "- b: It is wide. (no reason given)",
        "- c: It is odd. (no reason given; CD)",
        "Not asked - n: not for this.",
        "Passed 2 rules",
    ]
    places = [text.index(part) for part in parts]
    assert places == sorted(places)


def test_of_several_pages_each_has_its_sentence_and_size():
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 70, 50, second.page.separations, second.plates))
    pages = [(final_facts(first), PASS), (final_facts(second), Judgement(Verdict.FAIL, (finding("a"),)))]
    document = build_document(pages, RUN)
    text = squeezed(printed(document, width=80))
    assert "Page 1: Ready for plates. Size 60 x 40 mm" in text
    assert "Page 2: Not ready for plates: 1 fault. Size 70 x 50 mm" in text
    assert "Page 1:" not in squeezed(printed(build_document(pages[:1], RUN), width=80))
    opened = squeezed(printed(document, width=80, opened=True))
    assert "Page 2:" in opened
    assert "SHA-256" not in opened


@pytest.mark.parametrize(("opened", "told"), [(True, True), (False, False)])
def test_the_cut_is_told_apart_only_where_the_opening_could_not_tell_it(document, opened, told):
    assert bool(re.search(r"^Cut +394 x 320 mm$", printed(document, width=80, opened=opened), re.M)) is told


def test_without_a_cut_the_page_is_not_told_again():
    document = build_document([(final_facts(small_job()), PASS)], RUN)
    assert "60 x 40 mm" not in printed(document, width=80, opened=True)


def test_what_is_being_done_takes_the_place_of_what_was_done():
    out = io.StringIO()
    with progress(Console(file=out, force_terminal=True, width=20)) as say:
        say("first")
        say("second, which is a long one")
    first, second = out.getvalue().split("first")
    assert "\x1b[2K" in first
    assert second.startswith("\r\x1b[2K")
    shown = second.removeprefix("\r\x1b[2K").partition("\r")[0]
    assert cell_len(re.sub(r"\x1b\[[\d;]*[A-Za-z]", "", shown)) == 19
    assert shown.endswith("…")
    assert second.endswith("\r\x1b[2K")  # and nothing is left of it


def test_a_terminal_that_has_gone_stops_nothing():
    class Gone(io.StringIO):
        def write(self, text):
            raise OSError(5, "Input/output error")

    with progress(Console(file=Gone(), force_terminal=True, width=80)) as say:
        say("drawing plates")


def test_a_dumb_terminal_sees_no_progress(monkeypatch):
    monkeypatch.setenv("TERM", "dumb")
    out = io.StringIO()
    with progress(Console(file=out, force_terminal=True)) as say:
        say("drawing plates")
    assert out.getvalue() == ""
