"""A die that is there already: its drawing becomes a layout, which is checked and never changed.

x of the drawing counts from the operator side and y from the gripper edge. A layer for the sheet's edge says where the
corner is; without one it is the drawing's 0, 0. Each closed outline of cut lines that is the one-up's, turned by a
quarter turn or not at all, is a blank; what is no blank is told, never guessed at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely import MultiLineString, Polygon
from shapely.affinity import affine_transform, scale, translate
from shapely.geometry.base import BaseGeometry

from preflight.errors import NotMeasured
from preflight.inputs.dxf_drawing import DxfDrawing
from preflight.quantities import Size
from preflight.setup.layout.drawn_outlines import closed_outlines, fold_lines, sheet_in, texts_in, to_sheet_frame
from preflight.setup.layout.layout_request import BlankToLay, FreeArea
from preflight.setup.layout.row_order import row_order
from preflight.setup.layout.sheet_layout import Placed, SheetLayout, placing, through

FITS_MM: Final = 0.3
"""How far an outline of the die may lie from the one-up's."""
LIKE_A_BLANK: Final = 0.5
"""From this share of the one-up's area on, an outline that is no blank is told by its place."""
MOST_TOLD: Final = 6
NUMBERS: Final = "blank numbers"
VERSIONS: Final = "blank versions"
TURNS: Final[tuple[Literal[0, 90, 180, 270], ...]] = (0, 90, 180, 270)


def standing_layout(
    drawing: DxfDrawing,
    blank: BlankToLay,
    free: FreeArea,
    *,
    sheet: Size | None,
    operator_side: Literal["left", "right"] = "left",
    grain: Literal["across", "along"] | None = None,
) -> SheetLayout:
    """The layout that a standing die is; its gutters are not measured here.

    Args:
        drawing: of the whole die.
        blank: the one-up; its creases tell which way up a blank lies whose outline is the same both ways.
        free: what press and die-cutter leave.
        sheet: that the ticket or the press names; None where only the drawing can tell.
        operator_side: of the printed face with the gripper edge down.
        grain: of the sheet.

    Raises:
        NotMeasured: no cut lines, no sheet size, or none of its outlines is the one-up's.
    """
    corner, edge = sheet_in(drawing)
    size = edge or sheet
    if size is None:
        raise NotMeasured(
            f"{drawing.file} has no layer for the sheet's edge", "`sheet: {size: …}` on the ticket", "ticket"
        )
    to_sheet = to_sheet_frame(corner, size, operator_side)
    faces = [affine_transform(face, to_sheet) for face in closed_outlines(drawing)]
    creases = [affine_transform(MultiLineString(fold_lines(drawing)), to_sheet)]
    matched = _matched(faces, blank, shapely.union_all(creases))
    if not matched.blanks:
        raise NotMeasured(_nothing_fits(drawing, faces, blank), "the one-up's own die, as DXF", "ticket")
    named, order = _in_order(matched.blanks, drawing, to_sheet, blank.cut)
    notes = [*drawing.notes, *matched.notes, *_size_words(drawing, edge, sheet)]
    return SheetLayout(
        sheet=size,
        cut=blank.cut,
        blanks=tuple(named[k] for k in order),
        pattern="standing die",
        free=free,
        grain=grain,
        because=f"the standing die {drawing.file}",
        notes=tuple(notes),
        assumed=tuple(matched.assumed),
        strangers=tuple(matched.strangers),
        turns_open={number: matched.open[k] for number, k in enumerate(order, 1) if k in matched.open},
        sheet_asked=sheet if _another(edge, sheet) else None,
    )


# Matching ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Matched:
    """Outlines that are the one-up, and what is to be said of the others."""

    blanks: list[Placed]
    notes: list[str]
    assumed: list[str]
    strangers: list[Polygon]
    """Outlines as large as a blank that are none."""
    open: dict[int, tuple[int, ...]]
    """Place in ``blanks`` to the turns that fit as well as the one taken."""


@dataclass(frozen=True)
class _Turned:
    """The one-up in one of its four turns, with the box of its cut at (0, 0)."""

    turn_deg: Literal[0, 90, 180, 270]
    cut: Polygon
    creases: BaseGeometry


def _turned(blank: BlankToLay) -> list[_Turned]:
    found = []
    for turn in TURNS:
        matrix = placing(Placed(0, 0, turn), blank.cut)
        found.append(_Turned(turn, through(matrix, blank.cut), through(matrix, blank.creases)))
    return found


def _matched(faces: Sequence[Polygon], blank: BlankToLay, creases: BaseGeometry) -> _Matched:
    turned = _turned(blank)
    blanks, taken, alike, others = list[Placed](), list[Polygon](), list[str](), list[Polygon]()
    unsure = dict[int, tuple[int, ...]]()
    for face in faces:
        fits = [(one, shift) for one in turned if (shift := _shift_onto(one.cut, face)) is not None]
        if not fits:
            others.append(face)
            continue
        (best, shift), alike_turns = _best_by_creases(fits, face, creases)
        blanks.append(Placed(round(shift[0], 3), round(shift[1], 3), best.turn_deg))
        taken.append(Polygon(face.exterior))
        if alike_turns:
            alike.append(_at(face))
            unsure[len(blanks) - 1] = alike_turns
    within = shapely.union_all(taken) if taken else Polygon()
    left = [face for face in others if not within.covers(face.representative_point())]
    large = [face for face in left if face.area >= LIKE_A_BLANK * blank.cut.area]
    return _Matched(blanks, _left_words(large, len(left) - len(large)), _alike_words(alike), large, unsure)


def _shift_onto(cut: Polygon, face: Polygon) -> tuple[float, float] | None:
    """Where the cut has to be moved to lie on a face within the tolerance; None where it does not fit."""
    mine, its = cut.bounds, face.bounds
    if any(abs((its[k + 2] - its[k]) - mine[k + 2]) > 2 * FITS_MM for k in (0, 1)):
        return None
    shift = ((its[0] + its[2] - mine[2]) / 2, (its[1] + its[3] - mine[3]) / 2)
    moved = translate(cut, *shift)
    if len(cut.interiors) != len(face.interiors) and not _same_without_specks(moved, face):
        return None
    away = shapely.hausdorff_distance(moved.boundary, face.boundary)
    return shift if away <= FITS_MM else None


def _same_without_specks(one: Polygon, other: Polygon) -> bool:
    """Whether two shapes differ by no more than a rim of the tolerance: a hole of a hair is none."""
    return bool(shapely.symmetric_difference(one, other).buffer(-FITS_MM / 2).is_empty)


def _best_by_creases(
    fits: Sequence[tuple[_Turned, tuple[float, float]]], face: Polygon, creases: BaseGeometry
) -> tuple[tuple[_Turned, tuple[float, float]], tuple[int, ...]]:
    """Of several turns that the outline allows, the one whose creases are the die's; and those that fit as well."""
    if len(fits) == 1:
        return fits[0], ()
    drawn = shapely.intersection(creases, face).buffer(FITS_MM)
    missed = []
    for one, shift in fits:
        own = translate(one.creases, *shift)
        missed.append(float(shapely.difference(own, drawn).length))
    best = int(np.argmin(missed))
    alike = [k for k, miss in enumerate(missed) if k != best and miss < missed[best] + 1.0]
    return fits[best], tuple(fits[k][0].turn_deg for k in alike)


def _in_order(
    blanks: Sequence[Placed], drawing: DxfDrawing, to_sheet: Sequence[float], cut: Polygon
) -> tuple[list[Placed], list[int]]:
    """The blanks with their versions, and their order: by the numbers that stand in the drawing, if each has one.

    Else it is along the gripper edge, row by row.
    """
    outlines = [through(placing(each, cut), cut) for each in blanks]
    versions = texts_in(outlines, drawing, to_sheet, VERSIONS)
    named = [Placed(b.x_mm, b.y_mm, b.turn_deg, versions.get(k)) for k, b in enumerate(blanks)]
    told = {k: int(says) for k, says in texts_in(outlines, drawing, to_sheet, NUMBERS).items() if says.isdecimal()}
    if sorted(told.values()) == list(range(1, len(blanks) + 1)):
        return named, sorted(told, key=lambda k: told[k])
    return named, row_order(outlines)


# In words ----------------------------------------------------------------------------------------------------------


def _at(face: Polygon) -> str:
    x0, y0, x1, y1 = face.bounds
    return f"{x1 - x0:.1f} x {y1 - y0:.1f} mm at ({x0:.1f}, {y0:.1f})"


def _left_words(large: Sequence[Polygon], small: int) -> list[str]:
    """Outlines that are no blank: large ones by their place, small ones as waste."""
    notes = [f"outline of {_at(face)} in the sheet's frame is not the blank of this job" for face in large[:MOST_TOLD]]
    if len(large) > MOST_TOLD:
        notes.append(f"{len(large) - MOST_TOLD} more outlines are not the blank of this job")
    if small:
        notes.append(f"{small} smaller closed outline{'s' * (small > 1)} of the die between the blanks: waste")
    return notes


def _alike_words(alike: Sequence[str]) -> list[str]:
    if not alike:
        return []
    more = f" and {len(alike) - 1} more" if len(alike) > 1 else ""
    return [f"which way up the blank of {alike[0]}{more} lies: its outline and creases are the same when it is turned"]


def _another(edge: Size | None, sheet: Size | None) -> bool:
    """Whether the die is drawn on another sheet than the job's."""
    if edge is None or sheet is None:
        return False
    return max(abs(edge.across_mm - sheet.across_mm), abs(edge.along_mm - sheet.along_mm)) > FITS_MM


def _size_words(drawing: DxfDrawing, edge: Size | None, sheet: Size | None) -> list[str]:
    if edge is None:
        return [f"{drawing.file} has no layer for the sheet's edge: its 0, 0 is taken as the corner of the sheet"]
    if not _another(edge, sheet):
        return []
    return [f"{drawing.file} is drawn on a sheet of {edge}, and the job's is {sheet}; the drawing's is used"]


def _nothing_fits(drawing: DxfDrawing, faces: Sequence[Polygon], blank: BlankToLay) -> str:
    """Why no outline is the one-up's, with the likeliest slip: a drawing from the other side."""
    x0, y0, x1, y1 = blank.cut.bounds
    size = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"
    if not faces:
        return f"the cut lines of {drawing.file} enclose nothing"
    flipped = [scale(face, -1, 1) for face in faces]
    turned = _turned(blank)
    if any(_shift_onto(one.cut, face) is not None for one in turned for face in flipped):
        return (
            f"the outlines of {drawing.file} are the blank of {size} in mirror image: it is drawn from the other side, "
            "or x does not count from the operator side"
        )
    nearest = min(faces, key=lambda face: abs(face.area - blank.cut.area))
    return (
        f"none of the {len(faces)} closed outlines of {drawing.file} is the blank of {size} within {FITS_MM:g} mm "
        f"(nearest in size: {_at(nearest)})"
    )
