"""Pictures packed as JPEG and PNG for the report page, in the first way that works and is small enough."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from typing import Final

from PIL import Image

CANNOT: Final = (OSError, ValueError, MemoryError)
"""What an encoder raises."""


def jpeg(image: Image.Image, quality: int, chroma: int = 2) -> bytes:
    """JPEG with the usual Huffman tables.

    For tables of its own the encoder wants the whole file in one buffer, which has a byte a pixel; a fine pattern
    takes more, and then it breaks. They would save a twentieth.

    Args:
        image: what is packed.
        quality: 0 to 100.
        chroma: 0 keeps the colour of every pixel, 2 one colour for four of them.

    Raises:
        OSError: it cannot be packed.
    """
    return _encoded(image, "JPEG", quality=quality, subsampling=chroma)


def png(image: Image.Image) -> bytes:
    """PNG, as small as it gets.

    Raises:
        OSError: it cannot be packed.
    """
    return _encoded(image, "PNG", optimize=True)


def first_that_fits(ways: Iterable[Callable[[], bytes]], most_bytes: int) -> bytes:
    """The first of several files that is small enough, else the smallest; a way that breaks is passed over.

    Raises:
        OSError: every way broke.
    """
    smallest: bytes | None = None
    broke: Exception | None = None
    for way in ways:
        try:
            data = way()
        except CANNOT as fault:
            broke = fault
            continue
        if len(data) <= most_bytes:
            return data
        if smallest is None or len(data) < len(smallest):
            smallest = data
    if smallest is None:
        raise OSError("the picture cannot be packed") from broke
    return smallest


def _encoded(image: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()
