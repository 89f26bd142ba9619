"""One reader a content stream: what each operator does to the graphics state, and the rows and edits it leaves.

Wrong input, by number (each has a test):

1. ``Q`` without ``q`` is ignored.
2. ``q`` without ``Q`` ends with its stream.
3. An unknown operator drops its operands.
4. An operator with too few operands, or operands of the wrong kind, is ignored.
5. A resource that is missing or of the wrong kind is not painted.
6. A form that calls itself, or is nested too deep, is not painted and makes the page's plates *not checked*.
7. A path that is never painted leaves no row.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.colours import PATTERN, ColourSpace
from preflight.artwork.content import EDIT_COLUMNS, Call, Content, EditKind, ShadingFill
from preflight.artwork.fonts import Font, is_font_dictionary, shown_parts, string_of
from preflight.artwork.images import ImageUse, image_use, inline_image
from preflight.artwork.interpret import Interpreter, box_of, matrix_of
from preflight.artwork.objects import Box, Painted
from preflight.artwork.scan import NAME, Chunk, operator_code, scan
from preflight.artwork.states import IDENTITY, GraphicsState, Matrix, box_through, overlap, times
from preflight.artwork.values import lookup

_HEX_IN_NAME = re.compile(rb"#([0-9A-Fa-f]{2})")
_INFINITE = math.inf


class PathBoxes:
    """Bounding boxes of the path operators of a chunk, all at once; infinite for all other operators."""

    def __init__(self, chunk: Chunk) -> None:
        n = len(chunk.operator_code)
        self.low = np.full((n, 2), _INFINITE)
        self.high = np.full((n, 2), -_INFINITE)
        count = chunk.operator_token - chunk.operands_from
        for code, needed, pairs in _PATH_POINTS:
            at = np.flatnonzero((chunk.operator_code == code) & (count >= needed))
            for x in pairs:
                self._take(at, chunk.values[chunk.operator_token[at][:, None] + [x, x + 1]])
        at = np.flatnonzero((chunk.operator_code == _RE) & (count >= 4))
        corner = chunk.values[chunk.operator_token[at][:, None] + [-4, -3]]
        self._take(at, corner)
        self._take(at, corner + chunk.values[chunk.operator_token[at][:, None] + [-2, -1]])

    def _take(self, at: NDArray[np.int64], points: NDArray[np.float64]) -> None:
        self.low[at] = np.minimum(self.low[at], points)
        self.high[at] = np.maximum(self.high[at], points)

    def of(self, first: int, last: int) -> Box | None:
        """Bounding box of operators first up to last; None where none of them draws."""
        if last <= first:
            return None
        (x0, y0), (x1, y1) = self.low[first:last].min(0).tolist(), self.high[first:last].max(0).tolist()
        return (x0, y0, x1, y1) if x0 <= x1 else None


class StreamReader:
    """Reads one content stream into its ``Content``."""

    def __init__(self, owner: Interpreter, content: Content, state: GraphicsState, layer: int, hidden: bool) -> None:
        self.owner = owner
        self.content = content
        self.state = state
        self.stack: list[GraphicsState] = []
        self.marks: list[tuple[int, bool]] = []
        self.layer, self.hidden = layer, hidden
        self.outer = (layer, hidden)
        self.resources: dict[tuple[str, str], Object | None] = {}
        self.spaces: dict[str, ColourSpace] = {}
        self.text_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.line_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.rows: list[tuple[int, ...]] = []
        self.edits: list[tuple[int, ...]] = []
        self.settled_rows: list[NDArray[np.int64]] = []
        self.settled_edits: list[NDArray[np.int64]] = []
        self.rows_before = 0
        """Rows of earlier chunks; they stand in ``settled_rows``, where they take a tenth of the memory."""
        self.frames: list[Matrix] = [IDENTITY]
        self.last_frame: Matrix = IDENTITY
        self.path_rows: list[tuple[int, int, int]] = []
        self.path_boxes: list[tuple[NDArray[np.int64], NDArray[np.float64]]] = []
        self.carried_boxes: list[tuple[int, Box]] = []
        self.placed_boxes: list[tuple[int, Box]] = []
        self.chunk: Chunk
        self.boxes: PathBoxes
        self.operator = self.begin = self.word = self.end = 0
        """The operator at hand: its number in the chunk, first byte of its operands, its own first byte, its end."""
        self.drawing: list[int] = []
        """Path-construction operators of the chunk, by number."""
        self.path_from = 0
        self.path_byte = -1
        self.carried: Box | None = None
        """Box of the part of the current path that stands in earlier chunks."""
        self.clip_pending = False

    # -- the loop ---------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Read the whole stream."""
        for chunk in scan(self.content.data):
            self._read_chunk(chunk)
            self.owner.operators_read += len(chunk.operator_code)
            if self.owner.exhausted:
                break
        self._finish()

    def _read_chunk(self, chunk: Chunk) -> None:
        self.chunk, self.boxes = chunk, PathBoxes(chunk)
        self.path_from = 0
        draws = np.isin(chunk.operator_code, _PATH_CODES)
        self.drawing = np.flatnonzero(draws).tolist()
        acting = np.flatnonzero(~draws)
        tokens, firsts = chunk.operator_token[acting], chunk.operands_from[acting]
        last_six = chunk.values[np.maximum(tokens[:, None] + np.arange(-6, 0), 0)].tolist()
        loop = zip(
            acting.tolist(), chunk.operator_code[acting].tolist(), firsts.tolist(), tokens.tolist(), last_six,
            chunk.start[firsts].tolist(), chunk.start[tokens].tolist(), chunk.end[tokens].tolist(), strict=True,
        )  # fmt: skip
        handlers = _HANDLERS
        for self.operator, code, first, token, six, self.begin, self.word, self.end in loop:
            handler = handlers.get(code)
            if handler is not None:  # rule 3
                handler(self, first, token, six)
        left = self.boxes.of(self.path_from, len(chunk.operator_code))
        if left is not None and self.path_byte < 0:
            self.path_byte = self._path_begin(len(chunk.operator_code))
        self.carried = _joined(self.carried, left)
        self._settle_path_boxes()
        self._settle_rows()

    def _settle_rows(self) -> None:
        if self.rows:
            self.settled_rows.append(np.array(self.rows, np.int64))
            self.rows_before += len(self.rows)
            self.rows.clear()
        if self.edits:
            self.settled_edits.append(np.array(self.edits, np.int64))
            self.edits.clear()

    def _settle_path_boxes(self) -> None:
        """Boxes of the rows that this chunk's paths painted: one reduction over all of them."""
        if not self.path_rows:
            return
        rows, first, last = (np.array(column) for column in zip(*self.path_rows, strict=True))
        self.path_rows.clear()
        drawn = last > first
        rows, first, last = rows[drawn], first[drawn], last[drawn]
        if not len(rows):
            return
        cuts = np.column_stack([first, last]).ravel()
        low = np.vstack([self.boxes.low, np.full((1, 2), _INFINITE)])
        high = np.vstack([self.boxes.high, np.full((1, 2), -_INFINITE)])
        found = np.column_stack([np.minimum.reduceat(low, cuts)[::2], np.maximum.reduceat(high, cuts)[::2]])
        self.path_boxes.append((rows, found))

    def _finish(self) -> None:
        if self.owner.exhausted:
            # What is over a bound is not checked; finishing columns of millions of rows would only cost memory.
            self.settled_rows.clear()
            self.settled_edits.clear()
            self.path_boxes.clear()
            self.carried_boxes.clear()
            self.placed_boxes.clear()
            self.content.calls.clear()
            self.rows_before = 0
        content, n = self.content, self.rows_before
        table = np.concatenate([np.zeros((0, len(_ROW_COLUMNS)), np.int64), *self.settled_rows])
        column = {name: table[:, i] for i, name in enumerate(_ROW_COLUMNS)}
        content.painted = column["painted"].astype(np.uint8)
        for name in ("state", "colour", "font", "image", "layer"):
            setattr(content, name, column[name].astype(np.int32))
        content.hidden, content.stroked = column["hidden"].astype(bool), column["stroked"].astype(bool)
        content.path = table[:, [_ROW_COLUMNS.index("path_begin"), _ROW_COLUMNS.index("path_end")]]
        content.frame = np.array(self.frames, float).reshape(-1, 6)[column["frame"]]
        content.box = self._row_boxes(content)
        content.total_rows = n + sum(call.content.total_rows for call in content.calls)
        content.edits = np.concatenate([np.zeros((0, len(EDIT_COLUMNS)), np.int64), *self.settled_edits])

    def _row_boxes(self, content: Content) -> NDArray[np.float64]:
        """Boxes of all rows through their matrices: paths by the chunk, what chunks carried over, and the rest."""
        boxes = np.tile((_INFINITE, _INFINITE, -_INFINITE, -_INFINITE), (len(content.painted), 1))
        for rows, found in self.path_boxes:
            boxes[rows, :2] = np.minimum(boxes[rows, :2], found[:, :2])
            boxes[rows, 2:] = np.maximum(boxes[rows, 2:], found[:, 2:])
        for row, box in self.carried_boxes:
            boxes[row, :2] = np.minimum(boxes[row, :2], box[:2])
            boxes[row, 2:] = np.maximum(boxes[row, 2:], box[2:])
        boxes[boxes[:, 2] < boxes[:, 0]] = (0.0, 0.0, -1.0, -1.0)
        is_path = (content.painted == Painted.FILL) | (content.painted == Painted.STROKE)
        boxes[is_path] = _boxes_through(content.frame[is_path], boxes[is_path])
        for row, box in self.placed_boxes:
            boxes[row] = box
        return boxes

    # -- rows and edits ---------------------------------------------------------------------------------------

    def _row(
        self, painted: int, colour: int, frame: Matrix, *, path: tuple[int, int] = (0, 0), stroked: bool = False,
        box: Box | None = None, font: int = -1, image: int = -1,
    ) -> int:  # fmt: skip
        """One more row; ``box`` for all but paths, whose boxes come at the end of the chunk."""
        state = self.state
        if state.number < 0:
            state.number = self.owner.state_number(state)
        if frame is not self.last_frame:
            self.frames.append(frame)
            self.last_frame = frame
        row = self.rows_before + len(self.rows)
        self.rows.append(
            (painted, state.number, colour, len(self.frames) - 1, path[0], path[1], font, image, self.layer,
             self.hidden, stroked)
        )  # fmt: skip
        if box is not None:
            self.placed_boxes.append((row, box))
        self.owner.rows_read += 1
        return row

    def _edit(self, kind: int, a: int = -1, b: int = -1, path_start: int = -1) -> None:
        """The current operator and its operands are to be written anew."""
        self.edits.append((self.begin, self.end, kind, a, b, path_start))

    def _name(self, token: int) -> str | None:
        if token < 0 or self.chunk.kind[token] != NAME:
            return None
        raw = self.content.data[self.chunk.start[token] : self.chunk.end[token]]
        if b"#" in raw:
            raw = _HEX_IN_NAME.sub(lambda match: bytes([int(match[1], 16)]), raw)
        return raw.decode("utf-8", "surrogateescape")

    def _resource(self, category: str, name: str | None) -> Object | None:
        if name is None:
            return None
        key = (category, name)
        if key not in self.resources:
            self.resources[key] = _find_resource(self.content.resources, category, name)
        return self.resources[key]

    # -- state ------------------------------------------------------------------------------------------------

    def push(self, first: int, token: int, six: list[float]) -> None:
        self.stack.append(self.state)
        self.state = self.state.copy()

    def pop(self, first: int, token: int, six: list[float]) -> None:
        if self.stack:  # rule 1
            self.state = self.stack.pop()

    def concatenate(self, first: int, token: int, six: list[float]) -> None:
        if token - first >= 6:
            self.state.ctm = times(six, self.state.ctm)

    def line_width(self, first: int, token: int, six: list[float]) -> None:
        if token > first:
            self.state.line_width, self.state.number = abs(six[5]), -1

    def dash(self, first: int, token: int, six: list[float]) -> None:
        for at in range(first, token):
            raw = self.content.data[self.chunk.start[at] : self.chunk.end[at]]
            if raw[:1] == b"[":
                numbers = [part for part in shown_parts(raw) if isinstance(part, float)]
                self.state.dashed, self.state.number = any(n > 0 for n in numbers), -1

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
            state.blend = str(mode).lstrip("/").replace("Compatible", "Normal")
        if "/SMask" in found:
            state.soft_mask = isinstance(found.SMask, Dictionary)
        if "/Font" in found and isinstance(found.Font, Array) and len(found.Font) == 2:
            self._set_font(found.Font[0], _number(found.Font[1]))

    # -- colour -----------------------------------------------------------------------------------------------

    def _space(self, name: str) -> ColourSpace:
        if name not in self.spaces:
            found = self._resource("/ColorSpace", name)
            value = found if found is not None else name
            self.spaces[name] = self.owner.colour_reader.resolve(value, self.content.resources)
        return self.spaces[name]

    def _set_colour(self, stroke: bool, colour: int, space: ColourSpace) -> None:
        if stroke:
            self.state.stroke, self.state.stroke_space = colour, space
        else:
            self.state.fill, self.state.fill_space = colour, space

    def _colour_space(self, stroke: bool, first: int, token: int) -> None:
        name = self._name(token - 1)
        if name is None:
            return
        space = self._space(name)
        colour = self.owner.palette.index(space, tuple(space.initial))
        self._set_colour(stroke, colour, space)
        self._edit(_COLOUR_EDIT[stroke], colour)

    def _colour(self, stroke: bool, first: int, token: int, six: list[float]) -> None:
        space = self.state.stroke_space if stroke else self.state.fill_space
        if space.family == "Pattern":
            self._pattern_colour(stroke, space, first, token)
            return
        count = space.components
        if token - first < count:
            return  # rule 4
        values = six[6 - count :] if count <= 6 else self.chunk.values[token - count : token].tolist()
        colour = self.owner.palette.index(space, tuple(values))
        self._set_colour(stroke, colour, space)
        self._edit(_COLOUR_EDIT[stroke], colour)

    def _pattern_colour(self, stroke: bool, space: ColourSpace, first: int, token: int) -> None:
        found = self._resource("/Pattern", self._name(token - 1))
        if not isinstance(found, Dictionary | Stream):
            return  # rule 5
        values = tuple(self.chunk.values[first : token - 1].tolist())
        base = space.base
        pattern = self.owner.pattern(found, base, values, self.content.resources, self.content.depth)
        if pattern is None:
            return
        colour = self.owner.palette.index(space, values, pattern)
        self._set_colour(stroke, colour, space)
        self._edit(_COLOUR_EDIT[stroke], colour)

    def _device_colour(self, stroke: bool, device: str, count: int, first: int, token: int, six: list[float]) -> None:
        if token - first < count:
            return  # rule 4
        space = self._space(device)
        if space.components != count:  # a Default space of another kind
            return
        colour = self.owner.palette.index(space, tuple(six[6 - count :]))
        self._set_colour(stroke, colour, space)
        self._edit(_COLOUR_EDIT[stroke], colour)

    # -- paths ------------------------------------------------------------------------------------------------

    def _paint(self, fill: bool, stroke: bool) -> None:
        state = self.state
        begin = self.path_byte if self.path_byte >= 0 else self._path_begin(self.operator)
        if begin >= 0:  # rule 7
            path = (begin, self.word)
            fill_row = self._path_row(_FILL, state.fill, path) if fill else -1
            stroke_row = self._path_row(_STROKE, state.stroke, path) if stroke else -1
            self.edits.append((self.word, self.end, _PAINT, fill_row, stroke_row, begin))
        self._end_path()

    def _path_begin(self, operator: int) -> int:
        """First byte of the path that is open before an operator; -1 where there is none."""
        at = bisect_left(self.drawing, self.path_from)
        if at == len(self.drawing) or self.drawing[at] >= operator:
            return -1
        return int(self.chunk.start[self.chunk.operands_from[self.drawing[at]]])

    def _path_row(self, painted: int, colour: int, path: tuple[int, int]) -> int:
        row = self._row(painted, colour, self.state.ctm, path=path, stroked=painted == _STROKE)
        self.path_rows.append((row, self.path_from, self.operator))
        if self.carried is not None:
            self.carried_boxes.append((row, self.carried))
        return row

    def _end_path(self) -> None:
        if self.clip_pending:
            box = _joined(self.carried, self.boxes.of(self.path_from, self.operator))
            clip = box_through(self.state.ctm, box) if box is not None else (0.0, 0.0, 0.0, 0.0)
            self.state.clip, self.state.number = overlap(self.state.clip, clip), -1
            self.clip_pending = False
        self.path_from, self.path_byte, self.carried = self.operator + 1, -1, None

    def clip(self, first: int, token: int, six: list[float]) -> None:
        self.clip_pending = True

    # -- text -------------------------------------------------------------------------------------------------

    def begin_text(self, first: int, token: int, six: list[float]) -> None:
        self.text_matrix = self.line_matrix = (1, 0, 0, 1, 0, 0)

    def text_font(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/Font", self._name(token - 2) if token - first >= 2 else None)
        if found is not None and is_font_dictionary(found):
            self._set_font(found, six[5])

    def _set_font(self, font: Object, size: float) -> None:
        self.state.font, self.state.font_number = self.owner.font(font)
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
            self._show(first, token)

    def show_on_next_line(self, first: int, token: int, six: list[float]) -> None:
        self.next_line(first, token, six)
        if token - first >= 3:  # the " operator
            self.state.word_space, self.state.char_space = self.chunk.values[token - 3 : token - 1].tolist()
        self.show(first, token, six)

    def _show(self, first: int, token: int) -> None:
        raw = self.content.data[self.chunk.start[token - 1] : self.chunk.end[token - 1]]
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
            self._text_row(font, extent, to_stream)
        self.text_matrix = times((1, 0, 0, 1, x, 0), self.text_matrix)

    def _text_row(self, font: Font, extent: list[float], to_stream: Matrix) -> None:
        state = self.state
        size = state.font_size
        low, high = sorted((font.descent * size + state.rise, font.ascent * size + state.rise))
        box = box_through(to_stream, (extent[0], low, extent[1], high))
        frame = times((size * state.stretch, 0, 0, size, 0, 0), to_stream)
        stroked_only = state.render_mode % 4 == 1
        row = self._row(
            Painted.TEXT, self._text_colour(stroked_only), frame, stroked=stroked_only, box=box, font=state.font_number
        )
        stroke_row = -1
        if state.render_mode % 4 == 2:
            stroke_row = self._row(Painted.TEXT, state.stroke, frame, stroked=True, box=box, font=state.font_number)
        if state.render_mode % 4 in (1, 2):
            self.content.outlined[row if stroked_only else stroke_row] = state.ctm
        self._edit(EditKind.SHOW, row, stroke_row, self.begin)

    def _text_colour(self, stroked: bool) -> int:
        state = self.state
        if state.font.glyphs is not None:
            glyphs = self.owner.type3(state.font, self.content.resources, self.content.depth)
            if glyphs.coloured:
                return self.owner.palette.index(PATTERN, (), glyphs)
        return state.stroke if stroked else state.fill

    # -- XObjects, shadings, images ----------------------------------------------------------------------------

    def paint_object(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/XObject", self._name(token - 1))
        if not isinstance(found, Stream):
            self._edit(EditKind.DROP)  # rule 5
            return
        layer, hidden = self._layer_of(found)
        subtype = found.get("/Subtype", None)
        if subtype == Name.Image:
            self._image(image_use(found, self.owner.colour_reader, self.content.resources), first, token, layer, hidden)
        elif subtype == Name.Form or "/BBox" in found:
            self._form(found, first, token, layer, hidden)
        else:
            self._edit(EditKind.DROP)

    def _layer_of(self, holder: Object) -> tuple[int, bool]:
        group = holder.get("/OC", None)
        if group is None:
            return self.layer, self.hidden
        layer, prints = self.owner.layer_reader.state(group)
        return (layer if layer >= 0 else self.layer), self.hidden or not prints

    def _form(self, form: Object, first: int, token: int, layer: int, hidden: bool) -> None:
        content = self.owner.form(
            form, self.state, self.content.resources, layer=layer, hidden=hidden, depth=self.content.depth + 1,
            isolated=self.content.isolated,
        )  # fmt: skip
        if content is None:
            self._edit(EditKind.DROP)  # rule 6
            return
        state = self.state
        matrix = times(matrix_of(form.get("/Matrix", None)), state.ctm)
        bbox = box_of(form.get("/BBox", None))
        clip = overlap(state.clip, box_through(matrix, bbox)) if bbox else state.clip
        if state.number < 0:
            state.number = self.owner.state_number(state)
        self._edit(EditKind.CALL, len(self.content.calls))
        self.content.calls.append(Call(self.rows_before + len(self.rows), content, matrix, clip, state.number))

    def _image(self, use: ImageUse | None, first: int, token: int, layer: int, hidden: bool) -> None:
        if use is None:
            self.owner.over("an image whose size or data cannot be read", frozenset({"plates", "images"}))
            self._edit(EditKind.DROP)
            return
        state = self.state
        colour = state.fill
        if use.space is not None:
            colour = self.owner.palette.index(use.space, (), ShadingFill(use.stream, use.space, use.colour))
        kept, self.layer, self.hidden = (self.layer, self.hidden), layer, hidden
        painted = Painted.IMAGE_MASK if use.space is None else Painted.IMAGE
        row = self._row(
            painted, colour, state.ctm, box=box_through(state.ctm, (0, 0, 1, 1)), image=self.owner.image_number(use.facts)
        )
        self.layer, self.hidden = kept
        self.content.images[row] = use
        self._edit(EditKind.IMAGE, row)

    def inline(self, first: int, token: int, six: list[float]) -> None:
        begin, end = int(self.chunk.start[first]), int(self.chunk.end[token - 1])
        use = None
        if token > first and self.content.data[begin : begin + 2] == b"BI":
            use = inline_image(
                self.content.data[begin:end], self.owner.pdf, self.owner.colour_reader, self.content.resources
            )
        self._image(use, first, token, self.layer, self.hidden)

    def shade(self, first: int, token: int, six: list[float]) -> None:
        found = self._resource("/Shading", self._name(token - 1))
        shading = self.owner.shading(found, self.content.resources)
        if shading is None:
            self._edit(EditKind.DROP)
            return
        colour = self.owner.palette.index(shading.space, (), shading)
        row = self._row(Painted.SHADING, colour, self.state.ctm, box=self.state.clip)
        self.content.shadings[row] = shading
        self._edit(EditKind.SHADING, row)

    # -- marked content ----------------------------------------------------------------------------------------

    def begin_marked(self, first: int, token: int, six: list[float]) -> None:
        self.marks.append((self.layer, self.hidden))
        if token - first < 2 or self._name(first) != "/OC":
            return
        group = self._resource("/Properties", self._name(token - 1))
        if group is None:
            return
        layer, prints = self.owner.layer_reader.state(group)
        if layer >= 0:
            self.layer = layer
        self.hidden = self.hidden or not prints

    def end_marked(self, first: int, token: int, six: list[float]) -> None:
        if self.marks:
            self.layer, self.hidden = self.marks.pop()


def _joined(one: Box | None, other: Box | None) -> Box | None:
    if one is None or other is None:
        return other if one is None else one
    return (min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3]))


def _boxes_through(frames: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Many boxes, each through its own matrix; empty ones (x1 < x0) stay as they are."""
    x = boxes[:, [0, 2, 0, 2]]
    y = boxes[:, [1, 1, 3, 3]]
    with np.errstate(invalid="ignore", over="ignore"):
        u = frames[:, 0:1] * x + frames[:, 2:3] * y + frames[:, 4:5]
        v = frames[:, 1:2] * x + frames[:, 3:4] * y + frames[:, 5:6]
    moved = np.column_stack([u.min(1), v.min(1), u.max(1), v.max(1)])
    moved[boxes[:, 2] < boxes[:, 0]] = (0, 0, -1, -1)
    return moved


def _find_resource(resources: Object, category: str, name: str) -> Object | None:
    if not isinstance(resources, Dictionary):
        return None
    return lookup(resources.get(category, None), name)  # type: ignore[no-any-return]


def _number(value: object) -> float:
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return 0.0


def _integer(value: object) -> int:
    return int(_number(value))


_ROW_COLUMNS = (
    "painted", "state", "colour", "frame", "path_begin", "path_end", "font", "image", "layer", "hidden", "stroked",
)  # fmt: skip
_FILL, _STROKE, _PAINT = int(Painted.FILL), int(Painted.STROKE), int(EditKind.PAINT)
_COLOUR_EDIT = {False: EditKind.FILL_COLOUR, True: EditKind.STROKE_COLOUR}
_RE = operator_code(b"re")
_PATH_POINTS = [
    (operator_code(b"m"), 2, (-2,)),
    (operator_code(b"l"), 2, (-2,)),
    (operator_code(b"c"), 6, (-6, -4, -2)),
    (operator_code(b"v"), 4, (-4, -2)),
    (operator_code(b"y"), 4, (-4, -2)),
]
_PATH_CODES = np.array([code for code, _, _ in _PATH_POINTS] + [_RE, operator_code(b"h")])

Handler = Callable[[StreamReader, int, int, list[float]], None]


def _painter(fill: bool, stroke: bool) -> Handler:
    return lambda reader, first, token, six: reader._paint(fill, stroke)  # noqa: SLF001


def _device(stroke: bool, device: str, count: int) -> Handler:
    return lambda reader, first, token, six: reader._device_colour(stroke, device, count, first, token, six)  # noqa: SLF001


def _parameter(name: str, scale: float = 1.0) -> Handler:
    return lambda reader, first, token, six: reader._text_parameter(name, scale, first, token, six)  # noqa: SLF001


_HANDLERS: dict[int, Handler] = {
    operator_code(word): handler
    for word, handler in {
        b"q": StreamReader.push, b"Q": StreamReader.pop, b"cm": StreamReader.concatenate,
        b"w": StreamReader.line_width, b"d": StreamReader.dash, b"gs": StreamReader.external_state,
        b"g": _device(False, "/DeviceGray", 1), b"G": _device(True, "/DeviceGray", 1),
        b"rg": _device(False, "/DeviceRGB", 3), b"RG": _device(True, "/DeviceRGB", 3),
        b"k": _device(False, "/DeviceCMYK", 4), b"K": _device(True, "/DeviceCMYK", 4),
        b"cs": lambda r, f, t, s: r._colour_space(False, f, t), b"CS": lambda r, f, t, s: r._colour_space(True, f, t),
        b"sc": lambda r, f, t, s: r._colour(False, f, t, s), b"scn": lambda r, f, t, s: r._colour(False, f, t, s),
        b"SC": lambda r, f, t, s: r._colour(True, f, t, s), b"SCN": lambda r, f, t, s: r._colour(True, f, t, s),
        b"f": _painter(True, False), b"F": _painter(True, False), b"f*": _painter(True, False),
        b"S": _painter(False, True), b"s": _painter(False, True), b"n": lambda r, f, t, s: r._end_path(),
        b"B": _painter(True, True), b"B*": _painter(True, True), b"b": _painter(True, True),
        b"b*": _painter(True, True), b"W": StreamReader.clip, b"W*": StreamReader.clip,
        b"BT": StreamReader.begin_text, b"Tf": StreamReader.text_font, b"Tm": StreamReader.text_matrix_set,
        b"Td": StreamReader.move_text, b"TD": StreamReader.move_text_and_lead, b"T*": StreamReader.next_line,
        b"Tj": StreamReader.show, b"TJ": StreamReader.show, b"'": StreamReader.show_on_next_line,
        b'"': StreamReader.show_on_next_line, b"Tr": StreamReader.render_mode,
        b"Tc": _parameter("char_space"), b"Tw": _parameter("word_space"), b"TL": _parameter("leading"),
        b"Ts": _parameter("rise"), b"Tz": _parameter("stretch", 0.01),
        b"Do": StreamReader.paint_object, b"EI": StreamReader.inline, b"sh": StreamReader.shade,
        b"BDC": StreamReader.begin_marked, b"BMC": StreamReader.begin_marked, b"EMC": StreamReader.end_marked,
    }.items()
}  # fmt: skip
