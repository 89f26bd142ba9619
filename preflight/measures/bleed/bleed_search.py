"""Whether the inks inside the cut carry on past it: at a glance on the page's plates, and closely where they do not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Alteration
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures.bleed.bleed_settings import BEYOND_MM, SPACING_MM, TOUCH_MM, BleedSettings
from preflight.measures.bleed.ends_at_cut import InkEnds, in_an_angle
from preflight.measures.bleed.keylines import looked_through
from preflight.measures.one_ink import one_ink_groups
from preflight.measures.raster.close_looks import on_page
from preflight.measures.raster.profiles import (
    Floats,
    Stations,
    carried_mm,
    kept_of,
    runs,
    standing_inside,
    tints_along,
)

FEW_INKS: Final = 24
CLOSE_DPI: Final = 300.0
MOST_AT_ONCE: Final = 500
"""Stations whose tints are held at once."""
WINDOW_MM2: Final = 4000.0
WINDOW_MARGIN_MM: Final = 0.3
GLANCE_MARGIN: Final = 0.08
"""Kept by so much more than what has to be, at a glance: the page's pixels are coarse."""
BEFORE_MM: Final = 0.25
"""So much further in than where ink touches lines on the cut are looked for."""


@dataclass(frozen=True)
class DieLeftOut:
    """What is taken off the plates before anybody looks: lines of the die and what knocks out without printing."""

    separations: frozenset[str] = frozenset()
    """Separations whose objects neither paint nor knock out."""
    rows: tuple[int, ...] = ()
    """Objects that do neither: the die where it is drawn in an ink. They hold those of the separations too."""


@dataclass
class BleedSearch:
    """The search along the cut, on plates without the die."""

    job: Job
    settings: BleedSettings
    left_out: DieLeftOut

    @cached_property
    def plates(self) -> Plates:
        """The whole page at 100 dpi."""
        plates = self.job.plates
        if self.left_out.rows:
            return self.job.page.altered(Alteration(left_out=self.left_out.rows), plates.dpi)
        without = self.left_out.separations
        return self.job.page.plates(plates.dpi, without=without) if without else plates

    def _window(self, box: Box) -> Plates:
        if self.left_out.rows:
            return self.job.page.altered(Alteration(left_out=self.left_out.rows), CLOSE_DPI, box)
        return self.job.page.window(box, CLOSE_DPI, without=self.left_out.separations)

    def reaches(self, edges: Sequence[Stations]) -> list[Floats]:
        """For each edge the reach in mm: (separations, stations); ``look`` where ink does not touch or goes on."""
        counts, look_mm = [len(edge) for edge in edges], self.settings.look_mm
        if not self.settings.names or not sum(counts):
            return [np.full((len(self.settings.names), count), look_mm) for count in counts]
        at = Stations(
            np.concatenate([edge.xy for edge in edges]), np.concatenate([edge.outward for edge in edges]), SPACING_MM
        )
        parts = np.cumsum(counts)[:-1]
        near = self._near_the_cut(at)
        if len(near) < len(self.settings.names):
            return self._reaches_of(near, edges)
        touched, doubtful = self._at_a_glance(at)
        wanted = np.concatenate(
            [_not_too_short(part, self.settings.shortest - 1) for part in np.split(doubtful, parts)]
        )
        reach = np.full(touched.shape, look_mm)
        follows = np.zeros(touched.shape[1], np.float32)
        inside = np.zeros(touched.shape, np.float32)
        for rows, offsets, tints in self._closely(at, wanted):
            reach[:, rows], follows[rows], inside[:, rows] = self._through_lines(offsets, tints)
        reach[~touched] = look_mm
        follows[reach.min(0) >= look_mm] = 0
        reach[:, in_an_angle(at, np.repeat(np.arange(len(edges)), counts), follows > 0, look_mm)] = look_mm
        ends = InkEnds(self.job, self.settings, self.plates)
        pictured = ends.in_a_picture(at, reach)
        return [
            np.minimum(ends.tidied(edge, *columns), ends.lined_up(edge, columns[1], unsure))
            for edge, unsure, *columns in zip(
                edges,
                np.split(doubtful, parts),
                np.split(reach, parts, axis=1),
                np.split(touched, parts, axis=1),
                np.split(follows, parts),
                np.split(pictured, parts),
                np.split(inside, parts, axis=1),
                strict=True,
            )
        ]

    def _near_the_cut(self, at: Stations) -> list[int]:
        """Those of the inks, by number, that have any ink where they may touch the cut; of a few inks all."""
        names, plates = self.settings.names, self.plates
        if len(names) <= FEW_INKS:
            return list(range(len(names)))
        places = (at.xy[:, None] + at.outward[:, None] * np.array([*TOUCH_MM])[None, :, None]).reshape(-1, 2)
        row, column = plates.pixels_at(places)
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
        settings = replace(self.settings, names=tuple(self.settings.names[number] for number in wanted))
        found = []
        for edge, own in zip(edges, BleedSearch(self.job, settings, self.left_out).reaches(edges), strict=True):
            whole = np.full((len(self.settings.names), len(edge)), settings.look_mm)
            whole[list(wanted)] = own
            found.append(whole)
        return found

    def _at_a_glance(self, at: Stations) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Which inks touch the cut at each station, and where they may not carry on, on the plates of the page."""
        pixel, settings = self.plates.mm_per_px, self.settings
        within = self.settings.tints(self.plates, at, np.array([*TOUCH_MM]))
        inside = standing_inside(within)
        touched: NDArray[np.bool_] = np.maximum(*np.moveaxis(within, 2, 0)) >= settings.threshold
        rows = np.flatnonzero(touched.any(0))
        outward = self.settings.tints(
            self.plates, at.part(rows), np.arange(TOUCH_MM[1], settings.look_mm + pixel, pixel)
        )
        least = kept_of(outward, inside[:, rows]).min(1)
        doubtful = np.zeros(len(at), bool)
        doubtful[rows] = least < (settings.share + GLANCE_MARGIN) * inside[:, rows].sum(0)
        return touched, doubtful

    def _windows(self, at: Stations, wanted: NDArray[np.bool_]) -> Iterator[tuple[NDArray[np.int_], Plates]]:
        """Windows at a higher resolution that hold the wanted stations and what lies outward of them."""
        for rows in _in_windows(at, np.flatnonzero(wanted), self.settings.look_mm + 1):
            # What is looked at, from inside the cut outward, and a margin for pixels in between.
            ends = [at.xy[rows] + at.outward[rows] * mm for mm in (TOUCH_MM[0], self.settings.look_mm + 0.5)]
            x0, y0 = np.minimum(*ends).min(0) - WINDOW_MARGIN_MM
            x1, y1 = np.maximum(*ends).max(0) + WINDOW_MARGIN_MM
            box = on_page(self.job.page, (x0, y0, x1, y1))
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
            offsets = np.arange(TOUCH_MM[0] - inward * step / 2, self.settings.look_mm + 0.5, step / 2)
            held.append(rows)
            tints.append(self._with_others(window, at.part(rows), offsets))
        if held:
            yield np.concatenate(held), offsets, np.concatenate(tints, axis=1)

    def _with_others(self, window: Plates, at: Stations, offsets: Floats) -> NDArray[np.float32]:
        """Tints of the inks in question, and of all others in sight taken together."""
        known = {*self.settings.names, *self.left_out.separations}
        others = [name for name in window.names if name not in known]
        if len(others) > FEW_INKS:
            others = []  # those near the cut are among the inks in question
        rest = tints_along(window, others, at, offsets).sum(0, keepdims=True)
        return np.concatenate([self.settings.tints(window, at, offsets), np.minimum(rest, 255)])

    def _through_lines(
        self, offsets: Floats, tints: NDArray[np.float32]
    ) -> tuple[Floats, NDArray[np.float32], NDArray[np.float32]]:
        """See ``_close_look``; where ink ends at a line that knocks it out, what is beyond the line counts too."""
        first = int(np.searchsorted(offsets, TOUCH_MM[0] - 1e-9))
        reach, follows, inside = self._close_look(offsets[first:], tints[:-1, :, first:])
        short = np.flatnonzero(reach.min(0) < self.settings.look_mm)
        if len(short):
            through = looked_through(tints[:, short], offsets, self.settings.line_mm)[:-1, :, first:]
            reach[:, short], follows[short], inside[:, short] = self._close_look(offsets[first:], through)
        return reach, follows, inside

    def _close_look(
        self, offsets: Floats, tints: NDArray[np.float32]
    ) -> tuple[Floats, NDArray[np.float32], NDArray[np.float32]]:
        """Reaches (separations, stations), the total of what other ink follows where they end, and the tints inside."""
        settings = self.settings
        zone = int(np.searchsorted(offsets, TOUCH_MM[1] + 1e-9))
        inside = standing_inside(tints[:, :, :zone])
        total = inside.sum(0)
        end = carried_mm(kept_of(tints, inside), total, offsets, settings.share, settings.threshold, TOUCH_MM[1])
        past = offsets[None, :] - end[:, None]
        beyond = np.where((past >= BEYOND_MM[0]) & (past <= BEYOND_MM[1]), tints, 255.0).min(2)
        lost = (inside >= settings.threshold) & (beyond < 0.5 * inside)
        lost |= ~lost.any(0) & (inside == inside.max(0)) & (inside >= settings.threshold)
        bare = total < settings.threshold  # a shape ceases to touch here
        reach = np.where(lost & (end < settings.look_mm), end, settings.look_mm)
        other = beyond.sum(0)
        follows = np.where(bare | (other < settings.threshold), 0, other).astype(np.float32)
        return np.where(bare, offsets[0], reach), follows, inside


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
