"""Grounds of tilings: what fills a cell from edge to edge is painted once for all cells, and below them.

Each cell covers the pixels along its edge by a part only, as its neighbour does, so that a ground of many cells would
let a quarter of what lies below show along every seam, and a solid of fine cells would be one of 93 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from preflight.artwork.page.geometry import IDENTITY, Box, Matrix
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.path_outlines import outlines
from preflight.artwork.pdf.content.stream_content import Content, TilingCell
from preflight.artwork.pdf.structure.values import lookup, number

MOST_GROUNDS: Final = 4
JOINED_MM: Final = 20.0
_SLACK: Final = 1e-3
"""Of a step: what cells may overlap or be apart by, and still touch."""


class Ground(NamedTuple):
    """A fill of a cell that its neighbours carry on."""

    row: int
    across: bool
    """From the left edge of the cell to the right one."""
    up: bool

    def alone(self, content: Content) -> Content:
        """The cell with nothing but this in it."""
        hidden = np.ones(len(content.painted), bool)
        hidden[self.row] = False
        return replace(content, hidden=hidden)

    def places(
        self, bbox: Box, reach: tuple[float, float], columns: Sequence[float], rows: Sequence[float]
    ) -> Iterator[bytes]:
        """Matrices that stretch one cell's over all columns or rows, at these places in pattern space.

        ``reach`` is how far the last of them goes on: a step, or several where the cells are joined.
        """
        across = [_stretched(bbox[0], bbox[2], reach[0], columns)] if self.across else [(1.0, x) for x in columns]
        up = [_stretched(bbox[1], bbox[3], reach[1], rows)] if self.up else [(1.0, y) for y in rows]
        for high, y in up:
            for wide, x in across:
                yield b"%.6f 0 0 %.6f %.6f %.6f cm" % (wide, high, x, y)


def without(content: Content, found: Sequence[Ground]) -> Content:
    """The cell without its grounds: painted twice, the edges of a stripe would have too much ink."""
    hidden = content.hidden.copy()
    hidden[[ground.row for ground in found]] = True
    return replace(content, hidden=hidden) if found else content


def joined(content: Content, found: Sequence[Ground], to_mm: Matrix) -> int:
    """How many cells may be taken for one each way: where there is nothing but ground they are all alike.

    Not too many, since PDFium paints nothing where a cell is very large; ``to_mm`` is from pattern space.
    """
    if not is_all_ground(content, found) or content.bbox is None:
        return 1
    x0, y0, x1, y1 = content.bbox
    side_mm = max((x1 - x0) * math.hypot(*to_mm[:2]), (y1 - y0) * math.hypot(*to_mm[2:4]))
    return max(1, int(JOINED_MM / side_mm)) if side_mm > 0 else 1


def is_all_ground(content: Content, found: Sequence[Ground]) -> bool:
    """Whether a cell holds nothing but fills from edge to edge both ways."""
    full = len(found) == len(content.painted) and all(ground.across and ground.up for ground in found)
    return bool(found) and full


def grounds(cell: TilingCell, states: Sequence[PaintState]) -> list[Ground]:
    """Opaque upright rectangles that a cell begins with and that reach across it, in painting order."""
    content, found = cell.content, list[Ground]()
    x_step, y_step = number(lookup(cell.stream, "XStep")), number(lookup(cell.stream, "YStep"))
    if content.bbox is None or not x_step or not y_step or content.knockout or content.lets_show:
        return []
    x0, y0, x1, y1 = content.bbox
    beyond = ((x1 - x0) / abs(x_step) - 1, (y1 - y0) / abs(y_step) - 1)
    if content.calls or max(beyond) > _SLACK:  # cells that overlap have no seams
        return []
    wide, high = (far >= -_SLACK for far in beyond)
    for row in range(min(MOST_GROUNDS, len(content.painted))):
        if not _is_plain(content, row, states):
            break
        left, low, right, top = content.box[row].tolist()
        slack_x, slack_y = (x1 - x0) * _SLACK, (y1 - y0) * _SLACK
        across = wide and left <= x0 + slack_x and right >= x1 - slack_x
        up = high and low <= y0 + slack_y and top >= y1 - slack_y
        if not across and not up:
            break
        found.append(Ground(row, across, up))
    return found


def _is_plain(content: Content, row: int, states: Sequence[PaintState]) -> bool:
    """Whether a row is an opaque rectangle that nothing clips within the cell."""
    state = states[int(content.state[row])]
    if content.painted[row] != Painted.FILL or content.stroked[row] or content.hidden[row]:
        return False
    if not state.hides or content.bbox is None:
        return False
    (x0, y0, x1, y1), clip = content.bbox, state.clip
    if clip[0] > x0 or clip[1] > y0 or clip[2] < x1 or clip[3] < y1:
        return False
    begin, end = content.path[row].tolist()
    paths = outlines(content.data[begin:end], IDENTITY)
    if len(paths) != 1 or len(paths[0]) not in (4, 5):
        return False
    corners = np.unique(paths[0].round(4), axis=0)
    box = np.array([paths[0].min(0), paths[0].max(0)])
    upright = len(corners) == 4 and all(np.isin(corners[:, side], box[:, side].round(4)).all() for side in (0, 1))
    # Drawn in the cell's own space: turned within it, it would have another box.
    return upright and bool(np.allclose(content.box[row], box.ravel(), atol=1e-3 * max(x1 - x0, y1 - y0)))


def _stretched(low: float, high: float, reach: float, places: Sequence[float]) -> tuple[float, float]:
    """A scale and a move that take an interval from before its first place to behind its last: beyond a block of cells
    the next one goes on.
    """
    first, last = places[0] - (high - low), places[-1] + reach
    scale = (high - low + last - first) / (high - low)
    return scale, low + first - scale * low
