"""The sheet of the three cartons of drinking chocolate, as it came from outside: six of them, some turned.

1010 x 540 mm, gripper edge down. Drawn twice: with its faults, and repaired.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sample_jobs.drawing.cocoa_trio import (
    BELT,
    BLUE,
    BROWN,
    CARTON,
    CREAM,
    FLAVOURS,
    HIGH,
    RED,
    VARNISH,
    artwork,
    set_inks,
    with_bleed,
)  # fmt: skip
from sample_jobs.drawing.outline import outline_of, rect
from sample_jobs.drawing.pen import Pen
from sample_jobs.drawing.press_marks import REGISTRATION, ColourBar, plate_labels, register_mark, side_guide
from sample_jobs.drawing.tuck_carton import draw_die

SHEET = (1010.0, 540.0)
WIDE, TALL = CARTON.size
FOOT = 15.0
"""Of the first row, from the gripper edge."""
SECOND = 257.0
"""Foot of the second row: 104 mm from body to body, closures of 60 mm beside dust flaps of 38 mm and 6 mm between."""
AS_SENT = (("Dark", "Vanilla", "Hazelnut"), ("Dark", "Dark", "Hazelnut"))
REPAIRED = (("Dark", "Hazelnut", "Vanilla"), ("Dark", "Hazelnut", "Vanilla"))
JOB = "2655-2 C"


@dataclass(frozen=True)
class Cell:
    """One blank: the lower-left corner of its box, and its turn."""

    flavour: str
    x: float
    y: float
    turned: int

    @property
    def origin(self) -> tuple[float, float]:
        """Where the blank's own (0, 0) lies."""
        return (self.x, self.y) if self.turned == 0 else (self.x + WIDE, self.y + TALL)


def cells(repaired: bool) -> list[Cell]:
    """Blanks 1 to 6: along the gripper edge from the left, then the second row."""
    gutter, start = (6.0, 10.0) if repaired else (4.0, 12.0)
    turns = ((0, 0, 0), (180, 180, 180)) if repaired else ((0, 0, 180), (180, 180, 0))
    rows = zip(REPAIRED if repaired else AS_SENT, (FOOT, SECOND), turns, strict=True)
    return [
        Cell(flavour, start + column * (WIDE + gutter), y, turned)
        for names, y, turned_by in rows
        for column, (flavour, turned) in enumerate(zip(names, turned_by, strict=True))
    ]


def draw(path: Path, *, repaired: bool) -> Path:
    """Draws the sheet; as it was sent, or repaired."""
    pen = Pen(*SHEET, title="Ouselbrook drinking chocolate, sheet of six")
    set_inks(pen, tuple(FLAVOURS), repaired)
    pen.spot(REGISTRATION, (1.0, 1.0, 1.0, 1.0))
    pen.box("TrimBox", 0, 0, *SHEET)
    forms = {name: _form(pen, name, repaired) for name in FLAVOURS}
    placed = cells(repaired)
    for cell in placed:
        with pen.placed(*cell.origin, cell.turned):
            pen.show(forms[cell.flavour])
    if not repaired:
        _bleed_on_glue_flap(pen, placed[4])
    with pen.layer("Marks"):
        _marks(pen, repaired)
    with pen.layer("Die"), pen.overprinting():
        for cell in placed:
            with pen.placed(*cell.origin, cell.turned):
                draw_die(pen, CARTON)
    return pen.save(path)


def _form(pen: Pen, flavour: str, repaired: bool) -> str:
    """One carton with its bleed of 3 mm, to be shown wherever it stands."""
    with pen.clipped(outline_of(with_bleed())):
        artwork(pen, FLAVOURS[flavour], repaired)
    return pen.form((-4, -4, WIDE + 4, TALL + 4))


def _bleed_on_glue_flap(pen: Pen, cell: Cell) -> None:
    """The ground of blank 5 goes on for 7.8 mm past its cut, on to the glue flap of the blank beside it."""
    with pen.placed(*cell.origin, cell.turned):
        pen.fill(rect(WIDE, BELT[1], WIDE + 7.8, HIGH), FLAVOURS[cell.flavour].ground)


def inks(repaired: bool) -> list[str]:
    """Those that a unit prints, in their order, but the varnish."""
    return ["Black", "Cyan", "Magenta", "Yellow", BLUE, RED, BROWN, *(() if repaired else (CREAM,))]


def _marks(pen: Pen, repaired: bool) -> None:
    """In the sheet that was sent the bar lacks the cream, and the side-guide mark stands on a glue flap."""
    bar = [ink for ink in inks(repaired) if ink != CREAM]
    ColourBar(bar, SHEET[0], pitch_mm=33.4, keys=32, foot_mm=521).draw(pen, 6, 1004)
    register_mark(pen, 14, 245)
    register_mark(pen, 996, 285 if repaired else 246)
    if repaired:
        side_guide(pen, 6.2, 30)
    else:
        side_guide(pen, 6.2, 140, 10, 4)
    plate_labels(pen, JOB, [*inks(repaired), VARNISH], (187, 64))
