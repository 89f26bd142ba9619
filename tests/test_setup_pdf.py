"""The set-up sheet as a PDF: measured in the file by PDFium, which shares no code with what wrote it."""

from __future__ import annotations

import ctypes
import re
from dataclasses import dataclass
from functools import cache

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from preflight.report.pdf_flow import Columns, Type, blocks_of, heading, joined, paragraph, section, whole
from preflight.report.pdf_type import letters, lines_of, width_of, within_lines, written
from preflight.report.setup_head import NEVER
from preflight.report.setup_paper import PAPERS as SIZES
from preflight.report.setup_pdf import TO_WRITE, render_setup_pdf
from preflight.report.setup_pdf import _pages as laid_out
from preflight.report.setup_sheet import sheet_of
from tests.setup_documents import DIGEST, FOUND, LONG, SETUPS, inked, with_stations

PAPERS = {"a4": (841.89, 595.28), "a3": (1190.55, 841.89)}
"""Landscape, ISO 216 in points."""
ROW = {"a4": 12, "a3": 16}
LEAST = 11
BOX_IN_ROW = 1.4 * 12 - 3 + 2 * 0.8
"""Height of a box to write in on A4, with its line as PDFium counts it."""
HYPHEN_AT_THE_END = 2
"""PDFium gives this code for a hyphen that ends a line."""
EVERY = [(name, paper) for name in SETUPS for paper in PAPERS]


@dataclass(frozen=True)
class Letter:
    text: str
    size: float
    turned: bool
    box: tuple[float, float, float, float]
    """Left, bottom, right, top."""


@cache
def pdf_of(name, paper):
    return render_setup_pdf(SETUPS[name](), paper)


@cache
def pages_of(name, paper):
    """Letters of each page, as they are drawn."""
    with pypdfium2.PdfDocument(pdf_of(name, paper)) as pdf:
        return [letters_on(pdf[k]) for k in range(len(pdf))]


def letters_on(page):
    text = page.get_textpage()
    letters = []
    for k in range(text.count_chars()):
        code = pdfium.FPDFText_GetUnicode(text, k)
        code = ord("-") if code == HYPHEN_AT_THE_END else code
        if code > 32 and code != 0xA0 and not pdfium.FPDFText_IsGenerated(text, k):
            turned = abs(pdfium.FPDFText_GetCharAngle(text, k)) > 0.01
            letters.append(Letter(chr(code), pdfium.FPDFText_GetFontSize(text, k), turned, text.get_charbox(k)))
    return letters


def told(name, paper):
    """All texts of the file, without blanks: lines may break anywhere."""
    return ["".join(letter.text for letter in page) for page in pages_of(name, paper)]


def crew_pages(name, paper):
    """How many pages come before the reasons."""
    return next(k for k, text in enumerate(told(name, paper)) if "Reasonsandtherest" in text)


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_the_paper_is_landscape(name, paper):
    with pypdfium2.PdfDocument(pdf_of(name, paper)) as pdf:
        sizes = [pdf[k].get_size() for k in range(len(pdf))]
    assert all(size == pytest.approx(PAPERS[paper], abs=0.1) for size in sizes)


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_nothing_is_outside_the_page(name, paper):
    width, height = PAPERS[paper]
    for page in pages_of(name, paper):
        boxes = [letter.box for letter in page if letter.size < 100]  # the mark across the sheet is looked at below
        assert min(box[0] for box in boxes) >= 15
        assert min(box[1] for box in boxes) >= 10
        assert max(box[2] for box in boxes) <= width - 15
        assert max(box[3] for box in boxes) <= height - 10


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_nothing_for_the_crew_is_under_11_points(name, paper):
    pages = pages_of(name, paper)
    for page in pages[: crew_pages(name, paper)]:
        assert min(letter.size for letter in page) >= LEAST - 0.01
    assert min(letter.size for page in pages for letter in page) >= 9 - 0.01


@pytest.mark.parametrize(("name", "paper"), [(n, p) for n, p in EVERY if sheet_of(SETUPS[n]()).passes])
def test_the_row_of_units_is_at_least_12_points_on_a4_and_16_on_a3(name, paper):
    sizes = sizes_of_words(name, paper, [place.name for place in sheet_of(SETUPS[name]()).passes[0].places])
    assert sizes
    assert min(sizes) >= ROW[paper] - 0.01


def sizes_of_words(name, paper, words):
    """Greatest size of type in which each word of one line is on page 1."""
    text = told(name, paper)[0]
    page = pages_of(name, paper)[0]
    starts = {
        word: [m.start() for m in re.finditer(re.escape(word), text)] for word in words if " " not in word and word
    }
    return [max(page[at].size for at in found) for found in starts.values() if found]


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_no_text_is_over_another(name, paper):
    """Letters of different lines do not touch: boxes of ink, shrunk by a hair."""
    for page in pages_of(name, paper):
        letters = [letter for letter in page if letter.size < 100]
        cells: dict[tuple[int, int], list[int]] = {}
        for k, letter in enumerate(letters):
            x0, y0, x1, y1 = letter.box
            for x in range(int(x0 // 20), int(x1 // 20) + 1):
                for y in range(int(y0 // 20), int(y1 // 20) + 1):
                    cells.setdefault((x, y), []).append(k)
        pairs = {(a, b) for held in cells.values() for a in held for b in held if a < b}
        assert [(letters[a], letters[b]) for a, b in pairs if overlap(letters[a].box, letters[b].box)] == []


def overlap(one, other):
    return min(one[2], other[2]) - max(one[0], other[0]) > 1.0 and min(one[3], other[3]) - max(one[1], other[1]) > 1.0


def test_text_over_another_is_seen():
    assert overlap((0, 0, 10, 10), (8, 5, 20, 12))
    assert not overlap((0, 0, 10, 10), (10, 0, 20, 10))


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_every_page_says_what_it_is_of(name, paper):
    wanted = [part.replace(" ", "") for part in sheet_of(SETUPS[name]()).identity]
    texts = told(name, paper)
    for k, text in enumerate(texts):
        flat = text.replace("\xa0", "")
        assert [part for part in [*wanted, f"page{k + 1}of{len(texts)}"] if part not in flat] == []


def test_the_identity_has_ticket_revision_digest_versions_and_date():
    assert sheet_of(SETUPS["usual"]()).identity == (
        "Ticket 4711", "revision B", f"artwork {DIGEST[:16]}", "preflight 0.9.0, rules 3b1f9c20",
        "30 November 2026, 14:05 UTC",
    )  # fmt: skip
    assert sheet_of(SETUPS["everything-missing"]()).identity == (
        "No ticket number", "no revision", "no digest of the artwork", "tool not stated, rules not stated", "no date",
    )  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
def test_the_usual_job_is_on_one_page_for_the_crew(paper):
    text = told("usual", paper)[0]
    assert crew_pages("usual", paper) == 1
    for said in (
        "FEEDER", "delivery", "Mill Brown", "K4711-5", "40 %", "55 −37 −50", "water-", "coater1", "6idle", "backed",
        "What to watch", "watch for picking", "Change from the last job: 29 min", "15+5min", "Wash unit 5: Mustard",
        "12,860 sheets", "GC2, 0.43 mm, 270 g/m²", "across the press", "Sheet 20: register", "hold-to-run", *TO_WRITE,
    ):  # fmt: skip
        assert said.replace(" ", "") in text


def test_an_aim_that_nobody_gave_is_a_box_and_one_that_is_given_is_not():
    """Boxes on page 1: rectangles without a fill, of the height of a box to write in."""
    counted = [boxes_to_write_in(SETUPS["usual"]()), boxes_to_write_in(without_aims(SETUPS["usual"]()))]
    assert counted[1] - counted[0] == 2 * 4


def without_aims(document):
    for station in document["plan"]["passes"][0]["stations"]:
        if "unit" in station:
            station["aims"] = None
    return document


def boxes_to_write_in(document):
    with pypdfium2.PdfDocument(render_setup_pdf(document, "a4")) as pdf:
        bounds = [item.get_bounds() for item in pdf[0].get_objects() if item.type == pdfium.FPDF_PAGEOBJ_PATH]
    return sum(abs((top - bottom) - BOX_IN_ROW) < 0.2 and right - left > 30 for left, bottom, right, top in bounds)


@pytest.mark.parametrize("paper", PAPERS)
def test_lamps_say_their_level_in_words(paper):
    text = told("effect", paper)[0]
    assert [level in text for level in ("FULL", "LOW", "OFF")] == [True] * 3
    assert "3xuv" in text


def test_the_crew_on_the_right_sees_the_feeder_on_the_right():
    assert feeder_x("effect") > PAPERS["a3"][0] * 0.8
    assert feeder_x("usual") < PAPERS["a3"][0] * 0.2
    assert unit_x("effect", "Copper") > unit_x("effect", "Magenta")
    assert unit_x("usual", "Black") < unit_x("usual", "Yellow")


def feeder_x(name):
    return unit_x(name, "FEEDER")


def unit_x(name, word):
    return pages_of(name, "a3")[0][told(name, "a3")[0].index(word)].box[0]


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_do_not_run_is_across_every_sheet_that_is_not_to_be_run(name, paper):
    document = SETUPS[name]()
    for page in pages_of(name, paper):
        large = [letter for letter in page if letter.size >= 100]
        if document["run_it"]:
            assert large == []
            continue
        assert "".join(letter.text for letter in large) == NEVER.replace(" ", "")
        assert all(letter.turned for letter in large)
        assert max(letter.box[2] for letter in large) - min(letter.box[0] for letter in large) > 0.7 * PAPERS[paper][0]
        assert min(letter.box[0] for letter in large) > 0


def test_why_it_is_not_to_be_run_is_beside_it():
    assert "Bleedis0.4mmonpanelC" in told("do-not-run", "a4")[0]
    assert "Thevarnishhastobebehindallinks." in told("impossible", "a4")[0]


@pytest.mark.parametrize("paper", PAPERS)
def test_each_pass_has_a_page_of_its_own(paper):
    first, second, rest = told("two-passes", paper)
    assert "pass1of2" in first
    assert "Dune" in first
    assert "Magenta" not in first
    assert "pass2of2" in second
    assert "Magenta" in second
    assert "CyanandRosetouch" in rest


@pytest.mark.parametrize("paper", PAPERS)
def test_names_in_other_scripts_are_written_in_full_or_as_numbers(paper):
    texts = told("twelve", paper)
    assert "Ροδοδάφνη" in texts[0]
    assert "[U+73AB][U+7470][U+7EA2]" in texts[0]
    assert "Тёмно" in texts[0]
    behind = "".join(texts[crew_pages("twelve", paper) :])
    assert f"6{LONG[5].replace(' ', '')},7{LONG[6].replace(' ', '')}" in behind
    assert "writtenastheirnumbers" in behind


def test_two_long_names_that_differ_at_the_end_stay_apart():
    text = told("twelve", "a4")[0]
    assert "variantA" in text
    assert "variantB" in text


@pytest.mark.parametrize("name", SETUPS)
def test_no_letter_is_one_that_the_faces_lack(name):
    """It would be a black box on paper, though the text of the file has it."""
    assert {
        letter.text for page in pages_of(name, "a4") for letter in page if ord(letter.text) not in letters()
    } == set()


def test_all_faces_are_embedded():
    with pypdfium2.PdfDocument(pdf_of("twelve", "a4")) as pdf:
        texts = [item for page in pdf for item in page.get_objects() if item.type == pdfium.FPDF_PAGEOBJ_TEXT]
        fonts = {ctypes.addressof(font.contents): font for font in map(pdfium.FPDFTextObj_GetFont, texts)}
        assert fonts
        assert all(pdfium.FPDFFont_GetIsEmbedded(font) for font in fonts.values())


def test_the_same_document_gives_the_same_file():
    assert render_setup_pdf(SETUPS["usual"](), "a4") == pdf_of("usual", "a4")


# Faults, queries, and what was not checked ------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
def test_faults_that_are_shown_and_those_that_are_counted_add_up(paper):
    """Ten faults; no count of the word about units, and none of places that only a picture shows."""
    text = told("faulty", paper)[0]
    shown = sum(flat(says).split("(")[0] in text for _, says in FOUND)
    (more,) = re.findall(r"(\d+)morefaults?:page(\d)", text)
    likewise = text.count("Likewise:OpaqueWhiteSecondHit.")
    assert shown + likewise + int(more[0]) == len(FOUND) == 10
    assert shown >= 4
    assert "longestofthemshown" not in "".join(told("faulty", paper))
    assert "Donotrun" in told("faulty", paper)[int(more[1]) - 1]


def flat(text):
    return text.replace(" ", "")


@pytest.mark.parametrize("paper", PAPERS)
def test_plates_without_a_unit_leave_the_banner_to_the_faults(paper):
    text = told("too-few-units", paper)[0]
    assert "needsaunit" not in text
    assert "Therearetoofewunits:Cyan,Magenta" in text
    assert "Roseisonunit7;thepresshas6." in text
    assert "more:page" not in text
    assert "Noorderoftheunitsand1fault:pages1and2" in told("too-few-units", paper)[1]


@pytest.mark.parametrize("paper", PAPERS)
def test_page_1_says_what_was_not_checked(paper):
    text = told("ready-but-open", paper)[0]
    assert "Readyforplatesasfaraschecked." in text
    assert "3pointsnotchecked:inksforthegoodsinside,grainagainstthecreasesandwash-ups(frompage2)." in text


@pytest.mark.parametrize("paper", PAPERS)
def test_whether_it_is_ready_is_larger_than_the_text(paper):
    page, text = pages_of("with-queries", paper)[0], told("with-queries", paper)[0]
    start = text.index("Readyforplatesoncesettled:2queries.")
    assert page[start].size >= {"a4": 14, "a3": 20}[paper]


@pytest.mark.parametrize("paper", PAPERS)
def test_queries_come_first_with_a_box_for_who_settled_each(paper):
    text = told("with-queries", paper)[0]
    assert "Queriestosettlefirst:2" in text
    assert text.count("Settledby") == 2
    assert text.index("?CopperisametallicandmeetsUV") < text.index("Whattowatch")
    without = SETUPS["with-queries"]() | {"queries": []}
    assert frames(SETUPS["with-queries"](), paper) - frames(without, paper) == 2


def frames(document, paper):
    """Frames on page 1 that are as high as a line of type: boxes to write in, of the crew's columns."""
    height = {"a4": 11, "a3": 14}[paper] * 1.2 + 2 * 0.8
    with pypdfium2.PdfDocument(render_setup_pdf(document, paper)) as pdf:
        bounds = [item.get_bounds() for item in pdf[0].get_objects() if item.type == pdfium.FPDF_PAGEOBJ_PATH]
    return sum(abs(top - bottom - height) < 0.3 and right - left > 30 for left, bottom, right, top in bounds)


@pytest.mark.parametrize("paper", PAPERS)
def test_page_1_says_how_the_sheet_lies_and_asks_for_what_is_not_known(paper):
    text = told("with-queries", paper)[0]
    for said in (
        "Operatorside:left,printedfaceup,gripperedgedown",
        "Gripperedge:12mmnotprinted",
        "Sidelay:eitherside:",
    ):
        assert said in text
    known, bare = SETUPS["with-queries"](), SETUPS["with-queries"]()
    known["press"] |= {"side_lay": "drive"}
    bare["press"] = {"name": "Six units"}
    counts = [frames(document, paper) for document in (known, SETUPS["with-queries"](), bare)]
    assert [count - counts[0] for count in counts] == [0, 1, 3]


@pytest.mark.parametrize("paper", PAPERS)
def test_what_is_not_known_is_said_beside_its_box(paper):
    open_text = told("ready-but-open", paper)[0]
    assert "notknown:theticketgivesnopowder" in open_text
    assert "thenumberreadis:" in open_text
    document = SETUPS["ready-but-open"]()
    filled = document | {"settings": {"powder": "15 µm"}, "check_first": ["Bar code: scanned?"]}
    assert frames(document, paper) - frames(filled, paper) == 2
    few = "".join(told("too-few-units", paper))
    assert "4,000net+140runningwaste;make-readynotknown(thereisnoplanoftheunits" in few
    assert "notknown:howmanysheetsisnotknown" in few


@pytest.mark.parametrize("paper", PAPERS)
def test_what_runs_on_has_its_title_again(paper):
    document = SETUPS["too-few-units"]()
    document["queries"] += [f"This is query {k}, of which there are {'very ' * k}many." for k in range(16)]
    with pypdfium2.PdfDocument(render_setup_pdf(document, paper)) as pdf:
        text = "".join(letter.text for page in pdf for letter in letters_on(page))
    assert "Queriestosettlefirst:29" in text
    assert "Queriestosettlefirst:29(continued)" in text


@pytest.mark.parametrize(("name", "paper"), EVERY)
def test_every_column_begins_with_a_title(name, paper):
    """The first line of each column, below the head, is the bold line of a title."""
    document = SETUPS[name]()
    sheet, sizes = sheet_of(document), SIZES[paper]
    for page in laid_out(document, sheet, sizes):
        for x in {x for _, x, _ in page.placed}:
            first = min((top, line) for line, at, top in page.placed if at == x)[1]
            assert title_of(first), (name, paper, page.title)


def title_of(line):
    """Whether a line draws a rule over a bold text, as a title does."""
    drawn = []

    class Drawn:
        def text(self, *_args, bold=False, **_more):
            drawn.append("bold" if bold else "text")

        def line(self, *_args):
            drawn.append("rule")

        def box(self, *_args, **_more):
            drawn.append("box")

    line.draw(Drawn(), 0, 0)
    return drawn[:2] == ["rule", "bold"]


@pytest.mark.parametrize("kind", ["white", "varnish", "primer", "spot", "unheard-of"])
@pytest.mark.parametrize("paper", PAPERS)
def test_no_sign_of_a_kind_looks_like_a_box_to_write_in(kind, paper):
    """Something is drawn inside the frame of the sign, also where the ink is as pale as paper."""
    document = with_stations([inked(1, "Pale", kind, 0.5, shown_as="#dde6ee")])
    with pypdfium2.PdfDocument(render_setup_pdf(document, paper)) as pdf:
        image = pdf[0].render(scale=4).to_numpy()[:, :, 0]
        number = next(letter for letter in letters_on(pdf[0]) if letter.text == "1" and letter.size > ROW[paper] * 1.3)
        height = pdf[0].get_height()
    top, bottom = (int((height - number.box[k]) * 4) for k in (3, 1))
    inside = image[top + 4 : bottom - 4, int((number.box[2] + ROW[paper] * 2.2) * 4) :]
    inside = inside[:, :160]
    assert (inside < 128).mean() > 0.02
    assert (inside > 230).mean() > 0.2


def test_words_keep_off_the_frames_on_a3():
    """Names, levels of lamps and the word delivery are no nearer to a frame than 2 mm on the left, 1 mm anywhere."""
    page, text = pages_of("effect", "a3")[0], told("effect", "a3")[0]
    with pypdfium2.PdfDocument(pdf_of("effect", "a3")) as pdf:
        bounds = [item.get_bounds() for item in pdf[0].get_objects() if item.type == pdfium.FPDF_PAGEOBJ_PATH]
    sides = [x for left, bottom, right, top in bounds if top - bottom > 100 for x in (left, right)]
    for word in ("Magenta", "Copper", "delivery", "FULL", "LOW", "OFF"):
        start = text.index(word)
        left, right = page[start].box[0], page[start + len(word) - 1].box[2]
        assert min(abs(x - at) for x in sides for at in (left, right)) > 2.8, word
        assert not any(left < x < right for x in sides), word


# Flow --------------------------------------------------------------------------------------------------------------


def flowing(count, height):
    """A heading and so many lines of 12 points, in two columns of a height."""
    kind = Type(10, 100)
    lines = [*paragraph("x", kind), *heading("Assumed", kind), *joined(paragraph("y", kind) for _ in range(count))]
    return Columns(0, 0, height, 100, 10, 2), lines


def test_a_heading_stays_with_what_follows():
    columns, lines = flowing(1, 31)
    placed, rest = columns.fill(lines)
    assert [x for _, x, _ in placed] == [0, 110, 110]
    assert rest == []


def test_a_block_stays_whole_where_a_column_can_hold_it():
    columns, lines = flowing(3, 60)
    placed, rest = columns.pack([lines[:1], whole(lines[1:])], 4)
    assert [x for _, x, _ in placed] == [0, 110, 110, 110, 110]
    assert rest == []


def test_a_block_taller_than_a_column_runs_on():
    columns, lines = flowing(9, 60)
    placed, rest = columns.pack([whole(lines)], 4)
    assert {x for _, x, _ in placed} == {0, 110}
    assert len(placed) + len(rest) == len(lines) + 1  # the room behind it goes on too
    assert max(top + line.height for line, _, top in placed) <= 60


def test_the_most_urgent_block_stands_in_short_columns_rather_than_on_the_next_page():
    kind = Type(10, 100)
    block = whole(section("Queries", joined(paragraph(text, kind) for text in "abcdef"), kind))
    urgent, after = Columns(0, 0, 60, 100, 10, 3), whole(section("Run", paragraph("r", kind), kind))
    placed, rest = urgent.pack([block, after], 4, 400)
    assert {x for _, x, _ in placed} == {0, 110, 220}
    assert sum(not line.empty for line in rest) == len(after)
    placed, rest = urgent.pack([after, block], 4, 400)
    assert {x for _, x, _ in placed} == {0}
    assert blocks_of(rest) == [block]


# Type --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Łódź", "Łódź"),
        ("e\u0301", "é"),
        ("玫", "[U+73AB]"),
        ("שלום", "[U+05E9][U+05DC][U+05D5][U+05DD]"),
        ("a\u202eb", "a[U+202E]b"),
        ("ไ", "[U+0E44]"),
    ],
)
def test_a_letter_that_cannot_be_shown_is_written_as_its_number(text, shown):
    assert written(text) == shown


@pytest.mark.parametrize("text", [*LONG, "a", "", "one-two-three", "x" * 200])
@pytest.mark.parametrize("room", [30, 60, 300])
def test_no_line_is_wider_than_its_room(text, room):
    lines = lines_of(text, 12, room, bold=True)
    single = [line for line in lines if re.fullmatch(r"\[U\+[0-9A-F]+\]|.", line)]
    assert [line for line in lines if width_of(line, 12, bold=True) > room and line not in single] == []
    assert "".join("".join(lines).split()) == "".join(written(text).split())


def test_a_name_too_long_loses_its_middle():
    lines = within_lines("Cool Moss of the very long hillside, variant A", 12, 70, 3)
    assert len(lines) <= 3
    assert lines[0].startswith("Cool")
    assert lines[-1].endswith("variant A")
    assert "…" in "".join(lines)
