"""Whether all of a repaired file is there."""

import zlib

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure import completeness
from preflight.artwork.pdf.structure.completeness import all_is_found, are_whole, calls_for_resources, end_is_there
from tests.test_opening import plain

OBJECT = b"%PDF-1.7\n4 0 obj\n<< /A 1 >>\nendobj\n"


@pytest.mark.parametrize(
    ("behind", "there"),
    [
        (b"xref\n0 1\ntrailer\n<< /Size 5 >>\nstartxref\n99\n%%EOF\n", True),
        (b"%%EOF", True),
        (b"%%EOF\0\0\n \t\f\r", True),
        (b"startxref\n12", True),
        (b"startxref", False),
        (b"startxref\nx", False),
        (b"trailer\n<< /Size\n 5 >>", True),
        (b"trailer\n<< /Size 5", False),
        (b"", False),
        (b"xref\n0 1\n", False),
        (b"%%EOF\n5 0 obj\n<< /Le", False),  # something was appended and cut off
        (b"%%EOF\n5 0 obj\n<< /A 1 >>\nendobj\n", False),
    ],
)
def test_the_end_is_what_stands_behind_the_last_object(behind, there, tmp_path):
    path = tmp_path / "art.pdf"
    path.write_bytes(OBJECT + behind)
    assert end_is_there(path) is there


def test_what_is_spoken_of_and_is_not_there_is_missed(tmp_path, monkeypatch):
    whole = plain(tmp_path / "whole.pdf")
    with pikepdf.open(whole) as pdf:
        assert all_is_found(pdf)
        monkeypatch.setattr(completeness, "MOST_OBJECTS", len(pdf.objects))
        assert all_is_found(pdf)
        monkeypatch.setattr(completeness, "MOST_OBJECTS", len(pdf.objects) - 1)
        assert not all_is_found(pdf)
    monkeypatch.undo()
    lacking = plain(tmp_path / "lacking.pdf", contents="[4 0 R 9 0 R]")
    lacking.write_bytes(lacking.read_bytes()[:-20])
    with pikepdf.open(lacking) as pdf:
        assert not all_is_found(pdf)


@pytest.mark.parametrize(
    ("content", "calls"),
    [
        (b"/F0 12 Tf", True),
        (b"/F0 1.5 Tf", True),
        (b"/GS0 gs", True),
        (b"/CS0\ncs 1 scn", True),
        (b"/CS0 CS", True),
        (b"q /Im0 Do Q", True),
        (b"/Sh0 sh", True),
        (b"0.5 /P0 scn", True),
        (b"/P0 SCN", True),
        (b"/DeviceGray cs", False),
        (b"/DeviceRGB cs /DeviceCMYK CS /Pattern cs", False),
        (b"/DeviceGrayish cs", True),
        (b"/Patterned cs", True),
        (b"/Span BMC 0 0 9 9 re f EMC", False),
        (b"/F0 12 Tfx", False),
        (b"0 0 9 9 re f", False),
    ],
)
def test_content_that_names_what_a_list_of_resources_gives(content, calls):
    assert calls_for_resources(content) is calls


JPEG = b"\xff\xd8 picture \xff\xd9"
STREAMS = {
    "unpacks to its end": (zlib.compress(b"abc"), {"Filter": Name.FlateDecode}, True),
    "ends early": (zlib.compress(bytes(range(250)))[:-20], {"Filter": Name.FlateDecode}, False),
    "text that is not packed": (b"0 0 9 9 re f", {}, True),
    "pixels that are not packed": (b"\0\1\2", {"Subtype": Name.Image}, False),
    "no filters at all": (b"abc", {"Filter": Array([])}, True),
    "a JPEG": (JPEG, {"Filter": Name.DCTDecode}, True),
    "a JPEG, line end behind": (JPEG + b"\r\n\0 ", {"Filter": Name.DCT}, True),
    "a JPEG cut short": (JPEG[:-1], {"Filter": Name.DCTDecode}, False),
    "JPEG 2000": (JPEG, {"Filter": Name.JPXDecode}, True),
    "a JPEG in hexadecimal digits": (JPEG.hex().encode() + b">", {"Filter": Array([Name.AHx, Name.DCTDecode])}, True),
    "half a JPEG in hexadecimal digits": (
        JPEG[:5].hex().encode() + b">", {"Filter": Array([Name.ASCIIHexDecode, Name.DCTDecode])}, False,
    ),
    "of a filter that nobody knows": (b"abc", {"Filter": Name.Odd}, False),
    "a fax": (b"abc", {"Filter": Name.CCITTFaxDecode}, False),
}  # fmt: skip


@pytest.mark.parametrize(("data", "keys", "is_whole"), STREAMS.values(), ids=STREAMS)
def test_a_stream_is_whole_that_unpacks_to_its_own_end(data, keys, is_whole):
    pdf = pikepdf.new()
    made = pdf.make_stream(data, **keys)
    assert are_whole(pdf, [made.objgen[0]]) is is_whole


def test_all_of_the_streams_have_to_be_whole_and_not_too_many(monkeypatch):
    pdf = pikepdf.new()
    good, again, no_stream = pdf.make_stream(b"a"), pdf.make_stream(b"b"), pdf.make_indirect(Dictionary())
    numbers = [made.objgen[0] for made in (good, again, no_stream)]
    assert are_whole(pdf, numbers[:2])
    assert are_whole(pdf, [])
    assert not are_whole(pdf, numbers)
    assert not are_whole(pdf, [numbers[0], 99])
    monkeypatch.setattr(completeness, "MOST_STREAMS", 2)
    assert are_whole(pdf, numbers[:2])
    monkeypatch.setattr(completeness, "MOST_STREAMS", 1)
    assert not are_whole(pdf, numbers[:2])
