"""Draws the artwork that the benchmarks are run on: ``python -m tests.bench.draw_bench FOLDER [CASE]...``.

Each case gets a folder with ``artwork.pdf``, ``ticket.yaml`` and ``press.yaml``. Nothing is random from run to run.
"""

from __future__ import annotations

import argparse
import io
import sys
import zlib
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pikepdf
from PIL import Image

from sample_jobs.draw import HERE as SAMPLES
from sample_jobs.drawing import oat_biscuits
from sample_jobs.drawing.outline import ellipse, rect
from sample_jobs.drawing.pen import BLACK, Ink, Pen
from sample_jobs.drawing.pictures import Picture, cmyk_jpeg, octaves, to_plates
from sample_jobs.drawing.still_life import bowl_of_biscuits
from sample_jobs.drawing.tuck_carton import TuckCarton, draw_die
from tests.bench.cases import CASES

PT = 25.4 / 72
SHEET = (1040.0, 740.0)
COPPER = (0.2, 0.55, 0.7, 0.2)
DIE_INKS = {"Cutting": (0.0, 1.0, 1.0, 0.0), "Creasing": (1.0, 0.0, 1.0, 0.0)}


def one_up(path: Path) -> None:
    """The grocery carton's ground, photograph and die, and 20,000 small objects."""
    pen = Pen(*oat_biscuits.PAGE, origin_mm=oat_biscuits.ORIGIN, title="Everyday one-up")
    for name, cmyk in oat_biscuits.INKS.items():
        pen.spot(name, cmyk)
    wide, tall = oat_biscuits.CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    pen.fill(rect(12.5, 62, 397, 258), oat_biscuits.BROWN)
    rgb, _ = bowl_of_biscuits(1760, 1300)
    pen.image(cmyk_jpeg(to_plates(rgb), 80), (8, 62, 157, 62 + 149 * 1300 / 1760))
    small_objects(pen, 20_000, (160, 70, 340, 250))
    with pen.overprinting():
        draw_die(pen, oat_biscuits.CARTON)
    pen.save(path)


def small_objects(pen: Pen, count: int, area: tuple[float, float, float, float]) -> None:
    """Rectangles, outlines and words in a grid over the area; of each hundred the last 35 are black and overprint."""
    side = int(np.ceil(np.sqrt(count)))
    step = (area[2] - area[0]) / side, (area[3] - area[1]) / side
    places = [(area[0] + step[0] * (i % side), area[1] + step[1] * (i // side)) for i in range(count)]
    inks: list[Ink] = [(0.1, 0.6, 0.9, 0.0), (0.8, 0.1, 0.2, 0.0), oat_biscuits.BROWN, (0.0, 0.1, 0.3, 0.2)]
    for start in range(0, count, 100):
        block = places[start : start + 100]
        for i, (x, y) in enumerate(block[:65]):
            pen.fill(rect(x, y, x + 0.7 * step[0], y + 0.7 * step[1]), inks[i % 4])
        with pen.overprinting():
            for i, (x, y) in enumerate(block[65:]):
                if i % 2:
                    pen.words("oat", (x, y), 2)
                else:
                    pen.stroke(rect(x, y, x + 0.7 * step[0], y + 0.7 * step[1]), BLACK, width_pt=0.3)


def curves(path: Path) -> None:
    """200,000 filled shapes of 6 curve segments each, about 72 MB of content stream."""
    pen = Pen(*oat_biscuits.PAGE, origin_mm=oat_biscuits.ORIGIN, title="Curves")
    for name, cmyk in DIE_INKS.items():
        pen.spot(name, cmyk)
    pen.box("TrimBox", 0, 0, *oat_biscuits.CARTON.size)
    rng = np.random.default_rng(1)
    shapes, turns = 200_000, np.linspace(0, 2 * np.pi, 19)[:18]
    x = (rng.uniform(16, 392, (shapes, 1)) + oat_biscuits.ORIGIN[0]) / PT
    y = (rng.uniform(67, 253, (shapes, 1)) + oat_biscuits.ORIGIN[1]) / PT
    reach = rng.uniform(0.4, 3.0, (shapes, 18)) / PT
    xs, ys = x + reach * np.cos(turns), y + reach * np.sin(turns)
    tints = rng.uniform(0, 0.6, (shapes, 4))
    segment = "%.4f %.3f %.4f %.3f %.4f %.3f c\n"
    shape = "%.3f %.3f %.3f %.3f k\n%.4f %.3f m\n" + 6 * segment + "f\n"
    order = [0, *(i % 18 for i in range(1, 19))]
    for i in range(shapes):
        pairs = np.column_stack([xs[i, order], ys[i, order]]).ravel()
        pen.ops.append(shape % (*tints[i], *pairs))
    with pen.overprinting():
        draw_die(pen, oat_biscuits.CARTON)
    pen.save(path)


def photo(width: int, height: int, *, flate: bool) -> Picture:
    """A photograph of any size: the bowl as a tile, lit unevenly so that no two places are alike."""
    tile = np.rint(to_plates(bowl_of_biscuits(1760, 1300)[0]) * 255).astype(np.uint8)
    tile = np.concatenate([np.concatenate([tile, tile[:, ::-1]], 1), np.concatenate([tile[::-1], tile[::-1, ::-1]], 1)])
    light = 1 + 0.12 * octaves(height // 16 + 1, width // 16 + 1, (90, 90), 7, 3)
    packer, data, strips = zlib.compressobj(1), bytearray(), np.empty((0 if flate else height, width, 4), np.uint8)
    columns = np.arange(width) % tile.shape[1]
    for start in range(0, height, 128):
        rows = np.arange(start, min(start + 128, height))
        shade = light[rows // 16][:, np.arange(width) // 16][..., None]
        strip = np.clip(tile[rows % tile.shape[0]][:, columns] * shade, 0, 255).astype(np.uint8)
        if flate:
            data += packer.compress(strip.tobytes())
        else:
            strips[rows] = strip
    if flate:
        return Picture(bytes(data + packer.flush()), width, height, coded="FlateDecode")
    coded = io.BytesIO()
    Image.fromarray(strips, "CMYK").save(coded, "JPEG", quality=85, subsampling=0)
    return Picture(coded.getvalue(), width, height, upside_down_tints=True)


def photo_sheet(path: Path, *, flate: bool) -> None:
    """A sheet that is one CMYK photograph of 300 ppi: 107 million pixels."""
    pen = Pen(*SHEET, title="Photo sheet")
    width, height = (round(side / 25.4 * 300) for side in (SHEET[0] - 20, SHEET[1] - 20))
    pen.image(photo(width, height, flate=flate), (10, 12, SHEET[0] - 10, SHEET[1] - 8))
    pen.save(path)


def photo_under_metallic(path: Path, *, flate: bool) -> None:
    """The photograph, and one metallic rectangle over a part of it."""
    pen = Pen(*SHEET, title="Photo and a metallic")
    pen.spot("Copper", COPPER)
    width, height = (round(side / 25.4 * 300) for side in (SHEET[0] - 20, SHEET[1] - 20))
    pen.image(photo(width, height, flate=flate), (10, 12, SHEET[0] - 10, SHEET[1] - 8))
    pen.fill(rect(310, 220, 710, 480), "Copper")
    pen.save(path)


def photo_under_dies(path: Path) -> None:
    """The photograph under twelve blanks, each with its die and two metallic panels."""
    pen = Pen(*SHEET, title="Photo under twelve blanks")
    for name, cmyk in {"Copper": COPPER, **DIE_INKS}.items():
        pen.spot(name, cmyk)
    width, height = (round(side / 25.4 * 300) for side in (SHEET[0] - 20, SHEET[1] - 20))
    pen.image(photo(width, height, flate=False), (10, 12, SHEET[0] - 10, SHEET[1] - 8))
    carton = TuckCarton(width=70, depth=35, height=110, glue=14, tuck=14, dust=22)
    step = ((SHEET[0] - 20) / 4, (SHEET[1] - 20) / 3)
    for i in range(12):
        pen.origin = 10 + step[0] * (i % 4) + 8, 12 + step[1] * (i // 4) + 5
        x, (low, high) = carton.columns, carton.rows
        pen.fill(rect(x[0] + 8, low + 10, x[1] - 8, low + 45), "Copper")
        pen.fill(ellipse((x[2] + x[3]) / 2, (low + high) / 2, 25, 25), "Copper")
        with pen.overprinting():
            draw_die(pen, carton)
    pen.save(path)


def twenty_four_up(path: Path) -> None:
    """24 blanks on a sheet, each the same form, every second row turned; 2,000 objects and a photograph a blank."""
    carton = TuckCarton(width=50, depth=25, height=80, glue=12, tuck=12, dust=16)
    pen = Pen(*SHEET, title="24 up")
    for name, cmyk in {oat_biscuits.BROWN: oat_biscuits.INKS[oat_biscuits.BROWN], **DIE_INKS}.items():
        pen.spot(name, cmyk)
    (low, high), columns = carton.rows, carton.columns
    pen.fill(rect(columns[0] - 1.5, low - 3, columns[4] + 3, high + 3), oat_biscuits.BROWN)
    rgb, _ = bowl_of_biscuits(590, 436)
    pen.image(cmyk_jpeg(to_plates(rgb), 80), (columns[0], low, columns[1], low + 50 * 436 / 590))
    small_objects(pen, 2_000, (columns[1] + 3, low + 3, columns[4] - 3, high - 3))
    with pen.overprinting():
        draw_die(pen, carton)
    wide, tall = carton.size
    blank = pen.form((-3, -3, wide + 3, tall + 3))
    step = ((SHEET[0] - 20) / 6, (SHEET[1] - 24) / 4)
    for i in range(24):
        x, y = (10 + step[0] * (i % 6) + 3) / PT, (14 + step[1] * (i // 6) + 3) / PT
        turned = (i // 6) % 2
        place = f"-1 0 0 -1 {x + wide / PT:.3f} {y + tall / PT:.3f}" if turned else f"1 0 0 1 {x:.3f} {y:.3f}"
        pen.ops.append(f"q {place} cm /{blank} Do Q")
    pen.save(path)


def swatches(path: Path, *, count: int = 2_000, size_mm: tuple[float, float] = (4.5, 4.0), gap_mm: float = 1.4) -> None:
    """So many spots, a swatch of each inside the cut; 62 in a row."""
    pen = Pen(*oat_biscuits.PAGE, origin_mm=oat_biscuits.ORIGIN, title="Swatches")
    for name, cmyk in DIE_INKS.items():
        pen.spot(name, cmyk)
    pen.box("TrimBox", 0, 0, *oat_biscuits.CARTON.size)
    for i in range(count):
        name = f"Shade {i + 1}"
        pen.spot(name, (i % 10 / 10, i // 10 % 10 / 10, i // 100 % 10 / 10, 0.05))
        x, y = 18 + (size_mm[0] + gap_mm) * (i % 62), 70 + (size_mm[1] + gap_mm) * (i // 62)
        pen.fill(rect(x, y, x + size_mm[0], y + size_mm[1]), name)
    with pen.overprinting():
        draw_die(pen, oat_biscuits.CARTON)
    pen.save(path)


def forms(path: Path) -> None:
    """2,000 forms, each of its own, with ten small objects, on a page that is a group of RGB."""
    pen = Pen(*oat_biscuits.PAGE, origin_mm=oat_biscuits.ORIGIN, title="Forms")
    for name, cmyk in DIE_INKS.items():
        pen.spot(name, cmyk)
    pen.box("TrimBox", 0, 0, *oat_biscuits.CARTON.size)
    calls = []
    for i in range(2_000):
        x, y = 18 + 5.9 * (i % 62), 70 + 5.4 * (i // 62)
        for k in range(10):
            left, low = x + k % 5, y + 2 * (k // 5)
            pen.fill(rect(left, low, left + 0.7, low + 1.5), (k / 10, i % 9 / 9, 0.4, 0))
        calls.append(f"/{pen.form((x - 1, y - 1, x + 6, y + 6))} Do")
    pen.ops = calls
    with pen.overprinting():
        draw_die(pen, oat_biscuits.CARTON)
    pen.page.obj.Group = pikepdf.Dictionary(S=pikepdf.Name.Transparency, CS=pikepdf.Name.DeviceRGB)
    pen.save(path)


def many_objects(path: Path, *, count: int) -> None:
    """So many small objects over the panels of the grocery carton, and its die."""
    pen = Pen(*oat_biscuits.PAGE, origin_mm=oat_biscuits.ORIGIN, title=f"{count} objects")
    for name, cmyk in oat_biscuits.INKS.items():
        pen.spot(name, cmyk)
    wide, tall = oat_biscuits.CARTON.size
    pen.box("TrimBox", 0, 0, wide, tall)
    small_objects(pen, count, (20, 70, 385, 250))
    with pen.overprinting():
        draw_die(pen, oat_biscuits.CARTON)
    pen.save(path)


DRAW: dict[str, Callable[[Path], None]] = {
    "one-up": one_up,
    "curves": curves,
    "photo-jpeg": partial(photo_sheet, flate=False),
    "photo-flate": partial(photo_sheet, flate=True),
    "photo-metallic": partial(photo_under_metallic, flate=False),
    "flate-metallic": partial(photo_under_metallic, flate=True),
    "photo-dies": photo_under_dies,
    "24-up": twenty_four_up,
    "swatches": swatches,
    "swatches-close": partial(swatches, size_mm=(3, 3), gap_mm=0.3),
    "swatches-1000": partial(swatches, count=1_000, size_mm=(3, 3), gap_mm=0.3),
    "forms": forms,
    "objects-10k": partial(many_objects, count=10_000),
    "objects-100k": partial(many_objects, count=100_000),
    "objects-1m": partial(many_objects, count=1_000_000),
}


def draw_case(name: str, folder: Path) -> Path:
    """Draws one case into ``folder/name`` and returns the path of its ticket."""
    case, place = CASES[name], folder / name
    place.mkdir(parents=True, exist_ok=True)
    DRAW[name](place / "artwork.pdf")
    press = (
        (SAMPLES / "presses" / "six-units.yaml")
        .read_text()
        .replace("1000 x 700", "1040 x 740")
        .replace("990 x 684", "1040 x 740")
    )
    (place / "press.yaml").write_text(press)
    lines = [
        f"ticket: bench-{name}", "artwork: artwork.pdf", "press: press.yaml", f"artwork_is: {case.artwork_is}",
        "ink_system: oxidising", "board: {caliper: 0.5 mm, surface: white}",
        "sheet: {size: 1040 x 740 mm}", f"units: [{case.units}]",
    ]  # fmt: skip
    if case.artwork_is == "sheet":
        lines.append("gripper_edge: bottom")
    (place / "ticket.yaml").write_text("\n".join(lines) + "\n")
    return place / "ticket.yaml"


def main() -> None:
    """Draws the cases that are named, or all."""
    arguments = argparse.ArgumentParser(description="Draws the artwork that the benchmarks are run on.")
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("cases", nargs="*", metavar="CASE", help=f"of {', '.join(CASES)}")
    given = arguments.parse_args()
    if unknown := set(given.cases) - set(CASES):
        arguments.error(f"no case is called {', '.join(sorted(unknown))}")
    for name in given.cases or CASES:
        ticket = draw_case(name, given.folder)
        size = (ticket.parent / "artwork.pdf").stat().st_size
        sys.stdout.write(f"{ticket}  {size / 1e6:.1f} MB\n")


if __name__ == "__main__":
    main()
