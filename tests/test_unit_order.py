"""The unit planner on worked jobs; presses and names are the project's own."""

from __future__ import annotations

import random
import time
from collections.abc import Collection
from dataclasses import replace

import pytest

from preflight.inputs.press import Press
from preflight.setup.plan_request import CoatingToLay, OnPress, PlanRequest, PlateToPlace
from preflight.setup.press_plan import InDelivery, LampSet, PressPlan
from preflight.setup.unit_order.plan_press import plan_press
from tests.test_plain_words import banned


def press(
    units: int, *, lamps: Collection[int] = (), cures: str = "uv", last: str | None = None, **wash: dict[str, str]
) -> Press:
    """A press with a UV coater behind its units; ``last`` is what the last unit is kept for."""
    line: list[dict[str, object]] = []
    for unit in range(1, units + 1):
        line.append({"unit": {"inks": [last]} if last and unit == units else {}})
        line += [{"lamp": "uv"}] if unit in lamps else []
    line += [{"coater": {"takes": ["uv"], "lays": ["overall"]}}, {"delivery": ["uv", "uv"]}]
    keys = {"press": "Test press", "sheet": {"largest": "1000 x 700 mm"}, "line": line, "cures": [cures]}
    return Press.model_validate({**keys, **wash})


def ink(name: str, kind: str = "spot", cover: float = 0.1, **more: object) -> PlateToPlace:
    return replace(PlateToPlace(name, kind, cover=cover, area_mm2=1000 * cover), **more)  # type: ignore[arg-type]


def overlaps(*pairs: tuple[str, str], mm2: float = 100.0) -> dict[tuple[str, str], float]:
    return {(min(pair), max(pair)): mm2 for pair in pairs}


def order(plan: PressPlan, number: int = 0) -> list[str | None]:
    return [unit.separation for unit in plan.passes[number].units]


def levels(plan: PressPlan) -> dict[int, str]:
    return {each.after_unit: each.level for each in plan.passes[0].stations if isinstance(each, LampSet)}


def reasons(plan: PressPlan, separation: str) -> set[str]:
    return {
        because.demand
        for unit in plan.passes[0].units
        if unit.separation == separation
        for because in unit.because
    }  # fmt: skip


PROCESS = [
    ink(name, "process", cover, in_pictures=True)
    for name, cover in {"Cyan": 0.3, "Magenta": 0.25, "Yellow": 0.2, "Black": 0.1}.items()
]
UV = CoatingToLay("uv")


def job(*plates: PlateToPlace, on: Press, coating: CoatingToLay | None = UV, **more: object) -> PlanRequest:
    return replace(PlanRequest(plates, on, coating, ink_system="uv"), **more)  # type: ignore[arg-type]


# Common practice and the worked jobs of needs.md -------------------------------------------------------------------


def test_metallic_black_process_varnish_on_six_units_stands():
    """Source: common practice."""
    six = [ink("Copper", "metallic", 0.2), *PROCESS, ink("Varnish", "varnish", overall=True)]
    request = job(*six, on=press(6), overlap_mm2=overlaps(("Copper", "Cyan"), ("Copper", "Magenta")))
    plan = plan_press(request)
    assert order(plan) == ["Copper", "Black", "Cyan", "Magenta", "Yellow", "Varnish"]
    assert plan.possible
    assert plan.proved_best
    assert reasons(plan, "Copper") >= {"metallic-by-overlap", "metallic-first"}
    wished = ("Copper", "Black", "Cyan", "Magenta", "Yellow", "Varnish")
    fixed = plan_press(replace(request, overlap_mm2={}, wished=wished, fixed=True))
    assert fixed.possible
    assert order(fixed) == list(wished)


WHITES = [ink("White", "white", 0.7, hit=hit) for hit in (1, 2)]
CREAM = [*WHITES, *PROCESS, ink("Rose")]
ON_WHITE = overlaps(*(("White", name) for name in ("Cyan", "Magenta", "Yellow", "Black", "Rose")))
EIGHT = press(8, lamps=(2, 4, 6, 8), last="varnish")


def test_a_cream_carton_on_metallised_board():
    """needs.md 6, job 3: white, white, process, rose on the UV press; the press with ordinary ink is refused."""
    plan = plan_press(job(*CREAM, on=EIGHT, surface="metallised", overlap_mm2=ON_WHITE))
    assert order(plan) == ["White", "White", "Black", "Cyan", "Magenta", "Yellow", "Rose", None]
    assert levels(plan)[2] == "full"
    assert reasons(plan, "White") >= {"white-under", "cure-between"}
    refused = plan_press(job(*CREAM, on=press(6, cures="oxidising"), overlap_mm2=ON_WHITE))
    assert not refused.possible
    assert [(each.demand, each.separation) for each in refused.conflict] == [("one-ink-system", "White")]
    assert "cannot dry" in refused.conflict[0].says


def test_white_wished_behind_the_colours_is_only_kept_where_it_is_fixed():
    wished = ("Black", "Cyan", "Magenta", "Yellow", "Rose", "White", "White", None)
    request = job(*CREAM, on=EIGHT, overlap_mm2=ON_WHITE, wished=wished)
    assert order(plan_press(request))[:2] == ["White", "White"]
    plan = plan_press(replace(request, fixed=True))
    assert not plan.possible
    assert {each.demand for each in plan.conflict} == {"units-fixed", "white-under"}
    assert len(plan.conflict) == 3


def test_white_drawn_on_a_solid_of_white_board_prints_on_it():
    """Common practice: white lettering on a dark solid is weak, and legitimate; below the solid it would not show."""
    white, solid = ink("White", "white", on_solids=True), ink("Navy", cover=0.6)
    plan = plan_press(job(white, solid, on=press(2), surface="white", overlap_mm2=overlaps(("Navy", "White"))))
    assert order(plan) == ["Navy", "White"]
    assert reasons(plan, "White") >= {"opaque-by-overlap"}
    under = job(replace(white, on_solids=False), solid, on=press(2), overlap_mm2=overlaps(("Navy", "White")))
    assert order(plan_press(under)) == ["White", "Navy"]


def test_a_fixed_list_may_have_white_on_a_solid_of_white_board_and_on_no_other():
    plates = (ink("White", "white"), ink("Navy", cover=0.6))
    fixed = job(*plates, on=press(2), overlap_mm2=overlaps(("Navy", "White")), wished=("Navy", "White"), fixed=True)
    assert plan_press(replace(fixed, surface="white")).possible
    assert not plan_press(replace(fixed, surface="metallised")).possible


COPPER = [ink("Copper", "metallic", 0.2), *PROCESS, ink("Matt", "varnish", 0.4)]


def why_metallic(plan: PressPlan) -> str:
    (unit,) = [unit for unit in plan.passes[0].units if unit.separation == "Copper"]
    return " ".join(each.says for each in unit.because if each.demand in ("metallic-first", "metallic-last"))


def test_the_place_of_a_metallic_says_what_it_follows_from():
    """The same artwork: behind what is under the plant's limit, before it where the ticket says it prints on it."""
    over = {("Black", "Copper"): 9.9, ("Copper", "Matt"): 100.0}  # of 200 mm2: 4.95 %, and a varnish, which is no ink
    last = plan_press(job(*COPPER, on=press(6), overlap_mm2=over))
    assert order(last).index("Copper") > order(last).index("Black")
    assert "Black (4.9 % of its area) lies on less of it than the plant's 5 %" in why_metallic(last)
    assert "printed_over" in why_metallic(last)
    assert "Matt" not in why_metallic(last)
    printed_over = [replace(COPPER[0], printed_over=True), *COPPER[1:]]
    first = plan_press(job(*printed_over, on=press(6), overlap_mm2=over))
    assert order(first).index("Copper") < order(first).index("Black")
    assert "the ticket says" in why_metallic(first)
    alone = plan_press(job(*COPPER, on=press(6), overlap_mm2={("Copper", "Matt"): 1.0}))
    assert "no ink prints on it" in why_metallic(alone)


def test_the_list_of_a_ticket_only_chooses_among_orders_that_are_as_good():
    names = [plate.name for plate in COPPER]
    request = job(*COPPER, on=press(7, lamps=(2, 4)), overlap_mm2=overlaps(("Copper", "Cyan")))
    costs = set()
    for seed in range(8):
        wished = [*names, None]
        random.Random(seed).shuffle(wished)
        costs.add(plan_press(replace(request, wished=tuple(wished))).cost)
    assert costs == {plan_press(request).cost}


def test_the_coating_over_a_varnish_says_whether_matt_beside_gloss_is_planned():
    def coated(varnish: PlateToPlace) -> str:
        return " ".join(
            each.says for each in plan_press(job(ink("Fern"), varnish, on=press(2))).passes[0].coaters[0].because
        )

    assert "matt there and gloss beside" in coated(ink("Matt", "varnish", effect=True))
    assert "covers Matt, on the ticket no effect varnish" in coated(ink("Matt", "varnish"))


def test_an_aim_for_a_double_hit_says_that_it_is_that_of_both():
    twice = [ink("Moss Green", hit=hit) for hit in (1, 2)]
    request = job(*twice, on=press(2))
    assert not any("aim" in said for said in plan_press(request).assumed)
    said = plan_press(replace(request, aimed=frozenset({"Moss Green"}))).assumed
    assert any("2 hits together" in each for each in said)


GREEN = [ink("Moss Green", "spot", 0.5, hit=hit) for hit in (1, 2)]
CASK = [*PROCESS, ink("Cask Copper", "metallic", 0.1), *GREEN, ink("Effect Matt", "varnish", 0.3, effect=True)]


def test_a_cask_box():
    """needs.md 6, job 4: eight units exactly, metallic last among the inks, effect varnish straight before the coat."""
    plan = plan_press(job(*CASK, on=EIGHT))
    assert order(plan) == [
        *("Black", "Cyan", "Magenta", "Yellow", "Moss Green", "Moss Green", "Cask Copper", "Effect Matt"),
    ]  # fmt: skip
    assert reasons(plan, "Effect Matt") >= {"varnish-last", "effect-before-coat"}
    assert reasons(plan, "Moss Green") >= {"double-hit-rule"}
    assert levels(plan)[8] == "off"
    coater = plan.passes[0].coaters[0]
    assert (coater.coating, coater.lays) == ("uv", "overall")
    assert "effect-before-coat" in {because.demand for because in coater.because}


def test_merging_the_twin_names_saves_the_pass():
    """needs.md 6, job 4: nine plates on eight units."""
    names = ("Moss Green", "MOSS GREEN C")
    plan = plan_press(job(*CASK, ink("MOSS GREEN C", cover=0.02), on=EIGHT, one_ink=(names,)))
    assert not plan.possible
    first = plan.ways_out[0]
    assert (first.change, first.separations, first.saves_units, first.saves_pass) == ("merge", names, 1, True)
    assert plan.ways_out[-1].change == "two-passes"
    assert plan.passes == ()
    assert {each.demand for each in plan.conflict} >= {"one-unit-each"}


# Contradictions ----------------------------------------------------------------------------------------------------


def conflict(plan: PressPlan) -> list[tuple[str, str]]:
    return [(each.demand, each.separation) for each in plan.conflict]


def test_an_effect_varnish_without_a_coat():
    plan = plan_press(job(ink("Fern"), ink("Effect Matt", "varnish", effect=True), on=press(4), coating=None))
    assert conflict(plan) == [("effect-before-coat", "Effect Matt")]


def test_a_unit_that_the_press_does_not_have():
    wished = (None, None, "Fern")
    plan = plan_press(job(ink("Fern"), on=press(2), wished=wished, fixed=True))
    assert conflict(plan) == [("units-fixed", "Fern")]
    assert "the press has 2 units" in plan.conflict[0].says


def test_too_many_plates_is_every_plate():
    plates = [ink(f"Ink {number}") for number in range(5)]
    plan = plan_press(job(*plates, on=press(4)))
    assert conflict(plan) == [("one-unit-each", plate.name) for plate in plates]


def test_two_ink_systems_in_one_pass():
    both = press(4).model_copy(update={"cures": ("uv", "oxidising")})
    plan = plan_press(job(ink("Sea Blue", ink_system="oxidising"), ink("Fern"), on=both, coating=None))
    assert conflict(plan) == [("one-ink-system", "Sea Blue"), ("one-ink-system", "Fern")]
    assert len(plan.passes) == 2


def test_without_lamps_between_units_a_white_is_a_query_and_no_contradiction():
    plan = plan_press(job(*CREAM, on=press(8), overlap_mm2=ON_WHITE))
    assert plan.possible
    assert any("White has to be dry enough" in said for said in plan.assumed)


# Ways out, two passes ----------------------------------------------------------------------------------------------


def test_the_smallest_spot_without_fine_type_goes_to_process():
    small, fine = ink("Mint", cover=0.009), ink("Ivory", cover=0.001, fine_type=True)
    plan = plan_press(job(*PROCESS, small, fine, ink("Fern", cover=0.3), on=press(6)))
    assert [(way.change, way.separations, way.saves_pass) for way in plan.ways_out][:1] == [
        ("to-process", ("Mint",), True)
    ]


def test_what_prints_nothing_is_dropped_first():
    plan = plan_press(job(*PROCESS, ink("Empty", prints=False), on=press(4)))
    assert (plan.ways_out[0].change, plan.ways_out[0].saves_pass) == ("drop", True)


def test_two_passes_part_the_least_tight_joint_and_coat_in_the_last():
    plates = [ink("Fern"), ink("Brick"), ink("Slate")]
    distance = {("Brick", "Fern"): 0.0, ("Brick", "Slate"): 0.3, ("Fern", "Slate"): 0.1}
    plan = plan_press(job(*plates, on=press(2), distance_mm=distance))
    split = plan.ways_out[-1]
    # any split parts two joints: Fern and Brick stay together, and of the others the tightest is 0.1
    assert split.change == "two-passes"
    assert set(split.passes) == {("Fern", "Brick"), ("Slate",)}
    assert [joint.distance_mm for joint in split.breaks] == [0.1, 0.3]
    assert len(plan.passes) == 2
    assert [coater.coating for part in plan.passes for coater in part.coaters] == [None, "uv"]
    idle = plan.passes[0].coaters[0]
    assert [because.says for because in idle.because] == ["Nothing is coated before the last pass."]


def test_joints_over_the_limit_of_the_plant_may_be_parted():
    plates = [ink("Fern"), ink("Brick"), ink("Slate")]
    distance = {("Brick", "Fern"): 0.0, ("Brick", "Slate"): 0.5, ("Fern", "Slate"): 0.41}
    split = plan_press(job(*plates, on=press(2), distance_mm=distance)).ways_out[-1]
    assert split.breaks == ()
    assert set(split.passes) == {("Fern", "Brick"), ("Slate",)}


def test_a_way_out_says_what_it_leaves_as_it_is():
    """Neither fewer plates nor two passes dry oxidising ink on metallised board."""
    on = press(4, cures="oxidising")
    wet = job(*PROCESS, ink("Mint", cover=0.009), on=on, coating=None, ink_system="oxidising", surface="metallised")
    left = "This leaves oxidising ink on metallised board, where it does not dry."
    assert [(way.change, left in way.says) for way in plan_press(wet).ways_out] == [
        ("to-process", True),
        ("two-passes", True),
    ]
    assert not any("leaves" in way.says for way in plan_press(replace(wet, surface="white")).ways_out)


def test_a_unit_saved_that_is_not_enough_is_said_to_be():
    plan = plan_press(job(*PROCESS, ink("Mint", cover=0.009), ink("Fern", cover=0.3), on=press(4)))
    (way,) = [way for way in plan.ways_out if way.change == "to-process"]
    assert not way.saves_pass
    assert "still no order" in way.says


def test_of_two_names_for_one_ink_none_is_built_of_process_inks():
    names = ("Moss Green", "MOSS GREEN C")
    plates = [*PROCESS, ink(names[0], cover=0.4), ink(names[1], cover=0.02)]
    request = job(*plates, on=press(5))
    assert "to-process" in {way.change for way in plan_press(request).ways_out}
    changes = [way.change for way in plan_press(replace(request, one_ink=(names,))).ways_out]
    assert changes == ["merge", "two-passes"]


# Wishes ------------------------------------------------------------------------------------------------------------


def test_wash_ups_are_saved_where_the_ink_is_on_already_and_told_with_minutes():
    before = OnPress(("Brick", "Fern", "Mustard"), {"Mustard": "spot"}, {"Mustard": 0.9})
    on = press(3, wash={"dark to light": "15 min"})
    plan = plan_press(job(ink("Fern"), ink("Brick"), ink("Pale", darkness=0.1), on=on, before=before))
    assert order(plan) == ["Brick", "Fern", "Pale"]
    assert [(wash.unit, wash.before, wash.after, wash.minutes, wash.because) for wash in plan.wash_ups] == [
        (3, "Mustard", "Pale", 15.0, "light after dark")
    ]


def test_minutes_that_no_profile_gives_are_none():
    before = OnPress(("Pewter",), {"Pewter": "metallic"})
    (wash,) = plan_press(job(ink("Fern"), on=press(1), before=before)).wash_ups
    assert (wash.minutes, wash.because) == (None, "after metallic")


@pytest.mark.parametrize(
    ("was", "because"), [("led-uv", "another ink"), ("oxidising", "another ink system")]
)  # fmt: skip
def test_ink_systems_that_run_together_are_no_change_of_system(was, because):
    before = OnPress(("Brick",), ink_system=was)
    (wash,) = plan_press(job(ink("Fern"), on=press(1), before=before, ink_system="uv")).wash_ups
    assert wash.because == because


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ((), ["Wash-ups of units 1, 2 and 3: what is on them now is not known."]),
        (("Brick", None), ["Wash-ups of unit 3: what is on it now is not known."]),
        (("Brick", None, None), []),
    ],
)
def test_units_that_nobody_tells_of_are_not_taken_for_clean(units, said):
    plan = plan_press(job(ink("Fern"), on=press(3), before=OnPress(units)))
    assert [each for each in plan.not_checked if "Wash-ups" in each] == said


def test_inks_are_cured_before_a_coating():
    """White on unit 1, the colours before the last lamp, although units behind it are free."""
    inks = (ink("White", kind="white"), ink("Fern", cover=0.1), ink("Brick", cover=0.2))
    overlaps = {("Brick", "White"): 900.0, ("Fern", "White"): 900.0}
    coated = job(*inks, on=press(8, lamps=(2, 6)), overlap_mm2=overlaps, surface="metallised")
    placed = {unit.separation: unit.unit for unit in plan_press(coated).passes[0].plates}
    assert max(placed.values()) <= 6
    assert levels(plan_press(coated))[6] == "full"


def test_one_lamp_before_the_coating_is_enough():
    plan = plan_press(job(ink("Fern"), on=press(6, lamps=(2, 4))))
    assert sorted(levels(plan).values()) == ["full", "off"]


def test_another_ink_system_is_washed_out_of_idle_units_too():
    """Rollers and blankets are the press's: no unit is fit for UV because nothing was on it."""
    before = OnPress(("Fern", None, None), ink_system="oxidising")
    plan = plan_press(job(ink("Brick"), on=press(3), before=before))
    assert [(wash.because, wash.minutes) for wash in plan.wash_ups] == [("another ink system", None)]


def test_light_before_heavy_begins_anew_behind_a_lit_lamp():
    wished = ("Brick", "Fern")
    heavy_first = job(
        ink("Fern", cover=0.05),
        ink("Brick", cover=0.5),
        on=press(2, lamps=(1,)),
        wished=wished,
        fixed=True,
        coating=None,
    )
    plan = plan_press(heavy_first)
    assert plan.cost == 1  # one lamp, in place of a step down for 4
    assert levels(plan) == {1: "low"}
    assert order(plan_press(replace(heavy_first, fixed=False))) == ["Fern", "Brick"]


def test_the_delivery_dries_inks_and_coating():
    plan = plan_press(job(ink("Fern"), on=press(1)))
    (delivery,) = [each for each in plan.passes[0].stations if isinstance(each, InDelivery)]
    assert delivery.levels == ("full", "full")


# Everything is said ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "request_",
    [
        job(*CREAM, on=EIGHT, overlap_mm2=ON_WHITE),
        job(*CASK, on=EIGHT),
        job(*CASK, ink("Sand"), on=EIGHT, coating=None),
    ],
)
def test_every_station_has_a_reason_in_plain_words(request_):
    plan = plan_press(request_)
    because = [each for part in plan.passes for station in part.stations for each in station.because]
    assert all(station.because for part in plan.passes for station in part.stations)
    said = [each.says for each in because] + [each.says for each in plan.conflict]
    said += [each.says for each in plan.ways_out] + [*plan.assumed, *plan.not_checked]
    assert [words for text in said for words in banned(text)] == []
    assert all(text[0].isupper() or text[0] in "u" for text in said)


def test_the_same_question_has_the_same_answer():
    plates = [ink(name) for name in ("Fern", "Brick", "Slate", "Moss")]
    assert order(plan_press(job(*plates, on=press(5)))) == ["Fern", "Brick", "Slate", "Moss", None]


def test_twelve_plates_on_twelve_units_take_under_a_second_of_cpu():
    draw = random.Random(1)
    plates = [ink(f"Ink {number}", cover=draw.random()) for number in range(12)]
    began = time.process_time()
    plan = plan_press(job(*plates, on=press(12, lamps=(2, 4, 6, 8, 10))))
    assert time.process_time() - began < 1.0
    assert plan.proved_best


def test_more_than_fourteen_plates_get_a_good_order_that_is_not_proved_best():
    plates = [ink(f"Ink {number:02}", cover=number / 20) for number in reversed(range(16))]
    plan = plan_press(job(*plates, on=press(16)))
    assert plan.possible
    assert not plan.proved_best
    assert plan.cost <= 4 * 16


def test_a_lamp_that_does_not_cure_the_white_is_of_no_use_to_it():
    """A mercury ink is not cured under LED (facts 7.4): the LED lamp behind unit 1 helps the blue, not the white."""
    line = [{"unit": {}}, {"lamp": "led-uv"}, {"unit": {}}, {"lamp": "uv"}, {"unit": {}}]
    keys = {"press": "Test press", "sheet": {"largest": "1000 x 700 mm"}, "line": line, "cures": ["uv", "led-uv"]}
    plates = [WHITES[0], ink("Lake", ink_system="led-uv")]
    on_white = overlaps(("White", "Lake"))
    plan = plan_press(job(*plates, on=Press.model_validate(keys), coating=None, overlap_mm2=on_white))
    assert order(plan)[2] == "Lake"
    assert levels(plan) == {1: "off", 2: "full"}


@pytest.mark.parametrize(("plates", "units", "most_s"), [(10, 6, 4.0), (11, 8, 4.0), (13, 12, 6.0), (16, 12, 6.0)])
def test_far_too_many_plates_are_answered_in_seconds_of_cpu(plates, units, most_s):
    inks = [ink(f"Ink {number:02}", cover=number / 20) for number in range(plates)]
    crossing = overlaps(*((f"Ink {one:02}", f"Ink {one + 1:02}") for one in range(plates - 1)))
    began = time.process_time()
    plan = plan_press(job(*inks, on=press(units, lamps=(2, 4)), overlap_mm2=crossing))
    assert time.process_time() - began < most_s
    assert [each.demand for each in plan.conflict] == ["one-unit-each"] * (units + 1)
    assert len(plan.passes) == 2


def test_among_too_many_plates_a_smaller_contradiction_is_still_found():
    inks = [ink(f"Ink {number:02}") for number in range(9)]
    for more in (0, 7):
        extra = [ink(f"More {number}") for number in range(more)]
        effect = ink("Effect Matt", "varnish", effect=True)
        plan = plan_press(job(*inks, *extra, effect, on=press(6), coating=None))
        assert conflict(plan) == [("effect-before-coat", "Effect Matt")]
