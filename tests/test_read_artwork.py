"""The door: which pages are read, what a page is told of its file, and when its plates are drawn."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.page.page import Alteration, Annotation, OverBound, PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.platemaking.plate_cache import cache_folder
from preflight.artwork.read_artwork import ReadPage, read_artwork
from preflight.errors import PageTooBig
from tests.books import Book
from tests.drawn import MM, Drawing

SIZE = (60.0, 40.0)
PLACE = UncertainPlace("a picture is broken", (1, 2, 3, 4))


@dataclass
class Drawer:
    """Stands for what draws the plates: notes what it was asked for, and knows of a place."""

    asked: list[tuple[Any, ...]] = field(default_factory=list)
    closed: bool = False

    def render(self, *request: Any) -> Plates:
        self.asked.append(request)
        box, dpi = request[:2]
        return Plates(("Fern",), np.zeros((1, 2, 3), np.uint8), dpi, box, (PLACE,))

    def close(self) -> None:
        self.closed = True


@dataclass
class Shelf:
    """Stands for the cache folder."""

    kept: dict[str, Plates] = field(default_factory=dict)

    def get(self, request: Any) -> Plates | None:
        return self.kept.get(repr(request))

    def put(self, request: Any, plates: Plates) -> None:
        self.kept[repr(request)] = plates


def page_by(drawer: Any, cache: Any = None, over_bounds: Any = ()) -> ReadPage:
    """A page 60 mm wide and 40 mm high."""
    return ReadPage(
        number=3, width_mm=SIZE[0], height_mm=SIZE[1], boxes=PageBoxes((0, 0, *SIZE)), rotate=0, user_unit=1, layers=[],
        separations=[], objects=None, separator=drawer, cache=cache, over_bounds=list(over_bounds),  # type: ignore[arg-type]
    )  # fmt: skip


def test_plates_of_the_whole_page_are_drawn_once_for_each_resolution_and_choice_of_inks():
    drawer = Drawer()
    page = page_by(drawer)
    first = page.plates()
    assert (first.dpi, first.box_mm) == (100, (0, 0, *SIZE))
    assert page.plates(100) is first
    assert page.plates(101) is not first
    assert page.plates(100, frozenset({"Fern"})) is not first
    assert page.plates(100, frozenset({"Fern"})) is page.plates(100, frozenset({"Fern"}))
    assert len(drawer.asked) == 3
    assert drawer.asked[2][2] == frozenset({"Fern"})


def test_windows_and_altered_pages_are_drawn_each_time():
    drawer, box = Drawer(), (1, 2, 30, 9)
    page, alteration = page_by(drawer), Alteration(left_out=(4,))
    for _ in range(2):
        page.window(box, 300, edges="sharp")
        page.altered(alteration)
        page.altered(alteration, 50, box, "sharp")
    window, whole, part = drawer.asked[:3]
    assert len(drawer.asked) == 6
    assert window == (box, 300, frozenset(), Alteration(), "sharp", 0)  # not turned
    assert whole == ((0, 0, *SIZE), 100, frozenset(), alteration, "smooth", 0)
    assert part == (box, 50, frozenset(), alteration, "sharp", 0)


def test_smooth_edges_are_the_rule():
    drawer = Drawer()
    page_by(drawer).window((1, 2, 30, 9), 300)
    assert drawer.asked[0][-2:] == ("smooth", 0)


def test_what_is_missing_on_plates_is_remembered_once_of_the_page_as_it_is():
    page = page_by(Drawer())
    page.altered(Alteration(knocking_out=(1,)))
    assert page.uncertain == []
    page.window((1, 2, 30, 9), 300)
    page.plates(50)
    assert page.uncertain == [PLACE]


def test_plates_that_are_kept_between_runs_are_not_drawn_again():
    shelf, drawer, again = Shelf(), Drawer(), Drawer()
    page_by(drawer, shelf).plates(50, frozenset({"Moss", "Fern"}))
    page = page_by(again, shelf)
    assert page.plates(50, frozenset({"Fern", "Moss"})).dpi == 50
    assert page.uncertain == [PLACE]
    assert (len(drawer.asked), len(again.asked), len(shelf.kept)) == (1, 0, 1)
    page.plates(51, frozenset({"Fern", "Moss"}))
    page.altered(Alteration(left_out=(1,)), 50)
    assert (len(again.asked), len(shelf.kept)) == (2, 3)


def over(*hits: str) -> OverBound:
    return OverBound("too much", frozenset(hits))


def test_a_page_whose_plates_are_over_a_bound_is_not_drawn():
    drawer = Drawer()
    page = page_by(drawer, over_bounds=[over("text"), over("objects", "plates")])
    with pytest.raises(PageTooBig, match="too much"):
        page.plates()
    assert drawer.asked == []


def test_other_bounds_do_not_keep_plates_from_being_drawn():
    assert page_by(Drawer(), over_bounds=[over("text", "images"), over("objects")]).plates().names == ("Fern",)


def test_closing_a_page_ends_what_draws_it():
    drawer = Drawer()
    page_by(drawer).close()
    assert drawer.closed


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Twenty-one pages, each a millimetre wider than the one before."""
    pages = [Drawing(50 + number, 40) for number in range(1, 22)]
    return Book(*pages).save(tmp_path_factory.mktemp("book") / "book.pdf")


@pytest.mark.parametrize(
    ("only", "numbers"),
    [(None, [*range(1, 21)]), (1, [1]), (2, [2]), (21, [21]), (22, [])],
    ids=["all", "the first", "the second", "the last", "one that it has not"],
)
def test_twenty_pages_are_read_or_the_one_that_is_asked_for(only, numbers, book):
    with read_artwork(book, only_page=only) as artwork:
        assert [page.number for page in artwork.pages] == numbers
        assert [round(page.width_mm) for page in artwork.pages] == [50 + number for number in numbers]
        assert artwork.page_count == 21


@pytest.mark.parametrize("cache", [False, True])
def test_plates_are_kept_between_runs_where_that_is_wanted(cache, book):
    with read_artwork(book, only_page=2, cache=cache) as artwork:
        (page,) = artwork.pages
        assert isinstance(page, ReadPage)
        assert (page.cache is not None) is cache
        assert page.cache is None or page.cache.folder == cache_folder()
    with read_artwork(book, only_page=2) as artwork:
        assert artwork.pages[0].cache is None  # type: ignore[attr-defined]


def test_a_page_has_what_its_file_says_of_it(tmp_path):
    drawing = Drawing(60, 40).fill("Fern", rect=(5, 5, 30, 20)).fill((0, 0, 0, 1), rect=(40, 5, 50, 30))
    drawing.page.obj.Rotate, drawing.page.obj.UserUnit = 90, 2
    drawing.page.obj.SeparationInfo = Dictionary(DeviceColorant=Name.Fern)
    drawing.pdf.Root.PageLabels = Dictionary(Nums=[0, Dictionary(P=String("Lid "), S=Name.D)])
    drawing.pdf.docinfo["/Title"], drawing.pdf.docinfo["/Producer"] = "Oats", "a pen"
    form = drawing.pdf.make_stream(b"0 g 0 0 9 9 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9])
    note = Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, Rect=[v * MM for v in (10, 20, 15, 22)], F=4, AP=Dictionary(N=form),
        Contents=String("no"),
    )  # fmt: skip
    drawing.page.obj.Annots = Array([drawing.pdf.make_indirect(note)])
    path = drawing.save(tmp_path / "art.pdf")
    with read_artwork(path) as artwork:
        (page,) = artwork.pages
        assert (page.rotate, page.user_unit, page.label, page.plate_of) == (90, 2, "Lid 1", "Fern")
        assert (page.width_mm, page.height_mm) == pytest.approx((80, 120), abs=1e-3)
        assert list(page.box_mm) == [0, 0, page.width_mm, page.height_mm]
        # Turned clockwise, a place (x, y) of 60 x 40 comes to (y, 60 - x), and twice as large.
        (annotation,) = page.annotations
        assert annotation == Annotation("Stamp", annotation.box_mm, "no")
        assert annotation.box_mm == pytest.approx((40, 90, 44, 100), abs=1e-3)
        assert page.objects.box_mm[0] == pytest.approx((10, 60, 40, 110), abs=1e-3)
        assert [separation.name for separation in page.separations if separation.on_plate][-1] == "Fern"
        assert (page.opaque, page.over_bounds, page.uncertain, page.blend_spaces) == (True, [], [], [])
        assert (artwork.title, artwork.producer, artwork.path, artwork.repairs) == ("Oats", "a pen", path, ())


def test_a_page_with_something_faint_is_not_opaque(tmp_path):
    drawing = Drawing(60, 40).gs(ca=0.5).fill("Fern", rect=(5, 5, 30, 20))
    with read_artwork(drawing.save(tmp_path / "art.pdf")) as artwork:
        assert not artwork.pages[0].opaque


def test_a_page_without_objects_has_none_in_any_separation(tmp_path):
    with read_artwork(Drawing(60, 40).save(tmp_path / "art.pdf")) as artwork:
        found = artwork.pages[0].objects.in_separation("Fern")
        assert found.tolist() == []
        assert found.dtype == bool


def test_closing_artwork_closes_its_pages_and_its_file(tmp_path):
    drawing = Drawing(60, 40)
    profile = drawing.pdf.make_stream(b"profile")
    drawing.pdf.Root.OutputIntents = Array([Dictionary(S=Name.GTS_PDFX, DestOutputProfile=profile)])
    artwork = read_artwork(drawing.save(tmp_path / "art.pdf"))
    assert artwork.output_profile() == b"profile"
    closed = []
    artwork.pages[0].close = lambda: closed.append(1)  # type: ignore[method-assign]
    artwork.started.callback(closed.append, 2)
    artwork.close()
    assert closed == [1, 2]
