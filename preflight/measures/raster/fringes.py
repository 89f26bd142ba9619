"""Ink that only reaches over the cut: a fringe under 0.1 mm wide along it, which does not count as printed."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.plates import Plates
from preflight.measures.distance_to_lines import Floats, Pieces
from preflight.measures.raster import masks

FRINGE_MM: Final = 0.1
FULLER: Final = 0.02
"""A pixel holds ink from farther in where it is fuller than a fringe makes it by this share of the ink beside it."""
FULLER_CLOSELY: Final = 0.25
"""The same in a close look, whose pixels may be drawn with sharp edges: 0.01 mm."""
BESIDE_PX: Final = 3


def well_within(plates: Plates, shape: BaseGeometry) -> masks.Mask:
    """Pixels that no fringe reaches. Polygons are drawn a pixel or so too large; what is nearer is for ``deeper``."""
    return plates.mask_of(shapely.buffer(_near(shape, plates), -FRINGE_MM - 3 * plates.mm_per_px))


def deeper(
    mask: masks.Mask,
    tints: NDArray[np.uint8],
    plates: Plates,
    shape: BaseGeometry,
    sure: masks.Mask,
    fuller: float = FULLER,
) -> masks.Mask:
    """The pixels of a mask that hold more than what ink outside the cut puts there by a fringe.

    Args:
        mask: pixels inside the cut.
        tints: of one separation, outside the cut too.
        plates: tell where the pixels stand.
        shape: inside of the cut, in mm.
        sure: pixels that no fringe reaches, see ``well_within``; the others are looked at one by one.
        fuller: see ``FULLER``.
    """
    found: masks.Mask = mask & sure
    row, column = np.nonzero(mask & ~found)
    if len(row):
        xy = plates.middles(row, column)
        most = _most_beside(tints, row, column)
        found[row, column] = tints[row, column] > most * (_outside_share(xy, shape, plates.mm_per_px) + fuller)
    return found


def _near(shape: BaseGeometry, plates: Plates) -> BaseGeometry:
    """The part of a shape that is on plates, and somewhat more."""
    x0, y0, x1, y1 = plates.box_mm
    about = shapely.box(x0 - 2, y0 - 2, x1 + 2, y1 + 2)
    return shape if about.covers(shapely.box(*shape.bounds)) else shapely.intersection(shape, about)


def _most_beside(tints: NDArray[np.uint8], row: NDArray[np.intp], column: NDArray[np.intp]) -> NDArray[np.uint8]:
    """The greatest tint within a few pixels of some."""
    padded = np.pad(tints, BESIDE_PX)
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * BESIDE_PX + 1,) * 2)
    most: NDArray[np.uint8] = windows[row, column].max((1, 2))
    return most


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


def without_fringe(ink: masks.Mask, tints: NDArray[np.uint8], plates: Plates, shape: BaseGeometry) -> masks.Mask:
    """A close look's ink inside the cut, without what belongs to nothing that reaches farther in than a fringe."""
    inner = deeper(ink, tints, plates, shape, well_within(plates, shape), FULLER_CLOSELY)
    if inner.all() or not inner.any():
        return inner
    return masks.put_on(inner, FRINGE_MM / plates.mm_per_px + 1.5) & ink
