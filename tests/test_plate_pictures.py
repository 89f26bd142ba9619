"""Pictures of the derived document: how far they are shrunk, stencils, and what stands for their masks."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, image_use
from preflight.artwork.pdf.images.image_sample_files import SampleFiles
from preflight.artwork.platemaking import plate_pictures as module
from preflight.artwork.platemaking.derived_pdf import Copies
from preflight.artwork.platemaking.picture_parts import Parts
from preflight.artwork.platemaking.plate_pictures import PlatePictures
from preflight.artwork.platemaking.renderings import LUMINOSITY, SILHOUETTE, Rendering
from preflight.errors import CannotBeRendered, TooBig

SOURCE, OUT = pikepdf.new(), pikepdf.new()
INKS = Rendering((("Magenta",), ("Gold",), ("Cyan",)))


def picture(samples: bytes, width: int, height: int, space: object = Name.DeviceCMYK, **keys: object) -> ImageUse:
    given = {"Width": width, "Height": height, "BitsPerComponent": 8, "ColorSpace": space, **keys}
    stream = SOURCE.make_stream(samples, Dictionary(Subtype=Name.Image, **given))  # type: ignore[arg-type]
    use = image_use(SOURCE.make_indirect(stream), ColourReader(), Dictionary())
    assert use is not None
    return use


def stencil(samples: bytes, width: int, height: int, **keys: object) -> ImageUse:
    return picture(samples, width, height, None, ImageMask=True, BitsPerComponent=1, **keys)


def pictures(
    ppi: dict[object, float] | None = None, pixel_mm: float = 0.0, parts: Parts | None = None
) -> PlatePictures:
    return PlatePictures(OUT, Copies(OUT).copy, ppi or {}, pixel_mm, SampleFiles(), parts)


def rows(made: Stream, channels: int = 3) -> list[Any]:
    found: list[Any] = (
        np.frombuffer(made.read_bytes(), np.uint8).reshape(int(made.Height), int(made.Width), channels).tolist()
    )
    return found


TWO_BY_ONE = bytes([255, 51, 0, 0, 0, 102, 255, 9])


def test_a_picture_becomes_channels():
    made: Any = pictures().image(picture(TWO_BY_ONE, 2, 1), INKS, {})
    assert (made.Width, made.Height, made.BitsPerComponent, made.ColorSpace) == (2, 1, 8, Name.DeviceRGB)
    assert rows(made) == [[[204, 255, 0], [153, 255, 255]]]


def test_of_one_plate_a_picture_has_its_tints_and_a_table():
    made: Any = pictures().image(picture(TWO_BY_ONE, 1, 2), Rendering((("Gold",), ("Black",), ("Black",))), {})
    assert rows(made, 1) == [[[0]], [[9]]]
    kind, base, last, table = made.ColorSpace
    assert (kind, base, last) == (Name.Indexed, Name.DeviceRGB, 255)
    assert np.frombuffer(bytes(table), np.uint8).reshape(256, 3)[[0, 9, 255]].tolist() == [
        [255, 255, 255], [255, 246, 246], [255, 0, 0],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rendering", "expected"), [(Rendering((("Gold",),)), [[[255] * 3]]), (SILHOUETTE, [[[0] * 3]])]
)
def test_of_no_plate_a_picture_is_one_sample(rendering, expected):
    assert rows(pictures().image(picture(TWO_BY_ONE, 2, 1), rendering, {})) == expected


@pytest.mark.parametrize(
    ("rendering", "expected"),
    [(LUMINOSITY, [[[148] * 3, [161] * 3]]), (Rendering(light="RGB"), [[[0, 204, 255], [246, 144, 0]]])],
)
def test_a_picture_as_light(rendering, expected):
    """(1 - 0.3 - 0.118), and (1 - 0.236 - 0.11) of what black leaves."""
    assert rows(pictures().image(picture(TWO_BY_ONE, 2, 1), rendering, {})) == expected


def test_pictures_are_made_once_for_each_rendering():
    made, use = pictures(), picture(TWO_BY_ONE, 2, 1)
    assert made.image(use, INKS, {}).objgen == made.image(use, INKS, {}).objgen
    assert made.image(use, INKS, {}).objgen != made.image(use, LUMINOSITY, {}).objgen


@pytest.mark.parametrize(
    ("ppi", "pixel_mm", "shrink"),
    [
        (0, 0.254, 1),
        (300, 0, 1),
        (300, 0.254, 2),  # three samples a pixel, of which one and a half are wanted
        (284, 0.254, 1),
        (286, 0.254, 2),  # a tenth is let pass
        (600, 0.254, 4),
        (150, 0.254, 1),
    ],
)
def test_a_picture_keeps_a_sample_and_a_half_a_pixel(ppi, pixel_mm, shrink):
    use = picture(TWO_BY_ONE, 2, 1)
    assert pictures({use.key: ppi}, pixel_mm).shrink_of(use) == shrink
    assert pictures({"another": 900}, pixel_mm).shrink_of(use) == 1


def test_a_picture_with_a_matte_is_not_shrunk():
    mask = SOURCE.make_stream(bytes(2), Dictionary(Width=2, Height=1, BitsPerComponent=8, Matte=[0, 0, 0, 0]))
    use = picture(TWO_BY_ONE, 2, 1, SMask=mask)
    assert pictures({use.key: 900}, 0.254).shrink_of(use) == 1


def test_a_picture_that_is_shrunk_is_the_mean_of_its_samples():
    samples = np.zeros((2, 4, 4), np.uint8)
    samples[:, :2, 1], samples[0, 2, 1] = 100, 200
    use = picture(samples.tobytes(), 4, 2)
    made = pictures({use.key: 300}, 0.254)
    assert rows(made.image(use, INKS, {})) == [[[155, 255, 255], [205, 255, 255]]]
    assert [key[1] for key in made.decoded] == [2]


def test_what_is_cut_off_of_a_part_is_bare():
    use = picture(bytes([0, 255, 0, 0] * 6), 2, 5)
    made = pictures(parts=Parts(frozenset({3}), {use.key: (0, 1, 2, 5)}, {}))
    part = made.part_of(use, 3, INKS)
    assert part == (0, 1, 2, 5)
    assert [row[0][0] for row in rows(made.image(use, INKS, {}, part))] == [0, 0, 255, 255]


def test_parts_are_for_the_streams_of_the_page_and_not_for_masks():
    use = picture(TWO_BY_ONE, 2, 1)
    made = pictures(parts=Parts(frozenset({3}), {use.key: (0, 0, 1, 1)}, {}))
    assert made.part_of(use, 3, INKS) == (0, 0, 1, 1)
    assert made.part_of(use, 4, INKS) is None
    assert made.part_of(use, 3, LUMINOSITY) is None
    assert pictures().part_of(use, 3, INKS) is None


@pytest.mark.parametrize(
    ("decode", "samples", "expected"),
    [
        (None, b"\x12\x34\x56\x78", b"\x12\x34\x56\x78"),
        (None, b"\x12\x34\x56", b"\x12\x34\x56\xff"),  # bits that are missing paint nothing
        ([1, 0], b"\x12\x34\x56", b"\x12\x34\x56\x00"),
        ([0, 1], b"\x12\x34\x56\x78\x9a", b"\x12\x34\x56\x78"),
    ],
)
def test_a_stencil_has_all_its_bits(decode, samples, expected):
    use = stencil(samples, 9, 2, **({"Decode": Array(decode)} if decode else {}))
    made: Any = pictures().stencil(use)
    assert made.read_bytes() == expected
    assert [float(v) for v in made.Decode] == (decode or [0, 1])
    assert (made.Width, made.Height, made.BitsPerComponent, bool(made.ImageMask)) == (9, 2, 1, True)
    assert "/ColorSpace" not in made


def masked(**keys: object) -> ImageUse:
    return picture(TWO_BY_ONE, 2, 1, **keys)


def gray(width: int, height: int, **keys: object) -> Stream:
    given: dict[str, Any] = {"Subtype": Name.Image, "Width": width, "Height": height, "BitsPerComponent": 8, **keys}
    return SOURCE.make_stream(bytes(range(width * height)), Dictionary(ColorSpace=Name.DeviceGray, **given))


@pytest.mark.parametrize("key", ["SMask", "Mask"])
def test_a_mask_of_very_many_samples_is_refused(monkeypatch, key):
    use = masked(**{key: gray(3, 4)})
    monkeypatch.setattr(module, "MOST_SAMPLES_BYTES", 48)
    assert key in {name.strip("/") for name in pictures().image(use, INKS, {}).keys()}  # noqa: SIM118
    monkeypatch.setattr(module, "MOST_SAMPLES_BYTES", 47)
    with pytest.raises(TooBig):
        pictures().image(use, INKS, {})


def test_a_soft_mask_goes_before_a_plain_one():
    made: Any = pictures().image(masked(SMask=gray(3, 1), Mask=gray(2, 1)), INKS, {})
    assert (int(made.SMask.Width), "/Mask" in made) == (3, False)


def test_a_colour_key_is_a_stencil_that_hides():
    made: Any = pictures().image(masked(Mask=Array([0, 10, 100, 110, 0, 255, 0, 255])), INKS, {})
    assert (made.Mask.Width, made.Mask.Height, bool(made.Mask.ImageMask)) == (2, 1, True)
    assert made.Mask.read_bytes() == bytes([0b01000000])


def test_a_matte_is_a_colour_of_the_channels():
    made: Any = pictures().image(masked(SMask=gray(2, 1, Matte=[1.0, 0.2, 0, 0])), INKS, {})
    assert [float(v) for v in made.SMask.Matte] == pytest.approx([0.8, 1, 0])
    assert made.SMask.read_bytes() == bytes([0, 1])


@pytest.mark.parametrize("space", [Name.DeviceRGB, Name.DeviceCMYK])
def test_a_soft_mask_of_several_colours_is_refused(space):
    mask = gray(2, 1)
    mask.ColorSpace = space
    with pytest.raises(CannotBeRendered):
        pictures().image(masked(SMask=mask), INKS, {})


def fax(width: int, height: int, space: object = Name.DeviceGray, **keys: object) -> ImageUse:
    return picture(b"\x26\xa0", width, height, space, BitsPerComponent=1, Filter=Name.CCITTFaxDecode, **keys)


def test_a_picture_of_two_levels_stays_packed_and_its_colours_are_channels():
    inks = Rendering((("Cyan",), ("Black",)))
    made: Any = pictures().image(fax(8, 1, DecodeParms=Dictionary(K=-1, Columns=8)), inks, {})
    assert (made.Filter, made.DecodeParms.Columns, made.read_raw_bytes()) == (Name.CCITTFaxDecode, 8, b"\x26\xa0")
    assert (made.Width, made.Height, made.BitsPerComponent, made.ColorSpace[2]) == (8, 1, 1, 1)
    assert list(bytes(made.ColorSpace[3])) == [255, 0, 255, 255, 255, 255]
    turned: Any = pictures().image(fax(8, 1, Decode=[1, 0]), inks, {})
    assert list(bytes(turned.ColorSpace[3])) == [255, 255, 255, 255, 0, 255]
    assert "/DecodeParms" not in turned


def test_a_picture_of_two_levels_has_one_component():
    with pytest.raises(CannotBeRendered):
        pictures().image(fax(8, 1, Name.DeviceCMYK), INKS, {})


@pytest.mark.parametrize(
    ("limits", "decode", "width"),
    [([0, 0], [1, 0], 8), ([1, 1], [0, 1], 8), ([0, 1], None, 1), ([2, 3], None, 0)],
)
def test_a_colour_key_on_two_levels_hides_one_of_them(limits, decode, width):
    """An explicit mask hides where a sample is 1, or 0 where it is decoded the other way round (8.9.6.3)."""
    made: Any = pictures().image(fax(8, 1, Mask=Array(limits)), Rendering((("Black",),)), {})
    assert ("/Mask" in made) == bool(width)
    if width:
        assert int(made.Mask.Width) == width
    if decode:
        assert [float(v) for v in made.Mask.Decode] == decode
        assert made.Mask.read_raw_bytes() == b"\x26\xa0"
