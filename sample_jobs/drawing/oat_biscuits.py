"""Artwork of the everyday grocery carton: oat biscuits, 200 g, reverse-tuck 140 x 50 x 190 mm.

Drawn twice: as the customer sent it, with its faults, and repaired. Places are mm on the blank; the blank's
lower-left corner lies at ``ORIGIN`` on the page.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from shapely import Polygon, box

from sample_jobs.drawing import pieces
from sample_jobs.drawing.landscapes import oat_field
from sample_jobs.drawing.outline import Outline, ellipse, outline_of, polyline, rect
from sample_jobs.drawing.pen import BLACK, WHITE, Pen
from sample_jobs.drawing.pictures import Field, Picture, cmyk_jpeg, mix, resized, shadow, step, to_plates
from sample_jobs.drawing.still_life import bowl_of_biscuits
from sample_jobs.drawing.tuck_carton import TuckCarton, draw_die

CARTON = TuckCarton(width=140, depth=50, height=190, glue=14, tuck=15, dust=38)
ORIGIN = (23.0, 58.0)
PAGE = (440.0, 400.0)
GLUE_FLAP = (0.0, 65.0, 14.0, 255.0)
CODE = (252.0, 30.0, 302.0, 46.0)
BROWN, SECOND_BROWN = "Barley Brown", "BARLEY BROWN C"
INKS = {
    BROWN: (0.15, 0.45, 0.70, 0.18),
    "Gloss Varnish": (0.12, 0.0, 0.05, 0.0),
    "Cutting": (0.0, 1.0, 1.0, 0.0),
    "Creasing": (1.0, 0.0, 1.0, 0.0),
    "Dimensions": (1.0, 0.3, 0.0, 0.0),
    "Board Notes": (0.4, 1.0, 0.0, 0.0),
}
GREEN, CREAM = (0.55, 0.08, 0.95, 0.22), (0.0, 0.04, 0.16, 0.0)
FOUR_COLOUR_BLACK = (0.75, 0.68, 0.67, 0.90)
NAME = "Quillmere"
TABLE = [
    ("Energy", "1 905 kJ / 455 kcal"), ("Fat", "18.2 g"), ("of which saturates", "4.1 g"), ("Carbohydrate", "61.4 g"),
    ("of which sugars", "7.9 g"), ("Fibre", "7.6 g"), ("Protein", "8.3 g"), ("Salt", "0.62 g"),
]  # fmt: skip
INGREDIENTS = [
    "Ingredients: wholegrain OAT flakes (48 %), WHEAT flour,", "sunflower oil, chopped dates (9 %), oat bran (6 %),",
    "apple juice from concentrate, raising agent (sodium", "hydrogen carbonate), sea salt, ground cinnamon.",
    "May contain traces of NUTS, MILK and SESAME.", "For allergens, see ingredients in CAPITALS.",
    "Store in a cool, dry place. Once opened keep in an", "airtight tin and eat within two weeks.",
]  # fmt: skip
STORY = [
    "The mill on the Quill", "has rolled oats since", "the weir was mended.", "We bake them with",
    "dates and a little salt,", "sixteen to a carton,", "and that is all", "there is to it.",
]  # fmt: skip


def draw(path: Path, *, repaired: bool) -> Path:
    """Draws the carton; with its faults, or repaired."""
    pen = Pen(*PAGE, origin_mm=ORIGIN, title=f"{NAME} oat biscuits 200 g")
    for name, cmyk in INKS.items():
        pen.spot(name, cmyk)
    if not repaired:
        pen.spot(SECOND_BROWN, INKS[BROWN])
        pen.spot("All", (1, 1, 1, 1))
    wide, tall = CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    with pen.layer("Artwork"):
        _ground(pen, repaired)
        _photo(pen, repaired)
        _front(pen, repaired)
        _sides(pen, repaired)
        _back(pen, repaired)
        _ends(pen)
    with pen.layer("Varnish"), pen.overprinting():
        pen.fill(outline_of(_varnish(repaired)), "Gloss Varnish")
    with pen.layer("Die"):
        _die(pen, repaired)
    with pen.layer("Legend"):
        _legend(pen)
    with pen.layer("Technical", shown=False):
        pen.words("Grain runs across the panels; caliper 0.50 mm", (220, 160), 14, ink="Board Notes", style="bold")
        pen.stroke(polyline([(220, 155), (330, 155)], closed=False), "Board Notes", width_pt=2)
    return pen.save(path)


def _ground(pen: Pen, repaired: bool) -> None:
    """Brown on the panels and the top flaps, 3 mm past every cut; the bottom flaps stay white."""
    pen.fill(rect(12.5, 62, 397, 258), BROWN)
    if repaired:
        pen.fill(rect(11.5, 255, 156.5, 323), BROWN)
    else:  # on the tuck flap the brown is the flap's own outline, and nothing past it
        tuck = CARTON.shape().intersection(box(0, 304.9, 160, 330))
        pen.fill(rect(11.5, 255, 156.5, 305), BROWN)
        pen.fill(outline_of(tuck), BROWN)
    pen.fill(rect(152, 255, 207, 296), BROWN)
    pen.fill(rect(341, 255, 397, 296), BROWN if repaired else SECOND_BROWN)


@cache
def _scene() -> tuple[Field, Field]:
    return bowl_of_biscuits(1760, 1300)


def _photograph(repaired: bool) -> Picture:
    rgb, deepest = _scene()
    tints = to_plates(rgb, limit=2.9)
    if not repaired:  # 90 + 88 + 82 + 92 = 352 %
        tints = mix(tints, np.broadcast_to(np.array([0.90, 0.88, 0.82, 0.92], np.float32), tints.shape), deepest)
    return cmyk_jpeg(tints, 58)


def _photo(pen: Pen, repaired: bool) -> None:
    """The picture at 300 ppi on the lower front, its top edge curved, a cream band along it."""
    left, right = (12.5 if repaired else 8.0), 155.0
    frame = Outline().move(left, 62).line((right, 62), (right, 168)).curve((105, 150), (58, 150), (left, 163)).close()
    with pen.clipped(frame):
        pen.image(_photograph(repaired), (8, 62, 157, 62 + 149 * 1300 / 1760))
    band = Outline().move(left, 163).curve((58, 150), (105, 150), (right, 168)).line((right, 170.5))
    pen.fill(band.curve((105, 152.2), (58, 152.2), (left, 165)).close(), CREAM)
    radius = 13.5
    y, x = np.mgrid[-1.25:1.25:128j, -1.25:1.25:128j]
    dark = 0.55 * (1 - step(np.hypot(x, y), 0.82, 1.2))
    pen.image(shadow(dark), (134 - 17, 88 - 18.5, 134 + 17, 88 + 15.5))
    pieces.dot(pen, (134, 88), radius, GREEN)
    pen.stroke(ellipse(134, 88, radius - 1.2), WHITE, width_pt=0.8)
    pieces.outlined(pen, "200 g", (134, 87.5), 19, WHITE, align="centre")
    pieces.outlined(pen, "16 BISCUITS", (134, 82.5), 6.5, WHITE, align="centre")


def _wordmark(pen: Pen, x: float, y: float, size_pt: float, *, turned: int = 0) -> None:
    pieces.outlined(
        pen, NAME, (x, y), size_pt, WHITE, style="bold italic", align="centre", turned=turned, spacing_mm=size_pt / 60
    )


def _front(pen: Pen, repaired: bool) -> None:
    _wordmark(pen, 84, 218, 56)
    pen.fill(rect(32, 212.6, 136, 213.4), WHITE)
    pieces.outlined(pen, "OAT BISCUITS", (84, 200.5), 25, BLACK, align="centre", spacing_mm=1.2)
    pen.fill(pieces.oat_ear(22).moved(27, 174, turned=14), CREAM)
    pen.fill(pieces.oat_ear(26).moved(33, 172, turned=-8), CREAM)
    with pen.overprinting():
        lines = ["Wholegrain oats, dates and a pinch", "of sea salt, baked slowly until the", "edges turn crisp."]
        pieces.paragraph(pen, lines, (50, 190), 8, style="bold")
    _roundel(pen, repaired)


def _roundel(pen: Pen, repaired: bool) -> None:
    """White, and in the customer's file set to overprint: on the brown it then vanishes."""
    words = [("NO", 6.0, 13), ("ADDED", 0.2, 11), ("SUGAR", -5.6, 11)]
    if repaired:
        pieces.dot(pen, (134, 184), 12.5, WHITE)
    else:
        with pen.overprinting():
            pieces.dot(pen, (134, 184), 12.5, WHITE)
    for word, up, size in words:
        pieces.outlined(pen, word, (134, 182 + up), size, BROWN, align="centre")


def _sides(pen: Pen, repaired: bool) -> None:
    _wordmark(pen, 184.5, 160, 44, turned=90)
    pieces.outlined(pen, "OAT BISCUITS", (195, 160), 17, BLACK, align="centre", turned=90, spacing_mm=1)
    pen.fill(polyline([(179, 92), (179.99, 92.99), (179, 93.98), (178.01, 92.99)]), (0.95, 0.85, 0.75, 0.90))
    for y in (88, 98):
        pieces.dot(pen, (179, y), 0.8, CREAM)
    pen.fill(rect(345, 62, 397, 84), CREAM)
    pen.fill(rect(344, 84, 397, 85.2), GREEN)
    green_leaf = pieces.leaf(13).moved(362, 216)
    pen.fill(ellipse(369, 222, 12.5), WHITE)
    pen.fill(green_leaf, GREEN if repaired else (0.27, 0.55, 0.16))
    with pen.overprinting():
        pieces.paragraph(pen, ["Suitable for", "vegetarians"], (369, 204), 8, style="bold", align="centre")
        pieces.paragraph(
            pen, ["Carton: board,", "collect with paper.", "Tray: compost", "at home."], (369, 150), 7, align="centre"
        )
        if repaired:
            pen.words("Artwork QM-2207, issue C", (349, 68), 6)
        else:
            pen.words_without_font("Artwork QM-2207, issue C", (349, 68), 6)
        pieces.paragraph(pen, ["Baked and packed for", "Quillmere Mill, Weir Lane,", "Quillmere QM0 0QM"], (349, 79), 6)
    pen.fill(pieces.recycling_mark(9).moved(369, 164), BLACK if repaired else "All")


@cache
def _field() -> Field:
    return oat_field(720, 480)


def _back(pen: Pen, repaired: bool) -> None:
    tints = to_plates(_field(), limit=2.9)
    if not repaired:
        tints = np.dstack([resized(tints[..., i], 189, 284) for i in range(4)])
    pen.image(cmyk_jpeg(tints, 58), (210, 207, 270, 247))
    pen.stroke(rect(210, 207, 270, 247), WHITE, width_pt=1.5)
    with pen.overprinting():
        pieces.paragraph(pen, STORY, (277, 240.5), 8, lead=1.5)
    left = 209.5 if repaired else 203.6  # the frame then stands on the crease, the words 1.3 mm from it
    pieces.nutrition_table(pen, (left, 200), 66, TABLE)
    pen.fill(rect(277, 162, 339, 200), CREAM)
    pen.stroke(rect(277, 162, 339, 200), BLACK, width_pt=0.75)
    if repaired:
        with pen.overprinting():
            pieces.paragraph(pen, INGREDIENTS, (278.6, 195), 5.8, lead=1.75)
    else:
        pieces.paragraph(pen, INGREDIENTS, (279.5, 195), 4.6, lead=1.9, ink=FOUR_COLOUR_BLACK)
    _wordmark(pen, 242, 126, 26)
    with pen.overprinting():
        tips = ["Crumble over warm apples, or break", "one into a bowl of plain yoghurt.", "Best shared."]
        pieces.paragraph(pen, tips, (278, 154), 8, lead=1.5)
        lines = [
            "Not happy? Send us the carton and tell us why.",
            "Quillmere Mill, Weir Lane, Quillmere QM0 0QM",
            "Produce of several countries.",
        ]
        pieces.paragraph(pen, lines, (210, 112), 7, lead=1.5)
    pieces.bar_code(pen, pieces.with_check_digit("220719040020"), (297, 84))
    for i in range(5):
        pen.fill(pieces.oat_ear(20 + 3 * (i % 2)).moved(220 + 14 * i, 72, turned=10 - 5 * i), CREAM)


def _ends(pen: Pen) -> None:
    """Words on the top closure, turned to be read from the front; the code's caption on the white bottom closure."""
    _wordmark(pen, 84, 283, 40)
    pieces.outlined(pen, "OAT BISCUITS", (84, 270), 17, BLACK, align="centre", spacing_mm=1)
    with pen.overprinting():
        pen.words("Push here to open", (84, 309), 7, align="centre", style="italic")
        pieces.paragraph(pen, ["Best before", "and batch:"], (248, 40), 8, style="bold", align="right")
        pen.words("Q 2207-C", (179, 48), 6, align="centre")
        pen.words("12", (369, 48), 6, align="centre")


def _varnish(repaired: bool) -> Polygon:
    """The coating's plate: 3 mm past the cut, off the glue flap; over the code in the customer's file."""
    area = CARTON.shape().buffer(3, quad_segs=12)
    area = area.difference(box(-10, 50, 14.5, 254.999)).difference(box(-10, 50, 11.5, 259))
    if repaired:
        area = area.difference(box(CODE[0] - 2, CODE[1] - 2, CODE[2] + 2, CODE[3] + 2))
    return area.simplify(0.004)


def _die(pen: Pen, repaired: bool) -> None:
    if repaired:
        with pen.overprinting():
            draw_die(pen, CARTON)
    else:
        draw_die(pen, CARTON)


def _legend(pen: Pen) -> None:
    title = [
        f"{NAME} oat biscuits 200 g", "Artwork QM-2207, issue C, one-up, 1:1", "Reverse-tuck carton 140 x 50 x 190 mm",
        "Drawing D-1187, board 0.50 mm",
    ]  # fmt: skip
    pieces.legend(pen, CARTON, title, (BROWN, "Gloss Varnish", "Cutting", "Creasing"))
    x, (low, high) = CARTON.columns, CARTON.rows
    tall = CARTON.size[1]
    for a, b in zip((0, *x[:4]), x, strict=True):
        pieces.dimension(pen, (a, tall + 9), (b, tall + 9), "Dimensions")
    for a, b in ((0, 15), (15, low), (low, high), (high, high + 50), (high + 50, tall)):
        pieces.dimension(pen, (-9, a), (-9, b), "Dimensions")
