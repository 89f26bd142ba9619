"""rules/layout.yaml: what is read from it, what is refused with line and key, and that the search goes by it."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile

import pytest
from shapely import box

from preflight.errors import InvalidInput
from preflight.inputs.layout_table import load_layout_table
from preflight.inputs.loading import table_file
from preflight.judging.rulebook import TRADE_TABLES
from preflight.setup.layout.lay_out import lay_out
from tests.layouts import room


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A plant's folder of rules with a table of its own."""
    copyfile(table_file("layout.yaml"), tmp_path / "layout.yaml")
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    return tmp_path / "layout.yaml"


def change(table: Path, old: str, new: str) -> None:
    text = table.read_text()
    assert text.count(old) == 1
    table.write_text(text.replace(old, new))


def test_shipped() -> None:
    table = load_layout_table()
    assert (table.gutter_mm, table.least_gutter_mm, table.nested_gutter_mm, table.bleed_mm) == (6, 3, 4, 3)
    assert (table.waste_strip_mm, table.gripper_strip_mm) == (4, 8)
    assert table.prefer == ("more up", "waste in one piece", "simpler pattern")
    assert "layout.yaml" in TRADE_TABLES


def test_a_plant_has_its_own_gutter(house: Path) -> None:
    assert lay_out(room(box(0, 0, 100, 60), 210, 60)).gutters_mm == (6.0, 6.0)
    change(house, "\ngutter: 6 mm", "\ngutter: 10 mm")
    assert lay_out(room(box(0, 0, 100, 60), 210, 60)).gutters_mm == (10.0, 10.0)


def test_a_plant_that_shares_no_knives(house: Path) -> None:
    inks = dict.fromkeys(("left", "right", "bottom", "top"), {"Sea Blue": 0.9})
    assert lay_out(room(box(0, 0, 100, 60), 300, 60, edge_inks=inks)).ups == 3
    change(house, "shared_knife: allowed", "shared_knife: never")
    assert lay_out(room(box(0, 0, 100, 60), 300, 60, edge_inks=inks)).ups == 2


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("\ngutter: 6 mm", "\ngutter: wide", "gutter"),
        ("shared_knife: allowed", "shared_knife: sometimes", "shared_knife"),
        ("simpler pattern]", "more up]", "prefer"),
        ("cut_to: 1 mm", "cut_to: 0 mm", "cut_to"),
        ("\nworth: 20 mm", "\nworths: 20 mm", "worth"),
    ],
)
def test_a_slip_is_refused_with_its_key(house: Path, old: str, new: str, key: str) -> None:
    change(house, old, new)
    with pytest.raises(InvalidInput) as refused:
        load_layout_table()
    assert any(key in fault.key for fault in refused.value.faults)
