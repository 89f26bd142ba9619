"""How light a colour is, for the groups of soft masks: colours in there are no plates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.platemaking.renderings import Light

_SHARES = {"Cyan": 0.30, "Magenta": 0.59, "Yellow": 0.11}


def luminosity(
    plates: Sequence[str], tints: NDArray[Any], solids: Mapping[str, float], *, from_rgb: bool = False
) -> NDArray[np.float64]:
    """Luminosity 0..1 of tints (…, plates) by ISO 32000-2, 11.5.3.

    Args:
        plates: names of the last axis.
        tints: 0 bare, 1 solid.
        solids: luminosity of a solid of each spot; one that is not there counts as black.
        from_rgb: the tints came from red, green and blue with the black they share taken out (10.4.2.4).
    """
    ink = np.asarray(tints, np.float64)
    column = {name: ink[..., at] for at, name in enumerate(plates)}
    nothing = np.zeros(ink.shape[:-1])
    black = column.get("Black", nothing)
    coloured = sum((share * column.get(name, nothing) for name, share in _SHARES.items()), nothing)
    light = 1 - coloured - black if from_rgb else (1 - coloured) * (1 - black)
    for name, tint in column.items():
        if name not in _SHARES and name != "Black":
            light = light * (1 - tint * (1 - solids.get(name, 0.0)))
    return np.asarray(np.clip(light, 0, 1))


def light_of(plates: Sequence[str], tints: NDArray[Any], light: Light) -> NDArray[np.float64]:
    """Red, green and blue 0..1 (…, 3) of tints (…, plates), or three times their gray, by ISO 32000-2, 10.4.2.

    Spots are bare: they are plates of their own, whatever a group is blended in (11.7.2).
    """
    ink = np.asarray(tints, np.float64)
    column = {name: ink[..., at] for at, name in enumerate(plates)}
    nothing = np.zeros(ink.shape[:-1])
    black = column.get("Black", nothing)
    coloured = [column.get(name, nothing) for name in _SHARES]
    if light == "Gray":
        shares = sum((share * ink for share, ink in zip(_SHARES.values(), coloured, strict=True)), nothing)
        coloured = [shares] * 3
    return np.stack([1 - np.minimum(1, ink + black) for ink in coloured], axis=-1)


def luminosity_of_rgb(red: float, green: float, blue: float) -> float:
    """Luminosity 0..1 of a colour on the screen, each 0..255."""
    return (0.30 * red + 0.59 * green + 0.11 * blue) / 255
