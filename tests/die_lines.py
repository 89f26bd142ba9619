"""Die lines made in a test, in mm, for `build_die`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from shapely import LineString
from shapely.ops import substring

from preflight.carton.lines.drawn_lines import DieLine, Role
from tests.cartons import CartonDrawing, Polyline
from tests.drawn import Point


def line(points: Sequence[Point] | Iterable[object], role: Role = "cut", **keys) -> DieLine:
    return DieLine(np.array(list(points), float), role, **keys)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Polyline:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]


def circle(x: float, y: float, radius: float) -> Polyline:
    return [(x + radius * np.cos(t), y + radius * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 48)]


def carton_lines(carton: CartonDrawing, crease: Role = "crease", **keys) -> list[DieLine]:
    return [line(c, **keys) for c in carton.cut] + [line(c, crease, **keys) for c in carton.crease]


def moved(lines: Sequence[DieLine], dx: float, dy: float) -> list[DieLine]:
    return [line(item.points + [dx, dy], item.role) for item in lines]


def sleeve(
    x: float, y: float, panels: Sequence[float] = (60, 30, 60, 30), height: float = 90, flap: float = 12
) -> list[DieLine]:
    """A plain rectangle with upright creases, its glue flap straight and on the left."""
    at = np.cumsum([x, flap, *panels])
    outline = line(rectangle(at[0], y, at[-1], y + height))
    return [outline, *(line([(v, y), (v, y + height)], "crease") for v in at[1:-1])]


def in_pieces(points: Sequence[Point], piece: float, gap: float, role: Role = "cut") -> list[DieLine]:
    """A line as loose pieces with gaps between them; whatever is left over is the last one."""
    whole, pieces, start = LineString(points), [], 0.0
    while start < whole.length:
        pieces.append(substring(whole, start, min(start + piece, whole.length)))
        start += piece + gap
    return [line(part.coords, role) for part in pieces if len(part.coords) > 1]


def carried_on(points: Sequence[Point], by: float) -> Polyline:
    """A straight line made longer at both ends, or shorter where `by` is negative."""
    a, b = np.array(points[0], float), np.array(points[-1], float)
    unit = (b - a) / np.hypot(*(b - a))
    return [tuple(a - unit * by), tuple(b + unit * by)]


def as_outline(
    points: Sequence[Point], width: float, role: Role, row: int, cap: str = "flat", join: str = "mitre"
) -> DieLine:
    """A stroke turned into an outline: a filled band."""
    band = LineString(points).buffer(width / 2, cap_style=cap, join_style=join)
    return line(band.exterior.coords, role, filled=True, row=row, width_mm=0.0)


def arrow(x: float, y: float, dx: float, dy: float, row: int) -> DieLine:
    """A filled arrow head, 3 mm long, with its tip at (x, y) and its barbs towards (dx, dy)."""
    barbs = [(x + 3 * dx - dy, y + 3 * dy + dx), (x + 3 * dx + dy, y + 3 * dy - dx)]
    return line([(x, y), *barbs, (x, y)], filled=True, row=row)
