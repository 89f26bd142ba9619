"""What was read from one content stream, in its own space: painted rows, calls of forms, and edits for the plates."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from pikepdf import Object

from preflight.artwork.colour.colour_spaces import ColourSpace
from preflight.artwork.matrices import IDENTITY, Matrix
from preflight.artwork.objects import Box
from preflight.artwork.page_colours import Colour
from preflight.artwork.painted.images import ImageUse


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


@dataclass
class TilingCell:
    """A tiling pattern: its cell is a stream of its own; an uncoloured one is read for each colour it is painted in."""

    stream: Object
    content: Content
    colour: Colour


@dataclass
class Type3Glyphs:
    """The glyphs of a Type 3 font that set colours of their own (d0), as streams under one overprint state."""

    font: Object
    coloured: dict[str, Content]
    colour: Colour
    overprint: tuple[bool, bool, int] = (False, False, 0)
    """For fills, for strokes, and the overprint mode."""
    some_uncoloured: bool = False
    """Other glyphs of the font take the current colour (d1)."""


@dataclass
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


class PatternText(NamedTuple):
    """How text in a pattern colour is shown, so that it can be shown once more in another stream."""

    ctm: Matrix
    text_matrix: Matrix
    setting: tuple[float, float, float, float, float]
    """Size, character and word space, horizontal scaling (1 is 100 %), rise."""
    shown: bytes
    """The string or array with its operator, Tj or TJ."""
    type3: Object | None
    """The font, where it is one of Type 3."""


@dataclass
class Content:
    """One content stream under one inherited state.

    Row columns have length n. ``box`` is in the stream's own space, before clipping. ``frame`` holds a, b, c, d of
    the matrix that shows how large things are drawn: for strokes the matrix at painting, for text the em square,
    for images the unit square.
    """

    number: int
    data: bytes
    resources: Object
    bbox: Box | None = None
    matrix: Matrix = IDENTITY
    """The form's own Matrix entry."""
    group: bool = False
    own_isolated: bool = False
    """The form itself is an isolated group."""
    knockout: bool = False
    lets_show: bool = False
    """Of a knock-out group: some of its objects would let earlier ones show."""
    blends: bool = False
    """Of a group that is not isolated: something in it is blended with what lies below by another mode than Normal."""
    group_space: str = ""
    """Family of the blending space that the form gives its group; empty where it gives none."""
    isolated: bool = False
    """It is painted inside an isolated group, its own or one further out."""
    painted: NDArray[np.uint8] = field(default_factory=lambda: np.zeros(0, np.uint8))
    state: NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))
    colour: NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))
    box: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 4)))
    frame: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 6)))
    path: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, 2), np.int64))
    font: NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))
    image: NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))
    layer: NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))
    hidden: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, bool))
    stroked: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, bool))
    """Painted with the stroking colour and overprint."""
    edits: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, len(EDIT_COLUMNS)), np.int64))
    saved: list[tuple[int, int]] = field(default_factory=list)
    """Stretches from a q to its Q, first byte and end: what stands in one changes nothing behind it."""
    calls: list[Call] = field(default_factory=list)
    undrawn: list[Undrawn] = field(default_factory=list)
    shadings: dict[int, ShadingFill] = field(default_factory=dict)
    """Row to the shading that ``sh`` paints."""
    images: dict[int, ImageUse] = field(default_factory=dict)
    """Row to the image that it paints."""
    first_fill: int = 0
    """Colours that it begins with, by number."""
    first_stroke: int = 0
    uncoloured: bool = False
    """It takes the colours that it begins with, and its own are ignored."""
    glyph_shows: dict[int, tuple[float, int]] = field(default_factory=dict)
    """Rows of text in a Type 3 font with colours of its own, to the font size and the current colour."""
    state_fonts: list[tuple[Object, float]] = field(default_factory=list)
    """Fonts that graphics states set, with their sizes."""
    dashes: list[tuple[list[float], float]] = field(default_factory=list)
    """Dash patterns with dots in them: lengths and phase."""
    outlined: dict[int, Matrix] = field(default_factory=dict)
    """Rows of stroked text to the matrix that shows how wide its strokes are drawn."""
    pattern_text: dict[int, PatternText] = field(default_factory=dict)
    """Rows of text in a pattern colour."""
    depth: int = 0

    total_rows: int = 0
    """Rows of this stream and of all that it calls."""

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
