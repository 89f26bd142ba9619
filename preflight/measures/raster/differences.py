"""What some objects do to the plates: the plates as they are beside plates on which these are painted otherwise.

Flags and colour spaces only say where to look; the two renderings decide. Both are made in the same windows and of the
same objects, so that they differ by nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, meeting, overlapping
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Alteration, Antialiasing
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures import object_places
from preflight.measures.raster import masks, rims
from preflight.measures.raster.close_looks import apart, close_dpi, windows_on

MOST_PX: Final = 2_000_000
"""Pixels of all windows together; large areas are looked at more coarsely, down to the plates of the page."""
MOST_ROWS: Final = 2000

How = Literal["left out", "knocking out"]


@dataclass(frozen=True)
class WindowDifference:
    """One window: the plates as they are, altered, and the pixels inside the cut that differ."""

    as_is: Plates
    altered: Plates
    differs: masks.Mask

    def touches(self, box: Box) -> bool:
        """Whether something differs in a box of the page."""
        return bool(self._part(box).any())

    def area_mm2(self, box: Box | None = None) -> float:
        """How much differs, in a box of the page or in the whole window."""
        part = self.differs if box is None else self._part(box)
        return float(part.sum()) * self.as_is.mm_per_px**2

    def points(self, box: Box) -> NDArray[np.float64]:
        """Middles of the pixels that differ in a box of the page: (k, 2) in mm."""
        rows, columns = self.as_is.slices(box)
        row, column = np.nonzero(self.differs[rows, columns])
        return self.as_is.middles(rows.start + row, columns.start + column)

    def _part(self, box: Box) -> masks.Mask:
        return self.differs[self.as_is.slices(box)]


@dataclass(frozen=True)
class Change:
    """What an alteration changes inside the cut."""

    windows: tuple[WindowDifference, ...] = ()
    names: tuple[str, ...] = ()
    """The separations that were compared."""

    @property
    def area_mm2(self) -> float:
        """Area on which one plate or another differs."""
        return sum(window.area_mm2() for window in self.windows)

    def boxes(self) -> list[Box]:
        """Where the plates differ; what lies in one another is one place."""
        found = [window.as_is.box(*r.slices) for window in self.windows for r in masks.regions(window.differs)]
        return apart(object_places.gathered(found))

    def touched(self, boxes: Iterable[Box]) -> list[bool]:
        """For each box of the page whether something differs in it."""
        return [any(window.touches(box) for window in self.windows) for box in boxes]

    def plates(self) -> list[str]:
        """Separations that differ, the one that differs most first."""
        sums = {
            name: sum(
                float(
                    np.abs(
                        window.altered.tint(name)[window.differs].astype(int) - window.as_is.tint(name)[window.differs]
                    ).sum()
                )
                * window.as_is.mm_per_px**2
                for window in self.windows
            )
            for name in self.names
        }
        most = max(sums.values(), default=0.0)
        return sorted((name for name in sums if sums[name] > 0.01 * most), key=lambda name: -sums[name])


def change(
    job: Job,
    rows: object_places.Rows,
    how: How,
    names: Sequence[str],
    tint_percent: float,
    *,
    not_over: Sequence[str] = (),
) -> Change:
    """What differs when some objects are left out or knock out.

    Args:
        job: the job.
        rows: objects that are painted otherwise.
        how: ``left out``: what they take away comes back, what they add goes; ``knocking out``: their overprint is off.
        names: separations that are compared.
        tint_percent: a pixel counts where one of these differs by this much.
        not_over: pixels that carry one of these when the objects are left out do not count.
    """
    if not len(rows) or not names:
        return Change()
    boxes = windows_on(job, job.page.objects.shown_mm[rows].astype(float).tolist())
    numbers = tuple(int(row) for row in rows)
    aside = Alteration(left_out=_images_aside(job, boxes))
    altered = (
        replace(aside, left_out=tuple(sorted({*aside.left_out, *numbers})))
        if how == "left out"
        else replace(aside, knocking_out=numbers)
    )
    dpi = close_dpi(boxes, MOST_PX)
    comparing = _Comparing(job, aside, altered, tuple(names), tint_percent, tuple(not_over))
    return Change(tuple(window for window in comparing.windows(boxes, dpi) if window.differs.any()), tuple(names))


@dataclass(frozen=True)
class _Comparing:
    """The plates as they are and altered, looked at in the same windows."""

    job: Job
    aside: Alteration
    """The plates as they are, without pictures that do not matter."""
    altered: Alteration
    names: tuple[str, ...]
    tint_percent: float
    not_over: tuple[str, ...]

    def windows(self, boxes: Sequence[Box], dpi: float) -> list[WindowDifference]:
        """One difference a window, in which rims do not count as differing."""
        windows = []
        for as_is, altered in self._both(boxes, dpi, "smooth"):
            differs, levels = self._differing(as_is, altered)
            if differs.any():
                differs &= as_is.mask_of(self.job.inside_shape)
                differs = rims.without_rims(differs, as_is, self._sharply, rims.is_no_rim(levels))
            windows.append(WindowDifference(as_is, altered, differs))
        return windows

    def _both(self, boxes: Sequence[Box], dpi: float, edges: Antialiasing) -> Iterable[tuple[Plates, Plates]]:
        """Each window as it is and altered; one after the other, since a large page is kept written in one way only."""
        as_is = [self.job.page.altered(self.aside, dpi, box, edges) for box in boxes]
        return zip(as_is, [self.job.page.altered(self.altered, dpi, box, edges) for box in boxes], strict=True)

    def _sharply(self, boxes: Sequence[Box], dpi: float) -> list[masks.Mask]:
        return [
            differs & rims.no_edges(levels, self.tint_percent)
            for differs, levels in (self._differing(*both) for both in self._both(boxes, dpi, "sharp"))
        ]

    def _differing(self, as_is: Plates, altered: Plates) -> tuple[masks.Mask, NDArray[np.uint8]]:
        """Pixels in which one plate or another differs, and by how much the one that differs most."""
        levels = np.zeros(as_is.ink.shape[1:], np.uint8)
        for name in self.names:
            one, other = as_is.tint(name), altered.tint(name)
            np.maximum(levels, np.maximum(one, other) - np.minimum(one, other), out=levels)
        differs = masks.inked(levels, self.tint_percent)
        for name in self.not_over:
            differs &= ~masks.inked(altered.tint(name), self.tint_percent)
        return differs, levels


def _images_aside(job: Job, boxes: Sequence[Box]) -> tuple[int, ...]:
    """Pictures that show in none of the windows: leaving them out saves the time to unpack them.

    A row of a form that is placed several times stands for all of its places, so a picture has to be aside everywhere.
    """
    objects = job.page.objects
    rows = np.flatnonzero((objects.painted == Painted.IMAGE) & (objects.image >= 0))
    if not len(rows):
        return ()
    shown = objects.shown_mm[rows]
    near = np.zeros(len(rows), bool)
    for box in boxes:
        near |= meeting(shown, box)
    kept = set(objects.image[rows[near]].tolist())
    return tuple(row for row in rows.tolist() if int(objects.image[row]) not in kept)


def over_something(job: Job, rows: object_places.Rows) -> object_places.Rows:
    """Those of the rows that something was painted below, by the boxes of what is shown."""
    if len(rows) > MOST_ROWS:
        return rows
    objects = job.page.objects
    paints = objects.visible & (objects.alpha > 0)

    def is_over_something(row: int) -> bool:
        return bool(overlapping(objects.shown_mm[:row][paints[:row]], objects.shown_mm[row]).any())

    return np.array([row for row in rows.tolist() if is_over_something(row)], int)
