"""Artworks over a whole carton, carried so far past the cut and clipped there: what crosses the cut is not at fault."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np
import shapely
from pikepdf import Dictionary, Name

from tests.drawn import MM, Drawing, Point, points_of_rect
from tests.house import CARTON, blank_page, with_die

Colour = str | Sequence[float]
SKY, REED, WHITE, ROSE = (0.9, 0.6, 0, 0), (0.15, 0, 0.35, 0), (0, 0, 0, 0), (0, 0.6, 0.2, 0)
GREEN, RUST = (0.4, 0.1, 0.6, 0), "Rust"
W, H = 215.0, 200.0
Draw = Callable[[Drawing, random.Random], None]


def clipped(draw: Draw, past_mm: float, *, seed: int = 1, turn: int = 0, form: bool = False) -> Drawing:
    """The artwork of a draughtsman, cut off so far past the cut on all sides, with the die over it."""
    page = blank_page()
    page.page.obj.Rotate = turn
    ring = shapely.Polygon(CARTON.outline).buffer(past_mm, join_style="mitre").exterior
    page.raw("q").path(list(ring.coords)[:-1]).raw("W n")
    draw(page, random.Random(seed))
    page.raw("Q")
    if form:
        inner = "\n".join(page.ops)
        page.ops.clear()
        page.raw(f"/{page.form(inner, bbox_mm=(0, 0, W, H))} Do")
    return with_die(page)


def ground(page: Drawing, ink: Colour = SKY) -> None:
    page.fill(ink, rect=(0, 0, W, H))


def leaf(x: float, y: float, length: float, turn: float, wide: float = 0.35) -> list[Point]:
    """A leaf of two arcs, 48 corners."""
    side = [(t, wide * 3 * t * (1 - t)) for t in (i / 24 for i in range(25))]
    outline = [*side, *((t, -w) for t, w in side[-2:0:-1])]
    c, s = cos(turn) * length, sin(turn) * length
    return [(x + u * c - v * s, y + u * s + v * c) for u, v in outline]


def star(x: float, y: float, size: float, turn: float) -> list[Point]:
    rings = [(size / 2 * (1 if i % 2 else 0.45), turn + i * pi / 5) for i in range(10)]
    return [(x + r * cos(a), y + r * sin(a)) for r, a in rings]


def circle(x: float, y: float, size: float, _turn: float = 0.0) -> list[Point]:
    n = max(48, int(size * 6))
    return [(x + size / 2 * cos(2 * pi * i / n), y + size / 2 * sin(2 * pi * i / n)) for i in range(n)]


def square(x: float, y: float, size: float, turn: float) -> list[Point]:
    return [(x + size * 0.7 * cos(turn + i * pi / 2), y + size * 0.7 * sin(turn + i * pi / 2)) for i in range(4)]


def strewn(
    shape: Callable[[float, float, float, float], list[Point]], sizes: tuple[float, float], many: int,
    inks: Sequence[Colour], on: Colour | None = SKY,
) -> Draw:  # fmt: skip
    """Shapes strewn at random over a ground, or over bare board."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        for _ in range(many):
            at = r.uniform(0, W), r.uniform(0, H)
            page.fill(r.choice(list(inks)), points=shape(*at, r.uniform(*sizes), r.uniform(0, 2 * pi)))

    return draw


def stripes(degrees: float, wide: float, gap: float, inks: Sequence[Colour], on: Colour | None = None) -> Draw:
    """Straight stripes as paths."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        c, s, shift = cos(radians(degrees)), sin(radians(degrees)), r.uniform(0, wide + gap)
        for i in range(-int(320 / (wide + gap)), int(320 / (wide + gap))):
            low = i * (wide + gap) + shift
            corners = points_of_rect(-320, low, 320, low + wide)
            page.fill(inks[i % len(inks)], points=[(W / 2 + x * c - y * s, H / 2 + x * s + y * c) for x, y in corners])

    return draw


def odd_stripes(degrees: float, widths: tuple[float, float], inks: Sequence[Colour], on: Colour | None = None) -> Draw:
    """Straight stripes of odd widths at odd distances."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        c, s, low = cos(radians(degrees)), sin(radians(degrees)), -200.0
        while low < 200:
            wide = r.uniform(*widths)
            corners = points_of_rect(-320, low, 320, low + wide)
            page.fill(r.choice(list(inks)), points=[(W / 2 + x * c - y * s, H / 2 + x * s + y * c) for x, y in corners])
            low += wide + r.uniform(*widths)

    return draw


def tiled(cell: str, side: float, degrees: float, on: Colour | None = None) -> Draw:
    """A tiling, turned; the cell's operators are in mm."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        tile = page.pdf.make_stream(cell.encode())
        tile.Type, tile.PatternType, tile.PaintType, tile.TilingType = Name.Pattern, 1, 1, 1
        tile.BBox, tile.XStep, tile.YStep, tile.Resources = [0, 0, side, side], side, side, page.resources
        c, s = cos(radians(degrees)) * MM, sin(radians(degrees)) * MM
        tile.Matrix = [c, s, -s, c, r.uniform(0, side) * MM, r.uniform(0, side) * MM]
        page.resources.Pattern.P0 = tile
        page.raw("/Pattern cs /P0 scn").path(points_of_rect(0, 0, W, H)).raw("f")

    return draw


def rays(many: int, inks: Sequence[Colour], on: Colour | None = None) -> Draw:
    """A sunburst from a point on panel 1."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        x, y = 60 + r.uniform(-9, 9), 100 + r.uniform(-9, 9)
        for i in range(many):
            a, b = 2 * pi * i / many, 2 * pi * (i + 0.5) / many
            points = [(x, y), (x + 300 * cos(a), y + 300 * sin(a)), (x + 300 * cos(b), y + 300 * sin(b))]
            page.fill(inks[i % len(inks)], points=points)

    return draw


def rings(step: float, inks: Sequence[Colour]) -> Draw:
    """Rings round a point, without gaps."""

    def draw(page: Drawing, r: random.Random) -> None:
        x, y, many = 110 + r.uniform(-9, 9), 100 + r.uniform(-9, 9), int(160 / step)
        for i in range(many, 0, -1):
            page.fill(inks[i % len(inks)], points=circle(x, y, 2 * i * step))

    return draw


def waves(long: float, high: float, inks: Sequence[Colour], step: float, degrees: float = 0) -> Draw:
    """Wavy bands one above the other, the inks in turn."""

    def draw(page: Drawing, r: random.Random) -> None:
        c, s, phase = cos(radians(degrees)), sin(radians(degrees)), r.uniform(0, 6)
        for i in range(int(380 / step)):
            low = -190 + i * step
            rim = [(x, low + high * sin(2 * pi * x / long + phase)) for x in np.arange(-200, 201, long / 40)]
            points = [(W / 2 + x * c - y * s, H / 2 + x * s + y * c) for x, y in [*rim, (200, 250), (-200, 250)]]
            page.fill(inks[i % len(inks)], points=points)

    return draw


def words(size_pt: float, inks: Sequence[Colour], on: Colour | None = None, turned: bool = True) -> Draw:
    """Large words strewn over the carton."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        page.text("", (0, 0), 1)
        for _ in range(int(40000 / size_pt / 4)):
            a, x, y = r.uniform(0, 2 * pi) if turned else 0.0, r.uniform(-20, W), r.uniform(0, H)
            page.colour(r.choice(list(inks)))
            turn = f"{cos(a):.4f} {sin(a):.4f} {-sin(a):.4f} {cos(a):.4f} {x * MM:.2f} {y * MM:.2f}"
            page.raw(f"BT /F0 {size_pt} Tf {turn} Tm ({r.choice(['Meadow', 'Sage', 'Wren & Kiln', '24'])}) Tj ET")

    return draw


def gradient(first: Sequence[float], last: Sequence[float], degrees: float, inks: Sequence[Colour] = ()) -> Draw:
    """A shading over the carton, with leaves of some inks on it."""

    def draw(page: Drawing, r: random.Random) -> None:
        c, s = cos(radians(degrees)) * 130 * MM, sin(radians(degrees)) * 130 * MM
        x, y = W / 2 * MM, H / 2 * MM
        function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=list(first), C1=list(last))
        page.resources.Shading.S0 = Dictionary(
            ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[x - c, y - s, x + c, y + s], Function=function,
            Extend=[True, True],
        )  # fmt: skip
        page.raw("/S0 sh")
        if inks:
            strewn(leaf, (3, 12), 150, inks, None)(page, r)

    return draw


def photo(detail: int, inks: Sequence[Colour] = ()) -> Draw:
    """A picture over the carton: soft blobs of some size in pixels, of 0.5 mm."""

    def draw(page: Drawing, r: random.Random) -> None:
        rng = np.random.default_rng(r.randrange(1 << 30))
        wide, high = int(W * 2), int(H * 2)
        coarse = rng.random((high // detail + 3, wide // detail + 3, 4))
        rows, columns = np.arange(high) / detail, np.arange(wide) / detail
        i, j = rows.astype(int), columns.astype(int)
        u, v = (rows - i)[:, None, None], (columns - j)[None, :, None]
        near = (1 - v) * coarse[i][:, j] + v * coarse[i][:, j + 1]
        far = (1 - v) * coarse[i + 1][:, j] + v * coarse[i + 1][:, j + 1]
        samples = ((1 - u) * near + u * far) * [200, 170, 180, 60]
        page.image(samples.astype(np.uint8).tobytes(), wide, high, (0, 0, W, H))
        if inks:
            strewn(leaf, (3, 12), 150, inks, None)(page, r)

    return draw


def strokes(wide: tuple[float, float], many: int, inks: Sequence[Colour], on: Colour | None = None) -> Draw:
    """Straight and bent lines of some widths all over the carton."""

    def draw(page: Drawing, r: random.Random) -> None:
        if on is not None:
            ground(page, on)
        for _ in range(many):
            points = [(r.uniform(0, W), r.uniform(0, H))]
            for _ in range(r.randrange(1, 5)):
                points.append((points[-1][0] + r.uniform(-40, 40), points[-1][1] + r.uniform(-40, 40)))
            page.stroke(r.choice(list(inks)), points, width_mm=r.uniform(*wide), close=False)

    return draw


def all_of(*draws: Draw) -> Draw:
    def draw(page: Drawing, r: random.Random) -> None:
        for one in draws:
            one(page, r)

    return draw


@dataclass(frozen=True)
class Artwork:
    """A draughtsman's work under a name."""

    name: str
    draw: Draw
    seed: int = 1
    turn: int = 0
    form: bool = False

    def __str__(self) -> str:
        return self.name

    def carried(self, past_mm: float) -> Drawing:
        """The whole carton with it, cut off so far past the cut."""
        return clipped(self.draw, past_mm, seed=self.seed, turn=self.turn, form=self.form)


def strewn_artworks() -> Iterator[Artwork]:
    """Shapes strewn over a ground or bare board."""
    yield Artwork("leaves reversed out", strewn(leaf, (2, 7), 500, [REED, ROSE]))
    yield Artwork("leaves reversed out, page turned", strewn(leaf, (2, 7), 500, [REED, ROSE]), seed=2, turn=90)
    yield Artwork("leaves reversed out, in a form", strewn(leaf, (2, 7), 500, [REED]), seed=3, form=True)
    yield Artwork("large leaves reversed out", strewn(leaf, (8, 30), 120, [REED, ROSE, RUST]))
    yield Artwork("leaves in a spot", strewn(leaf, (3, 12), 300, [RUST]))
    yield Artwork("white leaves", strewn(leaf, (2, 12), 250, [WHITE]))
    yield Artwork("leaves on bare board", strewn(leaf, (4, 15), 400, [SKY, RUST], None))
    yield Artwork("stars in two colours", strewn(star, (2, 9), 400, [REED, ROSE]))
    yield Artwork("white stars", strewn(star, (2, 7), 500, [WHITE]))
    yield Artwork("stars on bare board", strewn(star, (4, 12), 400, [SKY, RUST], None), seed=2)
    yield Artwork("circles", strewn(circle, (2, 12), 300, [REED, ROSE, RUST]))
    yield Artwork("large circles", strewn(circle, (15, 80), 60, [REED, ROSE, RUST, GREEN]))
    yield Artwork("circles on bare board", strewn(circle, (3, 20), 250, [SKY, RUST], None))
    yield Artwork("confetti", strewn(square, (2, 8), 500, [REED, ROSE, RUST, GREEN]), seed=2)
    yield Artwork("words", words(80, [RUST, SKY], None))
    yield Artwork("words on a ground", words(80, [RUST, REED], SKY))
    yield Artwork("level words on a ground", words(60, [RUST, REED], SKY, turned=False))
    yield Artwork("lines", strokes((0.5, 4), 200, [RUST, SKY]))
    yield Artwork("lines on a ground", strokes((0.5, 4), 200, [RUST, REED], SKY))


def striped_artworks() -> Iterator[Artwork]:
    """Stripes at a slant, with bare and coloured gaps, as paths and as tilings."""
    for degrees, wide, gap in [(30, 1, 1), (45, 2, 2), (60, 4, 2), (-45, 6, 6), (-30, 2, 6)]:
        yield Artwork(f"{wide} mm stripes at {degrees}", stripes(degrees, wide, gap, [SKY]))
        on_ground = stripes(degrees, wide, gap, [REED, RUST], SKY)
        yield Artwork(f"{wide} mm stripes at {degrees} on a ground", on_ground)
    yield Artwork("odd stripes", odd_stripes(45, (0.8, 6), [SKY, RUST]))
    yield Artwork("odd stripes on a ground", odd_stripes(-60, (0.8, 6), [REED, RUST], SKY))
    yield Artwork("tiled stripes", tiled("0.1 0.3 0 0 k 0 0 4 2 re f", 4, 45))
    yield Artwork("narrow tiled stripes", tiled("0.9 0.3 0 0 k 0 0 2 1 re f", 2, 60))
    yield Artwork("tiled stripes of two inks", tiled("0.9 0.3 0 0 k 0 0 6 3 re f 0 1 0 0 k 0 3 6 3 re f", 6, 30))
    yield Artwork("tiled stripes on a ground", tiled("0 0 1 0 k 0 0 5 3 re f", 5, -45, SKY))
    yield Artwork("leaves and stripes", all_of(stripes(45, 3, 3, [SKY]), strewn(leaf, (3, 12), 200, [REED], None)))


def flowing_artworks() -> Iterator[Artwork]:
    """Bands, rays, shadings and pictures."""
    yield Artwork("a sunburst", rays(40, [SKY]))
    yield Artwork("a sunburst of two inks", rays(40, [RUST], SKY))
    yield Artwork("waves of colours", waves(40, 5, [SKY, REED, ROSE], 17))
    yield Artwork("waves of colours upright", waves(40, 5, [SKY, REED, ROSE], 17, 90))
    yield Artwork("waves and bare board", waves(50, 8, [SKY, WHITE], 23, 10))
    yield Artwork("a gradient", gradient((0.9, 0.2, 0, 0), (0, 0.4, 0.8, 0), 30))
    yield Artwork("leaves on a gradient", gradient((0.9, 0.2, 0, 0), (0, 0.4, 0.8, 0), 10, [REED, RUST]))
    yield Artwork("a photo", photo(8))
    yield Artwork("leaves on a photo", photo(20, [REED, WHITE]))


def artworks() -> Iterator[Artwork]:
    """All that is drawn."""
    yield from strewn_artworks()
    yield from striped_artworks()
    yield from flowing_artworks()
