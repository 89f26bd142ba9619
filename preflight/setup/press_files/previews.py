"""Small pictures of the plates on the sheet as press files have them: from the operator side, from the gripper edge."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.quantities import INCH_MM
from preflight.setup.press_files.press_job import PREVIEW_DPI
from preflight.setup.press_sheet.coverage import coverage
from preflight.setup.press_sheet.plates_on_sheet import plates_on_sheet
from preflight.setup.press_sheet.press_sheet import PressSheet, Side

_PX_MM = INCH_MM / PREVIEW_DPI
_HAIR = 1e-6


def previews(sheet: PressSheet, side: Side) -> Mapping[str, NDArray[np.uint8]]:
    """By separation: (height, width) at 50.8 dpi, 0 bare to 255 solid; each pixel is the mean of what lies in it.

    Row 0 is at the gripper edge and column 0 at the operator side, and pixels begin there; the last row and column may
    reach over the sheet. The tool's own marks are in it; those of a sheet from outside are in its plates. The back is
    seen through the board, so that both sides of the sheet have the same places.
    """
    x0, y0, x1, y1 = _whole_pixels(sheet)
    plates = plates_on_sheet(sheet, PREVIEW_DPI, (x0, y0, x1, y1), side)
    drawn = dict(zip(plates.names, plates.ink, strict=True))
    for mark in sheet.marks if side == "front" else ():
        if mark.known != "stated":
            continue
        share = coverage(mark.shape, x0, y1, _PX_MM, plates.ink.shape[1:])
        for name, tint in mark.inks.items():
            before = drawn.get(name, np.zeros(share.shape, np.uint8))
            drawn[name] = np.minimum(np.rint(before + 255 * tint * share), 255).astype(np.uint8)
    return {name: _filed(ink, sheet) for name, ink in drawn.items()}


def solid(sheet: PressSheet) -> NDArray[np.uint8]:
    """The same of a plate that prints all over the sheet."""
    x0, y0, x1, y1 = _whole_pixels(sheet)
    size = round((y1 - y0) / _PX_MM), round((x1 - x0) / _PX_MM)
    share = coverage(shapely.box(0, 0, sheet.size.across_mm, sheet.size.along_mm), x0, y1, _PX_MM, size)
    return _filed(np.rint(255 * share).astype(np.uint8), sheet)


def _filed(ink: NDArray[np.uint8], sheet: PressSheet) -> NDArray[np.uint8]:
    """A picture whose row 0 is the tail and column 0 the left, as files count."""
    turned: NDArray[np.uint8] = ink[::-1, :: -1 if sheet.operator_side == "right" else 1]
    return turned


def _whole_pixels(sheet: PressSheet) -> Box:
    """The sheet with what its last pixels reach over it, away from the gripper edge and from the operator."""
    across, along = (
        max(1, math.ceil(length / _PX_MM - _HAIR)) * _PX_MM for length in (sheet.size.across_mm, sheet.size.along_mm)
    )
    if sheet.operator_side == "left":
        return 0.0, 0.0, across, along
    return sheet.size.across_mm - across, 0.0, sheet.size.across_mm, along
