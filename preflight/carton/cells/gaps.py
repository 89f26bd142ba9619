"""Small gaps in the net of die lines: which loose end goes where."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.carton.lines.drawn_lines import (
    CUT,
    Bools,
    Floats,
    Ints,
    Segments,
    as_linestrings,
    lengths_of,
    middles_of,
    near_segments,
)

WIDEST_GAP_MM: Final = 1.0
SIDEWAYS_MM: Final = 0.5
"""A loose end is carried on straight; sideways it is only moved by half of that."""
COUNTED_GAP_MM: Final = 0.05
"""Smaller gaps are rounding, and nobody needs to hear of them."""
SHORT_CREASE_MM: Final = 8.0
"""A crease that would meet a line within this is taken to be drawn short."""
OWN_CHAIN_MM: Final = 5.0
ON_LINE_MM: Final = 0.003
AT_END_MM: Final = 0.01
SAME_WAY_COS: Final = 0.94  # cosine of 20 degrees
IMPRECISE_MM: Final = 0.05
"""Line ends that others join are moved by no more than this."""


@dataclass(frozen=True)
class Bridge:
    """A gap that was closed."""

    at: tuple[float, float]
    length_mm: float
    crease: bool
    """A crease that was carried on, and no gap in a cut."""
    ends: tuple[tuple[float, float], ...]
    """The ends of lines that reached for what lies across it."""


@dataclass(frozen=True)
class ShortCrease:
    """A crease that stops short of the line it should meet by more than is closed."""

    at: tuple[float, float]
    short_mm: float


def number_nodes(points: Floats) -> Ints:
    """A number for each place (n, 2); places that agree to a millionth of a millimetre have the same one."""
    key = np.round(points[:, 0], 6) + 0.0 + 1j * (np.round(points[:, 1], 6) + 0.0)
    return np.unique(key, return_inverse=True)[1].astype(np.intp).reshape(-1)


def roles_at(source: Segments, places: Floats) -> tuple[NDArray[np.int8], Ints]:
    """Role and drawn line of the segments that run through the places (n, 2); the cut where there are several."""
    place, found = near_segments(places, source.xy, ON_LINE_MM)
    order = np.lexsort((source.line[found], -source.role[found].astype(int)))
    place, found = place[order], found[order]
    role = np.full(len(places), len(source) and int(source.role.max()), np.int8)
    line = np.full(len(places), -1, np.intp)
    role[place], line[place] = source.role[found], source.line[found]  # cuts come last, and so they hold
    return role, line


@dataclass(frozen=True)
class _Chains:
    """Lines between junctions: their segments one after another."""

    xy: Floats  # (n, 4)
    chain: Ints  # (n,)
    start_mm: Floats  # (n,) along the chain
    length_mm: Floats  # (chains,)

    @classmethod
    def of(cls, segments: Segments) -> _Chains:
        merged = shapely.get_parts(shapely.line_merge(shapely.unary_union(segments.shapes())))
        merged = merged[(shapely.get_type_id(merged) == 1) & (shapely.length(merged) > 0)]
        points, owner = shapely.get_coordinates(merged, return_index=True)
        inner = owner[:-1] == owner[1:]
        xy, chain = np.hstack([points[:-1], points[1:]])[inner], owner[:-1][inner].astype(np.intp)
        steps = lengths_of(xy)
        run = np.cumsum(steps) - steps
        first = np.searchsorted(chain, np.arange(len(merged)))
        total = np.bincount(chain, weights=steps, minlength=len(merged)).astype(np.float64)
        return cls(xy, chain, run - run[first][chain], total)


@dataclass(frozen=True)
class _LineEnds:
    """Ends of lines that may have to be brought to another line."""

    xy: Floats  # (k, 2)
    outward: Floats  # (k, 2)
    chain: Ints  # (k,) -1 where others join it
    along_mm: Floats  # (k,) on the chain
    folds: Bools  # (k,)
    loose: Bools  # (k,) nothing joins it

    def __len__(self) -> int:
        return len(self.xy)


def _loose_ends(chains: _Chains, source: Segments) -> _LineEnds:
    """Ends of chains that nothing joins."""
    count = len(chains.length_mm)
    first = np.searchsorted(chains.chain, np.arange(count))
    last = np.searchsorted(chains.chain, np.arange(count), side="right") - 1
    places = np.vstack([chains.xy[first, :2], chains.xy[last, 2:]])
    back = np.vstack([chains.xy[first, :2] - chains.xy[first, 2:], chains.xy[last, 2:] - chains.xy[last, :2]])
    nodes = number_nodes(places)
    loose = np.flatnonzero(np.bincount(nodes)[nodes] == 1)
    outward = _unit(back[loose])
    along = np.concatenate([np.zeros(count), chains.length_mm])[loose]
    role, _ = roles_at(source, places[loose] - outward * 0.002)
    chain = np.concatenate([np.arange(count), np.arange(count)])[loose]
    return _LineEnds(places[loose], outward, chain, along, role != CUT, np.ones(len(loose), bool))


def _joined_ends(source: Segments, loose: _LineEnds) -> _LineEnds:
    """Ends of drawn lines where another line joins: a corner of two creases may still be short of the cut."""
    ends = source.xy.reshape(-1, 2)
    other = np.hstack([source.xy[:, 2:], source.xy[:, :2]]).reshape(-1, 2)
    node = number_nodes(np.vstack([ends, loose.xy]))
    line = np.repeat(source.line, 2)
    key = line * (int(node.max()) + 1) + node[: len(ends)]
    _, inverse, times = np.unique(key, return_inverse=True, return_counts=True)
    chosen = np.flatnonzero((times[inverse] == 1) & ~np.isin(node[: len(ends)], node[len(ends) :]))
    none = np.full(len(chosen), -1, np.intp)
    folds = np.repeat(source.role, 2)[chosen] != CUT
    outward = _unit(ends[chosen] - other[chosen])
    return _LineEnds(ends[chosen], outward, none, np.zeros(len(chosen)), folds, np.zeros(len(chosen), bool))


def _unit(steps: Floats) -> Floats:
    unit: Floats = steps / np.maximum(np.hypot(*steps.T), 1e-12)[:, None]
    return unit


@dataclass(frozen=True)
class Closing:
    """Segments (n, 4) with corners where something was brought to them, and the bridges (k, 4) that do so."""

    segments: Floats
    bridges: Floats
    bridge_roles: NDArray[np.int8]
    found: list[Bridge]
    short: list[ShortCrease]
    loose_cuts: Floats


def close_gaps(source: Segments) -> Closing:
    """Brings line ends to what they were meant to meet.

    A loose end goes to the nearest of: the line it meets when carried on straight, another loose end, a line beside
    it. Where other lines join a crease that is short of the cut, it is carried on as well.
    """
    chains = _Chains.of(source)
    loose = _loose_ends(chains, source)
    joined = _joined_ends(source, loose)
    parts = zip(*((e.xy, e.outward, e.chain, e.along_mm, e.folds, e.loose) for e in (loose, joined)), strict=True)
    ends = _LineEnds(*(np.concatenate(part) for part in parts))
    if not len(ends):
        return Closing(chains.xy, np.zeros((0, 4)), np.zeros(0, np.int8), [], [], np.zeros((0, 2)))
    tree = shapely.STRtree(as_linestrings(chains.xy))
    end, target, place, far = _targets(chains, ends, tree, source)
    real = far > 1e-6
    role = np.where(ends.folds[end], _fold_roles(source, ends, end), CUT).astype(np.int8)
    found = _counted(ends.xy[end], place, far, ends.folds[end])
    left = np.setdiff1d(np.flatnonzero(ends.loose), end)
    short = _short_creases(chains, tree, ends, left[ends.folds[left]])
    bridges = np.hstack([ends.xy[end], place])[real]
    return Closing(
        _split(chains.xy, target, place), bridges, role[real], found, short, ends.xy[left[~ends.folds[left]]]
    )


def _fold_roles(source: Segments, ends: _LineEnds, chosen: Ints) -> NDArray[np.int8]:
    role, _ = roles_at(source, ends.xy[chosen] - ends.outward[chosen] * 0.002)
    return role


def _targets(
    chains: _Chains, ends: _LineEnds, tree: shapely.STRtree, source: Segments
) -> tuple[Ints, Ints, Floats, Floats]:
    """For the ends that have one: the end, the segment it is brought to, the place there and how far that is."""
    end, seg = tree.query(shapely.points(ends.xy), predicate="dwithin", distance=WIDEST_GAP_MM)
    ahead, hit = _ahead(ends.xy[end], ends.outward[end], chains.xy[seg])
    beside, foot, at_corner = _beside(ends.xy[end], chains.xy[seg])
    cuts = roles_at(source, middles_of(chains.xy))[0][seg] == CUT
    touches = beside < 1e-9
    done = np.zeros(len(ends), bool)
    done[end[touches & cuts]] = True  # a crease that meets the cut is where it should be
    own = (chains.chain[seg] == ends.chain[end]) & (_along_chain(chains, ends, end, seg) < OWN_CHAIN_MM)
    fits = np.where(ends.loose[end], ~own, ~touches & ~(ends.folds[end] & (done[end] | ~cuts)))
    reach = np.where(ends.loose[end] | ends.folds[end], WIDEST_GAP_MM, IMPRECISE_MM)
    loose_corner = at_corner & _is_loose(foot, ends.xy[ends.loose])
    near = beside <= np.minimum(reach, np.where(loose_corner, WIDEST_GAP_MM, SIDEWAYS_MM))
    use_straight = (ahead <= reach) & ~(near & (beside < 0.5 * ahead))
    far = np.where(use_straight, ahead, np.where(near, beside, np.inf))
    far = np.where(fits, far, np.inf)
    place: Floats = np.round(np.where(use_straight[:, None], hit, foot), 6).astype(np.float64)
    order = np.lexsort((far, end))
    order = order[np.isfinite(far[order])]
    chosen = order[np.unique(end[order], return_index=True)[1]]
    return end[chosen], seg[chosen], place[chosen], far[chosen]


def _along_chain(chains: _Chains, ends: _LineEnds, end: Ints, seg: Ints) -> Floats:
    """How far along its own chain a loose end is from a segment of that chain."""
    before = chains.start_mm[seg]
    after = chains.length_mm[chains.chain[seg]] - before - lengths_of(chains.xy[seg])
    return np.where(ends.along_mm[end] == 0, before, after)


def _ahead(p: Floats, direction: Floats, xy: Floats) -> tuple[Floats, Floats]:
    """How far ahead in its direction each place meets its segment (inf where it does not), and where."""
    d, e, q = direction, xy[:, 2:] - xy[:, :2], xy[:, :2] - p
    cross = d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]
    safe = np.where(np.abs(cross) < 1e-9, 1.0, cross)
    t = (q[:, 0] * e[:, 1] - q[:, 1] * e[:, 0]) / safe
    s = (q[:, 0] * d[:, 1] - q[:, 1] * d[:, 0]) / safe
    slack = 0.05 / np.maximum(np.hypot(*e.T), 1e-9)
    meets = (np.abs(cross) >= 1e-9) & (t >= -1e-9) & (s >= -slack) & (s <= 1 + slack)
    place = xy[:, :2] + np.clip(s, 0, 1)[:, None] * e
    return np.where(meets, np.hypot(*(place - p).T), np.inf), place


def _beside(p: Floats, xy: Floats) -> tuple[Floats, Floats, Bools]:
    """Nearest place of each segment, how far it is, and whether it is an end of the segment."""
    e = xy[:, 2:] - xy[:, :2]
    s = ((p - xy[:, :2]) * e).sum(1) / np.maximum((e * e).sum(1), 1e-18)
    foot = xy[:, :2] + np.clip(s, 0, 1)[:, None] * e
    return np.hypot(*(foot - p).T), foot, (s <= 1e-9) | (s >= 1 - 1e-9)


def _is_loose(places: Floats, ends: Floats) -> Bools:
    both = number_nodes(np.vstack([ends, places]))
    loose: Bools = np.isin(both[len(ends) :], both[: len(ends)])
    return loose


def _counted(ends: Floats, places: Floats, far: Floats, crease: Bools) -> list[Bridge]:
    """One entry a gap, also where both ends reached for each other."""
    found: dict[tuple[float, ...], Bridge] = {}
    for p, q, length, folds in zip(ends, places, far, crease, strict=True):
        key = tuple(np.round(p + q, 3))
        if length > COUNTED_GAP_MM:
            middle = (float(p[0] + q[0]) / 2, float(p[1] + q[1]) / 2)
            known = found.setdefault(key, Bridge(middle, float(length), bool(folds), ()))
            found[key] = replace(known, ends=(*known.ends, (float(p[0]), float(p[1]))))
    return list(found.values())


def loose_as_drawn(drawn: Segments, bridge: Bridge) -> bool:
    """Whether an end at a gap is loose in the lines as drawn, where none of two on each other was left out yet.

    All that reaches a loose end leaves it in one direction.
    """
    ends = np.array(bridge.ends)
    place, found = near_segments(ends, drawn.xy, AT_END_MM)
    for number in range(len(ends)):
        corners = drawn.xy[found[place == number]].reshape(-1, 2)
        ways = _unit(corners[np.hypot(*(corners - ends[number]).T) > 2 * AT_END_MM] - ends[number])
        if not len(ways) or (ways @ ways[0]).min() > SAME_WAY_COS:
            return True
    return False


def _short_creases(chains: _Chains, tree: shapely.STRtree, every: _LineEnds, ends: Ints) -> list[ShortCrease]:
    if not len(ends):
        return []
    p, d = every.xy[ends], every.outward[ends]
    rays = as_linestrings(np.hstack([p + d * 0.01, p + d * SHORT_CREASE_MM]))
    ray, seg = tree.query(rays, predicate="intersects")
    far, _ = _ahead(p[ray], d[ray], chains.xy[seg])
    nearest = np.full(len(ends), np.inf)
    np.minimum.at(nearest, ray, far)
    return [
        ShortCrease((float(x), float(y)), float(gap))
        for (x, y), gap in zip(p, nearest, strict=True)
        if WIDEST_GAP_MM < gap <= SHORT_CREASE_MM
    ]


def _split(xy: Floats, target: Ints, place: Floats) -> Floats:
    """Segments with the places put in as corners, so that what was brought there really touches."""
    whole = np.ones(len(xy), bool)
    whole[target] = False
    order = np.lexsort((np.hypot(*(place - xy[target, :2]).T), target))
    target, place = target[order], place[order]
    parts = []
    for group in np.split(np.arange(len(target)), np.flatnonzero(np.diff(target)) + 1):
        if len(group):
            corners = np.vstack([xy[target[group[0]], :2], place[group], xy[target[group[0]], 2:]])
            parts.append(np.hstack([corners[:-1], corners[1:]]))
    return np.vstack([xy[whole], *parts]) if parts else xy
