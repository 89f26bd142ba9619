"""Images and stencils of a page as the derived PDF has them: plates in red, green and blue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Name, Stream

from preflight.artwork.pdf.images.image_decoding import jpeg_2000_mask, opacity_in_data
from preflight.artwork.pdf.images.image_dictionaries import (
    BILEVEL,
    JPEG_2000,
    MOST_SAMPLES_BYTES,
    PICTURES,
    ImageUse,
    bare_use,
    behind_outer_filters,
    parameters_of,
    plain_bytes,
    soft_mask_in_data,
)
from preflight.artwork.pdf.images.image_sample_files import SampleBox, SampleFiles
from preflight.artwork.pdf.images.image_tints import colour_key_mask, image_tints, tints_of, with_missing_rows
from preflight.artwork.pdf.images.jpeg_header import colours_of
from preflight.artwork.pdf.structure.values import lookup, numbers, present, whole
from preflight.artwork.platemaking.picture_parts import Parts, of_mask
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.shading_colour_spaces import as_bytes, in_channels, on_one_plate
from preflight.errors import CannotBeRendered, TooBig

_FINER = 1.5
"""An image keeps at least this many samples a pixel, each way."""


@dataclass
class PlatePictures:
    """Makes the pictures of one derived document, and keeps them.

    Raises:
        NotDrawn: by ``image`` and ``stencil``, for what is over a bound or cannot be decoded.
    """

    out: pikepdf.Pdf
    copy: Callable[[Any], Any]
    """Brings an object of the file into the derived document."""
    ppi: Mapping[object, float]
    """The coarsest placing of each image, by its key."""
    pixel_mm: float
    files: SampleFiles
    parts: Parts | None = None
    """What shows of each picture, in a document that is made for a window."""
    _made: dict[object, Stream] = field(default_factory=dict)
    decoded: dict[tuple[object, int, SampleBox | None], NDArray[np.uint8]] = field(default_factory=dict)
    """Tints by image, shrinking and part; may be shared by the documents of one page."""

    def part_of(self, use: ImageUse, stream: int, rendering: Rendering) -> SampleBox | None:
        """What a stream has to paint of a picture; None for all of it."""
        # A stream that is placed on the page may be part of a soft mask too, which lies elsewhere.
        return None if self.parts is None or rendering.luminosity else self.parts.of(use, stream)

    def image(
        self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float], part: SampleBox | None = None
    ) -> Stream:
        """An image in its colour space, or a part of it, for one rendering."""
        key = ("image", use.key, rendering, part)
        if key not in self._made:
            assert use.space is not None
            if use.space.family == "Unknown" and JPEG_2000 in use.filters:
                raise CannotBeRendered(use.space.remark)
            if use.filters and use.filters[-1] in BILEVEL:
                made = self._bilevel(use, rendering, solids)
            else:
                made = self._in_channels(use, rendering, solids, part)
            self._made[key] = self._masked(made, use, rendering, solids, part)
        return self._made[key]

    def stencil(self, use: ImageUse) -> Stream:
        """A stencil in the simplest form: unpacked, or as its picture format has it."""
        key = ("stencil", use.key)
        if key not in self._made:
            decode = numbers(lookup(use.stream, "Decode"), 2) or [0.0, 1.0]
            if use.filters and use.filters[-1] == JPEG_2000:
                made = self._plain_stencil(use)
            elif use.filters and use.filters[-1] in BILEVEL:
                made = self._repacked(use)
            elif use.filters and use.filters[-1] in PICTURES:
                raise CannotBeRendered("an image mask in a JPEG, which has no samples of one bit")
            else:
                count = (use.facts.width_px + 7) // 8 * use.facts.height_px
                bare = b"\0" if decode[0] > decode[1] else b"\xff"  # bits that are missing paint nothing
                made = self.out.make_stream(plain_bytes(use, count).ljust(count, bare))
            made.Type, made.Subtype, made.ImageMask = Name.XObject, Name.Image, True
            if "/Width" not in made:
                made.Width, made.Height = use.facts.width_px, use.facts.height_px
            made.BitsPerComponent, made.Decode = 1, Array(decode)
            self._made[key] = made
        return self._made[key]

    def _plain_stencil(self, use: ImageUse) -> Stream:
        """The samples of a JPEG 2000 stencil, unpacked: PDFium ends with a fault over one of one bit."""
        light = jpeg_2000_mask(use) >= 128
        made = self.out.make_stream(np.packbits(light, axis=1).tobytes())
        made.Width, made.Height = light.shape[1], light.shape[0]
        return made

    def _in_channels(
        self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float], part: SampleBox | None
    ) -> Stream:
        assert use.space is not None
        names = use.space.plates
        if not rendering.luminosity and not rendering.light and not set(names) & {*rendering.plates, "All"}:
            return self._coloured(np.full((1, 1, 3), 0 if rendering.silhouette else 255, np.uint8))
        tints = self.tints_of(use, part)
        alone, matte = on_one_plate(rendering, names), lookup(lookup(use.stream, "SMask"), "Matte")
        if alone is None or matte is not None:  # a matte has as many components as the image
            return self._coloured(in_channels(rendering, use.space, tints, solids))
        made = self._of_samples(tints[..., alone])
        levels = np.repeat(np.arange(256, dtype=np.uint8)[:, None], len(names), axis=1)
        table = in_channels(rendering, use.space, levels, solids)
        made.ColorSpace = Array([Name.Indexed, Name.DeviceRGB, 255, pikepdf.String(table.tobytes())])
        return made

    def _coloured(self, rgb: NDArray[np.uint8]) -> Stream:
        made = self.out.make_stream(rgb.tobytes())
        made.Type, made.Subtype = Name.XObject, Name.Image
        made.Width, made.Height = rgb.shape[1], rgb.shape[0]
        made.BitsPerComponent, made.ColorSpace = 8, Name.DeviceRGB
        return made

    def tints_of(self, use: ImageUse, part: SampleBox | None = None) -> NDArray[np.uint8]:
        """Tints of an image, (rows, columns, plates of its space), at about the resolution needed; decoded once."""
        shrink = self.shrink_of(use)
        key = (use.key, shrink, part)
        if key not in self.decoded:
            if part is None:
                self.decoded[key] = image_tints(use, shrink)[1]
            else:
                tints = tints_of(use, self.files.part(use, part), shrink)
                self.decoded[key] = with_missing_rows(tints, -(-(part[3] - part[1]) // shrink))
        return self.decoded[key]

    def shrink_of(self, use: ImageUse) -> int:
        """How many samples of an image are averaged into one, each way."""
        if lookup(lookup(use.stream, "SMask"), "Matte") is not None:
            return 1  # a matte speaks of the mask's own samples
        return max(1, int(self.ppi.get(use.key, 0) * self.pixel_mm / 25.4 / _FINER + 0.1))

    def _bilevel(self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float]) -> Stream:
        """A fax or JBIG2 image, its bits left packed; the renderer unpacks it, its two colours are in channels."""
        assert use.space is not None
        if use.space.components != 1:
            raise CannotBeRendered(f"a one-bit picture in a colour space of {use.space.components} components")
        made = self._repacked(use)
        low, high = numbers(lookup(use.stream, "Decode"), 2) or use.space.default_decode(1)
        table = in_channels(rendering, use.space, as_bytes(use.space.tints(np.array([[low], [high]]))), solids)
        made.ColorSpace = Array([Name.Indexed, Name.DeviceRGB, 1, pikepdf.String(table.tobytes())])
        made.Type, made.Subtype = Name.XObject, Name.Image
        made.Width, made.Height, made.BitsPerComponent = use.facts.width_px, use.facts.height_px, 1
        return made

    def _repacked(self, use: ImageUse) -> Stream:
        """The samples of a picture format, as they are packed."""
        if use.facts.width_px * use.facts.height_px > MOST_SAMPLES_BYTES:
            raise TooBig(f"an image of {use.facts.width_px:,} x {use.facts.height_px:,} pixels")
        made = self.out.make_stream(behind_outer_filters(use))
        made.Filter = Name("/" + use.filters[-1])
        parameters = parameters_of(use)
        if parameters is not None:
            made.DecodeParms = self.copy(parameters)
        return made

    def _masked(
        self, made: Stream, use: ImageUse, rendering: Rendering, solids: Mapping[str, float], part: SampleBox | None
    ) -> Stream:
        soft, mask = lookup(use.stream, "SMask"), lookup(use.stream, "Mask")
        for stream in (soft, mask):
            width, height = whole(lookup(stream, "Width")) or 0, whole(lookup(stream, "Height")) or 0
            if width * height > MOST_SAMPLES_BYTES // 4:
                raise TooBig(f"a mask of {width:,} x {height:,} pixels")
        if isinstance(soft, Stream):
            matte = numbers(lookup(soft, "Matte"))
            if part is not None and self.parts is not None:
                made.SMask = self._part_of_mask(self.parts.masks[use.key], use, part)
            elif matte is not None:
                made.SMask = self._matted(soft, matte, use, rendering, solids)
            else:
                made.SMask = self._soft(soft)
        elif soft_mask_in_data(use):
            made.SMask = self._mask_in_data(use)
        elif isinstance(mask, Stream):
            of_pictures = set(bare_use(mask).filters) & {"DCTDecode", JPEG_2000}
            made.Mask = self.stencil(bare_use(mask)) if of_pictures else self.copy(mask)
        elif isinstance(mask, Array) and use.filters and use.filters[-1] in BILEVEL:
            self._hide_bits(made, use, numbers(mask, 2))
        elif isinstance(mask, Array):
            made.Mask = self._key_mask(use)
        return made

    def _hide_bits(self, made: Stream, use: ImageUse, limits: list[float] | None) -> None:
        """A colour-key mask on a fax or JBIG2 image: its own bits once more, as the stencil that hides them."""
        low, high = limits or (2.0, 2.0)
        hidden = [low <= bit <= high for bit in (0, 1)]
        if all(hidden):
            mask = self.out.make_stream(b"\x80")
            mask.Width = mask.Height = 1
        elif any(hidden):
            mask = self._repacked(use)
            mask.Width, mask.Height = use.facts.width_px, use.facts.height_px
            mask.Decode = Array([0, 1] if hidden[1] else [1, 0])
        else:
            return
        mask.Type, mask.Subtype, mask.ImageMask, mask.BitsPerComponent = Name.XObject, Name.Image, True, 1
        made.Mask = mask

    def _part_of_mask(self, mask: ImageUse, use: ImageUse, part: SampleBox) -> Stream:
        """What of a soft mask belongs to a part of its image, at 8 bits."""
        part = of_mask(part, use, mask)
        samples, bits, _ = self.files.part(mask, part)
        levels = np.rint(samples[:, :, 0] * (255 / (2**bits - 1))).astype(np.uint8)
        made = self._of_samples(np.pad(levels, ((0, part[3] - part[1] - len(levels)), (0, 0))))
        decode = numbers(lookup(mask.stream, "Decode"), 2)
        if decode is not None:
            made.Decode = Array(decode)
        return made

    def _soft(self, soft: Stream) -> Stream:
        use = bare_use(soft)
        if JPEG_2000 in use.filters:
            return self._plain_mask(soft)
        if use.filters and use.filters[-1] == "DCTDecode" and colours_of(behind_outer_filters(use)) not in (1, None):
            raise CannotBeRendered("a soft mask in a JPEG of several colours")
        if lookup(soft, "ColorSpace") in (Name.DeviceRGB, Name.DeviceCMYK):
            raise CannotBeRendered("a soft mask of several colours")
        return cast(Stream, self.copy(soft))

    def _mask_in_data(self, use: ImageUse) -> Stream:
        key = ("mask in data", use.key)
        if key not in self._made:
            self._made[key] = self._of_samples(opacity_in_data(use))
        return self._made[key]

    def _plain_mask(self, soft: Stream) -> Stream:
        """A soft mask in JPEG 2000, unpacked: PDFium leaves out one that it cannot decode, and darkens few bits."""
        made = self._of_samples(jpeg_2000_mask(bare_use(soft)))
        decode = numbers(lookup(soft, "Decode"), 2)
        if decode is not None:
            made.Decode = Array(decode)
        return made

    def _of_samples(self, samples: NDArray[np.uint8]) -> Stream:
        made = self.out.make_stream(samples.tobytes())
        made.Type, made.Subtype, made.ColorSpace = Name.XObject, Name.Image, Name.DeviceGray
        made.Width, made.Height, made.BitsPerComponent = samples.shape[1], samples.shape[0], 8
        return made

    def _matted(
        self, soft: Stream, matte: list[float], use: ImageUse, rendering: Rendering, solids: Mapping[str, float]
    ) -> Stream:
        """A soft mask whose matte colour is in channels, as its image is."""
        assert use.space is not None
        if JPEG_2000 in bare_use(soft).filters:
            made = self._plain_mask(soft)
        else:
            made = self.out.make_stream(bytes(soft.read_raw_bytes()))
            for key, value in present(soft):
                if key not in ("/Matte", "/Length"):
                    made[key] = self.copy(value)
        space = use.space
        if space.family == "Indexed" and space.base is not None and len(matte) == space.base.components:
            space = space.base  # an index mixed with another would mean nothing: it is the colours that were mixed
        if len(matte) == space.components:
            rgb = in_channels(rendering, space, as_bytes(space.tints(np.array([matte]))), solids)
            made.Matte = Array([float(v) for v in rgb[0] / 255])
        return made

    def _key_mask(self, use: ImageUse) -> Stream:
        key = ("key mask", use.key)
        if key not in self._made:
            hidden = colour_key_mask(use)
            made = self.out.make_stream(np.packbits(hidden, axis=1).tobytes())
            made.Type, made.Subtype, made.ImageMask = Name.XObject, Name.Image, True
            made.Width, made.Height, made.BitsPerComponent = hidden.shape[1], hidden.shape[0], 1
            self._made[key] = made
        return self._made[key]
