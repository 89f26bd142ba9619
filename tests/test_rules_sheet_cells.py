"""Blanks side by side on a laid-out sheet: gutters, strays, codes, the inside, several versions."""

from typing import Any

import pytest

from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing, Point
from tests.house import SIX_UNITS, Case, judged, prove

BLUE, RED, WHITE, BLACK = (0.9, 0.4, 0, 0), (0, 0.9, 0.8, 0), (0, 0, 0, 0), (0, 0, 0, 1)
AT, WIDE, HIGH, FOLDS = (20.0, 20.0), 60.0, 40.0, (12.0, 36.0, 48.0)
"""A sleeve: its cut on the page of the one-up."""
SMALL = {**SIX_UNITS, "sheet": {"smallest": "80 x 80 mm", "largest": "300 x 220 mm"}}
SIZE = {"size": "260 x 160 mm"}


def sleeve(page: Drawing, x: float, y: float, *, left=BLUE, right=BLUE, upright: bool = False) -> None:
    """A sleeve with a ground of two halves that bleeds, and its die."""

    def at(px: float, py: float) -> Point:
        return (x - py, y + px) if upright else (x + px, y + py)

    for ink, x0, x1 in ((left, -3, WIDE / 2), (right, WIDE / 2, WIDE + 3)):
        if ink is not None:
            page.fill(ink, points=[at(x0, -3), at(x1, -3), at(x1, HIGH + 3), at(x0, HIGH + 3)])


def die(page: Drawing, x: float, y: float, folds=FOLDS) -> None:
    page.gs(OP=True)
    page.stroke("Cutting", [(x, y), (x + WIDE, y), (x + WIDE, y + HIGH), (x, y + HIGH)])
    for fold in folds:
        page.stroke("Creasing", [(x + fold, y), (x + fold, y + HIGH)], close=False)
    page.gs(OP=False)


def one_up(left=BLUE, right=BLUE, *, folds=FOLDS, code: str = "", patch=None) -> Drawing:
    page = Drawing(100, 80)
    sleeve(page, *AT, left=left, right=right)
    if patch:
        page.fill(patch, rect=(35, 30, 45, 40))
    if code:
        bars(page, code)
    die(page, *AT, folds)
    return page


CODE = (36.0, 28.0, 54.0, 46.0)


def bars(page: Drawing, way: str) -> None:
    """A code of upright or level bars, or of squares, on white."""
    x0, y0, x1, y1 = CODE
    page.fill(WHITE, rect=CODE)
    for k in range(14):
        for m in range(14 if way == "squares" else 1):
            if way == "squares" and (k * 5 + m * 3 + k * m) % 2:
                page.fill(BLACK, rect=(x0 + 1.2 * k, y0 + 1.2 * m, x0 + 1.2 * k + 1.2, y0 + 1.2 * m + 1.2))
        if way == "upright":
            page.fill(BLACK, rect=(x0 + 0.5 + 1.2 * k, y0, x0 + 1.1 + 1.2 * k, y1))
        if way == "level":
            page.fill(BLACK, rect=(x0, y0 + 0.5 + 1.2 * k, x1, y0 + 1.1 + 1.2 * k))


def laid(*blanks: dict[str, Any], **more) -> dict[str, Any]:
    """A ticket that lays blanks at x, y."""
    keys = [{key: f"{value} mm" if key in "xy" else value for key, value in blank.items()} for blank in blanks]
    return {"artwork_is": "one-up", "sheet": SIZE, "layout": {"blanks": keys}, **more}


def beside(gutter_mm: float, turn: int = 0, **more) -> dict[str, Any]:
    return laid({"x": 20, "y": 30}, {"x": 80 + gutter_mm, "y": 30, "turn": turn}, **more)


def sheet(*, gap_mm: float = 6, left=BLUE, right=BLUE, stray=None, stray_ink=RED, third: bool = True) -> Drawing:
    """A sheet from outside with three sleeves in a row, and ink where it should not be."""
    page = Drawing(260, 100)
    places = [(20 + n * (WIDE + gap_mm), 30) for n in range(3 if third else 1)]
    for n, (x, y) in enumerate(places):
        sleeve(page, x, y, left=left, right=right)
        page.fill(WHITE, rect=(x + 0 if n else x, y, x + 14, y + HIGH))
    if stray:
        page.fill(stray_ink, rect=stray)
    for place in places:
        die(page, *place)
    return page


OUTSIDE = {"artwork_is": "sheet", "gripper_edge": "bottom"}
FLAP = [{"is": "glue flap", "box": [20, 30, 32, 70]}]
ON_FLAP = {**OUTSIDE, "areas": FLAP}
PRINT_FREE = [{"is": "code", "box": [20, 40, 30, 60]}]
SECOND = 20 + WIDE + 6
"""Left edge of the second sleeve."""


def gutters(name, expect, draw, ticket, **more):
    return Case("gutter-under-two-bleeds", name, expect, draw, ticket, SMALL, **more)


def two() -> Drawing:
    return one_up(BLUE, RED)


def strays(name, expect, draw, ticket=OUTSIDE, **more):
    return Case("stray-of-neighbour", name, expect, draw, ticket, SMALL, **more)


def codes(name, expect, way, ticket, **more):
    return Case("code-turned-across-travel", name, expect, lambda: one_up(code=way), ticket, SMALL, **more)


A_CODE = {"areas": [{"is": "code", "box": list(CODE)}]}


def inside(name, expect, front, back, **more):
    files = [{"file": "art.pdf", "side": "outside"}, {"file": "back.pdf", "side": "inside"}]
    ticket = beside(6, artwork=files)
    return Case("inside-not-mirrored", name, expect, front, ticket, SMALL, others={"back.pdf": back}, **more)


def odd(folds=(12, 36, 48), shift: float = 0, no_die: bool = False, size=(100, 80)) -> Drawing:
    page = Drawing(*size)
    page.fill("Recipe", rect=(40, 30, 60, 40))
    if not no_die:
        die(page, *AT, [fold + shift for fold in folds])
    return page


MIRRORED = tuple(WIDE - fold for fold in FOLDS)


def versions(names=("Mint", "Sage"), ups=(2, 1), **more) -> dict[str, Any]:
    """A ticket of two versions, each so many up."""
    order = [name for name, count in zip(names, ups, strict=True) for _ in range(count)]
    blanks = [{"x": 20 + 70 * n, "y": 30, "version": name} for n, name in enumerate(order)]
    files = [{"file": "art.pdf", "version": names[0]}, {"file": "two.pdf", "version": names[1]}]
    return laid(*blanks, artwork=files, **more)


def combined(rule, name, expect, ticket, first="Mint", second="Sage", press=SMALL, **more):
    return Case(
        rule, name, expect, lambda: one_up(patch=first), ticket, press,
        others={"two.pdf": lambda: one_up(patch=second)}, **more,
    )  # fmt: skip


def dust_flaps() -> Drawing:
    """A tuck carton with a ground on one dust flap at its top, and none at its foot."""
    carton = reverse_tuck(at=(10, 10))
    page = Drawing(215, 200)
    page.fill("Mill Brown", rect=(88, 150, 112, 172))
    draw_die(page, carton)
    return page


def stacked(gap_mm: float) -> dict[str, Any]:
    """Two tuck cartons one behind the other, their dust flaps so far apart; lids and panels 3 mm further."""
    places = [{"x": "20 mm", "y": "20 mm"}, {"x": "20 mm", "y": f"{158 + gap_mm} mm"}]
    return {"artwork_is": "one-up", "sheet": {"size": "240 x 370 mm"}, "layout": {"blanks": places}}


def flaps(name, expect, gap_mm, **more):
    press = {**SIX_UNITS, "sheet": {"smallest": "80 x 80 mm", "largest": "500 x 400 mm"}}
    return Case("gutter-under-two-bleeds", name, expect, dust_flaps, stacked(gap_mm), press, **more)


THREE = {**SMALL, "line": SIX_UNITS["line"][:3]}
COUNTED = {"quantity": "30000", "quantities": {"Mint": "20000"}}
CASES = [
    gutters("a gutter of 4 mm between two colours", "warn", two, beside(4), measured=2.0, near=(79, 20, 81, 60)),
    gutters("a gutter of 3 mm", "fail", two, beside(3), measured=1.5),
    gutters("a gutter that is no whole pixel", "fail", two, beside(3.3), measured=1.65),
    gutters("one knife for two colours", "fail", two, beside(0), measured=0, case="common knife"),
    gutters("one knife for colour and bare board", "fail", lambda: one_up(BLUE, None), beside(0), case="common knife"),
    gutters("colour beside bare board", "fail", lambda: one_up(BLUE, None), beside(2), measured=1.0),
    gutters("a sheet from outside", "warn", lambda: sheet(gap_mm=4, right=RED), OUTSIDE, measured=2.0),
    gutters("two bleeds", "pass", two, beside(6)),
    gutters("like colours meet where one is turned", "pass", two, beside(2, 180)),
    gutters("one knife, one colour", "pass", one_up, beside(0)),
    gutters("one knife, no ink", "pass", lambda: one_up(None, None, patch=BLUE), beside(0)),
    flaps("dust flaps 1.6 mm apart", "warn", 1.6, case="hidden flap", measured=0.8),
    flaps("dust flaps 3 mm apart", "pass", 3),
    gutters("no sheet size", "not checked", two, {**beside(3), "sheet": {}}),
    strays("a strip of another colour", "warn", lambda: sheet(stray=(SECOND + 57, 40, SECOND + 66, 60)), case=""),
    strays("on the glue flap", "fail", lambda: sheet(stray=(SECOND - 6, 40, SECOND + 2, 60)), ON_FLAP,
           case="glue flap", measured=2.0, near=(SECOND, 40, SECOND + 2, 60)),
    strays("in a code area", "fail", lambda: sheet(stray=(SECOND - 6, 40, SECOND + 2, 60)),
           {**OUTSIDE, "areas": PRINT_FREE}, case="code"),
    strays("only in the gutter", "pass", lambda: sheet(stray=(SECOND - 6, 40, SECOND, 60))),
    strays("on all of them: their own", "pass", lambda: sheet(right=RED)),
    strays("stepped: each ends where the next begins", "pass", two, beside(2)),
    strays("the only one of its kind", "not checked",
           lambda: sheet(stray=(SECOND + 20, 35, SECOND + 50, 65)), OUTSIDE),
    codes("turned by 90 degrees", "warn", "upright", laid({"x": 20, "y": 30}, {"x": 90, "y": 30, "turn": 90}, **A_CODE),
          measured=1),
    codes("level bars", "warn", "level", beside(6, 180, **A_CODE), measured=2, near=CODE),
    codes("tumbled", "pass", "upright", beside(6, 180, **A_CODE)),
    codes("level bars on blanks that lie", "pass", "level", laid({"x": 20, "y": 30, "turn": 270}, **A_CODE)),
    codes("a code of squares", "not checked", "squares", laid({"x": 20, "y": 30, "turn": 90}, **A_CODE)),
    codes("no code known", "not checked", "level", beside(6)),
    inside("not mirrored", "fail", one_up, odd, case="other way round", measured=12),
    inside("another carton", "fail", one_up, lambda: odd((15, 30, 50)), case="another die"),
    inside("half a millimetre off", "fail", one_up, lambda: odd(MIRRORED, 0.5), case="", measured=0.5),
    inside("mirrored", "pass", one_up, lambda: odd(MIRRORED)),
    inside("mirrored on another page", "pass", one_up, lambda: odd(MIRRORED, size=(120, 90))),
    Case("inside-not-mirrored", "no artwork is an inside, and the sheet is not known", "pass", one_up,
         laid({"x": 20, "y": 30, "version": "Mint"}, {"x": 86, "y": 30, "version": "Sage"},
              artwork=[{"file": "art.pdf", "version": "Mint"}]), SMALL),
    inside("no die inside", "not checked", one_up, lambda: odd(no_die=True)),
    combined("combined-inks-over-units", "four inks on three units", "fail", versions(), press=THREE, measured=4),
    combined("combined-inks-over-units", "four inks on six units", "pass", versions()),
    combined("combined-inks-over-units", "one spot for both", "pass", versions(), second="Mint", press=THREE),
    combined("version-over-run", "as many of each, in unlike quantities", "warn",
             versions(ups=(1, 1), **COUNTED), measured=100),
    combined("version-over-run", "two to one as ordered", "pass", versions(**COUNTED)),
    combined("version-over-run", "nobody says how many", "not checked", versions()),
]  # fmt: skip


@pytest.mark.parametrize("together", [False, True])
def test_other_files_are_said_not_to_be_used_where_only_the_first_is_looked_at(together, tmp_path):
    odd(MIRRORED).save(tmp_path / "back.pdf")
    others = {"back.pdf": lambda: odd(MIRRORED)} if together else {}
    files = [{"file": "art.pdf", "side": "outside"}, {"file": "back.pdf", "side": "inside"}]
    case = Case("inside-not-mirrored", "", "pass", one_up, beside(6, artwork=files), SMALL, others=others)
    told = [item.because for item in judged(case, tmp_path).not_checked]
    assert any("files after the first" in because for because in told) is not together


@pytest.mark.parametrize("case", CASES, ids=str)
def test_sheet_cells(case, tmp_path):
    prove(case, tmp_path)
