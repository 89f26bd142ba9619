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
    assert (press.times.plate_change, press.times.wash_up, press.times.make_ready) == (None, None, None)
    assert (press.waste.make_ready, press.waste.running) == (None, None)
    assert (press.wash.dark_to_light, press.crew, press.operator_side, press.stock) == (None, None, None, ())
    assert (press.register_mm, press.camera.pixels, press.die_cutter.largest) == (None, None, None)
    assert (press.pile.mass, press.pile.non_stop, press.pile.board) == (None, False, None)
    assert press.not_acted_on() == []


def test_keys_that_nothing_is_decided_by_are_named():
    named = Press.model_validate({**LONG, "pile": {"feeder": "900 mm"}}).not_acted_on()
    assert {"foil", "foil.widest"} <= set(named)
    assert not {"waste", "pile", "turn", "top_speed", "times", "ink_keys", "side_lay", "colour_bar"} & set(named)


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


@pytest.mark.parametrize(
    ("written", "inks"),
    [("any", None), (["any"], None), (None, None), ("spot", ("spot",)), (["white", "Spot"], ("white", "spot"))],
)
def test_the_kinds_that_a_unit_is_kept_for(written, inks):
    press = Press.model_validate({**SHORT, "units": [{"inks": written}]})
    assert press.units == (Unit(1, inks),)


@pytest.mark.parametrize(
    ("written", "lamps"),
    [
        (True, (Lamp("low-energy-uv", 1),)),
        ("Yes", (Lamp("low-energy-uv", 1),)),
        ("TRUE", (Lamp("low-energy-uv", 1),)),
        ("led uv", (Lamp("led-uv", 1),)),
        (False, ()),
        ("no", ()),
        (None, ()),
    ],
)
def test_a_lamp_after_a_unit_of_the_short_form(written, lamps):
    press = Press.model_validate({**SHORT, "units": [{"lamp": written}, {}], "delivery_lamps": None})
    assert press.lamps == lamps


@pytest.mark.parametrize(
    ("cures", "kind"), [(None, "uv"), (["oxidising"], "uv"), (["led-uv", "uv"], "led-uv"), (["oxidising", "uv"], "uv")]
)
def test_a_lamp_of_no_named_kind_is_of_the_first_that_the_press_cures(cures, kind):
    press = Press.model_validate({**SHORT, "units": [{"lamp": True}], "cures": cures})
    assert {lamp.kind for lamp in press.lamps} == {kind}
    assert [lamp.where for lamp in press.lamps] == ["interdeck", "delivery", "delivery"]


@pytest.mark.parametrize(("given", "held"), [("0", 0), ("3", 3), ("20", 20), ("21", 20), ("999", 20)])
def test_lamps_of_the_delivery_are_counted_up_to_twenty(given, held):
    press = Press.model_validate({**SHORT, "delivery_lamps": given})
    assert len([lamp for lamp in press.lamps if lamp.where == "delivery"]) == held
    assert press.line[-1] == Delivery(("low-energy-uv",) * held, 5)


def test_several_coaters_and_stations_between_units_are_numbered_apart():
    line = [{"coater": None}, {"unit": None}, {"coater": {"lays": ["plate"]}}, {"foil": None}, {"turn": {"caliper":
            "0.1 mm to 0.6 mm"}}, {"unit": {}}, {"lamp": "led-uv"}, {"delivery": []}]  # fmt: skip
    press = Press.model_validate({"press": "P", "sheet": SHEET, "line": line})
    assert press.line == (
        Coater(1, None, None, 0), Unit(1), Coater(2, None, ("plate",), 1), Foil(1), Turn(1, Range(0.1, 0.6)), Unit(2),
        Lamp("led-uv", 2), Delivery((), 2),
    )  # fmt: skip
    assert [coater.number for coater in press.coaters] == [1, 2]
    assert (press.foils, press.turns) == ((Foil(1),), (Turn(1, Range(0.1, 0.6)),))
    assert press.lamps == (Lamp("led-uv", 2),)
    assert press.not_acted_on() == ["foil"]


@pytest.mark.parametrize(
    ("sheet", "refused"),
    [
        ({"smallest": "500 x 350 mm", "largest": "500 x 350 mm", "printable": "500 x 350 mm"}, None),
        ({"smallest": "501 x 350 mm", "largest": "500 x 350 mm"}, "sheet.largest"),
        ({"smallest": "500 x 351 mm", "largest": "500 x 350 mm"}, "sheet.largest"),
        ({"largest": "500 x 350 mm", "printable": "501 x 350 mm"}, "sheet.printable"),
        ({"largest": "500 x 350 mm", "printable": "500 x 351 mm"}, "sheet.printable"),
        ({"largest": "500 x 350 mm", "printable": "350 x 300 mm"}, None),
    ],
)
def test_sheets_are_no_larger_than_the_largest(sheet, refused):
    data = {**SHORT, "sheet": sheet}
    if refused:
        assert list(reasons(data)) == [refused]
    else:
        assert Press.model_validate(data).sheet.largest == Size(500, 350)


def test_an_entry_of_the_line_that_is_no_one_station_is_numbered():
    def said(*line):
        (error,) = reasons({"press": "P", "sheet": SHEET, "line": list(line)}).values()
        return error.expected

    assert "entry 2 has lamp, unit" in said({"unit": {}}, {"unit": {}, "lamp": "uv"})
    assert "entry 1 has nothing" in said({}, {"unit": {}})
    assert "at least one unit" in said({"lamp": "uv"})


def test_a_line_that_is_wrong_is_not_asked_for_again():
    assert list(reasons({"press": "P", "sheet": SHEET, "line": [{"unt": {}}], "units": [{}]})) == [
        "line.0.unt",
        "units",
    ]
    assert list(reasons({"press": "P", "sheet": SHEET, "line": [{"unt": {}}]})) == ["line.0.unt"]


def test_what_the_set_up_needs_of_a_press():
    press = Press.model_validate(
        {
            **SHORT, "crew": "2", "operator_side": "right", "stock": ["980 x 690 mm", "720 x 500"],
            "register": "0.25 mm",
            "wash": {"light to dark": "5 min", "dark to light": "15 min", "after metallic": "20 min",
                     "after white": "20 min", "ink system": "45 min"},
            "pile": {"mass": "0.9 t", "non_stop": "yes", "board": "25 mm"},
            "times": {"blanket_wash": "3 min", "at_once": [["plate_change", "wash_up", "ink_preset"]]},
            "camera": {"pixels": "8192", "across": "1000 mm", "factor": "4"},
            "die_cutter": {"largest": "980 x 690 mm", "gripper": "12 mm", "waste_strip": "4 mm"},
            "ink_keys": {"count": "31", "pitch": "33 mm", "first": "drive"},
        }
    )  # fmt: skip
    assert (press.crew, press.operator_side, press.register_mm) == (2, "right", 0.25)
    assert [str(size) for size in press.stock] == ["980 x 690 mm", "720 x 500 mm"]
    assert (press.wash.light_to_dark, press.wash.dark_to_light, press.wash.after_metallic) == (5, 15, 20)
    assert (press.wash.after_white, press.wash.ink_system) == (20, 45)
    assert (press.pile.mass, press.pile.non_stop, press.pile.board) == (900, True, 25)
    assert press.times.at_once == (("plate_change", "wash_up", "ink_preset"),)
    assert (press.camera.pixels, press.camera.across, press.camera.factor) == (8192, 1000, 4)
    assert (press.die_cutter.gripper, press.die_cutter.waste_strip) == (12, 4)
    assert press.ink_keys is not None
    assert press.ink_keys.first == "drive"


def test_defaults_of_what_is_given_in_part():
    press = Press.model_validate(
        {**SHORT, "pile": {"feeder": "900 mm"}, "times": {"wash_up": "5 min"}, "waste": {"running": "3 %"},
         "colour_bar": {"depth": "8 mm"}}
    )  # fmt: skip
    assert (press.pile.feeder, press.pile.delivery) == (900, 1150)
    assert (press.times.plate_change, press.times.wash_up, press.times.make_ready) == (None, 5, None)
    assert (press.waste.make_ready, press.waste.running) == (None, 3)
    assert press.colour_bar is not None
    assert press.colour_bar.edge == "tail"
