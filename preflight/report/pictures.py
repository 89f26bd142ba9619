"""Pictures of a page: all plates as ink on board, each plate alone, and the die as paths to draw over them."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.errors import NotMeasured
from preflight.job_facts import JobFacts
from preflight.report.die_drawing import DieDrawing, draw_die
from preflight.report.picture_files import first_that_fits, jpeg, png
from preflight.report.place_markers import pin_radius_mm
from preflight.report.simulation import BOARD_LOOKS, PAPER, Rgb, composite, looks_alone, shown_colours

PICTURE_PX: Final = 1600
"""Long side of the picture of the page."""
PLATE_PX: Final = 1000
PICTURE_BYTES: Final = 620_000
ALL_PLATES_BYTES: Final = 640_000
"""Together about 1.7 MB once written as base64: the page stays under 2 MB."""
LABEL_ROOM: Final = 1.0
"""Room for a panel's letter, in radii of a pin."""
FINEST_DPI: Final = 300.0
SHADES: Final = 40
JPEG_STEPS: Final = ((88, 0), (82, 0), (78, 2), (66, 2), (50, 2))
"""Quality and chroma of the picture of the page, tried in this order."""


@dataclass(frozen=True)
class PlatePicture:
    """One plate as ink on white; ``uri`` is a data URI."""

    name: str
    uri: str


@dataclass(frozen=True)
class PagePictures:
    """What the report page shows of one page besides the document."""

    page: int
    picture: str
    """Data URI; empty where the plates could not be drawn."""
    plates: tuple[PlatePicture, ...] = ()
    die: DieDrawing = field(default_factory=DieDrawing)


def draw_pictures(facts: JobFacts, drawn_from: Page, *, of_pages: int = 1) -> PagePictures:
    """The pictures of one page; without plates where they are not to be had (the report says why elsewhere).

    Args:
        facts: what is known of the page.
        drawn_from: the page, for its plates.
        of_pages: how many pages the report has; of several, each gets less room.
    """
    room = 1 / min(of_pages, 5)
    page_mm = (facts.page.width_mm, facts.page.height_mm)
    die = draw_die(facts.die, page_mm[1], LABEL_ROOM * pin_radius_mm(page_mm))
    looks = shown_colours(ink.separation for ink in facts.inks)
    kinds = {ink.separation.name: ink.separation.kind for ink in facts.inks}
    surface = facts.ticket.board.surface if facts.ticket and facts.ticket.board else None
    try:
        plates = _plates_for_picture(drawn_from)
    except NotMeasured:
        return PagePictures(facts.page.number, "", (), die)
    shown = reduced(plates.ink, PICTURE_PX)
    page = composite(plates.names, shown, looks, kinds, BOARD_LOOKS.get(surface or "white", PAPER))
    inked = [i for i, plate in enumerate(shown) if plate.any()]
    small = reduced(plates.ink[inked], PLATE_PX if len(inked) <= 8 else PLATE_PX * 3 // 4)
    share = int(ALL_PLATES_BYTES * room / max(len(inked), 4))
    singles = tuple(
        PlatePicture(plates.names[i], data_uri(packed_plate(plate, looks_alone(plates.names[i], looks, kinds), share)))
        for i, plate in zip(inked, small, strict=True)
    )
    picture = data_uri(packed_picture(page, int(PICTURE_BYTES * room)))
    return PagePictures(facts.page.number, picture, singles, die)


def reduced(ink: NDArray[np.uint8], long_side_px: int) -> NDArray[np.uint8]:
    """The plates averaged down so that the long side is at most ``long_side_px``; never enlarged."""
    height, width = ink.shape[1:]
    scale = long_side_px / max(height, width)
    if scale >= 1 or not len(ink):
        return ink
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return np.stack([np.asarray(Image.fromarray(p).resize(size, Image.Resampling.BOX)) for p in ink])


def _plates_for_picture(page: Page) -> Plates:
    """The plates that were measured, or finer ones where the page is small."""
    wanted = PICTURE_PX * 25.4 / max(page.width_mm, page.height_mm)
    measured = page.plates()
    if wanted > measured.dpi * 1.25:
        try:
            return page.plates(min(wanted, FINEST_DPI))
        finally:
            page.close()
    return measured


def packed_picture(picture: NDArray[np.uint8], most_bytes: int) -> bytes:
    """A picture in colour, (height, width, 3), as JPEG, or as PNG where that keeps flat artwork sharp and small."""
    image = Image.fromarray(picture)
    ways = [*(partial(jpeg, image, quality, chroma) for quality, chroma in JPEG_STEPS), partial(png, image)]
    data = first_that_fits(ways, most_bytes)
    if len(data) > 40_000 and _few_colours(image):
        flat = image.quantize(64, dither=Image.Dither.NONE)
        return first_that_fits([lambda: png(flat), lambda: data], len(data))
    return data


def _few_colours(image: Image.Image) -> bool:
    """Flat artwork: at most 64 colours, which PNG keeps as they are."""
    return image.getcolors(64) is not None


def packed_plate(plate: NDArray[np.uint8], ink: Rgb, most_bytes: int) -> bytes:
    """PNG in ``SHADES`` steps of the ink; JPEG, in the end a smaller one, where that takes more than its share."""
    step = (plate.astype(np.uint16) * (SHADES - 1) + 127) // 255
    shades = np.linspace(0, 1, SHADES)[:, None]
    palette = np.rint(255 - shades * (255 - np.asarray(ink, float))).astype(np.uint8)
    image = Image.fromarray(step.astype(np.uint8))
    image.putpalette(palette.tobytes())

    def soft(quality: int, scale: int) -> bytes:
        return jpeg(image.convert("RGB").reduce(scale), quality)

    softer = ((80, 1), (65, 1), (50, 1), (45, 2), (40, 4))
    ways = [partial(png, image), *(partial(soft, quality, scale) for quality, scale in softer)]
    return first_that_fits(ways, most_bytes)


def data_uri(data: bytes) -> str:
    """A PNG or JPEG to stand within a page."""
    form = "png" if data.startswith(b"\x89PNG") else "jpeg"
    return f"data:image/{form};base64,{base64.b64encode(data).decode()}"
