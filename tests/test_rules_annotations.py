"""Annotations that are printed and lie on the artwork."""

import pytest
from pikepdf import Array, Dictionary, Name

from tests.drawn import MM, Drawing
from tests.house import Case, blank_page, judged, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
PATCH = (40, 80, 60, 100)
PRINT, HIDDEN, NO_VIEW = 4, 2, 32
PAINTS = "0 1 0 0 k 0 0 100 50 re f"


def noted(
    kind: str = "Stamp", flags: int = PRINT, rect=PATCH, paints: str = PAINTS, page: Drawing | None = None,
    words: str = "",
) -> Drawing:  # fmt: skip
    """A ground on panel 1, and an annotation with an appearance over it."""
    page = page or blank_page().fill("Mill Brown", rect=(30, 60, 80, 140))
    form = Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 100, 50], Resources=page.resources)
    note = Dictionary(
        Type=Name.Annot, Subtype=Name("/" + kind), Rect=[v * MM for v in rect], F=flags,
        AP=Dictionary(N=page.pdf.make_stream(paints.encode(), form)),
    )  # fmt: skip
    if words:
        note.Contents = words
    if "/Annots" not in page.page.obj:
        page.page.obj.Annots = Array()
    page.page.obj.Annots.append(page.pdf.make_indirect(note))
    if kind == "Widget":
        page.pdf.Root.AcroForm = Dictionary(Fields=Array([page.page.obj.Annots[-1]]))
    return page


def on_hidden_layer() -> Drawing:
    page = noted().layer("Notes", on=False).end_layer()
    page.page.obj.Annots[0].OC = page.pdf.Root.OCProperties.OCGs[0]
    return page


def without_appearance() -> Drawing:
    page = noted()
    del page.page.obj.Annots[0].AP
    return page


def turned(page: Drawing, degrees: int) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def case(name, expect, draw, **more):
    return Case("annotation-prints", name, expect, lambda: with_die(draw()), **{"ticket": ONE_UP, **more})


CASES = [
    case("a stamp", "warn", noted, near=PATCH),
    case("a text", "warn", lambda: noted("FreeText", words="move this logo"), near=PATCH),
    case("a field of a form", "warn", lambda: noted("Widget")),
    case("in RGB", "warn", lambda: noted(paints="1 0 0 rg 0 0 100 50 re f")),
    case("in paper white", "warn", lambda: noted(paints="0 0 0 0 k 0 0 100 50 re f")),
    case("printed and not seen", "warn", lambda: noted(flags=PRINT | NO_VIEW)),
    case("partly on the carton", "warn", lambda: noted(rect=(0, 90, 15, 100))),
    case("on a page that is turned", "warn", lambda: turned(noted(), 90), near=(80, 155, 100, 175)),
    case("two of them", "warn", lambda: noted(page=noted(), rect=(100, 80, 110, 100)), near=(100, 80, 110, 100)),
    case("without the Print flag", "pass", lambda: noted(flags=0)),
    case("hidden", "pass", lambda: noted(flags=PRINT | HIDDEN)),
    case("a link", "pass", lambda: noted("Link")),
    case("a popup", "pass", lambda: noted("Popup")),
    case("a trap network", "pass", lambda: noted("TrapNet")),
    case("beside the carton", "pass", lambda: noted(rect=(0, 0, 9, 9))),
    case("between the flaps", "pass", lambda: noted(rect=(11, 150, 23, 180))),
    case("on a layer that is off", "pass", on_hidden_layer),
    case("of which nothing is painted", "pass", lambda: noted(paints="")),
    case("without an appearance", "pass", without_appearance),
    case("the same as artwork", "pass",
         lambda: blank_page().fill("Mill Brown", rect=(30, 60, 80, 140)).fill((0, 1, 0, 0), rect=PATCH)),
    Case("annotation-prints", "no die, on a sheet", "warn", noted, ticket={"artwork_is": "sheet"}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_annotations(case, tmp_path):
    prove(case, tmp_path)


def test_it_is_named(tmp_path):
    (finding,) = judged(case("named", "warn", lambda: noted(words="move this logo")), tmp_path).findings
    assert finding.says == 'An annotation prints on the artwork (Stamp, "move this logo").'
    twice = case("twice", "warn", lambda: noted(page=noted(), rect=(100, 80, 110, 100)))
    (finding,) = judged(twice, tmp_path).findings
    assert finding.says == "Annotations print in 2 places on the artwork (Stamp)."
