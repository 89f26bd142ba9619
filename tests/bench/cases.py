"""The benchmarks by name: what each is, how its ticket puts it, and what is asked for."""

from __future__ import annotations

from dataclasses import dataclass

FOUR = "Black, Cyan, Magenta, Yellow"


@dataclass(frozen=True)
class Case:
    """One benchmark."""

    what: str
    artwork_is: str
    units: str
    seconds: float | None = None
    """Greatest wall time that is asked for; None where none is."""
    megabytes: float | None = None
    """Greatest memory, summed over all processes."""
    ratio: float | None = None
    """Greatest wall time beside ``tiffsep``."""


_BROWN = FOUR + ", Barley Brown"
_COPPER = FOUR + ", Copper"

CASES = {
    "one-up": Case("everyday one-up, 20,000 objects, photograph of 300 ppi", "one-up", _BROWN, 1.2, 400),
    "curves": Case("200,000 filled curves, 1.2 million segments, 72 MB of content", "one-up", FOUR, None, 1200, 1.0),
    "photo-jpeg": Case("sheet of one photograph of 300 ppi, JPEG", "sheet", FOUR, None, 700, 0.2),
    "photo-flate": Case("the same, Flate", "sheet", FOUR, None, 800, 0.3),
    "photo-metallic": Case("the JPEG and a metallic over a part of it", "sheet", _COPPER, None, 700, 0.2),
    "flate-metallic": Case("the Flate and a metallic over a part of it", "sheet", _COPPER, None, 800, 0.3),
    "photo-dies": Case("the JPEG under twelve blanks with dies and metallics", "sheet", _COPPER, None, 1000, 0.35),
    "24-up": Case("24 blanks on a sheet through one form", "sheet", _BROWN, None, None, 0.6),
    "swatches": Case("2,000 spots", "one-up", FOUR, 5),
    "swatches-close": Case("2,000 spots, 0.3 mm apart", "one-up", FOUR, 5),
    "swatches-1000": Case("1,000 spots, 0.3 mm apart", "one-up", FOUR),
    "forms": Case("2,000 forms under a page group of RGB", "one-up", FOUR),
    "objects-10k": Case("10,000 fills, strokes and words", "one-up", _BROWN),
    "objects-100k": Case("100,000 of them", "one-up", _BROWN),
    "objects-1m": Case("1,000,000 of them", "one-up", _BROWN, 30, 3000),
}
