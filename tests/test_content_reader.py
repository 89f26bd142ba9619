"""Streams of a page: forms, patterns, glyphs and shadings, what each takes over, and the bounds of reading."""

from __future__ import annotations

import zlib
from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.page.geometry import IDENTITY, Box
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content import content_reader
from preflight.artwork.pdf.content.content_reader import DEEPEST_FORM, ContentReader, inherited_resources
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects, flatten
from preflight.artwork.pdf.content.stream_content import Content, ShadingFill, TilingCell, Type3Glyphs
from preflight.artwork.pdf.structure.layers import LayerReader
from tests.drawn import MM, Drawing
from tests.plate_drawings import device_n, group, spot_space

SHEET: Box = (0.0, 0.0, 300.0, 200.0)
"""Points: tables are read without a scale, so that places are as they stand in the streams."""


def sheet(*operators: str) -> Drawing:
    drawing = Drawing(SHEET[2] / MM, SHEET[3] / MM)
    for words in operators:
        drawing.raw(words)
    return drawing


def content_of(drawing: Drawing) -> PageContent:
    """What is read of a drawn page, without a file."""
    drawing.page.obj.Resources = drawing.resources
    if drawing.ops:
        drawing.page.obj.Contents = drawing.pdf.make_stream("\n".join(drawing.ops).encode())
    return ContentReader(drawing.pdf, ColourReader(), LayerReader(drawing.pdf)).read(drawing.pdf.pages[0].obj)


def table_of(drawing: Drawing) -> PageObjects:
    return flatten(content_of(drawing), IDENTITY, SHEET)


def state_of(content: PageContent, row: int = -1, stream: Content | None = None) -> PaintState:
    stream = content.stream if stream is None else stream
    return content.states[int(stream.state[row])]


def tints_of(table: PageObjects, row: int = -1) -> dict[str, float]:
    return {name: tint for name, tint in table.colours[int(table.colour[row])].tints if tint}


def form(drawing: Drawing, inner: str, name: str = "Fm", **keys: object) -> str:
    """A form with nothing but what is given; its name."""
    keys = {"BBox": [0, 0, 300, 200], **keys}
    made = drawing.pdf.make_stream(inner.encode(), Type=Name.XObject, Subtype=Name.Form, **keys)
    drawing.resources.XObject[Name("/" + name)] = made
    return name


def pattern(drawing: Drawing, inner: str, paint: int = 1, name: str = "P", **keys: object) -> Object:
    keys = {"Resources": drawing.resources, **keys}
    drawing.resources.Pattern[Name("/" + name)] = drawing.pdf.make_stream(
        inner.encode(), Type=Name.Pattern, PatternType=1, PaintType=paint, TilingType=1, BBox=[0, 0, 9, 7], XStep=9,
        YStep=7, **keys,
    )  # fmt: skip
    return drawing.resources.Pattern[Name("/" + name)]


def type3(drawing: Drawing, name: str = "F3", resources: object = None, **glyphs: str) -> Object:
    """A font whose glyphs are streams: those called a, b … stand under their letters, half an em wide."""
    streams = {f"/{letter}": drawing.pdf.make_stream(words.encode()) for letter, words in glyphs.items()}
    encoding = Dictionary(Differences=Array([97, *(Name("/" + letter) for letter in glyphs)]))
    made = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, -200, 1000, 800], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        CharProcs=Dictionary(streams), Encoding=encoding, FirstChar=97, LastChar=96 + len(glyphs),
        Widths=Array([500] * len(glyphs)),
    )  # fmt: skip
    if resources is not None:
        made.Resources = resources
    drawing.resources.Font[Name("/" + name)] = drawing.pdf.make_indirect(made)
    return drawing.resources.Font[Name("/" + name)]


SQUARE = "10 20 30 40 re f"


# -- forms ------------------------------------------------------------------------------------------------------------


def test_a_page_begins_in_black():
    assert tints_of(table_of(sheet(SQUARE))) == {"Black": 1}


def test_a_form_lies_where_its_matrix_and_the_caller_put_it():
    drawing = sheet()
    form(drawing, SQUARE, Matrix=[2, 0, 0, 3, 5, 7])
    table = table_of(drawing.raw("q 1 0 0 1 100 50 cm /Fm Do Q"))
    assert table.box_mm[0].tolist() == [100 + 5 + 20, 50 + 7 + 60, 100 + 5 + 80, 50 + 7 + 180]


def test_a_form_is_read_once_for_calls_that_are_alike():
    drawing = sheet()
    form(drawing, SQUARE)
    drawing.raw("/Fm Do q 2 0 0 2 0 0 cm /Fm Do Q 1 0 0 rg /Fm Do 1 0 0 rg /Fm Do")
    called = [call.content for call in content_of(drawing).stream.calls]
    assert called[0] is called[1]
    assert called[2] is called[3]
    assert called[0] is not called[2]


@pytest.mark.parametrize("depth", [DEEPEST_FORM, DEEPEST_FORM + 1])
def test_forms_are_read_twenty_six_deep(depth):
    drawing = sheet()
    form(drawing, SQUARE, f"Fm{depth}", Resources=drawing.resources)
    for number in range(1, depth):
        form(drawing, f"/Fm{number + 1} Do", f"Fm{number}", Resources=drawing.resources)
    table = table_of(drawing.raw("/Fm1 Do"))
    assert len(table) == (depth <= 26)
    assert len(table.undrawn) == (depth > 26)


def test_a_form_has_its_own_resources_or_those_round_it():
    drawing = sheet()
    drawing.resources.ColorSpace.CS = spot_space(drawing, "Fern")
    own = Dictionary(ColorSpace=Dictionary(CS=spot_space(drawing, "Moss")))
    form(drawing, f"/CS cs {SQUARE}", "Own", Resources=own)
    form(drawing, f"/CS cs {SQUARE}", "Around")
    form(drawing, f"/CS cs {SQUARE}", "Broken", Resources=Array([]))
    table = table_of(drawing.raw("/Own Do /Around Do /Broken Do"))
    assert [tints_of(table, row) for row in range(3)] == [{"Moss": 1}, {"Fern": 1}, {"Fern": 1}]


@pytest.mark.parametrize(("levels", "found"), [(0, True), (1, True), (63, True), (64, False)])
def test_a_page_takes_resources_from_sixty_three_levels_above(levels, found):
    own, pdf = Dictionary(Mine=1), sheet().pdf
    node = Dictionary(Resources=own)
    for _ in range(levels):
        node = Dictionary(Parent=pdf.make_indirect(node))
    assert ("/Mine" in inherited_resources(node)) is found
    assert "/Mine" in inherited_resources(Dictionary(Resources=5, Parent=Dictionary(Resources=own)))


GROUPS = {
    "no group": (None, (False, False, False), False),
    "a group": ({}, (True, False, False), False),
    "an isolated one": ({"I": True}, (True, True, False), True),
    "one that knocks out": ({"K": True}, (True, False, True), False),
    "another sort of group": ({"S": Name.Odd, "I": True, "K": True}, (False, False, False), False),
}


@pytest.mark.parametrize(("keys", "facts", "isolates"), GROUPS.values(), ids=GROUPS)
def test_what_a_form_is_as_a_group_and_what_that_means_for_forms_in_it(keys, facts, isolates):
    drawing = sheet()
    form(drawing, SQUARE, "Inner")
    more = {} if keys is None else {"Group": Dictionary(**{"S": Name.Transparency, **keys})}
    form(drawing, "/Inner Do", "Outer", Resources=drawing.resources, **more)
    (call,) = content_of(drawing.raw("/Outer Do")).stream.calls
    outer = call.content
    assert (outer.group, outer.own_isolated, outer.knockout) == facts
    assert outer.isolated is isolates
    (inner,) = outer.calls
    assert inner.content.isolated is isolates
    assert not inner.content.own_isolated
    assert (outer.depth, inner.content.depth) == (1, 2)


def test_a_group_begins_opaque_and_unmasked_and_another_form_goes_on_as_its_caller():
    """ISO 32000-2, 11.6.6; what else is set goes into both."""
    drawing = sheet()
    mask = drawing.pdf.make_stream(b"", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9], Group=group())
    drawing.gs(ca=0.5, CA=0.25, BM=Name.Multiply, OP=True, OPM=1, SMask=Dictionary(S=Name.Luminosity, G=mask))
    form(drawing, SQUARE, "Plain")
    form(drawing, SQUARE, "Group", Group=group())
    content = content_of(drawing.raw("3 w /Plain Do /Group Do"))
    plain, grouped = (state_of(content, 0, call.content) for call in content.stream.calls)
    assert (plain.fill_alpha, plain.stroke_alpha, plain.blend, plain.soft_mask) == (0.5, 0.25, "Multiply", True)
    assert (grouped.fill_alpha, grouped.stroke_alpha, grouped.blend, grouped.soft_mask) == (1, 1, "Normal", False)
    assert plain.overprint == grouped.overprint == (True, True, 1)
    assert plain.line_width == grouped.line_width == 3
    assert all(content.states[call.state].blend == "Multiply" for call in content.stream.calls)


BLENDING = {
    "nothing": ("", {}, (False, False)),
    "blended": ("/GS0 gs", {}, (True, False)),
    "blended, isolated": ("/GS0 gs", {"I": True}, (False, False)),
    "faint": ("/GS1 gs", {"K": True}, (False, True)),
    "solid": ("", {"K": True}, (False, False)),
    "faint, no knock-out": ("/GS1 gs", {}, (False, False)),
}


@pytest.mark.parametrize(("states", "keys", "expected"), BLENDING.values(), ids=BLENDING)
def test_a_group_is_told_to_blend_with_what_is_below_and_a_knock_out_group_to_let_show(states, keys, expected):
    drawing = sheet().gs(BM=Name.Screen).gs(ca=0.5)
    drawing.ops.clear()
    form(drawing, f"{SQUARE} {states} {SQUARE}", Group=group(**keys), Resources=drawing.resources)
    (call,) = content_of(drawing.raw("/Fm Do")).stream.calls
    assert (call.content.blends, call.content.lets_show) == expected


@pytest.mark.parametrize(("objects", "lets_show"), [(1, False), (2, True)])
def test_a_knock_out_page_of_one_object_has_nothing_to_knock_out(objects, lets_show):
    drawing = sheet().gs(ca=0.5)
    drawing.page.obj.Group = group(K=True)
    content = content_of(drawing.raw(f"{SQUARE} " * objects)).stream
    assert (content.knockout, content.lets_show) == (True, lets_show)


@pytest.mark.parametrize(("hidden", "places"), [(False, [(20, 20, 100, 90)]), (True, [])])
def test_a_damaged_form_is_missing_where_its_box_is_and_a_hidden_one_nowhere(hidden, places):
    drawing = sheet().layer("off", on=False).end_layer()
    drawing.ops.clear()
    form(drawing, "", BBox=[10, 20, 50, 90])
    drawing.resources.XObject.Fm.write(zlib.compress(SQUARE.encode())[:-7], filter=Name.FlateDecode)
    if hidden:
        drawing.resources.XObject.Fm.OC = drawing.resources.Properties.OC0
    table = table_of(drawing.raw("2 0 0 1 0 0 cm /Fm Do"))
    assert [place.box_mm for place in table.undrawn] == places
    assert all(place.unread for place in table.undrawn)


# -- bounds -----------------------------------------------------------------------------------------------------------


def test_pieces_of_a_page_are_parted_by_white_space_and_what_cannot_be_read_is_remembered():
    drawing = sheet()
    good = [drawing.pdf.make_stream(words) for words in (b"10 20 30 4", b"0 re f")]
    odd = drawing.pdf.make_stream(b"junk", Filter=Name.Odd)
    cut = drawing.pdf.make_stream(zlib.compress(b"5 5 5 5 re f ")[:-6], Filter=Name.FlateDecode)
    drawing.page.obj.Contents = Array([good[0], odd, good[1], cut])
    content = content_of(drawing)
    assert len(content.over_bounds) == 2
    assert all({"objects", "plates", "text", "images"} == bound.hits for bound in content.over_bounds)
    assert content.stream.data.startswith(b"10 20 30 4\n0 re f\n")


@pytest.mark.parametrize(("room", "over"), [(len(SQUARE) * 2, 0), (len(SQUARE) * 2 - 1, 1)])
def test_pieces_share_the_bound_of_bytes(room, over, monkeypatch):
    monkeypatch.setattr(content_reader, "MOST_CONTENT_BYTES", room)
    drawing = sheet()
    drawing.page.obj.Contents = Array([drawing.pdf.make_stream(SQUARE.encode()) for _ in range(2)])
    content = content_of(drawing)
    assert (len(content.over_bounds), len(content.stream.painted)) == (over, 2 - over)


# -- patterns ---------------------------------------------------------------------------------------------------------


def cell_of(content: PageContent, row: int = -1) -> object:
    return content.palette.entries[content.stream.colour[row]].pattern


def test_a_coloured_cell_has_each_ink_at_its_greatest_tint():
    drawing = sheet()
    drawing.resources.ColorSpace.CS = spot_space(drawing, "Fern")
    form(drawing, f"0 0.75 0 0 k {SQUARE}", Resources=drawing.resources)
    pattern(drawing, f"/CS cs 0.2 scn {SQUARE} 0.6 scn {SQUARE} 0.4 scn {SQUARE} /Fm Do")
    content = content_of(drawing.raw(f"/Pattern cs /P scn {SQUARE}"))
    cell = cell_of(content)
    assert isinstance(cell, TilingCell)
    assert cell.colour.space == "Pattern"
    assert (cell.colour.varies, cell.colour.not_a_plate) == (True, "")
    assert {name: tint for name, tint in cell.colour.tints if tint} == {"Fern": 0.6, "Magenta": 0.75}


def test_a_cell_with_a_colour_that_is_no_plate_is_none_either():
    drawing = sheet()
    pattern(drawing, f"0 g {SQUARE} 1 0 0 rg {SQUARE} 0 g {SQUARE}")
    cell = cell_of(content_of(drawing.raw(f"/Pattern cs /P scn {SQUARE}")))
    assert isinstance(cell, TilingCell)
    assert cell.colour.not_a_plate == "RGB"


def test_an_uncoloured_cell_has_the_colour_that_it_is_painted_in_and_ignores_its_own():
    drawing = sheet()
    drawing.resources.ColorSpace.Under = Array([Name.Pattern, spot_space(drawing, "Fern")])
    pattern(drawing, f"0 1 0 0 k {SQUARE} 1 0 0 RG 1 1 m 5 9 l S", paint=2)
    content = content_of(drawing.raw(f"/Under cs 0.3 /P scn {SQUARE} 0.8 /P scn {SQUARE} 0.3 /P scn {SQUARE}"))
    cells = [cell_of(content, row) for row in range(3)]
    assert cells[0] is cells[2]
    for cell, tint in zip(cells[:2], (0.3, 0.8), strict=True):
        assert isinstance(cell, TilingCell)
        assert cell.content.uncoloured
        assert dict(cell.colour.tints) == {"Fern": pytest.approx(tint)}
        inner = [content.palette.entries[number].values for number in cell.content.colour]
        assert inner == [(tint,)] * 2


@pytest.mark.parametrize("operators", ["/Pattern cs /P scn", "/Pattern cs 0.5 /P scn"])
def test_an_uncoloured_cell_without_a_colour_paints_nothing(operators):
    drawing = sheet()
    pattern(drawing, SQUARE, paint=2)
    assert tints_of(table_of(drawing.raw(f"0 1 0 0 k {operators} {SQUARE}"))) == {}


def test_a_cell_begins_without_overprint_whatever_the_page_has_set():
    """ISO 32000-2, 8.7.3.1."""
    drawing = sheet().gs(OP=True, op=True, OPM=1)
    pattern(drawing, SQUARE)
    content = content_of(drawing.raw(f"/Pattern cs /P scn {SQUARE}"))
    cell = cell_of(content)
    assert isinstance(cell, TilingCell)
    assert state_of(content).overprint == (True, True, 1)
    assert state_of(content, 0, cell.content).overprint == (False, False, 0)
    assert (cell.content.bbox, cell.content.depth, cell.content.isolated) == ((0, 0, 9, 7), 1, False)


def test_a_pattern_that_paints_with_itself_is_over_a_bound():
    drawing = sheet()
    pattern(drawing, f"/Pattern cs /P scn {SQUARE}")
    content = content_of(drawing.raw(f"/Pattern cs /P scn {SQUARE}"))
    assert len(content.over_bounds) == 1


# -- shadings ---------------------------------------------------------------------------------------------------------


def shaded(space: object, drawing: Drawing) -> ShadingFill:
    keys: dict[str, Any] = {} if space is None else {"ColorSpace": space}
    drawing.resources.Shading.S = Dictionary(ShadingType=2, Coords=[0, 0, 9, 5], **keys)
    content = content_of(drawing.raw("/S sh"))
    (found,) = content.stream.shadings.values()
    return found


def test_a_shading_names_the_plates_of_its_space():
    drawing = sheet()
    spot, two = spot_space(drawing, "Fern"), device_n(drawing, "Two", ["Fern", "Cyan"])
    cases = [
        (None, "Pattern", {"Black": 1}, "", False),
        (Name.DeviceRGB, "Pattern", dict.fromkeys(["Cyan", "Magenta", "Yellow", "Black"], 1), "RGB", False),
        (spot, "Separation", {"Fern": 1}, "", False),
        (two, "DeviceN", {"Fern": 1, "Cyan": 1}, "", False),
        (Array([Name.Indexed, spot, 1, b"\0\xff"]), "Separation", {"Fern": 1}, "", False),
        (spot_space(drawing, "All"), "Separation", {}, "", True),
    ]
    for space, family, tints, no_plate, registration in cases:
        colour = shaded(space, drawing).colour
        assert (colour.space, dict(colour.tints), colour.not_a_plate) == (family, tints, no_plate)
        assert (colour.registration, colour.varies) == (registration, True)
        drawing.ops.clear()


def test_a_shading_pattern_is_a_shading():
    drawing = sheet()
    shading = Dictionary(ShadingType=2, ColorSpace=spot_space(drawing, "Fern"), Coords=[0, 0, 9, 5])
    drawing.resources.Pattern.P = drawing.pdf.make_indirect(Dictionary(PatternType=2, Shading=shading))
    content = content_of(drawing.raw(f"/Pattern cs /P scn {SQUARE}"))
    fill = cell_of(content)
    assert isinstance(fill, ShadingFill)
    assert dict(fill.colour.tints) == {"Fern": 1}
    assert fill.pattern is not None


# -- glyphs -----------------------------------------------------------------------------------------------------------


def glyphs_of(content: PageContent, row: int) -> Type3Glyphs:
    found = content.palette.entries[content.stream.colour[row]].pattern
    assert isinstance(found, Type3Glyphs)
    return found


def test_glyphs_with_colours_of_their_own_and_those_that_take_the_current_one():
    drawing = sheet()
    type3(drawing, a=f"500 0 d0 0 0.5 0 0 k {SQUARE}", b=f"500 0 0 0 9 9 d1 1 0 0 0 k {SQUARE}",
          c=f"500 0 d0 0 0.25 1 0 k {SQUARE}")  # fmt: skip
    drawing.gs(op=True, OPM=1).ops.clear()
    content = content_of(drawing.raw("BT /F3 10 Tf 0.75 g (a) Tj 0.5 g (a) Tj /GS0 gs (a) Tj ET"))
    first, second, third = (glyphs_of(content, row) for row in range(3))
    assert sorted(first.coloured) == ["/a", "/c"]
    assert first.some_uncoloured
    tints = [{name: tint for name, tint in found.colour.tints if tint} for found in (first, second)]
    assert tints == [{"Magenta": 0.5, "Yellow": 1, "Black": 0.25}, {"Magenta": 0.5, "Yellow": 1, "Black": 0.5}]
    assert [found.overprint for found in (first, third)] == [(False, False, 0), (True, False, 1)]
    inner = first.coloured["/a"], third.coloured["/a"]
    assert [state_of(content, 0, stream).overprint for stream in inner] == [(False, False, 0), (True, False, 1)]
    (kept,) = content.glyphs.values()
    assert kept.overprint == (False, False, 0)
    assert content.type3 == (True,)


def test_glyphs_that_all_take_the_current_colour_are_painted_in_it():
    drawing = sheet()
    type3(drawing, a=f"500 0 0 0 9 9 d1 {SQUARE}")
    content = content_of(drawing.raw("BT /F3 10 Tf 0.25 g (a) Tj ET"))
    assert content.palette.entries[content.stream.colour[0]].values == (0.25,)
    assert content.glyphs == {}
    assert content.stream.glyph_shows == {}


def test_glyphs_have_resources_of_their_font_or_of_the_page():
    drawing = sheet()
    drawing.resources.ColorSpace.CS = spot_space(drawing, "Fern")
    own = Dictionary(ColorSpace=Dictionary(CS=spot_space(drawing, "Moss")))
    type3(drawing, "Own", own, a=f"500 0 d0 /CS cs {SQUARE}")
    type3(drawing, "Around", a=f"500 0 d0 /CS cs {SQUARE}")
    table = table_of(drawing.raw("BT /Own 9 Tf (a) Tj /Around 9 Tf (a) Tj ET"))
    assert [tints_of(table, row) for row in range(2)] == [{"Moss": 1}, {"Fern": 1}]


@pytest.mark.parametrize(
    ("words", "uncoloured"),
    [
        ("0 0 9 9 d1", True),
        (" " * 190 + "0 0 9 9 d1", True),
        ("500 0 d0" + " 0 g 1 1 5 7 re f" * 20 + " /d1 gs", False),
        ("500 0 d0 /d10 gs", False),
    ],
)
def test_a_glyph_says_at_its_beginning_that_it_takes_the_current_colour(words, uncoloured):
    drawing = sheet()
    type3(drawing, a=f"{words} {SQUARE}")
    content = content_of(drawing.raw("BT /F3 10 Tf (a) Tj ET"))
    assert (not content.glyphs) is uncoloured
