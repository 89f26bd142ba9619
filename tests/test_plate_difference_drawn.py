"""Plates of drawn PDFs compared, with closer looks: shifts, tone, edits, digits of small type; what is no change."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from pikepdf import Name

from preflight.artwork.page.geometry import Box
from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.comparison import Difference, PlatePair
from preflight.comparing.pixels.plate_difference import difference
from tests.drawn import MM, Drawing
from tests.plate_pairs import Closer, photo

INK = "Mill Brown"
Compare = Callable[[Drawing, Drawing], Difference]


def art(
    *, shift: tuple[float, float] = (0, 0), tint: float = 0.4, digit: str = "3819", stays: bool = False,
    size_pt: float = 5, picture: bool = False,
) -> Drawing:  # fmt: skip
    page = Drawing(90, 60)
    if stays:
        for i in range(3):
            page.fill(INK, 1, rect=(70 + 5 * i, 5, 73 + 5 * i, 12))
    page.raw(f"q 1 0 0 1 {shift[0] * MM:.6f} {shift[1] * MM:.6f} cm")
    page.fill(INK, 1, rect=(10, 10, 30, 30))
    page.fill(INK, tint, points=[(35, 10), (50, 13), (47, 31), (36, 25)])
    for i in range(7):
        page.text(f"Net weight 250 g best before {digit if i == 2 else '3819'}", (10, 34 + i * 2.5), size_pt, INK)
    page.stroke(INK, [(55, 5), (68, 30)], width_mm=0.1, close=False)
    if picture:
        space = page.resources.ColorSpace[Name("/" + page.spot(INK))]
        page.image(photo(1, (240, 240)).tobytes(), 240, 240, (52, 32, 76, 56), space=space)
    return page.raw("Q")


@pytest.fixture
def compare(tmp_path: Path) -> Iterator[Compare]:
    closers: list[Closer] = []

    def compared(old: Drawing, new: Drawing) -> Difference:
        closer = Closer(old.save(tmp_path / "old.pdf"), new.save(tmp_path / "new.pdf"), INK)
        closers.append(closer)
        return difference(closer.whole(), closer)

    yield compared
    for closer in closers:
        closer.close()


@pytest.mark.parametrize("shift", [
    (0.02, 0), (0, -0.02), (-0.05, 0), (0.1, 0), (0, 0.1), (0.07, 0.07), (-0.06, 0.08), (0.25, -0.1), (-1, 0.4),
    (3, 0), (2.1, -2.2),
])  # fmt: skip
def test_shifts(compare, shift):
    told = compare(art(), art(shift=shift))
    assert (told.how, told.also, told.blobs) == ("moved", (), ())
    assert np.hypot(told.moved_mm[0] - shift[0], told.moved_mm[1] - shift[1]) < 0.005


@pytest.mark.parametrize(("tint", "points"), [(0.42, 2), (0.38, -2), (0.43, 3), (0.8, 40)])
def test_steps_of_tone(compare, tint, points):
    told = compare(art(), art(tint=tint))
    assert (told.how, told.also) == ("tone", ())
    assert told.tone_percent == pytest.approx(points, abs=0.3)


@pytest.mark.parametrize("digit", ["3818", "3919", "8819", "3811", "3810"])
@pytest.mark.parametrize("size_pt", [4, 5, 8])
def test_a_changed_digit_of_small_type(compare, digit, size_pt):
    told = compare(art(size_pt=size_pt), art(digit=digit, size_pt=size_pt))
    assert (told.how, told.also) == ("local", ())
    assert told.blobs
    x0, y0, x1, y1 = told.blobs[0]
    assert 10 < x0 < x1 < 60
    assert 38.5 < y0 < y1 < 42.5


@pytest.mark.parametrize(("shift", "digit"), [((0.1, 0), "3818"), ((0.07, 0.07), "8819"), ((1.5, -0.3), "3818")])
def test_moved_and_a_digit_changed(compare, shift, digit):
    told = compare(art(), art(shift=shift, digit=digit))
    assert (told.how, told.also) == ("moved", ("local",))
    assert told.moved_mm == pytest.approx(shift, abs=0.01)
    assert len(told.blobs) == 1


def test_moved_and_another_tone_and_edited(compare):
    new = art(shift=(0.25, 0.1), tint=0.44).fill(INK, 1, rect=(80, 40, 80.45, 40.45))
    told = compare(art(), new)
    assert (told.how, told.also) == ("moved", ("tone", "local"))
    assert told.moved_mm == pytest.approx((0.25, 0.1), abs=0.01)
    assert told.tone_percent == pytest.approx(4, abs=0.3)
    assert len(told.blobs) == 1


@pytest.mark.parametrize("shift", [(0.05, 0.02), (0.1, 0), (0.08, 0.08)])
def test_what_stays_behind_is_named(compare, shift):
    told = compare(art(stays=True), art(stays=True, shift=shift))
    assert (told.how, told.also) == ("moved", ("local",))
    assert any(box[0] < 71 and box[1] < 5.2 and box[2] > 82.8 for box in told.blobs)


@pytest.mark.parametrize(("width_mm", "differs"), [(0.05, True), (0.1, True), (0.01, False)])
def test_hairlines(compare, width_mm, differs):
    new = art().stroke(INK, [(5, 57), (40, 58)], width_mm=width_mm, close=False)
    told = compare(art(), new)
    assert told.how == ("local" if differs else "none")


def test_rims_of_what_lies_below_are_no_difference(compare):
    """The same shape below another one, once of this ink and once not: only its rims show on the plate."""
    black = (0, 0, 0, 1)

    def drawn(below: bool) -> Drawing:
        page = art()
        for i in range(6):
            points = [(52 + 5 * i, 35), (56 + 5 * i, 36.3), (53.5 + 5 * i, 44)]
            if below:
                page.fill(INK, 1, points=points)
            page.fill(black, 1, points=points)
        return page

    assert compare(drawn(False), drawn(True)).how == "none"


def test_the_order_of_objects_that_do_not_meet_is_no_difference(compare):
    one, other = (10, 10, 30, 30), (35, 10, 50, 30)
    old = Drawing(60, 40).fill(INK, 1, rect=one).fill(INK, 0.4, rect=other)
    assert compare(old, Drawing(60, 40).fill(INK, 0.4, rect=other).fill(INK, 1, rect=one)).how == "none"


@pytest.mark.parametrize("rotate", [90, 180, 270])
def test_another_rotation_laid_on_the_same_grid_is_no_difference(tmp_path, rotate):
    turned = art(picture=True)
    turned.page.obj.Rotate = rotate
    places: dict[int, Callable[[float, float], tuple[float, float]]] = {
        90: lambda x, y: (y, 90 - x), 180: lambda x, y: (90 - x, 60 - y), 270: lambda x, y: (60 - y, x)
    }  # fmt: skip
    with (
        read_artwork(art(picture=True).save(tmp_path / "old.pdf")) as old,
        read_artwork(turned.save(tmp_path / "new.pdf")) as new,
    ):

        def closer(box: Box, dpi: float) -> PlatePair:
            ends = [places[rotate](*box[:2]), places[rotate](*box[2:])]
            there = (*np.min(ends, 0).tolist(), *np.max(ends, 0).tolist())
            ours = old.pages[0].window(box, dpi)
            theirs = np.rot90(new.pages[0].window(there, dpi).tint(INK), rotate // 90)
            return PlatePair(ours.tint(INK), theirs, np.ones(theirs.shape, bool), dpi, ours.box_mm)

        px = 25.4 / 150
        assert difference(closer((2, 2, 2 + 500 * px, 2 + 320 * px), 150), closer).how == "none"


@pytest.mark.parametrize("shift", [(0.3, 0.21), (0.1, 0), (-0.5, 0.4)])
def test_a_picture_beside_type_moves_with_it(compare, shift):
    told = compare(art(picture=True), art(picture=True, shift=shift))
    assert told.how == "moved"
    assert told.moved_mm == pytest.approx(shift, abs=0.02)
