"""Whether the die of an inside is that of the outside as seen from behind, and if not, which way round it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from preflight.carton.die import Blank

Lies = Literal["mirrored", "not mirrored", "upside down", "turned by 180 degrees", "another die"]
WAYS: Final[tuple[tuple[Lies, int, int], ...]] = (
    ("mirrored", -1, 1),
    ("not mirrored", 1, 1),
    ("upside down", 1, -1),
    ("turned by 180 degrees", -1, -1),
)
"""How an inside lies, and the signs of x and y that bring it on to the outside."""
PLACES_MM: Final = 1.0


@dataclass(frozen=True)
class BackFit:
    """How the inside of a version lies against its outside."""

    version: str | None
    apart_mm: float
    """Greatest distance of the cut and the folds of one from those of the other, once it is mirrored."""
    lies: Lies
    """``mirrored`` is right; another word where the inside fits that way, and not mirrored."""


def back_fit(front: Blank, back: Blank, version: str | None = None, same_mm: float = 1.0) -> BackFit:
    """How an inside lies, by the boxes of both cuts laid on each other.

    Args:
        front: of the outside.
        back: of the inside, as displayed.
        version: of both.
        same_mm: lines nearer than this to each other all the way are of one die.
    """
    apart = {lies: _apart(front, back, across, up) for lies, across, up in WAYS}
    right = apart["mirrored"]
    best = min(apart, key=lambda lies: (apart[lies], lies != "mirrored"))
    if right <= same_mm:
        return BackFit(version, round(right, 2), "mirrored")
    return BackFit(version, round(right, 2), best if apart[best] <= same_mm else "another die")


def _apart(front: Blank, back: Blank, across: int, up: int) -> float:
    x0, y0, x1, y1 = front.outline.bounds
    bx0, by0, bx1, by1 = back.outline.bounds
    left, low = (x0 - bx0 if across > 0 else x0 + bx1), (y0 - by0 if up > 0 else y0 + by1)
    there = [(front.outline.boundary, back.outline.boundary), (front.creases, back.creases)]
    moved = [(one, affine_transform(other, (across, 0, 0, up, left, low))) for one, other in there]
    return max((_far(one, other) for one, other in moved if not one.is_empty and not other.is_empty), default=0.0)


def _far(one: BaseGeometry, other: BaseGeometry) -> float:
    """Greatest distance of either set of lines from the other, at places a millimetre apart."""
    found = 0.0
    for lines, others in ((one, other), (other, one)):
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(lines, PLACES_MM)))
        shapely.prepare(others)
        found = max(found, float(shapely.distance(places, others).max(initial=0.0)))
    return found
