"""Another colour conversion of one artwork, told from edits of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from preflight.comparing.comparison import PlateChange
from preflight.comparing.pages.aligned_plates import AlignedPlates, PackedPlate, _Packing
from preflight.comparing.pages.shared_frame import SharedFrame
from preflight.comparing.plates.other_export import other_export
from tests.books import landscape
from tests.revisions import PROCESS

Inks = NDArray[np.uint8]


def packed(inks: Inks, names: list[str]) -> dict[str, PackedPlate]:
    found = {}
    for name, ink in zip(names, inks, strict=True):
        packing = _Packing()
        packing.add(ink)
        found[name] = packing.plate
    return found


def aligned(old: Inks, new: Inks, names: list[str] = PROCESS) -> AlignedPlates:
    inside = np.ones(old.shape[1:], np.bool_)
    height, width = old.shape[1:]
    plates = packed(old, names), packed(new, names)
    box = (0.0, 0.0, width * 25.4 / 150, height * 25.4 / 150)
    return AlignedPlates(*plates, inside, 150, box, (), (None, None), SharedFrame(), None)  # type: ignore[arg-type]


def converted(inks: Inks) -> Inks:
    """A conversion of all four tints together."""
    c, m, y, k = inks.astype(float) / 255
    new = (0.85 * c + 0.05 * m + 0.2 * k, 0.9 * m + 0.08 * y + 0.15 * k, 0.95 * y**1.1 + 0.15 * k, 0.8 * k**1.2)
    return np.asarray(np.rint(np.clip(new, 0, 1) * 255), np.uint8)


def patches(seed: int = 1) -> Inks:
    random = np.random.default_rng(seed)
    return np.kron(random.integers(0, 255, (4, 8, 10)), np.ones((1, 40, 40))).astype(np.uint8)


def picture() -> Inks:
    return np.ascontiguousarray(np.kron(landscape(300, 240), np.ones((2, 2, 1))).transpose(2, 0, 1)).astype(np.uint8)


CHANGED = [PlateChange(name, "tone") for name in PROCESS]


@pytest.mark.parametrize("art", [patches, picture])
def test_a_joint_mapping_is_another_export(art):
    old = art()
    found = other_export(aligned(old, converted(old)), CHANGED)
    assert found is not None
    assert found.explained > 0.99
    assert found.beside == ()


def test_an_edit_beside_it_is_found():
    old = patches()
    new = converted(old)
    new[:, 100:112, 200:212] = np.array([200, 10, 10, 0])[:, None, None]
    found = other_export(aligned(old, new), CHANGED)
    assert found is not None
    assert len(found.beside) == 1
    mm = 25.4 / 150
    x0, y0, x1, y1 = found.beside[0]
    assert x0 <= 200 * mm < 212 * mm <= x1
    assert y0 <= (320 - 112) * mm < (320 - 100) * mm <= y1


def test_other_art_is_no_export():
    assert other_export(aligned(patches(1), patches(2)), CHANGED) is None


def test_art_of_which_some_colours_stayed_is_none():
    """Two areas were given other colours, and the others not."""
    old = patches()
    new = old.copy()
    new[:, :80] = converted(old)[:, :80]
    assert other_export(aligned(old, new), CHANGED) is None


def test_nothing_that_moved_is_an_export():
    old = patches()
    new = converted(old)
    for moved in (PlateChange("Cyan", "moved"), PlateChange("Cyan", "tone", also=("moved",))):
        assert other_export(aligned(old, new), [moved, *CHANGED[1:]]) is None


def test_a_spot_that_changed_or_a_process_plate_that_stayed_is_none():
    old = patches()
    new = converted(old)
    assert other_export(aligned(old, new), [*CHANGED, PlateChange("Gold", "local")]) is None
    assert other_export(aligned(old, new), [*CHANGED, PlateChange("Gold", "none")]) is not None
    assert other_export(aligned(old, new), [replace(CHANGED[0], change="none"), *CHANGED[1:]]) is None


def test_one_plate_alone_or_one_colour_alone_is_none():
    old = patches()
    new = converted(old)
    assert other_export(aligned(old[:1], new[:1], ["Cyan"]), CHANGED[:1]) is None
    flat = np.full((4, 100, 100), 120, np.uint8)
    assert other_export(aligned(flat, flat + 20), CHANGED) is None
