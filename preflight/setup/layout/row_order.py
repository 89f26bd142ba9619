"""Rows of blanks on a sheet, and how far neighbours lie apart."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon


def rows_of(outlines: Sequence[Polygon]) -> list[list[int]]:
    """Places of a list of blanks by rows: the row at the gripper edge first, each from the left.

    A row ends where the next blank begins further back than a quarter of its own depth.
    """
    low = [outline.bounds[1] for outline in outlines]
    rows = list[list[int]]()
    for k in sorted(range(len(outlines)), key=lambda k: low[k]):
        depth = outlines[k].bounds[3] - outlines[k].bounds[1]
        if rows and low[k] - low[rows[-1][0]] < depth / 4:
            rows[-1].append(k)
        else:
            rows.append([k])
    return [sorted(row, key=lambda k: outlines[k].bounds[0]) for row in rows]


def row_order(outlines: Sequence[Polygon]) -> list[int]:
    """Places of a list of blanks, along the gripper edge from the left, then the next row."""
    return [k for row in rows_of(outlines) for k in row]


def clear_distances(outlines: Sequence[Polygon]) -> tuple[float, float] | None:
    """Least clear distance in mm of neighbours side by side, and one behind the other; None of a single blank.

    Neighbours whose boxes overlap more along the travel than across the press lie side by side. What no pair tells is
    taken from the other direction.
    """
    least: list[float | None] = [None, None]
    tree = shapely.STRtree(list(outlines))
    for k, outline in enumerate(outlines):
        reach = max(outline.bounds[2] - outline.bounds[0], outline.bounds[3] - outline.bounds[1])
        for other in tree.query(outline, predicate="dwithin", distance=reach):
            if other <= k:
                continue
            mine, its = outline.bounds, outlines[other].bounds
            across = min(mine[2], its[2]) - max(mine[0], its[0])
            along = min(mine[3], its[3]) - max(mine[1], its[1])
            n = 0 if along >= across else 1
            away = float(shapely.distance(outline, outlines[other]))
            before = least[n]
            least[n] = away if before is None else min(before, away)
    first, second = least
    if first is None and second is None:
        return None
    return round(first if first is not None else second or 0.0, 3), round(
        second if second is not None else first or 0.0, 3
    )
