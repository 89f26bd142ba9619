"""Random outlines of blanks for property tests: convex, notched, like tuck-end cartons, with cut-outs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import shapely
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import translate

from tests.cartons import reverse_tuck

Draw = Callable[[st.SearchStrategy[Any]], Any]


def at_origin(shape: Polygon) -> Polygon:
    """With the lower-left corner of its box at (0, 0)."""
    return translate(shape, -shape.bounds[0], -shape.bounds[1])


@st.composite
def convex(draw: Draw) -> Polygon:
    points = [(draw(st.integers(0, 200)), draw(st.integers(0, 160))) for _ in range(8)]
    return shapely.MultiPoint([*points, (0, 20), (60, 0), (90, 90)]).convex_hull


@st.composite
def notched(draw: Draw) -> Polygon:
    wide, high = draw(st.integers(60, 220)), draw(st.integers(50, 160))
    shape = shapely.box(0, 0, wide, high)
    for _ in range(int(draw(st.integers(1, 4)))):
        x, y = draw(st.integers(-20, int(wide))), draw(st.sampled_from([-1, 1]))
        deep = draw(st.integers(5, int(high) // 2 - 2))
        notch = shapely.box(x, 0, x + draw(st.integers(4, int(wide) // 2)), deep)
        shape = shape.difference(notch if y < 0 else translate(notch, 0, high - deep))
    return max(shapely.get_parts(shape), key=lambda part: part.area)


@st.composite
def tuck_end(draw: Draw) -> Polygon:
    carton = reverse_tuck(
        width=draw(st.integers(40, 90)),
        depth=draw(st.integers(18, 40)),
        height=draw(st.integers(50, 130)),
        flap=draw(st.integers(10, 16)),
        tuck=draw(st.integers(10, 18)),
        shoulder=draw(st.sampled_from([0.0, 1.0, 4.0])),
    )
    return Polygon(carton.outline)


@st.composite
def with_cut_out(draw: Draw) -> Polygon:
    shape = draw(st.one_of(tuck_end(), notched(), convex()))
    x, y = shape.representative_point().coords[0]
    window = shapely.Point(x, y).buffer(draw(st.integers(1, 15))).intersection(shape.buffer(-3))
    return shape.difference(window) if isinstance(window, Polygon) else shape


OUTLINES = st.one_of(convex(), notched(), tuck_end(), with_cut_out()).map(at_origin)
