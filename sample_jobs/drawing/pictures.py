"""Pictures: how they are coded into a PDF, noise to make them from, and RGB turned into plates.

A scene is an array (height, width, 3) of 0..1 RGB; tints are (height, width, 4) of 0..1 CMYK.
"""

from __future__ import annotations

import io
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Field = NDArray[np.float32]


@dataclass(frozen=True)
class Picture:
    """Coded samples and what an image dictionary has to say about them."""

    data: bytes
    width: int
    height: int
    space: str = "DeviceCMYK"
    coded: str = "DCTDecode"
    bits: int = 8
    upside_down_tints: bool = False
    """The JPEG holds 255 minus the tint, as photo programs write CMYK."""
    soft_mask: Picture | None = None


def cmyk_jpeg(tints: Field, quality: int = 60) -> Picture:
    """Tints as a CMYK JPEG, stored upside down with Decode [1 0 …]."""
    samples = np.ascontiguousarray(np.rint(np.clip(tints, 0, 1) * 255).astype(np.uint8))
    coded = io.BytesIO()
    Image.fromarray(samples, "CMYK").save(coded, "JPEG", quality=quality, subsampling=0, optimize=True)
    height, width = tints.shape[:2]
    return Picture(coded.getvalue(), width, height, upside_down_tints=True)


def grey_flate(levels: Field) -> Picture:
    """Levels 0..1 (1 white, or opaque as a soft mask) as 8-bit grey."""
    samples = np.rint(np.clip(levels, 0, 1) * 255).astype(np.uint8)
    return Picture(zlib.compress(samples.tobytes(), 9), samples.shape[1], samples.shape[0], "DeviceGray", "FlateDecode")


def line_art(black: NDArray[np.bool_]) -> Picture:
    """One bit a pixel, black where true."""
    rows = np.packbits(~black, axis=1)
    return Picture(
        zlib.compress(rows.tobytes(), 9), black.shape[1], black.shape[0], "DeviceGray", "FlateDecode", bits=1
    )


def shadow(alpha: Field) -> Picture:
    """A flat black of the size of ``alpha`` that shows through it: a drop shadow."""
    mask = grey_flate(alpha)
    flat = zlib.compress(bytes(alpha.size), 9)
    return Picture(flat, mask.width, mask.height, "DeviceGray", "FlateDecode", soft_mask=mask)


def to_plates(rgb: Field, *, limit: float = 3.0, black_from: float = 0.15) -> Field:
    """RGB to CMYK, most of the grey taken out to black, the colours held so that the sum is at most ``limit``.

    ``black_from`` is the grey (0..1) at which black sets in.
    """
    rgb = np.clip(rgb, 0, 1)
    black = np.clip((1 - rgb.max(axis=2) - black_from) / (1 - black_from), 0, 1) ** 1.15 * 0.92
    cmy = np.clip(1 - rgb / (1 - black[..., None]), 0, 1)
    room = np.clip(limit - black, 0.01, None)
    cmy *= np.minimum(1, room / np.maximum(cmy.sum(axis=2), 1e-6))[..., None]
    return np.dstack([cmy, black]).astype(np.float32)


def noise(height: int, width: int, cell: tuple[float, float], seed: int) -> Field:
    """Smooth noise of -1..1; ``cell`` is the size of a lump (down, across) in pixels."""
    rng = np.random.default_rng(seed)
    grid = rng.uniform(-1, 1, (int(height / cell[0]) + 3, int(width / cell[1]) + 3)).astype(np.float32)
    return resized(grid, height, width)


def octaves(height: int, width: int, cell: tuple[float, float], seed: int, count: int = 4) -> Field:
    """Noise of several sizes, each half the size and weight of the one before."""
    total = np.zeros((height, width), np.float32)
    for i in range(count):
        size = (max(cell[0] / 2**i, 1.0), max(cell[1] / 2**i, 1.0))
        total += noise(height, width, size, seed + 101 * i) / 2**i
    return total / 1.6


def resized(field: Field, height: int, width: int) -> Field:
    """A field brought to another size by bicubic interpolation."""
    image = Image.fromarray(np.ascontiguousarray(field, np.float32), "F")
    return np.asarray(image.resize((width, height), Image.Resampling.BICUBIC), np.float32)


def blurred(field: Field, radius: float) -> Field:
    """Gaussian blur, ``radius`` (standard deviation) in pixels, edges mirrored."""
    reach = int(3 * radius) + 1
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / radius) ** 2)
    kernel /= kernel.sum()
    padded: NDArray[Any] = np.pad(
        field, [(reach, reach), (reach, reach)] + [(0, 0)] * (field.ndim - 2), mode="symmetric"
    )
    for axis in (0, 1):
        length = padded.shape[axis] + len(kernel) - 1
        spectrum = np.fft.rfft(padded, length, axis=axis)
        shape = [1] * padded.ndim
        shape[axis] = -1
        spectrum *= np.fft.rfft(kernel, length).reshape(shape)
        whole = np.fft.irfft(spectrum, length, axis=axis)
        padded = np.take(whole, np.arange(reach, length - reach), axis=axis)
    return padded[reach:-reach, reach:-reach].astype(np.float32)


def mix(under: Field, over: Field, share: Field | float) -> Field:
    """``over`` laid on ``under`` where ``share`` (0..1) says; works for one field or three."""
    part = np.asarray(share, np.float32)
    if under.ndim == 3 and part.ndim == 2:
        part = part[..., None]
    return (under * (1 - part) + over * part).astype(np.float32)


def step(values: Field, start: float, end: float) -> Field:
    """0 up to ``start``, 1 from ``end`` on, smooth between."""
    t: Field = np.clip((values - start) / (end - start), 0, 1).astype(np.float32)
    return t * t * (3 - 2 * t)
