"""Fonts as their dictionaries tell of them: one odd entry takes nothing else along."""

from __future__ import annotations

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.content.fonts import read_font


@pytest.fixture
def descriptor():
    pdf = pikepdf.new()
    return pdf, Dictionary(FontFile2=pdf.make_stream(b"glyphs"), Ascent=800, Descent=-200)


@pytest.mark.parametrize("odd", ["null", "/A", "(b)", "[1]", "true"])
def test_an_odd_width_leaves_the_font_embedded(odd, descriptor):
    _, told = descriptor
    widths = pikepdf.Object.parse(f"[500 {odd} 600]".encode())
    font = read_font(
        Dictionary(Subtype=Name.TrueType, BaseFont=Name.Oak, FirstChar=65, Widths=widths, FontDescriptor=told)
    )
    assert font.facts.embedded
    assert font.widths == pytest.approx({65: 0.5, 67: 0.6})


def test_odd_widths_of_a_composite_font_leave_it_embedded(descriptor):
    _, told = descriptor
    widths = pikepdf.Object.parse(b"[1 [500 null 700] null 5 7 null 9 10 800]")
    inner = Dictionary(Subtype=Name.CIDFontType2, FontDescriptor=told, W=widths)
    font = read_font(Dictionary(Subtype=Name.Type0, BaseFont=Name.Oak, DescendantFonts=Array([inner])))
    assert font.facts.embedded
    assert font.widths == pytest.approx({1: 0.5, 3: 0.7, 9: 0.8, 10: 0.8})
