"""What was read from one content stream, in its own space: painted rows, calls of forms, and edits for the plates."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from pikepdf import Object

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.geometry import IDENTITY, Box, Matrix
from preflight.artwork.pdf.colour.colour_spaces import ColourSpace
from preflight.artwork.pdf.content.graphics_state import NO_OVERPRINT, Overprint
from preflight.artwork.pdf.images.image_dictionaries import ImageUse


class EditKind(IntEnum):
    """What stands in the stream between ``start`` and ``end`` and is written anew for each set of plates."""

    FILL_COLOUR = 0
    STROKE_COLOUR = 1
    PAINT = 2  # row, and for B a second row
    SHOW = 3
    IMAGE = 4
    SHADING = 5
    CALL = 6
    DROP = 7
    STATE_FONT = 8
    DASH = 9


class Edit(NamedTuple):
    """A stretch of a stream, bytes start to end, to be written anew for each set of plates.

    ``a`` is the colour for colours, the (first) row for painting, the call's number for calls; ``b`` the stroke row of
    a fill-and-stroke or -1; ``path_start`` the byte where the painted path or the shown text begins.
    """

    start: int
    end: int
    kind: int
    a: int
    b: int
    path_start: int


EDIT_COLUMNS = Edit._fields


@dataclass(frozen=True)
class Call:
    """A form painted from a stream."""

    row: int
    """It is painted before this row of the caller."""
    content: Content
    matrix: Matrix
    """From the form's space to the caller's."""
    clip: Box
    """In the caller's space."""
    state: int


@dataclass(frozen=True, eq=False)
class TilingCell:
    """A tiling pattern: its cell is a stream of its own; an uncoloured one is read for each colour it is painted in."""

    stream: Object
    content: Content
    colour: Colour


@dataclass(eq=False)
class Type3Glyphs:
    """The glyphs of a Type 3 font that set colours of their own (d0), as streams under one overprint state.

    They may show the font itself, so it is filled while they are read, and changes no more from then on.
    """

    font: Object
    coloured: dict[str, Content]
    colour: Colour
    overprint: Overprint = NO_OVERPRINT
    some_uncoloured: bool = False
    """Other glyphs of the font take the current colour (d1)."""


@dataclass(frozen=True, eq=False)
class ShadingFill:
    """A shading, painted by ``sh`` or as a pattern."""

    dictionary: Object
    space: ColourSpace
    colour: Colour
    pattern: Object | None = None


class Undrawn(NamedTuple):
    """Something of a stream that could not be read."""

    because: str
    box: Box | None
    """Where it would show, in the stream's own space; None for all of the stream."""
    inks: tuple[str, ...] | None = None
    """Separations that it may put ink on; None where nobody knows."""


class TextState(NamedTuple):
    """How a string is set (ISO 32000-2, 9.3)."""

    size: float
    char_space: float
    word_space: float
    stretch: float
    """Horizontal scaling; 1 is 100 %."""
    rise: float


class PatternText(NamedTuple):
    """How text in a pattern colour is shown, so that it can be shown once more in another stream."""

    ctm: Matrix
    text_matrix: Matrix
    setting: TextState
    shown: bytes
    """The string or array with its operator, Tj or TJ."""
    type3: Object | None
    """The font, where it is one of Type 3."""


class GlyphShow(NamedTuple):
    """Text in a Type 3 font with colours of its own."""

    size: float
    colour: int
    """The current colour, which its other glyphs take."""


class StateFont(NamedTuple):
    """A font that a graphics state sets (ISO 32000-2, table 57)."""

    font: Object
    size: float


class Dash(NamedTuple):
    """A dash pattern with dots in it."""

    lengths: list[float]
    phase: float


@dataclass(frozen=True)
class StreamContext:
    """Where a stream is read, and so what holds in all of it."""

    resources: Object
    """Its own, or of the stream around it where it has none."""
    layer: int = -1
    hidden: bool = False
    """On a layer that does not print."""
    depth: int = 0
    isolated: bool = False
    """It is painted inside an isolated group, its own or one further out."""
    uncoloured: bool = False
    """It takes the colours that it begins with, and its own are ignored."""


class FormFacts(NamedTuple):
    """What a form's or pattern's dictionary says of its stream."""

    bbox: Box | None = None
    matrix: Matrix = IDENTITY
    """Its own Matrix entry."""
    group: bool = False
    own_isolated: bool = False
    """The form itself is an isolated group."""
    knockout: bool = False


@dataclass(frozen=True, eq=False)
class Content:
    """One content stream under one inherited state, read: ``content_builder.ContentBuilder`` makes it.

    Row columns have length n. ``box`` is in the stream's own space, before clipping. ``frame`` holds a, b, c, d of
    the matrix that shows how large things are drawn: for strokes the matrix at painting, for text the em square,
    for images the unit square.
    """

    number: int
    """Streams of a page are numbered as reading comes to them."""
    data: bytes
    resources: Object
    bbox: Box | None
    """This and the next four as in ``FormFacts``."""
    matrix: Matrix
    group: bool
    own_isolated: bool
    knockout: bool
    isolated: bool
    """This and the next two as in ``StreamContext``."""
    uncoloured: bool
    depth: int
    first_fill: int
    """Colours that it begins with, by number."""
    first_stroke: int
    painted: NDArray[np.uint8]
    state: NDArray[np.int32]
    colour: NDArray[np.int32]
    box: NDArray[np.float64]
    frame: NDArray[np.float64]
    path: NDArray[np.int64]
    font: NDArray[np.int32]
    image: NDArray[np.int32]
    layer: NDArray[np.int32]
    hidden: NDArray[np.bool_]
    stroked: NDArray[np.bool_]
    """Painted with the stroking colour and overprint."""
    edits: NDArray[np.int64]
    """(k, 6): columns as in ``Edit``."""
    saved: Sequence[tuple[int, int]]
    """Stretches from a q to its Q, first byte and end: what stands in one changes nothing behind it."""
    calls: Sequence[Call]
    undrawn: Sequence[Undrawn]
    shadings: Mapping[int, ShadingFill]
    """Row to the shading that ``sh`` paints."""
    images: Mapping[int, ImageUse]
    """Row to the image that it paints."""
    glyph_shows: Mapping[int, GlyphShow]
    """Rows of text in a Type 3 font with colours of its own."""
    state_fonts: Sequence[StateFont]
    dashes: Sequence[Dash]
    outlined: Mapping[int, Matrix]
    """Rows of stroked text to the matrix that shows how wide its strokes are drawn."""
    pattern_text: Mapping[int, PatternText]
    """Rows of text in a pattern colour."""
    total_rows: int
    """Rows of this stream and of all that it calls."""
    group_space: str = ""
    """Family of the blending space that the form gives its group; empty where it gives none."""
    lets_show: bool = False
    """Of a knock-out group: some of its objects would let earlier ones show."""
    blends: bool = False
    """Of a group that is not isolated: something in it is blended with what lies below by another mode than Normal."""

    def with_calls(self) -> list[Content]:
        """The stream and all that it calls, each once."""
        found, numbers = [self], {self.number}
        for content in found:
            for call in content.calls:
                if call.content.number not in numbers:
                    numbers.add(call.content.number)
                    found.append(call.content)
        return found

    @property
    def misses_something(self) -> bool:
        """Whether anything of it, or of what it calls, could not be read."""
        return any(content.undrawn for content in self.with_calls())


def in_pattern(pattern: object) -> Iterator[Content]:
    """Streams of a tiling's cell, or of glyphs with colours of their own."""
    if isinstance(pattern, TilingCell):
        yield pattern.content
    elif isinstance(pattern, Type3Glyphs):
        yield from pattern.coloured.values()
