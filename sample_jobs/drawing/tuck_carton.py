"""The die of a tuck-end carton: four panels and a glue flap in a row, closures and dust flaps at both ends.

(0, 0) is the lower-left corner of the box round the blank.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from sample_jobs.drawing.outline import ROUND, Outline, ellipse, polygon_of, polyline
from sample_jobs.drawing.pen import Pen

Rect = tuple[float, float, float, float]

EASE = 0.5
"""A closure is so much narrower than its panel on each side, in mm."""


@dataclass(frozen=True)
class TuckCarton:
    """Sizes in mm. Panels from the left: glue flap, front, side, back, side."""

    width: float
    depth: float
    height: float
    glue: float
    tuck: float
    dust: float
    reverse: bool = True
    """Top closure on the front and bottom closure on the back; else both on the front."""
    window: tuple[float, float, float] | None = None
    """Centre and radius of a round window."""

    @property
    def columns(self) -> tuple[float, float, float, float, float]:
        """Where the upright creases and the right-hand edge are: four panels between five lines."""
        w, d = self.width, self.depth
        first = self.glue
        return first, first + w, first + w + d, first + 2 * w + d, first + 2 * (w + d)

    @property
    def rows(self) -> tuple[float, float]:
        """Bottom and top of the panels."""
        return self.depth + self.tuck, self.depth + self.tuck + self.height

    @property
    def size(self) -> tuple[float, float]:
        """The box round the blank."""
        return self.columns[4], self.rows[1] + self.depth + self.tuck

    def panel(self, number: int) -> Rect:
        """Panel 1 (front) to 4 as (x0, y0, x1, y1)."""
        return self.columns[number - 1], self.rows[0], self.columns[number], self.rows[1]

    def closure(self, end: str) -> Rect:
        """The closure at the ``top`` or ``bottom`` end, without its tuck flap."""
        left, _, right, _ = self.panel(self._closure_on(end))
        (low, high), depth = self.rows, self.depth
        return (
            (left + EASE, high, right - EASE, high + depth)
            if end == "top"
            else (left + EASE, low - depth, right - EASE, low)
        )

    def outline(self) -> Outline:
        """The cut line round the blank, one contour, without slits and windows."""
        x, (low, high) = self.columns, self.rows
        outline = Outline().move(x[0], low)
        for number in (1, 2, 3, 4):
            self._end(outline, "bottom", number, x[number - 1], x[number], low)
        outline.line((x[4], high))
        for number in (4, 3, 2, 1):
            self._end(outline, "top", number, x[number], x[number - 1], high)
        return outline.line((0, high - 4), (0, low + 4)).close()

    def shape(self) -> Polygon:
        """The inside of the outer cut line."""
        return polygon_of(self.outline())

    def slits(self) -> Outline:
        """The cuts that lock the tuck flaps: no area, 7 mm in from each side of a closure."""
        slits = Outline()
        for end in ("top", "bottom"):
            x0, y0, x1, y1 = self.closure(end)
            y = y1 if end == "top" else y0
            slits.move(x0, y).line((x0 + 7, y)).move(x1 - 7, y).line((x1, y))
        return slits

    def creases(self) -> list[Outline]:
        """Each crease as a line."""
        x, (low, high) = self.columns, self.rows
        lines = [polyline([(at, low), (at, high)], closed=False) for at in x[:4]]
        for end, y in (("top", high), ("bottom", low)):
            x0, y0, x1, y1 = self.closure(end)
            fold = y1 if end == "top" else y0
            lines.append(polyline([(x0, y), (x1, y)], closed=False))
            lines.append(polyline([(x0 + 7, fold), (x1 - 7, fold)], closed=False))
            lines += [polyline([(x[n - 1] + 1, y), (x[n] - 1, y)], closed=False) for n in (2, 4)]
        return lines

    def _closure_on(self, end: str) -> int:
        return 3 if end == "bottom" and self.reverse else 1

    def _end(self, outline: Outline, end: str, panel: int, start: float, stop: float, y: float) -> None:
        """One panel's end from ``start`` to ``stop``, which may run to the left."""
        up = 1 if end == "top" else -1
        if panel in (2, 4):
            self._dust_flap(outline, start, stop, y, up)
        elif panel == self._closure_on(end):
            self._closure_flap(outline, start, stop, y, up)
        else:
            _plain_edge(outline, start, stop, y, up)

    def _closure_flap(self, outline: Outline, start: float, stop: float, y: float, up: int) -> None:
        way = 1 if stop > start else -1
        a, b, tip, r = start + EASE * way, stop - EASE * way, y + up * (self.depth + self.tuck), min(self.tuck - 2, 13)
        k = r * (1 - ROUND)
        outline.line((start, y), (a, y), (a, tip - up * r))
        outline.curve((a, tip - up * k), (a + way * k, tip), (a + way * r, tip)).line((b - way * r, tip))
        outline.curve((b - way * k, tip), (b, tip - up * k), (b, tip - up * r)).line((b, y), (stop, y))

    def _dust_flap(self, outline: Outline, start: float, stop: float, y: float, up: int) -> None:
        """Straight at the foot, then drawn in to both sides."""
        way, tip = (1 if stop > start else -1), y + up * self.dust
        a, b = start + way, stop - way
        outline.line((start, y), (a, y), (a, y + up * 8), (a + 5 * way, tip - up * 6))
        outline.curve((a + 5.6 * way, tip - up * 2), (a + 8 * way, tip), (a + 11 * way, tip)).line((b - 11 * way, tip))
        outline.curve((b - 8 * way, tip), (b - 5.6 * way, tip - up * 2), (b - 5 * way, tip - up * 6))
        outline.line((b, y + up * 8), (b, y), (stop, y))


def _plain_edge(outline: Outline, start: float, stop: float, y: float, up: int) -> None:
    """A straight edge with a thumb notch in its middle."""
    way, middle, r = (1 if stop > start else -1), (start + stop) / 2, 9.0
    k = r * ROUND
    outline.line((start, y), (middle - way * r, y))
    outline.curve((middle - way * r, y - up * k), (middle - way * k, y - up * r), (middle, y - up * r))
    outline.curve((middle + way * k, y - up * r), (middle + way * r, y - up * k), (middle + way * r, y)).line((stop, y))


def draw_die(pen: Pen, carton: TuckCarton, *, cut: str = "Cutting", crease: str = "Creasing") -> None:
    """Strokes the die in its two inks, with whatever overprint state the pen is in."""
    pen.stroke(carton.outline(), cut, width_pt=0.75)
    pen.stroke(carton.slits(), cut, width_pt=0.75)
    if carton.window:
        pen.stroke(ellipse(*carton.window), cut, width_pt=0.75)
    for line in carton.creases():
        pen.stroke(line, crease, width_pt=0.75)
