"""What of a stream is written anew for each set of plates: stretches of bytes, and what stands in each."""

from __future__ import annotations

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.content.stream_content import EditKind
from tests.drawn import Drawing
from tests.plate_drawings import device_n, spot_space
from tests.test_content_reader import SQUARE, content_of, form, pattern, sheet, table_of, tints_of

Edits = list[tuple[str, str, int, int]]


def edits(drawing: Drawing) -> Edits:
    """Kind, bytes, and the two numbers of each edit."""
    content = content_of(drawing).stream
    words = content.data.decode()
    return [(EditKind(kind).name, words[start:end], a, b) for start, end, kind, a, b, _ in content.edits.tolist()]


def with_things(*words: str) -> Drawing:
    drawing = sheet(*words)
    drawing.resources.ColorSpace.Leaf = spot_space(drawing, "Fern")
    device_n(drawing, "Two", ["Fern", "Moss"])
    device_n(drawing, "Seven", [f"Ink{number}" for number in range(7)])
    drawing.resources.Shading.S = Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Coords=Array([0, 0, 9, 5]))
    drawing.resources.XObject.Im = drawing.pdf.make_stream(
        b"\0", Subtype=Name.Image, Width=1, Height=1, ColorSpace=Name.DeviceGray, BitsPerComponent=8
    )
    drawing.resources.XObject.Stamp = drawing.pdf.make_stream(b"", Subtype=Name.PS)
    drawing.resources.XObject.Untyped = drawing.pdf.make_stream(SQUARE.encode(), BBox=[0, 0, 99, 99])
    pattern(drawing, SQUARE)
    form(drawing, SQUARE)
    return drawing


CASES: dict[str, tuple[str, Edits]] = {
    # colours are numbered as they come, behind the black that a page begins with
    "grey": ("0.5 g", [("FILL_COLOUR", "0.5 g", 1, -1)]),
    "grey strokes": ("0.5 G", [("STROKE_COLOUR", "0.5 G", 1, -1)]),
    "RGB": ("q 1 0 0 rg Q", [("FILL_COLOUR", "1 0 0 rg", 1, -1)]),
    "CMYK": ("0 0 0 0 k 0 0 0 0 K", [("FILL_COLOUR", "0 0 0 0 k", 1, -1), ("STROKE_COLOUR", "0 0 0 0 K", 1, -1)]),
    "a space": ("/Leaf cs /Leaf CS", [("FILL_COLOUR", "/Leaf cs", 1, -1), ("STROKE_COLOUR", "/Leaf CS", 1, -1)]),
    "in a space": ("/Leaf cs 0.5 sc 1 scn", [
        ("FILL_COLOUR", "/Leaf cs", 1, -1), ("FILL_COLOUR", "0.5 sc", 2, -1), ("FILL_COLOUR", "1 scn", 1, -1),
    ]),
    "black as it was": ("0 g", [("FILL_COLOUR", "0 g", 0, -1)]),
    "too little": ("0.5 rg 0.5 K cs /Two cs 0.5 scn", [("FILL_COLOUR", "/Two cs", 1, -1)]),
    "a pattern": ("/Pattern cs /P scn", [("FILL_COLOUR", "/Pattern cs", 1, -1), ("FILL_COLOUR", "/P scn", 2, -1)]),
    "a pattern that is not there": ("/Pattern cs /Q scn", [("FILL_COLOUR", "/Pattern cs", 1, -1)]),
    "fill": (SQUARE, [("PAINT", "f", 0, -1)]),
    "stroke": ("1 1 m 5 9 l S", [("PAINT", "S", -1, 0)]),
    "both": ("1 1 5 7 re B", [("PAINT", "B", 0, 1)]),
    "neither": ("1 1 5 7 re n f", []),
    "two": ("1 1 5 7 re B 1 1 5 7 re s", [("PAINT", "B", 0, 1), ("PAINT", "s", -1, 2)]),
    "a form": ("/Fm Do /Fm Do", [("CALL", "/Fm Do", 0, -1), ("CALL", "/Fm Do", 1, -1)]),
    "a form that is called none": ("/Untyped Do", [("CALL", "/Untyped Do", 0, -1)]),
    "an image": (f"{SQUARE} /Im Do", [("PAINT", "f", 0, -1), ("IMAGE", "/Im Do", 1, -1)]),
    "another object": ("/Stamp Do", [("DROP", "/Stamp Do", -1, -1)]),
    "an object that is not there": ("/Gone Do", [("DROP", "/Gone Do", -1, -1)]),
    "a shading": ("/S sh", [("SHADING", "/S sh", 0, -1)]),
    "a shading that is not there": ("/Gone sh", [("DROP", "/Gone sh", -1, -1)]),
}  # fmt: skip


@pytest.mark.parametrize(("words", "expected"), CASES.values(), ids=CASES)
def test_edits(words, expected):
    assert edits(with_things(words)) == expected


def test_names_are_written_with_digits_for_what_they_cannot_hold():
    drawing = with_things(f"/Le#61f cs {SQUARE} /L#65#61f cs 0.5 scn {SQUARE}")
    assert [tints_of(table_of(drawing), row) for row in range(2)] == [{"Fern": 1}, {"Fern": 0.5}]


def test_seven_colorants_are_set_by_seven_numbers():
    drawing = with_things(f"/Seven cs 9 0.1 0.2 0.3 0.4 0.5 0.6 0.7 scn {SQUARE} 0.1 0.2 0.3 0.4 0.5 0.6 scn {SQUARE}")
    for row in range(2):
        assert tints_of(table_of(drawing), row) == {f"Ink{at}": pytest.approx((at + 1) / 10) for at in range(7)}


def test_two_colorants_are_set_by_the_last_two_numbers():
    drawing = with_things(f"/Two cs 0.9 0.1 0.2 scn {SQUARE} /Two CS 0.3 0.4 SCN 1 1 m 5 9 l S")
    table = table_of(drawing)
    assert tints_of(table, 0) == pytest.approx({"Fern": 0.1, "Moss": 0.2})
    assert tints_of(table, 1) == pytest.approx({"Fern": 0.3, "Moss": 0.4})


def test_a_device_space_of_another_number_of_components_sets_no_colour():
    drawing = with_things(f"0 1 0 0 k 0.5 0.5 0.5 rg {SQUARE}")
    drawing.resources.ColorSpace.DefaultRGB = device_n(drawing, "Three", ["Oak", "Ash", "Elm"])
    assert tints_of(table_of(drawing)) == {"Oak": 0.5, "Ash": 0.5, "Elm": 0.5}


def test_colours_are_restored_with_the_state():
    drawing = with_things(f"/Leaf cs 0.5 scn q /Two cs 0.1 0.2 scn {SQUARE} Q 0.25 scn {SQUARE} q 0.75 scn Q {SQUARE}")
    table = table_of(drawing)
    assert [tints_of(table, row) for row in (1, 2)] == [{"Fern": 0.25}, {"Fern": 0.25}]


def test_a_form_without_a_box_is_cut_by_the_clip_alone():
    drawing = sheet("10 20 30 40 re W n /Fm Do")
    drawing.resources.XObject.Fm = drawing.pdf.make_stream(b"0 0 300 200 re f", Subtype=Name.Form)
    assert table_of(drawing).shown_mm.tolist() == [[10, 20, 40, 60]]


def test_a_form_is_cut_by_its_box_and_by_the_clip():
    drawing = sheet("10 20 30 40 re W n 2 0 0 1 0 0 cm /Fm Do")
    form(drawing, "0 0 300 200 re f", BBox=[8, 0, 90, 50], Matrix=[1, 0, 0, 1, 1, 2])
    assert table_of(drawing).shown_mm.tolist() == [[18, 20, 40, 52]]


def test_a_form_that_calls_itself_is_missing_inside_the_clip_and_nowhere_where_it_is_hidden():
    drawing = sheet().layer("off", on=False).end_layer()
    drawing.ops.clear()
    drawing.raw("10 20 30 40 re W n /Me Do")
    form(drawing, "/Me Do", "Me", BBox=[0, 0, 20, 99], Resources=drawing.resources)
    assert [place.box_mm for place in table_of(drawing).undrawn] == [(10, 20, 20, 60)]
    drawing.resources.XObject.Me.OC = drawing.resources.Properties.OC0
    assert table_of(drawing).undrawn == []


def test_an_image_without_a_size_is_missing_inside_the_clip():
    drawing = with_things("10 20 30 40 re W n 50 0 0 20 5 30 cm /Im Do")
    del drawing.resources.XObject.Im["/Width"]
    (place,) = table_of(drawing).undrawn
    assert place.box_mm == (10, 30, 40, 50)


def test_a_long_run_of_colours_and_paths_paints_what_its_operators_say():
    """A run long enough to be read at once, with a colour of every sort in it."""
    few = "0.5 g /Leaf cs 0.25 scn 0.1 0.2 0.3 rg 0.3 G /Two CS 0.1 0.9 SCN 1 2 3 4 re B /Leaf cs 5 6 7 8 re f 0 g f "
    table = table_of(with_things(few * 20))
    assert len(table) == 60
    for at in range(0, 60, 3):
        assert tints_of(table, at) == {"Cyan": pytest.approx(0.2), "Magenta": pytest.approx(0.1), "Black": 0.7}
        assert tints_of(table, at + 1) == pytest.approx({"Fern": 0.1, "Moss": 0.9})
        assert tints_of(table, at + 2) == {"Fern": 1}
        assert table.box_mm[at].tolist() == [1, 2, 4, 6]
        assert table.box_mm[at + 1].tolist() == [0.5, 1.5, 4.5, 6.5]
        assert table.box_mm[at + 2].tolist() == [5, 6, 12, 14]
