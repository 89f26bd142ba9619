"""Shapes painted over by the same shape: the pixels of their edge keep up to a quarter of what lies below, and none of
it is in the file. What no rule may take for ink, and thin ink beside it that every rule has to.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from pikepdf import Name

from preflight.artwork.page.page import Alteration
from preflight.artwork.platemaking.downsampling import downsampled
from preflight.artwork.read_artwork import read_artwork
from preflight.job import Job
from preflight.judging.judge import judge
from preflight.measures.raster import masks, rims
from tests.drawn import MM, Drawing
from tests.house import blank_page, job_of, rulebook, with_die

TICKET = {"artwork_is": "one-up", "board": {"surface": "kraft"}}
CYAN, BLACK, WHITE = (1, 0, 0, 0), (0, 0, 0, 1), (0, 0, 0, 0)
GROUND = (28, 60, 70, 110)
"""It holds every shape below."""
Shape = Callable[[Drawing], object]


def bars(page: Drawing) -> None:
    for i in range(14):
        x = 30 + i * 2.37
        page.path([(x, 62.3), (x + 1.13, 62.3), (x + 1.13, 100), (x, 100)]).raw("f")


def slanted(page: Drawing) -> None:
    for i in range(14):
        x = 30 + i * 2
        page.path([(x, 62), (x + 1, 62.3), (x + 3, 100), (x + 2, 99)]).raw("f")


def strokes(page: Drawing) -> None:
    page.raw(f"{0.4 * MM} w")
    for i in range(14):
        x = 30 + i * 2
        page.path([(x, 62), (x + 1, 80), (x + 3, 100)], close=False).raw("S")


def strokes_over_fills(page: Drawing) -> None:
    page.raw(f"{0.4 * MM} w")
    for i in range(8):
        page.path([(30 + i * 4, 62), (32 + i * 4, 62), (33 + i * 4, 90)]).raw("B")


def letters(page: Drawing, mode: int = 0) -> None:
    for i in range(6):
        at = f"1 0 0 1 {(30 + i * 0.13) * MM:.3f} {(62 + i * 5.2) * MM:.3f} Tm"
        page.raw(f"BT {mode} Tr 0.4 w /F0 {8 + i} Tf {at} (Sage thyme) Tj ET 0 Tr")


def letters_with_strokes(page: Drawing) -> None:
    letters(page, 2)


def stencils(page: Drawing) -> None:
    stream = page.pdf.make_stream(bytes([0b10100000, 0b01000000, 0b11100000]))
    stream.Type, stream.Subtype, stream.ImageMask = Name.XObject, Name.Image, True
    stream.Width, stream.Height, stream.BitsPerComponent = 3, 3, 1
    key = f"St{len(page.resources.XObject.keys())}"
    page.resources.XObject[Name("/" + key)] = stream
    page.raw(f"q {30 * MM} 0 0 {25.3 * MM} {30.2 * MM} {62 * MM} cm /{key} Do Q")
    page.raw(f"q 40 10 -10 40 {56 * MM} {92 * MM} cm /{key} Do Q")


def clipped(page: Drawing) -> None:
    page.raw("q").path([(30, 62), (60, 64), (58, 100), (33, 95)]).raw("W n")
    page.path([(20, 50), (80, 50), (80, 120), (20, 120)]).raw("f Q")


def in_a_form(page: Drawing) -> None:
    inner = f"{30 * MM} {62 * MM} 50.3 60.7 re f 130 250 m 150 270 l 100 290 l f"
    name = page.form(inner, bbox_mm=(0, 0, 300, 300))
    page.raw(f"q 1 0 0 1 3.3 4.1 cm /{name} Do Q")


def split_gradient(page: Drawing) -> None:
    """Tiles of 0.117 mm that abut: two seams and more in every pixel of the page's plates."""
    for i in range(300):
        x, beside = 30 + i * 0.117, 30 + (i + 1) * 0.117
        page.path([(x, 62), (beside, 62), (beside, 100), (x, 100)]).raw("f")


def curves(page: Drawing) -> None:
    for i in range(4):
        x = 100 + i * 20
        page.raw(f"{x} 180 m {x + 10} 210 {x + 30} 230 {x} 270 c {x - 20} 250 {x - 30} 200 {x} 180 c f")


SHAPES = [
    bars, slanted, strokes, strokes_over_fills, letters, letters_with_strokes, stencils, clipped, in_a_form,
    split_gradient, curves,
]  # fmt: skip


def drawn() -> Drawing:
    page = blank_page()
    return page.text(" ", (1, 1), 1)  # for its font


def paint(page: Drawing, shape: Shape, ink: object, tint: float = 1.0, *, overprint: bool = False) -> None:
    page.gs(OP=overprint, op=overprint, OPM=1)
    page.colour(ink, tint).colour(ink, tint, stroke=True)  # type: ignore[arg-type]
    shape(page)
    page.gs(OP=False, op=False)


def white_below(page: Drawing, shape: Shape) -> None:
    """White art that overprints a ground, covered by the same shape: it changes nothing."""
    page.fill(CYAN, rect=GROUND)
    paint(page, shape, WHITE, overprint=True)
    paint(page, shape, "Blue")


def white_between(page: Drawing, shape: Shape) -> None:
    paint(page, shape, "Red")
    paint(page, shape, WHITE, overprint=True)
    paint(page, shape, "Blue")


def nought_between(page: Drawing, shape: Shape) -> None:
    page.fill(CYAN, rect=GROUND)
    paint(page, shape, "Moss Green", 0.0)
    paint(page, shape, CYAN)


def varnish_filled_in(page: Drawing, shape: Shape) -> None:
    """A varnish knocks the ground out, and the ground is painted again there, overprinting the varnish."""
    page.fill(CYAN, rect=GROUND)
    paint(page, shape, "Matt Varnish")
    paint(page, shape, CYAN, overprint=True)


def black_filled_in(page: Drawing, shape: Shape) -> None:
    page.fill(CYAN, rect=GROUND)
    paint(page, shape, BLACK)
    paint(page, shape, CYAN, overprint=True)


def metallic_below(page: Drawing, shape: Shape) -> None:
    page.fill("Copper", rect=GROUND)
    paint(page, shape, "Blue")


def metallic_covered(page: Drawing, shape: Shape) -> None:
    paint(page, shape, "Copper")
    paint(page, shape, "Blue")


def white_filled_in(page: Drawing, shape: Shape) -> None:
    page.fill("Opaque White", rect=GROUND)
    paint(page, shape, CYAN)
    paint(page, shape, "Opaque White", overprint=True)


NOTHING = {
    "white-art-overprints": (white_below, white_between),
    "spot-at-zero": (nought_between,),
    "varnish-knocks-out": (varnish_filled_in,),
    "black-text-knocks-out": (black_filled_in,),
    "ink-on-metallic": (metallic_below, metallic_covered),
    "white-ink-knocked-out": (white_filled_in,),
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("rule", "draw"), [(rule, draw) for rule, draws in NOTHING.items() for draw in draws])
def test_no_rule_falls_for_a_rim(tmp_path, rule, draw, shape):
    """The last shape covers all that the rule is about, so that there is nothing of it anywhere."""
    page = drawn()
    draw(page, shape)
    judgement = judge(job_of(with_die(page), tmp_path, TICKET), rulebook(), only={rule})
    assert (judgement.findings, judgement.passed) == ((), (rule,))


def ink(job: Job, name: str) -> tuple[bool | None, float, float]:
    found = next(one for one in job.inks if one.separation.name == name)
    return found.prints, found.cover, found.area_mm2


@pytest.mark.parametrize("shape", SHAPES)
def test_an_ink_that_is_covered_does_not_print(tmp_path, shape):
    page = drawn()
    paint(page, shape, "Red")
    paint(page, shape, "Blue")
    job = job_of(with_die(page), tmp_path, TICKET)
    assert ink(job, "Red") == (False, 0.0, 0.0)
    assert ink(job, "Blue")[0] is True


def test_an_ink_that_is_covered_needs_no_unit_on_a_sheet_without_a_die(tmp_path):
    page = Drawing(400, 300)
    for name in ("Red", "Blue"):
        paint(page, split_gradient, name)
    assert [ink(job_of(page, tmp_path, {"artwork_is": "sheet"}), name)[0] for name in ("Red", "Blue")] == [False, None]


def test_forty_layers_under_one_are_no_ink(tmp_path):
    page = drawn()
    for name in [*["Red"] * 40, "Blue"]:
        paint(page, slanted, name)
    assert ink(job_of(with_die(page), tmp_path, TICKET), "Red") == (False, 0.0, 0.0)


def keyline(page: Drawing) -> None:
    page.stroke("Red", [(65, 62), (65, 100)], width_mm=0.2, close=False)


def fine_type(page: Drawing) -> None:
    page.text("Real type in four point", (30, 103), 4, "Red")


def light_tint(page: Drawing) -> None:
    page.fill("Red", 0.1, rect=(66, 63, 68, 65))


def rule_of_a_quarter_point(page: Drawing) -> None:
    page.stroke("Red", [(66, 62), (66, 100)], width_mm=0.25 / MM, close=False)


@pytest.mark.parametrize("real", [keyline, fine_type, light_tint, rule_of_a_quarter_point])
def test_thin_and_light_ink_beside_rims_prints(tmp_path, real):
    page = drawn()
    for name in ("Red", "Blue"):
        paint(page, split_gradient, name)
        paint(page, bars, name)
    real(page)
    assert ink(job_of(with_die(page), tmp_path, TICKET), "Red")[0] is True


@pytest.mark.parametrize("spread_mm", [0.15, 0.2, 0.3])
def test_what_shows_round_a_knock_out_prints(tmp_path, spread_mm):
    """A frame of Red, 0.15 to 0.3 mm wide, round Blue: 4 x 37 mm long."""
    page = drawn()
    page.fill("Red", rect=(30, 62, 67, 99))
    page.fill("Blue", rect=(30 + spread_mm, 62 + spread_mm, 67 - spread_mm, 99 - spread_mm))
    assert ink(job_of(with_die(page), tmp_path, TICKET), "Red")[0] is True


@pytest.mark.parametrize("width_mm", [0.1, 0.2])
def test_a_thin_white_line_that_overprints_is_found(tmp_path, width_mm):
    """40 mm long, so 4 and 8 mm2 of white that does not show; the limit is 0.2."""
    page = drawn()
    page.fill(CYAN, rect=GROUND).gs(OP=True, op=True, OPM=1)
    page.stroke(WHITE, [(40, 65), (41, 105)], width_mm=width_mm, close=False)
    page.gs(OP=False, op=False)
    judgement = judge(job_of(with_die(page), tmp_path, TICKET), rulebook(), only={"white-art-overprints"})
    assert judgement.findings
    assert judgement.findings[0].measured[0] == pytest.approx(40 * width_mm, abs=40 * 0.1)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("dpi", [200, 600])
def test_a_sharp_look_has_no_rims_and_all_the_ink(tmp_path, shape, dpi):
    drawing = drawn()
    paint(drawing, shape, "Red")
    paint(drawing, shape, "Blue")
    page = read_artwork(drawing.save(tmp_path / "art.pdf")).pages[0]
    box = (29, 61, 69, 101)
    sharp, smooth = page.window(box, dpi, edges="sharp"), page.window(box, dpi)
    assert smooth.tint("Red").max() > 30
    assert sharp.tint("Red").max() < 5
    if shape is not split_gradient:  # smooth seams let the board through
        assert sharp.tint("Blue").mean() == pytest.approx(smooth.tint("Blue").mean(), rel=0.02)


def test_a_sharp_look_at_altered_objects(tmp_path):
    page = drawn()
    paint(page, bars, "Red")
    paint(page, bars, "Blue")
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    blue = tuple(np.flatnonzero(read.objects.in_separation("Blue")).tolist())
    plates = read.altered(Alteration(left_out=blue), 200, (29, 61, 69, 101), "sharp")
    # 14 bars of 1.13 x 37.7 mm on 40 x 40 mm
    assert plates.tint("Red").mean() / 255 == pytest.approx(14 * 1.13 * 37.7 / 1600, rel=0.02)


def test_sharp_and_smooth_plates_are_kept_apart(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    page = drawn()
    paint(page, bars, "Red")
    paint(page, bars, "Blue")
    path = page.save(tmp_path / "art.pdf")
    for _ in range(2):
        read = read_artwork(path, cache=True).pages[0]
        box = (29, 61, 69, 101)
        assert read.window(box, 200).tint("Red").max() > 30
        assert read.window(box, 200, edges="sharp").tint("Red").max() < 5


def test_opening_takes_off_lines_of_one_pixel():
    levels = np.zeros((8, 8), np.uint8)
    levels[1] = 200  # a line
    levels[4:6, 2:6] = 90  # a bar of two
    opened = masks.opened(levels, 2)
    assert opened[1].max() == 0
    assert (opened[4:6, 2:6] == 90).all()
    assert opened.sum() == 90 * 8


def test_bringing_down_sharply_takes_off_lines_and_gaps_of_one_pixel():
    """Four pixels to one: a line of one pixel and a gap of one go, a bar of two is half of its pixel."""
    channels = np.zeros((4, 16, 3), np.uint8)
    channels[:, 1] = 255  # a line
    channels[:, 4:6] = 255  # a bar of two
    channels[:, 8:16] = 255
    channels[:, 11] = 0  # a gap
    assert downsampled(channels, 4, sharp=False)[0, :, 0].tolist() == [64, 128, 191, 255]
    assert downsampled(channels, 4, sharp=True)[0, :, 0].tolist() == [0, 128, 255, 255]


def test_what_is_strong_and_wide_is_not_looked_at_again():
    levels = np.zeros((20, 20), np.uint8)
    levels[5:10, 5:10] = 255
    plates = type("P", (), {"dpi": 100.0, "mm_per_px": 0.254, "box_mm": (0.0, 0.0, 5.08, 5.08)})()

    def sees(boxes, dpi):
        raise AssertionError("nobody has to look")

    kept = rims.without_rims(levels > 5, plates, sees, rims.is_no_rim(levels))
    assert kept.sum() == 25
