"""Brings the press sheet together: the layout of a ticket, a standing die or the tool, or a sheet from outside.

Nothing is judged here, and nothing is drawn before it is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from preflight.errors import NotMeasured
from preflight.inputs.ticket import ArtworkEntry
from preflight.job import Job

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.layout.layout_request import LayoutRequest
    from preflight.setup.press_sheet.press_sheet import PressSheet


def own_sheet(job: Job) -> PressSheet | None:
    """The sheet of one page by itself: what it shows, or its blank laid as the ticket states.

    Raises:
        NotMeasured: as ``sheet_of_jobs`` does.
    """
    return sheet_of_jobs([(None, job)])


def sheet_of_jobs(jobs: Sequence[tuple[ArtworkEntry | None, Job]]) -> PressSheet:
    """The sheet of all pages of a job, both sides and all versions together.

    A layout that the ticket states, or a standing die, is taken as it is; where there is none the tool makes one.

    Raises:
        NotMeasured: there is no press, no die, no sheet size, or the plates could not be drawn.
    """
    raise NotMeasured("how the blanks lie on the sheet is not known")


def layout_request(jobs: Sequence[tuple[ArtworkEntry | None, Job]]) -> LayoutRequest:
    """What is asked about the layout.

    Raises:
        NotMeasured: there is no press or no die.
    """
    raise NotMeasured("how the blanks lie on the sheet is not known")
