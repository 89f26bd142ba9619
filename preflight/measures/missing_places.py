"""What a measure could not see: places of the page where something is missing, as far as they matter to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.findings import Place, Reading
from preflight.job import Job
from preflight.measures.registry import Measure, Zone

BEYOND_MM = 5.0
"""What lies no further than this outside the cut belongs to what is inside, or on either side to the cut: its bleed."""
MOST_OF_IT = 0.9


def unseen_places(job: Job, measure: Measure) -> list[UncertainPlace]:
    """Places where something is missing that the measure rests on."""
    missing = [place for place in job.page.uncertain if _matters(place, measure)]
    if not missing:
        return []
    zone = _zone(job, measure.within)
    return [place for place in missing if zone.intersects(shapely.box(*place.box_mm))]


def beyond_open_cuts(job: Job, measure: Measure) -> list[Place]:
    """What of a carton lies beyond a cut that is open, where a measure looks inside the cut."""
    if measure.within == "page" or not measure.rests_on:
        return []
    return [Place(cut.beyond or box_of(cut.fold), job.page.number) for cut in job.die.open_cuts]


def box_of(shape: BaseGeometry) -> Box:
    """Bounding box of a shape, mm, in plain numbers."""
    x0, y0, x1, y1 = map(float, shape.bounds)
    return (x0, y0, x1, y1)


def _matters(place: UncertainPlace, measure: Measure) -> bool:
    rests_on = measure.rests_on
    new_inks = place.inks is None  # of others the job knows already that they may print
    return "plates" in rests_on or ("objects" in rests_on and place.unread) or ("inks" in rests_on and new_inks)


def _zone(job: Job, zone: Zone) -> BaseGeometry:
    page = shapely.box(*job.page.box_mm)
    if zone == "page" or (not job.die.blanks and job.artwork_is != "one-up"):
        return page
    shape = job.inside_shape
    return shapely.buffer(shape.boundary if zone == "cut" else shape, BEYOND_MM)


def seen(readings: Sequence[Reading], unseen: Sequence[UncertainPlace]) -> list[Reading]:
    """Readings without the places where something is missing; those that have no other are left out."""
    if not unseen:
        return list(readings)
    missing = shapely.union_all([shapely.box(*place.box_mm) for place in unseen])
    found = []
    for reading in readings:
        places = tuple(place for place in reading.places if not _in(place, missing))
        if places or not reading.places:
            found.append(reading if len(places) == len(reading.places) else replace(reading, places=places))
    return found


def _in(place: Place, missing: BaseGeometry) -> bool:
    box = shapely.box(*place.box_mm)
    if box.area > 0:
        return bool(box.intersection(missing).area >= MOST_OF_IT * box.area)
    return bool(missing.intersects(box))
