"""Number-up and version mix against the ticket; plates paired by name; sentences."""

from pathlib import Path
from typing import Any

import pytest

from preflight.comparing.comparison import BlankCheck, PlateChange
from preflight.comparing.sheet.blank_in_words import in_words, moved_in_words
from preflight.comparing.sheet.number_up import meant_versions, number_up_faults, version_counts
from preflight.comparing.sheet.plates_by_name import paired_names
from preflight.inputs.ticket import Ticket

MIX = {"quantities": {"Mint": 20_000, "Sage": 10_000}}


def checks(**counts: int) -> list[BlankCheck]:
    names = [name for name, count in counts.items() for _ in range(count)]
    return [BlankCheck(n, (0, 0, 1, 1), "same", name) for n, name in enumerate(names, 1)]


def faults(blanks: list[BlankCheck], **keys: object) -> int:
    ticket = Ticket.model_validate(keys)
    return len(number_up_faults(blanks, version_counts(blanks, ticket), ticket))


@pytest.mark.parametrize(
    ("counts", "keys", "wrong"),
    [
        ({"Mint": 8, "Sage": 4}, MIX | {"layout": {"ups": 12}}, 0),
        ({"Mint": 8, "Sage": 4}, MIX | {"layout": {"ups": 10}}, 1),
        ({"Mint": 7, "Sage": 5}, MIX, 1),
        ({"Mint": 7, "Sage": 3}, MIX, 0),  # 10 blanks share out to no whole number
        ({"Mint": 10}, MIX, 1),
        ({"Mint": 2, "Sage": 1}, {"layout": {"blanks": [{"x": 0, "y": 0, "version": "Mint"}] * 3}}, 1),
        ({"Mint": 3}, {"layout": {"blanks": [{"x": 0, "y": 0, "version": "Mint"}] * 3}}, 0),
        ({"one-up.pdf": 12}, {}, 0),
    ],
)
def test_counts_against_the_ticket(counts, keys, wrong):
    assert faults(checks(**counts), **keys) == wrong


def test_without_a_ticket_nothing_is_wanted():
    blanks = checks(Mint=3)
    (count,) = version_counts(blanks, None)
    assert (count.blanks, count.wanted) == (3, None)
    assert number_up_faults(blanks, (count,), None) == []


def test_versions_go_by_the_names_of_the_ticket(tmp_path):
    ticket = Ticket.model_validate(
        {"artwork": [{"file": "one-up.pdf", "version": "Mint"}, {"file": "b.pdf"}], "quantities": {"Mint": 5}}
    )
    files = {"one-up.pdf": tmp_path / "one-up.pdf", "b.pdf": tmp_path / "b.pdf", "old.pdf": tmp_path / "old.pdf"}
    assert meant_versions(ticket, files) == {"one-up.pdf": "Mint", "b.pdf": "b.pdf"}
    assert meant_versions(None, files) == {}


def test_plates_are_paired_by_name():
    ticket = Ticket.model_validate({"separations": {"Gold 2 CV": {"same_as": "Altgold"}}})
    known = ["Cyan", "Black", "Mill Brown", "Altgold"]
    own = ["black", "Cyan", "MILL BROWN", "Gold 2 CV", "Number"]
    assert paired_names(known, own, ticket) == {
        "Cyan": "Cyan",
        "Black": "black",
        "Mill Brown": "MILL BROWN",
        "Altgold": "Gold 2 CV",
        "Number": "Number",
    }
    assert "Altgold" not in paired_names(known, own)
    assert paired_names(["Brown 1", "Brown 2"], ["Brown 2"]) == {"Brown 2": "Brown 2"}


def test_sentences_are_whole():
    """Every kind of verdict has words, and a number once."""
    black = PlateChange("Black", "local", 0.001, places=(((1, 1, 2, 3), 1),))
    kinds: list[tuple[BlankCheck, str | None, dict[str, Any]]] = [
        (BlankCheck(5, (0, 0, 1, 1), "same"), None, {}),
        (BlankCheck(5, (0, 0, 1, 1), "other", "old.pdf", plates=(black,)), "old.pdf", {"further": (black,)}),
        (BlankCheck(5, (0, 0, 1, 1), "other", plates=(black,), moved_mm=(0.3, 0)), None, {}),
        (BlankCheck(5, (0, 0, 1, 1), "turned", turned_deg=-90.0), None, {}),
        (BlankCheck(5, (0, 0, 1, 1), "missing"), None, {"bare": 1.0}),
        (BlankCheck(5, (0, 0, 1, 1), "missing"), None, {"bare": 0.4}),
    ]
    said = [in_words(check, shown, "die", **keys) for check, shown, keys in kinds]
    assert len(set(said)) == len(said)
    assert all(each.startswith("Blank 5 ") and each.endswith(".") and "  " not in each for each in said)
    assert "old.pdf" in said[1]
    assert "0.30 mm" in said[2]


@pytest.mark.parametrize(("shift", "parts"), [((0.3, 0.0), 1), ((0.3, 0.004), 1), ((-0.2, 0.3), 2), ((0.0, -0.1), 1)])
def test_a_shift_in_words(shift, parts):
    assert moved_in_words(*shift).count("mm") == parts


def test_a_file_is_of_the_version_that_it_is_called_after():
    ticket = Ticket.model_validate({"quantities": {"Dark": "100", "Milk": "100"}})
    files = {"dark.pdf": Path("dark.pdf"), "old.pdf": Path("old.pdf")}
    assert meant_versions(ticket, files) == {"dark.pdf": "Dark"}
