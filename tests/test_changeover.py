"""The change to a job: which steps, with whose minutes, and what is named where there are none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.inputs.run_table import load_run_table
from preflight.setup.changeover import Changes, changes
from preflight.setup.plan_request import OnPress
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_wash

TABLE = load_run_table().changeover
ALL_TIMES = {
    "plate_change": "10 min",
    "wash_up": "15 min",
    "make_ready": "20 min",
    "blanket_wash": "3 min",
    "ink_preset": "4 min",
    "coater_change": "12 min",
}


def bars(found: Changes) -> dict[tuple[str, int | None], tuple[float, float]]:
    return {(step.step, step.unit): (step.start_min, step.end_min) for step in found.steps}


def test_a_change_drawn_by_hand():
    """Crew of two: unit 3 is washed (15), then plates (10), then ink is preset (4) while blankets wash (3), then 20 min
    to a good sheet; the coater (12) is changed beside the wash-up: 49 min.
    """
    found = changes(a_plan(wash_ups=[a_wash(3)]), a_press(times=ALL_TIMES, crew=2), TABLE)
    assert found.minutes == 49
    assert found.longest_path[0][0] == "wash_up 3"
    assert found.longest_path[0][-1] == "make_ready"
    assert bars(found)["make_ready", None] == (29, 49)
    preset, washed = bars(found)["ink_preset", None], bars(found)["blanket_wash", None]
    assert preset[0] == washed[0]
    assert (found.not_checked, found.timed_make_ready) == ((), True)


def test_ink_is_preset_while_blankets_are_washed():
    found = changes(
        a_plan(a_pass(coating=None)), a_press(times={"ink_preset": "4 min", "blanket_wash": "3 min"}), TABLE
    )
    assert {step.step: step.at_once_with for step in found.steps if step.step != "plate_change"} == {
        "ink_preset": ("blanket_wash",),
        "blanket_wash": ("ink_preset",),
    }


def test_printing_starts_when_all_else_is_done():
    found = changes(a_plan(wash_ups=[a_wash(1), a_wash(2)]), a_press(times=ALL_TIMES, crew=1), TABLE)
    last = found.steps[-1]
    assert last.step == "make_ready"
    assert all(step.end_min <= last.start_min for step in found.steps[:-1])


def test_about_four_minutes_for_an_automatic_change_of_all_plates():
    """Common practice, carton-press.md 7.8: 1 min a plate, and steps done at once are counted once."""
    assert changes(a_plan(a_pass(coating=None)), a_press(), TABLE).minutes == 4
    times = {"plate_change": "4 min", "wash_up": "4 min", "ink_preset": "3 min", "blanket_wash": "4 min"}
    at_once = [["plate_change", "wash_up", "ink_preset", "blanket_wash"]]
    plan = a_plan(a_pass(coating=None), wash_ups=[a_wash(1, 4.0), a_wash(4, 4.0)])
    found = changes(plan, a_press(times={**times, "at_once": at_once}), TABLE)
    assert found.minutes == 4
    assert {step.hands for step in found.steps} == {0}


@pytest.mark.parametrize(("crew", "minutes"), [(1, 32), (2, 16), (4, 8), (6, 8)])
def test_plates_by_hand_go_by_the_crew(crew, minutes):
    """8 min a plate by hand, carton-press.md 7.8; four plates."""
    table = TABLE.model_copy(update={"plates": "manual"})
    assert changes(a_plan(a_pass(coating=None)), a_press(crew=crew), table).minutes == minutes


def test_two_hands_where_the_profile_does_not_count_them():
    found = changes(a_plan(), a_press(), TABLE)
    assert found.crew == 2
    assert any("Hands at the press: 2" in said for said in found.assumed)
    assert not any("Hands" in said for said in changes(a_plan(), a_press(crew=3), TABLE).assumed)


def test_minutes_of_the_profile_are_for_all_plates_of_a_job_and_it_is_said():
    five = a_plan(a_pass((*CMYK, ("Brown", "spot"))))
    few, many = (changes(plan, a_press(6, times={"plate_change": "18 min"}), TABLE) for plan in (a_plan(), five))
    assert [step.minutes for found in (few, many) for step in found.steps if step.step == "plate_change"] == [18, 18]
    for found in (few, many):
        assert sum("all plates of a job" in said for said in found.assumed) == 1
    whole = a_plan(a_pass((*CMYK, ("Brown", "spot"), ("Moss", "spot"))))
    said = changes(whole, a_press(6, times={"plate_change": "18 min"}), TABLE).assumed
    assert not any("all plates of a job" in each for each in said)


def test_a_step_without_minutes_is_left_out_and_named():
    found = changes(a_plan(), a_press(), TABLE)
    assert {step.step for step in found.steps} == {"plate_change", "coater_change"}
    for key in ("times.blanket_wash", "times.ink_preset", "times.make_ready"):
        assert sum(key in gap for gap in found.not_checked) == 1


def test_wash_minutes_come_from_the_plan_then_the_profile_then_the_table():
    def washed(minutes, **keys):
        found = changes(a_plan(a_pass(coating=None), wash_ups=[a_wash(2, minutes)]), a_press(**keys), TABLE)
        return [step.minutes for step in found.steps if step.step == "wash_up"]

    assert washed(7.0, times={"wash_up": "15 min"}) == [7.0]
    assert washed(None, times={"wash_up": "15 min"}) == [15.0]
    assert washed(None) == [TABLE.wash_up]
    assert 5 <= (TABLE.wash_up or 0) <= 12  # a unit on a change of colour, carton-press.md 7.8


def test_another_ink_system_takes_one_time_for_the_press():
    """30 to 60 min from UV to oxidising inks, carton-press.md 7.8."""
    washes = [a_wash(unit, None, "ink system, uv after oxidising") for unit in (1, 2, 3)]
    found = changes(a_plan(a_pass(coating=None), wash_ups=washes), a_press(), TABLE)
    assert [(step.unit, step.minutes) for step in found.steps if step.step == "wash_up"] == [(None, 45.0)]
    stated = changes(a_plan(a_pass(coating=None), wash_ups=washes), a_press(wash={"ink system": "40 min"}), TABLE)
    assert [step.minutes for step in stated.steps if step.step == "wash_up"] == [40.0]


def test_minutes_that_nobody_has_are_named():
    table = TABLE.model_copy(update={"wash_up": None, "ink_system": None, "coater_change": None})
    washes = [a_wash(1, None), a_wash(2, None, "ink system")]
    found = changes(a_plan(wash_ups=washes), a_press(), table)
    assert {step.step for step in found.steps} == {"plate_change"}
    for key in ("times.wash_up", "wash: ink system", "times.coater_change"):
        assert any(key in gap for gap in found.not_checked)


@pytest.mark.parametrize(
    ("lays", "before", "changed"),
    [
        ("overall", OnPress(coater="uv"), False),
        ("overall", OnPress(coater="water-based"), True),
        ("overall", OnPress(), True),
        ("overall", None, True),
        ("plate", OnPress(coater="uv"), True),
        ("cut blanket", OnPress(coater="uv"), True),
    ],
)
def test_a_coater_is_changed_unless_the_same_coating_stays_all_over(lays, before, changed):
    found = changes(a_plan(a_pass(coating="uv", lays=lays)), a_press(), TABLE, before)
    assert [step.coater for step in found.steps if step.step == "coater_change"] == [1] * changed


def test_two_passes_are_two_changes():
    plan = a_plan(a_pass(coating=None), a_pass(coating=None), wash_ups=[a_wash(1)])
    found = changes(plan, a_press(times={"plate_change": "10 min"}), TABLE)
    assert [(step.step, step.pass_number) for step in found.steps if step.step == "wash_up"] == [("wash_up", 1)]
    assert found.minutes == 25 + 10
    assert "Wash-ups between the passes: not checked." in found.not_checked


def test_no_plan_is_no_change():
    plan = a_plan()
    found = changes(type(plan)(possible=False, proved_best=True), a_press(times=ALL_TIMES), TABLE)
    assert (found.steps, found.minutes) == ((), 0)
    assert found.not_checked == ("Changeover: not checked; there is no plan of the units.",)


@given(
    st.sets(st.integers(1, 4)),
    st.integers(1, 5),
    st.lists(st.lists(st.sampled_from(sorted(ALL_TIMES)), max_size=4), max_size=2),
    st.sampled_from(["automatic", "semi-automatic", "manual"]),
    st.booleans(),
)
def test_hands_are_never_exceeded_and_nobody_works_in_a_unit_that_washes(washed, crew, at_once, plates, timed):
    times = {**(ALL_TIMES if timed else {}), "at_once": at_once}
    plan = a_plan(wash_ups=[a_wash(unit) for unit in washed])
    found = changes(plan, a_press(times=times, crew=crew), TABLE.model_copy(update={"plates": plates}))
    for step in found.steps:
        going = [other for other in found.steps if other.start_min <= step.start_min < other.end_min]
        assert sum(other.hands for other in going) <= crew
        if not step.hands or step.coater is not None:
            continue
        in_unit = [o for o in going if o is not step and o.coater is None and step.unit in (o.unit, None)]
        assert not in_unit or all(o.unit is not None and step.unit is not None for o in in_unit)
        assert not [o for o in going if o is not step and o.unit is None and o.coater is None]
