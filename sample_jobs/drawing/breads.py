"""Flatbreads on a slate, seen from above: a pile and two halves, leaves of herbs and flour beside them."""

from __future__ import annotations

import math

import numpy as np

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step
from sample_jobs.drawing.still_life import colour

Window = tuple[slice, slice]
BREADS = ((0.52, 0.56, 0.37), (0.60, 0.50, 0.36), (0.55, 0.46, 0.355), (1.20, 0.30, 0.30), (1.17, 0.76, 0.28))
"""Centre and radius, in heights of the picture; the later lie on the earlier."""


def breads_on_slate(width_px: int, height_px: int) -> Field:
    """RGB (height, width, 3), lit from the upper left."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    rough = octaves(height_px, width_px, (height_px / 5, height_px / 3), 1200, 4)
    fine = octaves(height_px, width_px, (height_px / 60, height_px / 40), 1210, 2)
    scene = colour(92, 98, 100)[None, None] * (1.0 + 0.16 * rough + 0.05 * fine)[..., None]
    flour = step(octaves(height_px, width_px, (height_px / 9, height_px / 9), 1220, 5), 0.42, 1.0)
    scene = mix(np.asarray(scene, np.float32), np.broadcast_to(colour(224, 220, 210), scene.shape), 0.5 * flour)
    for number, (cx, cy, radius) in enumerate(BREADS):
        _bread(scene, x, y, (cx, cy, radius), 1230 + 10 * number)
    rng = np.random.default_rng(1290)
    for _ in range(15):
        cx, cy = rng.uniform(0.02, width_px / height_px), rng.uniform(0.03, 0.97)
        if math.hypot(cx - 0.55, cy - 0.50) > 0.42 or rng.uniform() < 0.25:
            _sprig(scene, x, y, cx, cy, rng)
    return np.clip(blurred(scene, 0.5), 0, 1)


def _window(x: Field, cx: float, cy: float, reach: float) -> Window | None:
    height, width = x.shape
    rows = slice(max(int((cy - reach) * height), 0), min(int((cy + reach) * height) + 1, height))
    columns = slice(max(int((cx - reach) * height), 0), min(int((cx + reach) * height) + 1, width))
    return None if rows.start >= rows.stop or columns.start >= columns.stop else (rows, columns)


def _bread(scene: Field, x: Field, y: Field, place: tuple[float, float, float], seed: int) -> None:
    """A round bread, uneven at its rim, with blisters and what the pan has charred."""
    cx, cy, radius = place
    window = _window(x, cx, cy, 1.35 * radius)
    assert window is not None
    u, v = (x[window] - cx) / radius, (y[window] - cy) / radius
    high, wide = u.shape
    angle, size = np.arctan2(v, u), high / 2.7
    edge = 1 + 0.03 * np.cos(3 * angle + seed) + 0.018 * np.cos(7 * angle + 2 * seed) + 0.01 * np.cos(13 * angle)
    r = np.hypot(u, v) / edge
    part = scene[window] * (1 - 0.6 * (1 - step(np.hypot(u - 0.07, v - 0.09) / edge, 0.88, 1.16)))[..., None]
    lumps = octaves(high, wide, (size / 3.5, size / 3.5), seed, 4)
    blister = step(octaves(high, wide, (size / 6, size / 6), seed + 3, 2), 0.28, 0.7)
    char = blister * step(noise(high, wide, (size / 14, size / 14), seed + 5) + 0.5 * lumps, -0.1, 0.7)
    tone = colour(226, 192, 138)[None, None] * (1 + 0.12 * lumps - 0.22 * step(r, 0.86, 1.0))[..., None]
    tone = mix(np.asarray(tone, np.float32), np.broadcast_to(colour(196, 140, 78), tone.shape), 0.75 * blister)
    tone = mix(tone, np.broadcast_to(colour(92, 54, 32), tone.shape), 0.85 * char)
    slope = np.gradient(blurred(lumps + 0.8 * blister, 2.0))
    tone = tone * (1 + np.clip(9 * (slope[0] + 0.8 * slope[1]), -0.16, 0.16))[..., None]
    scene[window] = mix(part, np.asarray(tone, np.float32), 1 - step(r, 0.985, 1.0))


def _sprig(scene: Field, x: Field, y: Field, cx: float, cy: float, rng: np.random.Generator) -> None:
    """A stalk with leaves to both sides."""
    size, turn = rng.uniform(0.07, 0.12), rng.uniform(0, 2 * math.pi)
    window = _window(x, cx, cy, 1.3 * size)
    if window is None:
        return
    p, q = (x[window] - cx) / size, (y[window] - cy) / size
    u, v = p * math.cos(turn) + q * math.sin(turn), q * math.cos(turn) - p * math.sin(turn)
    green = colour(74, 124, 58) * float(rng.uniform(0.8, 1.15))
    inside = 1 - step(np.abs(v - 0.06 * u * u) + 0.02 * (np.abs(u) > 0.9), 0.018, 0.035)
    inside *= np.abs(u) < 0.95
    shade = np.ones_like(u)
    for i in range(7):
        at, side = -0.75 + 0.26 * i, 1 if i % 2 else -1
        a, b = u - at - 0.20, side * v - 0.20
        long, across = (a + b) * 0.7071, (b - a) * 0.7071
        leaf = np.hypot(long / 0.27, across / (0.12 * (1.15 - 0.3 * long)))
        own = 1 - step(leaf, 0.92, 1.04)
        shade = np.where(own > 0.5, 1 + 0.28 * np.sign(across) * (np.abs(across) > 0.006) - 0.1, shade)
        inside = np.maximum(inside, own)
    moved = np.zeros_like(inside)
    down = max(1, round(0.10 * size * x.shape[0]))
    moved[down:, down:] = blurred(inside.astype(np.float32), 1.5)[:-down, :-down]
    part = scene[window] * (1 - 0.5 * moved)[..., None]
    scene[window] = mix(part, np.asarray(green * shade[..., None], np.float32), inside.astype(np.float32))
