"""The die as it is drawn: found, off the plates, overprinting."""

import pytest

from tests import hairlines
from tests.cartons import draw_die
from tests.drawn import Drawing
from tests.house import CARTON, Case, blank_page, printed, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
BLACK = (0, 0, 0, 1)


def artwork() -> Drawing:
    return blank_page().fill("Mill Brown", rect=(30, 60, 80, 140))


def die_in(cut: object, crease: object = None, **how: object) -> Drawing:
    page = artwork()
    draw_die(page, CARTON, cut=cut, crease=cut if crease is None else crease, **how)  # type: ignore[arg-type]
    return page


def bleeding(past_mm: float, **die: object) -> Drawing:
    """A ground on the last panel that carries on past the cut at the right."""
    page = blank_page().fill("Mill Brown", rect=(180, 60, CARTON.box[2] + past_mm, 140))
    draw_die(page, CARTON, **die)  # type: ignore[arg-type]
    return page


def copy_in_black() -> Drawing:
    """A true die, and a second copy of its cut left in black."""
    page = with_die(artwork())
    for line in CARTON.cut:
        page.stroke(BLACK, [(x + 0.1, y) for x, y in line], width_mm=0.2, close=False)
    return page


def panel_frames() -> Drawing:
    """Thin black frames 3 mm inside each panel, and rules across the carton."""
    page = artwork()
    for panel in CARTON.panels:
        (x0, y0), _, (x1, y1), _ = panel
        page.stroke(BLACK, [(x0 + 3, y0 + 3), (x1 - 3, y0 + 3), (x1 - 3, y1 - 3), (x0 + 3, y1 - 3)], width_mm=0.2)
    for y in range(60, 140, 4):
        page.stroke(BLACK, [(10, y), (205, y)], width_mm=0.2, close=False)
    return with_die(page)


def knocking(*, ground: bool, kinds: str = "both") -> Drawing:
    """A die that does not overprint, over a ground or beside it."""
    page = blank_page()
    page.fill("Mill Brown", rect=(20, 50, 90, 150) if ground else (40, 70, 70, 130))
    if kinds == "both":
        draw_die(page, CARTON, overprint=False)
        return page
    page.gs(OP=True)
    for line in CARTON.cut:
        page.stroke("Cutting", line, close=False)
    page.gs(OP=False)
    for line in CARTON.crease:
        page.stroke("Creasing", line, close=False)
    return page


def die_below() -> Drawing:
    """A die that does not overprint and lies below the artwork: nothing is knocked out."""
    page = blank_page()
    draw_die(page, CARTON, overprint=False)
    return page.fill("Mill Brown", rect=(20, 50, 90, 150))


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


CASES = [
    case("die-line-missing", "no die", "warn", artwork),
    case("die-line-missing", "a die", "pass", lambda: with_die(artwork())),
    case("die-line-prints", "in black", "fail", lambda: die_in(BLACK, crease_dash_mm=(3, 2)), case="in an ink"),
    case("die-line-prints", "in process inks", "fail", lambda: die_in((0, 1, 1, 0), crease_dash_mm=(3, 2)),
         case="in an ink"),
    case("die-line-prints", "a copy in black", "fail", copy_in_black, case="in an ink"),
    case("die-line-prints", "in registration colour", "fail", lambda: die_in("All"), case="in an ink"),
    case("die-line-prints", "in registration colour, which the ticket names", "fail", lambda: die_in("All"),
         ticket={**ONE_UP, "die": {"lines": {"cut": ["All"]}}}, case="in an ink"),
    case("die-line-prints", "in black, which the ticket names", "fail",
         lambda: die_in(BLACK).fill(BLACK, rect=(40, 90, 60, 100)),
         ticket={**ONE_UP, "die": {"lines": {"cut": ["Black"]}}}, case="in an ink"),
    case("registration-colour-in-art", "the die in registration colour is another rule's matter", "pass",
         lambda: die_in("All", crease_dash_mm=(3, 2))),
    case("bleed-short", "a die in one ink, its creases dashed", "fail",
         lambda: bleeding(1.0, cut="Die", crease="Die", crease_dash_mm=(3, 2)), measured=1.0),
    case("bleed-short", "a die in one ink, all solid", "fail", lambda: bleeding(1.0, cut="Die", crease="Die"),
         measured=1.0),
    case("bleed-short", "a die in one ink and enough bleed", "pass", lambda: bleeding(3.0, cut="Die", crease="Die")),
    case("die-line-prints", "in spots of its own", "pass", lambda: with_die(artwork())),
    case("die-line-prints", "frames inside the panels", "pass", panel_frames),
    *(
        case("die-line-prints", f"perhaps: {name}", "warn", draw, case="perhaps")
        for name, draw in hairlines.DIES.items()
    ),
    case("die-line-prints", "perhaps: on a sheet", "warn", hairlines.DIES["a tray"], case="perhaps",
         ticket={"artwork_is": "sheet", "gripper_edge": "bottom"}),
    case("die-line-prints", "perhaps: where its box lies", "warn", hairlines.DIES["a straight glue flap, on the trim"],
         case="perhaps", near=CARTON.box),
    *(
        case("die-line-prints", f"not even perhaps: {name}", "pass", draw)
        for name, draw in hairlines.LOOK_ALIKES.items()
    ),
    case("die-line-prints", "perhaps a die, in an ink that does not print", "pass",
         lambda: hairlines.drawn(hairlines.STRAIGHT, "Technical drawing")),
    case("die-line-missing", "perhaps in process inks", "warn", hairlines.DIES["a tray"]),
    case("die-line-prints", "on a unit", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "units": ["Black", "Cutting"]}, case="on a unit"),
    case("die-line-prints", "not on a unit", "pass", lambda: printed("Black"), ticket={**ONE_UP, "units": ["Black"]}),
    case("die-knocks-out", "over a ground", "fail", lambda: knocking(ground=True), near=(20, 50, 90, 150)),
    case("die-knocks-out", "only the creases", "fail", lambda: knocking(ground=True, kinds="creases"),
         near=(20, 50, 90, 150)),
    case("die-knocks-out", "beside the ground", "pass", lambda: knocking(ground=False)),
    case("die-knocks-out", "overprinting", "pass",
         lambda: with_die(blank_page().fill("Mill Brown", rect=(20, 50, 90, 150)))),
    case("die-knocks-out", "below the artwork", "pass", die_below),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_die_lines(case, tmp_path):
    prove(case, tmp_path)
