"""Plates of the outside PDFs against Ghostscript, rendered now at true coverage: every plate of the first pages.

A plate agrees when its ink lies within 8 % of itself, 0.03 % of the page or 1.2 of 255 levels wherever the page carries
any ink, whichever is most. Process plates count where nothing on the page has to be converted first; spots always do.
Ghostscript has four process plates for registration colour to mark on every page; here a plate is one that something
else prints on (``ONLY_ALL`` in ``test_oracle_corpus``), and what is none is not compared.
The figure that must hold is agreeing over compared, all files together. Each plate that does not agree is listed.
"""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.structure.values import spelt
from preflight.artwork.read_artwork import read_artwork
from preflight.errors import NotMeasured, PreflightError
from tests.referees import CORPUS, Cover, ghostscript_cover, needs_corpus, needs_ghostscript, without_crop
from tests.test_oracle_corpus import INDEX

FIRST_PAGES = 3
SECONDS = 60
"""For Ghostscript, a page at a time."""
OWN_INK, OF_THE_PAGE, LEVELS = 0.08, 0.0003, 1.2 / 255
SHARE = 0.98
ROUGH_PX, CLOSE_PX = 3e6, 24e6
"""Pixels of the referee's page: a first look, and one at plates that do not agree on it."""

FONT = "the fonts are not embedded, and each program takes one of its own (9.8.1)"
EXPRESSION = "Ghostscript and MuPDF take no visibility expressions; ours is right, 8.11.2.2 puts VE before all else"
DOTS = "Ghostscript is right: round caps of a line without length are a dot (8.5.3.2); PDFium and MuPDF leave it out"
NO_COLORANT = "DeviceN must not name All (8.6.6.5); Ghostscript makes a plate of it and puts the varnish there"
ALIKE = "ours is right: two names are told apart that Ghostscript's file names make one of (7.3.5)"
LISTED: dict[tuple[str, int], tuple[set[str], str]] = {
    ("pdf.js/issue6127.pdf", 2): ({"470"}, FONT),
    ("pdf.js/visibility_expressions.pdf", 1): ({"Black"}, EXPRESSION),
    ("FPDI/-450.pdf", 1): ({"Black"}, FONT),
    ("pdf-differences/LineCap-Degenerate.pdf", 1): ({"Black"}, DOTS),
    ("synth/spots/names_encodings.pdf", 1): ({"Lack außen (Latin-1)"}, ALIKE),
    ("synth/spots/names_invisible.pdf", 1): ({"(unreadable name)", "Silver"}, ALIKE),
    ("synth/spots/devicen_all_inside.pdf", 1): ({"All", "Varnish"}, NO_COLORANT),
}
"""Plates by file and page that do not agree: referee, clause, and who is right."""


@dataclass(frozen=True)
class Row:
    """A plate of both sides, as shares of the page."""

    file: str
    page: int
    plate: str
    ours: float
    theirs: float
    allowed: float

    @property
    def agrees(self) -> bool:
        """Whether the two lie within what is allowed."""
        return abs(self.ours - self.theirs) <= self.allowed


@dataclass
class Compared:
    """All that was compared, and why the rest was not."""

    rows: list[Row] = field(default_factory=list)
    skipped: dict[tuple[str, int], str] = field(default_factory=dict)


def allowed(theirs: float, inked: float) -> float:
    """How far a plate may lie off: of its own ink, of the page, or of what the levels of two renderers add up to."""
    return max(OWN_INK * theirs, OF_THE_PAGE, LEVELS * inked)


@cache
def compared() -> Compared:
    found = Compared()
    for file in INDEX:
        try:
            pages = read_artwork(CORPUS / file).pages[:FIRST_PAGES]
        except PreflightError as fault:
            found.skipped[file, 0] = f"refused: {fault}"
            continue
        for page in pages:
            _compare(found, file, page)
    return found


def _compare(found: Compared, file: str, page: Page) -> None:
    try:
        plates = page.plates(100)
    except NotMeasured as fault:
        found.skipped[file, page.number] = f"not measured: {fault}"
        return
    if page.uncertain:
        missing = sorted({place.because for place in page.uncertain})
        found.skipped[file, page.number] = f"missing: {'; '.join(missing)}"
        return
    ours = _ours(page, plates)
    rows: list[Row] = []
    for pixels in (ROUGH_PX, CLOSE_PX):
        try:
            theirs = _theirs(file, page, pixels)
        except subprocess.TimeoutExpired:
            found.skipped[file, page.number] = "Ghostscript takes too long"
            return
        if not theirs.ink:
            found.skipped[file, page.number] = "Ghostscript draws nothing"
            return
        rows = list(_rows(file, page, ours, theirs))
        if all(row.agrees for row in rows):
            break
    found.rows += rows


def _ours(page: Page, plates: Plates) -> dict[str, float]:
    """Shares of the page, of which the outermost pixels may have a part only."""
    px = page.width_mm * page.height_mm / plates.mm_per_px**2
    return {name: float(plates.tint(name).sum(dtype=np.int64)) / 255 / px for name in plates.names}


def _theirs(file: str, page: Page, pixels: float) -> Cover:
    inches = page.width_mm * page.height_mm / 25.4**2
    spots = min(60, max(10, len(page.separations)))
    with TemporaryDirectory() as folder:
        pdf = CORPUS / file
        if page.boxes.crop is not None:
            pdf = without_crop(pdf, Path(folder) / "art.pdf")
        dpi = min(600.0, (pixels / inches) ** 0.5)
        return ghostscript_cover(pdf, Path(folder) / "plates", dpi=dpi, page=page.number, spots=spots, seconds=SECONDS)


def _rows(file: str, page: Page, ours: dict[str, float], cover: Cover) -> list[Row]:
    theirs = {spelt(name): share for name, share in cover.ink.items()}
    exempt = {s.name for s in page.separations if not s.on_plate} | (set(PROCESS) if converted(page) else set())
    if any(colour.registration for colour in _colours(page)):
        exempt |= set(PROCESS) - ours.keys()  # no plates of the page, only marked
    return [
        Row(file, page.number, name, ours.get(name, 0.0), theirs.get(name, 0.0),
            allowed(theirs.get(name, 0.0), cover.inked))
        for name in sorted({*ours, *theirs} - exempt)
    ]  # fmt: skip


def converted(page: Page) -> bool:
    """Whether anything on the page goes through a colour conversion before it is a plate."""
    return any(colour.not_a_plate or colour.space.startswith("ICC") for colour in _colours(page))


def _colours(page: Page) -> list[Colour]:
    return [page.objects.colours[number] for number in np.unique(page.objects.colour).tolist()]


def table(found: Compared) -> str:
    """What does not agree, what was not compared, and the figure."""
    wrong = [row for row in found.rows if not row.agrees]
    lines = [f"{row.file} {row.page} {row.plate}: {row.ours:.4%}, not {row.theirs:.4%}" for row in wrong]
    lines += [f"{file} {page}: {why}" for (file, page), why in found.skipped.items()]
    return "\n".join([*lines, f"{len(found.rows) - len(wrong)} of {len(found.rows)} plates agree"])


@needs_corpus
@needs_ghostscript
@pytest.mark.slow
def test_plates_of_outside_files_agree():
    found = compared()
    sys.stdout.write("\n" + table(found) + "\n")
    assert len(found.rows) > 400
    assert sum(row.agrees for row in found.rows) / len(found.rows) >= SHARE


@needs_corpus
@needs_ghostscript
def test_each_plate_that_does_not_agree_is_listed():
    wrong = {(row.file, row.page, row.plate) for row in compared().rows if not row.agrees}
    assert wrong == {(file, page, plate) for (file, page), (plates, _) in LISTED.items() for plate in plates}
