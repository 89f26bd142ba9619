"""Dies without a fold: cards, headers, labels. Everything here is a guess and says so."""

from __future__ import annotations

from typing import Final

import numpy as np
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.carton.cells.choice_of_blanks import SMALLEST_BLANK_MM2, Choice, bounds_agree, parallel_offset_mm
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.lines.drawn_lines import CUT, Ints, components

CARTON_CELLS: Final = 4
"""From so many unlike cells that hang together it is a carton whose folds are drawn like its cuts."""


def choose_without_folds(cells: Cells, trim: Box | None = None) -> Choice:
    """The outline of the trim box, else one that stands several times, else the innermost of parallel ones, else the
    largest.
    """
    large = np.flatnonzero(cells.area >= SMALLEST_BLANK_MM2)
    if not len(large):
        return Choice()
    filled = {int(n): Polygon(cells.polygons[n].exterior) for n in large}
    trimmed = [n for n, shape in filled.items() if trim is not None and bounds_agree(shape, trim)]
    if trimmed:
        words = "no crease is drawn; the outline that matches the trim box is taken as the cut"
        return Choice((int(cells.group[min(trimmed, key=lambda n: float(filled[n].area))]),), assumed=(words,))
    top = _not_inside_another(filled)
    carton = _drawn_like_cuts(cells, np.array(top))
    if carton is not None:
        return carton
    repeated = _standing_several_times(filled, top)
    if len(repeated) > 1:
        groups = tuple(sorted({int(cells.group[_innermost(filled, n)]) for n in repeated}))
        words = f"no crease is drawn; the outline that occurs {len(repeated)} times is taken as the cut"
        return Choice(groups, assumed=(words,))
    largest = max(top, key=lambda n: float(filled[n].area))
    inner = _innermost(filled, largest)
    words = "no crease is drawn; " + (
        "the outline is taken as the cut"
        if inner == largest
        else "the innermost of parallel outlines is taken as the cut"
    )
    return Choice((int(cells.group[inner]),), assumed=(words,))


def _not_inside_another(filled: dict[int, Polygon]) -> list[int]:
    return [
        n
        for n, shape in filled.items()
        if not any(m != n and other.area > shape.area and other.covers(shape) for m, other in filled.items())
    ]


def _inside(filled: dict[int, Polygon], outer: int) -> list[int]:
    """Those directly inside an outline."""
    held = {n: s for n, s in filled.items() if n != outer and filled[outer].covers(s) and s.area < filled[outer].area}
    return _not_inside_another(held)


def _innermost(filled: dict[int, Polygon], outer: int) -> int:
    """Steps inward as long as one outline runs parallel inside the other."""
    for inner in _inside(filled, outer):
        if parallel_offset_mm(filled[inner], filled[outer]) is not None:
            return _innermost(filled, inner)
    return outer


def _standing_several_times(filled: dict[int, Polygon], level: list[int]) -> list[int]:
    """The largest set of like outlines at this level, or inside a frame that they fill; empty where there is none."""
    alike = _alike(filled, level)
    if len(alike) > 1:
        return alike
    for frame in level:
        inside = _inside(filled, frame)
        alike = _alike(filled, inside)
        if len(alike) > 1 and sum(filled[n].area for n in alike) >= 0.5 * filled[frame].area:
            return alike
    return []


def _alike(filled: dict[int, Polygon], level: list[int]) -> list[int]:
    best: list[int] = []
    for n in level:
        same = [m for m in level if _congruent(filled[n], filled[m])]
        if len(same) * filled[n].area > (len(best) * filled[best[0]].area if best else 0.0):
            best = same
    return best


def _congruent(one: Polygon, other: Polygon) -> bool:
    """Of one area and edge length, within half a per cent, whichever way they lie."""
    return bool(abs(one.area - other.area) <= 0.005 * one.area and abs(one.length - other.length) <= 0.005 * one.length)


def _drawn_like_cuts(cells: Cells, top: Ints) -> Choice | None:
    """A carton whose folds are drawn like its cuts: many unlike cells side by side, none of them most of it."""
    sides = cells.beside
    shared = (sides >= 0).all(1) & np.isin(sides, top).all(1)
    label = components(len(cells.polygons), sides[shared, 0], sides[shared, 1])
    area = np.bincount(label, weights=cells.area)
    members = np.flatnonzero(label == int(np.argmax(area)))
    shapes = {int(n): Polygon(cells.polygons[n].exterior) for n in members}
    most = max(float(shape.area) for shape in shapes.values())
    like = _alike(shapes, list(shapes))
    covered = sum(float(shapes[n].area) for n in like) if len(like) > 1 else 0.0
    if len(members) < CARTON_CELLS or most > 0.5 * area.max() or covered > 0.95 * area.max():
        return None
    fold = shared & np.isin(sides, members).all(1) & (cells.net.role == CUT)
    words = "cuts and creases are drawn alike; the outer edge is taken as the cut and everything within it as creases"
    return Choice(fold=fold, alike=(words,))
