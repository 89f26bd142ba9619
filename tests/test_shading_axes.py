"""The axis of axial and radial shadings as the renderer is given it: it goes on by 1/255 where it is not extended."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pikepdf import Array, Dictionary

from preflight.artwork.platemaking.shading_axes import axis_of, extends_beyond, scale_of, touches


def shading(*coords: float, extend: tuple[object, ...] | None = None, kind: int | None = None) -> Dictionary:
    made = Dictionary(ShadingType=kind or {4: 2, 6: 3}[len(coords)], Coords=Array(list(coords)))
    if extend is not None:
        made.Extend = Array(list(extend))
    return made


@pytest.mark.parametrize(
    ("extend", "expected"),
    [
        (None, (False, False)),
        ((True, False), (True, False)),
        ((False, True), (False, True)),
        ((True,), (False, False)),
        ((1, True), (False, True)),
    ],
)
def test_what_is_extended(extend, expected):
    assert extends_beyond(shading(0, 0, 1, 1, extend=extend)) == expected


@pytest.mark.parametrize(
    ("extend", "coords"),
    [
        ((False, False), [11, 7, 266, 517]),  # 255 of 257 parts, the first and the last are the step that it goes on
        ((True, True), [10, 5, 267, 519]),
        ((True, False), [10, 5, 10 + 257 * 255 / 256, 5 + 514 * 255 / 256]),
        ((False, True), [10 + 257 / 256, 5 + 514 / 256, 267, 519]),
    ],
)
def test_an_axis_ends_a_step_earlier_where_it_is_not_extended(extend, coords):
    axis = axis_of(shading(10, 5, 267, 519, extend=extend))
    assert axis is not None
    assert axis.coords == pytest.approx(coords)
    assert axis.extend == extend


def test_colours_are_looked_up_within_their_steps():
    axis = axis_of(shading(10, 5, 267, 519, extend=(True, True)))
    assert axis is not None
    assert axis.shares.shape == (256, 8)
    assert axis.shares[0] == pytest.approx(0)  # what is extended has the colour of the end
    assert axis.shares[255] == pytest.approx(1)
    assert axis.shares[100] == pytest.approx((100 + (np.arange(8) + 0.5) / 8) / 255)
    assert axis.shares[254, 7] == pytest.approx((254 + 7.5 / 8) / 255)


def test_colours_of_an_axis_that_ends_are_shared_out_over_all_steps():
    axis = axis_of(shading(10, 5, 267, 519))
    assert axis is not None
    assert axis.shares[0] == pytest.approx((1 + (np.arange(8) + 0.5) / 8) / 257)
    assert axis.shares[254] == pytest.approx((255 + (np.arange(8) + 0.5) / 8) / 257)
    assert axis.shares[255] == pytest.approx(1)


@pytest.mark.parametrize(
    "nowhere",
    [
        shading(3, 4, 3, 4),
        shading(3, 4, 5, 3, 4, 5),
        shading(3, 4, -1, 30, 4, 5),
        shading(3, 4, 1, 30, 4, -0.5),
        shading(3, 4, 30, 5, kind=1),
        shading(3, 4, 30, 5, kind=3),  # four of six numbers
        Dictionary(ShadingType=2),
    ],
)
def test_what_goes_nowhere_has_no_axis(nowhere):
    assert axis_of(nowhere) is None


@pytest.mark.parametrize("somewhere", [shading(3, 4, 3, 5), shading(3, 4, 0, 30, 4, 0.5), shading(3, 4, 5, 3, 4, 6)])
def test_what_goes_somewhere_has_one(somewhere):
    assert axis_of(somewhere) is not None


@pytest.mark.parametrize(
    ("coords", "expected"),
    [
        ((0, 0, 5, 3, 4, 10), True),
        ((1, 2, 10, 4, 6, 5), True),
        ((0, 0, 5, 3, 4, 10.001), False),
        ((0, 0, 5, 3, 4, 9.999), False),
        ((0, 0, 5, 0, 0, 5), False),
        ((0, 0, 5, 0, 0, 9), False),
    ],
)
def test_circles_touch_where_their_radii_differ_by_their_distance(coords, expected):
    assert touches(list(coords)) == expected


@pytest.mark.parametrize(
    ("coords", "expected"),
    [
        ((0, 0, 90, 70), 1),
        ((0, 0, 10, 60, 80, 20), 1),
        ((1, 2, 10, 31, 42, 20), 1),  # just 50 in size
        ((1, 2, 10, 31, 41, 20), 1e5 / math.hypot(30, 39)),
        ((0, 0, 49, 3, 4, 40), 1e5 / 49),
        ((0, 0, 2, 3, 4, 49.5), 1e5 / 49.5),
        ((0, 0, 5, 3, 4, 10), 1 / 10),  # circles that touch
        ((7, 7, 0, 7, 7, 1e-7), 1),
        ((0, 0, 110.4, 100.5, 0, 10), 1e5 / 110.4),  # 100.5 would be cut to 100, which is less than 100.4
        ((0, 0, 110, 100.5, 0, 10), 1),
        ((0, 0, 110.6, 100.5, 0, 10), 1),
    ],
)
def test_lengths_are_scaled_where_they_would_be_cut(coords, expected):
    assert scale_of(shading(*coords)) == pytest.approx(expected)


def test_circles_are_scaled_with_their_places():
    """Within 50 points: a hundred thousand in all; extended both ways they stay what they are."""
    axis = axis_of(shading(3, 4, 1, 13, 24, 40, extend=(True, True)))
    assert axis is not None
    assert axis.coords == pytest.approx([value * 2500 for value in (3, 4, 1, 13, 24, 40)])


def test_circles_that_shrink_within_go_on_at_their_end_only():
    """From a large circle to one within it: 255 of 256 parts."""
    axis = axis_of(shading(30, 40, 100, 35, 45, 60))
    assert axis is not None
    assert axis.coords == pytest.approx([30, 40, 100, 30 + 5 * 255 / 256, 40 + 5 * 255 / 256, 100 - 40 * 255 / 256])
    extended = axis_of(shading(30, 40, 100, 35, 45, 60, extend=(False, True)))
    assert extended is not None
    assert extended.coords == pytest.approx([30, 40, 100, 35, 45, 60])


def test_circles_that_grow_go_on_at_their_start_only():
    axis = axis_of(shading(30, 40, 60, 35, 45, 100))
    assert axis is not None
    assert axis.coords == pytest.approx([30 + 5 / 256, 40 + 5 / 256, 60 + 40 / 256, 35, 45, 100])
    extended = axis_of(shading(30, 40, 60, 35, 45, 100, extend=(True, False)))
    assert extended is not None
    assert extended.coords == pytest.approx([30, 40, 60, 35, 45, 100])


def test_circles_that_all_but_touch_are_drawn_a_little_further_off():
    """Distance 100: radii that differ by 100.005 are drawn with 100.01, those that differ by 99.995 with 99.99."""
    outside = axis_of(shading(0, 0, 60, 60, 80, 160.005, extend=(True, True)))
    inside = axis_of(shading(0, 0, 60, 60, 80, 159.995, extend=(True, True)))
    shrinking = axis_of(shading(60, 80, 160.005, 0, 0, 60, extend=(True, True)))
    far = axis_of(shading(0, 0, 60, 60, 80, 160.02, extend=(True, True)))
    assert outside is not None
    assert inside is not None
    assert shrinking is not None
    assert far is not None
    assert outside.coords[2:] == pytest.approx([60, 60, 80, 160.01])
    assert inside.coords[2:] == pytest.approx([60, 60, 80, 159.99])
    scale = shrinking.coords[5] / 60
    assert np.array(shrinking.coords) / scale == pytest.approx([60, 80, 160.01, 0, 0, 60])
    assert far.coords[5] == pytest.approx(160.02)


@pytest.mark.parametrize(
    ("coords", "extend", "shares"),
    [
        ((0, 0, 5, 3, 4, 10), (True, True), (-1 + 2 / 256, 1)),
        ((3, 4, 10, 0, 0, 5), (True, True), (0, 2 - 2 / 256)),
        ((0, 0, 5, 3, 4, 10), (False, True), (1 / 256, 1)),
        ((0, 0, 5, 3, 4, 10), (True, False), (-1 + 2 / 257, 1 - 2 / 257)),
        ((3, 4, 10, 0, 0, 5), (True, False), (0, 255 / 256)),
    ],
)
def test_circles_that_touch_begin_or_end_where_they_are_a_point(coords, extend, shares):
    """Extended, from no radius on: as far before the start as it is long. Where it is not, it goes on by a step."""
    axis = axis_of(shading(*coords, extend=extend))
    assert axis is not None
    first, last = np.array(coords[:3]), np.array(coords[3:])
    drawn = np.array(axis.coords) * 10  # its largest circle is 1
    assert drawn[:3] == pytest.approx(first + shares[0] * (last - first), abs=1e-6)
    assert drawn[3:] == pytest.approx(first + shares[1] * (last - first), abs=1e-6)
