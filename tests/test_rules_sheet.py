"""The sheet and the board against the press."""

from dataclasses import replace

import pytest

from preflight.quantities import Size
from tests import laid_sheets
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.house import Case, prove, units, with_die

ACROSS, ALONG = 500.0, 320.0
SHEET = {"artwork_is": "sheet", "gripper_edge": "bottom"}
PRESS = units(edges={"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"})


def sheet(*, low: float = 30, right: float = 60, bleed: float = 3, die: bool = True, turned: bool = False) -> Drawing:
    """Two cartons of 195 x 180 mm with a ground each: how far they stand from the gripper edge and the right one."""
    across, along = (ALONG, ACROSS) if turned else (ACROSS, ALONG)
    page = Drawing(across, along)
    first = reverse_tuck(at=(across - right - 195, low))
    cartons = [first] if turned else [first, reverse_tuck(at=(across - right - 2 * 195 - 12, low))]
    for carton in cartons:
        x0, y0, x1, y1 = carton.box
        page.fill("Mill Brown", rect=(x0 - bleed, y0 - bleed, x1 + bleed, y1 + bleed))
    for carton in cartons if die else []:
        with_die(page, carton)
    return page


def with_mark(page: Drawing, rect: tuple[float, float, float, float], tint: float = 1.0) -> Drawing:
    return page.fill("Mill Brown", tint, rect=rect)


def on_plate(y: float) -> Drawing:
    """A plate of 1060 x 820 mm whose sheet of 1040 x 740 mm starts 44 mm from the edge; a bar at a height."""
    return Drawing(1060, 820).fill("Mill Brown", rect=(300, y, 400, y + 20))


AT_THE_GRIPPER = {"bottom": (300, 52, 400, 72), "top": (300, 748, 400, 768), "left": (52, 300, 72, 400),
                  "right": (748, 300, 768, 400)}  # fmt: skip
"""Bars of 20 mm that reach 2 mm into the gripper margin of a sheet which starts 44 mm from an edge of its plate."""


def plate_with_bar(edge: str, further_mm: float = 0) -> Drawing:
    x0, y0, x1, y1 = AT_THE_GRIPPER[edge]
    page = Drawing(1060, 820) if edge in ("bottom", "top") else Drawing(820, 1060)
    into = further_mm if edge in ("bottom", "left") else -further_mm
    across, up = (0, into) if edge in ("bottom", "top") else (into, 0)
    return page.fill("Mill Brown", rect=(x0 + across, y0 + up, x1 + across, y1 + up))


def on_a_plate(edge: str) -> dict[str, object]:
    return {"artwork_is": "plate", "gripper_edge": edge, "sheet": {"size": "1040 x 740 mm"}}


def case(rule, name, expect, **more):
    more = {"draw": sheet, "ticket": SHEET, "press": PRESS, **more}
    return Case(rule, name, expect, **more)


def laid(rule, name, expect, size):
    """A one-up on a ticket without a sheet; the tool has chosen one."""
    sheet = laid_sheets.press_sheet(replace(laid_sheets.layout_of(), sheet=Size(*size)))
    return Case(rule, name, expect, lambda: Drawing(100, 80), {"artwork_is": "one-up"}, PRESS, lay=lambda: sheet)


SIZES = [
    case("sheet-over-max", "too wide", "fail", ticket={"sheet": {"size": "1041 x 700 mm"}}),
    case("sheet-over-max", "too long", "fail", ticket={"sheet": {"size": "700 x 1000 mm"}}),
    case("sheet-over-max", "just as large", "pass", ticket={"sheet": {"size": "1040 x 740 mm"}}),
    case("sheet-over-max", "the page is the sheet", "pass", ticket=SHEET),
    laid("sheet-over-max", "laid on a sheet of the tool's own that the press does not take", "fail", (1050, 740)),
    laid("sheet-over-max", "laid on one that it takes", "pass", (1040, 740)),
    laid("sheet-under-min", "laid on one that is too short", "fail", (600, 299)),
    case("sheet-over-max", "a one-up, and no sheet on the ticket", "not checked", ticket={"artwork_is": "one-up"}),
    case("sheet-over-die-cutter", "wider than the die-cutter takes", "fail",
         ticket={"sheet": {"size": "1030 x 700 mm"}}, press=units(die_cutter={"largest": "1020 x 740 mm"})),
    case("sheet-over-die-cutter", "just as large", "pass", ticket={"sheet": {"size": "1020 x 740 mm"}},
         press=units(die_cutter={"largest": "1020 x 740 mm"})),
    case("sheet-over-die-cutter", "the profile does not say", "not checked",
         ticket={"sheet": {"size": "600 x 400 mm"}}),
    case("sheet-under-min", "too short", "fail", ticket={"sheet": {"size": "600 x 299 mm"}}),
    case("sheet-under-min", "just as small", "pass", ticket={"sheet": {"size": "400 x 300 mm"}}),
    case("sheet-under-min", "the page stands across", "fail", draw=lambda: sheet(turned=True), ticket=SHEET),
    case("sheet-under-min", "the page stands across and travels sideways", "pass", draw=lambda: sheet(turned=True),
         ticket={**SHEET, "gripper_edge": "left"}),
    case("sheet-under-min", "the press does not say", "not checked", ticket={"sheet": {"size": "600 x 299 mm"}},
         press=units(sheet={"largest": "1040 x 740 mm"})),
]  # fmt: skip

# Common practice: carton presses take board of about 0.2 to 1.0 mm, 0.5 mm being usual.
BOARDS: list[Case] = [
    case("caliper-out-of-range", name, expect, ticket={"board": {"caliper": caliper}}, measured=measured, case=which)
    for name, caliper, expect, measured, which in [
        ("usual", "0.5 mm", "pass", None, None),
        ("usual, in points", "20 pt", "pass", None, None),
        ("too thick", "1.05 mm", "fail", 1.05, None),
        ("too thin", "0.19 mm", "fail", 0.19, None),
        ("within 5 % of the thick end", "0.96 mm", "warn", None, "near an end"),
        ("just short of that", "0.94 mm", "pass", None, None),
        ("within 5 % of the thin end", "0.205 mm", "warn", None, "near an end"),
        ("just over that", "0.215 mm", "pass", None, None),
    ]
]
BOARDS.append(case("caliper-out-of-range", "the ticket does not say", "not checked"))

EDGES = [
    case("ink-in-gripper", "bleed reaches 5 mm into it", "fail", draw=lambda: sheet(low=8), measured=5.0),
    case("ink-in-gripper", "bleed ends at it", "pass", draw=lambda: sheet(low=13)),
    case("ink-in-gripper", "0.3 mm into it", "fail", draw=lambda: sheet(low=12.7), measured=0.3),
    case("ink-in-gripper", "a mark counts", "fail", draw=lambda: with_mark(sheet(), (200, 6, 230, 9)), measured=4.0,
         near=(200, 6, 230, 9)),
    case("ink-in-gripper", "1 % of tint does not", "pass", draw=lambda: with_mark(sheet(), (200, 6, 230, 9), 0.01)),
    case("ink-in-gripper", "a mark at the tail", "pass", draw=lambda: with_mark(sheet(), (200, 314, 230, 318))),
    case("ink-in-gripper", "the gripper edge is a guess", "warn", draw=lambda: sheet(low=8),
         ticket={"artwork_is": "sheet"}),
    case("ink-in-gripper", "gripper at the top", "fail", draw=lambda: with_mark(sheet(), (200, 314, 230, 318)),
         ticket={**SHEET, "gripper_edge": "top"}, measured=8.0),
    case("ink-in-gripper", "gripper at the left", "fail", draw=lambda: with_mark(sheet(), (7, 200, 12, 204)),
         ticket={**SHEET, "gripper_edge": "left"}, measured=3.0),
    case("ink-in-gripper", "the press does not say", "not checked", press=units(edges={"tail": "6 mm"})),
    case("ink-in-gripper", "a plate: 2 mm into it", "fail", draw=lambda: on_plate(52), measured=2.0,
         ticket={"artwork_is": "plate", "gripper_edge": "bottom", "sheet": {"size": "1040 x 740 mm"}}),
    case("ink-in-gripper", "a plate: clear of it", "pass", draw=lambda: on_plate(54),
         ticket={"artwork_is": "plate", "gripper_edge": "bottom", "sheet": {"size": "1040 x 740 mm"}}),
    *(case("ink-in-gripper", f"a plate, gripper at the {edge}: 2 mm into it", "fail", measured=2.0,
           draw=lambda edge=edge: plate_with_bar(edge), ticket=on_a_plate(edge), near=AT_THE_GRIPPER[edge])
      for edge in AT_THE_GRIPPER),
    *(case("ink-in-gripper", f"a plate, gripper at the {edge}: clear of it", "pass",
           draw=lambda edge=edge: plate_with_bar(edge, 2.2), ticket=on_a_plate(edge)) for edge in AT_THE_GRIPPER),
    case("ink-past-printable", "bleed runs 1 mm past the side", "fail", draw=lambda: sheet(right=7), measured=1.0),
    case("ink-past-printable", "bleed ends at it", "pass", draw=lambda: sheet(right=8)),
    case("ink-past-printable", "bleed runs past the tail", "fail", draw=lambda: sheet(low=ALONG - 180 - 7),
         measured=2.0),
    case("ink-past-printable", "a mark may run off", "pass", draw=lambda: with_mark(sheet(), (496, 100, 500, 104))),
    case("ink-past-printable", "less than the edges, by the printable size", "fail", measured=1.0,
         draw=lambda: sheet(right=27), press=units(sheet={"largest": "1040 x 740 mm", "printable": "450 x 300 mm"})),
    case("ink-past-printable", "no die, and something runs off", "not checked",
         draw=lambda: with_mark(sheet(die=False), (496, 100, 500, 104))),
    case("ink-past-printable", "no die, and nothing runs off", "pass", draw=lambda: sheet(die=False)),
]  # fmt: skip

CASES = [*SIZES, *BOARDS, *EDGES]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_sheet(case, tmp_path):
    prove(case, tmp_path)
