"""Long runs of plain operators, all at once: colours set, paths painted, and nothing else of the state changed.

Heavy vector artwork (traced pictures, expanded blends) is made of such runs, hundreds of thousands of objects long.
What comes of them is what one operator at a time would leave; ``tests/test_bulk_operators.py`` holds the two side by
side.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.content_builder import ROW_COLUMNS, Row
from preflight.artwork.pdf.content.stream_content import EditKind
from preflight.artwork.pdf.content.tokens import Chunk, operator_code

SHORTEST_RUN = 64
"""Operators; below that arrays cost more than they save."""

DEVICE_COLOURS = {
    operator_code(word): (stroke, device, count)
    for word, stroke, device, count in (
        (b"g", False, "/DeviceGray", 1),
        (b"G", True, "/DeviceGray", 1),
        (b"rg", False, "/DeviceRGB", 3),
        (b"RG", True, "/DeviceRGB", 3),
        (b"k", False, "/DeviceCMYK", 4),
        (b"K", True, "/DeviceCMYK", 4),
    )
}
"""Code to: for strokes, the space, its components."""
PAINTERS = {
    operator_code(word): (fills, strokes)
    for words, fills, strokes in (
        ((b"f", b"F", b"f*"), True, False),
        ((b"S", b"s"), False, True),
        ((b"n",), False, False),
        ((b"B", b"B*", b"b", b"b*"), True, True),
    )
    for word in words
}
"""Code to: fills, strokes."""
CHOOSING = {False: operator_code(b"cs"), True: operator_code(b"CS")}
"""By strokes: what chooses a colour space."""
SETTING = {False: [operator_code(b"sc"), operator_code(b"scn")], True: [operator_code(b"SC"), operator_code(b"SCN")]}
"""By strokes: what sets a colour in it."""
_PLAIN = np.array([*DEVICE_COLOURS, *PAINTERS, *CHOOSING.values(), *SETTING[False], *SETTING[True]])
_STROKE_COLOURS = [code for code, (strokes, _, _) in DEVICE_COLOURS.items() if strokes] + [
    CHOOSING[True],
    *SETTING[True],
]
_FILLERS = np.array([code for code, (fills, _) in PAINTERS.items() if fills])
_STROKERS = np.array([code for code, (_, strokes) in PAINTERS.items() if strokes])

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Acting:
    """Operators of a chunk that are no path construction, one entry each."""

    operator: Ints
    """Number in the chunk."""
    code: Ints
    first: Ints
    """Token of its first operand."""
    token: Ints
    drawn: Ints
    """First byte of the path construction since the one before it; -1 for none. A whole chunk has one more, its end."""

    def part(self, begin: int, end: int) -> Acting:
        """Entries begin up to end."""
        cut = slice(begin, end)
        return Acting(self.operator[cut], self.code[cut], self.first[cut], self.token[cut], self.drawn[cut])


def stretches(code: Ints) -> Iterator[tuple[int, int, bool]]:
    """Cuts acting operators into stretches: begin, end, and whether it is a run of plain ones."""
    plain = np.append(np.isin(code, _PLAIN), False)
    turns = np.flatnonzero(plain[1:] != plain[:-1]) + 1
    begins = turns[~plain[turns - 1]] if not plain[0] else np.append(0, turns[~plain[turns - 1]])
    ends = turns[plain[turns - 1]]
    done = 0
    long = ends - begins >= SHORTEST_RUN
    for begin, end in zip(begins[long].tolist(), ends[long].tolist(), strict=True):
        if begin > done:
            yield done, begin, False
        yield begin, end, True
        done = end
    if done < len(code):
        yield done, len(code), False


@dataclass
class PlainRun:
    """What a run leaves. Rows carry the columns of ``ROW_COLUMNS``, edits those of ``EDIT_COLUMNS``."""

    rows: Ints
    path_rows: Ints
    """Row within the run, first and last path operator in the chunk."""
    edits: Ints
    fill: int
    """Colours that it ends with."""
    stroke: int
    last_painter: int
    """Entry of the last painting operator; -1 for none."""


class RunStart(NamedTuple):
    """What a run begins with."""

    fill: int
    """The colours in force, by number."""
    stroke: int
    path_from: int
    """First path operator of the current path."""
    path_byte: int
    """First byte of the current path; -1 for none."""
    row_count: int
    """Rows before it."""
    settled: Row
    """What the rows of all of it have in common."""


def read_run(chunk: Chunk, acting: Acting, colours: NDArray[np.int64], start: RunStart) -> PlainRun:
    """The rows and edits of a run.

    Args:
        chunk: what it stands in.
        acting: its operators.
        colours: for each of them the number of the colour that it sets; -1 for none.
        start: what is in force at its beginning.
    """
    strokes_colour = np.isin(acting.code, _STROKE_COLOURS)
    fill_now = _last(np.where(strokes_colour, -1, colours), start.fill)
    stroke_now = _last(np.where(strokes_colour, colours, -1), start.stroke)
    painters = _painters(chunk, acting, start)
    rows, path_rows = _rows(acting, painters, (fill_now, stroke_now), start)
    kinds = np.where(strokes_colour, EditKind.STROKE_COLOUR, EditKind.FILL_COLOUR)
    edits = _edits(chunk, acting, painters, (kinds, colours), start.row_count)
    last = int(painters.at[-1]) if len(painters.at) else -1
    return PlainRun(rows, path_rows, edits, int(fill_now[-1]), int(stroke_now[-1]), last)


class _Painters(NamedTuple):
    """The painting operators of a run, one entry each."""

    at: Ints
    """Entry among the acting operators."""
    words: Ints
    """First byte of the operator itself."""
    begins: Ints
    """First byte of the path; -1 for none."""
    fills: NDArray[np.bool_]
    strokes: NDArray[np.bool_]
    first_row: Ints
    """Row within the run, of the fill where there is one; the stroke's comes after it."""
    rows: int
    """Of all of them."""


def _painters(chunk: Chunk, acting: Acting, start: RunStart) -> _Painters:
    at = np.flatnonzero(np.isin(acting.code, list(PAINTERS)))
    begins = _path_begins(acting.drawn, at, start.path_byte)
    code = acting.code[at]
    fills, strokes = np.isin(code, _FILLERS) & (begins >= 0), np.isin(code, _STROKERS) & (begins >= 0)
    each = fills.astype(np.int64) + strokes
    words = chunk.start[acting.token[at]]
    return _Painters(at, words, begins, fills, strokes, np.cumsum(each) - each, int(each.sum()))


def _rows(acting: Acting, painters: _Painters, colours_now: tuple[Ints, Ints], start: RunStart) -> tuple[Ints, Ints]:
    """Rows, and which path operators draw them; ``colours_now``: those in force at each acting operator."""
    at = painters.at
    froms = np.append(start.path_from, acting.operator[at] + 1)[:-1]
    rows, path_rows = np.empty((painters.rows, len(ROW_COLUMNS)), np.int64), np.zeros((painters.rows, 3), np.int64)
    rows[:] = start.settled
    column = {name: i for i, name in enumerate(ROW_COLUMNS)}
    for paints, row, painted, now in (
        (painters.fills, painters.first_row, Painted.FILL, colours_now[0]),
        (painters.strokes, painters.first_row + painters.fills, Painted.STROKE, colours_now[1]),
    ):
        to = row[paints]
        rows[to, column["painted"]], rows[to, column["colour"]] = painted, now[at[paints]]
        rows[to, column["stroked"]] = painted == Painted.STROKE
        rows[to, column["path_begin"]], rows[to, column["path_end"]] = painters.begins[paints], painters.words[paints]
        path_rows[to] = np.column_stack([to + start.row_count, froms[paints], acting.operator[at[paints]]])
    return rows, path_rows


def _edits(chunk: Chunk, acting: Acting, painters: _Painters, settings: tuple[Ints, Ints], row_count: int) -> Ints:
    """Edits; ``settings``: for each acting operator the kind of its colour, and the number of it, -1 for none."""
    at, (kinds, colours) = painters.at, settings
    edits = np.full((len(acting.code), 6), -1, np.int64)
    edits[:, 0], edits[:, 1] = chunk.start[acting.first], chunk.end[acting.token]
    edits[:, 2], edits[:, 3] = kinds, colours
    edits[at, 0], edits[at, 2], edits[at, 5] = painters.words, EditKind.PAINT, painters.begins
    edits[at, 3] = np.where(painters.fills, painters.first_row + row_count, -1)
    edits[at, 4] = np.where(painters.strokes, painters.first_row + painters.fills + row_count, -1)
    kept = colours >= 0
    kept[at] = painters.fills | painters.strokes
    return np.asarray(edits[kept])


def _last(values: Ints, first: int) -> Ints:
    """For each entry the last value that is not negative, up to and with it; ``first`` where there is none."""
    padded = np.append(first, values)
    index = np.maximum.accumulate(np.where(padded >= 0, np.arange(len(padded)), 0))
    return np.asarray(padded[index][1:])


def _path_begins(drawn: Ints, painters: Ints, path_byte: int) -> Ints:
    """For each painting operator the first byte of its path: the first construction since the painter before it."""
    if not len(painters):
        return painters
    drawing = np.flatnonzero(drawn >= 0)
    since = np.append(0, painters[:-1] + 1)
    nth = np.searchsorted(drawing, since)
    found = np.append(drawing, len(drawn))[nth]
    begins = np.where(found <= painters, np.append(drawn, -1)[np.minimum(found, len(drawn))], -1)
    if path_byte >= 0:
        begins[0] = path_byte
    return begins
