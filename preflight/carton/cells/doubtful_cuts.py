"""Where a cut outline is doubtful: creases at its edge, two cut lines side by side, blanks that hang on a knife."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.gaps import WIDEST_GAP_MM
from preflight.carton.lines.drawn_lines import CUT, Bools, Floats, as_linestrings, components, lengths_of

DISAGREE_MM: Final = (0.3, 1.5)
"""Cut lines this far apart are one line that was drawn twice: nearer ones are one, farther ones a second outline."""
LEAST_RUN_MM: Final = 8
PARALLEL: Final = 0.985  # cosine of 10 degrees
OPEN_EDGE_MM: Final = 2.0
WIDEST_OPENING_MM: Final = 10.0
MOST_TOLD: Final = 5


@dataclass
class Doubts:
    """What is doubtful, in words, and where. A doubt without a place is about the whole outline."""

    says: list[str] = field(default_factory=list)
    places: list[Box] = field(default_factory=list)
    everywhere: bool = False

    def add(self, says: str, places: Sequence[Box] = ()) -> None:
        """One more doubt."""
        self.says.append(says)
        self.places += places
        self.everywhere |= not places


def look_for_doubts(cells: Cells, groups: Sequence[int], outlines: Sequence[Polygon], doubts: Doubts) -> None:
    """Adds what is doubtful about the outlines of the chosen groups."""
    _edges_that_fold(cells, groups, doubts)
    _two_cut_lines(cells, groups, doubts)
    _hanging_on_a_knife(cells, groups, outlines, doubts)


def openings(ends: Floats) -> list[str]:
    """Where a cut line that encloses nothing stands open, from its loose ends (k, 2)."""
    if len(ends) < 2:
        return []
    points = shapely.points(ends)
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=WIDEST_OPENING_MM)
    pairs = a < b
    far = np.hypot(*(ends[a[pairs]] - ends[b[pairs]]).T)
    order = np.argsort(far)
    order = order[far[order] > WIDEST_GAP_MM][:MOST_TOLD]
    middle = (ends[a[pairs]] + ends[b[pairs]])[order] / 2
    return [f"a gap of {gap:.1f} mm at {at(place)}" for gap, place in zip(far[order], middle, strict=True)]


def at(place: Floats) -> str:
    """A place in words: ``(12, 40)``."""
    return f"({place[0]:.0f}, {place[1]:.0f})"


def box_of(xy: Floats, margin_mm: float = 0.5) -> Box:
    """Bounding box of points (k, 2) with a margin."""
    low, high = xy.min(0) - margin_mm, xy.max(0) + margin_mm
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _edges_that_fold(cells: Cells, groups: Sequence[int], doubts: Doubts) -> None:
    """A blank that ends in a crease has lost what lay beyond it: the cut is not closed there."""
    net = cells.net
    for number, group in enumerate(groups, 1):
        edge = cells.boundary(group) & (net.role != CUT)
        if lengths_of(net.xy[edge]).sum() < OPEN_EDGE_MM:
            continue
        places = net.xy[edge].reshape(-1, 2)
        where = at(places.mean(0))
        doubts.add(f"blank {number} ends in a crease at {where}: the cut is not closed beyond it", [box_of(places)])


def _two_cut_lines(cells: Cells, groups: Sequence[int], doubts: Doubts) -> None:
    """Cut lines that run along the outline for a stretch, close enough to be meant for it."""
    net = cells.net
    chosen = np.isin(cells.group_beside, groups)
    boundary = np.zeros(len(net), bool)
    for group in groups:
        boundary |= cells.boundary(group)
    other = (net.role == CUT) & ~boundary & ~(chosen.all(1))
    if not other.any() or not boundary.any():
        return
    samples, direction = _samples(net.xy[other])
    edge = net.xy[boundary & (net.role == CUT)]
    far, apart = _nearest_parallel(samples, direction, edge)
    close = (far > DISAGREE_MM[0]) & (far <= DISAGREE_MM[1])
    if close.sum() < LEAST_RUN_MM:
        return
    samples, far = samples[close], far[close]
    points = shapely.points(samples)
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=2.5)
    label = components(len(samples), a.astype(np.intp), b.astype(np.intp))
    runs = [np.flatnonzero(label == run) for run in np.unique(label)]
    runs = sorted((run for run in runs if len(run) >= LEAST_RUN_MM), key=lambda run: -float(np.median(far[run])))
    for run in runs[:MOST_TOLD]:
        place = samples[run[len(run) // 2]]
        words = f"two cut lines disagree by {np.median(far[run]):.1f} mm at {at(place)}"
        doubts.add(words, [box_of(samples[run], DISAGREE_MM[1])])
    for run in runs[MOST_TOLD:]:
        doubts.places.append(box_of(samples[run], DISAGREE_MM[1]))


def _samples(xy: Floats) -> tuple[Floats, Floats]:
    """A point for every millimetre of the segments, and the direction there."""
    length = lengths_of(xy)
    counts = np.maximum(1, np.round(length).astype(int))
    owner = np.repeat(np.arange(len(xy)), counts)
    step = (np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts) + 0.5) / counts[owner]
    whole = xy[:, 2:] - xy[:, :2]
    unit = whole / np.maximum(length, 1e-9)[:, None]
    return xy[owner, :2] + whole[owner] * step[:, None], unit[owner]


def _nearest_parallel(samples: Floats, direction: Floats, edge: Floats) -> tuple[Floats, Floats]:
    """Distance from each sample to the nearest edge, inf where that does not run the same way; and to any edge."""
    tree = shapely.STRtree(as_linestrings(edge))
    (sample, seg), near = tree.query_nearest(
        shapely.points(samples), max_distance=DISAGREE_MM[1], return_distance=True, all_matches=False
    )
    step = edge[seg, 2:] - edge[seg, :2]
    along = np.abs((step * direction[sample]).sum(1)) / np.maximum(np.hypot(*step.T), 1e-9)
    far, apart = np.full(len(samples), np.inf), np.full(len(samples), np.inf)
    apart[sample] = near
    far[sample[along > PARALLEL]] = near[along > PARALLEL]
    return far, apart


def _hanging_on_a_knife(cells: Cells, groups: Sequence[int], outlines: Sequence[Polygon], doubts: Doubts) -> None:
    """A blank unlike all others that hangs on another by a cut line: a line drawn across one blank, perhaps."""
    number = {group: n for n, group in enumerate(groups)}
    for one, other in sorted(knives(cells, groups)):
        small, large = sorted((number[one], number[other]), key=lambda n: float(outlines[n].area))
        if any(_alike(outlines[small], shape) for n, shape in enumerate(outlines) if n != small):
            continue
        shared = _between(cells, groups[small], groups[large])
        crossed = _folds_run_across(cells, shared)
        if crossed or outlines[small].area < 0.25 * outlines[large].area:
            places = cells.net.xy[shared].reshape(-1, 2)
            words = (
                f"cut outline uncertain at {at(places.mean(0))}: a line in the cut ink runs across blank {large + 1}"
            )
            doubts.add(words, [box_of(np.array(outlines[n].bounds).reshape(2, 2)) for n in (small, large)])


def knives(cells: Cells, groups: Sequence[int]) -> set[tuple[int, int]]:
    """Pairs of chosen groups that share at least 2 mm of cut line."""
    sides = np.sort(cells.group_beside, axis=1)
    mask = (cells.net.role == CUT) & np.isin(sides, groups).all(1) & (sides[:, 0] != sides[:, 1])
    if not mask.any():
        return set()
    pairs, index = np.unique(sides[mask], axis=0, return_inverse=True)
    shared = np.bincount(index.reshape(-1), weights=lengths_of(cells.net.xy[mask]))
    return {(int(a), int(b)) for (a, b), length in zip(pairs, shared, strict=True) if length >= OPEN_EDGE_MM}


def _between(cells: Cells, one: int, other: int) -> Bools:
    sides = cells.group_beside
    mask: Bools = (cells.net.role == CUT) & (
        ((sides[:, 0] == one) & (sides[:, 1] == other)) | ((sides[:, 0] == other) & (sides[:, 1] == one))
    )
    return mask


def _folds_run_across(cells: Cells, shared: Bools) -> bool:
    """Folds meet the shared cut from both sides at one place."""
    net = cells.net
    nodes = np.unique(np.concatenate([net.a[shared], net.b[shared]]))
    folds = net.role != CUT
    ends = np.concatenate([net.a[folds], net.b[folds]])
    met, times = np.unique(ends[np.isin(ends, nodes)], return_counts=True)
    return bool(len(met) and (times >= 2).any())


def _alike(one: Polygon, other: Polygon) -> bool:
    return bool(abs(one.area - other.area) < 0.01 * one.area and abs(one.length - other.length) < 0.01 * one.length)
