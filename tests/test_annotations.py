"""Annotations that print: which do, and where their appearances come to lie (ISO 32000-2, 12.5)."""

from __future__ import annotations

from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.page.page import Annotation
from preflight.artwork.pdf.content.annotations import printed_annotations, with_annotations
from preflight.artwork.pdf.structure.layers import LayerReader
from tests.drawn import Drawing
from tests.test_content_reader import SQUARE, content_of, sheet, state_of, table_of, tints_of

PRINT, HIDDEN, NO_VIEW = 4, 2, 32
RECT = [10, 20, 35, 70]


def noted(drawing: Drawing, **changes: Any) -> pikepdf.Object:
    """An annotation on a page, with an appearance of 100 x 50; None takes a key away."""
    form = {"BBox": [0, 0, 100, 50], **changes.pop("form", {})}
    made = drawing.pdf.make_stream(b"0 1 0 0 k 0 0 100 50 re f", Type=Name.XObject, Subtype=Name.Form, **form)
    keys = {"Subtype": Name.Stamp, "Rect": RECT, "F": PRINT, "AP": Dictionary(N=made), **changes}
    note = drawing.pdf.make_indirect(Dictionary(**{key: value for key, value in keys.items() if value is not None}))
    if "/Annots" not in drawing.page.obj:
        drawing.page.obj.Annots = Array()
    drawing.page.obj.Annots.append(note)
    return note


def printed(drawing: Drawing) -> list[Annotation]:
    return printed_annotations(drawing.page.obj, (1, 0, 0, 1, 0, 0), LayerReader(drawing.pdf))


PRINTS: dict[str, tuple[dict[str, Any], bool]] = {
    "printed": ({}, True),
    "not printed": ({"F": 0}, False),
    "without flags": ({"F": None}, False),
    "hidden": ({"F": PRINT | HIDDEN}, False),
    "printed, not viewed": ({"F": PRINT | NO_VIEW | 1 | 64}, True),
    "a pop-up": ({"Subtype": Name.Popup}, False),
    "without an appearance": ({"AP": None}, False),
    "without a place": ({"Rect": None}, False),
    "a place of three numbers": ({"Rect": [1, 2, 3]}, False),
    "an appearance without a box": ({"form": {"BBox": Name.Odd}}, False),
    "an appearance of no width": ({"form": {"BBox": [5, 0, 5, 50]}}, False),
    "an appearance of no height": ({"form": {"BBox": [0, 5, 100, 5]}}, False),
}


@pytest.mark.parametrize(("changes", "prints"), PRINTS.values(), ids=PRINTS)
def test_which_annotations_print(changes, prints):
    drawing = sheet(SQUARE)
    noted(drawing, **changes)
    noted(drawing, Subtype=Name.Widget)
    assert [note.kind for note in printed(drawing)] == (["Stamp"] if prints else []) + ["Widget"]
    assert len(table_of(drawing)) == 2 + prints


PLACED: dict[str, tuple[dict[str, Any], list[float]]] = {
    "its box": ({}, [10, 20, 35, 70]),
    "a box that begins elsewhere": ({"BBox": [50, 25, 150, 75]}, [10, 20, 22.5, 45]),
    "turned": ({"Matrix": [0, 1, -1, 0, 0, 0]}, [10, 20, 35, 70]),
    "stretched": ({"Matrix": [3, 0, 0, 2, 7, 9]}, [10, 20, 35, 70]),
}


@pytest.mark.parametrize(("form", "shown"), PLACED.values(), ids=PLACED)
def test_the_box_of_an_appearance_is_brought_onto_the_place_of_its_annotation(form, shown):
    drawing = sheet()
    noted(drawing, form=form)
    table = table_of(drawing)
    assert table.shown_mm[0].tolist() == pytest.approx(shown, abs=1e-3)
    assert tints_of(table) == {"Magenta": 1}


def test_an_appearance_of_several_states_is_that_of_the_current_one():
    drawing = sheet()
    forms = {
        f"/{name}": drawing.pdf.make_stream(
            f"{colour} k 0 0 9 9 re f".encode(), Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9]
        )
        for name, colour in (("On", "1 0 0 0"), ("Off", "0 1 0 0"))
    }
    for state in (Name.Off, Name.On, Name.Odd, None):
        noted(drawing, AP=Dictionary(N=Dictionary(forms)), AS=state)
    table = table_of(drawing)
    assert [tints_of(table, row) for row in range(len(table))] == [{"Magenta": 1}, {"Cyan": 1}]


def test_what_an_annotation_says_and_where_it_is():
    drawing = sheet()
    noted(drawing, Contents=String("no logo"), Subtype=Name.FreeText)
    found = printed_annotations(drawing.page.obj, (0, -2, 3, 0, 5, 100), LayerReader(drawing.pdf))
    assert found == [Annotation("FreeText", (65, 30, 215, 80), "no logo")]


def test_an_annotation_on_a_layer_that_does_not_print_does_not_show():
    drawing = sheet().layer("on").end_layer().layer("off", on=False).end_layer()
    drawing.ops.clear()
    for layer in (drawing.resources.Properties.OC1, drawing.resources.Properties.OC0):
        noted(drawing, OC=layer, Contents=String("x"))
    assert len(printed(drawing)) == 1
    assert table_of(drawing).visible.tolist() == [False, True]


UNBALANCED = {
    "balanced": "q 2 0 0 2 0 0 cm Q 3 w",
    "left open": "q 2 0 0 2 0 0 cm q 3 w",
    "closed once too often": "2 0 0 2 0 0 cm Q Q 5 w q Q Q",
    "both": "Q 2 0 0 2 0 0 cm q q 3 w",
    "nothing": "",
}


@pytest.mark.parametrize("content", UNBALANCED.values(), ids=UNBALANCED)
def test_appearances_begin_as_the_page_does_whatever_its_content_leaves(content):
    drawing = sheet(content)
    noted(drawing)
    noted(drawing, Rect=[100, 100, 110, 140])
    table = table_of(drawing)
    assert table.shown_mm.tolist() == [[10, 20, 35, 70], [100, 100, 110, 140]]


def test_what_the_page_paints_is_painted_as_without_annotations():
    words = "Q 0 1 0 0 k 1 1 5 7 re f q 2 w 1 0 0 0 k Q 1 1 5 7 re B"
    plain, drawing = sheet(words), sheet(words)
    noted(drawing)
    before, after = table_of(plain), table_of(drawing)
    assert after.box_mm[:3].tolist() == before.box_mm.tolist()
    assert [tints_of(after, row) for row in range(3)] == [tints_of(before, row) for row in range(3)]
    assert state_of(content_of(drawing), 1).line_width == 1


def test_resources_of_the_page_stay_as_they_are():
    drawing = sheet(SQUARE)
    form = drawing.pdf.make_stream(b"", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9])
    own = Dictionary(XObject=Dictionary(Own=form), Font=Dictionary())
    assert with_annotations(drawing.page.obj, b"q Q", own) == (b"q Q", own)
    noted(drawing)
    content, resources = with_annotations(drawing.page.obj, b"q Q", own)
    assert b"q Q" in content
    assert sorted(resources.keys()) == ["/Font", "/XObject"]
    assert len(resources.XObject.keys()) == 2
    assert list(own.XObject.keys()) == ["/Own"]
