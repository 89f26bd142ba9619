"""Fonts: whether their programs are in the file."""

from __future__ import annotations

import numpy as np

from preflight.artwork.objects import Painted
from preflight.findings import Reading
from preflight.job import Job
from preflight.measures import measure, needs, placing


@measure("texts-without-font-program", unit="texts", rests_on=["objects"], facts=("font",))
def texts_without_font_program(job: Job) -> list[Reading]:
    """Texts inside the cut whose font has no program in the file, one reading a font."""
    objects = needs.objects(job, "text")
    missing = np.array([not font.embedded for font in objects.fonts], bool)
    if not missing.any():
        return []
    without = (objects.painted == Painted.TEXT) & (objects.font >= 0) & missing[np.maximum(objects.font, 0)]
    rows = placing.reaching_inside(objects, placing.painting(objects, without), job.inside_shape)
    readings = []
    for index in np.unique(objects.font[rows]).tolist():
        own = rows[objects.font[rows] == index]
        name = objects.fonts[index].name
        places = placing.places_of(objects, own, job.page.number)
        readings.append(Reading(float(len(own)), "texts", places, group=name, facts={"font": name}))
    return readings
