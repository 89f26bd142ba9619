"""The frame that two pages share, and their plates on one grid."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from preflight.artwork.page.page import Page
from preflight.artwork.read_artwork import read_artwork
from preflight.carton.read_die import read_die
from preflight.comparing.pages import aligned_plates as aligning
from preflight.comparing.pages.aligned_plates import aligned_plates, grid, windows
from preflight.comparing.pages.correlation import shift_between
from preflight.comparing.pages.frames import find_frame
from preflight.comparing.pages.object_places import art_boxes, frame_by_objects, scale_of
from preflight.comparing.pages.page_changes import in_words
from preflight.comparing.pages.shared_frame import SharedFrame
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing
from tests.revisions import TRIM, carton


@pytest.fixture
def page(tmp_path):
    """Reads a drawing."""
    number = 0

    def read(drawing: Drawing) -> Page:
        nonlocal number
        number += 1
        return read_artwork(drawing.save(tmp_path / f"{number}.pdf")).pages[0]

    return read


def frame_of(old: Page, new: Page) -> SharedFrame:
    return find_frame(old, new, read_die(old), read_die(new))


@pytest.mark.parametrize("turns", range(4))
def test_a_frame_goes_there_and_back(turns):
    frame = SharedFrame(turns, (5, -3))
    there = frame.on_new((1, 2, 4, 8))
    assert frame.on_old(there) == pytest.approx((1, 2, 4, 8))
    assert frame.moved(box(1, 2, 4, 8)).bounds == pytest.approx(there)


def test_turns_are_counter_clockwise():
    assert SharedFrame(1).on_new((1, 2, 4, 8)) == (-8, 1, -2, 4)


def test_the_die_lays_pages_on_each_other_and_not_the_art(page):
    old = page(carton(trim=TRIM))
    assert frame_of(old, page(carton(trim=TRIM, art=(0.3, 0)))) == SharedFrame(by="die")
    moved = frame_of(old, page(carton(at=(12, 11))))
    assert (moved.turns, moved.by) == (0, "die")
    assert moved.shift_mm == pytest.approx((2, 1), abs=1e-4)


def test_a_shift_that_is_rounding_is_none(page):
    assert frame_of(page(carton()), page(carton(at=(10.008, 10)))) == SharedFrame(by="die")


def test_a_blank_that_is_the_same_turned_round_lies_as_its_art_does(page):
    """Nothing in its outline tells that it was turned: on the page it lies as before, and Rotate does not say so."""

    def card(x: float, y: float) -> Drawing:
        drawn = Drawing(120, 100)
        drawn.fill((0, 1, 0, 0), rect=(x, y, x + 20, y + 10))
        drawn.stroke("Cutting", [(10, 10), (110, 10), (110, 90), (10, 90)])
        return drawn.stroke("Creasing", [(60, 10), (60, 90)], close=False)

    assert frame_of(page(card(20, 20)), page(card(20, 20))).turns == 0
    assert frame_of(page(card(20, 20)), page(card(80, 70))).turns == 2


def test_alike_blanks_of_a_sheet_lie_as_one(page):
    def sheet(x: float) -> Drawing:
        drawn = Drawing(440, 220)
        for at in ((x, 10), (x + 205, 10)):
            draw_die(drawn, reverse_tuck(at=at))
            drawn.fill((0, 1, 0, 0), rect=(at[0] + 20, 60, at[0] + 50, 90))
        return drawn

    frame = frame_of(page(sheet(10)), page(sheet(14)))
    assert (frame.turns, frame.by) == (0, "die")
    assert frame.shift_mm == pytest.approx((4, 0), abs=1e-3)


def test_another_cut_leaves_the_page_to_lay_by(page):
    wider = Drawing(215, 200).fill((0, 1, 0, 0), rect=(30, 50, 60, 90))
    draw_die(wider, reverse_tuck(height=80, at=(10, 10)))
    assert frame_of(page(carton()), page(wider)).by == "page"


def test_outlined_art_on_a_larger_page_is_found_by_what_is_printed(page):
    """Written as other objects, so that no box of one is a box of the other."""
    stripes = [(20 + 3.0 * i, 20, 21 + 3.7 * i % 9 + i, 60 + i) for i in range(20)]

    def as_one(off: float, size: tuple[float, float]) -> Drawing:
        drawn = Drawing(*size)
        for x0, y0, x1, y1 in stripes:
            drawn.fill((0, 0, 0, 1), rect=(x0 + off, y0 + off, x1 + off, y1 + off))
        return drawn

    def in_halves(off: float, size: tuple[float, float]) -> Drawing:
        drawn = Drawing(*size)
        for x0, y0, x1, y1 in stripes:
            middle = (y0 + y1) / 2
            drawn.fill((0, 0, 0, 1), rect=(x0 + off, y0 + off, x1 + off, middle + off))
            drawn.fill((0, 0, 0, 1), rect=(x0 + off, middle + off, x1 + off, y1 + off))
        return drawn

    frame = frame_of(page(as_one(0, (120, 100))), page(in_halves(7.3, (140, 130))))
    assert (frame.turns, frame.by) == (0, "content")
    assert frame.shift_mm == pytest.approx((7.3, 7.3), abs=0.05)


def test_pages_with_nothing_in_common_lie_corner_on_corner(page):
    one = Drawing(100, 80).fill((0, 0, 0, 1), rect=(10, 10, 12, 70))
    other = Drawing(140, 90)
    assert frame_of(page(one), page(other)) == SharedFrame(0, (0, 0), "page")


def test_objects_tell_shift_and_scale(page):
    old, new, smaller = (art_boxes(page(drawing)) for drawing in (carton(), carton(art=(3, 2)), carton(scale=0.98)))
    found = frame_by_objects(old, new)
    assert found is not None
    assert found.shift_mm == pytest.approx((3, 2), abs=1e-3)
    assert scale_of(old, smaller) == pytest.approx(0.98, abs=1e-3)
    assert scale_of(old, new) is None
    assert frame_by_objects(old, old[:1]) is None


def test_correlation_finds_a_shift():
    random = np.random.default_rng(3)
    old = np.kron(random.integers(0, 255, (20, 30)), np.ones((4, 4))).astype(np.float32)
    old[:8], old[-8:], old[:, :8], old[:, -8:] = 0, 0, 0, 0
    assert shift_between(old, np.roll(old, (3, -5), (0, 1))) == pytest.approx((-5, 3), abs=0.1)
    assert shift_between(np.zeros_like(old), old) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        ((0.1, 0), "0.10 mm to the right"),
        ((-0.1, 2), "0.10 mm to the left and 2.0 mm up"),
        ((0, -0.014), "0.01 mm down"),
        ((0, 0), ""),
    ],
)
def test_shifts_in_words(shift, words):
    assert in_words(shift) == words


# Plates on one grid ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rotate", "turns"), [(90, 3), (180, 2), (270, 1)])
def test_turned_pages_come_out_pixel_on_pixel(page, rotate, turns):
    old, new = page(carton(size=(215.37, 200.11))), page(carton(size=(215.37, 200.11), rotate=rotate))
    frame = frame_of(old, new)
    assert frame.turns == turns
    aligned = aligned_plates(old, new, frame)
    assert aligned.new["Cyan"].prints
    for name in aligned.new:
        assert aligned.old[name].digest == aligned.new[name].digest


@pytest.mark.parametrize("turns", range(4))
def test_a_window_that_is_turned_while_it_is_drawn_is_handed_out_as_it_lies(page, turns):
    drawing = Drawing(60, 40).fill("Moss", rect=(3, 5, 13, 8)).fill((0, 0.5, 0, 0), rect=(40.2, 20.1, 50, 39))
    plain, turned = (page(drawing).window((0, 2, 55, 40), 150, turned=each) for each in (0, turns))
    assert turned.box_mm == plain.box_mm
    assert turned.ink.shape == plain.ink.shape
    assert np.abs(turned.ink.astype(int) - plain.ink).max() <= 6


def test_a_grid_holds_both_pages_and_each_is_bare_off_its_own(page):
    old = page(Drawing(60, 40).fill((0, 0, 0, 1), rect=(-10, -10, 80, 80)))
    new = page(Drawing(80, 40).fill((0, 0, 0, 1), rect=(-10, -10, 100, 80)))
    box_mm, dpi = grid(old, new, SharedFrame(0, (10, 5)), 150)
    assert (box_mm[0], box_mm[3], dpi) == pytest.approx((0, 45, 150))
    assert box_mm[1] == pytest.approx(0, abs=0.17)
    one, other = windows(old, new, SharedFrame(0, (10, 5)), box_mm, dpi)
    mm = 25.4 / 150
    assert one.tint("Black").astype(bool).sum() * mm * mm == pytest.approx(60 * 40, rel=0.01)
    assert other.tint("Black").astype(bool).sum() * mm * mm == pytest.approx(80 * 40, rel=0.01)


def test_bands_make_the_same_plates(page, monkeypatch):
    old, new = page(carton()), page(carton(code="4012346", rotate=90))
    frame = frame_of(old, new)
    whole = aligned_plates(old, new, frame)
    monkeypatch.setattr(aligning, "MOST_PX_AT_ONCE", 200_000)
    parts = aligned_plates(old, new, frame)
    assert len(parts.new["Black"].bands) > 5
    for name in whole.new:
        assert np.abs(parts.new[name].ink.astype(int) - whole.new[name].ink).mean() < 0.05
        assert np.abs(parts.old[name].ink.astype(int) - parts.new[name].ink).max() <= 3 or name == "Black"


def test_pages_that_are_too_large_are_drawn_more_coarsely(page, monkeypatch):
    old = page(carton())
    monkeypatch.setattr(aligning, "MOST_PX", 300_000)
    aligned = aligned_plates(old, old, SharedFrame())
    assert aligned.dpi < 75
    assert aligned.inside.size == pytest.approx(300_000, rel=0.02)


def test_close_looks_show_the_same_place_of_both(page):
    old, new = page(carton()), page(carton(rotate=180))
    frame = frame_of(old, new)
    aligned = aligned_plates(old, new, frame, box(0, 0, 50, 200))
    look = aligned.closer("Copper", "Copper")
    pair = look((60, 130, 80, 140), 600)
    assert pair.dpi == 600
    assert pair.new.max() == 255
    assert np.abs(pair.old.astype(int) - pair.new).max() <= 1
    assert pair.inside.shape == pair.new.shape
    assert not pair.inside.any()
    assert look((60, 130, 80, 140), 600).new is not None
    assert len(aligned._looks) == 1


def test_rims_are_no_print(page):
    covered = (
        Drawing(60, 40)
        .fill("Moss", rect=(10.03, 10.03, 40.05, 30.07))
        .fill((0, 0, 0, 1), rect=(10.03, 10.03, 40.05, 30.07))
    )
    plates = aligned_plates(page(covered), page(covered), SharedFrame()).new
    assert plates["Moss"].ink.any()
    assert not plates["Moss"].prints
    assert plates["Black"].prints
    light = page(Drawing(60, 40).fill("Moss", 0.03, rect=(10, 10, 12, 12)))
    assert aligned_plates(light, light, SharedFrame()).new["Moss"].prints
