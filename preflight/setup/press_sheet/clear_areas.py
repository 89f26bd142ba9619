"""What stays bare of the coat on a sheet: glue flaps, codes and windows of every blank in one plan of the plate.

All shapes are in the sheet's frame, mm. The coat stays back from an area by the choke; areas that touch then are one
bare place of the plate. Nothing is judged in here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.findings import Known, listed
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

WINDOW: Final = "window"
SAY_SO: Final = ("varnish free", "ink and varnish free")
"""Kinds that are bare whatever the coating says."""
LARGELY: Final = 0.5
"""A panel that an area covers by this share is what the area means (as rules on the artwork have it)."""
AT_THE_CREASE_MM: Final = 0.5
MITRE: Final = 2.0
BLEED_MM: Final = 3.0
"""How far past the cut a face is coated where the gutters are bare."""
LEAST_MM2: Final = 0.01
"""Smaller parts are left over by rounding."""


@dataclass(frozen=True)
class CoatAsked:
    """What the ticket and the press profile say of the coat. None: nobody says."""

    clear: tuple[str, ...] | None
    """Kinds of area that are left bare."""
    separation: str | None = None
    """The separation that shows where the coat lies; None where it is laid overall."""
    choke_mm: float | None = None
    """How far the coat stays back from what is bare."""
    seam_mm: float | None = None
    """How far it stays back from the crease of a glue flap, where that is more."""
    bare_gutters: bool = False
    """No coat in the waste between the blanks."""


@dataclass(frozen=True)
class ClearArea:
    """A place of one blank that stays bare, as the die has it."""

    blank: int
    kind: str
    """``glue flap``, ``code``, ``window`` …"""
    shape: Polygon
    known: Known
    on_plate: BaseGeometry
    """With the choke round it; the shape itself where nobody says how much."""
    seam: BaseGeometry | None = None
    """The crease that a glue flap hangs on, as far as it is known."""


@dataclass(frozen=True)
class CoatingPlan:
    """The coating plate of a sheet."""

    asked: CoatAsked
    areas: tuple[ClearArea, ...]
    drawn: BaseGeometry
    """Where the coat would lie with nothing left bare: what the separation shows, or all that can be coated."""
    coat: BaseGeometry
    """What the plate lays."""
    bare: tuple[Polygon, ...]
    """Bare places of the plate; areas that touch are one."""
    lacks: tuple[str, ...] = ()
    """What of the ticket's clear areas is not known, in words."""

    def kinds_in(self, bare: Polygon) -> tuple[tuple[str, ...], tuple[int, ...]]:
        """What a bare place of the plate is for: kinds of area, and numbers of blanks."""
        own = [area for area in self.areas if shapely.intersects(bare, shapely.point_on_surface(area.shape))]
        return tuple(dict.fromkeys(area.kind for area in own)), tuple(dict.fromkeys(area.blank for area in own))


def coating_plan(sheet: PressSheet, asked: CoatAsked, may_be_coated: BaseGeometry) -> CoatingPlan:
    """The plan of a sheet.

    Args:
        sheet: with the areas of every blank.
        asked: what is coated and what stays bare.
        may_be_coated: how far the press can lay a coat, in the sheet's frame.
    """
    areas = tuple(area for blank in sheet.blanks for area in _areas_of(blank, asked))
    reach = may_be_coated
    if asked.bare_gutters:
        reach = shapely.intersection(reach, shapely.union_all([_with_bleed(sheet, blank) for blank in sheet.blanks]))
    drawn: BaseGeometry = reach
    if asked.separation is not None:
        from preflight.setup.press_sheet.plate_outlines import shape_on_sheet  # only for a coat that artwork shows

        drawn = shapely.intersection(reach, shape_on_sheet(sheet, asked.separation))
    bare = shapely.union_all([area.on_plate for area in areas])
    coat = shapely.difference(drawn, bare)
    if asked.bare_gutters:
        coat = _beside_faces(sheet, coat)
    return CoatingPlan(asked, areas, drawn, coat, tuple(_polygons(bare)), tuple(_lacks(sheet, areas, asked)))


def is_glued(kind: str) -> bool:
    """Whether a kind of area is meant for glue."""
    return "glue" in kind.casefold()


def _with_bleed(sheet: PressSheet, blank: SheetBlank) -> BaseGeometry:
    of_its_own = blank.piece is not None and blank.turn_deg is not None
    return sheet.pieces[blank.piece].clip if of_its_own and blank.piece is not None else blank.outline


def _beside_faces(sheet: PressSheet, coat: BaseGeometry) -> BaseGeometry:
    """The coat without what of it goes with no coat inside a cut: strips between two glue flaps."""
    inside = shapely.intersection(coat, shapely.union_all([blank.outline for blank in sheet.blanks]))
    bled = shapely.buffer(inside, BLEED_MM, join_style="mitre", mitre_limit=MITRE)
    return shapely.intersection(coat, bled)


def _areas_of(blank: SheetBlank, asked: CoatAsked) -> Iterator[ClearArea]:
    """What of a blank stays bare; cut-outs are its windows where nothing else is called one."""
    wanted = {*SAY_SO, *(kind.casefold() for kind in asked.clear or ())}
    stated = [(area.kind, area.shape, area.known) for area in blank.areas if area.kind.casefold() in wanted]
    if WINDOW in wanted and not any(kind.casefold() == WINDOW for kind, _, _ in stated):
        stated += [(WINDOW, Polygon(hole), "assumed") for hole in blank.outline.interiors]
    for kind, shape, known in stated:
        for part in _polygons(_flap(blank, shape) if is_glued(kind) else shape):
            seam = _seam(blank, part) if is_glued(kind) else None
            yield ClearArea(blank.number, kind, part, known, _choked(part, seam, asked), seam)


def _flap(blank: SheetBlank, shape: Polygon) -> BaseGeometry:
    """A box that is drawn round a flap and reaches over its crease means the flap."""
    panels = [panel for panel in blank.panels if shapely.intersection(panel, shape).area >= LARGELY * panel.area]
    return shapely.intersection(shapely.union_all(panels), shape) if panels else shape


def _seam(blank: SheetBlank, shape: Polygon) -> BaseGeometry | None:
    """The straight creases along an area, which it ends at; others only run into it."""
    near = shapely.buffer(shape, AT_THE_CREASE_MM)
    parts = [shapely.intersection(run, near) for line in shapely.get_parts(blank.creases) for run in _straight(line)]
    along = [part for part in parts if part.length > 4 * AT_THE_CREASE_MM]
    return shapely.line_merge(shapely.union_all(along)) if along else None


def _straight(line: BaseGeometry) -> list[BaseGeometry]:
    points = shapely.get_coordinates(line)
    return [shapely.linestrings(ends) for ends in zip(points[:-1], points[1:], strict=True)]


def _choked(shape: Polygon, seam: BaseGeometry | None, asked: CoatAsked) -> BaseGeometry:
    wide = shapely.buffer(shape, asked.choke_mm or 0.0, join_style="mitre", mitre_limit=MITRE)
    if seam is None or asked.seam_mm is None:
        return wide
    return shapely.union(wide, shapely.buffer(seam, asked.seam_mm, cap_style="flat"))


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > LEAST_MM2]


def _lacks(sheet: PressSheet, areas: Sequence[ClearArea], asked: CoatAsked) -> Iterator[str]:
    """Which of the ticket's words no area on some blanks answers to."""
    if asked.clear is None:
        yield "the ticket does not say what the coating leaves bare (coating: clear)"
    for word in asked.clear or ():
        there = {area.blank for area in areas if area.kind.casefold() == word.casefold()}
        without = [blank.number for blank in sheet.blanks if blank.number not in there]
        if without:
            yield f"no {word} is known on {_blanks(without, len(sheet.blanks))}"


def _blanks(numbers: Iterable[int], count: int) -> str:
    told = [str(number) for number in numbers]
    if len(told) == count:
        return "any blank" if count > 1 else "the blank"
    return f"blank{'s' if len(told) > 1 else ''} {listed(told, 6)}"
