"""What each rendering does with each row, colours in its channels, and thin strokes painted fainter."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.platemaking import derived_pdf as module
from preflight.artwork.platemaking.derived_pdf import LEAVE, PAINT, SKIP, Copies, DerivedPdf
from preflight.artwork.platemaking.renderings import LUMINOSITY, SILHOUETTE, Rendering
from tests.drawn import Drawing
from tests.plate_drawings import device_n
from tests.test_shared_channels import read

CYAN, GOLD = Rendering((("Cyan",), ("Magenta",))), Rendering((("Gold",),))


def derived(page: Drawing, tmp_path, **keys: Any) -> tuple[DerivedPdf, Any]:
    """A derived PDF of a page, and the page's own stream."""
    separator = read(page, tmp_path).separator
    assert separator is not None
    content = separator.page_content
    given = {"page_mm": (0, 0, 60, 50), "image_ppi": {}, "skipped": frozenset(), "pixel_mm": 0.0, **keys}
    return DerivedPdf(content, **given), content.stream


def actions(page: Drawing, tmp_path, rendering: Rendering, **keys: Any):
    made, stream = derived(page, tmp_path, **keys)
    return made.actions(stream, rendering).tolist()


def overprinting() -> Drawing:
    """Cyan, Gold, and the same overprinting; a stroke in Gold that does not."""
    page = Drawing(60, 50).fill((1, 0, 0, 0), rect=(1, 1, 5, 5)).fill("Gold", rect=(9, 9, 15, 15))
    page.gs(op=True, OP=False, OPM=1).fill((1, 0, 0, 0), rect=(1, 1, 5, 5)).fill("Gold", rect=(9, 9, 15, 15))
    return page.stroke("Gold", [(20, 20), (30, 24)])


@pytest.mark.parametrize(
    ("rendering", "keys", "expected"),
    [
        (CYAN, {}, [PAINT, PAINT, PAINT, SKIP, PAINT]),
        (GOLD, {}, [PAINT, PAINT, SKIP, PAINT, PAINT]),
        (GOLD, {"isolated": True}, [PAINT, PAINT, LEAVE, PAINT, PAINT]),
        (CYAN, {"skipped": frozenset({"Gold"})}, [PAINT, SKIP, PAINT, SKIP, SKIP]),
        (GOLD, {"skipped": frozenset({"Cyan"})}, [PAINT, PAINT, SKIP, PAINT, PAINT]),
        (LUMINOSITY, {"skipped": frozenset({"Gold"})}, [PAINT] * 5),
        (SILHOUETTE, {}, [PAINT] * 5),
    ],
)
def test_what_a_rendering_does_with_each_row(tmp_path, rendering, keys, expected):
    assert actions(overprinting(), tmp_path, rendering, **keys) == expected


def test_rows_that_are_left_out_or_knock_out_for_a_look(tmp_path):
    keys = {"left_out": {0: np.array([0, 3], np.int32)}, "knocking_out": {0: np.array([2, 3], np.int32)}}
    assert actions(overprinting(), tmp_path, GOLD, **keys) == [SKIP, PAINT, PAINT, SKIP, PAINT]
    assert actions(overprinting(), tmp_path, GOLD, left_out={1: np.array([0], np.int32)})[0] == PAINT


def test_what_is_hidden_is_not_painted_even_where_it_shall_knock_out(tmp_path):
    page = overprinting().layer("off", on=False).fill("Gold", rect=(9, 9, 15, 15)).end_layer()
    knocking = {"knocking_out": {0: np.array([4, 5], np.int32)}}
    assert actions(page, tmp_path, GOLD, **knocking) == [PAINT, PAINT, SKIP, PAINT, PAINT, SKIP]
    assert actions(page, tmp_path, GOLD)[5] == SKIP


def test_what_a_blend_mode_changes_is_left_and_not_skipped(tmp_path):
    page = overprinting().gs(BM=Name.Multiply).fill((1, 0, 0, 0), rect=(1, 1, 5, 5))
    assert actions(page, tmp_path, GOLD) == [PAINT, PAINT, SKIP, PAINT, PAINT, LEAVE]


def test_separation_none_paints_nothing_and_registration_colour_all(tmp_path):
    page = overprinting().fill("None", rect=(1, 1, 5, 5)).fill("All", rect=(1, 1, 5, 5))
    assert actions(page, tmp_path, GOLD)[5:] == [SKIP, PAINT]
    assert actions(page, tmp_path, CYAN, skipped=frozenset({"All"}))[5:] == [SKIP, PAINT]


def test_an_empty_page_has_no_actions(tmp_path):
    assert actions(Drawing(60, 50), tmp_path, GOLD) == []


def test_actions_are_those_of_the_rendering_that_is_asked_for(tmp_path):
    made, stream = derived(overprinting(), tmp_path)
    assert made.actions(stream, GOLD).tolist() != made.actions(stream, CYAN).tolist()
    assert made.actions(stream, GOLD) is made.actions(stream, GOLD)


def coloured() -> Drawing:
    page = Drawing(60, 50)
    device_n(page, "Two", ["Cyan", "Gold"])
    page.fill((0.2, 0, 0, 0.4), rect=(1, 1, 5, 5)).raw("/Two cs 0.6 0.8 scn 0 0 20 20 re f")
    return page.fill("All", 0.2, rect=(1, 1, 5, 5)).raw("0.2 0.6 1 rg 0 0 20 20 re f")


def levels(made: DerivedPdf, stream: Any, rendering: Rendering) -> list[list[int]]:
    """Red, green and blue of the colours of the rows."""
    plain = made.plain_colours(rendering)
    found: list[list[int]] = plain.levels[stream.colour].tolist()
    return found


@pytest.mark.parametrize(
    ("rendering", "expected"),
    [
        (
            Rendering((("Gold",), ("Cyan",)), ("Gold",)),
            [[255, 204, 255], [51, 102, 255], [204, 255, 255], [255, 51, 255]],
        ),
        (Rendering((("Black",),) * 3), [[153] * 3, [255] * 3, [255] * 3, [255] * 3]),
        (Rendering((("Leaf", "Gold"),), ("Leaf", "Gold")), [[255] * 3, [51, 255, 255], [204, 255, 255], [255] * 3]),
        (SILHOUETTE, [[0] * 3] * 4),
        (LUMINOSITY, [[144] * 3, [105] * 3, [204] * 3, [134] * 3]),
        (Rendering(light="RGB"), [[102, 153, 153], [102, 255, 255], [204] * 3, [51, 153, 255]]),
        (Rendering(light="Gray"), [[138] * 3, [209] * 3, [204] * 3, [134] * 3]),
    ],
)
def test_colours_are_channels_of_a_rendering(tmp_path, rendering, expected):
    """255 is bare. In light Gold is bare; a solid of it has a luminosity of 0.375."""
    made, stream = derived(coloured(), tmp_path)
    made.solids["Gold"], made.solids["All"] = 0.375, 0.0
    assert levels(made, stream, rendering) == [pytest.approx(each, abs=1) for each in expected]


def test_colours_of_few_renderings_are_kept(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "_MOST_KEPT", 2)
    made, _ = derived(coloured(), tmp_path)
    renderings = [Rendering(((name,),)) for name in ("Cyan", "Gold", "Black")]
    first, second = (made.plain_colours(each) for each in renderings[:2])
    assert made.plain_colours(renderings[0]) is first
    assert made.plain_colours(renderings[1]) is second
    made.plain_colours(renderings[2])
    assert made.plain_colours(renderings[2]) is made.plain_colours(renderings[2])
    assert made.plain_colours(renderings[0]) is not first


def test_strokes_under_a_pixel_are_fainter_by_their_width(tmp_path):
    """Pixels of 0.5 mm: 0.2 mm is 0.4 of one; by the mean of both ways where a matrix makes them differ."""
    page = Drawing(60, 50).fill("Gold", rect=(9, 9, 15, 15)).stroke("Gold", [(20, 20), (30, 24)], width_mm=0.2)
    page.stroke("Gold", [(20, 20), (30, 24)], width_mm=0.7).stroke("Gold", [(20, 20), (30, 24)], width_mm=0.001)
    page.raw("q 2 0 0 0.5 0 0 cm").stroke("Gold", [(20, 20), (30, 24)], width_mm=0.2).raw("Q 1 Tr")
    page.text("o", (9, 9), 9).raw("0 Tr").text("o", (9, 9), 9)
    made, stream = derived(page, tmp_path, pixel_mm=0.5)
    to_mm = (25.4 / 72, 0, 0, 25.4 / 72, 0, 0)
    found = made.fainter(stream, to_mm)
    # Text is stroked with the last width in force, 0.001 mm.
    assert found == pytest.approx([1, 0.4, 1, 0.02, 0.5, 0.02, 1], abs=1e-3)
    assert made.fainter(stream, (0, 50.8 / 72, -25.4 / 72, 0, 9, 9)) == pytest.approx(
        [1, 0.6, 1, 0.02, 0.9, 0.02, 1], abs=1e-3
    )
    unbound, stream = derived(page, tmp_path)
    assert unbound.fainter(stream, to_mm).tolist() == [1] * 7


def test_a_further_document_shares_what_was_decoded_and_no_more(tmp_path):
    made, _ = derived(coloured(), tmp_path)
    made.made["form"] = Dictionary()
    made.pictures.decoded["picture"] = np.zeros(1, np.uint8)  # type: ignore[index]
    other = made.another()
    assert other.pictures.decoded is made.pictures.decoded
    assert other.missing is made.missing
    assert other.made == {}
    assert other.out is not made.out


def test_objects_are_copied_once_and_with_all_that_is_in_them():
    source, out = pikepdf.new(), pikepdf.new()
    stream = source.make_indirect(source.make_stream(b"abc", Dictionary(Kind=Name.Odd)))
    copies = Copies(out)
    given = source.make_indirect(Dictionary(
        A=Array([1, String("x"), Dictionary(B=stream, C=Array([stream, Name.Q]))]), N=Name.Z))  # fmt: skip
    found: Any = copies.copy(Dictionary(Whole=given, Again=stream, Number=7, Many=Array([stream, 2.5])))
    assert found.Number == 7
    assert found.Again.read_bytes() == b"abc"
    assert found.Again.objgen == found.Many[0].objgen
    assert found.Many[0].Kind == Name.Odd
    assert found.Whole.A[2].C[1] == Name.Q
    assert copies.copy(stream).objgen == copies.copy(stream).objgen
    assert copies.copy(Name.Z) == Name.Z
