"""Every row of the table of odd dies, on a drawn page: what is done about it and what is said."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Polygon

from preflight.artwork.read_artwork import read_artwork
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.inputs.ticket import Ticket
from tests.cartons import draw_die, reverse_tuck
from tests.die_lines import as_outline, carried_on, circle, in_pieces, rectangle
from tests.drawn import Drawing

CARTON = reverse_tuck(at=(10, 10))
AREA = Polygon(CARTON.outline).area
K = (0, 0, 0, 1)
DASHES = (3, 1.5)


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Die]:
    def read_page(page: Drawing, **ticket) -> Die:
        job = Ticket.model_validate(ticket) if ticket else None
        return read_die(read_artwork(page.save(tmp_path / "die.pdf"), job).pages[0], job)

    return read_page


def page(width: float = 215, height: float = 200, **keys) -> Drawing:
    return Drawing(width, height, **keys)


def with_die(width: float = 215, height: float = 200, **keys) -> Drawing:
    drawing = page(width, height, **keys)
    draw_die(drawing, CARTON)
    return drawing


def is_carton(die: Die, area: float = AREA) -> bool:
    """One blank of the area, and where that is the carton's, of its outline too."""
    if len(die.blanks) != 1 or abs(die.blanks[0].outline.area - area) >= 2:
        return False
    return area != AREA or bool(die.blanks[0].outline.symmetric_difference(Polygon(CARTON.outline)).area < 4)


def says(die: Die, words: str) -> bool:
    return any(words in text for text in (*die.notes, *die.uncertain, die.because))


def test_plain_carton(read):
    die = read(with_die())
    outline = die.blanks[0].outline
    assert die.found == "read"
    assert not die.notes
    assert not die.uncertain
    assert outline.symmetric_difference(Polygon(CARTON.outline)).area < 1
    assert die.drawn_in == {"cut": ("Cutting",), "crease": ("Creasing",)}
    assert len(die.blanks[0].panels) == 13
    assert die.left_out is None
    assert die.cut_lines.length == pytest.approx(outline.exterior.length, abs=0.1)
    assert die.crease_lines.length == pytest.approx(sum(shapely.LineString(c).length for c in CARTON.crease), abs=0.1)


def test_several_blanks_on_a_one_up(read):
    drawing = page(420, 400)
    for x in (10, 210):
        for y in (10, 200):
            draw_die(drawing, reverse_tuck(at=(x, y)))
    die = read(drawing, artwork_is="one-up")
    corners = [blank.outline.bounds[:2] for blank in die.blanks]
    assert np.allclose(corners, [(10, 200), (210, 200), (10, 10), (210, 10)], atol=0.01)  # as one reads
    assert [blank.number for blank in die.blanks] == [1, 2, 3, 4]
    assert says(die, "4 blanks found; the ticket says one-up")
    assert not says(read(drawing, artwork_is="sheet"), "one-up")


def test_common_knives(read):
    drawing = page(420, 320)
    for x in (10, 202):
        for y in (10, 100, 190):
            drawing.stroke("Cutting", rectangle(x, y, x + 192, y + 90))
            for crease in (12, 72, 102, 162):
                drawing.stroke("Creasing", [(x + crease, y), (x + crease, y + 90)], close=False)
    die = read(drawing)
    assert len(die.blanks) == 6
    assert says(die, "6 blanks, 6 share a knife")
    assert {edge.neighbour_mm for edge in die.blanks[0].edges} == {0.0, None}


@pytest.mark.parametrize(
    ("shape", "waste"),
    [
        pytest.param(rectangle(40, 70, 70, 100), 900, id="window"),
        pytest.param(circle(55, 80, 3), 28.2, id="hang hole"),
        pytest.param(rectangle(40, 80, 60, 80.4), 0, id="slit drawn as a box"),
    ],
)
def test_cut_outs_are_waste(read, shape, waste):
    die = read(with_die().stroke("Cutting", shape))
    assert is_carton(die, AREA - waste)
    assert len({edge.edge for edge in die.blanks[0].edges}) == (2 if waste else 1)


def test_slits_are_no_edges(read):
    die = read(with_die().stroke("Cutting", [(40, 80), (60, 80)], close=False))
    assert is_carton(die)
    assert all(edge.edge == "outer" for edge in die.blanks[0].edges)
    assert die.cut_lines.length == pytest.approx(die.blanks[0].outline.exterior.length + 20, abs=0.1)


def test_dimension_lines_that_touch(read):
    drawing = with_die(230, 210)
    for x in (10, 205):
        drawing.stroke("Cutting", [(x, 59 if x == 10 else 55), (x, 2)], close=False)
    drawing.stroke("Cutting", [(10, 4), (205, 4)], close=False)
    for x, side in ((10, 1), (205, -1)):
        drawing.fill("Cutting", points=[(x, 4), (x + 3 * side, 5), (x + 3 * side, 3)])
    die = read(drawing)
    assert is_carton(die)
    assert not die.uncertain
    assert says(die, "3 dimension lines ignored when reading the die")
    assert die.left_out.length > 150


def test_legend_words_and_crop_marks(read):
    drawing = with_die(290, 210)
    drawing.stroke("Cutting", rectangle(220, 10, 280, 60))
    drawing.stroke("Creasing", [(225, 50), (240, 50)], close=False)
    drawing.stroke("Cutting", [(225, 40), (240, 40)], close=False)
    drawing.text("cut", (245, 40), 8, "Cutting").text("crease", (245, 50), 8, "Creasing")
    for mark in ([(5, 10), (1, 10)], [(10, 5), (10, 1)], [(209, 190), (213, 190)], [(205, 195), (205, 199)]):
        drawing.stroke("Cutting", mark, close=False)
    die = read(drawing)
    assert is_carton(die)
    assert says(die, "1 legend box, 4 crop marks, 2 words ignored when reading the die")


def test_a_sketch_in_the_legend_is_no_blank(read):
    drawing = with_die(290, 210)
    drawing.stroke("Cutting", rectangle(220, 10, 280, 60))
    drawing.stroke("Cutting", rectangle(230, 20, 250, 40))
    drawing.stroke("Creasing", [(240, 20), (240, 40)], close=False)
    assert is_carton(read(drawing))


def test_leaving_out_moves_the_outline(read):
    drawing = with_die()
    drawing.stroke("Cutting", [(25, 160), (85, 160)], close=False)
    for x, side in ((25, 1), (85, -1)):
        drawing.fill("Cutting", points=[(x, 160), (x + 3 * side, 161), (x + 3 * side, 159)])
    die = read(drawing)
    assert is_carton(die)
    assert says(die, "cut outline uncertain at (55, 160)")
    assert die.uncertain_places


def test_dimension_line_between_creases_moves_nothing(read):
    drawing = with_die()
    drawing.stroke("Cutting", [(25, 100), (85, 100)], close=False)
    for x, side in ((25, 1), (85, -1)):
        drawing.fill("Cutting", points=[(x, 100), (x + 3 * side, 101), (x + 3 * side, 99)])
    die = read(drawing)
    assert is_carton(die)
    assert not die.uncertain


def test_line_across_a_flap_without_arrows(read):
    die = read(with_die().stroke("Cutting", [(25, 160), (85, 160)], close=False))
    assert says(die, "a line in the cut ink runs across blank")


@pytest.mark.parametrize(("off_mm", "found"), [(3, "read"), (-3, "assumed")], ids=["bleed", "safety"])
def test_second_outline_parallel_to_the_cut(read, off_mm, found):
    second = Polygon(CARTON.outline).buffer(off_mm, join_style="mitre")
    die = read(with_die().stroke("Cutting", list(second.exterior.coords)))
    assert is_carton(die)
    assert die.found == found
    assert says(die, "outline")


def test_second_outline_where_creases_run_out_to_it(read):
    drawing = page(trim=CARTON.box)
    for points in CARTON.cut:
        drawing.stroke("Cutting", points, close=False)
    for points in CARTON.crease:
        drawing.stroke("Creasing", carried_on(points, 3), close=False)
    drawing.stroke("Cutting", list(Polygon(CARTON.outline).buffer(3, join_style="mitre").exterior.coords))
    assert is_carton(read(drawing))


def test_safety_lines_in_panels(read):
    drawing = with_die()
    for panel in CARTON.panels:
        drawing.stroke("Cutting", list(Polygon(panel).buffer(-3, join_style="mitre").exterior.coords))
    die = read(drawing)
    assert is_carton(die)
    assert die.found == "assumed"


def test_without_creases_the_inner_outline(read):
    drawing = page()
    drawing.stroke("Cutting", rectangle(10, 10, 100, 65)).stroke("Cutting", rectangle(7, 7, 103, 68))
    die = read(drawing)
    assert die.found == "assumed"
    assert [round(blank.outline.area) for blank in die.blanks] == [90 * 55]


def test_without_creases_the_outline_of_the_trim_box(read):
    drawing = page(trim=(60, 60, 150, 115))
    drawing.stroke("Cutting", rectangle(5, 5, 210, 195)).stroke("Cutting", rectangle(60, 60, 150, 115))
    die = read(drawing)
    assert die.found == "assumed"
    assert [round(blank.outline.area) for blank in die.blanks] == [90 * 55]


def test_without_creases_the_outline_that_stands_several_times(read):
    drawing = page()
    drawing.stroke("Cutting", rectangle(5, 5, 210, 195))
    for x in (10, 105):
        for y in (10, 70, 130):
            drawing.stroke("Cutting", rectangle(x, y, x + 90, y + 55))
    die = read(drawing)
    assert die.found == "assumed"
    assert len(die.blanks) == 6
    assert says(die, "1 frame")


@pytest.mark.parametrize(
    ("dx", "doubtful"), [(0, False), (0.06, False), (0.2, False), (0.8, True), (1.2, True)], ids=lambda v: str(v)
)
def test_die_drawn_twice(read, dx, doubtful):
    drawing = with_die()
    draw_die(drawing, reverse_tuck(at=(10 + dx, 10)))
    die = read(drawing)
    assert len(die.blanks) == 1
    assert bool(die.uncertain) == doubtful
    assert says(die, f"two cut lines disagree by {dx:.1f} mm at") == doubtful
    assert says(die, "drawn twice within 0.1 mm") == (dx < 0.1)
    if not doubtful:
        assert abs(die.blanks[0].outline.area - AREA) < 20


def test_doubt_of_one_edge_is_about_that_edge(read):
    drawing = with_die()
    drawing.stroke("Cutting", [(205.8, 50), (205.8, 150)], close=False)
    die = read(drawing)
    assert is_carton(die)
    assert len(die.uncertain_places) == 1
    x0, y0, x1, y1 = die.uncertain_places[0]
    assert x0 > 200
    assert y1 - y0 < 110


def test_filled_silhouette(read):
    drawing = page().fill("Cutting", points=CARTON.outline)
    for points in CARTON.crease:
        drawing.stroke("Creasing", points, close=False)
    assert is_carton(read(drawing))


@pytest.mark.parametrize(("cap", "join"), [("flat", "mitre"), ("round", "round"), ("square", "mitre")])
def test_strokes_turned_into_outlines(read, cap, join):
    drawing = page()
    for ink, lines in (("Cutting", CARTON.cut), ("Creasing", CARTON.crease)):
        for points in lines:
            drawing.fill(ink, points=[tuple(p) for p in as_outline(points, 0.3, "cut", 0, cap, join).points])
    die = read(drawing)
    assert len(die.blanks) == 1
    assert not die.uncertain
    outline = die.blanks[0].outline
    assert outline.symmetric_difference(Polygon(CARTON.outline)).area < 0.05 * outline.length
    assert says(die, "16 strokes turned into outlines")


def test_whole_die_as_one_expanded_net(read):
    strokes = [shapely.LineString(points) for points in CARTON.cut]
    band = shapely.union_all(shapely.buffer(strokes, 0.15, cap_style="square", join_style="mitre"))
    drawing = page().colour("Cutting")
    for ring in (band.exterior, *band.interiors):
        drawing.path([tuple(p) for p in ring.coords])
    drawing.raw("f*")
    for points in CARTON.crease:
        drawing.stroke("Creasing", points, close=False)
    die = read(drawing)
    assert is_carton(die)
    assert len(die.blanks[0].panels) == 13


def test_loose_dashes_are_one_dashed_crease(read):
    drawing = page()
    for points in CARTON.cut:
        drawing.stroke("Cutting", points, close=False)
    for points in CARTON.crease:
        for piece in in_pieces(points, *DASHES):
            drawing.stroke("Creasing", [tuple(p) for p in piece.points], close=False)
    die = read(drawing)
    assert is_carton(die)
    assert len(die.blanks[0].panels) == 13


def test_closing_gaps_does_not_swallow_a_perforation(read):
    drawing = with_die()
    for piece in in_pieces([(25, 100), (205, 100)], 3, 0.8):
        drawing.stroke("Cutting", [tuple(p) for p in piece.points], close=False)
    die = read(drawing)
    assert is_carton(die)
    assert says(die, "perforation")
    assert any(area.kind == "glue flap" for area in die.blanks[0].areas)


@pytest.mark.parametrize("gap", [0.3, 0.8])
def test_nicks_are_closed_and_counted(read, gap):
    drawing = page()
    for points in CARTON.cut:
        for piece in in_pieces(points, 30, gap):
            drawing.stroke("Cutting", [tuple(p) for p in piece.points], close=False)
    for points in CARTON.crease:
        drawing.stroke("Creasing", points, close=False)
    die = read(drawing)
    assert is_carton(die)
    assert says(die, f"gaps in the cut line closed, the largest {gap} mm")


def test_wide_gap_is_told_and_not_closed(read):
    drawing = page()
    for points in (*CARTON.cut[1:], [CARTON.cut[0][0], (10, 141), (10, 100)], [(10, 97), (10, 59), CARTON.cut[0][-1]]):
        drawing.stroke("Cutting", points, close=False)
    for points in CARTON.crease:
        drawing.stroke("Creasing", points, close=False)
    die = read(drawing)
    assert says(die, "blank 1 ends in a crease at (25, 100)")
    assert die.uncertain_places


@pytest.mark.parametrize(
    ("by", "panels", "note"),
    [
        pytest.param(2, 13, "creases clipped at the cut", id="past the cut"),
        pytest.param(-0.7, 13, "extended by up to 0.7 mm", id="short by less than 1 mm"),
        pytest.param(-2, 0, "faces of blank 1 not checked: a crease stops 2.0 mm short", id="too short"),
    ],
)
def test_creases_past_or_short_of_the_cut(read, by, panels, note):
    drawing = page()
    for points in CARTON.cut:
        drawing.stroke("Cutting", points, close=False)
    for points in CARTON.crease:
        drawing.stroke("Creasing", carried_on(points, by), close=False)
    die = read(drawing)
    assert is_carton(die)
    assert len(die.blanks[0].panels) == panels
    assert says(die, note)
    assert die.blanks[0].outline.buffer(0.01).covers(die.blanks[0].creases)


def test_one_ink_for_everything(read):
    drawing = page()
    draw_die(drawing, CARTON, cut="Die", crease="Die", crease_dash_mm=DASHES)
    die = read(drawing)
    assert is_carton(die)
    assert die.found == "read"  # the outer edge; which lines fold within it is a guess
    assert die.guessed_within
    assert not die.uncertain
    assert set(die.drawn_in) == {"cut", "crease"}


@pytest.mark.parametrize(
    ("drawn_in", "ticket", "found"),
    [
        pytest.param("Die", {}, "read", id="an ink called die"),
        pytest.param("Shade 9", {"die": {"lines": {"cut": ["Shade 9"]}}}, "stated", id="an ink that the ticket names"),
    ],
)
def test_one_ink_and_all_solid_leaves_the_outer_edge_sure(read, drawn_in, ticket, found):
    drawing = page()
    draw_die(drawing, CARTON, cut=drawn_in, crease=drawn_in)
    die = read(drawing, **ticket)
    assert is_carton(die)
    assert die.found == found
    assert die.guessed_within
    assert not die.uncertain


def card_in_four(drawing: Drawing) -> Drawing:
    """Unlike cells side by side in one ink, no row of panels among them: a card, a carton, a sketch?"""
    for box in ((10, 10, 90, 60), (90, 10, 150, 60), (10, 60, 60, 150), (60, 60, 150, 150)):
        drawing.stroke("Die", rectangle(*box))
    return drawing


def test_one_ink_and_all_solid_without_a_row_of_panels_is_uncertain_everywhere(read):
    die = read(card_in_four(page()))
    assert die.found == "assumed"
    assert die.uncertain
    assert not die.uncertain_places
    assert not read(card_in_four(page(trim=(10, 10, 150, 150)))).uncertain


@pytest.mark.parametrize("closing", ["s", "h S", "b"])
def test_a_card_closed_by_its_painting_operator(read, closing):
    drawing = page().colour("Cutting", stroke=True)
    drawing.raw(f"28 28 m 368 28 l 368 255 l 28 255 l {closing}")
    die = read(drawing)
    assert die.found == "assumed"
    assert [round(blank.outline.area) for blank in die.blanks] == [round(340 * 227 * (25.4 / 72) ** 2)]


@pytest.mark.parametrize(
    ("cut", "crease", "dash", "names"),
    [
        pytest.param(K, K, DASHES, {"cut": ("Black",), "crease": ("Black",)}, id="black, dashed creases"),
        pytest.param(K, K, (), {"cut": ("Black",)}, id="black, all solid"),
        pytest.param((0, 1, 0, 0), (1, 0, 0, 0), (), {"cut": ("Magenta",), "crease": ("Cyan",)}, id="magenta and cyan"),
        pytest.param("Shade 9", "Shade 9", DASHES, {"cut": ("Shade 9",), "crease": ("Shade 9",)}, id="an unknown spot"),
        pytest.param(
            "All", "All", DASHES, {"cut": ("All",), "crease": ("All",)}, id="registration colour, dashed creases"
        ),
        pytest.param("All", "All", (), {"cut": ("All",)}, id="registration colour, all solid"),
        pytest.param("Shade 9", "Rainage", (), {"cut": ("Shade 9",), "crease": ("Rainage",)}, id="only creases named"),
    ],
)
def test_die_in_black_or_process_inks(read, cut, crease, dash, names):
    drawing = page()
    drawing.fill((0, 0.3, 0.4, 0), rect=(25, 55, 205, 145)).text("Sage tea", (40, 90), 24)
    draw_die(drawing, CARTON, cut=cut, crease=crease, crease_dash_mm=dash, overprint=False)
    die = read(drawing)
    assert is_carton(die)
    assert die.found == "assumed"
    assert {role: die.drawn_in[role] for role in names} == names


def table(drawing: Drawing) -> None:
    drawing.stroke(K, rectangle(20, 20, 190, 180))
    for y in range(40, 180, 20):
        drawing.stroke(K, [(20, y), (190, y)], close=False)
    drawing.stroke(K, [(60, 20), (60, 180)], close=False)


def frame(drawing: Drawing) -> None:
    drawing.stroke(K, rectangle(5, 5, 210, 195)).stroke(K, rectangle(8, 8, 207, 192))


def dashed_dividers(drawing: Drawing) -> None:
    drawing.stroke(K, rectangle(5, 5, 210, 195))
    for x in (60, 110, 160):
        drawing.stroke(K, [(x, 5), (x, 195)], close=False, dash_mm=(2, 1))


def filled_panels(drawing: Drawing) -> None:
    for panel in (*CARTON.panels, CARTON.glue_flap, *CARTON.flaps.values()):
        drawing.colour((0.2, 0, 0, 0)).colour(K, stroke=True).raw("0.5 w").path(panel).raw("B")


def thick_outline(drawing: Drawing) -> None:
    draw_die(drawing, CARTON, cut=K, crease=K, crease_dash_mm=DASHES, width_mm=1.2)


def small_carton(drawing: Drawing) -> None:
    small = reverse_tuck(at=(20, 20), width=20, depth=10, height=30, flap=5, tuck=5, radius=2)
    draw_die(drawing, small, cut=K, crease=K, crease_dash_mm=(1, 1))


@pytest.mark.parametrize("art", [table, frame, dashed_dividers, filled_panels, thick_outline, small_carton])
def test_artwork_that_is_no_die(read, art):
    drawing = page()
    art(drawing)
    die = read(drawing)
    assert die.found == "none"
    assert not die.blanks


@pytest.mark.parametrize("inks", [[K], [(n / 40, 0, 0, 0.5) for n in range(40)]], ids=["one ink", "40 tints"])
def test_many_thin_strokes_are_looked_through_quickly(tmp_path, inks):
    random = np.random.default_rng(3)
    drawing = page()
    for n, (x, y, dx, dy) in enumerate(random.random((8000, 4)).tolist()):
        drawing.stroke(inks[n % len(inks)], [(200 * x, 190 * y), (200 * x + 9 * dx, 190 * y + 9 * dy)], close=False)
    artwork = read_artwork(drawing.save(tmp_path / "strokes.pdf"))
    start = time.perf_counter()
    assert read_die(artwork.pages[0]).found == "none"
    assert time.perf_counter() - start < 5


def test_artwork_frames_do_not_join_a_named_die(read):
    drawing = with_die().stroke(K, rectangle(20, 20, 190, 180))
    die = read(drawing)
    assert is_carton(die)
    assert die.drawn_in["cut"] == ("Cutting",)


def test_no_die(read):
    die = read(page().fill(K, rect=(10, 10, 100, 100)))
    assert die.found == "none"
    assert die.because
    assert not die.blanks


def test_text_is_never_die(read):
    drawing = page().text("cut", (20, 20), 8, "Cutting")
    assert read(drawing).found == "none"


def test_ticket_names_the_lines_and_states_areas(read):
    drawing = page()
    draw_die(drawing, CARTON, cut="Shade 9", crease="Shade 8")
    areas = [{"is": "glue flap", "box": [8, 50, 25, 150]}, {"is": "code", "box": [30, 60, 50, 80]}]
    loose = {"is": "code", "box": [0, 0, 5, 5]}
    die = read(drawing, die={"lines": {"cut": ["Shade 9"], "crease": ["Shade 8"]}}, areas=[*areas, loose])
    assert is_carton(die)
    assert die.found == "stated"
    found = {area.kind: area for area in die.blanks[0].areas}
    assert {kind: area.known for kind, area in found.items()} == {"glue flap": "stated", "code": "stated"}
    assert found["glue flap"].shape.symmetric_difference(Polygon(CARTON.glue_flap)).area < 0.5
    assert [area.kind for area in die.loose_areas] == ["code"]


@pytest.mark.parametrize("colour", ["All", K], ids=["registration colour", "black"])
def test_ticket_names_an_ink_that_prints(read, colour):
    drawing = page().fill((0, 0.2, 0, 0.5), rect=(30, 60, 80, 140)).text("Sage tea", (40, 90), 24)
    draw_die(drawing, CARTON, cut=colour, crease="Rainage")
    die = read(drawing, die={"lines": {"cut": ["All", "Black"]}})
    assert is_carton(die)
    assert die.found == "stated"


def test_black_that_the_ticket_has_the_die_in_stays_an_ink(tmp_path):
    drawing = with_die().text("Sage tea", (40, 90), 24)
    job = Ticket.model_validate({"die": {"lines": {"cut": ["Black"]}}})
    found = read_artwork(drawing.save(tmp_path / "a.pdf"), job).pages[0]
    assert {s.name: s.kind for s in found.separations} == {"Black": "process", "Cutting": "cut", "Creasing": "crease"}
    assert read_die(found, job).drawn_in["cut"] == ("Cutting",)


def test_black_that_is_all_die_is_what_the_ticket_says(tmp_path):
    drawing = page()
    draw_die(drawing, CARTON, cut=K, crease="Rainage")
    job = Ticket.model_validate({"die": {"lines": {"cut": ["Black"]}}})
    found = read_artwork(drawing.save(tmp_path / "a.pdf"), job).pages[0]
    assert {s.name: s.kind for s in found.separations} == {"Black": "cut", "Rainage": "crease"}


def test_creases_round_which_no_cut_is_found(read):
    drawing = page()
    for points in CARTON.crease:
        drawing.stroke("Creasing", points, close=False)
    die = read(drawing)
    assert die.found == "none"
    assert says(die, "none is named as a cut line")


@pytest.mark.parametrize(
    ("lines", "meant"),
    [
        pytest.param({"cut": ["Cuting"]}, ["Cutting"], id="misspelt"),
        pytest.param({"crease": ["Falzkante"]}, [""], id="nothing near"),
        pytest.param({"cut": ["Cutting", "Stanze"]}, [], id="one of two is there"),
    ],
)
def test_ticket_names_that_the_page_does_not_have_are_said(read, lines, meant):
    die = read(with_die(), die={"lines": lines})
    assert is_carton(die)
    assert [each.meant for each in die.unusable] == meant


def test_ticket_names_what_the_page_does_not_have(read):
    die = read(page(), die={"lines": {"cut": ["Shade 9"]}})
    assert die.found == "none"
    assert "Shade 9" in die.because


def test_processing_steps(read):
    drawing = page()
    for step, lines in (("Cutting", CARTON.cut), ("Creasing", CARTON.crease)):
        drawing.layer("a", group="Structural", step=step)
        for points in lines:
            drawing.stroke(K, points, close=False)
        drawing.end_layer()
    drawing.layer("b", group="Structural", step="Gluing").fill("Seam", points=CARTON.glue_flap).end_layer()
    die = read(drawing)
    assert is_carton(die)
    assert die.found == "read"
    assert die.drawn_in == {"cut": ("Black",), "crease": ("Black",)}
    assert {area.known for area in die.blanks[0].areas if area.kind == "glue flap"} == {"read"}


@pytest.mark.parametrize("on", [True, False], ids=["shown", "hidden"])
def test_layer_called_die(read, on):
    drawing = page().layer("Die line", on=on)
    draw_die(drawing, CARTON, cut=K, crease=(0, 1, 1, 0), crease_dash_mm=DASHES)
    drawing.end_layer()
    die = read(drawing)
    assert is_carton(die)
    assert die.drawn_in == {"cut": ("Black",), "crease": ("Magenta", "Yellow")}


def test_crease_ink_on_a_layer_called_die_stays_a_crease(read):
    drawing = page().layer("Die line")
    draw_die(drawing, CARTON)
    drawing.end_layer()
    die = read(drawing)
    assert is_carton(die)
    assert len(die.blanks[0].panels) == 13


def test_rotated_and_scaled_page(read):
    drawing = with_die()
    drawing.page.obj.Rotate = 90
    drawing.page.obj.UserUnit = 2
    die = read(drawing)
    assert is_carton(die, 4 * AREA)
    assert die.blanks[0].outline.bounds[2] - die.blanks[0].outline.bounds[0] == pytest.approx(360, abs=0.1)


def test_areas_of_a_glue_separation_are_read_and_those_of_inks_are_not(read):
    drawing = page().fill("Mill Brown", rect=(30, 60, 80, 140)).fill("Glue", rect=(12, 60, 22, 140))
    draw_die(drawing, CARTON)
    drawing.fill("Glue", rect=(206, 2, 212, 8))
    die = read(drawing)
    glued = [area for area in die.blanks[0].areas if area.kind == "glue"]
    assert [(area.shape.bounds, area.known) for area in glued] == [(pytest.approx((12, 60, 22, 140), abs=0.01), "read")]
    assert [(area.kind, area.shape.bounds) for area in die.loose_areas] == [
        ("glue", pytest.approx((206, 2, 212, 8), abs=0.01))
    ]


@pytest.mark.parametrize("cuts", [1, 2], ids=["cut in one ink", "cut in two inks"])
@pytest.mark.parametrize("creases", [1, 100], ids=["creases in one ink", "creases in many"])
def test_a_die_nobody_named_in_several_inks(read, cuts, creases):
    """One ink (or two) spans the page, and the folds are in another that does too, or each in one that does not."""
    drawing, inks = page(), [K, (0, 1, 0, 0)]
    for number, points in enumerate(CARTON.cut):
        drawing.stroke(inks[number % cuts], points, close=False)
    for number, points in enumerate(CARTON.crease):
        drawing.stroke((1, number % creases / 100, 0, 0), points, close=False, dash_mm=DASHES)
    die = read(drawing)
    assert is_carton(die)
    assert die.found == "assumed"
    assert len(die.blanks[0].panels) == 13
