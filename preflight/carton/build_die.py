"""From drawn lines to blanks: the door to the die for who has lines and no PDF."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
import shapely
from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.carton.areas import GLUE_FLAP, share_out, without_unfit_flaps
from preflight.carton.cells.blank_cells import BlankCells, find_blank_cells, told_by_ink
from preflight.carton.cells.choice_of_blanks import bounds_agree
from preflight.carton.cells.closed_cells import Cells, lines_in
from preflight.carton.cells.doubtful_cuts import Doubts, at, box_of, knives, look_for_doubts, openings
from preflight.carton.cells.faces import Faces, faces_of
from preflight.carton.cells.gaps import loose_as_drawn
from preflight.carton.cells.left_out_lines import LeftOut, left_out_of
from preflight.carton.cut_edges import cut_edges
from preflight.carton.die import Area, Blank, Die
from preflight.carton.lines.double_lines import merge_doubles
from preflight.carton.lines.drawn_lines import (
    MOST_SEGMENTS,
    ROLES,
    Bools,
    DieLine,
    Segments,
    crossings,
    lengths_of,
    segments_of,
    usable,
)
from preflight.carton.lines.prepared_lines import PreparedLines, prepare_lines

MOST_CROSSINGS: Final = 20_000
MOST_BLANKS: Final = 500
ALIKE: Final = "cut outline uncertain: cuts and creases are drawn alike"
DRAWN_TWICE: Final = 0.25
"""From this share of its length on, a die that has lines on lines is called drawn twice."""


def build_die(
    lines: Sequence[DieLine],
    areas: Sequence[Area] = (),
    *,
    trim: Box | None = None,
    one_up: bool = False,
    texts: int = 0,
    because: str = "",
) -> Die:
    """Reads blanks out of lines that were drawn as die.

    Args:
        lines: every line in a die ink or die layer, roles as far as the names tell them.
        areas: stated or read areas, on whatever blank they lie.
        trim: the page's trim box, if it has one of its own; it settles which of two outlines is the cut.
        one_up: the ticket says that the page shows a single blank.
        texts: pieces of text in the die inks; text is never die.
        because: where the roles of the lines come from, in words.
    """
    if sum(len(line.points) for line in lines) > MOST_SEGMENTS:
        return _over_bound(f"its lines have more than {MOST_SEGMENTS:,} pieces", areas)
    tidy = usable(lines)
    pieces = segments_of(tidy)
    if crossings(pieces) > MOST_CROSSINGS + 3 * len(pieces):  # a large die drawn twice touches itself that often
        return _over_bound(f"its lines cross each other more than {MOST_CROSSINGS:,} times", areas)
    prepared = prepare_lines(tidy)
    segments, doubled_mm = merge_doubles(segments_of(prepared.lines))
    if not len(segments):
        return Die("none", "nothing in the die inks is a line", notes=prepared.notes, loose_areas=tuple(areas))
    chosen = find_blank_cells(segments, trim)
    if chosen.choice.alike:
        prepared, segments, chosen = told_by_ink(prepared, trim) or (prepared, segments, chosen)
    if len(chosen.groups) > MOST_BLANKS:
        return _over_bound(f"it has more than {MOST_BLANKS} blanks", areas)
    if not chosen.groups:
        return _nothing_found(prepared, chosen, areas)
    given = _Given(areas, trim, one_up, texts, because)
    return _die_of(prepared, segments, chosen, given, doubled_mm)


@dataclass(frozen=True)
class _Given:
    """What is known of the page beside its lines; see ``build_die``."""

    areas: Sequence[Area]
    trim: Box | None
    one_up: bool
    texts: int
    because: str


def _die_of(prepared: PreparedLines, segments: Segments, chosen: BlankCells, given: _Given, doubled_mm: float) -> Die:
    """The die that the chosen cells make, what was left out of it, and what is in doubt."""
    doubts = _doubts(prepared, chosen, segments, given.trim)
    found = _blanks(chosen, given.areas)
    sure = _outer_edge_is_sure(prepared, found.blanks, given.trim)
    if chosen.choice.alike and not sure:
        doubts.add(ALIKE)
    aside, words = [*prepared.dimension, *prepared.aside], prepared.words + given.texts
    left = left_out_of(prepared.lines, aside, chosen.cells, chosen.groups, chosen.outlines, words)
    notes = [
        *prepared.notes,
        *chosen.choice.notes,
        *_what_was_done(chosen, left, doubled_mm, given.one_up),
        *_what_was_closed(chosen, prepared),
        *([f"{left.clipped} crease{'s' * (left.clipped > 1)} clipped at the cut"] if left.clipped else []),
        *found.faults,
        *(
            f"the {area.kind} area at {_middle_of(area)} is not on any blank"
            for area in found.loose
            if area.known == "read"
        ),
    ]
    assumed = [*prepared.assumed, *chosen.choice.assumed, *(chosen.choice.alike if not sure else ())]
    within = [*prepared.guessed_within, *(chosen.choice.alike if sure else ())]
    used = [line for line, mine in zip(prepared.lines, left.used, strict=True) if mine]
    return replace(
        _lines_of_die(used, chosen, left),
        found=_how_found(used, assumed),
        because="; ".join(filter(None, [given.because, *assumed, *within])),
        guessed_within=tuple(within),
        blanks=found.blanks,
        notes=tuple(notes),
        uncertain=tuple(doubts.says),
        uncertain_places=() if doubts.everywhere else tuple(doubts.places),
        loose_areas=tuple(found.loose),
        unfit_areas=tuple(found.unfit),
    )


def _middle_of(area: Area) -> str:
    return at(np.array(area.shape.centroid.coords[0]))


def _outer_edge_is_sure(prepared: PreparedLines, blanks: Sequence[Blank], trim: Box | None) -> bool:
    """One outline in lines that are known to be a die, and a trim box or a row of panels with a glue flap bears it out.

    Where cuts and creases are drawn alike, only the lines within it are then in doubt.
    """
    if len(blanks) != 1 or any(line.known == "assumed" for line in prepared.lines if line.role == "cut"):
        return False
    flap = any(area.kind == GLUE_FLAP for area in blanks[0].areas)
    return flap or (trim is not None and bounds_agree(blanks[0].outline, trim))


def _doubts(prepared: PreparedLines, chosen: BlankCells, segments: Segments, trim: Box | None) -> Doubts:
    doubts = Doubts()
    look_for_doubts(chosen.cells, chosen.groups, chosen.outlines, doubts)
    _through_lines(prepared, chosen, segments, trim, doubts)
    return doubts


def _through_lines(
    prepared: PreparedLines, chosen: BlankCells, segments: Segments, trim: Box | None, doubts: Doubts
) -> None:
    """Dimension lines that cross a blank: the outline is doubtful where it would be another one with them."""
    if not prepared.dimension:
        return
    inside = shapely.buffer(shapely.union_all([*chosen.outlines]), -0.5)
    crossing = [
        line for line in prepared.dimension if shapely.intersection(shapely.LineString(line.points), inside).length > 1
    ]
    if not crossing:
        return
    more = segments_of([replace(line, role="cut") for line in crossing])
    line_numbers = np.full(len(more), -1)
    together = Segments(
        np.vstack([segments.xy, more.xy]),
        np.concatenate([segments.role, more.role]),
        np.concatenate([segments.line, line_numbers]),
    )
    other = find_blank_cells(together, trim)
    before, after = shapely.union_all([*chosen.outlines]), shapely.union_all([*other.outlines])
    if len(other.groups) == len(chosen.groups) and shapely.symmetric_difference(before, after).area < 1.0:
        return
    where = at(crossing[0].points.mean(0))
    places = [box_of(line.points) for line in crossing]
    doubts.add(f"cut outline uncertain at {where}: a dimension line left out there runs across a blank", places)


def _what_was_done(chosen: BlankCells, left: LeftOut, doubled_mm: float, one_up: bool) -> Iterable[str]:
    cells, groups = chosen.cells, chosen.groups
    if one_up and len(groups) > 1:
        yield f"{len(groups)} blanks found; the ticket says one-up. A sheet, or versions?"
    sharing = {group for pair in knives(cells, groups) for group in pair}
    if sharing:
        yield f"{len(groups)} blanks, {len(sharing)} share a knife; bleed there is limited by the neighbour"
    elif doubled_mm > DRAWN_TWICE * float(lengths_of(cells.net.xy).sum() + doubled_mm):
        yield "lines drawn twice within 0.1 mm: one of each is used"
    if left.says:
        yield left.says


def _what_was_closed(chosen: BlankCells, prepared: PreparedLines) -> Iterable[str]:
    """Gaps of the drawing that were closed; the mouth of a slit that is as narrow as one line is none."""
    bridges = chosen.cells.net.bridges
    if bridges:
        drawn = segments_of(prepared.lines)
        body = shapely.buffer(shapely.union_all([*chosen.outlines]), 0.5)
        near = [bridge for bridge in bridges if shapely.contains_xy(body, *bridge.at)]
        bridges = [bridge for bridge in near if loose_as_drawn(drawn, bridge)]
    gaps = [bridge.length_mm for bridge in bridges if not bridge.crease]
    carried = [bridge.length_mm for bridge in bridges if bridge.crease]
    if gaps:
        yield f"{len(gaps)} gap{'s' * (len(gaps) > 1)} in the cut line closed, the largest {max(gaps):.1f} mm"
    if carried:
        yield f"{len(carried)} crease end{'s' * (len(carried) > 1)} extended by up to {max(carried):.1f} mm"


@dataclass(frozen=True)
class _Blanks:
    """The blanks, areas that lie on none, stated glue flaps that are none, and what could not be looked at."""

    blanks: tuple[Blank, ...]
    loose: list[Area]
    unfit: list[Area]
    faults: list[str]


def _blanks(chosen: BlankCells, areas: Sequence[Area]) -> _Blanks:
    cells, faults = chosen.cells, list[str]()
    creases = [lines_in(cells.net, cells.folds_of(group)) for group in chosen.groups]
    built = [_faces(chosen, n, faults) for n in range(len(chosen.groups))]
    lying, loose = share_out(areas, chosen.outlines)
    lying, unfit = without_unfit_flaps(lying, [faces.panels for faces in built])
    shared = _lent_to_all_alike(lying, chosen.outlines, creases)
    hidden = [[faces.panels[n] for n in (*faces.dust_flaps, *_flap(faces))] for faces in built]
    for places, mine in zip(hidden, shared, strict=True):
        places += [area.shape for area in mine if area.kind == GLUE_FLAP]
    edges = cut_edges(chosen.outlines, hidden)
    blanks = []
    for n, (faces, mine) in enumerate(zip(built, shared, strict=True)):
        if faces.glue_flap is not None and not any(area.kind == GLUE_FLAP for area in mine):
            mine += [Area(GLUE_FLAP, faces.panels[i], "assumed", faces.glue_flap_because) for i in _flap(faces)]
        blanks.append(Blank(n + 1, chosen.outlines[n], creases[n], faces.panels, tuple(edges[n]), tuple(mine)))
    return _Blanks(tuple(blanks), loose, unfit, faults)


def _lent_to_all_alike(
    lying: list[list[Area]], outlines: Sequence[Polygon], creases: Sequence[MultiLineString]
) -> list[list[Area]]:
    if len(outlines) < 2 or not any(lying):
        return lying
    from preflight.carton.alike_blanks import Cut, for_all_alike  # a one-up does without it

    return for_all_alike(lying, list(map(Cut, outlines, creases)))


def _faces(chosen: BlankCells, n: int, faults: list[str]) -> Faces:
    """The faces of a blank; none, which is added to the faults, where a crease of it stops short."""
    cells, outline = chosen.cells, chosen.outlines[n]
    short = [crease for crease in cells.net.short if shapely.contains_xy(outline, *crease.at)]
    if not short:
        return faces_of(cells, chosen.groups[n])
    worst = max(short, key=lambda crease: crease.short_mm)
    told = f"a crease stops {worst.short_mm:.1f} mm short at {at(np.array(worst.at))}"
    faults.append(f"faces of blank {n + 1} not checked: {told}")
    return Faces()


def _flap(faces: Faces) -> tuple[int, ...]:
    return () if faces.glue_flap is None else (faces.glue_flap,)


def _lines_of_die(used: Sequence[DieLine], chosen: BlankCells, left: LeftOut) -> Die:
    """A die as far as its lines tell: cuts, folds, the inks and rows that they are drawn in, and what is none of it."""
    cells = chosen.cells
    folds = np.logical_or.reduce([cells.folds_of(group) for group in chosen.groups])
    names: dict[str, set[str]] = defaultdict(set)
    rows: dict[str, set[int]] = defaultdict(set)
    for line in used:
        names[line.role].update(line.inks or (line.drawn_in,))
        rows[line.role].add(line.row)
    return Die(
        "read",
        "",
        open_cuts=left.open_cuts,
        left_out=left.shape,
        cut_lines=lines_in(cells.net, cells.cuts_of(chosen.groups)),
        crease_lines=lines_in(cells.net, folds),
        folds=_by_role(cells, folds),
        drawn_in={role: tuple(sorted(filter(None, found_in))) for role, found_in in names.items()},
        lines_of={role: tuple(sorted(numbers - {-1})) for role, numbers in rows.items()},
    )


def _how_found(used: Sequence[DieLine], assumed: Sequence[str]) -> Literal["stated", "read", "assumed"]:
    known = {line.known for line in used if line.role == "cut"}
    if assumed or "assumed" in known:
        return "assumed"
    return "stated" if known == {"stated"} else "read"


def _by_role(cells: Cells, folds: Bools) -> dict[str, BaseGeometry]:
    """Lines of the chosen folds for each role that any of them has."""
    role = cells.net.role
    return {ROLES[number]: lines_in(cells.net, folds & (role == number)) for number in np.unique(role[folds]).tolist()}


def _over_bound(why: str, areas: Sequence[Area]) -> Die:
    says = f"the die was not read: {why}"
    return Die("none", says, uncertain=(says,), loose_areas=tuple(areas))


def _nothing_found(prepared: PreparedLines, chosen: BlankCells, areas: Sequence[Area]) -> Die:
    gaps = openings(chosen.cells.net.loose_cuts)
    names = ", ".join(sorted({line.drawn_in for line in prepared.lines if line.drawn_in}))
    says = f"the lines in {names or 'the die inks'} enclose no blank" + ("; " + ", ".join(gaps) if gaps else "")
    shape = shapely.union_all([shapely.LineString(line.points) for line in prepared.lines])
    return Die("none", says, notes=prepared.notes, uncertain=tuple(gaps), left_out=shape, loose_areas=tuple(areas))
