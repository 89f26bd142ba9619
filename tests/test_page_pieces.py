"""Heavy pages in pieces: which rows and calls are in which."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from preflight.artwork.platemaking import page_pieces
from preflight.artwork.platemaking.page_pieces import pieces_of


@pytest.fixture(autouse=True)
def _small_pieces(monkeypatch):
    monkeypatch.setattr(page_pieces, "PIECE_BYTES", 100)


def content(rows: int, length: int, strokes: tuple[int, ...] = (), calls: tuple[int, ...] = ()) -> Any:
    edits = np.full((rows, 6), -1)
    edits[: len(strokes), 4] = strokes
    return SimpleNamespace(
        painted=np.zeros(rows, np.uint8), data=b" " * length, edits=edits, calls=[SimpleNamespace(row=r) for r in calls]
    )


def pieces(*given, **keys) -> list[list[int]]:
    return [np.flatnonzero(part.rows).tolist() for part in pieces_of(content(*given), **keys) if part is not None]


@pytest.mark.parametrize(
    ("rows", "length", "left_out"), [(8, 100, 0), (0, 900, 0), (3, 400, 0), (8, 200, 4), (8, 700, 8)]
)
def test_a_page_that_is_light_or_has_few_rows_is_one_piece(rows, length, left_out):
    assert pieces_of(content(rows, length), left_out) == [None]


def test_a_heavy_page_is_cut_into_pieces_of_some_bytes():
    assert pieces(8, 101) == [[0, 1, 2, 3], [4, 5, 6, 7]]
    assert pieces(8, 300) == [[0, 1], [2, 3, 4], [5, 6, 7]]
    assert pieces(4, 400) == [[0], [1], [2], [3]]


def test_rows_that_are_not_painted_do_not_count():
    assert pieces(8, 400, left_out=4) == [[0, 1, 2, 3], [4, 5, 6, 7]]
    assert pieces(8, 400, left_out=2) == [[0, 1], [2, 3, 4], [5, 6, 7]]


def test_a_stroke_stays_with_the_fill_of_its_path():
    assert pieces(8, 200, (4,)) == [[0, 1, 2, 3, 4], [5, 6, 7]]
    assert pieces(8, 200, (5,)) == [[0, 1, 2, 3], [4, 5, 6, 7]]


def test_calls_are_painted_in_the_piece_of_the_row_that_they_stand_before():
    found = pieces_of(content(8, 300, (), (0, 1, 2, 4, 5, 8)))
    assert [sorted(part.calls) for part in found if part is not None] == [[0, 1], [2, 3], [4, 5]]
