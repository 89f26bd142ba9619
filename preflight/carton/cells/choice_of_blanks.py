"""What one round of choosing blanks comes to: groups of cells, or what has to change before the next round."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.lines.drawn_lines import Bools

SMALLEST_BLANK_MM2: Final = 200.0
FARTHEST_PARALLEL_MM: Final = 12.0
NEAREST_PARALLEL_MM: Final = 1.5
"""A second outline nearer than this is the same die drawn again somewhere else."""


@dataclass(frozen=True)
class Choice:
    """Groups that are blanks, or what has to be changed in the net before they can be chosen."""

    groups: tuple[int, ...] = ()
    drop: Bools | None = None
    """Cut segments that are a second outline; the cells have to be built again without them."""
    fold: Bools | None = None
    """Cut segments to be taken for folds, since nothing in the drawing folds."""
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()
    """Why folds had to be told from cuts by where they lie; the outer edge may still be sure."""


def merged(one: Choice, other: Choice) -> Choice:
    """What an earlier round found, added to a later one."""
    return replace(
        other,
        notes=one.notes + other.notes,
        assumed=one.assumed + other.assumed,
        alike=one.alike + other.alike,
    )


def parallel_offset_mm(inner: Polygon, outer: Polygon) -> float | None:
    """How far one outline runs inside another, where it keeps that distance for most of its length; else None."""
    steps = np.linspace(0, 1, 200, endpoint=False)
    far = shapely.distance(outer.exterior, shapely.line_interpolate_point(inner.exterior, steps, normalized=True))
    middle = float(np.median(far))
    steady = float(np.mean(np.abs(far - middle) < 0.5))
    return middle if steady >= 0.6 and NEAREST_PARALLEL_MM <= middle <= FARTHEST_PARALLEL_MM else None


def bounds_agree(shape: Polygon, trim: Box) -> bool:
    """The shape is as large as the trim box and lies where it does."""
    return bool(np.abs(np.array(shape.bounds) - np.array(trim)).max() < 0.5)
