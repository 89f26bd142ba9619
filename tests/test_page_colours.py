"""Questions to all colours of a page at once."""

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour, Colours, Family


def three_families() -> Colours:
    """Numbers 0, 2, 3 in CMYK; 1 in a spot at 0 %; 4 in a photograph of greys."""
    colours = Colours()
    cmyk = np.array([[0, 0, 0, 0], [0.2, 0, 0.9, 0], [0, 0, 0, 1.0]])
    colours.add(
        Family("DeviceCMYK", ("Cyan", "Magenta", "Yellow", "Black"), cmyk, direct_cmyk=True), np.array([0, 2, 3])
    )
    colours.add(Family("Separation", ("Fern",), np.array([[0.0]])), np.array([1]))
    colours.add(Family.of(Colour("DeviceGray", (("Black", 1.0),), varies=True)), np.array([4]))
    return colours


def test_a_colour_is_found_under_its_number():
    colours = three_families()
    assert [colour.space for colour in colours] == [
        "DeviceCMYK", "Separation", "DeviceCMYK", "DeviceCMYK", "DeviceGray"
    ]  # fmt: skip
    assert colours[2].tint("Yellow") == 0.9
    assert colours[-1] == Colour("DeviceGray", (("Black", 1.0),), varies=True)
    with pytest.raises(IndexError):
        colours[5]


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (lambda family: family.varies, [4]),
        (lambda family: family.names_any({"Black"}), [0, 2, 3, 4]),
        (lambda family: family.most({"Black"}) > 0, [3, 4]),
        (lambda family: family.most() == 0, [0, 1]),
        (lambda family: family.most({"Fern"}) > 0, []),
    ],
)
def test_where(wanted, numbers):
    assert np.flatnonzero(three_families().where(wanted)).tolist() == numbers


def test_inked_names_the_separations_of_the_colours_used_as_they_come():
    used = np.array([False, True, True, False, False])
    found = three_families().inked(used)
    assert found == {"Fern": 0.0, "Cyan": 0.2, "Magenta": 0.0, "Yellow": 0.9, "Black": 0.0}
    assert next(iter(found)) == "Fern"


def test_a_page_without_colours():
    assert len(Colours()) == 0
    assert Colours().where(lambda family: True).shape == (0,)
