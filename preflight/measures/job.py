"""The job as the measures see it: artwork, die, press and ticket brought together. No opinion in here."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry

from preflight.artwork.document import Artwork, Page
from preflight.artwork.plates import Plates
from preflight.artwork.separations import Separation
from preflight.carton.die import Die
from preflight.findings import Known
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket

PLATE_DPI = 100.0
CLOSE_DPIS = (300.0, 200.0, 150.0, PLATE_DPI)
"""Resolutions of close looks. A few, because each may need the page to be written anew for it."""


@dataclass(frozen=True)
class InkOnJob:
    """A separation of the file, or one that only the ticket names, and what it does on this job."""

    separation: Separation
    prints: bool | None
    """Puts ink inside the cut; None on a sheet without a die."""
    cover: float
    """Inked fraction inside the cut, 0..1 (tint-weighted); of the page where there is no cut."""
    area_mm2: float
    """Inked area inside the cut at 2 % tint and more, fringes under 0.1 mm left out."""
    units: tuple[int, ...] = ()
    """Unit numbers that the ticket gives it."""
    in_file: bool = True


@dataclass
class Job:
    """One page of a job, ready to be measured."""

    artwork: Artwork
    page: Page
    die: Die
    press: Press | None
    ticket: Ticket | None
    artwork_is: Literal["one-up", "sheet", "plate"] = "one-up"
    artwork_is_known: Known = "assumed"
    artwork_is_because: str = ""
    inks: list[InkOnJob] = field(default_factory=list)
    """Separations in the file's order, the ticket's ``{overall: …}`` and others it adds at the end."""
    assumed: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """What was noticed on the way and decides nothing: names on the ticket that nobody has, and the like."""
    shared: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)
    """What one measure has found out and another one needs too."""

    @cached_property
    def plates(self) -> Plates:
        """Plates of the whole page at 100 dpi; raises NotMeasured where the page is over a bound."""
        return self.page.plates(PLATE_DPI)

    @cached_property
    def inside_mask(self) -> NDArray[np.bool_]:
        """Pixels of ``plates`` whose centre is inside the cut; the trim box or the page where there is no die."""
        return shape_mask(self.plates, self.inside_shape)

    @cached_property
    def inside_shape(self) -> BaseGeometry:
        """Inside of the cut, or the trim box (else the page) where no die was found, in mm."""
        if self.die.blanks:
            return self.die.inside
        return shapely.box(*(self.page.boxes.trim or (0.0, 0.0, self.page.width_mm, self.page.height_mm)))


def close_dpi(area_mm2: float, most_px: float) -> float:
    """The finest of ``CLOSE_DPIS`` at which an area has at most ``most_px`` pixels; the coarsest where none has."""
    return next((dpi for dpi in CLOSE_DPIS if area_mm2 * (dpi / 25.4) ** 2 <= most_px), CLOSE_DPIS[-1])


def shape_mask(plates: Plates, shape: BaseGeometry) -> NDArray[np.bool_]:
    """Pixels of the plates inside a polygon or several (mm); holes are outside."""
    height, width = plates.ink.shape[1:]
    image = Image.new("L", (width, height))
    draw = ImageDraw.Draw(image)
    x0, y0, x1, y1 = plates.box_mm
    left, low, right, high = shapely.bounds(polygons := shapely.get_parts(shape)).T
    polygons = polygons[(left <= x1) & (right >= x0) & (low <= y1) & (high >= y0)]  # most are out of a small window
    polygons = polygons[shapely.get_type_id(polygons) == 3]
    for polygon in polygons[shapely.intersects(polygons, shapely.box(x0, y0, x1, y1))]:
        for ring, fill in [(polygon.exterior, 1), *((hole, 0) for hole in polygon.interiors)]:
            outline = plates.to_px(shapely.get_coordinates(ring)) - 0.5
            draw.polygon(outline.ravel().tolist(), fill=fill)
    return np.asarray(image).view(np.bool_)


def cut_out(plates: Plates, shape: BaseGeometry) -> Plates:
    """The part of the plates that holds a shape, with a pixel round it."""
    x0, y0, x1, y1 = shape.bounds
    (left, top), (right, bottom) = plates.to_px(np.array([[x0, y1], [x1, y0]]))
    rows = slice(max(0, int(top) - 1), max(0, int(bottom) + 2))
    columns = slice(max(0, int(left) - 1), max(0, int(right) + 2))
    ink, mm, (px0, _, _, py1) = plates.ink[:, rows, columns], plates.mm_per_px, plates.box_mm
    box = (px0 + columns.start * mm, py1 - (rows.start + ink.shape[1]) * mm,
           px0 + (columns.start + ink.shape[2]) * mm, py1 - rows.start * mm)  # fmt: skip
    return Plates(plates.names, ink, plates.dpi, box)
