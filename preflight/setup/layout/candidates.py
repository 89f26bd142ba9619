"""Layouts that have been worked out and checked, and which of two is better."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, cmp_to_key
from math import ceil

import shapely
from shapely import Polygon
from shapely.affinity import translate

from preflight.inputs.layout_table import LayoutTable
from preflight.quantities import Size
from preflight.setup.layout.gutters import Gutters
from preflight.setup.layout.outlines import Keeps, Outline, Turn
from preflight.setup.layout.rows import PlacedRows
from preflight.setup.layout.sheet_layout import Pattern


@dataclass(frozen=True, eq=False)
class Candidate:
    """Blanks on a sheet."""

    sheet: Size
    pattern: Pattern
    places: tuple[tuple[Turn, float, float], ...]
    """Turn, x and y of the box of each cut, in the sheet's frame."""
    cuts: tuple[Polygon, ...]
    """Without cut-outs, in the sheet's frame."""
    keeps: Keeps
    gutters: Gutters
    shared: tuple[bool, bool] = (False, False)
    """Knives shared side by side, and one behind the other."""
    complete: bool = True
    """Every row has as many blanks as its pattern says."""
    rows: PlacedRows | None = None
    """None of rows of two turns."""
    cut_down: bool = False
    """The sheet was cut down to what is used."""
    large: Size | None = None
    """The sheet before it was cut down."""

    @property
    def ups(self) -> int:
        """Blanks."""
        return len(self.places)

    @cached_property
    def block(self) -> tuple[float, float, float, float]:
        """Box of all cuts."""
        return tuple(shapely.union_all([shapely.box(*cut.bounds) for cut in self.cuts]).bounds)

    @property
    def area_mm2(self) -> float:
        """Of the sheet."""
        return self.sheet.across_mm * self.sheet.along_mm

    @property
    def spare_mm(self) -> float:
        """Height of the strip of waste in one piece at the tail.

        Of a sheet that is cut down: by how much of the large sheet less than nothing is left.
        """
        if self.cut_down and self.large is not None:
            return -self.area_mm2 / self.large.across_mm
        return self.sheet.along_mm - self.block[3]

    @property
    def simplicity(self) -> int:
        """The fewer, the simpler."""
        plain = {"grid": 0, "meshing": 3, "tumbled": 4, "interlocked": 5}[self.pattern]
        return plain + (1 if any(self.shared) else 0) + (2 if self.pattern == "grid" and self.mixed else 0)

    @property
    def mixed(self) -> bool:
        """Rows of both turns lie on it."""
        return len({turn % 180 for turn, _, _ in self.places}) > 1

    @property
    def narrow_mm(self) -> float:
        """Width of the block, which decides where nothing else does."""
        return self.block[2] - self.block[0]


def better(one: Candidate, other: Candidate, table: LayoutTable) -> bool:
    """Whether one is to be taken rather than another."""
    if one.complete != other.complete and one.ups == other.ups:
        return one.complete
    for word in table.prefer:
        if word == "more up" and one.ups != other.ups:
            return one.ups > other.ups
        if word == "more up" and one.sheet != other.sheet and not one.cut_down:
            return one.area_mm2 < other.area_mm2
        if word == "waste in one piece" and abs(one.spare_mm - other.spare_mm) >= max(table.worth_mm, 1e-3):
            return one.spare_mm > other.spare_mm
        if word == "simpler pattern" and one.simplicity != other.simplicity:
            return one.simplicity < other.simplicity
    return (-one.spare_mm, one.narrow_mm) < (-other.spare_mm - 1e-6, other.narrow_mm)


def ranked(candidates: Iterable[Candidate], table: LayoutTable) -> list[Candidate]:
    """The best first."""

    def order(one: Candidate, other: Candidate) -> int:
        return -1 if better(one, other, table) else 1

    return sorted(candidates, key=cmp_to_key(order))


def settled(
    places: Sequence[tuple[Turn, float, float]], outlines: dict[Turn, Outline], sheet: Size, keeps: Keeps
) -> tuple[tuple[Turn, float, float], ...] | None:
    """Blanks moved together, as far forward and as near to the middle as the sheet allows; None where it does not."""
    low_x, high_x, low_y, high_y = [], [], [], []
    for turn, x, y in places:
        outline, margins = outlines[turn], keeps.margins(outlines[turn])
        low_x.append(margins.left - x)
        high_x.append(sheet.across_mm - margins.right - outline.width_mm - x)
        low_y.append(margins.bottom - y)
        high_y.append(sheet.along_mm - margins.top - outline.height_mm - y)
    if max(low_x) > min(high_x) + 1e-6 or max(low_y) > min(high_y) + 1e-6:
        return None
    left = min(x for _, x, _ in places)
    right = max(x + outlines[turn].width_mm for turn, x, _ in places)
    across = (sheet.across_mm - left - right) / 2
    across = min(max(across, max(low_x)), max(min(high_x), max(low_x)))
    forward = max(low_y)
    return tuple((turn, round(x + across, 6), round(y + forward, 6)) for turn, x, y in places)


def cuts_of(places: Sequence[tuple[Turn, float, float]], outlines: dict[Turn, Outline]) -> tuple[Polygon, ...]:
    """Outlines of blanks where they lie."""
    return tuple(translate(outlines[turn].cut, x, y) for turn, x, y in places)


def cut_down_to(
    places: Sequence[tuple[Turn, float, float]],
    outlines: dict[Turn, Outline],
    keeps: Keeps,
    limits: tuple[Size | None, Size],
    step_mm: float,
) -> Size:
    """The sheet that blanks need, in whole steps, between the smallest and the largest sheet."""
    smallest, largest = limits
    left = max(keeps.margins(outlines[turn]).left - x for turn, x, _ in places)
    right = max(keeps.margins(outlines[turn]).right + x + outlines[turn].width_mm for turn, x, _ in places)
    low = max(keeps.margins(outlines[turn]).bottom - y for turn, _, y in places)
    high = max(keeps.margins(outlines[turn]).top + y + outlines[turn].height_mm for turn, _, y in places)

    def whole(needs: float, least: float, most: float) -> float:
        return min(most, max(least, ceil(needs / step_mm - 1e-6) * step_mm))

    return Size(
        whole(left + right, smallest.across_mm if smallest else 0.0, largest.across_mm),
        whole(low + high, smallest.along_mm if smallest else 0.0, largest.along_mm),
    )
