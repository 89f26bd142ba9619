"""What lets something show that lies below it: by opacity, blend mode, overprint or a mask (ISO 32000-2, 11.3)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from pikepdf import Dictionary

from preflight.artwork.painted.blending import blend_modes
from preflight.artwork.painted.content import Call, Content, TilingCell, Type3Glyphs
from preflight.artwork.painted.images import is_soft_masked
from preflight.artwork.structure.values import entries, lookup

if TYPE_CHECKING:
    from preflight.artwork.painted.interpret import Interpreter

_BLEND, _SOFT_MASK = 5, 10


def call_is_solid(owner: Interpreter, call: Call) -> bool:
    """Whether a form hides what lies below it as far as its call decides that; overprint is for what is in it."""
    state = owner.states[call.state]
    return not call.content.group or (state[3] == 1 and state[_BLEND] == "Normal" and not state[_SOFT_MASK])


def is_solid(owner: Interpreter, content: Content, *, with_overprint: bool = True) -> bool:
    """Whether all that a stream paints, pattern cells and glyphs included, hides what lies below its shape.

    ``with_overprint``: what overprints does not hide it.
    """

    def inner(content: Content) -> Iterator[Content]:
        yield from _called(content)
        yield from _in_colours(owner, content.colour)

    return all(
        _all_rows_are_solid(owner, each, with_overprint) and all(call_is_solid(owner, call) for call in each.calls)
        for each in _reached([content], inner)
    )


def _all_rows_are_solid(owner: Interpreter, content: Content, with_overprint: bool) -> bool:
    """Of one stream; kept, because groups ask it of all that is in them."""
    key = (content.number, with_overprint)
    if key not in owner.solid_rows:
        rows = np.arange(len(content.painted))
        owner.solid_rows[key] = _rows_are_solid(owner, content, rows, with_overprint=with_overprint)
    return owner.solid_rows[key]


def rows_are_solid(owner: Interpreter, content: Content, rows: Iterable[int]) -> bool:
    """The same for some rows of a stream."""
    chosen = np.array(list(rows), int)
    cells = _in_colours(owner, content.colour[chosen])
    return _rows_are_solid(owner, content, chosen) and all(is_solid(owner, cell) for cell in cells)


def _rows_are_solid(
    owner: Interpreter, content: Content, rows: NDArray[np.int_], *, with_overprint: bool = True
) -> bool:
    for number, stroked in np.unique(np.column_stack([content.state[rows], content.stroked[rows]]), axis=0).tolist():
        state = owner.states[number]
        overprint, alpha = with_overprint and state[1 if stroked else 0], state[4 if stroked else 3]
        if overprint or alpha != 1 or state[_BLEND] != "Normal" or state[_SOFT_MASK]:
            return False
    uses = [content.images[row] for row in rows.tolist() if row in content.images] if content.images else []
    return not any(is_soft_masked(use) for use in uses)


def blends(owner: Interpreter, content: Content) -> bool:
    """Whether anything in a stream that no isolated group parts from it has another blend mode than Normal."""

    def inner(content: Content) -> Iterator[Content]:
        return (called for called in _called(content) if not called.own_isolated)

    return any(blend_modes(owner, [each]) - {"Normal"} for each in _reached([content], inner))


def modes_of_overprint(owner: Interpreter, content: Content) -> frozenset[str]:
    """Blend modes in which something in a stream overprints, or in one that it calls, its pattern cells and glyphs."""

    def inner(content: Content) -> Iterator[Content]:
        yield from _called(content)
        yield from _in_colours(owner, content.colour)

    used = {int(number) for each in _reached([content], inner) for number in np.unique(each.state)}
    return frozenset(str(owner.states[number][_BLEND]) for number in used if any(owner.states[number][:2]))


def reached(content: Content) -> Iterator[Content]:
    """A stream and all that it calls, each once."""
    return _reached([content], _called)


def alpha_is_shape(content: Content) -> bool:
    """Whether a stream, or one that it calls, may take alpha for shape (AIS: ISO 32000-2, 11.6.4.3)."""
    return any(
        isinstance(state, Dictionary) and bool(state.get("/AIS", False))
        for each in _reached([content], _called)
        for _, state in entries(lookup(each.resources, "ExtGState"))
    )


def _called(content: Content) -> Iterator[Content]:
    return (call.content for call in content.calls)


def _in_colours(owner: Interpreter, colours: NDArray[np.int32]) -> Iterator[Content]:
    """Streams of the pattern cells and glyphs among some colours."""
    for number in np.unique(colours).tolist():
        pattern = owner.palette.entries[number].pattern
        if isinstance(pattern, TilingCell):
            yield pattern.content
        elif isinstance(pattern, Type3Glyphs):
            yield from pattern.coloured.values()


def _reached(first: list[Content], inner: Callable[[Content], Iterable[Content]]) -> Iterator[Content]:
    """Streams and all that they lead to, each once."""
    waiting, seen = list(first), {content.number for content in first}
    while waiting:
        content = waiting.pop()
        yield content
        for further in inner(content):
            if further.number not in seen:
                seen.add(further.number)
                waiting.append(further)
