"""Many plates in one channel come out as each of them in a channel of its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.objects import Box
from preflight.artwork.platemaking import packing
from preflight.artwork.plates import Plates
from preflight.artwork.reading import ReadPage, read_artwork
from preflight.errors import NotMeasured
from tests.drawn import Drawing
from tests.plate_drawings import ON, device_n, embed_font, rect

COUNT = 70
SIDE_MM, PITCH_MM, ACROSS = 6, 8, 10
PAGE: Box = (0, 0, 90, 70)


def place(number: int) -> tuple[float, float]:
    return 3 + number % ACROSS * PITCH_MM, 3 + number // ACROSS * PITCH_MM


def swatch(number: int, *, wider_mm: float = 0.0) -> tuple[float, float, float, float]:
    x, y = place(number)
    return (x, y, x + SIDE_MM + wider_mm, y + SIDE_MM)


def shade(number: int) -> str:
    return f"Shade {number + 1}"


def book(*, wider_mm: float = 0.0) -> Drawing:
    page = Drawing(PAGE[2], PAGE[3])
    for number in range(COUNT):
        page.fill(shade(number), 0.2 + number / 100, rect=swatch(number, wider_mm=wider_mm))
    return page


def overlapping() -> Drawing:
    """Two knock-out swatches over others, one that overprints, and one at nought."""
    page = book()
    x, y = place(11)
    page.fill("Late", 0.9, rect=(x + 3, y + 3, x + 12, y + 12)).fill("Nought", 0, rect=(x + 20, y, x + 30, y + 4))
    return page.gs(**ON).fill("Over", 0.6, rect=(3, 3, 40, 6)).fill((0.5, 0, 0, 0), rect=(50, 0, 60, 70))


def on_a_ground() -> Drawing:
    page = Drawing(PAGE[2], PAGE[3]).fill((0.3, 0.2, 0, 0.1), rect=PAGE)
    for number in range(COUNT):
        page.fill(shade(number), 0.7, rect=swatch(number))
    return page


def with_marks() -> Drawing:
    """Registration marks at the rim, where no swatch is, and one over a swatch."""
    page = book()
    page.fill("All", 1, rect=(85, 1, 89, 5)).fill("All", 0.5, rect=(1, 65, 5, 69))
    x, y = place(35)
    return page.fill("All", 1, rect=(x + 1, y + 1, x + 3, y + 3))


def with_a_shading() -> Drawing:
    page = book()
    device_n(page, "Two", [shade(3), shade(4)])
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array([0, 0.2]), C1=Array([1, 0.9]))
    page.resources.Shading.Fade = Dictionary(
        ShadingType=2, ColorSpace=page.resources.ColorSpace.Two, Coords=Array([0, 0, 255, 0]), Function=function
    )
    return page.raw(f"q {rect(3, 60, 80, 68)} W n /Fade sh Q")


def with_text_and_lines() -> Drawing:
    page = book()
    embed_font(page)
    page.colour(shade(5), 1).raw("BT /F0 20 Tf 20 175 Td (Wide) Tj ET")
    return page.colour(shade(6), 1, stroke=True).raw("0.3 w 10 10 m 200 190 l S")


PAGES = {
    "apart": book,
    "touching": lambda: book(wider_mm=PITCH_MM - SIDE_MM),
    "overlapping": overlapping,
    "on a ground": on_a_ground,
    "registration marks": with_marks,
    "a shading in two of them": with_a_shading,
    "text and lines": with_text_and_lines,
}


def read(drawing: Drawing, folder: Path) -> ReadPage:
    page = read_artwork(drawing.save(folder / "art.pdf")).pages[0]
    assert isinstance(page, ReadPage)
    return page


def renderings(page: ReadPage) -> int:
    assert page.separator is not None
    return len(page.separator._renderings)


@pytest.mark.parametrize("dpi", [50, 200])
@pytest.mark.parametrize("name", PAGES)
def test_packed_plates_are_as_plates_by_themselves(tmp_path, monkeypatch, name, dpi):
    packed = read(PAGES[name](), tmp_path)
    ours = packed.window(PAGE, dpi)
    monkeypatch.setattr("preflight.artwork.platemaking.separator.PACK_FROM", 1000)
    single = read(PAGES[name](), tmp_path)
    usual = single.window(PAGE, dpi)
    assert renderings(packed) < renderings(single)
    assert ours.names == usual.names
    assert int(np.abs(ours.ink.astype(int) - usual.ink).max()) <= 1


def at(plates: Plates, name: str, x: float, y: float) -> float:
    column, row = plates.to_px(np.array([[x, y]]))[0].astype(int)
    return float(plates.tint(name)[row, column]) / 255


def test_swatches_apart_take_one_rendering_and_keep_their_tints(tmp_path):
    page = read(book(), tmp_path)
    plates = page.plates(100)
    assert renderings(page) == 1
    for number in range(COUNT):
        x, y = place(number)
        assert at(plates, shade(number), x + 3, y + 3) == pytest.approx(0.2 + number / 100, abs=0.004)
        other = place((number + 1) % COUNT)
        assert at(plates, shade(number), other[0] + 3, other[1] + 3) == 0


def test_what_lies_over_a_swatch_knocks_out_or_does_not(tmp_path):
    plates = read(overlapping(), tmp_path).plates(100)
    x, y = place(11)
    assert at(plates, shade(11), x + 1, y + 1) == pytest.approx(0.31, abs=0.004)
    assert (at(plates, shade(11), x + 4, y + 4), at(plates, "Late", x + 4, y + 4)) == (0, pytest.approx(0.9, abs=0.004))
    assert at(plates, shade(2), place(2)[0] + 3, 5) == pytest.approx(0.22, abs=0.004)
    assert at(plates, "Over", place(2)[0] + 3, 5) == pytest.approx(0.6, abs=0.004)


def test_a_window_of_a_packed_page(tmp_path):
    page = read(book(), tmp_path)
    x, y = place(44)
    window = page.window((x - 1, y - 1, x + 7, y + 7), 600)
    covered = (window.tint(shade(44)) > 0).mean()
    assert covered == pytest.approx(SIDE_MM**2 / 64, abs=0.01)
    assert not any(window.tint(shade(n)).any() for n in range(COUNT) if n != 44)


def test_plates_close_to_each_other_do_not_share_a_channel():
    boxes = {"A": np.array([[0, 0, 5, 5.0]]), "B": np.array([[5.9, 0, 9, 5.0]]), "C": np.array([[20, 0, 25, 5.0]])}
    marks = np.zeros((0, 4))
    assert packing.pack(["A", "B", "C"], boxes, marks) == [("A", "C"), ("B",)]
    assert packing.pack(["A", "C"], boxes, np.array([[24, 4, 30, 30.0]])) == [("A",), ("C",)]


def test_more_plates_than_any_press_are_not_measured(tmp_path, monkeypatch):
    monkeypatch.setattr("preflight.artwork.platemaking.separator.MOST_PLATES", COUNT - 1)
    with pytest.raises(NotMeasured, match="70 separations"):
        read(book(), tmp_path).plates(100)


def test_a_type_3_font_may_draw_anywhere(tmp_path):
    page = book()
    page.resources.Font.T3 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1, 1]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
        CharProcs=Dictionary(a=page.pdf.make_stream(b"1 0 0 0 1 1 d1 5 5 2 2 re f")), FirstChar=97, LastChar=97,
        Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])), Widths=Array([1]),
        Resources=Dictionary(),
    )  # fmt: skip
    page.colour(shade(0), 1).raw("BT /T3 12 Tf 20 20 Td (a) Tj ET")
    plates = read(page, tmp_path).plates(100)
    mm = 25.4 / 72
    assert at(plates, shade(0), (20 + 72) * mm, (20 + 72) * mm) == 1
