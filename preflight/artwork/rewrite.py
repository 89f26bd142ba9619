"""A page written anew for its plates: the shapes stay, every colour becomes tints in red, green and blue.

One PDF is made with a page for each ``Rendering``. White (1) is bare board and 0 is solid, so that a renderer which
knows nothing of plates composes tints. What overprints is left out of the renderings of the plates that it leaves
alone. In an isolated group it may not be left out: where nothing lies below it in the group the standard lets its
own tint of zero show (ISO 32000-2, 11.7.4.3, the backdrop's alpha being zero), and that is painted there as bare
board with blend mode Darken, which changes nothing where something does lie below.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.content import Content, Edit, EditKind, ShadingFill, TilingCell, Type3Glyphs, UncolouredCell
from preflight.artwork.images import ImageUse, TooBig, bilevel_image, colour_key_mask, image_tints, plain_stencil
from preflight.artwork.interpret import Interpreter
from preflight.artwork.objects import Painted
from preflight.artwork.passes import Rendering
from preflight.artwork.states import Matrix, painted_plates, times
from preflight.artwork.tint_functions import space_for_plates
from preflight.artwork.values import entries, identity, lookup

_PAINT, _SKIP, _LEAVE = 0, 1, 2
_FILLED_AS = {b"B": b"f", b"B*": b"f*", b"b": b"f", b"b*": b"f*"}
_STROKED_AS = {b"B": b"S", b"B*": b"S", b"b": b"s", b"b*": b"s"}
_FAINTEST = 0.02
_LEVELS = [b"%.4f" % (level / 255) for level in range(256)]
_EVERYWHERE = b"-1000000 -1000000 2000000 2000000 re"
_IMAGE_CLIP = b"0 0 1 1 re 0 0 1 0 re W n"
"""A clip round an image, without which PDFium snaps an upright image outward to whole pixels. The second, empty
rectangle keeps PDFium from dropping the clip as one that hides nothing."""
_NOT_WHITE_PRESERVING = ("Difference", "Exclusion", "Hue", "Saturation", "Color", "Luminosity")


@dataclass
class Rewriter:
    """Writes the derived PDF of one page.

    ``pixel`` is the side of a pixel in mm at the resolution that the pages will be rendered with: strokes thinner
    than a pixel would be widened to one, so they are painted as much fainter as they are thinner.
    """

    owner: Interpreter
    to_mm: Matrix
    source: pikepdf.Pdf
    image_ppi: dict[object, float]
    """The coarsest placing of each image, by its key."""
    skipped: frozenset[str]
    """Separations whose objects neither paint nor knock out."""
    pixel_mm: float
    left_out: dict[int, NDArray[np.int32]] = field(default_factory=dict)
    """Rows by stream that are not painted, though the file paints them."""
    knocking_out: dict[int, NDArray[np.int32]] = field(default_factory=dict)
    """Rows by stream whose overprint is taken off."""
    out: pikepdf.Pdf = field(default_factory=pikepdf.new)
    faults: list[str] = field(default_factory=list)
    _copied: dict[object, Object] = field(default_factory=dict)
    _forms: dict[tuple[int, str, Rendering], Object] = field(default_factory=dict)
    _tints: dict[tuple[object, int], tuple[tuple[str, ...], NDArray[np.uint8]]] = field(default_factory=dict)
    _kinds: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    _plain: dict[Rendering, list[bytes]] = field(default_factory=dict)
    _operators: dict[Rendering, tuple[list[bytes], list[bytes]]] = field(default_factory=dict)

    def build(self, page: Content, media_pt: Sequence[float], renderings: Sequence[Rendering]) -> bytes:
        """The derived PDF, one page for each rendering in their order."""
        for rendering in renderings:
            stream, resources = PassWriter(self, rendering).write(page, self.to_mm, first=True)
            sheet = self.out.add_blank_page(page_size=(100, 100))
            sheet.obj.MediaBox = Array([float(v) for v in media_pt])
            sheet.obj.Resources = resources
            sheet.obj.Contents = stream
        target = io.BytesIO()
        self.out.save(target, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
        return target.getvalue()

    def copy(self, value: Object) -> Object:
        """An object of the source file in the derived one; what is indirect once."""
        if not isinstance(value, Object) or isinstance(value, Name | pikepdf.String):
            return value
        if not value.is_indirect:
            if isinstance(value, Array):
                return Array([self.copy(member) for member in value])
            return Dictionary({key: self.copy(member) for key, member in entries(value)})
        if value.objgen not in self._copied:
            self._copied[value.objgen] = self.out.copy_foreign(value)
        return self._copied[value.objgen]

    def tints_of(self, use: ImageUse) -> tuple[tuple[str, ...], NDArray[np.uint8]]:
        """Tints of an image at about the resolution needed, decoded once."""
        shrink = max(1, int(self.image_ppi.get(use.key, 0) * self.pixel_mm / 25.4 / 1.5 + 0.1))
        key = (use.key, shrink)
        if key not in self._tints:
            self._tints[key] = image_tints(use, shrink)
        return self._tints[key]

    def actions(self, content: Content, rendering: Rendering) -> NDArray[np.int8]:
        """For each row of a stream whether it is painted, left out or left as it is below."""
        leave = _LEAVE if content.isolated else _SKIP
        if not len(content.colour):
            return np.zeros(0, np.int8)
        kinds = self._kind_numbers()[content.colour]
        keys = np.column_stack([kinds, content.state, content.stroked, content.hidden]).astype(np.int64)
        _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        found = [
            self._action(int(content.colour[row]), *keys[row, 1:].tolist(), rendering, leave) for row in first.tolist()
        ]
        actions = np.array(found, np.int8)[inverse.ravel()]
        knocking_out = self.knocking_out.get(content.number)
        if knocking_out is not None:
            actions[knocking_out] = np.where(content.hidden[knocking_out], _SKIP, _PAINT)
        if content.number in self.left_out:
            actions[self.left_out[content.number]] = _SKIP
        return actions

    def _kind_numbers(self) -> NDArray[np.int64]:
        """A number for each colour; colours of one number paint the same plates."""
        kinds = self.owner.palette.kinds()
        if len(self._kinds) != len(kinds):
            numbers: dict[tuple[object, ...], int] = {}
            self._kinds = np.array([numbers.setdefault(kind, len(numbers)) for kind in kinds], np.int64)
        return self._kinds

    def plain_colours(self, rendering: Rendering) -> list[bytes]:
        """Operands of every colour that is no pattern, for one rendering: three numbers, 1 bare and 0 solid."""
        if rendering not in self._plain:
            colours = self.owner.palette.colours()
            channels = np.zeros((3, len(colours)))
            for number, colour in enumerate(colours):
                for name, tint in colour.tints:
                    if colour.registration:
                        channels[:, number] = tint
                    elif name in rendering.plates:
                        channels[rendering.plates.index(name), number] = tint
            levels = np.rint((1 - channels) * 255).astype(np.uint8)
            red, green, blue = ([_LEVELS[v] for v in row] for row in levels.tolist())
            self._plain[rendering] = [b"%s %s %s" % rgb for rgb in zip(red, green, blue, strict=True)]
        return self._plain[rendering]

    def plain_operators(self, rendering: Rendering) -> tuple[list[bytes], list[bytes]]:
        """For every colour the operators that set it for filling and for stroking; empty for patterns."""
        if rendering not in self._operators:
            plain = self.plain_colours(rendering)
            is_plain = [paint.pattern is None for paint in self.owner.palette.entries]
            self._operators[rendering] = (
                [b" %s rg " % rgb if plainly else b"" for rgb, plainly in zip(plain, is_plain, strict=True)],
                [b" %s RG " % rgb if plainly else b"" for rgb, plainly in zip(plain, is_plain, strict=True)],
            )
        return self._operators[rendering]

    def fainter(self, content: Content, to_mm: Matrix) -> NDArray[np.float64]:
        """How much fainter each row's stroke is painted: its own width over PDFium's for it, at most 1.

        PDFium draws no stroke thinner than a pixel, by the mean of the lengths that the matrix gives the unit vectors.
        """
        if not self.pixel_mm:
            return np.ones(len(content.state))
        if not len(content.state):
            return np.ones(0)
        width = np.array([float(state[7]) for state in self.owner.states])[content.state]  # type: ignore[arg-type]
        frame = content.frame[:, :4].copy()
        for row, matrix in content.outlined.items():
            frame[row] = matrix[:4]
        a, b, c, d = to_mm[:4]
        drawn = frame.reshape(-1, 2, 2) @ np.array([[a, b], [c, d]])
        pixels = width * np.hypot(drawn[:, :, 0], drawn[:, :, 1]).mean(1) / self.pixel_mm
        stroked = content.painted == Painted.STROKE
        stroked[list(content.outlined)] = True
        return np.where(stroked, np.clip(pixels, _FAINTEST, 1), 1.0)

    def _action(self, colour: int, state: int, stroked: int, hidden: int, rendering: Rendering, leave: int) -> int:
        if hidden:
            return _SKIP
        paint = self.owner.palette.entries[colour]
        what = self.owner.palette.colours()[colour]
        names = [name for name, _ in what.tints]
        if names and self.skipped.issuperset(names) and not what.registration:
            return _SKIP
        if isinstance(paint.pattern, TilingCell | Type3Glyphs):
            return _PAINT
        columns = self.owner.states[state]
        painted = painted_plates(what, overprint=bool(columns[1 if stroked else 0]), opm=int(columns[2]))  # type: ignore[call-overload]
        if not painted:
            return _SKIP
        return _PAINT if rendering.paints(painted) else leave


class PassWriter:
    """Writes streams for one rendering."""

    def __init__(self, book: Rewriter, rendering: Rendering) -> None:
        self.book = book
        self.rendering = rendering
        self.palette = book.owner.palette
        self.resources: Dictionary
        self.actions: NDArray[np.int8]
        self.faint: NDArray[np.float64]
        self.plain: list[bytes]
        self.to_mm: Matrix
        self.names: dict[object, str] = {}
        self.number = 0
        """Of the stream; names hold it because the glyphs of a font share one dictionary of resources."""

    def write(self, content: Content, to_mm: Matrix, *, first: bool = False) -> tuple[Stream, Dictionary]:
        """A stream written anew and its resources.

        ``first``: it begins with a colour of its own (pages and pattern cells), and does not inherit one.
        """
        inner = PassWriter(self.book, self.rendering)
        return inner._write(content, to_mm, first)

    def _write(self, content: Content, to_mm: Matrix, first: bool) -> tuple[Stream, Dictionary]:
        self.number = content.number
        self.resources = self._base_resources(content.resources)
        self.to_mm = to_mm
        self.actions = self.book.actions(content, self.rendering)
        self.faint = self.book.fainter(content, to_mm)
        self.plain = self.book.plain_colours(self.rendering)
        data, out, at = content.data, [], 0
        if first:
            start = self.book.owner.first_state().fill
            out.append(self._colour(start, False) + self._colour(start, True))
        fills, strokes = self.book.plain_operators(self.rendering)
        fill_colour, stroke_colour = int(EditKind.FILL_COLOUR), int(EditKind.STROKE_COLOUR)
        for row in content.edits[self._changes(content)].tolist():
            begin, end, kind, a, _, _ = row
            # Colours are nine edits in ten, so they take the short way.
            if kind == fill_colour and fills[a]:
                written = fills[a]
            elif kind == stroke_colour and strokes[a]:
                written = strokes[a]
            else:
                begin, written = self._edited(content, Edit._make(row), at)
            out += [data[at:begin], written]
            at = end
        out.append(data[at:])
        return self.book.out.make_stream(b"".join(out)), self.resources

    def _changes(self, content: Content) -> NDArray[np.bool_]:
        """Which edits change anything in this rendering."""
        edits = content.edits
        kind, a, b = edits[:, 2], edits[:, 3], edits[:, 4]
        painted = kind == EditKind.PAINT
        altered = np.append((self.actions != _PAINT) | (self.faint < 1), False)  # row -1 is none
        changes = ~painted
        changes[painted] = altered[a[painted]] | altered[b[painted]]
        return np.asarray(changes)

    def _base_resources(self, resources: Object) -> Dictionary:
        """What a stream needs besides its colours: fonts as they are, graphics states without their overprint."""
        found = Dictionary(ExtGState=Dictionary(), XObject=Dictionary(), Pattern=Dictionary(), Shading=Dictionary())
        found.ColorSpace = Dictionary(PlU=Array([Name.Pattern, Name.DeviceRGB]))
        found.Font = Dictionary()
        for name, font in entries(lookup(resources, "Font")):
            if isinstance(font, Dictionary):
                found.Font[name] = self._font(font)
        for name, state in entries(lookup(resources, "ExtGState")):
            if isinstance(state, Dictionary):
                found.ExtGState[name] = self._graphics_state(state)
        return found

    def _graphics_state(self, state: Object) -> Dictionary:
        kept = Dictionary()
        for key in ("/LW", "/LC", "/LJ", "/ML", "/D", "/ca", "/CA", "/AIS", "/BM", "/SMask", "/TK", "/SA"):
            if key in state:
                value = state[key]
                kept[key] = self.book.copy(value) if isinstance(value, Dictionary | Stream | Array) else value
        return kept

    def _font(self, font: Object) -> Object:
        if font.get("/Subtype", None) != Name.Type3:
            return self.book.copy(font)
        glyphs = next(
            (e.pattern for e in self.palette.entries if isinstance(e.pattern, Type3Glyphs) and e.pattern.font == font), None
        )
        if glyphs is None or not glyphs.coloured:
            return self.book.copy(font)
        key = ("type3", identity(font), self.rendering)
        if key not in self.book._copied:
            # A glyph that shows text in its own font must not come back here for ever.
            self.book._copied[key] = self.book.copy(font)
            self.book._copied[key] = self._coloured_font(font, glyphs)
        return self.book._copied[key]

    def _coloured_font(self, font: Object, glyphs: Type3Glyphs) -> Object:
        made = Dictionary(Type=Name.Font, Subtype=Name.Type3, CharProcs=Dictionary(), Resources=Dictionary())
        for key in ("/FontBBox", "/FontMatrix", "/FirstChar", "/LastChar", "/Widths", "/Encoding"):
            if key in font:
                value = font[key]
                made[key] = self.book.copy(value) if isinstance(value, Dictionary | Array) else value
        for name, program in entries(font.CharProcs):
            content = glyphs.coloured.get(name)
            if content is None:
                made.CharProcs[name] = self.book.copy(program)
                continue
            stream, resources = self.write(content, (0.01, 0, 0, 0.01, 0, 0))
            made.CharProcs[name] = stream
            for category, group in resources.items():
                if category not in made.Resources:
                    made.Resources[category] = Dictionary()
                for inner, value in entries(group):
                    made.Resources[category][inner] = value
        return self.book.out.make_indirect(made)

    # -- edits ------------------------------------------------------------------------------------------------

    def _edited(self, content: Content, edit: Edit, at: int) -> tuple[int, bytes]:
        """Where the new writing begins and what it is; all before ``at`` has been written."""
        kind = edit.kind
        if kind == EditKind.FILL_COLOUR:
            return edit.start, b" " + self._colour(edit.a, False)
        if kind == EditKind.STROKE_COLOUR:
            return edit.start, b" " + self._colour(edit.a, True)
        if kind == EditKind.PAINT:
            return self._paint(content, edit, at)
        if kind == EditKind.SHOW:
            return edit.start, self._show(content, edit)
        if kind == EditKind.CALL:
            return edit.start, self._call(content, edit)
        if kind == EditKind.DROP:
            return edit.start, b" "
        return edit.start, self._picture(content, edit, int(self.actions[edit.a]))

    def _action_of(self, row: int) -> int | None:
        return int(self.actions[row]) if row >= 0 else None

    def _paint(self, content: Content, edit: Edit, at: int) -> tuple[int, bytes]:
        operator = content.data[edit.start : edit.end]
        fill, stroke = self._action_of(edit.a), self._action_of(edit.b)
        if _LEAVE in (fill, stroke):
            return edit.start, self._paint_leaving(content, edit, fill, stroke)
        keeps_fill, keeps_stroke = fill == _PAINT, stroke == _PAINT
        if (fill is None or keeps_fill) and (stroke is None or keeps_stroke):
            written = operator
        elif keeps_fill:
            written = _FILLED_AS.get(operator, operator)
        elif keeps_stroke:
            written = _STROKED_AS.get(operator, operator)
        else:
            return edit.start, b" n "
        if keeps_stroke and self.faint[edit.b] < 1:
            return self._paint_fainter(content, edit, at, written)
        return edit.start, b" " + written

    def _paint_fainter(self, content: Content, edit: Edit, at: int, written: bytes) -> tuple[int, bytes]:
        begin = edit.path_start if at <= edit.path_start else edit.start
        path = content.data[edit.path_start : edit.start]
        usual = self._stroke_alpha(content, edit.b)
        stroke = b"s" if written in (b"b", b"b*", b"s") else b"S"
        filled = b""
        if written in _FILLED_AS:
            # Painted apart: with unequal alphas PDFium lets the stroke knock its fill out.
            if b"W" in path:  # the clip may begin behind the whole object only
                stroke = written
            else:
                filled = path + b" " + _FILLED_AS[written] + b" "
        fainter = self._alpha(usual * float(self.faint[edit.b]))
        again = path if filled or begin == edit.path_start else b""
        return begin, filled + fainter + again + b" " + stroke + b" " + self._alpha(usual)

    def _paint_leaving(self, content: Content, edit: Edit, fill: int | None, stroke: int | None) -> bytes:
        """Bare board with Darken where an isolated group leaves the plate as it is below: the path painted again."""
        path = content.data[edit.path_start : edit.start]
        operator = content.data[edit.start : edit.end]
        out = []
        even_odd = b"*" if operator.endswith(b"*") else b""
        close = b"s" if operator[:1] in (b"b", b"s") else b"S"
        for action, painter in ((fill, b"f" + even_odd), (stroke, close)):
            if action == _PAINT:
                out.append(path + b" " + painter + b" ")
            elif action == _LEAVE:
                out.append(b"q " + self._left() + path + b" " + painter + b" Q ")
        # The path itself is kept unpainted: a clip may be waiting for it.
        return b" n " + b" ".join(out)

    def _left(self) -> bytes:
        if "/PlL" not in self.resources.ExtGState:
            self.resources.ExtGState.PlL = Dictionary(BM=Name.Darken)
        return b"/PlL gs 1 1 1 rg 1 1 1 RG "

    def _show(self, content: Content, edit: Edit) -> bytes:
        """Text, filled as paths: PDFium paints small glyphs as little pictures on whole pixels, up to 8 % too large.

        It takes the way through paths where text is stroked, so a fill is painted with a stroke of alpha 0.
        """
        text = content.data[edit.start : edit.end]
        owner, row = self.book.owner, edit.a
        mode = int(owner.states[content.state[row]][9])  # type: ignore[call-overload]
        clips = 4 if mode >= 4 else 0
        if content.font[row] >= 0 and owner.fonts[content.font[row]].type3:
            action = self.actions[row]
            if action == _LEAVE:
                return b" q " + self._left() + text + b" Q " + _set_mode(3, text, mode)
            return b" " + (text if action == _PAINT else _set_mode(3, text, mode))
        fill, stroke = (row if mode % 4 in (0, 2) else -1), (row if mode % 4 == 1 else edit.b)
        painted = [(at, at == stroke) for at in (fill, stroke) if at >= 0 and self.actions[at] == _PAINT]
        left = [(at, at == stroke) for at in (fill, stroke) if at >= 0 and self.actions[at] == _LEAVE]
        if not left and painted:
            usual = self._stroke_alpha(content, row)
            strokes = painted[-1][1]
            alpha = usual * float(self.faint[stroke]) if strokes else 0.0
            shown = _set_mode((2 if not painted[0][1] else 1) + clips, text, mode)
            return self._alpha(alpha) + shown + self._alpha(usual)
        shows = [b" q %d Tr " % strokes + text + b" Q " for _, strokes in painted]
        shows += [b" q " + self._left() + b"%d Tr " % strokes + text + b" Q " for _, strokes in left]
        # Once more, invisible, because Q has undone how far the text moved.
        return b" ".join(shows) + _set_mode(3 + clips, text, mode)

    def _call(self, content: Content, edit: Edit) -> bytes:
        call = content.calls[edit.a]
        if call.content.total_rows == 0:
            return b" "
        to_mm = times(call.matrix, self.to_mm)
        key = (call.content.number, _placed(to_mm), self.rendering)
        forms = self.book._forms
        if key not in forms:
            stream, resources = self.write(call.content, to_mm)
            stream.Type, stream.Subtype, stream.Resources = Name.XObject, Name.Form, resources
            stream.BBox = Array(list(call.content.bbox or (-1e6, -1e6, 1e6, 1e6)))
            stream.Matrix = Array(list(call.content.matrix))
            if call.content.group:
                group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=call.content.own_isolated)
                if call.content.knockout:
                    group.K = True
                stream.Group = group
            forms[key] = stream
        return b" /" + self._named("XObject", forms[key]) + b" Do "

    def _picture(self, content: Content, edit: Edit, action: int) -> bytes:
        if action == _SKIP:
            return b" "
        left = self._left() if action == _LEAVE else b""
        if edit.kind == EditKind.SHADING:
            if left:
                return b" q " + left + _EVERYWHERE + b" f Q "
            return b" /" + self._named("Shading", self._shading(content.shadings[edit.a])) + b" sh "
        use = content.images[edit.a]
        made = self._stencil(use) if use.space is None else self._image(use)
        if made is None:
            return b" "
        return b" q " + left + _IMAGE_CLIP + b" /" + self._named("XObject", made) + b" Do Q "

    def _stencil(self, use: ImageUse) -> Stream | None:
        key = ("stencil", use.key)
        copied = self.book._copied
        if key not in copied:
            try:
                copied[key] = plain_stencil(use, self.book.out, self.book.copy)
            except TooBig as fault:
                self.book.faults.append(str(fault))
                return None
        return copied[key]  # type: ignore[return-value]

    def _image(self, use: ImageUse) -> Stream | None:
        key = ("image", use.key, self.rendering)
        copied = self.book._copied
        if key not in copied:
            try:
                copied[key] = self._make_image(use)
            except TooBig as fault:
                self.book.faults.append(str(fault))
                return None
        return copied[key]  # type: ignore[return-value]

    def _make_image(self, use: ImageUse) -> Stream:
        made = bilevel_image(use, self.book.out, self.book.copy, self.rendering.plates)
        return self._masked(made if made is not None else self._rgb_image(use), use)

    def _rgb_image(self, use: ImageUse) -> Stream:
        names, tints = self.book.tints_of(use)
        wanted = [plate if plate in names else "All" if "All" in names else None for plate in self.rendering.plates]
        if any(wanted):
            rgb = np.full((*tints.shape[:2], 3), 255, np.uint8)
            for channel, name in enumerate(wanted):
                if name is not None:
                    rgb[:, :, channel] = 255 - tints[:, :, names.index(name)]
        else:
            rgb = np.full((1, 1, 3), 255, np.uint8)
        made = self.book.out.make_stream(rgb.tobytes())
        made.Type, made.Subtype = Name.XObject, Name.Image
        made.Width, made.Height = rgb.shape[1], rgb.shape[0]
        made.BitsPerComponent, made.ColorSpace = 8, Name.DeviceRGB
        return made

    def _masked(self, made: Stream, use: ImageUse) -> Stream:
        soft, mask = lookup(use.stream, "SMask"), lookup(use.stream, "Mask")
        if isinstance(soft, Stream):
            made.SMask = self.book.copy(soft)
        elif isinstance(mask, Stream):
            made.Mask = self.book.copy(mask)
        elif isinstance(mask, Array):
            made.Mask = self._key_mask(use)
        return made

    def _key_mask(self, use: ImageUse) -> Stream:
        key = ("key mask", use.key)
        copied = self.book._copied
        if key not in copied:
            hidden = colour_key_mask(use)
            made = self.book.out.make_stream(np.packbits(hidden, axis=1).tobytes())
            made.Type, made.Subtype, made.ImageMask = Name.XObject, Name.Image, True
            made.Width, made.Height, made.BitsPerComponent = hidden.shape[1], hidden.shape[0], 1
            copied[key] = made
        return copied[key]  # type: ignore[return-value]

    # -- colours ----------------------------------------------------------------------------------------------

    def _colour(self, number: int, stroke: bool) -> bytes:
        paint = self.palette.entries[number]
        if paint.pattern is None or isinstance(paint.pattern, Type3Glyphs):
            return self.plain[number] + (b" RG " if stroke else b" rg ")
        space, colour = (b"CS", b"SCN") if stroke else (b"cs", b"scn")
        pattern = paint.pattern
        if isinstance(pattern, TilingCell):
            return b"/Pattern %s /%s %s " % (space, self._named("Pattern", self._cell(pattern)), colour)
        if isinstance(pattern, UncolouredCell):
            name = self._named("Pattern", self.book.copy(pattern.stream))
            return b"/PlU %s %s /%s %s " % (space, self.plain[number], name, colour)
        if isinstance(pattern, ShadingFill) and pattern.pattern is not None:
            return b"/Pattern %s /%s %s " % (space, self._named("Pattern", self._shading_pattern(pattern)), colour)
        return self.plain[number] + (b" RG " if stroke else b" rg ")

    def _cell(self, cell: TilingCell) -> Stream:
        key = ("cell", cell.content.number, self.rendering)
        copied = self.book._copied
        if key not in copied:
            stream, resources = self.write(cell.content, self.to_mm, first=True)
            for name in ("/BBox", "/XStep", "/YStep", "/Matrix", "/PaintType", "/TilingType", "/PatternType"):
                if name in cell.stream:
                    stream[name] = self.book.copy(cell.stream[name])
            stream.Type, stream.Resources = Name.Pattern, resources
            copied[key] = stream
        return copied[key]  # type: ignore[return-value]

    def _shading_pattern(self, shading: ShadingFill) -> Object:
        made = Dictionary(Type=Name.Pattern, PatternType=2, Shading=self._shading(shading))
        matrix = lookup(shading.pattern, "Matrix")
        if matrix is not None:
            made.Matrix = self.book.copy(matrix)
        return self.book.out.make_indirect(made)

    def _shading(self, shading: ShadingFill) -> Object:
        key = ("shading", identity(shading.dictionary), id(shading.space), self.rendering)
        copied = self.book._copied
        if key not in copied:
            made = _shallow_copy(self.book, shading.dictionary)
            made[Name.ColorSpace] = space_for_plates(self.book.out, shading.space, self.rendering.plates)
            copied[key] = made if made.is_indirect else self.book.out.make_indirect(made)
        return copied[key]

    # -- resources --------------------------------------------------------------------------------------------

    def _named(self, category: str, value: Object) -> bytes:
        key = (category, value.objgen)
        if key not in self.names:
            self.names[key] = f"Pl{self.number}x{len(self.names)}"
            self.resources[Name("/" + category)][Name("/" + self.names[key])] = value
        return self.names[key].encode()

    def _alpha(self, alpha: float) -> bytes:
        name = f"PlA{round(alpha * 1000)}"
        if Name("/" + name) not in self.resources.ExtGState:
            self.resources.ExtGState[Name("/" + name)] = Dictionary(CA=round(alpha * 1000) / 1000)
        return b" /" + name.encode() + b" gs "

    def _stroke_alpha(self, content: Content, row: int) -> float:
        return float(self.book.owner.states[content.state[row]][4])  # type: ignore[arg-type]


def _placed(to_mm: Matrix) -> tuple[str, ...]:
    """What the strokes of a form depend on: the scale that it is placed at, or the matrix where it has two scales."""
    a, b, c, d = to_mm[:4]
    if abs(a * c + b * d) < 1e-3 * (a * a + b * b) and math.isclose(math.hypot(a, b), math.hypot(c, d), rel_tol=1e-3):
        return (f"{math.hypot(a, b):.3g}",)
    return tuple(f"{value:.3g}" for value in (a, b, c, d))


def _set_mode(mode: int, text: bytes, usual: int) -> bytes:
    return b"%d Tr %s %d Tr " % (mode, text, usual)


def _shallow_copy(book: Rewriter, value: Object) -> Object:
    """A dictionary or stream whose entries are copied, but not its colour space."""
    if isinstance(value, Stream):
        made: Object = book.out.make_stream(bytes(value.read_bytes()))
    else:
        made = Dictionary()
    for key, inner in value.items():
        if key in ("/ColorSpace", "/Length", "/Filter", "/DecodeParms"):
            continue
        made[key] = book.copy(inner) if isinstance(inner, Dictionary | Stream | Array) else inner
    return made

