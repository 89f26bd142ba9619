"""The file itself: what had to be repaired before it could be read."""

from __future__ import annotations

from preflight.findings import Reading
from preflight.measures import measure
from preflight.measures.job import Job


@measure("repairs", unit="repairs", rests_on=[])
def repairs(job: Job) -> list[Reading]:
    """Repairs that were needed before the file could be read."""
    found = job.artwork.repairs
    return [
        Reading(float(len(found)), "repairs", facts={"repairs": "; ".join(found[:5]), "producer": job.artwork.producer})
    ]
