"""Which rows of a page's table show what a stream paints: its own rows, or those that its pattern is painted on."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import Content, in_pattern

MOST_BOXES = 60
"""Of one thing that is missing; more are one box round all of them."""


def rows_showing(page: PageContent, objects: PageObjects, contents: Iterable[Content]) -> NDArray[np.intp]:
    """Rows of streams and of all that they call; of pattern cells and glyphs the rows that are painted with them."""
    numbers = {each.number for content in contents for each in content.with_calls()}
    placed = np.isin(objects.source[:, 0], list(numbers))
    patterned = [
        number
        for number, pattern in page.palette.patterns()
        if any(each.number in numbers for cell in in_pattern(pattern) for each in cell.with_calls())
    ]
    return np.flatnonzero(placed | np.isin(objects.colour, patterned))


def rows_in_states(page: PageContent, objects: PageObjects, wanted: Callable[[PaintState], bool]) -> NDArray[np.intp]:
    """Rows that are painted in such graphics states, or by forms that are called in them, in order."""
    numbers = np.array([wanted(state) for state in page.states], bool)
    own = np.zeros(len(objects), bool)
    for number in np.unique(objects.source[:, 0]).tolist():
        rows = np.flatnonzero(objects.source[:, 0] == number)
        own[rows] = numbers[page.streams[number].state[objects.source[rows, 1]]]
    called = [call.content for content in page.streams for call in content.calls if numbers[call.state]]
    return np.union1d(np.flatnonzero(own), rows_showing(page, objects, called))


def places_of_rows(objects: PageObjects, rows: NDArray[np.intp], because: str) -> list[UncertainPlace]:
    """Where rows show, each with the separations that its colour names; nothing for rows that do not show."""
    rows = rows[objects.visible[rows]]
    boxes = objects.shown_mm[rows].astype(float).round(3)
    if len(rows) > MOST_BOXES:
        names = tuple(dict.fromkeys(name for row in rows.tolist() for name in _inks(objects, row)))
        around: Box = (*boxes[:, :2].min(0).tolist(), *boxes[:, 2:].max(0).tolist())
        return [UncertainPlace(because, around, names)]
    return list(
        dict.fromkeys(
            UncertainPlace(because, tuple(box), _inks(objects, row))
            for row, box in zip(rows.tolist(), boxes.tolist(), strict=True)
        )
    )


def unread_in_patterns(page: PageContent, objects: PageObjects) -> list[UncertainPlace]:
    """What could not be read of pattern cells and glyphs: it is missing wherever something is painted with them."""
    placed = set(objects.source[:, 0].tolist())
    found = []
    for content in page.streams:
        if content.undrawn and content.number not in placed:
            rows = rows_showing(page, objects, [content])
            for undrawn in content.undrawn:
                found += [
                    UncertainPlace(place.because, place.box_mm, undrawn.inks, unread=True)
                    for place in places_of_rows(objects, rows, undrawn.because)
                ]
    return found


def _inks(objects: PageObjects, row: int) -> tuple[str, ...]:
    return tuple(name for name, _ in objects.colours[int(objects.colour[row])].tints)
