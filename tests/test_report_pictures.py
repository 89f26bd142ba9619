"""Plates as ink on board: colours where they are known, cover that survives scaling, pictures that stay small."""

from __future__ import annotations

import base64
import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image, JpegImagePlugin

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.carton.places_in_words import lettered_panels
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob
from preflight.job_facts import final_facts
from preflight.report import pictures as module
from preflight.report.picture_files import jpeg
from preflight.report.pictures import SHADES, draw_pictures, reduced
from preflight.report.simulation import (
    BLACK,
    BLUE,
    BOARD_LOOKS,
    CYAN,
    GREEN,
    MAGENTA,
    PAPER,
    RED,
    THREE,
    YELLOW,
    composite,
    shown_colours,
)
from tests.report_jobs import carton_job, drawn_page, pictures_of, small_job

BROWN = (150, 106, 60)
KINDS = {"Brown": "spot", "White": "white", "Gloss": "varnish"}
LOOKS = {"Cyan": CYAN, "Magenta": MAGENTA, "Yellow": YELLOW, "Black": BLACK, "Brown": BROWN, "White": PAPER}


def picture_of(uri: str) -> Image.Image:
    return Image.open(io.BytesIO(base64.b64decode(uri.split(",", 1)[1])))


def colour_of(tints: dict[str, float], board: str = "white") -> list[int]:
    ink = np.array([[[round(255 * tint)]] for tint in tints.values()], np.uint8).reshape(len(tints), 1, 1)
    return [int(v) for v in composite(tuple(tints), ink, LOOKS, KINDS, BOARD_LOOKS[board])[0, 0]]


@pytest.mark.parametrize(
    ("tints", "rgb"),
    [
        ({"Cyan": 0}, PAPER),
        ({"Cyan": 1}, CYAN),
        ({"Magenta": 1}, MAGENTA),
        ({"Yellow": 1}, YELLOW),
        ({"Cyan": 1, "Magenta": 1}, BLUE),
        ({"Cyan": 1, "Yellow": 1}, GREEN),
        ({"Magenta": 1, "Yellow": 1}, RED),
        ({"Cyan": 1, "Magenta": 1, "Yellow": 1}, THREE),
        ({"Black": 1}, BLACK),
        ({"Brown": 1}, BROWN),
        ({"Brown": 1, "White": 1}, BROWN),
    ],
)
def test_solids_and_overprints_have_their_colour(tints, rgb):
    assert colour_of(tints) == pytest.approx(rgb, abs=1)


def test_white_covers_kraft_and_other_inks_let_it_through():
    assert colour_of({"White": 1}, "kraft") == pytest.approx(PAPER, abs=1)
    assert colour_of({"White": 0}, "kraft") == pytest.approx(BOARD_LOOKS["kraft"], abs=1)
    assert colour_of({"White": 0, "Yellow": 1}, "kraft")[2] == 0  # yellow on brown board stays brown, not yellow


def test_half_a_tint_is_half_way_to_the_ink():
    assert colour_of({"Cyan": 0.5}) == pytest.approx(np.mean([CYAN, PAPER], axis=0), abs=2)


def test_scaling_down_keeps_the_cover():
    bars = np.zeros((1, 1000, 3000), np.uint8)
    bars[0, :, ::7] = 255
    small = reduced(bars, 900)
    assert small.shape == (1, 300, 900)
    assert small.mean() == pytest.approx(bars.mean(), rel=0.01)


def test_spots_without_a_colour_are_told_apart_and_keep_theirs():
    spots = [Separation(f"Spot {k}", "spot", "") for k in range(8)]
    looks = shown_colours(spots)
    assert len(set(looks.values())) == 8
    assert shown_colours(spots) == looks
    assert shown_colours(spots[:1])["Spot 0"] == looks["Spot 0"]


def test_the_files_own_colour_is_used():
    assert shown_colours([Separation("Brown", "spot", "", looks_rgb=BROWN)])["Brown"] == BROWN


def test_only_plates_with_ink_are_shown_alone():
    job = carton_job()
    job.plates.ink[job.plates.names.index("Copper Glow")] = 0
    pictures = pictures_of(job)
    assert [plate.name for plate in pictures.plates] == ["Cyan", "Magenta", "Yellow", "Black", "Mill Brown"]


def test_a_plate_alone_is_its_ink_on_white():
    pictures = pictures_of(carton_job())
    brown = picture_of(next(plate.uri for plate in pictures.plates if plate.name == "Mill Brown")).convert("RGB")
    colours = sorted(brown.getcolors(1 << 24) or [])
    most = {colour for _, colour in colours[-2:]}
    assert most == {BROWN, PAPER}


def test_the_picture_has_the_shape_of_the_page():
    picture = picture_of(pictures_of(carton_job()).picture)
    assert max(picture.size) == 1600
    assert picture.width / picture.height == pytest.approx(420 / 346, rel=0.003)


def test_a_small_page_is_drawn_finer():
    job = small_job()
    pictures_of(job)
    assert isinstance(job.page.plates(), Plates)
    assert max(job.page.asked) > 150  # type: ignore[attr-defined]


def test_pictures_of_noise_stay_small():
    job = carton_job()
    job.plates.ink[:] = np.random.default_rng(1).integers(0, 256, job.plates.ink.shape, np.uint8)
    pictures = pictures_of(job)
    assert len(pictures.picture) + sum(len(plate.uri) for plate in pictures.plates) < 1_800_000


def test_without_plates_the_die_is_still_drawn():
    job = carton_job()
    pictures = draw_pictures(final_facts(job), drawn_page(1, 420, 346, job.page.separations, None))
    assert pictures.picture == ""
    assert pictures.die.cut.startswith("M")
    assert [area.kind for area in pictures.die.areas] == ["glue flap", "code"]


@pytest.mark.parametrize(
    ("shape", "long_side", "smaller"),
    [
        ((2, 400, 1000), 500, (2, 200, 500)),
        ((2, 1000, 400), 500, (2, 500, 200)),
        ((1, 3, 2000), 500, (1, 1, 500)),  # a line keeps a row
        ((1, 2000, 3), 500, (1, 500, 1)),
        ((1, 400, 1000), 1000, (1, 400, 1000)),
        ((1, 400, 999), 1000, (1, 400, 999)),  # never enlarged
        ((0, 400, 1000), 500, (0, 400, 1000)),
    ],
)
def test_plates_are_made_smaller_by_their_long_side(shape, long_side, smaller):
    assert reduced(np.zeros(shape, np.uint8), long_side).shape == smaller


def page_with(names: tuple[str, ...], height: int, width: int, dpi: float = 200.0):
    """A page and what is known of it, every plate of which has its own step of tint from left to right."""
    steps = np.linspace(0, 255, width).astype(np.uint8)
    ink = np.stack([np.broadcast_to(np.roll(steps, 40 * k), (height, width)) for k in range(len(names))])
    size = (width * 25.4 / dpi, height * 25.4 / dpi)
    job = small_job()
    separations = [Separation(name, "spot", "", looks_rgb=(200 - 9 * k, 30, 60)) for k, name in enumerate(names)]
    page = drawn_page(1, *size, separations, Plates(names, ink, dpi, (0.0, 0.0, *size)))
    job = replace(job, page=page, measure_inks=lambda _job: [InkOnJob(each, True, 0.5, 9.0) for each in separations])
    return final_facts(job), page


@pytest.mark.parametrize(("plates", "long_side"), [(8, 1000), (9, 750)])
def test_of_many_plates_each_has_a_smaller_picture(plates, long_side):
    facts, page = page_with(tuple(f"Ink {k}" for k in range(plates)), 400, 2000)
    pictures = draw_pictures(facts, page).plates
    assert [plate.name for plate in pictures] == [f"Ink {k}" for k in range(plates)]
    assert {max(picture_of(plate.uri).size) for plate in pictures} == {long_side}


@pytest.mark.parametrize(
    ("plates", "of_pages", "picture", "each"),
    [
        (6, 1, 620_000, 106_666),
        (2, 1, 620_000, 160_000),  # as of four, where there are fewer
        (6, 2, 310_000, 53_333),
        (6, 5, 124_000, 21_333),
        (6, 9, 124_000, 21_333),  # from five on they get no less
    ],
)
def test_all_pictures_of_a_report_share_its_room(monkeypatch, plates, of_pages, picture, each):
    asked = []

    def fits(ways, most_bytes):
        asked.append(most_bytes)
        return b"small"

    monkeypatch.setattr(module, "first_that_fits", fits)
    facts, page = page_with(tuple(f"Ink {k}" for k in range(plates)), 40, 90)
    draw_pictures(facts, page, of_pages=of_pages)
    assert sorted(asked) == [each] * plates + [picture]


@pytest.mark.parametrize(
    ("width_mm", "dpi", "asked"),
    [
        (406.4, 80.0, [100]),  # 100 dpi give 1600 points: a fifth more than 80
        (406.4, 80.1, [100]),
        (406.4, 79.9, [100, 100.0]),
        (203.2, 100.0, [100, 200.0]),
        (40.64, 100.0, [100, 300.0]),  # no finer than 300
    ],
)
def test_a_page_is_drawn_anew_where_it_was_much_too_coarse(width_mm, dpi, asked):
    facts, page = page_with(("Leaf",), 40, 90)
    page.painted = replace(page.painted, dpi=dpi)
    page.width_mm, page.height_mm = width_mm, 0.4 * width_mm
    draw_pictures(facts, page)
    assert page.asked[-len(asked) :] == pytest.approx(asked)


def test_a_plate_alone_has_its_tints_in_even_steps():
    facts, page = page_with(("Leaf",), 30, 256)
    [plate] = draw_pictures(facts, page).plates
    row = np.asarray(picture_of(plate.uri).convert("RGB"), float)[10]
    steps = np.linspace(0, 255, 256).astype(np.uint8)
    ink = np.array([200, 30, 60])
    true = 255 - steps[:, None] / 255 * (255 - ink)
    assert np.abs(row - true).max() <= (255 - 30) / (SHADES - 1) / 2 + 2
    assert row[0].tolist() == [255, 255, 255]
    assert row[-1].tolist() == ink.tolist()


def flat(colours: int) -> np.ndarray:
    """Stripes a point wide of so many colours, 1600 by 500."""
    shades = np.arange(colours)
    colour = np.stack([shades * 37 % 256, shades * 101 % 256, (shades * 3) % 256], axis=1).astype(np.uint8)
    return np.broadcast_to(colour[np.arange(1600) * 7919 % colours], (500, 1600, 3))


@pytest.mark.parametrize(("colours", "form"), [(64, "png"), (65, "jpeg")])
def test_flat_artwork_keeps_its_colours_exactly(colours, form):
    assert len(np.unique(flat(colours).reshape(-1, 3), axis=0)) == colours
    uri = module.data_uri(module.packed_picture(flat(colours), 620_000))
    assert uri.startswith(f"data:image/{form};base64,")
    if form == "png":
        assert np.array_equal(np.asarray(picture_of(uri).convert("RGB")), flat(colours))


def test_a_small_picture_stays_as_it_was_packed_first():
    assert module.data_uri(module.packed_picture(flat(2)[:40, :40], 620_000)).startswith("data:image/jpeg")


def test_colour_is_kept_for_every_point_only_where_there_is_room():
    packed = {chroma: Image.open(io.BytesIO(jpeg(Image.fromarray(flat(9)), 80, chroma))) for chroma in (0, 2)}
    assert [JpegImagePlugin.get_sampling(packed[chroma]) for chroma in (0, 2)] == [0, 2]
    assert JpegImagePlugin.get_sampling(Image.open(io.BytesIO(jpeg(Image.fromarray(flat(9)), 80)))) == 2


def test_the_board_shows_through():
    job = small_job()
    facts = replace(final_facts(job), ticket=Ticket.model_validate({"board": {"surface": "kraft"}}))
    corners = [picture_of(draw_pictures(f, job.page).picture).getpixel((5, 5)) for f in (facts, final_facts(job))]
    assert corners[0] == pytest.approx(BOARD_LOOKS["kraft"], abs=3)
    assert corners[1] == pytest.approx(PAPER, abs=3)


def test_letters_of_panels_stand_a_pin_away_from_the_corner():
    """A pin has a radius of 11 * 346/620 mm on this page."""
    job, away = carton_job(), 11 * 346 / 620
    panels = dict(lettered_panels(job.die))
    labels = {label: (x, y) for label, x, y in pictures_of(job).die.labels}
    assert set(labels) == set(panels)
    wide = [letter for letter, panel in panels.items() if panel.equals(panel.envelope)]
    assert len(wide) >= 6
    for letter in wide:
        _, _, right, top = panels[letter].bounds
        assert labels[letter] == pytest.approx((right - away, 346 - (top - away)), abs=0.01)


def test_the_pictures_are_those_of_their_page():
    assert pictures_of(carton_job(number=4)).page == 4
    job = carton_job(number=5)
    without = draw_pictures(final_facts(job), drawn_page(5, 420, 346, job.page.separations, None))
    assert (without.page, without.picture, without.plates) == (5, "", ())
