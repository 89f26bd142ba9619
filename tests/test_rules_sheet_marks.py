"""Marks of sheets from outside: colour bar, side guide, register, labels, and whether they keep off the blanks."""

from __future__ import annotations

import collections
from dataclasses import replace

import pytest

from preflight.judging.judge import judge
from preflight.measures.marks.find_marks import find_marks
from tests.cartons import reverse_tuck
from tests.drawn import MM, Drawing
from tests.house import PROCESS, Case, job_of, prove, rulebook, units
from tests.marked_sheets import (
    ACROSS,
    ALL,
    ALONG,
    FIRST_ZONE,
    INKS,
    PITCH,
    PRESS,
    STATED,
    TURNS,
    Bar,
    Sheet,
    circle,
    cross,
    crosses,
    labels,
    patch,
    side_guide,
)

REST = (crosses, side_guide, labels)


# Bars that are drawn in odd ways -----------------------------------------------------------------------------------


def in_two_rows(page: Drawing) -> None:
    Bar(("Cyan", "Magenta", "Yellow"), y=303, high=4)(page)
    Bar(("Black", "Mill Brown"), y=299, high=4)(page)


def in_a_form(page: Drawing) -> None:
    inner = Drawing(ACROSS, ALONG)
    inner.spaces, inner.resources = page.spaces, page.resources
    Bar()(inner)
    key = page.form("\n".join(inner.ops), bbox_mm=(0, 0, ACROSS * MM, ALONG * MM))
    page.raw(f"/{key} Do")


def as_picture(page: Drawing) -> None:
    """C, M, Y, K and a tint, each of 5 mm; no special colour."""
    solids = [(255, 0, 0, 0), (0, 255, 0, 0), (0, 0, 255, 0), (0, 0, 0, 255), (0, 0, 0, 100)]
    row = bytes(level for x in range(840) for level in solids[x // 10 % 5])
    page.image(row * 4, 840, 4, (40, 300, 460, 306))


def in_registration_colour(page: Drawing) -> None:
    page.fill("All", 1, rect=(40, 300, 460, 306))


def patches_in_registration_colour(page: Drawing) -> None:
    for number in range(42):
        page.fill("All", 1, rect=(40 + 10 * number, 300, 45 + 10 * number, 306))


def with_overprints_and_grey(page: Drawing) -> None:
    """Each zone: solids, a tint, then a patch of cyan on magenta, and a grey one."""
    Bar(wide=4)(page)
    for zone in range(1, 14):
        x = FIRST_ZONE + zone * PITCH + 24
        patch(page, "Magenta", (x, 300, x + 4, 306))
        page.gs(op=True, OPM=1).fill((1, 0, 0, 0), rect=(x, 300, x + 4, 306)).gs(op=False)
        page.fill((0.5, 0.4, 0.4, 0), rect=(x + 4, 300, x + 8, 306))


def with_letters_in_it(page: Drawing) -> None:
    Bar()(page)
    for ink, _, (x0, y0, _, _) in Bar().boxes():
        page.text(ink[0], (x0 + 1.5, y0 + 2), 6, (0, 0, 0, 0))


def on_white(page: Drawing) -> None:
    """A row of Opaque White by itself, and the inks on white."""
    page.fill("Opaque White", rect=(35, 300, 470, 306))
    page.gs(op=True, OPM=1)
    Bar()(page)
    page.gs(op=False)
    Bar(("Opaque White",), y=307, high=4, tinted=False)(page)


def round_patches(page: Drawing) -> None:
    """Circles of 5 mm, of four curves each."""
    for ink, tint, (x0, y0, _, _) in Bar().boxes():
        page.colour(PROCESS.get(ink, ink) if tint == 1 else (0, 0, 0, tint))
        page.raw(f"{circle(x0 + 2.5, y0 + 2.5, 2.4)} f")


def one_patch_a_zone(page: Drawing) -> None:
    """Patches of 3 mm, 3.6 mm apart."""
    for zone in range(1, 14):
        for at, ink in enumerate(INKS):
            x = FIRST_ZONE + zone * PITCH + at * 6.6
            patch(page, ink, (x, 300, x + 3, 304))


def in_the_gutter(page: Drawing) -> None:
    """Across the press, between two rows of cartons; see ``STACKED``."""
    Bar(y=157, start=150, end=350)(page)


STACKED = (reverse_tuck(at=(150, 20), height=45), reverse_tuck(at=(150, 166), height=45))
"""195 x 135 mm, a gutter of 11 mm between them."""


def swatches(page: Drawing) -> None:
    """A legend: each ink once."""
    for number, ink in enumerate(INKS):
        patch(page, ink, (380 + 7 * number, 25, 385 + 7 * number, 30))


def take_off_bar(page: Drawing) -> None:
    page.fill("Mill Brown", rect=(40, 30, 460, 33))


def down_the_side(page: Drawing) -> None:
    for number in range(40):
        patch(page, INKS[number % 5], (470, 70 + 5 * number, 475, 75 + 5 * number))


def bars(name, expect, *marks, rule="colour-bar-lacks-ink", **more):
    sheet = Sheet(
        (*marks, *REST), **{key: more.pop(key) for key in ("inks", "cartons", "edge", "ground") if key in more}
    )
    return Case(rule, name, expect, sheet, **{"ticket": STATED, "press": PRESS, **more})


BARS = [
    bars("none at all", "warn", rule="colour-bar-missing"),
    bars("a legend is none", "warn", swatches, rule="colour-bar-missing"),
    bars("a take-off bar is none", "warn", take_off_bar, rule="colour-bar-missing"),
    bars("there is one", "pass", Bar(), rule="colour-bar-missing"),
    bars("none, and the ticket says so", "pass", rule="colour-bar-missing",
         ticket={**STATED, "layout": {"bar": "none"}}),
    bars("none, and the sheet is a guess", "not checked", rule="colour-bar-missing", ticket={},
         press=units(sheet={"smallest": "400 x 300 mm", "largest": "1040 x 740 mm"})),
    bars("all inks", "pass", Bar()),
    bars("no patch of the special", "fail", Bar(INKS[:4]), near=(35, 300, 470, 306)),
    bars("no patch of the special, gripper edge at the left", "fail", Bar(INKS[:4]), edge="left",
         ticket={**STATED, "gripper_edge": "left"}, near=(300, 30, 306, 465)),
    bars("the special as a tint only", "fail",
         lambda page: [Bar(INKS[:4])(page), *(patch(page, "Mill Brown", (x, 300, x + 3, 306), 0.5) for x in
                       (FIRST_ZONE + PITCH * zone + 26 for zone in range(1, 14)))], case="tints only"),
    bars("in registration colour only", "fail", in_registration_colour, case="on others"),
    bars("patches in registration colour", "fail", patches_in_registration_colour, case="on others"),
    bars("two rows", "pass", in_two_rows),
    bars("two rows, one ink in neither", "fail", lambda page: [Bar(("Cyan", "Magenta"), y=303, high=4)(page),
         Bar(("Black", "Mill Brown"), y=299, high=4)(page)]),
    bars("in a form", "pass", in_a_form),
    bars("one picture, without the special", "fail", as_picture),
    bars("one picture, and the special is not printed", "pass", as_picture, inks=INKS[:4], ground="Black"),
    bars("overprints and grey patches", "pass", with_overprints_and_grey),
    bars("letters in the patches", "pass", with_letters_in_it),
    bars("inks on white, and white by itself", "pass", on_white, inks=(*INKS, "Opaque White")),
    bars("inks on white, and no white by itself", "fail", lambda page: [page.fill("Opaque White",
         rect=(35, 300, 470, 306)).gs(op=True, OPM=1), Bar(wide=5.5)(page), page.gs(op=False)],
         inks=(*INKS, "Opaque White"), case="on others"),
    bars("round patches", "pass", round_patches),
    bars("a patch now and then", "pass", one_patch_a_zone),
    bars("in the gutter", "pass", in_the_gutter, cartons=STACKED),
    bars("at the gripper", "pass", Bar(y=24)),
    bars("the ticket says none", "pass", Bar(INKS[:4]), ticket={**STATED, "layout": {"bar": "none"}}),
    bars("varnish needs no patch", "pass", Bar(), inks=(*INKS, "Matt Varnish")),
    bars("the sheet is a guess", "warn", Bar(INKS[:4]), ticket={}),
    bars("across all of the work", "pass", Bar(), rule="colour-bar-short"),
    bars("ends before the work", "fail", Bar(end=380), rule="colour-bar-short",
         measured=452 - max(box[2] for _, _, box in Bar(end=380).boxes())),
    bars("begins late, the operator at the right", "fail", Bar(start=120), rule="colour-bar-short",
         press={**PRESS, "operator_side": "right"}, measured=min(box[0] for _, _, box in Bar(start=120).boxes()) - 50),
    bars("the gripper edge is a guess", "warn", Bar(end=380), rule="colour-bar-short",
         ticket={"artwork_is": "sheet"}),
    bars("in a gutter that runs along", "fail", down_the_side, rule="colour-bar-short"),
    bars("the profile has no zones", "not checked", Bar(end=380), rule="colour-bar-short",
         press={key: value for key, value in PRESS.items() if key != "ink_keys"}),
    bars("all zones", "pass", Bar(), rule="ink-zone-without-patch"),
    bars("the brown only in every other zone", "note", lambda page: [Bar(INKS[:4])(page), *(patch(page,
         "Mill Brown", (x, 300, x + 5, 306)) for x in (FIRST_ZONE + PITCH * zone + 25 for zone in range(2, 14, 2)))],
         rule="ink-zone-without-patch", measured=7.0),
    bars("half a zone at the end has too little work", "pass", Bar(end=440), rule="ink-zone-without-patch"),
]  # fmt: skip


# Side guide, register marks, labels --------------------------------------------------------------------------------


def at_drive(page: Drawing) -> None:
    side_guide(page, x=ACROSS - 4)


def in_from_the_edge(page: Drawing) -> None:
    side_guide(page, x=6, size=(3, 10))


def side_line(page: Drawing) -> None:
    page.stroke("All", [(0, 60), (8, 60)], width_mm=0.1, close=False)


def marks(rule, name, expect, *put, **more):
    sheet = Sheet(put, **{key: more.pop(key) for key in ("inks", "edge") if key in more})
    return Case(rule, name, expect, sheet, **{"ticket": STATED, "press": PRESS, **more})


def hand(side, lay="operator"):
    return {**PRESS, "operator_side": side, "side_lay": lay}


GUIDES = [
    marks("side-guide-missing", "at the guided side", "pass", *ALL),
    marks("side-guide-missing", "6 mm from the edge", "pass", in_from_the_edge),
    marks("side-guide-missing", "none", "warn", Bar(), crosses, labels),
    marks("side-guide-missing", "a hair line is none", "warn", Bar(), side_line),
    marks("side-guide-missing", "at the other side", "fail", at_drive, case="other side", near=(496, 40, 500, 50)),
    marks("side-guide-missing", "the operator stands at the right", "fail", side_guide, press=hand("right")),
    marks("side-guide-missing", "the operator stands at the right, and so does the mark", "pass", at_drive,
          press=hand("right")),
    marks("side-guide-missing", "guided at the drive side", "pass", at_drive, press=hand("left", "drive")),
    marks("side-guide-missing", "guided at either", "pass", at_drive, press=hand("left", "either")),
    marks("side-guide-missing", "nobody says where the operator stands", "warn", at_drive, case="other side",
          press={key: value for key, value in PRESS.items() if key != "operator_side"}),
    marks("side-guide-missing", "nobody says which side is guided", "not checked", side_guide,
          press={key: value for key, value in PRESS.items() if key != "side_lay"}),
    marks("side-guide-missing", "whether it is a sheet is a guess", "not checked", ticket={}),
    *(marks("side-guide-missing", f"wrong side, gripper edge at the {edge}", "fail", at_drive, edge=edge,
            ticket={**STATED, "gripper_edge": edge}) for edge in TURNS),
    *(marks("side-guide-missing", f"right side, gripper edge at the {edge}", "pass", side_guide, edge=edge,
            ticket={**STATED, "gripper_edge": edge}) for edge in TURNS),
]  # fmt: skip


def ring(page: Drawing, x: float, y: float, radius: float = 3) -> None:
    page.colour("All", stroke=True).raw(f"{0.1 * MM} w {circle(x, y, radius)} S")


def targets(page: Drawing) -> None:
    for x in (20, 480):
        cross(page, x, 160)
        ring(page, x, 160)


def rings(page: Drawing) -> None:
    ring(page, 20, 160)
    ring(page, 480, 160)


def of_process_only(page: Drawing) -> None:
    cross(page, 20, 160, (1, 1, 1, 1))
    cross(page, 480, 160, (1, 1, 1, 1))


def one_beside_another(page: Drawing) -> None:
    """A cross for each ink by itself, at both sides."""
    for number, ink in enumerate(INKS):
        for x in (20, 480):
            cross(page, x, 120 + 12 * number, PROCESS.get(ink, ink))


def corners(page: Drawing) -> None:
    """Cut marks at the corners of the work, none a register mark."""
    for x, out in ((40, -1), (460, 1)):
        for y, down in ((50, -1), (250, 1)):
            page.stroke("All", [(x, y), (x + 8 * out, y)], width_mm=0.1, close=False)
            page.stroke("All", [(x, y), (x, y + 8 * down)], width_mm=0.1, close=False)


def near_together(page: Drawing) -> None:
    cross(page, 20, 160)
    cross(page, 20, 200)


REGISTER = [
    marks("register-marks-missing", "two crosses", "pass", *ALL),
    marks("register-marks-missing", "targets", "pass", targets),
    marks("register-marks-missing", "rings in registration colour", "pass", rings),
    marks("register-marks-missing", "none", "warn", Bar(), side_guide, measured=0.0),
    marks("register-marks-missing", "one", "warn", lambda page: cross(page, 20, 160), measured=1.0),
    marks("register-marks-missing", "cut marks are none", "warn", corners, measured=0.0),
    marks("register-marks-missing", "of the process inks only", "fail", of_process_only, case="one plate",
          measured=0.0),
    marks("register-marks-missing", "a cross for each ink", "pass", one_beside_another),
    marks("register-marks-missing", "the varnish has none", "fail", of_process_only, inks=(*INKS[:4], "Matt Varnish"),
          case="one plate"),
    marks("register-marks-missing", "what is coated needs none", "pass", one_beside_another,
          inks=(*INKS, "Matt Varnish"), ticket={**STATED, "coating": {"kind": "uv", "area": "Matt Varnish"}}),
    marks("register-marks-missing", "whether it is a sheet is a guess", "not checked", ticket={}),
    marks("register-marks-together", "left and right", "pass", *ALL),
    marks("register-marks-together", "40 mm from each other", "warn", near_together, measured=8.0),
    marks("register-marks-together", "of one nobody can say", "pass", lambda page: cross(page, 20, 160)),
]  # fmt: skip


def outlined(page: Drawing) -> None:
    """Letters as filled shapes, in the brown only."""
    labels(page, INKS[:4])
    for number in range(12):
        x = 300 + 2 * number
        page.fill(
            "Mill Brown", points=[(x, 20), (x + 1.4, 20), (x + 1.4, 20.3), (x + 0.3, 20.3), (x + 0.3, 22), (x, 22)]
        )


LABELS = [
    marks("plate-label-missing", "each in its own ink", "pass", *ALL),
    marks("plate-label-missing", "none", "warn", Bar(), crosses),
    marks("plate-label-missing", "not the special", "warn", lambda page: labels(page, INKS[:4])),
    marks("plate-label-missing", "all in registration colour", "warn",
          lambda page: page.text("4471 B", (60, 20), 7, "All")),
    marks("plate-label-missing", "all of the process inks at once", "warn",
          lambda page: page.text("4471 B", (60, 20), 7, (1, 1, 1, 1))),
    marks("plate-label-missing", "in outlines", "not checked", outlined),
    marks("plate-label-missing", "what is coated needs none", "pass", *ALL, inks=(*INKS, "Matt Varnish"),
          ticket={**STATED, "coating": {"kind": "uv", "area": "Matt Varnish"}}),
]  # fmt: skip


# Marks and blanks --------------------------------------------------------------------------------------------------


def overlong(page: Drawing) -> None:
    """Bleed of 8 mm as a strip of its own, laid along the top of a panel."""
    page.fill("Mill Brown", 0.3, rect=(65, 194.5, 125, 203))


def rests_of_a_pattern(page: Drawing) -> None:
    """Squares of a pattern along the top: some reach into the lid, some lie in the bleed, some beside the lid."""
    for x in range(47, 252, 6):
        page.fill("Mill Brown", rect=(x, 239.2, x + 2, 242.2))


IN_BLANKS = [
    marks("mark-in-blank", "all clear of them", "pass", *ALL),
    marks("mark-in-blank", "the bar runs 4 mm into both", "fail", Bar(y=236), measured=4.0, near=(35, 236, 470, 242)),
    marks("mark-in-blank", "the bar is half a millimetre off", "fail", Bar(y=240.5), case="beside", measured=0.5),
    marks("mark-in-blank", "the bar is 1.5 mm off", "warn", Bar(y=241.5), case="beside", measured=1.5),
    marks("mark-in-blank", "the bar is 2.5 mm off", "pass", Bar(y=242.5)),
    marks("mark-in-blank", "a cross reaches 2 mm in", "fail", lambda page: cross(page, 48, 150, size=8),
          near=(44, 146, 52, 154), measured=2.0),
    marks("mark-in-blank", "a cross beside it", "pass", lambda page: cross(page, 43, 150, size=8)),
    marks("mark-in-blank", "the row of patches goes on inside", "fail", Bar(y=150, high=5, start=0, end=60),
          case=""),
    marks("mark-in-blank", "artwork like a bar wholly inside", "pass",
          lambda page: [patch(page, INKS[n % 5], (110 + 5 * n, 150, 115 + 5 * n, 155)) for n in range(12)]),
    marks("mark-in-blank", "overlong bleed is no mark", "pass", overlong),
    marks("mark-in-blank", "squares in the bleed are no marks", "pass", rests_of_a_pattern),
    marks("mark-in-blank", "the sheet is a guess", "warn", Bar(y=236), ticket={}),
    *(marks("mark-in-blank", f"gripper edge at the {edge}", "fail", Bar(y=236), edge=edge,
            ticket={**STATED, "gripper_edge": edge}, measured=4.0) for edge in TURNS),
]  # fmt: skip

CASES = [*BARS, *GUIDES, *REGISTER, *LABELS, *IN_BLANKS]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_marks(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize("edge", TURNS)
def test_finds_the_same_marks_whichever_way_the_page_lies(edge, tmp_path):
    job = job_of(Sheet(edge=edge)(), tmp_path, {**STATED, "gripper_edge": edge}, PRESS)
    found = find_marks(job, 3.0)
    told = collections.Counter(mark.kind for mark in found)
    assert told == {"colour bar": len(Bar().boxes()), "register": 2, "side guide": 1, "label": 5}
    bar = sorted((mark for mark in found if mark.kind == "colour bar"), key=lambda mark: mark.shape.bounds)
    for mark, (ink, tint, box) in zip(bar, sorted(Bar().boxes(), key=lambda patch: patch[2]), strict=True):
        assert mark.shape.bounds == pytest.approx(box, abs=0.3)
        assert mark.inks == {ink: pytest.approx(tint, abs=0.01)}
    guide = next(mark for mark in found if mark.kind == "side guide")
    assert guide.shape.bounds == pytest.approx((0, 40, 4, 50), abs=0.01)


def test_a_sheet_on_its_plate_has_the_same_marks(tmp_path):
    sheet = Sheet()()
    page = Drawing(1060, 820)
    page.resources, page.spaces = sheet.resources, sheet.spaces
    page.pdf = sheet.pdf
    page.page = sheet.page
    page.page.obj.MediaBox = [0, 0, 1060 * MM, 820 * MM]
    page.ops = [f"1 0 0 1 {280 * MM:.4f} {44 * MM:.4f} cm", *sheet.ops]
    ticket = {"artwork_is": "plate", "gripper_edge": "bottom", "sheet": {"size": f"{ACROSS:g} x {ALONG:g} mm"}}
    found = find_marks(job_of(page, tmp_path, ticket, PRESS), 3.0)
    told = collections.Counter(mark.kind for mark in found)
    assert told == {"colour bar": len(Bar().boxes()), "register": 2, "side guide": 1, "label": 5}
    guide = next(mark for mark in found if mark.kind == "side guide")
    assert guide.shape.bounds == pytest.approx((0, 40, 4, 50), abs=0.01)


def test_the_back_of_a_sheet_is_not_asked_for_marks_of_its_own(tmp_path):
    job = replace(job_of(Sheet(())(), tmp_path, STATED, PRESS), lay_on_sheet=lambda _: None)
    rules = {case.rule for case in CASES}
    judgement = judge(job, rulebook(), only=rules)
    assert judgement.findings == ()
    assert set(judgement.passed) == rules
