"""Type for PDF pages: two embedded faces, what they can show, how wide it is, and where a line breaks.

The faces are DejaVu Sans Condensed and its bold, under a free licence (``fonts/LICENSE.txt``). They have the Latin,
Greek, Cyrillic, Armenian and Georgian letters. What they lack, or what needs joining or turning (Arabic, Hebrew, the
scripts of India, Chinese, Japanese, Korean, Thai), is written as ``[U+4E2D]``: legible, and never a black box.
"""

from __future__ import annotations

import io
import re
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Any, Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from preflight.report import words

REGULAR: Final = "DejaVuSansCondensed"
BOLD: Final = "DejaVuSansCondensed-Bold"
LEADING: Final = 1.2
ASCENT: Final = 0.93
"""From the top of a line to its baseline, in sizes."""
RIGHT_TO_LEFT: Final = frozenset({"R", "AL", "AN"})
_PARTS: Final = re.compile(r"[^ /-]*[/-]+|[^ /-]+| +")
_ESCAPE: Final = re.compile(r"\[U\+[0-9A-F]{4,6}\]")


@cache
def letters() -> frozenset[int]:
    """What both faces can show; registers them."""
    held = []
    for name in (REGULAR, BOLD):
        font: Any = TTFont(name, io.BytesIO(files("preflight.report").joinpath(f"fonts/{name}.ttf").read_bytes()))
        pdfmetrics.registerFont(font)
        held.append(frozenset(font.face.charToGlyph))
    return held[0] & held[1]


def written(text: object) -> str:
    """Text as the faces can show it; any other letter is written as its number."""
    return "".join(map(_letter, unicodedata.normalize("NFC", words.plain(text))))


def lacks_letters(text: object) -> bool:
    """Whether ``written`` has to write a letter as its number."""
    return bool(_ESCAPE.search(written(text)))


@cache
def _letter(letter: str) -> str:
    shown = ord(letter) in letters() and unicodedata.bidirectional(letter) not in RIGHT_TO_LEFT
    return letter if shown else f"[U+{ord(letter):04X}]"


def face(*, bold: bool) -> str:
    """Name of the face; it is registered then."""
    letters()
    return BOLD if bold else REGULAR


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Width in points of text that has been through ``written``."""
    width: float = pdfmetrics.stringWidth(text, face(bold=bold), size)
    return width


def lines_of(text: object, size: float, room: float, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``room``; broken at blanks, behind hyphens and strokes, else within a word."""
    lines = [""]
    for part in _parts(written(text), size, room, bold=bold):
        if width_of((lines[-1] + part).rstrip(), size, bold=bold) <= room:
            lines[-1] += part
        else:
            lines.append(part.lstrip())
    return [line.rstrip() for line in lines]


def within_lines(text: str, size: float, room: float, most: int, *, bold: bool = False) -> list[str]:
    """``lines_of``, at most so many: the middle of a name that is longer is left out, for its end tells it apart."""
    lines = lines_of(text, size, room, bold=bold)
    kept = len(text)
    while len(lines) > most and kept > 2:
        kept -= 1
        lines = lines_of(f"{text[: kept - kept // 2]}…{text[len(text) - kept // 2 :]}", size, room, bold=bold)
    return lines


def widest_part(text: object, size: float, *, bold: bool = False) -> float:
    """Width of the widest part that a line is not broken in."""
    return max((width_of(part, size, bold=bold) for part in _PARTS.findall(written(text)) if part.strip()), default=0.0)


def _parts(text: str, size: float, room: float, *, bold: bool) -> list[str]:
    parts: list[str] = []
    for part in _PARTS.findall(text):
        if width_of(part.strip(), size, bold=bold) <= room:
            parts.append(part)
        else:
            parts += _pieces(part, size, room, bold=bold)
    return parts


def _pieces(part: str, size: float, room: float, *, bold: bool) -> list[str]:
    """A word that is wider than the line, in pieces that are not; an escape is one letter."""
    pieces = [""]
    for letter in re.findall(rf"{_ESCAPE.pattern}|.", part):
        if pieces[-1] and width_of(pieces[-1] + letter, size, bold=bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces
