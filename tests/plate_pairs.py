"""Pairs of plates for tests: shapes drawn with true coverage, pictures, and two drawn PDFs with closer looks."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from preflight.artwork.page.geometry import Box
from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.comparison import PlatePair

Plate = NDArray[np.uint8]
FINER = 10
DPI = 150


def pair(old: Plate, new: Plate, inside: NDArray[np.bool_] | None = None, dpi: float = DPI) -> PlatePair:
    mm = 25.4 / dpi
    every = np.ones(new.shape, bool) if inside is None else inside
    return PlatePair(old, new, every, dpi, (0, 0, new.shape[1] * mm, new.shape[0] * mm))


class Scene:
    """Shapes in mm from the upper-left corner, drawn ten times finer and averaged: what is covered is exact."""

    def __init__(self, width_mm: float = 90, height_mm: float = 60, dpi: float = DPI):
        self.size = tuple(int(side / 25.4 * dpi) for side in (width_mm, height_mm))
        self.scale = FINER * dpi / 25.4
        self.image = Image.new("L", (self.size[0] * FINER, self.size[1] * FINER))
        self.draw = ImageDraw.Draw(self.image)

    def rect(self, x0: float, y0: float, x1: float, y1: float, level: int = 255) -> Scene:
        left, top, right, bottom = (round(side * self.scale) for side in (x0, y0, x1, y1))
        if right > left and bottom > top:
            self.draw.rectangle((left, top, right - 1, bottom - 1), fill=level)
        return self

    def disc(self, x: float, y: float, radius: float, level: int = 255) -> Scene:
        self.draw.ellipse([self.scale * side for side in (x - radius, y - radius, x + radius, y + radius)], fill=level)
        return self

    def keep(self, x0: float, y0: float, x1: float, y1: float) -> Scene:
        """Takes away all outside a rectangle, as a clip does."""
        clip = Image.new("L", self.image.size)
        ImageDraw.Draw(clip).rectangle([round(side * self.scale) for side in (x0, y0, x1, y1)], fill=255)
        self.image.paste(0, (0, 0), Image.eval(clip, lambda level: 255 - level))
        return self

    def plate(self) -> Plate:
        width, height = self.size
        fine = np.asarray(self.image).reshape(height, FINER, width, FINER)
        return np.asarray(np.rint(fine.mean((1, 3))), np.uint8)


def shapes(at: Sequence[tuple[float, float, float, float, int]], dx: float = 0, dy: float = 0) -> Plate:
    scene = Scene()
    for x0, y0, x1, y1, level in at:
        scene.rect(x0 + dx, y0 + dy, x1 + dx, y1 + dy, level)
    return scene.plate()


def dots(pitch: float, radius: float, box: Box, dx: float = 0, dy: float = 0, level: int = 255) -> Scene:
    scene = Scene()
    for x in np.arange(box[0], box[2], pitch):
        for y in np.arange(box[1], box[3], pitch):
            scene.disc(x + dx, y + dy, radius, level)
    return scene


def photo(seed: int, shape: tuple[int, int] = (354, 531)) -> Plate:
    """Clouds of several sizes, as rough as a photograph."""
    noise = np.random.default_rng(seed).integers(0, 256, (shape[0] + 240, shape[1] + 240), dtype=np.uint8)
    total = np.zeros(noise.shape)
    for radius in (1.5, 6, 20, 60):
        cloud = np.asarray(Image.fromarray(noise).filter(ImageFilter.GaussianBlur(radius))).astype(float)
        total += (cloud - cloud.mean()) / max(cloud.std(), 1e-9) * 20
    return np.clip(128 + total[120 : 120 + shape[0], 120 : 120 + shape[1]], 0, 255).astype(np.uint8)


def compressed(plate: Plate, quality: int) -> Plate:
    packed = io.BytesIO()
    Image.fromarray(plate).save(packed, "JPEG", quality=quality)
    return np.asarray(Image.open(packed)).copy()


class Closer:
    """Closer looks at a plate of two files, counted."""

    def __init__(self, old: Path, new: Path, name: str):
        self.artworks = (read_artwork(old), read_artwork(new))
        self.name = name
        self.looks = 0

    def __call__(self, box: Box, dpi: float) -> PlatePair:
        self.looks += 1
        return self._pair([artwork.pages[0].window(box, dpi) for artwork in self.artworks])

    def whole(self, dpi: float = DPI) -> PlatePair:
        return self._pair([artwork.pages[0].plates(dpi) for artwork in self.artworks])

    def _pair(self, plates: Sequence) -> PlatePair:  # type: ignore[type-arg]
        old, new = (plate.tint(self.name) for plate in plates)
        return PlatePair(old, new, np.ones(new.shape, bool), plates[1].dpi, plates[1].box_mm)

    def close(self) -> None:
        for artwork in self.artworks:
            artwork.close()


Draw = Callable[..., Path]
