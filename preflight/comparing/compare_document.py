"""Two files compared, as the document ``preflight-compare/1`` that every rendering shows; its schema is beside it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from typing import Any, Final

from preflight import __version__
from preflight.comparing.compare_words import headline, keep, remake, unchanged, undeclared
from preflight.comparing.comparison import BlankCheck, ChangedText, Comparison, PlateChange

FORMAT: Final = "preflight-compare/1"
DIGITS: Final = 3
"""Of millimetres."""


@dataclass(frozen=True)
class ComparedFile:
    """What is said of a file."""

    file: str
    sha256: str
    pages: int
    modified: datetime | None = None
    """When the file was last written."""


def build_compare_document(
    found: Comparison, old: ComparedFile, new: ComparedFile, when: datetime | None = None
) -> dict[str, Any]:
    """The document, in plain data; lengths in mm, shares from 0 to 1.

    Args:
        found: what came out.
        old: the file before.
        new: the file now.
        when: it was compared.
    """
    return {
        "format": FORMAT,
        "same": found.same,
        "as": found.as_,
        "says": headline(found),
        "files": {"old": _file(old), "new": _file(new)},
        "made": {"when": _time(when), "tool": f"preflight {__version__}"},
        "plates": [_plate(plate) for plate in found.plates],
        "blanks": [_blank(blank) for blank in found.blanks],
        "versions": [
            {"version": each.version, "blanks": each.blanks, "wanted": each.wanted} for each in found.versions
        ],
        "faults": list(found.faults),
        "remake": remake(found),
        "keep": keep(found),
        "declared": list(found.declared or ()),
        "undeclared": undeclared(found),
        "declared_unchanged": unchanged(found),
        "pages": list(found.pages),
        "texts": [_text(text) for text in found.texts],
        "export": found.export,
        "not_compared": list(found.not_compared),
        "notes": list(found.notes),
    }


def compare_schema() -> dict[str, Any]:
    """The schema of ``preflight-compare/1``."""
    schema: dict[str, Any] = json.loads(files("preflight.comparing").joinpath("compare_schema.json").read_text("utf-8"))
    return schema


def _file(each: ComparedFile) -> dict[str, Any]:
    return {"file": each.file, "sha256": each.sha256, "pages": each.pages, "modified": _time(each.modified)}


def _time(when: datetime | None) -> str | None:
    return None if when is None else when.isoformat(timespec="seconds")


def _plate(plate: PlateChange) -> dict[str, Any]:
    return {
        "name": plate.name,
        "change": plate.change,
        "share": round(float(plate.share), 6),
        "moved_mm": _mm(plate.moved_mm),
        "tone_percent": round(float(plate.tone_percent), 1) + 0.0,
        "places": _places(plate.places),
        "outside": _places(plate.outside),
        "renamed_from": plate.renamed_from,
        "also": list(plate.also),
        "says": plate.says,
    }


def _blank(blank: BlankCheck) -> dict[str, Any]:
    return {
        "number": blank.number,
        "box_mm": _mm(blank.box_mm),
        "kind": blank.kind,
        "version": blank.version,
        "turned_deg": round(float(blank.turned_deg), 2) + 0.0,
        "moved_mm": _mm(blank.moved_mm),
        "plates": [_plate(plate) for plate in blank.plates],
        "largest_mm": round(float(blank.largest_mm), DIGITS),
        "page": blank.page,
        "says": blank.says,
    }


def _text(text: ChangedText) -> dict[str, Any]:
    return {
        "old": text.old,
        "new": text.new,
        "box_mm": _mm(text.box_mm),
        "page": text.page,
        "plates": list(text.plates),
    }


def _places(places: Iterable[tuple[Sequence[float], int]]) -> list[dict[str, Any]]:
    return [{"box_mm": _mm(box), "page": page} for box, page in places]


def _mm(values: Iterable[float]) -> list[float]:
    return [round(float(value), DIGITS) + 0.0 for value in values]
