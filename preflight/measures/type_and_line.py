"""Type and lines as drawn, after every matrix: how small and how thin, and whether they are printed or left open.

Type is *reversed* where it is left open in ink: its own ink is much less than that of the ground round it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.findings import Count, Gap, Measured, Place, Reading
from preflight.job import Job, once_a_job
from preflight.measures import needs, object_places
from preflight.measures.raster import masks
from preflight.measures.registry import Kinds, measure

BESIDE_MM: Final = 0.7
"""How far from a line its ground is looked at: two to three pixels of the 100 dpi plates."""
GROUND_FROM: Final = 0.2
"""Ink of a ground that something can be reversed out of; 1 is one solid."""
LIGHTER: Final = 0.5
"""Reversed is what carries less than this share of its ground's ink."""
SEEN: Final = 0.05
"""Less difference than this is no line but a step of a vignette."""
NO_WIDTH_MM: Final = 0.001
"""What is thinner than this has no width of its own: each device draws it as thin as it can."""
RULE_MM: Final = 5.0
"""A fill this long and as thin as a line is one."""
MOST_SAMPLED: Final = 800
MOST_DETAILS: Final = 2000
SQUARE_MM: Final = 2.0
MOST_COVERED: Final = 300
MOST_SIZES: Final = 40
MOST_AT_ONCE: Final = 1 << 20


@once_a_job
def _total_of(job: Job, names: frozenset[str]) -> NDArray[np.uint16]:
    """The sum of some plates of the page, 255 for one solid."""
    total = np.zeros(job.plates.ink.shape[1:], np.uint16)
    for name in names:
        total += job.plates.tint(name)
    return total


class _Ink:
    """Inks of some kinds: what a row carries of them, and what stands on the plates about it."""

    def __init__(self, job: Job, kinds: Sequence[str]) -> None:
        self.job, self.plates = job, job.plates
        self.objects = needs.objects(job)
        self.names = {s.name for s in job.page.separations if s.on_plate and s.kind in kinds}
        own = self.names | (set(PROCESS) if "process" in kinds else set())
        self.rows = object_places.of_colours(self.objects, lambda f: not f.registration and f.names_any(own))
        """Rows in colours of these inks, paper white among them."""
        self._totals: dict[int, float] = {}

    def of(self, row: int) -> float:
        """Total of a row's own ink; 1 is one solid."""
        return self._of_colour(int(self.objects.colour[row]))

    def of_rows(self, rows: object_places.Rows) -> NDArray[np.float64]:
        """Totals of the own ink of rows."""
        numbers, colour = np.unique(self.objects.colour[rows], return_inverse=True)
        return np.array([self._of_colour(number) for number in numbers.tolist()], float)[colour]

    def how_many(self, rows: object_places.Rows, tint_from: float) -> NDArray[np.int_]:
        """How many inks rows are painted in, at this tint and more."""
        numbers, colour = np.unique(self.objects.colour[rows], return_inverse=True)
        tints = [self.objects.colours[number].tints for number in numbers.tolist()]
        many = [sum(name in self.names and tint >= tint_from for name, tint in own) for own in tints]
        return np.array(many, int)[colour]

    def _of_colour(self, number: int) -> float:
        if number not in self._totals:
            tints = self.objects.colours[number].tints
            self._totals[number] = float(sum(tint for name, tint in tints if name in self.names))
        return self._totals[number]

    @cached_property
    def total(self) -> NDArray[np.uint16]:
        """The sum of the plates, 255 for one solid."""
        return _total_of(self.job, frozenset(self.names))

    def at(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """Totals on the plates at places (…, 2) in mm; those off the plates have that of the nearest edge."""
        row, column = self.plates.pixels_at(xy.reshape(-1, 2))
        height, width = self.total.shape
        found: NDArray[np.float64] = self.total[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)] / 255
        return found.reshape(xy.shape[:-1])

    def shows(self, rows: object_places.Rows) -> NDArray[np.bool_]:
        """Whether anything of each text is on the plates in its box: a blank string, or covered text, is not."""
        boxes = self.objects.shown_mm[rows].astype(float)
        shown = np.zeros(len(rows), bool)
        colours = self.objects.colour[rows]
        by_name: dict[str, list[int]] = {}
        for number in np.unique(colours).tolist():
            colour = self.objects.colours[number]
            inked = [name for name, tint in colour.tints if tint > 0 and name in self.names]
            for name in inked:
                by_name.setdefault(name, []).append(number)
            if not inked:
                light = np.flatnonzero(colours == number)
                shown[light] = [self._varies(box) for box in object_places.boxes_of(self.objects, rows[light])]
        for name, numbers in by_name.items():
            own = np.flatnonzero(np.isin(colours, numbers))
            shown[own] |= _any_set(self.plates, masks.inked(self.plates.tint(name), 2.0), boxes[own])
        return shown

    def most_near(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """The greatest total on the plates in and close about each box (n, 4), by squares of some mm."""
        side = max(1, round(SQUARE_MM / self.plates.mm_per_px))
        most = masks.coarse(self.total, side)
        height, width = most.shape
        left, top = np.floor(self.plates.to_px(boxes[:, [0, 3]]) / side).astype(int).T
        right, bottom = np.floor(self.plates.to_px(boxes[:, [2, 1]]) / side).astype(int).T
        left, top = np.clip(left - 1, 0, width - 1), np.clip(top - 1, 0, height - 1)
        right, bottom = np.clip(right + 2, 1, width), np.clip(bottom + 2, 1, height)
        return _greatest(most, top, left, bottom - top, right - left) / 255

    def _varies(self, box: Box) -> bool:
        part = self.total[self.plates.slices(box)]
        return bool(part.size and part.min() < 0.8 * part.max())

    def reversed_out(self, row: int, ground: float) -> bool:
        """Whether a row is left open in its ground."""
        own = self.of(row)
        if self.objects.overprint[row] and own > 0:
            return False
        return ground >= GROUND_FROM and own < LIGHTER * ground


@measure("type-size", unit="pt", tolerance=0.02, cases=("reversed", "several inks"), facts=("objects",))
def type_size(job: Job, *, inks: Kinds, up_to_pt: float, several_inks_from: float, ink_from_percent: float) -> Measured:
    """Size of live type inside the cut as drawn, after every matrix; case ``reversed`` where it is left open.

    Type in inks of these kinds, or in paper white, up to a size is looked at. Type 3 fonts say nothing of their size.
    Case ``several inks``: printed in that many inks or more, those lighter than ``ink_from`` left out.
    """
    objects = needs.objects(job, "text")
    needs.sure_inside(job)
    ink = _Ink(job, inks)
    type3 = np.array([*(font.type3 for font in objects.fonts), False], bool)[objects.font]
    wanted = (objects.painted == Painted.TEXT) & ink.rows & ~type3
    wanted &= (objects.text_size_pt > 0) & (objects.text_size_pt < up_to_pt)
    rows = object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)
    rows = rows[ink.shows(rows)]
    grounds = np.median(ink.at(_rims(objects.shown_mm[rows].astype(float))), axis=1)
    own = ink.of_rows(rows)
    printed = objects.overprint[rows] & (own > 0)
    reversed_out = ~printed & (grounds >= GROUND_FROM) & (own < LIGHTER * grounds)
    several = ink.how_many(rows, ink_from_percent / 100) >= several_inks_from
    case = np.where(reversed_out, "reversed", np.where(several, "several inks", ""))
    cases = dict(zip(rows.tolist(), case.tolist(), strict=True))
    return _readings(job, cases, np.round(objects.text_size_pt.astype(float), 2), "pt")


def _rims(boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places round boxes (n, 4), close to them: (n, k, 2) in mm."""
    x0, y0, x1, y1 = (boxes + BESIDE_MM / 2 * np.array([-1, -1, 1, 1])).T
    across, up = np.linspace(x0, x1, 12, axis=1), np.linspace(y0, y1, 6, axis=1)
    level = [np.stack([across, np.broadcast_to(y[:, None], across.shape)], axis=2) for y in (y0, y1)]
    upright = [np.stack([np.broadcast_to(x[:, None], up.shape), up], axis=2) for x in (x0, x1)]
    return np.concatenate([*level, *upright], axis=1)


def _any_set(plates: Plates, mask: masks.Mask, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether any pixel of a mask is set in each box (n, 4) of the page."""
    left, top = np.floor(plates.to_px(boxes[:, [0, 3]])).astype(int).T
    right, bottom = np.ceil(plates.to_px(boxes[:, [2, 1]])).astype(int).T
    height, width = mask.shape
    left, right = np.clip(left, 0, width), np.clip(right, 0, width)
    top, bottom = np.clip(top, 0, height), np.clip(bottom, 0, height)
    ranges = zip(top.tolist(), bottom.tolist(), left.tolist(), right.tolist(), strict=True)
    return np.array([mask[a:b, c:d].any() for a, b, c, d in ranges], bool)


@measure(
    "line-width",
    unit="mm",
    tolerance=0.004,
    cases=("hairline", "reversed", "fine detail", "reversed fine detail"),
    facts=("objects",),
)  # widths are given in points and rounded to hundredths of a mm
def line_width(job: Job, *, inks: Kinds, thinner_than_mm: float, detail_mm: float, detail_area_mm2: float) -> Measured:
    """Width of thin lines inside the cut as drawn; one reading a width, case ``reversed`` where a line is left open,
    ``hairline`` where it has no width.

    Cases ``fine detail`` and ``reversed fine detail``: lines no longer than ``detail`` each way, of which there is
    less than an area, those that are thinner counted too.
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
    rows = object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)
    cases = {row: "hairline" if width[row] < NO_WIDTH_MM else case for row, case in _cases_of_lines(ink, rows).items()}
    width = np.round(width, 3)
    lines = [row for row, case in cases.items() if case != "hairline"]
    for row in _fine_detail(job, np.array(lines, int), width, detail_mm, detail_area_mm2):
        cases[row] = f"{cases[row]} fine detail".strip()
    return _readings(job, cases, width, "mm")


def _fine_detail(
    job: Job, rows: object_places.Rows, width: NDArray[np.float64], detail_mm: float, detail_mm2: float
) -> list[int]:
    """Those of the lines that are short, if all short ones up to their width make up less than an area."""
    objects = job.page.objects
    sides = objects.box_mm[rows, 2:].astype(float) - objects.box_mm[rows, :2]
    short = rows[sides.max(1, initial=0) <= detail_mm]
    short = short[np.argsort(width[short], kind="stable")][:MOST_DETAILS]
    if not len(short):
        return []
    strokes = objects.painted[short] == Painted.STROKE
    lengths = (objects.box_mm[short, 2:].astype(float) - objects.box_mm[short, :2]).max(1)
    drawn = objects.paths(short[strokes])
    lengths[strokes] = [sum(np.hypot(*np.diff(part, axis=0).T).sum() for part in subpaths) for subpaths in drawn]
    area = np.cumsum(lengths * width[short])
    last = np.searchsorted(width[short], width[short], side="right") - 1  # with all lines as wide as it
    found: list[int] = short[area[last] < detail_mm2].tolist()
    return found


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


def _cases_of_lines(ink: _Ink, rows: object_places.Rows) -> dict[int, str]:
    """``reversed`` or nothing for each line by the ground beside it; those that cannot be told from it are left out.

    Paths take long to unfold, so they are only looked at where a line may be reversed: near much more ink than its own.
    """
    objects = ink.objects
    boxes = objects.shown_mm[rows].astype(float)
    own, most = ink.of_rows(rows), ink.most_near(boxes)
    seen = (own > 0) | (most >= GROUND_FROM)  # the others are white on bare board, or on next to nothing
    fill = objects.painted[rows] == Painted.FILL
    likely = seen & (fill | (own < LIGHTER * most))
    doubtful = likely & (fill | (np.cumsum(likely) <= MOST_SAMPLED))
    found = dict.fromkeys(rows[seen & ~doubtful].tolist(), "")
    for row, filled, subpaths in zip(
        rows[doubtful].tolist(), fill[doubtful].tolist(), objects.paths(rows[doubtful]), strict=True
    ):
        places = _beside(subpaths, fill=filled)
        ground, tint = float(np.median(ink.at(places))) if len(places) else 0.0, ink.of(row)
        if (objects.overprint[row] or abs(tint - ground) >= SEEN) and not (tint == 0 and ground < GROUND_FROM):
            found[row] = "reversed" if ink.reversed_out(row, ground) else ""
    covers = object_places.Covers.of(objects)
    first = list(found)[:MOST_COVERED]
    covered = {
        row for row, box in zip(first, object_places.boxes_of(objects, first), strict=True) if covers.hide(row, box)
    }
    return {row: case for row, case in found.items() if row not in covered}


def _greatest(
    values: NDArray[np.uint16],
    top: object_places.Rows,
    left: object_places.Rows,
    height: object_places.Rows,
    width: object_places.Rows,
) -> NDArray[np.uint16]:
    """The greatest of the values in each rectangle; those of one size are looked at together."""
    found = np.zeros(len(top), values.dtype)
    sizes, kind = np.unique(height * (values.shape[1] + 1) + width, return_inverse=True)
    for number, size in enumerate(sizes.tolist()):
        rectangle = divmod(size, values.shape[1] + 1)
        views = np.lib.stride_tricks.sliding_window_view(values, rectangle)
        alike = np.flatnonzero(kind == number)
        step = max(1, MOST_AT_ONCE // (rectangle[0] * rectangle[1]))
        for some in np.split(alike, range(step, len(alike), step)):
            found[some] = views[top[some], left[some]].max((1, 2))
    return found


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


def _readings(job: Job, cases: dict[int, str], sizes: NDArray[np.float64], unit: str) -> Measured:
    """One reading for each case and size, the smallest first."""
    rows = np.array(list(cases), int)
    each = list(zip(sizes[rows].tolist(), cases.values(), strict=True))
    groups = sorted(set(each))[:MOST_SIZES]
    number = {group: at for at, group in enumerate(groups)}
    group = np.array([number.get(one, -1) for one in each], int)
    members = [rows[group == at] for at in range(len(groups))]
    readings = [
        Reading(
            size,
            unit,
            _places(job, own),
            case=case,
            facts={"objects": Count(len(own))},
        )
        for (size, case), own in zip(groups, members, strict=True)
    ]
    if not (group < 0).any():
        return Measured(readings)
    because = f"there are more than {MOST_SIZES} sizes, and only the smallest were checked"
    return Measured(readings, [Gap(because, "a simpler file", places=_places(job, rows[group < 0]))])


def _places(job: Job, rows: object_places.Rows) -> tuple[Place, ...]:
    return object_places.places_of(job.page.objects, rows, job.page.number)
