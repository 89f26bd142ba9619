"""Press, ticket and line as the document has them: each station, what stands on it, and what is wrong with it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job_facts import JobFacts, final_facts
from preflight.report.press_line import line_of, press_facts, ticket_facts, units_of
from tests.report_jobs import PRESS, TICKET, carton_job, small_job

FACTS = final_facts(small_job())
CARTON = final_facts(carton_job())


def of(*, ticket: dict[str, Any] | None = None, line: list[Any] | None = None, **more: Any) -> JobFacts:
    return replace(
        FACTS,
        ticket=None if ticket is None else Ticket.model_validate(ticket),
        press=Press.model_validate({**PRESS, "line": line}) if line is not None else FACTS.press,
        **more,
    )


def against(number: int, *units: int, trial: bool = False, verdict: str = "fail") -> dict[str, Any]:
    told = {"number": number, "rule": f"rule-{number % 10}", "units": list(units)}
    return {**told, "trial": trial, "verdict": verdict}


def test_what_is_said_of_a_press():
    assert press_facts(Press.model_validate(PRESS), "seven.yaml") == {
        "name": "Seven units and one coater, 1000 format",
        "file": "seven.yaml",
        "units": 7,
        "coaters": 1,
        "smallest_mm": [500, 350],
        "largest_mm": [1000, 700],
        "printable_mm": [990, 684],
        "edges_mm": {"gripper": 10, "tail": 6, "sides": 5},
        "caliper_mm": [0.25, 0.9],
        "cures": ["uv"],
    }


def test_what_a_press_does_not_say_is_null():
    bare = {"press": "Bare", "sheet": {"largest": "1000 x 700 mm"}, "units": [{}, {}]}
    facts = press_facts(Press.model_validate(bare), "")
    assert facts is not None
    keys = ("smallest_mm", "printable_mm", "caliper_mm", "cures")
    assert [facts[key] for key in keys] == [None] * 4
    assert facts["edges_mm"] == {"gripper": None, "tail": None, "sides": None}
    assert press_facts(None, "x.yaml") is None


def test_lengths_of_a_press_are_rounded_to_a_micrometre():
    inches = {**PRESS, "board": {"caliper": "10 to 36 pt"}, "sheet": {"largest": "40 1/3 x 28 in"}}
    facts = press_facts(Press.model_validate(inches), "")
    assert facts is not None
    assert facts["caliper_mm"] == [0.254, 0.914]
    assert facts["largest_mm"] == [1024.467, 711.2]


def test_what_is_said_of_a_ticket():
    told = ticket_facts(CARTON, "4471-B.yaml")
    assert told["ticket"] == {
        "number": "4471-B",
        "revision": "C",
        "title": "Wrenfold oat biscuits, 200 g",
        "file": "4471-B.yaml",
        "ink_system": "uv",
        "coating": "uv, overall, clear of glue flap and code",
        "quantity": 40000,
    }
    board = {"grade": "GC2", "caliper_mm": 0.45, "weight_gsm": 295, "grain": "across", "surface": "white"}
    assert told["board"] == board
    assert told["sheet"]["mm"] == [980, 690]


@pytest.mark.parametrize(
    ("given", "board"),
    [
        ({}, None),
        ({"surface": "kraft"}, {"surface": "kraft"}),
        ({"caliper": "18 pt"}, {"caliper_mm": 0.457}),
        ({"weight": "300 g/m2", "grain": "along"}, {"weight_gsm": 300, "grain": "along"}),
    ],
)
def test_a_board_of_which_only_some_is_said(given, board):
    nothing = dict.fromkeys(("grade", "caliper_mm", "weight_gsm", "grain", "surface"))
    assert ticket_facts(of(ticket={"board": given}), "t")["board"] == (board and {**nothing, **board})


@pytest.mark.parametrize(
    ("ticket", "artwork_is", "sheet"),
    [
        (None, "one-up", None),
        ({}, "one-up", None),
        ({}, "sheet", [60, 40]),
        (None, "sheet", [60, 40]),  # the page is the sheet
        ({"sheet": {"size": "700 x 500 mm"}}, "sheet", [700, 500]),
        ({"sheet": {"size": "700 x 500 mm"}}, "one-up", [700, 500]),
    ],
)
def test_the_sheet_is_the_tickets_or_the_page(ticket, artwork_is, sheet):
    told = ticket_facts(of(ticket=ticket, artwork_is=artwork_is), "t")["sheet"]
    assert (told and told["mm"]) == sheet


def test_without_a_ticket_nothing_is_said_of_it():
    assert ticket_facts(of(), "t") == {"ticket": None, "board": None, "sheet": None}


@pytest.mark.parametrize(
    ("coating", "words"),
    [
        (None, None),
        ("none", "none"),
        ({"kind": "uv", "area": "overall"}, "uv, overall"),
        ({"kind": "uv", "area": "Gloss", "clear": ["code"]}, "uv, Gloss, clear of code"),
        ({"area": "overall", "clear": []}, "coating of a kind not stated, overall"),
        ({"kind": "uv"}, "uv, area not stated"),
    ],
)
def test_a_coating_in_words(coating, words):
    assert ticket_facts(of(ticket={"coating": coating}), "t")["ticket"]["coating"] == words


# Units -------------------------------------------------------------------------------------------------------------


def test_each_unit_has_what_stands_on_it_and_what_is_wrong():
    findings = [against(11, 3, 2), against(21, 3), against(4, 3, trial=True), against(5, 7)]
    units = units_of(CARTON, findings)
    assert [unit["unit"] for unit in units] == [1, 2, 3, 4, 5, 6, 7]
    assert [unit["separation"] for unit in units] == [
        "Black", "Cyan", "Copper Glow", "Magenta", "Yellow", "Mill Brown", None,
    ]  # fmt: skip
    assert [unit["kind"] for unit in units][2:] == ["metallic", "process", "process", "spot", None]
    assert [unit["findings"] for unit in units] == [[], [11], [11, 21], [], [], [], [5]]
    assert units[2]["wrong"] == ["rule-1"]  # two findings of one rule
    assert units[6]["wrong"] == ["rule-5"]
    assert all(unit["stated"] and unit["in_press"] and not unit["overall"] for unit in units)
    remarked = units_of(CARTON, [against(9, 2, verdict="note")])[1]
    assert (remarked["findings"], remarked["wrong"]) == ([9], [])  # a remark stands at its unit, and nothing is wrong


@pytest.mark.parametrize(
    ("in_press", "listed", "stated", "there"),
    [
        (2, 3, [True, True, True], [True, True, False]),
        (3, 2, [True, True, False], [True, True, True]),
        (2, None, [False, False], [True, True]),
        (1, 1, [True], [True]),
    ],
)
def test_units_of_the_press_and_of_the_ticket(in_press, listed, stated, there):
    ticket = {} if listed is None else {"units": ["Leaf", "Fern", "Moss"][:listed]}
    units = units_of(of(ticket=ticket, line=[{"unit": {}}] * in_press), [])
    assert [unit["stated"] for unit in units] == stated
    assert [unit["in_press"] for unit in units] == there


def test_without_press_and_ticket_there_are_no_units():
    assert units_of(replace(FACTS, press=None, ticket=None), []) == []


def test_an_ink_printed_all_over_is_said_to_be():
    job = replace(carton_job(), ticket=Ticket.model_validate({**TICKET, "units": ["Black", {"overall": "Gloss"}]}))
    units = units_of(final_facts(job), [])
    assert [(unit["separation"], unit["overall"]) for unit in units[:3]] == [
        ("Black", False), ("Gloss", True), (None, False),
    ]  # fmt: skip


# The line ----------------------------------------------------------------------------------------------------------


def test_every_kind_of_station_stands_in_its_place():
    line = [
        {"unit": {"inks": ["process", "spot"]}},
        {"lamp": "led-uv"},
        {"turn": {}},
        {"dryer": "hot-air"},
        {"unit": {"never": ["metallic"]}},
        {"foil": {}},
        {"coater": {"takes": ["uv"], "lays": ["overall", "plate"]}},
        {"coater": {}},
        {"delivery": ["uv", "ir"]},
    ]
    assert line_of(of(line=line)) == [
        {"is": "unit", "unit": 1, "inks": ["process", "spot"], "never": []},
        {"is": "lamp", "kind": "led-uv"},
        {"is": "turn"},
        {"is": "dryer", "kind": "hot-air"},
        {"is": "unit", "unit": 2, "inks": None, "never": ["metallic"]},
        {"is": "foil"},
        {"is": "coater", "coater": 1, "takes": ["uv"], "lays": ["overall", "plate"], "coating": None},
        {"is": "coater", "coater": 2, "takes": None, "lays": None, "coating": None},
        {"is": "delivery", "holds": ["uv", "ir"]},
    ]


@pytest.mark.parametrize(
    ("takes", "coated"),
    [
        ([["water-based"], ["uv"], ["uv"]], 1),
        ([None, ["uv"]], 0),  # a coater that says nothing may take any
        ([["water-based"], None], 1),
        ([["water-based"]], None),
        ([["water-based", "uv"]], 0),
    ],
)
def test_the_coating_stands_at_the_first_coater_that_takes_it(takes, coated):
    line = [{"unit": {}}, *({"coater": {"takes": kinds} if kinds else {}} for kinds in takes)]
    stations = line_of(of(ticket={"coating": {"kind": "uv", "area": "overall"}}, line=line))
    coatings = [station["coating"] for station in stations if station["is"] == "coater"]
    assert coatings == ["uv, overall" if number == coated else None for number in range(len(takes))]


@pytest.mark.parametrize("ticket", [None, {}, {"coating": "none"}])
def test_without_a_coating_the_coaters_stand_bare(ticket):
    stations = line_of(of(ticket=ticket, line=[{"unit": {}}, {"coater": {}}]))
    assert [station["coating"] for station in stations if station["is"] == "coater"] == [None]


def test_without_a_press_there_is_no_line():
    assert line_of(replace(FACTS, press=None)) == []
