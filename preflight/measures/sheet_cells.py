"""Each blank of a sheet by itself: strays of its neighbours' bleed, and how its codes lie to the travel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import inverse
from preflight.carton.die import Area
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster.masks import parts
from preflight.measures.registry import Kinds, measure
from preflight.measures.sheet_places import alike_blanks, blanks_told, once, place_of, tints_of_piece

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.alike_cells import AlikeGroup
    from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

CELL_MM: Final = 0.5
"""Strays are looked for by the mean tints of squares of this size."""
RIM_MM: Final = 0.5
"""Steps and registers are that true; nearer to the cut nothing is a stray."""
CLEAR_OVER_ALL: Final = ("varnish", "primer")
"""Kinds that cover a code without anyone seeing it."""
BARS_MM: Final = 0.2
BARS_CLEAR: Final = 2.0
"""Tints change by so many times more across bars than along them."""
LEAST_CHANGE: Final = 8.0
"""Levels of 255 by which neighbouring places of a code differ in the mean, at least; less is a plain area."""


@measure(
    "neighbour-on-blank",
    unit="mm",
    tolerance=0.25,
    within="inside",
    cases=("glue flap", "code"),
    facts=("blank", "other", "area", "inks"),
)
def neighbour_on_blank(
    job: Job,
    *,
    kinds: Kinds,
    codes: tuple[str, ...],
    gutter_mm: float,
    deep_mm: float,
    excess_percent: float,
    area_mm2: float,
) -> Measured:
    """How deep ink lies on a blank beside a neighbour that blanks like it do not have there; ``area`` of it at least.

    Blanks are alike that print alike in their middle. Looked at is what lies within ``deep`` of an outer cut with
    another blank within ``gutter``; ink is in excess by a tint of ``excess``. Case ``glue flap``; case ``code`` in an
    area of ``codes``. On a sheet that is laid out by the tool each piece ends where its neighbour's begins.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None or len(sheet.blanks) < 2:
        return Measured([])
    needs.inks(job)
    if sheet.layout is not None:
        return Measured(list(_overlapped(job, sheet)))
    groups = alike_blanks(job)
    readings: list[Reading] = []
    for group in groups:
        if len(group.numbers) > 1:
            search = _Strays(sheet, group, tuple(n for n, kind in sheet.kinds.items() if kind in kinds), gutter_mm)
            for stray in search.found(deep_mm, 2.55 * excess_percent, area_mm2):
                readings.append(_stray_reading(job, sheet, stray, codes))
    alone = [
        group.numbers[0] for group in groups if len(group.numbers) == 1 and _has_neighbour(sheet, group, gutter_mm)
    ]
    gaps = []
    if alone:
        because = f"{blanks_told(alone)} print like no other blank, so strays of the neighbours are not told from it"
        gaps = [Gap(because, "the one-up and a layout on the ticket in place of the sheet")]
    return Measured(readings, gaps)


def _overlapped(job: Job, sheet: PressSheet) -> Iterator[Reading]:
    """What the clips of other pieces put on a blank; nothing, unless they are not parted."""
    outlines = [blank.outline for blank in sheet.blanks]
    clips = [sheet.pieces[blank.piece].clip for blank in sheet.blanks if blank.piece is not None]
    one, other = shapely.STRtree(outlines).query(clips, predicate="intersects")
    for piece, blank in zip(one.tolist(), other.tolist(), strict=True):
        if piece != blank:
            both = shapely.intersection(clips[piece], outlines[blank])
            if both.area > 0.01:
                on, by = sheet.blanks[blank], sheet.blanks[piece]
                depth = 2 * both.area / both.length
                facts = {"blank": on.number, "other": by.number, "area": "", "inks": ""}
                yield Reading(round(depth, 2), "mm", place_of(sheet, job, both, on), group=f"{on.number}", facts=facts)


@dataclass(frozen=True)
class _Stray:
    """Ink on a blank that is not there on others like it."""

    blank: SheetBlank
    other: int
    depth_mm: float
    shape: BaseGeometry
    inks: tuple[str, ...]


@dataclass(frozen=True)
class _Strays:
    """The search on the blanks of one group, each moved on to the first."""

    sheet: PressSheet
    group: AlikeGroup
    names: tuple[str, ...]
    gutter_mm: float

    def found(self, deep_mm: float, excess: float, area_mm2: float) -> Iterator[_Stray]:
        """Strays on every blank."""
        from preflight.setup.layout.sheet_layout import through
        from preflight.setup.press_sheet.alike_cells import seen_on
        from preflight.setup.press_sheet.coverage import coverage
        from preflight.setup.press_sheet.plates_on_sheet import names_on

        by_number = {blank.number: blank for blank in self.sheet.blanks}
        first = by_number[self.group.numbers[0]]
        own = [number for number, name in enumerate(names_on(self.sheet)) if name in self.names]
        seen = {
            number: seen_on(self.sheet, by_number[number], move, first, CELL_MM)[own]
            for number, move in self.group.to_first.items()
        }
        least = np.minimum.reduce(list(seen.values()))
        x0, _, _, y1 = first.outline.bounds
        for number, move in self.group.to_first.items():
            edges = [through(move, edge) for edge in self._beside_others(by_number[number])]
            if not edges:
                continue
            near = shapely.intersection(
                shapely.buffer(shapely.union_all(edges), deep_mm, cap_style="flat"),
                shapely.buffer(first.outline, -RIM_MM),
            )
            within = coverage(near, x0, y1, CELL_MM, least.shape[1:]) > 1 - 1e-6
            more = seen[number].astype(np.int16) - least
            stray = (more.max(0, initial=0) >= excess) & within
            yield from self._strays(by_number[number], first, move, stray, more, area_mm2)

    def _beside_others(self, blank: SheetBlank) -> list[BaseGeometry]:
        """Outer cuts of a blank with another one near."""
        others = shapely.union_all([other.outline for other in self.sheet.blanks if other is not blank])
        return [
            edge.line
            for edge in blank.edges
            if edge.edge == "outer" and shapely.distance(edge.line, others) <= self.gutter_mm
        ]

    def _strays(
        self,
        blank: SheetBlank,
        first: SheetBlank,
        move: tuple[float, ...],
        stray: NDArray[np.bool_],
        more: NDArray[np.int16],
        area_mm2: float,
    ) -> Iterator[_Stray]:
        from preflight.setup.layout.sheet_layout import through
        from preflight.setup.press_sheet.plates_on_sheet import names_on

        names = [name for name in names_on(self.sheet) if name in self.names]
        x0, _, _, y1 = first.outline.bounds
        for region, mask in parts(stray):
            rows, columns = np.nonzero(mask)
            rows, columns = rows + region.rows[0], columns + region.columns[0]
            if len(rows) * CELL_MM**2 < area_mm2:
                continue
            left, top = x0 + columns * CELL_MM, y1 - rows * CELL_MM
            cells = shapely.union_all(shapely.box(left, top - CELL_MM, left + CELL_MM, top))
            back = inverse((move[0], move[1], move[2], move[3], move[4], move[5]))
            shape = through(back, cells)
            corners = shapely.points(shapely.get_coordinates(shape))
            depth = float(shapely.distance(corners, blank.outline.exterior).max())
            levels = more[:, rows, columns].max(1)
            inks = tuple(name for name, level in zip(names, levels, strict=True) if level > 0.5 * levels.max())
            others = [other for other in self.sheet.blanks if other is not blank]
            other = min(others, key=lambda one: float(one.outline.distance(shape)))
            yield _Stray(blank, other.number, depth, shape, inks)


def _has_neighbour(sheet: PressSheet, group: AlikeGroup, gutter_mm: float) -> bool:
    (blank,) = [blank for blank in sheet.blanks if blank.number == group.numbers[0]]
    return any(other.outline.distance(blank.outline) <= gutter_mm for other in sheet.blanks if other is not blank)


def _stray_reading(job: Job, sheet: PressSheet, stray: _Stray, codes: Sequence[str]) -> Reading:
    on = [area for area in stray.blank.areas if area.shape.intersects(stray.shape)]
    case = "glue flap" if any(area.kind == "glue flap" for area in on) else ""
    case = case or ("code" if any(area.kind in codes for area in on) else "")
    facts = {
        "blank": stray.blank.number,
        "other": stray.other,
        "area": listed(dict.fromkeys(area.kind for area in on)),
        "inks": listed(stray.inks),
    }
    group = f"{stray.blank.number} {stray.other}"
    places = place_of(sheet, job, stray.shape, stray.blank)
    return Reading(round(stray.depth_mm, 1), "mm", places, needs.die_known(job), case, group, facts)


# Codes -------------------------------------------------------------------------------------------------------------


@measure("code-bars-across-travel", unit="blanks", within="inside", facts=("blanks", "of", "turned"))
def code_bars_across_travel(job: Job, *, areas: tuple[str, ...]) -> Measured:
    """How many blanks lie so that the bars of their codes run across the sheet's travel.

    Only in areas of the kinds in ``areas``, and where bars are seen: tints change much more one way than the other.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return Measured([])
    needs.inks(job)
    known = [(blank, area) for blank in sheet.blanks for area in blank.areas if area.kind in areas]
    if not known:
        because = "no code area is known on the blanks of the sheet"
        raise NotMeasured(because, "areas: [{is: code, box: […]}] on the ticket", "ticket")
    lies: dict[bool, list[tuple[SheetBlank, Area]]] = defaultdict(list)
    unseen: list[int] = []
    for blank, area in known:
        along = _bars_along(sheet, blank, area)
        if along is None:
            unseen.append(blank.number)
        else:
            lies[along].append((blank, area))
    seen = {blank.number for found in lies.values() for blank, _ in found}
    unseen = [number for number in unseen if number not in seen]  # a bare area for a code that is printed later
    across = [blank for blank, _ in lies[False]]
    places: list[Place] = []
    for blank, area in lies[False]:
        places += place_of(sheet, job, area.shape, blank)
    numbers = {blank.number for blank in across}
    facts = {
        "blanks": blanks_told(numbers),
        "of": len(sheet.blanks),
        "turned": "others lie right" if lies[True] else "as all others do",
    }
    gaps = []
    if unseen:
        because = f"no bars are seen in the code area of {blanks_told(unseen)}, or they run no one way"
        gaps = [Gap(because, "nothing, if it is a code of squares")]
    return Measured([Reading(float(len(numbers)), "blanks", once(places), known[0][1].known, facts=facts)], gaps)


def _bars_along(sheet: PressSheet, blank: SheetBlank, area: Area) -> bool | None:
    """Whether the bars of a code run along the travel; None where there are none to see."""
    if blank.piece is None:
        return None
    x0, y0, x1, y1 = area.shape.bounds
    across, up = np.arange(x0, x1, BARS_MM), np.arange(y0, y1, BARS_MM)
    if len(across) < 3 or len(up) < 3:
        return None
    x, y = np.meshgrid(across, up)
    piece = sheet.pieces[blank.piece]
    names = [name for name in piece.plates.names if sheet.kinds.get(name) not in CLEAR_OVER_ALL]
    tints = tints_of_piece(piece, names, np.column_stack([x.ravel(), y.ravel()]))
    tint = np.minimum(tints.sum(0), 255).reshape(x.shape)
    over_x, over_y = (float(np.abs(np.diff(tint, axis=axis)).mean()) for axis in (1, 0))
    if max(over_x, over_y) < LEAST_CHANGE or max(over_x, over_y) < BARS_CLEAR * min(over_x, over_y):
        return None
    return over_x > over_y
