"""Press sheets with marks, drawn for tests in the sheet's frame (gripper edge down) and turned on their page at will.

A sheet of 500 x 320 mm with two cartons of 195 x 180 mm at (50, 60) and (257, 60), a bar at the tail in zones of 33 mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tests.cartons import CartonDrawing, draw_die, reverse_tuck
from tests.drawn import MM, Drawing
from tests.house import PROCESS, units

ACROSS, ALONG = 500.0, 320.0
CARTONS = (reverse_tuck(at=(50, 60)), reverse_tuck(at=(257, 60)))
INKS = ("Cyan", "Magenta", "Yellow", "Black", "Mill Brown")
PITCH = 33.0
FIRST_ZONE = ACROSS / 2 - 15 * PITCH / 2
PRESS = units(
    edges={"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"},
    ink_keys={"count": 15, "pitch": "33 mm"},
    side_lay="operator",
    operator_side="left",
)
STATED = {"artwork_is": "sheet", "gripper_edge": "bottom"}
TURNS = {
    "bottom": (1, 0, 0, 1, 0, 0),
    "top": (-1, 0, 0, -1, ACROSS, ALONG),
    "left": (0, -1, 1, 0, 0, ACROSS),
    "right": (0, 1, -1, 0, ALONG, 0),
}
"""From the sheet's frame to a page whose gripper edge is displayed there."""
Put = Callable[[Drawing], object]
REGISTRATION = "All"


def ink_of(name: str) -> str | Sequence[float]:
    return PROCESS.get(name, name)


def patch(page: Drawing, ink: str, box: tuple[float, float, float, float], tint: float = 1.0) -> Drawing:
    if ink in PROCESS:
        page.fill([tint * part for part in PROCESS[ink]], rect=box)
    else:
        page.fill(ink, tint, rect=box)
    return page


@dataclass(frozen=True)
class Bar:
    """A colour bar: in each zone its patches side by side, from one x to another."""

    inks: Sequence[str] = INKS
    y: float = 300.0
    high: float = 6.0
    wide: float = 5.0
    start: float = 35.0
    end: float = 470.0
    tinted: bool = True
    """40 and 80 % of black in each zone too."""

    def boxes(self) -> list[tuple[str, float, tuple[float, float, float, float]]]:
        row = [(ink, 1.0) for ink in self.inks] + ([("Black", 0.4)] if self.tinted else [])
        found = []
        for zone in range(15):
            for at, (ink, tint) in enumerate(row):
                x = FIRST_ZONE + zone * PITCH + at * self.wide
                if x >= self.start and x + self.wide <= self.end:
                    found.append((ink, tint, (x, self.y, x + self.wide, self.y + self.high)))
        return found

    def __call__(self, page: Drawing) -> None:
        for ink, tint, box in self.boxes():
            patch(page, ink, box, tint)


def circle(x: float, y: float, radius: float) -> str:
    """Operators of a circle, of four curves."""
    a, b, r, k = x * MM, y * MM, radius * MM, 0.5523 * radius * MM
    return (
        f"{a + r} {b} m {a + r} {b + k} {a + k} {b + r} {a} {b + r} c {a - k} {b + r} {a - r} {b + k} {a - r} {b} c "
        f"{a - r} {b - k} {a - k} {b - r} {a} {b - r} c {a + k} {b - r} {a + r} {b - k} {a + r} {b} c h"
    )


def cross(page: Drawing, x: float, y: float, ink: str | Sequence[float] = REGISTRATION, size: float = 8) -> None:
    page.stroke(ink, [(x - size / 2, y), (x + size / 2, y)], width_mm=0.1, close=False)
    page.stroke(ink, [(x, y - size / 2), (x, y + size / 2)], width_mm=0.1, close=False)


def crosses(page: Drawing) -> None:
    cross(page, 20, 160)
    cross(page, 480, 160)


def side_guide(page: Drawing, x: float = 0.0, y: float = 40.0, size: tuple[float, float] = (4, 10)) -> None:
    page.fill(PROCESS["Black"], rect=(x, y, x + size[0], y + size[1]))


def labels(page: Drawing, inks: Sequence[str] = INKS) -> None:
    for number, ink in enumerate(inks):
        page.text(f"4471 B {ink} front", (60 + 60 * number, 20), 7, ink_of(ink))


ALL: tuple[Put, ...] = (Bar(), crosses, side_guide, labels)


@dataclass(frozen=True)
class Sheet:
    """Two cartons, printed in all inks, with marks."""

    marks: Sequence[Put] = ALL
    edge: str = "bottom"
    inks: Sequence[str] = INKS
    cartons: Sequence[CartonDrawing] = CARTONS
    ground: str = "Mill Brown"

    def __call__(self) -> Drawing:
        page = Drawing(*((ACROSS, ALONG) if self.edge in ("bottom", "top") else (ALONG, ACROSS)))
        a, b, c, d, e, f = TURNS[self.edge]
        page.raw(f"q {a} {b} {c} {d} {e * MM:.4f} {f * MM:.4f} cm")
        for carton in self.cartons:
            x0, y0, x1, y1 = carton.box
            patch(page, self.ground, (x0 - 3, y0 - 3, x1 + 3, y1 + 3), 0.3)
            for number, ink in enumerate(self.inks):
                patch(page, ink, (x0 + 20 + 12 * number, y0 + 60, x0 + 30 + 12 * number, y0 + 70))
        for put in self.marks:
            put(page)
        for carton in self.cartons:
            draw_die(page, carton)
        return page.raw("Q")
