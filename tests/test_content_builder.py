"""Boxes and frames of what one stream paints, in points, worked out by hand; paths that run over chunks."""

from __future__ import annotations

import pytest

from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content import tokens
from preflight.artwork.pdf.content.content_builder import PathBoxes, joined
from preflight.artwork.pdf.content.stream_content import EditKind
from preflight.artwork.pdf.content.tokens import scan
from tests.test_content_reader import SQUARE, content_of, form, sheet, state_of, table_of, tints_of

BOX = (10, 20, 40, 60)
PATHS = {
    "a line": ("10 20 m 40 60 l f", BOX),
    "a line downwards": ("40 20 m 10 60 l f", BOX),
    "three points": ("25 20 m 40 35 l 10 60 l f", BOX),
    "a rectangle": ("10 20 30 40 re f", BOX),
    "a rectangle of negative sides": ("40 60 -30 -40 re f", BOX),
    "a rectangle of a negative height": ("10 60 30 -40 re f", BOX),
    "a curve with all of its control points": ("10 30 m 20 60 40 20 35 35 c f", BOX),
    "a curve that ends furthest": ("10 20 m 15 25 20 30 40 60 c f", BOX),
    "a curve that begins at its first point": ("10 30 m 40 20 35 60 v f", BOX),
    "a curve that ends at its second point": ("10 30 m 35 20 40 60 y f", BOX),
    "two paths": ("10 20 m 15 25 l 40 60 m 30 30 l f", BOX),
    "a path and a rectangle": ("10 20 m 12 22 l 35 50 5 10 re f", BOX),
    "more operands than it takes": ("99 99 10 20 m 99 40 60 l f", BOX),
    "a rectangle of more operands": ("99 10 20 30 40 re f", BOX),
    "too few operands for a point": ("10 20 m 99 l 40 60 l f", BOX),
    "too few operands for a rectangle": ("10 20 m 40 60 l 99 99 99 re f", BOX),
    "too few operands for a curve": ("10 20 m 40 60 l 99 99 99 99 99 c f", BOX),
    "too few operands for a short curve": ("10 20 m 40 60 l 99 99 99 v 99 99 99 y f", BOX),
}


@pytest.mark.parametrize(("operators", "box"), PATHS.values(), ids=PATHS)
def test_the_box_of_a_path(operators, box):
    table = table_of(sheet(operators))
    assert table.box_mm.tolist() == [list(box)]


@pytest.mark.parametrize(
    ("matrix", "box"),
    [
        ("2 0 0 3 5 7", (25, 67, 85, 187)),
        ("-1 0 0 1 100 0", (60, 20, 90, 60)),
        ("0 1 -1 0 100 5", (40, 15, 80, 45)),
        ("1 0 0.5 1 0 0", (20, 20, 70, 60)),
        ("1 0.5 0 1 0 0", (10, 25, 40, 80)),
    ],
)
def test_the_box_of_a_path_through_a_matrix(matrix, box):
    table = table_of(sheet(f"{matrix} cm 10 20 30 40 re f"))
    assert table.box_mm[0].tolist() == list(box)
    assert table.shown_mm[0].tolist() == list(box)


def test_matrices_apply_the_innermost_first():
    table = table_of(sheet("1 0 0 1 100 0 cm 2 0 0 3 5 7 cm 1 2 3 4 re f 9 cm 1 2 3 4 re f"))
    assert table.box_mm.tolist() == [[107, 13, 113, 25]] * 2


def test_rows_that_do_not_share_a_matrix_have_frames_of_their_own():
    content = content_of(sheet("1 1 m 5 9 l S q 2 0 0 3 5 7 cm 1 1 m 5 9 l S Q 1 1 m 5 9 l S")).stream
    assert content.frame.tolist() == [[1, 0, 0, 1, 0, 0], [2, 0, 0, 3, 5, 7], [1, 0, 0, 1, 0, 0]]


BOTH = [(Painted.FILL, False), (Painted.STROKE, True)]


@pytest.mark.parametrize(
    ("operators", "rows"),
    [
        ("10 20 30 40 re f", [(Painted.FILL, False)]),
        ("10 20 30 40 re F", [(Painted.FILL, False)]),
        ("10 20 30 40 re f*", [(Painted.FILL, False)]),
        ("10 20 30 40 re S", [(Painted.STROKE, True)]),
        ("10 20 30 40 re s", [(Painted.STROKE, True)]),
        *((f"10 20 30 40 re {word}", BOTH) for word in ("B", "B*", "b", "b*")),
        ("10 20 30 40 re n", []),
        ("f", []),
        ("10 20 30 40 re n f", []),
        ("10 20 30 40 re f S", [(Painted.FILL, False)]),
    ],
)  # fmt: skip
def test_what_painting_operators_paint(operators, rows):
    content = content_of(sheet(operators)).stream
    assert [*zip(content.painted.tolist(), content.stroked.tolist(), strict=True)] == rows


def test_a_path_knows_its_bytes():
    words = "0 g  10 20 m 5 5 l h  B 1 0 0 RG 1 1 m 2 2 l S"
    content = content_of(sheet(words)).stream
    assert [words[begin:end] for begin, end in content.path.tolist()] == [
        *["10 20 m 5 5 l h  "] * 2, "1 1 m 2 2 l "
    ]  # fmt: skip
    paint = [edit for edit in content.edits.tolist() if edit[2] == EditKind.PAINT]
    assert [(words[edit[0] : edit[1]], edit[3], edit[4]) for edit in paint] == [("B", 0, 1), ("S", -1, 2)]
    assert [edit[5] for edit in paint] == [words.index("10 20 m"), words.index("1 1 m")]


SPREAD = (
    "1 0 0 0 k 10 20 m 15 90 l 40 60 l f 0 1 0 0 k 5 5 m 9 99 l q 7 1 m 50 8 l B Q 3 w 30 31 m 70 32 l 71 8 l 2 3 l s "
    "20 10 50 60 re W n 0 0 300 200 re f"
)


@pytest.mark.parametrize("size", [20, 31, 47, 64, 90, 1000])
def test_a_path_that_runs_over_chunks_is_one_path(size, monkeypatch):
    monkeypatch.setattr(tokens, "CHUNK_BYTES", size)
    drawing = sheet(SPREAD)
    content, table = content_of(drawing).stream, table_of(drawing)
    assert content.box.tolist() == [
        [10, 20, 40, 90], [5, 1, 50, 99], [5, 1, 50, 99], [2, 3, 71, 32], [0, 0, 300, 200]
    ]  # fmt: skip
    assert table.shown_mm[4].tolist() == [20, 10, 70, 70]
    assert [SPREAD[begin:end].split()[:3] for begin, end in content.path.tolist()] == [
        ["10", "20", "m"], ["5", "5", "m"], ["5", "5", "m"], ["30", "31", "m"], ["0", "0", "300"]
    ]  # fmt: skip
    assert [tints_of(table, row) for row in (0, 1, 3)] == [{"Cyan": 1}, {"Magenta": 1}, {"Black": 1}]
    assert table.line_width_mm.tolist() == [0, 0, 1, 3, 0]


def test_path_boxes_of_some_operators():
    (chunk,) = scan(b"10 20 m 40 60 l 1 2 m 3 99 l h w 5 6 m f")
    boxes = PathBoxes(chunk)
    assert boxes.of(0, 2) == (10, 20, 40, 60)
    assert boxes.of(1, 4) == (1, 2, 40, 99)
    assert boxes.of(2, 3) == (1, 2, 1, 2)
    assert boxes.of(4, 6) is None
    assert boxes.of(3, 3) is None
    assert boxes.of(3, 2) is None


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [
        (None, None, None),
        ((1, 2, 3, 4), None, (1, 2, 3, 4)),
        (None, (1, 2, 3, 4), (1, 2, 3, 4)),
        ((1, 12, 8, 14), (2, 11, 9, 13), (1, 11, 9, 14)),
    ],
)
def test_boxes_joined(one, other, both):
    assert joined(one, other) == both


CLIPS = {
    "none": ("", (0, 0, 300, 200)),
    "one": ("10 20 50 60 re W n", (10, 20, 60, 80)),
    "even-odd": ("10 20 50 60 re W* n", (10, 20, 60, 80)),
    "two": ("10 20 50 60 re W n 30 5 90 30 re W n", (30, 20, 60, 35)),
    "through a matrix": ("q 2 0 0 3 5 7 cm 10 20 5 6 re W n 0.5 0 0 0.3333333 -2.5 -2.3333333 cm", (25, 67, 35, 85)),
    "of two paths": ("10 20 5 5 re 40 50 9 9 re W n", (10, 20, 49, 59)),
    "restored": ("q 10 20 50 60 re W n Q", (0, 0, 300, 200)),
    "waiting for its path to end": ("W 10 20 50 60 re n", (10, 20, 60, 80)),
}


@pytest.mark.parametrize(("operators", "shown"), CLIPS.values(), ids=CLIPS)
def test_a_clip_leaves_of_what_comes_after_it_what_is_inside(operators, shown):
    table = table_of(sheet(f"{operators} 0 0 300 200 re f"))
    assert table.shown_mm[-1].tolist() == pytest.approx(shown, abs=1e-3)
    assert table.visible[-1]


def test_a_path_that_becomes_a_clip_is_painted_in_full():
    table = table_of(sheet("10 20 50 60 re W n 0 0 30 40 re W f 0 0 300 200 re f"))
    assert table.shown_mm.tolist() == [[10, 20, 30, 40], [10, 20, 30, 40]]
    assert table.box_mm[1].tolist() == [0, 0, 300, 200]


def test_a_clip_to_nothing_leaves_nothing():
    table = table_of(sheet("W n 10 20 50 60 re f"))
    assert not table.visible[0]


def test_rows_of_forms_are_counted_with_those_that_call_them():
    drawing = sheet(f"{SQUARE} /Fm Do {SQUARE} /Fm Do")
    form(drawing, f"{SQUARE} {SQUARE}")
    content = content_of(drawing).stream
    assert content.total_rows == 6
    assert [call.row for call in content.calls] == [1, 2]
    assert [inner.number for inner in content.with_calls()] == [0, 1]


def test_stretches_between_a_save_and_its_restore():
    words = "q 1 w q 2 w Q Q Q q 3 w"
    content = content_of(sheet(words)).stream
    assert [words[begin:end] for begin, end in content.saved] == ["q 2 w Q", "q 1 w q 2 w Q Q"]


@pytest.mark.parametrize(("width", "grown"), [("4 w", 2), ("-4 w", 2), ("0 w", 0), ("w", 0.5), ("9 4 w", 2)])
def test_a_stroke_reaches_half_its_width_out(width, grown):
    table = table_of(sheet(f"{width} 10 20 m 40 60 l S"))
    assert table.box_mm[0].tolist() == [10 - grown, 20 - grown, 40 + grown, 60 + grown]
    assert table.line_width_mm[0] == 2 * grown


def test_a_stroke_is_as_wide_as_its_matrix_makes_it():
    """The box is grown by the larger of the two directions, the width is the smaller one."""
    table = table_of(sheet("2 0 0 3 5 7 cm 4 w 10 20 m 30 20 l S"))
    assert table.line_width_mm[0] == 8
    assert table.box_mm[0].tolist() == [25 - 6, 67 - 6, 65 + 6, 67 + 6]


def test_states_are_numbered_once():
    content = content_of(sheet("3 w 1 1 m 5 9 l S q 5 w 1 1 m 5 9 l S Q 1 1 m 5 9 l S 3 w 1 1 m 5 9 l S"))
    assert content.stream.state.tolist() == [0, 1, 0, 0]
    assert [state_of(content, row).line_width for row in range(2)] == [3, 5]
