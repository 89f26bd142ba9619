"""Names without ink, one ink under two names, registration colour, colours that are no plate."""

import pikepdf
import pytest

from preflight.judging.judge import judge
from preflight.measures.separations import where_named
from tests.drawn import MM, Drawing, points_of_rect
from tests.house import SIX_UNITS, Case, blank_page, job_of, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
SHEET = {"artwork_is": "sheet", "gripper_edge": "bottom"}
PANEL = (30, 60, 80, 140)


def in_legend() -> Drawing:
    return printed("Cyan").fill("Moss Green", rect=(120, 4, 130, 8))


def in_colour_bar() -> Drawing:
    page = printed("Cyan")
    for number, ink in enumerate([(1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1), "Moss Green"]):
        page.fill(ink, rect=(100 + 5 * number, 2, 105 + 5 * number, 7))  # type: ignore[arg-type]
    return page


def swatches(*inks: object) -> Drawing:
    """Patches of 5 mm in a row under the carton."""
    page = printed("Cyan")
    for number, ink in enumerate(inks):
        page.fill(ink, rect=(100 + 5 * number, 2, 105 + 5 * number, 7))  # type: ignore[arg-type]
    return page


def on_hidden_layer() -> Drawing:
    page = blank_page().layer("Old price", on=False)
    page.fill("Moss Green", rect=PANEL)
    return with_die(page.end_layer())


def at_nought() -> Drawing:
    page = blank_page().fill((1, 0, 0, 0), rect=PANEL)
    return with_die(page.fill("Moss Green", 0.0, rect=(40, 70, 60, 90)))


def covered() -> Drawing:
    page = blank_page().fill("Moss Green", rect=(40, 70, 60, 90))
    return with_die(page.fill((1, 0, 0, 0), rect=PANEL))


def covered_by_its_own_shape() -> Drawing:
    """Letters that stand under the same letters in another ink: only the blended rims of pixels are left of them."""
    page = blank_page()
    page.text("Sage and thyme", (30, 100), 14, "Moss Green")
    return with_die(page.text("Sage and thyme", (30, 100), 14, (0, 0, 0, 1)))


def two_inks(page: Drawing) -> pikepdf.Object:
    """A DeviceN space of cyan and Moss Green."""
    page.spot("Moss Green")
    function = page.pdf.make_stream(
        b"{pop 0 0 0}", pikepdf.Dictionary(FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 4)
    )
    names = pikepdf.Array([pikepdf.Name.Cyan, pikepdf.Name("/Moss Green")])
    return page.pdf.make_indirect(pikepdf.Array([pikepdf.Name.DeviceN, names, pikepdf.Name.DeviceCMYK, function]))


def picture_of(rect: tuple[float, float, float, float], *, green_at_its_right: int = 0) -> Drawing:
    """Twenty pixels side by side, each half cyan; the last of them has Moss Green as given, the others none."""
    page = blank_page()
    space = two_inks(page)
    page.image(bytes([128, 0] * 19 + [128, green_at_its_right]), 20, 1, rect, space=space)
    return with_die(page)


def gradient_of_none() -> Drawing:
    """Cyan from half to full, Moss Green from 0 to 0."""
    page = blank_page()
    shading = pikepdf.Dictionary(
        ShadingType=2, ColorSpace=two_inks(page), Coords=[30 * MM, 0, 80 * MM, 0],
        Function=pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0.5, 0], C1=[1, 0]),
    )  # fmt: skip
    page.resources.Shading.Sh0 = page.pdf.make_indirect(shading)
    page.raw("q").path(points_of_rect(*PANEL)).raw("W n /Sh0 sh Q")
    return with_die(page)


def clipped_away() -> Drawing:
    page = blank_page().raw("q").path(points_of_rect(40, 70, 50, 80)).raw("W n")
    return with_die(page.fill("Moss Green", rect=(60, 90, 70, 100)).raw("Q"))


def off_the_page() -> Drawing:
    return with_die(blank_page().fill("Moss Green", rect=(-40, 70, -20, 90)))


def transparent() -> Drawing:
    return with_die(blank_page().raw("q").gs(ca=0, CA=0).fill("Moss Green", rect=PANEL).raw("Q"))


def invisible_text() -> Drawing:
    return with_die(blank_page().raw("3 Tr").text("Sage", (40, 100), 12, "Moss Green").raw("0 Tr"))


def masked() -> Drawing:
    """Under a soft mask that lets nothing through: a black ground in its group."""
    page = blank_page()
    group = pikepdf.Dictionary(S=pikepdf.Name.Transparency, CS=pikepdf.Name.DeviceGray)
    form = page.form("0 g 0 0 1000 1000 re f", bbox_mm=(0, 0, 300, 300), group=group)
    mask = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=page.resources.XObject[f"/{form}"])
    return with_die(page.raw("q").gs(SMask=mask).fill("Moss Green", rect=PANEL).raw("Q"))


def only_named() -> Drawing:
    page = printed("Cyan")
    page.spot("Moss Green")
    return page


def touching_from_outside() -> Drawing:
    """A legend box that reaches 0.05 mm over the cut line of the right edge."""
    return printed("Cyan").fill("Moss Green", rect=(205 - 0.05, 70, 212, 130))


def dot(side_mm: float) -> Drawing:
    return with_die(blank_page().fill("Moss Green", rect=(50, 100, 50 + side_mm, 100 + side_mm)))


def sliver(width_mm: float, *, rise_mm: float = 0.0, tint: float = 1.0) -> Drawing:
    page = blank_page()
    y = 100.03
    corners = [(35, y), (70, y + rise_mm), (70, y + rise_mm + width_mm), (35, y + width_mm)]
    return with_die(page.fill("Moss Green", tint, points=corners))


def tint_of(tint: float) -> Drawing:
    return with_die(blank_page().fill("Moss Green", tint, rect=PANEL))


def in_registration(rect: tuple[float, float, float, float], tint: float = 1.0) -> Drawing:
    return printed("Cyan", "Mill Brown").fill("All", tint, rect=rect)


IN_ZZZ = 39.5
"""Ink of eight letters z of 20 pt, mm2, as Ghostscript (38.7) and PDFium (40.1) draw them; their box has 149."""


def text_in_registration(tint: float = 1.0, *, form: bool = False) -> Drawing:
    page = blank_page().fill("Mill Brown", rect=(30, 60, 35, 65)).text("zzzzzzzz", (40, 100), 20, "All", tint)
    if form:
        inner = page.ops.pop()
        page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 300, 300))} Do")
    return with_die(page)


def turned(page: Drawing, degrees: int) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def registration_covered() -> Drawing:
    page = blank_page().fill("All", rect=(50, 100, 60, 110))
    page.fill("Mill Brown", rect=PANEL)
    return with_die(page)


def indexed(page: Drawing, ink: str) -> Drawing:
    """A picture of 30 % and 60 % of an ink, in two Indexed colours, that overprints 10 x 4 mm."""
    base = page.resources.ColorSpace["/" + page.spot(ink)]
    space = pikepdf.Array([pikepdf.Name.Indexed, base, 1, pikepdf.String(bytes([77, 153]))])
    page.gs(OP=True, op=True, OPM=1)
    return page.image(bytes([0, 1]), 2, 1, (50, 100, 60, 104), space=space)


def crop_marks() -> Drawing:
    """Marks at the four corners of the page, drawn as one path whose box holds the whole carton."""
    page = printed("Cyan")
    page.colour("All", stroke=True)
    page.raw("0.5 w")
    for x, y, dx, dy in [(2, 6, 4, 0), (6, 2, 0, 4), (209, 6, 4, 0), (209, 194, 4, 0), (6, 194, 0, 4)]:
        page.path([(x, y), (x + dx, y + dy)], close=False)
    return page.raw("S")


def spot_and_registration() -> Drawing:
    """Registration colour inside the cut puts ink on every plate; Moss Green is only in the legend."""
    return in_legend().fill("All", rect=(50, 110, 60, 120))


def black_in_form() -> Drawing:
    page = printed("Cyan")
    page.page.obj.Rotate = 90
    form = page.form(f"/{page.spot('Schwarz')} cs 1 scn 0 0 40 40 re f", bbox_mm=(0, 0, 20, 20))
    return page.raw(f"q 1 0 0 1 {50 * MM} {100 * MM} cm /{form} Do Q")


def in_two_inks(ink: str) -> Drawing:
    """A picture in cyan and another ink."""
    page = blank_page()
    function = page.pdf.make_stream(
        b"{pop 0 0 0}", pikepdf.Dictionary(FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 4)
    )
    names = pikepdf.Array([pikepdf.Name.Cyan, pikepdf.Name("/" + ink)])
    space = pikepdf.Array([pikepdf.Name.DeviceN, names, pikepdf.Name.DeviceCMYK, function])
    page.image(bytes([128, 200] * 20), 20, 1, PANEL, space=page.pdf.make_indirect(space))
    return with_die(page)


def on_a_sheet(ink: str) -> Drawing:
    """A sheet of 450 x 320 mm without a die."""
    return Drawing(450, 320).fill(ink, rect=(100, 100, 140, 140))


def lab_fill() -> Drawing:
    page = blank_page()
    lab = page.pdf.make_indirect(
        pikepdf.Array(
            [pikepdf.Name.Lab, pikepdf.Dictionary(WhitePoint=[0.9642, 1, 0.8249], Range=[-128, 127, -128, 127])]
        )
    )
    page.resources.ColorSpace.CSLab = lab
    page.raw("/CSLab cs 50 40 20 scn").path([(30, 60), (60, 60), (60, 90)]).raw("f")
    return with_die(page)


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


CASES = [
    case("spot-without-ink", "only in a legend", "warn", in_legend, near=(120, 4, 130, 8)),
    case("spot-without-ink", "only in a colour bar", "warn", in_colour_bar),
    case("spot-without-ink", "on a hidden layer", "warn", on_hidden_layer),
    case("spot-without-ink", "at 0 %", "warn", at_nought),
    case("spot-without-ink", "covered", "warn", covered),
    case("spot-without-ink", "covered by the same letters", "warn", covered_by_its_own_shape),
    case("spot-without-ink", "only in the resources", "warn", only_named),
    case("spot-without-ink", "a fringe over the cut", "warn", touching_from_outside),
    case("spot-without-ink", "under registration colour", "warn", spot_and_registration),
    case("spot-without-ink", "a dot of 0.04 mm2", "warn", lambda: dot(0.2)),
    case("spot-without-ink", "a dot of 0.25 mm2", "pass", lambda: dot(0.5)),
    case("spot-without-ink", "a rule of 0.15 mm", "pass", lambda: sliver(0.15)),
    case("spot-without-ink", "a slanting rule of 0.15 mm", "pass", lambda: sliver(0.15, rise_mm=7)),
    case("spot-without-ink", "a light rule of 0.15 mm", "pass", lambda: sliver(0.15, tint=0.1)),
    case("spot-without-ink", "a sliver of 0.05 mm", "warn", lambda: sliver(0.05)),
    case("spot-without-ink", "1 % of tint", "warn", lambda: tint_of(0.01)),
    case("spot-without-ink", "3 % of tint", "pass", lambda: tint_of(0.03)),
    case("spot-without-ink", "prints", "pass", lambda: printed("Cyan", "Moss Green")),
    case("spot-without-ink", "an Indexed picture that overprints", "pass",
         lambda: indexed(printed("Cyan"), "Moss Green")),
    case("spot-without-ink", "die separations are no spots", "pass", lambda: printed("Cyan")),
    case("spot-named-twice", "suffix and capitals", "warn", lambda: printed("Mill Brown", "MILL BROWN C"), measured=2),
    *(
        case("spot-named-twice", f"{one} and {other}", "warn", lambda one=one, other=other: printed(one, other),
             measured=2)
        for one, other in (("Altgold 8", "Altgold 8 metallic"), ("Gruen", "Grün"), ("Mill Brown", "Mill Brown (2)"),
                           ("Rot", "Rot neu"), ("Mill Brown new", "Mill Brown v2"))
    ),
    *(
        case("spot-named-twice", f"{one} and {other} are two inks", "pass",
             lambda one=one, other=other: printed(one, other))
        for one, other in (("Blue 286", "Blue 287"), ("Silver", "Silver Grey"), ("Blue", "Blue metallic"))
    ),
    case("spot-named-twice", "other digits", "pass", lambda: printed("Leaf 77041 C", "Leaf 77042 C")),
    case("spot-named-twice", "one of them in the legend only", "pass",
         lambda: printed("Mill Brown").fill("MILL BROWN C", rect=(120, 4, 130, 8))),
    case("spot-named-twice", "merged by the ticket", "pass", lambda: printed("Mill Brown", "MILL BROWN C"),
         ticket={**ONE_UP, "separations": {"MILL BROWN C": {"same_as": "Mill Brown"}}}),
    *(
        case("process-ink-as-spot", f"called {name}", "warn", lambda name=name: printed("Cyan", name), measured=1,
             near=(50, 60, 70, 80))
        for name in ("Schwarz", "Noir", "Negro", "Nero", "K", "Gelb", "Jaune", "Giallo", "Amarillo", "Ciano", "Zyan",
                     "m", "Y", "Process Black", "PANTONE Process Yellow C", "Euroskala Gelb")
    ),
    case("process-ink-as-spot", "in small letters", "warn", lambda: printed("Magenta", "cyan")),
    case("process-ink-as-spot", "beside the process ink itself", "warn", lambda: printed("Cyan", "Black", "Schwarz")),
    case("process-ink-as-spot", "inside a form on a turned page", "warn", black_in_form),
    case("process-ink-as-spot", "one of two inks of a picture", "warn", lambda: in_two_inks("Schwarz")),
    case("process-ink-as-spot", "on a sheet", "warn", lambda: on_a_sheet("Schwarz"), ticket=SHEET),
    *(
        case("process-ink-as-spot", f"{name} is an ink of its own", "pass", lambda name=name: printed("Cyan", name))
        for name in ("Gelb 012", "Warm Black", "Black 6 C", "PANTONE Yellow C", "Yellow C", "Process Blue C",
                     "Schwarz 2", "Text Schwarz", "Spot Black", "Mill Brown", "Noir Mat", "Reflex Blue")
    ),
    case("process-ink-as-spot", "the process inks themselves", "pass",
         lambda: printed("Cyan", "Magenta", "Yellow", "Black")),
    case("process-ink-as-spot", "merged by the ticket", "pass", lambda: printed("Cyan", "Black", "Schwarz"),
         ticket={**ONE_UP, "separations": {"Schwarz": {"same_as": "Black"}}}),
    case("process-ink-as-spot", "merged with an ink that is not in the file", "pass",
         lambda: printed("Cyan", "Schwarz"),
         ticket={**ONE_UP, "separations": {"Schwarz": {"same_as": "Black"}}}),
    case("process-ink-as-spot", "a spot by the ticket", "pass", lambda: printed("Cyan", "Schwarz"),
         ticket={**ONE_UP, "separations": {"Schwarz": "spot"}}),
    case("process-ink-as-spot", "only in the legend", "pass",
         lambda: printed("Cyan").fill("Schwarz", rect=(120, 4, 130, 8))),
    case("process-ink-as-spot", "two spellings that another rule asks about", "pass",
         lambda: printed("Black", "black")),
    case("spot-named-twice", "black in small letters", "warn", lambda: printed("Black", "black"), measured=2),
    case("registration-colour-in-art", "inside the cut", "fail", lambda: in_registration((50, 100, 60, 104)),
         near=(50, 100, 60, 104), measured=40),
    case("registration-colour-in-art", "an Indexed picture in it", "fail", lambda: indexed(printed("Cyan"), "All"),
         near=(50, 100, 60, 104), measured=40),
    case("registration-colour-in-art", "a tint of it", "fail", lambda: in_registration((50, 100, 60, 104), 0.3)),
    *(case("registration-colour-in-art", f"text in it, {name}", "fail", draw, measured=mm2) for name, draw, mm2 in (
        ("as the area of its letters", lambda: text_in_registration(), IN_ZZZ),
        ("at 40 %", lambda: text_in_registration(0.4), IN_ZZZ),
        ("turned", lambda: turned(text_in_registration(), 90), IN_ZZZ),
        ("inside a form", lambda: text_in_registration(form=True), IN_ZZZ))),
    case("registration-colour-in-art", "text in black", "pass",
         lambda: with_die(blank_page().text("zzzzzzzz", (40, 100), 20))),
    case("registration-colour-in-art", "beside the carton", "pass", lambda: in_registration((120, 2, 130, 8))),
    case("registration-colour-in-art", "at 0 %", "pass", lambda: in_registration((50, 100, 60, 104), 0.0)),
    case("registration-colour-in-art", "covered", "pass", registration_covered),
    case("registration-colour-in-art", "crop marks in one path", "pass", crop_marks),
    case("colour-not-a-plate", "RGB", "warn", lambda: with_die(blank_page().fill((0.8, 0.2, 0.1), rect=PANEL)),
         near=PANEL, measured=1),
    case("colour-not-a-plate", "Lab", "warn", lab_fill),
    case("colour-not-a-plate", "process and spot", "pass", lambda: printed("Cyan", "Black", "Mill Brown")),
    case("colour-not-a-plate", "grey is black", "pass", lambda: with_die(blank_page().fill((0.5,), rect=PANEL))),
    case("colour-not-a-plate", "RGB beside the carton", "pass",
         lambda: printed("Cyan").fill((0.8, 0.2, 0.1), rect=(120, 2, 130, 8))),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_separations(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("draw", "where"),
    [
        (in_legend, "outside the cut"),
        (in_colour_bar, "colour bar"),
        (lambda: swatches((1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), "Moss Green"), "in a row of patches"),
        (lambda: swatches((1, 0, 0, 0), (0, 1, 0, 0), "Moss Green"), "outside the cut: a legend"),
        (lambda: swatches((1, 0, 0, 0), "Moss Green", (1, 0, 0, 0), "Moss Green"), "outside the cut: a legend"),
        (
            lambda: swatches((1, 0, 0, 0), (0, 1, 0, 0), "Moss Green").fill((0, 0, 1, 0), rect=(115, 2, 123, 8)),
            "outside the cut: a legend",  # the fourth is no patch of their size
        ),
        (on_hidden_layer, "hidden layer Old price"),
        (at_nought, "0 %"),
        (covered, "covered by other artwork"),
        (covered_by_its_own_shape, "covered by other artwork"),
        (lambda: picture_of(PANEL), "a picture that has none of it"),
        (
            lambda: picture_of((185, 80, 215, 120), green_at_its_right=255),
            "a picture that has none of it inside the cut, and has ",
        ),
        (lambda: picture_of(PANEL, green_at_its_right=255).fill((1, 0, 0, 0), rect=PANEL), "covered by other artwork"),
        (gradient_of_none, "a gradient or pattern that has none of it"),
        (clipped_away, "clipped away"),
        (off_the_page, "off the page"),
        (transparent, "fully transparent"),
        (invisible_text, "invisible text"),
        (masked, "masked"),
        (lambda: tint_of(0.01), "painted at 1 % at most"),
        (only_named, "resources"),
        (touching_from_outside, "outside the cut"),
    ],
)
def test_says_where_the_name_occurs(draw, where, tmp_path):
    job = job_of(draw(), tmp_path, ONE_UP)
    ink = next(ink for ink in job.inks if ink.separation.name == "Moss Green")
    assert ink.prints is False
    assert where in where_named(job, ink)


def test_a_spot_without_ink_says_that_no_plate_is_planned(tmp_path):
    job = job_of(in_legend(), tmp_path, ONE_UP, SIX_UNITS)
    (finding,) = judge(job, rulebook(), only={"spot-without-ink"}).findings
    assert "no plate is planned for it" in finding.says
    assert [plate.separation for plate in job.press_plan.passes[0].plates] == ["Cyan"]


def test_registration_colour_makes_no_plate_print(tmp_path):
    job = job_of(spot_and_registration(), tmp_path, ONE_UP)
    assert {ink.separation.name: ink.prints for ink in job.inks if ink.separation.on_plate}["Moss Green"] is False


def one_ink_places(page, folder, **ticket):
    """The places of the finding on one ink under several names, and the units that it accuses."""
    job = job_of(page, folder, {**ONE_UP, **ticket}, SIX_UNITS)
    (found,) = judge(job, rulebook(), only={"spot-named-twice"}).findings
    return {(place.separation, *(round(edge) for edge in place.box_mm)) for place in found.places}, found.units


@pytest.mark.parametrize(("first", "second"), [("Mill Brown", "MILL BROWN C"), ("MILL BROWN C", "Mill Brown")])
def test_one_ink_under_two_names_is_marked_where_the_smaller_one_prints(first, second, tmp_path):
    """The larger is a ground over a whole panel: framed, it would frame the carton."""
    page = blank_page().fill(first, rect=PANEL).fill(second, rect=(100, 100, 110, 106))
    places, units = one_ink_places(with_die(page), tmp_path, units=[first, None, second])
    assert places == {(second, 100, 100, 110, 106)}
    assert units == (1, 3)


def test_of_three_names_all_but_the_largest_are_marked(tmp_path):
    page = (
        printed("Mill Brown").fill("MILL BROWN C", rect=(90, 60, 115, 85)).fill("mill-brown", rect=(60, 110, 65, 115))
    )
    places, _ = one_ink_places(page, tmp_path)
    assert {name for name, *_ in places} == {"Mill Brown", "mill-brown"}
