"""What is drawn in a die ink and is no die: counted, named and kept to be shown grey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.carton.cells.choice_of_blanks import NEAREST_PARALLEL_MM, parallel_offset_mm
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.open_cuts import ON_BLANK_MM, open_cuts_of
from preflight.carton.die import OpenCut
from preflight.carton.lines.drawn_lines import Bools, DieLine, Floats, Ints, Shapes, components

WHOLLY: Final = 0.9
CLIPPED_MM: Final = 0.3
SMALLEST_BOX_MM2: Final = 50.0
LONGEST_CROP_MARK_MM: Final = 15.0
CROP_MARK_OFF_MM: Final = 6.0
BEYOND: Final = "line of the carton beyond an open cut"
PLURALS: Final = {
    BEYOND: "lines of the carton beyond an open cut",
    "second outline": "second outlines",
    "legend box": "legend boxes",
    "dimension line": "dimension lines",
    "crop mark": "crop marks",
    "word": "words",
    "frame": "frames",
    "other line": "other lines",
}


@dataclass(frozen=True)
class LeftOut:
    """``shape`` holds the lines, ``says`` counts them; ``used`` masks the drawn lines that are die."""

    shape: BaseGeometry | None
    says: str
    used: Bools
    clipped: int
    """Creases that went past the cut."""
    open_cuts: tuple[OpenCut, ...] = ()


def left_out_of(
    lines: Sequence[DieLine],
    aside: Sequence[DieLine],
    cells: Cells,
    groups: Sequence[int],
    outlines: Sequence[Polygon],
    words: int,
) -> LeftOut:
    """What of the lines lies off the blanks. ``aside`` was known not to be die before, ``words`` counts texts."""
    shapes = np.array([shapely.LineString(line.points) for line in lines], object)
    body = shapely.buffer(shapely.union_all([*outlines]), ON_BLANK_MM, quad_segs=2)
    shapely.prepare(body)
    outside = ~np.atleast_1d(shapely.covered_by(shapes, body)) if len(shapes) else np.zeros(0, bool)
    rest = np.array([shapely.LineString()] * len(lines), object)
    rest[outside] = shapely.difference(shapes[outside], body)
    length, left = np.atleast_1d(shapely.length(shapes)), np.atleast_1d(shapely.length(rest))
    whole = left > WHOLLY * np.maximum(length, 1e-9)
    openings = open_cuts_of(cells, groups, outlines)
    counts = _counts(lines, np.flatnonzero(whole), cells, groups, outlines, openings.beyond)
    counts["dimension line"] = counts.get("dimension line", 0) + sum(line.straight for line in aside)
    counts["word"] = words
    clipped = sum(line.role == "crease" for line in np.array(lines, object)[~whole & (left > CLIPPED_MM)])
    parts = [*rest[whole], *(shapely.LineString(line.points) for line in aside)]
    shape = shapely.union_all(parts) if parts else None
    return LeftOut(shape, _says(counts), ~whole, clipped, openings.found)


def _says(counts: dict[str, int]) -> str:
    told = [f"{n} {name if n == 1 else PLURALS[name]}" for name in PLURALS if (n := counts.get(name, 0))]
    return f"{', '.join(told)} ignored when reading the die" if told else ""


def _counts(
    lines: Sequence[DieLine],
    left: Ints,
    cells: Cells,
    groups: Sequence[int],
    outlines: Sequence[Polygon],
    beyond: Bools,
) -> dict[str, int]:
    """``beyond``: segments of the net that belong to a carton whose cut is not closed."""
    boxes = _legend_boxes(cells, groups, outlines, beyond)
    lost = np.intersect1d(left, cells.net.line[beyond])
    left = np.setdiff1d(left, lost)
    counts = {"legend box": len(boxes), BEYOND: len(lost)}
    if not len(left):
        return counts
    tree = shapely.STRtree(boxes)
    bounds = np.array(shapely.total_bounds(list(outlines)))
    edges = shapely.buffer(shapely.union_all([shape.boundary for shape in outlines]), NEAREST_PARALLEL_MM)
    for number in left:
        line = lines[int(number)]
        if len(boxes) and len(tree.query(shapely.box(*line.points.min(0), *line.points.max(0)), predicate="within")):
            continue
        if shapely.covered_by(shapely.LineString(line.points), edges):
            continue  # the cut drawn again: that is told as a doubt
        name = _name(line, outlines, bounds)
        counts[name] = counts.get(name, 0) + 1
    return counts


def _name(line: DieLine, outlines: Sequence[Polygon], bounds: Floats) -> str:
    if line.closed:
        ring = Polygon(line.points)
        held = [shape for shape in outlines if ring.contains(shape.representative_point())]
        if len(held) == 1 and parallel_offset_mm(held[0], ring) is not None:
            return "second outline"
        return "frame" if held else "other line"
    if line.straight:
        return "crop mark" if _is_crop_mark(line, bounds) else "dimension line"
    return "other line"


def _is_crop_mark(line: DieLine, bounds: Floats) -> bool:
    """Short, upright or level, outside everything, and in line with an edge of it."""
    low, high = line.points.min(0), line.points.max(0)
    size = high - low
    if size.max() > LONGEST_CROP_MARK_MM or size.min() > 0.1:
        return False
    axis = int(size[0] > size[1])  # the axis that it stands still on
    other = 1 - axis
    beyond = high[other] <= bounds[other] + 0.01 or low[other] >= bounds[other + 2] - 0.01
    in_line = min(abs(low[axis] - bounds[axis]), abs(low[axis] - bounds[axis + 2])) <= CROP_MARK_OFF_MM
    return bool(beyond and in_line)


def _legend_boxes(cells: Cells, groups: Sequence[int], outlines: Sequence[Polygon], beyond: Bools) -> list[Polygon]:
    """Cells that hang together, touch no blank, hold none and are no flap beyond an open cut."""
    others = ~np.isin(cells.group, groups)
    others[np.setdiff1d(cells.beside[beyond], [-1])] = False
    if not others.any():
        return []
    sides = cells.beside
    both = (sides >= 0).all(1)
    joined = both & others[sides].all(1)
    label = components(len(cells.polygons), sides[joined, 0], sides[joined, 1])
    mixed = both & (others[sides].sum(1) == 1)
    touching = np.unique(label[sides[mixed][others[sides[mixed]]]])
    boxes = []
    for piece in np.unique(label[others]):
        if piece in touching:
            continue
        shape = _filled(cells.polygons[label == piece])
        if shape.area >= SMALLEST_BOX_MM2 and not any(shape.intersects(blank) for blank in outlines):
            boxes.append(shape.buffer(0.5, join_style="mitre"))
    return boxes


def _filled(polygons: Shapes) -> Polygon:
    whole = shapely.union_all(polygons)
    largest = max(shapely.get_parts(whole), key=lambda part: float(part.area))
    return Polygon(largest.exterior)
