"""A cellar: the heads of casks stacked on their sides, lit warmly from the upper left."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step
from sample_jobs.drawing.still_life import colour

RADIUS = 0.265
"""Of a cask, in heights of the picture."""


def cask_cellar(width_px: int, height_px: int) -> Field:
    """RGB (height, width, 3); its upper part sinks into the dark, so that a ground can meet it."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    wide = width_px / height_px
    wall = colour(46, 38, 34) * (0.55 + 0.25 * octaves(height_px, width_px, (40, 60), 700, 4))[..., None]
    scene = np.broadcast_to(wall, (height_px, width_px, 3)).astype(np.float32)
    for row in (2, 1, 0):
        cy = 1.0 - RADIUS * 0.78 - row * RADIUS * 1.74
        for column in range(-1, int(wide / (2 * RADIUS)) + 2):
            cx = wide / 2 + (column - 1 + 0.5 * (row % 2)) * RADIUS * 2.03
            _cask(scene, x, y, cx, cy, seed=710 + 10 * row + column)
    light = 0.26 + 1.0 * np.exp(-((x - 0.30 * wide) ** 2 / 0.20 + (y - 0.64) ** 2 / 0.15))
    scene = scene * light[..., None] * np.array([1.06, 0.97, 0.86], np.float32)
    grain = noise(height_px, width_px, (2, 2), 790)[..., None] * 0.008
    return np.clip(blurred(scene, 0.7) + grain, 0, 1)


def _cask(scene: Field, x: Field, y: Field, cx: float, cy: float, *, seed: int) -> None:
    """One head: a hoop of iron, the chime of the staves, and the boards of the head a little deeper."""
    height, width = scene.shape[:2]
    rows = slice(max(int((cy - 1.15 * RADIUS) * height), 0), min(int((cy + 1.15 * RADIUS) * height) + 1, height))
    columns = slice(max(int((cx - 1.15 * RADIUS) * height), 0), min(int((cx + 1.15 * RADIUS) * height) + 1, width))
    if rows.start >= rows.stop or columns.start >= columns.stop:
        return
    u, v = (x[rows, columns] - cx) / RADIUS, (y[rows, columns] - cy) / RADIUS
    r, angle = np.hypot(u, v), np.arctan2(v, u)
    part = scene[rows, columns]
    part = part * (0.28 + 0.72 * step(r, 0.96, 1.15))[..., None]
    lit = np.clip(0.62 - 0.30 * np.cos(angle - 0.9), 0, 1)
    iron = colour(92, 88, 84) * (lit * (0.85 + 0.2 * noise(u.shape[0], u.shape[1], (4, 9), seed)))[..., None]
    part = mix(part, iron + _shine(r, 0.945)[..., None] * 0.25, 1 - step(r, 0.975, 0.99))
    part = mix(part, _staves(r, angle, lit, seed), 1 - step(r, 0.90, 0.912))
    scene[rows, columns] = mix(part, _head(u, v, r, angle, seed), 1 - step(r, 0.815, 0.828))


def _shine(r: Field, at: float) -> Field:
    shine: Field = np.exp(-(((r - at) / 0.016) ** 2)).astype(np.float32)
    return shine


def _staves(r: Field, angle: Field, lit: Field, seed: int) -> Field:
    """The ends of the staves, seen round the head."""
    which = np.floor((angle + math.pi) / (2 * math.pi) * 26)
    tone = np.array([0.0, 0.10, -0.06, 0.05, -0.10], np.float32)[which.astype(int) % 5]
    gap = np.abs((angle + math.pi) / (2 * math.pi) * 26 - which - 0.5) > 0.46
    level = (
        (0.72 + tone + 0.10 * noise(r.shape[0], r.shape[1], (3, 3), seed + 3)) * (0.55 + 0.75 * lit) * (1 - 0.5 * gap)
    )
    wood: Field = colour(176, 122, 72) * level[..., None]
    return wood


def _head(u: Field, v: Field, r: Field, angle: Field, seed: int) -> NDArray[np.float32]:
    """Upright boards with their grain, in the shade of the chime above, a bung and a mark of rings."""
    turn = np.random.default_rng(seed).uniform(-0.22, 0.22)
    p, q = u * math.cos(turn) + v * math.sin(turn), v * math.cos(turn) - u * math.sin(turn)
    board = np.floor(p * 3.4 + 0.5)
    tone = np.array([0.0, 0.09, -0.07, 0.05, -0.03, 0.07], np.float32)[(board.astype(int) + seed) % 6]
    seam = np.abs(p * 3.4 + 0.5 - board - 0.5) > 0.475
    high, wide = u.shape
    fine = octaves(high, wide, (130, 3.0), seed + 5, 3) + 0.5 * octaves(high, wide, (60, 12), seed + 6, 3)
    level = (0.78 + tone + 0.15 * fine) * (1 - 0.62 * blurred(seam.astype(np.float32), 0.8))
    level = level * (0.60 + 0.40 * step(-r + 0.16 * np.cos(angle - 0.9 - math.pi) + 0.93, 0.0, 0.24))
    ring = np.maximum(_shine(r, 0.52), _shine(r, 0.47)) * (np.abs(q) < 0.9)
    level = level * (1 - 0.42 * ring)
    bung = np.hypot(p, q - 0.62)
    level = level * (1 - 0.75 * (1 - step(bung, 0.055, 0.07)))
    wood: NDArray[np.float32] = (colour(196, 138, 80) * level[..., None]).astype(np.float32)
    return wood
