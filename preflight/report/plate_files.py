"""Plates as files: a grey PNG a separation and ``plates.json``, which says what each is and how much it carries."""

from __future__ import annotations

import hashlib
import io
import json
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
from PIL import Image

from preflight.artwork.page.page import Page
from preflight.carton.die import Die
from preflight.measures.what_prints import cover_inside, cover_of_page
from preflight.report.saving import write_aside

_LONGEST_NAME = 150
_SAFE = " -_.()+,'"


def write_plates(page: Page, die: Die, folder: Path, dpi: float) -> list[dict[str, Any]]:
    """Write every plate of the page as displayed; white is bare board, black is solid.

    Returns what ``plates.json`` holds: name, kind, file, ``cover_page`` and ``cover_inside_cut`` (0..1, tint-weighted;
    null where no cut was recognised), ``dpi``, which is lower than asked for where the page is very large or has
    very many plates, and ``uncertain_mm``, boxes of the page in which something is missing.

    Raises:
        NotMeasured: the plates cannot be made.
        OSError: the folder cannot be written to.
    """
    plates = page.plates(dpi)
    folder.mkdir(parents=True, exist_ok=True)
    covers, within = cover_of_page(plates, page), cover_inside(plates, die.inside) if die.blanks else {}
    kinds = {separation.name: separation.kind for separation in page.separations}
    uncertain = [[round(value, 2) for value in place.box_mm] for place in page.uncertain]
    entries: list[dict[str, Any]] = []
    taken: set[str] = set()
    for name, ink in zip(plates.names, plates.ink, strict=True):
        file = file_name(name, taken)
        picture = io.BytesIO()
        Image.fromarray(np.subtract(255, ink)).save(picture, "PNG", dpi=(plates.dpi, plates.dpi))
        write_aside(folder / file, picture.getvalue())
        entries.append(
            {
                "name": name,
                "kind": kinds.get(name, "spot"),
                "file": file,
                "cover_page": round(covers[name], 6),
                "cover_inside_cut": round(within[name], 6) if name in within else None,
                "dpi": round(plates.dpi, 2),
                "uncertain_mm": uncertain,
            }
        )
    write_aside(folder / "plates.json", json.dumps(entries, ensure_ascii=False, indent=1).encode())
    return entries


def file_name(name: str, taken: set[str]) -> str:
    """``<separation>.png`` with unsafe characters percent-encoded; unlike every name taken, whatever the case."""
    stem = quote(name, safe=_SAFE)
    if stem.startswith((".", " ")):
        stem = f"%{ord(stem[0]):02X}{stem[1:]}"
    stem = stem or "%00"
    if len(stem) > _LONGEST_NAME:
        stem = f"{stem[: _LONGEST_NAME - 13]}~{hashlib.sha256(name.encode('utf-8', 'replace')).hexdigest()[:12]}"
    number, unique = 2, stem
    while unique.lower() in taken:
        unique, number = f"{stem}~{number}", number + 1
    taken.add(unique.lower())
    return f"{unique}.png"
