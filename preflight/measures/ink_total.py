"""Ink on one spot: the sum of the plates, averaged as a press blurs it, and how large the heavy places are."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.plates import Plates
from preflight.artwork.separations import PROCESS
from preflight.findings import Known, Place, Reading
from preflight.measures import masks, measure, needs
from preflight.measures.ink_limit import profile_limit_percent
from preflight.measures.job import Job

STEP_PERCENT: Final = 1.0
BLOCK_PX: Final = 1 << 18
MOST_PLACES: Final = 20
LOWEST_LIMIT: Final = 220.0
"""No usual printing condition asks for less ink than this at most; a profile is only unpacked above it."""


@measure("ink-total", unit="%", tolerance=1.0)  # plates hold whole steps of 0.4 %, five of them
def ink_total(
    job: Job, *, over_mm: float, area_mm2: float, start_percent: float, not_counted: tuple[str, ...]
) -> list[Reading]:
    """The greatest total of ink that joined places of at least ``area`` stay above, one reading a heavy place.

    The plates are averaged over squares of ``over``; an ink that the ticket puts on two units counts twice, kinds in
    ``not_counted`` are left out. Places under ``start`` are not looked at. Case ``output profile`` where only process
    inks meet and the file holds a profile: its own greatest total is then the limit, where it is lower than the rule's.
    """
    hits = {
        ink.separation.name: max(1, len(ink.units))
        for ink in needs.inks(job)
        if ink.separation.on_plate and ink.separation.kind not in not_counted
    }
    plates = job.plates
    most = sum(int(plates.tint(name).max(initial=0)) * count for name, count in hits.items()) / 2.55
    own = _own_limit(job, most)
    start = start_percent if own is None else min(start_percent, own)
    if most <= start:
        return []
    total, cell_mm = _averaged(plates, hits, job.inside_mask, over_mm)
    least = max(1, round(area_mm2 / cell_mm**2))
    readings = []
    for region, own_cells in islice(masks.parts(total > start), MOST_PLACES):
        if region.pixels < least:
            break
        rows, columns = slice(*region.rows), slice(*region.columns)
        part = np.where(own_cells, total[rows, columns], 0)
        level, spot = _sustained(part, least, start)
        box = _box(plates, cell_mm, region, spot)
        steps = sum(_lost_in_steps(job, name, count, box) for name, count in hits.items())
        tints = _tints(plates, hits, box)
        of_process = own is not None and set(tints) <= set(PROCESS)
        facts: dict[str, object] = {
            "area": f"{spot.pixels * cell_mm**2 / 100:.1f} cm2",
            "peak": f"{part.max() + steps:.0f} %",
            "inks": ", ".join(f"{name} {tint:.0f} %" for name, tint in tints.items()),
        }
        if of_process:
            facts |= {"allowed": f"{own:.0f} %", "condition": job.artwork.output_intent or "no name"}
        known: Known = "read" if job.die.blanks else needs.die_known(job)
        readings.append(
            Reading(
                round(level + steps, 1), "%", (Place(box, job.page.number),), known,
                case="output profile" if of_process else "", facts=facts, limit_cap=own if of_process else None,
            )
        )  # fmt: skip
    return readings


def _own_limit(job: Job, most_percent: float) -> float | None:
    """What the file's output profile allows at most; not asked for where nothing comes near any profile's limit."""
    if most_percent <= LOWEST_LIMIT:
        return None
    profile = job.artwork.output_profile()
    return profile_limit_percent(profile) if profile else None


def _averaged(
    plates: Plates, hits: Mapping[str, int], inside: NDArray[np.bool_], over_mm: float
) -> tuple[NDArray[np.float32], float]:
    """Totals in % on a grid of half the averaging square, 0 outside the cut; and the side of a cell in mm."""
    half = max(1, round(over_mm / plates.mm_per_px / 2))
    height, width = (side // half * half for side in inside.shape)
    cells = np.empty((height // half, width // half), np.float32)
    step = max(1, BLOCK_PX // (half * max(1, width)))
    for first in range(0, len(cells), step):  # a few rows at a time, which stay at hand
        own = cells[first : first + step]
        rows = slice(first * half, (first + len(own)) * half)
        total = np.zeros((len(own) * half, width), np.uint16)
        for name, count in hits.items():
            total += plates.tint(name)[rows, :width] * np.uint16(count)
        bands = np.add.reduce(total.reshape(len(own), half, width), axis=1, dtype=np.uint32)
        own[:] = np.add.reduce(bands.reshape(*own.shape, half), axis=2) * (100 / 255 / half**2)
    padded = np.pad(cells, ((0, 1), (0, 1)), mode="edge")
    mean = (padded[:-1, :-1] + padded[1:, :-1] + padded[:-1, 1:] + padded[1:, 1:]) / 4
    within = inside[half - 1 : height : half, half - 1 : width : half]
    return np.where(within, mean, 0).astype(np.float32), half * plates.mm_per_px


def _sustained(total: NDArray[np.float32], least: int, start: float) -> tuple[float, masks.Region]:
    """The greatest level that a joined region of ``least`` cells keeps to, by halving, and the region that keeps to it
    but for the ``tolerance`` of the measure: plates of a pattern waver by as much.
    """
    low, high = start, float(np.partition(total.ravel(), -least)[-least]) + STEP_PERCENT
    best = next(masks.parts(total > low))
    while high - low > STEP_PERCENT / 4:
        level = (low + high) / 2
        largest = next(masks.parts(total > level), None)
        if largest is not None and largest[0].pixels >= least:
            low, best = level, largest
        else:
            high = level
    region, cells = best
    low = float(total[slice(*region.rows), slice(*region.columns)][cells].min())
    return low, next(masks.parts(total > low - STEP_PERCENT))[0]


def _box(plates: Plates, cell_mm: float, region: masks.Region, spot: masks.Region) -> tuple[float, float, float, float]:
    x0, _, _, y1 = plates.box_mm
    left, top = region.columns[0] + spot.columns[0], region.rows[0] + spot.rows[0]
    right, bottom = region.columns[0] + spot.columns[1], region.rows[0] + spot.rows[1]
    return (x0 + left * cell_mm, y1 - (bottom + 1) * cell_mm, x0 + (right + 1) * cell_mm, y1 - top * cell_mm)


def _lost_in_steps(job: Job, name: str, count: int, box: tuple[float, float, float, float]) -> float:
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
    plate = _in_box(job.plates, job.plates.tint(name), box)
    return float(off[plate].mean()) * count if plate.size else 0.0


def _in_box(plates: Plates, plate: NDArray[np.uint8], box: tuple[float, float, float, float]) -> NDArray[np.uint8]:
    (x0, y1), (x1, y0) = plates.to_px(np.array([[box[0], box[3]], [box[2], box[1]]]))
    return plate[int(y1) : int(np.ceil(y0)), int(x0) : int(np.ceil(x1))]


def _tints(plates: Plates, hits: Mapping[str, int], box: tuple[float, float, float, float]) -> dict[str, float]:
    """Mean tints of 1 % and more in a box, in %, all hits of an ink together, heaviest first."""
    means = {name: float(_in_box(plates, plates.tint(name), box).mean()) / 2.55 * count for name, count in hits.items()}
    return {name: means[name] for name in sorted(means, key=lambda name: -means[name]) if means[name] >= 1}
