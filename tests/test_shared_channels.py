"""Many plates in one channel come out as each of them in a channel of its own."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.artwork.platemaking import shared_channels
from preflight.artwork.read_artwork import ReadPage, read_artwork
from preflight.errors import NotMeasured
from tests.drawn import Drawing
from tests.plate_drawings import ON, device_n, embed_font, rect

COUNT = 70
SIDE_MM, PITCH_MM, ACROSS = 6, 8, 10
PAGE: Box = (0, 0, 90, 70)


def place(number: int) -> tuple[float, float]:
    return 3 + number % ACROSS * PITCH_MM, 3 + number // ACROSS * PITCH_MM


def swatch(number: int, *, wider_mm: float = 0.0) -> tuple[float, float, float, float]:
    x, y = place(number)
    return (x, y, x + SIDE_MM + wider_mm, y + SIDE_MM)


def shade(number: int) -> str:
    return f"Shade {number + 1}"


def book(*, wider_mm: float = 0.0) -> Drawing:
    page = Drawing(PAGE[2], PAGE[3])
    for number in range(COUNT):
        page.fill(shade(number), 0.2 + number / 100, rect=swatch(number, wider_mm=wider_mm))
    return page


def overlapping() -> Drawing:
    """Two knock-out swatches over others, one that overprints, and one at nought."""
    page = book()
    x, y = place(11)
    page.fill("Late", 0.9, rect=(x + 3, y + 3, x + 12, y + 12)).fill("Nought", 0, rect=(x + 20, y, x + 30, y + 4))
    return page.gs(**ON).fill("Over", 0.6, rect=(3, 3, 40, 6)).fill((0.5, 0, 0, 0), rect=(50, 0, 60, 70))


def on_a_ground() -> Drawing:
    page = Drawing(PAGE[2], PAGE[3]).fill((0.3, 0.2, 0, 0.1), rect=PAGE)
    for number in range(COUNT):
        page.fill(shade(number), 0.7, rect=swatch(number))
    return page


def with_marks() -> Drawing:
    """Registration marks at the rim, where no swatch is, and one over a swatch."""
    page = book()
    page.fill("All", 1, rect=(85, 1, 89, 5)).fill("All", 0.5, rect=(1, 65, 5, 69))
    x, y = place(35)
    return page.fill("All", 1, rect=(x + 1, y + 1, x + 3, y + 3))


def with_a_shading() -> Drawing:
    page = book()
    device_n(page, "Two", [shade(3), shade(4)])
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array([0, 0.2]), C1=Array([1, 0.9]))
    page.resources.Shading.Fade = Dictionary(
        ShadingType=2, ColorSpace=page.resources.ColorSpace.Two, Coords=Array([0, 0, 255, 0]), Function=function
    )
    return page.raw(f"q {rect(3, 60, 80, 68)} W n /Fade sh Q")


def with_text_and_lines() -> Drawing:
    page = book()
    embed_font(page)
    page.colour(shade(5), 1).raw("BT /F0 20 Tf 20 175 Td (Wide) Tj ET")
    return page.colour(shade(6), 1, stroke=True).raw("0.3 w 10 10 m 200 190 l S")


def closely_set() -> Drawing:
    """Hardly further from each other than plates in one channel have to be."""
    page = Drawing(PAGE[2], PAGE[3])
    for number in range(COUNT):
        x, y = place(number)
        page.fill(shade(number), 0.9, rect=(x, y, x + PITCH_MM - 1.05, y + PITCH_MM - 1.05))
    return page


def with_sharp_corners() -> Drawing:
    """Corners that reach over other swatches: a higher miter limit, and strokes wider one way than the other."""
    page = book().colour(shade(0), 1, stroke=True).raw("q 100 M 0 J 4 w 60 20 m 40 21 l 60 22 l S Q")
    page.colour(shade(1), 1, stroke=True).raw("q 20 0 0 0.2 0 0 cm 10 M 0 J 1 w 5 40 m 3 50 l 5 60 l S Q")
    return page.gs(ML=80).colour(shade(2), 1, stroke=True).raw("q 0 J 4 w 200 150 m 180 151 l 200 152 l S Q")


def with_heavy_outlines() -> Drawing:
    page = book()
    embed_font(page)
    return page.colour(shade(0), 1, stroke=True).raw("q 60 w BT 1 Tr /F0 6 Tf 100 100 Td (W) Tj ET Q")


def with_a_picture() -> Drawing:
    page = book()
    device_n(page, "Two", [shade(7), shade(8)])
    samples = np.tile(np.arange(0, 256, 4, dtype=np.uint8)[:, None], (16, 2)).tobytes()
    return page.image(samples, 32, 32, (10, 10, 50, 50), space=page.resources.ColorSpace.Two)


def with_downward_glyphs() -> Drawing:
    """A font whose widths say that nothing is shown, and glyphs far apart."""
    page = book()
    embed_font(page)
    page.resources.Font.F0.Widths = Array([0] * len(page.resources.Font.F0.get("/Widths", [0])))
    return page.colour(shade(0), 1).raw("BT /F0 90 Tf 20 100 Td (WWW) Tj ET")


def in_a_frame() -> Drawing:
    """Registration marks round all swatches, drawn as one path."""
    page = book().stroke("All", [(0.3, 0.3), (89.7, 0.3), (89.7, 69.7), (0.3, 69.7)], width_mm=0.2)
    return page.raw("0.3 w 0 4 m 2 4 l 4 0 m 4 2 l 253 4 m 255 4 l 251 0 m 251 2 l S")


PAGES = {
    "apart": book,
    "touching": lambda: book(wider_mm=PITCH_MM - SIDE_MM),
    "overlapping": overlapping,
    "on a ground": on_a_ground,
    "registration marks": with_marks,
    "a shading in two of them": with_a_shading,
    "text and lines": with_text_and_lines,
    "closely set": closely_set,
    "sharp corners": with_sharp_corners,
    "heavy outlines": with_heavy_outlines,
    "a picture in two of them": with_a_picture,
    "a font that says too little": with_downward_glyphs,
    "in a frame": in_a_frame,
}


def read(drawing: Drawing, folder: Path) -> ReadPage:
    page = read_artwork(drawing.save(folder / "art.pdf")).pages[0]
    assert isinstance(page, ReadPage)
    return page


def renderings(page: ReadPage) -> int:
    assert page.separator is not None
    return len(page.separator._renderings(shared_channels.APART_MM))


@pytest.mark.parametrize("dpi", [6, 12, 30, 50, 200])
@pytest.mark.parametrize("name", PAGES)
def test_packed_plates_are_as_plates_by_themselves(tmp_path, monkeypatch, name, dpi):
    packed = read(PAGES[name](), tmp_path)
    ours = packed.window(PAGE, dpi)
    monkeypatch.setattr("preflight.artwork.platemaking.separator.PACK_FROM", 1000)
    single = read(PAGES[name](), tmp_path)
    usual = single.window(PAGE, dpi)
    if dpi >= 50:
        assert renderings(packed) < renderings(single)
    assert ours.names == usual.names
    assert int(np.abs(ours.ink.astype(int) - usual.ink).max()) <= 1


def at(plates: Plates, name: str, x: float, y: float) -> float:
    column, row = plates.to_px(np.array([[x, y]]))[0].astype(int)
    return float(plates.tint(name)[row, column]) / 255


def test_swatches_apart_take_one_rendering_and_keep_their_tints(tmp_path):
    page = read(book(), tmp_path)
    plates = page.plates(100)
    assert renderings(page) == 1
    for number in range(COUNT):
        x, y = place(number)
        assert at(plates, shade(number), x + 3, y + 3) == pytest.approx(0.2 + number / 100, abs=0.004)
        other = place((number + 1) % COUNT)
        assert at(plates, shade(number), other[0] + 3, other[1] + 3) == 0


def test_what_lies_over_a_swatch_knocks_out_or_does_not(tmp_path):
    plates = read(overlapping(), tmp_path).plates(100)
    x, y = place(11)
    assert at(plates, shade(11), x + 1, y + 1) == pytest.approx(0.31, abs=0.004)
    assert at(plates, shade(11), x + 4, y + 4) == 0
    assert at(plates, "Late", x + 4, y + 4) == pytest.approx(0.9, abs=0.004)
    assert at(plates, shade(2), place(2)[0] + 3, 5) == pytest.approx(0.22, abs=0.004)
    assert at(plates, "Over", place(2)[0] + 3, 5) == pytest.approx(0.6, abs=0.004)


def test_a_window_of_a_packed_page(tmp_path):
    page = read(book(), tmp_path)
    x, y = place(44)
    window = page.window((x - 1, y - 1, x + 7, y + 7), 600)
    covered = (window.tint(shade(44)) > 0).mean()
    assert covered == pytest.approx(SIDE_MM**2 / 64, abs=0.01)
    assert not any(window.tint(shade(n)).any() for n in range(COUNT) if n != 44)


def test_plates_close_to_each_other_do_not_share_a_channel():
    boxes = {"A": np.array([[0, 0, 5, 5.0]]), "B": np.array([[5.9, 0, 9, 5.0]]), "C": np.array([[20, 0, 25, 5.0]])}
    marks = np.zeros((0, 4))
    assert shared_channels.pack(["A", "B", "C"], boxes, marks) == [("A", "C"), ("B",)]
    assert shared_channels.pack(["A", "C"], boxes, np.array([[24, 4, 30, 30.0]])) == [("A",), ("C",)]


def test_a_frame_in_registration_colour_leaves_its_inside_to_the_swatches(tmp_path):
    page = read(in_a_frame(), tmp_path)
    plates = page.plates(200)
    assert renderings(page) <= 2
    assert all(at(plates, shade(number), 45, 0.3) > 0.9 for number in range(COUNT))
    x, y = place(40)
    assert at(plates, shade(40), x + 3, y + 3) == pytest.approx(0.6, abs=0.004)


def test_plates_of_many_objects_are_packed_in_little_time_and_memory():
    corners = np.random.default_rng(1).uniform(0, 10, (500, shared_channels.MOST_BOXES, 2))
    corners += np.array([(i % 25 * 16, i // 25 * 16) for i in range(500)])[:, None]
    boxes = {f"S{i}": np.hstack([own, own + 1]) for i, own in enumerate(corners)}
    start = time.process_time()
    assert shared_channels.pack(list(boxes), boxes, np.zeros((0, 4))) == [tuple(boxes)]
    assert time.process_time() - start < 5


def test_ink_that_no_box_explains_is_drawn_again_with_a_channel_for_each(tmp_path, monkeypatch):
    monkeypatch.setattr(
        "preflight.artwork.platemaking.ink_boxes._overhang_mm", lambda objects, _: np.full(len(objects), -2)
    )
    page = read(book(), tmp_path)
    plates = page.plates(100)
    assert renderings(page) == -(-COUNT // 3)
    assert at(plates, shade(9), place(9)[0] + 1, place(9)[1] + 1) == pytest.approx(0.29, abs=0.004)


def test_more_plates_than_any_press_are_not_measured(tmp_path, monkeypatch):
    monkeypatch.setattr("preflight.artwork.platemaking.separator.MOST_PLATES", COUNT - 1)
    with pytest.raises(NotMeasured, match="70 separations"):
        read(book(), tmp_path).plates(100)


def test_a_type_3_font_may_draw_anywhere(tmp_path):
    page = book()
    page.resources.Font.T3 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1, 1]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
        CharProcs=Dictionary(a=page.pdf.make_stream(b"1 0 0 0 1 1 d1 5 5 2 2 re f")), FirstChar=97, LastChar=97,
        Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])), Widths=Array([1]),
        Resources=Dictionary(),
    )  # fmt: skip
    page.colour(shade(0), 1).raw("BT /T3 12 Tf 20 20 Td (a) Tj ET")
    plates = read(page, tmp_path).plates(100)
    mm = 25.4 / 72
    assert at(plates, shade(0), (20 + 72) * mm, (20 + 72) * mm) == 1


def boxes_at(*boxes: tuple[float, float, float, float]) -> np.ndarray:
    return np.array(boxes, float).reshape(-1, 4)


NO_MARKS = boxes_at()


@pytest.mark.parametrize(("dpi", "apart"), [(300, 1), (99.06, 1), (99, 2), (49.53, 2), (49.5, 4), (20, 8)])
def test_plates_keep_further_apart_where_pixels_are_large(dpi, apart):
    """A millimetre, or 3.9 pixels in steps of twice as much."""
    assert shared_channels.apart_at(dpi) == apart


def test_plates_without_objects_or_with_very_many_stand_alone():
    many = boxes_at(*((0, 0, 1, 1),) * shared_channels.MOST_BOXES)
    boxes = {"Many": many, "None": NO_MARKS, "More": np.vstack([many, many[:1]]), "Far": boxes_at((30, 9, 31, 10))}
    assert shared_channels.pack(list(boxes), boxes, NO_MARKS) == [("Many", "Far"), ("None",), ("More",)]
    assert shared_channels.pack(["None"], boxes, NO_MARKS) == [("None",)]


@pytest.mark.parametrize(
    ("other", "shares"),
    [
        ((16.6, 3, 20, 5), True),
        ((15.9, 3, 20, 5), False),
        ((11, 11.6, 14, 13), True),
        ((11, 10.9, 14, 13), False),
        ((3, 3, 8.4, 5), True),
        ((3, 3, 9.1, 5), False),
        ((11, 0, 14, 1.4), True),
        ((11, 0, 14, 2.1), False),
    ],
)
def test_plates_share_a_channel_where_they_are_further_apart_than_a_millimetre(other, shares):
    """Beside 10 to 15 across and 3 to 10 up, on each side; cells are a quarter of a millimetre."""
    boxes = {"A": boxes_at((10, 3, 15, 10)), "B": boxes_at(other)}
    assert shared_channels.pack(["A", "B"], boxes, NO_MARKS) == ([("A", "B")] if shares else [("A",), ("B",)])


def test_how_far_apart_can_be_asked_for():
    boxes = {"A": boxes_at((10, 3, 15, 10)), "B": boxes_at((18, 3, 20, 5))}
    assert shared_channels.pack(["A", "B"], boxes, NO_MARKS, 2.5) == [("A", "B")]
    assert shared_channels.pack(["A", "B"], boxes, NO_MARKS, 4) == [("A",), ("B",)]


def test_the_first_channel_that_is_free_is_taken():
    """B is by A, C by B, D by all, E by none."""
    boxes = {
        "A": boxes_at((0, 0, 5, 5)), "B": boxes_at((4, 4, 9, 9)), "C": boxes_at((8, 8, 12, 12)),
        "D": boxes_at((0, 0, 12, 12)), "E": boxes_at((30, 0, 31, 1), (30, 9, 31, 10)),
    }  # fmt: skip
    assert shared_channels.pack("ABCDE", boxes, NO_MARKS) == [("A", "C", "E"), ("B",), ("D",)]


def test_plates_of_several_objects_that_cover_much_of_the_page_stand_alone():
    far = boxes_at((0, 0, 1, 1), (99, 99, 100, 100))
    large = boxes_at((10, 10, 60, 30), (10, 40, 60, 60))
    small = boxes_at((10, 10, 30, 20), (10, 40, 30, 50))
    assert shared_channels.pack(["Far", "Large"], {"Far": far, "Large": large}, NO_MARKS) == [("Far",), ("Large",)]
    assert shared_channels.pack(["Far", "Small"], {"Far": far, "Small": small}, NO_MARKS) == [("Far", "Small")]
    assert shared_channels.pack(["Far", "One"], {"Far": far, "One": large[:1]}, NO_MARKS) == [("Far", "One")]


def test_there_are_no_more_channels_than_bits():
    boxes = {f"S{n}": boxes_at((0, 0, 3, 2)) for n in range(65)}
    packs = shared_channels.pack(list(boxes), boxes, NO_MARKS)
    assert packs == [(f"S{n}",) for n in range(65)]


PARTING = shared_channels.parting_of(
    ["A", "B"],
    {"A": boxes_at((10, 20, 14, 22)), "B": boxes_at((30, 20, 34, 21), (40, 5, 41, 9)), "C": boxes_at((0, 0, 99, 99))},
    boxes_at((2, 3, 4, 6)),
    ["B", "C"],
    2.0,
)


def test_a_channel_is_parted_half_way_between_plates():
    assert PARTING.boxes_mm.tolist() == [[9, 19, 15, 23], [29, 19, 35, 22], [39, 4, 42, 10]]
    assert PARTING.plates == ("A", "B", "B")
    assert PARTING.marks_mm.tolist() == [[1, 2, 5, 7]]
    assert PARTING.marked == ("B",)


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        ((16, 24, 18, 30), {"A"}),  # a millimetre beside it
        ((16.1, 24, 18, 30), set()),
        ((16, 24.1, 18, 30), set()),
        ((43, 2, 50, 3), {"B"}),
        ((20, 10, 28, 18), {"B"}),
        ((6, 0, 7, 1), {"A", "B"}),  # registration colour
        ((6.1, 0, 7, 1), set()),
    ],
)
def test_plates_near_a_window(window, expected):
    assert PARTING.near(window) == expected


def unpacked(channel: np.ndarray, box: Box = (8, 0, 44, 24), number: dict[str, int] | None = None):
    """The channel as ink of A, B and another plate, a pixel a millimetre."""
    ink = np.zeros((3, *channel.shape), np.uint8)
    held = shared_channels.unpack(channel, PARTING, box, 25.4, ink, number or {"A": 0, "B": 2})
    return held, ink


def test_what_a_channel_holds_goes_to_the_plate_of_the_box():
    channel = np.zeros((24, 36), np.uint8)
    channel[1, 1], channel[4, 6] = 50, 60  # the corners of A: x from 9 to 15, y from 23 down to 19
    channel[2, 21], channel[19, 33] = 70, 80
    held, ink = unpacked(channel)
    assert held
    assert np.argwhere(ink[0]).tolist() == [[1, 1], [4, 6]]
    assert np.argwhere(ink[2]).tolist() == [[2, 21], [19, 33]]
    assert not ink[1].any()
    assert ink.sum() == 260


@pytest.mark.parametrize("place", [(0, 1), (1, 0), (5, 6), (4, 7)])
def test_ink_outside_of_all_boxes_is_told(place):
    channel = np.zeros((24, 36), np.uint8)
    channel[place] = 1
    assert unpacked(channel)[0]
    channel[place] = 2
    held, ink = unpacked(channel)
    assert not held
    assert not ink.any()


def test_registration_colour_goes_to_all_plates_that_it_marks():
    channel = np.zeros((24, 36), np.uint8)
    channel[17, 1] = 90  # y from 7 down to 2, x from 1 to 5
    held, ink = unpacked(channel, (0, 0, 36, 24))
    assert held
    assert (int(ink[0, 17, 1]), int(ink[2, 17, 1])) == (0, 90)
    held, ink = unpacked(channel[:, :20], (0, 0, 20, 24), {"A": 0})  # a window that has nothing of B
    assert held
    assert not ink.any()
