"""Which of the ends that were found along the cut are faults, and which the edges of shapes that cross it.

Reaches have one row an ink and one entry a station, in mm from the cut; ``look_mm`` where nothing is at fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures import object_places
from preflight.measures.bleed.bleed_settings import BEYOND_MM, TOUCH_MM, BleedSettings
from preflight.measures.bleed.ends_in_a_row import (
    FINER,
    are_several,
    ends_of,
    finer,
    in_line,
    nothing_beyond,
    offsets_to,
)
from preflight.measures.bleed.level_ends import along, along_or_ragged, leading_away
from preflight.measures.bleed.scattered_shapes import OFFSETS, around, stand_around
from preflight.measures.one_ink import one_ink_groups
from preflight.measures.raster.profiles import (
    LEVEL_MM,
    Floats,
    Stations,
    pieces_alike,
    runs,
    tints_along,
    without_short_dips,
)

SAME_REACH_MM: Final = 0.3
"""A step in the reach along an edge larger than this parts two stretches."""
PLAIN_STEPS: Final = 3.0
"""A colour whose tints vary by no more than this many of 255 steps is plain, and no part of a picture's drawing."""
EXACT_MM: Final = 0.05
"""Ends that differ by no more are drawn along the cut; those of shapes that lie there by chance slant a little."""


@dataclass(frozen=True)
class InkEnds:
    """Ends of the inks along the cut, beside what else is on the page."""

    job: Job
    settings: BleedSettings
    plates: Plates
    """The whole page at 100 dpi, without the die."""

    def in_a_picture(self, at: Stations, reach: Floats) -> NDArray[np.bool_]:
        """Stations where one picture or shading lies on both sides of where ink ends, by the boxes of what is shown."""
        objects = self.job.page.objects
        ends = reach.min(0, initial=self.settings.look_mm)
        rows = object_places.painting(objects, np.isin(objects.painted, (Painted.IMAGE, Painted.SHADING)))
        found = ends < self.settings.look_mm
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

    def tidied(
        self,
        at: Stations,
        reach: Floats,
        touched: NDArray[np.bool_],
        follows: NDArray[np.float32],
        pictured: NDArray[np.bool_],
        inside: NDArray[np.float32],
    ) -> Floats:
        """Without shapes that cross the cut, changes of colour that do not run along it, and what is too short."""
        settings, rows = self.settings, []
        if reach.min(initial=settings.look_mm) >= settings.look_mm:
            return reach
        for ink, (own, here) in enumerate(zip(reach, touched, strict=True)):
            if own.min(initial=settings.look_mm) >= settings.look_mm:
                rows.append(own)
                continue
            at_fault = self._along_the_cut(own, here, follows, pictured, inside)
            for part in self._alone(own, runs(at_fault)):
                at_fault[slice(*part)] = not (self._is_type(at, part, own) or self._is_strewn(ink, at, part))
            ends = np.where(at_fault, np.maximum(own, 0.0), settings.look_mm)
            for start, stop in runs(at_fault):  # where the rim of a shape meets the end of a ground it is no stretch
                ends[start:stop] = without_short_dips(ends[start:stop], settings.shortest, settings.look_mm)
            rows.append(ends)
        found = self._without_patterns(at, np.stack(rows), bare=reach <= TOUCH_MM[0] + 1e-6)
        return np.stack([without_short_dips(own, settings.shortest, settings.look_mm) for own in found])

    def _along_the_cut(
        self,
        own: Floats,
        touched: NDArray[np.bool_],
        follows: NDArray[np.float32],
        pictured: NDArray[np.bool_],
        inside: NDArray[np.float32],
    ) -> NDArray[np.bool_]:
        """Stations where one ink ends along the cut, neither aslant nor on the edge of a shape."""
        settings, lengths = self.settings, self.settings.lengths
        short, off, changed = own < settings.look_mm, own <= TOUCH_MM[0] + 1e-6, follows > 0
        passing = leading_away(own, touched & ~off, lengths, settings.look_mm)
        for start, stop in runs(off):
            passing[start:stop] |= stop - start < lengths.rim  # it only seemed to touch
        found = along_or_ragged(own, short & ~changed, passing, lengths.shortest, lengths, settings.pattern.to_mm - 0.1)
        for piece in pieces_alike(own, changed & short, SAME_REACH_MM):
            part = slice(*piece)
            if not (pictured[part].any() and float(inside[:, part].std(1).max()) > PLAIN_STEPS):
                faint = float(np.median(follows[part])) < settings.another
                found += along(own, piece, lengths.shortest if faint else lengths.change, lengths)
        at_fault = np.zeros(len(own), bool)
        for start, stop in found:
            at_fault[start:stop] = True
        return at_fault

    def lined_up(self, at: Stations, touched: NDArray[np.bool_], doubtful: NDArray[np.bool_]) -> Floats:
        """Reaches where narrow shapes of an ink, each too short to count, all end in a line along the cut."""
        settings = self.settings
        found = np.full(touched.shape, settings.look_mm)
        if not (touched & doubtful).any():
            return found
        offsets, wide = offsets_to(settings.pattern.to_mm), settings.lengths.ragged
        last = self.settings.tints(self.plates, at, offsets[-1:])[:, :, 0]
        for ink in np.flatnonzero((touched & doubtful).any(1)).tolist():
            for start, stop in runs(nothing_beyond(last[ink], settings.threshold, wide)):
                if stop - start < wide // 2 or not (touched[ink] & doubtful)[start:stop].any():
                    continue
                close = finer(at.part(np.arange(start, stop)))
                if not are_several(self._tint_of(ink, close, np.array([TOUCH_MM[1]]))[:, 0]):
                    continue
                ends = ends_of(self._tint_of(ink, close, offsets), offsets, settings.threshold)
                for first in range(0, max(1, len(ends) - FINER * wide), FINER * wide):
                    shapes, line = in_line(
                        ends[first : first + 2 * FINER * wide],
                        close.spacing_mm,
                        settings.shortest_mm,
                        float(offsets[-1]),
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
        lengths = self.settings.lengths
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
        return stand_around(tints, (part[1] - part[0]) * at.spacing_mm, self.settings.pattern.motif_mm)

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
        boxes: Floats = objects.shown_mm[object_places.painting(objects, objects.painted == Painted.TEXT)].astype(float)
        return boxes

    @cached_property
    def _groups(self) -> dict[str, list[str]]:
        """All names of one ink by the first of them."""
        return {group[0]: list(group) for group in one_ink_groups(self.settings.names)}

    def _tint_of(self, ink: int, at: Stations, offsets_mm: Floats) -> NDArray[np.float32]:
        """Tints of one ink, whatever its names, on the page's plates."""
        name = self.settings.names[ink]
        names = self._groups.get(name, [name])
        tints: NDArray[np.float32] = tints_along(self.plates, names, at, offsets_mm).sum(0)
        return tints

    def _goes_on(self, ink: int, at: Stations, piece: tuple[int, int], reach_mm: float) -> bool:
        """Whether what ends there is a shape of a pattern that goes on past the cut."""
        pattern = self.settings.pattern
        return pattern.goes_on(lambda rows: self._tint_of(ink, at.part(rows), pattern.offsets), at, piece, reach_mm)

    def _without_patterns(self, at: Stations, ends: Floats, bare: NDArray[np.bool_]) -> Floats:
        """Without the shapes of patterns that go on past the cut, whichever of them ends near it.

        Bare stations, beside a shape, go with it.
        """
        look_mm = self.settings.look_mm
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


def in_an_angle(at: Stations, edge: NDArray[np.int_], wanted: NDArray[np.bool_], within_mm: float) -> NDArray[np.int_]:
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
