"""The head of a JPEG: how many colours it has, and whether they are stored as they are or turned into others."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

_FRAMES: Final = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_SCAN, _JFIF, _ADOBE = 0xDA, 0xE0, 0xEE
_MARK: Final = b"\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00"
_PLAIN_RGB: Final = b"RGB"


def colours_of(data: bytes) -> int | None:
    """Components of the frame; None where there is none."""
    for kind, begin, _ in _segments(data):
        if kind in _FRAMES and begin + 10 <= len(data):
            return data[begin + 9]
    return None


def marked(data: bytes, told: int | None) -> bytes:
    """The same JPEG, with a mark on how its colours are stored where a reader would guess otherwise than PDF has it.

    A mark that it has goes before ``ColorTransform``, which is ``told``; without both, three colours are turned and
    four are not (ISO 32000-2, table 13). Readers go by the JFIF segment and by the names of the components instead.
    """
    count, names, jfif = 0, b"", (2, 2)
    for kind, begin, end in _segments(data):
        body = data[begin + 4 : end]
        if kind == _ADOBE and body.startswith(b"Adobe"):
            return data
        if kind == _JFIF and body.startswith(b"JFIF"):
            jfif = begin, end
        elif kind in _FRAMES and len(body) > 5:
            count, names = body[5], body[6::3]
    if count not in (3, 4):
        return data
    turned = count == 3 if told is None else told != 0
    guessed = count == 3 and (jfif != (2, 2) or names[:3] != _PLAIN_RGB)
    if turned == guessed:
        return data
    how = bytes([(2 if count == 4 else 1) if turned else 0])
    return data[:2] + _MARK + how + data[2 : jfif[0]] + data[jfif[1] :]


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Marker segments up to the first scan: kind, and where each begins and ends."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        kind = data[at + 1]
        if kind == 0xFF:  # fill
            at += 1
            continue
        if kind == _SCAN:
            return
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        yield kind, at, end
        at = end
