"""From drawn lines to blanks: the inner door to reading a die, without a PDF."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from preflight.artwork.objects import Box
from preflight.carton.areas import share_out
from preflight.carton.blank import Area, Blank, Die
from preflight.carton.cells import Cells, lines_in
from preflight.carton.choice import bounds_agree
from preflight.carton.doubles import merge_doubles
from preflight.carton.doubts import Doubts, at, box_of, knives, look_for_doubts, openings
from preflight.carton.edges import cut_edges
from preflight.carton.faces import Faces, faces_of
from preflight.carton.leftover import LeftOut, left_out_of
from preflight.carton.lines import (
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
from preflight.carton.reading import Prepared, Reading, prepare, read_lines, told_by_ink

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
    prepared = prepare(tidy)
    segments, doubled_mm = merge_doubles(segments_of(prepared.lines))
    if not len(segments):
        return Die("none", "nothing in the die inks is a line", notes=prepared.notes, loose_areas=tuple(areas))
    reading = read_lines(segments, trim)
    if reading.choice.alike:
        prepared, segments, reading = told_by_ink(prepared, trim) or (prepared, segments, reading)
    if len(reading.groups) > MOST_BLANKS:
        return _over_bound(f"it has more than {MOST_BLANKS} blanks", areas)
    if not reading.groups:
        return _nothing_found(prepared, reading, areas)
    doubts = _doubts(prepared, reading, segments, trim)
    blanks, loose, faults = _blanks(reading, areas)
    sure = _outer_edge_is_sure(prepared, blanks, trim)
    if reading.choice.alike and not sure:
        doubts.add(ALIKE)
    aside = [*prepared.dimension, *prepared.aside]
    left = left_out_of(prepared.lines, aside, reading.cells, reading.groups, reading.outlines, prepared.words + texts)
    notes = [
        *prepared.notes,
        *reading.choice.notes,
        *_what_was_done(reading, left, doubled_mm, one_up),
        *faults,
        *(f"{area.kind} stated at {at(np.array(area.shape.centroid.coords[0]))} lies on no blank" for area in loose),
    ]
    assumed = [*prepared.assumed, *reading.choice.assumed, *(reading.choice.alike if not sure else ())]
    within = [*prepared.guessed_within, *(reading.choice.alike if sure else ())]
    die = _die(prepared, reading, left, blanks, tuple(notes), doubts, assumed, because, tuple(loose))
    return replace(die, because="; ".join([die.because, *within]), guessed_within=tuple(within)) if within else die


def _outer_edge_is_sure(prepared: Prepared, blanks: Sequence[Blank], trim: Box | None) -> bool:
    """One outline in lines that are known to be a die, and a trim box or a row of panels with a glue flap bears it out.

    Where cuts and creases are drawn alike, only the lines within it are then in doubt.
    """
    if len(blanks) != 1 or any(line.known == "assumed" for line in prepared.lines if line.role == "cut"):
        return False
    flap = any(area.kind == "glue flap" for area in blanks[0].areas)
    return flap or (trim is not None and bounds_agree(blanks[0].outline, trim))


def _doubts(prepared: Prepared, reading: Reading, segments: Segments, trim: Box | None) -> Doubts:
    doubts = Doubts()
    look_for_doubts(reading.cells, reading.groups, reading.outlines, doubts)
    _through_lines(prepared, reading, segments, trim, doubts)
    return doubts


def _through_lines(prepared: Prepared, reading: Reading, segments: Segments, trim: Box | None, doubts: Doubts) -> None:
    """Dimension lines that cross a blank: the outline is doubtful where it would be another one with them."""
    if not prepared.dimension:
        return
    inside = shapely.buffer(shapely.union_all([*reading.outlines]), -0.5)
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
    other = read_lines(together, trim)
    before, after = shapely.union_all([*reading.outlines]), shapely.union_all([*other.outlines])
    if len(other.groups) == len(reading.groups) and shapely.symmetric_difference(before, after).area < 1.0:
        return
    where = at(crossing[0].points.mean(0))
    places = [box_of(line.points) for line in crossing]
    doubts.add(f"cut outline uncertain at {where}: a dimension line left out there runs across a blank", places)


def _what_was_done(reading: Reading, left: LeftOut, doubled_mm: float, one_up: bool) -> Iterable[str]:
    cells, groups = reading.cells, reading.groups
    if one_up and len(groups) > 1:
        yield f"{len(groups)} blanks found; the ticket says one-up. A sheet, or versions?"
    sharing = {group for pair in knives(cells, groups) for group in pair}
    if sharing:
        yield f"{len(groups)} blanks, {len(sharing)} share a knife; bleed there is limited by the neighbour"
    elif doubled_mm > DRAWN_TWICE * float(lengths_of(cells.net.xy).sum() + doubled_mm):
        yield "lines drawn twice within 0.1 mm: one of each is used"
    if left.says:
        yield left.says
    bridges = cells.net.bridges
    if bridges:
        body = shapely.buffer(shapely.union_all([*reading.outlines]), 0.5)
        bridges = [bridge for bridge in bridges if shapely.contains_xy(body, *bridge.at)]
    gaps = [bridge.length_mm for bridge in bridges if not bridge.crease]
    carried = [bridge.length_mm for bridge in bridges if bridge.crease]
    if gaps:
        yield f"{len(gaps)} gap{'s' * (len(gaps) > 1)} in the cut line closed, the largest {max(gaps):.1f} mm"
    if carried:
        yield f"{len(carried)} crease end{'s' * (len(carried) > 1)} carried on by up to {max(carried):.1f} mm"
    if left.clipped:
        yield f"{left.clipped} crease{'s' * (left.clipped > 1)} clipped at the cut"


def _blanks(reading: Reading, areas: Sequence[Area]) -> tuple[list[Blank], list[Area], list[str]]:
    cells = reading.cells
    shared, loose = share_out(areas, reading.outlines)
    built: list[Faces] = []
    faults: list[str] = []
    for number, (group, outline) in enumerate(zip(reading.groups, reading.outlines, strict=True), 1):
        short = [crease for crease in cells.net.short if shapely.contains_xy(outline, *crease.at)]
        if short:
            worst = max(crease.short_mm for crease in short)
            where = at(np.array(short[0].at))
            faults.append(f"faces of blank {number} not checked: a crease stops {worst:.1f} mm short at {where}")
        built.append(Faces() if short else faces_of(cells, group))
    hidden = [[faces.panels[n] for n in (*faces.dust_flaps, *_flap(faces))] for faces in built]
    for places, mine in zip(hidden, shared, strict=True):
        places += [area.shape for area in mine if area.kind == "glue flap"]
    edges = cut_edges(reading.outlines, hidden)
    blanks = []
    for n, group in enumerate(reading.groups):
        mine = list(shared[n])
        if built[n].glue_flap is not None and not any(area.kind == "glue flap" for area in mine):
            mine += [
                Area("glue flap", built[n].panels[i], "assumed", built[n].glue_flap_because) for i in _flap(built[n])
            ]
        creases = lines_in(cells.net, cells.folds_of(group))
        blanks.append(Blank(n + 1, reading.outlines[n], creases, built[n].panels, tuple(edges[n]), tuple(mine)))
    return blanks, loose, faults


def _flap(faces: Faces) -> tuple[int, ...]:
    return () if faces.glue_flap is None else (faces.glue_flap,)


def _die(
    prepared: Prepared, reading: Reading, left: LeftOut, blanks: list[Blank], notes: tuple[str, ...], doubts: Doubts,
    assumed: Sequence[str], because: str, loose: tuple[Area, ...],
) -> Die:  # fmt: skip
    cells = reading.cells
    cut = cells.cuts_of(reading.groups)
    folds = np.logical_or.reduce([cells.folds_of(group) for group in reading.groups])
    used = [line for line, mine in zip(prepared.lines, left.used, strict=True) if mine]
    names: dict[str, set[str]] = defaultdict(set)
    rows: dict[str, set[int]] = defaultdict(set)
    for line in used:
        names[line.role].update(line.inks or (line.drawn_in,))
        rows[line.role].add(line.row)
    known = {line.known for line in used if line.role == "cut"}
    found: Literal["stated", "read", "assumed"] = "read"
    if assumed or "assumed" in known:
        found = "assumed"
    elif known == {"stated"}:
        found = "stated"
    return Die(
        found,
        "; ".join(filter(None, [because, *assumed])),
        tuple(blanks),
        notes,
        tuple(doubts.says),
        () if doubts.everywhere else tuple(doubts.places),
        left.open_cuts,
        left.shape,
        lines_in(cells.net, cut),
        lines_in(cells.net, folds),
        _by_role(cells, folds),
        {role: tuple(sorted(filter(None, found_in))) for role, found_in in names.items()},
        {role: tuple(sorted(numbers - {-1})) for role, numbers in rows.items()},
        loose,
    )


def _by_role(cells: Cells, folds: Bools) -> dict[str, BaseGeometry]:
    """Lines of the chosen folds for each role that any of them has."""
    role = cells.net.role
    return {ROLES[number]: lines_in(cells.net, folds & (role == number)) for number in np.unique(role[folds]).tolist()}


def _over_bound(why: str, areas: Sequence[Area]) -> Die:
    says = f"the die was not read: {why}"
    return Die("none", says, uncertain=(says,), loose_areas=tuple(areas))


def _nothing_found(prepared: Prepared, reading: Reading, areas: Sequence[Area]) -> Die:
    gaps = openings(reading.cells.net.loose_cuts)
    names = ", ".join(sorted({line.drawn_in for line in prepared.lines if line.drawn_in}))
    says = f"the lines in {names or 'the die inks'} enclose no blank" + ("; " + ", ".join(gaps) if gaps else "")
    shape = shapely.union_all([shapely.LineString(line.points) for line in prepared.lines])
    return Die("none", says, notes=prepared.notes, uncertain=tuple(gaps), left_out=shape, loose_areas=tuple(areas))
