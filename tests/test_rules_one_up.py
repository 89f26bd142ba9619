"""The one-up as a whole: whether it fits on the sheet, whether its trim box is the box round its cut."""

import pytest

from preflight.judging.judge import judge
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.house import CARTON, Case, blank_page, job_of, prove, rulebook, units, with_die

ONE_UP = {"artwork_is": "one-up"}
SHEET = {**ONE_UP, "sheet": {"size": "1000 x 700 mm"}}
PRESS = units(edges={"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"})
"""Its largest sheet is 1040 x 740 mm, of which it prints 1030 x 720 mm."""


def carton(across: float, along: float, *, at=(10.0, 10.0), ink="most", die: bool = True, trim: bool = False,
           margin: float = 10) -> Drawing:  # fmt: skip
    """A carton whose cut is so wide and high; ``ink``: on most of it, up to all edges, or a box of it."""
    depth, tuck, flap = 0.1 * along, 15.0, 15.0
    shape = reverse_tuck(
        width=(across - flap) / 2 - 0.1 * across, depth=0.1 * across, height=along - 2 * (0.1 * across + tuck),
        flap=flap, tuck=tuck, at=at,
    )  # fmt: skip
    assert shape.box == pytest.approx((at[0], at[1], at[0] + across, at[1] + along)), (shape.box, depth)
    page = Drawing(across + at[0] + margin, along + at[1] + margin, trim=shape.box if trim else None)
    x0, y0, x1, y1 = shape.box
    box = {"most": (x0 + 40, y0 + 40, x1 - 40, y1 - 40), "all": (x0, y0, x1, y1)}.get(ink, ink)
    if box:
        page.fill("Mill Brown", rect=box)
    return with_die(page, shape) if die else page


def turned(page: Drawing, angle: int = 90) -> Drawing:
    page.page.obj.Rotate = angle
    return page


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": SHEET, "press": PRESS, **more})


def fits(name, expect, draw, **more):
    return case("one-up-over-sheet", name, expect, draw, **more)


SIZES = [
    fits("larger than the ticket's sheet both ways", "fail", lambda: carton(1640, 1200), measured=640),
    fits("a turned page", "fail", lambda: turned(carton(1640, 1200)), measured=640),
    fits("too wide only", "fail", lambda: carton(1010, 400), measured=10),
    fits("too wide only, on a page that is turned", "fail", lambda: turned(carton(1010, 400), 270), measured=10),
    fits("by 2 mm", "fail", lambda: carton(1002, 600), measured=2),
    fits("nothing says that it is one-up", "fail", lambda: carton(1640, 1200),
         ticket={"sheet": {"size": "1000 x 700 mm"}}),
    fits("no sheet stated, larger than the press takes", "fail", lambda: carton(1640, 1200), ticket=ONE_UP,
         measured=600),
    fits("no ticket, larger than the press takes", "fail", lambda: carton(1640, 1200), ticket={}, measured=600),
    fits("larger than the stated sheet, smaller than the press", "fail", lambda: carton(650, 400),
         ticket={**ONE_UP, "sheet": {"size": "600 x 420 mm"}}, measured=50),
    fits("by its trim box, without a die", "fail", lambda: carton(1640, 1200, die=False, trim=True), measured=640),
    fits("by its trim box, and nothing says that it is one-up", "fail",
         lambda: carton(1640, 1200, die=False, trim=True), ticket={}, measured=600),
    fits("a trim box that may be a plate's", "warn", lambda: carton(1045, 780, die=False, trim=True), ticket={}),
    fits("the page alone is a guess", "warn", lambda: carton(1640, 1200, die=False)),
    fits("without a press", "fail", lambda: carton(1640, 1200), press=None),
    fits("neither press nor sheet", "not checked", lambda: carton(1640, 1200), press=None, ticket=ONE_UP),
    fits("fits as it lies", "pass", lambda: carton(900, 600)),
    fits("fits turned only", "pass", lambda: carton(600, 900)),
    fits("fits turned only, on a page that is turned", "pass", lambda: turned(carton(900, 600))),
    fits("just as large as the sheet, little ink", "pass", lambda: carton(1000, 700)),
    fits("no sheet stated, fits the press", "pass", lambda: carton(1000, 700), ticket=ONE_UP),
    fits("a large page round a small carton", "pass",
         lambda: carton(400, 300, at=(600, 500), margin=600)),
    fits("small, by its trim box", "pass", lambda: carton(400, 300, die=False, trim=True)),
    fits("a trim box that is as large as the page is a guess", "pass", lambda: carton(400, 300, die=False)),
    fits("a sheet has rules of its own", "pass", lambda: carton(1640, 1200, die=False),
         ticket={"artwork_is": "sheet", "sheet": {"size": "1000 x 700 mm"}}),
    fits("blanks of a sheet", "pass", lambda: with_die(carton(195, 180, at=(210, 10)), CARTON),
         ticket={"artwork_is": "sheet"}),
]  # fmt: skip

PRINTABLE = [
    fits("ink to all edges of a carton of the sheet's size", "fail", lambda: carton(1000, 700, ink="all"),
         case="printable", measured=16),
    fits("ink too wide between the sides", "fail", lambda: carton(998, 600, ink=(10, 200, 1008, 400)), case="printable",
         measured=8),
    fits("ink 980 wide can be moved between the sides", "pass", lambda: carton(998, 600, ink=(16, 200, 1002, 400))),
    fits("ink at one side only, and no room to move", "fail", lambda: carton(1000, 600, ink=(10, 200, 700, 400)),
         case="printable", measured=5),
    fits("ink at one end may lie at the tail", "pass", lambda: carton(600, 696, ink=(100, 16, 500, 500))),
    fits("ink at both ends", "fail", lambda: carton(900, 698, ink=(100, 10, 500, 708)), case="printable", measured=14),
    fits("ink to all edges turned only", "pass", lambda: carton(680, 980, ink="all")),
    fits("ink past the cut does not count", "pass", lambda: carton(984, 680, ink=(1, 1, 1003, 699))),
    fits("the press does not say what it prints", "pass", lambda: carton(1000, 700, ink="all"),
         press=units(edges=None, sheet={"largest": "1040 x 740 mm"})),
    fits("the press does not say, and no ink at all", "pass", lambda: carton(1000, 700, ink=None)),
    fits("ink to all edges of the trim box, without a die", "fail", case="printable", measured=16,
         draw=lambda: carton(1000, 700, ink="all", die=False, trim=True)),
    fits("little ink in the trim box, without a die", "pass", lambda: carton(1000, 700, die=False, trim=True)),
    fits("a turned page, ink to all edges", "fail", lambda: turned(carton(1000, 700, ink="all")), case="printable",
         measured=16),
    fits("a turned page, ink at one end may lie at the tail", "pass",
         lambda: turned(carton(600, 696, ink=(100, 16, 500, 500)), 270)),
    fits("no press, ink to all edges", "pass", lambda: carton(1000, 700, ink="all"), press=None),
]  # fmt: skip

CUT = CARTON.box


def boxed(*, left=0.0, low=0.0, right=0.0, top=0.0, die: bool = True) -> Drawing:
    """The carton with a trim box whose sides stand so far outside the cut."""
    page = blank_page().fill("Mill Brown", rect=(30, 60, 80, 140))
    x0, y0, x1, y1 = CUT
    page.box("TrimBox", (x0 - left, y0 - low, x1 + right, y1 + top))
    return with_die(page) if die else page


def no_trim() -> Drawing:
    return with_die(blank_page().fill("Mill Brown", rect=(30, 60, 80, 140)))


def trim_is_page() -> Drawing:
    page = no_trim()
    page.box("TrimBox", (0, 0, 215, 200))
    return page


def two_up() -> Drawing:
    """Two cartons side by side on a page that is said to be one-up, with the trim box round the first."""
    first, second = reverse_tuck(at=(10, 10)), reverse_tuck(at=(225, 10))
    page = Drawing(430, 200, trim=first.box).fill("Mill Brown", rect=(30, 60, 80, 140))
    return with_die(with_die(page, first), second)


def trims(name, expect, draw, **more):
    return case("trim-box-off-cut", name, expect, draw, **{"ticket": ONE_UP, **more})


TRIMS = [
    trims("5 mm to the left", "warn", lambda: boxed(left=5, right=-5), case="moved", measured=5),
    trims("5 mm up, on a turned page", "warn", lambda: turned(boxed(low=-5, top=5)), case="moved", measured=5),
    trims("another width", "warn", lambda: boxed(right=-20), measured=20),
    trims("drawn round the bleed", "warn", lambda: boxed(left=3, low=3, right=3, top=3), measured=3),
    trims("half the size", "warn", lambda: boxed(right=-97.5, top=-90), measured=97.5),
    trims("by 1.5 mm at one side", "warn", lambda: boxed(top=1.5), measured=1.5),
    trims("nothing says that it is one-up", "warn", lambda: boxed(left=5, right=-5), ticket={}),
    trims("the box round the cut", "pass", boxed),
    trims("the box round the cut, on a turned page", "pass", lambda: turned(boxed(), 270)),
    trims("rounded to whole millimetres", "pass", lambda: boxed(left=0.4, right=0.4, low=-0.4, top=0.4)),
    trims("round the strokes of the die", "pass", lambda: boxed(left=0.2, right=0.2, low=0.2, top=0.2)),
    trims("no trim box", "pass", no_trim),
    trims("the trim box is the page", "pass", trim_is_page),
    trims("round one of two blanks", "pass", two_up),
    trims("no die", "not checked", lambda: boxed(die=False)),
]

UPS = [
    case("blanks-over-sheet", "40 of 195 x 180 mm on a sheet", "fail", boxed,
         ticket={**SHEET, "layout": {"ups": "40"}}),
    case("blanks-over-sheet", "12 of them", "pass", boxed, ticket={**SHEET, "layout": {"ups": "12"}}),
    case("blanks-over-sheet", "no number-up", "pass", boxed, ticket=SHEET),
    case("blanks-over-sheet", "no sheet", "not checked", boxed, ticket={**ONE_UP, "layout": {"ups": "12"}}),
    case("blanks-over-sheet", "no die", "not checked", lambda: boxed(die=False),
         ticket={**SHEET, "layout": {"ups": "12"}}),
]  # fmt: skip
CASES = [*SIZES, *PRINTABLE, *TRIMS, *UPS]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_one_up(case, tmp_path):
    prove(case, tmp_path)


def said(draw, rule, folder, ticket=SHEET):
    (finding,) = judge(job_of(draw(), folder, ticket, PRESS), rulebook(), only={rule}).findings
    return finding.says


def test_a_sheets_trim_box_is_another_matter(tmp_path):
    job = job_of(boxed(left=5, right=-5), tmp_path, {"artwork_is": "sheet"}, PRESS)
    assert judge(job, rulebook(), only={"trim-box-off-cut"}).findings == ()


@pytest.mark.parametrize(
    ("draw", "ticket", "words"),
    [
        (lambda: carton(1640, 1200), SHEET,
         "The one-up is 1640 x 1200 mm (measured by its cut line) and the sheet is 1000 x 700 mm. "
         "It is 640 mm too large"),
        (lambda: carton(1640, 1200), ONE_UP, "the largest sheet of the press is 1040 x 740 mm"),
        (lambda: carton(1640, 1200, die=False), SHEET, "(measured by the page, without a die)"),
        (lambda: carton(998, 600, ink=(10, 200, 1008, 400)), SHEET,
         "(998 x 200 mm of 998 x 600 mm) is larger than the printable area of the sheet "
         "(990 x 684 mm of 1000 x 700 mm)"),
    ],
)  # fmt: skip
def test_says_what_is_too_large(draw, ticket, words, tmp_path):
    assert words in said(draw, "one-up-over-sheet", tmp_path, ticket)


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda: boxed(left=5, right=-5),
         "has the size of the cut (195.0 x 180.0 mm) but is out of place: 5.0 mm to the left."),
        (lambda: boxed(left=5, right=-5, low=-2, top=2), "out of place: 5.0 mm to the left, 2.0 mm up."),
        (lambda: boxed(right=-20, top=3),
         "The trim box is 175.0 x 183.0 mm, the cut 195.0 x 180.0 mm. "
         "The trim box runs 20.0 mm inside the cut at the right and 3.0 mm outside the cut at the top."),
    ],
)  # fmt: skip
def test_says_where_the_trim_box_stands(draw, words, tmp_path):
    assert words in said(draw, "trim-box-off-cut", tmp_path, ONE_UP)
