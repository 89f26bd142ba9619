"""Plates as ink on board: colours where they are known, cover that survives scaling, pictures that stay small."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from PIL import Image

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.job_facts import final_facts
from preflight.report.pictures import draw_pictures, reduced
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
