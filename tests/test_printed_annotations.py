"""Which annotations paint something inside the cut: the last objects of a page, as far as they lie in one."""

from __future__ import annotations

from typing import Any

import pytest

from preflight.artwork.page.page import Annotation, PageBoxes
from preflight.measures.printed_annotations import annotations_that_print
from tests.test_object_places import table, thing
from tests.test_overlaps import RectPage
from tests.test_units import job

NOTE = (20.0, 15.0, 32.0, 23.0)
ART = thing((10, 8, 60, 44))
IN_NOTE = thing((21, 16, 30, 20))


def told(notes: list[Annotation], *things: dict[str, Any], inside: Any = (10, 8, 60, 44)) -> list[Any]:
    page = RectPage(70, 50, {})
    page.objects = table(*things)
    its_job = job("Rust", page=page)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=inside)
    its_job.page.annotations = notes
    return annotations_that_print(its_job)


@pytest.mark.parametrize(
    ("kind", "prints"),
    [("Stamp", True), ("FreeText", True), ("", True), ("Link", False), ("Popup", False), ("TrapNet", False),
     ("PrinterMark", False)],
)  # fmt: skip
def test_kinds_that_somebody_writes_with(kind, prints):
    found = told([Annotation(kind, NOTE, "move this")], ART, IN_NOTE)
    assert len(found) == prints
    if prints:
        assert (found[0].value, found[0].group, found[0].places[0].box_mm) == (1, kind, NOTE)
        assert found[0].facts["kind"]
        assert "move this" in str(found[0].facts["words"])


@pytest.mark.parametrize(
    ("things", "paints"),
    [
        ([ART, IN_NOTE], True),
        ([ART], False),
        ([IN_NOTE, ART], False),
        ([], False),
        ([ART, thing((19.91, 14.91, 32.09, 23.09))], True),
        ([ART, thing((19.8, 15, 32, 23))], False),
        ([ART, thing((20, 14.8, 32, 23))], False),
        ([ART, thing((20, 15, 32.2, 23))], False),
        ([ART, thing((20, 15, 32, 23.2))], False),
        ([ART, {**IN_NOTE, "visible": False}], False),
        ([ART, IN_NOTE, {**ART, "visible": False}], True),
    ],
    ids=["in it", "nothing", "before the artwork", "an empty page", "reaching out by a tenth", "out at the left",
         "out below", "out at the right", "out above", "what does not show", "behind what does not show"],
)  # fmt: skip
def test_an_annotation_paints_what_is_painted_last_within_it(things, paints):
    assert bool(told([Annotation("Stamp", NOTE)], *things)) is paints


def test_each_of_several_annotations_is_asked_by_itself():
    other = (40.0, 30.0, 50.0, 40.0)
    notes = [Annotation("Stamp", NOTE), Annotation("FreeText", (35.0, 10.0, 38.0, 12.0)), Annotation("Stamp", other)]
    found = told(notes, ART, IN_NOTE, thing((41, 31, 45, 35)), thing((42, 32, 45, 35)))
    assert [one.places[0].box_mm for one in found] == [NOTE, other]


@pytest.mark.parametrize(
    ("inside", "counts"),
    [((31.5, 8, 60, 44), True), ((33, 8, 60, 44), False), ((10, 22.992, 60, 44), False), ((10, 22.991, 60, 44), True)],
    ids=["half a millimetre of it", "none of it", "less than 0.1 mm2", "more"],
)
def test_it_counts_where_a_tenth_of_a_square_millimetre_is_inside_the_cut(inside, counts):
    assert bool(told([Annotation("Stamp", NOTE)], ART, IN_NOTE, inside=inside)) is counts


def test_long_words_are_cut_off_and_none_are_none():
    words = [str(told([Annotation("Stamp", NOTE, said)], ART, IN_NOTE)[0].facts["words"])
             for said in ("", "a  b\nc", "x" * 40, "x" * 41)]  # fmt: skip
    assert words[0] == ""
    assert "a b c" in words[1]
    assert ("x" * 40 in words[2], "…" in words[2]) == (True, False)
    assert ("x" * 40 in words[3], "x" * 41 in words[3], "…" in words[3]) == (True, False, True)


def test_no_annotation_no_reading():
    assert told([], ART, IN_NOTE) == []
