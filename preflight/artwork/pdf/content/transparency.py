"""What lets something show that lies below it: by opacity, blend mode, overprint or a mask (ISO 32000-2, 11.3)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from pikepdf import Dictionary

from preflight.artwork.pdf.content.graphics_state import PaintColour, PaintState
from preflight.artwork.pdf.content.stream_content import Call, Content, in_pattern
from preflight.artwork.pdf.images.image_dictionaries import is_soft_masked
from preflight.artwork.pdf.structure.values import entries, lookup


class Transparency:
    """Answers for the streams of one page whose states and colours are numbered as in these tables."""

    def __init__(self, states: Sequence[PaintState], colours: Sequence[PaintColour]) -> None:
        self._states = states
        self._colours = colours
        self._solid_rows: dict[tuple[int, bool], bool] = {}
        """By stream, and whether overprint counts: whether all of its rows hide what lies below them."""

    def call_is_solid(self, call: Call) -> bool:
        """Whether a form hides what lies below it as far as its call decides; overprint is for what is in it."""
        return not call.content.group or self._states[call.state].hides

    def is_solid(self, content: Content, *, with_overprint: bool = True) -> bool:
        """Whether all that a stream paints, pattern cells and glyphs included, hides what lies below its shape.

        ``with_overprint``: what overprints does not hide it.
        """
        return all(
            self._all_rows_are_solid(each, with_overprint) and all(self.call_is_solid(call) for call in each.calls)
            for each in _reached(content, self._with_patterns)
        )

    def _all_rows_are_solid(self, content: Content, with_overprint: bool) -> bool:
        """Of one stream; kept, because groups ask it of all that is in them."""
        key = (content.number, with_overprint)
        if key not in self._solid_rows:
            rows = np.arange(len(content.painted))
            self._solid_rows[key] = self._rows_are_solid(content, rows, with_overprint=with_overprint)
        return self._solid_rows[key]

    def rows_are_solid(self, content: Content, rows: Iterable[int]) -> bool:
        """The same for some rows of a stream."""
        chosen = np.array(list(rows), int)
        cells = self._in_colours(content.colour[chosen])
        return self._rows_are_solid(content, chosen) and all(self.is_solid(cell) for cell in cells)

    def _rows_are_solid(self, content: Content, rows: NDArray[np.int_], *, with_overprint: bool = True) -> bool:
        sorts = np.unique(np.column_stack([content.state[rows], content.stroked[rows]]), axis=0)
        for number, stroked in sorts.tolist():
            state = self._states[number]
            overprints = with_overprint and state.overprint.of(stroked=stroked)
            if overprints or state.alpha(stroked=stroked) != 1 or state.is_blended:
                return False
        uses = [content.images[row] for row in rows.tolist() if row in content.images] if content.images else []
        return not any(is_soft_masked(use) for use in uses)

    def blends(self, content: Content) -> bool:
        """Whether anything in a stream that no isolated group parts from it has another blend mode than Normal."""

        def inner(content: Content) -> Iterator[Content]:
            return (called for called in _called(content) if not called.own_isolated)

        return any(self.blend_modes([each]) - {"Normal"} for each in _reached(content, inner))

    def blend_modes(self, contents: Iterable[Content]) -> frozenset[str]:
        """Blend modes that anything in these streams is painted with."""
        used = set[int]()
        for content in contents:
            used.update(np.unique(content.state).tolist(), (call.state for call in content.calls))
        return frozenset(self._states[number].blend for number in used)

    def modes_of_overprint(self, content: Content) -> frozenset[str]:
        """Blend modes in which something in a stream overprints, or in one that it calls, its cells and glyphs."""
        used = {number for each in _reached(content, self._with_patterns) for number in np.unique(each.state).tolist()}
        return frozenset(self._states[number].blend for number in used if self._states[number].overprint.is_on)

    def lets_show(self, content: Content) -> bool:
        """Whether anything that a stream paints or calls is faint, blended or masked, or is a group."""
        inside = content.with_calls()
        if any(each.group for each in inside):
            return True
        if any(is_soft_masked(use) for each in inside for use in each.images.values()):
            return True
        used = {number for each in inside for number in np.unique(each.state).tolist()}
        return any(
            state.fill_alpha < 1 or state.stroke_alpha < 1 or state.is_blended
            for state in (self._states[number] for number in used)
        )

    def _with_patterns(self, content: Content) -> Iterator[Content]:
        yield from _called(content)
        yield from self._in_colours(content.colour)

    def _in_colours(self, colours: NDArray[np.int32]) -> Iterator[Content]:
        """Streams of the pattern cells and glyphs among some colours."""
        for number in np.unique(colours).tolist():
            yield from in_pattern(self._colours[number].pattern)


def is_opaque(states: Iterable[PaintState], contents: Iterable[Content]) -> bool:
    """Whether nothing in these streams is faint, blended or masked, pictures included."""
    plain = all(state.is_plain for state in states)
    return plain and not any(is_soft_masked(use) for content in contents for use in content.images.values())


def reached(content: Content) -> Iterator[Content]:
    """A stream and all that it calls, each once."""
    return _reached(content, _called)


def alpha_is_shape(content: Content) -> bool:
    """Whether a stream, or one that it calls, may take alpha for shape (AIS: ISO 32000-2, 11.6.4.3)."""
    return any(
        isinstance(state, Dictionary) and bool(state.get("/AIS", False))
        for each in reached(content)
        for _, state in entries(lookup(each.resources, "ExtGState"))
    )


def _called(content: Content) -> Iterator[Content]:
    return (call.content for call in content.calls)


def _reached(first: Content, inner: Callable[[Content], Iterable[Content]]) -> Iterator[Content]:
    """A stream and all that it leads to, each once."""
    waiting, seen = [first], {first.number}
    while waiting:
        content = waiting.pop()
        yield content
        for further in inner(content):
            if further.number not in seen:
                seen.add(further.number)
                waiting.append(further)
