"""Plates of a page: at which resolution, in which renderings, and of which separations."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.platemaking import separator as module
from preflight.artwork.platemaking.separator import printing_order
from preflight.errors import PageTooBig
from tests.drawn import Drawing
from tests.test_shared_channels import read

BOX = (10.0, 5.0, 40.0, 25.0)


def separator_of(page: Drawing, tmp_path) -> Any:
    found = read(page, tmp_path).separator
    assert found is not None
    return found


def two_inks() -> Drawing:
    return Drawing(60, 40).fill((1, 0, 0, 0), rect=(10, 5, 25, 15)).fill("Leaf", 0.5, rect=(30, 20, 50, 38))


def tiled(x_step: float, y_step: float, matrix: tuple[float, ...] = (1, 0, 0, 1, 0, 0)) -> Drawing:
    page = two_inks()
    page.resources.Pattern.P = page.pdf.make_stream(
        b"0 0 0 1 k 0 0 1 1 re f",
        Dictionary(
            PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 2, 2], XStep=x_step, YStep=y_step,
            Matrix=list(matrix), Resources=Dictionary(),
        ),
    )  # fmt: skip
    return page.raw("/Pattern cs /P scn 0 0 50 50 re f")


def test_process_plates_come_first_and_in_their_order():
    assert printing_order(["Leaf", "Black", "Gold", "Cyan"], ("Cyan", "Magenta", "Black")) == (
        "Cyan", "Black", "Leaf", "Gold",
    )  # fmt: skip


def test_plates_are_those_of_the_box_that_was_asked_for(tmp_path):
    plates = separator_of(two_inks(), tmp_path).render(BOX, 50.8)
    assert (plates.names, plates.box_mm, plates.dpi) == (("Cyan", "Leaf"), BOX, 50.8)
    assert plates.ink.shape == (2, 40, 60)
    cyan, leaf = (np.argwhere(plates.tint(name) > 60) for name in plates.names)
    assert (cyan.min(0).tolist(), cyan.max(0).tolist()) == ([20, 0], [39, 29])
    assert (leaf.min(0).tolist(), leaf.max(0).tolist()) == ([0, 40], [9, 59])
    assert plates.tint("Leaf")[5, 50] == pytest.approx(128, abs=1)


@pytest.mark.parametrize("dpi", [0, -72, 1200.1])
def test_resolutions_that_nobody_draws_at(tmp_path, dpi):
    with pytest.raises(ValueError, match="dpi"):
        separator_of(two_inks(), tmp_path).render(BOX, dpi)


def test_the_finest_resolution(tmp_path):
    plates = separator_of(two_inks(), tmp_path).render((10, 5, 11.27, 5.635), 1200)
    assert plates.ink.shape == (2, 30, 60)


@pytest.mark.parametrize(("bound", "per_plate"), [("MOST_PIXELS", 1), ("MOST_PLATE_BYTES", 2)])
def test_what_has_too_many_pixels_is_drawn_more_coarsely(tmp_path, monkeypatch, bound, per_plate):
    """60 x 40 pixels are 2,400."""
    page = separator_of(two_inks(), tmp_path)
    monkeypatch.setattr(module, bound, 2400 * per_plate)
    assert page.render(BOX, 50.8).dpi == 50.8
    monkeypatch.setattr(module, bound, 2400 * per_plate - 1)
    assert page.render(BOX, 50.8).dpi == pytest.approx(50.8 * 0.98, rel=2e-3)  # 59.4 x 39.6 are still 60 x 40
    monkeypatch.setattr(module, bound, 600 * per_plate)
    coarse = page.render(BOX, 50.8)
    assert coarse.dpi == pytest.approx(25.4 * 0.99)
    assert coarse.ink.shape[1:] == (20, 30)


def test_what_would_be_drawn_too_coarsely_is_too_large(tmp_path, monkeypatch):
    """24 pixels are a tenth of the resolution, 5.03 dpi; 23 of them 4.92."""
    page = separator_of(two_inks(), tmp_path)
    monkeypatch.setattr(module, "MOST_PIXELS", 24)
    assert page.render(BOX, 50.8).dpi == pytest.approx(5.0292)
    monkeypatch.setattr(module, "MOST_PIXELS", 23)
    with pytest.raises(PageTooBig):
        page.render(BOX, 50.8)


def test_as_many_plates_as_may_be(tmp_path, monkeypatch):
    page = separator_of(two_inks(), tmp_path)
    monkeypatch.setattr(module, "MOST_PLATES", 2)
    assert page.render(BOX, 50.8).names == ("Cyan", "Leaf")
    monkeypatch.setattr(module, "MOST_PLATES", 1)
    with pytest.raises(PageTooBig):
        page.render(BOX, 50.8)


def test_a_page_without_ink_has_no_plate(tmp_path):
    plates = separator_of(Drawing(60, 40), tmp_path).render(BOX, 50.8)
    assert (plates.names, plates.ink.shape, plates.uncertain) == ((), (0, 40, 60), ())


@pytest.mark.parametrize(
    ("page", "finest_pt"),
    [
        (tiled(30, 20), 20),
        (tiled(-15, 20), 15),
        (tiled(30, 20, (0.6, 0.8, -0.3, 0.4, 5, 5)), 10),
        (tiled(8, 20, (0, 2, 1, 0, 5, 5)), 16),
    ],
)
def test_the_finest_cell_is_measured_as_the_page_places_it(tmp_path, page, finest_pt):
    assert separator_of(page, tmp_path)._finest_cell_mm == pytest.approx(finest_pt * 25.4 / 72)


@pytest.mark.parametrize(
    ("dpi", "pixels", "least", "finer"),
    [
        (72, 1000, 1, 2),  # cells of 5 pixels become 10 wide
        (70, 1000, 1, 3),
        (144, 1000, 1, 1),
        (36, 1000, 1, 4),
        (10, 1000, 1, 4),
        (144, 1000, 4, 4),
        (36, 36_000_000 // 9, 1, 3),  # no more pixels than may be
        (36, 36_000_000 // 8, 1, 2),
        (36, 36_000_000, 4, 1),
        (36, 72_000_000, 4, 1),
    ],
)
def test_fine_cells_are_drawn_finer(tmp_path, dpi, pixels, least, finer):
    assert separator_of(tiled(5, 20), tmp_path)._finer(dpi, pixels, least) == finer


def test_without_cells_nothing_is_drawn_finer(tmp_path):
    page = separator_of(two_inks(), tmp_path)
    assert page._finer(10, 1000, 1) == 1
    assert page._finer(10, 1000, 4) == 4


def rendered(page: Drawing, tmp_path) -> list[list[str]]:
    return sorted(sorted(rendering.plates) for rendering in separator_of(page, tmp_path)._renderings(1.0))


def test_plates_that_overprint_parts_are_rendered_apart(tmp_path):
    page = two_inks().fill("Gold", rect=(0, 0, 5, 5))
    assert rendered(page, tmp_path) == [["Cyan", "Gold", "Leaf"]]
    page.gs(OP=True, op=True, OPM=1).fill("Gold", rect=(0, 0, 5, 5))
    assert rendered(page, tmp_path) == [["Cyan", "Leaf"], ["Gold"]]


def test_what_is_hidden_parts_nothing(tmp_path):
    page = two_inks().fill("Gold", rect=(0, 0, 5, 5)).gs(OP=True, op=True, OPM=1).layer("off", on=False)
    page.fill("Gold", rect=(0, 0, 5, 5)).end_layer()
    assert rendered(page, tmp_path) == [["Cyan", "Gold", "Leaf"]]


def test_strokes_part_by_their_own_overprint(tmp_path):
    page = two_inks().gs(OP=True, op=False, OPM=1).fill("Gold", rect=(0, 0, 5, 5))
    assert rendered(page, tmp_path) == [["Cyan", "Gold", "Leaf"]]
    page.stroke("Gold", [(9, 9), (20, 20)])
    assert rendered(page, tmp_path) == [["Cyan", "Leaf"], ["Gold"]]


@pytest.mark.parametrize(
    ("mode", "expected"),
    [
        ("Multiply", [["Black", "Leaf", "Magenta"]]),
        ("Exclusion", [["Black", "Magenta"], ["Leaf"]]),  # Normal on spots, so that these are apart
        ("Hue", [["Black"], ["Cyan", "Magenta", "Yellow"], ["Leaf"]]),
    ],
)
def test_blend_modes_part_plates(tmp_path, mode, expected):
    page = Drawing(60, 40).fill((0, 1, 0, 0), rect=(0, 0, 50, 30)).fill("Leaf", rect=(30, 20, 50, 38))
    page.gs(BM=Name("/" + mode)).fill((0, 0, 0, 0.5), rect=(10, 5, 25, 15))
    assert rendered(page, tmp_path) == expected


def test_where_overprint_parts_what_a_blend_mode_mixes_the_place_is_uncertain(tmp_path):
    page = Drawing(60, 40).fill((0, 1, 0, 0), rect=(0, 0, 50, 30)).gs(BM=Name.Hue)
    page.fill((0.5, 0, 0, 0), rect=(10, 5, 25, 15)).gs(BM=Name.Normal, OP=True, op=True, OPM=1)
    page.fill((1, 0, 0, 0), rect=(40, 5, 45, 9))
    found = separator_of(page, tmp_path)
    (place,) = found.render(BOX, 50.8).uncertain
    assert place.box_mm == pytest.approx((10, 5, 25, 15), abs=0.01)
    assert found.render((26, 5, 40, 25), 50.8).uncertain == ()


def test_registration_colour_marks_what_gets_ink_of_its_own(tmp_path):
    page = two_inks().fill("Gold", 0, rect=(0, 0, 5, 5)).fill("All", rect=(50, 1, 52, 3))
    plates = separator_of(page, tmp_path).render((0, 0, 60, 40), 50.8)
    row, column = (40 - 2) * 2, 51 * 2
    assert {name: int(plates.tint(name)[row, column]) for name in plates.names} == {"Cyan": 255, "Leaf": 255, "Gold": 0}


def packed(tmp_path, monkeypatch) -> Any:
    """Three swatches apart, and one ink all over the page."""
    monkeypatch.setattr(module, "PACK_FROM", 3)
    page = Drawing(60, 40).fill((0.2, 0, 0, 0), rect=(0, 0, 60, 40))
    for name, x in (("Leaf", 5), ("Gold", 25), ("Rust", 45)):
        page.fill(name, 0.5, rect=(x, 10, x + 8, 20))
    return separator_of(page, tmp_path)


def test_of_plates_that_share_channels_a_window_has_those_that_are_near(tmp_path, monkeypatch):
    page = packed(tmp_path, monkeypatch)
    assert page.render((0, 0, 60, 40), 50.8).names == ("Cyan", "Leaf", "Gold", "Rust")
    found = page.render((26, 11, 30, 13), 100)
    assert found.names == ("Cyan", "Gold")
    assert found.tint("Gold") == pytest.approx(128, abs=1)
    assert not found.tint("Cyan").any()
    assert page.render((15, 25, 20, 30), 100).names == ("Cyan",)


def test_few_plates_share_no_channel(tmp_path, monkeypatch):
    assert len(packed(tmp_path, monkeypatch)._renderings(1.0)) == 2
    assert {len(own) for each in packed(tmp_path, monkeypatch)._renderings(1.0) for own in each.channels} == {1, 3}
    monkeypatch.undo()
    assert {len(own) for each in separator_of(two_inks(), tmp_path)._renderings(1.0) for own in each.channels} == {1}


def test_a_window_without_ink_has_a_plate_all_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "PACK_FROM", 2)
    page = Drawing(60, 40)
    for name, x in (("Leaf", 5), ("Gold", 25), ("Rust", 45)):
        page.fill(name, 0.5, rect=(x, 10, x + 8, 20))
    found = separator_of(page, tmp_path).render((15, 25, 20, 30), 100)
    assert found.names == ("Leaf",)
    assert not found.ink.any()


def test_what_was_kept_is_let_go_of(tmp_path, monkeypatch):
    page, closed = separator_of(two_inks(), tmp_path), list[int]()
    monkeypatch.setattr(type(page._derived), "close", lambda self: closed.append(1))
    page.close()
    assert closed == [1]


@pytest.mark.parametrize(("edges", "levels"), [("smooth", 3), ("sharp", 3)])
def test_edges_are_brought_down_from_finer_ones(tmp_path, edges, levels):
    """A slanted edge has levels between bare and solid, sharp or not: sharp it is drawn four times finer."""
    page = Drawing(60, 40).fill("Leaf", points=[(10, 5), (50, 5), (10, 35)])
    plates = separator_of(page, tmp_path).render((0, 0, 60, 40), 50.8, edges=edges)
    assert len(np.unique(plates.tint("Leaf"))) > levels
    assert plates.ink.shape == (1, 80, 120)
    assert plates.tint("Leaf").sum() / 255 / 4 == pytest.approx(600, rel=0.01)


def test_without_a_separation_what_it_knocks_out_is_there(tmp_path):
    page = Drawing(60, 40).fill((1, 0, 0, 0), rect=(0, 0, 30, 40)).fill("Leaf", rect=(10, 10, 20, 20))
    found = separator_of(page, tmp_path)
    assert found.render((12, 12, 18, 18), 50.8).tint("Cyan").max() == 0
    assert found.render((12, 12, 18, 18), 50.8, frozenset({"Leaf"})).tint("Cyan").min() == 255


def test_plates_are_rendered_by_threes_in_their_order(tmp_path):
    page = Drawing(60, 40).fill((0.5, 0.5, 0.5, 0.5), rect=(0, 0, 30, 40)).fill("Leaf", rect=(10, 10, 20, 20))
    assert rendered(page, tmp_path) == [["Black", "Leaf"], ["Cyan", "Magenta", "Yellow"]]
    page.gs(BM=Name.Hue).fill((0.5, 0, 0, 0), rect=(10, 5, 25, 15))
    assert rendered(page, tmp_path) == [["Black"], ["Cyan", "Magenta", "Yellow"], ["Leaf"]]
    three = separator_of(page, tmp_path)._renderings(1.0)
    assert [each.channels for each in three if each.plates == {"Black"}] == [(("Black",),) * 3]
