"""The die as it is drawn: found, off the plates, overprinting."""

import pytest
import yaml
from shapely import LineString

from preflight.judging.judge import judge
from tests import hairlines
from tests.cartons import draw_die
from tests.die_lines import in_pieces
from tests.drawn import Drawing
from tests.house import CARTON, SIX_UNITS, Case, blank_page, job_of, judged, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
BLACK = (0, 0, 0, 1)


def artwork() -> Drawing:
    return blank_page().fill("Mill Brown", rect=(30, 60, 80, 140))


def die_in(cut: object, crease: object = None, **how: object) -> Drawing:
    page = artwork()
    draw_die(page, CARTON, cut=cut, crease=cut if crease is None else crease, **how)  # type: ignore[arg-type]
    return page


def bleeding(past_mm: float, **die: object) -> Drawing:
    """A ground on the last panel that carries on past the cut at the right."""
    page = blank_page().fill("Mill Brown", rect=(180, 60, CARTON.box[2] + past_mm, 140))
    draw_die(page, CARTON, **die)  # type: ignore[arg-type]
    return page


def copy_in_black() -> Drawing:
    """A true die, and a second copy of its cut left in black."""
    page = with_die(artwork())
    for line in CARTON.cut:
        page.stroke(BLACK, [(x + 0.1, y) for x, y in line], width_mm=0.2, close=False)
    return page


def panel_frames() -> Drawing:
    """Thin black frames 3 mm inside each panel, and rules across the carton."""
    page = artwork()
    for panel in CARTON.panels:
        (x0, y0), _, (x1, y1), _ = panel
        page.stroke(BLACK, [(x0 + 3, y0 + 3), (x1 - 3, y0 + 3), (x1 - 3, y1 - 3), (x0 + 3, y1 - 3)], width_mm=0.2)
    for y in range(60, 140, 4):
        page.stroke(BLACK, [(10, y), (205, y)], width_mm=0.2, close=False)
    return with_die(page)


def knocking(*, ground: bool, kinds: str = "both") -> Drawing:
    """A die that does not overprint, over a ground or beside it."""
    page = blank_page()
    page.fill("Mill Brown", rect=(20, 50, 90, 150) if ground else (40, 70, 70, 130))
    if kinds == "both":
        draw_die(page, CARTON, overprint=False)
        return page
    page.gs(OP=True)
    for line in CARTON.cut:
        page.stroke("Cutting", line, close=False)
    page.gs(OP=False)
    for line in CARTON.crease:
        page.stroke("Creasing", line, close=False)
    return page


def die_below() -> Drawing:
    """A die that does not overprint and lies below the artwork: nothing is knocked out."""
    page = blank_page()
    draw_die(page, CARTON, overprint=False)
    return page.fill("Mill Brown", rect=(20, 50, 90, 150))


def open_die(*missing: str, drawn: Drawing | None = None, gap_mm: float = 0.0, right_mm: float = 0.0) -> Drawing:
    """The carton without the cut of ``missing`` (panel, dust, lid, flap), or with gaps at the ends of that."""
    page = drawn or artwork()
    seam, lower, right, upper = ([(x + right_mm, y) for x, y in line] for line in CARTON.cut)
    level = [n for n in range(len(upper) - 1) if upper[n][1] == upper[n + 1][1]]
    dust = next(n for n in level if 86 < upper[n][0] - right_mm < 116 and upper[n][1] > 160)
    top = next(n for n in level if upper[n][1] == CARTON.box[3])
    pieces = {"flap": [seam], "panel": [right], "": [lower], "dust": [upper[dust : dust + 2]]}
    pieces |= {"lid": [upper[top : top + 2]]}
    first, second = sorted((dust, top))
    pieces[""] += [upper[: first + 1], upper[first + 1 : second + 1], upper[second + 1 :]]
    page.gs(OP=True, OPM=1)
    for name, lines in pieces.items():
        for line in lines if name not in missing else shortened(lines, gap_mm) if gap_mm else ():
            page.stroke("Cutting", line, close=False)
    for line in CARTON.crease:
        page.stroke("Creasing", [(x + right_mm, y) for x, y in line], close=False)
    return page.gs(OP=False)


def shortened(lines: list[list[tuple[float, float]]], by_mm: float) -> list[list[tuple[float, float]]]:
    """Lines that end so much before their last point."""
    return [[*line[:-1], LineString(line[::-1]).interpolate(by_mm).coords[0]] for line in lines]


def turned(page: Drawing, degrees: int) -> Drawing:
    page.page.obj.Rotate = degrees
    return page


def one_line_open() -> Drawing:
    """The whole cut as one line that does not come back to its start."""
    page = artwork().gs(OP=True)
    start = CARTON.outline.index((205, 145))
    page.stroke("Cutting", [*CARTON.outline[start:], *CARTON.outline[:start]], close=False)
    for line in CARTON.crease:
        page.stroke("Creasing", line, close=False)
    return page.gs(OP=False)


def two_up(*missing: str) -> Drawing:
    """Two blanks on a sheet, the right one's cut as told."""
    page = Drawing(2 * 205 + 15, 200)
    draw_die(page, CARTON)
    return open_die(*missing, drawn=page, right_mm=205)


def furnished(page: Drawing) -> Drawing:
    """A legend, dimension lines that touch the carton, crop marks, a slit and a thumb tab in the die ink."""
    page.gs(OP=True)
    page.stroke("Cutting", [(2, 2), (24, 2), (24, 8), (2, 8)]).stroke("Cutting", [(4, 5), (12, 5)], close=False)
    page.stroke("Cutting", [(205, 55), (205, 30)], close=False).stroke("Cutting", [(175, 31), (205, 31)], close=False)
    page.fill("Cutting", points=[(205, 31), (202, 32), (202, 30)])
    page.stroke("Cutting", [(10, 199), (10, 193)], close=False)
    page.stroke("Cutting", [(100, 100), (108, 100)], close=False)
    return page.stroke("Cutting", [(120, 120), (120, 130), (135, 130), (135, 120)], close=False).gs(OP=False)


def text_across_the_last_fold(page: Drawing) -> Drawing:
    return page.text("across", (170, 100), 9)


def cut_without_folds(ink: object, width_mm: float = 0.25) -> Drawing:
    """The cut of the carton alone, in an ink that is called nothing."""
    page = artwork().gs(OP=True)
    for line in CARTON.cut:
        page.stroke(ink, line, width_mm=width_mm, close=False)  # type: ignore[arg-type]
    return page.gs(OP=False)


def frame(ink: str) -> Drawing:
    return artwork().stroke(ink, [(15, 15), (200, 15), (200, 185), (15, 185)], width_mm=0.25)


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


CASES = [
    case("die-line-missing", "no die", "warn", artwork),
    *(
        case("die-line-missing", f"likely in {name}", "warn", lambda name=name: cut_without_folds(name), case="likely")
        for name in ("Werkzeug", "CAD", "Layout", "Ink 2", "Stanzkontrur")
    ),
    case("die-line-missing", "likely a hint in a rectangle", "warn", lambda: frame("Werkzeug"), case="likely"),
    case("die-line-missing", "a frame in a spot is no likely die", "warn", lambda: frame("Mill Red"), case=""),
    case("die-line-missing", "what is filled as well is no likely die", "warn",
         lambda: cut_without_folds("Werkzeug").fill("Werkzeug", rect=(40, 70, 60, 90)), case=""),
    case("die-line-missing", "thick lines are no likely die", "warn",
         lambda: cut_without_folds("Werkzeug", width_mm=2), case=""),
    case("die-line-missing", "a process ink is no likely die", "warn", lambda: cut_without_folds(BLACK), case=""),
    case("die-line-missing", "a die", "pass", lambda: with_die(artwork())),
    case("cut-not-closed", "the last panel's edge", "warn", lambda: open_die("panel"), near=(204, 54, 206, 146),
         measured=90),
    case("cut-not-closed", "the edge of a dust flap", "warn", lambda: open_die("dust"), near=(90, 168, 112, 170)),
    case("cut-not-closed", "the edge of a tuck flap", "warn", lambda: open_die("lid"), near=(30, 189, 80, 191)),
    case("cut-not-closed", "the glue flap's cut is not there at all", "warn", lambda: open_die("flap"),
         near=(24, 54, 26, 146), measured=90),
    case("cut-not-closed", "on a page that is turned", "warn", lambda: turned(open_die("panel"), 90),
         near=(54, 9, 146, 11), measured=90),
    case("cut-not-closed", "one line that does not close", "warn", one_line_open),
    case("cut-not-closed", "a gap of 1.5 mm", "warn", lambda: open_die("panel", gap_mm=1.5), measured=1.5),
    case("cut-not-closed", "one blank of a sheet", "warn", lambda: two_up("panel"), ticket={"artwork_is": "sheet"},
         near=(409, 54, 411, 146)),
    case("cut-not-closed", "with a legend and dimension lines", "warn", lambda: furnished(open_die("dust"))),
    case("cut-not-closed", "closed", "pass", open_die),
    case("cut-not-closed", "a nick of 0.8 mm", "pass", lambda: open_die("panel", "dust", "lid", gap_mm=0.8)),
    case("cut-not-closed", "closed, with a legend and dimension lines", "pass", lambda: furnished(open_die())),
    case("cut-not-closed", "no die", "not checked", artwork),
    case("cut-not-closed", "a sheet", "pass", two_up, ticket={"artwork_is": "sheet"}),
    case("live-matter-near-cut", "text across the fold beyond which the cut is open", "not checked",
         lambda: text_across_the_last_fold(open_die("panel"))),
    case("live-matter-near-fold", "text across the fold beyond which the cut is open", "warn",
         lambda: text_across_the_last_fold(open_die("panel"))),
    case("ink-total-over", "the cut is not closed", "not checked", lambda: open_die("panel")),
    case("die-line-prints", "in black", "fail", lambda: die_in(BLACK, crease_dash_mm=(3, 2)), case="in an ink"),
    case("die-line-prints", "in process inks", "fail", lambda: die_in((0, 1, 1, 0), crease_dash_mm=(3, 2)),
         case="in an ink"),
    *(
        case("die-line-prints", f"all of it in {name}", "fail", lambda name=name: die_in(name, crease_dash_mm=(3, 2)),
             case="in a likely die")
        for name in ("Werkzeug", "CAD", "Shade 9")
    ),
    case("die-line-prints", "in a spot that other artwork is drawn in", "fail",
         lambda: die_in("Mill Brown", crease_dash_mm=(3, 2)), case="in an ink"),
    case("die-line-prints", "a copy in black", "fail", copy_in_black, case="in an ink"),
    case("die-line-prints", "in registration colour", "fail", lambda: die_in("All"), case="in an ink"),
    case("die-line-prints", "in registration colour, which the ticket names", "fail", lambda: die_in("All"),
         ticket={**ONE_UP, "die": {"lines": {"cut": ["All"]}}}, case="in an ink"),
    case("die-line-prints", "in black, which the ticket names", "fail",
         lambda: die_in(BLACK).fill(BLACK, rect=(40, 90, 60, 100)),
         ticket={**ONE_UP, "die": {"lines": {"cut": ["Black"]}}}, case="in an ink"),
    case("registration-colour-in-art", "the die in registration colour is another rule's matter", "pass",
         lambda: die_in("All", crease_dash_mm=(3, 2))),
    case("bleed-short", "a die in one ink, its creases dashed", "fail",
         lambda: bleeding(1.0, cut="Die", crease="Die", crease_dash_mm=(3, 2)), measured=1.0),
    case("bleed-short", "a die in one ink, all solid", "fail", lambda: bleeding(1.0, cut="Die", crease="Die"),
         measured=1.0),
    case("bleed-short", "a die in one ink and enough bleed", "pass", lambda: bleeding(3.0, cut="Die", crease="Die")),
    case("die-line-prints", "in spots of its own", "pass", lambda: with_die(artwork())),
    case("die-line-prints", "frames inside the panels", "pass", panel_frames),
    *(
        case("die-line-prints", f"perhaps: {name}", "warn", draw, case="perhaps")
        for name, draw in hairlines.DIES.items()
    ),
    case("die-line-prints", "perhaps: on a sheet", "warn", hairlines.DIES["a tray"], case="perhaps",
         ticket={"artwork_is": "sheet", "gripper_edge": "bottom"}),
    case("die-line-prints", "perhaps: where its box lies", "warn", hairlines.DIES["a straight glue flap, on the trim"],
         case="perhaps", near=CARTON.box),
    *(
        case("die-line-prints", f"not even perhaps: {name}", "pass", draw)
        for name, draw in hairlines.LOOK_ALIKES.items()
    ),
    case("die-line-prints", "perhaps a die, in an ink that does not print", "pass",
         lambda: hairlines.drawn(hairlines.STRAIGHT, "Technical drawing")),
    case("die-line-missing", "perhaps in process inks", "warn", hairlines.DIES["a tray"]),
    case("die-line-prints", "on a unit", "fail", lambda: printed("Black"),
         ticket={**ONE_UP, "units": ["Black", "Cutting"]}, case="on a unit"),
    case("die-line-prints", "not on a unit", "pass", lambda: printed("Black"), ticket={**ONE_UP, "units": ["Black"]}),
    case("die-knocks-out", "over a ground", "fail", lambda: knocking(ground=True), near=(20, 50, 90, 150)),
    case("die-knocks-out", "only the creases", "fail", lambda: knocking(ground=True, kinds="creases"),
         near=(20, 50, 90, 150)),
    case("die-knocks-out", "beside the ground", "pass", lambda: knocking(ground=False)),
    case("die-knocks-out", "overprinting", "pass",
         lambda: with_die(blank_page().fill("Mill Brown", rect=(20, 50, 90, 150)))),
    case("die-knocks-out", "below the artwork", "pass", die_below),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_die_lines(case, tmp_path):
    prove(case, tmp_path)


def test_an_open_cut_is_told_in_the_report(tmp_path):
    page = open_die("panel").fill("Lost Red", rect=(190, 80, 200, 90))
    job = job_of(page, tmp_path, {**ONE_UP, "units": ["Mill Brown", "Lost Red"]}, SIX_UNITS)
    assert {ink.separation.name: ink.prints for ink in job.inks}["Lost Red"] is None
    judgement = judge(job, rulebook())
    (finding,) = [finding for finding in judgement.findings if finding.rule == "cut-not-closed"]
    assert "(205, 55) to (205, 145)" in finding.says
    assert not {"spot-without-ink", "live-matter-near-cut"} & {finding.rule for finding in judgement.findings}
    left = {item.rule for item in judgement.not_checked if "not closed" in item.because}
    assert {"bleed-short", "plates-over-units", "ink-total-over", "live-matter-near-cut"} <= left
    assert job.die.notes == ("2 lines of the carton beyond an open cut ignored when reading the die",)


def test_a_legend_keeps_its_name_beside_an_open_cut(tmp_path):
    job = job_of(furnished(open_die("panel")), tmp_path, ONE_UP, SIX_UNITS)
    beyond, legend = "lines of the carton beyond an open cut", "1 legend box"
    assert any(beyond in note and legend in note for note in job.die.notes), job.die.notes


def dashed_creases(how: str = "dashed") -> Drawing:
    """Creases in dashes of 3 mm and gaps of 1.5 mm that knock out of a ground; the cut overprints."""
    page = blank_page().fill("Mill Brown", rect=(5, 5, 210, 195)).gs(OP=True)
    for line in CARTON.cut:
        page.stroke("Cutting", line, close=False)
    page.gs(OP=False)
    for line in CARTON.crease:
        if how == "loose":
            for piece in in_pieces(line, 3, 1.5):
                page.stroke("Creasing", [tuple(p) for p in piece.points], close=False)
        else:
            page.stroke("Creasing", line, close=False, dash_mm=(3, 1.5))
    return turned(page, 90) if how == "turned" else page


@pytest.mark.parametrize("how", ["dashed", "loose", "turned"])
def test_dashes_of_one_crease_are_one_line_and_their_gaps_do_not_count(how, tmp_path):
    drawn = case("die-knocks-out", "dashed", "fail", lambda: dashed_creases(how))
    (finding,) = judged(drawn, tmp_path).findings
    creases = [LineString(line).length for line in CARTON.crease]
    assert f"({len(creases)} lines" in finding.says
    assert finding.measured[0] == pytest.approx(sum(creases) * 2 / 3, rel=0.04)


def test_a_solid_line_keeps_its_length(tmp_path):
    drawn = case("die-knocks-out", "solid", "fail", lambda: knocking(ground=True, kinds="creases"))
    (finding,) = judged(drawn, tmp_path).findings
    assert "(4 lines)" in finding.says
    assert finding.measured[0] == pytest.approx(2 * 90 + 60 + 5 + 5, abs=6)


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("Werkzeug", "die: {lines: {cut: [Werkzeug]}}"),
        ("Werkzeug 2 (neu)", "die: {lines: {cut: [Werkzeug 2 (neu)]}}"),
        ("Umriss, außen", 'die: {lines: {cut: ["Umriss, außen"]}}'),
    ],
)
def test_the_line_that_names_the_likeliest_separation_can_be_pasted(name, line, tmp_path):
    page = cut_without_folds(name)
    (finding,) = judged(case("die-line-missing", "", "warn", lambda: page), tmp_path).findings
    assert line in finding.do
    job = job_of(page, tmp_path, ONE_UP, SIX_UNITS)
    left = judge(job, rulebook(), only={"bleed-short"}).not_checked
    assert [line in item.would_help for item in left] == [True]
    pasted = job_of(page, tmp_path, ONE_UP | yaml.safe_load(line), SIX_UNITS)
    assert len(pasted.die.blanks) == 1


def test_no_line_is_offered_where_nothing_is_likely(tmp_path):
    job = job_of(frame("Mill Red"), tmp_path, ONE_UP, SIX_UNITS)
    assert (job.die.likely_cut, job.die.line_to_paste) == ("", "")
    assert [finding for finding in judge(job, rulebook()).findings if "die: {" in finding.do] == []
