"""Short runs of the cut beside the root of a flap: the shoulders of a panel whose flap is narrower than it.

Artwork of the panel that ends at the fold of the flap ends at the shoulders too, and rightly: they are no edges of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from preflight.measures.raster.profiles import Floats

ON_FOLD_MM: Final = 0.3
"""How far a fold may lie beside the line of the cut that it carries on."""
ROOT_STEPS_MM: Final = (0.7, 2.0, 4.0)
"""Where past the end of the cut the fold is looked for."""
CORNER_MM: Final = 0.3
"""Cut edges whose ends are nearer than this meet there."""
NEAR_CORNER_MM: Final = 2.5


class ShortRun(Protocol):
    """A run of a cut edge at which inks end."""

    @property
    def line(self) -> shapely.LineString:
        """The whole edge, mm."""

    @property
    def points(self) -> Floats:
        """Places (n, 2) of the run."""

    @property
    def reach_mm(self) -> float:
        """How far past the cut the inks end."""

    @property
    def separations(self) -> tuple[str, ...]:
        """The inks that end."""


def is_shoulder(line: shapely.LineString, folds: BaseGeometry, longest_mm: float) -> bool:
    """Whether a cut edge is no longer than this and a fold carries it on at one of its ends."""
    if folds.is_empty or line.length > longest_mm:
        return False
    ends = np.asarray(line.coords)[[0, -1], :2]
    along = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
    for end, way in ((ends[0], -along), (ends[1], along)):
        steps = shapely.points([end + step * way for step in ROOT_STEPS_MM])
        if (shapely.distance(steps, folds) <= ON_FOLD_MM).all():
            return True
    return False


def ends_beside(run: ShortRun, others: Sequence[ShortRun], same_mm: float) -> bool:
    """Whether one of the inks of a run ends as near to the cut along an edge that meets the run's at a corner."""
    corners = shapely.points(np.asarray(run.line.coords)[[0, -1], :2])
    for other in others:
        if other.line is run.line or other.reach_mm > run.reach_mm + same_mm:
            continue
        if not set(other.separations).intersection(run.separations):
            continue
        ends = shapely.MultiPoint(np.asarray(other.line.coords)[[0, -1], :2])
        met = corners[shapely.distance(corners, ends) <= CORNER_MM]
        if (shapely.distance(met, shapely.MultiPoint(other.points)) <= NEAR_CORNER_MM).any():
            return True
    return False
