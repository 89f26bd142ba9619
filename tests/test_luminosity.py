"""How light colours are in soft masks and in groups that are blended as light."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking.luminosity import light_of, luminosity, luminosity_of_rgb


@pytest.mark.parametrize(
    ("plates", "tints", "expected"),
    [
        (("Cyan",), (0.5,), 0.85),
        (("Magenta",), (0.5,), 0.705),
        (("Yellow",), (0.5,), 0.945),
        (("Black",), (0.3,), 0.7),
        (("Cyan", "Black"), (0.5, 0.2), 0.68),
        (("Black", "Yellow", "Cyan"), (0.5, 1, 0.5), 0.37),
        (("Gold",), (0.4,), 0.7),  # a solid of it lets a quarter through
        (("Unseen",), (0.4,), 0.6),
        (("Black", "Gold", "Unseen"), (0.5, 0.4, 0.5), 0.175),
        ((), (), 1),
    ],
)
def test_luminosity_of_inks(plates, tints, expected):
    """ISO 32000-2, 11.5.3: 0.30, 0.59 and 0.11 of what cyan, magenta and yellow take, times what black leaves."""
    found = luminosity(plates, np.array([tints, tints]), {"Gold": 0.25})
    assert found.tolist() == pytest.approx([expected] * 2)


def test_black_that_was_taken_out_of_red_green_and_blue_is_taken_off_all_three():
    assert luminosity(("Cyan", "Black"), np.array([0.5, 0.2]), {}, from_rgb=True) == pytest.approx(0.65)
    assert luminosity(("Magenta", "Black"), np.array([1, 0.9]), {}, from_rgb=True) == 0


def test_light_of_inks_is_what_they_leave_of_red_green_and_blue():
    tints = np.array([[0.2, 0.1, 0.3, 0.9], [0.5, 0.9, 0, 0]])
    found = light_of(("Magenta", "Black", "Cyan", "Gold"), tints, "RGB")
    assert found == pytest.approx(np.array([[0.6, 0.7, 0.9], [0.1, 0, 0.1]]))


def test_gray_light_is_alike_in_all_three():
    """ISO 32000-2, 10.4.2.3: 1 - min(1, 0.30 c + 0.59 m + 0.11 y + k)."""
    tints = np.array([[0.5, 0.4, 1.0, 0.1], [1, 1, 1, 0.2]])
    found = light_of(("Yellow", "Cyan", "Magenta", "Black"), tints, "Gray")
    assert found == pytest.approx(np.array([[0.135] * 3, [0] * 3]))


def test_luminosity_of_a_colour_on_the_screen():
    assert luminosity_of_rgb(255, 255, 255) == pytest.approx(1)
    assert luminosity_of_rgb(10, 20, 40) == pytest.approx((3 + 11.8 + 4.4) / 255)
