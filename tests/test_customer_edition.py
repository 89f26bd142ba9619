"""The customer edition of the page: their points on their artwork, and nothing of the plant's own."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from preflight import check
from preflight.cli.main import run
from preflight.errors import WrongUsage
from preflight.findings import Judgement, NotChecked, Place, Verdict
from preflight.job_facts import final_facts
from preflight.report.document import build_document
from preflight.report.html import render_customer_html
from preflight.worker import check_guarded
from tests.house import SIX_UNITS, printed
from tests.report_jobs import RUN, carton_job, carton_judgement, drawn_page, finding, pictures_of, small_job
from tests.report_page import ReportPage


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN)


@pytest.fixture(scope="module")
def page(document):
    return ReportPage(render_customer_html(document, [pictures_of(carton_job())]))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_it_says_every_point_of_the_message_with_its_places(page, document):
    text = squeezed(page.text)
    for sentence in document["message"]["sentences"]:
        assert squeezed(sentence["text"]) in text
        assert sentence["where"][0] in text
    assert document["message"]["note"] in text
    assert document["artwork"]["file"] in text


def test_it_says_nothing_of_the_plants_own(page, document):
    attributes = [value for _, a in page.elements for value in a.values() if not value.startswith("data:")]
    everything = squeezed(" ".join([page.text, *attributes]))
    for f in document["findings"]:
        assert f["rule"] not in everything
        assert f["do"] not in everything
        assert f["source"] not in everything
        if not f["customer"]:
            assert f["says"] not in everything
    plants = [
        document["press"]["name"], document["artwork"]["sha256"], document["run"]["tool"], *document["run"]["rules"],
        document["waived"][0]["says"], *document["passed"], *document["assumed"], *document["notes"],
        *(entry["rule"] for entry in (*document["not_asked"], *document["not_checked"])),
        *(entry["because"] for entry in document["not_asked"]), "waive", "Separations", "ticket", "GC2",
    ]  # fmt: skip
    assert [words for words in plants if words in everything] == []


def test_the_numbers_on_the_artwork_are_those_of_the_message(page, document):
    pins = {a["data-finding"] for a in page.having(class_="pinned")}
    rows = [a["data-finding"] for a in page.having(class_="finding")]
    assert rows == [str(n) for n in range(1, len(document["message"]["sentences"]) + 1)]
    assert pins == set(rows)


def test_it_has_the_artwork_and_no_single_plates(page):
    images = [a["id"] for tag, a in page.elements if tag == "image"]
    assert images == ["p1all"]


def edition(judgement: Judgement, **changes: Any):
    job = replace(small_job(), **changes)
    return ReportPage(render_customer_html(build_document([(final_facts(job), judgement)], RUN)))


def test_where_nothing_is_theirs_it_says_so():
    page = edition(Judgement(Verdict.FAIL, (finding("a"),)))
    assert "Nothing in your artwork has to be changed." in page.text
    assert page.having(class_="finding") == []


def test_what_could_not_be_looked_at_is_no_pass():
    unread = NotChecked("font-not-embedded", "the fonts of the file cannot be read", "a mended file", want_of="file")
    unsaid = NotChecked("sheet-over-max", "the ticket gives no sheet", "sheet on the ticket", want_of="ticket")
    page = edition(Judgement(Verdict.PASS, (), not_checked=(unread, unsaid)))
    assert "has to be changed." not in page.text
    assert "not everything has been checked" in page.text
    assert "The fonts of the file cannot be read." in squeezed(page.text)
    assert "the ticket gives no sheet" not in page.text
    assert "font-not-embedded" not in page.text


def test_a_point_of_two_pages_stands_once_and_is_numbered_on_both():
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, None))
    parts = [
        (final_facts(job), Judgement(Verdict.FAIL, (finding("a", customer="Too coarse.", places=(place,)),)))
        for job, place in ((first, Place((3, 4, 9, 9), 1)), (second, Place((13, 14, 19, 19), 2)))
    ]
    page = ReportPage(render_customer_html(build_document(parts, RUN), [pictures_of(first), pictures_of(second)]))
    assert len(page.having(class_="finding")) == 1
    ids = page.ids()
    assert len(ids) == len(set(ids))
    links = [a["href"][1:] for tag, a in page.elements if tag == "a" and "goto" in a["class"]]
    assert set(links) == {"p1f1k0", "p2f1k0"} <= set(ids)
    assert re.search(r"page 2,\s*13 mm from the left", page.text)


# Files ----------------------------------------------------------------------------------------------------------------


@pytest.fixture
def ticket(tmp_path):
    printed("Mill Brown", "MILL BROWN C").save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(json.dumps(SIX_UNITS))
    path = tmp_path / "ticket.yaml"
    path.write_text("artwork: art.pdf\npress: press.yaml\nartwork_is: one-up\n")
    return path


@pytest.mark.parametrize("more", [[], ["--guarded"]], ids=["", "guarded"])
def test_the_command_writes_it_beside_the_report(ticket, tmp_path, more):
    files = ["--report", str(tmp_path / "r.html"), "--customer-report", str(tmp_path / "c.html")]
    assert run(["check", str(ticket), *files, *more]) == 0
    assert "spot-named-twice" in (tmp_path / "r.html").read_text()
    written = (tmp_path / "c.html").read_text()
    assert "Mill Brown" in written
    assert "spot-named-twice" not in written


@pytest.mark.parametrize("name", ["c.json", "c.pdf", "-"])
def test_it_is_always_a_page_and_a_slip_is_said_before_the_work(ticket, tmp_path, name, capsys):
    assert run(["check", str(ticket), "--customer-report", name if name == "-" else str(tmp_path / name)]) == 2
    assert capsys.readouterr().out == ""


def test_a_report_saves_it(ticket, tmp_path):
    with check(ticket) as report:
        report.save_customer(tmp_path / "c.html")
        with pytest.raises(WrongUsage):
            report.save_customer(tmp_path / "c.json")
    assert (tmp_path / "c.html").read_text().rstrip().endswith("</html>")


def test_one_that_cannot_be_written_is_told_and_keeps_back_no_other(ticket, tmp_path):
    (tmp_path / "c.html").mkdir()
    with check(ticket) as report:
        unwritten = report.save_all([tmp_path / "r.json"], tmp_path / "c.html")
    assert [str(tmp_path / "c.html") in each.words for each in unwritten] == [True]
    assert json.loads((tmp_path / "r.json").read_text())["message"]["sentences"]


def test_a_child_that_breaks_tells_that_it_was_not_written(ticket, tmp_path, monkeypatch):
    monkeypatch.setattr("preflight.worker.CHILD", ("-c", "raise KeyError('no such thing')"))
    guarded = check_guarded(ticket, customer_report=tmp_path / "c.html")
    assert guarded.broke
    assert [str(tmp_path / "c.html") in each.words for each in guarded.unwritten] == [True]
