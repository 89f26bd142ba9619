"""What the drawing of a die shows: its sheet, what its cut lines enclose, its folds, and texts within a blank."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from preflight.errors import NotMeasured
from preflight.inputs.dxf_drawing import DxfDrawing
from preflight.inputs.kind_names import fold
from preflight.quantities import Size

GAP_MM: Final = 0.15
"""Ends of cut lines that miss each other by so little are joined."""
GRID_MM: Final = 0.001
MOST_TOLD: Final = 6
SHEET_EDGES: Final = frozenset({"sheet edge", "sheet", "sheet size", "board edge", "paper edge", "bogen", "bogenrand"})


def sheet_in(drawing: DxfDrawing) -> tuple[tuple[float, float], Size | None]:
    """Lower-left corner of the sheet in the drawing, and its size where a layer shows its edge."""
    edges = [line for layer, own in drawing.lines.items() if " ".join(fold(layer)) in SHEET_EDGES for line in own]
    if not edges:
        return (0.0, 0.0), None
    points = np.concatenate(edges)
    low, high = points.min(0), points.max(0)
    return (float(low[0]), float(low[1])), Size(*(round(float(v), 3) for v in high - low))


def to_sheet_frame(corner: tuple[float, float], size: Size, operator_side: str) -> list[float]:
    """From the drawing to the sheet's frame, as shapely takes a matrix."""
    if operator_side == "left":
        return [1, 0, 0, 1, -corner[0], -corner[1]]
    return [-1, 0, 0, 1, size.across_mm + corner[0], -corner[1]]


def fold_lines(drawing: DxfDrawing) -> list[BaseGeometry]:
    """Creases, perforations and half-cuts, in the drawing's own coordinates."""
    return [shapely.LineString(line) for kind in ("crease", "perforate", "half-cut") for line in drawing.of_kind(kind)]


def closed_outlines(drawing: DxfDrawing) -> list[Polygon]:
    """Everything that cut lines enclose; loose ends that miss their neighbour by a hair are joined.

    Raises:
        NotMeasured: no layer is named as a cut.
    """
    lines = [shapely.LineString(line) for line in drawing.of_kind("cut")]
    if not lines:
        names = ", ".join(sorted(drawing.lines)[:MOST_TOLD])
        raise NotMeasured(
            f"no layer of {drawing.file} is named as a cut (its layers: {names})",
            "a layer that is called Cut, or `rules/names.yaml` with the name that it has",
            "ticket",
        )
    net = shapely.union_all(lines, grid_size=GRID_MM)
    bridges = _bridges(net)
    if bridges:
        net = shapely.union_all([net, *bridges], grid_size=GRID_MM)
    return list(shapely.polygonize(list(_parts(net))).geoms)


def _bridges(net: BaseGeometry) -> list[BaseGeometry]:
    """Short lines from each loose end to the nearest other end, else to the nearest other line."""
    parts = list(_parts(net))
    ends = np.array([(part.coords[0], part.coords[-1]) for part in parts]).reshape(-1, 2)
    nodes, place, count = np.unique(ends, axis=0, return_inverse=True, return_counts=True)
    loose = np.flatnonzero(count[place] == 1)
    targets = [*shapely.points(nodes).tolist(), *parts]
    tree, found = shapely.STRtree(targets), list[BaseGeometry]()
    for k in loose.tolist():
        point, own = shapely.Point(ends[k]), {int(place[k]), len(nodes) + k // 2}
        near = [n for n in tree.query(point, predicate="dwithin", distance=GAP_MM).tolist() if n not in own]
        if near:
            best = min(near, key=lambda n: (n >= len(nodes), float(shapely.distance(point, targets[n]))))
            found.append(shapely.shortest_line(point, targets[best]))
    return [bridge for bridge in found if bridge.length > 0]


def _parts(shape: BaseGeometry) -> Sequence[BaseGeometry]:
    return list(shape.geoms) if hasattr(shape, "geoms") else [shape]


def texts_in(outlines: Sequence[Polygon], drawing: DxfDrawing, to_sheet: Sequence[float], layer: str) -> dict[int, str]:
    """Blank (by its place in the list) to the text of a layer that stands in it."""
    found: dict[int, str] = {}
    for text in drawing.texts:
        if " ".join(fold(text.layer)) == layer:
            point = affine_transform(shapely.Point(text.at), to_sheet)
            inside = [k for k, outline in enumerate(outlines) if outline.covers(point)]
            found.update(dict.fromkeys(inside, text.says))
    return found
