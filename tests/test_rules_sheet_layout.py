"""How the blanks of a laid-out sheet lie: number-up, overlaps, waste, edges, grain, stock."""

from pathlib import Path
from typing import Any

import pytest
from ezdxf.filemanagement import new

from tests.drawn import Drawing
from tests.house import Case, prove
from tests.test_rules_sheet_cells import BLUE, OUTSIDE, RED, SMALL, die, laid, one_up, sheet, sleeve, versions

CUTTER = {**SMALL, "die_cutter": {"gripper": "12 mm", "tail": "8 mm", "sides": "5 mm", "waste_strip": "5 mm"}}


def case(rule, name, expect, ticket, draw=one_up, press=SMALL, **more):
    return Case(rule, name, expect, draw, ticket, press, **more)


def two(gap: float = 6, x: float = 40, y: float = 40, **more) -> dict[str, Any]:
    """Two sleeves of 60 x 40 mm side by side on 260 x 160 mm."""
    return laid({"x": x, "y": y}, {"x": x + 60 + gap, "y": y}, **more)


def round_a_hole(gap: float) -> dict[str, Any]:
    """Four sleeves like the sails of a mill, with ``gap`` between them and a hole of 20 mm in the middle."""
    long, short = 60.0, 40.0
    return laid(
        {"x": 40, "y": 30},
        {"x": 40 + long + gap, "y": 30, "turn": 90},
        {"x": 40 + short + gap, "y": 30 + long + gap},
        {"x": 40, "y": 30 + short + gap, "turn": 90},
        board={"grain_on_blank": "any"},
    )


def different(counts=(2, 1)) -> Drawing:
    """A sheet from outside with three sleeves, some with a red patch."""
    page = Drawing(260, 100)
    for n in range(3):
        sleeve(page, 20 + 66 * n, 30)
        if n < counts[1]:
            page.fill(RED, rect=(35 + 66 * n, 40, 55 + 66 * n, 60))
    for n in range(3):
        die(page, 20 + 66 * n, 30)
    return page


class StandingDie(Drawing):
    """A die of sleeves on a sheet of 260 x 160 mm, drawn as DXF by the library alone."""

    def __init__(self, *sizes: tuple[float, float], folds=(12, 36, 48), sheet=(260, 160)) -> None:
        super().__init__(*sheet)
        self.sizes, self.folds, self.sheet = sizes, folds, sheet

    def save(self, path: Path) -> Path:
        document = new("R2010")
        document.header["$INSUNITS"] = 4
        space = document.modelspace()
        boxes = [(*(0.0, 0.0), *self.sheet, "Sheet edge")]
        boxes += [(20.0 + 70 * n, 30.0, wide, high, "Cut") for n, (wide, high) in enumerate(self.sizes)]
        for x, y, wide, high, layer in boxes:
            corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high), (x, y)]
            space.add_lwpolyline(corners, dxfattribs={"layer": layer})
        for n in range(len(self.sizes)):
            for fold in self.folds:
                x = 20 + 70 * n + fold
                space.add_line((x, 30), (x, 70), dxfattribs={"layer": "Crease"})
        document.saveas(path)
        return path


def standing(rule, name, expect, *sizes, draw=one_up, folds=(12, 36, 48), drawn_on=(260, 160), **more):
    ticket = {**laid(), "layout": {"file": "die.dxf"}}
    dies = {"die.dxf": lambda: StandingDie(*sizes, folds=folds, sheet=drawn_on)}
    return Case(rule, name, expect, draw, ticket, SMALL, others=dies, **more)


OWN, OTHER, EVEN = (60, 40), (62, 42), (12, 48)
"""The sleeve, another carton; folds that are the same when the sleeve is turned."""
TWO_FILES = {"artwork": [{"file": "art.pdf", "version": "Mint"}, {"file": "art.pdf", "version": "Sage"}]}
EDGES = "waste-at-edge-short"
GRAIN = {"grain": "across"}
ALONG = {"grain": "along"}
YIELD = laid(*({"x": 15 + 66 * n, "y": 15 + 46 * m} for n in range(3) for m in range(3)))
"""Nine of 60 x 40 mm on 260 x 160 mm: 52 %."""

CASES = [
    case("number-up-differs", "three, and the ticket says four", "fail", {**OUTSIDE, "layout": {"ups": 4}}, sheet,
         measured=1, case=""),
    case("number-up-differs", "a version that no blank carries", "fail",
         two(artwork=[{"file": "art.pdf", "version": "Mint"}, {"file": "two.pdf", "version": "Sage"}],
             layout={"blanks": [{"x": "40 mm", "y": "40 mm", "version": "Mint"}]}),
         others={"two.pdf": one_up}, case="version missing"),
    case("number-up-differs", "two and one of versions that are wanted alike", "pass",
         {**OUTSIDE, "layout": {"ups": 3}, **TWO_FILES}, different),
    case("number-up-differs", "two and one where one and two would do", "pass",
         {**OUTSIDE, "layout": {"ups": 3}, **TWO_FILES, "quantities": {"Mint": "1000", "Sage": "2000"}}, different),
    case("number-up-differs", "all alike, where two versions are wanted", "warn",
         {**OUTSIDE, "layout": {"ups": 3}, **TWO_FILES}, lambda: different((3, 0)), case="version mix", measured=1),
    case("number-up-differs", "as the ticket says", "pass", {**OUTSIDE, "layout": {"ups": 3}}, sheet),
    case("number-up-differs", "both versions on the layout", "pass", versions(), others={"two.pdf": one_up}),
    case("number-up-differs", "a sheet, and no number on the ticket", "not checked", OUTSIDE, sheet),
    standing("standing-die-unlike", "two of this job and one of another", "warn", OWN, OTHER, OWN, case="", measured=1),
    standing("standing-die-unlike", "two of this job and a strip of waste", "pass", OWN, (20, 40), OWN),
    standing("standing-die-unlike", "even outline and folds, and halves in two colours", "warn", OWN, OWN, folds=EVEN,
             draw=lambda: one_up(BLUE, RED, folds=EVEN), case="turn not known", measured=2),
    standing("standing-die-unlike", "even outline and folds, and a pale patch in one half", "warn", OWN, OWN,
             folds=EVEN, draw=lambda: one_up(None, None, folds=EVEN, patch=(0, 0.06, 0, 0)), case="turn not known"),
    standing("standing-die-unlike", "even outline, folds and artwork", "pass", OWN, OWN, folds=EVEN,
             draw=lambda: one_up(folds=EVEN)),
    standing("standing-die-unlike", "the folds tell", "pass", OWN, OWN, draw=lambda: one_up(BLUE, RED)),
    case("standing-die-unlike", "a layout of the ticket", "pass", two()),
    standing("standing-die-other-sheet", "20 mm wider than the ticket's", "fail", OWN, OWN, drawn_on=(280, 160),
             measured=20),
    standing("standing-die-other-sheet", "as the ticket's", "pass", OWN, OWN),
    case("blanks-overlap", "a step that is 5 mm short", "fail", two(-5), measured=5),
    case("blanks-overlap", "off the sheet at the right", "fail", two(6, x=140), case="off the sheet", measured=6),
    case("blanks-overlap", "a shared knife", "pass", two(0)),
    case("blanks-overlap", "on the edge of the sheet", "pass", two(6, x=134)),
    case("waste-strip-narrow", "2 mm", "warn", two(2), measured=-1),
    case("waste-strip-narrow", "4 mm, and the die-cutter wants 5", "warn", two(4), press=CUTTER, measured=-1),
    case("waste-strip-narrow", "4 mm", "pass", two(4)),
    case("waste-strip-narrow", "a shared knife leaves no strip", "pass", two(0)),
    case("waste-strip-narrow", "the columns of the next row", "pass", two(5), press=CUTTER),
    case("waste-loose", "a hole between four that share knives", "warn", round_a_hole(0), measured=1),
    case("waste-loose", "the same with strips all round", "pass", round_a_hole(4)),
    case("waste-loose", "shared knives in a row", "pass", two(0)),
    case(EDGES, "11 mm at the gripper edge", "fail", two(y=11), press=CUTTER, measured=-1, case=""),
    case(EDGES, "7 mm at the tail", "fail", two(y=113), press=CUTTER, measured=-1, case="tail"),
    case(EDGES, "4 mm at the sides", "fail", two(x=4), press=CUTTER, measured=-1, case="sides"),
    case(EDGES, "just as much", "pass", two(y=12, x=5), press=CUTTER),
    case(EDGES, "the profile does not say", "not checked", two(y=2)),
    case("gripper-strip-cut", "7 mm", "warn", two(y=7), measured=7),
    case("gripper-strip-cut", "8 mm", "pass", two(y=8)),
    case("bleed-past-printable", "6 mm at the left, of which 5 do not print", "fail", two(x=6), measured=2),
    case("bleed-past-printable", "into the gripper edge", "fail", two(y=11), measured=2),
    case("bleed-past-printable", "past the tail", "fail", two(y=112), measured=1),
    case("bleed-past-printable", "a blank that hangs off the tail", "fail", two(y=130), measured=19),
    case("bleed-past-printable", "bleed that just prints", "pass", two(x=8, y=13)),
    case("bleed-past-printable", "nothing is printed there", "pass", two(x=6, y=40),
         lambda: one_up(None, BLUE)),
    case("blanks-against-grain", "the sheet's grain along the body creases", "fail", two(board=ALONG), measured=2,
         case=""),
    case("blanks-against-grain", "one turned by 90°", "fail",
         laid({"x": 20, "y": 30}, {"x": 90, "y": 30, "turn": 90}, {"x": 140, "y": 30}, board=GRAIN), measured=1),
    case("blanks-against-grain", "one turned by 90° on a sheet from outside", "fail", OUTSIDE,
         lambda: mixed_sheet(), case="mixed", measured=1),
    case("blanks-against-grain", "tumbled", "pass",
         laid({"x": 20, "y": 30}, {"x": 90, "y": 30, "turn": 180}, board=GRAIN)),
    case("blanks-against-grain", "turned as the grain asks", "pass",
         laid({"x": 20, "y": 30, "turn": 90}, {"x": 90, "y": 30, "turn": 270}, board=ALONG)),
    case("blanks-against-grain", "the grain does not matter", "pass",
         laid({"x": 20, "y": 30}, {"x": 90, "y": 30, "turn": 90}, board={"grain_on_blank": "any"})),
    case("blanks-against-grain", "nobody says", "not checked", two()),
    case("sheet-not-in-stock", "larger than what is there", "warn", two(), press={**SMALL, "stock": ["250 x 200 mm"]}),
    case("sheet-not-in-stock", "there", "pass", two(), press={**SMALL, "stock": ["250 x 200 mm", "260 x 160 mm"]}),
    case("sheet-not-in-stock", "cut from a larger one", "pass", two(), press={**SMALL, "stock": ["290 x 200 mm"]}),
    case("sheet-not-in-stock", "no list", "not checked", two()),
    case("sheet-yield-low", "two on a large sheet", "warn", two(), measured=11.5),
    case("sheet-yield-low", "nine", "pass", YIELD),
]  # fmt: skip


def mixed_sheet() -> Drawing:
    """Two sleeves that lie and one that stands."""
    page = Drawing(260, 100)
    for x in (20, 90):
        sleeve(page, x, 30)
        die(page, x, 30)
    page.fill(BLUE, rect=(157, 27, 203, 93))
    page.gs(OP=True)
    page.stroke("Cutting", [(160, 30), (200, 30), (200, 90), (160, 90)])
    for fold in (42, 66, 78):
        page.stroke("Creasing", [(160, fold), (200, fold)], close=False)
    page.gs(OP=False)
    return page


@pytest.mark.parametrize("case", CASES, ids=str)
def test_sheet_layout(case, tmp_path):
    prove(case, tmp_path)
