"""What is left between blanks of a sheet: bleed cut off in the middle of a gutter, one knife for two colours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.findings import Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster.profiles import runs, stations_on
from preflight.measures.registry import Kinds, measure
from preflight.measures.sheet_places import MOST_TOLD, Floats, once, place_of, tints_of_piece

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

STEP_MM: Final = 1.0
INSIDE_MM: Final = 0.4
"""So far from the cut each blank's ink is looked at: a pixel of the plates and a half."""
COMMON_MM: Final = 0.15
"""Cuts nearer than this are one knife."""
TO_THE_SIDE: Final = 0.7
"""Cosine: what lies further round is no neighbour of that edge."""


@dataclass(frozen=True)
class _Facing:
    """Places along cut edges and what faces each there, in the sheet's frame."""

    xy: Floats  # (n, 2) on the cut
    gap_mm: Floats
    own: Floats  # (n, 2) just inside the blank
    its: Floats  # (n, 2) just inside the other one
    blank: NDArray[np.int_]
    other: NDArray[np.int_]
    edge: NDArray[np.int_]
    hidden: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, bool))
    """On a flap that nobody sees on the finished carton."""


@measure(
    "bleed-in-gutter",
    unit="mm",
    tolerance=0.01,
    within="cut",
    cases=("common knife", "hidden flap"),
    facts=("gutter", "blanks", "inks"),
)
def bleed_in_gutter(
    job: Job,
    *,
    kinds: Kinds,
    gutter_mm: float,
    ink_from_percent: float,
    alike_percent: float,
    shortest_mm: float,
    narrow_mm: float,
) -> list[Reading]:
    """Half of each gutter up to ``gutter`` in which blanks of unlike colours face each other along ``shortest``.

    So far the bleed of each goes, whatever its artwork has. Colours are alike where no ink of ``kinds`` differs by more
    than ``alike``; of a bare edge and an inked one the inked one is told. Case ``common knife``: there is no gutter;
    ``hidden flap``: the bleed that is cut off is that of a glue or dust flap.
    On a sheet from outside gutters under ``narrow`` are left to ``ink-past-cut``, which sees its artwork.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    needs.inks(job)
    names = [name for name, kind in sheet.kinds.items() if kind in kinds]
    facing = _facing(sheet, gutter_mm)
    if not len(facing.xy) or not names:
        return []
    own, its = _tints(sheet, names, facing)
    from_tint, alike = 2.55 * ink_from_percent, 2.55 * alike_percent
    unlike = np.abs(own - its).max(0) > alike
    if sheet.layout is None:
        unlike &= facing.gap_mm >= narrow_mm
    inked = own.max(0) >= from_tint
    told: dict[tuple[str, float], list[_Stretch]] = defaultdict(list)
    for case, where in _cases(facing, unlike, inked).items():
        for stretch in _stretches(sheet, facing, where, max(1, round(shortest_mm / STEP_MM))):
            told[case, round(stretch.gap_mm, 1)].append(stretch)
    return [_reading(job, sheet, case, found, names, (own, its)) for (case, _), found in sorted(told.items())]


def _cases(facing: _Facing, unlike: NDArray[np.bool_], inked: NDArray[np.bool_]) -> dict[str, NDArray[np.bool_]]:
    """Which places are of which case; a knife that two blanks share is told once, of the lower number."""
    common = facing.gap_mm <= COMMON_MM
    return {
        "common knife": unlike & common & (facing.blank < facing.other),
        "": unlike & ~common & inked & ~facing.hidden,
        "hidden flap": unlike & ~common & inked & facing.hidden,
    }


@dataclass(frozen=True)
class _Stretch:
    """A run of places of one blank that face one other."""

    blank: SheetBlank
    other: SheetBlank
    gap_mm: float
    members: NDArray[np.int_]
    place: shapely.Geometry


def _facing(sheet: PressSheet, gutter_mm: float) -> _Facing:
    """Places on outer edges that face another blank across a gutter, nothing of their own blank between."""
    at, out, blank, edge, count = list[Floats](), list[Floats](), list[int](), list[int](), 0
    hidden = list[bool]()
    for number, one in enumerate(sheet.blanks):
        for run in one.edges:
            if run.edge == "outer" and run.neighbour_mm is not None and run.neighbour_mm <= gutter_mm:
                stations = stations_on(run.line, STEP_MM)
                at.append(stations.xy)
                out.append(stations.outward)
                blank += [number] * len(stations)
                edge += [count] * len(stations)
                hidden.append(run.hidden)
                count += 1
    if not at:
        nothing, none = np.zeros((0, 2)), np.zeros(0, int)
        return _Facing(nothing, np.zeros(0), nothing, nothing, none, none, none)
    found = _nearest(sheet, gutter_mm, np.vstack(at), np.vstack(out), np.array(blank), np.array(edge))
    return replace(found, hidden=np.array(hidden)[found.edge])


def _nearest(
    sheet: PressSheet, gutter_mm: float, xy: Floats, outward: Floats, blank: NDArray[np.int_], edge: NDArray[np.int_]
) -> _Facing:
    """Of all places those that face another blank, with the nearest place of it."""
    outlines = np.array([one.outline for one in sheet.blanks], object)
    points = shapely.points(xy)
    place, other = shapely.STRtree(outlines).query(points, predicate="dwithin", distance=gutter_mm)
    not_own = other != blank[place]
    place, other = place[not_own], other[not_own]
    ways = shapely.shortest_line(points[place], outlines[other])
    gap = shapely.length(ways)
    ends = shapely.get_coordinates(ways).reshape(-1, 2, 2)[:, 1]
    aside = ((ends - xy[place]) * outward[place]).sum(1) < TO_THE_SIDE * gap
    out = shapely.linestrings(np.stack([xy[place] + 0.2 * outward[place], ends], 1))
    barred = (gap > 0.5) & shapely.intersects(out, outlines[blank[place]])
    fits = ~(aside & (gap > COMMON_MM)) & ~barred
    place, other, gap, ends = place[fits], other[fits], gap[fits], ends[fits]
    order = np.lexsort((gap, place))
    _, first = np.unique(place[order], return_index=True)
    kept = order[first]
    place, other, gap, ends = place[kept], other[kept], gap[kept], ends[kept]
    into = outward[place] * INSIDE_MM
    return _Facing(xy[place], gap, xy[place] - into, ends + into, blank[place], other, edge[place])


def _tints(sheet: PressSheet, names: Sequence[str], facing: _Facing) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Tints just inside each blank and just inside the one that it faces: twice (names, places)."""
    found = []
    for xy, owner in ((facing.own, facing.blank), (facing.its, facing.other)):
        tints = np.zeros((len(names), len(xy)), np.float32)
        for number in np.unique(owner).tolist():
            piece = sheet.blanks[number].piece
            if piece is not None:
                mine = np.flatnonzero(owner == number)
                tints[:, mine] = tints_of_piece(sheet.pieces[piece], names, xy[mine])
        found.append(tints)
    return found[0], found[1]


def _stretches(sheet: PressSheet, facing: _Facing, where: NDArray[np.bool_], shortest: int) -> Iterator[_Stretch]:
    """Runs of at least so many places along one edge that face one blank."""
    same = (np.diff(facing.edge) == 0) & (np.diff(facing.other) == 0)
    for start, stop in runs(where):
        breaks = start + 1 + np.flatnonzero(~same[start : stop - 1])
        for members in np.split(np.arange(start, stop), breaks - start):
            if len(members) >= shortest:
                blank, other = sheet.blanks[facing.blank[members[0]]], sheet.blanks[facing.other[members[0]]]
                line = shapely.LineString(np.vstack([facing.xy[members], facing.own[members][::-1]]))
                yield _Stretch(blank, other, float(facing.gap_mm[members].min()), members, line)


def _reading(
    job: Job,
    sheet: PressSheet,
    case: str,
    stretches: Sequence[_Stretch],
    names: Sequence[str],
    tints: tuple[NDArray[np.float32], NDArray[np.float32]],
) -> Reading:
    gap = min(stretch.gap_mm for stretch in stretches)
    pairs = {tuple(sorted((stretch.blank.number, stretch.other.number))) for stretch in stretches}
    members = np.concatenate([stretch.members for stretch in stretches])
    own, its = (of_all[:, members] for of_all in tints)
    away = np.abs(own - its).max(1)
    inks = [name for name, levels in zip(names, away, strict=True) if levels > 0.5 * away.max()]
    places: list[Place] = []
    for stretch in stretches:
        places += place_of(sheet, job, stretch.place, stretch.blank)
    facts = {
        "gutter": f"{gap:.1f} mm",
        "blanks": listed([f"{one} and {other}" for one, other in sorted(pairs)], MOST_TOLD),
        "inks": listed(inks, MOST_TOLD),
    }
    value = 0.0 if case == "common knife" else round(gap / 2, 2)
    return Reading(value, "mm", once(places), needs.die_known(job), case, f"{gap:.1f}", facts)
