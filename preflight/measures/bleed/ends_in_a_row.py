"""Ends of narrow shapes that line up: stripes, leaves or letters that all stop at one line along the cut.

None of them needs to be long enough to be an end of its own; that all of them stop there, and that nothing of the ink
stands beyond, is what tells where an artwork was cut off.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.measures.raster.profiles import Floats, Stations, neighbouring, runs

Tints = NDArray[np.float32]
Bools = NDArray[np.bool_]

STEP_MM: Final = 0.125
"""Half a pixel of the page's plates."""
FINER: Final = 4
"""So many places are looked at for each station: narrow shapes stand between stations."""
TOUCH_MM: Final = -0.3
SAME_MM: Final = 0.15
"""Ends that differ by less line up; pixels are 0.25 mm wide."""
ROUND_MM: Final = 0.5
"""Shapes that end within so much of the line without reaching it are looked at to tell what is cut off from dots."""
STEEP: Final = 1
"""Places that a shape may take to come down by that much, on one of its sides; the sides of dots take more."""
CUT_OFF: Final = 0.65
"""The share of the shapes that has to break off so."""
FEWEST: Final = 3
"""Shapes whose ends line up by accident are fewer."""


def finer(at: Stations) -> Stations:
    """More stations on the same line, evenly between."""
    ahead = np.column_stack([-at.outward[:, 1], at.outward[:, 0]]) * at.spacing_mm
    shares = (np.arange(FINER) + 0.5) / FINER - 0.5
    xy = (at.xy[:, None] + ahead[:, None] * shares[None, :, None]).reshape(-1, 2)
    return Stations(xy, np.repeat(at.outward, FINER, axis=0), at.spacing_mm / FINER)


def offsets_to(to_mm: float) -> Floats:
    """Where tints are wanted, in mm outward from the cut; nothing of the ink is to stand at the last of them."""
    return np.arange(-0.5, to_mm - STEP_MM, STEP_MM)


def nothing_beyond(last: Tints, threshold: float, within: int) -> Bools:
    """Stations where, at the last offset, there is no more of the ink than the least of it nearby."""
    width = min(2 * within + 1, len(last))
    least = neighbouring(
        np.pad(last.astype(float), (width // 2, width - 1 - width // 2), mode="edge"), width, np.minimum
    )
    bare: Bools = last < least + threshold
    return bare


def are_several(tints: Tints) -> bool:
    """Whether the tints along a line inside the cut are those of enough shapes to line up, and not of one ground."""
    low, high = float(tints.min(initial=255)), float(tints.max(initial=0))
    return high > low and len(runs(tints > (low + high) / 2)) >= FEWEST


def ends_of(tints: Tints, offsets_mm: Floats, threshold: float) -> Floats:
    """How far out the ink goes at each place that hangs together with ink that touches the cut; NaN without it."""
    ground = float(tints[:, -1].min())
    half = np.maximum((tints.max(1) + ground) / 2, ground + threshold)
    solid = tints >= half[:, None]
    part = _from_the_cut(solid, int(np.searchsorted(offsets_mm, TOUCH_MM + 1e-9)))
    last = part.shape[1] - 1 - part[:, ::-1].argmax(1)
    rows, after = np.arange(len(tints)), np.minimum(last + 1, part.shape[1] - 1)
    drop = tints[rows, last] - tints[rows, after]
    share = np.divide(tints[rows, last] - half, drop, out=np.zeros(len(tints)), where=drop > 0)
    ends: Floats = np.where(part.any(1), offsets_mm[last] + np.clip(share, 0, 1) * STEP_MM, np.nan)
    return ends


def _from_the_cut(solid: Bools, zone: int) -> Bools:
    """What hangs together with what stands in the first offsets."""
    part = solid.copy()
    part[:, zone:] = False
    size = -1
    while size != (size := int(part.sum())):
        wide = part.copy()
        wide[1:] |= part[:-1]
        wide[:-1] |= part[1:]
        wide[:, 1:] |= part[:, :-1]
        wide[:, :-1] |= part[:, 1:]
        part = wide & solid
    return part


def in_line(ends: Floats, spacing_mm: float, shortest_mm: float, to_mm: float) -> tuple[list[tuple[int, int]], float]:
    """Shapes whose ends line up, as ranges of places, and how far past the cut; none where they do not."""
    if np.isnan(ends).all():
        return [], 0.0
    line = float(np.nanmax(ends))
    reaching, near = ends >= line - SAME_MM, ends >= line - ROUND_MM
    shapes = runs(reaching)
    if len(shapes) < FEWEST or reaching.sum() * spacing_mm < shortest_mm or line > to_mm - 2 * STEP_MM:
        return [], 0.0
    sheer = sum(not near[max(0, a - STEEP - 1) : a].all() or not near[b : b + STEEP + 1].all() for a, b in shapes)
    return (shapes, float(np.median(ends[reaching]))) if sheer >= CUT_OFF * len(shapes) else ([], 0.0)
