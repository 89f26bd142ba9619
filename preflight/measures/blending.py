"""Transparency that is blended in a space of its own: on the way there and back the plates change."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.separations import PROCESS
from preflight.findings import Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.registry import measure

IN_WORDS: Final = {
    "DeviceRGB": "RGB",
    "CalRGB": "calibrated RGB",
    "ICCBased-3": "ICC-based RGB",
    "DeviceGray": "grey",
    "CalGray": "calibrated grey",
    "ICCBased-1": "ICC-based grey",
    "ICCBased-4": "ICC-based CMYK",
}
LEAVES_ALONE: Final = "nothing on the page is transparent, and most RIPs then leave its colours alone"


@measure("process-ink-blended-elsewhere", unit="objects", rests_on=["objects"], facts=("space", "where"))
def process_ink_blended_elsewhere(job: Job, *, spaces: tuple[str, ...]) -> list[Reading]:
    """Objects inside the cut whose process inks are converted because their group blends in one of these spaces.

    Spots keep out of it, white stays white, and colours that are no plate are converted anyhow. Where a page's group
    has such a space and nothing on the page is blended, the reading only warns.
    """
    objects = needs.objects(job)
    _ = job.plates
    inked = object_places.of_colours(objects, lambda family: not family.not_a_plate and family.most(PROCESS) > 0)
    masks: dict[tuple[str, str], NDArray[np.bool_]] = {}
    where: dict[tuple[str, str], list[str]] = {}
    for blended in job.page.blend_spaces:
        if blended.space not in spaces:
            continue
        mask = np.zeros(len(objects), bool)
        mask[blended.rows] = True
        rows = object_places.reaching_inside(objects, object_places.painting(objects, mask & inked), job.inside_shape)
        if len(rows):
            key = (IN_WORDS.get(blended.space, blended.space), "" if blended.blends else LEAVES_ALONE)
            masks.setdefault(key, np.zeros(len(objects), bool))[rows] = True
            where.setdefault(key, []).append("the page" if blended.of_page else "a group on it")
    readings = []
    for (words, only_warns), mask in masks.items():
        rows = np.flatnonzero(mask)
        places = object_places.places_of(objects, rows, job.page.number)
        facts = {"space": words, "where": _where(where[words, only_warns])}
        readings.append(Reading(float(len(rows)), "objects", places, group=words, facts=facts, only_warns=only_warns))
    return readings


def _where(told: list[str]) -> str:
    """``the page and 2 groups on it``."""
    groups = told.count("a group on it")
    on_it = [f"{groups} groups on it" if groups > 1 else "a group on it"] if groups else []
    return " and ".join([*(["the page"] if "the page" in told else []), *on_it])
