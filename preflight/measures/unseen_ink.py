"""Why nothing is seen of what is painted in a separation: hidden, clipped, masked, at 0 %, or covered."""

from __future__ import annotations

from typing import Final

import numpy as np

from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.page import Alteration
from preflight.errors import NotMeasured
from preflight.job import Job, once_a_job
from preflight.measures import object_places
from preflight.measures.raster.close_looks import close_dpi, windows_on
from preflight.measures.raster.places import LEAST_LEVEL

MOST_LOOKS: Final = 10
"""Separations of a page whose objects are drawn by themselves."""
MOST_OBJECTS: Final = 100_000
MOST_PX: Final = 1_000_000


def why_not_painted(job: Job, objects: ObjectTable, rows: object_places.Rows) -> str:
    """Why objects of which nothing is painted are not: hidden layers, the clip, the page's end, no opacity."""
    page = job.page
    on = objects.layer[rows]
    off = np.array([*(not layer.prints for layer in page.layers), False], bool)[on]  # -1 is none
    box, shown = objects.box_mm[rows].astype(float), objects.shown_mm[rows].astype(float)
    beyond = (box[:, 2] <= 0) | (box[:, 3] <= 0) | (box[:, 0] >= page.width_mm) | (box[:, 1] >= page.height_mm)
    clipped = ~shown.any(1)
    clear = objects.alpha[rows] <= 0
    text = objects.painted[rows] == Painted.TEXT
    layers = sorted({page.layers[index].name for index in on[off].tolist()})
    reasons = {
        f"on the hidden layer{'s' * (len(layers) > 1)} {', '.join(layers)}": off,
        "off the page": ~off & beyond,
        "clipped away": ~off & ~beyond & clipped,
        "fully transparent": ~off & ~clipped & clear & objects.visible[rows],
        "invisible text": ~off & ~clipped & text & ~objects.visible[rows],
        "hidden by the file's layers": ~off & ~clipped & ~text & ~objects.visible[rows],
    }
    return "; ".join(words for words, true in reasons.items() if true.any()) or "painted where none of it shows"


def why_not_seen(job: Job, name: str, rows: object_places.Rows) -> str:
    """Why objects that are painted inside the cut put no ink of a separation there.

    They are drawn without all others: what shows then is covered or knocked out; where nothing shows, pictures and
    gradients hold none of the ink.

    Args:
        job: the page.
        name: the separation.
        rows: objects that reach inside the cut, in colours that can put ink on it.
    """
    objects = job.page.objects
    try:
        shows = _shows_alone(job, name, rows)
    except NotMeasured:
        shows = None
    if shows is None:
        return "painted inside the cut, but none of it shows: covered by other artwork, masked, or at 0 %"
    if shows:
        return "painted inside the cut, but covered by other artwork"
    varies = object_places.of_colours(objects, lambda family: family.varies)[rows]
    if not varies.all():
        return "painted inside the cut, but masked, or painted over in the same ink at 0 %"
    where = ", and has ink only outside the cut" if job.plates.tint(name).any() else ""
    pictures = np.isin(objects.painted[rows], (Painted.IMAGE, Painted.IMAGE_MASK))
    what = "a gradient or pattern that has" if not pictures.any() else "pictures and gradients that have"
    what = "a picture that has" if pictures.all() else what
    return f"named in {what} none of it inside the cut{where}"


@once_a_job
def _looked_at(job: Job) -> list[str]:
    """Separations that were drawn by themselves so far: a count kept with the job, which no one answer could hold."""
    return []


def _shows_alone(job: Job, name: str, rows: object_places.Rows) -> bool | None:
    """Whether ink shows inside the cut where only objects of the separation are painted; None where it is too much."""
    objects = job.page.objects
    looked_at = _looked_at(job)
    if len(looked_at) >= MOST_LOOKS or len(objects) > MOST_OBJECTS:
        return None
    looked_at.append(name)
    others = Alteration(left_out=tuple(np.flatnonzero(~objects.in_separation(name)).tolist()))
    windows = windows_on(job, objects.shown_mm[rows].astype(float).tolist())
    dpi = close_dpi(windows, MOST_PX)
    for window in windows:
        plates = job.page.altered(others, dpi, window)
        ink = plates.tint(name) >= LEAST_LEVEL
        if ink.any() and (ink & plates.mask_of(job.inside_shape)).any():
            return True
    return False
