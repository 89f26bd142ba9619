"""Which separation is likely to be the cut where nothing is called one: it is asked about, and stays on the plates.

Of the spots and guides of a page it is one in which thin lines are drawn and nothing else, that close round something
large against the page. A word that may mean a die, or a slip of the pen in one, makes up for an outline that is left
open, and for one that is a mere rectangle: a frame is that too.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Page
from preflight.carton.lines.die_objects import LEAST_TINT, THICKEST_DIE_LINE_MM
from preflight.inputs.kind_names import hints_at, load_names

KINDS: Final = ("spot", "guide", "ignore")
LEAST_SHARE: Final = 0.3
"""Of the page's width and height that the lines have to span."""
LEAST_AREA: Final = 0.25
"""Of the box round its lines that an outline has to close round."""
RECTANGLE: Final = 0.97
MOST_LINES: Final = 5000


def likely_cut(page: Page) -> str:
    """Name of the separation that is likely to hold the cut; empty where none is."""
    found = {s.name: _evidence(page, s.name) for s in page.separations if s.kind in KINDS}
    best = max(found, key=lambda name: found[name], default="")
    return best if best and found[best] > 0 else ""


def _evidence(page: Page, name: str) -> float:
    """How much speaks for a separation, 0 where too little does."""
    objects = page.objects
    rows = np.flatnonzero(objects.in_separation(name) & objects.visible)
    if not 0 < len(rows) <= MOST_LINES:
        return 0.0
    alone = all(
        not colour.registration and [ink for ink, tint in colour.tints if tint > LEAST_TINT] == [name]
        for colour in (objects.colours[number] for number in np.unique(objects.colour[rows]).tolist())
    )
    lines = rows[objects.painted[rows] != Painted.TEXT]  # dimensions and remarks stand in a die's separation too
    thin = (objects.painted[lines] == Painted.STROKE) & (objects.line_width_mm[lines] <= THICKEST_DIE_LINE_MM)
    if not alone or not len(lines) or not thin.all():
        return 0.0
    boxes = objects.box_mm[lines].astype(float)
    width, height = boxes[:, 2:].max(0) - boxes[:, :2].min(0)
    if min(width / max(page.width_mm, 1e-6), height / max(page.height_mm, 1e-6)) < LEAST_SHARE:
        return 0.0
    hint = hints_at(name, "cut", load_names())
    closed, rectangle = _closed_share(page, lines, float(width * height))
    if not hint and (closed < LEAST_AREA or rectangle):
        return 0.0
    return closed + 2.0 * hint


def _closed_share(page: Page, rows: np.ndarray[tuple[int], np.dtype[np.intp]], box_mm2: float) -> tuple[float, bool]:
    """Share of the box round lines that they close round, and whether they only make one rectangle."""
    strokes = [shapely.LineString(points) for paths in page.objects.paths(rows) for points in paths if len(points) > 1]
    cells = shapely.get_parts(shapely.polygonize([shapely.unary_union(strokes)]))
    if not len(cells):
        return 0.0, False
    whole = shapely.union_all(cells)
    return float(whole.area) / max(box_mm2, 1e-6), len(cells) == 1 and float(whole.area) > RECTANGLE * box_mm2
