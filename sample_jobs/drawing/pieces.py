"""Pieces that cartons share: bar code, ears of oat, marks, tables, the legend beside the blank."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sample_jobs.drawing.letters import PT, face
from sample_jobs.drawing.outline import Outline, Point, ellipse, polyline, rect
from sample_jobs.drawing.pen import BLACK, WHITE, Ink, Pen
from sample_jobs.drawing.sleeve import Sleeve
from sample_jobs.drawing.tuck_carton import TuckCarton

# EAN-13: modules of the digits 0 to 9 with odd parity, and which parity the first digit asks for (ISO/IEC 15420).
ODD = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
PARITY = ("OOOOOO", "OOEOEE", "OOEEOE", "OOEEEO", "OEOOEE", "OEEOOE", "OEEEOO", "OEOEOE", "OEOEEO", "OEEOEO")


def with_check_digit(twelve: str) -> str:
    """Thirteen digits: the weighted sum is brought to a multiple of ten."""
    total = sum(int(d) * (3 if i % 2 else 1) for i, d in enumerate(twelve))
    return twelve + str(-total % 10)


def bar_code(pen: Pen, digits: str, at: Point, *, module_mm: float = 0.33, height_mm: float = 22.0) -> None:
    """An EAN-13 in black on a white box; ``at`` is the lower-left corner of the box."""
    inverted = str.maketrans("01", "10")
    right = [ODD[int(d)].translate(inverted) for d in digits[7:]]
    left = [
        ODD[int(d)] if parity == "O" else ODD[int(d)].translate(inverted)[::-1]
        for d, parity in zip(digits[1:7], PARITY[int(digits[0])], strict=True)
    ]
    modules = "101" + "".join(left) + "01010" + "".join(right) + "101"
    x0, foot = at[0] + 11 * module_mm, at[1] + 4.2
    pen.fill(rect(at[0], at[1], at[0] + 113 * module_mm, foot + height_mm + 1.2), WHITE)
    bars = Outline()
    for i in range(len(modules)):
        if modules[i] == "1" and (i == 0 or modules[i - 1] == "0"):
            run = len(modules[i:]) - len(modules[i:].lstrip("1"))
            guard = i < 3 or i > 91 or 45 <= i <= 49
            bars.add(
                rect(x0 + i * module_mm, foot - (1.6 if guard else 0), x0 + (i + run) * module_mm, foot + height_mm)
            )
    pen.fill(bars, BLACK)
    pen.words(digits[0], (at[0] + 1.0, at[1] + 1.0), 8)
    for start, place in ((1, 4), (7, 50)):
        for i, digit in enumerate(digits[start : start + 6]):
            pen.words(digit, (x0 + (place + 3.5 + 7 * i) * module_mm, at[1] + 1.0), 8, align="centre")


def oat_ear(length_mm: float = 24.0) -> Outline:
    """A ripe ear standing upright on (0, 0): a stalk, and grains in pairs up to one at the tip."""
    s = length_mm / 24
    ear = polyline([(-0.25 * s, 0), (0.25 * s, 0), (0.15 * s, 10 * s), (-0.15 * s, 10 * s)])
    grain = (
        Outline().move(0, 0).curve((1.5, 0.6), (1.4, 2.6), (0.1, 4.2)).curve((-1.1, 2.6), (-1.0, 0.8), (0, 0)).close()
    )
    mirrored = grain.mapped(lambda x, y: (-x, y))
    for i in range(5):
        y = (9.6 + 2.5 * i) * s
        ear.add(grain.moved(0.35 * s, y, scale=s * (1 - 0.04 * i), turned=-30))
        ear.add(mirrored.moved(-0.35 * s, y, scale=s * (1 - 0.04 * i), turned=30))
    return ear.add(grain.moved(0, 21.2 * s, scale=0.8 * s))


def leaf(size_mm: float) -> Outline:
    """A leaf with its midrib left open."""
    s = size_mm
    blade = Outline().move(0, 0).curve((0.75 * s, 0.05 * s), (0.95 * s, 0.5 * s), (0.9 * s, s))
    blade.curve((0.35 * s, 0.95 * s), (-0.1 * s, 0.7 * s), (0, 0)).close()
    return blade.add(polyline([(0.08 * s, 0.12 * s), (0.7 * s, 0.82 * s), (0.05 * s, 0.06 * s)]))


def recycling_mark(size_mm: float) -> Outline:
    """Three arrows round a triangle, centred on (0, 0)."""
    mark = Outline()
    arrow = polyline(
        [(-0.42, -0.48), (0.16, -0.48), (0.16, -0.60), (0.46, -0.38), (0.16, -0.16), (0.16, -0.28), (-0.30, -0.28)]
    )
    for turn in (0, 120, 240):
        mark.add(arrow.moved(0, 0, scale=size_mm / 1.2, turned=turn))
    return mark


def star(radius_mm: float, points: int = 8, inner: float = 0.42) -> Outline:
    """A star centred on (0, 0), one point up."""
    corners = []
    for i in range(2 * points):
        r, a = (radius_mm if i % 2 == 0 else radius_mm * inner), math.pi / 2 + math.pi * i / points
        corners.append((r * math.cos(a), r * math.sin(a)))
    return polyline(corners)


def paragraph(pen: Pen, lines: Sequence[str], at: Point, size_pt: float, *, lead: float = 1.3, ink: Ink = BLACK,
              style: str = "regular", align: str = "left", turned: int = 0) -> None:  # fmt: skip
    """Lines of live text downwards from the first base line."""
    for i, line in enumerate(lines):
        down = i * lead * size_pt * PT
        x, y = {0: (at[0], at[1] - down), 90: (at[0] + down, at[1])}[turned]
        pen.words(line, (x, y), size_pt, ink=ink, style=style, align=align, turned=turned)


def outlined(pen: Pen, words: str, at: Point, size_pt: float, ink: Ink, *, style: str = "bold", align: str = "left",
             turned: float = 0, spacing_mm: float = 0.0) -> None:  # fmt: skip
    """Words turned into outlines, as finished artwork has its logos."""
    back = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * face(style).length_mm(words, size_pt, spacing_mm)
    shapes = face(style).outlined(words, size_pt, spacing_mm=spacing_mm).moved(-back, 0).moved(*at, turned=turned)
    pen.fill(shapes, ink, even_odd=False)


def nutrition_table(pen: Pen, corner: Point, width_mm: float, rows: Sequence[tuple[str, str]]) -> None:
    """A ruled table on white, its words turned into outlines; ``corner`` is its upper-left corner."""
    x0, top = corner
    x1, lead, head = x0 + width_mm, 5.0, 12.5
    foot = top - head - lead * len(rows)
    pen.fill(rect(x0, foot, x1, top), WHITE)
    pen.stroke(rect(x0, foot, x1, top), BLACK, width_pt=0.75)
    outlined(pen, "Nutrition", (x0 + 1.6, top - 4.6), 8.5, BLACK)
    outlined(pen, "per 100 g", (x1 - 1.6, top - 4.6), 7, BLACK, style="regular", align="right")
    outlined(pen, "One biscuit weighs 12.5 g; 16 in a carton.", (x0 + 1.6, top - 9.2), 6, BLACK, style="regular")
    for i, (what, amount) in enumerate(rows):
        y = top - head - lead * i
        pen.stroke(polyline([(x0, y), (x1, y)], closed=False), BLACK, width_pt=0.4)
        part = what.startswith("of which")
        outlined(pen, what, (x0 + (4 if part else 1.6), y - 3.5), 6.5, BLACK, style="regular" if part else "bold")
        outlined(pen, amount, (x1 - 1.6, y - 3.5), 6.5, BLACK, style="regular", align="right")


def legend(pen: Pen, carton: TuckCarton | Sleeve, title: Sequence[str], spots: Sequence[str]) -> None:
    """The box below the blank: what the job is, and a patch of every ink with its name."""
    patches: list[tuple[str, Ink]] = [("Cyan", (1, 0, 0, 0)), ("Magenta", (0, 1, 0, 0)), ("Yellow", (0, 0, 1, 0))]
    patches += [("Black", BLACK), *((spot, spot) for spot in spots)]
    wide = carton.size[0]
    pen.stroke(rect(0, -46, wide, -12), BLACK, width_pt=0.5)
    pen.stroke(polyline([(wide * 0.36, -46), (wide * 0.36, -12)], closed=False), BLACK, width_pt=0.5)
    pen.words(title[0], (4, -19), 10, style="bold")
    paragraph(pen, title[1:], (4, -25), 7, lead=1.6)
    across = (wide * 0.64 - 6) / 5
    for i, (name, ink) in enumerate(patches):
        x, y = wide * 0.36 + 5 + across * (i % 5), -24 - 16 * (i // 5)
        pen.fill(rect(x, y, x + 12, y + 8), ink)
        pen.words(name, (x, y - 4), 6)


def dimension(pen: Pen, start: Point, end: Point, ink: str) -> None:
    """A dimension line with ticks and its length in mm."""
    upright = start[0] == end[0]
    pen.stroke(polyline([start, end], closed=False), ink, width_pt=0.35)
    for x, y in (start, end):
        tick = [(x - 1.5, y), (x + 1.5, y)] if upright else [(x, y - 1.5), (x, y + 1.5)]
        pen.stroke(polyline(tick, closed=False), ink, width_pt=0.35)
    middle = ((start[0] + end[0]) / 2 - (1.2 if upright else 0), (start[1] + end[1]) / 2 + (0 if upright else 1.2))
    length = f"{math.dist(start, end):g} mm"
    pen.words(length, middle, 7, ink=ink, align="centre", turned=90 if upright else 0)


def dot(pen: Pen, at: Point, radius_mm: float, ink: Ink) -> None:
    """A filled circle."""
    pen.fill(ellipse(*at, radius_mm), ink)
