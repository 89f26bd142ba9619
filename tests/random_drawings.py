"""Random pages that both the plates and a referee are made of: two to six objects in spaces, states and groups.

A page is a tuple of elements, plain data that hypothesis makes and a failed test prints; ``drawn`` turns it into a PDF.
What the referee is known to take otherwise than the standard is not drawn, and stands in ``NOT_DRAWN``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import pikepdf
from hypothesis import assume
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name, Object

from tests.drawn import Drawing
from tests.plate_drawings import HEIGHT_MM, PAGE, WIDTH_MM, device_n, embed_font, group, mm, rect, spot_space
from tests.plate_drawings_pictures import blocks, mask_of, packed, shading

Box = tuple[float, float, float, float]

NOT_DRAWN = {
    "a tiling under overprint": "Ghostscript takes the overprint in force, 8.7.3.1 the one its parent begins with",
    "a tiling through a soft mask": "Ghostscript masks the cells, and what is painted with them once more (11.6.7)",
    "overprint in a knock-out group": "where nothing lies below, 11.7.4.3 shows the object's own tint of zero; "
    "Ghostscript leaves the elements before it",
    "white under mode 1 in an isolated group": "11.7.4.3 again: Ghostscript paints nothing",
    "overprint in a blend mode that darkens or lightens": "Ghostscript blends what is left alone with itself, as "
    "11.7.4.3 has it to the letter; test_plates_by_clause decides otherwise",
    "ColorBurn and ColorDodge": "PDFium burns bare board with a solid, and dodges a solid with bare board; by 11.3.5.2 "
    "both stay as they are",
    "Indexed in DeviceCMYK under mode 1": "Ghostscript leaves zeros alone; 8.6.7 has that for DeviceCMYK itself only",
    "a picture or stencil through a soft mask under overprint": "Ghostscript knocks out (8.6.7 knows no exception)",
    "a picture of two levels in one component that lets something show": "Ghostscript paints both in the darker one",
    "a picture in colorants that are all None": "both referees knock out with it, though not with a fill (8.6.6.5)",
    "filled and stroked at an opacity under overprint": "11.7.4.4 has both overprint in a group of their own; "
    "Ghostscript gives the fill the plates of the stroke",
    "filled and stroked in Difference or Exclusion": "on spots the mode is Normal (11.7.4.2), not so for Ghostscript "
    "where it makes a group of the two",
}
"""Constructs that no page has, and why: ``test_overprint``, ``test_transparency`` and their neighbours decide them."""


@dataclass(frozen=True)
class Space:
    """A colour space by the colorants it names: four process ones or Gray are the device's own."""

    family: str
    names: tuple[str, ...] = ()
    indexed: bool = False

    @property
    def count(self) -> int:
        """Tints that a colour of the space has, or of its base."""
        return {"DeviceGray": 1, "DeviceCMYK": 4}.get(self.family, len(self.names))


@dataclass(frozen=True)
class Tint:
    """A colour to fill or to stroke with; of an Indexed space the first sample of a table that holds the tints."""

    space: Space
    tints: tuple[float, ...]


@dataclass(frozen=True)
class Tiling:
    """Cells of 24 pt with a square in each, coloured in the cell or by whoever paints with them."""

    colour: Tint
    coloured: bool
    turned: bool


@dataclass(frozen=True)
class Blend:
    """A shading of type 1 to 7, as a pattern or by ``sh``."""

    kind: int
    space: Space


Paint = Tint | Tiling | Blend


@dataclass(frozen=True)
class State:
    """What an element is painted under."""

    overprint: tuple[bool, bool, int] = (False, False, 0)
    """OP, op, OPM."""
    alpha: float = 1.0
    mode: str = "Normal"
    mask: str = ""
    """Luminosity or Alpha, of a half and a whole."""


@dataclass(frozen=True)
class Shape:
    """A path, or a word, that is filled (``f``), stroked (``S``) or both (``B``); for words a render mode."""

    how: str
    box: Box
    fill: Paint
    stroke: Paint
    state: State
    round: bool = False


@dataclass(frozen=True)
class Picture:
    """An image with 1 or 8 bits, a stencil, or one of them inline."""

    kind: str
    box: Box
    space: Space
    colour: Tint
    state: State
    bits: int = 8
    mask: str = ""
    """SMask, Mask (a stencil) or Key (a range of colours)."""
    inverted: bool = False


@dataclass(frozen=True)
class Shaded:
    """A shading painted by ``sh`` in a clip."""

    box: Box
    blend: Blend
    state: State


@dataclass(frozen=True)
class Group:
    """A form, a transparency group or not, placed by a matrix and cut by its box."""

    inside: tuple[Element, ...]
    state: State
    transparency: bool
    isolated: bool = False
    knockout: bool = False
    matrix: tuple[float, ...] = (1, 0, 0, 1, 0, 0)
    clip: Box = PAGE


Element = Shape | Picture | Shaded | Group
Page = tuple[Element, ...]

# -- what may be drawn ------------------------------------------------------------------------------------------------

SPOTS = ("Gold", "Line")
SEPARATIONS = (*SPOTS, "Black", "Cyan", "All", "None")
DEVICE_NS = (
    ("Gold", "Line"), ("Cyan", "Gold"), ("Gold", "Black"), ("Magenta", "None", "Line"), ("None", "None"),
    ("Cyan", "Magenta", "Yellow", "Black"), ("Line", "Yellow", "Gold", "Magenta"),
)  # fmt: skip
SEPARABLE = (
    "Multiply", "Screen", "Overlay", "Darken", "Lighten", "HardLight", "SoftLight", "Difference", "Exclusion",
)  # fmt: skip
MATRICES = ((1, 0, 0, 1, 0, 0), (1, 0, 0, 1, 12, -9), (0.8, 0, 0, 0.8, 14, 11), (0.8, 0.3, -0.3, 0.8, 24, 3),
            (0, 1, -1, 0, 130, -10), (1, 0, 0.25, 1, -12, 0))  # fmt: skip
TINTS = st.sampled_from((0.0, 0.0, 0.2, 0.4, 0.6, 0.8, 1.0))
PLAIN = (
    st.just(Space("DeviceGray")) | st.just(Space("DeviceCMYK")) | st.just(Space("DeviceCMYK"))
    | st.sampled_from(SEPARATIONS).map(lambda name: Space("Separation", (name,)))
    | st.sampled_from(DEVICE_NS).map(lambda names: Space("DeviceN", names))
)  # fmt: skip
OVERPRINTS = (
    (False, False, 0),
    (False, False, 0),
    (True, True, 0),
    (True, True, 1),
    (True, False, 1),
    (False, True, 1),
)


def _may_be_indexed(space: Space) -> st.SearchStrategy[Space]:
    return st.sampled_from((False, False, False, True)).map(lambda indexed: replace(space, indexed=indexed))


SPACES = PLAIN.flatmap(_may_be_indexed)


def _tint(space: Space) -> st.SearchStrategy[Tint]:
    return st.tuples(*[TINTS] * space.count).map(lambda tints: Tint(space, tints))


TINT = SPACES.flatmap(_tint)
INKED = PLAIN.filter(lambda space: not set(space.names) <= {"All", "None"})
BLEND = st.builds(Blend, st.sampled_from((1, 2, 3, 4, 6, 7)), INKED)
TILING = st.builds(Tiling, PLAIN.flatmap(_tint), st.booleans(), st.booleans())
PAINT = TINT | TINT | TINT | TILING | BLEND


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    """In mm, on a grid of 0.5 mm, at least 6 mm wide and high."""
    x, y = draw(st.integers(2, 76)) / 2, draw(st.integers(2, 52)) / 2
    return (
        x,
        y,
        min(x + draw(st.integers(12, 60)) / 2, WIDTH_MM - 1),
        min(y + draw(st.integers(12, 44)) / 2, HEIGHT_MM - 1),
    )


@st.composite
def states(draw: st.DrawFn) -> State:
    """Plain ones for a third."""
    plain = draw(st.integers(0, 2)) == 0
    overprint = draw(st.sampled_from(OVERPRINTS))
    if plain:
        return State(overprint)
    kind = draw(st.sampled_from(("alpha", "mode", "mask", "none", "none", "both")))
    return State(
        overprint,
        draw(st.sampled_from((0.3, 0.5, 0.8))) if kind in ("alpha", "both") else 1.0,
        draw(st.sampled_from(SEPARABLE)) if kind in ("mode", "both") else "Normal",
        draw(st.sampled_from(("Luminosity", "Alpha"))) if kind == "mask" else "",
    )


SHAPES = st.builds(
    Shape, st.sampled_from(("f", "f", "S", "B", "f*", *(f"Tr {mode}" for mode in range(8)))), boxes(), PAINT, PAINT,
    states(), st.booleans(),
)  # fmt: skip
PICTURES = st.builds(
    Picture, st.sampled_from(("image", "image", "stencil", "inline", "inline stencil")), boxes(), SPACES, TINT,
    states(), st.sampled_from((8, 8, 1)), st.sampled_from(("", "", "SMask", "Mask", "Key")), st.booleans(),
)  # fmt: skip
SHADINGS = st.builds(Shaded, boxes(), BLEND, states())


def _groups(inside: st.SearchStrategy[Element]) -> st.SearchStrategy[Element]:
    return st.builds(
        Group, st.lists(inside, min_size=1, max_size=3).map(tuple), states(), st.sampled_from((True, True, False)),
        st.booleans(), st.sampled_from((False, False, True)), st.sampled_from(MATRICES), boxes() | st.just(PAGE),
    )  # fmt: skip


OBJECTS = SHAPES | SHAPES | PICTURES | SHADINGS
ELEMENTS = OBJECTS | OBJECTS | _groups(OBJECTS | _groups(OBJECTS))


def objects_in(elements: Page) -> int:
    """Objects that are painted, those in groups one by one."""
    return len(list(_objects(elements)))


@st.composite
def pages(draw: st.DrawFn) -> Page:
    """Two to six objects, on their own and in groups."""
    page = tuple(undisputed(element) for element in draw(st.lists(ELEMENTS, min_size=1, max_size=4)))
    assume(2 <= objects_in(page) <= 6)
    return page


# -- what is disputed is not drawn ------------------------------------------------------------------------------------

NO_OVERPRINT = (False, False, 0)
UNCHANGED_BY_THEMSELVES = ("Normal", "Darken", "Lighten")


def undisputed(element: Element, *, isolated: bool = False, knockout: bool = False) -> Element:
    """The element without what ``NOT_DRAWN`` names, told where it stands."""
    state = replace(element.state, mask="") if _has_tiling(element) else element.state
    if knockout or _has_tiling(element) or state.mode not in UNCHANGED_BY_THEMSELVES:
        state = replace(state, overprint=NO_OVERPRINT)
    element = replace(element, state=state)
    if isinstance(element, Group):
        isolated = isolated or (element.transparency and element.isolated)
        knockout = knockout or (element.transparency and element.knockout)
        inside = tuple(undisputed(part, isolated=isolated, knockout=knockout) for part in element.inside)
        return replace(element, inside=inside)
    element = _without_odd_mode_1(element, isolated=isolated)
    if isinstance(element, Picture):
        return _undisputed_picture(element)
    if isinstance(element, Shape) and element.how in ("B", "Tr 2", "Tr 6"):
        return _undisputed_both(element)
    return element


def _without_odd_mode_1(element: Element, *, isolated: bool) -> Element:
    state = element.state
    colours = [
        c for c in (getattr(element, name, None) for name in ("fill", "stroke", "colour")) if isinstance(c, Tint)
    ]
    odd = any(colour.space.indexed or (isolated and not any(colour.tints)) for colour in colours)
    return replace(element, state=replace(state, overprint=(*state.overprint[:2], 0))) if odd else element


def _undisputed_picture(picture: Picture) -> Picture:
    state = picture.state
    if state.mask or picture.mask == "SMask":
        state = replace(state, overprint=NO_OVERPRINT)
    shows = state.alpha < 1 or state.mask or state.mode != "Normal"
    one = picture.space.indexed or picture.space.count == 1
    space = Space("DeviceGray") if set(picture.space.names) == {"None"} else picture.space
    return replace(picture, state=state, space=space, bits=8 if shows and one else picture.bits)


def _undisputed_both(shape: Shape) -> Shape:
    state = shape.state
    if state.mode in ("Difference", "Exclusion"):
        state = replace(state, mode="Multiply", overprint=NO_OVERPRINT)
    if state.alpha < 1 or state.mask:
        state = replace(state, overprint=NO_OVERPRINT)
    return replace(shape, state=state)


def _has_tiling(element: Element) -> bool:
    if isinstance(element, Group):
        return any(map(_has_tiling, element.inside))
    return isinstance(element, Shape) and (isinstance(element.fill, Tiling) or isinstance(element.stroke, Tiling))


# -- the page ---------------------------------------------------------------------------------------------------------


def drawn(elements: Page) -> Drawing:
    """A page with all four process inks and a spot below, so that what knocks out and what does not is seen."""
    page = Drawing(WIDTH_MM, HEIGHT_MM)
    embed_font(page)
    page.fill((0.5, 0.3, 0.2, 0.1), rect=(0, 0, WIDTH_MM, HEIGHT_MM / 2))
    page.raw("q").gs(OP=True, op=True, OPM=0).fill("Gold", 0.4, rect=(0, 10, WIDTH_MM, 28)).raw("Q")
    for element in elements:
        page.raw(words(page, element))
    return page


def words(page: Drawing, element: Element) -> str:
    """The operators of an element, between ``q`` and ``Q``."""
    painters = {Shape: _shape, Picture: _picture, Shaded: _shaded, Group: _group}
    return f"q {_state(page, element.state)} {painters[type(element)](page, element)} Q"  # type: ignore[operator]


def _key(among: Object, stem: str) -> str:
    return f"{stem}{len(among.keys())}"


def _state(page: Drawing, state: State) -> str:
    upper, lower, mode = state.overprint
    keys = Dictionary(OP=upper, op=lower, OPM=mode, ca=state.alpha, CA=state.alpha, BM=Name("/" + state.mode))
    if state.mask:
        keys.SMask = _soft_mask(page, state.mask)
    key = _key(page.resources.ExtGState, "GS")
    page.resources.ExtGState[Name("/" + key)] = keys
    return f"/{key} gs"


def _soft_mask(page: Drawing, kind: str) -> Dictionary:
    """Half over the lower, whole over the upper part; none round them."""
    page.resources.ExtGState.Half, page.resources.ExtGState.Whole = Dictionary(ca=0.5), Dictionary(ca=1.0)
    half, whole = ("0.5 g", "1 g") if kind == "Luminosity" else ("/Half gs 0 g", "/Whole gs")
    inner = f"{half} {rect(3, 3, 48, 20)} f {whole} {rect(3, 20, 48, 35)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceGray))
    return Dictionary(S=Name("/" + kind), G=page.resources.XObject[Name("/" + form)])


def space_of(page: Drawing, space: Space, table: bytes = b"") -> Object:
    """The space as an object; ``table`` holds an Indexed one's colours."""
    if space.indexed:
        base = space_of(page, replace(space, indexed=False))
        high = len(table) // space.count - 1
        return page.pdf.make_indirect(Array([Name.Indexed, base, high, pikepdf.String(table)]))
    if space.family == "Separation":
        return spot_space(page, space.names[0])
    if space.family == "DeviceN":
        key = "DN" + "".join(name[0] for name in space.names)
        known = Name("/" + key) in page.resources.ColorSpace
        return page.resources.ColorSpace[Name("/" + key)] if known else device_n(page, key, space.names)
    return Name("/" + space.family)


def _numbers(values: tuple[float, ...]) -> str:
    return " ".join(f"{value:g}" for value in values)


def _named(page: Drawing, space: Object) -> str:
    key = _key(page.resources.ColorSpace, "Space")
    page.resources.ColorSpace[Name("/" + key)] = space
    return key


def _tint_words(page: Drawing, colour: Tint, *, stroke: bool) -> str:
    operators = ("CS", "SCN") if stroke else ("cs", "scn")
    if colour.space.indexed:
        table = bytes(round(tint * 255) for tint in colour.tints) + bytes(range(colour.space.count))
        return f"/{_named(page, space_of(page, colour.space, table))} {operators[0]} 0 {operators[1]}"
    if colour.space.family == "DeviceGray":
        return f"{_numbers(colour.tints)} {'G' if stroke else 'g'}"
    if colour.space.family == "DeviceCMYK":
        return f"{_numbers(colour.tints)} {'K' if stroke else 'k'}"
    return f"/{_named(page, space_of(page, colour.space))} {operators[0]} {_numbers(colour.tints)} {operators[1]}"


def _paint(page: Drawing, paint: Paint, box: Box, *, stroke: bool) -> str:
    if isinstance(paint, Tint):
        return _tint_words(page, paint, stroke=stroke)
    set_space, set_colour = ("CS", "SCN") if stroke else ("cs", "scn")
    key = _key(page.resources.Pattern, "P")
    if isinstance(paint, Blend):
        look = shading(page, paint.kind, space_of(page, paint.space), paint.space.count, box)
        page.resources.Pattern[Name("/" + key)] = page.pdf.make_indirect(
            Dictionary(Type=Name.Pattern, PatternType=2, Shading=look)
        )
        return f"/Pattern {set_space} /{key} {set_colour}"
    page.resources.Pattern[Name("/" + key)] = _cell(page, paint)
    if paint.coloured:
        return f"/Pattern {set_space} /{key} {set_colour}"
    space = _named(page, Array([Name.Pattern, space_of(page, paint.colour.space)]))
    return f"/{space} {set_space} {_numbers(paint.colour.tints)} /{key} {set_colour}"


def _cell(page: Drawing, tiling: Tiling) -> Object:
    # Only with what it needs: Ghostscript applies an opacity twice where it sees transparency among the resources.
    colour = _tint_words(page, tiling.colour, stroke=False) if tiling.coloured else ""
    matrix = [0.8, 0.6, -0.6, 0.8, 0, 0] if tiling.turned else [1, 0, 0, 1, 6, 6]
    return page.pdf.make_stream(
        f"{colour} 3 3 15 12 re f".encode(), Type=Name.Pattern, PatternType=1, PaintType=1 if tiling.coloured else 2,
        TilingType=1, BBox=[0, 0, 18, 18], XStep=24, YStep=24, Matrix=matrix,
        Resources=Dictionary(ColorSpace=page.resources.ColorSpace),
    )  # fmt: skip


def _shape(page: Drawing, shape: Shape) -> str:
    x0, y0, x1, y1 = shape.box
    colours = (
        _paint(page, shape.fill, shape.box, stroke=False) + " " + _paint(page, shape.stroke, shape.box, stroke=True)
    )
    if shape.how.startswith("Tr "):
        size = (y1 - y0) * 2.5
        word = f"BT /F0 {size:g} Tf {shape.how[3:]} Tr 1 0 0 1 {mm(x0, y0)} Tm (WM) Tj ET"
        # What clips shows in what is painted through it.
        after = f"0 0.7 0 0 k {rect(x0, y0, x1, (y0 + y1) / 2)} f" if int(shape.how[3:]) > 3 else ""
        return f"{colours} {mm(0.8)} w {word} {after}"
    path = rect(*shape.box)
    if shape.round:
        middle = (y0 + y1) / 2
        path = f"{mm(x0, middle)} m {mm(x0, y1, x1, y1, x1, middle)} c {mm(x1, y0, x0, y0, x0, middle)} c h"
    if shape.how == "f*":
        path += f" {rect(x0 + 2, y0 + 2, x1 - 2, y1 - 2)}"
    return f"{colours} {mm(2)} w {path} {shape.how}"


def _picture(page: Drawing, picture: Picture) -> str:
    x0, y0, x1, y1 = picture.box
    stencil = "stencil" in picture.kind
    bits = 1 if stencil else picture.bits
    count = 1 if stencil or picture.space.indexed else picture.space.count
    samples = blocks(12, 15, count, bits=bits, side=3, seed=bits + count)
    decode = [1, 0] * count if picture.inverted and (stencil or not picture.space.indexed) else None
    space = None if stencil else _picture_space(page, picture.space, bits)
    place = f"{mm(x1 - x0)} 0 0 {mm(y1 - y0)} {mm(x0, y0)} cm"
    colour = _tint_words(page, picture.colour, stroke=False) if stencil else ""
    if "inline" in picture.kind:
        keys = "/IM true" if stencil else f"/BPC {bits} /CS /{_named(page, space) if space is not None else ''}"
        keys += f" /D [{' '.join(map(str, decode))}]" if decode else ""
        return f"{colour} {place} BI /W 15 /H 12 {keys} /F /AHx ID {packed(samples, bits).hex()}> EI"
    keys = {"ImageMask": True} if stencil else {"ColorSpace": space, **_mask_keys(page, picture, count)}  # type: ignore[assignment]
    if decode:
        keys["Decode"] = Array(decode)  # type: ignore[index]
    key = _key(page.resources.XObject, "Im")
    page.resources.XObject[Name("/" + key)] = mask_of(page, samples, bits, **keys)  # type: ignore[arg-type]
    return f"{colour} {place} /{key} Do"


def _picture_space(page: Drawing, space: Space, bits: int) -> Object:
    table = bytes((37 * at * at + 11 * at) % 256 for at in range(2**bits * space.count)) if space.indexed else b""
    return space_of(page, space, table)


def _mask_keys(page: Drawing, picture: Picture, count: int) -> dict[str, object]:
    if picture.mask == "SMask":
        return {"SMask": mask_of(page, blocks(20, 16, 1, side=4, seed=8), 8, ColorSpace=Name.DeviceGray)}
    if picture.mask == "Mask":
        return {"Mask": mask_of(page, blocks(20, 16, 1, bits=1, side=4, seed=9), 1, ImageMask=True)}
    if picture.mask == "Key":
        return {"Mask": Array([0, 100 if picture.bits == 8 else 0] * count)}
    return {}


def _shaded(page: Drawing, shaded: Shaded) -> str:
    look = shading(page, shaded.blend.kind, space_of(page, shaded.blend.space), shaded.blend.space.count, shaded.box)
    key = _key(page.resources.Shading, "S")
    page.resources.Shading[Name("/" + key)] = look
    return f"{rect(*shaded.box)} W n /{key} sh"


def _group(page: Drawing, placed: Group) -> str:
    inner = "\n".join(words(page, element) for element in placed.inside)
    keys = group(I=placed.isolated, K=placed.knockout, CS=Name.DeviceCMYK) if placed.transparency else None
    form = page.form(inner, bbox_mm=placed.clip, matrix=placed.matrix, group=keys)
    return f"/{form} Do"


def distinct(pages: Iterable[Page], count: int) -> list[Page]:
    """Pages of which no object is on one before: hypothesis likes to repeat itself."""
    found: list[Page] = []
    seen: set[Element] = set()
    for page in pages:
        own = list(_objects(page))
        if len(found) < count and seen.isdisjoint(own):
            found.append(page)
            seen.update(own)
    return found


def _objects(elements: Page) -> Iterator[Element]:
    for element in elements:
        if isinstance(element, Group):
            yield from _objects(element.inside)
        else:
            yield element
