"""Repairs: what lost nothing is told from what may have lost something, each once and in our own words."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Dictionary, Name
from PIL import Image

from preflight.artwork.page.artwork import Repair
from preflight.artwork.pdf.structure.opening import open_pdf
from preflight.artwork.pdf.structure.repairs import (
    BADLY_WRITTEN,
    BARE,
    BARE_LOST,
    EMPTY,
    END,
    END_LOST,
    INDEX,
    INDEX_LOST,
    LENGTH,
    LENGTH_LOST,
    UNKNOWN,
    in_plain_words,
    lengths_found_anew,
    lost_objects,
    was_rebuilt,
)
from tests.test_opening import plain

JARGON = re.compile(
    r"xref|endobj|endstream|cross-reference|trailer|object|stream|offset|\d+ 0 R|qpdf|/[A-Z]|\.pdf", re.I
)


def with_picture(path: Path) -> Path:
    """A page with a font that it names, a packed content and a JPEG, all objects readable in the file."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=(200, 100))
    jpeg = io.BytesIO()
    Image.linear_gradient("L").convert("CMYK").save(jpeg, "JPEG")
    picture = pdf.make_stream(jpeg.getvalue(), Dictionary(Type=Name.XObject, Subtype=Name.Image))
    picture.stream_dict.Width = picture.stream_dict.Height = 256
    picture.stream_dict.ColorSpace, picture.stream_dict.BitsPerComponent = Name.DeviceCMYK, 8
    picture.stream_dict.Filter = Name.DCTDecode
    font = pdf.make_indirect(Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica))
    page.obj.Resources = Dictionary(Font=Dictionary(F0=font), XObject=Dictionary(Im0=picture))
    content = (
        b"q 90 0 0 90 5 5 cm /Im0 Do Q BT /F0 12 Tf 100 50 Td (see 77 0 R) Tj ET\n" + b"1 0 0 0 k 0 0 9 9 re f\n" * 90
    )
    page.obj.Contents = pdf.make_stream(content)
    pdf.save(path, object_stream_mode=pikepdf.ObjectStreamMode.disable, compress_streams=True)
    return path


def replaced(data: bytes, old: bytes, new: bytes) -> bytes:
    assert data.count(old) >= 1
    return data.replace(old, new, 1)


def moved_list(data: bytes) -> bytes:
    """The place of the file's list is given 7 bytes too far back."""
    return re.sub(rb"startxref\s+(\d+)", lambda m: b"startxref\n%d" % (int(m[1]) + 7), data)


def moved_places(data: bytes) -> bytes:
    """Every part stands 5 bytes further back than the list says."""
    return re.sub(rb"(\d{10})( 00000 n)", lambda m: b"%010d%b" % (int(m[1]) - 5, m[2]), data)


def without_font(data: bytes) -> bytes:
    """The font that the page names is not in the file, whose list is wrong as well."""
    whole = re.search(rb"\d+ 0 obj\s*<<[^<>]*Helvetica[^<>]*>>\s*endobj\s*", data)
    assert whole
    return moved_list(data[: whole.start()] + data[whole.end() :])


def at_stream(data: bytes, mark: bytes) -> tuple[int, int]:
    """Where the data of the stream lie in whose dictionary a mark stands."""
    begin = data.index(b"stream", data.index(mark)) + 7
    return begin, data.index(b"endstream", begin)


def wrong_picture_length(data: bytes) -> bytes:
    begin, _ = at_stream(data, b"/DCTDecode")
    head = data[:begin]
    at = head.rindex(b"/Length ")
    return data[:at] + re.sub(rb"/Length (\d+)", lambda m: b"/Length %d" % (int(m[1]) + 30), head[at:]) + data[begin:]


def picture_cut_short(data: bytes) -> bytes:
    begin, end = at_stream(data, b"/DCTDecode")
    return data[: begin + 900] + data[end - 1 :]


def content_cut_short(data: bytes) -> bytes:
    begin, end = at_stream(data, b"/FlateDecode")
    return data[: begin + (end - begin) // 2] + data[end - 1 :]


def content_garbled(data: bytes) -> bytes:
    begin, _ = at_stream(data, b"/FlateDecode")
    return data[: begin + 40] + b"\xff" * 8 + data[begin + 48 :]


def update_cut_off(data: bytes) -> bytes:
    """A later change to the page was appended, and cut off behind its first part: the list of it is missing."""
    page = b"3 0 obj\n<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] /Contents 4 0 R /Resources << >> >>\nendobj\n"
    return data + b"% " + b"x" * 1100 + b"\n" + page + b"9 0 obj\n<< /Le"


DAMAGES: list[tuple[Callable[[Path], Path], Callable[[bytes], bytes], bool]] = [
    # what is drawn, what is done to it, whether something may be lost
    (plain, lambda data: b"junk\n" * 400 + data, False),
    (plain, lambda data: data[:-20], False),  # startxref, its number and %%EOF are 20 bytes
    (plain, lambda data: data.replace(b"\n", b"\r\n"), False),
    (plain, lambda data: replaced(data, b"/Length 14", b"/Length 77"), False),
    (plain, lambda data: replaced(data, b"/Length 14 ", b""), False),
    (plain, lambda data: replaced(data, b"/Count 1", b"/Count 3"), True),
    (plain, lambda data: replaced(data, b"/MediaBox [0 0 100 100]", b""), True),
    (plain, lambda data: data[: data.rindex(b"trailer")], True),  # what came behind nobody knows
    (plain, update_cut_off, True),
    (plain, moved_list, False),
    (plain, moved_places, False),
    (with_picture, moved_list, False),
    (with_picture, moved_places, False),
    (with_picture, without_font, True),
    (with_picture, wrong_picture_length, False),
    (with_picture, picture_cut_short, True),
    (with_picture, content_cut_short, True),
    (with_picture, content_garbled, True),
    (with_picture, lambda data: replaced(data, b"/XObject <<", b"/XObject >>"), True),
]


@pytest.mark.parametrize(("draw", "damage", "lost"), DAMAGES)
def test_what_lost_nothing_is_told_from_what_may_have(draw, damage, lost, tmp_path):
    folder = tmp_path / "xref not found (object 3 0, offset 17)"
    folder.mkdir()
    path = draw(folder / "art.pdf")
    path.write_bytes(damage(path.read_bytes()))
    repairs = open_pdf(path).repairs
    assert any(repair.lost for repair in repairs) == lost, repairs
    assert repairs
    assert len({repair.words for repair in repairs}) == len(repairs)
    assert [repair for repair in repairs if JARGON.search(repair.told) or "art" in repair.told.split()] == []
    assert [repair.lost for repair in repairs] == sorted((repair.lost for repair in repairs), reverse=True)


@pytest.mark.parametrize("draw", [plain, with_picture])
def test_a_whole_file_has_no_repairs(draw, tmp_path):
    assert open_pdf(draw(tmp_path / "art.pdf")).repairs == ()


HARMLESS = """
 : file is damaged
 : can't find PDF header
 (offset 7): xref not found
 : Attempting to reconstruct cross-reference table
 (xref table, offset 9): invalid xref entry (obj=7)
 (xref table, offset 9): accepting invalid xref table entry
 (xref table, offset 9): xref syntax invalid
 (xref stream: object 7 0, offset 9): unknown token while reading object; treating as null
 (trailer, offset 455): unexpected >
 (object 7 0, offset 9): expected n n obj
 : extraneous whitespace seen before xref
 : reported number of objects (9) is not one plus the highest object number (7)
 (object 7 0, offset 9): expected endstream
 (object 7 0, offset 9): attempting to recover stream length
 (object 7 0, offset 9): recovered stream length: 14
 (object 7 0, offset 9): stream keyword followed by carriage return only
 (object 7 0, offset 9): expected endobj
 (object 7 0, offset 9): null character not allowed in name token
 (object 7 0, offset 9): empty object treated as null
, object 3 0 at offset 9: /Type key should be /Page but is not; overriding
, object 3 0 at offset 9: kid 0 (from 0) appears more than once in the pages tree; creating a new page object as a copy
 : Catalog: setting missing or invalid /Type entry to /Catalog
 (linearization hint table, offset 9): object count mismatch for page 0: hint table = 3
"""
LOSING = """
 (object 7 0, offset 9): unable to recover stream data; treating stream as empty
 (object 7 0, offset 9): unexpected EOF
 (object 7 0, offset 9): EOF while reading token
 (object 7 0, offset 9): unknown token while reading object; treating as string
 (object 7 0, offset 9): expected dictionary keys but found non-name objects; ignoring
 (object 7 0, offset 9): expected dictionary key but found non-name object; inserting key /QPDFFake1
 (object 7 0, offset 9): dictionary has duplicated key /BaseFont; last occurrence overrides earlier ones
 (object 7 0, offset 9): dictionary ended prematurely; using null as value for last key
 (object 7 0, offset 9): too many errors; giving up on reading object
 (object 7 0, offset 9): invalid character (x) in hexstring
 (object 7 0, offset 9): loop detected resolving object 7 0
 (object 7 0, offset 9): supposed object stream 7 has wrong type
 object stream 5 (object 7 0, offset 9): parse error while reading object
 object stream 5 (object 7 0, offset 9): offset 900 is too large
 : object 7 0 not found in file after regenerating cross reference table
 object 2 0: Pages tree includes non-dictionary object; ignoring
, object 3 0 at offset 9: kid 0 (from 0) MediaBox is undefined; setting to letter / ANSI A
, object 3 0 at offset 9: kid 0 (from 0) has too many errors; ignoring page
 (object 7 0, offset 9): error decoding stream data for object 7 0: stream inflate: inflate: data: incorrect data check
 (object 7 0, offset 9): unknown encryption filter for streams (check /StmF in /Encrypt); may be decrypted improperly
 (object 7 0, offset 9): a message that nobody has seen before
"""


@pytest.mark.parametrize("message", HARMLESS.strip("\n").split("\n"))
def test_messages_of_what_loses_nothing(message):
    [repair] = in_plain_words(
        [f"file{message}"], end_is_there=True, all_found=True, streams_whole=True, resources_missed=False
    )
    assert not repair.lost
    assert not JARGON.search(repair.told)


@pytest.mark.parametrize("message", LOSING.strip("\n").split("\n"))
def test_messages_of_what_may_have_lost_something(message):
    [repair] = in_plain_words(
        [f"file{message}"], end_is_there=True, all_found=True, streams_whole=True, resources_missed=False
    )
    assert repair.lost
    assert not JARGON.search(repair.told)


def test_an_entry_that_stands_twice_is_told_as_that():
    [repair] = in_plain_words(["file (object 7 0, offset 9): dictionary has duplicated key /F"], streams_whole=True)
    assert ("twice" in repair.told, repair.lost) == (True, True)


def test_a_sort_is_said_once_with_how_often_it_happened():
    three = [
        f"file (object {n} 0, offset 7): {m}"
        for n in (4, 5, 6)
        for m in ("expected endstream", "recovered stream length: 9")
    ]
    [repair] = in_plain_words(three, streams_whole=True)
    assert (repair.times, repair.told.endswith("(3 times)")) == (3, True)
    assert Repair("so it was", True, 2, (1, 4)).told == "so it was (pages 1 and 4)"
    assert Repair("so it was", True, 1, (4,)).told == "so it was (page 4)"
    assert Repair("so it was", True).told == "so it was"


def test_compressed_bytes_really_end_early(tmp_path):
    """The page's content is cut in the middle of its packed bytes, so that unpacking them gives an early end."""
    data = with_picture(tmp_path / "art.pdf").read_bytes()
    begin, end = at_stream(content_cut_short(data), b"/FlateDecode")
    machine = zlib.decompressobj()
    machine.decompress(content_cut_short(data)[begin:end])
    assert not machine.eof


REBUILT = "file: Attempting to reconstruct cross-reference table"
NO_END = "file: can't find startxref"
DAMAGED = "file: file is damaged"
RECOVERED = "file (object 7 0, offset 9): recovered stream length: 14"
IS_EMPTY = "file (object 7 0, offset 9): unable to recover stream data; treating stream as empty"
WITHOUT_LIST = "file, object 3 0 at offset 9: Resources is missing"


@pytest.mark.parametrize(
    ("warnings", "found", "expected"),
    [
        ([REBUILT], {}, [END_LOST, INDEX_LOST]),
        ([REBUILT], {"end_is_there": True}, [INDEX_LOST]),
        ([REBUILT], {"all_found": True}, [END_LOST]),  # the list went with the end
        ([REBUILT], {"end_is_there": True, "all_found": True}, [INDEX.words]),
        ([NO_END], {}, [END_LOST]),
        ([NO_END], {"end_is_there": True}, [END.words]),
        ([DAMAGED], {}, [END_LOST, INDEX_LOST]),
        ([DAMAGED], {"end_is_there": True, "all_found": True}, [INDEX.words]),
        ([DAMAGED, RECOVERED], {"end_is_there": True}, [LENGTH_LOST]),
        ([RECOVERED], {"streams_whole": True}, [LENGTH.words]),
        ([RECOVERED, IS_EMPTY], {}, [EMPTY.words]),  # said once of one part
        ([RECOVERED, IS_EMPTY.replace("7 0", "8 0")], {}, [EMPTY.words, LENGTH_LOST]),
        ([WITHOUT_LIST], {}, [BARE_LOST]),
        ([WITHOUT_LIST], {"resources_missed": False}, [BARE.words]),
        (["file: nobody knows"], {}, [UNKNOWN.words]),
        ([], {}, []),
    ],
)
def test_what_was_found_later_tells_whether_something_is_lost(warnings, found, expected):
    assert sorted(repair.words for repair in in_plain_words(warnings, **found)) == sorted(expected)


def test_what_may_have_lost_something_comes_first():
    repairs = in_plain_words([REBUILT, "file (object 7 0, offset 9): unknown token"], end_is_there=True, all_found=True)
    assert [(repair.words, repair.lost) for repair in repairs] == [(BADLY_WRITTEN, True), (INDEX.words, False)]


def test_each_object_counts_once_and_the_file_once():
    objects = [f"file (object {n} 0, offset {at}): unknown token" for n, at in ((4, 7), (5, 8), (4, 9))]
    [repair] = in_plain_words(objects)
    assert repair.times == 2
    [index] = in_plain_words([REBUILT, "file (object 4 0, offset 7): expected 4 0 obj", REBUILT], end_is_there=True)
    assert index.times == 1
    [told] = in_plain_words(["file: object 7 0 not found in file", "file: object 8 0 not found in file"])
    assert told.times == 2


def test_numbers_of_the_streams_that_are_spoken_of():
    warnings = [IS_EMPTY, RECOVERED.replace("7 0", "12 0"), "file: treating stream as empty", REBUILT]
    assert lost_objects(warnings) == {7}
    assert lengths_found_anew(warnings) == {12}
    assert (lost_objects([]), lengths_found_anew([])) == (set(), set())


@pytest.mark.parametrize(("warnings", "rebuilt"), [([], False), ([NO_END], False), ([NO_END, REBUILT], True)])
def test_a_list_that_had_to_be_rebuilt(warnings, rebuilt):
    assert was_rebuilt(warnings) is rebuilt


def test_pages_of_a_repair_are_listed():
    assert Repair("so it was", True, 3, (1, 4, 9)).told == "so it was (pages 1, 4 and 9)"
    assert Repair("so it was", True, 2).told == "so it was (2 times)"
