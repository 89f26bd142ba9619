"""Whether all that changed looks like another export of one artwork through another colour conversion.

Then every colour of the old process plates became one colour of the new ones, wherever it is: a joint mapping of the
four tints, that no plate's own curve need show (a black built of one ink before and of four now).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.separations import PROCESS
from preflight.comparing.comparison import PlateChange
from preflight.comparing.pages.aligned_plates import AlignedPlates
from preflight.comparing.plates import screen_look

MOST_SAMPLES: Final = 400_000
LEAST_SAMPLES: Final = 50
FLAT: Final = 3
"""Levels of 255 between neighbours on a flat place: edges are mixtures, which no conversion maps as a whole."""
CELL: Final = 8
"""Levels of 255 that are counted as one colour."""
SAME_COLOUR: Final = 14
"""Levels that pixels of one old colour may differ by on the new plates: the cell's own width, and some steepness."""
EXPLAINED: Final = 0.97
"""The share of flat pixels that the mapping has to account for."""
CHANGED: Final = 4
LEAST_COLOURS: Final = 2
MOST_COLOURS: Final = 0.5
"""The share of colours that a conversion changes, at least; others may stay, as black alone often does."""
LOOK_ALIKE: Final = 0.9
"""The share of the changed colours that look the same on a screen: who converts wants that."""
BOX_PX: Final = 40
LEAST_IN_BOX: Final = 5
MOST_BOXES: Final = 400
MOST_PLACES: Final = 20


@dataclass(frozen=True)
class OtherExport:
    """A joint mapping of the process plates that accounts for what changed."""

    explained: float
    """Share of the flat pixels that it accounts for, 0 to 1."""
    beside: tuple[Box, ...] = ()
    """Places on NEW's page that it does not account for."""


def other_export(aligned: AlignedPlates, changes: Sequence[PlateChange]) -> OtherExport | None:
    """The mapping where every process plate that prints changed by it, the spots stay and nothing moved; else None."""
    plates = [name for name in PROCESS if _prints(aligned, name)]
    by_name = {change.name: change for change in changes}
    if len(plates) < LEAST_COLOURS or any(change.change not in ("none", "renamed") for change in _spots(changes)):
        return None
    own = [by_name[name] for name in plates if name in by_name]
    if any(change.change in ("none", "moved") or "moved" in change.also for change in own):
        return None
    bare = np.zeros(aligned.inside.shape, np.uint8)
    old, new = (
        np.stack([held[name].ink if name in held else bare for name in plates]) for held in (aligned.old, aligned.new)
    )
    flat = _flat(old) & _flat(new) & aligned.inside & ((old > 0).any(0) | (new > 0).any(0))
    rows, columns = np.nonzero(flat)
    if len(rows) < LEAST_SAMPLES:
        return None
    step = -(-len(rows) // MOST_SAMPLES)
    rows, columns = rows[::step], columns[::step]
    odd = _unexplained(plates, old[:, rows, columns].T, new[:, rows, columns].T)
    if odd is None or 1 - odd.mean() < EXPLAINED:
        return None
    return OtherExport(float(1 - odd.mean()), _places(rows[odd], columns[odd], aligned))


def _prints(aligned: AlignedPlates, name: str) -> bool:
    return any(name in held and held[name].prints for held in (aligned.old, aligned.new))


def _spots(changes: Sequence[PlateChange]) -> list[PlateChange]:
    return [change for change in changes if change.name not in PROCESS]


def _flat(inks: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Pixels that differ from no neighbour by more than a little, on no plate."""
    flat = np.ones(inks.shape[1:], np.bool_)
    flat[0], flat[-1], flat[:, 0], flat[:, -1] = False, False, False, False
    for ink in inks:
        for axis in (0, 1):
            steps = np.abs(np.diff(ink.astype(np.int16), axis=axis)) > FLAT
            if axis == 0:
                flat[:-1] &= ~steps
                flat[1:] &= ~steps
            else:
                flat[:, :-1] &= ~steps
                flat[:, 1:] &= ~steps
    return flat


def _unexplained(plates: Sequence[str], old: NDArray[np.uint8], new: NDArray[np.uint8]) -> NDArray[np.bool_] | None:
    """Which samples (n, plates) are not near the usual new colour of their old one.

    None where that is no conversion of colours: too few changed, or they look otherwise now.
    """
    cells = old // CELL
    keys = np.zeros(len(cells), np.int64)
    for column in cells.T:
        keys = keys * (256 // CELL) + column
    _, which, counts = np.unique(keys, return_inverse=True, return_counts=True)
    usual = np.stack([_medians(which, counts, column) for column in new.T], axis=1)
    before = np.stack([_medians(which, counts, column) for column in old.T], axis=1)
    # within a cell the new tint may rise with the old one
    offset = new.astype(np.int16) - usual[which] - (old.astype(np.int16) - before[which])
    odd = np.minimum(np.abs(offset), np.abs(new.astype(np.int16) - usual[which])).max(1) > SAME_COLOUR
    known = counts >= LEAST_SAMPLES
    changed = known & (np.abs(usual - before) >= CHANGED).any(1)
    if changed.sum() < max(LEAST_COLOURS, MOST_COLOURS * known.sum()):
        return None
    looks = [screen_look.mixed(plates, tints[changed] / 255) for tints in (before, usual)]
    alike = np.abs(looks[0] - looks[1]).max(1) <= screen_look.SAME_LOOK
    return np.asarray(odd, np.bool_) if alike.mean() >= LOOK_ALIKE else None


def _medians(which: NDArray[np.intp], counts: NDArray[np.intp], values: NDArray[np.uint8]) -> NDArray[np.int16]:
    """The median of the values of each group."""
    order = np.lexsort((values, which))
    ends = np.cumsum(counts)
    return np.asarray(values[order][ends - counts + (counts - 1) // 2], np.int16)


def _places(rows: NDArray[np.intp], columns: NDArray[np.intp], aligned: AlignedPlates) -> tuple[Box, ...]:
    """Boxes of the squares of some millimetres that hold such pixels, neighbours as one; the largest first."""
    squares, counts = np.unique(np.stack([rows, columns]) // BOX_PX, axis=1, return_counts=True)
    squares = squares[:, counts >= LEAST_IN_BOX]
    if squares.shape[1] > MOST_BOXES:  # noise all over, and no places
        return ()
    groups = list[set[tuple[int, int]]]()
    for row, column in squares.T.tolist():
        round_it = {(row + y, column + x) for y in (-1, 0, 1) for x in (-1, 0, 1)}
        near = [group for group in groups if group & round_it]
        groups = [group for group in groups if group not in near] + [{(row, column)}.union(*near)]
    mm, (x0, _, _, y1) = 25.4 / aligned.dpi * BOX_PX, aligned.box_mm
    boxes = [
        (
            x0 + min(c for _, c in group) * mm,
            y1 - (max(r for r, _ in group) + 1) * mm,
            x0 + (max(c for _, c in group) + 1) * mm,
            y1 - min(r for r, _ in group) * mm,
        )
        for group in sorted(groups, key=len, reverse=True)
    ]
    return tuple(boxes[:MOST_PLACES])
