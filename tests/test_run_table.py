"""rules/run.yaml and rules/drying.yaml: what is refused, where a plant has none, and that they are read anew."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from preflight.errors import InvalidInput
from preflight.inputs.drying_table import load_drying_table
from preflight.inputs.ink_systems import load_ink_systems
from preflight.inputs.loading import shipped_rules_dir
from preflight.inputs.run_table import load_run_table
from preflight.inputs.unit_order_table import load_unit_order
from preflight.judging.rulebook import TRADE_TABLES, load_rules


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    copy = Path(tmp_path) / "rules"
    shutil.copytree(shipped_rules_dir(), copy)
    monkeypatch.setenv("PREFLIGHT_RULES", str(copy))
    return copy


def slip(folder: Path, file: str, old: str, new: str) -> int:
    """Replaces words of a table; the line that they are on."""
    text = (folder / file).read_text()
    assert text.count(old) == 1
    (folder / file).write_text(text.replace(old, new))
    return text[: text.index(old)].count("\n") + 1


RUN_SLIPS = [
    ("  sheets: 150\n", "  sheets: many\n", "make_ready.sheets"),
    ("  each_unit: 50 ", "  each_unti: 50 ", "make_ready.each_unti"),
    ("most: 3.7 %", "most: 3.7", "running.most"),
    ("at_sheets: 2500", "at_sheets: 0", "running.at_sheets"),
    ("least: 2.6 %", "least: 4 %", "running.least"),
    ("less: 20 %", "less: 100 %", "speed.less"),
    ("thick_over: 0.6 mm", "thick_over: 0.6", "speed.thick_over"),
    ("slow_surfaces: [metallised]", "slow_surfaces: [shiny]", "speed.slow_surfaces[0]"),
    ("heavy_solid: 60 %", "heavy_solid: 60 mm", "heavy_solid"),
    ("pallet: 25 kg", "pallet: 25", "piles.pallet"),
    ("    white: 2.5 g/m2", "    whiet: 2.5 g/m2", "materials.film.whiet"),
    ("    water-based: 40 % ", "    water-based: 0 % ", "materials.solids.water-based"),
    ("across: 700 mm to 760 mm", "across: 760 mm to 700 mm", "materials.each_unit[0].across"),
    ("plates: automatic ", "plates: by magic ", "changeover.plates"),
    ("    manual: 8 min\n", "", "changeover.plate"),
    ("crew: 2 ", "crew: 0 ", "changeover.crew"),
    ("    make_ready: 1\n", "", "changeover.hands"),
    ("early: 250 ", "early: 0 ", "pulls.early"),
    ("goods: ", "godos: ", "godos"),
]


@pytest.mark.parametrize(("old", "new", "key"), RUN_SLIPS, ids=[slip[2] for slip in RUN_SLIPS])
def test_a_slip_in_the_run_table_is_named(folder, old, new, key):
    line = slip(folder, "run.yaml", old, new)
    with pytest.raises(InvalidInput) as refusal:
        load_run_table()
    fault = next(fault for fault in refusal.value.faults if fault.key == key)
    assert Path(fault.file).name == "run.yaml"
    assert 0 <= line - fault.line <= (0 if new else 6)  # of a key that is not there, the mapping that it belongs in


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("ink_system: [uv,", "ink_system: [uvv,", "[0].ink_system[0]"),
        ("hours: 0", "hours: soon", "[0].hours"),
        ("hours: 0", "hours: -1", "[0].hours"),
        ("surface: white\n  hours", "surface: [white, film]\n  hours", "[0].hours"),
        ("surface: white\n  hours", "surface: metallised\n  hours", "[0].hours"),
        ("  hours: 0\n", "", "[0].hours"),
        ("  hours: 0\n", "  hours: 0\n  days: 1\n", "[0].days"),
    ],
)
def test_a_slip_in_the_drying_table_is_named(folder, old, new, key):
    slip(folder, "drying.yaml", old, new)
    with pytest.raises(InvalidInput) as refusal:
        load_drying_table()
    assert [(Path(fault.file).name, fault.key) for fault in refusal.value.faults] == [("drying.yaml", key)]
    assert refusal.value.faults[0].line >= 9


def test_a_drying_table_is_a_list(folder):
    (folder / "drying.yaml").write_text("hours: 0\n")
    with pytest.raises(InvalidInput):
        load_drying_table()
    (folder / "drying.yaml").write_text("[]\n")
    assert load_drying_table() == ()


def test_a_plant_s_folder_without_tables_has_the_shipped_ones(folder):
    loaders = (load_run_table, load_drying_table, load_unit_order, load_ink_systems)
    shipped = [load() for load in loaders]
    for name in ("run.yaml", "drying.yaml", "unit_order.yaml", "ink_systems.yaml"):
        (folder / name).unlink()
    assert [load() for load in loaders] == shipped


def test_tables_are_read_anew_once_changed(folder):
    assert load_run_table() is load_run_table()
    slip(folder, "run.yaml", "  sheets: 150\n", "  sheets: 151\n")
    assert load_run_table().make_ready.sheets == 151
    slip(folder, "drying.yaml", "  hours: 0\n", "  hours: 2\n")
    assert [row.hours for row in load_drying_table()] == [2]


def test_the_rulebook_knows_them_as_trade_tables(folder):
    assert {"run.yaml", "drying.yaml"} <= set(TRADE_TABLES)
    assert load_rules().rules


def test_nobody_s_figures_are_shipped_empty():
    """No drying hours but for cured UV, and no time for a change of piles."""
    table = load_run_table()
    assert [row.hours for row in load_drying_table()] == [0]
    assert (table.piles.change, table.piles.board_mass, table.materials.each_coater, table.pulls.colour) == (None,) * 4
