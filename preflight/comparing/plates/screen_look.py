"""What inks look like on a screen, roughly: for remarks on looks, and never for what is the same on the plates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

SCREEN: Final = {"Cyan": (0, 174, 239), "Magenta": (236, 0, 140), "Yellow": (255, 242, 0), "Black": (35, 31, 32)}
"""Solid process inks, about; red, green and blue, 0 to 255."""
SAME_LOOK: Final = 48
"""Levels in red, green or blue within which two colours look the same, by so rough a model."""


def mixed(names: Sequence[str], tints: NDArray[np.float64]) -> NDArray[np.float64]:
    """Red, green and blue (n, 3), 0 to 255, of process tints (n, plates), 0 to 1: each ink takes part of the light."""
    light = np.full((len(tints), 3), 255.0)
    for name, tint in zip(names, tints.T, strict=True):
        light *= 1 - tint[:, None] * (1 - np.array(SCREEN[name]) / 255)
    return light


def look_alike(one: Sequence[float], other: Sequence[float]) -> bool:
    """Whether two colours of the screen are near each other."""
    return max(abs(a - b) for a, b in zip(one, other, strict=True)) <= SAME_LOOK
