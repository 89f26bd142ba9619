"""What moved otherwise than all of a plate did: known by its own edges, since on the plate a small shift hides it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.comparing.comparison import PlatePair
from preflight.comparing.pixels import shifts
from preflight.comparing.pixels.leftovers import Undone
from preflight.comparing.pixels.local_edits import CLOSE_DPI, Closer, Place, box_of
from preflight.comparing.pixels.pixels import Levels, spread
from preflight.measures.raster import masks

MOST_TILES: Final = 400
ASTRAY_MM: Final = 0.025
"""What is left behind by less is not told."""
EVEN_LEVELS: Final = 3
EVEN: Final = 0.2
"""A tile of which less is even is taken for a picture."""
STILL_LEFT: Final = 0.5
"""What a tile's own shift leaves at most of the squares of what differs, or it is no shift."""
MOST_LOOKS: Final = 8
EDGE_LEVELS: Final = 24
Shift = tuple[float, float]


def astray(
    old: Levels, new: Levels, dpi: float, inside: NDArray[np.bool_], shift: Shift
) -> tuple[list[shifts.Place], float]:
    """Tiles that moved otherwise than all of the plate, and which share they are of those that were looked at.

    Moved by its own shift a tile fits, and that is not the one of the plate. In pictures, whose samples are drawn at
    the nearest pixel, it has to be off by more than a pixel.

    Args:
        old: a plate, through the curve of a change of tone.
        new: a plate of the same shape.
        dpi: of both.
        inside: pixels that count.
        shift: of the plate, in pixels down and to the right.
    """
    whole = [place for place in shifts.telling(old, new, inside, MOST_TILES) if inside[place].all()]
    every = [shifts.tile_of(old, new, *place) for place in whole]
    found = [tile for tile in every if _is_astray(tile, dpi, shift)]
    return [(tile.rows, tile.columns) for tile in found], len(found) / max(1, len(every))


def confirmed(
    pair: PlatePair, tiles: Sequence[shifts.Place], undone: Undone, closer: Closer
) -> tuple[list[shifts.Place], float]:
    """Tiles that moved otherwise in a closer look too, and which share they are of those that were looked at.

    Where most do, those past the looks that there are count as well.
    """
    looked = tiles[:: max(1, len(tiles) // MOST_LOOKS)][:MOST_LOOKS]
    stay = [place for place in looked if _stays(closer(box_of(pair, *place), CLOSE_DPI), pair, undone)]
    share = len(stay) / max(1, len(looked))
    return (list(tiles) if share > 0.5 else stay), share


def places(pair: PlatePair, tiles: Sequence[shifts.Place], undone: Undone) -> list[Place]:
    """What lies in tiles that moved otherwise, those side by side as one place."""
    marked = np.zeros(pair.new.shape, bool)
    for rows, columns in tiles:
        marked[rows, columns] = _edges(pair.new[rows, columns])
    mm = 25.4 / pair.dpi
    side = shifts.TILE_PX
    found = []
    for region in masks.regions(masks.coarse(marked, side)) if marked.any() else []:
        rows, columns = (slice(one.start * side, one.stop * side) for one in region.slices)
        part = marked[rows, columns]
        tight = masks.around(part, 0)
        box = box_of(
            pair,
            *(
                slice(all_.start + one.start, all_.start + one.stop)
                for all_, one in zip((rows, columns), tight, strict=True)
            ),
        )
        pixels = int(part.sum())
        found.append(Place(box, pixels * mm * mm, float(np.hypot(*undone.shift_px)) * mm, pixels))
    return found


def _is_astray(tile: shifts.Tile, dpi: float, shift: Shift) -> bool:
    """Whether a tile moved otherwise."""
    sums = shifts.sums(tile, shift)
    step, whole = shifts.solved(sums)
    play = max(float(np.hypot(*shift)) / 2, ASTRAY_MM * dpi / 25.4)
    if float((tile.edges < EVEN_LEVELS).mean()) < EVEN:
        play = max(play, 1.0)
    return bool(np.hypot(*step) > play and whole @ sums @ whole < STILL_LEFT * sums[4, 4])


def _stays(seen: PlatePair, pair: PlatePair, undone: Undone) -> bool:
    """Whether a closer look shows the same; play and shift are as long in mm."""
    scale = seen.dpi / pair.dpi
    shift = (undone.shift_px[0] * scale, undone.shift_px[1] * scale)
    old = seen.old if undone.curve is None else np.rint(undone.curve).astype(np.uint8)[seen.old]
    reach = min(int(max(abs(side) for side in shift)) + 4, min(seen.new.shape) // 4)
    inner = (slice(reach, seen.new.shape[0] - reach), slice(reach, seen.new.shape[1] - reach))
    return _is_astray(shifts.tile_of(old, seen.new, *inner), seen.dpi, shift)


def _edges(plate: Levels) -> masks.Mask:
    """Pixels of edges."""
    return spread(plate) >= EDGE_LEVELS
