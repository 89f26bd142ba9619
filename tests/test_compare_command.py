"""``preflight compare`` from the command line and from Python: document, statuses, what is said."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pikepdf
import pytest

import preflight
from preflight.cli.main import run
from preflight.compare_pipeline import compare
from preflight.comparing.compare_document import FORMAT, ComparedFile, build_compare_document, compare_schema
from preflight.comparing.compare_words import counted, headline
from preflight.comparing.comparison import BlankCheck, ChangedText, Comparison, PlateChange, VersionCount
from preflight.errors import ArtworkUnreadable, CannotWrite, ExitStatus, InvalidInput, WrongUsage
from tests.drawn import Drawing
from tests.drawn_sheets import one_up, rows, sheet
from tests.revisions import carton, only_metadata


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    """Two revisions: a digit changed, and the page was turned."""
    old, new = tmp_path / "old.pdf", tmp_path / "new.pdf"
    return str(carton().save(old)), str(carton(code="4012346", rotate=90).save(new))


def command(*arguments: object) -> int:
    return run(["compare", *map(str, arguments)])


def validated(document: dict[str, Any]) -> dict[str, Any]:
    jsonschema.Draft202012Validator(compare_schema()).validate(document)
    return document


# Statuses ----------------------------------------------------------------------------------------------------------


def test_a_plate_that_changed_is_status_1_and_said_first(files, capsys):
    assert command(*files) == ExitStatus.FAIL
    out, err = capsys.readouterr()
    assert err == ""
    assert out.startswith("Only Black changed. Six plates can stay.\n")
    assert "Remake Black" in out
    assert "4012345 -> 4012346" in out
    assert " - The page is turned by 90° clockwise." in out
    assert max(map(len, out.splitlines())) <= 80


def test_no_plate_that_changed_is_status_0(files, tmp_path, capsys):
    assert command(files[0], files[0]) == ExitStatus.OK
    assert command(files[0], only_metadata(tmp_path / "old.pdf"), "-q") == ExitStatus.OK
    assert capsys.readouterr().out.endswith("\nNo plate changes.\n")
    assert command(files[0], carton(moss="Fern").save(tmp_path / "renamed.pdf"), "-q") == ExitStatus.OK
    assert capsys.readouterr().out == "No plate changes. Fern is only renamed, from Moss.\n"


@pytest.mark.parametrize("which", [0, 1])
def test_files_that_cannot_be_read_are_status_3_and_named(files, tmp_path, capsys, which):
    broken, locked = tmp_path / "broken.pdf", tmp_path / "locked.pdf"
    broken.write_bytes(Path(files[0]).read_bytes()[:600])
    with pikepdf.open(files[0]) as pdf:
        pdf.save(locked, encryption=pikepdf.Encryption(owner="o", user="u"))
    (tmp_path / "empty.pdf").write_bytes(b"")
    for bad in ("broken.pdf", "locked.pdf", "empty.pdf", "missing.pdf"):
        pair = [files[0], files[0]]
        pair[which] = str(tmp_path / bad)
        assert command(*pair) == ExitStatus.ARTWORK_UNREADABLE
        out, err = capsys.readouterr()
        assert out == ""
        assert bad in err


def test_a_file_with_an_owner_password_alone_is_compared(files, tmp_path):
    owned = tmp_path / "owned.pdf"
    with pikepdf.open(files[0]) as pdf:
        pdf.save(owned, encryption=pikepdf.Encryption(owner="o", user=""))
    assert command(files[0], owned, "-q") == ExitStatus.OK
    assert command(owned, files[1], "-q") == ExitStatus.FAIL


def test_wrong_usage_is_status_2_before_anything_is_read(files, capsys):
    missing = ("no.pdf", "no.pdf")
    assert command(*missing, "--report", "x.txt") == ExitStatus.WRONG_USAGE
    assert "ends in" in capsys.readouterr().err
    assert command(*missing, "--as", "revision", "--version", "x.pdf") == ExitStatus.WRONG_USAGE
    assert command(files[0]) == ExitStatus.WRONG_USAGE
    assert command(*files, "--as", "book") == ExitStatus.WRONG_USAGE


def test_a_wrong_ticket_is_status_4(files, tmp_path, capsys):
    ticket = tmp_path / "ticket.yaml"
    ticket.write_text("ticket: 1\nchanged: [Black]\n")
    assert command(*files, "--ticket", ticket) == ExitStatus.INVALID_INPUT
    assert "did you mean changes?" in capsys.readouterr().err


def test_a_report_that_cannot_be_written_is_status_6_at_most(files, tmp_path, capsys):
    nowhere = tmp_path / "nowhere" / "c.json"
    assert command(files[0], files[0], "--report", nowhere) == ExitStatus.REPORT_NOT_WRITTEN
    assert "cannot be written" in capsys.readouterr().err
    assert command(*files, "--report", nowhere) == ExitStatus.FAIL


# What is written ---------------------------------------------------------------------------------------------------


def test_the_report_is_the_document(files, tmp_path, capsys):
    to = tmp_path / "compare.json"
    assert command(*files, "--report", to, "--report", "-") == ExitStatus.FAIL
    document = validated(json.loads(to.read_text()))
    assert document == json.loads(capsys.readouterr().out)
    assert (document["format"], document["same"], document["as"]) == (FORMAT, False, "revision")
    assert document["says"] == "Only Black changed. Six plates can stay."
    assert (document["remake"], document["declared"], document["undeclared"]) == (["Black"], [], [])
    assert sorted(document["keep"]) == ["Copper", "Cyan", "Gold", "Magenta", "Moss", "Yellow"]
    assert document["pages"] == ["The page is turned by 90° clockwise."]
    black = next(plate for plate in document["plates"] if plate["name"] == "Black")
    assert (black["change"], black["places"][0]["page"], black["renamed_from"]) == ("local", 1, None)
    assert document["files"]["old"]["file"] == "old.pdf"
    assert document["texts"][0]["plates"] == ["Black"]


def test_the_ticket_says_which_plates_change(files, tmp_path, capsys):
    ticket = tmp_path / "ticket.yaml"
    ticket.write_text("ticket: 1\nartwork: not-there.pdf\npress: not-there.yaml\nchanges: [M]\n")
    assert command(*files, "--ticket", ticket, "--report", "-") == ExitStatus.FAIL
    document = validated(json.loads(capsys.readouterr().out))
    assert (document["declared"], document["undeclared"]) == (["Magenta"], ["Black"])
    assert document["declared_unchanged"] == ["Magenta"]
    assert "Black is not among the changes on the ticket." in document["says"]


def test_from_python(files, tmp_path):
    said: list[str] = []
    with preflight.compare(*files, progress=said.append, cache=False) as compared:
        assert not compared.comparison.same
        assert compared.exit_status is ExitStatus.FAIL
        assert repr(compared).startswith("<CompareResult old.pdf against new.pdf: Only Black changed.")
        assert [(page.old.number, page.new.number, page.frame.turns) for page in compared.pages] == [(1, 1, 3)]
        assert compared.pages[0].new.plates(50).ink.any()
        assert compared.save(tmp_path / "a.json") == []
        with pytest.raises(CannotWrite):
            compared.save(tmp_path / "no" / "a.json")
        with pytest.raises(WrongUsage):
            compared.save(tmp_path / "a.doc")
        (lacking,) = compared.save_all([tmp_path / "no" / "a.json", tmp_path / "b.json"])
        assert "there is no folder" in lacking.words
    assert (tmp_path / "a.json").read_text() == (tmp_path / "b.json").read_text()
    assert said[:2] == ["reading old.pdf", "reading new.pdf"]
    assert "page 1: comparing" in said


def test_from_python_errors(files, tmp_path):
    with pytest.raises(ArtworkUnreadable):
        compare(files[0], tmp_path / "no.pdf")
    with pytest.raises(InvalidInput):
        compare(*files, ticket=tmp_path / "no.yaml")
    with pytest.raises(WrongUsage):
        compare(*files, versions=[files[0]])


def test_of_equal_files_one_is_read(files, tmp_path):
    twin = tmp_path / "twin.pdf"
    twin.write_bytes(Path(files[0]).read_bytes())
    said: list[str] = []
    with compare(files[0], twin, progress=said.append) as compared:
        assert compared.old is compared.new
        assert compared.document["files"]["new"]["file"] == "twin.pdf"
        assert compared.pages == []
    assert said == ["reading old.pdf"]


# Sheets ------------------------------------------------------------------------------------------------------------


def test_a_sheet_is_known_by_its_blanks(tmp_path, capsys):
    first = one_up(tmp_path / "one-up.pdf")
    laid = sheet(tmp_path / "sheet.pdf", [*rows(2, 2)])
    assert command(first, laid, "--report", "-") == ExitStatus.OK
    document = validated(json.loads(capsys.readouterr().out))
    assert (document["as"], document["same"], len(document["blanks"])) == ("sheet", True, 4)
    assert document["notes"][0] == "NEW shows 4 blanks like the one of OLD, so it is compared as a sheet (--as sheet)."
    assert command(first, laid, "--as", "sheet") == ExitStatus.OK
    out = capsys.readouterr().out
    assert out.startswith("All four blanks are as the one-up.\n")
    assert max(map(len, out.splitlines())) <= 80
    assert command(laid, laid, "-q") == ExitStatus.OK


def test_a_version_makes_it_a_sheet(tmp_path):
    first = one_up(tmp_path / "one-up.pdf")
    laid = sheet(tmp_path / "sheet.pdf", [*rows(2, 2)])
    with compare(first, laid, as_=None, versions=[first]) as compared:
        assert compared.comparison.as_ == "sheet"


# The sentence ------------------------------------------------------------------------------------------------------

FILES = (ComparedFile("a.pdf", "0" * 64, 1), ComparedFile("b.pdf", "1" * 64, 1))


def plates(**changes: str) -> tuple[PlateChange, ...]:
    return tuple(PlateChange(name, how) for name, how in changes.items())  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (Comparison("revision", plates(Cyan="none")), "No plate changes."),
        (Comparison("revision", plates(Cyan="none", Gold="tone")), "Only Gold changed. One plate can stay."),
        (Comparison("revision", plates(Cyan="tone")), "Cyan changed. No plate can stay."),
        (Comparison("revision", plates(A="tone", B="local")), "Every plate changed: A and B. No plate can stay."),
        (Comparison("revision", plates(A="none", B="new", C="gone")), "B is new. C is gone. One plate can stay."),
        (
            Comparison("revision", plates(A="none"), not_compared=("page 21",)),
            "No plate change was found. Not all of it could be compared.",
        ),
        (
            Comparison("sheet", plates(A="none"), tuple(BlankCheck(n, (0, 0, 9, 9), "same") for n in (1, 2))),
            "All two blanks are as the one-up.",
        ),
        (
            Comparison(
                "sheet",
                plates(A="none", B="moved"),
                (
                    *(BlankCheck(n, (0, 0, 9, 9), "same") for n in (1, 2)),
                    BlankCheck(3, (0, 0, 9, 9), "moved"),
                    BlankCheck(4, (0, 0, 9, 9), "turned"),
                    BlankCheck(5, (0, 0, 9, 9), "turned"),
                ),
            ),
            "3 of 5 blanks are not as the one-up: blanks 4 and 5 are turned; blank 3 is moved. "
            "All plates of the sheet have to be made again.",
        ),
    ],
)
def test_the_sentence(found, says):
    assert headline(found) == says
    validated(build_compare_document(found, *FILES))


def test_the_document_of_everything_is_valid():
    change = PlateChange(
        "Cyan", "moved", 0.2, (0.1, -0.2), 1.5, (((0, 0, 1, 1), 1),), (((5, 5, 6, 6), 2),), "C", ("tone",), "x"
    )
    blank = BlankCheck(1, (0, 0, 9, 9), "other", "old.pdf", 180.0, (0.3, 0), (change,), 0.4, "old", 2)
    text = ChangedText("500", "450", (0, 0, 1, 1), 1, ("Cyan",))
    found = Comparison(
        "sheet", (change,), (blank,), ("a",), (text,), "an export", ("Cyan",), ("b",), ("c",), faults=("d",),
        versions=(VersionCount("Mint", 3, None),),
    )  # fmt: skip
    document = validated(build_compare_document(found, *FILES))
    assert json.loads(json.dumps(document)) == document
    assert document["plates"][0]["moved_mm"] == [0.1, -0.2]


def test_numbers_as_words():
    assert [counted(number, "plate") for number in (0, 1, 2, 12, 13)] == [
        "no plates", "one plate", "two plates", "twelve plates", "13 plates",
    ]  # fmt: skip


def test_many_plates_fit_a_terminal(tmp_path, capsys):
    def swatches(shift: float) -> Drawing:
        page = Drawing(200, 120)
        for i in range(70):
            x, y = 5 + i % 20 * 9, 5 + i // 20 * 9
            page.fill(f"A very long name of a special colour {i:02}", rect=(x + shift, y, x + 7, y + 7))
        return page

    assert command(swatches(0).save(tmp_path / "a.pdf"), swatches(1).save(tmp_path / "b.pdf")) == ExitStatus.FAIL
    out = capsys.readouterr().out
    assert "and 10 more, listed in the report file" in out
    assert max(map(len, out.splitlines())) <= 80
