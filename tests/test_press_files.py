"""One job without any symmetry comes right through both press files, on a press of each hand; what fails gets none."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.cli.main import run
from preflight.crew.press_files import press_job
from preflight.setup.press_sheet.press_sheet import Mark
from preflight.setup_pipeline import SetUp, set_up
from tests import odd_job
from tests.drawn import Drawing
from tests.ppf_reader import Block, band_means, ghostscript_reads, ink, read_ppf
from tests.referees import needs_ghostscript
from tests.xjdf_reader import mm, named, resources

HANDS = ("left", "right")
KEYS = {"count": "8", "pitch": "30 mm"}
"""240 mm, so that the first and the last strip reach 5 mm over the sheet of 230 mm."""
PX_MM = 0.5
EDGE_MM = 0.75
NIGHT = (3.0, 20.0, 15.0, 27.0)
"""A patch of the inside, as seen through the board, from the corner of the cut's box."""
TURNING = [*[{"unit": {"inks": "any"}}] * 2, {"turn": {}}, *[{"unit": {"inks": "any"}}] * 6]


def written(folder: Path, operator: str, press: dict[str, Any] | None = None, **ticket: Any) -> Path:
    """A ticket with its press and artwork."""
    odd_job.one_up().save(folder / "art.pdf")
    profile = {**odd_job.press(operator), "ink_keys": KEYS, "plate": {"size": "300 x 240 mm", "sheet_starts": "35 mm"}}
    if press is not None:
        profile = {key: value for key, value in profile.items() if key not in ("units", "line")} | press
    (folder / "press.yaml").write_text(json.dumps(profile))
    told = {
        "ticket": "77-1", "revision": "B", "title": "Odd (one)", "artwork": "art.pdf", "press": "press.yaml",
        "quantity": "4000", "board": {"grade": "GC2", "caliper": "0.4 mm", "weight": "300 g/m2", "grain": "along",
                                             "grain_on_blank": "any"},
        "aims": {"Blue": {"density": "1.4", "lab": ["30", "10", "-50"]}},
    }  # fmt: skip
    (folder / "ticket.yaml").write_text(json.dumps({**told, **odd_job.TICKET, **ticket}))
    return folder / "ticket.yaml"


def inside(folder: Path, name: str = "Night") -> str:
    """The page of the inside: the same die as seen from behind, and one patch."""
    width = odd_job.PAGE[0]
    page = Drawing(*odd_job.PAGE)

    def at(x: float, y: float) -> tuple[float, float]:
        return width - (odd_job.AT[0] + x), odd_job.AT[1] + y

    x0, y0, x1, y1 = NIGHT
    page.fill(name, points=[at(x, y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
    page.gs(OP=True)
    page.stroke("Cutting", [at(*point) for point in odd_job.CUT])
    for fold in odd_job.FOLDS:
        page.stroke("Creasing", [at(*point) for point in fold], close=False)
    page.save(folder / "inside.pdf")
    return "inside.pdf"


def bare(made: SetUp) -> SetUp:
    """The set-up without the tool's own marks, so that nothing but the artwork is drawn."""
    assert made.job.sheet is not None
    return replace(made, job=replace(made.job, sheet=replace(made.job.sheet, marks=())))


def with_keys(made: SetUp) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The press files, and the ink keys of ``setup.json`` beside them."""
    keys: dict[str, Any] = made.document["ink_keys"]
    assert (keys["count"], keys["pitch_mm"]) == (8, 30)
    return made.press_files, keys


def in_file(shape: shapely.Geometry, operator: str) -> shapely.Geometry:
    """A shape of the sheet's frame as files count it, from the operator side."""
    if operator == "left":
        return shape
    return shapely.transform(shape, lambda xy: np.column_stack([odd_job.SHEET[0] - xy[:, 0], xy[:, 1]]))


def laid(rect: tuple[float, float, float, float], operator: str) -> shapely.Geometry:
    """A rectangle of the one-up at every blank, as files count it."""
    there = [odd_job.on_sheet(shapely.box(*rect), *corner) for corner in odd_job.CORNERS[operator]]
    return in_file(shapely.union_all(there), operator)


def shows(picture: Block, shape: shapely.Geometry) -> bool:
    """Whether a preview is solid in a shape and bare elsewhere, its edge left out: a pixel, and one of the plate."""
    tints = ink(picture)
    height, width = tints.shape
    x, y = np.meshgrid((np.arange(width) + 0.5) * PX_MM, (np.arange(height) + 0.5) * PX_MM)
    inner, outer = (shapely.contains_xy(shape.buffer(by), x, y) for by in (-EDGE_MM, EDGE_MM))
    assert inner.sum() > 200
    return bool(tints[inner].min() > 0.99 and tints[~outer].max() == 0)


@pytest.fixture(params=["own reader", pytest.param("ghostscript", marks=needs_ghostscript)])
def reads(request, tmp_path) -> Callable[[bytes], Block]:
    return read_ppf if request.param == "own reader" else lambda data: ghostscript_reads(data, tmp_path)


@pytest.mark.parametrize("operator", HANDS)
def test_every_plate_lies_in_the_ppf_as_files_count(operator, reads, tmp_path):
    files, _ = with_keys(bare(set_up(written(tmp_path, operator))))
    sheet = reads(files["ink-keys.ppf"])
    width, height = sheet.told["CIP3AdmPaperExtent"]
    assert (width / 72 * 25.4, height / 72 * 25.4) == pytest.approx(odd_job.SHEET, abs=1e-3)
    pictures = sheet.the("Front").separations
    assert set(pictures) == {*odd_job.PATCHES, odd_job.GROUND}
    for name, rect in odd_job.PATCHES.items():
        assert ink(pictures[name]).shape == (320, 460)
        assert shows(pictures[name], laid(rect, operator))
        other = "right" if operator == "left" else "left"
        mirrored = shapely.transform(laid(rect, operator), lambda xy: np.column_stack([230 - xy[:, 0], xy[:, 1]]))
        assert not shows(pictures[name], mirrored), f"as on a press whose operator stands at the {other}"


@pytest.mark.parametrize("operator", HANDS)
@pytest.mark.parametrize("marked", [True, False])
def test_previews_and_zones_have_the_covers_of_the_set_up(operator, marked, reads, tmp_path):
    made = set_up(written(tmp_path, operator))
    assert made.job.sheet is not None
    assert any(mark.known == "stated" for mark in made.job.sheet.marks)
    files, keys = with_keys(made if marked else bare(made))
    pictures = reads(files["ink-keys.ppf"]).the("Front").separations
    names = {
        each.find("Part").get("Separation"): each.find("Color").get("ActualColorName")
        for each in resources(files["job.xjdf"], "Color")
    }
    zones = {
        names[each.find("Part").get("Separation")]: each.find("InkZoneProfile")
        for each in resources(files["job.xjdf"], "InkZoneProfile")
    }
    assert list(zones) == list(pictures) == list(names.values())
    edges = [-5 + 30 * key for key in range(9)]
    for name, picture in pictures.items():
        told = [float(value) for value in zones[name].get("ZoneSettingsX").split()]
        assert told == pytest.approx(keys["cover"][name], abs=1e-4)
        assert mm(zones[name].get("ZoneWidth")) == pytest.approx([30], abs=1e-3)
        assert band_means(ink(picture), edges, odd_job.SHEET[1], 50.8) == pytest.approx(told, abs=0.005)
        if name in odd_job.PATCHES and not marked:
            shape = laid(odd_job.PATCHES[name], operator)
            drawn = [
                shape.intersection(shapely.box(at, 0, at + 30, 200)).area / (30 * odd_job.SHEET[1]) for at in edges[:-1]
            ]
            assert told == pytest.approx(drawn, abs=0.005)
            assert told != pytest.approx(drawn[::-1], abs=0.005)


@pytest.mark.parametrize("operator", HANDS)
def test_blanks_lie_in_the_xjdf_as_the_ticket_says(operator, tmp_path):
    made = set_up(written(tmp_path, operator))
    files, _ = with_keys(made)
    (layout,) = resources(files["job.xjdf"], "Layout")
    told = []
    for position in layout.find("Layout").findall("Position"):
        x0, y0, x1, y1 = mm(position.get("AbsoluteBox"))
        turn = int(position.get("Orientation").removeprefix("Rotate"))
        assert (x1 - x0, y1 - y0) == pytest.approx((60, 40) if turn in (0, 180) else (40, 60), abs=0.1)
        told.append((x0, y0, turn))
    stated: Any = odd_job.TICKET["layout"]
    wanted = [(float(each["x"].split()[0]), float(each["y"].split()[0]), each["turn"]) for each in stated["blanks"]]
    for one, other in zip(sorted(told), sorted(wanted), strict=True):
        assert one == pytest.approx(other, abs=0.06)
    in_json = [(each["x_mm"], each["y_mm"], each["turn_deg"]) for each in made.document["layout"]["blanks"]]
    for one, same in zip(told, in_json, strict=True):
        assert one == pytest.approx(same, abs=0.006)
    (media,) = [each for each in resources(files["job.xjdf"], "Media") if each.get("ID") == "Board"]
    assert mm(media.find("Media").get("Dimension")) == pytest.approx(odd_job.SHEET, abs=1e-3)
    assert media.find("Media").get("GrainDirection") == "YDirection"
    assert f"operator is at the {operator}" in layout.find("Comment").text


@pytest.mark.parametrize("operator", HANDS)
def test_front_and_back_do_not_change_places(operator, reads, tmp_path):
    artwork = [{"file": "art.pdf", "side": "outside"}, {"file": inside(tmp_path), "side": "inside"}]
    made = bare(set_up(written(tmp_path, operator, {"line": TURNING}, artwork=artwork)))
    files, keys = with_keys(made)
    sheet = reads(files["ink-keys.ppf"])
    assert sheet.told["CIP3AdmWorkStyle"] == "Perfecting"
    front, back = (sheet.the(side).separations for side in ("Front", "Back"))
    assert list(back) == ["Night"]
    assert set(front) == {*odd_job.PATCHES, odd_job.GROUND}
    assert shows(back["Night"], laid(NIGHT, operator))
    assert shows(front["Red"], laid(odd_job.PATCHES["Red"], operator))
    zones = {
        each.find("Part").get("Separation"): (each.find("Part").get("Side"), each.find("InkZoneProfile"))
        for each in resources(files["job.xjdf"], "InkZoneProfile")
    }
    side, profile = zones["Night"]
    assert side == "Back"
    assert zones["Red"][0] == "Front"
    told = [float(value) for value in profile.get("ZoneSettingsX").split()]
    assert told == pytest.approx(keys["cover"]["Night"], abs=1e-4)
    edges = [-5 + 30 * key for key in range(9)]
    assert band_means(ink(back["Night"]), edges, odd_job.SHEET[1], 50.8) == pytest.approx(told, abs=0.005)


@pytest.mark.parametrize("operator", HANDS)
@pytest.mark.parametrize("edge", ["bottom", "top", "left", "right"])
def test_a_sheet_from_outside_lies_the_same_whatever_edge_of_its_page_the_grippers_hold(edge, operator, tmp_path):
    ticket = written(tmp_path, operator, artwork_is="sheet", gripper_edge=edge, layout={})
    odd_job.sheet_page(edge, operator).save(tmp_path / "art.pdf")
    made = set_up(ticket)
    assert made.job.why_not == []
    files, keys = with_keys(made)
    pictures = read_ppf(files["ink-keys.ppf"]).the("Front").separations
    for name, rect in odd_job.PATCHES.items():
        assert shows(pictures[name], laid(rect, operator))
        edges = [-5 + 30 * key for key in range(9)]
        told = keys["cover"][name]
        assert band_means(ink(pictures[name]), edges, odd_job.SHEET[1], 50.8) == pytest.approx(told, abs=0.005)


@pytest.mark.parametrize("operator", HANDS)
def test_marks_of_the_tool_are_in_pictures_and_covers_and_those_of_the_artwork_once(operator, tmp_path):
    made = bare(set_up(written(tmp_path, operator)))
    assert made.job.sheet is not None
    bar = Mark("colour bar", shapely.box(14, 152, 19, 157), {"Red": 0.5, "Blue": 1.0}, "stated")
    read = Mark("register", shapely.box(110, 2, 116, 8), {"Red": 1.0}, "read")
    marked = replace(made, job=replace(made.job, sheet=replace(made.job.sheet, marks=(bar, read))))
    files, keys = with_keys(marked)
    pictures = read_ppf(files["ink-keys.ppf"]).the("Front").separations
    before = read_ppf(with_keys(made)[0]["ink-keys.ppf"]).the("Front").separations
    added = ink(pictures["Red"]) - ink(before["Red"])
    shape = in_file(shapely.box(14, 152, 19, 157), operator)
    x0, y0, x1, y1 = (round(value / PX_MM) for value in shape.bounds)
    assert added[y0:y1, x0:x1] == pytest.approx(128 / 255, abs=0.01)
    added[y0:y1, x0:x1] = 0
    assert not added.any()
    edges = [-5 + 30 * key for key in range(9)]
    told = keys["cover"]["Blue"]
    assert band_means(ink(pictures["Blue"]), edges, odd_job.SHEET[1], 50.8) == pytest.approx(told, abs=0.005)
    (layout,) = resources(files["job.xjdf"], "Layout")
    strip = layout.find(".//ColorControlStrip")
    assert mm(strip.get("Center")) == pytest.approx([shape.centroid.x, shape.centroid.y], abs=1e-3)
    center = in_file(shapely.Point(113, 5), operator)
    assert mm(layout.find(".//RegisterMark").get("Center")) == pytest.approx([center.x, center.y], abs=1e-3)
    said = "\n".join(read_ppf(files["ink-keys.ppf"]).comments)
    assert f"Register mark at {center.x:g} mm from the operator side, 5 mm from the gripper edge" in said


def test_an_ink_of_both_sides_is_one_ink_with_two_plates(tmp_path):
    artwork = [{"file": "art.pdf", "side": "outside"}, {"file": inside(tmp_path, "Red"), "side": "inside"}]
    made = bare(set_up(written(tmp_path, "right", {"line": TURNING}, artwork=artwork)))
    files, keys = with_keys(made)
    sheet = read_ppf(files["ink-keys.ppf"])
    assert list(sheet.the("Back").separations) == ["Red"]
    assert shows(sheet.the("Back").separations["Red"], laid(NIGHT, "right"))
    assert shows(sheet.the("Front").separations["Red"], laid(odd_job.PATCHES["Red"], "right"))
    zones = {
        (part.get("Side"), part.get("Separation")): [
            float(value) for value in each.find("InkZoneProfile").get("ZoneSettingsX").split()
        ]
        for each in resources(files["job.xjdf"], "InkZoneProfile")
        for part in [each.find("Part")]
    }
    names = {
        each.find("Part").get("Separation"): each.find("Color").get("ActualColorName")
        for each in resources(files["job.xjdf"], "Color")
    }
    told = {(side, names[token]): values for (side, token), values in zones.items()}
    assert told["Front", "Red"] == pytest.approx(keys["cover"]["Red"], abs=1e-4)
    assert told["Back", "Red"] == pytest.approx(keys["cover"]["Red (back)"], abs=1e-4)
    assert told["Front", "Red"] != told["Back", "Red"]


def test_two_names_of_one_ink_are_one_plate(tmp_path):
    made = bare(set_up(written(tmp_path, "left", separations={"Blue": {"same_as": "Red"}})))
    files, _ = with_keys(made)
    pictures = read_ppf(files["ink-keys.ppf"]).the("Front").separations
    assert "Blue" not in pictures
    both = shapely.union(laid(odd_job.PATCHES["Red"], "left"), laid(odd_job.PATCHES["Blue"], "left"))
    assert shows(pictures["Red"], both)


def test_units_stand_in_both_files_in_their_order(tmp_path):
    made = set_up(written(tmp_path, "left"))
    assert made.job.plan is not None
    files, _ = with_keys(made)
    run_, root = made.document["run"], named(files["job.xjdf"])
    told = [(each.get("Amount"), each.get("Waste")) for each in root.iter("PartAmount")]
    assert run_["sheets_net"] == 1000, "4,000 cartons, 4 on a sheet"
    assert told == [
        (str(run_["sheets_gross"]), None), ("1000", str(run_["sheets_gross"] - 1000))
    ]  # fmt: skip
    order = [unit.separation for unit in made.job.plan.passes[0].plates]
    assert list(read_ppf(files["ink-keys.ppf"]).the("Front").separations) == order
    (control,) = resources(files["job.xjdf"], "ColorantControl")
    assert control.find("ColorantControl").get("ColorantOrder").split() == order
    aims = {each.find("Part").get("Separation"): each.find("Color") for each in resources(files["job.xjdf"], "Color")}
    assert aims["Blue"].get("Lab") == "30 10 -50"
    assert aims["Red"].get("Lab") is None
    assert aims["Gold"].get("ColorTypeDetails") == "metallic"


def test_both_files_say_what_they_were_made_from(tmp_path):
    made = set_up(written(tmp_path, "left"))
    files, _ = with_keys(made)
    digest = made.job.pages[0].facts.file.sha256
    sheet = read_ppf(files["ink-keys.ppf"])
    said = "\n".join(sheet.comments)
    ids = {each.get("IDUsage"): each.get("IDValue") for each in named(files["job.xjdf"]).findall("GeneralID")}
    for part in ("77-1", "B", digest, made.made.rules_version):
        assert part in said
        assert part in ids.values()
    assert sheet.told["CIP3AdmSoftware"] == made.made.tool
    when = made.made.when.isoformat(timespec="seconds")
    assert sheet.told["CIP3AdmCreationTime"] == when
    assert named(files["job.xjdf"]).find("AuditPool/AuditCreated/Header").get("Time") == when


def test_an_inside_that_has_no_place_is_said_to_be_missing(tmp_path):
    """Neither a die on it nor the size of the outside tells where it lies."""
    page = Drawing(50, 40)
    page.fill("Night", rect=(10, 10, 20, 20))
    page.save(tmp_path / "inside.pdf")
    artwork = [{"file": "art.pdf", "side": "outside"}, {"file": "inside.pdf", "side": "inside"}]
    made = set_up(written(tmp_path, "left", {"line": TURNING}, artwork=artwork))
    assert made.job.sheet is not None
    assert made.job.sheet.left_out
    job = press_job(made.job, made.made, None)
    assert job is not None
    assert any("inside" in said for said in job.missing)


@pytest.mark.parametrize("versions", ["apart", "together"])
def test_versions_that_are_run_one_after_the_other_have_no_keys_and_files_in_common(versions, tmp_path):
    odd_job.one_up().save(tmp_path / "rose.pdf")
    artwork = [{"file": "art.pdf", "version": "Mint"}, {"file": "rose.pdf", "version": "Rose"}]
    each = {"Mint": "3000", "Rose": "1000"}
    made = set_up(
        written(tmp_path, "left", artwork=artwork, quantities=each, layout={"ups": "4", "versions": versions})
    )
    assert made.job.may_run
    told = "\n".join(made.document["not_checked"])
    if versions == "apart":
        assert made.press_files == {}
        assert made.document["ink_keys"] is None
        assert "set up each by itself, or put them on one sheet (layout: versions: together)" in told
    else:
        assert set(with_keys(made)[0]) == {"ink-keys.ppf", "job.xjdf"}
        assert "set up each by itself" not in told


def test_what_is_printed_all_over_and_shown_nowhere_is_the_whole_sheet(tmp_path):
    units = ["Sand", "Red", "Blue", "Gold", {"overall": "Gloss Varnish"}]
    made = set_up(written(tmp_path, "right", units=units, separations={"Gloss Varnish": "varnish"}))
    files, keys = with_keys(made)
    front = read_ppf(files["ink-keys.ppf"]).the("Front").separations
    assert list(front)[-1] == "Gloss Varnish"
    assert (ink(front["Gloss Varnish"]) == 1).all()
    assert any("all over" in said for said in front["Gloss Varnish"].comments)
    edges = [-5 + 30 * key for key in range(9)]
    means = band_means(ink(front["Gloss Varnish"]), edges, odd_job.SHEET[1], 50.8)
    assert means == pytest.approx(keys["cover"]["Gloss Varnish"], abs=0.005)


# Written and taken away --------------------------------------------------------------------------------------------


def setup_command(ticket: Path) -> int:
    return run(["setup", str(ticket), "--out", str(ticket.parent / "out")])


def there(ticket: Path) -> set[str]:
    return {path.name for path in (ticket.parent / "out").iterdir()} & {"ink-keys.ppf", "job.xjdf", "setup.json"}


def test_a_job_that_may_run_has_its_press_files_beside_the_sheet(tmp_path):
    ticket = written(tmp_path, "right")
    assert setup_command(ticket) == 0
    assert there(ticket) == {"ink-keys.ppf", "job.xjdf", "setup.json"}
    assert list(read_ppf((tmp_path / "out" / "ink-keys.ppf").read_bytes()).the("Front").separations)


@pytest.mark.parametrize(
    "change",
    [
        {"sheet": {"size": "400 x 160 mm"}},
        {"board": {"caliper": "3 mm"}},
        {"units_fixed": "true", "units": ["Red", "Blue", "Gold"]},
    ],
    ids=["sheet too large for the press", "board too thick", "a separation without a unit"],
)
def test_a_job_that_may_not_run_has_none_and_loses_the_old_ones(change, tmp_path):
    ticket = written(tmp_path, "left")
    setup_command(ticket)
    ticket = written(tmp_path, "left", **change)
    setup_command(ticket)
    assert json.loads((tmp_path / "out" / "setup.json").read_text())["run_it"] is False
    assert there(ticket) == {"setup.json"}
    assert set_up(ticket).press_files == {}


def test_a_job_without_a_layout_has_none(tmp_path):
    ticket = written(tmp_path, "left")
    setup_command(ticket)
    made = set_up(written(tmp_path, "left", sheet={}))
    assert made.job.sheet is None
    assert made.job.not_laid_out
    assert made.press_files == {}
    setup_command(ticket)
    assert there(ticket) == {"setup.json"}
