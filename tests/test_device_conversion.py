"""Colours that are no plates, brought to inks: values from the formulas and of well-known colours."""

import numpy as np
import pytest

from preflight.artwork.pdf.colour.device_conversion import lab_to_rgb, rgb_to_cmyk


@pytest.mark.parametrize(
    ("rgb", "cmyk"),
    [
        ((1, 1, 1), (0, 0, 0, 0)),
        ((0, 0, 0), (0, 0, 0, 1)),
        ((0.2, 0.5, 0.9), (0.7, 0.4, 0, 0.1)),
        ((0.9, 0.2, 0.5), (0, 0.7, 0.4, 0.1)),
        ((0.5, 0.9, 0.2), (0.4, 0, 0.7, 0.1)),
        ((-1, 0.5, 2), (1, 0.5, 0, 0)),
    ],
)
def test_black_is_what_all_three_inks_have_in_common(rgb, cmyk):
    assert rgb_to_cmyk(np.array([rgb, rgb], float)).tolist() == pytest.approx(np.array([cmyk, cmyk]))


LAB = {
    # sRGB of L* a* b* under its own white, from tables of well-known colours
    "white": ((100, 0, 0), (1, 1, 1)),
    "black": ((0, 0, 0), (0, 0, 0)),
    "grey": ((50, 0, 0), (0.4663, 0.4663, 0.4663)),
    "dark grey": ((5, 0, 0), (0.0660, 0.0660, 0.0660)),
    "nearly black": ((2, 0, 0), (0.0286, 0.0286, 0.0286)),
    "red": ((53.24, 80.09, 67.20), (1, 0, 0)),
    "green": ((87.74, -86.18, 83.18), (0, 1, 0)),
    "blue": ((32.30, 79.19, -107.86), (0, 0, 1)),
    "olive": ((51.87, -12.93, 56.68), (0.502, 0.502, 0)),
    "teal": ((48.25, -28.84, -8.48), (0, 0.502, 0.502)),
    "chocolate": ((55.99, 37.05, 56.74), (0.824, 0.412, 0.118)),
    "steel blue": ((52.47, -4.07, -32.19), (0.275, 0.510, 0.706)),
}


@pytest.mark.parametrize(("lab", "rgb"), LAB.values(), ids=LAB)
def test_lab_colours_are_what_they_are_called(lab, rgb):
    assert lab_to_rgb(np.array([lab], float))[0] == pytest.approx(rgb, abs=0.006)


def test_no_lab_colour_is_more_than_all_light():
    found = lab_to_rgb(np.array([(100, 90, 90), (0, -90, -90), (100, -90, 0)], float))
    assert (found.min() >= 0, found.max() <= 1) == (True, True)
