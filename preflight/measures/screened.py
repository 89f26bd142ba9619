"""Varnish and metallic at a tint, where they are neither solid nor bare: neither is what anybody gets on press."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.findings import Reading
from preflight.job import InkOnJob, Job
from preflight.measures import needs, object_places
from preflight.measures.raster import masks
from preflight.measures.raster.close_looks import on_page
from preflight.measures.raster.places import places_in
from preflight.measures.registry import Kinds, measure
from preflight.setup.unit_plan import same_name

EDGE_PX: Final = 1.5
"""A pixel in which a solid ends has a tint too: what counts has such pixels all round it."""
CLOSE_DPI: Final = 600.0
CLOSE_SIDE_MM: Final = 12.0
MOST_LOOKS: Final = 24


@measure("screened-area", unit="mm2", facts=("ink", "kind", "tints"))
def screened_area(
    job: Job,
    *,
    kinds: Kinds,
    solid_from_percent: float,
    bare_below_percent: float,
    but_in_pictures: Kinds,
) -> list[Reading]:
    """Area inside the cut on which each ink of these kinds is screened, at least: at a tint between bare and solid.

    ``bare_below`` and ``solid_from`` are those tints. Edges, fine lines and patterns of a solid do not count, nor do
    pictures in inks of the kinds ``but_in_pictures``. The separation that the ticket's coating stands in is a varnish.
    """
    found = [ink for ink in needs.inks(job) if ink.in_file and ink.prints is not False and _is_of(job, ink, kinds)]
    readings = []
    for ink in found:
        name = ink.separation.name
        low, high = (round(percent * 2.55) for percent in (bare_below_percent, solid_from_percent))

        def at_a_tint(plates: Plates, name: str = name, low: int = low, high: int = high) -> masks.Mask:
            tints = plates.tint(name)
            return (tints >= low) & (tints < high)

        between = at_a_tint(job.plates) & job.inside_mask
        if ink.separation.kind in but_in_pictures:
            _leave_out_pictures(job, name, between)
        sure = _surely(job, between, at_a_tint)
        if sure.any():
            readings.append(_reading(job, ink, sure, between))
    return readings


def _is_of(job: Job, ink: InkOnJob, kinds: tuple[str, ...]) -> bool:
    coating = job.ticket.coating if job.ticket else None
    laid = coating is not None and coating.separation is not None and same_name(ink.separation.name, coating.separation)
    return ink.separation.kind in kinds or (laid and "varnish" in kinds)


def _leave_out_pictures(job: Job, name: str, mask: masks.Mask) -> None:
    """Clears what lies under pictures that an ink is part of: duotones are made so on purpose."""
    objects = job.page.objects
    pictures = objects.in_separation(name) & np.isin(objects.painted, (Painted.IMAGE, Painted.SHADING))
    for box in object_places.boxes_of(objects, object_places.painting(objects, pictures)):
        mask[job.plates.slices(box)] = False


def _surely(job: Job, between: masks.Mask, at_a_tint: Callable[[Plates], masks.Mask]) -> masks.Mask:
    """Pixels at a tint that are no edges: on the plates of the page, and in close looks where these tell of some.

    Looks go where the tint is even first; where one finds a tint, what nobody looked at is taken for it too.
    """
    inner = masks.taken_off(between, EDGE_PX)
    plates, found = job.plates, False
    side = max(1, round(CLOSE_SIDE_MM / plates.mm_per_px))
    tiles = masks.tiles(inner, side)
    for rows, columns in tiles[:MOST_LOOKS]:
        window = job.page.window(on_page(job.page, plates.box(rows, columns)), CLOSE_DPI)
        seen = masks.taken_off(at_a_tint(window), EDGE_PX)
        finer = round(CLOSE_DPI / plates.dpi)
        here = masks.put_on(masks.coarse(seen, finer), EDGE_PX)
        height, width = inner[rows, columns].shape
        inner[rows, columns] &= here[:height, :width]
        found = found or bool(inner[rows, columns].any())
    for rows, columns in tiles[MOST_LOOKS:] if not found else []:
        inner[rows, columns] = False
    return inner


def _reading(job: Job, ink: InkOnJob, sure: masks.Mask, between: masks.Mask) -> Reading:
    name, plates = ink.separation.name, job.plates
    mask = masks.put_on(sure, EDGE_PX) & between
    low, high = np.percentile(plates.tint(name)[sure] / 2.55, (5, 95)).round().astype(int).tolist()
    facts = {"ink": name, "kind": ink.separation.kind, "tints": f"{low} %" if low == high else f"{low} to {high} %"}
    pixels = (np.count_nonzero(mask) + np.count_nonzero(sure)) / 2  # those along its edge by half
    area = round(float(pixels) * plates.mm_per_px**2, 1)
    places = places_in(plates, mask, name, job.page.number, object_places.MOST_SHOWN)
    return Reading(area, "mm2", places, ink.separation.known, group=name, facts=facts, units=ink.units)
