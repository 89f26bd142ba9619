"""Heavy pages in pieces that are painted one after the other: the same pixels, and the renderer keeps one at a time."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from preflight.artwork.pdf.content.stream_content import Content
from preflight.artwork.platemaking.group_elements import StreamPart

PIECE_BYTES: Final = 9_000_000
"""Of content: about fifty megabytes in the renderer."""


def pieces_of(content: Content, left_out: int = 0) -> list[StreamPart | None]:
    """Parts of a stream, in the order in which they are painted; None is all of it.

    Between them nothing else stands, and what is filled and stroked at once stays together.

    Args:
        content: a page that is painted on what lies below, and no group.
        left_out: rows of it that are not painted at all.
    """
    rows = len(content.painted)
    count = math.ceil(len(content.data) * (1 - left_out / max(1, rows)) / PIECE_BYTES)
    if count < 2 or rows < count:
        return [None]
    bounds = np.linspace(0, rows, count + 1).astype(int)
    bounds[1:-1] += np.isin(bounds[1:-1], content.edits[:, 4])  # a stroke behind the fill of its path
    calls = np.array([call.row for call in content.calls], int)
    numbers = np.searchsorted(bounds[1:-1], calls, "right")
    parts = list[StreamPart | None]()
    for piece, (first, last) in enumerate(zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True)):
        wanted = np.zeros(rows, bool)
        wanted[first:last] = True
        parts.append(StreamPart(wanted, frozenset(np.flatnonzero(numbers == piece).tolist())))
    return parts
