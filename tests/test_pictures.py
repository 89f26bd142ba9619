"""Pictures and their resolution: which count, and what shows no detail on the plates."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import ImageFacts, Painted
from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.measures.pictures import picture_resolution
from tests.test_object_places import spot, table, thing
from tests.test_overlaps import RectPage
from tests.test_units import job

BOX = (20.0, 15.0, 40.0, 27.0)
PHOTO = ImageFacts("a", 240, 180, 8, is_mask=False)
RUST = spot("Rust")
TWO = Colour("DeviceN", (("Rust", 1.0), ("Moss", 1.0)))


class Levels(RectPage):
    """A page whose plates are given as levels."""

    def __init__(self, **levels: Any):
        super().__init__(70, 50, {})
        self.levels = levels

    def plates(self, dpi=100):
        ink = np.zeros((len(self.levels), 200, 280), np.uint8)
        for plate, level in zip(ink, self.levels.values(), strict=True):
            plate[:] = level
        return Plates(tuple(self.levels), ink, 101.6, (0.0, 0.0, 70.0, 50.0))  # four pixels a millimetre


def noise(seed: int = 1) -> Any:
    return np.random.default_rng(seed).integers(0, 255, (200, 280))


def rising(step: int) -> Any:
    """Levels that rise across by so much a pixel, and fall again."""
    x = np.abs(np.arange(280) - 120) * step
    return np.broadcast_to(np.clip(x, 0, 255), (200, 280))


def readings(*things: dict[str, Any], images: Any = (PHOTO,), smallest_mm: float = 5.0, soft_percent: float = 2.0,
             inside: Any = None, **levels: Any) -> list[Any]:  # fmt: skip
    page = Levels(**(levels or {"Rust": noise(), "Moss": noise(2)}))
    page.objects = table(*things, images=images)
    its_job = job(*page.levels, page=page)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=inside)
    return picture_resolution(its_job, smallest_mm=smallest_mm, soft_percent=soft_percent)


def picture(box: Any = BOX, ppi: float = 180.26, colour: Colour = RUST, image: int = 0, **keys: Any) -> dict[str, Any]:
    return thing(box, colour, painted=Painted.IMAGE, ppi=ppi, image=image, outline=[], **keys)


def test_the_resolution_of_each_picture_is_told_with_its_size():
    one, two = readings(picture(), picture((50, 30, 62, 44.4), 300.0))
    assert (one.value, one.unit, one.case) == (180.3, "ppi", "")
    assert (one.facts["pixels"], one.facts["size"]) == ("240 x 180", "20 x 12 mm")
    assert [place.box_mm for place in one.places] == [BOX]
    assert (two.value, two.facts["size"]) == (300.0, "12 x 14 mm")


@pytest.mark.parametrize(
    ("drawn", "more", "counts"),
    [
        (picture((20, 15, 25, 17)), {}, True),
        (picture((20, 15, 22, 20)), {}, True),
        (picture((20, 15, 24.9, 19)), {}, False),
        (picture(ppi=0.0), {}, False),
        (picture(visible=False), {}, False),
        (picture(image=-1), {}, False),
        (picture((5, 15, 9, 40)), {"inside": (10, 5, 65, 45)}, False),
        (picture(shown=(20, 15, 22, 16)), {}, True),
        ({**picture(), "painted": Painted.IMAGE_MASK}, {}, False),
        (picture(), {"images": (ImageFacts("a", 9, 9, 8, is_mask=True),)}, False),
        (picture(), {"images": (ImageFacts("a", 9, 9, 8, is_mask=False, is_soft_mask_only=True),)}, False),
        (picture(), {"images": (ImageFacts("a", 9, 9, 8, is_mask=False, flat=True),)}, False),
    ],
    ids=["as wide as the smallest", "as high", "smaller both ways", "without a resolution", "not shown", "no picture",
         "outside the cut", "clipped to less", "a stencil", "a mask", "a soft mask", "flat"],
)  # fmt: skip
def test_pictures_that_count(drawn, more, counts):
    assert len(readings(drawn, **more)) == counts


def test_line_art_is_a_case_of_its_own():
    facts = (PHOTO, ImageFacts("b", 900, 600, 1, is_mask=False))
    assert [one.case for one in readings(picture(), picture(image=1), images=facts)] == ["", "one-bit"]
    assert readings(picture(image=1), images=facts)[0].facts["pixels"] == "900 x 600"


def test_nothing_on_a_page_has_no_resolution():
    assert readings() == []


SPECKS = np.where(np.arange(200 * 280).reshape(200, 280) % 127 == 0, 255, 100)
"""Less than a hundredth of the pixels are dark."""


@pytest.mark.parametrize(
    ("rust", "moss", "colour", "soft", "detailed"),
    [
        (100, 0, RUST, 2.0, False),
        (SPECKS, 0, RUST, 2.0, False),
        (100 + 3 * (noise() % 2), 0, RUST, 0.0, False),
        (100 + 4 * (noise() % 2), 0, RUST, 0.0, True),
        (rising(5), 0, TWO, 2.0, False),
        (rising(6), 0, TWO, 2.0, True),
        (rising(6), 0, TWO, 2.4, False),
        (rising(5), 60, TWO, 2.0, True),
        (rising(5), rising(5), TWO, 2.0, True),
        (rising(5).copy().T[:200, :200].repeat(2, 1)[:, :280], 0, TWO, 2.0, False),
        (np.where(np.arange(280) % 10 == 0, 255, 0), 0, RUST, 2.0, True),
        (100, noise(), RUST, 2.0, False),
    ],
    ids=["flat", "flat but for specks", "flat but for rendering", "not flat", "a soft shadow", "steps of 2.4 %",
         "where they may be", "on two plates, one of them even", "on two plates", "a shadow downwards", "thin lines",
         "detail of another ink"],
)  # fmt: skip
def test_what_shows_no_detail_is_no_picture(rust, moss, colour, soft, detailed):
    found = readings(picture(colour=colour), soft_percent=soft, Rust=rust, Moss=moss)
    assert bool(found) is detailed


def test_a_picture_of_hardly_a_pixel_is_not_taken_for_flat():
    assert len(readings(picture((20, 15, 20.6, 15.6)), smallest_mm=0.5, Rust=100)) == 1
    assert len(readings(picture((20, 15, 21.3, 16.3)), smallest_mm=0.5, Rust=100)) == 0
    assert len(readings(picture(colour=Colour("DeviceRGB", ())), Rust=100)) == 1


def test_only_what_is_within_the_picture_is_looked_at():
    """The picture is flat, and right beside it there is detail."""
    levels = noise()
    levels[(200 - 27 * 4) : (200 - 15 * 4), 80:160] = 100
    assert readings(picture(), Rust=levels) == []
    for beside in ((20, 15, 40, 31), (20, 11, 40, 27), (16, 15, 40, 27), (20, 15, 44, 27)):
        assert len(readings(picture(beside), Rust=levels)) == 1
