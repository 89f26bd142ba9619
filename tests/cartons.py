"""Flat carton shapes for tests, in mm, true to the trade: panels, glue flap, tuck and dust flaps, slots.

carton = reverse_tuck(at=(10, 10))          # 195 x 180 mm
draw_die(page, carton)                      # strokes in the spots Cutting and Creasing, overprinting
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin, tan

from tests.drawn import Drawing, Point

Polyline = list[Point]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class CartonDrawing:
    """One flat carton. Polygons are lists of corner points, counter-clockwise, not closed."""

    cut: list[Polyline]
    """Open polylines that together run round the outline."""
    crease: list[Polyline]
    outline: Polyline
    glue_flap: Polyline
    panels: list[Polyline]
    """The body panels, left to right, without flaps."""
    flaps: dict[str, Polyline]
    """Lids, tuck flaps and dust flaps: ``top lid``, ``top tuck``, ``top dust 2``, ``bottom dust 4`` …"""
    box: Box
    """Bounding box of the outline."""


def reverse_tuck(
    width: float = 60,
    depth: float = 30,
    height: float = 90,
    flap: float = 15,
    tuck: float = 15,
    at: Point = (0, 0),
    slot: float = 1.0,
    radius: float = 6.0,
    shoulder: float = 0.0,
) -> CartonDrawing:
    """A reverse-tuck carton: glue flap, then panels width, depth, width, depth from left to right.

    The top lid is on panel 1, the bottom lid on panel 3, dust flaps on panels 2 and 4. ``at`` is the lower-left
    corner of the outline's bounding box, which is ``flap + 2 width + 2 depth`` by ``height + 2 (depth + tuck)``. The
    lids are narrower than their panels by the ``shoulder`` on each side.
    """
    a, low = at[0] + flap, at[1] + depth + tuck
    b, c, d, e = a + width, a + width + depth, a + 2 * width + depth, a + 2 * (width + depth)
    top = low + height
    dust = 0.8 * min(depth, width / 2)
    taper = flap * tan(radians(15))

    lid_1 = _lid(a + shoulder, b - shoulder, top, depth, tuck, radius, 1)
    lid_3 = _lid(c + shoulder, d - shoulder, low, depth, tuck, radius, -1)
    dusts = {
        (n, s): _dust(x0, x1, y, dust, slot, s)
        for n, x0, x1 in [(2, b, c), (4, d, e)]
        for y, s in [(top, 1), (low, -1)]
    }
    level = [(a, top), *lid_1, (b, top)] if shoulder else lid_1
    under = [(c, low), *lid_3, (d, low)] if shoulder else lid_3
    upper = [*level, *dusts[2, 1], (c, top), (d, top), *dusts[4, 1], (e, top)]
    lower = [(a, low), (b, low), *dusts[2, -1], *under, *dusts[4, -1], (e, low)]
    seam = [(a, top), (at[0], top - taper), (at[0], low + taper), (a, low)]

    flaps = {
        "top lid": [lid_1[0], lid_1[-1], lid_1[-2], lid_1[1]],
        "top tuck": lid_1[1:-1][::-1],
        "bottom lid": [lid_3[1], lid_3[-2], lid_3[-1], lid_3[0]],
        "bottom tuck": lid_3[1:-1],
    }
    for (number, side), points in dusts.items():
        flaps[f"{'top' if side > 0 else 'bottom'} dust {number}"] = points if side < 0 else points[::-1]
    return CartonDrawing(
        cut=[seam, lower, [(e, low), (e, top)], upper[::-1]],
        crease=[
            *([(x, low), (x, top)] for x in (a, b, c, d)),
            *([(a + shoulder, y), (b - shoulder, y)] for y in (top, top + depth)),
            *([(c + shoulder, y), (d - shoulder, y)] for y in (low, low - depth)),
            *([points[0], points[-1]] for points in dusts.values()),
        ],
        outline=[*seam[:-1], *lower, *upper[:0:-1]],
        glue_flap=seam,
        panels=[[(x0, low), (x1, low), (x1, top), (x0, top)] for x0, x1 in [(a, b), (b, c), (c, d), (d, e)]],
        flaps=flaps,
        box=(at[0], at[1], e, top + depth + tuck),
    )


def _lid(x0: float, x1: float, y: float, depth: float, tuck: float, radius: float, side: int) -> Polyline:
    """Lid and tuck flap with rounded corners on the crease from (x0, y) to (x1, y); left to right."""
    hinge, end = y + side * depth, y + side * (depth + tuck)
    turns = [pi / 2 * i / 12 for i in range(13)]
    left = [(x0 + radius - radius * cos(t), end - side * radius * (1 - sin(t))) for t in turns]
    right = [(x0 + x1 - px, py) for px, py in reversed(left)]
    return [(x0, y), (x0, hinge), *left, *right, (x1, hinge), (x1, y)]


def _dust(x0: float, x1: float, y: float, length: float, slot: float, side: int) -> Polyline:
    """Dust flap of a panel from x0 to x1, standing off its neighbours by the slot; left to right."""
    shoulder, lean = y + side * length / 3, length / 6
    x0, x1 = x0 + slot, x1 - slot
    tip = y + side * length
    return [(x0, y), (x0, shoulder), (x0 + lean, tip), (x1 - lean, tip), (x1, shoulder), (x1, y)]


def draw_die(
    page: Drawing,
    carton: CartonDrawing,
    *,
    cut: str | Sequence[float] = "Cutting",
    crease: str | Sequence[float] = "Creasing",
    overprint: bool = True,
    width_mm: float = 0.25,
    crease_dash_mm: Sequence[float] = (),
) -> None:
    """Strokes the die of a carton; overprint is switched off again at the end."""
    if overprint:
        page.gs(OP=True, OPM=1)
    for line in carton.cut:
        page.stroke(cut, line, width_mm=width_mm, close=False)
    for line in carton.crease:
        page.stroke(crease, line, width_mm=width_mm, close=False, dash_mm=crease_dash_mm)
    if overprint:
        page.gs(OP=False)
