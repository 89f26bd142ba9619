"""The pages of one file beside each other: sizes, inks and groups of pages that are alike."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import shapely

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.page import OverBound, PageBoxes
from preflight.carton.die import Blank, Die
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob
from preflight.measures import pages
from preflight.measures.pages import _Shown, pages_unlike_the_first
from tests.test_object_places import registration, spot, table, thing

NO_DIE = Die("none", "")


def die(*boxes: Any) -> Die:
    return Die(
        "read",
        "",
        blanks=tuple(Blank(n, shapely.box(*box), shapely.MultiLineString()) for n, box in enumerate(boxes, 1)),
    )


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ({"page": (100, 80)}, {"page": (101, 79)}, True),
        ({"page": (100, 80)}, {"page": (101.1, 80)}, False),
        ({"page": (100, 80)}, {"page": (100, 78.9)}, False),
        ({"page": (100, 80)}, {"page": (80, 100)}, False),
        ({"trim box": (90, 70), "page": (100, 80)}, {"page": (90, 70)}, True),
        ({"trim box": (90, 70), "page": (100, 80)}, {"trim box": (91, 70), "page": (120, 90)}, True),
        ({"cut": (90, 70), "page": (100, 80)}, {"cut": (85, 70), "page": (100, 80)}, False),
        ({"cut": (90, 70), "page": (100, 80)}, {"cut": (90, 70), "page": (120, 80)}, True),
        ({"cut": (90, 70), "page": (100, 80)}, {"trim box": (90, 70), "page": (120, 80)}, True),
        ({"cut": (90, 70), "page": (100, 80)}, {"page": (100, 80)}, True),
    ],
    ids=["a millimetre", "wider", "shorter", "turned", "a trim box and a page", "two trim boxes", "cuts that differ",
         "cuts that agree", "a cut and a trim box", "a cut on one page only"],
)  # fmt: skip
def test_sizes_agree_by_the_cut_or_else_by_any_box(one, other, alike):
    assert pages._is_one_size(one, other, 1.0) is alike
    assert pages._is_one_size(other, one, 1.0) is alike


def shown(number: int, size: Any = (100.0, 80.0), *inks: str, of: str = "page") -> _Shown:
    return _Shown(number, {of: size}, inks)


def test_pages_are_in_the_group_of_the_first_that_they_are_like():
    all_pages = [shown(1), shown(2, (50.0, 40.0)), shown(3), shown(4, (50.0, 40.0)), shown(5, (10.0, 10.0))]
    groups = pages._alike(all_pages, lambda one, other: one.sizes == other.sizes)
    assert [[page.number for page in group] for group in groups] == [[1, 3], [2, 4], [5]]


def test_inks_are_one_set_in_whatever_order():
    assert pages._in_one_set_of_inks(shown(1, (1, 1), "Cyan", "Rust"), shown(2, (2, 2), "Rust", "Cyan"))
    assert not pages._in_one_set_of_inks(shown(1, (1, 1), "Cyan", "Rust"), shown(2, (2, 2), "Rust"))


def test_sizes_are_told_with_what_they_are_of_only_where_that_differs():
    first, second = shown(1, (195.04, 180.0), of="cut"), shown(2, (100.0, 80.26), of="page")
    assert pages._size_words(first, [first, first]) == "195 x 180 mm"
    assert pages._size_words(second, [second]) == "100 x 80.3 mm"
    assert "(page)" in pages._size_words(second, [first, second])
    assert "(cut)" in pages._size_words(first, [first, second])


def test_one_page_is_and_several_are():
    assert pages._said([shown(2)], "is", "are") == "page 2 is"
    assert pages._said([shown(1), shown(3)], "is", "are") == "pages 1 and 3 are"


def page(number: int, *things: Any, size: Any = (100.0, 80.0), trim: Any = None, names: tuple[str, ...] = ()) -> Any:
    box = (0.0, 0.0, *size)
    return SimpleNamespace(
        number=number, width_mm=size[0], height_mm=size[1], box_mm=box, boxes=PageBoxes(box, trim=trim),
        objects=table(*things), over_bounds=[], label="", plate_of="",
        separations=[SimpleNamespace(name=name, on_plate=name != "Cutting") for name in names],
    )  # fmt: skip


def job(*all_pages: Any, ticket: Any = None, inks: Any = (), its_die: Die = NO_DIE, artwork_is: str = "one-up") -> Any:
    return SimpleNamespace(
        artwork=SimpleNamespace(pages=list(all_pages)), page=all_pages[0], die=its_die, ticket=ticket, press=None,
        artwork_is=artwork_is, inks=inks,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("its_die", "trim", "artwork_is", "expected"),
    [
        (NO_DIE, None, "one-up", {"page": (100, 80)}),
        (NO_DIE, (5, 6, 95, 70), "one-up", {"trim box": (90, 64), "page": (100, 80)}),
        (NO_DIE, (0, 0, 100, 79.8), "one-up", {"page": (100, 80)}),
        (die((10, 12, 40, 50), (42, 12, 72, 60)), (5, 6, 95, 70), "one-up",
         {"cut": (62, 48), "trim box": (90, 64), "page": (100, 80)}),
        (die((10, 12, 40, 50)), None, "sheet", {"page": (100, 80)}),
    ],
)  # fmt: skip
def test_what_is_known_of_the_size_of_a_page(its_die, trim, artwork_is, expected):
    one = page(1, trim=trim)
    found = pages._sizes(job(one, artwork_is=artwork_is), one, its_die)
    assert (found, list(found)) == (expected, list(expected))


RUST, MOSS = thing((20, 20, 30, 30), spot("Rust")), thing((30, 20, 40, 30), spot("Moss"))
RUST_AND_MOSS = Colour("DeviceN", (("Rust", 0.02), ("Moss", 0.019)))


@pytest.mark.parametrize(
    ("things", "its_die", "trim", "painted"),
    [
        ([MOSS, RUST], NO_DIE, None, ["Rust", "Moss"]),
        ([thing((20, 20, 30, 30), RUST_AND_MOSS)], NO_DIE, None, ["Rust"]),
        ([thing((20, 20, 30, 30), spot("Rust"))], die((40, 12, 70, 60)), None, []),
        ([thing((50, 20, 60, 30), spot("Rust"))], die((40, 12, 70, 60)), (1, 1, 9, 9), ["Rust"]),
        ([thing((20, 20, 30, 30), spot("Rust"))], NO_DIE, (40, 12, 70, 60), []),
        ([thing((20, 20, 30, 30), spot("Rust"), visible=False)], NO_DIE, None, []),
        ([thing((20, 20, 30, 30), registration())], NO_DIE, None, []),
        ([], NO_DIE, None, []),
    ],
    ids=["in the order of the names", "at a tint that prints", "outside the cut", "inside the cut",
         "outside the trim box", "not shown", "registration colour", "nothing"],
)  # fmt: skip
def test_what_is_painted_inside_the_cut_at_a_tint_that_prints(things, its_die, trim, painted):
    assert pages._painted(page(1, *things, trim=trim), its_die, ["Rust", "Moss", "All"]) == painted


def test_names_that_the_ticket_merges_are_one_ink():
    ticket = Ticket.model_validate({"separations": {"RUST C": {"same_as": "Rust"}}})
    names = ["RUST C", "Moss", "Rust", "Moss"]
    assert pages._merged(job(page(1), ticket=ticket), names) == ("Rust", "Moss")
    assert pages._merged(job(page(1)), names) == ("RUST C", "Moss", "Rust")


def ink(name: str, prints: bool | None = True, *, in_file: bool = True, on_plate: bool = True) -> InkOnJob:
    separation: Any = SimpleNamespace(name=name, on_plate=on_plate)
    return InkOnJob(separation, prints, 0.1, 10.0, in_file=in_file)


def unlike(*all_pages: Any, **more: Any) -> Any:
    return pages_unlike_the_first(job(*all_pages, **more), same_size_mm=1.0)


@pytest.fixture
def no_dies(monkeypatch):
    monkeypatch.setattr(pages, "read_die", lambda page, ticket: NO_DIE)
    monkeypatch.setattr(pages, "_printing", lambda job, page, painted: tuple(painted))


@pytest.mark.parametrize(
    ("others", "value", "case"),
    [
        ([page(2, RUST, names=("Rust",))], 0, None),
        ([page(2, MOSS, names=("Moss",))], 1, "inks"),
        ([page(2, RUST, size=(100.0, 82.0), names=("Rust",))], 1, "size"),
        ([page(2, MOSS, size=(100.0, 82.0), names=("Moss",))], 1, ""),
        ([page(2, RUST, size=(100.0, 82.0), names=("Rust",)), page(3, MOSS, names=("Moss",))], 2, ""),
        ([page(2, RUST, names=("Rust",)), page(3, MOSS, names=("Moss",)), page(4, MOSS, names=("Moss",))], 2, "inks"),
        ([page(2, RUST, names=("Rust", "Cutting"))], 0, None),
    ],
    ids=["alike", "another ink", "another size", "both", "one each", "two of three", "a line of the die is no ink"],
)
def test_pages_that_are_unlike_the_first_are_counted(no_dies, others, value, case):
    first = page(1, RUST, names=("Rust",))
    inks = (ink("Rust"), ink("Moss", False), ink("Varnish", in_file=False), ink("Cutting", on_plate=False))
    found = unlike(first, *others, inks=(*inks[:3], ink("Cutting", False, on_plate=False)))
    reading = found.readings[0]
    assert reading.value == value
    assert case is None or reading.case == case
    assert list(found.gaps) == []


def test_where_nobody_knows_what_prints_on_the_first_page_what_is_painted_counts(no_dies):
    first = page(1, RUST, names=("Rust", "Moss"))
    second = page(2, RUST, names=("Rust", "Moss"))
    assert unlike(first, second, inks=(ink("Rust", None), ink("Moss", None))).readings[0].value == 0
    assert unlike(first, second, inks=(ink("Rust"), ink("Moss", None))).readings[0].value == 0
    assert unlike(first, second, inks=(ink("Rust"), ink("Moss"))).readings[0].value == 1


def test_another_page_is_asked_for_its_plates_only_where_it_seems_unlike(monkeypatch):
    asked = []

    def printing(job, page, painted):
        asked.append(page.number)
        return ("Rust",)

    monkeypatch.setattr(pages, "read_die", lambda page, ticket: NO_DIE)
    monkeypatch.setattr(pages, "_printing", printing)
    found = unlike(page(1, RUST, names=("Rust",)), page(2, RUST, names=("Rust",)), page(3, MOSS, names=("Moss",)),
                   inks=(ink("Rust"),))  # fmt: skip
    assert asked == [3]
    assert found.readings[0].value == 0


def test_one_page_is_like_itself_and_others_are_said_of_the_first(no_dies):
    one, two = page(1, RUST, names=("Rust",)), page(2, MOSS, names=("Moss",))
    assert unlike(one, inks=(ink("Rust"),)).readings == []
    second = job(one, two, inks=(ink("Moss"),))
    second.page = two
    assert pages_unlike_the_first(second, same_size_mm=1.0).readings == []


def test_a_page_that_is_not_read_whole_leaves_a_gap(no_dies):
    one, two = page(1, RUST, names=("Rust",)), page(2, RUST, names=("Rust",))
    two.over_bounds.append(OverBound("too much", frozenset({"text", "objects"})))
    assert len(unlike(one, two, inks=(ink("Rust"),)).gaps) == 1
    two.over_bounds[:] = [OverBound("too much", frozenset({"text"}))]
    assert list(unlike(one, two, inks=(ink("Rust"),)).gaps) == []


def test_the_inks_of_pages_that_are_plates_are_not_compared(no_dies):
    one, two = page(1, RUST, names=("Rust",)), page(2, MOSS, names=("Moss",))
    two.plate_of = "Moss"
    assert unlike(one, two, inks=(ink("Rust"),)).readings[0].value == 0


@pytest.mark.parametrize(
    ("prints", "painted", "expected"),
    [
        ({"Rust": True, "Moss": True}, ["Rust"], ("Rust", "Moss")),
        ({"Rust": True, "Moss": False}, ["Rust", "Moss"], ("Rust",)),
        ({"Rust": None, "Moss": None}, ["Moss"], ("Moss",)),
        ({"Rust": True, "Moss": None}, [], ("Rust",)),
    ],
)
def test_what_prints_on_another_page_is_told_by_its_plates(monkeypatch, prints, painted, expected):
    closed = []
    other = page(2)
    other.close = lambda: closed.append(2)
    inks = [*(ink(name, how) for name, how in prints.items()), ink("Only", True, in_file=False),
            ink("Cutting", True, on_plate=False)]  # fmt: skip
    monkeypatch.setattr(pages, "assemble_job", lambda *given: SimpleNamespace(inks=inks))
    assert pages._printing(job(page(1), other), other, painted) == expected
    assert closed == [2]
