"""Ink on board: which colour a separation is shown in, what lies on what, and what is only hinted at."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.separations import Separation
from preflight.report.simulation import BLACK, CYAN, PAPER, SPOT_LOOKS, composite, looks_alone, shown_colours

BROWN, KRAFT = (150, 106, 60), (199, 166, 120)
KINDS = {"Brown": "spot", "White": "white", "Gloss": "varnish", "Cyan": "process"}
LOOKS = {"Brown": BROWN, "Gloss": (222, 231, 238), "Cyan": CYAN, "White": PAPER}


def shown(tints: dict[str, float], at: tuple[int, int] = (1, 2), board: Any = PAPER, **more: Any) -> list[int]:
    """One pixel of a page of 20 x 24 pixels; (1, 2) is beside the hatch."""
    ink = np.stack([np.full((20, 24), round(255 * tint), np.uint8) for tint in tints.values()])
    picture = composite(tuple(tints), ink, more.get("looks", LOOKS), more.get("kinds", KINDS), board)
    assert picture.shape == (20, 24, 3)
    return [int(value) for value in picture[at]]


@pytest.mark.parametrize(
    ("at", "share"),
    [((0, 0), 0.6), ((0, 1), 0.6), ((1, 0), 0.6), ((1, 1), 0.2), ((0, 2), 0.2), ((0, 13), 0.2), ((5, 9), 0.6),
     ((9, 6), 0.6), ((10, 18), 0.6), ((3, 9), 0.2)],
)  # fmt: skip
def test_varnish_is_a_faint_hatch(at, share):
    """Two of fourteen pixels along a row, aslant; between them a fifth of its colour."""
    expected = [255 - share * (255 - value) for value in LOOKS["Gloss"]]
    assert shown({"Gloss": 1}, at) == pytest.approx(expected, abs=0.51)


def test_half_of_a_varnish_is_half_as_much():
    assert shown({"Gloss": 128 / 255}, (0, 0)) == pytest.approx([255 - 0.3 * (255 - v) for v in LOOKS["Gloss"]], abs=1)


@pytest.mark.parametrize(
    ("tints", "board", "rgb"),
    [
        ({"White": 0.4}, KRAFT, [255 * 0.4 + value * 0.6 for value in KRAFT]),
        ({"Brown": 1, "White": 1}, KRAFT, BROWN),  # white lies below, whichever comes first
        ({"Brown": 1}, KRAFT, [b * k / 255 for b, k in zip(BROWN, KRAFT, strict=True)]),
        ({"Brown": 0.2}, PAPER, [255 - 0.2 * (255 - value) for value in BROWN]),
        ({"Cyan": 1, "Brown": 1}, PAPER, [c * b / 255 for c, b in zip(CYAN, BROWN, strict=True)]),
        ({"Unheard of": 1}, PAPER, BLACK),
        ({"Black": 0.6}, PAPER, [255 - 0.6 * (255 - value) for value in BLACK]),
    ],
    ids=["white on kraft", "on white", "on kraft", "a tint", "two inks", "no colour known", "black has no primaries"],
)
def test_inks_multiply_and_white_lies_below(tints, board, rgb):
    assert shown(tints, board=board) == pytest.approx(rgb, abs=1)


@pytest.mark.parametrize(
    ("name", "rgb"),
    [
        ("White", (120, 126, 132)),  # it would not show on white
        ("Gloss", (104, 132, 158)),
        ("Brown", BROWN),
        ("Unheard of", BLACK),
    ],
)
def test_a_plate_by_itself_can_be_seen(name, rgb):
    assert looks_alone(name, LOOKS, KINDS) == rgb


@pytest.mark.parametrize(
    ("separation", "rgb"),
    [
        (Separation("Cyan", "process", ""), CYAN),
        (Separation("Cyan", "process", "", looks_rgb=(1, 2, 3)), CYAN),
        (Separation("Cyan", "varnish", "", looks_rgb=(1, 2, 3)), (222, 231, 238)),
        (Separation("Cyan", "spot", "", looks_rgb=(1, 2, 3)), (1, 2, 3)),
        (Separation("Base", "white", "", looks_rgb=(1, 2, 3)), PAPER),
        (Separation("Base", "process", "", looks_rgb=(1, 2, 3)), (1, 2, 3)),
        (Separation("Base", "primer", ""), (236, 238, 230)),
    ],
)
def test_the_colour_of_a_separation(separation, rgb):
    assert shown_colours([separation]) == {separation.name: rgb}


def test_a_spot_without_a_colour_keeps_clear_of_those_before_it():
    leaf, fern = Separation("Leaf", "spot", ""), Separation("Fern", "spot", "")
    own = shown_colours([leaf])["Leaf"]
    assert own in SPOT_LOOKS
    taken = Separation("Other", "spot", "", looks_rgb=own)
    assert shown_colours([taken, leaf])["Leaf"] == SPOT_LOOKS[(SPOT_LOOKS.index(own) + 1) % len(SPOT_LOOKS)]
    assert shown_colours([leaf, taken, fern])["Leaf"] == own


def test_as_many_spots_as_there_are_colours_are_told_apart_and_then_they_come_again():
    spots = [Separation(f"Spot {k}", "spot", "") for k in range(len(SPOT_LOOKS) + 1)]
    looks = shown_colours(spots)
    assert len(set(looks.values())) == len(SPOT_LOOKS)
    assert set(looks.values()) == set(SPOT_LOOKS)
    assert looks[spots[-1].name] == shown_colours(spots[-1:])[spots[-1].name]
