"""Colours that are no plates, brought to the process plates the naive way, so that something can be counted.

Nobody prints these figures: whoever uses such a colour is told that somebody has to convert it first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

ColourRows = NDArray[np.float64]
"""One colour a row."""


def rgb_to_cmyk(rgb: ColourRows) -> ColourRows:
    """(k, 3) 0..1 to (k, 4): ISO 32000-2, 10.4.2.4, with black generation K = min(C, M, Y) and the same taken off."""
    cmy = 1 - np.clip(rgb, 0, 1)
    black = cmy.min(axis=1, keepdims=True)
    return np.hstack([cmy - black, black])


def lab_to_rgb(lab: ColourRows) -> ColourRows:
    """(k, 3) L* a* b* to sRGB 0..1; the space's own white becomes the white of sRGB.

    Formulas of ISO 32000-2, 8.6.5.4 (Lab to XYZ) and IEC 61966-2-1 (XYZ to sRGB).
    """
    middle = (lab[:, 0] + 16) / 116
    stages = np.column_stack([middle + lab[:, 1] / 500, middle, middle - lab[:, 2] / 200])
    relative = np.where(stages >= 6 / 29, stages**3, 108 / 841 * (stages - 4 / 29))
    xyz = relative * np.array([0.9505, 1.0, 1.089])
    linear = xyz @ np.array([[3.2406, -0.9689, 0.0557], [-1.5372, 1.8758, -0.2040], [-0.4986, 0.0415, 1.0570]])
    linear = np.clip(linear, 0, 1)
    curved = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.asarray(np.clip(curved, 0, 1))
