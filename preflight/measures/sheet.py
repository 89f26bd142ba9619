"""The sheet and the board against the press: size, caliper, ink in the gripper edge and outside the printable area."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.errors import NotMeasured
from preflight.findings import Known, Place, Reading
from preflight.inputs.press import Press
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster import masks, rims
from preflight.measures.raster.close_looks import on_page
from preflight.measures.registry import measure
from preflight.quantities import Size

CLOSE_DPI: Final = 300.0
SAME_SIZE_MM: Final = 1.0

Edge = Literal["bottom", "top", "left", "right"]


@measure("sheet-size", unit="mm", sizes=True, rests_on=[], facts=("across", "along"))
def sheet_size(job: Job) -> list[Reading]:
    """The sheet's size, across the press and along the travel."""
    found = sheet_of(job)
    if found is None:
        return []
    size, known = found
    facts = {"across": f"{size.across_mm:g} mm", "along": f"{size.along_mm:g} mm"}
    return [Reading((size.across_mm, size.along_mm), "mm", known=known, facts=facts)]


@measure("blanks-on-sheet", unit="%", rests_on=[], facts=("ups", "sheet"))
def blanks_on_sheet(job: Job) -> list[Reading]:
    """Area of all blanks over that of the sheet, where the ticket says how many a one-up is put on it."""
    if job.ticket is None or job.ticket.layout.ups is None or job.artwork_is != "one-up":
        return []
    found = sheet_of(job)
    if found is None:
        return []
    size, known = found
    ups = job.ticket.layout.ups
    share = 100 * needs.die(job).inside.area * ups / (size.across_mm * size.along_mm)
    return [Reading(round(share, 1), "%", known=known, facts={"ups": f"{ups}-up", "sheet": str(size)})]


def sheet_of(job: Job) -> tuple[Size, Known] | None:
    """The ticket's sheet; else the page turned so that the gripper edge leads, or the sheet that blanks are laid on.

    The last is no guess: it is what is ordered and run. None where another page of the job speaks for it.

    Raises:
        NotMeasured: the ticket does not say, and the page is no sheet, nor is one laid out.
    """
    if job.ticket is not None and job.ticket.sheet is not None:
        return job.ticket.sheet, "stated"
    if job.artwork_is == "one-up" and job.laid_out:
        return (job.press_sheet.size, "read") if job.press_sheet is not None else None
    if job.artwork_is != "sheet":
        raise NotMeasured("the ticket does not say how large the sheet is", "give sheet: size on the ticket", "ticket")
    edge, known = gripper_edge(job)
    width, height = job.page.width_mm, job.page.height_mm
    return Size(*((width, height) if edge in ("bottom", "top") else (height, width))), known


def gripper_edge(job: Job) -> tuple[Edge, Known]:
    """The gripper edge as displayed, and how it is known; the bottom is a guess that may only warn."""
    edge = job.ticket.gripper_edge if job.ticket else None
    known: Known = "assumed" if edge is None or job.artwork_is_known == "assumed" else "stated"
    return edge or "bottom", known  # type: ignore[return-value]


@measure("caliper", unit="mm", rests_on=[], cases=("near an end",), facts=("caliper", "tolerance", "end"))
def caliper(job: Job, *, tolerance_percent: float) -> list[Reading]:
    """The board's caliper; case ``near an end``: what ``tolerance`` may make of it towards that end of the range.

    A caliper of 0.86 mm stands within 5 % of 0.9 mm since 0.86 / 0.95 is more.
    """
    ticket, press = needs.ticket(job, "board: caliper"), needs.press(job)
    needs.said(ticket.board.caliper, "board: caliper")
    needs.said(press.board.caliper, "board: caliper", "press profile")
    assert ticket.board.caliper is not None
    assert press.board.caliper is not None
    value, range_ = ticket.board.caliper, press.board.caliper
    facts = {"caliper": f"{value:.3g} mm", "tolerance": f"{tolerance_percent:g} %"}
    readings = [Reading(value, "mm", known="stated", facts=facts)]
    if range_.low <= value <= range_.high:
        share = tolerance_percent / 100
        thick = range_.high - value < value - range_.low
        reached = value / (1 - share) if thick else value / (1 + share)
        readings.append(
            Reading(
                reached, "mm", known="stated", case="near an end", facts={**facts, "end": "upper" if thick else "lower"}
            )
        )
    return readings


@dataclass(frozen=True)
class SheetOnPage:
    """Where the sheet lies on the page as displayed, and which way it travels."""

    box: Box
    edge: Edge
    known: Known

    def depth_from_gripper(self, plates: Plates) -> NDArray[np.float64]:
        """Distance of each pixel's nearer and farther side from the gripper edge, in mm: (2, height or width)."""
        mm, (x0, _, _, y1) = plates.mm_per_px, plates.box_mm
        height, width = plates.ink.shape[1:]
        if self.edge in ("bottom", "top"):
            upper = y1 - np.arange(height) * mm
            lower = upper - mm
            near, far = (
                (lower - self.box[1], upper - self.box[1])
                if self.edge == "bottom"
                else (self.box[3] - upper, self.box[3] - lower)
            )
        else:
            left = x0 + np.arange(width) * mm
            right = left + mm
            near, far = (
                (left - self.box[0], right - self.box[0])
                if self.edge == "left"
                else (self.box[2] - right, self.box[2] - left)
            )
        return np.stack([near, far])

    def rectangle(self, sides_mm: float, from_gripper_mm: float, to_mm: float) -> Box:
        """A rectangle of the sheet: its distance from both sides, and from and to along the travel."""
        x0, y0, x1, y1 = self.box
        if self.edge == "bottom":
            return (x0 + sides_mm, y0 + from_gripper_mm, x1 - sides_mm, y0 + to_mm)
        if self.edge == "top":
            return (x0 + sides_mm, y1 - to_mm, x1 - sides_mm, y1 - from_gripper_mm)
        if self.edge == "left":
            return (x0 + from_gripper_mm, y0 + sides_mm, x0 + to_mm, y1 - sides_mm)
        return (x1 - to_mm, y0 + sides_mm, x1 - from_gripper_mm, y1 - sides_mm)


def sheet_on_page(job: Job) -> tuple[SheetOnPage, Size]:
    """The sheet on a page that shows a sheet or a plate; raises NotMeasured where its place is not known."""
    edge, known = gripper_edge(job)
    across_page = edge in ("bottom", "top")
    page = Size(job.page.width_mm, job.page.height_mm) if across_page else Size(job.page.height_mm, job.page.width_mm)
    if job.artwork_is == "sheet":
        size = job.ticket.sheet if job.ticket and job.ticket.sheet else page
        if abs(size.across_mm - page.across_mm) > SAME_SIZE_MM or abs(size.along_mm - page.along_mm) > SAME_SIZE_MM:
            because = f"the page is {page} and the ticket's sheet {size}, so the position of the sheet is not known"
            raise NotMeasured(because, "artwork drawn on the sheet's size, or artwork_is: plate", "ticket")
        return SheetOnPage(job.page.box_mm, edge, known), page
    press = needs.press(job)
    starts = press.plate.sheet_starts
    needs.said(starts, "plate: sheet_starts", "press profile")
    needs.said(job.ticket.sheet if job.ticket else None, "sheet: size")
    assert starts is not None
    assert job.ticket is not None
    assert job.ticket.sheet is not None
    size = job.ticket.sheet
    plate = SheetOnPage(job.page.box_mm, edge, known)
    box = plate.rectangle((page.across_mm - size.across_mm) / 2, starts, starts + size.along_mm)
    return SheetOnPage(box, edge, known), size


@measure("ink-into-gripper", unit="mm", within="page", facts=("inks", "edge"))
def ink_into_gripper(job: Job, *, ink_from_percent: float) -> list[Reading]:
    """How far ink of at least ``ink_from`` reaches into the gripper edge, of marks too; nought where it stays out."""
    press = needs.press(job)
    needs.said(press.edges.gripper, "edges: gripper", "press profile")
    assert press.edges.gripper is not None
    sheet, size = sheet_on_page(job)
    strip = sheet.rectangle(0.0, 0.0, min(press.edges.gripper, size.along_mm))
    found = _ink_in(job, shapely.box(*strip), ink_from_percent)
    if found is None:
        return [Reading(0.0, "mm", known=sheet.known, facts={"inks": "", "edge": sheet.edge})]
    window, ink, inks = found
    near = sheet.depth_from_gripper(window)[0]
    reached = ink.any(1) if sheet.edge in ("bottom", "top") else ink.any(0)
    depth = press.edges.gripper - max(0.0, float(near[reached].min()) + window.mm_per_px / 2)
    places = (Place(window.box_of(ink), job.page.number),)
    return [Reading(round(depth, 2), "mm", places, sheet.known, facts={"inks": inks, "edge": sheet.edge})]


@measure("ink-past-printable-area", unit="mm", within="page", facts=("inks", "printable", "press"))
def ink_past_printable_area(job: Job, *, ink_from_percent: float, bleed_mm: float) -> list[Reading]:
    """How far ink of the job runs past the printable area at the sides and the tail; nought where it stays inside.

    Ink of the job is what stands on a blank or within ``bleed`` of it; marks are left alone. The gripper edge has a
    measure of its own.
    """
    press = needs.press(job)
    sheet, size = sheet_on_page(job)
    printable = sheet.rectangle(*printable_of(needs.press(job), size))
    outside = shapely.difference(shapely.box(*sheet.box), shapely.box(*_open_at_gripper(sheet, printable)))
    if not job.die.blanks:
        if _ink_in(job, outside, ink_from_percent) is None:
            return [Reading(0.0, "mm", known=sheet.known)]
        because = "the sheet has no die, so ink of the job and marks cannot be told apart outside the printable area"
        raise NotMeasured(because, "a die on the sheet or the ticket")
    of_job = shapely.intersection(outside, shapely.buffer(needs.die(job).inside, bleed_mm, join_style="mitre"))
    found = _ink_in(job, of_job, ink_from_percent)
    if found is None:
        return [Reading(0.0, "mm", known=sheet.known)]
    window, ink, inks = found
    x0, y0, x1, y1 = window.box_of(ink)
    px0, py0, px1, py1 = _open_at_gripper(sheet, printable)
    past = max(px0 - x0, py0 - y0, x1 - px1, y1 - py1) - window.mm_per_px / 2
    known: Known = "assumed" if needs.die_known(job) == "assumed" else sheet.known
    facts = {
        "inks": inks,
        "printable": f"{printable[2] - printable[0]:g} x {printable[3] - printable[1]:g} mm",
        "press": press.name,
    }
    return [Reading(round(past, 2), "mm", (Place((x0, y0, x1, y1), job.page.number),), known, facts=facts)]


def printable_of(press: Press, size: Size) -> tuple[float, float, float]:
    """Distance of the printable area from the sides of a sheet, and where it starts and ends, from the gripper edge.

    Raises:
        NotMeasured: the press profile does not say.
    """
    edges, most = press.edges, press.sheet.printable
    if most is None and edges.sides is None and edges.tail is None:
        raise NotMeasured(
            "the press profile does not say what can be printed", "give sheet: printable, or edges", "press"
        )
    sides, start = edges.sides or 0.0, edges.gripper or 0.0
    end = size.along_mm - (edges.tail or 0.0)
    if most is not None:
        sides = max(sides, (size.across_mm - most.across_mm) / 2)
        end = min(end, start + most.along_mm)
    return sides, start, end


def _open_at_gripper(sheet: SheetOnPage, printable: Box) -> Box:
    """The printable area carried on to the gripper edge and beyond."""
    x0, y0, x1, y1 = printable
    return {
        "bottom": (x0, sheet.box[1] - 1, x1, y1),
        "top": (x0, y0, x1, sheet.box[3] + 1),
        "left": (sheet.box[0] - 1, y0, x1, y1),
        "right": (x0, y0, sheet.box[2] + 1, y1),
    }[sheet.edge]


def _ink_in(job: Job, shape: shapely.Geometry, tint_percent: float) -> tuple[Plates, NDArray[np.bool_], str] | None:
    """Ink within a shape: a window at 300 dpi, the inked pixels, the names of the inks; None where there is none.

    The 100 dpi plates say where to look. The outermost inked pixels are covered by half on average, so distances to
    them are taken from their middles.
    """
    if not job.plates.names or shape.is_empty:  # in this order: without plates nothing is known
        return None
    near = shapely.buffer(shape, job.plates.mm_per_px)
    part = job.plates.around(near)
    if not part.ink.size:
        return None
    seen = part.mask_of(near) & masks.inked(part.ink.max(0), tint_percent)
    if not seen.any():
        return None
    x0, y0, x1, y1 = part.box_of(seen)
    window = job.page.window(on_page(job.page, (x0 - 1, y0 - 1, x1 + 1, y1 + 1)), CLOSE_DPI)
    within = window.mask_of(shape)
    strong = rims.is_no_rim(window.ink.max(0))
    sees = rims.sharply(job, lambda sharp: masks.inked(sharp.ink.max(0), tint_percent))
    ink = rims.without_rims(masks.inked(window.ink.max(0), tint_percent) & within, window, sees, strong)
    if not ink.any():
        return None
    names = [
        n for n, tints in zip(window.names, window.ink, strict=True) if (masks.inked(tints, tint_percent) & ink).any()
    ]
    return window, ink, ", ".join(names)
