"""Whether the inks inside the cut carry on past it: at a glance on the page's plates, and closely where they do not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.document import Alteration
from preflight.artwork.objects import Box, Painted
from preflight.artwork.plates import Plates
from preflight.measures import placing
from preflight.measures.edges import (
    LEVEL_MM,
    Floats,
    Stations,
    carried_mm,
    kept_of,
    pieces_alike,
    runs,
    standing_inside,
    tints_along,
    without_short_dips,
)
from preflight.measures.ends import Lengths, along, along_or_ragged, leading_away
from preflight.measures.ink_names import one_ink_groups
from preflight.measures.job import Job
from preflight.measures.keylines import looked_through
from preflight.measures.lined_up import FINER, are_several, ends_of, finer, in_line, nothing_beyond, offsets_to
from preflight.measures.motifs import Pattern
from preflight.measures.strewn import OFFSETS, around, stand_around

SPACING_MM: Final = 0.5
FEW_INKS: Final = 24
TOUCH_MM: Final = (-0.5, -0.3)
"""Where ink has to stand, inside the blank, to touch the cut."""
SAME_REACH_MM: Final = 0.3
"""A step in the reach along an edge larger than this parts two stretches."""
CLOSE_DPI: Final = 300.0
MOST_AT_ONCE: Final = 500
"""Stations whose tints are held at once."""
WINDOW_MM2: Final = 4000.0
WINDOW_MARGIN_MM: Final = 0.3
BEYOND_MM: Final = (0.12, 0.3)
"""How far past its end a colour is looked at to see what it has lost and what follows."""
GLANCE_MARGIN: Final = 0.08
"""Kept by so much more than what has to be, at a glance: the page's pixels are coarse."""
PLAIN_STEPS: Final = 3.0
"""A colour whose tints vary by no more than this many of 255 steps is plain, and no part of a picture's drawing."""
EXACT_MM: Final = 0.05
"""Ends that differ by no more are drawn along the cut; those of shapes that lie there by chance slant a little."""
BEFORE_MM: Final = 0.25
"""So much further in than where ink touches lines on the cut are looked for."""


@dataclass(frozen=True)
class Ways:
    """How inks are looked at; lengths in mm, ink from a tint of ``threshold`` of 255."""

    names: tuple[str, ...]
    look_mm: float
    threshold: float
    share: float
    """What has to be kept of the colour inside the cut, 0..1."""
    shortest_mm: float
    aslant: float
    line_mm: float
    """Lines in another ink that are no wider are looked through."""
    pattern: Pattern

    change_mm: float
    """An end that another colour follows is the edge of a shape where it is shorter."""
    another: float
    """A total of tints, of 255, from which on what follows is another colour, and not as good as bare board."""
    rim_mm: float
    """An end that goes on into slopes is the rim of a shape where its level part is shorter."""

    @property
    def shortest(self) -> int:
        """The shortest stretch in stations."""
        return max(1, round(self.shortest_mm / SPACING_MM))

    @cached_property
    def lengths(self) -> Lengths:
        """How long an end has to run along the cut, in stations."""
        change, rim, ragged = (round(mm / SPACING_MM) for mm in (self.change_mm, self.rim_mm, self.pattern.motif_mm))
        return Lengths(self.shortest, change, rim, ragged, SPACING_MM, self.aslant)


@dataclass(frozen=True)
class Unseen:
    """What is taken off the plates before anybody looks: lines of the die and what knocks out without printing."""

    separations: frozenset[str] = frozenset()
    """Separations whose objects neither paint nor knock out."""
    rows: tuple[int, ...] = ()
    """Objects that do neither: the die where it is drawn in an ink. They hold those of the separations too."""


@dataclass
class Looking:
    """One look at the plates without the die."""

    job: Job
    ways: Ways
    unseen: Unseen

    @cached_property
    def plates(self) -> Plates:
        """The whole page at 100 dpi."""
        plates = self.job.plates
        if self.unseen.rows:
            return self.job.page.altered(Alteration(left_out=self.unseen.rows), plates.dpi)
        without = self.unseen.separations
        return self.job.page.plates(plates.dpi, without=without) if without else plates

    def _window(self, box: Box) -> Plates:
        if self.unseen.rows:
            return self.job.page.altered(Alteration(left_out=self.unseen.rows), CLOSE_DPI, box)
        return self.job.page.window(box, CLOSE_DPI, without=self.unseen.separations)

    def reaches(self, edges: Sequence[Stations]) -> list[Floats]:
        """For each edge the reach in mm: (separations, stations); ``look`` where ink does not touch or goes on."""
        counts, look_mm = [len(edge) for edge in edges], self.ways.look_mm
        if not self.ways.names or not sum(counts):
            return [np.full((len(self.ways.names), count), look_mm) for count in counts]
        at = Stations(
            np.concatenate([edge.xy for edge in edges]), np.concatenate([edge.outward for edge in edges]), SPACING_MM
        )
        parts = np.cumsum(counts)[:-1]
        near = self._near_the_cut(at)
        if len(near) < len(self.ways.names):
            return self._reaches_of(near, edges)
        touched, doubtful = self._at_a_glance(at)
        wanted = np.concatenate([_not_too_short(part, self.ways.shortest - 1) for part in np.split(doubtful, parts)])
        reach = np.full(touched.shape, look_mm)
        follows = np.zeros(touched.shape[1], np.float32)
        inside = np.zeros(touched.shape, np.float32)
        for rows, offsets, tints in self._closely(at, wanted):
            reach[:, rows], follows[rows], inside[:, rows] = self._through_lines(offsets, tints)
        reach[~touched] = look_mm
        follows[reach.min(0) >= look_mm] = 0
        reach[:, _in_an_angle(at, np.repeat(np.arange(len(edges)), counts), follows > 0, look_mm)] = look_mm
        pictured = self._in_a_picture(at, reach)
        return [
            np.minimum(self._tidied(edge, *columns), self._lined_up(edge, columns[1], unsure))
            for edge, unsure, *columns in zip(edges, np.split(doubtful, parts),
                np.split(reach, parts, axis=1), np.split(touched, parts, axis=1), np.split(follows, parts),
                np.split(pictured, parts), np.split(inside, parts, axis=1), strict=True,
            )
        ]  # fmt: skip

    def _near_the_cut(self, at: Stations) -> list[int]:
        """Those of the inks, by number, that have any ink where they may touch the cut; of a few inks all."""
        names, plates = self.ways.names, self.plates
        if len(names) <= FEW_INKS:
            return list(range(len(names)))
        places = (at.xy[:, None] + at.outward[:, None] * np.array([*TOUCH_MM])[None, :, None]).reshape(-1, 2)
        column, row = np.floor(plates.to_px(places)).astype(int).T
        height, width = plates.ink.shape[1:]
        strip = np.zeros((height, width), bool)
        for down in (-1, 0, 1):
            for across in (-1, 0, 1):
                strip[np.clip(row + down, 0, height - 1), np.clip(column + across, 0, width - 1)] = True
        near = {name for name in names if plates.tint(name)[strip].any()}
        near.update(name for group in one_ink_groups(names) if near.intersection(group) for name in group)
        return [number for number, name in enumerate(names) if name in near]

    def _reaches_of(self, wanted: Sequence[int], edges: Sequence[Stations]) -> list[Floats]:
        """Reaches of some of the inks; the others do not touch."""
        ways = replace(self.ways, names=tuple(self.ways.names[number] for number in wanted))
        found = []
        for edge, own in zip(edges, Looking(self.job, ways, self.unseen).reaches(edges), strict=True):
            whole = np.full((len(self.ways.names), len(edge)), ways.look_mm)
            whole[list(wanted)] = own
            found.append(whole)
        return found

    def _at_a_glance(self, at: Stations) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Which inks touch the cut at each station, and where they may not carry on, on the plates of the page."""
        pixel, ways = self.plates.mm_per_px, self.ways
        within = self._tints(self.plates, at, np.array([*TOUCH_MM]))
        inside = standing_inside(within)
        touched: NDArray[np.bool_] = np.maximum(*np.moveaxis(within, 2, 0)) >= ways.threshold
        rows = np.flatnonzero(touched.any(0))
        outward = self._tints(self.plates, at.part(rows), np.arange(TOUCH_MM[1], ways.look_mm + pixel, pixel))
        least = kept_of(outward, inside[:, rows]).min(1)
        doubtful = np.zeros(len(at), bool)
        doubtful[rows] = least < (ways.share + GLANCE_MARGIN) * inside[:, rows].sum(0)
        return touched, doubtful

    def _tints(self, plates: Plates, at: Stations, offsets_mm: Floats) -> NDArray[np.float32]:
        """See ``tints_along``; what several names of one ink put down counts for the first of them."""
        names = list(self.ways.names)
        tints = tints_along(plates, names, at, offsets_mm)
        for group in one_ink_groups(names):
            first, *others = [names.index(name) for name in group]
            tints[first] += tints[others].sum(0)
            tints[others] = 0
        return tints

    def _windows(self, at: Stations, wanted: NDArray[np.bool_]) -> Iterator[tuple[NDArray[np.int_], Plates]]:
        """Windows at a higher resolution that hold the wanted stations and what lies outward of them."""
        for rows in _in_windows(at, np.flatnonzero(wanted), self.ways.look_mm + 1):
            # What is looked at, from inside the cut outward, and a margin for pixels in between.
            ends = [at.xy[rows] + at.outward[rows] * mm for mm in (TOUCH_MM[0], self.ways.look_mm + 0.5)]
            x0, y0 = np.minimum(*ends).min(0) - WINDOW_MARGIN_MM
            x1, y1 = np.maximum(*ends).max(0) + WINDOW_MARGIN_MM
            box = (max(x0, 0.0), max(y0, 0.0), min(x1, self.job.page.width_mm), min(y1, self.job.page.height_mm))
            if box[0] < box[2] and box[1] < box[3]:
                yield rows, self._window(box)

    def _closely(
        self, at: Stations, wanted: NDArray[np.bool_]
    ) -> Iterator[tuple[NDArray[np.int_], Floats, NDArray[np.float32]]]:
        """The wanted stations, those of several windows at a time: which they are, offsets outward, and tints there.

        The offsets begin somewhat further in than where ink touches; the last of the tints are all other inks.
        """
        held, tints, step = list[NDArray[np.int_]](), list[NDArray[np.float32]](), 0.0
        offsets = np.zeros(0)
        for rows, window in self._windows(at, wanted):
            if held and (window.mm_per_px != step or sum(map(len, held)) >= MOST_AT_ONCE):
                yield np.concatenate(held), offsets, np.concatenate(tints, axis=1)
                held, tints = [], []
            step = window.mm_per_px
            inward = round(BEFORE_MM / step * 2)
            offsets = np.arange(TOUCH_MM[0] - inward * step / 2, self.ways.look_mm + 0.5, step / 2)
            held.append(rows)
            tints.append(self._with_others(window, at.part(rows), offsets))
        if held:
            yield np.concatenate(held), offsets, np.concatenate(tints, axis=1)

    def _with_others(self, window: Plates, at: Stations, offsets: Floats) -> NDArray[np.float32]:
        """Tints of the inks in question, and of all others in sight taken together."""
        known = {*self.ways.names, *self.unseen.separations}
        others = [name for name in window.names if name not in known]
        if len(others) > FEW_INKS:
            others = []  # those near the cut are among the inks in question
        rest = tints_along(window, others, at, offsets).sum(0, keepdims=True)
        return np.concatenate([self._tints(window, at, offsets), np.minimum(rest, 255)])

    def _through_lines(
        self, offsets: Floats, tints: NDArray[np.float32]
    ) -> tuple[Floats, NDArray[np.float32], NDArray[np.float32]]:
        """See ``_close_look``; where ink ends at a line that knocks it out, what is beyond the line counts too."""
        first = int(np.searchsorted(offsets, TOUCH_MM[0] - 1e-9))
        reach, follows, inside = self._close_look(offsets[first:], tints[:-1, :, first:])
        short = np.flatnonzero(reach.min(0) < self.ways.look_mm)
        if len(short):
            through = looked_through(tints[:, short], offsets, self.ways.line_mm)[:-1, :, first:]
            reach[:, short], follows[short], inside[:, short] = self._close_look(offsets[first:], through)
        return reach, follows, inside

    def _close_look(
        self, offsets: Floats, tints: NDArray[np.float32]
    ) -> tuple[Floats, NDArray[np.float32], NDArray[np.float32]]:
        """Reaches (separations, stations), the total of what other ink follows where they end, and the tints inside."""
        ways = self.ways
        zone = int(np.searchsorted(offsets, TOUCH_MM[1] + 1e-9))
        inside = standing_inside(tints[:, :, :zone])
        total = inside.sum(0)
        end = carried_mm(kept_of(tints, inside), total, offsets, ways.share, ways.threshold, TOUCH_MM[1])
        past = offsets[None, :] - end[:, None]
        beyond = np.where((past >= BEYOND_MM[0]) & (past <= BEYOND_MM[1]), tints, 255.0).min(2)
        lost = (inside >= ways.threshold) & (beyond < 0.5 * inside)
        lost |= ~lost.any(0) & (inside == inside.max(0)) & (inside >= ways.threshold)
        bare = total < ways.threshold  # a shape ceases to touch here
        reach = np.where(lost & (end < ways.look_mm), end, ways.look_mm)
        other = beyond.sum(0)
        follows = np.where(bare | (other < ways.threshold), 0, other).astype(np.float32)
        return np.where(bare, offsets[0], reach), follows, inside

    def _in_a_picture(self, at: Stations, reach: Floats) -> NDArray[np.bool_]:
        """Stations where one picture or shading lies on both sides of where ink ends, by the boxes of what is shown."""
        objects = self.job.page.objects
        ends = reach.min(0, initial=self.ways.look_mm)
        rows = placing.painting(objects, np.isin(objects.painted, (Painted.IMAGE, Painted.SHADING)))
        found = ends < self.ways.look_mm
        if not len(rows) or not found.any():
            return np.zeros(len(at), bool)
        inner, outer = at.xy + at.outward * TOUCH_MM[0], at.xy + at.outward * (ends + BEYOND_MM[1])[:, None]
        low, high = np.minimum(inner, outer)[found], np.maximum(inner, outer)[found]
        covered = np.zeros(len(low), bool)
        for x0, y0, x1, y1 in objects.shown_mm[rows].astype(float).tolist():
            covered |= (low[:, 0] >= x0) & (low[:, 1] >= y0) & (high[:, 0] <= x1) & (high[:, 1] <= y1)
        pictured = np.zeros(len(at), bool)
        pictured[found] = covered
        return pictured

    def _tidied(
        self, at: Stations, reach: Floats, touched: NDArray[np.bool_], follows: NDArray[np.float32],
        pictured: NDArray[np.bool_], inside: NDArray[np.float32],
    ) -> Floats:  # fmt: skip
        """Without shapes that cross the cut, changes of colour that do not run along it, and what is too short."""
        ways, rows = self.ways, []
        if reach.min(initial=ways.look_mm) >= ways.look_mm:
            return reach
        for ink, (own, here) in enumerate(zip(reach, touched, strict=True)):
            if own.min(initial=ways.look_mm) >= ways.look_mm:
                rows.append(own)
                continue
            at_fault = self._along_the_cut(own, here, follows, pictured, inside)
            for part in self._alone(own, runs(at_fault)):
                at_fault[slice(*part)] = not (self._is_type(at, part, own) or self._is_strewn(ink, at, part))
            ends = np.where(at_fault, np.maximum(own, 0.0), ways.look_mm)
            for start, stop in runs(at_fault):  # where the rim of a shape meets the end of a ground it is no stretch
                ends[start:stop] = without_short_dips(ends[start:stop], ways.shortest, ways.look_mm)
            rows.append(ends)
        found = self._without_patterns(at, np.stack(rows), bare=reach <= TOUCH_MM[0] + 1e-6)
        return np.stack([without_short_dips(own, ways.shortest, ways.look_mm) for own in found])

    def _along_the_cut(
        self, own: Floats, touched: NDArray[np.bool_], follows: NDArray[np.float32], pictured: NDArray[np.bool_],
        inside: NDArray[np.float32],
    ) -> NDArray[np.bool_]:  # fmt: skip
        """Stations where one ink ends along the cut, neither aslant nor on the edge of a shape."""
        ways, lengths = self.ways, self.ways.lengths
        short, off, changed = own < ways.look_mm, own <= TOUCH_MM[0] + 1e-6, follows > 0
        passing = leading_away(own, touched & ~off, lengths, ways.look_mm)
        for start, stop in runs(off):
            passing[start:stop] |= stop - start < lengths.rim  # it only seemed to touch
        found = along_or_ragged(own, short & ~changed, passing, lengths.shortest, lengths, ways.pattern.to_mm - 0.1)
        for piece in pieces_alike(own, changed & short, SAME_REACH_MM):
            part = slice(*piece)
            if not (pictured[part].any() and float(inside[:, part].std(1).max()) > PLAIN_STEPS):
                faint = float(np.median(follows[part])) < ways.another
                found += along(own, piece, lengths.shortest if faint else lengths.change, lengths)
        at_fault = np.zeros(len(own), bool)
        for start, stop in found:
            at_fault[start:stop] = True
        return at_fault

    def _lined_up(self, at: Stations, touched: NDArray[np.bool_], doubtful: NDArray[np.bool_]) -> Floats:
        """Reaches where narrow shapes of an ink, each too short to count, all end in a line along the cut."""
        ways = self.ways
        found = np.full(touched.shape, ways.look_mm)
        if not (touched & doubtful).any():
            return found
        offsets, wide = offsets_to(ways.pattern.to_mm), ways.lengths.ragged
        last = self._tints(self.plates, at, offsets[-1:])[:, :, 0]
        for ink in np.flatnonzero((touched & doubtful).any(1)).tolist():
            for start, stop in runs(nothing_beyond(last[ink], ways.threshold, wide)):
                if stop - start < wide // 2 or not (touched[ink] & doubtful)[start:stop].any():
                    continue
                close = finer(at.part(np.arange(start, stop)))
                if not are_several(self._tint_of(ink, close, np.array([TOUCH_MM[1]]))[:, 0]):
                    continue
                ends = ends_of(self._tint_of(ink, close, offsets), offsets, ways.threshold)
                for first in range(0, max(1, len(ends) - FINER * wide), FINER * wide):
                    shapes, line = in_line(
                        ends[first : first + 2 * FINER * wide], close.spacing_mm, ways.shortest_mm, float(offsets[-1])
                    )
                    pieces = [(start + (first + a) // FINER, start + -(-(first + b) // FINER)) for a, b in shapes]
                    if not pieces or self._is_type(at, pieces[len(pieces) // 2], np.full(len(at), line)):
                        continue
                    if not self._goes_on(ink, at, max(pieces, key=lambda piece: piece[1] - piece[0]), line):
                        part = slice(pieces[0][0], pieces[-1][1])
                        found[ink, part] = np.minimum(found[ink, part], max(line, 0.0))
        return found

    def _alone(self, own: Floats, parts: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
        """Short ends within an edge that no other end of the ink lines up with, and that are not quite level."""
        lengths = self.ways.lengths
        reach = [float(np.median(own[slice(*part)])) for part in parts]
        found = []
        for n, (start, stop) in enumerate(parts):
            near = [
                abs(reach[n] - reach[m]) < LEVEL_MM
                for m, (a, b) in enumerate(parts)
                if m != n and a - stop < 2 * lengths.ragged and start - b < 2 * lengths.ragged
            ]
            drawn_along = stop - start >= lengths.change and np.ptp(own[start:stop]) <= EXACT_MM
            inside = start > 0 and stop < len(own) and stop - start < lengths.rim
            if inside and not drawn_along and not any(near):
                found.append((start, stop))
        return found

    def _is_strewn(self, ink: int, at: Stations, part: tuple[int, int]) -> bool:
        """Whether an end of the ink is the side of a shape of which there are more inside the carton."""
        tints = self._tint_of(ink, around(at, part), OFFSETS)
        return stand_around(tints, (part[1] - part[0]) * at.spacing_mm, self.ways.pattern.motif_mm)

    def _is_type(self, at: Stations, part: tuple[int, int], own: Floats) -> bool:
        """Whether an end lies within type that goes on past it, by the boxes of what is shown."""
        middle = (part[0] + part[1]) // 2
        x, y = at.xy[middle] + at.outward[middle] * (own[middle] + BEYOND_MM[1])
        x0, y0, x1, y1 = self._type_boxes.T
        return bool(((x0 <= x) & (x <= x1) & (y0 <= y) & (y <= y1)).any())

    @cached_property
    def _type_boxes(self) -> Floats:
        """Boxes of what shows of type, in mm: (n, 4)."""
        objects = self.job.page.objects
        boxes: Floats = objects.shown_mm[placing.painting(objects, objects.painted == Painted.TEXT)].astype(float)
        return boxes

    @cached_property
    def _groups(self) -> dict[str, list[str]]:
        """All names of one ink by the first of them."""
        return {group[0]: list(group) for group in one_ink_groups(self.ways.names)}

    def _tint_of(self, ink: int, at: Stations, offsets_mm: Floats) -> NDArray[np.float32]:
        """Tints of one ink, whatever its names, on the page's plates."""
        name = self.ways.names[ink]
        names = self._groups.get(name, [name])
        tints: NDArray[np.float32] = tints_along(self.plates, names, at, offsets_mm).sum(0)
        return tints

    def _goes_on(self, ink: int, at: Stations, piece: tuple[int, int], reach_mm: float) -> bool:
        """Whether what ends there is a shape of a pattern that goes on past the cut."""
        pattern = self.ways.pattern
        return pattern.goes_on(lambda rows: self._tint_of(ink, at.part(rows), pattern.offsets), at, piece, reach_mm)

    def _without_patterns(self, at: Stations, ends: Floats, bare: NDArray[np.bool_]) -> Floats:
        """Without the shapes of patterns that go on past the cut, whichever of them ends near it.

        Bare stations, beside a shape, go with it.
        """
        look_mm = self.ways.look_mm
        if ends.min(initial=look_mm) >= look_mm:
            return ends
        found = ends.copy()
        for ink, (own, off) in enumerate(zip(found, bare, strict=True)):
            for run in runs(own < look_mm - 0.05):
                part = np.zeros(len(at), bool)
                part[slice(*run)] = True
                for piece in pieces_alike(own, part & ~off, SAME_REACH_MM) or [run]:
                    if self._goes_on(ink, at, piece, float(np.median(own[slice(*piece)]))):
                        own[slice(*piece)] = look_mm
                if look_mm in own[slice(*run)]:
                    for start, stop in runs(part & off & (own < look_mm)):
                        if look_mm in (own[max(0, start - 1)], own[min(len(own) - 1, stop)]):
                            own[start:stop] = look_mm
        return found


def _in_an_angle(at: Stations, edge: NDArray[np.int_], wanted: NDArray[np.bool_], within_mm: float) -> NDArray[np.int_]:
    """Those of the wanted stations that look out to where another edge of the cut bleeds, at an inner corner.

    What one of the two carries on covers the bleed of the other there.
    """
    rows = np.flatnonzero(wanted)
    if not len(rows):
        return rows
    places = at.xy[rows] + at.outward[rows] * TOUCH_MM[0] * -1
    one, other = shapely.STRtree(shapely.points(at.xy)).query(
        shapely.points(places), predicate="dwithin", distance=within_mm
    )
    outside = ((places[one] - at.xy[other]) * at.outward[other]).sum(1) > 0.1
    facing = (at.outward[rows[one]] * at.outward[other]).sum(1) < -0.5
    met = outside & ~facing & (edge[rows[one]] != edge[other])
    found: NDArray[np.int_] = np.unique(rows[one[met]])
    return found


def _not_too_short(mask: NDArray[np.bool_], least: int) -> NDArray[np.bool_]:
    """Runs of at least so many stations."""
    if not mask.any():
        return mask
    result = np.zeros_like(mask)
    for start, stop in runs(mask):
        if stop - start >= least:
            result[start:stop] = True
    return result


def _in_windows(at: Stations, rows: NDArray[np.int_], margin_mm: float) -> list[NDArray[np.int_]]:
    """Stations in windows of a bearable size: neighbours on the line first, then halves of what is too large."""
    if not len(rows):
        return []
    breaks = np.flatnonzero(np.hypot(*np.diff(at.xy[rows], axis=0).T) > 5 * SPACING_MM) + 1
    waiting, windows = np.split(rows, breaks), []
    while waiting:
        part = waiting.pop()
        width, height = np.ptp(at.xy[part], axis=0) + 2 * margin_mm
        if width * height > WINDOW_MM2 and len(part) > 8:
            waiting += [part[: len(part) // 2], part[len(part) // 2 :]]
        else:
            windows.append(part)
    return windows
