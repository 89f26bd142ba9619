"""All ways of laying a one-up in rows or columns that are tried on a sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from preflight.setup.layout.gutters import Gutters
from preflight.setup.layout.outlines import HALF_TURN, Outline, Turn
from preflight.setup.layout.rows import Pair, RowPattern, per_row, pitches

_STRETCH_MM: Final = 1.0
"""Rows are drawn apart to fill the room where that makes so much more room between blanks."""


@dataclass(eq=False)
class Pairs:
    """Pairs of outlines, kept: what is known of them serves every sheet."""

    outlines: dict[tuple[Turn, bool], Outline]
    """By turn, and whether x and y are exchanged."""
    gutters: Gutters
    _pairs: dict[tuple[Turn, Turn, bool], Pair] = field(default_factory=dict)
    _pitches: dict[tuple[Turn, bool], tuple[float, float | None]] = field(default_factory=dict)

    def of(self, under: Outline, over: Outline) -> Pair:
        """One on the other."""
        key = under.turn, over.turn, under.swapped
        if key not in self._pairs:
            between = self.gutters.swapped() if under.swapped else self.gutters
            self._pairs[key] = Pair(under, over, between.along_mm, between.nested_along_mm)
        return self._pairs[key]

    def pitches(self, outline: Outline) -> tuple[float, float | None]:
        """Of a row: plain and, where flaps mesh, nested."""
        key = outline.turn, outline.swapped
        if key not in self._pitches:
            between = self.gutters.swapped() if outline.swapped else self.gutters
            self._pitches[key] = pitches(outline, between.across_mm, between.nested_across_mm)
        return self._pitches[key]


def patterns(
    pairs: Pairs, turn: Turn, rooms_mm: tuple[float, float], shares: tuple[bool, bool], *, swapped: bool, fewer: bool
) -> Iterator[RowPattern]:
    """Patterns of rows for a room so wide, the plain one first.

    Args:
        pairs: the outlines.
        turn: of the first row.
        rooms_mm: what the sheet is wide for the cut, sides taken off: for the first rows, and for turned ones too.
        shares: whether knives may be shared within rows, and between them.
        swapped: columns instead of rows.
        fewer: rows of fewer blanks too, down to one, for a number-up that is asked for.
    """
    first = pairs.outlines[turn, swapped]
    plain, meshed = pairs.pitches(first)
    own_mm, room_mm = rooms_mm
    for count in range(per_row(own_mm, first.width_mm, plain), 0, -1 if fewer else -10000):
        yield _in_line(pairs, first, plain, count, plain=True)
    most = per_row(room_mm, first.width_mm, plain)
    for count in range(most, 0 if fewer else most - 2, -1):
        if count > 0:
            yield from _of_a_pitch(pairs, first, plain, count, room_mm)
            wide = (room_mm - first.width_mm) / (count - 1) if count > 1 else 0.0
            if wide > plain + _STRETCH_MM:
                yield from _of_a_pitch(pairs, first, wide, count, room_mm)
    if meshed is not None:
        count = per_row(room_mm, first.width_mm, meshed)
        for each in range(count, 0 if fewer else max(0, count - 1), -1):
            yield from _of_a_pitch(pairs, first, meshed, each, room_mm)
    for within, between in ((True, False), (False, True), (True, True)):
        if (shares[0] or not within) and (shares[1] or not between):
            pitch = first.width_mm if within else plain
            count = per_row(own_mm, first.width_mm, pitch)
            for each in range(count, 0 if fewer else max(0, count - 1), -1):
                if each > 0:
                    pair = pairs.of(first, first)
                    yield RowPattern(
                        pair, pair, pitch, (each, each), (0.0, 0.0), (pair, pair), shared=(within, between)
                    )


def _in_line(pairs: Pairs, first: Outline, pitch: float, count: int, *, plain: bool = False) -> RowPattern:
    pair = pairs.of(first, first)
    return RowPattern(pair, pair, pitch, (count, count), (0.0, 0.0), (pair, pair), plain=plain)


def _of_a_pitch(pairs: Pairs, first: Outline, pitch: float, count: int, room_mm: float) -> Iterator[RowPattern]:
    """Straight rows, and rows turned by 180°; in line, moved aside, and with one blank fewer in each second row."""
    same = pairs.of(first, first)
    slack = max(0.0, room_mm - first.width_mm - (count - 1) * pitch)
    yield _in_line(pairs, first, pitch, count)
    second = pairs.outlines[HALF_TURN[first.turn], first.swapped]
    for other in (first, second):
        up, down, again = pairs.of(first, other), pairs.of(other, first), (same, pairs.of(other, other))
        if other is second or slack:
            yield RowPattern(up, down, pitch, (count, count), (-slack, slack), again)
        if count > 1:
            yield RowPattern(up, down, pitch, (count, count - 1), (-slack, slack + pitch), again)
