"""Lines drawn twice within a tenth of a millimetre: one of them is used."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from preflight.carton.lines.drawn_lines import Bools, Floats, Ints, Segments, lengths_of

SAME_LINE_MM: Final = 0.1
LEAST_OVERLAP_MM: Final = 0.5
PARALLEL: Final = 0.94  # cosine of 20 degrees; curves are flattened differently each time they are drawn
TOUCHING_MM: Final = 0.3
"""Covered stretches with less than this between them count as one."""


def merge_doubles(segments: Segments) -> tuple[Segments, float]:
    """Segments without what runs along an earlier one within 0.1 mm, and the length in mm that was left out.

    Cuts go before perforations and creases, lines drawn first before later ones. What a line has beyond the
    stretch that was drawn already is kept.
    """
    order = np.lexsort((np.arange(len(segments)), segments.role))
    segments = segments.pick(order)
    shapes = segments.shapes()
    later, earlier = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=SAME_LINE_MM)
    pairs = later > earlier
    later, earlier = later[pairs], earlier[pairs]
    start, end = _covered(segments.xy, later, earlier)
    length = lengths_of(segments.xy)
    long_enough = (end - start >= LEAST_OVERLAP_MM) | (end - start >= 0.98 * length[later])
    return _without(segments, later[long_enough], start[long_enough], end[long_enough])


def _covered(xy: Floats, one: Ints, other: Ints) -> tuple[Floats, Floats]:
    """From where to where (mm along ``one``) it runs within 0.1 mm of ``other``; end before start for nowhere."""
    p, q = xy[one], xy[other]
    step = p[:, 2:] - p[:, :2]
    length = np.maximum(np.hypot(*step.T), 1e-9)
    unit = step / length[:, None]
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])
    a, b = q[:, :2] - p[:, :2], q[:, 2:] - p[:, :2]
    u0, u1, v0, v1 = ((x * y).sum(1) for x, y in [(a, unit), (b, unit), (a, normal), (b, normal)])
    run = u1 - u0
    parallel = np.abs(run) > PARALLEL * np.hypot(*(b - a).T)
    slope = np.where(np.abs(run) > 1e-9, (v1 - v0) / np.where(np.abs(run) > 1e-9, run, 1.0), np.inf)
    with np.errstate(divide="ignore", invalid="ignore"):
        bounds = np.stack([(-SAME_LINE_MM - v0) / slope + u0, (SAME_LINE_MM - v0) / slope + u0])
    flat = np.abs(slope) < 1e-9
    low = np.where(flat, -np.inf, bounds.min(0))
    high = np.where(flat, np.inf, bounds.max(0))
    start = np.maximum.reduce([np.minimum(u0, u1), low, np.zeros(len(one))])
    end = np.minimum.reduce([np.maximum(u0, u1), high, length])
    out = ~parallel | (flat & (np.abs(v0) > SAME_LINE_MM))
    return start, np.where(out, start - 1.0, end)


def _without(segments: Segments, owner: Ints, start: Floats, end: Floats) -> tuple[Segments, float]:
    """Segments less the stretches from start to end (mm) of their owners."""
    if not len(owner):
        return segments, 0.0
    whole: Bools = np.ones(len(segments), bool)
    pieces: list[Floats] = []
    sources: list[int] = []
    length = lengths_of(segments.xy)
    order = np.lexsort((start, owner))
    owner, start, end = owner[order], start[order], end[order]
    gone = 0.0
    for group in np.split(np.arange(len(owner)), np.flatnonzero(np.diff(owner)) + 1):
        index = int(owner[group[0]])
        whole[index] = False
        left = _uncovered(start[group], end[group], float(length[index]))
        gone += float(length[index]) - sum(b - a for a, b in left)
        p, q = segments.xy[index, :2], segments.xy[index, 2:]
        for a, b in left:
            pieces.append(np.concatenate([p + (q - p) * (a / length[index]), p + (q - p) * (b / length[index])]))
            sources.append(index)
    kept = segments.pick(whole)
    if not pieces:
        return kept, gone
    parts = segments.pick(np.array(sources, np.intp))
    xy: Floats = np.round(np.vstack([kept.xy, np.array(pieces)]), 3).astype(np.float64)
    joined = Segments(xy, np.concatenate([kept.role, parts.role]), np.concatenate([kept.line, parts.line]))
    return joined.pick(lengths_of(xy) > 0), gone


def _uncovered(start: Floats, end: Floats, length: float) -> list[tuple[float, float]]:
    left: list[tuple[float, float]] = []
    here = 0.0
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        if a - here > TOUCHING_MM:
            left.append((here, a))
        here = max(here, b)
    if length - here > TOUCHING_MM:
        left.append((here, length))
    return left
