"""The row of units on the PDF sheet: stations as the crew sees them, each a column; in two rows where one is too long.

Widths are measured: no column is narrower than the widest word in it, as far as a bound beyond which words break.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, widest_part, width_of, within_lines
from preflight.report.setup_paper import Sizes
from preflight.report.setup_places import PassPlan, Place

NAME_LINES: Final = 4
LABELS: Final = (
    ("Ink", "name"), ("Kind", "kind"), ("Plate", "plate"), ("Coverage", "coverage"), ("Density", "density"),
    ("L*a*b*", "lab"),
)  # fmt: skip
NUMBER: Final = 1.35
"""Size of a unit's number, in sizes of the row's type."""
BOX: Final = 1.4
"""Height of a box to write in."""


@dataclass(frozen=True)
class Strip:
    """Stations that are drawn beside each other, in the order of travel."""

    places: tuple[Place, ...]
    widths: tuple[float, ...]
    heights: tuple[float, ...]
    """Of the head and each line of ``LABELS``."""
    height: float
    first: bool
    last: bool


def strips_of(plan: PassPlan, sizes: Sizes) -> list[Strip]:
    """The row, in as many strips as its widths ask for."""
    room = sizes.room - _label_width(sizes) - _end_width(sizes)
    least = [_least_width(place, sizes) for place in plan.places]
    parts = next(
        cut for n in range(1, len(least) + 2) for cut in [_parted(least, n)] if max(map(sum, cut), default=0.0) <= room
    )
    strips, begin = [], 0
    for part in parts:
        places = plan.places[begin : begin + len(part)]
        widths = _widened(part, places, room)
        begin += len(part)
        strips.append(_strip(places, widths, sizes, first=begin == len(part), last=begin == len(least)))
    return strips


def _parted(widths: Sequence[float], parts: int) -> list[list[float]]:
    """Widths in so many runs of about the same sum; a lamp may well begin one."""
    share, cuts, used = sum(widths) / parts, [[]], 0.0  # type: tuple[float, list[list[float]], float]
    for width in widths:
        if cuts[-1] and used + width / 2 > share * len(cuts) and len(cuts) < parts:
            cuts.append([])
        cuts[-1].append(width)
        used += width
    return cuts


def _widened(widths: Sequence[float], places: Sequence[Place], room: float) -> tuple[float, ...]:
    """What is left over goes to stations that print, as far as twice their width."""
    printing = [place.what == "unit" and not place.idle for place in places]
    spare = (room - sum(widths)) / max(sum(printing), 1)
    return tuple(width + min(spare, width) if prints else width for width, prints in zip(widths, printing, strict=True))


def _least_width(place: Place, sizes: Sizes) -> float:
    size = sizes.row
    told = [place.name, place.kind, place.plate, place.coverage, place.density, place.lab.split("(")[0], *place.lines]
    told += [line.upper() for line in place.lines if place.what == "lamp"]
    words = max(widest_part(text, size, bold=True) for text in [*told, place.head, *place.blanks])
    bound = 6.4 * size
    floor = {"unit": 3.2 if place.idle else 4.4, "lamp": 2.2, "coater": 3.6, "delivery": 3.6}[place.what]
    return max(min(words, bound), floor * size) + 2 * sizes.pad


def _label_width(sizes: Sizes) -> float:
    return max(width_of(label, sizes.body) for label, _ in LABELS) + sizes.pad * 1.5


def _end_width(sizes: Sizes) -> float:
    """Of a word that reads upwards beside the row: feeder, or that it goes on; the delivery names itself."""
    return sizes.row * 1.5


def _strip(places: Sequence[Place], widths: tuple[float, ...], sizes: Sizes, *, first: bool, last: bool) -> Strip:
    heights = [sizes.row * NUMBER * LEADING + sizes.pad]
    for _, key in LABELS:
        cells = [
            _cell_height(place, key, width, sizes)
            for place, width in zip(places, widths, strict=True)
            if place.what == "unit"
        ]
        heights.append(max(cells, default=sizes.row * LEADING))
    free = [
        _free_height(place, width, sizes)
        for place, width in zip(places, widths, strict=True)
        if place.what != "unit"
    ]  # fmt: skip
    table = sum(heights) + 2 * sizes.pad
    return Strip(tuple(places), widths, tuple(heights), max([table, *free]), first, last)


def _cell(place: Place, key: str, width: float, sizes: Sizes) -> list[str]:
    """Lines of a cell; none for a box to write in."""
    text = getattr(place, key)
    if not text:
        return []
    most = NAME_LINES if key in ("name", "kind") else 3
    return within_lines(text, sizes.row, width - 2 * sizes.pad, most, bold=key in ("name", "density", "lab"))


def _cell_height(place: Place, key: str, width: float, sizes: Sizes) -> float:
    if place.idle and key not in ("name", "kind"):
        return 0.0
    lines = _cell(place, key, width, sizes)
    return (len(lines) * LEADING if lines or key == "kind" else BOX) * sizes.row + 2


def _free_lines(place: Place, width: float, sizes: Sizes) -> list[tuple[str, bool]]:
    """What a column without the lines of ``LABELS`` says, each line with whether it is bold."""
    room = width - 2 * sizes.pad
    said: list[tuple[str, bool]] = []
    heads = (
        [(place.head, place.what == "delivery"), (place.name, True)] if place.what != "lamp" else [(place.name, False)]
    )
    for text, bold in [*heads, *((line, False) for line in place.lines if place.what != "lamp")]:
        if text:
            said += [(line, bold) for line in within_lines(text, sizes.row, room, NAME_LINES, bold=bold)]
    return said


def _free_height(place: Place, width: float, sizes: Sizes) -> float:
    lines = len(_free_lines(place, width, sizes)) * LEADING * sizes.row
    boxes = len(place.blanks) * (BOX + LEADING) * sizes.row
    lamp = (1.6 + LEADING) * sizes.row if place.what == "lamp" else 0.0
    return lines + boxes + lamp + 3 * sizes.pad


def row_height(strips: Sequence[Strip], sizes: Sizes) -> float:
    """Height of all strips with the gaps between them."""
    return sum(strip.height for strip in strips) + (len(strips) - 1) * sizes.row * 0.6


def draw_row(pen: Pen, strips: Sequence[Strip], sizes: Sizes, top: float, *, feeder_left: bool) -> None:
    """All strips, from ``top`` down; each as the crew sees it, and both ends named."""
    for strip in strips:
        _draw_strip(pen, strip, sizes, top, feeder_left=feeder_left)
        top += strip.height + sizes.row * 0.6


def _draw_strip(pen: Pen, strip: Strip, sizes: Sizes, top: float, *, feeder_left: bool) -> None:
    _labels(pen, strip, sizes, top)
    x, middle = sizes.margin + _label_width(sizes), top + strip.height / 2
    before = "FEEDER" if strip.first else "from above"
    if feeder_left:
        pen.upright(x + _end_width(sizes) * 0.72, middle, before, sizes.row)
        x += _end_width(sizes)
    begin = x
    order = list(zip(strip.places, strip.widths, strict=True))
    for place, width in order if feeder_left else reversed(order):
        _draw_place(pen, place, (x, top, width), strip, sizes)
        x += width
    if not feeder_left:
        pen.upright(x + _end_width(sizes) * 0.85, middle, before, sizes.row)
    ends = (begin, x) if feeder_left else (x, begin)
    pen.arrow(ends[0], top - sizes.row * 0.25, ends[1], sizes.row * 0.6)


def _labels(pen: Pen, strip: Strip, sizes: Sizes, top: float) -> None:
    y = top + sizes.pad + strip.heights[0]
    for (label, _), height in zip(LABELS, strip.heights[1:], strict=True):
        if height:  # nothing but idle units has no plate and no aims
            pen.text(sizes.margin, y + (sizes.row - sizes.body) * 0.6, label, sizes.body)
        y += height


def _draw_place(pen: Pen, place: Place, at: tuple[float, float, float], strip: Strip, sizes: Sizes) -> None:
    x, top, width = at
    if place.what == "unit":
        _draw_unit(pen, place, at, strip, sizes)
        return
    if place.what != "lamp":
        pen.box(x + 1, top, width - 2, strip.height, dashed=place.idle, round_mm=8 if place.what == "coater" else 0)
    y = top + sizes.pad
    if place.what == "lamp":
        level = place.lines[0]
        pen.level(x + width / 2, y + 2, sizes.row * 1.3, level)
        y += sizes.row * 1.6
        pen.text(x + width / 2, y, level.upper(), sizes.row, bold=True, align="centre")
        y += LEADING * sizes.row
    for line, bold in _free_lines(place, width, sizes):
        if place.what == "lamp":
            pen.text(x + width / 2, y, line, sizes.row, bold=bold, align="centre")
        else:
            pen.text(x + sizes.pad, y, line, sizes.row, bold=bold)
        y += LEADING * sizes.row
    for label in place.blanks:
        pen.text(x + sizes.pad, y, label, sizes.row)
        y += LEADING * sizes.row
        pen.box(x + sizes.pad, y, width - 2 * sizes.pad, BOX * sizes.row - 3)
        y += BOX * sizes.row


def _draw_unit(pen: Pen, place: Place, at: tuple[float, float, float], strip: Strip, sizes: Sizes) -> None:
    x, top, width = at
    pen.box(x + 1, top, width - 2, strip.height, line=0.8 if place.idle else 1.6, dashed=place.idle)
    number = sizes.row * NUMBER
    pen.text(x + sizes.pad, top + sizes.pad * 0.5, place.head, number, bold=True)
    if not place.idle:
        start = sizes.pad * 2 + width_of("00", number, bold=True)
        pen.hatch(x + start, top + sizes.pad, width - start - sizes.pad, number * 0.9, place.pattern, place.shown_as)
    y = top + sizes.pad + strip.heights[0]
    for (_, key), height in zip(LABELS, strip.heights[1:], strict=True):
        if place.idle and key not in ("name", "kind"):
            break
        lines = _cell(place, key, width, sizes)
        for k, line in enumerate(lines):
            bold = key in ("name", "density", "lab") and not place.idle
            pen.text(x + sizes.pad, y + k * LEADING * sizes.row, line, sizes.row, bold=bold)
        if not lines and not place.idle and key != "kind":
            pen.box(x + sizes.pad, y, width - 2 * sizes.pad, BOX * sizes.row - 3)
        y += height
