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
    """Greatest time that is asked for; None where none is."""
    megabytes: float | None = None


CASES = {
    "one-up": Case("everyday one-up, 20,000 objects, photograph of 300 ppi", "one-up", FOUR + ", Barley Brown", 3, 500),
    "curves": Case("200,000 filled curves, 1.2 million segments, 72 MB of content", "one-up", FOUR, 25, 1500),
    "photo-jpeg": Case("sheet of one photograph of 300 ppi, JPEG", "sheet", FOUR),
    "photo-flate": Case("the same, Flate", "sheet", FOUR),
    "24-up": Case("24 blanks on a sheet through one form", "sheet", FOUR + ", Barley Brown"),
    "swatches": Case("2,000 spots", "one-up", FOUR),
    "objects-10k": Case("10,000 fills, strokes and words", "one-up", FOUR + ", Barley Brown"),
    "objects-100k": Case("100,000 of them", "one-up", FOUR + ", Barley Brown"),
    "objects-1m": Case("1,000,000 of them", "one-up", FOUR + ", Barley Brown"),
}
