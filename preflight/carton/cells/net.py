"""The net of die lines: noded, with small gaps closed and short creases carried on to the next line."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.carton.cells.gaps import Bridge, ShortCrease, close_gaps, number_nodes, roles_at
from preflight.carton.lines.drawn_lines import (
    GRID_MM,
    ROLES,
    Bools,
    Floats,
    Ints,
    Segments,
    Shapes,
    as_linestrings,
    middles_of,
    near_segments,
)

LINESTRING: Final = 1
"""Among the types of geometry."""


@dataclass(frozen=True)
class Net:
    """Noded segments: ``xy`` (n, 4), node numbers ``a`` and ``b`` (n,), ``role`` (n,), ``line`` (n,) as drawn."""

    xy: Floats
    a: Ints
    b: Ints
    role: NDArray[np.int8]
    line: Ints
    bridges: list[Bridge] = field(default_factory=list)
    short: list[ShortCrease] = field(default_factory=list)
    loose_cuts: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    """Ends of cut lines (k, 2) that meet nothing."""

    def __len__(self) -> int:
        return len(self.xy)

    def without(self, mask: Bools) -> Net:
        """The net less some segments."""
        k = ~mask
        parts = (self.xy[k], self.a[k], self.b[k], self.role[k], self.line[k])
        return Net(*parts, self.bridges, self.short, self.loose_cuts)

    def folding(self, mask: Bools) -> Net:
        """The net with some segments taken for creases."""
        role = np.where(mask, np.int8(ROLES.index("crease")), self.role)
        return Net(self.xy, self.a, self.b, role, self.line, self.bridges, self.short, self.loose_cuts)


def build_net(segments: Segments) -> Net:
    """Nodes the segments against each other and closes gaps of up to a millimetre.

    A loose end goes to the nearest of: the line it meets when carried on straight, another loose end, a line
    beside it. Roles stay with the segments; where lines of two roles lie on each other the cut holds.
    """
    closing = close_gaps(segments)
    xy = np.vstack([closing.segments, closing.bridges])
    edges = _noded(xy)
    points, owner = shapely.get_coordinates(edges, return_index=True)
    inner = owner[:-1] == owner[1:]
    xy = np.hstack([points[:-1], points[1:]])[inner]
    source = Segments(
        np.vstack([segments.xy, closing.bridges]),
        np.concatenate([segments.role, closing.bridge_roles]),
        np.concatenate([segments.line, np.full(len(closing.bridges), -1)]),
    )
    role, line = roles_at(source, middles_of(xy))
    node = number_nodes(xy.reshape(-1, 2)).reshape(-1, 2)
    return Net(xy, node[:, 0], node[:, 1], role, line, closing.found, closing.short, closing.loose_cuts)


def _noded(xy: Floats) -> Shapes:
    """Lines between the places where segments (n, 4) meet, all of them on a grid of a thousandth of a millimetre.

    The grid snaps together what a rounding keeps apart, and takes ten times as long: where every place is on it anyhow
    and none lies so close beside a line that it would be snapped to that, the lines are the same without.
    """
    lines = as_linestrings(xy)
    edges = _lines_of(shapely.unary_union(lines))
    return edges if _is_on_grid(edges) else _lines_of(shapely.unary_union(lines, grid_size=GRID_MM))


def _lines_of(noded: BaseGeometry) -> Shapes:
    parts = shapely.get_parts(noded)
    edges: Shapes = parts[(shapely.get_type_id(parts) == LINESTRING) & (shapely.length(parts) > 0)]
    return edges


def _is_on_grid(edges: Shapes) -> bool:
    """Whether a grid would leave the edges as they are."""
    points, owner = shapely.get_coordinates(edges, return_index=True)
    if len(points) != 2 * len(edges) or not np.array_equal(points, np.round(points, 3)):
        return False
    node = number_nodes(points)
    first = np.unique(node, return_index=True)[1]
    at, edge = near_segments(points[first], points.reshape(-1, 4), 2 * GRID_MM)
    ends = node.reshape(-1, 2)[edge]
    return bool((ends == node[first[at], None]).any(1).all())
