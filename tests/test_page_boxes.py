"""Page boxes as displayed."""

from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure.page_boxes import MM_PER_PT, box_to_mm, read_page_geometry

PDF = pikepdf.new()
MM = 72 / 25.4


def pt(*mm: float) -> Array:
    return Array([value * MM for value in mm])


def page(**keys: Any) -> Dictionary:
    keys.setdefault("MediaBox", pt(0, 0, 140, 100))
    return Dictionary(Type=Name.Page, **{key: value for key, value in keys.items() if value is not None})


def near(box: tuple[float, ...] | None) -> Any:
    return pytest.approx(box, abs=1e-3) if box is not None else None


@pytest.mark.parametrize(
    ("rotate", "turned", "size", "trim"),
    [
        # trim 10..130 x 20..90 of 140 x 100, by hand
        (0, 0, (140, 100), (10, 20, 130, 90)),
        (90, 90, (100, 140), (20, 10, 90, 130)),
        (180, 180, (140, 100), (10, 10, 130, 80)),
        (270, 270, (100, 140), (10, 10, 80, 130)),
        (450, 90, (100, 140), (20, 10, 90, 130)),
        (-90, 270, (100, 140), (10, 10, 80, 130)),
        (-360, 0, (140, 100), (10, 20, 130, 90)),
    ],
)
def test_rotate(rotate: int, turned: int, size: tuple[float, float], trim: tuple[float, ...]) -> None:
    got = read_page_geometry(page(Rotate=rotate, TrimBox=pt(10, 20, 130, 90)))
    assert got.rotate == turned
    assert (got.width_mm, got.height_mm) == near(size)
    assert got.boxes.media == near((0, 0, *size))
    assert got.boxes.trim == near(trim)
    assert got.boxes.remarks == ()


def test_rotate_is_clockwise() -> None:
    # a mark near the lower left corner of the page as drawn
    marks = {
        rotate: box_to_mm((10 * MM, 5 * MM, 11 * MM, 6 * MM), read_page_geometry(page(Rotate=rotate)).to_mm)
        for rotate in (0, 90, 180, 270)
    }
    assert marks[0] == near((10, 5, 11, 6))
    assert marks[90] == near((5, 129, 6, 130))  # upper left
    assert marks[180] == near((129, 94, 130, 95))  # upper right
    assert marks[270] == near((94, 10, 95, 11))  # lower right


@pytest.mark.parametrize("rotate", [45, 90.5, Name.Ninety, Array([])])
def test_rotate_that_is_none(rotate: Any) -> None:
    got = read_page_geometry(page(Rotate=rotate))
    assert got.rotate == 0
    assert got.width_mm == pytest.approx(140)
    assert got.boxes.remarks


@pytest.mark.parametrize(
    ("unit", "factor", "remarked"),
    [(1, 1, False), (2, 2, False), (0.5, 0.5, False), (0, 1, True), (-2, 1, True), (Name.Two, 1, True), (1e9, 1, True)],
)
def test_user_unit(unit: Any, factor: float, remarked: bool) -> None:
    got = read_page_geometry(page(UserUnit=unit, TrimBox=pt(10, 10, 130, 90), Rotate=90))
    assert (got.width_mm, got.height_mm) == near((100 * factor, 140 * factor))
    assert got.boxes.trim == near((10 * factor, 10 * factor, 90 * factor, 130 * factor))
    assert got.user_unit == factor
    assert bool(got.boxes.remarks) is remarked


@pytest.mark.parametrize(
    ("box", "expected", "remarked"),
    [
        (pt(10, 10, 130, 90), (10, 10, 130, 90), False),
        (pt(130, 90, 10, 10), (10, 10, 130, 90), True),
        (pt(10, 90, 130, 10), (10, 10, 130, 90), True),
        (pt(-5, -5, 150, 110), (0, 0, 140, 100), True),
        (pt(30, 30, 150, 110), (30, 30, 140, 100), True),
        (pt(0, 0, 140.001, 100), (0, 0, 140, 100), False),
        (pt(200, 200, 300, 300), None, True),
        (pt(140, 0, 200, 100), None, True),
        (pt(10, 10, 10, 90), None, True),
        (pt(10, 10, 130), None, True),
        (Array([*pt(10, 10, 130, 90), 7]), (10, 10, 130, 90), True),
        (Array([Name.Ten, 10, None, 90]), None, True),
        (Array([0, 0, 10**17, 10]), None, True),
        (Name.Box, None, True),
        (Dictionary(), None, True),
        (PDF.make_indirect(pt(10, 10, 130, 90)), (10, 10, 130, 90), False),
        (None, None, False),
    ],
)
def test_trim_box(box: Any, expected: tuple[float, ...] | None, remarked: bool) -> None:
    boxes = read_page_geometry(page(TrimBox=box)).boxes
    assert boxes.trim == near(expected)
    assert bool(boxes.remarks) is remarked


@pytest.mark.parametrize(
    ("box", "remarked"),
    [(pt(0, 0, 140, 100), False), (pt(0.2, 0, 140, 99.8), False), (pt(20, 0, 140, 100), True), (None, False)],
)
def test_a_crop_box_that_shows_less_than_the_page_is_said(box: Any, remarked: bool) -> None:
    assert bool(read_page_geometry(page(CropBox=box)).boxes.remarks) is remarked


def test_offset_media_box_and_every_box() -> None:
    got = read_page_geometry(
        page(
            MediaBox=pt(-20, 30, 120, 130), CropBox=pt(-20, 30, 100, 130), BleedBox=pt(-13, 37, 113, 123),
            TrimBox=pt(-10, 40, 110, 120), ArtBox=pt(0, 50, 100, 110),
        )
    )  # fmt: skip
    assert got.boxes.media == near((0, 0, 140, 100))
    assert got.boxes.crop == near((0, 0, 120, 100))
    assert got.boxes.bleed == near((7, 7, 133, 93))
    assert got.boxes.trim == near((10, 10, 130, 90))
    assert got.boxes.art == near((20, 20, 120, 80))
    assert got.media_pt == near(tuple(v * MM for v in (-20, 30, 120, 130)))


def test_inheritance() -> None:
    root = Dictionary(
        MediaBox=pt(0, 0, 140, 100), Rotate=90, CropBox=pt(10, 10, 130, 90), TrimBox=pt(1, 1, 2, 2), UserUnit=3
    )
    middle = Dictionary(Parent=PDF.make_indirect(root), MediaBox=pt(0, 0, 200, 100))
    got = read_page_geometry(Dictionary(Type=Name.Page, Parent=PDF.make_indirect(middle)))
    assert (got.width_mm, got.height_mm) == near((100, 200))
    assert (got.rotate, got.user_unit) == (90, 1)
    assert got.boxes.crop is not None
    assert got.boxes.trim is None


def test_a_loop_in_the_page_tree_ends() -> None:
    node = PDF.make_indirect(Dictionary())
    node.Parent = node
    got = read_page_geometry(Dictionary(Type=Name.Page, Parent=node))
    assert (got.width_mm, got.height_mm) == near((215.9, 279.4))


@pytest.mark.parametrize("media", [None, pt(0, 0, 0, 100), pt(0, 0, 140), Name.A4, Array([0, 0, 10**8, 10**8])])
def test_media_box_that_is_none(media: Any) -> None:
    got = read_page_geometry(page(MediaBox=media) if media is not None else Dictionary(Type=Name.Page))
    assert (got.width_mm, got.height_mm) == near((215.9, 279.4))
    assert got.boxes.remarks


def test_a_page_larger_than_usual_is_read_and_said() -> None:
    got = read_page_geometry(page(MediaBox=Array([0, 0, 20_000, 500])))
    assert got.width_mm == pytest.approx(20_000 * MM_PER_PT)
    assert got.boxes.remarks


def test_a_pikepdf_page_will_do() -> None:
    pdf = pikepdf.new()
    added = pdf.add_blank_page(page_size=(144, 72))
    assert (read_page_geometry(added).width_mm, read_page_geometry(added.obj).width_mm) == near((50.8, 50.8))
