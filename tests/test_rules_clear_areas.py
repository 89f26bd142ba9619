"""The coating plate on the sheet: bare where each blank has to be, wide enough, and whole on the neighbours' faces."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.cartons import draw_die
from tests.drawn import Drawing
from tests.house import Case, blank_page, prove, units, with_die
from tests.marked_sheets import ACROSS, ALONG, CARTONS

VARNISH = "Gloss Varnish"
CODE = (100.0, 70.0, 120.0, 80.0)
"""On the one-up, whose glue flap is (10, 55) to (25, 145) with its crease at x = 25."""
PRESS = units(coating_plate={"choke": "0.7 mm"}, operator_side="left")
SEAM = units(coating_plate={"choke": "0.7 mm", "seam": "2.5 mm"}, operator_side="left")
CLEAR: dict[str, object] = {"kind": "uv", "area": "overall", "clear": ["glue flap", "code"]}
AREAS = [{"is": "code", "box": list(CODE)}, {"is": "glue flap", "box": [10, 55, 25, 145]}]


# One-ups that are laid on the sheet --------------------------------------------------------------------------------


def one_up() -> Drawing:
    return with_die(blank_page().fill((0.3, 0, 0, 0), rect=(22, 52, 208, 148)))


def varnished(*bare: tuple[float, float, float, float]) -> Drawing:
    """A one-up with a coat all over, but for some boxes."""
    page = blank_page().fill(VARNISH, rect=(5, 5, 210, 195))
    for box in bare:
        page.fill(VARNISH, 0, rect=box)
    return with_die(page)


def laid(*blanks: tuple[float, float, int], **more: object) -> dict[str, object]:
    """The ticket of a sheet of 640 x 480 mm: x, y and turn of each blank of 195 x 180 mm."""
    told = [{"x": f"{x} mm", "y": f"{y} mm", "turn": turn} for x, y, turn in blanks]
    return {
        "artwork_is": "one-up", "sheet": {"size": "640 x 480 mm"}, "coating": CLEAR, "areas": AREAS,
        "layout": {"blanks": told}, **more,
    }  # fmt: skip


def pair(gutter: float, turns: tuple[int, int] = (0, 0), **more: object) -> dict[str, object]:
    """Two blanks side by side."""
    return laid((40, 60, turns[0]), (235 + gutter, 60, turns[1]), **more)


ON_PLATE: dict[str, object] = {**CLEAR, "area": VARNISH}


# Sheets from outside -----------------------------------------------------------------------------------------------


def sheet(*shifts: float, kinds: Sequence[str] = ("glue flap",)) -> Drawing:
    """Two cartons with a coat; what it leaves bare on each is shifted across the press by so much."""
    page = Drawing(ACROSS, ALONG)
    for carton, shift in zip(CARTONS, shifts, strict=True):
        x0, y0, x1, y1 = carton.box
        page.fill(VARNISH, rect=(x0 - 2, y0 - 2, x1 + 2, y1 + 2))
        page.fill(VARNISH, 0, rect=(x0 - 2 + shift, y0 + 40, x0 + 15 + shift, y0 + 140))
        if "code" in kinds:
            page.fill(VARNISH, 0, rect=(x0 + 90 + shift, y0 + 60, x0 + 110 + shift, y0 + 70))
    for carton in CARTONS:
        draw_die(page, carton)
    return page


FROM_OUTSIDE: dict[str, object] = {
    "artwork_is": "sheet", "gripper_edge": "bottom", "coating": ON_PLATE,
    "areas": [{"is": "glue flap", "box": [50, 105, 65, 195]}, {"is": "code", "box": [140, 120, 160, 130]}],
}  # fmt: skip
ONLY_FLAPS: dict[str, object] = {**FROM_OUTSIDE, "coating": {**ON_PLATE, "clear": ["glue flap"]}}


def case(rule, name, expect, draw=one_up, ticket=None, press=PRESS, **more):
    return Case(rule, name, expect, draw, ticket=ticket or pair(6), press=press, **more)


CASES = [
    case("coat-in-clear-area", "windows 3 mm aside on one of two blanks", "fail", lambda: sheet(0, -3), ONLY_FLAPS,
         near=(269, 105, 272, 195), measured=3.0),
    case("coat-in-clear-area", "all windows where they belong", "pass", lambda: sheet(0, 0), ONLY_FLAPS),
    case("coat-in-clear-area", "a code area that the plate does not leave bare", "fail", lambda: sheet(0, 0),
         FROM_OUTSIDE, measured=10.0),
    case("coat-in-clear-area", "code areas left bare", "pass", lambda: sheet(0, 0, kinds=("code",)), FROM_OUTSIDE),
    case("coat-in-clear-area", "a window of the one-up under the coat", "fail", varnished,
         pair(6, areas=[{"is": "window", "box": list(CODE)}], coating={**ON_PLATE, "clear": ["window"]})),
    case("coat-in-clear-area", "the glue flap of the one-up, which is looked at there", "pass", varnished,
         pair(6, coating={**ON_PLATE, "clear": ["glue flap"]})),
    case("coat-in-clear-area", "nobody says what an overall coat leaves bare", "not checked",
         ticket=pair(6, coating={"kind": "uv", "area": "overall"})),
    case("coat-in-clear-area", "nothing is left bare", "pass", ticket=pair(6, coating={**CLEAR, "clear": "none"})),
    case("coat-short-beside-clear-area", "a gutter of 1.2 mm beside a glue flap", "warn", ticket=pair(1.2),
         measured=0.5),
    case("coat-short-beside-clear-area", "a knife that a face shares with a glue flap", "warn", ticket=pair(0),
         measured=-0.7),
    case("coat-short-beside-clear-area", "a gutter of 6 mm", "pass"),
    case("coat-short-beside-clear-area", "two glue flaps share a knife", "pass", ticket=pair(0, (180, 0))),
    case("coat-short-beside-clear-area", "the coat is not choked by anything known", "not checked", press=units()),
    case("coating-plate-too-fine", "0.4 mm of coat between two glue flaps", "warn", ticket=pair(1.8, (180, 0)),
         measured=0.4),
    case("coating-plate-too-fine", "two flaps that touch once they are choked", "pass", ticket=pair(1.2, (180, 0))),
    case("coating-plate-too-fine", "4.6 mm between two flaps", "pass", ticket=pair(6, (180, 0))),
    case("coating-plate-too-fine", "0.4 mm between two flaps, gutters bare", "pass", ticket=pair(1.8, (180, 0),
         coating={**CLEAR, "clear": ["glue flap"]}),
         press=units(coating_plate={"choke": "0.7 mm", "gutters": "bare"})),
    case("coating-plate-too-fine", "a bare line 0.8 mm wide", "warn", case="bare", measured=0.8,
         ticket=pair(6, areas=[{"is": "code", "box": [100, 70, 120, 70.8]}, AREAS[1]]),
         press=units(coating_plate={"choke": "0 mm"})),
    case("coat-near-glue-seam", "choked by 0.7 mm", "note", measured=0.7, near=(24, 55, 26, 145)),
    case("coat-near-glue-seam", "2.5 mm from the seam", "pass", press=SEAM),
    case("coat-near-glue-seam", "the area on the ticket reaches 2 mm past the crease", "note",
         ticket=pair(6, areas=[{"is": "glue flap", "box": [10, 55, 27, 145]}, AREAS[0]]), measured=0.7),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_rules_on_the_coating_plate(case: Case, tmp_path):
    prove(case, tmp_path)
