"""Lines that run through the columns of a page and on to the next, each measured before it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, lines_of

Draw = Callable[[Pen, float, float], None]


@dataclass(frozen=True)
class Line:
    """Something of a known height; ``draw`` takes a pen, x and the upper edge."""

    height: float
    draw: Draw
    keep: bool = False
    """Never the last of a column."""
    whole: bool = False
    """With the next one in one column, where one is tall enough."""


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


def paragraph(text: str, kind: Type, *, label: str = "", mark: str = "", bold: bool = False) -> list[Line]:
    """A paragraph line by line; a ``mark`` (``-``) hangs before it, a ``label`` is set bold on a line of its own."""
    indent = kind.size * 0.9 if mark else 0.0
    made = [
        _text_line(line, kind, 0.0, bold=True, keep=True) for line in lines_of(label, kind.size, kind.room, bold=True)
    ]
    lines = lines_of(text, kind.size, kind.room - indent, bold=bold)
    body = [_text_line(line, kind, indent, bold=bold, mark=mark if k == 0 else "") for k, line in enumerate(lines)]
    return [*(made if label else []), *body]


def row(label: str, text: str, kind: Type, share: float = 0.3) -> list[Line]:
    """A label with what is said of it beside it; a box to write in where that is nothing."""
    start = kind.room * share
    heads = lines_of(label, kind.size, start - kind.size * 0.5)
    lines = lines_of(text, kind.size, kind.room - start, bold=True) if text else []
    if not lines:
        return [_box_line(heads, kind, start)]
    count = max(len(heads), len(lines))
    pairs = [(heads[k] if k < len(heads) else "", lines[k] if k < len(lines) else "") for k in range(count)]
    return [replace(_pair(*pair, kind, start), keep=k < count - 1) for k, pair in enumerate(pairs)]


def whole(lines: list[Line]) -> list[Line]:
    """Lines that are kept together where a column has room for them."""
    return [replace(line, whole=k < len(lines) - 1) for k, line in enumerate(lines)]


def gap(height: float) -> list[Line]:
    """Room."""
    return [Line(height, lambda _pen, _x, _top: None)]


def _text_line(text: str, kind: Type, indent: float, *, bold: bool, mark: str = "", keep: bool = False) -> Line:
    def draw(pen: Pen, x: float, top: float) -> None:
        pen.text(x, top, mark, kind.size)
        pen.text(x + indent, top, text, kind.size, bold=bold)

    return Line(kind.size * LEADING, draw, keep)


def _pair(label: str, text: str, kind: Type, start: float) -> Line:
    def draw(pen: Pen, x: float, top: float) -> None:
        pen.text(x, top, label, kind.size)
        pen.text(x + start, top, text, kind.size, bold=True)

    return Line(kind.size * LEADING, draw)


def _box_line(heads: Sequence[str], kind: Type, start: float) -> Line:
    height = kind.size * LEADING * max(len(heads), 1)

    def draw(pen: Pen, x: float, top: float) -> None:
        for k, head in enumerate(heads):
            pen.text(x, top + k * kind.size * LEADING, head, kind.size)
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
            held = _kept_together(lines, k, self.bottom - self.top)
            needed = sum(line.height for line in held)
            if y + needed > self.bottom + 0.01 and y > self.top:
                column, y = column + 1, self.top
            if column == self.count or needed > self.bottom - self.top:
                return placed, list(lines[k:])
            for line in held:
                placed.append((line, self.x + column * (self.width + self.gap), y))
                y += line.height
            k += len(held)
        return placed, []

    def pack(
        self, blocks: Sequence[Sequence[Line]], between: float
    ) -> tuple[list[tuple[Line, float, float]], list[Line]]:
        """Blocks in order, each whole in the first column with room for it; and the lines of those that found none.

        One that is taller than a column runs through those that are still empty.
        """
        placed: list[tuple[Line, float, float]] = []
        rest: list[Line] = []
        ends = [self.top] * self.count
        for block in blocks:
            height = sum(line.height for line in block)
            at = next((k for k in range(self.count) if ends[k] + height <= self.bottom + 0.01), None)
            if at is not None:
                placed += _stacked(block, self.x + at * (self.width + self.gap), ends[at])
                ends[at] += height + between
                continue
            empty = next((k for k in range(self.count) if ends[k] == self.top), self.count)
            if height <= self.bottom - self.top or empty == self.count:
                rest += [*block, *gap(between)]
                continue
            x = self.x + empty * (self.width + self.gap)
            told, left = replace(self, x=x, count=self.count - empty).fill(block)
            placed += told
            ends[empty:] = [
                _end_of(told, self.x + k * (self.width + self.gap), self.top) for k in range(empty, self.count)
            ]
            rest += [*left, *gap(between)] if left else []
        return placed, rest


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
    """A whole block where a column can hold it, else a line with those that it stays with."""
    end = start
    while end < len(lines) - 1 and lines[end].whole:
        end += 1
    if end > start and sum(line.height for line in lines[start : end + 1]) <= room:
        return lines[start : end + 1]
    end = start
    while end < len(lines) - 1 and lines[end].keep:
        end += 1
    return lines[start : end + 1]


def joined(blocks: Iterable[list[Line]]) -> list[Line]:
    """Blocks in a row."""
    return [line for block in blocks for line in block]
