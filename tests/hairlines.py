"""Pages without a die that anybody called one: cartons in hairlines, all solid, and artwork that looks like them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import cos, radians, sin

import numpy as np

from tests.cartons import Box, Polyline, reverse_tuck
from tests.drawn import MM, Drawing, Point, points_of_rect

HAIRLINE_MM = 0.25 / MM
RED, BLACK = (0, 1, 1, 0), (0, 0, 0, 1)


@dataclass(frozen=True)
class Lines:
    """Lines to be drawn in one colour, closed where the first point is repeated."""

    lines: list[Polyline]
    page: tuple[float, float]
    box: Box


TUCK = reverse_tuck(at=(10, 10))
_SEAM = TUCK.cut[0]
STRAIGHT = Lines(
    [[_SEAM[0], (10, _SEAM[0][1]), (10, _SEAM[3][1]), _SEAM[3]], *TUCK.cut[1:], *TUCK.crease],
    (TUCK.box[2] + 10, TUCK.box[3] + 10),
    TUCK.box,
)
"""A reverse tuck whose glue flap is not tapered."""


def tray(base: Point = (80, 60), wall: float = 25, at: Point = (30, 30)) -> Lines:
    """A base with four walls, its corners cut away."""
    x, y, (w, h) = at[0], at[1], base
    x1, x2, x3, y1, y2, y3 = x + wall, x + wall + w, x + 2 * wall + w, y + wall, y + wall + h, y + 2 * wall + h
    cut = [(x1, y), (x2, y), (x2, y1), (x3, y1), (x3, y2), (x2, y2), (x2, y3), (x1, y3), (x1, y2), (x, y2), (x, y1),
           (x1, y1), (x1, y)]  # fmt: skip
    creases = [[(x1, y1), (x2, y1)], [(x1, y2), (x2, y2)], [(x1, y1), (x1, y2)], [(x2, y1), (x2, y2)]]
    return Lines([cut, *creases], (x3 + 30, y3 + 30), (x, y, x3, y3))


def sleeve(panels: Sequence[float] = (12, 60, 30, 60, 30), at: Point = (10, 10), height: float = 90) -> Lines:
    """A plain rectangle with upright folds, its glue flap straight and on the left."""
    edges = list(accumulate(panels, initial=at[0]))
    top = at[1] + height
    box = (at[0], at[1], edges[-1], top)
    outline = [*points_of_rect(*box), (box[0], box[1])]
    return Lines([outline, *([(x, at[1]), (x, top)] for x in edges[1:-1])], (edges[-1] + 10, top + 10), box)


def turned(lines: Lines, degrees: float) -> Lines:
    """The same turned about the middle of its page."""
    (w, h), c, s = lines.page, cos(radians(degrees)), sin(radians(degrees))
    about = [
        [(w / 2 + (x - w / 2) * c - (y - h / 2) * s, h / 2 + (x - w / 2) * s + (y - h / 2) * c) for x, y in line]
        for line in lines.lines
    ]
    return replace(lines, lines=about)


def drawn(lines: Lines, ink: object = RED, *, trim: bool = False, width_mm: float = HAIRLINE_MM) -> Drawing:
    page = Drawing(*lines.page, trim=lines.box if trim else None)
    page.fill("Mill Brown", rect=(lines.box[0] + 35, lines.box[1] + 35, lines.box[0] + 50, lines.box[1] + 50))
    for line in lines.lines:
        page.stroke(ink, line, close=False, width_mm=width_mm)  # type: ignore[arg-type]
    return page


def in_one_path(lines: Lines, ink: object = RED, *, trim: bool = False) -> Drawing:
    page = Drawing(*lines.page, trim=lines.box if trim else None).colour(ink, stroke=True)  # type: ignore[arg-type]
    page.raw(f"{HAIRLINE_MM * MM:.3f} w")
    for line in lines.lines:
        page.path(line, close=False)
    return page.raw("S")


def in_a_form(lines: Lines) -> Drawing:
    page = Drawing(*lines.page)
    inner = Drawing(*lines.page)
    for line in lines.lines:
        inner.stroke(RED, line, close=False, width_mm=HAIRLINE_MM)
    name = page.form("\n".join(inner.ops), bbox_mm=(0, 0, *lines.page))
    return page.raw(f"/{name} Do")


def two_up(lines: Lines) -> Lines:
    """Two side by side, a gutter between them."""
    (x0, y0, x1, y1), step = lines.box, lines.box[2] - lines.box[0] + 8
    again = [[(x + step, y) for x, y in line] for line in lines.lines]
    return Lines([*lines.lines, *again], (lines.page[0] + step, lines.page[1]), (x0, y0, x1 + step, y1))


def with_gaps(lines: Lines) -> Lines:
    """Each line ends 0.3 mm short of its last point, as hand-drawn dies do."""
    short = []
    for line in lines.lines:
        (ax, ay), (bx, by) = line[-2:]
        size = max(abs(bx - ax), abs(by - ay))
        short.append([*line[:-1], (bx - 0.3 * (bx - ax) / size, by - 0.3 * (by - ay) / size)])
    return replace(lines, lines=short)


def with_rules(lines: Lines) -> Drawing:
    """With a table, a frame and a rule of the artwork in the same ink."""
    page = drawn(lines, BLACK)
    x, y = lines.box[0] + 18, lines.box[1] + 50
    page.stroke(BLACK, points_of_rect(x, y, x + 40, y + 60), width_mm=0.2)
    for step in range(1, 6):
        page.stroke(BLACK, [(x, y + 10 * step), (x + 40, y + 10 * step)], width_mm=0.2, close=False)
    return page


def quarter_turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


def rectangles(boxes: Sequence[Box], page: Point = (215, 200), trim: Box | None = None) -> Drawing:
    drawing = Drawing(*page, trim=trim)
    for box in boxes:
        drawing.stroke(BLACK, points_of_rect(*box), width_mm=HAIRLINE_MM)
    return drawing


def table(
    rows: Sequence[float], columns: Sequence[float], at: Point = (10, 10), *, on_trim: bool = False, short: int = 0
) -> Drawing:
    """A table with its rules; ``short``: so many cells are missing at the corner."""
    x = list(accumulate(columns, initial=at[0]))
    y = list(accumulate(rows, initial=at[1]))
    boxes = [
        (a, b, c, d)
        for j, (b, d) in enumerate(zip(y, y[1:], strict=False))
        for i, (a, c) in enumerate(zip(x, x[1:], strict=False))
        if not (j == 0 and i < short)
    ]
    return rectangles(boxes, (x[-1] + 10, y[-1] + 10), (at[0], at[1], x[-1], y[-1]) if on_trim else None)


def leaf_drawing() -> Drawing:
    """Curved lines that part the page into fields, as a drawing of leaves does."""
    page = Drawing(215, 200)
    along = np.linspace(0, 1, 60)
    for n in range(8):
        x = 20 + 175 * along
        y = 20 + 20 * n + 12 * np.sin(9 * along + n)
        page.stroke(BLACK, list(zip(x.tolist(), y.tolist(), strict=True)), close=False, width_mm=HAIRLINE_MM)
    for n in range(9):
        y = 15 + 165 * along
        x = 20 + 21 * n + 8 * np.sin(7 * along + 2 * n)
        page.stroke(BLACK, list(zip(x.tolist(), y.tolist(), strict=True)), close=False, width_mm=HAIRLINE_MM)
    return page


def rounded_label() -> Drawing:
    """An eight-cornered keyline on the trim, and keylines round pictures in it."""
    page = Drawing(215, 200, trim=(10, 10, 205, 190))
    corners = [(30, 10), (185, 10), (205, 30), (205, 170), (185, 190), (30, 190), (10, 170), (10, 30)]
    page.stroke(BLACK, corners, width_mm=HAIRLINE_MM)
    for x in (30, 85, 140):
        page.stroke(BLACK, points_of_rect(x, 60, x + 45, 140), width_mm=HAIRLINE_MM)
    return page


DIES: dict[str, Callable[[], Drawing]] = {
    "a straight glue flap, on the trim": lambda: drawn(STRAIGHT, trim=True),
    "a straight glue flap, no trim box": lambda: drawn(STRAIGHT),
    "in one path": lambda: in_one_path(STRAIGHT),
    "in black": lambda: drawn(STRAIGHT, BLACK),
    "in grey": lambda: drawn(STRAIGHT, (0.3,)),
    "in RGB": lambda: drawn(STRAIGHT, (1, 0, 0)),
    "in a spot that nobody called a die": lambda: drawn(STRAIGHT, "Shade 9"),
    "in half a point": lambda: drawn(STRAIGHT, width_mm=0.5 / MM),
    "a tray": lambda: drawn(tray()),
    "a tray on the trim": lambda: drawn(tray(), trim=True),
    "a shallow tray": lambda: drawn(tray((110, 90), 18), trim=True),
    "a sleeve on the trim": lambda: drawn(sleeve(), trim=True),
    "a sleeve in one path on the trim": lambda: in_one_path(sleeve(), trim=True),
    "a sleeve without a glue flap on the trim": lambda: drawn(sleeve((60, 30, 60, 30)), trim=True),
    "a sleeve, no trim box": lambda: drawn(sleeve()),
    "a square sleeve": lambda: drawn(sleeve((12, 45, 45, 45, 45)), trim=True),
    "turned by a quarter": lambda: quarter_turned(drawn(STRAIGHT)),
    "a sleeve turned by a quarter": lambda: quarter_turned(drawn(sleeve(), trim=True)),
    "drawn upright": lambda: drawn(replace(turned(tray(), 90), box=tray().box)),
    "drawn at 30 degrees": lambda: drawn(turned(tray(), 30)),
    "two on a sheet": lambda: drawn(two_up(STRAIGHT)),
    "with gaps": lambda: drawn(with_gaps(STRAIGHT)),
    "in a form": lambda: in_a_form(STRAIGHT),
    "with rules of the artwork in the same ink": lambda: with_rules(STRAIGHT),
}
"""Every one of them is a die, and nothing but a person can be sure of it."""

LOOK_ALIKES: dict[str, Callable[[], Drawing]] = {
    "a frame on the trim": lambda: rectangles([(10, 10, 205, 190)], trim=(10, 10, 205, 190)),
    "frames in frames": lambda: rectangles([(10 + d, 10 + d, 205 - d, 190 - d) for d in (0, 3, 15, 40)]),
    "frames in frames on the trim": lambda: rectangles(
        [(10 + d, 10 + d, 205 - d, 190 - d) for d in (0, 3, 15, 40)], trim=(10, 10, 205, 190)
    ),
    "a keyline round a picture": lambda: rectangles([(40, 40, 160, 150)], trim=(10, 10, 205, 190)),
    "keylines round four pictures": lambda: rectangles(
        [(20 + 45 * i, 20 + 10 * i, 60 + 45 * i, 150) for i in range(4)], trim=(10, 10, 205, 190)
    ),
    "a table": lambda: table([12] * 8, [60, 40, 40]),
    "a table on the trim": lambda: table([15] * 8, [60, 40, 40], on_trim=True),
    "a table without its corner": lambda: table([15] * 8, [60, 40, 40], short=1),
    "a table without its corner on the trim": lambda: table([15] * 8, [60, 40, 40], on_trim=True, short=1),
    "a calendar": lambda: table([25] * 6, [26] * 7, short=3),
    "columns": lambda: table([150], [60, 50, 45, 40]),
    "columns of one width on the trim": lambda: table([150], [40] * 4, on_trim=True),
    "three bands on the trim": lambda: table([40, 90, 50], [195], on_trim=True),
    "a drawing of leaves": leaf_drawing,
    "a label with keylines in it": rounded_label,
    "a carton too small for the page": lambda: drawn(replace(tray((20, 15), 8), page=(300, 300))),
}
