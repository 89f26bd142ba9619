"""What takes ink off along a lane, and where that would show: an estimate, since the rollers are not known.

The model: where an ink prints, the form rollers are left with less of it, and they recover along the travel. What was
taken off in front of a place, each stretch counting less the longer ago it was, is its *depletion*, 0..1:
d(y) = integral of tint(s) exp(-(y - s) / r) ds / r over all s in front of y, r being the length in which rollers
recover (about a turn of a form roller). It differs from lane to lane; a solid that lies across lanes of unlike
depletion shows their pattern.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.setup.ink_keys.sheet_tints import CELL_MM

Floats = NDArray[np.float64]
SOLID: Final = 0.9
"""Tint from which a cell counts as solid: its edge cells are a little less."""


@dataclass(frozen=True)
class GhostModel:
    """Lengths of the model, mm."""

    recovers_mm: float
    """In which rollers recover to a third (1 / e)."""
    depth_mm: float
    """A solid shows a ghost where it goes on for so long behind."""
    width_mm: float
    """And is so wide."""


@dataclass(frozen=True)
class Ghost:
    """A solid that would show what was printed in front of it."""

    depletion: float
    """Of the lane that printed less below those at both of its sides, 0..1."""
    x_mm: float
    y_mm: float
    """Where it would show most: in the middle of the lane, at the first row of the solid's length."""


def depletion(tints: Floats, recovers_mm: float) -> Floats:
    """Depletion in front of each cell, (rows, columns), row 0 at the gripper edge, where the rollers are full."""
    keeps = float(np.exp(-CELL_MM / recovers_mm))
    found, now = np.zeros_like(tints), np.zeros(tints.shape[1])
    for row, tint in enumerate(tints):
        found[row] = now
        now = now * keeps + tint * (1 - keeps)
    return found


def ghosts(tints: Floats, model: GhostModel, least: float = 0.02) -> Iterator[Ghost]:
    """The worst place of each row in which a wide solid lies behind a lane that printed less than its neighbours.

    Only a lane between two that gave more ink counts (a knock-out, the inside of a frame, a gap between bars): a
    plain step from one picture to the next does not draw a pattern into the solid.

    Args:
        tints: (rows, columns) of 2 mm cells.
        model: lengths.
        least: nothing under it is told.
    """
    deep, wide = (max(1, round(length / CELL_MM)) for length in (model.depth_mm, model.width_mm))
    solid = tints >= SOLID
    if not solid.any():
        return
    sums = np.vstack([np.zeros((1, tints.shape[1]), np.intp), np.cumsum(solid, axis=0)])
    behind = sums[deep:] - sums[:-deep] == deep
    taken = depletion(tints, model.recovers_mm)
    for row in np.flatnonzero(behind.any(axis=1)).tolist():
        worst = max((_valley(taken[row], *run) for run in _runs(behind[row], wide)), default=(0.0, 0))
        if worst[0] >= least:
            yield Ghost(worst[0], (worst[1] + 0.5) * CELL_MM, row * CELL_MM)


def _runs(row: NDArray[np.bool_], least: int) -> Iterator[tuple[int, int]]:
    """Beginnings and ends of what is true on end for so many cells."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
    for first, last in edges.reshape(-1, 2).tolist():
        if last - first >= least:
            yield first, last


def _valley(taken: Floats, first: int, last: int) -> tuple[float, int]:
    """How far the deepest lane of a run lies below the higher ones at both of its sides, and its column."""
    run = taken[first:last]
    rims = np.minimum(np.maximum.accumulate(run), np.maximum.accumulate(run[::-1])[::-1])
    at = int(np.argmax(rims - run))
    return float(rims[at] - run[at]), first + at


@dataclass(frozen=True)
class Solid:
    """The longest solid of a lane, on end."""

    length_mm: float
    to_tail_mm: float
    """From its end to the tail."""


def longest_solid(lane: Floats, from_tint: float = 0.8) -> Solid | None:
    """Of the mean tints of a lane, row by row from the gripper edge; None where no row is as full as that."""
    runs = list(_runs(lane >= from_tint, 1))
    if not runs:
        return None
    first, last = max(runs, key=lambda run: run[1] - run[0])
    return Solid((last - first) * CELL_MM, (len(lane) - last) * CELL_MM)
