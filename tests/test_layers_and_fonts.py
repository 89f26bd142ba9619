"""Objects on layers that are seen otherwise than printed, and texts without a font program, on objects made here."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.objects import FontFacts, Painted
from preflight.artwork.page.page import Layer
from preflight.artwork.page.separations import Separation
from preflight.measures.fonts import texts_without_font_program
from preflight.measures.layers import layers_seen_otherwise
from tests.test_finishes import ALL, CYAN, DIE, MOSS, WHITE, family, table

F, T = Painted.FILL, Painted.TEXT
CUT = shapely.box(5, 7, 65, 47)
AT = (20.0, 12.0, 30.0, 15.0)
RGB = family("DeviceRGB", ("Cyan", 1.0), not_a_plate="RGB")


def job(objects: Any, layers: Any = ()) -> Any:
    separations = [Separation("Moss", "spot", ""), Separation("Cutting", "cut", "")]
    page = SimpleNamespace(objects=objects, layers=list(layers), separations=separations, number=3, over_bounds=[])
    return SimpleNamespace(page=page, inside_shape=CUT)


LAYERS = [
    Layer("Seen", True, seen=True), Layer("Claim", False, seen=True), Layer("Below", True, seen=False),
    Layer("Dimensions", False, seen=True), Layer("", False, seen=True), Layer("Dimensions", True, seen=False),
    Layer("Any", False, seen=True, step_group="Structural", step_type="Cutting"),
    Layer("Dimensions", False, seen=True, step_group="White", step_type="White"),
]  # fmt: skip


def seen(*rows: tuple[int, Any, Any], visible: Any = None, alpha: float = 1.0) -> dict[str, tuple[Any, str]]:
    """Rows: the layer, a box and a colour; what is printed is visible."""
    objects = table(*((F, box, colour) for _, box, colour in rows))
    objects.layer = np.array([layer for layer, _, _ in rows])
    prints = np.array([layer < 0 or LAYERS[layer].prints for layer, _, _ in rows])
    objects.visible, objects.alpha = prints if visible is None else np.array(visible), np.full(len(rows), alpha)
    found = layers_seen_otherwise(job(objects, LAYERS), within_mm=2.0)
    assert all(place.page == 3 for reading in found for place in reading.places)
    return {str(reading.facts["layer"]): (reading.value, reading.case) for reading in found}


@pytest.mark.parametrize(
    ("layer", "found"),
    [
        (-1, {}), (0, {}), (1, {"Claim": (1.0, "not printed")}), (2, {"Below": (1.0, "not seen")}), (3, {}),
        (4, {"without a name": (1.0, "not printed")}), (5, {"Dimensions": (1.0, "not seen")}), (6, {}),
        (7, {"Dimensions": (1.0, "not printed")}),
    ],
    ids=["none", "seen and printed", "seen only", "printed only", "a technical one by its name", "without a name",
         "technical and printed", "technical by its step", "a step that prints, whatever it is called"],
)  # fmt: skip
def test_layers_that_are_seen_otherwise_than_printed(layer, found):
    assert seen((layer, AT, CYAN)) == found
    assert seen((0, AT, CYAN), (layer, AT, CYAN)) == found


@pytest.mark.parametrize(
    ("colour", "counts"), [(CYAN, True), (WHITE, True), (MOSS, True), (ALL, True), (RGB, True), (DIE, False)],
    ids=["an ink", "paper white", "a spot", "registration colour", "RGB", "the die"],
)  # fmt: skip
def test_what_is_painted_in_technical_separations_does_not_count(colour, counts):
    assert bool(seen((1, AT, colour))) is counts


@pytest.mark.parametrize(
    ("box", "counts"), [((66.8, 12, 80, 15), True), ((67.2, 12, 80, 15), False), ((20, 2, 30, 5.2), True)]
)
def test_objects_count_up_to_so_far_outside_the_cut(box, counts):
    """2 mm, less a fringe of 0.1 mm."""
    assert bool(seen((1, box, CYAN))) is counts


def test_objects_are_counted_by_the_layer():
    rows = [(1, AT, CYAN), (2, AT, CYAN), (1, (40.0, 20.0, 44.0, 23.0), MOSS), (1, (90.0, 20, 95, 23), MOSS)]
    assert seen(*rows) == {"Claim": (2.0, "not printed"), "Below": (1.0, "not seen")}
    assert seen(*rows, alpha=0.0) == {}
    shown_for_other_reasons = [True, True, False, False]
    assert seen(*rows, visible=shown_for_other_reasons) == {"Claim": (1.0, "not printed"), "Below": (1.0, "not seen")}


# Fonts ------------------------------------------------------------------------------------------------------------

FONTS = [FontFacts("Sans", True), FontFacts("Serif", False), FontFacts("Script", False)]


def texts(*rows: tuple[Painted, int, Any], fonts: list[FontFacts] = FONTS) -> dict[str, tuple[Any, int]]:
    objects = table(*((what, box, CYAN) for what, _, box in rows))
    objects.font, objects.fonts = np.array([font for _, font, _ in rows]), fonts
    found = texts_without_font_program(job(objects))
    assert all(reading.group == reading.facts["font"] for reading in found)
    return {str(reading.facts["font"]): (reading.value, len(reading.places)) for reading in found}


def test_texts_without_a_font_program_are_counted_by_the_font():
    other, outside = (40.0, 20.0, 44.0, 23.0), (90.0, 20.0, 95.0, 23.0)
    rows = [(T, 2, AT), (T, 0, AT), (T, 1, AT), (T, 2, other), (T, 1, outside), (T, -1, AT), (F, 1, AT)]
    assert texts(*rows) == {"Serif": (1.0, 1), "Script": (2.0, 2)}
    assert texts(*rows, fonts=[FontFacts("Sans", True)] * 3) == {}
    assert texts((T, 0, AT), (T, -1, AT)) == {}
    assert texts((T, -1, AT), fonts=[FontFacts("Serif", False)]) == {}
