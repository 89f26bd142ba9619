"""The door of the run plan: hours, what is not checked, and the keys of setup.json."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.crew.run_part import changes_part, materials_part, run_part
from preflight.inputs.run_table import load_run_table
from preflight.quantities import Size
from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import PressPlan
from preflight.setup.pulls import plan_pulls
from preflight.setup.run_plan import RunPlan, RunRequest, plan_run
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_request, a_wash

KNOWN = a_press(
    times={
        "plate_change": "10 min",
        "make_ready": "20 min",
        "blanket_wash": "3 min",
        "ink_preset": "4 min",
        "coater_change": "5 min",
    },
    waste={"make_ready": 400, "running": "3 %"},
    top_speed="10000 sheets/h",
    crew=2,
    pile={"mass": "900 kg", "non_stop": "true"},
)


def test_hours_are_changeover_and_running():
    """10,000 net and 300 running at 10,000 an hour are 1.03 h; plates (10), ink preset (4) while blankets wash, and 20
    min to a good sheet are 34 min, in which the 400 make-ready sheets are run.
    """
    found = plan_run(a_request(press=KNOWN, goods="cosmetics")).run
    assert (found.sheets_net, found.sheets_make_ready, found.sheets_running, found.sheets_gross) == (
        10_000,
        400,
        300,
        10_700,
    )
    assert found.hours_running == pytest.approx(1.03)
    assert found.hours_change == pytest.approx(34 / 60)
    assert found.hours == pytest.approx(1.03 + 34 / 60)


def test_hours_running_say_which_sheets_they_are_for():
    said = [each for each in plan_run(a_request(press=KNOWN)).assumed if "Hours running" in each]
    assert len(said) == 1
    assert "10,300 sheets" in said[0]
    assert "400 make-ready sheets" in said[0]
    untimed = KNOWN.model_copy(update={"times": KNOWN.times.model_validate({"plate_change": "10 min"})})
    assert not any("Hours running" in each for each in plan_run(a_request(press=untimed)).assumed)


def test_make_ready_sheets_count_where_their_minutes_do_not():
    times = {"plate_change": "10 min", "blanket_wash": "3 min", "ink_preset": "4 min"}
    press = KNOWN.model_copy(update={"times": KNOWN.times.model_validate(times)})
    assert plan_run(a_request(press=press)).run.hours_running == pytest.approx(1.07)


def test_changes_of_piles_cost_time_only_where_the_press_stands(monkeypatch):
    table = load_run_table()
    slow = table.model_copy(update={"piles": table.piles.model_copy(update={"change": 6.0})})
    monkeypatch.setattr("preflight.setup.run_plan.load_run_table", lambda: slow)
    stands = KNOWN.model_copy(update={"pile": KNOWN.pile.model_copy(update={"non_stop": False})})
    going, standing = (plan_run(a_request(press=press)).run for press in (KNOWN, stands))
    stops = len(going.feeder_piles) - 1
    assert stops == 4  # 1,150 mm of 0.5 mm are 2,300 sheets; 10,700 are five piles
    assert (standing.hours or 0) - (going.hours or 0) == pytest.approx(stops * 0.1)


def test_two_passes_run_twice():
    one, two = (plan_run(a_request(a_plan(*passes), KNOWN)).run for passes in ([a_pass()], [a_pass()] * 2))
    assert two.sheets_gross == 10_000 + 800 + 600
    assert two.hours_running == pytest.approx((10_000 + 600 + 400 + 10_300) / 10_000)
    assert (two.hours_change or 0) == pytest.approx(2 * (one.hours_change or 0))


EVERYTHING = a_request(
    a_plan(a_pass(CMYK, "uv", lamps=("uv",))),
    KNOWN,
    ink_system="uv",
    coating="uv",
    coating_cover=0.9,
    goods="cosmetics",
    before=OnPress(),
)


def test_where_all_is_known_only_what_the_tables_leave_empty_is_open():
    found = plan_run(EVERYTHING)
    assert [gap.split(":")[0] for gap in found.not_checked] == [
        "What pump and pan of a coater take",
        "Sheet to judge colour by",
    ]
    assert found.run.next_operation_after_h == 0


def test_what_is_missing_is_named_and_the_rest_comes():
    bare = plan_run(RunRequest(PressPlan(possible=False, proved_best=True), a_press()))
    assert (bare.run.sheets_net, bare.run.hours, bare.run.feeder_piles) == (None, None, ())
    for key in (
        "quantity",
        "layout: ups",
        "board: caliper",
        "sheet: size",
        "top_speed",
        "goods: type or contact",
    ):
        assert any(key in gap for gap in bare.not_checked), key
    assert len(set(bare.not_checked)) == len(bare.not_checked)
    assert bare.run.pulls
    unplanned = plan_run(a_request(PressPlan(possible=False, proved_best=True), a_press(waste={"make_ready": "250"})))
    assert unplanned.run.sheets_gross
    assert unplanned.run.hours is None, "there is no time of passes that nobody has planned"
    no_sheet = plan_run(a_request(sheet=None))
    assert no_sheet.run.sheets_gross
    assert no_sheet.run.feeder_piles[0].mass_kg is None


def test_the_keys_of_setup_json():
    """setup.md: run, materials, changes, cautions, not_checked, assumed."""
    found = json.loads(json.dumps(as_json(plan_run(EVERYTHING)), allow_nan=False))
    assert {
        *("sheets_net", "sheets_make_ready", "sheets_running", "sheets_gross", "hours", "speed_sheets_h"),
        *("speed_because", "feeder_piles", "delivery_piles", "next_operation_after_h", "pulls"),
    } <= found["run"].keys()
    assert {"sheets", "height_mm", "mass_kg"} <= found["run"]["feeder_piles"][0].keys()
    assert {"ink_kg", "coating_kg", "board_kg"} <= found["materials"].keys()
    step = found["changes"]["steps"][0]
    assert {"step", "unit", "minutes", "hands", "at_once_with", "start_minutes", "pass"} <= step.keys()
    assert found["changes"]["minutes"] == 34
    first = found["run"]["pulls"][0]
    assert (first["sheet"], first["for"]) == (20, "register, lay, side")


def as_json(plan: RunPlan) -> dict[str, object]:
    """What the set-up document has of it."""
    return {
        "run": run_part(plan.run),
        "materials": materials_part(plan.materials),
        "changes": changes_part(plan.changes),
    }


def test_pulls_by_common_practice():
    """carton-press.md 7.10: every 250 to 500 of the first 2,000, then every 500 to 1,000, and at each pile, wash, stop
    and refill; setup.md: the 20th sheet for lay, side and register.
    """
    pulls, gaps = plan_pulls(load_run_table().pulls, 10_000)
    assert [(pull.sheet, pull.every, pull.until) for pull in pulls if pull.sheet] == [
        (20, None, None),
        (250, 250, 2_000),
        (2_500, 500, 10_000),
    ]
    assert [pull.when for pull in pulls if pull.sheet is None] == [
        "when ink and water have settled",
        "once register and colour are right",
        "each new pile, wash, stop and ink refill",
    ]
    assert "pulls: colour" in gaps[0]


def test_pulls_of_a_short_run_and_of_a_plant_with_a_setting():
    table = load_run_table().pulls.model_copy(update={"colour": 150})
    pulls, gaps = plan_pulls(table, 1_800)
    assert gaps == ()
    assert [(pull.sheet, pull.until) for pull in pulls if pull.sheet] == [(20, None), (150, None), (250, 1_800)]
    assert not [pull for pull in plan_pulls(table, 200)[0] if pull.every]


@given(
    st.one_of(st.none(), st.integers(0, 200_000)),
    st.one_of(st.none(), st.integers(1, 40)),
    st.one_of(st.none(), st.sampled_from([0.2, 0.3, 0.42, 0.61, 1.2])),
    st.one_of(st.none(), st.sampled_from(["white", "metallised", "film"])),
    st.one_of(st.none(), st.sampled_from(["uv", "oxidising", "hybrid"])),
    st.one_of(st.none(), st.sampled_from(["food", "cosmetics"])),
    st.booleans(),
    st.booleans(),
)
def test_any_request_has_an_answer(quantity, ups, caliper, surface, system, goods, sheet, planned):
    request = a_request(
        a_plan(wash_ups=[a_wash(1)]) if planned else PressPlan(possible=False, proved_best=True),
        quantity=quantity,
        ups=ups,
        caliper_mm=caliper,
        surface=surface,
        ink_system=system,
        goods=goods,
        sheet=Size(820, 680) if sheet else None,
    )
    found: RunPlan = plan_run(request)
    json.dumps(as_json(found), allow_nan=False)
    run = found.run
    assert (run.sheets_net is None) == (quantity is None or ups is None)
    if run.sheets_gross is not None and run.feeder_piles:
        assert sum(pile.sheets for pile in run.feeder_piles) == run.sheets_gross
    assert run.next_operation_after_h is None or (goods, surface) == ("cosmetics", "white")
    assert all(gap.endswith(".") for gap in found.not_checked)
