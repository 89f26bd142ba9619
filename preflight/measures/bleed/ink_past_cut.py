"""How far ink carries on past the cut line, measured along the outward normals of every cut edge that ink touches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.carton.die import CutEdge
from preflight.errors import NotMeasured
from preflight.findings import Measured, Place, Reading
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.bleed.bleed_search import BleedSearch, DieLeftOut
from preflight.measures.bleed.bleed_settings import SPACING_MM, BleedSettings
from preflight.measures.bleed.ends_at_cut import SAME_REACH_MM
from preflight.measures.bleed.flap_roots import ends_beside, is_shoulder
from preflight.measures.bleed.repeating_patterns import Pattern
from preflight.measures.raster.profiles import Floats, Stations, pieces_alike, runs, stations_on
from preflight.measures.registry import Kinds, measure
from preflight.quantities import shown

TOLERANCE_MM: Final = 0.06
ACROSS_MM: Final = 12.0
"""How far out the other side of a slot or gutter is looked for."""
NO_BLEED_MM: Final = 0.05
"""Less than this is shown as 0.0 mm, which is no bleed."""
NO_WAY_MM: Final = 0.15
"""Cuts nearer than this are one knife, or a slit that has no area."""


@dataclass(frozen=True)
class _Edge:
    """A cut edge with its stations."""

    blank: int
    cut: CutEdge
    at: Stations


@dataclass(frozen=True)
class _Across:
    """What lies across the way from each station of an edge."""

    gap_mm: Floats
    """Clear way to the next cut; inf where there is none in sight, 0 for a common knife."""
    own: NDArray[np.bool_]
    """The same blank lies there: a slot or slit."""

    def part(self, start: int, stop: int) -> _Across:
        """A run of the stations."""
        return _Across(self.gap_mm[start:stop], self.own[start:stop])


@dataclass(frozen=True)
class _Stretch:
    """A run of stations where one separation carries on equally far."""

    start: int
    stop: int
    reach_mm: float
    separations: tuple[str, ...]
    reaches: Floats = field(repr=False, compare=False)
    """Of each station of the run, in mm."""


@dataclass(frozen=True)
class _Short:
    """A stretch of an edge and what lies across the way from it."""

    edge: _Edge
    stretch: _Stretch
    across: _Across

    @property
    def line(self) -> shapely.LineString:
        """The whole edge."""
        return self.edge.cut.line

    @property
    def points(self) -> Floats:
        """Stations of the stretch (n, 2)."""
        return self.edge.at.xy[self.stretch.start : self.stretch.stop]

    @property
    def reach_mm(self) -> float:
        """How far past the cut the inks end."""
        return self.stretch.reach_mm

    @property
    def separations(self) -> tuple[str, ...]:
        """The inks that end."""
        return self.stretch.separations


@dataclass(frozen=True)
class _Facing:
    """BleedSettings to the other side that are cases of their own, in mm."""

    slot_mm: float
    narrow_mm: float


@dataclass(frozen=True)
class BleedParameters:
    """What a rule's ``with:`` may ask of ``ink-past-cut``."""

    kinds: Kinds
    """Kinds of separation that are looked at."""
    look_mm: float
    """How far out."""
    ink_from_percent: float
    """Ink counts from this tint."""
    carried_on_percent: float
    """A colour carries on while its plates keep so much of what they hold inside the cut; another ink, or a faint tint
    of the same, is none of it."""
    shortest_mm: float
    """Shorter stretches are left alone."""
    aslant: float
    """Slope (mm a mm) from which on the end of a shape crosses the cut and does not stop at it."""
    line_mm: float
    """A line in another ink that knocks the ground out along the cut, up to this wide, is looked through."""
    motif_mm: float
    """Greatest size of the shapes of a pattern."""
    pattern_to_mm: float
    """A pattern carries on if it does so as far as this, wherever one of its shapes ends."""
    change_mm: float
    """Where another colour follows, a shorter end is the edge of a leaf or a letter."""
    another_percent: float
    """The least total of tints that is another colour."""
    rim_mm: float
    """The rim of a shape, whatever follows, runs along the cut for less than this."""
    slot_mm: float
    """Flaps of one blank that are nearer than this face each other across a slot."""
    narrow_mm: float
    """Between blanks whose colours differ, a gutter under this is narrow."""
    shoulder_mm: float
    """Cut edges up to this long, which a flap's fold carries on, are no edges of what ends at that fold."""


@measure(
    "ink-past-cut",
    unit="mm",
    tolerance=TOLERANCE_MM,
    within="cut",
    one_fault_by="separations",
    record=BleedParameters,
    cases=("slot", "common knife", "narrow gutter", "hidden flap"),
    facts=("separations", "where", "length", "bleed", "gap_mm"),
)
def ink_past_cut(job: Job, parameters: BleedParameters) -> Measured:
    """How far ink carries on past each stretch of cut line that it touches.

    Narrow shapes that all end in one line along the cut are told of, however short each of them is. Half the way to the
    next cut is enough. Cases: ``slot``, between flaps of one blank; ``hidden flap``; ``common knife``; ``narrow
    gutter``. Places where the die is uncertain are left out and told.
    """
    names = tuple(
        i.separation.name for i in needs.inks(job) if i.separation.kind in parameters.kinds and i.prints is not False
    )
    edges = _edges(job)
    settings, facing = _settings(parameters, names), _Facing(parameters.slot_mm, parameters.narrow_mm)
    found = list[_Short]()
    cuts = _Cuts.of([blank.outline for blank in job.die.blanks])
    search = BleedSearch(job, settings, _die_left_out(job, edges, settings.look_mm))
    for edge, reaches in zip(edges, search.reaches([edge.at for edge in edges]), strict=True):
        short: NDArray[np.bool_] = reaches.min(0, initial=settings.look_mm) < settings.look_mm
        if not short.any():
            continue
        across = _across(job, edge, short, cuts)
        reaches = np.where(_enough(reaches, across, facing), settings.look_mm, reaches)
        for stretch in _stretches(reaches, names, settings.look_mm, settings.shortest):
            found.append(_Short(edge, stretch, across.part(stretch.start, stretch.stop)))
    told = [short for short in found if not _ends_at_a_fold(job, short, found, parameters.shoulder_mm)]
    readings = [_reading(job, short.edge, short.stretch, short.across, facing) for short in told]
    return Measured(readings, needs.gaps_of_the_die(job))


def _ends_at_a_fold(job: Job, short: _Short, found: Sequence[_Short], shoulder_mm: float) -> bool:
    """Whether it is a panel's shoulder beside the root of a flap, and the ink ends there alone."""
    folds = next((blank.creases for blank in job.die.blanks if blank.number == short.edge.blank), None)
    if folds is None or not is_shoulder(short.line, folds, shoulder_mm):
        return False
    return not ends_beside(short, found, SAME_REACH_MM)


def _settings(parameters: BleedParameters, names: tuple[str, ...]) -> BleedSettings:
    return BleedSettings(
        names=names,
        look_mm=parameters.look_mm,
        threshold=max(1.0, parameters.ink_from_percent * 2.55),
        share=parameters.carried_on_percent / 100,
        shortest_mm=parameters.shortest_mm,
        aslant=parameters.aslant,
        line_mm=parameters.line_mm,
        pattern=Pattern(parameters.motif_mm, parameters.pattern_to_mm),
        change_mm=parameters.change_mm,
        another=parameters.another_percent * 2.55,
        rim_mm=parameters.rim_mm,
    )


def _edges(job: Job) -> list[_Edge]:
    """Cut edges with stations; those in places where the die is uncertain are left out."""
    if job.die.blanks:
        needs.die(job)
        cuts = [(blank.number, edge) for blank in job.die.blanks for edge in blank.edges]
    elif job.artwork_is == "one-up" and job.page.boxes.trim:
        ring = shapely.box(*job.page.boxes.trim, ccw=True).exterior
        cuts = [(1, CutEdge(shapely.LineString(side), "outer")) for side in _sides(ring)]
    else:
        raise NotMeasured(f"no cut line is known: {job.die.because}", needs.a_die(job, "a trim box"))
    edges = [_Edge(number, cut, stations_on(shapely.LineString(cut.line), SPACING_MM)) for number, cut in cuts]
    return [_Edge(edge.blank, edge.cut, _where_sure(edge.at, job.die.uncertain_places)) for edge in edges]


def _sides(ring: shapely.LinearRing) -> Iterator[NDArray[np.float64]]:
    points = np.asarray(ring.coords)
    for i in range(len(points) - 1):
        yield points[i : i + 2]


def _where_sure(at: Stations, uncertain: Sequence[Box]) -> Stations:
    if not uncertain:
        return at
    sure = np.ones(len(at), bool)
    for x0, y0, x1, y1 in uncertain:
        x, y = at.xy.T
        sure &= ~((x >= x0 - 1) & (x <= x1 + 1) & (y >= y0 - 1) & (y <= y1 + 1))
    return at.part(np.flatnonzero(sure))


def _die_left_out(job: Job, edges: Sequence[_Edge], look_mm: float) -> DieLeftOut:
    """The die is no art: separations that knock out near the cut and are no plates, and lines drawn in an ink."""
    objects = job.page.objects
    near = shapely.bounds([edge.cut.line for edge in edges]).reshape(-1, 4) + look_mm * np.array([-1, -1, 1, 1])
    found, rows = set(), set[int]()
    for separation in job.page.separations:
        if not separation.on_plate:
            own = object_places.painting(objects, objects.in_separation(separation.name) & ~objects.overprint)
            if len(own) and _meet(near, objects.shown_mm[own].astype(float)):
                found.add(separation.name)
                rows.update(own.tolist())
    plates = frozenset(s.name for s in job.page.separations if s.on_plate)
    inked = objects.colours.where(lambda family: family.registration or family.most(plates) > 0)
    die = [row for of_role in job.die.lines_of.values() for row in of_role if inked[objects.colour[row]]]
    return DieLeftOut(frozenset(found), tuple(sorted(rows.union(die))) if die else ())


def _meet(boxes: Floats, others: Floats) -> bool:
    """Whether any of the boxes (n, 4) touches any of the others."""
    tree = shapely.STRtree(shapely.box(*boxes.T))
    return bool(tree.query(shapely.box(*others.T)).size)


@dataclass(frozen=True)
class _Cuts:
    """The cut lines of all blanks in straight pieces, by place."""

    outlines: Sequence[shapely.Polygon]
    pieces: NDArray[np.object_]
    owner: NDArray[np.int_]
    """Index of the blank that each piece belongs to."""

    @classmethod
    def of(cls, outlines: Sequence[shapely.Polygon]) -> _Cuts:
        rings, owner = shapely.get_rings(list(outlines), return_index=True)
        points, ring = shapely.get_coordinates(rings, return_index=True)
        within = ring[1:] == ring[:-1]
        pieces = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)[within])
        return cls(outlines, pieces, owner[ring[:-1][within]])

    @cached_property
    def tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.pieces)

    @cached_property
    def bodies(self) -> shapely.STRtree:
        return shapely.STRtree(list(self.outlines))

    def nearest(self, starts: Floats, ends: Floats) -> tuple[Floats, NDArray[np.int_]]:
        """How far the way from each start to its end is clear, inf where it is all clear, and which blank ends it.

        Where several do it at one place, the first of them counts; 0 where the start lies on a blank.
        """
        points, rays = shapely.points(starts), shapely.linestrings(np.stack([starts, ends], axis=1))
        ray, piece = self.tree.query(rays, predicate="intersects")
        far = shapely.distance(points[ray], shapely.intersection(rays[ray], self.pieces[piece]))
        on, blank = self.bodies.query(points, predicate="intersects")
        ray, owner = np.concatenate([ray, on]), np.concatenate([self.owner[piece], blank])
        far = np.concatenate([far, np.zeros(len(on))])
        order = np.lexsort((owner, far, ray))
        first = order[np.unique(ray[order], return_index=True)[1]]
        clear, ended_by = np.full(len(starts), np.inf), np.full(len(starts), -1)
        clear[ray[first]], ended_by[ray[first]] = far[first], owner[first]
        return clear, ended_by


def _across(job: Job, edge: _Edge, wanted: NDArray[np.bool_], cuts: _Cuts) -> _Across:
    """The clear way outward from the wanted stations to the next cut, and whether their own blank lies there."""
    gap, own = np.full(len(edge.at), np.inf), np.zeros(len(edge.at), bool)
    if edge.cut.neighbour_mm is not None:
        rows = np.flatnonzero(wanted)
        xy, outward = edge.at.xy[rows], edge.at.outward[rows]
        far, blank = cuts.nearest(xy + outward * NO_WAY_MM, xy + outward * ACROSS_MM)
        gap[rows] = np.where(far > 1e-6, far + NO_WAY_MM, far)
        numbers = np.array([*(blank.number for blank in job.die.blanks), 0])
        own[rows] = numbers[blank] == edge.blank
    return _Across(gap, own)


def _enough(reaches: Floats, across: _Across, facing: _Facing) -> NDArray[np.bool_]:
    """Where ink goes half the way to the next cut: each side has its share, and a slit without area has no edges.

    Between blanks whose colours meet in a narrow gutter, or on a knife, half the way is not enough.
    """
    half = across.gap_mm / 2
    close = ~across.own & (across.gap_mm < facing.narrow_mm)
    enough: NDArray[np.bool_] = (reaches >= half - TOLERANCE_MM) & ~close
    return enough


def _stretches(reaches: Floats, names: Sequence[str], look_mm: float, shortest: int) -> list[_Stretch]:
    """Stretches that end before the look; inks that end together are one stretch.

    A run is parted where the reach jumps, and its pieces of at least ``shortest`` stations are its stretches; what
    lies between them only leads from one to the next. A run without such a piece is one stretch.
    """
    found: list[_Stretch] = []
    for name, reach in zip(names, reaches, strict=True):
        pieces = pieces_alike(reach, reach < look_mm - 0.05, SAME_REACH_MM)
        long = [piece for piece in pieces if piece[1] - piece[0] >= shortest]
        for run in runs(reach < look_mm - 0.05) if pieces else ():
            own = [piece for piece in long if run[0] <= piece[0] < run[1]] or [run]
            for a, b in own:
                _put(found, _Stretch(a, b, float(reach[a:b].min()), (name,), reach[a:b]))
    return found


def _put(found: list[_Stretch], new: _Stretch) -> None:
    """Add a stretch, joined with one that it shares most of its length and its reach with."""
    for i, old in enumerate(found):
        shared = min(old.stop, new.stop) - max(old.start, new.start)
        if 2 * shared > min(old.stop - old.start, new.stop - new.start) and abs(old.reach_mm - new.reach_mm) < 0.15:
            start, stop = min(old.start, new.start), max(old.stop, new.stop)
            reaches = np.full(stop - start, np.inf)
            for one in (old, new):
                part = reaches[one.start - start : one.stop - start]
                np.minimum(part, one.reaches, out=part)
            names = tuple(dict.fromkeys((*old.separations, *new.separations)))
            found[i] = _Stretch(start, stop, float(reaches.min()), names, reaches)
            return
    found.append(new)


def _reading(job: Job, edge: _Edge, stretch: _Stretch, across: _Across, facing: _Facing) -> Reading:
    points = edge.at.xy[stretch.start : stretch.stop]
    (x0, y0), (x1, y1) = points.min(0) - 0.5, points.max(0) + 0.5
    where = _side(edge, stretch)
    several = len(job.die.blanks) > 1
    place = Place(
        (float(x0), float(y0), float(x1), float(y1)),
        job.page.number,
        stretch.separations[0] if len(stretch.separations) == 1 else None,
        f"{where} of blank {edge.blank}" if several else where,
    )
    worst = int(np.argmin(stretch.reaches - np.minimum(across.gap_mm / 2, facing.slot_mm)))
    reach, gap = float(stretch.reaches[worst]), float(across.gap_mm[worst])
    case, only_warns = _case(edge, reach, gap, bool(across.own[worst]), facing)
    capped = np.isfinite(gap) and case not in ("common knife", "narrow gutter")
    return Reading(
        value=round(reach, 2),
        unit="mm",
        places=(place,),
        known=needs.die_known(job),
        case=case,
        group=_cause(job, stretch.separations),
        facts={
            "separations": list(stretch.separations),
            "where": place.path,
            "length": f"{(stretch.stop - stretch.start) * edge.at.spacing_mm:.0f} mm",
            "bleed": f"has only {shown(reach, 'mm')} bleed" if reach >= NO_BLEED_MM else "has no bleed",
            "gap_mm": gap if np.isfinite(gap) else None,
        },
        only_warns=only_warns,
        limit_cap=round(gap / 2, 2) if capped else None,
    )


def _case(edge: _Edge, reach_mm: float, gap_mm: float, own: bool, facing: _Facing) -> tuple[str, str]:
    """The case of a shortfall, and why it only warns where it does."""
    if own and edge.cut.edge == "outer" and gap_mm < facing.slot_mm:
        return "slot", "neighbouring flaps hide the slot between them"
    if not own and gap_mm <= NO_WAY_MM:
        return "common knife", ""
    if not own and gap_mm < facing.narrow_mm and reach_mm >= gap_mm / 2 - TOLERANCE_MM:
        return "narrow gutter", ""
    if edge.cut.hidden:
        return "hidden flap", "it is on a glue or dust flap, which is hidden on the finished carton"
    return "", ""


def _cause(job: Job, names: Sequence[str]) -> str:
    """What is missing its bleed: the spots that end there, or a build of process inks, whichever of them end where."""
    process = {s.name for s in job.page.separations if s.kind == "process"}
    return ", ".join(sorted(set(names) - process)) or "process inks"


def _side(edge: _Edge, stretch: _Stretch) -> str:
    """``top edge``, ``left edge of a cut-out``, ``slanting edge`` by the way out of the blank."""
    x, y = edge.at.outward[stretch.start : stretch.stop].mean(0)
    if max(abs(x), abs(y)) < 0.92 * max(1e-9, float(np.hypot(x, y))):
        side = "slanting edge"
    elif abs(x) > abs(y):
        side = "right edge" if x > 0 else "left edge"
    else:
        side = "top edge" if y > 0 else "bottom edge"
    return f"{side} of a cut-out" if edge.cut.edge == "cut-out" else side
