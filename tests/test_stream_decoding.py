"""Decoded streams: the same bytes as qpdf's, and no gigabytes."""

import base64
import random
import tracemalloc
import zlib
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure.stream_decoding import (
    STEP,
    content_pieces,
    flate_pieces,
    read_content,
    read_head,
    read_stream,
)
from preflight.errors import OverLimit, Undecodable

PDF = pikepdf.new()
TEXT = b"0 0 10 10 re f q 1 0 0 1 5 5 cm Q\n" * 40


def packed_lzw(data: bytes, *, early: bool = True) -> bytes:
    """LZW by the book, written for this test alone."""
    bits, table, width, held = "", {bytes([v]): v for v in range(256)}, 9, b""
    next_code = 258
    bits += format(256, "09b")
    for byte in data:
        longer = held + bytes([byte])
        if longer in table:
            held = longer
            continue
        bits += format(table[held], f"0{width}b")
        table[longer] = next_code
        next_code += 1
        width = max(9, (next_code - (not early)).bit_length()) if next_code < 4095 else 12
        held = bytes([byte])
        if next_code == 4094:
            bits += format(256, f"0{width}b")
            table, next_code, width = {bytes([v]): v for v in range(256)}, 258, 9
    bits += format(table[held], f"0{width}b") + format(257, f"0{width}b")
    bits += "0" * (-len(bits) % 8)
    return int(bits, 2).to_bytes(len(bits) // 8, "big")


def run_lengths(data: bytes) -> bytes:
    out = b"".join(bytes([len(data[i : i + 100]) - 1]) + data[i : i + 100] for i in range(0, len(data), 100))
    return out + bytes([257 - 50]) + b"x" + b"\x80"


def stream(data: bytes, filters: object = None, parameters: object = None) -> pikepdf.Stream:
    made = PDF.make_stream(data)
    if filters is not None:
        made.Filter = filters
    if parameters is not None:
        made.DecodeParms = parameters
    return made


def with_up_predictor(data: bytes, columns: int) -> bytes:
    rows = [data[i : i + columns] for i in range(0, len(data), columns)]
    above = [bytes(columns), *rows]
    coded = (
        b"\2" + bytes((v - u) % 256 for v, u in zip(row, up, strict=False))
        for row, up in zip(rows, above, strict=False)
    )
    return zlib.compress(b"".join(coded))


PREDICTED = TEXT[: len(TEXT) // 34 * 34]
CASES = {
    "none": stream(TEXT),
    "flate": stream(zlib.compress(TEXT), Name.FlateDecode),
    "flate in an array": stream(zlib.compress(TEXT), Array([Name.FlateDecode])),
    "hex": stream(TEXT.hex().encode() + b">", Name.ASCIIHexDecode),
    "odd hex": stream(b"61 62 6>", Name.ASCIIHexDecode),
    "85": stream(base64.a85encode(TEXT + bytes(4)) + b"~>", Name.ASCII85Decode),
    "lzw": stream(packed_lzw(bytes(range(256)) * 60 + TEXT), Name.LZWDecode),
    "lzw of one letter": stream(packed_lzw(b"a" * 5000), Name.LZWDecode),
    "lzw of late change": stream(
        packed_lzw(bytes(range(256)) * 60 + TEXT, early=False), Name.LZWDecode, Dictionary(EarlyChange=0)
    ),
    "lzw of early change": stream(packed_lzw(TEXT), Array([Name.LZWDecode]), Array([Dictionary(EarlyChange=1)])),
    "runs": stream(run_lengths(TEXT), Name.RunLengthDecode),
    "85 over flate": stream(
        base64.a85encode(zlib.compress(TEXT)) + b"~>", Array([Name.ASCII85Decode, Name.FlateDecode])
    ),
    "flate twice": stream(zlib.compress(zlib.compress(TEXT)), Array([Name.FlateDecode, Name.FlateDecode])),
    "predictor": stream(
        with_up_predictor(PREDICTED, 34),
        Name.FlateDecode,
        Dictionary(Predictor=12, Columns=34, Colors=1, BitsPerComponent=8),
    ),
}


@pytest.mark.parametrize("packed", CASES.values(), ids=CASES.keys())
def test_bytes_are_those_of_qpdf(packed: pikepdf.Stream) -> None:
    remarks: list[str] = []
    assert read_stream(packed, 1_000_000, remarks) == (
        expected := packed.read_bytes(pikepdf.StreamDecodeLevel.specialized)
    )
    assert remarks == []
    assert len(expected) > 2


def test_predictor_gives_the_rows_back() -> None:
    assert read_stream(CASES["predictor"], 1_000_000) == PREDICTED


@pytest.mark.parametrize("filters", [Name.XXXDecode, Name.DCTDecode, Array([Name.FlateDecode] * 9), Array([5])])
def test_undecodable(filters: object) -> None:
    with pytest.raises(Undecodable):
        read_stream(stream(zlib.compress(TEXT), filters), 1000)


@pytest.mark.parametrize("nothing", [None, 5, Dictionary(), Name.Odd])
def test_no_stream(nothing: object) -> None:
    with pytest.raises(Undecodable):
        read_stream(nothing, 1000)


def test_a_bomb_is_given_up_at_the_limit() -> None:
    machine = zlib.compressobj()
    data = b"".join([*(machine.compress(bytes(1 << 20)) for _ in range(500)), machine.flush()])
    bombs = [
        stream(data, Name.FlateDecode),
        stream(zlib.compress(data), Array([Name.FlateDecode, Name.FlateDecode])),
        stream(packed_lzw(bytes(3_000_000)), Name.LZWDecode),
        stream(bytes([129, 0]) * 100_000, Name.RunLengthDecode),
        stream(b"z" * 1_000_000, Name.ASCII85Decode),
        stream(zlib.compress(bytes(5_000_000)), Name.FlateDecode, Dictionary(Predictor=12, Columns=100)),
    ]
    tracemalloc.start()
    for bomb in bombs:
        with pytest.raises(OverLimit):
            read_stream(bomb, 2_000_000)
    assert tracemalloc.get_traced_memory()[1] < 40_000_000
    tracemalloc.stop()


@pytest.mark.parametrize("damage", ["checksum", "cut", "flipped", "no header"])
def test_damaged_deflate_gives_what_can_be_had(damage: str) -> None:
    whole = zlib.compress(bytes(range(256)) * 2000 + TEXT, 1)
    data = {
        "checksum": whole[:-4] + b"1234",
        "cut": whole[: len(whole) // 2],
        "flipped": whole[: len(whole) // 2] + b"\xff" * 12 + whole[len(whole) // 2 :],
        "no header": whole[2:],
    }[damage]
    remarks: list[str] = []
    got = read_stream(stream(data, Name.FlateDecode), 10_000_000, remarks)
    if damage in ("checksum", "no header"):
        assert got.endswith(TEXT)
        assert len(remarks) == (damage == "checksum")
    else:
        assert got[:256] == bytes(range(256))
        assert remarks


def test_damaged_ascii85_gives_its_good_part() -> None:
    packed = base64.a85encode(TEXT[:40]) + b"\x7f" + base64.a85encode(TEXT[40:]) + b"~>"
    remarks: list[str] = []
    assert read_stream(stream(packed, Name.ASCII85Decode), 100_000, remarks) == TEXT[:40]
    assert len(remarks) == 1


@pytest.mark.parametrize(
    ("predictor", "head"),
    [(1, TEXT[:5]), (2, b""), (12, b"")],
    ids=["none", "TIFF", "PNG"],
)
def test_a_head_under_a_predictor_is_not_guessed(predictor: int, head: bytes) -> None:
    packed = stream(zlib.compress(TEXT), Name.FlateDecode, Dictionary(Predictor=predictor, Columns=34))
    assert read_head(packed, 5) == head


def test_head_is_read_without_the_rest() -> None:
    assert read_head(CASES["flate"], 5) == TEXT[:5]
    assert read_head(CASES["none"], 5) == TEXT[:5]
    assert read_head(stream(TEXT, Name.DCTDecode), 5) == b""
    assert read_head(None, 5) == b""


def test_files_of_pikepdf_read_back(tmp_path: Path) -> None:
    pdf = pikepdf.new()
    pdf.Root.Thing = pdf.make_stream(TEXT)
    pdf.save(tmp_path / "a.pdf", encryption=pikepdf.Encryption(owner="o", user=""))
    assert read_stream(pikepdf.open(tmp_path / "a.pdf").Root.Thing, 10_000) == TEXT


NOISE = random.Random(4).randbytes(200_000)
"""Cannot be packed: three steps of reading."""


@pytest.mark.parametrize("case", [name for name in CASES if name != "predictor"])
def test_as_many_bytes_as_are_wanted_and_no_more(case: str) -> None:
    whole = read_stream(CASES[case], 1_000_000)
    assert read_stream(CASES[case], len(whole)) == whole
    with pytest.raises(OverLimit):
        read_stream(CASES[case], len(whole) - 1)


@pytest.mark.parametrize(
    ("short", "data"),
    [
        (Name.Fl, zlib.compress(TEXT)),
        (Name.LZW, packed_lzw(TEXT)),
        (Name.A85, b"<~" + base64.a85encode(TEXT) + b"~>junk"),
        (Name.AHx, b"x\n".join([TEXT.hex().encode(), b">00"])),
        (Name.RL, b"".join(bytes([9]) + TEXT[i : i + 10] for i in range(0, len(TEXT), 10)) + b"\x80junk"),
        (Name.Crypt, TEXT),
    ],
    ids=str,
)
def test_filters_by_their_short_names(short: Name, data: bytes) -> None:
    assert read_stream(stream(data, short), 10_000) == TEXT


def test_runs_by_hand() -> None:
    packed = b"\x02abc\xfex\x00y\x81q\x7f" + bytes(range(128)) + b"\x80z"
    assert read_stream(stream(packed, Name.RunLengthDecode), 1000) == b"abcxxxy" + b"q" * 128 + bytes(range(128))


@pytest.mark.parametrize(("times", "reads"), [(8, True), (9, False)])
def test_a_stream_is_packed_eight_times_at_most(times: int, reads: bool) -> None:
    data = TEXT
    for _ in range(times):
        data = zlib.compress(data)
    packed = stream(data, Array([Name.FlateDecode] * times))
    if reads:
        assert read_stream(packed, 10_000) == TEXT
    else:
        with pytest.raises(Undecodable):
            read_stream(packed, 10_000)


def codes(*values: int) -> pikepdf.Stream:
    """LZW codes of nine bits."""
    bits = "".join(format(value, "09b") for value in values)
    bits += "0" * (-len(bits) % 8)
    return stream(int(bits, 2).to_bytes(len(bits) // 8, "big"), Name.LZWDecode)


@pytest.mark.parametrize(
    ("packed", "data", "damaged"),
    [
        (codes(256, 65, 66, 258, 257, 67), b"ABAB", False),
        (codes(256, 65, 258, 257), b"AAA", False),
        (codes(65, 66, 258, 257), b"ABAB", False),  # without a clear at the beginning
        (codes(256, 65, 66, 256, 67, 258, 257), b"ABCCC", False),
        (codes(256, 65, 66, 256, 258, 257), b"AB", True),
        (codes(256, 65, 259, 66, 257), b"A", True),
        (codes(258, 65, 257), b"", True),
    ],
)
def test_lzw_by_hand(packed: pikepdf.Stream, data: bytes, damaged: bool) -> None:
    remarks: list[str] = []
    assert read_stream(packed, 1000, remarks) == data
    assert len(remarks) == damaged


@pytest.mark.parametrize(
    ("cut", "remarked"),
    [(0, False), (1, False), (4, False), (5, True)],
    ids=["whole", "three bytes of its checksum", "no checksum", "the last byte of the data missing"],
)
def test_deflate_without_all_of_its_checksum_is_whole(cut: int, remarked: bool) -> None:
    packed = zlib.compress(TEXT)
    remarks: list[str] = []
    got = read_stream(stream(packed[: len(packed) - cut], Name.FlateDecode), 10_000, remarks)
    assert got == TEXT or (remarked and TEXT.startswith(got))
    assert len(remarks) == remarked


def test_nothing_at_all_is_no_damage() -> None:
    remarks: list[str] = []
    assert read_stream(stream(b"", Name.FlateDecode), 10, remarks) == b""
    assert remarks == []


@pytest.mark.parametrize("data", [TEXT, NOISE, bytes(3_000_000)], ids=["short", "several steps", "packed tight"])
@pytest.mark.parametrize("header", [b"\x78\x9c", b""], ids=["with a header", "without"])
def test_all_that_stands_before_the_damage_is_had(data: bytes, header: bytes) -> None:
    machine = zlib.compressobj(wbits=-15)
    packed = header + machine.compress(data) + machine.flush(zlib.Z_FULL_FLUSH) + b"\x07" + NOISE[:50]
    remarks: list[str] = []
    broken = stream(packed, Name.FlateDecode)
    assert read_stream(broken, len(data), remarks) == data
    assert len(remarks) == 1
    with pytest.raises(OverLimit):
        read_stream(broken, len(data) - 1)


def test_a_predictor_with_its_defaults_is_of_single_bytes() -> None:
    up = stream(zlib.compress(b"\2\5\2\1\2\4"), Name.FlateDecode, Dictionary(Predictor=12))
    assert read_stream(up, 100) == b"\5\6\x0a"


def test_a_predictor_of_three_colours() -> None:
    left = stream(
        zlib.compress(bytes([1, 2, 3, 4, 5, 6, 10, 20, 30, 1, 1, 1])), Name.FlateDecode,
        Dictionary(Predictor=2, Colors=3, Columns=2),
    )  # fmt: skip
    assert read_stream(left, 100) == bytes([1, 2, 3, 5, 7, 9, 10, 20, 30, 11, 21, 31])


def test_a_row_that_is_cut_short_keeps_what_is_there_of_it() -> None:
    up = stream(zlib.compress(b"\2abcd\2\1\1"), Name.FlateDecode, Dictionary(Predictor=12, Columns=4))
    assert read_stream(up, 100)[:6] == b"abcdbc"


def test_a_predictor_that_nobody_knows_is_said() -> None:
    remarks: list[str] = []
    odd = stream(zlib.compress(b"abc"), Name.FlateDecode, Dictionary(Predictor=7))
    assert read_stream(odd, 100, remarks) == b"abc"
    assert len(remarks) == 1


@pytest.mark.parametrize("more", [1, 500, 3_000, 10_000, 60_000])
@pytest.mark.parametrize("flat", [False, True])
def test_a_short_last_piece_is_not_lost(more, flat):
    """What the decompressor holds back when all packed bytes have been fed to it."""
    data = bytes(300_000 + more) if flat else random.Random(5).randbytes(300_000 + more)
    pieces = [*flate_pieces(stream(zlib.compress(data), Name.FlateDecode), 100_000)]
    assert b"".join(pieces) == data
    assert [len(piece) for piece in pieces] == [100_000] * 3 + [more]


@pytest.mark.parametrize("size", [10_000, 65_536, 100_000, 250_000])
def test_flate_comes_in_pieces_of_one_size(size: int) -> None:
    pieces = [*flate_pieces(stream(zlib.compress(NOISE), Name.FlateDecode), size)]
    assert b"".join(pieces) == NOISE
    assert {len(piece) for piece in pieces[:-1]} <= {size}
    assert len(pieces[-1]) < size


def test_pieces_of_what_packs_tight() -> None:
    packed = stream(zlib.compress(bytes(1_000_000)), Array([Name.FlateDecode]), Array([Dictionary(Predictor=1)]))
    assert [len(piece) for piece in flate_pieces(packed, 300_000)] == [300_000] * 3 + [100_000]


@pytest.mark.parametrize(
    "packed",
    [
        None,
        stream(TEXT),
        CASES["hex"],
        CASES["flate twice"],
        CASES["predictor"],
        stream(zlib.compress(TEXT), Name.FlateDecode, Dictionary(Predictor=2)),
    ],
)
def test_only_plain_flate_comes_in_pieces(packed: pikepdf.Stream | None) -> None:
    with pytest.raises(Undecodable):
        next(flate_pieces(packed, 100))


def test_pieces_before_the_damage_are_handed_out() -> None:
    data = zlib.compress(NOISE)
    coming = flate_pieces(stream(data[:150_000] + b"\xff" * 50 + data[150_050:], Name.FlateDecode), 10_000)
    assert [next(coming) for _ in range(6)] == [NOISE[at : at + 10_000] for at in range(0, 60_000, 10_000)]
    with pytest.raises(Undecodable):
        b"".join(coming)


@pytest.mark.parametrize(
    ("pieces", "length"), [([b"0 0 10"], 6), ([b"0 0 10", b"10 re"], 12), ([b"0 0 10", b"10 re", b"f"], 14)]
)
def test_content_of_several_pieces_up_to_a_limit(pieces: list[bytes], length: int) -> None:
    holder = Dictionary(Contents=Array([stream(piece) for piece in pieces]))
    assert len(read_content(holder, length)) == length
    with pytest.raises(OverLimit):
        read_content(holder, length - 1)


def test_a_piece_that_cannot_be_read_is_left_out_and_said() -> None:
    remarks: list[str] = []
    holder = Dictionary(Contents=Array([stream(b"q"), stream(b"x", Name.Odd), Name.Odd, stream(b"Q")]))
    assert read_content(holder, 100, remarks) == b"q\nQ"
    assert len(remarks) == 2


def test_pieces_of_pages_and_of_forms() -> None:
    form = stream(b"q")
    gone = pikepdf.Object.parse(b"<< /Contents null >>")
    assert content_pieces(form) == [form]
    assert content_pieces(Dictionary(Contents=form)) == [form]
    assert content_pieces(Dictionary(Contents=Array([form, form]))) == [form, form]
    assert content_pieces(Dictionary()) == []
    assert content_pieces(Dictionary(Contents=5)) == [5]
    assert content_pieces(gone) == [None]


def test_a_long_head_of_what_cannot_be_packed() -> None:
    packed = stream(zlib.compress(NOISE), Name.FlateDecode)
    assert read_head(packed, 70_000) == NOISE[:70_000]
    assert read_head(packed, STEP) == NOISE[:STEP]
    assert read_head(CASES["flate twice"], 5) == b""
    assert read_head(stream(b"no flate", Name.FlateDecode), 5) == b""
