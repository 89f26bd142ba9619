"""Content streams to painted rows: resources, forms and bounds. The operators themselves stand in operators.py.

A stream is read once for each graphics state that it is called with; a form placed twenty-four times on a sheet is
read once and its rows are copied through twenty-four matrices (flatten.py).

Bounds, because a file controls all of this: depth of forms, painted rows, decoded bytes, operators. What is over a
bound is remembered with its reason and ends the reading there; it is never taken for nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Any

from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream

from preflight.artwork.colour.colours import ColourReader, ColourSpace
from preflight.artwork.document import OverBound
from preflight.artwork.matrices import box_of, matrix_of
from preflight.artwork.objects import FontFacts, ImageFacts
from preflight.artwork.page_colours import BY_NAME, Colour
from preflight.artwork.painted.annotations import with_annotations
from preflight.artwork.painted.blending import group_space
from preflight.artwork.painted.content import Content, ShadingFill, TilingCell, Type3Glyphs, Undrawn
from preflight.artwork.painted.fonts import Font, read_font
from preflight.artwork.painted.showing import blends, is_solid
from preflight.artwork.painted.states import GraphicsState, Palette
from preflight.artwork.structure.layers import LayerReader
from preflight.artwork.structure.streams import read_stream
from preflight.artwork.structure.values import entries, identity, lookup, whole
from preflight.errors import NotRead, OverLimit, Undecodable

DEEPEST_FORM = 26  # PDFium drops forms nested more than 30 deep; pattern cells and groups take a few levels
MOST_ROWS = 2_000_000
MOST_OPERATORS = 40_000_000
MOST_CONTENT_BYTES = 256_000_000
_UNCOLOURED_GLYPH = re.compile(rb"\bd1\b")
_ALL = frozenset({"objects", "plates", "text", "images"})


@dataclass
class Interpreter:
    """Reads the streams of one page; everything that rows point into by number is kept here."""

    pdf: Pdf
    colour_reader: ColourReader
    layer_reader: LayerReader
    palette: Palette = field(default_factory=Palette)
    states: list[tuple[object, ...]] = field(default_factory=list)
    fonts: list[FontFacts] = field(default_factory=list)
    images: list[ImageFacts] = field(default_factory=list)
    contents: list[Content] = field(default_factory=list)
    over_bounds: list[OverBound] = field(default_factory=list)
    solid_rows: dict[tuple[int, bool], bool] = field(default_factory=dict)
    """By stream, and whether overprint counts: whether all of its rows hide what lies below them."""
    rows_read: int = 0
    operators_read: int = 0
    _state_index: dict[tuple[object, ...], int] = field(default_factory=dict)
    _forms: dict[tuple[object, ...], Content] = field(default_factory=dict)
    _bytes: dict[object, bytes] = field(default_factory=dict)
    _damage: dict[object, list[str]] = field(default_factory=dict)
    _fonts: dict[object, tuple[Font, int]] = field(default_factory=dict)
    _patterns: dict[tuple[object, ...], object] = field(default_factory=dict)
    _image_index: dict[ImageFacts, int] = field(default_factory=dict)
    _glyphs: dict[object, Type3Glyphs] = field(default_factory=dict)
    _open: list[object] = field(default_factory=list)

    def over(self, because: str, hits: frozenset[str] = _ALL) -> None:
        """Remember something that is over a bound, once."""
        bound = OverBound(because, hits)
        if bound not in self.over_bounds:
            self.over_bounds.append(bound)

    @property
    def exhausted(self) -> bool:
        """Whether reading has to end because a bound of the whole page is reached."""
        return self.rows_read > MOST_ROWS or self.operators_read > MOST_OPERATORS

    def first_state(self) -> GraphicsState:
        """The state that a page or a pattern cell begins with: black in DeviceGray."""
        grey = self.colour_reader.resolve(Name.DeviceGray, Dictionary())
        return GraphicsState(self.palette.index(grey, tuple(grey.initial)), grey)

    def state_number(self, state: GraphicsState) -> int:
        """Row of the state table for a graphics state."""
        key = state.columns()
        number = self._state_index.setdefault(key, len(self.states))
        if number == len(self.states):
            self.states.append(key)
        return number

    def page(self, page: Object) -> Content:
        """The page's own content, read."""
        data = self._page_bytes(page.get("/Contents", None))
        data, resources = with_annotations(page, data, inherited_resources(page))
        content = self.stream(data, resources, self.first_state(), layer=-1, hidden=False, depth=0)
        group = lookup(page, "Group")
        content.knockout = lookup(group, "S") == Name.Transparency and bool(lookup(group, "K"))
        content.group_space = group_space(self.pdf, self.colour_reader, page, resources)
        content.lets_show = content.knockout and content.total_rows > 1 and not is_solid(self, content)
        return content

    def _page_bytes(self, contents: Object | None) -> bytes:
        """Pieces joined by white space: a token may not run across them (ISO 32000-2, table 31)."""
        pieces = list(contents) if isinstance(contents, Array) else [] if contents is None else [contents]
        room, data = MOST_CONTENT_BYTES, []
        for piece in pieces:
            try:
                remarks: list[str] = []
                data.append(read_stream(piece, room, remarks))
                for remark in remarks:
                    self.over(f"a part of the page is damaged: {remark}")
            except (OverLimit, Undecodable) as fault:
                self.over(f"a part of the page cannot be read: {fault}")
                continue
            room -= len(data[-1])
        return b"\n".join(data)

    def stream(
        self, data: bytes, resources: Object, state: GraphicsState, *, layer: int, hidden: bool, depth: int,
        isolated: bool = False, uncoloured: bool = False,
    ) -> Content:  # fmt: skip
        """Read one stream under a state; bounds apply."""
        from preflight.artwork.painted.operators import StreamReader

        content = Content(
            len(self.contents), data, resources, isolated=isolated, depth=depth, uncoloured=uncoloured,
            first_fill=state.fill, first_stroke=state.stroke,
        )  # fmt: skip
        self.contents.append(content)
        if not self.exhausted:
            StreamReader(self, content, state, layer, hidden).read()
        if self.exhausted:
            self.over(f"more than {min(self.rows_read, MOST_ROWS):,} painted objects or {MOST_OPERATORS:,} operators")
        return content

    def form(
        self, form: Object, state: GraphicsState, resources: Object, *, layer: int, hidden: bool, depth: int,
        isolated: bool,
    ) -> Content:  # fmt: skip
        """A form's content under the caller's state.

        Raises:
            NotRead: it calls itself, or is nested too deep.
        """
        itself = identity(form)
        group = lookup(form, "Group")
        is_group = isinstance(group, Dictionary) and group.get("/S", None) == Name.Transparency
        inside_isolated = isolated or (is_group and bool(group.get("/I", False)))
        key = (itself, state.inherited(), layer, hidden, inside_isolated)
        if key in self._forms:
            return self._forms[key]
        if itself in self._open:
            raise NotRead("a form that calls itself")
        if depth > DEEPEST_FORM:
            raise NotRead(f"forms nested more than {DEEPEST_FORM} deep")
        data = self._form_bytes(form, itself)
        inner = state.copy()
        inner.ctm, inner.clip, inner.number = (1, 0, 0, 1, 0, 0), (-1e9, -1e9, 1e9, 1e9), -1
        if is_group:
            inner.blend, inner.fill_alpha, inner.stroke_alpha, inner.soft_mask = "Normal", 1.0, 1.0, False
        own = form.get("/Resources", None)
        self._open.append(itself)
        try:
            content = self.stream(
                data, own if isinstance(own, Dictionary) else resources, inner, layer=layer, hidden=hidden,
                depth=depth, isolated=inside_isolated,
            )  # fmt: skip
        finally:
            self._open.pop()
        content.bbox = box_of(form.get("/BBox", None))
        content.matrix = matrix_of(form.get("/Matrix", None))
        self._note_damage(content, itself, hidden=hidden)
        content.group = is_group
        content.own_isolated = is_group and bool(group.get("/I", False))
        content.knockout = is_group and bool(group.get("/K", False))
        content.group_space = group_space(self.pdf, self.colour_reader, form, content.resources) if is_group else ""
        content.lets_show = content.knockout and content.total_rows > 1 and not is_solid(self, content)
        content.blends = is_group and not content.own_isolated and blends(self, content)
        self._forms[key] = content
        return content

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

    def _note_damage(self, content: Content, itself: object, *, hidden: bool = False) -> None:
        """What is wrong with the bytes that a content was read from is wrong wherever it shows."""
        if not hidden:
            content.undrawn += [
                Undrawn(f"a form or pattern is damaged: {remark}", content.bbox) for remark in self._damage[itself]
            ]

    def font(self, font: Object) -> tuple[Font, int]:
        """A font and its number; read once."""
        key = identity(font)
        if key not in self._fonts:
            read = read_font(font)
            self._fonts[key] = (read, len(self.fonts))
            self.fonts.append(read.facts)
        return self._fonts[key]

    def image_number(self, facts: ImageFacts) -> int:
        """Number of an image in the table of images."""
        number = self._image_index.setdefault(facts, len(self.images))
        if number == len(self.images):
            self.images.append(facts)
        return number

    def pattern(
        self, pattern: Object, under: ColourSpace | None, values: tuple[float, ...], around: Content
    ) -> object | None:
        """A tiling or shading pattern ready to be a colour; None where it cannot be read.

        ``under`` and ``values`` are the colour that an uncoloured pattern is painted in, ``around`` the stream that
        sets it.
        """
        key = (identity(pattern), id(under), values, around.isolated)
        if key not in self._patterns:
            self._patterns[key] = self._read_pattern(pattern, under, values, around)
        return self._patterns[key]

    def _read_pattern(
        self, pattern: Object, under: ColourSpace | None, values: tuple[float, ...], around: Content
    ) -> object | None:
        if whole(lookup(pattern, "PatternType")) == 2:
            return self.shading(pattern.get("/Shading", None), around.resources, pattern)
        if not isinstance(pattern, Stream):
            return None
        state, uncoloured = self.first_state(), whole(lookup(pattern, "PaintType")) == 2
        if uncoloured:
            if under is None:
                return None
            state.fill = state.stroke = self.palette.index(under, values)
            state.fill_space = state.stroke_space = under
        own = pattern.get("/Resources", None)
        itself = identity(pattern)
        if itself in self._open or around.depth >= DEEPEST_FORM:
            self.over("a pattern that calls itself, or nested too deep")
            return None
        self._open.append(itself)
        try:
            # Overprint is that of the page's beginning, none: ISO 32000-2, 8.7.3.1.
            content = self.stream(
                self._form_bytes(pattern, itself), own if isinstance(own, Dictionary) else around.resources, state,
                layer=-1, hidden=False, depth=around.depth + 1, isolated=around.isolated, uncoloured=uncoloured,
            )  # fmt: skip
        finally:
            self._open.pop()
        content.bbox, content.matrix = box_of(pattern.get("/BBox", None)), matrix_of(pattern.get("/Matrix", None))
        self._note_damage(content, itself)
        colour = under.colour(values, direct=False) if uncoloured and under else self._colour_of_cell(content)
        return TilingCell(pattern, content, colour)

    def _colour_of_cell(self, content: Content) -> Colour:
        tints: dict[str, float] = {}
        odd = ""
        colours = self.palette.colours()
        for inner in content.with_calls():
            for number in set(inner.colour.tolist()):
                odd = odd or colours[number].not_a_plate
                for name, tint in colours[number].tints:
                    tints[name] = max(tint, tints.get(name, 0.0))
        return Colour("Pattern", tuple(tints.items()), not_a_plate=odd, varies=True)

    def type3(self, font: Font, around: Content, overprint: tuple[bool, bool, int], current: int) -> Type3Glyphs:
        """The glyphs of a Type 3 font as they are shown with a current colour; those that begin with d1 take that."""
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
            self._glyphs[shown] = replace(glyphs, colour=_merged(glyphs.colour, self.palette.colours()[current]))
        return self._glyphs[shown]

    def _read_glyphs(self, found: Type3Glyphs, around: Content) -> None:
        own = lookup(found.font, "Resources")
        for name, stream in entries(lookup(found.font, "CharProcs")) if around.depth < DEEPEST_FORM else ():
            data = self._form_bytes(stream, identity(stream)) if isinstance(stream, Stream) else b""
            if _UNCOLOURED_GLYPH.search(data[:200]):
                found.some_uncoloured = True
                continue
            state = self.first_state()
            state.fill_overprint, state.stroke_overprint, state.opm = found.overprint
            found.coloured[name] = self.stream(
                data, own if isinstance(own, Dictionary) else around.resources, state, layer=-1, hidden=False,
                depth=around.depth + 1,
            )  # fmt: skip
            if isinstance(stream, Stream):
                self._note_damage(found.coloured[name], identity(stream))
        for content in found.coloured.values():
            found.colour = _merged(found.colour, self._colour_of_cell(content))

    def glyphs_of(self, font: Object) -> list[Type3Glyphs]:
        """Coloured glyphs of a Type 3 font as shown without overprint; none or one."""
        itself = identity(font)
        return [
            glyphs for glyphs in self._glyphs.values()
            if glyphs.coloured and not any(glyphs.overprint) and identity(glyphs.font) == itself
        ]  # fmt: skip

    def shading(self, shading: Object | None, resources: Object, pattern: Object | None = None) -> ShadingFill | None:
        """A shading ready to be painted; None where it cannot be read."""
        if not isinstance(shading, Dictionary | Stream):
            return None
        space = self.colour_reader.resolve(shading.get("/ColorSpace", Name.DeviceGray), resources)
        tints = tuple((name, 1.0) for name in space.plates if name != "All")
        family = space.base_family or space.family
        family = family if family in BY_NAME else "Pattern"
        colour = Colour(family, tints, registration="All" in space.plates, not_a_plate=space.not_a_plate, varies=True)
        return ShadingFill(shading, space, colour, pattern)


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
