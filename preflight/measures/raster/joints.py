"""How far apart two inks are on the plates at their nearest: nought where they touch or overlap.

The 100 dpi plates tell where to look; distances are taken between contours at 600 dpi in windows there. A contour runs
where an ink falls to half of what it is beside, so that it lies on a drawn edge to about a hundredth of a
millimetre; corners are cut, by 0.03 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures.raster import masks, rims
from preflight.measures.raster.close_looks import window_on
from preflight.measures.raster.overlaps import surely_over

CLOSE_DPI: Final = 600.0
CLOSE_SIDE_MM: Final = 12.0
MOST_CLOSE_LOOKS: Final = 6
HALF: Final = 0.5
"""Of the strongest tint beside it: where the edge of an ink lies."""


@dataclass(frozen=True)
class Joint:
    """Two inks at their nearest."""

    distance_mm: float | None
    """None: further apart than anybody looked."""
    box_mm: Box | None = None
    """The window that it was measured in."""
    left_out_mm: tuple[Box, ...] = ()
    """Where they come near each other and nobody looked closer, because there are too many such places."""


def joint(job: Job, one: str, other: str, up_to_mm: float, tint_percent: float) -> Joint:
    """The nearest distance of two inks inside the cut, as far as ``up_to_mm``.

    Args:
        job: its plates are asked first.
        one: a separation.
        other: another one.
        up_to_mm: how far is looked.
        tint_percent: from which tint on there is ink.
    """
    plates = job.plates
    first, second = (masks.inked(plates.tint(name), tint_percent) & job.inside_mask for name in (one, other))
    both = first & second
    if both.any() and _surely_meet(job, both, one, other):
        return Joint(0.0, plates.box_of(both))
    near = _near(plates, first, second, up_to_mm)
    # Those that come nearest are looked at first: what shares a pixel, then what shares most of its neighbourhood.
    regions = sorted(masks.regions(near), key=lambda region: -int(both[region.slices].sum()))
    boxes = [_around(job, region) for region in regions]
    nearest = Joint(None)
    for box in boxes[:MOST_CLOSE_LOOKS]:
        distance = _in_window(job, box, one, other, tint_percent)
        if distance <= up_to_mm and (nearest.distance_mm is None or distance < nearest.distance_mm):
            nearest = Joint(round(distance, 3), box)
        if distance == 0:
            return nearest
    return Joint(nearest.distance_mm, nearest.box_mm, tuple(boxes[MOST_CLOSE_LOOKS:]))


def _surely_meet(job: Job, both: masks.Mask, one: str, other: str) -> bool:
    """Whether shared pixels of the coarse plates are an overlap: wider than an edge, and stronger than a rim."""
    wide = masks.taken_off(both, 1)
    return bool((wide & surely_over(job.plates.tint(one), job.plates.tint(other))).any())


def _near(plates: Plates, first: masks.Mask, second: masks.Mask, up_to_mm: float) -> masks.Mask:
    """Pixels from which both inks may be within reach: a pixel counts as inked however little of it is covered."""
    if not first.any() or not second.any():
        return np.zeros_like(first)
    reach = up_to_mm / plates.mm_per_px / 2 + math.sqrt(2)
    found = np.zeros_like(first)
    rows, columns = masks.around(first, math.ceil(reach) + 1)
    part = rows, columns
    found[part] = masks.put_on(first[part], reach) & masks.put_on(second[part], reach)
    return found


def _around(job: Job, region: masks.Region) -> Box:
    """A region with a margin, or as much of it as is looked at."""
    (row, column), (x0, _, _, y1), mm = region.first, job.plates.box_mm, job.plates.mm_per_px
    return window_on(job.page, job.plates, region, (x0 + column * mm, y1 - row * mm), CLOSE_SIDE_MM)


def _in_window(job: Job, box: Box, one: str, other: str, tint_percent: float) -> float:
    """The nearest distance in a window, in mm; infinite where one of the inks is not there."""
    window = job.page.window(box, CLOSE_DPI)
    first, second = (_ink_in(job, window, name, tint_percent) for name in (one, other))
    if (first & second).any():
        return 0.0
    edges = [_contour(window, window.tint(one), first, tint_percent)]
    edges.append(_contour(window, window.tint(other), second, tint_percent))
    if not len(edges[0]) or not len(edges[1]):
        return math.inf
    tree = shapely.STRtree(shapely.points(edges[0]))
    _, distances = tree.query_nearest(shapely.points(edges[1]), return_distance=True, all_matches=False)
    nearest = float(distances.min())
    # Edges that touch lie within a share of a pixel, since tints are whole steps and the page is turned a little.
    return 0.0 if nearest < window.mm_per_px else nearest


def _ink_in(job: Job, window: Plates, name: str, tint_percent: float) -> masks.Mask:
    """Pixels inside the cut that an ink fills, rims left out."""
    tints = window.tint(name)
    ink = _filled(tints, tint_percent) & window.mask_of(job.inside_shape)
    sees = rims.sharply(job, lambda sharp: masks.inked(sharp.tint(name), tint_percent))
    return rims.without_rims(ink, window, sees, rims.is_no_rim(tints))


def _level(tints: NDArray[np.uint8], tint_percent: float) -> NDArray[np.float64]:
    level: NDArray[np.float64] = np.maximum(HALF * masks.strongest_around(tints), max(1.0, tint_percent * 2.55))
    return level


def _filled(tints: NDArray[np.uint8], tint_percent: float) -> masks.Mask:
    """Pixels that an ink fills by half and more."""
    filled: masks.Mask = tints >= _level(tints, tint_percent)
    return filled


def _contour(window: Plates, tints: NDArray[np.uint8], ink: masks.Mask, tint_percent: float) -> NDArray[np.float64]:
    """Places (k, 2) in mm where ink ends, between the middles of a filled pixel and of one beside it that is not."""
    level, values = _level(tints, tint_percent), tints.astype(np.float64)
    found = []
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
        beside = np.roll(ink, -step, axis)
        ends = ink & ~beside
        edge: list[slice | int] = [slice(None), slice(None)]
        edge[axis] = -1 if step > 0 else 0
        ends[tuple(edge)] = False  # ink goes on beyond the window
        row, column = np.nonzero(ends)
        there = (row + step * (axis == 0), column + step * (axis == 1))
        fall = np.maximum(values[row, column] - values[there], 1.0)
        share = np.clip((values[row, column] - level[row, column]) / fall, 0.0, 1.0)[:, None]
        found.append(window.middles(row, column) * (1 - share) + window.middles(*there) * share)
    return np.concatenate(found)
