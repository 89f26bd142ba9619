"""Whether a standing die is this job's: its outlines, its sheet, and which way up its blanks lie."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from preflight.artwork.page.geometry import Box
from preflight.findings import Reading, listed
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import measure
from preflight.measures.sheet_places import blanks_told

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.layout.sheet_layout import SheetLayout
    from preflight.setup.press_sheet.press_sheet import PressSheet

MOST_TOLD: Final = 6


def _standing(job: Job) -> tuple[PressSheet, SheetLayout] | None:
    """The sheet of a standing die; None where the sheet is another, or another page speaks for it."""
    sheet = needs.laid_sheet(job)
    if sheet is None or sheet.layout is None or sheet.is_from != "standing die":
        return None
    return sheet, sheet.layout


@measure(
    "standing-die-unlike",
    unit="outlines",
    rests_on=["plates"],
    cases=("turn not known",),
    facts=("die", "at", "blanks"),
)
def standing_die_unlike(job: Job) -> list[Reading]:
    """How many outlines of a standing die are about as large as a blank and are not this job's.

    Case ``turn not known``: blanks whose outline and creases are the same when they are turned, and whose artwork is
    not, so that the die does not tell how they print.
    """
    found = _standing(job)
    if found is None:
        return []
    sheet, layout = found
    at = [_at(sheet, face.bounds) for face in layout.strangers]
    facts = {"die": layout.because, "at": listed(at, MOST_TOLD)}
    return [Reading(float(len(at)), "outlines", facts=facts), *_turns(sheet, layout)]


def _at(sheet: PressSheet, box: Box) -> str:
    x0, y0, x1, y1 = box
    from_operator = min(sheet.from_operator(x0), sheet.from_operator(x1))
    size = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"
    return f"{size} at {from_operator:.1f} mm from the operator side and {y0:.1f} mm from the gripper edge"


def _turns(sheet: PressSheet, layout: SheetLayout) -> Iterator[Reading]:
    from preflight.setup.press_sheet.alike_cells import prints_alike_turned

    told = dict[tuple[int, str | None], bool]()
    unsure = []
    for blank in sheet.blanks:
        placed = layout.blanks[blank.number - 1]
        for turn in layout.turns_open.get(blank.number, ()):
            key = ((turn - placed.turn_deg) % 360, blank.version)  # blanks of one version print alike
            if key not in told:
                told[key] = prints_alike_turned(sheet, blank, key[0])
            if not told[key]:
                unsure.append(blank.number)
    numbers = sorted(set(unsure))
    if numbers:
        facts = {"die": layout.because, "blanks": blanks_told(numbers)}
        yield Reading(float(len(numbers)), "outlines", known="assumed", case="turn not known", facts=facts)


@measure("standing-die-sheet", unit="mm", rests_on=[], facts=("die", "drawn", "asked_for"))
def standing_die_sheet(job: Job) -> list[Reading]:
    """By how much the sheet that a standing die is drawn on is longer or shorter than the ticket's."""
    found = _standing(job)
    if found is None or found[1].sheet_asked is None:
        return []
    drawn, asked = found[1].sheet, found[1].sheet_asked
    away = max(abs(drawn.across_mm - asked.across_mm), abs(drawn.along_mm - asked.along_mm))
    facts = {"die": found[1].because, "drawn": str(drawn), "asked_for": str(asked)}
    return [Reading(round(away, 2), "mm", facts=facts)]
