"""Type and lines as drawn: small and thin, printed or left open."""

from math import cos, pi, sin

import pytest
from pikepdf import Dictionary, Name

from preflight.judging.judge import judge
from tests.cartons import draw_die
from tests.drawn import MM, Drawing
from tests.house import CARTON, SIX_UNITS, Case, blank_page, job_of, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
BLACK, WHITE, CYAN, BROWN = (0, 0, 0, 1), (0, 0, 0, 0), (1, 0, 0, 0), "Mill Brown"
GROUND = (30, 60, 80, 140)
AT = (40, 100)


def ground(ink: object = BROWN, tint: float = 1.0) -> Drawing:
    return blank_page().fill(ink, tint, rect=GROUND)  # type: ignore[arg-type]


def type_of(size_pt: float, ink: object = BLACK, page: Drawing | None = None) -> Drawing:
    return (page or blank_page()).text("Sage and thyme", AT, size_pt, ink)  # type: ignore[arg-type]


def scaled(size_pt: float, scale: float) -> Drawing:
    """Type in a form that is placed smaller, or larger, than it was drawn."""
    page = blank_page()
    type_of(10, page=page)
    page.ops.clear()
    name = page.form(f"0 0 0 1 k BT /F0 {size_pt} Tf 300 600 Td (Sage and thyme) Tj ET", bbox_mm=(0, 0, 500, 500))
    return page.raw(f"q {scale} 0 0 {scale} 0 0 cm /{name} Do Q")


def blanks() -> Drawing:
    return blank_page().text("      ", AT, 1, BLACK).text("Sage", (40, 90), 8)


def hidden_text() -> Drawing:
    return type_of(4, page=blank_page()).fill(CYAN, rect=GROUND)


def type_3(page: Drawing) -> Drawing:
    """A font whose glyph space is its own affair: 1 pt of it is 10 mm."""
    glyph = page.pdf.make_stream(b"30 0 0 0 30 30 d1 0 0 20 28 re f")
    page.resources.Font.F1 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 30, 30], FontMatrix=[1, 0, 0, 1, 0, 0],
        CharProcs=Dictionary(a=glyph), FirstChar=97, LastChar=97, Widths=[30],
        Encoding=Dictionary(Type=Name.Encoding, Differences=[97, Name.a]),
    )  # fmt: skip
    return page.colour(BLACK).raw("BT /F1 1 Tf 1 0 0 1 120 280 Tm (a) Tj ET")


def line(width_mm: float, ink: object = BLACK, page: Drawing | None = None) -> Drawing:
    return (page or blank_page()).stroke(ink, [(40, 80), (70, 110)], width_mm=width_mm, close=False)  # type: ignore[arg-type]


def scaled_line() -> Drawing:
    page = blank_page().raw("q 0.1 0 0 1 0 0 cm")
    return page.stroke(BLACK, [(400, 80), (400, 130)], width_mm=0.5, close=False).raw("Q")


def thin_fill(width_mm: float) -> Drawing:
    return blank_page().fill(BLACK, rect=(40, 100, 70, 100 + width_mm))


def vignette() -> Drawing:
    """A vignette built of 100 strips of 0.15 mm."""
    page = blank_page()
    for i in range(100):
        page.fill((i / 100, 0, 0, 0), rect=(40, 90 + i * 0.15, 70, 90.15 + i * 0.15))
    return page


def framed() -> Drawing:
    """A shape with a hairline of its own colour, as drawing programs leave them."""
    page = blank_page().colour(CYAN).colour(CYAN, stroke=True).raw("0.05 w")
    return page.path([(40, 80), (60, 80), (60, 100), (40, 100)]).raw("B")


def die_in_black() -> Drawing:
    page = blank_page().fill(BROWN, rect=GROUND)
    draw_die(page, CARTON, cut=BLACK, crease=BLACK, width_mm=0.04, crease_dash_mm=(3, 2))
    return page


FOUR_INKS = (0.6, 0.5, 0.5, 1)


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


def in_a_form(page: Drawing) -> Drawing:
    """The same page, its content in a form."""
    inner = "\n".join(page.ops)
    page.ops.clear()
    return page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 215, 200))} Do")


def icon(
    width_mm: float, *, icons: int = 1, side_mm: float = 9, ink: object = BLACK, page: Drawing | None = None
) -> Drawing:
    """Icons of eight rays across a square; each ray is about as long as its side."""
    page = page or blank_page()
    for number in range(icons):
        x, y = 36 + side_mm / 2 + (number % 4) * (side_mm + 1), 64 + side_mm / 2 + (number // 4) * (side_mm + 1)
        for i in range(8):
            dx, dy = cos(pi * i / 8) * side_mm / 2, sin(pi * i / 8) * side_mm / 2
            page.stroke(ink, [(x - dx, y - dy), (x + dx, y + dy)], width_mm=width_mm, close=False)  # type: ignore[arg-type]
    return page


def ticket_block(page: Drawing, x: float, y: float) -> Drawing:
    """A job ticket beside the carton: hairlines in process inks, small type in one and in four inks, swatches."""
    page.stroke(BLACK, [(x, y), (x + 50, y), (x + 50, y + 7), (x, y + 7)], width_mm=0.04)
    for i, ink in enumerate([CYAN, (0, 1, 0, 0), (0, 0, 1, 0), BLACK]):
        page.stroke(ink, [(x + 8 + 8 * i, y), (x + 8 + 8 * i, y + 7)], width_mm=0.03, close=False)
    page.fill(BLACK, rect=(x, y + 3, x + 50, y + 3.03))
    page.text("Job 4471 Sage tea", (x + 1, y + 0.7), 3).text("Date", (x + 34, y + 0.7), 4, (1, 1, 1, 1))
    page.fill((0.6, 0.5, 0.5, 0.3), rect=(x + 40, y + 3.5, x + 48, y + 6.5)).text("light", (x + 41, y + 4), 3, WHITE)
    page.text("black", (x + 41, y + 5.5), 4).gs(OP=True, op=True, OPM=1)
    page.text("w", (x + 45, y + 5.5), 4, WHITE).gs(OP=False, op=False)
    page.fill((1, 1, 1, 1), rect=(x + 42, y + 0.3, x + 44, y + 2)).fill(
        (0.8, 0.1, 0.1), rect=(x + 45, y + 0.3, x + 47, y + 2)
    )
    page.fill("All", rect=(x + 47.5, y + 0.3, x + 49, y + 2)).image(
        bytes([90] * 64), 4, 4, (x + 2, y + 3.5, x + 7, y + 6.8)
    )
    page.fill("Copper", rect=(x + 10, y + 3.5, x + 13, y + 6)).fill(CYAN, rect=(x + 11, y + 3.5, x + 13, y + 6))
    return page


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, lambda: with_die(draw()), **{"ticket": ONE_UP, **more})


CASES = [
    case("text-too-small", "4.6 pt", "warn", lambda: type_of(4.6), measured=4.6, near=(40, 99, 52, 102)),
    case("text-too-small", "5 pt", "pass", lambda: type_of(5)),
    case("text-too-small", "10 pt in a form at half its size", "pass", lambda: scaled(10, 0.5)),
    case("text-too-small", "8 pt in a form at half its size", "warn", lambda: scaled(8, 0.5), measured=4),
    case("text-too-small", "4 pt in a form at twice its size", "pass", lambda: scaled(4, 2)),
    case("text-too-small", "in a spot", "warn", lambda: type_of(4.6, BROWN)),
    case("text-too-small", "5.5 pt reversed", "warn", lambda: type_of(5.5, WHITE, ground()), case="reversed",
         measured=5.5),
    case("text-too-small", "5.5 pt light on dark", "warn",
         lambda: type_of(5.5, (0, 0, 0.2, 0), ground((1, 0.6, 0, 0.2))), case="reversed"),
    case("text-too-small", "6 pt reversed", "pass", lambda: type_of(6, WHITE, ground())),
    case("text-too-small", "5.5 pt dark on light", "pass", lambda: type_of(5.5, BLACK, ground((0, 0.1, 0.2, 0)))),
    case("text-too-small", "5.5 pt black overprinting", "pass",
         lambda: type_of(5.5, BLACK, ground((1, 0.6, 0.6, 0)).gs(OP=True, op=True, OPM=1)).gs(OP=False, op=False)),
    case("text-too-small", "beside the carton", "pass", lambda: blank_page().text("Sage", (120, 3), 4)),
    case("text-too-small", "in the die's ink", "pass", lambda: type_of(4, "Dimensions")),
    case("text-too-small", "blank strings", "pass", blanks),
    case("text-too-small", "covered", "pass", hidden_text),
    case("text-too-small", "invisible", "pass", lambda: blank_page().raw("3 Tr").text("Sage", AT, 3).raw("0 Tr")),
    case("text-too-small", "a Type 3 font", "pass", lambda: type_3(blank_page())),
    case("text-too-small", "6 pt in four inks", "warn", lambda: type_of(6, FOUR_INKS), case="several inks", measured=6,
         near=(40, 99, 56, 102)),
    case("text-too-small", "7.5 pt in three inks", "warn", lambda: type_of(7.5, (0.8, 0.6, 0.2, 0)),
         case="several inks"),
    case("text-too-small", "6 pt in four inks, page turned", "warn", lambda: turned(type_of(6, FOUR_INKS)),
         case="several inks"),
    case("text-too-small", "6 pt in four inks, in a form", "warn", lambda: in_a_form(type_of(6, FOUR_INKS)),
         case="several inks"),
    case("text-too-small", "6 pt in black", "pass", lambda: type_of(6)),
    case("text-too-small", "6 pt in a spot", "pass", lambda: type_of(6, BROWN)),
    case("text-too-small", "6 pt in two inks", "pass", lambda: type_of(6, (1, 0.6, 0, 0))),
    case("text-too-small", "6 pt in black with a trace of others", "pass", lambda: type_of(6, (0.04, 0.03, 0.03, 1))),
    case("text-too-small", "8 pt in four inks", "pass", lambda: type_of(8, FOUR_INKS)),
    case("text-too-small", "white out of four inks", "pass", lambda: type_of(6, WHITE, ground(FOUR_INKS))),
    case("text-too-small", "black overprinting a ground of three inks", "pass",
         lambda: type_of(6, BLACK, ground((0.4, 0.3, 0.3, 0)).gs(OP=True, op=True, OPM=1)).gs(OP=False, op=False)),
    case("text-too-small", "in four inks beside the carton", "pass",
         lambda: blank_page().text("Sage", (120, 3), 6, FOUR_INKS)),
    case("text-too-small", "a legend whose line reaches over the cut, and its letters do not", "pass",
         lambda: blank_page().text("sage and thyme", (40, 55 - 0.75 * 4 / MM), 4)),
    case("text-too-small", "letters over the cut", "warn",
         lambda: blank_page().text("Sage and thyme", (40, 55 - 0.35 * 4 / MM), 4), measured=4),
    case("line-too-thin", "fine detail of 0.04 mm in an icon", "warn", lambda: icon(0.04), case="fine detail",
         measured=0.04, near=(36, 64, 45, 73)),
    case("line-too-thin", "in a form on a turned page", "warn", lambda: turned(in_a_form(icon(0.04))),
         case="fine detail"),
    case("line-too-thin", "reversed fine detail", "warn", lambda: icon(0.04, ink=WHITE, page=ground()),
         case="reversed fine detail"),
    case("line-too-thin", "fine detail of 0.09 mm", "pass", lambda: icon(0.09)),
    case("line-too-thin", "5.8 mm2 of fine detail", "fail", lambda: icon(0.04, icons=2), case="", measured=0.04),
    case("line-too-thin", "lines of 0.04 mm in a drawing of 40 mm", "fail", lambda: icon(0.04, side_mm=40),
         measured=0.04),
    case("line-too-thin", "0.04 mm", "fail", lambda: line(0.04), near=(40, 80, 70, 110), measured=0.04),
    case("line-too-thin", "a hairline of no width", "fail", lambda: line(0.0), case="hairline", measured=0.0),
    case("line-too-thin", "0.07 mm", "warn", lambda: line(0.07), measured=0.07),
    case("line-too-thin", "0.25 pt", "pass", lambda: line(0.0882)),
    case("line-too-thin", "0.5 mm squeezed to 0.05 mm by a matrix", "warn", scaled_line, measured=0.05),
    case("line-too-thin", "0.12 mm reversed", "warn", lambda: line(0.12, WHITE, ground()), case="reversed",
         measured=0.12),
    case("line-too-thin", "0.04 mm reversed", "fail", lambda: line(0.04, WHITE, ground()), case="reversed"),
    case("line-too-thin", "0.5 pt reversed", "pass", lambda: line(0.1764, WHITE, ground())),
    case("line-too-thin", "0.12 mm on a light ground", "pass", lambda: line(0.12, BLACK, ground(BROWN, 0.1))),
    case("line-too-thin", "white on bare board", "pass", lambda: line(0.04, WHITE)),
    case("line-too-thin", "a fill of 0.04 mm", "fail", lambda: thin_fill(0.04), measured=0.04),
    case("line-too-thin", "a fill of 0.2 mm", "pass", lambda: thin_fill(0.2)),
    case("line-too-thin", "strips of a vignette", "pass", vignette),
    case("line-too-thin", "round a shape of its colour", "pass", framed),
    case("line-too-thin", "a thin die", "pass", blank_page),
    Case("line-too-thin", "a thin die in black", "pass", die_in_black, ticket=ONE_UP),
    case("line-too-thin", "dimension lines", "pass", lambda: line(0.04, "Dimensions")),
    case("line-too-thin", "beside the carton", "pass",
         lambda: blank_page().stroke(BLACK, [(120, 4), (140, 4)], width_mm=0.04, close=False)),
    case("line-too-thin", "covered", "pass", lambda: line(0.04).fill(CYAN, rect=GROUND)),
]  # fmt: skip


BLOCKS = {
    "under the carton": (118, 2.5),
    "beside a flap": (26, 20),
    "1.5 mm under the cut": (26, 46.5),
    "in a corner": (30, 2),
}
SPEAKS_OF_THE_FILE = {"die-line-missing"}


@pytest.mark.parametrize("turn", [0, 90])
@pytest.mark.parametrize("at", BLOCKS.values(), ids=BLOCKS)
def test_no_rule_speaks_of_a_job_ticket_beside_the_carton(tmp_path, at, turn):
    page = ticket_block(blank_page().fill(CYAN, rect=(40, 70, 60, 100)).fill("Copper", rect=(62, 70, 80, 90)), *at)
    page.page.obj.Rotate = turn
    assert not judge(job_of(with_die(page), tmp_path, ONE_UP, SIX_UNITS), rulebook()).findings


def test_no_rule_speaks_of_a_job_ticket_beside_the_trim(tmp_path):
    page = (
        Drawing(120, 140, trim=(20, 40, 100, 130))
        .fill(CYAN, rect=(17, 37, 103, 133))
        .fill("Copper", rect=(40, 60, 60, 80))
    )
    judgement = judge(job_of(ticket_block(page, 30, 25), tmp_path, ONE_UP, SIX_UNITS), rulebook())
    assert {finding.rule for finding in judgement.findings} <= SPEAKS_OF_THE_FILE


def test_the_same_block_on_the_carton_is_spoken_of(tmp_path):
    page = ticket_block(blank_page(), 30, 70)
    found = {finding.rule for finding in judge(job_of(with_die(page), tmp_path, ONE_UP), rulebook()).findings}
    assert {"line-too-thin", "text-too-small", "registration-colour-in-art", "colour-not-a-plate"} <= found


@pytest.mark.parametrize("case", CASES, ids=str)
def test_type_and_line(case, tmp_path):
    prove(case, tmp_path)
