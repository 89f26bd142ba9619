"""JPEG 2000 pictures: what their boxes say (ISO/IEC 15444-1, annexes A and I), and samples as a PDF reads them."""

from __future__ import annotations

import struct
from collections.abc import Sequence

import numpy as np
import pytest

from preflight.artwork.pdf.images import jpeg_2000
from preflight.artwork.pdf.images.jpeg_2000 import (
    Channel,
    Decoded,
    Jpeg2000,
    _by_renderer,
    _rgb_of_ycc,
    _to_eight,
    counted,
    decoded,
    mask_of,
    read_jpeg_2000,
)
from preflight.errors import Jpeg2000Fault
from tests.jpeg_2000 import COLOUR, GREY, OPACITY, PREMULTIPLIED, RGB, boxed, code_stream
from tests.test_image_decoding import DEEP, FIVE, NIBBLES, ONE_BIT, stored


def head(components: Sequence[tuple[int, int, int]], size: tuple[int, int, int, int] = (5, 7, 0, 0)) -> bytes:
    """The SIZ segment of a code stream: right, lower, left and upper; depth less one and thinning of each component."""
    parts = b"".join(struct.pack(">BBB", *component) for component in components)
    body = struct.pack(">HIIIIIIIIH", 0, *size, *size[:2], 0, 0, len(components)) + parts
    return b"\xff\x4f\xff\x51" + struct.pack(">H", len(body) + 2) + body


def box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", len(body) + 8, kind) + body


PLAIN = head([(7, 1, 1)] * 3)


def with_header(*boxes: bytes, stream: bytes = PLAIN) -> Jpeg2000:
    return read_jpeg_2000(box(b"jp2h", b"".join(boxes)) + box(b"jp2c", stream))


def test_the_size_is_from_the_left_to_the_right_and_from_above_to_below():
    found = read_jpeg_2000(head([(7, 1, 1)], (50, 70, 10, 20)))
    assert (found.width, found.height) == (40, 50)
    assert (found.depths, found.thinned, found.channels) == ((8,), False, (Channel(0),))


@pytest.mark.parametrize(
    ("components", "depths", "thinned"),
    [
        ([(7, 1, 1), (0, 1, 1)], (8, 1), False),
        ([(0x80 | 11, 1, 1)], (12,), False),  # signed
        ([(7, 1, 1), (7, 2, 1)], (8, 8), True),
        ([(7, 1, 1), (7, 1, 2)], (8, 8), True),
    ],
)
def test_depths_and_thinning_of_components(components, depths, thinned):
    found = read_jpeg_2000(head(components))
    assert (found.depths, found.thinned) == (depths, thinned)


@pytest.mark.parametrize(
    "data",
    [
        PLAIN,
        b"junk" + PLAIN,
        box(b"jp2c", PLAIN),
        box(b"free", b"xyz") + box(b"jp2c", PLAIN),
        box(b"jp2c", PLAIN) + box(b"jp2c", head([(0, 1, 1)])),
        struct.pack(">I4sQ", 1, b"jp2c", len(PLAIN) + 16) + PLAIN,
        struct.pack(">I4s", 0, b"jp2c") + PLAIN,
        box(b"free", b"xyz") + struct.pack(">I4s", 3, b"odd!") + PLAIN,
    ],
    ids=["bare", "behind junk", "in a box", "behind a box", "the first of two", "of a long box", "of an open box",
         "behind a broken box"],
)  # fmt: skip
def test_the_code_stream_is_found(data):
    found = read_jpeg_2000(data)
    assert (found.width, found.height, found.depths) == (5, 7, (8, 8, 8))
    assert found.stream.startswith(b"\xff\x4f\xff\x51")


@pytest.mark.parametrize("data", [b"", b"junk", PLAIN[:30], PLAIN[:43], box(b"jp2c", b"junk")])
def test_what_has_no_head_cannot_be_read(data):
    with pytest.raises(Jpeg2000Fault):
        read_jpeg_2000(data)


@pytest.mark.parametrize(
    ("colour", "enumerated", "family"),
    [
        (b"\1\0\0" + struct.pack(">I", 12), 12, "DeviceCMYK"),
        (b"\1\0\0" + struct.pack(">I", 15), 15, "DeviceGray"),
        (b"\1\0\0" + struct.pack(">I", 16), 16, "DeviceRGB"),
        (b"\1\0\0" + struct.pack(">I", 17), 17, "DeviceGray"),
        (b"\1\0\0" + struct.pack(">I", 18), 18, "DeviceRGB"),
        (b"\1\0\0" + struct.pack(">I", 14), 14, ""),
        (b"\2\0\0" + bytes(16) + b"GRAY", None, "DeviceGray"),
        (b"\3\0\0" + bytes(16) + b"RGB ", None, "DeviceRGB"),
        (b"\2\0\0" + bytes(16) + b"CMYK", None, "DeviceCMYK"),
        (b"\2\0\0" + bytes(16) + b"Lab ", None, ""),
        (b"\4\0\0" + bytes(16) + b"Lab ", None, "DeviceRGB"),
        (b"\1\0\0\0", None, "DeviceRGB"),
        (b"", None, "DeviceRGB"),
    ],
)
def test_the_colour_space_by_number_by_profile_or_by_the_number_of_colours(colour, enumerated, family):
    found = with_header(box(b"colr", colour))
    assert (found.enumerated, found.family) == (enumerated, family)


@pytest.mark.parametrize(
    ("count", "family"),
    [(1, "DeviceGray"), (2, "DeviceGray"), (3, "DeviceRGB"), (4, "DeviceCMYK"), (5, "DeviceCMYK"), (6, "")],
)
def test_the_colour_space_of_a_bare_stream(count, family):
    assert read_jpeg_2000(head([(7, 1, 1)] * count)).family == family


def test_the_first_box_of_a_kind_counts():
    one, other = (b"\1\0\0" + struct.pack(">I", number) for number in (17, 16))
    assert with_header(box(b"colr", one), box(b"colr", other)).enumerated == 17


def definition(*entries: tuple[int, int, int]) -> bytes:
    return box(b"cdef", struct.pack(">H", len(entries)) + b"".join(struct.pack(">HHH", *entry) for entry in entries))


@pytest.mark.parametrize(
    ("entries", "colours", "opacity"),
    [
        ([(0, COLOUR, 1), (1, COLOUR, 2), (2, COLOUR, 3)], [0, 1, 2], None),
        ([(0, COLOUR, 3), (1, COLOUR, 1), (2, COLOUR, 2)], [1, 2, 0], None),
        ([(0, COLOUR, 2), (1, OPACITY, 0), (2, COLOUR, 1)], [2, 0], 1),
        ([(0, COLOUR, 1), (1, COLOUR, 2), (2, PREMULTIPLIED, 0)], [0, 1], 2),
        ([(0, COLOUR, 1), (1, OPACITY, 1), (2, OPACITY, 0)], [0], 2),  # the opacity of one colour is not that of all
        ([(0, OPACITY, 0), (1, OPACITY, 0), (2, COLOUR, 1)], [2], 0),
        ([(0, COLOUR, 1), (1, COLOUR, 1), (2, COLOUR, 2)], [0, 2], None),
        ([(0, COLOUR, 0), (1, COLOUR, 4), (2, COLOUR, 3)], [2], None),
        ([(0, COLOUR, 1), (1, 65535, 65535), (2, COLOUR, 2)], [0, 2], None),
    ],
)
def test_channels_are_what_their_definition_says(entries, colours, opacity):
    found = with_header(definition(*entries))
    assert found.channels == tuple(Channel(number) for number in colours)
    assert found.opacity == (None if opacity is None else Channel(opacity))


def palette(depths: Sequence[int], *rows: Sequence[int]) -> bytes:
    body = struct.pack(">HB", len(rows), len(depths)) + bytes(depth - 1 for depth in depths)
    for row in rows:
        body += b"".join(
            entry.to_bytes(1 if depth <= 8 else 2, "big") for entry, depth in zip(row, depths, strict=True)
        )
    return box(b"pclr", body)


def mapping(*entries: tuple[int, int, int]) -> bytes:
    return box(b"cmap", b"".join(struct.pack(">HBB", *entry) for entry in entries))


def test_a_palette_has_columns_of_their_own_depths():
    found = with_header(palette([8, 12, 4], (1, 2000, 3), (255, 4095, 15)), stream=head([(7, 1, 1)]))
    assert found.palette is not None
    assert found.palette.tolist() == [[1, 2000, 3], [255, 4095, 15]]
    assert found.palette_depths == (8, 12, 4)
    assert found.channels == (Channel(0, 0), Channel(0, 1), Channel(0, 2))
    assert [found.depth(channel) for channel in (*found.channels, Channel(0))] == [8, 12, 4, 8]


def test_channels_may_be_mapped_to_columns_or_stand_as_they_are():
    stream = head([(7, 1, 1), (3, 1, 1)])
    found = with_header(palette([8, 8], (1, 2)), mapping((0, 1, 1), (1, 0, 0), (0, 1, 0)), stream=stream)
    assert found.channels == (Channel(0, 1), Channel(1), Channel(0, 0))


@pytest.mark.parametrize(
    "boxes",
    [
        [palette([8], (1,)), mapping((1, 1, 0))],
        [palette([8], (1,)), mapping((0, 1, 1))],
        [palette([17], (1,))],
        [palette([])],
        [definition((1, COLOUR, 1))],
    ],
    ids=["no such component", "no such column", "too deep", "no columns", "no such channel"],
)
def test_boxes_that_speak_of_what_is_not_there(boxes):
    with pytest.raises(Jpeg2000Fault):
        with_header(*boxes, stream=head([(7, 1, 1)]))


# -- samples ----------------------------------------------------------------------------------------------------------

SAMPLES = (np.arange(4 * 6 * 4, dtype=np.uint8) * 2).reshape(4, 6, 4)
"""Four rows of six."""


def got(picture: bytes, count: int, *, indexed: bool = False, opacity: bool = False) -> Decoded:
    return decoded(read_jpeg_2000(picture), count, indexed=indexed, opacity=opacity)


@pytest.mark.parametrize("count", [1, 3, 4])
def test_samples_come_as_they_are(count):
    found = got(code_stream(SAMPLES[:, :, :count]), count)
    assert np.array_equal(found.colours, SAMPLES[:, :, :count])
    assert (found.bits, found.opacity, found.scaled) == (8, None, False)


def test_channels_come_in_the_order_of_their_colours():
    channels = [(0, COLOUR, 2), (1, COLOUR, 3), (2, COLOUR, 1)]
    found = got(boxed(code_stream(SAMPLES[:, :, :3]), space=RGB, channels=channels), 3)
    assert np.array_equal(found.colours, SAMPLES[:, :, [2, 0, 1]])


def test_a_channel_that_is_left_over_is_opacity():
    picture = code_stream(SAMPLES)
    found = got(picture, 3, opacity=True)
    assert np.array_equal(found.colours, SAMPLES[:, :, :3])
    assert found.opacity is not None
    assert np.array_equal(found.opacity, SAMPLES[:, :, 3])
    assert got(picture, 3).opacity is None
    with pytest.raises(Jpeg2000Fault):
        got(picture, 4, opacity=True)
    for count in (1, 2, 5):
        with pytest.raises(Jpeg2000Fault):
            got(picture, count)


def test_opacity_stands_where_its_definition_says():
    channels = [(0, OPACITY, 0), (1, COLOUR, 1)]
    found = got(boxed(code_stream(SAMPLES[:, :, :2]), space=GREY, channels=channels), 1, opacity=True)
    assert np.array_equal(found.colours, SAMPLES[:, :, 1:2])
    assert found.opacity is not None
    assert np.array_equal(found.opacity, SAMPLES[:, :, 0])


def test_a_palette_is_looked_up_unless_the_pdf_has_one():
    numbers = (np.arange(24, dtype=np.uint8).reshape(4, 6, 1)) % 5
    table = np.array([(10, 20, 30), (40, 50, 60), (70, 80, 90)], np.uint8)
    picture = boxed(code_stream(numbers), space=RGB, palette=table)
    found = got(picture, 3)
    assert np.array_equal(found.colours, table[np.minimum(numbers[:, :, 0], 2)])
    assert found.colours.dtype == np.uint8
    left = got(picture, 1, indexed=True)
    assert np.array_equal(left.colours, numbers)


def test_a_palette_of_one_column_beside_a_component():
    numbers = np.dstack([np.arange(24, dtype=np.uint8).reshape(4, 6) % 2, SAMPLES[:, :, 0]])
    picture = boxed(
        code_stream(numbers), space=GREY, palette=np.array([[9], [77]], np.uint8), mapped=[(0, 1, 0), (1, 0, 0)]
    )
    found = got(picture, 1, opacity=True)
    assert np.array_equal(found.colours[:, :, 0], np.where(numbers[:, :, 0] == 1, 77, 9))
    assert found.opacity is not None
    assert np.array_equal(found.opacity, numbers[:, :, 1])


def test_few_bits_stay_few_and_many_components_are_brought_to_eight():
    few = got(stored(NIBBLES), 1)
    assert (few.bits, few.scaled) == (4, False)
    assert [few.colours[at][0] for at in ((0, 0), (0, 63), (63, 0), (63, 63))] == [0, 3, 8, 15]
    one = got(stored(ONE_BIT), 1)
    assert (one.bits, sorted(np.unique(one.colours))) == (1, [0, 1])
    deep = got(stored(DEEP), 4)
    assert (deep.bits, deep.scaled) == (8, True)
    assert deep.colours[5, 9].tolist() == pytest.approx([255, 0, 60, 150], abs=1)
    five = got(stored(FIVE), 4, opacity=True)
    assert five.colours[5, 9].tolist() == [255, 0, 60, 150]
    assert five.opacity is not None
    assert five.opacity.shape == (64, 64)
    assert set(np.unique(five.opacity)) == {128}


@pytest.mark.parametrize("strip", [1, 13, 16_000_000])
@pytest.mark.parametrize("count", [3, 4])
def test_what_the_renderer_paints_is_the_picture_pixel_for_pixel(count, strip, monkeypatch):
    monkeypatch.setattr(jpeg_2000, "_STRIP_PX", strip)
    found = _by_renderer(read_jpeg_2000(code_stream(SAMPLES[:, :, :count])))
    assert found.shape == (4, 6, count)
    assert np.abs(found.astype(int) - SAMPLES[:, :, :count]).max() <= 1


def test_a_mask_is_of_one_channel_brought_to_eight_bits():
    corners = [mask_of(read_jpeg_2000(stored(NIBBLES)))[at] for at in ((0, 0), (0, 63), (63, 0), (63, 63))]
    assert corners == [0, 51, 136, 255]
    assert sorted(np.unique(mask_of(read_jpeg_2000(stored(ONE_BIT))))) == [0, 255]
    with pytest.raises(Jpeg2000Fault):
        mask_of(read_jpeg_2000(code_stream(SAMPLES[:, :, :3])))


def test_colours_of_ycc_are_turned_into_rgb():
    """The space of number 18; the figures are those of JFIF."""
    given = np.array([[(255, 128, 128), (0, 128, 128), (128, 128, 228), (128, 228, 128), (100, 90, 200)]], np.uint8)
    found = got(boxed(code_stream(given.repeat(8, 0)), space=18), 3)
    assert found.colours[0].tolist() == [
        [255, 255, 255], [0, 0, 0], [255, 57, 128], [128, 94, 255], [201, 62, 33]
    ]  # fmt: skip
    assert _rgb_of_ycc(given)[0, 4].tolist() == [201, 62, 33]


@pytest.mark.parametrize(
    ("depth", "values", "eight"),
    [(1, [0, 1], [0, 255]), (4, [0, 3, 15], [0, 51, 255]), (8, [0, 7, 255], [0, 7, 255]),
     (16, [0, 257, 65535], [0, 1, 255])],
)  # fmt: skip
def test_samples_of_any_depth_as_eight_bits(depth, values, eight):
    assert _to_eight(np.array(values), depth).tolist() == eight


@pytest.mark.parametrize(
    "components",
    [[(7, 1, 1), (7, 2, 2), (7, 2, 2)], [(11, 1, 1), (7, 1, 1)], [(7, 1, 1), (11, 1, 1), (7, 1, 1)]],
    ids=["thinned", "of two depths", "of three"],
)
def test_what_no_decoder_reads_truly_is_not_decoded(components):
    with pytest.raises(Jpeg2000Fault):
        got(head(components), len(components))


def test_colours_are_counted_in_words():
    assert [counted(number) for number in (1, 2, 5)] == ["1 colour", "2 colours", "5 colours"]
