"""Fonts: whether their programs are in the file."""

from __future__ import annotations

import numpy as np

from preflight.artwork.page.objects import Painted
from preflight.findings import Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.registry import measure


@measure("texts-without-font-program", unit="texts", rests_on=["objects"], facts=("font",))
def texts_without_font_program(job: Job) -> list[Reading]:
    """Texts inside the cut whose font has no program in the file, one reading a font."""
    objects = needs.objects(job, "text")
    missing = np.array([not font.embedded for font in objects.fonts], bool)
    if not missing.any():
        return []
    without = (objects.painted == Painted.TEXT) & (objects.font >= 0) & missing[np.maximum(objects.font, 0)]
    rows = object_places.reaching_inside(objects, object_places.painting(objects, without), job.inside_shape)
    readings = []
    for index in np.unique(objects.font[rows]).tolist():
        own = rows[objects.font[rows] == index]
        name = objects.fonts[index].name
        places = object_places.places_of(objects, own, job.page.number)
        readings.append(Reading(float(len(own)), "texts", places, group=name, facts={"font": name}))
    return readings
