"""Which blanks are alike, how one is turned to lie as another, and the areas that hold for all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Matrix
from preflight.carton.die import Area

SAME_SIZE_MM: Final = 0.5
"""Box sides of alike blanks differ by no more; dies are stepped, but some programs round each copy."""
SAME_LINE_MM: Final = 0.3
"""Outlines and creases of alike blanks run this close to each other."""
SAME_AREA: Final = 0.98
"""Of two areas: what they share, at least, to be one and the same place."""
QUARTER_TURNS: Final = tuple(np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), turns) for turns in range(4))


@dataclass(frozen=True)
class Cut:
    """A blank as far as its likeness goes: outline and folds, mm on the page."""

    outline: Polygon
    creases: BaseGeometry

    @property
    def middle(self) -> NDArray[np.float64]:
        """Middle of its box."""
        x0, y0, x1, y1 = self.outline.bounds
        return np.array([(x0 + x1) / 2, (y0 + y1) / 2])


@dataclass(frozen=True)
class Move:
    """Turns a shape by quarters about the middle of one blank and sets it down on another."""

    turn: NDArray[np.int_]
    about: NDArray[np.float64]
    to: NDArray[np.float64]

    def __call__(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape after it."""
        moved: BaseGeometry = shapely.transform(shape, lambda xy: (xy - self.about) @ self.turn.T + self.to)
        return moved

    @property
    def matrix(self) -> Matrix:
        """The same as a matrix."""
        (a, c), (b, d) = self.turn.tolist()
        e, f = (self.to - self.turn @ self.about).tolist()
        return (a, b, c, d, e, f)


def for_all_alike(shared: Sequence[Sequence[Area]], cuts: Sequence[Cut]) -> list[list[Area]]:
    """Areas of each blank, with those that are drawn on another blank like it, turned as it is turned.

    A blank that has areas of a kind keeps its own. An area that is for one blank only is lent to no other, nor is one
    whose place is not known there because outline and folds look the same turned round.

    Args:
        shared: the areas that lie on each blank.
        cuts: outline and folds of each, in the same order.
    """
    found = [list(mine) for mine in shared]
    for n, mine in enumerate(shared):
        own = {area.kind for area in mine}
        for donor, lent in enumerate(shared):
            kinds = {area.kind for area in lent if area.only_on is None} - own
            ways = list(moves(cuts[donor], cuts[n])) if kinds else []
            for kind in sorted(kinds) if ways else ():
                moved = [_moved([area for area in lent if area.kind == kind], move, donor) for move in ways]
                if all(_same_place(moved[0], other) for other in moved[1:]):
                    found[n] += moved[0]
                    own.add(kind)
    return found


def _moved(areas: Sequence[Area], move: Move, donor: int) -> list[Area]:
    because = f"as on blank {donor + 1}, which is alike"
    return [
        replace(area, shape=move(area.shape), because=f"{area.because}, {because}")
        for area in areas
        if area.only_on is None
    ]


def moves(one: Cut, other: Cut) -> Iterator[Move]:
    """Every way to turn and move a blank so that its outline and folds lie on those of another."""
    if abs(one.outline.area - other.outline.area) > SAME_LINE_MM * one.outline.length:
        return
    size, wanted = _size(one.outline), _size(other.outline)
    for turn in QUARTER_TURNS:
        if np.abs(np.abs(turn) @ size - wanted).max() > SAME_SIZE_MM:
            continue
        move = Move(turn, one.middle, other.middle)
        if _near(move(one.outline).boundary, other.outline.boundary) and _near(move(one.creases), other.creases):
            yield move


def _size(outline: Polygon) -> NDArray[np.float64]:
    x0, y0, x1, y1 = outline.bounds
    return np.array([x1 - x0, y1 - y0])


def _near(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether all of each line runs close to the other; the ends of creases may differ by twice that."""
    if one.is_empty or other.is_empty:
        return bool(one.is_empty and other.is_empty)
    near_one, near_other = (shapely.buffer(lines, 2 * SAME_LINE_MM) for lines in (one, other))
    return bool(shapely.covers(near_one, other) and shapely.covers(near_other, one))


def _same_place(some: Sequence[Area], others: Sequence[Area]) -> bool:
    one, other = (shapely.union_all([area.shape for area in areas]) for areas in (some, others))
    return bool(shapely.intersection(one, other).area >= SAME_AREA * max(one.area, other.area))
