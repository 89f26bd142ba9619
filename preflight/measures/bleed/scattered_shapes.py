"""Shapes strewn over an artwork: one of their sides lies along the cut by chance, as others do inside the carton."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.measures.raster.profiles import Floats, Stations

AROUND_MM: Final = 25.0
"""So far to either side of a place, and inward from it, other shapes are looked for."""
STEP_MM: Final = 0.75
ENOUGH: Final = 3
"""Shapes that make an artwork one of strewn shapes."""
ALIKE: Final = 0.5
"""Shapes are alike if they are this share of an end's length, or larger."""

OFFSETS: Final[Floats] = np.arange(-AROUND_MM, -STEP_MM + 1e-9, STEP_MM)


def around(at: Stations, part: tuple[int, int]) -> Stations:
    """Stations on a straight line through the middle of a part of the cut."""
    middle = (part[0] + part[1]) // 2
    outward = at.outward[middle]
    along = np.arange(-AROUND_MM, AROUND_MM + 1e-9, STEP_MM)
    xy = at.xy[middle] + along[:, None] * np.array([-outward[1], outward[0]])
    return Stations(xy, np.repeat(outward[None], len(along), axis=0), STEP_MM)


def stand_around(tints: NDArray[np.float32], length_mm: float, largest_mm: float) -> bool:
    """Whether several shapes of the ink, or holes in it, as large as an end is long, stand inside the carton near it.

    Args:
        tints: of the ink, (stations, offsets), at ``around`` and ``OFFSETS``.
        length_mm: of the end.
        largest_mm: what is larger is no shape of this kind.
    """
    inked = tints >= max(1.0, float(tints.max())) / 2
    few = inked if 2 * inked.sum() <= inked.size else ~inked
    labels = _labels(few)
    sizes = [
        max(np.ptp(cell) + 1 for cell in np.nonzero(labels == label)) * STEP_MM
        for label in np.unique(labels[labels > 0])
    ]
    return bool(sum(ALIKE * length_mm <= size <= largest_mm for size in sizes) >= ENOUGH)


def _labels(mask: NDArray[np.bool_]) -> NDArray[np.int_]:
    """A number for each shape of a mask; cells that touch along a side are one."""
    labels = np.where(mask, np.arange(1, mask.size + 1).reshape(mask.shape), 0)
    before = np.zeros_like(labels)
    while (labels != before).any():
        before, wide = labels, labels.copy()
        wide[1:] = np.maximum(wide[1:], labels[:-1])
        wide[:-1] = np.maximum(wide[:-1], labels[1:])
        wide[:, 1:] = np.maximum(wide[:, 1:], labels[:, :-1])
        wide[:, :-1] = np.maximum(wide[:, :-1], labels[:, 1:])
        labels = np.where(mask, wide, 0)
    return labels
