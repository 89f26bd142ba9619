"""Lines of the die as a table of straight pieces, so that thousands of objects can be held against them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
CELL_MM, MOST_CELLS = 1.0, 300
"""Side of the cells in which boxes are sifted, and how many of them a side of the die has at most."""
FEW_BOXES = 500
"""So many are looked up without sifting."""


@dataclass(frozen=True)
class Nearest:
    """The piece of a line that is nearest to something."""

    distance_mm: float
    sort: int
    """Which of the sorts of line it belongs to."""


@dataclass(frozen=True)
class Pieces:
    """Straight pieces of lines (n, 4) in mm, each with the number of the sort of line that it belongs to."""

    xy: Floats
    sort: NDArray[np.int_]

    @classmethod
    def of(cls, lines: Sequence[BaseGeometry]) -> Pieces:
        """Pieces of lines; each of those given is a sort of its own."""
        found, sorts = [np.zeros((0, 4))], [np.zeros(0, np.int_)]
        for number, line in enumerate(lines):
            points, part = shapely.get_coordinates(shapely.get_parts(line), return_index=True)
            within = part[1:] == part[:-1]
            found.append(np.hstack([points[:-1], points[1:]])[within])
            sorts.append(np.full(len(found[-1]), number))
        return cls(np.vstack(found), np.concatenate(sorts))

    def __len__(self) -> int:
        return len(self.xy)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The pieces by place."""
        return shapely.STRtree(shapely.linestrings(self.xy.reshape(-1, 2, 2)))

    @cached_property
    def _extents(self) -> tuple[Floats, Floats]:
        """Lower-left and upper-right corners of the pieces."""
        return np.minimum(self.xy[:, :2], self.xy[:, 2:]), np.maximum(self.xy[:, :2], self.xy[:, 2:])

    @cached_property
    def _slanting(self) -> NDArray[np.bool_]:
        low, high = self._extents
        slanting: NDArray[np.bool_] = (high - low).min(1) > 0.01
        return slanting

    def near(self, boxes: Floats, mm: float) -> NDArray[np.bool_]:
        """Which of the boxes (n, 4) come within a distance of a piece."""
        found = np.zeros(len(boxes), bool)
        if len(self) and len(boxes):
            many = len(boxes) > FEW_BOXES
            likely = np.flatnonzero(self._in_cells(boxes, mm)) if many else np.arange(len(boxes))
            found[likely] = self._near_by(boxes[likely], mm)
        return found

    def _near_by(self, boxes: Floats, mm: float) -> NDArray[np.bool_]:
        """See ``near``; each box is held against every piece about it."""
        # A tree asks for the bounding box only, and that of a line is made in less time than a box.
        about = shapely.linestrings((boxes + mm * np.array([-1, -1, 1, 1])).reshape(-1, 2, 2))
        hit, piece = self.tree.query(about)
        low, high = self._extents
        apart = np.maximum(np.maximum(low[piece] - boxes[hit, 2:], boxes[hit, :2] - high[piece]), 0)
        distance = np.hypot(apart[:, 0], apart[:, 1])  # from a level or upright piece; a slanting one may be farther
        close, slanting = distance <= mm, self._slanting[piece]
        found = np.zeros(len(boxes), bool)
        found[hit[close & ~slanting]] = True
        for likeliest in (True, False):  # one piece for each box, then all of them for those that are left
            rest = np.flatnonzero(close & slanting & ~found[hit])
            if likeliest:
                rest = rest[np.lexsort((distance[rest], hit[rest]))]
                rest = rest[np.unique(hit[rest], return_index=True)[1]]
            lines = shapely.linestrings(self.xy[piece[rest]].reshape(-1, 2, 2))
            found[hit[rest[shapely.distance(shapely.box(*boxes[hit[rest]].T), lines) <= mm]]] = True
        return found

    def _in_cells(self, boxes: Floats, mm: float) -> NDArray[np.bool_]:
        """Boxes that touch a cell that a piece comes near; sifts hundreds of thousands in no time, and drops none."""
        low, high = self._extents
        low, high = low - mm, high + mm
        origin = low.min(0)
        side = max(CELL_MM, float((high.max(0) - origin).max()) / MOST_CELLS)

        def cell(xy: Floats) -> NDArray[np.int_]:
            return np.asarray(np.floor((xy - origin) / side).clip(-1, MOST_CELLS + 1), np.int_)

        first, last = cell(low), cell(high)
        columns, rows = last.max(0) + 1
        (x0, y0), (x1, y1) = (first + 1).T, (last + 2).T
        steps = np.zeros((rows + 2, columns + 2), np.int32)  # up where a piece begins, down where it ends
        for y, x, step in ((y0, x0, 1), (y0, x1, -1), (y1, x0, -1), (y1, x1, 1)):
            np.add.at(steps, (y, x), step)
        near = steps.cumsum(0, out=steps).cumsum(1, out=steps)[:-1, :-1] > 0
        total = near.cumsum(0, dtype=np.int32).cumsum(1, dtype=np.int32)  # of all cells up to and with one
        begin = cell(boxes[:, :2]).clip(0, (columns, rows))
        end = (cell(boxes[:, 2:]) + 1).clip(0, (columns, rows))
        (x0, y0), (x1, y1) = begin.T, np.maximum(begin, end).T
        touched: NDArray[np.bool_] = total[y1, x1] - total[y0, x1] - total[y1, x0] + total[y0, x0] > 0
        return touched

    def nearest(self, matters: Sequence[NDArray[np.object_]]) -> list[Nearest]:
        """For each of several groups of shapes the piece nearest to any of them."""
        if not len(matters):
            return []
        (_, piece), distance = self.tree.query_nearest(np.concatenate(matters), return_distance=True, all_matches=False)
        ends = np.cumsum([len(shapes) for shapes in matters])[:-1]
        best = [(own, int(np.argmin(own))) for own in np.split(distance, ends)]
        return [
            Nearest(float(own[at]), int(self.sort[pieces[at]]))
            for (own, at), pieces in zip(best, np.split(piece, ends), strict=True)
        ]

    def strips(self, box: Sequence[float], mm: float) -> list[tuple[float, float, float, float]]:
        """The parts of a box within a distance of each piece that comes that near."""
        x0, y0, x1, y1 = box
        found = []
        for piece in self.tree.query(shapely.box(x0 - mm, y0 - mm, x1 + mm, y1 + mm)):
            a, b, c, d = self.xy[piece].tolist()
            strip = (max(x0, min(a, c) - mm), max(y0, min(b, d) - mm), min(x1, max(a, c) + mm), min(y1, max(b, d) + mm))
            if strip[0] < strip[2] and strip[1] < strip[3]:
                found.append(strip)
        return found
