"""Where comparisons are looked at closely: windows of one shape round places, and the one in which most differs."""

from __future__ import annotations

from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.report.compare_places import Box
from preflight.report.picture_files import first_that_fits, jpeg, png

Ink = NDArray[np.uint8]

CLOSE_PX: Final = (560, 420)
"""Of a close look."""
LEAST_MM: Final = 12.0
"""Width of the closest look: 0.1 mm is 5 pixels in it."""
ROOM: Final = 0.35
"""Round a place, on each side, of its size."""


def framed(box: Box, room: float = ROOM) -> Box:
    """A window of the shape of the close looks round a place, with some room on each side, of its size."""
    wide, tall = CLOSE_PX
    times = 1 + 2 * room
    width = max((box[2] - box[0]) * times, (box[3] - box[1]) * times * wide / tall, LEAST_MM)
    return about((box[0] + box[2]) / 2, (box[1] + box[3]) / 2, width)


def about(x: float, y: float, width: float) -> Box:
    """A window of the shape of the close looks about a point."""
    height = width * CLOSE_PX[1] / CLOSE_PX[0]
    x0, y0 = round(x - width / 2, 2), round(y - height / 2, 2)
    return (x0, y0, round(x0 + width, 2), round(y0 + height, 2))


def kept_on(box: Box, page: Box) -> Box:
    """The window, moved so that none of it is off the page, if it is not larger than that."""
    x = min(max(box[0], page[0]), page[2] - (box[2] - box[0])) if box[2] - box[0] < page[2] - page[0] else box[0]
    y = min(max(box[1], page[1]), page[3] - (box[3] - box[1])) if box[3] - box[1] < page[3] - page[1] else box[1]
    return (x, y, x + box[2] - box[0], y + box[3] - box[1])


def fullest(levels: Ink, height: int, width: int) -> tuple[int, tuple[int, int]]:
    """The sum of the window that has most, and its middle."""
    rows, columns = levels.shape
    height, width = min(height, rows), min(width, columns)
    sums = np.pad(levels.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    inside = sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
    row, column = np.unravel_index(int(inside.argmax()), inside.shape)
    return int(inside[row, column]), (int(row) + height // 2, int(column) + width // 2)


def packed(image: Image.Image, most_bytes: int) -> bytes:
    """A picture with a palette as PNG, or as JPEG where that is too large."""
    ways = [partial(png, image), *(partial(jpeg, image.convert("RGB"), quality) for quality in (85, 70, 50))]
    return first_that_fits(ways, most_bytes)
