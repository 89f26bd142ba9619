"""The ink keys as a picture: a row of bars for each unit over the press's own key numbers, both sides named."""

from __future__ import annotations

from math import ceil
from typing import Final

import shapely

from preflight.report.drawing import Drawing
from preflight.report.pdf_type import within_lines
from preflight.report.setup_layout import KeyBars

LABEL, RIGHT, TOP, FOOT = 4.0, 4.0, 13.0, 13.0
"""Margins, mm on paper."""
HEAD: Final = 6.5
"""Of each unit: its ink and what the numbers are."""
NUMBER: Final = 4.6
ROW: Final = 22.0
"""From one unit to the next, with its bars; mm."""
LEAST_ROW, MOST_ROW = 17.0, 36.0
"""Of a page that rows are spread over."""
WIDE: Final = 280.0
"""Sizes here are as they come out on A4; other paper has them larger or smaller."""
TYPE, SMALL = 4.0, 2.9
BAR: Final = 0.72
"""Grey of a bar."""
SCALES: Final = (0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0)
"""Covers that the bars may be drawn up to, the same for all units."""


def key_drawing(bars: KeyBars, wide_mm: float, high_mm: float | None = None) -> list[Drawing]:
    """Pictures that fill the width; further units go on in another one, in the same size.

    Args:
        bars: the units and their keys.
        wide_mm: width on paper.
        high_mm: room on a page; None: one picture, as high as it is.
    """
    rows = len(bars.rows)
    high = TOP + FOOT + rows * ROW if high_mm is None else high_mm * WIDE / wide_mm
    most = max(1, int((high - TOP - FOOT) / LEAST_ROW))
    each = ceil(rows / ceil(rows / most))  # as many on each
    drawings = []
    for start in range(0, rows, each):
        count = min(each, rows - start)
        row = min(MOST_ROW, (high - TOP - FOOT) / count)
        drawings.append(_drawn(bars, range(start, start + count), WIDE, row))
    return drawings


def _drawn(bars: KeyBars, which: range, wide: float, row: float) -> Drawing:
    high = TOP + FOOT + len(which) * row
    drawing = Drawing("Ink keys", (0.0, 0.0, wide, high))
    pitch = (wide - LABEL - RIGHT) / len(bars.numbers)
    drawing.text(LABEL, high - 4, bars.left, TYPE, align="left", bold=True)
    drawing.text(wide - RIGHT, high - 4, bars.right, TYPE, align="right", bold=True)
    drawing.text(wide / 2, high - 4, "printed face, gripper edge down", SMALL * 1.1)
    _sheet(drawing, bars, pitch, FOOT - 2.0, high - TOP)
    _numbers(drawing, bars, pitch, high - 10)
    for k, n in enumerate(which):
        _row(drawing, bars, n, pitch, high - TOP - (k + 1) * row, row)
    _numbers(drawing, bars, pitch, 3.2)
    return drawing


def _numbers(drawing: Drawing, bars: KeyBars, pitch: float, y: float) -> None:
    """The press's own numbers: all of them where there is room, in bold."""
    size = min(TYPE, pitch * 0.62)
    for k, number in enumerate(bars.numbers):
        drawing.text(LABEL + (k + 0.5) * pitch, y, str(number), size, bold=True)


def _row(drawing: Drawing, bars: KeyBars, n: int, pitch: float, base: float, row: float) -> None:
    unit = bars.rows[n]
    room = row - HEAD - NUMBER - 1.5
    wide = LABEL + pitch * len(bars.numbers)
    shows = unit.shows
    name = within_lines(unit.heading, TYPE, (wide - LABEL) * 0.6, 1, bold=True)[0]
    drawing.text(LABEL, base + row - HEAD / 2 - 1, name, TYPE, align="left", bold=True, backed=True)
    drawing.text(
        wide, base + row - HEAD / 2 - 1, shows, SMALL * 1.1, align="right", bold=unit.openings is None, backed=True
    )
    drawing.lines("base", shapely.LineString([(LABEL, base), (wide, base)]), 0.35)
    drawing.lines(
        "full", shapely.LineString([(LABEL, base + room), (wide, base + room)]), 0.08, dash_mm=(0.6, 0.8), grey=0.4
    )
    full = _full(bars)
    drawing.text(LABEL, base + room + 1.7, f"{100 * full:.0f} %", SMALL * 0.9, align="left", backed=True)
    size = min(NUMBER * 0.82, pitch * 0.6)
    for k, (cover, told) in enumerate(zip(unit.covers, unit.told, strict=True)):
        x = LABEL + k * pitch
        if cover > 0:
            bar = shapely.box(x + 0.08 * pitch, base, x + 0.92 * pitch, base + max(room * cover / full, 0.3))
            drawing.lines("bar", bar, 0.15, fill=BAR)
        if told:
            y = base + room * cover / full + NUMBER / 2
            drawing.text(x + 0.5 * pitch, y, told, size, bold=unit.openings is not None)


def _full(bars: KeyBars) -> float:
    most = max((cover for row in bars.rows for cover in row.covers), default=0.0)
    return next((scale for scale in SCALES if scale >= most), 1.0)


def _sheet(drawing: Drawing, bars: KeyBars, pitch: float, low: float, high: float) -> None:
    """Where the sheet's edges are among the keys."""
    if bars.sheet_mm is None:
        return
    middle = LABEL + pitch * len(bars.numbers) / 2
    half = bars.sheet_mm / bars.pitch_mm * pitch / 2
    half = min(half, middle - LABEL * 0.3)
    edges = [shapely.LineString([(x, low), (x, high)]) for x in (middle - half, middle + half)]
    drawing.lines("sheet edge", shapely.MultiLineString(edges), 0.3, dash_mm=(1.6, 0.9))
    drawing.lines("sheet", shapely.LineString([(middle - half, low), (middle + half, low)]), 0.3)
    drawing.text(middle, low - 2.4, f"sheet {bars.sheet_mm:g} mm", SMALL, backed=True)
