"""Artwork of three cartons of drinking chocolate, 250 g, straight-tuck 112 x 44 x 138 mm: dark, hazelnut, vanilla.

They are printed together. Each has the process inks, a blue that all share, a spot of its own and an overprint varnish.
Drawn twice: as the customer sent them, and repaired. Places are mm on the blank; the blank's lower-left corner lies at
``ORIGIN`` on the page of a one-up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shapely import affinity, box, unary_union

from sample_jobs.drawing import ornaments, pieces
from sample_jobs.drawing.cocoa import DARK, HAZELNUT, VANILLA, Table, laid_table
from sample_jobs.drawing.ornaments import Area
from sample_jobs.drawing.outline import outline_of, polygon_of, rect, rounded
from sample_jobs.drawing.pen import BLACK, WHITE, Ink, Pen
from sample_jobs.drawing.pictures import Picture, cmyk_jpeg, to_plates
from sample_jobs.drawing.tuck_carton import TuckCarton, draw_die

CARTON = TuckCarton(width=112, depth=44, height=138, glue=14, tuck=16, dust=38, reverse=False)
ORIGIN = (24.0, 58.0)
PAGE = (374.0, 336.0)
LOW, HIGH = CARTON.rows
GLUE_FLAP = (0.0, LOW, 14.0, HIGH)
CODE = (44.0, 26.0, 96.0, 40.0)
BAR_CODE = (242.0, 74.0, 271.0, 90.0)
"""Within the bars of a code; those of one that lies the other way are there too."""
PICTURE = (12.5, LOW - 3.4, 329.4, LOW + 64.0)
BELT = (LOW + 63.0, LOW + 84.0)
"""Foot and top of the band round the carton; the ground goes on above it."""
BLUE, RED, BROWN, CREAM = "Ouselbrook Blue", "Ember Red", "Hazel Brown", "Vanilla Cream"
VARNISH = "Overprint Varnish"
SPOTS = {
    BLUE: (0.98, 0.72, 0.22, 0.30),
    RED: (0.08, 0.92, 0.86, 0.10),
    BROWN: (0.18, 0.48, 0.68, 0.20),
    CREAM: (0.02, 0.08, 0.38, 0.0),
}
OTHER_INKS = {
    VARNISH: (0.0, 0.0, 0.0, 0.08),
    "Cutting": (0.0, 1.0, 1.0, 0.0),
    "Creasing": (1.0, 0.0, 1.0, 0.0),
    "Dimensions": (1.0, 0.3, 0.0, 0.0),
}
NAME = "OUSELBROOK"
CREAM_IN_PROCESS = (0.07, 0.10, 0.42, 0.03)
COCOA = (0.30, 0.62, 0.78, 0.34)
"""Process brown of the bands that the customer did not draw in the shared blue."""
PALE = (0.0, 0.05, 0.16, 0.0)


@dataclass(frozen=True)
class Flavour:
    """What one carton has of its own."""

    name: str
    article: str
    spot: str
    ground: Ink
    belt: Ink
    lettering: Ink
    """On the belt, and on the ground of the back."""
    table: Table
    story: Sequence[str]
    contents: Sequence[str]
    digits: str

    @property
    def file(self) -> str:
        """Of its artwork."""
        return f"{self.name.lower()}.pdf"


FLAVOURS = {
    "Dark": Flavour(
        "Dark", "OB-2611", RED, BLUE, RED, WHITE, DARK,
        ("Roasted slowly, ground coarse, hardly sweetened:", "for those who like their evenings long."),
        ("Cocoa mass (62 %), raw cane sugar, cocoa", "powder, salt. May contain MILK and NUTS."),
        pieces.with_check_digit("261100250011"),
    ),
    "Hazelnut": Flavour(
        "Hazelnut", "OB-2612", BROWN, BROWN, BLUE, WHITE, HAZELNUT,
        ("With hazelnuts from the hedge behind the mill,", "roasted and rubbed until they sing."),
        ("Cocoa powder, raw cane sugar, HAZELNUTS", "(18 %), salt. May contain MILK."),
        pieces.with_check_digit("261200250018"),
    ),
    "Vanilla": Flavour(
        "Vanilla", "OB-2613", CREAM, CREAM_IN_PROCESS, BLUE, WHITE, VANILLA,
        ("White and mild, with a pod of vanilla in each", "carton and its seeds in every cup."),
        ("Raw cane sugar, cocoa butter (31 %), MILK", "powder, vanilla (1 %). May contain NUTS."),
        pieces.with_check_digit("261300250015"),
    ),
}  # fmt: skip


def draw(path: Path, *, flavour: str, repaired: bool) -> Path:
    """Draws one carton; as the customer sent it, or repaired."""
    kind = FLAVOURS[flavour]
    pen = Pen(*PAGE, origin_mm=ORIGIN, title=f"Ouselbrook drinking chocolate, {flavour}, 250 g")
    set_inks(pen, (flavour,), repaired)
    wide, tall = CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.box("BleedBox", -3, -3, wide + 3, tall + 3)
    artwork(pen, kind, repaired)
    with pen.layer("Die"), pen.overprinting():
        draw_die(pen, CARTON)
    with pen.layer("Legend"):
        _legend(pen, kind, repaired)
    return pen.save(path)


def set_inks(pen: Pen, flavours: Sequence[str], repaired: bool) -> None:
    """Makes the spots known that some flavours have."""
    for name, cmyk in SPOTS.items():
        own = name == BLUE or any(FLAVOURS[flavour].spot == name for flavour in flavours)
        if own and not (repaired and name == CREAM):
            pen.spot(name, cmyk)
    for name, cmyk in OTHER_INKS.items():
        pen.spot(name, cmyk)


def artwork(pen: Pen, kind: Flavour, repaired: bool) -> None:
    """All that is printed of one carton, around the pen's origin."""
    with pen.layer("Artwork"):
        _ground(pen, kind, repaired)
        _front(pen, kind, repaired)
        _sides(pen, kind, repaired)
        _back(pen, kind, repaired)
        _ends(pen, kind, repaired)
    with pen.layer("Varnish"), pen.overprinting():
        pen.fill(outline_of(_varnished()), VARNISH)


# Shapes --------------------------------------------------------------------------------------------------------------


@cache
def with_bleed() -> Area:
    """The blank and what is carried on around it."""
    shape: Area = polygon_of(CARTON.outline()).buffer(3.3, join_style="mitre")
    return shape


@cache
def _varnished() -> Area:
    off = unary_union([box(-5, LOW - 5, 14, HIGH + 5), box(*CODE).buffer(2.5, join_style="mitre")])
    return with_bleed().difference(off)


@cache
def sprig(x: float, y: float, length: float) -> Area:
    """A twig of cocoa leaves, upright."""
    leaves: list[Area] = [box(-0.35, 0, 0.35, length)]
    count = 6
    for i in range(count):
        size = length * 0.34 * (1 - 0.09 * i)
        for side in (1, -1):
            leaf = affinity.rotate(ornaments.almond(size, size * 0.4), 90 - side * 52, origin=(0, 0))
            leaves.append(affinity.translate(leaf, 0, length * (0.06 + 0.145 * i)))
    top = affinity.rotate(ornaments.almond(length * 0.2, length * 0.08), 90, origin=(0, 0))
    leaves.append(affinity.translate(top, 0, length * 0.94))
    return affinity.translate(unary_union(leaves), x, y)


@cache
def _picture(flavour: str) -> Picture:
    kind = FLAVOURS[flavour]
    return cmyk_jpeg(to_plates(laid_table(3190, 675, kind.table), limit=2.6, black_from=0.08), 38)


# What is painted -----------------------------------------------------------------------------------------------------


def belt_of(kind: Flavour, repaired: bool) -> Ink:
    """As the customer sent it, two of the bands are a process brown, and the shared blue is a thin line on them."""
    return kind.belt if repaired or kind.belt != BLUE else COCOA


def _ground(pen: Pen, kind: Flavour, repaired: bool) -> None:
    """Picture, band, ground above it 3.4 mm past every cut, and closures."""
    pen.image(_picture(kind.name), PICTURE)
    pen.fill(rect(12.5, BELT[1] - 1, 329.4, HIGH + 3.4), kind.ground)
    pen.fill(rect(12.5, BELT[0], 329.4, BELT[1]), belt_of(kind, repaired))
    heavy = not repaired and kind.name == "Dark"
    pen.fill(rect(11.1, HIGH - 0.5, 128.9, HIGH + 63.4), kind.ground if heavy else PALE)
    pen.fill(rect(11.1, -3.4, 128.9, LOW), PALE)
    if heavy:  # the customer's dark carton is blue all over but for a window
        pen.fill(rect(127, LOW - 3.4, 329.4, HIGH + 3.4), kind.ground)
        pen.fill(rect(11.1, -3.4, 128.9, LOW), kind.ground)
    more = 7 if heavy else 0
    pen.fill(rounded(CODE[0] - 4, CODE[1] - 4 - more, CODE[2] + 4, CODE[3] + 4 + more, 2), WHITE)
    if belt_of(kind, repaired) == COCOA:
        pen.fill(rect(12.5, BELT[1] - 3.2, 329.4, BELT[1] - 2.1), BLUE)


def _front(pen: Pen, kind: Flavour, repaired: bool) -> None:
    left, _, right, _ = CARTON.panel(1)
    middle = (left + right) / 2
    light = kind.ground == CREAM_IN_PROCESS
    pieces.outlined(pen, NAME, (middle, HIGH - 22), 30, BLUE if light else WHITE, align="centre", spacing_mm=0.6)
    pieces.outlined(pen, "drinking chocolate", (middle, HIGH - 32), 15, BLUE if light else WHITE,
                    style="italic", align="centre")  # fmt: skip
    for side in (-1, 1):
        pen.fill(rect(middle + side * 40 - 10, HIGH - 43.4, middle + side * 40 + 10, HIGH - 42.6),
                 BLUE if light else WHITE)  # fmt: skip
    pen.fill(pieces.star(2.2, 6, 0.4).moved(middle, HIGH - 43), BLUE if light else WHITE)
    pieces.outlined(pen, kind.name.upper(), (middle, BELT[0] + 6.2), 26, WHITE, align="centre", spacing_mm=1.4)
    if not repaired and kind.spot == CREAM:
        pen.fill(rounded(left + 6, BELT[0] + 3.5, left + 17, BELT[0] + 17.5, 2), CREAM)
        pen.fill(rounded(right - 17, BELT[0] + 3.5, right - 6, BELT[0] + 17.5, 2), CREAM)
    pen.fill(rounded(left + 5, LOW + 5, left + 30, LOW + 13, 1.5), WHITE)
    with pen.overprinting():
        pen.words("250 g", (left + 17.5, LOW + 7.4), 11, style="bold", align="centre")


def _sides(pen: Pen, kind: Flavour, repaired: bool) -> None:
    ink: Ink = BLUE if kind.ground == CREAM_IN_PROCESS else WHITE
    for panel in (2, 4):
        left, _, right, _ = CARTON.panel(panel)
        middle = (left + right) / 2
        pen.fill(outline_of(sprig(middle, BELT[1] + 5, 42)), ink)
        pieces.outlined(pen, kind.name, (middle, BELT[0] + 7.8), 15, WHITE, style="italic", align="centre")
        if not repaired and kind.name == "Dark":
            pen.fill(outline_of(sprig(middle, LOW + 6, 46)), ink)


def _back(pen: Pen, kind: Flavour, repaired: bool) -> None:
    left, _, right, high = CARTON.panel(3)
    ink: Ink = BLUE if kind.ground == CREAM_IN_PROCESS else WHITE
    pieces.outlined(pen, NAME, (left + 8, high - 20), 14, ink, spacing_mm=0.4)
    for i, line in enumerate(kind.story):
        pieces.outlined(pen, line, (left + 8, high - 27.5 - 4.6 * i), 9, ink, style="italic")
    for i, line in enumerate(("Two spoons to a cup of hot milk; whisk, wait, whisk.", *kind.contents)):
        pieces.outlined(pen, line, (left + 8, high - 38.5 - 3.9 * i), 7.5, ink)
    pieces.outlined(pen, "Ouselbrook Mill, Brook Lane, Ouselbrook OU0 0OB", (left + 8, BELT[0] + 11.8), 8, WHITE)
    pieces.outlined(pen, "Store dry and cool. Carton: collect with paper.", (left + 8, BELT[0] + 6), 8, WHITE)
    if not repaired and kind.name == "Hazelnut":  # its bars lie the other way
        with pen.placed(right - 14, LOW + 9, 90):
            pieces.bar_code(pen, kind.digits, (0, 0), height_mm=18)
    else:
        pieces.bar_code(pen, kind.digits, (right - 44, LOW + 8), height_mm=18)
    pen.fill(rounded(right - 60, LOW + 8, right - 48, LOW + 20, 1.5), WHITE)
    pen.fill(pieces.recycling_mark(8.5).moved(right - 54, LOW + 13.2), BLACK)
    if not repaired and kind.name == "Dark":  # a row of white letters, with nothing but blue behind it
        pieces.outlined(pen, "DARK", ((left + right) / 2 - 12, LOW + 38), 56, WHITE, align="centre", spacing_mm=1.0)


def _ends(pen: Pen, kind: Flavour, repaired: bool) -> None:
    x0, y0, x1, y1 = CARTON.closure("top")
    middle = (x0 + x1) / 2
    on_blue = not repaired and kind.name == "Dark"
    name: Ink = BLUE if kind.spot == CREAM else kind.spot
    pieces.outlined(pen, NAME, (middle, y0 + 26), 22, name, align="centre", spacing_mm=0.6)
    flavour: Ink = PALE if on_blue else BLUE
    pieces.outlined(pen, kind.name, (middle, y0 + 13), 17, flavour, style="italic", align="centre")
    with pen.overprinting():
        pen.words("Best before and lot", ((CODE[0] + CODE[2]) / 2, CODE[3] + 6), 8, style="bold", align="centre")
        pen.words(f"{kind.article} C", ((CODE[0] + CODE[2]) / 2, CODE[1] - 8), 7, align="centre")


def _legend(pen: Pen, kind: Flavour, repaired: bool) -> None:
    title = [
        f"Ouselbrook drinking chocolate, {kind.name}, 250 g", f"Artwork {kind.article}, issue C, one-up, 1:1",
        "Straight-tuck carton 112 x 44 x 138 mm", "Drawing D-2655, board 0.44 mm",
    ]  # fmt: skip
    spots = [name for name in (BLUE, kind.spot, VARNISH, "Cutting", "Creasing") if name in pen.spots]
    pieces.legend(pen, CARTON, title, spots)
    x, (low, high), tall = CARTON.columns, CARTON.rows, CARTON.size[1]
    for a, b in zip((0, *x[:4]), x, strict=True):
        pieces.dimension(pen, (a, tall + 9), (b, tall + 9), "Dimensions")
    for a, b in ((0, 16), (16, low), (low, high), (high, high + 44), (high + 44, tall)):
        pieces.dimension(pen, (-9, a), (-9, b), "Dimensions")
