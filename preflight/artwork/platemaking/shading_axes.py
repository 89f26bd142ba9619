"""The axis of an axial or radial shading, so that PDFium draws it by ISO 32000-2, 8.7.4.5.3 and 8.7.4.5.4.

PDFium takes one of 256 colours at each pixel, number i from i/255 of the axis on. It goes on by 1/255 of the axis where
a shading is not extended. Of the circles through a place it finds the right one but where circles touch from within.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.structure.values import items, lookup, numbers, whole

COLOURS: Final = 256
LOOKS: Final = 8
"""At so many places within a step the colour is looked up."""
_AXIAL, _RADIAL = 2, 3
_TOUCHING, _ALL_BUT = 1e-7, 1e-4
"""By how much less than their distance the radii of circles that touch differ, in shares of the distance."""
_SMALL, _LARGE = 50.0, 1e5


@dataclass(frozen=True)
class ShadingAxis:
    """What PDFium is given."""

    coords: list[float]
    extend: tuple[bool, bool]
    shares: NDArray[np.float64]
    """How far along the file's axis the colours are looked up, 0..1: (colours, looks)."""


def axis_of(shading: Any) -> ShadingAxis | None:
    """The axis of an axial or radial shading; None where nothing is painted: it goes nowhere, or makes no sense."""
    coords = _coords(shading)
    if coords is None:
        return None
    start, end = extends_beyond(shading)
    half = len(coords) // 2
    if coords[:half] == coords[half:] or (half == 3 and min(coords[2], coords[5]) < 0):
        return None
    begin, finish, goes_on = 0.0, 1.0, (not start, not end)
    if half == 3:
        coords = _off_the_tangent(coords)
        if touches(coords):
            begin, finish = _from_or_to_a_point(coords, start, end)
            start, end = start and begin == 0, end and finish == 1
            goes_on = (not start, not end)
        else:
            goes_on = _goes_on(coords, start, end)
    return _drawn(coords, (start, end), (begin, finish), goes_on, scale_of(shading))


def extends_beyond(shading: Any) -> tuple[bool, bool]:
    """Whether a shading is extended beyond its start and its end."""
    extend = [member is True for member in items(lookup(shading, "Extend"), 2)]
    return (extend[0], extend[1]) if len(extend) == 2 else (False, False)


def _coords(shading: Any) -> list[float] | None:
    kind = whole(lookup(shading, "ShadingType"))
    return numbers(lookup(shading, "Coords"), 6 if kind == _RADIAL else 4) if kind in (_AXIAL, _RADIAL) else None


def _drawn(
    coords: list[float],
    extend: tuple[bool, bool],
    part: tuple[float, float],
    goes_on: tuple[bool, bool],
    scale: float,
) -> ShadingAxis:
    low, high = -1 / (COLOURS - 1) * goes_on[0], 1 + 1 / (COLOURS - 1) * goes_on[1]
    looks = (np.arange(COLOURS)[:, None] + (np.arange(LOOKS) + 0.5) / LOOKS) / (COLOURS - 1)
    shares = part[0] + (looks - low) / (high - low) * (part[1] - part[0])
    if extend[0]:  # what is extended has the colour of the end, and nothing of the next
        shares[0] = 0
    shares[-1] = 1
    half = len(coords) // 2
    first, last = np.array(coords[:half]) * scale, np.array(coords[half:]) * scale
    ends = [part[0] + (at - low) / (high - low) * (part[1] - part[0]) for at in (0, 1)]
    drawn = np.concatenate([first + share * (last - first) for share in ends])
    return ShadingAxis([float(v) for v in drawn], extend, np.clip(shares, 0, 1))


def scale_of(shading: Any) -> float:
    """By how much its lengths are multiplied, and its matrix divided.

    PDFium cuts distances to whole numbers when it asks whether circles lie within each other, and takes numbers under
    0.0001 for none, as it has to where circles touch.
    """
    coords = _coords(shading)
    if coords is None or len(coords) < 6:
        return 1.0
    x0, y0, r0, x1, y1, r1 = coords
    distance = float(np.hypot(x1 - x0, y1 - y0))
    size, would_be_cut = max(r0, r1, distance), int(distance) < r0 - r1 <= distance
    if size < 1e-6:
        return 1.0
    if touches(coords):
        return 1 / size
    return _LARGE / size if size < _SMALL or would_be_cut else 1.0


def touches(coords: list[float]) -> bool:
    """Whether all circles of a radial shading touch at one place."""
    x0, y0, r0, x1, y1, r1 = coords
    distance = float(np.hypot(x1 - x0, y1 - y0))
    return distance > 0 and abs(distance - abs(r1 - r0)) < _TOUCHING * distance


def _off_the_tangent(coords: list[float]) -> list[float]:
    """Circles that all but touch, a little further off: PDFium divides by d² - (r1 - r0)² in single precision."""
    x0, y0, r0, x1, y1, r1 = coords
    distance, rise = float(np.hypot(x1 - x0, y1 - y0)), r1 - r0
    if abs(distance - abs(rise)) >= _ALL_BUT * distance or not distance or touches(coords):
        return coords
    drawn = distance * (1 + _ALL_BUT if abs(rise) > distance else 1 - _ALL_BUT)
    return [x0, y0, r0, x1, y1, r0 + drawn] if rise > 0 else [x0, y0, r1 + drawn, x1, y1, r1]


def _from_or_to_a_point(coords: list[float], start: bool, end: bool) -> tuple[float, float]:
    """Where an extended end has a circle of no radius, as a share of the file's axis; else 0 and 1.

    Where circles touch PDFium does not ask whether a radius is less than none.
    """
    rise = coords[5] - coords[2]
    return (-coords[2] / rise if start and rise > 0 else 0.0), (-coords[2] / rise if end and rise < 0 else 1.0)


def _goes_on(coords: list[float], start: bool, end: bool) -> tuple[bool, bool]:
    """Whether PDFium goes on by 1/255 of the axis at its start and its end."""
    x0, y0, r0, x1, y1, r1 = coords
    shrinks_within = r0 - r1 > np.hypot(x1 - x0, y1 - y0)
    from_a_point = (x0, y0, r0) == (x1, y1, 0)
    return not (start or shrinks_within or from_a_point), not end and bool(shrinks_within or from_a_point)
