"""Where the findings' numbers stand on the picture of a page: near their places, apart from each other, not too many.

All coordinates are those of the drawing: mm, y down from the top of the page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import cos, hypot, radians, sin
from typing import Any, Final

MOST_PINS: Final = 6
"""Numbers for one finding; more would hide the artwork."""
MOST_FRAMES: Final = 80
"""Framed places of one finding."""
LARGE: Final = 0.25
DISTANCES: Final = (0.0, 1.7, 2.4, 3.3, 4.5, 6.0, 8.0)
DIRECTIONS: Final = (-135, -45, -90, 180, 0, 135, 45, 90)


@dataclass(frozen=True)
class Screen:
    """What the pins are laid out for."""

    size_px: tuple[float, float]
    """About the size that the picture is first seen at."""
    pin_px: float
    """Radius of a pin."""
    most_pins: int
    """Numbers for one finding."""


DESK: Final = Screen((780.0, 620.0), 11.0, MOST_PINS)
PHONE: Final = Screen((340.0, 500.0), 8.5, 1)


@dataclass(frozen=True)
class Mark:
    """One place of a finding: its frame and, where there is room for one, its pin with a line to the place."""

    number: int
    index: int
    """Of the place within the finding."""
    verdict: str
    frame: tuple[float, float, float, float]
    """x, y, width, height."""
    large: bool
    """A frame round much of the page, which is drawn thin: it would draw the eye from the small ones."""
    pin: tuple[float, float, float, float] | None
    """Foot x and y on the place, and from there to the middle of the number."""


def pin_radius_mm(page_mm: Sequence[float], screen: Screen = DESK) -> float:
    """Radius of a pin in mm of the page, so that it is ``pin_px`` at the first view."""
    return screen.pin_px / min(screen.size_px[0] / page_mm[0], screen.size_px[1] / page_mm[1])


def lay_out(
    findings: Sequence[Mapping[str, Any]],
    page_mm: Sequence[float],
    screen: Screen = DESK,
    letters: Iterable[tuple[float, float]] = (),
) -> list[Mark]:
    """The marks of a page's findings, the least first, so that the worst lie on top.

    Args:
        findings: of the document.
        page_mm: width and height of the page.
        screen: what the pins are laid out for.
        letters: where panels have their letters, which no pin should cover.
    """
    radius = pin_radius_mm(page_mm, screen)
    taken = list(letters)
    marks: list[Mark] = []
    for finding in findings:
        feet: list[tuple[float, float]] = []
        for index, place in enumerate(finding["places"][:MOST_FRAMES]):
            frame = _frame(place["box_mm"], page_mm, radius)
            foot = _foot(frame, radius)
            pin = None
            if len(feet) < screen.most_pins and all(hypot(foot[0] - x, foot[1] - y) > 3 * radius for x, y in feet):
                middle = _free_spot(foot, frame, taken, page_mm, radius)
                taken.append(middle)
                feet.append(foot)
                pin = (*foot, round(middle[0] - foot[0], 2), round(middle[1] - foot[1], 2))
            marks.append(
                Mark(
                    finding["number"],
                    index,
                    finding["verdict"],
                    frame,
                    frame[2] * frame[3] > LARGE * page_mm[0] * page_mm[1],
                    pin,
                )
            )
    return marks[::-1]


def _frame(box: Sequence[float], page_mm: Sequence[float], radius: float) -> tuple[float, float, float, float]:
    """The place in the drawing, a little wider than it is, so that the frame hides nothing of it."""
    room = radius * 0.12
    x0, y0, x1, y1 = box
    return (
        round(x0 - room, 2),
        round(page_mm[1] - y1 - room, 2),
        round(max(x1 - x0, 0) + 2 * room, 2),
        round(max(y1 - y0, 0) + 2 * room, 2),
    )


def _foot(frame: tuple[float, float, float, float], radius: float) -> tuple[float, float]:
    """The middle of a small place; the upper-left corner of a large one."""
    x, y, width, height = frame
    return (
        round(x + width / 2 if width < 3 * radius else x, 2),
        round(y + height / 2 if height < 3 * radius else y, 2),
    )


def _free_spot(
    foot: tuple[float, float],
    frame: tuple[float, float, float, float],
    taken: Iterable[tuple[float, float]],
    page_mm: Sequence[float],
    radius: float,
) -> tuple[float, float]:
    """The nearest spot to the foot where the pin covers no other pin; on a small place it stands beside it."""
    others = list(taken)
    small = max(frame[2:]) < 3 * radius
    spots = [
        (foot[0] + radius * far * cos(radians(turn)), foot[1] + radius * far * sin(radians(turn)))
        for far, turn in product(DISTANCES[1:] if small else DISTANCES, DIRECTIONS)
    ]
    on_page = [s for s in spots if 0 <= s[0] <= page_mm[0] and 0 <= s[1] <= page_mm[1]] or spots
    free = (s for s in on_page if all(hypot(s[0] - x, s[1] - y) >= 2.15 * radius for x, y in others))
    return next(free, on_page[0])
