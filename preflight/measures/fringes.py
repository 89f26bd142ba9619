"""Ink that only reaches over the cut: a fringe under 0.1 mm wide along it, which does not count as printed."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.plates import Plates
from preflight.measures import masks
from preflight.measures.nearness import Floats, Pieces

FRINGE_MM: Final = 0.1
SLACK: Final = 5.0
"""Levels of 255 by which a pixel may be fuller than a fringe makes it; 2 %."""


def past_fringe(
    tints: NDArray[np.uint8], plates: Plates, near_cut: masks.Mask, shape: BaseGeometry, strongest: float
) -> NDArray[np.uint8]:
    """Tints without the pixels that ink outside the cut fills so far if it reaches inside by no more than a fringe.

    Args:
        tints: of one separation, as large as ``plates``; nothing outside the cut.
        plates: tell where the pixels stand.
        near_cut: pixels that the cut may run through.
        shape: inside of the cut, in mm.
        strongest: the greatest tint of the separation, 0..1.
    """
    row, column = np.nonzero(near_cut & (tints > 0))
    if not len(row):
        return tints
    mm, (x0, _, _, y1) = plates.mm_per_px, plates.box_mm
    xy = np.column_stack([x0 + (column + 0.5) * mm, y1 - (row + 0.5) * mm])
    explained = 255 * strongest * _outside_share(xy, shape, mm) + SLACK
    kept = tints.copy()
    kept[row, column] = np.where(tints[row, column] > explained, tints[row, column], 0)
    return kept


def _outside_share(xy: Floats, shape: BaseGeometry, mm: float) -> Floats:
    """The share, 0..1, of pixels of a size about places (k, 2) that is outside a shape or on a fringe within it.

    The nearest edge is taken for straight: the square's corners lie along its normal as the sum of two even spreads.
    """
    cut = Pieces.of([shapely.boundary(shape)])
    _, nearest = cut.tree.query_nearest(shapely.points(xy), all_matches=False)
    start, step = cut.xy[nearest, :2], cut.xy[nearest, 2:] - cut.xy[nearest, :2]
    along = ((xy - start) * step).sum(1) / np.maximum((step**2).sum(1), 1e-12)
    inward = xy - start - step * np.clip(along, 0, 1)[:, None]
    distance = np.hypot(*inward.T)
    shapely.prepare(shape)
    depth = np.where(shapely.contains_xy(shape, xy), distance, -distance) - FRINGE_MM
    normal = np.abs(inward) / np.maximum(distance, 1e-9)[:, None]
    wide, narrow = np.sort(np.where(distance[:, None] > 1e-9, normal, [1.0, 0.0]), axis=1).T[::-1] * mm
    return 1 - _of_two_spreads(depth, wide, np.maximum(narrow, 1e-6 * mm))


def _of_two_spreads(at: Floats, wide: Floats, narrow: Floats) -> Floats:
    """The share of the sum of two even spreads about 0, of these widths, that lies below a value."""

    def ramp(far: Floats) -> Floats:
        return np.maximum(far, 0.0) ** 2 / 2

    a, b = wide / 2, narrow / 2
    share: Floats = (ramp(at + a + b) - ramp(at + a - b) - ramp(at - a + b) + ramp(at - a - b)) / (wide * narrow)
    return np.clip(share, 0.0, 1.0)


def without_fringe(ink: masks.Mask, plates: Plates, shape: BaseGeometry) -> masks.Mask:
    """A close look's ink inside the cut, without what belongs to nothing that reaches farther in than a fringe."""
    mm, (x0, y0, x1, y1) = plates.mm_per_px, plates.box_mm
    about = shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    # A pixel is inked that ink reaches into, so its middle lies by up to half a pixel beyond the end of the ink.
    deep = shapely.buffer(shapely.intersection(shape, about), -FRINGE_MM - mm / 2)
    if shapely.covers(deep, shapely.box(*plates.box_mm)):
        return ink
    shapely.prepare(deep)
    row, column = np.nonzero(ink)
    inner = np.zeros_like(ink)
    inner[row, column] = shapely.contains_xy(deep, x0 + (column + 0.5) * mm, y1 - (row + 0.5) * mm)
    if not inner.any():
        return inner
    return masks.put_on(inner, FRINGE_MM / mm + 1.5) & ink
