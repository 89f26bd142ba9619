"""Images: what they say of themselves."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

import pikepdf

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import ImageFacts
from preflight.artwork.pdf.colour.colour_reader import ColourReader, ColourSpace, unknown
from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import identity, items, lookup, name_bytes, whole
from preflight.errors import CannotBeRendered, Jpeg2000Fault, NotDrawn, OverLimit, TooBig, Undecodable

MOST_SAMPLES_BYTES = 1_500_000_000
_FLAT_LOOKED_AT = 64_000_000
_MOST_ALTERNATES = 100

_ABBREVIATED = {
    "BPC": "BitsPerComponent",
    "CS": "ColorSpace",
    "D": "Decode",
    "DP": "DecodeParms",
    "F": "Filter",
    "H": "Height",
    "IM": "ImageMask",
    "I": "Interpolate",
    "W": "Width",
    "L": "Length",
}
_FILTERS = {
    "AHx": "ASCIIHexDecode",
    "A85": "ASCII85Decode",
    "LZW": "LZWDecode",
    "Fl": "FlateDecode",
    "RL": "RunLengthDecode",
    "CCF": "CCITTFaxDecode",
    "DCT": "DCTDecode",
}
BILEVEL = ("CCITTFaxDecode", "JBIG2Decode")
JPEG_2000 = "JPXDecode"
PICTURES = ("DCTDecode", JPEG_2000, *BILEVEL)
STRAIGHT, PREBLENDED = 1, 2
"""What ``SMaskInData`` says of the colours."""
_INLINE_DATA = re.compile(rb"(?<=[\s\]>)])ID(?=\s)|ID\s")


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
    """An image XObject, or what stands for it in print; None where width or height cannot be read."""
    stream = _for_printing(stream)
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


def _for_printing(stream: pikepdf.Stream) -> pikepdf.Stream:
    """The alternate image that is the one for printing, where an image has such (ISO 32000-2, 8.9.5.4)."""
    for alternate in items(lookup(stream, "Alternates"), _MOST_ALTERNATES):
        image = lookup(alternate, "Image")
        if lookup(alternate, "DefaultForPrinting") is True and isinstance(image, pikepdf.Stream):
            return image
    return stream


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
    from preflight.artwork.pdf.images.jpeg_2000 import read_jpeg_2000  # few pages need it

    try:
        family = read_jpeg_2000(behind_outer_filters(use)).family
    except (NotDrawn, Jpeg2000Fault) as fault:
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
        raise CannotBeRendered(f"an image that cannot be decoded: {fault}") from fault


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


def plain_soft_mask(use: ImageUse, reader: ColourReader) -> ImageUse | None:
    """The soft mask of an image where it is a plain one: grey, and without a matte colour or a mask of its own."""
    soft = lookup(use.stream, "SMask")
    if not isinstance(soft, pikepdf.Stream) or lookup(soft, "Matte") is not None:
        return None
    mask = image_use(soft, reader, None)
    plain = mask is not None and mask.space is not None and mask.space.family == "DeviceGray"
    return mask if plain and lookup(soft, "Mask") is None else None


def parameters_of(use: ImageUse) -> Any:
    """Parameters of the last filter; None where it has none."""
    parameters = lookup(use.stream, "DecodeParms")
    if isinstance(parameters, pikepdf.Array):
        parameters = parameters[-1] if len(parameters) == len(use.filters) else None
    return parameters if isinstance(parameters, pikepdf.Dictionary) else None


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
        raise CannotBeRendered(f"an image that cannot be decoded: {fault}") from fault
