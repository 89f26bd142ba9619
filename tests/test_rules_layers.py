"""Layers that are seen otherwise than they are printed."""

from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from tests.drawn import Drawing
from tests.house import Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
PATCH = (40, 80, 60, 100)
BLACK = (0, 0, 0, 1)


def on_layer(
    name: str, *, view: str = "", printed: str = "", on: bool = True, states: bool = True, rect=PATCH, ink=BLACK,
    **layer: str,
) -> Drawing:  # fmt: skip
    """A patch on a layer with these usage states; ``states``: the file puts them into effect."""
    page = blank_page().fill("Mill Brown", rect=(30, 60, 35, 65)).layer(name, on=on, **layer)
    page.fill(ink, rect=rect).end_layer()
    group = page.pdf.Root.OCProperties.OCGs[-1]
    group.Usage = Dictionary()
    if view:
        group.Usage.View = Dictionary(ViewState=Name("/" + view))
    if printed:
        group.Usage.Print = Dictionary(PrintState=Name("/" + printed))
    if states:
        page.pdf.Root.OCProperties.D.AS = Array([
            Dictionary(Event=Name("/" + event), Category=Array([Name("/" + event)]), OCGs=Array([group]))
            for event in ("View", "Print")
        ])  # fmt: skip
    return page


def inside_a_form(**states: Any) -> Drawing:
    page = on_layer("Claim", **states)
    inner = page.ops[-3:]
    del page.ops[-3:]
    return page.raw(f"/{page.form(chr(10).join(inner), bbox_mm=(0, 0, 300, 300))} Do")


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


def membership(policy: str) -> Drawing:
    """A patch that a layer that is seen and not printed shows together with another one, by a policy."""
    page = on_layer("Claim", view="ON", printed="OFF", rect=(300, 300, 301, 301)).layer("Art")
    page.end_layer()
    groups = page.pdf.Root.OCProperties.OCGs
    key = f"OC{len(page.resources.Properties.keys())}"
    page.resources.Properties[Name("/" + key)] = page.pdf.make_indirect(
        Dictionary(Type=Name.OCMD, OCGs=Array(list(groups)), P=Name("/" + policy))
    )
    return page.raw(f"/OC /{key} BDC").fill(BLACK, rect=PATCH).end_layer()


def case(name, expect, draw, **more):
    drawn = {"ticket": ONE_UP, **more}
    return Case("layer-seen-otherwise", name, expect, lambda: with_die(draw()), **drawn)


CASES = [
    case("seen, not printed", "warn", lambda: on_layer("Claim", view="ON", printed="OFF"), case="not printed",
         near=PATCH),
    case("printed, not seen", "warn", lambda: on_layer("Old price", view="OFF", printed="ON"), case="not seen",
         near=PATCH),
    case("hidden, and printed all the same", "warn", lambda: on_layer("Old price", printed="ON", on=False),
         case="not seen"),
    case("shown, and not printed all the same", "warn", lambda: on_layer("Claim", printed="OFF"), case="not printed"),
    case("inside a form", "warn", lambda: inside_a_form(view="ON", printed="OFF"), case="not printed", near=PATCH),
    case("on a page that is turned", "warn", lambda: turned(on_layer("Claim", view="ON", printed="OFF")),
         near=(80, 155, 100, 175)),
    case("in RGB", "warn", lambda: on_layer("Claim", view="ON", printed="OFF", ink=(1, 0, 0))),
    case("in paper white", "warn", lambda: on_layer("Claim", view="ON", printed="OFF", ink=(0, 0, 0, 0))),
    case("in the bleed", "warn", lambda: on_layer("Claim", view="OFF", printed="ON", rect=(206, 80, 207, 90))),
    case("a die layer that is printed and not seen", "warn",
         lambda: on_layer("Legend", view="OFF", printed="ON"), case="not seen"),
    case("seen and printed", "pass", lambda: on_layer("Claim", view="ON", printed="ON")),
    case("neither seen nor printed", "pass", lambda: on_layer("Claim", view="OFF", printed="OFF")),
    case("off by the file", "pass", lambda: on_layer("Claim", on=False)),
    case("states that are not in effect", "pass", lambda: on_layer("Claim", view="ON", printed="OFF", states=False)),
    case("beside the carton", "pass", lambda: on_layer("Claim", view="ON", printed="OFF", rect=(1, 1, 5, 5))),
    case("a legend", "pass", lambda: on_layer("Legend", view="ON", printed="OFF")),
    case("by a processing step", "pass",
         lambda: on_layer("Text", view="ON", printed="OFF", group="Structural", step="Folding")),
    case("a step that prints", "warn", lambda: on_layer("Text", view="ON", printed="OFF", group="White")),
    case("in the die's ink", "pass", lambda: on_layer("Claim", view="ON", printed="OFF", ink="Dimensions")),
    case("shown with another layer that is printed", "pass", lambda: membership("AnyOn")),
    Case("layer-seen-otherwise", "no die, on a sheet", "warn", lambda: on_layer("Claim", view="ON", printed="OFF"),
         ticket={"artwork_is": "sheet"}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_layers(case, tmp_path):
    prove(case, tmp_path)
