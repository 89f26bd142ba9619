"""Outside PDFs: each is read or refused in time, and names and plates agree with the index that comes with them.

The index was made with Ghostscript at 36 dpi, where every pixel counts that a shape touches. A plate agrees when its
cover is within 5 % or 0.03 % of the page, or when the figure lies between the least and the most ink of our own plate
in each such pixel. Process plates are compared where nothing on the page has to be converted first.
"""

from __future__ import annotations

import csv
import re
import time
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from urllib.parse import unquote_to_bytes

import numpy as np
import pytest
from numpy.typing import NDArray

from preflight import check
from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.structure.values import spelt
from preflight.artwork.read_artwork import read_artwork
from preflight.errors import NotMeasured, PreflightError
from tests.referees import CORPUS, needs_corpus

SAMPLE_PRESS = Path(__file__).parents[1] / "sample_jobs" / "presses" / "six-units.yaml"
SECONDS = 20
INDEX_DPI, FINER = 36, 5
FIGURES, FACTS = (
    "gs tiffsep page 1: plates with ink, mean percent",
    "facts verified with pikepdf (boxes in mm: WxH@x,y)",
)


def _index() -> dict[str, dict[str, str]]:
    if not (CORPUS / "INDEX.tsv").exists():
        return {}
    with (CORPUS / "INDEX.tsv").open(encoding="utf-8", newline="") as lines:
        return {row["file"]: row for row in csv.DictReader(lines, delimiter="\t")}


INDEX = _index()

ONE_PIXEL = "a line without width is a pixel wide for Ghostscript, and nothing to speak of on a plate"
ONLY_ALL = (
    "Ghostscript always has four process plates for All to mark; here a plate is one that something else prints on"
)
CONTROL = "Ghostscript's file names lose control characters, so that two of its plates bear one name"
OTHER_PLATES: dict[str, tuple[set[str], str]] = {
    "pdf-differences/LineCap-Degenerate.pdf": ({"Black"}, "PDFium leaves out dots drawn as lines of no length"),
    "synth/spots/names_delimiters.pdf": ({"a b"}, CONTROL),
    "synth/spots/names_invisible.pdf": ({"Silver"}, CONTROL),
    "synth/spots/names_all_none.pdf": ({"Black", "Yellow"}, ONLY_ALL),
    "synth/spots/hairline_zero_width.pdf": ({"Varnish"}, ONE_PIXEL),
    "synth/spots/devicen_all_inside.pdf": ({"All"}, "DeviceN must not name All; Ghostscript makes a plate of it"),
    "synth/overprint/registration_in_art.pdf": ({"Black", "Magenta", "Yellow"}, ONLY_ALL),
    "synth/boxes/bleed_cut_by_crop.pdf": (set(PROCESS), "Ghostscript clips to the crop box, here the page counts"),
}
"""Plates of the index that ours need not agree with, and why."""

TWO_ENCODINGS = "names that are no UTF-8 are shown as people wrote them, not as bytes"
OTHER_NAMES: dict[str, str] = {
    "synth/spots/names_encodings.pdf": TWO_ENCODINGS,
    "synth/spots/names_invisible.pdf": TWO_ENCODINGS,
    "synth/spots/names_delimiters.pdf": "the index leaves off after fourteen names",
    "synth/spots/softmask_only.pdf": "a colorant that only a luminosity mask is painted in is no separation",
}
"""Files whose spot names are counted only, and why."""
COUNTED = {"synth/spots/names_encodings.pdf": 12, "synth/spots/names_invisible.pdf": 7,
           "synth/spots/names_delimiters.pdf": 16, "synth/spots/softmask_only.pdf": 0}  # fmt: skip


@dataclass
class Read:
    """What came of a file: why it is refused, or why its plates are not measured, or its plates."""

    refused: str = ""
    not_measured: str = ""
    seconds: float = 0.0
    names: set[str] = field(default_factory=set)
    cover: dict[str, float] = field(default_factory=dict)
    least_and_most: dict[str, tuple[float, float]] = field(default_factory=dict)
    exempt: set[str] = field(default_factory=set)
    """Plates that the index need not agree on: not printing, converted first, or listed with a reason."""
    converted: bool = False


@cache
def read(file: str) -> Read:
    found, start = Read(), time.monotonic()
    try:
        pages = read_artwork(CORPUS / file).pages
    except PreflightError as fault:
        found.refused = str(fault)
    else:
        found.names = {s.name for page in pages for s in page.separations} - set(PROCESS)
        found.converted = _converted(pages[0])
        found.exempt = {s.name for s in pages[0].separations if not s.on_plate} | OTHER_PLATES.get(file, (set(),))[0]
        found.exempt |= set(PROCESS) if found.converted else set()
        try:
            _measure(found, pages[0], expected(file))
        except NotMeasured as fault:
            found.not_measured = str(fault)
    found.seconds = time.monotonic() - start
    return found


def _measure(found: Read, page: Page, figures: dict[str, float]) -> None:
    plates = page.plates(100)
    found.not_measured = "; ".join(place.because for place in plates.uncertain)
    found.cover = {name: float(plates.tint(name).mean()) / 2.55 for name in plates.names}
    figures = {name: figure for name, figure in figures.items() if name not in found.exempt}
    if all(agrees(found.cover.get(name, 0.0), figure) for name, figure in figures.items()):
        return
    fine = page.window((0, 0, page.width_mm, page.height_mm), INDEX_DPI * FINER)
    for name in fine.names if fine.dpi == INDEX_DPI * FINER else ():
        found.least_and_most[name] = _least_and_most(fine.tint(name))


def _least_and_most(tint: NDArray[np.uint8]) -> tuple[float, float]:
    """Percentages if each pixel of the index had the least, or the most, ink in it or up to a pixel beside it."""
    height, width = tint.shape
    beside = FINER
    padded = np.pad(tint, ((beside, -height % FINER + beside), (beside, -width % FINER + beside)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (FINER + 2 * beside,) * 2)[::FINER, ::FINER]
    return float(windows.min((2, 3)).mean()) / 2.55, float(windows.max((2, 3)).mean()) / 2.55


def _converted(page: Page) -> bool:
    """Whether anything on the page goes through a colour conversion before it is a plate."""
    used = {int(number) for number in np.unique(page.objects.colour)}
    colours = [page.objects.colours[number] for number in used]
    return any(colour.not_a_plate or colour.space.startswith("ICC") for colour in colours)


def expected(file: str) -> dict[str, float]:
    """Plates of the index with their percentages."""
    figures = re.sub(r"^rc\d\s*(\d+s )?", "", INDEX[file][FIGURES].split(" | ")[0])
    pairs = (re.fullmatch(r"(.*) ([\d.]+)", part) for part in figures.split("; "))
    return {spelt(unquote_to_bytes(pair[1])): float(pair[2]) for pair in pairs if pair}


def agrees(ours: float, figure: float) -> bool:
    return abs(ours - figure) <= max(0.05 * figure, 0.03) + 0.005


@needs_corpus
@pytest.mark.parametrize("file", INDEX)
def test_a_file_is_read_or_refused_in_time(file):
    found = read(file)
    assert found.seconds < SECONDS
    assert found.refused or found.not_measured or found.cover or not expected(file)


@needs_corpus
def test_plates_agree_with_the_index():
    wrong = {}
    for file in INDEX:
        found = read(file)
        for name, figure in expected(file).items() if not found.refused and not found.not_measured else ():
            ours = found.cover.get(name, 0.0)
            least, most = found.least_and_most.get(name, (ours, ours))
            if name not in found.exempt and not agrees(min(max(figure, least), most), figure):
                wrong[file, name] = (ours, figure)
    assert wrong == {}


@needs_corpus
@pytest.mark.parametrize("file", OTHER_PLATES)
def test_no_exemption_outlives_its_reason(file):
    found, figures = read(file), expected(file)
    for name in OTHER_PLATES[file][0] & set(figures):
        assert not agrees(found.cover.get(name, 0.0), figures[name]), name


def _listed(file: str, what: str) -> set[str] | None:
    found = re.search(re.escape(what) + r" \[(.*?)\](?: \||$)", INDEX[file][FACTS])
    return None if found is None else set(found[1].split("; ")) - {"None", "All", ""}


@needs_corpus
def test_spot_names_agree_with_the_index():
    """At least what content reaches, at most what the file declares anywhere."""
    wrong = {}
    for file in INDEX:
        declared = _listed(file, "spots declared") or set()
        reached = _listed(file, "reached by content")
        names = read(file).names
        if read(file).refused or file in OTHER_NAMES:
            continue
        if not (declared if reached is None else reached) <= names <= declared:
            wrong[file] = names
    assert wrong == {}


@needs_corpus
@pytest.mark.parametrize("file", COUNTED)
def test_names_that_read_otherwise_are_as_many(file):
    assert len(read(file).names) == COUNTED[file]
    assert file in OTHER_NAMES


@needs_corpus
def test_most_of_the_files_have_plates_to_compare():
    measured = [file for file in INDEX if not read(file).refused and not read(file).not_measured]
    compared = [file for file in measured if not read(file).converted]
    assert len(measured) > 0.8 * len(INDEX)
    assert len(compared) > 0.4 * len(INDEX)


@needs_corpus
def test_nobody_says_of_a_page_that_was_not_drawn_that_it_can_run():
    undrawn = 0
    for file in INDEX:
        if read(file).not_measured:
            document = check(CORPUS / file, press=SAMPLE_PRESS, cache=False).document
            blank = any(page["drawn"] == "not at all" for page in document["pages"])
            missing = any(page["drawn"] != "whole" for page in document["pages"])
            assert missing
            assert not (blank and "an run" in document["sentence"]), (file, document["sentence"])
            undrawn += 1
    assert undrawn
