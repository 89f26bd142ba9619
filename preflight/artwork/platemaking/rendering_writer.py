"""Content streams written anew for one rendering: the shapes stay, every colour becomes tints in channels."""

from __future__ import annotations

from functools import cached_property, partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.page.geometry import IDENTITY, Matrix, times
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.stream_content import (
    Call,
    Content,
    Edit,
    EditKind,
    ShadingFill,
    TilingCell,
    Type3Glyphs,
)
from preflight.artwork.pdf.structure.values import lookup
from preflight.artwork.platemaking.derived_pdf import FAR_BOX, LEAVE, PAINT, SKIP, DerivedPdf, Missing
from preflight.artwork.platemaking.group_elements import StreamPart
from preflight.artwork.platemaking.pattern_painting import PatternPainter
from preflight.artwork.platemaking.plate_resources import PlateResources, Written, as_form, with_dots
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.stream_writer_base import IMAGE_CLIP, set_mode
from preflight.artwork.platemaking.tiling_cells import placed
from preflight.artwork.platemaking.unpainted_bytes import EditsLeft, can_vanish
from preflight.errors import CannotBeRendered, NotDrawn

if TYPE_CHECKING:
    from preflight.artwork.platemaking.group_element_writer import Beginning

_FILLED_AS = {b"B": b"f", b"B*": b"f*", b"b": b"f", b"b*": b"f*"}
_STROKED_AS = {b"B": b"S", b"B*": b"S", b"b": b"s", b"b*": b"s"}


def write_stream(
    derived_pdf: DerivedPdf,
    content: Content,
    to_mm: Matrix,
    rendering: Rendering,
    first: bool,
    part: StreamPart | None = None,
) -> Written:
    """A stream, or some elements of it, written anew and its resources.

    ``first``: it begins with colours of its own (pages, pattern cells, masks), and does not inherit them.
    """
    if content.lets_show and not rendering.silhouette:
        from preflight.artwork.platemaking.group_element_writer import write_by_elements  # few files need it

        try:
            return write_by_elements(derived_pdf, content, to_mm, rendering, _write_part, first=first)
        except NotDrawn as fault:
            derived_pdf.missing.append(Missing(str(fault), content))
    return _StreamWriter(
        derived_pdf,
        rendering,
        content,
        to_mm,
        PlateResources(derived_pdf, rendering, partial(write_stream, derived_pdf)),
        part,
    ).write(first)


def _write_part(
    derived_pdf: DerivedPdf,
    content: Content,
    to_mm: Matrix,
    rendering: Rendering,
    part: StreamPart | None,
    begin: Beginning,
) -> Stream:
    """A stream as a form that begins with a graphics state; some elements of it in the space of the stream."""
    write = partial(write_stream, derived_pdf)
    made = PlateResources(derived_pdf, rendering, write, masked="/SMask" in begin.state, opacity=begin.opacity)
    writer = _StreamWriter(derived_pdf, rendering, content, to_mm, made, part)
    writer.resources.ExtGState.PlBegin = begin.state
    stream, resources = writer.write(begin.first, b"/PlBegin gs ")
    form = as_form(stream, resources, content, None)
    if part is not None:
        form.Matrix = Array(list(IDENTITY))
    return form


class _StreamWriter(PatternPainter):
    """Writes one stream, or some elements of it, through a mask where there is one."""

    def write(self, first: bool, begin: bytes = b"") -> Written:
        """The stream anew and its resources; ``first`` as in ``write_stream``, ``begin`` stands before all."""
        content = self.content
        data, out, at = content.data, [begin], 0
        if first:
            out.append(self._colour(content.first_fill, False) + self._colour(content.first_stroke, True))
        fill_colour, stroke_colour = int(EditKind.FILL_COLOUR), int(EditKind.STROKE_COLOUR)
        paint, show, drop = int(EditKind.PAINT), int(EditKind.SHOW), int(EditKind.DROP)
        actions = self.actions + bytes([SKIP])  # row -1 is none
        edits = self._left_to_write()
        fills, strokes = self._setting(edits, fill_colour, b"rg"), self._setting(edits, stroke_colour, b"RG")
        columns = (column.tolist() for column in edits[self._changes(edits)].T)
        for start, end, kind, a, b, path_start in zip(*columns, strict=True):
            # Colours are nine edits in ten, so they take the short way.
            if kind == fill_colour and a in fills:
                written = fills[a]
            elif kind == stroke_colour and a in strokes:
                written = strokes[a]
            elif kind == paint and actions[a] == SKIP and (b < 0 or actions[b] == SKIP):
                written = b" n "
            elif kind == drop:
                written = b" "
            elif kind == show and b < 0 and actions[a] == PAINT and (around := self._around_fill(a)):
                written = around[0] + data[start:end] + around[1]
            else:
                start, written = self._tried(Edit(start, end, kind, a, b, path_start), at)
            out += [data[at:start], written]
            at = end
        out.append(data[at:])
        return self.derived_pdf.out.make_stream(b"".join(out)), self.resources

    def _setting(self, edits: NDArray[np.int64], kind: int, operator: bytes) -> dict[int, bytes]:
        """What sets the colours of some edits, patterns excepted."""
        numbers = edits[edits[:, 2] == kind, 3]
        return self.plain.setting(numbers[~self.patterned[numbers]], operator)

    def _tried(self, edit: Edit, at: int) -> tuple[int, bytes]:
        try:
            return self._edited(edit, at)
        except NotDrawn as fault:
            return edit.start, self._left_out(edit, str(fault))

    def _left_out(self, edit: Edit, because: str) -> bytes:
        """What stands in place of something that cannot be written, once it is remembered."""
        kind, missing = edit.kind, partial(Missing, because, self.content)
        if kind == EditKind.CALL:
            self.derived_pdf.missing.append(Missing(because, self.content.calls[edit.a].content))
        elif kind in (EditKind.FILL_COLOUR, EditKind.STROKE_COLOUR):
            self.derived_pdf.missing.append(missing(colour=edit.a))
        else:
            rows = [row for row in (edit.a, edit.b) if row >= 0 and self.actions[row] != SKIP]
            self.derived_pdf.missing += [missing(row=row) for row in rows]
        if kind == EditKind.PAINT:
            return b" n "
        if kind == EditKind.SHOW:  # how far it moves what comes behind it stays
            return set_mode(3, self.content.data[edit.start : edit.end], self._render_mode(edit.a))
        return b" "

    def _render_mode(self, row: int) -> int:
        return self._state(row).render_mode

    def _left_to_write(self) -> NDArray[np.int64]:
        """The edits of the stream, of what is not painted no more than where its bytes vanish."""
        gone = self._can_go(np.frombuffer(self.actions, np.uint8) == SKIP)
        return self._left_to_all.without_rows(self.content, gone).edits if gone[:-1].any() else self.content.edits

    def _can_go(self, unpainted: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which of some rows that are not painted nothing else needs, and behind them row -1, which is none."""
        gone = np.append(unpainted, True)
        if self.patterned[self.content.colour].any():
            gone[:-1] &= ~self.patterned[self.content.colour]
        if self._has_clipping_text:
            modes = np.array([state.render_mode for state in self.derived_pdf.page_content.states])
            gone[:-1] &= (modes[self.content.state] < 4) | (self.content.painted != Painted.TEXT)
        return gone

    @property
    def _left_to_all(self) -> EditsLeft:
        """The edits of the stream; in a document for windows those that are left to all of its renderings."""
        derived_pdf, content = self.derived_pdf, self.content
        if content.number in derived_pdf.edits_left:
            return derived_pdf.edits_left[content.number]
        if content.number not in derived_pdf.can_vanish:
            derived_pdf.can_vanish[content.number] = can_vanish(content)
        left = EditsLeft(content.edits, derived_pdf.can_vanish[content.number])
        if derived_pdf.in_window and content.number in derived_pdf.left_out:
            unpainted = np.zeros(len(content.painted), bool)
            unpainted[derived_pdf.left_out[content.number]] = True
            left = left.without_rows(content, self._can_go(unpainted))
        derived_pdf.edits_left[content.number] = left
        return left

    def _around_fill(self, row: int) -> tuple[bytes, bytes] | None:
        """What stands before and behind text that is filled and no more; None where that takes a closer look.

        It is the same for all text in one state, as most of it is: see ``_show``.
        """
        number = int(self.content.state[row])
        if number not in self._fills:
            self._fills[number] = self._around_fill_in(row)
        return self._fills[number]

    def _around_fill_in(self, row: int) -> tuple[bytes, bytes] | None:
        if self._in_patterns or self._has_type3 or self._state(row).render_mode != 0:
            return None
        before, usual = self._alpha(0.0), self._alpha(self._stroke_alpha(row))
        return before + b"2 Tr ", b" 0 Tr " + usual

    @cached_property
    def _has_type3(self) -> bool:
        type3 = self.derived_pdf.page_content.type3
        return any(type3[number] for number in np.unique(self.content.font).tolist() if number >= 0)

    @cached_property
    def _fills(self) -> dict[int, tuple[bytes, bytes] | None]:
        return {}

    def _changes(self, edits: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which edits change anything in this rendering."""
        kind, a, b = edits[:, 2], edits[:, 3], edits[:, 4]
        painted = kind == EditKind.PAINT
        altered = np.append(self.changed, False)  # row -1 is none
        pattern = np.append(self.patterned[self.content.colour], False)
        changes = ~painted
        changes[painted] = altered[a[painted]] | altered[b[painted]] | pattern[a[painted]] | pattern[b[painted]]
        return np.asarray(changes)

    # -- edits ------------------------------------------------------------------------------------------------

    def _edited(self, edit: Edit, at: int) -> tuple[int, bytes]:
        """Where the new writing begins and what it is; all before ``at`` has been written."""
        kind = edit.kind
        if kind == EditKind.FILL_COLOUR:
            return edit.start, b" " + self._colour(edit.a, False)
        if kind == EditKind.STROKE_COLOUR:
            return edit.start, b" " + self._colour(edit.a, True)
        if kind == EditKind.PAINT:
            return self._paint(edit, at)
        if kind == EditKind.SHOW:
            shown = self._show(edit)
            if self._has_clipping_text and self._state(edit.a).clips_to_text:
                self._note_clip(edit)
            return edit.start, shown
        if kind == EditKind.CALL:
            return edit.start, self._call(edit)
        if kind == EditKind.DROP:
            return edit.start, b" "
        if kind == EditKind.DASH:
            lengths, phase = self.content.dashes[edit.a]
            return edit.start, b" [%s] %.6f d " % (b" ".join(b"%.6f" % v for v in with_dots(lengths)), phase)
        if kind == EditKind.STATE_FONT:
            return edit.start, self._state_font(edit)
        return edit.start, self._picture(edit, self.actions[edit.a])

    def _paint(self, edit: Edit, at: int) -> tuple[int, bytes]:
        operator = self.content.data[edit.start : edit.end]
        fill, stroke = self._action_of(edit.a), self._action_of(edit.b)
        if self._in_patterns and self._is_in_cells(edit):
            return self._paint_in_cells(edit, at, fill, stroke)
        if LEAVE in (fill, stroke):
            return edit.start, self._paint_leaving(edit, fill, stroke)
        keeps_fill, keeps_stroke = fill == PAINT, stroke == PAINT
        if keeps_fill and stroke is not None:
            self._allow_both(edit, keeps_stroke)
        if (fill is None or keeps_fill) and (stroke is None or keeps_stroke):
            written = operator
        elif keeps_fill:
            written = _FILLED_AS.get(operator, operator)
        else:
            written = _STROKED_AS.get(operator, operator)
        apart = keeps_stroke and keeps_fill and self._has_pattern(edit.b) and not self._is_one(edit.a, edit.b)
        if apart or (keeps_stroke and self.faint[edit.b] < 1):
            return self._paint_apart(edit, at, written)
        before, after = self._as_a_whole(edit.a if keeps_fill else edit.b)
        return edit.start, before + b" " + written + after

    def _paint_apart(self, edit: Edit, at: int, written: bytes) -> tuple[int, bytes]:
        """A stroke, as faint as it has to be, behind the fill of its path.

        Painted at once, PDFium lets a stroke of another alpha knock its fill out, and paints patterns first.
        """
        begin = edit.path_start if at <= edit.path_start else edit.start
        path = self.content.data[edit.path_start : edit.start]
        fainter, usual = self._as_a_whole(edit.b, self.faint[edit.b])
        if not fainter:
            usual = self._alpha(self._stroke_alpha(edit.b))
            fainter = self._alpha(self._stroke_alpha(edit.b) * self.faint[edit.b])
        stroke = b"s" if written in (b"b", b"b*", b"s") else b"S"
        filled = b""
        if written in _FILLED_AS:
            if b"W" in path:  # the clip may begin behind the whole object only
                stroke = written
            else:
                filled = path + b" " + _FILLED_AS[written] + b" "
        again = path if filled or begin == edit.path_start else b""
        return begin, filled + fainter + again + b" " + stroke + b" " + usual

    def _show(self, edit: Edit) -> bytes:
        """Text, filled as paths: PDFium paints small glyphs as little pictures on whole pixels, up to 8 % too large.

        It takes the way through paths where text is stroked, so a fill is painted with a stroke of alpha 0.
        """
        text = self.content.data[edit.start : edit.end]
        row = edit.a
        mode = self._state(row).render_mode
        clips = 4 if mode >= 4 else 0
        if self._is_type3(row):
            return self._show_type3(row, text, mode)
        fill, stroke = (row if mode % 4 in (0, 2) else -1), (row if mode % 4 == 1 else edit.b)
        painted = [(at, at == stroke) for at in (fill, stroke) if at >= 0 and self.actions[at] == PAINT]
        left = [(at, at == stroke) for at in (fill, stroke) if at >= 0 and self.actions[at] == LEAVE]
        usual = self._stroke_alpha(row)
        if self._in_patterns and self._is_shown_in_patterns(painted):
            return self._show_in_patterns(edit, text, painted, left) + set_mode(3 + clips, text, mode)
        # A fill alone is shown with a stroke of alpha 0, a stroke as faint as it has to be.
        alphas = [usual * self.faint[at] if strokes else 0.0 for at, strokes in painted]
        if len(painted) == 1 and not left:
            before, after = self._as_a_whole(painted[0][0])
            shown = set_mode((1 if painted[0][1] else 2) + clips, text, mode)
            return before + self._alpha(alphas[0]) + shown + self._alpha(usual) + after
        if fill >= 0 and stroke >= 0 and painted and not painted[0][1]:
            self._allow_both(edit, len(painted) == 2)
        if len(painted) == 2 and self.faint[stroke] == 1:
            return b" " + text
        shows = [
            b" q " + self._alpha(alpha) + b"%d Tr " % (1 if strokes else 2) + text + b" Q "
            for (_, strokes), alpha in zip(painted, alphas, strict=True)
        ]
        shows += self._text_left(edit, text, left)
        # Once more, invisible, because Q has undone how far the text moved.
        return b" ".join(shows) + set_mode(3 + clips, text, mode)

    def _show_type3(self, row: int, text: bytes, mode: int) -> bytes:
        action = self.actions[row]
        if mode in (3, 7):  # invisible (ISO 32000-2, 9.3.6)
            return set_mode(3, text, mode)
        if action == LEAVE:
            return self._left(int(row), text, in_pattern=False) + set_mode(3, text, mode)
        if action == SKIP:
            return set_mode(3, text, mode)
        glyphs = self.palette.entries[self.content.colour[row]].pattern
        if isinstance(glyphs, ShadingFill | TilingCell):
            return self._type3_in_pattern(row) + set_mode(3, text, mode)
        mixed = isinstance(glyphs, Type3Glyphs) and glyphs.some_uncoloured
        if mixed and self.patterned[self.content.glyph_shows[row].colour]:
            raise CannotBeRendered("a font with glyphs that have colours of their own, and others that take a pattern")
        if isinstance(glyphs, Type3Glyphs):
            self._refuse_changes_by_glyphs(int(row), glyphs, plain=self._is_plain(row))
        before, after = self._as_a_whole(row)
        if not isinstance(glyphs, Type3Glyphs) or not any(glyphs.overprint):
            return before + b" " + text + after
        size, colour = self.content.glyph_shows[row]
        current = self.derived_pdf.action(colour, int(self.content.state[row]), False, self.rendering, SKIP)
        if current == LEAVE and glyphs.some_uncoloured:
            raise CannotBeRendered(
                "a font with glyphs that have colours of their own, and others that overprint in a blend mode"
            )
        shown = self._named("Font", self.made.coloured_font(glyphs, blank=current != PAINT))
        usual = self._named("Font", self.made.font(glyphs.font))
        return before + b" /%s %.6f Tf " % (shown, size) + text + b" /%s %.6f Tf " % (usual, size) + after

    def _call(self, edit: Edit) -> bytes:
        from preflight.artwork.platemaking.inherited_states import inherited_state  # pages without forms do without

        call = self.content.calls[edit.a]
        if call.content.total_rows == 0 or (self.part is not None and edit.a not in self.part.calls):
            return b" "
        inner, to_mm = call.content, times(call.matrix, self.to_mm)
        if self.part is not None and edit.a in self.part.as_shape | self.part.laid | self.part.within.keys():
            return self._part_of_call(edit.a, to_mm)
        opacity = self._fading(call)
        begin = inherited_state(self.made, call)
        key = ("form", inner.number, placed(to_mm), self.rendering, opacity, begin is None)
        made = self.derived_pdf.made
        if key not in made:
            made[key] = self._form(inner, to_mm, opacity, begin)
        name = self._named("XObject", made[key])
        if opacity == 1 and begin is None:
            return b" /" + name + b" Do "
        self.resources.ExtGState.PlWhole = Dictionary(ca=1, CA=1, BM=Name.Normal)
        return b" q /PlWhole gs /" + name + b" Do Q "

    def _part_of_call(self, number: int, to_mm: Matrix) -> bytes:
        """A part of what a form paints, its elements on what lies below, or its box in black: ``composed_groups``."""
        from preflight.artwork.platemaking.group_element_writer import Beginning  # few files need it
        from preflight.artwork.platemaking.inherited_states import inherited_state  # pages without forms do without

        assert self.part is not None
        inner, laid = self.content.calls[number].content, number in self.part.laid
        self.resources.ExtGState.PlLaid = Dictionary(ca=1, CA=1, BM=Name.Normal, SMask=Name("/None"))
        self.resources.ExtGState.PlShape = Dictionary(BM=Name.Normal)
        if number in self.part.as_shape:
            x0, y0, x1, y1 = inner.bbox or FAR_BOX
            box = b"%.6f %.6f %.6f %.6f re f" % (x0, y0, x1 - x0, y1 - y0)
            state = b"/PlLaid" if laid else b"/PlShape"
            return b" q %s gs %s cm 0 g %s Q " % (state, b" ".join(b"%.6f" % v for v in inner.matrix), box)
        within = self.part.within.get(number)
        begin = None if laid else inherited_state(self.made, self.content.calls[number])
        if begin is not None:
            form = _write_part(self.derived_pdf, inner, to_mm, self.rendering, within, Beginning(begin, first=False))
            form.Matrix = Array(list(inner.matrix))
            self.resources.ExtGState.PlWhole = Dictionary(ca=1, CA=1, BM=Name.Normal)
            return b" q /PlWhole gs /" + self._named("XObject", form) + b" Do Q "
        written = write_stream(self.derived_pdf, inner, to_mm, self.rendering, False, within)
        group = None if laid or not inner.group else Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=False)
        name = self._named("XObject", as_form(*written, inner, group))
        return b" q /PlLaid gs /" + name + b" Do Q " if laid else b" /" + name + b" Do "

    def _form(self, inner: Content, to_mm: Matrix, opacity: float, begin: Dictionary | None) -> Stream:
        if begin is not None:
            from preflight.artwork.platemaking.group_element_writer import Beginning  # few files need it

            return _write_part(self.derived_pdf, inner, to_mm, self.rendering, None, Beginning(begin, first=False))
        if opacity < 1:
            from preflight.artwork.platemaking.group_element_writer import write_by_elements  # few files need it

            stream, resources = write_by_elements(
                self.derived_pdf, inner, to_mm, self.rendering, _write_part, opacity=opacity
            )
        else:
            stream, resources = write_stream(self.derived_pdf, inner, to_mm, self.rendering, False)
        group = None
        if inner.group and not self.rendering.silhouette and opacity == 1:
            group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=inner.own_isolated)
        return as_form(stream, resources, inner, group)

    def _fading(self, call: Call) -> float:
        """Opacity that a group's elements have to take over, because PDFium blends none of them with what lies below.

        It takes a group that is not isolated for one as soon as the group itself lets something show.
        """
        state = self.derived_pdf.page_content.states[call.state]
        alpha = state.fill_alpha * self.made.opacity
        whole = alpha == 1 and not state.is_blended
        if whole or not call.content.blends or self.rendering.silhouette:
            return 1.0
        if state.is_blended:
            raise CannotBeRendered(
                "a group with blend modes in it that is blended or masked as a whole, and is not isolated"
            )
        return alpha

    def _picture(self, edit: Edit, action: int) -> bytes:
        if action == SKIP:
            return b" "
        if self.rendering.silhouette:
            return self._shape_of_picture(edit)
        if action == LEAVE:
            return self._picture_left(edit)
        if edit.kind == EditKind.SHADING:
            return self._shading(edit.a, self.made)
        use = self.content.images[edit.a]
        if use.space is None and self._tiling_of(edit.a) is not None:
            return self._stencil_in_cells(edit.a, self.derived_pdf.pictures.stencil(use), IMAGE_CLIP)
        if use.space is None:
            stencil = self._named("XObject", self.derived_pdf.pictures.stencil(use))
            return b" q " + self._before_stencil(edit.a) + IMAGE_CLIP + b" /" + stencil + b" Do Q "
        return b" q " + self._image(use, self.rendering) + b" Q "

    def _before_stencil(self, row: int) -> bytes:
        """The opacity of a stencil: PDFium takes it twice in a plain colour, and for cells as ``_as_a_whole`` says."""
        if self._has_pattern(row) or self.rendering.silhouette:
            return self._as_a_whole(row)[0]
        return self._root_of_alpha(row)

    def _shape_of_picture(self, edit: Edit) -> bytes:
        """The whole square of an image: a soft mask is opacity; of a shading as far as it goes (8.7.4.5.3)."""
        if edit.kind == EditKind.SHADING:
            return self._shading(edit.a, self.made)
        use = self.content.images[edit.a]
        if use.space is None:
            picture = self.derived_pdf.pictures.stencil(use)
            return b" q " + IMAGE_CLIP + b" /" + self._named("XObject", picture) + b" Do Q "
        if lookup(use.stream, "Mask") is not None:
            raise CannotBeRendered("a knock-out group with a masked image in it")
        return b" 0 0 1 1 re f "

    def _state_font(self, edit: Edit) -> bytes:
        """A graphics state that sets a font, and the font once more: PDFium looks for it by name."""
        font, size = self.content.state_fonts[edit.a]
        name = self._named("Font", self.made.font(font))
        return self.content.data[edit.start : edit.end] + b" /%s %.6f Tf " % (name, size)
