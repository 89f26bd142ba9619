"""Ink on one spot: the sum of the plates, averaged as a press blurs it, and how large the heavy places are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.findings import Gap, Measured, Place, Reading
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.heavy_places import STEP_PERCENT, HeavyPlace
from preflight.measures.raster import masks
from preflight.measures.registry import Kinds, measure

BLOCK_PX: Final = 1 << 18
MOST_PLACES: Final = 20
LOWEST_LIMIT: Final = 220.0
"""No usual printing condition asks for less ink than this at most; a profile is only unpacked above it."""


@measure(
    "ink-total",
    unit="%",
    tolerance=1.0,
    cases=("output profile",),
    facts=("over", "area", "peak", "inks", "allowed", "condition"),
)  # plates hold whole steps of 0.4 %, five of them
def ink_total(job: Job, *, over_mm: float, area_mm2: float, start_percent: float, not_counted: Kinds) -> Measured:
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
        return Measured([])
    total, cell_mm = _averaged(plates, hits, job.inside_mask, over_mm)
    least = max(1, round(area_mm2 / cell_mm**2))
    readings, gaps = list[Reading](), list[Gap]()
    for region, own_cells in masks.parts(total > start):
        if region.pixels < least:
            break
        if len(readings) == MOST_PLACES:
            because = f"more than {MOST_PLACES} places carry over {start:.0f} % of ink; only the largest were checked"
            gaps.append(Gap(because, "artwork with less ink in these places"))
            break
        place = HeavyPlace(job, hits, region, np.where(own_cells, total[region.slices], 0), cell_mm)
        readings.append(_reading(place, start, least, own))
    return Measured(readings, gaps)


def _reading(place: HeavyPlace, start: float, least: int, own: float | None) -> Reading:
    """What a heavy place comes to; ``least`` cells make a place, and ``own`` is the limit of the file's own profile."""
    job = place.job
    level, spot = _sustained(place.totals, least, start)
    box = place.box(spot.rows, spot.columns)
    steps = place.lost_in_steps(box)
    total = round(level + steps, 1)
    inks = place.inks_at(level, total)  # of what is told, so that both are rounded alike
    of_process = own is not None and set(inks) <= set(PROCESS)
    facts: dict[str, object] = {
        "over": place.areas(start, steps),
        "area": f"{spot.pixels * place.cell_mm**2 / 100:.1f} cm²",
        "peak": f"{place.totals.max() + steps:.0f} %",
        "inks": ", ".join(f"{name} {tint} %" for name, tint in inks.items()),
    }
    if of_process:
        facts |= {"allowed": f"{own:.0f} %", "condition": job.artwork.output_intent or "no name"}
    return Reading(
        total,
        "%",
        (Place(box, job.page.number),),
        "read" if job.die.blanks else needs.die_known(job),
        case="output profile" if of_process else "",
        facts=facts,
        limit_cap=own if of_process else None,
    )


def _own_limit(job: Job, most_percent: float) -> float | None:
    """What the file's output profile allows at most; not asked for where nothing comes near any profile's limit."""
    if most_percent <= LOWEST_LIMIT:
        return None
    profile = job.artwork.output_profile()
    if not profile:
        return None
    from preflight.measures.profile_ink_limit import profile_limit_percent  # few jobs come near it

    return profile_limit_percent(profile)


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
    low = float(total[region.slices][cells].min())
    return low, next(masks.parts(total > low - STEP_PERCENT))[0]
