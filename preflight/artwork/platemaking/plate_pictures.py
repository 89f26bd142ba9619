"""Images and stencils of a page as the derived PDF has them: plates in red, green and blue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.painted.images import (
    BILEVEL,
    MOST_SAMPLES_BYTES,
    PICTURES,
    ImageUse,
    TooBig,
    behind_outer_filters,
    colour_key_mask,
    image_tints,
    plain_bytes,
)  # fmt: skip
from preflight.artwork.platemaking.passes import Rendering
from preflight.artwork.platemaking.tint_functions import as_bytes, in_channels
from preflight.artwork.structure.values import lookup, numbers, present, whole

_FINER = 1.5
"""An image keeps at least this many samples a pixel, each way."""


@dataclass
class PlatePictures:
    """Makes the pictures of one derived document, and keeps them.

    Raises:
        TooBig: by ``image`` and ``stencil``, for what is over a bound or cannot be decoded.
    """

    out: pikepdf.Pdf
    copy: Callable[[Any], Any]
    """Brings an object of the file into the derived document."""
    ppi: Mapping[object, float]
    """The coarsest placing of each image, by its key."""
    pixel_mm: float
    _made: dict[object, Stream] = field(default_factory=dict)
    decoded: dict[tuple[object, int], NDArray[np.uint8]] = field(default_factory=dict)
    """Tints by image and shrinking; may be shared by the documents of one page."""

    def image(self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float]) -> Stream:
        """An image in its colour space, for one rendering."""
        key = ("image", use.key, rendering)
        if key not in self._made:
            if use.filters and use.filters[-1] in BILEVEL:
                made = self._bilevel(use, rendering, solids)
            else:
                made = self._in_channels(use, rendering, solids)
            self._made[key] = self._masked(made, use, rendering, solids)
        return self._made[key]

    def stencil(self, use: ImageUse) -> Stream:
        """A stencil in the simplest form: unpacked, or as its picture format has it."""
        key = ("stencil", use.key)
        if key not in self._made:
            decode = numbers(lookup(use.stream, "Decode"), 2) or [0.0, 1.0]
            if use.filters and use.filters[-1] in PICTURES:
                made = self._repacked(use)
            else:
                count = (use.facts.width_px + 7) // 8 * use.facts.height_px
                bare = b"\0" if decode[0] > decode[1] else b"\xff"  # bits that are missing paint nothing
                made = self.out.make_stream(plain_bytes(use, count).ljust(count, bare))
            made.Type, made.Subtype, made.ImageMask = Name.XObject, Name.Image, True
            made.Width, made.Height, made.BitsPerComponent = use.facts.width_px, use.facts.height_px, 1
            made.Decode = Array(decode)
            self._made[key] = made
        return self._made[key]

    def _in_channels(self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float]) -> Stream:
        assert use.space is not None
        names = use.space.plates
        if not rendering.luminosity and not rendering.light and not set(names) & {*rendering.plates, "All"}:
            rgb = np.full((1, 1, 3), 255, np.uint8)
        else:
            rgb = in_channels(rendering, use.space, self.tints_of(use), solids)
        made = self.out.make_stream(rgb.tobytes())
        made.Type, made.Subtype = Name.XObject, Name.Image
        made.Width, made.Height = rgb.shape[1], rgb.shape[0]
        made.BitsPerComponent, made.ColorSpace = 8, Name.DeviceRGB
        return made

    def tints_of(self, use: ImageUse) -> NDArray[np.uint8]:
        """Tints of an image, (rows, columns, plates of its space), at about the resolution needed; decoded once."""
        shrink = max(1, int(self.ppi.get(use.key, 0) * self.pixel_mm / 25.4 / _FINER + 0.1))
        if lookup(lookup(use.stream, "SMask"), "Matte") is not None:
            shrink = 1  # a matte speaks of the mask's own samples
        key = (use.key, shrink)
        if key not in self.decoded:
            self.decoded[key] = image_tints(use, shrink)[1]
        return self.decoded[key]

    def _bilevel(self, use: ImageUse, rendering: Rendering, solids: Mapping[str, float]) -> Stream:
        """A fax or JBIG2 image, its bits left packed; the renderer unpacks it, its two colours are in channels."""
        assert use.space is not None
        if use.space.components != 1:
            raise TooBig(f"a two-level picture in a colour space of {use.space.components} components")
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
        parameters = lookup(use.stream, "DecodeParms")
        if isinstance(parameters, Array):
            parameters = parameters[-1] if len(parameters) == len(use.filters) else None
        if isinstance(parameters, Dictionary):
            made.DecodeParms = self.copy(parameters)
        return made

    def _masked(self, made: Stream, use: ImageUse, rendering: Rendering, solids: Mapping[str, float]) -> Stream:
        soft, mask = lookup(use.stream, "SMask"), lookup(use.stream, "Mask")
        for stream in (soft, mask):
            width, height = whole(lookup(stream, "Width")) or 0, whole(lookup(stream, "Height")) or 0
            if width * height > MOST_SAMPLES_BYTES // 4:
                raise TooBig(f"a mask of {width:,} x {height:,} pixels")
        if isinstance(soft, Stream):
            matte = numbers(lookup(soft, "Matte"))
            made.SMask = self.copy(soft) if matte is None else self._matted(soft, matte, use, rendering, solids)
        elif isinstance(mask, Stream):
            made.Mask = self.copy(mask)
        elif isinstance(mask, Array):
            made.Mask = self._key_mask(use)
        return made

    def _matted(
        self, soft: Stream, matte: list[float], use: ImageUse, rendering: Rendering, solids: Mapping[str, float]
    ) -> Stream:
        """A soft mask whose matte colour is in channels, as its image is."""
        assert use.space is not None
        made = self.out.make_stream(bytes(soft.read_raw_bytes()))
        for key, value in present(soft):
            if key not in ("/Matte", "/Length"):
                made[key] = self.copy(value)
        if len(matte) == use.space.components:
            rgb = in_channels(rendering, use.space, as_bytes(use.space.tints(np.array([matte]))), solids)
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
