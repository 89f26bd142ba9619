"""The blanks of a sheet: where the art of each belongs, by the die of the sheet or else by the step of the art."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, Matrix, box_through, inverse, times
from preflight.carton.alike_blanks import Cut, moves
from preflight.carton.die import Blank, Die
from preflight.comparing.sheet.find_art import Found, find_all
from preflight.comparing.sheet.look_at_sheet import SheetLooks
from preflight.comparing.sheet.printed_art import PrintedArt, placed, quarters_of
from preflight.comparing.sheet.regular_step import stepped
from preflight.setup.layout.sheet_layout import through

SAME_PLACE_MM: Final = 0.15
"""Art that is no further from where it is on other blanks is at the same place of the die."""
ON_SHEET_MM: Final = 1.0
OVER: Final = 0.1
"""Of its area: a gap of the step that more of a blank lies in is none."""


@dataclass(frozen=True)
class SheetPlace:
    """A place where the art of a blank belongs."""

    number: int
    belongs: tuple[Matrix, ...]
    """From the blank's frame to the page; several where the cut is the same turned round, none where no art fits it."""
    box_mm: Box
    """Of its cut, on the page."""
    cut: Polygon | None = None
    found: Matrix | None = None
    """Where the art is about, where the sheet has no die."""
    empty: bool = False
    """A gap of the step."""


@dataclass(frozen=True)
class SheetPlaces:
    """All of them."""

    places: tuple[SheetPlace, ...]
    against: Literal["die", "step"]
    notes: tuple[str, ...] = ()
    not_compared: tuple[str, ...] = ()


def sheet_places(sheet: SheetLooks, die: Die, arts: Sequence[PrintedArt]) -> SheetPlaces:
    """The blanks of a sheet.

    Where cut and folds of the one-up lie on those of the sheet, turned by quarters, they say where art belongs. Where
    the one-up has no die, its art is looked for on the sheet, and belongs on each blank where it lies on most. Without
    a die on the sheet the places of the art have to make a regular step.

    Args:
        sheet: its page.
        die: what was read of the sheet's die.
        arts: the one-up, and other versions that may be on the sheet.
    """
    if not die.blanks:
        return _by_step(sheet, arts)
    cut = arts[0].as_cut
    if cut is not None:
        fitting = [_by_cut(blank, cut) for blank in die.blanks]
        if any(place.belongs for place in fitting):
            return SheetPlaces(tuple(fitting), "die")
    return _by_art_in_die(sheet, die, arts)


def _by_cut(blank: Blank, cut: Cut) -> SheetPlace:
    ways = [move.matrix for move in moves(cut, Cut(blank.outline, blank.creases))]
    return SheetPlace(blank.number, tuple(ways), blank.outline.bounds, blank.outline)


# Without a die on the one-up ----------------------------------------------------------------------------------------


def _by_art_in_die(sheet: SheetLooks, die: Die, arts: Sequence[PrintedArt]) -> SheetPlaces:
    """Where art lies on most blanks, once each is turned as the first that is alike lies, it belongs on all."""
    said = "the cut of the one-up is not that of the sheet" if arts[0].cut is not None else "the one-up has no die"
    found = find_all(sheet.glance, sheet.order, arts)
    if not found:
        return SheetPlaces((), "die", not_compared=(f"{said}, and its art is not found on the sheet",))
    settled = [sheet.settled(arts[each.art], each.matrix, None).matrix for each in found]
    places: dict[int, SheetPlace] = {}
    for family in _families(die.blanks):
        seen = [
            (blank, ways, matrix) for blank, ways in family for matrix in settled if _lies_on(matrix, blank.outline)
        ]
        lain = [[times(matrix, inverse(way)) for way in ways] for _, ways, matrix in seen]
        usual = _most_usual(lain)
        for blank, ways in family:
            belongs = () if usual is None else tuple(times(usual, way) for way in ways)
            places[blank.number] = SheetPlace(blank.number, belongs, blank.outline.bounds, blank.outline)
    ordered = tuple(places[blank.number] for blank in die.blanks)
    note = f"{said}: where art belongs within the cut is taken from where it lies on most blanks"
    return SheetPlaces(ordered, "die", notes=(f"{note[0].upper()}{note[1:]}.",))


def _families(blanks: Sequence[Blank]) -> list[list[tuple[Blank, list[Matrix]]]]:
    """Blanks that are alike, each with the ways from the first of them to it."""
    families: list[list[tuple[Blank, list[Matrix]]]] = []
    for blank in blanks:
        cut = Cut(blank.outline, blank.creases)
        for family in families:
            first = family[0][0]
            ways = [move.matrix for move in moves(Cut(first.outline, first.creases), cut)]
            if ways:
                family.append((blank, ways))
                break
        else:
            families.append([(blank, [move.matrix for move in moves(cut, cut)])])
    return families


def _lies_on(matrix: Matrix, outline: Polygon) -> bool:
    return bool(shapely.contains_xy(outline.envelope, matrix[4], matrix[5]))


def _most_usual(lain: Sequence[Sequence[Matrix]]) -> Matrix | None:
    """The place of art on the first blank that most blanks bear out, in one of their ways each."""
    best, most = None, 0
    for own in lain:
        for matrix in own:
            alike = sum(any(_same_place(matrix, other) for other in others) for others in lain)
            if alike > most:
                best, most = matrix, alike
    return best


def _same_place(one: Matrix, other: Matrix) -> bool:
    return quarters_of(one) == quarters_of(other) and bool(
        np.hypot(one[4] - other[4], one[5] - other[5]) <= SAME_PLACE_MM
    )


# Without a die on the sheet -----------------------------------------------------------------------------------------


def _by_step(sheet: SheetLooks, arts: Sequence[PrintedArt]) -> SheetPlaces:
    found = find_all(sheet.glance, sheet.order, arts)
    if not found:
        return SheetPlaces(
            (), "step", not_compared=("the sheet has no die, and the art of the one-up is not found on it",)
        )
    found = [_settled(sheet, arts, each) for each in found]
    middles = np.array([each.matrix[4:] for each in found])
    turns = [quarters_of(each.matrix) for each in found]
    flat = sum(turn % 2 for turn in turns) * 2 > len(turns)
    width, height = arts[0].size_mm[::-1] if flat else arts[0].size_mm
    step = stepped(middles, turns, (width, height))
    printed = [through(each.matrix, arts[each.art].printed) for each in found]
    rows: list[tuple[Matrix, Matrix | None, PrintedArt]] = [
        (placed(turn, *at), each.matrix, arts[each.art])
        for turn, at, each in zip(step.turns, step.middles.tolist(), found, strict=True)
    ]
    gaps = [placed(*gap) for gap in step.gaps]
    rows += [(gap, None, arts[0]) for gap in gaps if _is_gap(through(gap, arts[0].printed), printed, sheet.page.box_mm)]
    rows.sort(key=lambda row: (-round(row[0][5] / (height / 2)), row[0][4]))
    places = tuple(
        SheetPlace(number, (at,), box_through(at, _box(art)), None, matrix, matrix is None)
        for number, (at, matrix, art) in enumerate(rows, 1)
    )
    notes = ["The sheet has no die: blanks are found by the art of the one-up and held against its step."]
    if not step.told:
        notes.append("There are too few blanks, or no regular step, to tell a blank that is moved.")
    return SheetPlaces(places, "step", tuple(notes))


def _settled(sheet: SheetLooks, arts: Sequence[PrintedArt], found: Found) -> Found:
    return Found(sheet.settled(arts[found.art], found.matrix, None).matrix, found.score, found.art)


def _box(art: PrintedArt) -> Box:
    width, height = art.size_mm
    return (-width / 2, -height / 2, width / 2, height / 2)


def _is_gap(shape: BaseGeometry, printed: Sequence[BaseGeometry], page: Box) -> bool:
    """Whether a blank could lie there: on the page, and on no other."""
    on_page = bool(shapely.buffer(shapely.box(*page), ON_SHEET_MM).covers(shape))
    return on_page and all(shapely.intersection(shape, other).area <= OVER * shape.area for other in printed)
