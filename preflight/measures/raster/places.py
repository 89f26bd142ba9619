"""Places on the page of what is set in a mask of its plates, as a reading names them."""

from __future__ import annotations

from itertools import islice
from typing import Final

import numpy as np

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.findings import Place
from preflight.measures.object_places import MOST_SHOWN
from preflight.measures.raster import masks

LEAST_LEVEL: Final = 5
"""Levels of 255 from which on a place is inked, 2 %."""
CELL_MM: Final = 1.0
"""Ink nearer than about this is one place."""
SPARSE: Final = 0.3
LONG_MM: Final = 25.0
MOST_HALVINGS: Final = 3
"""What fills less of its box than ``SPARSE`` is halved where it is long: frames, outlines, scattered letters."""


def places_in(
    plates: Plates, mask: masks.Mask, separation: str | None = None, page: int = 1, most: int | None = None
) -> tuple[Place, ...]:
    """Tight places of what is set in a mask of the plates, the largest first; all of them, or ``most``.

    What lies within a millimetre hangs together; what is sparse and long is halved.
    """
    cell = max(1, round(CELL_MM / plates.mm_per_px))
    set_rows = np.flatnonzero(mask.any(1))
    if not len(set_rows):
        return ()
    above = int(set_rows[0]) // cell * cell  # bare rows above and below are not looked through
    mask = mask[above : int(set_rows[-1]) + 1]
    found: list[tuple[int, Box]] = []
    for region, apart in islice(masks.parts(masks.coarse(mask, cell)), 20 * MOST_SHOWN):
        if most and len(found) >= most and region.pixels * cell**2 <= sorted(size for size, _ in found)[-most]:
            break  # nothing that is left can be as large
        rows, columns = (slice(a * cell, b * cell) for a, b in (region.rows, region.columns))
        own = mask[rows, columns]
        own = own & np.repeat(np.repeat(apart, cell, 0), cell, 1)[: own.shape[0], : own.shape[1]]
        found += _tight(plates, own, (above + rows.start, columns.start), MOST_HALVINGS)
    found.sort(key=lambda sized: -sized[0])
    return tuple(Place(box, page, separation) for _, box in found[:most])


def where_inked(plates: Plates, inside: masks.Mask, separation: str, page: int) -> tuple[Place, ...]:
    """Where an ink stands inside the cut, as many places as are shown, the largest first."""
    ink = (plates.tint(separation) >= LEAST_LEVEL) & inside
    return places_in(plates, ink, separation, page, MOST_SHOWN)


def _tight(plates: Plates, mask: masks.Mask, at: tuple[int, int], halvings: int) -> list[tuple[int, Box]]:
    """Pixels and box of what is set; halves of it where it is long and fills little of its box."""
    rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
    if not len(rows):
        return []
    top, left = int(rows[0]), int(columns[0])
    own = mask[top : int(rows[-1]) + 1, left : int(columns[-1]) + 1]
    (height, width), count = own.shape, int(np.count_nonzero(own))
    corner = (at[0] + top, at[1] + left)
    if halvings and count < SPARSE * own.size and max(height, width) * plates.mm_per_px > LONG_MM:
        half = max(height, width) // 2
        first, second = (own[:half], own[half:]) if height >= width else (own[:, :half], own[:, half:])
        beside = (corner[0] + half, corner[1]) if height >= width else (corner[0], corner[1] + half)
        return [*_tight(plates, first, corner, halvings - 1), *_tight(plates, second, beside, halvings - 1)]
    return [(count, plates.box(slice(corner[0], corner[0] + height), slice(corner[1], corner[1] + width)))]
