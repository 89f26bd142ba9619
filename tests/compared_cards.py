"""A small printed card, drawn as it was and as it is, for tests of what a comparison shows."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from preflight.compare_pipeline import CompareResult, compare
from preflight.report.compare_pictures import draw_compare_pictures
from preflight.report.compared_views import ComparePictures
from preflight.report.sheet_pictures import draw_sheet_pictures
from tests.drawn import Drawing
from tests.drawn_sheets import Art, one_up, rows, sheet

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
    noise: int | None = None,
) -> Path:
    """A card with a weight in Black, a varnish that may be shifted to the right, and a tint of a spot.

    With ``noise``, a seed, it has a photograph that cannot be packed.
    """
    page = Drawing(*SIZE_MM, trim=(5, 5, 145, 95))
    page.spot("Mill Brown", (0.3, 0.6, 0.8, 0.2))
    page.fill(brown, tint, rect=(5, 5, 145, 40))
    page.fill((0.1, 0, 0.5, 0), rect=(5, 40, 145, 95))
    page.fill((0, 0.7, 0.6, 0), points=[(100, 50), (135, 50), (118, 88)])
    page.gs(OP=True, op=True, OPM=1)
    page.text("Oat and Honey", (14, 76), 30)
    page.text(line, (14, 66), 11)
    page.text(weight, (14, 48), 20)
    if noise is not None:
        samples = np.random.default_rng(noise).integers(0, 256, (500, 800, 4), np.uint8).tobytes()
        page.image(samples, 800, 500, (5, 5, 145, 95))
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


def drawn(result: CompareResult) -> tuple[dict[str, Any], ComparePictures]:
    """The document and the pictures of a comparison, which is closed then."""
    with result:
        if result.sheet is not None:
            return result.document, draw_sheet_pictures(result.document, result.sheet)
        return result.document, draw_compare_pictures(result.document, result.pages)


@cache
def changed() -> tuple[dict[str, Any], ComparePictures]:
    """The weight edited, the varnish moved, the brown a little darker; declared are Black and Cyan."""
    with TemporaryDirectory() as folder:
        ticket = Path(folder) / "ticket.yaml"
        ticket.write_text("ticket: 1\nchanges: [Black, Cyan]\n")
        new = {"weight": "450 g", "varnish_mm": 0.1, "tint": 0.52}
        return drawn(compared(Path(folder), {}, new, ticket=ticket))


@cache
def same() -> tuple[dict[str, Any], ComparePictures]:
    """Two files that are equal byte for byte."""
    with TemporaryDirectory() as folder:
        old = card(Path(folder) / "old.pdf")
        (Path(folder) / "new.pdf").write_bytes(old.read_bytes())
        return drawn(compare(old, Path(folder) / "new.pdf", cache=False))


@cache
def on_sheet() -> tuple[dict[str, Any], ComparePictures]:
    """Twelve blanks: 2 is missing, 6 turned, 8 moved by 0.3 mm, 11 of an old revision."""
    with TemporaryDirectory() as name:
        folder, cells = Path(name), list(rows(3, 4))
        cells[2] = replace(cells[2], art=Art(digit="2"))
        cells[5] = replace(cells[5], art_turn=180)
        cells[7] = replace(cells[7], shift=(0.3, 0.0))
        cells[9] = replace(cells[9], art=None)
        files = one_up(folder / "one-up.pdf"), sheet(folder / "sheet.pdf", cells)
        older = one_up(folder / "older.pdf", Art(digit="2"))
        return drawn(compare(*files, as_="sheet", versions=[older], cache=False))
