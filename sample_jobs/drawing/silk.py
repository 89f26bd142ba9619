"""Silk: a pale cloth in long folds."""

from __future__ import annotations

import numpy as np

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step
from sample_jobs.drawing.still_life import colour


def silk(width_px: int, height_px: int) -> Field:
    """RGB (height, width, 3): folds that run aslant, lit from above."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    drift = 0.30 * noise(height_px, width_px, (height_px / 1.3, height_px * 0.9), 801)
    drift += 0.10 * noise(height_px, width_px, (height_px / 3, height_px / 2), 802)
    along = 0.62 * x + 0.95 * y + drift
    cloth = 0.55 * np.sin(2 * np.pi * 1.05 * along) + 0.28 * np.sin(2 * np.pi * 2.3 * along + 1.4 + 3 * drift)
    cloth += 0.12 * np.sin(2 * np.pi * 4.9 * along + 5 * drift)
    slope = np.gradient(blurred(cloth.astype(np.float32), 3.0), axis=0) * height_px / 9
    sheen = np.exp(-(((cloth - 0.55) / 0.22) ** 2)).astype(np.float32)
    shape = (height_px, width_px, 3)
    deep, pale = np.broadcast_to(colour(229, 190, 184), shape), np.broadcast_to(colour(250, 232, 226), shape)
    scene = mix(deep, pale, step(cloth - 0.35 * slope, -0.9, 0.7))
    scene = mix(scene, np.broadcast_to(colour(255, 250, 246), shape), 0.75 * sheen)
    weave = octaves(height_px, width_px, (1.6, 6), 810, 2)[..., None] * 0.004
    return np.clip(scene + weave, 0, 1)
