"""States that a page paints in, its palette, and what overprint has an object paint."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_spaces import CMYK, GRAY, PATTERN, ColourSpace
from preflight.artwork.pdf.content.graphics_state import (
    ALL_PLATES,
    NO_OVERPRINT,
    GraphicsState,
    Overprint,
    PaintState,
    PaletteBuilder,
    painted_plates,
)
from preflight.artwork.pdf.content.stream_content import Dash, EditKind
from tests.test_content_reader import SQUARE, content_of, form, pattern, sheet, state_of

# -- ExtGState --------------------------------------------------------------------------------------------------------


def after(keys: dict[str, Any], before: str = "") -> PaintState:
    drawing = sheet(f"{before} /S gs {SQUARE}")
    drawing.resources.ExtGState.S = Dictionary(**keys)
    return state_of(content_of(drawing))


PLAIN = after({})
CHANGES: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({}, {}),
    ({"OP": True}, {"overprint": (True, True, 0)}),
    ({"op": True}, {"overprint": (True, False, 0)}),
    ({"OP": True, "op": False}, {"overprint": (False, True, 0)}),
    ({"OP": False, "op": True}, {"overprint": (True, False, 0)}),
    ({"OPM": 1}, {"overprint": (False, False, 1)}),
    ({"ca": 0.25}, {"fill_alpha": 0.25}),
    ({"CA": 0.75}, {"stroke_alpha": 0.75}),
    ({"LW": 3}, {"line_width": 3}),
    ({"LW": -3}, {"line_width": 3}),
    ({"LW": Name.Odd}, {"line_width": 0}),
    ({"D": Array([Array([3, 2]), 0])}, {"dashed": True}),
    ({"D": Array([Array([0, 2]), 0])}, {"dashed": True}),
    ({"D": Array([Array([0, 0]), 0])}, {}),
    ({"D": Array([3, 0])}, {}),
    ({"D": Array([])}, {}),
    ({"BM": Name.Multiply}, {"blend": "Multiply"}),
    ({"BM": Array([Name.Screen, Name.Multiply])}, {"blend": "Screen"}),
    ({"BM": Name.Compatible}, {}),
    ({"SMask": Dictionary(S=Name.Alpha)}, {"soft_mask": True}),
    ({"SMask": Name("/None")}, {}),
]


@pytest.mark.parametrize(("keys", "changes"), CHANGES, ids=[str(changes or "nothing") for _, changes in CHANGES])
def test_a_state_changes_what_it_names(keys, changes):
    found = after(keys)
    for name in PaintState.__slots__:
        assert getattr(found, name) == changes.get(name, getattr(PLAIN, name)), name


def test_a_plain_state_is_that_of_a_page_at_its_beginning():
    assert PLAIN.overprint == NO_OVERPRINT == (False, False, 0)
    assert (PLAIN.fill_alpha, PLAIN.stroke_alpha, PLAIN.blend, PLAIN.soft_mask) == (1, 1, "Normal", False)
    assert (PLAIN.line_width, PLAIN.dashed, PLAIN.render_mode) == (1, False, 0)
    assert PLAIN.is_plain


def test_a_state_leaves_what_it_does_not_name():
    drawing = sheet().gs(OP=True, OPM=1, ca=0.5, CA=0.25, LW=7, BM=Name.Screen, SMask=Dictionary())
    drawing.gs(op=False).gs(OP=True, D=Array([Array([]), 0])).gs(SMask=Name("/None"))
    states = drawing.ops[:]
    drawing.ops.clear()
    drawing.raw(" ".join(f"{words} {SQUARE}" for words in ["[2 1] 0 d", *states]))
    content = content_of(drawing)
    found = [state_of(content, row) for row in range(1, 5)]
    assert [state.overprint for state in found] == [(True, True, 1), (False, True, 1), (True, True, 1), (True, True, 1)]
    assert [state.dashed for state in found] == [True, True, False, False]
    assert [state.soft_mask for state in found] == [True, True, True, False]
    for state in found:
        assert (state.fill_alpha, state.stroke_alpha, state.line_width, state.blend) == (0.5, 0.25, 7, "Screen")


def test_dots_in_dash_patterns_are_remembered():
    """A dash of no length under a round cap is a dot."""
    content = content_of(sheet("[0 4] 1.5 d 1 1 m 9 5 l S [3 4] 0 d 1 1 m 9 5 l S [0 0] 0 d 1 1 m 9 5 l S [5 0 0] 2 d"))
    assert content.stream.dashes == [Dash([0, 4], 1.5), Dash([5, 0, 0], 2)]
    assert [state_of(content, row).dashed for row in range(3)] == [True, True, False]
    dashes = [edit for edit in content.stream.edits.tolist() if edit[2] == EditKind.DASH]
    assert [edit[3] for edit in dashes] == [0, 1]
    assert content.stream.data[dashes[0][0] : dashes[0][1]] == b"[0 4] 1.5 d"


STATE = PaintState(NO_OVERPRINT, 1, 1, "Normal", (0, 0, 9, 9), 1, False, 0, False)


@pytest.mark.parametrize(
    ("changes", "blended", "hides", "plain"),
    [
        ({}, False, True, True),
        ({"fill_alpha": 0.99}, False, False, False),
        ({"stroke_alpha": 0.99}, False, True, False),
        ({"blend": "Darken"}, True, False, False),
        ({"soft_mask": True}, True, False, False),
        ({"overprint": Overprint(True, True, 1)}, False, True, True),
    ],
)
def test_through_what_something_shows(changes, blended, hides, plain):
    values = {name: getattr(STATE, name) for name in PaintState.__slots__}
    state = PaintState(**{**values, **changes})
    assert (state.is_blended, state.hides, state.is_plain) == (blended, hides, plain)


def test_overprint_and_opacity_are_those_of_strokes_or_of_all_else():
    state = PaintState(Overprint(False, True, 0), 0.5, 0.25, "Normal", (0, 0, 9, 9), 1, False, 3, False)
    assert [state.overprint.of(stroked=stroked) for stroked in (False, True)] == [False, True]
    assert [state.alpha(stroked=stroked) for stroked in (False, True)] == [0.5, 0.25]
    assert [Overprint(*on, 1).is_on for on in ((False, False), (True, False), (False, True))] == [False, True, True]


@pytest.mark.parametrize(("mode", "clips"), [(0, False), (3, False), (4, True), (7, True)])
def test_text_of_the_later_modes_adds_to_the_clip(mode, clips):
    assert PaintState(NO_OVERPRINT, 1, 1, "Normal", (0, 0, 9, 9), 1, False, mode, False).clips_to_text is clips


PARAMETERS = {
    "fill_overprint": True, "stroke_overprint": True, "opm": 1, "fill_alpha": 0.5, "stroke_alpha": 0.5,
    "blend": "Screen", "line_width": 3.0, "dashed": True, "render_mode": 2, "soft_mask": True,
}  # fmt: skip
OF_TEXT = {"font_size": 9.0, "char_space": 1.0, "word_space": 1.0, "leading": 1.0, "rise": 1.0, "stretch": 0.5}


@pytest.mark.parametrize("name", [*PARAMETERS, "clip"])
def test_states_that_differ_in_one_thing_are_two(name):
    one, other = GraphicsState(0, GRAY), GraphicsState(0, GRAY)
    assert (one.key(), one.inherited()) == (other.key(), other.inherited())
    setattr(other, name, (1, 2, 3, 4) if name == "clip" else PARAMETERS[name])
    assert one.key() != other.key()
    assert one.paint_state() != other.paint_state()
    assert (one.inherited() == other.inherited()) is (name == "clip")  # a form's box is cut where it is called


@pytest.mark.parametrize("name", [*OF_TEXT, "fill", "stroke", "fill_space", "stroke_space"])
def test_what_else_a_form_takes_over(name):
    one, other = GraphicsState(0, GRAY), GraphicsState(0, GRAY)
    setattr(other, name, {**OF_TEXT, "fill": 1, "stroke": 1}.get(name, CMYK))
    assert one.inherited() != other.inherited()
    assert one.key() == other.key()


def test_a_copy_of_a_state_goes_its_own_way():
    state = GraphicsState(3, GRAY)
    state.line_width, state.number = 5, 7
    other = state.copy()
    assert (other.fill, other.stroke, other.line_width, other.number) == (3, 3, 5, 7)
    other.line_width = 2
    assert state.line_width == 5


# -- palette ----------------------------------------------------------------------------------------------------------

FERN = ColourSpace("Separation", 1, ("Fern",), (1.0,))


def test_a_colour_has_one_number():
    builder = PaletteBuilder()
    first = builder.index(CMYK, (0, 1, 0, 0))
    assert builder.index(FERN, (0.5,)) == first + 1
    assert builder.index(CMYK, (0, 1, 0, 0)) == first
    assert builder.index(CMYK, (0, 1, 0, 0), FERN) == first + 2
    rows = np.array([(1, 0, 0, 0), (0, 1, 0, 0), (1, 0, 0, 0), (0, 0, 1, 0)], float)
    assert builder.indices(CMYK, rows).tolist() == [3, 0, 3, 4]
    assert builder.index(CMYK, (0, 0, 1, 0)) == 4
    assert builder.indices(CMYK, np.zeros((0, 4))).tolist() == []
    assert [entry.values for entry in builder.entries[3:]] == [(1, 0, 0, 0), (0, 0, 1, 0)]


def test_many_colours_are_numbered_in_the_order_in_which_they_come():
    rows = np.array([(0.9,), (0.1,), (0.9,), (0.5,), (0.1,), (0.2,)])
    assert PaletteBuilder().indices(FERN, rows).tolist() == [0, 1, 0, 2, 1, 3]
    two = np.array([(1, 0), (0, 1), (0, 0), (0, 1), (1, 1), (1, 0)], float)
    assert PaletteBuilder().indices(FERN, two).tolist() == [0, 1, 2, 1, 3, 0]


def test_kinds_part_colours_that_paint_other_plates_under_overprint():
    """Only of DeviceCMYK does it matter which tints are zero (ISO 32000-2, 8.6.7)."""
    builder = PaletteBuilder()
    values = [(0, 1, 0, 0), (0, 0.2, 0, 0), (1, 0, 0, 0), (0.5, 1, 0, 0), (0.1, 0.1, 0, 0), (0, 0, 0, 0)]
    for colour in values:
        builder.index(CMYK, colour)
    for tint in (0.0, 1.0):
        builder.index(FERN, (tint,))
    kinds = builder.palette().kinds.tolist()
    assert kinds[0] == kinds[1]
    assert kinds[3] == kinds[4]
    assert kinds[6] == kinds[7]
    assert len(set(kinds)) == 5


def test_the_palette_so_far_knows_nothing_of_later_colours():
    builder = PaletteBuilder()
    builder.index(FERN, (0.25,))
    early = builder.palette()
    builder.index(CMYK, (0, 0, 0, 1))
    late = builder.palette()
    assert (len(early.entries), len(early.colours), len(early.kinds), len(early.in_spaces)) == (1, 1, 1, 1)
    assert [dict(colour.tints).get("Fern") for colour in late.colours] == [0.25, None]
    assert late.colours[1].direct_cmyk
    assert not late.colours[0].direct_cmyk
    assert [space for space, _ in late.in_spaces] == [FERN, CMYK]


def test_patterns_stand_in_the_palette_with_their_colours():
    builder = PaletteBuilder()
    builder.index(FERN, (0.25,))
    under = ColourSpace("Pattern", 1, ("Fern",), (), base=FERN)
    builder.index(under, (0.5,), "cell")
    builder.index(PATTERN, (), "other")
    builder.index(FERN, (0.75,))
    palette = builder.palette()
    assert palette.patterns() == [(1, "cell"), (2, "other")]
    assert palette.patterned.tolist() == [False, True, True, False]
    assert palette.colours[1] == Colour("Pattern", (("Fern", 0.5),))
    assert palette.colours[2].varies
    assert [(space.family, numbers.tolist()) for space, numbers in palette.in_spaces] == [
        ("Separation", [0, 3]), ("Separation", [1]), ("Pattern", [2])
    ]  # fmt: skip
    assert len(set(palette.kinds.tolist())) == 3


# -- overprint --------------------------------------------------------------------------------------------------------

ALL = {ALL_PLATES}
SPOT, NONE = Colour("Separation", (("Fern", 0.0),)), Colour("Separation", ())
DIRECT = Colour("DeviceCMYK", (("Cyan", 0.0), ("Magenta", 0.5), ("Yellow", 0.0), ("Black", 0.1)), direct_cmyk=True)
PROFILED = Colour("ICCBased-4", DIRECT.tints)
REGISTRATION = Colour("Separation", (("All", 1.0),), registration=True)
GREY = Colour("DeviceGray", (("Black", 0.0),))
LOOKED_UP = Colour("Indexed", (("Fern", 1.0), ("Cyan", 0.0)), base="DeviceN")


@pytest.mark.parametrize(
    ("colour", "off", "mode_0", "mode_1"),
    [
        (SPOT, {"Fern"} | ALL, {"Fern"}, {"Fern"}),
        (NONE, set(), set(), set()),
        (LOOKED_UP, {"Fern", "Cyan"} | ALL, {"Fern", "Cyan"}, {"Fern", "Cyan"}),
        (DIRECT, {*PROCESS} | ALL, {*PROCESS}, {"Magenta", "Black"}),
        (PROFILED, {*PROCESS} | ALL, {*PROCESS}, {*PROCESS}),
        (GREY, {"Black"} | ALL, {*PROCESS}, {*PROCESS}),
        (REGISTRATION, ALL, ALL, ALL),
    ],
    ids=["spot", "none", "DeviceN by index", "CMYK", "CMYK by profile", "grey", "registration"],
)
def test_plates_that_an_object_paints(colour, off, mode_0, mode_1):
    """ISO 32000-2, tables 146 and 147."""
    assert painted_plates(colour, overprint=False, opm=0) == painted_plates(colour, overprint=False, opm=1) == off
    assert painted_plates(colour, overprint=True, opm=0) == mode_0
    assert painted_plates(colour, overprint=True, opm=1) == mode_1


def test_colours_of_cells_and_forms_are_numbered_with_those_of_the_page():
    drawing = sheet("1 0 0 0 k", SQUARE, "/Fm Do /Pattern cs /P scn", SQUARE)
    form(drawing, f"{SQUARE} 0 1 0 0 k {SQUARE}")
    pattern(drawing, f"0 1 0 0 k {SQUARE} 0 0 1 0 k {SQUARE}")
    content = content_of(drawing)
    (call,) = content.stream.calls
    numbers = [*content.stream.colour.tolist(), *call.content.colour.tolist()]
    assert numbers[0] == numbers[2]
    assert len(set(numbers)) == 3
    assert len(content.palette.entries) == len(content.colours) == 6
