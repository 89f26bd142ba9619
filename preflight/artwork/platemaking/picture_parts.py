"""What of each picture shows in a window: of a photograph of a hundred million pixels a close look needs a few."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import gcd, lcm
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, Matrix, times
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import in_pattern
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, soft_mask_in_data
from preflight.artwork.pdf.images.image_sample_files import SampleBox, SampleFiles
from preflight.artwork.pdf.structure.values import lookup

NOTHING: Final[SampleBox] = (0, 0, 0, 0)
_MARGIN_PX: Final = 3.0
"""Pixels round the window, because the renderer takes the mean of samples and the page is turned a little."""
_MARGIN_SAMPLES: Final = 2
_MOST_STEPS: Final = 64
"""Samples in which a picture and its soft mask have to come out together; else they are not had in parts."""


@dataclass(frozen=True)
class Parts:
    """Parts of pictures by their keys, for the streams that are placed on the page and nowhere else."""

    streams: frozenset[int]
    parts: Mapping[object, SampleBox]
    masks: Mapping[object, ImageUse]
    """Soft masks of pictures."""

    def of(self, use: ImageUse, stream: int) -> SampleBox | None:
        """What of a picture a stream has to paint; None for all of it."""
        return self.parts.get(use.key) if stream in self.streams else None


@dataclass
class PictureParts:
    """The pictures of one page, and where they are placed."""

    page_content: PageContent
    objects: PageObjects
    files: SampleFiles

    def placed(self) -> Iterator[tuple[int, ImageUse]]:
        """Rows of images, with what they place."""
        rows = np.flatnonzero(self.objects.image >= 0)
        for row, (number, local, _) in zip(rows.tolist(), self.objects.source[rows].tolist(), strict=True):
            use = self.page_content.streams[number].images.get(local)
            if use is not None:
                yield row, use

    @cached_property
    def streams(self) -> frozenset[int]:
        """Streams that are painted where the table of objects has them, and in no pattern or glyph."""
        placed = set(np.unique(self.objects.source[:, 0]).tolist())
        for _, pattern in self.page_content.palette.patterns():
            placed -= {each.number for cell in in_pattern(pattern) for each in cell.with_calls()}
        return frozenset(placed)

    def samples_left(self) -> int:
        """Samples of pictures that cannot be had in parts."""
        uses = {use.key: use for row, use in self.placed() if use.space is not None and not self._is_parted(row, use)}
        return sum(use.facts.width_px * use.facts.height_px for use in uses.values())

    def _is_parted(self, row: int, use: ImageUse) -> bool:
        return int(self.objects.source[row, 0]) in self.streams and self._parted[use.key]

    @cached_property
    def _parted(self) -> dict[object, bool]:
        uses = {use.key: use for _, use in self.placed()}
        return {key: self.files.fits(use) and self._mask_is_parted(use) for key, use in uses.items()}

    def _mask_is_parted(self, use: ImageUse) -> bool:
        """Whether its soft mask, if it has one, begins and ends its samples often enough where the picture does."""
        if soft_mask_in_data(use) or lookup(use.stream, "Mask") is not None:
            return False
        if lookup(use.stream, "SMask") is None:
            return True
        mask = self.page_content.image_masks.get(use.key)
        if mask is None or not self.files.fits(mask):
            return False
        return max(_steps(use, mask)) <= _MOST_STEPS and max(_steps(mask, use)) <= _MOST_STEPS

    def shown_in(self, box_mm: Box, pixel_mm: float, shrink_of: Callable[[ImageUse], int]) -> Parts:
        """The part of each picture that a window needs; ``NOTHING`` where it shows nothing of it.

        ``shrink_of``: how many samples are averaged into one, each way; parts begin and end between such blocks.
        """
        margin = _MARGIN_PX * pixel_mm
        x0, y0, x1, y1 = box_mm[0] - margin, box_mm[1] - margin, box_mm[2] + margin, box_mm[3] + margin
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        found: dict[object, SampleBox] = {}
        for row, use in self.placed():
            if not self._is_parted(row, use):
                continue
            mask = self.page_content.image_masks.get(use.key)
            steps = _steps(use, mask) if mask is not None else (1, 1)
            across, down = (lcm(step, shrink_of(use)) for step in steps)
            own = _in_samples(corners, self._matrix(row), use, (across, down))
            found[use.key] = _around(own, found.get(use.key, NOTHING))
        return Parts(self.streams, found, self.page_content.image_masks)

    def _matrix(self, row: int) -> Matrix:
        number, local, matrix = self.objects.source[row].tolist()
        return times(tuple(self.page_content.streams[number].frame[local].tolist()), self.objects.matrices[matrix])


def _steps(use: ImageUse, other: ImageUse) -> tuple[int, int]:
    """So many samples of a picture are whole samples of another over the same square, across and down."""
    width, height = use.facts.width_px, use.facts.height_px
    return width // gcd(width, other.facts.width_px), height // gcd(height, other.facts.height_px)


def of_mask(part: SampleBox, use: ImageUse, mask: ImageUse) -> SampleBox:
    """The same part in the samples of a picture's mask."""
    across = Fraction(mask.facts.width_px, use.facts.width_px)
    down = Fraction(mask.facts.height_px, use.facts.height_px)
    left, top, right, bottom = part
    return math.ceil(left * across), math.ceil(top * down), math.ceil(right * across), math.ceil(bottom * down)


def placing(part: SampleBox, use: ImageUse) -> bytes:
    """The matrix that brings the unit square to where in the picture's square the part lies (its row 0 is the top)."""
    left, top, right, bottom = part
    width, height = use.facts.width_px, use.facts.height_px
    numbers = ((right - left) / width, (bottom - top) / height, left / width, 1 - bottom / height)
    return b" %.9f 0 0 %.9f %.9f %.9f cm" % numbers


def _in_samples(corners: NDArray[np.float64], to_page: Matrix, use: ImageUse, steps: tuple[int, int]) -> SampleBox:
    """What lies within a box of the page, given by its corners in mm, in whole steps."""
    a, b, c, d, e, f = to_page
    if not (area := a * d - b * c):
        return NOTHING
    x, y = corners[:, 0] - e, corners[:, 1] - f
    u, v = (d * x - c * y) / area, (a * y - b * x) / area
    left, right = _within(float(u.min()), float(u.max()), use.facts.width_px, steps[0])
    top, bottom = _within(1 - float(v.max()), 1 - float(v.min()), use.facts.height_px, steps[1])
    return (left, top, right, bottom) if left < right and top < bottom else NOTHING


def _within(low: float, high: float, count: int, step: int) -> tuple[int, int]:
    """Samples between two shares of a side, with a margin, in whole steps; none where it begins behind the last."""
    first, last = math.floor(low * count) - _MARGIN_SAMPLES, math.ceil(high * count) + _MARGIN_SAMPLES
    if first >= count or last <= 0:
        return 0, 0
    return max(0, first // step * step), min(count, -(-last // step) * step)


def _around(one: SampleBox, other: SampleBox) -> SampleBox:
    """The part round both."""
    if NOTHING in (one, other):
        return other if one == NOTHING else one
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])
