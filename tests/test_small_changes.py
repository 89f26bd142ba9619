"""What is less than an edit: a comma for a point, lines of the die, a damaged file, a blank that lies wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_revisions import compare_revisions
from preflight.comparing.compare_words import headline, keep, remake
from preflight.comparing.comparison import BlankCheck, Comparison, PlateChange
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing


def page(words: str = "", *, crease: float = 0.0) -> Drawing:
    """A tuck carton with a ground, a line of type, and its die, one crease of it moved."""
    carton = reverse_tuck(at=(10, 10))
    drawing = Drawing(215, 200)
    drawing.fill("Mill Brown", rect=(30, 60, 80, 100))
    if words:
        drawing.text(words, (100, 120), 6)
    lines = carton.crease
    lines[0] = [(x + crease, y) for x, y in lines[0]]
    draw_die(drawing, carton)
    return drawing


def compared(folder: Path, old: Drawing, new: Drawing) -> Comparison:
    paths = [drawing.save(folder / name) for drawing, name in ((old, "old.pdf"), (new, "new.pdf"))]
    with read_artwork(paths[0], cache=False) as before, read_artwork(paths[1], cache=False) as now:
        return compare_revisions(before, now)


@pytest.mark.parametrize(("old", "new"), [("12.50 mg", "12,50 mg"), ("1.5 g", "1,5 g"), ("a; b", "a: b")])
def test_a_comma_for_a_point_is_found(old, new, tmp_path):
    found = compared(tmp_path, page(old), page(new))
    assert not found.same
    (black,) = found.changed
    assert (black.name, black.change, len(black.places)) == ("Black", "local", 1)
    assert headline(found).startswith("Only Black changed.")
    assert found.texts[0].plates == ("Black",)


def test_the_same_words_written_otherwise_change_nothing(tmp_path):
    old, new = page(), page()
    old.text("12.50 mg", (100, 120), 6)
    new.text("12.", (100, 120), 6).text("50 mg", (100 + (2 * 556 + 278) / 1000 * 6 * 25.4 / 72, 120), 6)
    found = compared(tmp_path, old, new)
    assert found.same, found.changed


@pytest.mark.parametrize(("by", "said"), [(1.0, True), (0.05, False)])
def test_a_crease_that_moved_is_no_plate_and_is_told(by, said, tmp_path):
    found = compared(tmp_path, page(), page(crease=by))
    assert found.same
    assert any("crease lines of the die" in words for words in found.pages) == said


def test_of_a_damaged_file_not_all_is_compared(tmp_path):
    whole = page("12.50 mg").save(tmp_path / "old.pdf")
    data = whole.read_bytes()
    (tmp_path / "new.pdf").write_bytes(data[: len(data) * 9 // 10])
    with read_artwork(whole, cache=False) as before, read_artwork(tmp_path / "new.pdf", cache=False) as now:
        found = compare_revisions(before, now)
    assert any("new.pdf is damaged" in words for words in found.not_compared)
    assert not found.same


@pytest.mark.parametrize(("kind", "stays"), [("missing", False), ("moved", False), ("turned", False), ("other", True)])
def test_a_blank_that_lies_wrong_is_wrong_on_every_plate(kind, stays):
    plates = (PlateChange("Cyan", "none"), PlateChange("Black", "local" if stays else "none"))
    found = Comparison("sheet", plates, (BlankCheck(1, (0, 0, 9, 9), kind),))
    assert keep(found) == (["Cyan"] if stays else [])
    assert remake(found) == (["Black"] if stays else ["Cyan", "Black"])
