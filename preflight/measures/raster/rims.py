"""Ink that shows, told from rims: a shape painted over by the same shape leaves up to a quarter of it along its edge,
and so does what lies below the seams of abutting shapes. No such ink is in the file.

What is strong and wider than a line of pixels is no rim. All else is looked at again with sharp edges, tile by tile,
where a rim leaves nothing and ink from about a twentieth of a millimetre on stays what it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, overlapping
from preflight.artwork.page.objects import ObjectTable
from preflight.artwork.page.plates import Plates
from preflight.job import Job, once_a_job
from preflight.measures import object_places
from preflight.measures.raster import masks

STRONGEST_RIM: Final = 128
"""Levels of 255: one seam leaves a quarter of what lies below, many fine ones at most 37 %, pairs of them half."""
TILE_PX: Final = 320
"""Side of a tile in pixels of the second look."""
STRONGEST_EDGE: Final = 32
"""Levels by which two sharp looks may differ along an edge that is not sharp: an eighth."""
MOST_TILES: Final = 64
"""Tiles that are looked at for one question, those with most in doubt first."""
FINEST_TILE_DPI: Final = 200.0
MOST_ABOVE: Final = 20
"""Objects that are looked through to find what was painted last."""
_KEPT: Final = 24

Sees = Callable[[Sequence[Box], float], Iterable[masks.Mask]]
"""Looks at boxes of the page at a resolution with sharp edges, and says where in each the thing in question is."""


def is_no_rim(levels: NDArray[np.uint8]) -> masks.Mask:
    """Pixels in squares of two that are too strong to be a rim; a straight edge runs through three of four."""
    return masks.opened(levels, 2) >= STRONGEST_RIM


def no_edges(levels: NDArray[np.uint8], tint_percent: float) -> masks.Mask:
    """Where two sharp looks differ by a tint, and by more than the edge of a clip or a picture, which is never sharp.

    Such an edge is a quarter of the pixels of the finer rendering strong at most, and along a quarter of them.
    """
    return masks.inked(masks.opened(levels, 2), tint_percent) | (levels >= STRONGEST_EDGE)


def without_rims(
    mask: masks.Mask, plates: Plates, sees: Sees, sure: masks.Mask | None = None, enough: int = 0
) -> masks.Mask:
    """The pixels of a mask that are no rims.

    Args:
        mask: pixels of ``plates`` where something seems to be.
        plates: tell the size of the pixels and where they stand.
        sees: looks with sharp edges.
        sure: pixels that need no second look, and their neighbours neither.
        enough: so many pixels settle the question; 0 for all.
    """
    kept = np.zeros_like(mask)
    if sure is not None and len(strong := np.flatnonzero(sure.any(1))):
        band = slice(max(0, int(strong[0]) - 1), int(strong[-1]) + 2)
        kept[band] = mask[band] & masks.put_on(sure[band], 1.5)
    doubtful = mask & ~kept
    if not doubtful.any() or (enough and np.count_nonzero(kept) >= enough):
        return kept
    finer = max(1, int(FINEST_TILE_DPI / plates.dpi))
    tiles = masks.tiles(doubtful, TILE_PX // finer)
    looked, found = tiles[:MOST_TILES], False
    boxes = [plates.box(rows, columns) for rows, columns in looked]
    for (rows, columns), seen in zip(looked, sees(boxes, plates.dpi * finer), strict=False):
        # A pixel to every side: what is turned a little lands beside it.
        here = masks.put_on(masks.coarse(seen, finer), 1.5)[: rows.stop - rows.start, : columns.stop - columns.start]
        kept[rows, columns] |= doubtful[rows, columns] & here
        found = found or bool(here.any())
        if enough and np.count_nonzero(kept) >= enough:
            return kept
    for rows, columns in tiles[MOST_TILES:] if found else []:
        kept[rows, columns] |= doubtful[rows, columns]
    return kept


def sharply(job: Job, where: Callable[[Plates], masks.Mask]) -> Sees:
    """Looks at the page as it is; tiles are kept for the next question."""

    def sees(boxes: Sequence[Box], dpi: float) -> Iterator[masks.Mask]:
        held = _sharp_tiles(job)
        for box in boxes:
            if (box, dpi) not in held:
                while len(held) >= _KEPT:
                    held.pop(next(iter(held)))
                held[box, dpi] = job.page.window(box, dpi, edges="sharp")
            yield where(held[box, dpi])

    return sees


@once_a_job
def _sharp_tiles(job: Job) -> dict[tuple[Box, float], Plates]:
    """The tiles last looked at with sharp edges, by box and resolution; no more than some, so old ones have to go."""
    return {}


def painted_last(objects: ObjectTable, name: str, box: Box) -> bool:
    """Whether what was painted last in a box puts down an ink, or lets that stand which does: then it is no rim."""
    rows = np.flatnonzero(overlapping(objects.shown_mm, box) & objects.visible & (objects.alpha > 0))
    for row in rows[::-1][:MOST_ABOVE].tolist():
        colour = objects.colours[int(objects.colour[row])]
        if colour.tint(name) > 0:
            return bool(object_places.shape_of(objects, row).intersects(shapely.box(*box)))
        lets_stand = objects.overprint[row] and name not in dict(colour.tints)
        if not lets_stand and objects.alpha[row] >= 1:
            return False
    return False
