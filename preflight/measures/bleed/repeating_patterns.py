"""Patterns of small shapes across the cut: where one of the shapes ends near it, the next one stands farther out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.measures.raster.profiles import Floats, Stations

STEP_MM: Final = 0.125
"""Half a pixel of the page's plates."""
TOUCH_MM: Final = -0.4
"""Where shapes are told along the cut: in the middle of where ink has to stand to touch it."""
MISMATCH: Final = 0.25
"""Of a pattern's ink, the share by which it may differ from itself a step further in: edges lie anywhere on pixels."""
GOES_ON: Final = 0.5
"""The share that has to be there of what a pattern should have past the cut; its phase is not known."""
SOME: Final = 0.25
"""The share of what is inside that has to be there where shapes do not stand in rows along and across the cut."""
END_MM: Final = 0.2
"""So far past where ink ends there is nothing left of its edge on the plates."""
LAST_MM: Final = 1.0
"""The end of what is looked at, where a pattern has to be there too; so much past its end is looked at in any case."""
STRAIGHT: Final = 0.999
"""Cosine of the angle by which the cut may turn beside a shape."""
NEXT_TO_NOTHING: Final = 0.05
"""The share of a solid up to which nothing of a pattern is expected: it has its gap there."""
DIFFERS: Final = 0.15
"""Tints that differ by less than this share of the strongest are one shape."""
MOST_STEPS: Final = 24
"""Steps at which shapes may come again, of which the smallest are tried."""
FEW: Final = 12
"""Stations of a piece, and of what is beside it, that are looked at for steps."""

Tints = NDArray[np.float32]
Rows = NDArray[np.int_]
TintsAt = Callable[[Rows], Tints]


@dataclass(frozen=True)
class Pattern:
    """What counts as one: shapes up to a size in mm, looked at as far past the cut as bleed is asked for."""

    motif_mm: float
    to_mm: float

    @cached_property
    def offsets(self) -> Floats:
        """Where tints are wanted, in mm outward from the cut: two of the widest steps of a pattern inside."""
        steps = np.arange(round(-4 * self.motif_mm / STEP_MM), round((self.to_mm + 2) / STEP_MM) + 1)
        return np.asarray(steps * STEP_MM, float)

    def goes_on(self, tints_at: TintsAt, at: Stations, piece: tuple[int, int], reach_mm: float) -> bool:
        """Whether the ink that ends on a piece of the edge is a shape of a pattern that goes on past the cut.

        Args:
            tints_at: tints of the ink at some stations, (stations, offsets).
            at: the stations.
            piece: first station, and that after the last.
            reach_mm: where the ink ends, from the cut.
        """
        length, own = piece[1] - piece[0], np.arange(*piece)
        inside = tints_at(_some(own))
        if not self._changes_inward(inside, reach_mm, self.motif_mm + END_MM):
            return False  # a ground, or a shape too large
        straight = _parallel(at, own, own)
        flank = _parallel(at, _beside(at, piece, max(length, round(1 / at.spacing_mm))), own)
        repeats = self._repeats(tints_at(_some(straight)), tints_at(_some(flank)), reach_mm)
        if repeats or (repeats is False and len(straight) == len(own)):
            return repeats
        near = round(self.motif_mm / at.spacing_mm)
        if length > near or self._changes_inward(inside, reach_mm, 2 * self.motif_mm) < 2:
            return False
        along = tints_at(np.arange(max(0, piece[0] - near), min(len(at), piece[1] + near)))
        if _changes(along[:, int(np.searchsorted(self.offsets, TOUCH_MM))], 2) < 2:
            return False
        return self._is_beyond(tints_at(np.append(own, _beside(at, piece, max(2 * length, near // 2)))), reach_mm)

    def _changes_inward(self, own: Tints, reach_mm: float, far_mm: float) -> int:
        """How often the ink changes inward from a shape's end, which is left out."""
        inward = (self.offsets <= reach_mm - 2 * END_MM) & (self.offsets >= reach_mm - far_mm)
        return _changes(np.median(own[:, inward], axis=0), 3)

    def _repeats(self, own: Tints, flanks: Tints, reach_mm: float) -> bool | None:
        """Whether what comes again at even steps inside does so past its end too, here and to both sides.

        None where nothing comes again inside.
        """
        end, found = max(0, reach_mm) + END_MM, None
        both, cut = np.concatenate([own, flanks]), int(np.searchsorted(self.offsets, 0.0))
        edge = int(np.searchsorted(self.offsets, min(0, reach_mm) - END_MM))
        steps = _steps_of(np.median(own[:, :edge], axis=0))
        for step in steps[(steps >= 1 / STEP_MM) & (steps < 2 * self.motif_mm / STEP_MM)][:MOST_STEPS].tolist():
            inside, before = both[:, cut - step : cut], both[:, cut - 2 * step : cut - step]
            if np.abs(inside - before).sum() > MISMATCH * inside.sum():
                continue
            shapes = np.median(own[:, cut - 2 * step : edge], axis=0)
            if not (_changes(shapes[:step], 3) and _changes(shapes[step:], 3)):
                continue  # steps within one shape say nothing
            found = all(
                self._comes_again(part, step, begin, to)
                for begin in (end, max(end, self.to_mm - LAST_MM))
                for part, to in ((own, max(self.to_mm, reach_mm + LAST_MM)), (flanks, self.to_mm))
            )
            if found:
                break
        return found

    def _comes_again(self, tints: Tints, step: int, begin_mm: float, end_mm: float) -> bool:
        """Whether what stands within a step inside the cut is there between two offsets beyond it."""
        cut, begin, end = np.searchsorted(self.offsets, [0.0, begin_mm, end_mm])
        beyond = np.arange(begin, end)
        found, expected = tints[:, beyond], tints[:, cut + (beyond - cut) % step - step]
        wanted = float(expected.sum())
        enough = float(np.minimum(found, expected).sum()) >= GOES_ON * wanted
        return enough or wanted <= NEXT_TO_NOTHING * 255 * expected.size

    def _is_beyond(self, tints: Tints, reach_mm: float) -> bool:
        """Whether there is some of the ink at the end of what is looked at."""
        offsets = self.offsets
        beyond = offsets >= max(reach_mm + END_MM, self.to_mm - LAST_MM)
        beyond &= offsets <= max(self.to_mm, reach_mm + LAST_MM)
        within = (offsets >= -self.to_mm) & (offsets <= min(reach_mm, 0) - END_MM)
        return bool(tints[:, beyond].mean() >= SOME * tints[:, within].mean())


def _beside(at: Stations, piece: tuple[int, int], many: int) -> Rows:
    """So many stations on either side of a piece."""
    start, stop = piece
    return np.append(np.arange(max(0, start - many), start), np.arange(stop, min(len(at), stop + many)))


def _some(rows: Rows) -> Rows:
    """A few of many stations, evenly spread."""
    return rows[:: max(1, -(-len(rows) // FEW))]


def _parallel(at: Stations, wanted: Rows, own: Rows) -> Rows:
    """Those of the wanted stations where the cut runs as it does along most of some others."""
    ways = at.outward[own]
    main = ways[int((ways @ ways.T >= STRAIGHT).sum(1).argmax())]
    parallel: Rows = wanted[at.outward[wanted] @ main >= STRAIGHT]
    return parallel


def _turns(tints: Tints, within: int) -> NDArray[np.float64]:
    """Where tints along a line begin to go up (1) or down (-1) within so many steps; 0 elsewhere."""
    steps = tints[within:] - tints[:-within]
    way = np.zeros(len(steps) + 1)
    way[1:] = np.sign(steps) * (np.abs(steps) > DIFFERS * float(tints.max(initial=0)))
    turns: NDArray[np.float64] = np.where(way[1:] != way[:-1], way[1:], 0.0)
    return turns


def _changes(tints: Tints, within: int) -> int:
    """How often tints along a line go up or down within so many steps."""
    return int(np.count_nonzero(_turns(tints, within)))


def _steps_of(tints: Tints) -> NDArray[np.int_]:
    """After how many offsets shapes along a line may come again, the fewest first: from rise to rise, fall to fall."""
    turns = _turns(tints, 3)
    found = [np.zeros(0, int)]
    for way in (-1, 1):
        at = np.flatnonzero(turns == way)
        found.append((at[None, :] - at[:, None]).ravel())
    apart = np.concatenate(found)
    return np.unique(apart[apart > 0, None] + np.array([-1, 0, 1]))
