"""Which ends of ink run along the cut, and which are the edges of shapes that cross it.

Reaches have one entry a station, in mm from the cut, as in ``edges``. An end that runs along the cut is *level*. Over a
long stretch that is a fault; over a short one it may be the side of a star or the rim of a leaf, whose ends go on into
slopes, while those of a ground or a bar break off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.measures.raster.profiles import LEVEL_MM, Floats, climbing, crossing, neighbouring, pieces_alike, runs

Bools = NDArray[np.bool_]
Piece = tuple[int, int]

SLOPES: Final = 2
"""Stations that an end has to go on for, past its level part, to be a slope and no corner."""
PART_MM: Final = 0.3
"""A step in the reach from one station to the next that parts two ends."""
UPS_AND_DOWNS: Final = 3.0
"""So many times what lies between its lowest and its highest an end goes up and down, for it to be ragged."""


@dataclass(frozen=True)
class Lengths:
    """How long the level part of an end has to be, in stations, and what is no longer level."""

    shortest: int
    """Where bare board follows."""
    change: int
    """Where another colour follows."""
    rim: int
    """Where the end goes on into slopes."""
    ragged: int
    """Where nothing is level, and nothing leads away from the cut."""
    spacing_mm: float
    aslant: float


def level_parts(reach: Floats, piece: Piece, lengths: Lengths) -> list[Piece]:
    """Where an end is level for the shortest stretch and more, within a piece."""
    own, shortest = reach[slice(*piece)], lengths.shortest
    if len(own) < shortest:
        return []
    level = neighbouring(own, shortest, np.maximum) - neighbouring(own, shortest, np.minimum) <= LEVEL_MM
    level &= (
        np.abs(own[shortest - 1 :] - own[: len(own) - shortest + 1])
        <= lengths.aslant * (shortest - 1) * lengths.spacing_mm
    )
    return [(piece[0] + start, piece[0] + stop + shortest - 1) for start, stop in runs(level)]


def along(reach: Floats, piece: Piece, least: int, lengths: Lengths) -> list[Piece]:
    """The level parts of a piece that are at fault: long ones, and those of ``least`` stations that break off."""
    found = []
    for start, stop in level_parts(reach, piece, lengths):
        breaks_off = start - piece[0] < SLOPES and piece[1] - stop < SLOPES
        if stop - start >= (least if breaks_off else lengths.rim):
            found.append((start, stop))
    return found


def leading_away(reach: Floats, touched: Bools, lengths: Lengths, look_mm: float) -> Bools:
    """Stations where an end climbs from nothing, or comes down from where the ink goes on: a shape crosses the cut.

    What comes down has to go up again where it is long: a ground may also taper off.
    """
    short, passing = reach < look_mm, np.zeros(len(reach), bool)
    for start, stop in runs(short & touched):
        before, after = touched[max(0, start - SLOPES) : start], touched[stop : stop + SLOPES]
        from_nothing = (not before.all(), not after.all())
        passing[start:stop] = climbing(reach[start:stop], from_nothing, lengths.spacing_mm, lengths.aslant)
    down = crossing(look_mm - reach, short, lengths.spacing_mm, lengths.aslant)
    for start, stop in runs(short):
        if stop - start <= lengths.ragged or (down[start] and down[stop - 1]):
            passing[start:stop] |= down[start:stop]
    return passing


def along_or_ragged(
    reach: Floats, here: Bools, passing: Bools, least: int, lengths: Lengths, enough_mm: float
) -> list[Piece]:
    """Of the ends here, those that run along the cut, and long ragged ones that are level nowhere and go on nowhere."""
    found = []
    for piece in pieces_alike(reach, here, PART_MM):
        found += [(a, b) for a, b in along(reach, piece, least, lengths) if 2 * passing[a:b].sum() < b - a]
    for start, stop in runs(here & ~passing & (reach < enough_mm)):
        own = reach[start:stop]
        ragged = float(np.abs(np.diff(own)).sum()) >= UPS_AND_DOWNS * float(np.ptp(own))
        if stop - start >= lengths.ragged and ragged and not any(start <= part[0] < stop for part in found):
            found.append((start, stop))
    return found
