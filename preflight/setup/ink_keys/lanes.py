"""What each blank wants of each key, and which two blanks to swap or turn so that a lane is better served.

One key serves all blanks in its strip, from the gripper edge to the tail. What a blank *wants* of it is the mean tint
of its part in the strip. Blanks that want much and little of one key cannot both be right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from preflight.artwork.page.geometry import IDENTITY, Matrix, box_through, times
from preflight.kinds import PRINTING_KINDS
from preflight.setup.ink_keys.covers import KeyCovers
from preflight.setup.ink_keys.strips import AREA, Drawings, Drawn, Strips, ink_in_strips
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet, SheetBlank

Floats = NDArray[np.float64]
Aim = Literal["difference", "most"]
ENOUGH: Final = 0.5
"""A blank is in a strip where it lies over this share of the strip's width: of slivers no key is set."""
BETTER: Final = 0.05
"""A swap that gains less is not worth a new layout."""
SAME_SHAPE: Final = 0.01
"""Share of a blank's area by which two outlines may differ and still be of one die."""
MOST_BLANKS: Final = 60
"""Of more, turns and swaps of pairs are not tried."""


@dataclass(frozen=True)
class Lanes:
    """What blanks want of the keys."""

    inks: tuple[str, ...]
    blanks: tuple[int, ...]
    """Their numbers."""
    wants: Floats
    """Mean tint 0..1 of a blank's part in a strip, (blanks, inks, keys); NaN where the blank is not in the strip."""
    mm2: Floats
    """Solid mm², (blanks, inks, keys)."""


@dataclass(frozen=True)
class Change:
    """What is better when two blanks change places, or are turned by 180°."""

    what: Literal["swap", "turn"]
    blanks: tuple[int, ...]
    before: float
    after: float


class LaneBook:
    """The lanes of one sheet, and what they would be after a change."""

    def __init__(
        self,
        sheet: PressSheet,
        strips: Strips,
        goes_by: Callable[[str], str],
        on_coaters: Collection[str] = (),
        drawings: Drawings | None = None,
    ) -> None:
        """Blanks whose plates nothing draws are left out; names of one ink are one ink."""
        self._strips, self._goes_by = strips, goes_by
        self._drawings = drawings or Drawings()
        kinds = {name for name, kind in sheet.kinds.items() if kind in PRINTING_KINDS and name not in on_coaters}
        self.inks = tuple(dict.fromkeys(goes_by(name) for name in sheet.kinds if name in kinds))
        self._of = {name: self.inks.index(goes_by(name)) for name in kinds}
        self._drawn: list[tuple[SheetBlank, Piece, Drawn]] = []
        for blank in sheet.blanks:
            piece = _piece_of(sheet, blank)
            drawn = self._drawings.of(piece, blank.outline) if piece is not None else None
            if piece is not None and drawn is not None:
                self._drawn.append((blank, piece, drawn))
        self._kept: dict[tuple[int, Matrix], tuple[Floats, Floats]] = {}
        self.lanes = self._lanes([IDENTITY] * len(self._drawn))

    # What blanks want ----------------------------------------------------------------------------------------------

    def _lanes(self, moves: Sequence[Matrix]) -> Lanes:
        every = [self._moved(number, move) for number, move in enumerate(moves)]
        shape = (0, len(self.inks), len(self._strips.edges_mm) - 1)
        wants = np.stack([wants for wants, _ in every]) if every else np.zeros(shape)
        mm2 = np.stack([mm2 for _, mm2 in every]) if every else np.zeros(shape)
        return Lanes(self.inks, tuple(blank.number for blank, _, _ in self._drawn), wants, mm2)

    def _moved(self, number: int, move: Matrix) -> tuple[Floats, Floats]:
        """Wants and mm² of one blank after a move on the sheet, (inks, keys)."""
        key = (number, move)
        if key not in self._kept:
            blank, piece, drawn = self._drawn[number]
            strips = self._strips
            found = strips.from_operator(ink_in_strips(drawn, times(piece.to_sheet, move), strips))
            mm2 = np.zeros((len(self.inks), found.shape[1]))
            for name, ink in zip(drawn.names, found, strict=True):
                if name in self._of:
                    mm2[self._of[name]] += ink
            area = found[drawn.names.index(AREA)]
            x0, _, x1, _ = box_through(move, blank.outline.bounds)
            width = strips.from_operator(np.diff(np.clip(strips.edges_mm, x0, x1)))
            there = (width >= ENOUGH * strips.pitch_mm) & (area > 0)
            wants = np.where(there, mm2 / np.maximum(area, 1e-9), np.nan)
            self._kept[key] = np.minimum(wants, 1.0), mm2
        return self._kept[key]

    # Changes -------------------------------------------------------------------------------------------------------

    def better(self, aim: Aim, pale_from: float = 0.0, covers: KeyCovers | None = None) -> Change | None:
        """The swap or turn that serves the keys best; None where none is better by 5 points.

        Args:
            aim: ``difference``: that the greatest difference of what blanks want of one key be least; ``most``: that
                the greatest cover of any key be least.
            pale_from: a blank that wants less of an ink wants none of it.
            covers: of the sheet; what is in them beside the blanks stays where it is. Needed for ``most``.
        """
        rest = self._beside(covers) if covers is not None else np.zeros(self.lanes.mm2.shape[1:])

        def worth(lanes: Lanes) -> tuple[float, float]:
            if aim == "difference":
                found = differences(lanes, pale_from)
                return float(found.max(initial=0.0)), float((found**2).sum())
            cover = (lanes.mm2.sum(axis=0) + rest) / (self._strips.pitch_mm * self._strips.along_mm)
            return float(cover.max(initial=0.0)), float((cover**2).sum())

        now, best = worth(self.lanes), None
        for what, numbers, moves in self._changes():
            then = worth(self._lanes(moves))
            if then[0] <= now[0] - BETTER and (best is None or then < best[0]):
                best = then, what, numbers
        if best is None:
            return None
        then, what, numbers = best
        return Change(what, tuple(self.lanes.blanks[number] for number in numbers), now[0], then[0])

    def _beside(self, covers: KeyCovers) -> Floats:
        """Solid mm² in each strip that lies beside the blanks: bleed, bar, marks."""
        found = np.zeros(self.lanes.mm2.shape[1:])
        for plate in covers.plates:
            if plate.side == "front" and plate.name in self.inks:
                found[self.inks.index(plate.name)] = plate.cover
        whole = found * self._strips.pitch_mm * self._strips.along_mm
        beside: Floats = np.maximum(whole - self.lanes.mm2.sum(axis=0), 0.0)
        return beside

    def _changes(self) -> Iterator[tuple[Literal["swap", "turn"], tuple[int, ...], list[Matrix]]]:
        """Every change that the outlines allow: two blanks of unlike pictures swapped, one or two turned by 180°."""
        count = len(self._drawn)
        turns = [number for number in range(count) if self._turns(number)]
        pairs = count <= MOST_BLANKS
        for number in turns:
            yield "turn", (number,), self._moves({number: self._turn(number)})
        for one, other in combinations(range(count), 2) if pairs else ():
            swap = self._swap(one, other)
            if swap is not None:
                yield "swap", (one, other), self._moves(swap)
        for one, other in combinations(turns, 2) if pairs else ():
            yield "turn", (one, other), self._moves({one: self._turn(one), other: self._turn(other)})

    def _moves(self, of: dict[int, Matrix]) -> list[Matrix]:
        return [of.get(number, IDENTITY) for number in range(len(self._drawn))]

    def _turn(self, number: int) -> Matrix:
        x0, y0, x1, y1 = self._drawn[number][0].outline.bounds
        return (-1, 0, 0, -1, x0 + x1, y0 + y1)

    def _turns(self, number: int) -> bool:
        """Whether a blank can be turned by 180° where it lies: it meets no other and stays on the sheet."""
        turned = through(self._turn(number), self._drawn[number][0].outline)
        others = [blank.outline for n, (blank, _, _) in enumerate(self._drawn) if n != number]
        return not others or float(np.max(shapely.area(shapely.intersection(turned, np.array(others))))) < 0.5

    def _swap(self, one: int, other: int) -> dict[int, Matrix] | None:
        """Moves that put two blanks of one shape in each other's place; None where they are alike or of two shapes."""
        a, b = self._drawn[one][0], self._drawn[other][0]
        if a.turn_deg is None or b.turn_deg is None or self._drawn[one][1].plates is self._drawn[other][1].plates:
            return None
        there = _from_to(a.outline, b.outline, b.turn_deg - a.turn_deg)
        back = _from_to(b.outline, a.outline, a.turn_deg - b.turn_deg)
        if there is None or back is None:
            return None
        return {one: there, other: back}


def differences(lanes: Lanes, pale_from: float) -> Floats:
    """Most less least that blanks want of each key in each ink, (inks, keys); of those that want any of it."""
    wants = np.where(lanes.wants >= pale_from, lanes.wants, np.nan)
    some = np.isfinite(wants).any(axis=0) if len(wants) else np.zeros(wants.shape[1:], bool)
    high = np.max(np.where(np.isfinite(wants), wants, -np.inf), axis=0, initial=-np.inf)
    low = np.min(np.where(np.isfinite(wants), wants, np.inf), axis=0, initial=np.inf)
    return np.where(some, high - low, 0.0)


def _piece_of(sheet: PressSheet, blank: SheetBlank) -> Piece | None:
    """What draws the printed face of a blank."""
    if blank.piece is not None and sheet.pieces[blank.piece].side == "front":
        return sheet.pieces[blank.piece]
    middle = blank.outline.representative_point()
    return next((piece for piece in sheet.pieces if piece.side == "front" and piece.clip.covers(middle)), None)


_TURNED: Final[dict[int, tuple[int, int, int, int]]] = {
    0: (1, 0, 0, 1),
    90: (0, 1, -1, 0),
    180: (-1, 0, 0, -1),
    270: (0, -1, 1, 0),
}


def _from_to(one: Polygon, other: Polygon, turn_deg: float) -> Matrix | None:
    """The turn and shift that lays one outline on the other; None where they are of two shapes."""
    quarter = round(turn_deg) % 360
    if quarter not in _TURNED or not math.isclose(turn_deg % 360, quarter):
        return None
    turned: Matrix = (*_TURNED[quarter], 0.0, 0.0)
    x0, y0, _, _ = box_through(turned, one.bounds)
    move = times(turned, (1, 0, 0, 1, other.bounds[0] - x0, other.bounds[1] - y0))
    differ = shapely.symmetric_difference(through(move, one), other).area
    return move if differ <= SAME_SHAPE * other.area else None
