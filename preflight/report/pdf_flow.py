"""Lines that run through the columns of a page and on to the next, each measured before it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, lines_of, width_of

Draw = Callable[[Pen, float, float], None]

MOST_PACKED: Final = 10
"""Blocks of which all ways to stand in columns are tried."""
LEAST_ROOM: Final = 1 / 3
"""Share of the next page's columns that is worth parting a block for."""
UNBROKEN: Final = 8
"""Lines of a paragraph that stay together."""


@dataclass(frozen=True)
class Line:
    """Something of a known height; ``draw`` takes a pen, x and the upper edge."""

    height: float
    draw: Draw
    keep: bool = False
    """Never the last of a column."""
    whole: bool = False
    """With the next one in one column, where one is tall enough."""
    again: Line | None = None
    """The title that is repeated where a column begins with this line."""
    empty: bool = False
    """Room, which no column begins with."""


@dataclass(frozen=True)
class Type:
    """Size of type and width of a column."""

    size: float
    room: float


def heading(text: str, kind: Type) -> list[Line]:
    """A title with a rule over it, which stays with what follows."""
    lines = lines_of(text, kind.size * 1.12, kind.room, bold=True)

    def draw(pen: Pen, x: float, top: float) -> None:
        pen.line(x, top + kind.size * 0.2, x + kind.room, top + kind.size * 0.2, 1.2)
        for k, line in enumerate(lines):
            pen.text(x, top + kind.size * (0.35 + k * LEADING * 1.12), line, kind.size * 1.12, bold=True)

    return [Line(kind.size * (0.4 + len(lines) * LEADING * 1.12), draw, keep=True)]


def section(title: str, lines: list[Line], kind: Type) -> list[Line]:
    """Lines under their title, which every column has that they run on to."""
    (again,) = heading(f"{title} (continued)", kind)
    return [*heading(title, kind), *(replace(line, again=again) for line in lines)]


def paragraph(text: str, kind: Type, *, label: str = "", mark: str = "", bold: bool = False) -> list[Line]:
    """A paragraph line by line; a ``mark`` (``-``) hangs before it, a ``label`` is set bold on a line of its own.

    No column ends within it, but for a long one: then two lines stay together at both ends.
    """
    indent = kind.size * 0.9 if mark else 0.0
    made = [
        _text_line(line, kind, 0.0, bold=True, keep=True) for line in lines_of(label, kind.size, kind.room, bold=True)
    ]
    lines = lines_of(text, kind.size, kind.room - indent, bold=bold)
    body = [_text_line(line, kind, indent, bold=bold, mark=mark if k == 0 else "") for k, line in enumerate(lines)]
    last = len(body) - 1
    held = [replace(line, keep=k < last and (last < UNBROKEN or k in (0, last - 1))) for k, line in enumerate(body)]
    return [*(made if label else []), *held]


def row(label: str, text: str, kind: Type, share: float = 0.3, *, write: bool = False) -> list[Line]:
    """A label with what is said of it beside it; a box to write in where that is nothing, or where one is wanted."""
    start = kind.room * share
    heads = lines_of(label, kind.size, start - kind.size * 0.5)
    lines = lines_of(text, kind.size, kind.room - start, bold=True) if text else []
    if not lines:
        return [_box_line(heads, kind, start)]
    count = max(len(heads), len(lines))
    pairs = [(heads[k] if k < len(heads) else "", lines[k] if k < len(lines) else "") for k in range(count)]
    told = [_pair(*pair, kind, start, bold=not write) for pair in pairs]
    made = [*told, _box_line([], kind, start)] if write else told
    return [replace(line, keep=k < len(made) - 1) for k, line in enumerate(made)]


def to_fill_in(label: str, kind: Type, indent: float) -> Line:
    """A box to write in, with its label before it."""
    start = indent + (width_of(label, kind.size) + kind.size * 0.5 if label else 0.0)
    return _box_line([label] if label else [], kind, start, indent)


def whole(lines: list[Line]) -> list[Line]:
    """Lines that are kept together where a column has room for them."""
    return [replace(line, whole=k < len(lines) - 1) for k, line in enumerate(lines)]


def gap(height: float) -> list[Line]:
    """Room."""
    return [Line(height, lambda _pen, _x, _top: None, empty=True)]


def _text_line(text: str, kind: Type, indent: float, *, bold: bool, mark: str = "", keep: bool = False) -> Line:
    def draw(pen: Pen, x: float, top: float) -> None:
        pen.text(x, top, mark, kind.size)
        pen.text(x + indent, top, text, kind.size, bold=bold)

    return Line(kind.size * LEADING, draw, keep)


def _pair(label: str, text: str, kind: Type, start: float, *, bold: bool) -> Line:
    def draw(pen: Pen, x: float, top: float) -> None:
        pen.text(x, top, label, kind.size)
        pen.text(x + start, top, text, kind.size, bold=bold)

    return Line(kind.size * LEADING, draw)


def _box_line(heads: Sequence[str], kind: Type, start: float, indent: float = 0.0) -> Line:
    height = kind.size * LEADING * max(len(heads), 1)

    def draw(pen: Pen, x: float, top: float) -> None:
        for k, head in enumerate(heads):
            pen.text(x + indent, top + k * kind.size * LEADING, head, kind.size)
        pen.box(x + start, top, kind.room - start, height)

    return Line(height + kind.size * 0.25, draw)


@dataclass
class Columns:
    """Columns of one page, and what has been put in them."""

    x: float
    top: float
    bottom: float
    width: float
    gap: float
    count: int

    def fill(self, lines: Sequence[Line]) -> tuple[list[tuple[Line, float, float]], list[Line]]:
        """Lines with their places, and those that found no room."""
        placed: list[tuple[Line, float, float]] = []
        column, y, k = 0, self.top, 0
        while k < len(lines):
            if y == self.top and lines[k].empty:
                k += 1
                continue
            again = lines[k].again
            over = again.height if again else 0.0
            held = _kept_together(lines, k, self.bottom - self.top - over)
            needed = sum(line.height for line in held)
            if y + needed > self.bottom + 0.01 and y > self.top:
                column, y = column + 1, self.top
                continue
            if column == self.count or needed > self.bottom - self.top:
                return placed, list(lines[k:])
            at = self.x + column * (self.width + self.gap)
            if y == self.top and again and needed + over <= self.bottom - self.top:
                placed.append((again, at, y))
                y += over
            placed += _stacked(held, at, y)
            y += needed
            k += len(held)
        return placed, []

    def pack(
        self, blocks: Sequence[Sequence[Line]], between: float, next_room: float = 0.0
    ) -> tuple[list[tuple[Line, float, float]], list[Line]]:
        """Blocks in order, each whole in the first column with room for it; and the lines of those that found none.

        Where not all find room that way, and would in other columns, they stand there. One that is taller than a
        column runs through those that are still empty, if all of it is on this page then and they are not too short
        (for the first block, the most urgent one, they never are); or if it is taller than a column of the next page
        too, which has ``next_room``.
        """
        placed: list[tuple[Line, float, float]] = []
        rest: list[Line] = []
        ends = [self.top] * self.count
        heights = [sum(line.height for line in block) for block in blocks]
        at_once = _all_within(heights, self.bottom - self.top, between, self.count)
        for k, block in enumerate(blocks):
            at = at_once[k] if at_once else self._first_with(heights[k], ends)
            if at is not None:
                placed += _stacked(block, self.x + at * (self.width + self.gap), ends[at])
                ends[at] += heights[k] + between
                continue
            empty = next((k for k in range(self.count) if ends[k] == self.top), self.count)
            if heights[k] <= self.bottom - self.top or empty == self.count:
                rest += [*block, *gap(between)]
                continue
            x = self.x + empty * (self.width + self.gap)
            told, left = replace(self, x=x, count=self.count - empty).fill(block)
            if heights[k] <= next_room and (left or (k and self.bottom - self.top < next_room * LEAST_ROOM)):
                rest += [*block, *gap(between)]
                continue
            placed += told
            ends[empty:] = [
                _end_of(told, self.x + k * (self.width + self.gap), self.top) for k in range(empty, self.count)
            ]
            rest += [*left, *gap(between)] if left else []
        return placed, rest

    def _first_with(self, height: float, ends: Sequence[float]) -> int | None:
        return next((k for k in range(self.count) if ends[k] + height <= self.bottom + 0.01), None)


def _all_within(heights: Sequence[float], room: float, between: float, count: int) -> list[int] | None:
    """A column for each block so that all have room, the first ones in order; None where there is no such way."""
    if len(heights) > MOST_PACKED or sum(heights) > room * count:
        return None
    ends, chosen = [0.0] * count, list[int]()

    def place(k: int) -> bool:
        if k == len(heights):
            return True
        for at in range(count):
            if ends[at] + heights[k] <= room + 0.01:
                ends[at] += heights[k] + between
                chosen.append(at)
                if place(k + 1):
                    return True
                ends[at] -= heights[k] + between
                chosen.pop()
        return False

    return chosen if place(0) else None


def _end_of(placed: Sequence[tuple[Line, float, float]], x: float, top: float) -> float:
    """Where the column at ``x`` is filled to."""
    return max((at + line.height for line, column, at in placed if abs(column - x) < 1), default=top)


def _stacked(lines: Sequence[Line], x: float, top: float) -> list[tuple[Line, float, float]]:
    placed = []
    for line in lines:
        placed.append((line, x, top))
        top += line.height
    return placed


def _kept_together(lines: Sequence[Line], start: int, room: float) -> Sequence[Line]:
    """A whole block where a column can hold it, else a line with those that it stays with; what begun is not whole."""
    end = start
    while end < len(lines) - 1 and lines[end].whole and (start == 0 or not lines[start - 1].whole):
        end += 1
    if end > start and sum(line.height for line in lines[start : end + 1]) <= room:
        return lines[start : end + 1]
    end = start
    while end < len(lines) - 1 and lines[end].keep:
        end += 1
    if sum(line.height for line in lines[start : end + 1]) > room:
        return lines[start : start + 1]
    return lines[start : end + 1]


def blocks_of(lines: Iterable[Line]) -> list[list[Line]]:
    """Lines that are left of blocks, as blocks again: room parts them."""
    blocks: list[list[Line]] = [[]]
    for line in lines:
        if line.empty:
            blocks.append([])
        else:
            blocks[-1].append(line)
    return [block for block in blocks if block]


def joined(blocks: Iterable[list[Line]]) -> list[Line]:
    """Blocks in a row."""
    return [line for block in blocks for line in block]
