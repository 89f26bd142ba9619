"""Boxes in which the ink of each plate stays, so that plates can share a channel: corners, strokes, glyphs included."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import EVERYWHERE, Box, singular_values
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import Content
from preflight.artwork.pdf.structure.values import entries, lookup, number

Boxes = NDArray[np.float64]

USUAL_MITRE = 10.0
"""The miter limit that a page begins with (ISO 32000-2, table 51)."""
MOST_MARKS, MOST_PIECES = 400, 4000
"""Objects in registration colour whose boxes are taken piece by piece, and the pieces."""
_ANYWHERE_MM = 1e6
_SET_MITRE = re.compile(rb"M(?![\w*'\"])")
_NUMBER_LENGTH = 40


def ink_boxes_of_plates(
    objects: PageObjects, plates: Sequence[str], states: Sequence[PaintState], page_mm: Box
) -> tuple[dict[str, Boxes], Boxes]:
    """Boxes (k, 4) in mm of all that shows in each plate's colour, at whatever tint, and of registration colour.

    ``states`` are the graphics states that streams name by number. Text reaches out of its box by no more than its
    size; glyphs of Type 3 fonts may be anywhere.
    """
    shown = np.flatnonzero(objects.visible)
    reach = _overhang_mm(objects, states)[shown]
    boxes = _grown(objects.shown_mm[shown].astype(float), reach, page_mm)
    colour, wanted = objects.colour[shown], set(plates)
    found: dict[str, list[Boxes]] = {name: [] for name in plates}
    marks = np.zeros(len(objects.colours), bool)
    order = np.argsort(colour, kind="stable")
    begins = np.searchsorted(colour[order], np.arange(len(objects.colours) + 1))
    for family, numbers in objects.colours.families():
        marks[numbers] = family.registration
        names = [name for name in family.names if name in wanted]
        if family.registration or not names:
            continue
        rows = np.concatenate([order[begins[number] : begins[number + 1]] for number in numbers.tolist()])
        for name in names:
            found[name].append(boxes[rows])
    marking = np.flatnonzero(marks[colour])
    return (
        {name: np.vstack(own or [np.zeros((0, 4))]) for name, own in found.items()},
        _by_pieces(objects, shown[marking], reach[marking], boxes[marking]),
    )


def ink_boxes(objects: PageObjects, states: Sequence[PaintState]) -> Boxes:
    """For every row the box in mm that its ink stays within; nothing is cut off at the page."""
    return _grown(objects.shown_mm.astype(float), _overhang_mm(objects, states), EVERYWHERE)


def _grown(boxes: Boxes, by_mm: NDArray[np.float64], within: Box) -> Boxes:
    grown = boxes + by_mm[:, None] * np.array([-1, -1, 1, 1])
    clipped: Boxes = np.clip(grown, np.tile(within[:2], 2), np.tile(within[2:], 2))
    return clipped


def _by_pieces(objects: PageObjects, rows: NDArray[np.intp], reach: NDArray[np.float64], boxes: Boxes) -> Boxes:
    """Boxes of registration colour, of each subpath or each line of it: a frame round the page leaves its inside free.

    A fill stays within the boxes of its subpaths, a stroke near its lines.
    """
    if len(rows) > MOST_MARKS:
        return boxes
    found = []
    for row, by_mm, whole, paths in zip(rows.tolist(), reach.tolist(), boxes, objects.paths(rows), strict=True):
        pieces = [whole[None]]
        if paths and objects.painted[row] == Painted.FILL:
            pieces = [np.concatenate([path.min(0), path.max(0)])[None] for path in paths]
        elif paths:
            by_mm += float(objects.line_width_mm[row])
            pieces = [np.hstack([np.minimum(p[:-1], p[1:]), np.maximum(p[:-1], p[1:])]) for p in paths if len(p) > 1]
            pieces = pieces or [whole[None]]
        own = np.vstack(pieces) + by_mm * np.array([-1, -1, 1, 1])
        found.append(np.hstack([np.maximum(own[:, :2], whole[:2]), np.minimum(own[:, 2:], whole[2:])]))
    every = np.vstack([np.zeros((0, 4)), *found])
    every = every[(every[:, :2] <= every[:, 2:]).all(1)]
    return every if len(every) <= MOST_PIECES else boxes


def _overhang_mm(objects: PageObjects, states: Sequence[PaintState]) -> NDArray[np.float64]:
    """How far the ink of each row may reach out of its box, (n,)."""
    reach = np.zeros(len(objects))
    widths = np.array([state.line_width for state in states], float)
    mitre = max(1.0, largest_mitre(objects.contents)) / 2
    matrices = np.array(objects.matrices).reshape(-1, 6)[:, :4].reshape(-1, 2, 2)
    source = objects.source
    order = np.argsort(source[:, 0], kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(source[order, 0])) + 1):
        if not len(rows):
            continue
        content, local = objects.contents[int(source[rows[0], 0])], source[rows, 1]
        stroke_frame = content.frame[:, :4].copy()
        for row, matrix in content.outlined.items():
            stroke_frame[row] = matrix[:4]
        stroked = content.painted == Painted.STROKE
        stroked[list(content.outlined)] = True
        placed = matrices[source[rows, 2]]
        em = _longest(content.frame[local, :4], placed)
        width = widths[content.state[local]] * _longest(stroke_frame[local], placed)
        # The table has half the width in the boxes of strokes, and none of it in those of text.
        reach[rows] = np.where(stroked[local], mitre * width, 0)
        reach[rows] += np.where(content.painted[local] == Painted.TEXT, em, 0)
    type3 = np.array([*(facts.type3 for facts in objects.fonts), False], bool)[objects.font]
    reach[(objects.painted == Painted.TEXT) & (type3 | (reach <= 0))] = _ANYWHERE_MM
    return reach


def _longest(frames: NDArray[np.float64], placed: NDArray[np.float64]) -> NDArray[np.float64]:
    """The greatest length in mm that each matrix gives a vector of length one."""
    return singular_values((frames.reshape(-1, 2, 2) @ placed).reshape(-1, 4))[1]


def largest_mitre(contents: Iterable[Content]) -> float:
    """The largest miter limit that anything on the page may be stroked with."""
    found = [USUAL_MITRE]
    for content in contents:
        for match in _SET_MITRE.finditer(content.data):
            before = content.data[max(0, match.start() - _NUMBER_LENGTH) : match.start()]
            if not before[-1:].isspace():
                continue
            words = before.split()
            try:
                found.append(float(words[-1]))
            except (ValueError, IndexError):  # no number after all
                continue
        found += [number(lookup(state, "ML")) or 0.0 for _, state in entries(lookup(content.resources, "ExtGState"))]
    return max(found)
