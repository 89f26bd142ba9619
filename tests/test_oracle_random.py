"""Random drawings against Ghostscript's ``tiffsep``: colour spaces x overprint x kinds of paint x groups x text modes.

``RANDOM_DRAWINGS=500 pytest tests/test_oracle_random.py`` is the long run, with other drawings each time; the short one
draws the same hundred. A plate agrees when its ink lies within 8 % of itself, 0.03 % of the page or 1.2 of 255 levels
wherever the page carries ink, whichever is most, and so does every tile of 5 mm beside a small allowance for edges.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pikepdf
from hypothesis import HealthCheck, Phase, given, settings

from preflight.artwork.page.page import Page as ReadPage
from preflight.artwork.read_artwork import read_artwork
from preflight.errors import NotMeasured
from tests import random_drawings
from tests.random_drawings import Page, distinct
from tests.random_pages import drawn
from tests.referees import Tints, ghostscript_pages, needs_ghostscript
from tests.test_oracle_corpus_plates import OWN_INK, allowed
from tests.test_oracle_plates import as_tints, tiles

SHORT = 100
COUNT = int(os.environ.get("RANDOM_DRAWINGS", SHORT))
TILE = 0.06
"""Of a tile, beside 8 % of its own ink: the renderer puts the outermost samples of pictures on whole pixels."""
SHARE = 0.98
MOST_NOT_MEASURED = 0.1


@dataclass
class Outcome:
    """What came of all drawings, by their numbers."""

    plates: int = 0
    wrong: dict[int, list[str]] = field(default_factory=dict)
    not_measured: dict[int, str] = field(default_factory=dict)


@cache
def pages() -> list[Page]:
    made: list[Page] = []

    @settings(
        max_examples=8 * COUNT, deadline=None, database=None, derandomize=COUNT <= SHORT, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(page=random_drawings.pages())
    def collect(page: Page) -> None:
        made.append(page)

    collect()
    return distinct(made, COUNT)


@cache
def outcome() -> Outcome:
    found = Outcome()
    with TemporaryDirectory() as name:
        folder = Path(name)
        files = [drawn(page).save(folder / f"{number}.pdf") for number, page in enumerate(pages())]
        theirs = ghostscript_pages(_joined(files, folder / "all.pdf"), folder / "plates")
        for number, (file, referee) in enumerate(zip(files, theirs, strict=True)):
            try:
                page = read_artwork(file).pages[0]
                plates = page.plates(100)
            except NotMeasured as fault:
                found.not_measured[number] = str(fault)
                continue
            if page.uncertain:
                found.not_measured[number] = "; ".join(sorted({place.because for place in page.uncertain}))
                continue
            ours = as_tints(plates)
            for name in _marked_only(page, plates.names):
                ours.pop(name, None)
                referee.pop(name, None)
            found.plates += len({*ours, *referee})
            wrong = disagreements(ours, referee)
            if wrong:
                found.wrong[number] = wrong
    return found


def _marked_only(page: ReadPage, names: Sequence[str]) -> list[str]:
    """Plates that nothing but registration colour would mark: here it marks what something else prints on
    (``ONLY_ALL`` in ``test_oracle_corpus``)."""
    colours = page.objects.colours
    used = np.zeros(len(colours), bool)
    used[page.objects.colour] = True
    if not (used & colours.where(lambda family: family.registration)).any():
        return []
    inked = colours.inked(used & ~colours.where(lambda family: family.registration))
    return [name for name in names if not inked.get(name)]


def _joined(files: list[Path], target: Path) -> Path:
    whole = pikepdf.new()
    for file in files:
        with pikepdf.open(file) as one:
            whole.pages.extend(one.pages)
    whole.save(target)
    return target


def disagreements(ours: Tints, theirs: Tints) -> list[str]:
    """Plates that do not agree, each with its figures."""
    found = []
    bare = np.zeros_like(next(iter(theirs.values())))
    inked = float((np.max(list(theirs.values()), axis=0) > 0).mean())
    for name in sorted({*ours, *theirs}):
        a, b = ours.get(name, bare), theirs.get(name, bare)
        local = np.abs(tiles(a) - tiles(b)) - OWN_INK * np.maximum(tiles(a), tiles(b))
        if abs(float(a.mean()) - float(b.mean())) > allowed(float(b.mean()), inked):
            found.append(f"{name}: {a.mean():.2%} of the page, {b.mean():.2%} by the referee")
        elif local.max() > TILE:
            row, column = np.unravel_index(local.argmax(), local.shape)
            at = f"{tiles(a)[row, column]:.1%}, not {tiles(b)[row, column]:.1%}"
            found.append(f"{name}: tile {column}, {row} is {at}")
    return found


def table(found: Outcome) -> str:
    lines = []
    for number, wrong in found.wrong.items():
        lines += [f"drawing {number}: {'; '.join(wrong)}", *(f"    {element}" for element in pages()[number])]
    lines += [f"drawing {number} not measured: {why}" for number, why in found.not_measured.items()]
    agreeing = found.plates - sum(map(len, found.wrong.values()))
    return "\n".join([*lines, f"{agreeing} of {found.plates} plates agree, {len(pages())} drawings"])


@needs_ghostscript
def test_plates_of_random_drawings_agree():
    found = outcome()
    sys.stdout.write("\n" + table(found) + "\n")
    assert len(pages()) >= 0.9 * COUNT
    assert found.wrong == {}


@needs_ghostscript
def test_nearly_all_random_drawings_are_measured():
    assert len(outcome().not_measured) <= MOST_NOT_MEASURED * len(pages())
