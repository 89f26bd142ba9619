"""Creases that lie too close to each other, and creases on the cut."""

import pytest

from tests.cartons import draw_die, reverse_tuck
from tests.die_lines import in_pieces
from tests.drawn import Drawing
from tests.house import CARTON, Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
FOLD_X, LOW, TOP, RIGHT = 85.0, 55.0, 145.0, 205.0
"""The crease between panels 1 and 2, the ends of the body, and the cut at the right."""


def creases(*lines: list[tuple[float, float]], dash_mm=(), loose: bool = False, page: Drawing | None = None) -> Drawing:
    """The carton's die and more creases."""
    page = with_die(page or blank_page()).gs(OP=True)
    for line in lines:
        for piece in [p.points.tolist() for p in in_pieces(line, 3, 1.5)] if loose else [line]:
            page.stroke("Creasing", [tuple(point) for point in piece], close=False, dash_mm=dash_mm)
    return page.gs(OP=False)


def upright(x: float, low: float = LOW, top: float = TOP) -> list[tuple[float, float]]:
    return [(x, low), (x, top)]


def turned(page: Drawing, degrees: int = 90) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def inside_a_form(*lines: list[tuple[float, float]]) -> Drawing:
    page = creases(*lines)
    inner = "\n".join(page.ops)
    page.ops.clear()
    return page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 300, 300))} Do")


def curved(apart_mm: float) -> Drawing:
    """Two curved creases inside panel 1, one beside the other."""
    arc = [(30.0 + n, 80 + 0.01 * n**2) for n in range(41)]
    return creases(arc, [(x, y + apart_mm) for x, y in arc])


def two_up() -> Drawing:
    page = Drawing(430, 200)
    draw_die(page, CARTON)
    draw_die(page, reverse_tuck(at=(220, 10)))
    return page


def cut_crease() -> Drawing:
    """A crease across panel 1 with cuts in it, so that it folds more easily."""
    page = creases([(25, 100), (85, 100)]).gs(OP=True)
    for piece in in_pieces([(28, 100), (82, 100)], 6, 6):
        page.stroke("Cutting", [tuple(point) for point in piece.points], close=False)
    return page.gs(OP=False)


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


DOUBLED, ON_CUT = "crease-doubled", "crease-on-cut"
CASES = [
    case(DOUBLED, "0.7 mm apart", "warn", lambda: creases(upright(FOLD_X + 0.7)), measured=0.7,
         near=(84, LOW, 86, TOP)),
    case(DOUBLED, "0.3 mm apart", "warn", lambda: creases(upright(FOLD_X - 0.3)), measured=0.3),
    case(DOUBLED, "dashed", "warn", lambda: creases(upright(FOLD_X + 0.7), dash_mm=(3, 1.5)), measured=0.7),
    case(DOUBLED, "in loose dashes", "warn", lambda: creases(upright(FOLD_X + 0.7), loose=True), measured=0.7),
    case(DOUBLED, "a short second one", "warn", lambda: creases(upright(FOLD_X + 0.7, 90, 110)), measured=0.7,
         near=(84, 90, 86, 110)),
    case(DOUBLED, "level, on a lid", "warn", lambda: creases([(25, 175.8), (85, 175.8)]), measured=0.8),
    case(DOUBLED, "on a page that is turned", "warn", lambda: turned(creases(upright(FOLD_X + 0.7))), measured=0.7,
         near=(LOW, 129, TOP, 131)),
    case(DOUBLED, "inside a form", "warn", lambda: inside_a_form(upright(FOLD_X + 0.7)), measured=0.7),
    case(DOUBLED, "curved", "warn", lambda: curved(0.7)),
    case(DOUBLED, "on one blank of a sheet", "warn",
         lambda: creases(upright(FOLD_X + 0.7), page=two_up()), ticket={"artwork_is": "sheet"}, measured=0.7),
    case(DOUBLED, "none", "pass", lambda: creases()),
    case(DOUBLED, "a double crease for thick goods", "pass", lambda: creases(upright(FOLD_X + 2))),
    case(DOUBLED, "drawn twice", "pass", lambda: creases(upright(FOLD_X))),
    case(DOUBLED, "curved, 2 mm apart", "pass", lambda: curved(2.0)),
    case(DOUBLED, "steps of half a millimetre from panel to panel", "pass",
         lambda: creases([(30, 100), (54, 100)], [(54, 100.5), (80, 100.5)])),
    case(DOUBLED, "two that cross", "pass", lambda: creases([(30, 90), (80, 110)], [(30, 110), (80, 90)])),
    case(DOUBLED, "no die", "not checked", blank_page),
    case(ON_CUT, "at the right", "warn", lambda: creases(upright(RIGHT)), measured=90, near=(204, LOW, 206, TOP)),
    case(ON_CUT, "0.2 mm inside it", "warn", lambda: creases(upright(RIGHT - 0.2)), measured=90),
    case(ON_CUT, "in loose dashes", "warn", lambda: creases(upright(RIGHT), loose=True)),
    case(ON_CUT, "on a window's edge", "warn",
         lambda: with_die(creases([(40, 80), (70, 80)])).stroke("Cutting", [(40, 80), (70, 80), (70, 110), (40, 110)]),
         measured=30),
    case(ON_CUT, "on a page that is turned", "warn", lambda: turned(creases(upright(RIGHT))),
         near=(LOW, 9, TOP, 11)),
    case(ON_CUT, "inside a form", "warn", lambda: inside_a_form(upright(RIGHT))),
    case(ON_CUT, "none", "pass", lambda: creases()),
    case(ON_CUT, "1 mm inside the cut", "pass", lambda: creases(upright(RIGHT - 1))),
    case(ON_CUT, "over the cut and past it", "pass", lambda: creases([(150, 100), (215, 100)])),
    case(ON_CUT, "a cut-crease", "pass", cut_crease),
    case(ON_CUT, "a sheet", "pass", two_up, ticket={"artwork_is": "sheet"}),
    case(ON_CUT, "no die", "not checked", blank_page),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_creases(case, tmp_path):
    prove(case, tmp_path)
