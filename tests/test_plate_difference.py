"""One plate of two files by its pixels: what is no difference, shifts, tone, edits, and what looks like another."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest

from preflight.comparing.pixels.plate_difference import difference
from tests.plate_pairs import Plate, Scene, compressed, dots, pair, photo, shapes

ART = [
    (10, 10, 30, 30, 255),
    (35, 12, 50, 31, 102),
    (55, 8, 55.3, 50, 255),
    (60, 20, 66, 22, 204),
    (70, 40, 72, 43, 255),
]
TYPE = [(8 + 1.1 * i, 40 + 2.2 * (i % 3), 8.25 + 1.1 * i, 41.5 + 2.2 * (i % 3), 255) for i in range(40)]
ALL = [*ART, *TYPE]
EMPTY = np.zeros((354, 531), np.uint8)


def how(old: Plate, new: Plate) -> tuple[str, ...]:
    told = difference(pair(old, new))
    return (told.how, *told.also)


DIRECTIONS = [(1, 0), (0, 1), (-1, 0), (0, -1), (0.7, 0.7), (-0.6, 0.8), (0.9, -0.4), (-0.5, -0.85)]


@pytest.mark.parametrize("length", [0.025, 0.04, 0.085, 0.1, 0.17, 0.3, 0.51, 1.0, 3.0])
def test_shifts_of_all_lengths_are_told_to_two_hundredths_of_a_millimetre(length):
    old = shapes(ALL)
    for x, y in DIRECTIONS:
        # what is drawn lies on a grid of 0.017 mm
        dx, dy = (round(length * side * 10 * 150 / 25.4) / (10 * 150 / 25.4) for side in (x, y))
        told = difference(pair(old, shapes(ALL, dx, -dy)))
        assert (told.how, told.also) == ("moved", ()), (dx, dy)
        assert np.hypot(told.moved_mm[0] - dx, told.moved_mm[1] - dy) < 0.02, (dx, dy, told.moved_mm)
        assert told.largest_mm == pytest.approx(np.hypot(dx, dy), abs=0.02)
        assert 0 < told.share < 0.2


@pytest.mark.parametrize(("tint", "points"), [(107, 2), (97, -2), (110, 3.1), (153, 20), (26, -29.8)])
def test_a_step_of_tone_of_two_per_cent_and_more_is_named(tint, points):
    new = [(*box[:4], tint if box[4] == 102 else box[4]) for box in ALL]
    told = difference(pair(shapes(ALL), shapes(new)))
    assert (told.how, told.also, told.blobs) == ("tone", (), ())
    assert told.tone_percent == pytest.approx(points, abs=0.1)
    assert told.share == pytest.approx(15 * 19 / (90 * 60), rel=0.15)


def test_requantising_and_rounding_are_no_difference():
    old = shapes(ALL)
    gradient = np.tile(np.linspace(0, 255, 531), (354, 1))
    assert how(old, np.where(old > 0, old - 1, 0).astype(np.uint8)) == ("none",)
    assert how(np.rint(gradient).astype(np.uint8), np.floor(gradient).astype(np.uint8)) == ("none",)
    assert how(np.rint(gradient).astype(np.uint8), (gradient // 2 * 2).astype(np.uint8)) == ("none",)


def test_edges_that_stand_off_by_another_grid_phase_are_no_difference():
    old = shapes(ALL)
    new = np.rint(old * 0.93 + np.roll(old, 1, 1) * 0.07).astype(np.uint8)  # to the right by 0.012 mm
    assert np.abs(new.astype(int) - old).max() > 15
    assert how(old, new) == ("none",)


@pytest.mark.parametrize("level", [8, 60, 255])
def test_a_blob_of_a_fifth_of_a_square_millimetre_is_found(level):
    new = Scene()
    for x0, y0, x1, y1, tint in ALL:
        new.rect(x0, y0, x1, y1, tint)
    told = difference(pair(shapes(ALL), new.rect(80, 50, 80.45, 50.45, level).plate()))
    assert (told.how, told.also, len(told.blobs)) == ("local", (), 1)
    x0, y0, x1, y1 = told.blobs[0]
    top = pair(EMPTY, EMPTY).box_mm[3]
    assert x0 <= 80.01
    assert x1 >= 80.4
    assert x1 - x0 < 0.9
    assert y0 <= top - 50.4
    assert y1 >= top - 50.05
    assert told.share == pytest.approx(0.2 / 5400, rel=0.8)


def test_a_blob_of_a_twentieth_of_a_square_millimetre_is_too_small_without_a_closer_look():
    assert how(EMPTY, Scene().rect(40, 30, 40.22, 30.22).plate()) == ("none",)


@pytest.mark.parametrize(("dx", "dy", "tint", "edited"), [
    (0.3, 0.1, 102, True), (0.0, 0.0, 110, True), (0.1, 0.0, 110, False), (2.0, -1.0, 115, True),
])  # fmt: skip
def test_combinations_are_told_apart(dx, dy, tint, edited):
    new = [(*box[:4], tint if box[4] == 102 else box[4]) for box in ALL]
    edit = [(75, 15, 77, 17, 255)] if edited else []
    told = difference(pair(shapes(ALL), shapes([*new, *edit], dx, -dy)))
    expected = (["moved"] if dx else []) + (["tone"] if tint != 102 else []) + (["local"] if edited else [])
    assert [told.how, *told.also] == expected
    assert told.moved_mm == pytest.approx((dx, dy), abs=0.02)
    assert told.tone_percent == pytest.approx((tint - 102) / 2.55, abs=0.1)
    assert len(told.blobs) == edited


def test_one_object_that_moves_among_others_is_an_edit():
    for length in (0.1, 0.5, 4):
        new = [*ALL[:1], (35 + length, 12, 50 + length, 31, 102), *ALL[2:]]
        told = difference(pair(shapes(ALL), shapes(new)))
        assert (told.how, told.also, len(told.blobs)) == ("local", (), 2), length
        assert told.largest_mm == pytest.approx(length, abs=0.1)


def test_what_stays_behind_when_the_rest_moves_is_named():
    old = shapes([*ALL, (80, 10, 84, 14, 255)])
    scene = Scene()
    for x0, y0, x1, y1, level in ALL:
        scene.rect(x0 + 0.102, y0, x1 + 0.102, y1, level)
    told = difference(pair(old, scene.rect(80, 10, 84, 14).plate()))
    assert (told.how, told.also) == ("moved", ("local",))
    assert told.moved_mm == pytest.approx((0.102, 0), abs=0.02)
    assert any(box[0] < 81 and box[2] > 83 for box in told.blobs)


def test_shapes_that_grow_or_are_scaled_have_not_moved():
    old = [(5 + 10 * i, 5 + 10 * j, 9 + 10 * i, 9 + 10 * j, 255) for i in range(8) for j in range(5)]
    grown = [(x0 - 0.1, y0 - 0.1, x1 + 0.1, y1 + 0.1, level) for x0, y0, x1, y1, level in old]
    assert how(shapes(old), shapes(grown)) == ("local",)
    scaled = [(x0 * 1.02, y0 * 1.02, x1 * 1.02, y1 * 1.02, level) for x0, y0, x1, y1, level in old]
    assert how(shapes(old), shapes(scaled)) == ("local",)


def test_empty_plates_and_plates_of_one_colour():
    solid = np.full_like(EMPTY, 255)
    assert how(EMPTY, EMPTY.copy()) == ("none",)
    assert how(solid, solid.copy()) == ("none",)
    for old, new in ((EMPTY, solid), (solid, EMPTY), (EMPTY, shapes(ART)), (shapes(ART), EMPTY)):
        told = difference(pair(old, new))
        assert told.how == "local"
        assert told.share == pytest.approx(((old > 0) | (new > 0)).mean(), rel=0.02)


@pytest.mark.parametrize("shape", [(0, 0), (0, 7), (1, 1), (2, 3), (1, 400), (33, 5)])
def test_tiny_plates(shape):
    old = np.zeros(shape, np.uint8)
    new = np.full(shape, 200, np.uint8)
    large = old.size * (25.4 / 150) ** 2 >= 0.1
    assert how(old, new) == (("local",) if large else ("none",))
    assert how(new, new.copy()) == ("none",)


def test_plates_of_other_shapes_are_refused():
    with pytest.raises(ValueError, match="shapes"):
        difference(pair(EMPTY[:, :-1], EMPTY))


def test_what_moves_out_of_the_page_or_in_is_an_edit():
    assert how(shapes(ART[:1]), shapes(ART[:1], 200)) == ("local",)
    assert how(shapes(ART[:1], 200), shapes(ART[:1])) == ("local",)


def test_content_that_the_page_cuts_off_may_move():
    bleeding = [(-5, -5, 45, 65, 255), (60, 20, 70, 30, 255), (75, 40, 95, 50, 102)]
    for dx, dy in ((2, 0), (-1.5, 0.5)):
        told = difference(pair(shapes(bleeding), shapes(bleeding, dx, -dy)))
        assert (told.how, told.also) == ("moved", ())
        assert told.moved_mm == pytest.approx((dx, dy), abs=0.02)


def test_a_shift_by_a_period_of_a_pattern_is_none_and_others_are_the_least():
    everywhere = (-10.0, -10.0, 110.0, 80.0)
    old = dots(2, 0.6, everywhere).plate()
    assert how(old, dots(2, 0.6, everywhere, 2).plate()) == ("none",)
    for dx, least in ((0.3, 0.3), (1.7, -0.3), (1.2, -0.8)):
        told = difference(pair(old, dots(2, 0.6, everywhere, dx).plate()))
        assert told.how == "moved"
        assert told.moved_mm == pytest.approx((least, 0), abs=0.02)


def test_a_pattern_in_a_clip_that_stays():
    clip = (20.0, 15.0, 60.0, 45.0)
    everywhere = (-10.0, -10.0, 110.0, 80.0)
    old = dots(2, 0.6, everywhere).keep(*clip).plate()
    assert how(old, dots(2, 0.6, everywhere, 2, 2).keep(*clip).plate()) == ("none",)
    assert how(old, dots(2, 0.6, everywhere).keep(*clip).rect(30, 30, 31, 31).plate()) == ("local",)


def test_lines_that_run_along_a_shift_say_nothing_of_it():
    def lines(dy: float) -> Plate:
        scene = Scene()
        for i in range(-3, 30):
            scene.rect(0, 2.5 * i + 0.7 * (i % 3) + dy, 90, 2.5 * i + 0.7 * (i % 3) + 0.5 + dy)
        return scene.plate()

    told = difference(pair(lines(0), lines(0.102)))
    assert told.how == "moved"
    assert told.moved_mm == pytest.approx((0, -0.102), abs=0.02)


@pytest.mark.parametrize("quality", [95, 85, 75])
def test_a_picture_that_is_compressed_anew_is_the_same(quality):
    assert how(photo(1), compressed(photo(1), quality)) == ("none",)
    assert how(compressed(photo(2), 92), compressed(compressed(photo(2), 92), quality)) == ("none",)


def test_a_picture_with_noise_is_the_same_and_what_is_hidden_in_noise_is_found():
    noise = np.random.default_rng(4)
    old = photo(1)
    new = np.clip(old + noise.normal(0, 2.5, old.shape), 0, 255).astype(np.uint8)
    assert how(old, new) == ("none",)
    new[100:103, 200:203] = np.where(new[100:103, 200:203] > 128, 10, 245)
    told = difference(pair(old, new))
    assert (told.how, len(told.blobs)) == ("local", 1)


def test_another_picture_a_mirrored_and_a_turned_one_are_edits():
    old = photo(1)
    for new in (photo(2), old[:, ::-1].copy(), old[::-1].copy(), old[::-1, ::-1].copy(), compressed(old, 8)):
        assert how(old, new) == ("local",)


def test_the_tone_of_a_picture():
    old = photo(1)
    told = difference(pair(old, np.rint(old * 0.97).astype(np.uint8)))
    assert (told.how, told.also) == ("tone", ())
    assert -3.2 < told.tone_percent < -2
    told = difference(pair(old, compressed(np.rint(255 * (old / 255) ** 1.15).astype(np.uint8), 85)))
    assert (told.how, told.also) == ("tone", ())
    gradient = np.tile(np.linspace(0, 255, 531), (354, 1))
    assert how(np.rint(gradient).astype(np.uint8), np.rint(255 * (gradient / 255) ** 1.1).astype(np.uint8)) == ("tone",)


def test_what_no_curve_of_tone_does():
    two = [(10, 10, 30, 30, 102), (40, 10, 50, 30, 102)]
    assert how(shapes(two), shapes([two[0], (40, 10, 50, 30, 110)])) == ("local",)
    swapped = [(10, 10, 30, 30, 102), (40, 10, 60, 30, 204)], [(10, 10, 30, 30, 204), (40, 10, 60, 30, 102)]
    assert how(shapes([*swapped[0], *TYPE]), shapes([*swapped[1], *TYPE])) == ("local",)
    assert how(shapes(ART), 255 - shapes(ART)) == ("local",)
    assert how(shapes(two), shapes([(0, 0, 90, 60, 26), *two])) == ("local",)  # a ground where the board was bare
    assert how(shapes(ART), shapes(ART[1:2])) == ("local",)  # all solids are gone
    ground = [(0, 0, 90, 60, 255)]
    assert how(shapes(ground), shapes([*ground, (10, 10, 20, 20, 0)])) == ("local",)


def test_inside_and_outside_the_cut_are_apart():
    marks = [(2, 2, 4, 4, 255), (86, 2, 88, 4, 255), (2, 56, 4, 58, 255)]
    inside = np.zeros(EMPTY.shape, bool)
    inside[45:310, 45:480] = True
    art = [(x0, y0, x1, y1, level) for x0, y0, x1, y1, level in ART if y1 < 45]
    moved = [(x0 + 0.204, y0, x1 + 0.204, y1, level) for x0, y0, x1, y1, level in marks]
    told = difference(pair(shapes([*marks, *art]), shapes([*moved, *art]), inside))
    assert (told.how, told.share, told.blobs) == ("none", 0, ())
    assert len(told.blobs_outside) == 6
    moved = [(x0 + 0.204, y0, x1 + 0.204, y1, level) for x0, y0, x1, y1, level in art]
    told = difference(pair(shapes([*marks, *art]), shapes([*marks, *moved]), inside))
    assert (told.how, told.also, told.blobs_outside) == ("moved", (), ())
    assert told.moved_mm == pytest.approx((0.204, 0), abs=0.02)
    told = difference(pair(shapes([*marks, *art]), shapes([*marks, *art], 0.204, 0.1), inside))
    assert (told.how, told.also, told.blobs_outside) == ("moved", (), ())


def test_the_number_of_places_is_bounded_with_the_largest_first():
    old, new = Scene(), Scene()
    for i in range(14):
        for j in range(9):
            new.rect(3 + 6 * i, 3 + 6 * j, 3.6 + 6 * i + 0.1 * i, 3.6 + 6 * j + 0.1 * j)
    told = difference(pair(old.plate(), new.plate()))
    areas = [(x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in told.blobs]
    assert 20 <= len(areas) < 126
    assert areas[0] == pytest.approx(max(areas), rel=0.2)
    assert areas[0] > 1.5 * areas[-1]


def test_near_places_are_one():
    word = [(40 + 0.6 * i, 30, 40.3 + 0.6 * i, 31, 255) for i in range(9)]
    told = difference(pair(shapes(ALL), shapes([*ALL, *word])))
    assert (told.how, len(told.blobs)) == ("local", 1)


@pytest.mark.parametrize("seed", range(12))
def test_random_pictures_that_move_change_tone_and_are_edited(seed):
    """A random scene, moved, toned and edited at random: what was done is what is told."""
    choose = np.random.default_rng(seed)
    scene = [
        (x, y, x + choose.uniform(0.3, 12), y + choose.uniform(0.3, 8), int(choose.choice([255, 204, 102])))
        for x, y in zip(choose.uniform(2, 75, 60), choose.uniform(2, 45, 60), strict=True)
    ]
    moves, tones, edits = (bool(choose.integers(2)) for _ in range(3))
    dx, dy = (round(side * 59.06) / 59.06 for side in choose.uniform(-1, 1, 2)) if moves else (0, 0)
    step = int(choose.choice([-12, -6, 6, 12])) if tones else 0
    new = [(*box[:4], box[4] + (step if box[4] == 102 else 0)) for box in scene]
    if edits:
        new.append((80, 50, 82, 53, 255))
    told = difference(pair(shapes(scene), shapes(new, dx, dy)))
    expected = ["moved"] * moves + ["tone"] * tones + ["local"] * edits
    assert [told.how, *told.also] == (expected or ["none"])
    assert told.moved_mm == pytest.approx((dx, -dy), abs=0.02)
    assert told.tone_percent == pytest.approx(step / 2.55, abs=0.1)
    assert len(told.blobs) == edits


def test_equal_plates_of_a_large_sheet_cost_next_to_nothing_and_others_little():
    sheet = np.zeros((5906, 4134), np.uint8)
    for row in range(0, 5800, 40):
        sheet[row : row + 17, 30 + row % 300 : 4000 : 23] = 200
    same = pair(sheet, sheet.copy())
    assert difference(same).how == "none"

    def least(work: Callable[[], object]) -> float:
        """CPU seconds at best of five: other work on the machine makes memory slow now and then."""
        spent = []
        for _ in range(5):
            begun = time.process_time()
            work()
            spent.append(time.process_time() - begun)
        return min(spent)

    assert least(lambda: difference(same)) < 0.02 + 3 * least(lambda: np.array_equal(same.old, same.new))
    begun = time.process_time()
    told = difference(pair(sheet, np.roll(sheet, (2, 5), (0, 1))))
    assert told.how == "moved"
    assert time.process_time() - begun < 6  # 1.5 on a machine that is not busy
