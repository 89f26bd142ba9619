"""The die of an open sleeve: four panels and a glue flap in a row, no ends.

(0, 0) is the lower-left corner of the box round the blank.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from sample_jobs.drawing.outline import Outline, polygon_of, polyline
from sample_jobs.drawing.pen import Pen
from sample_jobs.drawing.tuck_carton import Rect


@dataclass(frozen=True)
class Sleeve:
    """Sizes in mm. Panels from the left: glue flap, front, side, back, side; seen from the inside, from the right."""

    width: float
    depth: float
    height: float
    glue: float
    mirrored: bool = False

    @property
    def columns(self) -> tuple[float, ...]:
        """The upright creases and the edge of the last panel, in the order of the panels."""
        w, d, first = self.width, self.depth, self.glue
        return tuple(self.seen(x) for x in (first, first + w, first + w + d, first + 2 * w + d, first + 2 * (w + d)))

    @property
    def size(self) -> tuple[float, float]:
        """The box round the blank."""
        return self.glue + 2 * (self.width + self.depth), self.height

    def seen(self, x: float) -> float:
        """A place on the outside as it lies on this side."""
        return self.size[0] - x if self.mirrored else x

    def panel(self, number: int) -> Rect:
        """Panel 1 (front) to 4 as (x0, y0, x1, y1)."""
        left, right = sorted(self.columns[number - 1 : number + 1])
        return left, 0.0, right, self.height

    def outline(self) -> Outline:
        """The cut line: the glue flap is drawn in at both ends."""
        wide, tall = self.size
        corners = [(self.glue, 0.0), (wide, 0.0), (wide, tall), (self.glue, tall), (0.0, tall - 5), (0.0, 5.0)]
        return polyline([(self.seen(x), y) for x, y in corners])

    def shape(self) -> Polygon:
        """The inside of the cut line."""
        return polygon_of(self.outline())

    def creases(self) -> list[Outline]:
        """Each crease as a line."""
        return [polyline([(x, 0), (x, self.height)], closed=False) for x in self.columns[:4]]


def draw_sleeve_die(pen: Pen, sleeve: Sleeve) -> None:
    """Strokes the die in its two inks, with whatever overprint state the pen is in."""
    pen.stroke(sleeve.outline(), "Cutting", width_pt=0.75)
    for line in sleeve.creases():
        pen.stroke(line, "Creasing", width_pt=0.75)
