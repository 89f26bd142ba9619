"""Rows that show what a stream paints, and the places where something is missing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.page.uncertain_places import UncertainPlace, meeting, places_from
from preflight.artwork.pdf.content.page_objects import flatten
from preflight.artwork.pdf.content.stream_content import TilingCell
from preflight.artwork.pdf.content.where_shown import (
    MOST_BOXES,
    places_of_rows,
    rows_in_states,
    rows_showing,
    unread_in_patterns,
)
from tests.drawn import Drawing
from tests.test_content_reader import SHEET, SQUARE, content_of, form, pattern, sheet, type3


def read(drawing: Drawing):
    content = content_of(drawing)
    return content, flatten(content, IDENTITY, SHEET)


def test_rows_of_a_form_are_its_own_and_those_that_it_calls_wherever_it_stands():
    drawing = sheet(SQUARE, "/Outer Do /Inner Do", SQUARE, "/Outer Do")
    form(drawing, SQUARE, "Inner")
    form(drawing, f"{SQUARE} /Inner Do", "Outer", Resources=drawing.resources)
    content, objects = read(drawing)
    outer, inner = (content.stream.calls[at].content for at in (0, 1))
    assert rows_showing(content, objects, [outer]).tolist() == [1, 2, 3, 5, 6]
    assert rows_showing(content, objects, [inner]).tolist() == [2, 3, 6]
    assert rows_showing(content, objects, []).tolist() == []
    assert rows_showing(content, objects, [content.stream]).tolist() == [*range(7)]


def test_rows_of_a_cell_are_those_that_are_painted_with_it():
    drawing = sheet("/Pattern cs /P scn", SQUARE, "/Q scn", SQUARE, "0 g", SQUARE, "/Pattern cs /P scn", SQUARE)
    form(drawing, SQUARE)
    pattern(drawing, "/Fm Do")
    pattern(drawing, SQUARE, name="Q")
    content, objects = read(drawing)
    cell = content.palette.entries[content.stream.colour[0]].pattern
    assert isinstance(cell, TilingCell)
    (call,) = cell.content.calls
    assert rows_showing(content, objects, [cell.content]).tolist() == [0, 3]
    assert rows_showing(content, objects, [call.content]).tolist() == [0, 3]


def test_rows_in_a_state_are_painted_in_it_or_by_forms_called_in_it():
    drawing = sheet().gs(ca=0.5).gs(ca=1)
    drawing.ops.clear()
    form(drawing, f"/GS1 gs {SQUARE}")
    drawing.raw(f"{SQUARE} /Fm Do /GS0 gs {SQUARE} /Fm Do /GS1 gs {SQUARE}")
    content, objects = read(drawing)
    # The form is read once in each state, and paints in the opaque one both times.
    found = rows_in_states(content, objects, lambda state: state.fill_alpha < 1)
    assert found.tolist() == [2, 3]
    assert rows_in_states(content, objects, lambda state: False).tolist() == []
    assert rows_in_states(content, objects, lambda state: True).tolist() == [0, 1, 2, 3, 4]


def test_places_of_rows_are_where_they_show_with_their_inks():
    drawing = sheet()
    drawing.fill("Fern").ops.clear()
    drawing.raw(f"0 1 0 0 k {SQUARE} {SQUARE} /CS0 cs 5 6 7 8.0004 re f 400 6 7 8 re f")
    _, objects = read(drawing)
    rows = np.arange(4)
    process = ("Cyan", "Magenta", "Yellow", "Black")
    assert places_of_rows(objects, rows, "gone") == [
        UncertainPlace("gone", (10, 20, 40, 60), process), UncertainPlace("gone", (5, 6, 12, 14), ("Fern",))
    ]  # fmt: skip
    assert places_of_rows(objects, rows[3:], "gone") == []


@pytest.mark.parametrize(("count", "places"), [(MOST_BOXES, MOST_BOXES), (MOST_BOXES + 1, 1)])
def test_very_many_places_are_one(count, places):
    drawing = sheet()
    drawing.fill("Fern").ops.clear()
    squares = [f"{2 * at + 1} {at + 3} 1 2 re f" for at in range(count)]
    _, objects = read(drawing.raw(" ".join(["1 0 0 0 k", *squares[:-1], "/CS0 cs", squares[-1]])))
    found = places_of_rows(objects, np.arange(count), "gone")
    assert len(found) == places
    if places == 1:
        inks = ("Cyan", "Magenta", "Yellow", "Black", "Fern")
        assert found == [UncertainPlace("gone", (1, 3, 2 * count, count + 4), inks)]


def test_what_cannot_be_read_of_a_cell_is_missing_wherever_it_is_painted():
    drawing = sheet("/Pattern cs /P scn", SQUARE, "0 g", SQUARE, "/Pattern cs /P scn 5 6 7 8 re f")
    form(drawing, "/Me Do", "Me")
    drawing.resources.XObject.Me.Resources = drawing.resources
    pattern(drawing, f"{SQUARE} /Me Do")
    content, objects = read(drawing)
    found = unread_in_patterns(content, objects)
    assert [place.box_mm for place in found] == [(10, 20, 40, 60), (5, 6, 12, 14)]
    assert all(place.unread and place.inks is None for place in found)


def test_what_cannot_be_read_of_a_form_is_missing_once():
    drawing = sheet("/Me Do")
    form(drawing, f"{SQUARE} /Me Do", "Me", BBox=[1, 2, 30, 40])
    drawing.resources.XObject.Me.Resources = drawing.resources
    content, objects = read(drawing)
    assert unread_in_patterns(content, objects) == []
    assert [place.box_mm for place in objects.undrawn] == [(1, 2, 30, 40)]


def test_a_glyph_that_is_damaged_is_missing_where_its_text_stands():
    drawing = sheet("BT /F3 10 Tf 20 30 Td (ab) Tj ET")
    type3(drawing, a="500 0 d0 0 0 9 9 re f", b=SQUARE)
    drawing.resources.Font.F3.CharProcs.b.Filter = Name.Odd
    content, objects = read(drawing)
    (place,) = unread_in_patterns(content, objects)
    assert place.box_mm == (20, 28, 30, 38)


PLACES = tuple(UncertainPlace(str(box), box) for box in ((0, 0, 10, 10), (10, 0, 20, 10), (0, 10, 20, 30)))


@pytest.mark.parametrize(
    ("box", "met"),
    [
        ((2, 3, 4, 5), [0]),
        ((2, 3, 12, 5), [0, 1]),
        ((2, 3, 10, 5), [0]),  # an edge in common is nothing
        ((10, 3, 12, 5), [1]),
        ((2, 3, 4, 10), [0]),
        ((2, 10, 4, 12), [2]),
        ((20, 0, 30, 30), []),
        ((-5, -5, 0, 40), []),
        ((0, 30, 20, 40), []),
        ((-5, -5, 40, 0), []),
        ((5, 5, 15, 15), [0, 1, 2]),
    ],
)
def test_places_that_share_something_with_a_box(box, met):
    assert meeting(PLACES, box) == tuple(PLACES[at] for at in met)


def test_places_come_back_from_what_was_written():
    records: list[dict[str, Any]] = [
        {"because": "a", "box_mm": [1, 2, 3, 4], "inks": None, "unread": True},
        {"because": "b", "box_mm": [5, 6, 7, 8], "inks": ["Fern", "Moss"], "unread": False},
        {"because": "c", "box_mm": [5, 6, 7, 8], "inks": [], "unread": 0},
    ]
    assert places_from(records) == [
        UncertainPlace("a", (1, 2, 3, 4), None, True),
        UncertainPlace("b", (5, 6, 7, 8), ("Fern", "Moss"), False),
        UncertainPlace("c", (5, 6, 7, 8), (), False),
    ]
