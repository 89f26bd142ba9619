"""Patterns across a straight cut along x, whose tints are worked out from where the shapes stand."""

import numpy as np
import pytest

from preflight.measures.bleed.repeating_patterns import (
    Pattern,
    _beside,
    _changes,
    _parallel,
    _some,
    _steps_of,
    _turns,
)
from preflight.measures.raster.profiles import Stations

PATTERN = Pattern(motif_mm=4.0, to_mm=3.0)


def straight(count: int = 80) -> Stations:
    """Stations 0.25, 0.75, … mm along x; outward is up."""
    xy = np.column_stack([np.arange(count) * 0.5 + 0.25, np.full(count, 7.0)])
    return Stations(xy, np.tile([0.0, 1.0], (count, 1)), 0.5)


def test_two_of_the_widest_steps_are_looked_at_inside_and_two_millimetres_more_outside():
    offsets = Pattern(motif_mm=12.0, to_mm=3.0).offsets
    assert (offsets[0], offsets[-1]) == (-48.0, 5.0)
    assert np.diff(offsets) == pytest.approx(0.125)


def goes_on(ink, piece=(16, 20), reach_mm=0.5, at=None) -> bool:
    """``ink`` says what is printed at places along the cut (a column) and outward from it (a row)."""
    at = at or straight()

    def tints_at(rows):
        return (255.0 * ink(at.xy[rows, :1], PATTERN.offsets[None])).astype(np.float32)

    return bool(PATTERN.goes_on(tints_at, at, piece, reach_mm))


def grid(x, out):
    """Squares of 1.5 mm each 2.5 mm outward and each 4 mm along the cut; one of them from -1 to 0.5 mm."""
    return ((x % 4) < 2) & (((out + 1) % 2.5) < 1.5)


def staggered(x, out):
    """The same, and between them others half a step farther out."""
    return grid(x, out) | grid(x + 2, out + 1.25)


def up_to(ink, end_mm):
    return lambda x, out: ink(x, out) & (out < end_mm)


def beside_only(ink, end_mm):
    """It ends in the column that is looked at, and goes on beside it."""
    return lambda x, out: ink(x, out) & ((out < end_mm) | (x < 8) | (x >= 10))


def here_only(ink, end_mm):
    """It goes on in the column that is looked at, and ends beside it."""
    return lambda x, out: ink(x, out) & ((out < end_mm) | ((x >= 8) & (x < 10)))


@pytest.mark.parametrize("ink", [grid, staggered])
def test_a_pattern_that_goes_on_past_the_cut_is_one(ink):
    assert goes_on(ink)


@pytest.mark.parametrize(
    "ink",
    [
        up_to(grid, 0.55), up_to(staggered, 0.55), up_to(grid, 1.75), beside_only(staggered, 0.55),
        here_only(staggered, 0.55),
        lambda x, out: (x > -1) & (out < 0.5),
        lambda x, out: (x > -1) & (out < 0.5) & (out > -5),
        lambda x, out: ((x % 4) < 2) & (((out + 5.5) % 7) < 6),
    ],
    ids=["a row that is cut off", "staggered rows that are cut off", "cut off in the next shape", "here alone",
         "beside it alone", "a ground", "a bar", "shapes too large"],
)  # fmt: skip
def test_what_ends_for_good_is_none(ink):
    assert not goes_on(ink)


SCATTERED = ((-1.0, 0.5), (-3.6, -3.2), (-7.0, -5.9), (-11.0, -10.2))


def scattered(beyond_mm: tuple[float, float] | None, *, along: bool = True):
    """Shapes at uneven steps inward; others along the cut; and beyond the cut a row of them, or nothing."""

    def ink(x, out):
        shown = np.zeros(np.broadcast(x, out).shape, bool)
        for low, high in SCATTERED:
            shown |= (out > low) & (out < high)
        shown &= (((x >= 8) & (x < 10)) | ((x % 3) < 1.5)) if along else (x > -1)
        if beyond_mm:
            shown |= (out > beyond_mm[0]) & (out < beyond_mm[1]) & ((x % 3) < 2)
        return shown

    return ink


@pytest.mark.parametrize(
    ("ink", "piece", "found"),
    [
        (scattered((2.0, 3.0)), (16, 20), True),
        (scattered(None), (16, 20), False),
        (scattered((0.8, 1.6)), (16, 20), False),
        (scattered((2.0, 3.0)), (16, 25), False),
        (scattered((2.0, 3.0), along=False), (16, 20), False),
    ],
    ids=["shapes beyond", "nothing beyond", "nothing at the end of the look", "an end longer than a shape",
         "bars, and no shapes"],
)  # fmt: skip
def test_shapes_in_no_rows_have_to_stand_beyond_the_cut_too(ink, piece, found):
    assert goes_on(ink, piece) is found


def test_stations_beside_a_piece():
    at = straight(20)
    assert _beside(at, (5, 8), 3).tolist() == [2, 3, 4, 8, 9, 10]
    assert _beside(at, (1, 19), 3).tolist() == [0, 19]


@pytest.mark.parametrize(
    ("count", "few"), [(12, list(range(12))), (13, [0, 2, 4, 6, 8, 10, 12]), (25, [0, 3, 6, 9, 12, 15, 18, 21, 24])]
)
def test_a_few_of_many_stations(count, few):
    assert _some(np.arange(count)).tolist() == few


@pytest.mark.parametrize(("degrees", "kept"), [(2.0, [0, 1, 2, 3]), (3.0, [0, 1, 2])])
def test_stations_are_parallel_to_most_of_a_piece(degrees, kept):
    turn = np.radians(degrees)
    outward = np.array([[0, 1], [0, 1], [0, 1], [np.sin(turn), np.cos(turn)], [1, 0], [0, -1]])
    at = Stations(np.zeros((6, 2)), outward, 0.5)
    assert _parallel(at, np.arange(6), np.array([4, 0, 1, 2])).tolist() == kept


def levels(*stretches: tuple[int, float]) -> np.ndarray:
    return np.concatenate([np.full(count, tint, np.float32) for count, tint in stretches])


def test_tints_begin_to_turn_a_few_steps_ahead():
    turns = _turns(levels((5, 0), (5, 255), (5, 0)), 3)
    assert np.flatnonzero(turns == 1).tolist() == [2]
    assert np.flatnonzero(turns == -1).tolist() == [7]


@pytest.mark.parametrize(
    ("tints", "changes"),
    [
        (levels((20, 255)), 0), (levels((6, 0), (6, 255), (6, 0)), 2), (levels((6, 255), (6, 0)), 1),
        (levels((6, 100), (6, 117)), 0), (levels((6, 100), (6, 118)), 1), (levels((6, 118), (6, 100)), 1),
        (levels((6, 0), (6, 100), (6, 255), (6, 100)), 3), (levels((20, 0)), 0),
    ],
)  # fmt: skip
def test_tints_change_by_more_than_a_share_of_the_strongest(tints, changes):
    """117 of them differ by 17, less than 0.15 x 117 = 17.55; 118 by 18, more than 17.7."""
    assert _changes(tints, 3) == changes


def test_shapes_may_come_again_from_rise_to_rise_and_from_fall_to_fall():
    tints = levels((6, 0), (7, 255), (5, 0), (7, 255), (9, 0))
    assert _steps_of(tints).tolist() == [11, 12, 13]
    assert _steps_of(levels((6, 0), (7, 255), (5, 0))).tolist() == []
    uneven = levels((6, 0), (7, 255), (5, 0), (10, 255), (9, 0))  # 12 from rise to rise, 15 from fall to fall
    assert _steps_of(uneven).tolist() == [11, 12, 13, 14, 15, 16]
