"""Sheets and speed of a run. Sources: carton-press.md 7.8, needs.md 6 (its gross figures are guesses and no check)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.inputs.run_table import load_run_table
from preflight.setup.press_plan import PressPlan
from preflight.setup.run_sheets import make_ready_sheets, net_sheets, run_sheets, running_sheets
from preflight.setup.run_speed import run_speed
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_request

TABLE = load_run_table()
NO_PLAN = PressPlan(possible=False, proved_best=True)


@pytest.mark.parametrize(
    ("job", "quantity", "ups", "net"),
    [
        ("1 oat biscuits", 40_000, 4, 10_000),
        ("2 tablets", 120_000, 10, 12_000),
        ("3 night cream", 30_000, 8, 3_750),
        ("4 gift box", 9_000, 2, 4_500),
        ("5 herbal tea", 36_000, 6, 6_000),
        ("6 fish fillets", 48_000, 6, 8_000),
    ],
)
def test_net_sheets_of_the_worked_jobs(job, quantity, ups, net):
    assert net_sheets(a_request(quantity=quantity, ups=ups)) == net, job


def test_a_part_of_a_sheet_is_a_sheet():
    assert net_sheets(a_request(quantity=40_001, ups=4)) == 10_001
    assert net_sheets(a_request(quantity=0, ups=4)) == 0


def test_versions_on_one_sheet_run_as_long_as_the_longest_of_them():
    """needs.md 6, job 5: three flavours, two of each on the sheet; and with one that sells more."""
    pair = {"Mint": 2, "Lime": 2, "Rose": 2}
    evenly = a_request(quantity=36_000, ups=6, versions=tuple(pair), ups_by_version=pair)
    assert net_sheets(evenly) == 6_000
    more = a_request(quantity=36_000, quantities={"Mint": 20_000}, ups=6, versions=tuple(pair), ups_by_version=pair)
    assert net_sheets(more) == 10_000


def test_versions_one_after_the_other_are_added_up():
    """needs.md 6, job 2: four languages, 120,000 in all, 10 up."""
    names = ("de", "fr", "nl", "it")
    assert net_sheets(a_request(quantity=120_000, ups=10, versions=names)) == 12_000
    odd = a_request(quantity=None, quantities={"de": 11, "fr": 9}, ups=10)
    assert net_sheets(odd) == 2 + 1
    found = run_sheets(odd, TABLE)
    assert "Plate changes from one version to the next: not checked." in found.not_checked
    assert any("one after the other" in said for said in found.assumed)


def test_quantities_that_do_not_add_up_are_told():
    found = run_sheets(a_request(quantity=50, quantities={"a": 20, "b": 20}), TABLE)
    assert found.net == 10
    assert any("40 in all" in said and "50" in said for said in found.assumed)


@pytest.mark.parametrize(
    ("keys", "wanted"),
    [({"quantity": None}, "quantity in the ticket"), ({"ups": None}, "layout: ups in the ticket")],
)
def test_what_is_missing_is_named(keys, wanted):
    found = run_sheets(a_request(**keys), TABLE)
    assert (found.net, found.gross) == (None, None)
    assert sum(wanted in gap for gap in found.not_checked) == 1


def test_make_ready_sheets_by_common_practice():
    """carton-press.md 7.8: 150 + 50 a unit + 75 with a coater + 100 for each metallic, white or effect varnish."""
    none = frozenset[str]()
    assert make_ready_sheets(a_pass(coating=None), none, TABLE.make_ready) == 350
    assert make_ready_sheets(a_pass(), none, TABLE.make_ready) == 425
    hard = (("White", "white"), ("White 2", "white"), *CMYK, ("Gold", "metallic"), ("Matt", "varnish"))
    assert make_ready_sheets(a_pass(hard), none, TABLE.make_ready) == 150 + 400 + 75 + 300
    assert make_ready_sheets(a_pass(hard), frozenset({"Matt"}), TABLE.make_ready) == 150 + 400 + 75 + 400


def test_running_waste_by_common_practice():
    """carton-press.md 7.8: 3.7 - 1.1 x log10(N/2500) %, kept between 2.6 and 3.7; 3.7 at 2,500 and 2.6 above 25,000."""
    assert running_sheets(1_000, None, TABLE.running) == 37
    assert running_sheets(2_500, None, TABLE.running) == 93  # 92.5
    assert running_sheets(25_000, None, TABLE.running) == 650
    assert running_sheets(100_000, None, TABLE.running) == 2_600
    assert running_sheets(10_000, None, TABLE.running) == math.ceil(100 * (3.7 - 1.1 * math.log10(4)))
    assert running_sheets(0, None, TABLE.running) == 0


@given(st.integers(0, 10**6), st.integers(0, 50))
def test_the_profile_s_share_of_the_net_sheets_is_rounded_up(net, percent):
    """setup.md; in whole numbers, so that nothing is lost to fractions."""
    assert running_sheets(net, float(percent), TABLE.running) == -(-net * percent // 100)


def test_a_share_that_comes_out_even_is_not_rounded_up():
    """1,500 x 2.2 % is 33, and a little more in binary fractions."""
    assert running_sheets(1_500, 2.2, TABLE.running) == 33


def test_the_profile_wins():
    press = a_press(waste={"make_ready": 250, "running": "2 %"})
    found = run_sheets(a_request(press=press), TABLE)
    assert (found.net, found.make_ready, found.running, found.gross) == (10_000, 250, 200, 10_450)
    assert found.assumed == ()
    assert run_sheets(a_request(plan=NO_PLAN, press=press), TABLE).gross == 10_450


def test_without_plan_or_profile_there_is_no_gross():
    found = run_sheets(a_request(plan=NO_PLAN), TABLE)
    assert (found.net, found.make_ready, found.gross) == (10_000, None, None)
    assert any("waste: make_ready" in gap for gap in found.not_checked)


def test_two_passes_waste_twice():
    """The first pass runs what both lose: 1,000 net, 100 + 20 a pass."""
    press = a_press(waste={"make_ready": 100, "running": "2 %"})
    found = run_sheets(a_request(a_plan(a_pass(), a_pass()), press, quantity=4_000), TABLE)
    assert (found.make_ready, found.running, found.gross) == (200, 40, 1_240)
    assert found.through == (1_240, 1_120)


@pytest.mark.parametrize(
    ("keys", "top", "speed", "why"),
    [
        ({}, None, 12_000, "common practice for board"),
        ({}, "10000 sheets/h", 10_000, "the press's top speed"),
        ({}, "18000 sheets/h", 12_000, "common practice for board"),
        ({"caliper_mm": 0.25}, "18000 sheets/h", 15_000, "common practice for light board"),
        ({"caliper_mm": 0.6}, None, 12_000, "common practice for board"),
        ({"caliper_mm": 0.61}, None, 9_600, "common practice for board, less 20 % for a caliper over 0.6 mm"),
        ({"surface": "metallised"}, "10000 sheets/h", 8_000, "the press's top speed, less 20 % for metallised board"),
        ({"cover": {"Cyan": 0.6}}, None, 9_600, "common practice for board, less 20 % for heavy solids (Cyan)"),
        ({"cover": {"Cyan": 0.59}}, None, 12_000, "common practice for board"),
        ({"cover": {"Cutting": 0.9}}, None, 12_000, "common practice for board"),
        (
            {"cover": {"Cyan": 0.6}, "caliper_mm": 0.7},
            None,
            9_600,
            "common practice for board, less 20 % for a caliper over 0.6 mm and heavy solids (Cyan)",
        ),
    ],
)
def test_speed_and_its_reason(keys, top, speed, why):
    """carton-press.md 7.8: 8 to 12 thousand, light board 13 to 15, 20 % less for thick, metallised or heavy solids."""
    press = a_press(top_speed=top) if top else a_press()
    found = run_speed(a_request(press=press, **keys), TABLE)
    assert found.sheets_h == pytest.approx(speed)
    assert found.because == why


def test_solids_that_nobody_measured_are_named():
    gaps = run_speed(a_request(cover={"Cyan": 0.2, "Magenta": 0.7}), TABLE).not_checked
    assert any("not checked for Black and Yellow" in gap for gap in gaps)
    assert not any("heavy" in gap for gap in run_speed(a_request(), TABLE).not_checked)


def test_what_speed_rests_on_is_named():
    found = run_speed(a_request(caliper_mm=None, surface=None), TABLE)
    assert [key for key in ("top_speed", "board: caliper", "board: surface") if key in str(found.not_checked)] == [
        "top_speed",
        "board: caliper",
        "board: surface",
    ]
