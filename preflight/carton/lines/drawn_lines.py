"""Lines that somebody drew as a die, and their straight pieces as one table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.findings import Known

Role = Literal["cut", "perforate", "half-cut", "crease", "unknown"]
ROLES: Final[tuple[Role, ...]] = ("cut", "perforate", "half-cut", "crease")
"""Where lines of two roles lie on each other, the earlier one holds: a cut always separates."""
CUT: Final = 0
MOST_SEGMENTS: Final = 40_000
FARTHEST_MM: Final = 20_000.0
"""Nothing that is printed is farther from the page than this; such coordinates come from broken files."""
GRID_MM: Final = 0.001

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]
Shapes = NDArray[np.object_]


@dataclass(frozen=True)
class DieLine:
    """One subpath drawn as die. ``points`` has shape (k, 2), mm; a closed one repeats its first point."""

    points: Floats
    role: Role = "cut"
    filled: bool = False
    width_mm: float = 0.25
    dashed: bool = False
    drawn_in: str = ""
    """The separation or layer that it is drawn in."""
    known: Known = "read"
    because: str = ""
    """Why it is a die line of this role."""
    overprint: bool = True
    inks: tuple[str, ...] = ()
    """The separations that ``drawn_in`` is made of, where it is several."""
    row: int = -1
    """Row of the page's object table; subpaths of one row belong together."""

    @property
    def closed(self) -> bool:
        """Whether it ends where it starts."""
        return len(self.points) > 3 and bool(np.all(np.abs(self.points[0] - self.points[-1]) < GRID_MM))

    @property
    def length_mm(self) -> float:
        """Length along the line."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())

    @property
    def straight(self) -> bool:
        """Runs from end to end without turning."""
        return not self.closed and float(np.hypot(*(self.points[-1] - self.points[0]))) > 0.999 * self.length_mm


@dataclass(frozen=True)
class Segments:
    """Straight pieces: ``xy`` (n, 4) in mm, ``role`` as index into ROLES, ``line`` as index of the drawn line."""

    xy: Floats
    role: NDArray[np.int8]
    line: Ints

    def __len__(self) -> int:
        return len(self.xy)

    def pick(self, mask: Bools | Ints) -> Segments:
        """The chosen rows."""
        return Segments(self.xy[mask], self.role[mask], self.line[mask])

    def shapes(self) -> Shapes:
        """One shapely LineString for each."""
        return as_linestrings(self.xy)


def as_linestrings(xy: Floats) -> Shapes:
    """Segments (n, 4) as an array of LineStrings."""
    return np.atleast_1d(np.asarray(shapely.linestrings(xy.reshape(-1, 2, 2)), dtype=object))


def usable(lines: Sequence[DieLine]) -> list[DieLine]:
    """Lines on a grid of a thousandth of a millimetre, without points that are no numbers, are far off or repeat.

    A line with a bad point in it is broken there and is closed no longer.
    """
    if not lines:
        return []
    held = [np.asarray(line.points, np.float64).reshape(-1, 2) for line in lines]
    points = np.concatenate(held)
    good: Bools = np.asarray((np.abs(np.nan_to_num(points, nan=np.inf)) < FARTHEST_MM).all(axis=1), bool)
    points[good] = np.round(points[good], 3)
    new = np.ones(len(points), bool)
    new[1:] = (points[1:] != points[:-1]).any(1)
    kept: list[DieLine] = []
    for line, end, count in zip(lines, np.cumsum([len(own) for own in held]).tolist(), map(len, held), strict=True):
        own = slice(end - count, end)
        for start, stop in _good_runs(good[own]):
            first = new[own][start:stop].copy()
            first[0] = True
            part = points[own][start:stop][first]
            if len(part) > 1:
                kept.append(replace(line, points=part))
    return kept


def _good_runs(good: Bools) -> list[tuple[int, int]]:
    """Half-open ranges of good points."""
    if good.all():
        return [(0, len(good))] if len(good) else []
    padded = np.concatenate([[False], good, [False]])
    edges = np.flatnonzero(padded[1:] != padded[:-1]).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def segments_of(lines: Sequence[DieLine]) -> Segments:
    """Straight pieces of all lines; roles must be known by now (``unknown`` counts as cut)."""
    if not lines:
        return Segments(np.zeros((0, 4)), np.zeros(0, np.int8), np.zeros(0, np.intp))
    counts = np.array([len(line.points) for line in lines])
    points = np.concatenate([line.points for line in lines])
    owner = np.repeat(np.arange(len(lines)), counts)
    same = owner[:-1] == owner[1:]
    roles = np.array([0 if line.role == "unknown" else ROLES.index(line.role) for line in lines], np.int8)
    xy = np.hstack([points[:-1], points[1:]])[same]
    return Segments(xy, roles[owner[:-1][same]], owner[:-1][same].astype(np.intp))


def components(count: int, a: Ints, b: Ints) -> Ints:
    """Labels 0 … of the connected components of ``count`` nodes joined by the pairs (a, b)."""
    labels = np.arange(count)
    while True:
        low = np.minimum(labels[a], labels[b])
        before = labels.copy()
        for side in (labels[a], labels[b], a, b):
            np.minimum.at(labels, side, low)
        labels = labels[labels]
        if np.array_equal(labels, before):
            break
    return np.unique(labels, return_inverse=True)[1].astype(np.intp)


def lengths_of(xy: Floats) -> Floats:
    """Lengths of segments (n, 4)."""
    return np.hypot(xy[:, 2] - xy[:, 0], xy[:, 3] - xy[:, 1])


def middles_of(xy: Floats) -> Floats:
    """Middles (n, 2) of segments (n, 4)."""
    return (xy[:, :2] + xy[:, 2:]) / 2


def near_segments(places: Floats, xy: Floats, within_mm: float) -> tuple[Ints, Ints]:
    """Pairs of a place (n, 2) and a segment (m, 4) that lie within a distance of each other, as indices of both."""
    # A tree asks for the bounding box only, and that of a line is made in less time than a box.
    about = as_linestrings(np.hstack([places - within_mm, places + within_mm]))
    place, segment = shapely.STRtree(as_linestrings(xy)).query(about)
    start, step = xy[segment, :2], xy[segment, 2:] - xy[segment, :2]
    along = ((places[place] - start) * step).sum(1) / np.maximum((step * step).sum(1), 1e-18)
    away = places[place] - start - np.clip(along, 0, 1)[:, None] * step
    near = np.hypot(away[:, 0], away[:, 1]) <= within_mm
    return place[near], segment[near]


SAMPLE: Final = 300


def crossings(segments: Segments) -> float:
    """About how often segments cross or touch each other beyond the two ends of each, from a sample of them."""
    shapes = segments.shapes()
    return pairs_near(shapes, shapes, 0.0) / 2 - 1.5 * len(segments)


def pairs_near(shapes: Shapes, others: Shapes, within_mm: float) -> float:
    """About how many pairs of shapes lie so near each other, each with itself included."""
    count = len(shapes)
    if not count or not len(others):
        return 0.0
    chosen = shapes
    if count > SAMPLE:
        chosen = shapes[np.random.default_rng(1).choice(count, SAMPLE, replace=False)]
    found = shapely.STRtree(others).query(chosen, predicate="dwithin", distance=within_mm)
    return float(found.shape[1]) * count / len(chosen)
