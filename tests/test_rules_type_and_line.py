"""Type and lines as drawn: small and thin, printed or left open."""

import pytest
from pikepdf import Dictionary, Name

from tests.cartons import draw_die
from tests.drawn import Drawing
from tests.house import CARTON, Case, blank_page, prove, with_die

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
    case("line-too-thin", "0.04 mm", "fail", lambda: line(0.04), near=(40, 80, 70, 110), measured=0.04),
    case("line-too-thin", "a hairline of no width", "fail", lambda: line(0.0), measured=0.0),
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


@pytest.mark.parametrize("case", CASES, ids=str)
def test_type_and_line(case, tmp_path):
    prove(case, tmp_path)
