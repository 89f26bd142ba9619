"""Parts of writing a stream anew: where rows show, what is refused, states that forms hand on, masks that are shut."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.pdf.colour.functions import read_functions
from preflight.artwork.pdf.content.stream_content import Edit, EditKind
from preflight.artwork.platemaking import group_element_writer, page_writer, pattern_painting
from preflight.artwork.platemaking.composed_groups import Paint
from preflight.artwork.platemaking.derived_pdf import FAR
from preflight.artwork.platemaking.group_elements import StreamPart
from preflight.artwork.platemaking.inherited_states import inherited_state
from preflight.artwork.platemaking.page_writer import write_derived_pdf
from preflight.artwork.platemaking.plate_resources import PlateResources
from preflight.artwork.platemaking.rendering_writer import _StreamWriter, write_stream
from preflight.artwork.platemaking.renderings import SILHOUETTE, Rendering
from preflight.artwork.platemaking.tilings import CellRange
from preflight.errors import CannotBeRendered, TooBig
from tests.drawn import MM, Drawing
from tests.plate_drawings import group
from tests.test_derived_pdf import derived
from tests.test_tiling_cells import tiled

INKS = Rendering((("Cyan",), ("Gold",)))
PT = 1 / MM
TO_MM = (PT, 0, 0, PT, 0, 0)
ROOT_2 = math.sqrt(2)
REACHED = (30 - 10 * ROOT_2, 30 - 10 * ROOT_2, 50 + 10 * ROOT_2, 40 + 10 * ROOT_2)


def writer(page: Drawing, tmp_path, *, of_form: bool = False, rendering: Rendering = INKS, **keys: Any) -> Any:
    made, stream = derived(page, tmp_path, page_mm=(0, 0, 90 * PT, 80 * PT))
    content = stream.calls[0].content if of_form else stream
    resources = PlateResources(made, rendering, partial(write_stream, made), **keys)
    return _StreamWriter(made, rendering, content, TO_MM, resources)


def sight(page: Drawing, tmp_path, **keys: Any) -> list[Any]:
    found = writer(page, tmp_path, **keys)
    return [pytest.approx(box, abs=0.01) for box in found._sight(np.arange(len(found.content.painted))).tolist()]


def sheet() -> Drawing:
    return Drawing(90 / MM, 80 / MM)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("10 20 30 40 re f", (10, 20, 40, 60)),
        ("-10 20 30 90 re f", (0, 20, 20, 80)),  # within the page
        ("q 15 0 9 50 re W n 10 20 30 40 re f Q", (15, 20, 24, 50)),
        ("2 w 30 30 m 50 40 l S", REACHED),
        ("20 M 1 w 30 30 m 50 40 l S", REACHED),
        ("q 0.5 0 0 0.5 0 0 cm 4 w 60 60 m 100 80 l S Q", REACHED),
    ],
)  # fmt: skip
def test_where_rows_show(tmp_path, words, expected):
    """Strokes by half their miter limit in widths, for an aslant matrix too."""
    assert sight(sheet().raw(words), tmp_path) == [expected]


def test_rows_of_a_form_show_within_its_box(tmp_path):
    page = sheet()
    form = page.form("10 20 30 40 re f -99 -99 999 999 re f", bbox_mm=tuple(v * PT for v in (5, 25, 35, 99)))  # type: ignore[arg-type]
    assert sight(page.raw(f"/{form} Do"), tmp_path, of_form=True) == [(10, 25, 35, 60), (5, 25, 35, 99)]


def test_type_shows_beside_its_box_by_its_size(tmp_path):
    page = sheet().text("o", (30 * PT, 40 * PT), 10)
    found = writer(page, tmp_path)
    (low_x, low_y, high_x, high_y), box = found._sight(np.array([0]))[0], found.content.box[0]
    assert (low_x, high_y) == pytest.approx((box[0] - 10 * ROOT_2, box[3] + 10 * ROOT_2), abs=0.01)
    assert (low_y, high_x) == pytest.approx((box[1] - 10 * ROOT_2, box[2] + 10 * ROOT_2), abs=0.01)
    outlined = sheet().raw("2 w 1 Tr").text("o", (40 * PT, 40 * PT), 10)
    found = writer(outlined, tmp_path)
    assert found._sight(np.array([0]))[0, 0] == pytest.approx(found.content.box[0, 0] - 20 * ROOT_2, abs=0.01)


def test_a_stream_that_is_placed_flat_may_show_anywhere(tmp_path):
    found = writer(sheet().raw("10 20 30 40 re f"), tmp_path)
    found.to_mm = (1, 1, 1, 1, 0, 0)
    assert found._area == (-FAR, -FAR, FAR, FAR)


def calls(words: str, inner: str, tmp_path, *, rendering: Rendering = INKS, opacity: float = 1.0, **keys: Any) -> Any:
    """What a form begins with that is called behind some words."""
    page = sheet()
    mask = page.form("0.5 g 0 0 99 99 re f", bbox_mm=(0, 0, 50, 50), group=group(CS=Name.DeviceGray, I=True))
    soft = Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + mask)])
    for name, state in {
        "half": {"ca": 0.5, "CA": 0.25}, "screen": {"BM": Name.Screen}, "masked": {"SMask": soft, "ca": 0.75},
    }.items():  # fmt: skip
        page.resources.ExtGState[Name("/" + name)] = Dictionary(**state)  # type: ignore[arg-type]
    form = page.form(inner, bbox_mm=(0, 0, 50, 50), group=group() if keys else None)
    found = writer(page.raw(f"{words} /{form} Do"), tmp_path, rendering=rendering, opacity=opacity)
    state = inherited_state(found.made, found.content.calls[0])
    if state is None:
        return None
    return {key: float(value) if key in ("/ca", "/CA") else str(value) for key, value in state.items()}


SQUARE = "10 20 30 40 re f"


@pytest.mark.parametrize(
    ("words", "keys", "expected"),
    [
        ("", {}, None),
        ("/half gs", {}, {"/ca": 0.5, "/CA": 0.25, "/BM": "/Normal"}),
        ("/screen gs", {}, {"/ca": 1, "/CA": 1, "/BM": "/Screen"}),
        ("/masked gs", {}, {"/ca": 0.75, "/CA": 1, "/BM": "/Normal", "/SMask": "/None"}),
        ("/half gs", {"group": True}, None),
        ("/half gs", {"opacity": 0.5}, None),
        ("/half gs", {"rendering": SILHOUETTE}, None),
    ],
)
def test_what_the_objects_of_a_form_begin_with(tmp_path, words, keys, expected):
    assert calls(words, SQUARE, tmp_path, **keys) == expected


@pytest.mark.parametrize(
    ("words", "inner"), [("/masked gs /screen gs", SQUARE), ("/masked gs", f"/screen gs {SQUARE}")]
)
def test_masked_objects_of_a_form_that_are_blended_are_refused(tmp_path, words, inner):
    with pytest.raises(CannotBeRendered):
        calls(words, inner, tmp_path)


def shut(tmp_path, *later: float) -> Any:
    found = writer(sheet().raw(SQUARE), tmp_path)
    written = list[Any]()

    def write_part(derived_pdf, content, to_mm, rendering, part, begin):
        written.append((rendering, begin.first))
        return found.derived_pdf.out.make_stream(b"shape", Dictionary(Resources=Dictionary()))

    part = StreamPart(np.ones(1, bool), frozenset())
    mask = group_element_writer._shut_mask(
        found.derived_pdf, found.content, TO_MM, [(part, alpha) for alpha in later], write_part
    )
    assert written == [(SILHOUETTE, True)] * len(later)
    return found.derived_pdf, mask


def test_a_mask_lets_through_what_a_faint_shape_leaves(tmp_path):
    """Of a pixel that is covered by f at an opacity a, (1 - f) / (1 - f a): all, 2/3, nothing."""
    kept, mask = shut(tmp_path, 0.5)
    assert kept is not None
    assert (mask.S, [float(v) for v in mask.BC], mask.G.read_bytes()) == (Name.Luminosity, [1], b"shape")
    bare = np.array([[1.0], [0.5], [0.25], [0]])
    assert read_functions(mask.TR)(bare)[:, 0] == pytest.approx([1, 2 / 3, 0.4, 0], abs=1e-3)


def test_where_it_differs_a_mask_lets_through_what_is_not_covered(tmp_path):
    _, mask = shut(tmp_path, 0)
    assert "/TR" not in mask


def test_shapes_of_several_opacities_are_masks_in_a_mask(tmp_path):
    """Each paints black over what it shuts, and lets that through which it leaves: the shares are multiplied."""
    kept, mask = shut(tmp_path, 0.5, 0.25)
    assert kept is not None
    assert "/TR" not in mask
    inner = [state.SMask for _, state in mask.G.Resources.ExtGState.items()]
    shares = [read_functions(each.TR)(np.array([[0.5]]))[0, 0] for each in inner]
    assert shares == pytest.approx([1 / 3, 1 - 0.5 / 0.875], abs=1e-3)
    assert mask.G.read_bytes().count(b" gs 0 g ") == 2


@pytest.mark.parametrize("isolated", [False, True])
def test_each_rendering_is_a_page_with_the_box_of_the_source(tmp_path, isolated):
    made, _ = derived(sheet().raw(SQUARE), tmp_path, isolated=isolated)
    file, drawings = write_derived_pdf(made, TO_MM, (5, 7, 95, 87), [INKS, Rendering((("Black",),))])
    assert drawings == [(Paint(0),), (Paint(1),)]
    for page in made.out.pages:
        assert [float(v) for v in page.MediaBox] == [5, 7, 95, 87]
        assert (page.Contents.read_bytes() == b"/Page Do") == isolated
        if isolated:
            assert bool(page.Resources.XObject.Page.Group.I)
    assert file.seek(0, 2) > 100
    file.close()


def test_where_the_disk_has_no_room_a_document_is_held_in_memory(tmp_path, monkeypatch):
    class Full:
        closed = False

        def __getattr__(self, name: str) -> Any:
            raise OSError("no room")

        def close(self) -> None:
            type(self).closed = True

    monkeypatch.setattr(page_writer, "TemporaryFile", Full)
    made, _ = derived(sheet().raw(SQUARE), tmp_path)
    file, _ = write_derived_pdf(made, TO_MM, (0, 0, 90, 80), [INKS])
    file.seek(0)
    assert file.read().startswith(b"%PDF")
    assert Full.closed


# -- patterns ----------------------------------------------------------------------------------------------------------


def test_a_box_is_cut_into_equal_ones():
    found = list(pattern_painting._parts((1, 2, 7, 14), 2))
    assert found == [(1, 2, 4, 8), (1, 8, 4, 14), (4, 2, 7, 8), (4, 8, 7, 14)]
    assert list(pattern_painting._parts((1, 2, 7, 14), 1)) == [(1, 2, 7, 14)]


def test_a_matrix_is_taken_off_again():
    words = pattern_painting._undo((2, 0, 0, 4, 10, 20)).split()
    assert [float(word) for word in words[:-1]] == [0.5, 0, 0, 0.25, -5, -5]
    assert b"W n" in pattern_painting._undo((1, 1, 1, 1, 0, 0))  # where that cannot be nothing shows


def stroked_type(words: str) -> Drawing:
    page = tiled("/CS0 cs 1 scn 1 2 8 30 re f", "").text("o", (1, 1), 1)
    page.ops.pop()
    return page.raw(f"/Pattern CS /P SCN {words} BT 1 Tr /F0 40 Tf 20 20 Td (o) Tj ET")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("3 w", b""),
        ("1.015 0 0 1.015 0 0 cm 3 w", b""),
        ("2 0 0 2 0 0 cm 3 w", b"6.000000 w "),
        ("0 0.5 -0.5 0 40 0 cm 3 w", b"1.500000 w "),
    ],
)
def test_lines_of_type_in_a_pattern_have_the_width_that_the_matrix_makes(tmp_path, words, expected):
    assert writer(stroked_type(words), tmp_path)._width_for_glyphs(0) == expected


@pytest.mark.parametrize("words", ["2 0 0 1 0 0 cm 3 w", "2 0 0 2 0 0 cm [3 4] 0 d"])
def test_lines_of_two_widths_and_scaled_dashes_are_refused(tmp_path, words):
    with pytest.raises(CannotBeRendered):
        writer(stroked_type(words), tmp_path)._width_for_glyphs(0)


# -- fill and stroke at once -------------------------------------------------------------------------------------------

FILLED_IN_CELLS, STROKED_IN_CELLS = "/Pattern cs /P scn 0 0 0 1 K", "/Pattern CS /P SCN 0 0 0 1 k"


def at_once(words: str) -> Drawing:
    page = tiled("/CS0 cs 1 scn 1 2 8 30 re f", "")
    for name, state in {
        "half": {"ca": 0.5, "CA": 0.5}, "uneven": {"ca": 0.5, "CA": 0.25}, "over": {"OP": True, "op": True},
        "stroked": {"OP": True, "op": False}, "screen": {"BM": Name.Screen},
    }.items():  # fmt: skip
        page.resources.ExtGState[Name("/" + name)] = Dictionary(**state)  # type: ignore[arg-type]
    return page.raw(f"{words} 3 w 10 20 30 40 re B")


@pytest.mark.parametrize(
    ("words", "keeps_stroke", "keys", "fits"),
    [
        ("/uneven gs /over gs", False, {}, False),  # two opacities have to be a knock-out group: 11.7.4.4
        ("/uneven gs /stroked gs", False, {}, False),
        ("/uneven gs /over gs", True, {}, True),
        ("/uneven gs", False, {}, True),
        ("/half gs /over gs", False, {}, True),
        ("/half gs", True, {}, True),
        (FILLED_IN_CELLS, True, {}, True),
        (f"/half gs {FILLED_IN_CELLS}", True, {}, False),
        (f"/half gs {STROKED_IN_CELLS}", True, {}, False),
        (f"/half gs {FILLED_IN_CELLS}", False, {}, True),
        (FILLED_IN_CELLS, True, {"opacity": 0.5}, False),
        (f"/screen gs {STROKED_IN_CELLS}", True, {}, False),
        (STROKED_IN_CELLS, True, {"masked": True}, False),
        (f"/screen gs {FILLED_IN_CELLS}", True, {}, True),
        (f"/screen gs {STROKED_IN_CELLS}", True, {"rendering": SILHOUETTE}, True),
    ],
)
def test_what_may_be_filled_and_stroked_at_once(tmp_path, words, keeps_stroke, keys, fits):
    found = writer(at_once(words), tmp_path, **keys)
    edits = [Edit(*edit) for edit in found.content.edits.tolist()]
    (edit,) = (each for each in edits if each.kind == EditKind.PAINT)
    if fits:
        found._allow_both(edit, keeps_stroke)
    else:
        with pytest.raises(CannotBeRendered):
            found._allow_both(edit, keeps_stroke)


@pytest.mark.parametrize(
    ("words", "keys", "expected"),
    [
        ("", {}, ("", "")),
        (f"/half gs {STROKED_IN_CELLS}", {}, ("", "")),  # the fill is in no pattern
        (FILLED_IN_CELLS, {}, ("", "")),
        (f"/uneven gs {FILLED_IN_CELLS}", {}, ("/PlW500 gs", "/PlU500x250 gs")),
        (f"/uneven gs {FILLED_IN_CELLS}", {"opacity": 0.5}, ("/PlW250 gs", "/PlU250x125 gs")),
        (f"/uneven gs {FILLED_IN_CELLS}", {"rendering": SILHOUETTE}, ("", "")),
    ],
)
def test_cells_at_an_opacity_are_painted_through_an_even_mask(tmp_path, words, keys, expected):
    found = writer(at_once(words), tmp_path, **keys)
    before, after = found._as_a_whole(0)
    assert (before.strip().decode(), after.strip().decode()) == expected
    if before:
        state = found.resources.ExtGState[Name("/" + expected[0].split()[0][1:])]
        assert "/SMask" in state
        usual = found.resources.ExtGState[Name("/" + expected[1].split()[0][1:])]
        alpha = 0.5 * keys.get("opacity", 1)
        assert (float(usual.ca), float(usual.CA), usual.SMask) == (alpha, alpha / 2, Name("/None"))


def test_strokes_of_cells_have_their_own_opacity_and_how_thin_they_are(tmp_path):
    found = writer(at_once(f"/uneven gs {STROKED_IN_CELLS}"), tmp_path)
    assert found._as_a_whole(1)[0].strip() == b"/PlW250 gs"
    assert found._as_a_whole(1, 0.4)[0].strip() == b"/PlW100 gs"
    with pytest.raises(CannotBeRendered):
        writer(at_once(f"/uneven gs {STROKED_IN_CELLS}"), tmp_path, masked=True)._as_a_whole(1)


def test_names_are_given_once_for_each_object(tmp_path):
    found = writer(at_once(""), tmp_path)
    one, other = (found.derived_pdf.out.make_indirect(Dictionary()) for _ in range(2))
    assert found._named("Pattern", one) == found._named("Pattern", one)
    assert found._named("Pattern", one) != found._named("Pattern", other)
    assert found.resources.Pattern[Name("/" + found._named("Pattern", other).decode())].objgen == other.objgen
    assert found._alpha(0.25).strip() == found._alpha(0.2504).strip() != found._alpha(0.26).strip()
    name = found._alpha(0.25).split()[0].decode()
    assert float(found.resources.ExtGState[Name(name)].CA) == 0.25


# -- tilings that are drawn --------------------------------------------------------------------------------------------

LEFT = "/CS0 cs 1 scn 1 2 8 30 re f"
"""Of cells of 20 x 30 points, from 1, 2 on."""


def drawn(words: str, tmp_path, cell: str = LEFT, **keys: Any) -> Any:
    """The tiling that the first row is painted in, drawn cell by cell, or None."""
    found = writer(tiled(cell, words, **keys), tmp_path)
    tiling = found._drawn(int(found.content.colour[0]))
    return tiling and (tiling.in_sight, {row: tuple(map(round, box)) for row, box in tiling.boxes.items()})


def test_cells_are_those_that_show_in_any_row(tmp_path):
    """From 4 to 68 across are columns 0 to 3, from 35 to 70 up rows 1 and 2."""
    words = "/Pattern cs /P scn 4 35 10 4 re f 64 66 4 4 re f 0 0 0 1 k 0 0 99 99 re f"
    found = drawn(words, tmp_path)
    assert found == (CellRange(range(4), range(1, 3)), {0: (4, 35, 14, 39), 1: (64, 66, 68, 70)})


def test_rows_that_show_nothing_need_no_cells(tmp_path):
    words = "/Pattern cs /P scn 200 35 10 4 re f 4 35 10 4 re f"
    assert drawn(words, tmp_path) == (CellRange(range(1), range(1, 2)), {1: (4, 35, 14, 39)})
    assert drawn("/Pattern cs /P scn 200 35 10 4 re f", tmp_path) is None
    assert drawn("0 0 0 1 k 4 35 10 4 re f", tmp_path) is None


def test_of_very_many_cells_none_is_drawn_but_grounds_are(tmp_path, monkeypatch):
    words = "/Pattern cs /P scn 4 35 64 35 re f"  # columns 0 to 3, rows 1 and 2
    monkeypatch.setattr(pattern_painting, "MOST_CELLS", 8)
    assert drawn(words, tmp_path) is not None
    monkeypatch.setattr(pattern_painting, "MOST_CELLS", 7)
    assert drawn(words, tmp_path) is None
    assert drawn(words, tmp_path, "/CS0 cs 1 scn 1 2 20 30 re f") is not None


@pytest.mark.parametrize(
    ("inner", "found"),
    [
        ("10 20 30 40 re f", False),  # it takes the pattern over
        ("0 0 0 1 k 10 20 30 40 re f", True),
        ("/Fm0 Do", False),
        ("0 0 0 1 k /Fm0 Do", True),
    ],
)
def test_a_pattern_that_a_form_takes_over_is_not_drawn(tmp_path, inner, found):
    page = tiled(LEFT, "")
    page.form("10 20 30 40 re f", bbox_mm=(0, 0, 50, 38))
    form = page.form(inner, bbox_mm=(0, 0, 50, 38))
    written = writer(page.raw(f"/Pattern cs /P scn 4 35 10 4 re f /{form} Do"), tmp_path)
    assert (written._drawn(int(written.content.colour[0])) is not None) == found


@pytest.mark.parametrize(
    ("words", "windows"),
    [("20 20 60 50 re S", 1), ("10 w 20 20 m 80 20 l S", 1)],
)
def test_a_stroke_in_cells_is_painted_in_one_window_where_that_is_small(tmp_path, words, windows):
    found = writer(tiled(LEFT, f"/Pattern CS /P SCN {words}"), tmp_path)
    tiling = found._drawn(int(found.content.colour[0]))
    assert len(list(found._windows(0, tiling, (1, 0, 0, 1, 0, 0)))) == windows


def test_a_stroke_that_is_large_is_cut_into_windows_as_few_as_will_do(tmp_path, monkeypatch):
    """Nine, each with a clip where it lies; none where there are no cells in it, and no more than so many."""
    found = writer(tiled(LEFT, "/Pattern CS /P SCN 20 20 60 50 re S"), tmp_path)
    tiling = found._drawn(int(found.content.colour[0]))
    asked = list[float]()

    def small(made: object, lattice: object, to_mm: object, window: Any) -> bool:
        asked.append(window[2] - window[0])
        return len(asked) == 3

    monkeypatch.setattr(pattern_painting, "is_paintable", small)
    words = list(found._windows(0, tiling, (2, 0, 0, 2, 5, 7)))
    assert len(words) == 9
    assert asked[0] / asked[2] == pytest.approx(3)
    assert all(b" re W n " in each and b"2.000000000 0.000000000 0.000000000 2.000000000 5.0" in each for each in words)
    monkeypatch.setattr(pattern_painting, "is_paintable", lambda *given: False)
    with pytest.raises(TooBig):
        list(found._windows(0, tiling, (1, 0, 0, 1, 0, 0)))
