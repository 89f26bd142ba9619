"""Only the hazards that a job brings. Source of the list: carton-press.md 9."""

from __future__ import annotations

import pytest

from preflight.inputs.run_table import load_run_table
from preflight.setup.cautions import Caution, cautions
from preflight.setup.changeover import changes
from preflight.setup.piles import plan_piles
from preflight.setup.press_plan import InDelivery, LampSet, OnUnit, Pass, PressPlan
from tests.planned_runs import CMYK, a_pass, a_plan, a_press, a_request, a_wash

TABLE = load_run_table()


def told(plan: PressPlan, press=None, **keys) -> dict[str, Caution]:
    request = a_request(plan, press, **{"goods": "cosmetics", **keys})
    change = changes(request.plan, request.press, TABLE.changeover)
    found = cautions(request, change, plan_piles(request, 2_000, TABLE), TABLE.goods, pulled=True)
    assert len({each.hazard for each in found}) == len(found)
    return {each.hazard: each for each in found}


ALWAYS = ["nips and guards", "mass of piles", "pulling sheets"]


def test_a_plain_job_brings_what_every_job_does():
    assert list(told(a_plan())) == ALWAYS


@pytest.mark.parametrize(
    ("lamp", "hazards"),
    [
        ("uv", ["UV light", "ozone", "uncured ink on skin"]),
        ("led-uv", ["UV light", "uncured ink on skin"]),
        ("low-energy-uv", ["UV light", "uncured ink on skin"]),
    ],
)
def test_lamps_bring_light_and_those_of_mercury_ozone(lamp, hazards):
    """carton-press.md 7.4: mercury lamps make ozone, doped ones little, diodes none."""
    assert list(told(a_plan(a_pass(CMYK, None, lamps=(lamp,))), ink_system=lamp)) == [*hazards, *ALWAYS]


def test_a_lamp_that_is_off_brings_nothing():
    stations = (OnUnit(1, "Cyan", "process"), LampSet("uv", 1, "off"), InDelivery(("uv", "ir"), ("off", "full")))
    assert list(told(a_plan(Pass(stations)))) == ALWAYS


def test_a_coat_that_lamps_cure_is_wet_too():
    found = told(a_plan(a_pass(CMYK, "uv", lamps=("led-uv",))))
    assert found["uncured ink on skin"].because == "uv ink or coating"


def test_washing_waits_for_lamps_only_on_a_press_with_lamps():
    plan = a_plan(wash_ups=[a_wash(2)])
    assert "cooled" not in told(plan)["washing with solvent"].says
    assert "cooled" in told(plan, a_press(delivery_lamps=3))["washing with solvent"].says


def test_where_nothing_runs_there_are_no_nips():
    assert "nips and guards" not in told(PressPlan(possible=False, proved_best=True))


def test_the_heaviest_pile_is_named():
    assert told(a_plan())["mass of piles"].because == "the heaviest pile weighs 360 kg with its pallet"  # 334.56 + 25
    assert "mass of piles" not in told(a_plan(), weight_gsm=None)


@pytest.mark.parametrize(
    ("goods", "food"), [("food", True), ("cosmetics", False), (None, False), ("Tea, green", True), ("toys", False)]
)
def test_food_brings_contact(goods, food):
    assert ("food contact" in told(a_plan(), goods=goods)) is food


def test_cautions_are_short():
    every = told(
        a_plan(a_pass(CMYK, "uv", lamps=("uv",)), wash_ups=[a_wash(1)]),
        a_press(delivery_lamps=3),
        ink_system="uv",
        goods="food",
    )
    assert len(every) == 8
    assert all(len(each.says) <= 120 and each.says.endswith(".") for each in every.values())
