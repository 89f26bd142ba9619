"""Renderings made finer than they are asked for, and brought down to what was asked: true tints, or no rims."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

SHARP_FINER: Final = 4
"""So many times finer is a sharp look: what is thinner than two of its pixels is a rim and no ink."""


def downsampled(channels: NDArray[np.uint8], finer: int, *, sharp: bool) -> NDArray[np.uint8]:
    """The mean of each square of ``finer`` pixels; sharp: without lines and gaps of a single pixel before that.

    The renderer has clips and pictures with smooth edges even where it is told not to, so that what is painted over
    in the same clip shows a quarter through in the pixels of the edge. No straight edge goes through all four pixels
    of a square of two, so an opening and a closing with that square take such rims away, and nothing that is wider.
    """
    if finer == 1:
        return channels
    if sharp:
        channels = _without_lines(channels)
    height, width = channels.shape[0] // finer, channels.shape[1] // finer
    # Rows first: along them arrays are read in one go, and whole numbers add up exactly.
    bands = np.add.reduce(channels.reshape(height, finer, -1), axis=1, dtype=np.uint16)
    bands = bands.reshape(height, width, finer, 3)
    total = bands[:, :, 0].copy()
    for shift in range(1, finer):
        total += bands[:, :, shift]
    down: NDArray[np.uint8] = np.rint(total.astype(np.float32) / finer**2).astype(np.uint8)
    return down


def _without_lines(channels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Opening and then closing with a square of two pixels; at the border of the array nothing is taken off."""
    least = _over_squares(np.minimum, channels, 0)
    opened = _over_squares(np.maximum, least, 1)
    most = _over_squares(np.maximum, opened, 0)
    return _over_squares(np.minimum, most, 1)


def _over_squares(of: np.ufunc, channels: NDArray[np.uint8], back: int) -> NDArray[np.uint8]:
    """The least or greatest value of each square that begins at a pixel or, ``back``, that ends there."""
    found = channels.copy()
    whole, first, second = slice(None), slice(None, -1), slice(1, None)
    own, other = (second, first) if back else (first, second)
    of(channels[own], channels[other], out=found[own])
    rows = found.copy()
    of(rows[whole, own], rows[whole, other], out=found[whole, own])
    return found
