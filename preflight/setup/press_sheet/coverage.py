"""How much of each pixel a shape covers, exactly: cuts and clips lie anywhere between the pixels."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.plates import Plates

Floats = NDArray[np.float64]


def coverage(shape: BaseGeometry, left_mm: float, top_mm: float, px_mm: float, size: tuple[int, int]) -> Floats:
    """Covered share of each pixel, 0..1: (height, width); row 0 is the top.

    Every edge is parted where it crosses a line of pixels. Each part adds what lies at its right: its height to all
    pixels of its row further on, and in its own pixel as much as its middle leaves (signed areas, so that holes count
    against their shells).

    Args:
        shape: a polygon or several, mm.
        left_mm: left side of the first column.
        top_mm: upper side of the first row.
        px_mm: side of a pixel.
        size: height and width in pixels.
    """
    height, width = size
    added = np.zeros((height, width + 1))
    edges = _edges(shape)
    if not len(edges) or not height or not width:
        return added[:, :-1]
    start, end = (
        np.column_stack([(part[:, 0] - left_mm) / px_mm, (top_mm - part[:, 1]) / px_mm])
        for part in (edges[:, :2], edges[:, 2:])
    )
    start[:, 1], end[:, 1], start[:, 0], end[:, 0] = _within_rows(start, end, height)
    a, b = _parted(*_parted(start, end, 1), 0)
    fall, middle = b[:, 1] - a[:, 1], (a + b) / 2
    # What is left of the picture counts from its first column on, and what is right of it not at all.
    middle[:, 0] = np.clip(middle[:, 0], 0.0, width)
    row = np.clip(np.floor(middle[:, 1]).astype(np.intp), 0, height - 1)
    column = np.clip(np.floor(middle[:, 0]).astype(np.intp), 0, width)
    inside = middle[:, 0] - column
    flat = added.ravel()
    place = row * (width + 1) + column
    flat += np.bincount(place, fall * (1 - inside), len(flat))
    more = column < width
    flat += np.bincount(place[more] + 1, (fall * inside)[more], len(flat))
    covered: Floats = np.clip(np.abs(np.cumsum(added, axis=1)[:, :-1]), 0.0, 1.0)
    return covered


def shares_inside(plates: Plates, shape: BaseGeometry) -> NDArray[np.float32]:
    """Share 0..1 of each pixel of some plates that lies inside a shape of the same page, (height, width)."""
    x0, y0, x1, y1 = plates.box_mm
    size = plates.ink.shape[1], plates.ink.shape[2]
    if shapely.covers(shape, shapely.box(x0, y0, x1, y1)):  # most of a blank is nowhere near a clip
        return np.ones(size, np.float32)
    return coverage(shape, x0, y1, plates.mm_per_px, size).astype(np.float32)


def _edges(shape: BaseGeometry) -> Floats:
    """Edges (k, 4) of all rings; shells run one way round and holes the other."""
    rings = []
    for polygon in shapely.get_parts(shape):
        if shapely.get_type_id(polygon) == shapely.GeometryType.POLYGON and not polygon.is_empty:
            turned = shapely.orient_polygons(polygon)
            rings += [shapely.get_coordinates(ring) for ring in (turned.exterior, *turned.interiors)]
    if not rings:
        return np.zeros((0, 4))
    return np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])


def _within_rows(start: Floats, end: Floats, height: int) -> tuple[Floats, Floats, Floats, Floats]:
    """The part of each edge that lies in the rows of the picture: y and y, x and x of its ends."""
    y0, y1 = np.clip(start[:, 1], 0, height), np.clip(end[:, 1], 0, height)
    rise = end[:, 1] - start[:, 1]
    slope = np.divide(end[:, 0] - start[:, 0], rise, out=np.zeros_like(rise), where=rise != 0)
    return y0, y1, start[:, 0] + (y0 - start[:, 1]) * slope, start[:, 0] + (y1 - start[:, 1]) * slope


def _parted(start: Floats, end: Floats, axis: int) -> tuple[Floats, Floats]:
    """Edges parted where they cross a whole number of one axis; those of no height are left out."""
    real = start[:, 1] != end[:, 1]
    start, end = start[real], end[real]
    low, high = np.minimum(start[:, axis], end[:, axis]), np.maximum(start[:, axis], end[:, axis])
    first = np.floor(low).astype(np.intp) + 1
    crossings = np.maximum(0, np.ceil(high).astype(np.intp) - first)
    parts = crossings + 1
    owner = np.repeat(np.arange(len(start)), parts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
    span = (high - low)[owner]
    with np.errstate(divide="ignore", invalid="ignore"):
        from_, to = (
            np.where(
                edge,
                whole,
                np.divide(first[owner] + step - 1 + by - low[owner], span, out=np.zeros_like(span), where=span > 0),
            )
            for edge, whole, by in ((step == 0, 0.0, 0), (step == crossings[owner], 1.0, 1))
        )
    back = (start[:, axis] > end[:, axis])[owner]
    share_a, share_b = np.where(back, 1 - to, from_), np.where(back, 1 - from_, to)
    way = (end - start)[owner]
    return start[owner] + way * share_a[:, None], start[owner] + way * share_b[:, None]
