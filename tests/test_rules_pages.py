"""The pages of one file beside each other: other sizes, other inks, and pages that are the plates of one drawing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.page import OverBound
from preflight.artwork.read_artwork import read_artwork
from preflight.judging.judge import judge
from preflight.measures.job_assembly import assemble_job
from tests.books import Book, Plate, landscape, pre_separated
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.house import SIX_UNITS, Case, blank_page, job_of, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
BLACK = (0, 0, 0, 1)
WORDS = "the quick brown fox jumps over a lazy dog and packs its boxes with five dozen jars of oat biscuits once more"


def case(rule, name, expect, draw, **more):
    return Case(rule, name, expect, draw, **{"ticket": ONE_UP, **more})


# Size and inks -----------------------------------------------------------------------------------------------------


def other_carton(**shape: float) -> Drawing:
    carton = reverse_tuck(at=(10, 10), **shape)
    page = Drawing(carton.box[2] + 10, carton.box[3] + 10).fill((1, 0, 0, 0), rect=(30, 60, 50, 80))
    return with_die(page, carton)


def same_page_size() -> Drawing:
    """A carton 5 mm less high on a page as large as that of the first."""
    page = blank_page().fill((1, 0, 0, 0), rect=(30, 60, 50, 80))
    return with_die(page, reverse_tuck(at=(10, 10), height=85))


def wider_page() -> Drawing:
    """The same carton with more room round it."""
    carton = reverse_tuck(at=(40, 30))
    return with_die(Drawing(275, 240).fill((1, 0, 0, 0), rect=(60, 80, 80, 100)), carton)


def sheet_for_approval(*inks: str) -> Drawing:
    """A page of A4 with notes and no die."""
    page = Drawing(297, 210)
    for number, ink in enumerate(inks):
        page.fill(ink, rect=(20 + 30 * number, 20, 40 + 30 * number, 40))
    return page.fill((1, 0, 0, 0), rect=(100, 100, 150, 150))


def inside_print(*colours) -> Drawing:
    """The same size without a die."""
    page = blank_page()
    for number, colour in enumerate(colours):
        page.fill(colour, rect=(30 + 30 * number, 60, 50 + 30 * number, 80))
    return page


def hidden_spot() -> Drawing:
    """Moss Green wholly covered by what is drawn over it."""
    page = blank_page().fill("Moss Green", rect=(30, 60, 50, 80)).fill((1, 0, 0, 0), rect=(28, 58, 52, 82))
    return with_die(page)


def in_slug(ink: str) -> Drawing:
    """Cyan on the carton, another ink in a legend beside it."""
    return with_die(blank_page().fill((1, 0, 0, 0), rect=(30, 60, 50, 80)).fill(ink, rect=(120, 2, 130, 8)))


def at_one_percent() -> Drawing:
    page = blank_page().fill((1, 0, 0, 0), rect=(30, 60, 50, 80))
    return with_die(page.fill("Mill Brown", 0.01, rect=(90, 60, 99, 80)))


def cyan() -> Drawing:
    return printed("Cyan")


def turned(page: Drawing) -> Drawing:
    page.page.obj.Rotate = 90
    return page


MERGED = {**ONE_UP, "separations": {"MILL BROWN C": {"same_as": "Mill Brown"}}}

UNLIKE = [
    case("pages-unlike", "an approval sheet", "warn", lambda: Book(cyan(), sheet_for_approval()), case="size",
         measured=1),
    case("pages-unlike", "an approval sheet in other inks", "warn",
         lambda: Book(cyan(), sheet_for_approval("Mill Brown")), case=""),
    case("pages-unlike", "another carton", "warn", lambda: Book(cyan(), other_carton(height=120)), case="size"),
    case("pages-unlike", "another carton on a page of one size", "warn", lambda: Book(cyan(), same_page_size()),
         case="size"),
    case("pages-unlike", "the first page is the odd one", "warn",
         lambda: Book(sheet_for_approval(), cyan(), cyan()), case="size", measured=2),
    case("pages-unlike", "turned", "warn", lambda: Book(cyan(), turned(cyan())), case="size"),
    case("pages-unlike", "the inside in other inks", "warn",
         lambda: Book(printed("Cyan", "Mill Brown"), inside_print(BLACK)), case="inks", measured=1),
    case("pages-unlike", "the last of three in other inks", "warn",
         lambda: Book(cyan(), cyan(), printed("Cyan", "Mill Brown")), case="inks", measured=1),
    case("pages-unlike", "a spot that lies hidden on the second page", "warn",
         lambda: Book(printed("Cyan", "Moss Green"), inside_print((1, 0, 0, 0))), case="inks"),
    case("pages-unlike", "names that are not merged", "warn",
         lambda: Book(printed("Mill Brown"), printed("MILL BROWN C")), case="inks"),
    case("pages-unlike", "one page", "pass", cyan),
    case("pages-unlike", "one size, one set of inks", "pass", lambda: Book(cyan(), printed("Cyan", size_mm=10))),
    case("pages-unlike", "the same carton on a larger page", "pass", lambda: Book(cyan(), wider_page())),
    case("pages-unlike", "the inside without a die, in the same ink", "pass",
         lambda: Book(cyan(), inside_print((1, 0, 0, 0)))),
    case("pages-unlike", "both turned", "pass", lambda: Book(turned(cyan()), turned(cyan()))),
    case("pages-unlike", "another ink in the legend", "pass", lambda: Book(cyan(), in_slug("Mill Brown"))),
    case("pages-unlike", "another ink that is covered", "pass", lambda: Book(cyan(), hidden_spot())),
    case("pages-unlike", "another ink at 1 %", "pass", lambda: Book(cyan(), at_one_percent())),
    case("pages-unlike", "names that the ticket merges", "pass",
         lambda: Book(printed("Mill Brown"), printed("MILL BROWN C")), ticket=MERGED),
    case("pages-unlike", "sheets of one size", "pass",
         lambda: Book(inside_print((1, 0, 0, 0)), inside_print((1, 0, 0, 0))), ticket={"artwork_is": "sheet"}),
    case("pages-unlike", "a sheet of another size", "warn", lambda: Book(cyan(), sheet_for_approval()),
         ticket={"artwork_is": "sheet"}, case="size"),
    case("pages-unlike", "plates of one drawing are another matter", "pass",
         lambda: separate_inks("Cyan", "Magenta", "Mill Brown")),
]  # fmt: skip


# Plates ------------------------------------------------------------------------------------------------------------


def lines(page: Plate, seed: int, at: tuple[float, float], count: int, size_pt: float, cmyk=BLACK) -> None:
    """Lines of type on one grid, their words drawn by lot."""
    random, words = np.random.default_rng(seed), WORDS.split()
    for line in range(count):
        page.words(" ".join(random.choice(words, 10)), (at[0], at[1] - line * 0.42 * size_pt), size_pt, cmyk)


def carton_art(page: Plate) -> None:
    """Grounds, a picture and type; what an ink has no part in it knocks out in white."""
    page.marks((10, 10, 205, 190))
    page.solid((0.1, 0.3, 0.6, 0), (10, 10, 205, 190)).solid((0.6, 0, 0.8, 0.2), (20, 20, 100, 90))
    page.photo(landscape(), (110, 100, 200, 180)).solid((1, 0.8, 0, 0), (120, 30, 180, 60))
    page.words("Oat biscuits", (30, 150), 36, (0, 1, 1, 0))
    lines(page, 1, (25, 80), 10, 7)


def only_type(page: Plate) -> None:
    page.marks((10, 10, 205, 190))
    page.words("Oat biscuits", (30, 150), 36, (0, 1, 1, 0)).words("with honey", (30, 120), 24, (1, 0.4, 0, 0.3))
    lines(page, 1, (25, 80), 10, 7, (0.7, 0.6, 0.5, 0.9))


def as_picture(page: Drawing, folder: Path) -> Drawing:
    """The page as one picture of its tones, as a scan is or a plate that was screened for a proof."""
    with_tones = read_artwork(page.save(folder / "part.pdf")).pages[0]
    gray = 255 - with_tones.plates(100).ink.max(0)
    with_tones.close()
    out = Drawing(215, 200)
    return out.image(gray.tobytes(), gray.shape[1], gray.shape[0], (0, 0, 215, 200), space=Name.DeviceGray)


def leaflet(count: int, *, photos: bool = False, tables: bool = False, marks: bool = True) -> Book:
    """Black pages of one size with one head, marks at the same places, and other text or pictures on each."""
    return Book(*(leaflet_page(number, photos=photos, tables=tables, marks=marks) for number in range(count)))


def leaflet_page(number: int, *, photos: bool = False, tables: bool = False, marks: bool = True) -> Plate:
    page = Plate(215, 200, 3)
    if marks:
        page.marks((10, 10, 205, 190))
    page.words("Package leaflet", (20, 180), 14, BLACK).solid(BLACK, (20, 176, 195, 176.5))
    if tables:
        for y in range(20, 170, 10):
            page.solid((0, 0, 0, 0.2 if (y // 10 + number) % 2 else 0.4), (20, y, 195, y + 9.5))
    if photos:
        for place, (x, y) in enumerate([(20, 100), (80, 100), (140, 100), (20, 30), (80, 30), (140, 30)]):
            page.photo(landscape(seed=100 * number + place), (x, y, x + 50, y + 60))
    else:
        lines(page, number, (20, 170), 45, 8)
    return page


def versions(count: int) -> Book:
    """One carton in black in several languages: all but the type is the same."""
    pages = []
    for number in range(count):
        page = Plate(215, 200, 3).marks((10, 10, 205, 190))
        page.solid((0, 0, 0, 0.3), (10, 10, 205, 190)).photo(landscape(), (110, 100, 200, 180))
        page.solid((0, 0, 0, 0.8), (20, 20, 100, 90)).words("Oat biscuits", (30, 150), 36, BLACK)
        lines(page, number, (25, 80), 10, 7, (0, 0, 0, 0))
        lines(page, 50 + number, (115, 80), 15, 7)
        pages.append(page)
    return Book(*pages)


def stated(*colorants: str) -> Book:
    """Leaflet pages that say that they are plates."""

    def finish(pdf: pikepdf.Pdf) -> None:
        pages = Array([page.obj for page in pdf.pages])
        for page, colorant in zip(pdf.pages, colorants, strict=True):
            page.obj.SeparationInfo = Dictionary(Pages=pages, DeviceColorant=Name("/" + colorant))

    book = leaflet(len(colorants))
    book.finish = finish
    return book


def labelled(*labels: str) -> Book:
    def finish(pdf: pikepdf.Pdf) -> None:
        pairs = [(number, Dictionary(P=pikepdf.String(label))) for number, label in enumerate(labels)]
        pdf.Root.PageLabels = Dictionary(Nums=Array(entry for pair in pairs for entry in pair))

    book = leaflet(len(labels))
    book.finish = finish
    return book


def separate_inks(*inks: str) -> Book:
    """A page for each ink, in that ink."""
    colours = {"Cyan": (1, 0, 0, 0), "Magenta": (0, 1, 0, 0), "Black": BLACK}
    return Book(*(Drawing(215, 200).fill(colours.get(ink, ink), rect=(30, 60, 80, 140)) for ink in inks))


class _Pictures(Book):
    """Pages that are turned into pictures when they are written."""

    def save(self, path: Path) -> Path:
        self.pages = tuple(as_picture(page, path.parent) for page in self.pages)
        return super().save(path)


def all_turned(book: Book) -> Book:
    for page in book.pages:
        page.page.obj.Rotate = 90
    return book


def black_cartons(count: int) -> Book:
    """One carton with its die in black: the die's separations show that the pages are whole."""
    return Book(*(printed("Black", size_mm=10 + number) for number in range(count)))


def rgb_pages() -> Book:
    pages = []
    for number in range(3):
        page = Drawing(215, 200)
        for step in range(6):
            page.fill((0.1 * number + 0.1 * step,) * 3, rect=(20 + 25 * step, 30, 40 + 25 * step, 150))
        pages.append(page)
    return Book(*pages)


def of_two_sizes() -> Book:
    """The plates of two drawings of other sizes are not one job's."""
    small = pre_separated(only_type, inks=(1, 2), size=(215, 150))
    return Book(*pre_separated(only_type, inks=(0, 3)).pages, *small.pages)


PLATES = [
    case("file-pre-separated", "the pages say so", "warn", lambda: stated("Cyan", "Magenta", "Yellow", "Black"),
         case="stated", measured=4),
    case("file-pre-separated", "one page that says so", "warn", lambda: stated("Cyan"), case="stated", measured=1),
    case("file-pre-separated", "two pages that say so", "warn", lambda: stated("Black", "Mill Brown"), case="stated"),
    case("file-pre-separated", "the labels are inks", "warn", lambda: labelled("Cyan", "Magenta", "Yellow", "Black"),
         case="called", measured=4),
    case("file-pre-separated", "the labels hold the names of inks", "warn", lambda: labelled("1_Cyan", "1_Black plate"),
         case="called", measured=2),
    case("file-pre-separated", "an ink a page", "warn", lambda: separate_inks("Cyan", "Magenta", "Mill Brown"),
         case="one ink each", measured=3),
    case("file-pre-separated", "grey plates", "warn", lambda: pre_separated(carton_art), case="", measured=4),
    case("file-pre-separated", "grey plates of three inks", "warn", lambda: pre_separated(carton_art, inks=(1, 2, 3))),
    case("file-pre-separated", "grey plates, turned pages", "warn", lambda: all_turned(pre_separated(carton_art))),
    case("file-pre-separated", "grey plates with nothing but type", "warn", lambda: pre_separated(only_type)),
    case("file-pre-separated", "grey plates as pictures", "warn",
         lambda: _Pictures(*pre_separated(carton_art).pages)),
    case("file-pre-separated", "a black page", "pass", lambda: leaflet_page(1)),
    case("file-pre-separated", "two grey plates are no sign", "pass", lambda: pre_separated(carton_art, inks=(0, 3))),
    case("file-pre-separated", "two pages of a leaflet", "pass", lambda: leaflet(2)),
    case("file-pre-separated", "four pages of a leaflet, marks alike", "pass", lambda: leaflet(4)),
    case("file-pre-separated", "a leaflet without marks", "pass", lambda: leaflet(4, marks=False)),
    case("file-pre-separated", "a leaflet, turned pages", "pass", lambda: all_turned(leaflet(4))),
    case("file-pre-separated", "a scanned leaflet", "pass", lambda: _Pictures(*leaflet(3).pages)),
    case("file-pre-separated", "other pictures in the same frames", "pass", lambda: leaflet(4, photos=True)),
    case("file-pre-separated", "tables in tones that take turns", "pass", lambda: leaflet(4, tables=True)),
    case("file-pre-separated", "four versions of a black carton", "pass", lambda: versions(4)),
    case("file-pre-separated", "one page four times", "pass", lambda: Book(*(leaflet_page(1) for _ in range(4)))),
    case("file-pre-separated", "black cartons with their dies", "pass", lambda: black_cartons(3)),
    case("file-pre-separated", "grey in RGB", "pass", rgb_pages),
    case("file-pre-separated", "pages of two sizes", "pass", of_two_sizes),
    case("file-pre-separated", "empty pages", "pass", lambda: Book(*(Drawing(215, 200) for _ in range(3)))),
    case("file-pre-separated", "labels that are no inks", "pass", lambda: labelled("i", "ii", "Blackboard")),
    case("file-pre-separated", "a label that is one ink", "pass", lambda: labelled("Black", "Front")),
    case("file-pre-separated", "two inks on one page", "pass",
         lambda: Book(printed("Cyan"), printed("Magenta"), printed("Cyan", "Mill Brown"))),
]  # fmt: skip

CASES = [*UNLIKE, *PLATES]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_pages(case, tmp_path):
    prove(case, tmp_path)


@pytest.mark.parametrize(
    ("draw", "rule", "words"),
    [
        (lambda: Book(cyan(), sheet_for_approval()), "pages-unlike",
         "The pages differ in size: page 1 is 195 x 180 mm (cut); page 2 is 297 x 210 mm (page)."),
        (lambda: Book(cyan(), same_page_size(), cyan()), "pages-unlike",
         "The pages differ in size: pages 1 and 3 are 195 x 180 mm; page 2 is 195 x 175 mm."),
        (lambda: Book(printed("Cyan", "Black", "Mill Brown"), inside_print(BLACK)), "pages-unlike",
         "different inks: page 1 prints Cyan, Black, Mill Brown; page 2 prints Black."),
        (lambda: Book(cyan(), sheet_for_approval("Mill Brown")), "pages-unlike",
         "page 2 is 297 x 210 mm (page); page 1 prints Cyan; page 2 prints Cyan, Mill Brown."),
        (lambda: Book(cyan(), blank_page()), "pages-unlike", "inks: page 1 prints Cyan; page 2 prints nothing."),
        (lambda: stated("Cyan", "Black"), "file-pre-separated", "pages 1 and 2 as the plates of Cyan, Black."),
        (lambda: pre_separated(carton_art), "file-pre-separated", "pages 1, 2, 3 and 4 are grey"),
    ],
)  # fmt: skip
def test_says_which_pages_and_what_differs(draw, rule, words, tmp_path):
    (finding,) = judge(job_of(draw(), tmp_path, ONE_UP, SIX_UNITS), rulebook(), only={rule}).findings
    assert words in finding.says


def test_is_said_once_however_many_pages(tmp_path):
    artwork = read_artwork(Book(cyan(), sheet_for_approval(), sheet_for_approval()).save(tmp_path / "art.pdf"))
    jobs = [assemble_job(artwork, page, None, None) for page in artwork.pages]
    found = [judge(job, rulebook(), only={"pages-unlike", "file-pre-separated"}) for job in jobs]
    assert [len(judgement.findings) for judgement in found] == [1, 0, 0]


def test_a_page_over_a_bound_leaves_it_open(tmp_path):
    artwork = read_artwork(Book(cyan(), cyan()).save(tmp_path / "art.pdf"))
    artwork.pages[1].over_bounds.append(OverBound("forms nested 40 deep", frozenset({"objects"})))
    judgement = judge(assemble_job(artwork, artwork.pages[0], None, None), rulebook(), only={"pages-unlike"})
    assert [entry.rule for entry in judgement.not_checked] == ["pages-unlike"]
