"""Narrow shapes whose ends line up, on tints made in the test."""

import numpy as np
import pytest

from preflight.measures.bleed.ends_in_a_row import (
    are_several,
    ends_of,
    finer,
    in_line,
    nothing_beyond,
    offsets_to,
)
from preflight.measures.raster.profiles import Stations

AT_MM = offsets_to(3.0)


def test_four_places_stand_evenly_about_each_station():
    at = Stations(np.array([[10.0, 20.0], [30.0, 40.0]]), np.array([[0.0, -1.0], [1.0, 0.0]]), 0.5)
    close = finer(at)
    assert close.spacing_mm == 0.125
    assert close.xy[:, 0] == pytest.approx([9.8125, 9.9375, 10.0625, 10.1875, 30, 30, 30, 30])
    assert close.xy[:, 1] == pytest.approx([20, 20, 20, 20, 39.8125, 39.9375, 40.0625, 40.1875])
    assert close.outward.tolist() == [[0, -1]] * 4 + [[1, 0]] * 4


def test_tints_are_wanted_from_half_a_millimetre_inside_to_just_before_the_end():
    assert AT_MM[0] == -0.5
    assert np.diff(AT_MM) == pytest.approx(0.125)
    assert AT_MM[-1] == pytest.approx(2.75)


@pytest.mark.parametrize(
    ("last", "within", "bare"),
    [
        ([0, 0, 0, 50, 0, 0, 0], 2, "1110111"),
        ([0, 50, 50, 50, 50, 50], 2, "100111"),
        ([50, 50, 50, 50, 50, 0], 1, "111101"),
        ([0, 4, 0, 5, 0, 6, 0], 1, "1110101"),
        ([50, 50, 50, 50], 9, "1111"),
        ([0, 50, 50], 9, "101"),
    ],
    ids=["a shape that goes on", "a ground beside a gap", "one station round", "from the threshold on",
         "few stations of a ground", "few stations"],
)  # fmt: skip
def test_there_is_nothing_beyond_where_no_more_stands_than_the_least_nearby(last, within, bare):
    found = nothing_beyond(np.array(last, np.float32), 5.0, within)
    assert "".join("01"[int(one)] for one in found) == bare


@pytest.mark.parametrize(
    ("tints", "several"),
    [
        ([200, 0, 200, 0, 200], True), ([0, 200, 200, 0, 200, 0], False), ([200] * 6, False), ([], False),
        ([0, 100, 0, 100, 0, 200], False), ([0, 101, 0, 101, 0, 200], True), ([40, 60, 40, 60, 40, 60], True),
    ],
    ids=["three", "two", "a ground", "nothing", "half as strong", "just more than half as strong", "over a tint"],
)  # fmt: skip
def test_three_shapes_are_several(tints, several):
    assert are_several(np.array(tints, np.float32)) is several


def place(*stretches: tuple[float, float, float], ground: float = 0.0) -> np.ndarray:
    """Tints of one place: from, up to and with, tint."""
    tints = np.full(len(AT_MM), ground, np.float32)
    for start, stop, tint in stretches:
        tints[(start - 1e-6 <= AT_MM) & (stop + 1e-6 >= AT_MM)] = tint
    return tints


def ends(*places: np.ndarray) -> list[float]:
    return [float(end) for end in ends_of(np.stack(places), AT_MM, 5.0)]


BARE = place()


@pytest.mark.parametrize(
    ("tints", "end"),
    [
        (place((-0.5, 1.0, 255)), 1.0625),  # halfway down between 1.0, full, and 1.125, bare
        (place((-0.5, 1.0, 100)), 1.0625),
        (place((-0.5, 1.0, 255), (1.125, 1.125, 64)), 1.0 + 0.125 * 127.5 / 191),
        (place((-0.5, 1.0, 255), (1.125, 1.125, 200)), 1.125 + 0.125 * 72.5 / 200),
        (place((-0.5, -0.5, 255)), -0.4375),
        (place((-0.375, 0.5, 255)), 0.5625),
        (place((-0.5, 0.5, 255), (1.0, 2.0, 255)), 0.5625),
        (place((-0.5, 2.75, 255)), 2.75),
    ],
    ids=["hard", "a light tint", "a quarter of a pixel", "most of a pixel", "inside the cut", "from the zone's end on",
         "a gap", "to the end"],
)  # fmt: skip
def test_ink_ends_where_half_of_it_is_left(tints, end):
    assert ends(BARE, tints)[1] == pytest.approx(end, abs=1e-4)


def test_the_ground_that_all_stand_on_does_not_count():
    shape, beside = place((-0.5, 1.0, 255), ground=40), place(ground=40)
    found = ends(beside, shape, beside)
    assert found[1] == pytest.approx(1.0625, abs=1e-4)
    assert np.isnan(found[::2]).all()


@pytest.mark.parametrize("tints", [BARE, place((-0.25, 1.0, 255)), place((-0.5, 1.0, 4))],
                         ids=["bare", "not at the cut", "under the threshold"])  # fmt: skip
def test_without_ink_at_the_cut_there_is_no_end(tints):
    assert np.isnan(ends(BARE, tints)).all()


def test_ink_beside_it_hangs_together_with_a_shape():
    touching, beside, apart = place((-0.5, 1.0, 255)), place((0.5, 2.0, 255)), place((2.25, 2.5, 255))
    found = ends(apart, beside, touching, BARE)
    assert found[1:3] == pytest.approx([2.0625, 1.0625], abs=1e-4)
    assert np.isnan([found[0], found[3]]).all()
    assert ends(touching, beside)[1] == pytest.approx(2.0625, abs=1e-4)


NONE: tuple[list[tuple[int, int]], float] = ([], 0.0)
GAP = [np.nan] * 4


def lined(*shapes: list[float], shortest_mm: float = 2.0, to_mm: float = 2.75) -> tuple[list[tuple[int, int]], float]:
    places = [*GAP]
    for shape in shapes:
        places += [*shape, *GAP]
    return in_line(np.array(places), 0.125, shortest_mm, to_mm)


def test_three_shapes_that_end_together_are_in_line():
    shapes, line = lined([0.9] * 6, [0.9] * 6, [1.0] * 6)
    assert shapes == [(4, 10), (14, 20), (24, 30)]
    assert line == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("shapes", "more", "found"),
    [
        ([[1.0] * 12] * 2, {}, False),
        ([[1.0] * 5, [1.0] * 5, [1.0] * 5], {}, False),
        ([[1.0] * 6, [1.0] * 5, [1.0] * 5], {}, True),
        ([[1.0] * 6, [0.86] * 6, [1.0] * 6], {}, True),
        ([[1.0] * 6, [0.84] * 6, [1.0] * 6], {}, False),
        ([[1.0] * 6] * 3, {"to_mm": 1.25}, True),
        ([[1.0] * 6] * 3, {"to_mm": 1.24}, False),
        ([[np.nan]] * 3, {}, False),
    ],
    ids=["two", "1.875 mm of ends", "2 mm of ends", "0.14 mm apart", "0.16 mm apart", "before the end of the look",
         "at the end of the look", "no ends"],
)  # fmt: skip
def test_what_is_in_line(shapes, more, found):
    assert (lined(*shapes, **more) != NONE) is found


SHEER = [1.0] * 6
ROUND = [0.55, 0.7, *SHEER, 0.7, 0.55]
HALF_ROUND = [0.55, 0.7, *SHEER]
LOW_SIDES = [0.45, 0.7, *SHEER, 0.7, 0.45]


@pytest.mark.parametrize(
    ("shapes", "found"),
    [
        ([ROUND] * 3, False), ([HALF_ROUND] * 3, True), ([HALF_ROUND[::-1]] * 3, True), ([LOW_SIDES] * 3, True),
        ([SHEER, SHEER, ROUND], True), ([SHEER, ROUND, ROUND], False), ([SHEER, SHEER, ROUND, ROUND], False),
    ],
    ids=["dots", "one side is sheer", "the other side", "it comes down by half a millimetre in two places",
         "two of three", "one of three", "two of four"],
)  # fmt: skip
def test_most_of_the_shapes_have_to_break_off(shapes, found):
    assert (lined(*shapes) != NONE) is found
