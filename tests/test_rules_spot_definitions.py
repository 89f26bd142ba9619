"""One spot, several alternate colours: those that differ, and the same one written in other ways."""

from collections.abc import Callable, Sequence

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from preflight.judging.judge import judge
from preflight.measures.job_assembly import assemble_job
from tests.cartons import reverse_tuck
from tests.drawn import MM, Drawing, points_of_rect
from tests.house import Case, blank_page, job_of, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
MOSS = (0.6, 0, 0.8, 0.2)
SECOND = (50, 100, 60, 104)
Make = Callable[[pikepdf.Pdf], object]


def ramp(solid: Sequence[float], bare: Sequence[float] | None = None, power: float = 1) -> Make:
    """A Type 2 function from bare to solid."""
    start = [0.0] * len(solid) if bare is None else list(bare)
    return lambda pdf: Dictionary(FunctionType=2, Domain=[0, 1], N=power, C0=start, C1=list(solid))


def program(code: str, outputs: int, limits: Sequence[float] = (0, 1)) -> Make:
    """A Type 4 function."""
    return lambda pdf: pdf.make_stream(
        code.encode(), Dictionary(FunctionType=4, Domain=[0, 1], Range=list(limits) * outputs)
    )


def table(solid: Sequence[float]) -> Make:
    """A Type 0 function of two samples of 8 bits."""
    samples = bytes(len(solid)) + bytes(round(255 * value) for value in solid)
    keys = Dictionary(FunctionType=0, Domain=[0, 1], Range=[0, 1] * len(solid), Size=[2], BitsPerSample=8)
    return lambda pdf: pdf.make_stream(samples, keys)


def halves(middle: Sequence[float], solid: Sequence[float]) -> Make:
    """A Type 3 function through a colour at half tint."""
    return lambda pdf: Dictionary(
        FunctionType=3, Domain=[0, 1], Bounds=[0.5], Encode=[0, 1, 0, 1],
        Functions=[ramp(middle)(pdf), ramp(solid, middle)(pdf)],
    )  # fmt: skip


def lab() -> Array:
    return Array([Name.Lab, Dictionary(WhitePoint=[0.9642, 1, 0.8249], Range=[-128, 127, -128, 127])])


def icc(pdf: pikepdf.Pdf, components: int) -> Array:
    return Array([Name.ICCBased, pdf.make_stream(b"", Dictionary(N=components))])


def add_space(page: Drawing, space: Array, *tints: float, rect: tuple[float, float, float, float] = SECOND) -> Drawing:
    """A fill in a colour space that is not shared with the drawing's other ones."""
    key = f"Own{len(page.resources.ColorSpace.keys())}"
    page.resources.ColorSpace[Name("/" + key)] = space
    page.raw(f"/{key} cs {' '.join(map(str, tints))} scn")
    return page.path(points_of_rect(*rect)).raw("f")


def moss(make: Make, alternate: object = Name.DeviceCMYK, *, tint: float = 1.0) -> Drawing:
    """A carton with Moss Green 60/0/80/20, and once more with another alternate colour."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    other = alternate(page.pdf) if callable(alternate) else alternate
    return with_die(add_space(page, Array([Name.Separation, Name("/Moss Green"), other, make(page.pdf)]), tint))


def in_device_n(code: str, *, colorants: bool = False) -> Drawing:
    """Moss Green and black in one DeviceN space."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    function = page.pdf.make_stream(
        code.encode(), Dictionary(FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1, 0, 1, 0, 1, 0, 1])
    )
    space = Array([Name.DeviceN, Array([Name.Black, Name("/Moss Green")]), Name.DeviceCMYK, function])
    if colorants:
        own = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp((0.2, 0, 0.3, 0))(page.pdf)])
        keys = Dictionary()
        keys[Name("/Moss Green")] = own
        space.append(Dictionary(Colorants=keys))
    return with_die(add_space(page, space, 0.2, 0.7))


def only_named() -> Drawing:
    """A second definition that nothing is painted in."""
    page = printed("Cyan", "Moss Green")
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp((0.1, 0, 0.1, 0))(page.pdf)])
    page.resources.ColorSpace.Left = space
    return page


def on_hidden_layer() -> Drawing:
    page = blank_page().fill("Moss Green", rect=(28, 60, 48, 80)).layer("Old", on=False)
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp((0.1, 0, 0.1, 0))(page.pdf)])
    return with_die(add_space(page, space, 1).end_layer())


def in_form(solid: Sequence[float]) -> Drawing:
    """The second definition stands in the resources of a form that is turned by 90 degrees."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    key = page.form(f"/Inner cs 1 scn 0 0 {10 * MM} {4 * MM} re f", bbox_mm=(0, 0, 10, 4), matrix=(0, 1, -1, 0, 0, 0))
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp(solid)(page.pdf)])
    page.resources.XObject[Name("/" + key)].Resources = Dictionary(ColorSpace=Dictionary(Inner=space))
    return with_die(page.raw(f"q 1 0 0 1 {60 * MM} {100 * MM} cm /{key} Do Q"))


def picture(solid: Sequence[float], *, indexed: bool = False) -> Drawing:
    """The second definition is the colour space of a picture."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp(solid)(page.pdf)])
    if indexed:
        space = Array([Name.Indexed, space, 1, pikepdf.String(b"\x40\xff")])
    page.image(bytes([0, 1] * 8), 4, 4, SECOND, space=space)
    return with_die(page)


def shading(solid: Sequence[float], *, as_pattern: bool = False) -> Drawing:
    """The second definition is the colour space of a gradient."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp(solid)(page.pdf)])
    x0, y0, x1, y1 = (v * MM for v in SECOND)
    gradient = Dictionary(ShadingType=2, ColorSpace=space, Coords=[x0, y0, x1, y0],
                          Function=Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0.2], C1=[1]))  # fmt: skip
    if as_pattern:
        page.resources.Pattern.Fade = page.pdf.make_indirect(Dictionary(PatternType=2, Shading=gradient))
        page.raw("/Pattern cs /Fade scn").path(points_of_rect(*SECOND)).raw("f")
    else:
        page.resources.Shading.Fade = page.pdf.make_indirect(gradient)
        page.raw("q").path(points_of_rect(*SECOND)).raw("W n /Fade sh Q")
    return with_die(page)


def in_cell(solid: Sequence[float]) -> Drawing:
    """The second definition is used in the cell of a tiling pattern only."""
    page = blank_page()
    page.spot("Moss Green", MOSS)
    page.fill("Moss Green", rect=(28, 60, 48, 80))
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp(solid)(page.pdf)])
    keys = Dictionary(PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 6, 6], XStep=6, YStep=6,
                      Resources=Dictionary(ColorSpace=Dictionary(Inner=space)))  # fmt: skip
    page.resources.Pattern.Dots = page.pdf.make_stream(b"/Inner cs 1 scn 1 1 3 3 re f", keys)
    page.raw("/Pattern cs /Dots scn").path(points_of_rect(*SECOND)).raw("f")
    return with_die(page)


def die_twice() -> Drawing:
    """The die's separation with two alternate colours: nobody prints it."""
    page = with_die(blank_page().fill((1, 0, 0, 0), rect=(28, 60, 48, 80)))
    space = Array([Name.Separation, Name.Cutting, Name.DeviceCMYK, ramp((1, 0, 0, 0))(page.pdf)])
    return add_space(page, space, 1, rect=(120, 3, 130, 5))


def process_twice() -> Drawing:
    """Black as a separation, by gray and by CMYK, and a rich one: a process ink is what it is."""
    page = blank_page().fill("Black", rect=(28, 60, 48, 80))
    return with_die(
        add_space(page, Array([Name.Separation, Name.Black, Name.DeviceGray, ramp((0,), (1,))(page.pdf)]), 1)
    )


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


LINEAR = program("{ dup 0.6 mul exch dup 0 mul exch dup 0.8 mul exch 0.2 mul }", 4)
TWO = "{ dup 0.6 mul 3 1 roll 0 3 1 roll dup 0.8 mul 3 1 roll 0.2 mul add }"
OTHER_TWO = "{ dup 0.3 mul 3 1 roll 0 3 1 roll dup 0.9 mul 3 1 roll 0.2 mul add }"


def case(name, expect, draw, **more):
    return Case("spot-defined-twice", name, expect, draw, **{"ticket": ONE_UP, **more})


CASES = [
    case("other CMYK numbers", "warn", lambda: moss(ramp((0.4, 0, 0.6, 0.1))), near=SECOND, measured=2),
    case("one number, by 3 %", "warn", lambda: moss(ramp((0.63, 0, 0.8, 0.2))), measured=2),
    case("one number, by 1 %", "pass", lambda: moss(ramp((0.61, 0, 0.8, 0.2)))),
    case("by Lab", "warn", lambda: moss(ramp((52, -34, 28), (100, 0, 0)), lab()), near=SECOND, measured=2),
    case("by RGB", "warn", lambda: moss(ramp((0.3, 0.6, 0.2), (1, 1, 1)), Name.DeviceRGB), measured=2),
    case("another mid-tone", "warn", lambda: moss(ramp(MOSS, power=1.8)), measured=2),
    case("another bare colour", "warn", lambda: moss(ramp(MOSS, (0, 0, 0.1, 0))), measured=2),
    case("painted at 30 % only", "warn", lambda: moss(ramp((0.4, 0, 0.6, 0.1)), tint=0.3), near=SECOND),
    case("a turned page", "warn", lambda: turned(moss(ramp((0.4, 0, 0.6, 0.1))))),
    case("on a sheet", "warn", lambda: moss(ramp((0.4, 0, 0.6, 0.1))), ticket={"artwork_is": "sheet"}, near=SECOND),
    case("in a form", "warn", lambda: in_form((0.4, 0, 0.6, 0.1)), near=(56, 100, 60, 110)),
    case("in a picture", "warn", lambda: picture((0.4, 0, 0.6, 0.1)), near=SECOND),
    case("in an Indexed picture", "warn", lambda: picture((0.4, 0, 0.6, 0.1), indexed=True), near=SECOND),
    case("in a gradient", "warn", lambda: shading((0.4, 0, 0.6, 0.1)), near=SECOND),
    case("in a gradient as a pattern", "warn", lambda: shading((0.4, 0, 0.6, 0.1), as_pattern=True)),
    case("in the cell of a pattern", "warn", lambda: in_cell((0.4, 0, 0.6, 0.1))),
    case("in a DeviceN space", "warn", lambda: in_device_n(OTHER_TWO), near=SECOND),
    case("in the colorants of a DeviceN space", "warn", lambda: in_device_n(TWO, colorants=True), near=SECOND),
    case("the same array again", "pass", lambda: moss(ramp(MOSS))),
    case("the same by a program", "pass", lambda: moss(LINEAR)),
    case("the same by samples", "pass", lambda: moss(table(MOSS))),
    case("the same by two stretches", "pass", lambda: moss(halves((0.3, 0, 0.4, 0.1), MOSS))),
    case("the same by a profile", "pass", lambda: moss(ramp(MOSS), lambda pdf: icc(pdf, 4))),
    case("the same in a DeviceN space", "pass", lambda: in_device_n(TWO)),
    case("the same in a form", "pass", lambda: in_form(MOSS)),
    case("the same in a picture", "pass", lambda: picture(MOSS)),
    case("the same in a gradient", "pass", lambda: shading(MOSS)),
    case("the same in the cell of a pattern", "pass", lambda: in_cell(MOSS)),
    case("only named", "pass", only_named),
    case("on a hidden layer", "pass", on_hidden_layer),
    case("a die separation", "pass", die_twice),
    case("a process ink", "pass", process_twice),
    case("an alternate that cannot be read", "not checked", lambda: moss(program("nonsense", 4))),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_spot_definitions(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda: moss(ramp((0.4, 0, 0.6, 0.1))), "CMYK 60/0/80/20 and CMYK 40/0/60/10"),
        (lambda: moss(ramp((52, -34, 28), (100, 0, 0)), lab()), "CMYK 60/0/80/20 and Lab 52/-34/28"),
        (lambda: moss(ramp((0.2, 0.6, 0.4), (1, 1, 1)), Name.DeviceRGB), "CMYK 60/0/80/20 and RGB 51/153/102"),
        (lambda: moss(ramp(MOSS, power=2)), "CMYK 30/0/40/10 and CMYK 15/0/20/5 at a tint of 50 %"),
    ],
)
def test_says_how_they_differ(draw, words, tmp_path):
    judgement = judge(job_of(draw(), tmp_path, ONE_UP), rulebook(), only={"spot-defined-twice"})
    assert f"Moss Green has 2 definitions: {words}." in judgement.findings[0].says


def test_other_pages_count_and_are_named(tmp_path):
    """Page 2 defines the spot anew; it is said once, on the first page."""
    page = printed("Cyan", "Moss Green")
    second = page.pdf.add_blank_page(page_size=(215 * MM, 200 * MM))
    space = Array([Name.Separation, Name("/Moss Green"), Name.DeviceCMYK, ramp((0.9, 0, 0.9, 0))(page.pdf)])
    second.obj.Resources = Dictionary(ColorSpace=Dictionary(Own=space))
    second.obj.Contents = page.pdf.make_stream(b"/Own cs 1 scn 90 90 60 60 re f")
    artwork = read_artwork(page.save(tmp_path / "art.pdf"))
    found = [
        judge(assemble_job(artwork, each, None, None), rulebook(), only={"spot-defined-twice"}).findings
        for each in artwork.pages
    ]
    assert [len(findings) for findings in found] == [1, 0]
    assert "CMYK 0/50/50/0 (page 1) and CMYK 90/0/90/0 (page 2)" in found[0][0].says


def test_one_definition_used_a_hundred_times_is_not_looked_up(tmp_path):
    """What has a single colour space has nothing beside it: its functions are not read."""
    page = blank_page()
    for number in range(100):
        page.fill(f"Spot {number}", rect=(30 + number / 10, 60, 31 + number / 10, 80))
    assert read_artwork(with_die(page, reverse_tuck(at=(10, 10))).save(tmp_path / "art.pdf")).alternates == {}
