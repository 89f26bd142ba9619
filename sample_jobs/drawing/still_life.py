"""The scene on the biscuit carton: a bowl of oat biscuits on a wooden table, lit from the upper left."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sample_jobs.drawing.pictures import Field, blurred, mix, noise, octaves, step

LIGHT = np.array([-0.5, -0.62, 0.6])
LIGHT = LIGHT / np.linalg.norm(LIGHT)


def colour(red: float, green: float, blue: float) -> NDArray[np.float32]:
    """A colour from 0..255 values."""
    return np.array([red / 255, green / 255, blue / 255], np.float32)


class Scene:
    """A canvas of 0..1 RGB with unit lengths of its height; (0, 0) is the upper-left corner, y runs down."""

    def __init__(self, width_px: int, height_px: int):
        self.scale = height_px
        self.rgb: Field = np.zeros((height_px, width_px, 3), np.float32)
        self.y, self.x = np.mgrid[0:height_px, 0:width_px].astype(np.float32) / height_px
        self.wide = width_px / height_px
        self.covered: NDArray[np.bool_] = np.zeros((height_px, width_px), bool)  # by the bowl

    def part(self, x0: float, y0: float, x1: float, y1: float) -> tuple[slice, slice]:
        """Rows and columns of a box, cut to the canvas."""
        height, width = self.rgb.shape[:2]
        rows = slice(max(int(y0 * self.scale), 0), min(int(y1 * self.scale) + 1, height))
        return rows, slice(max(int(x0 * self.scale), 0), min(int(x1 * self.scale) + 1, width))

    def darken(self, cx: float, cy: float, rx: float, ry: float, depth: float, soft: float) -> None:
        """A soft elliptical shadow; ``depth`` 0..1."""
        reach = 1 + soft
        rows, columns = self.part(cx - reach * rx, cy - reach * ry, cx + reach * rx, cy + reach * ry)
        r = np.hypot((self.x[rows, columns] - cx) / rx, (self.y[rows, columns] - cy) / ry)
        self.rgb[rows, columns] *= 1 - depth * (1 - step(r, 1 - soft, 1 + soft))[..., None]

    def blob(
        self, cx: float, cy: float, rx: float, ry: float, tone: NDArray[np.float32], share: float, soft: float
    ) -> None:
        """A flat ellipse of one tone with a soft edge."""
        rows, columns = self.part(cx - 1.2 * rx, cy - 1.2 * ry, cx + 1.2 * rx, cy + 1.2 * ry)
        r = np.hypot((self.x[rows, columns] - cx) / rx, (self.y[rows, columns] - cy) / ry)
        part = self.rgb[rows, columns]
        self.rgb[rows, columns] = mix(part, np.broadcast_to(tone, part.shape), (1 - step(r, 1 - soft, 1.1)) * share)


def bowl_of_biscuits(width_px: int, height_px: int) -> tuple[Field, Field]:
    """The scene as RGB (height, width, 3), and where its deepest shadow lies (height, width), 0..1."""
    scene = Scene(width_px, height_px)
    _room(scene)
    _table(scene)
    scene.darken(0.62, 0.87, 0.42, 0.085, 0.62, 0.55)
    scene.darken(0.60, 0.875, 0.24, 0.045, 0.75, 0.45)
    _bowl(scene, 0.58, 0.50, 0.345)
    scene.darken(1.14, 0.885, 0.23, 0.075, 0.62, 0.5)
    for i, (dx, dy) in enumerate([(0.004, 0.0), (-0.012, -0.05), (0.012, -0.099), (-0.003, -0.149)]):
        _biscuit(scene, 1.11 + dx, 0.855 + dy, 0.158, 0.062, 0.036, seed=60 + i)
    scene.darken(0.19, 0.945, 0.115, 0.03, 0.55, 0.6)
    _biscuit(scene, 0.175, 0.915, 0.105, 0.042, 0.026, seed=80)
    _crumbs(scene)
    grain = noise(height_px, width_px, (2.2, 2.2), 5)[..., None] * 0.006
    lit = blurred(scene.rgb, 0.6) * (1.03 - 0.09 * scene.y[..., None]) + grain
    deepest = 1 - step(np.hypot((scene.x - 0.60) / 0.25, (scene.y - 0.885) / 0.052), 0.85, 1.1)
    return np.clip(lit, 0, 1), (deepest * ~scene.covered).astype(np.float32)


def _room(scene: Scene) -> None:
    """Out of focus: a bright window to the left, warm wall to the right, round blobs of light."""
    top, right = colour(243, 228, 200), colour(176, 128, 82)
    scene.rgb = mix(np.broadcast_to(top, scene.rgb.shape), np.broadcast_to(right, scene.rgb.shape),
                    step(scene.x + 0.3 * scene.y, 0.15, 1.5))  # fmt: skip
    rng = np.random.default_rng(11)
    for _ in range(26):
        cx, cy, r = rng.uniform(0, scene.wide), rng.uniform(0, 0.42), rng.uniform(0.03, 0.085)
        scene.blob(cx, cy, r, r, colour(255, 236, 196), rng.uniform(0.06, 0.22), 0.18)


def _table(scene: Scene) -> None:
    """Planks running across, their grain stretched along them, focus falling off with distance."""
    height, width = scene.rgb.shape[:2]
    edge = 0.47
    depth = np.clip((scene.y - edge) / (1 - edge), 0, 1)
    boards = np.floor(np.log1p(depth * 3.2) * 3.4)
    fine = octaves(height, width, (7, 420), 21, 3) + 0.6 * octaves(height, width, (22, 900), 22, 2)
    tone = np.array([0.0, 0.09, -0.07, 0.05, -0.03, 0.07], np.float32)[boards.astype(int) % 6]
    light = 0.62 + tone + 0.10 * fine + 0.13 * (1 - scene.x / scene.wide) + 0.07 * depth
    seam = np.abs(np.gradient(boards, axis=0)) > 0
    light = light - 0.5 * blurred(seam.astype(np.float32), 2.0)
    wood = colour(204, 148, 92) * light[..., None] * 1.28
    wood = mix(blurred(wood, 9.0), wood, step(depth, 0.05, 0.42))
    scene.rgb = mix(scene.rgb, wood, step(scene.y, edge - 0.016, edge + 0.016))


def _bowl(scene: Scene, cx: float, cy: float, a: float) -> None:
    """A glazed bowl filled with biscuits; ``a`` is the radius of the rim."""
    flat, deep = 0.30, 0.345
    _bowl_body(scene, cx, cy, a, flat, deep)
    rim = np.hypot((scene.x - cx) / a, (scene.y - cy) / (a * flat))
    inner = np.hypot((scene.x - cx) / (a * 0.955), (scene.y - cy - 0.004) / (a * flat * 0.93))
    glaze = colour(226, 222, 210) * (0.98 - 0.22 * (scene.x - cx + a) / (2 * a))[..., None]
    scene.rgb = mix(scene.rgb, glaze, 1 - step(rim, 0.992, 1.004))
    scene.rgb = mix(
        scene.rgb,
        colour(92, 74, 56) * (0.7 + 0.8 * (scene.x - cx + a) / (2 * a))[..., None],
        1 - step(inner, 0.985, 1.005),
    )
    kept = scene.rgb.copy()
    heap = [
        (-0.21, -0.035, 0.115), (0.205, -0.03, 0.115), (-0.075, -0.075, 0.125), (0.10, -0.085, 0.12),
        (-0.15, 0.012, 0.115), (0.155, 0.018, 0.115), (0.012, -0.012, 0.13), (-0.055, -0.118, 0.105),
        (0.045, 0.045, 0.115),
    ]  # fmt: skip
    for i, (dx, dy, r) in enumerate(heap):
        scene.darken(cx + dx + 0.012, cy + dy + 0.025, r * 1.02, r * 0.55, 0.42, 0.3)
        _biscuit(scene, cx + dx, cy + dy, r, r * (0.50 + 0.05 * (i % 3)), 0.026, seed=30 + i)
    behind_front_rim = (inner > 1.0) & (scene.y > cy - 0.004)
    scene.rgb = np.where(blurred(behind_front_rim.astype(np.float32), 0.8)[..., None] > 0.5, kept, scene.rgb)


def _bowl_body(scene: Scene, cx: float, cy: float, a: float, flat: float, deep: float) -> None:
    """Rings from the foot up to the rim; of each only the crescent in front of the next stays visible."""
    for i in range(520, -1, -1):
        t = i / 520
        r = a * math.sqrt(max(1 - (t * 0.93) ** 2.3, 0.0)) if t < 0.93 else a * 0.42 * (1 - 0.1 * (t - 0.93) / 0.07)
        level = cy + t * deep
        rows, columns = scene.part(cx - r, level - r * flat, cx + r, level + r * flat)
        u = (scene.x[rows, columns] - cx) / r
        inside = u**2 + ((scene.y[rows, columns] - level) / (r * flat)) ** 2 <= 1
        out = np.sqrt(np.clip(1 - u * u, 0, 1))
        down = 0.25 + 0.75 * t
        lit = np.clip(-0.34 * u + 0.62 * out * (1 - 0.62 * down) + 0.14, 0.05, 1)
        glaze = colour(86, 112, 128) if 0.07 < t < 0.30 else colour(228, 223, 210)
        shine = np.exp(-(((u + 0.46) / 0.075) ** 2)) * math.exp(-(((t - 0.28) / 0.26) ** 2)) * 0.5
        ring = glaze * (0.34 + 0.92 * lit)[..., None] + shine[..., None]
        scene.rgb[rows, columns] = np.where(inside[..., None], ring, scene.rgb[rows, columns])
        scene.covered[rows, columns] |= inside


def _biscuit(scene: Scene, cx: float, cy: float, a: float, b: float, thick: float, *, seed: int) -> None:
    """A round biscuit seen from above at a slant: side first, then the top with its flakes."""
    rows, columns = scene.part(cx - a * 1.1, cy - b * 1.15, cx + a * 1.1, cy + b * 1.15 + thick)
    x, y = scene.x[rows, columns], scene.y[rows, columns]
    bump, tone = _oat_texture(seed)
    angle = np.random.default_rng(seed).uniform(0, 2 * math.pi)
    u, v = (x - cx) / a, (y - cy) / b
    wobble = 1 + 0.025 * np.sin(5 * np.arctan2(v, u) + seed) + 0.02 * np.sin(9 * np.arctan2(v, u) + 2 * seed)
    canvas = scene.rgb[rows, columns]
    side = (np.abs(u) < wobble) & (y > cy) & (((y - cy - thick) / b) < np.sqrt(np.clip(1 - (u / wobble) ** 2, 0, 1)))
    edge = (
        colour(178, 120, 62)
        * (0.86 - 0.42 * (u + 1) / 2 + 0.10 * noise(u.shape[0], u.shape[1], (5, 7), seed + 7))[..., None]
    )
    canvas = mix(canvas, edge, blurred(side.astype(np.float32), 0.7))
    r = np.hypot(u, v) / wobble
    shade, flakes = _sampled(bump, tone, u, v, angle)
    crust = mix(
        np.broadcast_to(colour(214, 160, 92), canvas.shape),
        np.broadcast_to(colour(168, 108, 52), canvas.shape),
        step(r, 0.62, 1.02),
    )
    crust = mix(crust, np.broadcast_to(colour(238, 208, 150), canvas.shape), np.clip(flakes, 0, 1) * 0.62)
    top = crust * (0.92 + 0.95 * shade - 0.07 * u)[..., None]
    scene.rgb[rows, columns] = np.clip(mix(canvas, top, 1 - step(r, 0.985, 1.012)), 0, 1)


def _oat_texture(seed: int, size: int = 384) -> tuple[Field, Field]:
    """Height and flakiness of a biscuit's top: lumps with oat flakes lying over each other."""
    rng = np.random.default_rng(seed)
    v, u = np.mgrid[-1.15 : 1.15 : size * 1j, -1.15 : 1.15 : size * 1j].astype(np.float32)
    height = 0.035 * octaves(size, size, (44, 44), seed, 4)
    flake = np.zeros_like(height)
    for _ in range(190):
        r, turn, lie = math.sqrt(rng.uniform()) * 1.02, rng.uniform(0, 2 * math.pi), rng.uniform(0, math.pi)
        du, dv = u - r * math.cos(turn), v - r * math.sin(turn)
        long, short = rng.uniform(0.07, 0.125), rng.uniform(0.04, 0.07)
        p, q = du * math.cos(lie) + dv * math.sin(lie), dv * math.cos(lie) - du * math.sin(lie)
        body = np.clip(1 - (p / long) ** 2 - (q / short) ** 2, 0, 1)
        on = body > 0
        height[on] = np.maximum(height[on], 0.02 + 0.05 * np.sqrt(body[on]) - 0.008 * np.exp(-((q[on] / 0.006) ** 2)))
        flake[on] = np.maximum(flake[on], step(body, 0.0, 0.25)[on] * rng.uniform(0.35, 1))
    return blurred(height, 1.2), blurred(flake, 1.0)


def _sampled(height: Field, flake: Field, u: Field, v: Field, angle: float) -> tuple[Field, Field]:
    """Shading of the height and the flakiness at places on the biscuit, the biscuit turned by ``angle``."""
    size = height.shape[0]
    slopes = [np.asarray(slope, np.float32) for slope in np.gradient(height, 2.3 / size)]
    cos, sin = math.cos(angle), math.sin(angle)
    p, q = cos * u - sin * v, sin * u + cos * v
    column = np.clip(((p + 1.15) / 2.3 * size), 0, size - 1).astype(int)
    row = np.clip(((q + 1.15) / 2.3 * size), 0, size - 1).astype(int)
    slope_v, slope_u = slopes[0][row, column], slopes[1][row, column]
    towards_x, towards_y = cos * slope_u + sin * slope_v, -sin * slope_u + cos * slope_v
    shade = np.clip(-0.30 * (towards_x * LIGHT[0] + towards_y * LIGHT[1]), -0.5, 0.5)
    return shade.astype(np.float32), flake[row, column]


def _crumbs(scene: Scene) -> None:
    rng = np.random.default_rng(90)
    for _ in range(46):
        cx, cy, r = rng.uniform(0.05, scene.wide - 0.05), rng.uniform(0.91, 0.985), rng.uniform(0.003, 0.0075)
        scene.darken(cx + 0.5 * r, cy + 0.5 * r, r * 1.4, r * 0.8, 0.45, 0.6)
        scene.blob(cx, cy, r, 0.7 * r, colour(226, 180, 112) * rng.uniform(0.75, 1.05), 1.0, 0.25)
