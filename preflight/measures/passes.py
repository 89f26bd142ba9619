"""Second hits of one ink, and a job that goes through the press twice: what both have to fit to."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Final

import numpy as np

from preflight.artwork.page.plates import Plates
from preflight.findings import Reading, listed
from preflight.inputs.kind_names import fold
from preflight.job import InkOnJob, Job
from preflight.measures import needs
from preflight.measures.raster.places import where_inked
from preflight.measures.registry import measure
from preflight.setup.press_plan import BrokenJoint

TOUCHING_MM: Final = 0.05
"""Inks that are no further apart touch: a tenth of a millimetre is the least that is told."""
FIRST: Final = frozenset({"1", "i", "first", "1st"})


@measure(
    "second-hit-off",
    unit="mm",
    rests_on=["inks"],
    cases=("other shape",),
    facts=("ink", "second", "share"),
)
def second_hit_off(job: Job, *, second: tuple[str, ...], same_share_percent: float) -> list[Reading]:
    """How far the plate of a second hit stands from that of the first, by the middles of their ink.

    A second hit is a separation of the same kind whose name is that of another with a word of ``second`` behind it; its
    tint may be lighter. Case ``other shape``: their inked areas differ by more than ``same_share``.
    """
    readings = []
    for one, other in _hits(needs.inks(job), frozenset(second)):
        first, again = one.separation.name, other.separation.name
        share = 100 * abs(one.area_mm2 - other.area_mm2) / max(one.area_mm2, other.area_mm2)
        shift = np.hypot(*(_middle(job.plates, job, first) - _middle(job.plates, job, again)))
        readings.append(
            Reading(
                round(float(shift), 3),
                "mm",
                where_inked(job.plates, job.inside_mask, again, job.page.number),
                case="other shape" if share > same_share_percent else "",
                group=again,
                facts={"ink": first, "second": again, "share": f"{share:.0f} %"},
                units=(*one.units, *other.units),
            )
        )
    return readings


def _hits(inks: tuple[InkOnJob, ...], second: frozenset[str]) -> Iterator[tuple[InkOnJob, InkOnJob]]:
    """Inks that print, each with what its name calls its second hit."""
    printing = [ink for ink in inks if ink.in_file and ink.prints and ink.separation.on_plate and ink.area_mm2 > 0]
    words = {ink.separation.name: list(fold(ink.separation.name)) for ink in printing}
    for one, other in combinations(printing, 2):
        for first, again in ((one, other), (other, one)):
            own, more = words[first.separation.name], words[again.separation.name]
            base = own[:-1] if len(own) > 1 and own[-1] in FIRST else own
            tail = more[len(base) :]
            if (
                more[: len(base)] == base
                and tail
                and set(tail) <= second
                and one.separation.kind == other.separation.kind
            ):
                yield first, again


def _middle(plates: Plates, job: Job, name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Middle of an ink inside the cut in mm, weighted by tint."""
    tints = plates.tint(name) * job.inside_mask
    total = float(tints.sum(dtype=np.float64)) or 1.0
    down = float((tints.sum(1, dtype=np.float64) * np.arange(tints.shape[0])).sum()) / total
    across = float((tints.sum(0, dtype=np.float64) * np.arange(tints.shape[1])).sum()) / total
    return np.array([across, down]) * plates.mm_per_px


# Two passes --------------------------------------------------------------------------------------------------------


def _needs_two(job: Job) -> bool:
    return needs.plan(job).needed > needs.press(job).unit_count


@measure("joints-across-passes", unit="mm", cases=("touching",), facts=("one", "other"))
def joints_across_passes(job: Job) -> list[Reading]:
    """Nearest distance of inks that the best split into two passes parts; no reading where one pass will do.

    Case ``touching`` where there is none between them.
    """
    if not _needs_two(job):
        return []
    return [
        Reading(
            joint.distance_mm,
            "mm",
            case="touching" if joint.distance_mm < TOUCHING_MM else "",
            group=" ".join(joint.separations),
            facts={"one": joint.separations[0], "other": joint.separations[1]},
        )
        for joint in _broken(job)
    ]


def _broken(job: Job) -> tuple[BrokenJoint, ...]:
    """Joints of the split that breaks the least tight one."""
    ways = [way for way in job.press_plan.ways_out if way.change == "two-passes"]
    if not ways:
        return ()
    return max(ways, key=lambda way: min((joint.distance_mm for joint in way.breaks), default=math.inf)).breaks


@measure("coatings-before-last-pass", unit="coatings", facts=("coatings",))
def coatings_before_last_pass(job: Job) -> list[Reading]:
    """Coatings that the plan lays before the last pass, where it has two."""
    if not _needs_two(job):
        return []
    passes = job.press_plan.passes
    early = [coater.coating for one in passes[:-1] for coater in one.coaters if coater.coating is not None]
    return [Reading(float(len(early)), "coatings", facts={"coatings": listed(early)})] if len(passes) > 1 else []
