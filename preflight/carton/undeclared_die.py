"""A die that nobody called one: a thin outline with creases, drawn in black, process inks or registration colour.

Frames, tables and panels of the artwork are thin outlines too. So a die has to be large against the page, its
outline must hold panels as wide as a carton's, folds must run between them from edge to edge, and none of it may be
filled. Everything found this way is a guess and says so.

Where cuts and creases are drawn alike and no tapered glue flap tells them from a table, the lines are not taken for the
die, but suspected: they lie on the trim box, or have the notches of a carton.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.colours import Wanted
from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Page
from preflight.carton.build_die import build_die
from preflight.carton.die import Area, Die
from preflight.carton.lines.drawn_lines import DieLine
from preflight.carton.suspected_die import LEAST_PANELS, LEAST_SHARE, NARROWEST_PANEL_MM, suspicion

THICKEST_MM: Final = 0.6
MOST_ROWS: Final = 2000
MOST_POINTS: Final = 20_000
MOST_TRIES: Final = 4


def find_undeclared(
    page: Page, areas: Sequence[Area], trim: Box | None, one_up: bool, named: Sequence[DieLine] = ()
) -> Die | None:
    """A die among the thin strokes of the artwork, or None; one that is only suspected has no blanks.

    ``named``: creases and the like that are called so, while nothing is called a cut; the cut is looked for round them.
    """
    suspected = None
    folds = ", ".join(dict.fromkeys(line.drawn_in for line in named))
    for rows in _candidates(page, {line.row for line in named}):
        lines = list(_lines(page, rows))
        if not lines or sum(len(line.points) for line in [*lines, *named]) > MOST_POINTS:
            continue
        names = ", ".join(dict.fromkeys(line.drawn_in for line in lines))
        because = f"a thin outline with creases in {names} is taken as the die; no separation is named as one"
        if named:
            because = f"a thin outline in {names} round the creases in {folds} is taken as the cut; no name says so"
        die = build_die([*lines, *named], areas, trim=trim, one_up=one_up, because=because)
        if _is_carton(die, page, trim):
            return replace(die, found="assumed")
        suspected = suspected or suspicion(lines, page, trim)
    if suspected is None or named:
        return None
    return Die("none", suspected.because, loose_areas=tuple(areas), suspected=suspected)


def _candidates(page: Page, taken: Collection[int]) -> Iterator[NDArray[np.intp]]:
    """Rows of thin strokes: of one colour at a time, those that span most of the page first; then of all together.

    Registration colour comes last and by itself: what is drawn in it is mostly marks.
    """
    objects = page.objects
    thin = (
        (objects.painted == Painted.STROKE)
        & objects.visible
        & (objects.line_width_mm > 0)
        & (objects.line_width_mm <= THICKEST_MM)
        & ~_filled_before(page)
        & ~_of_colours(page, lambda colour: colour.varies)
    )
    thin[list(taken)] = False
    marks = _of_colours(page, lambda colour: colour.registration)
    rows = np.flatnonzero(thin & ~marks)
    by_colour = rows[np.argsort(objects.colour[rows], kind="stable")]
    groups = np.split(by_colour, np.flatnonzero(np.diff(objects.colour[by_colour])) + 1) if len(rows) else []
    large = [group for group in groups if len(group) <= MOST_ROWS and _spans(page, group)]
    large.sort(key=lambda group: -_spread(page, group))
    yield from large[:MOST_TRIES]
    together = np.sort(np.concatenate(large)) if len(large) > 1 else np.zeros(0, np.intp)
    few = [group for group in groups if len(group) <= MOST_ROWS and not _spans(page, group)]
    for extra in ([], few) if few else ([],):
        mixed = np.sort(np.concatenate([together, *large[: len(large) == 1], *extra])).astype(np.intp)
        if (len(large) > 1 or extra) and len(large) and len(mixed) <= MOST_ROWS:
            yield mixed
    registration = np.flatnonzero(thin & marks)
    if 0 < len(registration) <= MOST_ROWS and _spans(page, registration):
        yield registration


def _of_colours(page: Page, wanted: Wanted) -> NDArray[np.bool_]:
    """Rows whose colour is wanted."""
    objects = page.objects
    return objects.colours.where(wanted)[objects.colour] if len(objects) else np.zeros(0, bool)


def _filled_before(page: Page) -> NDArray[np.bool_]:
    """Strokes round a shape that is filled in the same stroke of the pen: a panel of the artwork, no die."""
    objects = page.objects
    after_fill = np.zeros(len(objects), bool)
    if len(objects) > 1:
        grown = objects.line_width_mm[1:, None] / 2 + 0.05
        same = (np.abs(objects.box_mm[1:] - objects.box_mm[:-1]) <= grown).all(1)
        after_fill[1:] = (objects.painted[:-1] == Painted.FILL) & same
    return after_fill


def _span(page: Page, rows: NDArray[np.intp]) -> tuple[float, float]:
    boxes = page.objects.box_mm[rows]
    if not len(boxes):
        return 0.0, 0.0
    size = boxes[:, 2:].max(0) - boxes[:, :2].min(0)
    return float(size[0]) / max(page.width_mm, 1e-6), float(size[1]) / max(page.height_mm, 1e-6)


def _spread(page: Page, rows: NDArray[np.intp]) -> float:
    across, up = _span(page, rows)
    return across * up


def _spans(page: Page, rows: NDArray[np.intp]) -> bool:
    return min(_span(page, rows)) >= LEAST_SHARE


def _lines(page: Page, rows: NDArray[np.intp]) -> Iterator[DieLine]:
    objects = page.objects
    for row, subpaths in zip(rows, objects.paths(rows), strict=True):
        colour = objects.colours[objects.colour[row]]
        inks = tuple(name for name, tint in colour.tints if tint > 0)
        name = ", ".join(inks) or colour.space
        for points in subpaths:
            yield DieLine(
                points,
                "unknown",
                False,
                float(objects.line_width_mm[row]),
                bool(objects.dashed[row]),
                name,
                "assumed",
                "follows a closed outline with creases",
                bool(objects.overprint[row]),
                inks,
                int(row),
            )


def _is_carton(die: Die, page: Page, trim: Box | None) -> bool:
    """Large against the page, with enough panels of a carton's size, and neither a table nor a drawing.

    Lines that are all alike need a tapered glue flap to be told from those, a plain rectangle needs any glue flap or
    the trim box, however it is divided.
    """
    if not die.blanks:
        return False
    x0, y0, x1, y1 = shapely.total_bounds([blank.outline for blank in die.blanks])
    if min((x1 - x0) / page.width_mm, (y1 - y0) / page.height_mm) < LEAST_SHARE:
        return False
    blank = max(die.blanks, key=lambda b: float(b.outline.area))
    wide = [panel for panel in blank.panels if _narrow_side(panel) >= NARROWEST_PANEL_MM]
    if len(wide) < LEAST_PANELS:
        return False
    flaps = [area.shape for area in blank.areas if area.kind == "glue flap"]
    if any(not die.uncertain or _fills_box(flap) < 0.97 for flap in flaps):
        return True
    rectangle = _fills_box(blank.outline) > 0.97
    on_trim = trim is not None and max(abs(a - b) for a, b in zip(blank.outline.bounds, trim, strict=True)) < 0.5
    return not die.uncertain and (not rectangle or on_trim)


def _fills_box(shape: shapely.Polygon) -> float:
    return float(shape.area / shapely.area(shapely.box(*shape.bounds)))


def _narrow_side(shape: shapely.Polygon) -> float:
    x0, y0, x1, y1 = shape.bounds
    return float(min(x1 - x0, y1 - y0))
