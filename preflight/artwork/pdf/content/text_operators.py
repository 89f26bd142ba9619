"""Text operators: where a string stands, how large it is drawn, and how far it moves on (ISO 32000-2, 9.4)."""

from __future__ import annotations

from pikepdf import Object

from preflight.artwork.page.geometry import Matrix, box_through, times
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.colour.colour_reader import PATTERN
from preflight.artwork.pdf.content.fonts import Font, is_font_dictionary, shown_parts, string_of
from preflight.artwork.pdf.content.stream_content import EditKind, GlyphShow, PatternText, TextState
from preflight.artwork.pdf.content.stream_state import StreamState


class TextOperators(StreamState):
    """The part of reading a stream that shows text."""

    def begin_text(self, first: int, token: int, six: list[float]) -> None:
        self.text_matrix = self.line_matrix = (1, 0, 0, 1, 0, 0)

    def text_font(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/Font", self._name(token - 2) if token - first >= 2 else None)
        if found is not None and is_font_dictionary(found):
            self._set_font(found, six[5])

    def _set_font(self, font: Object, size: float) -> None:
        self.state.font, self.state.font_number = self.tables.font(font)
        self.state.font_size = size

    def _text_parameter(self, name: str, scale: float, first: int, token: int, six: list[float]) -> None:
        if token > first:
            setattr(self.state, name, six[5] * scale)
            self.state.number = -1 if name == "render_mode" else self.state.number

    def render_mode(self, first: int, token: int, six: list[float]) -> None:
        if token > first:
            self.state.render_mode, self.state.number = int(six[5]) & 7, -1

    def text_matrix_set(self, first: int, token: int, six: list[float]) -> None:
        if token - first >= 6:
            self.text_matrix = self.line_matrix = tuple(six)  # type: ignore[assignment]

    def move_text(self, first: int, token: int, six: list[float]) -> None:
        if token - first >= 2:
            self.text_matrix = self.line_matrix = times((1, 0, 0, 1, six[4], six[5]), self.line_matrix)

    def move_text_and_lead(self, first: int, token: int, six: list[float]) -> None:
        if token - first >= 2:
            self.state.leading = -six[5]
            self.move_text(first, token, six)

    def next_line(self, first: int, token: int, six: list[float]) -> None:
        self.text_matrix = self.line_matrix = times((1, 0, 0, 1, 0, -self.state.leading), self.line_matrix)

    def show(self, first: int, token: int, six: list[float]) -> None:
        if token > first:
            self._show(token)

    def show_on_next_line(self, first: int, token: int, six: list[float]) -> None:
        self.next_line(first, token, six)
        if token - first >= 3:  # the " operator
            self.state.word_space, self.state.char_space = self.chunk.values[token - 3 : token - 1].tolist()
        self.show(first, token, six)

    def _show(self, token: int) -> None:
        raw = self.data[self.chunk.start[token - 1] : self.chunk.end[token - 1]]
        if raw[:1] not in (b"(", b"<", b"["):
            return  # rule 4
        state, font = self.state, self.state.font
        size, stretch = state.font_size, state.stretch
        x = 0.0
        extent = [0.0, 0.0]
        shown = 0
        parts = shown_parts(raw) if raw[:1] == b"[" else [string_of(raw)]
        for part in parts:
            if isinstance(part, float):
                x -= part / 1000 * size * stretch
                continue
            width, characters, spaces = font.advance(part)
            shown += characters
            step = (width * size + characters * state.char_space + spaces * state.word_space) * stretch
            extent = [min(extent[0], x, x + step), max(extent[1], x, x + step)]
            x += step
        to_stream = times(self.text_matrix, state.ctm)
        if shown:
            self._text_row(font, extent, to_stream, raw)
        self.text_matrix = times((1, 0, 0, 1, x, 0), self.text_matrix)

    def _text_row(self, font: Font, extent: list[float], to_stream: Matrix, raw: bytes) -> None:
        state = self.state
        size = state.font_size
        low, high = sorted((font.descent * size + state.rise, font.ascent * size + state.rise))
        box = box_through(to_stream, (extent[0], low, extent[1], high))
        frame = times((size * state.stretch, 0, 0, size, 0, 0), to_stream)
        stroked_only = state.render_mode % 4 == 1
        colour, has_colours = self._text_colour(stroked_only)
        row = self._row(Painted.TEXT, colour, frame, box, stroked=stroked_only, font=state.font_number)
        if has_colours:
            self.builder.glyph_shows[row] = GlyphShow(size, state.fill)
        stroke_row = -1
        if state.render_mode % 4 == 2:
            stroke_row = self._row(Painted.TEXT, state.stroke, frame, box, stroked=True, font=state.font_number)
        entries = self.tables.palette.entries
        if entries[colour].pattern is not None:
            self.builder.pattern_text[row] = self._pattern_text(raw)
        if stroke_row >= 0 and entries[state.stroke].pattern is not None:
            self.builder.pattern_text[stroke_row] = self._pattern_text(raw)
        if state.render_mode % 4 in (1, 2):
            self.builder.outlined[row if stroked_only else stroke_row] = state.ctm
        self._edit(EditKind.SHOW, row, stroke_row, self.begin)

    def _pattern_text(self, raw: bytes) -> PatternText:
        state = self.state
        setting = TextState(state.font_size, state.char_space, state.word_space, state.stretch, state.rise)
        shown = raw + (b" TJ" if raw[:1] == b"[" else b" Tj")
        return PatternText(state.ctm, self.text_matrix, setting, shown, state.font.glyphs)

    def _text_colour(self, stroked: bool) -> tuple[int, bool]:
        """The colour that text is painted in, and whether its glyphs have colours of their own."""
        state = self.state
        if state.font.glyphs is not None:
            glyphs = self.page.type3(state.font, self.context, state.overprint, state.fill)
            if glyphs.coloured:
                return self.tables.palette.index(PATTERN, (), glyphs), True
        return state.stroke if stroked else state.fill, False
