"""Job tickets: what each key becomes, what is left open, and what is refused."""

import copy
import pickle
from datetime import date
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from preflight.cli.schema_command import json_schema
from preflight.errors import NotUnderstood
from preflight.inputs.ticket import Ticket, UnitEntry
from preflight.quantities import Size

FULL = {
    "ticket": "4471-B",
    "revision": "C",
    "title": "Sage tea, 100 g",
    "artwork": "sage-tea.pdf",
    "press": "../presses/seven-units.yaml",
    "artwork_is": "one-up",
    "gripper_edge": "bottom",
    "die": {"lines": {"cut": ["Cutting"], "crease": "Creasing"}},
    "areas": [
        {"is": "Glue Flap", "box": ["40", "85", "55", "185"]},
        {"is": "code", "box": ["120 mm", "40", "150", "55"]},
    ],
    "ink_system": "uv",
    "board": {"grade": "GC2", "caliper": "0.45 mm", "weight": "295 g/m2", "grain": "across", "surface": "white"},
    "sheet": {"size": "1040 x 740 mm"},
    "units": ["Copper", "Black", None, {"overall": "Gloss Varnish"}, "Copper"],
    "separations": {
        "Shade 9": "metallic",
        "Shade 10": {"kind": "metallic", "printed_over": True},
        "FOREST 9K2C": {"same_as": "Forest 9K2 C"},
    },
    "coating": {"kind": "uv", "area": "overall", "clear": ["glue flap", "code"]},
    "goods": {"type": "food"},
    "quantity": "40000",
    "waivers": [
        {
            "rule": "text-too-small",
            "near": ["120", "45"],
            "artwork": "3F9A12",
            "reason": "legal line agreed",
            "by": "AB",
            "until": "2030-01-31",
        }
    ],
}


def read(**change):
    return Ticket.model_validate({**FULL, **change}, context={"folder": "/jobs/sage"})


def reasons(**change):
    with pytest.raises(ValidationError) as refusal:
        read(**change)
    return {".".join(map(str, e["loc"])): e.get("ctx", {}).get("error", e["type"]) for e in refusal.value.errors()}


def test_every_key_of_a_full_ticket():
    ticket = read()
    assert (ticket.ticket, ticket.revision, ticket.title) == ("4471-B", "C", "Sage tea, 100 g")
    assert ticket.artwork == Path("/jobs/sage/sage-tea.pdf")
    assert ticket.press == Path("/jobs/sage/../presses/seven-units.yaml")
    assert (ticket.artwork_is, ticket.gripper_edge, ticket.ink_system) == ("one-up", "bottom", "uv")
    assert ticket.die.lines == {"cut": ("Cutting",), "crease": ("Creasing",)}
    assert [(area.is_, area.box) for area in ticket.areas] == [
        ("glue flap", (40, 85, 55, 185)),
        ("code", (120, 40, 150, 55)),
    ]
    board = ticket.board
    assert (board.grade, board.caliper, board.weight, board.grain) == ("GC2", 0.45, 295, "across")
    assert board.surface == "white"
    assert ticket.sheet == Size(1040, 740)
    assert ticket.coating is not None
    assert (ticket.coating.kind, ticket.coating.area, ticket.coating.clear) == ("uv", "overall", ("glue flap", "code"))
    assert not ticket.nothing_coated
    assert (ticket.goods.type, ticket.quantity) == ("food", 40000)
    (waiver,) = ticket.waivers
    assert (waiver.near, waiver.artwork, waiver.until) == ((120, 45), "3f9a12", date(2030, 1, 31))


def test_units_hold_names_idle_units_double_hits_and_overall_inks():
    assert read().units == (
        UnitEntry(1, "Copper"),
        UnitEntry(2, "Black"),
        UnitEntry(3, None),
        UnitEntry(4, "Gloss Varnish", overall=True),
        UnitEntry(5, "Copper"),
    )


def test_separations_say_what_names_do_not():
    ticket = read()
    assert ticket.separations["Shade 9"].kind == "metallic"
    assert ticket.separations["Shade 10"].printed_over is True
    assert ticket.ink_of("FOREST 9K2C") == "Forest 9K2 C"
    assert ticket.ink_of("Shade 9") == "Shade 9"


def test_an_empty_ticket_says_nothing():
    ticket = Ticket.model_validate({})
    left_out = (ticket.artwork, ticket.press, ticket.sheet, ticket.units, ticket.coating, ticket.ink_system)
    assert left_out == (None,) * 6
    assert ticket.board.caliper is None
    assert (ticket.areas, ticket.waivers, ticket.separations, ticket.die.lines) == ((), (), {}, {})
    assert not ticket.nothing_coated
    assert ticket.not_acted_on() == []


@pytest.mark.parametrize("again", [lambda t: t, copy.deepcopy, lambda t: pickle.loads(pickle.dumps(t))])
def test_coating_none_is_not_the_same_as_no_coating_key(again):
    ticket = again(read(coating="none"))
    assert ticket.coating is None
    assert ticket.nothing_coated


@pytest.mark.parametrize(
    ("coating", "separation", "clear"),
    [
        ({"kind": "uv", "area": "overall"}, None, None),
        ({"kind": "uv", "area": "Overall", "clear": []}, None, ()),
        ({"kind": "uv", "area": "Matt Varnish", "clear": "code"}, "Matt Varnish", ("code",)),
        ({"kind": "uv", "clear": "none"}, None, ()),
    ],
)
def test_a_coating_and_what_it_leaves_bare(coating, separation, clear):
    got = read(coating=coating).coating
    assert got is not None
    assert (got.separation, got.clear) == (separation, clear)


def test_paths_are_those_of_the_ticket_s_folder_or_whole(monkeypatch):
    monkeypatch.setenv("HOME", "/home/press")
    assert read(artwork="~/tea.pdf").artwork == Path("/home/press/tea.pdf")
    assert read(artwork="../tea.pdf").artwork == Path("/jobs/sage/../tea.pdf")
    assert read(artwork="/art/tea.pdf").artwork == Path("/art/tea.pdf")


def test_a_list_of_artwork_is_accepted_and_named_as_not_acted_on():
    ticket = read(artwork=[{"file": "a.pdf", "page": "2", "side": "front"}, "b.pdf"])
    assert ticket.artwork == Path("/jobs/sage/a.pdf")
    assert [entry.file.name for entry in ticket.artwork_list] == ["a.pdf", "b.pdf"]
    named = ticket.not_acted_on()
    assert {"artwork (files after the first)", "artwork.page"} <= set(named)
    assert not {"artwork.side", "artwork.version"} & set(named)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"die": {"file": "d22.pdf", "number": "D-22", "issue": "C"}}, "die.file"),
        ({"die": {"number": "D-22"}}, "die.number"),
        ({"die": {"issue": "C"}}, "die.issue"),
    ],
)
def test_keys_that_nothing_is_decided_by_are_named(change, key):
    assert key in Ticket.model_validate(change).not_acted_on()


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"artwork": {"file": "x.pdf"}}, "artwork"),
        ({"artwork": [{"page": "1"}]}, "artwork.0.file"),
        ({"artwork_is": "sheets"}, "artwork_is"),
        ({"gripper_edge": "front"}, "gripper_edge"),
        ({"die": {"lines": {"cutt": "x"}}}, "die.lines.cutt.[key]"),
        ({"areas": [{"is": "code", "box": ["40", "5", "85", "55", "185"]}]}, "areas.0.box"),
        ({"areas": [{"is": "code", "box": ["40", "5", "40", "55"]}]}, "areas.0.box"),
        ({"areas": [{"box": ["1", "2", "3", "4"]}]}, "areas.0.is"),
        ({"ink_system": "water"}, "ink_system"),
        ({"board": {"caliper": "0.45"}}, "board.caliper"),
        ({"board": {"weight": "60 lb"}}, "board.weight"),
        ({"board": {"grain": "long"}}, "board.grain"),
        ({"sheet": "1040 x 740 mm"}, "sheet"),
        ({"sheet": {"size": "1040"}}, "sheet.size"),
        ({"units": "Copper"}, "units"),
        ({"units": ["Copper", {"over": "Gloss"}]}, "units.1"),
        ({"units": ["Copper", ["Black"]]}, "units.1"),
        ({"separations": {"a": "metalic"}}, "separations.a.kind"),
        ({"separations": {"a": {"same_as": "b"}, "b": {"same_as": "a"}}}, "separations"),
        ({"coating": {"kind": "water-basd"}}, "coating.kind"),
        ({"quantity": "40,000"}, "quantity"),
        ({"waivers": [{"near": ["1", "2"]}]}, "waivers.0.rule"),
        ({"waivers": [{"rule": "x", "near": ["1"]}]}, "waivers.0.near"),
        ({"waivers": [{"rule": "x", "artwork": "3f"}]}, "waivers.0.artwork"),
        ({"waivers": [{"rule": "x", "until": "31.1.2030"}]}, "waivers.0.until"),
        ({"catliper": "0.45 mm"}, "catliper"),
    ],
)
def test_refusals_name_the_key(change, where):
    assert list(reasons(**change)) == [where]


def test_what_the_set_up_needs_of_a_ticket():
    ticket = read(
        units_fixed="true", layout={"ups": "4"}, quantity="40000", powder="fine",
        quantities={"Mint": "12000", "Rose": "6000"}, changes=["Black", "Gold"],
        coat_weight="4.5 g/m2", anilox="13 cm3/m2",
        aims={"Cyan": {"density": "1.40", "lab": ["55", "-37", "-50"], "tolerance": "5"}},
        separations={"Sea Blue": {"ink_system": "oxidising"}, "Effect Matt": {"kind": "varnish", "effect": "true"}},
        goods={"type": "food", "contact": "indirect", "barrier": "no", "printed_side": "outside",
               "low_migration": "yes", "line_clearance": "AB", "versions_agreed": "CD"},
        board={"grain": "across", "grain_on_blank": "any"},
    )  # fmt: skip
    assert (ticket.units_fixed, ticket.layout.ups, ticket.quantities) == (True, 4, {"Mint": 12000, "Rose": 6000})
    assert (ticket.powder, ticket.coat_weight, ticket.anilox) == ("fine", 4.5, "13 cm3/m2")
    aim = ticket.aims["Cyan"]
    assert (aim.density, aim.lab, aim.tolerance) == (1.4, (55, -37, -50), 5)
    assert (ticket.separations["Sea Blue"].ink_system, ticket.separations["Effect Matt"].effect) == ("oxidising", True)
    assert (ticket.goods.contact, ticket.goods.barrier, ticket.goods.low_migration) == ("indirect", False, True)
    assert (ticket.goods.line_clearance, ticket.goods.versions_agreed) == ("AB", "CD")
    assert ticket.board.grain_on_blank == "any"
    assert ticket.changes == ("Black", "Gold")


@pytest.mark.parametrize(("written", "read_as"), [("Black", ("Black",)), ([], ()), (None, None)])
def test_changes_are_one_plate_or_a_list(written, read_as):
    assert read(changes=written).changes == read_as


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"layout": {"ups": "0"}}, "layout.ups"),
        ({"aims": {"Cyan": {"lab": ["1", "2"]}}}, "aims.Cyan.lab.2"),
        ({"aims": {"Cyan": {"lab": ["1", "2", "x"]}}}, "aims.Cyan.lab.2"),
        ({"quantities": {"Mint": "12,000"}}, "quantities.Mint"),
        ({"quantities": {"Mint": "50000"}, "quantity": "40000"}, "quantities"),
        ({"quantities": {"Lemon": "5"}, "artwork": [{"file": "m.pdf", "version": "Mint"}]}, "quantities"),
    ],
)
def test_slips_in_what_the_set_up_needs(change, where):
    assert list(reasons(**change)) == [where]


def test_near_misses_are_suggested():
    error = reasons(board={"surface": "metalised"})["board.surface"]
    assert isinstance(error, NotUnderstood)
    assert error.suggestion == "metallised"


@pytest.mark.parametrize("written", ["long", "Short", "long grain", "short-grain"])
def test_long_and_short_grain_go_by_the_sheet_and_are_not_guessed_at(written):
    error = reasons(board={"grain": written})["board.grain"]
    assert (error.suggestion, "across the press" in error.expected) == ("", True)


def test_a_slip_in_a_box_is_told_with_its_side():
    error = reasons(areas=[{"is": "code", "box": ["1", "2", "3,5", "4"]}])["areas.0.box"]
    assert (error.entry, error.suggestion) == (2, "3.5")


def test_editors_accept_what_the_loader_accepts():
    validator = Draft202012Validator(json_schema("ticket"))
    for data in (FULL, {**FULL, "coating": "none"}, {**FULL, "artwork": [{"file": "a.pdf"}, "b.pdf"], "die": None}, {}):
        assert not list(validator.iter_errors(data))


@pytest.mark.parametrize(
    "change", [{"catliper": 1}, {"board": {"caliper": "0,45 mm"}}, {"units": [[1]]}, {"artwork_is": "sheets"}]
)
def test_editors_flag_slips(change):
    assert list(Draft202012Validator(json_schema("ticket")).iter_errors({**FULL, **change}))


@pytest.mark.parametrize(("written", "read"), [("", None), ("  ", None), (None, None), ("AB", "AB"), (7, "7")])
def test_who_agreed_to_a_waiver_may_be_left_blank(written, read):
    waivers = [{"rule": "bleed-short", "reason": written, "by": written}]
    (waiver,) = Ticket.model_validate({"waivers": waivers}).waivers
    assert (waiver.reason, waiver.by) == (read, read)


def test_its_rule_may_not():
    with pytest.raises(ValidationError):
        Ticket.model_validate({"waivers": [{"rule": ""}]})


@pytest.mark.parametrize(
    ("box", "read_as"),
    [
        (["1", "2", "3", "4.5"], (1, 2, 3, 4.5)),
        (["3", "2", "1", "4.5"], None),  # perhaps width and height are meant
        (["1", "4.5", "3", "2"], None),
        (["3", "2", "1 cm", "20"], (3, 2, 10, 20)),
        (["1", "2", "3"], None),
        (["1", "2", "3", "4", "5"], None),
        (["1", "2", "1", "4"], None),
        (["1", "2", "3", "2"], None),
        ("1 2 3 4", None),
    ],
)
def test_a_box_has_four_sides_in_order(box, read_as):
    areas = [{"is": "code", "box": box}]
    if read_as is None:
        assert list(reasons(areas=areas)) == ["areas.0.box"]
    else:
        assert read(areas=areas).areas[0].box == read_as


@pytest.mark.parametrize(
    ("digest", "kept"),
    [
        ("3F9A12", "3f9a12"),
        ("a" * 64, "a" * 64),
        (123456, "123456"),
        ("3f9a1", None),
        ("a" * 65, None),
        ("3f9g12", None),
    ],
)
def test_the_first_figures_of_a_digest(digest, kept):
    waivers = [{"rule": "x", "artwork": digest}]
    if kept is None:
        assert list(reasons(waivers=waivers)) == ["waivers.0.artwork"]
    else:
        assert read(waivers=waivers).waivers[0].artwork == kept


@pytest.mark.parametrize(
    ("near", "point"), [(["12", "4.5 cm"], (12, 45)), (["1"], None), (["1", "2", "3"], None), ("1, 2", None)]
)
def test_a_point_has_two_numbers(near, point):
    waivers = [{"rule": "x", "near": near}]
    if point is None:
        assert list(reasons(waivers=waivers)) == ["waivers.0.near"]
    else:
        assert read(waivers=waivers).waivers[0].near == point


def test_a_day_may_come_as_one():
    assert read(waivers=[{"rule": "x", "until": date(2030, 2, 1)}]).waivers[0].until == date(2030, 2, 1)


SAME = {"a": {"same_as": "b"}, "b": {"same_as": "c"}, "d": {"same_as": "b"}, "e": "spot"}


@pytest.mark.parametrize(("name", "goes_by"), [("a", "c"), ("b", "c"), ("c", "c"), ("d", "c"), ("e", "e"), ("f", "f")])
def test_an_ink_goes_by_the_last_of_its_names(name, goes_by):
    assert read(separations=SAME).ink_of(name) == goes_by


@pytest.mark.parametrize(
    "circle",
    [{"a": {"same_as": "a"}}, {"a": {"same_as": "b"}, "b": {"same_as": "c"}, "c": {"same_as": "b"}},
     {"z": "spot", "a": {"same_as": "b"}, "b": {"same_as": "a"}}],
)  # fmt: skip
def test_names_that_go_round_in_a_circle_are_refused(circle):
    assert list(reasons(separations=circle)) == ["separations"]


OF_ONE_FILE = ("artwork (files after the first)", "artwork.page")


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"artwork": "a.pdf"}, []),
        ({"artwork": [{"file": "a.pdf", "page": 2}]}, ["artwork.page"]),
        ({"artwork": ["a.pdf", "b.pdf"]}, ["artwork (files after the first)"]),
        ({"artwork": ["a.pdf", {"file": "b.pdf", "up": "3"}]}, ["artwork (files after the first)", "artwork.up"]),
        ({"artwork": [{"file": "a.pdf", "version": "2"}]}, []),
        ({"board": {"caliper": "0.4 mm"}}, []),
        ({"board": {"weight": "300 g/m2", "grade": "GC1"}}, []),
        ({"die": {"number": "D1"}, "quantity": "0"}, ["die.number"]),
    ],
)
def test_all_keys_that_nothing_is_decided_by(change, named):
    ticket = Ticket.model_validate(change)
    assert ticket.not_acted_on() == named
    assert ticket.not_acted_on(all_files=True) == [key for key in named if key not in OF_ONE_FILE]


def test_without_a_folder_paths_stay_as_they_are():
    ticket = Ticket.model_validate({"artwork": "~/a.pdf", "press": "p.yaml", "die": {"file": "d.pdf"}})
    assert (ticket.artwork, ticket.press, ticket.die.file) == (Path("~/a.pdf"), Path("p.yaml"), Path("d.pdf"))
    resolved = read(die={"file": "d.pdf"})
    assert resolved.die.file == Path("/jobs/sage/d.pdf")


@pytest.mark.parametrize(
    ("written", "entries"),
    [
        ([None], (UnitEntry(1, None),)),
        ([{"overall": "Gloss"}, 7], (UnitEntry(1, "Gloss", overall=True), UnitEntry(2, "7"))),
        ([], ()),
        (None, None),
    ],
)
def test_what_stands_on_the_units(written, entries):
    assert read(units=written).units == entries


@pytest.mark.parametrize("entry", [{"overall": "Gloss", "x": "y"}, {}, {"name": "Gloss"}])
def test_an_entry_of_the_units_says_overall_and_nothing_else(entry):
    assert list(reasons(units=["Black", entry])) == ["units.1"]


@pytest.mark.parametrize(
    ("coating", "nothing"), [("none", True), ("None", True), (None, False), ({"kind": "uv"}, False)]
)
def test_only_the_word_says_that_nothing_is_coated(coating, nothing):
    ticket = read(coating=coating)
    assert ticket.nothing_coated is nothing
    assert (ticket.coating is None) is (coating in ("none", "None", None))
