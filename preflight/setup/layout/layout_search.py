"""The search for a layout: every pattern on every sheet, and the best that stands the check.

How many rows a pattern takes is told from sampled profiles first, which seldom say too much; only what may be best is
then worked out exactly and checked (``layout_check``). The plain grid is always among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import shapely
from shapely import Polygon
from shapely.affinity import translate

from preflight.inputs.layout_table import LayoutTable
from preflight.quantities import Size
from preflight.setup.layout.candidates import Candidate, better, cut_down_to, cuts_of, settled
from preflight.setup.layout.gutters import Gutters, shares_knife
from preflight.setup.layout.layout_check import Strips, faults
from preflight.setup.layout.layout_request import LayoutRequest
from preflight.setup.layout.outlines import HALF_TURN, SIMPLER_MM, Keeps, Outline, Turn, outline_of
from preflight.setup.layout.patterns import Pairs, patterns
from preflight.setup.layout.rows import PlacedRows, RowPattern, per_row
from preflight.setup.layout.sheet_layout import Pattern

MOST_ROWS: Final = 200
_HOPED_MM: Final = 1.0
"""Samples may say so much more than what is really needed."""
_COMMON_MM: Final = 10.0
"""Least run of a shared knife."""
_TRIES: Final = 12
"""Patterns of one kind that are worked out on one sheet and turn out wrong."""


@dataclass(frozen=True, eq=False)
class _Tried:
    """A pattern on a sheet, and what is hoped of it."""

    pattern: RowPattern
    rows: int
    needs_mm: float

    @property
    def ups(self) -> int:
        return self.pattern.count(self.rows)


@dataclass(eq=False)
class LayoutSearch:
    """All that is tried for one request at one set of gutters."""

    request: LayoutRequest
    table: LayoutTable
    gutters: Gutters
    only_plain: bool = False
    """Plain grids alone."""
    found: dict[tuple[str, Size], Candidate] = field(default_factory=dict)
    """The best of each pattern on each sheet."""

    def __post_init__(self) -> None:
        self.outlines = {turn: outline_of(self.request.blank, turn) for turn in _with_half_turns(self.turns)}
        exchanged = {(turn, True): outline.exchanged() for turn, outline in self.outlines.items()}
        plain = {(turn, False): outline for turn, outline in self.outlines.items()}
        self.pairs = Pairs({**plain, **exchanged}, self.gutters)
        self.strips = Strips(
            self.gutters.strip_mm, self.request.waste_strip_mm, self.table.gripper_strip_mm, self.table.waste_corner
        )

    @property
    def turns(self) -> tuple[Turn, ...]:
        """Turns that the grain allows, without half turns."""
        return turns_by_grain(self.request)

    def run(self) -> Candidate | None:
        """The best layout; ``found`` has the others. None where not one blank fits."""
        for sheet in sorted(self.request.sheets, key=lambda size: (size.across_mm * size.along_mm, size.across_mm)):
            self._on(sheet)
        best = None
        for candidate in sorted(self.found.values(), key=lambda each: (each.simplicity, each.area_mm2)):
            if best is None or better(candidate, best, self.table):
                best = candidate
        return best

    def keeps(self, sheet: Size) -> Keeps:
        """What keeps blanks from the edges of a sheet."""
        return Keeps(self.request.free.on(sheet), self.request.waste_strip_mm, self.table.gripper_strip_mm)

    def _on(self, sheet: Size) -> None:
        tried: dict[Pattern, list[_Tried]] = {}
        for each in self._hopes(sheet):
            tried.setdefault(word_of(each.pattern), []).append(each)
        for word in ("grid", "meshing", "tumbled", "interlocked"):
            hopes = sorted(tried.get(word, ()), key=lambda each: (-each.ups, self._ragged(each), round(each.needs_mm)))
            self._work_out(sheet, word, hopes)
        if not self.only_plain:
            for candidate in self._of_two_turns(sheet):
                self._keep(candidate)

    def _ragged(self, tried: _Tried) -> bool:
        return self.request.ups is not None and tried.ups != self.request.ups

    def _work_out(self, sheet: Size, word: Pattern, hopes: list[_Tried]) -> None:
        """Works out what may be better than what is there, the most hopeful first."""
        left, most = _TRIES, max((each.ups for each in self.found.values()), default=0)
        for tried in hopes:
            ups = tried.ups if self.request.ups is None else min(tried.ups, self.request.ups)
            known = self.found.get((word, sheet))
            if not left or (word != "grid" and ups < most):
                return
            if known is not None and (ups < known.ups or not self._may_be_better(tried, ups, known)):
                continue
            candidate = self._exactly(sheet, tried)
            if candidate is None:
                left -= word != "grid"
            else:
                self._keep(candidate)

    def _may_be_better(self, tried: _Tried, ups: int, known: Candidate) -> bool:
        if known.pattern == "grid" or ups > known.ups or known.rows is None or self._ragged(tried) == known.complete:
            return True
        if tried.pattern.first.swapped or known.cut_down:
            return tried.needs_mm < known.rows.needs_mm - _HOPED_MM
        return tried.needs_mm < known.block[3] - known.block[1] - _HOPED_MM

    def _keep(self, candidate: Candidate) -> None:
        sheet = candidate.large or candidate.sheet
        known = self.found.get((candidate.pattern, sheet))
        if known is None or better(candidate, known, self.table):
            self.found[candidate.pattern, sheet] = candidate

    # What may be hoped for --------------------------------------------------------------------------------------------

    def _hopes(self, sheet: Size) -> Iterator[_Tried]:
        keeps = self.keeps(sheet)
        for turn in self.outlines:
            shares = (False, False)
            if not self.gutters.asked and not self.only_plain:
                shares = shares_knife(self.request.blank, turn, self.table)
            for swapped in (False, True):
                for pattern in self._patterns(sheet, keeps, turn, shares, swapped=swapped):
                    tried = self._hoped(pattern, keeps, sheet)
                    if tried is not None:
                        yield tried

    def _patterns(
        self, sheet: Size, keeps: Keeps, turn: Turn, shares: tuple[bool, bool], *, swapped: bool
    ) -> Iterator[RowPattern]:
        first = keeps.margins(self.pairs.outlines[turn, swapped])
        second = keeps.margins(self.pairs.outlines[HALF_TURN[turn], swapped])
        wide = sheet.along_mm if swapped else sheet.across_mm
        tight = wide - max(first.left, second.left) - max(first.right, second.right)
        rooms, fewer = (wide - first.left - first.right, tight), self.request.ups is not None
        shares = shares[::-1] if swapped else shares
        for pattern in patterns(self.pairs, turn, rooms, shares, swapped=swapped, fewer=fewer):
            if pattern.plain or not self.only_plain:
                yield pattern

    def _hoped(self, pattern: RowPattern, keeps: Keeps, sheet: Size) -> _Tried | None:
        """As many rows as the samples let hope for; of a number-up that is asked for, no more than that takes."""
        exact = pattern.plain or any(pattern.shared)
        rows, needs = 0, 0.0
        while rows < MOST_ROWS and (self.request.ups is None or pattern.count(rows) < self.request.ups):
            more = float(pattern.sampled_needs(rows + 1)[1].min())
            if more > self._room(pattern, rows + 1, keeps, sheet) + (1e-6 if exact else _HOPED_MM):
                break
            rows, needs = rows + 1, more
        if not rows or (self.request.ups is not None and pattern.count(rows) < self.request.ups):
            return None
        return _Tried(pattern, rows, needs)

    def _room(self, pattern: RowPattern, rows: int, keeps: Keeps, sheet: Size) -> float:
        last = pattern.first if rows % 2 else pattern.second
        high = sheet.across_mm if pattern.first.swapped else sheet.along_mm
        return high - keeps.margins(pattern.first).bottom - keeps.margins(last).top

    # Exactly ----------------------------------------------------------------------------------------------------------

    def _exactly(self, sheet: Size, tried: _Tried) -> Candidate | None:
        pattern, rows, keeps = tried.pattern, tried.rows, self.keeps(sheet)
        asked = self.request.ups
        while rows and (asked is None or pattern.count(rows) >= asked):
            placed = PlacedRows(pattern, rows, pattern.best_shift(rows))
            if placed.needs_mm <= self._room(pattern, rows, keeps, sheet) + 1e-6:
                return self._checked(sheet, placed)
            rows -= 1
        return None

    def _checked(self, sheet: Size, placed: PlacedRows) -> Candidate | None:
        places = placed.places()
        if placed.pattern.first.swapped:
            places = [(turn, y, x) for turn, x, y in places]
        complete = self.request.ups is None or self.request.ups == len(places)
        shared = placed.pattern.shared[::-1] if placed.pattern.first.swapped else placed.pattern.shared
        return self.checked(
            sheet,
            word_of(placed.pattern),
            places[: self.request.ups],
            shared=shared,
            complete=complete,
            rows=placed,
        )

    def checked(
        self,
        sheet: Size,
        word: Pattern,
        places: list[tuple[Turn, float, float]],
        *,
        shared: tuple[bool, bool] = (False, False),
        complete: bool = True,
        rows: PlacedRows | None = None,
    ) -> Candidate | None:
        """Blanks on a sheet, as far forward and as near to the middle as it allows; None where something is wrong."""
        keeps, large, cut_down = self.keeps(sheet), sheet, self.request.sheets_are == "largest"
        if cut_down:
            bare = replace(keeps, free=replace(self.request.free, printable=None))
            limits = self.request.smallest, sheet
            sheet = cut_down_to(places, self.outlines, bare, limits, self.table.cut_to_mm)
            keeps = self.keeps(sheet)
        at = settled(places, self.outlines, sheet, keeps)
        if at is None:
            return None
        cuts = cuts_of(at, self.outlines)
        may_share = any(shared) or self.gutters.strip_mm == 0
        if any(shared) and not self._really_share(cuts, rows):
            return None
        if any(faults(sheet, cuts, self.strips, shared=may_share, simpler=self._simpler(at))):
            return None
        return Candidate(sheet, word, at, cuts, keeps, self.gutters, shared, complete, rows, cut_down, large)

    def _really_share(self, cuts: Sequence[Polygon], rows: PlacedRows | None) -> bool:
        """Whether neighbours have a run of cut in common, and not only boxes that touch; others keep the gutter."""
        if rows is None:
            return False
        (within, between), each = rows.pattern.shared, rows.pattern.each[0]
        least = min(self.gutters.across_mm, self.gutters.along_mm) - 1e-6
        sharing = 0
        tree = shapely.STRtree(cuts)
        for one, other in tree.query(cuts, predicate="dwithin", distance=least).T.tolist():
            if one < other:
                if shapely.distance(cuts[one], cuts[other]) > 1e-6:
                    return False
                common = shapely.intersection(cuts[one].exterior, cuts[other].exterior)
                sharing += bool(shapely.length(common) >= _COMMON_MM)
        in_rows = rows.rows * (each - 1) if within else 0
        return sharing >= in_rows + (each * (rows.rows - 1) if between else 0)

    def _simpler(self, places: Sequence[tuple[Turn, float, float]]) -> tuple[list[Polygon], float]:
        outlines = [translate(self.outlines[turn].simpler, x, y) for turn, x, y in places]
        larger = any(outline.simpler is not outline.cut for outline in self.outlines.values())
        return outlines, 2 * SIMPLER_MM if larger else 0.0

    # Rows of both turns -----------------------------------------------------------------------------------------------

    def _of_two_turns(self, sheet: Size) -> Iterator[Candidate]:
        """Plain rows of one turn with plain rows of the other behind them; columns beside columns."""
        if len(self.turns) < 2 or (self.request.grain is None and self.request.grain_on_blank != "any"):
            return
        keeps, most = self.keeps(sheet), max((each.ups for each in self.found.values()), default=0)
        for one, other in (self.turns, self.turns[::-1]):
            for swapped in (False, True):
                places = self._most_of_two(sheet, keeps, one, other, swapped=swapped)
                if self.request.ups is not None and len(places) >= self.request.ups and not most:
                    places = places[: self.request.ups]
                if len(places) > most and self.request.ups in (None, len(places)):
                    candidate = self.checked(sheet, "grid", places)
                    if candidate is not None:
                        yield candidate

    def _most_of_two(
        self, sheet: Size, keeps: Keeps, one: Turn, other: Turn, *, swapped: bool
    ) -> list[tuple[Turn, float, float]]:
        lower, upper = self.pairs.outlines[one, swapped], self.pairs.outlines[other, swapped]
        between = self.gutters.swapped() if swapped else self.gutters
        wide, high = (sheet.along_mm, sheet.across_mm) if swapped else (sheet.across_mm, sheet.along_mm)
        low, top = keeps.margins(lower), keeps.margins(upper)
        left, right = max(low.left, top.left), max(low.right, top.right)
        room, height = wide - left - right, high - low.bottom - top.top
        each = [per_row(room, outline.width_mm, outline.width_mm + between.across_mm) for outline in (lower, upper)]
        best: list[tuple[Turn, float, float]] = []
        for rows in range(1, MOST_ROWS):
            used = rows * (lower.height_mm + between.along_mm)
            more = per_row(height - used, upper.height_mm, upper.height_mm + between.along_mm)
            if not more:
                break
            if rows * each[0] + more * each[1] > len(best):
                best = _grid(lower, rows, each[0], 0.0, between) + _grid(upper, more, each[1], used, between)
        return [(turn, y, x) for turn, x, y in best] if swapped else best


def _grid(outline: Outline, rows: int, each: int, y_mm: float, between: Gutters) -> list[tuple[Turn, float, float]]:
    across, along = outline.width_mm + between.across_mm, outline.height_mm + between.along_mm
    return [(outline.turn, number * across, y_mm + row * along) for row in range(rows) for number in range(each)]


def word_of(pattern: RowPattern) -> Pattern:
    """What a pattern is called."""
    if pattern.first is not pattern.second:
        return "interlocked" if pattern.first.swapped else "tumbled"
    return "grid" if pattern.plain or any(pattern.shared) else "meshing"


def turns_by_grain(request: LayoutRequest) -> tuple[Turn, ...]:
    """Turns that the grain allows, without half turns."""
    if request.grain is None or request.grain_on_blank == "any":
        return (0, 90)
    return (0,) if request.grain == request.grain_on_blank else (90,)


def _with_half_turns(turns: tuple[Turn, ...]) -> tuple[Turn, ...]:
    return (*turns, *(HALF_TURN[turn] for turn in turns))
