"""What a report says of one page of a job, besides its findings: a frozen record without objects and plates."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from preflight.errors import NotMeasured

if TYPE_CHECKING:
    from preflight.artwork.page.artwork import Repair
    from preflight.artwork.page.geometry import Box
    from preflight.artwork.page.page import PageBoxes
    from preflight.artwork.page.separations import Separation
    from preflight.artwork.page.uncertain_places import UncertainPlace
    from preflight.carton.die import Die
    from preflight.findings import Known
    from preflight.inputs.press import Press
    from preflight.inputs.ticket import Ticket
    from preflight.job import InkOnJob, Job
    from preflight.setup.artwork_is import ArtworkIs
    from preflight.setup.unit_plan import Standing

Drawn = Literal["whole", "in part", "not at all"]


@dataclass(frozen=True)
class FileFacts:
    """The artwork as a file; see ``Artwork``."""

    name: str
    sha256: str
    repairs: tuple[Repair, ...]
    page_count: int
    pages_read: int
    pdf_version: str
    title: str
    producer: str
    output_intent: str


@dataclass(frozen=True)
class PageFacts:
    """The page as displayed; see ``Page``."""

    number: int
    width_mm: float
    height_mm: float
    box_mm: Box
    boxes: PageBoxes
    separations: tuple[Separation, ...]


@dataclass(frozen=True)
class JobFacts:
    """One page of a job; what its plates tell is there once they were drawn."""

    file: FileFacts
    page: PageFacts
    die: Die
    press: Press | None
    ticket: Ticket | None
    artwork_is: ArtworkIs
    artwork_is_known: Known
    artwork_is_because: str
    assumed: tuple[str, ...]
    inks: tuple[InkOnJob, ...] = ()
    standing: tuple[Standing, ...] = ()
    """What the plan has on each unit, in unit order; idle units are left out."""
    drawn: Drawn = "not at all"
    uncertain: tuple[UncertainPlace, ...] = ()
    """Where something of the page is missing."""


def opening_facts(job: Job) -> JobFacts:
    """What is known before a plate is drawn."""
    artwork, page = job.artwork, job.page
    file = FileFacts(
        artwork.path.name,
        artwork.sha256,
        artwork.repairs,
        artwork.page_count,
        len(artwork.pages),
        artwork.pdf_version,
        artwork.title,
        artwork.producer,
        artwork.output_intent,
    )
    shown = PageFacts(page.number, page.width_mm, page.height_mm, page.box_mm, page.boxes, tuple(page.separations))
    return JobFacts(
        file,
        shown,
        job.die,
        job.press,
        job.ticket,
        job.artwork_is,
        job.artwork_is_known,
        job.artwork_is_because,
        job.assumed,
    )


def final_facts(job: Job) -> JobFacts:
    """What is known once the page was judged: only then is all drawn, and known what could not be."""
    return replace(
        opening_facts(job),
        inks=job.inks,
        standing=job.plan.standing,
        drawn=_drawn(job),
        uncertain=tuple(job.page.uncertain),
    )


def _drawn(job: Job) -> Drawn:
    try:
        _ = job.plates
    except NotMeasured:
        return "not at all"
    return "in part" if job.page.uncertain else "whole"
