"""Which way the board's fibres run against the creases that make a carton's body."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile
from typing import Annotated, Final, Literal

import shapely

from preflight.carton.die import Blank
from preflight.errors import NotMeasured
from preflight.findings import Known, Place, Reading, listed
from preflight.inputs.fields import word
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import measure
from preflight.measures.sheet import gripper_edge

School = Annotated[str, word("across", "along")]
Axis = Literal["across", "along"]
"""Across the page as displayed (from left to right), or along it (up)."""
LEAST_ROW: Final = 3
"""Panels in a row that make a body."""
SHARED: Final = 0.8
"""Of the height of a panel: how much of it folds to the next one."""
NEAR_MM: Final = 1.0


@measure(
    "grain-to-body-creases",
    unit="",
    rests_on=["objects"],
    cases=("as asked", "on the sheet"),
    words=("as wanted", "against"),
    facts=("grain", "wanted", "blanks"),
)
def grain_tobody_creases(job: Job, *, grain: School) -> list[Reading]:
    """Whether the grain runs as it has to: ``as wanted`` or ``against``, by the creases of the body.

    Wanted is what the ticket asks for the blank, else what ``grain`` says of the plant: ``across`` the body creases or
    ``along`` them. Case ``as asked``: what the ticket asks, against that; ``on the sheet``: how the grain of the sheet
    lies to the blanks on it.
    """
    ticket, die = needs.ticket(job, "board: grain"), needs.die(job)
    asked = ticket.board.grain_on_blank
    if asked == "any":
        return []
    creases = {blank.number: axis for blank in die.blanks if (axis := body_creases(blank))}
    if not creases:
        because = "no row of panels was found, so its body creases are not known"
        raise NotMeasured(because, "board: grain_on_blank: any, where the grain does not matter", "ticket")
    readings = []
    if asked is not None and job.artwork_is == "one-up":
        wanted = {number: wanted_grain(grain, axis) for number, axis in creases.items()}
        readings.append(_reading(job, "as asked", dict.fromkeys(creases, _axis(asked)), wanted))
    if job.artwork_is == "one-up":
        if asked is None:
            because = "the ticket says how the grain runs on the sheet, and not on the blank"
            raise NotMeasured(because, "give board: grain_on_blank on the ticket", "ticket")
        return readings
    needs.said(ticket.board.grain, "board: grain")
    edge, _ = gripper_edge(job)
    level = (edge in ("bottom", "top")) == (ticket.board.grain == "across")
    runs: Axis = "across" if level else "along"
    wanted = {number: _axis(asked) if asked else wanted_grain(grain, axis) for number, axis in creases.items()}
    return [_reading(job, "on the sheet", dict.fromkeys(creases, runs), wanted)]


def _axis(told: str) -> Axis:
    return "across" if told == "across" else "along"


def wanted_grain(school: str, creases: Axis) -> Axis:
    """The grain that a school wants for creases that run this way."""
    other: Axis = "along" if creases == "across" else "across"
    return creases if school == "along" else other


def _reading(job: Job, case: str, runs: dict[int, Axis], wanted: dict[int, Axis]) -> Reading:
    wrong = [number for number in runs if runs[number] != wanted[number]]
    number = (wrong or list(runs))[0]
    outlines = {blank.number: blank.outline for blank in job.die.blanks}
    known: Known = "stated"
    if needs.die_known(job) == "assumed" or (case == "on the sheet" and gripper_edge(job)[1] == "assumed"):
        known = "assumed"
    return Reading(
        "against" if wrong else "as wanted",
        places=tuple(Place(outlines[each].bounds, job.page.number) for each in wrong),
        known=known,
        case=case,
        facts={
            "grain": runs[number],
            "wanted": wanted[number],
            "blanks": f"blank {wrong[0]}" if len(wrong) == 1 else f"blanks {listed(map(str, wrong))}",
        },
    )


def body_creases(blank: Blank) -> Axis | None:
    """Which way the creases between the panels of the body run; None where there is no row of panels."""
    ways = list(_folds_of_row(blank))
    row = list(takewhile(lambda way: way == ways[0], ways))
    return row[0] if len(row) >= LEAST_ROW - 1 else None


def _folds_of_row(blank: Blank) -> Iterator[Axis]:
    """The way of the fold between each two of the first panels, as far as the row goes."""
    for one, other in zip(blank.panels, blank.panels[1:], strict=False):
        shared = shapely.intersection(shapely.buffer(one, NEAR_MM), shapely.buffer(other, NEAR_MM)).bounds
        if not len(shared) or shared[0] != shared[0]:  # bounds of nothing are not numbers
            return
        wide, high = shared[2] - shared[0], shared[3] - shared[1]
        x0, y0, x1, y1 = one.bounds
        if high > wide and high >= SHARED * (y1 - y0):
            yield "along"
        elif wide > high and wide >= SHARED * (x1 - x0):
            yield "across"
        else:
            return
