"""Ornaments as areas, so that a varnish or a white can be kept off them: a bough of apples, a dahlia, letters."""

from __future__ import annotations

import math
from typing import TypeAlias

from shapely import LineString, MultiPolygon, Point, Polygon, affinity, unary_union
from shapely.geometry.base import BaseGeometry

from sample_jobs.drawing.letters import face
from sample_jobs.drawing.outline import Outline, flattened

Area: TypeAlias = "Polygon | MultiPolygon"


def area_of(outline: Outline) -> Area:
    """What an outline fills by the winding rule where its inner contours run the other way round, as letters do."""
    rings = [Polygon(ring) for ring in flattened(outline, pieces=8) if len(ring) > 2]
    outer = [ring for ring in rings if not ring.exterior.is_ccw]
    holes = [ring for ring in rings if ring.exterior.is_ccw]
    return unary_union(outer).difference(unary_union(holes))


def letters(words: str, at: tuple[float, float], size_pt: float, *, style: str = "bold", spacing_mm: float = 0) -> Area:
    """Words as an area, centred on ``at``."""
    back = face(style).length_mm(words, size_pt, spacing_mm) / 2
    return affinity.translate(area_of(face(style).outlined(words, size_pt, spacing_mm=spacing_mm)), at[0] - back, at[1])


def ring(at: tuple[float, float], outer: float, inner: float) -> Area:
    """A ring by its two radii."""
    return Point(at).buffer(outer, quad_segs=48).difference(Point(at).buffer(inner, quad_segs=48))


def almond(length: float, width: float) -> Polygon:
    """A leaf from (0, 0) along +x, its midrib open."""
    half = [(length * t, width / 2 * math.sin(math.pi * t**0.85) * (1 - 0.15 * t)) for t in (i / 20 for i in range(21))]
    blade = Polygon([*half, *((x, -y) for x, y in reversed(half))])
    rib = Polygon([(0.10 * length, -0.02 * width), (0.86 * length, 0), (0.10 * length, 0.02 * width + 0.18)])
    return blade.difference(rib)


def apple(radius: float) -> Area:
    """An apple centred on (0, 0), with a stalk, a dip at the top and a light on its left side."""
    points = []
    for i in range(96):
        a = 2 * math.pi * i / 96
        dip = 1 - 0.20 * math.exp(-(((a - math.pi / 2) / 0.30) ** 2)) - 0.10 * math.exp(-(((a - 4.712) / 0.26) ** 2))
        points.append((radius * 1.03 * dip * math.cos(a), radius * dip * math.sin(a)))
    body = Polygon(points)
    light = Point(-0.12 * radius, 0.03 * radius).buffer(0.74 * radius)
    light = light.difference(Point(0.03 * radius, -0.02 * radius).buffer(0.76 * radius))
    stalk = LineString([(0, 0.70 * radius), (0.10 * radius, 1.05 * radius), (0.26 * radius, 1.34 * radius)])
    return body.difference(light).union(stalk.buffer(0.055 * radius + 0.12))


def bough(length: float) -> Area:
    """A bough growing upwards from (0, 0): leaves in turn to both sides, apples on their stalks."""

    def stem(t: float) -> tuple[float, float]:
        return 6.5 * math.sin(2 * math.pi * 1.15 * t), length * t

    steps = [stem(i / 120) for i in range(121)]
    parts: list[Area] = [
        LineString(steps[i : i + 2]).buffer(0.95 - 0.65 * i / 120, cap_style="round") for i in range(120)
    ]
    fruit: list[Area] = []
    count = round(length / 7.2)
    for i in range(1, count + 1):
        t = i / (count + 0.4)
        (x, y), side = stem(t), 1 if i % 2 else -1
        size = (18.5 + 4.0 * math.sin(2.3 * i)) * (1 - 0.38 * t)
        turn = 90 - side * (46 + 12 * math.sin(1.7 * i))
        parts.append(affinity.translate(affinity.rotate(almond(size, size * 0.42), turn, origin=(0, 0)), x, y))
        if i % 3 == 2 and 0.06 < t < 0.9:
            fruit += _hanging(x, y, -side, 6.4 - 1.9 * t)
    top = affinity.translate(affinity.rotate(almond(13, 5.2), 84, origin=(0, 0)), *stem(1.0))
    hung = unary_union(fruit)
    return unary_union([*parts, top]).difference(hung.buffer(0.7)).union(hung)


def _hanging(x: float, y: float, side: int, radius: float) -> list[Area]:
    """An apple on a stalk to one side."""
    foot = (x + side * (radius + 8.5), y - radius - 1.5)
    stalk = LineString([(x, y), (x + side * 5.5, y + 2.2), (foot[0] + 0.26 * radius, foot[1] + 1.3 * radius)])
    return [stalk.buffer(0.38), affinity.translate(apple(radius), *foot)]


def dahlia(at: tuple[float, float], radius: float, line_mm: float = 0.5) -> Area:
    """A flower from above, in lines: wreaths of petals, each behind the one within."""
    drawn: list[Area] = []
    shown = Polygon()
    for wreath, (share, count) in enumerate(((0.24, 9), (0.44, 14), (0.64, 18), (0.83, 22), (1.0, 26))):
        long = radius * share
        petal = affinity.scale(almond_outline(long), 1, 0.92 * 2 * math.pi * long / count / (0.34 * long))
        petals = [affinity.rotate(petal, 360 * (i + 0.5 * (wreath % 2)) / count, origin=(0, 0)) for i in range(count)]
        lines = unary_union([p.exterior.buffer(line_mm / 2) for p in petals])
        drawn.append(lines.difference(shown))
        shown = unary_union([shown, *(p.buffer(line_mm / 2) for p in petals)])
    middle = Point(0, 0).buffer(radius * 0.065)
    flower = unary_union([unary_union(drawn).difference(middle.buffer(line_mm)), middle])
    return affinity.translate(flower, *at)


def almond_outline(length: float) -> Polygon:
    """A petal from (0, 0) along +x, broad towards its tip, a third as wide as long."""
    half = [(length * t, 0.17 * length * math.sin(math.pi * t**1.35)) for t in (i / 24 for i in range(25))]
    return Polygon([*half, *((x, -y) for x, y in reversed(half[1:-1]))])


def surfaces(shape: BaseGeometry) -> MultiPolygon:
    """What of a shape has an area: where areas only touch, an intersection leaves lines and points as well."""
    parts = getattr(shape, "geoms", [shape])
    return MultiPolygon([part for part in parts if isinstance(part, Polygon) and part.area > 1e-4])
