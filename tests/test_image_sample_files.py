"""Parts of pictures are the parts of the whole, whether their samples are kept in memory or in a file."""

from __future__ import annotations

import io
import zlib

import numpy as np
import pytest
from pikepdf import Array, Name, String
from PIL import Image

from preflight.artwork.pdf.images import image_sample_files
from preflight.artwork.pdf.images.image_decoding import decoded_jpeg
from preflight.artwork.pdf.images.image_dictionaries import ImageUse
from preflight.artwork.pdf.images.image_sample_files import SampleFiles
from preflight.artwork.pdf.images.image_tints import packed_rows
from preflight.errors import NotDrawn, TooBig
from tests.jpeg_2000 import code_stream
from tests.test_image_tints import FERN, TWO, use

WIDE, TALL = 9, 7
SAMPLES = np.arange(TALL * WIDE * 2, dtype=np.uint8).reshape(TALL, WIDE, 2)
PART = (2, 1, 6, 5)
"""Columns 2 to 5 of rows 1 to 4."""


def packed(bits: int) -> np.ndarray:
    """Samples of one component, and their rows as they are packed."""
    return np.arange(TALL * WIDE).reshape(TALL, WIDE) * 5 % (1 << bits)


def row_of_bits(row: np.ndarray, bits: int) -> bytes:
    words = "".join(format(int(value), f"0{bits}b") for value in row)
    words += "0" * (-len(words) % 8)
    return int(words, 2).to_bytes(len(words) // 8, "big")


@pytest.mark.parametrize("flate", [False, True], ids=["plain", "flate"])
def test_a_part_of_samples_of_a_byte(flate):
    data = zlib.compress(SAMPLES.tobytes()) if flate else SAMPLES.tobytes()
    picture = use(data, WIDE, TALL, TWO, **({"Filter": Name.FlateDecode} if flate else {}))
    found = SampleFiles().part(picture, PART)
    assert np.array_equal(found.samples, SAMPLES[1:5, 2:6])
    assert (found.bits, found.turned) == (8, False)


@pytest.mark.parametrize("bits", [1, 2, 4, 16])
def test_a_part_of_samples_of_few_or_many_bits(bits):
    samples = packed(bits)
    data = b"".join(row_of_bits(row, bits) for row in samples)
    found = SampleFiles().part(use(data, WIDE, TALL, FERN, bits), PART)
    assert np.array_equal(found.samples[:, :, 0], samples[1:5, 2:6])
    assert (found.samples.ndim, found.bits) == (3, bits)


def test_a_part_of_a_file_that_ends_early_has_fewer_rows():
    picture = use(SAMPLES[:3].tobytes(), WIDE, TALL, TWO)
    assert np.array_equal(SampleFiles().part(picture, PART).samples, SAMPLES[1:3, 2:6])


def jpeg(samples: np.ndarray, mode: str) -> bytes:
    target = io.BytesIO()
    Image.fromarray(samples, mode).save(target, "JPEG", quality=100, subsampling=0)
    return target.getvalue()


@pytest.mark.parametrize("held", [True, False], ids=["in memory", "in a file"])
@pytest.mark.parametrize(("components", "mode", "space"), [(1, "L", Name.DeviceGray), (4, "CMYK", Name.DeviceCMYK)])
def test_a_part_of_a_jpeg(held, components, mode, space, monkeypatch):
    monkeypatch.setattr(image_sample_files, "STRIP_ROWS", 4)
    monkeypatch.setattr(image_sample_files, "MOST_HELD_BYTES", WIDE * TALL * components - (not held))
    samples = np.clip(np.arange(TALL * WIDE * components).reshape(TALL, WIDE, components) * 3, 0, 255).astype(np.uint8)
    data = jpeg(samples[:, :, 0] if components == 1 else samples, mode)
    picture = use(data, WIDE, TALL, space, Filter=Name.DCTDecode)
    whole = np.asarray(Image.open(io.BytesIO(data))).reshape(TALL, WIDE, components)
    files = SampleFiles()
    found = files.part(picture, PART)
    assert np.array_equal(found.samples, whole[1:5, 2:6])
    assert (found.bits, found.turned) == (8, mode == "CMYK")
    assert np.array_equal(files.part(picture, (0, 5, 3, 7)).samples, whole[5:7, :3])


def test_a_part_of_a_jpeg_2000():
    picture = use(code_stream(SAMPLES[:, :, :1]), WIDE, TALL, FERN, Filter=Name.JPXDecode)
    found = SampleFiles().part(picture, PART)
    assert np.array_equal(found.samples, SAMPLES[1:5, 2:6, :1])
    assert found.bits == 8


def test_pictures_are_unpacked_once_and_told_apart(monkeypatch):
    unpacked = []

    def noted(each):
        unpacked.append(each.key)
        return packed_rows(each)

    monkeypatch.setattr(image_sample_files, "packed_rows", noted)
    files = SampleFiles()
    one, other = use(SAMPLES.tobytes(), WIDE, TALL, TWO), use(SAMPLES[::-1].tobytes(), WIDE, TALL, TWO)
    one, other = (_with_key(each, name) for each, name in ((one, "one"), (other, "other")))
    for _ in range(2):
        assert np.array_equal(files.part(one, PART).samples, SAMPLES[1:5, 2:6])
        assert np.array_equal(files.part(other, PART).samples, SAMPLES[::-1][1:5, 2:6])
    assert unpacked == ["one", "other"]
    files.close()
    files.part(one, PART)
    assert len(unpacked) == 3


def test_the_last_jpeg_stays_in_memory(monkeypatch):
    decoded = []

    def noted(each, shrink):
        decoded.append(each.key)
        return decoded_jpeg(each, shrink)

    monkeypatch.setattr(image_sample_files, "decoded_jpeg", noted)
    pictures = [
        _with_key(
            use(jpeg(np.full((TALL, WIDE), grey, np.uint8), "L"), WIDE, TALL, Name.DeviceGray, Filter=Name.DCTDecode),
            str(grey),
        )
        for grey in (10, 200)
    ]
    files = SampleFiles()
    for at in (0, 0, 1, 1, 0):
        assert files.part(pictures[at], PART).samples.mean() == pytest.approx((10, 200)[at], abs=1)
    assert decoded == ["10", "200", "10"]
    files.close()
    files.part(pictures[0], PART)
    assert len(decoded) == 4


def _with_key(picture: ImageUse, key: str) -> ImageUse:
    return ImageUse(picture.facts, picture.stream, picture.space, key)


def test_a_disk_without_room_is_a_bound(monkeypatch):
    def full(*given: object, **named: object) -> None:
        raise OSError(28, "no space left")

    monkeypatch.setattr("tempfile.TemporaryFile", full)
    with pytest.raises(TooBig):
        SampleFiles().part(use(SAMPLES.tobytes(), WIDE, TALL, TWO), PART)


def test_what_cannot_be_unpacked_is_not_drawn():
    with pytest.raises(NotDrawn):
        SampleFiles().part(use(b"x", WIDE, TALL, TWO, Filter=Name.Odd), PART)


GREY = jpeg(np.zeros((TALL, WIDE), np.uint8), "L")
FITS: dict[str, tuple[ImageUse, bool]] = {
    "samples": (use(b"", WIDE, TALL, TWO), True),
    "a JPEG of its size": (use(GREY, WIDE, TALL, Name.DeviceGray, Filter=Name.DCTDecode), True),
    "a JPEG of another width": (use(GREY, WIDE + 1, TALL, Name.DeviceGray, Filter=Name.DCTDecode), False),
    "a JPEG of another height": (use(GREY, WIDE, TALL + 1, Name.DeviceGray, Filter=Name.DCTDecode), False),
    "no JPEG": (use(b"x", WIDE, TALL, Name.DeviceGray, Filter=Name.DCTDecode), False),
    "JPEG 2000": (use(b"", WIDE, TALL, FERN, Filter=Name.JPXDecode), True),
    "fax": (use(b"", WIDE, TALL, FERN, 1, Filter=Name.CCITTFaxDecode), False),
    "JBIG2": (use(b"", WIDE, TALL, FERN, 1, Filter=Name.JBIG2Decode), False),
    "without plates": (use(b"", WIDE, TALL, Array([Name.Separation, Name("/None"), Name.DeviceGray, None])), False),
    "a stencil": (use(b"", WIDE, TALL, FERN, ImageMask=True), False),
    "by index": (use(b"", WIDE, TALL, Array([Name.Indexed, FERN, 0, String(b"a")])), True),
}


@pytest.mark.parametrize(("picture", "fits"), FITS.values(), ids=FITS)
def test_of_which_pictures_parts_can_be_had(picture, fits):
    files = SampleFiles()
    assert files.fits(picture) is fits
    assert files.fits(picture) is fits


@pytest.mark.parametrize(("most", "fits"), [(WIDE * TALL * 2, True), (WIDE * TALL * 2 - 1, False)])
def test_no_more_than_the_bound_is_unpacked(most, fits, monkeypatch):
    monkeypatch.setattr(image_sample_files, "MOST_SAMPLES_BYTES", most)
    assert SampleFiles().fits(use(b"", WIDE, TALL, TWO)) is fits
