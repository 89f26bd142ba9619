"""One thing that cannot be read or drawn does not take the page with it: the rest is drawn and judged, and where it
would show the page is uncertain."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.platemaking import derived_documents
from preflight.artwork.read_artwork import ReadPage, read_artwork
from preflight.cli.main import run
from preflight.report.document import sentence
from tests.drawn import MM, Drawing
from tests.plate_drawings import group, rect
from tests.test_report_document import missing

PRESS = """
press: Six units
sheet: {largest: 1020 x 720 mm}
units: [{inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}]
"""
PLACE = (20.0, 20.0, 50.0, 50.0)
AT_PLACE = f"{30 * MM} 0 0 {30 * MM} {20 * MM} {20 * MM} cm"
TRIM = (5.0, 5.0, 95.0, 75.0)


def broken_picture(page: Drawing, name: str = "Broken", **keys: object) -> str:
    page.resources.XObject[Name("/" + name)] = page.pdf.make_stream(
        b"no picture", Type=Name.XObject, Subtype=Name.Image, Width=9, Height=9, BitsPerComponent=8,
        ColorSpace=Name.DeviceCMYK, Filter=Name.JPXDecode, **keys,
    )  # fmt: skip
    return f"/{name} Do"


def a_picture_that_cannot_be_decoded(page: Drawing) -> None:
    page.raw(f"q {AT_PLACE} {broken_picture(page)} Q")


def such_a_picture_in_a_form(page: Drawing) -> None:
    form = page.form(f"q 30 0 0 30 0 0 cm {broken_picture(page)} Q", bbox_mm=(0, 0, 60, 60))
    page.raw(f"q {MM} 0 0 {MM} {20 * MM} {20 * MM} cm /{form} Do Q")


def a_picture_without_a_size(page: Drawing) -> None:
    broken_picture(page)
    del page.resources.XObject.Broken["/Width"]
    page.raw(f"q {AT_PLACE} /Broken Do Q")


def a_form_that_calls_itself(page: Drawing) -> None:
    form = page.form("", bbox_mm=(0, 0, 30, 30))
    page.resources.XObject[Name("/" + form)].write(f"/{form} Do".encode())
    page.raw(f"q 1 0 0 1 {20 * MM} {20 * MM} cm /{form} Do Q")


def a_form_that_is_packed_in_an_unknown_way(page: Drawing) -> None:
    form = page.form("0 0 0 1 k 0 0 99 99 re f", bbox_mm=PLACE)
    page.resources.XObject[Name("/" + form)].Filter = Name.NoSuchDecode
    page.raw(f"/{form} Do")


def a_pattern_with_a_picture_that_cannot_be_decoded(page: Drawing) -> None:
    page.resources.Pattern.P = page.pdf.make_stream(
        f"q 9 0 0 9 0 0 cm {broken_picture(page)} Q".encode(), Type=Name.Pattern, PatternType=1, PaintType=1,
        TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9, Resources=page.resources,
    )  # fmt: skip
    page.raw(f"/Pattern cs /P scn {rect(*PLACE)} f")


def a_picture_through_a_soft_mask_that_cannot_be_drawn(page: Drawing) -> None:
    form = page.form(f"q {AT_PLACE} {broken_picture(page)} Q", bbox_mm=PLACE, group=group(CS=Name.DeviceGray, I=True))
    page.resources.ExtGState.Masked = Dictionary(
        SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)])
    )
    page.raw(f"q /Masked gs 1 0 0 0 k {rect(*PLACE)} f Q")


def a_knock_out_group_that_takes_opacity_for_shape(page: Drawing) -> None:
    page.resources.ExtGState.Shape = Dictionary(AIS=True, ca=0.5)
    inner = f"1 0 0 0 k {rect(*PLACE)} f /Shape gs 0 1 0 0 k {rect(25, 25, 45, 45)} f"
    page.raw(f"/{page.form(inner, bbox_mm=PLACE, group=group(K=True, I=True))} Do")


UNDRAWN = [
    a_picture_that_cannot_be_decoded, such_a_picture_in_a_form, a_picture_without_a_size, a_form_that_calls_itself,
    a_form_that_is_packed_in_an_unknown_way, a_pattern_with_a_picture_that_cannot_be_decoded,
    a_picture_through_a_soft_mask_that_cannot_be_drawn, a_knock_out_group_that_takes_opacity_for_shape,
]  # fmt: skip


def drawing(plant: Callable[[Drawing], None], *, letters: int = 0) -> Drawing:
    """A page with the thing, ink about it, type too small in it and outside of it."""
    page = Drawing(100, 80, trim=TRIM)
    page.fill("Fern", 1, rect=(0, 0, 100, 80)).fill((0.2, 0.2, 0.2, 0.2), rect=(60, 20, 90, 70))
    for at in range(letters):
        page.fill((0, 0, 0, at % 7 / 7), rect=(60 + at % 30, 20 + at // 30 % 50, 60.5 + at % 30, 20.5 + at // 30 % 50))
    plant(page)
    return page


def read(page: Drawing, folder: Path) -> ReadPage:
    found = read_artwork(page.save(folder / "art.pdf")).pages[0]
    assert isinstance(found, ReadPage)
    return found


def check(page: Drawing, folder: Path, *options: str) -> tuple[int, dict[str, Any]]:
    art = page.save(folder / "art.pdf")
    (folder / "press.yaml").write_text(PRESS)
    files = ("--press", str(folder / "press.yaml"), "--report", str(folder / "r.json"), "--no-cache")
    status = run(["check", str(art), *files, *options])
    report: dict[str, Any] = json.loads((folder / "r.json").read_text())
    return status, report


@pytest.mark.parametrize("plant", UNDRAWN, ids=lambda f: f.__name__)
def test_all_the_rest_is_drawn_and_the_place_is_known(plant, tmp_path):
    page = read(drawing(plant), tmp_path)
    plates = page.plates(100)
    middle = plates.ink[:, 120:130, 285:295].max((1, 2)) / 255  # at 74 mm across, 49 mm up
    assert dict(zip(plates.names, middle, strict=True)) == pytest.approx(
        {"Cyan": 0.2, "Magenta": 0.2, "Yellow": 0.2, "Black": 0.2, "Fern": 0.0}, abs=0.01
    )
    assert float(plates.tint("Fern")[2:20, 2:380].min()) >= 254
    assert page.uncertain
    boxes = np.array([place.box_mm for place in page.uncertain])
    assert [*boxes[:, :2].min(0), *boxes[:, 2:].max(0)] == pytest.approx(PLACE, abs=0.1)


@pytest.mark.parametrize("plant", UNDRAWN, ids=lambda f: f.__name__)
def test_nobody_says_that_it_can_run(plant, tmp_path):
    """The place lies on no edge, but what is missing there may be another ink, or knock inks out."""
    _, report = check(drawing(plant), tmp_path)
    open_rules = {entry["rule"]: entry for entry in report["not_checked"] if entry["places"]}
    assert "ink-total-over" in open_rules
    assert "bleed-short" not in open_rules
    assert open_rules["ink-total-over"]["for_want_of"] == "file"
    assert not report["complete"]
    assert report["drawn"] == "in part"
    assert report["uncertain"]


def test_what_lies_in_the_place_is_not_found_and_what_lies_outside_is(tmp_path):
    def small_type(page: Drawing) -> None:
        a_picture_that_cannot_be_decoded(page)
        page.text("in the place", (22, 30), 3).text("outside", (60, 10), 3)

    _, report = check(drawing(small_type), tmp_path)
    (found,) = [finding for finding in report["findings"] if finding["rule"] == "text-too-small"]
    assert [place["box_mm"][1] < 20 for place in found["places"]] == [True]


def on_the_cut(page: Drawing) -> None:
    page.raw(f"q {30 * MM} 0 0 {30 * MM} 0 {20 * MM} cm {broken_picture(page)} Q")


def test_on_the_cut_bleed_is_left_open_and_the_headline_says_so(tmp_path):
    status, report = check(drawing(on_the_cut), tmp_path)
    assert "bleed-short" in {entry["rule"] for entry in report["not_checked"] if entry["places"]}
    assert report["verdict"] == "warn"
    assert report["sentence"].startswith("Not checked: a part of the page could not be drawn")
    assert status == 0
    assert check(drawing(on_the_cut), tmp_path, "--warnings-fail")[0] == 1


def test_inks_that_may_be_missing_are_not_known_to_print(tmp_path):
    """A picture in process colours may put any of them there; a spot that is only named, and prints nothing, none."""

    def only_spots(page: Drawing) -> None:
        page.spot("Idle")
        page.raw(f"q {AT_PLACE} {broken_picture(page)} Q")

    page = Drawing(100, 80, trim=TRIM).fill("Fern", 1, rect=(0, 0, 100, 80))
    only_spots(page)
    _, report = check(page, tmp_path)
    prints = {entry["name"]: entry["prints"] for entry in report["separations"]}
    assert prints == {"Cyan": None, "Magenta": None, "Yellow": None, "Black": None, "Fern": True, "Idle": False}
    assert "plates-over-units" in report["passed"]  # five fit, whatever is missing


def test_a_form_that_nobody_can_read_may_hold_any_ink(tmp_path):
    _, report = check(drawing(a_form_that_is_packed_in_an_unknown_way), tmp_path)
    assert "plates-over-units" in {entry["rule"] for entry in report["not_checked"]}
    assert report["sentence"].startswith("Not checked: a part of the page could not be drawn")


def test_a_page_that_is_damaged_throughout_is_said_to_be_undrawn(tmp_path):
    page = Drawing(100, 80, trim=TRIM).fill("Fern", 1, rect=(0, 0, 100, 80))
    page.save(tmp_path / "art.pdf")
    page.page.obj.Contents = page.pdf.make_stream(b"x\x9c" + b"nothing that inflates")
    page.page.obj.Contents.Filter = Name.NoSuchDecode
    page.pdf.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    arguments = ["check", str(tmp_path / "art.pdf"), "--press", str(tmp_path / "press.yaml"), "--no-cache"]
    assert run([*arguments, "--report", str(tmp_path / "r.json")]) == 0
    assert run([*arguments, "--warnings-fail"]) == 1
    report = json.loads((tmp_path / "r.json").read_text())
    assert report["drawn"] == "not at all"
    assert report["sentence"].startswith("Not checked: the page could not be drawn")


def test_in_a_hidden_layer_nothing_is_missing(tmp_path):
    page = Drawing(100, 80, trim=TRIM).fill("Fern", 1, rect=(0, 0, 100, 80)).layer("Notes", on=False)
    a_form_that_calls_itself(page)
    a_picture_that_cannot_be_decoded(page)
    found = read(page.end_layer(), tmp_path)
    assert found.plates(50).uncertain == ()
    assert found.uncertain == []


def test_outside_the_cut_nothing_is_left_open(tmp_path):
    def beside(page: Drawing) -> None:
        page.raw(f"q {20 * MM} 0 0 {20 * MM} {140 * MM} {20 * MM} cm {broken_picture(page)} Q")

    page = Drawing(200, 80, trim=TRIM).fill("Fern", 1, rect=(0, 0, 100, 80))
    beside(page)
    _, report = check(page, tmp_path)
    assert not [entry for entry in report["not_checked"] if entry["places"]]
    assert report["uncertain"]


def test_two_processes_find_what_one_finds(tmp_path, monkeypatch):
    together = read(drawing(a_picture_that_cannot_be_decoded, letters=3000), tmp_path)
    together.plates(100)
    monkeypatch.setattr(derived_documents, "can_fork", lambda: False)
    alone = read(drawing(a_picture_that_cannot_be_decoded, letters=3000), tmp_path)
    alone.plates(100)
    assert together.uncertain == alone.uncertain != []


def test_kept_plates_know_where_they_are_uncertain(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    path = drawing(a_picture_that_cannot_be_decoded).save(tmp_path / "art.pdf")
    found = []
    for _ in range(2):
        page = read_artwork(path, cache=True).pages[0]
        found.append(page.plates(100).uncertain)
        assert tuple(page.uncertain) == found[-1] != ()
    assert found[0] == found[1]


def test_a_form_placed_four_times_is_uncertain_four_times(tmp_path):
    page = Drawing(100, 80, trim=TRIM)
    form = page.form(f"q 30 0 0 30 0 0 cm {broken_picture(page)} Q", bbox_mm=(0, 0, 60, 60))
    for x, y in ((10, 10), (50, 10), (10, 40), (50, 40)):
        page.raw(f"q 1 0 0 1 {x * MM} {y * MM} cm /{form} Do Q")
    found = read(page, tmp_path)
    found.plates(100)
    corners = sorted((round(place.box_mm[0]), round(place.box_mm[1])) for place in found.uncertain)
    assert corners == [(10, 10), (10, 40), (50, 10), (50, 40)]


def test_a_filled_path_that_cannot_be_drawn_does_not_join_the_next(tmp_path):
    page = Drawing(100, 80, trim=TRIM)
    a_pattern_with_a_picture_that_cannot_be_decoded(page)
    page.raw(f"0 0 0 1 k {rect(60, 60, 70, 70)} f")
    plates = read(page, tmp_path).plates(100)
    assert float(plates.tint("Black").sum()) / 255 * plates.mm_per_px**2 == pytest.approx(100, rel=0.02)


def test_the_place_is_marked_in_picture_and_list(tmp_path, capsys):
    page = drawing(on_the_cut)
    page.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    files = ["--press", str(tmp_path / "press.yaml"), "--no-cache"]
    run(["check", str(tmp_path / "art.pdf"), *files, "--report", str(tmp_path / "r.html")])
    told = " ".join(capsys.readouterr().out.split())
    assert "Where: 0 mm from the left, 20 mm up" in told
    html = (tmp_path / "r.html").read_text()
    assert 'class="uncertain"' in html
    assert '<rect x="0" y="30" width="30" height="30"/>' in html


@pytest.mark.parametrize(
    ("verdict", "drawn", "places", "told"),
    [
        ("warn", ["not at all"], False, "Not checked: the page could not be drawn."),
        ("warn", ["whole", "not at all"], False, "Not checked: page 2 could not be drawn (2 pages)."),
        ("warn", ["in part"], True, "Not checked: a part of the page could not be drawn."),
        ("pass", ["in part"], False, "Ready for plates as far as checked."),
    ],
)
def test_the_headline_says_what_could_not_be_drawn(verdict, drawn, places, told):
    entries = missing("warn" if verdict == "warn" else "note")
    for entry in entries:
        entry.update(for_want_of="file", places=[{}] if places else [])
    assert sentence(verdict, [], entries, drawn) == told
