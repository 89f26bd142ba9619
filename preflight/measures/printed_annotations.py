"""Measures of rules/annotations.yaml: notes and stamps that somebody put on the page, and that come with the plates."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from preflight.artwork.page.page import Annotation
from preflight.findings import Place, Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.registry import measure

NO_NOTES: Final = frozenset({"Link", "Popup", "TrapNet", "PrinterMark"})
"""Kinds that nobody writes on artwork with: they lead somewhere, or belong to the making of plates."""
LEAST_INSIDE_MM2: Final = 0.1
INK_IN_RECT_MM: Final = 0.1
MOST_WORDS: Final = 40


@measure("annotations-that-print", unit="annotations", rests_on=["objects"], facts=("kind", "words"))
def annotations_that_print(job: Job) -> list[Reading]:
    """Annotations that are printed and paint something inside the cut, one reading for each."""
    objects = needs.objects(job)
    if not job.page.annotations:
        return []
    inside, readings = job.inside_shape, []
    for note in _painting(job, object_places.painting(objects)):
        x0, y0, x1, y1 = map(float, note.box_mm)
        if shapely.intersection(shapely.box(x0, y0, x1, y1), inside).area < LEAST_INSIDE_MM2:
            continue
        words = " ".join(note.contents.split())
        words = words if len(words) <= MOST_WORDS else f"{words[:MOST_WORDS].rstrip()} …"
        facts = {"kind": note.kind or "kind not given", "words": f', "{words}"' if words else ""}
        places = (Place((x0, y0, x1, y1), job.page.number),)
        readings.append(Reading(1.0, "annotations", places, group=note.kind, facts=facts))
    return readings


def _painting(job: Job, rows: object_places.Rows) -> Iterator[Annotation]:
    """Annotations in which something is painted: the last objects of the page, as far as all lie in one of them."""
    notes = job.page.annotations
    boxes = np.array([note.box_mm for note in notes], float) + INK_IN_RECT_MM * np.array([-1, -1, 1, 1])
    painted: set[int] = set()
    for row in rows[::-1].tolist():
        x0, y0, x1, y1 = job.page.objects.shown_mm[row].tolist()
        holding = (boxes[:, 0] <= x0) & (boxes[:, 1] <= y0) & (boxes[:, 2] >= x1) & (boxes[:, 3] >= y1)
        if not holding.any():
            break
        painted.update(np.flatnonzero(holding).tolist())
    return (note for number, note in enumerate(notes) if number in painted and note.kind not in NO_NOTES)
