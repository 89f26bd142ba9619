"""Colour spaces as they matter on press: what reading makes of odd ones, and tints at the ends of their ranges."""

from __future__ import annotations

import math

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.page.separations import PROCESS, Alternate, Separation
from preflight.artwork.pdf.colour.colour_reader import ColourReader, ColourSpace
from preflight.artwork.pdf.colour.colour_spaces import BY_COUNT, BY_NAME, CMYK, GRAY, PATTERN, RGB, unknown
from preflight.artwork.pdf.colour.device_n import device_n_space
from preflight.artwork.pdf.colour.spot_spaces import base_of, indirect
from preflight.kinds import NON_PRINTING_KINDS, PRINTING_KINDS
from tests.test_colours import PDF, cal, device_n, icc, indexed, read, separation

ALL = Array([Name.Separation, Name.All, Name.DeviceCMYK, None])


def tints(space: ColourSpace, *values: float) -> list[float]:
    return [round(float(tint), 4) for tint in space.tints(np.array([values], float))[0]]


@pytest.mark.parametrize(
    ("space", "values", "expected"),
    [
        (GRAY, (math.nan,), [1]),
        (GRAY, (math.inf,), [1]),
        (CMYK, (-0.1, 1.1, 0.3, 0.4), [0, 1, 0.3, 0.4]),
        (read(indexed(Name.DeviceGray, 3, String(b"\0\x33\x66\xff"))), (1.49,), [0.8]),
        (read(indexed(Name.DeviceGray, 3, String(b"\0\x33\x66\xff"))), (1.5,), [0.6]),
        (read(indexed(Name.DeviceGray, 3, String(b"\0\x33\x66\xff"))), (-2,), [1]),
        (read(indexed(Name.DeviceGray, 3, String(b"\0\x33\x66\xff"))), (4,), [0]),
        (read(indexed(Name.DeviceGray, -1, String(b"\x33\xff"))), (1,), [0.8]),
        (read(icc(b"GRAY", N=1, Range=[10, 20])), (12.5,), [0.75]),
        (read(icc(b"GRAY", N=1, Range=[10, 20])), (99,), [0]),
        (read(icc(b"CMYK", N=4, Range=[0, 1, 0, 1, 0, 1, 2, 4])), (0.1, 0.2, 0.3, 2.5), [0.1, 0.2, 0.3, 0.25]),
        (read(icc(b"GRAY", N=1, Range=[1, 1])), (0.25,), [0.75]),  # no range at all
    ],
)
def test_values_are_brought_into_their_ranges_first(space, values, expected):
    assert tints(space, *values) == expected


def test_colours_of_a_table_are_those_of_the_base_space():
    lab = read(indexed(cal("Lab", Range=[-50, 100, -20, 60]), 1, String(bytes([255, 0, 255, 51, 255, 51]))))
    assert lab.table is not None
    assert lab.table.tolist() == [pytest.approx([100, -50, 60]), pytest.approx([20, 100, -4])]
    assert (lab.not_a_plate, lab.base_family) == ("Lab", "Lab")
    assert read(indexed(Name.DeviceCMYK, 900, String(bytes(2000)))).table.shape == (256, 4)  # type: ignore[union-attr]


@pytest.mark.parametrize(("length", "remarked"), [(8, False), (7, True), (9, False)])
def test_a_table_that_is_too_short_is_said(length, remarked):
    for table in (String(bytes(length)), PDF.make_stream(bytes(length))):
        assert bool(read(indexed(Name.DeviceCMYK, 1, table)).remark) is remarked


def test_a_table_that_cannot_be_read_is_of_zeros():
    space = read(indexed(Name.DeviceGray, 1, PDF.make_stream(b"\xff\xff", Filter=Name.Odd)))
    assert tints(space, 1) == [1]


@pytest.mark.parametrize(
    ("space", "is_one"),
    [
        (ALL, True),
        (indexed(ALL, 1, String(b"\0\xff")), True),
        (separation(), False),
        (device_n("All"), False),
        (indexed(device_n("All"), 1, String(b"\0\xff")), False),
        (Name.DeviceGray, False),
    ],
)
def test_registration_colour(space, is_one):
    found = read(space)
    assert found.registration is is_one
    assert found.anything().registration is is_one
    assert found.colour([1]).registration is is_one


def test_missing_values_are_nothing_and_further_ones_are_left_out():
    assert dict(CMYK.colour([0.1, 0.2]).tints) == {"Cyan": 0.1, "Magenta": 0.2, "Yellow": 0, "Black": 0}
    assert dict(CMYK.colour([0.1, 0.2, 0.3, 0.4, 0.5]).tints)["Black"] == 0.4
    assert dict(GRAY.colour([]).tints) == {"Black": 1}
    assert unknown("odd").colour([1, 2]).not_a_plate


def test_anything_of_a_space_by_index_names_its_base():
    found = read(indexed(separation(), 1, String(b"\0\xff"))).anything()
    assert (found.space, found.base, found.varies, found.by_name) == ("Indexed", "Separation", True, True)
    assert read(indexed(separation(), 1, String(b"\0\xff"))).colour([1]).base == "Separation"
    assert (read(separation()).base_family, PATTERN.base_family) == ("", "")


def test_an_uncoloured_pattern_is_as_its_base_and_a_coloured_one_has_no_tints():
    under = read(Array([Name.Pattern, separation()]))
    assert (under.base_family, tints(under, 0.25)) == ("", [0.25])
    assert PATTERN.tints(np.zeros((3, 0))).shape == (3, 0)
    assert not read(Array([Name.Pattern, Name.DeviceCMYK])).colour([0, 0, 0, 1], direct=False).direct_cmyk


def test_spaces_by_name_and_by_number_of_components():
    assert BY_COUNT == {1: GRAY, 3: RGB, 4: CMYK}
    assert [space.components for space in BY_NAME.values()] == [1, 3, 4, 0]
    assert [space.initial for space in BY_NAME.values()] == [(0,), (0, 0, 0), (0, 0, 0, 1), ()]
    assert read(cal("CalGray")) != GRAY


# -- what is read -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("length", "family"), [(8, "DeviceCMYK"), (9, "Unknown")])
def test_names_are_followed_over_eight_others(length, family):
    spaces = Dictionary({f"/CS{number}": Name(f"/CS{number + 1}") for number in range(length)})
    spaces[f"/CS{length - 1}"] = Name.DeviceCMYK
    assert read(Name.CS0, Dictionary(ColorSpace=spaces)).family == family


@pytest.mark.parametrize(("count", "family"), [(256, "DeviceN"), (257, "Unknown")])
def test_a_space_has_two_hundred_and_fifty_six_colorants_at_most(count, family):
    assert read(device_n(*[f"Ink{number}" for number in range(count)])).family == family


@pytest.mark.parametrize(
    ("default", "family"),
    [
        (separation(), "Separation"),
        (indexed(Name.DeviceCMYK, 1, String(bytes(8))), "DeviceGray"),  # 8.6.5.6 does not allow it
        (Name.DeviceRGB, "DeviceGray"),
        (device_n("Oak", "Ash"), "DeviceGray"),
        (5, "DeviceGray"),
    ],
)
def test_a_default_stands_for_a_device_space_of_as_many_components(default, family):
    assert read(Name.DeviceGray, Dictionary(ColorSpace=Dictionary(DefaultGray=default))).family == family


def test_a_space_is_read_anew_where_other_defaults_hold():
    reader, space = ColourReader(), PDF.make_indirect(indexed(Name.DeviceGray, 1, String(b"\0\xff")))
    plain, brown = Dictionary(), Dictionary(ColorSpace=Dictionary(DefaultGray=separation()))
    assert reader.resolve(space, plain).plates == ("Black",)
    assert reader.resolve(space, brown).plates == ("Brown",)
    assert reader.resolve(space, Dictionary(ColorSpace=Dictionary())).plates == ("Black",)
    assert reader.resolve(space, plain) is reader.resolve(space, None)


@pytest.mark.parametrize(
    ("name", "family"),
    [("G", "DeviceGray"), ("RGB", "DeviceRGB"), ("CMYK", "DeviceCMYK"), ("I", "Unknown"), ("Pattern", "Pattern")],
)
def test_short_names(name, family):
    assert read(Name("/" + name)).family == family
    assert read(Array([Name("/" + name)])).family == family


def test_calibrated_cmyk_is_cmyk():
    assert read(cal("CalCMYK")) is CMYK


def short_profile(**keys: object) -> Array:
    return Array([Name.ICCBased, PDF.make_stream(b"short", **keys)])


BY_INDEX = indexed(Name.DeviceGray, 1, String(b"\0\0"))


@pytest.mark.parametrize(
    ("profile", "family", "not_a_plate", "remarked"),
    [
        (short_profile(N=3), "ICCBased-3", "RGB", False),
        (short_profile(N=3, Alternate=cal("Lab")), "ICCBased-3", "Lab", False),
        (icc(b"RGB ", N=3, alternate=cal("Lab")), "ICCBased-3", "RGB", False),
        (icc(b"Lab ", N=3, alternate=Name.DeviceRGB), "ICCBased-3", "Lab", False),
        (short_profile(N=4, Alternate=cal("Lab")), "ICCBased-4", "", False),
        (short_profile(N=5, Alternate=BY_INDEX), "Unknown", "unreadable colour", True),
        (short_profile(N=5, Alternate=separation()), "ICCBased-1", "", True),
        (icc(b"GRAY", N=5), "ICCBased-1", "", True),
        (icc(b"GRAY", N=5, alternate=Name.DeviceCMYK), "ICCBased-4", "", True),
        (icc(b"GRAY", N=3), "ICCBased-3", "RGB", True),
        (PDF.make_stream(b"short", N=1), "ICCBased-1", "", False),  # bare, where an array was due
    ],
)  # fmt: skip
def test_profiles(profile, family, not_a_plate, remarked):
    found = read(profile)
    assert (found.family, found.not_a_plate, bool(found.remark)) == (family, not_a_plate, remarked)


def test_lab_profiles_have_the_ranges_of_lab_unless_they_say_others():
    assert read(icc(b"Lab ", N=3)).ranges == ((0, 100), (-100, 100), (-100, 100))
    other = read(icc(b"Lab ", N=3, Range=[0, 100, 10, 20, -50, -30]))
    assert (other.ranges, other.initial) == (((0, 100), (10, 20), (-50, -30)), (0, 10, -30))
    assert read(cal("Lab", Range=[10, 5, 0, 1])).ranges[1:] == ((-100, 100), (-100, 100))


def test_a_bare_name_is_known_from_a_string_and_from_nothing():
    assert read(separation(String("Fern"))).remark == ""
    assert read(separation(None)).remark
    assert read(Array([Name.DeviceN, Array([None, Name.Fern]), Name.DeviceCMYK, None])).plates[1] == "Fern"


# -- DeviceN ----------------------------------------------------------------------------------------------------------


def test_colorants_of_one_name_are_one_plate_at_the_greater_tint():
    space = device_n_space(["Oak", "Ash", "Oak"], False, None)
    assert (space.plates, space.components, bool(space.remark), space.nchannel) == (("Oak", "Ash"), 3, True, False)
    assert tints(space, 0.3, 0.5, 0.2) == [0.3, 0.5]
    assert tints(space, 0.1, 0.5, 0.2) == [0.2, 0.5]
    assert device_n_space(["Oak", "", "Ash"], True, None).remark == ""


def test_parts_in_rgb_become_process_plates_and_a_missing_one_is_paper():
    space = device_n_space(["B", "Cyan", "R"], True, (RGB, [2, -1, 0]))
    assert space.plates == (*PROCESS, "Cyan")[:4]
    assert space.not_a_plate == "RGB"
    # Red 0.2 and blue 0.5, and green as paper: cyan 0.8, yellow 0.5, no black in common; beside it cyan of its own.
    assert tints(space, 0.5, 0.1, 0.2) == [0.8, 0, 0.5, 0]
    assert tints(space, 0.5, 0.9, 0.2) == [0.9, 0, 0.5, 0]


def test_parts_in_cmyk_are_plates_of_their_own():
    space = device_n_space(["one", "Oak", "two"], True, (CMYK, [2, -1, -1, 0]))
    assert (space.plates, space.not_a_plate) == (("Black", "Oak", "Cyan"), "")
    assert tints(space, 0.1, 0.2, 0.3) == [0.1, 0.2, 0.3]
    grey = device_n_space(["one", "Oak"], True, (GRAY, [0]))
    assert grey.plates == ("one", "Oak")


def test_a_process_space_that_none_of_the_colorants_is_in_changes_nothing():
    space = device_n_space(["Oak"], True, (RGB, [-1, -1, -1]))
    assert (space.plates, space.not_a_plate) == (("Oak",), "")
    assert tints(space, 0.3) == [0.3]


@pytest.mark.parametrize(
    ("space", "base"),
    [
        (indexed(Name.DeviceRGB, 1, String(b"")), Name.DeviceRGB),
        (Array([Name.I, Name.DeviceGray, 1, String(b"")]), Name.DeviceGray),
        (Array([Name.Indexed]), Array([Name.Indexed])),
        (Name.DeviceCMYK, Name.DeviceCMYK),
        (Array([Name.ICCBased, Name.DeviceGray]), Array([Name.ICCBased, Name.DeviceGray])),
    ],
)
def test_what_a_space_by_index_stands_over(space, base):
    assert base_of(space) == base


def test_a_space_can_be_copied_once_it_is_an_object_of_its_file():
    pdf = pikepdf.new()
    made = indirect(pdf, Array([Name.Separation, Name.Fern, Name.DeviceCMYK, Dictionary()]))
    assert made.is_indirect
    assert indirect(pdf, made).objgen == made.objgen


@pytest.mark.parametrize("kind", [*PRINTING_KINDS, *NON_PRINTING_KINDS])
def test_ink_of_printing_kinds_goes_on_a_plate(kind):
    separation = Separation("Fern", kind, "because")
    assert separation.on_plate is (kind in PRINTING_KINDS)
    assert (separation.known, separation.looks_rgb, Alternate("Lab", (), 1).boxes_mm) == ("read", None, ())
