"""Creases that cannot be made as they are drawn: two that lie too close for two rules, one that lies on a knife."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.objects import Painted
from preflight.carton.lines.drawn_lines import components
from preflight.findings import Place, Reading
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.registry import measure

PARALLEL: Final = 0.996  # cosine of 5 degrees
LEAST_BESIDE_MM: Final = 0.5
TOGETHER_MM: Final = 3.0
"""Pieces no farther apart belong to one line."""
ON_THE_CUT: Final = 0.5
"""A crease of which less lies on the cut only ends there, or runs on past a slot."""

Floats = NDArray[np.float64]


@measure("creases-side-by-side", unit="mm", rests_on=["objects"], facts=("length", "pieces"))
def creases_side_by_side(job: Job, *, same_mm: float, look_mm: float, along_mm: float) -> list[Reading]:
    """Distance of each two creases that run beside each other for at least ``along``, within ``look``.

    What lies within ``same`` is one crease that was drawn twice.
    """
    needs.objects(job)
    creases = needs.die(job).folds.get("crease")
    if creases is None:
        return []
    xy = Pieces.of([creases]).xy
    one, other, start, end, far = _beside(xy, look_mm)
    near = far > same_mm
    one, other, start, end, far = one[near], other[near], start[near], end[near], far[near]
    readings = []
    for members in _clusters(start, end):
        if (length := float(np.hypot(*(end[members] - start[members]).T).sum())) >= along_mm:
            beside = np.unique(np.concatenate([one[members], other[members]]))
            stretch = np.vstack([start[members], end[members]])
            place = Place(_box(stretch, float(far[members].max())), job.page.number)
            facts = {"length": f"{length:.0f} mm", "pieces": len(beside)}
            readings.append(
                Reading(round(float(np.median(far[members])), 2), "mm", (place,), needs.die_known(job), facts=facts)
            )
    return readings


def _beside(xy: Floats, look_mm: float) -> tuple[NDArray[np.int_], NDArray[np.int_], Floats, Floats, Floats]:
    """Pairs of pieces (n, 4) that run beside each other: both, from where to where on the first, and how far apart."""
    lines = shapely.linestrings(xy.reshape(-1, 2, 2))
    one, other = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=look_mm)
    one, other = one[one < other], other[one < other]
    p, q = xy[one], xy[other]
    step = p[:, 2:] - p[:, :2]
    size = np.maximum(np.hypot(*step.T), 1e-9)
    unit = step / size[:, None]
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])
    turn = q[:, 2:] - q[:, :2]
    parallel = np.abs((turn * unit).sum(1)) > PARALLEL * np.hypot(*turn.T)
    along = np.sort(np.column_stack([((q[:, k : k + 2] - p[:, :2]) * unit).sum(1) for k in (0, 2)]), axis=1)
    across = np.column_stack([((q[:, k : k + 2] - p[:, :2]) * normal).sum(1) for k in (0, 2)])
    low, high = np.maximum(along[:, 0], 0), np.minimum(along[:, 1], size)
    far = np.abs(across.mean(1))
    hit = parallel & (high - low >= LEAST_BESIDE_MM) & (far <= look_mm)
    start, end = p[:, :2] + unit * low[:, None], p[:, :2] + unit * high[:, None]
    return one[hit], other[hit], start[hit], end[hit], far[hit]


def _clusters(start: Floats, end: Floats) -> Iterator[NDArray[np.int_]]:
    """Stretches (n, 2) to (n, 2) that hang together, as indices."""
    if not len(start):
        return
    lines = shapely.linestrings(np.stack([start, end], axis=1))
    a, b = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=TOGETHER_MM)
    label = components(len(lines), a.astype(np.intp), b.astype(np.intp))
    for number in range(int(label.max()) + 1):
        yield np.flatnonzero(label == number)


def _box(points: Floats, margin_mm: float) -> tuple[float, float, float, float]:
    low, high = points.min(0) - margin_mm, points.max(0) + margin_mm
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@measure("crease-on-the-cut", unit="mm", rests_on=["objects"])
def crease_on_the_cut(job: Job, *, within_mm: float) -> list[Reading]:
    """Length of each crease that lies on the cut of a blank, within a distance of it.

    Creases that only end at the cut do not count, nor does one on a slit within the blank (a cut-crease).
    """
    objects = needs.objects(job)
    die = needs.die(job)
    drawn = np.array(die.lines_of.get("crease", ()), int)
    drawn = drawn[objects.painted[drawn] == Painted.STROKE]
    if not len(drawn):
        return []
    edges = shapely.union_all([blank.outline.boundary for blank in die.blanks])
    if die.open_cuts:  # a blank that ends in a fold has no cut there
        edges = shapely.difference(edges, shapely.buffer(shapely.union_all([c.fold for c in die.open_cuts]), within_mm))
    return _on_cut(
        job, [points for paths in objects.paths(drawn) for points in paths if len(points) > 1], edges, within_mm
    )


def _on_cut(job: Job, lines: Sequence[Floats], edges: BaseGeometry, within_mm: float) -> list[Reading]:
    shapes = np.array([shapely.linestrings(points) for points in lines], object)
    band = shapely.buffer(edges, within_mm, cap_style="flat")
    shapely.prepare(band)
    shapes = shapes[shapely.intersects(band, shapes)]
    on = shapely.intersection(shapes, band)
    pieces = shapely.get_parts(on[shapely.length(on) >= np.maximum(ON_THE_CUT * shapely.length(shapes), 1.0)])
    pieces = pieces[shapely.length(pieces) > 2 * within_mm]
    if not len(pieces):
        return []
    a, b = shapely.STRtree(pieces).query(pieces, predicate="dwithin", distance=TOGETHER_MM)
    label = components(len(pieces), a.astype(np.intp), b.astype(np.intp))
    readings = []
    for number in range(int(label.max()) + 1):
        line = shapely.union_all(pieces[label == number])
        box = _box(shapely.get_coordinates(line), within_mm)
        place = Place(box, job.page.number)
        readings.append(Reading(round(float(line.length), 1), "mm", (place,), needs.die_known(job)))
    return readings
