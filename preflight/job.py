"""The job: one page with its press, ticket, die, set-up and inks. No opinion in here.

A job is frozen. What costs is computed on first use and once: its plates, its inks, the plan of its units, and what a
measure finds out that others ask for too (``once_a_job``).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.carton.die import Die
from preflight.errors import NotMeasured
from preflight.findings import Known, Unusable
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.setup.artwork_is import ArtworkIs
from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import PressPlan
from preflight.setup.ticket_names import only_on_ticket
from preflight.setup.unit_plan import Ink, UnitPlan, plan_units

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet

PLATE_DPI = 100.0
Arguments = ParamSpec("Arguments")
Found = TypeVar("Found")


@dataclass(frozen=True)
class InkOnJob:
    """A separation of the file, or one that only the ticket names, and what it does on this job."""

    separation: Separation
    prints: bool | None
    """Puts ink inside the cut; None on a sheet without a die."""
    cover: float
    """Inked fraction inside the cut, 0..1 (tint-weighted); of the page where there is no cut."""
    area_mm2: float
    """Inked area inside the cut at 2 % tint and more, fringes under 0.1 mm left out."""
    units: tuple[int, ...] = ()
    """Units that it stands on by the plan."""
    in_file: bool = True


def _not_drawn(job: Job) -> Sequence[InkOnJob]:
    raise NotMeasured("what each separation prints is not known yet")


def _not_planned(job: Job) -> PressPlan:
    raise NotMeasured("the units have not been planned")


def _not_laid_out(job: Job) -> PressSheet | None:
    raise NotMeasured("how the blanks lie on the sheet is not known")


@dataclass(frozen=True, eq=False)
class Job:
    """One page of a job, ready to be measured."""

    artwork: Artwork
    page: Page
    die: Die
    press: Press | None
    ticket: Ticket | None
    artwork_is: ArtworkIs = "one-up"
    artwork_is_known: Known = "assumed"
    artwork_is_because: str = ""
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    """What was noticed on the way and decides nothing: repairs that lost nothing, and the like."""
    unusable: tuple[Unusable, ...] = ()
    """Statements of the ticket that fit nothing in the file; those of all pages stand on the first."""
    measure_inks: Callable[[Job], Sequence[InkOnJob]] = _not_drawn
    """Finds out what each separation of the page prints; measures stand above the job, so it is handed in."""
    plan_on_press: Callable[[Job], PressPlan] = _not_planned
    """Plans the units by what the plates tell; handed in for the same reason."""
    before: OnPress | None = None
    """What is on the press before this job; None where nobody says."""
    lay_on_sheet: Callable[[Job], Any] = _not_laid_out  # a PressSheet or None: rules are held against these hints
    """Brings the press sheet together, of this page or of several; handed in for the same reason."""
    laid_out: bool = False
    """Whether there is a sheet to judge: the page shows one, the ticket states a layout, or the set-up makes one."""

    @cached_property
    def plates(self) -> Plates:
        """Plates of the whole page at 100 dpi; raises NotMeasured where the page is over a bound."""
        return self.page.plates(PLATE_DPI)

    @cached_property
    def inside_mask(self) -> NDArray[np.bool_]:
        """Pixels of ``plates`` whose centre is inside the cut; the trim box or the page where there is no die."""
        return self.plates.mask_of(self.inside_shape)

    @cached_property
    def inside_shape(self) -> BaseGeometry:
        """Inside of the cut, or the trim box (else the page) where no die was found, in mm."""
        if self.die.blanks:
            return self.die.inside
        return shapely.box(*(self.page.boxes.trim or self.page.box_mm))

    @cached_property
    def plan(self) -> UnitPlan:
        """What the ticket puts on each unit, and the plates that one pass takes."""
        return plan_units(
            (
                Ink(ink.separation.name, ink.separation.kind, ink.prints, ink.in_file, ink.separation.on_plate)
                for ink in self._inks_without_units
            ),
            self.ticket,
        )

    @cached_property
    def press_plan(self) -> PressPlan:
        """The tool's own plan of units, lamps and coaters; raises NotMeasured without a press or whole plates."""
        return self.plan_on_press(self)

    @cached_property
    def press_sheet(self) -> PressSheet | None:
        """The sheet as it is printed; None on a page whose sheet another page of the job speaks for.

        Raises:
            NotMeasured: how blanks lie on it is not known, or its plates could not be drawn.
        """
        return self.lay_on_sheet(self)  # type: ignore[no-any-return]

    @cached_property
    def inks(self) -> tuple[InkOnJob, ...]:
        """Separations in the file's order, the ticket's ``{overall: …}`` and others that it adds at the end."""
        return tuple(
            replace(ink, units=self.plan.units_of(self._goes_by(ink.separation.name)))
            for ink in self._inks_without_units
        )

    @cached_property
    def _inks_without_units(self) -> tuple[InkOnJob, ...]:
        """The inks before anybody has asked where they stand: the plan is made of them."""
        added = (
            InkOnJob(separation, overall, 1.0 if overall else 0.0, 0.0, in_file=False)
            for separation, overall in only_on_ticket(self.ticket, self.page.separations)
        )
        return (*self.measure_inks(self), *added)

    def _goes_by(self, name: str) -> str:
        """The name that a separation has once the ticket's ``same_as`` has been followed."""
        return self.ticket.ink_of(name) if self.ticket else name


def once_a_job(
    work: Callable[Concatenate[Job, Arguments], Found],
) -> Callable[Concatenate[Job, Arguments], Found]:
    """Have what a function finds out about a job kept with the job, for whoever asks again with the same arguments."""

    @wraps(work)
    def kept(job: Job, /, *args: Arguments.args, **kwargs: Arguments.kwargs) -> Found:
        found: dict[Hashable, Any] = vars(job).setdefault("_found_once", {})  # as cached_property keeps what it has
        key = (work, args, tuple(sorted(kwargs.items())))
        if key not in found:
            found[key] = work(job, *args, **kwargs)
        return found[key]  # type: ignore[no-any-return]

    return kept
