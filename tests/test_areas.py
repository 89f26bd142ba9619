"""Free and special areas: whence they come, and which blank each lies on."""

from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from preflight.artwork.page.objects import Painted
from preflight.artwork.read_artwork import read_artwork
from preflight.carton.areas import areas_of, shapes_of, share_out
from preflight.carton.die import Area
from preflight.inputs.ticket import Ticket
from tests.die_lines import rectangle
from tests.drawn import Drawing

LEFT, RIGHT = box(10, 20, 100, 80), box(110, 20, 190, 80)


def area(*bounds, kind="code"):
    return Area(kind, box(*bounds), "stated", "said so")


def shared(*areas, outlines=(LEFT, RIGHT)):
    found, loose = share_out(areas, outlines)
    return [[part.shape.bounds for part in mine] for mine in found], [part.shape.bounds for part in loose]


@pytest.mark.parametrize(
    ("bounds", "left", "right", "loose"),
    [
        pytest.param((20, 30, 40, 50), [(20, 30, 40, 50)], [], False, id="on the first"),
        pytest.param((120, 30, 140, 50), [], [(120, 30, 140, 50)], False, id="on the second"),
        pytest.param((90, 30, 130, 50), [], [(110, 30, 130, 50)], False, id="on both, mostly on the second"),
        pytest.param((80, 30, 120, 50), [(80, 30, 100, 50)], [], False, id="on both, mostly on the first"),
        pytest.param((101, 30, 109, 50), [], [], True, id="in the gutter"),
        pytest.param((99.5, 30, 105, 32), [(99.5, 30, 100, 32)], [], False, id="by one square millimetre"),
        pytest.param((99.5, 30, 105, 31.75), [], [], True, id="by less"),
    ],
)
def test_an_area_lies_on_the_blank_that_most_of_it_lies_on(bounds, left, right, loose):
    assert shared(area(*bounds)) == ([left, right], [bounds] * loose)


def test_after_an_area_that_lies_nowhere_the_next_is_looked_at():
    first, second, third = area(0, 0, 5, 5), area(120, 30, 140, 50), area(200, 0, 220, 9)
    found, loose = share_out([first, second, third], [LEFT, RIGHT])
    assert [[part.kind for part in mine] for mine in found] == [[], ["code"]]
    assert loose == [first, third]
    assert share_out([first], []) == ([], [first])
    assert share_out([], [LEFT]) == ([[]], [])


@pytest.mark.parametrize(
    ("right", "parts"), [(70, [(40, 50), (52, 70)]), (52.1, [(40, 50), (52, 52.1)]), (52.05, [(40, 50)])]
)
def test_an_area_that_a_slot_parts_is_several_and_crumbs_are_left_out(right, parts):
    """The slot is at x = 50 to 52, and the area 19 mm high."""
    slotted = LEFT.difference(box(50, 40, 52, 90))
    [[found], loose] = shared(area(40, 41, right, 60), outlines=[slotted])
    assert sorted((x0, x1) for x0, _, x1, _ in found) == parts
    assert loose == []


def objects(*rows):
    """Rows: what is painted and its subpaths."""
    return SimpleNamespace(
        objects=SimpleNamespace(
            painted=np.array([painted for painted, *_ in rows], np.uint8),
            paths=lambda chosen: [[np.array(p, float) for p in rows[n][1:]] for n in chosen.tolist()],
        )
    )


@pytest.mark.parametrize(
    ("points", "bounds"),
    [
        pytest.param(rectangle(10, 20, 40, 32), [(10, 20, 40, 32)], id="a rectangle"),
        pytest.param([(10, 20), (40, 20), (10, 32), (10, 20)], [(10, 20, 40, 32)], id="a triangle"),
        pytest.param([(10, 20), (40, 20), (10, 20)], [], id="there and back"),
        pytest.param([(10, 20), (40, 20), (40, 32), (10, 32)], [], id="open"),
        pytest.param([(10, 20), (40, 20), (40, 32), (10, 20.009)], [(10, 20, 40, 32)], id="all but closed"),
        pytest.param([(10, 20), (40, 20), (40, 32), (10, 20.011)], [], id="not quite closed"),
        pytest.param(rectangle(10, 20, 10.5, 22), [], id="one square millimetre"),
        pytest.param(rectangle(10, 20, 10.5, 22.5), [(10, 20, 10.5, 22.5)], id="more"),
        pytest.param([(10, 20), (np.nan, 20), (40, 32), (10, 20)], [], id="no numbers"),
        pytest.param(
            [(10, 20), (30, 40), (30, 20), (10, 40), (10, 20)], [(10, 20, 20, 40), (20, 20, 30, 40)], id="a bow tie"
        ),
    ],
)
@pytest.mark.parametrize("painted", [Painted.FILL, Painted.STROKE])
def test_closed_shapes_of_rows(points, bounds, painted):
    page = objects((Painted.TEXT, rectangle(0, 0, 90, 90)), (painted, points), (painted, rectangle(60, 1, 70, 4)))
    found = shapes_of(page, np.array([True, True, False]))
    assert sorted(shape.bounds for shape in found) == [pytest.approx(each, abs=0.01) for each in bounds]


def test_shapes_that_overlap_are_one():
    page = objects(
        (Painted.FILL, rectangle(10, 20, 40, 32), rectangle(60, 1, 70, 4)), (Painted.FILL, rectangle(35, 20, 50, 32))
    )
    assert sorted(s.bounds for s in shapes_of(page, np.ones(2, bool))) == [(10, 20, 50, 32), (60, 1, 70, 4)]


def test_no_more_than_a_thousand_rows_are_looked_at():
    page = objects(*[(Painted.FILL, rectangle(4 * n, 1, 4 * n + 2, 3)) for n in range(1001)])
    assert len(shapes_of(page, np.ones(1001, bool))) == 1000


def test_areas_come_from_the_ticket_then_from_steps_then_from_glue(tmp_path):
    page = Drawing(90, 60).fill("Glue", rect=(5, 6, 15, 26)).fill("Mill Brown", rect=(50, 6, 60, 26))
    page.layer("Lines").stroke((0, 0, 0, 1), rectangle(20, 6, 30, 16)[:-1]).end_layer()
    page.layer("Flap", group="Structural", step="Gluing").stroke(
        (0, 0, 0, 1), rectangle(1, 40, 11, 55)[:-1]
    ).end_layer()
    page.layer("Code", group="Positions", step="Barcode").fill((0, 0, 0, 1), rect=(40, 40, 61, 55)).end_layer()
    ticket = Ticket.model_validate({"areas": [{"is": "Code", "box": [70, 5, 80, 9]}]})
    found = areas_of(read_artwork(page.save(tmp_path / "a.pdf"), ticket).pages[0], ticket)
    assert [(each.kind, each.known) for each in found] == [
        ("code", "stated"), ("glue flap", "read"), ("bar code", "read"), ("glue", "read"),
    ]  # fmt: skip
    places = [(70, 5, 80, 9), (1, 40, 11, 55), (40, 40, 61, 55), (5, 6, 15, 26)]
    assert [each.shape.bounds for each in found] == [pytest.approx(place, abs=0.02) for place in places]
    assert all(each.because for each in found)
    assert isinstance(found[0].shape, Polygon)


def test_a_page_without_areas(tmp_path):
    assert areas_of(read_artwork(Drawing(90, 60).save(tmp_path / "a.pdf")).pages[0], None) == []
