"""rules/inks.yaml: what is read from it, what is refused, and which foils take an adhesive plate."""

from __future__ import annotations

import pytest

from preflight.errors import InvalidInput
from preflight.inputs.ink_names import load_ink_table, needs_adhesive

TABLE = """\
one_ink:
  suffixes: [C, Copy]
  library_words: [Spot, ink]
  libraries: {pantone: [Pantone, PMS], hks: [hks]}
  library_suffixes: {hks: [K, n]}
adhesive: [cold foil, Kaltfolie]
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A rules folder with a table; writes it anew with words replaced."""
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))

    def write(old: str = "", new: str = "") -> None:
        assert old in TABLE
        (tmp_path / "inks.yaml").write_text(TABLE.replace(old, new) if old else TABLE)

    write()
    return write


def test_the_table_in_small_letters(shop):
    table = load_ink_table()
    assert table.suffixes == {"c", "copy"}
    assert table.library_words == {"spot", "ink"}
    assert table.libraries == {"pantone": "pantone", "pms": "pantone", "hks": "hks"}
    assert table.library_suffixes == {"hks": {"k", "n"}}
    assert table.adhesive == {"coldfoil", "kaltfolie"}
    assert load_ink_table() is table


@pytest.mark.parametrize(
    ("old", "new", "line", "key"),
    [
        ("  suffixes: [C, Copy]\n", "", 1, "one_ink"),
        ("suffixes: [C", "sufixes: [C", 1, "one_ink"),
        ("suffixes: [C, Copy]", "suffixes: C", 2, "one_ink.suffixes"),
        ("suffixes: [C, Copy]", "suffixes: [[C]]", 2, "one_ink.suffixes"),
        ("{pantone: [Pantone, PMS], hks: [hks]}", "[pantone]", 4, "one_ink.libraries"),
        ("[Pantone, PMS]", "Pantone", 4, "one_ink.libraries.pantone"),
        ("{hks: [K, n]}", "{toyo: [K]}", 5, "one_ink.library_suffixes"),
        ("{hks: [K, n]}", "{hks: K}", 5, "one_ink.library_suffixes.hks"),
        ("adhesive: [cold foil, Kaltfolie]", "adhesive: cold foil", 6, "adhesive"),
        ("adhesive: [cold foil, Kaltfolie]", "", 1, ""),
        ("adhesive: [cold foil, Kaltfolie]", "adhesive: []\nmore: []", 1, ""),
    ],
)
def test_a_slip_in_the_table_is_named(shop, old, new, line, key):
    shop(old, new)
    with pytest.raises(InvalidInput) as refusal:
        load_ink_table()
    assert [(fault.line, fault.key) for fault in refusal.value.faults] == [(line, key)]


def test_libraries_need_no_endings_of_their_own(shop):
    shop("{hks: [K, n]}", "{}")
    assert load_ink_table().library_suffixes == {}


@pytest.mark.parametrize(
    ("name", "adhesive"),
    [
        ("Cold foil", True),
        ("ColdFoil", True),
        ("Silver cold-foil 2", True),
        ("KALTFOLIE", True),
        ("Kalt Folie", True),
        ("cold", False),
        ("foil cold", False),
        ("cold gold foil", False),
        ("coldfoils", False),
        ("", False),
    ],
)
def test_a_foil_that_takes_an_adhesive_plate_has_it_in_its_name(shop, name, adhesive):
    assert needs_adhesive(name) is adhesive
