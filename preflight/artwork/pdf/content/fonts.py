"""What a font says of itself, and how far a string advances: enough to place text, not to draw it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.page.objects import FontFacts
from preflight.artwork.pdf.structure.values import items, number, text, whole

_ESCAPE = re.compile(rb"\\([nrtbf()\\]|[0-7]{1,3}|\r\n|\r|\n|.)", re.DOTALL)
_PLAIN = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\r\n": b"", b"\r": b"", b"\n": b""}
_SHOWN = re.compile(rb"\(|<([0-9A-Fa-f\s]*)>?|[+-]?[0-9.]+")
_STRING = re.compile(rb"[^()\\]*(?:\\.[^()\\]*)*", re.DOTALL)
_USUAL_WIDTH = 0.5
_USUAL_ASCENT, _USUAL_DESCENT = 0.75, -0.25


@dataclass(frozen=True)
class Font:
    """A font as text showing needs it; widths, ascent and descent in em."""

    facts: FontFacts
    two_byte: bool = False
    widths: dict[int, float] = field(default_factory=dict)
    default_width: float = _USUAL_WIDTH
    ascent: float = _USUAL_ASCENT
    descent: float = _USUAL_DESCENT
    glyphs: Object | None = None
    """A Type 3 font's dictionary; its glyphs are content streams."""
    matrix: tuple[float, ...] = (0.001, 0, 0, 0.001, 0, 0)

    def codes(self, shown: bytes) -> NDArray[np.int64]:
        """Character codes of a shown string."""
        if self.two_byte:
            return np.frombuffer(shown[: len(shown) // 2 * 2], ">u2").astype(np.int64)
        return np.frombuffer(shown, np.uint8).astype(np.int64)

    def advance(self, shown: bytes) -> tuple[float, int, int]:
        """Sum of widths in em, number of characters, number of single-byte spaces (ISO 32000-2, 9.4.4)."""
        codes = self.codes(shown).tolist()
        width = sum(self.widths.get(code, self.default_width) for code in codes)
        return width, len(codes), 0 if self.two_byte else shown.count(b" ")


NO_FONT = Font(FontFacts("", embedded=True))


def read_font(font: Object) -> Font:
    """A font from its dictionary; what is missing or broken takes usual values, it never raises."""
    try:
        return _read(font)
    except Exception:
        return Font(FontFacts("unreadable font", embedded=False))


def _read(font: Object) -> Font:
    subtype = text(font.get("/Subtype", None))
    name = text(font.get("/BaseFont", font.get("/Name", None)))
    if subtype == "Type3":
        return _read_type3(font, name or "Type 3")
    if subtype == "Type0":
        descendants = font.get("/DescendantFonts", Array())
        descendant = descendants[0] if len(descendants) else Dictionary()
        descriptor = descendant.get("/FontDescriptor", Dictionary())
        widths = _cid_widths(descendant.get("/W", Array()))
        default = float(descendant.get("/DW", 1000)) / 1000
        return Font(FontFacts(name, _embedded(descriptor)), True, widths, default, *_extent(descriptor))
    descriptor = font.get("/FontDescriptor", Dictionary())
    widths = _simple_widths(font) or _standard_widths(name, font.get("/Encoding", None))
    missing = float(descriptor.get("/MissingWidth", _USUAL_WIDTH * 1000 if not widths else 0)) / 1000
    return Font(FontFacts(name, _embedded(descriptor)), False, widths, missing, *_extent(descriptor))


def _read_type3(font: Object, name: str) -> Font:
    matrix = tuple(float(v) for v in font.get("/FontMatrix", [0.001, 0, 0, 0.001, 0, 0]))
    first = int(font.get("/FirstChar", 0))
    widths = _widths(first, font.get("/Widths", Array()), matrix[0])
    box = [float(v) for v in font.get("/FontBBox", [0, 0, 0, 0])]
    low, high = sorted((box[1] * matrix[3], box[3] * matrix[3]))
    if high - low <= 0:
        low, high = _USUAL_DESCENT, _USUAL_ASCENT
    return Font(FontFacts(name, embedded=True, type3=True), False, widths, 0.0, high, low, font, matrix)


def _embedded(descriptor: Object) -> bool:
    return any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def _extent(descriptor: Object) -> tuple[float, float]:
    """Ascent and descent; a font without either says 0, or nothing."""
    ascent = float(descriptor.get("/Ascent", 0)) / 1000
    descent = -abs(float(descriptor.get("/Descent", 0)) / 1000)  # often written without its sign
    return (ascent if 0 < ascent < 3 else _USUAL_ASCENT, descent if -3 < descent < 0 else _USUAL_DESCENT)


def _standard_widths(name: str, encoding: Object | None) -> dict[int, float]:
    from preflight.artwork.pdf.content.standard_fonts import standard_widths  # few files need it

    return standard_widths(name, encoding)


def _simple_widths(font: Object) -> dict[int, float]:
    first = int(font.get("/FirstChar", 0))
    return _widths(first, font.get("/Widths", Array()), 1 / 1000)


def _widths(first: int, entries: Object, scale: float) -> dict[int, float]:
    """Widths of the codes from ``first`` on; what is no number leaves its code without one."""
    found = ((first + i, number(width)) for i, width in enumerate(items(entries)))
    return {code: width * scale for code, width in found if width is not None}


def _cid_widths(entries: Object) -> dict[int, float]:
    widths: dict[int, float] = {}
    given = items(entries)
    i = 0
    while i + 1 < len(given):
        first = whole(given[i])
        if first is None:
            i += 1
        elif isinstance(given[i + 1], Array):
            widths.update(_widths(first, given[i + 1], 1 / 1000))
            i += 2
        elif i + 2 < len(given):
            last, width = whole(given[i + 1]), number(given[i + 2])
            if last is not None and width is not None:
                widths.update(dict.fromkeys(range(first, min(last, first + 65535) + 1), width / 1000))
            i += 3
        else:
            break
    return widths


def string_of(token: bytes) -> bytes:
    """The bytes that a literal or hexadecimal string token stands for (ISO 32000-2, 7.3.4)."""
    if token[:1] == b"<":
        digits = bytes(c for c in token if c in b"0123456789abcdefABCDEF")
        return bytes.fromhex((digits + b"0"[: len(digits) % 2]).decode("ascii"))
    inner = token[1:-1] if token[-1:] == b")" else token[1:]
    return _ESCAPE.sub(_unescaped, inner) if b"\\" in inner else inner


def _unescaped(match: re.Match[bytes]) -> bytes:
    escaped = match[1]
    if escaped[:1].isdigit() and escaped[:1] not in b"89":
        return bytes([int(escaped, 8) & 255])
    return _PLAIN.get(escaped, escaped)


def shown_parts(token: bytes) -> Iterator[bytes | float]:
    """Strings and adjustments of a TJ array, in order; a lone string yields itself."""
    position = 0
    while match := _SHOWN.search(token, position):
        position = match.end()
        if match[0] == b"(":
            depth = 1
            while depth and position < len(token):
                plain = _STRING.match(token, position)
                position = plain.end() if plain else position
                depth += {40: 1, 41: -1}.get(token[position] if position < len(token) else 41, 0)
                position += 1
            yield string_of(token[match.start() : position])
        elif match[0][:1] == b"<":
            yield string_of(match[0])
        else:
            try:
                yield float(match[0])
            except ValueError:
                yield 0.0


def is_font_dictionary(value: object) -> bool:
    """Whether a resource can be read as a font."""
    return isinstance(value, Dictionary) and value.get("/Type", Name.Font) == Name.Font
