"""The units as a job is set: by the ticket's unit list, or by the tool's own plan where the ticket has none."""

from __future__ import annotations

from preflight.errors import NotMeasured
from preflight.job import Job, once_a_job
from preflight.measures import needs
from preflight.setup.press_plan import Pass
from preflight.setup.unit_plan import PlatesOfInk, Standing


@once_a_job
def printing_units(job: Job) -> tuple[Standing, ...]:
    """What prints on each unit, feeder to delivery; idle units and names that print nothing are left out.

    Raises:
        NotMeasured: the ticket has no list, and there is no plan in one pass either.
    """
    if job.ticket is not None and job.ticket.units is not None:
        standing = needs.unit_list(job)
    else:
        plan = job.press_plan
        if not plan.possible or len(plan.passes) != 1:
            raise NotMeasured("the job has no order of units in one pass", "units on the ticket", "ticket")
        standing = _of_pass(plan.passes[0])
    return tuple(place for place in standing if place.prints is not False)


def whose_order(job: Job) -> str:
    """Whose order ``printing_units`` is, for sentences: ``on the ticket`` or ``in the plan``."""
    return "on the ticket" if job.ticket is not None and job.ticket.units is not None else "in the plan"


def _of_pass(one: Pass) -> tuple[Standing, ...]:
    return tuple(
        Standing(unit.unit, unit.separation, unit.kind or "spot", True, not unit.overall, unit.overall)
        for unit in one.plates
        if unit.separation is not None
    )


def plates_of(job: Job, place: Standing) -> PlatesOfInk | None:
    """The plates of what stands on a unit; None for what is not in the file."""
    return next((plates for plates in needs.plan(job).plates if plates.name == place.name), None)


def all_names(job: Job, place: Standing) -> tuple[str, ...]:
    """The name of what stands on a unit, and the others that the file has for it."""
    plates = plates_of(job, place)
    return (place.name, *(plates.also_called if plates else ()))


def cover_of(job: Job, place: Standing) -> float:
    """Inked fraction inside the cut, 0..1, of what stands on a unit."""
    if place.overall:
        return 1.0
    names = all_names(job, place)
    return min(1.0, sum(ink.cover for ink in job.inks if ink.in_file and ink.separation.name in names))
