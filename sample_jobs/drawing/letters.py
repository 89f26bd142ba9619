"""Letters: the Bitstream Vera faces that come with reportlab, embedded as a subset or turned into outlines."""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path
from typing import Any

import reportlab
from reportlab.pdfbase.ttfonts import TTFontFile

from sample_jobs.drawing.outline import Outline, Point

FACES = {"regular": "Vera.ttf", "bold": "VeraBd.ttf", "italic": "VeraIt.ttf", "bold italic": "VeraBI.ttf"}
PT = 25.4 / 72


@cache
def face(style: str) -> Face:
    """The face of a style: regular, bold, italic or bold italic."""
    return Face(FACES[style])


class Face:
    """One TrueType face: widths, outlines, and the program of a subset."""

    def __init__(self, file: str) -> None:
        self.ttf: Any = TTFontFile(str(Path(reportlab.__file__).parent / "fonts" / file))
        self.em: int = self.ttf.unitsPerEm
        self.glyphs: bytes = self.ttf.get_table("glyf")
        self.name: str = self.ttf.name.decode() if isinstance(self.ttf.name, bytes) else str(self.ttf.name)

    def width(self, char: str) -> float:
        """Advance of a character in thousandths of the type size."""
        return float(self.ttf.charWidths.get(ord(char), self.ttf.defaultWidth))

    def length_mm(self, words: str, size_pt: float, spacing_mm: float = 0.0) -> float:
        """Length of a line of words in mm."""
        return sum(self.width(c) for c in words) / 1000 * size_pt * PT + spacing_mm * max(len(words) - 1, 0)

    def outlined(self, words: str, size_pt: float, *, spacing_mm: float = 0.0) -> Outline:
        """The words as outlines, starting at (0, 0) on the base line."""
        outline, x, scale = Outline(), 0.0, size_pt * PT / self.em
        for char in words:
            for contour in self._contours(self.ttf.charToGlyph.get(ord(char), 0)):
                _draw_contour(outline, contour, x, scale)
            x += self.width(char) / 1000 * size_pt * PT + spacing_mm
        return outline

    def _contours(self, glyph: int) -> list[list[tuple[int, int, bool]]]:
        """Contours of (x, y, on the curve), font units; compound glyphs put together (OpenType, table ``glyf``)."""
        start, end = self.ttf.glyphPos[glyph], self.ttf.glyphPos[glyph + 1]
        if start == end:
            return []
        data = self.glyphs[start:end]
        count = struct.unpack(">h", data[:2])[0]
        return _simple_glyph(data, count) if count >= 0 else self._compound_glyph(data)

    def _compound_glyph(self, data: bytes) -> list[list[tuple[int, int, bool]]]:
        contours: list[list[tuple[int, int, bool]]] = []
        at, more = 10, True
        while more:
            flags, part = struct.unpack(">HH", data[at : at + 4])
            words, more = bool(flags & 1), bool(flags & 0x20)
            dx, dy = struct.unpack(">hh" if words else ">bb", data[at + 4 : at + (8 if words else 6)])
            at += (8 if words else 6) + (2 if flags & 8 else 4 if flags & 0x40 else 8 if flags & 0x80 else 0)
            contours += [[(x + dx, y + dy, on) for x, y, on in contour] for contour in self._contours(part)]
        return contours


def _simple_glyph(data: bytes, count: int) -> list[list[tuple[int, int, bool]]]:
    ends = struct.unpack(f">{count}H", data[10 : 10 + 2 * count])
    total, at = ends[-1] + 1, 12 + 2 * count + struct.unpack(">H", data[10 + 2 * count : 12 + 2 * count])[0]
    flags: list[int] = []
    while len(flags) < total:
        flag, at = data[at], at + 1
        repeat = data[at] if flag & 8 else 0
        at += 1 if flag & 8 else 0
        flags += [flag] * (repeat + 1)
    xs, at = _coordinates(data, at, flags, short=2, same=16)
    ys, at = _coordinates(data, at, flags, short=4, same=32)
    points = [(x, y, bool(flag & 1)) for x, y, flag in zip(xs, ys, flags, strict=True)]
    return [points[first:last] for first, last in zip((0, *(e + 1 for e in ends)), (e + 1 for e in ends), strict=False)]


def _coordinates(data: bytes, at: int, flags: list[int], *, short: int, same: int) -> tuple[list[int], int]:
    values, value = [], 0
    for flag in flags:
        if flag & short:
            value += data[at] if flag & same else -data[at]
            at += 1
        elif not flag & same:
            value += struct.unpack(">h", data[at : at + 2])[0]
            at += 2
        values.append(value)
    return values, at


def _draw_contour(outline: Outline, contour: list[tuple[int, int, bool]], x: float, scale: float) -> None:
    """A contour of quadratic curves; between two control points in a row lies a point of the curve."""
    full: list[tuple[float, float, bool]] = []
    for (ax, ay, a_on), (bx, by, b_on) in zip(contour, contour[1:] + contour[:1], strict=True):
        full.append((ax, ay, a_on))
        if not a_on and not b_on:
            full.append(((ax + bx) / 2, (ay + by) / 2, True))
    first = next(i for i, point in enumerate(full) if point[2])
    full = full[first:] + full[: first + 1]
    placed: list[tuple[Point, bool]] = [((x + px * scale, py * scale), on) for px, py, on in full]
    outline.move(*placed[0][0])
    here, control = placed[0][0], None
    for point, on in placed[1:]:
        if not on:
            control = point
        elif control is None:
            outline.line(point)
            here = point
        else:
            outline.curve(_toward(here, control), _toward(point, control), point)
            here, control = point, None
    outline.close()


def _toward(end: Point, control: Point) -> Point:
    """Cubic control point of a quadratic curve: two thirds of the way to its control point."""
    return (end[0] + (control[0] - end[0]) * 2 / 3, end[1] + (control[1] - end[1]) * 2 / 3)
