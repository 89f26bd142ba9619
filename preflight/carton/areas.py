"""Free and special areas: those stated go to the blank that they lie on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import shapely
from shapely import Polygon

from preflight.carton.blank import Area

LEAST_OVERLAP_MM2: Final = 1.0


def share_out(areas: Sequence[Area], outlines: Sequence[Polygon]) -> tuple[list[list[Area]], list[Area]]:
    """Areas for each outline, cut to it, and those that lie on none.

    An area belongs to the one blank that most of it lies on; the gutter and the next blank are no business of it.
    """
    shared: list[list[Area]] = [[] for _ in outlines]
    loose: list[Area] = []
    for area in areas:
        parts = [shapely.intersection(area.shape, outline) for outline in outlines]
        best = max(range(len(parts)), key=lambda n: float(parts[n].area), default=-1)
        if best < 0 or parts[best].area < LEAST_OVERLAP_MM2:
            loose.append(area)
            continue
        for part in shapely.get_parts(parts[best]):
            if isinstance(part, Polygon) and part.area >= LEAST_OVERLAP_MM2:
                shared[best].append(replace(area, shape=part))
    return shared, loose
