"""Pictures: their resolution as placed. What shows no detail (flat colour, masks, soft shadows) is no picture here."""

from __future__ import annotations

from typing import Final

import numpy as np

from preflight.artwork.page.objects import Painted
from preflight.findings import Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.registry import measure

FLAT_STEPS: Final = 3
"""Steps of 255 that a plate of flat colour may differ by, from rendering."""


@measure("picture-resolution", unit="ppi", rests_on=["objects"], cases=("one-bit",), facts=("pixels", "size"))
def picture_resolution(job: Job, *, smallest_mm: float, soft_percent: float) -> list[Reading]:
    """Resolution as placed of each picture inside the cut, the lesser of both ways; case ``one-bit`` for line art.

    Left alone: stencil and soft masks, pictures with no side of ``smallest``, flat colour, and shadows: pictures on
    one plate where neighbouring pixels of the 100 dpi plates differ by less than ``soft`` nearly everywhere.
    """
    objects = needs.objects(job, "images")
    detailed = [not (image.is_mask or image.is_soft_mask_only or image.flat) for image in objects.images]
    wanted = np.array([*detailed, False], bool)[objects.image] & (objects.painted == Painted.IMAGE)  # -1 is none
    sides = (objects.box_mm[:, 2:] - objects.box_mm[:, :2]).max(1) if len(objects) else np.zeros(0)
    rows = object_places.painting(objects, wanted & (sides >= smallest_mm) & (objects.ppi > 0))
    rows = object_places.reaching_inside(objects, rows, job.inside_shape)
    readings = []
    for row in rows.tolist():
        names = [name for name, _ in objects.colours[objects.colour[row]].tints]
        if _without_detail(job, row, names, soft_percent):
            continue
        image = objects.images[objects.image[row]]
        size = objects.box_mm[row, 2:] - objects.box_mm[row, :2]
        readings.append(
            Reading(
                round(float(objects.ppi[row]), 1),
                "ppi",
                places=object_places.places_of(objects, np.array([row]), job.page.number),
                case="one-bit" if image.bits == 1 else "",
                facts={
                    "pixels": f"{image.width_px} x {image.height_px}",
                    "size": f"{size[0]:.0f} x {size[1]:.0f} mm",
                },
            )
        )
    return readings


def _without_detail(job: Job, row: int, names: list[str], soft_percent: float) -> bool:
    """Whether the plates show nothing in the picture's place that a finer picture could show better."""
    plates = job.plates
    x0, y0, x1, y1 = job.page.objects.shown_mm[row].astype(float)
    (left, top), (right, bottom) = plates.to_px(np.array([[x0, y1], [x1, y0]]))
    part = [plates.tint(name)[int(top) + 1 : int(bottom), int(left) + 1 : int(right)] for name in names]
    if not part or part[0].size < 4:
        return False
    if all(int(np.percentile(tints, 99)) - int(np.percentile(tints, 1)) <= FLAT_STEPS for tints in part):
        return True
    inked = [tints for tints in part if tints.any()]
    if len(inked) != 1:
        return False
    tints = inked[0].astype(np.int16)
    steps = np.concatenate([np.abs(np.diff(tints, axis=0)).ravel(), np.abs(np.diff(tints, axis=1)).ravel()])
    return float(np.percentile(steps, 95)) <= soft_percent * 2.55
