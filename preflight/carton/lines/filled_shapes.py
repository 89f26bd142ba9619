"""Filled shapes in a die ink: their edge, or the middle of a band where strokes were turned into outlines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon

from preflight.carton.lines.dimensions_and_lettering import is_arrow
from preflight.carton.lines.drawn_lines import DieLine, Floats

WIDEST_BAND_MM: Final = 0.6
MOST_BANDS: Final = 2000
SAMPLES: Final = 96


def edges_of_fills(lines: Sequence[DieLine]) -> tuple[list[DieLine], int]:
    """Lines with every filled one replaced by its edge or by the middle of its band, and how many bands there were.

    Subpaths of one row are taken together, so that a ring stays a ring. Arrow heads stay as they are.
    """
    shapes = [line.filled and not is_arrow(line) for line in lines]
    kept = [line for line, shape in zip(lines, shapes, strict=True) if not shape]
    rows: dict[object, list[DieLine]] = defaultdict(list)
    for number, (line, shape) in enumerate(zip(lines, shapes, strict=True)):
        if shape:
            rows[line.row if line.row >= 0 else ("alone", number)].append(line)
    bands = 0
    for rings in rows.values():
        for polygon in _polygons(rings):
            width_mm = band_width_mm(polygon)
            if width_mm < WIDEST_BAND_MM and bands < MOST_BANDS:
                found = list(_middles(polygon, width_mm))
                bands += 1
            else:
                found = [np.asarray(ring.coords) for ring in (polygon.exterior, *polygon.interiors)]
                width_mm = 0.0
            kept += [replace(rings[0], points=p, filled=False, width_mm=width_mm) for p in found if len(p) > 1]
    return kept, bands


def band_width_mm(polygon: Polygon) -> float:
    """Mean width of a band; about half the smaller side for a shape that is none."""
    return 2 * polygon.area / polygon.length if polygon.length else 0.0


def _polygons(rings: Sequence[DieLine]) -> Iterator[Polygon]:
    """What the rings fill together by the even-odd rule, which drawings of dies and expanded strokes both obey."""
    shape = shapely.Polygon()
    for line in rings:
        if len(line.points) < 3:
            continue
        ring = shapely.make_valid(Polygon(line.points))
        shape = ring if shape.is_empty else shape.symmetric_difference(ring)
    for part in shapely.get_parts(shape):
        for piece in shapely.get_parts(part):
            if isinstance(piece, Polygon) and piece.area > 0:
                yield piece


def _middles(band: Polygon, width_mm: float) -> Iterator[Floats]:
    half = width_mm / 2
    if not band.interiors:
        yield _middle_of_strip(np.asarray(band.exterior.coords), width_mm)
        return
    if len(band.interiors) == 1:
        grown = [Polygon(band.exterior).buffer(-half, join_style="mitre")]
    else:  # a net: each opening is a cell, and what two cells share comes out twice and is made one later
        grown = [Polygon(ring).buffer(half, join_style="mitre") for ring in band.interiors]
    for shape in grown:
        for part in shapely.get_parts(shape):
            yield np.asarray(part.exterior.coords)


def _middle_of_strip(ring: Floats, width_mm: float) -> Floats:
    """Middle line (k, 2) of a closed ring (n, 2) that runs along a line and back."""
    paired = _middle_of_pairs(ring[:-1], width_mm)
    return paired if paired is not None else _middle_by_halves(LineString(ring), width_mm)


def _middle_of_pairs(corners: Floats, width_mm: float) -> Floats | None:
    """Where a stroke with flat ends was turned into an outline, its two sides have corner for corner."""
    count = len(corners)
    if count % 2 or count < 4:
        return None
    half = count // 2
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    worst = np.maximum(sides[:half], sides[half:])  # ends are opposite each other
    end = int(np.argmin(worst))
    if worst[end] > 2 * width_mm:
        return None
    turned = np.roll(corners, -(end + 1), axis=0)
    there, back = turned[:half], turned[half:][::-1]
    across = np.hypot(*(there - back).T)
    if across.max() > 3 * width_mm:
        return None
    return (there + back) / 2


def _middle_by_halves(ring: LineString, width_mm: float) -> Floats:
    """Half way from each corner of one side to the other side, for round ends and uneven corners.

    The end is the point from which both ways round stay closest to each other.
    """
    from shapely.ops import substring  # loaded where a die is drawn in fills: few are

    step = ring.length / (2 * SAMPLES)
    start = _closest_start(ring, np.arange(2 * SAMPLES) * step)
    start = _closest_start(ring, start + np.linspace(-step, step, 41))
    doubled = LineString([*ring.coords, *list(ring.coords)[1:]])
    margin, half = min(0.8 * width_mm, ring.length / 8), ring.length / 2
    side = np.asarray(substring(doubled, start + margin, start + half - margin).coords)
    opposite = substring(doubled, start + half + margin, start + ring.length - margin)
    across = shapely.get_coordinates(
        shapely.line_interpolate_point(opposite, shapely.line_locate_point(opposite, shapely.points(side)))
    )
    middle = LineString((side + across) / 2).simplify(0.01)
    return _lengthened(np.asarray(middle.coords), margin)


def _lengthened(line: Floats, by_mm: float) -> Floats:
    """Both ends carried on: a little too long is clipped later, too short would cut off a corner."""
    ends = line[[0, -1]] - line[[1, -2]]
    ends *= by_mm / np.maximum(np.hypot(*ends.T), 1e-9)[:, None]
    return np.vstack([line[0] + ends[0], line[1:-1], line[-1] + ends[1]])


def _closest_start(ring: LineString, starts: Floats) -> float:
    """The one of the starts (mm along the ring) from which both ways round stay closest to each other."""
    points = np.asarray(ring.coords)
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ahead = np.linspace(0, at[-1] / 2, SAMPLES + 1)[1:-1]
    x, y = (
        np.interp((starts[:, None] + ahead) % at[-1], at, axis)
        - np.interp((starts[:, None] - ahead) % at[-1], at, axis)
        for axis in points.T
    )
    return float(starts[int(np.argmin(np.hypot(x, y).mean(1)))] % at[-1])
