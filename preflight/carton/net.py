"""The net of die lines: noded, with small gaps closed and short creases carried on to the next line."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.carton.lines import CUT, ROLES, Bools, Floats, Ints, Segments, as_linestrings, lengths_of, middles_of

WIDEST_GAP_MM: Final = 1.0
SIDEWAYS_MM: Final = 0.5
"""A loose end is carried on straight; sideways it is only moved by half of that."""
COUNTED_GAP_MM: Final = 0.05
"""Smaller gaps are rounding, and nobody needs to hear of them."""
SHORT_CREASE_MM: Final = 8.0
"""A crease that would meet a line within this is taken to be drawn short."""
OWN_CHAIN_MM: Final = 5.0
ON_LINE_MM: Final = 0.003


@dataclass(frozen=True)
class Bridge:
    """A gap that was closed."""

    at: tuple[float, float]
    length_mm: float
    crease: bool
    """A crease that was carried on, and no gap in a cut."""


@dataclass(frozen=True)
class ShortCrease:
    """A crease that stops short of the line it should meet by more than is closed."""

    at: tuple[float, float]
    short_mm: float


@dataclass(frozen=True)
class Net:
    """Noded segments: ``xy`` (n, 4), node numbers ``a`` and ``b`` (n,), ``role`` (n,), ``line`` (n,) as drawn."""

    xy: Floats
    a: Ints
    b: Ints
    role: NDArray[np.int8]
    line: Ints
    bridges: list[Bridge] = field(default_factory=list)
    short: list[ShortCrease] = field(default_factory=list)
    loose_cuts: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    """Ends of cut lines (k, 2) that meet nothing."""

    def __len__(self) -> int:
        return len(self.xy)

    def without(self, mask: Bools) -> Net:
        """The net less some segments."""
        k = ~mask
        parts = (self.xy[k], self.a[k], self.b[k], self.role[k], self.line[k])
        return Net(*parts, self.bridges, self.short, self.loose_cuts)

    def folding(self, mask: Bools) -> Net:
        """The net with some segments taken for creases."""
        role = np.where(mask, np.int8(ROLES.index("crease")), self.role)
        return Net(self.xy, self.a, self.b, role, self.line, self.bridges, self.short, self.loose_cuts)


def build_net(segments: Segments) -> Net:
    """Nodes the segments against each other and closes gaps of up to a millimetre.

    A loose end goes to the nearest of: the line it meets when carried on straight, another loose end, a line
    beside it. Roles stay with the segments; where lines of two roles lie on each other the cut holds.
    """
    chains = _Chains.of(segments)
    closing = _close(chains, segments)
    xy = np.vstack([closing.segments, closing.bridges])
    noded = shapely.unary_union(as_linestrings(xy))
    edges = np.array([e for e in shapely.get_parts(noded) if e.geom_type == "LineString"], object)
    edges = edges[shapely.length(edges) > 0] if len(edges) else edges
    points, owner = shapely.get_coordinates(edges, return_index=True)
    inner = owner[:-1] == owner[1:]
    xy = np.hstack([points[:-1], points[1:]])[inner]
    source = Segments(
        np.vstack([segments.xy, closing.bridges]),
        np.concatenate([segments.role, closing.bridge_roles]),
        np.concatenate([segments.line, np.full(len(closing.bridges), -1)]),
    )
    role, line = roles_at(source, middles_of(xy))
    node = number_nodes(xy.reshape(-1, 2)).reshape(-1, 2)
    return Net(xy, node[:, 0], node[:, 1], role, line, closing.found, closing.short, closing.loose_cuts)


def number_nodes(points: Floats) -> Ints:
    """A number for each place (n, 2); places that agree to a millionth of a millimetre have the same one."""
    key = np.round(points[:, 0], 6) + 0.0 + 1j * (np.round(points[:, 1], 6) + 0.0)
    return np.unique(key, return_inverse=True)[1].astype(np.intp).reshape(-1)


def roles_at(source: Segments, places: Floats) -> tuple[NDArray[np.int8], Ints]:
    """Role and drawn line of the segments that run through the places (n, 2); the cut where there are several."""
    tree = shapely.STRtree(source.shapes())
    place, found = tree.query(shapely.points(places), predicate="dwithin", distance=ON_LINE_MM)
    order = np.lexsort((source.line[found], -source.role[found].astype(int)))
    place, found = place[order], found[order]
    role = np.full(len(places), len(source) and int(source.role.max()), np.int8)
    line = np.full(len(places), -1, np.intp)
    role[place], line[place] = source.role[found], source.line[found]  # cuts come last, and so they hold
    return role, line


@dataclass(frozen=True)
class _Chains:
    """Lines between junctions: their segments one after another, and their loose ends."""

    xy: Floats  # (n, 4)
    chain: Ints  # (n,)
    start_mm: Floats  # (n,) along the chain
    length_mm: Floats  # (chains,)
    ends: Floats  # (k, 2) loose ends
    ends_chain: Ints  # (k,)
    ends_along_mm: Floats  # (k,)
    outward: Floats  # (k, 2)

    @classmethod
    def of(cls, segments: Segments) -> _Chains:
        merged = shapely.get_parts(shapely.line_merge(shapely.unary_union(segments.shapes())))
        merged = np.array([g for g in merged if g.geom_type == "LineString" and g.length > 0], object)
        points, owner = shapely.get_coordinates(merged, return_index=True)
        inner = owner[:-1] == owner[1:]
        xy, chain = np.hstack([points[:-1], points[1:]])[inner], owner[:-1][inner]
        steps = lengths_of(xy)
        total = np.bincount(chain, weights=steps, minlength=len(merged))
        first = np.searchsorted(chain, np.arange(len(merged)))
        last = np.searchsorted(chain, np.arange(len(merged)), side="right") - 1
        run = np.cumsum(steps) - steps
        nodes = number_nodes(np.vstack([xy[first, :2], xy[last, 2:]]))
        loose = np.bincount(nodes)[nodes] == 1
        heads, tails = loose[: len(merged)], loose[len(merged) :]
        back = np.vstack([xy[first, :2] - xy[first, 2:], xy[last, 2:] - xy[last, :2]])[loose]
        return cls(
            xy, chain, run - run[first][chain], total.astype(np.float64),
            np.vstack([xy[first, :2], xy[last, 2:]])[loose],
            np.concatenate([np.flatnonzero(heads), np.flatnonzero(tails)]),
            np.concatenate([np.zeros(int(heads.sum())), total[tails]]),
            back / np.maximum(np.hypot(*back.T), 1e-12)[:, None],
        )  # fmt: skip


@dataclass(frozen=True)
class _Closing:
    segments: Floats
    bridges: Floats
    bridge_roles: NDArray[np.int8]
    found: list[Bridge]
    short: list[ShortCrease]
    loose_cuts: Floats


def _close(chains: _Chains, source: Segments) -> _Closing:
    none = np.zeros((0, 4))
    if not len(chains.ends):
        return _Closing(chains.xy, none, np.zeros(0, np.int8), [], [], np.zeros((0, 2)))
    tree = shapely.STRtree(as_linestrings(chains.xy))
    role, _ = roles_at(source, chains.ends - chains.outward * 0.002)
    end, target, place, far = _targets(chains, tree)
    bridges = np.hstack([chains.ends[end], place])
    real = far > 1e-6
    found = _counted(chains.ends[end], place, far, role[end] != CUT)
    left = np.setdiff1d(np.arange(len(chains.ends)), end)
    short = _short_creases(chains, tree, left[role[left] != CUT])
    loose = chains.ends[left[role[left] == CUT]]
    return _Closing(_split(chains.xy, target, place), bridges[real], role[end][real], found, short, loose)


def _targets(chains: _Chains, tree: shapely.STRtree) -> tuple[Ints, Ints, Floats, Floats]:
    """For the loose ends that have one: the end, the segment it is brought to, the place there and how far that is."""
    end, seg = tree.query(shapely.points(chains.ends), predicate="dwithin", distance=WIDEST_GAP_MM)
    own = (chains.chain[seg] == chains.ends_chain[end]) & (_along_chain(chains, end, seg) < OWN_CHAIN_MM)
    end, seg = end[~own], seg[~own]
    p, xy = chains.ends[end], chains.xy[seg]
    ahead, hit = _ahead(p, chains.outward[end], xy)
    beside, foot, at_corner = _beside(p, xy)
    loose_corner = at_corner & _is_loose(foot, chains.ends)
    straight = ahead <= WIDEST_GAP_MM
    near = beside <= np.where(loose_corner, WIDEST_GAP_MM, SIDEWAYS_MM)
    use_straight = straight & ~(near & (beside < 0.5 * ahead))
    far = np.where(use_straight, ahead, np.where(near, beside, np.inf))
    place: Floats = np.round(np.where(use_straight[:, None], hit, foot), 6).astype(np.float64)
    order = np.lexsort((far, end))
    order = order[np.isfinite(far[order])]
    chosen = order[np.unique(end[order], return_index=True)[1]]
    return end[chosen], seg[chosen], place[chosen], far[chosen]


def _along_chain(chains: _Chains, end: Ints, seg: Ints) -> Floats:
    """How far along its own chain a loose end is from a segment of that chain."""
    before = chains.start_mm[seg]
    after = chains.length_mm[chains.chain[seg]] - before - lengths_of(chains.xy[seg])
    return np.where(chains.ends_along_mm[end] == 0, before, after)


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
    seen: set[tuple[float, ...]] = set()
    found: list[Bridge] = []
    for p, q, length, folds in zip(ends, places, far, crease, strict=True):
        key = tuple(np.round(p + q, 3))
        if length > COUNTED_GAP_MM and key not in seen:
            seen.add(key)
            found.append(Bridge((float(p[0] + q[0]) / 2, float(p[1] + q[1]) / 2), float(length), bool(folds)))
    return found


def _short_creases(chains: _Chains, tree: shapely.STRtree, ends: Ints) -> list[ShortCrease]:
    if not len(ends):
        return []
    p, d = chains.ends[ends], chains.outward[ends]
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
