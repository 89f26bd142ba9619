"""Pictures: resolution as placed."""

import numpy as np
import pytest
from pikepdf import Name

from tests.drawn import Drawing
from tests.house import Case, blank_page, prove, with_die

ONE_UP = {"artwork_is": "one-up"}
INCH = 25.4


def picture(ppi: float, *, side_mm: float = 30, at: tuple[float, float] = (30, 70)) -> Drawing:
    """A CMYK picture full of detail."""
    pixels = round(side_mm / INCH * ppi)
    samples = np.random.default_rng(5).integers(0, 160, (pixels, pixels, 4), np.uint8).tobytes()
    side = pixels / ppi * INCH
    return blank_page().image(samples, pixels, pixels, (*at, at[0] + side, at[1] + side))


def stretched(across_ppi: float, up_ppi: float) -> Drawing:
    samples = np.random.default_rng(5).integers(0, 160, (300, 300, 4), np.uint8).tobytes()
    return blank_page().image(samples, 300, 300, (30, 60, 30 + 300 / across_ppi * INCH, 60 + 300 / up_ppi * INCH))


def flat() -> Drawing:
    return blank_page().image(bytes([40, 200, 10, 0]) * 400, 20, 20, (30, 70, 60, 100))


def shadow() -> Drawing:
    """A soft black shadow at 40 ppi under a sharp block of brown."""
    y, x = np.mgrid[-1:1:48j, -1:1:48j]
    samples = (150 * np.exp(-(x**2 + y**2) * 3)).astype(np.uint8)
    page = blank_page().image((255 - samples).tobytes(), 48, 48, (30, 70, 60, 100), space=Name.DeviceGray)
    return page.fill("Mill Brown", rect=(40, 80, 50, 90))


def grey_photo(ppi: float) -> Drawing:
    pixels = round(30 / INCH * ppi)
    samples = np.random.default_rng(5).integers(0, 255, (pixels, pixels), np.uint8).tobytes()
    return blank_page().image(samples, pixels, pixels, (30, 70, 60, 100), space=Name.DeviceGray)


def line_art(ppi: float, *, mask: bool = False) -> Drawing:
    width = round(30 / INCH * ppi / 8) * 8
    samples = np.random.default_rng(5).integers(0, 255, (width, width // 8), np.uint8).tobytes()
    side = width / ppi * INCH
    page = blank_page().colour((0, 0, 0, 1))
    rect = (30, 70, 30 + side, 70 + side)
    if not mask:
        return page.image(samples, width, width, rect, space=Name.DeviceGray, bits=1)
    page.image(samples, width, width, rect, bits=1, ImageMask=True)
    del page.resources.XObject.Im0.ColorSpace
    return page


def case(name, expect, draw, **more):
    return Case("image-coarse", name, expect, lambda: with_die(draw()), ticket=ONE_UP, **more)


CASES = [
    case("72 ppi", "fail", lambda: picture(72), measured=72, near=(30, 70, 60, 100)),
    case("149 ppi", "fail", lambda: picture(149)),
    case("200 ppi", "warn", lambda: picture(200), measured=200),
    case("300 ppi", "pass", lambda: picture(300)),
    case("300 ppi one way, 120 the other", "fail", lambda: stretched(300, 120), measured=120),
    case("4 mm large", "pass", lambda: picture(72, side_mm=4)),
    case("flat colour", "pass", flat),
    case("a soft shadow", "pass", shadow),
    case("a grey photo at 72 ppi", "fail", lambda: grey_photo(72)),
    case("beside the carton", "pass", lambda: picture(72, side_mm=8, at=(120, 0.5))),
    case("line art at 400 ppi", "warn", lambda: line_art(400), case="one-bit"),
    case("line art at 100 ppi", "warn", lambda: line_art(100), case="one-bit"),
    case("line art at 900 ppi", "pass", lambda: line_art(900)),
    case("a stencil mask at 100 ppi", "pass", lambda: line_art(100, mask=True)),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_pictures(case, tmp_path):
    prove(case, tmp_path)
