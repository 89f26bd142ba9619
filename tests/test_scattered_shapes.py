"""Shapes strewn over an artwork, on tints made in the test: cells of 0.75 mm."""

import numpy as np
import pytest

from preflight.measures.bleed.scattered_shapes import OFFSETS, around, stand_around
from preflight.measures.raster.profiles import Stations


def test_what_is_looked_at_lies_inside_the_carton():
    assert OFFSETS[0] == -25.0
    assert OFFSETS[-1] == pytest.approx(-1.0)
    assert np.diff(OFFSETS) == pytest.approx(0.75)


def test_it_lies_to_either_side_of_the_middle_of_an_end():
    outward = np.array([[0.0, -1.0], [0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    at = Stations(np.array([[1.0, 5.0], [2.0, 6.0], [3.0, 7.0], [4.0, 8.0], [5.0, 9.0]]), outward, 0.5)
    found = around(at, (1, 4))
    assert found.spacing_mm == 0.75
    assert len(found) == 67
    assert found.outward.tolist() == [[1, 0]] * 67
    assert found.xy[:, 0] == pytest.approx(3.0)
    assert found.xy[[0, 1, -1], 1] == pytest.approx([7 - 25, 7 - 24.25, 7 + 24.5])


def strewn(*boxes: tuple[int, int, int, int], tint: float = 255, ground: float = 0) -> np.ndarray:
    """Cells: first station, first offset, stations, offsets."""
    tints = np.full((67, len(OFFSETS)), ground, np.float32)
    for station, offset, long, deep in boxes:
        tints[station : station + long, offset : offset + deep] = tint
    return tints


THREE = ((3, 2, 4, 2), (20, 9, 2, 4), (41, 20, 4, 4))
"""Each 3 mm at its longest."""


@pytest.mark.parametrize(
    ("length_mm", "largest_mm", "several"),
    [(6.0, 12.0, True), (6.1, 12.0, False), (1.0, 3.0, True), (1.0, 2.9, False)],
    ids=["half as long as the end", "less than half as long", "as large as may be", "too large"],
)
def test_shapes_count_if_they_are_about_as_large_as_the_end(length_mm, largest_mm, several):
    assert stand_around(strewn(*THREE), length_mm, largest_mm) is several
    assert stand_around(strewn(*THREE, tint=0, ground=255), length_mm, largest_mm) is several


@pytest.mark.parametrize(
    ("boxes", "several"),
    [
        ((), False),
        (THREE[:2], False),
        ((*THREE[:2], (24, 9, 2, 4)), True),
        ((*THREE[:2], (22, 9, 2, 4)), False),
        ((*THREE[:2], (20, 13, 2, 4)), False),
        ((*THREE[:2], (22, 13, 2, 4)), True),
        (((3, 2, 1, 6), (5, 2, 1, 6), (7, 2, 1, 6), (3, 8, 5, 1), THREE[2]), False),
        (((3, 8, 1, 6), (5, 8, 1, 6), (7, 8, 1, 6), (3, 7, 5, 1), THREE[2]), False),
        (((3, 8, 6, 1), (3, 10, 6, 1), (3, 12, 6, 1), (2, 8, 1, 5), THREE[2]), False),
    ],
    ids=["none", "two", "three", "two touch along the cut", "two touch across it", "two touch at a corner",
         "a comb is one", "a comb the other way round", "a comb on its side"],
)  # fmt: skip
def test_three_shapes_make_an_artwork_of_strewn_shapes(boxes, several):
    assert stand_around(strewn(*boxes), 4.0, 12.0) is several


@pytest.mark.parametrize(("tint", "several"), [(128, True), (127, False)])
def test_a_shape_has_half_of_the_strongest_tint(tint, several):
    tints = strewn(*THREE)
    tints[41:45] *= tint / 255
    assert stand_around(tints, 4.0, 12.0) is several


def test_hardly_any_ink_is_no_shape():
    assert stand_around(strewn(*THREE, tint=0.4), 4.0, 12.0) is False
    assert stand_around(strewn(*THREE, tint=0.6), 4.0, 12.0) is True
