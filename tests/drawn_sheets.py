"""Imposed sheets for tests, in mm: a carton's art and die as forms, stepped over a page, with cells that are wrong.

one_up(tmp_path / "one-up.pdf")
sheet(tmp_path / "sheet.pdf", cells=[*rows(3, 4)])
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import cos, radians, sin
from pathlib import Path

from shapely import Polygon

from tests.cartons import CartonDrawing, draw_die, reverse_tuck
from tests.drawn import MM, Drawing

CARTON = reverse_tuck(width=36, depth=18, height=44, flap=11, tuck=10)
"""119 x 100 mm, without any symmetry."""
X0, Y0, X1, Y1 = CARTON.box
WIDE, HIGH = X1 - X0, Y1 - Y0
BLEED = 3.0
MARGIN = 10.0
"""Of the one-up's page round the cut."""
GUTTER = 7.0
Paint = Callable[[Drawing], None]


@dataclass(frozen=True)
class Art:
    """What one carton prints; the cut's box begins at (0, 0)."""

    digit: str = "1"
    brown: str = "Mill Brown"
    word: str = "Mint"
    brown_moved: float = 0.0
    """Of the brown plate, to the right."""
    on_flap: str = ""
    """The number of a cell, on the glue flap."""
    carton: CartonDrawing = field(default=CARTON, hash=False)
    more: Paint | None = None
    contour: bool = False
    """Its bleed ends along the cut, and not in a box round it."""

    def __call__(self, page: Drawing) -> None:
        if self.contour:
            bleed = Polygon(self.carton.outline).buffer(BLEED, join_style="mitre")
            page.raw("q").path(list(bleed.exterior.coords)[:-1]).raw("W n")
            replace(self, contour=False)(page)
            page.raw("Q")
            return
        ground, panels = (0.55, 0.1, 0.0, 0.0), self.carton.panels
        left = panels[0][0][0]
        page.fill(ground, rect=(left - 4, -BLEED, WIDE + BLEED, HIGH + BLEED))
        page.gs(OP=True, op=True, OPM=1)
        for number, panel in enumerate(panels):
            (x0, y0), (x1, y1) = panel[0], panel[2]
            page.fill((0, 0.6, 0.9, 0), rect=(x0 + 3, y0 + 4, x0 + 9 + number, y1 - 20))
            page.text(f"{self.word} {number}", (x0 + 4, y1 - 10), 11 if number % 2 == 0 else 6)
            page.text(f"Lot 47{self.digit}{number} 100 g", (x0 + 2, y0 + 1.5), 5 if x1 - x0 > 30 else 3)
        shift, (x0, y0) = self.brown_moved, panels[2][0]
        page.fill(
            self.brown, points=[(x0 + 14 + shift, y0 + 8), (x0 + 30 + shift, y0 + 11), (x0 + 20 + shift, y0 + 27)]
        )
        page.fill(self.brown, 0.4, rect=(left + 12 + shift, 30, left + 30 + shift, 36))
        if self.on_flap:
            page.text(self.on_flap, (3, HIGH / 2), 8)
        if self.more:
            self.more(page)
        page.gs(OP=False, op=False)


@dataclass(frozen=True)
class Cell:
    """A blank: the lower-left corner of the box of its turned cut, and what is wrong with the art in it."""

    x: float
    y: float
    turn: int = 0
    art: Art | None = field(default_factory=Art)
    """None prints nothing."""
    art_turn: int = 0
    """Of the art against the die."""
    shift: tuple[float, float] = (0.0, 0.0)
    """The same, on the page."""
    shown: tuple[float, float, float, float] | None = None
    """Of the art: what is not clipped off."""


def one_up(path: Path, art: Art | None = None, *, die: bool = True, trim: bool = False) -> Path:
    width, height = WIDE + 2 * MARGIN, HIGH + 2 * MARGIN
    box = (MARGIN, MARGIN, MARGIN + WIDE, MARGIN + HIGH)
    page = Drawing(width, height, trim=box if trim else None)
    paint = art or Art()
    _place(page, _form(page, paint), Cell(MARGIN, MARGIN))
    if die:
        _place(page, _form(page, lambda each: draw_die(each, paint.carton)), Cell(MARGIN, MARGIN))
    return page.save(path)


def rows(
    down: int, across: int, *, tumbled: str = "", art: Art | None = None, at: tuple[float, float] = (20.0, 22.0)
) -> Iterator[Cell]:
    """Cells in rows from below; ``tumbled``: ``rows`` or ``columns``, each other one turned by 180 degrees."""
    for row in range(down):
        for column in range(across):
            odd = {"rows": row % 2, "columns": column % 2}.get(tumbled, 0)
            x, y = at[0] + column * (WIDE + GUTTER), at[1] + row * (HIGH + GUTTER)
            yield Cell(x, y, 180 * odd, art or Art())


def sheet(
    path: Path,
    cells: Sequence[Cell],
    *,
    size: tuple[float, float] = (560.0, 380.0),
    die: bool = True,
    marks: bool = True,
    rotate: int = 0,
    carton: CartonDrawing = CARTON,
    more: Paint | None = None,
) -> Path:
    """An imposed sheet: the art of each cell, then its die, then marks and a colour bar."""
    page = Drawing(*size)
    forms: dict[Art, str] = {}
    for cell in cells:
        if cell.art is not None:
            name = forms[cell.art] = forms.get(cell.art) or _form(page, cell.art)
            _place(page, name, cell, cell.art_turn, cell.shift, cell.shown)
    if die:
        lines = _form(page, lambda each: draw_die(each, carton))
        for cell in cells:
            _place(page, lines, cell)
    if marks:
        for n in range(int(size[0] // 6) - 2):
            page.fill(
                [(1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1)][n % 4], rect=(6 * n + 6, 2, 6 * n + 12, 7)
            )
        page.fill((1, 1, 1, 1), rect=(3, size[1] / 2, 9, size[1] / 2 + 0.2))
    if more:
        more(page)
    if rotate:
        page.page.obj.Rotate = rotate
    return page.save(path)


def _form(page: Drawing, paint: Paint) -> str:
    outer, page.ops = page.ops, []
    paint(page)
    inner, page.ops = "\n".join(page.ops), outer
    return page.form(inner, bbox_mm=(-BLEED, -BLEED, WIDE + BLEED, HIGH + BLEED))


def _place(
    page: Drawing,
    form: str,
    cell: Cell,
    art_turn: int = 0,
    shift: tuple[float, float] = (0.0, 0.0),
    shown: tuple[float, float, float, float] | None = None,
) -> None:
    flat = cell.turn % 180 != 0
    wide, high = (HIGH, WIDE) if flat else (WIDE, HIGH)
    a, b = round(cos(radians(cell.turn + art_turn))), round(sin(radians(cell.turn + art_turn)))
    x, y = cell.x + wide / 2 + shift[0], cell.y + high / 2 + shift[1]
    e, f = x - (a * WIDE / 2 - b * HIGH / 2), y - (b * WIDE / 2 + a * HIGH / 2)
    clip = ""
    if shown:
        x0, y0, x1, y1 = (v * MM for v in shown)
        clip = f"{x0:.4f} {y0:.4f} {x1 - x0:.4f} {y1 - y0:.4f} re W n "
    page.raw(f"q {a} {b} {-b} {a} {e * MM:.5f} {f * MM:.5f} cm {clip}/{form} Do Q")
