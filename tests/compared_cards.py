"""A small printed card, drawn as it was and as it is, for tests of what a comparison shows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from preflight.compare_pipeline import CompareResult, compare
from tests.drawn import Drawing

SIZE_MM = (150.0, 100.0)


def card(
    path: Path,
    *,
    weight: str = "500 g",
    varnish_mm: float = 0.0,
    tint: float = 0.5,
    brown: str = "Mill Brown",
    extra: str | None = None,
    line: str = "Rolled oats with wild honey",
) -> Path:
    """A card with a weight in Black, a varnish that may be shifted to the right, and a tint of a spot."""
    page = Drawing(*SIZE_MM, trim=(5, 5, 145, 95))
    page.spot("Mill Brown", (0.3, 0.6, 0.8, 0.2))
    page.fill(brown, tint, rect=(5, 5, 145, 40))
    page.fill((0.1, 0, 0.5, 0), rect=(5, 40, 145, 95))
    page.fill((0, 0.7, 0.6, 0), points=[(100, 50), (135, 50), (118, 88)])
    page.gs(OP=True, op=True, OPM=1)
    page.text("Oat and Honey", (14, 76), 30)
    page.text(line, (14, 66), 11)
    page.text(weight, (14, 48), 20)
    for k in range(4):
        x = 14 + 22 * k + varnish_mm
        page.fill("Matt Varnish", 1, rect=(x, 12, x + 16, 32))
    if extra is not None:
        page.fill(extra, 1, rect=(60, 45, 80, 55))
    return page.save(path)


def compared(folder: Path, old: dict[str, Any], new: dict[str, Any], **how: Any) -> CompareResult:
    """Two such cards, compared."""
    folder.mkdir(parents=True, exist_ok=True)
    return compare(card(folder / "old.pdf", **old), card(folder / "new.pdf", **new), cache=False, **how)
