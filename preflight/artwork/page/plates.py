"""One raster a separation: what each plate carries, knock-out and overprint honoured."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.uncertain_places import UncertainPlace


@dataclass(frozen=True)
class Plates:
    """Tints of the printing separations over ``box_mm`` of the page as displayed.

    Of thousands of separations a window has those that may have ink in it.

    ``ink`` has shape (separations, height, width), 0 bare board, 255 solid; row 0 is the top. Pixels are square,
    ``dpi`` to the inch; pixel (0, 0) has its upper-left corner at (box_mm[0], box_mm[3]).
    """

    names: tuple[str, ...]
    ink: NDArray[np.uint8]
    dpi: float
    box_mm: Box
    uncertain: tuple[UncertainPlace, ...] = ()
    """Where something is missing on them."""

    @property
    def mm_per_px(self) -> float:
        """Side of a pixel in mm."""
        return 25.4 / self.dpi

    def tint(self, name: str) -> NDArray[np.uint8]:
        """The plate of a separation, (height, width); all bare where there is no such plate."""
        number = self._numbers.get(name)
        if number is None:
            return np.zeros(self.ink.shape[1:], np.uint8)
        ink: NDArray[np.uint8] = self.ink[number]
        return ink

    @cached_property
    def _numbers(self) -> dict[str, int]:
        return {name: number for number, name in enumerate(self.names)}

    def within(self, box_mm: Box) -> Plates:
        """The pixels that meet a box, as a view; at least one each way."""
        rows, columns = self.slices(box_mm)
        height, width = self.ink.shape[1:]
        top, left = min(rows.start, height - 1), min(columns.start, width - 1)
        return self.part(slice(top, max(top + 1, rows.stop)), slice(left, max(left + 1, columns.stop)))

    def around(self, shape: BaseGeometry) -> Plates:
        """The pixels that the box of a shape meets, and one round them, as a view."""
        return self.part(*self.slices(shape.bounds, round_px=1))

    def part(self, rows: slice, columns: slice) -> Plates:
        """Some rows and columns, as a view."""
        ink = self.ink[:, rows, columns]
        height, width = ink.shape[1:]
        box = self.box(slice(rows.start, rows.start + height), slice(columns.start, columns.start + width))
        return replace(self, ink=ink, box_mm=box)

    def slices(self, box_mm: Box, round_px: int = 0) -> tuple[slice, slice]:
        """Rows and columns of the pixels that a box of the page meets, and of so many round them.

        A hair's breadth is no meeting; what is off the plates has none.
        """
        mm, (x0, _, _, y1) = self.mm_per_px, self.box_mm
        rows = _pixels(y1 - box_mm[3], y1 - box_mm[1], mm, self.ink.shape[1])
        columns = _pixels(box_mm[0] - x0, box_mm[2] - x0, mm, self.ink.shape[2])
        if round_px:
            rows, columns = (slice(max(0, side.start - round_px), side.stop + round_px) for side in (rows, columns))
        return rows, columns

    def box(self, rows: slice, columns: slice) -> Box:
        """The box in mm that some rows and columns of pixels fill."""
        mm, (x0, _, _, y1) = self.mm_per_px, self.box_mm
        return (x0 + columns.start * mm, y1 - rows.stop * mm, x0 + columns.stop * mm, y1 - rows.start * mm)

    def pixels_at(self, xy_mm: NDArray[np.float64]) -> NDArray[np.intp]:
        """Rows and columns (2, k) of the pixels that page places (k, 2) in mm lie in; they may be off the plates."""
        return np.floor(self.to_px(xy_mm)).astype(np.intp).T[::-1]

    def middles(self, row: NDArray[np.intp], column: NDArray[np.intp]) -> NDArray[np.float64]:
        """Middles of pixels as page places (k, 2) in mm."""
        mm, (x0, _, _, y1) = self.mm_per_px, self.box_mm
        return np.column_stack([x0 + (column + 0.5) * mm, y1 - (row + 0.5) * mm])

    def to_px(self, xy_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Page places (k, 2) in mm to (column, row) in pixels, fractional, from the upper-left corner."""
        scale = self.dpi / 25.4
        return np.column_stack([(xy_mm[:, 0] - self.box_mm[0]) * scale, (self.box_mm[3] - xy_mm[:, 1]) * scale])

    def box_of(self, mask: NDArray[np.bool_]) -> Box:
        """Bounding box in mm of the true pixels of a (height, width) mask; raises ValueError on an empty one."""
        rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
        if not len(rows):
            raise ValueError("nothing is set in the mask")
        return self.box(slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1))

    def mask_of(self, shape: BaseGeometry) -> NDArray[np.bool_]:
        """Pixels inside a polygon or several (mm), (height, width); holes are outside."""
        height, width = self.ink.shape[1:]
        image = Image.new("L", (width, height))
        draw = ImageDraw.Draw(image)
        x0, y0, x1, y1 = self.box_mm
        left, low, right, high = shapely.bounds(polygons := shapely.get_parts(shape)).T
        polygons = polygons[(left <= x1) & (right >= x0) & (low <= y1) & (high >= y0)]  # most are out of a small window
        polygons = polygons[shapely.get_type_id(polygons) == 3]
        for polygon in polygons[shapely.intersects(polygons, shapely.box(x0, y0, x1, y1))]:
            for ring, fill in [(polygon.exterior, 1), *((hole, 0) for hole in polygon.interiors)]:
                outline = self.to_px(shapely.get_coordinates(ring)) - 0.5
                draw.polygon(outline.ravel().tolist(), fill=fill)
        return np.asarray(image).view(np.bool_)


def _pixels(low_mm: float, high_mm: float, px_mm: float, count: int) -> slice:
    """The pixels of so many in a row that meet a stretch, which may be none; a hair's breadth is no meeting."""
    first = min(max(math.floor(low_mm / px_mm + 1e-6), 0), count)
    return slice(first, max(first, min(count, math.ceil(high_mm / px_mm - 1e-6))))
