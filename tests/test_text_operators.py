"""Where strings stand: places in points, worked out by hand from ISO 32000-2, 9.3 and 9.4.

The font reaches from a quarter of an em below the line to three above; glyphs of which it says nothing are half an em
wide.
"""

from __future__ import annotations

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.stream_content import EditKind, GlyphShow, TextState
from tests.drawn import Drawing
from tests.test_content_reader import SQUARE, content_of, pattern, sheet, state_of, table_of, tints_of, type3


def page(words: str) -> Drawing:
    drawing = sheet(words)
    drawing.resources.Font.F0 = font(Name.Oak)
    return drawing


def font(name: Name) -> Dictionary:
    told = Dictionary(Type=Name.FontDescriptor, Ascent=750, Descent=-250)
    return Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=name, FontDescriptor=told)


LINE = (20, 27.5, 30, 37.5)
"""Two letters of 10 pt from (20, 30)."""
SHOWN = {
    "a string": ("20 30 Td (ab) Tj", LINE),
    "in hexadecimal digits": ("20 30 Td <6162> Tj", LINE),
    "characters apart": ("20 30 Td 2 Tc (ab) Tj", (20, 27.5, 34, 37.5)),
    "words apart": ("20 30 Td 3 Tw (a b) Tj", (20, 27.5, 38, 37.5)),
    "stretched": ("20 30 Td 50 Tz (ab) Tj", (20, 27.5, 25, 37.5)),
    "all of these": ("20 30 Td 2 Tc 3 Tw 50 Tz (a b) Tj", (20, 27.5, 32, 37.5)),
    "raised": ("20 30 Td 4 Ts (ab) Tj", (20, 31.5, 30, 41.5)),
    "next line": ("20 30 Td 12 TL T* (ab) Tj", (20, 15.5, 30, 25.5)),
    "moved with its leading": ("20 30 Td 5 -12 TD (ab) Tj", (25, 15.5, 35, 25.5)),
    "and the line after": ("20 30 Td 5 -12 TD T* (ab) Tj", (25, 3.5, 35, 13.5)),
    "on the next line": ("20 30 Td 12 TL (ab) '", (20, 15.5, 30, 25.5)),
    "on the next line, spaced": ('20 30 Td 12 TL 3 2 (a b) "', (20, 15.5, 44, 25.5)),
    "spaced from then on": ('20 30 Td 12 TL 3 2 (a b) " T* (a b) Tj', (20, 3.5, 44, 13.5)),
    "with too little on the next line": ("20 30 Td 12 TL 3 Tw (a b) '", (20, 15.5, 38, 25.5)),
    "adjusted": ("20 30 Td [(a) -200 (b)] TJ", (20, 27.5, 32, 37.5)),
    "adjusted, stretched": ("20 30 Td 50 Tz [(a) -200 (b)] TJ", (20, 27.5, 26, 37.5)),
    "adjusted back over itself": ("20 30 Td [(a) 1000 (b)] TJ", (15, 27.5, 25, 37.5)),
    "behind a string": ("20 30 Td (ab) Tj (ab) Tj", (30, 27.5, 40, 37.5)),
    "behind an adjusted string": ("20 30 Td [(ab) -300] TJ (ab) Tj", (33, 27.5, 43, 37.5)),
    "behind nothing but an adjustment": ("20 30 Td [-1000] TJ (ab) Tj", (30, 27.5, 40, 37.5)),
    "from the beginning of the line": ("20 30 Td (ab) Tj 5 1 Td (ab) Tj", (25, 28.5, 35, 38.5)),
    "in a matrix": ("2 0 0 3 50 60 Tm (ab) Tj", (50, 52.5, 70, 82.5)),
    "moved in a matrix": ("2 0 0 3 50 60 Tm 5 4 Td (ab) Tj", (60, 64.5, 80, 94.5)),
    "behind a string in a matrix": ("2 0 0 3 50 60 Tm (ab) Tj (ab) Tj", (70, 52.5, 90, 82.5)),
    "a matrix instead of another": ("9 9 9 9 9 9 Tm 1 0 0 1 20 30 Tm (ab) Tj", LINE),
    "turned": ("0 1 -1 0 20 30 Tm (ab) Tj", (12.5, 30, 22.5, 40)),
    "begun anew": ("20 30 Td ET BT (ab) Tj", (0, -2.5, 10, 7.5)),
    "of another size": ("20 30 Td /F0 8 Tf (ab) Tj", (20, 28, 28, 36)),
    "of a negative size": ("20 30 Td /F0 -10 Tf (ab) Tj", (10, 22.5, 20, 32.5)),
    "a font that is not there": ("20 30 Td /F7 8 Tf (ab) Tj", LINE),
    "a font without a size": ("20 30 Td /F0 Tf (ab) Tj", LINE),
    "a place of one number": ("20 30 Td 7 Td 7 TD (ab) Tj", LINE),
    "a parameter of none": ("20 30 Td Tc Tw Tz Ts TL (ab) Tj", LINE),
}


@pytest.mark.parametrize(("operators", "box"), SHOWN.values(), ids=SHOWN)
def test_a_string_stands_where_the_text_matrix_has_come_to(operators, box):
    table = table_of(page(f"BT /F0 10 Tf {operators} ET"))
    assert table.box_mm[-1].tolist() == pytest.approx(box)


def test_the_page_lies_round_the_text():
    table = table_of(page("2 0 0 3 7 11 cm BT /F0 10 Tf 20 30 Td (ab) Tj (ab) Tj ET"))
    assert table.box_mm.tolist() == [[47, 93.5, 67, 123.5], [67, 93.5, 87, 123.5]]


@pytest.mark.parametrize("words", ["() Tj", "[] TJ", "[-500] TJ", "/a Tj", "5 Tj", "Tj", "T*"])
def test_what_shows_nothing_is_no_row(words):
    assert len(table_of(page(f"BT /F0 10 Tf 20 30 Td {words} ET"))) == 0


MODES = [
    # the mode, and for each row whether it is stroked (ISO 32000-2, table 104)
    (0, [False]),
    (1, [True]),
    (2, [False, True]),
    (3, [False]),
    (4, [False]),
    (5, [True]),
    (6, [False, True]),
    (7, [False]),
    (9, [True]),  # three bits of it count
]


@pytest.mark.parametrize(("mode", "stroked"), MODES)
def test_filled_and_stroked_text(mode, stroked):
    drawing = page(f"0 1 0 0 k 1 0 0 0 K 2 0 0 3 5 7 cm BT /F0 10 Tf {mode} Tr (ab) Tj ET")
    table, content = table_of(drawing), content_of(drawing)
    assert content.stream.painted.tolist() == [Painted.TEXT] * len(stroked)
    assert content.stream.stroked.tolist() == stroked
    colours = {False: {"Magenta": 1}, True: {"Cyan": 1}}
    assert [tints_of(table, row) for row in range(len(table))] == [colours[stroke] for stroke in stroked]
    assert state_of(content).render_mode == mode & 7
    outlined = {row: (2, 0, 0, 3, 5, 7) for row, stroke in enumerate(stroked) if stroke}
    assert content.stream.outlined == outlined
    (edit,) = [edit for edit in content.stream.edits.tolist() if edit[2] == EditKind.SHOW]
    assert edit[3:5] == [0, len(stroked) - 1 if len(stroked) == 2 else -1]
    assert content.stream.data[edit[0] : edit[1]] == b"(ab) Tj"


def test_the_frame_of_text_is_its_em():
    content = content_of(page("2 0 0 3 5 7 cm BT /F0 10 Tf 50 Tz 1 0 0 4 20 30 Tm (ab) Tj ET")).stream
    assert content.frame[0].tolist() == [10, 0, 0, 120, 45, 97]


def test_text_in_a_pattern_can_be_shown_again():
    drawing = page(
        "/Pattern cs /P scn 2 0 0 3 5 7 cm BT /F0 10 Tf 1 Tc 2 Tw 50 Tz 4 Ts 20 30 Td (ab) Tj [(a) 9 (b)] TJ"
        " 2 Tr (ab) Tj /Pattern CS /P SCN (ab) Tj 0 g (ab) Tj 0 G (ab) Tj ET"
    )
    pattern(drawing, SQUARE)
    content = content_of(drawing).stream
    texts = content.pattern_text
    # Fills 0, 1, 2, 4 and the strokes 5 and 7; row 3 strokes in black, 6 fills so, and 8 and 9 do both.
    assert sorted(texts) == [0, 1, 2, 4, 5, 7]
    first, second = texts[0], texts[1]
    assert list(first.ctm) == [2, 0, 0, 3, 5, 7]
    assert list(first.text_matrix) == [1, 0, 0, 1, 20, 30]
    assert second.text_matrix[4] == 20 + (2 * 5 + 2 * 1) * 0.5
    assert first.setting == TextState(10, 1, 2, 0.5, 4)
    assert (first.shown, second.shown) == (b"(ab) Tj", b"[(a) 9 (b)] TJ")
    assert first.type3 is None
    assert texts[7].shown == b"(ab) Tj"


def test_text_in_glyphs_of_their_own_colours():
    drawing = page("0.5 g BT /F3 8 Tf (a) Tj /F0 9 Tf (a) Tj ET")
    type3(drawing, a="500 0 d0 0 1 0 0 k 0 0 9 9 re f")
    content = content_of(drawing)
    grey = content.stream.colour[1]
    assert content.stream.glyph_shows == {0: GlyphShow(8, grey)}
    assert content.stream.pattern_text[0].type3 is not None
    assert content.palette.entries[grey].values == (0.5,)
    assert content.stream.outlined == {}


def test_a_font_that_a_state_sets():
    drawing = page("/S gs BT 20 30 Td (ab) Tj ET")
    drawing.resources.ExtGState.S = Dictionary(Font=Array([drawing.pdf.make_indirect(font(Name.Elm)), 6]))
    content = content_of(drawing)
    (kept,) = content.stream.state_fonts
    assert kept.size == 6
    assert [edit[2:4] for edit in content.stream.edits.tolist()][0] == [EditKind.STATE_FONT, 0]
    table = table_of(drawing)
    assert table.box_mm[0].tolist() == [20, 28.5, 26, 34.5]
    assert [facts.name for facts in table.fonts] == ["Elm"]


def test_text_of_two_fonts_has_the_number_of_each():
    drawing = page("BT /F0 9 Tf (a) Tj /F1 9 Tf (a) Tj /F0 5 Tf (a) Tj ET")
    drawing.resources.Font.F1 = font(Name.Elm)
    table = table_of(drawing)
    assert [table.fonts[number].name for number in table.font] == ["Oak", "Elm", "Oak"]
    assert len(table.fonts) == 2
