"""The layers of the die: whether they are switched on, and whether artwork stands on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.separations import PROCESS
from preflight.carton.lines.die_objects import is_die_layer
from preflight.findings import Count, Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.registry import Kinds, measure

SPANS: Final = 0.5
"""Lines of one colour that go over this share of the carton's width and height are the die itself."""
MOST_ROWS: Final = 20_000
"""Objects of one layer that are looked at by their paths."""


@measure("die-lines-on-hidden-layers", unit="lines", rests_on=["objects"], within="page", facts=("layer", "roles"))
def die_lines_on_hidden_layers(job: Job) -> list[Reading]:
    """Lines of the die that was read which stand on a layer that is switched off, one reading a layer."""
    objects, layers = needs.objects(job), job.page.layers
    found: dict[int, dict[str, list[int]]] = defaultdict(dict)
    for role, rows in job.die.lines_of.items():
        for row in rows:
            layer = int(objects.layer[row])
            if layer >= 0 and not layers[layer].switched_on:
                found[layer].setdefault(role, []).append(row)
    readings = []
    for layer, by_role in found.items():
        boxes = objects.box_mm[sorted(row for rows in by_role.values() for row in rows)].astype(float)
        box = (*map(float, boxes[:, :2].min(0)), *map(float, boxes[:, 2:].max(0)))
        facts = {"layer": layers[layer].name, "roles": " and ".join(by_role)}
        place = Place(box, job.page.number)  # type: ignore[arg-type]
        readings.append(Reading(float(len(boxes)), "lines", (place,), group=str(layer), facts=facts))
    return readings


@measure("artwork-on-die-layers", unit="objects", rests_on=["objects"], facts=("layer", "inks", "objects"))
def artwork_on_die_layers(job: Job, *, inks: Kinds, thinner_than_mm: float) -> list[Reading]:
    """Objects in printing inks that stand inside the cut on a layer of the die, one reading a layer.

    ``inks`` are the kinds that print. A die that is drawn in such an ink is no artwork: lines thinner than
    ``thinner_than``, filled or stroked, that run straight, are dashed, or go over most of the carton in one colour.
    """
    objects, page = needs.objects(job), job.page
    on_die = np.array([*(is_die_layer(layer, job.ticket) for layer in page.layers), False], bool)
    if not on_die.any() or not len(objects):
        return []
    own = frozenset({*PROCESS, *(s.name for s in page.separations if s.on_plate and s.kind in inks)}) - {
        s.name for s in page.separations if s.name in PROCESS and not s.on_plate
    }
    inked = object_places.of_colours(objects, lambda family: not family.registration and family.most(own) > 0)
    rows = object_places.painting(objects, inked & on_die[objects.layer])
    if not len(rows):
        return []
    if not job.die.blanks:
        needs.sure_inside(job)
    inside = _within_the_outer_cut(job)
    rows = object_places.reaching_inside(objects, rows, inside)
    readings = []
    for layer in np.unique(objects.layer[rows]).tolist():
        mine = rows[objects.layer[rows] == layer]
        art = np.setdiff1d(mine, list(_die_itself(objects, mine, inside, thinner_than_mm))).astype(np.intp)
        if len(art):
            readings.append(_reading(job, layer, art, own))
    return readings


def _within_the_outer_cut(job: Job) -> BaseGeometry:
    """The blanks with their cut-outs: what is taken for the die may be what cuts these out."""
    if not job.die.blanks:
        return job.inside_shape
    return shapely.union_all([shapely.Polygon(blank.outline.exterior) for blank in job.die.blanks])


def _reading(job: Job, layer: int, rows: object_places.Rows, own: frozenset[str]) -> Reading:
    objects = job.page.objects
    used = np.zeros(len(objects.colours), bool)
    used[objects.colour[rows]] = True
    inks = [name for name, tint in objects.colours.inked(used).items() if tint > 0 and name in own]
    places = object_places.places_of(objects, rows, job.page.number)
    facts = {"layer": job.page.layers[layer].name, "inks": listed(inks), "objects": Count(len(rows))}
    return Reading(float(len(rows)), "objects", places, needs.die_known(job), group=str(layer), facts=facts)


def _die_itself(
    objects: ObjectTable, rows: object_places.Rows, inside: BaseGeometry, thinner_mm: float
) -> Iterator[int]:
    """Rows that are lines of a die which is drawn in a printing ink."""
    rows = rows[np.isin(objects.painted[rows], (Painted.FILL, Painted.STROKE))]
    x0, y0, x1, y1 = inside.bounds
    least = SPANS * np.array([x1 - x0, y1 - y0])
    strokes = rows[(objects.painted[rows] == Painted.STROKE) & (objects.line_width_mm[rows] <= thinner_mm)]
    for colour in np.unique(objects.colour[strokes]).tolist():
        mine = strokes[objects.colour[strokes] == colour]
        if (_size(objects.box_mm[mine]) >= least).all():
            yield from mine.tolist()
        else:
            yield from mine[objects.dashed[mine]].tolist()
            yield from (
                row for row, paths in _paths(objects, mine[~objects.dashed[mine]]) if all(map(_straight, paths))
            )
    fills = rows[objects.painted[rows] == Painted.FILL]
    size = objects.box_mm[fills][:, 2:] - objects.box_mm[fills][:, :2]
    yield from fills[size.min(1) <= thinner_mm].tolist()
    yield from (row for row, paths in _paths(objects, fills[(size >= least).all(1)]) if _width_mm(paths) <= thinner_mm)


def _size(boxes: NDArray[np.float32]) -> NDArray[np.float32]:
    size: NDArray[np.float32] = boxes[:, 2:].max(0) - boxes[:, :2].min(0)
    return size


def _paths(objects: ObjectTable, rows: object_places.Rows) -> Iterator[tuple[int, list[NDArray[np.float64]]]]:
    rows = rows[:MOST_ROWS]
    yield from zip(rows.tolist(), objects.paths(rows), strict=True)


def _straight(points: NDArray[np.float64]) -> bool:
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    return float(np.hypot(*(points[-1] - points[0]))) > 0.999 * length


def _width_mm(subpaths: list[NDArray[np.float64]]) -> float:
    """Width of a filled band: of a line that was turned into its outline; large for what is no band."""
    rings = [shapely.Polygon(points) for points in subpaths if len(points) > 3]
    length = sum(float(ring.length) for ring in rings)
    areas = sorted((float(ring.area) for ring in rings), reverse=True)
    return 2 * (2 * areas[0] - sum(areas)) / length if length else 0.0
