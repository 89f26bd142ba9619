"""What the crew settles and looks at on this job: queries, unit by unit, and on the first good sheet."""

from __future__ import annotations

from typing import Final

from preflight.crew.planned_job import PlannedJob
from preflight.findings import Verdict, with_and
from preflight.setup.unit_order.demands import inks_on_metallic
from preflight.setup.unit_order.plates_on_line import on_line

HEAVY_COVER: Final = 0.5
"""Inked fraction inside the cut from which an ink is a solid to watch; common practice."""
CURED: Final = ("uv", "led-uv", "low-energy-uv", "hybrid")
"""Ink systems that a lamp cures."""
LIGHT_COVER: Final = 0.01
"""Under which so little ink goes through a unit that it may emulsify; common practice."""


def watch_list(job: PlannedJob) -> list[str]:
    """What may go wrong on which unit, and what the check thinks worth knowing, in sentences."""
    told = list[str]()
    plates = {plate.name: plate for plate in (job.question.plates if job.question else ())}
    for one in job.plan.passes if job.plan else ():
        for unit in one.plates:
            plate = plates.get(unit.separation or "")
            if plate is None or plate.overall:
                continue
            if plate.kind == "metallic":
                told.append(f"Unit {unit.unit}, {plate.name}: as little water as keeps the plate clean; rub-test it.")
            if plate.kind != "varnish" and plate.cover >= HEAVY_COVER:
                covered = f"{100 * plate.cover:.0f} % coverage"
                told.append(f"Unit {unit.unit}, {plate.name}: {covered}; watch for picking and set-off.")
            if plate.prints is not False and plate.cover < LIGHT_COVER:
                told.append(
                    f"Unit {unit.unit}, {plate.name}: only {100 * plate.cover:.1f} % coverage; "
                    "run a take-off strip in the waste so that the ink stays fresh."
                )
            if plate.effect:
                told.append(f"Unit {unit.unit}, {plate.name}: the effect needs the coat straight after it.")
    return list(dict.fromkeys([*told, *_said(job, Verdict.NOTE)]))


def queries(job: PlannedJob) -> list[str]:
    """What somebody has to settle before the job is run."""
    return _said(job, Verdict.WARN)


def _said(job: PlannedJob, verdict: Verdict) -> list[str]:
    return [finding.says for finding in job.findings if finding.verdict is verdict and not finding.trial]


def _of_metallics(job: PlannedJob) -> list[str]:
    """What is to print on each metallic, and that nothing else does."""
    line = on_line(job.question) if job.question else None
    told = dict[str, None]()
    for number, plate in enumerate(line.plates if line else ()):
        if line is not None and plate.kind == "metallic":
            inks = with_and(dict.fromkeys(line.plates[other].name for other in inks_on_metallic(line, number)))
            on_it = f"does {inks} show on it, and nothing else" if inks else "does nothing print on it"
            told[f"{plate.name}: bright and dry to the touch; {on_it}?"] = None
    return list(told)


def check_first(job: PlannedJob) -> list[str]:
    """Questions for the first good sheet, from what this job has on it; one that ends in a colon wants a figure."""
    plates = job.question.plates if job.question else ()
    kinds = {plate.kind for plate in plates}
    areas = {area.kind for page in job.pages for blank in page.facts.die.blanks for area in blank.areas}
    told = ["Cut, fold and glue one carton: does it square up, and do the panels meet at the seam?"]
    if "code" in areas:
        told.append("Code area: bare board for the code, no ink and no coating?")
    if "glue flap" in areas:
        told.append("Glue flap: bare board, no coating; does ink end just past the crease, as in the artwork?")
    if "white" in kinds:
        told.append("White: opaque enough under type, and no rim beyond the colours?")
    told += _of_metallics(job)
    if any((plate.ink_system or "") in CURED for plate in plates):
        told.append("UV ink and coating: cured through, by tape and thumb on the darkest solid and on white?")
    if job.ticket is not None and job.ticket.board.surface in ("metallised", "film"):
        told.append("Adhesion on this board: tape test on every ink?")
    if any(plate.effect for plate in plates):
        told.append("Effect varnish: matt and gloss in register, also at the tail?")
    if any(plate.hit > 1 for plate in plates) or sum(plate.kind == "white" for plate in plates) > 1:
        told.append("Double hits: both plates in register under the loupe?")
    return [*told, "Bar code: scan it. The ticket gives no number to read it against; the number read is:"]
