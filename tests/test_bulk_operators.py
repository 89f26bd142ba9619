"""Runs of plain operators read all at once leave what one operator at a time leaves."""

from __future__ import annotations

import numpy as np
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content import bulk_colours, bulk_operators
from preflight.artwork.pdf.content.content_reader import ContentReader
from preflight.artwork.pdf.content.stream_content import Content, EditKind
from preflight.artwork.pdf.structure.layers import LayerReader

PLAIN = [
    "0.1 0.2 0.3 0.4 k", "1 0 0 0 K", "0.5 g", "0.25 G", "1 0 0 rg", "0 1 0 RG", "0.2 0.3 k", "k", "0 0 0 0 1 k",
    "10 20 30 40 re f", "1 2 m 3 4 l 5 9 l h B", "7 7 m 9 9 20 30 8 8 c S", "0 0 m 5 5 l s", "3 3 4 4 re f*",
    "f", "n", "1 1 m 2 2 l n", "4 4 m 6 1 l 0.3 0.4 0.5 0.6 k b*", "8 8 m", "2 2 l", "50 50 20 20 re W n",
]  # fmt: skip
NAMED = [
    "/CS0 cs", "/CS1 cs", "/CS1 CS", "/CS2 CS", "/DeviceCMYK cs", "/DeviceGray CS", "/No cs", "cs", "0.4 scn",
    "0.6 SCN", "0.1 0.2 scn", "0.3 0.4 SCN", "0.1 0.2 0.3 0.4 sc", "0.5 SC", "scn", "1 0.5 0 scn",
]  # fmt: skip
PATTERNED = ["/Pattern cs", "/CS3 cs", "/P scn", "0.5 /P scn", "/Pattern CS /P SCN"]
OTHER = ["q", "Q", "2 0 0 2 5 5 cm", "0.3 w", "W", "W*", "/None gs", "/CS0 cs 0.4 scn", "nonsense", "1 2 3 4 v"]


def read(stream: str, shortest: int) -> tuple[Content, list[tuple[object, ...]]]:
    """The page's content, and its colours as space and values."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=(170, 170))
    function = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 0.5, 0.5, 0])
    spot = pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name.Leaf, pikepdf.Name.DeviceCMYK, function])
    both = pikepdf.Object.parse(b"[/DeviceN [/Leaf /Moss] /DeviceCMYK null]")
    both[3] = pdf.make_stream(b"{ 0 0 }", FunctionType=4, Domain=[0, 1] * 2, Range=[0, 1] * 4)
    indexed = pikepdf.Array([pikepdf.Name.Indexed, pikepdf.Name.DeviceCMYK, 3, pikepdf.String(bytes(range(16)))])
    spaces = pikepdf.Dictionary(CS0=spot, CS1=both, CS2=indexed, CS3=pikepdf.Array([pikepdf.Name.Pattern, spot]))
    cell = pdf.make_stream(
        b"0 0 5 5 re f", PatternType=1, PaintType=2, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9,
        Resources=pikepdf.Dictionary(),
    )  # fmt: skip
    page.obj.Resources = pikepdf.Dictionary(ColorSpace=spaces, Pattern=pikepdf.Dictionary(P=cell))
    page.obj.Contents = pdf.make_stream(stream.encode())
    kept = bulk_operators.SHORTEST_RUN
    bulk_operators.SHORTEST_RUN = shortest
    try:
        content = ContentReader(pdf, ColourReader(), LayerReader(pdf)).read(pdf.pages[0].obj)
    finally:
        bulk_operators.SHORTEST_RUN = kept
    return content.stream, [(entry.space.family, entry.values) for entry in content.palette.entries]


def assert_alike(stream: str) -> None:
    (at_once, colours), (singly, usual_colours) = read(stream, 1), read(stream, 1_000_000)
    for name in ("painted", "box", "frame", "path", "hidden", "stroked", "layer", "font", "image"):
        np.testing.assert_array_equal(getattr(at_once, name), getattr(singly, name), err_msg=name)
    assert [colours[c] for c in at_once.colour] == [usual_colours[c] for c in singly.colour]
    assert len(at_once.edits) == len(singly.edits)
    for ours, usual in zip(at_once.edits.tolist(), singly.edits.tolist(), strict=True):
        if usual[2] in (EditKind.FILL_COLOUR, EditKind.STROKE_COLOUR):
            assert colours[ours[3]] == usual_colours[usual[3]]
            ours[3] = usual[3]
        assert ours == usual


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(PLAIN * 3 + NAMED * 2 + OTHER), max_size=60))
def test_a_run_leaves_what_its_operators_leave_one_by_one(operators):
    assert_alike("\n".join(operators))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from(PLAIN + NAMED + PATTERNED), max_size=40))
def test_patterns_among_them_are_read_one_by_one(operators):
    assert_alike("\n".join(operators))


@pytest.mark.parametrize(
    ("operands", "colours"),
    [("", [("DeviceGray", (0.0,)), ("Separation", (1.0,)), ("Pattern", ())]), ("0.3 0.5", [("Separation", (0.5,))])],
)
def test_a_pattern_with_operands_missing_changes_nothing_and_with_too_many_takes_the_last(operands, colours):
    content, entries = read(f"/CS0 cs /CS3 cs {operands} /P scn 0 0 9 9 re f", 1)
    assert len(content.painted) == 1
    assert set(colours) <= set(entries)
    assert ("Separation", ()) not in entries


@pytest.mark.parametrize(
    "stream",
    [
        "1 0 0 0 k 0 0 10 10 re f " * 100,
        "q 5 5 30 30 re W n " + "0 0 9 9 re B 0.2 g " * 90 + "Q 1 1 m 4 4 l S",
        "0 0 m 9 9 l " + "0.3 g 0.5 G " * 70 + "S",
        "5 5 m 6 6 l W " + "n 0.1 g 0 0 3 3 re f " * 70,
    ],
    ids=["colours and fills", "inside a clip", "a path open before the run", "a clip that waits at its beginning"],
)
def test_long_runs(stream):
    assert len(read(stream, 1)[0].painted) > 0
    assert_alike(stream)


def test_paths_that_go_over_the_end_of_a_chunk(monkeypatch):
    monkeypatch.setattr("preflight.artwork.pdf.content.tokens.CHUNK_BYTES", 300)
    assert_alike("0.1 0.2 0.3 0.4 k 1 1 m 2 8 l 9 9 l 4 4 4 4 re b 0.5 G " * 60)


@pytest.mark.parametrize("length", [bulk_operators.SHORTEST_RUN - 1, bulk_operators.SHORTEST_RUN])
def test_only_long_runs_are_cut_out(length):
    codes = np.array([0, *[bulk_operators._PLAIN[0]] * length, 0])
    plain = [bounds for *bounds, plain in bulk_operators.stretches(codes) if plain]
    assert plain == ([[1, length + 1]] if length >= bulk_operators.SHORTEST_RUN else [])
    assert [b - a for a, b, _ in bulk_operators.stretches(codes)] in ([1, length, 1], [length + 2])


PLAIN_CODE, OTHER_CODE = bulk_operators._PLAIN[0], 0


@pytest.mark.parametrize(
    ("lengths", "cut"),
    [
        # stretches of other and of plain operators in turn
        ([0, 5], [(0, 5, True)]),
        ([2, 5], [(0, 2, False), (2, 7, True)]),
        ([0, 5, 3], [(0, 5, True), (5, 8, False)]),
        ([2, 5, 1, 4, 2], [(0, 2, False), (2, 7, True), (7, 8, False), (8, 12, True), (12, 14, False)]),
        ([2, 3, 1, 4, 2], [(0, 6, False), (6, 10, True), (10, 12, False)]),  # the first run is too short
        ([3], [(0, 3, False)]),
        ([0, 3], [(0, 3, False)]),
        ([], []),
    ],
)
def test_runs_of_four_and_what_lies_between_them(lengths, cut, monkeypatch):
    monkeypatch.setattr(bulk_operators, "SHORTEST_RUN", 4)
    codes = [code for at, length in enumerate(lengths) for code in [PLAIN_CODE if at % 2 else OTHER_CODE] * length]
    assert [*bulk_operators.stretches(np.array(codes, np.int64))] == cut


def test_the_value_in_force_is_the_last_one_set():
    assert bulk_operators._last(np.array([-1, 3, -1, 0, -1]), 7).tolist() == [7, 3, 3, 0, 0]
    assert bulk_operators._last(np.array([], int), 7).tolist() == []
    assert bulk_colours._in_force(np.array([-1, 2, -1, 1, -1])).tolist() == [0, 2, 2, 1, 1]


@pytest.mark.parametrize(
    ("drawn", "painters", "open_", "begins"),
    [
        ([-1, 10, 20], [1, 2], -1, [10, 20]),
        ([10, -1, 30, 40], [1, 3], -1, [10, 30]),  # construction on either side of a colour
        ([-1, 10, -1, -1], [1, 2, 3], -1, [10, -1, -1]),
        ([-1, 10, 20], [1, 2], 5, [5, 20]),  # a path that was begun before the run
        ([-1, -1], [1], 5, [5]),
        ([-1, -1], [1], -1, [-1]),
        ([10, -1], [], 5, []),
    ],
)
def test_a_path_begins_with_the_first_construction_since_the_last_one_was_painted(drawn, painters, open_, begins):
    found = bulk_operators._path_begins(np.array(drawn), np.array(painters, int), open_)
    assert found.tolist() == begins
