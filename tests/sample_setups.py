"""Set-ups of the sample jobs, each made once, and what is found on all pages of a ticket together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from preflight import check
from preflight.findings import Finding
from preflight.inputs.loading import load_yaml
from preflight.report.report import Report
from preflight.setup_pipeline import SetUp, set_up

SAMPLES = Path(__file__).parents[1] / "sample_jobs"


@dataclass(frozen=True)
class Judged:
    """A ticket as it was judged: by a check, or by the set-up where it lists several artworks."""

    verdict: str
    findings: Sequence[Finding]
    separations: dict[str, list[Any]]
    """Name: kind, and whether it prints inside the cut on some page."""


@cache
def planned(name: str) -> SetUp:
    """The set-up of ``<job>/<ticket>``."""
    return set_up(SAMPLES / name)


@cache
def checked(name: str) -> Report:
    """The check of ``<job>/<ticket>``, of its first artwork where it lists several."""
    return check(SAMPLES / name)


@cache
def judged(name: str) -> Judged:
    """What is found on ``<job>/<ticket>``."""
    if isinstance(load_yaml(SAMPLES / name).data["artwork"], str):
        report = checked(name)
        seen = {ink["name"]: [ink["kind"], ink["prints"]] for ink in report.separations}
        return Judged(str(report.verdict), report.findings, seen)
    job, separations = planned(name).job, dict[str, list[Any]]()
    for page in job.pages:
        for ink in page.facts.inks:
            here = separations.setdefault(ink.separation.name, [ink.separation.kind, False])
            here[1] = here[1] or ink.prints
    found = [finding for page in job.pages for finding in page.judgement.findings]
    return Judged(job.verdict.word, found, separations)
