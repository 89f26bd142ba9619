"""The sample jobs are planned as somebody worked it out by hand: order, lamps, coater, sheets, piles, presses."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from preflight.inputs.loading import load_yaml
from preflight.setup_pipeline import compare_presses
from tests.sample_setups import SAMPLES, planned

PLANS = {
    f"{path.parent.name}/{ticket}": expected
    for path in sorted(SAMPLES.glob("*/expected_plan.yaml"))
    for ticket, expected in load_yaml(path).data["tickets"].items()
}


def stations(document: dict[str, Any], key: str) -> list[dict[str, Any]]:
    return [station for one in document["plan"]["passes"] for station in one["stations"] if key in station]


def test_the_jobs_with_a_plan_are_there():
    jobs = ("cask-box-repaired", "face-cream-repaired", "cocoa-trio-repaired", "flatbread-sleeve-repaired")
    assert {f"{job}/ticket.yaml" for job in jobs} <= set(PLANS)


@pytest.mark.parametrize("name", PLANS)
def test_the_order_is_that_worked_out_by_hand(name):
    expected, document = PLANS[name], planned(name).document
    assert document["plan"]["possible"] == (expected["possible"] == "true")
    if "units" in expected:
        assert [unit["separation"] for unit in stations(document, "unit")] == expected["units"]
        assert len(document["plan"]["passes"]) == int(expected["passes"])
    for way in expected.get("ways_out", ()):
        if "where" not in way:
            ways = [found for found in document["plan"]["ways_out"] if found["change"] == way["change"]]
            assert ways, way
            if way["change"] == "to-process":
                assert [found["separations"] for found in ways] == [way["separations"]]
                assert ways[0]["saves_pass"] == (way.get("saves_pass") == "true")


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "hard" in expected])
def test_the_demands_that_settle_a_place_are_told(name):
    told = {
        (reason["demand"], station["separation"])
        for station in stations(planned(name).document, "unit")
        for reason in station["because"]
    }
    names = {separation for _, separation in told if separation}
    for demand, separation, _ in PLANS[name]["hard"]:
        if demand in ("one-unit-each",):
            continue  # two hits on two units, which the order shows
        wanted = names if separation == "all" else {separation}
        assert {(demand, each) for each in wanted} <= told, demand


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "lamps" in expected])
def test_lamps_and_coaters_are_those_worked_out_by_hand(name):
    expected, document = PLANS[name], planned(name).document
    levels = {lamp["after_unit"]: lamp["level"] for lamp in stations(document, "lamp")}
    for unit, level in expected["lamps"].items():
        assert levels[int(unit)] in (("low", "full") if level == "lit" else (level,))
    coaters = {coater["coater"]: coater for coater in stations(document, "coater")}
    assert {number: coater["coating"] for number, coater in coaters.items()} == {
        int(number): coating for number, coating in expected["coaters"].items()
    }
    assert expected.get("lays") in {coater["lays"] for coater in coaters.values()}


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "sheets" in expected])
def test_sheets_and_piles_are_those_worked_out_by_hand(name):
    expected, document = PLANS[name], planned(name).document
    run = document["run"]
    found = {key: run[f"sheets_{key}"] for key in expected["sheets"]}
    assert found == {key: int(value) for key, value in expected["sheets"].items()}
    assert document["layout"]["ups"] == int(expected["ups"])
    for side, count in expected.get("sheets_per_pile", {}).items():
        assert max(pile["sheets"] for pile in run[f"{side}_piles"]) == int(count)
    if "sheet_mass_kg" in expected:
        kg = document["materials"]["board_kg"] / run["sheets_gross"]
        assert kg == pytest.approx(float(expected["sheet_mass_kg"]), abs=0.0001)
    if "next_operation_after_h" in expected:
        assert run["next_operation_after_h"] == expected["next_operation_after_h"]


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "presses" in expected])
def test_presses_fit_as_a_planner_would_say(name):
    expected = PLANS[name]["presses"]
    document = compare_presses(SAMPLES / name, [SAMPLES / "presses" / press for press in expected])
    found = {press["file"]: press["fits"] for press in document["presses"]}
    assert found == {press: says == "fits" for press, says in expected.items()}
    for press in document["presses"]:
        rules = {reason["rule"] for reason in press["reasons"]}
        says = expected[press["file"]]
        assert ("plates-over-units" in rules) == ("plates on" in says), press["file"]
        assert ("ink-system-not-dried" in rules) == ("not dried" in says), press["file"]
        assert ("coater-cannot-lay" in rules) == ("no UV coater" in says), press["file"]
        assert ("sheet-over-max" in rules) == ("sheet over" in says), press["file"]
        assert ("combined-inks-over-units" in rules) == ("inks for" in says), press["file"]
        assert ("side-of-turn" in rules) == ("does not turn" in says), press["file"]


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "layout" in expected])
def test_the_sheet_is_that_worked_out_by_hand(name):
    expected, layout = PLANS[name], planned(name).document["layout"]
    if "sheet_mm" in expected:
        assert layout["sheet_mm"] == pytest.approx([float(mm) for mm in expected["sheet_mm"]], abs=0.01)
    wanted = expected["layout"]
    assert layout["used_share"] == pytest.approx(float(wanted["used_share"]), abs=0.001)
    if "gutters_mm" in wanted:
        assert layout["gutters_mm"] == [
            mm if mm is None else pytest.approx(float(mm), abs=0.05) for mm in wanted["gutters_mm"]
        ]
    if "pattern" in wanted:
        assert layout["pattern"] == wanted["pattern"]
        assert {blank["turn_deg"] for blank in layout["blanks"]} == {int(turn) for turn in wanted["turns"]}
        first = min(layout["blanks"], key=lambda blank: float(blank["x_mm"]))
        assert [first["x_mm"], first["y_mm"]] == pytest.approx([float(mm) for mm in wanted["first_mm"]], abs=0.01)
    if "by_version" in wanted:
        found = Counter(blank["version"] for blank in layout["blanks"])
        assert found == {version: int(count) for version, count in wanted["by_version"].items()}


@pytest.mark.parametrize("name", [name for name, expected in PLANS.items() if "keys" in expected])
def test_key_covers_are_those_worked_out_by_hand(name):
    cover = planned(name).document["ink_keys"]["cover"]
    for ink, keys in PLANS[name]["keys"].items():
        for key, share in keys.items():
            assert cover[ink][int(key) - 1] == pytest.approx(float(share), abs=0.005), (ink, key)


def test_a_sheet_drawn_outside_has_the_covers_of_the_stepped_one():
    """Two ways to the same sheet: drawn as one page, and stepped from three one-ups by the ticket's layout."""
    stepped, drawn = (
        planned(f"cocoa-trio-repaired/{ticket}.yaml").document["ink_keys"]["cover"]
        for ticket in ("ticket", "ticket-sheet")
    )
    assert stepped.keys() == drawn.keys()
    for ink, keys in stepped.items():
        assert drawn[ink] == pytest.approx(keys, abs=0.005 if ink != "Overprint Varnish" else 0.012), ink


def test_a_unit_list_of_several_artworks_is_planned_as_a_whole():
    """Every version has inks that the others have not; the ticket's order has them all, and is kept."""
    found = planned("cocoa-trio-repaired/ticket.yaml").job
    assert found.plan is not None
    assert found.plan.possible
    named = [unit.separation for unit in found.plan.passes[0].units]
    assert {"Ember Red", "Hazel Brown"} <= set(named)
    assert not [f.rule for page in found.pages for f in page.judgement.findings if f.rule == "unit-list-mismatch"]


def test_a_sheet_from_outside_runs_all_its_versions_at_once():
    run = planned("cocoa-trio-repaired/ticket-sheet.yaml").document["run"]
    assert run["versions"] == []
    assert {pile["version"] for pile in run["delivery_piles"]} == {None}
    assert run["sheets_net"] == 6000
