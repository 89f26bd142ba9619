"""What a sheet carries as a whole: the inside against the outside, several versions side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import inverse
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Reading, listed
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster import masks
from preflight.measures.registry import measure

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.press_sheet import PressSheet


@measure(
    "inside-to-outside",
    unit="mm",
    tolerance=0.02,
    rests_on=["objects"],
    cases=("other way round", "another die"),
    facts=("lies", "version"),
)
def inside_to_outside(job: Job) -> Measured:
    """How far cut and folds of an inside, mirrored, lie from those of its outside, both laid on one box.

    Case ``other way round``: they fit some other way. Case ``another die``: no way. Nothing where the ticket names no
    inside.
    """
    if job.ticket is None or not any(entry.is_back for entry in job.ticket.artwork_list):
        return Measured([])
    sheet = job.press_sheet
    if sheet is None:
        return Measured([])
    needs.die(job)
    readings = []
    for fit in sheet.back_fits:
        case = {"mirrored": "", "another die": "another die"}.get(fit.lies, "other way round")
        facts = {"lies": fit.lies, "version": f" of {fit.version}" if fit.version else ""}
        readings.append(Reading(fit.apart_mm, "mm", (), needs.die_known(job), case, fit.version or "", facts))
    backs = {piece.version for piece in sheet.pieces if piece.side == "back"}
    without = backs - {fit.version for fit in sheet.back_fits}
    gaps = [Gap(because, "the die in the file of the inside") for because in sheet.left_out]
    if without:
        gaps.append(Gap("the inside shows no die to hold against that of the outside", "the die in that file too"))
    return Measured(readings, gaps)


@measure("inks-of-all-versions", unit="inks", rests_on=["inks"], facts=("inks", "versions", "units"))
def inks_of_all_versions(job: Job, *, ink_from_percent: float) -> list[Reading]:
    """Plates that the versions of a combined sheet need in all: each ink once a side, what the coater lays left out."""
    sheet = job.press_sheet
    if sheet is None:
        return []
    versions = _ups(sheet)
    if len(versions) < 2:
        return []
    needs.inks(job)
    plates = dict.fromkeys(_plates(job, sheet, ink_from_percent))
    facts = {
        "inks": listed(plates),
        "versions": listed(versions),
        "units": needs.press(job).unit_count,
    }
    return [Reading(float(len(plates)), "inks", facts=facts)]


def _plates(job: Job, sheet: PressSheet, ink_from_percent: float) -> Iterator[str]:
    """Names of all that prints inside the cut, by side; names of one ink once."""
    ticket = job.ticket
    coater = ticket.coating.separation if ticket and ticket.coating else None
    looked: set[tuple[str, str | None]] = set()
    for number, piece in enumerate(sheet.pieces):
        if (piece.side, piece.version) in looked:
            continue
        looked.add((piece.side, piece.version))
        inside = _inside(sheet, number) if piece.side == "front" else None
        for name in piece.plates.names:
            tint = piece.plates.tint(name)
            seen = masks.inked(tint, ink_from_percent)
            if name != coater and name in sheet.kinds and (seen if inside is None else seen & inside).any():
                known_as = ticket.ink_of(name) if ticket else name
                yield known_as if piece.side == "front" else f"{known_as} (back)"
    yield from (ink.separation.name for ink in job.inks if not ink.in_file and ink.prints)


def _inside(sheet: PressSheet, number: int) -> NDArray[np.bool_]:
    """Pixels of a front piece inside the cut of its blank."""
    from preflight.setup.layout.sheet_layout import through

    piece = sheet.pieces[number]
    cuts = shapely.union_all([blank.outline for blank in sheet.blanks if blank.piece == number])
    return piece.plates.mask_of(through(inverse(piece.to_sheet), cuts))


@measure(
    "cartons-over-quantity", unit="%", rests_on=[], facts=("version", "ups", "quantity", "made", "sheets", "because_of")
)
def cartons_over_quantity(job: Job) -> list[Reading]:
    """How many more cartons of each version a combined sheet makes than are ordered, by its net sheets."""
    sheet = job.press_sheet
    if sheet is None:
        return []
    ups = _ups(sheet)
    if len(ups) < 2:
        return []
    ordered = _ordered(job, list(ups))
    need = {version: ceil(ordered[version] / count) for version, count in ups.items()}
    sheets = max(need.values())
    most = max(need, key=lambda version: need[version])
    readings = []
    for version, count in ups.items():
        made = sheets * count
        facts = {
            "version": version,
            "ups": count,
            "quantity": f"{ordered[version]:,}",
            "made": f"{made:,}",
            "sheets": f"{sheets:,}",
            "because_of": most,
        }
        over = 100 * (made / ordered[version] - 1)
        readings.append(Reading(round(over, 1), "%", known="stated", group=version, facts=facts))
    return readings


def _ups(sheet: PressSheet) -> Mapping[str, int]:
    """Blanks of each version that a sheet names."""
    return Counter(blank.version for blank in sheet.blanks if blank.version is not None)


def _ordered(job: Job, versions: list[str]) -> dict[str, int]:
    """Cartons of each version: as the ticket has them, what is left of the quantity shared evenly."""
    ticket = needs.ticket(job, "quantities")
    stated = {version: ticket.quantities[version] for version in versions if version in ticket.quantities}
    others = [version for version in versions if version not in stated]
    if others:
        left = (ticket.quantity or 0) - sum(stated.values())
        if left <= 0:
            raise NotMeasured(
                f"the ticket does not say how many of {listed(others)}", "quantities on the ticket", "ticket"
            )
        stated |= dict.fromkeys(others, left // len(others))
    if not all(stated.values()):
        raise NotMeasured("a version has no quantity", "quantities on the ticket", "ticket")
    return stated
