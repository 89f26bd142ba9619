"""All that was read of one page's content, frozen: what is measured and what plates are made from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from pikepdf import Object, Pdf

from preflight.artwork.page.colours import Colours
from preflight.artwork.page.objects import FontFacts, ImageFacts
from preflight.artwork.page.page import OverBound
from preflight.artwork.pdf.colour.colour_reader import ColourSpace
from preflight.artwork.pdf.content.graphics_state import PaintState, Palette
from preflight.artwork.pdf.content.stream_content import Content, Type3Glyphs
from preflight.artwork.pdf.content.transparency import Transparency
from preflight.artwork.pdf.images.image_dictionaries import ImageUse

MOST_ROWS = 2_000_000
_ALL = frozenset({"objects", "plates", "text", "images"})


def over_bound(because: str) -> OverBound:
    """Something of a page that is over a bound: nothing that rests on the page as a whole is known."""
    return OverBound(because, _ALL)


class Backdrop(NamedTuple):
    """The colour that a mask's group is composed on (``BC``), in the group's own space."""

    space: ColourSpace
    values: tuple[float, ...]


@dataclass(frozen=True)
class SoftMask:
    """A soft mask by luminosity."""

    group: Content | None
    """None where it cannot be read, or not in full."""
    because: str = ""
    """Why it cannot."""
    spots: Mapping[str, Object] = field(default_factory=dict)
    """Separations that are named in it, each with a colour space of the file that has it alone."""
    backdrop: Backdrop | None = None


@dataclass(frozen=True)
class PageContent:
    """The streams of a page, and the tables that their rows point into by number.

    Those of soft masks point into the same tables, and what only they need stands last in them.
    """

    stream: Content
    """The page's own, with the appearances of annotations that print."""
    streams: Sequence[Content]
    """All that the page is painted with, by number: forms, cells, glyphs; soft masks are not among them."""
    states: Sequence[PaintState]
    palette: Palette
    colours: Colours
    """What each colour puts on plates. This and the next two are without what only soft masks are painted with."""
    fonts: Sequence[FontFacts]
    images: Sequence[ImageFacts]
    type3: Sequence[bool]
    """For each font whether it is one of Type 3."""
    soft_masks: Mapping[object, SoftMask]
    """Luminosity masks of graphics states, by their identity (``values.identity``)."""
    image_masks: Mapping[object, ImageUse]
    """Plain soft masks of images (see ``image_dictionaries.plain_soft_mask``), by the keys of the images."""
    glyphs: Mapping[object, Type3Glyphs]
    """Glyphs with colours of their own, as they are shown without overprint, by the identity of their font."""
    opaque: bool
    """Nothing that the page is painted with is faint, blended or masked, pictures included."""
    over_bounds: Sequence[OverBound]
    pdf: Pdf
    """The file. Nobody reads in it any more, but its objects (resources, images, fonts) live no longer than it."""

    @cached_property
    def transparency(self) -> Transparency:
        """What of it lets something show."""
        return Transparency(self.states, self.palette.entries)

    @cached_property
    def blend_modes(self) -> frozenset[str]:
        """Blend modes that anything but soft masks is painted with."""
        return self.transparency.blend_modes(self.streams)

    def patterns(self) -> Iterator[object]:
        """Patterns that the page sets, those of soft masks excepted."""
        return (pattern for number, pattern in self.palette.patterns() if number < len(self.colours))
