"""What the sheet wants of the ink keys: too little, too much, unlike pictures in one lane, ghosts, steps."""

from __future__ import annotations

import pytest

from preflight.judging.judge import judge
from tests.house import Case, job_of, judged, printed, prove, rulebook, units
from tests.key_sheets import Drawn, patch, plates, sheet

KEYS = {"count": "31", "pitch": "33 mm"}
PRESS = units(ink_keys=KEYS)
"""On a sheet of 1020 mm strip 1 begins 1.5 mm before the sheet, strip k at 33 k - 34.5."""
FEW_KEYS = units(ink_keys={"count": "20", "pitch": "33 mm"})
"""660 mm: on a sheet of 1020 mm from 180 to 840."""
BLANK = (315.0, 210.0)
GRID = [(15 + 330 * k, 20 + 220 * row) for row in range(3) for k in range(3)]
"""Nine blanks in three lanes, 15 mm apart."""


def grid(*drawn: Drawn, turns: tuple[int, ...] = (0,) * 9, **more):
    """Nine blanks; the drawings follow each other, the first one again behind the last."""
    pages = [plates(*BLANK, each, dpi=50.8) for each in drawn]
    versions = [f"V{n % len(pages)}" for n in range(9)] if len(pages) > 1 else ()
    return sheet([(pages[n % len(pages)], at, turns[n]) for n, at in enumerate(GRID)], versions=versions, **more)


def column(drawn: Drawn):
    """Three alike blanks one behind the other at the left of the sheet."""
    page = plates(*BLANK, drawn, dpi=50.8)
    return sheet([(page, at, 0) for at in GRID if at[0] < 300])


def ground(ink: str = "Cyan", tint: float = 0.3, box=(-3, -3, 318, 213)):
    return (ink, tint, box)


BAR = [patch("Fen Blue", (20 + 33 * k, 690, 25 + 33 * k, 696)) for k in range(30)]


def fen_blue(*, bar: bool = False):
    """A line of 1 mm over the middle blanks, a ground on the others: in lanes 12 to 21 there is 0.4 % of it."""
    thin = [("Fen Blue", 1.0, (0, 100, 315, 101))]
    drawn = [plates(*BLANK, each, dpi=101.6) for each in ([ground("Fen Blue")], thin, [ground("Fen Blue")])]
    return sheet([(drawn[n % 3], at, 0) for n, at in enumerate(GRID)], marks=BAR if bar else ())


def narrow_end():
    """A ground of 20 % that ends 4 mm into a lane: the rollers bring the ink of the lane beside."""
    return grid([ground(tint=0.2, box=(0, 0, 160, 210))])


def letters(y: float, height: float, solid=(20, 20, 295, 190), count: int = 8):
    """A solid with a row of white bars knocked out of it."""
    gaps = [("Cyan", 0.0, (40 + 30 * k, y, 52 + 30 * k, y + height)) for k in range(count)]
    return [("Cyan", 1.0, solid), *gaps]


FRAME = [("Cyan", 1.0, (20, 20, 295, 190)), ("Cyan", 0.0, (100, 40, 220, 120))]


def case(rule, name, expect, lay, **more):
    return Case(rule, name, expect, lambda: printed("Cyan"), lay=lay, **{"press": PRESS, **more})


CASES = [
    case("key-demand-low", "a thin line is all of it in ten lanes", "note", fen_blue, measured=0.43),
    case("key-demand-low", "the patches of a bar make it no fuller", "note", lambda: fen_blue(bar=True)),
    case("key-demand-low", "lanes without it but for a bar", "pass",
         lambda: sheet([(plates(*BLANK, [ground("Fen Blue")]), (15, 20), 0)], (1020, 260), marks=BAR)),
    case("key-demand-low", "a ground ends a little into a lane", "pass", narrow_end),
    case("key-demand-low", "the press has no keys in its profile", "not checked", fen_blue),
    case("lane-cover-high", "solids from gripper to tail", "warn", lambda: grid([ground(tint=1.0)]), measured=90),
    case("lane-cover-high", "a tint of 60 %", "pass", lambda: grid([ground(tint=0.6)])),
    case("lane-cover-high", "solids over half of the length", "pass",
         lambda: grid([ground(tint=1.0, box=(0, 0, 315, 100))])),
    case("lane-demands-opposite", "a heavy blue in the lane of a pale picture", "warn",
         lambda: grid([ground(tint=0.9)], [ground(tint=0.1)]), measured=80),
    case("lane-demands-opposite", "each picture has its own lanes", "pass",
         lambda: grid([ground(tint=0.9)], [ground(tint=0.1)], [ground(tint=0.5)])),
    case("lane-demands-opposite", "the other blanks do not have the ink", "pass",
         lambda: grid([ground(tint=0.9)], [ground("Magenta", tint=0.9)])),
    case("lane-demands-opposite", "alike blanks, each half solid along the travel", "pass",
         lambda: grid([ground(tint=1.0, box=(0, 0, 315, 100))])),
    case("ghost-behind-knock-outs", "a solid behind a row of letters", "note", lambda: grid(letters(60, 30))),
    case("ghost-behind-knock-outs", "a solid behind the inside of a frame", "note", lambda: grid(FRAME)),
    case("ghost-behind-knock-outs", "the solid leads", "pass",
         lambda: grid([("Cyan", 1.0, (20, 20, 295, 100)), *letters(100, 90, (20, 100, 295, 190))[1:]])),
    case("ghost-behind-knock-outs", "small type knocked out", "pass", lambda: grid(letters(60, 4, count=8))),
    case("ghost-behind-knock-outs", "one half behind a picture, the other behind bare board", "pass",
         lambda: grid([("Cyan", 0.8, (20, 10, 150, 100)), ("Cyan", 1.0, (20, 100, 295, 190))])),
    case("ink-beyond-keys", "work from 15 to 990 mm, and the keys begin at 180", "warn",
         lambda: grid([ground(box=(0, 0, 315, 210))]), press=FEW_KEYS, measured=165),
    case("ink-beyond-keys", "only at one end of the sheet", "warn", lambda: column([ground()]), press=FEW_KEYS,
         measured=165),
    case("ink-beyond-keys", "the sheet is wider than the keys, and the work is not", "pass",
         lambda: sheet([(plates(*BLANK, [ground()], dpi=50.8), (345, 20), 0)]), press=FEW_KEYS),
    case("ink-beyond-keys", "marks alone lie beyond them", "pass",
         lambda: sheet([(plates(*BLANK, [ground("Fen Blue")], dpi=50.8), (345, 20), 0)], marks=BAR), press=FEW_KEYS),
    case("ink-beyond-keys", "keys all over the sheet", "pass", lambda: grid([ground()])),
    case("key-step-steep", "a solid ends in the middle of a blank", "warn",
         lambda: grid([ground(tint=1.0, box=(0, 0, 163.5, 210))])),
    case("key-step-steep", "it fades out over four lanes", "pass",
         lambda: column([ground(tint=1.0 - 0.25 * k, box=(33 * k, 0, 33 * (k + 1), 210)) for k in range(4)])),
    case("key-step-steep", "it ends where the last blanks do", "pass",
         lambda: column([ground(tint=1.0)])),
]  # fmt: skip
CASES = [Case(**{**vars(each), "press": units()}) if each.expect == "not checked" else each for each in CASES]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_rule(case, tmp_path):
    prove(case, tmp_path)


def finding(rule, lay, tmp_path, press=PRESS):
    return judged(Case(rule, "", "warn", lambda: printed("Cyan"), press=press, lay=lay), tmp_path).findings[0]


def test_the_keys_and_blanks_are_named(tmp_path):
    says = finding("key-demand-low", fen_blue, tmp_path).says
    assert "keys 12 to 19 from the operator side" in says
    assert "blanks 2, 5, 8" in says


@pytest.mark.parametrize(("side", "keys"), [("left", "keys 2 to 10"), ("right", "keys 22 to 30")])
def test_keys_count_from_the_operator_side(side, keys, tmp_path):
    page = plates(*BLANK, [ground(tint=1.0)])
    made = sheet([(page, (15, 20 + 220 * row), 0) for row in range(3)], operator_side=side)
    assert f"{keys} from the operator side" in finding("lane-cover-high", lambda: made, tmp_path).says


@pytest.mark.parametrize(("side", "end"), [("left", "operator side"), ("right", "drive side")])
def test_the_end_beyond_the_keys_is_named(side, end, tmp_path):
    page = plates(*BLANK, [ground()], dpi=50.8)
    made = sheet([(page, (15, 20), 0)], operator_side=side)
    says = finding("ink-beyond-keys", lambda: made, tmp_path, FEW_KEYS).says
    assert f"Cyan prints up to 165 mm beyond the outermost key, at the {end}: 20 keys of 33 mm are 660 mm wide" in says


def test_how_the_solid_runs_is_told(tmp_path):
    page = plates(315, 640, [("Cyan", 1.0, (0, 40, 315, 640))], dpi=50.8)
    says = finding("lane-cover-high", lambda: sheet([(page, (15, 40), 0)]), tmp_path).says
    assert "Its longest solid is 600 mm along the travel and ends 20 mm from the tail." in says


def test_the_swap_that_makes_it_better_is_named(tmp_path):
    """Heavy and pale pictures in two columns; each column has one blank of the other sort."""
    heavy, pale = (plates(*BLANK, [ground(tint=tint)], dpi=50.8) for tint in (0.9, 0.1))
    order = [heavy, pale, heavy, pale, pale, heavy]
    places = [(15, 20), (345, 20), (15, 240), (345, 240), (15, 460), (345, 460)]
    made = sheet(
        [(page, at, 0) for page, at in zip(order, places, strict=True)],
        versions=["Night" if page is heavy else "Day" for page in order],
    )
    do = finding("lane-demands-opposite", lambda: made, tmp_path).do
    assert do.startswith("Swap blanks 5 and 6: the greatest difference on the sheet falls from 80 to 0 %")


def test_the_turn_that_makes_it_better_is_named(tmp_path):
    """One of three alike blanks lies the other way round."""
    half = plates(*BLANK, [ground(tint=1.0, box=(0, 0, 157.5, 210)), ground(tint=0.1, box=(157.5, 0, 315, 210))])
    made = sheet([(half, (15, 20 + 220 * row), turn) for row, turn in enumerate((0, 180, 0))])
    do = finding("lane-demands-opposite", lambda: made, tmp_path).do
    assert do.startswith("Turn blank 2 by 180°: the greatest difference on the sheet falls from 90 to 0 %")


def test_nothing_better_is_said(tmp_path):
    heavy, pale = (plates(*BLANK, [ground(tint=tint)], dpi=50.8) for tint in (0.9, 0.1))
    made = sheet([(heavy, (15, 20), 0), (pale, (15, 240), 0)], versions=["A", "B"])
    assert "No swap" in finding("lane-demands-opposite", lambda: made, tmp_path).do


def test_a_job_that_is_not_laid_out_is_not_asked(tmp_path):
    names = {rule for rule, told in rulebook().rules.items() if told.measure in ("key-step", "lane-cover")}
    judgement = judge(job_of(printed("Cyan"), tmp_path, press=PRESS), rulebook(), only=names)
    assert {each.rule for each in judgement.not_asked} == names
