"""Waste of a laid-out sheet: strips between blanks, edges that the die-cutter holds; bleed that is not printed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from preflight.findings import Gap, Measured, Reading, with_and
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import measure
from preflight.measures.sheet import printable_of
from preflight.measures.sheet_places import (
    Floats,
    blanks_told,
    neighbours,
    of_blanks,
    once,
    place_of,
    tints_of_piece,
    tints_on_sheet,
)

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

SHARED_MM: Final = 0.15
"""Cuts nearer than this are one knife."""
NEIGHBOURS_MM: Final = 20.0
"""Blanks further apart than this are not beside each other."""
LOOKS_MM: Final = 0.25
"""Between places at which ink is looked for beyond the printable area."""
INKED: Final = 8
"""Levels of 255 from which there is ink: 3 %."""


@measure(
    "waste-between-blanks", unit="mm", tolerance=0.01, rests_on=[], facts=("blanks", "needs", "because_of", "wide")
)
def waste_between_blanks(job: Job, *, strip_mm: float) -> list[Reading]:
    """By how much strips of waste between blanks are wider than they have to be; negative where they are too narrow.

    What they have to be is the die-cutter's ``waste_strip``, else ``strip``. Shared knives leave none.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    asked = job.press.die_cutter.waste_strip if job.press else None
    least, because = (strip_mm, "as usual") if asked is None else (asked, "by the press profile")
    found: dict[float, list[tuple[SheetBlank, SheetBlank]]] = {}
    for one, other, gap in _gaps(sheet, NEIGHBOURS_MM):
        if gap > SHARED_MM:
            found.setdefault(round(gap, 2), []).append((one, other))
    readings = []
    for gap, pairs in sorted(found.items()):
        facts = {
            "blanks": blanks_told(blank.number for pair in pairs for blank in pair),
            "needs": f"{least:g} mm",
            "because_of": because,
            "wide": f"{gap:g} mm",
        }
        line = shapely.shortest_line(pairs[0][0].outline, pairs[0][1].outline)
        places = place_of(sheet, job, line, pairs[0][0])
        readings.append(
            Reading(round(gap - least, 2), "mm", places, needs.die_known(job), group=f"{gap:g}", facts=facts)
        )
    return readings or [Reading(0.0, "mm", known=needs.die_known(job))]


def _gaps(sheet: PressSheet, within_mm: float) -> Iterator[tuple[SheetBlank, SheetBlank, float]]:
    """Pairs of blanks and the clear distance between them; pairs that lie alike are measured once."""
    known: dict[tuple[object, ...], float] = {}
    for one, other in neighbours(sheet, within_mm):
        (x, y, *_), (x_2, y_2, *_) = one.outline.bounds, other.outline.bounds
        laid = one.turn_deg is not None and other.turn_deg is not None and sheet.layout is not None
        pair = (one.turn_deg, other.turn_deg) if laid else (one.number, other.number)
        key = (*pair, one.version, other.version, round(x_2 - x, 3), round(y_2 - y, 3))
        if key not in known:
            known[key] = float(shapely.distance(one.outline, other.outline))
        yield one, other, known[key]


@measure("loose-waste", unit="pieces", rests_on=[], facts=("at", "strip"))
def loose_waste(job: Job, *, strip_mm: float) -> list[Reading]:
    """Pieces of waste between blanks that no strip of the least width holds to the rest of the sheet's skeleton.

    That width is the die-cutter's ``waste_strip``, else ``strip``, and less where blanks are nearer to each other.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    from preflight.setup.layout.layout_check import loose_pieces

    asked = job.press.die_cutter.waste_strip if job.press else None
    strip = strip_mm if asked is None else asked
    strip = min([strip, *(gap for _, _, gap in _gaps(sheet, strip) if gap > SHARED_MM)])
    cuts = [Polygon(blank.outline.exterior) for blank in sheet.blanks]
    loose = loose_pieces(sheet.size, cuts, strip)
    facts = {"strip": f"{strip:g} mm", "at": ", ".join(f"({x:.0f}, {y:.0f})" for x, y in (_middle(p) for p in loose))}
    places = once(place for piece in loose for place in place_of(sheet, job, piece))
    return [Reading(float(len(loose)), "pieces", places, needs.die_known(job), facts=facts)]


def _middle(piece: shapely.Geometry) -> tuple[float, float]:
    x, y = piece.representative_point().coords[0]
    return float(x), float(y)


@measure(
    "waste-at-edges",
    unit="mm",
    tolerance=0.01,
    rests_on=[],
    cases=("tail", "sides"),
    facts=("blanks", "wide", "needs"),
)
def waste_at_edges(job: Job) -> Measured:
    """By how much the waste at the gripper edge is wider than the die-cutter needs, negative where it is too narrow.

    Cases ``tail`` and ``sides``: the same there.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return Measured([])
    cutter = needs.press(job).die_cutter
    readings, untold = list[Reading](), list[str]()
    for case, key, asked in (("", "gripper", cutter.gripper), ("tail", "tail", cutter.tail),
                             ("sides", "sides", cutter.sides)):  # fmt: skip
        if asked is None:
            untold.append(key)
            continue
        wide, blanks = _nearest(sheet, key)
        facts = {
            "blanks": blanks_told(b.number for b in blanks),
            "wide": f"{max(0.0, wide):g} mm",
            "needs": f"{asked:g} mm",
        }
        places = once(place for blank in blanks for place in place_of(sheet, job, blank.outline, blank))
        readings.append(Reading(round(wide - asked, 2), "mm", places, needs.die_known(job), case, case, facts))
    because = f"the press profile does not say what waste the die-cutter needs at the {with_and(untold)}"
    helps = f"give die_cutter: {with_and(untold)} in the press profile"
    return Measured(readings, [Gap(because, helps, "press")] if untold else [])


@measure("gripper-strip", unit="mm", tolerance=0.01, rests_on=[], facts=("blanks",))
def gripper_strip(job: Job) -> list[Reading]:
    """Width of the strip of waste along the gripper edge that no cut enters; nought where one goes past the edge."""
    sheet = needs.laid_sheet(job)
    if sheet is None:
        return []
    wide, blanks = _nearest(sheet, "gripper")
    places = once(place for blank in blanks for place in place_of(sheet, job, blank.outline, blank))
    return [of_blanks(job, max(0.0, wide), blanks, places)]


def _nearest(sheet: PressSheet, edge: str) -> tuple[float, list[SheetBlank]]:
    """Distance from an edge of the sheet to the nearest cut, and the blanks that are so near."""
    boxes = shapely.bounds(np.array([blank.outline for blank in sheet.blanks], object))
    far = {
        "gripper": boxes[:, 1],
        "tail": sheet.size.along_mm - boxes[:, 3],
        "sides": np.minimum(boxes[:, 0], sheet.size.across_mm - boxes[:, 2]),
    }[edge]
    wide = float(far.min())
    blanks = [blank for blank, mm in zip(sheet.blanks, far.tolist(), strict=True) if mm < wide + 0.05]
    return round(wide, 2), blanks


# Printable area ------------------------------------------------------------------------------------------------------


@measure("bleed-past-printable", unit="mm", within="page", facts=("edge", "blanks", "press"))
def bleed_past_printable(job: Job) -> list[Reading]:
    """How far printed bleed of blanks that are laid out runs past what the press prints.

    One reading an edge; nought where it stays inside. What lies off the sheet counts too. The strip of the colour
    bar does print: the bar goes where no blank lies. On sheets from outside the page itself is looked at elsewhere.
    """
    sheet = needs.laid_sheet(job)
    if sheet is None or sheet.layout is None:
        return []
    press = needs.press(job)
    sides, start, end = printable_of(press, sheet.size)
    needs.inks(job)
    printed = shapely.box(sides, start, sheet.size.across_mm - sides, end)
    names = tuple(sheet.kinds)
    found: dict[str, float] = {}
    for xy, tints in [*_on_sheet(sheet, names, printed), *_off_sheet(sheet, names)] if names else []:
        for edge, mm in _past(xy[tints.max(0) >= INKED], sides, start, end, sheet.size.across_mm):
            found[edge] = max(mm, found.get(edge, 0.0))
    if not found:
        return [Reading(0.0, "mm", known=needs.die_known(job), facts={"press": press.name})]
    return [
        Reading(round(mm, 2), "mm", (), needs.die_known(job), group=edge, facts={"edge": edge, "press": press.name})
        for edge, mm in found.items()
    ]


def _on_sheet(
    sheet: PressSheet, names: Sequence[str], printed: Polygon
) -> Iterator[tuple[Floats, NDArray[np.float32]]]:
    """Places of the sheet that the front is drawn at and that do not print, and the tints there."""
    for piece in sheet.pieces:
        if piece.side == "front" and not printed.contains(piece.clip):
            xy = _places_in(shapely.difference(piece.clip, printed))
            if len(xy):
                yield xy, tints_on_sheet(sheet, names, xy)


def _off_sheet(sheet: PressSheet, names: Sequence[str]) -> Iterator[tuple[Floats, NDArray[np.float32]]]:
    """The same off the sheet, where clips end: only a layout that is stated has blanks there."""
    from preflight.inputs.layout_table import load_layout_table

    bleed_mm, paper = load_layout_table().bleed_mm, shapely.box(0, 0, sheet.size.across_mm, sheet.size.along_mm)
    for blank in sheet.blanks:
        if blank.piece is None or paper.contains(blank.outline):
            continue
        drawn = shapely.buffer(Polygon(blank.outline.exterior), bleed_mm)
        xy = _places_in(shapely.difference(drawn, paper))
        yield xy, tints_of_piece(sheet.pieces[blank.piece], names, xy)


def _places_in(shape: shapely.Geometry) -> Floats:
    x0, y0, x1, y1 = shapely.bounds(shape)
    if not x1 > x0 or not y1 > y0:
        return np.zeros((0, 2))
    x, y = (np.arange(low + LOOKS_MM / 2, high, LOOKS_MM) for low, high in ((x0, x1), (y0, y1)))
    xy = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2)
    within: Floats = xy[shapely.intersects_xy(shape, xy)]
    return within


def _past(xy: Floats, sides: float, start: float, end: float, across: float) -> Iterator[tuple[str, float]]:
    if not len(xy):
        return
    half = LOOKS_MM / 2
    for edge, mm in (
        ("left side", sides - xy[:, 0].min()),
        ("right side", xy[:, 0].max() - across + sides),
        ("gripper edge", start - xy[:, 1].min()),
        ("tail", xy[:, 1].max() - end),
    ):
        if mm > 0:
            yield edge, float(mm) + half
