"""What pictures say of themselves: sizes, filters, masks, alternates, and pictures inside a stream."""

from __future__ import annotations

import zlib

import pytest
from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.images import image_dictionaries
from preflight.artwork.pdf.images.image_dictionaries import (
    PREBLENDED,
    STRAIGHT,
    ImageUse,
    behind_outer_filters,
    image_use,
    inline_image,
    is_soft_masked,
    parameters_of,
    plain_bytes,
    plain_soft_mask,
    soft_mask_in_data,
)
from preflight.errors import CannotBeRendered, TooBig
from tests.test_image_tints import FERN, PDF, TWO, use


def stream(data: bytes = b"", **keys: object) -> Stream:
    given = {"Subtype": Name.Image, "Width": 5, "Height": 7, "Length": len(data), **keys}
    return PDF.make_stream(data, **{key: value for key, value in given.items() if value is not None})


def used(data: bytes = b"", **keys: object) -> ImageUse | None:
    return image_use(stream(data, **keys), ColourReader(), None)


def there(data: bytes = b"", **keys: object) -> ImageUse:
    found = used(data, **keys)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("keys", "size"),
    [
        ({}, (5, 7)),
        ({"Width": 5.0}, (5, 7)),
        ({"Width": 1, "Height": 1}, (1, 1)),
        ({"Width": 0}, None),
        ({"Height": 0}, None),
        ({"Width": -5}, None),
        ({"Height": -1}, None),
        ({"Width": None}, None),
        ({"Height": Name.Seven}, None),
    ],
    ids=str,
)
def test_a_picture_has_a_width_and_a_height(keys, size):
    found = used(**keys)
    assert (found and (found.facts.width_px, found.facts.height_px)) == size


@pytest.mark.parametrize(
    ("keys", "bits", "is_mask", "family"),
    [
        ({}, 8, False, "DeviceGray"),
        ({"BitsPerComponent": 4, "ColorSpace": Name.DeviceRGB}, 4, False, "DeviceRGB"),
        ({"BitsPerComponent": 0}, 8, False, "DeviceGray"),
        ({"ImageMask": True, "BitsPerComponent": 8, "ColorSpace": Name.DeviceRGB}, 1, True, None),
        ({"ImageMask": False, "ColorSpace": FERN}, 8, False, "Separation"),
        ({"ImageMask": 1}, 8, False, "DeviceGray"),
    ],
    ids=str,
)
def test_bits_and_spaces_of_pictures_and_of_stencils(keys, bits, is_mask, family):
    found = there(**keys)
    assert (found.facts.bits, found.facts.is_mask) == (bits, is_mask)
    assert (found.space and found.space.family) == family
    assert (found.facts.is_soft_mask_only, found.facts.flat) == (False, False)


def test_a_picture_can_put_ink_on_every_plate_of_its_space():
    colour = there(ColorSpace=TWO).colour
    assert (dict(colour.tints), colour.varies) == ({"Fern": 1, "Moss": 1}, True)


@pytest.mark.parametrize(
    ("filters", "names"),
    [
        (None, []),
        (Name.FlateDecode, ["FlateDecode"]),
        (Name.Fl, ["FlateDecode"]),
        (Array([Name.A85, Name.DCT]), ["ASCII85Decode", "DCTDecode"]),
        (Array([Name.AHx, Name.LZW, Name.RL, Name.CCF]), [
            "ASCIIHexDecode", "LZWDecode", "RunLengthDecode", "CCITTFaxDecode"
        ]),
        (Array([]), []),
        (Name.Odd, ["Odd"]),
    ],
)  # fmt: skip
def test_filters_by_their_full_names(filters, names):
    assert there(Filter=filters).filters == names


@pytest.mark.parametrize(
    ("data", "keys", "flat"),
    [
        (bytes(3500), {}, True),
        (bytes(3499) + b"\1", {}, False),
        (b"\1" + bytes(3499), {}, False),
        (bytes([1, 2]) * 1750, {"ColorSpace": TWO, "Width": 50}, True),
        (bytes([1, 2]) * 1749 + bytes([2, 1]), {"ColorSpace": TWO, "Width": 50}, False),
        (bytes([1, 2]) * 1750, {}, False),
        (bytes([255]) * 3500, {"BitsPerComponent": 1, "Width": 800}, True),
    ],
)
def test_a_picture_is_flat_whose_samples_are_all_alike(data, keys, flat):
    given = {"Width": 100, "Height": 35, "Filter": Name.FlateDecode, **keys}
    assert there(zlib.compress(data), **given).facts.flat is flat


def test_only_what_packs_to_a_hundredth_is_looked_at_and_no_stencils_or_photos(monkeypatch):
    tight = zlib.compress(bytes(10_000))
    size = {"Width": 100, "Height": 100, "Filter": Name.FlateDecode}
    assert there(tight, **size).facts.flat
    assert not there(tight, **size, ImageMask=True).facts.flat
    assert not there(bytes(10_000), **{**size, "Filter": None}).facts.flat
    assert not there(tight, **{**size, "Filter": Array([Name.FlateDecode, Name.DCTDecode])}).facts.flat
    monkeypatch.setattr(image_dictionaries, "_FLAT_LOOKED_AT", 10_000)
    assert there(tight, **size).facts.flat
    monkeypatch.setattr(image_dictionaries, "_FLAT_LOOKED_AT", 9_999)
    assert not there(tight, **size).facts.flat


def with_alternates(*chosen: object) -> ImageUse:
    alternates = [
        Dictionary(Image=stream(Width=10 + number), DefaultForPrinting=choice) for number, choice in enumerate(chosen)
    ]
    return there(Alternates=Array([Name.Odd, *alternates]))


@pytest.mark.parametrize(
    ("chosen", "width"), [((), 5), ((False,), 5), ((True,), 10), ((False, True, True), 11), ((1,), 5)]
)  # fmt: skip
def test_the_first_alternate_that_is_for_printing_is_printed(chosen, width):
    assert with_alternates(*chosen).facts.width_px == width


def test_the_same_picture_in_the_same_space_has_one_key():
    reader, made = ColourReader(), PDF.make_indirect(stream(ColorSpace=Name.DeviceGray))
    one, again = (image_use(made, reader, None) for _ in range(2))
    other = image_use(made, reader, Dictionary(ColorSpace=Dictionary(DefaultGray=FERN)))
    assert one is not None
    assert again is not None
    assert other is not None
    assert one.key == again.key
    assert one.key != other.key


# -- inside a stream --------------------------------------------------------------------------------------------------


def inline(raw: bytes, resources: object = None) -> ImageUse | None:
    return inline_image(raw, PDF, ColourReader(), resources)


def test_short_keys_and_values_of_pictures_inside_a_stream():
    found = inline(
        b"BI /W 3 /H 2 /BPC 4 /CS /RGB /F [/AHx /Fl] /D [1 0 1 0 1 0] /DP [null <</K 1>>] /I true /L 9 ID data "
    )
    assert found is not None
    assert (found.facts.width_px, found.facts.height_px, found.facts.bits) == (3, 2, 4)
    assert found.filters == ["ASCIIHexDecode", "FlateDecode"]
    assert found.space is not None
    assert found.space.family == "DeviceRGB"
    assert found.stream.read_raw_bytes() == b"data"
    assert sorted(key for key in found.stream.stream_dict if key != "/Length") == [
        "/BitsPerComponent", "/ColorSpace", "/Decode", "/DecodeParms", "/Filter", "/Height", "/Interpolate", "/Width"
    ]  # fmt: skip
    stencil = inline(b"BI /W 3 /H 2 /IM true ID data\n")
    assert stencil is not None
    assert stencil.facts.is_mask


@pytest.mark.parametrize(
    ("raw", "data"),
    [
        (b"BI /W 3 /H 2 ID data ", b"data"),
        (b"BI /W 3 /H 2\nID\ndata\n", b"data"),
        (b"BI /W 3 /H 2 /D[0 1]ID data ", b"data"),
        (b"BI /W 3 /H 2 ID  ID  ", b" ID "),
        (b"BI /Width 3 /Height 2 ID data ", b"data"),
    ],
)
def test_the_data_begin_a_white_space_behind_their_mark(raw, data):
    found = inline(raw)
    assert found is not None
    assert found.stream.read_raw_bytes() == data


@pytest.mark.parametrize("raw", [b"BI /W 3 /H 2 ", b"BI /W 3 ID data ", b"BI /W [3 ID data ", b"BI W 3 /H 2 ID data "])
def test_pictures_inside_a_stream_that_cannot_be_read(raw):
    assert inline(raw) is None


def test_pictures_inside_a_stream_are_the_same_where_their_bytes_are():
    reader = ColourReader()
    keys = [
        found.key
        for raw in (b"BI /W 3 /H 2 ID data ", b"BI /W 3 /H 2 ID data ", b"BI /W 3 /H 2 ID date ")
        if (found := inline_image(raw, PDF, reader, None)) is not None
    ]
    assert keys[0] == keys[1] != keys[2]


def test_a_space_of_the_resources_inside_a_stream():
    found = inline(b"BI /W 3 /H 2 /CS /Leaf ID data ", Dictionary(ColorSpace=Dictionary(Leaf=FERN)))
    assert found is not None
    assert found.space is not None
    assert found.space.plates == ("Fern",)


# -- data and masks ---------------------------------------------------------------------------------------------------


def test_as_many_bytes_as_are_wanted(monkeypatch):
    picture = use(bytes(range(100)), 10, 10)
    assert plain_bytes(picture, 3) == b"\0\1\2"
    assert len(plain_bytes(picture, 200)) == 100
    monkeypatch.setattr(image_dictionaries, "MOST_SAMPLES_BYTES", 50)
    assert len(plain_bytes(picture, 50)) == 50
    with pytest.raises(TooBig):
        plain_bytes(picture, 51)


def test_a_picture_may_have_some_bytes_more_than_it_needs_and_not_a_great_many():
    assert len(plain_bytes(use(bytes(65_546), 5, 2), 10)) == 10
    with pytest.raises(CannotBeRendered):
        plain_bytes(use(bytes(65_547), 5, 2), 10)


JPX = {"Filter": Name.JPXDecode, "ColorSpace": Name.DeviceGray}


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({**JPX}, 0),
        ({**JPX, "SMaskInData": 1}, STRAIGHT),
        ({**JPX, "SMaskInData": 2}, PREBLENDED),
        ({**JPX, "SMaskInData": 3}, 0),
        ({**JPX, "SMaskInData": 0}, 0),
        ({"SMaskInData": 1}, 0),
        ({"Filter": Name.DCTDecode, "SMaskInData": 1}, 0),
        ({**JPX, "SMaskInData": 1, "ImageMask": True}, 0),
        ({**JPX, "SMaskInData": 1, "SMask": "a mask"}, 0),
        ({**JPX, "SMaskInData": 1, "SMask": Name.Odd}, STRAIGHT),
        ({**JPX, "Filter": Array([Name.FlateDecode, Name.JPXDecode]), "SMaskInData": 1}, STRAIGHT),
    ],
)
def test_opacity_that_stands_in_the_data(keys, said):
    """ISO 32000-2, table 87: a soft mask of its own stands for it."""
    has_mask = keys.get("SMask") == "a mask"
    picture = there(**{**keys, "SMask": stream() if has_mask else keys.get("SMask")})
    assert soft_mask_in_data(picture) == said
    assert is_soft_masked(picture) is (has_mask or said > 0)


@pytest.mark.parametrize(
    ("keys", "plain"),
    [
        ({}, True),
        ({"ColorSpace": Name.DeviceCMYK}, False),
        ({"Matte": Array([0])}, False),
        ({"Mask": Array([0, 1])}, False),
        ({"ImageMask": True}, False),
        ({"Width": 0}, False),
    ],
)
def test_a_plain_soft_mask_is_grey_and_nothing_else(keys, plain):
    found = plain_soft_mask(there(SMask=stream(**{"Width": 3, **keys})), ColourReader())
    assert (found is not None) is plain
    assert found is None or found.facts.width_px == 3
    assert plain_soft_mask(there(), ColourReader()) is None


@pytest.mark.parametrize(
    ("filters", "parameters", "k"),
    [
        (Name.DCTDecode, Dictionary(K=1), 1),
        (Array([Name.AHx, Name.DCTDecode]), Array([None, Dictionary(K=2)]), 2),
        (Array([Name.AHx, Name.DCTDecode]), Array([Dictionary(K=1), Dictionary(K=2)]), 2),
        (Array([Name.AHx, Name.DCTDecode]), Array([Dictionary(K=1)]), None),
        (Name.DCTDecode, None, None),
        (Name.DCTDecode, Name.Odd, None),
    ],
)
def test_parameters_are_those_of_the_last_filter(filters, parameters, k):
    found = parameters_of(there(Filter=filters, DecodeParms=parameters))
    assert (found and found.K) == k


def test_outer_filters_are_taken_off_a_picture_format():
    jpeg = b"\xff\xd8 picture"
    assert behind_outer_filters(there(jpeg, Filter=Name.DCTDecode)) == jpeg
    packed = zlib.compress(jpeg).hex().encode() + b">"
    assert behind_outer_filters(there(packed, Filter=Array([Name.AHx, Name.Fl, Name.DCT]))) == jpeg
    with pytest.raises(CannotBeRendered):
        behind_outer_filters(there(jpeg, Filter=Array([Name.Odd, Name.DCTDecode])))


@pytest.mark.parametrize(("length", "looked_at"), [(200, True), (201, False)])
def test_a_hundredth_and_a_hundred_bytes_may_be_packed_of_a_flat_picture(length, looked_at):
    found = there(zlib.compress(bytes(10_000)), Width=100, Height=100, Filter=Name.FlateDecode, Length=length)
    assert found.facts.flat is looked_at


def test_a_flat_picture_of_bits():
    keys = {"Width": 9, "Height": 10, "BitsPerComponent": 1, "Filter": Name.FlateDecode}
    assert there(zlib.compress(bytes(20)), **keys).facts.flat
    assert there(zlib.compress(b"\xff" * 20), **keys).facts.flat
    assert not there(zlib.compress(b"\xff\x80" * 10), **keys).facts.flat
    assert not there(zlib.compress(b"\xff"), **keys).facts.flat
