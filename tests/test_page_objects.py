"""The table of painted objects: what matrices, clips and forms make of the rows of streams."""

from __future__ import annotations

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content import page_objects
from preflight.artwork.pdf.content.page_objects import PageObjects, flatten
from preflight.artwork.pdf.images.image_dictionaries import ImageUse
from tests.drawn import Drawing
from tests.plate_drawings import spot_space
from tests.test_content_reader import SHEET, SQUARE, content_of, form, sheet, table_of, tints_of


def picture(drawing: Drawing, width: int, height: int, name: str = "Im", **keys: object) -> None:
    drawing.resources.XObject[Name("/" + name)] = drawing.pdf.make_stream(
        bytes(range(256))[: width * height], Type=Name.XObject, Subtype=Name.Image, Width=width, Height=height,
        ColorSpace=Name.DeviceGray, BitsPerComponent=8, **keys,
    )  # fmt: skip


def test_rows_of_forms_stand_where_they_are_called():
    drawing = sheet("1 0 0 0 k", SQUARE, "q 0 1 0 0 k /Fm Do Q", SQUARE, "2 0 0 1 0 0 cm 0 0 1 0 k /Fm Do")
    form(drawing, f"{SQUARE} 1 1 2 3 re f", BBox=[0, 0, 25, 50])
    table = table_of(drawing)
    assert [tints_of(table, row) for row in range(6)] == [
        {"Cyan": 1}, {"Magenta": 1}, {"Magenta": 1}, {"Cyan": 1}, {"Yellow": 1}, {"Yellow": 1}
    ]  # fmt: skip
    square, small = [10, 20, 40, 60], [1, 1, 3, 4]
    assert table.box_mm.tolist() == [square, square, small, square, [20, 20, 80, 60], [2, 1, 6, 4]]
    assert table.shown_mm[[1, 4]].tolist() == [[10, 20, 25, 50], [20, 20, 50, 50]]
    assert table.visible.all()


@pytest.mark.parametrize(("most", "rows"), [(7, 7), (6, 5), (5, 5)])
def test_repeats_of_a_form_count_against_the_bound(most, rows, monkeypatch):
    monkeypatch.setattr(page_objects, "MOST_ROWS", most)
    drawing = sheet(SQUARE, "/Fm Do /Fm Do /Fm Do")
    form(drawing, f"{SQUARE} {SQUARE}")
    table = table_of(drawing)
    assert len(table) == rows
    assert len(table.over_bounds) == (rows < 7)


def test_a_bound_is_said_once_and_what_comes_after_it_is_read(monkeypatch):
    monkeypatch.setattr(page_objects, "MOST_ROWS", 3)
    drawing = sheet("/Big Do /Big Do /Small Do")
    form(drawing, f"{SQUARE} " * 4, "Big")
    form(drawing, SQUARE, "Small")
    table = table_of(drawing)
    assert (len(table), len(table.over_bounds)) == (1, 1)


@pytest.mark.parametrize(
    ("matrix", "ppi"),
    [
        ("60 0 0 30 9 9", min(6 / 60, 8 / 30)),
        ("30 0 0 60 9 9", min(6 / 30, 8 / 60)),
        ("0 30 -60 0 90 9", min(6 / 30, 8 / 60)),
        ("3 4 -8 6 90 9", min(6 / 5, 8 / 10)),
        ("0 0 0 30 9 9", 8 / 30),
        ("0 0 0 0 9 9", 0),
    ],
)
def test_a_picture_is_as_fine_as_its_coarser_direction(matrix, ppi):
    drawing = sheet(SQUARE, f"q {matrix} cm /Im Do Q")
    picture(drawing, 6, 8)
    table = table_of(drawing)
    assert table.ppi.tolist() == pytest.approx([0, ppi * 25.4])  # of a page whose points are taken for millimetres


def test_each_picture_has_its_own_facts():
    drawing = sheet("30 0 0 30 0 0 cm /A Do /B Do /A Do", SQUARE)
    picture(drawing, 6, 8, "A")
    picture(drawing, 3, 5, "B")
    table = table_of(drawing)
    assert table.image.tolist() == [0, 1, 0, -1]
    assert [(facts.width_px, facts.height_px) for facts in table.images] == [(6, 8), (3, 5)]
    assert table.ppi.tolist() == pytest.approx([25.4 * 6 / 30, 25.4 * 3 / 30, 25.4 * 6 / 30, 0])
    assert table.painted.tolist() == [Painted.IMAGE] * 3 + [Painted.FILL]
    assert table.box_mm[0].tolist() == [0, 0, 30, 30]


def test_a_stencil_is_painted_in_the_current_colour_and_a_picture_in_its_own():
    drawing = sheet("0 1 0 0 k 20 0 0 30 5 7 cm /Stencil Do /Im Do /Stencil Do")
    picture(drawing, 6, 8)
    stencil = Dictionary(Subtype=Name.Image, Width=6, Height=1, ImageMask=True)
    drawing.resources.XObject.Stencil = drawing.pdf.make_stream(b"\0", stencil)
    table = table_of(drawing)
    assert table.painted.tolist() == [Painted.IMAGE_MASK, Painted.IMAGE, Painted.IMAGE_MASK]
    assert [tints_of(table, row) for row in range(3)] == [{"Magenta": 1}, {"Black": 1}, {"Magenta": 1}]
    assert [table.colours[number].varies for number in table.colour] == [False, True, False]
    assert table.images[table.image[0]].is_mask


def test_a_picture_inside_the_stream():
    words = "q 20 0 0 30 5 7 cm BI /W 2 /H 3 /BPC 8 /CS /G ID abcdef EI Q"
    table, content = table_of(sheet(words)), content_of(sheet(words))
    assert table.box_mm.tolist() == [[5, 7, 25, 37]]
    facts = table.images[0]
    assert (facts.width_px, facts.height_px, facts.bits) == (2, 3, 8)
    (use,) = content.stream.images.values()
    assert isinstance(use, ImageUse)
    assert use.stream.read_raw_bytes() == b"abcdef"


@pytest.mark.parametrize("words", ["BI /W 2 /BPC 8 /CS /G ID abcdef EI", "EI"])
def test_a_picture_inside_the_stream_that_cannot_be_read_is_missing_where_it_would_be(words):
    table = table_of(sheet(f"q 10 10 20 10 re W n 20 0 0 30 5 7 cm {words} Q"))
    assert len(table) == 0
    assert [place.box_mm for place in table.undrawn] == [(10, 10, 25, 20)]


SHOWN = {
    "an image": ("/Im", True),
    "on a hidden layer": ("/HiddenIm", False),
    "a form": ("/Fm", True),
    "a form on a hidden layer": ("/HiddenFm", False),
}


@pytest.mark.parametrize(("name", "visible"), SHOWN.values(), ids=SHOWN)
def test_a_layer_of_its_own_hides_an_object_and_nothing_behind_it(name, visible):
    drawing = sheet().layer("on").end_layer().layer("off", on=False).end_layer()
    drawing.ops.clear()
    for hidden in (False, True):
        oc = {"OC": drawing.resources.Properties[f"/OC{int(hidden)}"]}
        picture(drawing, 6, 8, "HiddenIm" if hidden else "Im", **oc)
        form(drawing, SQUARE, "HiddenFm" if hidden else "Fm", **oc)
    content = content_of(drawing.raw(f"{SQUARE} {name} Do {SQUARE}"))
    table = flatten(content, IDENTITY, SHEET)
    assert table.visible.tolist() == [True, visible, True]
    assert [table.layer[0], table.layer[2]] == [-1, -1]
    assert table.layer[1] >= 0


LAYERED = {
    "one in another": ("/OC /OC1 BDC", ["off", "on"]),
    "another tag": ("/Span /OC1 BDC", ["on", "on"]),
    "no properties": ("/OC BMC", ["on", "on"]),
    "properties that are not there": ("/OC /OC7 BDC", ["on", "on"]),
}


@pytest.mark.parametrize(("begin", "layers"), LAYERED.values(), ids=LAYERED)
def test_marked_content_is_on_the_innermost_layer(begin, layers):
    drawing = sheet().layer("on").end_layer().layer("off", on=False).end_layer()
    drawing.ops.clear()
    drawing.raw(f"EMC /OC /OC0 BDC {begin} {SQUARE} EMC {SQUARE} EMC {SQUARE} EMC {SQUARE}")
    content = content_of(drawing)
    names = ["on", "off"] if layers[0] == "off" else ["on"]
    table = flatten(content, IDENTITY, SHEET)
    assert [names[number] if number >= 0 else "" for number in table.layer] == [*layers, "", ""]
    assert table.visible.tolist() == [layers[0] == "on", True, True, True]


def test_a_layer_of_a_hidden_one_is_hidden():
    drawing = sheet().layer("on").end_layer().layer("off", on=False).end_layer()
    drawing.ops.clear()
    table = table_of(drawing.raw(f"/OC /OC1 BDC /OC /OC0 BDC {SQUARE} EMC {SQUARE} EMC {SQUARE}"))
    assert table.visible.tolist() == [False, False, True]
    assert table.layer.tolist() == [1, 0, -1]


def columns(table: PageObjects) -> list[tuple[bool, int, float, bool]]:
    rows = zip(
        table.overprint.tolist(), table.opm.tolist(), table.alpha.tolist(), table.dashed.tolist(), strict=True
    )  # fmt: skip
    return [*rows]


def test_fills_and_strokes_have_the_overprint_and_opacity_that_is_theirs():
    drawing = sheet().gs(OP=False, op=True, OPM=1, ca=0.25, CA=0.75)
    drawing.ops.clear()
    table = table_of(drawing.raw("[3] 0 d 1 1 5 7 re B /GS0 gs 1 1 5 7 re B 1 1 5 7 re f"))
    assert columns(table)[:2] == [(False, 0, 1, False), (False, 0, 1, True)]
    assert columns(table)[2:] == [(True, 1, 0.25, False), (False, 1, 0.75, True), (True, 1, 0.25, False)]


@pytest.mark.parametrize("closing", ["s", "b", "b*", " W b", " W* s", "\nW\ns"])
def test_an_operator_that_closes_a_path_closes_its_outline(closing):
    table = table_of(sheet(f"10 20 m 40 20 l 40 60 l {closing} 0 g"))
    for (outline,) in table.paths(np.arange(len(table))):
        assert outline.tolist() == [[10, 20], [40, 20], [40, 60], [10, 20]]


@pytest.mark.parametrize("open_", ["S", "B", "f", "B*", " W S"])
def test_other_operators_leave_an_outline_open(open_):
    table = table_of(sheet(f"10 20 m 40 20 l 40 60 l {open_} s"))
    for (outline,) in table.paths(np.arange(len(table))):
        assert outline.tolist() == [[10, 20], [40, 20], [40, 60]]


def test_outlines_are_those_of_the_rows_asked_for_where_each_is_placed():
    drawing = sheet("1 1 2 3 re f q 2 0 0 3 5 7 cm /Fm Do Q BT (x) Tj ET 1 0 0 1 100 0 cm /Fm Do")
    form(drawing, "10 20 m 40 60 l S 5 5 m 6 9 l S")
    found = table_of(drawing).paths(np.array([5, 2, 1, 3]))
    assert [[outline.tolist() for outline in of_row] for of_row in found] == [
        [[[105, 5], [106, 9]]], [[[15, 22], [17, 34]]], [[[25, 67], [85, 187]]], []
    ]  # fmt: skip


def test_a_shading_shows_all_over_the_clip():
    drawing = sheet("10 20 30 40 re W n /S sh")
    drawing.resources.Shading.S = Dictionary(
        ShadingType=2, ColorSpace=spot_space(drawing, "Fern"), Coords=Array([0, 0, 9, 5])
    )
    table = table_of(drawing)
    assert table.painted.tolist() == [Painted.SHADING]
    assert table.shown_mm.tolist() == [[10, 20, 40, 60]]
    assert tints_of(table) == {"Fern": 1}


def test_what_lies_off_the_page_does_not_show_and_what_touches_it_does():
    table = table_of(
        sheet("300 50 9 9 re f 301 50 9 9 re f 50 200 9 9 re f 50 201 9 9 re f -9 50 8 9 re f 50 -9 9 8 re f")
    )
    assert table.visible.tolist() == [True, False, True, False, False, False]
    assert table.shown_mm[1].tolist() == [0, 0, 0, 0]


def test_what_lies_a_kilometre_off_is_put_no_further_away():
    table = table_of(sheet("-5000000 -9000000 8000000 9500000 re f"))
    assert table.box_mm[0].tolist() == [-1e6, -1e6, 1e6, 500_000]
    assert table.shown_mm[0].tolist() == [0, 0, 300, 200]
