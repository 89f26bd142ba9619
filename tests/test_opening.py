"""What is opened, what is repaired and said, and what is refused."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure import opening
from preflight.artwork.pdf.structure.file_type import looks_like
from preflight.artwork.pdf.structure.opening import document_facts, open_pdf, output_profile, read_content
from preflight.artwork.pdf.structure.repairs import in_plain_words
from preflight.artwork.pdf.structure.values import lookup
from preflight.errors import ArtworkNotThere, ArtworkUnreadable, ExitStatus, OverLimit
from tests.books import Book
from tests.drawn import Drawing
from tests.referees import CORPUS, needs_corpus


def drawn(path: Path, filler: int = 0) -> Path:
    page = Drawing(60, 40)
    page.fill("Mill Brown", 1, rect=(5, 5, 30, 30))
    page.raw("% " + "x" * filler)
    return page.save(path)


def plain(path: Path, content: bytes = b"0 0 10 10 re f", contents: str = "4 0 R") -> Path:
    """A PDF written by hand: content not compressed, objects where the text says."""
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 100 100] /Resources << >> /Contents "
        + contents.encode()
        + b" >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
    ]
    out, offsets = bytearray(b"%PDF-1.7\n"), []
    for number, body in enumerate(objects, 1):
        offsets.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    out += b"xref\n0 5\n0000000000 65535 f \n" + table
    out += b"trailer\n<< /Size 5 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % out.rindex(b"xref\n0 5")
    path.write_bytes(out)
    return path


NO_PDF = {
    "empty": b"",
    "web page": b"<!DOCTYPE html><html><body>Sign in</body></html>",
    "EPS": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n",
    "EPS with a preview": b"\xc5\xd0\xd3\xc6" + bytes(60),
    "JPEG": b"\xff\xd8\xff\xe0" + bytes(60),
    "archive": b"PK\x03\x04" + bytes(60),
    "SVG": b'<?xml version="1.0"?><svg width="10"/>',
    "text": "Grüße aus der Druckerei".encode(),
    "zeros": bytes(5000),
    "noise": bytes(range(128, 256)) * 20,
    "header only": b"%PDF-1.7\n",
}


@pytest.mark.parametrize("content", NO_PDF.values(), ids=NO_PDF.keys())
def test_no_pdf_is_refused(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "artwork.pdf"
    path.write_bytes(content)
    with pytest.raises(ArtworkUnreadable) as refused:
        open_pdf(path)
    assert refused.value.exit_status == ExitStatus.ARTWORK_UNREADABLE
    assert "artwork.pdf" in str(refused.value)
    assert "\n" not in str(refused.value)


def test_what_it_looks_like_differs_by_content() -> None:
    seen = [looks_like(content[:1024]) for name, content in NO_PDF.items() if name not in ("empty", "header only")]
    assert len(set(seen)) == len(seen)
    assert looks_like(b"\0\0%PDF-1.4") == looks_like(b"%PDF-2.0")


def test_missing_folder_and_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path in (tmp_path / "nowhere.pdf", tmp_path, tmp_path / "a\0b.pdf"):
        with pytest.raises(ArtworkNotThere):
            open_pdf(path)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ArtworkNotThere, match=tmp_path.name):
        open_pdf(Path())
    path = drawn(tmp_path / "locked.pdf")

    def denied(*_: object) -> None:
        raise PermissionError(13, "denied")

    monkeypatch.setattr(Path, "open", denied)
    with pytest.raises(ArtworkNotThere):
        open_pdf(path)


def test_advice_fits_what_is_wrong(tmp_path: Path) -> None:
    (tmp_path / "empty.pdf").touch()
    (tmp_path / "text.pdf").write_text("no PDF")
    advice = []
    for name in ("empty.pdf", "text.pdf", "nowhere.pdf"):
        with pytest.raises(ArtworkUnreadable) as refusal:
            open_pdf(tmp_path / name)
        advice.append(refusal.value.advice)
    assert len(set(advice)) == 3


def test_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "huge.pdf"
    with path.open("wb") as file:
        file.truncate(2_000_000_001)  # sparse
    with pytest.raises(ArtworkUnreadable):
        open_pdf(path)


def test_no_pages(tmp_path: Path) -> None:
    pikepdf.new().save(tmp_path / "none.pdf")
    with pytest.raises(ArtworkUnreadable):
        open_pdf(tmp_path / "none.pdf")


@pytest.mark.parametrize(("user", "opens"), [("", True), ("secret", False)])
def test_passwords(user: str, opens: bool, tmp_path: Path) -> None:
    source = pikepdf.open(drawn(tmp_path / "open.pdf"))
    path = tmp_path / "locked.pdf"
    allow = pikepdf.Permissions(print_lowres=False, print_highres=False)
    source.save(path, encryption=pikepdf.Encryption(owner="owner", user=user, allow=allow))
    if not opens:
        with pytest.raises(ArtworkUnreadable):
            open_pdf(path)
        return
    opened = open_pdf(path)
    assert opened.repairs == ()
    assert b"re" in read_content(opened.pdf.pages[0], 10_000) or b" l" in read_content(opened.pdf.pages[0], 10_000)


def test_a_whole_file_needs_no_repair(tmp_path: Path) -> None:
    path = drawn(tmp_path / "whole.pdf")
    opened = open_pdf(path)
    assert opened.repairs == ()
    assert opened.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert open_pdf(plain(tmp_path / "plain.pdf")).repairs == ()


def damaged_end(data: bytes) -> bytes:
    return data[:-20]


def line_ends(data: bytes) -> bytes:
    return data.replace(b"\n", b"\r\n")


def junk_before(data: bytes) -> bytes:
    return b"junk\n" * 400 + data


def wrong_length(data: bytes) -> bytes:
    return data.replace(b"/Length 14", b"/Length 77")


def wrong_count(data: bytes) -> bytes:
    return data.replace(b"/Count 1", b"/Count 3")


@pytest.mark.parametrize("damage", [damaged_end, line_ends, junk_before, wrong_length, wrong_count])
def test_repairs_are_said(damage: Callable[[bytes], bytes], tmp_path: Path) -> None:
    path = plain(tmp_path / "damaged.pdf")
    path.write_bytes(damage(path.read_bytes()))
    opened = open_pdf(path)
    assert opened.repairs
    assert all(str(tmp_path) not in repair.told for repair in opened.repairs)
    assert read_content(opened.pdf.pages[0], 1000).strip() == b"0 0 10 10 re f"


def test_content_that_is_cut_off_is_refused(tmp_path: Path) -> None:
    data = plain(tmp_path / "whole.pdf", b"0 0 10 10 re f " * 500).read_bytes()
    path = tmp_path / "cut.pdf"
    path.write_bytes(data[:4000])
    with pytest.raises(ArtworkUnreadable):
        open_pdf(path)
    path.write_bytes(data[:4000] + bytes(len(data) - 4000))  # right size, the rest still zeros
    with pytest.raises(ArtworkUnreadable):
        open_pdf(path)


def test_content_lost_in_a_rebuilt_file_is_refused(tmp_path: Path) -> None:
    path = plain(tmp_path / "lost.pdf", contents="[4 0 R 9 0 R]")
    assert open_pdf(path).repairs  # the file is whole but for one piece: said
    path.write_bytes(path.read_bytes()[:-25])
    with pytest.raises(ArtworkUnreadable):
        open_pdf(path)


def test_damaged_compression_is_said(tmp_path: Path) -> None:
    page = Drawing(60, 40)
    page.raw("0 0 10 10 re f\n" * 3000)
    data = page.save(tmp_path / "a.pdf").read_bytes()
    at = data.index(b"stream") + 60
    (tmp_path / "b.pdf").write_bytes(data[:at] + b"\xff" * 8 + data[at + 8 :])
    assert open_pdf(tmp_path / "b.pdf").repairs


def test_deep_arrays_and_loops_do_not_overflow(tmp_path: Path) -> None:
    path = plain(tmp_path / "deep.pdf", contents="4 0 R /Deep " + "[" * 20_000 + "]" * 20_000)
    with pytest.raises(ArtworkUnreadable):  # the page itself cannot be read
        open_pdf(path)
    page = Drawing(60, 40)
    form = page.pdf.make_stream(b"", Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 1, 1]))
    form.Resources = Dictionary(XObject=Dictionary(Me=form))
    page.resources.XObject.Me = form
    assert open_pdf(page.save(tmp_path / "loop.pdf")).repairs == ()


@pytest.mark.parametrize("inside_a_form", [False, True], ids=["the page uses it", "a form of the page uses it"])
def test_a_damaged_object_among_resources_is_a_repair(inside_a_form: bool, tmp_path: Path) -> None:
    page = Drawing(60, 40)
    font = page.pdf.make_indirect(Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica))
    resources = Dictionary(Font=Dictionary(F9=font))
    if inside_a_form:
        inner = page.pdf.make_stream(b"", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 1, 1], Resources=resources)
        resources = Dictionary(XObject=Dictionary(Fm0=inner))
    page.resources.XObject.Fm9 = page.pdf.make_stream(
        b"", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 1, 1], Resources=resources
    )
    page.save(tmp_path / "whole.pdf")
    data = (tmp_path / "whole.pdf").read_bytes()
    assert data.count(b"/Subtype /Type1") == 1
    (tmp_path / "damaged.pdf").write_bytes(data.replace(b"/Subtype /Type1", b"/Subtype )Type1"))
    assert open_pdf(tmp_path / "whole.pdf").repairs == ()
    assert open_pdf(tmp_path / "damaged.pdf").repairs


def test_content_pieces_are_joined_by_line_ends(tmp_path: Path) -> None:
    page = Drawing(60, 40)
    page.save(tmp_path / "a.pdf")
    pieces = [page.pdf.make_stream(piece) for piece in (b"0 0 10", b"10 re", b"f")]
    page.page.obj.Contents = Array([pieces[0], Dictionary(), pieces[1], pieces[2]])
    remarks: list[str] = []
    assert read_content(page.page, 1000, remarks) == b"0 0 10\n10 re\nf"
    assert len(remarks) == 1
    with pytest.raises(OverLimit):
        read_content(page.page, 10)
    del page.page.obj.Contents
    assert read_content(page.page, 1000) == b""


def test_document_facts(tmp_path: Path) -> None:
    page = Drawing(60, 40)
    page.pdf.add_blank_page()
    page.pdf.docinfo["/Title"] = "Kräutertee, 100 g"
    page.pdf.docinfo["/Producer"] = "drawn by a test"
    page.pdf.Root.OutputIntents = Array(
        [Dictionary(S=Name("/GTS_PDFA1"), OutputConditionIdentifier="other"),
         Dictionary(S=Name("/GTS_PDFX"), OutputConditionIdentifier="FOGRA51")]
    )  # fmt: skip
    facts = document_facts(open_pdf(page.save(tmp_path / "a.pdf")).pdf)
    assert (facts.title, facts.producer, facts.output_intent, facts.page_count) == (
        "Kräutertee, 100 g", "drawn by a test", "FOGRA51", 2,
    )  # fmt: skip


def test_facts_from_xmp_and_from_nonsense(tmp_path: Path) -> None:
    page = Drawing(60, 40)
    packet = (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title><rdf:Alt>'
        '<rdf:li xml:lang="x-default">Sage &amp; mint</rdf:li></rdf:Alt></dc:title></rdf:Description>'
        "</rdf:RDF></x:xmpmeta>"
    )
    page.pdf.Root.Metadata = page.pdf.make_stream(packet.encode())
    page.pdf.Root.OutputIntents = Array([Name.Odd, Dictionary(OutputConditionIdentifier=Name.Odd), Array([])])
    page.pdf.trailer.Info = Dictionary(Title=Array([]))
    facts = document_facts(open_pdf(page.save(tmp_path / "a.pdf")).pdf)
    assert facts.title == "Sage & mint"


def test_repairs_are_grouped_and_bounded() -> None:
    one = [f"a.pdf (object {number} 0, offset 17): expected endstream" for number in range(100)]
    assert [repair.times for repair in in_plain_words(one)] == [100]
    odd = [f"a.pdf: something nobody knows, number {number}" for number in range(100)]
    assert [(repair.times, repair.lost) for repair in in_plain_words(odd)] == [(100, True)]
    assert "nobody knows" not in in_plain_words(odd)[0].told  # in our own words, whatever the library says
    assert in_plain_words(["a.pdf: file is damaged"])
    assert in_plain_words([]) == []


@needs_corpus
def test_outside_files_are_read_or_refused() -> None:
    refused = set()
    for path in sorted(p for p in CORPUS.rglob("*.*") if p.is_file() and p.suffix in (".pdf", ".ai")):
        try:
            opened = open_pdf(path)
            document_facts(opened.pdf)
        except ArtworkUnreadable:
            refused.add(path.name)
    assert refused == {
        "html.pdf", "postscript_named_pdf.pdf", "empty.pdf", "bug_644.pdf", "media_huge_number.pdf", "issue357.pdf",
        "late_content_cut.pdf", "late_content_zeroed.pdf", "loop_in_page_tree.pdf", "poppler-395-0-fuzzed.pdf",
        "Dialect-DictIsStream.pdf",
    }  # fmt: skip


def with_intents(*intents: dict[str, Any]) -> pikepdf.Pdf:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.Root.OutputIntents = Array([Dictionary(**intent) for intent in intents])
    return pdf


PDFX = Name.GTS_PDFX
INTENTS = {
    "the one for print first": ([{"OutputCondition": "A"}, {"S": PDFX, "Info": "B"}, {"S": PDFX, "Info": "C"}], "B"),
    "any other": ([{"S": Name.GTS_PDFA1, "Info": "A"}, {"Info": "B"}], "A"),
    "its identifier first": ([{"Info": "A", "OutputCondition": "B", "OutputConditionIdentifier": "C"}], "C"),
    "its condition next": ([{"Info": "A", "OutputCondition": "B", "OutputConditionIdentifier": " "}], "B"),
    "custom is no name": ([{"Info": "A", "OutputConditionIdentifier": "Custom"}], "A"),
    "blanks cut off": ([{"Info": " A "}], "A"),
    "print says nothing": ([{"Info": "A"}, {"S": PDFX, "Info": "custom"}], "A"),
    "none": ([], ""),
}


@pytest.mark.parametrize(("intents", "said"), INTENTS.values(), ids=INTENTS)
def test_the_printing_condition_is_what_the_file_says_first(intents: list[dict[str, Any]], said: str) -> None:
    assert document_facts(with_intents(*intents)).output_intent == said


def test_the_profile_is_that_of_print_or_the_first_that_can_be_read() -> None:
    pdf = with_intents({}, {}, {"S": PDFX}, {"S": PDFX})
    assert output_profile(pdf) == b""
    for intent, data in zip(pdf.Root.OutputIntents, (b"one", b"two", b"three", b"four"), strict=True):
        intent.DestOutputProfile = pdf.make_stream(data)
    assert output_profile(pdf) == b"three"
    pdf.Root.OutputIntents[2].DestOutputProfile.Filter = Name.Odd
    assert output_profile(pdf) == b"four"
    del pdf.Root.OutputIntents[3].DestOutputProfile
    assert output_profile(pdf) == b"one"


PACKETS = {
    "element": (b"<dc:title><rdf:Alt><rdf:li>Sage\n&amp; <b>mint</b></rdf:li></rdf:Alt></dc:title>", "Sage\n&  mint"),
    "attribute": (b'<rdf:Description dc:title="Sage &lt;1&gt;" pdf:Producer="a pen"/>', "Sage <1>"),
    "with attributes": (b"<dc:title xml:lang='en'> Sage </dc:title>", "Sage"),
    "other tag": (b"<dc:subject>Sage</dc:subject>", ""),
    "two": (b"<dc:title>One</dc:title><dc:title>Two</dc:title>", "One"),
}


@pytest.mark.parametrize(("packet", "title"), PACKETS.values(), ids=PACKETS)
def test_a_title_is_found_in_a_packet_however_it_is_written(packet: bytes, title: str) -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.Root.Metadata = pdf.make_stream(packet)
    assert document_facts(pdf).title == title
    assert document_facts(pdf).producer == ("a pen" if b"Producer" in packet else "")
    pdf.docinfo["/Title"] = "Of the file"
    assert document_facts(pdf).title == "Of the file"


@pytest.mark.parametrize(("spare", "opens"), [(0, True), (-1, False)])
def test_a_file_may_be_as_large_as_the_bound(
    spare: int, opens: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = plain(tmp_path / "art.pdf")
    monkeypatch.setattr(opening, "MOST_BYTES", path.stat().st_size + spare)
    monkeypatch.setattr(opening, "HASH_STEP", 100)
    if opens:
        assert open_pdf(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    else:
        with pytest.raises(ArtworkUnreadable):
            open_pdf(path)


def test_what_is_missing_is_said_with_its_pages(tmp_path: Path) -> None:
    pages = [Drawing(60, 40).fill((1, 0, 0, 0), rect=(1, 1, 5, 9)) for _ in range(4)]
    book = Book(*pages, finish=with_missing_pieces).save(tmp_path / "art.pdf")
    found = {repair.pages: (repair.times, repair.lost) for repair in open_pdf(book).repairs}
    assert found == {(2, 4): (2, True), (3,): (1, True)}


def with_missing_pieces(pdf: pikepdf.Pdf) -> None:
    """Pages 2 and 4 name content that is nowhere, page 4 twice; page 3 has a piece packed in an odd way."""
    for number, count in ((1, 1), (3, 2)):
        gone = [Dictionary()] * count
        pdf.pages[number].obj.Contents = Array([pdf.pages[number].obj.Contents, *gone])
    odd = pdf.make_stream(b"x", Filter=Name.Odd)
    pdf.pages[2].obj.Contents = Array([pdf.pages[2].obj.Contents, odd])


@pytest.mark.parametrize(("content", "lost"), [(b"0 0 10 10 re f", False), (b"/F0 12 Tf (a) Tj", True)])
def test_a_page_without_a_list_of_resources_has_lost_them_where_it_names_some(
    content: bytes, lost: bool, tmp_path: Path
) -> None:
    path = plain(tmp_path / "art.pdf", content)
    path.write_bytes(path.read_bytes().replace(b"/Resources << >>", b" " * 16))
    assert [repair.lost for repair in open_pdf(path).repairs] == [lost]


@pytest.mark.parametrize(("claimed", "repairs"), [(1, 0), (2, 1)])
def test_more_pages_than_can_be_found_are_lost(claimed: int, repairs: int, tmp_path: Path) -> None:
    path = plain(tmp_path / "art.pdf")
    path.write_bytes(path.read_bytes().replace(b"/Count 1", b"/Count %d" % claimed))
    assert len([repair for repair in open_pdf(path).repairs if repair.lost]) == repairs


def test_the_page_whose_content_is_lost_is_named(tmp_path: Path) -> None:
    """Content of the second and third page is nowhere in a file whose list had to be made anew."""
    pages = [Drawing(60, 40).fill((1, 0, 0, 0), rect=(1, 1, 5, 9)) for _ in range(3)]

    def finish(pdf: pikepdf.Pdf) -> None:
        for number in (2, 1):
            pdf.pages[number].obj.Contents = Array([pdf.pages[number].obj.Contents, Dictionary()])

    path = Book(*pages, finish=finish).save(tmp_path / "art.pdf")
    assert {repair.pages for repair in open_pdf(path).repairs} == {(2, 3)}
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(ArtworkUnreadable, match="page 2"):
        open_pdf(path)


@pytest.mark.parametrize(("room", "seen"), [(2, 2), (1, 1)])
def test_resources_are_looked_through_breadth_first_up_to_a_bound(
    room: int, seen: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A form within a form within a form; each has one thing among its resources."""
    page = Drawing(60, 40)
    inner = page.pdf.make_stream(b"", Resources=Dictionary(Font=Dictionary(F0=Dictionary())))
    outer = page.pdf.make_stream(b"", Resources=Dictionary(XObject=Dictionary(Fm0=inner)))
    page.page.obj.Resources = Dictionary(XObject=Dictionary(Fm0=outer))
    looked_at = []

    def noted(holder: Any, key: str) -> Any:
        looked_at.append(holder)
        return lookup(holder, key)

    monkeypatch.setattr(opening, "MOST_LOOKED_AT", room)
    monkeypatch.setattr(opening, "lookup", noted)
    opening._look_at_resources(page.pdf)
    assert len([holder for holder in looked_at if isinstance(holder, pikepdf.Stream)]) == seen


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (pikepdf.PdfError("unsupported Encryption handler"), "protected"),
        (RuntimeError("unknown security handler"), "protected"),
        (pikepdf.PdfError("invalid crypt filter"), "protected"),
        (pikepdf.PdfError("Loop detected in /Pages structure"), "is circular"),
        (pikepdf.PdfError("loop"), "cut off"),
        (MemoryError(), "cut off"),
        (pikepdf.PasswordError("invalid password"), "password"),
    ],
)
def test_why_a_file_cannot_be_opened(
    fault: Exception, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = plain(tmp_path / "art.pdf")

    def refuse(*_: object, **__: object) -> None:
        raise fault

    monkeypatch.setattr(pikepdf, "open", refuse)
    with pytest.raises(ArtworkUnreadable, match=words):
        open_pdf(path)
