"""How much of each pixel lies inside a polygon: exact areas, so that a cover does not depend on where pixels lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.plates import Plates

Floats = NDArray[np.float64]


def shares_inside(plates: Plates, shape: BaseGeometry) -> NDArray[np.float32]:
    """Share 0..1 of each pixel of some plates that lies inside a shape, (height, width); holes are outside.

    Every edge is cut at the borders of the pixels, and what each stretch leaves to its right is added up along the row
    (areas by the trapezium rule; exact but for rounding).

    Args:
        plates: whose pixels they are.
        shape: polygons of the same page, mm.
    """
    height, width = plates.ink.shape[1:]
    x0, _, _, y1 = plates.box_mm
    box = shapely.box(x0, y1 - height * plates.mm_per_px, x0 + width * plates.mm_per_px, y1)
    within = shapely.intersection(shape, box)
    if within.is_empty:
        return np.zeros((height, width), np.float32)
    if shapely.area(within) >= shapely.area(box) * (1 - 1e-9):
        return np.ones((height, width), np.float32)
    sums = np.zeros(height * (width + 2))
    for ring in _rings(within):
        _add(sums, plates.to_px(ring), height, width)
    shares = np.abs(np.cumsum(sums.reshape(height, width + 2), axis=1)[:, :width])
    inside: NDArray[np.float32] = np.minimum(shares, 1.0).astype(np.float32)
    return inside


def _rings(shape: BaseGeometry) -> Iterator[Floats]:
    """Coordinates of the outlines anti-clockwise and of the holes clockwise."""
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            for ring, wanted in [(part.exterior, True), *((hole, False) for hole in part.interiors)]:
                points = shapely.get_coordinates(ring)
                yield points if shapely.is_ccw(ring) == wanted else points[::-1]


def _add(sums: Floats, ring: Floats, height: int, width: int) -> None:
    """Add the stretches of one ring, in pixels from the upper-left corner."""
    ring = np.clip(ring, 0.0, (width, height))
    start, end = ring[:-1], ring[1:]
    edge, t = _cut_at_borders(start, end)
    points = start[edge] + (end - start)[edge] * t[:, None]
    same = edge[1:] == edge[:-1]
    before, after = points[:-1][same], points[1:][same]
    middle = (before + after) / 2
    column = np.minimum(np.floor(middle[:, 0]), width - 1).astype(np.intp)
    row = np.minimum(np.floor(middle[:, 1]), height - 1).astype(np.intp)
    along, into = after[:, 1] - before[:, 1], middle[:, 0] - column
    at = row * (width + 2) + column
    sums += np.bincount(at, along * (1 - into), len(sums)) + np.bincount(at + 1, along * into, len(sums))


def _cut_at_borders(start: Floats, end: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Numbers of edges, and where along them (0..1) they begin, meet the border of a pixel, and end, in that order."""
    numbers = np.arange(len(start))
    edges, places = [numbers, numbers], [np.zeros(len(start)), np.ones(len(start))]
    for axis in (0, 1):
        one, other = start[:, axis], end[:, axis]
        first = np.floor(np.minimum(one, other)).astype(np.intp) + 1
        count = np.maximum(np.ceil(np.maximum(one, other)).astype(np.intp) - first, 0)
        edge = np.repeat(numbers, count)
        border = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
        edges.append(edge)
        places.append((border - one[edge]) / (other - one)[edge])
    edge, t = np.concatenate(edges), np.concatenate(places)
    order = np.lexsort((t, edge))
    return edge[order], t[order]
