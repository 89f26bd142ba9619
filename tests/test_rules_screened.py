"""Varnish and metallic that are neither solid nor bare."""

import pikepdf
import pytest

from tests.drawn import MM, Drawing, points_of_rect
from tests.house import Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
PATCH = (40, 80, 60, 100)
VARNISH, COPPER = "Gloss Varnish", "Copper"


def patch(tint: float, ink: str = VARNISH, rect: tuple[float, float, float, float] = PATCH) -> Drawing:
    return blank_page().fill("Mill Brown", rect=(30, 60, 80, 140)).gs(OP=True, op=True).fill(ink, tint, rect=rect)


def turned(page: Drawing, degrees: int = 90) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def inside_a_form(ink: str) -> Drawing:
    page = patch(0.35, ink)
    inner = page.ops[-3:]
    del page.ops[-3:]
    return page.raw(f"/{page.form(chr(10).join(inner), bbox_mm=(0, 0, 300, 300))} Do")


def faint(ink: str) -> Drawing:
    """A solid at an opacity of 40 %."""
    return blank_page().gs(ca=0.4, op=True, OP=True).fill(ink, rect=PATCH).gs(ca=1.0)


def vignette(ink: str) -> Drawing:
    """From solid to nothing."""
    page = blank_page()
    space = page.resources.ColorSpace["/" + page.spot(ink)]
    function = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[1], C1=[0])
    page.resources.Shading.Sh0 = page.pdf.make_indirect(
        pikepdf.Dictionary(ShadingType=2, ColorSpace=space, Coords=[40 * MM, 0, 60 * MM, 0], Function=function)
    )
    return page.raw("q").path(points_of_rect(*PATCH)).raw("W n /Sh0 sh Q")


def picture(ink: str, samples: bytes, width: int, height: int) -> Drawing:
    page = blank_page()
    return page.image(samples, width, height, PATCH, space=page.resources.ColorSpace["/" + page.spot(ink)])


def stripes(ink: str, pitch_mm: float = 0.4) -> Drawing:
    """Solid lines, as wide as what is between them."""
    page = blank_page()
    for i in range(int(20 / pitch_mm)):
        page.fill(ink, rect=(40 + i * pitch_mm, 80, 40 + (i + 0.5) * pitch_mm, 100))
    return page


def lettering(ink: str) -> Drawing:
    page = blank_page()
    for line in range(20):
        page.text("Sage and thyme from the hills, dried and cut", (30, 70 + 1.6 * line), 4, ink)
    return page


def slanting(ink: str) -> Drawing:
    """A solid with slanting and curved edges and a hole, and hairlines beside it."""
    page = blank_page().fill(ink, points=[(40, 70), (75, 75), (60, 130), (45, 110)])
    for i in range(12):
        page.stroke(ink, [(30, 60 + i), (80, 63 + i)], width_mm=0.1, close=False)
    return page


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, lambda: with_die(draw()), **{"ticket": ONE_UP, **more})


def both(name, expect, draw, **more):
    """The same drawn in varnish and in a metallic."""
    return [
        case("varnish-screened", name, expect, lambda: draw(VARNISH), **more),
        case("metallic-screened", name, expect, lambda: draw(COPPER), **more),
    ]


FLAT = bytes([90]) * 400
CASES = [
    *both("at 35 %", "warn", lambda ink: patch(0.35, ink), near=PATCH, measured=400),
    *both("at 92 %", "warn", lambda ink: patch(0.92, ink), near=PATCH),
    *both("at 8 %", "warn", lambda ink: patch(0.08, ink), near=PATCH),
    *both("on a page that is turned", "warn", lambda ink: turned(patch(0.35, ink)), near=(80, 155, 100, 175)),
    *both("inside a form", "warn", inside_a_form, near=PATCH),
    *both("a solid at an opacity of 40 %", "warn", faint, near=PATCH),
    *both("solid", "pass", lambda ink: patch(1.0, ink)),
    *both("at 98 %", "pass", lambda ink: patch(0.98, ink)),
    *both("at 3 %", "pass", lambda ink: patch(0.03, ink)),
    *both("8 mm2 of a tint", "pass", lambda ink: patch(0.35, ink, (40, 80, 44, 82))),
    *both("outside the cut", "pass", lambda ink: patch(0.35, ink, (120, 0, 160, 9))),
    *both("fine stripes of a solid", "pass", stripes),
    *both("fine stripes of a solid, turned", "pass", lambda ink: turned(stripes(ink, 0.3))),
    *both("small letters", "pass", lettering),
    *both("slanting edges and hairlines", "pass", slanting),
    *both("covered by a solid of its own", "pass", lambda ink: patch(0.35, ink).fill(ink, rect=(35, 75, 65, 105))),
    case("varnish-screened", "a vignette", "warn", lambda: vignette(VARNISH), near=PATCH),
    case("varnish-screened", "a picture", "warn", lambda: picture(VARNISH, FLAT, 20, 20), near=PATCH),
    case("varnish-screened", "a picture of solid and nothing", "pass",
         lambda: picture(VARNISH, bytes([0, 255] * 2 + [255, 0] * 2), 4, 2)),
    case("varnish-screened", "a spot that the ticket lays as its coating", "warn", lambda: patch(0.35, "Sheen"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Sheen"}}),
    case("varnish-screened", "a spot", "pass", lambda: patch(0.35, "Moss Green")),
    case("metallic-screened", "a picture made with it", "pass", lambda: picture(COPPER, FLAT, 20, 20)),
    case("metallic-screened", "a silver-grey is no metallic", "pass", lambda: patch(0.35, "Silver Grey")),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_screened(case, tmp_path):
    prove(case, tmp_path)
