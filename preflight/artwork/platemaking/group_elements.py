"""Groups that are painted element by element, because PDFium does not paint them as the standard has them.

In a knock-out group (ISO 32000-2, 11.4.6.2) every element meets what lay there before the group, never an earlier one.
PDFium paints the elements over each other. So an earlier one is painted through a soft mask that is shut in the shapes
of those after it that let something show; shape, and not opacity, decides who is knocked out. Solid ones cover it
anyhow, and a mask would leave a light edge round them.

A group that is not isolated and lets something show as a whole hands its opacity on to its elements: the same wherever
no more than one of them shows (11.4.8). One behind which a solid element comes is shut out of its shape likewise.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import EVERYWHERE, box_through
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.stream_content import Content, EditKind
from preflight.artwork.pdf.content.transparency import alpha_is_shape
from preflight.artwork.platemaking.ink_boxes import largest_mitre
from preflight.errors import CannotBeRendered, TooBig

MOST_MASKED, MOST_ELEMENTS = 64, 2000
MOST_BYTES = 40_000_000
"""Of all streams that such a group is written as."""
_PAINTING = (EditKind.PAINT, EditKind.SHOW, EditKind.IMAGE, EditKind.SHADING, EditKind.CALL)


@dataclass(frozen=True)
class StreamPart:
    """Some elements of a stream; the others are left out."""

    rows: NDArray[np.bool_]
    calls: frozenset[int]
    within: Mapping[int, StreamPart] = field(default_factory=dict)
    """Of some of the calls only a part of what is in them."""
    as_shape: frozenset[int] = frozenset()
    """Of some of the calls only their box, in black."""
    laid: frozenset[int] = frozenset()
    """Calls that are painted without the alpha, blend mode and mask in force, and not as groups."""


class Step(NamedTuple):
    """Elements that are painted next, and those of which the shapes are shut to them."""

    painted: StreamPart
    later: tuple[tuple[StreamPart, float], ...] = ()
    """By the share by which they hide what lies below them; 0 where that differs."""


@dataclass(frozen=True)
class _Element:
    """One operator that paints: rows of the stream, or the number of a call."""

    rows: tuple[int, ...]
    call: int
    box: tuple[float, ...]
    solid: bool
    """Nothing shows through it."""
    alpha: float
    """The share by which it hides what lies below it; 0 where that differs."""
    blends_below: bool
    """It blends with what lies below the group, and PDFium blends nothing that is masked as a whole."""


def steps(page: PageContent, content: Content, *, faint: bool) -> list[Step]:
    """How the elements of a group are painted, in order.

    Args:
        page: has the tables that rows point into.
        content: the group's stream.
        faint: the group lets something show as a whole, and so do its elements.

    Raises:
        NotDrawn: too many of them overlap, an element has a soft mask or is a form of several objects; or the group is
            no knock-out group, and an element lets an earlier one show.
    """
    if alpha_is_shape(content):
        raise CannotBeRendered("a group of transparent objects, with opacity that counts as shape")
    elements = _elements(page, content)
    if len(elements) > MOST_ELEMENTS:
        raise TooBig(f"a group of more than {MOST_ELEMENTS:,} transparent objects")
    later = _shut_out(elements, content, faint=faint)
    found, waiting = list[Step](), list[_Element]()
    for element, shut in zip(elements, later, strict=True):
        if not shut.any():
            waiting.append(element)
            continue
        if waiting:
            found.append(Step(_part(content, waiting)))
            waiting = []
        if element.blends_below:
            raise CannotBeRendered("a group that blends with what lies below it, in a knock-out group")
        behind: dict[float, list[_Element]] = {}
        for at in np.flatnonzero(shut).tolist():
            behind.setdefault(0.0 if faint else elements[at].alpha, []).append(elements[at])
        shapes = tuple((_part(content, alike), alpha) for alpha, alike in behind.items())
        found.append(Step(_part(content, [element]), shapes))
    return [*found, Step(_part(content, waiting))] if waiting else found


def _shut_out(elements: Sequence[_Element], content: Content, *, faint: bool) -> NDArray[np.bool_]:
    """For each element (row) the later ones (columns) whose shapes are shut to it."""
    boxes = np.array([element.box for element in elements], float).reshape(-1, 4)
    x0, y0, x1, y1 = boxes.T
    meets = (x0[:, None] < x1) & (x0 < x1[:, None]) & (y0[:, None] < y1) & (y0 < y1[:, None])
    later, solid = np.triu(meets, 1), np.array([element.solid for element in elements], bool)
    if content.knockout and not faint:
        later &= ~solid
    if not content.knockout and (later & ~solid).any():
        raise CannotBeRendered(
            "a semi-transparent group that is not isolated, with objects that are blended with each other"
        )
    masked = later.any(1)
    if masked.sum() > MOST_MASKED or (2 * masked.sum() + 1) * len(content.data) > MOST_BYTES:
        raise TooBig(f"a group in which more than {MOST_MASKED} transparent objects overlap")
    return np.asarray(later)


def _part(content: Content, elements: Sequence[_Element]) -> StreamPart:
    rows = np.zeros(len(content.painted), bool)
    rows[[row for element in elements for row in element.rows]] = True
    return StreamPart(rows, frozenset(element.call for element in elements if element.call >= 0))


def _elements(page: PageContent, content: Content) -> list[_Element]:
    found, mitre = [], largest_mitre([content])
    for edit in content.edits[np.isin(content.edits[:, 2], _PAINTING)].tolist():
        _, _, kind, a, b, _ = edit
        element = _called(page, content, a) if kind == EditKind.CALL else _painted(page, content, (a, b), mitre)
        if element is not None:
            found.append(element)
    return found


def _called(page: PageContent, content: Content, number: int) -> _Element | None:
    """The form's own box: whatever is in it shows in there."""
    call = content.calls[number]
    inner, transparency = call.content, page.transparency
    if not inner.total_rows:
        return None
    if not inner.group and inner.total_rows > 1:
        raise CannotBeRendered("a group of transparent objects, with a form of several objects in it")
    if page.states[call.state].soft_mask:
        raise CannotBeRendered("a group of transparent objects, with a soft mask in it")
    box = tuple(box_through(call.matrix, inner.bbox or EVERYWHERE))
    solid = transparency.call_is_solid(call) and transparency.is_solid(inner)
    return _Element((), number, box, solid, 0.0, not inner.own_isolated and transparency.blends(inner))


def _painted(page: PageContent, content: Content, rows: tuple[int, ...], mitre: float) -> _Element | None:
    rows = tuple(row for row in rows if row >= 0 and not content.hidden[row])
    if not rows:
        return None
    if page.states[int(content.state[rows[0]])].soft_mask:
        raise CannotBeRendered("a group of transparent objects, with a soft mask in it")
    solid = page.transparency.rows_are_solid(content, rows)
    return _Element(rows, -1, _box(page, content, rows, mitre), solid, _share(page, content, rows), False)


def _share(page: PageContent, content: Content, rows: Sequence[int]) -> float:
    """The opacity of plain paths and text, blended as Normal and without overprint."""
    state = page.states[int(content.state[rows[0]])]
    plain = all(content.painted[row] in (Painted.FILL, Painted.STROKE, Painted.TEXT) for row in rows)
    patterned = any(page.palette.entries[content.colour[row]].pattern is not None for row in rows)
    if state.overprint.is_on or state.blend != "Normal" or not plain or patterned:
        return 0.0
    return min(state.alpha(stroked=bool(content.stroked[row])) for row in rows)


def _box(page: PageContent, content: Content, rows: Sequence[int], mitre: float) -> tuple[float, ...]:
    """Bounding box of rows, grown by as much as their strokes and letters may reach out of it."""
    grow = 0.0
    for row in rows:
        size = math.hypot(*content.frame[row, :4].tolist())
        if content.painted[row] == Painted.TEXT:
            if page.type3[content.font[row]]:
                return EVERYWHERE
            grow = max(grow, size)
        if content.stroked[row]:
            matrix = content.outlined.get(row)
            scale = size if matrix is None else math.hypot(*matrix[:4])
            # Half the miter limit in line widths is how far a corner may reach (ISO 32000-2, 8.4.3.5).
            grow += mitre / 2 * page.states[content.state[row]].line_width * scale
    boxes = content.box[list(rows)]
    low, high = boxes[:, :2].min(0) - grow, boxes[:, 2:].max(0) + grow
    return (*low.tolist(), *high.tolist())
