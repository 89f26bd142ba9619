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

from preflight.artwork.document import Alteration, Edges
from preflight.artwork.matrices import meeting
from preflight.artwork.objects import Box, Painted
from preflight.artwork.plates import Plates
from preflight.measures import masks, placing, rims
from preflight.measures.job import Job, close_dpi, shape_mask

MOST_WINDOWS: Final = 12
MOST_PX: Final = 2_000_000
"""Pixels of all windows together; large areas are looked at more coarsely, down to the plates of the page."""
MARGIN_MM: Final = 0.5
MOST_ROWS: Final = 2000

How = Literal["left out", "knocking out"]


@dataclass(frozen=True)
class Look:
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
        rows, columns = self._slices(box)
        row, column = np.nonzero(self.differs[rows, columns])
        mm, (x0, _, _, y1) = self.as_is.mm_per_px, self.as_is.box_mm
        return np.column_stack([x0 + (columns.start + column + 0.5) * mm, y1 - (rows.start + row + 0.5) * mm])

    def _part(self, box: Box) -> masks.Mask:
        return self.differs[self._slices(box)]

    def _slices(self, box: Box) -> tuple[slice, slice]:
        (left, top), (right, bottom) = self.as_is.to_px(np.array([[box[0], box[3]], [box[2], box[1]]]))
        rows = slice(max(0, int(top)), max(0, int(np.ceil(bottom))))
        return rows, slice(max(0, int(left)), max(0, int(np.ceil(right))))


@dataclass(frozen=True)
class Change:
    """What an alteration changes inside the cut."""

    looks: tuple[Look, ...] = ()
    names: tuple[str, ...] = ()
    """The separations that were compared."""

    @property
    def area_mm2(self) -> float:
        """Area on which one plate or another differs."""
        return sum(look.area_mm2() for look in self.looks)

    def boxes(self) -> list[Box]:
        """Where the plates differ; what lies in one another is one place."""
        found: list[Box] = []
        for look in self.looks:
            mm, (x0, _, _, y1) = look.as_is.mm_per_px, look.as_is.box_mm
            for r in masks.regions(look.differs):
                left, right, low, high = (float(v) for v in (*r.columns, y1 - r.rows[1] * mm, y1 - r.rows[0] * mm))
                found.append((float(x0 + left * mm), low, float(x0 + right * mm), high))
        return apart(placing.gathered(found))

    def touched(self, boxes: Iterable[Box]) -> list[bool]:
        """For each box of the page whether something differs in it."""
        return [any(look.touches(box) for look in self.looks) for box in boxes]

    def plates(self) -> list[str]:
        """Separations that differ, the one that differs most first."""
        sums = {
            name: sum(
                float(
                    np.abs(
                        look.altered.tint(name)[look.differs].astype(int) - look.as_is.tint(name)[look.differs]
                    ).sum()
                )
                * look.as_is.mm_per_px**2
                for look in self.looks
            )
            for name in self.names
        }
        most = max(sums.values(), default=0.0)
        return sorted((name for name in sums if sums[name] > 0.01 * most), key=lambda name: -sums[name])


def change(
    job: Job,
    rows: placing.Rows,
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
    dpi = close_dpi(sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in boxes), MOST_PX)
    comparing = _Comparing(job, aside, altered, tuple(names), tint_percent, tuple(not_over))
    return Change(tuple(look for look in comparing.looks(boxes, dpi) if look.differs.any()), tuple(names))


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

    def looks(self, boxes: Sequence[Box], dpi: float) -> list[Look]:
        """One look a window, in which rims do not count as differing."""
        looks = []
        for as_is, altered in self._both(boxes, dpi, "smooth"):
            differs, levels = self._differing(as_is, altered)
            if differs.any():
                differs &= shape_mask(as_is, self.job.inside_shape)
                differs = rims.without_rims(differs, as_is, self._sharply, rims.is_no_rim(levels))
            looks.append(Look(as_is, altered, differs))
        return looks

    def _both(self, boxes: Sequence[Box], dpi: float, edges: Edges) -> Iterable[tuple[Plates, Plates]]:
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


def windows_on(job: Job, places: Sequence[Sequence[float]], most: int = MOST_WINDOWS) -> list[Box]:
    """Windows that hold boxes of the page, cut to what is inside the cut and to the page; they do not overlap."""
    x0, y0, x1, y1 = job.inside_shape.bounds
    boxes = []
    for shown in places:
        box = (
            max(shown[0] - MARGIN_MM, x0 - MARGIN_MM, 0.0),
            max(shown[1] - MARGIN_MM, y0 - MARGIN_MM, 0.0),
            min(shown[2] + MARGIN_MM, x1 + MARGIN_MM, job.page.width_mm),
            min(shown[3] + MARGIN_MM, y1 + MARGIN_MM, job.page.height_mm),
        )
        if box[0] < box[2] and box[1] < box[3]:
            boxes.append(box)
    return apart(placing.gathered(boxes, most))


def apart(boxes: Sequence[Box]) -> list[Box]:
    """Boxes, those that overlap joined into one."""
    held = list(boxes)
    while True:
        joined: list[Box] = []
        for box in held:
            for i, other in enumerate(joined):
                if box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]:
                    joined[i] = (
                        min(box[0], other[0]), min(box[1], other[1]), max(box[2], other[2]), max(box[3], other[3])
                    )  # fmt: skip
                    break
            else:
                joined.append(box)
        if len(joined) == len(held):
            return joined
        held = joined


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


def over_something(job: Job, rows: placing.Rows) -> placing.Rows:
    """Those of the rows that something was painted below, by the boxes of what is shown."""
    if len(rows) > MOST_ROWS:
        return rows
    objects = job.page.objects
    paints = objects.visible & (objects.alpha > 0)
    kept = [row for row in rows.tolist() if _meets(objects.shown_mm[:row][paints[:row]], objects.shown_mm[row])]
    return np.array(kept, int)


def _meets(boxes: NDArray[np.float32], box: NDArray[np.float32]) -> bool:
    across, up = (boxes[:, 0] < box[2]) & (boxes[:, 2] > box[0]), (boxes[:, 1] < box[3]) & (boxes[:, 3] > box[1])
    return bool((across & up).any())
