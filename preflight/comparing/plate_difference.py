"""What one plate of two files differs by: nothing, a shift of all of it, a change of its tone, or edits in places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from preflight.comparing import local_edits, shifts, tones
from preflight.comparing.comparison import Difference, PlatePair
from preflight.comparing.leftovers import NOTHING, Undone, fill_unknown, leftover
from preflight.comparing.local_edits import Closer, Place
from preflight.comparing.pixels import Levels, known, shifted, sums

TILE_PX: Final = 32
LEAST_IN_TILE: Final = 128
"""Levels, summed up, that a tile has to differ by to say anything."""
GONE: Final = 0.25
"""A tile is explained where no more than this is left of what differed in it."""
LEAST_EXPLAINED: Final = 0.2
"""Of the tiles that differ."""
MOST_BROKEN: Final = 0.1
"""Tiles that were the same and differ only because something was undone, for each that is explained."""


@dataclass(frozen=True)
class _Left:
    """What was undone, and what is left."""

    undone: Undone
    levels: Levels


def difference(pair: PlatePair, closer: Closer | None = None) -> Difference:
    """What a pair of plates differs by; equal ones cost next to nothing.

    No difference are edges that stand up to 0.015 mm off, up to 2 levels of 255, and what compressing a picture anew
    scatters (up to 5 %). A shift or a change of tone is only claimed if undoing it makes most of what differs the same,
    and next to nothing differ that was the same.

    Args:
        pair: plates of one shape.
        closer: gives the pair in a box of NEW's page at a resolution; asked where the plates leave a doubt: rims of
            shapes that lie on one another, hairlines, and places smaller than 0.1 mm². Without it all counts that
            amounts to 0.1 mm².

    Raises:
        ValueError: the plates differ in shape.
    """
    if not pair.old.shape == pair.new.shape == pair.inside.shape:
        raise ValueError(f"plates of shapes {pair.old.shape} and {pair.new.shape} cannot be compared")
    if not pair.new.size or np.array_equal(pair.old, pair.new):
        return Difference("none")
    plain = _Left(NOTHING, leftover(pair.old, pair.new, pair.dpi))
    if not plain.levels.any():
        return Difference("none")
    best = _explained(pair, plain) if (plain.levels.astype(bool) & pair.inside).any() else plain
    return _told(pair, plain, best, closer)


def _explained(pair: PlatePair, plain: _Left) -> _Left:
    """A shift, a change of tone or both undone, if that explains what differs."""
    old, new, inside = pair.old, pair.new, pair.inside
    best = plain
    curve = tones.found(old, new, inside)
    if curve is not None:
        toned = _without(pair, Undone(curve=curve))
        if _holds(plain.levels, toned.levels, inside):
            best = toned
    if not best.levels.any():
        return best
    shift = shifts.found(old if best is plain else _through(old, curve), new, pair.dpi, inside)
    if shift is None:
        return best
    curve = tones.found(shifted(old, shift), new, inside & known(inside.shape, shift))
    tried = [_without(pair, Undone(shift))]
    if curve is not None:
        tried.append(_without(pair, Undone(shift, curve)))
    holding = [one for one in tried if _holds(best.levels, _with_ends(one, best), inside)]
    return min(holding, key=lambda one: _amount(one.levels, inside), default=best)


def _without(pair: PlatePair, undone: Undone) -> _Left:
    """What is left once something was undone."""
    return _Left(undone, leftover(pair.old, pair.new, pair.dpi, undone))


def _with_ends(one: _Left, other: _Left) -> Levels:
    """What is left, and what another one left where a shift brings in what is off the plate: that explains nothing."""
    levels = one.levels.copy()
    fill_unknown(levels, one.undone, other.levels)
    return levels


def _through(levels: Levels, curve: NDArray[np.float32] | None) -> Levels:
    """Levels through a curve."""
    return levels if curve is None else np.rint(curve).astype(np.uint8)[levels]


def _holds(before: Levels, after: Levels, inside: NDArray[np.bool_]) -> bool:
    """Whether undoing something makes what differs the same, and leaves the same what was."""
    was, still = _in_tiles(before, inside), _in_tiles(after, inside)
    differs = was >= LEAST_IN_TILE
    explained = int((differs & (still <= GONE * was)).sum())
    broken = int((~differs & (still >= LEAST_IN_TILE + was)).sum())
    return explained >= max(1, LEAST_EXPLAINED * int(differs.sum())) and broken <= MOST_BROKEN * explained


def _in_tiles(levels: Levels, inside: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Levels inside the cut summed up in tiles."""
    return sums(np.where(inside, levels, np.uint8(0)), TILE_PX).astype(np.int64)


def _amount(levels: Levels, inside: NDArray[np.bool_]) -> int:
    """Levels inside the cut summed up."""
    return int(levels.sum(where=inside, dtype=np.int64))


def _told(pair: PlatePair, plain: _Left, best: _Left, closer: Closer | None) -> Difference:
    """The difference in words and figures."""
    inside, undone = pair.inside, best.undone
    within = local_edits.places(pair, np.where(inside, best.levels, np.uint8(0)), undone, closer)
    past: list[Place] = []
    if not inside.all():
        outside = np.where(inside, np.uint8(0), np.minimum(plain.levels, best.levels))
        past = local_edits.places(pair, outside, undone, closer)
    mm = 25.4 / pair.dpi
    moved = (undone.shift_px[1] * mm, 0.0 - undone.shift_px[0] * mm)
    what: list[Literal["moved", "tone", "local"]] = []
    if moved != (0.0, 0.0):
        what.append("moved")
    if undone.curve is not None:
        what.append("tone")
    if within:
        what.append("local")
    differs = np.count_nonzero((plain.levels > 0) & inside) if undone.changes else sum(p.pixels for p in within)
    return Difference(
        how=what[0] if what else "none",
        share=differs / max(1, np.count_nonzero(inside)),
        moved_mm=moved,
        tone_percent=0.0 if undone.curve is None else tones.greatest(undone.curve, pair.old, inside),
        blobs=tuple(place.box_mm for place in within),
        blobs_outside=tuple(place.box_mm for place in past),
        also=tuple(what[1:]),
        largest_mm=max([float(np.hypot(*moved)), *(place.width_mm for place in within)]),
    )
