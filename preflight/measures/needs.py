"""What a measure has to have before it can decide: handed out, or ``NotMeasured`` is raised with the key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.artwork.page.objects import ObjectTable
from preflight.carton.die import Die
from preflight.errors import NotMeasured, WantOf
from preflight.findings import Gap, Known, Place
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob, Job
from preflight.setup.unit_plan import Standing, UnitPlan

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet

NO_SURFACE: Final = ("the ticket does not say what surface the board has", "give board: surface on the ticket")
ONE_CLEAR_CUT: Final = "a die with one clear cut line"


def press(job: Job) -> Press:
    """The press profile."""
    if job.press is None:
        raise NotMeasured(
            "no press profile is given", "name a press profile on the ticket or on the command line", "press"
        )
    return job.press


def ticket(job: Job, key: str) -> Ticket:
    """The ticket, which is wanted for one of its keys."""
    if job.ticket is None:
        raise NotMeasured(f"there is no ticket, so {key} is not known", f"a ticket with {key}", "ticket")
    return job.ticket


def said(value: object, key: str, where: str = "ticket") -> None:
    """A value that the ticket or the press profile may leave out."""
    if value is None or value == ():
        want_of: WantOf = "press" if where.startswith("press") else "ticket"
        raise NotMeasured(f"the {where} does not say {key}", f"give {key} in the {where}", want_of)


def board_surface(job: Job) -> str:
    """The surface of the board, by the ticket."""
    surface = job.ticket.board.surface if job.ticket else None
    if surface is None:
        raise NotMeasured(*NO_SURFACE, "ticket")
    return str(surface)


def objects(job: Job, *more: str) -> ObjectTable:
    """The table of objects; ``more`` names what else of the page has to be whole (``text``, ``images``)."""
    whole(job, "objects", *more)
    return job.page.objects


def whole(job: Job, *parts: str) -> None:
    """The page was read without a bound being hit that these parts rest on."""
    for bound in job.page.over_bounds:
        if bound.hits & set(parts):
            raise NotMeasured(bound.because, "a simpler or corrected file")


def inks(job: Job) -> tuple[InkOnJob, ...]:
    """Separations and what they print; the plates have to be whole."""
    _ = job.plates
    return job.inks


def a_die(job: Job, otherwise: str) -> str:
    """What would help where no blank is known: with the line of the ticket that names the likeliest separation."""
    wanted, paste = f"a die in its own separation, or {otherwise}", job.die.line_to_paste
    return f"{wanted}; if {job.die.likely_cut} is the die, this line on the ticket: {paste}" if paste else wanted


def die(job: Job) -> Die:
    """A die with at least one blank whose cut line is sure."""
    if not job.die.blanks:
        raise NotMeasured(f"no blank is known: {job.die.because}", a_die(job, "die: on the ticket"))
    if job.die.uncertain and not job.die.uncertain_places:
        raise NotMeasured("; ".join(job.die.uncertain), ONE_CLEAR_CUT)
    return job.die


def laid_sheet(job: Job) -> PressSheet | None:
    """The press sheet with its blanks; None where another page speaks for it."""
    sheet = job.press_sheet
    if sheet is not None and not sheet.blanks:
        die(job)
    return sheet


def gaps_of_the_die(job: Job) -> list[Gap]:
    """What nobody can tell of the cut, for a measure that leaves those places out and goes on with the rest."""
    if not job.die.uncertain:
        return []
    places = tuple(Place(box, job.page.number) for box in job.die.uncertain_places)
    return [Gap("; ".join(job.die.uncertain), ONE_CLEAR_CUT, places=places)]


def sure_inside(job: Job) -> None:
    """Inside and outside of the cut can be told apart; without a die on a one-up the trim box has to do."""
    if job.die.blanks:
        die(job)
    elif job.artwork_is != "one-up":
        raise NotMeasured(
            "the sheet has no die, so inside and outside of the cut are not known",
            a_die(job, "die: on the ticket"),
        )


def die_known(job: Job) -> Known:
    """How the inside of the cut is known; a trim box in place of a die is a guess."""
    return job.die.found if job.die.found in ("stated", "read") else "assumed"


def plan(job: Job) -> UnitPlan:
    """The unit plan by the ticket and the inks that print; the plates have to be whole."""
    inks(job)
    return job.plan


def unit_list(job: Job) -> tuple[Standing, ...]:
    """What the ticket puts on each unit, in unit order."""
    said(ticket(job, "units").units, "units")
    return plan(job).standing
