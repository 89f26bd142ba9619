"""What is noted, and what is taken for granted, when a job is put together."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import shapely

from preflight.artwork.page.separations import Separation
from preflight.artwork.read_artwork import read_artwork
from preflight.carton.die import Area, Die
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.measures.files import MOST_TOLD, repairs
from preflight.measures.job_assembly import (
    _adhesive_plates,
    _assumed_of_the_die,
    _assumed_of_the_sheet,
    _notes,
    assemble_job,
    begin_job,
)
from tests.books import Book
from tests.drawn import Drawing
from tests.house import printed

SIZE = SimpleNamespace(width_mm=412.4, height_mm=287.6)


@pytest.mark.parametrize(
    ("artwork_is", "ticket", "words"),
    [
        ("one-up", None, []), ("sheet", None, ["412 x 288", "gripper"]), ("sheet", {}, ["412 x 288", "gripper"]),
        ("sheet", {"sheet": {"size": "412 x 288 mm"}}, ["gripper"]), ("sheet", {"gripper_edge": "left"}, ["412 x 288"]),
        ("sheet", {"sheet": {"size": "412 x 288 mm"}, "gripper_edge": "top"}, []), ("plate", {}, ["gripper"]),
        ("plate", {"gripper_edge": "top"}, []), ("one-up", {}, []),
    ],
)  # fmt: skip
def test_what_the_ticket_does_not_say_of_a_sheet_is_taken_for_granted(artwork_is, ticket, words):
    made = None if ticket is None else Ticket.model_validate(ticket)
    told = list(_assumed_of_the_sheet(SIZE, artwork_is, made))  # type: ignore[arg-type]
    assert len(told) == len(words)
    assert all(word in line for word, line in zip(words, told, strict=True))


def test_what_is_guessed_of_a_die_is_told():
    areas = [
        Area("glue flap", shapely.box(0, 0, 1, 1), known, "a narrow cell") for known in ("assumed", "stated", "read")
    ]
    blanks: Any = (SimpleNamespace(number=1, areas=areas[1:]), SimpleNamespace(number=4, areas=areas))
    read = Die("read", "named", blanks, guessed_within=("dashes fold", "others cut"))
    told = list(_assumed_of_the_die(read))
    assert [("dashes fold" in line, "others cut" in line, "Blank 4" in line) for line in told] == [
        (True, False, False), (False, True, False), (False, False, True),
    ]  # fmt: skip
    assumed = list(_assumed_of_the_die(Die("assumed", "one line closes", guessed_within=("dashes fold",))))
    assert len(assumed) == 1
    assert "one line closes" in assumed[0]


def test_of_a_cold_foil_it_is_noted_that_its_adhesive_takes_a_unit():
    names = [("Cold Foil", "foil"), ("Hot Foil", "foil"), ("Cold Foil", "spot"), ("Kaltfolie", "foil")]
    page: Any = SimpleNamespace(separations=[Separation(name, kind, "") for name, kind in names])
    told = list(_adhesive_plates(page))
    assert [line.split(" is ")[0] for line in told] == ["Cold Foil", "Kaltfolie"]


def repair(told: str, *, lost: bool) -> Any:
    return SimpleNamespace(told=told, lost=lost)


def test_notes_on_the_file_stand_on_its_first_page():
    pages = [SimpleNamespace(separations=[Separation("Cold Foil", "foil", "")]), SimpleNamespace(separations=[])]
    artwork: Any = SimpleNamespace(
        pages=pages, repairs=[repair("a", lost=False), repair("b", lost=True), repair("c", lost=False)]
    )
    meant: Any = SimpleNamespace(notes=("nobody has Rust",))
    first, foil, repaired = _notes(artwork, pages[0], meant)  # type: ignore[arg-type]
    assert (first, "Cold Foil" in foil) == ("nobody has Rust", True)
    assert repaired.endswith("a; c")
    assert list(_notes(artwork, pages[1], meant)) == []  # type: ignore[arg-type]
    artwork.repairs = artwork.repairs[1:2]
    assert len(list(_notes(artwork, pages[0], None))) == 1  # type: ignore[arg-type]


@pytest.mark.parametrize("count", [0, 1, MOST_TOLD, MOST_TOLD + 2])
def test_repairs_that_may_lose_something_are_counted_and_the_first_are_told(count):
    pages = [SimpleNamespace(), SimpleNamespace()]
    lost = [repair(f"repair {n}", lost=True) for n in range(count)]
    artwork = SimpleNamespace(pages=pages, repairs=[repair("harmless", lost=False), *lost], producer="a press room")
    [found] = repairs(SimpleNamespace(page=pages[0], artwork=artwork))  # type: ignore[arg-type]
    assert (found.value, found.unit, found.facts["producer"]) == (float(count), "repairs", "a press room")
    told = [part for part in str(found.facts["repairs"]).split("; ") if part]
    assert told[:MOST_TOLD] == [f"repair {n}" for n in range(min(count, MOST_TOLD))]
    assert told[MOST_TOLD:] == (["and 2 more"] if count > MOST_TOLD else [])
    assert repairs(SimpleNamespace(page=pages[1], artwork=artwork)) == []  # type: ignore[arg-type]


def test_a_job_that_has_just_begun_knows_no_die_and_no_inks(tmp_path):
    artwork = read_artwork(printed("Cyan").save(tmp_path / "art.pdf"))
    ticket = Ticket.model_validate({"artwork_is": "sheet"})
    job = begin_job(artwork, artwork.pages[0], None, ticket)
    assert (job.die.found, job.die.blanks, job.artwork_is, job.artwork_is_known) == ("none", (), "sheet", "stated")
    with pytest.raises(NotMeasured):
        _ = job.inks


def test_names_on_a_ticket_are_held_against_all_pages_of_a_file(tmp_path):
    """Rust stands on the second page only; Umber nowhere."""
    book = Book(printed("Cyan"), Drawing(215, 200).fill("Rust", rect=(10, 20, 30, 25)))
    artwork = read_artwork(book.save(tmp_path / "art.pdf"))
    ticket = Ticket.model_validate({"artwork_is": "one-up", "separations": {"Rust": "metallic", "Umber": "metallic"}})
    first, second = (assemble_job(artwork, page, None, ticket) for page in artwork.pages)
    assert not any("Rust" in note for note in first.notes)
    assert any("Umber" in note for note in first.notes)
    assert not any("Umber" in note for note in second.notes)
    assert (first.ticket is None, first.artwork_is_known, len(first.die.blanks)) == (False, "stated", 1)


def test_what_is_assumed_of_a_job_is_told_together(tmp_path):
    artwork = read_artwork(printed("Cyan").save(tmp_path / "art.pdf"))
    guessed = assemble_job(artwork, artwork.pages[0], None, None)
    assert guessed.artwork_is_known == "assumed"
    assert guessed.artwork_is_because in guessed.assumed
    assert any("glue flap guessed" in line for line in guessed.assumed)
    stated = assemble_job(artwork, artwork.pages[0], None, Ticket.model_validate({"artwork_is": "sheet"}))
    assert any("gripper" in line for line in stated.assumed)
    assert stated.artwork_is_because not in stated.assumed
    assert [ink.separation.name for ink in stated.inks][:1] == ["Cyan"]
