"""JPEG 2000 pictures: what their boxes say of channels, palette and opacity, and their samples as the file has them.

The boxes are read here (ISO/IEC 15444-1, annex I), because a PDF overrules some of what they say: a colour space in
the PDF stands for that of the picture, and an Indexed one leaves its palette out (ISO 32000-2, 7.4.9). Decoders that
read both would convert twice.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pikepdf
import pypdfium2
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name
from PIL import Image

from preflight.errors import Jpeg2000Fault

Samples = NDArray[Any]

_START: Final = b"\xff\x4f\xff\x51"
_FAMILIES: Final = {12: "DeviceCMYK", 15: "DeviceGray", 16: "DeviceRGB", 17: "DeviceGray", 18: "DeviceRGB"}
"""Enumerated colour spaces: CMYK, two-level with light as 1, sRGB, grey and sYCC."""
_YCC: Final = 18
_PROFILES: Final = {b"GRAY": "DeviceGray", b"RGB ": "DeviceRGB", b"CMYK": "DeviceCMYK"}
_BY_COUNT: Final = {1: "DeviceGray", 2: "DeviceGray", 3: "DeviceRGB", 4: "DeviceCMYK", 5: "DeviceCMYK"}
"""What nobody gives a colour space is grey, RGB or CMYK, or one of them with opacity."""
_PILLOW_CHANNELS: Final = 4
_STRIP_PX: Final = 16_000_000
_OPACITY, _PREMULTIPLIED, _ALL_COLOURS = 1, 2, 0


@dataclass(frozen=True)
class Channel:
    """One channel: a component of the code stream, as it stands or through a column of the palette."""

    component: int
    column: int = -1


@dataclass(frozen=True)
class Jpeg2000:
    """What a picture says of itself before it is decoded."""

    stream: bytes
    """The code stream alone."""
    width: int
    height: int
    depths: tuple[int, ...]
    """Bits of each component of the code stream."""
    thinned: bool
    """Whether some components have fewer samples than others."""
    enumerated: int | None
    """The colour space by its number, where the picture gives one."""
    family: str
    """Of its own colour space: ``DeviceGray``, ``DeviceRGB``, ``DeviceCMYK``; empty for all others."""
    palette: NDArray[np.int64] | None
    """(entries, columns)."""
    palette_depths: tuple[int, ...]
    channels: tuple[Channel, ...]
    """Channels of colour, the first colour first."""
    opacity: Channel | None
    """The channel of opacity for all colours, if it says that it has one."""

    def depth(self, channel: Channel) -> int:
        """Bits of a channel."""
        return self.depths[channel.component] if channel.column < 0 else self.palette_depths[channel.column]


def read_jpeg_2000(data: bytes) -> Jpeg2000:
    """Boxes and head of a picture; a code stream without boxes has the colours that its components say.

    Raises:
        Jpeg2000Fault: there is no code stream, or what the boxes say cannot be.
    """
    try:
        return _read(data)
    except (struct.error, IndexError, ValueError) as fault:
        raise Jpeg2000Fault("a JPEG 2000 picture that cannot be decoded: its head cannot be read") from fault


def _read(data: bytes) -> Jpeg2000:
    header: dict[bytes, bytes] = {}
    stream = data if data.startswith(_START) else b""
    for kind, body in _boxes(data) if not stream else ():
        if kind == b"jp2h":
            for inner, own in _boxes(body):
                header.setdefault(inner, own)
        elif kind == b"jp2c" and not stream:
            stream = body
    if not stream.startswith(_START):
        at = data.find(_START)
        if at < 0:
            raise ValueError("no code stream")
        stream = data[at:]
    right, lower, left, upper = struct.unpack(">IIII", stream[8:24])
    (count,) = struct.unpack(">H", stream[40:42])
    components = [struct.unpack(">BBB", stream[42 + 3 * at : 45 + 3 * at]) for at in range(count)]
    depths = tuple((depth & 0x7F) + 1 for depth, _, _ in components)
    palette, palette_depths = _palette(header.get(b"pclr", b""))
    channels = [Channel(at) for at in range(count)]
    if palette is not None:
        channels = _mapped(header.get(b"cmap", b""), palette.shape[1])
    if any(channel.component >= count or channel.column >= len(palette_depths) for channel in channels):
        raise ValueError("a channel of nothing")
    colours, opacity = _defined(header.get(b"cdef", b""), channels)
    enumerated, family = _own_space(header.get(b"colr", b""), len(colours))
    return Jpeg2000(
        stream,
        right - left,
        lower - upper,
        depths,
        any(down != 1 or across != 1 for _, across, down in components),
        enumerated,
        family,
        palette,
        palette_depths,
        tuple(colours),
        opacity,
    )


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Boxes one after the other; a length of 0 goes on to the end (ISO/IEC 15444-1, I.4)."""
    at = 0
    while at + 8 <= len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        begin = at + 8
        if length == 1 and at + 16 <= len(data):
            length, begin = int(struct.unpack(">Q", data[at + 8 : at + 16])[0]), at + 16
        end = len(data) if length == 0 else at + length
        if end < begin:
            return
        yield kind, data[begin:end]
        at = end


def _palette(body: bytes) -> tuple[NDArray[np.int64] | None, tuple[int, ...]]:
    if not body:
        return None, ()
    entries, columns = struct.unpack(">HB", body[:3])
    depths = tuple((depth & 0x7F) + 1 for depth in body[3 : 3 + columns])
    row = np.dtype([(str(at), ">u1" if depth <= 8 else ">u2") for at, depth in enumerate(depths)])
    if not columns or max(depths) > 16:
        raise ValueError("a palette of more than 16 bits")
    table = np.frombuffer(body, row, entries, 3 + columns)
    return np.stack([table[str(at)].astype(np.int64) for at in range(columns)], 1), depths


def _mapped(body: bytes, columns: int) -> list[Channel]:
    """Channels of the component mapping box; without it every column is looked up by the first component."""
    if not body:
        return [Channel(0, column) for column in range(columns)]
    return [
        Channel(component, column if how == 1 else -1) for component, how, column in struct.iter_unpack(">HBB", body)
    ]


def _defined(body: bytes, channels: list[Channel]) -> tuple[list[Channel], Channel | None]:
    """Channels of colour in their order, and that of opacity, by the channel definition box."""
    if not body:
        return channels, None
    places: dict[int, Channel] = {}
    opacity = None
    for number, kind, about in struct.iter_unpack(">HHH", body[2:]):
        if kind == 0 and 0 < about <= len(channels):
            places.setdefault(about, channels[number])
        elif kind in (_OPACITY, _PREMULTIPLIED) and about == _ALL_COLOURS and opacity is None:
            opacity = channels[number]
    return [places[about] for about in sorted(places)], opacity


def _own_space(body: bytes, count: int) -> tuple[int | None, str]:
    """The enumerated colour space and the family that comes nearest to it, or to a profile."""
    if body[:1] == b"\1" and len(body) >= 7:
        (enumerated,) = struct.unpack(">I", body[3:7])
        return enumerated, _FAMILIES.get(enumerated, "")
    if body[:1] in (b"\2", b"\3"):
        return None, _PROFILES.get(body[3 + 16 : 3 + 20], "")
    return None, _BY_COUNT.get(count, "")


def mask_of(picture: Jpeg2000) -> NDArray[np.uint8]:
    """Samples of a picture of one channel that stands as a mask, (rows, columns), 0 to 255.

    Raises:
        Jpeg2000Fault: it has several, or is in no form that can be decoded truly.
    """
    found = decoded(picture, 1, indexed=False, opacity=False)
    return _to_eight(found.colours[:, :, 0], found.bits)


@dataclass(frozen=True)
class Decoded:
    """Samples of a picture as a PDF reads them."""

    colours: Samples
    """(rows, columns, components of the colour space), 0 to 2**bits - 1."""
    bits: int
    opacity: NDArray[np.uint8] | None
    """(rows, columns), 255 opaque; None where none was asked for."""
    scaled: bool
    """Whether samples of more or of different bits were brought to 8."""


def decoded(picture: Jpeg2000, count: int, *, indexed: bool, opacity: bool) -> Decoded:
    """Samples for a colour space of ``count`` components.

    Args:
        picture: what is decoded.
        count: components of the colour space that the PDF gives it, or else of its own.
        indexed: whether that is Indexed: then the picture's own palette is left out (ISO 32000-2, 7.4.9).
        opacity: whether its opacity is wanted.

    Raises:
        Jpeg2000Fault: it has another number of colours, or is in no form that can be decoded truly.
    """
    colours, opaque = picture.channels, picture.opacity
    if indexed and picture.palette is not None:
        colours = tuple(dict.fromkeys(Channel(channel.component) for channel in colours))
    if opaque is None and len(colours) == count + 1:
        colours, opaque = colours[:-1], colours[-1]  # nothing else can be meant by a channel that is left over
    if len(colours) != count:
        raise Jpeg2000Fault(f"a JPEG 2000 picture of {counted(len(colours))} in a colour space of {count}")
    if opacity and opaque is None:
        raise Jpeg2000Fault("a JPEG 2000 picture without the opacity that the file says is in it")
    components, depths = _components(picture)
    samples, bits = _of_channels(picture, components, depths, colours)
    scaled = any(bits != picture.depth(channel) for channel in colours)
    if picture.enumerated == _YCC and count == 3 and not picture.thinned:
        samples = _rgb_of_ycc(samples)
    if not opacity or opaque is None:
        return Decoded(samples, bits, None, scaled)
    alpha, depth = _of_channels(picture, components, depths, (opaque,))
    return Decoded(samples, bits, _to_eight(alpha[:, :, 0], depth), scaled)


def counted(count: int) -> str:
    """So many colours, in words."""
    return "1 colour" if count == 1 else f"{count} colours"


def _of_channels(
    picture: Jpeg2000, components: Samples, depths: tuple[int, ...], channels: tuple[Channel, ...]
) -> tuple[Samples, int]:
    """Some channels, of one depth as they are, of several as 8 bits."""
    if list(channels) == [Channel(at) for at in range(components.shape[2])] and len(set(depths)) == 1:
        return components, depths[0]
    planes, bits = [], []
    for channel in channels:
        plane = components[:, :, channel.component]
        if channel.column >= 0:
            assert picture.palette is not None
            plane = picture.palette[np.minimum(plane, len(picture.palette) - 1), channel.column]
            plane = plane.astype(np.uint8 if picture.palette_depths[channel.column] <= 8 else np.uint16)
        planes.append(plane)
        bits.append(depths[channel.component] if channel.column < 0 else picture.depth(channel))
    if len(set(bits)) == 1:
        return np.stack(planes, 2), bits[0]
    return np.stack([_to_eight(plane, depth) for plane, depth in zip(planes, bits, strict=True)], 2), 8


def _to_eight(plane: Samples, depth: int) -> NDArray[np.uint8]:
    """Samples of some bits as 0 to 255."""
    if depth == 8:
        return plane.astype(np.uint8, copy=False)
    scaled: NDArray[np.uint8] = np.rint(plane * np.float32(255 / (2**depth - 1))).astype(np.uint8)
    return scaled


def _rgb_of_ycc(samples: Samples) -> NDArray[np.uint8]:
    """SYCC to sRGB (IEC 61966-2-1, annex G); the same figures as in JFIF."""
    light, blue, red = (samples[:, :, at].astype(np.float32) for at in range(3))
    blue, red = blue - 128, red - 128
    rgb = np.stack([light + 1.402 * red, light - 0.344136 * blue - 0.714136 * red, light + 1.772 * blue], 2)
    return np.asarray(np.clip(np.rint(rgb), 0, 255), np.uint8)


def _components(picture: Jpeg2000) -> tuple[Samples, tuple[int, ...]]:
    """Samples of the code stream, (rows, columns, components), and the bits that each is given in."""
    depths = picture.depths
    if picture.thinned and (picture.enumerated != _YCC or len(depths) != 3 or max(depths) > 8):
        raise Jpeg2000Fault("a JPEG 2000 picture with components of different sizes")
    if len(depths) == 1 and 8 < depths[0] <= 16:
        return _by_pillow(picture) >> (16 - depths[0]), depths
    plain = max(depths) <= 8 and len(depths) <= _PILLOW_CHANNELS
    if not plain and len(set(depths)) > 1:
        raise Jpeg2000Fault("a JPEG 2000 picture with components of different depths")
    samples = _by_pillow(picture) if plain else _by_renderer(picture)
    if min(depths) < 8:  # both shift such samples up to 8 bits, which leaves the highest short of 255
        samples = samples >> np.array([max(0, 8 - depth) for depth in depths], np.uint8)
    return samples, tuple(min(depth, 8) for depth in depths)


def _by_pillow(picture: Jpeg2000) -> Samples:
    """All components of the bare code stream, brought to 8 bits, or a single one to 16.

    More than one of more than 8 bits it rounds so that the highest becomes 0, and more than four it does not know.
    """
    try:
        with Image.open(io.BytesIO(picture.stream)) as opened:
            samples = np.asarray(opened)
    except Exception as fault:
        raise Jpeg2000Fault("a picture that cannot be decoded (JPXDecode)") from fault
    return samples[:, :, None] if samples.ndim == 2 else samples


def _by_renderer(picture: Jpeg2000) -> NDArray[np.uint8]:
    """All components as 8 bits: painted pixel for pixel, three at a time, in a space that hands them on as RGB."""
    count = len(picture.depths)
    samples = np.empty((picture.height, picture.width, count), np.uint8)
    step = max(1, _STRIP_PX // max(1, picture.width))
    for first in range(0, count, 3):
        document = pypdfium2.PdfDocument(_three_channels(picture, first))
        try:
            page = document[0]
            for top in range(0, picture.height, step):
                rows = min(step, picture.height - top)
                crop = (0, picture.height - top - rows, 0, top)
                # On nothing at all, so that what was not painted shows.
                drawn = page.render(scale=1, crop=crop, rev_byteorder=True, fill_color=(0, 0, 0, 0)).to_numpy()
                if drawn.shape[2] != 4 or not (drawn[:, :, 3] == 255).all():
                    raise Jpeg2000Fault("a picture that cannot be decoded (JPXDecode)")
                own = samples[top : top + rows, :, first : first + 3]
                own[...] = drawn[:, :, : own.shape[2]]
        except (pypdfium2.PdfiumError, ValueError) as fault:
            raise Jpeg2000Fault("a picture that cannot be decoded (JPXDecode)") from fault
        finally:
            document.close()
    return samples


def _three_channels(picture: Jpeg2000, first: int) -> bytes:
    """A page of one point a pixel, whose red, green and blue are three components of the picture."""
    count, pdf = len(picture.depths), pikepdf.new()
    page = pdf.add_blank_page(page_size=(picture.width, picture.height))
    picked = [min(first + at, count - 1) for at in range(3)]
    words = " ".join(f"{count - 1 - own + pushed} index" for pushed, own in enumerate(picked))
    function = pdf.make_stream(f"{{{words} {count + 3} 3 roll{' pop' * count}}}".encode())
    function.FunctionType, function.Domain, function.Range = 4, Array([0, 1] * count), Array([0, 1] * 3)
    image = pdf.make_stream(picture.stream)
    image.Type, image.Subtype, image.Filter = Name.XObject, Name.Image, Name.JPXDecode
    image.Width, image.Height, image.BitsPerComponent = picture.width, picture.height, 8
    names = Array([Name(f"/C{at}") for at in range(count)])
    image.ColorSpace = Array([Name.DeviceN, names, Name.DeviceRGB, function])
    page.obj.Resources = Dictionary(XObject=Dictionary(Im=image))
    page.obj.Contents = pdf.make_stream(b"%d 0 0 %d 0 0 cm /Im Do" % (picture.width, picture.height))
    target = io.BytesIO()
    pdf.save(target)
    return target.getvalue()
