"""Knock-out groups: every element meets what lay below the group, and none of the earlier ones (ISO 32000-2, 11.4.6.2).

The expected tints come from a compositor of a few lines, written from the standard's formulas (11.3.6, 11.4.6): at a
place the last element whose shape covers it decides, whatever its opacity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import OFF, ON, embed_font, group, rect
from tests.referees import ghostscript_plates, needs_ghostscript

INKS = ("Cyan", "Magenta", "Yellow", "Black", "Gold")
BELOW = {"Cyan": 0.4, "Gold": 0.5}
Tints = Mapping[str, float]


@dataclass(frozen=True)
class Element:
    """A rectangle in CMYK or in the spot Gold."""

    box: tuple[float, float, float, float]
    tints: Tints
    alpha: float = 1.0
    mode: str = "Normal"
    overprints: bool = False

    def covers(self, x: float, y: float) -> bool:
        return self.box[0] < x < self.box[2] and self.box[1] < y < self.box[3]

    def painted(self, ink: str) -> bool:
        """With overprint mode 1 a tint of zero leaves its plate alone, and a spot leaves all others."""
        return not self.overprints or self.tints.get(ink, 0) > 0


def result(
    elements: list[Element], x: float, y: float, *, isolated: bool, alpha: float, knockout: bool = True
) -> dict[str, float]:
    """Tints of every ink at a place, the group lying over ``BELOW``."""
    found = {}
    for ink in INKS:
        first = BELOW.get(ink, 0.0)
        tint, shown = (0.0, 0.0) if isolated else (first, 1.0)
        below, below_shown = tint, shown
        for element in elements:
            if not element.covers(x, y):
                continue
            if knockout:
                tint, shown = below, below_shown
            own = element.tints.get(ink, 0.0)
            blended = {"Normal": own, "Multiply": 1 - (1 - tint) * (1 - own)}[element.mode]
            if not element.painted(ink):
                blended = tint
            together = shown + element.alpha - shown * element.alpha
            mixed = (1 - shown) * own + shown * blended
            share = element.alpha / together if together else 0.0
            tint, shown = (1 - share) * tint + share * mixed, together
        shape = shown if isolated else 1.0
        found[ink] = (1 - alpha * shape) * first + alpha * shape * tint
    return found


LOW, HIGH, WIDE = (5, 5, 25, 25), (15, 15, 45, 35), (8, 2, 40, 38)
HALF_CYAN = Element(LOW, {"Cyan": 1.0, "Black": 0.2}, 0.5)
HALF_MAGENTA = Element(HIGH, {"Magenta": 0.8}, 0.5)
SOLID_YELLOW = Element(HIGH, {"Yellow": 0.9})
MULTIPLIED = Element(HIGH, {"Cyan": 0.5, "Yellow": 0.3}, mode="Multiply")
GOLD = Element(HIGH, {"Gold": 0.9}, 0.7)
OVERPRINTS = Element(HIGH, {"Magenta": 0.6}, overprints=True)
SPOT_OVERPRINTS = Element(HIGH, {"Gold": 0.3}, overprints=True)
CASES = {
    "two halves": [HALF_CYAN, HALF_MAGENTA],
    "a half, then a solid": [HALF_CYAN, SOLID_YELLOW],
    "a solid, then a half": [Element(LOW, {"Black": 1.0}), HALF_MAGENTA],
    "multiplied over a solid": [Element(LOW, {"Magenta": 1.0}), MULTIPLIED],
    "a spot at a share": [HALF_CYAN, GOLD],
    "what overprints": [Element(LOW, {"Cyan": 0.9, "Black": 0.4}), OVERPRINTS],
    "a spot that overprints": [Element(LOW, {"Cyan": 0.9, "Black": 0.5}), SPOT_OVERPRINTS],
    "three": [HALF_CYAN, Element(WIDE, {"Yellow": 0.6}, 0.5), HALF_MAGENTA],
    "the first lies alone": [Element((30, 2, 44, 12), {"Black": 0.5}, 0.5), HALF_CYAN, HALF_MAGENTA],
}
PLACES = [(10, 10), (20, 20), (40, 30), (10, 30), (42, 8), (2, 2)]


def drawn(elements: list[Element], *, isolated: bool, alpha: float, knockout: bool = True) -> Drawing:
    page = Drawing(50, 40)
    page.spot("Gold")
    page.fill((BELOW["Cyan"], 0, 0, 0), rect=(0, 0, 50, 40)).gs(**ON).fill("Gold", BELOW["Gold"], rect=(0, 0, 50, 40))
    words = []
    for element in elements:
        flags = ON if element.overprints else OFF
        page.gs(ca=element.alpha, BM=Name("/" + element.mode), **flags)
        words.append(f"/GS{len(page.resources.ExtGState.keys()) - 1} gs")
        if set(element.tints) == {"Gold"}:
            words.append(f"/{page.spot('Gold')} cs {element.tints['Gold']} scn")
        else:
            words.append(" ".join(str(element.tints.get(ink, 0)) for ink in INKS[:4]) + " k")
        words.append(rect(*element.box) + " f")
    page.gs(ca=alpha, BM=Name.Normal, **OFF)
    whole = group(K=knockout, I=isolated, CS=Name.DeviceCMYK)
    return page.raw(f"/{page.form(' '.join(words), bbox_mm=(0, 0, 50, 40), group=whole)} Do")


def at(plates: Mapping[str, NDArray[np.floating[Any]]], x: float, y: float) -> dict[str, float]:
    found = {}
    for ink in INKS:
        plate = plates.get(ink, np.zeros((1, 1)))
        mm = plate.shape[1] / 50
        found[ink] = float(plate[min(int((40 - y) * mm), len(plate) - 1), int(x * mm)])
    return found


def ours(drawing: Drawing, folder) -> dict[str, NDArray[np.float64]]:
    plates = read_artwork(drawing.save(folder / "art.pdf")).pages[0].plates(72)
    return {name: plates.tint(name) / 255 for name in plates.names}


@pytest.mark.parametrize("alpha", [1.0, 0.5])
@pytest.mark.parametrize("isolated", [True, False], ids=["isolated", "not isolated"])
@pytest.mark.parametrize("name", CASES)
def test_an_element_meets_what_lay_below_the_group(tmp_path, name, isolated, alpha):
    found = ours(drawn(CASES[name], isolated=isolated, alpha=alpha), tmp_path)
    for x, y in PLACES:
        expected = result(CASES[name], x, y, isolated=isolated, alpha=alpha)
        assert at(found, x, y) == pytest.approx(expected, abs=0.012), (x, y)


def test_the_same_elements_in_a_plain_group_meet_each_other(tmp_path):
    elements = CASES["two halves"]
    found = ours(drawn(elements, isolated=True, alpha=1.0, knockout=False), tmp_path)
    expected = result(elements, 20, 20, isolated=True, alpha=1.0, knockout=False)
    assert at(found, 20, 20) == pytest.approx(expected, abs=0.012)
    assert expected["Cyan"] != result(elements, 20, 20, isolated=True, alpha=1.0)["Cyan"]


# -- other elements, and other groups that are painted element by element --------------------------------------------

NESTED = {"K": True, "I": True, "CS": Name.DeviceCMYK}
OVER_HALF = "/GS0 gs 1 0 0 0.2 k {low} f {other}"


def with_other(other: str, **keys: object) -> Drawing:
    """A half of cyan, then another element, in an isolated knock-out group on bare board."""
    page = Drawing(50, 40)
    embed_font(page)
    page.gs(ca=0.5).gs(ca=1.0)
    page.resources.XObject.Picture = page.pdf.make_stream(
        bytes([0, 204, 0, 0]), Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
        ColorSpace=Name.DeviceCMYK, **keys,
    )  # fmt: skip
    inner = group(I=True, CS=Name.DeviceCMYK)
    page.form(f"/GS0 gs 0 0.8 0 0 k {rect(*HIGH)} f 0 0 0 1 k {rect(30, 20, 45, 35)} f", bbox_mm=HIGH, group=inner)
    words = OVER_HALF.format(low=rect(*LOW), other=other)
    return page.raw(f"/{page.form(words, bbox_mm=(0, 0, 50, 40), group=group(**NESTED))} Do")


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        # The square of a picture, and of a shading all that its clip lets through.
        (f"q {30 * MM} 0 0 {20 * MM} {15 * MM} {15 * MM} cm /Picture Do Q", {"Magenta": 0.4}),
        # A letter that fills the place, from its outline.
        (f"0 0.8 0 0 k BT /F0 {60 * MM} Tf {13 * MM} {5 * MM} Td (I) Tj ET", {"Magenta": 0.4}),
        # A group is one element: its shape is that of all that is in it.
        ("/Fm1 Do", {"Magenta": 0.2}),
        # A stroke knocks out in its own width.
        (f"0 0.8 0 0 K {20 * MM} w {20 * MM} {20 * MM} m {45 * MM} {20 * MM} l S", {"Magenta": 0.8}),
    ],
    ids=["picture", "text", "group", "stroke"],
)
def test_other_elements_knock_out_too(tmp_path, other, expected):
    found = at(ours(with_other(other), tmp_path), 22, 22)
    assert found == pytest.approx({ink: expected.get(ink, 0.0) for ink in INKS}, abs=0.012)


@pytest.mark.parametrize("alpha", [0.5, 0.8])
def test_a_faint_group_that_is_not_isolated_still_blends_with_what_lies_below(tmp_path, alpha):
    """The renderer takes it for isolated; its elements take the group's opacity over."""
    elements = [MULTIPLIED, Element((2, 2, 12, 12), {"Gold": 0.8}, 0.5, "Multiply")]
    found = ours(drawn(elements, isolated=False, alpha=alpha, knockout=False), tmp_path)
    for x, y in ((30, 25), (8, 8), (2, 30)):
        expected = result(elements, x, y, isolated=False, alpha=alpha, knockout=False)
        assert at(found, x, y) == pytest.approx(expected, abs=0.012), (x, y)


def test_what_a_solid_object_covers_in_a_faint_group_stays_covered(tmp_path):
    elements = [Element(LOW, {"Cyan": 0.5, "Yellow": 0.3}, mode="Multiply"), SOLID_YELLOW]
    found = ours(drawn(elements, isolated=False, alpha=0.5, knockout=False), tmp_path)
    for x, y in PLACES:
        expected = result(elements, x, y, isolated=False, alpha=0.5, knockout=False)
        assert at(found, x, y) == pytest.approx(expected, abs=0.012), (x, y)


def test_elements_of_a_faint_group_blend_with_each_other_and_with_what_lies_below(tmp_path):
    elements = [MULTIPLIED, Element(LOW, {"Cyan": 0.5}, mode="Multiply")]
    found = ours(drawn(elements, isolated=False, alpha=0.5, knockout=False), tmp_path)
    for x, y in PLACES:
        expected = result(elements, x, y, isolated=False, alpha=0.5, knockout=False)
        assert at(found, x, y) == pytest.approx(expected, abs=0.012), (x, y)


def refused() -> dict[str, Drawing]:
    blended = Drawing(50, 40)
    blended.form(f"0 0.5 0 0 k {rect(*HIGH)} f", bbox_mm=(0, 0, 50, 40), group=group(I=False))
    mask = Dictionary(S=Name.Luminosity, G=blended.resources.XObject.Fm0)
    masked = Drawing(50, 40).gs(SMask=Name("/None"))
    masked.resources.ExtGState.Masked = Dictionary(SMask=masked.pdf.copy_foreign(blended.pdf.make_indirect(mask)))
    inner = f"/Masked gs 1 0 0 0 k {rect(*LOW)} f 0 1 0 0 k {rect(*HIGH)} f"
    masked.raw(f"/{masked.form(inner, bbox_mm=(0, 0, 50, 40), group=group(**NESTED))} Do")
    return {
        "a soft mask in a knock-out group": masked,
        "a picture with a mask of its own": with_other(
            f"q {30 * MM} 0 0 {20 * MM} {15 * MM} {15 * MM} cm /Picture Do Q", Mask=Array([0, 0, 9, 9, 0, 0, 0, 0])
        ),
    }


@pytest.mark.parametrize("name", refused())
def test_where_something_cannot_be_drawn_truly_the_page_is_uncertain(tmp_path, name):
    page = read_artwork(refused()[name].save(tmp_path / "art.pdf")).pages[0]
    assert page.plates(72).uncertain


DISPUTED = {
    (
        "what overprints",
        True,
    ): "where nothing lies below, 11.7.4.3 lets the object's own tint of zero show; it comes solid",
    ("a spot that overprints", True): "the same",
}
"""Where Ghostscript comes to something else, and why the standard is not on its side."""


@needs_ghostscript
@pytest.mark.parametrize("isolated", [True, False], ids=["isolated", "not isolated"])
@pytest.mark.parametrize("name", CASES)
def test_ghostscript_agrees(tmp_path, name, isolated):
    file = drawn(CASES[name], isolated=isolated, alpha=1.0).save(tmp_path / "art.pdf")
    found = ghostscript_plates(file, tmp_path / "gs", dpi=72, finer=1)
    differs = [
        (x, y)
        for x, y in PLACES
        if at(found, x, y) != pytest.approx(result(CASES[name], x, y, isolated=isolated, alpha=1.0), abs=0.02)
    ]
    assert bool(differs) == ((name, isolated) in DISPUTED), differs
