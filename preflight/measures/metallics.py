"""Inks that lie over or under a metallic: neither takes well on the other, and what is seen turns grey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.findings import Place, Reading, listed
from preflight.job import InkOnJob, Job
from preflight.measures import needs, object_places
from preflight.measures.raster import masks, overlaps, rims
from preflight.measures.raster.close_looks import apart, on_page, seen_closely
from preflight.measures.raster.overlaps import CLOSE_DPI, CLOSE_SIDE_MM, MOST_CLOSE_LOOKS, PLAIN_MM2
from preflight.measures.registry import Kinds, measure

MOST_PLACES: Final = 20
SHARED: Final = 0.15
"""Two inks that only share the pixels along an edge cover shares of them that come to one; more than this beyond is
looked at closely. Tints are whole steps, and the page is turned a little."""


@measure("ink-over-metallic", unit="mm2", cases=("on ink",), facts=("ink", "over"))
def ink_over_metallic(job: Job, *, inks: Kinds, trim_mm: float, ink_from_percent: float) -> list[Reading]:
    """Area on which other inks overlap a metallic, one reading a metallic.

    ``inks`` are the kinds that count, from a tint of ``ink_from``. Within ``trim`` of where the other ink goes on
    beyond the metallic an overlap is a trap. Silent where the ticket says that the metallic is printed over. Case ``on
    ink``: inks that the ticket's unit list prints before the metallic, so that it lies on them and none on it.
    """
    found, readings = [i for i in needs.inks(job) if i.in_file and i.prints is not False], []
    metallics = [ink for ink in found if ink.separation.kind == "metallic"]
    for number, ink in enumerate(metallics):
        name = ink.separation.name
        if printed_over(job, name):
            continue
        others = [
            other
            for other in found
            if other.separation.kind in inks and other not in metallics[: number + 1] and not _one(job, name, other)
        ]
        under = [other for other in others if _before(other, ink)]
        cases = {"": [other for other in others if other not in under], "on ink": under}
        if all(cases.values()):  # most pages have no overlap at all, and one look tells
            names = [other.separation.name for other in others]
            cases = cases if _MetallicOverlap(job, name, names, trim_mm, ink_from_percent).overlap()[0] > 0 else {}
        for case, some in cases.items():
            names = [other.separation.name for other in some]
            area, boxes, names = _MetallicOverlap(job, name, names, trim_mm, ink_from_percent).overlap()
            if area > 0:
                readings.append(
                    Reading(
                        round(area, 2),
                        "mm2",
                        tuple(Place(box, job.page.number, name) for box in boxes),
                        ink.separation.known,
                        case,
                        name,
                        {"ink": name, "over": listed(names)},
                    )
                )
    return readings


def printed_over(job: Job, name: str) -> bool:
    """Whether the ticket says that other inks are meant to cover a separation."""
    notes = job.ticket.separations if job.ticket else {}
    own = job.ticket.ink_of(name) if job.ticket else name
    return any(notes[key].printed_over is True for key in (name, own) if key in notes)


def _before(ink: InkOnJob, metallic: InkOnJob) -> bool:
    """Whether the unit list has all of an ink on the sheet before the metallic comes."""
    return bool(ink.units and metallic.units) and max(ink.units) < min(metallic.units)


def _one(job: Job, name: str, other: InkOnJob) -> bool:
    """Whether the ticket merges two names into one ink."""
    return job.ticket is not None and job.ticket.ink_of(name) == job.ticket.ink_of(other.separation.name)


@dataclass(frozen=True)
class _MetallicOverlap:
    """One metallic and the inks that may overlap it."""

    job: Job
    metallic: str
    others: Sequence[str]
    trim_mm: float
    tint_percent: float

    def overlap(self) -> tuple[float, list[Box], list[str]]:
        """Area in mm², places and the inks that overlap; nought where none does.

        The 100 dpi plates answer for what is large; letters and lines are looked at in windows of 600 dpi.
        """
        if not self.others:
            return 0.0, [], []
        plates = self.job.plates
        metal, other = self._inked(plates)
        both = metal & other & self.job.inside_mask
        if not both.any():
            return 0.0, [], []
        plain = masks.taken_off(both, self._radius(plates))
        if plain.any():
            other_tint = np.max([plates.tint(name) for name in self.others], axis=0)
            surely = overlaps.surely_over(plates.tint(self.metallic), other_tint)
            plain = rims.without_rims(plain, plates, rims.sharply(self.job, self._within_edges), surely)
        if float(plain.sum()) * plates.mm_per_px**2 >= PLAIN_MM2:
            whole = masks.put_on(plain, self._radius(plates)) & both
            boxes = [plates.box(*region.slices) for region in masks.regions(whole)]
            area = float(whole.sum()) * plates.mm_per_px**2
            return area, apart(object_places.gathered(boxes, MOST_PLACES)), self._named(plates, plain)
        return self._close(both)

    def _inked(self, plates: Plates) -> tuple[masks.Mask, masks.Mask]:
        other = np.zeros(plates.ink.shape[1:], bool)
        for name in self.others:
            other |= masks.inked(plates.tint(name), self.tint_percent)
        return masks.inked(plates.tint(self.metallic), self.tint_percent), other

    def _within_edges(self, plates: Plates) -> masks.Mask:
        return masks.taken_off(np.logical_and(*self._inked(plates)), self._radius(plates))

    def _radius(self, plates: Plates) -> int:
        """One pixel more than the trim, since a pixel counts as inked however little of it is covered."""
        return int(np.ceil(self.trim_mm / plates.mm_per_px)) + 1

    def _named(self, plates: Plates, where: masks.Mask) -> list[str]:
        shares = {name: int(masks.inked(plates.tint(name), self.tint_percent)[where].sum()) for name in self.others}
        return sorted((name for name in shares if shares[name]), key=lambda name: -shares[name])

    def _close(self, both: masks.Mask) -> tuple[float, list[Box], list[str]]:
        """Windows where most speaks for an overlap and against two inks that only share pixels along an edge."""
        area, boxes, names = 0.0, list[Box](), list[str]()
        for box in self._doubtful(both)[:MOST_CLOSE_LOOKS]:
            if seen := seen_closely(self.job.page, box, CLOSE_DPI, self._over_each_other):
                window, over = seen
                area += float(over.sum()) * window.mm_per_px**2
                boxes.append(window.box_of(over))
                names += self._named(window, over)
        return area, apart(boxes), list(dict.fromkeys(names))

    def _over_each_other(self, window: Plates) -> masks.Mask:
        """Inside the cut, where the metallic does not stop at the other ink."""
        metal, other = self._inked(window)
        over = metal & other & window.mask_of(self.job.inside_shape)
        over &= ~masks.put_on(other & ~metal, self._radius(window))
        return masks.without_fringes(over, 1)

    def _doubtful(self, both: masks.Mask) -> list[Box]:
        """Windows, most evidence first: metallic that does not give way to the ink that shares its pixel."""
        plates = self.job.plates
        part = masks.around(both, 1)
        metal = plates.tint(self.metallic)[part]
        other = np.max([plates.tint(name)[part] for name in self.others], axis=0)
        shared = both[part] & (_share(metal) + _share(other) > 1 + SHARED)
        metal, other = metal.astype(np.float32), other.astype(np.float32)
        evidence = np.zeros(both.shape, np.float32)
        evidence[part] = np.where(shared, np.maximum(metal + other - 255, 0) + np.minimum(metal, other) / 8, 0)
        found = list[Box]()
        half = int(CLOSE_SIDE_MM / plates.mm_per_px / 2)
        while len(found) < MOST_CLOSE_LOOKS and evidence.any():
            row, column = np.unravel_index(int(evidence.argmax()), evidence.shape)
            rows, columns = _around(int(row), half), _around(int(column), half)
            box = on_page(self.job.page, plates.box(rows, columns))
            if overlaps.may_overlap(self.job, box, self.metallic, self.others):
                found.append(box)
            evidence[rows, columns] = 0
        return found


def _share(tints: NDArray[np.uint8]) -> NDArray[np.float32]:
    """How much of each pixel an ink covers, at least: its tint beside the strongest round about, less rounding."""
    strongest = masks.strongest_around(tints).astype(np.float32)
    return np.asarray((tints - np.float32(1)) / np.maximum(strongest, 1))


def _around(middle: int, half: int) -> slice:
    return slice(max(0, middle - half), middle + half)
