"""Inks, coating, goods, grain and piles against board and press."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.judging.judge import judge
from preflight.setup.plan_request import OnPress
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.house import SIX_UNITS, Case, job_of, judged, printed, prove, units, with_die

ONE_UP = {"artwork_is": "one-up"}
METALLISED = {"surface": "metallised"}


def case(rule, name, expect, draw=None, **more):
    more.setdefault("ticket", ONE_UP)
    return Case(rule, name, expect, draw or (lambda: printed("Cyan", "Rose")), **more)


def said(**more):
    return {**ONE_UP, **more}


INKS = [
    case("ink-unfit-for-board", "oxidising on metallised board", "fail", case="metallised",
         ticket=said(ink_system="oxidising", board=METALLISED)),
    case("ink-unfit-for-board", "oxidising on film", "fail", case="film",
         ticket=said(ink_system="oxidising", board={"surface": "film"})),
    case("ink-unfit-for-board", "one oxidising spot among UV inks", "fail", case="metallised",
         ticket=said(ink_system="uv", board=METALLISED, separations={"Rose": {"ink_system": "oxidising"}})),
    case("ink-unfit-for-board", "UV on metallised board", "pass", ticket=said(ink_system="uv", board=METALLISED)),
    case("ink-unfit-for-board", "oxidising on white board", "pass",
         ticket=said(ink_system="oxidising", board={"surface": "white"})),
    case("ink-unfit-for-board", "oxidising on kraft and grey", "pass",
         ticket=said(ink_system="oxidising", board={"surface": "kraft"})),
    case("ink-unfit-for-board", "a varnish that oxidises is no ink", "pass",
         lambda: printed("Cyan", "Gloss Varnish"),
         ticket=said(ink_system="uv", board=METALLISED, separations={"Gloss Varnish": {"ink_system": "oxidising"}})),
    case("ink-unfit-for-board", "no surface", "not checked", ticket=said(ink_system="oxidising")),
    case("ink-unfit-for-board", "no ink system", "not checked", ticket=said(board=METALLISED)),
    case("ink-unfit-for-coating", "UV coating on oxidising ink", "fail", case="uv",
         ticket=said(ink_system="oxidising", coating={"kind": "uv"})),
    *(case("ink-unfit-for-coating", f"{kind} coating on oxidising ink", "fail", case=kind,
           ticket=said(ink_system="oxidising", coating={"kind": kind})) for kind in ("led-uv", "low-energy-uv")),
    case("ink-unfit-for-coating", "water-based coating on UV ink", "warn", case="water-based",
         ticket=said(ink_system="uv", coating={"kind": "water-based"})),
    case("ink-unfit-for-coating", "over a primer", "pass", lambda: printed("Cyan", "Primer"), case="over a primer",
         ticket=said(ink_system="oxidising", coating={"kind": "uv"}, separations={"Primer": "primer"})),
    case("ink-unfit-for-coating", "over a primer from the coater before", "pass", case="over a primer",
         ticket=said(ink_system="oxidising", coating={"kind": "uv"}),
         press=units({"unit": {}}, {"coater": {"takes": ["primer"]}}, {"coater": {"takes": ["uv"]}})),
    case("ink-unfit-for-coating", "a primer coater behind the coating", "fail", case="uv",
         ticket=said(ink_system="oxidising", coating={"kind": "uv"}),
         press=units({"unit": {}}, {"coater": {"takes": ["uv"]}}, {"coater": {"takes": ["primer"]}})),
    case("ink-unfit-for-coating", "water-based coating on oxidising ink", "pass",
         ticket=said(ink_system="oxidising", coating={"kind": "water-based"})),
    case("ink-unfit-for-coating", "UV coating on hybrid ink", "pass",
         ticket=said(ink_system="hybrid", coating={"kind": "uv"})),
    case("ink-unfit-for-coating", "nothing coated", "pass", ticket=said(ink_system="oxidising", coating="none")),
    case("ink-unfit-for-coating", "nobody says", "not checked", ticket=said(ink_system="oxidising")),
    case("metallic-with-uv", "a UV metallic", "warn", lambda: printed("Copper"), ticket=said(ink_system="uv")),
    case("metallic-with-uv", "a metallic under UV coating", "warn", lambda: printed("Copper"),
         ticket=said(ink_system="oxidising", coating={"kind": "uv"})),
    case("metallic-with-uv", "an oxidising metallic under water-based coating", "pass", lambda: printed("Copper"),
         ticket=said(ink_system="oxidising", coating={"kind": "water-based"})),
    case("metallic-with-uv", "UV inks and no metallic", "pass", ticket=said(ink_system="uv")),
    case("metallic-with-uv", "nobody says", "not checked", lambda: printed("Copper")),
]  # fmt: skip

EFFECT = {"Effect Matt": {"kind": "varnish", "effect": True}}


def effect(**more):
    return case("effect-varnish-uncoated", draw=lambda: printed("Cyan", "Effect Matt", "Gloss Varnish"), **more)


EFFECTS = [
    effect(name="nothing coated", expect="fail", ticket=said(separations=EFFECT, coating="none")),
    effect(name="coated in a pattern", expect="warn", case="pattern",
           ticket=said(separations=EFFECT, coating={"kind": "uv", "area": "Gloss Varnish"})),
    effect(name="coated overall", expect="pass", ticket=said(separations=EFFECT, coating={"kind": "uv"})),
    effect(name="a plain matt varnish", expect="pass", ticket=said(coating="none")),
    effect(name="nobody says", expect="not checked", ticket=said(separations=EFFECT)),
]  # fmt: skip


def matt(name, expect, ink="Matt Varnish", **keys):
    told = {key: value for key, value in {"coating": {"kind": "uv"}, **keys}.items() if value is not None}
    return case(
        "matt-varnish-covered", name=name, expect=expect, draw=lambda: printed("Cyan", ink), ticket=said(**told)
    )


MATTS = [
    matt("a plain matt varnish under overall UV", "warn"),
    matt("a German one", "warn", ink="Mattlack"),
    matt("an effect varnish under overall UV", "pass", separations={"Matt Varnish": {"effect": True}}),
    matt("said to be a plain one", "pass", separations={"Matt Varnish": {"effect": False}}),
    matt("nothing coated", "pass", coating="none"),
    matt("coated in a pattern", "pass", coating={"kind": "uv", "area": "Gloss Varnish"}),
    matt("a water-based coating, which may be matt itself", "pass", coating={"kind": "water-based"}),
    matt("a gloss varnish under overall UV", "pass", ink="Gloss Varnish"),
    matt("an ink that is called matt", "pass", ink="Matt Blue"),
    matt("nobody says", "not checked", coating=None),
]


def goods(name, expect, **more):
    return case("inks-unfit-for-goods", name, expect, ticket=said(goods=more.pop("goods")), **more)


GOODS = [
    goods("ordinary inks and nothing between", "fail", case="indirect",
          goods={"type": "food", "contact": "indirect", "low_migration": False}),
    goods("ordinary inks inside, touching", "fail", case="direct",
          goods={"type": "food", "contact": "direct", "printed_side": "inside", "low_migration": False}),
    goods("low migration inside, touching", "warn", case="direct",
          goods={"type": "food", "contact": "direct", "printed_side": "both", "low_migration": True}),
    goods("low migration", "pass", goods={"type": "food", "contact": "indirect", "low_migration": True}),
    goods("food touches the side that is not printed", "pass",
          goods={"type": "food", "contact": "direct", "printed_side": "outside", "low_migration": True}),
    goods("behind a barrier", "pass", case="behind a barrier",
          goods={"type": "medicine", "contact": "indirect", "barrier": True, "low_migration": False}),
    goods("goods in a tin", "pass", goods={"type": "food", "contact": "none"}),
    goods("toys", "pass", goods={"type": "toys", "low_migration": False}),
    goods("tea is food for the rule as it is for the set-up", "fail", case="indirect",
          goods={"type": "Tea, green", "contact": "indirect", "low_migration": False}),
    goods("goods that no list has", "not checked", goods={"type": "widgets", "low_migration": False}),
    goods("nobody says how they meet", "not checked", goods={"type": "food"}),
    goods("nobody says which inks", "not checked", goods={"type": "food", "contact": "indirect"}),
    case("medicine-versions-together", "two strengths by their quantities", "fail", measured=2,
         ticket=said(goods={"type": "medicine"}, quantities={"20 mg": 6000, "40 mg": 6000})),
    case("medicine-versions-together", "quality agreed", "pass",
         ticket=said(goods={"type": "medicine", "versions_agreed": "AB"}, quantities={"20 mg": 6000, "40 mg": 6000})),
    case("medicine-versions-together", "one strength", "pass",
         ticket=said(goods={"type": "medicine"}, quantities={"20 mg": 6000})),
    case("medicine-versions-together", "two flavours of tea", "pass",
         ticket=said(goods={"type": "food"}, quantities={"Mint": 6000, "Sage": 6000})),
    case("medicine-versions-together", "nobody says what goes in", "not checked",
         ticket=said(quantities={"Mint": 6000, "Sage": 6000})),
]  # fmt: skip


def clearance(name, expect, before, **goods):
    return case("line-clearance-missing", name, expect, ticket=said(goods=goods), before=before)


CLEARANCE = [
    clearance("food after other goods, and nobody signed", "fail", OnPress(goods="toys"), type="food"),
    clearance("signed: a paper is no clean press", "not checked", OnPress(goods="toys"), type="food",
              line_clearance="AB"),
    clearance("nobody knows what was before", "not checked", None, type="food"),
    clearance("nobody knows what goods those were", "not checked", OnPress(), type="food"),
    clearance("goods before that no list has", "not checked", OnPress(goods="widgets"), type="food"),
    clearance("food after food", "pass", OnPress(goods="dry food"), type="food"),
    clearance("hardware after toys", "pass", OnPress(goods="toys"), type="hardware"),
]  # fmt: skip

TURNING: list[dict[str, Any]] = [
    *({"unit": {}} for _ in range(4)),
    {"turn": {"caliper": "0.1 mm to 0.6 mm"}},
    {"unit": {}},
]


def sides(name, expect, press=SIX_UNITS, **more):
    return case("sides-not-in-one-pass", name, expect, press=press, **more)


BOARD = {"caliper": "0.4 mm", "weight": "300 g/m2"}
SIDES = [
    sides("both sides, and no drum", "warn", case="no turn", ticket=said(goods={"printed_side": "both"})),
    sides("both sides, too thick", "fail", units(*TURNING), case="too thick to turn",
          ticket=said(goods={"printed_side": "both"}, board={"caliper": "0.8 mm"})),
    sides("both sides, turned", "pass", units(*TURNING), ticket=said(goods={"printed_side": "both"}, board=BOARD)),
    sides("a file for the back, and one that is no more than the artwork", "warn", case="no turn",
          ticket=said(artwork=[{"file": "art.pdf"}, {"file": "art.pdf", "side": "Inside"}])),
    sides("two files for the front", "pass",
          ticket=said(artwork=[{"file": "art.pdf", "side": "front"}, {"file": "art.pdf", "side": "Front "}])),
    sides("one side", "pass", ticket=said(goods={"printed_side": "outside"})),
    sides("nobody tells of a second side", "pass"),
    sides("no press", "not checked", None),
    sides("no caliper", "not checked", units(*TURNING), ticket=said(goods={"printed_side": "both"})),
]  # fmt: skip


def pile(mass, **more):
    return units(pile={"feeder": "1000 mm", "delivery": "1000 mm", **({"mass": mass} if mass else {}), **more})


# carton-press.md 7.9: 720 x 1020 mm, 300 g/m2, 0.40 mm, 1000 mm of board: 2,500 sheets, 550.8 kg;
# 576 kg with a pallet of 25 kg.
WORKED = {"sheet": {"size": "1020 x 720 mm"}, "board": BOARD}
PILES = [
    case("pile-too-heavy", "the worked pile on a press for 500 kg", "warn", ticket=WORKED, press=pile("500 kg"),
         measured=575.8),
    case("pile-too-heavy", "the worked pile on a press for 600 kg", "pass", ticket=WORKED, press=pile("600 kg")),
    case("pile-too-heavy", "lower piles", "pass", ticket=WORKED,
         press=pile("500 kg", feeder="800 mm", delivery="700 mm")),
    case("pile-too-heavy", "the press does not say", "not checked", ticket=WORKED, press=pile(None)),
    case("pile-too-heavy", "no weight", "not checked", press=pile("500 kg"),
         ticket={"sheet": {"size": "1020 x 720 mm"}, "board": {"caliper": "0.4 mm"}}),
]  # fmt: skip


def two_cartons(*, turned: bool = False) -> Drawing:
    """Two cartons whose body creases stand upright, on a sheet of 500 x 320 mm or turned."""
    page = Drawing(500, 320)
    for x in (20, 240):
        with_die(page, reverse_tuck(at=(x, 30)))
    return page


def on_sheet(grain, edge="bottom", **board):
    return {"artwork_is": "sheet", "gripper_edge": edge, "board": {"grain": grain, **board}}


GRAIN = [
    case("grain-against-creases", "the ticket wants it along the body creases", "warn", case="as asked",
         ticket=said(board={"grain_on_blank": "along"})),
    case("grain-against-creases", "the ticket wants it round the body", "pass",
         ticket=said(board={"grain_on_blank": "across"})),
    case("grain-against-creases", "either way will do", "pass", ticket=said(board={"grain_on_blank": "any"})),
    case("grain-against-creases", "along the travel, creases too", "warn", two_cartons, case="on the sheet",
         ticket=on_sheet("along")),
    case("grain-against-creases", "across the press, creases along the travel", "pass", two_cartons,
         ticket=on_sheet("across")),
    case("grain-against-creases", "across the press, the sheet travels sideways", "warn", two_cartons,
         case="on the sheet", ticket=on_sheet("across", "left")),
    case("grain-against-creases", "along as the ticket wants", "pass", two_cartons,
         ticket=on_sheet("along", grain_on_blank="along")),
    case("grain-against-creases", "across, and the ticket wants it along", "warn", two_cartons, case="on the sheet",
         ticket=on_sheet("across", grain_on_blank="along")),
    case("grain-against-creases", "a one-up, and only the sheet's grain", "not checked",
         ticket=said(board={"grain": "across"})),
    case("grain-against-creases", "no die", "not checked",
         lambda: Drawing(200, 200).fill("Rose", rect=(20, 20, 90, 90)),
         ticket=said(board={"grain_on_blank": "along"})),
]  # fmt: skip

CASES = [*INKS, *EFFECTS, *MATTS, *GOODS, *CLEARANCE, *SIDES, *PILES, *GRAIN]


@pytest.mark.parametrize("each", CASES, ids=str)
def test_case(each, tmp_path):
    prove(each, tmp_path)


def test_a_signed_clearance_names_who_signed(tmp_path):
    signed = next(each for each in CLEARANCE if each.name.startswith("signed"))
    (open_rule,) = judged(signed, tmp_path).not_checked
    assert "AB has signed" in open_rule.because


def test_a_plant_that_folds_along_the_grain(tmp_path):
    """Both schools are there; the other one is a line in a plant's own rules."""
    from preflight.judging.rulebook import load_rules

    (tmp_path / "plant.yaml").write_text("- rule: grain-against-creases\n  with: {grain: along}\n")
    job = job_of(printed("Cyan"), tmp_path, said(board={"grain_on_blank": "along"}), SIX_UNITS)
    assert judge(job, load_rules(tmp_path / "plant.yaml"), only={"grain-against-creases"}).passed
