"""What is shown is the project's own: figures of presses, names in the sample artwork, colours and signs."""

import re
from importlib.resources import files

import pikepdf
import pytest
import yaml

from preflight.inputs.loading import load_press
from preflight.quantities import Size
from preflight.report import simulation
from sample_jobs.draw import HERE, JOBS
from sample_jobs.drawing.pen import ABSENT_FONT, CREATOR

ROOT = HERE.parent
SHOWN = [ROOT / "README.md", ROOT / "rules" / "README.md", *HERE.rglob("*.yaml"), *HERE.rglob("*.md")]
OF_MAKERS = re.compile(r"\b(?:1020 x 720|1010 x 704|1030 x 790|1050 x 7[0-9]{2}|1034 x 730|1040 x 734|32\.5 mm|348)\b")
"""Sizes of sheets and plates, pitch of ink keys and an ink number as data sheets and libraries have them."""


def press_keys(file):
    """Size of sheet, smallest, printable, plate; where the sheet starts; speed; keys and pitch."""
    press = load_press(file)
    sizes = [press.sheet.largest, press.sheet.smallest, press.sheet.printable, press.plate.size]
    keys = press.ink_keys
    return [*sizes, press.plate.sheet_starts, press.top_speed, keys and (keys.count, keys.pitch)]


SIX_UNITS = [Size(1000, 700), Size(500, 350), Size(990, 684), Size(1020, 780), 40, 14000, (31, 33)]


def test_the_demo_presses_have_sizes_of_their_own():
    assert press_keys(HERE / "presses" / "six-units.yaml") == SIX_UNITS
    assert press_keys(HERE / "presses" / "eight-units-uv.yaml") == [
        Size(1040, 740), Size(520, 380), Size(1030, 720), Size(1060, 820), 44, 13500, (32, 33),
    ]  # fmt: skip
    assert press_keys(HERE / "presses" / "five-units-half.yaml") == [
        Size(710, 500), Size(290, 220), Size(700, 482), Size(730, 590), 42, 12000, (23, 31),
    ]  # fmt: skip


@pytest.mark.parametrize("guide", ["README.md", "rules/README.md"])
def test_the_press_of_a_guide_has_them_too(guide, tmp_path):
    (block,) = re.findall(r"```yaml\n(press: .*?)```", (ROOT / guide).read_text(), re.DOTALL)
    (tmp_path / "press.yaml").write_text(block)
    keys = press_keys(tmp_path / "press.yaml")
    assert keys[:-1] == SIX_UNITS[:-1]
    assert keys[-1] in (None, SIX_UNITS[-1])


@pytest.mark.parametrize("guide", ["README.md", "rules/README.md"])
def test_the_ticket_of_a_guide_fits_its_press(guide):
    text = (ROOT / guide).read_text()
    (press,), (ticket,) = (re.findall(rf"```yaml\n({key}: .*?)```", text, re.DOTALL) for key in ("press", "ticket"))
    across, along = (int(n) for n in re.findall(r"\d+", yaml.safe_load(ticket)["sheet"]["size"]))
    widest, longest = (int(n) for n in re.findall(r"\d+", yaml.safe_load(press)["sheet"]["largest"]))
    assert (across <= widest, along <= longest) == (True, True)


@pytest.mark.parametrize("file", SHOWN, ids=lambda file: str(file.relative_to(ROOT)))
def test_no_figure_is_a_makers(file):
    assert OF_MAKERS.findall(file.read_text()) == []


@pytest.mark.parametrize(("job", "file"), [(job, file) for job, files_of in JOBS.items() for file in files_of])
def test_the_artwork_names_only_what_is_the_projects_own(job, file):
    with pikepdf.open(HERE / job / file) as pdf:
        assert str(pdf.docinfo["/Creator"]) == CREATOR
        fonts = list(pdf.pages[0].Resources.Font.values())
        absent = {str(font.BaseFont) for font in fonts if "/FontFile2" not in font.FontDescriptor}
    assert "demonstration" not in CREATOR
    assert absent == ({f"/{ABSENT_FONT}"} if job == "oat-biscuits" else set())


# Colours and signs of the report page ------------------------------------------------------------------------------

PARTS = (
    *("page.css", "page.html", "picture.html", "customer.html", "page.js", "signs.html"),
    *("setup.css", "setup.html", "presses.html"),
)
PAGE = {part: files("preflight.report").joinpath(part).read_text() for part in PARTS}
PUBLISHED = {"#a8071a", "#7a4b00", "#5c3900", "#4a2d00", "#12613a", "#0b3d91", "#1d5fbf", "#161616", "#d9d9d9"}
"""Colours that were in the page, some of them a palette's to the digit."""


def test_no_colour_is_a_palettes():
    assert PUBLISHED & set(re.findall(r"#[0-9a-f]{6}\b", "".join(PAGE.values()))) == set()


TOLD_APART = {
    (0, 114, 178),
    (213, 94, 0),
    (0, 158, 115),
    (204, 121, 167),
    (230, 159, 0),
    (86, 180, 233),
    (240, 228, 66),
}
"""A palette that is published for colour-blind readers."""


def test_no_likeness_of_an_ink_is_a_palettes():
    inks = {*simulation.SPOT_LOOKS, *simulation.PROCESS_LOOKS.values()}
    assert inks & (TOLD_APART | {(0, 158, 224), (0, 159, 227), (230, 0, 126), (255, 237, 0)}) == set()


def test_each_verdict_has_a_shape_of_its_own():
    """So that it is told on paper in black and white, and by eyes that see red and green alike."""
    sign = PAGE["signs.html"].partition("{% macro sign")[2].partition("{%- endmacro %}")[0]
    fault, query, remark, missing, passed = re.split(r"{%- el(?:if|se)[^%]*%}", sign.partition("%}\n<svg")[2])
    shapes = [re.findall(r"<(\w+) class=\"shape\"([^>]*)", part) for part in (fault, query, remark, missing, passed)]
    assert [[tag for tag, _ in part] for part in shapes] == [["path"], ["rect"], ["path"], ["circle"], ["path"]]
    assert "hexagon" in shapes[0][0][1]
    assert "lozenge" in shapes[2][0][1]
    assert "hexagon" not in shapes[4][0][1]
