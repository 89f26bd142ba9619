"""The head of a JPEG, segment by segment: how many colours, and how they are meant (ISO 32000-2, table 13)."""

from __future__ import annotations

import pytest

from preflight.artwork.pdf.images.jpeg_header import colours_of, marked


def segment(kind: int, body: bytes) -> bytes:
    return bytes([0xFF, kind]) + (len(body) + 2).to_bytes(2, "big") + body


def frame(names: bytes, kind: int = 0xC0) -> bytes:
    """Eight bits, 7 rows of 5 samples, components of these names."""
    return segment(kind, b"\x08\x00\x07\x00\x05" + bytes([len(names)]) + b"".join(bytes([n, 0x11, 0]) for n in names))


START, SCAN = b"\xff\xd8", b"\xff\xda\x00\x04\x01\x02 samples \xff\xd9"
JFIF = segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\0\0")
TABLE = segment(0xDB, bytes(65))


def adobe(how: int) -> bytes:
    return segment(0xEE, b"Adobe\0\x64\0\0\0\0" + bytes([how]))


@pytest.mark.parametrize("kind", range(0xC0, 0xD0))
def test_frames_of_all_sorts_and_what_is_none(kind):
    """C4 is a Huffman table, C8 is reserved, CC is an arithmetic coding table."""
    expected = None if kind in (0xC4, 0xC8, 0xCC) else 3
    assert colours_of(START + TABLE + frame(b"\1\2\3", kind) + SCAN) == expected


@pytest.mark.parametrize(
    ("data", "count"),
    [
        (START + frame(b"\1") + SCAN, 1),
        (START + JFIF + TABLE + frame(b"CMYK") + SCAN, 4),
        (START + b"\xff\xff\xff" + frame(b"\1\2") + SCAN, 2),
        (START + SCAN + frame(b"\1\2\3"), None),
        (START + TABLE, None),
        (START, None),
        (b"", None),
        (START + b"junk" + frame(b"\1\2\3"), None),
        (START + frame(b"\1\2\3")[:10], 3),
        (START + frame(b"\1\2\3")[:9], None),
    ],
    ids=["grey", "CMYK", "fill bytes", "behind the scan", "no frame", "nothing", "empty", "junk", "cut", "cut short"],
)
def test_the_number_of_colours_is_that_of_the_frame(data, count):
    assert colours_of(data) == count


YCC, RGB, CMYK = frame(b"\1\2\3"), frame(b"RGB"), frame(b"CMYK")
MARKS = [
    # what stands before the frame, the frame, what the PDF tells, the mark that is put in (None for none)
    (b"", YCC, None, None),
    (b"", YCC, 1, None),
    (b"", YCC, 0, 0),
    (b"", RGB, None, 1),
    (b"", RGB, 1, 1),
    (b"", RGB, 0, None),
    (JFIF, RGB, None, None),
    (JFIF, RGB, 0, 0),
    (JFIF, YCC, 0, 0),
    (JFIF, YCC, 5, None),
    (b"", CMYK, None, None),
    (b"", CMYK, 0, None),
    (b"", CMYK, 1, 2),
    (JFIF, CMYK, 1, 2),
    (JFIF, CMYK, None, None),
    (adobe(0), YCC, 1, None),
    (adobe(2), CMYK, 0, None),
    (JFIF + adobe(0), RGB, 1, None),
    (b"", frame(b"\1"), 0, None),
    (b"", frame(b"\1\2"), 1, None),
    (segment(0xEE, b"Adam"), YCC, 0, 0),
    (segment(0xE0, b"JFXX"), RGB, None, 1),
]


@pytest.mark.parametrize(("before", "own", "told", "how"), MARKS)
def test_a_mark_is_put_in_where_readers_would_guess_otherwise(before, own, told, how):
    data = START + TABLE + before + own + SCAN
    found = marked(data, told)
    if how is None:
        assert found == data
    else:
        assert found == START + adobe(how) + TABLE + before.replace(JFIF, b"") + own + SCAN


def test_nothing_is_put_in_where_there_is_no_frame():
    for data in (b"", START, START + SCAN + YCC, START + segment(0xC0, b"\x08\0\7\0\5")):
        assert marked(data, 0) == data
