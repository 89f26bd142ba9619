"""Layouts over random outlines: an independent referee finds nothing, and no layout takes fewer than the plain grid."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from preflight.errors import NotMeasured
from preflight.quantities import Size
from preflight.setup.layout.lay_out import lay_out
from preflight.setup.layout.layout_request import BlankToLay, FreeArea, LayoutRequest
from tests import layout_referee as referee
from tests.random_outlines import OUTLINES

EXAMPLES = int(os.environ.get("RANDOM_LAYOUTS", "60"))

FREE = st.builds(
    FreeArea,
    sides_mm=st.sampled_from([0.0, 5.0, 8.0]),
    gripper_mm=st.sampled_from([8.0, 10.0, 14.0]),
    tail_mm=st.sampled_from([0.0, 6.0, 14.0]),
    cut_sides_mm=st.sampled_from([0.0, 5.0]),
    cut_gripper_mm=st.sampled_from([0.0, 12.0]),
    cut_tail_mm=st.sampled_from([0.0, 5.0, 12.0]),
    printable=st.sampled_from([None, Size(440, 330)]),
    printable_from_mm=st.just(8.0),
)
SHEETS = st.builds(Size, st.integers(300, 720), st.integers(220, 520))


@st.composite
def requests(draw: Any) -> LayoutRequest:
    cut: Polygon = draw(OUTLINES)
    assume(cut.is_valid and cut.bounds[2] > 30 and cut.bounds[3] > 30)
    bleed = draw(st.sampled_from([0.0, 2.0, 3.0]))
    alike = draw(st.sampled_from([{}, {side: {"Blue": 0.8} for side in ("left", "right", "bottom", "top")}]))
    blank = BlankToLay(cut, cut.buffer(bleed, join_style="mitre") if bleed else cut, edge_inks=alike)
    return LayoutRequest(
        blank,
        tuple(draw(st.lists(SHEETS, min_size=1, max_size=2))),
        draw(st.sampled_from(["ticket", "stock", "largest"])),
        draw(FREE),
        smallest=Size(200, 150),
        bleed_mm=bleed,
        grain=draw(st.sampled_from([None, "across", "along"])),
        grain_on_blank=draw(st.sampled_from(["any", "across", "along"])),
        waste_strip_mm=draw(st.sampled_from([3.0, 4.0, 5.0])),
    )


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(requests())
def test_no_layout_has_a_fault_and_none_takes_fewer_than_the_grid(request: LayoutRequest) -> None:
    grid = referee.grid_ups(request)
    try:
        layout = lay_out(request)
    except NotMeasured:
        assert grid == 0
        return
    event(f"{layout.pattern} {'beats the grid' if layout.ups > grid else ''}")
    assert layout.ups >= max(grid, 1)
    assert referee.faults(layout, request) == []
    for other in layout.alternatives:
        assert referee.faults(other.layout, request, whole_gutters="instead of 6 mm" not in other.says) == []
    assert layout.why_not_more


@settings(max_examples=EXAMPLES // 3, deadline=None, suppress_health_check=list(HealthCheck))
@given(requests(), st.integers(1, 9))
def test_a_number_up_that_is_asked_for_is_laid_exactly(request: LayoutRequest, ups: int) -> None:
    asked = LayoutRequest(**{**vars(request), "ups": ups})
    try:
        layout = lay_out(asked)
    except NotMeasured:
        assert referee.grid_ups(request) < ups
        with pytest.raises(NotMeasured, match=f"asks for {ups}-up|not one blank fits"):
            lay_out(asked)
        return
    assert layout.ups == ups
    assert referee.faults(layout, asked) == []
