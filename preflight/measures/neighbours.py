"""Bleed of one blank that is printed over its neighbour on the sheet, because the gutter is narrower than the bleed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import meeting
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Blank
from preflight.findings import Gap, Measured, Place, Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.raster.profiles import tints_at
from preflight.measures.registry import Kinds, measure

STEP_MM: Final = 1.0
"""Between two stations along a cut edge."""
DEPTH_MM: Final = 0.25
"""Between two places at which a station looks into its blank."""
FIRST_MM: Final = 0.4
"""What lies nearer to the cut than this is not told from the edge itself."""
BEYOND_MM: Final = 0.6
"""So far inside the neighbour its ink is its own."""
SAME: Final = 8
"""Levels of 255 up to which two places have one colour: 3 %."""
OTHER: Final = 38
"""Levels from which on they have two: 15 %."""
STEADY_MM: Final = 0.3
"""An edge of the bleed runs along the cut: the depth changes by no more than this along it."""
ENDS_MM: Final = 0.4
"""An object ends where its ink does, to so much."""
MOST_LOOKED_THROUGH: Final = 60

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Run:
    """Stations of an edge in a row at which another blank's bleed seems to end in this one."""

    blank: Blank
    other: Blank
    at: Floats
    outward: Floats
    depth_mm: Floats
    gap_mm: float


@measure("bleed-into-neighbour", unit="mm", within="cut", facts=("blank", "other", "gutter"))
def bleed_into_neighbour(job: Job, *, kinds: Kinds, gutter_mm: float, deep_mm: float, along_mm: float) -> Measured:
    """How far ink of a blank is printed into another one beyond a gutter of up to ``gutter``, along at least ``along``.

    Told where the ink at the edge of a blank is that of its neighbour, ends within ``deep``, and was painted last by an
    object of the neighbour. ``kinds`` are the inks that count.
    """
    needs.objects(job)
    die = needs.die(job)
    names = [s.name for s in job.page.separations if s.on_plate and s.kind in kinds]
    if len(die.blanks) < 2 or not names:
        return Measured([])
    stations = _FacingStations.of(die.blanks, gutter_mm)
    runs = _runs(job.plates, names, die.blanks, stations, deep_mm)
    told = [
        (_reading(job, run), _painted_by_neighbour(job, run, names))
        for run in runs
        if len(run.at) * STEP_MM >= along_mm
    ]
    unknown = tuple(place for reading, painted in told if painted is None for place in reading.places)
    because = f"more than {MOST_LOOKED_THROUGH} objects lie over each other there, and not all were checked"
    gaps = [Gap(because, "a simpler file", places=unknown)] if unknown else []
    return Measured([reading for reading, painted in told if painted], gaps)


@dataclass(frozen=True)
class _FacingStations:
    """Places (n, 2) along cut edges that face something near, and the directions out of their blanks."""

    at: Floats
    outward: Floats
    gap_mm: Floats
    blank: NDArray[np.int_]
    """Index of its blank."""
    edge: NDArray[np.int_]
    """Number of the edge; its stations stand in order."""

    @classmethod
    def of(cls, blanks: Sequence[Blank], gutter_mm: float) -> _FacingStations:
        """Stations along the outer edges with something within ``gutter`` beyond them."""
        edges = [
            (number, edge)
            for number, blank in enumerate(blanks)
            for edge in blank.edges
            if edge.edge == "outer" and edge.neighbour_mm is not None and 0 < edge.neighbour_mm <= gutter_mm
        ]
        lines = np.array([edge.line for _, edge in edges], object)
        counts = (
            np.maximum(0, np.round(shapely.length(lines) / STEP_MM)).astype(int) if len(edges) else np.zeros(0, int)
        )
        owner = np.repeat(np.arange(len(edges)), counts)
        along = (np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts) + 0.5) * STEP_MM
        at, behind, before = (
            shapely.get_coordinates(shapely.line_interpolate_point(lines[owner], along + by)) for by in (0.0, -0.2, 0.2)
        )
        step = (before - behind) / np.maximum(np.hypot(*(before - behind).T), 1e-9)[:, None]
        gaps = np.array([edge.neighbour_mm or 0.0 for _, edge in edges], float)
        blank = np.array([number for number, _ in edges], int)
        return cls(at, np.column_stack([step[:, 1], -step[:, 0]]), gaps[owner], blank[owner], owner)

    def pick(self, mask: NDArray[np.bool_]) -> _FacingStations:
        """Some of them."""
        return _FacingStations(self.at[mask], self.outward[mask], self.gap_mm[mask], self.blank[mask], self.edge[mask])

    def out(self, mm: float | Floats) -> Floats:
        """Places so far out of the blank; in it where negative."""
        places: Floats = self.at + self.outward * np.reshape(mm, (-1, 1))
        return places


def _runs(
    plates: Plates, names: list[str], blanks: Sequence[Blank], stations: _FacingStations, deep_mm: float
) -> Iterator[_Run]:
    """Runs of stations at which the plates show a neighbour's ink at the edge, and other ink further in."""
    if not len(stations.at):
        return
    outlines = [blank.outline for blank in blanks]
    far = stations.out(stations.gap_mm + BEYOND_MM)
    station, found = shapely.STRtree(outlines).query(shapely.points(far), predicate="within")
    other = np.full(len(far), -1)
    other[station] = found
    theirs = tints_at(plates, names, *far.T)
    alike = (theirs.max(0) >= OTHER) & (other >= 0) & (other != stations.blank)
    for places in (stations.out(-FIRST_MM), stations.out(stations.gap_mm / 2)):
        alike &= np.abs(tints_at(plates, names, *places.T) - theirs).max(0) <= SAME
    if not alike.any():
        return
    number, own, other = np.flatnonzero(alike), stations.pick(alike), other[alike]
    depths = np.arange(FIRST_MM, deep_mm + DEPTH_MM, DEPTH_MM)
    into = np.stack([tints_at(plates, names, *own.out(-depth).T) for depth in depths])  # (depths, names, stations)
    change = np.abs(into - into[:1]).max(1)
    changed = change >= OTHER
    depth = _depth(change, changed.argmax(0))
    deeper = shapely.points(own.out(-depth - BEYOND_MM))
    hit = changed.any(0) & shapely.contains(np.array(outlines, object)[own.blank], deeper)
    one_row = (np.diff(number) == 1) & (np.diff(own.edge) == 0) & (np.diff(other) == 0)
    breaks = np.flatnonzero(~hit[1:] | ~hit[:-1] | ~one_row | (np.abs(np.diff(depth)) > STEADY_MM)) + 1
    for members in np.split(np.arange(len(number)), breaks):
        if len(members) and hit[members[0]]:
            first = members[0]
            pair = blanks[int(own.blank[first])], blanks[int(other[first])]
            yield _Run(*pair, own.at[members], own.outward[members], depth[members], float(own.gap_mm[first]))


def _depth(change: Floats, first: NDArray[np.int_]) -> Floats:
    """How deep ink reaches, from how much it has changed at each of the depths (k, n); ``first``: where it has."""
    stations = np.arange(change.shape[1])
    last = np.minimum(first + 2, len(change) - 1)  # the pixels in which it ends lie behind
    share = np.clip(change / np.maximum(change[last, stations], 1), 0, 1)
    share[np.arange(len(change))[:, None] > last] = 1
    depth: Floats = FIRST_MM - DEPTH_MM / 2 + DEPTH_MM * (1 - share).sum(0)
    return depth


def _painted_by_neighbour(job: Job, run: _Run, names: list[str]) -> bool | None:
    """Whether what was painted last at the edge reaches into the neighbour, and ends where the ink does.

    None where too many objects would have to be looked through.
    """
    middle = len(run.at) // 2
    at, outward, depth = run.at[middle], run.outward[middle], float(run.depth_mm[middle])
    edge, theirs = at - outward * FIRST_MM, at + outward * (run.gap_mm + BEYOND_MM)
    before, behind = (at - outward * max(FIRST_MM, depth + by) for by in (-ENDS_MM, ENDS_MM))
    objects = job.page.objects
    shown = objects.shown_mm
    here = meeting(shown, (*edge, *edge))
    inked = object_places.of_colours(objects, lambda family: family.registration or family.names_any(frozenset(names)))
    rows = object_places.painting(objects, here & inked & (objects.painted != Painted.STROKE))
    for row in rows[::-1][:MOST_LOOKED_THROUGH].tolist():
        shape = object_places.shape_of(objects, row)
        if shape.intersects(shapely.Point(edge)):
            return [bool(shape.intersects(shapely.Point(p))) for p in (theirs, before, behind)] == [True, True, False]
    return None if len(rows) > MOST_LOOKED_THROUGH else False


def _reading(job: Job, run: _Run) -> Reading:
    depth = float(np.median(run.depth_mm))
    points = np.vstack([run.at, run.at - run.outward * depth])
    (x0, y0), (x1, y1) = points.min(0).tolist(), points.max(0).tolist()
    place = Place((x0, y0, x1, y1), job.page.number, None, f"blank {run.blank.number}")
    facts = {"blank": run.blank.number, "other": run.other.number, "gutter": f"{run.gap_mm:.1f} mm"}
    group = f"{run.blank.number} {run.other.number}"
    return Reading(round(depth, 1), "mm", (place,), needs.die_known(job), group=group, facts=facts)
