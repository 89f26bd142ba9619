"""Text, outlined type and codes near the cut and near folds, and what looks like them and is none."""

from math import cos, pi, sin

import numpy as np
import pytest

from preflight.measures.outlined_type import SCALES, _runs, bar_codes, lines_of_type, matrix_code, without_holes
from sample_jobs.drawing.letters import face
from sample_jobs.drawing.outline import Outline, flattened
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import MM, Drawing
from tests.house import Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
BLACK, WHITE, BROWN = (0, 0, 0, 1), (0, 0, 0, 0), "Mill Brown"
# Panel 1 ends in a cut at y = 55 and in creases at x = 25, x = 85 and y = 145; the cap height of Helvetica is 0.718 em.
CUT_Y, FOLD_X, FOLD_Y = 55.0, 85.0, 145.0
EAN = "10100011010111101010111101001101100011010101010111001011011001001000111010010111001010011101101"


def text(up_mm: float, page: Drawing | None = None, ink: object = BLACK, words: str = "ALPINE HERBS") -> Drawing:
    """Live capitals on a base line so far above the lower cut of panel 1."""
    return (page or blank_page()).text(words, (40, CUT_Y + up_mm), 8, ink)  # type: ignore[arg-type]


def text_under_fold(down_mm: float, page: Drawing | None = None) -> Drawing:
    return (page or blank_page()).text("ALPINE HERBS", (40, FOLD_Y - down_mm - 0.718 * 8 / MM), 8)


def upright_text(gap_mm: float) -> Drawing:
    """Live capitals that run upwards, their feet so far to the left of the crease at x = 85."""
    page = text(20.0)
    x = (FOLD_X - gap_mm) * MM
    return page.raw(f"BT /F0 8 Tf 0 1 -1 0 {x:.3f} 250 Tm (ALPINE HERBS) Tj ET")


def outlined(
    page: Drawing, words: str, at: tuple[float, float], size_pt: float = 8, ink: object = BLACK, *,
    turned: float = 0.0, apart: bool = False,
) -> Drawing:  # fmt: skip
    """Words in outlines from their base line; as one path, or a path a letter."""
    font, x = face("regular"), 0.0
    page.colour(ink, 0.0 if ink == WHITE else 1.0)  # type: ignore[arg-type]
    whole = Outline()
    for char in words:
        letter = font.outlined(char, size_pt).moved(x, 0).moved(*at, turned=turned)
        x += font.width(char) / 1000 * size_pt / MM
        if apart and letter.steps:
            _path(page, letter)
            page.raw("f")
        whole.add(letter)
    if not apart:
        _path(page, whole)
        page.raw("f")
    return page


def _path(page: Drawing, outline: Outline) -> None:
    for contour in flattened(outline, pieces=4):
        page.path(contour)


def bars(page: Drawing, at: tuple[float, float], *, apart: bool = False) -> Drawing:
    """A bar code of 95 modules of 0.33 mm and 18 mm high; ``at`` is its lower-left corner."""
    page.colour(BLACK)
    for i, bar in enumerate(EAN):
        if bar == "1" and (i == 0 or EAN[i - 1] == "0"):
            run = len(EAN[i:]) - len(EAN[i:].lstrip("1"))
            x = at[0] + i * 0.33
            page.path([(x, at[1]), (x + run * 0.33, at[1]), (x + run * 0.33, at[1] + 18), (x, at[1] + 18)])
            if apart:
                page.raw("f")
    return page if apart else page.raw("f")


def cells(page: Drawing, at: tuple[float, float]) -> Drawing:
    """A two-dimensional code of 20 x 20 cells of 0.5 mm in one path."""
    page.colour(BLACK)
    for row, column in np.argwhere(np.random.default_rng(4).random((20, 20)) < 0.5):
        x, y = at[0] + column * 0.5, at[1] + row * 0.5
        page.path([(x, y), (x + 0.5, y), (x + 0.5, y + 0.5), (x, y + 0.5)])
    return page.raw("f")


def stripes(width_mm: float) -> Drawing:
    """Stripes that cross the crease at x = 85, and pinstripes beside it."""
    page = blank_page()
    for i in range(20):
        page.fill(BROWN, rect=(70, 60 + i * 2.0, 100, 60 + i * 2.0 + width_mm))
        page.fill(BROWN, rect=(FOLD_X + 0.5 + i, 110, FOLD_X + 0.5 + i + width_mm / 2, 130))
    return page


def star(page: Drawing, x: float, y: float, radius: float) -> Drawing:
    points = [
        (x + r * cos(pi * i / 5 + pi / 2), y + r * sin(pi * i / 5 + pi / 2))
        for i, r in enumerate([radius, radius * 0.4] * 5)
    ]
    return page.fill(BROWN, points=points)


def ornaments() -> Drawing:
    """Rows of dots and stars over and beside the cut and the crease: alike, or of three sizes about one middle."""
    page = blank_page()
    for i in range(12):
        star(page, 30 + i * 3.2, CUT_Y + 2.2, 1.5)
        star(page, 30 + i * 3.2, FOLD_Y - 2.2, 0.8 + 0.35 * (i % 3))
        page.fill(BROWN, rect=(FOLD_X - 1.0, 70 + i * 3, FOLD_X + 1.5, 72 + i * 3))
    return page


def frames() -> Drawing:
    """Frames 1 mm inside the panel, a ground and a picture that run over the crease."""
    page = blank_page().fill(BROWN, 0.3, rect=(20, 60, 110, 140))
    page.stroke(BLACK, [(26, 56), (84, 56), (84, 144), (26, 144)], width_mm=0.3)
    return page.image(bytes(range(64)) * 4, 8, 8, (75, 80, 95, 100))


def letters_on_dust_flap() -> Drawing:
    """Letters at the tip of the dust flap below panel 2, which nobody sees."""
    return blank_page().text("HERB", (96, 31.7), 8)


def by_perforation(up_mm: float, *, turned: int = 0) -> Drawing:
    """Capitals so far above a perforation across panel 1."""
    page = blank_page().gs(OP=True)
    page.stroke("Perforation", [(25, 100), (85, 100)], close=False, dash_mm=(2, 1)).gs(OP=False)
    page.page.obj.Rotate = turned
    return page.text("ALPINE HERBS", (40, 100 + up_mm), 8)


def trimmed(up_mm: float) -> Drawing:
    page = Drawing(100, 80, trim=(10, 10, 90, 70))
    return page.text("ALPINE HERBS", (30, 10 + up_mm), 8)


def figure(up_mm: float, *, size_pt: float = 120, ink: object = BLACK, page: Drawing | None = None) -> Drawing:
    """A large 7 that stands so far above the lower cut of panel 1; below 0 it runs off there."""
    return (page or blank_page()).text("7", (45, CUT_Y + up_mm), size_pt, ink)  # type: ignore[arg-type]


def figure_at_the_side(past_mm: float, turn: int = 0) -> Drawing:
    """A large 7 that runs off the right edge of the carton, x = 205, by so much; its advance is 0.556 em."""
    page = blank_page()
    page.page.obj.Rotate = turn
    return page.text("7", (205 + past_mm - 0.523 * 120 / MM, 80), 120)


def in_a_form(page: Drawing) -> Drawing:
    """The same page, its content in a form."""
    inner = "\n".join(page.ops)
    page.ops.clear()
    return page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 215, 200))} Do")


def clipped_at_the_cut(page: Drawing) -> Drawing:
    """The same page, nothing of it below the lower cut of panel 1."""
    page.ops.insert(0, f"q {20 * MM} {CUT_Y * MM} {70 * MM} {80 * MM} re W n")
    return page.raw("Q")


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, lambda: with_die(draw()), **{"ticket": ONE_UP, **more})


WINDOW = (30.0, 80.0, 80.0, 120.0)


def windowed(page: Drawing, *, slit: bool = False) -> Drawing:
    """A window in panel 1, or a slit in place of it."""
    x0, y0, x1, y1 = WINDOW
    points = [(x0, 100), (x1, 100)] if slit else [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return page.gs(OP=True).stroke("Cutting", points, close=not slit).gs(OP=False)


def in_window(words: str = "ALPINE HERBS", at: tuple[float, float] = (40, 98), ink: object = BLACK) -> Drawing:
    return windowed(blank_page().text(words, at, 8, ink))  # type: ignore[arg-type]


def turned_page(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


def two_up_window() -> Drawing:
    page = Drawing(430, 200)
    draw_die(page, reverse_tuck(at=(220, 10)))
    return in_window_of(page)


def in_window_of(page: Drawing) -> Drawing:
    return windowed(page.text("ALPINE HERBS", (40, 98), 8))


CUT_AWAY = "live-matter-cut-away"
NEAR_CUT, NEAR_FOLD = "live-matter-near-cut", "live-matter-near-fold"
CASES = [
    case(NEAR_CUT, "text at 0.6 mm", "fail", lambda: text(0.6), measured=0.6, near=(40, 55, 62, 59)),
    case(NEAR_CUT, "text at 1.5 mm", "warn", lambda: text(1.5), measured=1.5),
    case(NEAR_CUT, "text at 2.1 mm", "pass", lambda: text(2.1)),
    case(NEAR_CUT, "text over the cut", "fail", lambda: text(-1), measured=0.0),
    case(NEAR_CUT, "a large figure runs off", "pass", lambda: figure(-15)),
    case(NEAR_CUT, "a large figure runs off by 3 mm", "pass", lambda: figure(-3)),
    case(NEAR_CUT, "a large figure runs off at the side", "pass", lambda: figure_at_the_side(8)),
    case(NEAR_CUT, "a large figure runs off at the side of a turned page", "pass", lambda: figure_at_the_side(8, 90)),
    case(NEAR_CUT, "a large figure in a form runs off", "pass", lambda: in_a_form(figure(-15))),
    case(NEAR_CUT, "a large white figure runs off with its ground", "pass",
         lambda: figure(-15, ink=WHITE, page=blank_page().fill(BROWN, rect=(20, 30, 90, 120)))),
    case(NEAR_CUT, "a large figure at 0.5 mm", "fail", lambda: figure(0.5), measured=0.5),
    case(NEAR_CUT, "a large figure that stops at the cut", "fail", lambda: clipped_at_the_cut(figure(-15)),
         measured=0.0),
    case(NEAR_CUT, "a large figure 0.5 mm over the cut", "fail", lambda: figure(-0.5), measured=0.0),
    case(NEAR_CUT, "large outlined letters run off", "pass", lambda: outlined(blank_page(), "HERB", (35, 51), 30)),
    case(NEAR_CUT, "small outlined letters over the cut", "fail", lambda: outlined(blank_page(), "HERBS", (35, 54), 12),
         measured=0.0),
    case(NEAR_CUT, "text of 12 pt over the cut", "fail", lambda: figure(-2, size_pt=12), measured=0.0),
    case(NEAR_CUT, "small text beside a large figure that runs off", "fail",
         lambda: figure(-15).text("HERBS", (33, CUT_Y + 0.6), 8, BLACK), measured=0.6),
    case(NEAR_CUT, "white text on a ground", "fail",
         lambda: text(0.6, blank_page().fill(BROWN, rect=(20, 45, 90, 80)), WHITE), measured=0.6),
    case(NEAR_CUT, "outlined type at 0.6 mm", "fail", lambda: outlined(blank_page(), "ALPINE HERBS", (40, 55.6)),
         measured=0.6, near=(40, 55, 66, 59)),
    case(NEAR_CUT, "outlined, a path a letter, at 1.5 mm", "warn",
         lambda: outlined(blank_page(), "ALPINE HERBS", (40, 56.5), apart=True), measured=1.5),
    case(NEAR_CUT, "outlined type at 2.2 mm", "pass", lambda: outlined(blank_page(), "ALPINE HERBS", (40, 57.2))),
    case(NEAR_CUT, "outlined small letters with descenders at 0.6 mm", "fail",
         lambda: outlined(blank_page(), "pepper, sage and thyme", (40, 55.6 + 0.21 * 8 / MM)), measured=0.6),
    case(NEAR_CUT, "a bar code at 0.6 mm", "fail", lambda: bars(blank_page(), (40, 55.6)), measured=0.6),
    case(NEAR_CUT, "a bar code of single bars at 1.5 mm", "warn",
         lambda: bars(blank_page(), (40, 56.5), apart=True), measured=1.5),
    case(NEAR_CUT, "a two-dimensional code at 0.6 mm", "fail", lambda: cells(blank_page(), (40, 55.6)), measured=0.6),
    case(NEAR_CUT, "on a dust flap", "warn", letters_on_dust_flap),
    case(NEAR_CUT, "a legend under the cut", "pass", lambda: text(-3.2)),
    case(NEAR_CUT, "outlined, a legend under the cut", "pass",
         lambda: outlined(blank_page(), "ALPINE HERBS", (40, 52.3))),
    case(NEAR_CUT, "in the die's ink", "pass", lambda: text(0.6, ink="Dimensions")),
    case(NEAR_CUT, "covered", "pass", lambda: text(0.6).fill(BROWN, rect=(30, 50, 80, 70))),
    case(NEAR_CUT, "outlined and covered", "pass",
         lambda: outlined(blank_page(), "ALPINE HERBS", (40, 55.6)).fill(BROWN, rect=(30, 50, 80, 70))),
    case(NEAR_CUT, "stars in a row", "pass", ornaments),
    case(NEAR_CUT, "frames and grounds", "pass", frames),
    Case(NEAR_CUT, "no die, at the trim box", "warn", lambda: trimmed(0.6), ticket=ONE_UP, measured=0.6),
    Case(NEAR_CUT, "no die, off the trim box", "pass", lambda: trimmed(3), ticket=ONE_UP),
    case(NEAR_FOLD, "text at 1 mm", "warn", lambda: text_under_fold(1), measured=1.0, near=(40, 140, 62, 145)),
    case(NEAR_FOLD, "text at 1.6 mm", "pass", lambda: text_under_fold(1.6)),
    case(NEAR_FOLD, "text over the fold", "warn", lambda: text_under_fold(-1), measured=0.0),
    case(NEAR_FOLD, "upright text at 1 mm", "warn", lambda: upright_text(1), measured=1.0),
    case(NEAR_FOLD, "upright text at 1.7 mm", "pass", lambda: upright_text(1.7)),
    case(NEAR_FOLD, "outlined type at 1.3 mm", "warn",
         lambda: outlined(blank_page(), "HERBS and sage", (FOLD_X + 1.3 - 0.098 * 8 / MM, 100)), measured=1.3),
    case(NEAR_FOLD, "outlined, upright, at 1 mm", "warn",
         lambda: outlined(blank_page(), "ALPINE HERBS", (FOLD_X - 1, 80), turned=90), measured=1.0),
    case(NEAR_FOLD, "outlined white type at 1 mm on a ground that runs over the fold", "warn",
         lambda: outlined(blank_page().fill(BROWN, rect=(20, 60, 110, 140)), "ALPINE HERBS", (FOLD_X - 1, 80),
                          ink=WHITE, turned=90), measured=1.0),
    case(NEAR_FOLD, "outlined type at 2 mm", "pass",
         lambda: outlined(blank_page(), "HERBS and sage", (FOLD_X + 2, 100))),
    case(NEAR_FOLD, "a bar code at 1 mm", "warn", lambda: bars(blank_page(), (FOLD_X - 1 - 31.35, 80)), measured=1.0),
    case(NEAR_FOLD, "stripes that cross the fold", "pass", lambda: stripes(1.0)),
    case(NEAR_FOLD, "dots and stars", "pass", ornaments),
    case(NEAR_FOLD, "frames, grounds and pictures", "pass", frames),
    case(NEAR_FOLD, "varnish lettering", "pass", lambda: blank_page().text("HERBS", (86, 100), 8, "Gloss Varnish")),
    case(NEAR_FOLD, "text at 1 mm from a perforation", "warn", lambda: by_perforation(1.0), case="perforation",
         measured=1.0),
    case(NEAR_FOLD, "text over a perforation of a page that is turned", "warn", lambda: by_perforation(-1, turned=90),
         case="perforation", measured=0.0),
    case(NEAR_FOLD, "text at 1.7 mm from a perforation", "pass", lambda: by_perforation(1.7)),
    case(NEAR_FOLD, "text at a crease of a carton with a perforation", "warn",
         lambda: text_under_fold(1, by_perforation(5)), case="", measured=1.0),
    case(CUT_AWAY, "text in a window", "warn", in_window, near=WINDOW),
    case(CUT_AWAY, "white text on a ground", "warn",
         lambda: windowed(blank_page().fill(BROWN, rect=(20, 60, 90, 140)).text("HERBS", (40, 98), 8, WHITE))),
    case(CUT_AWAY, "outlined type", "warn",
         lambda: windowed(outlined(blank_page(), "ALPINE HERBS", (40, 98))), near=WINDOW),
    case(CUT_AWAY, "a bar code", "warn", lambda: windowed(bars(blank_page(), (38, 90))), near=WINDOW),
    case(CUT_AWAY, "on a page that is turned", "warn", lambda: turned_page(in_window()), near=(80, 135, 120, 185)),
    case(CUT_AWAY, "on one blank of a sheet", "warn", two_up_window, ticket={"artwork_is": "sheet"}, near=WINDOW),
    case(CUT_AWAY, "beside the window", "pass", lambda: in_window(at=(40, 124))),
    case(CUT_AWAY, "across its edge", "pass", lambda: in_window(at=(65, 98))),
    case(CUT_AWAY, "over a slit", "pass", lambda: windowed(blank_page().text("HERBS", (40, 98), 8), slit=True)),
    case(CUT_AWAY, "no window", "pass", lambda: blank_page().text("HERBS", (40, 98), 8)),
    case(CUT_AWAY, "covered", "pass", lambda: in_window().fill(BROWN, rect=(25, 70, 84, 130))),
    case(CUT_AWAY, "in the die's ink", "pass", lambda: in_window(ink="Dimensions")),
    case(CUT_AWAY, "a ground and ornaments", "pass", lambda: windowed(ornaments())),
    Case(NEAR_FOLD, "no die", "not checked", lambda: trimmed(3), ticket=ONE_UP),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_live_matter(case, tmp_path):
    prove(case, tmp_path)


def boxes_of(words: str, size_pt: float = 8, spacing_mm: float = 0.0) -> np.ndarray:
    contours = flattened(face("regular").outlined(words, size_pt, spacing_mm=spacing_mm), pieces=4)
    boxes = np.array([[*np.min(points, 0), *np.max(points, 0)] for points in contours])
    return boxes[without_holes(boxes)]


@pytest.mark.parametrize(
    ("words", "size_pt", "spacing_mm"),
    [
        ("Ingredients: wholegrain OAT flakes (48 %), WHEAT flour,", 5, 0.0),
        ("OAT BISCUITS", 17, 1.0),
        ("minimum", 6, 0.0),
        ("1 905 kJ / 455 kcal", 6.5, 0.0),
        ("Bio-Kräutertee, 25 Beutel", 9, 0.0),
    ],
)
@pytest.mark.parametrize("upright", [False, True])
def test_reads_words_as_type(words, size_pt, spacing_mm, upright):
    boxes = boxes_of(words, size_pt, spacing_mm)
    boxes = boxes[:, [1, 0, 3, 2]] if upright else boxes
    found = lines_of_type(boxes, np.zeros(len(boxes), int))
    letters = sum(character.isalnum() for character in words)
    assert sum(len(line.members) for line in found) >= 0.7 * letters


@pytest.mark.parametrize("seed", range(20))
def test_does_not_read_a_scatter_of_shapes_as_type(seed):
    """Shapes of an illustration: 400 of 0.5 to 6 mm on 60 x 60 mm, in three colours."""
    chance = np.random.default_rng(seed)
    corner, size = chance.uniform(0, 60, (400, 2)), chance.uniform(0.5, 6, (400, 2))
    boxes = np.hstack([corner, corner + size])
    assert lines_of_type(boxes, chance.integers(0, 3, 400)) == []


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize(("height", "linked"), [(0.24, False), (0.26, True), (0.45, True)])
def test_marks_between_letters_link_them_from_a_quarter_of_the_scale(scale, height, linked):
    """Letters of three quarters of the scale, too far from each other to stand in one line but for the marks."""
    letters = np.array([(1.6 * n, 0, 1.6 * n + 0.3, 0.75) for n in range(4)])
    marks = np.array([(1.6 * n + 0.9, 0, 1.6 * n + 1.0, height) for n in range(4)])
    boxes = np.vstack([letters, marks]) * scale
    found = [sorted(run.tolist()) for run in _runs(boxes, np.zeros(8, int))]
    assert (list(range(8)) in found) is linked
    assert linked or not [run for run in found if len(set(run) & set(range(4))) > 1]


def test_reads_bars_of_several_widths_as_a_code():
    x = np.cumsum([0.33, 0.66, 0.99, 0.33, 0.66] * 8)
    even = np.cumsum(np.full(40, 0.5))
    code = np.column_stack([x[:-1:2], np.zeros(20), x[1::2], np.full(20, 18.0)])
    stripes = np.column_stack([even[::2], np.zeros(20), even[1::2], np.full(20, 18.0)])
    assert [len(found.members) for found in bar_codes(code, np.zeros(20, int))] == [20]
    assert bar_codes(stripes, np.zeros(20, int)) == []
    assert not matrix_code(code)
