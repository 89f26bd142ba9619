"""The press sheet of one job without any symmetry: blank numbers, places and plates, for each hand and gripper edge."""

import time

import numpy as np
import pytest
import shapely

from preflight.artwork.read_artwork import read_artwork
from preflight.errors import NotMeasured
from preflight.inputs.loading import load_ticket
from preflight.job import Job
from preflight.judging.judge import judge
from preflight.measures.job_assembly import assemble_job
from preflight.measures.sheet_question import sheet_of_jobs
from preflight.setup.press_sheet.alike_cells import alike_groups
from preflight.setup.press_sheet.coverage import coverage
from preflight.setup.press_sheet.plates_on_sheet import plates_on_sheet
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.press_sheet.stepping import clear_distances
from tests import odd_job
from tests.drawn import Drawing
from tests.house import job_of, rulebook

MM = 25.4 / 100


def sheet_of(job: Job) -> PressSheet:
    sheet = job.press_sheet
    assert sheet is not None
    return sheet


def shares_within(plates, ink, shapes):
    """Inked area within each shape over its area, and all inked area, in mm2."""
    tint, mm = plates.tint(ink) / 255, plates.mm_per_px
    size = tint.shape
    covered = [coverage(shape, plates.box_mm[0], plates.box_mm[3], mm, size) for shape in shapes]
    return [float((tint * part).sum()) * mm**2 / shape.area for part, shape in zip(covered, shapes, strict=True)], (
        float(tint.sum()) * mm**2
    )


@pytest.mark.parametrize("operator", ["left", "right"])
def test_blanks_lie_where_the_ticket_says_from_the_operator_side(operator, tmp_path):
    sheet = sheet_of(odd_job.laid(tmp_path, operator))
    assert sheet.operator_side == operator
    assert not sheet.operator_assumed
    assert sheet.is_from == "layout of the ticket"
    assert [blank.number for blank in sheet.blanks] == [1, 2, 3, 4]
    assert sheet.layout is not None
    for blank, placed, corner in zip(sheet.blanks, sheet.layout.blanks, odd_job.CORNERS[operator], strict=True):
        wanted = odd_job.on_sheet(shapely.Polygon(odd_job.CUT), *corner)
        assert blank.turn_deg == placed.turn_deg == corner[2]
        assert (placed.x_mm, placed.y_mm) == pytest.approx(corner[:2], abs=0.05)
        assert blank.outline.symmetric_difference(wanted).area < 5
        folds = odd_job.on_sheet(shapely.MultiLineString(odd_job.FOLDS), *corner)
        assert blank.creases.hausdorff_distance(folds) < 0.3
        assert sorted(face.area for face in blank.panels) == pytest.approx([600, 600, 1000], abs=20)


def test_the_operator_is_taken_to_stand_at_the_left(tmp_path):
    sheet = sheet_of(odd_job.laid(tmp_path, None))
    assert sheet.operator_side == "left"
    assert sheet.operator_assumed


@pytest.mark.parametrize("operator", ["left", "right"])
@pytest.mark.parametrize("dpi", [100, 72, 250])
def test_every_patch_is_where_it_belongs_and_nowhere_else(operator, dpi, tmp_path):
    plates = plates_on_sheet(sheet_of(odd_job.laid(tmp_path, operator)), dpi)
    for ink in odd_job.PATCHES:
        shapes = odd_job.expected(ink, operator)
        grown = [shape.buffer(2 * 25.4 / 72) for shape in shapes]
        inked, total = shares_within(plates, ink, shapes)
        assert min(inked) > 0.93
        around, _ = shares_within(plates, ink, grown)
        area = sum(share * shape.area for share, shape in zip(around, grown, strict=True))
        assert area == pytest.approx(total, rel=1e-3)
        assert total == pytest.approx(sum(shape.area for shape in shapes), rel=2e-3)


def test_part_of_a_sheet_is_what_all_of_it_shows_there(tmp_path):
    sheet = sheet_of(odd_job.laid(tmp_path))
    whole = plates_on_sheet(sheet, 100)
    box = (37 * MM, 160 - 400 * MM, 700 * MM, 160 - 120 * MM)
    part = plates_on_sheet(sheet, 100, box)
    assert part.names == whole.names
    assert part.ink.shape[1:] == (280, 663)
    difference = part.ink.astype(int) - whole.ink[:, 120:400, 37:700]
    assert np.abs(difference).max() <= 1


@pytest.mark.parametrize("operator", ["left", "right"])
@pytest.mark.parametrize("edge", ["bottom", "top", "left", "right"])
def test_a_sheet_from_outside_lies_with_its_gripper_edge_down(edge, operator, tmp_path):
    page = odd_job.sheet_page(edge, operator)
    ticket = {"artwork_is": "sheet", "gripper_edge": edge}
    job = job_of(page, tmp_path, ticket, odd_job.press(operator))
    sheet = sheet_of(job)
    assert (sheet.size.across_mm, sheet.size.along_mm) == pytest.approx(odd_job.SHEET, abs=0.01)
    assert sheet.is_from == "sheet from outside"
    stepped = sheet_of(odd_job.laid(tmp_path, operator))
    plates, wanted = plates_on_sheet(sheet, 100), plates_on_sheet(stepped, 100)
    assert set(plates.names) >= {*odd_job.PATCHES, odd_job.GROUND}
    for ink in odd_job.PATCHES:
        inked, total = shares_within(plates, ink, odd_job.expected(ink, operator))
        assert min(inked) > 0.95
        assert total == pytest.approx(sum(shape.area for shape in odd_job.expected(ink, operator)), rel=2e-3)
    away = np.abs(plates.tint("Gold").astype(int) - wanted.tint("Gold"))
    assert away.mean() < 0.7
    for blank in sheet.blanks:
        assert any(blank.outline.symmetric_difference(other.outline).area < 10 for other in stepped.blanks)
    own = job.die.blanks[0]
    (there,) = [blank for blank in sheet.blanks if blank.number == own.number]
    x, y = there.outline.centroid.coords[0]
    a, b, c, d, e, f = sheet.to_page[1]
    assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx(own.outline.centroid.coords[0], abs=0.1)


def test_bleed_ends_in_the_middle_of_a_gutter_and_at_a_shared_knife(tmp_path):
    """Ground bleeds 3 mm to the right; blanks stand 4 mm apart, and one on one knife with the next."""
    blanks = [{"x": f"{x} mm", "y": "30 mm"} for x in (20, 84, 144)]
    sheet = sheet_of(odd_job.laid(tmp_path, layout={"blanks": blanks}))
    plates = plates_on_sheet(sheet, 300)
    ends = []
    for right in (80.0, 144.0, 204.0):
        strip = shapely.box(right, 40, right + 3.5, 60)
        (share,), _ = shares_within(plates, odd_job.GROUND, [strip])
        ends.append(share * 3.5 / 0.3)
    assert ends == pytest.approx([2.0, 0.0, 3.0], abs=MM / 4)  # a pixel on the edge is spread over all of itself
    near = [min(edge.neighbour_mm for edge in blank.edges if edge.neighbour_mm is not None) for blank in sheet.blanks]
    assert near == pytest.approx([4.0, 0.0, 0.0], abs=0.05)


def test_blanks_that_overlap_have_no_gutter():
    at = [shapely.box(x, y, x + 100, y + 80) for x, y in ((0, 0), (0, 40), (106, 0), (0, 120))]
    assert clear_distances(at[:3]) is None
    assert clear_distances(at) == (6.0, 0.0)


def test_the_cover_of_a_gutter_is_shared_to_a_thousandth(tmp_path):
    """Clips of neighbours part the sheet: neither overlap nor gap, whatever the pixels."""
    blanks = [{"x": f"{x} mm", "y": f"{y} mm"} for x in (20.13, 83.2) for y in (30.07, 73.9)]
    sheet = sheet_of(odd_job.laid(tmp_path, layout={"blanks": blanks}))
    clips = [piece.clip for piece in sheet.pieces]
    for n, one in enumerate(clips):
        for other in clips[n + 1 :]:
            assert one.intersection(other).area < 1e-6
    assert all(clip.contains(blank.outline.buffer(-0.01)) for clip, blank in zip(clips, sheet.blanks, strict=True))
    ground = shapely.union(shapely.box(20, -3, 63, 1), shapely.box(59, 1, 63, 43))
    assert sheet.layout is not None
    corners = [(placed.x_mm, placed.y_mm, 0) for placed in sheet.layout.blanks]
    shown = [odd_job.on_sheet(ground, *at).intersection(clip) for at, clip in zip(corners, clips, strict=True)]
    for dpi in (50, 100, 400):
        plates = plates_on_sheet(sheet, dpi)
        area = float(plates.tint(odd_job.GROUND).sum()) * plates.mm_per_px**2 / 77
        assert area == pytest.approx(sum(shape.area for shape in shown), rel=2e-3), dpi  # a strip of 3 mm at 30 %


def test_the_inside_is_seen_through_the_board(tmp_path):
    """Drawn as it is seen from behind: what stands at its left comes out at the right of the outside."""
    front = odd_job.laid(tmp_path)
    assert front.ticket is not None
    inside = Drawing(*odd_job.PAGE)
    inside.fill("Recipe", rect=(20, 20, 25, 30))
    path = inside.save(tmp_path / "inside.pdf")
    (tmp_path / "two.yaml").write_text("artwork: [{file: art.pdf}, {file: inside.pdf, side: inside}]\n")
    entries = load_ticket(tmp_path / "two.yaml").artwork_list
    artwork = read_artwork(path, front.ticket)
    back = assemble_job(artwork, artwork.pages[0], front.press, front.ticket.model_copy(update={"areas": ()}))
    sheet = sheet_of_jobs([(entries[1], back), (entries[0], front)])
    assert sheet.speaks_for is None
    plates = plates_on_sheet(sheet, 100, side="back")
    assert plates.tint("Recipe").any()
    left, low = 90 - 25 - odd_job.AT[0], 20 - odd_job.AT[1]
    patch = shapely.box(left, low, left + 5, low + 10)
    shapes = [odd_job.on_sheet(patch, *corner) for corner in odd_job.CORNERS["left"]]
    inked, total = shares_within(plates, "Recipe", shapes)
    assert min(inked) > 0.94
    assert total == pytest.approx(sum(shape.area for shape in shapes), rel=2e-3)
    assert not plates_on_sheet(sheet, 50).tint("Recipe").any()


@pytest.mark.parametrize(
    "keys",
    [
        {"sheet": {}},
        {"layout": {"blanks": [{"x": "20 mm", "y": "20 mm", "version": "Mint"}]}, "artwork": ["art.pdf"]},
    ],
)
def test_what_cannot_be_laid_is_not_measured(keys, tmp_path):
    job = odd_job.laid(tmp_path, **keys)
    if "artwork" in keys:
        assert len(sheet_of(job).blanks) == 1
        return
    with pytest.raises(NotMeasured) as reason:
        _ = job.press_sheet
    assert reason.value.would_help


def test_sheet_rules_of_twenty_four_blanks_cost_little(tmp_path):
    """On top of what the check of the one-up takes anyway, its plates among it; 3 s is what they may cost."""
    grid = [(i, j) for j in range(4) for i in range(6)]
    places = [{"x": f"{5 + 64 * i} mm", "y": f"{20 + 44 * j} mm", "turn": 180 * (j % 2)} for i, j in grid]
    press = {**odd_job.press(), "sheet": {"smallest": "100 x 100 mm", "largest": "420 x 240 mm"}}
    ticket = {"artwork_is": "one-up", "sheet": {"size": "400 x 220 mm"}, "layout": {"blanks": places}}
    job = job_of(odd_job.one_up(), tmp_path, ticket, press)
    on_sheets = {name for name, rule in rulebook().rules.items() if any(c.text == "job.laid_out" for c, _ in rule.when)}
    start = time.process_time()
    judgement = judge(job, rulebook(), only=on_sheets)
    plates_on_sheet(sheet_of(job), 100)
    taken = time.process_time() - start
    assert len(sheet_of(job).blanks) == 24
    assert len(judgement.passed) + len(judgement.findings) > 3
    assert taken < 3.0


def test_blanks_without_a_version_are_of_the_first_and_the_others_are_told(tmp_path):
    odd_job.one_up().save(tmp_path / "rose.pdf")
    files = [{"file": "art.pdf", "version": "Mint"}, {"file": "rose.pdf", "version": "Rose"}]
    front = odd_job.laid(tmp_path, artwork=files)
    assert front.ticket is not None
    artwork = read_artwork(tmp_path / "rose.pdf", front.ticket)
    other = assemble_job(artwork, artwork.pages[0], front.press, front.ticket)
    sheet = sheet_of_jobs(list(zip(front.ticket.artwork_list, [front, other], strict=True)))
    assert {piece.version for piece in sheet.pieces} == {"Mint"}
    assert len(sheet.left_out) == 1
    assert "Rose" in sheet.left_out[0]


@pytest.mark.parametrize("edge", ["bottom", "left"])
def test_blanks_of_a_sheet_from_outside_that_print_alike_are_told(edge, tmp_path):
    """Four turned as each lies are alike; where one lacks a patch it is alone."""
    for missing, wanted in ((None, [4]), (2, [1, 3])):
        page = odd_job.sheet_page(edge, without=missing)
        job = job_of(page, tmp_path, {"artwork_is": "sheet", "gripper_edge": edge}, odd_job.press())
        groups = alike_groups(sheet_of(job))
        assert sorted(len(group.numbers) for group in groups) == wanted


@pytest.mark.parametrize("keys", [{}, {"versions": "apart"}, {"versions": "together"}])
def test_versions_share_a_sheet_of_the_tool_where_the_ticket_says_so(keys, tmp_path):
    odd_job.one_up().save(tmp_path / "rose.pdf")
    files = [{"file": "art.pdf", "version": "Mint"}, {"file": "rose.pdf", "version": "Rose"}]
    layout = {"ups": 4, **keys}
    front = odd_job.laid(tmp_path, artwork=files, layout=layout, quantities={"Mint": 3000, "Rose": 1000})
    assert front.ticket is not None
    artwork = read_artwork(tmp_path / "rose.pdf", front.ticket)
    other = assemble_job(artwork, artwork.pages[0], front.press, front.ticket)
    sheet = sheet_of_jobs(list(zip(front.ticket.artwork_list, [front, other], strict=True)))
    shown = [piece.version for piece in sheet.pieces]
    assert len(shown) == 4
    assert shown.count("Rose") == (1 if keys.get("versions") == "together" else 0)
    assert bool(sheet.left_out) != (keys.get("versions") == "together")
    assert sheet.versions_apart == (() if keys.get("versions") == "together" else ("Rose",))
