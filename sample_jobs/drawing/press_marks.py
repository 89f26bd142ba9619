"""What a plate-maker puts on a sheet beside the blanks: colour bar, register marks, side-guide mark, plate labels.

Places are mm on the sheet, from its lower-left corner, gripper edge down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sample_jobs.drawing.outline import ellipse, polyline, rect
from sample_jobs.drawing.pen import BLACK, Ink, Pen

PROCESS: dict[str, Ink] = {
    "Cyan": (1.0, 0.0, 0.0, 0.0),
    "Magenta": (0.0, 1.0, 0.0, 0.0),
    "Yellow": (0.0, 0.0, 1.0, 0.0),
    "Black": BLACK,
}
REGISTRATION = "All"
PATCH_MM = 3.4


def ink_of(name: str) -> Ink:
    """What the pen calls an ink."""
    return PROCESS.get(name, name)


@dataclass(frozen=True)
class ColourBar:
    """Patches of each ink in every zone, a tint at each end."""

    inks: Sequence[str]
    sheet_mm: float
    """Across."""
    pitch_mm: float
    keys: int
    foot_mm: float
    tall_mm: float = 5.0

    def draw(self, pen: Pen, start: float, end: float) -> None:
        """From one x to another."""
        first = self.sheet_mm / 2 - self.keys * self.pitch_mm / 2
        row = [("Cyan", 0.4), *((ink, 1.0) for ink in self.inks), ("Black", 0.4)]
        for zone in range(self.keys):
            for place, (ink, tint) in enumerate(row):
                x = first + zone * self.pitch_mm + 0.6 + place * PATCH_MM
                if x < start or x + PATCH_MM > end:
                    continue
                patch = rect(x, self.foot_mm, x + PATCH_MM, self.foot_mm + self.tall_mm)
                if ink in PROCESS:
                    pen.fill(patch, tuple(tint * part for part in PROCESS[ink]))  # type: ignore[operator]
                else:
                    pen.fill(patch, ink, tint)


def register_mark(pen: Pen, x: float, y: float, size_mm: float = 8.0) -> None:
    """A cross and a circle of hair lines on all plates."""
    half = size_mm / 2
    pen.stroke(polyline([(x - half, y), (x + half, y)], closed=False), REGISTRATION, width_pt=0.3)
    pen.stroke(polyline([(x, y - half), (x, y + half)], closed=False), REGISTRATION, width_pt=0.3)
    pen.stroke(ellipse(x, y, size_mm * 0.3), REGISTRATION, width_pt=0.3)


def side_guide(pen: Pen, x: float, y: float, wide: float = 4.0, tall: float = 10.0) -> None:
    """A solid bar."""
    pen.fill(rect(x, y, x + wide, y + tall), BLACK)


def plate_labels(pen: Pen, job: str, inks: Sequence[str], at: tuple[float, float], *, lead_mm: float = 4.6) -> None:
    """Job, ink and side, for each plate in its own ink, downwards."""
    for i, ink in enumerate(inks):
        pen.words(f"{job}  {ink}  outside", (at[0], at[1] - i * lead_mm), 8, ink=ink_of(ink), style="bold")
