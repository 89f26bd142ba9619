"""Type and lines as drawn, after every matrix: how small and how thin, and whether they are printed or left open.

Type is *reversed* where it is left open in ink: its own ink is much less than that of the ground round it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.objects import Box, Painted
from preflight.artwork.plates import Plates
from preflight.artwork.separations import PROCESS
from preflight.findings import Reading
from preflight.measures import masks, measure, needs, placing
from preflight.measures.job import Job

BESIDE_MM: Final = 0.7
"""How far from a line its ground is looked at: two to three pixels of the 100 dpi plates."""
GROUND_FROM: Final = 0.2
"""Ink of a ground that something can be reversed out of; 1 is one solid."""
LIGHTER: Final = 0.5
"""Reversed is what carries less than this share of its ground's ink."""
SEEN: Final = 0.05
"""Less difference than this is no line but a step of a vignette."""
RULE_MM: Final = 5.0
"""A fill this long and as thin as a line is one."""
MOST_SAMPLED: Final = 3000
MOST_COVERED: Final = 300
MOST_SIZES: Final = 40


class _Ink:
    """Inks of some kinds: what a row carries of them, and what stands on the plates about it."""

    def __init__(self, job: Job, kinds: Sequence[str]) -> None:
        self.plates: Plates = job.plates
        self.objects = needs.objects(job)
        self.names = {s.name for s in job.page.separations if s.on_plate and s.kind in kinds}
        own = self.names | (set(PROCESS) if "process" in kinds else set())
        self.rows = placing.of_colours(
            self.objects, (not c.registration and any(name in own for name, _ in c.tints) for c in self.objects.colours)
        )
        """Rows in colours of these inks, paper white among them."""

    def of(self, row: int) -> float:
        """Total of a row's own ink; 1 is one solid."""
        colour = self.objects.colours[int(self.objects.colour[row])]
        return float(sum(tint for name, tint in colour.tints if name in self.names))

    def at(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """Totals on the plates at places (k, 2) in mm; none where they lie off the plates."""
        column, row = np.floor(self.plates.to_px(xy)).astype(int).T
        height, width = self.plates.ink.shape[1:]
        inside = (row >= 0) & (row < height) & (column >= 0) & (column < width)
        total = np.zeros(int(inside.sum()))
        for name in self.names:
            total += self.plates.tint(name)[row[inside], column[inside]]
        return total / 255

    def shows(self, row: int, box: Box) -> bool:
        """Whether anything of a text is on the plates in its box: a blank string, or covered text, is not."""
        colour = self.objects.colours[self.objects.colour[row]]
        inked = [name for name, tint in colour.tints if tint > 0 and name in self.names]
        if inked:
            return any(masks.inked(self._part(box, name), 2.0).any() for name in inked)
        total = (
            np.sum([self._part(box, name).astype(int) for name in self.names], axis=0) if self.names else np.zeros(0)
        )
        return bool(total.size and total.min() < 0.8 * total.max())

    def _part(self, box: Box, name: str) -> NDArray[np.uint8]:
        (left, top), (right, bottom) = self.plates.to_px(np.array([[box[0], box[3]], [box[2], box[1]]]))
        columns = slice(max(0, int(left)), max(0, int(np.ceil(right))))
        return self.plates.tint(name)[max(0, int(top)) : max(0, int(np.ceil(bottom))), columns]

    def reversed_out(self, row: int, ground: float) -> bool:
        """Whether a row is left open in its ground."""
        own = self.of(row)
        if self.objects.overprint[row] and own > 0:
            return False
        return ground >= GROUND_FROM and own < LIGHTER * ground


@measure("type-size", unit="pt", tolerance=0.02)
def type_size(job: Job, *, inks: tuple[str, ...], up_to_pt: float) -> list[Reading]:
    """Size of live type inside the cut as drawn, after every matrix; case ``reversed`` where it is left open.

    Type in inks of these kinds, or in paper white, up to a size is looked at. Type 3 fonts say nothing of their size.
    """
    objects = needs.objects(job, "text")
    needs.sure_inside(job)
    ink = _Ink(job, inks)
    type3 = np.array([*(font.type3 for font in objects.fonts), False], bool)[objects.font]
    wanted = (objects.painted == Painted.TEXT) & ink.rows & ~type3
    wanted &= (objects.text_size_pt > 0) & (objects.text_size_pt < up_to_pt)
    rows = placing.reaching_inside(objects, placing.painting(objects, wanted), job.inside_shape)
    cases = {row: case for row in rows.tolist() if (case := _case_of_text(ink, row)) is not None}
    return _readings(job, cases, np.round(objects.text_size_pt.astype(float), 2), "pt")


def _case_of_text(ink: _Ink, row: int) -> str | None:
    """``reversed`` or nothing by the ground round a text; None where nothing of it shows."""
    box: Box = tuple(map(float, ink.objects.shown_mm[row]))  # type: ignore[assignment]
    if not ink.shows(row, box):
        return None
    x0, y0, x1, y1 = box
    x, y = np.linspace(x0, x1, 12), np.linspace(y0, y1, 4)
    rim = [(a, b) for a in x for b in (y0 - BESIDE_MM / 2, y1 + BESIDE_MM / 2)]
    rim += [(a, b) for b in y for a in (x0 - BESIDE_MM / 2, x1 + BESIDE_MM / 2)]
    about = ink.at(np.array(rim))
    return "reversed" if len(about) and ink.reversed_out(row, float(np.median(about))) else ""


@measure("line-width", unit="mm", tolerance=0.004)  # widths are given in points and rounded to hundredths of a mm
def line_width(job: Job, *, inks: tuple[str, ...], thinner_than_mm: float) -> list[Reading]:
    """Width of thin lines inside the cut as drawn; one reading a width, case ``reversed`` where a line is left open.

    Lines in inks of these kinds, or in paper white, thinner than a width are looked at: strokes, and long thin fills.
    Die lines are none, nor is what has the colour of its ground or of the shape that it runs round.
    """
    objects = needs.objects(job)
    needs.sure_inside(job)
    ink = _Ink(job, inks)
    sides = np.sort(objects.box_mm[:, 2:].astype(float) - objects.box_mm[:, :2], axis=1)
    strokes = objects.painted == Painted.STROKE
    rules = (objects.painted == Painted.FILL) & (sides[:, 1] >= RULE_MM)
    width: NDArray[np.float64] = np.where(strokes, objects.line_width_mm, sides[:, 0]).astype(np.float64)
    wanted = (strokes | rules) & ink.rows & (width < thinner_than_mm) & ~_round_their_fill(job)
    wanted[[row for rows in job.die.lines_of.values() for row in rows]] = False
    rows = placing.reaching_inside(objects, placing.painting(objects, wanted), job.inside_shape)
    cases = _cases_of_lines(ink, rows[:MOST_SAMPLED]) | dict.fromkeys(rows[MOST_SAMPLED:].tolist(), "")
    return _readings(job, cases, np.round(width, 3), "mm")


def _round_their_fill(job: Job) -> NDArray[np.bool_]:
    """Strokes in the colour of the fill that they were painted with in one go."""
    objects = job.page.objects
    alike = np.zeros(len(objects), bool)
    if len(objects) > 1:
        alike[1:] = (objects.painted[1:] == Painted.STROKE) & (objects.painted[:-1] == Painted.FILL)
        alike[1:] &= objects.colour[1:] == objects.colour[:-1]
        grown = np.abs(objects.box_mm[1:] - objects.box_mm[:-1]).max(1)
        alike[1:] &= grown <= objects.line_width_mm[1:] + 0.01
    return alike


def _cases_of_lines(ink: _Ink, rows: placing.Rows) -> dict[int, str]:
    """``reversed`` or nothing for each line by the ground beside it; those that cannot be told from it are left out."""
    found = {}
    for row, subpaths in zip(rows.tolist(), ink.objects.paths(rows), strict=True):
        about = ink.at(_beside(subpaths, fill=ink.objects.painted[row] == Painted.FILL))
        if not len(about):
            found[row] = ""
            continue
        ground, own = float(np.median(about)), ink.of(row)
        if not ink.objects.overprint[row] and abs(own - ground) < SEEN:
            continue
        if own == 0 and ground < GROUND_FROM:
            continue  # white on bare board, or on next to nothing
        found[row] = "reversed" if ink.reversed_out(row, ground) else ""
    covered = [row for row in list(found)[:MOST_COVERED] if _covered(ink, row)]
    return {row: case for row, case in found.items() if row not in covered}


def _covered(ink: _Ink, row: int) -> bool:
    return placing.covered_later(ink.objects, row, shapely.box(*ink.objects.shown_mm[row].astype(float)))


def _beside(subpaths: Sequence[NDArray[np.float64]], *, fill: bool) -> NDArray[np.float64]:
    """Places on both sides of lines, at the middles of up to 20 of their pieces: (k, 2)."""
    found = []
    for points in subpaths:
        steps = np.diff(points, axis=0)
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        keep = np.flatnonzero(lengths > (RULE_MM / 2 if fill else 0))
        keep = keep[:: max(1, len(keep) // 20)]
        middle = (points[keep] + points[keep + 1]) / 2
        aside = np.column_stack([steps[keep, 1], -steps[keep, 0]]) / lengths[keep, None] * BESIDE_MM
        found += [middle + aside, middle - aside]
    return np.vstack(found) if found else np.zeros((0, 2))


def _readings(job: Job, cases: dict[int, str], sizes: NDArray[np.float64], unit: str) -> list[Reading]:
    """One reading for each case and size, the smallest first."""
    groups: dict[tuple[float, str], list[int]] = {}
    for row, case in cases.items():
        groups.setdefault((float(sizes[row]), case), []).append(row)
    return [
        Reading(
            size,
            unit,
            placing.places_of(job.page.objects, np.array(rows), job.page.number),
            case=case,
            facts={"objects": len(rows)},
        )
        for (size, case), rows in sorted(groups.items())[:MOST_SIZES]
    ]
