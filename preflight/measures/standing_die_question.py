"""The standing die that a ticket names, laid under the job's one-up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, cast

from preflight.carton.die import Blank
from preflight.errors import InvalidInput, NotMeasured
from preflight.job import Job
from preflight.measures import needs

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.layout.layout_request import BlankToLay, FreeArea
    from preflight.setup.layout.sheet_layout import SheetLayout


def standing_die(job: Job, blank: Blank, free: FreeArea, operator_side: Literal["left", "right"]) -> SheetLayout:
    """The layout of the die in ``layout: {file}``; the sheet is the drawing's, else the ticket's.

    Args:
        job: its ticket names the file.
        blank: of the one-up, on its page.
        free: what press and die-cutter leave.
        operator_side: of the printed face with the gripper edge down.

    Raises:
        NotMeasured: no such drawing, a damaged one, or none of its outlines is the one-up's.
    """
    from preflight.inputs.dxf_drawing import read_dxf
    from preflight.setup.layout.standing_die import standing_layout
    from preflight.setup.press_sheet.stated_layout import with_gutters

    ticket = needs.ticket(job, "layout: file")
    file = ticket.layout.file
    needs.said(file, "layout: file")
    assert file is not None
    try:
        drawing = read_dxf(file)
    except InvalidInput as wrong:
        fault = wrong.faults[0]
        because = f"the standing die {file.name} could not be read: {fault.found}"
        raise NotMeasured(because, fault.expected, "ticket") from None
    grain = cast("Literal['across', 'along'] | None", ticket.board.grain)
    layout = standing_layout(
        drawing, _at_corner(blank), free, sheet=ticket.sheet, operator_side=operator_side, grain=grain
    )
    return with_gutters(layout)


def _at_corner(blank: Blank) -> BlankToLay:
    """The one-up with the corner of its cut's box at (0, 0); a die has no bleed."""
    from preflight.setup.layout.layout_request import BlankToLay
    from preflight.setup.layout.sheet_layout import through

    x0, y0 = blank.outline.bounds[:2]
    cut = through((1, 0, 0, 1, -x0, -y0), blank.outline)
    return BlankToLay(cut, cut, through((1, 0, 0, 1, -x0, -y0), blank.creases))
