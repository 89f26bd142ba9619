"""The most ink that an output profile ever asks for: what separations made with it stay under."""

from __future__ import annotations

import io
import math
from functools import lru_cache
from typing import Final

import numpy as np

STEPS: Final = 25
"""Grid over L*, a*, b*; the heaviest build lies among the darkest colours, which all grids hold."""
NO_LIMIT: Final = 399.0


@lru_cache(maxsize=4)
def profile_limit_percent(profile: bytes) -> float | None:
    """Greatest total of the four inks that a CMYK printer profile makes of any colour, in whole %; None if it has none.

    Perceptual and relative colorimetric intents over a grid of Lab colours. A profile that is no CMYK printer's, is
    damaged, or goes up to four solids says nothing.
    """
    from PIL import Image, ImageCms  # takes long to import, and few files need it

    try:
        target = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if target.profile.xcolor_space.strip() != "CMYK" or target.profile.device_class.strip() != "prtr":
            return None
        lab = ImageCms.createProfile("LAB")
        levels = np.linspace(0, 255, STEPS).astype(np.uint8)
        grid = np.stack(np.meshgrid(levels, levels, levels, indexing="ij"), axis=-1)
        colours = Image.frombytes("LAB", (STEPS**3, 1), grid.tobytes())
        most = 0.0
        for intent in (ImageCms.Intent.PERCEPTUAL, ImageCms.Intent.RELATIVE_COLORIMETRIC):
            transform = ImageCms.buildTransform(lab, target, "LAB", "CMYK", renderingIntent=intent)
            inks = np.asarray(ImageCms.applyTransform(colours, transform)).reshape(-1, 4)
            most = max(most, float(inks.sum(axis=1, dtype=np.int32).max()) / 2.55)
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        return None
    limit = float(math.ceil(most))
    return limit if 0 < limit < NO_LIMIT else None
