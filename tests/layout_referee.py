"""An independent judge of layouts: turns and moves outlines by its own arithmetic, and looks at what is left.

It shares nothing with the search but the records. The skeleton is looked at the other way round: blanks grow by half a
strip, and what no blank reaches has to hang together.
"""

from __future__ import annotations

from itertools import combinations
from math import cos, floor, radians, sin

import shapely
from shapely import Polygon
from shapely.affinity import translate

from preflight.quantities import Size
from preflight.setup.layout.layout_request import FreeArea, LayoutRequest
from preflight.setup.layout.sheet_layout import Placed, SheetLayout

LEAST_GUTTER, STRIP_FOR_THE_GRIPPER, BETWEEN_BOXES = 3.0, 8.0, 6.0
"""Of rules/layout.yaml."""


def turned(shape: Polygon, degrees: float) -> Polygon:
    """A shape, turned counter-clockwise about the origin."""
    c, s = cos(radians(degrees)), sin(radians(degrees))

    def ring(coordinates: object) -> list[tuple[float, float]]:
        return [(c * x - s * y, s * x + c * y) for x, y in coordinates]  # type: ignore[attr-defined]

    return Polygon(ring(shape.exterior.coords), [ring(hole.coords) for hole in shape.interiors])


def lies(placed: Placed, cut: Polygon, shape: Polygon) -> Polygon:
    """A shape of the one-up where a blank lies on the sheet."""
    x0, y0 = turned(cut, placed.turn_deg).bounds[:2]
    return translate(turned(shape, placed.turn_deg), placed.x_mm - x0, placed.y_mm - y0)


def edges(free: FreeArea, sheet: Size) -> tuple[float, float, float]:
    """Sides, gripper edge and tail that bleed keeps off, by hand."""
    sides, tail = free.sides_mm, free.tail_mm
    if free.printable is not None:
        sides = max(sides, (sheet.across_mm - free.printable.across_mm) / 2)
        tail = max(tail, sheet.along_mm - free.printable_from_mm - free.printable.along_mm)
    return sides, free.gripper_mm, tail


def _boxes_meet(one: Polygon, other: Polygon) -> bool:
    """Whether boxes reach into each other, as those of nested flaps do."""
    (a0, b0, a1, b1), (c0, d0, c1, d1) = one.bounds, other.bounds
    return bool(min(a1, c1) - max(a0, c0) > 0.45 and min(b1, d1) - max(b0, d0) > 0.45)


def faults(layout: SheetLayout, request: LayoutRequest, *, whole_gutters: bool = True) -> list[str]:
    """All that is wrong with a layout; ``whole_gutters``: 6 mm are due where no flaps are nested."""
    found: list[str] = []
    cut, sheet, free = request.blank.cut, layout.sheet, request.free
    whole = Polygon(cut.exterior)
    outlines = [lies(placed, cut, whole) for placed in layout.blanks]
    sides, gripper, tail = edges(free, sheet)
    printed = shapely.box(sides, gripper, sheet.across_mm - sides, sheet.along_mm - tail)
    wide, high = sheet.across_mm, sheet.along_mm
    cuttable = shapely.box(
        max(free.cut_sides_mm, request.waste_strip_mm),
        max(free.cut_gripper_mm, STRIP_FOR_THE_GRIPPER),
        wide - max(free.cut_sides_mm, request.waste_strip_mm),
        high - max(free.cut_tail_mm, request.waste_strip_mm),
    )
    for number, (placed, outline) in enumerate(zip(layout.blanks, outlines, strict=True), 1):
        bleed = lies(placed, cut, request.blank.bleed)
        if bleed.difference(printed.buffer(1e-4)).area > 1e-6:
            found.append(f"bleed of blank {number} outside the printable area")
        if outline.difference(cuttable.buffer(1e-4)).area > 1e-6:
            found.append(f"blank {number} too near an edge")
        across = placed.turn_deg % 180 == 0
        if request.grain_on_blank != "any" and layout.grain is not None:
            runs = request.grain_on_blank if across else {"across": "along", "along": "across"}[request.grain_on_blank]
            if runs != layout.grain:
                found.append(f"grain of blank {number}")
    for (one, a), (other, b) in combinations(enumerate(outlines, 1), 2):
        if shapely.box(*a.bounds).distance(shapely.box(*b.bounds)) > 2 * BETWEEN_BOXES:
            continue
        if a.intersection(b).area > 1e-3:
            found.append(f"blanks {one} and {other} overlap")
        gap = a.distance(b)
        least = request.gutter_mm if request.gutter_mm is not None else max(LEAST_GUTTER, request.waste_strip_mm)
        if request.gutter_mm is None and not _boxes_meet(a, b):
            least = max(least, BETWEEN_BOXES if whole_gutters else 0)
        if gap < least - 1e-4 and not (gap < 1e-6 and request.gutter_mm is None and request.blank.edge_inks):
            found.append(f"{gap:.3f} mm between blanks {one} and {other}")
    return found + skeleton_faults(outlines, sheet, request.waste_strip_mm)


def skeleton_faults(outlines: list[Polygon], sheet: Size, strip_mm: float) -> list[str]:
    """Pieces of waste between blanks that hang on the rest by less than a strip."""
    half = strip_mm / 2 - 0.06
    reached = shapely.union_all([outline.buffer(half) for outline in outlines])
    rest = shapely.get_parts(shapely.box(0, 0, sheet.across_mm, sheet.along_mm).difference(reached))
    frame = max(rest, key=lambda piece: piece.area if piece.bounds[1] < 1e-6 else 0.0)
    loose = [piece for piece in rest if piece is not frame]
    return [
        f"waste at {piece.centroid} is loose"
        for piece in loose
        if sum(outline.distance(piece) < half + 0.05 for outline in outlines) > 1
    ]


def grid_ups(request: LayoutRequest, gutter_mm: float = 6.0) -> int:
    """How many a plain grid takes on the roomiest sheet, by the formula of the trade."""
    best = 0
    for sheet in request.sheets:
        for turn in (0, 90):
            asked = request.grain is not None and request.grain_on_blank != "any"
            if asked and (turn == 0) != (request.grain == request.grain_on_blank):
                continue
            sides, gripper, tail = edges(request.free, sheet)
            cut, bleed = turned(request.blank.cut, turn).bounds, turned(request.blank.bleed, turn).bounds
            low = [max(0.0, c - b) for c, b in zip(cut[:2], bleed[:2], strict=True)]
            high = [max(0.0, b - c) for c, b in zip(cut[2:], bleed[2:], strict=True)]
            strip, free = request.waste_strip_mm, request.free
            side = max(free.cut_sides_mm, strip)
            wide = sheet.across_mm - max(sides + low[0], side) - max(sides + high[0], side)
            tall = (
                sheet.along_mm
                - max(gripper + low[1], free.cut_gripper_mm, STRIP_FOR_THE_GRIPPER)
                - max(tail + high[1], free.cut_tail_mm, strip)
            )
            w, h = cut[2] - cut[0], cut[3] - cut[1]
            across, along = (
                floor((room + gutter_mm) / (size + gutter_mm) + 1e-9) for room, size in ((wide, w), (tall, h))
            )
            best = max(best, across * along if across > 0 and along > 0 else 0)
    return best
