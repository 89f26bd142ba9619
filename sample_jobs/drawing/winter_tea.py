"""Artwork of a gift carton: winter tea, 100 g, straight-tuck 80 x 80 x 150 mm with a round window.

Copper, process inks, a green, a matt varnish from a unit under an overall coating, and blind embossing. Places are mm
on the blank; the blank's lower-left corner lies at ``ORIGIN`` on the page.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely import MultiPolygon, Point, Polygon, box, unary_union

from sample_jobs.drawing import pieces
from sample_jobs.drawing.landscapes import winter_night
from sample_jobs.drawing.outline import Outline, ellipse, outline_of, polygon_of, polyline, rect, rounded
from sample_jobs.drawing.pen import BLACK, WHITE, Pen
from sample_jobs.drawing.pictures import cmyk_jpeg, line_art, to_plates
from sample_jobs.drawing.tuck_carton import TuckCarton, draw_die

CARTON = TuckCarton(
    width=80, depth=80, height=150, glue=15, tuck=16, dust=50, reverse=False, window=(55.0, 204.0, 20.0)
)
ORIGIN = (25.0, 58.0)
PAGE = (385.0, 422.0)
GLUE_FLAP = (0.0, 96.0, 15.0, 246.0)
GREEN, COPPER, GHOST = "Fir Green", "Copper", "Dusk Blue"
INKS = {
    GREEN: (0.85, 0.35, 0.80, 0.45),
    COPPER: (0.15, 0.55, 0.65, 0.12),
    "Matt Varnish": (0.0, 0.0, 0.0, 0.12),
    "Embossing": (0.0, 0.25, 0.0, 0.0),
    GHOST: (0.80, 0.55, 0.10, 0.10),
    "Cutting": (0.0, 1.0, 1.0, 0.0),
    "Creasing": (1.0, 0.0, 1.0, 0.0),
    "Dimensions": (1.0, 0.3, 0.0, 0.0),
}
CREAM = (0.0, 0.03, 0.10, 0.0)
NAME = "Thornquay"
STARS = [
    (24, 238, 3.2),
    (88, 232, 2.4),
    (21, 196, 2.2),
    (86, 176, 3.4),
    (30, 170, 2.6),
    (62, 168, 2.0),
    (78, 238, 1.6),
    (46, 177, 1.5),
]


def draw(path: Path) -> Path:
    """Draws the carton; both of its tickets use the same artwork."""
    pen = Pen(*PAGE, origin_mm=ORIGIN, title=f"{NAME} winter tea, gift carton 100 g")
    for name, cmyk in INKS.items():
        pen.spot(name, cmyk)
    wide, tall = CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    with pen.layer("Artwork"):
        _ground(pen)
        _scene(pen)
        _front(pen)
        _sides(pen)
        _back(pen)
        _ends(pen)
    with pen.layer("Matt varnish"), pen.overprinting():
        pen.fill(outline_of(_matt()), "Matt Varnish")
    with pen.layer("Embossing"), pen.overprinting():
        pen.fill(_ring(), "Embossing")
        pieces.outlined(pen, NAME, (55, 118), 30, "Embossing", style="bold italic", align="centre")
    with pen.layer("Die"), pen.overprinting():
        draw_die(pen, CARTON)
    with pen.layer("Legend"):
        _legend(pen)
    return pen.save(path)


def _ground(pen: Pen) -> None:
    """Green on the panels and closures, 3 mm past every cut and over the window; the dust flaps stay white."""
    pen.fill(rect(13.5, 93, 338, 249), GREEN)
    pen.fill(rect(12.5, 246, 97.5, 345), GREEN)
    pen.fill(rect(12.5, -3, 97.5, 96), GREEN)


def _scene(pen: Pen) -> None:
    """The valley at 300 ppi over the whole front, 1 mm round its creases, ink running through the window."""
    pen.image(cmyk_jpeg(to_plates(winter_night(969, 1796), limit=2.4), 55), (14, 95, 96, 247))


def _ring() -> Outline:
    x, y, radius = CARTON.window or (0, 0, 0)
    return ellipse(x, y, radius + 3.4).add(ellipse(x, y, radius + 1.8))


def _front(pen: Pen) -> None:
    """Copper knocked out of the picture, so that nothing lies under it; black over the snow."""
    pen.fill(_ring(), COPPER)
    for x, y, size in STARS:
        pen.fill(pieces.star(size).moved(x, y), COPPER)
    pieces.outlined(pen, NAME, (55, 118), 30, COPPER, style="bold italic", align="centre")
    with pen.overprinting():
        pieces.outlined(pen, "WINTER TEA", (55, 109.5), 13, BLACK, align="centre", spacing_mm=1)
        pen.words("Black tea with orange peel, clove and cinnamon", (55, 103.5), 7, align="centre")
        pen.words("100 g", (55, 99), 8, style="bold", align="centre")


def _sprig() -> Outline:
    """A sprig of fir lying along +x, 40 mm long."""
    sprig = polyline([(0, -0.4), (40, -0.1), (40, 0.1), (0, 0.4)])
    for i in range(22):
        x, size = 3 + 1.65 * i, 9 - 0.27 * i
        for side in (1, -1):
            needle = polyline([(0, -0.3), (size, -0.05), (size, 0.05), (0, 0.3)])
            sprig.add(needle.moved(x, 0, turned=side * 42))
    return sprig


def _sides(pen: Pen) -> None:
    for panel in (2, 4):
        left, low, right, _ = CARTON.panel(panel)
        middle = (left + right) / 2
        _copper_sprigs(pen, middle, 235)
        pieces.outlined(pen, NAME, (middle, 186), 31, COPPER, style="bold italic", align="centre")
        pen.fill(rect(left + 12, low + 62, right - 12, low + 76), COPPER)
        with pen.overprinting():
            pieces.outlined(pen, "WINTER TEA", (middle, low + 66.5), 17, BLACK, align="centre", spacing_mm=0.6)
        for i in range(7):
            pen.fill(pieces.star(1.6 + 0.7 * (i % 3)).moved(left + 11 + 9.6 * i, low + 22 + 9 * (i % 2)), COPPER)


def _copper_sprigs(pen: Pen, x: float, y: float) -> None:
    """Three sprigs hanging from a berry."""
    for turned, scale in ((-52, 0.58), (-90, 0.7), (-128, 0.58)):
        pen.fill(_sprig().moved(x, y, scale=scale, turned=turned), COPPER, even_odd=False)
    pieces.dot(pen, (x, y), 2.3, COPPER)


def _signature() -> NDArray[np.bool_]:
    """A signature as line art, 24 x 8 mm at 1200 ppi."""
    image = Image.new("1", (1134, 378), 1)
    t = np.linspace(0, 1, 900)
    x = 60 + 980 * t + 55 * np.sin(2 * np.pi * 9 * t)
    y = 200 - 95 * np.sin(2 * np.pi * 7.3 * t) * np.exp(-1.4 * t) - 30 * np.cos(2 * np.pi * 2.1 * t)
    ImageDraw.Draw(image).line(list(zip(x.tolist(), y.tolist(), strict=True)), fill=0, width=9, joint="curve")
    return ~np.asarray(image, bool)


def _back(pen: Pen) -> None:
    left, low, right, high = CARTON.panel(3)
    middle = (left + right) / 2
    pen.fill(rounded(left + 7, low + 10, right - 7, high - 24, 4), CREAM)
    pieces.outlined(pen, NAME, (middle, high - 17), 22, COPPER, style="bold italic", align="centre")
    with pen.overprinting():
        story = [
            "Every November the last boat up the", "fjord brings oranges and spice. We dry",
            "the peel over the stove, break the", "cinnamon by hand and leave the tea", "alone until the first snow.",
        ]  # fmt: skip
        pieces.paragraph(pen, story, (left + 12, high - 33), 7, lead=1.6)
        brew = ["To brew", "One spoon a cup, water just off the boil,", "four minutes. Keep the tin closed."]
        pieces.paragraph(pen, brew[:1], (left + 12, high - 72), 8, style="bold")
        pieces.paragraph(pen, brew[1:], (left + 12, high - 77), 6.5, lead=1.5)
        what = [
            "Ingredients: black tea (88 %), orange", "peel (7 %), cloves (3 %), cinnamon (2 %).",
            "Packed for Thornquay Tea Rooms,", "Harbour Steps 4, Thornquay",
        ]  # fmt: skip
        pieces.paragraph(pen, what, (left + 12, high - 87), 6.5, lead=1.5)
    pen.fill(rect(left + 11, high - 66, left + 37, high - 56), WHITE)
    pen.image(line_art(_signature()), (left + 12, high - 65, left + 36, high - 57))
    tiny = cmyk_jpeg(to_plates(winter_night(8, 8)), 90)
    pen.image(tiny, (right - 18, high - 63, right - 14, high - 59))
    pieces.bar_code(pen, pieces.with_check_digit("231406880017"), (middle - 18.6, low + 14), height_mm=18)


def _ends(pen: Pen) -> None:
    for end in ("top", "bottom"):
        x0, y0, x1, y1 = CARTON.closure(end)
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        pen.fill(pieces.star(15, 12, 0.5).moved(*middle), COPPER)
        with pen.overprinting():
            pen.fill(_facets(15, 12, 0.5).moved(*middle), (0, 0, 0, 0.45))
        pen.fill(pieces.star(4.5, 12, 0.5).moved(*middle), GREEN)
    pen.words("T 1406", (135, 66), 6, align="centre")


def _facets(radius: float, points: int, inner: float) -> Outline:
    """The shaded half of each point of a star."""
    corners = pieces.star(radius, points, inner).steps
    facets = Outline()
    for i in range(0, 2 * points, 2):
        facets.add(polyline([(0, 0), corners[i][1][0], corners[i + 1][1][0]]))
    return facets


def _matt() -> Polygon | MultiPolygon:
    """Matt on the four panels, ending 3 mm inside every edge, off the window, the ring and the side lettering."""
    x, y, radius = CARTON.window or (0, 0, 0)
    panels = [box(*CARTON.panel(n)).buffer(-3, join_style="mitre") for n in (1, 2, 3, 4)]
    off: list[Polygon] = [Point(x, y).buffer(radius + 3.4, quad_segs=24)]
    for panel in (2, 4):
        left, low, right, _ = CARTON.panel(panel)
        off.append(box(left + 12, low + 62, right - 12, low + 76))
        off.append(polygon_of(ellipse((left + right) / 2, 186 + 3.5, 34, 8)))
    return unary_union(panels).difference(unary_union(off))


def _legend(pen: Pen) -> None:
    title = [
        f"{NAME} winter tea, gift carton 100 g", "Artwork TQ-1406, issue B, one-up, 1:1",
        "Straight-tuck carton 80 x 80 x 150 mm", "Drawing D-2093, window 40 mm",
    ]  # fmt: skip
    pieces.legend(pen, CARTON, title, (COPPER, GREEN, GHOST, "Matt Varnish", "Cutting", "Creasing"))
    x, (low, high), tall = CARTON.columns, CARTON.rows, CARTON.size[1]
    for a, b in zip((0, *x[:4]), x, strict=True):
        pieces.dimension(pen, (a, tall + 9), (b, tall + 9), "Dimensions")
    for a, b in ((0, 16), (16, low), (low, high), (high, high + 80), (high + 80, tall)):
        pieces.dimension(pen, (-9, a), (-9, b), "Dimensions")
