"""Which groups of a page are composed by us and not by PDFium, and in which steps a rendering of it is drawn.

PDFium takes a group that is not isolated for an isolated one as soon as the group is masked, blended or faint as a
whole, and blends every group in the renderings' own three channels. Where that comes out differently the page is
parted at the group: what stands before it is painted, then the group's own elements, then the result is laid on by
its mask, alpha and blend mode (``compositing.py``), then what stands behind it is painted on that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from preflight.artwork.page.geometry import EVERYWHERE, IDENTITY, Box, Matrix, box_through, overlap, times
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.stream_content import Call, Content
from preflight.artwork.platemaking.group_elements import StreamPart, steps
from preflight.artwork.platemaking.renderings import Light, Rendering
from preflight.errors import NotDrawn

MOST_COMPOSED = 200
"""Groups of one page."""
MOST_BYTES = 200_000_000
"""Of content that is written for the steps of a rendering."""
_LIGHTS: dict[str, Light] = {
    "DeviceRGB": "RGB",
    "CalRGB": "RGB",
    "ICCBased-3": "RGB",
    "DeviceGray": "Gray",
    "CalGray": "Gray",
    "ICCBased-1": "Gray",
}


@dataclass(frozen=True)
class Paint:
    """A page of the derived PDF is painted on what is there."""

    page: int


@dataclass(frozen=True)
class Compose:
    """A group: its steps, and how what comes of them is laid on what is there."""

    steps: tuple[Step, ...]
    box_pt: Box
    """Where it shows, in points of the page from its upper-left corner, y down."""
    isolated: bool
    blend: str = "Normal"
    alpha: float = 1.0
    masked: tuple[int, int] | None = None
    """Pages with its shape in black on white, with its soft mask and alpha and without; None where it has no mask."""
    light: Light | None = None
    """It is blended as light of this kind, and then brought to plates."""
    channels: tuple[str, ...] = ()
    """The process plates that light is brought to as red, green and blue; none where what lies below is light too."""


Step = Paint | Compose


def light_of_group(page: PageContent, content: Content) -> Light | None:
    """How an isolated group is blended where that is not in the inks that print (11.3.4); None where it is.

    Where nothing in it lets anything show but by overprint nothing is blended, and colours stay as they are.
    """
    light = _LIGHTS.get(content.group_space)
    return light if light and not page.transparency.is_solid(content, with_overprint=False) else None


def plates_of_lights(page: PageContent) -> frozenset[str]:
    """Process plates that groups which are blended as light may come out on, whatever is painted in them."""
    groups = [page.stream, *(content for content in page.streams if content.own_isolated)]
    lights = {light_of_group(page, content) for content in groups if content.group_space}
    return frozenset(PROCESS if "RGB" in lights else PROCESS[3:] if "Gray" in lights else ())


@dataclass
class Composer:
    """Finds the steps of one rendering of a page."""

    page_content: PageContent
    media_pt: Sequence[float]
    add_page: Callable[[Rendering, StreamPart | None], int]
    """Writes some elements of the page as a page of the derived PDF; returns its number."""
    pieces: Callable[[Content], Sequence[StreamPart | None]] = lambda _: [None]
    """The parts in which a page is painted, one after the other on what is there; None is all of it."""
    left: int = MOST_COMPOSED
    bytes_left: int = MOST_BYTES
    _reaches: dict[tuple[int, Light | None, bool], bool] = field(default_factory=dict)

    def drawing(self, rendering: Rendering, *, isolated: bool) -> tuple[Step, ...]:
        """The steps; ``isolated``: the page is composed on nothing and then laid on bare board."""
        page = self.page_content.stream
        light = light_of_group(self.page_content, page) if _has_process(rendering) else None
        if page.lets_show or not (light or self._composes_in(page, rendering)):
            parts: Sequence[StreamPart | None] = [None] if page.lets_show or isolated else self.pieces(page)
            return tuple(Paint(self.add_page(rendering, part)) for part in parts)
        inside = Rendering(light=light) if light else rendering
        inner = tuple(self._steps(page, inside, IDENTITY, lambda part: part))
        if not (isolated or light):
            return inner
        box = (0.0, 0.0, self.media_pt[2] - self.media_pt[0], self.media_pt[3] - self.media_pt[1])
        return (Compose(inner, box, True, light=light, channels=_channels(rendering)),)

    # -- which groups ---------------------------------------------------------------------------------------------

    def _composed(self, call: Call, rendering: Rendering) -> bool:
        """Whether a group has to be composed by us in a rendering, for itself or for a group in it."""
        inner = call.content
        if not inner.group or not inner.total_rows or inner.lets_show:
            return False
        if inner.own_isolated:
            return self._light_of(inner, rendering) is not None or self._composes_in(inner, rendering)
        if self._is_whole(call):
            return False
        return (inner.blends and not self._hands_on(call)) or self._composes_in(inner, rendering)

    def _composes_in(self, content: Content, rendering: Rendering) -> bool:
        key = (content.number, rendering.light, _has_process(rendering))
        if key not in self._reaches:
            self._reaches[key] = False  # forms do not call themselves
            self._reaches[key] = not content.lets_show and any(
                self._composed(call, rendering) or self._composes_in(call.content, rendering) for call in content.calls
            )
        return self._reaches[key]

    def _light_of(self, content: Content, rendering: Rendering) -> Light | None:
        """As what light an isolated group is blended, where that is not as what it stands in."""
        if rendering.light or not _has_process(rendering):
            return "Gray" if rendering.light == "RGB" and light_of_group(self.page_content, content) == "Gray" else None
        return light_of_group(self.page_content, content)

    def _is_whole(self, call: Call) -> bool:
        return self.page_content.states[call.state].hides

    def _hands_on(self, call: Call) -> bool:
        """Whether a faint group can hand its opacity on to its elements, which takes no further steps."""
        if self.page_content.states[call.state].is_blended:
            return False
        try:
            steps(self.page_content, call.content, faint=True)
        except NotDrawn:
            return False
        return True

    # -- steps ----------------------------------------------------------------------------------------------------

    def _steps(
        self, content: Content, rendering: Rendering, to_user: Matrix, place: Callable[[StreamPart], StreamPart]
    ) -> Iterator[Step]:
        """Steps of a stream; ``place`` brings a part of the stream into a part of the page."""
        first, calls = 0, list[int]()
        for number, call in enumerate(content.calls):
            composed = self._composed(call, rendering)
            there_is_room = self.left > 0 and self.bytes_left > 0  # else the writer says that it cannot be drawn
            if not there_is_room or not (composed or self._composes_in(call.content, rendering)):
                calls.append(number)
                continue
            yield from self._stretch(content, rendering, (first, call.row), calls, place)
            first, calls = call.row, []
            self.left -= composed

            def inside(part: StreamPart, number: int = number, laid: bool = composed) -> StreamPart:
                return place(_only(content, number, within={number: part}, laid=laid))

            if composed:
                yield self._group(content, number, rendering, to_user, (place, inside))
            else:
                yield from self._steps(call.content, rendering, times(call.matrix, to_user), inside)
        yield from self._stretch(content, rendering, (first, len(content.painted)), calls, place)

    def _stretch(
        self,
        content: Content,
        rendering: Rendering,
        rows: tuple[int, int],
        calls: Sequence[int],
        place: Callable[[StreamPart], StreamPart],
    ) -> Iterator[Step]:
        if rows[0] < rows[1] or calls:
            wanted = np.zeros(len(content.painted), bool)
            wanted[slice(*rows)] = True
            yield Paint(self._page(rendering, place(StreamPart(wanted, frozenset(calls)))))

    def _page(self, rendering: Rendering, part: StreamPart) -> int:
        self.bytes_left -= len(self.page_content.stream.data)  # which each of its pages has anew
        return self.add_page(rendering, part)

    def _group(
        self,
        content: Content,
        number: int,
        rendering: Rendering,
        to_user: Matrix,
        places: tuple[Callable[[StreamPart], StreamPart], Callable[[StreamPart], StreamPart]],
    ) -> Compose:
        call, (place, inside) = content.calls[number], places
        inner, state, to_inner = call.content, self.page_content.states[call.state], times(call.matrix, to_user)
        light = self._light_of(inner, rendering) if inner.own_isolated else None
        masked = None
        if state.soft_mask:
            with_mask, without = (_only(content, number, shape=True, laid=laid) for laid in (False, True))
            masked = self._page(rendering, place(with_mask)), self._page(rendering, place(without))
        box = overlap(box_through(to_user, call.clip), box_through(to_inner, inner.bbox or EVERYWHERE))
        inner_steps = self._steps(inner, Rendering(light=light) if light else rendering, to_inner, inside)
        return Compose(
            tuple(inner_steps),
            self._in_points(box),
            inner.own_isolated,
            state.blend,
            state.fill_alpha,
            masked,
            light,
            _channels(rendering),
        )

    def _in_points(self, box: Box) -> Box:
        left, top = self.media_pt[0], self.media_pt[3]
        return (box[0] - left, top - box[3], box[2] - left, top - box[1])


def _only(
    content: Content,
    number: int,
    *,
    within: dict[int, StreamPart] | None = None,
    shape: bool = False,
    laid: bool = False,
) -> StreamPart:
    """A part of a stream that is one call."""
    none = np.zeros(len(content.painted), bool)
    return StreamPart(
        none,
        frozenset({number}),
        within or {},
        frozenset({number} if shape else ()),
        frozenset({number} if laid else ()),
    )


def _has_process(rendering: Rendering) -> bool:
    return rendering.light is not None or not rendering.plates.isdisjoint(PROCESS)


def _channels(rendering: Rendering) -> tuple[str, ...]:
    return tuple(own[0] if len(own) == 1 and own[0] in PROCESS else "" for own in rendering.channels)
