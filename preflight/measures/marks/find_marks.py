"""Finds the marks of a sheet from outside and tells them apart by their looks.

Patches are looked for on the plates, so that it does not matter how a bar was drawn: as rectangles, in forms, as one
picture, one ink over another. Type and registration colour are told from the table of objects.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box, Matrix, box_through
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.marks.candidates import groups_of, outside_the_blanks
from preflight.measures.marks.mark_kinds import Looks, kind_of
from preflight.measures.marks.patches import Patch, patches_on, rows_of
from preflight.measures.object_places import Rows, boxes_of
from preflight.measures.sheet import sheet_on_page
from preflight.quantities import Size
from preflight.setup.press_sheet.outside_sheet import to_frame
from preflight.setup.press_sheet.press_sheet import Mark

GAP_MM: Final = 1.5
"""What is nearer together than this is one mark, or one patch."""
HAIR_LINE_LEVEL: Final = 8
"""Of 255: a hair line of 0.05 mm gives a pixel of 0.25 mm a fifth of its tint, at worst half of that."""


@dataclass(frozen=True)
class MarkedPage:
    """A page that shows a sheet with blanks."""

    job: Job
    bleed_mm: float
    on_page: Box
    """The sheet on the page as displayed."""
    size: Size
    to_sheet: Matrix
    """From the page to the sheet's frame."""

    @classmethod
    def of(cls, job: Job, bleed_mm: float) -> MarkedPage:
        """The sheet of a page; raises NotMeasured where its place, its blanks or its plates are not known."""
        needs.die(job)
        lies, size = sheet_on_page(job)
        return cls(job, bleed_mm, lies.box, size, to_frame(lies.box, lies.edge))

    @property
    def objects(self) -> ObjectTable:
        """What is painted on the page."""
        return needs.objects(self.job)

    @property
    def plates(self) -> Plates:
        """Those of the page."""
        return self.job.plates

    @cached_property
    def rows(self) -> Rows:
        """Objects that may be marks."""
        inside = self.job.die.inside
        return outside_the_blanks(self.objects, inside, self.bleed_mm, self.plates.names, shapely.box(*self.on_page))

    def in_frame(self, box: Box) -> Box:
        """A box of the page in the sheet's frame."""
        return box_through(self.to_sheet, box)


def find_marks(job: Job, bleed_mm: float) -> tuple[Mark, ...]:
    """All marks of a page that shows a sheet; ``known`` is ``read`` of patches in a row and of type, else ``assumed``.

    Args:
        job: the page; its artwork is a sheet or a plate.
        bleed_mm: how far artwork of the blanks is carried on past the cut.

    Raises:
        NotMeasured: the sheet's place, its blanks or its plates are not known.
    """
    page = MarkedPage.of(job, bleed_mm)
    texts = page.objects.painted[page.rows] == Painted.TEXT
    drawn = page.rows[~texts]
    rows = rows_of(_patches(page, drawn), _printed_across(page), len(page.plates.names))
    bar = [patch for row in rows for patch in row]
    found = [Mark("colour bar", shapely.box(*patch.box_mm), dict(patch.tints)) for patch in bar]
    found += [_mark(page, group) for group in groups_of(page.objects, _beside(page, drawn, bar), GAP_MM)]
    return (*found, *_labels(page, page.rows[texts]))


def _printed_across(page: MarkedPage) -> float:
    x0, _, x1, _ = page.in_frame(page.job.die.inside.bounds)
    return x1 - x0


# Patches -----------------------------------------------------------------------------------------------------------


def _patches(page: MarkedPage, rows: Rows) -> list[Patch]:
    found = list[Patch]()
    for group in groups_of(page.objects, rows, GAP_MM):
        boxes = boxes_of(page.objects, group)
        found += [Patch(page.in_frame(box), tints) for box, tints in patches_on(_around(page.plates, boxes), boxes)]
    return found + _carried_on(page, found)


def _carried_on(page: MarkedPage, patches: list[Patch]) -> list[Patch]:
    """Patches of a row that goes on inside a blank: objects as high and as wide, in line with it, in a tint of its."""
    if len(patches) < 2:
        return []
    objects = page.objects
    shown = objects.shown_mm.astype(float)
    found, ends = list[Patch](), np.array([patch.box_mm for patch in patches])
    short = np.minimum(shown[:, 2] - shown[:, 0], shown[:, 3] - shown[:, 1])
    likely = np.flatnonzero(objects.visible & (short > 1) & (short <= 15) & (objects.painted == Painted.FILL))
    likely = np.setdiff1d(likely, page.rows)
    if not len(likely):
        return []
    a, b, c, d, e, f = page.to_sheet
    x0, y0, x1, y1 = shown[likely].T
    one, other = (np.column_stack([a * x + c * y + e, b * x + d * y + f]) for x, y in ((x0, y0), (x1, y1)))
    boxes = np.hstack([np.minimum(one, other), np.maximum(one, other)])  # a quarter turn at most
    for axis in (0, 1):
        start, end, low, high = axis, axis + 2, 1 - axis, 3 - axis
        lines = np.unique(np.round(ends[:, [low, high]] / 0.5).astype(int), axis=0) * 0.5
        for line in lines:
            in_line = (np.abs(boxes[:, [low, high]] - line) <= 0.5).all(1)
            row = ends[(np.abs(ends[:, [low, high]] - line) <= 0.5).all(1)]
            if not in_line.any() or len(row) < 4:
                continue
            width = float(np.median(row[:, end] - row[:, start]))
            at = np.flatnonzero(in_line & (np.abs(boxes[:, end] - boxes[:, start] - width) <= 0.2 * width + 0.5))
            own = (Patch(tuple(boxes[one].tolist()), _tints(page, boxes_of(objects, likely[[one]])[0])) for one in at)
            found += [patch for patch in own if any(patch.is_like(other) for other in patches)]
    return found


def _tints(page: MarkedPage, box: Box) -> dict[str, float]:
    """Tints of the middle of a box of the page."""
    x0, y0, x1, y1 = box
    part = page.plates.within(((x0 + x1) / 2 - 0.2, (y0 + y1) / 2 - 0.2, (x0 + x1) / 2 + 0.2, (y0 + y1) / 2 + 0.2))
    tints = part.ink.reshape(len(part.names), -1).mean(axis=1) / 255
    found = zip(part.names, tints.tolist(), strict=True)
    return {name: round(tint, 2) for name, tint in found if tint >= 0.02}


def _beside(page: MarkedPage, rows: Rows, bar: list[Patch]) -> Rows:
    """Rows that are no part of the bar."""
    if not bar or not len(rows):
        return rows
    shape = shapely.union_all([shapely.buffer(shapely.box(*patch.box_mm), 0.6) for patch in bar])
    boxes = shapely.box(*np.array([page.in_frame(box) for box in boxes_of(page.objects, rows)]).T)
    own = shapely.area(shapely.intersection(boxes, shape)) >= 0.5 * np.maximum(shapely.area(boxes), 1e-6)
    beside: Rows = rows[~own]
    return beside


def _around(plates: Plates, boxes: list[Box]) -> Plates:
    x0, y0, x1, y1 = np.array(boxes).T
    return plates.around(shapely.box(x0.min(), y0.min(), x1.max(), y1.max()))


# Single marks ------------------------------------------------------------------------------------------------------


def _mark(page: MarkedPage, rows: Rows) -> Mark:
    """A group of neighbours by its looks."""
    boxes = boxes_of(page.objects, rows)
    part = _around(page.plates, boxes)
    within = np.zeros(part.ink.shape[1:], bool)
    for box in boxes:
        within[part.slices(box, round_px=1)] = True
    strongest = (part.ink * within).reshape(len(part.names), -1).max(axis=1, initial=0)
    x0, y0, x1, y1 = np.array(boxes).T
    box = page.in_frame((float(x0.min()), float(y0.min()), float(x1.max()), float(y1.max())))
    mask = (part.ink.max(0, initial=0) >= HAIR_LINE_LEVEL) & within
    registration = page.objects.colours.where(lambda family: family.registration)
    looks = Looks(box, mask, part.mm_per_px, page.size, bool(registration[page.objects.colour[rows]].any()), len(rows))
    inks = {name: 1.0 for name, level in zip(part.names, strongest.tolist(), strict=True) if level >= HAIR_LINE_LEVEL}
    return Mark(kind_of(looks), _shape(page, boxes), inks, "assumed")


def _shape(page: MarkedPage, boxes: list[Box]) -> Polygon:
    x0, y0, x1, y1 = np.array([page.in_frame(box) for box in boxes]).T
    found: Polygon = shapely.box(x0.min(), y0.min(), x1.max(), y1.max())
    return found


def _labels(page: MarkedPage, rows: Rows) -> Iterator[Mark]:
    """Type outside the blanks, each line in the inks that it is set in."""
    colours, inks_of = page.objects.colours, dict[int, dict[str, float]]()
    for number in page.objects.colour[rows].tolist():
        if number not in inks_of:
            colour = colours[number]
            named = dict.fromkeys(page.plates.names, 1.0) if colour.registration else dict(colour.tints)
            inks_of[number] = {name: tint for name, tint in named.items() if tint > 0 and name in page.plates.names}
    key = {number: tuple(sorted(inks)) for number, inks in inks_of.items()}
    by_inks = dict[tuple[str, ...], list[int]]()
    for row, number in zip(rows.tolist(), page.objects.colour[rows].tolist(), strict=True):
        by_inks.setdefault(key[number], []).append(row)
    for own in by_inks.values():
        for group in groups_of(page.objects, np.array(own), 2 * GAP_MM):
            inks = inks_of[int(page.objects.colour[group[0]])]
            yield Mark("label", _shape(page, boxes_of(page.objects, group)), inks)
