"""The graphics state while a stream is read, what of it rows keep, and the palette of colours that a page paints in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.colours import Colour, Colours, Family
from preflight.artwork.page.geometry import EVERYWHERE, IDENTITY, Box
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_reader import ColourSpace
from preflight.artwork.pdf.content.fonts import NO_FONT, Font

ALL_PLATES = "all plates"
"""What an object paints that knocks out: every plate there is."""


_NO_PATTERN = id(None)


class Overprint(NamedTuple):
    """What a graphics state says of overprint (ISO 32000-2, 8.6.7)."""

    fill: bool
    stroke: bool
    mode: int

    def of(self, *, stroked: bool) -> bool:
        """Whether it is on for strokes, or for all else."""
        return self.stroke if stroked else self.fill

    @property
    def is_on(self) -> bool:
        """Whether it is on for anything."""
        return self.fill or self.stroke


NO_OVERPRINT = Overprint(False, False, 0)


@dataclass(frozen=True, slots=True)
class PaintState:
    """What the state table keeps of a graphics state; rows and calls of forms name it by its number."""

    overprint: Overprint
    fill_alpha: float
    stroke_alpha: float
    blend: str
    """The blend mode's name."""
    clip: Box
    """In the space of the stream."""
    line_width: float
    dashed: bool
    render_mode: int
    """Of text (ISO 32000-2, table 104)."""
    soft_mask: bool

    def alpha(self, *, stroked: bool) -> float:
        """Opacity of strokes, or of all else."""
        return self.stroke_alpha if stroked else self.fill_alpha

    @property
    def is_blended(self) -> bool:
        """Whether it has another blend mode than Normal, or a soft mask."""
        return self.blend != "Normal" or self.soft_mask

    @property
    def hides(self) -> bool:
        """Whether nothing shows through a form that is a group, and called with it."""
        return self.fill_alpha == 1 and not self.is_blended

    @property
    def is_plain(self) -> bool:
        """Whether nothing shows through what is painted with it, strokes included, but by overprint."""
        return self.stroke_alpha == 1 and self.hides

    @property
    def clips_to_text(self) -> bool:
        """Whether text adds to the clip."""
        return self.render_mode >= 4


class PaintColour(NamedTuple):
    """A current colour: where it is set, its values, and the pattern where it is one."""

    space: ColourSpace
    values: tuple[float, ...]
    pattern: object | None = None
    """A ``content.TilingCell``, ``content.ShadingFill`` or ``content.Type3Glyphs``."""


@dataclass(frozen=True)
class Palette:
    """Every colour that a page paints in, once, those of its soft masks last."""

    entries: Sequence[PaintColour]
    colours: Colours
    """What each of them puts on plates."""
    kinds: NDArray[np.int64]
    """For each colour a number; colours of one number paint the same plates whatever the overprint state."""
    patterned: NDArray[np.bool_]
    """For each colour whether it is a pattern."""
    in_spaces: Sequence[tuple[ColourSpace, NDArray[np.intp]]]
    """Colour spaces and the numbers of their colours; of a shading its own space, of an Indexed one its base."""

    def patterns(self) -> list[tuple[int, object]]:
        """Colours that are patterns, with their numbers."""
        return [(number, self.entries[number].pattern) for number in np.flatnonzero(self.patterned).tolist()]


@dataclass
class PaletteBuilder:
    """Collects the colours of a page while its streams are read."""

    entries: list[PaintColour] = field(default_factory=list)
    _index: dict[tuple[object, ...], int] = field(default_factory=dict)
    _colours: Colours = field(default_factory=Colours)
    _kinds: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    _patterned: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, bool))
    _kind_numbers: dict[tuple[object, ...], int] = field(default_factory=dict)
    _in_spaces: list[tuple[ColourSpace, NDArray[np.intp]]] = field(default_factory=list)

    def index(self, space: ColourSpace, values: tuple[float, ...], pattern: object | None = None) -> int:
        """Number of a colour, entering it where it is new."""
        key = (id(space), values, id(pattern))
        number = self._index.get(key)
        if number is None:
            number = len(self.entries)
            self.entries.append(PaintColour(space, values, pattern))
            self._index[key] = number
        return number

    def indices(self, space: ColourSpace, rows: NDArray[np.float64]) -> NDArray[np.int64]:
        """Numbers of many plain colours of a space, (k, components)."""
        own, inverse = _distinct(rows)
        known, entries, at = self._index, self.entries, id(space)
        numbers = np.empty(len(own), np.int64)
        for place, values in enumerate(map(tuple, own.tolist())):
            key = (at, values, _NO_PATTERN)
            number = known.get(key)
            if number is None:
                number = known[key] = len(entries)
                entries.append(PaintColour(space, values))
            numbers[place] = number
        return numbers[inverse]

    def colours(self) -> Colours:
        """What each colour puts on plates, in order."""
        self._catch_up()
        return self._colours

    def palette(self) -> Palette:
        """The colours so far; what is entered later changes nothing in it."""
        self._catch_up()
        return Palette(tuple(self.entries), self._colours.copy(), self._kinds, self._patterned, tuple(self._in_spaces))

    def _catch_up(self) -> None:
        """Colours entered since the last look, one space at a time, because a page may paint in 200,000 of them."""
        first, last = len(self._colours), len(self.entries)
        if first == last:
            return
        self._kinds = np.append(self._kinds, np.zeros(last - first, np.int64))
        patterned = np.array([entry.pattern is not None for entry in self.entries[first:]], bool)
        self._patterned = np.append(self._patterned, patterned)
        by_space: dict[int, list[int]] = {}
        singly = []
        for number, entry in enumerate(self.entries[first:], first):
            if entry.pattern is None and entry.space.family != "Pattern":
                by_space.setdefault(id(entry.space), []).append(number)
            else:
                singly.append(number)
        for numbers in by_space.values():
            self._read_space(np.array(numbers))
        for number in singly:
            entry = self.entries[number]
            varying = getattr(entry.pattern, "colour", None)
            plain = varying if isinstance(varying, Colour) else entry.space.colour(entry.values)
            self._colours.add(Family.of(plain), np.array([number]))
            self._note_space(getattr(entry.pattern, "space", entry.space), np.array([number]))
            self._kinds[number] = self._kind((id(entry.space), id(entry.pattern)))

    def _read_space(self, numbers: NDArray[np.intp]) -> None:
        space = self.entries[numbers[0]].space
        values = np.array([self.entries[number].values for number in numbers.tolist()], float)
        tints = np.round(space.tints(values.reshape(len(numbers), -1)).astype(float), 6)
        direct = space.family == "DeviceCMYK"
        family = Family(
            space.family, space.plates, tints, direct, space.registration, space.not_a_plate, base=space.base_family
        )
        self._colours.add(family, numbers)
        self._note_space(space, numbers)
        # Only under overprint mode 1 does it matter which tints are zero, and only for DeviceCMYK.
        above = (tints > 0) @ (1 << np.arange(tints.shape[1])) if direct else np.zeros(len(numbers), np.int64)
        for pattern in np.unique(above).tolist():
            self._kinds[numbers[above == pattern]] = self._kind((id(space), pattern))

    def _note_space(self, space: ColourSpace, numbers: NDArray[np.intp]) -> None:
        self._in_spaces.append((space.base or space, numbers))

    def _kind(self, key: tuple[object, ...]) -> int:
        return self._kind_numbers.setdefault(key, len(self._kind_numbers))


def _distinct(rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Distinct rows in the order in which they come first, and for each row which of them it is."""
    order = np.lexsort(rows.T)
    fresh = np.append(True, (rows[order[1:]] != rows[order[:-1]]).any(1))[: len(rows)]
    group = np.cumsum(fresh) - 1
    first = np.minimum.reduceat(order, np.flatnonzero(fresh)) if len(rows) else order
    rank = np.argsort(np.argsort(first))
    inverse = np.empty(len(rows), np.intp)
    inverse[order] = rank[group]
    return rows[np.sort(first)], inverse


def painted_plates(colour: Colour, *, overprint: bool, opm: int) -> frozenset[str]:
    """Plates that an object paints; ``ALL_PLATES`` in it means it knocks out of every other plate.

    ISO 32000-2, tables 146 and 147 (8.6.7 and 11.7.4.3): with overprint, a Separation or DeviceN colour leaves what
    it does not name, a process colour leaves the spots, and only DeviceCMYK set directly leaves, under overprint
    mode 1, the process plates on which its tint is zero. An Indexed colour is one of its base space (8.6.6.3).
    """
    if colour.registration:
        return frozenset({ALL_PLATES})
    names = frozenset(name for name, _ in colour.tints)
    if colour.by_name:
        if not names:
            return frozenset()
        return names if overprint else names | {ALL_PLATES}
    if not overprint:
        return names | {ALL_PLATES}
    if opm == 1 and colour.direct_cmyk:
        return frozenset(name for name, tint in colour.tints if tint > 0)
    return frozenset(PROCESS)


class GraphicsState:
    """The parameters that plates and measures rest on; everything else is left to the renderer."""

    __slots__ = (
        "blend",
        "char_space",
        "clip",
        "ctm",
        "dashed",
        "fill",
        "fill_alpha",
        "fill_overprint",
        "fill_space",
        "font",
        "font_number",
        "font_size",
        "leading",
        "line_width",
        "number",
        "opm",
        "render_mode",
        "rise",
        "soft_mask",
        "stroke",
        "stroke_alpha",
        "stroke_overprint",
        "stroke_space",
        "stretch",
        "word_space",
    )

    def __init__(self, fill: int, space: ColourSpace) -> None:
        self.ctm = IDENTITY
        self.clip = EVERYWHERE
        self.fill = self.stroke = fill
        self.fill_space = self.stroke_space = space
        self.fill_overprint = self.stroke_overprint = False
        self.opm = 0
        self.fill_alpha = self.stroke_alpha = 1.0
        self.blend = "Normal"
        self.soft_mask = False
        self.line_width = 1.0
        self.dashed = False
        self.font: Font = NO_FONT
        self.font_number = -1
        self.font_size = 0.0
        self.char_space = self.word_space = self.leading = self.rise = 0.0
        self.stretch = 1.0
        self.render_mode = 0
        self.number = -1
        """Row of the state table; -1 once anything in ``key`` has changed."""

    def copy(self) -> GraphicsState:
        """A state of its own with the same parameters."""
        other = object.__new__(GraphicsState)
        for name in GraphicsState.__slots__:
            setattr(other, name, getattr(self, name))
        return other

    def key(self) -> tuple[object, ...]:
        """All that ``paint_state`` takes over: equal for two that make equal ones."""
        return (
            self.fill_overprint,
            self.stroke_overprint,
            self.opm,
            self.fill_alpha,
            self.stroke_alpha,
            self.blend,
            self.clip,
            self.line_width,
            self.dashed,
            self.render_mode,
            self.soft_mask,
        )

    def paint_state(self) -> PaintState:
        """What the state table keeps."""
        return PaintState(
            self.overprint,
            self.fill_alpha,
            self.stroke_alpha,
            self.blend,
            self.clip,
            self.line_width,
            self.dashed,
            self.render_mode,
            self.soft_mask,
        )

    @property
    def overprint(self) -> Overprint:
        """Overprint for fills and strokes, and its mode."""
        return Overprint(self.fill_overprint, self.stroke_overprint, self.opm)

    def inherited(self) -> tuple[object, ...]:
        """What a form takes over from where it is called, as a key: two calls with equal keys paint alike."""
        return (
            self.fill,
            self.stroke,
            id(self.fill_space),
            id(self.stroke_space),
            self.fill_overprint,
            self.stroke_overprint,
            self.opm,
            self.fill_alpha,
            self.stroke_alpha,
            self.blend,
            self.line_width,
            self.dashed,
            self.render_mode,
            id(self.font),
            self.font_size,
            self.char_space,
            self.word_space,
            self.leading,
            self.rise,
            self.stretch,
            self.soft_mask,
        )
