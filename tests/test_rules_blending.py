"""Groups that blend in another space than the plates'."""

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing
from tests.house import Case, blank_page, prove, with_die
from tests.referees import ghostscript_plates, needs_ghostscript

ONE_UP = {"artwork_is": "one-up"}
CYAN, BLACK, WHITE = (1, 0, 0, 0), (0, 0, 0, 1), (0, 0, 0, 0)
PANEL = (30, 60, 80, 140)


def group(space: object = Name.DeviceRGB, *, isolated: bool = False) -> Dictionary:
    return Dictionary(S=Name.Transparency, CS=space, I=isolated)


def page_group(page: Drawing, space: object = Name.DeviceRGB, *, blends: bool = True) -> Drawing:
    """The page with a group of its own, and a shadow of 30 % that is blended."""
    page.page.obj.Group = group(space)
    if blends:
        page.gs(ca=0.3).fill("Mill Brown", rect=(90, 60, 110, 80)).gs(ca=1.0)
    return page


def profile(page: Drawing, components: int) -> Array:
    """A colour space with a profile of so many components; the bytes are no profile, which nobody looks into."""
    stream = page.pdf.make_stream(b"not looked into")
    stream.N = components
    return Array([Name.ICCBased, page.pdf.make_indirect(stream)])


def by_profile(components: int, *, output: bool = False) -> Drawing:
    page = blank_page().fill(CYAN, rect=PANEL)
    space = profile(page, components)
    if output:
        intent = Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="Plant",
                            DestOutputProfile=space[1])  # fmt: skip
        page.pdf.Root.OutputIntents = Array([intent])
    return page_group(page, space)


def form_group(operators: str, *, isolated: bool, space: object = Name.DeviceRGB) -> Drawing:
    page = blank_page()
    page.spot("Mill Brown")
    name = page.form(operators, bbox_mm=(0, 0, 200, 200), group=group(space, isolated=isolated))
    return page.raw(f"/{name} Do")


IN_CYAN = "1 0 0 0 k 100 200 100 100 re f"
IN_RGB = "1 0 0 rg 100 200 100 100 re f"
IN_SPOT = "/CS0 cs 1 scn 100 200 100 100 re f"


def case(name, expect, draw, **more):
    return Case("blending-not-cmyk", name, expect, lambda: with_die(draw()), ticket=ONE_UP, **more)


CASES = [
    case("an RGB page, cyan on it", "fail", lambda: page_group(blank_page().fill(CYAN, rect=PANEL)), near=PANEL,
         measured=1),
    case("an RGB page, black text on it", "fail", lambda: page_group(blank_page().text("Sage", (40, 100), 8))),
    case("an RGB page, grey on it", "fail", lambda: page_group(blank_page().fill((0.5,), rect=PANEL))),
    case("ICC-based RGB", "fail", lambda: by_profile(3)),
    case("ICC-based CMYK of its own", "fail", lambda: by_profile(4)),
    case("CMYK by the output profile", "pass", lambda: by_profile(4, output=True)),
    case("a CMYK page", "pass", lambda: page_group(blank_page().fill(CYAN, rect=PANEL), Name.DeviceCMYK)),
    case("an RGB page, nothing blended", "warn",
         lambda: page_group(blank_page().fill(CYAN, rect=PANEL), blends=False)),
    case("an RGB page, only spots on it", "pass", lambda: page_group(blank_page().fill("Mill Brown", rect=PANEL))),
    case("an RGB page, only RGB on it", "pass", lambda: page_group(blank_page().fill((1, 0, 0), rect=PANEL))),
    case("an RGB page, only white on it", "pass", lambda: page_group(blank_page().fill(WHITE, rect=PANEL))),
    case("an RGB page, cyan beside the carton", "pass",
         lambda: page_group(blank_page().fill(CYAN, rect=(120, 0, 140, 9)))),
    case("no group", "pass", lambda: blank_page().gs(ca=0.3).fill(CYAN, rect=PANEL).gs(ca=1.0)),
    case("an isolated RGB group", "fail", lambda: form_group(IN_CYAN, isolated=True), measured=1),
    case("a CMYK group in it", "pass", lambda: form_group(IN_CYAN, isolated=True, space=Name.DeviceCMYK)),
    case("a group that is not isolated has its parent's space", "pass", lambda: form_group(IN_CYAN, isolated=False)),
    case("an isolated RGB group of RGB", "pass", lambda: form_group(IN_RGB, isolated=True)),
    case("an isolated RGB group of a spot", "pass", lambda: form_group(IN_SPOT, isolated=True)),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_blending(case, tmp_path):
    prove(case, tmp_path)


def test_rows_of_a_group(tmp_path):
    page = form_group(IN_CYAN, isolated=True).fill(BLACK, rect=PANEL)
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    assert [(found.space, found.of_page, found.rows.tolist()) for found in read.blend_spaces] == [
        ("DeviceRGB", False, [0])
    ]


@needs_ghostscript
@pytest.mark.parametrize(
    ("draw", "changes"),
    [
        (lambda: page_group(blank_page().fill(CYAN, rect=PANEL)), True),
        (lambda: page_group(blank_page().fill(CYAN, rect=PANEL), blends=False), False),
        (lambda: form_group(IN_CYAN, isolated=True), True),
        (lambda: form_group(IN_CYAN, isolated=False), False),
    ],
    ids=["page", "page without anything to blend", "isolated", "not isolated"],
)
def test_an_outside_renderer_changes_the_plates_where_the_rule_fails(draw, changes, tmp_path):
    cyan = ghostscript_plates(draw().save(tmp_path / "art.pdf"), tmp_path / "plates", dpi=25, finer=2)["Cyan"]
    assert (float(cyan.max()) < 0.99) is changes
