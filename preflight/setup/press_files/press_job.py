"""What the open press files tell of a job: one record that both are written from, so that they cannot differ.

Everything lies as in ``setup.json``: x counts from the sheet's edge at the operator side, y from the gripper edge, in
mm. Where the operator stands at the right of the printed face, pictures are therefore mirrored against that face.
Turns are those of the printed face, counter-clockwise, its gripper edge down.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from preflight.quantities import Size

Side = Literal["front", "back"]
Dryer = Literal["UV", "IR", "On", "Off"]

PPF_NAME, XJDF_NAME = "ink-keys.ppf", "job.xjdf"
PRESS_FILES = (PPF_NAME, XJDF_NAME)
"""What moves a press: none of an earlier set-up stays beside a new sheet."""
PREVIEW_DPI = 50.8
"""Two pixels to the millimetre, as the tickets that the makers of the formats test with have it."""


@dataclass(frozen=True)
class Origin:
    """What a file was made from, when and by what; every file carries it."""

    ticket: str | None
    revision: str | None
    title: str | None
    artworks: tuple[tuple[str, str], ...]
    """File name and SHA-256 of each."""
    tool: str
    rules_version: str
    when: datetime
    press: str = ""


@dataclass(frozen=True)
class Stock:
    """The board; None is what the ticket does not say."""

    size: Size
    grade: str | None = None
    caliper_mm: float | None = None
    weight_gsm: float | None = None
    grain: Literal["across", "along"] | None = None
    """Of the sheet: across the press, or along its travel."""


@dataclass(frozen=True)
class PlateOnPress:
    """The printing plate; the sheet lies in the middle of it, across."""

    size: Size | None = None
    sheet_starts_mm: float | None = None
    """From the plate's leading edge to the sheet's gripper edge."""


@dataclass(frozen=True)
class UnitPlate:
    """What one unit prints."""

    unit: int
    name: str
    kind: str | None
    side: Side = "front"
    lab: tuple[float, float, float] | None = None
    density: float | None = None
    preview: NDArray[np.uint8] | None = None
    """(height, width) at 50.8 dpi, 0 bare to 255 solid; row 0 at the gripper edge, column 0 at the operator side.
    None where no plate shows it."""
    covers: tuple[float, ...] | None = None
    """Mean tint 0..1 in the strip of each key, the first at the operator side; None where it is not known."""
    openings_percent: tuple[float | None, ...] | None = None
    """By the plant's own curve; None where it has none, or does not tell that key."""
    overall: bool = False
    """Printed all over, and shown by no artwork: the whole sheet is taken."""


@dataclass(frozen=True)
class Keys:
    """The ink keys; their middle stands in the middle of the sheet."""

    count: int
    pitch_mm: float

    def first_begins_mm(self, size: Size) -> float:
        """Where the first key's strip begins, from the sheet's edge at the operator side; below 0 is off the sheet."""
        return (size.across_mm - self.count * self.pitch_mm) / 2


@dataclass(frozen=True)
class BlankAt:
    """Box of the cut of one turned blank, without bleed."""

    number: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    turn_deg: int | None = None
    """A quarter turn; None where the one-up is not known."""
    version: str | None = None


@dataclass(frozen=True)
class MarkAt:
    """Box of a mark on the front."""

    kind: Literal["register", "colour bar"]
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def middle_mm(self) -> tuple[float, float]:
        """Its middle."""
        return self.x_mm + self.width_mm / 2, self.y_mm + self.height_mm / 2


@dataclass(frozen=True)
class Coat:
    """What one coater lays."""

    coater: int
    coating: str
    lays: str | None = None
    """``overall``, ``cut blanket`` or ``plate``; None where nobody says."""


@dataclass(frozen=True)
class Cartons:
    """Cartons that are wanted, of one version."""

    amount: int | None
    version: str | None = None


@dataclass(frozen=True)
class Amounts:
    """Sheets of the run."""

    net: int | None = None
    gross: int | None = None
    speed_sheets_h: float | None = None


@dataclass(frozen=True)
class PressJob:
    """One sheet through the press once."""

    origin: Origin
    stock: Stock
    plates: tuple[UnitPlate, ...]
    """In unit order."""
    plate: PlateOnPress = PlateOnPress()
    keys: Keys | None = None
    blanks: tuple[BlankAt, ...] = ()
    marks: tuple[MarkAt, ...] = ()
    coats: tuple[Coat, ...] = ()
    cartons: tuple[Cartons, ...] = ()
    amounts: Amounts = Amounts()
    operator_side: Literal["left", "right"] = "left"
    """Of the printed face, gripper edge down."""
    operator_assumed: bool = False
    side_lay: Literal["operator", "drive"] | None = None
    drying: Dryer | None = None
    """In the delivery; None where the press has nothing there that is known."""
    drying_between: Dryer | None = None
    """Between the units."""
    missing: tuple[str, ...] = ()
    """What of the job is not in the pictures and covers, in sentences."""

    @property
    def sides(self) -> tuple[Side, ...]:
        """Sides that are printed, the front first."""
        sides: tuple[Side, ...] = ("front", "back")
        return tuple(side for side in sides if any(plate.side == side for plate in self.plates))

    def plates_of(self, side: Side) -> tuple[UnitPlate, ...]:
        """What prints one side, in unit order."""
        return tuple(plate for plate in self.plates if plate.side == side)


OVERALL = "Printed all over, and shown by no artwork: the whole sheet is taken."
SHEET_NAME = "Sheet1"
"""Both files call the sheet by it."""


def how_it_lies(job: PressJob) -> str:
    """A sentence on the frame, for whoever reads a file without its rules."""
    assumed = " (assumed: the press profile does not say)" if job.operator_assumed else ""
    mirrored = ", so what is drawn here is mirrored against it" if job.operator_side == "right" else ""
    back = " The back is seen through the board: the same place has the same x and y." if len(job.sides) > 1 else ""
    return (
        "x counts from the sheet's edge at the operator side, y from the gripper edge. With the printed face up and "
        f"the gripper edge down the operator is at the {job.operator_side}{assumed}{mirrored}.{back}"
    )
