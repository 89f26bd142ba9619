"""Layers that are seen on screen and not printed, or printed and not seen: the proof is then not what is on plates."""

from __future__ import annotations

import shapely

from preflight.artwork.page.page import Layer
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.structure.layers import kind_by_name, step_kind
from preflight.findings import Place, Reading
from preflight.inputs.kind_names import load_names
from preflight.job import Job
from preflight.kinds import NON_PRINTING_KINDS
from preflight.measures import needs, object_places
from preflight.measures.registry import measure


@measure(
    "layers-seen-otherwise",
    unit="objects",
    rests_on=["objects"],
    cases=("not printed", "not seen"),
    facts=("layer",),
)
def layers_seen_otherwise(job: Job, *, within_mm: float) -> list[Reading]:
    """Objects on layers that are not printed as they are seen, inside the cut or ``within`` outside it.

    Case ``not printed``: seen on screen only; technical layers, by their step or name, are meant to be so and are left
    out. Case ``not seen``: printed, and hidden on screen. What is painted in technical separations does not count.
    """
    objects = needs.objects(job)
    differing = {n: layer for n, layer in enumerate(job.page.layers) if layer.seen != layer.prints}
    differing = {n: layer for n, layer in differing.items() if layer.prints or not _is_technical(layer)}
    if not differing:
        return []
    own = {s.name for s in job.page.separations if s.on_plate} | set(PROCESS)
    inked = object_places.of_colours(objects, lambda f: f.registration or bool(f.not_a_plate) or f.names_any(own))
    near = shapely.buffer(job.inside_shape, within_mm)
    readings = []
    for number, layer in differing.items():
        # What a membership hides or shows for reasons of its own is no affair of the layer.
        on = (objects.layer == number) & inked & (objects.alpha > 0) & (objects.visible == layer.prints)
        rows = object_places.reaching_inside(objects, on.nonzero()[0], near)
        if len(rows):
            case, places = "not seen" if layer.prints else "not printed", object_places.boxes_of(objects, rows)
            boxes = object_places.gathered(places)
            readings.append(
                Reading(
                    float(len(rows)),
                    "objects",
                    tuple(Place(box, job.page.number) for box in boxes),
                    case=case,
                    group=layer.name,
                    facts={"layer": layer.name or "without a name"},
                )
            )
    return readings


def _is_technical(layer: Layer) -> bool:
    """A layer of the die, of a legend and the like, by its processing step or its name."""
    if (step := step_kind(layer)) is not None:
        return step in NON_PRINTING_KINDS
    named = kind_by_name(layer, load_names())
    return named is not None and named[0] in NON_PRINTING_KINDS
