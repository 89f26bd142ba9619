"""Bleed: ink that touches the cut has to carry on past it."""

from dataclasses import replace

import pytest
from pikepdf import Name

from preflight.findings import Place, Reading
from preflight.judging.one_fault import joined
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import MM, Drawing
from tests.house import CARTON, Case, blank_page, judged, prove, with_die

X0, Y0, X1, Y1 = CARTON.box
LID = (25, 145, 85, 190)  # lid and tuck flap on panel 1
TOP_EDGE = (25, 190, 85, 190.5)
TICKET = {"artwork_is": "one-up"}


def ground(past_mm: float, ink: object = "Mill Brown", tint: float = 1.0) -> Drawing:
    """A ground over the top lid, carried past its cut by so much at the top and amply at the sides."""
    page = blank_page()
    page.fill(ink, tint, rect=(20, 150, 90, Y1 + past_mm))  # type: ignore[arg-type]
    return page


def stripe() -> Drawing:
    """A slanting stripe and a letter that run off the top: they cross the cut and do not stop at it."""
    page = blank_page()
    page.fill("Mill Brown", points=[(30, 170), (38, 170), (62, 194), (54, 194)])
    return page.fill("Mill Brown", points=[(66, 180), (69, 180), (75, 192), (72, 192.6)])


def dots(radius_mm: float) -> Drawing:
    page = blank_page()
    page.gs(LW=1)
    for x in range(33, 78, 8):
        page.fill("Mill Brown", points=_circle(x, 189.2, radius_mm))
    return page


def _circle(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    from math import cos, pi, sin

    return [(x + radius * cos(2 * pi * i / 48), y + radius * sin(2 * pi * i / 48)) for i in range(48)]


def photo() -> Drawing:
    """A picture that goes on for 4 mm, in which cyan ends along the cut and the other inks carry on."""
    page = blank_page()
    page.fill((0, 0.6, 0.5, 0.1), rect=(20, 150, 90, Y1 + 4))
    page.gs(OP=True, op=True, OPM=1)
    page.fill((0.3, 0, 0, 0), rect=(20, 150, 90, Y1 + 1))
    return page.gs(OP=False, op=False)


def brown_under_varnish() -> Drawing:
    page = ground(0.0)
    page.gs(OP=True, op=True)
    page.fill("Gloss Varnish", rect=(20, 150, 90, Y1 + 4))
    return page.gs(OP=False, op=False)


def brown_and_a_little_cyan() -> Drawing:
    """What is left past the cut is a tint that looks like bare board."""
    page = blank_page()
    page.fill((0.05, 0, 0, 0), rect=(20, 150, 90, Y1 + 5))
    page.gs(OP=True, op=True)
    page.fill("Mill Brown", rect=(20, 150, 90, Y1))
    return page.gs(OP=False, op=False)


def short_stretch(length_mm: float) -> Drawing:
    """An ample ground with a notch down to the cut."""
    page = ground(4.0)
    return page.fill((0, 0, 0, 0), rect=(50, Y1 + 0.5, 50 + length_mm, Y1 + 6))


def knocked_by_die() -> Drawing:
    """An ample ground; the die knocks a hairline out of it, which is another rule's matter."""
    page = ground(4.0)
    for line in CARTON.cut:
        page.stroke("Cutting", line, width_mm=0.25, close=False)
    for line in CARTON.crease:
        page.stroke("Creasing", line, width_mm=0.25, close=False)
    return page


def trim_knocked_out() -> Drawing:
    """An ample ground, and a cut without creases at the trim box that knocks out of it."""
    page = blank_page().fill("Mill Brown", rect=(5, 5, 210, 195))
    page.box("TrimBox", (10, 10, 205, 190))
    return page.stroke("Cutting", [(10, 10), (205, 10), (205, 190), (10, 190)])


def die(page: Drawing) -> Drawing:
    return with_die(page)


SLEEVE = (60.0, 50.0)


def sleeves(
    gap_mm: float, left: object, right: object, *, past_mm: float = 5.0, stop_mm: float | None = None
) -> Drawing:
    """Two open sleeves of 60 x 50 mm side by side, a ground on each, facing each other ``stop_mm`` past the cut.

    Without ``stop_mm`` the grounds meet in the middle of the gap.
    """
    page = Drawing(180, 90)
    a, b, low = 20.0, 20.0 + SLEEVE[0] + gap_mm, 20.0
    stop = gap_mm / 2 if stop_mm is None else stop_mm
    for ink, rect in [
        (left, (a - past_mm, low - past_mm, a + SLEEVE[0] + stop, low + SLEEVE[1] + past_mm)),
        (right, (b - stop, low - past_mm, b + SLEEVE[0] + past_mm, low + SLEEVE[1] + past_mm)),
    ]:
        if ink is not None:
            page.fill(ink, rect=rect)  # type: ignore[arg-type]
    page.gs(OP=True, OPM=1)
    for x in (a, b):
        corners = [(x, low), (x + SLEEVE[0], low), (x + SLEEVE[0], low + SLEEVE[1]), (x, low + SLEEVE[1])]
        page.stroke("Cutting", corners)
        for share in (0.2, 0.5, 0.7):
            at = x + share * SLEEVE[0]
            page.stroke("Creasing", [(at, low), (at, low + SLEEVE[1])], close=False)
    return page.gs(OP=False)


def window(stop_mm: float) -> Drawing:
    """A ground on panel 1 with a window of 20 x 20 mm, into which it runs so far."""
    page = blank_page().fill("Mill Brown", rect=(35, 75, 75, 125))
    inner = 45 + stop_mm, 90 + stop_mm, 65 - stop_mm, 110 - stop_mm
    page.fill((0, 0, 0, 0), rect=inner)
    die(page).gs(OP=True)
    page.stroke("Cutting", [(45, 90), (65, 90), (65, 110), (45, 110)])
    return page.gs(OP=False)


def dust_flap(past_mm: float) -> Drawing:
    """A ground on a dust flap, which nobody sees, carried so far past its tip."""
    return die(blank_page().fill("Mill Brown", rect=(92, 160, 108, 169 + past_mm)))


def at_a_slot(past_mm: float) -> Drawing:
    """A ground on the lid, carried so far into the slot of 3 mm between it and the dust flap beside it."""
    carton = reverse_tuck(at=(10, 10), slot=3.0)
    return with_die(blank_page(carton).fill("Mill Brown", rect=(40, 146, 85 + past_mm, 152)), carton)


def trimmed() -> Drawing:
    """No die, and a ground that ends at the trim box at the top."""
    page = blank_page().fill("Mill Brown", rect=(2, 2, 213, 190))
    page.box("TrimBox", (10, 10, 205, 190))
    return page


def two_cut_lines() -> Drawing:
    """The cut drawn twice, 0.8 mm apart."""
    page = die(ground(5.0))
    page.gs(OP=True)
    for line in CARTON.cut:
        page.stroke("Cutting", [(x + 0.8, y + 0.8) for x, y in line], close=False)
    return page.gs(OP=False)


CYAN, BLACK = (1, 0, 0, 0), (0, 0, 0, 1)


def pattern(
    side_mm: float, gap_mm: float, past_mm: float, *, chequer: bool = False, inks: tuple[object, ...] = (CYAN,),
    phase_mm: float = 0.6,
) -> Drawing:  # fmt: skip
    """Squares all over the carton, the inks in turn, cut off so far past the top edge; a row of them ends near it."""
    page = blank_page().raw("q").path([(2, 2), (213, 2), (213, Y1 + past_mm), (2, Y1 + past_mm)]).raw("W n")
    step = side_mm + gap_mm
    for row in range(int(200 / step) + 2):
        for column in range(int(215 / step) + 2):
            x, y = column * step, Y1 + phase_mm - side_mm - (int(190 / step) - row) * step
            if not chequer or (row + column) % 2 == 0 or len(inks) > 1:
                page.fill(inks[(row + column) % len(inks)], rect=(x, y, x + side_mm, y + side_mm))  # type: ignore[arg-type]
    return page.raw("Q")


def one_row() -> Drawing:
    """Squares side by side that end at the top edge, and no more of them."""
    page = blank_page()
    for x in range(33, 76, 5):
        page.fill(CYAN, rect=(x, Y1 - 3, x + 3, Y1))
    return page


def cells(side_mm: float, past_mm: float) -> Drawing:
    """A ground of squares that abut."""
    return pattern(side_mm, 0, past_mm, phase_mm=0.13)


def tiled(past_mm: float) -> Drawing:
    """A tiling whose cells abut, each a lighter and a darker half."""
    page, side = blank_page(), 3 * MM
    cell = page.pdf.make_stream(
        f"1 0 0 0 k 0 0 {side} {side / 2} re f .6 0 0 0 k 0 {side / 2} {side} {side} re f".encode()
    )
    cell.Type, cell.PatternType, cell.PaintType, cell.TilingType = Name.Pattern, 1, 1, 1
    cell.BBox, cell.XStep, cell.YStep, cell.Resources = [0, 0, side, side], side, side, page.resources
    cell.Matrix = [1, 0, 0, 1, 0, 0.1 * MM]
    page.resources.Pattern.P0 = cell
    page.raw("/Pattern cs /P0 scn")
    return page.path([(2, 2), (213, 2), (213, Y1 + past_mm), (2, Y1 + past_mm)]).raw("f")


def keyline(width_mm: float, ink: object = BLACK, *, past_mm: float = 5.0, at_mm: float = 0.0) -> Drawing:
    """A ground, and a line along the top edge that knocks it out."""
    page = ground(past_mm, CYAN)
    return page.stroke(ink, [(31, Y1 + at_mm), (79, Y1 + at_mm)], width_mm=width_mm, close=False)  # type: ignore[arg-type]


def framed(turn: int = 0) -> Drawing:
    """No die; a ground past the trim box on all sides, and a line along the whole of the box that knocks it out."""
    page = Drawing(215, 200, trim=(10, 10, 205, 190))
    page.page.obj.Rotate = turn
    page.fill(CYAN, rect=(5, 5, 210, 195))
    return page.stroke(BLACK, [(10, 10), (205, 10), (205, 190), (10, 190)], width_mm=0.35)


def in_a_form(page: Drawing) -> Drawing:
    """The same page, its content in a form."""
    inner = "\n".join(page.ops)
    page.ops.clear()
    return page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 215, 200))} Do")


REED, RUST, WHITE = (0.15, 0, 0.35, 0), "Rust", (0, 0, 0, 0)


def reversed_out(ink: object, points: list[tuple[float, float]], past_mm: float = 4.0) -> Drawing:
    """An ample ground in cyan with a shape in another colour on the top edge."""
    return ground(past_mm, CYAN).fill(ink, points=points)  # type: ignore[arg-type]


def leaf_on_the_edge(ink: object, out_mm: float) -> Drawing:
    """A leaf of 14 mm that lies along the cut; its rim ends so far past it."""
    rim = [(48 + i * 0.5, 4 * 1.5 * (i / 28) * (1 - i / 28)) for i in range(29)]
    low = Y1 + out_mm - 2 * 1.5
    return reversed_out(ink, [*((x, low + y) for x, y in rim), *((x, low - y) for x, y in rim[-2:0:-1])])


def slanting(past_mm: float, ink: object = CYAN, on: object = None) -> Drawing:
    """Stripes 1 mm wide at 45 degrees, cut off so far past the top edge; the ground goes on."""
    page = ground(4.0, on) if on is not None else blank_page()
    page.raw("q").path([(2, 150), (213, 150), (213, Y1 + past_mm), (2, Y1 + past_mm)]).raw("W n")
    for x in range(-20, 110, 4):
        page.fill(ink, points=[(x, 150), (x + 1.41, 150), (x + 61.41, 210), (x + 60, 210)])  # type: ignore[arg-type]
    return page.raw("Q")


def bar(wide_mm: float, past_mm: float, on: object = None) -> Drawing:
    """An upright bar that ends square past the top edge."""
    page = ground(4.0, on) if on is not None else blank_page()
    return page.fill(RUST, rect=(50, 160, 50 + wide_mm, Y1 + past_mm))


def torn() -> Drawing:
    """A ground whose end goes up and down past the cut by less than 2 mm."""
    from math import sin

    top = [(20 + i * 0.25, Y1 + 1 + 0.8 * sin(i * 0.5)) for i in range(281)]
    return blank_page().fill(CYAN, points=[(20, 150), (90, 150), *top[::-1]])


def die_in_black(page: Drawing, width_mm: float) -> Drawing:
    """The die in a printing ink, by processing steps, in lines that knock out."""
    for step, lines in (("Cutting", CARTON.cut), ("Creasing", CARTON.crease)):
        page.layer(step, group="Structural", step=step)
        for line in lines:
            page.stroke(BLACK, line, width_mm=width_mm, close=False)
        page.end_layer()
    return page


def overprinting(past_mm: float, *, on: float, ink: object = CYAN, tint: float = 1.0) -> Drawing:
    """Rust over the top lid that overprints a ground; each ends so far past the top edge."""
    page = ground(on, ink).gs(OP=True, op=True, OPM=1)
    page.fill(RUST, tint, rect=(20, 150, 90, Y1 + past_mm))
    return page.gs(OP=False, op=False)


SHOULDERED = reverse_tuck(at=(10, 10), shoulder=3)
"""The lid on panel 1 is 3 mm narrower on either side: its root runs from (28, 145) to (82, 145)."""


def beside_a_root(*, past_fold_mm: float = 0.0, lid_past_mm: float | None = None, root: bool = True) -> Drawing:
    """A ground on the body with ample bleed that ends at the fold of a narrow lid, or covers it with so much."""
    page = blank_page(SHOULDERED).gs(OP=True, op=True)
    top = 145 + past_fold_mm
    page.fill("Mill Brown", points=[(25, 51), (209, 51), (209, 149), (84, 149), (84, top), (25, top)])
    if lid_past_mm is not None:
        page.fill("Mill Brown", rect=(28 - lid_past_mm, 140, 82 + lid_past_mm, 176))
        page.fill("Mill Brown", rect=(20, 175, 90, 195))
    page.gs(OP=False, op=False)
    folds = [line for line in SHOULDERED.crease if root or line != [(28, 145), (82, 145)]]
    draw_die(page, replace(SHOULDERED, crease=folds))
    return page


def sleeve_with_ground(right_mm: float, top_mm: float, *, apart: bool = False) -> Drawing:
    """A sleeve with a ground that is carried past the right and the top edge by so much, or one for each."""
    page = Drawing(215, 120).gs(OP=True, op=True)
    if apart:
        page.fill("Mill Brown", rect=(180, 6, 205 + right_mm, 90)).fill("Mill Brown", rect=(25, 60, 160, 110 + top_mm))
    else:
        page.fill("Mill Brown", rect=(25, 6, 205 + right_mm, 110 + top_mm))
    page.stroke("Cutting", [(10, 10), (205, 10), (205, 110), (10, 110)])
    for x in (25, 85, 115, 175):
        page.stroke("Creasing", [(x, 10), (x, 110)], close=False)
    return page.gs(OP=False, op=False)


def case(name, expect, draw, **more):
    return Case("bleed-short", name, expect, draw, ticket=TICKET, **more)


CASES = [
    case("ground stops at the cut", "fail", lambda: die(ground(0.0)), near=TOP_EDGE, measured=0.0),
    case("1.9 mm", "fail", lambda: die(ground(1.9)), near=TOP_EDGE, measured=1.9),
    case("2.0 mm", "warn", lambda: die(ground(2.0)), near=TOP_EDGE, measured=2.0),
    case("2.1 mm", "warn", lambda: die(ground(2.1)), near=TOP_EDGE, measured=2.1),
    case("2.9 mm", "warn", lambda: die(ground(2.9)), near=TOP_EDGE, measured=2.9),
    case("3.0 mm", "pass", lambda: die(ground(3.0))),
    case("ample", "pass", lambda: die(ground(5.0))),
    case("a 10 % tint at 1.9 mm", "fail", lambda: die(ground(1.9, tint=0.1)), measured=1.9),
    case("process ink at 2.5 mm", "warn", lambda: die(ground(2.5, (0, 0.8, 0.6, 0))), measured=2.5),
    case("white carton, no bleed", "pass", lambda: die(blank_page().fill("Mill Brown", rect=(40, 70, 70, 120)))),
    case("ink stops 1 mm inside the cut", "pass", lambda: die(ground(-1.0))),
    case("slanting stripe and letter run off", "pass", lambda: die(stripe())),
    case("dots run off", "pass", lambda: die(dots(1.5))),
    case("picture in which one ink ends", "pass", lambda: die(photo())),
    case("brown stops under a varnish that goes on", "fail", lambda: die(brown_under_varnish()), measured=0.0),
    case("what goes on is next to nothing", "fail", lambda: die(brown_and_a_little_cyan()), measured=0.0),
    case("a notch of 1.5 mm", "pass", lambda: die(short_stretch(1.5))),
    case("a notch of 4 mm", "fail", lambda: die(short_stretch(4)), near=(49, 189, 55, 191), measured=0.5),
    case("the die knocks out", "pass", knocked_by_die),
    case("into a window by 1 mm", "fail", lambda: window(1.0), measured=1.0, near=(45, 90, 65, 110)),
    case("into a window by 3 mm", "pass", lambda: window(3.0)),
    case("1 mm on a dust flap", "warn", lambda: dust_flap(1.0), case="hidden flap", measured=1.0),
    case("stops at the edge of a slot", "warn", lambda: at_a_slot(0.0), case="slot", measured=0.0),
    case("half a slot of 3 mm", "pass", lambda: at_a_slot(1.5)),
    case("no die, ground ends at the trim box", "warn", trimmed, measured=0.0),
    case("a cut without creases knocks out", "pass", trim_knocked_out),
    case("two cut lines", "not checked", two_cut_lines),
    case("half a gutter of 4 mm", "pass", lambda: sleeves(4, "Mill Brown", "Mill Brown")),
    case("half a gutter of 4 mm, other ink beyond", "pass", lambda: sleeves(4, "Mill Brown", "Moss Green")),
    case("1 mm in a gutter of 4 mm", "fail", lambda: sleeves(4, "Mill Brown", "Mill Brown", stop_mm=1), measured=1.0),
    case("narrow gutter, one colour", "pass", lambda: sleeves(0.6, "Mill Brown", "Mill Brown")),
    case("narrow gutter, two colours", "warn", lambda: sleeves(0.6, "Mill Brown", "Moss Green"), case="narrow gutter"),
    case("common knife, one colour", "pass", lambda: sleeves(0, "Mill Brown", "Mill Brown")),
    case("common knife, two colours", "fail", lambda: sleeves(0, "Mill Brown", "Moss Green"), case="common knife"),
    case("common knife, bare board beyond", "fail", lambda: sleeves(0, "Mill Brown", None), case="common knife"),
    case("squares of a pattern end near the cut", "pass", lambda: die(pattern(3, 1, 4))),
    case("that pattern stops at the cut", "fail", lambda: die(pattern(3, 1, 0)), near=TOP_EDGE),
    case("that pattern stops 1.5 mm past it", "fail", lambda: die(pattern(3, 1, 1.5)), near=TOP_EDGE),
    case("a pattern with wide gaps", "pass", lambda: die(pattern(3, 3, 3))),
    case("a chequer of 2 mm", "pass", lambda: die(pattern(2, 0, 3, chequer=True))),
    case("a chequer of 5 mm", "pass", lambda: die(pattern(5, 0, 4, chequer=True))),
    case("a chequer of 5 mm stops at the cut", "fail", lambda: die(pattern(5, 0, 0, chequer=True)), near=TOP_EDGE),
    case("a chequer whose squares end at the cut", "pass", lambda: die(pattern(5, 0, 4, chequer=True, phase_mm=0))),
    case(
        "they do, and nothing follows", "fail", lambda: die(pattern(5, 0, 0, chequer=True, phase_mm=0)), near=TOP_EDGE
    ),
    case("a chequer of two inks", "pass", lambda: die(pattern(3, 0, 4, inks=(CYAN, "Mill Brown")))),
    case("it stops at the cut", "fail", lambda: die(pattern(3, 0, 0, inks=(CYAN, "Mill Brown"))), near=TOP_EDGE),
    case("a pattern in a form", "pass", lambda: die(in_a_form(pattern(3, 1, 4)))),
    case("one row of squares stops at the cut", "fail", lambda: die(one_row()), near=TOP_EDGE, measured=0.0),
    case("cells that abut", "pass", lambda: die(cells(3, 4))),
    case("small cells that abut", "pass", lambda: die(cells(1.3, 4))),
    case("cells that abut stop at the cut", "fail", lambda: die(cells(3, 0)), near=TOP_EDGE, measured=0.0),
    case("a tiling without gaps", "pass", lambda: die(tiled(4))),
    case("a tiling stops at the cut", "fail", lambda: die(tiled(0)), near=TOP_EDGE),
    case("a hairline on the cut knocks out", "pass", lambda: die(keyline(0.1))),
    case("a line of 1 pt on the cut knocks out", "pass", lambda: die(keyline(0.35))),
    case("a line of 2 pt on the cut knocks out", "pass", lambda: die(keyline(0.7))),
    case("a light line on the cut knocks out", "pass", lambda: die(keyline(0.35, (0, 0.3, 0, 0)))),
    case("a line of a spot on the cut knocks out", "pass", lambda: die(keyline(0.35, "Moss Green"))),
    case("a line of varnish on the cut knocks out", "pass", lambda: die(keyline(0.35, "Gloss Varnish"))),
    case("a line beside the cut knocks out", "pass", lambda: die(keyline(0.35, at_mm=0.3))),
    case("a line just inside the cut knocks out", "pass", lambda: die(keyline(0.35, at_mm=-0.2))),
    case("a line all round the trim box", "pass", framed),
    case("a line all round the trim box, page turned", "pass", lambda: framed(90)),
    case("a line on the cut and no bleed", "fail", lambda: die(keyline(0.35, past_mm=0)), near=TOP_EDGE, measured=0.0),
    case("a line on the cut and 1 mm of bleed", "fail", lambda: die(keyline(0.35, past_mm=1)), measured=1.0),
    case("a bar of 2 mm on the cut", "fail", lambda: die(keyline(2.0)), near=TOP_EDGE, measured=1.0),
    case("a white line on the cut", "fail", lambda: die(keyline(0.35, (0, 0, 0, 0))), near=TOP_EDGE, measured=0.0),
    case("the rim of a leaf lies past the cut", "pass", lambda: die(leaf_on_the_edge(REED, 0.7))),
    case("the rim of a leaf on the cut", "pass", lambda: die(leaf_on_the_edge(RUST, 0.0))),
    case("the rim of a leaf in a form", "pass", lambda: die(in_a_form(leaf_on_the_edge(REED, 0.7)))),
    case("a white leaf lies past the cut", "pass", lambda: die(leaf_on_the_edge(WHITE, 3.5))),
    case(
        "a bar of another colour ends along the cut", "fail", lambda: die(bar(10, 1, CYAN)), near=TOP_EDGE, measured=1
    ),
    case("another ground ends along the cut", "warn", lambda: die(bar(20, 2.5, REED)), near=TOP_EDGE, measured=2.5),
    case("a bar of 3 mm ends past the cut", "fail", lambda: die(bar(3, 1)), near=TOP_EDGE, measured=1.0),
    case("what follows a bar of 3 mm is faint", "fail", lambda: die(bar(3, 1, (0, 0, 0.05, 0))), measured=1.0),
    case("a dot in a ground ends past the cut", "pass", lambda: die(reversed_out(RUST, _circle(55, 178.7, 12)))),
    case("narrow slanting stripes", "pass", lambda: die(slanting(3))),
    case("narrow slanting stripes on a ground", "pass", lambda: die(slanting(3, RUST, CYAN))),
    case("narrow slanting stripes stop at the cut", "fail", lambda: die(slanting(0)), near=TOP_EDGE, measured=0.0),
    case("narrow slanting stripes stop at 1 mm", "fail", lambda: die(slanting(1)), near=TOP_EDGE, measured=1.0),
    case("they stop, the ground goes on", "fail", lambda: die(slanting(1, RUST, CYAN)), near=TOP_EDGE, measured=1.0),
    case("the die is a broad black line that knocks out", "pass", lambda: die_in_black(ground(4.0, CYAN), 2.0)),
    case(
        "the die is that line, and there is no bleed",
        "fail",
        lambda: die_in_black(ground(0.0, CYAN), 2.0),
        near=TOP_EDGE,
        measured=0.0,
    ),
    case(
        "the die is that line, and there are 2.1 mm of bleed",
        "warn",
        lambda: die_in_black(ground(2.1, CYAN), 2.0),
        near=TOP_EDGE,
        measured=2.1,
    ),
    case("a short run beside a flap's root, where the ground ends at the fold", "pass", beside_a_root),
    case("the same, the ground 1 mm past the fold", "pass", lambda: beside_a_root(past_fold_mm=1.0)),
    case(
        "the same, where the ground ends along the lid as well",
        "fail",
        lambda: beside_a_root(lid_past_mm=0.0),
        near=(25, 144, 29, 176),
        measured=0.0,
    ),
    case("the same, where the lid has its bleed", "pass", lambda: beside_a_root(lid_past_mm=4.0)),
    case(
        "a short run where no fold goes on",
        "fail",
        lambda: beside_a_root(root=False),
        near=(25, 144, 29, 146),
        measured=0.0,
    ),
    case("a torn end", "fail", lambda: die(torn()), near=TOP_EDGE),
    case("varnish stops at the cut", "pass", lambda: die(ground(0.0, "Gloss Varnish"))),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_bleed(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("draw", "inks"),
    [
        (lambda: overprinting(1, on=4, ink=(0.1, 0, 0, 0)), {"Rust"}),
        (lambda: overprinting(4, on=1, tint=0.1), {"Cyan"}),
        (lambda: overprinting(1, on=1), {"Cyan", "Rust"}),
        (lambda: bar(10, 1, CYAN), {"Rust"}),
    ],
    ids=["a faint ground goes on", "a tint goes on", "both end", "one on the other"],
)
def test_the_ink_that_ends_is_named_and_no_other(draw, inks, tmp_path):
    judgement = judged(case("", "fail", lambda: die(draw())), tmp_path)
    told = " ".join(finding.says for finding in judgement.findings)
    assert {ink for ink in ("Cyan", "Rust") if ink in told} == inks


def test_a_short_run_beside_a_root_is_told_together_with_the_longer_one_where_the_same_ink_ends(tmp_path):
    (finding,) = judged(case("", "fail", lambda: beside_a_root(lid_past_mm=0.0)), tmp_path).findings
    told = [place.box_mm for place in finding.places]
    shoulders = [box for box in told if box[3] - box[1] < 1.5 and box[2] - box[0] < 5 and 144 < box[1] < 146]
    assert len(shoulders) == 2
    assert len(told) > 2


@pytest.mark.parametrize(
    ("draw", "told"),
    [
        (lambda: sleeve_with_ground(1.0, 1.0), [("fail", 2)]),
        (lambda: sleeve_with_ground(1.0, 2.5), [("fail", 2)]),
        (lambda: sleeve_with_ground(2.5, 1.0), [("fail", 2)]),
        (lambda: sleeve_with_ground(2.5, 2.5), [("warn", 2)]),
        (lambda: sleeve_with_ground(1.0, 5.0), [("fail", 1)]),
        (lambda: sleeve_with_ground(1.0, 2.5, apart=True), [("fail", 1), ("warn", 1)]),
    ],
    ids=["alike", "right worse", "top worse", "both under 3 mm", "one edge", "two grounds"],
)
def test_one_background_that_stops_short_round_a_corner_is_one_finding(draw, told, tmp_path):
    findings = judged(case("", "fail", draw), tmp_path).findings
    assert [(finding.verdict.word, len(finding.places)) for finding in findings] == told


def test_readings_that_meet_in_two_inks_or_share_an_ink_far_apart_are_two_faults():
    def reading(inks, box, case_=""):
        return Reading(1.0, "mm", (Place(box),), case=case_, facts={"separations": inks})

    top, right, left = (0, 99, 100, 100), (99.5, 0, 100.5, 100), (-60, 0, -50, 100)
    told = [reading(["A"], top), reading(["B"], right), reading(["A"], left), reading(["A", "B"], top, "slot")]
    assert joined(told, "separations") == [0, 1, 2, 3]
    assert joined([*told, reading(["B", "A"], (98, 98, 99, 99))], "separations") == [0, 0, 2, 3, 0]
