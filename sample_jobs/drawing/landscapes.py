"""Two landscapes: an oat field on a summer evening, and a snowed-in valley at night."""

from __future__ import annotations

import math

import numpy as np

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step
from sample_jobs.drawing.still_life import colour


def oat_field(width_px: int, height_px: int) -> Field:
    """RGB (height, width, 3)."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    shape = (height_px, width_px, 3)
    sky = mix(
        np.broadcast_to(colour(104, 156, 200), shape), np.broadcast_to(colour(250, 226, 176), shape), step(y, 0.0, 0.46)
    )
    cloud = octaves(height_px, width_px, (height_px / 7, height_px / 2.5), 301, 5)
    sky = mix(
        sky, np.broadcast_to(colour(255, 244, 226), shape), step(cloud, 0.05, 0.9) * (1 - step(y, 0.25, 0.46)) * 0.8
    )
    scene = sky
    for i, (base, tone) in enumerate([(0.40, (128, 150, 140)), (0.45, (96, 124, 84))]):
        ridge = base + 0.03 * np.sin(3.1 * x + 2 * i) + 0.02 * noise(1, width_px, (1, height_px / 4), 310 + i)
        rough = 0.006 * noise(height_px, width_px, (3, 4), 320 + i)
        scene = mix(scene, np.broadcast_to(colour(*tone), shape), step(y - ridge + rough, -0.004, 0.004))
    field_edge = 0.50 + 0.02 * np.sin(2.2 * x + 0.6)
    depth = np.clip((y - field_edge) / (1 - field_edge), 0, 1)
    far = octaves(height_px, width_px, (4, 2.5), 330, 2)
    near = octaves(height_px, width_px, (height_px / 9, 5), 331, 3)
    ears = mix(far, near, step(depth, 0.1, 0.7))
    rows = 0.07 * np.sin((x - 0.75 - 0.9 * depth * (x - 0.75)) * 60 / (0.25 + depth))
    straw = colour(214, 172, 92) * (0.74 + 0.30 * ears + rows + 0.16 * (1 - depth))[..., None]
    return np.clip(mix(scene, straw, step(y - field_edge, -0.003, 0.005)), 0, 1)


def winter_night(width_px: int, height_px: int) -> Field:
    """RGB (height, width, 3): sky with stars, hills one behind the other with firs, a snow bank in front."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    wide, shape = width_px / height_px, (height_px, width_px, 3)
    scene = mix(
        np.broadcast_to(colour(26, 44, 74), shape), np.broadcast_to(colour(150, 172, 184), shape), step(y, 0.05, 0.72)
    )
    scene = mix(scene, np.broadcast_to(colour(236, 222, 190), shape), 0.55 * np.exp(-((y - 0.66) ** 2) / 0.006))
    rng = np.random.default_rng(500)
    for _ in range(150):
        cx, cy, size = rng.uniform(0, wide), rng.uniform(0, 0.5) ** 1.3, rng.uniform(0.0008, 0.0022)
        _spot(scene, cx, cy, size, rng.uniform(0.4, 1.0) * (1 - cy))
    for i, (base, near) in enumerate([(0.60, 0.15), (0.665, 0.4), (0.735, 0.7)]):
        ridge = (
            base
            + (0.02 + 0.012 * i) * np.sin(5.3 * x + 2.1 * i)
            + 0.012 * noise(1, width_px, (1, height_px / 9), 510 + i)
        )
        tone = mix(colour(178, 192, 198)[None, None], colour(214, 222, 226)[None, None], near)
        light = (
            0.96
            + 0.05 * octaves(height_px, width_px, (height_px / 50, height_px / 12), 520 + i, 3)
            - 0.10 * step(y - ridge, 0, 0.12)
        )
        scene = mix(scene, np.broadcast_to(tone, shape) * light[..., None], step(y - ridge, -0.001, 0.001))
        _firs(scene, ridge[0], 0.035 + 0.04 * i, near, 530 + i)
    bank = 0.87 + 0.03 * np.sin(4.4 * x + 0.4)
    lumps = octaves(height_px, width_px, (height_px / 40, height_px / 7), 550, 4)
    drift = colour(232, 238, 242) * (0.95 + 0.06 * lumps - 0.22 * step(y - bank, 0.02, 0.16))[..., None]
    scene = mix(scene, drift, step(y - bank, -0.001, 0.002))
    return np.clip(blurred(scene, 0.7) + noise(height_px, width_px, (2, 2), 560)[..., None] * 0.006, 0, 1)


def _spot(scene: Field, cx: float, cy: float, size: float, share: float) -> None:
    height = scene.shape[0]
    reach = int(4 * size * height) + 1
    row, column = int(cy * height), int(cx * height)
    rows = slice(max(row - reach, 0), row + reach + 1)
    columns = slice(max(column - reach, 0), min(column + reach + 1, scene.shape[1]))
    v, u = np.mgrid[rows, columns].astype(np.float32)
    glow = np.exp(-((u - cx * height) ** 2 + (v - cy * height) ** 2) / (2 * (size * height) ** 2)) * share
    part = scene[rows, columns]
    scene[rows, columns] = mix(part, np.broadcast_to(colour(255, 248, 226), part.shape), glow)


def _firs(scene: Field, ridge: Field, tall: float, near: float, seed: int) -> None:
    """Firs standing on a ridge, in groups, snow on their left sides."""
    height, width = scene.shape[:2]
    rng = np.random.default_rng(seed)
    dark = colour(70, 92, 100) * (1 - near) + colour(22, 44, 44) * near
    for _ in range(int(34 - 20 * near)):
        cx = rng.uniform(0, width / height)
        size = tall * rng.uniform(0.55, 1.15)
        foot = float(ridge[min(int(cx * height), width - 1)]) + 0.006 + 0.02 * rng.uniform() * near
        rows = slice(max(int((foot - size) * height), 0), int(foot * height) + 1)
        half = int(0.30 * size * height) + 2
        columns = slice(max(int(cx * height) - half, 0), min(int(cx * height) + half, width))
        if columns.start >= columns.stop:
            continue
        v, u = np.mgrid[rows, columns].astype(np.float32) / height
        down = np.clip((v - (foot - size)) / size, 0, 1)
        tier = np.mod(down * 6, 1)
        reach = size * (0.02 + 0.24 * down) * (0.55 + 0.45 * tier)
        shaggy = reach * (1 + 0.22 * noise(u.shape[0], u.shape[1], (3, 3), int(rng.integers(1 << 30))))
        inside = 1 - step(np.abs(u - cx) - shaggy, -0.0008, 0.0008)
        snow = step((cx - u) / (reach + 1e-6) + 0.8 * (tier < 0.35), 0.45, 1.1)[..., None]
        tone = dark * (1 - 0.75 * snow) + colour(226, 234, 238) * 0.75 * snow
        scene[rows, columns] = mix(
            scene[rows, columns], tone.astype(np.float32), inside * (math.sqrt(near) * 0.4 + 0.6)
        )
