"""Lines that may be a die, all solid and alike: too little to go by them, enough to ask.

A carton shows by its notches (slots, flaps, corners cut away) round panels that straight folds part, a sleeve by its
row of panels, each as wide as the one after the next. A frame has no panels, a table no notches, a keyline round a
picture does not reach the outline, and a line drawing is not straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Page
from preflight.carton.cells.choice_of_blanks import bounds_agree
from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.faces import SAME_WIDTH_MM
from preflight.carton.cells.net import build_net
from preflight.carton.die import Suspected
from preflight.carton.lines.double_lines import merge_doubles
from preflight.carton.lines.drawn_lines import (
    Bools,
    DieLine,
    Floats,
    Ints,
    components,
    crossings,
    lengths_of,
    segments_of,
    usable,
)
from preflight.carton.lines.prepared_lines import prepare_lines

LEAST_SHARE: Final = 0.4
"""Of the page's width and height that the outline has to span."""
NARROWEST_PANEL_MM: Final = 10.0
LEAST_PANELS: Final = 3
MOST_ALIKE: Final = 0.6
"""Where more of the panels are of one size it is a table."""
LEAST_NOTCHES: Final = 4
LEAST_SQUARE: Final = 0.8
"""Share of the folds that run in two directions at right angles."""
LEAST_SQUARE_DRAWN: Final = 0.5
"""The same share of all lines, some of which may be of the artwork."""
MOST_CROSSINGS: Final = 4000
MOST_CELLS: Final = 1000
SAME_AREA: Final = 0.01
TOUCHING_MM: Final = 3.0
RECTANGLE: Final = 0.97


def suspicion(lines: Sequence[DieLine], page: Page, trim: Box | None) -> Suspected | None:
    """What makes a person ask whether these lines are the die; None where nothing does."""
    tidy = usable(lines)
    pieces = segments_of(tidy)
    if _at_right_angles(pieces.xy) < LEAST_SQUARE_DRAWN or crossings(pieces) > MOST_CROSSINGS:
        return None
    segments, _ = merge_doubles(segments_of(prepare_lines(tidy).lines))
    if not len(segments):
        return None
    cells = Cells.of(build_net(segments))
    if not LEAST_PANELS <= len(cells.polygons) <= MOST_CELLS:
        return None
    label = _groups(cells)
    largest = int(np.argmax(np.bincount(label, weights=cells.area)))
    members = np.flatnonzero(label == largest)
    whole = shapely.union_all(cells.polygons[members])
    outline = max((Polygon(part.exterior) for part in shapely.get_parts(whole)), key=lambda part: float(part.area))
    x0, y0, x1, y1 = _bounds_of_all(cells, label, largest)
    if min((x1 - x0) / page.width_mm, (y1 - y0) / page.height_mm) < LEAST_SHARE:
        return None
    panels = _panels(cells, members, outline)
    if len(panels) < LEAST_PANELS or _at_right_angles(_folds(cells, label == largest)) < LEAST_SQUARE:
        return None
    on_trim = trim is not None and bounds_agree(outline, trim)
    if not (_is_notched(outline, panels) or _is_sleeve(outline, panels, on_trim)):
        return None
    inks = tuple(dict.fromkeys(ink for line in lines for ink in line.inks or (line.drawn_in,)))
    where = " on the trim box" if on_trim else ""
    says = (
        f"no separation or layer is named as a cut line; a thin outline in {', '.join(inks)}{where}, which lines part "
        f"into {len(members)} panels, may be the die"
    )
    return Suspected((x0, y0, x1, y1), inks, len(members), says)


def _groups(cells: Cells) -> Ints:
    """A label for each cell: what hangs together has one."""
    both = (cells.beside >= 0).all(1)
    return components(len(cells.polygons), cells.beside[both, 0], cells.beside[both, 1])


def _bounds_of_all(cells: Cells, label: Ints, group: int) -> Box:
    """Bounds of a group and of those that are as large: several blanks on a sheet."""
    area = np.bincount(label, weights=cells.area)
    alike = np.flatnonzero(np.abs(area - area[group]) < SAME_AREA * area[group])
    x0, y0, x1, y1 = shapely.total_bounds(cells.polygons[np.isin(label, alike)])
    return (float(x0), float(y0), float(x1), float(y1))


def _panels(cells: Cells, members: Ints, outline: Polygon) -> list[Polygon]:
    """Cells of a panel's size that reach the outline; what stands apart from it is artwork."""
    touching = shapely.length(shapely.intersection(cells.polygons[members], outline.exterior.buffer(0.01)))
    at_edge = members[touching / 2 >= TOUCHING_MM]
    return [shape for shape in cells.polygons[at_edge] if _sides(shape).min() >= NARROWEST_PANEL_MM]


def _sides(shape: Polygon) -> Floats:
    x0, y0, x1, y1 = shape.bounds
    return np.array([x1 - x0, y1 - y0])


def _folds(cells: Cells, group: Bools) -> Floats:
    """The lines between cells of a group."""
    xy: Floats = cells.net.xy[(cells.beside >= 0).all(1) & np.append(group, False)[cells.beside].all(1)]
    return xy


def _at_right_angles(xy: Floats) -> float:
    """Share of the length of lines that runs in the two directions at right angles which most of them have."""
    length = lengths_of(xy)
    turn = np.degrees(np.arctan2(xy[:, 3] - xy[:, 1], xy[:, 2] - xy[:, 0])) % 90
    if not len(turn):
        return 0.0
    degree = np.round(turn).astype(int) % 90
    off = np.abs((turn - int(np.argmax(np.bincount(degree, length, 90))) + 45) % 90 - 45)
    return float(length[off <= 2].sum() / max(float(length.sum()), 1e-9))


def _is_notched(outline: Polygon, panels: Sequence[Polygon]) -> bool:
    """The outline turns inward as often as that of a carton, and the panels are not all of one size."""
    points = shapely.get_coordinates(shapely.orient_polygons(outline).exterior.simplify(0.5))[:-1]
    ahead = np.roll(points, -1, axis=0) - points
    behind = np.roll(ahead, 1, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    turns = np.degrees(np.arctan2(cross, (behind * ahead).sum(1)))
    inward = -turns[turns < 0].sum() / 90
    sizes = np.array([np.sort(_sides(panel)) for panel in panels])
    alike = max(int((np.abs(sizes - size).max(1) < 0.5).sum()) for size in sizes)
    return bool(inward >= LEAST_NOTCHES - 0.5 and alike <= MOST_ALIKE * len(panels))


def _is_sleeve(outline: Polygon, panels: Sequence[Polygon], on_trim: bool) -> bool:
    """One row of panels in a rectangle, each as wide as the one after the next, with a glue flap or on the trim box."""
    if outline.area < RECTANGLE * float(np.prod(_sides(outline))):
        return False
    for along in (0, 1):
        full = [panel for panel in panels if abs(_sides(panel)[1 - along] - _sides(outline)[1 - along]) < 0.5]
        if len(full) != len(panels):
            continue
        row = sorted(full, key=lambda panel: panel.bounds[along])
        widths = [float(_sides(panel)[along]) for panel in row]
        for flap, rest in ((None, widths), (widths[0], widths[1:]), (widths[-1], widths[:-1])):
            tube = len(rest) >= 4 and all(abs(a - b) <= SAME_WIDTH_MM for a, b in zip(rest, rest[2:], strict=False))
            unlike = tube and abs(rest[0] - rest[1]) > SAME_WIDTH_MM
            if tube and (unlike or flap is not None) and (on_trim or (flap is not None and flap <= 0.6 * min(rest))):
                return True
    return False
