"""The one-up as a whole: whether it fits on the sheet, and whether its trim box is where it is cut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Page
from preflight.errors import NotMeasured
from preflight.findings import Known, Place, Reading
from preflight.inputs.press import Press
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster import masks
from preflight.measures.registry import measure
from preflight.measures.sheet import printable_of
from preflight.quantities import Size

SAME_BOX_MM: Final = 0.5
"""A trim box that is the page but for this says nothing: many programs write it so whatever stands on the page."""
Span = tuple[float, float]
"""From and to along one axis, in mm."""


@dataclass(frozen=True)
class _OneUp:
    """The box of the one-up on the page, what it was taken from, and how sure that is."""

    box: Box
    by: str
    known: Known
    shape: Polygon | None = None
    """Inside of it; None where the box is not to be relied on for what lies in it."""

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on the page, in mm."""
        return self.box[2] - self.box[0], self.box[3] - self.box[1]


@measure(
    "one-up-past-sheet",
    unit="mm",
    cases=("printable",),
    facts=("one_up", "by", "sheet", "size", "printed", "printable"),
)
def one_up_past_sheet(job: Job, *, ink_from_percent: float) -> list[Reading]:
    """By how much the one-up is too large for the sheet, the better way round; nought where it fits.

    The sheet is the ticket's, else the largest that the press takes. Case ``printable``: the one-up lies on the sheet,
    but what is printed on it (ink of at least ``ink_from`` inside the cut) does not lie within what the press prints.
    """
    one_up = _one_up(job)
    if one_up is None:  # of a sheet without a die: its own size is judged
        return []
    size, sheet = _sheet(job)
    width, height = one_up.size
    past = min(max(a - size.across_mm, b - size.along_mm) for a, b in ((width, height), (height, width)))
    places = (Place(one_up.box, job.page.number),)
    facts = {"one_up": _words(width, height), "by": one_up.by, "sheet": sheet, "size": f"{size}"}
    if past > 0:
        return [Reading(round(past, 2), "mm", places, one_up.known, facts=facts)]
    needs.whole(job, "objects")
    area = _printable(job.press, size) if job.artwork_is == "one-up" and one_up.shape else None
    if area is None or _past_printable(one_up.size, ((0.0, width), (0.0, height)), size, area) <= 0:
        return [Reading(0.0, "mm", places, one_up.known, facts=facts)]
    printed = _printed(job, one_up, ink_from_percent)
    if printed is None:
        return [Reading(0.0, "mm", places, one_up.known, facts=facts)]
    past = _past_printable(one_up.size, printed, size, area)
    facts |= {
        name: _words(*(last - first for first, last in spans))
        for name, spans in (("printed", printed), ("printable", area))
    }
    return [Reading(round(max(past, 0.0), 2), "mm", places, one_up.known, case="printable", facts=facts)]


def _one_up(job: Job) -> _OneUp | None:
    """The largest blank; on a one-up without a die the trim box, else the page, in which there may be room round it."""
    if job.die.blanks:
        blank = max(job.die.blanks, key=lambda blank: blank.outline.area)
        known: Known = "assumed" if job.die.uncertain else needs.die_known(job)
        return _OneUp(blank.outline.bounds, "its cut line", known, blank.outline)
    if job.artwork_is != "one-up":
        return None
    trim = own_trim(job.page)
    if trim is None:
        return _OneUp(job.page.box_mm, "the page, without a die", "assumed")
    sure = job.artwork_is_known != "assumed" or _larger_than_plate(trim, job.press)
    return _OneUp(trim, "its trim box", "read" if sure else "assumed", shapely.box(*trim))


def own_trim(page: Page) -> Box | None:
    """The trim box where it says something: not where there is none, or where it is all of the page."""
    trim, media = page.boxes.trim, page.boxes.media
    if trim is None or np.abs(np.array(trim) - np.array(media)).max() < SAME_BOX_MM:
        return None
    return trim


def _larger_than_plate(box: Box, press: Press | None) -> bool:
    """Whatever a page of that size shows, a one-up, a sheet or a plate, the press cannot take it."""
    if press is None or press.plate.size is None:
        return False
    plate = sorted((press.plate.size.across_mm, press.plate.size.along_mm))
    shorter, longer = sorted((box[2] - box[0], box[3] - box[1]))
    return shorter > plate[0] or longer > plate[1]


def _sheet(job: Job) -> tuple[Size, str]:
    if job.ticket is not None and job.ticket.sheet is not None:
        return job.ticket.sheet, "the sheet"
    if job.press is None:
        because = "neither a sheet nor a press is given"
        raise NotMeasured(because, "give sheet: size on the ticket, or name a press profile", "ticket")
    return job.press.sheet.largest, "the largest sheet of the press"


def _printable(press: Press | None, size: Size) -> tuple[Span, Span] | None:
    """From and to across and along the sheet, from one side and from the gripper edge; None where nobody says."""
    if press is None:
        return None
    try:
        sides, start, end = printable_of(press, size)
    except NotMeasured:
        return None
    return (sides, size.across_mm - sides), (start, end)


def _printed(job: Job, one_up: _OneUp, ink_from_percent: float) -> tuple[Span, Span] | None:
    """What is printed inside the cut, from the one-up's left and lower edge; None where nothing is."""
    assert one_up.shape is not None
    plates = job.plates.around(one_up.shape)
    if not plates.names:
        return None
    ink = masks.inked(plates.ink.max(0), ink_from_percent) & plates.mask_of(one_up.shape)
    if not ink.any():
        return None
    (left, low, _, _), half = one_up.box, plates.mm_per_px / 2  # the outermost pixels are covered by half on average
    x0, y0, x1, y1 = plates.box_of(ink)
    return (x0 + half - left, x1 - half - left), (y0 + half - low, y1 - half - low)


def _past_printable(
    one_up: tuple[float, float], printed: tuple[Span, Span], size: Size, area: tuple[Span, Span]
) -> float:
    """By how much the printing does not fit, at best of the four ways to lay the one-up; below nought where it does."""

    def along_one_axis(axis: int, room: float, free: Span, *, flipped: bool) -> float:
        (low, high), length = printed[axis], one_up[axis]
        first, last = (length - high, length - low) if flipped else (low, high)
        return max(0.0, free[0] - first) - min(room - length, free[1] - last)

    return min(
        max(
            along_one_axis(across, size.across_mm, area[0], flipped=flipped),
            along_one_axis(1 - across, size.along_mm, area[1], flipped=flipped),
        )
        for across in (0, 1)
        for flipped in (False, True)
    )


def _words(width_mm: float, height_mm: float) -> str:
    return f"{width_mm:.0f} x {height_mm:.0f} mm"


# The trim box ------------------------------------------------------------------------------------------------------


@measure(
    "trim-box-off-cut",
    unit="mm",
    rests_on=["objects"],
    cases=("moved",),
    facts=("trim", "cut", "sides", "moved"),
)
def trim_box_off_cut(job: Job, *, same_size_mm: float) -> list[Reading]:
    """How far the trim box's sides lie from those of the box round the cut, at most; of several blanks one will do.

    A page without a trim box, or whose trim box is the page, has no reading. Case ``moved``: width and height agree
    within ``same_size``, so that the box only stands elsewhere.
    """
    trim = own_trim(job.page)
    if trim is None:
        return []
    needs.whole(job, "objects")
    cut = min(_cut_boxes(job), key=lambda box: _farthest(trim, box))
    width, height = (abs((trim[axis + 2] - trim[axis]) - (cut[axis + 2] - cut[axis])) for axis in (0, 1))
    facts = {
        "trim": _fine_words(trim),
        "cut": _fine_words(cut),
        "sides": _sides(trim, cut),
        "moved": ", ".join(_moves(cut[0] + cut[2], trim[0] + trim[2], cut[1] + cut[3], trim[1] + trim[3])),
    }
    case = "moved" if max(width, height) <= same_size_mm else ""
    places = (Place(trim, job.page.number),)
    return [Reading(round(_farthest(trim, cut), 2), "mm", places, needs.die_known(job), case=case, facts=facts)]


def _cut_boxes(job: Job) -> list[Box]:
    """The box round all blanks, and the boxes of each of them."""
    die = needs.die(job)
    return [die.inside.bounds, *(blank.outline.bounds for blank in die.blanks)]


def _farthest(one: Box, other: Box) -> float:
    return float(np.abs(np.array(one) - np.array(other)).max())


def _sides(trim: Box, cut: Box) -> str:
    """``5.0 mm outside the cut at the left and 3.0 mm inside it at the top``; sides that agree are left out."""
    outward = {"left": cut[0] - trim[0], "bottom": cut[1] - trim[1], "right": trim[2] - cut[2], "top": trim[3] - cut[3]}
    told = [
        f"{abs(far):.1f} mm {'outside' if far > 0 else 'inside'} the cut at the {side}"
        for side, far in outward.items()
        if abs(far) >= 0.1
    ]
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


def _moves(cut_x: float, trim_x: float, cut_y: float, trim_y: float) -> Iterator[str]:
    """How far the trim box stands from the cut, from the sums of their sides."""
    for far, up, down in (((trim_x - cut_x) / 2, "to the right", "to the left"), ((trim_y - cut_y) / 2, "up", "down")):
        if abs(far) >= 0.1:
            yield f"{abs(far):.1f} mm {up if far > 0 else down}"


def _fine_words(box: Box) -> str:
    return f"{box[2] - box[0]:.1f} x {box[3] - box[1]:.1f} mm"
