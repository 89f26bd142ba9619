"""A table laid for drinking chocolate, seen from above: a cup in its saucer, and what gives it its taste around it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step
from sample_jobs.drawing.still_life import colour

Tone = NDArray[np.float32]


HEAPS = (
    (0.14, 0.80), (0.12, 0.16), (1.70, 0.20), (1.66, 0.84), (2.12, 0.55),
    (2.30, 0.14), (2.20, 0.90), (4.45, 0.85), (4.70, 0.20), (3.75, 0.90),
)  # fmt: skip


@dataclass(frozen=True)
class Table:
    """What is on it, by tones, and where the cup stands, in heights of the picture."""

    wood: Tone
    china: Tone
    drink: Tone
    foam: Tone
    scattered: str
    """``nibs``, ``nuts`` or ``pods``."""
    cups: tuple[tuple[float, float], ...]
    seed: int


DARK = Table(colour(150, 112, 84), colour(232, 226, 214), colour(86, 50, 32), colour(176, 124, 84), "nibs",
             ((0.90, 0.50), (2.92, 0.50)), 900)  # fmt: skip
HAZELNUT = Table(colour(178, 140, 100), colour(228, 232, 230), colour(122, 78, 48), colour(206, 164, 118), "nuts",
                 ((0.90, 0.50), (2.92, 0.50)), 930)  # fmt: skip
VANILLA = Table(colour(170, 163, 142), colour(196, 208, 216), colour(198, 158, 112), colour(244, 228, 200), "pods",
                ((0.90, 0.50), (2.92, 0.50)), 960)  # fmt: skip


def laid_table(width_px: int, height_px: int, table: Table) -> Field:
    """RGB (height, width, 3), lit from the upper left."""
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
    scene = _boards(x, y, table)
    scatter = {"nibs": _nib, "nuts": _nut, "pods": _pod}[table.scattered]
    _scattered(scene, x, y, table, scatter)
    for number, (cx, cy) in enumerate(table.cups):
        _cup(scene, x, y, cx, cy, table, table.seed + 5 * number)
    light = 1.04 - 0.10 * y + 0.03 * noise(height_px, width_px, (height_px / 2, height_px), table.seed + 60)
    return np.clip(blurred(scene * light[..., None], 0.6), 0, 1)


def _boards(x: Field, y: Field, table: Table) -> Field:
    """Boards from left to right, with grain and seams."""
    height, width = x.shape
    board = np.floor(y * 3.4 + 0.35)
    tone = np.array([0.0, 0.06, -0.05, 0.03], np.float32)[board.astype(int) % 4]
    grain = octaves(height, width, (height / 60, height / 1.6), table.seed, 3)
    seam = np.abs(y * 3.4 + 0.35 - board - 0.5) > 0.488
    level = (0.96 + tone + 0.08 * grain) * (1 - 0.4 * blurred(seam.astype(np.float32), 1.2))
    return np.asarray(table.wood * level[..., None], np.float32)


def _window(x: Field, y: Field, cx: float, cy: float, reach: float) -> tuple[slice, slice] | None:
    height, width = x.shape
    rows = slice(max(int((cy - reach) * height), 0), min(int((cy + reach) * height) + 1, height))
    columns = slice(max(int((cx - reach) * height), 0), min(int((cx + reach) * height) + 1, width))
    return None if rows.start >= rows.stop or columns.start >= columns.stop else (rows, columns)


def _cup(scene: Field, x: Field, y: Field, cx: float, cy: float, table: Table, seed: int) -> None:
    """Saucer, cup with its handle, and the drink with a swirl of foam."""
    window = _window(x, y, cx, cy, 0.62)
    assert window is not None
    u, v = x[window] - cx, y[window] - cy
    r, angle = np.hypot(u, v), np.arctan2(v, u)
    part = scene[window]
    part = part * (1 - 0.55 * (1 - step(np.hypot(u - 0.035, v - 0.045), 0.36, 0.50)))[..., None]
    lit = 0.5 - 0.5 * np.cos(angle - math.radians(45))
    china = table.china[None, None] * np.ones_like(part)
    saucer = china * (0.86 + 0.10 * step(r, 0.30, 0.42) - 0.10 * (1 - lit) * step(r, 0.38, 0.43))[..., None]
    saucer = saucer * (1 - 0.40 * (1 - step(np.hypot(u - 0.03, v - 0.04), 0.24, 0.33)))[..., None]
    part = mix(part, saucer, 1 - step(r, 0.428, 0.434))
    handle = np.abs(np.hypot((u - 0.325) / 0.085, v / 0.065) - 1) * 0.07
    part = mix(part, china * 0.93, 1 - step(handle, 0.014, 0.02))
    part = mix(part, china * (0.80 + 0.22 * lit)[..., None], 1 - step(r, 0.278, 0.283))
    part = mix(part, china * (0.99 - 0.35 * lit)[..., None], 1 - step(r, 0.262, 0.266))
    part = mix(part, _drink(u, v, r, angle, table, seed), 1 - step(r, 0.243, 0.247))
    scene[window] = part


def _drink(u: Field, v: Field, r: Field, angle: Field, table: Table, seed: int) -> Field:
    high, wide = u.shape
    rough = octaves(high, wide, (high / 9, high / 9), seed, 4)
    swirl = np.sin(2 * angle + 30 * r + 1.5 * rough)
    share = step(swirl + 0.35 * rough, -0.1, 0.7) * (1 - step(r, 0.16, 0.235)) + 0.6 * step(
        r + 0.01 * rough, 0.226, 0.24
    )
    bubbles = step(octaves(high, wide, (7, 7), seed + 3, 2), 0.55, 0.8) * step(r, 0.19, 0.23)
    tone = mix(np.broadcast_to(table.drink, (high, wide, 3)), np.broadcast_to(table.foam, (high, wide, 3)),
               np.clip(share + 0.3 * bubbles, 0, 1))  # fmt: skip
    shade = 1 - 0.30 * step(-(u + v), 0.22, 0.36)
    return np.asarray(tone * (shade + 0.03 * rough)[..., None], np.float32)


Drawn = Callable[[Field, Field, np.random.Generator], tuple[Field, Field]]
"""A thing around (0, 0), about as large as 1: its RGB, and where it lies (0..1)."""


def _scattered(scene: Field, x: Field, y: Field, table: Table, thing: Drawn) -> None:
    """Some heaps of things, and strays."""
    rng = np.random.default_rng(table.seed + 40)
    wide = x.shape[1] / x.shape[0]
    in_heap, strays = (3, 8) if table.scattered == "pods" else (9, 26)
    places = [(hx + rng.normal(0, 0.11), hy + rng.normal(0, 0.09)) for hx, hy in HEAPS for _ in range(in_heap)]
    places += [(rng.uniform(0, wide), rng.uniform(0.03, 0.97)) for _ in range(strays)]
    for px, py in places:
        if any(math.hypot(px - cx, py - cy) < 0.5 for cx, cy in table.cups):
            continue
        size = {"nibs": 0.045, "nuts": 0.085, "pods": 0.30}[table.scattered] * rng.uniform(0.8, 1.2)
        window = _window(x, y, px, py, 1.5 * size)
        if window is None:
            continue
        turn = rng.uniform(0, 2 * math.pi)
        u, v = (x[window] - px) / size, (y[window] - py) / size
        p, q = u * math.cos(turn) + v * math.sin(turn), v * math.cos(turn) - u * math.sin(turn)
        tone, inside = thing(p.astype(np.float32), q.astype(np.float32), rng)
        shadow = blurred(inside, max(1.0, 0.10 * size * x.shape[0]))
        moved = _moved(shadow, round(0.14 * size * x.shape[0]), round(0.10 * size * x.shape[0]))
        part = scene[window] * (1 - 0.55 * moved)[..., None]
        lit = 1.0 - 0.30 * np.clip(0.6 * u + 0.8 * v, -0.8, 1)
        scene[window] = mix(part, np.asarray(tone * lit[..., None], np.float32), inside)


def _moved(field: Field, down: int, right: int) -> Field:
    moved = np.zeros_like(field)
    high, wide = field.shape
    if down < high and right < wide:
        moved[down:, right:] = field[: high - down, : wide - right]
    return moved


def _nut(p: Field, q: Field, rng: np.random.Generator) -> tuple[Field, Field]:
    """A hazelnut: round, a little pointed, its foot pale."""
    r = np.asarray(np.hypot(p * (1 + 0.12 * p), q) / 0.92, np.float32)
    brown = colour(164, 104, 58) * (0.92 + 0.20 * np.cos(9 * np.arctan2(q, p))[..., None] * 0.25)
    pale = np.asarray(np.broadcast_to(colour(214, 176, 128), brown.shape), np.float32)
    shine = np.exp(-((p + 0.15) ** 2 + (q + 0.2) ** 2) / 0.06)[..., None] * 0.25
    tone = mix(np.asarray(brown, np.float32), pale, step(-p + 0.2 * q * q, 0.52, 0.6)) + shine
    return np.asarray(tone * float(rng.uniform(0.88, 1.1)), np.float32), 1 - step(r, 0.96, 1.02)


def _nib(p: Field, q: Field, rng: np.random.Generator) -> tuple[Field, Field]:
    """A piece of a roasted bean with broken edges."""
    angle = np.arctan2(q, p)
    edge = 0.75 + 0.14 * np.cos(3 * angle + rng.uniform(0, 6)) + 0.10 * np.cos(5 * angle + rng.uniform(0, 6))
    tone = (
        colour(96, 58, 40) * (0.9 + 0.35 * noise(p.shape[0], p.shape[1], (4, 4), int(rng.integers(1 << 30))))[..., None]
    )
    return np.asarray(tone * float(rng.uniform(0.7, 1.2)), np.float32), 1 - step(
        np.hypot(p, 1.35 * q) / edge, 0.95, 1.05
    )


def _pod(p: Field, q: Field, rng: np.random.Generator) -> tuple[Field, Field]:
    """A vanilla pod: long, thin, bent, with a line along it."""
    bent = q - float(rng.uniform(-0.35, 0.35)) * (p * p - 0.4)
    half = 0.052 * np.sqrt(np.clip(1 - p * p, 0, 1)) + 0.012
    tone = colour(92, 62, 44) * (1 + 0.35 * np.exp(-((bent / 0.02) ** 2)) - 0.5 * step(bent, 0.0, 0.05))[..., None]
    inside = (1 - step(np.abs(bent) - half, -0.006, 0.006)) * (np.abs(p) < 1)
    return np.asarray(tone, np.float32), np.asarray(inside, np.float32)
