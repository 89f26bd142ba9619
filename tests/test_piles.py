"""Piles: sheets, heights, masses, lots. Sources: carton-press.md 7.9, needs.md 6."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.inputs.run_table import load_run_table
from preflight.quantities import Size
from preflight.setup.piles import Cap, Piles, drying_cap, plan_piles, shared_out, sheets_by_height
from preflight.setup.press_plan import OnUnit, Pass
from preflight.setup.run_sheets import run_sheets
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_request

TABLE = load_run_table()


def piles(sheets: int | None, pile: dict[str, object] | None = None, **keys: Any) -> Piles:
    return plan_piles(a_request(press=a_press(pile=pile or {}), **keys), sheets, TABLE)


def counts(found: Piles) -> tuple[list[int], list[int]]:
    return [pile.sheets for pile in found.feeder], [pile.sheets for pile in found.delivery]


def test_the_worked_pile():
    """carton-press.md 7.9: 720 x 1020, 300 g/m2, 0.40 mm, 1000 mm high: 2,500 sheets of 0.2203 kg, 550.8 kg of board,
    576 kg with a pallet of 25 kg; 12,400 sheets are 5 piles.
    """
    board: dict[str, Any] = {"sheet": Size(720, 1020), "weight_gsm": 300.0, "caliper_mm": 0.40}
    assert a_request(**board).sheet_kg == pytest.approx(0.2203, abs=5e-5)
    found = piles(12_400, {"feeder": "1000 mm", "delivery": "1000 mm"}, **board)
    assert counts(found) == ([2_500] * 4 + [2_400], [2_500] * 4 + [2_400])
    assert found.feeder[0].height_mm == pytest.approx(1000)
    assert found.feeder[0].mass_kg == pytest.approx(576, abs=0.5)
    assert (found.feeder[0].mass_kg or 0) - 25 == pytest.approx(550.8, abs=0.05)
    assert found.heaviest_kg == found.feeder[0].mass_kg


@pytest.mark.parametrize(
    ("caliper", "height", "sheets"),
    [
        (0.50, 900, 1_800),
        (0.42, 700, 1_666),
        (0.38, 900, 2_368),
        (0.56, 900, 1_607),
        (0.46, 900, 1_956),
        (0.55, 900, 1_636),
    ],
    ids=["job 1", "job 2 (about 1,660)", "job 3", "job 4", "job 5", "job 6"],
)
def test_sheets_a_pile_of_the_worked_jobs(caliper, height, sheets):
    """needs.md 6: delivery piles of 900 mm, 700 mm on the half-size line."""
    assert sheets_by_height(height, caliper) == sheets


def test_a_pile_that_is_too_high():
    """needs.md 6, job 6: 2,000 sheets of 0.55 mm are 1,100 mm."""
    assert sheets_by_height(1100, 0.55) == 2_000


K_AND_TWO = (("Black", "process"), ("Dose Blue", "spot"), ("Dose Orange", "spot"))
WHITE_TWICE = (("White", "white"), ("White 2", "white"), *CMYK, ("Rose", "spot"))
CASK = (*CMYK, ("Deep Green", "spot"), ("Deep Green 2", "spot"), ("Cask Gold", "metallic"), ("Effect Matt", "varnish"))
SEA = (*CMYK, ("Sea Blue", "spot"), ("Varnish", "varnish"), ("Recipe", "process"))


@pytest.mark.parametrize(
    ("job", "inks", "system", "keys", "height", "number"),
    [
        (1, (*CMYK, ("Mill Brown", "spot")), "oxidising", {"quantity": 40_000, "ups": 4, "caliper_mm": 0.50}, 900, 6),
        (2, K_AND_TWO, "oxidising", {"quantity": 120_000, "ups": 10, "caliper_mm": 0.42}, 700, 8),
        (3, WHITE_TWICE, "uv", {"quantity": 30_000, "ups": 8, "caliper_mm": 0.38, "surface": "metallised"}, 900, 2),
        (4, CASK, "uv", {"quantity": 9_000, "ups": 2, "caliper_mm": 0.56}, 900, 4),
        (6, SEA, "uv", {"quantity": 48_000, "ups": 6, "caliper_mm": 0.55}, 900, 6),
    ],
)
def test_piles_of_the_worked_jobs(job, inks, system, keys, height, number):
    """Numbers of piles in needs.md 6; waste by carton-press.md 7.8, since its own gross sheets are guesses."""
    request = a_request(
        a_plan(a_pass(inks)),
        a_press(8, pile={"delivery": f"{height} mm"}),
        ink_system=system,
        cover={name: 0.2 for name, _ in inks},
        effects=frozenset({"Effect Matt"}),
        **keys,
    )
    found = plan_piles(request, run_sheets(request, TABLE).gross, TABLE)
    assert (len(found.delivery), found.cap) == (number, None), job


def test_no_pile_holds_two_versions():
    """needs.md 6, job 2, and R05: four languages of 3,000 net sheets, two piles of at most 1,666 each.

    The first has the make-ready sheets besides, and a third pile.
    """
    request = a_request(
        a_plan(a_pass(K_AND_TWO)),
        a_press(8, pile={"delivery": "700 mm"}),
        quantity=120_000,
        ups=10,
        caliper_mm=0.42,
        versions=("de", "fr", "nl", "it"),
        cover={name: 0.2 for name, _ in K_AND_TWO},
    )
    sheets = run_sheets(request, TABLE)
    assert [each.sheets_net for each in sheets.versions] == [3_000] * 4
    assert sum(each.sheets_gross for each in sheets.versions) == sheets.gross
    parts = [(each.version, each.sheets_gross) for each in sheets.versions]
    found = plan_piles(request, sheets.gross, TABLE, parts)
    assert [pile.version for pile in found.delivery] == ["de", "de", "de", "fr", "fr", "nl", "nl", "it", "it"]
    assert sum(pile.sheets for pile in found.delivery) == sum(pile.sheets for pile in found.feeder) == sheets.gross
    assert {pile.version for pile in found.feeder} == {None}


def test_mass_of_a_thousand_sheets():
    """needs.md 6, job 6: 1050 x 600 of 380 g/m2, 239 kg per 1,000 sheets."""
    one = a_request(sheet=Size(1050, 600), weight_gsm=380.0).sheet_kg
    assert one is not None
    assert 1000 * one == pytest.approx(239, abs=0.5)


def test_a_pile_is_no_heavier_than_the_profile_allows():
    """820 x 680 of 300 g/m2 is 0.16728 kg; 300 kg less 25 for the pallet are 1,643 sheets."""
    found = piles(4_000, {"mass": "300 kg"})
    assert counts(found) == ([1_643, 1_643, 714], [1_643, 1_643, 714])
    assert (found.heaviest_kg or 0) <= 300


@pytest.mark.parametrize(
    ("sheets", "full", "shared"),
    [
        (10_829, 2_160, (1_805,) * 5 + (1_804,)),  # 29 sheets are no pile
        (10_779, 2_160, (2_160,) * 4 + (2_139,)),
        (2_500, 2_000, (2_000, 500)),  # 25 % of a pile is one
        (2_499, 2_000, (1_250, 1_249)),
        (4_000, 2_000, (2_000, 2_000)),
        (29, 2_160, (29,)),
    ],
)
def test_a_last_pile_hardly_begun_is_shared_out(sheets, full, shared):
    """Even piles are common practice; the share is the plant's."""
    assert shared_out(sheets, full, TABLE.piles.share_below) == shared
    assert shared_out(sheets, full, 0.0) == (full,) * (sheets // full) + ((sheets % full,) if sheets % full else ())


def test_piles_of_a_run_are_alike_where_the_last_would_hold_29_sheets():
    found = piles(10_829, {"feeder": "1080 mm", "delivery": "860 mm"}, caliper_mm=0.50)
    assert counts(found) == ([1_805] * 5 + [1_804], [1_720] * 6 + [509])


def test_no_sheet_on_a_pile_that_may_not_be():
    found = piles(4_000, {"mass": "20 kg"})
    assert counts(found) == ([], [])
    assert any("not a single sheet" in gap for gap in found.not_checked)


@pytest.mark.parametrize(
    ("keys", "cap"),
    [
        ({"cover": {name: 0.2 for name, _ in CMYK}}, None),
        ({"cover": {name: 0.6 for name, _ in CMYK}}, 400),
        ({"cover": {name: 0.2 for name, _ in CMYK}, "surface": "film"}, 300),
        ({"cover": {name: 0.6 for name, _ in CMYK}, "surface": "metallised"}, 300),
        ({"cover": {name: 0.6 for name, _ in CMYK}, "surface": "metallised", "ink_system": "uv"}, None),
    ],
)
def test_drying_caps_the_pile(keys, cap):
    """carton-press.md 7.9: oxidising heavy solids 300 to 500, non-absorbent board 200 to 400, UV the full height."""
    found, gaps = drying_cap(a_request(**keys), TABLE)
    assert (found and found.height_mm, gaps) == (cap, ())


def test_what_the_cap_rests_on_is_named():
    assert "ink_system" in str(drying_cap(a_request(ink_system=None), TABLE)[1])
    assert "board: surface" in str(drying_cap(a_request(surface=None), TABLE)[1])
    assert "Cyan" in str(drying_cap(a_request(cover={}), TABLE)[1])
    assert drying_cap(a_request(cover={}, surface=None, ink_system="uv"), TABLE) == (None, ())


HEAVY: dict[str, Any] = {"cover": {name: 0.6 for name, _ in CMYK}}


def test_a_cap_makes_small_piles_where_nothing_parts_them():
    """400 mm of 0.5 mm board: 800 sheets in the delivery, while the feeder takes 1,150 mm."""
    found = piles(2_000, **HEAVY)
    assert counts(found) == ([2_000], [800, 800, 400])
    assert found.cap == Cap(400.0, "heavy solids of oxidising ink (Cyan, Magenta, Yellow, Black)")
    assert found.boards == 0


def test_boards_part_a_pile_and_take_height():
    """Lots of 400 mm and boards of 25 mm: 400 + 25 + 400 = 825 within 900 mm; a third lot would make 1,250."""
    found = piles(2_000, {"delivery": "900 mm", "board": "25 mm"}, **HEAVY)
    assert [(pile.sheets, pile.height_mm, pile.lots) for pile in found.delivery] == [(1_600, 825, 2), (400, 200, 1)]
    assert found.boards == 1
    assert any("piles: board_mass" in gap for gap in found.not_checked)


def test_lots_that_just_fit():
    just, short = (piles(1_600, {"delivery": f"{height} mm", "board": "25 mm"}, **HEAVY) for height in (825, 824))
    assert [pile.lots for pile in just.delivery] == [2]
    assert [pile.lots for pile in short.delivery] == [1, 1]


def test_a_heavy_solid_that_a_lamp_cures_caps_nothing():
    units = (OnUnit(1, "Blue", "spot", ink_system="uv"), OnUnit(2, "Black", "process", ink_system="oxidising"))
    request = a_request(a_plan(Pass(units)), cover={"Blue": 0.9, "Black": 0.1})
    assert drying_cap(request, TABLE) == (None, ())


def test_boards_weigh():
    table = TABLE.model_copy(update={"piles": TABLE.piles.model_copy(update={"board_mass": 10.0})})
    press = a_press(pile={"delivery": "900 mm", "board": "25 mm", "mass": "303 kg"})
    found = plan_piles(a_request(press=press, **HEAVY), 1_600, table)
    assert found.delivery[0].mass_kg == pytest.approx(1_600 * 0.16728 + 25 + 10)
    light = a_press(pile={"delivery": "900 mm", "board": "25 mm", "mass": "302 kg"})
    assert [pile.lots for pile in plan_piles(a_request(press=light, **HEAVY), 1_600, table).delivery] == [1, 1]


def test_changes_of_piles_cost_nothing_where_the_press_goes_on():
    assert piles(9_000, {"non_stop": "true"}).change_min == 0
    assert piles(9_000).change_min is None
    assert any("piles: change" in gap for gap in piles(9_000).not_checked)
    assert piles(1_000).change_min == 0


def test_the_press_stands_once_where_both_piles_are_changed():
    table = TABLE.model_copy(update={"piles": TABLE.piles.model_copy(update={"change": 3.0})})
    alike = a_press(pile={"feeder": "1000 mm", "delivery": "1000 mm"})
    assert plan_piles(a_request(press=alike), 6_000, table).change_min == 6
    apart = a_press(pile={"feeder": "1000 mm", "delivery": "750 mm"})
    assert plan_piles(a_request(press=apart), 6_000, table).change_min == 5 * 3  # after 1500, 2000, 3000, 4000, 4500


def test_what_is_missing_is_named():
    assert "board: caliper" in str(piles(100, caliper_mm=None).not_checked)
    no_mass = piles(100, weight_gsm=None)
    assert no_mass.feeder[0].mass_kg is None
    assert "board: weight" in str(no_mass.not_checked)
    assert piles(None) == Piles()


@given(
    st.integers(1, 60_000),
    st.integers(15, 120),
    st.integers(150, 1300),
    st.integers(150, 1300),
    st.one_of(st.none(), st.integers(100, 900)),
    st.booleans(),
    st.one_of(st.none(), st.integers(5, 40)),
)
def test_every_sheet_is_on_a_pile_and_no_pile_is_over_a_limit(
    sheets, caliper_hundredths, feeder, delivery, mass, heavy, board
):
    pile: dict[str, object] = {"feeder": f"{feeder} mm", "delivery": f"{delivery} mm"}
    pile |= {"mass": f"{mass} kg"} if mass else {}
    pile |= {"board": f"{board} mm"} if board else {}
    found = piles(sheets, pile, caliper_mm=caliper_hundredths / 100, **(HEAVY if heavy else {}))
    for stacked, height in ((found.feeder, feeder), (found.delivery, delivery)):
        assert sum(each.sheets for each in stacked) == sheets
        for each in stacked:
            assert each.height_mm <= height + 1e-6
            assert each.mass_kg is not None
            assert mass is None or each.mass_kg <= mass + 1e-6
            on_each_other = -(-each.sheets // each.lots) * caliper_hundredths / 100
            assert stacked is found.feeder or not heavy or on_each_other <= 400 + 1e-6
