"""Each blank of a sheet against its one-up: right, of another version, turned, moved or missing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, Matrix, box_through, inverse, times
from preflight.artwork.page.plates import Plates
from preflight.comparing.comparison import BlankCheck, How, PlateChange, PlatePair
from preflight.comparing.pages.shared_frame import SharedFrame
from preflight.comparing.pixels.plate_difference import difference
from preflight.comparing.sheet.blank_in_words import in_words
from preflight.comparing.sheet.find_art import best_in
from preflight.comparing.sheet.look_at_sheet import DIFFERS, Look, Mask, SheetLooks
from preflight.comparing.sheet.printed_art import DPI, ROUND_MM, PrintedArt, drawn, placed, quarters_of
from preflight.comparing.sheet.sheet_blanks import SheetPlace
from preflight.setup.layout.sheet_layout import through

AT_PLACE_MM: Final = 0.05
"""Art that is no further from where it belongs is not moved: several times what programs round places to."""
CLEARLY: Final = 0.5
"""Another turn, place or version explains what a blank shows where so much less than before is left, or nothing."""
LITTLE: Final = 0.002
"""Of the area: what differs by less is some edit; with more, other turns and places are looked at too."""
SEARCH_MM: Final = 15.0
NOTHING: Final = 0.98
"""Of what should print: with so much of it bare the blank is missing."""
IN_PART: Final = 0.1
"""The same, for a blank that prints in part while the rest of it is right."""
CELL_NUMBER_MM: Final = 8.0
FLAT: Final = 12
"""Levels of 255 that a plain ground varies by."""
SPECK_MM2: Final = 0.1
MOST_SEEN: Final = 8
"""Blanks that are kept to know others by, that look the same."""

Kind = Literal["same", "other", "turned", "moved", "missing"]


@dataclass(frozen=True)
class Audited:
    """One blank with what is said of it beside its verdict."""

    check: BlankCheck
    outside: tuple[tuple[str, Box], ...] = ()
    """Plates that differ outside the cut, and where."""
    number: Box | None = None
    """Something small on a flap that nobody sees, which the one-up does not have: the number of the cell."""


@dataclass
class Auditor:
    """Looks at the blanks of one sheet."""

    sheet: SheetLooks
    arts: Sequence[PrintedArt]
    """The one-up first."""
    cuts: Sequence[tuple[int, BaseGeometry]] = ()
    """Of all blanks by their number, where the sheet has a die."""
    against: Literal["die", "step"] = "die"
    page: int = 1
    meant: Mapping[str, str] = field(default_factory=dict)
    """What the ticket calls each version that it wants on the sheet, by the names of the arts."""
    seen: list[tuple[Look, Audited]] = field(default_factory=list)
    """First looks at blanks that were not drawn as the one-up is, and what they turned out to be."""

    def audit(self, place: SheetPlace) -> Audited:
        """What one blank shows.

        Raises:
            NotMeasured: it cannot be drawn.
        """
        blank = _Blank(self, place)
        if not place.belongs:
            return blank.told("other", says="has another cut than the one-up")
        first = blank.first
        if not first.equal:
            for look, audited in self.seen:
                if blank.looks_as(look, audited):
                    return blank.told_as(look, audited)
        found = blank.found
        bare = blank.bare(found)
        audited = blank.told("missing", bare=bare) if place.empty or bare >= NOTHING else blank.verdict(found)
        if not first.equal and len(self.seen) < MOST_SEEN:
            self.seen.append((first, audited))
        return audited


@dataclass
class _Blank:
    """One blank, looked at."""

    auditor: Auditor
    place: SheetPlace

    @property
    def sheet(self) -> SheetLooks:
        return self.auditor.sheet

    @property
    def one_up(self) -> PrintedArt:
        return self.auditor.arts[0]

    # Which art, and where ------------------------------------------------------------------------------------------

    @cached_property
    def _looks(self) -> list[Look]:
        """The one-up in every way that it belongs, or where the art was found."""
        starts = [self.place.found] if self.place.found is not None else list(self.place.belongs)
        return [self.sheet.look(self.one_up, matrix, self.place.cut) for matrix in starts]

    @cached_property
    def first(self) -> Look:
        """The likeliest of them."""
        return min(self._looks, key=lambda look: look.share)

    @property
    def frame(self) -> SharedFrame | None:
        """How the one-up's page belongs on the sheet's there, by the likeliest way; None where it fits nowhere."""
        if not self.place.belongs:
            return None
        seen = self.first.matrix

        def off(way: Matrix) -> tuple[int, float]:
            return (quarters_of(seen) - quarters_of(way)) % 4, float(np.hypot(seen[4] - way[4], seen[5] - way[5]))

        way = min(self.place.belongs, key=off)
        lies = times(self.one_up.to_frame, way)
        return SharedFrame(quarters_of(lies), (lies[4], lies[5]), "die" if self.auditor.against == "die" else "content")

    @cached_property
    def found(self) -> Look:
        """The art that it shows where it shows it: as it should be, if that is one way to see it."""
        best, looks = self.first, self._looks
        if best.equal:
            return best
        for art in self.auditor.arts[1:]:
            for look in looks:
                if (other := self.sheet.as_seen_by(look, art, self.place.cut)).equal:
                    return other
        if self.bare(best) >= NOTHING:
            return best
        best = self.sheet.settled(self.one_up, best.matrix, self.place.cut)
        if best.share > LITTLE:
            for matrix in self._other_places(self.one_up):
                best = _better(best, self.sheet.settled(self.one_up, matrix, self.place.cut))
        for art in self.auditor.arts[1:]:
            if (other := self.sheet.as_seen_by(best, art, self.place.cut)).equal:
                return other
            if best.share:
                best = _better(best, self._best_of(art, best))
        return best

    def _best_of(self, art: PrintedArt, seen: Look) -> Look:
        """A version where the one-up was seen, or near by where that does not explain what is there."""
        best = self.sheet.as_seen_by(seen, art, self.place.cut)
        if best.share <= LITTLE:
            return best
        best = self.sheet.settled(art, seen.matrix, self.place.cut)
        if best.share > LITTLE:
            for other in self._other_places(art):
                best = _better(best, self.sheet.settled(art, other, self.place.cut))
        return best

    def _other_places(self, art: PrintedArt) -> Iterator[Matrix]:
        """Where the art may lie else: the best place near by in each of the likeliest turns."""
        x0, y0, x1, y1 = self.place.box_mm
        far = max(0.0, (max(art.size_mm) - min(x1 - x0, y1 - y0)) / 2) + SEARCH_MM
        around = (x0 - far, y0 - far, x1 + far, y1 + far)
        part = self.sheet.padded(around)
        for found in best_in(part, self.sheet.order, art)[:2]:
            yield found.matrix

    # Blanks that look as one before --------------------------------------------------------------------------------

    def looks_as(self, look: Look, audited: Audited) -> bool:
        """Whether it looks as another did, which lies as far from where it belongs."""
        first = self.first
        if quarters_of(first.matrix) != quarters_of(look.matrix) or first.new.shape != look.new.shape:
            return False
        if self.place.found is not None and (audited.check.kind != "same" or self._is_off(first.matrix)):
            return False
        return replace(first, old=look.new).equal

    def _is_off(self, matrix: Matrix) -> bool:
        turned, moved = self._off(matrix)
        return bool(turned) or float(np.hypot(*moved)) > AT_PLACE_MM

    def told_as(self, look: Look, audited: Audited) -> Audited:
        """What was said of that one, at the place of this one."""
        right, up = (self.first.matrix[at] - look.matrix[at] for at in (4, 5))

        def moved(box: Box) -> Box:
            return (box[0] + right, box[1] + up, box[2] + right, box[3] + up)

        plates = tuple(
            replace(plate, places=tuple((moved(box), page) for box, page in plate.places))
            for plate in audited.check.plates
        )
        number = self.place.number
        says = audited.check.says.replace(f"Blank {audited.check.number} ", f"Blank {number} ", 1)
        check = replace(audited.check, number=number, box_mm=self._box, plates=plates, says=says, frame=self.frame)
        outside = tuple((name, moved(box)) for name, box in audited.outside)
        return Audited(check, outside, audited.number and moved(audited.number))

    def bare(self, look: Look) -> float:
        """Of what the one-up prints there: share that is bare."""
        inked = np.count_nonzero(look.inked)
        return np.count_nonzero(look.bare) / inked if inked else 0.0

    # What it is ----------------------------------------------------------------------------------------------------

    def verdict(self, found: Look) -> Audited:
        """What is said of a blank that shows some art at some place."""
        turned, moved = self._off(found.matrix)
        differing, largest = ((), found.largest_mm) if found.equal else self._differing(found)
        cell = self._cell_number(found)
        if cell is not None:
            found = cell[0]
            differing, largest = self._differing(found)
        off = float(np.hypot(*moved)) > AT_PLACE_MM
        plates, further = self._against_one_up(found, differing)
        version = None if plates and found.art is self.one_up else self._called(found.art)
        bare = self.bare(found)
        rest = np.count_nonzero((found.apart >= DIFFERS) & ~_grown(found.bare))
        kind: Kind = "turned" if turned else "moved" if off else "same"
        if bare >= IN_PART and rest <= LITTLE * max(1, int(np.count_nonzero(found.inside))):
            kind, plates, further, version = "missing", (), (), None
        elif plates or version not in self._own:
            kind = "other"
        largest = max(largest, float(np.hypot(*moved)) if not turned else 0.0)
        shift = moved if off else (0.0, 0.0)
        told = self.told(kind, version, turned, shift, plates, largest, further=further, bare=bare)
        outside = tuple(self._outside(found)) if kind != "missing" else ()
        return replace(told, outside=outside, number=cell[1] if cell is not None else None)

    def _against_one_up(
        self, found: Look, differing: tuple[PlateChange, ...]
    ) -> tuple[tuple[PlateChange, ...], tuple[PlateChange, ...]]:
        """Plates that are not as they should be, and those that are not as the version that is shown has them either.

        What the ticket wants on the sheet is as it should be; any other version is held against the one-up.
        """
        if found.art is self.one_up or found.art.name in self.auditor.meant:
            return differing, ()
        return self._differing(self.sheet.as_seen_by(found, self.one_up, self.place.cut))[0], differing

    def _called(self, art: PrintedArt) -> str:
        return self.auditor.meant.get(art.name, art.name)

    @property
    def _own(self) -> set[str | None]:
        """What blanks that are right may be called."""
        return {None, self._called(self.one_up), *self.auditor.meant.values()}

    def _off(self, matrix: Matrix) -> tuple[float, tuple[float, float]]:
        """Turn and shift against where it belongs, by the way that it belongs in which is nearest.

        What is turned is so about the middle of its cut; where that is not known its shift is not.
        """

        def off(way: Matrix) -> tuple[int, float, float]:
            quarters = (quarters_of(matrix) - quarters_of(way)) % 4
            about = self._middle if quarters else (0.0, 0.0)
            back = times(way, (1, 0, 0, 1, -about[0], -about[1]))
            meant = times(times(back, placed(quarters, 0.0, 0.0)), (1, 0, 0, 1, *about))
            return quarters, matrix[4] - meant[4], matrix[5] - meant[5]

        quarters, right, up = min(map(off, self.place.belongs), key=lambda each: (each[0] > 0, np.hypot(*each[1:])))
        if quarters and self.place.cut is None and self.one_up.known_by == "print":
            right = up = 0.0
        return (0.0, 90.0, 180.0, -90.0)[quarters], (round(right, 4), round(up, 4))

    @property
    def _box(self) -> Box:
        x0, y0, x1, y1 = self.place.box_mm
        return (round(x0, 3), round(y0, 3), round(x1, 3), round(y1, 3))

    @property
    def _middle(self) -> tuple[float, float]:
        """Of its cut, on the page."""
        x0, y0, x1, y1 = self.place.box_mm
        return (x0 + x1) / 2, (y0 + y1) / 2

    def _differing(self, look: Look) -> tuple[tuple[PlateChange, ...], float]:
        """Plates that differ inside, and the largest deviation of all."""
        found, largest = [], 0.0
        for name, old, new in zip(self.sheet.order, look.old, look.new, strict=True):
            if np.array_equal(old, new) or not ((old != new) & look.inside).any():
                continue
            here = np.where(look.inside, new, old)
            pair = PlatePair(old, here, look.inside, DPI, look.box_mm)
            told = difference(pair, partial(self._closer, look, name))
            largest = max(largest, told.largest_mm)
            if told.how != "none":
                places = tuple((box, self.auditor.page) for box in told.blobs)
                own, how = self.sheet.names.get(name, name), told.how
                change: How = "gone" if name not in self.sheet.names else "new" if name not in look.art.names else how
                found.append(
                    PlateChange(own, change, told.share, told.moved_mm, told.tone_percent, places, also=told.also)
                )
        return tuple(found), largest

    def _closer(self, look: Look, name: str, box: Box, dpi: float) -> PlatePair:
        """One plate in a part of the blank, at a higher resolution."""
        art, mm = look.art, 25.4 / dpi
        wide, high = (math.ceil(side / mm - 1e-6) * mm for side in (box[2] - box[0], box[3] - box[1]))
        box = (box[0], box[3] - high, box[0] + wide, box[3])  # whole pixels, which may be turned
        to_frame = inverse(look.matrix)
        upright = drawn(art.page, inverse(art.to_frame), box_through(to_frame, box), dpi, art.names, [name])[0]
        old = np.rot90(upright, quarters_of(look.matrix))
        new = self.sheet.window(box, dpi)[0][self.sheet.order.index(name)]
        plates = Plates((), new[None], dpi, box)
        inside = plates.mask_of(self.sheet.compared(art, look.matrix, self.place.cut))
        return PlatePair(old, np.where(inside, new, old), inside, dpi, box)

    def _cell_number(self, look: Look) -> tuple[Look, Box] | None:
        """The look without something small on a flap that nobody sees, printed where the art has a plain ground."""
        flaps = through(look.matrix, look.art.flaps)
        differs = look.apart >= DIFFERS
        if flaps.is_empty or not differs.any():
            return None
        plates = Plates((), look.new, DPI, look.box_mm)
        for flap in shapely.get_parts(flaps):
            here = differs & plates.mask_of(flap)
            if not here.any():
                continue
            box = plates.box_of(here)
            rows, columns = plates.slices(box, round_px=1)
            ground = look.old[:, rows, columns]
            small = max(box[2] - box[0], box[3] - box[1]) <= CELL_NUMBER_MM
            if small and int((ground.max((1, 2)).astype(int) - ground.min((1, 2))).max()) <= FLAT:
                new = look.new.copy()
                new[:, rows, columns] = ground
                return replace(look, new=new), box
        return None

    def _outside(self, look: Look) -> Iterator[tuple[str, Box]]:
        """Plates that differ within a millimetre outside the cut, off what neighbours may lay there."""
        if self.place.cut is None or look.art.cut is None:
            return
        others = [cut for number, cut in self.auditor.cuts if number != self.place.number]
        zone = shapely.difference(shapely.buffer(self.place.cut, ROUND_MM - 0.2), shapely.buffer(self.place.cut, 0.25))
        near = [shapely.buffer(cut, 2 * ROUND_MM) for cut in others if cut.distance(self.place.cut) < 4 * ROUND_MM]
        zone = shapely.difference(zone, shapely.union_all(near)) if near else zone
        plates = Plates((), look.new, DPI, look.box_mm)
        mask = plates.mask_of(zone)
        for name, old, new in zip(self.sheet.order, look.old, look.new, strict=True):
            apart = (np.maximum(old, new) - np.minimum(old, new) >= DIFFERS) & mask
            if np.count_nonzero(apart) * plates.mm_per_px**2 > SPECK_MM2:
                yield self.sheet.names.get(name, name), plates.box_of(apart)

    def told(
        self,
        kind: Kind,
        version: str | None = None,
        turned: float = 0.0,
        moved: tuple[float, float] = (0.0, 0.0),
        plates: tuple[PlateChange, ...] = (),
        largest: float = 0.0,
        *,
        further: tuple[PlateChange, ...] = (),
        bare: float = 1.0,
        says: str = "",
    ) -> Audited:
        """The verdict with its sentence."""
        check = BlankCheck(
            self.place.number,
            self._box,
            kind,
            version,
            turned,
            moved,
            plates,
            round(largest, 3),
            page=self.auditor.page,
            frame=self.frame,
        )
        if says:
            return Audited(replace(check, says=f"Blank {check.number} {says}."))
        shown = None if version in self._own else version
        return Audited(replace(check, says=in_words(check, shown, self.auditor.against, further=further, bare=bare)))


def _better(one: Look, other: Look) -> Look:
    """The other look, where it leaves clearly less to explain."""
    return other if other.share < CLEARLY * one.share else one


def _grown(mask: Mask) -> Mask:
    """A mask and two pixels round it."""
    for _ in range(2):
        padded = np.pad(mask, 1)
        mask = padded[1:-1, 1:-1] | padded[:-2, 1:-1] | padded[2:, 1:-1] | padded[1:-1, :-2] | padded[1:-1, 2:]
    return np.asarray(mask)
