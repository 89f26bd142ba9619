"""Records for press files, made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from preflight.quantities import Size
from preflight.setup.press_files.press_job import (
    Amounts,
    BlankAt,
    Cartons,
    Coat,
    Keys,
    MarkAt,
    Origin,
    PlateOnPress,
    PressJob,
    Stock,
    UnitPlate,
)

ODD_NAMES = ("Cyan", "Sea (deep) Blue\\2", "Grün 7 ()", "Moss  Green)")
SIZE = Size(120.3, 90)


def picture(seed: int, size: Size = SIZE) -> NDArray[np.uint8]:
    """Noise above a solid band and bare board: runs, and what has none."""
    height, width = round(size.along_mm * 2), round(size.across_mm * 2)
    found = np.random.default_rng(seed).integers(0, 256, (height, width)).astype(np.uint8)
    found[: height // 3] = 0
    found[height // 3 : height // 2, : width // 3] = 255
    return found


def press_job(names: tuple[str, ...] = ODD_NAMES, **more: Any) -> PressJob:
    plates = tuple(
        UnitPlate(2 * unit, name, "spot", preview=picture(unit), covers=tuple(np.linspace(0, 1 / unit, 5).round(4)))
        for unit, name in enumerate(names, 1)
    )
    job = PressJob(
        Origin(
            "44/71 B", "C", "Sage & mint <tea>", (("sage-tea.pdf", "ab" * 32),), "preflight 0.9", "0123456789ab",
            datetime(2026, 12, 1, 8, 30, tzinfo=UTC), "Seven units",
        ),
        Stock(SIZE, "GC2", 0.45, 295, "along"),
        plates,
        PlateOnPress(Size(140, 130), 40),
        Keys(5, 30),
        (BlankAt(1, 10, 12, 30.5, 60, 0, "Mint"), BlankAt(2, 60, 12, 30.5, 60, 180, "Sage")),
        (MarkAt("register", 2, 40, 4, 4), MarkAt("colour bar", 5, 82, 110, 5)),
        (Coat(1, "uv", "plate"),),
        (Cartons(1000, "Mint"), Cartons(None, "Sage")),
        Amounts(1000, 1350, 11000),
    )  # fmt: skip
    return replace(job, **more)
