"""Transparency that is blended in a space of its own: on the way there and back the plates change."""

from __future__ import annotations

from typing import Final

import numpy as np

from preflight.artwork.separations import PROCESS
from preflight.findings import Reading
from preflight.measures import measure, needs, placing
from preflight.measures.job import Job

IN_WORDS: Final = {
    "DeviceRGB": "RGB",
    "CalRGB": "calibrated RGB",
    "ICCBased-3": "RGB by a profile",
    "DeviceGray": "grey",
    "CalGray": "calibrated grey",
    "ICCBased-1": "grey by a profile",
    "ICCBased-4": "CMYK by a profile",
}
LEAVES_ALONE: Final = (
    "nothing on the page lets anything show through, and most platemakers then leave its colours alone"
)


@measure("process-ink-blended-elsewhere", unit="objects", rests_on=["objects"])
def process_ink_blended_elsewhere(job: Job, *, spaces: tuple[str, ...]) -> list[Reading]:
    """Objects inside the cut whose process inks are converted because their group blends in one of these spaces.

    Spots keep out of it, white stays white, and colours that are no plate are converted anyhow. Where a page's group
    has such a space and nothing on the page is blended, the reading only warns.
    """
    objects = needs.objects(job)
    _ = job.plates
    inked = placing.of_colours(objects, lambda family: not family.not_a_plate and family.most(PROCESS) > 0)
    readings = []
    for blended in job.page.blend_spaces:
        if blended.space not in spaces:
            continue
        mask = np.zeros(len(objects), bool)
        mask[blended.rows] = True
        rows = placing.reaching_inside(objects, placing.painting(objects, mask & inked), job.inside_shape)
        if len(rows):
            words = IN_WORDS.get(blended.space, blended.space)
            facts = {"space": words, "where": "the page" if blended.of_page else "a group on it"}
            places = placing.places_of(objects, rows, job.page.number)
            only_warns = "" if blended.blends else LEAVES_ALONE
            readings.append(
                Reading(float(len(rows)), "objects", places, group=words, facts=facts, only_warns=only_warns)
            )
    return readings
