"""Heavy pages: in pieces, without what is not painted, in documents for a part of the page. Plates stay the same."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from preflight.artwork.page.page import Alteration, Page
from preflight.artwork.pdf.content.stream_content import Content, EditKind
from preflight.artwork.platemaking import derived_documents, derived_pdf, page_pieces
from preflight.artwork.platemaking.page_pieces import pieces_of
from preflight.artwork.platemaking.unpainted_bytes import EditsLeft, can_vanish
from preflight.artwork.read_artwork import ReadPage, read_artwork
from tests.drawn import MM, Drawing
from tests.random_pages import drawn
from tests.test_oracle_random import pages as random_pages

WINDOWS = [(4.0, 6.0, 14.0, 13.0), (22.0, 18.0, 34.0, 28.0)]


class Seen(NamedTuple):
    page: np.ndarray
    windows: list[np.ndarray]
    altered: np.ndarray


def seen(page: Page) -> Seen:
    windows = [page.window(box, 300, edges=edges).ink for box in WINDOWS for edges in ("smooth", "sharp")]
    without = page.altered(Alteration(left_out=(1, 4)), 200, WINDOWS[1]).ink
    return Seen(page.plates(100).ink, windows, without)


def busy(*, thin: bool) -> Drawing:
    """Fills, strokes and words in several inks, in the open and between q and Q, two forms, and a clip."""
    page = Drawing(50, 38)
    width = 0.2 if thin else 4
    form = page.form(f"0 0 0 1 k 0 0 20 20 re f {width} w 1 0 0 0 K 0 0 m 20 20 l S", bbox_mm=(0, 0, 8, 8))
    for i in range(60):
        x, y = 3 + i % 10 * 4.4, 3 + i // 10 * 5.5
        ink = [(0.1, 0.6, 0.9, 0), (0.8, 0, 0.2, 0), "Leaf", (0, 0, 0, 1)][i % 4]
        page.fill(ink, rect=(x, y, x + 3, y + 2))  # type: ignore[arg-type]
        if i % 5 == 0:
            page.raw("q").gs(OP=True, op=True, OPM=1)
            page.stroke((0, 0, 0, 1), [(x, y), (x + 3, y + 3)], width_mm=width / 10)
            page.text("oat", (x, y + 2), 5, ink="Leaf").raw("Q")
        if i % 7 == 0:
            page.raw(f"q 1 0 0 1 {x * MM} {y * MM} cm /{form} Do Q")
        if i == 30:
            page.raw(f"q {2 * MM} {2 * MM} {30 * MM} {25 * MM} re W n")
    page.raw("Q 0 0.4 0 0 k 1 0 0 0 K 3 w")
    page.raw(f"{5 * MM} {30 * MM} {30 * MM} {4 * MM} re B")
    return page


@pytest.mark.parametrize("thin", [True, False])
def test_pieces_and_parts_of_the_page_give_the_same_plates(thin, tmp_path, monkeypatch):
    path = busy(thin=thin).save(tmp_path / "art.pdf")
    usual = seen(read_artwork(path).pages[0])
    monkeypatch.setattr(page_pieces, "PIECE_BYTES", 400)
    monkeypatch.setattr(derived_documents, "_LARGE_BYTES", 100)
    page = read_artwork(path).pages[0]
    assert isinstance(page, ReadPage)
    heavy = seen(page)
    assert page.separator is not None
    kept = page.separator._derived._kept
    assert any(key.window_mm is not None for key in kept) == thin
    assert (heavy.page == usual.page).all()
    assert (heavy.altered == usual.altered).all()
    assert all((one == other).all() for one, other in zip(heavy.windows, usual.windows, strict=True))


def test_random_drawings_stay_the_same(tmp_path, monkeypatch):
    """This test ensures that nothing vanishes, and no piece begins, where that changes a pixel."""
    paths = [drawn(page).save(tmp_path / f"{at}.pdf") for at, page in enumerate(random_pages()[:40])]
    usual = [read_artwork(path).pages[0].plates(100).ink for path in paths]
    monkeypatch.setattr(page_pieces, "PIECE_BYTES", 300)
    for path, ink in zip(paths, usual, strict=True):
        assert (read_artwork(path).pages[0].plates(100).ink == ink).all(), path.name
    monkeypatch.setattr(page_pieces, "PIECE_BYTES", 9_000_000)
    monkeypatch.setattr(EditsLeft, "without_rows", lambda left, content, gone: left)
    for path, ink in zip(paths, usual, strict=True):
        assert np.abs(read_artwork(path).pages[0].plates(100).ink.astype(int) - ink).max() <= 1, path.name


def content_of(page: Drawing, tmp_path) -> Content:
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    assert isinstance(read, ReadPage)
    assert read.separator is not None
    return read.separator.page_content.stream


def left_of(content: Content, *loud: list[int]) -> bytes:
    """What is left of a stream of which only some rows are painted; in steps, at each of which some are."""
    left = EditsLeft(content.edits, can_vanish(content))
    for painted in loud:
        gone = np.ones(len(content.painted) + 1, bool)
        gone[painted] = False
        left = left.without_rows(content, gone)
    out, at = [], 0
    for start, end, kind, *_ in left.edits.tolist():
        if kind == EditKind.DROP:
            out.append(content.data[at:start])
            at = end
    return b" ".join([*out, content.data[at:]]).strip()


@pytest.mark.parametrize(
    ("words", "loud", "left"),
    [
        ("1 0 0 0 k 0 0 9 9 re f 0 1 0 0 k 9 9 9 9 re f", [1], "0 1 0 0 k 9 9 9 9 re f"),
        ("1 0 0 0 k 0 0 9 9 re f 9 9 9 9 re f", [1], "1 0 0 0 k  9 9 9 9 re f"),
        ("q 2 w 0 0 m 9 9 l S Q 0 0 9 9 re f", [1], "0 0 9 9 re f"),
        ("q 2 w q 0 0 m 9 9 l S Q 1 0 0 1 5 5 cm 0 0 9 9 re f Q", [1], "q 2 w  1 0 0 1 5 5 cm 0 0 9 9 re f Q"),
        ("0 0 9 9 re W f 0 0 5 5 re f", [1], "0 0 9 9 re W f 0 0 5 5 re f"),
        ("q 0 0 9 9 re W f Q 0 0 5 5 re f", [1], "0 0 5 5 re f"),
        ("0 0 9 9 re f Q 0 0 5 5 re f", [1], "Q 0 0 5 5 re f"),
    ],
    ids=["colour", "colour that is used", "between q and Q", "within q and Q", "clip", "clip between q and Q", "odd Q"],
)  # fmt: skip
def test_what_vanishes_takes_nothing_along(words, loud, left, tmp_path):
    page = Drawing(50, 38).raw(words)
    assert left_of(content_of(page, tmp_path), loud).split() == left.encode().split()


@pytest.mark.parametrize(
    ("behind", "vanishes"),
    [("ET", True), ("0 -9 Td (b) Tj ET", True), ("T* (b) Tj ET", True), ("1 0 0 1 5 5 Tm (b) Tj ET", True),
     ("(b) Tj ET", False), ("2 Tr (b) Tj ET", False), ("[(b)] TJ ET", False)],
)  # fmt: skip
def test_text_stays_where_other_text_goes_on_behind_it(behind, vanishes, tmp_path):
    page = busy(thin=False).raw(f"BT /F0 9 Tf 9 9 Td 12 TL (a) Tj {behind}")
    content = content_of(page, tmp_path)
    first = int(np.flatnonzero(content.edits[:, 0] == content.data.rindex(b"(a) Tj"))[0])
    assert can_vanish(content)[first] == vanishes


def test_what_is_filled_and_stroked_at_once_stays_in_one_piece(tmp_path, monkeypatch):
    page = Drawing(50, 38)
    for i in range(30):
        page.raw(f"{i} {i} 9 9 re B")
    content = content_of(page, tmp_path)
    monkeypatch.setattr(page_pieces, "PIECE_BYTES", 60)
    parts = [part.rows for part in pieces_of(content) if part is not None]
    assert len(parts) > 5
    assert (np.sum(parts, axis=0) == 1).all()
    assert all((rows[0::2] == rows[1::2]).all() for rows in parts)


def test_colours_are_written_as_levels():
    colours = derived_pdf.PlainColours(np.array([[255, 0, 128], [0, 0, 0]], np.uint8))
    assert colours[0] == b"1.0000 0.0000 0.5020"
    assert colours.setting(np.array([1, 1]), b"rg") == {1: b" 0.0000 0.0000 0.0000 rg "}
