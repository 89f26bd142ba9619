"""Which groups of cells are blanks: joined by folds, and neither a gutter, a legend nor a ring round a blank."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.cells.choice_of_blanks import SMALLEST_BLANK_MM2, Choice, bounds_agree, parallel_offset_mm
from preflight.carton.cells.closed_cells import Cells, group_lengths
from preflight.carton.lines.drawn_lines import CUT, Bools, Floats, Ints, components, lengths_of

SMALLEST_SHARE: Final = 0.04
"""A group smaller than this share of the largest one is a sketch in a legend, not a blank."""
GUTTER_MM: Final = 12.0
FEW_FOLDS: Final = 0.25
"""Less crease than this share of a card's edge is a sample in a legend."""
FOLD_REACHES_MM: Final = 8.0


def choose_blanks(cells: Cells, trim: Box | None = None) -> Choice:
    """Chooses the blanks among the groups of cells.

    A blank is a group of cells joined through creases or perforations, or a cell in which creases lie that
    nearly reach its edge. Rings that hold another blank and what lies between blanks are none.
    """
    found = _with_folds(cells)
    if not len(found):
        from preflight.carton.cells.flat_cards import choose_without_folds  # few dies need it

        plain = choose_without_folds(cells, trim)
        return Choice() if _folds_belong_elsewhere(cells, plain) else plain
    outlines = {int(group): cells.outline(int(group)) for group in found}
    rings = _rings(outlines)
    seconds = list(_second_outlines(cells, rings, outlines, trim))
    if seconds:
        return _at_once(seconds)
    panels = _safety_in_panels(cells, found)
    if panels is not None:
        return panels
    held = {outer for outer, _ in rings}
    return Choice(tuple(group for group in outlines if group not in held))


def _folds_belong_elsewhere(cells: Cells, plain: Choice) -> bool:
    """Creases are drawn for a carton whose cut is not closed: what is closed by chance is no blank."""
    if not plain.groups:
        return False
    folds = cells.net.role != CUT
    edge = np.logical_or.reduce([cells.boundary(group) for group in plain.groups])
    length = lengths_of(cells.net.xy)
    return bool((folds & edge).any() or length[folds].sum() > FEW_FOLDS * length[edge].sum())


def _with_folds(cells: Cells) -> Ints:
    """Groups that fold: joined ones, and single cells with creases in them that stop short of the edge."""
    joined = np.unique(cells.group_beside[cells.joins]) if cells.joins.any() else np.zeros(0, np.intp)
    joined = joined[cells.group_area[joined] >= SMALLEST_BLANK_MM2]
    largest = float(cells.group_area[joined].max()) if len(joined) else 0.0
    joined = joined[cells.group_area[joined] >= SMALLEST_SHARE * largest]
    joined = joined[~_gutters(cells, joined)]
    loose = np.setdiff1d(_with_loose_folds(cells), joined)
    least = max(SMALLEST_BLANK_MM2, 0.5 * largest)
    return np.concatenate([joined, loose[cells.group_area[loose] >= least]]).astype(np.intp)


def _gutters(cells: Cells, groups: Ints) -> Bools:
    """Groups whose edge is nearly all the edge of others, and that are narrow or end in a crease."""
    none = np.zeros(len(groups), bool)
    if len(groups) < 2:
        return none
    sides = cells.group_beside
    known = np.isin(sides, groups)
    edge = (sides[:, 0] != sides[:, 1]) & known.any(1)
    count = len(cells.group_area)
    cut = cells.net.role == CUT
    around = group_lengths(cells, edge, count)[groups]
    cut_around = group_lengths(cells, edge & cut, count)[groups]
    shared = group_lengths(cells, edge & cut & known.all(1), count)[groups]
    folded = group_lengths(cells, edge & ~cut, count)[groups]
    width = 2 * cells.group_area[groups] / np.maximum(around, 1e-9)
    mask: Bools = (shared >= 0.8 * cut_around) & ((width < GUTTER_MM / 2) | (folded > 1.0))
    return mask if not mask.all() else none


def _with_loose_folds(cells: Cells) -> Ints:
    """Groups of cells that hold a crease of at least 15 mm whose ends nearly reach an edge or another crease."""
    loose, cell = cells.loose_folds
    if not (cell >= 0).any():
        return np.zeros(0, np.intp)
    loose, cell = loose[cell >= 0], cell[cell >= 0]
    net = cells.net
    label = components(int(max(net.a.max(), net.b.max())) + 1, net.a[loose], net.b[loose])[net.a[loose]]
    reaching = []
    for crease in np.unique(label):
        mine = loose[label == crease]
        xy = net.xy[mine]
        if lengths_of(xy).sum() < 15:
            continue
        nodes, times = np.unique(np.concatenate([net.a[mine], net.b[mine]]), return_counts=True)
        ends = _places(cells, nodes[times == 1], mine)
        polygon = cells.polygons[cell[label == crease][0]]
        far = shapely.distance(polygon.boundary, shapely.points(ends))
        if len(ends) and float(np.max(far)) <= FOLD_REACHES_MM:
            reaching.append(int(cells.group[cell[label == crease][0]]))
    return np.unique(np.array(reaching, np.intp))


def _places(cells: Cells, nodes: Ints, segments: Ints) -> Floats:
    net = cells.net
    ends = np.concatenate([net.a[segments], net.b[segments]])
    places = np.vstack([net.xy[segments, :2], net.xy[segments, 2:]])
    order = np.argsort(ends, kind="stable")
    return places[order[np.searchsorted(ends[order], nodes)]]


def _rings(outlines: dict[int, Polygon]) -> list[tuple[int, int]]:
    """Pairs (outer, inner) of groups where the inner one lies in a hole of the outer one."""
    pairs = []
    for outer, shape in outlines.items():
        holes = [Polygon(ring) for ring in shape.interiors]
        for inner, other in outlines.items():
            if inner != outer and holes and any(hole.covers(other.representative_point()) for hole in holes):
                pairs.append((outer, inner))
    return pairs


def _second_outlines(
    cells: Cells, rings: list[tuple[int, int]], outlines: dict[int, Polygon], trim: Box | None
) -> Iterator[Choice]:
    """One choice for each ring that keeps its distance to what it holds."""
    for outer, inner in rings:
        offset = parallel_offset_mm(outlines[inner], outlines[outer])
        if offset is not None:
            yield _second_outline(cells, outer, inner, offset, outlines, trim)


def _at_once(choices: Sequence[Choice]) -> Choice:
    """All of them in one round: a sheet has as many second outlines as blanks. What several say is said once."""
    return Choice(
        drop=np.logical_or.reduce([choice.drop for choice in choices if choice.drop is not None]),
        notes=tuple(dict.fromkeys(note for choice in choices for note in choice.notes)),
        assumed=tuple(dict.fromkeys(words for choice in choices for words in choice.assumed)),
    )


def _second_outline(
    cells: Cells, outer: int, inner: int, offset: float, outlines: dict[int, Polygon], trim: Box | None
) -> Choice:
    """Creases run through to the outer outline, so the inner one is a safety line, unless the trim box says not."""
    if trim is not None and bounds_agree(outlines[inner], trim) and not bounds_agree(outlines[outer], trim):
        drop = cells.boundary(outer) & ~cells.boundary(inner)
        words = f"an outline {offset:.1f} mm outside the cut was left out; the trim box matches the inner one"
        return Choice(drop=drop, notes=(words,))
    sides = cells.group_beside
    drop = (cells.net.role == CUT) & ((sides == outer).any(1) & (sides == inner).any(1))
    words = f"an outline {offset:.1f} mm inside the cut was left out: the creases run on to the outer one"
    return Choice(drop=drop, assumed=(words,))


def _safety_in_panels(cells: Cells, groups: Ints) -> Choice | None:
    """Two and more panels that each hold a second outline at the same distance: safety lines, not windows."""
    offsets: list[tuple[int, float]] = []
    for number in np.flatnonzero(np.isin(cells.group, groups)):
        polygon = cells.polygons[number]
        for ring in polygon.interiors:
            hole = Polygon(ring)
            offset = parallel_offset_mm(hole, polygon) if hole.area > 0.3 * Polygon(polygon.exterior).area else None
            if offset is not None:
                offsets.append((int(number), offset))
    if len(offsets) < 2:
        return None
    middle = float(np.median([offset for _, offset in offsets]))
    alike = [number for number, offset in offsets if abs(offset - middle) < 0.3]
    if len(alike) < 2:
        return None
    panel = np.isin(cells.beside, alike)
    waste = (cells.beside >= 0) & ~np.isin(cells.group_beside, groups)
    between = (panel[:, 0] & waste[:, 1]) | (panel[:, 1] & waste[:, 0])
    drop = (cells.net.role == CUT) & between & _within(cells, alike)
    return Choice(
        drop=drop, assumed=(f"outlines {middle:.1f} mm inside {len(alike)} panels are taken as safety lines",)
    )


def _within(cells: Cells, numbers: list[int]) -> Bools:
    """Segments that lie inside the outer edge of one of the cells."""
    shapes = shapely.buffer([Polygon(cells.polygons[n].exterior) for n in numbers], -0.01)
    middle = shapely.points((cells.net.xy[:, :2] + cells.net.xy[:, 2:]) / 2)
    place, _ = shapely.STRtree(shapes).query(middle, predicate="within")
    mask = np.zeros(len(cells.net), bool)
    mask[place] = True
    return mask
