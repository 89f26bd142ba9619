"""Where two plates overlap inside the cut, once their edges are taken off: traps and touching edges do not count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, meeting
from preflight.artwork.page.plates import Plates
from preflight.findings import Gap, Place
from preflight.job import Job
from preflight.measures import object_places
from preflight.measures.raster import masks, rims
from preflight.measures.raster.close_looks import seen_closely, window_on
from preflight.measures.raster.places import places_in

CLOSE_DPI: Final = 600.0
CLOSE_SIDE_MM: Final = 12.0
MOST_CLOSE_LOOKS: Final = 6
PLAIN_MM2: Final = 2.0
"""Overlap left on the 100 dpi plates from which nobody has to look closer."""

SURELY: Final = 255 + 96
"""Levels of two inks together: side by side they make 255 in a pixel, and no rim adds 37 % of one."""


@dataclass(frozen=True)
class Overlap:
    """Two plates over each other inside the cut."""

    area_mm2: float
    boxes_mm: tuple[Box, ...] = ()
    """Where it is, the largest place first."""
    left_out_mm: tuple[Box, ...] = ()
    """Where they share pixels and nobody looked closer, because there are too many such places."""

    def gap(self, one: str, other: str, page: int) -> Gap:
        """That not all places where two plates meet were looked at."""
        because = f"{one} and {other} meet in more than {MOST_CLOSE_LOOKS} places, and not all were checked closely"
        return Gap(because, "a simpler file", places=tuple(Place(box, page) for box in self.left_out_mm))

    def place(self, page: int, separation: str) -> tuple[Place, ...]:
        """Its places, with the separation that it is about; empty where there is no overlap."""
        return tuple(Place(box, page, separation) for box in self.boxes_mm[: object_places.MOST_SHOWN])


def overlap(job: Job, one: str, other: str, trim_mm: float, tint_percent: float) -> Overlap:
    """The overlap of two separations inside the cut after ``trim_mm`` is taken off its edges.

    The 100 dpi plates answer for what is large; what might be a trap is looked at in windows of 600 dpi.
    """

    def within_edges(seen: Plates) -> masks.Mask:
        return masks.taken_off(_both(seen, one, other, tint_percent), _radius(seen, trim_mm))

    def within_cut(seen: Plates) -> masks.Mask:
        return within_edges(seen) & seen.mask_of(job.inside_shape)

    plates = job.plates
    both = _both(plates, one, other, tint_percent) & job.inside_mask
    plain = masks.taken_off(both, _radius(plates, trim_mm))
    if plain.any():
        surely = surely_over(plates.tint(one), plates.tint(other))
        plain = rims.without_rims(plain, plates, rims.sharply(job, within_edges), surely)
    area = float(plain.sum()) * plates.mm_per_px**2
    if area >= PLAIN_MM2:
        whole = masks.put_on(plain, _radius(plates, trim_mm)) & both
        return Overlap(area, tuple(place.box_mm for place in places_in(plates, whole)))
    area, found = 0.0, list[tuple[int, Box]]()
    meetings = [_around(job, region) for region in masks.regions(both)]
    for box in meetings[:MOST_CLOSE_LOOKS]:
        if seen := seen_closely(job.page, box, CLOSE_DPI, within_cut):
            window, left = seen
            area += float(left.sum()) * window.mm_per_px**2
            found.append((int(left.sum()), window.box_of(left)))
    found.sort(key=lambda sized: -sized[0])
    return Overlap(area, tuple(box for _, box in found), tuple(meetings[MOST_CLOSE_LOOKS:]))


def surely_over(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> masks.Mask:
    """Pixels in which two inks are more than side by side, and more than the rim of a shape that is painted over."""
    surely: masks.Mask = one.astype(np.uint16) + other >= SURELY
    return surely


def may_overlap(job: Job, box: Box, one: str, others: Sequence[str]) -> bool:
    """Whether anything in a box can put an ink on another: by overprint, by letting it show, or by naming both.

    Where nothing can, what shares a pixel only meets there.
    """
    page, objects = job.page, job.page.objects
    if not page.opaque:
        return True
    rows = np.flatnonzero(objects.visible & meeting(objects.shown_mm, box))
    either = objects.colours.where(lambda family: family.names_any({one, *others}) or family.space == "Pattern")
    both = objects.colours.where(
        lambda family: (
            family.registration or (one in family.names and family.names_any(others)) or family.space == "Pattern"
        )
    )
    colour = objects.colour[rows]
    return bool((objects.overprint[rows] & either[colour]).any() or both[colour].any())


def _both(plates: Plates, one: str, other: str, tint_percent: float) -> NDArray[np.bool_]:
    return masks.inked(plates.tint(one), tint_percent) & masks.inked(plates.tint(other), tint_percent)


def _radius(plates: Plates, trim_mm: float) -> int:
    """One pixel more than the trim, since a pixel counts as inked however little of it is covered."""
    return int(np.ceil(trim_mm / plates.mm_per_px)) + 1


def _around(job: Job, region: masks.Region) -> Box:
    """A region with a margin, or as much of it as is looked at."""
    (row, column), (x0, _, _, y1), mm = region.first, job.plates.box_mm, job.plates.mm_per_px
    return window_on(job.page, job.plates, region, (x0 + column * mm, y1 - row * mm), CLOSE_SIDE_MM)
