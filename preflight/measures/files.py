"""The file itself: what had to be repaired before it could be read."""

from __future__ import annotations

from preflight.findings import Reading
from preflight.job import Job
from preflight.measures.registry import measure

MOST_TOLD = 5


@measure("repairs", unit="repairs", rests_on=[], facts=("repairs", "producer"))
def repairs(job: Job) -> list[Reading]:
    """Sorts of repair by which something of the file may be lost; said of the first page, for all of the file.

    What was put right without loss is a note (``assemble_job``) and no reading.
    """
    if job.page is not job.artwork.pages[0]:
        return []
    lost = [repair.told for repair in job.artwork.repairs if repair.lost]
    more = [f"and {len(lost) - MOST_TOLD} more"] if len(lost) > MOST_TOLD else []
    facts = {"repairs": "; ".join([*lost[:MOST_TOLD], *more]), "producer": job.artwork.producer}
    return [Reading(float(len(lost)), "repairs", facts=facts)]
