"""Resources of one rendering: fonts, graphics states, soft masks, pattern cells and shadings."""

from __future__ import annotations

from collections.abc import Callable
from itertools import cycle

import numpy as np
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.page.geometry import IDENTITY, Matrix, matrix_of, times
from preflight.artwork.pdf.content.page_content import Backdrop
from preflight.artwork.pdf.content.stream_content import Content, ShadingFill, Type3Glyphs
from preflight.artwork.pdf.structure.values import entries, identity, lookup, number, numbers, present, text
from preflight.artwork.platemaking.blend_modes import NORMAL_ON_SPOTS
from preflight.artwork.platemaking.derived_pdf import FAR_BOX, FAR_RE, DerivedPdf, Missing
from preflight.artwork.platemaking.luminosity import luminosity
from preflight.artwork.platemaking.renderings import LUMINOSITY, Rendering
from preflight.errors import CannotBeRendered, NotDrawn

Written = tuple[Stream, Dictionary]
Write = Callable[[Content, Matrix, Rendering, bool], Written]

_KEPT_STATES = ("/LW", "/LC", "/LJ", "/ML", "/ca", "/CA", "/AIS", "/TK", "/SA")
_SEEN_THROUGH = ("/ca", "/CA", "/AIS")
_DOT = 0.001


class PlateResources:
    """Makes the resources of one rendering."""

    def __init__(
        self, derived_pdf: DerivedPdf, rendering: Rendering, write: Write, *, masked: bool = False, opacity: float = 1.0
    ) -> None:
        self.masked = masked
        """The stream is painted through a mask of ours, which its own states must not take off."""
        self.opacity = opacity
        """All that the stream paints is fainter by this."""
        self.derived_pdf = derived_pdf
        self.rendering = rendering
        self.write = write

    def base(self, content: Content, to_mm: Matrix) -> Dictionary:
        """What a stream needs besides its colours: fonts as they are, graphics states without their overprint."""
        resources = content.resources
        found = Dictionary(ExtGState=Dictionary(), XObject=Dictionary(), Pattern=Dictionary(), Shading=Dictionary())
        found.Font = Dictionary()
        for name, font in entries(lookup(resources, "Font")):
            if isinstance(font, Dictionary):
                found.Font[name] = self.font(font)
        for name, state in entries(lookup(resources, "ExtGState")):
            if isinstance(state, Dictionary):
                try:
                    found.ExtGState[name] = self.graphics_state(state, to_mm)
                except NotDrawn as fault:
                    self.derived_pdf.missing.append(Missing(str(fault), content, masked=True))
        return found

    def graphics_state(self, state: Object, to_mm: Matrix) -> Dictionary:
        """A graphics state without what is not the renderer's affair."""
        kept = Dictionary()
        for key in _KEPT_STATES:
            value = lookup(state, key)
            if value is not None:
                kept[key] = self.derived_pdf.copy(value)
        for key in ("/ca", "/CA"):
            if self.opacity < 1 and key in kept:
                kept[key] = (number(kept[key]) or 0.0) * self.opacity
        dash = lookup(state, "D")
        if isinstance(dash, Array) and len(dash) == 2:
            lengths = numbers(dash[0])
            kept.D = self.derived_pdf.copy(dash) if lengths is None else Array([Array(with_dots(lengths)), dash[1]])
        blend = state.get("/BM", None)
        if isinstance(blend, Array):
            blend = blend[0] if len(blend) else None
        if self.rendering.silhouette:
            return Dictionary({key: value for key, value in kept.items() if key not in _SEEN_THROUGH})
        if isinstance(blend, Name):
            kept.BM = Name.Normal if self.rendering.only_spots and text(blend) in NORMAL_ON_SPOTS else blend
        mask = state.get("/SMask", None)
        if self.masked:
            return kept
        if isinstance(mask, Dictionary):
            kept.SMask = self.soft_mask(mask, to_mm)
        elif isinstance(mask, Name):
            kept.SMask = mask
        return kept

    def soft_mask(self, mask: Object, to_mm: Matrix) -> Object:
        """A soft mask; the colours of a luminosity group become how light they are."""
        group = mask.get("/G", None)
        if mask.get("/S", None) != Name.Luminosity or not isinstance(group, Stream):
            if lookup(lookup(group, "Group"), "K") is True:
                raise CannotBeRendered("a soft mask by opacity that is a knock-out group")
            return self.derived_pdf.copy(mask)
        key = ("mask", identity(mask))
        if key not in self.derived_pdf.made:
            made = self.derived_pdf.out.make_indirect(Dictionary(Type=Name.Mask, S=Name.Luminosity))
            self.derived_pdf.made[key] = made
            read = self.derived_pdf.page_content.soft_masks[identity(mask)]
            if read.group is None:
                raise CannotBeRendered(read.because)
            self.derived_pdf.know_solids(read)
            known = len(self.derived_pdf.missing)
            made.G = self._mask_group(read.group, times(read.group.matrix, to_mm))
            if read.backdrop is not None:
                made.BC = self._light_of(read.backdrop)
            lost, self.derived_pdf.missing[known:] = self.derived_pdf.missing[known:], []
            if lost:
                self.derived_pdf.lost_masks[key] = lost[0].because
            if lookup(mask, "TR") is not None:
                made.TR = self.derived_pdf.copy(mask.TR)
        if key in self.derived_pdf.lost_masks:
            raise CannotBeRendered(f"a soft mask that cannot be drawn: {self.derived_pdf.lost_masks[key]}")
        return self.derived_pdf.made[key]

    def even_mask(self, alpha: float) -> Object:
        """A soft mask that lets the same through everywhere."""
        key = ("even mask", round(alpha * 1000))
        if key not in self.derived_pdf.made:
            group = self.derived_pdf.out.make_stream(b"%.3f g %s f" % (alpha, FAR_RE))
            group.Type, group.Subtype, group.BBox = Name.XObject, Name.Form, Array(list(FAR_BOX))
            group.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray, I=True)
            mask = Dictionary(Type=Name.Mask, S=Name.Luminosity, G=group)
            self.derived_pdf.made[key] = self.derived_pdf.out.make_indirect(mask)
        return self.derived_pdf.made[key]

    def _mask_group(self, content: Content, to_mm: Matrix) -> Stream:
        stream, resources = self.write(content, to_mm, LUMINOSITY, True)
        return as_form(stream, resources, content, Dictionary(S=Name.Transparency, CS=Name.DeviceGray, I=True))

    def _light_of(self, backdrop: Backdrop) -> Array:
        space = backdrop.space
        light = luminosity(
            space.plates,
            space.tints(np.array([backdrop.values])),
            self.derived_pdf.solids,
            from_rgb=bool(space.not_a_plate),
        )
        return Array([float(light[0])])

    # -- fonts ------------------------------------------------------------------------------------------------

    def font(self, font: Object) -> Object:
        """A font; a Type 3 font whose glyphs set colours is written anew."""
        if font.get("/Subtype", None) == Name.Type3:
            glyphs = self.derived_pdf.page_content.glyphs.get(identity(font))
            if glyphs is not None:
                return self.coloured_font(glyphs)
        return self.derived_pdf.copy(font)

    def coloured_font(self, glyphs: Type3Glyphs, *, blank: bool = False) -> Object:
        """A Type 3 font whose glyphs set colours, under the overprint state that it is shown with.

        ``blank``: those of its glyphs that take the current colour paint nothing.
        """
        key = ("type3", identity(glyphs.font), glyphs.overprint, blank, self.rendering)
        if key in self.derived_pdf.made:
            return self.derived_pdf.made[key]
        made = Dictionary(Type=Name.Font, Subtype=Name.Type3, CharProcs=Dictionary(), Resources=Dictionary())
        for name in ("/FontBBox", "/FontMatrix", "/FirstChar", "/LastChar", "/Widths", "/Encoding"):
            value = lookup(glyphs.font, name)
            if value is not None:
                made[name] = self.derived_pdf.copy(value)
        made = self.derived_pdf.out.make_indirect(made)
        self.derived_pdf.made[key] = made  # before its glyphs are written: they may show the font itself
        for name, program in present(glyphs.font.CharProcs):
            content = glyphs.coloured.get(name)
            if content is None:
                made.CharProcs[name] = (
                    self.derived_pdf.out.make_stream(b"") if blank else self.derived_pdf.copy(program)
                )
                continue
            made.CharProcs[name], resources = self.write(content, IDENTITY, self.rendering, False)
            for category, group in entries(resources):
                if category not in made.Resources:
                    made.Resources[category] = Dictionary()
                for inner, value in entries(group):
                    made.Resources[category][inner] = value
        return made

    # -- shadings ---------------------------------------------------------------------------------------------

    def shading_pattern(self, shading: ShadingFill) -> Object:
        """A shading as a pattern."""
        key = ("shading pattern", identity(shading.pattern), id(shading.space), self.rendering)
        if key not in self.derived_pdf.made:
            made = Dictionary(Type=Name.Pattern, PatternType=2, Shading=self.shading(shading))
            from preflight.artwork.platemaking.shading_axes import scale_of  # few pages need it

            scale = 1 / scale_of(shading.dictionary)
            made.Matrix = Array(list(times((scale, 0, 0, scale, 0, 0), matrix_of(lookup(shading.pattern, "Matrix")))))
            self.derived_pdf.made[key] = self.derived_pdf.out.make_indirect(made)
        return self.derived_pdf.made[key]

    def shading(self, shading: ShadingFill) -> Object:
        """A shading whose colours go to channels.

        Raises:
            NotDrawn: over a bound, or in no form that can be read.
        """
        key = ("shading", identity(shading.dictionary), id(shading.space), self.rendering)
        if key not in self.derived_pdf.made:
            from preflight.artwork.platemaking.shadings import shading_for_plates  # few pages need it

            self.derived_pdf.made[key] = shading_for_plates(self.derived_pdf, shading, self.rendering)
        return self.derived_pdf.made[key]


def with_dots(lengths: list[float]) -> list[float]:
    """A dash pattern whose dots have a little length: PDFium makes a tenth of a unit of none, and runs ahead."""
    if len(lengths) % 2:
        lengths = lengths * 2
    return [_DOT if on and length == 0 else length for length, on in zip(lengths, cycle((True, False)), strict=False)]


def as_form(stream: Stream, resources: Dictionary, content: Content, group: Dictionary | None) -> Stream:
    """A stream as a form, with the box and matrix that its original has."""
    stream.Type, stream.Subtype, stream.Resources = Name.XObject, Name.Form, resources
    stream.BBox = Array(list(content.bbox or FAR_BOX))
    stream.Matrix = Array(list(content.matrix))
    if group is not None:
        stream.Group = group
    return stream
