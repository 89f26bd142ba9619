"""Press profiles: both forms of the line, what each station is, and what is refused."""

from dataclasses import FrozenInstanceError

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from preflight.cli.schema_command import json_schema
from preflight.errors import NotUnderstood
from preflight.inputs.press import Coater, Delivery, Dryer, Foil, Lamp, Press, Turn, Unit
from preflight.quantities import Range, Size

SHEET = {"largest": "1000 x 700 mm"}
LONG = {
    "press": "Seven units and one coater, 1000 format",
    "sheet": {"smallest": "500 x 350 mm", "largest": "1000 x 700 mm", "printable": "990 x 684 mm"},
    "edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"},
    "plate": {"size": "1020 x 780 mm", "sheet_starts": "40 mm"},
    "board": {"caliper": "0.25 mm to 0.9 mm"},
    "line": [
        {"unit": {"inks": "any"}},
        {"lamp": "uv"},
        {"unit": {"inks": "any", "never": ["metallic"]}},
        {"turn": None},
        {"dryer": "hot-air"},
        {"unit": {"inks": ["process", "spot"]}},
        {"foil": {"widest": "740 mm"}},
        {"unit": None},
        {"coater": {"takes": ["uv", "water-based"], "lays": ["overall", "cut blanket", "plate"]}},
        {"delivery": ["uv", "ir"]},
    ],
    "cures": ["uv"],
    "top_speed": "14000 sheets/h",
    "ink_keys": {"count": "31", "pitch": "33 mm"},
    "side_lay": "operator",
    "colour_bar": {"edge": "tail", "depth": "8 mm"},
}
SHORT = {
    "press": "Five units",
    "sheet": SHEET,
    "units": [{"inks": "any", "lamp": True}, {"inks": "any"}, None, {"lamp": "led-uv"}, {"never": ["white"]}],
    "coaters": [{"takes": ["uv"]}],
    "delivery_lamps": "2",
    "cures": ["oxidising", "low-energy-uv"],
}


def reasons(data):
    """Location and error of everything that a profile is refused for."""
    with pytest.raises(ValidationError) as refusal:
        Press.model_validate(data)
    return {".".join(map(str, e["loc"])): e.get("ctx", {}).get("error", e["type"]) for e in refusal.value.errors()}


def test_the_line_is_numbered_from_the_feeder():
    press = Press.model_validate(LONG)
    assert press.line == (
        Unit(1),
        Lamp("uv", 1),
        Unit(2, None, ("metallic",)),
        Turn(2),
        Dryer("hot-air", 2),
        Unit(3, ("process", "spot")),
        Foil(3, 740),
        Unit(4),
        Coater(1, ("uv", "water-based"), ("overall", "cut blanket", "plate"), 4),
        Delivery(("uv", "ir"), 4),
    )
    assert press.unit_count == 4
    assert [c.number for c in press.coaters] == [1]
    assert press.lamps == (Lamp("uv", 1), Lamp("uv", 4, "delivery"))
    assert press.dryers == (Dryer("hot-air", 2), Dryer("ir", 4, "delivery"))
    assert press.turns == (Turn(2),)


def test_everything_else_of_the_profile():
    press = Press.model_validate(LONG)
    assert press.name == "Seven units and one coater, 1000 format"
    assert (press.sheet.smallest, press.sheet.largest) == (Size(500, 350), Size(1000, 700))
    assert press.sheet.printable == Size(990, 684)
    assert (press.edges.gripper, press.edges.tail, press.edges.sides) == (10, 6, 5)
    assert (press.plate.size, press.plate.sheet_starts) == (Size(1020, 780), 40)
    assert press.board.caliper == Range(0.25, 0.9)
    assert press.cures == ("uv",)
    assert press.top_speed == 14000
    assert press.ink_keys is not None
    assert (press.ink_keys.count, press.ink_keys.pitch) == (31, 33)
    assert press.side_lay == "operator"
    assert press.colour_bar is not None
    assert (press.colour_bar.edge, press.colour_bar.depth) == ("tail", 8)


def test_the_short_form_gives_the_same_stations():
    press = Press.model_validate(SHORT)
    assert press.line == (
        Unit(1),
        Lamp("low-energy-uv", 1),  # the one UV system that the press cures
        Unit(2),
        Unit(3),
        Unit(4),
        Lamp("led-uv", 4),
        Unit(5, None, ("white",)),
        Coater(1, ("uv",), None, 5),
        Delivery(("low-energy-uv", "low-energy-uv"), 5),
    )
    assert press.unit_count == 5


def test_what_is_left_out_is_none_or_a_documented_default():
    press = Press.model_validate({"press": "Bare", "sheet": SHEET, "units": [{}], "edges": None})
    assert press.sheet.smallest is None
    assert press.sheet.printable is None
    assert press.edges.gripper is None
    assert press.plate.size is None
    assert press.board.caliper is None
    assert press.cures is None
    assert press.top_speed is None
    assert press.colour_bar is None
    assert not any((press.coaters, press.lamps, press.turns, press.dryers))
    assert (press.pile.feeder, press.pile.delivery) == (1150, 1150)
    assert (press.times.plate_change, press.times.wash_up, press.times.make_ready) == (10, 15, 20)
    assert (press.waste.make_ready, press.waste.running) == (250, 2)
    assert press.not_acted_on() == []


def test_keys_that_nothing_is_decided_by_are_named():
    named = Press.model_validate({**LONG, "pile": {"feeder": "900 mm"}}).not_acted_on()
    assert {"top_speed", "pile", "foil", "foil.widest", "turn"} <= set(named)
    assert "waste" not in named


@pytest.mark.parametrize(
    ("unit", "kind", "takes"),
    [
        (Unit(1), "metallic", True),
        (Unit(1, None, ("metallic",)), "metallic", False),
        (Unit(1, None, ("metallic",)), "spot", True),
        (Unit(1, ("process", "spot")), "white", False),
        (Unit(1, ("process", "spot")), "spot", True),
        (Unit(1, ("process", "spot"), ("spot",)), "spot", False),
    ],
)
def test_what_a_unit_takes(unit, kind, takes):
    assert unit.takes(kind) is takes


@pytest.mark.parametrize(
    ("written", "read"),
    [("conventional", ("oxidising",)), (["uv", "conventional"], ("uv", "oxidising")), ("LED-UV", ("led-uv",))],
)
def test_words_for_the_same_thing(written, read):
    assert Press.model_validate({**SHORT, "cures": written}).cures == read


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"press": None}, "press"),
        ({"sheet": {}}, "sheet.largest"),
        ({"sheet": {"largest": "500 x 350 mm", "smallest": "510 x 340 mm"}}, "sheet.largest"),
        ({"sheet": {"largest": "500 x 350 mm", "printable": "490 x 360 mm"}}, "sheet.printable"),
        ({"board": {"caliper": "0.45 mm"}}, "board.caliper"),
        ({"units": []}, "units"),
        ({"units": None}, "units"),
        ({"line": [{"unit": {}}]}, "units"),
        ({"units": None, "line": [{"lamp": "uv"}]}, "line"),
        ({"units": None, "line": [{"unit": {}, "lamp": "uv"}]}, "line"),
        ({"units": None, "line": [{}]}, "line"),
        ({"units": None, "line": [{"unit": {"inks": []}}]}, "line.0.unit.inks"),
        ({"units": [{"inks": "metalic"}]}, "units.0.inks"),
        ({"cures": ["uv", "ultraviolet"]}, "cures"),
        ({"coaters": [{"takes": ["watter-based"]}]}, "coaters.0.takes"),
        ({"coaters": [{"lays": ["spot"]}]}, "coaters.0.lays"),
        ({"side_lay": "left"}, "side_lay"),
        ({"top_speed": "15000"}, "top_speed"),
        ({"delivery_lamps": "one"}, "delivery_lamps"),
        ({"catliper": "1"}, "catliper"),
    ],
)
def test_refusals_name_the_key(change, where):
    assert where in reasons({**SHORT, **change})


def test_stations_may_not_be_given_in_both_forms():
    both = {**SHORT, "line": [{"unit": {}}]}
    assert set(reasons(both)) == {"units", "coaters", "delivery_lamps"}


@pytest.mark.parametrize(
    ("change", "suggestion"),
    [({"cures": "uvv"}, "uv"), ({"units": [{"inks": "metalic"}]}, "metallic"), ({"side_lay": "opperator"}, "operator")],
)
def test_near_misses_are_suggested(change, suggestion):
    (error,) = reasons({**SHORT, **change}).values()
    assert isinstance(error, NotUnderstood)
    assert error.suggestion == suggestion


def test_a_plants_own_coating_is_no_slip():
    press = Press.model_validate({**SHORT, "coaters": [{"takes": ["barrier", "uv"]}]})
    assert press.coaters[0].takes == ("barrier", "uv")


def test_a_profile_cannot_be_changed():
    press = Press.model_validate(SHORT)
    with pytest.raises(ValidationError):
        press.top_speed = 1


@pytest.mark.parametrize("station", [Coater, Delivery, Dryer, Foil, Lamp, Turn, Unit])
def test_nor_can_its_stations(station):
    with pytest.raises(FrozenInstanceError):
        object.__new__(station).kind = "other"


@pytest.mark.parametrize("data", [LONG, SHORT], ids=["line", "units"])
def test_editors_accept_what_the_loader_accepts(data):
    assert not list(Draft202012Validator(json_schema("press")).iter_errors(data))


@pytest.mark.parametrize("change", [{"catliper": 1}, {"edges": {"gripper": "0,5 mm"}}, {"line": []}, {"cures": "uvv"}])
def test_editors_flag_slips(change):
    assert list(Draft202012Validator(json_schema("press")).iter_errors({**SHORT, **change}))
