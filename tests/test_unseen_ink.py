"""Why nothing is seen of what is painted in a separation, on tables and plates made in the test."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Alteration, Layer, PageBoxes
from preflight.errors import NotMeasured
from preflight.measures import unseen_ink
from preflight.measures.unseen_ink import why_not_painted, why_not_seen
from tests.test_object_places import spot, table, text, thing
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

BOX = (24.0, 20.0, 30.0, 26.0)
NOWHERE = (0.0, 0.0, 0.0, 0.0)
LAYERS = [Layer("Old price", prints=False), Layer("Art", prints=True), Layer("Draft", prints=False)]


class Alone(RectPage):
    """A page that shows other rectangles where only some of its objects are painted."""

    def __init__(self, inks: dict[str, Rects], alone: dict[str, Rects] | None = None):
        super().__init__(70, 50, inks)
        self.alone, self.layers, self.left_out = alone, LAYERS, list[Any]()

    def altered(self, alteration: Alteration, dpi=100, box=None, edges="smooth"):
        self.left_out.append((alteration.left_out, dpi, box))
        if self.alone is None:
            raise NotMeasured("over a bound")
        return RectPage(70, 50, self.alone).window(box or self.box_mm, dpi, edges=edges)


def job_with(page: Alone, *things: dict[str, Any], cut: Any = None) -> Any:
    page.objects = table(*things)
    its_job = job(*page.inks, page=page)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=cut)
    return its_job


@pytest.mark.parametrize(
    ("things", "told", "not_told"),
    [
        ([thing(BOX, layer=0, visible=False)], ["hidden layer Old price"], ["layers", "clipped", "hidden by"]),
        ([thing(BOX, layer=2), thing(BOX, layer=0)], ["hidden layers Draft, Old price"], []),
        ([thing(BOX, layer=1, visible=False)], ["hidden by the file's layers"], ["Art", "text"]),
        ([thing((70, 20, 80, 26), shown=NOWHERE)], ["off the page"], ["clipped"]),
        ([thing((69.9, 20, 80, 26), shown=NOWHERE)], ["clipped"], ["off the page"]),
        ([thing((20, 50, 30, 60), shown=NOWHERE)], ["off the page"], ["clipped"]),
        ([thing((-9, 20, 0, 26), shown=NOWHERE)], ["off the page"], ["clipped"]),
        ([thing((20, -9, 30, 0), shown=NOWHERE)], ["off the page"], ["clipped"]),
        ([thing((20, -9, 30, 0.1), shown=NOWHERE)], ["clipped"], ["off the page"]),
        ([thing(BOX, alpha=0)], ["transparent"], ["clipped", "hidden"]),
        ([thing(BOX, alpha=0.1)], ["none of it shows"], ["transparent"]),
        ([text(BOX, visible=False)], ["invisible text"], ["hidden"]),
        ([thing(BOX, shown=NOWHERE, layer=0)], ["hidden layer"], ["clipped"]),
        ([thing(BOX, shown=NOWHERE, alpha=0)], ["clipped"], ["transparent"]),
        ([thing(BOX, shown=NOWHERE), text(BOX, visible=False)], ["clipped", "invisible text", ";"], ["hidden"]),
    ],
)
def test_why_objects_are_not_painted(things, told, not_told):
    """The page is 70 x 50 mm."""
    its_job = job_with(Alone({}), thing(BOX), *things)
    words = why_not_painted(its_job, its_job.page.objects, np.arange(1, len(things) + 1))
    assert [word for word in told if word not in words] == []
    assert [word for word in not_told if word in words] == []


VARYING = Colour("Separation", (("Rust", 1.0),), varies=True)
PICTURE = thing(BOX, VARYING, painted=Painted.IMAGE)
GRADIENT = thing(BOX, VARYING, painted=Painted.SHADING)
FILL = thing(BOX, spot("Rust"))


@pytest.mark.parametrize(
    ("things", "alone", "here", "told"),
    [
        ([FILL], {"Rust": solid(BOX)}, [], ["covered"]),
        ([FILL], {"Rust": [(BOX, 0.02)]}, [], ["covered"]),
        ([FILL], {"Rust": [(BOX, 0.015)]}, [], ["masked", "0 %"]),
        ([FILL], {"Rust": []}, [], ["masked", "0 %"]),
        ([FILL, PICTURE], {"Rust": []}, [], ["masked"]),
        ([PICTURE], {"Rust": []}, [], ["a picture that has none"]),
        ([GRADIENT], {"Rust": []}, [], ["a gradient or pattern that has none"]),
        ([GRADIENT, PICTURE], {"Rust": []}, [], ["pictures and gradients that have none"]),
        ([PICTURE], {"Rust": []}, solid((60, 40, 65, 45)), ["a picture", "outside the cut"]),
        ([FILL], {"Rust": solid((5, 20, 9.5, 26))}, [], ["masked"]),
        ([FILL], None, [], ["covered by other artwork, masked, or at 0 %"]),
    ],
    ids=["it shows alone", "just so", "hardly", "not even alone", "a fill and a picture", "a picture", "a gradient",
         "both", "with ink elsewhere", "it shows alone, and outside the cut", "it cannot be drawn"],
)  # fmt: skip
def test_why_what_is_painted_inside_the_cut_is_not_seen(things, alone, here, told):
    its_job = job_with(Alone({"Rust": here}, alone), *things, cut=(10, 8, 60, 43))
    words = why_not_seen(its_job, "Rust", np.arange(len(things)))
    assert [word for word in told if word not in words] == []
    assert ("outside the cut" in words) is bool(here)


def test_all_other_objects_are_left_out_and_its_places_are_looked_at():
    page = Alone({"Rust": []}, {"Rust": []})
    its_job = job_with(page, thing(BOX), FILL, thing((40, 30, 44, 36), spot("Rust")), thing(BOX, spot("Moss")))
    why_not_seen(its_job, "Rust", np.array([1, 2]))
    assert page.left_out == [
        ((0, 3), 300, (23.5, 19.5, 30.5, 26.5)), ((0, 3), 300, (39.5, 29.5, 44.5, 36.5)),
    ]  # fmt: skip


def test_no_more_than_some_are_drawn_by_themselves(monkeypatch):
    monkeypatch.setattr(unseen_ink, "MOST_LOOKS", 2)
    page = Alone({"Rust": []}, {"Rust": []})
    its_job = job_with(page, FILL)
    told = [why_not_seen(its_job, "Rust", np.array([0])) for _ in range(3)]
    assert len(page.left_out) == 2
    assert told[0] == told[1] != told[2]


@pytest.mark.parametrize(("most", "drawn"), [(1, 0), (2, 1)])
def test_on_a_page_of_very_many_objects_none_are_drawn_by_themselves(monkeypatch, most, drawn):
    monkeypatch.setattr(unseen_ink, "MOST_OBJECTS", most)
    page = Alone({"Rust": []}, {"Rust": []})
    why_not_seen(job_with(page, FILL, FILL), "Rust", np.array([0]))
    assert len(page.left_out) == drawn
