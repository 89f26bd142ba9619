"""Widths of the 14 standard fonts, which a font dictionary may leave out (ISO 32000-2, 9.6.2.2)."""

from __future__ import annotations

import re
from functools import cache

from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.pdf.structure.values import items, text, whole

_SUBSET = re.compile(r"[A-Z]{6}\+")
_LIKE_STANDARD = re.compile(r"(arial|couriernew|timesnewroman)(?:ps)?(?:mt)?[,-]?(bold)?(italic|oblique)?(?:mt)?")
"""Names under which every reader takes a standard font: common practice."""
_FAMILIES = {
    "arial": ("Helvetica", "Helvetica-Bold", "Helvetica-Oblique", "Helvetica-BoldOblique"),
    "couriernew": ("Courier", "Courier-Bold", "Courier-Oblique", "Courier-BoldOblique"),
    "timesnewroman": ("Times-Roman", "Times-Bold", "Times-Italic", "Times-BoldItalic"),
}
_OWN_ENCODINGS = {"Symbol": "SymbolEncoding", "ZapfDingbats": "ZapfDingbatsEncoding"}


def standard_widths(name: str, encoding: Object | None) -> dict[int, float]:
    """Widths in em by character code; empty where the name is not one of a standard font.

    ``encoding``: the font's ``/Encoding``, a name or a dictionary (ISO 32000-2, 9.6.5), or None.
    """
    standard = _standard_name(name)
    if not standard:
        return {}
    glyph_widths, encodings = _tables(standard)
    named = _OWN_ENCODINGS.get(standard) or _base(encoding)
    glyphs = dict(enumerate(encodings[named if named in encodings else "StandardEncoding"]))
    if isinstance(encoding, Dictionary):
        glyphs |= _differences(encoding.get("/Differences", Array()))
    return {code: glyph_widths[glyph] / 1000 for code, glyph in glyphs.items() if glyph in glyph_widths}


def _standard_name(name: str) -> str:
    plain = _SUBSET.sub("", name, count=1) if _SUBSET.match(name) else name
    if any(plain == own for family in _FAMILIES.values() for own in family) or plain in _OWN_ENCODINGS:
        return plain
    like = _LIKE_STANDARD.fullmatch(plain.lower().replace(" ", ""))
    return _FAMILIES[like[1]][(2 if like[3] else 0) + (1 if like[2] else 0)] if like else ""


def _base(encoding: Object | None) -> str:
    base = encoding.get("/BaseEncoding", None) if isinstance(encoding, Dictionary) else encoding
    return text(base)


def _differences(entries: Object) -> dict[int, str]:
    """Glyph names by code: each number is the code of the name behind it, and they count on from there."""
    found, code = dict[int, str](), 0
    for entry in items(entries):
        if isinstance(entry, Name):
            found[code] = text(entry)
            code += 1
        else:
            code = whole(entry) or 0
    return found


@cache
def _tables(standard: str) -> tuple[dict[str, int], dict[str, tuple[str, ...]]]:
    """Widths of the font's glyphs in 1/1000 em, and the glyph names of every encoding."""
    from reportlab.pdfbase import _fontdata  # few files need it

    return _fontdata.widthsByFontGlyph[standard], _fontdata.encodings
