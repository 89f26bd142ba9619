"""Samples of large pictures, decoded once and kept, so that a window costs only its part.

A photograph of a hundred million pixels is half a gigabyte of samples, and decoding it for each window would take
seconds each time. A JPEG stands in memory whole once it is decoded, and the last one stays there, since writing it to a
file would take as long again; all others are unpacked into a file without a name.
"""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.artwork.pdf.images.image_decoding import Samples, decoded_jpeg, decoded_samples, jpeg_size
from preflight.artwork.pdf.images.image_dictionaries import BILEVEL, MOST_SAMPLES_BYTES, PICTURES, ImageUse
from preflight.artwork.pdf.images.image_tints import packed_rows, row_bytes, unpacked
from preflight.errors import TooBig

STRIP_ROWS: Final = 256
MOST_HELD_BYTES: Final = 600_000_000
"""Of a JPEG that stays in memory."""
SampleBox = tuple[int, int, int, int]
"""Of a picture: left, top, right and bottom in its samples, from the upper-left corner."""


class _Kept(NamedTuple):
    """All samples of one picture, row by row."""

    rows: NDArray[Any]
    """(rows, columns, components), or (rows, bytes) where they are packed; a view of the file."""
    bits: int
    turned: bool
    mapped: mmap.mmap | None

    def let_go(self) -> None:
        """What was read of the file need not stay in memory."""
        if self.mapped is not None and hasattr(mmap, "MADV_DONTNEED"):
            self.mapped.madvise(mmap.MADV_DONTNEED)


class _Held(NamedTuple):
    """A decoded JPEG in memory."""

    key: object
    picture: Image.Image
    turned: bool


@dataclass
class SampleFiles:
    """The samples of one page's pictures."""

    _held: _Held | None = None
    _kept: dict[object, _Kept | None] = field(default_factory=dict)
    _fits: dict[object, bool] = field(default_factory=dict)

    def fits(self, use: ImageUse) -> bool:
        """Whether parts of a picture can be had: samples as many as its dictionary says, and no fax."""
        if use.key not in self._fits:
            self._fits[use.key] = _can_be_parted(use)
        return self._fits[use.key]

    def part(self, use: ImageUse, part: SampleBox) -> Samples:
        """Samples of a part, (rows, columns, components); fewer rows where the file ends early.

        Raises:
            NotDrawn: over a bound, or in no form that can be decoded.
        """
        assert use.space is not None
        if _is_held(use):
            return self._of_held(use, part)
        if use.key not in self._kept:
            self._kept[use.key] = _kept(use)
        kept = self._kept[use.key]
        if kept is None:
            raise TooBig("a picture that is too large for this computer's disk")
        try:
            return _part(use, kept, part)
        finally:
            kept.let_go()

    def _of_held(self, use: ImageUse, part: SampleBox) -> Samples:
        if self._held is None or self._held.key != use.key:
            self._held = None  # two of them at once would be a gigabyte
            picture, turned = decoded_jpeg(use, 1)
            self._held = _Held(use.key, picture, turned)
        samples = np.asarray(self._held.picture.crop(part))
        return Samples(samples[:, :, None] if samples.ndim == 2 else samples, 8, self._held.turned)

    def close(self) -> None:
        """Let go of them."""
        self._held = None
        self._kept.clear()


def _is_held(use: ImageUse) -> bool:
    assert use.space is not None
    size = use.facts.width_px * use.facts.height_px * max(use.space.components, 1)
    return bool(use.filters) and use.filters[-1] == "DCTDecode" and size <= MOST_HELD_BYTES


def _part(use: ImageUse, kept: _Kept, part: SampleBox) -> Samples:
    assert use.space is not None
    left, top, right, bottom = part
    if kept.rows.ndim == 3:
        return Samples(np.array(kept.rows[top:bottom, left:right]), kept.bits, kept.turned)
    facts, count = use.facts, use.space.components
    if facts.bits == 8:
        packed = np.array(kept.rows[top:bottom, left * count : right * count])
        return Samples(packed.reshape(len(packed), right - left, count), 8)
    found = unpacked(np.array(kept.rows[top:bottom]), facts.bits, facts.width_px, count)
    return Samples(found[:, left:right], facts.bits)


def _can_be_parted(use: ImageUse) -> bool:
    facts, last = use.facts, use.filters[-1] if use.filters else ""
    if use.space is None or last in BILEVEL or not use.space.plates:
        return False
    if last == "DCTDecode":
        return jpeg_size(use) == (facts.width_px, facts.height_px)
    return last in PICTURES or row_bytes(use) * facts.height_px <= MOST_SAMPLES_BYTES


def _kept(use: ImageUse) -> _Kept | None:
    """None where the disk has no room."""
    last = use.filters[-1] if use.filters else ""
    try:
        if last == "DCTDecode":
            return _of_jpeg(use)
        if last in PICTURES:
            found = decoded_samples(use, last, 1)
            return _in_file([found.samples], found.samples.shape[1:], found.bits, turned=found.turned)
        return _in_file(packed_rows(use), (row_bytes(use),), use.facts.bits)
    except OSError:
        return None


def _of_jpeg(use: ImageUse) -> _Kept:
    """A strip at a time, since the decoded picture is in memory once already."""
    assert use.space is not None
    count = use.space.components
    picture, turned = decoded_jpeg(use, 1)
    strips = (
        np.asarray(picture.crop((0, top, picture.width, min(picture.height, top + STRIP_ROWS))))
        for top in range(0, picture.height, STRIP_ROWS)
    )
    return _in_file(strips, (picture.width, count), 8, turned=turned)


def _in_file(strips: Iterable[NDArray[Any]], shape: tuple[int, ...], bits: int, *, turned: bool = False) -> _Kept:
    """Rows of this shape, written to a file and mapped from there; the map keeps the file, the array the map."""
    kind: np.dtype[Any] = np.dtype(np.uint8)
    with tempfile.TemporaryFile() as file:
        for strip in strips:
            kind = strip.dtype
            file.write(np.ascontiguousarray(strip).data)
        file.flush()
        mapped = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) if file.tell() else None
    rows = np.frombuffer(mapped or b"", kind).reshape(-1, *shape)
    return _Kept(rows, bits, turned, mapped)
