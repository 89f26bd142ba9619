"""What streams let show that lies below them: by opacity, blend mode, overprint or a mask."""

from __future__ import annotations

from typing import Any

import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.transparency import alpha_is_shape, reached
from tests.plate_drawings import group
from tests.test_content_reader import SQUARE, content_of, form, pattern, sheet, type3

STATES: dict[str, dict[str, Any]] = {
    "faint": {"ca": 0.5},
    "faintstrokes": {"CA": 0.5},
    "blended": {"BM": Name.Darken},
    "over": {"op": True},
    "strokesover": {"OP": True, "op": False},
    "plain": {"ca": 1},
}


def painted(*operators: str) -> PageContent:
    """A page under the states above by their names, with a form, a group, patterns and glyphs."""
    drawing = sheet()
    for name, keys in STATES.items():
        drawing.resources.ExtGState[Name("/" + name)] = Dictionary(**keys)
    form(drawing, f"/faint gs {SQUARE}", "FaintForm", Resources=drawing.resources)
    form(drawing, SQUARE, "Group", Group=group(), Resources=drawing.resources)
    form(drawing, f"/over gs {SQUARE}", "OverGroup", Group=group(), Resources=drawing.resources)
    form(drawing, f"/blended gs {SQUARE}", "BlendGroup", Group=group(I=True), Resources=drawing.resources)
    pattern(drawing, f"/faint gs {SQUARE}", name="FaintCell")
    pattern(drawing, SQUARE, name="Cell")
    type3(drawing, a=f"500 0 d0 /blended gs {SQUARE}", resources=drawing.resources)
    for name, more in (("Masked", {"SMask": drawing.pdf.make_stream(b"\0", Subtype=Name.Image, Width=1, Height=1,
                        ColorSpace=Name.DeviceGray, BitsPerComponent=8)}), ("Picture", {})):  # fmt: skip
        drawing.resources.XObject[Name("/" + name)] = drawing.pdf.make_stream(
            b"\0", Subtype=Name.Image, Width=1, Height=1, ColorSpace=Name.DeviceGray, BitsPerComponent=8, **more
        )
    return content_of(drawing.raw(" ".join(operators)))


LINE = "1 1 m 5 9 l S"
SHOWS = [
    # what is painted; whether it is solid, with overprint counted and without; whether it lets show; opaque page
    ((SQUARE,), True, True, False, True),
    (("/plain gs", SQUARE, LINE), True, True, False, True),
    (("/faint gs", SQUARE), False, False, True, False),
    (("/faint gs", LINE), True, True, True, False),
    (("/faintstrokes gs", LINE), False, False, True, False),
    (("/faintstrokes gs", SQUARE), True, True, True, False),
    (("/blended gs", SQUARE), False, False, True, False),
    (("/over gs", SQUARE), False, True, False, True),
    (("/over gs", LINE), True, True, False, True),
    (("/strokesover gs", LINE), False, True, False, True),
    (("/strokesover gs", SQUARE), True, True, False, True),
    (("/Picture Do",), True, True, False, True),
    (("/Masked Do",), False, False, True, False),
    (("/FaintForm Do",), False, False, True, False),
    (("/Group Do",), True, True, True, True),
    (("/faint gs /Group Do",), False, False, True, False),
    (("/faintstrokes gs /Group Do",), True, True, True, False),
    (("/OverGroup Do",), False, True, True, True),
    (("/Pattern cs /Cell scn", SQUARE), True, True, False, True),
]


@pytest.mark.parametrize(
    ("operators", "solid", "but_for_overprint", "lets_show", "opaque"), SHOWS, ids=lambda v: str(v)
)
def test_what_is_painted_hides_what_lies_below_or_lets_it_show(
    operators, solid, but_for_overprint, lets_show, opaque
):  # fmt: skip
    content = painted(*operators)
    told = content.transparency
    assert told.is_solid(content.stream) is solid
    assert told.is_solid(content.stream, with_overprint=False) is but_for_overprint
    assert told.is_solid(content.stream) is solid
    assert told.lets_show(content.stream) is lets_show
    assert content.opaque is opaque


@pytest.mark.parametrize("operators", ["/Pattern cs /FaintCell scn 1 1 5 7 re f", "BT /F3 9 Tf (a) Tj ET"])
def test_cells_and_glyphs_that_let_something_show_are_not_solid(operators):
    content = painted(operators)
    assert not content.transparency.is_solid(content.stream)
    assert not content.opaque


def test_some_rows_are_asked_for_by_themselves():
    content = painted(SQUARE, "/over gs", SQUARE, "/plain gs /Pattern cs /FaintCell scn", SQUARE, "0 g /Masked Do")
    told = content.transparency
    solid = [told.rows_are_solid(content.stream, [row]) for row in range(4)]
    assert solid == [True, False, False, False]
    assert told.rows_are_solid(content.stream, [])
    assert not told.rows_are_solid(content.stream, [0, 1])
    assert not told.rows_are_solid(content.stream, [0, 3])


def test_a_form_that_is_no_group_is_as_solid_as_what_is_in_it():
    content = painted("/faint gs /FaintForm Do /Group Do /plain gs /Group Do")
    assert [content.transparency.call_is_solid(call) for call in content.stream.calls] == [True, False, True]


@pytest.mark.parametrize(
    ("operators", "modes", "blends"),
    [
        ((SQUARE,), {"Normal"}, False),
        (("/blended gs", SQUARE), {"Darken"}, True),
        (("/blended gs /Group Do",), {"Darken"}, True),
        (("/BlendGroup Do",), {"Normal"}, False),
        (("/blended gs /FaintForm Do",), {"Darken"}, True),
    ],
)
def test_blend_modes_that_something_is_painted_with(operators, modes, blends):
    content = painted(*operators)
    assert content.transparency.blend_modes([content.stream]) == modes
    assert content.transparency.blends(content.stream) is blends


def test_blend_modes_in_which_something_overprints():
    content = painted(SQUARE, "/blended gs", SQUARE, "/over gs", SQUARE)
    assert content.transparency.modes_of_overprint(content.stream) == {"Darken"}
    assert content.blend_modes == {"Normal", "Darken"}
    inner = painted("/OverGroup Do")
    assert inner.transparency.modes_of_overprint(inner.stream) == {"Normal"}
    none = painted("/blended gs", SQUARE)
    assert none.transparency.modes_of_overprint(none.stream) == frozenset()


def test_all_that_a_stream_calls_is_reached_once():
    drawing = sheet()
    form(drawing, SQUARE, "Inner")
    form(drawing, "/Inner Do /Inner Do", "Outer", Resources=drawing.resources)
    content = content_of(drawing.raw("/Outer Do /Inner Do /Outer Do"))
    found = [each.number for each in reached(content.stream)]
    assert sorted(found) == sorted(set(found)) == [0, 1, 2]


@pytest.mark.parametrize(
    ("states", "is_shape"),
    [({}, False), ({"A": {"AIS": False}}, False), ({"A": {"ca": 1}, "B": {"AIS": True}}, True)],
)
def test_alpha_may_be_shape_where_a_state_says_so(states, is_shape):
    """Of the page's own states, or of those of a form that it calls."""
    outer, inner = sheet(SQUARE), sheet("/Fm Do")
    for drawing in (outer, inner):
        entries = Dictionary({f"/{name}": Dictionary(**keys) for name, keys in states.items()})
        if drawing is outer:
            drawing.resources.ExtGState = entries
        else:
            form(drawing, SQUARE, Resources=Dictionary(ExtGState=entries))
        assert alpha_is_shape(content_of(drawing).stream) is is_shape
