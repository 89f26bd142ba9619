"""Reading ends before plate-making begins: what plates are made from is in the frozen content of the page."""

from __future__ import annotations

from dataclasses import FrozenInstanceError
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content.content_reader import ContentReader
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.images.image_dictionaries import ImageUse
from preflight.artwork.read_artwork import ReadPage, read_artwork
from tests.drawn import Drawing

CYAN = (1, 0, 0, 0)


def masked(page: Drawing, inner: str, *, resources: Dictionary | None = None) -> Dictionary:
    """A soft mask by luminosity, 30 x 20 mm from the lower left."""
    form = page.pdf.make_stream(
        inner.encode(), Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 86, 57],
        Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=True), Resources=resources or Dictionary(),
    )  # fmt: skip
    return Dictionary(Type=Name.Mask, S=Name.Luminosity, G=form)


def read(page: Drawing, tmp_path: Path) -> ReadPage:
    found = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    assert isinstance(found, ReadPage)
    return found


def content_of(page: ReadPage) -> PageContent:
    return page.separator.page_content


@pytest.fixture
def page():
    """A solid of a spot through a mask that is half light in its left half, and another mask in that."""
    drawing = Drawing(30, 20)
    inner = masked(drawing, "1 0 0 rg 0 0 86 57 re f")
    states = Dictionary(G=Dictionary(SMask=inner))
    drawing.gs(SMask=masked(drawing, "/G gs 0.5 0.5 0.5 rg 0 0 43 57 re f", resources=Dictionary(ExtGState=states)))
    drawing.colour("Leaf")
    drawing.raw("0 0 86 57 re f")
    return drawing


def test_soft_masks_are_read_with_the_page(page, tmp_path):
    content = content_of(read(page, tmp_path))
    assert len(content.soft_masks) == 2
    groups = [mask.group for mask in content.soft_masks.values()]
    assert all(group is not None and len(group.painted) == 1 for group in groups)
    assert not {group.number for group in groups if group is not None} & {own.number for own in content.streams}


def test_plates_are_made_when_nothing_can_be_read_any_more(page, tmp_path, monkeypatch):
    found = read(page, tmp_path)

    def refuse(*given: object, **named: object) -> None:
        raise AssertionError("the page is read already")

    for name in ("read", "form", "pattern", "type3", "shading", "first_state"):
        monkeypatch.setattr(ContentReader, name, refuse)
    monkeypatch.setattr(ColourReader, "resolve", refuse)
    plates = found.plates(100)
    leaf = plates.ink[plates.names.index("Leaf")].astype(float) / 255
    # Red is three tenths as light as white, and of that the mask lets a half through.
    assert leaf[10:-10, 10:50].mean() == pytest.approx(0.5 * 0.3, abs=0.02)
    assert leaf[10:-10, 70:-10].max() == 0


def test_what_only_masks_are_painted_in_is_no_colour_of_the_page(page, tmp_path):
    """Before and after plates: a mask in RGB puts no RGB on the page."""
    found = read(page, tmp_path)
    spaces = [family.space for family, _ in found.objects.colours.families()]
    found.plates(100)
    assert [family.space for family, _ in found.objects.colours.families()] == spaces
    assert "DeviceRGB" not in spaces
    content = content_of(found)
    assert "DeviceRGB" in {family.space for family, _ in content.palette.colours.families()}


def test_pictures_and_fonts_of_masks_are_none_of_the_page(tmp_path):
    drawing = Drawing(30, 20)
    picture = drawing.pdf.make_stream(bytes(9), Type=Name.XObject, Subtype=Name.Image, Width=3, Height=3,
                                      ColorSpace=Name.DeviceGray, BitsPerComponent=8)  # fmt: skip
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
    resources = Dictionary(XObject=Dictionary(I=picture), Font=Dictionary(F=font))
    drawing.gs(SMask=masked(drawing, "q 9 0 0 9 0 0 cm /I Do Q BT /F 9 Tf (a) Tj ET", resources=resources))
    drawing.fill(CYAN, rect=(1, 1, 20, 15))
    found = read(drawing, tmp_path)
    found.plates(50)
    assert (found.objects.images, found.objects.fonts) == ([], [])


def test_a_layer_in_nothing_but_a_mask_is_none_of_the_page(tmp_path):
    drawing = Drawing(30, 20)
    layer = drawing.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String("Only in the mask")))
    drawing.pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary())
    resources = Dictionary(Properties=Dictionary(L=layer))
    drawing.gs(SMask=masked(drawing, "/OC /L BDC 1 1 1 rg 0 0 86 57 re f EMC", resources=resources))
    drawing.fill(CYAN, rect=(1, 1, 20, 15))
    found = read(drawing, tmp_path)
    found.plates(50)
    assert found.layers == []


def test_a_mask_that_cannot_be_read_says_so(tmp_path):
    drawing = Drawing(30, 20)
    mask = masked(drawing, "/Me Do 1 1 1 rg 0 0 86 57 re f")
    mask.G.Resources = Dictionary(XObject=Dictionary(Me=mask.G))
    drawing.gs(SMask=mask)
    drawing.fill(CYAN, rect=(1, 1, 20, 15))
    (read_mask,) = content_of(read(drawing, tmp_path)).soft_masks.values()
    assert read_mask.group is None
    assert read_mask.because


def test_masks_of_pictures_are_read_with_the_page(tmp_path):
    drawing = Drawing(30, 20)
    soft = drawing.pdf.make_stream(bytes(range(12)), Type=Name.XObject, Subtype=Name.Image, Width=4, Height=3,
                                   ColorSpace=Name.DeviceGray, BitsPerComponent=8)  # fmt: skip
    drawing.image(bytes(16), 2, 2, (2, 2, 20, 15), SMask=soft)
    content = content_of(read(drawing, tmp_path))
    (use,) = content.stream.images.values()
    assert isinstance(use, ImageUse)
    assert (content.image_masks[use.key].facts.width_px, content.image_masks[use.key].facts.height_px) == (4, 3)


def test_nothing_of_it_can_be_set(page, tmp_path):
    content = content_of(read(page, tmp_path))
    for thing, name in (
        (content, "states"),
        (content.stream, "painted"),
        (content.states[0], "blend"),
        (content.palette, "entries"),
        (next(iter(content.soft_masks.values())), "group"),
    ):
        with pytest.raises(FrozenInstanceError):
            setattr(thing, name, None)
