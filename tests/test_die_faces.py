"""Panels, the guess at the glue flap with its reason, and dust flaps."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, affinity

from preflight.carton.build_die import build_die
from preflight.carton.die import Blank
from preflight.carton.lines.drawn_lines import DieLine
from tests.cartons import reverse_tuck
from tests.die_lines import carton_lines, line, moved, rectangle, sleeve


def only_blank(lines: list[DieLine]) -> Blank:
    die = build_die(lines)
    assert len(die.blanks) == 1
    return die.blanks[0]


def glue_flap(blank: Blank) -> Polygon | None:
    found = [area for area in blank.areas if area.kind == "glue flap"]
    assert all(area.known == "assumed" and area.because for area in found)
    return found[0].shape if found else None


def turned(lines: list[DieLine], degrees: float, mirror: bool = False) -> list[DieLine]:
    t = np.radians(degrees)
    matrix = np.array([[np.cos(t), -np.sin(t)], [np.sin(t), np.cos(t)]])
    flip = [-1, 1] if mirror else [1, 1]
    return [line(item.points * flip @ matrix.T + 300, item.role) for item in lines]


def seal_end(width=60.0, depth=30.0, height=90.0, flap=15.0) -> list[DieLine]:
    """Four flaps of one length at each end, no tuck flaps."""
    at = np.cumsum([0, flap, width, depth, width, depth])
    top, low = 50 + height, 50.0
    lines = [line([(at[1], top), (0, top - 4), (0, low + 4), (at[1], low)]), line([(at[5], low), (at[5], top)])]
    for x0, x1 in zip(at[1:], at[2:], strict=False):
        for y, side in ((top, 1), (low, -1)):
            lines.append(line([(x0, y), (x0 + 0.5, y + side * 28), (x1 - 0.5, y + side * 28), (x1, y)]))
            lines.append(line([(x0, y), (x1, y)], "crease"))
    return [*lines, *(line([(x, low), (x, top)], "crease") for x in at[1:5])]


def straight_tuck(width=80.0, depth=80.0, height=150.0, flap=15.0, tuck=16.0) -> list[DieLine]:
    """Both lids on panel 1: lids and tuck flaps make a chain of five faces, as the row of panels does."""
    at = np.cumsum([0, flap, width, depth, width, depth])
    top, low = 120 + height, 120.0
    lines = [line([(at[1], top), (0, top - 4), (0, low + 4), (at[1], low)]), line([(at[5], low), (at[5], top)])]
    for y, side in ((top, 1), (low, -1)):
        end = y + side * (depth + tuck)
        hinge = y + side * depth
        a, b = at[1], at[2]
        lines.append(line([(a, y), (a, hinge), (a + 3, end), (b - 3, end), (b, hinge), (b, y)]))
        lines += [line([(a, y), (b, y)], "crease"), line([(a, hinge), (b, hinge)], "crease")]
        for x0, x1 in ((at[2], at[3]), (at[4], at[5])):
            lines.append(
                line([(x0, y), (x0 + 1, y), (x0 + 4, y + side * 40), (x1 - 4, y + side * 40), (x1 - 1, y), (x1, y)])
            )
            lines.append(line([(x0 + 1, y), (x1 - 1, y)], "crease"))
        lines.append(line([(at[3], y), (at[4], y)]))
    return [*lines, *(line([(x, low), (x, top)], "crease") for x in at[1:5])]


def tray() -> list[DieLine]:
    """A base with four walls: no row of panels that ends in a flap."""
    cross = [
        (20, 0),
        (120, 0),
        (120, 20),
        (140, 20),
        (140, 80),
        (120, 80),
        (120, 100),
        (20, 100),
        (20, 80),
        (0, 80),
        (0, 20),
        (20, 20),
    ]
    folds = [[(20, 20), (120, 20)], [(120, 20), (120, 80)], [(120, 80), (20, 80)], [(20, 80), (20, 20)]]
    return [line([*cross, cross[0]]), *(line(points, "crease") for points in folds)]


@pytest.mark.parametrize("mirror", [False, True], ids=["flap left", "flap right"])
@pytest.mark.parametrize("degrees", [0, 90, 180, 270, 30])
def test_glue_flap_whichever_way_the_carton_lies(degrees, mirror):
    carton = reverse_tuck()
    blank = only_blank(turned(carton_lines(carton), degrees, mirror))
    expected = only_blank(turned([line([*carton.glue_flap, carton.glue_flap[0]])], degrees, mirror)).outline
    flap = glue_flap(blank)
    assert flap is not None
    assert flap.symmetric_difference(expected).area < 1
    assert len(blank.panels) == 13


@pytest.mark.parametrize(
    "size",
    [
        pytest.param({"width": 60, "depth": 30, "height": 90}, id="usual"),
        pytest.param(
            {"width": 40, "depth": 12, "height": 100, "flap": 12, "tuck": 12, "radius": 4},
            id="flap as wide as the side",
        ),
        pytest.param({"width": 120, "depth": 20, "height": 25, "flap": 14}, id="low and wide"),
        pytest.param({"width": 50, "depth": 50, "height": 50}, id="cube"),
    ],
)
def test_glue_flap_of_cartons_of_many_shapes(size):
    carton = reverse_tuck(**size)
    flap = glue_flap(only_blank(carton_lines(carton)))
    assert flap is not None
    assert flap.symmetric_difference(Polygon(carton.glue_flap)).area < 1


def test_glue_flap_beside_a_narrower_last_panel():
    panels = (60, 30, 60, 29.5)
    flap = glue_flap(only_blank(sleeve(0, 0, panels)))
    assert flap is not None
    assert flap.bounds == pytest.approx((0, 0, 12, 90))


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param(sleeve(0, 0, flap=30), id="end panel as wide as a side"),
        pytest.param(sleeve(0, 0, (60, 30, 60, 30, 12)), id="a flap at both ends"),
        pytest.param(tray(), id="tray"),
        pytest.param([line(rectangle(0, 0, 100, 60)), line([(20, 0), (20, 60)], "crease")], id="two panels"),
    ],
)
def test_no_guess_where_nothing_looks_like_a_glue_flap(lines):
    assert glue_flap(only_blank(lines)) is None


def test_lids_do_not_make_the_row_of_panels():
    blank = only_blank(straight_tuck())
    flap = glue_flap(blank)
    assert flap is not None
    assert flap.bounds[0] == pytest.approx(0)
    widths = [panel.bounds[2] - panel.bounds[0] for panel in blank.panels[:5]]
    assert widths == pytest.approx([15, 80, 80, 80, 80])


def test_panels_in_reading_order():
    carton = reverse_tuck()
    blank = only_blank(carton_lines(carton))
    row = [Polygon(points) for points in (carton.glue_flap, *carton.panels)]
    for found, expected in zip(blank.panels, row, strict=False):
        assert found.symmetric_difference(expected).area < 1
    assert sum(panel.area for panel in blank.panels) == pytest.approx(blank.outline.area, abs=1)
    rest = [round(panel.centroid.y) for panel in blank.panels[5:]]
    assert rest == sorted(rest, reverse=True)


def test_double_crease_is_no_panel():
    lines = carton_lines(reverse_tuck())
    second = moved([item for item in lines if item.role == "crease"][1:2], 1.0, 0)
    blank = only_blank([*lines, *second])
    assert len(blank.panels) == 13
    assert glue_flap(blank) is not None


def test_tear_line_does_not_hide_the_glue_flap():
    lines = [*carton_lines(reverse_tuck(at=(10, 10))), line([(25, 100), (85, 100)], "perforate")]
    blank = only_blank(lines)
    assert glue_flap(blank) is not None


def hidden(blank: Blank) -> float:
    return float(sum(edge.line.length for edge in blank.edges if edge.hidden))


def test_edges_of_glue_and_dust_flaps_are_hidden():
    carton = reverse_tuck(at=(10, 10))
    blank = only_blank(carton_lines(carton))
    flaps = [Polygon(carton.glue_flap), *(Polygon(p) for name, p in carton.flaps.items() if "dust" in name)]
    folds = 90 + 4 * 28
    assert hidden(blank) == pytest.approx(sum(flap.exterior.length for flap in flaps) - folds, abs=6)
    for edge in blank.edges:
        middle = edge.line.interpolate(0.5, normalized=True)
        assert edge.hidden == any(flap.distance(middle) < 0.1 for flap in flaps)


def test_flaps_of_a_glued_end_are_not_called_dust_flaps():
    blank = only_blank(seal_end())
    flap = glue_flap(blank)
    assert flap is not None
    assert hidden(blank) == pytest.approx(flap.exterior.length - 90, abs=1)


def test_carton_upside_down_and_scaled_to_a_sheet_of_its_own():
    shape = affinity.scale(Polygon(reverse_tuck().outline), 1, -1, origin=(0, 0))
    lines = [line(item.points * [1, -1], item.role) for item in carton_lines(reverse_tuck())]
    assert only_blank(lines).outline.symmetric_difference(shape).area < 1
