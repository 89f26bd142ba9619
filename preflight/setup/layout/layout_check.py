"""Whether blanks may lie as they do: the last word on every layout, from the outlines themselves.

The skeleton is what is left of the sheet when the blanks are out. It holds together where strips of the least width do:
the sheet without its blanks, eroded by half of that width, has to be one piece, with the gripper strip. What lies
in a bay of one blank alone is that die's own waste, on every layout alike, and does not count.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi, radians, tan
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from preflight.quantities import Size

_SLACK_MM: Final = 1e-6
_OVERLAP_MM2: Final = 1e-3


@dataclass(frozen=True)
class Strips:
    """Least widths of waste, in mm."""

    between_mm: float
    """Between two blanks that share no knife."""
    edge_mm: float
    """Along sides and tail."""
    gripper_mm: float
    """Along the gripper edge."""
    corner_degrees: float
    """A corner of waste at a shared knife may not be sharper."""


def faults(
    sheet: Size,
    cuts: Sequence[Polygon],
    strips: Strips,
    *,
    shared: bool = False,
    simpler: tuple[Sequence[Polygon], float] | None = None,
) -> Iterator[str]:
    """What is wrong with a layout, in words; nothing where it is sound.

    Args:
        sheet: its size.
        cuts: outlines of the blanks without their cut-outs, in the sheet's frame.
        strips: least widths of waste.
        shared: blanks may share knives.
        simpler: outlines for the skeleton, not smaller than the cuts, and by how much they are larger at most.
    """
    boxes = shapely.bounds(np.array(cuts, object))
    edges = (
        boxes[:, 0].min(),
        boxes[:, 1].min(),
        sheet.across_mm - boxes[:, 2].max(),
        sheet.along_mm - boxes[:, 3].max(),
    )
    least = (strips.edge_mm, strips.gripper_mm, strips.edge_mm, strips.edge_mm)
    for edge, has, wants in zip(("left", "gripper", "right", "tail"), edges, least, strict=True):
        if has < wants - _SLACK_MM:
            yield f"the strip of waste at the {edge} edge is {has:.2f} mm and has to be {wants:g} mm"
    near = list(_near(cuts, strips.between_mm))
    for one, other in near:
        if shapely.area(shapely.intersection(cuts[one], cuts[other])) > _OVERLAP_MM2:
            yield f"blanks {one + 1} and {other + 1} overlap"
            return
        if not shared or shapely.distance(cuts[one], cuts[other]) > _SLACK_MM:
            yield f"between blanks {one + 1} and {other + 1} lie less than {strips.between_mm:g} mm of waste"
    if strips.between_mm > 0:
        yield from _skeleton_faults(sheet, simpler or (cuts, 0.0), strips, shared=bool(near))


def _near(cuts: Sequence[Polygon], mm: float) -> Iterator[tuple[int, int]]:
    """Pairs that are nearer to each other than this, or touch."""
    tree = shapely.STRtree(cuts)
    shapely.prepare(np.array(cuts, object))
    boxes = shapely.box(*(shapely.bounds(np.array(cuts, object)) + (-mm, -mm, mm, mm)).T)
    ones, others = tree.query(boxes)
    for one, other in zip(ones.tolist(), others.tolist(), strict=True):
        if one < other and shapely.dwithin(cuts[one], cuts[other], max(mm - _SLACK_MM, _SLACK_MM)):
            yield one, other


def _skeleton_faults(
    sheet: Size, simpler: tuple[Sequence[Polygon], float], strips: Strips, *, shared: bool
) -> Iterator[str]:
    outlines, slack = simpler
    whole = shapely.box(0, 0, sheet.across_mm, sheet.along_mm)
    waste = shapely.difference(whole, shapely.union_all(outlines))
    half = min(strips.between_mm, strips.edge_mm) / 2 - slack - 0.005
    kept = shapely.get_parts(shapely.buffer(waste, -half))
    for piece in _loose(kept, outlines, half + 2 * slack + 0.02):
        x, y = piece.representative_point().coords[0]
        yield f"the waste at ({x:.0f}, {y:.0f}) hangs on nothing"
    if shared:
        yield from _sharp_corners(waste, kept, outlines, half, strips.corner_degrees)


def loose_pieces(sheet: Size, cuts: Sequence[Polygon], strip_mm: float) -> list[Polygon]:
    """Cores of pieces of waste between blanks that no strip of a width holds to the rest; places where they lie."""
    half = strip_mm / 2 - 0.005
    waste = shapely.difference(shapely.box(0, 0, sheet.across_mm, sheet.along_mm), shapely.union_all(list(cuts)))
    return list(_loose(shapely.get_parts(shapely.buffer(waste, -half)), cuts, half + 0.02))


def _loose(kept: NDArray[np.object_], outlines: Sequence[Polygon], reach_mm: float) -> Iterator[Polygon]:
    """Pieces other than the one at the gripper edge that lie between two blanks or more."""
    if len(kept) < 2:
        return
    main = int(np.argmin([shapely.bounds(piece)[1] for piece in kept]))
    for number, piece in enumerate(kept):
        if number != main and shapely.dwithin(np.array(outlines, object), piece, reach_mm).sum() > 1:
            yield piece


def _sharp_corners(
    waste: shapely.Geometry, kept: NDArray[np.object_], outlines: Sequence[Polygon], half: float, degrees: float
) -> Iterator[str]:
    """Wedges of waste between two blanks: a disc of the strip's width leaves so much of a corner.

    r² (cot(angle / 2) - (180° - angle) / 2) of a corner of that angle, r the radius.
    """
    angle = radians(degrees)
    most = half**2 * (1 / tan(angle / 2) - (pi - angle) / 2)
    left = shapely.difference(waste, shapely.buffer(shapely.union_all(kept), half + 0.01, quad_segs=16))
    for piece in shapely.get_parts(left):
        if shapely.area(piece) > 1.05 * most:
            beside = shapely.dwithin(np.array(outlines, object), piece, 0.05)
            if beside.sum() > 1:
                x, y = piece.representative_point().coords[0]
                yield f"the corner of waste at ({x:.0f}, {y:.0f}) is too sharp to strip"
