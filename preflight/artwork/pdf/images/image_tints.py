"""Samples of images as plate tints, at about the resolution that is needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.artwork.pdf.images.image_decoding import Samples, decoded_jpeg_2000, decoded_samples
from preflight.artwork.pdf.images.image_dictionaries import (
    JPEG_2000,
    MOST_SAMPLES_BYTES,
    PICTURES,
    ImageUse,
    plain_bytes,
)
from preflight.artwork.pdf.structure.prefetch import made_ahead
from preflight.artwork.pdf.structure.stream_decoding import flate_pieces
from preflight.artwork.pdf.structure.values import lookup, numbers
from preflight.errors import CannotBeRendered, TooBig, Undecodable

MOST_SIDE_PX = 200_000
STRIP_BYTES = 8_000_000
Tints = NDArray[np.uint8]

_SEPARABLE = ("DeviceCMYK", "ICCBased-4", "Separation", "DeviceGray", "ICCBased-1", "CalGray")
_MODES = {1: "L", 3: "RGB", 4: "CMYK"}


def image_tints(use: ImageUse, shrink: int = 1) -> tuple[tuple[str, ...], Tints]:
    """Tints of an image on the plates of its space.

    Args:
        use: an image that is no stencil.
        shrink: whole number of samples to average into one, each way; 1 keeps all.

    Returns:
        The separations and an array (rows, columns, separations), 0 bare and 255 solid; row 0 is the top.

    Raises:
        NotDrawn: over a bound, or in no form that can be decoded.
    """
    assert use.space is not None
    facts, space = use.facts, use.space
    if max(facts.width_px, facts.height_px) > MOST_SIDE_PX:
        raise TooBig(f"an image of {facts.width_px:,} x {facts.height_px:,} pixels")
    if not space.plates:
        return (), np.zeros((1, 1, 0), np.uint8)
    last = use.filters[-1] if use.filters else ""
    if last in PICTURES:
        found = decoded_samples(use, last, shrink)
        shrink = max(1, round(shrink * found.samples.shape[1] / facts.width_px))
        return space.plates, tints_of(use, found, shrink)
    if row_bytes(use) * facts.height_px > MOST_SAMPLES_BYTES:
        raise TooBig(f"an image of {facts.width_px:,} x {facts.height_px:,} pixels")
    to_tint = _Decoder(use, facts.bits)
    try:
        tints = _in_strips(_unpacked_strips(use, made_ahead(_flate_strips(use, shrink))), to_tint, shrink)
    except Undecodable:
        tints = _in_strips(_unpacked_strips(use, _cut(_plain_rows(use), shrink)), to_tint, shrink)
    return space.plates, with_missing_rows(tints, -(-facts.height_px // shrink))


def tints_of(use: ImageUse, found: Samples, shrink: int) -> Tints:
    """Tints of samples, (rows, columns, plates), ``shrink`` of them averaged into one each way."""
    to_tint = _Decoder(use, found.bits, turned=found.turned)
    if to_tint.is_one_to_one and shrink == 1 and found.samples.dtype == np.uint8:
        return found.samples  # a hundred megabytes need not be there twice
    return _in_strips(_cut(found.samples, shrink), to_tint, shrink)


def with_missing_rows(tints: Tints, wanted: int) -> Tints:
    """So many rows: samples that are missing put no ink anywhere."""
    if len(tints) >= wanted:
        return tints
    return np.concatenate([tints, np.zeros((wanted - len(tints), *tints.shape[1:]), np.uint8)])


def row_bytes(use: ImageUse) -> int:
    """Bytes of a packed row."""
    assert use.space is not None
    return (use.facts.width_px * use.space.components * use.facts.bits + 7) // 8


def packed_rows(use: ImageUse) -> Iterator[NDArray[np.uint8]]:
    """All samples as they are packed, (rows, bytes) a strip at a time; what the file does not have is left out.

    Raises:
        NotDrawn: they cannot be unpacked.
    """
    given = 0
    try:
        for strip in made_ahead(_flate_strips(use, 1)):
            given += len(strip)
            yield strip
    except Undecodable:
        yield _plain_rows(use)[given:]


def _plain_rows(use: ImageUse) -> NDArray[np.uint8]:
    width, height = row_bytes(use), use.facts.height_px
    data = plain_bytes(use, width * height)
    return _rows(data, min(height, -(-len(data) // width)) or 1, width)


def _rows(data: bytes, rows: int, row_bytes: int) -> NDArray[np.uint8]:
    """Packed rows of samples; what is missing of them is 0."""
    whole_rows = data[: rows * row_bytes].ljust(rows * row_bytes, b"\0")
    return np.frombuffer(whole_rows, np.uint8).reshape(rows, row_bytes)


def _flate_strips(use: ImageUse, shrink: int) -> Iterator[NDArray[np.uint8]]:
    """Packed rows a strip at a time, so that a photo never stands in memory whole; raises Undecodable."""
    width = row_bytes(use)
    left, step = use.facts.height_px, max(1, STRIP_BYTES // (width * shrink)) * shrink
    for data in flate_pieces(use.stream, step * width):
        rows = min(left, step, -(-len(data) // width))
        left -= rows
        if rows:
            yield _rows(data, rows, width)
        if not left:
            return
    if left == use.facts.height_px:
        yield _rows(b"", 1, width)


def _cut(samples: NDArray[Any], shrink: int) -> Iterator[NDArray[Any]]:
    """Rows of samples, a strip at a time."""
    step = max(shrink, STRIP_BYTES // max(1, samples[:1].nbytes * shrink) * shrink)
    return (samples[top : top + step] for top in range(0, len(samples), step))


def _unpacked_strips(use: ImageUse, strips: Iterable[NDArray[np.uint8]]) -> Iterator[NDArray[Any]]:
    assert use.space is not None
    return (unpacked(strip, use.facts.bits, use.facts.width_px, use.space.components) for strip in strips)


def _in_strips(strips: Iterable[NDArray[Any]], to_tint: _Decoder, shrink: int) -> Tints:
    """Tints of samples, a strip of rows at a time, so that a photo never stands in memory as floats."""
    return np.concatenate([to_tint(_averaged(strip, shrink) if to_tint.linear else strip, shrink) for strip in strips])


class _Decoder:
    """Samples to tints through Decode and the colour space (ISO 32000-2, 8.9.5.2)."""

    def __init__(self, use: ImageUse, bits: int, *, turned: bool = False) -> None:
        """``turned``: as of ``Samples``; Decode is turned round with them, which costs nothing."""
        assert use.space is not None
        space = self.space = use.space
        decode = numbers(lookup(use.stream, "Decode"), None)
        self.top = float(2**bits - 1)
        pairs = np.array(space.default_decode(bits), float).reshape(-1, 2)
        if decode is not None and len(decode) >= 2 * space.components:
            pairs = np.array(decode[: 2 * space.components], float).reshape(-1, 2)
        pairs = pairs[:, ::-1] if turned else pairs
        self.low, self.span = pairs[:, 0], pairs[:, 1] - pairs[:, 0]
        self.linear = not space.not_a_plate and space.family != "Indexed"
        """Averaging samples and averaging tints come to the same."""
        self.tables = self._tables() if bits == 8 and space.family in _SEPARABLE and self.linear else None
        straight = np.arange(256, dtype=np.uint8)[:, None]
        self.is_one_to_one = self.tables is not None and bool((self.tables == straight).all())
        """Every sample of 8 bits is its own tint."""

    def _tables(self) -> NDArray[np.uint8] | None:
        """Where each plate follows one component: the tint of every 8-bit sample, (256, plates)."""
        if len(self.space.plates) != self.space.components:
            return None
        every = np.repeat(np.arange(256.0)[:, None], self.space.components, axis=1)
        return np.asarray(self._levels(every))

    def _levels(self, samples: NDArray[Any]) -> NDArray[np.uint8]:
        tints = self.space.tints(self.low + samples * (self.span / self.top))
        return (tints * 255 + 0.5).astype(np.uint8)

    def __call__(self, samples: NDArray[Any], shrink: int) -> Tints:
        rows, columns, count = samples.shape
        if self.tables is not None and samples.dtype == np.uint8:
            if self.is_one_to_one:
                return samples
            if (self.tables == self.tables[:, :1]).all():
                return _looked_up(self.tables[:, 0], samples)
            return np.stack([_looked_up(self.tables[:, i], samples[:, :, i]) for i in range(count)], axis=2)
        if self.linear:
            return self._levels(samples.reshape(-1, count)).reshape(rows, columns, -1)
        values = self.low + samples.reshape(-1, count) * (self.span / self.top)
        tints = self.space.tints(values).reshape(rows, columns, len(self.space.plates))
        return (_averaged(tints, shrink) * 255 + 0.5).astype(np.uint8)


def _looked_up(table: NDArray[np.uint8], samples: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Each sample's entry of a table of 256; bytes translate three times as fast as arrays index."""
    return np.frombuffer(samples.tobytes().translate(table.tobytes()), np.uint8).reshape(samples.shape)


def _averaged(samples: NDArray[Any], shrink: int) -> NDArray[Any]:
    """Mean of blocks of shrink x shrink; the last, smaller blocks are the mean of what they hold."""
    if shrink <= 1:
        return samples
    rows, columns = samples.shape[:2]
    mode = _MODES.get(samples.shape[2])
    if samples.dtype == np.uint8 and mode:
        plain = np.ascontiguousarray(samples[:, :, 0] if mode == "L" else samples)
        picture = Image.frombuffer(mode, (columns, rows), plain, "raw", mode, 0, 1)
        small = np.asarray(picture.reduce(shrink))
        return small[:, :, None] if mode == "L" else small
    down = np.add.reduceat(samples, np.arange(0, rows, shrink), axis=0, dtype=np.float32)
    both = np.add.reduceat(down, np.arange(0, columns, shrink), axis=1)
    row_count = np.diff(np.append(np.arange(0, rows, shrink), rows))
    column_count = np.diff(np.append(np.arange(0, columns, shrink), columns))
    return np.asarray(both / (row_count[:, None, None] * column_count[None, :, None]))


def unpacked(packed: NDArray[np.uint8], bits: int, width: int, components: int) -> NDArray[Any]:
    """Samples of packed rows, (rows, width, components)."""
    rows, count = len(packed), width * components
    if bits == 8:
        samples: NDArray[Any] = packed[:, :count]
    elif bits == 16:
        samples = packed.view(">u2")[:, :count].astype(np.uint16)
    else:
        spread = np.unpackbits(packed, axis=1)[:, : count * bits].reshape(rows, count, bits)
        samples = (spread * (1 << np.arange(bits - 1, -1, -1))).sum(2).astype(np.uint8)
    return samples.reshape(rows, width, components)


def colour_key_mask(use: ImageUse) -> NDArray[np.bool_]:
    """Pixels that a colour-key mask hides (ISO 32000-2, 8.9.6.4), (rows, columns).

    Raises:
        NotDrawn: over a bound, or in no form that can be decoded.
    """
    assert use.space is not None
    limits = numbers(lookup(use.stream, "Mask"), None) or []
    facts, count = use.facts, use.space.components
    last = use.filters[-1] if use.filters else ""
    if last in PICTURES:
        if last == JPEG_2000 and decoded_jpeg_2000(use).scaled:
            raise CannotBeRendered("a JPEG 2000 picture of more than 8 bits that is masked by its colours")
        found = decoded_samples(use, last, 1)
        samples = 255 - found.samples if found.turned else found.samples
    else:
        width = row_bytes(use)
        size = width * facts.height_px
        packed = np.frombuffer(plain_bytes(use, size).ljust(size, b"\0"), np.uint8)
        samples = unpacked(packed.reshape(facts.height_px, width), facts.bits, facts.width_px, count)
    if len(limits) < 2 * count:
        return np.zeros(samples.shape[:2], bool)
    low, high = np.array(limits[: 2 * count]).reshape(-1, 2).T
    return np.asarray(((samples >= low) & (samples <= high)).all(2))
