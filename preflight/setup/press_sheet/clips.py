"""What shows of each one-up on the sheet: its blank with its bleed, up to where a neighbour's begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

STEP_MM: Final = 0.5
"""Between places of two outlines that are held against each other; each is also held against the nearest place of
the other outline, so that the border between straight edges that face each other is straight, and exact."""
MITRE: Final = 2.0
"""Bleed runs to a point at corners, no further than so many times its depth."""
TOUCH_MM: Final = 1e-6
ROUNDED: Final = 3
"""Decimals of places whose surroundings are parted: nearer to each other than that they are one."""
GRID_MM: Final = 1e-5
"""Corners are rounded to this; edges that lie on each other but for rounding are no trouble then."""


def clips(outlines: Sequence[Polygon], bleed_mm: float, sheet: BaseGeometry) -> list[Polygon]:
    """For each blank, what is printed for it: its cut and the bleed round it, as far as no other blank is nearer.

    Between two straight edges that is the middle of the gutter; on a shared knife it is the cut. What lies in a cut-out
    is printed and falls out. Bleed that a neighbour parts from its blank is left out.

    Args:
        outlines: cuts of the blanks on the sheet, mm.
        bleed_mm: how far bleed reaches.
        sheet: nothing is printed off it.
    """
    filled = [Polygon(outline.exterior) for outline in outlines]
    grown = [shapely.buffer(shape, bleed_mm, join_style="mitre", mitre_limit=MITRE) for shape in filled]
    taken: list[list[BaseGeometry]] = [[] for _ in outlines]
    borders = _Borders(bleed_mm, {})
    one, other = shapely.STRtree(grown).query(grown, predicate="intersects")
    for i, j in zip(one.tolist(), other.tolist(), strict=True):
        if i < j:
            for_i, for_j = borders.between(filled[i], filled[j], grown[i], grown[j])
            taken[i] += [filled[j], for_j]
            taken[j] += [filled[i], for_i]
    shown = [
        shapely.difference(
            shapely.intersection(shape, sheet, grid_size=GRID_MM),
            shapely.union_all(others, grid_size=GRID_MM),
            grid_size=GRID_MM,
        )
        for shape, others in zip(grown, taken, strict=True)
    ]
    return [_main_part(shape, outline) for shape, outline in zip(shown, filled, strict=True)]


@dataclass(frozen=True)
class _Borders:
    """Which part of the bleed of two blanks is nearer to each; pairs that lie alike are looked at once."""

    bleed_mm: float
    known: dict[tuple[object, ...], tuple[BaseGeometry, BaseGeometry]]

    def between(
        self, one: Polygon, other: Polygon, grown: BaseGeometry, grown_other: BaseGeometry
    ) -> tuple[BaseGeometry, BaseGeometry]:
        """What belongs to one blank and to the other of where the bleed of both would lie."""
        x0, y0 = one.bounds[:2]
        key = tuple(value for shape in (one, other) for value in _seen_from(shape, x0, y0))
        if key not in self.known:
            both = shapely.difference(shapely.intersection(grown, grown_other), shapely.union(one, other))
            parts = _nearer(one, other, both, self.bleed_mm)
            self.known[key] = tuple(translate(part, -x0, -y0) for part in parts)
        for_one, for_other = self.known[key]
        return translate(for_one, x0, y0), translate(for_other, x0, y0)


def _seen_from(shape: Polygon, x_mm: float, y_mm: float) -> list[float]:
    """Figures that tell a shape and how it lies from others on the sheet."""
    places = np.array(shape.exterior.coords)[[0, 1, -2]] - (x_mm, y_mm)
    return [len(shape.exterior.coords), round(shape.area, 2), *np.round(places, 4).ravel().tolist()]


def _nearer(one: Polygon, other: Polygon, within: BaseGeometry, reach_mm: float) -> tuple[BaseGeometry, BaseGeometry]:
    """A region parted into what is nearer to one shape and what is nearer to the other."""
    within = _areas(within)
    if within.area < TOUCH_MM:
        return Polygon(), Polygon()
    near = shapely.buffer(within, 2 * reach_mm, quad_segs=2)
    lines = [shapely.intersection(shape.exterior, near) for shape in (one, other)]
    places = [shapely.get_coordinates(shapely.segmentize(line, STEP_MM)) for line in lines]
    facing = [
        shapely.get_coordinates(shapely.shortest_line(line, shapely.points(far)))[::2]
        for line, far in zip(lines, places[::-1], strict=True)
    ]
    xy = np.round(np.vstack([places[0], facing[0], places[1], facing[1]]), ROUNDED)
    of_other = np.arange(len(xy)) >= len(places[0]) + len(facing[0])
    xy, first = np.unique(xy, axis=0, return_index=True)
    of_other = of_other[first]  # where outlines touch a place is the first blank's, since it stands first
    cells = shapely.get_parts(shapely.voronoi_polygons(shapely.MultiPoint(xy), extend_to=within, ordered=True))
    cells = shapely.make_valid(cells[of_other])
    for_other = _areas(shapely.intersection(_areas(shapely.union_all(cells, grid_size=GRID_MM)), within))
    return _areas(shapely.difference(within, for_other, grid_size=GRID_MM)), for_other


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """A shape without the lines and points that stand in it where parts only touch."""
    parts = shapely.get_parts(shapely.make_valid(shape))
    return shapely.MultiPolygon([part for part in shapely.get_parts(parts) if isinstance(part, Polygon)])


def _main_part(shape: BaseGeometry, outline: Polygon) -> Polygon:
    """The part of a clip that holds the blank."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: float(shapely.intersection(part, outline).area), default=Polygon())
