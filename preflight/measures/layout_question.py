"""What the layout search is asked about a job: the blank with its bleed and edges, the sheets, what is left free.

What neither ticket nor profile says is taken from ``rules/layout.yaml`` and named among what is assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal, TypeVar

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.affinity import translate

from preflight.artwork.page.plates import Plates
from preflight.carton.die import Blank
from preflight.errors import NotMeasured
from preflight.inputs.layout_table import LayoutTable, load_layout_table
from preflight.inputs.press import ColourBar, Press
from preflight.inputs.ticket import ArtworkEntry, Ticket
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.grain import body_creases, wanted_grain
from preflight.measures.raster.profiles import Stations, stations_on, tints_along, tints_at
from preflight.quantities import Size

if TYPE_CHECKING:  # most checks lay nothing out
    from preflight.setup.layout.layout_request import BlankToLay, FreeArea, Grain, LayoutRequest

Side = Literal["left", "right", "bottom", "top"]
Shape = TypeVar("Shape", Polygon, MultiLineString)
STEP_MM: Final = 1.0
"""Between places along the cut at which bleed is looked for."""
INKED: Final = 8
"""Levels of 255 from which there is ink: 3 %."""
BEYOND_MM: Final = (0.6, 0.9)
"""Ink that lies so far beyond the cut bleeds; nearer it may be the rim of the pixel that the cut runs through."""
INSIDE_MM: Final = 0.8
"""So far inside the cut the ink of an edge is looked at."""
UNEVEN: Final = 13
"""Levels by which an ink may stray from its mean along an edge that is of one colour: 5 %."""
LEAST_OF_SIDE: Final = 0.2
"""Of a side of the box: how much of it the cut has to lie on to be an edge that a knife could be shared at."""
SAME_DIE: Final = 0.01
"""Outlines of versions that differ by no more than this share of the area are of one die."""


def asked_of_layout(jobs: Sequence[tuple[ArtworkEntry | None, Job]]) -> LayoutRequest:
    """What is asked about the layout of a job.

    Raises:
        NotMeasured: there is no press, no die with one blank, or versions have dies of their own.
    """
    from preflight.setup.layout.layout_request import LayoutRequest

    fronts = [(entry, job) for entry, job in jobs if entry is None or not entry.is_back]
    if not fronts:
        raise NotMeasured("the ticket names no artwork for the outside", "artwork: {file, side: outside}", "ticket")
    table, job = load_layout_table(), fronts[0][1]
    press, ticket = needs.press(job), job.ticket
    blanks = [_one_blank(each) for _, each in fronts]
    assumed: list[str] = []
    keys = ticket.layout if ticket else None
    sheets, sheets_are = _sheets(press, ticket)
    quantities = _quantities([entry.version for entry, _ in fronts if entry and entry.version], ticket)
    strip = press.die_cutter.waste_strip
    if strip is None:
        assumed.append(_taken("press profile", "die_cutter: waste_strip", table.waste_strip_mm))
    return LayoutRequest(
        blank=_blank([each for _, each in fronts], blanks, table),
        sheets=sheets,
        sheets_are=sheets_are,
        free=_free(press, ticket, table, assumed),
        smallest=press.sheet.smallest,
        ups=keys.ups if keys else None,
        gutter_mm=keys.gutter if keys else None,
        gutter_along_mm=keys.gutter_along if keys else None,
        bleed_mm=table.bleed_mm,
        grain=ticket.board.grain if ticket else None,  # type: ignore[arg-type]
        grain_on_blank=_grain_on_blank(blanks[0], ticket, table, assumed),
        waste_strip_mm=table.waste_strip_mm if strip is None else strip,
        quantities=quantities,
        quantity=ticket.quantity if ticket else None,
        assumed=tuple(assumed),
    )


def _one_blank(job: Job) -> Blank:
    die = needs.die(job)
    if len(die.blanks) != 1:
        because = f"the one-up shows {len(die.blanks)} blanks, and one is laid on the sheet"
        raise NotMeasured(because, "one file for each blank, or artwork_is: sheet where it shows the sheet", "ticket")
    return die.blanks[0]


def _taken(where: str, key: str, mm: float) -> str:
    return f"the {where} does not say {key}, so the layout goes by the {mm:g} mm of the house rules"


def _quantities(versions: list[str], ticket: Ticket | None) -> dict[str, int]:
    """Cartons of each version; those without a number share what is left, evenly."""
    if len(set(versions)) < 2 or ticket is None:
        return {}
    said = {name: ticket.quantities.get(name) for name in versions}
    open_ = [name for name, count in said.items() if count is None]
    left = max(0, (ticket.quantity or 0) - sum(count for count in said.values() if count is not None))
    return {name: left // len(open_) if count is None else count for name, count in said.items()}


# The sheet -----------------------------------------------------------------------------------------------------------


def _sheets(press: Press, ticket: Ticket | None) -> tuple[tuple[Size, ...], Literal["ticket", "stock", "largest"]]:
    """Sheets to choose from; of the stock those that press and die-cutter take."""
    if ticket is not None and ticket.sheet is not None:
        return (ticket.sheet,), "ticket"
    largest, cutter, smallest = press.sheet.largest, press.die_cutter.largest, press.sheet.smallest
    if cutter is not None:
        largest = Size(min(largest.across_mm, cutter.across_mm), min(largest.along_mm, cutter.along_mm))
    fitting = tuple(
        size
        for size in press.stock
        if size.across_mm <= largest.across_mm
        and size.along_mm <= largest.along_mm
        and (smallest is None or (size.across_mm >= smallest.across_mm and size.along_mm >= smallest.along_mm))
    )
    return (fitting, "stock") if fitting else ((largest,), "largest")


def _free(press: Press, ticket: Ticket | None, table: LayoutTable, assumed: list[str]) -> FreeArea:
    """What is left free, with the table's figures where the profile has none."""
    from preflight.setup.press_sheet.stated_layout import free_area

    edges = {name: getattr(press.edges, name) for name in ("gripper", "tail", "sides")}
    cutter = {name: getattr(press.die_cutter, name) for name in ("gripper", "tail", "sides")}
    for key, told, defaults in (("edges", edges, table.edges), ("die_cutter", cutter, table.die_cutter)):
        for name, mm in told.items():
            if mm is None:
                told[name] = getattr(defaults, f"{name}_mm")
                assumed.append(_taken("press profile", f"{key}: {name}", told[name]))
    bar = ticket.layout.bar if ticket else None
    strip = press.colour_bar
    if strip is None and bar in ("tail", "gripper"):
        strip = ColourBar.model_validate({"edge": bar, "depth": table.bar_mm})
        assumed.append(_taken("press profile", "colour_bar: depth", table.bar_mm))
    told_of = {
        "edges": press.edges.model_copy(update=edges),
        "die_cutter": press.die_cutter.model_copy(update=cutter),
        "colour_bar": strip,
    }
    free = free_area(press.model_copy(update=told_of), bar)
    return replace(free, printable=press.sheet.printable, printable_from_mm=edges["gripper"])


def _grain_on_blank(blank: Blank, ticket: Ticket | None, table: LayoutTable, assumed: list[str]) -> Grain:
    asked = ticket.board.grain_on_blank if ticket else None
    if asked is not None:
        return asked  # type: ignore[return-value]
    creases = body_creases(blank)
    if creases is None:
        assumed.append(
            "the ticket does not say how the grain runs on the blank, and no row of panels shows it: any way"
        )
        return "any"
    grain = wanted_grain(table.grain, creases)
    assumed.append(
        f"the ticket does not say how the grain runs on the blank: {grain} it, which is {table.grain} its body creases"
    )
    return grain


# The blank -----------------------------------------------------------------------------------------------------------


def _blank(jobs: list[Job], blanks: list[Blank], table: LayoutTable) -> BlankToLay:
    from preflight.setup.layout.layout_request import BlankToLay

    first = blanks[0]
    cut = _at_corner(first.outline, first)
    bleeds, inks = [cut], []
    for job, blank in zip(jobs, blanks, strict=True):
        if shapely.area(_at_corner(blank.outline, blank).symmetric_difference(cut)) > SAME_DIE * cut.area:
            because = "the versions have dies of their own, and one die is laid on a sheet"
            raise NotMeasured(because, "a layout for each die, on tickets of their own", "ticket")
        edges = _Edges(job.plates, blank.outline)
        bleeds.append(_at_corner(edges.bleed(table.bleed_mm), blank))
        inks.append(edges.inks())
    bleed = shapely.union_all(bleeds)
    return BlankToLay(
        cut,
        bleed if isinstance(bleed, Polygon) else cut.buffer(table.bleed_mm, join_style="mitre"),
        _at_corner(first.creases, first),
        tuple((area.kind, _at_corner(area.shape, first)) for area in first.areas),
        _of_all(inks, table.alike),
        tuple(_at_corner(panel, first) for panel in first.panels),
    )


def _at_corner(shape: Shape, blank: Blank) -> Shape:
    """A shape of a blank, the lower-left corner of the box of its cut at (0, 0)."""
    x0, y0, _, _ = blank.outline.bounds
    return translate(shape, -x0, -y0)


def _of_all(inks: list[dict[Side, dict[str, float]]], alike_percent: float) -> Mapping[Side, Mapping[str, float]]:
    """The inks of the edges of all versions; a side that differs among them is not known."""

    def same(one: dict[str, float], other: dict[str, float]) -> bool:
        return all(
            100 * abs(one.get(name, 0.0) - other.get(name, 0.0)) <= alike_percent for name in one.keys() | other.keys()
        )

    first, *others = inks
    return {
        side: tints
        for side, tints in first.items()
        if all(side in other and same(tints, other[side]) for other in others)
    }


@dataclass(frozen=True)
class _Edges:
    """What is printed along the outer cut of a blank."""

    plates: Plates
    outline: Polygon

    def bleed(self, bleed_mm: float) -> Polygon:
        """The cut, and the bleed that is asked for wherever ink reaches beyond the cut."""
        whole = Polygon(self.outline.exterior)
        at = self._stations()
        if not self.plates.names or not len(at):
            return whole
        tints = tints_along(self.plates, self.plates.names, at, np.array(BEYOND_MM))
        printed = (tints.max(0).min(1) >= INKED).tolist()
        half = at.spacing_mm / 2
        along = np.column_stack([-at.outward[:, 1], at.outward[:, 0]]) * half
        pieces = [LineString([xy - by, xy + by]) for xy, by, inked in zip(at.xy, along, printed, strict=True) if inked]
        around = shapely.buffer(shapely.MultiLineString(pieces), bleed_mm, cap_style="square", join_style="mitre")
        within = shapely.intersection(around, whole.buffer(bleed_mm, join_style="mitre"))
        bleed = shapely.union_all([whole, within])
        return bleed if isinstance(bleed, Polygon) else whole.buffer(bleed_mm, join_style="mitre")

    def _stations(self) -> Stations:
        return stations_on(LineString(shapely.geometry.polygon.orient(self.outline).exterior.coords), STEP_MM)

    def inks(self) -> dict[Side, dict[str, float]]:
        """By side of the box: mean tints just inside the cut, of sides that have one colour all along."""
        return {side: tints for side in ("left", "right", "bottom", "top") if (tints := self._side(side)) is not None}

    def _side(self, side: Side) -> dict[str, float] | None:
        places = np.array(list(self._along(side)))
        if not len(places):
            return None
        if not self.plates.names:
            return {}
        tints = tints_at(self.plates, self.plates.names, *places.T)
        if float((tints.max(1) - tints.min(1)).max()) > 2 * UNEVEN:
            return None
        means = zip(self.plates.names, tints.mean(1).tolist(), strict=True)
        return {name: mean / 255 for name, mean in means if mean >= 1}

    def _along(self, side: Side) -> Iterator[tuple[float, float]]:
        """Places just inside the cut where that lies on a side of the box; none where too little of it does."""
        x0, y0, x1, y1 = self.outline.bounds
        ends = {
            "left": ((x0, y0), (x0, y1), (INSIDE_MM, 0)),
            "right": ((x1, y0), (x1, y1), (-INSIDE_MM, 0)),
            "bottom": ((x0, y0), (x1, y0), (0, INSIDE_MM)),
            "top": ((x0, y1), (x1, y1), (0, -INSIDE_MM)),
        }[side]
        line = LineString(ends[:2])
        count = max(2, round(line.length / STEP_MM))
        places = (
            shapely.get_coordinates(line.interpolate((k + 0.5) / count, normalized=True))[0] for k in range(count)
        )
        inside = [(float(px + ends[2][0]), float(py + ends[2][1])) for px, py in places]
        on = shapely.contains_xy(self.outline, np.array(inside))
        if on.mean() >= LEAST_OF_SIDE:
            yield from (place for place, hit in zip(inside, on.tolist(), strict=True) if hit)
