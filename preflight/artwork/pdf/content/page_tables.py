"""What rows point into by number, collected while the streams of a page are read, and what of the bounds is used up.

Bounds, because a file controls all of this: painted rows, operators. What is over a bound is remembered with its reason
and ends the reading there; it is never taken for nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pikepdf import Object

from preflight.artwork.page.objects import FontFacts, ImageFacts
from preflight.artwork.page.page import OverBound
from preflight.artwork.pdf.content.fonts import Font, read_font
from preflight.artwork.pdf.content.graphics_state import GraphicsState, PaintState, PaletteBuilder
from preflight.artwork.pdf.content.page_content import MOST_ROWS, over_bound
from preflight.artwork.pdf.structure.values import identity

MOST_OPERATORS = 40_000_000


@dataclass
class PageTables:
    """The tables of one page."""

    palette: PaletteBuilder = field(default_factory=PaletteBuilder)
    states: list[PaintState] = field(default_factory=list)
    fonts: list[FontFacts] = field(default_factory=list)
    images: list[ImageFacts] = field(default_factory=list)
    over_bounds: list[OverBound] = field(default_factory=list)
    rows_read: int = 0
    operators_read: int = 0
    _state_index: dict[tuple[object, ...], int] = field(default_factory=dict)
    _fonts: dict[object, tuple[Font, int]] = field(default_factory=dict)
    _image_index: dict[ImageFacts, int] = field(default_factory=dict)

    def over(self, because: str) -> None:
        """Remember something that is over a bound, once."""
        bound = over_bound(because)
        if bound not in self.over_bounds:
            self.over_bounds.append(bound)

    @property
    def exhausted(self) -> bool:
        """Whether reading has to end because a bound of the whole page is reached."""
        return self.rows_read > MOST_ROWS or self.operators_read > MOST_OPERATORS

    def state_number(self, state: GraphicsState) -> int:
        """Row of the state table for a graphics state."""
        number = self._state_index.setdefault(state.key(), len(self.states))
        if number == len(self.states):
            self.states.append(state.paint_state())
        return number

    def font(self, font: Object) -> tuple[Font, int]:
        """A font and its number; read once."""
        key = identity(font)
        if key not in self._fonts:
            read = read_font(font)
            self._fonts[key] = (read, len(self.fonts))
            self.fonts.append(read.facts)
        return self._fonts[key]

    def image_number(self, facts: ImageFacts) -> int:
        """Number of an image in the table of images."""
        number = self._image_index.setdefault(facts, len(self.images))
        if number == len(self.images):
            self.images.append(facts)
        return number
