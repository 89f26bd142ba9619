"""Objects of a sheet that may be marks: what is printed outside the blanks, gathered into groups of neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.objects import ObjectTable
from preflight.errors import NotMeasured
from preflight.measures import object_places
from preflight.measures.object_places import Rows

MOST: Final = 20_000
"""Objects outside the blanks; with more the sheet is no sheet of blanks and marks."""
STRIP_MM: Final = 15.0
"""What reaches into a blank and is thicker than this is artwork."""
OUTSIDE: Final = 0.5
"""Share of its box that has to lie outside the blanks for something that reaches into one to be a mark."""
WAY_OUT: Final = 0.25
"""Share that has to lie beyond the bleed too."""


def outside_the_blanks(
    objects: ObjectTable, inside: BaseGeometry, bleed_mm: float, separations: Sequence[str], sheet: BaseGeometry
) -> Rows:
    """Rows that print on the sheet and are no artwork of a blank, on the page as displayed.

    What lies wholly in the bleed is artwork, and so is what reaches into a blank, unless it is a strip whose greater
    part is outside. Registration colour is never artwork.

    Args:
        objects: of the page.
        inside: of all blanks.
        bleed_mm: how far artwork is carried on past the cut.
        separations: those on plates.
        sheet: what of the page is the sheet.

    Raises:
        NotMeasured: there are very many.
    """
    rows = object_places.painting(
        objects,
        object_places.of_colours(
            objects, lambda family: (family.registration or family.names_any(separations)) and family.most() > 0
        ),
    )
    boxes = _boxes(objects, rows)
    rows = rows[shapely.intersects(sheet, boxes)]
    reaching = object_places.reaching_inside(objects, rows, inside)
    own = np.setdiff1d(rows, reaching)
    bleed = shapely.buffer(inside, bleed_mm, join_style="mitre")
    shapely.prepare(bleed)
    in_bleed = shapely.covers(bleed, _boxes(objects, own)) & ~_registration(objects, own)
    found = np.concatenate([own[~in_bleed], _strips(objects, reaching, inside, bleed)])
    if len(found) > MOST:
        raise NotMeasured(
            f"{len(found):,} objects are printed outside the blanks, so marks cannot be told from the rest",
            "a sheet whose waste holds marks only",
        )
    return np.sort(found)


def _strips(objects: ObjectTable, rows: Rows, inside: BaseGeometry, bleed: BaseGeometry) -> Rows:
    """Marks that reach into a blank."""
    boxes = objects.shown_mm[rows].astype(float)
    sides = np.sort(np.column_stack([boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]]), axis=1)
    thin = np.flatnonzero(sides[:, 0] <= STRIP_MM)
    shapely.prepare(inside)
    thin = thin[~shapely.covers(inside, shapely.box(*boxes[thin].T))]  # most of the artwork is
    shapes = shapely.box(*boxes[thin].T)
    area = np.maximum(shapely.area(shapes), 1e-9)
    outside = shapely.area(shapely.difference(shapes, inside)) / area
    way_out = shapely.area(shapely.difference(shapes, bleed)) / area
    marks = (outside >= OUTSIDE) & ((way_out >= WAY_OUT) | _registration(objects, rows[thin]))
    found: Rows = rows[thin[marks]]
    return found


def _registration(objects: ObjectTable, rows: Rows) -> NDArray[np.bool_]:
    registration: NDArray[np.bool_] = objects.colours.where(lambda family: family.registration)[objects.colour[rows]]
    return registration


def _boxes(objects: ObjectTable, rows: Rows) -> NDArray[np.object_]:
    found: NDArray[np.object_] = shapely.box(*objects.shown_mm[rows].astype(float).T)
    return found


def groups_of(objects: ObjectTable, rows: Rows, gap_mm: float) -> list[Rows]:
    """Rows whose boxes come nearer to each other than a gap, together."""
    if not len(rows):
        return []
    boxes = objects.shown_mm[rows].astype(float)
    grown = boxes + np.array([-1, -1, 1, 1]) * gap_mm / 2
    parts = shapely.get_parts(shapely.union_all(shapely.box(*grown.T)))
    owner, member = shapely.STRtree(shapely.points(boxes[:, :2])).query(parts, predicate="intersects")
    member = member[np.argsort(owner, kind="stable")]
    ends = np.cumsum(np.bincount(owner, minlength=len(parts)))[:-1]
    return [rows[np.sort(part)] for part in np.split(member, ends)]
