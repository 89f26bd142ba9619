"""Colour spaces whose tint transform goes to the channels of a rendering."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pikepdf
import pytest

from preflight.artwork.pdf.colour.colour_spaces import CMYK, GRAY, RGB, ColourSpace, cmyk_of_lab
from preflight.artwork.pdf.colour.functions import read_functions
from preflight.artwork.platemaking.renderings import LUMINOSITY, SILHOUETTE, Rendering
from preflight.artwork.platemaking.shading_colour_spaces import (
    as_bytes,
    in_channels,
    is_calculated,
    on_one_plate,
    space_for_plates,
)
from preflight.errors import CannotBeRendered, TooBig

OUT = pikepdf.new()
LAB = ColourSpace(
    "Lab", 3, RGB.plates, (0.0,) * 3, ((0, 100), (-100, 100), (-90, 80)), not_a_plate="Lab", to_plates=cmyk_of_lab
)
TWO = ColourSpace("DeviceN", 2, ("Cyan", "Gold"), (1.0, 1.0))
ALL = ColourSpace("Separation", 1, ("All",), (1.0,))
CROSSED = ColourSpace("DeviceN", 2, ("Gold", "Rust"), (1.0, 1.0), to_plates=lambda rows: rows[:, ::-1])
SQUARED = ColourSpace("DeviceN", 1, ("Gold",), (1.0,), to_plates=lambda rows: rows**2)


def inks(*channels: str, marked: tuple[str, ...] = ()) -> Rendering:
    return Rendering(tuple((name,) for name in channels), marked)


@pytest.mark.parametrize(
    ("space", "rendering", "colour", "expected"),
    [
        (CMYK, inks("Yellow", "Cyan", "Gold"), (0.1, 0.2, 0.3, 0.4), (0.7, 0.9, 1)),
        (CMYK, inks("Black", "Magenta"), (0.1, 0.2, 0.3, 0.4), (0.6, 0.8, 1)),
        (CMYK, SILHOUETTE, (0.1, 0.2, 0.3, 0.4), (0, 0, 0)),
        (TWO, inks("Gold", "Black", "Cyan"), (0.3, 0.8), (0.2, 1, 0.7)),
        (TWO, Rendering((("Rust", "Gold"), ("Leaf", "Cyan"))), (0.3, 0.8), (0.2, 0.7, 1)),
        (CROSSED, inks("Gold", "Rust"), (0.3, 0.8), (0.2, 0.7, 1)),
        (ALL, inks("Cyan", "Gold", "Rust", marked=("Cyan", "Rust")), (0.3,), (0.7, 1, 0.7)),
        (SQUARED, inks("Rust", "Gold"), (0.5,), (1, 0.75, 1)),
        (RGB, inks("Black", "Cyan", "Magenta"), (0.2, 0.6, 0.5), (0.6, 0.6, 1)),  # cyan 0.4, yellow 0.1, black 0.4
        (RGB, inks("Yellow", "Gold", "Black"), (0.2, 0.6, 0.5), (0.9, 1, 0.6)),
        (RGB, inks("Magenta", "Yellow", "Cyan"), (0.9, 0.4, 0.7), (0.5, 0.8, 1)),
        (RGB, LUMINOSITY, (0.2, 0.6, 0.5), (0.469,) * 3),
        (GRAY, inks("Cyan", "Black"), (0.3,), (1, 0.3, 1)),
        (GRAY, LUMINOSITY, (0.3,), (0.3,) * 3),
        (CMYK, LUMINOSITY, (0.5, 0, 0, 0.25), (0.6375,) * 3),
        (TWO, LUMINOSITY, (1, 1), (0.7 * 0.25,) * 3),
        (RGB, Rendering(light="RGB"), (0.25, 0.5, 1), (0.25, 0.5, 1)),
        (RGB, Rendering(light="Gray"), (1, 1, 0), (0.89,) * 3),
        (TWO, Rendering(light="RGB"), (0.5, 1), (0.5, 1, 1)),
        (LAB, inks("Black", "Cyan", "Yellow"), (50, 0, 0), (119 / 255, 1, 1)),
        (LAB, LUMINOSITY, (50, 0, 0), (119 / 255,) * 3),
        (LAB, Rendering(light="Gray"), (50, 0, 0), (119 / 255,) * 3),
    ],
)
def test_colours_come_out_in_the_channels_of_their_plates(space, rendering, colour, expected):
    """As the tint transform of the space that is written gives them, bare 1 and solid 0."""
    made: Any = space_for_plates(OUT, space, rendering, {"Gold": 0.25})
    assert len(made[1]) == space.components
    assert len({str(name) for name in made[1]}) == space.components
    found = read_functions(made[3])(np.array([colour, colour], float))
    assert found == pytest.approx(np.array([expected] * 2), abs=0.004)


@pytest.mark.parametrize("colour", [(30, 60, -70), (80, -50, 60), (20, 5, 40), (95, -10, -5), (60, 95, 75)])
def test_lab_is_calculated_as_it_is_elsewhere(colour):
    made: Any = space_for_plates(OUT, LAB, inks("Cyan", "Magenta", "Yellow"), {})
    black: Any = space_for_plates(OUT, LAB, inks("Gold", "Black"), {})
    rows = np.array([colour], float)
    expected = 1 - LAB.tints(rows)[0]
    assert read_functions(made[3])(rows)[0] == pytest.approx(expected[:3], abs=0.002)
    assert read_functions(black[3])(rows)[0] == pytest.approx([1, expected[3], 1], abs=0.002)


def test_sampled_colours_go_over_the_ranges_of_their_space():
    ranged = replace(SQUARED, ranges=((10.0, 20.0),), to_plates=lambda rows: (rows - 10) / 40)
    made: Any = space_for_plates(OUT, ranged, inks("Gold"), {})
    assert read_functions(made[3])(np.array([[10.0], [18], [20]]))[:, 0] == pytest.approx([1, 0.8, 0.75], abs=0.003)


def test_each_input_is_sampled_by_itself():
    mixed = ColourSpace("DeviceN", 3, ("Gold", "Rust", "Leaf"), (1.0,) * 3, to_plates=lambda rows: rows * (0.2, 0.5, 1))
    made: Any = space_for_plates(OUT, mixed, inks("Leaf", "Gold", "Rust"), {})
    found = read_functions(made[3])(np.array([[1, 0, 0.5], [0, 0.5, 1]]))
    assert found == pytest.approx(np.array([[0.5, 0.8, 1], [0, 1, 0.75]]), abs=0.003)


def test_an_indexed_space_is_not_interpolated():
    with pytest.raises(CannotBeRendered):
        space_for_plates(OUT, ColourSpace("Indexed", 1, ("Gold",), (0.0,), base=TWO), inks("Gold"), {})


@pytest.mark.parametrize(("count", "fits"), [(16, True), (17, False)])
def test_spaces_of_very_many_colorants_are_not_sampled(count, fits):
    space = ColourSpace("DeviceN", count, tuple(f"S{n}" for n in range(count)), (1.0,) * count)
    assert space_for_plates(OUT, space, inks("S3"), {}) is not None  # handed on, and not sampled
    if fits:
        assert space_for_plates(OUT, space, LUMINOSITY, {}) is not None
    else:
        with pytest.raises(TooBig):
            space_for_plates(OUT, space, LUMINOSITY, {})


@pytest.mark.parametrize(
    ("space", "rendering", "expected"),
    [
        (CMYK, inks("Cyan"), True),
        (CMYK, LUMINOSITY, False),
        (CMYK, SILHOUETTE, True),
        (RGB, inks("Cyan"), True),
        (RGB, LUMINOSITY, True),
        (RGB, Rendering(light="RGB"), False),
        (LAB, inks("Cyan"), True),
        (GRAY, inks("Black"), False),
        (SQUARED, inks("Gold"), False),
        (SQUARED, SILHOUETTE, True),
        (CROSSED, inks("Gold"), True),
        (ColourSpace("Pattern", 0, (), ()), inks("Gold"), False),
    ],
)
def test_which_spaces_are_exact_at_each_pixel(space, rendering, expected):
    assert is_calculated(space, rendering) == expected


TINTS = np.array([[[51, 102, 0, 204], [255, 0, 10, 0]]], np.uint8)


@pytest.mark.parametrize(
    ("rendering", "expected"),
    [
        (inks("Black", "Gold", "Cyan"), [[51, 255, 204], [255, 255, 0]]),
        (inks("Magenta"), [[153, 255, 255], [255, 255, 255]]),
        (SILHOUETTE, [[0, 0, 0], [0, 0, 0]]),
        (LUMINOSITY, [[36] * 3, [177] * 3]),  # (1 - 0.06 - 0.236) x 0.2; 1 - 0.3 - 0.11 x 10 / 255
        (Rendering(light="RGB"), [[0, 0, 51], [0, 255, 245]]),
    ],
)
def test_tints_become_channels(rendering, expected):
    assert in_channels(rendering, CMYK, TINTS, {})[0].tolist() == expected


def test_registration_colour_goes_to_the_channels_that_it_marks():
    tint = np.array([[51]], np.uint8)
    assert in_channels(inks("Cyan", "Gold", marked=("Gold",)), ALL, tint, {}).tolist() == [[255, 204, 255]]
    several = Rendering((("Cyan", "Gold"), ("Leaf", "Rust")), ("Gold",))
    assert in_channels(several, ALL, tint, {}).tolist() == [[204, 255, 255]]


@pytest.mark.parametrize(
    ("rendering", "names", "expected"),
    [
        (inks("Gold", "Cyan"), ("Magenta", "Cyan"), 1),
        (inks("Gold", "Cyan"), ("Gold", "Cyan"), None),
        (inks("Gold", "Cyan"), ("Leaf",), None),
        (Rendering((("Gold",),) * 3), ("Leaf", "Rust", "Gold"), 2),  # in all of its channels
        (inks("Gold", marked=("Gold",)), ("All",), None),
        (LUMINOSITY, ("Gold",), None),
        (SILHOUETTE, ("Gold",), None),
        (Rendering(light="RGB"), ("Cyan",), None),
    ],
)
def test_the_one_plate_that_a_rendering_has_of_a_colour(rendering, names, expected):
    assert on_one_plate(rendering, names) == expected


def test_tints_are_rounded_to_levels():
    assert as_bytes(np.array([0, 0.1, 0.5019, 1], np.float32)).tolist() == [0, 26, 128, 255]
