"""Rows that show nothing in a part of the page: a document for close looks at it does without them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, meeting
from preflight.artwork.pdf.content.page_objects import PageObjects


@dataclass
class RowsOutside:
    """The rows of a page with the boxes that their ink stays within."""

    objects: PageObjects
    streams: Collection[int]
    """Streams that are painted where the table has them, and in no pattern or glyph."""
    boxes_mm: NDArray[np.float64]

    def added_to(self, left_out: Mapping[int, NDArray[np.int32]], box_mm: Box) -> dict[int, NDArray[np.int32]]:
        """Rows by stream that may be left out, and those that are already."""
        found = dict(left_out)
        meets = meeting(self.boxes_mm, box_mm, 1.0)
        for number, (rows, local) in self._by_stream.items():
            seen = np.zeros(int(local.max()) + 1, bool)
            placed = np.zeros_like(seen)
            placed[local] = True
            seen[local[meets[rows]]] = True
            outside = np.flatnonzero(placed & ~seen).astype(np.int32)
            found[number] = np.union1d(outside, found[number]) if number in found else outside
        return found

    @cached_property
    def _by_stream(self) -> dict[int, tuple[NDArray[np.intp], NDArray[np.int32]]]:
        """For each stream its rows of the table, and their numbers in the stream."""
        source = self.objects.source
        order = np.argsort(source[:, 0], kind="stable")
        parts = np.split(order, np.flatnonzero(np.diff(source[order, 0])) + 1)
        found = dict[int, tuple[NDArray[np.intp], NDArray[np.int32]]]()
        for rows in parts:
            if len(rows) and (number := int(source[rows[0], 0])) in self.streams:
                found[number] = rows, source[rows, 1]
        return found
