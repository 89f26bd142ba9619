"""When the next operation may start: only from the plant's table, and 0 only for cured UV on coated board."""

from __future__ import annotations

import pytest

from preflight.inputs.drying_table import DryingRow, load_drying_table
from preflight.inputs.run_table import load_run_table
from preflight.setup.next_operation import NextOperation, next_operation
from preflight.setup.press_plan import InDelivery, LampSet, OnCoater, OnUnit, Pass, PressPlan, Station
from tests.planned_runs import CMYK, a_pass, a_plan, a_request

WORDS = load_run_table().goods
SHIPPED = load_drying_table()
CURED = a_plan(a_pass(CMYK, "uv", lamps=("uv",)))
UV = {"ink_system": "uv", "goods": "cosmetics"}


def after(plan: PressPlan = CURED, rows: tuple[DryingRow, ...] = SHIPPED, **keys) -> NextOperation:
    return next_operation(a_request(plan, **{**UV, **keys}), rows, WORDS)


def row(hours: float, system: str = "oxidising", coating: str = "water-based", surface: str = "white") -> DryingRow:
    values = {"ink_system": system, "coating": coating, "surface": surface, "hours": hours}
    return DryingRow.model_validate(values)


@pytest.mark.parametrize("system", ["uv", "led-uv", "low-energy-uv"])
@pytest.mark.parametrize("coating", ["uv", None])
def test_cured_uv_on_coated_board_goes_on_at_once_after_tests(system, coating):
    found = after(a_plan(a_pass(CMYK, coating, lamps=(system,))), ink_system=system)
    assert found.after_h == 0
    assert found.says == "after adhesion and cure tests, per makers' instructions"
    assert found.not_checked == ()


@pytest.mark.parametrize("surface", ["film", "metallised", "kraft", "grey"])
def test_never_at_once_on_other_board(surface):
    found = after(surface=surface)
    assert found.after_h is None
    assert "rules/drying.yaml" in found.not_checked[0]


@pytest.mark.parametrize("surface", ["film", "metallised"])
def test_never_at_once_on_film_or_metallised_board_whatever_the_rows_say(surface):
    found = after(rows=(row(0, "uv", "uv", surface),), surface=surface)
    assert found.after_h is None
    assert surface in found.not_checked[0]


@pytest.mark.parametrize(
    "goods",
    [
        {"goods": "food"},
        {"goods": "Frozen fish"},
        {"goods": "cosmetics", "contact": "indirect"},
        {"goods": "cosmetics", "contact": "direct"},
        {"goods": "food", "contact": "none"},
    ],
)
def test_never_at_once_for_food(goods):
    found = after(**goods)
    assert found.after_h is None
    assert "food" in found.not_checked[0]


@pytest.mark.parametrize("goods", [{"goods": None}, {"goods": "gift"}])
def test_goods_that_may_be_food_are_asked_about(goods):
    found = after(**goods)
    assert found.after_h is None
    assert "goods: type or contact" in found.not_checked[0]
    assert after(**goods, contact="none").after_h == 0


@pytest.mark.parametrize("system", ["oxidising", "hybrid"])
def test_shipped_without_drying_hours(system):
    found = after(a_plan(a_pass(lamps=("uv",))), ink_system=system)
    assert found.after_h is None
    assert f"a row for {system} ink, water-based coating, white board in rules/drying.yaml" in found.not_checked[0]


def test_a_plant_s_hours_count_for_food_too():
    assert after(a_plan(), (row(24),), ink_system="oxidising", goods="food").after_h == 24


def test_the_slowest_ink_counts():
    units = (OnUnit(1, "Cyan", "process", ink_system="uv"), OnUnit(2, "Blue", "spot", ink_system="oxidising"))
    plan = a_plan(Pass((*units, InDelivery(("uv",), ("full",)))))
    rows = (row(0, "uv", "none"), row(36, "oxidising", "none"))
    assert after(plan, rows).after_h == 36
    assert after(plan, rows[:1]).after_h is None


CYAN, COAT = OnUnit(1, "Cyan", "process"), OnCoater(1, 1, "uv", "overall")


@pytest.mark.parametrize(
    ("stations", "cured"),
    [
        ([CYAN, COAT, InDelivery(("uv",), ("full",))], True),
        ([CYAN, COAT, InDelivery(("uv",), ("off",))], False),
        ([CYAN, COAT, InDelivery(("ir", "uv"), ("full", "off"))], False),
        ([CYAN, COAT, InDelivery(("ir",), ("full",))], False),
        ([CYAN, LampSet("uv", 1, "full"), COAT, InDelivery((), ())], False),
        ([CYAN, COAT, LampSet("uv", 1, "low")], True),
        ([CYAN, LampSet("uv", 1, "full"), OnCoater(1, 1, None), OnUnit(2, None, None)], True),
    ],
)
def test_at_once_only_behind_a_lamp_that_is_lit(stations: list[Station], cured):
    rows = (row(0, "uv", "uv"), row(0, "uv", "none"))
    assert after(a_plan(Pass(tuple(stations))), rows).after_h == (0 if cured else None)


@pytest.mark.parametrize(
    ("keys", "wanted"), [({"ink_system": None}, "ink_system"), ({"surface": None}, "board: surface")]
)
def test_what_is_missing_is_named(keys, wanted):
    assert wanted in after(**keys).not_checked[0]
    assert "no plan" in after(PressPlan(possible=False, proved_best=True)).not_checked[0]
