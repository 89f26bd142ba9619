"""JPEG 2000 files as a PDF holds them: a code stream, and the boxes round it (ISO/IEC 15444-1, annex I)."""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

_MODES = {1: "L", 2: "LA", 3: "RGB", 4: "RGBA"}
GREY, RGB, CMYK = 17, 16, 12
"""Enumerated colour spaces (ISO/IEC 15444-1, table I.10, and 15444-2, table M.25)."""
COLOUR, OPACITY, PREMULTIPLIED = 0, 1, 2
"""Types of channels (ISO/IEC 15444-1, table I.16)."""


def code_stream(samples: NDArray[np.uint8]) -> bytes:
    """Samples (rows, columns, one to four components) of 8 bits, packed without loss and without a colour transform."""
    target = io.BytesIO()
    picture = Image.fromarray(samples[:, :, 0] if samples.shape[2] == 1 else samples, _MODES[samples.shape[2]])
    picture.save(target, "JPEG2000", no_jp2=True)
    return target.getvalue()


def boxed(
    stream: bytes,
    *,
    space: int | None = None,
    channels: Sequence[tuple[int, int, int]] = (),
    palette: NDArray[np.uint8] | None = None,
    mapped: Sequence[tuple[int, int, int]] | None = None,
) -> bytes:
    """A JP2 file.

    Args:
        stream: the code stream; its SIZ segment says how large it is.
        space: enumerated colour space.
        channels: of the channel definition box: channel, type, and the colour that it is for (0 all, 1 the first).
        palette: its entries, (entries, columns).
        mapped: of the component mapping box: component, 0 direct or 1 through the palette, column.
    """
    width, height = struct.unpack(">II", stream[8:16])
    count, depth = struct.unpack(">HB", stream[40:43])
    header = _box(b"ihdr", struct.pack(">IIHBBBB", height, width, count, depth, 7, 0, 0))
    header += _box(b"colr", struct.pack(">BBBI", 1, 0, 0, space)) if space is not None else b""
    if palette is not None:
        entries, columns = palette.shape
        header += _box(b"pclr", struct.pack(">HB", entries, columns) + b"\7" * columns + palette.tobytes())
        mapped = [(0, 1, column) for column in range(columns)] if mapped is None else mapped
        header += _box(b"cmap", b"".join(struct.pack(">HBB", *entry) for entry in mapped))
    if channels:
        body = struct.pack(">H", len(channels)) + b"".join(struct.pack(">HHH", *entry) for entry in channels)
        header += _box(b"cdef", body)
    kind = _box(b"ftyp", b"jp2 " + bytes(4) + b"jp2 ")
    return _box(b"jP  ", b"\r\n\x87\n") + kind + _box(b"jp2h", header) + _box(b"jp2c", stream)


def _box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", 8 + len(body)) + kind + body
