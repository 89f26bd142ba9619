"""Closed cells of the net, which of them hang together through folds, and the outlines of such groups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from shapely import MultiLineString, Polygon

from preflight.carton.cells.gaps import number_nodes
from preflight.carton.cells.net import Net
from preflight.carton.lines.drawn_lines import CUT, Bools, Floats, Ints, Shapes, as_linestrings, components, lengths_of

SLIT_MM: Final = 0.6
"""An opening narrower than this is a slit or a line drawn as an outline: it has no edges of its own."""


@dataclass(frozen=True)
class Cells:
    """Cells (m,) of a net, the two cells beside each of its segments, and a group for each cell.

    ``beside`` has shape (n, 2); -1 is outside. ``group`` labels cells joined through creases and perforations.
    """

    net: Net
    polygons: Shapes
    beside: Ints
    group: Ints
    _outlines: dict[int, Polygon] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, net: Net) -> Cells:
        """Builds the cells of a net."""
        lines = as_linestrings(net.xy)
        polygons = shapely.get_parts(shapely.polygonize(lines)) if len(net) else np.zeros(0, object)
        beside = _beside(net, polygons)
        joins = (net.role != CUT) & (beside >= 0).all(1)
        group = components(len(polygons), beside[joins, 0], beside[joins, 1])
        return cls(net, polygons, beside, group)

    @cached_property
    def area(self) -> Floats:
        """Area of each cell, mm2."""
        area: Floats = np.asarray(shapely.area(self.polygons), np.float64).reshape(-1)
        return area

    @cached_property
    def width_mm(self) -> Floats:
        """Mean width of each cell: its own for a long thin one, about half the smaller side for others."""
        around = np.asarray(shapely.length(self.polygons)).reshape(-1)
        width: Floats = 2 * self.area / np.maximum(around, 1e-9)
        return width

    @cached_property
    def group_area(self) -> Floats:
        """Area of each group, mm2."""
        return np.asarray(np.bincount(self.group, weights=self.area), np.float64)

    @cached_property
    def joins(self) -> Bools:
        """Segments (n,) that join two cells: creases and perforations between them."""
        mask: Bools = (self.net.role != CUT) & (self.beside >= 0).all(1) & (self.beside[:, 0] != self.beside[:, 1])
        return mask

    @cached_property
    def group_beside(self) -> Ints:
        """The groups beside each segment (n, 2); -1 is outside."""
        padded = np.append(self.group, -1)
        return np.asarray(padded[self.beside], np.intp)

    def boundary(self, group: int) -> Bools:
        """Segments with the group on one side only."""
        sides = self.group_beside == group
        mask: Bools = sides[:, 0] != sides[:, 1]
        return mask

    def outline(self, group: int) -> Polygon:
        """What the group covers; slits in it are closed, cut-outs are holes."""
        if group not in self._outlines:
            parts = shapely.get_parts(shapely.union_all(self.polygons[self.group == group]))
            self._outlines[group] = without_slits(max(parts, key=lambda part: float(part.area)))
        return self._outlines[group]

    def folds_of(self, group: int) -> Bools:
        """Segments of folds within a group: between its cells, at its edge where it has no cut, and loose in a cell."""
        mask: Bools = (self.net.role != CUT) & (self.group_beside == group).any(1)
        loose, cell = self.loose_folds
        mask[loose[(cell >= 0) & (np.append(self.group, -1)[cell] == group)]] = True
        return mask

    def cuts_of(self, groups: Sequence[int]) -> Bools:
        """Segments of cuts at the edges of groups and within them, slits too."""
        mask: Bools = (self.net.role == CUT) & np.isin(self.group_beside, groups).any(1)
        loose, cell = self._loose(self.net.role == CUT)
        mask[loose[(cell >= 0) & np.isin(np.append(self.group, -1)[cell], groups)]] = True
        return mask

    @cached_property
    def loose_folds(self) -> tuple[Ints, Ints]:
        """Segments of folds that separate nothing, and the cell each lies in (-1 for none)."""
        return self._loose(self.net.role != CUT)

    def _loose(self, mask: Bools) -> tuple[Ints, Ints]:
        loose = np.flatnonzero(mask & (self.beside < 0).all(1))
        inside = np.full(len(loose), -1, np.intp)
        if len(loose) and len(self.polygons):
            middle = shapely.points((self.net.xy[loose, :2] + self.net.xy[loose, 2:]) / 2)
            at, cell = shapely.STRtree(self.polygons).query(middle, predicate="within")
            inside[at] = cell
        return loose, inside


def without_slits(shape: Polygon) -> Polygon:
    """The shape with holes closed that have no width to speak of."""
    if shape.is_empty:
        return shape
    holes = [ring for ring in shape.interiors if not is_slit(Polygon(ring))]
    return Polygon(shape.exterior, holes) if len(holes) < len(shape.interiors) else shape


def is_slit(hole: Polygon) -> bool:
    """Nowhere as wide as 0.6 mm."""
    return bool(hole.buffer(-SLIT_MM / 2).is_empty)


def lines_in(net: Net, mask: Bools) -> MultiLineString:
    """The chosen segments as lines, joined end to end where nothing branches."""
    parts = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(as_linestrings(net.xy[mask]))))
    return MultiLineString(parts[(shapely.get_type_id(parts) == 1) & (shapely.length(parts) > 0)].tolist())


def _beside(net: Net, polygons: Shapes) -> Ints:
    beside = np.full((len(net), 2), -1, np.intp)
    if not len(polygons):
        return beside
    rings, cell_of_ring = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[:-1] == ring[1:]
    xy, cell = np.hstack([points[:-1], points[1:]])[inner], cell_of_ring[ring[:-1][inner]]
    nodes = number_nodes(np.vstack([net.xy, xy]).reshape(-1, 2)).reshape(-1, 2)
    nodes.sort(axis=1)
    key = nodes[:, 0] * (int(nodes.max()) + 1) + nodes[:, 1]
    own, found = key[: len(net)], key[len(net) :]
    order = np.argsort(own, kind="stable")
    at = order[np.clip(np.searchsorted(own[order], found), 0, len(own) - 1)]
    fits = own[at] == found
    at, cell = at[fits], cell[fits]
    second = np.zeros(len(at), bool)
    by_segment = np.argsort(at, kind="stable")
    second[by_segment[1:]] = at[by_segment][1:] == at[by_segment][:-1]
    beside[at[~second], 0] = cell[~second]
    beside[at[second], 1] = cell[second]
    return beside


def group_lengths(cells: Cells, mask: Bools, groups: int) -> Floats:
    """Length in mm of the chosen segments that border each of ``groups`` groups."""
    sides = cells.group_beside[mask]
    length = lengths_of(cells.net.xy[mask])
    total = np.zeros(groups)
    for side in (0, 1):
        known = sides[:, side] >= 0
        np.add.at(total, sides[known, side], length[known])
    return total
