"""What a plate lost and what it gained, as a picture that is read in grey too.

Less ink than before is orange in stripes, more ink is dark blue with light dots, what stayed is light grey: three steps
of lightness, and two patterns.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.report.simulation import Rgb

Ink = NDArray[np.uint8]

LESS: Final[Rgb] = (206, 92, 20)
LESS_STRIPE: Final[Rgb] = (255, 214, 178)
MORE: Final[Rgb] = (16, 42, 110)
MORE_DOT: Final[Rgb] = (150, 172, 232)
STAYED: Final[Rgb] = (196, 196, 196)
"""Of full ink on both."""
FAINTEST: Final = 0.45
"""So strong is the least difference shown, of 1."""
FULL_AT: Final = 72
"""Levels of 255 from which on a difference is shown in full."""
STRENGTHS: Final = 6
GREYS: Final = 16
PITCH: Final = 9
"""Pixels from stripe to stripe and from dot to dot."""


def difference_picture(old: Ink, new: Ink, least: int, grown_px: int = 0, ground: Ink | None = None) -> Image.Image:
    """The difference of two plates, (height, width) 0 bare to 255 solid, as a picture with a palette.

    Args:
        old: the plate as it was.
        new: the plate as it is; of the same shape.
        least: levels by which pixels differ at least to be shown.
        grown_px: by how much what differs is widened, so that it is seen from afar.
        ground: what is shown in grey below it, 0 bare; what both plates have, where it is None.
    """
    less, more = (_grown(np.where(one > other, one - other, 0), grown_px) for one, other in ((old, new), (new, old)))
    gone = (less >= least) & (less >= more)
    come = (more >= least) & ~gone
    stayed = np.minimum(old, new) if ground is None else ground
    index = (stayed.astype(np.uint16) * (GREYS - 1) // 255).astype(np.uint8)
    rows, columns = np.ogrid[: old.shape[0], : old.shape[1]]
    striped = (rows + columns) % PITCH < PITCH // 3
    dotted = (rows % PITCH < 2) & ((columns + rows // PITCH * (PITCH // 2)) % PITCH < 2)
    for where, levels, pattern, first in ((gone, less, striped, GREYS), (come, more, dotted, GREYS + 2 * STRENGTHS)):
        strength = np.minimum(levels.astype(np.uint16) * (STRENGTHS - 1) // FULL_AT, STRENGTHS - 1)
        picked = first + strength + STRENGTHS * np.broadcast_to(pattern, old.shape)
        index = np.where(where, picked, index).astype(np.uint8)
    image = Image.fromarray(index)
    image.putpalette(_palette().tobytes())
    return image


def _palette() -> Ink:
    white = np.array([255.0, 255.0, 255.0])
    steps = np.linspace(0, 1, GREYS)[:, None]
    tables = [white + steps * (np.array(STAYED) - white)]
    strengths = np.linspace(FAINTEST, 1, STRENGTHS)[:, None]
    tables += [white + strengths * (np.array(colour) - white) for colour in (LESS, LESS_STRIPE, MORE, MORE_DOT)]
    return np.asarray(np.rint(np.concatenate(tables)), np.uint8)


def _grown(levels: Ink, by_px: int) -> Ink:
    """Each pixel as the greatest one round it."""
    for _ in range(by_px):
        padded = np.pad(levels, 1)
        tall = np.maximum(np.maximum(padded[:-2], padded[1:-1]), padded[2:])
        levels = np.maximum(np.maximum(tall[:, :-2], tall[:, 1:-1]), tall[:, 2:])
    return levels.astype(np.uint8)
