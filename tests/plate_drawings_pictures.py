"""Drawings that both the plates and a referee are made of: images in every form, and shadings."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object
from PIL import Image

from tests.drawn import MM, Drawing
from tests.plate_drawings import CYAN, OFF, ON, WIDTH_MM, device_n, drawing, mm, rect, spot_space

PICTURE = 0.05
"""What a tile of a picture may differ by: the renderer puts the outermost samples on whole pixels."""
Samples = NDArray[np.int64]


def blocks(rows: int, columns: int, count: int, *, bits: int = 8, side: int = 4, seed: int = 1) -> Samples:
    """Random samples (rows, columns, components), alike in squares."""
    small = np.random.default_rng(seed).integers(0, 2**bits, (-(-rows // side), -(-columns // side), count))
    return np.repeat(np.repeat(small, side, 0), side, 1)[:rows, :columns]


def smooth(rows: int, columns: int, count: int) -> Samples:
    y, x = np.mgrid[0:rows, 0:columns]
    waves = [np.sin(x / columns * 3 * (i + 1) + i) * np.cos(y / rows * 2 * (i + 1)) for i in range(count)]
    return (127 + 120 * np.stack(waves, 2)).astype(np.int64)


def packed(samples: Samples, bits: int = 8) -> bytes:
    flat = samples.reshape(len(samples), -1)
    if bits == 16:
        return flat.astype(">u2").tobytes()
    spread = (flat[:, :, None] >> np.arange(bits - 1, -1, -1)) & 1
    return np.packbits(spread.reshape(len(flat), -1).astype(np.uint8), axis=1).tobytes()


def place(page: Drawing, data: bytes, samples: Samples, box: tuple[float, float, float, float], **keys: object) -> None:
    """An image with any keys, over a box in mm."""
    size = Dictionary(Type=Name.XObject, Subtype=Name.Image, Width=samples.shape[1], Height=samples.shape[0])
    stream = page.pdf.make_stream(data, size)
    for key, value in keys.items():
        stream[Name("/" + key)] = value
    name = f"Im{len(page.resources.XObject.keys())}"
    page.resources.XObject[Name("/" + name)] = stream
    x0, y0, x1, y1 = box
    page.raw(f"q {mm(x1 - x0)} 0 0 {mm(y1 - y0)} {mm(x0, y0)} cm /{name} Do Q")


def mask_of(page: Drawing, samples: Samples, bits: int, **keys: object) -> Object:
    keys = {"Type": Name.XObject, "Subtype": Name.Image, "BitsPerComponent": bits, **keys}
    size = Dictionary(Width=samples.shape[1], Height=samples.shape[0], **keys)  # type: ignore[arg-type]
    return page.pdf.make_stream(packed(samples, bits), size)


@drawing(tile=PICTURE)
def images_at_odd_places(page: Drawing) -> None:
    page.fill("Gold", 1, rect=(0, 0, WIDTH_MM, 20))
    page.image(packed(blocks(20, 30, 4)), 30, 20, (1.33, 1.77, 24.13, 17.9))
    page.image(packed(blocks(15, 15, 1, seed=2)), 15, 15, (27.03, 2.2, 48.6, 35.5), space=spot_space(page, "Line"))


@drawing()
def images_as_narrow_bars(page: Drawing) -> None:
    for at in range(22):
        page.image(bytes([0, 255, 0, 0]), 1, 1, (1.3 + at * 2.21, 2, 1.63 + at * 2.21, 36))


@drawing(tile=PICTURE)
def images_of_1_to_16_bits(page: Drawing) -> None:
    line = spot_space(page, "Line")
    for at, bits in enumerate((1, 2, 4, 8, 16)):
        x, decode = 1 + 10 * at, Array([1, 0, 0, 1, 0.2, 0.8, 0, 1])
        grey, inks = blocks(17, 13, 1, bits=bits, seed=bits), blocks(17, 13, 4, bits=bits, seed=bits + 9)
        page.image(packed(grey, bits), 13, 17, (x, 1, x + 9, 18), space=line, bits=bits)
        page.image(packed(inks, bits), 13, 17, (x, 20, x + 9, 37), bits=bits, Decode=decode)


@drawing(tile=PICTURE)
def images_indexed(page: Drawing) -> None:
    two = device_n(page, "DN", ["Cyan", "Gold"])

    def colours(count: int, seed: int) -> bytes:
        return bytes(np.random.default_rng(seed).integers(0, 256, count).astype(np.uint8))

    tables = (
        (4, Array([Name.Indexed, Name.DeviceCMYK, 15, pikepdf.String(colours(64, 7))])),
        (2, Array([Name.Indexed, spot_space(page, "Line"), 3, pikepdf.String(colours(4, 8))])),
        (8, Array([Name.Indexed, two, 255, page.pdf.make_stream(colours(512, 3))])),
    )
    for at, (bits, space) in enumerate(tables):
        samples = blocks(20, 21, 1, bits=bits, seed=bits)
        page.image(packed(samples, bits), 21, 20, (1 + 17 * at, 1, 16 + 17 * at, 37), space=space, bits=bits)


@drawing(tile=PICTURE)
def images_in_device_n_and_a_spot_overprinting(page: Drawing) -> None:
    page.fill((0.3, 0.5, 0, 0.2), rect=(0, 0, WIDTH_MM, 20))
    four, line = device_n(page, "DN", ["Cyan", "Gold", "None", "Black"]), spot_space(page, "Line")
    for x, state in ((1, OFF), (26, ON)):
        page.gs(**state).image(packed(blocks(20, 21, 4)), 21, 20, (x, 1, x + 11, 37), space=four)
        page.image(packed(blocks(20, 21, 1)), 21, 20, (x + 12, 1, x + 23, 37), space=line)


@drawing(tile=PICTURE)
def cmyk_image_under_overprint_mode_1(page: Drawing) -> None:
    page.fill((0.3, 0.5, 0, 0.2), rect=(0, 0, WIDTH_MM, 20)).fill("Gold", 0.5, rect=(0, 10, WIDTH_MM, 30))
    samples = blocks(20, 21, 4)
    samples[:, :, 1] = 0
    page.gs(**ON).image(packed(samples), 21, 20, (4, 1, 46, 37))


@drawing(tile=0.07)
def images_turned_and_skewed(page: Drawing) -> None:
    page.image(packed(smooth(20, 21, 4)), 21, 20, (0, 0, 1, 1))
    page.ops.pop()
    for matrix in ((20, 8, -8, 20, 12, 3), (15, 0, 6, 20, 27, 3), (0, 8, -18, 0, 48, 27), (-18, 0, 0, -8, 22, 36)):
        page.raw(f"q {mm(*matrix)} cm /Im0 Do Q")


@drawing(tile=PICTURE)
def stencils(page: Drawing) -> None:
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20))
    bits = blocks(33, 29, 1, bits=1, side=5)
    page.resources.XObject.Light = mask_of(page, bits, 1, ImageMask=True)
    page.resources.XObject.Dark = mask_of(page, bits, 1, ImageMask=True, Decode=Array([1, 0]))
    page.colour("Gold", 0.8).raw(f"q {mm(15.13)} 0 0 {mm(30, 1.27, 3)} cm /Light Do Q").gs(**ON)
    page.colour((0, 0, 0, 0.9)).raw(f"q {mm(15.13)} 0 0 {mm(30, 18, 3.3)} cm /Dark Do Q")
    page.colour("Line").raw(f"q {mm(10, 5, -5, 20, 40, 5)} cm /Light Do Q")


@drawing()
def stencils_of_one_sample(page: Drawing) -> None:
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20)).colour("Gold", 0.8)
    page.resources.XObject.Dot = mask_of(page, blocks(1, 1, 1, bits=1) * 0, 1, ImageMask=True)
    for at in range(22):
        page.raw(f"q {mm(0.4233)} 0 0 {mm(30, 1.3 + at * 2.21, 3)} cm /Dot Do Q")


@drawing()
def stencil_finer_than_the_plates(page: Drawing) -> None:
    page.resources.XObject.Fine = mask_of(page, blocks(1200, 1600, 1, bits=1, side=8), 1, ImageMask=True)
    page.colour("Gold", 0.8).raw(f"q {mm(45.13)} 0 0 {mm(33, 1.27, 3)} cm /Fine Do Q")


@drawing(tile=PICTURE)
def inline_images(page: Drawing) -> None:
    line = page.spot("Line")
    pictures = (
        ("/BPC 8 /CS /CMYK", packed(blocks(4, 5, 4, side=1))),
        (f"/BPC 8 /CS /{line}", packed(blocks(4, 5, 1, side=1))),
        ("/IM true", packed(blocks(4, 5, 1, side=1, bits=1), 1)),
        ("/BPC 4 /CS /G /D [1 0]", packed(blocks(4, 5, 1, side=1, bits=4), 4)),
    )
    page.colour("Gold", 0.8)
    for at, (keys, data) in enumerate(pictures):
        image = f"BI /W 5 /H 4 {keys} /F /AHx ID {data.hex()}> EI"
        page.raw(f"q {mm(11.4)} 0 0 {mm(30, 1.3 + 12.3 * at, 3)} cm {image} Q")


@drawing(tile=PICTURE)
def images_with_masks(page: Drawing) -> None:
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20))
    soft = mask_of(page, blocks(40, 35, 1, seed=8), 8, ColorSpace=Name.DeviceGray)
    hard = mask_of(page, blocks(20, 21, 1, bits=1, seed=9), 1, ImageMask=True)
    page.image(packed(blocks(20, 21, 4)), 21, 20, (1.1, 1.2, 12, 37), SMask=soft)
    page.image(packed(blocks(20, 21, 4)), 21, 20, (13.1, 1.2, 25, 37), Mask=hard)
    gold, keyed = spot_space(page, "Gold"), Array([0, 127])
    page.image(packed(blocks(20, 21, 1)), 21, 20, (26.1, 1.2, 37, 37), space=gold, Mask=keyed)
    page.gs(**ON).image(packed(blocks(20, 21, 1, seed=4)), 21, 20, (38.1, 1.2, 49, 37), space=gold, SMask=soft)


@drawing(tile=PICTURE)
def image_with_a_matte(page: Drawing) -> None:
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20))
    alpha, matte = blocks(20, 21, 1, seed=8), np.array([0.2, 0.5, 0, 0.1])
    ink = blocks(20, 21, 4, seed=3) * 0.8
    mixed = np.round(matte * 255 + (ink - matte * 255) * alpha / 255).astype(np.int64)
    soft = mask_of(page, alpha, 8, ColorSpace=Name.DeviceGray, Matte=Array(matte.tolist()))
    page.image(packed(mixed), 21, 20, (2, 2, 48, 36), SMask=soft)


def _jpeg(samples: Samples) -> bytes:
    target, mode = io.BytesIO(), {1: "L", 4: "CMYK"}[samples.shape[2]]
    plain = samples.astype(np.uint8)
    picture = Image.frombytes(mode, (samples.shape[1], samples.shape[0]), plain.tobytes())
    picture.save(target, "JPEG", quality=95, subsampling=0)
    return target.getvalue()


def _without_adobe_mark(data: bytes) -> bytes:
    out, at = data[:2], 2
    while data[at + 1] != 0xDA:
        size = 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        out += b"" if data[at + 1] == 0xEE else data[at : at + size]
        at += size
    return out + data[at:]


@drawing()
def jpeg_in_cmyk(page: Drawing) -> None:
    """Samples count as the file has them: only Decode turns them round, the Adobe mark does not."""
    samples = smooth(60, 70, 4)
    data = _jpeg(samples)
    keys = {"ColorSpace": Name.DeviceCMYK, "BitsPerComponent": 8, "Filter": Name.DCTDecode}
    place(page, data, samples, (1, 1, 16, 37), **keys, Decode=Array([1, 0] * 4))
    place(page, data, samples, (18, 1, 32, 37), **keys)
    place(page, _without_adobe_mark(data), samples, (34, 1, 49, 37), **keys)


@drawing()
def jpeg_larger_than_the_plates(page: Drawing) -> None:
    samples = smooth(900, 1200, 4)
    keys = {"ColorSpace": Name.DeviceCMYK, "BitsPerComponent": 8, "Filter": Name.DCTDecode}
    place(page, _jpeg(samples), samples, (1, 1, 49, 37), **keys, Decode=Array([1, 0] * 4))


@drawing()
def jpeg_in_a_spot_and_wrapped_in_digits(page: Drawing) -> None:
    samples = smooth(60, 70, 1)
    data, gold = _jpeg(samples), spot_space(page, "Gold")
    place(page, data, samples, (1, 1, 24, 37), ColorSpace=gold, BitsPerComponent=8, Filter=Name.DCTDecode)
    wrapped = Array([Name.ASCIIHexDecode, Name.DCTDecode])
    place(page, data.hex().encode() + b">", samples, (26, 1, 49, 37), ColorSpace=Name.DeviceGray, BitsPerComponent=8,
          Filter=wrapped)  # fmt: skip


@drawing()
def jpeg_2000_in_a_spot(page: Drawing) -> None:
    samples, target = smooth(60, 70, 1), io.BytesIO()
    Image.fromarray(samples[:, :, 0].astype(np.uint8)).save(target, "JPEG2000")
    place(page, target.getvalue(), samples, (1, 1, 49, 37), ColorSpace=spot_space(page, "Gold"), Filter=Name.JPXDecode)


def _fax(bits: Samples) -> bytes:
    """ITU-T T.6, black where a bit is 1."""
    target = io.BytesIO()
    Image.fromarray(bits[:, :, 0] == 0).save(target, "TIFF", compression="group4", tiffinfo={278: len(bits)})
    with Image.open(io.BytesIO(target.getvalue())) as tiff:
        (start,), (size,) = tiff.tag_v2[273], tiff.tag_v2[279]  # type: ignore[attr-defined]
    return target.getvalue()[start : start + size]


@drawing(tile=PICTURE)
def fax_images(page: Drawing) -> None:
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20)).colour("Line")
    bits, gold = blocks(66, 61, 1, bits=1, side=6), spot_space(page, "Gold")
    kinds: tuple[tuple[bool, dict[str, object]], ...] = (
        (False, {"ColorSpace": Name.DeviceGray}),
        (False, {"ColorSpace": gold}),
        (True, {"ColorSpace": gold, "Decode": Array([1, 0])}),
        (False, {"ImageMask": True}),
    )
    for at, (black_is_1, keys) in enumerate(kinds):
        parameters = Dictionary(K=-1, Columns=61, Rows=66, BlackIs1=black_is_1)
        box = (1.0 + 12 * at, 1.0, 12.0 + 12 * at, 37.0)
        place(
            page, _fax(bits), bits, box, BitsPerComponent=1, Filter=Name.CCITTFaxDecode, DecodeParms=parameters, **keys
        )


@drawing()
def fax_image_finer_than_the_plates(page: Drawing) -> None:
    bits = blocks(1200, 1600, 1, bits=1, side=8)
    place(page, _fax(bits), bits, (1.1, 1.2, 49.3, 37), ColorSpace=spot_space(page, "Gold"), BitsPerComponent=1,
          Filter=Name.CCITTFaxDecode, DecodeParms=Dictionary(K=-1, Columns=1600, Rows=1200))  # fmt: skip


@drawing(tile=PICTURE)
def jbig2_images(page: Drawing) -> None:
    """One page-information segment and one generic region in T.6 coding (ITU-T T.88, 7.4.8 and 7.4.6)."""
    page.fill((0.4, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 20))
    bits = blocks(66, 61, 1, bits=1, side=6)
    information = struct.pack(">IIIIBH", 61, 66, 0, 0, 0, 0)
    region = struct.pack(">IIIIBB", 61, 66, 0, 0, 0, 1) + _fax(bits)
    data = b"".join(
        struct.pack(">IBBBI", number, kind, 0, 1, len(body)) + body
        for number, (kind, body) in enumerate(((48, information), (38, region)))
    )
    for box, space in (((1, 1, 24, 37), spot_space(page, "Gold")), ((26, 1, 49, 37), Name.DeviceGray)):
        place(page, data, bits, box, ColorSpace=space, BitsPerComponent=1, Filter=Name.JBIG2Decode)


@drawing()
def image_packed_with_a_predictor(page: Drawing) -> None:
    samples = smooth(60, 70, 4)
    above = np.vstack([np.zeros((1, 70, 4), np.int64), samples[:-1]])
    rows = (samples - above).astype(np.uint8).reshape(60, -1)
    data = zlib.compress(b"".join(b"\2" + row.tobytes() for row in rows))
    parameters = Dictionary(Predictor=15, Columns=70, Colors=4)
    place(page, data, samples, (1, 1, 49, 37), ColorSpace=Name.DeviceCMYK, BitsPerComponent=8,
          Filter=Name.FlateDecode, DecodeParms=parameters)  # fmt: skip


# -- shadings ---------------------------------------------------------------------------------------------------------


def shading(page: Drawing, kind: int, space: Object, count: int, box: tuple[float, float, float, float]) -> Object:
    """A shading of any type over a box in mm, in a space of ``count`` components."""
    x0, y0, x1, y1 = (v * MM for v in box)
    random = np.random.default_rng(kind)
    keys = Dictionary(ShadingType=kind, ColorSpace=space)
    if kind == 1:
        keys.Domain, keys.Matrix = Array([0, 1, 0, 1]), Array([x1 - x0, 0, 0, y1 - y0, x0, y0])
        keys.Function = _samples_of_two_inputs(page, count)
        return page.pdf.make_indirect(keys)
    if kind in (2, 3):
        keys.Function = Dictionary(FunctionType=2, Domain=[0, 1], N=1)
        keys.Function.C0, keys.Function.C1 = (Array(random.random(count).round(3).tolist()) for _ in range(2))
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        circles = [*middle, 5, middle[0] + 3, middle[1], min(x1 - x0, y1 - y0) / 2]
        keys.Coords = Array([x0, y0, x1, y1] if kind == 2 else circles)
        keys.Extend = Array([True, kind == 3])
        return page.pdf.make_indirect(keys)
    data, extra = _mesh(kind, lambda: bytes(random.integers(0, 256, count).astype(np.uint8)))
    mesh = page.pdf.make_stream(data, keys)
    mesh.BitsPerCoordinate, mesh.BitsPerComponent = 16, 8
    mesh.Decode = Array([x0, x1, y0, y1, *[0, 1] * count])
    for key, value in extra.items():
        mesh[Name("/" + key)] = value
    return mesh


def _samples_of_two_inputs(page: Drawing, count: int) -> Object:
    """x times y, from four samples: half way between them the two inputs act together."""
    corners = np.zeros((2, 2, count), np.uint8)
    corners[1, 1] = [255 // (i + 1) for i in range(count)]
    function = page.pdf.make_stream(corners.tobytes())
    function.FunctionType, function.Size, function.BitsPerSample = 0, Array([2, 2]), 8
    function.Domain, function.Range = Array([0, 1, 0, 1]), Array([0, 1] * count)
    return function


def _mesh(kind: int, colour: object) -> tuple[bytes, dict[str, int]]:
    assert callable(colour)

    def at(x: float, y: float) -> bytes:
        return struct.pack(">HH", round(x * 65535), round(y * 65535))

    if kind == 4:
        corners = [at(0, 0) + colour(), at(1, 0) + colour(), at(1, 1) + colour(), at(0, 1) + colour()]
        return b"".join(b"\0" + corners[i] for i in (0, 1, 2, 0, 2, 3)), {"BitsPerFlag": 8}
    if kind == 5:
        return b"".join(at(x, y) + colour() for y in (0, 0.5, 1) for x in (0, 0.4, 1)), {"VerticesPerRow": 3}
    edge = [(0, 0), (0, 0.33), (0.05, 0.66), (0, 1), (0.33, 0.95), (0.66, 1), (1, 1), (0.95, 0.66), (1, 0.33), (1, 0),
            (0.66, 0.05), (0.33, 0)]  # fmt: skip
    inner = [(0.33, 0.33), (0.33, 0.66), (0.66, 0.66), (0.66, 0.33)] if kind == 7 else []
    points = b"".join(at(x, y) for x, y in edge + inner)
    return b"\0" + points + b"".join(colour() for _ in range(4)), {"BitsPerFlag": 8}


def _seven_shadings(page: Drawing, space: Object, count: int) -> None:
    page.fill((0.2, 0, 0.3, 0), rect=(0, 0, WIDTH_MM, 12))
    for at in range(7):
        x, y = 1 + (at % 4) * 12.4, 1 + (at // 4) * 18.5
        page.resources.Shading[Name(f"/S{at}")] = shading(page, at + 1, space, count, (x, y, x + 11.5, y + 17))
        page.raw(f"q {rect(x, y, x + 11.5, y + 17)} W n /S{at} sh Q")


@drawing(tile=0.04)
def shadings_in_cmyk(page: Drawing) -> None:
    _seven_shadings(page, Name.DeviceCMYK, 4)


@drawing(tile=0.04)
def shadings_in_a_spot(page: Drawing) -> None:
    _seven_shadings(page, spot_space(page, "Gold"), 1)


@drawing(tile=0.04)
def shadings_in_device_n_overprinting(page: Drawing) -> None:
    page.gs(**ON)
    _seven_shadings(page, device_n(page, "DN", ["Cyan", "Gold", "Line"]), 3)


@drawing(tile=0.04)
def shadings_in_grey(page: Drawing) -> None:
    _seven_shadings(page, Name.DeviceGray, 1)


@drawing(tile=0.04)
def shadings_as_patterns(page: Drawing) -> None:
    page.fill(CYAN, 0.4, rect=(0, 0, WIDTH_MM, 12)).fill("Line", 0.5, rect=(0, 12, WIDTH_MM, 20))
    spaces = ((Name.DeviceCMYK, 4), (spot_space(page, "Gold"), 1), (device_n(page, "DN", ["Cyan", "Gold", "Base"]), 3))
    for row, state in enumerate((OFF, ON)):
        page.gs(**state)
        for at, (space, count) in enumerate(spaces):
            x, y = 1 + 16 * at, 1 + 18 * row
            look = shading(page, 2, space, count, (x, y, x + 14, y + 15))
            pattern = Dictionary(Type=Name.Pattern, PatternType=2, Shading=look, Matrix=Array([1, 0, 0, 1, 3, 2]))
            page.resources.Pattern[Name(f"/P{row}{at}")] = page.pdf.make_indirect(pattern)
            page.raw(f"/Pattern cs /P{row}{at} scn {mm(x, y)} m {mm(x + 14, y)} l {mm(x + 7, y + 17)} l h f")
