"""Random pages that both the plates and a referee are made of: two to six objects in spaces, states and groups.

A page is a tuple of elements, plain data that hypothesis makes and a failed test prints; ``random_pages`` turns it into
a PDF.
What the referee is known to take otherwise than the standard is not drawn, and stands in ``NOT_DRAWN``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from hypothesis import assume
from hypothesis import strategies as st

from tests.plate_drawings import HEIGHT_MM, PAGE, WIDTH_MM

Box = tuple[float, float, float, float]

NOT_DRAWN = {
    "a tiling under overprint": "Ghostscript takes the overprint in force, 8.7.3.1 the one its parent begins with",
    "a tiling through a soft mask": "Ghostscript masks the cells, and what is painted with them once more (11.6.7)",
    "overprint in a knock-out group": "where nothing lies below, 11.7.4.3 shows the object's own tint of zero; "
    "Ghostscript leaves the elements before it",
    "white under mode 1 in an isolated group": "11.7.4.3 again: Ghostscript paints nothing",
    "overprint in Screen, Overlay, HardLight, SoftLight, Difference or Exclusion": "what is left alone is blended "
    "with itself (11.7.4.3); where ink lies below that is not measured",
    "overprint in Multiply, in a shading pattern or an Indexed colour": "Ghostscript leaves alone what it blends with "
    "itself under sh and in the base of the space (11.7.4.3); test_left_alone decides",
    "ColorBurn and ColorDodge": "PDFium burns bare board with a solid, and dodges a solid with bare board; by 11.3.5.2 "
    "both stay as they are",
    "Indexed in DeviceCMYK under mode 1": "Ghostscript leaves zeros alone; 8.6.7 has that for DeviceCMYK itself only",
    "a picture or stencil through a soft mask under overprint": "Ghostscript knocks out (8.6.7 knows no exception)",
    "a picture of two levels in one component, where something shows": "Ghostscript paints both in the darker one",
    "DeviceN of which all colorants are None": "both referees paint pictures and blends in it, though no plain fill "
    "(8.6.6.5)",
    "filled and stroked at an opacity under overprint": "11.7.4.4 has both overprint in a group of their own; "
    "Ghostscript gives the fill the plates of the stroke",
    "text, what is filled and stroked, and what knocks out, in Difference or Exclusion": "on spots the mode is Normal "
    "(11.7.4.2), for Ghostscript only where it makes no group of it",
    "sh, a picture, and what is filled and stroked, under overprint on a page where something shows": "Ghostscript "
    "leaves other plates alone than where nothing shows; MuPDF does not (8.6.7)",
    "text that clips, through a soft mask": "Ghostscript clips what comes after otherwise; MuPDF does not (9.3.6)",
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
    ("Gold", "Line"), ("Cyan", "Gold"), ("Gold", "Black"), ("Magenta", "None", "Line"),
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
    if any(map(_lets_show, page)):
        page = tuple(map(_knocking_out, page))
    assume(2 <= objects_in(page) <= 6)
    return page


# -- what is disputed is not drawn ------------------------------------------------------------------------------------

NO_OVERPRINT = (False, False, 0)
BLENDED_WITH_THEMSELVES = ("Normal", "Darken", "Lighten", "Multiply")


def undisputed(element: Element, *, isolated: bool = False, knockout: bool = False) -> Element:
    """The element without what ``NOT_DRAWN`` names, told where it stands."""
    state = replace(element.state, mask="") if _has_tiling(element) else element.state
    if knockout or _has_tiling(element) or _is_not_blended_with_itself(element):
        state = replace(state, overprint=NO_OVERPRINT)
    if knockout and state.mode in ("Difference", "Exclusion"):
        state = replace(state, mode="Multiply")
    if isinstance(element, Shape) and element.how[3:] in ("4", "5", "6", "7"):
        state = replace(state, mask="")
    element = replace(element, state=state)
    if isinstance(element, Group):
        isolated = isolated or (element.transparency and element.isolated)
        knockout = knockout or (element.transparency and element.knockout)
        inside = tuple(undisputed(part, isolated=isolated, knockout=knockout) for part in element.inside)
        return replace(element, inside=inside)
    element = _without_odd_mode_1(element, isolated=isolated)
    if isinstance(element, Picture):
        return _undisputed_picture(element)
    if isinstance(element, Shape) and (element.how == "B" or element.how.startswith("Tr ")):
        return _undisputed_both(element)
    return element


def _is_not_blended_with_itself(element: Element) -> bool:
    mode = element.state.mode
    paints = [getattr(element, name, None) for name in ("fill", "stroke", "colour")]
    odd = any(isinstance(paint, Blend) or (isinstance(paint, Tint) and paint.space.indexed) for paint in paints)
    return mode not in BLENDED_WITH_THEMSELVES or (mode == "Multiply" and odd)


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
    return replace(picture, state=state, bits=8 if shows and one else picture.bits)


def _undisputed_both(shape: Shape) -> Shape:
    state = shape.state
    if state.mode in ("Difference", "Exclusion"):
        state = replace(state, mode="Multiply", overprint=NO_OVERPRINT)
    if state.alpha < 1 or state.mask:
        state = replace(state, overprint=NO_OVERPRINT)
    return replace(shape, state=state)


def _lets_show(element: Element) -> bool:
    state = element.state
    shows = state.alpha < 1 or bool(state.mask) or state.mode != "Normal"
    if isinstance(element, Group):
        return shows or element.transparency or any(map(_lets_show, element.inside))
    return shows or (isinstance(element, Picture) and element.mask == "SMask")


def _knocking_out(element: Element) -> Element:
    if isinstance(element, Group):
        return replace(element, inside=tuple(map(_knocking_out, element.inside)))
    if isinstance(element, Picture) and (element.space.indexed or element.space.count == 1):
        element = replace(element, bits=8)
    both = isinstance(element, Shape) and element.how in ("B", "Tr 2", "Tr 6")
    if both or isinstance(element, Shaded | Picture):
        return replace(element, state=replace(element.state, overprint=NO_OVERPRINT))
    return element


def _has_tiling(element: Element) -> bool:
    if isinstance(element, Group):
        return any(map(_has_tiling, element.inside))
    return isinstance(element, Shape) and (isinstance(element.fill, Tiling) or isinstance(element.stroke, Tiling))


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
