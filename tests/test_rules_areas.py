"""Ink and coating on glue flaps and in code areas, stated, read from a step, or guessed."""

import pytest

from tests.drawn import Drawing
from tests.house import CARTON, Case, blank_page, prove, with_die

# The glue flap lies at x = 10 to 25; its crease is at 25.
FLAP = (10, 55, 25, 145)
CODE = (120, 40, 150, 52)
BROWN = "Mill Brown"


def ticket(*areas: tuple[str, tuple[float, ...]], **more: object) -> dict[str, object]:
    return {"artwork_is": "one-up", "areas": [{"is": kind, "box": list(box)} for kind, box in areas], **more}


ON_MOSS = {"kind": "uv", "area": "Moss", "clear": ["code"]}
STATED = ticket(("glue flap", FLAP), ("code", CODE))
BARE = {**STATED, "coating": "none"}


def ground(past_mm: float, ink: object = BROWN, tint: float = 1.0) -> Drawing:
    """A ground on the first panel that runs over the crease on to the glue flap by so much."""
    return blank_page().fill(ink, tint, rect=(25 - past_mm, 60, 80, 140))  # type: ignore[arg-type]


def speck() -> Drawing:
    return ground(1.5).fill(BROWN, rect=(15, 100, 15.5, 100.5))


def beside_the_flap() -> Drawing:
    """Ink in the waste beside the flap, where the flap is tapered."""
    return ground(1.5).fill(BROWN, rect=(8, 40, 14, 56))


def along_the_taper(off_mm: float, broad_mm: float = 12, *, turned: int = 0, ink: str = BROWN) -> Drawing:
    """Ink along both slanting knives of the flap, in the waste; from inside the cut on where ``off_mm`` is negative."""
    page = ground(0 if ink == "Gloss Varnish" else 1.5, ink)
    for low, high in ((141, 145), (59, 55)):
        side = 1 if high > low else -1
        near, far = side * off_mm * 1.035, side * (off_mm * 1.035 + broad_mm)  # across the slant, of 15 degrees
        page.fill(ink, points=[(8, low - side * 8 / 15 + near), (24.6, high - side * 1.6 / 15 + near),
                                 (24.6, high + far), (8, low + far)])  # fmt: skip
    if turned:
        page.page.obj.Rotate = turned
    return page


def at_code(gap_mm: float, ink: str = BROWN) -> Drawing:
    """Ink that ends so far above the code area."""
    return blank_page().fill(ink, rect=(118, CODE[3] + gap_mm, 152, 75))


def in_code(ink: object = BROWN) -> Drawing:
    return blank_page().fill(ink, rect=(130, 44, 135, 46))  # type: ignore[arg-type]


def by_step(type_: str, page: Drawing, box: tuple[float, float, float, float] = CODE) -> Drawing:
    """The area outlined in a processing step in place of the ticket."""
    page.layer("Place", group="Positions", step=type_).gs(OP=True, op=True)
    x0, y0, x1, y1 = box
    page.stroke("Places", [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], width_mm=0.2)
    return page.gs(OP=False, op=False).end_layer()


def two_sheets() -> Drawing:
    """No die: the areas of the ticket are places of the page."""
    return Drawing(215, 200).fill(BROWN, rect=(130, 44, 135, 46))


def case(rule, name, expect, draw, ticket=STATED, **more):
    return Case(rule, name, expect, lambda: with_die(draw()), ticket=ticket, **more)


def cropped(turned: int) -> Drawing:
    """A page that viewers show a part of, turned or not."""
    page = blank_page()
    page.box("CropBox", (5, 5, 200, 190))
    page.page.obj.Rotate = turned
    return page


ONE_UP = {"artwork_is": "one-up"}
COATED = {"kind": "uv", "area": "overall"}
CASES = [
    case("glue-flap-inked", "6 mm past the crease", "fail", lambda: ground(6), near=(19, 60, 25, 140), measured=6),
    case("glue-flap-inked", "3.4 mm past the crease", "fail", lambda: ground(3.4), measured=3.4),
    case("glue-flap-inked", "3 mm past the crease", "pass", lambda: ground(3)),
    case("glue-flap-inked", "1.5 mm past the crease", "pass", lambda: ground(1.5)),
    case("glue-flap-inked", "white ink", "fail", lambda: ground(6, "Opaque White")),
    case("glue-flap-inked", "a light tint", "fail", lambda: ground(6, (0.05, 0, 0, 0)), measured=6),
    case("glue-flap-inked", "varnish is another rule's matter", "pass", lambda: ground(6, "Gloss Varnish")),
    case("glue-flap-inked", "a speck", "pass", speck),
    case("glue-flap-inked", "beside the flap", "pass", beside_the_flap),
    *(case("glue-flap-inked", f"ink in the waste, {off} mm outside the slanting knife", "pass",
           lambda off=off: along_the_taper(off)) for off in (0.3, 0.15, 0.02)),
    case("glue-flap-inked", "ink in the waste of a page that is turned", "pass",
         lambda: along_the_taper(0.3, turned=90), ticket=ONE_UP),
    case("glue-flap-inked", "a strip inside the slanting knife", "fail", lambda: along_the_taper(-1.0, 0.8),
         measured=14.5),
    case("glue-flap-inked", "a strip inside the slanting knife of a page that is turned", "warn",
         lambda: along_the_taper(-1.0, 0.8, turned=270), ticket=ONE_UP, measured=14.5),
    case("glue-flap-coated", "varnish in the waste beside the flap", "pass",
         lambda: along_the_taper(0.3, ink="Gloss Varnish"), BARE),
    case("glue-flap-coated", "varnish along the slanting knife, on the flap", "fail",
         lambda: along_the_taper(-1.0, 0.8, ink="Gloss Varnish"), BARE, measured=14.5),
    case("glue-flap-inked", "a box drawn over the crease", "pass", lambda: ground(1.5),
         ticket=ticket(("glue flap", (8, 50, 40, 150)))),
    case("glue-flap-inked", "guessed", "warn", lambda: ground(6), ticket=ONE_UP, measured=6),
    case("glue-flap-inked", "guessed, free", "pass", lambda: ground(1.5), ticket=ONE_UP),
    case("glue-flap-inked", "by a step", "fail", lambda: by_step("Gluing", ground(6), (11, 62, 25, 138)),
         ticket=ONE_UP),
    case("glue-flap-coated", "varnish on the flap", "fail", lambda: ground(6, "Gloss Varnish"), BARE,
         near=(19, 60, 25, 140), measured=6),
    case("glue-flap-coated", "varnish up to the crease", "pass", lambda: ground(0, "Gloss Varnish"), BARE),
    case("glue-flap-coated", "guessed", "warn", lambda: ground(6, "Gloss Varnish"),
         {**ONE_UP, "coating": "none"}),
    case("glue-flap-coated", "overall, nobody says what stays clear", "not checked", lambda: ground(0),
         {**STATED, "coating": COATED}),
    case("glue-flap-coated", "overall, nothing left clear", "fail", lambda: ground(0),
         {**STATED, "coating": {**COATED, "clear": "none"}}, near=FLAP),
    case("glue-flap-coated", "overall, the flap left clear", "pass", lambda: ground(0),
         {**STATED, "coating": {**COATED, "clear": ["glue flap"]}}),
    case("glue-flap-coated", "overall varnish from a unit", "not checked", lambda: ground(0),
         {**STATED, "units": [BROWN, {"overall": "Gloss Varnish"}]}),
    case("glue-flap-coated", "the coating's plate, named as a spot", "fail", lambda: ground(6, "Sheen"),
         {**STATED, "coating": {"kind": "uv", "area": "Sheen"}}),
    case("glue-flap-coated", "the coating's plate is wrong whatever is laid overall", "fail", lambda: ground(6, "Moss"),
         {**STATED, "coating": {"kind": "uv", "area": "Moss"}, "units": [BROWN, {"overall": "Gloss Primer"}]},
         measured=6),
    case("glue-flap-coated", "no word on the coating", "not checked", lambda: ground(0)),
    case("glue-flap-coated", "a varnish in the file is wrong whatever is coated", "fail",
         lambda: ground(6, "Gloss Varnish")),
    case("code-area-inked", "ink in it", "fail", in_code, near=CODE, measured=10),
    case("code-area-inked", "ink 1.5 mm from it", "fail", lambda: at_code(1.5), near=(118, 52, 152, 55)),
    case("code-area-inked", "ink 2 mm from it", "pass", lambda: at_code(2.0)),
    case("code-area-inked", "varnish is another rule's matter", "pass", lambda: in_code("Gloss Varnish")),
    case("code-area-inked", "its outline in a die separation", "pass",
         lambda: by_step("CodingMarking", blank_page()), ticket=ONE_UP),
    case("code-area-inked", "by a step", "fail", lambda: by_step("CodingMarking", in_code()), ticket=ONE_UP),
    case("code-area-inked", "ink free by a step", "fail", lambda: by_step("InkFree", in_code()), ticket=ONE_UP),
    case("code-area-inked", "nowhere stated", "not checked", in_code, ticket=ONE_UP),
    Case("code-area-inked", "on a page without a die", "fail", two_sheets, ticket=STATED, near=CODE),
    case("area-off-carton", "beside the carton by most of it", "warn", blank_page, near=(0, 55, 12, 145),
         ticket=ticket(("glue flap", (0, 55, 12, 145))), measured=15.7),
    case("area-off-carton", "off the page", "warn", blank_page, ticket=ticket(("code", (300, 40, 330, 52)))),
    case("area-off-carton", "in the waste between the flaps", "warn", blank_page,
         ticket=ticket(("code", (12, 170, 22, 180)))),
    case("area-off-carton", "boxes of the page as it is not turned", "warn", lambda: cropped(90),
         ticket=ticket(("code", (195, 20, 210, 50)))),
    case("area-off-carton", "one of two", "warn", blank_page,
         ticket=ticket(("glue flap", FLAP), ("code", (300, 40, 330, 52)))),
    case("area-off-carton", "both on the carton", "pass", blank_page),
    case("area-off-carton", "drawn over the crease and past the cut", "pass", blank_page,
         ticket=ticket(("glue flap", (2, 50, 40, 150)))),
    case("area-off-carton", "boxes of the whole page, turned", "pass", lambda: cropped(90),
         ticket=ticket(("glue flap", (55, 190, 145, 205)))),
    case("area-off-carton", "none stated", "pass", blank_page, ticket=ONE_UP),
    Case("area-off-carton", "no die", "not checked", blank_page, ticket=STATED),
    case("code-area-coated", "varnish over it", "fail", lambda: in_code("Gloss Varnish"), BARE, near=CODE, measured=10),
    case("code-area-coated", "varnish 1 mm from it", "fail", lambda: at_code(1.0, "Gloss Varnish"), BARE),
    case("code-area-coated", "varnish 2 mm from it", "pass", lambda: at_code(2.0, "Gloss Varnish"), BARE),
    case("code-area-coated", "ink is another rule's matter", "pass", in_code, BARE),
    case("code-area-coated", "overall, the code left clear", "pass", lambda: ground(0),
         {**STATED, "coating": {**COATED, "clear": ["glue flap", "code"]}}),
    case("code-area-coated", "overall, only the flap left clear", "fail", lambda: ground(0),
         {**STATED, "coating": {**COATED, "clear": ["glue flap"]}}, near=(118, 38, 152, 54)),
    case("code-area-coated", "the coating's plate is wrong whatever is laid overall", "fail", lambda: in_code("Moss"),
         {**STATED, "coating": {"kind": "uv", "area": "Moss"}, "units": [BROWN, {"overall": "Gloss Primer"}]}),
    case("code-area-coated", "its own plate, and nobody lays blanks out", "fail", lambda: in_code("Moss"),
         {**STATED, "coating": ON_MOSS}),
    case("code-area-coated", "its own plate, drawn bare there for the layout", "pass", lambda: in_code("Moss"),
         {**STATED, "coating": ON_MOSS, "sheet": {"size": "700 x 500 mm"},
          "layout": {"blanks": [{"x": "40 mm", "y": "40 mm"}]}}),
    case("code-area-coated", "overall, nobody says what stays clear", "not checked", lambda: ground(0),
         {**STATED, "coating": COATED}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_areas(case, tmp_path):
    prove(case, tmp_path)


def test_the_drawn_flap_is_where_the_cases_think():
    assert CARTON.box[0] == FLAP[0]
    assert max(x for x, _ in CARTON.glue_flap) == FLAP[2]
