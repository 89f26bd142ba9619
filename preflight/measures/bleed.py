"""How far ink carries on past the cut line, measured along the outward normals of every cut edge that ink touches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.objects import Box
from preflight.artwork.plates import Plates
from preflight.carton.die import CutEdge
from preflight.errors import NotMeasured
from preflight.findings import Place, Reading
from preflight.measures import measure, needs, placing
from preflight.measures.edges import (
    Floats,
    Stations,
    crossing,
    reach_mm,
    runs,
    stations_on,
    tints_along,
    without_short_dips,
)
from preflight.measures.job import Job

SPACING_MM: Final = 0.5
TOUCH_MM: Final = (-0.5, -0.3)
"""Where ink has to stand, inside the blank, to touch the cut."""
CLOSE_DPI: Final = 300.0
WINDOW_MM2: Final = 4000.0
SAME_REACH_MM: Final = 0.3
"""A step in the reach along an edge larger than this parts two stretches."""


@dataclass(frozen=True)
class _Edge:
    """A cut edge with its stations."""

    blank: int
    cut: CutEdge
    at: Stations


@dataclass(frozen=True)
class _Stretch:
    """A run of stations where one separation carries on equally far."""

    start: int
    stop: int
    reach_mm: float
    separations: tuple[str, ...]


@measure("ink-past-cut", unit="mm", tolerance=0.06)
def ink_past_cut(
    job: Job,
    *,
    kinds: tuple[str, ...],
    look_mm: float,
    ink_from_percent: float,
    carried_on_percent: float,
    shortest_mm: float,
    aslant: float,
) -> list[Reading]:
    """How far ink carries on past each stretch of cut line that it touches.

    ``kinds`` of separation are looked at, as far out as ``look``; ink counts from a tint of ``ink_from``. Where an ink
    ends and the others still hold ``carried_on`` of all that touched the cut, those carry on for it. Stretches under
    ``shortest`` are left alone, and so are shapes whose end is ``aslant`` to the cut by more than this slope (mm a
    mm): they cross the cut and do not stop at it.
    """
    names = tuple(i.separation.name for i in needs.inks(job) if i.separation.kind in kinds and i.prints is not False)
    edges = _edges(job)
    looking = _Looking(
        job,
        names,
        look_mm,
        max(1.0, ink_from_percent * 2.55),
        carried_on_percent / 100,
        shortest_mm,
        aslant,
        _knocking_out(job, edges, look_mm),
    )
    readings = []
    for edge, reaches in zip(edges, looking.reaches(edges), strict=True):
        for stretch in _stretches(reaches, names, look_mm, round(shortest_mm / SPACING_MM)):
            readings.append(_reading(job, edge, stretch))
    if not readings and job.die.uncertain:
        raise NotMeasured("; ".join(job.die.uncertain), "a die with one clear cut line")
    return readings


def _edges(job: Job) -> list[_Edge]:
    """Cut edges with stations; those in places where the die is uncertain are left out."""
    if job.die.blanks:
        needs.die(job)
        cuts = [(blank.number, edge) for blank in job.die.blanks for edge in blank.edges]
    elif job.artwork_is == "one-up" and job.page.boxes.trim:
        ring = shapely.box(*job.page.boxes.trim, ccw=True).exterior
        cuts = [(1, CutEdge(shapely.LineString(side), "outer")) for side in _sides(ring)]
    else:
        raise NotMeasured(f"no cut line is known: {job.die.because}", "a die in its own separation, or a trim box")
    edges = [_Edge(number, cut, stations_on(shapely.LineString(cut.line), SPACING_MM)) for number, cut in cuts]
    return [_Edge(edge.blank, edge.cut, _where_sure(edge.at, job.die.uncertain_places)) for edge in edges]


def _sides(ring: shapely.LinearRing) -> Iterator[NDArray[np.float64]]:
    points = np.asarray(ring.coords)
    for i in range(len(points) - 1):
        yield points[i : i + 2]


def _where_sure(at: Stations, uncertain: Sequence[Box]) -> Stations:
    sure = np.ones(len(at), bool)
    for x0, y0, x1, y1 in uncertain:
        x, y = at.xy.T
        sure &= ~((x >= x0 - 1) & (x <= x1 + 1) & (y >= y0 - 1) & (y <= y1 + 1))
    return at.part(np.flatnonzero(sure))


def _knocking_out(job: Job, edges: Sequence[_Edge], look_mm: float) -> frozenset[str]:
    """Separations that are no plates, with objects near the cut that do not overprint: they leave gaps in the ink."""
    objects = job.page.objects
    bounds = shapely.bounds([shapely.LineString(edge.cut.line) for edge in edges])
    near = shapely.union_all(shapely.box(*(bounds + look_mm * np.array([-1, -1, 1, 1])).T))
    found = set()
    for separation in job.page.separations:
        if not separation.on_plate:
            rows = placing.painting(objects, objects.in_separation(separation.name) & ~objects.overprint)
            if len(rows) and shapely.intersects(near, shapely.box(*objects.shown_mm[rows].astype(float).T)).any():
                found.add(separation.name)
    return frozenset(found)


@dataclass
class _Looking:
    """The parameters of one measurement, and the plates without what the die knocks out of them."""

    job: Job
    names: tuple[str, ...]
    look_mm: float
    threshold: float
    carried_on: float
    shortest_mm: float
    aslant: float
    without: frozenset[str]
    """Separations whose objects neither paint nor knock out."""

    @cached_property
    def plates(self) -> Plates:
        """The whole page at 100 dpi."""
        plates = self.job.plates
        return self.job.page.plates(plates.dpi, without=self.without) if self.without else plates

    def reaches(self, edges: Sequence[_Edge]) -> list[Floats]:
        """For each edge the reach in mm: (separations, stations); ``look_mm`` where ink does not touch or goes on."""
        counts = [len(edge.at) for edge in edges]
        if not self.names or not sum(counts):
            return [np.full((len(self.names), count), self.look_mm) for count in counts]
        at = Stations(
            np.concatenate([edge.at.xy for edge in edges]),
            np.concatenate([edge.at.outward for edge in edges]),
            SPACING_MM,
        )
        touched, going_on = self._at_a_glance(at)
        short: NDArray[np.bool_] = touched & ~going_on
        reach = np.full(touched.shape, self.look_mm)
        knife = np.repeat([edge.cut.neighbour_mm == 0 for edge in edges], counts)
        for rows, window in self._windows(at, np.any(short, axis=0)):
            reach[:, rows] = np.where(
                short[:, rows], self._close_look(window, at.part(rows), knife[rows]), self.look_mm
            )
        parts = np.cumsum(counts)[:-1]
        return [
            self._tidied(r, t)
            for r, t in zip(np.split(reach, parts, axis=1), np.split(touched, parts, axis=1), strict=True)
        ]

    def _at_a_glance(self, at: Stations) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Which inks touch the cut at each station, and which go on beyond the look, on the plates of the page."""
        pixel = self.plates.mm_per_px
        within = tints_along(self.plates, self.names, at, np.array([*TOUCH_MM]))
        touched: NDArray[np.bool_] = within.max(2) >= self.threshold
        outward = tints_along(self.plates, self.names, at, np.arange(TOUCH_MM[1], self.look_mm + pixel, pixel))
        going_on: NDArray[np.bool_] = np.all(outward >= self.threshold, axis=2)
        return touched, going_on

    def _windows(self, at: Stations, wanted: NDArray[np.bool_]) -> Iterator[tuple[NDArray[np.int_], Plates]]:
        """Windows at a higher resolution that hold the wanted stations and what lies outward of them."""
        for rows in _in_windows(at, np.flatnonzero(wanted), self.look_mm + 1):
            x0, y0 = at.xy[rows].min(0) - self.look_mm - 1
            x1, y1 = at.xy[rows].max(0) + self.look_mm + 1
            box = (max(x0, 0.0), max(y0, 0.0), min(x1, self.job.page.width_mm), min(y1, self.job.page.height_mm))
            if box[0] < box[2] and box[1] < box[3]:
                yield rows, self.job.page.window(box, CLOSE_DPI, without=self.without)

    def _close_look(self, window: Plates, at: Stations, knife: NDArray[np.bool_]) -> Floats:
        offsets = np.arange(TOUCH_MM[0], self.look_mm + 0.5, window.mm_per_px / 2)
        tints = tints_along(window, self.names, at, offsets)
        touching = tints_along(window, self.names, at, np.array([-0.4]))[:, :, 0].sum(0)
        own = np.stack([reach_mm(each, offsets, self.threshold, TOUCH_MM[1]) for each in tints])
        enough = np.maximum(self.threshold, self.carried_on * touching)
        covered = (tints.sum(0) >= enough[:, None]) | (offsets <= TOUCH_MM[1])
        end = np.where(covered.all(1), len(offsets) - 1, covered.argmin(1))
        others = np.where(knife, offsets[0], offsets[end])
        return np.minimum(np.where(others > own + 0.15, others, own), self.look_mm)

    def _tidied(self, reach: Floats, touched: NDArray[np.bool_]) -> Floats:
        """Without shapes that cross the cut, and without stretches that are too short to matter."""
        width = max(1, round(self.shortest_mm / SPACING_MM))
        rows = []
        for own, here in zip(reach, touched, strict=True):
            if own.min(initial=self.look_mm) >= self.look_mm:
                rows.append(own)
                continue
            passing = crossing(own, here, SPACING_MM, self.aslant)
            ends = np.where(passing, self.look_mm, np.maximum(own, 0.0))
            rows.append(without_short_dips(ends, width, self.look_mm))
        return np.stack(rows)


def _in_windows(at: Stations, rows: NDArray[np.int_], margin_mm: float) -> list[NDArray[np.int_]]:
    """Stations in windows of a bearable size: neighbours on the line first, then halves of what is too large."""
    if not len(rows):
        return []
    breaks = np.flatnonzero(np.hypot(*np.diff(at.xy[rows], axis=0).T) > 5 * SPACING_MM) + 1
    waiting, windows = np.split(rows, breaks), []
    while waiting:
        part = waiting.pop()
        width, height = np.ptp(at.xy[part], axis=0) + 2 * margin_mm
        if width * height > WINDOW_MM2 and len(part) > 8:
            waiting += [part[: len(part) // 2], part[len(part) // 2 :]]
        else:
            windows.append(part)
    return windows


def _stretches(reaches: Floats, names: Sequence[str], look_mm: float, shortest: int) -> list[_Stretch]:
    """Stretches that end before the look; inks that end together are one stretch.

    A run is parted where the reach jumps, and its pieces of at least ``shortest`` stations are its stretches; what
    lies between them only leads from one to the next. A run without such a piece is one stretch.
    """
    found: list[_Stretch] = []
    for name, reach in zip(names, reaches, strict=True):
        short = reach < look_mm - 0.05
        for start, stop in runs(short) if short.any() else ():
            jumps = start + 1 + np.flatnonzero(np.abs(np.diff(reach[start:stop])) > SAME_REACH_MM)
            pieces = list(zip([start, *jumps.tolist()], [*jumps.tolist(), stop], strict=True))
            for a, b in [piece for piece in pieces if piece[1] - piece[0] >= shortest] or [(start, stop)]:
                _put(found, _Stretch(a, b, float(reach[a:b].min()), (name,)))
    return found


def _put(found: list[_Stretch], new: _Stretch) -> None:
    """Add a stretch, joined with one that it shares most of its length and its reach with."""
    for i, old in enumerate(found):
        shared = min(old.stop, new.stop) - max(old.start, new.start)
        if 2 * shared > min(old.stop - old.start, new.stop - new.start) and abs(old.reach_mm - new.reach_mm) < 0.15:
            found[i] = _Stretch(
                min(old.start, new.start),
                max(old.stop, new.stop),
                min(old.reach_mm, new.reach_mm),
                tuple(dict.fromkeys((*old.separations, *new.separations))),
            )
            return
    found.append(new)


def _reading(job: Job, edge: _Edge, stretch: _Stretch) -> Reading:
    points = edge.at.xy[stretch.start : stretch.stop]
    (x0, y0), (x1, y1) = points.min(0) - 0.5, points.max(0) + 0.5
    where = _side(edge, stretch)
    several = len(job.die.blanks) > 1
    names = ", ".join(stretch.separations)
    place = Place(
        (float(x0), float(y0), float(x1), float(y1)),
        job.page.number,
        stretch.separations[0] if len(stretch.separations) == 1 else None,
        f"{where} of blank {edge.blank}" if several else where,
    )
    gap = edge.cut.neighbour_mm
    return Reading(
        value=round(stretch.reach_mm, 2),
        unit="mm",
        places=(place,),
        known=needs.die_known(job),
        case="common knife" if gap == 0 else "",
        group=_cause(job, stretch.separations),
        facts={
            "separations": names,
            "where": place.path,
            "length": f"{(stretch.stop - stretch.start) * edge.at.spacing_mm:.0f} mm",
        },
        only_warns="it is on a glue or dust flap, which nobody sees on the finished carton" if edge.cut.hidden else "",
        limit_cap=gap / 2 if gap else None,
    )


def _cause(job: Job, names: Sequence[str]) -> str:
    """What is missing its bleed: the spots that end there, or a build of process inks, whichever of them end where."""
    process = {s.name for s in job.page.separations if s.kind == "process"}
    return ", ".join(sorted(set(names) - process)) or "process inks"


def _side(edge: _Edge, stretch: _Stretch) -> str:
    """``top edge``, ``left edge of a cut-out``, ``slanting edge`` by the way out of the blank."""
    x, y = edge.at.outward[stretch.start : stretch.stop].mean(0)
    if max(abs(x), abs(y)) < 0.92 * max(1e-9, float(np.hypot(x, y))):
        side = "slanting edge"
    elif abs(x) > abs(y):
        side = "right edge" if x > 0 else "left edge"
    else:
        side = "top edge" if y > 0 else "bottom edge"
    return f"{side} of a cut-out" if edge.cut.edge == "cut-out" else side
