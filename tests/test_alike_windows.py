"""Alike blanks of a sheet are drawn once for close looks, and only where they are really alike."""

from __future__ import annotations

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.page.page import Alteration, Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.platemaking import alike_windows
from preflight.artwork.platemaking.alike_windows import AlikeWindows
from preflight.artwork.platemaking.separator import Separator
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.test_shared_channels import read

PLACES = [(5, 5), (45, 5), (85, 5), (5, 45), (45, 45)]
INNER = (8.0, 7.0, 18.0, 13.0)
"""A window, seen from where a blank stands."""


def sheet(extra: str = "", calls: list[str] | None = None, stray: tuple[float, float] | None = None) -> Drawing:
    """Five blanks of 30 x 30 mm through one form, and what else is painted on the sheet."""
    page = Drawing(130, 80)
    page.spot("Leaf")
    cs = page.spaces["Leaf"]
    inner = f"0.2 0.6 0.9 0 k 0 0 {30 * MM} {30 * MM} re f /{cs} cs 0.7 scn {9 * MM} {8 * MM} {5 * MM} {3 * MM} re f"
    inner += f" 0 0 0 1 K 0.3 w {7 * MM} {6 * MM} m {19 * MM} {14.2 * MM} l S {extra}"
    form = page.form(inner, bbox_mm=(0, 0, 30, 30))
    for at, (x, y) in enumerate(PLACES):
        call = (calls or [])[at] if calls else "{cm} /{form} Do"
        page.raw("q " + call.format(cm=f"1 0 0 1 {x * MM:.3f} {y * MM:.3f} cm", form=form) + " Q")
    if stray:
        page.fill((0, 1, 0, 0), rect=(stray[0], stray[1], stray[0] + 2, stray[1] + 2))
    return page


def windows(page: Page, **keys: object) -> list[np.ndarray]:
    boxes = [(x + INNER[0], y + INNER[1], x + INNER[2], y + INNER[3]) for x, y in PLACES]
    if keys:
        return [page.altered(Alteration(**keys), 300, box).ink for box in boxes]  # type: ignore[arg-type]
    return [page.window(box, 300).ink for box in boxes]


@pytest.fixture
def counted(monkeypatch):
    """How many windows are drawn."""
    drawn, asked = Separator._drawn, list[object]()

    def counting(self, *given):
        asked.append(given)
        return drawn(self, *given)

    monkeypatch.setattr(Separator, "_drawn", counting)
    return asked


def true_windows(path, monkeypatch, **keys: object) -> list[np.ndarray]:
    with monkeypatch.context() as patch:
        patch.setattr(AlikeWindows, "pays", False)
        return windows(read_artwork(path).pages[0], **keys)


def agree(one: list[np.ndarray], other: list[np.ndarray]) -> bool:
    return all(np.abs(a.astype(int) - b).max() <= 2 for a, b in zip(one, other, strict=True))


CLIPPED = ["{cm} /{form} Do"] * 4
SLANTED = f"{{cm}} 0 0 m {60 * MM} 0 l 0 {20 * MM} l h W n /{{form}} Do"
RECTANGLE = f"{{cm}} 0 0 {12 * MM} {20 * MM} re W n /{{form}} Do"
TURNED = f"{{cm}} -1 0 0 -1 {30 * MM} {30 * MM} cm /{{form}} Do"


@pytest.mark.parametrize(
    ("page", "most"),
    [
        (sheet(), 1),
        (sheet(stray=(56, 14)), 2),
        (sheet(stray=(60, 40)), 1),
        (sheet(calls=[*CLIPPED, TURNED]), 2),
        (sheet(calls=[*CLIPPED, RECTANGLE]), 2),
        (sheet(calls=[*CLIPPED, SLANTED]), 5),
        (sheet(calls=[*CLIPPED, "/GS0 gs {cm} /{form} Do"]), 2),
    ],
    ids=["alike", "something over one", "something beside it", "turned", "cut off", "cut off aslant", "faint"],
)
def test_alike_windows_are_drawn_once_and_others_by_themselves(page, most, tmp_path, monkeypatch, counted):
    page.raw("q").gs(ca=0.4).raw("Q")
    path = page.save(tmp_path / "art.pdf")
    expected = true_windows(path, monkeypatch)
    counted.clear()
    assert agree(windows(read_artwork(path).pages[0]), expected)
    assert len(counted) == most


def test_blanks_under_one_mask_of_the_sheet_are_not_alike(tmp_path, monkeypatch):
    """The mask stands where the sheet has it, whichever blank is seen through it (ISO 32000-2, 11.6.5.2)."""
    page = sheet(calls=["/GS0 gs {cm} /{form} Do"] * 5)
    light = page.form(f"1 g 0 0 {60 * MM} {80 * MM} re f", bbox_mm=(0, 0, 130, 80),
                      group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))  # fmt: skip
    page.raw("q").gs(SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + light)])).raw("Q")
    path = page.save(tmp_path / "art.pdf")
    expected = true_windows(path, monkeypatch)
    assert not agree(expected[:1], expected[1:2])
    assert agree(windows(read_artwork(path).pages[0]), expected)


def test_what_is_left_out_of_one_blank_is_not_left_out_of_the_others(tmp_path, monkeypatch):
    path = sheet(stray=(56, 14)).save(tmp_path / "art.pdf")
    stray = len(read_artwork(path).pages[0].objects) - 1
    for keys in ({"left_out": (stray,)}, {"left_out": (1,)}):
        expected = true_windows(path, monkeypatch, **keys)
        assert agree(windows(read_artwork(path).pages[0], **keys), expected)


def test_blanks_on_places_that_a_file_has_rounded_are_alike(tmp_path, counted):
    page = sheet()
    page.ops = [op.replace("127.559", "127.560").replace("14.173", "14.174") for op in page.ops]
    windows(read_artwork(page.save(tmp_path / "art.pdf")).pages[0])
    assert len(counted) == 1


def alike(page: Drawing, tmp_path) -> AlikeWindows:
    separator = read(page, tmp_path).separator
    assert separator is not None
    return AlikeWindows(separator.page_content, separator.objects)


def at_blank(number: int, dx: float = 0, dy: float = 0, *, wider: float = 0.0) -> tuple[float, float, float, float]:
    x, y = PLACES[number]
    return (x + INNER[0] + dx, y + INNER[1] + dy, x + INNER[2] + dx + wider, y + INNER[3] + dy)


def blank_drawn(found: AlikeWindows, box, asked="100 dpi", alteration=None, *, uncertain=()) -> bool:
    """Whether a window is drawn, and not found again."""
    drawn = list[object]()

    def draw() -> Plates:
        drawn.append(box)
        return Plates(("Cyan",), np.zeros((1, 10, 10), np.uint8), 100.0, box, uncertain)

    assert found.get(box, asked, alteration or Alteration(), draw).box_mm == box
    return bool(drawn)


@pytest.mark.parametrize(
    ("box", "drawn"),
    [
        (at_blank(1), False),
        (at_blank(4), False),
        (at_blank(1, 0.0018), False),
        (at_blank(1, 0.0022), True),
        (at_blank(1, 0, -0.0018), False),
        (at_blank(1, 0, 0.0022), True),
        (at_blank(1, wider=0.0018), False),
        (at_blank(1, wider=0.0022), True),
    ],
)
def test_windows_on_the_same_place_of_two_blanks_are_alike(tmp_path, box, drawn):
    found = alike(sheet(), tmp_path)
    assert blank_drawn(found, at_blank(0))
    assert blank_drawn(found, box) == drawn


@pytest.mark.parametrize("count", [2, 3, 4])
def test_a_few_blanks_are_alike_as_many_are(tmp_path, count):
    found = alike(sheet(calls=["{cm} /{form} Do"] * count + ["{cm}"] * (5 - count)), tmp_path)
    assert blank_drawn(found, at_blank(0))
    assert not blank_drawn(found, at_blank(1))


def test_windows_are_alike_where_the_same_is_asked_of_them(tmp_path):
    found = alike(sheet(), tmp_path)
    assert blank_drawn(found, at_blank(0))
    assert blank_drawn(found, at_blank(1), "200 dpi")
    assert not blank_drawn(found, at_blank(2), "200 dpi")
    assert not blank_drawn(found, at_blank(2))


@pytest.mark.parametrize(("beside", "drawn"), [(0.45, True), (0.55, False)])
@pytest.mark.parametrize("side", ["right", "left", "above", "below"])
def test_what_lies_half_a_millimetre_beside_a_window_counts(tmp_path, side, beside, drawn):
    x0, y0, x1, y1 = at_blank(1)
    stray = {
        "right": (x1 + beside, y0), "left": (x0 - beside - 2, y0), "above": (x0, y1 + beside),
        "below": (x0, y0 - beside - 2),
    }[side]  # fmt: skip
    found = alike(sheet(stray=stray), tmp_path)
    assert blank_drawn(found, at_blank(0))
    assert blank_drawn(found, at_blank(1)) == drawn


def test_where_something_is_missing_a_window_is_drawn_again(tmp_path):
    found = alike(sheet(), tmp_path)
    assert blank_drawn(found, at_blank(0), uncertain=(UncertainPlace("lost", at_blank(0)),))
    assert blank_drawn(found, at_blank(1))
    assert not blank_drawn(found, at_blank(2))


def test_windows_with_other_objects_altered_are_not_alike(tmp_path):
    """The blanks have three objects each: the first two are left out of the first blank, or knock out in it."""
    found = alike(sheet(), tmp_path)
    for keys in ({"left_out": (0,)}, {"knocking_out": (0,)}, {"left_out": (1,)}):
        assert blank_drawn(found, at_blank(0), alteration=Alteration(**keys))
    assert blank_drawn(found, at_blank(1), alteration=Alteration(left_out=(0,)))  # nothing of it is altered
    assert not blank_drawn(found, at_blank(2), alteration=Alteration(left_out=(1,)))
    assert not blank_drawn(found, at_blank(1), alteration=Alteration(knocking_out=(3,)))


def test_no_more_is_kept_than_so_many_bytes(tmp_path, monkeypatch):
    found = alike(sheet(), tmp_path)
    monkeypatch.setattr(alike_windows, "MOST_BYTES", 99)
    assert blank_drawn(found, at_blank(0))
    assert blank_drawn(found, at_blank(1))
    monkeypatch.setattr(alike_windows, "MOST_BYTES", 100)
    assert blank_drawn(found, at_blank(2))
    assert not blank_drawn(found, at_blank(3))
    assert blank_drawn(found, at_blank(0), "200 dpi")
    assert blank_drawn(found, at_blank(1), "200 dpi")


def in_pattern_colour() -> Drawing:
    page = sheet(calls=["/Pattern cs /P scn {cm} /{form} Do"] * 5)
    page.resources.Pattern.P = page.pdf.make_stream(
        b"0 0 0 1 k 0 0 5 5 re f",
        Dictionary(PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9),
    )
    return page


@pytest.mark.parametrize(
    ("page", "pays"),
    [
        (sheet(), True),
        (sheet(calls=["{cm} /{form} Do", *["{cm}"] * 4]), False),
        (sheet(calls=["{cm} /{form} Do"] * 2 + ["{cm}"] * 3), True),
        (sheet(calls=[*CLIPPED, RECTANGLE]), True),
        (sheet(calls=[*CLIPPED, SLANTED]), False),
        (sheet(calls=[*CLIPPED, RECTANGLE.replace("W n", "W* n")]), True),
        (sheet(calls=[*CLIPPED, RECTANGLE.replace("re W n", "re 1 1 m W n")]), False),
        (sheet("0 0 m 9 0 l 0 9 l W n"), True),  # what is cut off in the form moves along
        (in_pattern_colour(), False),
        (Drawing(50, 40).fill("Leaf", rect=(1, 1, 5, 5)).fill("Leaf", rect=(9, 1, 15, 5)), False),
        (Drawing(50, 40), False),
    ],
    ids=["five", "one", "two", "rectangle", "slanted", "even-odd", "no rectangle", "in the form", "pattern", "no form",
         "empty"],
)  # fmt: skip
def test_it_pays_where_forms_are_placed_again_and_nothing_stands_still(tmp_path, page, pays):
    assert alike(page, tmp_path).pays == pays
