"""White ink that prints on colour and not under it: lettering in opaque white on a dark solid."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import shapely

from preflight.artwork.page.geometry import meeting
from preflight.artwork.page.objects import ObjectTable
from preflight.job import Job
from preflight.measures import needs, object_places

MEET_MM2: Final = 0.1
"""Smaller pieces of an ink over a white are traps."""
MOST_PAIRS: Final = 4000
"""Of an ink over a white that are looked at by their shapes; where there are more, the white is taken to lie below."""


def drawn_on_top(job: Job, white: Collection[str], inks: Collection[str]) -> bool:
    """Whether a white is drawn above all of some inks that it overlaps.

    Overprint lets both plates keep what is drawn; which of them is meant to be seen follows from what was drawn last.
    """
    objects = needs.objects(job)
    whites = _inked_rows(job, objects, white)
    above = _inked_rows(job, objects, inks)
    if job.page.opaque:
        above = above[objects.overprint[above]]  # what knocks the white out does not overlap it
    pairs = 0
    for row in whites.tolist():
        later = above[above >= row]
        later = later[meeting(objects.shown_mm[later], objects.shown_mm[row].astype(float))]
        pairs += len(later)
        if pairs > MOST_PAIRS or row in later:
            return False
        own = object_places.shape_of(objects, row) if len(later) else None
        if any(shapely.intersection(own, object_places.shape_of(objects, n)).area > MEET_MM2 for n in later.tolist()):
            return False
    return bool(len(whites))


def _inked_rows(job: Job, objects: ObjectTable, names: Collection[str]) -> object_places.Rows:
    """Objects inside the cut that put ink on one of these plates."""
    wanted = object_places.of_colours(
        objects, lambda family: family.names_any(names) & (family.varies | (family.most(names) > 0))
    )
    return object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)
