"""Inks and metallics over each other: letters, grounds and lines, and the traps that are no overlap."""

import pikepdf
import pytest

from preflight.measures.raster import overlaps
from tests.drawn import Drawing
from tests.house import Case, blank_page, job_of, judged, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
CYAN, BLACK = (1, 0, 0, 0), (0, 0, 0, 1)
GROUND = (30, 60, 80, 140)
PATCH = (45, 90, 65, 110)


def copper(rect: tuple[float, float, float, float] = GROUND) -> Drawing:
    return blank_page().fill("Copper", rect=rect)


def over(page: Drawing) -> Drawing:
    return page.gs(OP=True, op=True, OPM=1)


def letters(*, overprint: bool, size_pt: float = 6) -> Drawing:
    page = over(copper()) if overprint else copper()
    return page.text("Sage and thyme", (40, 100), size_pt, BLACK)


def metallic_over(picture: object) -> Drawing:
    page = blank_page().fill(picture, rect=GROUND)  # type: ignore[arg-type]
    return over(page).fill("Copper", rect=PATCH)


def trapped(width_mm: float) -> Drawing:
    """A copper patch knocked out of cyan, and cyan carried on under its edge by so much."""
    page = blank_page().fill(CYAN, rect=GROUND).fill("Copper", rect=PATCH)
    x0, y0, x1, y1 = PATCH
    over(page)
    half = width_mm / 2
    return page.stroke(
        CYAN,
        [(x0 + half, y0 + half), (x1 - half, y0 + half), (x1 - half, y1 - half), (x0 + half, y1 - half)],
        width_mm=width_mm,
    )


def fine_pattern() -> Drawing:
    """Thin copper lines and letters, knocked out of cyan and black: their edges share pixels all over."""
    page = blank_page().fill(CYAN, rect=GROUND)
    for i in range(30):
        page.stroke("Copper", [(32 + i * 1.5, 65), (35 + i * 1.5, 95)], width_mm=0.15, close=False)
    return page.text("Sage and thyme", (33, 110), 6, "Copper").text("Sage", (33, 120), 6, BLACK)


def thin_line() -> Drawing:
    return over(copper()).stroke(BLACK, [(35, 80), (75, 120)], width_mm=0.25, close=False)


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 180
    return page


def on_units(*names: str) -> dict[str, object]:
    return {**ONE_UP, "units": list(names)}


def case(name, expect, draw, **more):
    return Case(
        "ink-on-metallic", name, expect, lambda: with_die(draw().gs(OP=False, op=False)), **{"ticket": ONE_UP, **more}
    )


CASES = [
    case("a patch over copper", "warn", lambda: over(copper()).fill(CYAN, rect=PATCH), near=PATCH, measured=400),
    case("a light tint over copper", "warn", lambda: over(copper()).fill((0.1, 0, 0, 0), rect=PATCH), near=PATCH),
    case("copper over a picture", "warn", lambda: metallic_over((0.6, 0.4, 0.4, 0.2)), near=PATCH),
    case("copper over a spot", "warn", lambda: metallic_over("Mill Brown"), near=PATCH),
    case("gold over copper", "warn", lambda: over(copper()).fill("Gold", rect=PATCH), near=PATCH),
    case("6 pt letters over copper", "warn", lambda: letters(overprint=True), near=(38, 98, 58, 104)),
    case("a line over copper", "warn", thin_line),
    case("knocked out", "pass", lambda: copper().fill(CYAN, rect=PATCH)),
    case("letters knocked out", "pass", lambda: letters(overprint=False)),
    case("thin copper knocked out", "pass", fine_pattern),
    case("a trap of 0.2 mm", "pass", lambda: trapped(0.2)),
    case("a rim of 1 mm is no trap", "warn", lambda: trapped(1.0)),
    case("side by side", "pass", lambda: copper(PATCH).fill(CYAN, rect=(66, 90, 76, 110))),
    case("under varnish", "pass", lambda: over(copper()).fill("Gloss Varnish", rect=PATCH)),
    case("over white", "pass", lambda: metallic_over("Opaque White")),
    case("outside the cut", "pass",
         lambda: over(copper((120, 0, 140, 9))).fill(CYAN, rect=(122, 2, 130, 8)).gs(OP=False, op=False)
         .fill("Copper", rect=PATCH)),
    case("printed over on purpose", "pass", lambda: over(copper()).fill(CYAN, rect=PATCH),
         ticket={**ONE_UP, "separations": {"Copper": {"printed_over": True}}}),
    case("copper over a picture, on a unit behind it", "warn", lambda: metallic_over((0.6, 0.4, 0.4, 0.2)), near=PATCH,
         ticket=on_units("Black", "Cyan", "Magenta", "Yellow", "Copper"), case="on ink", measured=400),
    case("copper over a picture, on a page that is turned", "warn",
         lambda: turned(metallic_over((0.6, 0.4, 0.4, 0.2)).gs(OP=False, op=False)), case="on ink", measured=400,
         ticket=on_units("Black", "Cyan", "Magenta", "Yellow", "Copper")),
    case("ink over copper, which stands first", "warn", lambda: over(copper()).fill(CYAN, rect=PATCH), case="",
         ticket=on_units("Copper", "Cyan"), near=PATCH),
    case("copper among the inks: over one and under another", "warn",
         lambda: metallic_over((0.6, 0.4, 0, 0)), case="", ticket=on_units("Cyan", "Copper", "Magenta")),
    case("copper twice, before and behind the ink", "warn", lambda: over(copper()).fill(CYAN, rect=PATCH), case="",
         ticket=on_units("Copper", "Cyan", "Copper")),
    case("an ink without a unit", "warn", lambda: metallic_over((0.6, 0, 0, 0)), case="",
         ticket=on_units("Black", "Copper")),
    case("knocked out, on a unit behind the inks", "pass", lambda: copper().fill(CYAN, rect=PATCH),
         ticket=on_units("Cyan", "Copper")),
    case("behind the inks, and printed over on purpose", "pass", lambda: metallic_over((0.6, 0, 0, 0)),
         ticket={**on_units("Cyan", "Copper"), "separations": {"Copper": {"printed_over": True}}}),
    case("a silver-grey is no metallic", "pass",
         lambda: over(blank_page().fill("Silver Grey", rect=GROUND)).fill(CYAN, rect=PATCH)),
    case("a spot that the ticket calls metallic", "warn",
         lambda: over(blank_page().fill("Shade 9", rect=GROUND)).fill(CYAN, rect=PATCH),
         ticket={**ONE_UP, "separations": {"Shade 9": "metallic"}}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_metallics(case, tmp_path):
    prove(case, tmp_path)


def test_a_metallic_behind_the_inks_is_not_asked_to_be_printed_over(tmp_path):
    drawn = case("told", "warn", lambda: metallic_over((0.6, 0.4, 0, 0)), ticket=on_units("Cyan", "Magenta", "Copper"))
    (finding,) = judged(drawn, tmp_path).findings
    assert finding.says.startswith("Copper prints on top of Cyan, Magenta (40")
    assert "printed_over" not in finding.do


FAINT = {"ca": 0.5, "CA": 0.5}


@pytest.mark.parametrize(
    ("draw", "may"),
    [
        (lambda page: page.fill("Copper", rect=PATCH), False),
        (lambda page: over(page).fill("Copper", rect=PATCH), True),
        (lambda page: over(page.fill("Copper", rect=PATCH)).fill("Gloss Varnish", rect=PATCH), False),
        (lambda page: page.gs(**FAINT).fill("Copper", rect=PATCH), True),
        (lambda page: page.gs(BM=pikepdf.Name.Multiply).fill("Copper", rect=PATCH), True),
        (lambda page: page.fill("Copper", rect=PATCH).fill("All", rect=PATCH), True),
        (lambda page: over(page.fill("Copper", rect=PATCH)).fill("Gloss Varnish", rect=(1, 1, 9, 9)), False),
        (lambda page: over(page.fill("Copper", rect=PATCH)).fill(CYAN, rect=(1, 1, 9, 9)), False),
    ],
    ids=["knocked out", "overprinted", "under varnish", "faint", "multiplied", "registration", "varnish", "far away"],
)
def test_where_nothing_overprints_nothing_lies_over_a_metallic(draw, may, tmp_path):
    """This test ensures that a close look is spared only where nothing can put one ink on another."""
    job = job_of(draw(blank_page().fill(CYAN, rect=GROUND)), tmp_path, ONE_UP)
    assert overlaps.may_overlap(job, (40, 85, 70, 115), "Copper", ["Cyan", "Black"]) == may
