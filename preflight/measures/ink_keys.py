"""What the press sheet wants of the ink keys, lane by lane: too little, too much, unlike pictures, ghosts, steps.

Keys count from the operator side. A lane is what lies in the strip of one key, from the gripper edge to the tail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preflight.artwork.page.geometry import Box, box_through, overlap
from preflight.findings import Place, Reading, with_and
from preflight.inputs.press import InkKeys
from preflight.job import Job, once_a_job
from preflight.measures import needs
from preflight.measures.registry import Kinds, measure

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.ink_keys.covers import KeyCovers
    from preflight.setup.ink_keys.lanes import Change, LaneBook
    from preflight.setup.ink_keys.sheet_tints import SheetTints
    from preflight.setup.press_sheet.press_sheet import PressSheet

LEAST_OF_A_STRIP = 0.2
"""Share of a strip that has to lie on the sheet for its lane to be looked at."""


@dataclass(frozen=True, eq=False)
class _Keyed:
    """The sheet with what its keys are wanted for."""

    sheet: PressSheet
    covers: KeyCovers
    lanes: LaneBook
    on_coaters: frozenset[str]

    def lane(self, cover: Sequence[float]) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Cover of that part of each strip that lies on the sheet; NaN where hardly any of it does."""
        on_sheet = self.covers.strips.on_sheet
        lane = np.minimum(np.asarray(cover) / np.maximum(on_sheet, 1e-9), 1.0)
        return np.where(on_sheet >= LEAST_OF_A_STRIP, lane, np.nan)

    def blanks_in(self, key: int) -> list[int]:
        """Numbers of the blanks that lie in a lane."""
        left, right = self.covers.strips.x_of(key)
        return [
            blank.number
            for blank in self.sheet.blanks
            if blank.outline.bounds[0] < right and blank.outline.bounds[2] > left
        ]


@once_a_job
def _keyed(job: Job) -> _Keyed | None:
    """None on a page whose sheet another page of the job speaks for."""
    keys = _ink_keys(job)
    sheet = job.press_sheet
    if sheet is None:
        return None
    from preflight.setup.ink_keys.covers import key_covers
    from preflight.setup.ink_keys.lanes import LaneBook
    from preflight.setup.ink_keys.strips import Drawings, Strips

    ticket = job.ticket
    coated = ticket.coating.separation if ticket and ticket.coating else None
    on_coaters = frozenset([coated] if coated else [])
    goes_by = ticket.ink_of if ticket else str
    drawings = Drawings()
    covers = key_covers(sheet, keys, goes_by, on_coaters, drawings)
    lanes = LaneBook(sheet, Strips.of(sheet, keys), goes_by, on_coaters, drawings)
    return _Keyed(sheet, covers, lanes, on_coaters)


def _ink_keys(job: Job) -> InkKeys:
    press = needs.press(job)
    needs.said(press.ink_keys, "ink_keys", "press profile")
    assert press.ink_keys is not None
    return press.ink_keys


@once_a_job
def _tints(job: Job) -> SheetTints | None:
    keyed = _keyed(job)
    if keyed is None:
        return None
    from preflight.setup.ink_keys.sheet_tints import sheet_tints

    goes_by = job.ticket.ink_of if job.ticket else str
    return sheet_tints(keyed.sheet, keyed.covers.strips, goes_by, keyed.on_coaters)


@measure(
    "ink-wanted-of-key",
    unit="%",
    rests_on=["plates"],
    within="page",
    facts=("ink", "key", "keys", "blanks", "cover", "bar"),
)
def ink_wanted_of_key(job: Job, *, kinds: Kinds, prints_from_percent: float, sideways_percent: float) -> list[Reading]:
    """Ink that each lane takes off, for each ink that prints there at all; ``sideways`` is carried to each neighbour.

    Bars and marks are no reason to say that an ink prints in a lane, but what they take off counts.
    """
    keyed, readings = _keyed(job), list[Reading]()
    side = sideways_percent / 100
    for plate in keyed.covers.plates if keyed else ():
        assert keyed is not None
        if plate.kind not in kinds:
            continue
        lane, work = keyed.lane(plate.cover), keyed.lane(plate.work)
        for key in (np.flatnonzero(work >= prints_from_percent / 100) + 1).tolist():
            own = lane[key - 1]
            beside = [lane[at] if 0 <= at < len(lane) and np.isfinite(lane[at]) else own for at in (key - 2, key)]
            wanted = (1 - 2 * side) * own + side * sum(beside)
            bar = (round(keyed.sheet.size.along_mm / 100, 1), "mm")
            facts = {"cover": (round(100 * own, 1), "%"), "bar": bar}
            readings.append(_reading(job, keyed, plate.name, key, 100 * wanted, facts))
    return readings


@measure(
    "lane-cover",
    unit="%",
    rests_on=["plates"],
    within="page",
    facts=("ink", "key", "keys", "blanks", "solid", "better"),
)
def lane_cover(job: Job, *, kinds: Kinds, look_from_percent: float) -> list[Reading]:
    """Cover of each lane by each ink, with its longest solid, and the swap or turn of blanks that makes it lighter."""
    keyed, readings = _keyed(job), list[Reading]()
    for plate in keyed.covers.plates if keyed else ():
        assert keyed is not None
        lane = keyed.lane(plate.cover)
        for key in (np.flatnonzero(lane >= look_from_percent / 100) + 1).tolist() if plate.kind in kinds else ():
            facts = {
                "solid": _solid_words(job, plate.name, key) if plate.side == "front" else "It is on the back",
                "better": _better(job, "most", 0.0),
            }
            readings.append(_reading(job, keyed, plate.name, key, 100 * lane[key - 1], facts))
    return readings


@measure(
    "lane-difference",
    unit="%",
    rests_on=["plates"],
    within="page",
    facts=("ink", "key", "keys", "blanks", "heavy", "pale", "most", "least", "better"),
)
def lane_difference(job: Job, *, pale_from_percent: float, look_from_percent: float) -> list[Reading]:
    """Most less least that two blanks want of one key, in points; a blank without the ink in the lane wants none."""
    keyed, readings = _keyed(job), list[Reading]()
    if keyed is None:
        return []
    from preflight.setup.ink_keys.lanes import differences

    lanes = keyed.lanes.lanes
    found = 100 * differences(lanes, pale_from_percent / 100)
    for ink, at in np.argwhere(found >= look_from_percent).tolist():
        wants = lanes.wants[:, ink, at]
        some = np.where(wants >= pale_from_percent / 100, wants, np.nan)
        heavy, pale = int(np.nanargmax(some)), int(np.nanargmin(some))
        facts = {
            "heavy": str(lanes.blanks[heavy]),
            "pale": str(lanes.blanks[pale]),
            "most": (round(100 * some[heavy]), "%"),
            "least": (round(100 * some[pale]), "%"),
            "better": _better(job, "difference", pale_from_percent / 100),
        }
        readings.append(_reading(job, keyed, lanes.inks[ink], at + 1, float(found[ink, at]), facts))
    return readings


@measure(
    "ghost-in-solid",
    unit="%",
    rests_on=["plates"],
    within="page",
    facts=("ink", "key", "keys", "blanks", "from_gripper"),
)
def ghost_in_solid(job: Job, *, kinds: Kinds, recovers_mm: float, depth_mm: float, width_mm: float) -> list[Reading]:
    """How much less ink was taken off in front of a solid in a lane than at both of its sides: an estimate.

    One reading for each ink and each blank, of its worst place; ``setup/ink_keys/take_off.py`` has the model.
    """
    keyed, tints = _keyed(job), _tints(job)
    if keyed is None or tints is None:
        return []
    from preflight.setup.ink_keys.take_off import GhostModel, ghosts

    kind_of = {plate.name: plate.kind for plate in keyed.covers.plates if plate.side == "front"}
    worst: dict[tuple[str, int], tuple[float, float, float]] = {}
    for ink, tint in tints.by_ink.items():
        for ghost in ghosts(tint, GhostModel(recovers_mm, depth_mm, width_mm)) if kind_of.get(ink) in kinds else ():
            blank = _blank_at(keyed.sheet, ghost.x_mm, ghost.y_mm + depth_mm / 2)
            if blank is not None and ghost.depletion > worst.get((ink, blank), (0.0, 0.0, 0.0))[0]:
                worst[ink, blank] = ghost.depletion, ghost.x_mm, ghost.y_mm
    readings = []
    for (ink, blank), (depletion, x, y) in worst.items():
        facts = {"blanks": [blank], "from_gripper": (round(y), "mm")}
        box = (x - width_mm / 2, y, x + width_mm / 2, y + depth_mm)
        readings.append(_reading(job, keyed, ink, _key_at(keyed, x), 100 * depletion, facts, box))
    return readings


@measure("key-step", unit="%", rests_on=["plates"], within="page", facts=("ink", "key", "keys", "blanks", "beside"))
def key_step(job: Job, *, kinds: Kinds) -> list[Reading]:
    """Difference of the covers of two neighbouring lanes, in points, where both lie wholly within the blanks."""
    keyed, readings = _keyed(job), list[Reading]()
    if keyed is None or not keyed.sheet.blanks:
        return []
    left = min(blank.outline.bounds[0] for blank in keyed.sheet.blanks)
    right = max(blank.outline.bounds[2] for blank in keyed.sheet.blanks)
    strips = keyed.covers.strips
    ends = [strips.x_of(key) for key in range(1, len(strips.on_sheet) + 1)]
    within = [left <= low and high <= right and high - low > strips.pitch_mm - 1e-6 for low, high in ends]
    for plate in keyed.covers.plates:
        for at in range(len(within) - 1) if plate.kind in kinds else ():
            if within[at] and within[at + 1]:
                step = 100 * abs(plate.cover[at + 1] - plate.cover[at])
                facts = {"beside": f"{at + 1} and {at + 2}"}
                readings.append(_reading(job, keyed, plate.name, at + 1, step, facts))
    return readings


@measure("ink-beyond-keys", unit="mm", rests_on=["plates"], within="page", facts=("ink", "ends", "wide", "sheet"))
def ink_beyond_keys(job: Job) -> list[Reading]:
    """How far each ink prints beyond the outermost key of the press, on a sheet that is wider than all keys."""
    keyed, readings = _keyed(job), list[Reading]()
    if keyed is None:
        return []
    from preflight.setup.ink_keys.covers import beyond_keys

    keys, sheet = _ink_keys(job), keyed.sheet
    goes_by = job.ticket.ink_of if job.ticket else str
    sides = ("operator side", "drive side") if sheet.operator_side == "left" else ("drive side", "operator side")
    left, right = float(keyed.covers.strips.edges_mm[0]), float(keyed.covers.strips.edges_mm[-1])
    for ink, reach in beyond_keys(sheet, keys, goes_by, keyed.on_coaters).items():
        facts = {
            "ink": ink,
            "ends": with_and(side for side, mm in zip(sides, reach, strict=True) if mm),
            "wide": f"{keys.count} keys of {keys.pitch:g} mm are {right - left:g} mm wide",
            "sheet": str(sheet.size),
        }
        boxes = [(left - reach[0], 0.0, left, sheet.size.along_mm), (right, 0.0, right + reach[1], sheet.size.along_mm)]
        places = [_places(job, sheet, box, ink, "beyond the keys") for box, mm in zip(boxes, reach, strict=True) if mm]
        shown = tuple(place for each in places for place in each)
        units = needs.plan(job).units_of(ink)
        readings.append(Reading(round(max(reach), 2), "mm", shown, group=ink, facts=facts, units=units))
    return readings


# Words and places --------------------------------------------------------------------------------------------------


def _reading(
    job: Job, keyed: _Keyed, ink: str, key: int, value: float, facts: dict[str, Any], box: Box | None = None
) -> Reading:
    """A reading of one ink in one lane; those of one ink are one finding."""
    told = {"ink": ink, "key": str(key), "keys": [key], "blanks": keyed.blanks_in(key), **facts}
    left, right = keyed.covers.strips.x_of(key)
    box = box or (left, 0.0, right, keyed.sheet.size.along_mm)
    return Reading(
        round(float(value), 2),
        "%",
        places=_places(job, keyed.sheet, box, ink, f"lane of key {key}"),
        group=ink,
        facts=told,
        units=needs.plan(job).units_of(ink),
    )


def _places(job: Job, sheet: PressSheet, box: Box, ink: str, path: str) -> tuple[Place, ...]:
    """Where a part of the sheet is on the page: of a sheet itself, of a one-up where the first blank in it shows it."""
    page = job.page.number
    if page in sheet.to_page:
        return (Place(box_through(sheet.to_page[page], box), page, ink, path),)
    for blank in sheet.blanks:
        part = overlap(box, blank.outline.bounds)
        if blank.to_sheet is not None and blank.version is None and part[2] > part[0] and part[3] > part[1]:
            from preflight.setup.ink_keys.strips import turned_back

            shown = box_through(turned_back(blank.to_sheet), part)
            return (Place(shown, page, ink, f"{path}, blank {blank.number}"),)
    return ()


def _blank_at(sheet: PressSheet, x_mm: float, y_mm: float) -> int | None:
    """Number of the blank at a place, by its box; None where there is none."""
    for blank in sheet.blanks:
        x0, y0, x1, y1 = blank.outline.bounds
        if x0 <= x_mm <= x1 and y0 <= y_mm <= y1:
            return blank.number
    return None


def _key_at(keyed: _Keyed, x_mm: float) -> int:
    """The key in whose strip a place lies; the nearest one beyond the keys."""
    strips = keyed.covers.strips
    at = int(np.clip(np.searchsorted(strips.edges_mm, x_mm, "right") - 1, 0, len(strips.edges_mm) - 2))
    return at + 1 if strips.operator_side == "left" else len(strips.edges_mm) - 1 - at


def _solid_words(job: Job, ink: str, key: int) -> str:
    from preflight.setup.ink_keys.take_off import longest_solid

    tints = _tints(job)
    solid = longest_solid(tints.in_strip(ink, key)) if tints is not None and ink in tints.by_ink else None
    if solid is None:
        return "No solid fills the width of the lane"
    return (
        f"Its longest solid is {solid.length_mm:.0f} mm along the travel and ends {solid.to_tail_mm:.0f} mm "
        "from the tail"
    )


@once_a_job
def _better(job: Job, aim: str, pale_from: float) -> str:
    """The swap or turn that was found by trying all, in a sentence."""
    keyed = _keyed(job)
    assert keyed is not None
    if aim == "difference":
        change, what = keyed.lanes.better("difference", pale_from), "the greatest difference"
    else:
        change, what = keyed.lanes.better("most", 0.0, keyed.covers), "the heaviest lane"
    return _change_words(change, what)


def _change_words(change: Change | None, what: str) -> str:
    if change is None:
        return "No swap of two blanks and no turn of one or two by 180° makes it better by 5 points."
    numbers = " and ".join(map(str, change.blanks))
    done = "Swap" if change.what == "swap" else "Turn"
    by = "" if change.what == "swap" else " by 180°"
    blanks = "blanks" if len(change.blanks) > 1 else "blank"
    return (
        f"{done} {blanks} {numbers}{by}: {what} on the sheet falls from {100 * change.before:.0f} to "
        f"{100 * change.after:.0f} % (gutters and bleed are to be checked again)."
    )
