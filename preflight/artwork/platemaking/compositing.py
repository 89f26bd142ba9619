"""Pixels of groups laid on what is below them (ISO 32000-2, 11.3 and 11.4), for groups that PDFium does not compose.

A canvas is (height, width, 4) in 8 bits: blue, green and red of a rendering, 255 bare, and alpha, not multiplied in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.device_conversion import rgb_to_cmyk

Canvas = NDArray[np.uint8]
Shares = NDArray[np.floating]
_BAND_ROWS = 128
_LEAST = np.float32(1e-4)
_LUMINOSITY = np.array([0.11, 0.59, 0.30], np.float32)
"""Of blue, green and red: ISO 32000-2, 11.3.5.3."""


def lay_on(canvas: Canvas, group: Canvas, mask: Shares | float, blend: str) -> None:
    """Lay the result of an isolated group on a canvas, which is changed (11.3.6).

    ``mask``: the group's constant alpha and soft mask, 0..1, one number or (height, width).
    """
    for rows in _bands(canvas):
        colour, alpha = _parts(group[rows])
        _lay(canvas[rows], colour, alpha * _share(mask, rows), blend)


def lay_through(canvas: Canvas, before: Canvas, mask: Shares | float) -> None:
    """Of what a group that is not isolated has painted on a canvas keep the share of its alpha and mask.

    With blend mode Normal what comes of removing the backdrop (11.4.8) and laying the group on it again is linear:
    alpha times colour goes from what it was before to what it is now by the mask.
    """
    for rows in _bands(canvas):
        share = _share(mask, rows)
        (colour_0, alpha_0), (colour_n, alpha_n) = _parts(before[rows]), _parts(canvas[rows])
        alpha = alpha_0 + share * (alpha_n - alpha_0)
        inked = alpha_0 * colour_0 + share * (alpha_n * colour_n - alpha_0 * colour_0)
        _put(canvas[rows], inked, alpha)


def lay_blended(canvas: Canvas, before: Canvas, alone: Canvas, mask: Shares | float, blend: str) -> None:
    """The same for a group with a blend mode of its own: its backdrop is removed first (11.4.8).

    ``alone``: the group painted on nothing; only its alpha is looked at.
    """
    for rows in _bands(canvas):
        (colour_0, alpha_0), (colour_n, _) = _parts(before[rows]), _parts(canvas[rows])
        group_alpha = alone[rows, :, 3:] / np.float32(255)
        factor = alpha_0 / np.maximum(group_alpha, _LEAST) - alpha_0
        colour = np.clip(colour_n + (colour_n - colour_0) * factor, 0, 1)
        canvas[rows] = before[rows]
        _lay(canvas[rows], colour, group_alpha * _share(mask, rows), blend)


def plates_of_light(layer: Canvas, channels: Sequence[str]) -> None:
    """Change red, green and blue light to the tints of process plates (10.4.2.4); ``channels``: names, red first."""
    for rows in _bands(layer):
        rgb = layer[rows, :, 2::-1].reshape(-1, 3) / 255
        inks = rgb_to_cmyk(rgb)
        for at in range(3):
            name = channels[at] if at < len(channels) else ""
            bare = 1 - inks[:, PROCESS.index(name)] if name in PROCESS else np.ones(len(inks))
            layer[rows, :, 2 - at] = np.rint(bare * 255).reshape(layer[rows].shape[:2])


def mask_of(shown: Canvas, unmasked: Canvas) -> Shares:
    """How much of a group comes through: its shape painted black on white with its mask, by the same without."""
    with_mask, without = (255 - canvas[:, :, 1].astype(np.float32) for canvas in (shown, unmasked))
    share = np.minimum(with_mask / np.maximum(without, 1), 1)
    return np.asarray(np.where(without > 0, share, 0), np.float32)


def _bands(canvas: Canvas) -> Iterator[slice]:
    return (slice(top, top + _BAND_ROWS) for top in range(0, len(canvas), _BAND_ROWS))


def _share(mask: Shares | float, rows: slice) -> Shares:
    return np.full((1, 1, 1), mask, np.float32) if isinstance(mask, float) else mask[rows, :, None]


def _parts(canvas: Canvas) -> tuple[Shares, Shares]:
    """Colour (rows, columns, 3) and alpha (rows, columns, 1), 0..1."""
    return canvas[:, :, :3] / np.float32(255), canvas[:, :, 3:] / np.float32(255)


def _lay(canvas: Canvas, colour: Shares, alpha: Shares, blend: str) -> None:
    """Basic compositing formula (11.3.6)."""
    backdrop, alpha_b = _parts(canvas)
    mixed = colour if blend == "Normal" else (1 - alpha_b) * colour + alpha_b * _blended(blend, backdrop, colour)
    _put(canvas, (1 - alpha) * alpha_b * backdrop + alpha * mixed, alpha_b + alpha - alpha_b * alpha)


def _put(canvas: Canvas, inked: Shares, alpha: Shares) -> None:
    """Alpha times colour, and alpha, into a canvas; where there is nothing the colour is bare."""
    colour = np.where(alpha > _LEAST, inked / np.maximum(alpha, _LEAST), 1)
    canvas[:, :, :3] = np.rint(np.clip(colour, 0, 1) * 255)
    canvas[:, :, 3:] = np.rint(np.clip(alpha, 0, 1) * 255)


def _blended(blend: str, backdrop: Shares, source: Shares) -> Shares:
    """Blend functions of ISO 32000-2, 11.3.5.2 and 11.3.5.3; an unknown mode is Normal."""
    if blend in NONSEPARABLE_FUNCTIONS:
        return NONSEPARABLE_FUNCTIONS[blend](backdrop, source)
    return SEPARABLE_FUNCTIONS[blend](backdrop, source) if blend in SEPARABLE_FUNCTIONS else source


def _screen(b: Shares, s: Shares) -> Shares:
    return b + s - b * s


def _hard_light(b: Shares, s: Shares) -> Shares:
    return np.where(s <= 0.5, b * 2 * s, _screen(b, 2 * s - 1))


def _dodge(b: Shares, s: Shares) -> Shares:
    return np.where(b <= 0, 0, np.where(b >= 1 - s, 1, b / np.maximum(1 - s, _LEAST)))


def _burn(b: Shares, s: Shares) -> Shares:
    return np.where(b >= 1, 1, np.where(1 - b >= s, 0, 1 - (1 - b) / np.maximum(s, _LEAST)))


def _soft_light(b: Shares, s: Shares) -> Shares:
    root = np.where(b <= 0.25, ((16 * b - 12) * b + 4) * b, np.sqrt(b))
    return np.where(s <= 0.5, b - (1 - 2 * s) * b * (1 - b), b + (2 * s - 1) * (root - b))


SEPARABLE_FUNCTIONS: dict[str, Callable[[Shares, Shares], Shares]] = {
    "Multiply": lambda b, s: b * s,
    "Screen": _screen,
    "Overlay": lambda b, s: _hard_light(s, b),
    "Darken": np.minimum,
    "Lighten": np.maximum,
    "ColorDodge": _dodge,
    "ColorBurn": _burn,
    "HardLight": _hard_light,
    "SoftLight": _soft_light,
    "Difference": lambda b, s: np.abs(b - s),
    "Exclusion": lambda b, s: b + s - 2 * b * s,
}


def _lightness(colour: Shares) -> Shares:
    light: Shares = (colour @ _LUMINOSITY)[..., None]
    return light


def _clipped(colour: Shares) -> Shares:
    light, low, high = _lightness(colour), colour.min(-1, keepdims=True), colour.max(-1, keepdims=True)
    colour = np.where(low < 0, light + (colour - light) * light / np.maximum(light - low, _LEAST), colour)
    over = light + (colour - light) * (1 - light) / np.maximum(high - light, _LEAST)
    return np.where(high > 1, over, colour)


def _with_lightness(colour: Shares, light: Shares) -> Shares:
    return _clipped(colour + light - _lightness(colour))


def _saturation(colour: Shares) -> Shares:
    spread: Shares = colour.max(-1, keepdims=True) - colour.min(-1, keepdims=True)
    return spread


def _with_saturation(colour: Shares, saturation: Shares) -> Shares:
    low, spread = colour.min(-1, keepdims=True), _saturation(colour)
    return np.where(spread > 0, (colour - low) * saturation / np.maximum(spread, _LEAST), 0)


NONSEPARABLE_FUNCTIONS: dict[str, Callable[[Shares, Shares], Shares]] = {
    "Hue": lambda b, s: _with_lightness(_with_saturation(s, _saturation(b)), _lightness(b)),
    "Saturation": lambda b, s: _with_lightness(_with_saturation(b, _saturation(s)), _lightness(b)),
    "Color": lambda b, s: _with_lightness(s, _lightness(b)),
    "Luminosity": lambda b, s: _with_lightness(b, _lightness(s)),
}
