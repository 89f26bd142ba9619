"""Fonts as their dictionaries tell of them: one odd entry takes nothing else along."""

from __future__ import annotations

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.content.fonts import is_font_dictionary, read_font, shown_parts, string_of


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


def simple(**keys):
    return Dictionary(Subtype=Name.TrueType, BaseFont=Name.Oak, **keys)


def composite(**keys):
    inner = Dictionary(Subtype=Name.CIDFontType2, **keys)
    return Dictionary(Subtype=Name.Type0, BaseFont=Name.Oak, DescendantFonts=Array([inner]))


@pytest.mark.parametrize(
    ("font", "shown", "advance"),
    [
        (simple(), b"ab c", (2.0, 4, 1)),
        (simple(FirstChar=97, Widths=Array([300, 700])), b"aab", (1.3, 3, 0)),
        (simple(FirstChar=97, Widths=Array([300])), b"ab", (0.3, 2, 0)),  # a code without a width
        (simple(FirstChar=97, Widths=Array([300]), FontDescriptor=Dictionary(MissingWidth=900)), b"ab", (1.2, 2, 0)),
        (simple(FontDescriptor=Dictionary(MissingWidth=900)), b"ab", (1.8, 2, 0)),
        (simple(Widths=Array([300, 700])), b"\0\1\1", (1.7, 3, 0)),
        (composite(), b"\0a\0 ", (2.0, 2, 0)),  # of two bytes, and a space of two is none
        (composite(DW=400), b"\0a\0b\0", (0.8, 2, 0)),
        (composite(W=Array([97, Array([300, 700])])), b"\0a\0b\0c", (2.0, 3, 0)),
        (composite(W=Array([97, 99, 250])), b"\0a\0b\0c\0d", (1.75, 4, 0)),
        (composite(W=Array([97, 97, 250, 98, Array([100]), 99])), b"\0a\0b\0c", (1.35, 3, 0)),
        (composite(W=Array([97])), b"\0a", (1.0, 1, 0)),
        (composite(W=Array([256, 256, 250])), b"\1\0", (0.25, 1, 0)),
        (composite(W=Array([0, 10**9, 250])), b"\xff\xff", (0.25, 1, 0)),
    ],
)
def test_how_far_a_string_moves_on(font, shown, advance):
    width, characters, spaces = read_font(font).advance(shown)
    assert (round(width, 6), characters, spaces) == advance


def standard(name, **keys):
    return Dictionary(Subtype=Name.Type1, BaseFont=Name("/" + name), **keys)


DIFFERENCES = Dictionary(BaseEncoding=Name.WinAnsiEncoding, Differences=Array([65, Name.W, Name.i, 200, Name.Euro]))


@pytest.mark.parametrize(
    ("font", "shown", "advance"),
    [  # widths of the Core 14 fonts, as their makers published them
        (standard("Helvetica"), b"Wil", (0.944 + 0.222 + 0.222)),
        (standard("Helvetica", Encoding=Name.WinAnsiEncoding), b"\x80\xfc", 0.556 + 0.556),
        (standard("Helvetica", Encoding=Name.MacRomanEncoding), b"\x9f", 0.556),
        (standard("Helvetica", Encoding=DIFFERENCES), b"ABC\xc8", 0.944 + 0.222 + 0.722 + 0.556),
        (standard("Helvetica", Encoding=Name.Odd), b"W", 0.944),
        (standard("Times-BoldItalic"), b"Wa", 0.889 + 0.5),
        (standard("Courier"), b"Wi", 1.2),
        (standard("Symbol"), b"a", 0.631),  # alpha
        (standard("Symbol", Encoding=Name.WinAnsiEncoding), b"a", 0.631),
        (standard("ZapfDingbats"), b"!", 0.974),
        (standard("Arial"), b"W", 0.944),
        (standard("ArialMT"), b"W", 0.944),
        (standard("Arial,Bold"), b"W", 0.944),
        (standard("Arial-BoldItalicMT"), b"a", 0.556),
        (standard("TimesNewRomanPS-BoldMT"), b"W", 1.0),
        (standard("CourierNew,Italic"), b"i", 0.6),
        (standard("ABCDEF+Helvetica"), b"W", 0.944),
        (standard("ArialNarrow"), b"W", 0.5),  # another font, of which nothing is known
        (standard("Helvetica", FirstChar=87, Widths=Array([900])), b"W", 0.9),  # what the file says goes first
    ],
)
def test_a_standard_font_may_leave_out_its_widths(font, shown, advance):
    """ISO 32000-2, 9.6.2.2."""
    assert read_font(font).advance(shown)[0] == pytest.approx(advance)


@pytest.mark.parametrize(
    ("told", "extent"),
    [
        ({"Ascent": 800, "Descent": -200}, (0.8, -0.2)),
        ({"Descent": -200}, (0.75, -0.2)),
        ({"Ascent": 0, "Descent": 0}, (0.75, -0.25)),
        ({"Ascent": 800}, (0.8, -0.25)),  # nothing is told, and letters do reach below the line
        ({"Ascent": -10, "Descent": 200}, (0.75, -0.2)),  # written without its sign
        ({"Ascent": 2999, "Descent": -2999}, (2.999, -2.999)),
        ({"Ascent": 3000, "Descent": -3000}, (0.75, -0.25)),
        ({"Descent": 2999}, (0.75, -2.999)),
        ({"Descent": 3000}, (0.75, -0.25)),
    ],
)
def test_how_far_a_font_reaches_up_and_down(told, extent):
    for made in (simple(FontDescriptor=Dictionary(**told)), composite(FontDescriptor=Dictionary(**told))):
        font = read_font(made)
        assert (font.ascent, font.descent) == extent


@pytest.mark.parametrize(
    ("key", "embedded"), [("FontFile", True), ("FontFile2", True), ("FontFile3", True), ("FontFile4", False)]
)
def test_a_font_with_a_program_is_embedded(key, embedded):
    told = Dictionary({f"/{key}": 1})
    assert read_font(simple(FontDescriptor=told)).facts.embedded is embedded
    assert read_font(composite(FontDescriptor=told)).facts.embedded is embedded
    assert not read_font(simple()).facts.type3


def test_a_font_of_glyph_streams():
    font = read_font(
        Dictionary(
            Subtype=Name.Type3, Name=Name.Own, FontMatrix=[0.01, 0, 0, 0.02, 0, 0], FontBBox=[0, -10, 50, 40],
            FirstChar=97, Widths=Array([30, 70]),
        )
    )  # fmt: skip
    assert (font.facts.name, font.facts.embedded, font.facts.type3) == ("Own", True, True)
    assert (font.ascent, font.descent) == pytest.approx((0.8, -0.2))
    width, characters, spaces = font.advance(b"abz")
    assert (round(width, 6), characters, spaces) == (1, 3, 0)
    assert font.glyphs is not None
    assert font.matrix == (0.01, 0, 0, 0.02, 0, 0)


@pytest.mark.parametrize(
    ("keys", "extent"),
    [
        ({}, (0.75, -0.25)),
        ({"FontBBox": [0, 0, 0, 0]}, (0.75, -0.25)),
        ({"FontBBox": [0, 300, 9, 900]}, (0.9, 0.3)),
        ({"FontBBox": [0, 900, 9, 300]}, (0.9, 0.3)),
        ({"FontBBox": [0, 300, 9, 900], "FontMatrix": [0.001, 0, 0, -0.001, 0, 0]}, (-0.3, -0.9)),
    ],
)
def test_the_extent_of_glyph_streams_is_that_of_their_box(keys, extent):
    font = read_font(Dictionary(Subtype=Name.Type3, **keys))
    assert (font.ascent, font.descent) == pytest.approx(extent)
    assert font.facts.name == "Type 3"


@pytest.mark.parametrize("broken", [None, 5, Array([]), Dictionary(Subtype=Name.Type3, FontMatrix=Name.Odd)])
def test_a_font_that_cannot_be_read_is_not_embedded(broken):
    assert not read_font(broken).facts.embedded


@pytest.mark.parametrize(
    ("token", "raw"),
    [
        (b"(ab)", b"ab"),
        (b"()", b""),
        (b"(a(b)c)", b"a(b)c"),
        (b"(a\\(b\\)\\\\)", b"a(b)\\"),
        (b"(\\n\\r\\t\\b\\f)", b"\n\r\t\b\f"),
        (b"(a\\\nb\\\rc\\\r\nd)", b"abcd"),
        (b"(\\101\\12\\0\\1234)", b"A\n\0S4"),
        (b"(\\400\\777)", b"\0\xff"),
        (b"(\\8\\q)", b"8q"),
        (b"(never ends", b"never ends"),
        (b"<4142>", b"AB"),
        (b"<41 4\n2>", b"AB"),
        (b"<414>", b"A@"),
        (b"<aBzF>", b"\xab\xf0"),
        (b"<>", b""),
    ],
)
def test_what_a_string_stands_for(token, raw):
    """ISO 32000-2, 7.3.4.2 and 7.3.4.3."""
    assert string_of(token) == raw


@pytest.mark.parametrize(
    ("token", "parts"),
    [
        (b"[(a)-20(b)3.5<41>]", [b"a", -20.0, b"b", 3.5, b"A"]),
        (b"[(a(b)c) (d\\)e)]", [b"a(b)c", b"d)e"]),
        (b"[((a)(b))1]", [b"(a)(b)", 1.0]),
        (b"[+5 -.5 . 7]", [5.0, -0.5, 0.0, 7.0]),
        (b"(a)", [b"a"]),
        (b"[(never (ends", [b"never (ends"]),
        (b"[]", []),
    ],
)
def test_parts_of_an_array_that_is_shown(token, parts):
    assert [*shown_parts(token)] == parts


@pytest.mark.parametrize(
    ("value", "is_font"),
    [(Dictionary(), True), (Dictionary(Type=Name.Font), True), (Dictionary(Type=Name.Encoding), False), (None, False)],
)
def test_a_font_may_leave_out_its_type(value, is_font):
    assert is_font_dictionary(value) is is_font
