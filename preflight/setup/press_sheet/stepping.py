"""A layout and the one-ups of a job become the sheet: every blank where it lies, and what is drawn on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Matrix, times
from preflight.artwork.page.plates import Plates
from preflight.carton.cut_edges import cut_edges
from preflight.carton.die import Blank, Die
from preflight.findings import with_and
from preflight.setup.layout.sheet_layout import Placed, SheetLayout, placing, through
from preflight.setup.press_sheet.back_fit import BackFit, back_fit
from preflight.setup.press_sheet.clips import clips
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet, SheetBlank, Side

SAME_PAGE_MM: Final = 0.5
OVERLAP_MM2: Final = 1.0
"""Blanks that share more than this overlap."""
IsFrom = Literal["layout of the tool", "layout of the ticket", "standing die"]


@dataclass(frozen=True)
class OneUp:
    """One page of a job that is stepped to the blanks of its version."""

    plates: Plates
    die: Die
    kinds: Mapping[str, str]
    """Of its separations with a plate, in their order."""
    page_mm: tuple[float, float]
    """Width and height as displayed."""
    side: Side = "front"
    version: str | None = None


@dataclass(frozen=True)
class Stepped:
    """What a sheet is stepped of."""

    layout: SheetLayout
    one_ups: Sequence[OneUp]
    """The first is the front of the page that speaks for the sheet; every version of the layout has a front."""
    bleed_mm: float
    is_from: IsFrom = "layout of the tool"
    operator_side: Literal["left", "right"] = "left"
    operator_assumed: bool = False


def step(asked: Stepped) -> PressSheet:
    """The sheet that a layout and one-ups make.

    Fronts have one blank each. Pages of the inside are laid on the same blanks, mirrored: their cut lies on that of
    the front, or where they have none, their page on the front's page.
    """
    layout, fronts = asked.layout, {one.version: one for one in asked.one_ups[::-1] if one.side == "front"}
    backs = {one.version: one for one in asked.one_ups[::-1] if one.side == "back"}
    first = asked.one_ups[0]
    own = [fronts.get(placed.version, first) for placed in layout.blanks]
    moves = [_onto_sheet(one, placed) for one, placed in zip(own, layout.blanks, strict=True)]
    outlines = [through(move, one.die.blanks[0].outline) for one, move in zip(own, moves, strict=True)]
    hidden = [
        [through(move, face) for face in hidden_faces(one.die.blanks[0])] for one, move in zip(own, moves, strict=True)
    ]
    edges = cut_edges(outlines, hidden)
    shown = clips(outlines, asked.bleed_mm, shapely.box(0, 0, layout.sheet.across_mm, layout.sheet.along_mm))
    pieces = [
        Piece(one.plates, move, clip, "front", one.version) for one, move, clip in zip(own, moves, shown, strict=True)
    ]
    blanks = tuple(
        _blank(number, placed, one.die.blanks[0], move, outline)
        for number, (placed, one, move, outline) in enumerate(zip(layout.blanks, own, moves, outlines, strict=True), 1)
    )
    apart = [str(version) for version, one in fronts.items() if all(one is not here for here in own)]
    fits, left_out = list[BackFit](), _other_sheets(apart)
    for version, back in backs.items():
        front = fronts.get(version, first)
        onto = mirrored_onto(front, back)
        if onto is None:
            left_out.append("the inside has neither a die nor a page of the outside's size, so its place is not known")
            continue
        fits += [back_fit(front.die.blanks[0], back.die.blanks[0], version)] if back.die.blanks else []
        pieces += [
            Piece(back.plates, times(onto, move), clip, "back", version)
            for one, move, clip in zip(own, moves, shown, strict=True)
            if one is front
        ]
    return PressSheet(
        layout.sheet,
        tuple(replace(blank, edges=tuple(runs)) for blank, runs in zip(blanks, edges, strict=True)),
        tuple(pieces),
        {name: kind for one in asked.one_ups for name, kind in one.kinds.items()},
        is_from=asked.is_from,
        layout=layout,
        operator_side=asked.operator_side,
        operator_assumed=asked.operator_assumed,
        speaks_for=first.version,
        back_fits=tuple(fits),
        left_out=tuple(left_out),
        versions_apart=tuple(sorted(apart)),
    )


def _other_sheets(others: Sequence[str]) -> list[str]:
    """What is said of versions that are on no blank: they are run one after the other on sheets like this one."""
    if not others:
        return []
    names = with_and(sorted(others))
    return [
        f"{names} {'is' if len(others) == 1 else 'are'} laid alike on sheets of their own, which were not looked at"
    ]


def _onto_sheet(one: OneUp, placed: Placed) -> Matrix:
    """From the page of a one-up to the sheet."""
    outline = one.die.blanks[0].outline
    x0, y0 = outline.bounds[:2]
    to_corner: Matrix = (1, 0, 0, 1, -x0, -y0)
    return times(to_corner, placing(placed, through(to_corner, outline)))


def mirrored_onto(front: OneUp, back: OneUp) -> Matrix | None:
    """From the page of an inside to that of its outside, as seen through the board; None where nothing tells."""
    if back.die.blanks:
        box, own = front.die.blanks[0].outline.bounds, back.die.blanks[0].outline.bounds
        return (-1, 0, 0, 1, box[0] + own[2], box[1] - own[1])
    if all(abs(a - b) <= SAME_PAGE_MM for a, b in zip(front.page_mm, back.page_mm, strict=True)):
        return (-1, 0, 0, 1, front.page_mm[0], 0)
    return None


def hidden_faces(blank: Blank) -> list[Polygon]:
    """Panels of a blank that hidden edges run along: its glue and dust flaps."""
    middles = [edge.line.interpolate(0.5, normalized=True) for edge in blank.edges if edge.hidden]
    return [face for face in blank.panels if any(face.boundary.distance(middle) < 0.05 for middle in middles)]


def _blank(number: int, placed: Placed, own: Blank, move: Matrix, outline: Polygon) -> SheetBlank:
    return SheetBlank(
        number,
        outline,
        through(move, own.creases),
        placed.turn_deg,
        placed.version,
        tuple(replace(area, shape=through(move, area.shape)) for area in own.areas),
        panels=tuple(through(move, panel) for panel in own.panels),
        piece=number - 1,
        to_sheet=move,
    )


def clear_distances(outlines: Sequence[Polygon]) -> tuple[float, float] | None:
    """Least clear distance of blanks side by side, and of blanks one behind the other; None where one is not there."""
    beside, behind = list[float](), list[float]()
    for n, one in enumerate(outlines):
        for other in outlines[n + 1 :]:
            a, b = one.bounds, other.bounds
            across, along = (min(a[k + 2], b[k + 2]) - max(a[k], b[k]) for k in (0, 1))
            overlap = min(across, along) > 0 and shapely.intersection(one, other).area > OVERLAP_MM2
            if max(across, along) > 0 and not overlap:  # what overlaps shares no knife
                (beside if along > across else behind).append(float(one.distance(other)))
    return (round(min(beside), 2), round(min(behind), 2)) if beside and behind else None
