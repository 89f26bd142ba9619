"""Graphics states, dashes and masks as the derived document has them."""

from __future__ import annotations

from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.platemaking.plate_resources import PlateResources, with_dots
from preflight.artwork.platemaking.renderings import SILHOUETTE, Rendering
from preflight.errors import CannotBeRendered
from tests.drawn import Drawing
from tests.plate_drawings import group
from tests.test_derived_pdf import derived

SPOTS, INKS = Rendering((("Gold",),)), Rendering((("Cyan",), ("Gold",)))


def resources(tmp_path, rendering: Rendering = INKS, page: Drawing | None = None, **keys: Any) -> PlateResources:
    def write(*given: object):
        raise AssertionError("no stream is written here")

    made, _ = derived(page or Drawing(60, 50), tmp_path)
    return PlateResources(made, rendering, write, **keys)


def state(made: PlateResources, **keys: Any) -> dict[str, Any]:
    return dict(made.graphics_state(Dictionary(**keys), IDENTITY).items())


def test_a_graphics_state_keeps_what_is_the_renderers_affair(tmp_path):
    kept = {"LW": 3, "LC": 1, "LJ": 2, "ML": 4, "ca": 0.5, "CA": 0.25, "AIS": True, "TK": False, "SA": True}
    found = state(resources(tmp_path), **kept, OP=True, op=True, OPM=1, FL=2, HT=Name.Default)
    assert {key: float(value) for key, value in found.items()} == {"/" + key: float(v) for key, v in kept.items()}


@pytest.mark.parametrize(
    ("rendering", "mode", "expected"),
    [
        (INKS, Name.Difference, Name.Difference),
        (SPOTS, Name.Difference, Name.Normal),  # 11.7.4.2
        (SPOTS, Name.Multiply, Name.Multiply),
        (SPOTS, Array([Name.Luminosity, Name.Multiply]), Name.Normal),
        (INKS, Array([Name.Screen, Name.Multiply]), Name.Screen),
        (INKS, Array([]), None),
        (SILHOUETTE, Name.Multiply, None),
    ],
)
def test_the_blend_mode_that_a_rendering_takes(tmp_path, rendering, mode, expected):
    assert state(resources(tmp_path, rendering), BM=mode).get("/BM") == expected


def test_in_a_silhouette_nothing_is_seen_through(tmp_path):
    found = state(resources(tmp_path, SILHOUETTE), ca=0.5, CA=0.5, AIS=True, LW=3, SMask=Name("/None"))
    assert list(found) == ["/LW"]


def test_the_opacity_of_a_group_is_handed_on(tmp_path):
    found = state(resources(tmp_path, opacity=0.5), ca=0.5, CA=0.8, LW=3)
    assert [float(found[key]) for key in ("/ca", "/CA", "/LW")] == pytest.approx([0.25, 0.4, 3])
    assert "/ca" not in state(resources(tmp_path, opacity=0.5), LW=3)


def test_a_state_takes_a_mask_off_but_not_one_of_ours(tmp_path):
    assert state(resources(tmp_path), SMask=Name("/None"))["/SMask"] == Name("/None")
    assert "/SMask" not in state(resources(tmp_path, masked=True), SMask=Name("/None"), BM=Name.Screen)
    assert state(resources(tmp_path, masked=True), SMask=Name("/None"), BM=Name.Screen)["/BM"] == Name.Screen


def test_dashes_of_a_state_have_dots_with_a_length(tmp_path):
    found = state(resources(tmp_path), D=Array([Array([0, 3]), 2]))["/D"]
    assert [float(v) for v in found[0]] == [0.001, 3]
    assert found[1] == 2
    assert "/D" not in state(resources(tmp_path), D=Array([Array([0, 3])]))
    assert state(resources(tmp_path), D=Array([Array([Name.Odd]), 2]))["/D"][0][0] == Name.Odd


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [
        ([], []),
        ([3, 0], [3, 0]),  # a gap of nothing is none
        ([0, 4, 2, 5], [0.001, 4, 2, 5]),
        ([0, 4, 0, 5], [0.001, 4, 0.001, 5]),
        ([2], [2, 2]),
        ([0, 3, 0], [0.001, 3, 0.001, 0, 3, 0]),  # dashes and gaps change places: 8.4.3.6
    ],
)
def test_dots_have_a_little_length(lengths, expected):
    assert with_dots(lengths) == expected


def test_an_even_mask_is_made_once_for_each_level(tmp_path):
    made = resources(tmp_path)
    assert made.even_mask(0.25).objgen == made.even_mask(0.2501).objgen
    assert made.even_mask(0.25).objgen != made.even_mask(0.26).objgen
    mask: Any = made.even_mask(0.25)
    assert mask.G.read_bytes().startswith(b"0.250 g")
    assert (mask.S, mask.G.Group.CS, bool(mask.G.Group.I)) == (Name.Luminosity, Name.DeviceGray, True)


@pytest.mark.parametrize(("knockout", "fits"), [(False, True), (True, False)])
def test_a_mask_by_opacity_is_copied_unless_it_knocks_out(tmp_path, knockout, fits):
    page = Drawing(60, 50)
    form = page.form("0 g 0 0 9 9 re f", bbox_mm=(0, 0, 9, 9), group=group(K=knockout))
    mask = Dictionary(S=Name.Alpha, G=page.resources.XObject[Name("/" + form)])
    made = resources(tmp_path)
    if fits:
        found: Any = made.soft_mask(page.pdf.make_indirect(mask), IDENTITY)
        assert found.G.read_bytes() == b"0 g 0 0 9 9 re f"
    else:
        with pytest.raises(CannotBeRendered):
            made.soft_mask(mask, IDENTITY)


def test_what_has_no_bound_reaches_far_beyond_any_page_on_every_side(tmp_path):
    """A page is 5,080 mm at most in 200 inches; single precision still tells its places apart."""
    made = resources(tmp_path)
    mask: Any = made.even_mask(0.5)
    x, y, wide, tall = (float(word) for word in mask.G.read_bytes().split()[2:6])
    for box in ((x, y, x + wide, y + tall), [float(v) for v in mask.G.BBox]):
        assert max(box[:2]) < -100_000
        assert min(box[2:]) > 100_000


def test_a_mask_that_cannot_be_drawn_is_remembered_with_its_stream(tmp_path):
    page = Drawing(60, 50)
    form = page.form("0 g 0 0 9 9 re f", bbox_mm=(0, 0, 9, 9), group=group(K=True))
    page.gs(SMask=Dictionary(S=Name.Alpha, G=page.resources.XObject[Name("/" + form)])).raw("0 0 9 9 re f")
    made = resources(tmp_path, page=page)
    stream = made.derived_pdf.page_content.stream
    assert "/GS0" not in made.base(stream, IDENTITY).ExtGState
    (missing,) = made.derived_pdf.missing
    assert (missing.content, missing.masked, missing.row, missing.colour) == (stream, True, -1, -1)
    assert "knock-out" in missing.because


def test_resources_of_a_stream_are_its_fonts_and_states(tmp_path):
    page = Drawing(60, 50).gs(LW=3, OP=True).gs(ca=0.5).text("o", (5, 5), 9)
    made = resources(tmp_path, page=page)
    found: Any = made.base(made.derived_pdf.page_content.stream, IDENTITY)
    assert sorted(found.keys()) == ["/ExtGState", "/Font", "/Pattern", "/Shading", "/XObject"]
    assert (found.Font.F0.BaseFont, float(found.ExtGState.GS0.LW), float(found.ExtGState.GS1.ca)) == (
        Name.Helvetica, 3, 0.5,
    )  # fmt: skip
    assert "/OP" not in found.ExtGState.GS0
