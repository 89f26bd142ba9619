"""Stations and reaches on plates made in the test, so that the true distance is known."""

import numpy as np
import pytest
from shapely import LineString

from preflight.artwork.page.plates import Plates
from preflight.measures.raster import profiles


def half_plane(edge_mm: float, degrees: float, *, tint: float = 1.0, fade_mm: float = 0.0, dpi: float = 300) -> Plates:
    """12 x 12 mm; ink below a line through (6, 6 + edge) turned by an angle, each pixel holding its covered share."""
    pixels, fine = round(12 / 25.4 * dpi), 8
    mm = 25.4 / dpi / fine
    y, x = np.mgrid[: pixels * fine, : pixels * fine] * mm + mm / 2
    turn = np.radians(degrees)
    height = (pixels * fine * mm - y - 6) * np.cos(turn) - (x - 6) * np.sin(turn)
    ink = np.clip((edge_mm - height) / fade_mm, 0, 1) if fade_mm else (height <= edge_mm)
    mean = (ink * tint).reshape(pixels, fine, pixels, fine).mean((1, 3))
    side = pixels * fine * mm
    return Plates(("Mill Brown",), np.rint(mean * 255).astype(np.uint8)[None], dpi, (0.0, 0.0, side, side))


def measured(plates: Plates, degrees: float) -> np.ndarray:
    turn = np.radians(degrees)
    along = np.array([np.cos(turn), np.sin(turn)]) * 1.5
    line = LineString([(6, 6) + along, (6, 6) - along])  # blank on its left: below
    at = profiles.stations_on(line, 0.5)
    offsets = np.arange(-0.3, 4.01, 0.042)
    return profiles.reach_mm(profiles.tints_along(plates, ["Mill Brown"], at, offsets)[0], offsets, 5, -0.3)


@pytest.mark.parametrize("degrees", [0, 17, 45])
@pytest.mark.parametrize("true_mm", [0.0, 0.13, 1.9, 1.95, 2.0, 2.1, 3.0])
def test_a_hard_edge_is_found_to_three_hundredths(true_mm, degrees):
    found = measured(half_plane(true_mm, degrees), degrees)
    assert np.abs(found - true_mm).max() < 0.03


def test_a_light_tint_counts_as_much_as_a_solid():
    assert np.abs(measured(half_plane(2.0, 0, tint=0.1), 0) - 2.0).max() < 0.04


def test_a_fade_ends_where_nothing_is_seen():
    found = measured(half_plane(2.0, 0, fade_mm=3), 0)  # solid at -1, nothing from 2 on, 2 % at 1.94
    assert np.abs(found - 1.94).max() < 0.12


def test_ink_past_the_look_reads_as_the_look():
    assert measured(half_plane(5.5, 0), 0) == pytest.approx(np.arange(-0.3, 4.01, 0.042)[-1])


def test_ink_that_stops_inside_reads_below_nought():
    assert np.abs(measured(half_plane(-0.2, 0), 0) + 0.2).max() < 0.03


def test_stations_have_the_outside_on_their_right():
    at = profiles.stations_on(LineString([(0, 0), (10, 0), (10, 10)]), 0.5)
    assert len(at) == 40
    assert at.xy[0].tolist() == [0.25, 0]
    assert at.outward[0].tolist() == [0, -1]
    assert at.outward[-1].tolist() == [1, 0]


@pytest.mark.parametrize(
    ("dip", "left"),
    [(3, 4.0), (4, 1.0), (10, 1.0)],
    ids=["1.5 mm is left alone", "2 mm is a stretch", "5 mm is a stretch"],
)
def test_short_dips_are_filled(dip, left):
    values = np.full(30, 4.0)
    values[5 : 5 + dip] = 1.0
    assert profiles.without_short_dips(values, 4, 4.0).min() == left


@pytest.mark.parametrize(
    ("reach", "left"),
    [
        (np.linspace(0, 4, 20), 2),
        (4 * np.sin(np.linspace(0, np.pi, 20)), 3),
        (np.full(20, 1.0) + np.random.default_rng(3).normal(0, 0.02, 20), 20),
        (np.linspace(1, 1.2, 20), 20),
    ],
    ids=["a stripe", "a dot", "a ground without bleed", "a ground that is a little crooked"],
)
def test_what_leaves_the_cut_aslant_is_told_from_what_stops_at_it(reach, left):
    padded, touched = np.pad(reach, 3, constant_values=4.0), np.pad(np.ones(20, bool), 3)
    assert (touched & ~profiles.crossing(padded, touched, 0.5, 0.06)).sum() <= left
    if left == 20:
        assert not profiles.crossing(padded, touched, 0.5, 0.06).any()


SIDES = {"left": (-1, 0), "right": (1, 0), "bottom": (0, -1), "top": (0, 1)}


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("from_edge_mm", [0.0, 0.5, 1.9])
def test_nothing_is_found_beyond_the_page(side, from_edge_mm):
    """A cut near one edge of the page, and ink that covers the opposite half of it, up to the edge there."""
    low, high, mm = (100.0, 50.0), (120.0, 62.0), 0.1
    ink = np.zeros((1, 120, 200), np.uint8)
    opposite = {"left": np.s_[:, :, 100:], "right": np.s_[:, :, :100], "bottom": np.s_[:, :60], "top": np.s_[:, 60:]}
    ink[opposite[side]] = 255
    plates = Plates(("Rust",), ink, 25.4 / mm, (*low, *high))
    x, y = SIDES[side]
    at_x = (low[0] + from_edge_mm if x < 0 else high[0] - from_edge_mm) if x else 110.0
    at_y = (low[1] + from_edge_mm if y < 0 else high[1] - from_edge_mm) if y else 56.0
    ends = [(at_x - y * 3, at_y + x * 3), (at_x + y * 3, at_y - x * 3)]
    at = profiles.stations_on(LineString(ends), 0.5)
    if (at.outward[0] != (x, y)).any():
        at = profiles.stations_on(LineString(ends[::-1]), 0.5)
    assert (at.outward == (x, y)).all()
    found = profiles.tints_along(plates, ["Rust"], at, np.arange(-1.0, 5.0, 0.05))
    assert found.max() == 0
    inward = profiles.tints_along(plates, ["Rust"], at, np.array([-0.7 * (20 if x else 12)]))
    assert (inward[0] == 255).all()  # what is on the page is found all the same


def test_stations_stand_at_the_middles_of_even_steps():
    """7 mm in steps of about 2 mm are four of 1.75 mm; a piece without length changes nothing."""
    at = profiles.stations_on(LineString([(3, 5), (6, 5), (6, 5), (6, 9)]), 2.0)
    assert at.spacing_mm == pytest.approx(1.75)
    assert at.xy == pytest.approx(np.array([(3.875, 5), (5.625, 5), (6, 6.375), (6, 8.125)]))
    assert at.outward == pytest.approx(np.array([(0, -1), (0, -1), (1, 0), (1, 0)]))


def test_a_short_line_has_one_station_and_a_point_has_none():
    at = profiles.stations_on(LineString([(3, 5), (3.1, 5)]), 2.0)
    assert at.xy == pytest.approx(np.array([(3.05, 5)]))
    assert at.spacing_mm == pytest.approx(0.1)
    assert len(profiles.stations_on(LineString([(3, 5), (3, 5)]), 2.0)) == 0


def test_a_part_of_the_stations():
    at = profiles.stations_on(LineString([(3, 5), (9, 5)]), 2.0)
    part = at.part(np.array([2, 0]))
    assert part.xy.tolist() == [[8, 5], [4, 5]]
    assert part.outward.tolist() == [[0, -1], [0, -1]]
    assert (len(part), part.spacing_mm) == (2, 2.0)


SLOPE = Plates(
    ("Rust", "Moss", "Bare"),
    np.stack([np.add.outer(np.arange(6) * 10, np.arange(9)), np.full((6, 9), 40), np.zeros((6, 9))]).astype(np.uint8),
    25.4,
    (20.0, 30.0, 29.0, 36.0),
)
"""A pixel is a millimetre; Rust rises by 10 a row downwards and by 1 a column, Moss is even."""


@pytest.mark.parametrize(
    ("x", "y", "rust", "moss"),
    [
        (20.5, 35.5, 0, 40),
        (28.5, 30.5, 58, 40),
        (23.75, 32.25, 10 * 3.25 + 3.25, 40),
        (20.0, 33.5, 10, 20),
        (29.0, 33.5, 14, 20),
        (24.5, 36.0, 2, 20),
        (24.5, 30.0, 27, 20),
        (19.5, 33.5, 0, 0),
        (24.5, 29.5, 0, 0),
    ],
    ids=["the first pixel", "the last pixel", "between four", "the left edge", "the right edge", "the upper edge",
         "the lower edge", "off at the left", "off at the bottom"],
)  # fmt: skip
def test_tints_between_the_middles_of_pixels(x, y, rust, moss):
    """In proportion to the four about it; off the plates it is bare."""
    for many in (1, 200):  # one is looked up on its own, many on plates that hold any ink
        found = profiles.tints_at(SLOPE, ["Moss", "Bare", "Rust"], np.full(many, x), np.full(many, y))
        assert found.shape == (3, many)
        assert found == pytest.approx(np.repeat([[moss], [0], [rust]], many, axis=1), abs=1e-3)


def test_a_place_off_the_plates_takes_nothing_from_those_on_it():
    x, y = np.array([23.5, 10.0, 24.5, 50.0, 25.5]), np.array([33.5, 33.5, 99.0, 1.0, 32.5])
    assert profiles.tints_at(SLOPE, ["Rust"], x, y).tolist() == [[23, 0, 0, 0, 35]]
    assert profiles.tints_at(SLOPE, ["Rust"], x[:0], y[:0]).shape == (1, 0)
    assert profiles.tints_at(SLOPE, ["Bare", "Nobody"], x, y).tolist() == [[0] * 5, [0] * 5]


def test_tints_along_normals_are_told_for_each_station_and_offset():
    at = profiles.stations_on(LineString([(22, 33.5), (26, 33.5)]), 2.0)  # at 23 and 25; outward is down
    found = profiles.tints_along(SLOPE, ["Moss", "Rust"], at, np.array([-1.0, 0.0, 2.0]))
    assert found.shape == (2, 2, 3)
    assert found[0].tolist() == [[40] * 3] * 2
    assert found[1] == pytest.approx(np.array([[12.5, 22.5, 42.5], [14.5, 24.5, 44.5]]))


OFFSETS: np.ndarray = np.arange(-4, 20) * 0.1
FINER: np.ndarray = np.arange(-8, 40) * 0.05


def reach(*tints: int, offsets: np.ndarray = OFFSETS) -> float:
    """The reach of tints from -0.4 mm on, a step each; bare where no more are given. Ink touches up to -0.2 mm."""
    row = np.zeros((1, len(offsets)), np.float32)
    row[0, : len(tints)] = tints
    return float(profiles.reach_mm(row, offsets, 5, -0.2)[0])


@pytest.mark.parametrize(
    ("tints", "expected"),
    [
        ([200] * 24, 1.9),
        ([0] * 24, -0.4),
        ([4] * 24, -0.4),
        ([5] * 24, 1.9),
        ([200] * 10, 0.55),
        ([200] * 10 + [100], 0.6),
        ([200] * 10 + [150], 0.6 + 0.1 / 3),
        ([200] * 10 + [50], 0.5 + 0.1 * 100 / 150),
        ([0, 0, 200] + [200] * 7, 0.55),
        ([200, 0, 0] + [200] * 7, -0.35),
        ([200, 200, 200, 0] + [200] * 7, -0.15),
        ([0, 0, 0] + [200] * 4, -0.4),
        ([200] * 8 + [90, 20, 4], 0.3 + 0.1 * 100 / 110),
        ([200] * 23 + [120], 1.9),
    ],
    ids=["past the look", "none", "under the threshold", "at the threshold", "between two", "half of it in a pixel",
         "more than half", "less than half", "touching somewhere", "stopping before it touches", "a gap ends it",
         "where it would have to touch there is none", "an edge that is a little soft", "as far as the look"],
)  # fmt: skip
def test_how_far_ink_carries_on(tints, expected):
    assert reach(*tints) == pytest.approx(expected, abs=1e-6)


def test_an_edge_that_takes_longer_than_a_quarter_of_a_millimetre_is_none():
    """It falls to half of what it was at 0 mm; of the light rest behind it one has an end at 0.2, one at 0.25 mm."""
    rest = [90, 50, 30, 20]
    assert reach(*[200] * 8, *rest, offsets=FINER) == pytest.approx(-0.05 + 0.05 * 100 / 110, abs=1e-6)
    assert reach(*[200] * 8, *rest, 10, offsets=FINER) == pytest.approx(0.25, abs=1e-6)


@pytest.mark.parametrize(
    ("mask", "expected"),
    [([], []), ([0, 0], []), ([1, 1, 1], [(0, 3)]), ([0, 1, 1, 0, 1], [(1, 3), (4, 5)]),
     ([1, 0, 0, 1, 0], [(0, 1), (3, 4)])],
)  # fmt: skip
def test_runs_are_half_open(mask, expected):
    assert profiles.runs(np.array(mask, bool)) == expected


@pytest.mark.parametrize("width", range(1, 10))
def test_the_extreme_of_each_so_many_neighbours(width):
    values = np.random.default_rng(2).random(23)
    expected = [values[at : at + width].max() for at in range(24 - width)]
    assert profiles.neighbouring(values, width, np.maximum).tolist() == expected


@pytest.mark.parametrize(
    ("values", "width", "expected"),
    [
        ([3, 1, 3, 3], 1, [3, 1, 3, 3]),
        ([3, 1, 2, 4], 2, [3, 2, 2, 4]),
        ([3, 1, 1, 4, 2, 5], 3, [3, 3, 3, 4, 4, 5]),
        ([3, 1, 1, 1, 4], 3, [3, 1, 1, 1, 4]),
        ([1, 3, 3, 3], 2, [3, 3, 3, 3]),
        ([3, 2, 3], 3, [3, 3, 3]),
        ([3, 2, 3], 4, [9, 9, 9]),
    ],
    ids=["nothing is narrower than one", "one entry", "two of three", "three of three", "at an end", "as long as it",
         "a line that is shorter is all top"],
)  # fmt: skip
def test_a_dip_is_filled_up_to_its_lower_rim(values, width, expected):
    assert profiles.without_short_dips(np.array(values, float), width, 9.0).tolist() == expected


@pytest.mark.parametrize(
    ("values", "sides", "expected"),
    [
        ([0, 1, 2, 3, 3, 3, 3], (True, True), [1, 1, 0, 0, 0, 0, 0]),
        ([0, 1, 2, 3, 3, 3, 3], (False, True), [0] * 7),
        ([3, 3, 3, 3, 2, 1, 0], (True, True), [0, 0, 0, 0, 0, 1, 1]),
        ([3, 3, 3, 3, 2, 1, 0], (True, False), [0] * 7),
        ([0, 1, 2, 3, 2, 1, 0], (True, True), [1, 1, 0, 0, 0, 1, 1]),
        ([0, 1, 2, 3, 4, 5, 6], (True, True), [1, 1, 1, 1, 1, 0, 0]),
        ([0, 0.5, 1.0, 1.5, 2.0], (True, True), [0] * 5),
        ([0, 0.6, 1.2, 1.8, 2.4], (True, True), [1, 1, 1, 0, 0]),
        ([0, 9], (True, True), [0, 0]),
        ([0, 5, 9], (True, True), [1, 0, 0]),
    ],
    ids=["from the first", "not asked for", "from the last", "not asked for at the last", "from both",
         "all the way", "no steeper", "steeper", "shorter than a millimetre", "just longer"],
)  # fmt: skip
def test_where_values_climb_from_the_ends(values, sides, expected):
    """Steps of 0.5 mm, and a slope of 1: over a millimetre, two steps, they have to rise by more than 1."""
    values = np.array(values, float)
    found = profiles.climbing(values, sides, 0.5, 1.0)
    assert found.tolist() == [bool(flag) for flag in expected]


def test_a_shape_crosses_only_where_it_ends_along_the_line():
    """What touches up to the first or the last station may go on beyond them."""
    reach = np.array([0, 1, 2, 3, 3, 3, 2, 1, 0], float)
    everywhere = np.ones(9, bool)
    assert not profiles.crossing(reach, everywhere, 0.5, 1.0).any()
    but_the_first, but_the_last = everywhere.copy(), everywhere.copy()
    but_the_first[0] = but_the_last[8] = False
    assert profiles.crossing(reach, but_the_first, 0.5, 1.0).tolist() == [False, True] + [False] * 7
    assert profiles.crossing(reach, but_the_last, 0.5, 1.0).tolist() == [False] * 7 + [True, False]


def test_the_tints_that_stand_inside_are_the_outermost_of_the_fullest():
    """Three stations; two inks at three places, the last outermost."""
    zone = np.array(
        [
            [[100, 0, 0], [50, 60, 20], [100, 100, 90]],
            [[0, 100, 89], [50, 50, 90], [0, 0, 0]],
        ],
        np.float32,
    )
    assert profiles.standing_inside(zone).tolist() == [[0, 20, 90], [100, 90, 0]]


def test_a_plate_keeps_no_more_than_it_had():
    tints = np.array([[[80, 200, 0]], [[40, 10, 90]]], np.float32)
    assert profiles.kept_of(tints, np.array([[100], [30]], np.float32)).tolist() == [[110, 110, 30]]


def carried(*kept: float, total: float = 200.0) -> float:
    row = np.zeros((1, len(OFFSETS)), np.float32)
    row[0, : len(kept)] = kept
    return float(profiles.carried_mm(row, np.array([total], np.float32), OFFSETS, 0.6, 5, -0.2)[0])


def test_inks_end_where_they_are_suddenly_less():
    """To two fifths at 0.6 mm: less than the share of 60 %. At once they have lost half of that step at 0.55 mm."""
    assert carried(*[200] * 10, *[80] * 14) == pytest.approx(0.5 + 0.1 * 100 / 120)


def test_inks_that_slowly_grow_less_end_where_nothing_is_seen_of_them():
    fade = [200 - 7 * max(0, at - 6) for at in range(24)]
    assert carried(*fade) == pytest.approx(1.9)


def test_inks_that_are_kept_carry_on():
    assert carried(*[150] * 24) == pytest.approx(1.9)


@pytest.mark.parametrize(
    ("values", "mask", "expected"),
    [
        ([1, 1, 1, 1], [1, 1, 1, 1], [(0, 4)]),
        ([1, 1.5, 1.5, 1], [1, 1, 1, 1], [(0, 4)]),
        ([1, 1.6, 1.6, 1], [1, 1, 1, 1], [(0, 1), (1, 3), (3, 4)]),
        ([1, 9, 1, 1, 3], [1, 0, 1, 1, 1], [(0, 1), (2, 4), (4, 5)]),
        ([1, 2], [0, 0], []),
    ],
)
def test_pieces_are_parted_where_a_value_jumps(values, mask, expected):
    assert profiles.pieces_alike(np.array(values, float), np.array(mask, bool), 0.5) == expected


def test_each_station_is_told_by_itself():
    """Sudden ends and fades, gaps and full reaches in one look, as each of them alone."""
    rows = [[200] * 10, [200] * 24, [0] * 24, [200 - 7 * max(0, at - 6) for at in range(24)], [200] * 10 + [80] * 14]
    tints = np.zeros((len(rows), len(OFFSETS)), np.float32)
    for row, own in zip(tints, rows, strict=True):
        row[: len(own)] = own
    assert profiles.reach_mm(tints.copy(), OFFSETS, 5, -0.2).tolist() == [reach(*own) for own in rows]
    total = np.full(len(rows), 200, np.float32)
    assert profiles.carried_mm(tints, total, OFFSETS, 0.6, 5, -0.2).tolist() == [carried(*own) for own in rows]


def test_a_share_of_nothing_is_nothing():
    assert carried(*[0.4] * 24, total=0.0) == pytest.approx(-0.4)


@pytest.mark.parametrize(
    ("kept", "expected"),
    [
        ([200] * 10 + [118] * 14, 0.6),
        ([200 - 15.5 * max(0, at - 6) for at in range(24)], 0.8),
        ([200 - 8 * max(0, at - 6) for at in range(24)], 1.9),
    ],
    ids=["two fifths at once", "two fifths within 0.6 mm", "a quarter within 0.6 mm"],
)
def test_a_loss_is_sudden_from_three_tenths_within_three_tenths_of_a_millimetre(kept, expected):
    """Up to where three fifths are kept, or, where it is not sudden, as far as anything is seen."""
    assert carried(*kept) == pytest.approx(expected, abs=1e-6)
