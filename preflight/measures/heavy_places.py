"""What lies at a place of much ink, in inks that add up to its total, and how large it is above each level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.findings import Beyond
from preflight.job import Job
from preflight.measures.raster import masks

STEP_PERCENT: Final = 1.0
LEAST_TOLD: Final = 0.5
"""Tints in % from which on an ink is named."""
PART_TOLD: Final = 0.01
"""Part of a per cent under which a tint is a whole figure."""


@dataclass(frozen=True)
class HeavyPlace:
    """Cells that hang together on a grid over the plates, and their averaged totals in %, 0 in other cells."""

    job: Job
    hits: Mapping[str, int]
    """Inks that count, and how often each is printed."""
    region: masks.Region
    totals: NDArray[np.float32]
    cell_mm: float

    @property
    def plates(self) -> Plates:
        """The plates of the page."""
        return self.job.plates

    def box(self, rows: tuple[int, int], columns: tuple[int, int]) -> Box:
        """Averaging squares of the cells in rows and columns, mm; each reaches over the cell to its right and below."""
        x0, _, _, y1 = self.plates.box_mm
        left, right = (x0 + (self.region.columns[0] + n) * self.cell_mm for n in columns)
        top, bottom = (y1 - (self.region.rows[0] + n) * self.cell_mm for n in rows)
        return (left, bottom - self.cell_mm, right + self.cell_mm, top)

    def lost_in_steps(self, box: Box) -> float:
        """By how much the total is off in a box, in %, because plates are in whole steps."""
        return sum(_lost_in_steps(self.job, name, count, box) for name, count in self.hits.items())

    def inks_at(self, level: float, total: float) -> dict[str, int]:
        """Inks in % where the place has a level, heaviest first; they add up to ``total``, rounded."""
        row, column = _at_level(self.totals, level)
        box, plates = self.box((row, row + 1), (column, column + 1)), self.plates
        tints = {
            name: float(plates.tint(name)[plates.slices(box)].mean()) / 2.55 * count
            + _lost_in_steps(self.job, name, count, box)
            for name, count in self.hits.items()
        }
        return _adding_up(tints, total)

    def areas(self, start: float, steps: float) -> Beyond:
        """How much lies above each level from ``start`` on, in cm2: of the averaged totals, or of the pixels if more.

        ``steps`` is what the plates are off by.
        """
        pixels = self._pixels()
        most = max(float(self.totals.max()), float(pixels.max(initial=0))) + steps
        levels = np.arange(start, most + STEP_PERCENT, STEP_PERCENT / 2)
        found = [
            size_mm**2 / 100 * (values.size - np.searchsorted(np.sort(values, axis=None), levels - steps, "right"))
            for values, size_mm in ((self.totals, self.cell_mm), (pixels, self.plates.mm_per_px))
        ]
        return Beyond(tuple(levels.tolist()), tuple(np.round(np.maximum(*found), 1).tolist()), "cm2")

    def _pixels(self) -> NDArray[np.float32]:
        """Totals of the pixels inside the cut in the averaging squares of the cells."""
        side = round(self.cell_mm / self.plates.mm_per_px)
        rows, columns = (slice(a * side, (b + 1) * side) for a, b in (self.region.rows, self.region.columns))
        squares = np.pad(self.totals > 0, ((0, 1), (0, 1)))
        squares[1:] |= squares[:-1].copy()
        squares[:, 1:] |= squares[:, :-1].copy()
        inside = self.job.inside_mask[rows, columns]
        inside = inside & np.repeat(np.repeat(squares, side, 0), side, 1)[: inside.shape[0], : inside.shape[1]]
        total = np.zeros(inside.shape, np.uint16)
        for name, count in self.hits.items():
            total += self.plates.tint(name)[rows, columns] * np.uint16(count)
        return (total[inside] / 2.55).astype(np.float32)


def _at_level(totals: NDArray[np.float32], level: float) -> tuple[int, int]:
    """Row and column of a cell that has a level: within the place that keeps to it, else at its edge."""
    within = masks.taken_off(totals >= level, 1.5)
    off = np.abs(totals - level)
    best = np.where(within, off, np.inf)
    if best.min() > STEP_PERCENT:
        best = off
    row, column = np.unravel_index(int(best.argmin()), totals.shape)
    return int(row), int(column)


def _adding_up(tints: Mapping[str, float], total: float) -> dict[str, int]:
    """Whole tints, heaviest first, that add up to a total: the largest remainders are rounded up.

    Where the place carries a little more than the total, one is taken off of tints that are no whole figures.
    """
    whole = {name: int(tint + 1e-3) for name, tint in tints.items() if tint >= LEAST_TOLD}
    spare = round(total) - sum(whole.values())
    for name in sorted(whole, key=lambda name: whole[name] - tints[name])[: max(0, spare)]:
        whole[name] += 1
    broken = (name for name in whole if tints[name] - whole[name] > PART_TOLD)
    for name in sorted(broken, key=lambda name: tints[name] - whole[name])[: max(0, -spare)]:
        whole[name] -= 1
    return {name: whole[name] for name in sorted(whole, key=lambda name: -tints[name]) if whole[name]}


def _lost_in_steps(job: Job, name: str, count: int, box: Box) -> float:
    """By how much a plate in whole steps of 255 is off in a box, in %: 90 % comes out as 230 steps, which is 90.2 %.

    Only steps that stand for a single tint of the page's colours are told.
    """
    tints = [
        family.tints[:, family.names.index(name)]
        for family, _ in job.page.objects.colours.families()
        if name in family.names and not family.varies
    ]
    if not tints:
        return 0.0
    percent = 100 * np.unique(np.concatenate(tints).round(6))
    step = np.ceil(percent * 2.55 - 0.5 + 1e-4).astype(int)  # halves are rounded up
    alone = np.bincount(step, minlength=256)[step] == 1
    off = np.zeros(256)
    off[step[alone]] = percent[alone] - step[alone] / 2.55
    plate = job.plates.tint(name)[job.plates.slices(box)]
    return float(off[plate].mean()) * count if plate.size else 0.0
