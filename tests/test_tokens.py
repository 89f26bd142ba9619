"""Content streams to tokens: what is legal, each numbered rule for what is not, and the seams between chunks."""

from __future__ import annotations

import pytest

from preflight.artwork.pdf.content import tokens as scanning
from preflight.artwork.pdf.content.tokens import COMPOSITE, NAME, NUMBER, operator_code, scan

Operation = tuple[list[object], bytes]


def operations(data: bytes) -> list[Operation]:
    """Operators with their operands: numbers as floats, all else as the bytes of the token."""
    found = []
    for chunk in scan(data):
        for operator, first, token in zip(
            chunk.operator_code.tolist(), chunk.operands_from.tolist(), chunk.operator_token.tolist(), strict=True
        ):
            word = data[chunk.start[token] : chunk.end[token]]
            assert operator == operator_code(word)
            operands = [
                chunk.values[at].item() if chunk.kind[at] == NUMBER else data[chunk.start[at] : chunk.end[at]]
                for at in range(first, token)
            ]
            found.append((operands, word))
    return found


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"1 0 0 rg", [([1.0, 0.0, 0.0], b"rg")]),
        (b"q Q", [([], b"q"), ([], b"Q")]),
        (b"-.5 +7 4. .25 1e w", [([-0.5, 7.0, 4.0, 0.25, 1.0], b"w")]),
        (b"0.000001 123456789.125 -99999999999999999999 w", [([1e-6, 123456789.125, -1e20], b"w")]),
        (b"/Name/Other gs", [([b"/Name", b"/Other"], b"gs")]),
        (b"/A#20B cs", [([b"/A#20B"], b"cs")]),
        (b"(a(b)\\)c)Tj", [([b"(a(b)\\)c)"], b"Tj")]),
        (b"<48 65>Tj", [([b"<48 65>"], b"Tj")]),
        (b"[(A)-20<41>]TJ", [([b"[(A)-20<41>]"], b"TJ")]),
        (b"/P<</MCID 0/X[1<</Y(>>)>>]>>BDC", [([b"/P", b"<</MCID 0/X[1<</Y(>>)>>]>>"], b"BDC")]),
        (b"1 0 0 % red\nrg", [([1.0, 0.0, 0.0], b"rg")]),
        (b"(a % no comment)Tj", [([b"(a % no comment)"], b"Tj")]),
        (b"true false null X", [([b"true", b"false", b"null"], b"X")]),
        (b"f*B*\r\nb*", [([], b"f*B*"), ([], b"b*")]),
        (b"", []),
    ],
)
def test_what_is_legal(data, expected):
    assert operations(data) == expected


def test_inline_images_are_one_token_though_their_data_hold_ei():
    data = b"q BI /W 2 /H 2 /BPC 8 /CS /G ID ab EI\x80\xff cd EI Q\nq"
    assert operations(data) == [
        ([], b"q"),
        ([b"BI /W 2 /H 2 /BPC 8 /CS /G ID ab EI\x80\xff cd "], b"EI"),
        ([], b"Q"),
        ([], b"q"),
    ]


@pytest.mark.parametrize("stray", [b")", b">", b"]", b"}"])
def test_rule_1_a_stray_closing_delimiter_is_white_space(stray):
    assert operations(b"1 0 0" + stray + b"rg" + stray + b" q") == [([1.0, 0.0, 0.0], b"rg"), ([], b"q")]


@pytest.mark.parametrize("opening", [b"(never ends", b"[1 2 (a", b"<</A 1", b"<4142"])
def test_rule_2_what_never_ends_runs_to_the_end_of_the_stream(opening):
    assert operations(b"q 1 w " + opening + b" Tj Q") == [([], b"q"), ([1.0], b"w")]
    (chunk,) = scan(b"q " + opening + b" Tj")
    assert COMPOSITE not in chunk.kind[: chunk.operator_token[-1]]


@pytest.mark.parametrize(
    ("written", "value"),
    [(b"1.2.3", 1.2), (b"--5", -5), (b"+-3", -3), (b"5-3", 5), (b"1.5e3", 1.5), (b"-", 0), (b".", 0), (b"--", 0),
     (b"00012", 12), (b"1" * 40, float("1" * 40)), (b"0." + b"0" * 30 + b"1", 1e-31)],
)  # fmt: skip
def test_rule_3_a_number_is_read_up_to_its_first_illegal_character(written, value):
    assert operations(b"7 " + written + b" l") == [([7.0, pytest.approx(value)], b"l")]


def test_rule_4_operands_that_no_operator_follows_are_dropped():
    assert operations(b"1 w 2 3 /Name (text)") == [([1.0], b"w")]
    assert operations(b"1 2 3") == []


def test_names_and_numbers_are_told_apart():
    (chunk,) = scan(b"/N 1 (s) w")
    assert chunk.kind.tolist()[:3] == [NAME, NUMBER, COMPOSITE]
    assert chunk.values.tolist()[:3] == [0, 1, 0]


def test_chunks_end_behind_operators_whatever_lies_on_the_seam(monkeypatch):
    data = b"".join(
        b"%d.5 -%d m (a(%d)) Tj /N%d gs %% note\n[1 (]) 2] TJ BI /W 1 ID x EI Q\n" % ((i,) * 4) for i in range(99)
    )
    whole = operations(data)
    for size in (64, 99, 333, 1000):
        monkeypatch.setattr(scanning, "CHUNK_BYTES", size)
        assert operations(data) == whole
    assert len(whole) == 99 * 6


def test_a_stretch_of_operands_longer_than_a_chunk_is_dropped_and_reading_goes_on(monkeypatch):
    monkeypatch.setattr(scanning, "CHUNK_BYTES", 50)
    assert operations(b"q " + b"1 " * 500 + b"w Q")[-1] == ([], b"Q")


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"(a)(b)X", [([b"(a)", b"(b)"], b"X")]),
        (b"<41><42>X", [([b"<41>", b"<42>"], b"X")]),
        (b"1(a)2 X", [([1.0, b"(a)", 2.0], b"X")]),
        (b"/A(a)/B<42>[1]X", [([b"/A", b"(a)", b"/B", b"<42>", b"[1]"], b"X")]),
        (b"(a\\\\)X", [([b"(a\\\\)"], b"X")]),
        (b"(a\\)", []),
        (b"[(])(a]b)]X", [([b"[(])(a]b)]"], b"X")]),
        (b"[<5D>]X", [([b"[<5D>]"], b"X")]),
        (b"[1 % ]\n2]X", [([b"[1 % ]\n2]"], b"X")]),
        (b"[1 % ]\r2]X", [([b"[1 % ]\r2]"], b"X")]),
        (b"[[1]2]X", [([b"[[1]2]"], b"X")]),
        (b"<</A<</B 1>>/C 2>>X", [([b"<</A<</B 1>>/C 2>>"], b"X")]),
        (b"q%note\rQ", [([], b"q"), ([], b"Q")]),
        (b"q%one\n%two\r\nQ", [([], b"q"), ([], b"Q")]),
        (b"q%to the end", [([], b"q")]),
        (b"1%note\n2 X", [([1.0, 2.0], b"X")]),
        (b"truex falsey X", [([], b"truex"), ([], b"falsey"), ([], b"X")]),
        (b"BIx BI", [([], b"BIx"), ([], b"BI")]),
        (b"/BI 1 w", [([b"/BI", 1.0], b"w")]),
        (b"xBI /W 1 w", [([], b"xBI"), ([b"/W", 1.0], b"w")]),
        (b"1 0\0 0\f\t rg", [([1.0, 0.0, 0.0], b"rg")]),
        (b"0.1234567890123456 1234567890.123456 w", [([0.1234567890123456, 1234567890.123456], b"w")]),
        (b"-12.5+3 w", [([-12.5], b"w")]),
    ],
)
def test_neighbours_without_space_and_other_company(data, expected):
    assert operations(data) == [([pytest.approx(o) if isinstance(o, float) else o for o in ops], word)
                                for ops, word in expected]  # fmt: skip


@pytest.mark.parametrize(
    ("data", "picture", "rest"),
    [
        (b"BI /W 1 ID x\nEI Q", b"BI /W 1 ID x\n", [([], b"Q")]),
        (b"BI /W 1 ID x EI", b"BI /W 1 ID x ", []),
        (b"BI /W 1 ID xEI EI\nQ", b"BI /W 1 ID xEI ", [([], b"Q")]),
        (b"BI /W 1 ID x EIy EI Q", b"BI /W 1 ID x EIy ", [([], b"Q")]),
        (b"BI/W 1 ID x EI \x01\x02 EI Q", b"BI/W 1 ID x EI \x01\x02 ", [([], b"Q")]),
        (b"BI /W 1 ID x EI " + b"q " * 11 + b"\x80 EI Q", b"BI /W 1 ID x EI " + b"q " * 11 + b"\x80 ", [([], b"Q")]),
        (b"BI /W 1 ID (x EI Q", b"BI /W 1 ID (x ", [([], b"Q")]),
    ],
)
def test_where_an_inline_image_ends(data, picture, rest):
    """What follows has to read like content for as long as one can tell."""
    assert operations(data) == [([picture], b"EI"), *rest]


def test_an_inline_image_that_never_ends_takes_all_that_follows():
    assert operations(b"q BI /W 1 ID x y z Q")[0] == ([], b"q")
    assert len(operations(b"q BI /W 1 ID x y z Q")) <= 2


@pytest.mark.parametrize("word", [b"q", b"re", b"BDC", b"nonsense"])
def test_operators_that_differ_have_codes_that_do(word):
    (chunk,) = scan(b"1 2 " + word + b" ")
    assert chunk.operator_code.tolist() == [operator_code(word)]
    assert (chunk.operands_from.tolist(), chunk.operator_token.tolist()) == ([0], [2])
    others = {operator_code(other) for other in (word[:-1], word + b"z", word[::-1] + b"y", b"Q", b"er", b"")}
    assert operator_code(word) not in others


def test_long_streams_come_in_chunks_with_places_in_the_whole(monkeypatch):
    monkeypatch.setattr(scanning, "CHUNK_BYTES", 40)
    data = b"".join(b"%d %d m " % (number, 7 * number) for number in range(100))
    chunks = [*scan(data)]
    assert len(chunks) > 5
    starts = [int(at) for chunk in chunks for at in chunk.start[chunk.operator_token]]
    assert starts == [at for at in range(len(data)) if data[at : at + 1] == b"m"]
    assert [*scanning.scan_ahead(data)][-1].end[-1] == chunks[-1].end[-1]


@pytest.mark.parametrize("at", [scanning._SEARCH_BYTES - 1, scanning._SEARCH_BYTES, 3 * scanning._SEARCH_BYTES - 1])
@pytest.mark.parametrize(("words", "operands"), [(b"BI /W 1 ID (x EI", b"BI /W 1 ID (x "), (b"(a b)Tj", b"(a b)")])
def test_what_opens_on_a_seam_of_the_search_is_found(at, words, operands):
    data = b" " * at + words + b" Q"
    assert operations(data) == [([operands], words[-2:]), ([], b"Q")]


def test_very_many_numbers_are_each_their_own():
    many = 70_000
    (chunk,) = scan(b" ".join(b"%d.25" % number for number in range(many)) + b" w")
    assert chunk.values[:many].tolist() == [number + 0.25 for number in range(many)]
    assert chunk.values[many] == 0
