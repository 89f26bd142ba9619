"""Varnishes that art above them takes away, and finishes that were exported as grey."""

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.judging.judge import judge
from tests.drawn import MM, Drawing
from tests.house import Case, blank_page, job_of, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
SHEET = {"artwork_is": "sheet", "gripper_edge": "bottom"}
CYAN, BLACK, WHITE = (1, 0, 0, 0), (0, 0, 0, 1), (0, 0, 0, 0)
GROUND = (28, 58, 82, 142)
SPOT = (45, 90, 65, 110)
"""4 cm2 in the middle of the ground."""
GLUE_FLAP = (10, 55, 25, 145)


def varnished(rect: tuple[float, float, float, float] = GROUND, name: str = "Gloss Varnish") -> Drawing:
    """A brown ground, and over it a varnish that overprints; what follows knocks out."""
    page = blank_page().fill("Mill Brown", rect=GROUND).gs(OP=True, op=True, OPM=1)
    return page.fill(name, rect=rect).gs(OP=False, op=False)


def overprinting(page: Drawing) -> Drawing:
    return page.gs(OP=True, op=True, OPM=1)


def in_a_form() -> Drawing:
    page = varnished()
    name = page.form(f"0 0 0 0 k 0 0 {20 * MM} {20 * MM} re f", bbox_mm=(0, 0, 20, 20))
    return page.raw(f"q 1 0 0 1 {45 * MM} {90 * MM} cm /{name} Do Q")


def both_in_a_form() -> Drawing:
    """Varnish and white type in one form, placed turned by a quarter."""
    page = blank_page()
    key = page.spot("Gloss Varnish")
    drawn = f"/{key} cs 1 scn 0 0 {40 * MM} {40 * MM} re f 0 0 0 0 k {10 * MM} {10 * MM} 56 56 re f"
    name = page.form(drawn, bbox_mm=(0, 0, 40, 40))
    return page.raw(f"q 0 1 -1 0 {75 * MM} {70 * MM} cm /{name} Do Q")


def picture(page: Drawing) -> Drawing:
    return page.image(bytes([0, 200, 100, 0] * 16), 4, 4, SPOT)


def with_a_hole(grown_mm: float = 0.0, *, art: object = CYAN) -> Drawing:
    """A varnish with a hole of its own, and art in the hole that laps over it by as much."""
    page = blank_page().fill("Mill Brown", rect=GROUND).gs(OP=True, op=True, OPM=1).colour("Gloss Varnish")
    page.path([(GROUND[0], GROUND[1]), (GROUND[2], GROUND[1]), (GROUND[2], GROUND[3]), (GROUND[0], GROUND[3])])
    page.path([(SPOT[0], SPOT[1]), (SPOT[2], SPOT[1]), (SPOT[2], SPOT[3]), (SPOT[0], SPOT[3])]).raw("f*")
    page.gs(OP=False, op=False)
    x0, y0, x1, y1 = SPOT
    rect = (x0 - grown_mm, y0 - grown_mm, x1 + grown_mm, y1 + grown_mm)
    return page.fill(art, rect=rect)  # type: ignore[arg-type]


def under_art() -> Drawing:
    """Art that is drawn before the varnish."""
    page = blank_page().fill("Mill Brown", rect=GROUND).fill(WHITE, rect=SPOT).text("Sage", (40, 70), 12, WHITE)
    return overprinting(page).fill("Gloss Varnish", rect=GROUND)


def lettering_under_a_panel() -> Drawing:
    """Varnish in narrow bars only, and a panel painted over all of them."""
    page = overprinting(blank_page())
    for x in range(35, 75, 4):
        page.fill("Gloss Varnish", rect=(x, 70, x + 0.8, 130))
    return page.gs(OP=False, op=False).fill(CYAN, rect=(30, 65, 80, 135))


def over_the_flap(beyond_mm: float = 0.0) -> Drawing:
    """A varnish over the last panel and the flap, and white that clears the flap and a strip of the panel."""
    page = overprinting(blank_page()).fill("Gloss Varnish", rect=(8, 56, 82, 144)).gs(OP=False, op=False)
    return page.fill(WHITE, rect=(7, 49, 25 + beyond_mm, 151))


def with_reserve(name: str) -> Drawing:
    page = varnished().fill(WHITE, rect=SPOT)
    return overprinting(page).stroke(
        name, [(SPOT[0], SPOT[1]), (SPOT[2], SPOT[1]), (SPOT[2], SPOT[3]), (SPOT[0], SPOT[3])]
    )


def blended() -> Drawing:
    """Art that multiplies leaves the varnish alone."""
    return varnished().gs(BM=Name.Multiply).fill(WHITE, rect=SPOT).gs(BM=Name.Normal)


def covered_again() -> Drawing:
    """White above the varnish, and the same varnish once more above that."""
    return overprinting(varnished().fill(WHITE, rect=SPOT)).fill("Gloss Varnish", rect=GROUND)


def turned(page: Drawing, degrees: int = 90) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def grey_profile(page: Drawing, *, indexed: bool = False) -> str:
    """An ICC profile of one component: its resource name."""
    profile = page.pdf.make_stream(b"", Dictionary(N=1, Alternate=Name.DeviceGray))
    space = Array([Name.ICCBased, profile])
    if indexed:
        space = Array([Name.Indexed, space, 1, pikepdf.String(b"\xff\0")])
    page.resources.ColorSpace.Grey = page.pdf.make_indirect(space)
    return "Grey"


def in_grey(*, indexed: bool = False, tint: float = 0.0) -> Drawing:
    page = printed("Cyan", "Black")
    key = grey_profile(page, indexed=indexed)
    return page.raw(f"/{key} cs {1 if indexed else tint} scn {40 * MM} {100 * MM} 60 60 re f")


def plain_grey(what: str = "fill") -> Drawing:
    page = printed("Cyan", "Black")
    if what == "text":
        return page.text("Sage and thyme", (40, 110), 12, (0,))
    if what == "rules":
        return page.stroke((0,), [(40, 110), (80, 110)], close=False)
    if what == "small":
        return page.fill((0,), rect=(40, 110, 45, 115))
    if what == "white":
        return page.fill((1,), rect=(40, 110, 65, 130))
    if what == "picture":
        return page.image(bytes(range(16)), 4, 4, (40, 100, 65, 125), space=Name.DeviceGray)
    if what == "beside":
        return page.fill((0.5,), rect=(100, 1, 190, 8))
    return page.fill((0.5,), rect=(40, 110, 65, 130))


def in_profile(what: str) -> Drawing:
    page = printed("Cyan")
    key = grey_profile(page)
    if what == "picture":
        return page.image(bytes(range(16)), 4, 4, (40, 100, 65, 125), space=page.resources.ColorSpace[f"/{key}"])
    content = f"/{key} cs 0 scn 0 0 {20 * MM} {20 * MM} re f"
    name = page.form(content, bbox_mm=(0, 0, 20, 20))
    return page.raw(f"q 0 1 -1 0 {60 * MM} {100 * MM} cm /{name} Do Q")


def units(*names: object, **more: object) -> dict[str, object]:
    return {**ONE_UP, "units": list(names), **more}


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, lambda: with_die(draw().gs(OP=False, op=False)), **{"ticket": ONE_UP, **more})


KNOCKED = [
    case("varnish-knocked-out", "white above it", "warn", lambda: varnished().fill(WHITE, rect=SPOT), near=SPOT,
         measured=400),
    case("varnish-knocked-out", "white type above it", "warn",
         lambda: varnished().text("Sage and thyme", (40, 100), 7, WHITE), near=(40, 98, 64, 104)),
    case("varnish-knocked-out", "grey white above it", "warn", lambda: varnished().fill((1,), rect=SPOT),
         near=SPOT),
    case("varnish-knocked-out", "RGB white above it", "warn",
         lambda: varnished().fill((1, 1, 1), rect=SPOT), near=SPOT),
    case("varnish-knocked-out", "a spot above it", "warn",
         lambda: varnished().fill("Moss Green", rect=SPOT), near=SPOT),
    case("varnish-knocked-out", "black type above it", "warn",
         lambda: varnished().text("Sage and thyme", (40, 100), 14, BLACK)),
    case("varnish-knocked-out", "a metallic above it", "warn",
         lambda: varnished().fill("Copper", rect=SPOT), near=SPOT),
    case("varnish-knocked-out", "a picture above it", "warn", lambda: picture(varnished()), near=SPOT),
    case("varnish-knocked-out", "all of it", "warn", lambda: varnished().fill(CYAN, rect=(27, 57, 83, 143)),
         near=GROUND),
    case("varnish-knocked-out", "in a form", "warn", in_a_form, near=SPOT, measured=400),
    case("varnish-knocked-out", "both in a turned form", "warn", both_in_a_form),
    case("varnish-knocked-out", "on a turned page", "warn", lambda: turned(varnished().fill(WHITE, rect=SPOT))),
    case("varnish-knocked-out", "on a sheet", "warn", lambda: varnished().fill(WHITE, rect=SPOT), ticket=SHEET),
    case("varnish-knocked-out", "narrow bars under a panel", "warn", lettering_under_a_panel),
    case("varnish-knocked-out", "the ticket's coating, named as a spot", "warn",
         lambda: varnished(name="Sheen").fill(WHITE, rect=SPOT), near=SPOT,
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Sheen"}}),
    case("varnish-knocked-out", "a hole that the art laps over by 2 mm", "warn", lambda: with_a_hole(2.0)),
    case("varnish-knocked-out", "white far beyond the glue flap", "warn", lambda: over_the_flap(20),
         near=(25, 50, 45, 150)),
    case("varnish-knocked-out", "white below it", "pass", under_art),
    case("varnish-knocked-out", "art that overprints", "pass",
         lambda: overprinting(varnished()).fill(CYAN, rect=SPOT).text("Sage", (40, 70), 9)),
    case("varnish-knocked-out", "beside it", "pass", lambda: varnished().fill(CYAN, rect=(90, 60, 110, 80))),
    case("varnish-knocked-out", "a hole of its own", "pass", lambda: varnished((28, 58, 82, 90))),
    case("varnish-knocked-out", "a hole of its own, filled by art", "pass", with_a_hole),
    case("varnish-knocked-out", "a hole of its own, and white in it", "pass", lambda: with_a_hole(art=WHITE)),
    case("varnish-knocked-out", "a hole that the art laps over for a trap", "pass", lambda: with_a_hole(0.2)),
    case("varnish-knocked-out", "a hole that white laps over for a trap", "pass", lambda: with_a_hole(0.2, art=WHITE)),
    case("varnish-knocked-out", "varnish in itself at 0 %", "pass",
         lambda: varnished().fill("Gloss Varnish", 0.0, rect=SPOT)),
    case("varnish-knocked-out", "another varnish above it", "pass",
         lambda: varnished().fill("Matt Varnish", rect=SPOT)),
    case("varnish-knocked-out", "foil above it", "pass", lambda: varnished().fill("Hot Foil", rect=SPOT)),
    case("varnish-knocked-out", "the glue flap is cleared", "pass", over_the_flap),
    case("varnish-knocked-out", "a stated glue flap is cleared, and 2 mm more", "pass", lambda: over_the_flap(2),
         ticket={**ONE_UP, "areas": [{"is": "glue flap", "box": GLUE_FLAP}]}),
    case("varnish-knocked-out", "a code area is cleared", "pass", lambda: varnished().fill(WHITE, rect=SPOT),
         ticket={**ONE_UP, "areas": [{"is": "code", "box": (46, 91, 64, 109)}]}),
    case("varnish-knocked-out", "another area is stated", "warn", lambda: varnished().fill(WHITE, rect=SPOT),
         ticket={**ONE_UP, "areas": [{"is": "code", "box": (100, 91, 120, 109)}]}),
    case("varnish-knocked-out", "where a reserve is drawn", "pass", lambda: with_reserve("Varnish free")),
    case("varnish-knocked-out", "where a reserve is drawn in German", "pass", lambda: with_reserve("LACKFREI")),
    case("varnish-knocked-out", "on a layer of reserves", "pass",
         lambda: varnished().layer("Lackfrei").fill(WHITE, rect=SPOT).end_layer()),
    case("varnish-knocked-out", "on a layer of artwork", "warn",
         lambda: varnished().layer("Artwork").fill(WHITE, rect=SPOT).end_layer(), near=SPOT),
    case("varnish-knocked-out", "a rule of 0.2 mm", "warn",
         lambda: varnished().stroke(BLACK, [(30, 100), (80, 100)], close=False, width_mm=0.2), measured=10),
    case("varnish-knocked-out", "a dot of 0.36 mm2", "pass",
         lambda: varnished().fill(WHITE, rect=(50, 100, 50.6, 100.6))),
    case("varnish-knocked-out", "where a dimension is drawn", "warn", lambda: with_reserve("Dimensions")),
    case("varnish-knocked-out", "multiplied", "pass", blended),
    case("varnish-knocked-out", "varnished once more", "pass", covered_again),
    case("varnish-knocked-out", "outside the cut", "pass",
         lambda: varnished((2, 2, 9, 9)).fill(WHITE, rect=(3, 3, 8, 8))),
    case("varnish-knocked-out", "no varnish", "pass", lambda: blank_page().fill("Mill Brown", rect=GROUND)),
    case("varnish-knocked-out", "a spot that is no varnish", "pass",
         lambda: varnished(name="Sheen").fill(WHITE, rect=SPOT)),
]  # fmt: skip

GREY = [
    case("finish-drawn-in-grey", "a varnish on the unit list, ICC-based grey", "warn", in_grey, measured=1,
         ticket=units("Cyan", "Black", "Gloss Varnish"), near=(40, 100, 62, 122)),
    case("finish-drawn-in-grey", "a metallic", "warn", in_grey, ticket=units("Copper", "Cyan", "Black")),
    case("finish-drawn-in-grey", "a white", "warn", in_grey, ticket=units("Opaque White", "Cyan", "Black")),
    case("finish-drawn-in-grey", "an Indexed colour", "warn", lambda: in_grey(indexed=True),
         ticket=units("Cyan", "Black", "Gloss Varnish")),
    *(
        case("finish-drawn-in-grey", f"a {what} with a profile", "warn", lambda what=what: in_profile(what),
             ticket=units("Cyan", "Black", "Gloss Varnish"))
        for what in ("picture", "form")
    ),
    *(
        case("finish-drawn-in-grey", f"a {what} in plain grey", "warn", lambda what=what: plain_grey(what),
             ticket=units("Cyan", "Black", "Gloss Varnish"))
        for what in ("fill", "picture")
    ),
    case("finish-drawn-in-grey", "on a turned page", "warn", lambda: turned(in_grey()),
         ticket=units("Cyan", "Black", "Gloss Varnish")),
    case("finish-drawn-in-grey", "on a sheet", "warn", in_grey,
         ticket={**SHEET, "units": ["Cyan", "Black", "Gloss Varnish"]}),
    *(
        case("finish-drawn-in-grey", f"{what} in plain grey", "pass", lambda what=what: plain_grey(what),
             ticket=units("Cyan", "Black", "Gloss Varnish"))
        for what in ("text", "rules", "small", "white", "beside")
    ),
    case("finish-drawn-in-grey", "no finish on the ticket", "pass", in_grey, ticket=units("Cyan", "Black")),
    case("finish-drawn-in-grey", "the varnish is in the file", "pass",
         lambda: in_grey().fill("Gloss Varnish", rect=(70, 100, 80, 120)),
         ticket=units("Cyan", "Black", "Gloss Varnish")),
    case("finish-drawn-in-grey", "another name of a varnish is in the file", "pass",
         lambda: in_grey().fill("UV-Lack", rect=(70, 100, 80, 120)), ticket=units("Cyan", "Black", "Gloss Varnish")),
    case("finish-drawn-in-grey", "an overall varnish is never in the file", "pass", in_grey,
         ticket=units("Cyan", "Black", {"overall": "Gloss Varnish"})),
    case("finish-drawn-in-grey", "a missing spot is no finish", "pass", in_grey,
         ticket=units("Cyan", "Black", "Mill Brown")),
    case("finish-drawn-in-grey", "ICC-based grey that is white", "pass", lambda: in_grey(tint=1.0),
         ticket=units("Cyan", "Black", "Gloss Varnish")),
    case("finish-drawn-in-grey", "nothing in grey", "pass", lambda: printed("Cyan", "Black"),
         ticket=units("Cyan", "Black", "Gloss Varnish")),
    case("finish-drawn-in-grey", "no ticket", "not checked", in_grey, ticket={}),
]  # fmt: skip

CASES = [*KNOCKED, *GREY]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_finishes(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("keys", "ink"),
    [
        ({"separations": {"Shine": "varnish"}}, "Shine"),
        ({"separations": {"Matt Varnish": {"printed_over": True}}}, "Matt Varnish"),
        ({"coating": {"kind": "uv", "area": "Spot UV"}}, "Spot UV"),
        ({"separations": {"Shine": "spot"}}, ""),
        ({"separations": {"Shine": {"same_as": "Black"}}}, ""),
        ({"coating": {"kind": "uv", "area": "overall"}}, ""),
    ],
)
def test_finishes_that_are_on_no_unit_are_expected_too(keys, ink, tmp_path):
    judgement = judge(job_of(in_grey(), tmp_path, {**ONE_UP, **keys}), rulebook(), only={"finish-drawn-in-grey"})
    assert [finding.verdict.word for finding in judgement.findings] == (["warn"] if ink else [])
    assert all(f" {ink} " in finding.says for finding in judgement.findings)


@pytest.mark.parametrize(
    ("draw", "by"),
    [
        (lambda: varnished().text("Sage and thyme", (40, 100), 7, WHITE), "(paper white)"),
        (lambda: varnished().fill(CYAN, rect=SPOT), "(Cyan)"),
        (lambda: varnished().fill(CYAN, rect=SPOT).fill(WHITE, rect=(50, 70, 60, 80)), "(Cyan, paper white)"),
    ],
    ids=["white", "cyan", "both"],
)
def test_it_says_what_takes_the_varnish_away(draw, by, tmp_path):
    judgement = judge(job_of(with_die(draw()), tmp_path, ONE_UP), rulebook(), only={"varnish-knocked-out"})
    [finding] = judgement.findings
    assert by in finding.says
