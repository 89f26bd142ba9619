"""Rows of a page's streams to one table of painted objects, in millimetres on the page as displayed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import NOWHERE, Box, Matrix, box_through, overlap, singular_values, times
from preflight.artwork.page.objects import ImageFacts, ObjectTable, Painted
from preflight.artwork.page.page import OverBound
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.page_content import MOST_ROWS, PageContent, over_bound
from preflight.artwork.pdf.content.path_outlines import outlines
from preflight.artwork.pdf.content.stream_content import Content

_POINTS_PER_MM = 72 / 25.4


@dataclass
class _Gathered:
    """Columns of the table, a piece for each stretch of a stream."""

    source: list[NDArray[np.int32]] = field(default_factory=list)  # (n, 3): content, row, matrix
    box: list[NDArray[np.float64]] = field(default_factory=list)
    clip: list[NDArray[np.float64]] = field(default_factory=list)
    frame: list[NDArray[np.float64]] = field(default_factory=list)
    matrices: list[Matrix] = field(default_factory=list)
    undrawn: list[UncertainPlace] = field(default_factory=list)
    over_bounds: list[OverBound] = field(default_factory=list)
    rows: int = 0


_CLOSING: Final = re.compile(rb"\s*(?:W\*?\s+)?(?:s|b\*?)(?![^\s\[\](<>/%])")
"""An operator that closes the path before it paints it (ISO 32000-2, table 59)."""


@dataclass
class PageObjects(ObjectTable):
    """The table with the way back to the streams, for outlines."""

    contents: Sequence[Content] = ()
    source: NDArray[np.int32] = field(default_factory=lambda: np.zeros((0, 3), np.int32))
    matrices: list[Matrix] = field(default_factory=list)
    undrawn: list[UncertainPlace] = field(default_factory=list)
    """What could not be read, wherever it would show."""
    over_bounds: list[OverBound] = field(default_factory=list)
    """What is not in the table because there is too much of it."""

    def paths(self, rows: NDArray[np.int_]) -> list[list[NDArray[np.float64]]]:
        """See ``ObjectTable.paths``."""
        found: list[list[NDArray[np.float64]]] = []
        for row in np.asarray(rows).tolist():
            number, local, matrix = self.source[row].tolist()
            content = self.contents[number]
            begin, end = content.path[local].tolist()
            if end <= begin:
                found.append([])
                continue
            to_page = times(content.frame[local].tolist(), self.matrices[matrix])
            closes = b" h" if _CLOSING.match(content.data, end) else b""
            found.append(outlines(content.data[begin:end] + closes, to_page))
        return found


def flatten(content: PageContent, to_mm: Matrix, page_box: Box) -> PageObjects:
    """All rows of a page in painting order."""
    gathered = _Gathered()
    _visit(content.states, gathered, content.stream, to_mm, page_box)
    return _table(content, gathered)


def _visit(states: Sequence[PaintState], gathered: _Gathered, content: Content, matrix: Matrix, clip_mm: Box) -> None:
    gathered.matrices.append(matrix)
    done = 0
    for because, box, inks in content.undrawn:
        shown = clip_mm if box is None else overlap(clip_mm, box_through(matrix, box))
        if shown != NOWHERE:
            gathered.undrawn.append(UncertainPlace(because, shown, inks, unread=True))
    place = _Place(states, len(gathered.matrices) - 1, matrix, clip_mm)
    for call in content.calls:
        _take(gathered, content, (done, call.row), place)
        done = call.row
        if call.content.total_rows == 0 and not call.content.misses_something:
            continue
        if gathered.rows + call.content.total_rows > MOST_ROWS:
            bound = over_bound(f"more than {MOST_ROWS:,} painted objects, counting every repeat of a form")
            gathered.over_bounds += [bound] if bound not in gathered.over_bounds else []
            continue
        _visit(
            states, gathered, call.content, times(call.matrix, matrix), overlap(clip_mm, box_through(matrix, call.clip))
        )
    _take(gathered, content, (done, len(content.painted)), place)


class _Place(NamedTuple):
    """Where a stream is placed on the page."""

    states: Sequence[PaintState]
    number: int
    """Of the matrix."""
    matrix: Matrix
    clip_mm: Box


def _take(gathered: _Gathered, content: Content, stretch: tuple[int, int], place: _Place) -> None:
    first, last = stretch
    if last <= first:
        return
    rows = slice(first, last)
    source = np.empty((last - first, 3), np.int32)
    source[:, 0], source[:, 1], source[:, 2] = content.number, np.arange(first, last), place.number
    gathered.source.append(source)
    gathered.box.append(_through(place.matrix, content.box[rows]))
    states, inverse = np.unique(content.state[rows], return_inverse=True)
    own = (place.states[number].clip for number in states.tolist())
    clips = np.array([overlap(place.clip_mm, box_through(place.matrix, clip)) for clip in own])
    gathered.clip.append(clips[inverse])
    a, b, c, d, _, _ = place.matrix
    linear = content.frame[rows, :4].reshape(-1, 2, 2) @ np.array([[a, b], [c, d]])
    gathered.frame.append(linear.reshape(-1, 4))
    gathered.rows += last - first


def _through(matrix: Matrix, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    a, b, c, d, e, f = matrix
    x, y = boxes[:, [0, 2, 0, 2]], boxes[:, [1, 1, 3, 3]]
    with np.errstate(invalid="ignore", over="ignore"):
        u, v = a * x + c * y + e, b * x + d * y + f
    moved = np.column_stack([u.min(1), v.min(1), u.max(1), v.max(1)])
    moved[boxes[:, 2] < boxes[:, 0]] = (0, 0, -1, -1)
    return moved


def _joined(pieces: list[NDArray[np.float64]], columns: int) -> NDArray[np.float64]:
    return np.concatenate(pieces) if pieces else np.zeros((0, columns))


def _table(content: PageContent, gathered: _Gathered) -> PageObjects:
    source = np.concatenate(gathered.source) if gathered.source else np.zeros((0, 3), np.int32)
    box, clip = _joined(gathered.box, 4), _joined(gathered.clip, 4)
    frame = _joined(gathered.frame, 4)
    local, state = _local_columns(content.streams, source), _state_columns(content.states)
    painted, number, stroked = local["painted"], local["state"], local["stroked"]
    is_stroke, is_text = painted == Painted.STROKE, painted == Painted.TEXT
    scale_small, scale_large = singular_values(frame)
    line_width = _pick(state["line_width"], number)
    box, shown, clipped_out = _boxes(box, clip, np.where(is_stroke, line_width * scale_large / 2, 0.0))
    unseen_text = is_text & np.isin(_pick(state["render_mode"], number), (3, 7))
    return PageObjects(
        painted=painted.astype(np.uint8),
        box_mm=np.nan_to_num(box).clip(-1e6, 1e6).astype(np.float32),
        shown_mm=shown.astype(np.float32),
        visible=~(clipped_out | unseen_text | local["hidden"].astype(bool)),
        colour=local["colour"],
        overprint=_by_stroke(stroked, state, number, "overprint").astype(bool),
        opm=_pick(state["opm"], number).astype(np.uint8),
        alpha=_by_stroke(stroked, state, number, "alpha").astype(np.float32),
        line_width_mm=np.where(is_stroke, line_width * scale_small, 0.0).astype(np.float32),
        text_size_pt=np.where(is_text, np.hypot(frame[:, 2], frame[:, 3]) * _POINTS_PER_MM, 0).astype(np.float32),
        ppi=_resolution(content.images, local["image"], frame),
        font=local["font"],
        image=local["image"],
        layer=local["layer"],
        dashed=_pick(state["dashed"], number).astype(bool) & is_stroke,
        colours=content.colours,
        fonts=list(content.fonts),
        images=list(content.images),
        contents=content.streams,
        source=source,
        matrices=gathered.matrices,
        undrawn=list(dict.fromkeys(gathered.undrawn)),
        over_bounds=gathered.over_bounds,
    )


def _boxes(
    box: NDArray[np.float64], clip: NDArray[np.float64], grow: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Boxes grown by their strokes, what clips leave of them, all zero for nothing, and where that is so."""
    drawn = box[:, 2] >= box[:, 0]
    box = np.where(drawn[:, None], box + np.column_stack([-grow, -grow, grow, grow]), box)
    shown = np.column_stack([np.maximum(box[:, :2], clip[:, :2]), np.minimum(box[:, 2:], clip[:, 2:])])
    clipped_out = ~drawn | (shown[:, 2] < shown[:, 0]) | (shown[:, 3] < shown[:, 1]) | ~np.isfinite(box).all(1)
    clipped_out |= (clip == np.array(NOWHERE)).all(1)
    shown[clipped_out] = 0
    return box, shown, clipped_out


def _state_columns(states: Sequence[PaintState]) -> dict[str, NDArray[Any]]:
    """What the table takes over from graphics states, by name."""
    found = {
        "stroke_overprint": [state.overprint.stroke for state in states],
        "fill_overprint": [state.overprint.fill for state in states],
        "opm": [state.overprint.mode for state in states],
        "stroke_alpha": [state.stroke_alpha for state in states],
        "fill_alpha": [state.fill_alpha for state in states],
        "line_width": [state.line_width for state in states],
        "dashed": [state.dashed for state in states],
        "render_mode": [state.render_mode for state in states],
    }
    return {name: np.array(column) if column else np.zeros(1) for name, column in found.items()}


def _pick(column: NDArray[Any], number: NDArray[np.int32]) -> NDArray[Any]:
    return column[number] if len(number) else np.zeros(0)


def _by_stroke(
    stroked: NDArray[np.generic], state: dict[str, NDArray[np.generic]], number: NDArray[np.int32], name: str
) -> NDArray[np.generic]:
    return np.where(stroked, _pick(state[f"stroke_{name}"], number), _pick(state[f"fill_{name}"], number))


def _local_columns(contents: Sequence[Content], source: NDArray[np.int32]) -> dict[str, NDArray[np.int32]]:
    """Columns that a matrix does not change, picked stream by stream."""
    columns = {
        name: np.zeros(len(source), np.int32)
        for name in ("painted", "state", "colour", "font", "image", "layer", "hidden", "stroked")
    }
    if not len(source):
        return columns
    order = np.argsort(source[:, 0], kind="stable")
    numbers, begins = np.unique(source[order, 0], return_index=True)
    ends = np.append(begins[1:], len(order))
    for number, begin, end in zip(numbers.tolist(), begins.tolist(), ends.tolist(), strict=True):
        rows = order[begin:end]
        for name, column in columns.items():
            column[rows] = getattr(contents[number], name)[source[rows, 1]]
    return columns


def _resolution(
    images: Sequence[ImageFacts], image: NDArray[np.int32], frame: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Samples to the inch as placed: pixels over the drawn length of the unit square's sides (ISO 32000-2, 8.9.4)."""
    ppi = np.zeros(len(image), np.float32)
    placed = np.flatnonzero(image >= 0)
    if not len(placed):
        return ppi
    pixels = np.array([(facts.width_px, facts.height_px) for facts in images], float)[image[placed]]
    sides = np.column_stack(
        [np.hypot(frame[placed, 0], frame[placed, 1]), np.hypot(frame[placed, 2], frame[placed, 3])]
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        ppi[placed] = np.nan_to_num((pixels / sides * 25.4).min(1), nan=0, posinf=0)
    return ppi
