"""Plain values out of whatever stands in a file: what is taken, and what is nothing."""

import math
from decimal import Decimal

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.pdf.structure.values import (
    LARGEST_NUMBER,
    entries,
    identity,
    items,
    lookup,
    name_bytes,
    number,
    numbers,
    present,
    spelt,
    text,
    whole,
)

PDF = pikepdf.new()
LATIN = pikepdf.Object.parse(b"<< /L#e4nge 1 /B 2 /Gr#f6#dfe 3 >>")


@pytest.mark.parametrize(
    ("value", "raw"),
    [
        (Name.Cyan, b"Cyan"),
        (Name("/Mill Brown"), b"Mill Brown"),
        ("/Cyan", b"Cyan"),
        ("Cyan", b"Cyan"),
        (b"/Cyan", b"Cyan"),
        (b"//Cyan", b"/Cyan"),
        ("Länge", "Länge".encode()),
        (b"L\xe4nge".decode("utf-8", "surrogateescape"), b"L\xe4nge"),
        (String("Cyan"), None),
        (7, None),
        (None, None),
    ],
)
def test_names_are_bytes_without_their_slash(value, raw):
    assert name_bytes(value) == raw


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"Gr\xc3\xbcn", "Grün"),
        (b"Gr\xfcn", "Grün"),
        (b"a\x1fb", "a\\x1fb"),
        (b"a\xffb\x80", "a\xffb\\x80"),
        ("a\u00ad".encode(), "a\\xad"),
        ("a\u0600".encode(), "a\\u0600"),
        ("a\u2028b".encode(), "a\\u2028b"),
        ("a\u2029b".encode(), "a\\u2029b"),
        ("\ue000".encode(), "\\ue000"),
        (b"a b", "a b"),
        (b"", "(empty name)"),
    ],
)
def test_what_is_invisible_in_a_name_is_spelt_out(raw, shown):
    assert spelt(raw) == shown


def test_a_key_is_found_with_or_without_its_slash_and_in_streams():
    found = Dictionary(A=5)
    assert [lookup(found, key) for key in ("A", "/A", b"A", b"/A", "B")] == [5, 5, 5, 5, None]
    assert lookup(PDF.make_stream(b"x", Width=9), "Width") == 9
    assert [lookup(holder, "A") for holder in (Array([1]), Name.A, None, 7, String("A"))] == [None] * 5


def test_a_key_that_is_no_utf_8_is_found_by_its_bytes():
    assert [lookup(LATIN, key) for key in (b"L\xe4nge", b"Gr\xf6\xdfe", b"\xe4", "B")] == [1, 3, None, 2]


def test_entries_of_dictionaries_and_streams():
    assert sorted(entries(Dictionary(A=1, B=2))) == [("/A", 1), ("/B", 2)]
    assert ("/Width", 9) in [*entries(PDF.make_stream(b"x", Width=9))]
    assert [*entries(Array([1]))] == []
    assert [*entries(None)] == []


def test_what_is_null_or_refers_to_nothing_is_absent():
    holder = pikepdf.Object.parse(b"<< /A 1 /B null >>")
    assert [*present(holder)] == [("/A", 1)]


def test_members_of_an_array_up_to_a_number():
    array = Array([10, 20, 30])
    assert [items(array), items(array, 2), items(array, 3), items(array, 0)] == [
        [10, 20, 30],
        [10, 20],
        [10, 20, 30],
        [],
    ]
    assert [items(other) for other in (None, Dictionary(), Name.A, 5)] == [[]] * 4


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (3, 3.0),
        (-2.5, -2.5),
        (Decimal("0.25"), 0.25),
        (0, 0.0),
        (LARGEST_NUMBER, 1e9),
        (-LARGEST_NUMBER, -1e9),
        (LARGEST_NUMBER + 1, None),
        (-LARGEST_NUMBER - 1, None),
        (10**400, None),
        (math.inf, None),
        (math.nan, None),
        (True, None),
        (Name.Two, None),
        ("2", None),
        (None, None),
    ],
)
def test_numbers_of_a_sensible_size(value, expected):
    assert number(value) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(3, 3), (3.0, 3), (Decimal("-4.0"), -4), (0, 0), (3.5, None), (True, None), (Name.Two, None), (None, None)],
)
def test_whole_numbers(value, expected):
    assert whole(value) == expected


@pytest.mark.parametrize(
    ("value", "count", "expected"),
    [
        (Array([1, 2.5]), None, [1, 2.5]),
        (Array([1, 2.5]), 2, [1, 2.5]),
        (Array([1, 2.5]), 3, None),
        (Array([1, 2.5]), 1, None),
        (Array([1, Name.Two]), None, None),
        (Array([]), None, []),
        (Array([]), 0, []),
        (Dictionary(), None, None),
        (None, 0, None),
    ],
)
def test_arrays_of_numbers(value, count, expected):
    assert numbers(value, count) == expected


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"\xfe\xff\x00A\x20\xac", "A€"),
        (b"\xff\xfeA\x00\xac\x20", "A€"),
        (b"\xef\xbb\xbfA\xe2\x82\xac", "A€"),
        (b"A\xa0", "A€"),  # PDFDocEncoding
        (b"A\0\0", "A"),
        (b"A\nB", "A\\x0aB"),
    ],
)
def test_text_is_read_by_its_mark(raw, shown):
    assert text(String(raw)) == shown


def test_names_are_text_and_other_things_are_none():
    assert text(Name("/Mill Brown")) == "Mill Brown"
    assert [text(value) for value in (5, None, Array([]), Dictionary())] == [""] * 4


def test_one_object_has_one_identity():
    one, other = (PDF.make_indirect(Dictionary(A=1)) for _ in range(2))
    holder = PDF.make_indirect(Dictionary(First=one, Again=one, Other=other, Direct=Dictionary(A=1)))
    assert identity(holder.First) == identity(holder.Again)
    assert identity(holder.First) != identity(holder.Other)
    assert identity(holder.Direct) == identity(Dictionary(A=1))
    assert identity(holder.Direct) != identity(Dictionary(A=2))
    assert identity(5) == 5
