"""Derived pages to rasters: how many pixels, where they lie, and which channel is which."""

from __future__ import annotations

import io

import numpy as np
import pikepdf
import pytest
from pikepdf import Array

from preflight.artwork.platemaking.composed_groups import Compose, Paint
from preflight.artwork.platemaking.pdfium import DerivedDocument, device_matrix, pixels


@pytest.mark.parametrize(
    ("box", "dpi", "expected"),
    [
        ((10, 20, 35.4, 70.8), 100, (100, 200)),
        ((10, 20, 35.4, 70.8), 25.4, (26, 51)),  # a part of a pixel is one
        ((10, 20, 35.4 + 1e-8, 70.8), 100, (100, 200)),  # a hair's breadth is none
        ((10, 20, 10.001, 20.3), 25.4, (1, 1)),
        ((10, 20, 10, 20), 300, (1, 1)),
    ],
)
def test_a_box_has_so_many_pixels(box, dpi, expected):
    assert pixels(box, dpi) == expected


def test_places_of_the_page_are_turned_a_little_about_the_middle_of_the_box():
    """A box from 10 to 40 and from 5 to 25 mm, two pixels to the millimetre; points are half a millimetre."""
    a, b, c, d, e, f = device_matrix((10, 20, 110, 220), (0.5, 0, 0, 0.5, -5, -10), (10, 5, 40, 25), 50.8)

    def pixel(x_pt: float, y_pt: float) -> tuple[float, float]:
        x, y = x_pt - 10, 220 - y_pt  # from the upper-left corner of the media box, down
        return a * x + c * y + e, b * x + d * y + f

    assert pixel(60, 50) == pytest.approx((30, 20), abs=1e-9)  # 25, 15 mm
    assert pixel(50, 60) == pytest.approx((20.001, 9.999), abs=1e-6)  # 20, 20 mm
    assert pixel(80, 66) == pytest.approx((50.0016, 4.002), abs=1e-6)  # 35, 23 mm


def document(*contents: str, drawings=(), **keys: bool) -> DerivedDocument:
    out = pikepdf.new()
    for words in contents:
        page = out.add_blank_page(page_size=(40, 30))
        page.obj.MediaBox = Array([0, 0, 40, 30])
        page.obj.Contents = out.make_stream(words.encode())
    target = io.BytesIO()
    out.save(target)
    return DerivedDocument(target, drawings, **keys)


PLAIN = (1, 0, 0, 1, 0, 0)
LEFT = "0.2 0.4 0.8 rg 0 10 20 20 re f"


@pytest.mark.parametrize("opaque", [False, True])
def test_channels_come_in_order_and_solid_is_255(opaque):
    drawn = document("1 0 0 rg 0 0 1 1 re f", LEFT, opaque=opaque).render(1, PLAIN, 40, 30)
    assert drawn.shape == (30, 40, 3)
    assert drawn[5, 5].tolist() == [204, 153, 51]
    assert drawn[5, 30].tolist() == [0, 0, 0]
    assert drawn[25, 5].tolist() == [0, 0, 0]


@pytest.mark.parametrize("keeps", [False, True])
def test_pages_are_painted_one_on_the_other_as_the_drawing_says(keeps):
    over = "0 0 0 rg 10 10 30 10 re f"
    twice = document(LEFT, over, drawings=[(Paint(1), Paint(0)), (Paint(0), Paint(1))], keeps=keeps)
    for _ in range(2):
        first, second = (twice.render(number, PLAIN, 40, 30) for number in (0, 1))
        assert first[15, 15].tolist() == [204, 153, 51]
        assert second[15, 15].tolist() == [255, 255, 255]
        assert first[15, 30].tolist() == second[15, 30].tolist() == [255, 255, 255]
    twice.close()


def test_edges_are_smoothed_or_sharp():
    document_ = document("0 0 0 rg 0 0 m 40 30 l 40 0 l f")
    smooth, sharp = (document_.render(0, PLAIN, 40, 30, sharp=sharp)[:, :, 0] for sharp in (False, True))
    assert len(np.unique(smooth)) > 4
    assert np.unique(sharp).tolist() == [0, 255]


BOX = (4.0, 6.0, 16.0, 14.0)
"""Of the group, from the upper-left corner, y down."""
WHOLE = "0 0.5 1 rg 0 0 40 30 re f"


def composed(group: Compose, below: str = "", *further: str, matrix=PLAIN, size=(40, 30)) -> np.ndarray:
    """Pages: what lies below, the group's own, and others; what is shown of it as light."""
    drawn = document(below, WHOLE, *further, drawings=[(Paint(0), group)])
    return 255 - drawn.render(0, matrix, *size)


def test_a_group_is_composed_where_it_shows():
    found = composed(Compose((Paint(1),), BOX, isolated=True))
    assert found[10, 10].tolist() == [0, 128, 255]
    inked = (found[:, :, 0] < 255).nonzero()
    assert (inked[0].min(), inked[0].max()) == (5, 15)  # a pixel round it
    assert (inked[1].min(), inked[1].max()) == (3, 17)


def test_a_group_beside_what_is_drawn_is_left_out():
    for box in ((50.0, 6.0, 60.0, 14.0), (-20.0, 6.0, -5.0, 14.0), (4.0, 40.0, 16.0, 50.0), (4.0, -9.0, 16.0, -4.0)):
        assert (composed(Compose((Paint(1),), box, isolated=True)) == 255).all()


def test_a_group_goes_with_the_window():
    found = composed(Compose((Paint(1),), BOX, isolated=True), matrix=(2, 0, 0, 2, -10, -4), size=(20, 16))
    assert found[10, 15].tolist() == [0, 128, 255]
    assert (found[:7] == 255).all()
    assert (found[8:, :20, 0] == 0).all()


@pytest.mark.parametrize(
    ("below", "keys", "expected"),
    [
        ("", {"alpha": 0.5}, [128, 191, 255]),
        ("0.6 0.6 0.6 rg 0 0 40 30 re f", {"blend": "Multiply"}, [0, 77, 153]),
        ("0.6 0.6 0.6 rg 0 0 40 30 re f", {"isolated": False}, [0, 128, 255]),
        ("0.6 0.6 0.6 rg 0 0 40 30 re f", {"isolated": False, "alpha": 0.25}, [115, 147, 179]),
        ("0.6 0.6 0.6 rg 0 0 40 30 re f", {"isolated": False, "blend": "Multiply"}, [0, 77, 153]),
        ("", {"light": "RGB", "channels": ("Cyan", "Magenta", "Black")}, [0, 128, 255]),
        ("", {"light": "RGB"}, [0, 128, 255]),
        ("", {"light": "RGB", "channels": ("Yellow", "Cyan", "Magenta")}, [255, 0, 128]),
    ],
)
def test_a_group_is_laid_on_as_it_says(below, keys, expected):
    found = composed(Compose((Paint(1),), BOX, **{"isolated": True, **keys}), below)
    assert found[10, 10].tolist() == pytest.approx(expected, abs=1)
    assert found[25, 30].tolist() == ([255] * 3 if not below else [153] * 3)


def test_a_group_comes_through_its_mask():
    """Page 2 has its shape with the mask, a quarter gray, page 3 without."""
    group = Compose((Paint(1),), BOX, isolated=True, masked=(2, 3))
    found = composed(group, "", "0.75 g 0 0 40 30 re f", "0 g 0 0 10 30 re f")
    assert found[10, 8].tolist() == pytest.approx([191, 223, 255], abs=2)
    assert found[10, 13].tolist() == [255, 255, 255]
