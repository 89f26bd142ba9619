"""What every operator works on: the stream at hand, its graphics state, its rows, its resources."""

from __future__ import annotations

import re
from typing import Protocol

from pikepdf import Dictionary, Object, Pdf

from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.pdf.colour.colour_reader import ColourReader, ColourSpace
from preflight.artwork.pdf.content.content_builder import ContentBuilder, PathBoxes, Row
from preflight.artwork.pdf.content.fonts import Font
from preflight.artwork.pdf.content.graphics_state import GraphicsState, Overprint
from preflight.artwork.pdf.content.page_tables import PageTables
from preflight.artwork.pdf.content.stream_content import Content, ShadingFill, StreamContext, Type3Glyphs
from preflight.artwork.pdf.content.tokens import NAME, Chunk
from preflight.artwork.pdf.structure.layers import LayerReader
from preflight.artwork.pdf.structure.values import lookup

_HEX_IN_NAME = re.compile(rb"#([0-9A-Fa-f]{2})")


class PageReader(Protocol):
    """What a stream asks for while it is read: the page's tables, and the streams that it leads to, read."""

    pdf: Pdf
    colour_reader: ColourReader
    layer_reader: LayerReader
    tables: PageTables

    def form(self, form: Object, state: GraphicsState, around: StreamContext) -> Content:
        """A form's content under the caller's state; ``around`` is the caller's, on the form's own layer.

        Raises:
            NotRead: it calls itself, or is nested too deep.
        """

    def pattern(
        self, pattern: Object, under: ColourSpace | None, values: tuple[float, ...], around: StreamContext
    ) -> object | None:
        """A tiling or shading pattern ready to be a colour; None where it cannot be read.

        ``under`` and ``values`` are the colour that an uncoloured pattern is painted in, ``around`` is that of the
        stream that sets it.
        """

    def type3(self, font: Font, around: StreamContext, overprint: Overprint, current: int) -> Type3Glyphs:
        """The glyphs of a Type 3 font as they are shown with a current colour; those that begin with d1 take that."""

    def shading(self, shading: Object | None, resources: Object, pattern: Object | None = None) -> ShadingFill | None:
        """A shading ready to be painted; None where it cannot be read."""


class StreamState:
    """One content stream while it is being read."""

    def __init__(self, page: PageReader, builder: ContentBuilder, state: GraphicsState) -> None:
        self.page = page
        self.tables = page.tables
        self.builder = builder
        self.data = builder.data
        self.context = builder.context
        self.state = state
        self.stack: list[GraphicsState] = []
        self.saved_at: list[int] = []
        """Where each state on the stack was saved."""
        self.marks: list[tuple[int, bool]] = []
        self.layer, self.hidden = builder.context.layer, builder.context.hidden
        self.resources: dict[tuple[str, str], Object | None] = {}
        self.spaces: dict[str, ColourSpace] = {}
        self.text_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.line_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.chunk: Chunk
        self.boxes: PathBoxes
        self.operator = self.begin = self.word = self.end = 0
        """The operator at hand: its number in the chunk, first byte of its operands, its own first byte, its end."""
        self.path_from = 0
        self.path_byte = -1
        self.carried: Box | None = None
        """Box of the part of the current path that stands in earlier chunks."""
        self.clip_pending = False

    def _row(
        self,
        painted: int,
        colour: int,
        frame: Matrix,
        box: Box,
        *,
        stroked: bool = False,
        font: int = -1,
        image: int = -1,
    ) -> int:
        """One more row that is no path, its number."""
        self.tables.rows_read += 1
        number, builder = self._state_number(), self.builder
        frame_number = builder.frame_number(frame)
        return builder.add(
            Row(painted, number, colour, frame_number, self.layer, self.hidden, stroked, 0, 0, font, image), box
        )

    def _state_number(self) -> int:
        if self.state.number < 0:
            self.state.number = self.tables.state_number(self.state)
        return self.state.number

    def _edit(self, kind: int, a: int = -1, b: int = -1, path_start: int = -1) -> None:
        """The current operator and its operands are to be written anew."""
        self.builder.edits.append((self.begin, self.end, kind, a, b, path_start))

    def _name(self, token: int) -> str | None:
        if token < 0 or self.chunk.kind[token] != NAME:
            return None
        raw = self.data[self.chunk.start[token] : self.chunk.end[token]]
        if b"#" in raw:
            raw = _HEX_IN_NAME.sub(lambda match: bytes([int(match[1], 16)]), raw)
        return raw.decode("utf-8", "surrogateescape")

    def _resource(self, category: str, name: str | None) -> Object | None:
        if name is None:
            return None
        key = (category, name)
        if key not in self.resources:
            self.resources[key] = _find_resource(self.context.resources, category, name)
        return self.resources[key]


def _find_resource(resources: Object, category: str, name: str) -> Object | None:
    if not isinstance(resources, Dictionary):
        return None
    return lookup(resources.get(category, None), name)  # type: ignore[no-any-return]
