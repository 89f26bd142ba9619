"""Kilograms of ink, coating and board. Source: carton-press.md 7.6 and its worked figures; 7.5 for coatings."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.inputs.run_table import load_run_table
from preflight.quantities import Size
from preflight.setup.materials import kilograms, needed_materials
from preflight.setup.press_plan import OnUnit, Pass, PressPlan
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_request

TABLE = load_run_table().materials
BIG: dict[str, Any] = {"sheet": Size(720, 1020), "weight_gsm": 300.0}


def table(**film: float):
    return TABLE.model_copy(update={"film": {**TABLE.film, **film}})


def test_worked_magenta():
    """720 x 1020, 12,400 sheets, magenta 18 %, 1.4 g/m2: 2.29 kg, and 3.5 kg with 1.2 kg of the unit's own."""
    assert kilograms(12_400 * 0.7344, 0.18, 1.4, 0.0) == pytest.approx(2.29, abs=0.005)
    assert kilograms(12_400 * 0.7344, 0.18, 1.4, 1.2) == pytest.approx(3.5, abs=0.05)
    found = needed_materials(a_request(cover={"Magenta": 0.18}, **BIG), 12_400, table(process=1.4))
    assert found.ink_kg["Magenta"] == pytest.approx(2.295 + 1.25, abs=0.001)  # 1.0 to 1.5 kg a unit on this width


def test_kilograms_of_two_hits_are_said_to_be_of_both():
    twice = a_plan(a_pass((("Blue", "spot"), ("Blue", "spot"), ("Black", "process"))))
    found = needed_materials(a_request(twice, cover={"Blue": 0.6, "Black": 0.1}, **BIG), 1_000, TABLE)
    once = needed_materials(a_request(a_plan(a_pass((("Blue", "spot"),))), cover={"Blue": 0.6}, **BIG), 1_000, TABLE)
    assert found.ink_kg["Blue"] == pytest.approx(2 * once.ink_kg["Blue"])
    assert [said for said in found.assumed if "hits" in said] == [
        "Kilograms of Blue are for all its 2 hits together, with what each unit takes."
    ]


def test_worked_coating():
    """Water-based coat over 92 % at 4.0 g/m2: 33.5 kg."""
    coat = TABLE.model_copy(update={"coat": {**TABLE.coat, "water-based": 4.0}})
    found = needed_materials(a_request(coating="water-based", coating_cover=0.92, **BIG), 12_400, coat)
    assert found.coating_kg == pytest.approx(33.5, abs=0.05)
    assert found.coatings_kg == {"water-based": found.coating_kg}


def test_board_by_weight_and_area():
    found = needed_materials(a_request(**BIG), 1_000, TABLE)
    assert found.board_kg == pytest.approx(220.32)  # carton-press.md 7.9: 0.2203 kg a sheet


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [("process", 0.9, 1.8), ("white", 2.0, 3.0), ("metallic", 1.8, 2.5), ("varnish", 1.0, 1.8), ("spot", 1.5, 1.5)],
)
def test_weights_are_within_common_practice(kind, low, high):
    """carton-press.md 7.6; 7.5 for overprint varnish."""
    assert low <= (TABLE.film[kind] or 0) <= high


@pytest.mark.parametrize(("kind", "low", "high"), [("water-based", 2.9, 5.9), ("uv", 3, 6)])
def test_coat_weights_are_within_what_is_published(kind, low, high):
    """carton-press.md 7.5."""
    assert low <= (TABLE.coat[kind] or 0) <= high


@pytest.mark.parametrize(("across", "low", "high"), [(740, 0.5, 0.8), (1020, 1.0, 1.5), (1050, 1.0, 1.5)])
def test_a_unit_s_own_by_the_width_of_the_press(across, low, high):
    """carton-press.md 7.6; nothing is printed, so only that is left."""
    request = a_request(press=a_press(largest=f"{across} x 530 mm"), cover={"Cyan": 0.0})
    assert low <= needed_materials(request, 1_000, TABLE).ink_kg["Cyan"] <= high


@pytest.mark.parametrize("across", [520, 900, 1420])
def test_a_width_without_a_figure_is_named(across):
    found = needed_materials(a_request(press=a_press(largest=f"{across} x 500 mm")), 1_000, TABLE)
    assert any("materials: each_unit" in gap for gap in found.not_checked)
    assert found.ink_kg["Cyan"] == pytest.approx(1_000 * 0.82 * 0.68 * 0.2 * 1.3 / 1000)


def test_hits_of_one_ink_are_added_up():
    twice = a_plan(a_pass((("White", "white"), ("White", "white")), coating=None))
    once = a_plan(a_pass((("White", "white"),), coating=None))
    kg = [
        needed_materials(a_request(plan, cover={"White": 0.5}), 1_000, TABLE).ink_kg["White"] for plan in (once, twice)
    ]
    assert kg[1] == pytest.approx(2 * kg[0])


def test_what_is_printed_all_over_is_the_whole_sheet():
    one = Pass((OnUnit(1, "Gloss", "varnish", overall=True),))
    found = needed_materials(a_request(a_plan(one), cover={}), 1_000, TABLE)
    assert found.ink_kg["Gloss"] == pytest.approx(1_000 * 0.5576 * 1.4 / 1000 + 1.25)
    assert any("Gloss: printed all over" in said for said in found.assumed)


def test_a_dry_weight_on_the_ticket_is_poured_wet():
    """Water-based: 35 to 45 % solids; UV: wet = dry (carton-press.md 7.5)."""
    dry: dict[str, Any] = {"coat_weight_gsm": 2.0, "coating_cover": 1.0}
    water = needed_materials(a_request(coating="water-based", **dry), 1_000, TABLE)
    assert water.coating_kg == pytest.approx(557.6 * 5.0 / 1000)
    uv = needed_materials(a_request(a_plan(a_pass(coating="uv")), coating="uv", **dry), 1_000, TABLE)
    assert uv.coating_kg == pytest.approx(557.6 * 2.0 / 1000)


def test_a_coating_whose_cover_is_not_known_is_the_whole_sheet():
    found = needed_materials(a_request(), 1_000, TABLE)
    assert found.coating_kg == pytest.approx(557.6 * 3.9 / 1000)
    assert any("the whole sheet is counted" in said for said in found.assumed)


@pytest.mark.parametrize(
    ("inks", "coating", "keys", "key"),
    [
        ((("Base", "primer"),), None, {"cover": {"Base": 0.5}}, "materials: {film: primer}"),
        (CMYK, "oil-based", {}, "materials: {coat: oil-based}"),
        (CMYK, "soft-touch", {}, "materials: {coat: soft-touch}"),
        (CMYK, None, {"cover": {}}, "Kilograms of Cyan, Magenta, Yellow and Black: not checked"),
        (CMYK, None, {"weight_gsm": None}, "board: weight"),
        (CMYK, None, {"sheet": None}, "sheet: size"),
    ],
)
def test_what_has_no_figure_is_left_out_and_named(inks, coating, keys, key):
    found = needed_materials(a_request(a_plan(a_pass(inks, coating)), **keys), 1_000, TABLE)
    assert any(key in gap for gap in found.not_checked)
    assert found.coating_kg is None
    assert "Base" not in found.ink_kg


def test_no_plan_is_board_alone():
    found = needed_materials(a_request(PressPlan(possible=False, proved_best=True)), 1_000, TABLE)
    assert (found.ink_kg, found.coating_kg) == ({}, None)
    assert found.board_kg == pytest.approx(167.28)


@given(st.integers(1, 10**6), st.floats(0, 1), st.floats(0.5, 5))
def test_twice_the_sheets_are_twice_the_ink(sheets, cover, film):
    one, two = (kilograms(count * 0.5, cover, film, 1.0) - 1.0 for count in (sheets, 2 * sheets))
    assert two == pytest.approx(2 * one, abs=1e-6)
