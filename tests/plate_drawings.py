"""Drawings that both the plates and a referee are made of: paths, strokes, text, clips, forms, overprint.

Pages are 2 x 1.5 inches, so that they are whole pixels at 100 dpi and its multiples. Spots: Gold, Line, Base, Varnish.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import reportlab
from pikepdf import Array, Dictionary, Name, Object
from reportlab.pdfbase.ttfonts import TTFontFile

from tests.drawn import MM, Drawing

WIDTH_MM, HEIGHT_MM = 50.8, 38.1
PAGE = (0.0, 0.0, WIDTH_MM, HEIGHT_MM)
PROCESS_NAMES = ("Cyan", "Magenta", "Yellow", "Black")
CYAN = (1, 0, 0, 0)
RULE_MM = 0.105833
"""Three tenths of a point, a whole number of pixels at 1200 dpi."""
Draw = Callable[[Drawing], object]


@dataclass(frozen=True)
class PlateDrawing:
    """A drawing, and what it may differ by from the referee in a tile beside 5 % of the tile's own ink."""

    draw: Draw
    tile: float = 0.02
    finer: int = 6
    """How many times finer than 100 dpi the referee renders."""

    def save(self, path: Path) -> Path:
        page = Drawing(WIDTH_MM, HEIGHT_MM)
        embed_font(page)
        self.draw(page)
        return page.save(path)


DRAWINGS: dict[str, PlateDrawing] = {}


def drawing(*, tile: float = 0.02, finer: int = 6) -> Callable[[Draw], Draw]:
    """Enters a drawing under its function's name."""

    def enter(draw: Draw) -> Draw:
        DRAWINGS[draw.__name__] = PlateDrawing(draw, tile, finer)
        return draw

    return enter


def mm(*values: float) -> str:
    return " ".join(f"{value * MM:.4f}" for value in values)


def rect(x0: float, y0: float, x1: float, y1: float) -> str:
    return mm(x0, y0, x1 - x0, y1 - y0) + " re"


def embed_font(page: Drawing, key: str = "F0") -> None:
    """Bitstream Vera, embedded, so that no program has to choose a font of its own."""
    file = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
    font, program = TTFontFile(str(file)), page.pdf.make_stream(file.read_bytes())
    program.Length1 = len(file.read_bytes())
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name.BitstreamVera, Flags=32, FontBBox=Array(font.bbox), Ascent=font.ascent,
        Descent=font.descent, ItalicAngle=0, CapHeight=font.capHeight, StemV=80, FontFile2=program,
    )  # fmt: skip
    widths = [int(font.charWidths.get(code, font.defaultWidth)) for code in range(32, 127)]
    page.resources.Font[Name("/" + key)] = page.pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.BitstreamVera, FirstChar=32, LastChar=126,
            Widths=Array(widths), Encoding=Name.WinAnsiEncoding, FontDescriptor=page.pdf.make_indirect(descriptor),
        )
    )  # fmt: skip


def device_n(page: Drawing, key: str, names: Sequence[str], attributes: Dictionary | None = None) -> Object:
    """A DeviceN space over DeviceCMYK whose tint transform gives paper: plates must not look at it."""
    count = len(names)
    transform = page.pdf.make_stream(("{" + " pop" * count + " 0 0 0 0}").encode())
    transform.FunctionType, transform.Domain, transform.Range = 4, Array([0, 1] * count), Array([0, 1] * 4)
    space = Array([Name.DeviceN, Array([Name("/" + name) for name in names]), Name.DeviceCMYK, transform])
    if attributes is not None:
        space.append(attributes)
    page.resources.ColorSpace[Name("/" + key)] = page.pdf.make_indirect(space)
    return page.resources.ColorSpace[Name("/" + key)]


def spot_space(page: Drawing, name: str) -> Object:
    return page.resources.ColorSpace[Name("/" + page.spot(name))]


def group(**keys: object) -> Dictionary:
    return Dictionary(S=Name.Transparency, **keys)  # type: ignore[arg-type]


OFF: dict[str, object] = {"OP": False, "op": False}
ON: dict[str, object] = {"OP": True, "op": True, "OPM": 1}


@drawing()
def device_spaces(page: Drawing) -> None:
    device_n(page, "DN", ["Cyan", "Base", "Gold"])
    page.fill((0.2, 0.4, 0.6, 0.1), rect=(1, 1, 20, 12)).fill((0.3,), rect=(22, 1, 40, 12))
    page.fill("Gold", 0.7, rect=(1, 14, 20, 25)).fill("Black", 0.5, rect=(22, 27, 40, 37))
    page.raw(f"/DN cs 0.5 0.25 0.75 scn {rect(22, 14, 40, 25)} f")
    process = Dictionary(ColorSpace=Name.DeviceCMYK, Components=Array([Name("/" + n) for n in PROCESS_NAMES]))
    attributes = Dictionary(Subtype=Name.NChannel, Process=process, Colorants=Dictionary(Line=spot_space(page, "Line")))
    device_n(page, "NC", [*PROCESS_NAMES, "Line"], attributes)
    page.raw(f"/NC cs 0.1 0.2 0.3 0.4 0.5 scn {rect(1, 27, 20, 37)} f")


@drawing()
def colours_that_cs_sets(page: Drawing) -> None:
    """Without scn a Separation or DeviceN colour is solid, CMYK black."""
    device_n(page, "DN", ["Magenta", "Base"])
    page.raw(f"/{page.spot('Gold')} cs {rect(1, 1, 16, 37)} f /DN cs {rect(18, 1, 33, 37)} f")
    page.raw(f"/DeviceCMYK cs {rect(35, 1, 49, 37)} f")


@drawing()
def all_and_none(page: Drawing) -> None:
    page.fill((0.5, 0.3, 0.2, 0.1), rect=(1, 1, 45, 30)).fill("Gold", 0.5, rect=(20, 10, 49, 36))
    page.fill("All", 0.6, rect=(5, 5, 25, 20)).fill("None", 1, rect=(30, 5, 40, 30))
    device_n(page, "Half", ["None", "Gold"])
    device_n(page, "Nothing", ["None", "None"])
    page.raw(f"/Half cs 1 0.9 scn {rect(30, 20, 45, 35)} f /Nothing cs 1 0.9 scn {rect(2, 20, 45, 35)} f")


@drawing()
def default_grey_is_a_spot(page: Drawing) -> None:
    page.resources.ColorSpace.DefaultGray = spot_space(page, "Gold")
    page.fill((0.3,), rect=(1, 1, 24, 36)).raw(f"0.8 G 20 w {mm(30, 5)} m {mm(45, 30)} l S")


@drawing()
def varnish_half_over_board(page: Drawing) -> None:
    page.fill((1, 0.5, 0, 0), rect=(2, 2, 25, 36)).gs(**ON).fill("Varnish", 1, rect=(10, 8, 45, 30))


@drawing()
def varnish_in_an_isolated_group(page: Drawing) -> None:
    page.fill((1, 0.5, 0, 0), rect=(2, 2, 25, 36)).gs(**ON)
    inner = f"/{page.spot('Varnish')} cs 1 scn {rect(10, 8, 45, 30)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceCMYK))
    page.raw(f"/{form} Do")


@drawing()
def ink_and_varnish_in_an_isolated_group(page: Drawing) -> None:
    page.fill((1, 0.5, 0, 0), rect=(2, 2, 25, 36)).gs(**ON)
    varnish = f"/{page.spot('Varnish')} cs 1 scn {rect(10, 8, 45, 30)} f"
    form = page.form(f"0 0 1 0 k {rect(15, 15, 35, 25)} f {varnish}", bbox_mm=PAGE, group=group(I=True))
    page.raw(f"/{form} Do")


@drawing()
def op_without_op(page: Drawing) -> None:
    """OP alone sets both; op alone leaves strokes as they are."""
    page.fill(CYAN, rect=(2, 2, 30, 36)).gs(OP=True).fill("Varnish", 1, rect=(10, 8, 45, 30)).gs(OP=False)
    page.gs(op=True, OPM=1).stroke("Base", [(5, 5), (45, 30)], width_mm=4, close=False)


OVERPRINTS: tuple[dict[str, object], ...] = (
    {"OP": True, "op": False},
    {"OP": False, "op": True},
    {"OP": True, "op": True},
    OFF,
)


@drawing()
def fill_and_stroke(page: Drawing) -> None:
    page.fill((1, 0.5, 0, 0), rect=(2, 2, 48, 18))
    for at, state in enumerate(OVERPRINTS):
        page.gs(OPM=1, **state).colour("Gold", 0.8).colour("Line", 1, stroke=True)
        page.raw(f"{3 * MM} w {rect(4 + 12 * at, 5, 11 + 12 * at, 20)} B")
        page.colour((0.5, 0, 0, 0)).colour((0, 0, 0.7, 0), stroke=True)
        page.raw(f"{rect(4 + 12 * at, 24, 11 + 12 * at, 34)} b*")


@drawing(finer=12)
def thin_stroke_round_a_fill(page: Drawing) -> None:
    page.fill((0.5, 0, 0, 0), rect=(0, 0, WIDTH_MM, 19)).colour("Line", 0.6).colour("Gold", stroke=True)
    page.raw(f"{RULE_MM * MM} w")
    for x in range(12):
        for y in range(9):
            page.raw(f"{rect(1 + x * 4, 1 + y * 4, 3.5 + x * 4, 3.5 + y * 4)} B")


@drawing()
def upright_bars(page: Drawing) -> None:
    for at in range(22):
        page.fill("Gold", 1, rect=(1.3 + at * 2.217, 1.17, 1.63 + at * 2.217, 18.3))
    for at in range(8):
        page.fill(CYAN, rect=(1.3, 20 + at * 2.217, 49, 20.33 + at * 2.217))


@drawing()
def small_upright_squares(page: Drawing) -> None:
    page.colour("Gold")
    for x in range(45):
        for y in range(33):
            page.raw(f"{rect(1.1 + x * 1.07, 1.3 + y * 1.07, 1.5 + x * 1.07, 1.7 + y * 1.07)} f")


@drawing()
def bars_in_large_and_small_numbers(page: Drawing) -> None:
    page.colour("Gold").raw("q 0.001 0 0 0.001 0 0 cm")
    for at in range(22):
        page.raw(f"{mm(1300 + at * 2217, 1170, 330, 17000)} re f")
    page.raw("Q q 1 0 0 1 -100000 -100000 cm")
    for at in range(8):
        page.raw(f"{1.3 * MM + 1e5:.4f} {(20 + at * 2.2) * MM + 1e5:.4f} {mm(47, 0.33)} re f")
    page.raw("Q")


def _rules(page: Drawing, ink: str | tuple[float, ...], x: float, lean: float, width_mm: float = RULE_MM) -> None:
    for at in range(20):
        line = [(x + at * 0.75, 2.0), (x + lean + at * 0.75, 36.0)]
        page.stroke(ink, line, width_mm=width_mm, close=False)


@drawing(finer=12)
def tenth_millimetre_rules(page: Drawing) -> None:
    """Upright, level and slanted; 0.3 pt is a whole number of the referee's pixels."""
    _rules(page, "Gold", 2, 0)
    _rules(page, "Line", 18, 12)
    for at in range(40):
        page.stroke((0, 1, 0, 0), [(34, 2 + at * 0.85), (49, 2 + at * 0.85)], width_mm=RULE_MM, close=False)


@drawing(finer=12)
def rules_as_fills(page: Drawing) -> None:
    for at in range(20):
        page.fill("Gold", 1, rect=(2 + at * 0.75, 2, 2 + RULE_MM + at * 0.75, 36))
        low, high = 18 + at * 0.75, 30 + at * 0.75
        page.fill("Line", 1, points=[(low, 2), (low + RULE_MM, 2), (high + RULE_MM, 36), (high, 36)])


@drawing(finer=12)
def rules_in_tints_overprinting(page: Drawing) -> None:
    page.fill((0.5, 0, 0, 0), rect=(0, 0, WIDTH_MM, 19)).gs(**ON)
    for at in range(30):
        page.stroke("Gold", [(2 + at * 0.75, 2), (2 + at * 0.75, 36)], width_mm=RULE_MM, tint=0.5, close=False)
    page.gs(**OFF)
    for at in range(30):
        page.stroke("Line", [(26 + at * 0.75, 2), (26 + at * 0.75, 36)], width_mm=RULE_MM, tint=0.5, close=False)


@drawing(finer=12)
def rules_under_two_scales(page: Drawing) -> None:
    page.colour("Gold", stroke=True).raw(f"q 0.1 0 0 4 0 0 cm {10 * RULE_MM * MM} w")
    for at in range(40):
        page.raw(f"{mm((2 + at * 1.15) / 0.1, 0.5)} m {mm((2 + at * 1.15) / 0.1, 4.25)} l S")
    page.raw(f"Q q 3 0 0 0.2 0 0 cm {5 * RULE_MM * MM} w")
    for at in range(18):
        page.raw(f"{mm(0.7, (19 + at) / 0.2)} m {mm(16, (19 + at) / 0.2)} l S")
    page.raw("Q")


@drawing()
def dashes_caps_and_joins(page: Drawing) -> None:
    for at in range(20):
        line = [(2 + at * 1.13, 2), (2 + at * 1.13, 18)]
        page.stroke("Gold", line, width_mm=0.254, close=False, dash_mm=(2, 1))
    page.raw("1 J 1 j").stroke("Line", [(5, 22), (20, 36), (30, 22), (45, 36)], width_mm=2, close=False)
    page.stroke("Line", [(27, 5), (49, 5)], width_mm=2, close=False, dash_mm=(0, 3))
    page.stroke("Line", [(27, 9), (49, 16)], width_mm=1, close=False, dash_mm=(0, 1.5))
    page.raw("2 J 2 j").stroke("Base", [(5, 25), (20, 33), (30, 25), (45, 33)], width_mm=0.6, close=False)


@drawing(finer=12)
def text_of_many_sizes(page: Drawing) -> None:
    y = 35.0
    for size in (4, 5, 6, 7, 8, 10, 14, 20):
        page.text("Gold & Varnish Hamburgefonstiv", (1, y - size * 0.3), size, "Gold" if size % 2 else (0, 0, 0, 1))
        y -= size * 0.45
    page.text("Big", (2, 2), 30, (0.3, 0.6, 0, 0))


@drawing(finer=12)
def text_modes_and_overprint(page: Drawing) -> None:
    page.fill((1, 0.3, 0, 0), rect=(0, 0, WIDTH_MM, 19))
    for column, state in enumerate((OFF, ON, OVERPRINTS[0])):
        page.gs(**{"OPM": 1, **state})
        for mode in (0, 1, 2):
            page.colour("Line", 1, stroke=True).raw(f"{mode} Tr 1.5 w")
            page.text("MW", (1 + 17 * column, 3 + 12 * mode), 28, "Gold")


@drawing(finer=12)
def text_spaced_raised_and_slanted(page: Drawing) -> None:
    page.colour("Gold").raw(f"BT /F0 20 Tf 60 Tz 5 Ts 3 Tc 10 Tw 1 0 0.3 1 {mm(3, 25)} Tm (Ab cd) Tj 0 Ts 100 Tz 22 TL")
    page.raw("T* [(Kern)-200(ed)300(x)] TJ (next) ' 4 2 (quote) \" ET")


@drawing(finer=12)
def text_as_a_clip(page: Drawing) -> None:
    page.fill(CYAN, rect=(0, 0, WIDTH_MM, 19)).raw("q 7 Tr").text("WXM", (1, 8), 60, (0, 0, 0, 1))
    page.fill("Gold", 1, rect=(0, 0, WIDTH_MM, 25)).raw("Q q 3 Tr").text("none", (1, 26), 20, "Line").raw("Q")
    page.fill("Line", 1, rect=(40, 26, 50, 36))


@drawing(finer=12)
def font_and_width_from_a_graphics_state(page: Drawing) -> None:
    page.gs(LW=8, Font=Array([page.resources.Font.F0, 40]), D=Array([Array([12, 6]), 0]))
    page.colour("Gold", stroke=True).path([(5, 5), (45, 5)], close=False).raw("S")
    page.raw(f"BT 1 0 0 1 {mm(5, 15)} Tm (Mask) Tj ET")


@drawing()
def clips(page: Drawing) -> None:
    page.raw(f"q {mm(25, 4)} m {mm(5, 20)} l {mm(25, 36)} l {mm(45, 20)} l h {rect(15, 12, 35, 28)} W* n")
    page.fill("Gold", 0.8, rect=PAGE).raw(f"Q q {rect(2.13, 2.13, 12.7, 12.7)} W n").fill(CYAN, rect=PAGE)
    page.raw(f"{rect(8, 8, 30, 30)} W n").fill("Line", 1, rect=PAGE).raw("Q")


@drawing()
def unbalanced_states(page: Drawing) -> None:
    page.raw("Q Q q q").fill("Gold", rect=(2, 2, 30, 30)).raw("q 0.5 0 0 0.5 0 0 cm").fill(CYAN, rect=(40, 40, 80, 60))


@drawing()
def nested_forms_with_matrices(page: Drawing) -> None:
    inner = f"/{page.spot('Gold')} cs 1 scn {rect(0, 0, 10, 6)} f 0 0 1 0 k {rect(2, 2, 5, 8)} f"
    small = page.form(inner, bbox_mm=(0, 0, 9, 7))
    twice = f"q 0.8 0.6 -0.6 0.8 30 10 cm /{small} Do Q q 1 0 0 1 60 20 cm /{small} Do Q"
    large = page.form(twice, bbox_mm=(0, 0, 50, 38), matrix=(0.9, 0.1, -0.1, 0.9, 3, 3))
    page.fill(CYAN, rect=(10, 5, 30, 20)).raw(f"/{large} Do q 1 0 0.3 1 -20 40 cm /{large} Do Q")


@drawing()
def form_under_two_overprint_states(page: Drawing) -> None:
    page.fill((0.6, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 25))
    form = page.form(f"/{page.spot('Varnish')} cs 1 scn {rect(0, 5, 15, 33)} f", bbox_mm=(0, 0, 16, 38))
    page.gs(**ON).raw(f"q 1 0 0 1 {mm(5, 0)} cm /{form} Do Q")
    page.gs(**OFF).raw(f"q 1 0 0 1 {mm(28, 0)} cm /{form} Do Q")


@drawing()
def form_that_takes_the_colour_it_is_called_with(page: Drawing) -> None:
    page.fill((0.6, 0, 0.4, 0), rect=(0, 0, WIDTH_MM, 25)).colour("Varnish", 0.7)
    form = page.form(f"{rect(0, 5, 15, 33)} f", bbox_mm=(0, 0, 16, 38))
    page.raw(f"q 1 0 0 1 {mm(5, 0)} cm /{form} Do Q").colour((0, 1, 0, 0)).raw(f"q 1 0 0 1 {mm(28, 0)} cm /{form} Do Q")


@drawing()
def layers(page: Drawing) -> None:
    page.layer("art").fill(CYAN, rect=(2, 2, 25, 36)).end_layer()
    page.layer("hidden", on=False).fill("Gold", 1, rect=(10, 8, 45, 30)).end_layer().fill(
        "Line", 1, rect=(30, 8, 48, 30)
    )


@drawing()
def page_turned_and_scaled(page: Drawing) -> None:
    page.fill((0.5, 0.2, 0.1, 0.3), rect=(1, 1, 24, 10)).fill("Gold", rect=(30, 20, 49, 30))
    page.page.obj.Rotate = 90
    page.page.obj.UserUnit = 2


@drawing()
def annotations_that_print_and_that_do_not(page: Drawing) -> None:
    page.fill((0.5, 0.2, 0.1, 0.3), rect=(1, 1, 24, 20))
    keys = Dictionary(
        Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 10 * MM, 8 * MM], Matrix=[0, 1, -1, 0, 0, 0],
        Resources=page.resources,
    )  # fmt: skip
    look = page.pdf.make_stream(f"/{page.spot('Gold')} cs 0.7 scn {rect(0, 0, 10, 6)} f".encode(), keys)
    for flags, box in ((4, (10, 5, 30, 30)), (0, (32, 5, 45, 30)), (6, (35, 32, 48, 36))):
        annotation = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=[v * MM for v in box], F=flags)
        annotation.AP = Dictionary(N=look)
        if "/Annots" not in page.page.obj:
            page.page.obj.Annots = Array()
        page.page.obj.Annots.append(page.pdf.make_indirect(annotation))
