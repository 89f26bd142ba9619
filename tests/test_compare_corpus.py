"""Ten pairs made from outside PDFs: what was done to the second file is named, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot
from pathlib import Path

import pikepdf
import pytest

from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_revisions import compare_revisions
from preflight.comparing.comparison import Comparison
from tests.referees import CORPUS, needs_corpus

MM = 72 / 25.4
Change = Callable[[pikepdf.Pdf], None]


def wrapped(pdf: pikepdf.Pdf, before: str = "", behind: str = "") -> None:
    """All that the first page paints, between what is put before it and behind it."""
    page = pdf.pages[0]
    page.contents_add(pdf.make_stream(f"q {before}\n".encode()), prepend=True)
    page.contents_add(pdf.make_stream(f"\nQ {behind}".encode()))


def shifted(pdf: pikepdf.Pdf) -> None:
    wrapped(pdf, f"1 0 0 1 {0.1 * MM} 0 cm")


def spotted(pdf: pikepdf.Pdf) -> None:
    """A square of 0.2 mm2 in magenta near the middle."""
    x0, y0, x1, y1 = (float(number) for number in pdf.pages[0].mediabox)
    side = 0.45 * MM
    wrapped(pdf, behind=f"0 1 0 0 k {x0 + 0.37 * (x1 - x0)} {y0 + 0.41 * (y1 - y0)} {side} {side} re f")


def retitled(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Title"] = "another title"


def rewritten(pdf: pikepdf.Pdf) -> None:
    wrapped(pdf)


def turned(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0]
    page.obj.Rotate = (int(page.obj.get("/Rotate", 0)) + 90) % 360


def elsewhere(pdf: pikepdf.Pdf) -> None:
    """Another origin: all boxes and the content moved by 30 and 20 points."""
    page = pdf.pages[0]
    wrapped(pdf, "1 0 0 1 30 20 cm")
    for key in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox"):
        box = page.mediabox if key == "/MediaBox" else page.obj.get(key)
        if box is not None:
            x0, y0, x1, y1 = (float(number) for number in box)
            page.obj[key] = pikepdf.Array([x0 + 30, y0 + 20, x1 + 30, y1 + 20])


def no_change(found: Comparison) -> bool:
    return found.same and not found.not_compared


def all_moved(found: Comparison) -> bool:
    """Whichever way that is on a page that is turned."""
    return bool(found.changed) and all(
        plate.change == "moved" and hypot(*plate.moved_mm) == pytest.approx(0.1, abs=0.02) for plate in found.changed
    )


def one_spot(found: Comparison) -> bool:
    """Magenta is edited (new, where there was none) at one place of half a millimetre."""
    (plate,) = [each for each in found.changed if each.name == "Magenta"]
    (((x0, y0, x1, y1), _),) = plate.places
    return plate.change in ("local", "new") and max(x1 - x0, y1 - y0) < 1.5


PAIRS: list[tuple[str, Change, Callable[[Comparison], bool]]] = [
    ("pdfcpu/VectorApple.pdf", shifted, all_moved),
    ("pdf-reader/large_single_line_content_stream.pdf", shifted, all_moved),
    ("pdfcpu/VectorApple.pdf", spotted, one_spot),
    ("hayro/path_rendering_2.pdf", spotted, one_spot),
    ("pdf.js/issue13520.pdf", retitled, no_change),
    ("hayro/pattern_shading_type6_2.pdf", retitled, no_change),
    ("pdf.js/issue16263.pdf", rewritten, no_change),
    ("pdf-differences/CutHereExample.pdf", turned, no_change),
    ("pdfcpu/VectorApple.pdf", turned, no_change),
    ("hayro/color_space_separation_2.pdf", elsewhere, no_change),
]


@needs_corpus
@pytest.mark.parametrize(("name", "change", "right"), PAIRS, ids=[f"{n}-{c.__name__}" for n, c, _ in PAIRS])
def test_what_was_done_to_an_outside_file_is_named(name, change, right, tmp_path):
    old, new = tmp_path / "old.pdf", tmp_path / "new.pdf"
    with pikepdf.open(CORPUS / name) as pdf:
        while len(pdf.pages) > 1:
            del pdf.pages[-1]
        if "/Annots" in pdf.pages[0].obj:  # they lie on the page by themselves, whatever is done to its content
            del pdf.pages[0].obj["/Annots"]
        pdf.save(old)
    with pikepdf.open(old) as pdf:
        change(pdf)
        pdf.save(new)
    found = compare_with(old, new)
    assert right(found), [(plate.name, plate.change, plate.moved_mm, plate.places) for plate in found.changed]


def compare_with(old: Path, new: Path) -> Comparison:
    with read_artwork(old, cache=False) as before, read_artwork(new, cache=False) as now:
        return compare_revisions(before, now)
