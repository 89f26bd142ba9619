"""Solids are 100 %: edges, whole steps of a plate and the seams of tilings take nothing away from them."""

from __future__ import annotations

import json

import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from preflight.carton.read_die import read_die
from preflight.measures.ink_total import ink_total
from preflight.report.plate_files import write_plates
from tests.drawn import MM, Drawing
from tests.house import blank_page, job_of, with_die

ONE_UP = {"artwork_is": "one-up"}
PAGE = (0, 0, 215, 200)


def cover(page: Drawing, folder, ink: str, ticket=ONE_UP) -> float:
    return next(one.cover for one in job_of(page, folder, ticket).inks if one.separation.name == ink)


def totals(page: Drawing, folder, ticket=ONE_UP):
    job = job_of(page, folder, ticket)
    readings = ink_total(job, over_mm=1, area_mm2=100, start_percent=140, not_counted=()).readings
    return [
        (reading.value, reading.facts["peak"], float(str(reading.facts["area"]).split()[0])) for reading in readings
    ]


def tiled(page: Drawing, cell: str, side_pt: float, *, matrix=(1, 0, 0, 1, 0, 0), paint: int = 1) -> Drawing:
    """The page filled with a pattern whose cells abut."""
    keys = Dictionary(
        Type=Name.Pattern, PatternType=1, PaintType=paint, TilingType=1, BBox=[0, 0, side_pt, side_pt],
        XStep=side_pt, YStep=side_pt, Matrix=list(matrix), Resources=page.resources,
    )  # fmt: skip
    page.resources.Pattern.Tiles = page.pdf.make_stream(cell.encode(), keys)
    return page.raw("/Pattern cs /Tiles scn -10 -10 4000 4000 re f")


def to_the_trim() -> Drawing:
    """Ink that ends at the trim, half-way through pixels of 0.254 mm."""
    page = Drawing(60, 40, trim=(5.1, 5.1, 54.9, 34.9))
    return page.fill("Red", rect=(5.1, 5.1, 54.9, 34.9))


def to_the_page() -> Drawing:
    return Drawing(60, 40).fill("Red", rect=(0, 0, 60, 40))


@pytest.mark.parametrize("draw", [to_the_trim, to_the_page])
def test_a_solid_that_ends_at_the_edge_covers_all_of_it(tmp_path, draw):
    assert cover(draw(), tmp_path, "Red") == pytest.approx(1.0, abs=0.0005)


def test_half_of_a_carton_is_half(tmp_path):
    page = Drawing(60, 40).fill("Red", rect=(0, 0, 30, 40))
    assert cover(page, tmp_path, "Red") == pytest.approx(0.5, abs=0.005)


def test_plate_files_have_the_same_cover(tmp_path):
    """Ink that ends at the cut."""
    page = blank_page()
    page.fill("Red", rect=(10, 10, 205, 190))
    read = read_artwork(with_die(page).save(tmp_path / "art.pdf")).pages[0]
    write_plates(read, read_die(read, None), tmp_path / "out", 100)
    entries = {entry["name"]: entry for entry in json.loads((tmp_path / "out" / "plates.json").read_text())}
    assert entries["Red"]["cover_inside_cut"] == pytest.approx(1.0, abs=0.0005)


@pytest.mark.parametrize(
    ("tints", "expected"),
    [
        ((1, 1, 1, 1), 400.0),
        ((0.9, 0.9, 0.9, 0.9), 360.0),
        ((1, 0.9, 0.85, 0.85), 360.0),
        ((0.6, 0.4, 0.3, 0.2), 150.0),
    ],
)
def test_totals_are_those_of_the_tints(tmp_path, tints, expected):
    """0.9 is 230 of 255 on a plate, and four of that would be 360.8 %."""
    (found,) = totals(with_die(blank_page().fill(tints, rect=PAGE)), tmp_path)
    assert found[:2] == (expected, f"{expected:.0f} %")


def test_twelve_solids_are_1200_percent(tmp_path):
    page = blank_page().gs(OP=True, op=True, OPM=1)
    for letter in "ABCDEFGHIJKL":
        page.fill(f"Ink {letter}x", rect=PAGE)
    (found,) = totals(with_die(page.gs(OP=False, op=False)), tmp_path)
    assert found[:2] == (1200.0, "1200 %")


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("side_pt", [2.5, 5.0, 7.3])
def test_a_tiling_whose_cells_are_full_is_a_solid(tmp_path, side_pt, turned):
    """300 x 200 mm are 600 cm2; a solid keeps to 390 % on all of it but the half pixels along the edge, 596 cm2."""
    page = Drawing(300, 200)
    matrix = (0.96, 0.28, -0.28, 0.96, 3, 4) if turned else (1, 0, 0, 1, 0, 0)
    tiled(page, f"1 1 1 0.9 k 0 0 {side_pt} {side_pt} re f", side_pt, matrix=matrix)
    sheet = {"artwork_is": "sheet"}
    assert cover(page, tmp_path, "Cyan", sheet) == pytest.approx(1.0, abs=0.001)
    (found,) = totals(page, tmp_path, sheet)
    assert found[0] == pytest.approx(390.0, abs=0.5)
    assert found[2] > 0.93 * 600


def test_a_fine_pattern_on_a_ground_counts_with_all_that_it_covers(tmp_path):
    """Squares of 1.2 pt at 400 % every 5 pt on 360 %: nowhere under 360 %, and all of 600 cm2 carries that."""
    page = Drawing(300, 200)
    tiled(page, "0.9 0.9 0.9 0.9 k 0 0 5 5 re f 1 1 1 1 k 1 1 1.2 1.2 re f", 5)
    (found,) = totals(page, tmp_path, {"artwork_is": "sheet"})
    assert found[0] == pytest.approx(360.0, abs=1.0)
    assert found[2] > 0.93 * 600


def test_two_grounds_lie_in_their_order(tmp_path):
    """Red, and on it Blue: each cell ends with Blue alone."""
    page = Drawing(60, 40)
    red, blue = page.spot("Red"), page.spot("Blue")
    tiled(page, f"/{red} cs 1 scn 0 0 5 5 re f /{blue} cs 1 scn 0 0 5 5 re f", 5)
    plates = read_artwork(page.save(tmp_path / "art.pdf")).pages[0].plates(100)
    assert plates.tint("Blue")[5:-5, 5:-5].min() > 245
    assert plates.tint("Red")[5:-5, 5:-5].max() < 10


@pytest.mark.parametrize("across", [True, False])
def test_stripes_keep_their_width(tmp_path, across):
    """2 of 5 pt over 40 x 30 mm, whole pixels off the edge: 40 %; along a stripe it has no seams."""
    page = Drawing(60, 40)
    red = page.spot("Red")
    tiled(page, f"/{red} cs 1 scn {'0 1 5 2' if across else '1 0 2 5'} re f", 5)
    plates = (
        read_artwork(page.save(tmp_path / "art.pdf")).pages[0].window((10, 5, 10 + 20 * 5 / MM, 5 + 10 * 5 / MM), 600)
    )
    tint = plates.tint("Red")
    assert tint.mean() / 255 == pytest.approx(0.4, abs=0.004)
    along = tint.mean(1 if across else 0)
    assert (along > 254).any()


def test_cells_that_are_apart_stay_apart(tmp_path):
    """Full cells of 4 pt every 5 pt: 64 %."""
    page = Drawing(60, 40)
    red = page.spot("Red")
    tiled(page, f"/{red} cs 1 scn 0 0 5 5 re f", 5)
    page.resources.Pattern.Tiles.BBox = [0, 0, 4, 4]
    tint = (
        read_artwork(page.save(tmp_path / "art.pdf"))
        .pages[0]
        .window((10, 5, 10 + 20 * 5 / MM, 5 + 10 * 5 / MM), 600)
        .tint("Red")
    )
    assert tint.mean() / 255 == pytest.approx(0.64, abs=0.01)


def test_a_round_ground_is_none(tmp_path):
    """A circle that touches all sides of its cell: pi/4, and no square."""
    page = Drawing(60, 40)
    red, k = page.spot("Red"), 2.5 * 0.5523
    circle = (
        f"5 2.5 m 5 {2.5 + k} {2.5 + k} 5 2.5 5 c {2.5 - k} 5 0 {2.5 + k} 0 2.5 c "
        f"0 {2.5 - k} {2.5 - k} 0 2.5 0 c {2.5 + k} 0 5 {2.5 - k} 5 2.5 c"
    )
    tiled(page, f"/{red} cs 1 scn {circle} f", 5)
    plates = (
        read_artwork(page.save(tmp_path / "art.pdf")).pages[0].window((10, 5, 10 + 20 * 5 / MM, 5 + 10 * 5 / MM), 600)
    )
    assert plates.tint("Red").mean() / 255 == pytest.approx(3.14159 / 4, abs=0.01)
