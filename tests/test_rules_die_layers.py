"""The layers of the die: switched off, or with artwork on them."""

import pikepdf
import pytest

from tests.cartons import CartonDrawing, draw_die, reverse_tuck
from tests.drawn import MM, Drawing
from tests.house import CARTON, Case, blank_page, job_of, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
SHEET = {"artwork_is": "sheet", "gripper_edge": "bottom"}
BLACK = (0, 0, 0, 1)
OLD = reverse_tuck(width=50, depth=28, height=80, at=(12, 14))
"""Another carton on the same page: the die of an earlier job."""
LOGO = (40, 90, 70, 110)


def artwork() -> Drawing:
    return blank_page().fill("Mill Brown", rect=(30, 60, 80, 140))


def layered(
    page: Drawing, name: str, carton: CartonDrawing = CARTON, *, on: bool = True, step: str = "", **die: object
) -> Drawing:
    """A die on a layer of its own, or a processing step."""
    page.layer(name, on=on, group="Structural" if step else "", step=step)
    draw_die(page, carton, **die)  # type: ignore[arg-type]
    return page.end_layer()


def in_parts(*, cut_on: bool, crease_on: bool) -> Drawing:
    """Cut and crease lines on a layer each."""
    page = artwork()
    for name, lines, on in (("Cut", CARTON.cut, cut_on), ("Crease", CARTON.crease, crease_on)):
        page.layer(name, on=on)
        for line in lines:
            page.stroke("Cutting" if name == "Cut" else "Creasing", line, close=False)
        page.end_layer()
    return page


def price_hidden() -> Drawing:
    page = artwork().layer("Price", on=False).fill("Mill Brown", rect=LOGO).end_layer()
    return with_die(page)


def not_for_print(page: Drawing) -> Drawing:
    """Layers shown on screen and kept from printing, as a die's layer may well be."""
    root = page.pdf.Root.OCProperties
    for group in root.OCGs:
        group.Usage = pikepdf.Dictionary(Print=pikepdf.Dictionary(PrintState=pikepdf.Name.OFF))
    root.D.AS = pikepdf.Array(
        [pikepdf.Dictionary(Event=pikepdf.Name.Print, Category=[pikepdf.Name.Print], OCGs=root.OCGs)]
    )
    return page


def on_layer(
    what: str, layer: str = "Die line", *, rotate: int = 0, step: str = "", die: object = "Cutting"
) -> Drawing:
    """A die on its layer, and with it something else on the same layer."""
    page = artwork()
    page.layer(layer, group="Structural" if step else "", step=step)
    draw_die(page, CARTON, cut=die, crease="Creasing" if die == "Cutting" else die)  # type: ignore[arg-type]
    PUT[what](page)
    page.end_layer()
    if rotate:
        page.page.obj.Rotate = rotate
    return page


def in_a_form(page: Drawing) -> Drawing:
    form = page.form(f"0 1 0 0 k {LOGO[0] * MM} {LOGO[1] * MM} 60 50 re f", bbox_mm=(0, 0, 200, 200))
    return page.raw(f"/{form} Do")


def rounded(page: Drawing, ink: object) -> Drawing:
    """A logo in strokes: a ring of eight corners."""
    points = [(50, 95), (55, 92), (60, 95), (63, 100), (60, 105), (55, 108), (50, 105), (47, 100)]
    return page.stroke(ink, points, width_mm=0.5)  # type: ignore[arg-type]


def die_in_a_form(*, on: bool, member: bool = False) -> Drawing:
    """The die in a form that belongs to a layer, by itself or through a membership dictionary."""
    page = artwork()
    page.layer("Stanze", on=on).end_layer()
    group = page.pdf.Root.OCProperties.OCGs[0]
    inner = blank_page()
    for name in ("Mill Brown", "Cutting", "Creasing"):  # in one order, so that they have the same resource names
        page.spot(name)
        inner.spot(name)
    draw_die(inner, CARTON, overprint=False)
    key = page.form("\n".join(inner.ops), bbox_mm=(0, 0, 215, 200))
    belongs = pikepdf.Dictionary(Type=pikepdf.Name.OCMD, OCGs=group) if member else group
    page.resources.XObject[f"/{key}"].OC = belongs
    return page.raw(f"/{key} Do")


def legend(page: Drawing) -> Drawing:
    """Words, a colour patch and a dimension line beside the carton."""
    page.text("Carton 60 x 30 x 90, board 0.45 mm", (100, 4), 6).fill("Mill Brown", rect=(90, 3, 95, 7))
    return page.stroke(BLACK, [(10, 195), (205, 195)], close=False)


PUT = {
    "nothing": lambda page: page,
    "a logo": lambda page: page.fill((0, 1, 1, 0), rect=LOGO),
    "a spot": lambda page: page.fill("Moss Green", rect=LOGO),
    "a varnish": lambda page: page.fill("Gloss Varnish", rect=LOGO),
    "grey": lambda page: page.fill((0.4,), rect=LOGO),
    "RGB": lambda page: page.fill((0.8, 0.1, 0.1), rect=LOGO),
    "words": lambda page: page.text("Sage and thyme", (40, 100), 9),
    "a picture": lambda page: page.image(bytes([0, 200, 100, 0] * 16), 4, 4, LOGO),
    "a form": in_a_form,
    "strokes": lambda page: rounded(page, (0, 1, 1, 0)),
    "a ground to the edges": lambda page: page.fill((0, 0.2, 0.4, 0), rect=(7, 7, 208, 193)),
    "legend": legend,
    "a remark in the die's ink": lambda page: page.text("GLUE", (12, 100), 8, "Cutting"),
    "bare white": lambda page: page.fill((0, 0, 0, 0), rect=LOGO),
    "guides": lambda page: page.stroke("Dimensions", [(40, 90), (70, 90)], close=False),
}  # fmt: skip


def cut_out_by_a_logo() -> Drawing:
    """A filled logo in the processing step of cutting: it is read as a cut-out."""
    return on_layer("a logo", step="Cutting")


def in_a_sleeve() -> Drawing:
    """A die in one ink, cuts and creases alike, without a glue flap to tell it by."""
    page = blank_page().layer("Die line").stroke("Cutting", [(10, 60), (205, 60), (205, 140), (10, 140)])
    for x in (75, 105, 170):
        page.stroke("Cutting", [(x, 60), (x, 140)], close=False)
    return page.fill("Moss Green", rect=LOGO).end_layer()


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


CASES = [
    case("die-on-hidden-layer", "a hidden layer", "warn", lambda: layered(artwork(), "Outline A", on=False),
         near=CARTON.box),
    case("die-on-hidden-layer", "called so by its layer", "warn",
         lambda: layered(artwork(), "Die line", on=False, cut=BLACK, crease=(0, 1, 1, 0), crease_dash_mm=(3, 2))),
    case("die-on-hidden-layer", "a processing step", "warn",
         lambda: layered(artwork(), "x", on=False, step="Cutting", cut=BLACK, crease=BLACK)),
    case("die-on-hidden-layer", "only the cut", "warn", lambda: in_parts(cut_on=False, crease_on=True)),
    case("die-on-hidden-layer", "only the creases", "warn", lambda: in_parts(cut_on=True, crease_on=False)),
    case("die-on-hidden-layer", "hidden and kept from printing", "warn",
         lambda: not_for_print(layered(artwork(), "Die", on=False))),
    case("die-on-hidden-layer", "on a turned page", "warn", lambda: turned(layered(artwork(), "Die", on=False), 270)),
    case("die-on-hidden-layer", "on a sheet", "warn", lambda: layered(artwork(), "Die", on=False), ticket=SHEET),
    case("die-on-hidden-layer", "in a form of the layer", "warn", lambda: die_in_a_form(on=False)),
    case("die-on-hidden-layer", "by a membership of the layer", "warn", lambda: die_in_a_form(on=False, member=True)),
    case("die-on-hidden-layer", "in a form of a visible layer", "pass", lambda: die_in_a_form(on=True)),
    case("die-on-hidden-layer", "a visible layer", "pass", lambda: layered(artwork(), "Die")),
    case("die-on-hidden-layer", "no layer", "pass", lambda: with_die(artwork())),
    case("die-on-hidden-layer", "shown and kept from printing", "pass",
         lambda: not_for_print(layered(artwork(), "Die"))),
    case("die-on-hidden-layer", "a hidden price", "pass", price_hidden),
    case("die-on-hidden-layer", "an older die hidden beside the one that holds", "pass",
         lambda: layered(layered(artwork(), "Die"), "Die old", OLD, on=False)),
    case("die-on-hidden-layer", "the same die hidden once more", "pass",
         lambda: layered(with_die(artwork()), "Die copy", on=False)),
    *(
        case("art-on-die-layer", what, "warn", lambda what=what: on_layer(what), near=LOGO)
        for what in ("a logo", "a spot", "a varnish", "grey", "RGB", "words", "a picture", "a form", "strokes")
    ),
    case("art-on-die-layer", "a ground to the edges", "warn", lambda: on_layer("a ground to the edges")),
    case("art-on-die-layer", "on a layer of cut lines", "warn", lambda: on_layer("a logo", "Stanzkontur"), near=LOGO),
    case("art-on-die-layer", "in a processing step", "warn", cut_out_by_a_logo, near=LOGO),
    case("art-on-die-layer", "words in a processing step", "warn", lambda: on_layer("words", "x", step="Cutting")),
    case("art-on-die-layer", "a layer that the ticket names", "warn", lambda: on_layer("a spot", "Shade"), near=LOGO,
         ticket={**ONE_UP, "die": {"lines": {"cut": ["Cutting", "Shade"], "crease": ["Creasing"]}}}),
    case("art-on-die-layer", "on a turned page", "warn", lambda: on_layer("a logo", rotate=90)),
    case("art-on-die-layer", "on a sheet", "warn", lambda: on_layer("a logo"), ticket=SHEET),
    case("art-on-die-layer", "in a die of which nobody knows what folds", "warn", in_a_sleeve, near=LOGO),
    case("art-on-die-layer", "beside a die in black", "warn", lambda: on_layer("a logo", die=BLACK), near=LOGO),
    *(
        case("art-on-die-layer", what, "pass", lambda what=what: on_layer(what))
        for what in ("nothing", "legend", "a remark in the die's ink", "bare white", "guides")
    ),
    case("art-on-die-layer", "a die in black on its layer", "pass", lambda: on_layer("nothing", die=BLACK)),
    case("art-on-die-layer", "a die in two process colours on its layer", "pass",
         lambda: layered(artwork(), "Die line", cut=BLACK, crease=(0, 1, 1, 0), crease_dash_mm=(3, 2))),
    case("art-on-die-layer", "a die in outlines", "pass", lambda: die_in_outlines()),
    case("art-on-die-layer", "on a layer of its own", "pass",
         lambda: layered(artwork(), "Die").layer("Artwork").fill("Moss Green", rect=LOGO).end_layer()),
    case("art-on-die-layer", "on a layer whose name only begins so", "pass",
         lambda: layered(artwork(), "Die").layer("Cut Grass").fill("Moss Green", rect=LOGO).end_layer()),
]  # fmt: skip


def turned(page: Drawing, rotate: int) -> Drawing:
    page.page.obj.Rotate = rotate
    return page


def die_in_outlines() -> Drawing:
    """A die in black whose outline was turned into a filled band of 0.4 mm, and its creases into bars."""
    x0, y0, x1, y1 = 20, 30, 190, 170
    page = artwork().layer("Die line").colour(BLACK)
    page.path([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    page.path([(x0 + 0.4, y0 + 0.4), (x1 - 0.4, y0 + 0.4), (x1 - 0.4, y1 - 0.4), (x0 + 0.4, y1 - 0.4)]).raw("f*")
    for x in (60, 100, 140):
        page.fill(BLACK, rect=(x, y0, x + 0.4, y1))
    return page.end_layer()


@pytest.mark.parametrize("case", CASES, ids=str)
def test_die_layers(case, tmp_path):
    prove(case, tmp_path)


def test_the_visible_die_is_used_and_the_hidden_one_is_told_of(tmp_path):
    job = job_of(layered(layered(artwork(), "Die old", OLD, on=False), "Die"), tmp_path, ONE_UP)
    assert job.die.blanks[0].outline.bounds == pytest.approx(CARTON.box, abs=0.2)
    assert any("Die old" in note for note in job.die.notes)


def test_a_hidden_die_is_used_where_the_visible_one_is_not_closed(tmp_path):
    page = layered(artwork(), "Die", on=False).stroke("Cutting", [(30, 60), (60, 60)], close=False)
    job = job_of(page, tmp_path, ONE_UP)
    assert job.die.blanks[0].outline.bounds == pytest.approx(CARTON.box, abs=0.2)


def test_it_names_the_layer(tmp_path):
    from preflight.judging.judge import judge
    from tests.house import rulebook

    job = job_of(layered(artwork(), "Outline A", on=False), tmp_path, ONE_UP)
    [finding] = judge(job, rulebook(), only={"die-on-hidden-layer"}).findings
    assert "Outline A" in finding.says
    assert "cut" in finding.says
