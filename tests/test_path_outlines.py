"""Outlines of path operators: which points there are, closed and open, and how true curves come out."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.pdf.content import path_outlines
from preflight.artwork.pdf.content.path_outlines import outlines

AS_IT_IS = (1, 0, 0, 1, 0, 0)
Points = list[list[list[float]]]


def points(stretch: str, matrix=AS_IT_IS) -> Points:
    return [path.tolist() for path in outlines(stretch.encode(), matrix)]


PATHS: dict[str, tuple[str, Points]] = {
    "open": ("1 2 m 3 5 l 8 1 l", [[[1, 2], [3, 5], [8, 1]]]),
    "closed": ("1 2 m 3 5 l 8 1 l h", [[[1, 2], [3, 5], [8, 1], [1, 2]]]),
    "two": ("1 2 m 3 5 l 8 1 m 9 4 l", [[[1, 2], [3, 5]], [[8, 1], [9, 4]]]),
    "on from where it was closed": ("1 2 m 3 5 l h 8 1 l", [[[1, 2], [3, 5], [1, 2]], [[1, 2], [8, 1]]]),
    "closed twice": ("1 2 m 3 5 l h h", [[[1, 2], [3, 5], [1, 2]]]),
    "a rectangle": ("1 2 3 5 re", [[[1, 2], [4, 2], [4, 7], [1, 7], [1, 2]]]),
    "a rectangle behind a line": (
        "8 1 m 9 4 l 1 2 3 5 re", [[[8, 1], [9, 4]], [[1, 2], [4, 2], [4, 7], [1, 7], [1, 2]]],
    ),
    "a line behind a rectangle, from nowhere": ("1 2 3 5 re 8 1 l", [[[1, 2], [4, 2], [4, 7], [1, 7], [1, 2]]]),
    "nothing but a place": ("1 2 m", []),
    "a place given up": ("1 2 m 3 5 m 8 1 l", [[[3, 5], [8, 1]]]),
    "a line from nowhere": ("3 5 l 8 1 l", []),
    "a curve from nowhere": ("3 5 8 1 9 4 c", []),
    "more operands than it takes": ("7 1 2 m 7 3 5 l 7 1 2 3 5 re", [
        [[1, 2], [3, 5]], [[1, 2], [4, 2], [4, 7], [1, 7], [1, 2]],
    ]),
    "too few operands": ("1 2 m 9 l 3 5 l 1 2 3 4 5 c 1 2 3 v 1 2 3 y 8 1 l", [[[1, 2], [3, 5], [8, 1]]]),
}  # fmt: skip


@pytest.mark.parametrize(("stretch", "expected"), PATHS.values(), ids=PATHS)
@pytest.mark.parametrize("long", [False, True], ids=["short", "as a long one"])
def test_subpaths(stretch, expected, long, monkeypatch):
    if long:
        monkeypatch.setattr(path_outlines, "_SHORT_BYTES", 0)
    assert points(stretch) == expected


def test_outlines_go_through_the_matrix():
    assert points("1 2 m 3 5 l", (2, 3, 5, 7, 11, 13)) == [[[23, 30], [42, 57]]]
    assert points("1 2 3 5 re", (0, 2, -1, 0, 10, 20))[0][:3] == [[8, 22], [8, 28], [3, 28]]


def test_numbers_in_unusual_forms_are_read_as_everywhere():
    assert points("1. +2 m -.5 --5 l") == [[[1, 2], [-0.5, -5]]]
    assert points("1 2 m 3 5 l % note\n 8 1 l") == [[[1, 2], [3, 5], [8, 1]]]
    assert points("1.2.3 2 m 3 5 l") == [[[1.2, 2], [3, 5]]]


def test_what_is_no_number_leaves_its_path_out():
    assert points("1 2 m 3 5 l 8 1 m 9 4 l", (1e308, 0, 0, 1e308, 1e308, 0)) == []


CURVES = {
    "c": ("0 0 m 10 30 50 20 60 5 c", [(0, 0), (10, 30), (50, 20), (60, 5)]),
    "v": ("0 0 m 50 20 60 5 v", [(0, 0), (0, 0), (50, 20), (60, 5)]),
    "y": ("0 0 m 10 30 60 5 y", [(0, 0), (10, 30), (60, 5), (60, 5)]),
    "c behind too many operands": ("0 0 m 7 7 10 30 50 20 60 5 c", [(0, 0), (10, 30), (50, 20), (60, 5)]),
}


@pytest.mark.parametrize(("stretch", "controls"), CURVES.values(), ids=CURVES)
@pytest.mark.parametrize("scale", [0.01, 1, 20])
def test_a_curve_is_parted_evenly_into_as_many_chords_as_it_takes(stretch, controls, scale):
    """A chord over 1/n of it strays by at most three quarters of its second differences over n squared."""
    (found,) = outlines(stretch.encode(), (scale, 0, 0, scale, 0, 0))
    p = np.array(controls, float) * scale
    bend = np.abs(np.diff(p, n=2, axis=0)).max()
    pieces = min(64, max(1, int(np.ceil(np.sqrt(0.75 * bend / 0.02)))))
    t = np.linspace(0, 1, pieces + 1)[:, None]
    curve = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    assert found == pytest.approx(curve)


def test_a_straight_curve_is_one_chord():
    assert points("0 0 m 10 20 20 40 30 60 c") == [[[0, 0], [30, 60]]]


def test_a_curve_goes_on_from_a_curve():
    (found,) = points("0 0 m 1 0 2 0 3 0 c 3 1 3 2 3 3 c")
    assert found == [[0, 0], [3, 0], [3, 3]]
