"""Images: what they say of themselves, and their samples as plate tints at about the resolution that is needed."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray
from PIL import Image, ImageFile

from preflight.artwork.colour.colours import ColourReader, ColourSpace, unknown
from preflight.artwork.objects import ImageFacts
from preflight.artwork.page_colours import Colour
from preflight.artwork.painted.jpeg_2000 import Decoded, Jpeg2000, Unclear, decoded, mask_of, read_jpeg_2000
from preflight.artwork.structure.ahead import ahead
from preflight.artwork.structure.streams import OverLimit, Undecodable, flate_pieces, read_stream
from preflight.artwork.structure.values import identity, lookup, name_bytes, numbers, whole

MOST_SAMPLES_BYTES = 1_500_000_000
MOST_SIDE_PX = 200_000
STRIP_BYTES = 8_000_000
_FLAT_LOOKED_AT = 64_000_000
Tints = NDArray[np.uint8]

Image.MAX_IMAGE_PIXELS = None  # bounded by our own limits, which are said in the report
ImageFile.LOAD_TRUNCATED_IMAGES = True  # a JPEG cut short still prints on press what is there

_ABBREVIATED = {
    "BPC": "BitsPerComponent", "CS": "ColorSpace", "D": "Decode", "DP": "DecodeParms", "F": "Filter", "H": "Height",
    "IM": "ImageMask", "I": "Interpolate", "W": "Width", "L": "Length",
}  # fmt: skip
_FILTERS = {
    "AHx": "ASCIIHexDecode", "A85": "ASCII85Decode", "LZW": "LZWDecode", "Fl": "FlateDecode", "RL": "RunLengthDecode",
    "CCF": "CCITTFaxDecode", "DCT": "DCTDecode",
}  # fmt: skip
_SEPARABLE = ("DeviceCMYK", "ICCBased-4", "Separation", "DeviceGray", "ICCBased-1", "CalGray")
_MODES = {1: "L", 3: "RGB", 4: "CMYK"}
BILEVEL = ("CCITTFaxDecode", "JBIG2Decode")
JPEG_2000 = "JPXDecode"
PICTURES = ("DCTDecode", JPEG_2000, *BILEVEL)
STRAIGHT, PREBLENDED = 1, 2
"""What ``SMaskInData`` says of the colours."""
_INLINE_DATA = re.compile(rb"(?<=[\s\]>)])ID(?=\s)|ID\s")


class TooBig(Exception):
    """The image is over a bound or cannot be decoded; the text says which."""


@dataclass(frozen=True)
class ImageUse:
    """An image as a stream uses it."""

    facts: ImageFacts
    stream: pikepdf.Stream
    space: ColourSpace | None
    """None for a stencil, which is painted in the current colour."""
    key: object
    """Equal for the same image in the same space."""

    @property
    def colour(self) -> Colour:
        """What it can put ink on: every plate of its space at its greatest tint."""
        assert self.space is not None
        return self.space.anything()

    @property
    def filters(self) -> list[str]:
        """Names of the filters, outermost first."""
        found = lookup(self.stream, "Filter")
        entries = [found] if not isinstance(found, pikepdf.Array) else list(found)
        names = [(name_bytes(entry) or b"").decode("latin-1") for entry in entries if entry is not None]
        return [_FILTERS.get(name, name) for name in names]


def image_use(stream: pikepdf.Stream, reader: ColourReader, resources: Any) -> ImageUse | None:
    """An image XObject; None where width or height cannot be read."""
    width, height = whole(lookup(stream, "Width")), whole(lookup(stream, "Height"))
    if not width or not height or width < 0 or height < 0:
        return None
    is_mask = bool(lookup(stream, "ImageMask") is True)
    bits = 1 if is_mask else whole(lookup(stream, "BitsPerComponent")) or 8
    space = None
    if not is_mask:
        entry = lookup(stream, "ColorSpace")
        if entry is None and JPEG_2000 in bare_use(stream).filters:
            space = _space_of_jpeg_2000(bare_use(stream), reader, resources)
        else:
            space = reader.resolve(entry if entry is not None else pikepdf.Name.DeviceGray, resources)
    name = f"{width} x {height} px"
    use = ImageUse(ImageFacts(name, width, height, bits, is_mask), stream, space, (identity(stream), id(space)))
    return replace(use, facts=replace(use.facts, flat=True)) if not is_mask and _is_flat(use) else use


def bare_use(stream: pikepdf.Stream) -> ImageUse:
    """A stream as an image of which nothing is known yet but the stream."""
    return ImageUse(ImageFacts("", 1, 1, 8, False), stream, None, identity(stream))


def _is_flat(use: ImageUse) -> bool:
    """Whether all samples are alike, as in a shadow that is black with a soft mask.

    Only data that packs to a hundredth is looked at, and no more of it than 64 MB: a picture never packs so well.
    """
    facts, space = use.facts, use.space
    assert space is not None
    size = (facts.width_px * space.components * facts.bits + 7) // 8 * facts.height_px
    packed = whole(lookup(use.stream, "Length")) or size
    if size > _FLAT_LOOKED_AT or packed > size / 100 + 100 or set(use.filters) & set(PICTURES):
        return False
    try:
        samples = read_stream(use.stream, size + 65536)
    except (OverLimit, Undecodable):
        return False
    pixel = max(space.components * facts.bits // 8, 1)
    return len(samples) > pixel and samples == samples[:pixel] * (len(samples) // pixel)


def _space_of_jpeg_2000(use: ImageUse, reader: ColourReader, resources: Any) -> ColourSpace:
    """The picture's own, where the PDF gives it none (ISO 32000-2, 7.4.9)."""
    try:
        family = read_jpeg_2000(behind_outer_filters(use)).family
    except (TooBig, Unclear) as fault:
        return unknown(str(fault))
    if not family:
        return unknown("a JPEG 2000 picture in a colour space of its own that is neither grey, RGB nor CMYK")
    return reader.resolve(pikepdf.Name("/" + family), resources)


def inline_image(raw: bytes, pdf: pikepdf.Pdf, reader: ColourReader, resources: Any) -> ImageUse | None:
    """An inline image from its bytes, ``BI`` up to but not including ``EI`` (ISO 32000-2, 8.9.7)."""
    match = _INLINE_DATA.search(raw)
    if match is None:
        return None
    try:
        short = pikepdf.Object.parse(b"<<" + raw[2 : match.start()] + b">>")
    except (pikepdf.PdfError, ValueError, RuntimeError):
        return None
    if not isinstance(short, pikepdf.Dictionary):
        return None
    keys = pikepdf.Dictionary()
    for key, value in short.items():
        keys[pikepdf.Name("/" + _ABBREVIATED.get(key[1:], key[1:]))] = value
    data = raw[match.end() : -1] if match[0] != b"ID" else raw[match.end() + 1 : -1]
    stream = pikepdf.Stream(pdf, data)
    for key, value in keys.items():
        if key != "/Length":
            stream[key] = _full_filters(value) if key == "/Filter" else value
    found = image_use(stream, reader, resources)
    if found is None:
        return None
    return ImageUse(found.facts, stream, found.space, (raw, id(found.space)))


def _full_filters(value: Any) -> Any:
    if isinstance(value, pikepdf.Array):
        return pikepdf.Array([_full_filters(entry) for entry in value])
    name = (name_bytes(value) or b"").decode("latin-1")
    return pikepdf.Name("/" + _FILTERS[name]) if name in _FILTERS else value


def plain_bytes(use: ImageUse, count: int) -> bytes:
    """Unpacked samples, at most so many bytes; fewer where the file has no more."""
    if count > MOST_SAMPLES_BYTES:
        raise TooBig(f"an image of {use.facts.width_px:,} x {use.facts.height_px:,} pixels")
    try:
        return read_stream(use.stream, count + 65536)[:count]
    except (OverLimit, Undecodable) as fault:
        raise TooBig(f"an image that cannot be decoded: {fault}") from fault


def image_tints(use: ImageUse, shrink: int = 1) -> tuple[tuple[str, ...], Tints]:
    """Tints of an image on the plates of its space.

    Args:
        use: an image that is no stencil.
        shrink: whole number of samples to average into one, each way; 1 keeps all.

    Returns:
        The separations and an array (rows, columns, separations), 0 bare and 255 solid; row 0 is the top.

    Raises:
        TooBig: over a bound, or in no form that can be decoded.
    """
    assert use.space is not None
    facts, space = use.facts, use.space
    if max(facts.width_px, facts.height_px) > MOST_SIDE_PX:
        raise TooBig(f"an image of {facts.width_px:,} x {facts.height_px:,} pixels")
    if not space.plates:
        return (), np.zeros((1, 1, 0), np.uint8)
    decode = numbers(lookup(use.stream, "Decode"), None)
    last = use.filters[-1] if use.filters else ""
    if last in PICTURES:
        samples, bits = _pictured(use, last, shrink)
        shrink = max(1, round(shrink * samples.shape[1] / facts.width_px))
        return space.plates, _in_strips(_cut(samples, shrink), bits, use, decode, shrink)
    bits = facts.bits
    row_bytes = (facts.width_px * space.components * bits + 7) // 8
    if row_bytes * facts.height_px > MOST_SAMPLES_BYTES:
        raise TooBig(f"an image of {facts.width_px:,} x {facts.height_px:,} pixels")
    try:
        tints = _in_strips(ahead(_flate_strips(use, row_bytes, shrink)), bits, use, decode, shrink, packed=True)
    except Undecodable:
        data = plain_bytes(use, row_bytes * facts.height_px)
        rows = min(facts.height_px, -(-len(data) // row_bytes)) or 1
        tints = _in_strips(_cut(_rows(data, rows, row_bytes), shrink), bits, use, decode, shrink, packed=True)
    wanted = -(-facts.height_px // shrink)
    if len(tints) < wanted:  # samples that are missing put no ink anywhere
        tints = np.concatenate([tints, np.zeros((wanted - len(tints), *tints.shape[1:]), np.uint8)])
    return space.plates, tints


def _pictured(use: ImageUse, last: str, shrink: int) -> tuple[NDArray[Any], int]:
    """Samples of a picture format, (rows, columns, components), as the filter hands them to Decode."""
    if last in BILEVEL:  # the renderer unpacks these
        raise TooBig(f"a picture that cannot be decoded ({last})")
    if last == JPEG_2000:
        return _jpeg_2000(use)
    try:
        raw = behind_outer_filters(use)
        with Image.open(io.BytesIO(raw)) as opened:
            picture: Image.Image = opened
            if last == "DCTDecode" and shrink >= 2:
                opened.draft(None, (max(1, picture.width // shrink), max(1, picture.height // shrink)))
            if picture.width * picture.height * len(picture.getbands()) > MOST_SAMPLES_BYTES:
                raise TooBig(f"an image of {picture.width:,} x {picture.height:,} pixels")
            samples = np.asarray(picture)
            if picture.mode == "CMYK" and last == "DCTDecode":
                samples = 255 - samples  # Pillow turns every CMYK JPEG round; Decode speaks of the file's samples
    except TooBig:
        raise
    except Exception as fault:
        raise TooBig(f"a picture that cannot be decoded ({last})") from fault
    bits = 16 if samples.dtype.itemsize == 2 else 8
    samples = samples[:, :, None] if samples.ndim == 2 else samples
    assert use.space is not None
    count = use.space.components
    if samples.shape[2] > count:
        samples = samples[:, :, :count]
    elif samples.shape[2] < count:
        samples = np.repeat(samples[:, :, :1], count, axis=2)
    return samples, bits


def _jpeg_2000(use: ImageUse) -> tuple[NDArray[Any], int]:
    found = _decoded(use)
    colours, veil = found.colours, found.opacity
    if veil is None or soft_mask_in_data(use) != PREBLENDED:
        return colours, found.bits
    # What is mixed with nothing at all is the colour times its opacity.
    whole = np.maximum(veil, 1)[:, :, None].astype(np.float32)
    return np.minimum(np.rint(colours * (255 / whole)), 2**found.bits - 1).astype(colours.dtype), found.bits


def _decoded(use: ImageUse) -> Decoded:
    assert use.space is not None
    indexed, opacity = use.space.family == "Indexed", bool(soft_mask_in_data(use))
    try:
        return decoded(_opened(use), use.space.components, indexed=indexed, opacity=opacity)
    except Unclear as fault:
        raise TooBig(str(fault)) from fault


def _opened(use: ImageUse) -> Jpeg2000:
    picture = read_jpeg_2000(behind_outer_filters(use))
    if picture.width * picture.height * len(picture.depths) > MOST_SAMPLES_BYTES:
        raise TooBig(f"an image of {picture.width:,} x {picture.height:,} pixels")
    return picture


def jpeg_2000_mask(use: ImageUse) -> NDArray[np.uint8]:
    """Samples of a JPEG 2000 picture that stands as a mask or stencil, (rows, columns), before Decode, 0 to 255.

    Raises:
        TooBig: over a bound, or in no form that can be decoded.
    """
    try:
        return mask_of(_opened(use))
    except Unclear as fault:
        raise TooBig(str(fault)) from fault


def soft_mask_in_data(use: ImageUse) -> int:
    """What ``SMaskInData`` says of a JPEG 2000 picture (ISO 32000-2, table 87); 0 where a soft mask stands for it."""
    if use.space is None or not use.filters or use.filters[-1] != JPEG_2000:
        return 0
    if isinstance(lookup(use.stream, "SMask"), pikepdf.Stream):
        return 0
    said = whole(lookup(use.stream, "SMaskInData")) or 0
    return said if said in (STRAIGHT, PREBLENDED) else 0


def is_soft_masked(use: ImageUse) -> bool:
    """Whether it has a soft mask, of its own or in its data."""
    return isinstance(lookup(use.stream, "SMask"), pikepdf.Stream) or bool(soft_mask_in_data(use))


def opacity_in_data(use: ImageUse) -> NDArray[np.uint8]:
    """Opacity that a JPEG 2000 picture carries, (rows, columns), 255 opaque.

    Raises:
        TooBig: over a bound, or in no form that can be decoded.
    """
    veil = _decoded(use).opacity
    assert veil is not None
    return veil


def behind_outer_filters(use: ImageUse) -> bytes:
    """The bytes of a picture format, once what it is wrapped in (hexadecimal digits, say) is taken off."""
    raw = bytes(use.stream.read_raw_bytes())
    if len(use.filters) <= 1:
        return raw
    pdf = pikepdf.new()
    outer = pdf.make_stream(raw)
    outer.Filter = pikepdf.Array([pikepdf.Name("/" + name) for name in use.filters[:-1]])
    try:
        return read_stream(outer, MOST_SAMPLES_BYTES)
    except (OverLimit, Undecodable) as fault:
        raise TooBig(f"an image that cannot be decoded: {fault}") from fault


def _rows(data: bytes, rows: int, row_bytes: int) -> NDArray[np.uint8]:
    """Packed rows of samples; what is missing of them is 0."""
    whole_rows = data[: rows * row_bytes].ljust(rows * row_bytes, b"\0")
    return np.frombuffer(whole_rows, np.uint8).reshape(rows, row_bytes)


def _flate_strips(use: ImageUse, row_bytes: int, shrink: int) -> Iterator[NDArray[np.uint8]]:
    """Packed rows a strip at a time, so that a photo never stands in memory whole; raises Undecodable."""
    left, step = use.facts.height_px, max(1, STRIP_BYTES // (row_bytes * shrink)) * shrink
    for data in flate_pieces(use.stream, step * row_bytes):
        rows = min(left, step, -(-len(data) // row_bytes))
        left -= rows
        if rows:
            yield _rows(data, rows, row_bytes)
        if not left:
            return
    if left == use.facts.height_px:
        yield _rows(b"", 1, row_bytes)


def _cut(samples: NDArray[Any], shrink: int) -> Iterator[NDArray[Any]]:
    """Rows of samples, a strip at a time."""
    step = max(shrink, STRIP_BYTES // max(1, samples[:1].nbytes * shrink) * shrink)
    return (samples[top : top + step] for top in range(0, len(samples), step))


def _in_strips(
    strips: Iterable[NDArray[Any]],
    bits: int,
    use: ImageUse,
    decode: list[float] | None,
    shrink: int,
    *,
    packed: bool = False,
) -> Tints:
    """Tints of samples, a strip of rows at a time, so that a photo never stands in memory as floats."""
    space, width = use.space, use.facts.width_px
    assert space is not None
    out = []
    to_tint = _Decoder(space, bits, decode)
    for strip in strips:
        if packed:
            strip = _unpacked(strip, bits, width, space.components)
        out.append(to_tint(_averaged(strip, shrink) if to_tint.linear else strip, shrink))
    return np.concatenate(out)


class _Decoder:
    """Samples to tints through Decode and the colour space (ISO 32000-2, 8.9.5.2)."""

    def __init__(self, space: ColourSpace, bits: int, decode: list[float] | None) -> None:
        self.space = space
        self.top = float(2**bits - 1)
        pairs = np.array(space.default_decode(bits), float).reshape(-1, 2)
        if decode is not None and len(decode) >= 2 * space.components:
            pairs = np.array(decode[: 2 * space.components], float).reshape(-1, 2)
        self.low, self.span = pairs[:, 0], pairs[:, 1] - pairs[:, 0]
        self.linear = not space.not_a_plate and space.family != "Indexed"
        """Averaging samples and averaging tints come to the same."""
        self.tables = self._tables() if bits == 8 and space.family in _SEPARABLE and self.linear else None

    def _tables(self) -> NDArray[np.uint8] | None:
        """Where each plate follows one component: the tint of every 8-bit sample, (256, plates)."""
        if len(self.space.plates) != self.space.components:
            return None
        every = np.repeat(np.arange(256.0)[:, None], self.space.components, axis=1)
        return np.asarray(self._levels(every))

    def _levels(self, samples: NDArray[Any]) -> NDArray[np.uint8]:
        tints = self.space.tints(self.low + samples * (self.span / self.top))
        return (tints * 255 + 0.5).astype(np.uint8)

    def __call__(self, samples: NDArray[Any], shrink: int) -> Tints:
        rows, columns, count = samples.shape
        if self.tables is not None and samples.dtype == np.uint8:
            if (self.tables == np.arange(256, dtype=np.uint8)[:, None]).all():
                return samples
            if (self.tables == self.tables[:, :1]).all():
                return _looked_up(self.tables[:, 0], samples)
            return np.stack([_looked_up(self.tables[:, i], samples[:, :, i]) for i in range(count)], axis=2)
        if self.linear:
            return self._levels(samples.reshape(-1, count)).reshape(rows, columns, -1)
        values = self.low + samples.reshape(-1, count) * (self.span / self.top)
        tints = self.space.tints(values).reshape(rows, columns, len(self.space.plates))
        return (_averaged(tints, shrink) * 255 + 0.5).astype(np.uint8)


def _looked_up(table: NDArray[np.uint8], samples: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Each sample's entry of a table of 256; bytes translate three times as fast as arrays index."""
    return np.frombuffer(samples.tobytes().translate(table.tobytes()), np.uint8).reshape(samples.shape)


def _averaged(samples: NDArray[Any], shrink: int) -> NDArray[Any]:
    """Mean of blocks of shrink x shrink; the last, smaller blocks are the mean of what they hold."""
    if shrink <= 1:
        return samples
    rows, columns = samples.shape[:2]
    mode = _MODES.get(samples.shape[2])
    if samples.dtype == np.uint8 and mode:
        plain = np.ascontiguousarray(samples[:, :, 0] if mode == "L" else samples)
        picture = Image.frombuffer(mode, (columns, rows), plain, "raw", mode, 0, 1)
        small = np.asarray(picture.reduce(shrink))
        return small[:, :, None] if mode == "L" else small
    down = np.add.reduceat(samples, np.arange(0, rows, shrink), axis=0, dtype=np.float32)
    both = np.add.reduceat(down, np.arange(0, columns, shrink), axis=1)
    row_count = np.diff(np.append(np.arange(0, rows, shrink), rows))
    column_count = np.diff(np.append(np.arange(0, columns, shrink), columns))
    return np.asarray(both / (row_count[:, None, None] * column_count[None, :, None]))


def _unpacked(packed: NDArray[np.uint8], bits: int, width: int, components: int) -> NDArray[Any]:
    rows, count = len(packed), width * components
    if bits == 8:
        samples: NDArray[Any] = packed[:, :count]
    elif bits == 16:
        samples = packed.view(">u2")[:, :count].astype(np.uint16)
    else:
        spread = np.unpackbits(packed, axis=1)[:, : count * bits].reshape(rows, count, bits)
        samples = (spread * (1 << np.arange(bits - 1, -1, -1))).sum(2).astype(np.uint8)
    return samples.reshape(rows, width, components)


def colour_key_mask(use: ImageUse) -> NDArray[np.bool_]:
    """Pixels that a colour-key mask hides (ISO 32000-2, 8.9.6.4), (rows, columns).

    Raises:
        TooBig: over a bound, or in no form that can be decoded.
    """
    assert use.space is not None
    limits = numbers(lookup(use.stream, "Mask"), None) or []
    facts, count = use.facts, use.space.components
    last = use.filters[-1] if use.filters else ""
    if last in PICTURES:
        if last == JPEG_2000 and _decoded(use).scaled:
            raise TooBig("a JPEG 2000 picture of more than 8 bits that is masked by its colours")
        samples, _ = _pictured(use, last, 1)
    else:
        row_bytes = (facts.width_px * count * facts.bits + 7) // 8
        size = row_bytes * facts.height_px
        packed = np.frombuffer(plain_bytes(use, size).ljust(size, b"\0"), np.uint8)
        samples = _unpacked(packed.reshape(facts.height_px, row_bytes), facts.bits, facts.width_px, count)
    if len(limits) < 2 * count:
        return np.zeros(samples.shape[:2], bool)
    low, high = np.array(limits[: 2 * count]).reshape(-1, 2).T
    return np.asarray(((samples >= low) & (samples <= high)).all(2))
