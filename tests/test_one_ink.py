"""Names of one ink in groups, and names that mean a process ink."""

import pytest

from preflight.inputs.ink_names import load_ink_table
from preflight.measures.one_ink import _as_read, _one_ink, names_to_merge, one_ink_groups, process_inks_meant

TABLE = load_ink_table()


@pytest.mark.parametrize(
    ("names", "groups"),
    [
        ([], []),
        (["Rust"], []),
        (["Rust", "Moss", "RUST C"], [("Rust", "RUST C")]),
        (["Moss", "Rust", "RUST C", "moss", "M-O-S-S"], [("Moss", "moss", "M-O-S-S"), ("Rust", "RUST C")]),
        (["Leaf 77041 C", "77041", "Leaf 77042"], [("Leaf 77041 C", "77041")]),
        (["77041", "Leaf 77041 C"], [("77041", "Leaf 77041 C")]),
        (["Rust 1", "Rust 2", "rust1"], [("Rust 1", "rust1")]),
    ],
)
def test_names_that_a_person_reads_as_one_are_grouped_in_their_order(names, groups):
    assert one_ink_groups(names) == groups


@pytest.mark.parametrize(
    ("name", "library", "words"),
    [
        ("Rust", "", ("rust",)),
        ("Leaf 77041C", "", ("leaf", "77041")),
        ("PANTONE 485 C", "pantone", ("485",)),
        ("PMS 485 cvu", "pantone", ("485",)),
        ("PANTONE C", "pantone", ("c",)),
        ("PANTONE", "", ("pantone",)),
        ("C", "", ("c",)),
        ("HKS 13 K", "hks", ("13",)),
        ("Rust 13 K", "", ("rust", "13", "k")),
        ("PANTONE Yellow C", "pantone", ("pantone", "yellow")),
        ("PANTONE Process Yellow C", "pantone", ("yellow",)),
        ("PANTONE Warm Yellow C", "pantone", ("warm", "yellow")),
        ("Spot Ink Rust", "", ("rust",)),
        ("Spot", "", ("spot",)),
        ("Spot Ink", "", ("ink",)),
        ("Rust 50 %", "", ("rust",)),
        ("Rust 7,5%", "", ("rust",)),
        ("50 %", "", ("50",)),
        ("Rust 50", "", ("rust", "50")),
        ("R\u00fcst\uff11", "", ("r\u00fcst", "1")),
    ],
)
def test_the_words_of_a_name_that_matter(name, library, words):
    found = _as_read(name, TABLE)
    assert (found.library, found.words) == (library, words)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Rust", "rust", True),
        ("Rust 12", "Rust12", True),
        ("Rust 1 2", "Rust 12", False),
        ("PANTONE 5", "5", False),
        ("PANTONE 5", "PMS 5", True),
        ("5", "5 C", True),
        ("PANTONE 55", "55", True),
        ("PANTONE Rust", "Rust", True),
        ("HKS 55", "PANTONE 55", False),
        ("Leaf 55", "55", True),
        ("Leaf 5", "5", False),
        ("Leaf 1 55", "55", False),
        ("Leaf 55 Warm", "55 Warm", True),
        ("Leaf 55", "Leafbook 55", False),
        ("Leaf Rust", "Rust", False),
        ("---", "+++", False),
        ("---", "Rust", False),
    ],
)
def test_two_names_of_one_ink(one, other, same):
    for pair in ((one, other), (other, one)):
        assert _one_ink(*(_as_read(name, TABLE) for name in pair)) is same


def test_names_that_mean_a_process_ink():
    assert process_inks_meant(["Cyan", "Schwarz", "Rust", "Gelb", "black"]) == {
        "Schwarz": "Black", "Gelb": "Yellow", "black": "Black",
    }  # fmt: skip
    assert process_inks_meant(["Cyan", "Magenta", "Yellow", "Black"]) == {}


@pytest.mark.parametrize(
    ("names", "groups"),
    [
        (["Rust", "Moss"], []),
        (["Rust", "Schwarz", "RUST C"], [("Rust", "RUST C")]),
        (["Black", "Schwarz", "Rust"], [("Black", "Schwarz")]),
        (["Schwarz", "Noir"], [("Schwarz", "Noir")]),
        (["Gelb", "Schwarz", "Yellow", "Black", "Rust", "RUST C"],
         [("Rust", "RUST C"), ("Gelb", "Yellow"), ("Schwarz", "Black")]),
        (["Black", "Schwarz", "SCHWARZ C"], [("Black", "Schwarz", "SCHWARZ C")]),
        (["black", "Black"], [("black", "Black")]),
    ],
)  # fmt: skip
def test_names_to_merge_are_those_of_one_ink_and_of_one_process_ink(names, groups):
    assert names_to_merge(names) == groups
