"""The die as it is drawn: whether there is one, and whether its lines would be printed."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.carton.die import OpenCut
from preflight.errors import NotMeasured
from preflight.findings import Count, Gap, Measured, Place, Reading
from preflight.job import Job
from preflight.kinds import DIE_KINDS
from preflight.measures import needs, object_places
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.registry import measure
from preflight.setup.unit_plan import same_name

MOST_LINES: Final = 5000
MOST_ENDS: Final = 6
"""Open ends of a cut that are named."""
TWO_ENDS: Final = 2


@measure(
    "blanks-found",
    unit="blanks",
    rests_on=["objects"],
    within="page",
    cases=("likely",),
    facts=("because", "ink", "paste"),
)
def blanks_found(job: Job) -> list[Reading]:
    """Blanks that the die shows.

    Case ``likely``: none is recognised, and one separation is likely to hold the cut. The fact ``paste`` is the line
    of a ticket that names it.
    """
    needs.whole(job, "objects")
    facts, case = {"because": job.die.because}, ""
    if job.die.likely_cut and not job.die.blanks:
        facts, case = facts | {"ink": job.die.likely_cut, "paste": job.die.line_to_paste}, "likely"
    return [Reading(float(len(job.die.blanks)), "blanks", case=case, facts=facts)]


@measure("cut-left-open", unit="mm", rests_on=["objects"], within="page", facts=("blank", "ends", "lost"))
def cut_left_open(job: Job) -> list[Reading]:
    """Width of each opening of a cut that is not closed, so that the blank ends in a fold: mm between its open ends.

    Where nobody can tell what two ends belong together it is the length of the fold.
    """
    needs.objects(job)
    return [_opening(job, cut) for cut in job.die.open_cuts or needs.die(job).open_cuts]


def _opening(job: Job, cut: OpenCut) -> Reading:
    ends = np.array(cut.ends, float).reshape(-1, 2)
    told = [f"({x:.0f}, {y:.0f})" for x, y in ends[:MOST_ENDS]]
    fold = np.array(cut.fold.bounds).reshape(2, 2)
    if len(ends) == TWO_ENDS:
        width, where, boxes = float(np.hypot(*(ends[1] - ends[0]))), " to ".join(told), [_box_round(ends)]
    else:
        width, where = float(cut.fold.length), f"{'; '.join(told)}" if told else "beyond a fold"
        boxes = [_box_round(end[None]) for end in ends[:MOST_ENDS]] or [_box_round(fold)]
    lost = "what lay beyond the fold"
    if cut.beyond is not None:
        x0, y0, x1, y1 = cut.beyond
        lost = f"what is drawn beyond the fold, {x1 - x0:.0f} x {y1 - y0:.0f} mm,"
    places = tuple(Place(box, job.page.number, None, f"blank {cut.blank}") for box in boxes)
    facts = {"blank": cut.blank, "ends": where, "lost": lost}
    return Reading(round(width, 1), "mm", places, group=f"{cut.blank} {where}", facts=facts)


def _box_round(points: NDArray[np.float64]) -> Box:
    """Bounding box of points (k, 2) with half a millimetre round it."""
    low, high = points.min(0) - 0.5, points.max(0) + 0.5
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@measure(
    "die-that-prints",
    unit="%",
    cases=("in an ink", "in a likely die", "on a unit", "perhaps"),
    facts=("role", "inks", "length", "ink", "kind", "unit", "panels", "paste"),
)
def die_that_prints(job: Job, *, within_mm: float, thinner_than_mm: float) -> Measured:
    """Share of the die's lines that would be printed.

    Case ``in an ink``: thin strokes in printing inks that follow the cut or crease lines ``within`` a distance. Case
    ``on a unit``: a die separation that the ticket's unit list gives a unit, so that all of it prints.
    Case ``in a likely die``: the same, where nothing is called the cut and these strokes are all that their ink holds.
    Case ``perhaps``: no die was found, and thin lines in printing inks may be it.
    """
    told = [*_on_a_unit(job), *_perhaps(job)]
    try:
        drawn = _in_an_ink(job, within_mm, thinner_than_mm, creases=not told)
    except NotMeasured as reason:
        return Measured(told, [Gap.of(reason)])
    return Measured([*told, *drawn.readings], drawn.gaps)


def _in_an_ink(job: Job, within_mm: float, thinner_than_mm: float, *, creases: bool) -> Measured:
    """Strokes in printing inks that follow the cut; and the creases, where nothing is found before them."""
    objects = needs.objects(job)
    if job.die.cut_lines is None or job.die.cut_lines.is_empty:
        return Measured([])
    stroked = (objects.painted == Painted.STROKE) & (objects.line_width_mm <= thinner_than_mm)
    printing = frozenset(s.name for s in job.page.separations if s.on_plate)
    wanted = object_places.of_colours(objects, lambda family: family.registration or family.most(printing) > 0)
    rows = object_places.painting(objects, stroked & wanted)
    readings, gaps = list[Reading](), list[Gap]()
    for role, lines in (("cut", job.die.cut_lines), ("crease", job.die.crease_lines)):
        if lines is None or lines.is_empty or (role == "crease" and (readings or not creases)):
            continue
        near = _strokes_near(objects, rows, lines, within_mm)
        if len(near) > MOST_LINES:
            because = f"more than {MOST_LINES:,} lines are drawn near the {role} lines, and not all were checked"
            gaps.append(Gap(because, "a simpler file"))
        drawn, inks = _drawn_over(objects, near[:MOST_LINES], lines, within_mm)
        share = 100 * drawn / lines.length if lines.length else 0.0
        if inks:
            readings.append(
                Reading(
                    round(share, 1),
                    "%",
                    places=(Place(tuple(map(float, lines.bounds)), job.page.number, inks[0]),),  # type: ignore[arg-type]
                    case="in a likely die" if inks == [job.die.likely_cut] else "in an ink",
                    facts={
                        "role": role,
                        "inks": ", ".join(inks),
                        "length": f"{drawn:.0f} mm",
                        "paste": job.die.line_to_paste,
                    },
                )
            )
    return Measured(readings, gaps)


def _perhaps(job: Job) -> list[Reading]:
    suspected = job.die.suspected
    off_plate = {s.name for s in job.page.separations if not s.on_plate}
    if suspected is None or off_plate.issuperset(suspected.inks):
        return []
    place = Place(suspected.box_mm, job.page.number)
    facts = {"inks": ", ".join(suspected.inks), "panels": Count(suspected.panels)}
    return [Reading(100.0, "%", (place,), "assumed", "perhaps", facts=facts)]


def _strokes_near(
    objects: ObjectTable, rows: object_places.Rows, lines: BaseGeometry, within_mm: float
) -> object_places.Rows:
    """Those of the rows whose boxes come near to lines."""
    boxes = objects.shown_mm[rows].astype(float)
    likely = np.flatnonzero(Pieces.of([lines]).near(boxes, within_mm + 0.01))
    band = shapely.buffer(lines, within_mm, cap_style="flat")
    shapely.prepare(band)
    near: object_places.Rows = rows[likely[shapely.intersects(band, shapely.box(*boxes[likely].T))]]
    return near


def _drawn_over(
    objects: ObjectTable, near: object_places.Rows, lines: BaseGeometry, within_mm: float
) -> tuple[float, list[str]]:
    """Length of lines that strokes follow, in mm, and the separations that these strokes are in."""
    band = shapely.buffer(lines, within_mm, cap_style="flat")
    parts = shapely.get_parts(band)  # one a blank, and a stroke is near one of them
    tree = shapely.STRtree(parts)
    following, names = [], dict[str, float]()
    for row, subpaths in zip(near, objects.paths(near), strict=True):
        strokes = shapely.multilinestrings([shapely.linestrings(p) for p in subpaths if len(p) > 1])
        least = max(2.0, 0.3 * strokes.length)  # what follows less crosses the die line, or only touches it
        if strokes.length < least:
            continue
        own = [shapely.intersection(strokes, parts[number]) for number in np.sort(tree.query(strokes)).tolist()]
        length = sum(float(part.length) for part in own)
        if length < least:
            continue
        following += own
        colour = objects.colours[objects.colour[row]]
        for name in ["All"] if colour.registration else [n for n, t in colour.tints if t > 0]:
            names[name] = names.get(name, 0.0) + length
    if not following:
        return 0.0, []
    covered = shapely.buffer(shapely.union_all(following), within_mm)
    return float(shapely.intersection(lines, covered).length), sorted(names, key=lambda name: -names[name])


def _on_a_unit(job: Job) -> list[Reading]:
    if job.ticket is None or job.ticket.units is None:
        return []
    die = [s for s in job.page.separations if s.kind in DIE_KINDS]
    return [
        Reading(
            100.0,
            "%",
            places=_places(job, separation.name),
            known=separation.known,
            case="on a unit",
            group=separation.name,
            facts={"ink": separation.name, "kind": separation.kind, "unit": entry.number},
            units=(entry.number,),
        )
        for entry in job.ticket.units
        for separation in die
        if entry.name is not None and not entry.overall and same_name(separation.name, entry.name)
    ]


def _places(job: Job, name: str) -> tuple[Place, ...]:
    objects = job.page.objects
    rows = object_places.painting(objects, objects.in_separation(name))
    return object_places.places_of(objects, rows, job.page.number, name)
