"""Samples of JPEG and JPEG 2000 pictures, as a PDF reads them."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFile
from PIL.JpegImagePlugin import JpegImageFile

from preflight.artwork.pdf.images.image_dictionaries import (
    BILEVEL,
    JPEG_2000,
    MOST_SAMPLES_BYTES,
    PREBLENDED,
    ImageUse,
    behind_outer_filters,
    parameters_of,
    soft_mask_in_data,
)
from preflight.artwork.pdf.images.jpeg_header import marked
from preflight.artwork.pdf.structure.values import lookup, whole
from preflight.errors import CannotBeRendered, Jpeg2000Fault, NotDrawn, TooBig

if TYPE_CHECKING:
    from preflight.artwork.pdf.images.jpeg_2000 import Decoded, Jpeg2000

Image.MAX_IMAGE_PIXELS = None  # bounded by our own limits, which are said in the report
ImageFile.LOAD_TRUNCATED_IMAGES = True  # a JPEG cut short still prints on press what is there


class Samples(NamedTuple):
    """Samples as a filter hands them to Decode."""

    samples: NDArray[Any]
    """(rows, columns, components)."""
    bits: int
    turned: bool = False
    """Each is the greatest sample less what the file says: so Pillow hands out every CMYK JPEG."""


def decoded_samples(use: ImageUse, last: str, shrink: int) -> Samples:
    """Samples of a picture format; of a JPEG at about 1/``shrink`` of its size."""
    if last in BILEVEL:  # the renderer unpacks these
        raise CannotBeRendered(f"a picture that cannot be decoded ({last})")
    if last == JPEG_2000:
        return _jpeg_2000(use)
    picture, turned = decoded_jpeg(use, shrink)
    samples = np.asarray(picture)
    samples = samples[:, :, None] if samples.ndim == 2 else samples
    return Samples(samples, 8, turned)


def decoded_jpeg(use: ImageUse, shrink: int) -> tuple[Image.Image, bool]:
    """A JPEG, decoded at about 1/``shrink`` of its size, and whether its samples are ``turned``.

    Raises:
        NotDrawn: over a bound, not decodable, or of other components than its colour space.
    """
    assert use.space is not None
    told = whole(lookup(parameters_of(use), "ColorTransform"))
    try:
        picture = JpegImageFile(io.BytesIO(marked(behind_outer_filters(use), told)))
        if shrink >= 2:
            picture.draft(None, (max(1, picture.width // shrink), max(1, picture.height // shrink)))
        own, count = len(picture.getbands()), use.space.components
        if picture.width * picture.height * own > MOST_SAMPLES_BYTES:
            raise TooBig(f"an image of {picture.width:,} x {picture.height:,} pixels")
        picture.load()
        if own != count:  # what readers make of it is noise, and of each reader another
            from preflight.artwork.pdf.images.jpeg_2000 import counted  # few files need it

            raise CannotBeRendered(f"a JPEG of {counted(own)} in a colour space of {count}")
    except NotDrawn:
        raise
    except Exception as fault:
        raise CannotBeRendered("a picture that cannot be decoded (DCTDecode)") from fault
    return picture, picture.mode == "CMYK"


def jpeg_size(use: ImageUse) -> tuple[int, int] | None:
    """Width and height that a JPEG itself says; None where it cannot be read."""
    try:
        with JpegImageFile(io.BytesIO(behind_outer_filters(use))) as picture:
            return picture.size
    except Exception:  # whatever a damaged file brings about: it is said where the picture is decoded
        return None


def _jpeg_2000(use: ImageUse) -> Samples:
    found = decoded_jpeg_2000(use)
    colours, alpha = found.colours, found.opacity
    if alpha is None or soft_mask_in_data(use) != PREBLENDED:
        return Samples(colours, found.bits)
    # What is mixed with nothing at all is the colour times its opacity.
    whole = np.maximum(alpha, 1)[:, :, None].astype(np.float32)
    mixed = np.minimum(np.rint(colours * (255 / whole)), 2**found.bits - 1).astype(colours.dtype)
    return Samples(mixed, found.bits)


def decoded_jpeg_2000(use: ImageUse) -> Decoded:
    """A JPEG 2000 picture for the colour space that it is used with.

    Raises:
        NotDrawn: over a bound, or in no form that can be decoded.
    """
    from preflight.artwork.pdf.images.jpeg_2000 import decoded  # few files need it

    assert use.space is not None
    indexed, opacity = use.space.family == "Indexed", bool(soft_mask_in_data(use))
    try:
        return decoded(_opened(use), use.space.components, indexed=indexed, opacity=opacity)
    except Jpeg2000Fault as fault:
        raise CannotBeRendered(str(fault)) from fault


def _opened(use: ImageUse) -> Jpeg2000:
    from preflight.artwork.pdf.images.jpeg_2000 import read_jpeg_2000  # few files need it

    picture = read_jpeg_2000(behind_outer_filters(use))
    if picture.width * picture.height * len(picture.depths) > MOST_SAMPLES_BYTES:
        raise TooBig(f"an image of {picture.width:,} x {picture.height:,} pixels")
    return picture


def jpeg_2000_mask(use: ImageUse) -> NDArray[np.uint8]:
    """Samples of a JPEG 2000 picture that stands as a mask or stencil, (rows, columns), before Decode, 0 to 255.

    Raises:
        NotDrawn: over a bound, or in no form that can be decoded.
    """
    from preflight.artwork.pdf.images.jpeg_2000 import mask_of  # few files need it

    try:
        return mask_of(_opened(use))
    except Jpeg2000Fault as fault:
        raise CannotBeRendered(str(fault)) from fault


def opacity_in_data(use: ImageUse) -> NDArray[np.uint8]:
    """Opacity that a JPEG 2000 picture carries, (rows, columns), 255 opaque.

    Raises:
        NotDrawn: over a bound, or in no form that can be decoded.
    """
    alpha = decoded_jpeg_2000(use).opacity
    assert alpha is not None
    return alpha
