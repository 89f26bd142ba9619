"""Drawings that both the plates and a referee are made of: meshes with every flag, circles of every sort, functions."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from pikepdf import Array, Dictionary, Name, Object

from tests.drawn import MM, Drawing
from tests.plate_drawings import HEIGHT_MM, device_n, drawing, rect, spot_space

Point = tuple[float, float]
LOW, HIGH = 0.05, 0.45
FIRST, LAST, THIRD = (0.9, 0.1, 0.4, 0.2), (0.1, 0.8, 0.6, 0.3), (0.4, 0.4, 0.0, 0.9)


def ramp(first: Sequence[float], last: Sequence[float], power: float = 1) -> Dictionary:
    return Dictionary(FunctionType=2, N=power, Domain=[0, 1], C0=list(first), C1=list(last))


class Bits:
    """Writes numbers 0..1 in so many bits; a record ends at a byte."""

    def __init__(self, flag: int, coordinate: int, component: int, seed: int) -> None:
        self.widths, self.random = (flag, coordinate, component), np.random.default_rng(seed)
        self.data = b""

    def record(self, flag: int | None, places: Sequence[Point], numbers: int) -> None:
        bits = "" if flag is None else format(flag, f"0{self.widths[0]}b")
        bits += "".join(self._of(v, self.widths[1]) for place in places for v in place)
        bits += "".join(self._of(v, self.widths[2]) for v in self.random.random(numbers))
        bits += "0" * (-len(bits) % 8)
        self.data += int(bits, 2).to_bytes(len(bits) // 8, "big")

    @staticmethod
    def _of(value: float, width: int) -> str:
        return format(round(min(max(value, 0), 1) * (2**width - 1)), f"0{width}b")


def _free_form(bits: Bits, numbers: int) -> None:
    """A strip (flag 1), a fan (flag 2) and a triangle of its own."""
    corners = [(0, 0.05, 0.05), (0, 0.05, 0.5), (0, 0.4, 0.1), (1, 0.4, 0.6), (1, 0.7, 0.1), (2, 0.9, 0.3),
               (2, 0.9, 0.6), (0, 0.1, 0.6), (0, 0.8, 0.7), (0, 0.3, 0.95)]  # fmt: skip
    for flag, x, y in corners:
        bits.record(flag, [(x, y)], numbers)


def _lattice(bits: Bits, numbers: int) -> None:
    for row in range(3):
        for column in range(4):
            lean = 0.04 * ((row + column) % 2)
            bits.record(None, [(0.05 + 0.29 * column + lean, 0.05 + 0.4 * row + lean)], numbers)


def _edge(one: Point, other: Point, bulge: float, *, closed: bool) -> list[Point]:
    a, b = np.array(one), np.array(other)
    aside = np.array([a[1] - b[1], b[0] - a[0]]) * bulge
    points = [tuple((a + (b - a) * share + aside).tolist()) for share in (1 / 3, 2 / 3)]
    return [*points, other] if closed else points


def _patches(bits: Bits, numbers: int, *, tensor: bool) -> None:
    """Four patches round a place: the first by itself, the others by each of the edges that flags name."""
    a, b, c, d = (LOW, LOW), (LOW, HIGH), (HIGH, HIGH), (HIGH, LOW)
    e, f, g, h, i, j = (0.9, LOW), (0.9, HIGH), (HIGH, 0.95), (0.95, 0.9), (LOW, 0.95), (LOW, 0.55)

    def patch(flag: int, corners: Sequence[Point], inner: Sequence[Point]) -> None:
        own = [] if flag else [corners[0], *_edge(corners[0], corners[1], 0.1, closed=True)]
        for at in (1, 2, 3):
            own += _edge(corners[at], corners[(at + 1) % 4], 0.08, closed=at < 3)
        bits.record(flag, [*own, *(inner if tensor else [])], numbers * (2 if flag else 4))

    patch(0, (a, b, c, d), [(0.2, 0.2), (0.2, 0.35), (0.35, 0.35), (0.35, 0.2)])
    patch(2, (c, d, e, f), [(0.55, 0.3), (0.6, 0.2), (0.75, 0.2), (0.75, 0.35)])
    patch(3, (f, c, g, h), [(0.65, 0.6), (0.55, 0.6), (0.6, 0.8), (0.75, 0.8)])
    patch(1, (c, g, i, j), [(0.35, 0.6), (0.35, 0.8), (0.2, 0.8), (0.2, 0.6)])


def _mesh(page: Drawing, kind: int, space: Object, numbers: int, widths: tuple[int, int, int], box: Sequence[float],
          function: Object | None = None) -> Object:  # fmt: skip
    bits, count = Bits(*widths, kind), 1 if function is not None else numbers
    if kind == 4:
        _free_form(bits, count)
    elif kind == 5:
        _lattice(bits, count)
    else:
        _patches(bits, count, tensor=kind == 7)
    stream = page.pdf.make_stream(bits.data)
    stream.ShadingType, stream.ColorSpace, stream.VerticesPerRow = kind, space, 4
    stream.BitsPerFlag, stream.BitsPerCoordinate, stream.BitsPerComponent = widths
    x0, y0, x1, y1 = (v * MM for v in box)
    stream.Decode = Array([x0, x1, y0, y1, *[0, 1] * count])
    if function is not None:
        stream.Function = function
    return stream


def _four(page: Drawing, make: Callable[[int, tuple[float, float, float, float]], Object]) -> None:
    for at in range(4):
        x, y = 0.5 + 25.4 * (at % 2), 0.5 + HEIGHT_MM / 2 * (at // 2)
        page.resources.Shading[Name(f"/S{at}")] = make(at, (x, y, x + 24.4, y + 18))
        page.raw(f"q {rect(x, y, x + 24.4, y + 18)} W n /S{at} sh Q")


@drawing(tile=0.04)
def meshes_with_every_flag(page: Drawing) -> None:
    widths = ((8, 16, 8), (8, 32, 16), (4, 24, 12), (2, 12, 4))
    _four(page, lambda at, box: _mesh(page, at + 4, Name.DeviceCMYK, 4, widths[at], box))


@drawing(tile=0.04)
def meshes_of_a_parameter(page: Drawing) -> None:
    parts = Array([ramp(FIRST, LAST, 2), ramp(LAST, THIRD), ramp(THIRD, FIRST, 0.5)])
    stitched = Dictionary(FunctionType=3, Domain=[0, 1], Functions=parts, Bounds=[0.3, 0.7], Encode=[0, 1, 1, 0, 0, 1])
    _four(page, lambda at, box: _mesh(page, at + 4, Name.DeviceCMYK, 4, (2, 16, 12), box, stitched))


@drawing(tile=0.04)
def meshes_of_a_parameter_in_device_n(page: Drawing) -> None:
    space = device_n(page, "DN", ["Cyan", "Gold", "Line"])
    functions = Array([ramp([FIRST[i]], [LAST[i]], i + 1) for i in range(3)])
    _four(page, lambda at, box: _mesh(page, at + 4, space, 3, (8, 16, 8), box, functions))


@drawing(tile=0.04)
def circles_of_every_sort(page: Drawing) -> None:
    """Within each other, shrinking, equal and beside each other, touching; extended or not."""
    sorts = [(6, 9, 1, 10, 9, 8), (10, 9, 8, 12, 9, 2), (6, 9, 4, 18, 10, 4), (8, 9, 2, 13, 9, 7.001)]
    extended = [(False, True), (True, True), (True, False), (True, False)]

    def make(at: int, box: tuple[float, float, float, float]) -> Object:
        x0, y0, r0, x1, y1, r1 = sorts[at]
        coords = Array([v * MM for v in (box[0] + x0, box[1] + y0, r0, box[0] + x1, box[1] + y1, r1)])
        return Dictionary(ShadingType=3, ColorSpace=Name.DeviceCMYK, Coords=coords, Function=ramp(FIRST, LAST),
                          Extend=list(extended[at]))  # fmt: skip

    _four(page, make)


def _sampled(page: Drawing, count: int) -> Object:
    """Three samples of four bits, back to front."""
    levels = np.array([row[:count] for row in (FIRST, LAST, THIRD)]).ravel()
    bits = "".join(format(round(level * 15), "04b") for level in levels)
    bits += "0" * (-len(bits) % 8)
    function = page.pdf.make_stream(int(bits, 2).to_bytes(len(bits) // 8, "big"))
    function.FunctionType, function.Size, function.BitsPerSample, function.Encode = 0, Array([3]), 4, Array([2, 0])
    function.Domain, function.Range, function.Decode = Array([0, 1]), Array([0, 1] * count), Array([0.1, 0.9] * count)
    return function


def _calculator(page: Drawing, count: int) -> Object:
    code = "{ dup 0.4 gt { 1 exch sub } { 1.5 mul } ifelse " + "dup 0.7 mul " * (count - 1) + "}"
    function = page.pdf.make_stream(code.encode())
    function.FunctionType, function.Domain, function.Range = 4, Array([0, 1]), Array([0, 1] * count)
    return function


def _functions(page: Drawing, space: Object, count: int) -> None:
    first, last = FIRST[:count], LAST[:count]
    parts = Array([ramp(first, first), ramp(last, THIRD[:count]), ramp(last, first)])
    functions = [
        Dictionary(FunctionType=3, Domain=[0, 1], Functions=parts, Bounds=[0.4, 0.4], Encode=[0, 1] * 3),
        _sampled(page, count),
        _calculator(page, count),
        Array([ramp([a], [b], 3) for a, b in zip(first, last, strict=True)]),
    ]

    def make(at: int, box: tuple[float, float, float, float]) -> Object:
        x, y = box[0] * MM, box[1] * MM
        coords = [x + 10, y + 5, x + 60, y + 30] if at % 2 else [x + 30, y + 25, 2, x + 35, y + 25, 30]
        return Dictionary(ShadingType=3 - at % 2, ColorSpace=space, Coords=coords, Function=functions[at],
                          Extend=[True, at < 2])  # fmt: skip

    _four(page, make)


@drawing(tile=0.04)
def functions_of_every_kind_in_cmyk(page: Drawing) -> None:
    _functions(page, Name.DeviceCMYK, 4)


@drawing(tile=0.04)
def functions_of_every_kind_in_a_spot(page: Drawing) -> None:
    _functions(page, spot_space(page, "Gold"), 1)


@drawing(tile=0.04)
def boxes_backgrounds_and_turned_patterns(page: Drawing) -> None:
    for at, kind in enumerate((2, 3)):
        coords = [10, 10, 60, 40] if kind == 2 else [30, 25, 5, 38, 25, 20]
        look = {"ColorSpace": Name.DeviceCMYK, "Coords": coords, "Function": ramp(FIRST, LAST), "ShadingType": kind}
        boxed = Dictionary(**look, BBox=[5, 12, 50, 45], Extend=[True, True])  # type: ignore[arg-type]
        page.resources.Shading[Name(f"/S{at}")] = boxed
        page.raw(f"q 0.9 0.35 -0.35 0.9 {20 + 70 * at} 2 cm /S{at} sh Q")
        look["Background"] = [0.2, 0, 0.5, 0]
        pattern = Dictionary(Type=Name.Pattern, PatternType=2, Shading=Dictionary(**look))  # type: ignore[arg-type]
        pattern.Matrix = Array([0.9, -0.3, 0.3, 0.9, 70 * at, 60])
        page.resources.Pattern[Name(f"/P{at}")] = page.pdf.make_indirect(pattern)
        page.raw(f"/Pattern cs /P{at} scn {rect(1 + 25 * at, 20, 24 + 25 * at, 37)} f")
