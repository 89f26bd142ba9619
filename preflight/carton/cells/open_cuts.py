"""Where a cut is not closed: a blank ends in a fold there, and what was drawn beyond it is no cell of the carton."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.die import OpenCut
from preflight.carton.lines.drawn_lines import CUT, Bools, Floats, Ints, as_linestrings, components, lengths_of

OPEN_EDGE_MM: Final = 2.0
ON_BLANK_MM: Final = 0.2
SAME_PLACE_MM: Final = 0.05


@dataclass(frozen=True)
class OpenCuts:
    """Openings, and the segments (n,) of the net that are drawn beyond them and belong to the carton."""

    found: tuple[OpenCut, ...]
    beyond: Bools


def open_cuts_of(cells: Cells, groups: Sequence[int], outlines: Sequence[Polygon]) -> OpenCuts:
    """Openings of the chosen groups, each with all that hangs on the fold that the blank ends in."""
    net = cells.net
    none = np.zeros(len(net), bool)
    edges = [cells.boundary(group) & (net.role != CUT) for group in groups]
    edges = [edge if lengths_of(net.xy[edge]).sum() >= OPEN_EDGE_MM else none for edge in edges]
    folds = np.logical_or.reduce([none, *edges])
    if not folds.any():
        return OpenCuts((), none)
    off = _off_the_blanks(net.xy, outlines) & ~folds
    hangs = np.flatnonzero(off | folds)
    label = components(int(max(net.a.max(), net.b.max())) + 1, net.a[hangs], net.b[hangs])
    part = np.full(len(net), -1)
    part[hangs] = label[net.a[hangs]]
    numbers = np.unique(part[folds])
    found = [
        _opening(net.xy[off & (part == number)], net.xy[folds & (part == number)], net.loose_cuts, blank)
        for number in numbers.tolist()
        if (blank := next(n for n, edge in enumerate(edges, 1) if (edge & (part == number)).any()))
        and lengths_of(net.xy[folds & (part == number)]).sum() >= OPEN_EDGE_MM
    ]
    return OpenCuts(tuple(found), off & np.isin(part, numbers))


def _off_the_blanks(xy: Floats, outlines: Sequence[Polygon]) -> Bools:
    body = shapely.buffer(shapely.union_all([*outlines]), ON_BLANK_MM, quad_segs=2)
    shapely.prepare(body)
    off: Bools = ~np.atleast_1d(shapely.covers(body, as_linestrings(xy)))
    return off


def _opening(beyond: Floats, fold: Floats, loose: Floats, blank: int) -> OpenCut:
    """One opening; ``beyond`` and ``fold`` are segments (k, 4), ``loose`` ends of cut lines that meet nothing."""
    ends = loose[_among(loose, beyond.reshape(-1, 2))] if len(beyond) else loose[:0]
    ordered = tuple(sorted((float(x), float(y)) for x, y in ends))
    folds = shapely.multilinestrings(as_linestrings(fold))
    return OpenCut(blank, ordered, folds, _bounds(beyond) if len(beyond) else None)


def _among(places: Floats, others: Floats) -> Ints:
    """Indices of the places (k, 2) that are among others (m, 2)."""
    if not len(places):
        return np.zeros(0, np.intp)
    found = shapely.STRtree(shapely.points(others)).query(
        shapely.points(places), predicate="dwithin", distance=SAME_PLACE_MM
    )
    return np.unique(found[0]).astype(np.intp)


def _bounds(xy: Floats) -> Box:
    (x0, y0), (x1, y1) = xy.reshape(-1, 2).min(0).tolist(), xy.reshape(-1, 2).max(0).tolist()
    return (x0, y0, x1, y1)
