"""The open press files of a set-up: CIP3 PPF and XJDF, of a job that may run and whose sheet is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal, cast

import numpy as np
from numpy.typing import NDArray

from preflight.crew.planned_job import PlannedJob
from preflight.crew.setup_document import Made, artwork_part
from preflight.inputs.ticket import Aim, Ticket
from preflight.kinds import UV_LAMPS
from preflight.setup.merged_requests import BACK
from preflight.setup.press_files.ppf import write_ppf
from preflight.setup.press_files.press_job import (
    PPF_NAME,
    XJDF_NAME,
    Amounts,
    BlankAt,
    Cartons,
    Coat,
    Dryer,
    Keys,
    MarkAt,
    Origin,
    PlateOnPress,
    PressJob,
    Side,
    Stock,
    UnitPlate,
)
from preflight.setup.press_files.previews import previews, solid
from preflight.setup.press_files.xjdf import write_xjdf
from preflight.setup.press_plan import InDelivery, LampSet, OnUnit, Pass
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.unit_plan import same_name

Pictures = Mapping[str, NDArray[np.uint8]]


def press_files(job: PlannedJob, made: Made, ink_keys: Mapping[str, Any] | None) -> dict[str, bytes]:
    """Files by name; none where the job may not run, its sheet is not known, or each version has a sheet of its own.

    Args:
        job: judged, planned and laid out.
        made: when and by what.
        ink_keys: of the set-up document, so that the files have its figures; None where there are none.
    """
    known = press_job(job, made, ink_keys)
    return {} if known is None else {PPF_NAME: write_ppf(known), XJDF_NAME: write_xjdf(known)}


def press_job(job: PlannedJob, made: Made, ink_keys: Mapping[str, Any] | None) -> PressJob | None:
    """What the files tell; None as ``press_files`` says."""
    sheet, plan, press, ticket = job.sheet, job.plan, job.press, job.ticket
    if not job.may_run or sheet is None or plan is None or not plan.passes or press is None:
        return None
    if sheet.versions_apart:  # the sheet is the first version's, and the amounts are those of all
        return None
    one = plan.passes[0]
    board = ticket.board if ticket else None
    return PressJob(
        _origin(job, made),
        Stock(
            sheet.size,
            board.grade if board else None,
            board.caliper if board else None,
            board.weight if board else None,
            cast('Literal["across", "along"] | None', (sheet.layout.grain if sheet.layout else None)
                 or (board.grain if board else None)),
        ),
        tuple(_plates(one, sheet, ticket, ink_keys or {})),
        PlateOnPress(press.plate.size, press.plate.sheet_starts),
        Keys(ink_keys["count"], ink_keys["pitch_mm"]) if ink_keys else None,
        _blanks(sheet),
        tuple(_marks(sheet)),
        tuple(Coat(each.coater, each.coating, each.lays) for each in one.coaters if each.coating is not None),
        tuple(_cartons(job)),
        _amounts(job),
        sheet.operator_side,
        sheet.operator_assumed,
        cast('Literal["operator", "drive"]', press.side_lay) if press.side_lay in ("operator", "drive") else None,
        _drying(one),
        _drying_between(one),
        tuple(_missing(job, sheet)),
    )  # fmt: skip


def _missing(job: PlannedJob, sheet: PressSheet) -> Iterator[str]:
    """What the pictures lack, which whoever takes presets from them has to know."""
    for page in job.pages:
        if page.facts.drawn == "in part":
            yield f"Part of {page.facts.file.name} could not be drawn: what it prints there is not in these figures."
    for said in sheet.left_out:
        yield f"Not on this sheet: {said}."


def _origin(job: PlannedJob, made: Made) -> Origin:
    ticket = job.ticket
    return Origin(
        ticket.ticket if ticket else None,
        ticket.revision if ticket else None,
        ticket.title if ticket else None,
        tuple((each["file"], each["sha256"]) for each in artwork_part(job)),
        made.tool,
        made.rules_version,
        made.when,
        job.press.name if job.press else "",
    )


# Plates ------------------------------------------------------------------------------------------------------------


def _plates(one: Pass, sheet: PressSheet, ticket: Ticket | None, ink_keys: Mapping[str, Any]) -> Iterator[UnitPlate]:
    drawn: dict[Side, Pictures] = {
        side: _by_ink(previews(sheet, side), ticket) for side in {unit.side for unit in one.plates}
    }
    for unit in one.plates:
        name = _printed_name(unit)
        picture = _named(name, drawn[unit.side])
        unseen = unit.overall and picture is None
        aim = _named(name, ticket.aims if ticket else {})
        assert aim is None or isinstance(aim, Aim)
        covers = _named(unit.separation or "", ink_keys.get("cover") or {})
        openings = _named(unit.separation or "", ink_keys.get("opening_percent") or {})
        yield UnitPlate(
            unit.unit,
            name,
            unit.kind,
            unit.side,
            aim.lab if aim else None,
            aim.density if aim else None,
            solid(sheet) if unseen else picture,
            None if covers is None else tuple(covers),
            None if openings is None else tuple(openings),
            unseen,
        )


def _printed_name(unit: OnUnit) -> str:
    """An ink of both sides has a name of its own on the plan for the back; on its plate it is the same ink."""
    name = unit.separation or ""
    return name.removesuffix(BACK) if unit.side == "back" else name


def _by_ink(drawn: Pictures, ticket: Ticket | None) -> Pictures:
    """Names of one ink together: they share a plate."""
    found: dict[str, NDArray[np.uint8]] = {}
    for name, picture in drawn.items():
        ink = ticket.ink_of(name) if ticket else name
        if ink in found:
            both = np.minimum(found[ink].astype(np.uint16) + picture, 255)
            picture = both.astype(np.uint8)
        found[ink] = picture
    return found


def _named(name: str, table: Mapping[str, Any]) -> Any:
    """What a table has under a name, or under one that differs in case and blanks; None where it has nothing."""
    if name in table:
        return table[name]
    return next((value for other, value in table.items() if same_name(other, name)), None)


# The sheet ---------------------------------------------------------------------------------------------------------


def _blanks(sheet: PressSheet) -> tuple[BlankAt, ...]:
    return tuple(
        BlankAt(
            blank.number,
            *_box(sheet, blank.outline.bounds),
            None if blank.turn_deg is None or blank.turn_deg % 90 else int(blank.turn_deg) % 360,
            blank.version,
        )
        for blank in sheet.blanks
    )


def _marks(sheet: PressSheet) -> Iterator[MarkAt]:
    """Register marks one by one, and the colour bar as a whole."""
    for mark in sheet.marks:
        if mark.kind == "register":
            yield MarkAt("register", *_box(sheet, mark.shape.bounds))
    bar = np.array([mark.shape.bounds for mark in sheet.marks if mark.kind == "colour bar"])
    if len(bar):
        yield MarkAt("colour bar", *_box(sheet, (*bar[:, :2].min(0).tolist(), *bar[:, 2:].max(0).tolist())))


def _box(sheet: PressSheet, bounds: Sequence[float]) -> tuple[float, float, float, float]:
    """A box of the sheet's frame as files have it: x from the operator side, y, width, height; mm."""
    x0, y0, x1, y1 = bounds
    return min(sheet.from_operator(x0), sheet.from_operator(x1)), y0, x1 - x0, y1 - y0


# The run -----------------------------------------------------------------------------------------------------------


def _cartons(job: PlannedJob) -> Iterator[Cartons]:
    ticket = job.ticket
    if ticket is None:
        return
    apart = {one.version: one.cartons for one in job.run.run.versions} if job.run else {}
    versions = list(dict.fromkeys(entry.version for entry in ticket.artwork_list if entry.version))
    for version in versions:
        yield Cartons(ticket.quantities.get(version, apart.get(version)), version)
    if not versions and ticket.quantity is not None:
        yield Cartons(ticket.quantity)


def _amounts(job: PlannedJob) -> Amounts:
    if job.run is None:
        return Amounts()
    run = job.run.run
    return Amounts(run.sheets_net, run.sheets_gross, run.speed_sheets_h)


def _drying(one: Pass) -> Dryer | None:
    """What dries in the delivery: lamps before dryers, as XJDF has one word for all of it."""
    for station in one.stations:
        if isinstance(station, InDelivery):
            lit = [kind for kind, level in zip(station.holds, station.levels, strict=True) if level != "off"]
            if any(kind in UV_LAMPS for kind in lit):
                return "UV"
            if lit:
                return "IR" if "ir" in lit else "On"
            return "Off" if station.holds else None
    return None


def _drying_between(one: Pass) -> Dryer | None:
    lamps = [station for station in one.stations if isinstance(station, LampSet)]
    if not lamps:
        return None
    return "UV" if any(lamp.level != "off" for lamp in lamps) else "Off"
