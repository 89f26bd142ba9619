"""A close look at a large picture decodes what shows in the window, and sees what the whole picture shows there."""

from __future__ import annotations

import io
import zlib
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, String
from PIL import Image

from preflight.artwork.page.page import Page
from preflight.artwork.pdf.images import image_sample_files
from preflight.artwork.platemaking import derived_documents
from preflight.artwork.platemaking.picture_parts import (
    NOTHING,
    Parts,
    PictureParts,
    _around,
    _in_samples,
    _steps,
    _within,
    of_mask,
    placing,
)
from preflight.artwork.read_artwork import ReadPage, read_artwork
from tests.drawn import MM, Drawing

WIDE, TALL = 360, 240
PLACE = (10, 8, 70, 48)
WINDOWS = [(24.3, 20.1, 33.7, 27.9), (5, 40, 18, 55), (60, 3, 75, 14), (10, 27, 70, 27.6)]
SPOTS = Array([Name.DeviceN, Array([Name.Cyan, Name("/Leaf")]), Name.DeviceCMYK, Dictionary(
    FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 4)])  # fmt: skip


def waves(plates: int) -> np.ndarray:
    """Samples that differ everywhere, (rows, columns, plates)."""
    rows, columns = np.mgrid[:TALL, :WIDE]
    each = [127 + 120 * np.sin(columns / (5.0 + 3 * k) + rows / (9.0 - k)) for k in range(plates)]
    return np.stack(each, axis=2).astype(np.uint8)


def place(page: Drawing, samples: bytes, **keys: object) -> Drawing:
    return page.image(samples, WIDE, TALL, PLACE, **keys)  # type: ignore[arg-type]


def flate(page: Drawing) -> None:
    place(page, zlib.compress(waves(4).tobytes()), Filter=Name.FlateDecode)


def with_a_predictor(page: Drawing) -> None:
    rows = [b"\0" + row.tobytes() for row in waves(4)]
    parameters = Dictionary(Predictor=15, Colors=4, Columns=WIDE)
    place(page, zlib.compress(b"".join(rows)), Filter=Name.FlateDecode, DecodeParms=parameters)


def turned_round_by_decode(page: Drawing) -> None:
    place(page, waves(4).tobytes(), Decode=[1, 0] * 4)


def jpeg(page: Drawing) -> None:
    place(page, coded(waves(4), "CMYK"), Filter=Name.DCTDecode, Decode=[1, 0] * 4)


def jpeg_as_it_is(page: Drawing) -> None:
    place(page, coded(waves(4), "CMYK"), Filter=Name.DCTDecode)


def grey_jpeg(page: Drawing) -> None:
    place(page, coded(waves(1)[:, :, 0], "L"), Filter=Name.DCTDecode, space=Name.DeviceGray)


def coded(samples: np.ndarray, mode: str) -> bytes:
    out = io.BytesIO()
    Image.fromarray(samples, mode).save(out, "JPEG", quality=95, subsampling=0)
    return out.getvalue()


def one_bit(page: Drawing) -> None:
    bits = np.packbits(waves(1)[:, :, 0] > 127, axis=1)
    place(page, bits.tobytes(), bits=1, space=Name.DeviceGray)


def sixteen_bits(page: Drawing) -> None:
    place(page, (waves(4).astype(">u2") * 257).tobytes(), bits=16)


def indexed(page: Drawing) -> None:
    table = bytes(value for k in range(256) for value in (k, 255 - k, k // 2, 0))
    space = Array([Name.Indexed, Name.DeviceCMYK, 255, String(table)])
    place(page, waves(1).tobytes(), space=space)


def cut_short(page: Drawing) -> None:
    place(page, zlib.compress(waves(4)[:150].tobytes()), Filter=Name.FlateDecode)


def masked(page: Drawing, *, wide: int = WIDE, tall: int = TALL, bits: int = 8, **keys: object) -> None:
    flate(page)
    rows, columns = np.mgrid[:tall, :wide]
    levels = ((rows * wide // tall + columns) // 20 % 2 * 255).astype(np.uint8)
    data = levels if bits == 8 else np.packbits(levels > 0, axis=1)
    page.resources.XObject.Im0.SMask = page.pdf.make_stream(
        data.tobytes(), Type=Name.XObject, Subtype=Name.Image, Width=wide, Height=tall, BitsPerComponent=bits,
        ColorSpace=Name.DeviceGray, **keys,
    )  # fmt: skip


def softly_masked(page: Drawing) -> None:
    masked(page)


def masked_by_half_the_samples(page: Drawing) -> None:
    masked(page, wide=WIDE // 2, tall=TALL // 2)


def masked_by_bits_turned_round(page: Drawing) -> None:
    masked(page, bits=1, Decode=[1, 0])


def masked_by_odd_samples(page: Drawing) -> None:
    """Its samples never come out with the picture's: such a picture is not parted."""
    masked(page, wide=WIDE + 1, tall=TALL - 1)


def with_a_matte(page: Drawing) -> None:
    masked(page, Matte=[0.0, 0, 0, 0])


def turned(page: Drawing) -> None:
    flate(page)
    page.ops[-1] = f"q {30 * MM} {20 * MM} {-15 * MM} {25 * MM} {30 * MM} {5 * MM} cm /Im0 Do Q"


def upside_down(page: Drawing) -> None:
    flate(page)
    page.ops[-1] = f"q {-60 * MM} 0 0 {-40 * MM} {70 * MM} {48 * MM} cm /Im0 Do Q"


def twice_through_a_form(page: Drawing) -> None:
    flate(page)
    page.ops.pop()
    form = page.form(f"q {30 * MM} 0 0 {20 * MM} 0 0 cm /Im0 Do Q", bbox_mm=(0, 0, 30, 20))
    for x, y in ((8, 8), (40, 22)):
        page.raw(f"q 1 0 0 1 {x * MM} {y * MM} cm /{form} Do Q")


def in_a_pattern_too(page: Drawing) -> None:
    """A form that is painted on the page and in a pattern, whose places are not in the table of objects."""
    flate(page)
    page.ops.pop()
    form = page.form(f"q {10 * MM} 0 0 {7 * MM} 0 0 cm /Im0 Do Q", bbox_mm=(0, 0, 10, 7))
    page.raw(f"/{form} Do")
    page.resources.Pattern.T = page.pdf.make_stream(
        f"/{form} Do".encode(), PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 10 * MM, 7 * MM],
        XStep=11 * MM, YStep=8 * MM, Resources=page.resources,
    )  # fmt: skip
    page.raw(f"/Pattern cs /T scn {20 * MM} {10 * MM} {50 * MM} {40 * MM} re f")


def left_alone_by_overprint(page: Drawing) -> None:
    page.fill("Leaf", rect=(0, 0, 80, 56))
    page.gs(op=True, OP=True, OPM=1)
    flate(page)


PARTED = [
    flate, with_a_predictor, turned_round_by_decode, jpeg, jpeg_as_it_is, grey_jpeg, one_bit, sixteen_bits, indexed,
    cut_short, softly_masked, masked_by_half_the_samples, masked_by_bits_turned_round, turned, upside_down,
    twice_through_a_form, left_alone_by_overprint,
]  # fmt: skip
WHOLE = [masked_by_odd_samples, with_a_matte, in_a_pattern_too]


def derived(page: Page) -> derived_documents.DerivedDocuments:
    assert isinstance(page, ReadPage)
    assert page.separator is not None
    return page.separator._derived


@pytest.mark.parametrize("draw", PARTED + WHOLE, ids=lambda draw: draw.__name__)
@pytest.mark.parametrize("edges", ["smooth", "sharp"])
def test_a_window_shows_what_the_whole_picture_shows(draw, edges, tmp_path, monkeypatch):
    page = Drawing(80, 56)
    draw(page)
    path = page.save(tmp_path / "art.pdf")
    whole = read_artwork(path).pages[0]
    monkeypatch.setattr(derived_documents, "MOST_SAMPLES_KEPT", 1000)
    parted = read_artwork(path).pages[0]
    parted.plates(100)
    for box in WINDOWS:
        there, here = whole.window(box, 300, edges=edges), parted.window(box, 300, edges=edges)
        assert here.names == there.names
        apart = np.abs(here.ink.astype(int) - there.ink)
        # A part is resampled by itself, so that its samples may lie a fraction of a pixel elsewhere.
        assert apart.mean() < 1.5, (draw.__name__, box)
        assert np.percentile(apart, 90) <= 12, (draw.__name__, box)
    kept = derived(parted)._kept
    assert any(key.window_mm is not None for key in kept) == (draw in PARTED)


def test_a_window_takes_no_more_samples_than_show_in_it(tmp_path, monkeypatch):
    page = Drawing(80, 56)
    flate(page)
    monkeypatch.setattr(derived_documents, "MOST_SAMPLES_KEPT", 1000)
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    asked = list[Parts]()
    shown_in = PictureParts.shown_in

    def noted(*given):
        asked.append(shown_in(*given))
        return asked[-1]

    monkeypatch.setattr(PictureParts, "shown_in", noted)
    read.window((24, 20, 34, 28), 300)
    (part,) = asked[0].parts.values()
    # 10 x 8 mm of a picture of six samples a millimetre, less than four samples round them
    assert 60 <= part[2] - part[0] <= 68
    assert 48 <= part[3] - part[1] <= 56
    read.window((72, 2, 78, 6), 300)
    assert list(asked[1].parts.values()) == [(0, 0, 0, 0)]


def test_a_part_of_a_mask_lies_where_the_part_of_its_picture_does(tmp_path):
    page = Drawing(80, 56)
    masked(page, wide=WIDE // 2, tall=TALL // 3)
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    parts = derived(read)._parts
    _, use = next(iter(parts.placed()))
    mask = parts.page_content.image_masks[use.key]
    part = parts.shown_in((24, 20, 34, 28), 25.4 / 300, lambda use: 1).parts[use.key]
    assert [side % step for side, step in zip(part, (2, 3, 2, 3), strict=True)] == [0, 0, 0, 0]
    assert of_mask(part, use, mask) == (part[0] // 2, part[1] // 3, part[2] // 2, part[3] // 3)


@pytest.mark.parametrize("finer", [1, 2, 4])
def test_a_part_lies_where_it_belongs(finer, tmp_path, monkeypatch):
    """This test ensures that a part is not misplaced by more than the renderer misplaces whole pictures: two pixels.

    It stretches what stands upright to whole pixels, a pixel to each side and half of one for the middle of samples.
    """
    page = Drawing(80, 56)
    ramps = np.zeros((TALL, WIDE, 4))
    ramps[:, :, 0], ramps[:, :, 1] = np.arange(WIDE) * 255 / WIDE, (np.arange(TALL) * 255 / TALL)[:, None]
    place(page, np.rint(ramps).astype(np.uint8).tobytes())
    path = page.save(tmp_path / "art.pdf")
    monkeypatch.setattr(derived_documents, "MOST_SAMPLES_KEPT", 1000)
    box = (20.0, 18.0, 40.0, 38.0)
    ink = read_artwork(path).pages[0].window(box, finer * 25.4 * 6).ink.astype(float)
    samples = 59.5 + (np.arange(ink.shape[1]) + 0.5) / finer  # six a millimetre, the window begins at the sixtieth
    for own, count in ((ink[0].mean(0), WIDE), (ink[1].mean(1), TALL)):
        lies = np.polyval(np.polyfit(samples, own * count / 255, 1), samples[[0, -1]])
        assert np.abs(lies - samples[[0, -1]]).max() < 2.2 / finer


@pytest.mark.parametrize("draw", [jpeg, grey_jpeg], ids=lambda draw: draw.__name__)
def test_a_jpeg_too_large_for_memory_is_had_from_a_file(draw, tmp_path, monkeypatch):
    page = Drawing(80, 56)
    draw(page)
    path = page.save(tmp_path / "art.pdf")
    monkeypatch.setattr(derived_documents, "MOST_SAMPLES_KEPT", 1000)
    held = [read_artwork(path).pages[0].window(box, 300).ink for box in WINDOWS]
    monkeypatch.setattr(image_sample_files, "MOST_HELD_BYTES", 1000)
    filed = [read_artwork(path).pages[0].window(box, 300).ink for box in WINDOWS]
    assert all((one == other).all() for one, other in zip(held, filed, strict=True))


def picture(width: int, height: int) -> Any:
    return SimpleNamespace(facts=SimpleNamespace(width_px=width, height_px=height))


def test_a_part_is_placed_where_its_samples_lie_in_the_square():
    """Samples 20 to 60 of 100 across, 30 to 40 of 50 down: from 0.2 and 0.2 up, 0.4 wide and 0.2 tall."""
    words = placing((20, 30, 60, 40), picture(100, 50)).split()
    assert words[-1] == b"cm"
    assert [float(word) for word in words[:-1]] == pytest.approx([0.4, 0, 0, 0.2, 0.2, 0.2])


@pytest.mark.parametrize(
    ("low", "high", "step", "expected"),
    [
        (0.305, 0.495, 1, (28, 52)),  # two samples round them
        (0.305, 0.495, 8, (24, 56)),
        (0.01, 0.99, 8, (0, 100)),
        (-9, 9, 1, (0, 100)),
        (1.019, 2, 1, (99, 100)),
        (1.02, 2, 1, (0, 0)),
        (-2, -0.02, 1, (0, 0)),
        (-2, -0.019, 1, (0, 1)),
        (-2, -0.019, 8, (0, 8)),
    ],
)
def test_samples_between_two_shares_of_a_side(low, high, step, expected):
    assert _within(low, high, 100, step) == expected


def test_samples_of_a_box_of_the_page():
    """A picture of 200 x 100 samples from 10 to 50 across and from 5 to 25 up, five a millimetre."""
    corners = np.array([[20, 10], [30, 10], [30, 19], [20, 19]], float)
    upright, upside_down = (40, 0, 0, 20, 10, 5), (-40, 0, 0, -20, 50, 25)
    quarter = (0, 20, -40, 0, 50, 5)  # its width goes up, its height to the left
    use = picture(200, 100)
    assert _in_samples(corners, upright, use, (1, 1)) == (48, 28, 102, 77)
    assert _in_samples(corners, upright, use, (10, 15)) == (40, 15, 110, 90)
    assert _in_samples(corners, upside_down, use, (1, 1)) == (98, 23, 152, 72)
    assert _in_samples(corners, quarter, use, (1, 1)) == (48, 23, 142, 52)
    assert _in_samples(corners + (50, 0), upright, use, (1, 1)) == NOTHING
    assert _in_samples(corners + (0, 30), upright, use, (1, 1)) == NOTHING
    assert _in_samples(corners, (4, 2, 2, 1, 0, 0), use, (1, 1)) == NOTHING


def test_parts_of_two_placings_are_joined():
    assert _around((3, 8, 20, 30), (5, 2, 25, 10)) == (3, 2, 25, 30)
    assert _around(NOTHING, (5, 2, 25, 10)) == (5, 2, 25, 10)
    assert _around((3, 8, 20, 30), NOTHING) == (3, 8, 20, 30)


def test_samples_in_which_a_picture_and_its_mask_come_out_together():
    assert _steps(picture(120, 90), picture(80, 30)) == (3, 3)
    assert _steps(picture(80, 30), picture(120, 90)) == (2, 1)
    assert of_mask((6, 9, 15, 12), picture(120, 90), picture(80, 30)) == (4, 3, 10, 4)
    assert of_mask((7, 10, 16, 13), picture(120, 90), picture(80, 30)) == (5, 4, 11, 5)
