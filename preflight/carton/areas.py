"""Free and special areas: by the ticket, processing steps and glue separations, and the blank that each lies on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Page
from preflight.artwork.pdf.structure.layers import step_area
from preflight.carton.die import Area
from preflight.inputs.ticket import Ticket

GLUE_FLAP: Final = "glue flap"
LEAST_OVERLAP_MM2: Final = 1.0
LARGELY: Final = 0.5
"""Of a stated glue flap that lies on a flap, or of a flap that it covers, at least."""
LEAST_FOLD_MM: Final = 1.0
"""Panels that touch along less than this share no fold."""


def areas_of(page: Page, ticket: Ticket | None) -> list[Area]:
    """The areas of a page: stated on the ticket first, then those of processing steps, then of glue separations."""
    return [*_ticket_areas(ticket), *_step_areas(page), *_glue_areas(page)]


def share_out(areas: Sequence[Area], outlines: Sequence[Polygon]) -> tuple[list[list[Area]], list[Area]]:
    """Areas for each outline, cut to it, and those that lie on none.

    An area belongs to the one blank that most of it lies on, or to the one that the ticket says it is for; the gutter
    and the next blank are no business of it.
    """
    shared: list[list[Area]] = [[] for _ in outlines]
    loose: list[Area] = []
    for area in areas:
        parts = [shapely.intersection(area.shape, outline) for outline in outlines]
        among = range(len(parts)) if area.only_on is None else range(area.only_on - 1, min(area.only_on, len(parts)))
        best = max(among, key=lambda n: float(parts[n].area), default=-1)
        if best < 0 or parts[best].area < LEAST_OVERLAP_MM2:
            loose.append(area)
            continue
        for part in shapely.get_parts(parts[best]):
            if isinstance(part, Polygon) and part.area >= LEAST_OVERLAP_MM2:
                shared[best].append(replace(area, shape=part))
    return shared, loose


def without_unfit_flaps(
    shared: Sequence[Sequence[Area]], panels: Sequence[Sequence[Polygon]]
) -> tuple[list[list[Area]], list[Area]]:
    """The areas of each blank without glue flaps that are stated where there is no flap, and those.

    A flap hangs on one other panel. Where the panels of a blank could not be told apart, what is stated holds.
    """
    unfit: list[Area] = []
    fitting: list[list[Area]] = []
    for mine, faces in zip(shared, panels, strict=True):
        stated = [area for area in mine if area.kind == GLUE_FLAP and area.known == "stated"]
        flaps = [face for face in faces if _hangs_on(face, faces) == 1] if stated else []
        astray = [area for area in stated if len(faces) and not _means_one_of(flaps, area.shape)]
        unfit += astray
        fitting.append([area for area in mine if area not in astray])
    return fitting, unfit


def _means_one_of(flaps: Sequence[Polygon], shape: Polygon) -> bool:
    """Whether an area lies largely on a flap, or is drawn round most of one."""
    shared = [float(shapely.intersection(flap, shape).area) for flap in flaps]
    return any(
        both >= LARGELY * min(flap.area, shape.area) and both > 0 for both, flap in zip(shared, flaps, strict=True)
    )


def _hangs_on(face: Polygon, faces: Sequence[Polygon]) -> int:
    """How many of the panels share a fold with this one."""
    near = shapely.buffer(face, 0.05)
    shared = [shapely.intersection(near, other.boundary).length for other in faces if other is not face]
    return sum(length > LEAST_FOLD_MM for length in shared)


def _ticket_areas(ticket: Ticket | None) -> Iterator[Area]:
    for area in ticket.areas if ticket is not None else ():
        yield Area(area.is_, shapely.box(*area.box), "stated", "stated on the ticket", area.blank)


def _step_areas(page: Page) -> Iterator[Area]:
    """Areas outlined or filled in layers with a processing step of ISO 19593-1."""
    kinds = {n: kind for n, layer in enumerate(page.layers) if (kind := step_area(layer))}
    for number, kind in kinds.items():
        layer = page.layers[number]
        words = f"processing step {layer.step_type} of layer {layer.name} (ISO 19593-1)"
        for shape in shapes_of(page, page.objects.layer == number):
            yield Area(kind, shape, "read", words)


def _glue_areas(page: Page) -> Iterator[Area]:
    for separation in page.separations:
        if separation.kind == "glue":
            for shape in shapes_of(page, page.objects.in_separation(separation.name)):
                yield Area("glue", shape, separation.known, f"{separation.name}, {separation.because}")


def shapes_of(page: Page, mask: NDArray[np.bool_]) -> list[Polygon]:
    """Closed shapes of the rows, each once."""
    objects = page.objects
    rows = np.flatnonzero(mask & np.isin(objects.painted, (Painted.FILL, Painted.STROKE)))[:1000]
    found = []
    for subpaths in objects.paths(rows):
        for points in subpaths:
            if len(points) > 3 and np.isfinite(points).all() and np.abs(points[0] - points[-1]).max() < 0.01:
                shape = shapely.make_valid(Polygon(points))
                found += [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 1.0]
    merged = shapely.union_all(found) if found else Polygon()
    return [part for part in shapely.get_parts(merged) if isinstance(part, Polygon) and not part.is_empty]
