"""Which bytes vanish from a stream with what a rendering does not paint: paths, text, and colours set for them alone.

What is written as painted by nobody would still have to be read by the renderer, and kept by it: a hundred thousand
shapes of black are a few hundred megabytes in the renderings of the other inks.
"""

from __future__ import annotations

import re
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.content.stream_content import Content, EditKind

_PAINTING: Final = (EditKind.PAINT, EditKind.SHOW, EditKind.IMAGE, EditKind.SHADING)
_PLACED_NEXT: Final = re.compile(rb"\s*(?:ET\b|T\*|(?:[-+.\d]+\s+){2}T[dD]\b|(?:[-+.\d]+\s+){6}Tm\b)")
"""What comes behind a text that was shown and begins where it is told to, not where that text ended (9.4.2)."""
_APART: Final = 2
"""Bytes between two operators among which there can be no third."""
_SPACE, _E, _T, _CLIP = (np.frombuffer(word, np.uint8) for word in (b" \n\r\t", b"E", b"T", b"W"))


class EditsLeft(NamedTuple):
    """Edits of a stream that are left to be written."""

    edits: NDArray[np.int64]
    """As in ``Content.edits``; one of kind DROP drops a stretch of bytes."""
    can_vanish: NDArray[np.bool_]
    """For each of them whether its bytes can go if none of its rows is painted."""

    def without_rows(self, content: Content, gone: NDArray[np.bool_]) -> EditsLeft:
        """What is left once some rows are not painted.

        Args:
            content: the stream.
            gone: for each row of it, and behind them for none, whether nobody paints it.
        """
        edits = self.edits
        paints = np.isin(edits[:, 2], _PAINTING)
        silent = edits[:, 2] == EditKind.DROP
        silent[paints] = gone[edits[paints, 3]] & gone[edits[paints, 4]]
        loud = (paints & ~silent) | (edits[:, 2] == EditKind.CALL)
        return without_vanished(content, self, self.can_vanish & silent, loud)


def can_vanish(content: Content) -> NDArray[np.bool_]:
    """For each edit whether its bytes can go if none of its rows is painted.

    A path that clips what comes after it stays, and so does text behind which other text goes on.
    """
    edits, data = content.edits, np.frombuffer(content.data, np.uint8)
    start, end, kind, path_start = edits[:, 0], edits[:, 1], edits[:, 2], edits[:, 5]
    found = np.zeros(len(edits), bool)
    clips = np.flatnonzero(data == _CLIP)
    ends_before = np.concatenate([[0], end[:-1]])
    paths = np.flatnonzero((kind == EditKind.PAINT) & (path_start >= ends_before))
    found[paths] = np.searchsorted(clips, start[paths]) == np.searchsorted(clips, path_start[paths])
    shows = np.flatnonzero(kind == EditKind.SHOW)
    if len(shows):
        found[shows] = _is_followed_by_placing(content.data, data, end[shows])
    return found


def _is_followed_by_placing(stream: bytes, data: NDArray[np.uint8], end: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Text shown by Tj or TJ behind which nothing depends on how far it moved."""
    padded = np.concatenate([data, np.zeros(4, np.uint8)])
    last = np.isin(padded[end - 1], np.frombuffer(b"jJ", np.uint8))
    found = last & np.isin(padded[end], _SPACE) & (padded[end + 1] == _E) & (padded[end + 2] == _T)
    for at in np.flatnonzero(last & ~found).tolist():
        found[at] = _PLACED_NEXT.match(stream, int(end[at])) is not None
    return np.asarray(found)


def without_vanished(
    content: Content, left: EditsLeft, vanish: NDArray[np.bool_], loud: NDArray[np.bool_]
) -> EditsLeft:
    """Edits in which those that vanish are a few that drop whole stretches of bytes.

    Args:
        content: the stream.
        left: its edits, all of them or those that were left before.
        vanish: for each edit whether it goes; colours that were set for nothing else go with them.
        loud: for each edit whether it paints, or may paint; from a q to its Q all goes where nothing does.
    """
    left, vanish = _with_silent_blocks(content, left, vanish, loud)
    if not vanish.any():
        return left
    edits = left.edits
    begin = np.where(vanish & (edits[:, 2] == EditKind.PAINT), edits[:, 5], edits[:, 0])
    close = np.zeros(len(edits), bool)
    close[1:] = begin[1:] - edits[:-1, 1] <= _APART
    gone = vanish | _set_for_nothing(edits[:, 2], vanish, close)
    first = np.flatnonzero(gone & ~(close & np.concatenate([[False], gone[:-1]])))
    last = np.flatnonzero(gone & ~np.concatenate([close[1:] & gone[1:], [False]]))
    return _replaced(left, gone, first, begin[first], edits[last, 1])[0]


def _with_silent_blocks(
    content: Content, left: EditsLeft, vanish: NDArray[np.bool_], loud: NDArray[np.bool_]
) -> tuple[EditsLeft, NDArray[np.bool_]]:
    """The edits, in place of those from a q to its Q, where nothing is painted between them, one that drops all."""
    edits = left.edits
    blocks = np.array(sorted(content.saved), np.int64).reshape(-1, 2)
    before = np.concatenate([[0], np.cumsum(loud)])
    low, high = (np.searchsorted(edits[:, 0], blocks[:, side]) for side in (0, 1))
    silent = (before[high] == before[low]) & (high > low)
    silent[silent] = edits[low[silent], 1] <= blocks[silent, 1]  # and not in a longer stretch already
    blocks, low, high = blocks[silent], low[silent], high[silent]
    if not len(blocks):
        return left, vanish
    outermost = np.concatenate([[True], blocks[1:, 1] > np.maximum.accumulate(blocks[:, 1])[:-1]])
    blocks, low, high = blocks[outermost], low[outermost], high[outermost]
    steps = np.zeros(len(edits) + 1, np.int8)
    steps[low] += 1
    steps[high] -= 1
    inside = np.cumsum(steps[:-1]) > 0
    found, kept = _replaced(left, inside, low, blocks[:, 0], blocks[:, 1])
    vanishing = vanish.copy()
    vanishing[low] = True
    return found, vanishing[kept]


def _replaced(
    left: EditsLeft,
    gone: NDArray[np.bool_],
    first: NDArray[np.intp],
    begin: NDArray[np.int64],
    end: NDArray[np.int64],
) -> tuple[EditsLeft, NDArray[np.bool_]]:
    """Edits without those that are gone, of which the first of each stretch drops its bytes; and which are left."""
    kept = ~gone
    kept[first] = True
    at = np.cumsum(kept)[first] - 1
    found, vanishes = left.edits[kept], left.can_vanish[kept]
    found[at] = 0
    found[at, 0], found[at, 1], found[at, 2] = begin, end, int(EditKind.DROP)
    vanishes[at] = True
    return EditsLeft(found, vanishes), kept


def _set_for_nothing(kind: NDArray[np.int64], vanish: NDArray[np.bool_], close: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Colours behind which nothing comes but what vanishes, and then a colour of the same sort."""
    others = np.flatnonzero(~(vanish & close))
    colours = np.flatnonzero((kind == EditKind.FILL_COLOUR) | (kind == EditKind.STROKE_COLOUR))
    found = np.zeros(len(kind), bool)
    at = np.searchsorted(others, colours, "right")
    colours, following = colours[at < len(others)], others[at[at < len(others)]]
    found[colours] = (kind[following] == kind[colours]) & close[following]
    return found
