"""Pictures as designers' programs write them, case by case: the tints that come out of each quarter of a picture.

Every picture has four quarters of one colour each and lies over ``BELOW`` of every process ink. The expected tints are
worked out by hand: a sample v of 8 bits is v / 255 of ink (of light in grey), and where it is veiled, opacity a leaves
a times the picture's tint and 1 - a times what is below. Each case is a page of its own, and goes to Ghostscript and to
MuPDF. Where a referee disagrees the case names it, with the reason.
"""

from __future__ import annotations

import base64
import io
import re
import struct
import subprocess
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object, Stream, String
from PIL import Image

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.jpeg_2000 import CMYK, COLOUR, GREY, OPACITY, PREMULTIPLIED, RGB, boxed, code_stream
from tests.plate_drawings_pictures import _fax
from tests.referees import MUTOOL, ghostscript_plates, needs_ghostscript, needs_mupdf, psd_plates

SIDE, PAGE_MM, BELOW = 64, 14.0, 0.4
PLATES = ("Cyan", "Magenta", "Yellow", "Black", "Gold")
Samples = NDArray[np.uint8]
Quarter = tuple[float, float, float, float, float]
Draw = Callable[[Drawing], Stream | str]


def quarters(*four: Sequence[int]) -> Samples:
    """Samples of a picture of four colours: top left, top right, bottom left, bottom right."""
    small = np.array(four, np.uint8).reshape(2, 2, -1)
    return np.repeat(np.repeat(small, SIDE // 2, 0), SIDE // 2, 1)


INKS = quarters((0, 51, 153, 0), (255, 0, 51, 0), (153, 255, 0, 204), (51, 153, 255, 0))
LIGHT = quarters((0,), (51,), (153,), (255,))
VEIL = quarters((255,), (128,), (64,), (0,))
NUMBERS = quarters((0,), (1,), (2,), (3,))
BITS = quarters((1,), (0,), (0,), (1,))
"""Light where a bit is 1."""
FOUR_INKS = INKS[:: SIDE // 2, :: SIDE // 2].reshape(4, 4)
REDS = np.array([(255, 0, 0), (0, 255, 0), (0, 0, 255), (9, 9, 9)], np.uint8)
B = (BELOW,) * 4 + (0.0,)
IN_INKS: tuple[Quarter, ...] = ((0, 0.2, 0.6, 0, 0), (1, 0, 0.2, 0, 0), (0.6, 1, 0, 0.8, 0), (0.2, 0.6, 1, 0, 0))
IN_GREY: tuple[Quarter, ...] = ((0, 0, 0, 1, 0), (0, 0, 0, 0.8, 0), (0, 0, 0, 0.4, 0), (0, 0, 0, 0, 0))
IN_GOLD: tuple[Quarter, ...] = ((0, 0, 0, 0, 0), (0, 0, 0, 0, 0.2), (0, 0, 0, 0, 0.6), (0, 0, 0, 0, 1))
GREY_VEILED: tuple[Quarter, ...] = ((0, 0, 0, 1, 0), (0.2, 0.2, 0.2, 0.6, 0), (0.3, 0.3, 0.3, 0.4, 0), B)
"""Black of 1, 0.8, 0.4 and 0 at opacities of 1, 1/2, 1/4 and 0."""

# Kinds that no encoder at hand writes, made with the reference library: 64 x 64 samples, without loss.
FIVE = "eNr77/8/kMGUAQQcoBgGUPms7IyMyOh/EAMPUJiRgZWFhYHxfwyDsIODh0cAMvqfwqDKwOhclJpYkpqikFSp4F+QmucV4OquUJZaVJyZn6dgpGeqZ/B/AgMX2ApHoDmTz2/hYTy1/36DAMeE81uAhEnh4eccjFcuxDfgBP9vAgBYFzX4"  # noqa: E501
"""Five components of 8 bits, throughout 255, 0, 60, 150 and 128."""
DEEP = "eNr77/8/kMGIAQQcoBgGUPks/IyMcPQ/iIEHKMbIwMrCwsD4P4ZB2KGho2MCMvqfwqDKwOhclJpYkpqikFSp4F+QmucV4OquUJZaVJyZn6dgpGeqZ/B/AgMX2HwPoDmTz/8x4GE8tf/+jwkCHBOAHAWOCfFxzUxnyg7/ZwBadOVCcpvF24UNWMD/mwDFMz1d"  # noqa: E501
"""Four components of 16 bits, throughout 65535, 0, 15420 and 38550."""
NIBBLES = "eNr77/8/kEGTAQQcoBgGUPmMzIyM/4MYeEBMBlYWFgbG/zEMwg4KGhoGyOh/CoMqA6NzUWpiSWqKQlKlgn9Bap5XgKu7QllqUXFmfp6CkZ6pnsH/CQxcYGPrgeZMvq/gwN4s1X94ofshGVkOnkCu8Hp+/eOHVGqUDnRIzeHdLs23s2emmPnhxe6HXGQ5vEoldnvXM+yZ/Z51xqp6Fe3jh1xqVA50TN753H3V+/O70rNWvUneZz5ds1kEpMGH48CFZbMt+z4eMXjVN8vkj4r8CXP7/zcBguhOTQ=="  # noqa: E501
"""One component of 4 bits: 0, 3, 8 and 15 in the quarters."""
ONE_BIT = "eNr77/8/kEGTAQQcoBgGUPmMDIyM/4MYeMBMVhYWBsb/MQzCDhwCAhLI6H8KgyoDo3NRamJJaopCUqWCf0FqnleAq7tCWWpRcWZ+noKRnqmewf8JDFxgYwOB5kz+JcGyrf5EXqtAAwurPcuJJYEC4rv5xcXmn1QpFFCS+F/PXLVfRf2kykQBs3mW9WlrP/U3i5xMmSgRv+y4evwRMy/hE+b2/28CANt3M7I="  # noqa: E501
"""One component of 1 bit: 1, 0, 0 and 0 in the quarters."""
TWO_BITS = "eNr77/8/kEGTAQQcoBgGUPmMQPA/iIEHxGRgZWFhYPwfwyDsICAhoYCM/qcwqDIwOhelJpakpigkVSr4F6TmeQW4uiuUpRYVZ+bnKRjpmeoZ/J/AwAU2VhdozuS7POyL6xcpsAExT/kiA4Yr+xc5pGet2r8o4IjBq776/zcBBFEoAA=="  # noqa: E501
"""One component of 2 bits: 0, 1, 2 and 3 in the quarters."""


def stored(packed: str) -> bytes:
    return zlib.decompress(base64.b64decode(packed))


def image(page: Drawing, data: bytes, **keys: object) -> Stream:
    made = page.pdf.make_stream(data, Dictionary(Type=Name.XObject, Subtype=Name.Image, Width=SIDE, Height=SIDE))
    for key, value in keys.items():
        made[Name("/" + key)] = value
    return made


def jpx(data: bytes, **keys: object) -> Draw:
    return lambda page: image(page, data, Filter=Name.JPXDecode, **keys)


def in_gold(data: bytes, **keys: object) -> Draw:
    return lambda page: image(page, data, ColorSpace=page.resources.ColorSpace.Gold, **keys)


def indexed(base: Object, table: NDArray[np.uint8]) -> Array:
    return Array([Name.Indexed, base, len(table) - 1, String(table.tobytes())])


def masked(base: Draw, key: str, mask: Draw) -> Draw:
    def draw(page: Drawing) -> Stream:
        made = base(page)
        assert isinstance(made, Stream)
        made[Name("/" + key)] = mask(page)
        return made

    return draw


def stencil(data: bytes, **keys: object) -> Draw:
    def draw(page: Drawing) -> str:
        page.resources.XObject.Stencil = image(page, data, ImageMask=True, **keys)
        return "/Gold cs 0.6 scn /Stencil Do"

    return draw


def solid(ink: Sequence[int]) -> Draw:
    return lambda page: image(
        page, bytes(ink) * SIDE**2, ColorSpace=Name.DeviceCMYK, BitsPerComponent=8
    )  # fmt: skip


def fax(**keys: object) -> Draw:
    form = {"Filter": Name.CCITTFaxDecode, "DecodeParms": Dictionary(K=-1, Columns=SIDE, Rows=SIDE)}
    all_keys = {"ColorSpace": Name.DeviceGray, "BitsPerComponent": 1, **form, **keys}
    return lambda page: image(page, _fax(BITS.astype(np.int64)), **all_keys)


def fax_in_gold(**keys: object) -> Draw:
    return lambda page: fax(ColorSpace=page.resources.ColorSpace.Gold, **keys)(page)


def jbig2(**keys: object) -> Draw:
    """Segments as in ``plate_drawings_pictures``; black is 0 for Decode and for keys (ISO 32000-2, 7.4.7)."""
    information = struct.pack(">IIIIBH", SIDE, SIDE, 0, 0, 0, 0)
    region = struct.pack(">IIIIBB", SIDE, SIDE, 0, 0, 0, 1) + _fax(BITS.astype(np.int64))
    data = b"".join(
        struct.pack(">IBBBI", number, kind, 0, 1, len(body)) + body
        for number, (kind, body) in enumerate(((48, information), (38, region)))
    )
    return lambda page: image(
        page, data, BitsPerComponent=1, ColorSpace=Name.DeviceGray, Filter=Name.JBIG2Decode, **keys
    )  # fmt: skip


def jpeg(samples: Samples, *, adobe: int | None = None) -> bytes:
    """A JPEG whose samples are stored as they are, with an Adobe mark on how they are meant, or without marks."""
    target, shape = io.BytesIO(), samples.shape
    # What is called CMYK is neither turned nor thinned; the encoder turns it round, which is undone here.
    picture = Image.frombytes("CMYK", (shape[1], shape[0]), (255 - samples).tobytes())
    picture.save(target, "JPEG", quality=100, subsampling=0)
    data = target.getvalue()
    out, at = data[:2], 2
    if adobe is not None:
        out += b"\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00" + bytes([adobe])
    while data[at + 1] != 0xDA:
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        out += b"" if data[at + 1] in (0xE0, 0xEE) else data[at:end]
        at = end
    return out + data[at:]


def dct(data: bytes, space: Object = Name.DeviceCMYK, **keys: object) -> Draw:
    return lambda page: image(page, data, ColorSpace=space, BitsPerComponent=8, Filter=Name.DCTDecode, **keys)


def with_alternate(chosen: bool) -> Draw:
    def draw(page: Drawing) -> Stream:
        made = image(page, INKS.tobytes(), ColorSpace=Name.DeviceCMYK, BitsPerComponent=8)
        other = page.pdf.make_indirect(image(page, LIGHT.tobytes(), ColorSpace=Name.DeviceGray, BitsPerComponent=8))
        made.Alternates = Array([Dictionary(Image=other, DefaultForPrinting=chosen)])
        return made

    return draw


def cyan_veiled(*veil: float) -> list[Quarter]:
    return [(v + (1 - v) * BELOW, (1 - v) * BELOW, (1 - v) * BELOW, (1 - v) * BELOW, 0) for v in veil]


@dataclass(frozen=True)
class Case:
    """A picture, and the tints of ``PLATES`` in its quarters."""

    name: str
    draw: Draw
    expected: Sequence[Quarter]
    disputed: Mapping[str, str] = field(default_factory=dict)
    """Referee that comes to something else or draws nothing, and why the standard is not on its side."""


GREY_AND_VEIL = code_stream(np.dstack([LIGHT, VEIL]))
MIXED = code_stream(np.dstack([(LIGHT.astype(int) * VEIL // 255).astype(np.uint8), VEIL]))
VEILED = [(0, COLOUR, 1), (1, OPACITY, 0)]
FIVE_CHANNELS = [(0, COLOUR, 1), (1, COLOUR, 2), (2, COLOUR, 3), (3, COLOUR, 4), (4, OPACITY, 0)]
ALPHA_ALWAYS = {"mupdf": "takes the opacity whatever SMaskInData says; table 87 has it left out for 0"}
CONVERTS = {"gs": "converts the picture to RGB with its opacity; 7.4.9 has the colour space that is in it"}
MIXES = {
    "gs": "converts the picture to RGB with its opacity",
    "mupdf": "does not part colours from the nothing that they are mixed with (table 87 and 11.6.5.2)",
}
NO_KEY = {"mupdf": "leaves out colour-key masks on JPEG 2000; 8.9.6.4 makes no exception"}
SHORT = {"mupdf": "shifts few bits up, and 15 of 15 becomes 240 of 255; 8.9.5.2 maps the highest to the end of Decode"}
NO_BARE = {"gs": "does not read a code stream without boxes"}
OF_2_COMPONENTS = {"mupdf": "draws no picture of two components whose boxes do not begin with the colour"}
BLACK_FIRST = code_stream(np.ascontiguousarray(INKS[:, :, ::-1]))
FLAT_FIVE: Quarter = (1, 0, 60 / 255, 150 / 255, 0)
HALF_FIVE: Quarter = (0.7, 0.2, 0.318, 0.494, 0)
FLAT_DEEP: Quarter = (1, 0, 60 / 255, 150 / 255, 0)
BARE, BLACK, GOLD = (0.0,) * 5, (0.0, 0.0, 0.0, 1.0, 0.0), (0.0, 0.0, 0.0, 0.0, 1.0)
TWO_INKS = np.array([(255, 0, 0, 0), (0, 0, 204, 51)], np.uint8)
KEY_0, KEY_1, KEY_ALL, KEY_NONE = (Array(limits) for limits in ([0, 0], [1, 1], [0, 1], [2, 3]))
IGNORES_TRANSFORM = {"gs": "takes four colours as they are; by table 13 ColorTransform 1 turns them"}
YCC_K = quarters((128, 128, 128, 0), (255, 128, 128, 51), (0, 128, 128, 153), (128, 128, 128, 255))
IN_YCCK: tuple[Quarter, ...] = ((0.5, 0.5, 0.5, 0, 0), (0, 0, 0, 0.2, 0), (1, 1, 1, 0.6, 0), (0.5, 0.5, 0.5, 1, 0))
"""Y of 128, 255 and 0 without colour is light of as much in R, G and B, and ink of what is left of 255."""
CASES = [
    # A palette in the picture: left out under an Indexed space, looked up under all others (7.4.9).
    Case("palette inside, Indexed outside", jpx(boxed(code_stream(NUMBERS), space=RGB, palette=REDS),
         ColorSpace=indexed(Name.DeviceCMYK, FOUR_INKS)), IN_INKS),
    Case("palette inside, CMYK outside", jpx(boxed(code_stream(NUMBERS), space=CMYK, palette=FOUR_INKS),
         ColorSpace=Name.DeviceCMYK), IN_INKS),
    Case("palette inside, nothing outside", jpx(boxed(code_stream(NUMBERS), space=CMYK, palette=FOUR_INKS)), IN_INKS),
    Case("palette inside, a spot outside", in_gold(boxed(code_stream(NUMBERS), space=GREY, palette=np.array(
         [[0], [51], [153], [255]], np.uint8)), Filter=Name.JPXDecode), IN_GOLD),
    Case("Indexed of 2 bits", jpx(boxed(stored(TWO_BITS), space=GREY), ColorSpace=indexed(Name.DeviceCMYK, FOUR_INKS)),
         IN_INKS),
    # Channels in another order, and bare code streams.
    Case("channels from black to cyan", jpx(boxed(BLACK_FIRST, space=CMYK, channels=[(i, COLOUR, 4 - i)
         for i in range(4)]), ColorSpace=Name.DeviceCMYK), IN_INKS),
    Case("code stream alone, nothing outside", jpx(code_stream(INKS)), IN_INKS, NO_BARE),
    # Opacity in the data (table 87).
    Case("opacity, SMaskInData 0", jpx(boxed(GREY_AND_VEIL, space=GREY, channels=VEILED), ColorSpace=Name.DeviceGray),
         IN_GREY, ALPHA_ALWAYS),
    Case("opacity, SMaskInData 1", jpx(boxed(GREY_AND_VEIL, space=GREY, channels=VEILED), ColorSpace=Name.DeviceGray,
         SMaskInData=1), GREY_VEILED),
    Case("opacity, SMaskInData 1, nothing outside", jpx(boxed(GREY_AND_VEIL, space=GREY, channels=VEILED),
         SMaskInData=1), GREY_VEILED, CONVERTS),
    Case("opacity before the colour", jpx(boxed(code_stream(np.dstack([VEIL, LIGHT])), space=GREY, channels=[
         (0, OPACITY, 0), (1, COLOUR, 1)]), ColorSpace=Name.DeviceGray, SMaskInData=1), GREY_VEILED,
         {"gs": "takes the last component for the opacity", **OF_2_COMPONENTS}),
    Case("opacity mixed in, SMaskInData 2", jpx(boxed(MIXED, space=GREY, channels=[(0, COLOUR, 1),
         (1, PREMULTIPLIED, 0)]), ColorSpace=Name.DeviceGray, SMaskInData=2), GREY_VEILED, MIXES),
    Case("CMYK with opacity", jpx(boxed(stored(FIVE), space=CMYK, channels=FIVE_CHANNELS), ColorSpace=Name.DeviceCMYK,
         SMaskInData=1), [HALF_FIVE] * 4),
    Case("CMYK with opacity that is left out", jpx(boxed(stored(FIVE), space=CMYK, channels=FIVE_CHANNELS),
         ColorSpace=Name.DeviceCMYK), [FLAT_FIVE] * 4, ALPHA_ALWAYS),
    Case("under a colour key", jpx(boxed(code_stream(LIGHT), space=GREY), ColorSpace=Name.DeviceGray,
         Mask=Array([51, 153])), (IN_GREY[0], B, B, IN_GREY[3]), NO_KEY),
    # Samples of few and of many bits.
    Case("4 bits", jpx(boxed(stored(NIBBLES), space=GREY), ColorSpace=Name.DeviceGray),
         ((0, 0, 0, 1, 0), (0, 0, 0, 0.8, 0), (0, 0, 0, 7 / 15, 0), (0, 0, 0, 0, 0)), SHORT),
    Case("CMYK of 16 bits", jpx(boxed(stored(DEEP), space=CMYK), ColorSpace=Name.DeviceCMYK), [FLAT_DEEP] * 4),
    Case("soft mask of 8 bits", masked(solid((255, 0, 0, 0)), "SMask", jpx(boxed(code_stream(VEIL), space=GREY),
         ColorSpace=Name.DeviceGray)), cyan_veiled(1, 0.5, 0.25, 0)),
    Case("soft mask turned round", masked(solid((255, 0, 0, 0)), "SMask", jpx(boxed(code_stream(VEIL), space=GREY),
         ColorSpace=Name.DeviceGray, Decode=Array([1, 0]))), cyan_veiled(0, 0.5, 0.75, 1)),
    Case("soft mask of 1 bit", masked(solid((255, 0, 0, 0)), "SMask", jpx(boxed(stored(ONE_BIT), space=GREY),
         ColorSpace=Name.DeviceGray)), cyan_veiled(1, 0, 0, 0), SHORT),
    Case("stencil", stencil(boxed(stored(ONE_BIT), space=GREY), Filter=Name.JPXDecode),
         (B, *[(0, 0, 0, 0, 0.6)] * 3), {"mupdf": "paints its samples in grey; 7.4.9 allows JPEG 2000 for stencils"}),
    # Fax and JBIG2 under a colour key (8.9.6.4), which speaks of samples before Decode: light is 1, black 0 in both.
    Case("fax, light hidden", fax(Mask=KEY_1), (B, BLACK, BLACK, B)),
    Case("fax, black hidden", fax(Mask=KEY_0), (BARE, B, B, BARE)),
    Case("fax, all hidden", fax(Mask=KEY_ALL), [B] * 4),
    Case("fax, nothing hidden", fax(Mask=KEY_NONE), (BARE, BLACK, BLACK, BARE),
         {"mupdf": "hides the highest sample where the limits are higher"}),
    Case("fax turned round, light hidden", fax(Mask=KEY_1, Decode=Array([1, 0])), (B, BARE, BARE, B)),
    Case("fax in a spot, 1 hidden", fax_in_gold(Mask=KEY_1), (B, BARE, BARE, B)),
    Case("fax in a spot, 0 hidden", fax_in_gold(Mask=KEY_0), (GOLD, B, B, GOLD)),
    Case("fax in a spot turned round, 1 hidden", fax_in_gold(Mask=KEY_1, Decode=Array([1, 0])), (B, GOLD, GOLD, B)),
    Case("fax in two colours, one hidden", fax(ColorSpace=indexed(Name.DeviceCMYK, TWO_INKS), Mask=KEY_0),
         ((0, 0, 0.8, 0.2, 0), B, B, (0, 0, 0.8, 0.2, 0))),
    Case("JBIG2, light hidden", jbig2(Mask=KEY_1), (B, BLACK, BLACK, B)),
    Case("JBIG2, black hidden", jbig2(Mask=KEY_0), (BARE, B, B, BARE)),
    # JPEG: the Adobe mark goes before ColorTransform (table 13).
    Case("JPEG in CMYK", dct(jpeg(INKS)), IN_INKS),
    Case("JPEG in CMYK, marked", dct(jpeg(INKS, adobe=0)), IN_INKS),
    Case("JPEG in CMYK, marked, told otherwise", dct(jpeg(INKS, adobe=0), DecodeParms=Dictionary(ColorTransform=1)),
         IN_INKS),
    Case("JPEG in YCCK", dct(jpeg(YCC_K, adobe=2)), IN_YCCK),
    Case("JPEG in YCCK, told by the PDF", dct(jpeg(YCC_K), DecodeParms=Dictionary(ColorTransform=1)),
         IN_YCCK, IGNORES_TRANSFORM),
    # An alternate for printing is printed (8.9.5.4).
    Case("alternate for printing", with_alternate(True), IN_GREY, {"mupdf": "knows no alternate images"}),
    Case("alternate for the screen", with_alternate(False), IN_INKS),
]  # fmt: skip


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """A page for each case, drawn when it is asked for."""
    folder = tmp_path_factory.mktemp("pictures")

    def draw(case: Case) -> Path:
        path: Path = folder / f"{CASES.index(case)}.pdf" if case in CASES else folder / "other.pdf"
        if path not in made:
            made.add(path)
            page_of(case.draw).save(path)
        return path

    made: set[Path] = set()
    return draw


def page_of(draw: Draw) -> Drawing:
    page = Drawing(PAGE_MM, PAGE_MM)
    page.resources.ColorSpace.Gold = page.resources.ColorSpace[Name("/" + page.spot("Gold"))]
    page.raw(f"{' '.join([str(BELOW)] * 4)} k 0 0 400 400 re f")
    what = draw(page)
    if isinstance(what, Stream):
        page.resources.XObject.Picture = what
        what = "/Picture Do"
    return page.raw(f"q {10 * MM:.4f} 0 0 {10 * MM:.4f} {2 * MM:.4f} {2 * MM:.4f} cm {what} Q")


def in_quarters(plates: Mapping[str, NDArray[Any]], dpi: float) -> list[tuple[float, ...]]:
    bare = np.zeros(next(iter(plates.values())).shape)
    found = []
    for down, across in ((4.5, 4.5), (4.5, 9.5), (9.5, 4.5), (9.5, 9.5)):
        row, column = int(down * dpi / 25.4), int(across * dpi / 25.4)
        at = slice(row - 1, row + 2), slice(column - 1, column + 2)
        found.append(tuple(round(float(plates.get(name, bare)[at].mean()), 3) for name in PLATES))
    return found


def compare(found: Sequence[Sequence[float]], case: Case, within: float) -> None:
    for own, expected in zip(found, case.expected, strict=True):
        assert own == pytest.approx(expected, abs=within)


EACH = pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])


@EACH
def test_plates_are_what_the_standard_says(case, drawn):
    plates = read_artwork(drawn(case)).pages[0].plates(100)
    compare(in_quarters({name: plates.tint(name) / 255 for name in plates.names}, 100), case, 0.01)


def against(referee: str, found: Sequence[Sequence[float]], case: Case) -> None:
    if referee not in case.disputed:
        compare(found, case, 0.02)
        return
    with pytest.raises(AssertionError):
        compare(found, case, 0.02)


@needs_ghostscript
@EACH
def test_ghostscript_agrees(case, drawn, tmp_path):
    against("gs", in_quarters(ghostscript_plates(drawn(case), tmp_path, dpi=100, finer=1), 100), case)


@needs_mupdf
@EACH
def test_mupdf_agrees(case, drawn, tmp_path):
    out = tmp_path / "plates.psd"
    command = [str(MUTOOL), "draw", "-q", "-O", "2", "-r", "100", "-F", "psd", "-o", str(out), str(drawn(case))]
    drew = subprocess.run(command, capture_output=True, timeout=60, check=False).returncode == 0
    nothing = [(0.0,) * len(PLATES)] * 4
    against("mupdf", in_quarters(psd_plates(out.read_bytes()), 100) if drew else nothing, case)


REFUSED = [
    ("grey JPEG 2000 in CMYK", jpx(boxed(code_stream(LIGHT), space=GREY), ColorSpace=Name.DeviceCMYK), "1 colour in a"),
    ("CMYK JPEG 2000 in grey", jpx(boxed(code_stream(INKS), space=CMYK), ColorSpace=Name.DeviceGray), "4 colours in a"),
    ("JPEG 2000 of nothing", jpx(b"\n"), "head cannot be read"),
    ("JPEG 2000 of nothing, in grey", jpx(b"\n", ColorSpace=Name.DeviceGray), "head cannot be read"),
    ("cut short", jpx(boxed(stored(FIVE)[:150], space=CMYK), ColorSpace=Name.DeviceCMYK), "cannot be decoded"),
    ("opacity that is not there", jpx(boxed(code_stream(LIGHT), space=GREY), ColorSpace=Name.DeviceGray, SMaskInData=1),
     "without the opacity"),
    ("JPEG of four colours in a spot", in_gold(jpeg(INKS), BitsPerComponent=8, Filter=Name.DCTDecode),
     "4 colours in a"),
    ("soft mask of four colours", masked(solid((255, 0, 0, 0)), "SMask", dct(jpeg(INKS), Name.DeviceGray)),
     "several colours"),
    ("stencil in a JPEG", stencil(jpeg(INKS), BitsPerComponent=1, Filter=Name.DCTDecode), "an image mask in a JPEG"),
    ("soft mask in CMYK", masked(solid((255, 0, 0, 0)), "SMask", lambda page: image(page, INKS.tobytes(),
     ColorSpace=Name.DeviceCMYK, BitsPerComponent=8)), "mask of several colours"),
    ("deep samples under a colour key", jpx(boxed(stored(DEEP), space=CMYK), ColorSpace=Name.DeviceCMYK,
     Mask=Array([0, 65535] * 4)), "masked by its colours"),
]  # fmt: skip


@pytest.mark.parametrize(("draw", "because"), [entry[1:] for entry in REFUSED], ids=[entry[0] for entry in REFUSED])
def test_what_cannot_be_decoded_truly_is_not_checked(draw, because, tmp_path):
    """Readers make of each of these something else; none of it is what the file says."""
    path = page_of(draw).save(tmp_path / "art.pdf")
    places = read_artwork(path).pages[0].plates(100).uncertain
    assert places
    assert all(re.search(because, place.because) for place in places)


def test_a_matte_on_an_indexed_picture_is_a_colour_of_its_base(tmp_path):
    """Magenta at opacity 1/2 mixed with nothing is stored as half: laid on 0.4 it gives 0.5 x 1 + 0.5 x 0.4.

    ISO 32000-2, 11.6.5.2 gives the matte as many numbers as the colour space has components, which for indices of
    colours would be one that nothing can be mixed with.
    """

    def draw(page: Drawing) -> Stream:
        table = np.array([(0, 128, 0, 0)], np.uint8)
        made = image(page, bytes(SIDE**2), ColorSpace=indexed(Name.DeviceCMYK, table), BitsPerComponent=8)
        made.SMask = image(page, b"\x80" * SIDE**2, ColorSpace=Name.DeviceGray, BitsPerComponent=8,
                           Matte=Array([0, 0, 0, 0]))  # fmt: skip
        return made

    plates = read_artwork(page_of(draw).save(tmp_path / "art.pdf")).pages[0].plates(100)
    found = in_quarters({name: plates.tint(name) / 255 for name in plates.names}, 100)
    assert found[0] == pytest.approx((0.2, 0.7, 0.2, 0.2, 0), abs=0.01)


@pytest.mark.parametrize("by_index", [False, True])
def test_a_picture_in_a_spot_is_as_light_in_a_soft_mask_as_its_solid(by_index, tmp_path):
    """R = 1 and G = B = 0.5 have a luminosity of 0.3 + 0.295 + 0.055 = 0.65.

    So cyan on 0.4 becomes 0.65 + 0.35 x 0.4 = 0.79, and 0.14 stays of the others (ISO 32000-2, 11.5.3). The spot's
    colour space stands in the picture alone, no resources name it. Ghostscript agrees.
    """

    def draw(page: Drawing) -> str:
        solid_ink = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[1, 1, 1], C1=[1, 0.5, 0.5])
        spot = Array([Name.Separation, Name.Fawn, Name.DeviceRGB, solid_ink])
        space = indexed(spot, np.array([[0], [255]], np.uint8)) if by_index else spot
        sample = b"\1" if by_index else b"\xff"
        picture = image(page, sample * SIDE**2, ColorSpace=space, BitsPerComponent=8)
        form: dict[str, Any] = {"Type": Name.XObject, "Subtype": Name.Form, "BBox": Array([0, 0, 1, 1])}
        inner = page.pdf.make_stream(b"/P Do", Dictionary(**form, Resources=Dictionary(XObject=Dictionary(P=picture))))
        group = Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK, I=True)
        outer = page.pdf.make_stream(
            b"/F Do", Dictionary(**form, Group=group, Resources=Dictionary(XObject=Dictionary(F=inner)))
        )
        page.resources.ExtGState.Mask = Dictionary(SMask=Dictionary(S=Name.Luminosity, G=outer))
        return "/Mask gs 1 0 0 0 k 0 0 1 1 re f"

    plates = read_artwork(page_of(draw).save(tmp_path / "art.pdf")).pages[0].plates(100)
    found = in_quarters({name: plates.tint(name) / 255 for name in plates.names}, 100)
    assert found[0] == pytest.approx((0.79, 0.14, 0.14, 0.14, 0), abs=0.01)


def test_rgb_jpeg_is_turned_as_the_file_says(tmp_path):
    """Samples 128, 128, 228 as YCC are R = 128 + 1.402 x 100 and so on; by the plain formula (10.4.2.4) that is inks.

    Stored as they are they are RGB: C = 1 - 128/255 and so on, less the black that is in all three.
    """
    target = io.BytesIO()
    Image.frombytes("YCbCr", (SIDE, SIDE), bytes((128, 128, 228)) * SIDE**2).save(target, "JPEG", quality=100)
    rgb = {True: np.array([255, 57, 128]) / 255, False: np.array([128, 128, 228]) / 255}
    for turned, told in ((True, {}), (False, {"DecodeParms": Dictionary(ColorTransform=0)})):
        page = page_of(dct(target.getvalue(), Name.DeviceRGB, **told))
        plates = read_artwork(page.save(tmp_path / f"{turned}.pdf")).pages[0].plates(100)
        found = in_quarters({name: plates.tint(name) / 255 for name in plates.names}, 100)
        cmy = 1 - rgb[turned]
        expected = (*(cmy - cmy.min()), cmy.min(), 0)
        assert found[0] == pytest.approx(expected, abs=0.015)
