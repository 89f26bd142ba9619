"""What a derived document of a page is made for, and which of them are kept."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.page.page import Alteration
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.platemaking import derived_documents as module
from preflight.artwork.platemaking.derived_documents import AS_IT_IS, Halves
from preflight.artwork.platemaking.derived_pdf import Missing
from preflight.artwork.platemaking.renderings import Rendering
from tests.drawn import MM, Drawing
from tests.test_shared_channels import read

WINDOW = (10.0, 25.0, 16.0, 29.0)


def derived_of(page: Drawing, tmp_path) -> Any:
    separator = read(page, tmp_path).separator
    assert separator is not None
    return separator._derived


def plain() -> Drawing:
    return Drawing(90, 60).fill((1, 0, 0, 0), rect=(10, 5, 25, 15)).fill("Leaf", 0.5, rect=(30, 20, 50, 38))


def fit(derived: Any, dpi: float = 100, box=None, alteration: Alteration = AS_IT_IS) -> Any:
    return derived._fit(dpi, frozenset(), alteration, (), box or derived._page_mm)


def test_a_page_without_thin_strokes_is_derived_once_for_all_resolutions(tmp_path):
    derived = derived_of(plain(), tmp_path)
    key = fit(derived)
    assert (key.strokes_dpi, key.images_dpi, key.window_mm) == (None, None, None)
    assert fit(derived, 600, WINDOW) == key


@pytest.mark.parametrize(("dpi", "expected"), [(101, 101), (102, None)])
def test_strokes_under_a_pixel_are_derived_for_their_resolution(tmp_path, dpi, expected):
    """A pixel of 0.25 mm is 101.6 dpi."""
    page = plain().stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.25).stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.7)
    assert fit(derived_of(page, tmp_path), dpi).strokes_dpi == expected


def in_a_cell(page: Drawing) -> None:
    page.resources.Pattern.P = page.pdf.make_stream(
        b"0 0 0 1 K 9 w 0 0 m 9 9 l S",
        Dictionary(
            PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9, Resources=Dictionary()
        ),
    )
    page.raw("/Pattern cs /P scn 0 0 50 50 re f")


def with_cells(page: Drawing) -> None:
    in_a_cell(page)
    page.resources.Pattern.P.write(b"0 0 0 1 k 0 0 5 5 re f")
    page.raw("/Pattern CS /P SCN 20 w 0 0 m 90 90 l S")


@pytest.mark.parametrize(
    ("draw", "expected"),
    [
        (lambda page: page.stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.4).stroke("Leaf", [(5, 9), (9, 9)]), 0.25),
        (lambda page: page.stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.4), 0.4),
        (lambda page: page.raw("q 1 0 0 3 0 0 cm 2 w 0 0 m 9 9 l S Q"), 2 / MM),
        (lambda page: page.stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.4).stroke("Leaf", [(99, 5), (98, 9)]), 0.4),
        (lambda page: page.colour("Leaf", stroke=True).text("oat", (5, 5), 9).raw("BT /F0 9 Tf 1 Tr (o) Tj ET"), 0),
        (in_a_cell, 0),
        (with_cells, 0),
        (lambda page: page.fill("Leaf", rect=(1, 1, 2, 2)), np.inf),
        (lambda page: page.stroke("None", [(5, 5), (20, 9)]), 0.25),  # it knocks nothing out, and is looked at
    ],
    ids=["two", "one", "two widths", "off the page", "type", "in a cell", "of cells", "none", "None"],
)
def test_the_thinnest_stroke_that_a_plate_sees(tmp_path, draw, expected):
    page = plain()
    draw(page)
    assert derived_of(page, tmp_path)._thinnest_mm == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ((10, 25, 16, 29), (-20, 0, 50, 60)),  # in the field from 0, 20 to 30, 40; 20 mm more on each side
        ((28, 17, 34, 25), (10, 0, 80, 60)),
        ((80, 2, 89, 9), (40, -20, 110, 40)),
        ((31, 22, 71, 23), (10, 0, 80, 60)),  # 40 wide
        ((31, 22, 72, 23), (-10, 0, 100, 60)),
        ((25, 21, 35, 62), (10, 0, 80, 100)),
    ],
)
def test_windows_of_a_heavy_page_share_the_field_that_their_middle_lies_in(tmp_path, monkeypatch, box, expected):
    monkeypatch.setattr(module, "_FIELDS", 3)
    monkeypatch.setattr(module, "_GROWN_BY_MM", 20.0)
    assert derived_of(plain(), tmp_path)._region(box) == pytest.approx(expected, abs=1e-6)


def pictures() -> Drawing:
    """Two pictures of 120 and 30 samples, the first twice, and a stencil."""
    page = plain().image(bytes(4 * 120), 12, 10, (10, 10, 35.4, 35.4)).image(bytes(4 * 30), 6, 5, (40, 10, 65.4, 35.4))
    page.raw(f"q {50.8 * MM} 0 0 {12.7 * MM} 20 20 cm /Im0 Do Q")
    return page.image(bytes(2), 4, 2, (1, 1, 9, 9), space=None, bits=1, ImageMask=True)


@pytest.mark.parametrize(("most", "many"), [(149, True), (150, False)])
def test_pictures_are_many_samples_by_what_they_have_in_all(tmp_path, monkeypatch, most, many):
    """Each picture once, and stencils not at all."""
    page = pictures()
    monkeypatch.setattr(module, "MOST_SAMPLES_KEPT", most)
    derived = derived_of(page, tmp_path)
    assert derived.many_samples == many
    key = fit(derived, 100)
    assert (key.strokes_dpi, key.images_dpi) == ((100, 100) if many else (None, None))


def test_a_picture_has_to_do_for_its_coarsest_placing(tmp_path):
    """12 samples over an inch and over two; 5 over an inch; the stencil 2 over 8 mm."""
    page = pictures()
    assert sorted(derived_of(page, tmp_path)._image_ppi().values()) == pytest.approx([5, 6, 6.35], abs=0.01)


def test_large_pictures_are_had_in_parts_for_windows(tmp_path, monkeypatch):
    page = plain().image(bytes(4 * 120), 12, 10, (10, 10, 35.4, 35.4))
    monkeypatch.setattr(module, "MOST_SAMPLES_KEPT", 119)
    derived = derived_of(page, tmp_path)
    assert fit(derived, 100).window_mm is None
    assert fit(derived, 100, WINDOW).window_mm == WINDOW
    monkeypatch.setattr(module, "HEAVY_BYTES", derived._content_bytes)
    assert fit(derived, 100, WINDOW).window_mm == WINDOW
    monkeypatch.setattr(module, "HEAVY_BYTES", derived._content_bytes - 1)
    assert fit(derived, 100, WINDOW).window_mm == derived._region(WINDOW) != WINDOW


def test_heavy_content_with_thin_strokes_is_had_in_parts(tmp_path, monkeypatch):
    thin = plain().stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.25)
    derived = derived_of(thin, tmp_path)
    monkeypatch.setattr(module, "_LARGE_BYTES", derived._content_bytes - 1)
    assert derived_of(thin, tmp_path)._parts_content
    assert not derived_of(plain().stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.26), tmp_path)._parts_content
    monkeypatch.setattr(module, "_LARGE_BYTES", derived._content_bytes)
    assert not derived_of(thin, tmp_path)._parts_content


@pytest.mark.parametrize(
    ("heavy", "samples", "in_window", "pays"),
    [
        (False, False, False, False),
        (True, False, False, True),
        (False, True, False, True),
        (False, True, True, False),
        (True, False, True, True),
    ],
)
def test_when_a_second_process_pays(tmp_path, monkeypatch, heavy, samples, in_window, pays):
    monkeypatch.setattr(module, "can_fork", lambda: True)
    monkeypatch.setattr(module, "MOST_SAMPLES_KEPT", 119 if samples else 120)
    derived = derived_of(plain().image(bytes(4 * 120), 12, 10, (10, 10, 35.4, 35.4)), tmp_path)
    monkeypatch.setattr(module, "HEAVY_BYTES", derived._content_bytes - heavy)
    assert derived._pays_to_fork(in_window=in_window) == pays
    monkeypatch.setattr(module, "can_fork", lambda: False)
    assert not derived._pays_to_fork(in_window=in_window)


class Closing:
    """Stands for a document, and notes that it was closed."""

    def __init__(self, key: Any, closed: list[Any]) -> None:
        self.key, self.closed = key, closed

    def close(self) -> None:
        self.closed.append(self.key)


def crowded(derived: Any, *keys: Any) -> list[Any]:
    """Keep these one after the other; which were closed meanwhile."""
    closed = list[Any]()
    for key in keys:
        derived._make_room(key)
        derived._kept[key] = Closing(key, closed)
    return closed


def test_three_documents_of_each_sort_are_kept(tmp_path):
    derived = derived_of(plain(), tmp_path)
    pages = [fit(derived)._replace(strokes_dpi=dpi) for dpi in (1.0, 2.0, 3.0, 4.0)]
    altered = [key._replace(alteration=Alteration(left_out=(1,))) for key in pages]
    assert crowded(derived, *pages[:3], *altered[:3]) == []
    assert crowded(derived, pages[3]) == []  # closed are those of before, which note it
    assert list(derived._kept) == [*pages[1:3], *altered[:3], pages[3]]


def test_one_document_of_a_large_page_is_kept(tmp_path, monkeypatch):
    derived = derived_of(plain(), tmp_path)
    monkeypatch.setattr(module, "_LARGE_BYTES", derived._content_bytes - 1)
    pages = [fit(derived)._replace(strokes_dpi=dpi) for dpi in (1.0, 2.0)]
    assert crowded(derived, *pages) == [pages[0]]
    windows = [pages[0]._replace(window_mm=(0, 0, at, 9)) for at in (1, 2, 3, 4)]
    derived._kept.clear()
    assert crowded(derived, *windows[:3]) == []
    assert crowded(derived, windows[3]) == []
    assert list(derived._kept) == windows[1:]


def test_a_window_drives_out_the_page(tmp_path):
    derived = derived_of(plain(), tmp_path)
    page = fit(derived)
    window = page._replace(window_mm=WINDOW)
    assert crowded(derived, page, window) == [page]
    assert list(derived._kept) == [window]


def test_rows_of_the_page_by_their_streams(tmp_path):
    page = Drawing(90, 60)
    form = page.form("0 0 0 1 k 0 0 9 9 re f 9 9 9 9 re f", bbox_mm=(0, 0, 90, 60))
    page.fill("Leaf", rect=(1, 1, 5, 5)).raw(f"/{form} Do").fill("Leaf", rect=(9, 9, 15, 15))
    derived = derived_of(page, tmp_path)
    found = {number: rows.tolist() for number, rows in derived._local((0, 2, 3)).items()}
    assert sorted(found.values()) == [[0, 1], [1]]
    assert found[derived.page_content.stream.number] == [0, 1]
    assert derived._local(()) == {}


def test_a_picture_that_cannot_be_had_in_parts_counts_as_a_whole(tmp_path, monkeypatch):
    """A soft mask with samples that never come out with the picture's."""
    page = plain().image(bytes(4 * 130), 13, 10, (10, 10, 35.4, 35.4))
    page.resources.XObject.Im0.SMask = page.pdf.make_stream(
        bytes(97 * 89), Type=Name.XObject, Subtype=Name.Image, Width=97, Height=89, BitsPerComponent=8,
        ColorSpace=Name.DeviceGray,
    )  # fmt: skip
    monkeypatch.setattr(module, "MOST_SAMPLES_KEPT", 129)
    derived = derived_of(page, tmp_path)
    assert derived._parts.samples_left() == 130
    assert not derived._had_in_parts
    assert fit(derived, 100, WINDOW).window_mm is None


class Half:
    """Stands for a document here or in the second process: what it draws says what it was asked for."""

    def __init__(self, name: str) -> None:
        self.name, self.asked, self.closed = name, list[Any](), 0

    def render(self, *asked: object, sharp: bool = False) -> Any:
        self.asked.append((*asked, sharp))
        return (self.name, asked[0])

    def ask(self, *asked: object, sharp: bool = False) -> int:
        self.asked.append((*asked, sharp))
        return 70 + int(asked[0])  # type: ignore[call-overload, no-any-return]

    def answer(self, question: int) -> Any:
        place = UncertainPlace("lost", (1, 2, 3, 4)) if question == 71 else UncertainPlace("odd", (5, 6, 7, 8))
        return (self.name, question), [place]

    def close(self) -> None:
        self.closed += 1


def test_both_halves_draw_all_that_is_asked_for():
    here, there = Half("here"), Half("there")
    first, second, third = (Rendering(((name,),)) for name in ("Cyan", "Leaf", "Gold"))
    halves: Any = Halves(here, [first], there, [second, third], [UncertainPlace("odd", (5, 6, 7, 8))])  # type: ignore[arg-type]
    found = list(halves.render(IDENTITY, 30, 20, sharp=True))
    assert found == [(first, ("here", 0)), (second, ("there", 70)), (third, ("there", 71))]
    assert here.asked == [(0, IDENTITY, 30, 20, True)]
    assert there.asked == [(0, IDENTITY, 30, 20, True), (1, IDENTITY, 30, 20, True)]
    assert [place.because for place in halves.uncertain] == ["odd", "lost"]
    list(halves.render(IDENTITY, 30, 20))
    assert here.asked[-1][-1] is False
    assert there.asked[-1][-1] is False
    halves.end()
    assert (here.closed, there.closed) == (0, 1)
    halves.close()
    assert (here.closed, there.closed) == (1, 2)


def test_one_half_draws_all_where_there_is_no_other():
    here = Half("here")
    renderings = [Rendering((("Cyan",),)), Rendering((("Leaf",),))]
    halves: Any = Halves(here, renderings, None, [])  # type: ignore[arg-type]
    assert [channels for _, channels in halves.render(IDENTITY, 30, 20)] == [("here", 0), ("here", 1)]
    halves.close()
    assert here.closed == 1


def test_closing_a_page_ends_its_second_processes_and_keeps_other_documents(tmp_path):
    derived = derived_of(plain(), tmp_path)
    keys = [fit(derived)._replace(strokes_dpi=dpi) for dpi in (1.0, 2.0)]
    here, there = Half("here"), Half("there")
    derived._kept = {keys[0]: Halves(here, [], None, []), keys[1]: Halves(here, [], there, [])}  # type: ignore[arg-type]
    derived.close()
    assert list(derived._kept) == [keys[0]]
    assert (here.closed, there.closed) == (0, 1)


def test_a_document_is_made_once_for_what_is_asked(tmp_path):
    page = plain().stroke("Leaf", [(5, 5), (20, 9)], width_mm=0.25)
    derived = derived_of(page, tmp_path)
    renderings = [Rendering((("Cyan",), ("Leaf",)))]
    asked: Any = (renderings, 100.0, frozenset(), AS_IT_IS, derived._page_mm)
    first = derived.get(*asked)
    assert derived.get(*asked) is first
    assert derived.get(renderings, 200.0, *asked[2:]) is not first
    assert derived.get(renderings, 100.0, frozenset({"Leaf"}), *asked[3:]) is not first
    assert derived.get(renderings, 100.0, frozenset(), Alteration(left_out=(0,)), derived._page_mm) is not first


def test_thin_strokes_are_as_faint_as_the_resolution_makes_them(tmp_path):
    """0.254 mm are half a pixel at 50 dpi and a whole one at 100."""
    page = Drawing(90, 60).stroke("Leaf", [(20.3, 5), (20.3, 50)], width_mm=0.254, close=False)
    plates = [read(page, tmp_path).window((10, 10, 40, 40), dpi).tint("Leaf") for dpi in (50, 100, 400)]
    for tint, dpi in zip(plates, (50, 100, 400), strict=True):
        width_mm = tint[len(tint) // 2].sum() / 255 * 25.4 / dpi
        assert width_mm == pytest.approx(0.254, abs=0.02)


def test_where_something_could_not_be_written_is_told_by_its_row_or_its_colour(tmp_path):
    page = Drawing(90, 60)
    form = page.form("0 0 0 1 k 0 0 9 9 re f 0 0 1 0 k 20 0 9 9 re f", bbox_mm=(0, 0, 90, 60))
    page.fill("Leaf", rect=(1, 1, 5, 5)).raw(f"/{form} Do q 1 0 0 1 100 100 cm /{form} Do Q")
    derived = derived_of(page, tmp_path)
    content = derived.page_content.stream.calls[0].content

    def places(**keys: Any) -> list[tuple[float, ...]]:
        found = [place.box_mm for place in derived._places(Missing("lost", content, **keys))]
        return sorted(tuple(round(v * MM) for v in box) for box in found)

    assert places(row=1) == [(20, 0, 29, 9), (120, 100, 129, 109)]
    assert places(colour=int(content.colour[0])) == [(0, 0, 9, 9), (100, 100, 109, 109)]
    assert len(places()) >= 2
    assert derived._places(Missing("lost", content, masked=True)) == []
    assert {place.because for place in derived._places(Missing("lost", content))} == {"lost"}
