"""Artwork of a carton for a jar of face cream, 50 ml, straight-tuck 68 x 68 x 64 mm, on metallised board.

Opaque white twice below process inks and a rose; where the white is left out the metal of the board shows. Drawn twice:
as the customer sent it, with its faults, and repaired. Places are mm on the blank; the blank's lower-left corner
lies at ``ORIGIN`` on the page.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from shapely import Polygon, affinity, box, unary_union

from sample_jobs.drawing import ornaments, pieces
from sample_jobs.drawing.ornaments import Area
from sample_jobs.drawing.outline import outline_of, rect
from sample_jobs.drawing.pen import BLACK, WHITE, Pen
from sample_jobs.drawing.pictures import Field, Picture, cmyk_jpeg, mix, step, to_plates
from sample_jobs.drawing.silk import silk
from sample_jobs.drawing.tuck_carton import TuckCarton, draw_die

CARTON = TuckCarton(width=68, depth=68, height=64, glue=14, tuck=14, dust=40, reverse=False)
ORIGIN = (24.0, 58.0)
PAGE = (334.0, 306.0)
GLUE_FLAP = (0.0, 82.0, 14.0, 146.0)
CODE = (30.0, 34.0, 66.0, 46.0)
BAND = (90.0, 100.0)
"""Foot and top of the band of bare metal round the carton."""
PICTURE = (12.5, 79.0, 289.0, 149.0)
CHOKE = 0.2
"""The white ends so far within the colours that it carries, in mm."""
WHITE_INK, SECOND_WHITE, ROSE, METAL = "Opaque White", "Opaque White Second Hit", "Rose", "Board Silver"
INKS = {
    WHITE_INK: (0.0, 0.0, 0.03, 0.0),
    SECOND_WHITE: (0.0, 0.0, 0.05, 0.0),
    ROSE: (0.12, 0.82, 0.42, 0.08),
    METAL: (0.12, 0.08, 0.08, 0.22),
    "Cutting": (0.0, 1.0, 1.0, 0.0),
    "Creasing": (1.0, 0.0, 1.0, 0.0),
    "Dimensions": (1.0, 0.3, 0.0, 0.0),
}
BLUSH = (0.02, 0.12, 0.10, 0.0)
NAME = "PELLORINE"
STORY = ["A light cream for every day, made with sea", "lavender, oat milk and squalane from olives."]
USE = ["How to use", "Warm a little between the fingers and press", "into clean skin, mornings and evenings."]
CONTENTS = [
    "Aqua, Glycerin, Squalane, Avena Sativa Kernel Extract,", "Cetearyl Alcohol, Limonium Vulgare Extract, Tocopherol,",
    "Xanthan Gum, Sodium Benzoate, Citric Acid.", "Pellorine, Saltmarsh House, Wick PL0 0PL",
]  # fmt: skip
BAR_CODE = (32.75, 57.0)


def draw(path: Path, *, repaired: bool) -> Path:
    """Draws the carton; with its faults, or repaired."""
    pen = Pen(*PAGE, origin_mm=ORIGIN, title="Pellorine face cream 50 ml")
    for name, cmyk in INKS.items():
        pen.spot(name, cmyk)
    wide, tall = CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    white = white_area(repaired)
    with pen.layer("Board"):
        pen.fill(outline_of(CARTON.shape()), METAL)
        if not repaired:  # on the back the white lies below the artwork, which knocks it out
            with pen.overprinting():
                _white(pen, white.intersection(_back_panel()), repaired)
    with pen.layer("Artwork"):
        _ground(pen, repaired)
        _front(pen)
        _sides(pen, repaired)
        _back(pen, repaired)
        _ends(pen, repaired)
    with pen.layer("White"), pen.overprinting():
        _white(pen, white if repaired else white.difference(_back_panel()), repaired)
    with pen.layer("Die"), pen.overprinting():
        draw_die(pen, CARTON)
    with pen.layer("Legend"):
        _legend(pen)
    return pen.save(path)


# Shapes --------------------------------------------------------------------------------------------------------------


def _back_panel() -> Polygon:
    return box(*CARTON.panel(3))


@cache
def flowers() -> Area:
    """A dahlia in lines on each side panel and on the top closure."""
    x, (_, high) = CARTON.columns, CARTON.rows
    drawn = unary_union(
        [
            ornaments.dahlia(((x[1] + x[2]) / 2, 123), 19.5, 0.4),
            ornaments.dahlia(((x[3] + x[4]) / 2, 123), 19.5, 0.4),
            ornaments.dahlia(((x[0] + x[1]) / 2, high + 38), 24, 0.45),
        ]
    )
    return drawn.simplify(0.012)


@cache
def metal() -> Area:
    """Where the board itself shows: the band, the flowers, and the window for the code."""
    band = box(10, BAND[0], 292, BAND[1])
    return unary_union([band, flowers(), box(*CODE).buffer(2.5, join_style="mitre")])


@cache
def white_words() -> Area:
    """Words of white ink on the band."""
    x = CARTON.columns
    return unary_union([ornaments.letters(NAME, ((x[n] + x[n + 1]) / 2, 93.4), 13, spacing_mm=1.2) for n in (1, 3)])


def printed() -> Area:
    """What the artwork covers: panels and closures, 3 mm past every cut and 1.5 mm on to the glue flap."""
    return unary_union([box(*PICTURE), box(11.5, 146, 84.5, 231), box(11.5, -3, 84.5, 82)])


@cache
def white_area(repaired: bool) -> Area:
    """Below all colours, 0.2 mm within them where metal is beside; in the customer's file not so on one side."""
    bare = metal().buffer(CHOKE, quad_segs=2).simplify(0.012)
    if not repaired:
        side = box(*CARTON.panel(4))
        bare = bare.difference(side).union(metal().intersection(side)).union(quiet_zone())
    area = printed().difference(bare)
    return area.union(white_words()) if repaired else area.union(box(9, 104, 14, 140))


def quiet_zone() -> Polygon:
    """The right-hand margin of the bar code, which the customer left metal."""
    return box(BAR_CODE[0] + 106.5 * 0.27, BAR_CODE[1] - 2, BAR_CODE[0] + 34, BAR_CODE[1] + 18)


# What is painted -----------------------------------------------------------------------------------------------------


@cache
def _cloth() -> Field:
    return to_plates(silk(3266, 827), limit=1.0)


def _picture(repaired: bool) -> Picture:
    """300 ppi; in the customer's file a fold of 190 % on a side panel, and 200 % of white are below it."""
    tints = np.asarray(_cloth())
    if not repaired:
        height, width = tints.shape[:2]
        y, x = np.mgrid[0:height, 0:width] / height
        across, down = 0.84 * (x - 0.93) - 0.55 * (y - 0.10), 0.55 * (x - 0.93) + 0.84 * (y - 0.10)
        deep = 1 - step(np.hypot(across / 0.36, down / 0.15).astype(np.float32), 0.55, 1.35)
        tints = mix(tints, np.broadcast_to(np.array([0.30, 0.72, 0.50, 0.38], np.float32), tints.shape), deep)
    return cmyk_jpeg(tints, 50)


def _ground(pen: Pen, repaired: bool) -> None:
    pen.image(_picture(repaired), PICTURE)
    pen.fill(rect(11.5, 146, 84.5, 231), BLUSH)
    pen.fill(rect(11.5, -3, 84.5, 82), BLUSH)
    pen.fill(outline_of(metal()), WHITE if repaired else METAL)
    if repaired:  # the guide only shows the metal; what knocks out is in no ink
        with pen.overprinting():
            pen.fill(outline_of(metal().difference(white_words())), METAL)
    for y in (BAND[0] - 1.4, BAND[1] + 0.8):
        pen.fill(rect(12.5, y, 289, y + 0.6), ROSE)


def _front(pen: Pen) -> None:
    left, low, right, _ = CARTON.panel(1)
    middle = (left + right) / 2
    pieces.outlined(pen, NAME, (middle, 124), 23, ROSE, align="centre", spacing_mm=1.2)
    pen.fill(rect(middle - 12, 119.4, middle + 12, 119.9), ROSE)
    with pen.overprinting():
        pieces.outlined(pen, "sea lavender and oat milk", (middle, 111), 9, BLACK, style="italic", align="centre")
        pen.words("50 ml", (middle, low + 2.6), 8, style="bold", align="centre")
    pieces.outlined(pen, "FACE CREAM", (middle, 93), 14, ROSE, align="centre", spacing_mm=1.6)


def _sides(pen: Pen, repaired: bool) -> None:
    """The name on the band in white ink; in the customer's file it is bare board, and shines like the band."""
    if not repaired:
        pen.fill(outline_of(white_words()), WHITE)
    for panel in (2, 4):
        left, low, right, _ = CARTON.panel(panel)
        with pen.overprinting():
            pen.words("for every day", ((left + right) / 2, low + 2.6), 7, style="italic", align="centre")


def _back(pen: Pen, repaired: bool) -> None:
    left, _, right, high = CARTON.panel(3)
    with pen.overprinting():
        pieces.paragraph(pen, STORY, (left + 5, high - 13), 6.5, lead=1.4)
        pieces.paragraph(pen, USE[:1], (left + 5, high - 21.5), 6.5, style="bold")
        pieces.paragraph(pen, USE[1:], (left + 5, high - 24.8), 6.5, lead=1.4)
        pieces.paragraph(pen, CONTENTS[:3], (left + 5, high - 33), 5.5, lead=1.4)
        pen.words(CONTENTS[3], (left + 5, high - 42.3), 5.5)
    if not repaired:
        pen.fill(rect(left + 2, BAND[0] + 2, right - 2, BAND[1] - 2), ROSE, 0.15)


def _ends(pen: Pen, repaired: bool) -> None:
    x0, y0, x1, y1 = CARTON.closure("top")
    middle = (x0 + x1) / 2
    pieces.outlined(pen, NAME, (middle, y0 + 5.5), 12, ROSE, align="centre", spacing_mm=0.8)
    with pen.overprinting():
        pen.words("Batch, and use within 12 months of opening", (middle, CODE[3] + 4.5), 5.5, align="centre")
        pieces.paragraph(
            pen,
            ["Do not use on broken skin.", "Carton: collect with paper."],
            (middle, 26),
            6,
            lead=1.4,
            align="centre",
        )
    pieces.bar_code(pen, pieces.with_check_digit("251103600504"), BAR_CODE, module_mm=0.27, height_mm=13)
    pen.fill(pieces.recycling_mark(6).moved(72, 25), BLACK)
    if not repaired:
        pen.fill(outline_of(quiet_zone()), METAL)


def _white(pen: Pen, area: Area, repaired: bool) -> None:
    """Two plates of one shape; in the customer's file the second is 0.3 mm off."""
    area = ornaments.surfaces(area)
    pen.fill(outline_of(area), WHITE_INK)
    pen.fill(outline_of(area if repaired else ornaments.surfaces(affinity.translate(area, 0.3, 0))), SECOND_WHITE)


def _legend(pen: Pen) -> None:
    title = [
        "Pellorine face cream 50 ml",
        "Artwork PL-2511, issue B, one-up, 1:1",
        "Straight-tuck 68 x 68 x 64 mm",
        "Drawing D-2402, board 0.36 mm",
    ]
    pieces.legend(pen, CARTON, title, (WHITE_INK, SECOND_WHITE, ROSE, METAL, "Cutting", "Creasing"))
    x, (low, high), tall = CARTON.columns, CARTON.rows, CARTON.size[1]
    for a, b in zip((0, *x[:4]), x, strict=True):
        pieces.dimension(pen, (a, tall + 9), (b, tall + 9), "Dimensions")
    for a, b in ((0, 14), (14, low), (low, high), (high, high + 68), (high + 68, tall)):
        pieces.dimension(pen, (-9, a), (-9, b), "Dimensions")
