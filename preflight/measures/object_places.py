"""Where objects stand: their true shapes, and whether they reach inside the cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.colours import Wanted
from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.findings import Place

Rows = NDArray[np.int_]

FRINGE_MM: Final = 0.1
"""What reaches inside the cut by no more than this does not count as inside."""
MOST_EXACT: Final = 3000
"""Objects that cross the cut and are looked at by their true shape; of the rest the box has to do."""
MM_PER_PT: Final = 25.4 / 72
NO_LETTERS: Final = 0.22
"""Of the size of type: so much of the box of a text is above its capitals, or below its base line."""
MOST_COVERS: Final = 200
MOST_PLACES: Final = 40
MANY_BOXES: Final = 400
"""From so many on, boxes near each other are joined first."""
MOST_SHOWN: Final = 12
"""Places of one fault that are shown, the largest first; the rest is counted."""


def shape_of(objects: ObjectTable, row: int) -> BaseGeometry:
    """What an object covers, in mm, cut to what is shown of it: strokes with their width, fills with their holes.

    Text, images and shadings are their boxes.
    """
    shown = shapely.box(*objects.shown_mm[row].astype(float))
    if objects.painted[row] not in (Painted.FILL, Painted.STROKE):
        return shown
    subpaths = [points for points in objects.paths(np.array([row]))[0] if len(points) > 1]
    if objects.painted[row] == Painted.STROKE:
        lines = shapely.multilinestrings([shapely.linestrings(points) for points in subpaths])
        shape = shapely.buffer(lines, max(float(objects.line_width_mm[row]), 0.02) / 2, quad_segs=4)
    else:
        rings = [shapely.make_valid(shapely.polygons(points)) for points in subpaths if len(points) > 2]
        shape = shapely.Polygon()
        for ring in rings:
            shape = shapely.symmetric_difference(shape, ring)
    return shapely.intersection(shapely.make_valid(shape), shown)


def reaching_inside(objects: ObjectTable, rows: Rows, inside: BaseGeometry) -> Rows:
    """Those of the rows that show something inside a shape, by more than a fringe."""
    if not len(rows) or (inner := shapely.buffer(inside, -FRINGE_MM)).is_empty:
        return rows[:0]
    shapely.prepare(inner)
    boxes = shapely.box(*objects.shown_mm[rows].astype(float).T)
    touching = shapely.intersects(inner, boxes)
    doubtful = touching & ~shapely.covers(inner, boxes)
    texts = doubtful & (objects.painted[rows] == Painted.TEXT)
    touching[texts] = _letters_reach(inner, boxes[texts], objects.text_size_pt[rows[texts]].astype(float) * MM_PER_PT)
    for index in np.flatnonzero(doubtful & ~texts)[:MOST_EXACT]:
        touching[index] = inner.intersects(shape_of(objects, int(rows[index])))
    return rows[np.flatnonzero(touching)]


def _letters_reach(inner: BaseGeometry, boxes: NDArray[np.object_], size_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether letters may reach inside with the boxes of their texts, which are higher and deeper than most letters."""
    x0, y0, x1, y1 = shapely.bounds(shapely.intersection(inner, boxes)).T
    reach: NDArray[np.bool_] = np.minimum(x1 - x0, y1 - y0) >= NO_LETTERS * size_mm
    return reach


@dataclass(frozen=True)
class Covers:
    """Opaque fills that do not overprint: what is painted before one of them and lies within it does not show."""

    objects: ObjectTable
    rows: Rows
    boxes: NDArray[np.float32]
    """Their sides, (4, rows)."""
    shapes: dict[int, BaseGeometry] = field(default_factory=dict)
    """Those that were looked at."""

    @classmethod
    def of(cls, objects: ObjectTable) -> Covers:
        """Those of a page."""
        opaque = (objects.painted == Painted.FILL) & objects.visible & ~objects.overprint & (objects.alpha >= 1)
        rows = np.flatnonzero(opaque)
        return cls(objects, rows, objects.shown_mm[rows].T.copy())

    def hide(self, row: int, box: Box, shape: BaseGeometry | None = None) -> bool:
        """Whether a single one of them, painted after the row, covers a box of it, or the shape that the box holds."""
        later = int(np.searchsorted(self.rows, row, side="right"))
        x0, y0, x1, y1 = self.boxes[:, later:]
        around = later + np.flatnonzero((x0 <= box[0]) & (y0 <= box[1]) & (x1 >= box[2]) & (y1 >= box[3]))
        if shape is None and len(around):
            shape = shapely.box(*box)
        others = self.rows[around[:MOST_COVERS]].tolist()
        return any(shapely.covers(self._shape_of(other), shape) for other in others)

    def _shape_of(self, row: int) -> BaseGeometry:
        if row not in self.shapes:
            self.shapes[row] = shape_of(self.objects, row)
        return self.shapes[row]


def boxes_of(objects: ObjectTable, rows: Rows | Sequence[int]) -> list[Box]:
    """What is shown of each of the rows, in plain numbers."""
    boxes = objects.shown_mm[np.asarray(rows, int)].astype(float).tolist()
    return [(x0, y0, x1, y1) for x0, y0, x1, y1 in boxes]


def painting(objects: ObjectTable, wanted: NDArray[np.bool_] | None = None) -> Rows:
    """Rows that show something, of those wanted."""
    shows = objects.visible & (objects.alpha > 0)
    return np.flatnonzero(shows if wanted is None else shows & wanted)


def of_colours(objects: ObjectTable, wanted: Wanted) -> NDArray[np.bool_]:
    """Rows whose colour is wanted; see ``Colours.where``."""
    answers = objects.colours.where(wanted)
    found: NDArray[np.bool_] = answers[objects.colour] if len(objects) else np.zeros(0, bool)
    return found


def places_of(objects: ObjectTable, rows: Rows, page: int, separation: str | None = None) -> tuple[Place, ...]:
    """One place an object; where there are many, objects near each other share one."""
    return tuple(Place(box, page, separation) for box in gathered(objects.shown_mm[rows].astype(float)))


def shown_of(places: Sequence[Place]) -> tuple[tuple[Place, ...], str]:
    """The places that are shown, and words for the rest: `` and 7 smaller ones``; empty where all are shown."""
    rest = len(places) - MOST_SHOWN
    return tuple(places[:MOST_SHOWN]), f" and {rest} smaller one{'' if rest == 1 else 's'}" if rest > 0 else ""


def gathered(boxes: Sequence[Sequence[float]] | NDArray[np.float64], most: int = MOST_PLACES) -> list[Box]:
    """At most so many boxes that hold all: neighbours are joined over ever wider gaps."""
    held = np.array(boxes, float).reshape(-1, 4)
    side_mm, gap_mm = 10.0, 1.0
    while len(held) > MANY_BOXES:
        squares = np.floor(held[:, :2] / side_mm).astype(int)
        squares -= squares.min(0)
        held = _joined(held, squares[:, 0] * (int(squares[:, 1].max()) + 1) + squares[:, 1])
        side_mm *= 2
    while len(held) > most:
        grown = shapely.box(*(held + np.array([-gap_mm, -gap_mm, gap_mm, gap_mm])).T)
        tree = shapely.STRtree(shapely.get_parts(shapely.union_all(grown)))
        group, member = tree.query(shapely.points(held[:, :2]), predicate="intersects")
        owner = np.zeros(len(held), int)
        owner[group] = member
        held = _joined(held, owner)
        gap_mm *= 2
    return [(x0, y0, x1, y1) for x0, y0, x1, y1 in held.tolist()]


def _joined(boxes: NDArray[np.float64], owner: NDArray[np.int_]) -> NDArray[np.float64]:
    """Boxes of one owner joined into one, in the owners' order."""
    order = np.argsort(owner, kind="stable")
    first = np.concatenate([[0], np.flatnonzero(np.diff(owner[order])) + 1])
    low, high = np.minimum.reduceat(boxes[order, :2], first), np.maximum.reduceat(boxes[order, 2:], first)
    return np.hstack([low, high])


def registration_rows(objects: ObjectTable) -> Rows:
    """Objects painted in registration colour (Separation All) at any tint above 0."""
    wanted = of_colours(objects, lambda family: family.registration and family.most() > 0)
    return painting(objects, wanted)
