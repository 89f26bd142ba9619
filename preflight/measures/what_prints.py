"""What each separation does on the job: whether it prints inside the cut, how much, and on which unit.

A separation prints from 0.1 mm² at 2 % tint inside the cut; fringes under 0.1 mm wide do not count. These figures
define the word and are no house limits. Plates at 100 dpi answer for everything larger than a few square millimetres;
what is smaller or thinner is looked at again in windows of 600 dpi.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Antialiasing, Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.errors import NotMeasured
from preflight.job import InkOnJob, Job
from preflight.measures import object_places
from preflight.measures.raster import fringes, masks, rims
from preflight.measures.raster.close_looks import window_on
from preflight.measures.raster.fringes import FRINGE_MM

PRINTS_FROM_MM2: Final = 0.1
PRINTS_FROM_TINT_PERCENT: Final = 2.0
CLOSE_DPI: Final = 600.0
CLOSE_SIDE_MM: Final = 12.0
MOST_CLOSE_LOOKS: Final = 6
MANY_INKS: Final = 100
CLOSE_FIELD_MM: Final = 12.0
"""Patches of so many inks whose middles lie in one field of this side are looked at together."""
KEPT_FIELDS: Final = 24
SOLID_SIDE_PX: Final = 5
LEAST_SQUARES: Final = 4
"""Ink that fills squares of this many pixels of the 100 dpi plates is no fringe and no stray dot."""
BAND_PX: Final = 256
FEW_AT_ONCE: Final = 64
MOST_SQUARES: Final = 100_000
MOST_PROBED: Final = 24
"""Squares of an ink that is nowhere strong, spread over all of them, for which the objects are asked."""
ENOUGH_MM2: Final = 20.0
"""Ink that is no rim, from which on nobody has to look further for more."""


def inks_on_job(job: Job) -> list[InkOnJob]:
    """Separations of the file in its order, and what they print.

    ``prints`` is None where it cannot be known: on a sheet without a die, or where the plates are over a bound.
    """
    page = job.page
    try:
        inside: _InsideTheCut | None = _InsideTheCut(job, job.plates)
    except NotMeasured:
        inside = None
    found = []
    for separation in page.separations:
        prints, area, cover = inside.ink_of(separation) if inside else (None, 0.0, 0.0)
        if prints is False and _may_print_unseen(job, separation.name):
            prints = None
        if not separation.on_plate:
            prints = False
        found.append(InkOnJob(separation, prints, cover, area))
    return found


def cover_of_page(plates: Plates, page: Page) -> dict[str, float]:
    """Inked fraction of the page on each of its plates, 0..1 and weighted by tint."""
    # The last row and column of pixels reach past the page, so the page's own area is divided by.
    page_px = page.width_mm * page.height_mm * (plates.dpi / 25.4) ** 2
    levels = {name: float(ink.sum(dtype=np.int64)) for name, ink in zip(plates.names, plates.ink, strict=True)}
    return {name: min(sum_of / 255 / page_px, 1.0) for name, sum_of in levels.items()}


def cover_inside(plates: Plates, shape: BaseGeometry) -> dict[str, float]:
    """Inked fraction of a shape on each of some plates, 0..1 and weighted by tint; empty where it holds no pixel."""
    inside = plates.mask_of(shape)
    edge, pixels = masks.EdgePixels.of(inside), int(np.count_nonzero(inside))
    return {
        name: edge.cover(ink, int(ink[inside].sum(dtype=np.uint64)), pixels)
        for name, ink in zip(plates.names, plates.ink, strict=True)
        if pixels
    }


def _may_print_unseen(job: Job, name: str) -> bool:
    """Whether something that may put this ink inside the cut is missing, or it stands beyond a cut that is open."""
    places = [place for place in job.page.uncertain if place.inks is None or name in place.inks]
    if any(job.inside_shape.intersects(shapely.box(*place.box_mm)) for place in places):
        return True
    beyond = [shapely.box(*cut.beyond) for cut in job.die.open_cuts if cut.beyond is not None]
    if not beyond or not any(separation.name == name for separation in job.page.separations):
        return False
    there = job.plates.mask_of(shapely.MultiPolygon(beyond))
    return bool(masks.inked(job.plates.tint(name)[there], PRINTS_FROM_TINT_PERCENT).any())


@dataclass
class _InsideTheCut:
    """The plates of a page, and what of them is inside the cut."""

    job: Job
    plates: Plates
    _bands: dict[int, NDArray[np.bool_]] = field(default_factory=dict)
    _fields: dict[tuple[Box, Antialiasing], Plates] = field(default_factory=dict)
    """The fields last looked at, with what reaches beyond them."""

    @property
    def page(self) -> Page:
        return self.job.page

    @cached_property
    def sheet_without_die(self) -> bool:
        return not self.job.die.blanks and self.job.artwork_is != "one-up"

    @cached_property
    def shape(self) -> BaseGeometry:
        """Inside of the cut; on a one-up without a die the trim box, else the page."""
        if self.sheet_without_die:
            return shapely.box(*self.page.box_mm)
        return self.job.inside_shape

    @cached_property
    def marks(self) -> BaseGeometry:
        """What registration colour covers inside the cut: it puts ink on every plate and makes none of them print."""
        objects = self.page.objects
        rows = object_places.reaching_inside(objects, object_places.registration_rows(objects), self.shape)
        return shapely.union_all([shapely.buffer(object_places.shape_of(objects, int(row)), 0.3) for row in rows])

    @cached_property
    def inside(self) -> NDArray[np.bool_]:
        inside = self.plates.mask_of(self.shape) if self.sheet_without_die else self.job.inside_mask
        return self._less_marks(self.plates, inside)

    @cached_property
    def well_within(self) -> BaseGeometry:
        """Where ink from outside does not reach by a fringe or by sharing a pixel with the cut."""
        return shapely.buffer(self.shape, -FRINGE_MM - 1.5 * self.plates.mm_per_px)

    @cached_property
    def no_fringe(self) -> NDArray[np.bool_]:
        """Pixels that no fringe along the cut reaches."""
        return fringes.well_within(self.plates, self.shape)

    def _well_inside(self, band: slice) -> NDArray[np.bool_]:
        """Pixels of a band of rows that are well within; made when it is first asked for, and most bands never are."""
        if band.start not in self._bands:
            rows = self._band(slice(band.start, min(band.stop, self.plates.ink.shape[1])))
            self._bands[band.start] = self._less_marks(rows, rows.mask_of(self.well_within))
        return self._bands[band.start]

    @cached_property
    def pixels_inside(self) -> int:
        return int(np.count_nonzero(self.inside))

    @cached_property
    def strongest(self) -> dict[str, float]:
        """The greatest tint that the page's objects have in each separation, 0..1."""
        objects = self.page.objects
        used = np.zeros(len(objects.colours), bool)
        used[objects.colour[objects.visible]] = True
        return objects.colours.inked(used)

    @cached_property
    def edge(self) -> masks.EdgePixels:
        """Pixels along the cut."""
        return masks.EdgePixels.of(self.inside)

    def _less_marks(self, plates: Plates, mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return mask if self.marks.is_empty else mask & ~plates.mask_of(self.marks)

    def ink_of(self, separation: Separation) -> tuple[bool | None, float, float]:
        """Prints, inked area inside the cut in mm², cover inside the cut 0..1."""
        tints = self.plates.tint(separation.name)
        total, inked = self._within(tints)
        cover = self.edge.cover(tints, total, self.pixels_inside)
        area = float(inked * self.plates.mm_per_px**2)
        solid = self._is_solid_somewhere(separation.name, tints)
        if not (total or tints.any()):
            return False, 0.0, 0.0
        if self.sheet_without_die:
            painted = object_places.painting(self.page.objects, self.page.objects.in_separation(separation.name))
            if not len(painted) or not (solid or self._without_rims(separation.name, tints).any()):
                return False, 0.0, 0.0
            return None, area, cover
        if solid:
            return True, area, cover
        close = self._looked_at_closely(separation.name, self._without_rims(separation.name, tints))
        prints = close >= PRINTS_FROM_MM2
        return prints, (max(area, close) if prints else close), (cover if prints else 0.0)

    def _within(self, tints: NDArray[np.uint8]) -> tuple[int, int]:
        """The sum of the tints inside the cut, and the pixels that are inked there; in bands, which stay at hand."""
        total = inked = 0
        for top in range(0, len(tints), BAND_PX):
            own = tints[top : top + BAND_PX]
            if own.max(initial=0):
                own = own * self.inside[top : top + BAND_PX].view(np.uint8)
                total += int(own.sum(axis=1, dtype=np.uint32).sum(dtype=np.uint64))
                inked += int(np.count_nonzero(masks.inked(own, PRINTS_FROM_TINT_PERCENT)))
        return total, inked

    def _is_solid_somewhere(self, name: str, tints: NDArray[np.uint8]) -> bool:
        """Whether ink fills a few squares well inside the cut, by more than rims do or where it was painted last."""
        side, few = SOLID_SIDE_PX, LEAST_SQUARES
        half = max(PRINTS_FROM_TINT_PERCENT, 50 * self.strongest.get(name, 1.0))  # of a rim there is no more

        def is_strong(row: int, column: int) -> bool:
            return bool(tints[row : row + side, column : column + side].max() > 2.55 * half + 1)

        squares = list(islice(self._squares(tints, PRINTS_FROM_TINT_PERCENT), few))
        if len(squares) < few:
            return False
        if any(is_strong(*square) for square in squares):
            return True
        if len(list(islice(self._squares(tints, half), few))) == few:
            return True
        squares = list(islice(self._squares(tints, PRINTS_FROM_TINT_PERCENT), MOST_SQUARES))
        probed = squares[:: max(1, len(squares) // MOST_PROBED)][:MOST_PROBED]
        boxes = [self.plates.box(slice(row, row + side), slice(column, column + side)) for row, column in probed]
        return any(rims.painted_last(self.page.objects, name, box) for box in boxes)

    def _squares(self, tints: NDArray[np.uint8], from_percent: float) -> Iterator[tuple[int, int]]:
        """Row and column of squares well inside the cut that ink fills; in bands, because most inks show at once."""
        for top in range(0, len(tints), BAND_PX):
            band = slice(top, top + BAND_PX + SOLID_SIDE_PX - 1)
            ink = masks.inked(tints[band], from_percent)
            if ink.any():
                squares = masks.solid_squares(ink & self._well_inside(band), SOLID_SIDE_PX)
                found = np.flatnonzero(squares)
                for first in range(0, len(found), FEW_AT_ONCE):  # mostly no more than the first few are asked for
                    for at in found[first : first + FEW_AT_ONCE].tolist():
                        yield top + at // squares.shape[1], at % squares.shape[1]

    def _without_rims(self, name: str, tints: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """The tints inside the cut, where they are no rims."""
        found = np.zeros_like(tints)
        inked = np.flatnonzero(tints.any(1))
        if not len(inked):
            return found
        rows = slice(int(inked[0]), int(inked[-1]) + 1)
        within, band = tints[rows] * self.inside[rows], self._band(rows)
        if not self.sheet_without_die and within.any():
            within *= fringes.deeper(within > 0, tints[rows], band, self.shape, self.no_fringe[rows])
        sees = rims.sharply(self.job, lambda plates: masks.inked(plates.tint(name), PRINTS_FROM_TINT_PERCENT))
        enough = int(ENOUGH_MM2 / self.plates.mm_per_px**2)
        kept = rims.without_rims(within > 0, band, sees, rims.is_no_rim(within), enough)
        found[rows] = within * kept
        return found

    def _band(self, rows: slice) -> Plates:
        """Some rows of the page, without their inks."""
        return replace(self.plates, names=(), ink=self.plates.ink[:0]).part(rows, slice(0, self.plates.ink.shape[2]))

    def _looked_at_closely(self, name: str, within: NDArray[np.uint8]) -> float:
        """Inked area in mm² in windows on the largest pieces of ink; stops once it is enough to print."""
        area = 0.0
        for region in masks.regions(within > 0)[:MOST_CLOSE_LOOKS]:
            part = within[region.slices]
            edges: Antialiasing = "smooth" if rims.is_no_rim(part).any() else "sharp"
            window = self._window(self._box(within, region), edges)
            ink = masks.inked(window.tint(name), PRINTS_FROM_TINT_PERCENT) & self._less_marks(
                window, window.mask_of(self.shape)
            )
            ink = masks.without_fringes(ink, int(FRINGE_MM / window.mm_per_px / 2))
            no_fringe = self.no_fringe[region.slices]
            if not self.sheet_without_die and (part[~no_fringe] > 0).any():
                ink = fringes.without_fringe(ink, window.tint(name), window, self.shape)
            area += float(ink.sum()) * window.mm_per_px**2
            if area >= PRINTS_FROM_MM2:
                break
        return area

    def _window(self, box: Box, edges: Antialiasing) -> Plates:
        """A part of the page, closely; of very many separations cut out of a field that serves those beside it too."""
        if len(self.plates.names) < MANY_INKS:
            return self.page.window(box, CLOSE_DPI, edges=edges)
        sides, mm = (self.page.width_mm, self.page.height_mm), CLOSE_FIELD_MM
        low, high = [0.0, 0.0], [0.0, 0.0]
        for axis in (0, 1):
            cell = (box[axis] + box[axis + 2]) / 2 // mm * mm
            reach = math.ceil((box[axis + 2] - box[axis]) / 2)
            low[axis], high[axis] = max(0.0, cell - reach), min(sides[axis], cell + mm + reach)
        key = (low[0], low[1], high[0], high[1]), edges
        if key not in self._fields:
            while len(self._fields) >= KEPT_FIELDS:
                self._fields.pop(next(iter(self._fields)))
            self._fields[key] = self.page.window(key[0], CLOSE_DPI, edges=edges)
        return self._fields[key].within(box)

    def _box(self, within: NDArray[np.uint8], region: masks.Region) -> Box:
        """The region with a margin, or as much as is looked at around its strongest tint."""
        part = within[region.slices]
        row, column = np.unravel_index([int(part.argmax())], part.shape)
        x, y = self.plates.middles(region.rows[0] + row, region.columns[0] + column)[0].tolist()
        return window_on(self.page, self.plates, region, (x, y), CLOSE_SIDE_MM)
