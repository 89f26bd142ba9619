"""Layouts of six jobs whose arithmetic is known; sheets, blocks and number-up are those of the trade's sums.

Edges are gripper, tail and sides of three presses: 10, 6, 5; 12, 8, 8; 10, 8, 5 mm.
"""

from __future__ import annotations

import time

import numpy as np
import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import scale

from preflight.errors import NotMeasured
from preflight.setup.layout.lay_out import lay_out
from preflight.setup.layout.layout_request import LayoutRequest
from preflight.setup.layout.sheet_layout import SheetLayout
from tests import layout_referee as referee
from tests.cartons import reverse_tuck
from tests.layouts import on_press

LARGE, UV, HALF = (10, 6, 5), (12, 8, 8), (10, 8, 5)
ALL_BLUE = {side: {"Sea Blue": 0.9} for side in ("left", "right", "bottom", "top")}


def block(layout: SheetLayout) -> tuple[float, float]:
    x0, y0, x1, y1 = shapely.union_all(list(layout.outlines)).bounds
    return round(x1 - x0, 2), round(y1 - y0, 2)


def laid(request: LayoutRequest) -> SheetLayout:
    layout = lay_out(request)
    assert referee.faults(layout, request) == []
    return layout


def test_trio_of_six_is_1010_wide_and_its_bleed_fits_the_wider_press_only() -> None:
    """Source: needs of a plant, job 5. 3 x 334 + 2 x 4 = 1010; with 3 mm of bleed 1016 on 1020 less 10: too wide."""
    trio = box(0, 0, 334, 270)
    layout = laid(on_press(trio, (1050, 600), UV, gutter_mm=4, ups=6, quantities=dict.fromkeys("ABC", 12000)))
    assert (layout.ups, block(layout)) == (6, (1010, 544))
    assert [blank.version for blank in layout.blanks] == [*"AABBCC"]
    assert any("2 mm of it are left" in note for note in layout.notes)
    with pytest.raises(NotMeasured, match="asks for 6-up, and 4 fit"):
        lay_out(on_press(trio, (1020, 720), LARGE, gutter_mm=4, ups=6))
    assert laid(on_press(trio, (1020, 720), LARGE, gutter_mm=4, ups=6, bleed=0)).ups == 6


def test_sleeve_turned_six_up_with_shared_knives() -> None:
    """Source: needs of a plant, job 6. Six of 170 side by side make 1020 x 560 on 1050 x 600."""
    sleeve = box(0, 0, 560, 170)
    layout = laid(on_press(sleeve, (1050, 600), UV, grain_on_blank="along", edge_inks=ALL_BLUE))
    assert (layout.ups, block(layout), {b.turn_deg % 180 for b in layout.blanks}) == (6, (1020, 560), {90})
    assert (layout.gutters_mm or (1, 1))[0] == 0


def test_sleeve_as_drawn_is_three_up_at_45_per_cent() -> None:
    """Source: needs of a plant, job 6."""
    layout = laid(on_press(box(0, 0, 560, 170), (1050, 600), UV, edge_inks=ALL_BLUE))
    assert (layout.ups, round(layout.used_share, 2)) == (3, 0.45)


def test_cream_eight_up_with_the_narrow_gutters_that_its_ticket_asks_for() -> None:
    """Source: needs of a plant, job 3. 4 x 255 + 3 x 2 = 1026, 2 x 270 + 4 = 544, on 1050 x 580."""
    layout = laid(on_press(box(0, 0, 255, 270), (1050, 580), UV, gutter_mm=2, gutter_along_mm=4, waste_strip_mm=2))
    assert (layout.ups, block(layout), layout.gutters_mm) == (8, (1026, 544), (2, 4))


def test_a_gutter_under_the_waste_strip_is_laid_as_asked_and_said() -> None:
    layout = lay_out(on_press(box(0, 0, 255, 270), (1050, 580), UV, gutter_mm=2, gutter_along_mm=4))
    assert layout.ups == 8
    assert any("narrower than the strip of waste" in note for note in layout.notes)


def test_cask_two_up() -> None:
    """Source: needs of a plant, job 4. 2 x 380 + 6 = 766, on 800 x 580."""
    layout = laid(on_press(box(0, 0, 380, 540), (800, 580), UV))
    assert (layout.ups, block(layout)) == (2, (766, 540))


def test_biscuits_four_up() -> None:
    """Source: needs of a plant, job 1. 2 x 394 + 6 = 794, 2 x 320 + 6 = 646, on 820 x 680."""
    layout = laid(on_press(box(0, 0, 394, 320), (820, 680), LARGE))
    assert (layout.ups, block(layout)) == (4, (794, 646))


def test_tablets_ten_up_turned() -> None:
    """Source: needs of a plant, job 2. 5 x 135 + 4 x 4 = 691, 2 x 252 + 4 = 508, on 740 x 530, without bleed."""
    layout = laid(on_press(box(0, 0, 252, 135), (740, 530), HALF, bleed=0, gutter_mm=4, grain_on_blank="along"))
    assert (layout.ups, block(layout)) == (10, (691, 508))


def test_no_layout_takes_three_seconds() -> None:
    request = on_press(Polygon(reverse_tuck().outline), (1050, 750), UV, grain=None, grain_on_blank="any")
    started = time.process_time()
    assert laid(request).ups >= 20
    assert time.process_time() - started < 3


def test_a_die_of_5000_segments_takes_less_than_ten() -> None:
    """A wavy outline; what is laid is as exact as ever."""
    turn = np.linspace(0, 2 * np.pi, 5000, endpoint=False)
    far = 60 + 12 * np.sin(3 * turn) + 2 * np.sin(40 * turn)
    wavy = Polygon(np.column_stack([far * np.cos(turn), far * np.sin(turn)]))
    wavy = shapely.affinity.translate(scale(wavy, 1.2, 1.0), *(-v for v in scale(wavy, 1.2, 1.0).bounds[:2]))
    request = on_press(wavy, (1050, 750), UV, grain=None, grain_on_blank="any", bleed=0)
    started = time.process_time()
    layout = lay_out(request)
    assert time.process_time() - started < 10
    assert layout.ups > referee.grid_ups(request)
    assert referee.faults(layout, request) == []
