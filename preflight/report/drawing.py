"""A drawing as plain data: lines, fills and texts in mm, y up. Renderers (SVG, PDF) show all of it and add nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import cos, hypot, radians, sin
from typing import Final, Literal

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.report.pdf_type import width_of, written

Point = tuple[float, float]
Align = Literal["left", "centre", "right"]
POINT_MM: Final = 25.4 / 72
COARSER_MM: Final = 0.02


@dataclass(frozen=True)
class Lines:
    """Lines and rings that look alike; a ring repeats its first point."""

    name: str
    """What they are: ``cut``, ``crease`` …"""
    runs: tuple[tuple[Point, ...], ...]
    width_mm: float = 0.0
    """0: no line."""
    dash_mm: tuple[float, ...] = ()
    grey: float = 0.0
    """Of the line; 0 is black."""
    fill: float | None = None
    """Grey of the inside, even-odd."""


@dataclass(frozen=True)
class Text:
    """One line of text; ``y`` is the middle of its height."""

    x: float
    y: float
    says: str
    size_mm: float
    align: Align = "centre"
    turn_deg: float = 0.0
    bold: bool = False
    opacity: float = 1.0
    white: bool = False

    @property
    def width_mm(self) -> float:
        """As the type of the PDF has it."""
        return text_width(self.says, self.size_mm, bold=self.bold)


@dataclass
class Drawing:
    """What is drawn, in its order."""

    title: str
    box: Box
    """All of it, the margins too."""
    items: list[Lines | Text] = field(default_factory=list)

    def lines(
        self,
        name: str,
        shapes: BaseGeometry | Iterable[BaseGeometry],
        width_mm: float = 0.0,
        *,
        dash_mm: Sequence[float] = (),
        grey: float = 0.0,
        fill: float | None = None,
    ) -> None:
        """Draw shapes alike; nothing where they are empty."""
        several = [shapes] if isinstance(shapes, BaseGeometry) else list(shapes)
        runs = tuple(run for shape in several for run in runs_of(shape))
        if runs:
            self.items.append(Lines(name, runs, width_mm, tuple(dash_mm), grey, fill))

    def text(
        self,
        x: float,
        y: float,
        says: str,
        size_mm: float,
        *,
        align: Align = "centre",
        turn_deg: float = 0.0,
        bold: bool = False,
        backed: bool = False,
    ) -> None:
        """Write a line; ``backed`` keeps what lies under it from crossing it out."""
        text = Text(x, y, says, size_mm, align, turn_deg, bold)
        if backed:
            wide, high = text.width_mm + 0.5 * size_mm, 1.15 * size_mm
            left = x - {"left": 0.25 * size_mm, "centre": wide / 2, "right": wide - 0.25 * size_mm}[align]
            back = shapely.box(left, y - high / 2, left + wide, y + high / 2)
            self.lines("back of a text", rotate(back, turn_deg, origin=(x, y)), fill=1.0)
        self.items.append(text)

    def arrow_head(self, tip: Point, direction: Point, size_mm: float) -> None:
        """A full head that points along a direction."""
        length = hypot(*direction)
        a, b = direction[0] / length, direction[1] / length
        back = (tip[0] - a * size_mm, tip[1] - b * size_mm)
        half = 0.3 * size_mm
        corners = [tip, (back[0] - b * half, back[1] + a * half), (back[0] + b * half, back[1] - a * half)]
        self.lines("arrow", shapely.Polygon(corners), fill=0.0)

    def arrow(self, start: Point, end: Point, size_mm: float, width_mm: float, *, both: bool = False) -> None:
        """A line with a head at its end, or at both ends."""
        self.lines("arrow", shapely.LineString([start, end]), width_mm)
        along = (end[0] - start[0], end[1] - start[1])
        self.arrow_head(end, along, size_mm)
        if both:
            self.arrow_head(start, (-along[0], -along[1]), size_mm)


def runs_of(shape: BaseGeometry) -> list[tuple[Point, ...]]:
    """Lines and rings of a shape of any sort, no point nearer than needed for two hundredths of a millimetre."""
    if hasattr(shape, "geoms"):
        return [run for part in shape.geoms for run in runs_of(part)]
    if shape.is_empty or shape.geom_type == "Point":
        return []
    if shape.geom_type == "Polygon":
        return [run for ring in (shape.exterior, *shape.interiors) for run in runs_of(ring)]
    points = np.asarray(shape.simplify(COARSER_MM).coords)[:, :2]
    return [tuple((float(x), float(y)) for x, y in points)]


def hatch(shape: BaseGeometry, pitch_mm: float, turn_deg: float) -> BaseGeometry:
    """Parallel lines within a shape."""
    if shape.is_empty:
        return shape
    x0, y0, x1, y1 = shape.bounds
    middle, reach = ((x0 + x1) / 2, (y0 + y1) / 2), hypot(x1 - x0, y1 - y0) / 2
    a, b = cos(radians(turn_deg)), sin(radians(turn_deg))
    count = min(int(reach / pitch_mm) + 1, 2000)
    lines = [
        [(middle[0] - b * k - a * reach, middle[1] + a * k - b * reach),
         (middle[0] - b * k + a * reach, middle[1] + a * k + b * reach)]
        for k in (n * pitch_mm for n in range(-count, count + 1))
    ]  # fmt: skip
    return shapely.intersection(shapely.MultiLineString(lines), shape)


def text_width(says: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a line in mm, for type of a height in mm."""
    return width_of(written(says), size_mm, bold=bold)


def widest_place(shapes: Iterable[BaseGeometry]) -> tuple[Point, float]:
    """Middle and radius in mm of the largest circle that lies within one of some shapes; (0, 0) and 0 without any."""
    parts = [part for shape in shapes for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
    circles = [shapely.maximum_inscribed_circle(part, tolerance=0.5) for part in parts if part.area > 0]
    if not circles:
        return (0.0, 0.0), 0.0
    best = max(circles, key=lambda line: float(line.length))
    x, y = best.coords[0][:2]
    return (float(x), float(y)), float(best.length)
