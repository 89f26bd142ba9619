"""The builder of one content stream's ``Content``, and the boxes of its paths, a chunk at a time.

Millions of rows go through here. They are lists for the length of a chunk and arrays from then on, and all boxes of a
chunk's paths come from one reduction over its path operators.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import IDENTITY, Box, Matrix
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.stream_content import (
    EDIT_COLUMNS,
    Call,
    Content,
    Dash,
    FormFacts,
    GlyphShow,
    PatternText,
    ShadingFill,
    StateFont,
    StreamContext,
    Undrawn,
)
from preflight.artwork.pdf.content.tokens import Chunk, operator_code
from preflight.artwork.pdf.images.image_dictionaries import ImageUse

_INFINITE = math.inf
_RE = operator_code(b"re")
_PATH_POINTS = [
    (operator_code(b"m"), 2, (-2,)),
    (operator_code(b"l"), 2, (-2,)),
    (operator_code(b"c"), 6, (-6, -4, -2)),
    (operator_code(b"v"), 4, (-4, -2)),
    (operator_code(b"y"), 4, (-4, -2)),
]
PATH_CODES = np.array([code for code, _, _ in _PATH_POINTS] + [_RE, operator_code(b"h")])


class PathBoxes:
    """Bounding boxes of the path operators of a chunk, all at once; infinite for all other operators."""

    def __init__(self, chunk: Chunk) -> None:
        n = len(chunk.operator_code)
        self.low = np.full((n, 2), _INFINITE)
        self.high = np.full((n, 2), -_INFINITE)
        count = chunk.operator_token - chunk.operands_from
        for code, needed, pairs in _PATH_POINTS:
            at = np.flatnonzero((chunk.operator_code == code) & (count >= needed))
            for x in pairs:
                self._take(at, chunk.values[chunk.operator_token[at][:, None] + [x, x + 1]])
        at = np.flatnonzero((chunk.operator_code == _RE) & (count >= 4))
        corner = chunk.values[chunk.operator_token[at][:, None] + [-4, -3]]
        self._take(at, corner)
        self._take(at, corner + chunk.values[chunk.operator_token[at][:, None] + [-2, -1]])

    def _take(self, at: NDArray[np.int64], points: NDArray[np.float64]) -> None:
        self.low[at] = np.minimum(self.low[at], points)
        self.high[at] = np.maximum(self.high[at], points)

    def of(self, first: int, last: int) -> Box | None:
        """Bounding box of operators first up to last; None where none of them draws."""
        if last <= first:
            return None
        (x0, y0), (x1, y1) = self.low[first:last].min(0).tolist(), self.high[first:last].max(0).tolist()
        return (x0, y0, x1, y1) if x0 <= x1 else None


class Row(NamedTuple):
    """What one operator paints; of a path that is filled and stroked there are two."""

    painted: int
    state: int
    colour: int
    frame: int
    """Number in the table of frames."""
    layer: int
    hidden: bool
    stroked: bool = False
    path_begin: int = 0
    path_end: int = 0
    font: int = -1
    image: int = -1


ROW_COLUMNS = Row._fields
_NUMBERS, _FLAGS = ("state", "colour", "font", "image", "layer"), ("hidden", "stroked")
_KEPT_COLUMNS: dict[str, type] = {**dict.fromkeys(_NUMBERS, np.int32), **dict.fromkeys(_FLAGS, bool)}
"""Columns that ``Content`` takes over as they are, with the type that they have in it."""


class ContentBuilder:
    """Collects what is read from one stream; ``content`` makes columns of its rows and edits."""

    def __init__(
        self, number: int, data: bytes, context: StreamContext, form: FormFacts, first_colours: tuple[int, int]
    ) -> None:
        """``first_colours``: the numbers of those that it begins to fill and to stroke with."""
        self.number, self.data, self.context, self.form = number, data, context, form
        self.first_fill, self.first_stroke = first_colours
        self.saved: list[tuple[int, int]] = []
        self.calls: list[Call] = []
        self.undrawn: list[Undrawn] = []
        self.shadings: dict[int, ShadingFill] = {}
        self.images: dict[int, ImageUse] = {}
        self.glyph_shows: dict[int, GlyphShow] = {}
        self.state_fonts: list[StateFont] = []
        self.dashes: list[Dash] = []
        self.outlined: dict[int, Matrix] = {}
        self.pattern_text: dict[int, PatternText] = {}
        self.rows: list[Row] = []
        self.edits: list[tuple[int, ...]] = []
        self.settled_rows: list[NDArray[np.int64]] = []
        self.settled_edits: list[NDArray[np.int64]] = []
        self.rows_before = 0
        """Rows of earlier chunks; they stand in ``settled_rows``, where they take a tenth of the memory."""
        self.frames: list[Matrix] = [IDENTITY]
        self.last_frame: Matrix = IDENTITY
        self.path_rows: list[tuple[int, int, int]] = []
        self.run_paths: list[NDArray[np.int64]] = []
        self.path_boxes: list[tuple[NDArray[np.int64], NDArray[np.float64]]] = []
        self.carried_boxes: list[tuple[int, Box]] = []
        self.placed_boxes: list[tuple[int, Box]] = []

    def add(self, row: Row, box: Box | None = None) -> int:
        """One more row, its number; ``box`` for all but paths, whose boxes come at the end of the chunk."""
        number = self.rows_before + len(self.rows)
        self.rows.append(row)
        if box is not None:
            self.placed_boxes.append((number, box))
        return number

    def frame_number(self, frame: Matrix) -> int:
        """Number of a matrix in the table of frames."""
        if frame is not self.last_frame:
            self.frames.append(frame)
            self.last_frame = frame
        return len(self.frames) - 1

    def add_run(
        self, rows: NDArray[np.int64], path_rows: NDArray[np.int64], edits: NDArray[np.int64], carried: Box | None
    ) -> None:
        """Rows and edits of a run; its first path row is drawn by ``carried`` too."""
        self._settle_lists()
        if len(rows) and carried is not None:
            # A path that is filled and stroked has two rows.
            first = path_rows[path_rows[:, 2] == path_rows[0, 2], 0]
            self.carried_boxes += [(row, carried) for row in first.tolist()]
        self.settled_rows.append(rows)
        self.settled_edits.append(edits)
        self.run_paths.append(path_rows)
        self.rows_before += len(rows)

    def add_path(self, row: int, first: int, last: int, carried: Box | None) -> None:
        """A path row is drawn by operators first up to last of the chunk, and by ``carried`` from earlier chunks."""
        self.path_rows.append((row, first, last))
        if carried is not None:
            self.carried_boxes.append((row, carried))

    @property
    def count(self) -> int:
        """Rows so far."""
        return self.rows_before + len(self.rows)

    def settle(self, boxes: PathBoxes) -> None:
        """At the end of a chunk: rows and edits to arrays, boxes of the chunk's paths."""
        self._settle_path_boxes(boxes)
        self._settle_lists()

    def _settle_lists(self) -> None:
        if self.rows:
            self.settled_rows.append(np.array(self.rows, np.int64))
            self.rows_before += len(self.rows)
            self.rows.clear()
        if self.edits:
            self.settled_edits.append(np.array(self.edits, np.int64))
            self.edits.clear()

    def _settle_path_boxes(self, boxes: PathBoxes) -> None:
        """Boxes of the rows that this chunk's paths painted: one reduction over all of them."""
        single = np.array(self.path_rows, np.int64).reshape(-1, 3)
        rows, first, last = np.concatenate([single, *self.run_paths]).T
        self.path_rows.clear()
        self.run_paths.clear()
        drawn = last > first
        rows, first, last = rows[drawn], first[drawn], last[drawn]
        if not len(rows):
            return
        cuts = np.column_stack([first, last]).ravel()
        low = np.vstack([boxes.low, np.full((1, 2), _INFINITE)])
        high = np.vstack([boxes.high, np.full((1, 2), -_INFINITE)])
        found = np.column_stack([np.minimum.reduceat(low, cuts)[::2], np.maximum.reduceat(high, cuts)[::2]])
        self.path_boxes.append((rows, found))

    def drop(self) -> None:
        """Forget all rows: what is over a bound is not checked, and columns of millions of rows only cost memory."""
        for kept in (
            self.settled_rows,
            self.settled_edits,
            self.path_boxes,
            self.carried_boxes,
            self.placed_boxes,
            self.calls,
        ):
            kept.clear()
        self.rows_before = 0

    def content(self, damage: Iterable[Undrawn] = ()) -> Content:
        """The stream, read; ``damage`` is what is wrong with the bytes that it was read from."""
        table = np.concatenate([np.zeros((0, len(ROW_COLUMNS)), np.int64), *self.settled_rows])
        column: dict[str, Any] = {name: table[:, i] for i, name in enumerate(ROW_COLUMNS)}
        painted = column["painted"].astype(np.uint8)
        frame = np.array(self.frames, float).reshape(-1, 6)[column["frame"]]
        context = self.context
        return Content(
            number=self.number,
            data=self.data,
            resources=context.resources,
            **self.form._asdict(),
            isolated=context.isolated,
            uncoloured=context.uncoloured,
            depth=context.depth,
            first_fill=self.first_fill,
            first_stroke=self.first_stroke,
            painted=painted,
            **{name: column[name].astype(kind) for name, kind in _KEPT_COLUMNS.items()},
            box=self._row_boxes(painted, frame),
            frame=frame,
            path=table[:, [ROW_COLUMNS.index("path_begin"), ROW_COLUMNS.index("path_end")]],
            # Column by column: writers ask for one of them at a time, of a million edits.
            edits=np.asfortranarray(np.concatenate([np.zeros((0, len(EDIT_COLUMNS)), np.int64), *self.settled_edits])),
            saved=self.saved,
            calls=self.calls,
            undrawn=(*self.undrawn, *damage),
            shadings=self.shadings,
            images=self.images,
            glyph_shows=self.glyph_shows,
            state_fonts=self.state_fonts,
            dashes=self.dashes,
            outlined=self.outlined,
            pattern_text=self.pattern_text,
            total_rows=len(table) + sum(call.content.total_rows for call in self.calls),
        )

    def _row_boxes(self, painted: NDArray[np.uint8], frame: NDArray[np.float64]) -> NDArray[np.float64]:
        """Boxes of all rows through their matrices: paths by the chunk, what chunks carried over, and the rest."""
        boxes = np.tile((_INFINITE, _INFINITE, -_INFINITE, -_INFINITE), (len(painted), 1))
        for rows, found in self.path_boxes:
            boxes[rows, :2] = np.minimum(boxes[rows, :2], found[:, :2])
            boxes[rows, 2:] = np.maximum(boxes[rows, 2:], found[:, 2:])
        for row, box in self.carried_boxes:
            boxes[row, :2] = np.minimum(boxes[row, :2], box[:2])
            boxes[row, 2:] = np.maximum(boxes[row, 2:], box[2:])
        boxes[boxes[:, 2] < boxes[:, 0]] = (0.0, 0.0, -1.0, -1.0)
        is_path = (painted == Painted.FILL) | (painted == Painted.STROKE)
        boxes[is_path] = _boxes_through(frame[is_path], boxes[is_path])
        for row, box in self.placed_boxes:
            boxes[row] = box
        return boxes


def joined(one: Box | None, other: Box | None) -> Box | None:
    """Bounding box of two boxes, either of which may be none."""
    if one is None or other is None:
        return other if one is None else one
    return (min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3]))


def _boxes_through(frames: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Many boxes, each through its own matrix; empty ones (x1 < x0) stay as they are."""
    x = boxes[:, [0, 2, 0, 2]]
    y = boxes[:, [1, 1, 3, 3]]
    with np.errstate(invalid="ignore", over="ignore"):
        u = frames[:, 0:1] * x + frames[:, 2:3] * y + frames[:, 4:5]
        v = frames[:, 1:2] * x + frames[:, 3:4] * y + frames[:, 5:6]
    moved = np.column_stack([u.min(1), v.min(1), u.max(1), v.max(1)])
    moved[boxes[:, 2] < boxes[:, 0]] = (0, 0, -1, -1)
    return moved
