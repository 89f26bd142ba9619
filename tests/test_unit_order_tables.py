"""rules/unit_order.yaml and rules/ink_systems.yaml: what is read from them, and what is refused with line and key."""

from __future__ import annotations

import pytest

from preflight.errors import InvalidInput
from preflight.inputs.ink_systems import load_ink_systems
from preflight.inputs.loading import shipped_rules_dir
from preflight.inputs.unit_order_table import load_unit_order
from preflight.setup.plan_request import PlanRequest
from preflight.setup.unit_order.plan_press import plan_press
from tests.test_unit_order import GREEN, PROCESS, ink, job, order, overlaps, press


@pytest.fixture
def house(tmp_path, monkeypatch):
    """A rules folder; writes a table with words replaced."""
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    for name in ("unit_order.yaml", "ink_systems.yaml", "inks.yaml"):
        (tmp_path / name).write_text((shipped_rules_dir() / name).read_text())

    def write(name: str, old: str, new: str) -> None:
        text = (tmp_path / name).read_text()
        assert old in text
        (tmp_path / name).write_text(text.replace(old, new))

    return write


def test_which_systems_mix():
    """Common practice: mercury ink fails under LED, LED ink passes under mercury; oxidising under UV wants a primer."""
    table = load_ink_systems()
    assert table.run_together("uv", "led-uv")
    assert not table.run_together("uv", "oxidising")
    assert (table.cured_by("uv", "led-uv"), table.cured_by("led-uv", "uv")) == ("no", "yes")
    assert table.cured_by("oxidising", "uv") == "no"
    assert table.under_coating("oxidising", "uv") == "primer"
    assert table.under_coating("oxidising", "water-based") == "yes"
    assert table.on_surface("oxidising", "metallised") == "no"
    assert table.on_surface("uv", "metallised") == "yes"


def test_a_table_that_is_edited_is_read_anew(house):
    assert load_unit_order().double_hit == "adjacent"
    house("unit_order.yaml", "double_hit: adjacent", "double_hit: apart")
    assert load_unit_order().double_hit == "apart"


@pytest.mark.parametrize(
    ("name", "old", "new", "key"),
    [
        ("unit_order.yaml", "double_hit: adjacent", "double_hit: sideways", "double_hit"),
        ("unit_order.yaml", "joint: 0.4 mm", "joint: near", "joint"),
        ("unit_order.yaml", "  lamp: 1 ", "  lamp: -1 ", "weights.lamp"),
        ("ink_systems.yaml", "led-uv: no}", "led-uv: perhaps}", "lamps.uv.led-uv"),
    ],
)
def test_a_wrong_table_is_refused_with_file_line_and_key(house, name, old, new, key):
    house(name, old, new)
    with pytest.raises(InvalidInput) as refused:
        (load_unit_order if name == "unit_order.yaml" else load_ink_systems)()
    fault = refused.value.faults[0]
    assert fault.file.endswith(name)
    assert fault.line > 1
    assert fault.key == key


def green(request: PlanRequest) -> list[int]:
    return [place for place, name in enumerate(order(plan_press(request))) if name == "Moss Green"]


def test_double_hits_by_the_rule_of_the_plant(house):
    request = job(*GREEN, ink("Brick", cover=0.5), on=press(3, lamps=(1,)))
    first, second = green(request)
    assert second == first + 1
    house("unit_order.yaml", "double_hit: adjacent", "double_hit: apart")
    assert green(request) == [0, 2]
    house("unit_order.yaml", "double_hit: apart", "double_hit: lamp between")
    assert green(request)[0] == 0


@pytest.mark.parametrize(("school", "place"), [("first", 0), ("last", 4), ("by overlap", 4)])
def test_metallics_by_the_school_of_the_plant(house, school, place):
    house("unit_order.yaml", "metallic: by overlap", f"metallic: {school}")
    plan = plan_press(job(*PROCESS, ink("Copper", "metallic"), on=press(5)))
    assert order(plan)[place] == "Copper"


@pytest.mark.parametrize(("mm2", "place"), [(5.0, 4), (5.1, 0)])
def test_five_per_cent_of_a_metallic_printed_on_put_it_first(mm2, place):
    """Source: common practice, the share in rules/unit_order.yaml; the metallic has 100 mm2."""
    on_it = overlaps(*(("Copper", name) for name in ("Cyan", "Magenta", "Yellow", "Black")), mm2=mm2)
    plan = plan_press(job(*PROCESS, ink("Copper", "metallic"), on=press(5), overlap_mm2=on_it))
    assert order(plan)[place] == "Copper"
