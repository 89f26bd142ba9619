"""Groups that are painted element by element, because PDFium does not paint them as the standard has them.

In a knock-out group (ISO 32000-2, 11.4.6.2) every element meets what lay there before the group, never an earlier one.
PDFium paints the elements over each other. So where one of them lets something show, an earlier one is painted through
a soft mask that is shut in the shapes of all that come after it; shape, and not opacity, decides who is knocked out.

A group that is not isolated and lets something show as a whole hands its opacity on to its elements: the same wherever
no more than one of them shows (11.4.8). One behind which a solid element comes is shut out of its shape likewise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.matrices import box_through
from preflight.artwork.painted.content import Content, EditKind
from preflight.artwork.painted.images import TooBig

MOST_MASKED, MOST_ELEMENTS = 64, 2000
MOST_BYTES = 40_000_000
"""Of all streams that such a group is written as."""
_PAINTING = (EditKind.PAINT, EditKind.SHOW, EditKind.IMAGE, EditKind.SHADING, EditKind.CALL)
_WIDTH, _SOFT_MASK = 7, 10


@dataclass(frozen=True)
class Part:
    """Some elements of a stream; the others are left out."""

    rows: NDArray[np.bool_]
    calls: frozenset[int]


class Step(NamedTuple):
    """Elements that are painted next, and those of which the shapes are shut to them (None: none are)."""

    painted: Part
    later: Part | None


@dataclass(frozen=True)
class _Element:
    """One operator that paints: rows of the stream, or the number of a call."""

    rows: tuple[int, ...]
    call: int
    box: tuple[float, ...]
    solid: bool
    """Nothing shows through it."""


def steps(content: Content, states: Sequence[tuple[object, ...]]) -> list[Step]:
    """How the elements of a group are painted, in order.

    Args:
        content: the group's stream.
        states: table of graphics states.

    Raises:
        TooBig: too many of them overlap, an element has a soft mask or is a form of several objects; or the group is no
            knock-out group, and an element lets an earlier one show.
    """
    elements = _elements(content, states)
    if len(elements) > MOST_ELEMENTS:
        raise TooBig(f"a group of more than {MOST_ELEMENTS:,} objects that let others show")
    boxes = np.array([element.box for element in elements], float).reshape(-1, 4)
    x0, y0, x1, y1 = boxes.T
    meets = (x0[:, None] < x1) & (x0 < x1[:, None]) & (y0[:, None] < y1) & (y0 < y1[:, None])
    later = np.triu(meets, 1)
    if not content.knockout and (later & ~np.array([element.solid for element in elements], bool)).any():
        raise TooBig("a faint group that is not isolated, with objects that are blended with each other")
    masked = later.any(1)
    if masked.sum() > MOST_MASKED or (2 * masked.sum() + 1) * len(content.data) > MOST_BYTES:
        raise TooBig(f"a group in which more than {MOST_MASKED} objects overlap that let others show")
    found, waiting = list[Step](), list[_Element]()
    for element, shut in zip(elements, later, strict=True):
        if not shut.any():
            waiting.append(element)
            continue
        if waiting:
            found.append(Step(_part(content, waiting), None))
            waiting = []
        behind = [elements[at] for at in np.flatnonzero(shut).tolist()]
        found.append(Step(_part(content, [element]), _part(content, behind)))
    return [*found, Step(_part(content, waiting), None)] if waiting else found


def _part(content: Content, elements: Sequence[_Element]) -> Part:
    rows = np.zeros(len(content.painted), bool)
    rows[[row for element in elements for row in element.rows]] = True
    return Part(rows, frozenset(element.call for element in elements if element.call >= 0))


def _elements(content: Content, states: Sequence[tuple[object, ...]]) -> list[_Element]:
    found = []
    for edit in content.edits[np.isin(content.edits[:, 2], _PAINTING)].tolist():
        _, _, kind, a, b, _ = edit
        own: tuple[int, ...] = ()
        if kind == EditKind.CALL:
            call = content.calls[a]
            if not call.content.total_rows:
                continue
            if not call.content.group and call.content.total_rows > 1:
                raise TooBig("a group of objects that let others show, with a form of several objects in it")
            box, state = _box_of_call(call.content, call.matrix), call.state
        else:
            own = tuple(row for row in (a, b) if row >= 0 and not content.hidden[row])
            if not own:
                continue
            box, state = _box(content, own, states), int(content.state[own[0]])
        if states[state][_SOFT_MASK]:
            raise TooBig("a group of objects that let others show, with a soft mask in it")
        solid = kind in (EditKind.PAINT, EditKind.SHOW) and _is_solid(states[state])
        found.append(_Element(own, a if kind == EditKind.CALL else -1, box, solid))
    return found


def _is_solid(state: tuple[object, ...]) -> bool:
    fill_overprint, stroke_overprint, _, fill_alpha, stroke_alpha, blend = state[:6]
    return not fill_overprint and not stroke_overprint and fill_alpha == stroke_alpha == 1 and blend == "Normal"


def _box(content: Content, rows: Sequence[int], states: Sequence[tuple[object, ...]]) -> tuple[float, ...]:
    """Bounding box of rows, grown by more than their strokes."""
    boxes = content.box[list(rows)]
    widths = [float(states[content.state[row]][_WIDTH]) for row in rows]
    grow = max(
        width * float(np.abs(content.frame[row, :4]).sum()) if content.stroked[row] else 0.0
        for row, width in zip(rows, widths, strict=True)
    )
    low, high = boxes[:, :2].min(0) - grow, boxes[:, 2:].max(0) + grow
    return (*low.tolist(), *high.tolist())


def _box_of_call(content: Content, matrix: tuple[float, ...]) -> tuple[float, ...]:
    """The form's own box: whatever is in it shows in there."""
    return tuple(box_through(matrix, content.bbox or (-1e6, -1e6, 1e6, 1e6)))
