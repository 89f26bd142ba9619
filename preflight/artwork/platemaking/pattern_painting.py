"""Painting in patterns, where PDFium does not paint as the standard has it.

Type in a pattern (ISO 32000-2, 9.3.6): PDFium strokes it at full opacity whatever the opacity is, and fills it only
within the boxes that the font gives its glyphs; the pattern is painted through a clip to the glyphs instead. Glyphs of
Type 3 fonts clip nothing, so they become a soft mask.

Tilings of which some thousands of cells are in sight at most are no tilings any more: the cells are drawn through a
clip to what is filled with them, as the group that 11.6.7 makes of them. Strokes clip nothing either: PDFium is given
a pattern that is larger than what it paints, and cut into windows where that would be too large for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property

import numpy as np
from pikepdf import Dictionary, Name, Object

from preflight.artwork.page.geometry import Box, Matrix, overlap, singular_values
from preflight.artwork.pdf.content.stream_content import Content, Edit, EditKind, ShadingFill, TilingCell
from preflight.artwork.platemaking.derived_pdf import FAR_BOX, FAR_RE, LEAVE, PAINT
from preflight.artwork.platemaking.overprint_writer import LeavingPainter
from preflight.artwork.platemaking.tiling_cells import (
    DrawnTiling,
    drawn,
    form_of,
    in_window,
    is_paintable,
    lattice_of,
    repeated,
)
from preflight.artwork.platemaking.tilings import MOST_CELLS, inverse
from preflight.errors import CannotBeRendered, TooBig

_ALIKE = 0.02
"""Scales that differ by less make strokes of one width."""
_MOST_WINDOWS = 16
"""Each way."""
_END_OF_TEXT = re.compile(rb"(?<![\w/(])ET(?!\w)")


class PatternPainter(LeavingPainter):
    """The part of writing a stream that paints in patterns."""

    @cached_property
    def _in_patterns(self) -> bool:
        """Whether anything is painted in a pattern, or may be stroked in one."""
        return bool(self._strokes_in_patterns or self.patterned[self.content.colour].any())

    @cached_property
    def _strokes_in_patterns(self) -> bool:
        """Whether the stroking colour may be a pattern, which PDFium strokes type with at an opacity of 0 too."""
        edits, patterned = self.content.edits, self.patterned
        setting = edits[edits[:, 2] == EditKind.STROKE_COLOUR, 3]
        return bool(patterned[self.content.first_stroke] or patterned[setting].any())

    # -- which tilings are drawn --------------------------------------------------------------------------------

    def _drawn(self, number: int) -> DrawnTiling | None:
        """A colour as a tiling that is drawn cell by cell; None where it is none."""
        if number not in self.tilings:
            self.tilings[number] = self._to_draw(number)
        return self.tilings[number]

    def _to_draw(self, number: int) -> DrawnTiling | None:
        from preflight.artwork.platemaking.tiling_grounds import grounds, is_all_ground  # few files need it

        cell = self.palette.entries[number].pattern
        found = lattice_of(cell) if isinstance(cell, TilingCell) else None
        if found is None:
            return None
        assert isinstance(cell, TilingCell)
        rows = np.flatnonzero(self.content.colour == number)
        boxes = self._sight(rows)
        shows = (boxes[:, 0] < boxes[:, 2]) & (boxes[:, 1] < boxes[:, 3])
        if not shows.any() or self._is_handed_on(number):
            return None
        low, high = boxes[shows, :2].min(0), boxes[shows, 2:].max(0)
        cells = found.in_sight((*low.tolist(), *high.tolist()))
        if cells.many > MOST_CELLS and not is_all_ground(
            cell.content, grounds(cell, self.derived_pdf.page_content.states)
        ):
            return None
        return DrawnTiling(
            cell, found, cells, dict(zip(rows[shows].tolist(), map(tuple, boxes[shows].tolist()), strict=True))
        )

    def _is_handed_on(self, number: int) -> bool:
        """Whether a form takes the colour over from this stream, or this stream from where it is placed."""
        content = self.content
        return number in (content.first_fill, content.first_stroke) or any(
            _takes_over(call.content, number) for call in content.calls
        )

    def _tiling_of(self, row: int) -> DrawnTiling | None:
        """The tiling that is drawn for a row; None where there is none."""
        if row < 0 or not self._has_pattern(row):
            return None
        return self._drawn(int(self.content.colour[row]))

    # -- cells --------------------------------------------------------------------------------------------------

    def _cells(self, row: int, found: DrawnTiling) -> bytes:
        """Cells drawn for a row; stands in the space of the stream."""
        form = self._cell_form(row, found)
        return b"" if form is None else b" /" + self._named("XObject", form) + b" Do "

    def _cell_form(self, row: int, found: DrawnTiling, *, masked: bool = False) -> Object | None:
        cells = found.cells(row)
        if not cells.many:
            return None
        plain = self._is_plain(row)
        blended = (masked or not plain) and not self.rendering.silhouette
        if blended and self.derived_pdf.page_content.transparency.blends(found.cell.content):
            raise CannotBeRendered(
                "a tiling pattern with blend modes in it that is blended, masked or semi-transparent as a whole"
            )
        return drawn(self.made, found.cell, self.to_mm, found.lattice, cells, isolated=not plain and not masked)

    def _is_plain(self, row: int) -> bool:
        """Whether what fills a row is neither blended nor masked nor faint as a whole."""
        alpha = self._state(row).fill_alpha * self.made.opacity
        return alpha == 1 and not self._is_blended(row)

    def _windows(self, row: int, found: DrawnTiling, matrix: Matrix) -> Iterator[bytes]:
        """Clips and colours with which a row is painted, once with each; ``matrix`` is the one in force.

        Raises:
            NotDrawn: there would be too many.
        """
        box, stroke = found.boxes.get(row), bool(self.content.stroked[row])
        if box is None:
            return
        self._refuse_changes_within([found.cell.content], "a tiling pattern")
        for each_way in range(1, _MOST_WINDOWS + 1):
            windows = list(_parts(box, each_way))
            if is_paintable(self.made, found.lattice, self.to_mm, windows[0]):
                break
        else:
            raise TooBig("a stroke in a tiling pattern that is too large to be drawn")
        for window in windows:
            cells = found.lattice.in_sight(window)
            if cells.many:
                pattern = in_window(self.made, found.cell, self.to_mm, found.lattice, cells, window)
                clip = b""
                if len(windows) > 1:
                    x0, y0, x1, y1 = window
                    edge = b"%.4f %.4f %.4f %.4f re W n " % (x0, y0, x1 - x0, y1 - y0)
                    clip = _undo(matrix) + edge + b"%.9f %.9f %.9f %.9f %.6f %.6f cm " % matrix
                yield clip + self._pattern(pattern, stroke)

    # -- colours ------------------------------------------------------------------------------------------------

    def _colour(self, number: int, stroke: bool) -> bytes:
        found = self._pattern_of(number)
        return self.plain[number] + (b" RG " if stroke else b" rg ") if found is None else self._pattern(found, stroke)

    def _pattern_of(self, number: int) -> Object | None:
        """The pattern that a colour is for PDFium; None where it is none, or its cells are drawn where it paints."""
        pattern = self.palette.entries[number].pattern
        if isinstance(pattern, TilingCell):
            if self._drawn(number):
                return None
            self._refuse_changes_within([pattern.content], "a tiling pattern")
            return repeated(self.made, pattern, self.to_mm)
        if isinstance(pattern, ShadingFill) and pattern.pattern is not None:
            return self.made.shading_pattern(pattern)
        return None

    def _one_window(self, fill: int, stroke: int, matrix: Matrix) -> bytes | None:
        """Colours in which a fill and its stroke are painted at once; None where they need not be.

        Raises:
            NotDrawn: they are too large for one window.
        """
        if not self._is_one(fill, stroke):
            return None
        colours = b""
        for row in (fill, stroke):
            found = self._tiling_of(row)
            windows = [b""] if found is None else list(self._windows(row, found, matrix))
            if len(windows) > 1:
                raise CannotBeRendered("what is filled and stroked at once in a tiling pattern, and blended or masked")
            if not windows:  # none of its cells is in sight
                return None
            colours += windows[0]
        return colours

    def _pattern(self, pattern: Object, stroke: bool) -> bytes:
        space, colour = (b"CS", b"SCN") if stroke else (b"cs", b"scn")
        return b"/Pattern %s /%s %s " % (space, self._named("Pattern", pattern), colour)

    # -- paths --------------------------------------------------------------------------------------------------

    def _is_in_cells(self, edit: Edit) -> bool:
        """Whether a path is painted in a tiling that is drawn."""
        rows = [row for row in (edit.a, edit.b) if row >= 0 and self._has_pattern(row) and self.actions[row] == PAINT]
        return any(self._tiling_of(row) is not None for row in rows)

    def _paint_in_cells(self, edit: Edit, at: int, fill: int | None, stroke: int | None) -> tuple[int, bytes]:
        """A path of which the fill or the stroke is a tiling that is drawn."""
        begin = edit.path_start if at <= edit.path_start else edit.start
        path = self.content.data[edit.path_start : edit.start]
        operator = self.content.data[edit.start : edit.end]
        if fill == PAINT and stroke is not None:
            self._allow_both(edit, stroke == PAINT)
        even_odd = b"*" if operator.endswith(b"*") else b""
        out = [] if begin == edit.path_start else [b" n "]
        closed = b"s" if operator[:1] in (b"b", b"s") else b"S"
        colours = None
        if LEAVE in (fill, stroke) and fill is not None and stroke is not None:
            self._changes_by_both(edit)
        if fill == PAINT and stroke == PAINT:
            colours = self._one_window(edit.a, edit.b, tuple(self.content.frame[edit.a].tolist()))
        if colours is not None:
            out.append(b" q " + colours + path + b" " + operator + b" Q ")
        else:
            for row, action, how in ((edit.a, fill, b"f" + even_odd), (edit.b, stroke, closed)):
                if action == LEAVE:
                    out.append(self._left(row, self._faintly(row) + path + b" " + how))
                elif action == PAINT:
                    out += self._path_in_cells(row, path, how)
        if begin == edit.path_start and b"W" in path:
            out.append(path + b" n ")
        return begin, b"".join(out)

    def _path_in_cells(self, row: int, path: bytes, how: bytes) -> Iterator[bytes]:
        found, strokes, faint = self._tiling_of(row), bool(self.content.stroked[row]), self.faint[row]
        matrix: Matrix = tuple(self.content.frame[row].tolist())
        if found is not None and not strokes:
            clip = b" W* n " if how.endswith(b"*") else b" W n "
            yield b" q " + path + clip + _undo(matrix) + self._cells(row, found) + b" Q "
            return
        before, _ = self._as_a_whole(row, faint)
        if strokes and not before:
            before = self._alpha(self._stroke_alpha(row) * faint)
        for colour in [b""] if found is None else self._windows(row, found, matrix):
            yield b" q " + before + colour + path + b" " + how + b" Q "

    # -- type ---------------------------------------------------------------------------------------------------

    def _is_shown_in_patterns(self, painted: list[tuple[int, bool]]) -> bool:
        return any(self._has_pattern(row) or (self._strokes_in_patterns and not strokes) for row, strokes in painted)

    def _show_in_patterns(
        self, edit: Edit, text: bytes, painted: list[tuple[int, bool]], left: list[tuple[int, bool]]
    ) -> bytes:
        """Text of which the fill or the stroke is a pattern, or may be stroked in one where it shall not."""
        shows: list[bytes] = []
        if edit.b >= 0 and painted and not painted[0][1] and (left or len(painted) == 2):
            self._allow_both(edit, len(painted) == 2)
        if len(painted) == 2:
            (fill, _), (stroke, _) = painted
            colours = self._one_window(fill, stroke, self._ctm(fill)) if self._has_pattern(fill) else None
            if colours is not None:
                return b" q " + colours + self._width_for_glyphs(stroke) + b"2 Tr " + text + b" Q "
        for row, strokes in painted:
            alpha = self._stroke_alpha(row) * self.faint[row] if strokes else 0.0
            if not self._has_pattern(row):
                colour = b"" if strokes else b"0 G "
                shows.append(b" q " + colour + self._alpha(alpha) + b"%d Tr " % (1 if strokes else 2) + text + b" Q ")
            elif strokes or self._clip_waits(edit.start):
                shows += self._by_glyphs(row, text, strokes)
            else:
                shows.append(b" q 7 Tr " + text + b" ET " + self._in_clip(row) + b" Q ")
        shows += self._text_left(edit, text, left)
        return b"".join(shows)

    def _text_left(self, edit: Edit, text: bytes, left: list[tuple[int, bool]]) -> Iterator[bytes]:
        """Text on plates that its fill or its stroke leaves alone; filled as paths, as ``_show`` has it."""
        if left and edit.b >= 0 and self._changes_by_both(edit) and self.faint[edit.b] == 1:
            yield self._left(edit.a, b"2 Tr " + text)
            return
        for row, strokes in left:
            width = self._width_for_glyphs(row) if strokes and self._has_pattern(row) else b""
            if not self._has_pattern(row):
                how = self._faintly(row) + b"1 Tr " if strokes else self._alpha(0.0) + b"2 Tr "
                yield self._left(row, how + text)
            elif strokes or self._clip_waits(edit.start):
                before, _ = self._as_a_whole(row, self.faint[row])
                yield self._left(row, before + width + b"%d Tr " % strokes + text)
            else:
                yield self._left(row, b"7 Tr " + text + b" ET " + _undo(self._ctm(row)) + FAR_RE + b" f")

    def _by_glyphs(self, row: int, text: bytes, strokes: bool) -> Iterator[bytes]:
        """Text filled or stroked as PDFium does it, where no clip can be made of it or one is being gathered."""
        found, matrix = self._tiling_of(row), self._ctm(row)
        before, _ = self._as_a_whole(row, self.faint[row])
        width = self._width_for_glyphs(row) if strokes else b""
        for colour in [b""] if found is None else self._windows(row, found, matrix):
            yield b" q " + before + width + colour + b"%d Tr " % strokes + text + b" Q "

    def _width_for_glyphs(self, row: int) -> bytes:
        """The line width as the matrix makes it: PDFium takes it as it is for type that is stroked in a pattern."""
        state, matrix = self._state(row), self.content.outlined[row]
        narrow, wide = (float(value[0]) for value in singular_values(np.array([matrix[:4]])))
        if abs(wide - 1) < _ALIKE and abs(narrow - 1) < _ALIKE:
            return b""
        if wide - narrow > _ALIKE * wide or state.dashed:
            raise CannotBeRendered(
                "type that is stroked in a pattern, with strokes of two widths or dashes that are scaled"
            )
        return b"%.6f w " % (state.line_width * wide)

    def _in_clip(self, row: int) -> bytes:
        """What fills a clip to the glyphs of a row."""
        found = self._tiling_of(row)
        if found is not None:
            return _undo(self._ctm(row)) + self._cells(row, found)
        return self._as_a_whole(row)[0] + _undo(self._ctm(row)) + FAR_RE + b" f "

    def _ctm(self, row: int) -> Matrix:
        return self.content.pattern_text[row].ctm

    def _clip_waits(self, at: int) -> bool:
        """Whether text that is to clip has been shown, and its text object has not ended: ours would end it.

        Raises:
            NotDrawn: there may be a clip to text already, and PDFium forgets that where it fills glyphs in a pattern.
        """
        waits = self._text_goes_on(at)
        if waits and self.clips_to_text > 1:
            raise CannotBeRendered(
                "type that clips and is painted in a pattern bit by bit, after other type that clips"
            )
        return waits

    def _text_goes_on(self, at: int) -> bool:
        shown = self.clip_shown
        return shown >= 0 and _END_OF_TEXT.search(self.content.data, shown, at) is None

    def _note_clip(self, edit: Edit) -> None:
        """Text that is to clip has been shown."""
        self.clips_to_text += not self._text_goes_on(edit.start)
        self.clip_shown = edit.end

    # -- through a mask -----------------------------------------------------------------------------------------

    def _type3_in_pattern(self, row: int) -> bytes:
        """Glyphs that take a pattern for their colour."""
        ctm, text_matrix, setting, shown, font = self.content.pattern_text[row]
        assert font is not None
        how = b"/F %.6f Tf %.6f Tc %.6f Tw %.6f Tz %.6f Ts " % setting._replace(stretch=setting.stretch * 100)
        words_shown = b"q %.9f %.9f %.9f %.9f %.6f %.6f cm 1 g BT " % ctm + how
        words_shown += b"%.9f %.9f %.9f %.9f %.6f %.6f Tm " % text_matrix + shown + b" ET Q"
        return self._through(row, words_shown, Dictionary(Font=Dictionary(F=self.made.font(font))), ctm)

    def _stencil_in_cells(self, row: int, picture: Object, clip: bytes) -> bytes:
        matrix: Matrix = tuple(self.content.frame[row].tolist())
        placed = b"q %.9f %.9f %.9f %.9f %.6f %.6f cm 1 g " % matrix + clip + b" /I Do Q"
        return self._through(row, placed, Dictionary(XObject=Dictionary(I=picture)), matrix)

    def _through(self, row: int, white: bytes, resources: Dictionary, matrix: Matrix) -> bytes:
        """A row's pattern through a mask that is open where something is white, both in the space of the stream."""
        found, out = self._tiling_of(row), self.derived_pdf.out
        box = overlap(tuple(self._sight(np.array([row]))[0].tolist()), FAR_BOX)
        mask = form_of(self.made, out.make_stream(white), resources, box)
        mask.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray, I=True)
        state = Dictionary(SMask=Dictionary(Type=Name.Mask, S=Name.Luminosity, G=mask))
        own = Dictionary(ExtGState=Dictionary(PlM=state), XObject=Dictionary(), Pattern=Dictionary())
        if found is not None:
            form = self._cell_form(row, found, masked=True)
            if form is None:
                return b""
            own.XObject.C, painting = form, b"/PlM gs /C Do"
        else:
            own.Pattern.P = self._pattern_of(int(self.content.colour[row]))
            x0, y0, x1, y1 = box
            painting = b"/PlM gs /Pattern cs /P scn %.4f %.4f %.4f %.4f re f" % (x0, y0, x1 - x0, y1 - y0)
        whole = form_of(self.made, out.make_stream(painting), own, box, isolated=not self._is_plain(row))
        return b" q " + _undo(matrix) + b"/" + self._named("XObject", whole) + b" Do Q "


def _undo(matrix: Matrix) -> bytes:
    """Takes a matrix that is in force off again; where that cannot be, nothing shows anyhow."""
    back = inverse(matrix)
    return b" 0 0 0 0 re W n " if back is None else b" %.9f %.9f %.9f %.9f %.6f %.6f cm " % back


def _parts(box: Box, each_way: int) -> Iterator[Box]:
    """A box cut into equal ones."""
    x0, y0, x1, y1 = box
    across, up = (x1 - x0) / each_way, (y1 - y0) / each_way
    for column in range(each_way):
        for row in range(each_way):
            left, low = x0 + column * across, y0 + row * up
            yield (left, low, left + across, low + up)


def _takes_over(content: Content, number: int) -> bool:
    """Whether a form, or one in it, paints in a colour that it begins with."""
    if number not in (content.first_fill, content.first_stroke):
        return False
    return bool((content.colour == number).any()) or any(_takes_over(call.content, number) for call in content.calls)
