"""What goes together when a check is asked for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from preflight import check
from preflight.errors import ExitStatus, InvalidInput, WrongUsage
from tests.books import Book
from tests.drawn import Drawing

JOBS = Path(__file__).parents[1] / "sample_jobs"


def test_two_tickets_are_wrong_usage():
    with pytest.raises(WrongUsage, match=r"winter-tea.*--ticket.*oat-biscuits") as refusal:
        check(JOBS / "winter-tea" / "ticket.yaml", ticket=JOBS / "oat-biscuits" / "ticket.yaml")
    assert refusal.value.exit_status == ExitStatus.WRONG_USAGE


PRESS = "press: {}\nsheet: {{largest: 1020 x 720 mm}}\nunits: [{{inks: any}}, {{inks: any}}]\n"


@pytest.fixture
def job(tmp_path):
    """An artwork of two pages, two presses, and what writes a ticket."""
    pages = [Drawing(60, 40).fill(ink, rect=(0, 0, 30, 40)) for ink in ("Leaf", "Fern")]
    Book(*pages).save(tmp_path / "art.pdf")
    for name in ("one", "other"):
        (tmp_path / f"{name}.yaml").write_text(PRESS.format(name))

    def ticket(name: str = "ticket.yaml", **keys):
        (tmp_path / name).write_text(json.dumps(keys))
        return tmp_path / name

    return ticket


@pytest.mark.parametrize("name", ["ticket.yaml", "TICKET.YML"])
def test_a_ticket_names_artwork_and_press(job, tmp_path, name):
    with check(job(name, artwork="art.pdf", press="one.yaml", title="T")) as report:
        document = report.document
    assert (document["artwork"]["file"], document["press"]["name"]) == ("art.pdf", "one")
    assert (document["press"]["file"], document["ticket"]["file"]) == ("one.yaml", name)


def test_a_press_that_is_given_wins_over_the_tickets(job, tmp_path):
    ticket = job(artwork="art.pdf", press="gone.yaml")
    with check(ticket, press=tmp_path / "other.yaml") as report:
        assert (report.document["press"]["name"], report.document["press"]["file"]) == ("other", "other.yaml")
    with check(tmp_path / "art.pdf", press=str(tmp_path / "one.yaml")) as report:
        assert report.document["press"]["name"] == "one"
        assert report.document["ticket"] is None
    with check(tmp_path / "art.pdf") as report:
        assert report.document["press"] is None


def test_the_artwork_that_is_given_wins_over_the_tickets(job, tmp_path):
    ticket = job(artwork="gone.pdf", press="one.yaml", title="T")
    with check(tmp_path / "art.pdf", ticket=ticket) as report:
        assert report.document["ticket"]["title"] == "T"
        assert report.document["press"]["file"] == "one.yaml"
    with pytest.raises(InvalidInput):
        check(ticket)


def test_a_ticket_without_artwork_is_wrong_usage(job):
    with pytest.raises(WrongUsage, match="artwork"):
        check(job(title="T"))


def test_what_is_being_done_is_said_and_the_opening_comes_before_the_plates(job, tmp_path):
    told: list[str] = []
    opened = []

    def opening(facts, run):
        told.append("opening")
        opened.append((facts.page.number, facts.inks, run.press_file))

    with check(tmp_path / "art.pdf", press=tmp_path / "one.yaml", opening=opening, progress=told.append) as report:
        pages = [page["page"] for page in report.document["pages"]]
    assert pages == [1, 2]
    assert opened == [(1, (), "one.yaml")]
    assert [words.partition(" of ")[0] for words in told] == [
        "reading art.pdf", "opening", "page 1", "page 1", "page 2", "page 2",
    ]  # fmt: skip


def test_rules_are_laid_over_the_shipped_ones(job, tmp_path):
    own = tmp_path / "plant.txt"
    own.write_text("- {rule: bleed-short, off: never here}\n")
    with check(tmp_path / "art.pdf", rules=[own]) as report:
        assert str(own) in report.document["run"]["rules"]
        assert report.document["switched_off"] == [{"rule": "bleed-short", "because": "never here"}]


def test_plates_are_kept_unless_that_is_switched_off(job, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    check(tmp_path / "art.pdf", cache=False).close()
    assert not [path for path in (tmp_path / "cache").rglob("*") if path.is_file()]
    check(tmp_path / "art.pdf").close()
    assert [path for path in (tmp_path / "cache").rglob("*") if path.is_file()]
