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


COLOURS = [
    # the family, its base, whether it names the plates that it paints (ISO 32000-2, 8.6.6.3)
    ("Separation", "", True),
    ("DeviceN", "", True),
    ("DeviceCMYK", "", False),
    ("ICCBased-4", "", False),
    ("Pattern", "", False),
    ("Indexed", "Separation", True),
    ("Indexed", "DeviceN", True),
    ("Indexed", "DeviceCMYK", False),
    ("Indexed", "", False),
    ("Pattern", "Separation", False),
]


@pytest.mark.parametrize(("space", "base", "by_name"), COLOURS)
def test_an_indexed_colour_paints_by_name_where_its_base_does(space, base, by_name):
    colour = Colour(space, (("Fern", 1.0),), base=base)
    assert colour.by_name is by_name
    assert Family.of(colour).by_name is by_name


def test_a_family_of_one_is_that_colour():
    for colour in (
        Colour("Indexed", (("Fern", 0.25), ("Moss", 0.5)), True, True, "Lab", True, "DeviceN"),
        Colour("DeviceGray", (("Black", 0.3),)),
        Colour("Pattern", ()),
    ):
        assert Family.of(colour).colour(0) == colour


def test_a_separation_that_a_colour_does_not_name_has_no_tint():
    colour = Colour("DeviceN", (("Fern", 0.25), ("Moss", 0.5)))
    assert [colour.tint(name) for name in ("Fern", "Moss", "Oak")] == [0.25, 0.5, 0.0]


def test_the_greatest_tint_of_each_colour_of_a_family():
    family = Family("DeviceN", ("Fern", "Moss", "Oak"), np.array([[0.1, 0.4, 0.2], [0.6, 0.5, 0.9]]))
    assert family.most().tolist() == [0.4, 0.9]
    assert family.most({"Fern", "Oak"}).tolist() == [0.2, 0.9]
    assert family.most({"Fern"}).tolist() == [0.1, 0.6]
    assert family.most(set()).tolist() == [0, 0]
    assert Family("Separation", (), np.zeros((2, 0))).most().tolist() == [0, 0]
    assert [family.names_any(names) for names in ({"Oak", "Ash"}, {"Ash"}, set())] == [True, False, False]


def test_several_colours_by_slices():
    spaces = [colour.space for colour in three_families()[1:5:2]]
    assert spaces == ["Separation", "DeviceCMYK"]
    assert [colour.space for colour in three_families()[-2:]] == ["DeviceCMYK", "DeviceGray"]


def test_colours_added_later_are_found_and_are_in_no_copy_made_before():
    colours = three_families()
    assert colours[3].tint("Black") == 1
    copy = colours.copy()
    colours.add(Family("Separation", ("Moss",), np.array([[0.3], [0.4]])), np.array([6, 5]))
    assert (len(colours), len(copy)) == (7, 5)
    assert [colours[number].tint("Moss") for number in (5, 6)] == [0.4, 0.3]
    assert [colour.tint("Moss") for colour in colours] == [0, 0, 0, 0, 0, 0.4, 0.3]
    assert copy[4] == colours[4]
    assert list(copy) == list(three_families())


def test_only_families_that_name_a_separation_are_asked_for_it():
    asked = []

    def wanted(family: Family):
        asked.append(family.space)
        return family.most({"Black"}) > 0.5

    colours = three_families()
    assert colours.where_named("Black", wanted).tolist() == [False, False, False, True, True]
    assert asked == ["DeviceCMYK", "DeviceGray"]
    assert colours.where_named("Nothing", wanted).tolist() == [False] * 5
    colours.add(Family("Separation", ("Black",), np.array([[0.9]])), np.array([5]))
    assert colours.where_named("Black", wanted).tolist() == [False, False, False, True, True, True]


def test_families_come_with_the_numbers_of_their_colours():
    found = [(family.space, numbers.tolist()) for family, numbers in three_families().families()]
    assert found == [("DeviceCMYK", [0, 2, 3]), ("Separation", [1]), ("DeviceGray", [4])]


def test_inked_takes_the_greatest_tint_of_all_families_that_are_used():
    colours = Colours()
    colours.add(Family("DeviceN", ("Fern", "Moss"), np.array([[0.2, 0.9], [0.3, 0.1]])), np.array([3, 1]))
    colours.add(Family("Separation", ("Fern",), np.array([[0.7], [0.25]])), np.array([0, 2]))
    assert colours.inked(np.array([False, True, True, False])) == {"Fern": 0.3, "Moss": 0.1}
    every = colours.inked(np.array([True] * 4))
    assert list(every.items()) == [("Fern", 0.7), ("Moss", 0.9)]
    assert colours.inked(np.array([False, False, True, True])) == {"Fern": 0.25, "Moss": 0.9}
    assert list(colours.inked(np.array([False, True, False, False]))) == ["Fern", "Moss"]
    assert colours.inked(np.zeros(4, bool)) == {}


def test_inked_comes_in_the_order_of_the_first_colour_used():
    colours = Colours()
    colours.add(Family("Separation", ("Late",), np.array([[1.0], [1.0]])), np.array([0, 3]))
    colours.add(Family("Separation", ("Early",), np.array([[1.0]])), np.array([1]))
    assert list(colours.inked(np.array([False, True, False, True]))) == ["Early", "Late"]
    assert list(colours.inked(np.array([True, True, False, True]))) == ["Late", "Early"]
