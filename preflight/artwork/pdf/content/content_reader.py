"""Content streams to painted rows: resources, forms and bounds. The operators themselves stand in operators.py.

A stream is read once for each graphics state that it is called with; a form placed twenty-four times on a sheet is
read once and its rows are copied through twenty-four matrices (page_objects.py). What is over a bound (depth of forms,
decoded bytes, and those of page_tables.py) is remembered with its reason; it is never taken for nothing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream

from preflight.artwork.page.colours import BY_NAME, Colour
from preflight.artwork.page.geometry import EVERYWHERE, IDENTITY, Box, box_of, matrix_of
from preflight.artwork.pdf.colour.colour_reader import ColourReader, ColourSpace
from preflight.artwork.pdf.content.annotations import with_annotations
from preflight.artwork.pdf.content.blend_spaces import group_space
from preflight.artwork.pdf.content.content_builder import ContentBuilder
from preflight.artwork.pdf.content.fonts import Font
from preflight.artwork.pdf.content.graphics_state import GraphicsState, Overprint
from preflight.artwork.pdf.content.operators import StreamReader
from preflight.artwork.pdf.content.page_content import MOST_ROWS, PageContent, SoftMask
from preflight.artwork.pdf.content.page_tables import MOST_OPERATORS, PageTables
from preflight.artwork.pdf.content.soft_masks import luminosity_masks, read_soft_mask
from preflight.artwork.pdf.content.stream_content import (
    Content,
    FormFacts,
    ShadingFill,
    StreamContext,
    TilingCell,
    Type3Glyphs,
    Undrawn,
)
from preflight.artwork.pdf.content.transparency import Transparency, is_opaque
from preflight.artwork.pdf.images.image_dictionaries import ImageUse, plain_soft_mask
from preflight.artwork.pdf.structure.layers import LayerReader
from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import entries, identity, lookup, whole
from preflight.errors import NotRead, OverLimit, Undecodable

DEEPEST_FORM = 26  # PDFium drops forms nested more than 30 deep; pattern cells and groups take a few levels
MOST_CONTENT_BYTES = 256_000_000
_UNCOLOURED_GLYPH = re.compile(rb"\bd1\b")


@dataclass
class ContentReader:
    """Reads the streams of one page."""

    pdf: Pdf
    colour_reader: ColourReader
    layer_reader: LayerReader
    tables: PageTables = field(default_factory=PageTables)
    _streams: list[Content | None] = field(default_factory=list)
    """By number; None while one is being read."""
    _forms: dict[tuple[object, ...], Content] = field(default_factory=dict)
    _bytes: dict[object, bytes] = field(default_factory=dict)
    _damage: dict[object, list[str]] = field(default_factory=dict)
    _patterns: dict[tuple[object, ...], object] = field(default_factory=dict)
    _glyphs: dict[object, Type3Glyphs] = field(default_factory=dict)
    _open: list[object] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._transparency = Transparency(self.tables.states, self.tables.palette.entries)

    def read(self, page: Object) -> PageContent:
        """All that a page is painted with, and then the soft masks that it is painted through."""
        stream, tables = self._page(page), self.tables
        streams, own = self._finished(), tables.palette.palette()
        fonts, images, opaque = tuple(tables.fonts), tuple(tables.images), is_opaque(tables.states, streams)
        soft_masks = self._soft_masks()
        palette = tables.palette.palette() if soft_masks else own
        return PageContent(
            stream=stream,
            streams=streams,
            states=tuple(tables.states),
            palette=palette,
            colours=own.colours,
            fonts=fonts,
            images=images,
            type3=tuple(facts.type3 for facts in tables.fonts),
            soft_masks=soft_masks,
            image_masks=self._image_masks(),
            glyphs=self._glyphs_without_overprint(),
            opaque=opaque,
            over_bounds=tuple(tables.over_bounds),
            pdf=self.pdf,
        )

    def _finished(self) -> tuple[Content, ...]:
        return tuple(content for content in self._streams if content is not None)

    def _soft_masks(self) -> dict[object, SoftMask]:
        """Soft masks of all streams, and of those that are read for a mask."""
        found, done = dict[object, SoftMask](), 0
        self.layer_reader = LayerReader(self.pdf)  # a layer in nothing but a mask is none of the page's
        while done < len(self._streams):
            fresh = [content for content in self._streams[done:] if content is not None]
            done = len(self._streams)
            for mask in luminosity_masks(fresh):
                key = identity(mask)
                if key not in found:
                    found[key] = read_soft_mask(mask, self, self.first_state())
        return found

    def _image_masks(self) -> dict[object, ImageUse]:
        uses = {use.key: use for content in self._finished() for use in content.images.values()}
        masks = ((key, plain_soft_mask(use, self.colour_reader)) for key, use in uses.items())
        return {key: mask for key, mask in masks if mask is not None}

    def _glyphs_without_overprint(self) -> dict[object, Type3Glyphs]:
        found = dict[object, Type3Glyphs]()
        for glyphs in self._glyphs.values():
            if glyphs.coloured and not any(glyphs.overprint):
                found.setdefault(identity(glyphs.font), glyphs)
        return found

    def first_state(self) -> GraphicsState:
        """The state that a page or a pattern cell begins with: black in DeviceGray."""
        grey = self.colour_reader.resolve(Name.DeviceGray, Dictionary())
        return GraphicsState(self.tables.palette.index(grey, tuple(grey.initial)), grey)

    def _page(self, page: Object) -> Content:
        """The page's own content, read."""
        data = self._page_bytes(page.get("/Contents", None))
        data, resources = with_annotations(page, data, inherited_resources(page))
        group = lookup(page, "Group")
        knockout = lookup(group, "S") == Name.Transparency and bool(lookup(group, "K"))
        content = self._stream(data, StreamContext(resources), FormFacts(knockout=knockout), self.first_state())
        space = group_space(self.pdf, self.colour_reader, page, resources)
        return self._changed(content, group_space=space, lets_show=self._lets_show(content))

    def _changed(self, content: Content, **changes: Any) -> Content:
        """A stream of which more is known once it is read; nothing has taken it up before."""
        changed = replace(content, **changes)
        self._streams[content.number] = changed
        return changed

    def _lets_show(self, content: Content) -> bool:
        return content.knockout and content.total_rows > 1 and not self._transparency.is_solid(content)

    def _page_bytes(self, contents: Object | None) -> bytes:
        """Pieces joined by white space: a token may not run across them (ISO 32000-2, table 31)."""
        pieces = list(contents) if isinstance(contents, Array) else [] if contents is None else [contents]
        room, data = MOST_CONTENT_BYTES, []
        for piece in pieces:
            try:
                remarks: list[str] = []
                data.append(read_stream(piece, room, remarks))
                for remark in remarks:
                    self.tables.over(f"a part of the page is damaged: {remark}")
            except (OverLimit, Undecodable) as fault:
                self.tables.over(f"a part of the page cannot be read: {fault}")
                continue
            room -= len(data[-1])
        return b"\n".join(data)

    def _stream(
        self, data: bytes, context: StreamContext, form: FormFacts, state: GraphicsState, damage: Sequence[Undrawn] = ()
    ) -> Content:
        """Read one stream under a state; bounds apply."""
        tables = self.tables
        number, colours = len(self._streams), (state.fill, state.stroke)
        self._streams.append(None)
        # Nobody else holds the builder: what it has collected goes before the last chunk of the stream does.
        content = StreamReader(self, ContentBuilder(number, data, context, form, colours), state).read(damage)
        if tables.exhausted:
            most = min(tables.rows_read, MOST_ROWS)
            tables.over(f"more than {most:,} painted objects or {MOST_OPERATORS:,} operators")
        self._streams[number] = content
        return content

    def form(self, form: Object, state: GraphicsState, around: StreamContext) -> Content:
        """See ``PageReader.form``."""
        itself, group = identity(form), _transparency_group(form)
        own_isolated = group is not None and bool(group.get("/I", False))
        context = replace(around, isolated=around.isolated or own_isolated, uncoloured=False)
        key = (itself, state.inherited(), around.layer, around.hidden, context.isolated)
        if key not in self._forms:
            if itself in self._open:
                raise NotRead("a form that calls itself")
            if around.depth >= DEEPEST_FORM:
                raise NotRead(f"forms nested more than {DEEPEST_FORM} deep")
            facts = FormFacts(
                box_of(form.get("/BBox", None)),
                matrix_of(form.get("/Matrix", None)),
                group is not None,
                own_isolated,
                group is not None and bool(group.get("/K", False)),
            )
            context = replace(context, resources=_own_resources(form, around), depth=around.depth + 1)
            self._forms[key] = self._read_form(form, facts, state, context)
        return self._forms[key]

    def _read_form(self, form: Object, facts: FormFacts, state: GraphicsState, context: StreamContext) -> Content:
        itself, inner = identity(form), state.copy()
        inner.ctm, inner.clip, inner.number = IDENTITY, EVERYWHERE, -1
        if facts.group:
            inner.blend, inner.fill_alpha, inner.stroke_alpha, inner.soft_mask = "Normal", 1.0, 1.0, False
        data = self._form_bytes(form, itself)
        damage = [] if context.hidden else self._undrawn(itself, facts.bbox)
        self._open.append(itself)
        try:
            content = self._stream(data, context, facts, inner, damage)
        finally:
            self._open.pop()
        if not facts.group:
            return content
        return self._changed(
            content,
            group_space=group_space(self.pdf, self.colour_reader, form, content.resources),
            lets_show=self._lets_show(content),
            blends=not facts.own_isolated and self._transparency.blends(content),
        )

    def _form_bytes(self, form: Object, itself: object) -> bytes:
        """A form's bytes; of a damaged one what can be unpacked."""
        if itself not in self._bytes:
            remarks: list[str] = []
            try:
                self._bytes[itself] = read_stream(form, MOST_CONTENT_BYTES, remarks)
            except (OverLimit, Undecodable) as bound:
                self._bytes[itself] = b""
                remarks.append(str(bound))
            self._damage[itself] = remarks
        return self._bytes[itself]

    def _undrawn(self, itself: object, bbox: Box | None) -> list[Undrawn]:
        """What is wrong with the bytes that a stream is read from is wrong wherever it shows."""
        return [Undrawn(f"a form or pattern is damaged: {remark}", bbox) for remark in self._damage[itself]]

    def pattern(
        self, pattern: Object, under: ColourSpace | None, values: tuple[float, ...], around: StreamContext
    ) -> object | None:
        """See ``PageReader.pattern``."""
        key = (identity(pattern), id(under), values, around.isolated)
        if key not in self._patterns:
            self._patterns[key] = self._read_pattern(pattern, under, values, around)
        return self._patterns[key]

    def _read_pattern(
        self, pattern: Object, under: ColourSpace | None, values: tuple[float, ...], around: StreamContext
    ) -> object | None:
        if whole(lookup(pattern, "PatternType")) == 2:
            return self.shading(pattern.get("/Shading", None), around.resources, pattern)
        if not isinstance(pattern, Stream):
            return None
        state, uncoloured = self.first_state(), whole(lookup(pattern, "PaintType")) == 2
        if uncoloured:
            if under is None or len(values) < under.components:  # operands that are missing, as for a plain colour
                return None
            values = values[len(values) - under.components :]
            state.fill = state.stroke = self.tables.palette.index(under, values)
            state.fill_space = state.stroke_space = under
        itself = identity(pattern)
        if itself in self._open or around.depth >= DEEPEST_FORM:
            self.tables.over("a pattern that calls itself, or nested too deep")
            return None
        facts = FormFacts(box_of(pattern.get("/BBox", None)), matrix_of(pattern.get("/Matrix", None)))
        # Overprint is that of the page's beginning, none: ISO 32000-2, 8.7.3.1.
        context = StreamContext(
            _own_resources(pattern, around), depth=around.depth + 1, isolated=around.isolated, uncoloured=uncoloured
        )
        data = self._form_bytes(pattern, itself)
        self._open.append(itself)
        try:
            content = self._stream(data, context, facts, state, self._undrawn(itself, facts.bbox))
        finally:
            self._open.pop()
        colour = under.colour(values, direct=False) if uncoloured and under else self._colour_of_cell(content)
        return TilingCell(pattern, content, colour)

    def _colour_of_cell(self, content: Content) -> Colour:
        tints: dict[str, float] = {}
        odd = ""
        colours = self.tables.palette.colours()
        for inner in content.with_calls():
            for number in set(inner.colour.tolist()):
                odd = odd or colours[number].not_a_plate
                for name, tint in colours[number].tints:
                    tints[name] = max(tint, tints.get(name, 0.0))
        return Colour("Pattern", tuple(tints.items()), not_a_plate=odd, varies=True)

    def type3(self, font: Font, around: StreamContext, overprint: Overprint, current: int) -> Type3Glyphs:
        """See ``PageReader.type3``."""
        key = (id(font), overprint)
        if key not in self._glyphs:
            assert font.glyphs is not None
            found = Type3Glyphs(font.glyphs, {}, Colour("Pattern", (), varies=True), overprint)
            self._glyphs[key] = found
            self._read_glyphs(found, around)
        glyphs = self._glyphs[key]
        if not glyphs.coloured or not glyphs.some_uncoloured:
            return glyphs
        shown = (*key, current)
        if shown not in self._glyphs:
            self._glyphs[shown] = replace(glyphs, colour=_merged(glyphs.colour, self.tables.palette.colours()[current]))
        return self._glyphs[shown]

    def _read_glyphs(self, found: Type3Glyphs, around: StreamContext) -> None:
        own = lookup(found.font, "Resources")
        context = StreamContext(own if isinstance(own, Dictionary) else around.resources, depth=around.depth + 1)
        for name, stream in entries(lookup(found.font, "CharProcs")) if around.depth < DEEPEST_FORM else ():
            is_stream = isinstance(stream, Stream)
            data = self._form_bytes(stream, identity(stream)) if is_stream else b""
            if _UNCOLOURED_GLYPH.search(data[:200]):
                found.some_uncoloured = True
                continue
            state = self.first_state()
            state.fill_overprint, state.stroke_overprint, state.opm = found.overprint
            damage = self._undrawn(identity(stream), None) if is_stream else []
            found.coloured[name] = self._stream(data, context, FormFacts(), state, damage)
        for content in found.coloured.values():
            found.colour = _merged(found.colour, self._colour_of_cell(content))

    def shading(self, shading: Object | None, resources: Object, pattern: Object | None = None) -> ShadingFill | None:
        """See ``PageReader.shading``."""
        if not isinstance(shading, Dictionary | Stream):
            return None
        space = self.colour_reader.resolve(shading.get("/ColorSpace", Name.DeviceGray), resources)
        tints = tuple((name, 1.0) for name in space.plates if name != "All")
        family = space.base_family or space.family
        family = family if family in BY_NAME else "Pattern"
        colour = Colour(family, tints, registration="All" in space.plates, not_a_plate=space.not_a_plate, varies=True)
        return ShadingFill(shading, space, colour, pattern)


def _transparency_group(form: Object) -> Object | None:
    """The group of a form that is a transparency group (ISO 32000-2, 11.6.6)."""
    group = lookup(form, "Group")
    return group if isinstance(group, Dictionary) and group.get("/S", None) == Name.Transparency else None


def _own_resources(holder: Object, around: StreamContext) -> Object:
    """The resources of a form or pattern; those around it where it has none."""
    own = holder.get("/Resources", None)
    return own if isinstance(own, Dictionary) else around.resources


def _merged(one: Colour, other: Colour) -> Colour:
    tints = dict(one.tints)
    for name, tint in other.tints:
        tints[name] = max(tint, tints.get(name, 0.0))
    return Colour("Pattern", tuple(tints.items()), not_a_plate=one.not_a_plate or other.not_a_plate, varies=True)


def inherited_resources(page: Object) -> Object:
    """The page's resources, from itself or the page tree."""
    node: Any = page
    steps = 0
    while node is not None and steps < 64:
        own = node.get("/Resources", None)
        if isinstance(own, Dictionary):
            return own
        node, steps = node.get("/Parent", None), steps + 1
    return Dictionary()
