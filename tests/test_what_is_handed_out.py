"""What reading hands out is frozen: nothing that is measured can change what is measured next."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields

import pytest

from preflight.artwork.page.artwork import Repair
from preflight.artwork.page.colours import Colour, Family
from preflight.artwork.page.objects import FontFacts, ImageFacts
from preflight.artwork.page.page import Alteration, Annotation, BlendSpace, Layer, OverBound, PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Alternate, Separation
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.pdf.colour.colour_spaces import ColourSpace
from preflight.artwork.pdf.content.bulk_colours import RunReader
from preflight.artwork.pdf.content.bulk_operators import Acting
from preflight.artwork.pdf.content.fonts import Font
from preflight.artwork.pdf.content.graphics_state import PaintState, Palette
from preflight.artwork.pdf.content.page_content import PageContent, SoftMask
from preflight.artwork.pdf.content.stream_content import Call, Content, ShadingFill, StreamContext, TilingCell
from preflight.artwork.pdf.content.tokens import Chunk
from preflight.artwork.pdf.images.image_dictionaries import ImageUse
from preflight.artwork.pdf.images.jpeg_2000 import Channel, Decoded, Jpeg2000
from preflight.artwork.pdf.structure.opening import DocumentFacts
from preflight.artwork.pdf.structure.page_boxes import PageGeometry
from preflight.artwork.pdf.structure.repairs import Sort

FROZEN = [
    Acting, Alteration, Alternate, Annotation, BlendSpace, Call, Channel, Chunk, Colour, ColourSpace, Content, Decoded,
    DocumentFacts, Family, Font, FontFacts, ImageFacts, ImageUse, Jpeg2000, Layer, OverBound, PageBoxes, PageContent,
    PageGeometry, PaintState, Palette, Plates, Repair, RunReader, Separation, ShadingFill, SoftMask, Sort,
    StreamContext, TilingCell, UncertainPlace,
]  # fmt: skip


@pytest.mark.parametrize("kind", FROZEN, ids=lambda kind: kind.__name__)
def test_nothing_of_it_can_be_set(kind):
    made = object.__new__(kind)
    with pytest.raises(FrozenInstanceError):
        setattr(made, fields(kind)[0].name, None)


@pytest.mark.parametrize(
    "kind", [Family, ColourSpace, Content, ShadingFill, TilingCell], ids=lambda kind: kind.__name__
)
def test_what_is_compared_by_identity_is_like_nothing_else(kind):
    one, other = object.__new__(kind), object.__new__(kind)
    assert one != other
    assert len({one, other, one}) == 2
