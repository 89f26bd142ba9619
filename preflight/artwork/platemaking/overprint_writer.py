"""Words for what an object does to plates that its overprint leaves alone; see ``overprint``."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pikepdf import Dictionary, Name

from preflight.artwork.pdf.content.stream_content import Content, Edit, EditKind, ShadingFill, Type3Glyphs
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, is_soft_masked
from preflight.artwork.platemaking.derived_pdf import LEAVE, PAINT
from preflight.artwork.platemaking.overprint import (
    SQUARED,
    BlendedShape,
    blended_shapes,
    changes_plates_left_alone,
    meets_ink,
)
from preflight.artwork.platemaking.picture_parts import NOTHING, placing
from preflight.artwork.platemaking.plate_resources import PlateResources
from preflight.artwork.platemaking.renderings import SILHOUETTE, Rendering
from preflight.artwork.platemaking.stream_writer_base import IMAGE_CLIP, StreamWriterBase
from preflight.errors import CannotBeRendered


class LeavingPainter(StreamWriterBase):
    """The part of writing a stream that paints on plates which an object leaves alone."""

    @cached_property
    def _sights(self) -> NDArray[np.float64]:
        return self._sight(np.arange(len(self.content.painted)))

    @cached_property
    def _modes(self) -> dict[int, frozenset[str]]:
        """Blend modes in which cells and glyphs overprint, by the numbers of their streams."""
        return {}

    def _blended_shapes(self, row: int) -> list[BlendedShape]:
        content, mode = self.content, self._state(row).blend
        isolated = content.isolated or self.derived_pdf.isolated or self.rendering.light is not None
        return blended_shapes(
            mode, self.rendering, lambda: self._meets_ink(row, mode), isolated=isolated, faint=self._is_faint(row)
        )

    def _meets_ink(self, row: int, mode: str) -> bool:
        return meets_ink(self.derived_pdf.page_content, self.content, row, self.rendering, self._sights, mode)

    def _is_faint(self, row: int) -> bool:
        state, use = self._state(row), self.content.images.get(row)
        whole = state.fill_alpha == state.stroke_alpha == self.made.opacity == 1
        return not whole or state.soft_mask or (use is not None and is_soft_masked(use))

    def _left(self, row: int, painting: bytes, solid: bytes | None = None, *, in_pattern: bool = True) -> bytes:
        """What a row changes on plates that it leaves alone.

        Args:
            row: of the stream.
            painting: paints its shape in the colour in force, through its pattern where it has one.
            solid: paints its shape in solid, where the first does not.
            in_pattern: what it paints can be filled with a pattern.

        Raises:
            NotDrawn: what lies below cannot be blended with itself.
        """
        out = [b""]
        for shape in self._blended_shapes(row):
            self.resources.ExtGState[Name("/PlL" + shape.mode)] = Dictionary(BM=Name("/" + shape.mode))
            painted = solid if shape.solid and solid is not None else painting
            tone = self._tone(row, shape, in_pattern=in_pattern)
            out.append(b" q /PlL" + shape.mode.encode() + b" gs" + tone + painted + b" Q ")
        return b"".join(out)

    def _tone(self, row: int, shape: BlendedShape, *, in_pattern: bool) -> bytes:
        """Bare board or solid; in the shape of the shading where a row is painted in one: it need not go everywhere."""
        pattern = self.palette.entries[self.content.colour[row]].pattern
        if isinstance(pattern, ShadingFill) and pattern.pattern is not None:
            if in_pattern:
                name = self._named("Pattern", self._made_for(shape).shading_pattern(pattern))
                return b" /Pattern cs /%s scn /Pattern CS /%s SCN " % (name, name)
            if shape.solid:
                raise CannotBeRendered("glyphs of a Type 3 font in a shading that overprint in a blend mode")
        return b" 0 0 0 rg 0 0 0 RG " if shape.solid else b" 1 1 1 rg 1 1 1 RG "

    def _made_for(self, shape: BlendedShape) -> PlateResources:
        return PlateResources(self.derived_pdf, SILHOUETTE, self.made.write) if shape.solid else self.made

    # -- paths --------------------------------------------------------------------------------------------------

    def _paint_leaving(self, edit: Edit, fill: int | None, stroke: int | None) -> bytes:
        """Where a plate is left alone, and changed by that: the path painted again, see ``overprint``."""
        path = self.content.data[edit.path_start : edit.start]
        operator = self.content.data[edit.start : edit.end]
        out = []
        even_odd = b"*" if operator.endswith(b"*") else b""
        close = b"s" if operator[:1] in (b"b", b"s") else b"S"
        if fill is not None and stroke is not None and self._changes_by_both(edit) and self.faint[edit.b] == 1:
            # The two are blended as one object (ISO 32000-2, 11.7.4.4), which PDFium makes of them.
            return b" n " + self._left(edit.a, path + b" " + operator)
        for row, action, painter in ((edit.a, fill, b"f" + even_odd), (edit.b, stroke, close)):
            if action == PAINT:
                out.append(path + b" " + painter + b" ")
            elif action == LEAVE:
                out.append(self._left(row, self._faintly(row) + path + b" " + painter))
        # The path itself is kept unpainted: a clip may be waiting for it.
        return b" n " + b" ".join(out)

    def _changes_by_both(self, edit: Edit) -> bool:
        """Whether a fill and its stroke both change a plate that they leave alone.

        Raises:
            NotDrawn: one of them does, and the other paints the plate or is left out; or one is painted in a pattern.
        """
        mode = self._state(edit.a).blend
        if not changes_plates_left_alone(mode, self.rendering):
            return False
        both_left = self.actions[edit.a] == LEAVE and self.actions[edit.b] == LEAVE
        if not both_left or self._has_pattern(edit.a) or self._has_pattern(edit.b):
            raise CannotBeRendered(f"what is filled and stroked at once, and overprints in the blend mode {mode}")
        return True

    def _faintly(self, row: int) -> bytes:
        """A stroke as faint as it has to be."""
        return self._alpha(self._stroke_alpha(row) * self.faint[row]) if self.faint[row] < 1 else b""

    # -- pictures and shadings ----------------------------------------------------------------------------------

    def _picture_left(self, edit: Edit) -> bytes:
        row = edit.a
        if edit.kind == EditKind.SHADING:
            return self._left(row, self._shading(row, self.made), self._shading(row, self._made_for(SQUARED)))
        use, pictures = self.content.images[row], self.derived_pdf.pictures
        if use.space is None:
            stencil = IMAGE_CLIP + b" /" + self._named("XObject", pictures.stencil(use)) + b" Do"
            return self._left(row, (b"" if self._has_pattern(row) else self._root_of_alpha(row)) + stencil)
        return self._left(row, *(self._image(use, rendering) for rendering in (self.rendering, SILHOUETTE)))

    def _image(self, use: ImageUse, rendering: Rendering) -> bytes:
        """An image in the unit square, or of it what a window needs."""
        pictures = self.derived_pdf.pictures
        part = pictures.part_of(use, self.content.number, rendering)
        if part == NOTHING:
            return b""
        place = b"" if part is None else placing(part, use)
        image = pictures.image(use, rendering, self.derived_pdf.solids, part)
        return IMAGE_CLIP + place + b" /" + self._named("XObject", image) + b" Do"

    def _shading(self, row: int, made: PlateResources) -> bytes:
        shading = self.content.shadings[row]
        painted = b" /" + self._named("Shading", made.shading(shading)) + b" sh "
        from preflight.artwork.platemaking.shadings import before_sh  # few pages need it

        before = before_sh(shading.dictionary)
        return b" q" + before + painted + b"Q " if before else painted

    def _root_of_alpha(self, row: int) -> bytes:
        """The root of a stencil's opacity: PDFium takes that twice in a plain colour."""
        alpha = self._state(row).fill_alpha * self.made.opacity
        if alpha == 1:
            return b""
        name = f"PlR{round(alpha * 1000)}"
        self.resources.ExtGState[Name("/" + name)] = Dictionary(ca=max(alpha, 0.0) ** 0.5)
        return f" /{name} gs ".encode()

    # -- cells and glyphs ---------------------------------------------------------------------------------------

    def _refuse_changes_by_glyphs(self, row: int, glyphs: Type3Glyphs, *, plain: bool) -> None:
        """The same for glyphs with colours of their own, which take over the blend mode that they are shown in.

        ``plain``: they are neither blended nor masked nor faint, and PDFium makes no picture of them.
        """
        contents, mode = glyphs.coloured.values(), self._state(row).blend
        if not plain:
            self._refuse_changes_within(contents, "glyphs with colours of their own")
        changes = glyphs.overprint.is_on and changes_plates_left_alone(mode, self.rendering)
        if changes and any((self.derived_pdf.actions(content, self.rendering) != PAINT).any() for content in contents):
            raise CannotBeRendered(f"glyphs with colours of their own that overprint in the blend mode {mode}")

    def _refuse_changes_within(self, contents: Iterable[Content], what: str) -> None:
        """Raise NotDrawn where anything in cells or glyphs changes plates that it leaves alone.

        PDFium makes a picture of them by themselves, and there is nothing below in that.
        """
        for content in contents:
            if content.number not in self._modes:
                self._modes[content.number] = self.derived_pdf.page_content.transparency.modes_of_overprint(content)
            if any(changes_plates_left_alone(mode, self.rendering) for mode in self._modes[content.number]):
                raise CannotBeRendered(f"{what} in which something overprints in a blend mode")
