"""Outlines in mm: moves, lines and cubic curves."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from shapely import MultiPolygon, Polygon

Point = tuple[float, float]
ROUND = 0.5522847498  # distance of a quarter circle's control points in radii, off the arc by 0.03 %


class Outline:
    """Contours as steps: ``("m", p)``, ``("l", p)``, ``("c", p1, p2, p)``; a closed one ends with ``("h",)``."""

    def __init__(self) -> None:
        self.steps: list[tuple[str, tuple[Point, ...]]] = []

    def move(self, x: float, y: float) -> Outline:
        """Starts a contour."""
        self.steps.append(("m", ((x, y),)))
        return self

    def line(self, *points: Point) -> Outline:
        """Straight on to each of the points."""
        self.steps += [("l", (point,)) for point in points]
        return self

    def curve(self, p1: Point, p2: Point, p3: Point) -> Outline:
        """A cubic curve to ``p3``."""
        self.steps.append(("c", (p1, p2, p3)))
        return self

    def close(self) -> Outline:
        """Closes the contour."""
        self.steps.append(("h", ()))
        return self

    def add(self, other: Outline) -> Outline:
        """Takes over another outline's contours."""
        self.steps += other.steps
        return self

    def mapped(self, place: Callable[[float, float], Point]) -> Outline:
        """A copy with every point put where ``place`` says."""
        copy = Outline()
        copy.steps = [(kind, tuple(place(x, y) for x, y in points)) for kind, points in self.steps]
        return copy

    def moved(self, dx: float, dy: float, *, scale: float = 1.0, turned: float = 0.0) -> Outline:
        """A copy scaled, turned anticlockwise by degrees, then moved."""
        cos, sin = scale * math.cos(math.radians(turned)), scale * math.sin(math.radians(turned))
        return self.mapped(lambda x, y: (dx + cos * x - sin * y, dy + sin * x + cos * y))


def polyline(points: Sequence[Point], *, closed: bool = True) -> Outline:
    """Straight lines through the points."""
    outline = Outline().move(*points[0]).line(*points[1:])
    return outline.close() if closed else outline


def rect(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """A rectangle by two corners."""
    return polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def ellipse(cx: float, cy: float, rx: float, ry: float | None = None) -> Outline:
    """An ellipse, or a circle where one radius is given."""
    ry = rx if ry is None else ry
    kx, ky = rx * ROUND, ry * ROUND
    outline = Outline().move(cx + rx, cy)
    outline.curve((cx + rx, cy + ky), (cx + kx, cy + ry), (cx, cy + ry))
    outline.curve((cx - kx, cy + ry), (cx - rx, cy + ky), (cx - rx, cy))
    outline.curve((cx - rx, cy - ky), (cx - kx, cy - ry), (cx, cy - ry))
    return outline.curve((cx + kx, cy - ry), (cx + rx, cy - ky), (cx + rx, cy)).close()


def rounded(x0: float, y0: float, x1: float, y1: float, radius: float) -> Outline:
    """A rectangle with round corners."""
    r, k = radius, radius * (1 - ROUND)
    outline = Outline().move(x0 + r, y0).line((x1 - r, y0)).curve((x1 - k, y0), (x1, y0 + k), (x1, y0 + r))
    outline.line((x1, y1 - r)).curve((x1, y1 - k), (x1 - k, y1), (x1 - r, y1))
    outline.line((x0 + r, y1)).curve((x0 + k, y1), (x0, y1 - k), (x0, y1 - r))
    return outline.line((x0, y0 + r)).curve((x0, y0 + k), (x0 + k, y0), (x0 + r, y0)).close()


def flattened(outline: Outline, *, pieces: int = 16) -> list[list[Point]]:
    """The contours as points, each curve in so many straight pieces."""
    contours: list[list[Point]] = []
    for kind, points in outline.steps:
        if kind == "m":
            contours.append([points[0]])
        elif kind == "l":
            contours[-1].append(points[0])
        elif kind == "c":
            contours[-1] += _curve_points(contours[-1][-1], points, pieces)
    return contours


def _curve_points(start: Point, points: tuple[Point, ...], pieces: int) -> Iterable[Point]:
    nodes = (start, *points)
    for step in range(1, pieces + 1):
        t = step / pieces
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        yield (
            sum(w * node[0] for w, node in zip(weights, nodes, strict=True)),
            sum(w * node[1] for w, node in zip(weights, nodes, strict=True)),
        )


def polygon_of(outline: Outline) -> Polygon:
    """The first contour as a polygon, the others as its holes."""
    outer, *holes = flattened(outline)
    return Polygon(outer, holes)


def outline_of(shape: Polygon | MultiPolygon) -> Outline:
    """A polygon, or several, as an outline of straight lines; to be filled with the even-odd rule."""
    outline = Outline()
    for polygon in getattr(shape, "geoms", [shape]):
        for ring in (polygon.exterior, *polygon.interiors):
            outline.add(polyline([(x, y) for x, y in ring.coords[:-1]]))
    return outline
