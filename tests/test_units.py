"""The unit plan against the press: readings of each measure for units, plates and inks that stand in the test."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.separations import Separation
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Die, OpenCut
from preflight.errors import NotMeasured
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob, Job
from preflight.measures import units as unit_measures
from preflight.measures.units import (
    coaters_for_the_coating,
    ink_against_its_unit,
    ink_system,
    inks_after_varnish,
    inks_before_white,
    plates_in_one_pass,
    process_units_around_metallic,
    units_of_each_ink,
)
from tests.house import units
from tests.test_overlaps import RectPage, Rects, solid

KINDS = {
    "Cyan": "process", "Magenta": "process", "Yellow": "process", "Black": "process", "Copper": "metallic",
    "Silver": "metallic", "Opaque White": "white", "White Two": "white", "Gloss Varnish": "varnish", "Primer": "primer",
    "Cutting": "cut",
}  # fmt: skip
ANY = {"unit": {"inks": "any"}}
WHERE: dict[str, Rects] = {
    "Copper": solid((10, 12, 30, 40)), "Opaque White": solid((10, 12, 30, 40)), "White Two": solid((10, 12, 30, 40)),
}  # fmt: skip


def job(
    *names: str,
    prints: dict[str, bool | None] | None = None,
    press: Any = None,
    page: RectPage | None = None,
    die: Die | None = None,
    known: dict[str, Any] | None = None,
    **ticket: Any,
) -> Job:
    """A job with these inks, which all print if nothing else is said; further keys are the ticket's."""
    art: Any = page or RectPage(70, 50, {})
    art.boxes, art.over_bounds, art.uncertain = PageBoxes(art.box_mm), [], []
    art.separations = [Separation(name, KINDS.get(name, "spot"), "", (known or {}).get(name, "read")) for name in names]
    nobody: Any = None

    def inks(_: Job) -> list[InkOnJob]:
        return [InkOnJob(one, (prints or {}).get(one.name, one.on_plate), 0.1, 50.0) for one in art.separations]

    return Job(
        nobody,
        art,
        die or Die("none", ""),
        None if press is False else Press.model_validate(press or units()),
        Ticket.model_validate(ticket) if ticket else None,
        measure_inks=inks,
    )


CMYK = ("Cyan", "Magenta", "Yellow", "Black")


# Plates in one pass ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("names", "needed", "case", "left"),
    [
        (CMYK, 4, "", ""),
        ((*CMYK, "Rust", "Moss"), 6, "", ""),
        ((*CMYK, "Rust", "Moss", "Fern"), 7, "does not fit", ""),
        ((*CMYK, "Rust", "Moss", "Gloss Varnish"), 7, "varnish to the coater", "6"),
        ((*CMYK, "Rust", "RUST C", "Moss"), 7, "names merged", "6"),
        ((*CMYK, "Rust", "RUST C", "Moss", "Gloss Varnish"), 8, "varnish to the coater and names merged", "6"),
        ((*CMYK, "Rust", "RUST C", "Moss", "Fern", "Gloss Varnish"), 9, "does not fit", ""),
        ((*CMYK, "Cutting"), 4, "", ""),
    ],
)
def test_plates_in_one_pass_and_what_would_make_them_fit(names, needed, case, left):
    reading = plates_in_one_pass(job(*names))[0]
    assert (reading.value, reading.case, reading.facts["left"]) == (needed, case, left)
    assert (reading.known, reading.only_warns, reading.facts["units"]) == ("read", "", 6)
    assert ("Gloss Varnish" in str(reading.facts["varnish"])) is ("coater" in case)
    assert ("RUST C" in str(reading.facts["names"])) is ("merged" in case)


def test_nothing_that_prints_needs_no_plates():
    assert plates_in_one_pass(job("Cutting")) == []
    assert plates_in_one_pass(job()) == []


def test_plates_are_told_with_their_hits_and_what_the_coater_lays():
    its_job = job(
        "Cyan", "Rust", "Gloss Varnish", units=["Cyan", "Rust", "Rust", {"overall": "Primer"}],
        coating={"kind": "uv", "area": "Gloss Varnish"},
    )  # fmt: skip
    reading = plates_in_one_pass(its_job)[0]
    assert reading.value == 4
    words = str(reading.facts["plates"])
    assert "Rust (2 hits)" in words
    assert "Primer overall" in words
    assert words.count("hits") == 1
    assert words.count("overall") == 1
    assert reading.facts["on_coater"] == "Gloss Varnish"


PLACE = UncertainPlace("nobody knows", (1.0, 2.0, 3.0, 4.0))
OPEN = OpenCut(1, (), Die("none", "").inside, None)


@pytest.mark.parametrize(
    ("prints", "uncertain", "open_cuts", "why"),
    [
        ({}, [PLACE], (OPEN,), ""),
        ({"Rust": None}, [], (), "no die"),
        ({"Rust": None}, [PLACE], (OPEN,), "could not be drawn"),
        ({"Rust": None}, [], (OPEN,), "not closed"),
        ({"Cutting": None}, [], (), ""),
    ],
)
def test_what_nobody_can_count_only_warns(prints, uncertain, open_cuts, why):
    its_job = job("Cyan", "Rust", "Cutting", prints=prints, die=Die("none", "", open_cuts=open_cuts))
    its_job.page.uncertain.extend(uncertain)
    reading = plates_in_one_pass(its_job)[0]
    assert why in reading.only_warns
    assert bool(reading.only_warns) is bool(why)
    assert reading.known == ("assumed" if why else "read")


# The unit list -----------------------------------------------------------------------------------------------------


def told(readings: Any) -> set[tuple[Any, ...]]:
    return {(one.case, one.group, one.value) for one in readings}


def test_units_of_each_ink_are_counted_and_their_numbers_held_against_the_press():
    its_job = job(
        *CMYK, "Rust", prints={"Magenta": False},
        units=["Cyan", "Magenta", None, "Black", "Black", "Nobody", {"overall": "Gloss Varnish"}],
    )  # fmt: skip
    readings = units_of_each_ink(its_job)
    assert told(readings) == {
        ("no unit", "Cyan", 1), ("no unit", "Yellow", 0), ("no unit", "Black", 2), ("no unit", "Rust", 0),
        ("over the press", "Cyan", 1), ("over the press", "Magenta", 2), ("over the press", "Black", 4),
        ("over the press", "Black", 5), ("over the press", "Nobody", 6), ("over the press", "Gloss Varnish", 7),
        ("prints nothing", "Magenta", 1), ("not in the file", "Nobody", 1),
    }  # fmt: skip
    over = next(one for one in readings if one.case == "over the press" and one.group == "Nobody")
    assert (over.units, over.facts["units"], over.facts["given"], over.known) == ((6,), 6, 6, "stated")
    nothing = next(one for one in readings if one.case == "prints nothing")
    assert (nothing.units, nothing.facts["unit"]) == ((2,), 2)


def test_without_a_press_no_number_is_too_high():
    readings = units_of_each_ink(job("Cyan", "Rust", press=False, units=["Cyan", "Nobody"]))
    assert told(readings) == {("no unit", "Cyan", 1), ("no unit", "Rust", 0), ("not in the file", "Nobody", 1)}


def test_an_ink_that_the_ticket_has_overall_only():
    """The file shows it, so it needs a unit of its own."""
    its_job = job("Cyan", "Gloss Varnish", units=["Cyan", None, *[{"overall": "Gloss Varnish"}] * 2])
    readings = {one.group: one for one in units_of_each_ink(its_job) if one.case in ("no unit", "overall only")}
    assert (readings["Gloss Varnish"].case, readings["Gloss Varnish"].value) == ("overall only", 0)
    assert readings["Gloss Varnish"].facts["unit"] == 3
    assert (readings["Cyan"].case, readings["Cyan"].facts["unit"]) == ("no unit", "")


def test_an_ink_of_which_nobody_knows_whether_it_prints_is_not_told_to_print_nothing():
    readings = units_of_each_ink(job("Cyan", prints={"Cyan": None}, units=["Cyan"]))
    assert told(readings) == {("no unit", "Cyan", 1), ("over the press", "Cyan", 1)}
    assert readings[0].known == "assumed"
    assert readings[0].only_warns


@pytest.mark.parametrize("measured", [units_of_each_ink, ink_against_its_unit, inks_after_varnish])
def test_without_a_unit_list_nothing_is_said(measured):
    for its_job in (job("Cyan"), job("Cyan", artwork_is="one-up")):
        with pytest.raises(NotMeasured) as raised:
            measured(its_job)
        assert raised.value.want_of == "ticket"


@pytest.mark.parametrize(
    ("unit", "ink", "value", "kept"),
    [
        ({"inks": "any"}, "Copper", "taken", ["open"]),
        ({"inks": ["process", "spot"]}, "Rust", "taken", ["kept", "process and spot"]),
        ({"inks": ["process", "spot"]}, "Copper", "refused", ["kept", "process and spot"]),
        ({"inks": "any", "never": ["metallic", "white"]}, "Copper", "refused", ["never", "metallic and white"]),
        ({"inks": ["metallic", "spot"], "never": ["metallic"]}, "Copper", "refused", ["kept", "never", ";"]),
    ],
)
def test_a_unit_takes_the_ink_that_stands_on_it_or_refuses_it(unit, ink, value, kept):
    its_job = job("Cyan", ink, press=units(ANY, {"unit": unit}), units=["Cyan", ink, "Nobody"], known={ink: "assumed"})
    first, second = ink_against_its_unit(its_job)  # the third unit is not there
    assert (first.value, first.group, first.units, first.known) == ("taken", "Cyan", (1,), "read")
    assert (second.value, second.group, second.units, second.known) == (value, ink, (2,), "assumed")
    assert (second.facts["unit"], second.facts["kind"]) == (2, KINDS.get(ink, "spot"))
    assert [word for word in kept if word not in str(second.facts["kept"])] == []
    assert ("open" in str(second.facts["kept"])) is (kept == ["open"])


# Order -------------------------------------------------------------------------------------------------------------


def page_of(**inks: Rects) -> RectPage:
    return RectPage(70, 50, {**WHERE, **{name.replace("_", " "): rects for name, rects in inks.items()}})


AROUND = {"trim_mm": 0.3, "ink_from_percent": 2.0, "overlap_from_mm2": 1.0}
CROSSING = solid((22, 20, 50, 30))
"""8 x 10 mm of it lie on the metallic or the white."""


@pytest.mark.parametrize(
    ("order", "value"),
    [
        (["Copper", *CMYK], 0),
        ([*CMYK, "Copper"], 0),
        (["Cyan", "Copper", "Magenta", "Yellow", "Black"], 1),
        (["Cyan", "Magenta", "Copper", "Yellow", "Black"], 2),
        (["Cyan", "Magenta", "Yellow", None, "Copper", "Black"], 1),
        (["Cyan", "Rust", "Copper", "Moss"], 0),
    ],
)
@pytest.mark.parametrize("over", [True, False])
def test_process_units_on_the_lesser_side_of_a_metallic(order, value, over):
    page = page_of(**{name: CROSSING if over else solid((40, 20, 50, 30)) for name in CMYK})
    names = [name for name in order if name]
    found = process_units_around_metallic(job(*names, page=page, units=order), **AROUND)
    reading = found.readings[0]
    assert (reading.value, reading.group, reading.units) == (value, "Copper", (order.index("Copper") + 1,))
    assert (reading.case, bool(reading.places)) == (("", True) if over and value else ("apart", False))
    if over and value:
        assert reading.facts["over"] == "Cyan, Magenta, Yellow, Black"
        assert len(reading.places) == 4
        assert 40 < float(str(reading.facts["area"]).split()[0]) < 90
    assert len(found.readings) == 1
    assert found.gaps == () or list(found.gaps) == []


def test_the_largest_overlap_with_a_metallic_is_told_and_small_ones_are_none():
    page = page_of(Cyan=CROSSING, Magenta=solid((25, 20, 50, 30)), Yellow=solid((27.8, 20, 50, 22.1)), Black=[])
    its_job = job(*CMYK, "Copper", page=page, units=["Cyan", "Magenta", "Copper", "Yellow", "Black"])
    reading = process_units_around_metallic(its_job, **{**AROUND, "overlap_from_mm2": 5.0}).readings[0]
    assert reading.facts["over"] == "Cyan, Magenta"
    assert float(str(reading.facts["area"]).split()[0]) == pytest.approx((8 - 1.3) * (10 - 1.3), rel=0.1)
    exact = process_units_around_metallic(its_job, **{**AROUND, "overlap_from_mm2": 1e9}).readings[0]
    assert (exact.case, exact.places) == ("apart", ())


def test_what_is_known_to_print_nothing_does_not_stand_in_the_way():
    its_job = job(
        *CMYK, "Copper", "Silver", prints={"Cyan": False, "Silver": False, "Magenta": None},
        units=["Cyan", "Copper", "Silver", "Magenta", "Yellow"],
    )  # fmt: skip
    found = process_units_around_metallic(its_job, **AROUND).readings
    assert [(one.group, one.value) for one in found] == [("Copper", 0)]


def stripes(many: int) -> Rects:
    """Narrow overlaps with what stands at (10, 12) to (30, 40), too thin for a trim of 0.3 mm."""
    return solid(*[(11 + 2 * at, 10, 11.3 + 2 * at, 30) for at in range(many)])


@pytest.mark.parametrize(("many", "gaps"), [(6, 0), (8, 1)])
def test_meetings_that_nobody_looked_at_are_a_gap(many, gaps):
    metallic = job("Cyan", "Copper", "Black", page=page_of(Cyan=stripes(many)), units=["Cyan", "Copper", "Black"])
    assert len(process_units_around_metallic(metallic, **AROUND).gaps) == gaps
    white = job("Rust", "Opaque White", page=page_of(Rust=stripes(many)), units=["Rust", "Opaque White"],
                board={"surface": "white"})  # fmt: skip
    assert len(inks_before_white(white, **AROUND).gaps) == gaps


def white_of(order: list[Any], page: RectPage | None = None, surface: str | None = "white", **more: Any) -> Any:
    names = list(dict.fromkeys(name for name in order if name))
    board: dict[str, Any] = {"board": {"surface": surface}} if surface else {}
    return inks_before_white(job(*names, page=page or page_of(), units=order, **board, **more), **AROUND)


def test_inks_that_a_white_is_printed_over():
    page = page_of(Cyan=CROSSING, Rust=solid((12, 14, 20, 20)), Copper=solid((40, 5, 50, 10)), Moss=CROSSING)
    found = white_of(["Cyan", "Rust", "Copper", "Opaque White", "Moss"], page)
    reading = found.readings[0]
    assert (reading.value, reading.case, reading.units) == (2, "over ink", (4,))
    assert (reading.facts["before"], reading.facts["unit"]) == ("Cyan, Rust", 4)
    assert [place.separation for place in reading.places] == ["Opaque White"] * 2
    assert len(found.readings) == 1


def test_no_white_no_reading():
    assert white_of(["Cyan", "Rust"]).readings == []
    assert white_of(["Cyan", "Opaque White"], prints={"Opaque White": False}, surface=None).gaps == ()


def test_a_varnish_before_a_white_is_no_ink():
    page = page_of(Gloss_Varnish=CROSSING, Primer=CROSSING)
    assert white_of(["Gloss Varnish", "Primer", "Opaque White"], page, surface="kraft").readings[0].value == 0


def test_two_hits_of_a_white_are_one_fault_and_two_whites_are_two():
    page = page_of(Cyan=CROSSING)
    twice = white_of(["Cyan", "Opaque White", "Opaque White"], page).readings
    assert [(one.value, one.units, one.facts["unit"]) for one in twice] == [(1, (2, 3), 2)]
    other = white_of(["Cyan", "Opaque White", "White Two"], page).readings
    assert [(one.value, one.units) for one in other] == [(1, (2,)), (1, (3,))]
    parted = white_of(["Opaque White", "Cyan", "Opaque White"], page).readings
    assert [(one.value, one.units) for one in parted] == [(0, (1,)), (1, (3,))]


@pytest.mark.parametrize("surface", ["kraft", "grey", "metallised"])
def test_on_a_board_that_is_not_white_all_inks_before_the_first_white_count(surface):
    page = page_of(Cyan=CROSSING, Rust=solid((40, 5, 50, 10)))
    found = white_of(["Cyan", "Rust", "Opaque White", "Moss", "White Two"], page, surface).readings
    assert [(one.value, one.case, one.units) for one in found] == [
        (2, "board not white", (3,)), (1, "over ink", (5,)),
    ]  # fmt: skip
    assert (found[0].facts["before"], found[0].facts["surface"]) == ("Cyan, Rust", surface)
    assert found[0].places


def test_nobody_says_what_the_board_looks_like():
    before = white_of(["Cyan", "Opaque White"], surface=None)
    assert [gap.want_of for gap in before.gaps] == ["ticket"]
    assert before.readings[0].case == "over ink"
    assert white_of(["Opaque White", "Cyan"], surface=None).gaps == []
    assert white_of(["Cyan", "Opaque White"]).gaps == []


@pytest.mark.parametrize(
    ("order", "after"),
    [
        (["Cyan", "Gloss Varnish", "Rust", "Copper", "Opaque White"], "Rust, Copper, Opaque White"),
        (["Cyan", "Rust", "Gloss Varnish"], ""),
        (["Gloss Varnish", None, "Cyan", "Primer"], "Cyan"),
        (["Primer", "Cyan", "Gloss Varnish", "Gloss Varnish"], ""),
    ],
)
def test_inks_that_stand_after_a_varnish(order, after):
    names = list(dict.fromkeys(name for name in order if name))
    readings = inks_after_varnish(job(*names, units=order, known={"Gloss Varnish": "stated"}))
    assert readings[0].facts["after"] == after
    assert readings[0].value == len([name for name in after.split(", ") if name])
    at = order.index("Gloss Varnish") + 1
    assert (readings[0].units, readings[0].facts["unit"], readings[0].known) == ((at,), at, "stated")
    assert len(readings) == order.count("Gloss Varnish")


def test_an_ink_that_prints_nothing_does_not_stand_after_a_varnish():
    readings = inks_after_varnish(job("Cyan", "Gloss Varnish", "Rust", prints={"Rust": False, "Cyan": None},
                                      units=["Gloss Varnish", "Rust", "Cyan"]))  # fmt: skip
    assert readings[0].facts["after"] == "Cyan"


# Coating and ink system --------------------------------------------------------------------------------------------

UV: dict[str, Any] = {"takes": ["uv"], "lays": ["overall"]}
WATER: dict[str, Any] = {"takes": ["water-based", "uv"], "lays": ["plate"]}


@pytest.mark.parametrize(
    ("coaters", "coating", "value", "case"),
    [
        ([UV], {"kind": "uv", "area": "overall"}, 1, ""),
        ([UV], {"kind": "uv"}, 1, ""),
        ([UV], {"kind": "water-based", "area": "overall"}, 0, ""),
        ([UV], {"kind": "uv", "area": "Gloss Varnish"}, 0, ""),
        ([UV, WATER], {"kind": "uv", "area": "Gloss Varnish"}, 1, ""),
        ([UV, {"takes": ["uv"]}], {"kind": "uv", "area": "overall"}, 2, ""),
        ([UV, {"lays": ["plate"]}], {"kind": "water-based", "area": "overall"}, 0, ""),
        ([UV, {"lays": ["overall"]}], {"kind": "uv", "area": "overall"}, 1, ""),
        ([], {"kind": "uv", "area": "overall"}, 0, "no coater"),
    ],
)
def test_coaters_that_take_the_coating_and_lay_it_where_it_is_wanted(coaters, coating, value, case):
    press = units(ANY, *({"coater": keys} for keys in coaters))
    reading = coaters_for_the_coating(job("Cyan", press=press, coating=coating))[0]
    assert (reading.value, reading.case, reading.known) == (value, case, "stated")
    assert (reading.facts["coating"], reading.facts["area"]) == (coating["kind"], coating.get("area", "overall"))
    assert str(reading.facts["coaters"]).count("coater") == len(coaters)
    words = [word for keys in coaters for word in (*keys.get("takes", ()), *keys.get("lays", ()))]
    assert [word for word in words if word not in str(reading.facts["coaters"])] == []


def test_a_coater_that_nobody_says_what_it_takes():
    press = units(ANY, {"coater": UV}, {"coater": {"lays": ["overall"]}})
    with pytest.raises(NotMeasured) as raised:
        coaters_for_the_coating(job("Cyan", press=press, coating={"kind": "water-based", "area": "overall"}))
    assert raised.value.want_of == "press"


@pytest.mark.parametrize("ticket", [{"artwork_is": "one-up"}, {"coating": {"area": "overall"}}, {}])
def test_a_coating_that_nobody_names(ticket):
    with pytest.raises(NotMeasured) as raised:
        coaters_for_the_coating(job("Cyan", **ticket))
    assert raised.value.want_of == "ticket"


def test_where_nothing_is_coated_no_coater_is_wanted():
    assert coaters_for_the_coating(job("Cyan", coating="none")) == []


def test_the_ink_system_and_what_the_press_cures():
    reading = ink_system(job("Cyan", ink_system="uv", press=units(cures=["uv", "oxidising"])))[0]
    assert (reading.value, reading.facts["cures"], reading.known) == ("uv", "uv, oxidising", "stated")


@pytest.mark.parametrize(
    ("keys", "want_of"),
    [
        ({}, "ticket"),
        ({"artwork_is": "one-up"}, "ticket"),
        ({"ink_system": "uv", "press": units(cures=None)}, "press"),
        ({"ink_system": "uv", "press": False}, "press"),
    ],
)
def test_an_ink_system_that_nobody_states(keys, want_of):
    with pytest.raises(NotMeasured) as raised:
        ink_system(job("Cyan", **keys))
    assert raised.value.want_of == want_of


def test_how_the_kind_of_an_ink_is_known():
    its_job = job("Cyan", "Rust", known={"Rust": "stated"})
    assert [unit_measures._known(its_job, name) for name in ("Cyan", "Rust", "Nobody")] == ["read", "stated", "read"]
