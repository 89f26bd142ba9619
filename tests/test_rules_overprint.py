"""What overprints and should not, and what knocks out and should not, each seen on the plates."""

import pytest
from pikepdf import Array, Name, String

from tests.drawn import Drawing
from tests.house import Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
KRAFT = {**ONE_UP, "board": {"surface": "kraft"}}
CYAN, BLACK, WHITE = (1, 0, 0, 0), (0, 0, 0, 1), (0, 0, 0, 0)
GROUND = (30, 60, 80, 140)
SPOT = (45, 90, 65, 110)
"""4 cm² in the middle of the ground."""


def ground(*inks: object) -> Drawing:
    """A ground in these inks, each overprinting those before it."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    for ink in inks:
        page.fill(ink, rect=GROUND)  # type: ignore[arg-type]
    return page.gs(OP=False, op=False)


def overprinting(page: Drawing, opm: int = 1) -> Drawing:
    return page.gs(OP=True, op=True, OPM=opm)


def white_on(page: Drawing, ink: object = WHITE, opm: int = 1, tint: float = 0.0) -> Drawing:
    return overprinting(page, opm).fill(ink, tint, rect=SPOT)  # type: ignore[arg-type]


def white_below() -> Drawing:
    page = white_on(blank_page().fill("Mill Brown", rect=GROUND))
    return page.gs(OP=False, op=False).fill(CYAN, rect=GROUND)


def white_letters(opm: int) -> Drawing:
    return overprinting(ground(CYAN), opm).text("Sage and thyme", (40, 100), 7, WHITE)


def white_beside() -> Drawing:
    return overprinting(ground(CYAN)).fill(WHITE, rect=(90, 70, 110, 90))


def white_in_form() -> Drawing:
    page = ground(CYAN)
    page.gs(OP=True, op=True, OPM=1)
    name = page.form("0 0 0 0 k 142 255 57 57 re f", bbox_mm=(0, 0, 200, 200))
    return page.raw(f"/{name} Do")


def speck(side_mm: float) -> Drawing:
    return overprinting(ground(CYAN)).fill(WHITE, rect=(50, 100, 50 + side_mm, 100 + side_mm))


def nought(ink: str = "Moss Green", over: object = CYAN, *, overprint: bool = False) -> Drawing:
    page = ground(over)
    if overprint:
        overprinting(page)
    return page.fill(ink, 0.0, rect=SPOT)


def nought_by_index() -> Drawing:
    """The second of two colours of an Indexed space, the spot at 0 %, knocking out of cyan."""
    page = ground(CYAN)
    base = page.resources.ColorSpace["/" + page.spot("Moss Green")]
    page.resources.ColorSpace.Two = Array([Name.Indexed, base, 1, String(b"\xff\0")])
    return page.raw("/Two cs 1 scn").path([(45, 90), (65, 90), (65, 110), (45, 110)]).raw("f")


def finish(name: str, *, over: bool = False, below: bool = False) -> Drawing:
    """A finish on a ground of cyan and a spot: knocking out, overprinting, or drawn first."""
    if below:
        page = blank_page().fill(name, rect=SPOT)
        return page.gs(OP=True, op=True, OPM=1).fill(CYAN, rect=GROUND)
    page = ground(CYAN, "Mill Brown")
    if over:
        overprinting(page)
    return page.fill(name, rect=SPOT)


def finish_on_bare_board() -> Drawing:
    return ground(CYAN).fill("Gloss Varnish", rect=(90, 60, 110, 80))


def on_white(*, how: str, art: object = CYAN) -> Drawing:
    """A white under some art: ``knocked`` out by it, ``over`` printed by it, or ``on top``, overprinting."""
    page = blank_page()
    if how == "on top":
        page.fill(art, rect=SPOT)  # type: ignore[arg-type]
        return overprinting(page).fill("Opaque White", rect=GROUND)
    page.fill("Opaque White", rect=GROUND)
    if how == "over":
        overprinting(page)
    return page.fill(art, rect=SPOT)  # type: ignore[arg-type]


def trapped_white() -> Drawing:
    """A white with a hole, and art that fills the hole and laps 0.2 mm on to the white all round."""
    page = blank_page()
    for rect in [(30, 60, 80, 90), (30, 110, 80, 140), (30, 90, 45, 110), (65, 90, 80, 110)]:
        page.fill("Opaque White", rect=rect)
    return page.fill(CYAN, rect=(44.8, 89.8, 65.2, 110.2))


def black_text(size_pt: float, ink: object = BLACK, over: object = CYAN, *, opm: int | None = None) -> Drawing:
    page = ground(over)
    if opm is not None:
        overprinting(page, opm)
    tint = 1.0 if isinstance(ink, str) else 0.0
    return page.text("Best before end", (35, 100), size_pt, ink, tint)  # type: ignore[arg-type]


def text_on_bare_board() -> Drawing:
    return ground(CYAN).text("Best before end", (90, 100), 7, BLACK)


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, lambda: with_die(draw().gs(OP=False, op=False)), **{"ticket": ONE_UP, **more})


CASES = [
    case("white-art-overprints", "CMYK white in mode 1 over cyan", "fail", lambda: white_on(ground(CYAN)), near=SPOT,
         measured=400),
    case("white-art-overprints", "CMYK white in mode 0 over a spot", "fail",
         lambda: white_on(ground("Mill Brown"), opm=0), near=SPOT, measured=400),
    case("white-art-overprints", "grey white over a spot and cyan", "fail",
         lambda: white_on(ground(CYAN, "Mill Brown"), (1,)), near=SPOT),
    case("white-art-overprints", "RGB white over a spot", "fail", lambda: white_on(ground("Mill Brown"), (1, 1, 1))),
    case("white-art-overprints", "a spot at 0 % over cyan", "fail", lambda: white_on(ground(CYAN), "Moss Green")),
    case("white-art-overprints", "white letters", "fail", lambda: white_letters(1), near=(40, 98, 62, 104)),
    case("white-art-overprints", "white in a form", "fail", white_in_form),
    case("white-art-overprints", "over a metallic", "fail", lambda: white_on(ground("Copper"), opm=0)),
    case("white-art-overprints", "CMYK white in mode 0 over cyan", "pass", lambda: white_on(ground(CYAN), opm=0)),
    case("white-art-overprints", "grey white over cyan", "pass", lambda: white_on(ground(CYAN), (1,))),
    case("white-art-overprints", "white letters in mode 0", "pass", lambda: white_letters(0)),
    case("white-art-overprints", "a spot at 0 % over its own plate", "pass",
         lambda: white_on(ground("Mill Brown"), "Mill Brown")),
    case("white-art-overprints", "knocking out", "pass", lambda: ground(CYAN, "Mill Brown").fill(WHITE, rect=SPOT)),
    case("white-art-overprints", "on bare board", "pass", white_beside),
    case("white-art-overprints", "covered", "pass", white_below),
    case("white-art-overprints", "over white ink", "pass", lambda: white_on(ground("Opaque White"), opm=0)),
    case("white-art-overprints", "a hole in the varnish", "pass",
         lambda: white_on(ground(CYAN, "Gloss Varnish"), "Gloss Varnish")),
    case("white-art-overprints", "a speck of 0.1 mm2", "pass", lambda: speck(0.32)),
    case("white-art-overprints", "a speck of 0.5 mm2", "fail", lambda: speck(0.7)),
    case("white-ink-knocked-out", "art knocks out", "fail", lambda: on_white(how="knocked"), ticket=KRAFT, near=SPOT,
         measured=400),
    case("white-ink-knocked-out", "small letters knock out", "fail",
         lambda: blank_page().fill("Opaque White", rect=GROUND).text("Sage and thyme", (40, 100), 8), ticket=KRAFT),
    case("white-ink-knocked-out", "art overprints", "pass", lambda: on_white(how="over"), ticket=KRAFT),
    case("white-ink-knocked-out", "white on top", "pass", lambda: on_white(how="on top"), ticket=KRAFT),
    case("white-ink-knocked-out", "the board shows on purpose", "pass", lambda: on_white(how="knocked", art=WHITE),
         ticket=KRAFT),
    case("white-ink-knocked-out", "a metallic needs none", "pass", lambda: on_white(how="knocked", art="Copper"),
         ticket=KRAFT),
    case("white-ink-knocked-out", "a trap", "pass", trapped_white, ticket=KRAFT),
    case("white-ink-knocked-out", "white board", "pass", lambda: on_white(how="knocked"),
         ticket={**ONE_UP, "board": {"surface": "white"}}),
    case("white-ink-knocked-out", "no word on the board", "not checked", lambda: on_white(how="knocked")),
    case("varnish-knocks-out", "varnish", "fail", lambda: finish("Gloss Varnish"), near=SPOT, measured=400),
    case("varnish-knocks-out", "foil", "fail", lambda: finish("Hot Foil"), near=SPOT),
    case("varnish-knocks-out", "embossing", "fail", lambda: finish("Embossing"), near=SPOT),
    case("varnish-knocks-out", "a tint of varnish", "fail",
         lambda: ground(CYAN).fill("Gloss Varnish", 0.3, rect=SPOT)),
    case("varnish-knocks-out", "the ticket's coating, named as a spot", "fail", lambda: finish("Sheen"),
         ticket={**ONE_UP, "coating": {"kind": "uv", "area": "Sheen"}}, near=SPOT),
    case("varnish-knocks-out", "a spot", "pass", lambda: finish("Sheen")),
    case("varnish-knocks-out", "overprinting", "pass", lambda: finish("Gloss Varnish", over=True)),
    case("varnish-knocks-out", "foil overprinting", "pass", lambda: finish("Hot Foil", over=True)),
    case("varnish-knocks-out", "below the art", "pass", lambda: finish("Gloss Varnish", below=True)),
    case("varnish-knocks-out", "on bare board", "pass", finish_on_bare_board),
    case("spot-at-zero", "over cyan", "fail", nought, near=SPOT, measured=400),
    case("spot-at-zero", "by an index", "fail", nought_by_index, near=SPOT, measured=400),
    case("spot-at-zero", "over another spot", "fail", lambda: nought(over="Mill Brown"), near=SPOT),
    case("spot-at-zero", "over its own plate", "pass", lambda: nought("Mill Brown", "Mill Brown")),
    case("spot-at-zero", "overprinting", "pass", lambda: nought(overprint=True)),
    case("spot-at-zero", "white in CMYK", "pass", lambda: ground(CYAN).fill(WHITE, rect=SPOT)),
    case("spot-at-zero", "a light tint", "pass", lambda: ground(CYAN).fill("Moss Green", 0.05, rect=SPOT)),
    case("spot-at-zero", "covered", "pass", lambda: nought().fill(CYAN, rect=GROUND)),
    case("black-text-knocks-out", "7 pt over cyan", "warn", lambda: black_text(7), measured=7, near=(35, 98, 55, 104)),
    case("black-text-knocks-out", "7 pt over a spot", "warn", lambda: black_text(7, over="Mill Brown")),
    case("black-text-knocks-out", "grey never overprints cyan", "warn", lambda: black_text(7, (0,), opm=1)),
    case("black-text-knocks-out", "overprint in mode 0", "warn", lambda: black_text(7, opm=0)),
    case("black-text-knocks-out", "overprint in mode 1", "pass", lambda: black_text(7, opm=1)),
    case("black-text-knocks-out", "Separation Black overprints", "pass", lambda: black_text(7, "Black", opm=0)),
    case("black-text-knocks-out", "14 pt", "pass", lambda: black_text(14)),
    case("black-text-knocks-out", "on bare board", "pass", text_on_bare_board),
    case("black-text-knocks-out", "over a metallic", "pass", lambda: black_text(7, over="Copper")),
    case("black-text-knocks-out", "over white ink", "pass", lambda: black_text(7, over="Opaque White")),
    case("black-text-knocks-out", "a brown", "pass", lambda: black_text(7, (0.4, 0.6, 0.8, 0.2))),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_overprint(case, tmp_path):
    prove(case, tmp_path)
