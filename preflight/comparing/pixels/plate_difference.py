"""What one plate of two files differs by: nothing, a shift of all of it, a change of its tone, or edits in places."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, overlap, overlapping
from preflight.comparing.comparison import Difference, PlatePair
from preflight.comparing.pixels import left_behind, local_edits, shifts, tones
from preflight.comparing.pixels.leftovers import NOTHING, Undone, fill_unknown, leftover
from preflight.comparing.pixels.local_edits import Closer, Place
from preflight.comparing.pixels.pixels import Levels, known, shifted, sums

TILE_PX: Final = 32
LEAST_IN_TILE: Final = 128
"""Levels, summed up, that a tile has to differ by to say anything."""
GONE: Final = 0.25
"""A tile is explained where no more than this is left of what differed in it."""
LEAST_EXPLAINED: Final = 0.5
"""Of the tiles that differ."""
MOST_ASTRAY: Final = 0.25
"""Of the tiles with edges in them may have moved otherwise, or it is no shift of the plate."""
MOST_WINDOWS: Final = 5
MOST_REACH_MM: Final = 10.0
MOST_BROKEN: Final = 0.1
"""Tiles that were the same and differ only because something was undone, for each that is explained."""


@dataclass(frozen=True)
class _Left:
    """What was undone, and what is left."""

    undone: Undone
    levels: Levels
    astray: tuple[shifts.Place, ...] = ()
    """Where something moved otherwise than all of the plate."""


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
    best = _explained(pair, plain, closer) if (plain.levels.astype(bool) & pair.inside).any() else plain
    return _told(pair, plain, best, closer)


def _explained(pair: PlatePair, plain: _Left, closer: Closer | None) -> _Left:
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
    seen: list[PlatePair] = []
    if closer is not None:
        seen = [closer(box, local_edits.CLOSE_DPI) for box in _windows(pair, shift)]
        shift = _exactly(pair, seen, shift, best.undone.curve)
    curve = tones.found(shifted(old, shift), new, inside & known(inside.shape, shift))
    tried = [_without(pair, Undone(shift))]
    if curve is not None:
        tried.append(_without(pair, Undone(shift, curve)))
    holding = [one for one in tried if _holds(best.levels, _with_ends(one, best), inside)]
    if not holding and seen and all(_holds_closely(one, pair.dpi, tried[-1].undone) for one in seen):
        holding = tried[-1:]
    if not holding:
        return best
    least = min(holding, key=lambda one: _amount(one.levels, inside))
    ours = old if least.undone.curve is None else _through(old, least.undone.curve)
    tiles, share = left_behind.astray(ours, new, pair.dpi, inside, shift)
    if tiles and closer is not None:
        tiles, stay = left_behind.confirmed(pair, tiles, least.undone, closer)
        share *= stay
    if share > MOST_ASTRAY:
        return best
    return replace(least, astray=tuple(tiles))


def _windows(pair: PlatePair, shift: shifts.Px) -> list[Box]:
    """Where a shift is looked at closely: tiles with edges, from those that differ most to those that differ least."""
    tiles = shifts.telling(pair.old, pair.new, pair.inside, MOST_WINDOWS)
    reach = min(max(abs(side) for side in shift) * 25.4 / pair.dpi, MOST_REACH_MM) + 0.5
    boxes = [local_edits.box_of(pair, rows, columns) for rows, columns in tiles]
    grown = [(x0 - reach, y0 - reach, x1 + reach, y1 + reach) for x0, y0, x1, y1 in boxes]
    return [overlap(box, pair.box_mm) for box in grown] if reach < MOST_REACH_MM else []


def _exactly(pair: PlatePair, seen: list[PlatePair], shift: shifts.Px, curve: NDArray[np.float32] | None) -> shifts.Px:
    """A shift made exact by closer looks."""
    if not seen:
        return shift
    scale = seen[0].dpi / pair.dpi
    closely = shifts.exact([(_through(one.old, curve), one.new) for one in seen], (shift[0] * scale, shift[1] * scale))
    return closely[0] / scale, closely[1] / scale


def _holds_closely(seen: PlatePair, dpi: float, undone: Undone) -> bool:
    """Whether undoing something explains what a closer look shows; so too where nothing differs there."""
    scale = seen.dpi / dpi
    again = Undone((undone.shift_px[0] * scale, undone.shift_px[1] * scale), undone.curve)
    before = leftover(seen.old, seen.new, seen.dpi)
    after = leftover(seen.old, seen.new, seen.dpi, again)
    fill_unknown(after, again, before)
    every = np.ones(before.shape, bool)
    return not (before.any() or after.any()) or _holds(before, after, every)


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
    edited = np.array([place.box_mm for place in within]).reshape(-1, 4)
    untouched = [tile for tile in best.astray if not overlapping(edited, local_edits.box_of(pair, *tile)).any()]
    within += left_behind.places(pair, untouched, undone)
    past: list[Place] = []
    if not inside.all():
        outside = np.where(inside, np.uint8(0), np.minimum(plain.levels, best.levels))
        past = local_edits.places(pair, outside, undone, closer)
    mm = 25.4 / pair.dpi
    down, right = undone.shift_px
    moved = (right * mm, 0.0 - down * mm)
    what: list[Literal["moved", "tone", "local"]] = []
    if moved != (0.0, 0.0):
        what.append("moved")
    if undone.curve is not None:
        what.append("tone")
    if within:
        what.append("local")
    differs = sum(place.pixels for place in within)
    if undone.changes or len(within) >= local_edits.MOST_PLACES:
        differs = int(np.count_nonzero((plain.levels > 0) & inside))
    return Difference(
        how=what[0] if what else "none",
        share=differs / max(1, int(np.count_nonzero(inside))),
        moved_mm=moved,
        tone_percent=0.0 if undone.curve is None else tones.greatest(undone.curve, pair.old, inside),
        blobs=tuple(place.box_mm for place in within),
        blobs_outside=tuple(place.box_mm for place in past),
        also=tuple(what[1:]),
        largest_mm=max([float(np.hypot(*moved)), *(place.width_mm for place in within)]),
    )
