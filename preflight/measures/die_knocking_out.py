"""Lines of the die that do not overprint and take ink out of the artwork."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable
from preflight.artwork.page.plates import Plates
from preflight.findings import Place, Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.raster import masks, rims
from preflight.measures.registry import Kinds, measure

SAMPLE_MM: Final = 0.5
CORNER_COS: Final = 0.94  # cosine of 20 degrees
LOST_TINT: Final = 5
"""A plate that loses this much of 255 (2 %) under a die line is knocked out."""
SAME_LINE_MM: Final = 10.0
"""Dashes of one line stand no farther apart."""
IN_LINE_MM: Final = 0.2
"""Straight pieces that keep this near to one straight line are dashes of it."""
DASH_PX: Final = 3
"""Half the side of the field in which the strongest loss is that of a dash, in pixels."""


@measure("die-line-knocking-out", unit="mm", facts=("ink", "length", "lines"))
def die_line_knocking_out(job: Job, *, kinds: Kinds, beyond_mm: float) -> list[Reading]:
    """Length of the lines of each separation of these kinds that take ink away from the plates, inside the cut.

    Lines up to ``beyond`` outside the cut belong to it, since the cut line itself lies half outside. The plates are
    compared with plates that are made without these separations.
    """
    objects = needs.objects(job)
    knocking, near = dict[str, object_places.Rows](), shapely.Polygon()
    for separation in job.page.separations:
        if separation.kind in kinds:
            rows = object_places.painting(objects, objects.in_separation(separation.name) & ~objects.overprint)
            if len(rows) and near.is_empty:
                near = shapely.buffer(job.inside_shape, beyond_mm)
            if len(rows := object_places.reaching_inside(objects, rows, near)):
                knocking[separation.name] = rows
    if not knocking:
        return []
    clean = job.page.plates(job.plates.dpi, without=frozenset(knocking))
    levels = _lost(clean, job.plates)
    lost = levels >= LOST_TINT
    if not lost.any():
        return []
    points = {name: _Points.of(objects, rows) for name, rows in knocking.items()}
    lost = _without_rims(job, frozenset(knocking), levels, np.concatenate([own.xy for own in points.values()]))
    readings = []
    for name, own in points.items():
        hit = shapely.covers(near, shapely.points(own.xy)) & _set_near(job.plates, lost, own.xy)
        hit[hit & own.dashed] = _on_dashes(job.plates, np.where(lost, levels, 0), own.xy[hit & own.dashed])
        if hit.any():
            readings.append(_knocked_out(job, name, own.pick(hit)))
    return readings


def _lost(clean: Plates, here: Plates) -> NDArray[np.uint8]:
    """How much less ink there is, on the plate that loses most."""
    lost: NDArray[np.uint8] = (clean.ink - np.minimum(clean.ink, here.ink)).max(0)
    return lost


def _without_rims(
    job: Job, separations: frozenset[str], levels: NDArray[np.uint8], xy: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Where ink is lost about points on the lines, and more than the rim of a shape that is painted over."""
    about = np.zeros(levels.shape, bool)
    row, column = job.plates.pixels_at(xy)
    inside = (row >= 0) & (row < levels.shape[0]) & (column >= 0) & (column < levels.shape[1])
    about[row[inside], column[inside]] = True

    def sees(boxes: Sequence[Box], dpi: float) -> list[NDArray[np.bool_]]:
        clean = [job.page.window(box, dpi, separations, "sharp") for box in boxes]
        here = [job.page.window(box, dpi, edges="sharp") for box in boxes]
        return [rims.no_edges(_lost(*both), 100 * LOST_TINT / 255) for both in zip(clean, here, strict=True)]

    lost = (levels >= LOST_TINT) & masks.put_on(about, 1.5)
    return rims.without_rims(lost, job.plates, sees, levels >= rims.STRONGEST_RIM)


@dataclass(frozen=True)
class _Points:
    """Points (n, 2) along lines, in order; for each the number of its line, and whether that is drawn in dashes."""

    xy: NDArray[np.float64]
    line: NDArray[np.int_]
    dashed: NDArray[np.bool_]

    @classmethod
    def of(cls, objects: ObjectTable, rows: object_places.Rows) -> _Points:
        """Those of the lines of objects."""
        told = [(_points_on(line), dashed) for line, dashed in _lines_of(objects, rows)]
        counts = [len(xy) for xy, _ in told]
        return cls(
            np.concatenate([xy for xy, _ in told]) if told else np.zeros((0, 2)),
            np.repeat(np.arange(len(told)), counts),
            np.repeat(np.array([dashed for _, dashed in told], bool), counts),
        )

    def pick(self, mask: NDArray[np.bool_]) -> _Points:
        """Some of them."""
        return _Points(self.xy[mask], self.line[mask], self.dashed[mask])


def _on_dashes(plates: Plates, lost: NDArray[np.uint8], xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which places on dashed lines are on a dash: at least half as much is lost there as anywhere near."""
    if not len(xy):
        return np.zeros(0, bool)
    row, column = plates.pixels_at(xy)
    padded = np.pad(lost.astype(np.uint16), DASH_PX + 1)
    blurred = np.zeros_like(padded)
    for down in (-1, 0, 1):
        for across in (-1, 0, 1):
            blurred += np.roll(padded, (down, across), (0, 1))
    field = [(down, across) for down in range(-DASH_PX, DASH_PX + 1) for across in range(-DASH_PX, DASH_PX + 1)]
    row, column = row + DASH_PX + 1, column + DASH_PX + 1
    most = np.max([blurred[row + down, column + across] for down, across in field], axis=0)
    on_a_dash: NDArray[np.bool_] = 2 * blurred[row, column] >= most
    return on_a_dash


def _knocked_out(job: Job, name: str, lost: _Points) -> Reading:
    """``lost``: points where ink is lost."""
    length = len(lost.xy) * SAMPLE_MM
    apart = np.hypot(*np.diff(lost.xy, axis=0).T)
    ends = np.flatnonzero((np.diff(lost.line) != 0) | (apart > np.where(lost.dashed[1:], SAME_LINE_MM, 2 * SAMPLE_MM)))
    runs = sorted(_in_line(np.split(lost.xy, ends + 1)), key=len, reverse=True)
    boxes = [(*map(float, run.min(0)), *map(float, run.max(0))) for run in runs]
    places = tuple(Place(box, job.page.number, name) for box in boxes)  # type: ignore[arg-type]
    shown, _ = object_places.shown_of(places)
    rest = f", the {len(shown)} longest of them shown" if len(shown) < len(places) else ""
    lines = f"{len(places)} line{'s' * (len(places) > 1)}{rest}"
    facts = {"ink": name, "length": f"{length / 1000:.1f} m" if length >= 1000 else f"{length:.0f} mm", "lines": lines}
    return Reading(length, "mm", shown, group=name, facts=facts)


def _in_line(runs: Sequence[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """Runs of points, those that carry each other on straight joined: dashes may be lines of their own."""
    joined: list[NDArray[np.float64]] = []
    for run in runs:
        if joined and _carries_on(joined[-1], run):
            joined[-1] = np.concatenate([joined[-1], run])
        else:
            joined.append(run)
    return joined


def _carries_on(before: NDArray[np.float64], after: NDArray[np.float64]) -> bool:
    """Whether a run begins near the end of another one and goes on in the same straight line."""
    if np.hypot(*(after[0] - before[-1])) > SAME_LINE_MM:
        return False
    step = after[-1] - before[0]
    length = float(np.hypot(*step))
    ends = np.array([before[-1], after[0]]) - before[0]
    across = np.abs(ends @ np.array([-step[1], step[0]])) / max(length, 1e-9)
    along = ends @ step / max(length, 1e-9)
    return bool(across.max() <= IN_LINE_MM and 0 <= along[0] <= along[1] <= length)


def _lines_of(objects: ObjectTable, rows: object_places.Rows) -> list[tuple[BaseGeometry, bool]]:
    """The lines of strokes and the outlines of all else, parted at their corners, and whether they are dashed."""
    lines: list[tuple[BaseGeometry, bool]] = []
    for row, subpaths in zip(rows, objects.paths(rows), strict=True):
        box = shapely.box(*objects.shown_mm[row].astype(float)).exterior
        for points in subpaths or [np.asarray(box.coords)]:
            if len(points) > 1:
                parts = _parted_at_corners(np.asarray(points, float))
                lines += [(shapely.linestrings(part), bool(objects.dashed[row])) for part in parts]
    return lines


def _parted_at_corners(points: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Lines between the corners of a polyline; curves stay whole."""
    steps = np.diff(points, axis=0)
    length = np.hypot(*steps.T)
    turn = (steps[1:] * steps[:-1]).sum(1) / np.maximum(length[1:] * length[:-1], 1e-9)
    corners = [0, *(np.flatnonzero(turn < CORNER_COS) + 1).tolist(), len(points) - 1]
    return [points[a : b + 1] for a, b in zip(corners, corners[1:], strict=False)]


def _points_on(line: BaseGeometry) -> NDArray[np.float64]:
    steps = np.arange(SAMPLE_MM / 2, max(line.length, SAMPLE_MM), SAMPLE_MM)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(line, steps)))


def _set_near(plates: Plates, mask: NDArray[np.bool_], xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether a pixel of the mask is set at each place, or beside it."""
    if not len(xy):
        return np.zeros(0, bool)
    row, column = plates.pixels_at(xy)
    padded = np.pad(mask, 2)
    found = np.zeros(len(xy), bool)
    inside = (row >= 0) & (row < mask.shape[0]) & (column >= 0) & (column < mask.shape[1])
    for down, across in _NEIGHBOURS:
        found[inside] |= padded[row[inside] + 2 + down, column[inside] + 2 + across]
    return found


_NEIGHBOURS: Final[Sequence[tuple[int, int]]] = ((0, 0), (0, 1), (0, -1), (1, 0), (-1, 0))
