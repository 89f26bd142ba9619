"""Rows of blanks on a sheet."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon


def rows_of(outlines: Sequence[Polygon]) -> list[list[int]]:
    """Places of a list of blanks by rows: the row at the gripper edge first, each from the left.

    A blank that begins less than half a blank further along the travel than the first of a row is in that row.
    """
    boxes = [outline.bounds for outline in outlines]
    rows = list[list[int]]()
    for k in sorted(range(len(boxes)), key=lambda k: (boxes[k][1], boxes[k][0])):
        _, low, _, high = boxes[rows[-1][0]] if rows else boxes[k]
        if rows and boxes[k][1] - low < (high - low) / 2:
            rows[-1].append(k)
        else:
            rows.append([k])
    return [sorted(row, key=lambda k: boxes[k][0]) for row in rows]


def row_order(outlines: Sequence[Polygon]) -> list[int]:
    """Places of a list of blanks, along the gripper edge from the left, then the next row."""
    return [k for row in rows_of(outlines) for k in row]
