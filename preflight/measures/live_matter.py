"""Live matter: text, type turned into outlines, and codes, and how near they stand to the cut and to folds.

Grounds, pictures, frames and stripes may run to the cut and over a fold; what has to be read may not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.separations import PROCESS
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading
from preflight.job import Job, once_a_job
from preflight.measures import needs, object_places
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.letters_on_plates import letters, letters_near
from preflight.measures.outlined_type import (
    HIGHEST_MM,
    LONGEST_BAR_MM,
    WIDEST_BAR_MM,
    Floats,
    bar_codes,
    lines_of_type,
    matrix_code,
    without_holes,
)
from preflight.measures.registry import Kinds, measure

NEIGHBOURS_MM: Final = 8.0
"""How far from a line of the die letters are looked for that make up a line of type with those beside it."""
MOST_OUTLINES: Final = 800
MOST_TEXTS: Final = 1500
MOST_BARS: Final = 20_000
SMALLEST_CODE_MM: Final = 4.0
HIDDEN: Final = "it is on a glue or dust flap, which is hidden on the finished carton"
AT_A_FOLD_MM: Final = 0.3
"""Where a cut is not closed its blank ends in a fold, and what lies so near that is no cut."""
FOLDS: Final = {"crease": "crease", "perforate": "perforation", "half-cut": "half-cut"}
INSIDE_MM2: Final = 0.05
"""What has less than this inside the cut is a legend that touches it."""


CAPITALS: Final = 0.7
"""Height of capitals and figures as a share of the size of type."""


@dataclass(frozen=True)
class Matter:
    """A text, a line of type or a code, as the shapes or points that it is made of."""

    what: str
    parts: NDArray[np.object_]
    box: Box
    """Its bounding box in mm."""

    @classmethod
    def of_points(cls, what: str, xy: Floats) -> Matter:
        """What shows at places (k, 2)."""
        (x0, y0), (x1, y1) = xy.min(0).tolist(), xy.max(0).tolist()
        return cls(what, shapely.points(xy), (x0, y0, x1, y1))

    @classmethod
    def of_boxes(cls, what: str, boxes: Floats) -> Matter:
        """What fills boxes (k, 4)."""
        (x0, y0), (x1, y1) = boxes[:, :2].min(0).tolist(), boxes[:, 2:].max(0).tolist()
        return cls(what, shapely.box(*boxes.T), (x0, y0, x1, y1))


@dataclass(frozen=True)
class Large:
    """Type of a size that may run off the carton, if it goes on so far past the cut."""

    size_pt: float
    past_mm: float

    def is_past(self, parts: NDArray[np.object_], inside: BaseGeometry) -> bool:
        """Whether any of the parts reaches so far past the cut."""
        return bool(len(parts)) and not shapely.buffer(inside, self.past_mm, join_style="mitre").covers(parts).all()

    def in_outlines(self, matter: Matter, inside: BaseGeometry) -> bool:
        """Whether it is outlined type that is large and goes on past the cut."""
        if matter.what != "outlined type":
            return False
        x0, y0, x1, y1 = shapely.bounds(matter.parts).T
        high = float(np.maximum(x1 - x0, y1 - y0).max())
        return high >= CAPITALS * self.size_pt * object_places.MM_PER_PT and self.is_past(matter.parts, inside)


@measure("live-matter-to-cut", unit="mm", tolerance=0.06, facts=("what", "kinds", "edge"))
def live_matter_to_cut(job: Job, *, inks: Kinds, look_mm: float, large_pt: float, runs_off_mm: float) -> Measured:
    """Distance of each text, line of outlined type and code inside the cut to the nearest cut edge, within ``look``.

    What is painted in inks of these kinds, or left open in them, counts; live text is measured on the
    plates. At the edge of a glue or dust flap, which nobody sees, a reading only warns. Type of a size, ``large`` and
    more, that goes on for ``runs_off`` past the cut runs off the carton on purpose and is left out.
    """
    lines, words = _cut_edges(job)
    matters, gaps = _near(job, lines, inks, look_mm, Large(large_pt, runs_off_mm))
    readings = [
        _reading(job, matter, nearest.distance_mm, *words[nearest.sort])
        for matter, nearest in zip(matters, lines.nearest([matter.parts for matter in matters]), strict=True)
        if nearest.distance_mm < look_mm
    ]
    return Measured(readings, gaps)


@measure("live-matter-to-fold", unit="mm", tolerance=0.06, cases=("perforation",), facts=("what", "kinds", "edge"))
def live_matter_to_fold(job: Job, *, inks: Kinds, look_mm: float) -> Measured:
    """Distance of each text, line of outlined type and code to the nearest fold; see ``live-matter-to-cut``.

    Case ``perforation`` where that is a perforation, which is torn.
    """
    needs.objects(job, "text")
    _ = job.plates
    lines = needs.die(job).folds
    folds = Pieces.of(list(lines.values()))
    names = [FOLDS[role] for role in lines]
    matters, gaps = _near(job, folds, inks, look_mm)
    readings = [
        _reading(job, matter, nearest.distance_mm, names[nearest.sort])
        for matter, nearest in zip(matters, folds.nearest([matter.parts for matter in matters]), strict=True)
        if nearest.distance_mm < look_mm
    ]
    return Measured(readings, gaps)


@measure("live-matter-in-cut-out", unit="pieces", facts=("what", "kinds"))
def live_matter_in_cut_out(job: Job, *, inks: Kinds) -> Measured:
    """Texts, lines of outlined type and codes wholly within a cut-out of a blank; see ``live-matter-to-cut``.

    What is only partly within one stands on the cut, and is measured there.
    """
    objects = needs.objects(job, "text")
    _ = job.plates
    holes = [shapely.Polygon(ring) for blank in needs.die(job).blanks for ring in blank.outline.interiors]
    if not holes:
        return Measured([])
    names = [s.name for s in job.page.separations if s.on_plate and s.kind in inks]
    rows = _printing_rows(job, inks, names)
    gaps = list[Gap]()
    found = [*_texts_in(objects, rows, holes), *_outlines_in(job, rows, holes, gaps)]
    readings = [
        Reading(
            1.0,
            "pieces",
            (Place(matter.box, job.page.number),),
            needs.die_known(job),
            facts={"what": matter.what, "kinds": [matter.what]},
        )
        for matter in found
    ]
    return Measured(readings, gaps)


def _texts_in(objects: ObjectTable, rows: object_places.Rows, holes: Sequence[BaseGeometry]) -> list[Matter]:
    """Live text in shapes that no later artwork covers."""
    texts = rows[objects.painted[rows] == Painted.TEXT]
    covers = object_places.Covers.of(objects)
    boxes = objects.shown_mm[texts].astype(float)
    within = np.unique(shapely.STRtree(shapely.box(*boxes.T)).query(holes, predicate="contains")[1])
    return [
        Matter.of_boxes("text", boxes[number : number + 1])
        for number in within.tolist()
        if not covers.hide(int(texts[number]), object_places.boxes_of(objects, texts[number : number + 1])[0])
    ]


def _outlines_in(job: Job, rows: object_places.Rows, holes: Sequence[BaseGeometry], gaps: list[Gap]) -> list[Matter]:
    """Lines of outlined type and codes in shapes; what is too much to be looked at is added to the gaps."""
    reach = max(0.5 * max(hole.bounds[2] - hole.bounds[0], hole.bounds[3] - hole.bounds[1]) for hole in holes)
    lines = Pieces.of([hole.exterior for hole in holes])
    near = rows[lines.near(job.page.objects.shown_mm[rows].astype(float), reach)]
    found = _outlines(job, rows, near, lines, reach, gaps)
    return [matter for matter in found if any(hole.contains(shapely.box(*matter.box)) for hole in holes)]


def _cut_edges(job: Job) -> tuple[Pieces, list[tuple[str, str]]]:
    """Cut lines; and for each sort of them what it is, and why it only warns. Without a die a one-up's trim box."""
    needs.objects(job, "text")
    _ = job.plates
    if job.die.blanks:
        edges = [edge for blank in needs.die(job).blanks for edge in blank.edges]
        folds = shapely.buffer(shapely.union_all([cut.fold for cut in job.die.open_cuts]), AT_A_FOLD_MM)
        lines = [shapely.union_all([e.line for e in edges if e.hidden == hidden]) for hidden in (False, True)]
        lines = [shapely.difference(line, folds) for line in lines] if job.die.open_cuts else lines
        return Pieces.of(lines), [("cut", ""), ("cut", HIDDEN)]
    if job.artwork_is == "one-up" and job.page.boxes.trim:
        return Pieces.of([shapely.box(*job.page.boxes.trim).exterior]), [("trim box", "")]
    raise NotMeasured(f"no cut line is known: {job.die.because}", needs.a_die(job, "a trim box"))


def _reading(job: Job, matter: Matter, distance: float, where: str, only_warns: str = "") -> Reading:
    place = Place(matter.box, job.page.number)
    facts = {"what": matter.what, "kinds": [matter.what], "edge": where}
    case = where if where == FOLDS["perforate"] else ""
    known = needs.die_known(job)
    return Reading(round(distance, 2), "mm", (place,), known, case, facts=facts, only_warns=only_warns)


def _near(
    job: Job, lines: Pieces, inks: Sequence[str], look_mm: float, large: Large | None = None
) -> tuple[list[Matter], list[Gap]]:
    """Live matter inside the cut that stands within a distance of lines of the die; large type that runs off is not.

    And what was too much to be looked at.
    """
    gaps = list[Gap]()
    if not len(lines):
        return [], gaps
    names = [s.name for s in job.page.separations if s.on_plate and s.kind in inks]
    rows = _printing_rows(job, inks, names)
    near = rows[lines.near(job.page.objects.shown_mm[rows].astype(float), look_mm)]
    outlines = _outlines(job, rows, near, lines, look_mm, gaps)
    if large:
        near = near[~_running_off(job, near, names, large)]
        outlines = [matter for matter in outlines if not large.in_outlines(matter, job.inside_shape)]
    texts = near[job.page.objects.painted[near] == Painted.TEXT]
    if len(texts) > MOST_TEXTS:
        gaps.append(_too_many(job, f"{MOST_TEXTS:,} pieces of text", texts[MOST_TEXTS:]))
    live = letters_near(job, texts[:MOST_TEXTS], lines, look_mm, names)
    found = [*(Matter.of_points("text", xy) for xy in live), *outlines]
    inside = job.inside_shape
    shapely.prepare(inside)
    return [matter for matter in found if _counts(matter, inside)], gaps


def _too_many(job: Job, what: str, rows: object_places.Rows) -> Gap:
    """That there are more things than are looked at; ``rows``: those that were not."""
    because = f"more than {what} stand near the die's lines, and not all were checked"
    return Gap(because, "a simpler file", places=object_places.places_of(job.page.objects, rows, job.page.number))


def _running_off(job: Job, rows: object_places.Rows, names: Sequence[str], large: Large) -> NDArray[np.bool_]:
    """Live text of a large size whose letters go on past the cut."""
    objects = job.page.objects
    found: NDArray[np.bool_] = objects.painted[rows] == Painted.TEXT
    found &= objects.text_size_pt[rows] >= large.size_pt
    likely = np.flatnonzero(found)
    crossing = [not job.inside_shape.covers(shapely.box(*box)) for box in objects.shown_mm[rows[likely]].astype(float)]
    found[likely] = crossing
    likely = np.flatnonzero(found)
    found[likely] = [large.is_past(shapely.points(xy), job.inside_shape) for xy in letters(job, rows[likely], names)]
    return found


def _counts(matter: Matter, inside: BaseGeometry) -> bool:
    if shapely.get_type_id(matter.parts[0]) == 0:
        return True  # points of the plates, which were taken inside the cut
    return float(shapely.intersection(shapely.union_all(matter.parts), inside).area) >= INSIDE_MM2


def _printing_rows(job: Job, inks: Sequence[str], names: Sequence[str]) -> object_places.Rows:
    """Objects that show something in inks of these kinds, or in paper white."""
    objects = job.page.objects
    own = {*names, *(PROCESS if "process" in inks else ())}
    wanted = object_places.of_colours(objects, lambda family: not family.registration and family.names_any(own))
    return object_places.painting(objects, wanted)


# Type turned into outlines, and codes -----------------------------------------------------------------------------


def _outlines(
    job: Job, rows: object_places.Rows, near: object_places.Rows, lines: Pieces, look_mm: float, gaps: list[Gap]
) -> list[Matter]:
    """Lines of outlined type and codes of which a part stands within a distance of the lines.

    What is too much to be looked at is added to the gaps.
    """
    objects = job.page.objects
    fills = rows[objects.painted[rows] == Painted.FILL]
    close = near[np.isin(objects.painted[near], (Painted.FILL, Painted.STROKE))]
    if not len(close):
        return []
    boxes = objects.shown_mm[close].astype(float)
    single = _letter_sized(boxes)
    filled = objects.painted[close] == Painted.FILL
    parsed, owner, codes = _shapes_of(job, close[~single & filled], gaps)
    squares = single & filled & ((boxes[:, 2:] - boxes[:, :2]).min(1) >= SMALLEST_CODE_MM)
    codes += _shapes_of(job, close[squares], gaps)[2]
    letters = fills[_letter_sized(objects.shown_mm[fills].astype(float))] if single.any() or len(parsed) else fills[:0]
    letters = letters[lines.near(objects.shown_mm[letters].astype(float), look_mm + NEIGHBOURS_MM)]
    bars = np.setdiff1d(_bar_rows(job, rows, close, gaps), owner)
    shapes = np.vstack([parsed, objects.shown_mm[letters].astype(float), objects.shown_mm[bars].astype(float)])
    owners = np.concatenate([owner, letters, bars])
    colour = objects.colour[owners].astype(np.int_)
    kinds = np.repeat([0, 1, 2], [len(parsed), len(letters), len(bars)])
    found, covers = codes, object_places.Covers.of(objects)
    for matter, members in _told(shapes, colour, kinds):
        if not _hidden(covers, owners[members]):
            found.append(Matter.of_boxes(matter, shapes[members]))
    if not found:
        return []
    close_by = lines.near(np.vstack([shapely.bounds(matter.parts) for matter in found]), look_mm)
    ends = np.cumsum([len(matter.parts) for matter in found])[:-1]
    return [matter for matter, parts in zip(found, np.split(close_by, ends), strict=True) if parts.any()]


def _told(shapes: Floats, colour: NDArray[np.int_], kinds: NDArray[np.int_]) -> list[tuple[str, NDArray[np.int_]]]:
    """Lines of type among letters, codes among bars."""
    letters, bars = np.flatnonzero(kinds <= 1), np.flatnonzero(kinds != 1)
    told = [(f.what, letters[f.members]) for f in lines_of_type(shapes[letters], colour[letters])]
    return told + [(f.what, bars[f.members]) for f in bar_codes(shapes[bars], colour[bars])]


def _letter_sized(boxes: Floats) -> NDArray[np.bool_]:
    """Boxes that one letter may fill; a larger or longer one may be a word."""
    small, large = np.sort(boxes[:, 2:] - boxes[:, :2], axis=1).T
    sized: NDArray[np.bool_] = (large >= 0.3) & (large <= HIGHEST_MM) & (large <= 2 * small)
    return sized


def _bar_rows(job: Job, rows: object_places.Rows, close: object_places.Rows, gaps: list[Gap]) -> object_places.Rows:
    """Bars that are objects of their own, fills and strokes, where any of them stands close."""
    objects = job.page.objects
    found = _bar_sized(objects, rows) if len(_bar_sized(objects, close)) else close[:0]
    if len(found) > MOST_BARS:
        gaps.append(_too_many(job, f"{MOST_BARS:,} lines that may be bars of a code", found))
        return found[:0]
    return found


def _bar_sized(objects: ObjectTable, rows: object_places.Rows) -> object_places.Rows:
    boxes = objects.shown_mm[rows].astype(float)
    small, large = np.sort(boxes[:, 2:] - boxes[:, :2], axis=1).T
    drawn = np.isin(objects.painted[rows], (Painted.FILL, Painted.STROKE))
    found: object_places.Rows = rows[
        drawn & (small > 0) & (small <= np.minimum(WIDEST_BAR_MM, large / 3)) & (large <= LONGEST_BAR_MM)
    ]
    return found


def _shapes_of(job: Job, rows: object_places.Rows, gaps: list[Gap]) -> tuple[Floats, NDArray[np.int_], list[Matter]]:
    """Boxes of the shapes that larger paths are made of, their rows, and two-dimensional codes among the paths."""
    objects = job.page.objects
    if len(rows) > MOST_OUTLINES:
        sides = objects.shown_mm[rows, 2:] - objects.shown_mm[rows, :2]
        by_size = rows[np.argsort(sides.max(1), kind="stable")]
        gaps.append(_too_many(job, f"{MOST_OUTLINES:,} larger shapes", by_size[MOST_OUTLINES:]))
        rows = np.sort(by_size[:MOST_OUTLINES])
    boxes, owners, codes = [np.zeros((0, 4))], [np.zeros(0, np.int_)], list[Matter]()
    for row, own in zip(rows.tolist(), _subpath_boxes(job, rows), strict=True):
        if matrix_code(own):
            codes.append(Matter.of_boxes("a two-dimensional code", own))
            continue
        own = own[without_holes(own)]
        boxes.append(own)
        owners.append(np.full(len(own), row))
    return np.vstack(boxes), np.concatenate(owners), codes


@once_a_job
def _unfolded(job: Job) -> dict[int, Floats]:
    """Boxes of the subpaths (k, 4) of the rows asked for so far: each question has other rows, and some are in both."""
    return {}


def _subpath_boxes(job: Job, rows: object_places.Rows) -> list[Floats]:
    """Boxes of the subpaths of each row, (k, 4); kept for the next measure, since outlines take long to unfold."""
    kept = _unfolded(job)
    fresh = rows[[row not in kept for row in rows.tolist()]]
    for row, subpaths in zip(fresh.tolist(), job.page.objects.paths(fresh), strict=True):
        boxes = [[*points.min(0), *points.max(0)] for points in subpaths if len(points) > 2]
        kept[row] = np.array(boxes, float).reshape(-1, 4)
    return [kept[row] for row in rows.tolist()]


def _hidden(covers: object_places.Covers, rows: NDArray[np.int_]) -> bool:
    """Whether what was found lies under later artwork."""
    boxes = covers.objects.shown_mm[np.unique(rows)].astype(float)
    (x0, y0), (x1, y1) = boxes[:, :2].min(0).tolist(), boxes[:, 2:].max(0).tolist()
    return covers.hide(int(rows.max()), (x0, y0, x1, y1))
