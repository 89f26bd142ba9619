"""One reader a content stream: what each operator does to the graphics state, and the rows and edits it leaves.

Wrong input, by number (each has a test):

1. ``Q`` without ``q`` is ignored.
2. ``q`` without ``Q`` ends with its stream.
3. An unknown operator drops its operands.
4. An operator with too few operands, or operands of the wrong kind, is ignored.
5. A resource that is missing or of the wrong kind is not painted.
6. A form that calls itself, or is nested too deep, is not painted, and its box is an uncertain place of the page.
7. A path that is never painted leaves no row.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.page.geometry import Box, box_of, box_through, matrix_of, overlap, times
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.colour.colour_reader import ColourSpace
from preflight.artwork.pdf.content.bulk_colours import RunReader
from preflight.artwork.pdf.content.bulk_operators import DEVICE_COLOURS, PAINTERS, Acting, RunStart, read_run, stretches
from preflight.artwork.pdf.content.content_builder import PATH_CODES, PathBoxes, Row, joined
from preflight.artwork.pdf.content.fonts import is_font_dictionary, shown_parts
from preflight.artwork.pdf.content.stream_content import Call, Content, Dash, EditKind, ShadingFill, StateFont, Undrawn
from preflight.artwork.pdf.content.text_operators import TextOperators
from preflight.artwork.pdf.content.tokens import Chunk, operator_code, scan_ahead
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, image_use, inline_image
from preflight.artwork.pdf.structure.values import text
from preflight.errors import NotRead


class StreamReader(TextOperators):
    """Reads one content stream into its ``Content``."""

    # -- the loop ---------------------------------------------------------------------------------------------

    def read(self, damage: Sequence[Undrawn] = ()) -> Content:
        """The whole stream; ``damage`` is what is wrong with the bytes that it stands in."""
        for chunk in scan_ahead(self.data) if not self.tables.exhausted else ():
            self._read_chunk(chunk)
            self.tables.operators_read += len(chunk.operator_code)
            if self.tables.exhausted:
                break
        if self.tables.exhausted:
            self.builder.drop()
        return self.builder.content(damage)

    def _read_chunk(self, chunk: Chunk) -> None:
        self.chunk, self.boxes = chunk, PathBoxes(chunk)
        self.path_from = 0
        draws = np.isin(chunk.operator_code, PATH_CODES)
        operator = np.flatnonzero(~draws)
        drawn = _first_drawn(chunk, np.flatnonzero(draws), np.append(operator, len(draws)))
        code, first, token = chunk.operator_code, chunk.operands_from, chunk.operator_token
        acting = Acting(operator, code[operator], first[operator], token[operator], drawn)
        for begin, end, plain in stretches(acting.code):
            # Type 3 glyphs and cells without colours of their own drop what they are told.
            if plain and not self.context.uncoloured:
                # A clip that waits ends with the path at hand, and changes the state of all after it.
                done = begin
                while self.clip_pending and done < end:
                    self._act(acting.part(done, done + 1))
                    done += 1
                self._run(acting.part(done, end))
            else:
                self._act(acting.part(begin, end))
        if self.path_byte < 0:
            self.path_byte = int(drawn[-1])
        self.carried = joined(self.carried, self.boxes.of(self.path_from, len(chunk.operator_code)))
        self.builder.settle(self.boxes)

    def _act(self, acting: Acting) -> None:
        """Operators one at a time."""
        chunk, tokens, firsts = self.chunk, acting.token, acting.first
        loop = zip(
            acting.operator.tolist(),
            acting.code.tolist(),
            firsts.tolist(),
            tokens.tolist(),
            chunk.values[np.maximum(tokens[:, None] + np.arange(-6, 0), 0)].tolist(),
            chunk.start[firsts].tolist(),
            chunk.start[tokens].tolist(),
            chunk.end[tokens].tolist(),
            acting.drawn[: len(tokens)].tolist(),
            strict=True,
        )
        handlers = _HANDLERS
        for self.operator, code, first, token, six, self.begin, self.word, self.end, drawn in loop:
            if drawn >= 0 and self.path_byte < 0:
                self.path_byte = drawn
            handler = handlers.get(code)
            if handler is not None:  # rule 3
                handler(self, first, token, six)

    def _run(self, acting: Acting) -> None:
        """Plain operators all at once."""
        if not len(acting.code):
            return
        state = self.state
        reader = RunReader(self.chunk, self.tables.palette, self._name, self._space)
        read = reader.read(acting, state.fill_space, state.stroke_space)
        if read is None:
            self._act(acting)
            return
        builder = self.builder
        settled = Row(0, self._state_number(), 0, builder.frame_number(state.ctm), self.layer, self.hidden)
        start = RunStart(state.fill, state.stroke, self.path_from, self.path_byte, builder.count, settled)
        run = read_run(self.chunk, acting, read.colours, start)
        self.tables.rows_read += len(run.rows)
        builder.add_run(run.rows, run.path_rows, run.edits, self.carried)
        state.fill, state.fill_space = run.fill, read.fill_space
        state.stroke, state.stroke_space = run.stroke, read.stroke_space
        if run.last_painter >= 0:
            self.operator = int(acting.operator[run.last_painter])
            self._end_path()
        fresh = acting.drawn[run.last_painter + 1 : len(acting.code)]
        if self.path_byte < 0 and (fresh >= 0).any():
            self.path_byte = int(fresh[fresh >= 0][0])

    # -- state ------------------------------------------------------------------------------------------------

    def push(self, first: int, token: int, six: list[float]) -> None:
        self.stack.append(self.state)
        self.saved_at.append(self.word)
        self.state = self.state.copy()

    def pop(self, first: int, token: int, six: list[float]) -> None:
        if self.stack:  # rule 1
            self.state = self.stack.pop()
            self.builder.saved.append((self.saved_at.pop(), self.end))

    def concatenate(self, first: int, token: int, six: list[float]) -> None:
        if token - first >= 6:
            self.state.ctm = times(six, self.state.ctm)

    def line_width(self, first: int, token: int, six: list[float]) -> None:
        if token > first:
            self.state.line_width, self.state.number = abs(six[5]), -1

    def dash(self, first: int, token: int, six: list[float]) -> None:
        for at in range(first, token):
            raw = self.data[self.chunk.start[at] : self.chunk.end[at]]
            if raw[:1] == b"[":
                numbers = [part for part in shown_parts(raw) if isinstance(part, float)]
                self.state.dashed, self.state.number = any(n > 0 for n in numbers), -1
                if self.state.dashed and 0 in numbers:
                    self._edit(EditKind.DASH, len(self.builder.dashes))
                    self.builder.dashes.append(Dash(numbers, six[5]))

    def external_state(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/ExtGState", self._name(token - 1))
        if not isinstance(found, Dictionary):
            return  # rule 5
        state = self.state
        state.number = -1
        if "/OP" in found:
            state.stroke_overprint = bool(found.OP)
            if "/op" not in found:
                state.fill_overprint = bool(found.OP)
        if "/op" in found:
            state.fill_overprint = bool(found.op)
        state.opm = _integer(found.get("/OPM", state.opm))
        state.fill_alpha = _number(found.get("/ca", state.fill_alpha))
        state.stroke_alpha = _number(found.get("/CA", state.stroke_alpha))
        state.line_width = abs(_number(found.get("/LW", state.line_width)))
        if "/D" in found and isinstance(found.D, Array) and len(found.D):
            state.dashed = any(_number(v) > 0 for v in found.D[0]) if isinstance(found.D[0], Array) else False
        if "/BM" in found:
            mode = found.BM[0] if isinstance(found.BM, Array) and len(found.BM) else found.BM
            state.blend = text(mode).replace("Compatible", "Normal")
        if "/SMask" in found:
            state.soft_mask = isinstance(found.SMask, Dictionary)
        if "/Font" in found and isinstance(found.Font, Array) and len(found.Font) == 2:
            font, size = found.Font[0], _number(found.Font[1])
            if is_font_dictionary(font):
                self._set_font(font, size)
                self._edit(EditKind.STATE_FONT, len(self.builder.state_fonts))
                self.builder.state_fonts.append(StateFont(font, size))

    # -- colour -----------------------------------------------------------------------------------------------

    def _space(self, name: str) -> ColourSpace:
        if name not in self.spaces:
            found = self._resource("/ColorSpace", name)
            value = found if found is not None else name
            self.spaces[name] = self.page.colour_reader.resolve(value, self.context.resources)
        return self.spaces[name]

    def _set_colour(self, stroke: bool, colour: int, space: ColourSpace) -> None:
        if self.context.uncoloured:
            self._edit(EditKind.DROP)
            return
        self._edit(_COLOUR_EDIT[stroke], colour)
        if stroke:
            self.state.stroke, self.state.stroke_space = colour, space
        else:
            self.state.fill, self.state.fill_space = colour, space

    def _colour_space(self, stroke: bool, token: int) -> None:
        name = self._name(token - 1)
        if name is None:
            return
        space = self._space(name)
        colour = self.tables.palette.index(space, tuple(space.initial))
        self._set_colour(stroke, colour, space)

    def _colour(self, stroke: bool, first: int, token: int, six: list[float]) -> None:
        space = self.state.stroke_space if stroke else self.state.fill_space
        if space.family == "Pattern":
            self._pattern_colour(stroke, space, first, token)
            return
        count = space.components
        if token - first < count:
            return  # rule 4
        values = six[6 - count :] if count <= 6 else self.chunk.values[token - count : token].tolist()
        colour = self.tables.palette.index(space, tuple(values))
        self._set_colour(stroke, colour, space)

    def _pattern_colour(self, stroke: bool, space: ColourSpace, first: int, token: int) -> None:
        found = self._resource("/Pattern", self._name(token - 1))
        if not isinstance(found, Dictionary | Stream):
            return  # rule 5
        values = tuple(self.chunk.values[first : token - 1].tolist())
        base = space.base
        pattern = self.page.pattern(found, base, values, self.context)
        if pattern is None:
            return
        colour = self.tables.palette.index(space, values, pattern)
        self._set_colour(stroke, colour, space)

    def _device_colour(self, stroke: bool, device: str, count: int, first: int, token: int, six: list[float]) -> None:
        if token - first < count:
            return  # rule 4
        space = self._space(device)
        if space.components != count:  # a Default space of another kind
            return
        colour = self.tables.palette.index(space, tuple(six[6 - count :]))
        self._set_colour(stroke, colour, space)

    # -- paths ------------------------------------------------------------------------------------------------

    def _paint(self, fill: bool, stroke: bool) -> None:
        state = self.state
        begin = self.path_byte
        if begin >= 0 and (fill or stroke):  # rule 7
            path = (begin, self.word)
            fill_row = self._path_row(_FILL, state.fill, path) if fill else -1
            stroke_row = self._path_row(_STROKE, state.stroke, path) if stroke else -1
            self.builder.edits.append((self.word, self.end, _PAINT, fill_row, stroke_row, begin))
        self._end_path()

    def _path_row(self, painted: int, colour: int, path: tuple[int, int]) -> int:
        self.tables.rows_read += 1
        number, builder = self._state_number(), self.builder
        frame = builder.frame_number(self.state.ctm)
        row = builder.add(
            Row(painted, number, colour, frame, self.layer, self.hidden, painted == _STROKE, path[0], path[1])
        )
        builder.add_path(row, self.path_from, self.operator, self.carried)
        return row

    def _end_path(self) -> None:
        if self.clip_pending:
            box = joined(self.carried, self.boxes.of(self.path_from, self.operator))
            clip = box_through(self.state.ctm, box) if box is not None else (0.0, 0.0, 0.0, 0.0)
            self.state.clip, self.state.number = overlap(self.state.clip, clip), -1
            self.clip_pending = False
        self.path_from, self.path_byte, self.carried = self.operator + 1, -1, None

    def clip(self, first: int, token: int, six: list[float]) -> None:
        self.clip_pending = True

    # -- XObjects, shadings, images ----------------------------------------------------------------------------

    def paint_object(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/XObject", self._name(token - 1))
        if not isinstance(found, Stream):
            self._edit(EditKind.DROP)  # rule 5
            return
        layer, hidden = self._layer_of(found)
        subtype = found.get("/Subtype", None)
        if subtype == Name.Image:
            self._image(image_use(found, self.page.colour_reader, self.context.resources), layer, hidden)
        elif subtype == Name.Form or "/BBox" in found:
            self._form(found, layer, hidden)
        else:
            self._edit(EditKind.DROP)

    def _layer_of(self, holder: Object) -> tuple[int, bool]:
        group = holder.get("/OC", None)
        if group is None:
            return self.layer, self.hidden
        layer, prints = self.page.layer_reader.state(group)
        return (layer if layer >= 0 else self.layer), self.hidden or not prints

    def _form(self, form: Object, layer: int, hidden: bool) -> None:
        state = self.state
        matrix = times(matrix_of(form.get("/Matrix", None)), state.ctm)
        bbox = box_of(form.get("/BBox", None))
        clip = overlap(state.clip, box_through(matrix, bbox)) if bbox else state.clip
        try:
            content = self.page.form(form, state, replace(self.context, layer=layer, hidden=hidden))
        except NotRead as fault:
            self._leave_out(str(fault), clip, hidden)  # rule 6
            return
        if state.number < 0:
            state.number = self.tables.state_number(state)
        self._edit(EditKind.CALL, len(self.builder.calls))
        self.builder.calls.append(Call(self.builder.count, content, matrix, clip, state.number))

    def _leave_out(self, because: str, box: Box, hidden: bool) -> None:
        """What cannot be read is not painted, and it is remembered where it would show."""
        self._edit(EditKind.DROP)
        if not hidden:
            self.builder.undrawn.append(Undrawn(because, box))

    def _image(self, use: ImageUse | None, layer: int, hidden: bool) -> None:
        state = self.state
        if use is None:
            box = overlap(state.clip, box_through(state.ctm, (0, 0, 1, 1)))
            self._leave_out("an image whose size or data cannot be read", box, hidden)
            return
        colour = state.fill
        if use.space is not None:
            colour = self.tables.palette.index(use.space, (), ShadingFill(use.stream, use.space, use.colour))
        kept, self.layer, self.hidden = (self.layer, self.hidden), layer, hidden
        painted = Painted.IMAGE_MASK if use.space is None else Painted.IMAGE
        box = box_through(state.ctm, (0, 0, 1, 1))
        row = self._row(painted, colour, state.ctm, box, image=self.tables.image_number(use.facts))
        self.layer, self.hidden = kept
        self.builder.images[row] = use
        self._edit(EditKind.IMAGE, row)

    def inline(self, first: int, token: int, six: list[float]) -> None:
        begin, end = int(self.chunk.start[first]), int(self.chunk.end[token - 1])
        use = None
        if token > first and self.data[begin : begin + 2] == b"BI":
            use = inline_image(self.data[begin:end], self.page.pdf, self.page.colour_reader, self.context.resources)
        self._image(use, self.layer, self.hidden)

    def shade(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/Shading", self._name(token - 1))
        shading = self.page.shading(found, self.context.resources)
        if shading is None:
            self._edit(EditKind.DROP)
            return
        colour = self.tables.palette.index(shading.space, (), shading)
        row = self._row(Painted.SHADING, colour, self.state.ctm, self.state.clip)
        self.builder.shadings[row] = shading
        self._edit(EditKind.SHADING, row)

    # -- marked content ----------------------------------------------------------------------------------------

    def begin_marked(self, first: int, token: int, six: list[float]) -> None:
        self.marks.append((self.layer, self.hidden))
        if token - first < 2 or self._name(first) != "/OC":
            return
        group = self._resource("/Properties", self._name(token - 1))
        if group is None:
            return
        layer, prints = self.page.layer_reader.state(group)
        if layer >= 0:
            self.layer = layer
        self.hidden = self.hidden or not prints

    def end_marked(self, first: int, token: int, six: list[float]) -> None:
        if self.marks:
            self.layer, self.hidden = self.marks.pop()


def _first_drawn(chunk: Chunk, drawing: NDArray[np.int64], acting: NDArray[np.int64]) -> NDArray[np.int64]:
    """For each acting operator the first byte of the path construction since the one before it; -1 for none."""
    if not len(drawing):
        return np.full(len(acting), -1)
    at = np.searchsorted(drawing, np.append(-1, acting[:-1]) + 1)
    first = drawing[np.minimum(at, len(drawing) - 1)]
    found = (at < len(drawing)) & (first < acting)
    return np.where(found, chunk.start[chunk.operands_from[first]], -1)


def _number(value: object) -> float:
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return 0.0


def _integer(value: object) -> int:
    return int(_number(value))


_FILL, _STROKE, _PAINT = int(Painted.FILL), int(Painted.STROKE), int(EditKind.PAINT)
_COLOUR_EDIT = {False: EditKind.FILL_COLOUR, True: EditKind.STROKE_COLOUR}

Handler = Callable[[StreamReader, int, int, list[float]], None]


def _painter(fill: bool, stroke: bool) -> Handler:
    return lambda reader, first, token, six: reader._paint(fill, stroke)


def _device(stroke: bool, device: str, count: int) -> Handler:
    return lambda reader, first, token, six: reader._device_colour(stroke, device, count, first, token, six)


def _parameter(name: str, scale: float = 1.0) -> Handler:
    return lambda reader, first, token, six: reader._text_parameter(name, scale, first, token, six)


_HANDLERS: dict[int, Handler] = {
    **{code: _device(*entry) for code, entry in DEVICE_COLOURS.items()},
    **{code: _painter(*entry) for code, entry in PAINTERS.items()},
} | {
    operator_code(word): handler
    for word, handler in {
        b"q": StreamReader.push,
        b"Q": StreamReader.pop,
        b"cm": StreamReader.concatenate,
        b"w": StreamReader.line_width,
        b"d": StreamReader.dash,
        b"gs": StreamReader.external_state,
        b"cs": lambda r, f, t, s: r._colour_space(False, t),
        b"CS": lambda r, f, t, s: r._colour_space(True, t),
        b"sc": lambda r, f, t, s: r._colour(False, f, t, s),
        b"scn": lambda r, f, t, s: r._colour(False, f, t, s),
        b"SC": lambda r, f, t, s: r._colour(True, f, t, s),
        b"SCN": lambda r, f, t, s: r._colour(True, f, t, s),
        b"W": StreamReader.clip,
        b"W*": StreamReader.clip,
        b"BT": StreamReader.begin_text,
        b"Tf": StreamReader.text_font,
        b"Tm": StreamReader.text_matrix_set,
        b"Td": StreamReader.move_text,
        b"TD": StreamReader.move_text_and_lead,
        b"T*": StreamReader.next_line,
        b"Tj": StreamReader.show,
        b"TJ": StreamReader.show,
        b"'": StreamReader.show_on_next_line,
        b'"': StreamReader.show_on_next_line,
        b"Tr": StreamReader.render_mode,
        b"Tc": _parameter("char_space"),
        b"Tw": _parameter("word_space"),
        b"TL": _parameter("leading"),
        b"Ts": _parameter("rise"),
        b"Tz": _parameter("stretch", 0.01),
        b"Do": StreamReader.paint_object,
        b"EI": StreamReader.inline,
        b"sh": StreamReader.shade,
        b"BDC": StreamReader.begin_marked,
        b"BMC": StreamReader.begin_marked,
        b"EMC": StreamReader.end_marked,
    }.items()
}
