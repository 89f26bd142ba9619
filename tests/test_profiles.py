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
