"""Cut edges of the blanks in runs: along corners, beside a neighbour or a slot, on flaps that nobody sees."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from preflight.carton.die import CutEdge
from preflight.carton.lines.drawn_lines import Bools, Floats, Ints, as_linestrings, lengths_of

CORNER_COS: Final = 0.94  # cosine of 20 degrees
SHORTEST_RUN_MM: Final = 1.5
LOOK_MM: Final = 12.0
"""How far out a neighbour or the other side of a slot is looked for."""
SPACING_MM: Final = 2.0
COMMON_MM: Final = 0.15
BANDS_MM: Final = (COMMON_MM, 0.75, 1.5, 3.0, 6.0, LOOK_MM)
"""Distances that are alike: a run keeps to one of these, so that its nearest place speaks for all of it."""


@dataclass(frozen=True)
class _Ring:
    """One ring of a blank as segments with the blank on their left."""

    blank: int
    edge: Literal["outer", "cut-out"]
    xy: Floats


def cut_edges(outlines: Sequence[Polygon], hidden: Sequence[Sequence[Polygon]]) -> list[list[CutEdge]]:
    """Runs of cut line for each outline. ``hidden`` holds the glue and dust flaps of each.

    A run ends at a corner of more than 20 degrees, where a flap begins, and where the way to the next cut changes.
    """
    rings = [ring for number, outline in enumerate(outlines) for ring in _rings(number, outline)]
    if not rings:
        return [[] for _ in outlines]
    every = np.vstack([ring.xy for ring in rings])
    tree = shapely.STRtree(as_linestrings(every))
    found: list[list[CutEdge]] = [[] for _ in outlines]
    for ring in rings:
        pieces = _pieces(ring.xy)
        gap = _gaps(pieces, every, tree)
        unseen = _on_flaps(pieces, hidden[ring.blank])
        label = _run_labels(pieces, np.searchsorted(BANDS_MM, gap), unseen)
        found[ring.blank] += _edges_of(ring, pieces, _in_order(label), gap, unseen)
    return found


def _edges_of(ring: _Ring, pieces: Floats, runs: Sequence[Ints], gap: Floats, unseen: Bools) -> Iterator[CutEdge]:
    """The cut edges that runs of pieces make up."""
    points = np.concatenate([np.vstack([pieces[run, :2], pieces[run[-1:], 2:]]) for run in runs])
    lines = shapely.linestrings(points, indices=np.repeat(np.arange(len(runs)), [len(run) + 1 for run in runs]))
    for run, line in zip(runs, lines, strict=True):
        near = float(gap[run].min())
        neighbour = None if near > LOOK_MM else (0.0 if near <= COMMON_MM else round(near, 2))
        yield CutEdge(line, ring.edge, neighbour, bool(2 * np.count_nonzero(unseen[run]) > len(run)))


def _rings(number: int, outline: Polygon) -> list[_Ring]:
    shape = orient(outline)  # holes run clockwise: the blank is on the left of both
    found = []
    for place, ring in enumerate((shape.exterior, *shape.interiors)):
        points = np.asarray(ring.coords)[:, :2]
        xy = np.hstack([points[:-1], points[1:]])
        found.append(_Ring(number, "cut-out" if place else "outer", xy[lengths_of(xy) > 1e-6]))
    return found


def _pieces(xy: Floats) -> Floats:
    """Segments cut into pieces of about two millimetres."""
    counts = np.maximum(1, np.ceil(lengths_of(xy) / SPACING_MM).astype(int))
    owner = np.repeat(np.arange(len(xy)), counts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    start, whole = xy[owner, :2], xy[owner, 2:] - xy[owner, :2]
    return np.hstack(
        [start + whole * (step / counts[owner])[:, None], start + whole * ((step + 1) / counts[owner])[:, None]]
    )


def _gaps(pieces: Floats, every: Floats, tree: shapely.STRtree) -> Floats:
    """Clear way in mm from the middle of each piece outward to the next cut; inf where there is none in sight.

    A cut that runs the other way on the same line is a common knife: 0.
    """
    step = pieces[:, 2:] - pieces[:, :2]
    unit = step / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    outward = np.column_stack([unit[:, 1], -unit[:, 0]])
    middle = (pieces[:, :2] + pieces[:, 2:]) / 2
    rays = as_linestrings(np.hstack([middle - outward * COMMON_MM, middle + outward * LOOK_MM]))
    ray, seg = tree.query(rays, predicate="intersects")
    e = every[seg, 2:] - every[seg, :2]
    q = every[seg, :2] - middle[ray]
    facing = (e * unit[ray]).sum(1) / np.maximum(np.hypot(*e.T), 1e-9)
    cross = outward[ray, 0] * e[:, 1] - outward[ray, 1] * e[:, 0]
    far = (q[:, 0] * e[:, 1] - q[:, 1] * e[:, 0]) / np.where(np.abs(cross) < 1e-9, np.inf, cross)
    gap = np.full(len(pieces), np.inf)
    fits = (facing < -0.2) & (far >= -COMMON_MM) & (far <= LOOK_MM)
    np.minimum.at(gap, ray[fits], np.maximum(far[fits], 0.0))
    return gap


def _on_flaps(pieces: Floats, flaps: Sequence[Polygon]) -> Bools:
    if not flaps:
        return np.zeros(len(pieces), bool)
    middle = shapely.points((pieces[:, :2] + pieces[:, 2:]) / 2)
    place, _ = shapely.STRtree(list(flaps)).query(middle, predicate="dwithin", distance=0.01)
    mask = np.zeros(len(pieces), bool)
    mask[place] = True
    return mask


def _run_labels(pieces: Floats, band: NDArray[np.intp], unseen: Bools) -> Ints:
    """A number for each piece of a closed ring; runs too short for anything join the one before."""
    step = pieces[:, 2:] - pieces[:, :2]
    length = np.hypot(*step.T)
    before = np.roll(step, 1, axis=0)
    turn = (step * before).sum(1) / np.maximum(length * np.roll(length, 1), 1e-12)
    starts = (turn < CORNER_COS) | (band != np.roll(band, 1)) | (unseen != np.roll(unseen, 1))
    if not starts.any():
        return np.zeros(len(pieces), np.intp)
    first = int(np.argmax(starts))
    label = np.roll(np.cumsum(np.roll(starts, -first)) - 1, first)
    total = np.bincount(label, weights=length)
    into: Ints = np.arange(len(total), dtype=np.intp)
    short = total < SHORTEST_RUN_MM
    for run in np.flatnonzero(short[1:]) + 1:
        into[run] = into[run - 1]
    if short[0]:
        into[into == 0] = into[-1]
    return np.asarray(into[label], np.intp)


def _in_order(label: Ints) -> list[Ints]:
    """Pieces of each run in the order of the ring, also where a run goes past the ring's first piece."""
    changes = np.flatnonzero(label != np.roll(label, 1))
    if not len(changes):
        return [np.arange(len(label))]
    turned = np.roll(np.arange(len(label)), -int(changes[0]))
    return np.split(turned, np.flatnonzero(np.diff(label[turned])) + 1)
