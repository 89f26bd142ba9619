"""``preflight plates``: what is written says at what resolution it was drawn."""

from __future__ import annotations

import json

import pytest
from PIL import Image

from preflight.cli.main import run
from preflight.report.plate_files import file_name
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing


@pytest.mark.parametrize(("most_bytes", "dpi"), [(500_000_000, 72), (20_000, 35.5)])
def test_the_resolution_that_was_drawn_is_written_down(tmp_path, monkeypatch, capsys, most_bytes, dpi):
    monkeypatch.setattr("preflight.artwork.platemaking.separator.MOST_PLATE_BYTES", most_bytes)
    file = (
        Drawing(100, 50)
        .fill((0.5, 0, 0, 0), rect=(0, 0, 50, 50))
        .fill("Fern", 1, rect=(50, 0, 100, 50))
        .save(tmp_path / "art.pdf")
    )
    assert run(["plates", str(file), "--out", str(tmp_path / "out"), "--resolution", "72"]) == 0
    entries = json.loads((tmp_path / "out" / "plates.json").read_text())
    assert [entry["name"] for entry in entries] == ["Cyan", "Fern"]
    assert [entry["cover_page"] for entry in entries] == [pytest.approx(0.25, abs=0.01), pytest.approx(0.5, abs=0.01)]
    for entry in entries:
        assert entry["dpi"] == pytest.approx(dpi, abs=1)
        with Image.open(tmp_path / "out" / entry["file"]) as picture:
            assert picture.width == pytest.approx(100 / 25.4 * entry["dpi"], abs=1.5)
    assert f"{entries[0]['dpi']:g} dpi" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("Leaf Green 2", "Leaf Green 2.png"),
        ("a/b:c", "a%2Fb%3Ac.png"),
        ("Grün", "Gr%C3%BCn.png"),
        (".hidden", "%2Ehidden.png"),
        (" blank", "%20blank.png"),
        ("", "%00.png"),
        ("a-b_c.(d)+,'", "a-b_c.(d)+,'.png"),
        ("x" * 150, "x" * 150 + ".png"),
    ],
)
def test_a_plate_has_the_name_of_its_separation(name, file):
    assert file_name(name, set()) == file


def test_very_long_names_are_cut_and_told_apart():
    one, other = (file_name("x" * 150 + end, set()) for end in "ab")
    assert len(one) == len(other) == 150 + len(".png")
    assert one[:138] == other[:138] == "x" * 137 + "~"
    assert one != other


def test_no_two_plates_have_one_file_whatever_the_case():
    taken: set[str] = set()
    assert [file_name(name, taken) for name in ("Fern", "FERN", "fern", "Moss", "Fern~2")] == [
        "Fern.png", "FERN~2.png", "fern~3.png", "Moss.png", "Fern~2~2.png",
    ]  # fmt: skip
    assert taken == {"fern", "fern~2", "fern~3", "moss", "fern~2~2"}


def test_covers_are_those_of_the_page_and_of_the_inside_of_the_cut(tmp_path):
    """A square of 40 x 30 mm at a half; a quarter of it hangs over the right edge of the carton."""
    carton = reverse_tuck(at=(10, 10))
    page = Drawing(carton.box[2] + 20, carton.box[3] + 5)
    right = carton.box[2]
    page.fill("Fern", 0.5, rect=(right - 30, 80, right + 10, 110)).fill((0, 0, 0, 1), rect=(30, 60, 50, 75))
    draw_die(page, carton)
    assert run(["plates", str(page.save(tmp_path / "a.pdf")), "--out", str(tmp_path / "out")]) == 0
    entries = {entry["name"]: entry for entry in json.loads((tmp_path / "out" / "plates.json").read_text())}
    inside = carton_area(carton)
    whole = (carton.box[2] + 20) * (carton.box[3] + 5)
    assert entries["Fern"]["cover_page"] == pytest.approx(40 * 30 * 0.5 / whole, rel=0.02)
    assert entries["Fern"]["cover_inside_cut"] == pytest.approx(30 * 30 * 0.5 / inside, rel=0.02)
    assert entries["Black"]["cover_page"] == pytest.approx(20 * 15 / whole, rel=0.02)
    assert (entries["Fern"]["kind"], entries["Black"]["kind"]) == ("spot", "process")
    assert entries["Fern"]["uncertain_mm"] == []
    picture = Image.open(tmp_path / "out" / "Fern.png")
    assert picture.info["dpi"] == pytest.approx((100, 100), abs=0.1)
    assert picture.getpixel((3, 3)) == 255  # white is bare board
    at = (round((right - 20) / 25.4 * 100), round((carton.box[3] + 5 - 95) / 25.4 * 100))
    assert picture.getpixel(at) == pytest.approx(127, abs=1)


def carton_area(carton) -> float:
    """Of the outline, by the corners."""
    points = carton.outline
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True))
    return float(abs(twice)) / 2
