"""Samples of picture formats: how far they are shrunk, what is refused, and colours that opacity is mixed into."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, String
from PIL import Image

from preflight.artwork.pdf.images import image_decoding
from preflight.artwork.pdf.images.image_decoding import (
    decoded_jpeg,
    decoded_jpeg_2000,
    decoded_samples,
    jpeg_2000_mask,
    jpeg_size,
    opacity_in_data,
)
from preflight.artwork.pdf.images.image_dictionaries import ImageUse
from preflight.artwork.pdf.images.image_tints import image_tints
from preflight.errors import CannotBeRendered, TooBig
from tests.jpeg_2000 import COLOUR, GREY, OPACITY, PREMULTIPLIED, boxed, code_stream
from tests.test_image_tints import FERN, TWO, use

WIDE, TALL = 48, 16
SHAPES = {"L": (TALL, WIDE), "RGB": (TALL, WIDE, 3), "CMYK": (TALL, WIDE, 4)}
SPACES = {"L": Name.DeviceGray, "RGB": Name.DeviceRGB, "CMYK": Name.DeviceCMYK}


def jpeg(mode: str, value: int = 100) -> bytes:
    target = io.BytesIO()
    Image.fromarray(np.full(SHAPES[mode], value, np.uint8), mode).save(target, "JPEG", quality=100)
    return target.getvalue()


def of_jpeg(mode: str, space: object = None, **keys: object) -> ImageUse:
    return use(jpeg(mode), WIDE, TALL, space or SPACES[mode], Filter=Name.DCTDecode, **keys)


def jpx(samples: np.ndarray, **keys) -> ImageUse:
    """A picture of grey with a channel of opacity behind it, where there are two."""
    given = {"Filter": Name.JPXDecode, **keys}
    kind = given.pop("kind", OPACITY)
    channels = [(0, COLOUR, 1), (1, kind, 0)] if samples.shape[2] == 2 else []
    data = boxed(code_stream(samples), space=GREY, channels=channels)
    return use(data, samples.shape[1], samples.shape[0], FERN, **given)


@pytest.mark.parametrize(
    ("shrink", "size"), [(1, (48, 16)), (2, (24, 8)), (3, (24, 8)), (4, (12, 4)), (8, (6, 2)), (99, (6, 2))]
)
def test_a_jpeg_is_decoded_no_smaller_than_is_asked_for(shrink, size):
    assert decoded_jpeg(of_jpeg("L"), shrink)[0].size == size


@pytest.mark.parametrize(("mode", "turned"), [("L", False), ("RGB", False), ("CMYK", True)])
def test_only_samples_of_cmyk_come_turned(mode, turned):
    found = decoded_samples(of_jpeg(mode), "DCTDecode", 1)
    assert (found.turned, found.bits) == (turned, 8)
    assert found.samples.shape == (TALL, WIDE, {"L": 1, "RGB": 3, "CMYK": 4}[mode])
    assert found.samples.mean() == pytest.approx(100, abs=2)


@pytest.mark.parametrize(
    ("mode", "space"), [("L", Name.DeviceRGB), ("RGB", Name.DeviceGray), ("CMYK", Name.DeviceRGB), ("L", TWO)]
)
def test_a_jpeg_of_other_colours_than_its_space_is_noise(mode, space):
    with pytest.raises(CannotBeRendered):
        decoded_jpeg(of_jpeg(mode, space), 1)


@pytest.mark.parametrize("mode", ["L", "CMYK"])
@pytest.mark.parametrize("format_", ["JPEG", "JPEG 2000"])
def test_a_picture_has_as_many_samples_as_the_bound_at_most(mode, format_, monkeypatch):
    read: Callable[[], object]
    count = {"L": 1, "CMYK": 4}[mode]
    if format_ == "JPEG":
        picture = of_jpeg(mode)
        read = partial(decoded_jpeg, picture, 1)
    else:
        samples = np.zeros((TALL, WIDE, count), np.uint8)
        picture = use(code_stream(samples), WIDE, TALL, SPACES[mode], Filter=Name.JPXDecode)
        read = partial(decoded_jpeg_2000, picture)
    monkeypatch.setattr(image_decoding, "MOST_SAMPLES_BYTES", WIDE * TALL * count)
    read()
    monkeypatch.setattr(image_decoding, "MOST_SAMPLES_BYTES", WIDE * TALL * count - 1)
    with pytest.raises(TooBig):
        read()


def test_the_size_that_a_jpeg_says_itself():
    assert jpeg_size(of_jpeg("RGB")) == (WIDE, TALL)
    assert jpeg_size(use(b"none", WIDE, TALL, Name.DeviceGray, Filter=Name.DCTDecode)) is None


def test_how_colours_are_stored_is_what_the_pdf_says():
    """Samples of 200, 128 and 128 are that much red, green and blue, or with a transform grey."""
    target = io.BytesIO()
    Image.frombytes("YCbCr", (WIDE, TALL), bytes((200, 128, 128)) * WIDE * TALL).save(target, "JPEG", quality=100)
    for told, rgb in ((0, (200, 128, 128)), (1, (200, 200, 200)), (None, (200, 200, 200))):
        keys = {} if told is None else {"DecodeParms": Dictionary(ColorTransform=told)}
        picture = use(target.getvalue(), WIDE, TALL, Name.DeviceRGB, Filter=Name.DCTDecode, **keys)
        assert decoded_samples(picture, "DCTDecode", 1).samples[3, 5].tolist() == pytest.approx(rgb, abs=2)


@pytest.mark.parametrize("last", ["CCITTFaxDecode", "JBIG2Decode"])
def test_fax_and_jbig2_are_left_to_the_renderer(last):
    with pytest.raises(CannotBeRendered):
        decoded_samples(use(b"", WIDE, TALL, FERN, 1), last, 1)


PAIRS = np.array([[(20, 51), (60, 255), (200, 51), (0, 0), (7, 0)]] * 3, np.uint8)
"""A colour and its opacity: a fifth, all, a fifth with too much colour, and none twice."""


@pytest.mark.parametrize(
    ("said", "kind", "colours"),
    [
        (0, OPACITY, [20, 60, 200, 0, 7]),
        (1, OPACITY, [20, 60, 200, 0, 7]),
        (2, PREMULTIPLIED, [100, 60, 255, 0, 255]),
    ],
)
def test_colours_that_are_mixed_with_nothing_are_parted_from_it(said, kind, colours):
    picture = jpx(PAIRS, SMaskInData=said, kind=kind)
    found = decoded_samples(picture, "JPXDecode", 1)
    assert found.samples[1, :, 0].tolist() == colours
    assert (found.bits, found.turned) == (8, False)
    if said:
        assert opacity_in_data(picture)[2].tolist() == [51, 255, 51, 0, 0]


def test_numbers_of_colours_are_no_colours():
    """Under an Indexed space the palette of the picture is left out, under others it is looked up."""
    numbers = np.array([[0, 1, 1, 0, 1]] * 3, np.uint8)[:, :, None]
    data = boxed(code_stream(numbers), space=GREY, palette=np.array([[50], [90]], np.uint8))
    by_index = use(data, 5, 3, Array([Name.Indexed, FERN, 1, String(b"ab")]), Filter=Name.JPXDecode)
    assert decoded_jpeg_2000(by_index).colours[0, :, 0].tolist() == [0, 1, 1, 0, 1]
    direct = use(data, 5, 3, FERN, Filter=Name.JPXDecode)
    assert decoded_jpeg_2000(direct).colours[0, :, 0].tolist() == [50, 90, 90, 50, 90]


def test_a_mask_in_jpeg_2000():
    samples = np.arange(15, dtype=np.uint8).reshape(3, 5, 1) * 9
    assert jpeg_2000_mask(jpx(samples)).tolist() == samples[:, :, 0].tolist()
    with pytest.raises(CannotBeRendered):
        jpeg_2000_mask(use(code_stream(np.zeros((3, 5, 3), np.uint8)), 5, 3, FERN, Filter=Name.JPXDecode))


@pytest.mark.parametrize("data", [b"", b"junk"])
def test_what_is_no_jpeg_2000_is_not_drawn(data):
    picture = use(data, 5, 3, FERN, Filter=Name.JPXDecode)
    for read in (decoded_jpeg_2000, jpeg_2000_mask):
        with pytest.raises(CannotBeRendered):
            read(picture)


@pytest.mark.parametrize(("decode", "tint"), [({}, 155), ({"Decode": [1, 0] * 4}, 100)])
def test_tints_of_a_jpeg_in_cmyk_are_those_of_the_samples_in_the_file(decode, tint):
    """What is handed out as 100 stands in the file as 155."""
    assert image_tints(of_jpeg("CMYK", **decode))[1].mean() == pytest.approx(tint, abs=2)
