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


@pytest.mark.parametrize(
    ("rotate", "size", "trim"),
    [
        # trim 10..130 x 15..90 of 140 x 100, by hand
        (0, (140, 100), (10, 15, 130, 90)),
        (90, (100, 140), (15, 10, 90, 130)),
        (180, (140, 100), (10, 10, 130, 85)),
        (270, (100, 140), (10, 10, 85, 130)),
    ],
)
def test_a_page_that_begins_elsewhere_is_turned_about_its_own_corner(
    rotate: int, size: tuple[float, float], trim: tuple[float, ...]
) -> None:
    offset = page(MediaBox=pt(-20, 30, 120, 130), TrimBox=pt(-10, 45, 110, 120), Rotate=rotate, UserUnit=2)
    got = read_page_geometry(offset)
    assert (got.width_mm, got.height_mm) == near(tuple(2 * side for side in size))
    assert got.boxes.trim == near(tuple(2 * place for place in trim))


SHEET = [-5, 10, 395, 310]
"""A media box of 400 x 300 units."""


@pytest.mark.parametrize("side", range(4), ids=["left", "below", "right", "above"])
@pytest.mark.parametrize(("past", "remarked"), [(0.009, False), (0.011, True)])
def test_a_box_may_run_a_hundredth_of_a_unit_past_the_media_box(side: int, past: float, remarked: bool) -> None:
    box: list[float] = [*SHEET]
    box[side] += past if side >= 2 else -past
    boxes = read_page_geometry(page(MediaBox=Array(SHEET), TrimBox=Array(box))).boxes
    assert boxes.trim == boxes.media
    assert len(boxes.remarks) == remarked


@pytest.mark.parametrize(
    ("box", "usable"),
    [
        ([10, 20, 10.011, 280], True),
        ([10, 20, 10.009, 280], False),
        ([10, 20, 300, 20.011], True),
        ([10, 20, 300, 20.009], False),
        ([394.989, 20, 500, 280], True),  # what is left of it within the media box
        ([394.991, 20, 500, 280], False),
        ([-90, 20, -4.989, 280], True),
        ([-90, 20, -4.991, 280], False),
        ([10, 309.989, 300, 500], True),
        ([10, 309.991, 300, 500], False),
        ([10, -90, 300, 10.011], True),
        ([10, -90, 300, 10.009], False),
        ([0, 20, 1_000_000, 280], True),
        ([0, 20, 1_000_001, 280], False),
        ([10, 20, 300, 1_000_020], True),
        ([10, 20, 300, 1_000_021], False),
    ],
)
def test_a_usable_box_has_sides_of_a_hundredth_to_a_million_units(box: list[float], usable: bool) -> None:
    boxes = read_page_geometry(page(MediaBox=Array(SHEET), TrimBox=Array(box))).boxes
    assert (boxes.trim is not None) is usable
    assert usable or len(boxes.remarks) == 1


@pytest.mark.parametrize(
    ("media", "remarked"),
    [([0, 0, 14_400, 500], 0), ([0, 0, 14_401, 500], 1), ([9, 9, 500, 14_409], 0), ([9, 9, 500, 14_410], 1)],
)
def test_usual_pages_are_no_larger_than_two_hundred_inches(media: list[float], remarked: int) -> None:
    assert len(read_page_geometry(page(MediaBox=Array(media))).boxes.remarks) == remarked


@pytest.mark.parametrize("side", range(4), ids=["left", "below", "right", "above"])
@pytest.mark.parametrize(("less", "remarked"), [(0.4, 0), (0.6, 1)])
def test_a_crop_box_may_leave_out_half_a_millimetre(side: int, less: float, remarked: int) -> None:
    box = [0.0, 0.0, 140.0, 100.0]
    box[side] += -less if side >= 2 else less
    boxes = read_page_geometry(page(CropBox=pt(*box))).boxes
    assert boxes.crop == near(tuple(box))
    assert len(boxes.remarks) == remarked


@pytest.mark.parametrize(
    ("unit", "taken"), [(1000, 1000), (1001, 1), (2.1e-5, 2.1e-5), (1.9e-5, 1), (1e-9, 1)]
)  # fmt: skip
def test_a_user_unit_gives_sides_of_a_hundredth_to_a_million_points(unit: float, taken: float) -> None:
    assert read_page_geometry(page(MediaBox=Array([0, 0, 500, 1000]), UserUnit=unit)).user_unit == taken
    assert read_page_geometry(page(MediaBox=Array([7, 7, 1007, 507]), UserUnit=unit)).user_unit == taken


@pytest.mark.parametrize(("levels", "found"), [(1, True), (63, True), (64, False)])
def test_a_page_inherits_over_sixty_three_levels(levels: int, found: bool) -> None:
    node = Dictionary(MediaBox=pt(0, 0, 70, 30))
    for _ in range(levels):
        node = Dictionary(Parent=PDF.make_indirect(node))
    assert (read_page_geometry(node).width_mm == pytest.approx(70)) is found


@pytest.mark.parametrize("box", [pt(130, 90, 10, 10), Array([*pt(10, 10, 130, 90), 7])], ids=["turned", "of five"])
def test_a_box_that_is_odd_in_one_way_is_remarked_once(box: Any) -> None:
    assert len(read_page_geometry(page(TrimBox=box)).boxes.remarks) == 1
