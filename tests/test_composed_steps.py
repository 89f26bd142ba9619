"""In which steps a page is drawn whose groups are composed by us: what is before a group, the group, what is behind.

The page of the document is as if its media box began at 5, 7 and were 100 x 80 points.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.platemaking.composed_groups import Compose, Composer, Paint, light_of_group, plates_of_lights
from preflight.artwork.platemaking.group_elements import StreamPart
from preflight.artwork.platemaking.renderings import Rendering
from tests.drawn import MM, Drawing
from tests.plate_drawings import group
from tests.test_shared_channels import read

MEDIA = (5, 7, 105, 87)
INKS, SPOTS = Rendering((("Cyan",), ("Gold",), ("Black", "Leaf"))), Rendering((("Gold",),))
BELOW, OVER = "1 0 0 0 k 0 0 90 70 re f", "0 0 1 0 k 50 50 9 9 re f"
MULTIPLIED = "/multiply gs 0 1 0 0 k 20 20 30 30 re f"
FAINT_LIGHT = "0.5 0 0 0 k 0 0 50 50 re f /half gs 0.5 0 0 0 k 20 20 50 50 re f"
BOX: Any = tuple(v / MM for v in (10, 20, 60, 65))


def sheet() -> Drawing:
    page = Drawing(100 / MM, 80 / MM)
    mask = page.form("0.5 g 0 0 99 99 re f", bbox_mm=(0, 0, 50, 50), group=group(CS=Name.DeviceGray, I=True))
    soft = Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + mask)])
    for name, keys in {
        "multiply": {"BM": Name.Multiply}, "screen": {"BM": Name.Screen}, "half": {"ca": 0.5, "CA": 0.5},
        "masked": {"SMask": soft}, "plain": {"ca": 1.0, "BM": Name.Normal, "SMask": Name("/None")},
    }.items():  # fmt: skip
        page.resources.ExtGState[Name("/" + name)] = Dictionary(**keys)  # type: ignore[arg-type]
    return page


def in_group(page: Drawing, inner: str, **keys: object) -> str:
    return f"/{page.form(inner, bbox_mm=BOX, group=group(**keys))} Do"


class Steps:
    """The steps of a page, and what is asked to be written for them."""

    def __init__(self, page: Drawing, tmp_path, rendering: Rendering = INKS, *, isolated: bool = False, **keys: Any):
        self.content: Any = read(page, tmp_path).separator.page_content
        self.asked: list[tuple[Rendering, StreamPart | None]] = []
        composer = Composer(self.content, MEDIA, self.add_page, **keys)
        self.steps = composer.drawing(rendering, isolated=isolated)

    def add_page(self, rendering: Rendering, part: StreamPart | None) -> int:
        self.asked.append((rendering, part))
        return len(self.asked) + 99

    def rows(self, step: object) -> list[int]:
        """Rows of the page that a step paints."""
        assert isinstance(step, Paint)
        part = self.asked[step.page - 100][1]
        assert part is not None
        return np.flatnonzero(part.rows).tolist()

    def part(self, page: int) -> Any:
        part = self.asked[page - 100][1]
        assert part is not None
        return part


@pytest.mark.parametrize("isolated", [False, True])
def test_a_page_without_such_groups_is_painted_at_once(tmp_path, isolated):
    found = Steps(sheet().raw(BELOW), tmp_path, isolated=isolated)
    assert found.steps == (Paint(100),)
    assert found.asked == [(INKS, None)]


def test_a_page_that_is_not_isolated_is_painted_in_its_pieces(tmp_path):
    one, other = (StreamPart(np.zeros(1, bool), frozenset({at})) for at in (1, 2))
    keys: dict[str, Any] = {"pieces": lambda content: [one, other]}
    found = Steps(sheet().raw(BELOW), tmp_path, **keys)
    assert found.steps == (Paint(100), Paint(101))
    assert [part for _, part in found.asked] == [one, other]
    assert len(Steps(sheet().raw(BELOW), tmp_path, isolated=True, **keys).steps) == 1


def with_group(state: str, inner: str = MULTIPLIED, before: str = BELOW, behind: str = OVER, **keys: object) -> Drawing:
    page = sheet()
    return page.raw(f"{before} q 2 0 0 1 -10 3 cm /{state} gs {in_group(page, inner, **keys)} Q {behind}")


def test_what_stands_before_a_group_and_behind_it_is_painted_before_and_behind_it(tmp_path):
    found = Steps(with_group("screen"), tmp_path)
    before, composed, behind = found.steps
    assert (found.rows(before), found.rows(behind)) == ([0], [1])
    assert isinstance(composed, Compose)
    # 10 to 60 across and 20 to 65 up are 10 to 110 and 23 to 68 on the page.
    assert composed.box_pt == pytest.approx((10 - 5, 87 - 68, 110 - 5, 87 - 23), abs=0.01)
    assert (composed.isolated, composed.blend, composed.alpha) == (False, "Screen", 1)
    assert (composed.masked, composed.light) == (None, None)
    assert composed.channels == ("Cyan", "", "")  # one plate of process ink each
    (inner,) = composed.steps
    assert isinstance(inner, Paint)
    part = found.part(inner.page)
    assert (part.calls, part.laid, part.as_shape) == ({0}, {0}, frozenset())
    assert not part.rows.any()
    assert part.within[0].rows.tolist() == [True]


@pytest.mark.parametrize(("before", "behind", "steps"), [("", OVER, 2), (BELOW, "", 2), ("", "", 1)])
def test_where_nothing_stands_before_or_behind_nothing_is_painted(tmp_path, before, behind, steps):
    assert len(Steps(with_group("screen", before=before, behind=behind), tmp_path).steps) == steps


def test_a_masked_group_has_its_shape_with_and_without_its_mask(tmp_path):
    found = Steps(with_group("masked"), tmp_path)
    composed = found.steps[1]
    assert isinstance(composed, Compose)
    assert composed.masked == (101, 102)
    with_mask, without = (found.part(page) for page in composed.masked)
    assert (with_mask.as_shape, with_mask.laid) == ({0}, frozenset())
    assert (without.as_shape, without.laid) == ({0}, {0})
    assert composed.steps == (Paint(103),)


@pytest.mark.parametrize(
    ("state", "inner", "keys", "composed"),
    [
        ("plain", MULTIPLIED, {}, False),  # nothing is done to it as a whole
        ("screen", MULTIPLIED, {}, True),
        ("screen", "0 1 0 0 k 20 20 30 30 re f", {}, False),  # nothing in it blends with what is below
        ("screen", "", {}, False),
        ("half", MULTIPLIED, {}, False),  # its one element takes the opacity over
        ("half", f"0 1 0 0 k 20 20 30 30 re f {MULTIPLIED}", {}, True),  # two that meet
        ("screen", MULTIPLIED, {"I": True}, False),  # isolated it is as it is painted
        ("plain", FAINT_LIGHT, {"I": True, "CS": Name.DeviceRGB}, True),
        ("plain", "0.5 0 0 0 k 0 0 50 50 re f", {"I": True, "CS": Name.DeviceRGB}, False),
        ("plain", FAINT_LIGHT, {"I": True, "CS": Name.DeviceCMYK}, False),
        ("plain", FAINT_LIGHT, {"CS": Name.DeviceRGB}, False),  # only an isolated one has a space of its own
    ],
)
def test_which_groups_are_composed(tmp_path, state, inner, keys, composed):
    found = Steps(with_group(state, inner, **keys), tmp_path)
    assert any(isinstance(step, Compose) for step in found.steps) == composed
    assert len(found.steps) == (3 if composed else 1)


def test_a_group_of_light_is_brought_to_the_plates_of_process_inks(tmp_path):
    page = with_group("half", FAINT_LIGHT, I=True, CS=Name.DeviceRGB)
    found = Steps(page, tmp_path)
    composed = found.steps[1]
    assert isinstance(composed, Compose)
    assert (composed.isolated, composed.light, composed.alpha) == (True, "RGB", 0.5)
    assert found.asked[1][0] == Rendering(light="RGB")
    assert (found.asked[0][0], found.asked[2][0]) == (INKS, INKS)
    assert len(Steps(page, tmp_path, SPOTS).steps) == 1


def test_a_gray_group_in_a_group_of_light_is_gray_and_one_in_rgb_is_no_other(tmp_path):
    for space, light in ((Name.DeviceGray, "Gray"), (Name.DeviceRGB, None)):
        page = sheet()
        inner = in_group(page, FAINT_LIGHT, I=True, CS=space)
        outer = in_group(page, f"{FAINT_LIGHT} {inner}", I=True, CS=Name.DeviceRGB)
        (composed,) = Steps(page.raw(outer), tmp_path).steps
        assert isinstance(composed, Compose)
        within = [step for step in composed.steps if isinstance(step, Compose)]
        assert [step.light for step in within] == ([light] if light else [])


def test_groups_in_forms_are_composed_in_their_place(tmp_path):
    page = sheet()
    inner = page.form(f"{OVER} /screen gs {in_group(page, MULTIPLIED)}", bbox_mm=BOX)
    found = Steps(page.raw(f"{BELOW} q 1 0 0 -1 3 80 cm /{inner} Do Q"), tmp_path)
    first, before, composed = found.steps
    assert found.rows(first) == [0]
    assert isinstance(before, Paint)
    part = found.part(before.page)
    assert (part.calls, part.laid) == ({0}, frozenset())
    assert part.within[0].rows.tolist() == [True]
    assert isinstance(composed, Compose)
    assert composed.box_pt == pytest.approx((13 - 5, 87 - 60, 63 - 5, 87 - 15), abs=0.01)


def test_groups_that_need_no_steps_stay_with_the_rows_about_them(tmp_path):
    page = sheet()
    plain = in_group(page, "0 1 0 0 k 20 20 30 30 re f")
    page.raw(f"{BELOW} {plain} q /screen gs {in_group(page, MULTIPLIED)} Q {plain} {OVER} {plain}")
    found = Steps(page, tmp_path)
    before, composed, behind = found.steps
    assert isinstance(composed, Compose)
    assert (found.rows(before), found.rows(behind)) == ([0], [1])
    assert isinstance(before, Paint)
    assert isinstance(behind, Paint)
    assert (found.part(before.page).calls, found.part(behind.page).calls) == ({0}, {2, 3})


def test_no_more_groups_and_bytes_than_there_is_room_for(tmp_path):
    page = sheet()
    screened = [f"q /screen gs {in_group(page, MULTIPLIED)} Q" for _ in range(3)]
    page.raw(" ".join([BELOW, *screened, OVER]))

    def composed(**keys: Any) -> int:
        return sum(isinstance(step, Compose) for step in Steps(page, tmp_path, **keys).steps)

    assert (composed(), composed(left=2), composed(left=1), composed(left=0)) == (3, 2, 1, 0)
    length = len(" ".join(page.ops))
    # The page is written once before the first and once for each: the second begins when two of them are used up.
    assert composed(bytes_left=2 * length + 1) == 2
    assert composed(bytes_left=2 * length) == 1
    assert composed(bytes_left=0) == 0


@pytest.mark.parametrize(
    ("space", "light"),
    [
        (Name.DeviceRGB, "RGB"),
        (Name.DeviceGray, "Gray"),
        (Name.DeviceCMYK, None),
    ],
)
def test_a_page_may_be_blended_as_light(tmp_path, space, light):
    page = sheet().raw(FAINT_LIGHT)
    page.page.obj.Group = group(CS=space)
    found = Steps(page, tmp_path)
    assert light_of_group(found.content, found.content.stream) == light
    if light is None:
        assert found.steps == (Paint(100),)
    else:
        (composed,) = found.steps
        assert isinstance(composed, Compose)
        assert composed.box_pt == pytest.approx((0, 0, 100, 80))
        assert (composed.isolated, composed.light, composed.channels) == (True, light, ("Cyan", "", ""))
        assert found.asked[0][0] == Rendering(light=light)
    assert plates_of_lights(found.content) == {
        "RGB": {"Cyan", "Magenta", "Yellow", "Black"}, "Gray": {"Black"}, None: set(),
    }[light]  # fmt: skip


def test_a_page_that_is_isolated_is_composed_as_a_whole(tmp_path):
    (composed,) = Steps(with_group("screen"), tmp_path, isolated=True).steps
    assert isinstance(composed, Compose)
    assert (composed.isolated, composed.light, len(composed.steps)) == (True, None, 3)
