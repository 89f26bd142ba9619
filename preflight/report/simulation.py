"""Ink on board for the screen: what colour a separation is shown in, and plates laid over each other.

A simulation good enough to recognise the artwork and every plate in it; it is no proof.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.separations import Separation

Rgb = tuple[int, int, int]

# Solid process inks and their overprints on coated board, sRGB: our own likeness by eye, of no printing condition.
PAPER: Final[Rgb] = (255, 255, 255)
CYAN: Final[Rgb] = (6, 154, 217)
MAGENTA: Final[Rgb] = (221, 9, 123)
YELLOW: Final[Rgb] = (252, 232, 0)
BLUE: Final[Rgb] = (50, 45, 126)
GREEN: Final[Rgb] = (8, 142, 74)
RED: Final[Rgb] = (222, 23, 33)
THREE: Final[Rgb] = (61, 56, 57)
BLACK: Final[Rgb] = (36, 33, 31)
PRIMARIES: Final = ((PAPER, YELLOW), (MAGENTA, RED)), ((CYAN, GREEN), (BLUE, THREE))
"""Indexed by cyan, magenta, yellow."""

PROCESS_LOOKS: Final[dict[str, Rgb]] = {"Cyan": CYAN, "Magenta": MAGENTA, "Yellow": YELLOW, "Black": BLACK}
KIND_LOOKS: Final[dict[str, Rgb]] = {"white": PAPER, "varnish": (222, 231, 238), "primer": (236, 238, 230)}
SPOT_LOOKS: Final[tuple[Rgb, ...]] = (
    (22, 103, 163),
    (201, 88, 24),
    (11, 137, 108),
    (170, 85, 150),
    (120, 94, 30),
    (86, 160, 211),
    (200, 140, 0),
    (110, 70, 160),
    (150, 40, 40),
    (60, 110, 50),
    (90, 90, 100),
    (190, 100, 110),
)
"""For spots whose file gives no colour: told apart by eye, also by colour-blind readers, in any small number."""
ALONE_LOOKS: Final[dict[str, Rgb]] = {"white": (120, 126, 132), "varnish": (104, 132, 158), "primer": (128, 134, 110)}
"""Inks that do not show on white, where a plate is looked at alone."""
BOARD_LOOKS: Final[dict[str, Rgb]] = {
    "white": PAPER,
    "grey": (214, 211, 204),
    "kraft": (199, 166, 120),
    "metallised": (203, 206, 210),
    "film": PAPER,
}


def shown_colours(separations: Iterable[Separation]) -> dict[str, Rgb]:
    """A screen colour for each separation: its own, the file's, or one that is stable and unlike its neighbours'."""
    looks: dict[str, Rgb] = {}
    for separation in separations:
        if separation.name in PROCESS_LOOKS and separation.kind == "process":
            looks[separation.name] = PROCESS_LOOKS[separation.name]
        elif separation.kind in KIND_LOOKS:
            looks[separation.name] = KIND_LOOKS[separation.kind]
        elif separation.looks_rgb is not None:
            looks[separation.name] = separation.looks_rgb
        else:
            looks[separation.name] = _distinct(separation.name, looks.values())
    return looks


def composite(
    names: Sequence[str],
    ink: NDArray[np.uint8],
    looks: dict[str, Rgb],
    kinds: dict[str, str],
    board: Rgb = PAPER,
) -> NDArray[np.uint8]:
    """Plates (separations, height, width) as ink on board, (height, width, 3) sRGB.

    Process inks by Demichel's weights over the eight cyan-magenta-yellow overprints, all others multiplied. White
    lies under the rest, for that is where it is printed; varnish gives a faint hatch.
    """
    tint = {name: plate.astype(np.float32) / 255 for name, plate in zip(names, ink, strict=True)}
    ground = np.broadcast_to(np.asarray(board, np.float32) / 255, (*ink.shape[1:], 3)).copy()
    for name in names:
        if kinds.get(name) == "white":
            ground += (1 - ground) * tint[name][..., None]
    ground *= _cyan_magenta_yellow(ink.shape[1:], tint)
    for name in names:
        kind = kinds.get(name, "spot")
        if name in ("Cyan", "Magenta", "Yellow") or kind == "white":
            continue
        strength = tint[name]
        if kind == "varnish":
            strength = strength * (0.2 + 0.4 * _hatch(strength.shape))
        ground *= 1 - strength[..., None] * (1 - np.asarray(looks.get(name, BLACK), np.float32) / 255)
    return np.asarray(np.clip(ground * 255 + 0.5, 0, 255), np.uint8)


def looks_alone(name: str, looks: dict[str, Rgb], kinds: dict[str, str]) -> Rgb:
    """The colour of a plate looked at by itself, on white."""
    return ALONE_LOOKS.get(kinds.get(name, ""), looks.get(name, BLACK))


def _cyan_magenta_yellow(shape: tuple[int, ...], tint: dict[str, NDArray[np.float32]]) -> NDArray[np.float32]:
    blank = np.zeros(shape, np.float32)
    cyan, magenta, yellow = (tint.get(name, blank) for name in ("Cyan", "Magenta", "Yellow"))
    colour = np.zeros((*shape, 3), np.float32)
    for c, half in enumerate(PRIMARIES):
        for m, quarter in enumerate(half):
            for y, primary in enumerate(quarter):
                weight = np.abs(1 - c - cyan) * np.abs(1 - m - magenta) * np.abs(1 - y - yellow)
                for channel in range(3):
                    colour[..., channel] += weight * (primary[channel] / 255)
    return colour


def _hatch(shape: tuple[int, ...]) -> NDArray[np.float32]:
    rows, columns = np.ogrid[: shape[0], : shape[1]]
    return ((rows + columns) % 14 < 2).astype(np.float32)


def _distinct(name: str, taken: Iterable[Rgb]) -> Rgb:
    used = set(taken)
    start = hashlib.sha256(name.encode("utf-8", "surrogatepass")).digest()[0]
    ring = [SPOT_LOOKS[(start + k) % len(SPOT_LOOKS)] for k in range(len(SPOT_LOOKS))]
    return next((colour for colour in ring if colour not in used), ring[0])
