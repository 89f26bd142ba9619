"""Which objects of a page are die lines, and which of several reasons for a role is the stronger one."""

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.page import Layer
from preflight.artwork.page.separations import Separation
from preflight.artwork.read_artwork import read_artwork
from preflight.carton.lines.die_objects import (
    Reason,
    _colour_reason,
    _layer_reason,
    _stated_of,
    _stronger,
    is_die_layer,
    lines_of,
    rows_with_role,
    strokes_in_inks,
)
from preflight.inputs.kind_names import load_names
from preflight.inputs.ticket import Ticket
from tests.drawn import Drawing

K = (0, 0, 0, 1)
BOX = [(20, 10), (70, 10), (70, 40), (20, 40)]
INK = Reason("crease", "read", "an ink")
INK_STATED = Reason("crease", "stated", "the ticket, of an ink")
STEP = Reason("cut", "read", "a step")
STATED = Reason("cut", "stated", "the ticket, of a layer")
NAMED_CUT = Reason("cut", "read", "a layer called die", by_layer_name=True)
NAMED_PERFORATE = Reason("perforate", "read", "a layer called perforation", by_layer_name=True)


def ticket(**lines):
    return Ticket.model_validate({"die": {"lines": lines}})


@pytest.mark.parametrize(
    ("layer", "colour", "stronger"),
    [
        (None, None, None),
        (None, INK, INK),
        (STEP, None, STEP),
        (NAMED_CUT, None, NAMED_CUT),
        (STATED, INK_STATED, STATED),
        (STATED, INK, STATED),
        (STEP, INK_STATED, INK_STATED),
        (STEP, INK, STEP),
        (NAMED_PERFORATE, INK, NAMED_PERFORATE),
        (NAMED_PERFORATE, INK_STATED, INK_STATED),
        (NAMED_CUT, INK, INK),
        (NAMED_CUT, INK_STATED, INK_STATED),
    ],
)
def test_ticket_then_step_then_name_of_the_layer_then_ink(layer, colour, stronger):
    assert _stronger(layer, colour) is stronger


@pytest.mark.parametrize(
    ("layer", "lines", "reason"),
    [
        (Layer("Artwork", True), {}, None),
        (Layer("Cutting", True), {}, ("cut", "read", True)),
        (Layer("Creasing", True), {}, ("crease", "read", True)),
        (Layer("Silver", True), {}, None),
        (Layer("Lines 1", True, "Structural", "Perforating"), {}, ("perforate", "read", False)),
        (Layer("Cutting", True, "Dimensions"), {}, None),
        (Layer("Cutting", True, "Structural", "Gluing"), {}, None),
        (Layer("Lines 2", True), {"cut": "Lines 1", "crease": ["Lines 0", "Lines 2"]}, ("crease", "stated", False)),
        (Layer("Cutting", True, "Structural", "Cutting"), {"half-cut": "Cutting"}, ("half-cut", "stated", False)),
    ],
    ids=str,
)
def test_the_role_of_a_layer(layer, lines, reason):
    stated = ticket(**lines) if lines else None
    found = _layer_reason(layer, stated, load_names())
    assert (found and (found.role, found.known, found.by_layer_name)) == reason
    assert is_die_layer(layer, stated) is (reason is not None)


KINDS = {
    "Creasing": Separation("Creasing", "crease", "by its name"),
    "Cutting": Separation("Cutting", "cut", "by the ticket", "stated"),
    "Perf": Separation("Perf", "perforate", "by its name"),
}


@pytest.mark.parametrize(
    ("tints", "reason"),
    [
        ((("Cutting", 1.0),), ("cut", "stated", "by the ticket")),
        ((("Creasing", 1.0), ("Perf", 0.5)), ("perforate", "read", "by its name")),
        ((("Creasing", 1.0), ("Perf", 0.5), ("Cutting", 0.012)), ("cut", "stated", "by the ticket")),
        ((("Creasing", 1.0), ("Cutting", 0.01)), ("crease", "read", "by its name")),
        ((("Cutting", 0.0),), None),
        ((("Black", 1.0),), None),
        ((("Black", 1.0), ("Perf", 0.3)), ("perforate", "read", "by its name")),
        ((), None),
    ],
)
def test_of_several_die_inks_the_one_that_cuts_most_has_the_role(tints, reason):
    found = _colour_reason(KINDS, Colour("DeviceN", tints))
    assert (found and (found.role, found.known, found.because)) == reason
    assert _colour_reason(KINDS, Colour("Separation", tints, registration=True)) is None


@pytest.mark.parametrize(
    ("tints", "registration", "roles", "role"),
    [
        ((("Black", 1.0),), False, {"Black": "cut"}, "cut"),
        ((("Black", 1.0), ("Cyan", 0.01)), False, {"Black": "cut"}, "cut"),
        ((("Black", 1.0), ("Cyan", 0.012)), False, {"Black": "cut"}, None),
        ((("Black", 0.01),), False, {"Black": "cut"}, None),
        ((("Cyan", 1.0),), False, {"Black": "cut", "Cyan": "crease"}, "crease"),
        ((("Cyan", 1.0),), False, {"Black": "cut"}, None),
        ((("Mill Brown", 1.0),), False, {"Mill Brown": "cut"}, None),
        ((("Black", 1.0), ("Cyan", 1.0)), True, {"Black": "cut", "All": "crease"}, "crease"),
        ((("Black", 1.0),), True, {"Black": "cut"}, None),
        ((), False, {"Black": "cut"}, None),
    ],
)
def test_a_process_ink_that_the_ticket_names_is_the_die_where_it_stands_alone(tints, registration, roles, role):
    found = _stated_of(Colour("DeviceCMYK", tints, registration=registration), roles, {"Black", "Cyan"})
    assert (found and found.role) == role
    assert found is None or found.known == "stated"


@pytest.fixture
def read(tmp_path):
    return lambda page, job=None: read_artwork(page.save(tmp_path / "art.pdf"), job).pages[0]


def roles_of(page, job=None):
    reasons, rows = rows_with_role(page, job, load_names())
    return dict(zip(rows.tolist(), (reason.role for reason in reasons), strict=True))


def test_clipped_and_clear_lines_have_no_role(read):
    page = Drawing(90, 60)
    page.stroke("Creasing", BOX)  # 0
    page.stroke("Cutting", [(-40, 10), (-20, 10), (-20, 30)])  # 1: off the page
    page.gs(CA=0).stroke("Cutting", BOX)  # 2: fully transparent
    page.gs(CA=0.25).stroke("Cutting", BOX)  # 3
    page.stroke(K, BOX)  # 4
    page.stroke("Cutting", BOX, tint=0)  # 5
    assert roles_of(read(page)) == {0: "crease", 3: "cut"}


def test_an_empty_page_has_no_roles(read):
    assert roles_of(read(Drawing(90, 60))) == {}


def test_what_is_filled_on_a_layer_only_called_die_is_told_by_its_ink(read):
    page = Drawing(90, 60).layer("Cutting")
    page.fill(K, rect=(5, 5, 9, 9)).stroke(K, BOX).fill("Creasing", rect=(1, 1, 9, 2)).text("Die", (30, 20), 8)  # 0 … 3
    page.end_layer().stroke(K, BOX)
    assert roles_of(read(page)) == {1: "cut", 2: "crease", 3: "cut"}


def test_what_is_filled_in_a_processing_step_is_the_step(read):
    page = Drawing(90, 60).stroke(K, BOX).layer("Die", group="Structural", step="Creasing")
    page.fill(K, rect=(5, 5, 9, 9)).end_layer()
    assert roles_of(read(page)) == {1: "crease"}


def test_lines_on_a_layer_that_does_not_print_are_die_lines_all_the_same(read):
    page = Drawing(90, 60).layer("Cutting", on=False).stroke(K, BOX).end_layer()
    page.layer("Artwork", on=False).stroke("Creasing", BOX).end_layer()
    assert roles_of(read(page)) == {0: "cut", 1: "crease"}


def test_thin_strokes_in_a_process_ink_of_the_ticket(read):
    job = ticket(crease=["Black"], cut=["Cyan", "All"])
    page = Drawing(90, 60)
    page.stroke(K, BOX).stroke(K, BOX, width_mm=1.0).stroke(K, BOX, width_mm=1.05)  # 0, 1, 2: too thick
    page.fill(K, rect=(5, 5, 9, 9)).stroke((1, 0, 0, 0), BOX).stroke((0.5, 0, 0, 1), BOX)  # 3, 4, 5: two inks
    page.stroke("All", BOX).stroke(K, [(-40, 10), (-20, 10)])  # 6, 7: off the page
    reasons, rows = strokes_in_inks(read(page), job, np.array([1]))
    assert dict(zip(rows.tolist(), (reason.role for reason in reasons), strict=True)) == {
        0: "crease",
        4: "cut",
        6: "cut",
    }


def test_an_ink_that_the_ticket_gives_two_roles_has_the_first(read):
    page = Drawing(90, 60).stroke(K, BOX)
    reasons, _ = strokes_in_inks(read(page), ticket(crease="Black", cut="Black"), np.zeros(0, np.intp))
    assert [reason.role for reason in reasons] == ["crease"]


def test_lines_are_as_drawn(read):
    page = Drawing(90, 60).fill(K, rect=(1, 1, 2, 2))
    page.gs(OP=True, op=True).stroke("Cutting", BOX, width_mm=0.5, dash_mm=(3, 1.5)).gs(OP=False, op=False)
    page.layer("Outline").fill("Creasing", rect=(5, 6, 15, 9)).end_layer()
    drawn = read(page)
    stroke, fill = lines_of(drawn, np.array([1, 2]), [Reason("cut", "read", "a"), Reason("crease", "stated", "b")])
    assert stroke.points == pytest.approx(np.array([*BOX, BOX[0]]), abs=0.01)
    assert (stroke.role, stroke.filled, stroke.dashed, stroke.overprint, stroke.row) == ("cut", False, True, True, 1)
    assert (stroke.drawn_in, stroke.inks, stroke.known, stroke.because) == ("Cutting", ("Cutting",), "read", "a")
    assert stroke.width_mm == pytest.approx(0.5, abs=0.01)
    assert (fill.role, fill.filled, fill.dashed, fill.overprint, fill.row) == ("crease", True, False, False, 2)
    assert (fill.known, fill.because) == ("stated", "b")


def test_lines_without_ink_are_called_by_their_layer_or_their_space(read):
    page = Drawing(90, 60).layer("Outline").stroke((0, 0, 0, 0), BOX).end_layer()
    page.stroke((0, 0, 0, 0), BOX).stroke((0.2, 0, 0, 1), BOX)
    names = [line.drawn_in for line in lines_of(read(page), np.arange(3), [STEP] * 3)]
    assert names == ["Outline", "DeviceCMYK", "Cyan, Black"]
