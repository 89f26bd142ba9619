"""Samples of pictures as tints: unpacked, decoded and averaged, worked out by hand for pictures of a few samples."""

from __future__ import annotations

import io
import zlib
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String
from PIL import Image

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.images import image_tints as tinting
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, image_use
from preflight.artwork.pdf.images.image_tints import (
    _averaged,
    colour_key_mask,
    image_tints,
    packed_rows,
    row_bytes,
    unpacked,
    with_missing_rows,
)
from preflight.errors import CannotBeRendered, TooBig

PDF = pikepdf.new()
TINT = PDF.make_indirect(Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 1, 1, 0]))
FERN = Array([Name.Separation, Name.Fern, Name.DeviceCMYK, TINT])
TWO = Array([Name.DeviceN, Array([Name.Fern, Name.Moss]), Name.DeviceCMYK, TINT])


def use(data: bytes, width: int, height: int, space: object = Name.DeviceGray, bits: Any = 8, **keys: Any) -> ImageUse:
    stream = PDF.make_stream(
        data, Subtype=Name.Image, Width=width, Height=height, BitsPerComponent=bits, ColorSpace=space, **keys
    )
    found = image_use(stream, ColourReader(), None)
    assert found is not None
    return found


def tints(picture: ImageUse, shrink: int = 1) -> list[list[list[int]]]:
    found: list[list[list[int]]] = image_tints(picture, shrink)[1].tolist()
    return found


def flate(data: bytes) -> tuple[bytes, dict[str, Any]]:
    return zlib.compress(data), {"Filter": Name.FlateDecode}


@pytest.mark.parametrize(
    ("packed", "bits", "width", "components", "samples"),
    [
        ([0b10110000], 1, 4, 1, [[1], [0], [1], [1]]),
        ([0b10110000], 1, 2, 2, [[1, 0], [1, 1]]),
        ([0b11011000], 2, 3, 1, [[3], [1], [2]]),
        ([0x1F, 0xA0], 4, 3, 1, [[1], [15], [10]]),
        ([7, 8, 9], 8, 3, 1, [[7], [8], [9]]),
        ([7, 8, 9, 10, 99], 8, 2, 2, [[7, 8], [9, 10]]),
        ([1, 2, 255, 0], 16, 2, 1, [[258], [65280]]),
    ],
)
def test_samples_are_unpacked_from_the_highest_bit_on(packed, bits, width, components, samples):
    rows = np.array([packed, packed], np.uint8)
    assert unpacked(rows, bits, width, components).tolist() == [samples, samples]


@pytest.mark.parametrize(
    ("width", "space", "bits", "size"),
    [(5, Name.DeviceGray, 1, 1), (9, Name.DeviceGray, 1, 2), (3, Name.DeviceRGB, 4, 5), (3, Name.DeviceCMYK, 16, 24)],
)
def test_a_row_is_whole_bytes(width, space, bits, size):
    assert row_bytes(use(bytes(999), width, 2, space, bits)) == size


CASES = {
    "grey is light": (use(bytes([0, 51, 255, 204, 102, 0]), 3, 2), [[[255], [204], [0]], [[51], [153], [255]]]),
    "a spot is ink": (use(bytes([0, 51, 255]), 3, 1, FERN), [[[0], [51], [255]]]),
    "CMYK": (use(bytes(range(8)), 2, 1, Name.DeviceCMYK), [[[0, 1, 2, 3], [4, 5, 6, 7]]]),
    "turned by Decode": (use(bytes([0, 51]), 2, 1, FERN, Decode=[1, 0]), [[[255], [204]]]),
    "one plate turned by Decode": (
        use(bytes(range(0, 80, 10)), 2, 1, Name.DeviceCMYK, Decode=[0, 1, 1, 0, 0, 1, 0, 0.5]),
        [[[0, 245, 20, 15], [40, 205, 60, 35]]],
    ),
    "half by Decode": (use(bytes([0, 100, 255]), 3, 1, FERN, Decode=[0, 0.5]), [[[0], [50], [128]]]),
    "too short a Decode": (use(bytes([0, 51]), 2, 1, FERN, Decode=[1]), [[[0], [51]]]),
    "too long a Decode": (use(bytes([0, 51]), 2, 1, FERN, Decode=[1, 0, 0, 1]), [[[255], [204]]]),
    "1 bit": (use(b"\xa0", 3, 1, FERN, 1), [[[255], [0], [255]]]),
    "4 bits": (use(b"\x0f\x50", 3, 1, FERN, 4), [[[0], [255], [85]]]),
    "16 bits": (use(b"\0\0\x80\x00\xff\xff", 3, 1, FERN, 16), [[[0], [128], [255]]]),
    "two plates": (use(bytes([10, 20, 30, 40]), 2, 1, TWO), [[[10, 20], [30, 40]]]),
    "RGB": (use(bytes([255, 0, 51, 0, 0, 0]), 2, 1, Name.DeviceRGB), [[[0, 255, 204, 0], [0, 0, 0, 255]]]),
    "by index": (
        use(bytes([1, 0, 2]), 3, 1, Array([Name.Indexed, FERN, 2, String(bytes([10, 20, 30]))])),
        [[[20], [10], [30]]],
    ),
    "by index of 2 bits": (
        use(b"\x6c", 3, 1, Array([Name.Indexed, FERN, 3, String(bytes([10, 20, 30, 40]))]), 2), [[[20], [30], [40]]],
    ),
    "rows of bits that end within a byte": (use(b"\x80\x40", 2, 2, FERN, 1), [[[255], [0]], [[0], [255]]]),
}  # fmt: skip


@pytest.mark.parametrize(("picture", "expected"), CASES.values(), ids=CASES)
def test_tints_of_samples(picture, expected):
    assert tints(picture) == expected


@pytest.mark.parametrize(("picture", "expected"), CASES.values(), ids=CASES)
def test_tints_of_samples_that_are_packed(picture, expected):
    data, keys = flate(picture.stream.read_bytes())
    more = {key[1:]: value for key, value in picture.stream.stream_dict.items() if key in ("/Decode",)}
    again = use(
        data, picture.facts.width_px, picture.facts.height_px, picture.stream.ColorSpace, picture.facts.bits, **more,
        **keys,
    )  # fmt: skip
    assert tints(again) == expected


def test_names_of_the_plates():
    assert image_tints(use(bytes(2), 1, 1, TWO))[0] == ("Fern", "Moss")
    names, found = image_tints(use(bytes(2), 2, 1, Array([Name.Separation, Name("/None"), Name.DeviceCMYK, TINT])))
    assert (names, found.shape) == ((), (1, 1, 0))


ROWS = np.array([[10, 20, 30, 40, 50], [30, 40, 50, 60, 70], [100, 0, 200, 0, 9]], np.uint8)


@pytest.mark.parametrize("kind", [np.uint8, np.float32, np.uint16])
@pytest.mark.parametrize("components", [1, 2, 3, 4])
def test_blocks_are_averaged_and_the_last_ones_hold_what_is_left(kind, components):
    """Two by two of three rows of five; of 1 to 4 components each is as much more as the one before."""
    samples = np.stack([ROWS.astype(kind) + at for at in range(components)], 2)
    found = _averaged(samples, 2)
    small = np.array([[25, 45, 60], [50, 100, 9]])
    assert found.shape == (2, 3, components)
    for at in range(components):
        assert found[:, :, at] == pytest.approx(small + at, abs=0.51 if kind is np.uint8 else 1e-4)


def test_by_one_nothing_is_averaged():
    samples = ROWS[:, :, None]
    assert _averaged(samples, 1) is samples
    assert _averaged(samples, 3).shape == (1, 2, 1)
    assert _averaged(samples.astype(np.float32), 3)[0, 1, 0] == pytest.approx((40 + 50 + 60 + 70 + 0 + 9) / 6)


def test_pictures_are_averaged_in_tints_where_that_differs():
    """Half red and half cyan make, in inks, half of each; in light they would be grey."""
    picture = use(bytes([255, 0, 0, 0, 255, 255]), 2, 1, Name.DeviceRGB)
    assert tints(picture, 2)[0][0] == pytest.approx([127.5, 127.5, 127.5, 0], abs=1)
    by_index = use(bytes([0, 2]), 2, 1, Array([Name.Indexed, FERN, 2, String(bytes([10, 90, 30]))]))
    assert tints(by_index, 2)[0][0] == pytest.approx([20], abs=1)  # of the colours, not of the numbers
    spot = use(bytes([0, 100, 50, 50]), 2, 2, FERN)
    assert tints(spot, 2) == [[[50]]]


@pytest.mark.parametrize("shrink", [1, 2, 3])
@pytest.mark.parametrize("strip", [1, 7, 40, 8_000_000])
def test_a_picture_read_in_strips_is_the_same(shrink, strip, monkeypatch):
    samples = np.arange(7 * 5, dtype=np.uint8).reshape(7, 5) * 7
    whole = np.array(tints(use(zlib.compress(samples.tobytes()), 5, 7, FERN, Filter=Name.FlateDecode), shrink))
    monkeypatch.setattr(tinting, "STRIP_BYTES", strip)
    assert np.array_equal(np.array(tints(use(samples.tobytes(), 5, 7, FERN), shrink)), whole)
    assert whole.shape == (-(-7 // shrink), -(-5 // shrink), 1)
    assert whole[0, 0, 0] == pytest.approx(samples[:shrink, :shrink].mean(), abs=0.51)
    assert whole[-1, -1, 0] == pytest.approx(
        samples[(6 // shrink) * shrink :, (4 // shrink) * shrink :].mean(), abs=0.51
    )


@pytest.mark.parametrize("filters", [{}, {"Filter": Name.FlateDecode}], ids=["plain", "flate"])
@pytest.mark.parametrize("rows", [0, 1, 3, 5])
def test_rows_that_are_missing_have_no_ink(rows, filters):
    data = bytes([200] * 4 * rows)
    picture = use(zlib.compress(data) if filters else data, 4, 5, FERN, **filters)
    assert np.array(tints(picture))[:, :, 0].tolist() == [[200] * 4] * rows + [[0] * 4] * (5 - rows)
    assert len(tints(picture, 2)) == 3


def test_a_row_that_is_cut_short_goes_on_as_zeros():
    assert tints(use(bytes([9, 8, 7, 6, 5]), 3, 3, FERN)) == [[[9], [8], [7]], [[6], [5], [0]], [[0], [0], [0]]]


def test_rows_are_added_only_where_some_are_missing():
    found = np.full((2, 3, 1), 7, np.uint8)
    assert with_missing_rows(found, 2) is found
    assert with_missing_rows(found, 1) is found
    assert with_missing_rows(found, 3)[:, 0, 0].tolist() == [7, 7, 0]


def test_packed_rows_are_those_before_the_damage_and_what_else_can_be_had():
    rows = np.arange(60, dtype=np.uint8).reshape(10, 6)
    for data, keys in ((rows.tobytes(), {}), flate(rows.tobytes())):
        found = np.concatenate([*packed_rows(use(data, 6, 10, FERN, **keys))])
        assert found.tolist() == rows.tolist()


@pytest.mark.parametrize(("side", "large"), [((200_000, 1), False), ((200_001, 1), True), ((1, 200_001), True)])
def test_a_picture_may_have_two_hundred_thousand_samples_a_side(side, large):
    picture = use(b"", side[0], side[1], FERN)
    if large:
        with pytest.raises(TooBig):
            image_tints(picture)
    else:
        assert image_tints(picture)[1].shape == (1, 200_000, 1)


@pytest.mark.parametrize(("most", "large"), [(3 * 4 * 5, False), (3 * 4 * 5 - 1, True)])
def test_a_picture_may_have_as_many_samples_as_the_bound(most, large, monkeypatch):
    monkeypatch.setattr(tinting, "MOST_SAMPLES_BYTES", most)
    picture = use(bytes(60), 3, 5, Name.DeviceCMYK)
    if large:
        with pytest.raises(TooBig):
            image_tints(picture)
    else:
        assert image_tints(picture)[1].shape == (5, 3, 4)


def jpeg(samples: np.ndarray) -> bytes:
    target = io.BytesIO()
    Image.fromarray(samples).save(target, "JPEG", quality=100)
    return target.getvalue()


def test_a_jpeg_is_shrunk_as_far_as_is_asked_for():
    samples = np.full((48, 64), 51, np.uint8)
    picture = use(jpeg(samples), 64, 48, Name.DeviceGray, Filter=Name.DCTDecode)
    for shrink, shape in ((1, (48, 64, 1)), (2, (24, 32, 1)), (4, (12, 16, 1)), (16, (3, 4, 1))):
        found = image_tints(picture, shrink)[1]
        assert found.shape == shape
        assert found.mean() == pytest.approx(204, abs=1)


KEYS = [
    # limits of the key, hidden samples of 10, 20, 30, 40
    ([20, 30], [False, True, True, False]),
    ([0, 9], [False] * 4),
    ([10, 10], [True, False, False, False]),
    ([40, 99], [False, False, False, True]),
    ([20, 30, 0, 99], [False, True, True, False]),
    ([20], [False] * 4),
    ([], [False] * 4),
]


@pytest.mark.parametrize(("limits", "hidden"), KEYS)
def test_a_key_hides_samples_from_its_lower_to_its_higher_limit(limits, hidden):
    picture = use(bytes([10, 20, 30, 40]), 4, 1, FERN, Mask=Array(limits))
    assert colour_key_mask(picture).tolist() == [hidden]


def test_a_key_hides_what_is_within_the_limits_of_all_components():
    picture = use(bytes([10, 50, 20, 50, 20, 60]), 3, 1, TWO, Mask=Array([20, 30, 50, 55]))
    assert colour_key_mask(picture).tolist() == [[False, True, False]]


def test_a_key_is_held_against_samples_of_few_bits_and_those_missing_are_0():
    assert colour_key_mask(use(b"\x1b", 4, 1, FERN, 2, Mask=Array([1, 2]))).tolist() == [[False, True, True, False]]
    assert colour_key_mask(use(b"\x05", 1, 2, FERN, Mask=Array([0, 4]))).tolist() == [[False], [True]]


def test_a_key_on_a_jpeg_is_held_against_its_samples():
    samples = np.repeat(np.array([[0, 255]], np.uint8), 32, 1).repeat(16, 0)
    picture = use(jpeg(samples), 64, 16, Name.DeviceGray, Filter=Name.DCTDecode, Mask=Array([0, 100]))
    found = colour_key_mask(picture)
    assert found[:, :24].all()
    assert not found[:, 40:].any()


def test_what_cannot_be_unpacked_is_not_drawn():
    with pytest.raises(CannotBeRendered):
        image_tints(use(b"x", 3, 5, Name.DeviceCMYK, Filter=Name.Odd))
