"""Sheets against their one-up: what is wrong is found on each kind of sheet, and what is right says nothing."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_sheet import compare_sheet
from preflight.comparing.comparison import Comparison
from preflight.inputs.loading import load_ticket
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.drawn_sheets import BLEED, GUTTER, HIGH, WIDE, Art, Cell, one_up, rows, sheet

OLD = Art(digit="7")
ODD = reverse_tuck(width=36, depth=18, height=44, flap=11, tuck=8)
"""The carton with shorter tuck flaps."""


def lying() -> list[Cell]:
    """Blanks a quarter turned, every other one tumbled."""
    step = HIGH + GUTTER, WIDE + GUTTER
    return [
        Cell(20 + column * step[0], 15 + row * step[1], 90 if column % 2 else 270)
        for row in range(2)
        for column in range(4)
    ]


def interlocked() -> list[Cell]:
    """Rows of turned blanks pushed into those below, so that lids stand beside lids."""
    art = Art(contour=True)
    return [
        Cell(20 + column * (WIDE + GUTTER), 20 + row * (HIGH - 6), 180 * (row % 2), art)
        for row in range(3)
        for column in range(4)
    ]


LAYOUTS = {
    "plain": list(rows(3, 4)),
    "columns tumbled": list(rows(3, 4, tumbled="columns")),
    "rows tumbled": list(rows(3, 4, tumbled="rows")),
    "lying": lying(),
    "interlocked": interlocked(),
}


def compared(
    folder: Path,
    cells: list[Cell],
    *,
    art: Art | None = None,
    versions: dict[str, Art] | None = None,
    ticket: str = "",
    one_up_keys: dict[str, Any] | None = None,
    **keys,
) -> Comparison:
    """What is said of a sheet of these cells."""
    files = {"one-up.pdf": art or Art(), **(versions or {})}
    paths = {name: one_up(folder / name, each, **(one_up_keys or {})) for name, each in files.items()}
    drawn = sheet(folder / "sheet.pdf", cells, **keys)
    (folder / "ticket.yaml").write_text(ticket or "artwork: one-up.pdf\n")
    read = load_ticket(folder / "ticket.yaml") if ticket else None
    with ExitStack() as stack:
        opened = {name: stack.enter_context(read_artwork(path, read)) for name, path in paths.items()}
        whole = stack.enter_context(read_artwork(drawn, read))
        first, *others = opened.values()
        return compare_sheet(first, whole, list(zip(list(opened)[1:], others, strict=True)), read)


def changed(cells: list[Cell], **at: dict[str, Any]) -> list[Cell]:
    """Cells with some replaced: ``changed(cells, _4={"shift": (0.3, 0)})``."""
    found = list(cells)
    for place, keys in at.items():
        found[int(place[1:])] = replace(found[int(place[1:])], **keys)
    return found


def kinds(found: Comparison) -> list[str]:
    return sorted(blank.kind for blank in found.blanks if blank.kind != "same")


def the(found: Comparison, kind: str):
    (blank,) = [blank for blank in found.blanks if blank.kind == kind]
    return blank


# Good sheets ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("die", [True, False], ids=["die", "step"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_good_sheet_is_silent(tmp_path, layout, die):
    cells = LAYOUTS[layout]
    found = compared(tmp_path, cells, art=cells[0].art, die=die)
    assert found.same
    assert len(found.blanks) == len(cells)
    assert max(blank.largest_mm for blank in found.blanks) <= 0.02
    assert {blank.version for blank in found.blanks} == {"one-up.pdf"}


@pytest.mark.parametrize("rotate", [90, 180, 270])
def test_a_page_may_be_turned(tmp_path, rotate):
    assert compared(tmp_path, LAYOUTS["columns tumbled"], rotate=rotate).same


@pytest.mark.parametrize("die", [True, False], ids=["die", "step"])
@pytest.mark.parametrize("keys", [{"die": False, "trim": True}, {"die": False}], ids=["trim", "print"])
def test_a_one_up_may_have_no_die(tmp_path, keys, die):
    found = compared(tmp_path, LAYOUTS["columns tumbled"], one_up_keys=keys, die=die)
    assert found.same
    assert len(found.blanks) == 12


def test_places_may_be_rounded(tmp_path):
    """A step that is no whole pixel, each place rounded to 0.01 mm."""
    cells = [replace(cell, x=round(cell.x * 1.0037, 2), y=round(cell.y * 1.0019, 2)) for cell in LAYOUTS["plain"]]
    assert compared(tmp_path, cells).same
    assert compared(tmp_path, cells, die=False).same


def test_bleed_may_be_clipped_by_neighbours(tmp_path):
    """Blanks 2 mm apart: each one's bleed lies over that of the one before, to its cut."""
    clip = (-1.0, -1.0, WIDE + 1.0, HIGH + 1.0)
    cells = [
        Cell(20 + column * (WIDE + 2), 20 + row * (HIGH + 2), shown=clip) for row in range(3) for column in range(4)
    ]
    assert compared(tmp_path, cells).same


def test_a_symmetric_cut_may_lie_either_way(tmp_path):
    """A sleeve whose outline and folds look the same turned round."""
    found = compared_sleeves(tmp_path, [0, 180, 0, 180, 180])
    assert found.same
    assert len(found.blanks) == 5


def compared_sleeves(folder: Path, turns: list[int]) -> Comparison:
    def draw(page: Drawing, x: float, y: float, turn: int) -> None:
        def at(px: float, py: float) -> tuple[float, float]:
            return (x + 60 - px, y + 40 - py) if turn else (x + px, y + py)

        page.fill((0.5, 0, 0, 0), points=[at(-2, -2), at(62, -2), at(62, 42), at(-2, 42)])
        page.fill((0, 0, 0, 1), points=[at(18, 10), at(30, 12), at(22, 30)])
        page.gs(OP=True)
        page.stroke("Cutting", [(x, y), (x + 60, y), (x + 60, y + 40), (x, y + 40)])
        for fold in (15, 30, 45):
            page.stroke("Creasing", [(x + fold, y), (x + fold, y + 40)], close=False)
        page.gs(OP=False)

    single, whole = Drawing(80, 60), Drawing(80 * len(turns) + 20, 70)
    draw(single, 10, 10, 0)
    for number, turn in enumerate(turns):
        draw(whole, 10 + 70 * number, 15, turn)
    with (
        read_artwork(single.save(folder / "sleeve.pdf")) as one,
        read_artwork(whole.save(folder / "sleeves.pdf")) as many,
    ):
        return compare_sheet(one, many)


# What is wrong -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("die", [True, False], ids=["die", "step"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_an_old_revision_a_turn_and_a_shift_are_found(tmp_path, layout, die):
    cells = LAYOUTS[layout]
    art = cells[0].art or Art()
    old = replace(art, digit="7")
    wrong = changed(cells, _1={"art": old}, _4={"art_turn": 180}, _6={"shift": (0.3, 0.0)})
    found = compared(tmp_path, wrong, art=art, versions={"old.pdf": old}, die=die)
    assert not found.same
    assert kinds(found) == ["moved", "other", "turned"]
    other, turned, moved = (the(found, kind) for kind in ("other", "turned", "moved"))
    assert (other.version, [plate.name for plate in other.plates]) == ("old.pdf", ["Black"])
    assert abs(turned.turned_deg) == 180
    assert moved.moved_mm == pytest.approx((0.3, 0.0), abs=0.02)
    assert moved.largest_mm == pytest.approx(0.3, abs=0.02)
    for blank, cell in ((other, wrong[1]), (turned, wrong[4]), (moved, wrong[6])):
        assert blank.box_mm[:2] == pytest.approx((cell.x, cell.y), abs=0.1)
    assert [plate.name for plate in found.changed] == ["Black"]


@pytest.mark.parametrize("rotate", [90, 180, 270])
def test_faults_are_found_on_a_turned_page(tmp_path, rotate):
    wrong = changed(LAYOUTS["rows tumbled"], _1={"art": OLD}, _4={"art_turn": 180}, _6={"shift": (0.3, 0.0)})
    found = compared(tmp_path, wrong, rotate=rotate)
    assert kinds(found) == ["moved", "other", "turned"]
    assert the(found, "other").version is None
    shown = {90: (0.0, -0.3), 180: (-0.3, 0.0), 270: (0.0, 0.3)}[rotate]
    assert the(found, "moved").moved_mm == pytest.approx(shown, abs=0.02)


@pytest.mark.parametrize("keys", [{"die": False, "trim": True}, {"die": False}], ids=["trim", "print"])
def test_faults_are_found_by_a_one_up_without_a_die(tmp_path, keys):
    wrong = changed(LAYOUTS["columns tumbled"], _1={"art": OLD}, _4={"art_turn": 180}, _6={"shift": (0.0, -0.3)})
    found = compared(tmp_path, wrong, versions={"old.pdf": OLD}, one_up_keys=keys)
    assert kinds(found) == ["moved", "other", "turned"]
    assert the(found, "other").version == "old.pdf"
    assert the(found, "moved").moved_mm == pytest.approx((0.0, -0.3), abs=0.02)
    assert the(found, "turned").moved_mm == (0.0, 0.0)


def test_art_turned_by_a_quarter(tmp_path):
    found = compared(tmp_path, changed(LAYOUTS["plain"], _4={"art_turn": 90}))
    assert kinds(found) == ["turned"]
    assert the(found, "turned").turned_deg == 90


def test_a_shift_within_rounding_is_none(tmp_path):
    found = compared(tmp_path, changed(LAYOUTS["plain"], _4={"shift": (0.03, 0.0)}))
    assert found.same
    assert max(blank.largest_mm for blank in found.blanks) == pytest.approx(0.03, abs=0.01)


def test_a_blank_may_be_old_and_moved(tmp_path):
    found = compared(
        tmp_path, changed(LAYOUTS["plain"], _4={"art": OLD, "shift": (0.0, 0.4)}), versions={"old.pdf": OLD}
    )
    other = the(found, "other")
    assert other.version == "old.pdf"
    assert other.moved_mm == pytest.approx((0.0, 0.4), abs=0.02)
    assert [plate.name for plate in other.plates] == ["Black"]


def test_one_plate_moved_on_one_blank(tmp_path):
    found = compared(tmp_path, changed(LAYOUTS["columns tumbled"], _5={"art": Art(brown_moved=0.25)}))
    (plate,) = the(found, "other").plates
    assert (plate.name, plate.change) == ("Mill Brown", "moved")
    assert plate.moved_mm == pytest.approx((-0.25, 0.0), abs=0.02)  # column 1 lies turned round


def test_nothing_printed_and_printed_in_part(tmp_path):
    found = compared(
        tmp_path,
        changed(LAYOUTS["plain"], _3={"art": None}, _5={"shown": (-BLEED, -BLEED, 70.0, HIGH + BLEED)}),
    )
    assert kinds(found) == ["missing", "missing"]
    assert len(found.blanks) == 12


def test_a_gap_in_the_step(tmp_path):
    found = compared(tmp_path, changed(LAYOUTS["plain"], _5={"art": None}), die=False)
    assert the(found, "missing").box_mm[:2] == pytest.approx((LAYOUTS["plain"][5].x, LAYOUTS["plain"][5].y), abs=0.1)
    in_part = {"shown": (-BLEED, -BLEED, 60.0, HIGH + BLEED)}
    assert kinds(compared(tmp_path, changed(LAYOUTS["plain"], _5=in_part), die=False)) == ["missing"]
    fewer = [cell for number, cell in enumerate(LAYOUTS["plain"]) if number < 8]
    assert compared(tmp_path, fewer, die=False).same


def test_a_faint_patch_and_a_speck(tmp_path):
    """A tone 2 % off over part of a panel, and 0.2 mm² of black: not so half a percent, nor a hundredth of a mm²."""

    def patch(cyan: float, side: float) -> Art:
        def draw(page: Drawing) -> None:
            page.fill((cyan, 0.1, 0, 0), rect=(70, 60, 79, 66))
            page.fill((0, 0, 0, 1), rect=(95, 60, 95 + side, 60 + side))

        return Art(more=draw)

    plain, cells = patch(0.55, 0.0), LAYOUTS["columns tumbled"]
    cells = [replace(cell, art=plain) for cell in cells]
    wrong = changed(cells, _2={"art": patch(0.57, 0.0)}, _5={"art": patch(0.55, 0.45)})
    found = compared(tmp_path, wrong, art=plain)
    assert kinds(found) == ["other", "other"]
    assert sorted(plate.name for blank in found.blanks for plate in blank.plates) == ["Black", "Cyan"]
    assert compared(tmp_path, changed(cells, _2={"art": patch(0.555, 0.1)}), art=plain).same


def test_blanks_that_are_wrong_alike_have_places_of_their_own(tmp_path):
    found = compared(tmp_path, [replace(cell, art=OLD) for cell in LAYOUTS["columns tumbled"]])
    assert kinds(found) == ["other"] * 12
    for blank in found.blanks:
        x0, y0, x1, y1 = blank.box_mm
        assert f"Blank {blank.number} " in blank.says
        assert blank.plates[0].places
        for place, _ in blank.plates[0].places:
            assert x0 <= place[0] <= place[2] <= x1
            assert y0 <= place[1] <= place[3] <= y1


def test_two_blanks_make_no_step(tmp_path):
    cells = [replace(cell, shift=(0.3 * n, 0.0)) for n, cell in enumerate(rows(1, 2))]
    found = compared(tmp_path, cells, die=False)
    assert found.same
    assert any("too few" in note for note in found.notes)


def test_a_blank_of_another_cut(tmp_path):
    def other_die(page: Drawing) -> None:
        x, y = 20.0, 340.0
        page.stroke("Cutting", [(x, y), (x + 60, y), (x + 60, y + 30), (x, y + 30)])
        page.stroke("Creasing", [(x + 20, y), (x + 20, y + 30)], close=False)

    found = compared(tmp_path, LAYOUTS["plain"], more=other_die)
    assert kinds(found) == ["other"]
    assert the(found, "other").box_mm == pytest.approx((20, 340, 80, 370), abs=0.2)


def test_art_that_is_not_there_is_no_good_sheet(tmp_path):
    def something(page: Drawing) -> None:
        page.fill((0, 1, 0, 0), rect=(50, 50, 90, 60))

    found = compared(tmp_path, [], die=False, more=something)
    assert not found.same
    assert found.faults
    assert found.not_compared


# What is no fault ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("die", [True, False], ids=["die", "step"])
def test_numbers_of_cells_on_glue_flaps_are_a_note(tmp_path, die):
    cells = [replace(cell, art=Art(on_flap=str(n))) for n, cell in enumerate(LAYOUTS["columns tumbled"], 1)]
    found = compared(tmp_path, cells, die=die)
    assert found.same
    assert any("1 to 12" in note for note in found.notes)


def test_a_digit_on_the_glue_flap_that_changed_is_no_cell_number(tmp_path):
    numbered = [replace(cell, art=Art(on_flap="4711")) for cell in LAYOUTS["plain"]]
    found = compared(tmp_path, changed(numbered, _7={"art": Art(on_flap="4714")}), art=Art(on_flap="4711"))
    assert kinds(found) == ["other"]


def test_a_small_thing_on_a_panel_is_no_cell_number(tmp_path):
    def dot(page: Drawing) -> None:
        page.fill((0, 0, 0, 1), rect=(70, 60, 71, 61))

    found = compared(tmp_path, changed(LAYOUTS["plain"], _7={"art": Art(more=dot)}))
    assert kinds(found) == ["other"]


def test_what_is_outside_the_cut_is_told_apart(tmp_path):
    def mark(page: Drawing) -> None:
        page.fill((0, 0, 0, 1), rect=(WIDE + 0.4, 50, WIDE + 2, 55))

    found = compared(tmp_path, changed(LAYOUTS["plain"], _7={"art": Art(more=mark)}))
    assert found.same
    black = next(plate for plate in found.plates if plate.name == "Black")
    assert (black.change, len(black.outside)) == ("none", 1)


def test_spots_may_be_spelt_as_on_the_ticket(tmp_path):
    cells = [replace(cell, art=Art(brown="Brown 9 CV")) for cell in LAYOUTS["plain"]]
    same = "separations: {Brown 9 CV: {same_as: Mill Brown}}\n"
    found = compared(tmp_path, cells, ticket=f"artwork: one-up.pdf\n{same}")
    assert found.same
    assert [(p.name, p.renamed_from) for p in found.plates if p.change == "renamed"] == [("Brown 9 CV", "Mill Brown")]
    assert not compared(tmp_path, cells).same  # without the ticket nobody knows that they are one ink
    shouted = [replace(cell, art=Art(brown="MILL BROWN")) for cell in LAYOUTS["plain"]]
    assert compared(tmp_path, shouted).same


# Versions and the ticket ---------------------------------------------------------------------------------------------

MINT, SAGE = Art(), Art(word="Sage")
MIX = [replace(cell, art=SAGE if n >= 8 else MINT) for n, cell in enumerate(LAYOUTS["columns tumbled"])]
TICKET = """
artwork: [{file: one-up.pdf, version: Mint}, {file: sage.pdf, version: Sage}]
quantity: 30000
quantities: {Mint: 20000, Sage: 10000}
"""


def test_versions_of_the_ticket_are_right(tmp_path):
    found = compared(tmp_path, MIX, versions={"sage.pdf": SAGE}, ticket=TICKET + "layout: {ups: 12}\n")
    assert found.same
    assert [(count.version, count.blanks, count.wanted) for count in found.versions] == [("Mint", 8, 8), ("Sage", 4, 4)]
    assert any("Cyan" in note and "Black" not in note for note in found.notes)  # common plates


def test_number_up_and_mix_are_counted(tmp_path):
    mix = changed(MIX, _0={"art": SAGE})
    found = compared(tmp_path, mix, versions={"sage.pdf": SAGE}, ticket=TICKET + "layout: {ups: 10}\n")
    assert not found.same
    assert kinds(found) == []
    assert len(found.faults) == 2


def test_a_version_that_the_ticket_does_not_name_is_wrong(tmp_path):
    found = compared(tmp_path, MIX, versions={"sage.pdf": SAGE})
    assert kinds(found) == ["other"] * 4
    assert {blank.version for blank in found.blanks if blank.kind == "other"} == {"sage.pdf"}


def test_a_plate_in_common_that_differs_on_one_blank(tmp_path):
    """The brown of one Sage stands 0.25 mm off: Black may differ between versions, Mill Brown may not."""
    mix = changed(MIX, _9={"art": replace(SAGE, brown_moved=0.25)})
    found = compared(tmp_path, mix, versions={"sage.pdf": SAGE}, ticket=TICKET)
    assert kinds(found) == ["other"]
    assert [plate.name for plate in found.changed] == ["Mill Brown"]
    assert any("Mill Brown" in note for note in found.notes)
