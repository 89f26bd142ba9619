"""Where a page is looked at closely once its plates have told where to look: windows, and how finely they are drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Antialiasing, Page
from preflight.artwork.page.plates import Plates
from preflight.job import PLATE_DPI, Job
from preflight.measures import object_places
from preflight.measures.raster.masks import Mask, Region

CLOSE_DPIS: Final = (300.0, 200.0, 150.0, PLATE_DPI)
"""Resolutions of close looks. A few, because each may need the page to be written anew for it."""
MOST_WINDOWS: Final = 12
MARGIN_MM: Final = 0.5


def close_dpi(boxes: Sequence[Box], most_px: float) -> float:
    """The finest of ``CLOSE_DPIS`` at which boxes have at most ``most_px`` pixels; the coarsest where none has."""
    area_mm2 = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in boxes)
    return next((dpi for dpi in CLOSE_DPIS if area_mm2 * (dpi / 25.4) ** 2 <= most_px), CLOSE_DPIS[-1])


def on_page(page: Page, box: Sequence[float]) -> Box:
    """What of a box lies on the page; one that lies off it comes back with its sides the wrong way round."""
    x0, y0, x1, y1 = box
    return (max(x0, 0.0), max(y0, 0.0), min(x1, page.width_mm), min(y1, page.height_mm))


def windows_on(job: Job, places: Sequence[Sequence[float]], most: int = MOST_WINDOWS) -> list[Box]:
    """Windows that hold boxes of the page, cut to what is inside the cut and to the page; they do not overlap."""
    x0, y0, x1, y1 = job.inside_shape.bounds
    boxes = []
    for shown in places:
        left, low, right, high = on_page(job.page, (x0 - MARGIN_MM, y0 - MARGIN_MM, x1 + MARGIN_MM, y1 + MARGIN_MM))
        box = (
            max(shown[0] - MARGIN_MM, left),
            max(shown[1] - MARGIN_MM, low),
            min(shown[2] + MARGIN_MM, right),
            min(shown[3] + MARGIN_MM, high),
        )
        if box[0] < box[2] and box[1] < box[3]:
            boxes.append(box)
    return apart(object_places.gathered(boxes, most))


def window_on(page: Page, plates: Plates, region: Region, at_mm: tuple[float, float], side_mm: float) -> Box:
    """A window that holds a region of the plates with a margin, or as much of it as lies about a place."""
    left, low, right, high = plates.box(*region.slices)
    (x, y), half = at_mm, side_mm / 2
    box = (
        max(left - MARGIN_MM, x - half),
        max(low - MARGIN_MM, y - half),
        min(right + MARGIN_MM, x + half),
        min(high + MARGIN_MM, y + half),
    )
    return on_page(page, box)


def seen_closely(page: Page, box: Box, dpi: float, where: Callable[[Plates], Mask]) -> tuple[Plates, Mask] | None:
    """A window and where something is seen in it, with smooth edges and with sharp ones; None where it is not.

    Most are traps, which the first look tells.
    """
    edges: Antialiasing
    for edges in ("smooth", "sharp"):
        window = page.window(box, dpi, edges=edges)
        seen = where(window)
        if not seen.any():
            return None
    return window, seen


def apart(boxes: Sequence[Box]) -> list[Box]:
    """Boxes, those that overlap joined into one."""
    held = list(boxes)
    while True:
        joined: list[Box] = []
        for box in held:
            for i, other in enumerate(joined):
                if box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]:
                    joined[i] = (
                        min(box[0], other[0]),
                        min(box[1], other[1]),
                        max(box[2], other[2]),
                        max(box[3], other[3]),
                    )
                    break
            else:
                joined.append(box)
        if len(joined) == len(held):
            return joined
        held = joined
