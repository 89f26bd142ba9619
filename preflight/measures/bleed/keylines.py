"""Thin lines along the cut that knock the ground out under themselves: the ground goes on beyond them."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.measures.raster.profiles import Floats

Tints = NDArray[np.float32]

SOFT_MM: Final = 0.17
"""Pixels of a close look make a gap seem wider by so much."""
SEEN: Final = 5.0
"""Levels of 255 from which on something is a line, or is missing; 2 %."""


def looked_through(tints: Tints, offsets_mm: Floats, width_mm: float) -> Tints:
    """Tints along the normals (inks, stations, offsets) without lines in an ink that are no wider than this.

    A line is where an ink stands that does not stand on either side, and another one lacks that does.
    """
    width = int((width_mm + SOFT_MM) / (offsets_mm[1] - offsets_mm[0])) + 1
    gaps = np.maximum(_closed(tints, width), tints) - tints
    bars = np.where(gaps >= SEEN, 0, tints - np.minimum(255 - _closed(255 - tints, width), tints))
    line = (gaps.max(0) >= SEEN) & (bars.max(0) >= SEEN)
    return np.where(line, tints + gaps - bars, tints)


def _closed(tints: Tints, width: int) -> Tints:
    """Gaps up to so many offsets filled up to the lower of their rims; those at either end stay."""
    bare = np.zeros((*tints.shape[:2], width), np.float32)
    wide = _greatest(np.concatenate([bare, tints, bare], axis=2), width)
    return 255 - _greatest(255 - wide, width)[:, :, 1 : tints.shape[2] + 1]


def _greatest(values: Tints, width: int) -> Tints:
    """The greatest of each ``width`` neighbours along the offsets."""
    reached = 1
    while reached < width:
        step = min(reached, width - reached)
        values = np.maximum(values[:, :, :-step], values[:, :, step:])
        reached += step
    return values
