"""Which bytes vanish with what is not painted, and which have to stay."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.pdf.content.stream_content import EditKind
from preflight.artwork.platemaking.unpainted_bytes import can_vanish
from tests.drawn import Drawing
from tests.test_heavy_pages import content_of, left_of

A, B, C = "0 0 9 9 re f", "1 2 9 9 re f", "3 4 9 9 re f"


@pytest.mark.parametrize(
    ("words", "loud", "left"),
    [
        (f"{A} {B} {C}", [2], C),
        (f"{A} {B} {C}", [0], A),
        (f"{A} {B} {C}", [1], B),
        (f"{A} {B} {C}", [0, 2], f"{A} {C}"),
        (f"{A}\r\n{B}\r\n{C}", [2], C),
        (f"{A} {B} {C}", [], ""),
        (f"{A} {B} {C}", [0, 1, 2], f"{A} {B} {C}"),
        # colours that something else needs
        (f"1 0 0 0 k 0 1 0 0 K {A} 0 0 1 0 k {B}", [1], f"1 0 0 0 k 0 1 0 0 K 0 0 1 0 k {B}"),
        (f"1 0 0 0 k {A} 0 0 1 0 K {B}", [1], f"1 0 0 0 k 0 0 1 0 K {B}"),
        ("1 0 0 0 K 0 0 9 9 re B 0 0 1 0 K 2 2 9 9 re B", [2], "0 0 1 0 K 2 2 9 9 re B"),
        (f"1 0 0 0 k {A} {B} 0 0 1 0 k {C}", [2], f"0 0 1 0 k {C}"),
        (f"1 0 0 0 k {A} 0 1 0 0 k {B} 0 0 1 0 k {C}", [2], f"0 0 1 0 k {C}"),
        (f"1 0 0 0 k {A} 0 1 0 0 k {B}", [], "0 1 0 0 k"),
        # other operators between them
        (f"1 0 0 0 k 5 w {A} 0 0 1 0 k {B}", [1], f"1 0 0 0 k 5 w 0 0 1 0 k {B}"),
        (f"1 0 0 0 k {A} 5 w 0 0 1 0 k {B}", [1], f"1 0 0 0 k 5 w 0 0 1 0 k {B}"),
        (f"{A} 5 w {B} 6 w {C}", [2], f"5 w 6 w {C}"),
        # from q to Q
        (f"q {A} Q q {B} Q {C}", [2], C),
        (f"q {A} Q q {B} Q {C}", [1, 2], f"q {B} Q {C}"),
        (f"q {A} Q q {B} Q {C}", [0, 2], f"q {A} Q {C}"),
        (f"q 5 w q {A} Q q {B} Q Q {C}", [2], C),
        (f"q 5 w q {A} Q 6 w q {B} Q Q {C}", [1, 2], f"q 5 w 6 w q {B} Q Q {C}"),
        (f"q 5 w Q {A} {B}", [1], f"q 5 w Q {B}"),
        (f"1 0 0 0 k q 5 w {A} Q {B} q {C} Q", [1], f"1 0 0 0 k {B}"),
        (f"{A} q {B} Q", [], ""),
        # fill and stroke
        (f"0 0 9 9 re B {C}", [2], C),
    ],
)
def test_what_is_not_painted_vanishes_and_nothing_else(words, loud, left, tmp_path):
    content = content_of(Drawing(50, 38).raw(words), tmp_path)
    assert left_of(content, loud).split() == left.encode().split()
    for other in range(len(content.painted)):  # first what no rendering of a document paints, then what one does not
        assert left_of(content, [*loud, other], loud).split() == left.encode().split()


@pytest.mark.parametrize(
    ("words", "vanish"),
    [
        (f"{A} {B}", [True, True]),
        (f"0 0 9 9 re W* f {A}", [False, True]),
        (f"{A} 0 0 9 9 re W f {B}", [True, False, True]),
        (f"0 0 9 9 re W B {A}", [False, True]),
    ],
)
def test_a_path_that_clips_cannot_vanish(words, vanish, tmp_path):
    content = content_of(Drawing(50, 38).raw(words), tmp_path)
    assert can_vanish(content)[content.edits[:, 2] == EditKind.PAINT].tolist() == vanish


@pytest.mark.parametrize(
    ("behind", "vanishes"),
    [
        ("ET", True), ("\nET", True), ("  ET", True), ("\r\nET", True),
        ("5 0 Td (b) Tj ET", True), ("-5 .5 TD (b) Tj ET", True), ("1 0 0 1 5 5 Tm (b) Tj ET", True),
        ("T* (b) Tj ET", True),
        ("0 g (b) Tj ET", False), ("5 Tc ET", False), ("5 Tr T* (b) Tj ET", False),
    ],
)  # fmt: skip
@pytest.mark.parametrize("shown", ["(a) Tj", "[(a) 5] TJ"])
def test_text_can_vanish_where_what_follows_is_placed_anew(shown, behind, vanishes, tmp_path):
    page = Drawing(50, 38).text("o", (5, 5), 9).raw(f"BT /F0 9 Tf 9 9 Td 12 TL {shown} {behind}")
    content = content_of(page, tmp_path)
    at = int(np.flatnonzero(content.edits[:, 0] == content.data.rindex(shown.encode()))[0])
    assert can_vanish(content)[at] == vanishes


@pytest.mark.parametrize("shown", ["(a) '", '1 2 (a) "'])
def test_text_on_a_line_of_its_own_stays(shown, tmp_path):
    """It moves to the next line, from where others go on."""
    page = Drawing(50, 38).text("o", (5, 5), 9).raw(f"BT /F0 9 Tf 9 9 Td 12 TL {shown} ET")
    content = content_of(page, tmp_path)
    shows = content.edits[:, 2] == EditKind.SHOW
    assert can_vanish(content)[shows].tolist() == [True, False]
