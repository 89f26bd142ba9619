"""Windows that show the same: on a sheet of alike blanks, drawn through one form, most close looks need no drawing.

Two windows of one size are alike where the same rows of the same streams lie in both at the same places, and where
nothing that stands still on the page is handed on to them: soft masks and patterns of a calling stream do not move with
what it calls. What cuts them off on the way to the page has to be an upright rectangle, which shows in their boxes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, meeting
from preflight.artwork.page.page import Alteration
from preflight.artwork.page.plates import Plates
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import Content
from preflight.artwork.platemaking.ink_boxes import ink_boxes

SAME_MM: Final = 0.002
"""A fortieth of a pixel at 300 dpi; files round places to about a tenth of that."""
REACH_MM: Final = 0.5
"""So far round a window what is there may put ink into it: it is drawn finer, and turned a little."""
MOST_BYTES: Final = 64_000_000
_CLIP, _UPRIGHT_CLIP = re.compile(rb"(?<![\w'\"/])W\*?(?=[\s/(<\[])"), re.compile(rb"\bre\s+W\*?\s+n\b")


class _Seen(NamedTuple):
    size: tuple[float, float]
    places: NDArray[np.float64]
    plates: Plates


@dataclass
class AlikeWindows:
    """The windows of one page that were drawn, to be found again."""

    page_content: PageContent
    objects: PageObjects
    _kept: dict[Hashable, list[_Seen]] = field(default_factory=dict)
    _bytes: int = 0

    @cached_property
    def pays(self) -> bool:
        """Whether any stream is placed more than once, and all that a stream hands on to those it calls moves along."""
        source, contents = self.objects.source, self.objects.contents
        placed = np.unique(source[:, [0, 2]], axis=0)[:, 0]
        again = np.unique(placed, return_counts=True)[1].max(initial=0) > 1
        return bool(again) and all(self._hands_on_what_moves(content) for content in contents if content.calls)

    def _hands_on_what_moves(self, content: Content) -> bool:
        if len(_CLIP.findall(content.data)) != len(_UPRIGHT_CLIP.findall(content.data)):
            return False
        states, patterned = self.page_content.states, self.page_content.palette.patterned
        masked = any(states[call.state].soft_mask for call in content.calls)
        colours = [[call.content.first_fill, call.content.first_stroke] for call in content.calls]
        return not masked and not bool(patterned[colours].any())

    def get(self, box_mm: Box, asked: Hashable, alteration: Alteration, draw: Callable[[], Plates]) -> Plates:
        """Plates of a window: those of one that looks the same, or drawn, and kept unless something is missing in it.

        ``asked`` is all that they depend on but what lies there and what of that is altered.
        """
        rows, places = self._in(box_mm, alteration)
        size = box_mm[2] - box_mm[0], box_mm[3] - box_mm[1]
        alike = self._kept.setdefault((asked, rows), [])
        for seen in alike:
            same_size = max(abs(one - other) for one, other in zip(size, seen.size, strict=True)) < SAME_MM
            if same_size and (np.abs(seen.places - places) < SAME_MM).all():
                return replace(seen.plates, box_mm=box_mm)
        plates = draw()
        if not plates.uncertain and self._bytes + plates.ink.nbytes <= MOST_BYTES:
            alike.append(_Seen(size, places, plates))
            self._bytes += plates.ink.nbytes + places.nbytes
        return plates

    def _in(self, box_mm: Box, alteration: Alteration) -> tuple[bytes, NDArray[np.float64]]:
        """What may put ink into a window: rows by stream, and where they stand seen from its lower-left corner."""
        x, y = box_mm[:2]
        near = np.flatnonzero(meeting(self._boxes_mm, box_mm, REACH_MM))
        source = self.objects.source[near]
        used, own = np.unique(source[:, 2], return_inverse=True)
        matrices = self._matrices[used] - np.array([0, 0, 0, 0, x, y])
        # Upright rectangles that cut it off show in what is seen of each row, beyond the window too.
        shown = self.objects.shown_mm[near].astype(float) - np.array([x, y, x, y])
        altered = [np.isin(near, changed) for changed in (alteration.left_out, alteration.knocking_out)]
        rows = np.column_stack([source[:, :2], own.ravel(), *altered]).astype(np.int32)
        return rows.tobytes(), np.concatenate([matrices.ravel(), shown.ravel()])

    @cached_property
    def _boxes_mm(self) -> NDArray[np.float64]:
        """For every row the box that its ink stays within."""
        return ink_boxes(self.objects, self.page_content.states)

    @cached_property
    def _matrices(self) -> NDArray[np.float64]:
        return np.array(self.objects.matrices, float).reshape(-1, 6)
