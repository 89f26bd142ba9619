"""Which plates a job needs, on which unit each stands, which coater lays a coating, and what would take plates off."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields

import pytest

from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.setup.ticket_names import AsMeant
from preflight.setup.unit_plan import (
    Ink,
    PlatesOfInk,
    Standing,
    UnitPlan,
    WayToFit,
    can_lay,
    free_coaters,
    plan_units,
    same_name,
    ways_to_fit,
)

PATTERNED, OVERALL = {"kind": "uv", "area": "Gloss Varnish"}, {"kind": "uv", "area": "overall"}


def press(*coaters: dict[str, list[str]]) -> Press:
    line = [{"unit": {}}, *({"coater": coater} for coater in coaters)]
    return Press.model_validate({"press": "P", "sheet": {"largest": "1050 x 750 mm"}, "line": line})


@pytest.mark.parametrize(
    ("coater", "kind", "area", "can"),
    [
        ({}, "uv", "plate", True),
        ({"takes": ["uv"]}, "uv", "plate", True),
        ({"takes": ["uv"]}, None, "plate", True),
        ({"takes": ["water-based"]}, "uv", "plate", False),
        ({"lays": ["overall"]}, "uv", "overall", True),
        ({"lays": ["overall"]}, "uv", "plate", False),
        ({"lays": ["plate"]}, "uv", "overall", False),
        ({"lays": ["cut blanket"]}, "uv", "plate", True),
        ({"lays": ["cut blanket"]}, "uv", "overall", False),
        ({"takes": ["uv"], "lays": ["overall"]}, "uv", "plate", False),
        ({"takes": ["uv"], "lays": ["overall"]}, None, "plate", False),
        ({"takes": ["water-based"], "lays": ["plate"]}, "uv", "plate", False),
        ({"takes": ["water-based", "uv"], "lays": ["overall", "plate"]}, "uv", "plate", True),
    ],
)
def test_a_coater_takes_the_kind_and_lays_it_as_wanted(coater, kind, area, can):
    assert can_lay(press(coater).coaters[0], kind, area) is can


@pytest.mark.parametrize(
    ("coating", "free"),
    [
        (None, [1, 2]),
        (PATTERNED, [1]),
        (OVERALL, [2]),
        ({"kind": "oil-based", "area": "overall"}, [2]),  # neither can: the first has to, and a rule says so
    ],
)
def test_the_coater_that_can_lay_the_coating_is_not_free(coating, free):
    two = press({"takes": ["uv"], "lays": ["overall"]}, {"takes": ["uv"], "lays": ["plate"]})
    ticket = Ticket.model_validate({} if coating is None else {"coating": coating}, context={"folder": "/jobs"})
    assert [coater.number for coater in free_coaters(two, ticket)] == free


def test_without_a_ticket_every_coater_is_free_and_none_is_none():
    assert [coater.number for coater in free_coaters(press({}, {}), None)] == [1, 2]
    assert free_coaters(press(), Ticket.model_validate({"coating": OVERALL}, context={"folder": "/jobs"})) == ()


# Plates and units --------------------------------------------------------------------------------------------------


def ticket(**keys) -> Ticket:
    return Ticket.model_validate(keys, context={"folder": "/jobs"})


def plates_of(plan: UnitPlan) -> list[tuple[object, ...]]:
    return [(plates.name, plates.hits, plates.units) for plates in plan.plates]


def standing(plan: UnitPlan) -> list[tuple[object, ...]]:
    return [(p.unit, p.name, p.kind, p.prints, p.in_file, p.overall) for p in plan.standing]


INKS = [Ink("Cyan", "process"), Ink("Mill Brown", "spot"), Ink("Gloss", "varnish")]


def test_without_a_ticket_each_ink_has_one_plate_and_stands_nowhere():
    plan = plan_units(INKS, None)
    assert plates_of(plan) == [("Cyan", 1, ()), ("Mill Brown", 1, ()), ("Gloss", 1, ())]
    assert (plan.standing, plan.on_coater, plan.needed) == ((), (), 3)


@pytest.mark.parametrize(
    ("ink", "needs"),
    [
        (Ink("Red", "spot"), True),
        (Ink("Red", "spot", None), True),
        (Ink("Red", "spot", False), False),
        (Ink("Red", "spot", True, False), False),
        (Ink("Red", "spot", True, True, False), False),
    ],
    ids=str,
)
def test_which_inks_need_a_plate(ink, needs):
    assert plates_of(plan_units([Ink("Cyan", "process"), ink, INKS[1]], None)) == [
        ("Cyan", 1, ()), *[("Red", 1, ())] * needs, ("Mill Brown", 1, ()),
    ]  # fmt: skip


def test_a_double_hit_is_two_plates_and_idle_units_are_left_out():
    plan = plan_units(INKS, ticket(units=["mill  brown", None, "Cyan", "Mill Brown"]))
    assert plates_of(plan) == [("Cyan", 1, (3,)), ("Mill Brown", 2, (1, 4)), ("Gloss", 1, ())]
    assert plan.needed == 4
    assert standing(plan) == [
        (1, "Mill Brown", "spot", True, True, False), (3, "Cyan", "process", True, True, False),
        (4, "Mill Brown", "spot", True, True, False),
    ]  # fmt: skip
    assert (plan.units_of("MILL BROWN"), plan.units_of("Cyan"), plan.units_of("Gloss")) == ((1, 4), (3,), ())


def test_what_is_printed_overall_has_plates_of_its_own_at_the_end():
    plan = plan_units(INKS, ticket(units=[{"overall": "White"}, "Cyan", {"overall": "Primer"}, {"overall": "White"}]))
    assert plates_of(plan)[3:] == [("White", 2, (1, 4)), ("Primer", 1, (3,))]
    assert [plates.overall for plates in plan.plates] == [False] * 3 + [True] * 2
    assert plan.needed == 6


def test_an_ink_of_the_file_printed_overall_stands_there_besides_its_own_plate():
    plan = plan_units([*INKS, Ink("White", "white", False)], ticket(units=[{"overall": "White"}, "White"]))
    assert standing(plan) == [(1, "White", "white", True, False, True), (2, "White", "white", False, True, False)]
    assert plates_of(plan)[3:] == [("White", 1, (1,))]


def test_an_ink_of_the_file_has_no_unit_where_the_ticket_only_has_it_overall():
    plan = plan_units([Ink("White", "white")], ticket(units=[{"overall": "White"}]))
    assert plates_of(plan) == [("White", 1, ()), ("White", 1, (1,))]


def test_what_only_the_ticket_names_stands_on_its_unit_and_needs_no_plate_of_the_file():
    plan = plan_units(INKS, ticket(units=["Sky", "Cyan"]))
    assert standing(plan) == [(1, "Sky", "spot", False, False, False), (2, "Cyan", "process", True, True, False)]
    assert "Sky" not in [plates.name for plates in plan.plates]


def test_what_is_printed_overall_goes_by_its_own_name():
    same = {"Matt": {"same_as": "Gloss"}}
    plan = plan_units(INKS, ticket(units=[{"overall": "Matt"}, "Matt"], separations=same))
    assert standing(plan) == [(1, "Matt", "spot", True, False, True), (2, "Gloss", "varnish", True, True, False)]
    assert plates_of(plan)[2:] == [("Gloss", 1, (2,)), ("Matt", 1, (1,))]


SAME = {"separations": {"MILL BROWN C": {"same_as": "Mill Brown"}, "Brown": {"same_as": "MILL BROWN C"}}}


def test_names_that_are_the_same_are_one_ink():
    inks = [Ink("MILL BROWN C", "metallic"), *INKS, Ink("Brown", "spot")]
    plan = plan_units(inks, ticket(units=["Cyan", "Brown", "MILL BROWN C"], **SAME))
    assert plates_of(plan) == [("Mill Brown", 2, (2, 3)), ("Cyan", 1, (1,)), ("Gloss", 1, ())]
    assert plan.plates[0].also_called == ("MILL BROWN C", "Brown")
    assert plan.plates[0].kind == "spot"  # its own, not that of the name that comes first


@pytest.mark.parametrize(
    ("one", "other", "prints"),
    [
        (True, False, True),
        (False, True, True),
        (None, False, None),
        (False, None, None),
        (None, True, True),
        (False, False, False),
    ],
)
def test_one_ink_of_two_names_prints_where_either_does(one, other, prints):
    inks = [Ink("Mill Brown", "spot", one, False), Ink("MILL BROWN C", "spot", other, True, False)]
    [place] = plan_units(inks, ticket(units=["Mill Brown"], **SAME)).standing
    assert (place.prints, place.in_file) == (prints, True)


def test_one_ink_of_two_names_has_a_plate_where_either_has():
    one, other = Ink("Mill Brown", "spot", True, False, False), Ink("MILL BROWN C", "spot")
    assert len(plan_units([one, other], ticket(**SAME)).plates) == 1
    assert len(plan_units([one, Ink("MILL BROWN C", "spot", True, False)], ticket(**SAME)).plates) == 0
    assert len(plan_units([one, Ink("MILL BROWN C", "spot", True, True, False)], ticket(**SAME)).plates) == 0


@pytest.mark.parametrize(("other", "kind"), [("Cyan", "process"), ("Copper", "metallic")])
def test_a_name_that_the_file_does_not_have_lends_its_kind_if_it_is_a_process_ink(other, kind):
    plan = plan_units([Ink("Foil", "metallic")], ticket(separations={"Foil": {"same_as": other}}))
    assert [(plates.name, plates.kind) for plates in plan.plates] == [(other, kind)]


@pytest.mark.parametrize(
    ("keys", "on_coater"),
    [
        ({"coating": {"area": "gloss"}}, ("Gloss",)),
        ({"coating": {"area": "Gloss"}, "units": ["Cyan"]}, ("Gloss",)),
        ({"coating": {"area": "Gloss"}, "units": ["Cyan", "Gloss"]}, ()),
        ({"coating": {"area": "overall"}}, ()),
        ({"coating": {"kind": "uv"}}, ()),
        ({"coating": {"area": "Sheen"}, "separations": {"Sheen": {"same_as": "Gloss"}}}, ("Gloss",)),
    ],
)
def test_what_shows_the_coating_goes_to_the_coater_unless_it_stands_on_a_unit(keys, on_coater):
    plan = plan_units([*INKS, Ink("Sheen", "varnish", False)], ticket(**keys))
    assert plan.on_coater == on_coater
    assert [name for name, *_ in plates_of(plan)] == ["Cyan", "Mill Brown", *["Gloss"] * (not on_coater)]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Mill Brown", "mill  brown", True),
        ("MillBrown", "Mill Brown", True),
        ("Straße", "STRASSE", True),
        ("Mill Brown", "Mill Browne", False),
    ],
)
def test_case_and_blanks_of_a_name_are_not_looked_at(one, other, same):
    assert same_name(one, other) is same


# Ways to fit -------------------------------------------------------------------------------------------------------

VARNISHED = [
    Ink("Cyan", "process"),
    Ink("Matt", "varnish"),
    Ink("Gloss", "varnish"),
    Ink("Brown", "spot"),
    Ink("brown 2", "spot"),
]


def ways(*coaters: dict[str, list[str]], one_ink=(), inks=VARNISHED, **keys) -> list[tuple[object, ...]]:
    job = ticket(**keys)
    found = ways_to_fit(plan_units(inks, job), press(*coaters), job, one_ink)
    return [(way.case, way.needed, way.varnish, way.names) for way in found]


def test_a_varnish_goes_to_a_free_coater_one_each():
    assert ways() == []
    assert ways({}) == [("varnish to the coater", 4, ("Matt",), ())]
    assert ways({}, {}) == [("varnish to the coater", 3, ("Matt", "Gloss"), ())]
    assert ways({}, {}, {}) == [("varnish to the coater", 3, ("Matt", "Gloss"), ())]
    assert ways({}, coating={"kind": "uv", "area": "overall"}) == []


def test_an_effect_varnish_stays_on_its_unit():
    """It works against the coat, which has to come behind it."""
    matt = {"matt": {"kind": "varnish", "effect": "true"}}
    assert ways({}, {}, separations=matt) == [("varnish to the coater", 4, ("Gloss",), ())]


def test_a_varnish_goes_to_a_coater_that_lays_it():
    assert ways({"lays": ["overall"]}) == []
    units = [{"overall": "Matt"}, "Gloss", "Gloss"]
    inks = [Ink("Cyan", "process"), Ink("Gloss", "varnish"), Ink("Matt", "varnish", False)]
    assert ways({"lays": ["overall"]}, inks=inks, units=units) == [("varnish to the coater", 3, ("Matt",), ())]
    assert ways({"lays": ["plate"]}, inks=inks, units=units) == [("varnish to the coater", 2, ("Gloss",), ())]
    both = ways({"lays": ["overall"]}, {"lays": ["plate"]}, inks=inks, units=units)
    assert both == [("varnish to the coater", 1, ("Gloss", "Matt"), ())]


def test_names_of_one_ink_are_merged_on_the_most_plates_of_any():
    assert ways(one_ink=[["Brown", "brown 2"]]) == [("names merged", 4, (), ("Brown", "brown 2"))]
    assert ways(one_ink=[["Brown", "Sky"], ["Cyan"]]) == []
    units = ["Brown", "Brown", "brown 2", "Cyan"]
    assert ways(one_ink=[["brown 2", "Sky", "Brown"]], units=units) == [("names merged", 5, (), ("brown 2", "Brown"))]
    two = ways(one_ink=[["Brown", "brown 2"], ["Matt", "Gloss"]])
    assert two == [("names merged", 3, (), ("Brown", "brown 2", "Matt", "Gloss"))]


def test_what_is_printed_overall_is_not_merged():
    assert ways(one_ink=[["Brown", "Sky"]], units=[{"overall": "Sky"}]) == []


def test_both_ways_together_come_last():
    found = ways({}, one_ink=[["Brown", "brown 2"]])
    assert [way[:2] for way in found] == [
        ("varnish to the coater", 4), ("names merged", 4), ("varnish to the coater and names merged", 3),
    ]  # fmt: skip
    assert found[2][2:] == (("Matt",), ("Brown", "brown 2"))


@pytest.mark.parametrize("record", [Ink, PlatesOfInk, Standing, UnitPlan, WayToFit, AsMeant], ids=lambda r: r.__name__)
def test_nobody_changes_a_record(record):
    made = object.__new__(record)
    with pytest.raises(FrozenInstanceError):
        setattr(made, fields(record)[0].name, None)


def test_an_ink_of_which_nobody_says_more_prints_from_a_plate_of_the_file():
    ink = Ink("Mill Brown", "spot")
    assert (ink.prints, ink.in_file, ink.on_plate) == (True, True, True)
    assert not PlatesOfInk("Mill Brown", "spot", 1, ()).overall
