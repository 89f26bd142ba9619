"""Artwork of a sleeve for six flatbreads, 212 x 46 x 166 mm: its outside.

Process inks, a green and a varnish. Sleeves lie turned on the sheet, side by side on common knives, so that the upper
edge of one is the lower edge of the next. Drawn twice: as the customer sent it, and repaired. Places are mm on the
blank; the blank's lower-left corner lies at ``ORIGIN`` on the page.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from shapely import affinity, box, unary_union

from sample_jobs.drawing import ornaments, pieces
from sample_jobs.drawing.breads import breads_on_slate
from sample_jobs.drawing.ornaments import Area
from sample_jobs.drawing.outline import outline_of, rect, rounded
from sample_jobs.drawing.pen import BLACK, WHITE, Pen
from sample_jobs.drawing.pictures import Picture, cmyk_jpeg, to_plates
from sample_jobs.drawing.sleeve import Sleeve, draw_sleeve_die

SLEEVE = Sleeve(width=212, depth=46, height=166, glue=16)
ORIGIN = (24.0, 58.0)
PAGE = (580.0, 246.0)
GREEN, VARNISH = "Fernhollow Green", "Overprint Varnish"
INKS = {
    GREEN: (0.78, 0.18, 0.88, 0.38),
    VARNISH: (0.0, 0.0, 0.0, 0.08),
    "Cutting": (0.0, 1.0, 1.0, 0.0),
    "Creasing": (1.0, 0.0, 1.0, 0.0),
    "Dimensions": (1.0, 0.3, 0.0, 0.0),
}
GROUND = (0.0, 0.06, 0.20, 0.0)
NAME = "FERNHOLLOW"
CODE = (239.0, 62.0, 263.0, 104.0)
"""For lot and date, on the side panel beside the front."""
PICTURE = (17.5, 14.0, 226.5, 160.0)
BAND = (124.0, 169.4)
"""Foot and top of the customer's band of green."""
STORY = [
    "Flour, water, a little oil and a very hot stone:", "that is how bread began, and how ours is made.",
    "Six to a pack. Warm them in a dry pan, a minute", "on each side, and fold them around what you like.",
]  # fmt: skip
CONTENTS = [
    "Six flatbreads. Ingredients: WHEAT flour, water,", "rapeseed oil (6 %), salt, baking powder (sodium",
    "hydrogen carbonate, calcium phosphate).", "May contain SESAME and MILK.",
    "Keep cool and dry. Freeze on the day of purchase.", "Fernhollow Bakehouse, Kiln Lane, Hollow FH0 0FH",
    "Sleeve: collect with paper.",
]  # fmt: skip
TABLE = [
    ("Energy", "1 214 kJ / 288 kcal"), ("Fat", "6.1 g"), ("of which saturates", "0.6 g"), ("Carbohydrate", "48.9 g"),
    ("of which sugars", "1.8 g"), ("Fibre", "2.9 g"), ("Protein", "7.7 g"), ("Salt", "1.1 g"),
]  # fmt: skip


def draw(path: Path, *, repaired: bool) -> Path:
    """Draws the outside; as the customer sent it, or repaired."""
    pen = Pen(*PAGE, origin_mm=ORIGIN, title="Fernhollow flatbreads, sleeve for six, outside")
    for name, cmyk in INKS.items():
        pen.spot(name, cmyk)
    wide, tall = SLEEVE.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    with pen.layer("Artwork"):
        _ground(pen, repaired)
        _front(pen, repaired)
        _sides(pen)
        _back(pen, repaired)
    with pen.layer("Varnish"), pen.overprinting():
        pen.fill(outline_of(box(16, -3.4, wide + 3.4, tall + 3.4).difference(box(*CODE).buffer(2.5))), VARNISH)
    with pen.layer("Die"), pen.overprinting():
        draw_sleeve_die(pen, SLEEVE)
    with pen.layer("Legend"):
        _legend(pen)
    return pen.save(path)


@cache
def _picture() -> Picture:
    return cmyk_jpeg(to_plates(breads_on_slate(2110, 1474), limit=2.7, black_from=0.10), 38)


@cache
def fern(length: float) -> Area:
    """A fern from (0, 0) upwards."""
    parts: list[Area] = [box(-0.4, 0, 0.4, length)]
    count = round(length / 3.2)
    for i in range(count):
        size = length * 0.24 * (1 - 0.8 * i / count) + 2.5
        for side in (1, -1):
            leaf = affinity.rotate(ornaments.almond(size, 2.6), 90 - side * 58, origin=(0, 0))
            parts.append(affinity.translate(leaf, 0, length * (0.06 + 0.9 * i / count)))
    return unary_union(parts)


def _ground(pen: Pen, repaired: bool) -> None:
    """Pale all over, 3.4 mm past the cut; the customer's is white below and has a green band above."""
    wide, tall = SLEEVE.size
    pen.fill(rect(14.5, -3.4 if repaired else 14, wide + 3.4, tall + 3.4), GROUND)
    if not repaired:
        pen.fill(rect(14.5, BAND[0], wide + 3.4, BAND[1]), GREEN)
    for number in (2, 4):
        left, _, right, _ = SLEEVE.panel(number)
        for x in (left + 2, right - 10):
            foot = -3.4 if repaired else 14
            pen.fill(rect(x, foot, x + 8, tall + 3.4), GREEN)


def _front(pen: Pen, repaired: bool) -> None:
    left, _, right, _ = SLEEVE.panel(1)
    middle = (left + right) / 2
    x0, y0, x1, y1 = PICTURE
    pen.image(_picture(), (x0, y0, x1, y1 if repaired else BAND[0]))
    if repaired:
        pen.fill(rounded(middle - 72, 125, middle + 72, 155, 3), GREEN)
    pieces.outlined(pen, NAME, (middle, 140), 34 if repaired else 26, WHITE, align="centre", spacing_mm=1.0)
    size = 16 if repaired else 12
    pieces.outlined(pen, "stone-baked flatbreads", (middle, 130), size, WHITE, style="italic", align="centre")
    pen.fill(rounded(right - 46, 20, right - 8, 36, 2), GROUND)
    with pen.overprinting():
        pen.words("6 flatbreads", (right - 27, 29), 10, style="bold", align="centre")
        pen.words("360 g", (right - 27, 23.2), 10, style="bold", align="centre")


def _sides(pen: Pen) -> None:
    for number in (2, 4):
        left, _, right, _ = SLEEVE.panel(number)
        middle = (left + right) / 2
        if number == 4:
            for y in (22, 70):
                pen.fill(outline_of(affinity.translate(fern(40), middle, y)), GREEN)
        else:
            pen.fill(rounded(CODE[0] - 3.5, CODE[1] - 3.5, CODE[2] + 3.5, CODE[3] + 3.5, 2), WHITE)
            with pen.overprinting():
                for i, words in enumerate(("Lot and", "best before")):
                    pen.words(words, (middle, CODE[1] - 9 - 3.6 * i), 7, style="bold", align="centre")


def _back(pen: Pen, repaired: bool) -> None:
    left, _, right, _ = SLEEVE.panel(3)
    digits = pieces.with_check_digit("270400360029")
    if repaired:  # on the sheet the sleeve is turned, and the bars run along the travel
        with pen.placed(right - 14, 20, 90):
            pieces.bar_code(pen, digits, (0, 0))
        pen.fill(rounded(left + 8, 118, left + 92, 150, 3), GREEN)
    else:
        pieces.bar_code(pen, digits, (right - 44, 20))
    pieces.outlined(pen, NAME, (left + 50, 137), 18, WHITE, align="centre", spacing_mm=0.6)
    if repaired:
        pieces.outlined(pen, "bread as it began", (left + 50, 128), 11, WHITE, style="italic", align="centre")
    with pen.overprinting():
        pieces.paragraph(pen, STORY, (left + 8, 106), 8.5, style="italic", lead=1.5)
        pieces.paragraph(pen, CONTENTS, (left + 8, 80), 8, lead=1.5)
    _nutrition(pen, (left + 104, 112.0))
    for x in (left + 12, left + 34, left + 56):
        pen.fill(outline_of(affinity.translate(fern(26), x + 4, 16)), GREEN)
    pen.fill(pieces.recycling_mark(9).moved(left + 84, 26), BLACK)


def _nutrition(pen: Pen, corner: tuple[float, float]) -> None:
    x0, top = corner
    pen.fill(rect(x0, top - 56, x0 + 60, top), WHITE)
    pen.fill(rect(x0, top - 7.5, x0 + 60, top), BLACK)
    pieces.outlined(pen, "Nutrition", (x0 + 2, top - 5.4), 9, WHITE)
    pieces.outlined(pen, "per 100 g", (x0 + 58, top - 5.4), 7.5, WHITE, style="regular", align="right")
    for i, (what, amount) in enumerate(TABLE):
        y = top - 12.5 - 5.6 * i
        part = what.startswith("of which")
        pieces.outlined(pen, what, (x0 + (5 if part else 2), y), 7.5, BLACK, style="regular" if part else "bold")
        pieces.outlined(pen, amount, (x0 + 58, y), 7.5, BLACK, style="regular", align="right")
        pen.fill(rect(x0, y - 2.1, x0 + 60, y - 1.6), BLACK)


def _legend(pen: Pen) -> None:
    title = [
        "Fernhollow flatbreads, sleeve for six, outside", "Artwork FH-2704, issue B, one-up, 1:1",
        "Open sleeve 212 x 46 x 166 mm", "Drawing D-2707, board 0.5 mm",
    ]  # fmt: skip
    pieces.legend(pen, SLEEVE, title, (GREEN, VARNISH, "Cutting", "Creasing"))
    for a, b in zip((0.0, *SLEEVE.columns[:4]), SLEEVE.columns, strict=True):
        pieces.dimension(pen, (a, 175), (b, 175), "Dimensions")
    pieces.dimension(pen, (-9, 0), (-9, 166), "Dimensions")
