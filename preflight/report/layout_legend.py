"""The legend of a layout: what each line, patch and hatching on the sheet is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.report.drawing import Drawing, hatch, text_width
from preflight.report.layout_looks import FOLD_WORDS, FOLDS, FOLDS_UNTOLD, HATCHED, LEFT, SMALL
from preflight.setup.press_sheet.press_sheet import PressSheet

SAMPLE_WIDE: Final = 9.0
LEGEND_ROW: Final = 4.0
"""As they come out on A3; mm."""


@dataclass(frozen=True)
class Sample:
    """An entry of the legend: a line, or a patch that is filled or hatched."""

    says: str
    width: float = 0.0
    dash: tuple[float, ...] = ()
    grey: float = 0.0
    fill: float | None = None
    hatched: tuple[float, float] | None = None
    """Pitch and direction."""


def _samples(sheet: PressSheet) -> list[Sample]:
    """What each line on the sheet is, in sizes as they come out on A3."""
    roles = dict.fromkeys(FOLD_WORDS.get(role, "crease") for b in sheet.blanks for role in (b.folds or FOLDS_UNTOLD))
    dashes = {FOLD_WORDS[role]: dash for role, dash in FOLDS.items()}
    kinds = dict.fromkeys(area.kind for b in sheet.blanks for area in b.areas if area.kind in HATCHED)
    found = [Sample("cut", 0.22), *(Sample(name, 0.14, dashes[name]) for name in roles)]
    if any(blank.piece is not None for blank in sheet.blanks):
        found.append(Sample("bleed", 0.08, grey=0.55, fill=0.86))
    found += [Sample(kind, 0.08, grey=0.5, hatched=(1.4, HATCHED[kind])) for kind in kinds]
    if sheet.layout is not None:
        found.append(Sample("gripper", 0.1, grey=0.45, hatched=(1.6, 60)))
        found.append(Sample("may be printed on", 0.12, (0.5, 1.0), 0.3))
    return [*found, Sample("arrow at a number: up on the one-up as displayed")]


def legend_rows(sheet: PressSheet, room: float) -> list[list[tuple[Sample, float]]]:
    """Entries in rows no wider than the room, each with where it begins; as on A3."""
    rows, x = [list[tuple[Sample, float]]()], 0.0
    for sample in _samples(sheet):
        wide = text_width(sample.says, SMALL) + (SAMPLE_WIDE if sample.width else 0.0)
        if rows[-1] and x + wide > room:
            rows.append([])
            x = 0.0
        rows[-1].append((sample, x))
        x += wide + 4.0
    return rows


def draw_legend(drawing: Drawing, rows: Sequence[Sequence[tuple[Sample, float]]], top: float, unit: float) -> None:
    """Draw the rows, the first one at a height of the drawing; mm."""
    for k, row in enumerate(rows):
        y = top - k * LEGEND_ROW * unit
        for sample, begins in row:
            x = (begins - LEFT + 2) * unit
            if sample.width:
                _draw_sample(drawing, sample, x, y, unit)
                x += SAMPLE_WIDE * unit
            drawing.text(x, y, sample.says, SMALL * unit, align="left")


def _draw_sample(drawing: Drawing, sample: Sample, x: float, y: float, unit: float) -> None:
    wide = (SAMPLE_WIDE - 1) * unit
    shape: BaseGeometry = shapely.LineString([(x, y), (x + wide, y)])
    if sample.fill is not None or sample.hatched:
        shape = shapely.box(x, y - unit, x + wide, y + unit)
    if sample.hatched:
        shape = hatch(shape, sample.hatched[0] * unit, sample.hatched[1])
    dashes = [length * unit for length in sample.dash]
    drawing.lines("legend", shape, sample.width * unit, dash_mm=dashes, grey=sample.grey, fill=sample.fill)
