"""Blanks side by side: the bleed of one over the other."""

import pytest

from tests.die_lines import rectangle
from tests.drawn import Drawing, Point
from tests.house import Case, prove

SHEET = {"artwork_is": "sheet"}
BLUE, RED, WHITE = (0.9, 0.4, 0, 0), (0, 0.9, 0.8, 0), (0, 0, 0, 0)
LEFT, LOW, WIDE, HIGH = 20.0, 20.0, 132.0, 60.0
FOLDS = (12, 52, 72, 112)


def box_of(number: int, gutter_mm: float, *, beside: bool) -> tuple[float, float, float, float]:
    """The cut of the first or second sleeve: one above, or beside, the other."""
    x = LEFT + (number * (WIDE + gutter_mm) if beside else 0)
    y = LOW + (0 if beside else number * (HIGH + gutter_mm))
    return (x, y, x + WIDE, y + HIGH)


def grown(box: tuple[float, float, float, float], by_mm: float) -> tuple[float, float, float, float]:
    return (box[0] - by_mm, box[1] - by_mm, box[2] + by_mm, box[3] + by_mm)


def pair(
    gutter_mm: float, *, bleed_mm: float = 3, beside: bool = False, inks=(RED, BLUE), last: int = 1,
    frame_mm: float = 0, forms: bool = False, turned: int = 0, stripes: bool = False,
) -> Drawing:  # fmt: skip
    """Two sleeves on a sheet, each with a ground that bleeds; ``last`` is painted last.

    ``frame_mm``: a white field so far inside each cut.
    """
    page = Drawing(330, 180)
    for number in (1 - last, last):
        box = box_of(number, gutter_mm, beside=beside)
        start = len(page.ops)
        if inks[number] is not None:
            page.fill(inks[number], rect=grown(box, bleed_mm))
        if frame_mm:
            page.fill(WHITE, rect=grown(box, -frame_mm))
        if stripes:
            page.fill((0, 0, 0, 1), rect=(box[0] + 50, box[1] - bleed_mm, box[0] + 55, box[3] + bleed_mm))
        if forms:
            inner = "\n".join(page.ops[start:])
            del page.ops[start:]
            page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 400, 400))} Do")
    page.gs(OP=True)
    for number in (0, 1):
        x0, y0, x1, y1 = box_of(number, gutter_mm, beside=beside)
        corners: list[Point] = rectangle(x0, y0, x1, y1)
        page.stroke("Cutting", corners, close=False)
        for x in FOLDS:
            page.stroke("Creasing", [(x0 + x, y0), (x0 + x, y1)], close=False)
    page.page.obj.Rotate = turned
    return page.gs(OP=False)


def one_ground() -> Drawing:
    """One ground under both, and what is on the second one begins 1 mm inside its cut."""
    page = pair(2, inks=(None, None))
    drawn = page.ops
    page.ops = []
    page.fill(BLUE, rect=(10, 10, 160, 160)).fill(RED, rect=grown(box_of(0, 2, beside=False), -1))
    page.ops += drawn
    return page


def case(name, expect, draw, **more):
    return Case("bleed-over-neighbour", name, expect, draw, **{"ticket": SHEET, **more})


CASES = [
    case("3 mm of bleed and a gutter of 2 mm", "warn", lambda: pair(2), measured=1.0, near=(LEFT, 79, 152, 80)),
    case("the other way round", "warn", lambda: pair(2, last=0), measured=1.0, near=(LEFT, 82, 152, 83)),
    case("beside each other", "warn", lambda: pair(2, beside=True), measured=1.0, near=(151, LOW, 152, 80)),
    case("a gutter of 1 mm", "warn", lambda: pair(1), measured=2.0),
    case("5 mm of bleed and a gutter of 3 mm", "warn", lambda: pair(3, bleed_mm=5), measured=2.0),
    case("on a page that is turned", "warn", lambda: pair(2, turned=90), measured=1.0, near=(79, 178, 80, 310)),
    case("in forms", "warn", lambda: pair(2, forms=True), measured=1.0),
    case("over bare board", "warn", lambda: pair(2, inks=(None, BLUE)), measured=1.0),
    case("with stripes across the edge", "warn", lambda: pair(2, stripes=True), measured=1.0),
    case("a gutter of 6 mm", "pass", lambda: pair(6)),
    case("a gutter of 3 mm", "pass", lambda: pair(3)),
    case("bleed up to the middle of the gutter", "pass", lambda: pair(2, bleed_mm=1)),
    case("one ink on both", "pass", lambda: pair(2, inks=(BLUE, BLUE))),
    case("one ink on both, and a frame", "pass", lambda: pair(2, inks=(BLUE, BLUE), frame_mm=2)),
    case("one ground under both, and a frame", "pass", one_ground),
    case("a common knife", "pass", lambda: pair(0)),
    case("no ink", "pass", lambda: pair(2, inks=(None, None))),
    case("no die", "not checked", lambda: Drawing(330, 180).fill(BLUE, rect=(10, 10, 100, 100))),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_neighbours(case, tmp_path):
    prove(case, tmp_path)
