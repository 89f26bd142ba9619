"""Page sizes against Poppler's ``pdfinfo``, separation names against pypdf's reading."""

from __future__ import annotations

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import DRAWINGS, device_n, rect
from tests.referees import needs_pdfinfo, pdfinfo_size_pt, pypdf_separations

ODD_NAMES = ["Größe 50%/2", "a b", "PANTONE 485 C", "Don't Print", "#H", "(C)", "<D>", 'x"y', "שחור", "Cut;Crease"]


@needs_pdfinfo
@pytest.mark.parametrize(
    "box", [[0, 0, 340.16, 226.77], [-20, -30, 100, 60], [100, 60, -20, -30], [0.5, 0.25, 99.9, 70]]
)
@pytest.mark.parametrize("turn", [0, 90, 180, 270, -90, 450])
@pytest.mark.parametrize("unit", [1, 2.5])
@pytest.mark.parametrize("inherited", [False, True])
def test_page_sizes_agree_with_pdfinfo(tmp_path, box, turn, unit, inherited):
    """Poppler gives the media box before Rotate and UserUnit (ISO 32000-2, table 31)."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page().obj
    del page.MediaBox
    holder = pdf.Root.Pages if inherited else page
    holder.MediaBox, holder.Rotate, page.UserUnit = Array(box), turn, unit
    page.CropBox = Array([5, 5, 20, 20])
    pdf.save(tmp_path / "art.pdf")
    width, height, said_turn = pdfinfo_size_pt(tmp_path / "art.pdf")
    read = read_artwork(tmp_path / "art.pdf").pages[0]
    sides = (read.width_mm, read.height_mm) if said_turn % 180 == 0 else (read.height_mm, read.width_mm)
    assert sides == pytest.approx((width * unit / MM, height * unit / MM), abs=0.02)
    assert read.rotate == said_turn


@pytest.mark.parametrize("name", DRAWINGS)
def test_separation_names_agree_with_pypdf(tmp_path, name):
    path = DRAWINGS[name].save(tmp_path / "art.pdf")
    ours = {s.name for s in read_artwork(path).pages[0].separations}
    assert ours - set(PROCESS) == pypdf_separations(path) - set(PROCESS)


def test_odd_names_agree_with_pypdf(tmp_path):
    page = Drawing(120, 40)
    for at, name in enumerate(ODD_NAMES):
        page.fill(name, 1, rect=(2 + 11 * at, 2, 12 + 11 * at, 38))
    path = page.save(tmp_path / "art.pdf")
    ours = {s.name for s in read_artwork(path).pages[0].separations} - set(PROCESS)
    assert ours == set(ODD_NAMES) == pypdf_separations(path)


def test_names_are_found_wherever_a_page_keeps_them(tmp_path):
    """In a form of a form, a pattern's cell, a Type 3 glyph, an image, a shading, an inline image, an annotation."""
    page = Drawing(60, 60)
    inner = page.form(f"/{page.spot('In a form')} cs 1 scn {rect(0, 0, 5, 5)} f", bbox_mm=(0, 0, 5, 5))
    outer = page.form(f"/{inner} Do", bbox_mm=(0, 0, 60, 60))
    page.raw(f"/{outer} Do").image(b"\x80", 1, 1, (10, 0, 15, 5), space=_own(page, "In an image"))
    function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0], C1=[1])
    page.resources.Shading.S = Dictionary(
        ShadingType=2, ColorSpace=_own(page, "In a shading"), Coords=[0, 0, 100, 100], Function=function
    )
    page.raw(f"q {rect(20, 0, 25, 5)} W n /S sh Q")
    device_n(page, "DN", ["None", "In DeviceN", "Cyan"])
    page.raw(f"/DN cs 0 1 1 scn {rect(30, 0, 35, 5)} f")
    look = page.pdf.make_stream(
        b"/C cs 1 scn 0 0 9 9 re f",
        Dictionary(Subtype=Name.Form, BBox=[0, 0, 9, 9], Resources=Dictionary(ColorSpace=Dictionary())),
    )
    look.Resources.ColorSpace.C = _own(page, "In an annotation")
    annotation = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=[100, 0, 120, 20], F=4, AP=Dictionary(N=look))
    page.page.obj.Annots = Array([page.pdf.make_indirect(annotation)])
    path = page.save(tmp_path / "art.pdf")
    ours = {s.name for s in read_artwork(path).pages[0].separations} - set(PROCESS)
    named = {"In a form", "In an image", "In a shading", "In DeviceN"}
    assert pypdf_separations(path) - set(PROCESS) == named | {"In an annotation"}
    assert ours == named | {"In an annotation"}


def _own(page: Drawing, name: str) -> pikepdf.Object:
    """A Separation space that stands in no dictionary of colour spaces."""
    function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 1, 0, 0])
    return Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, function])
