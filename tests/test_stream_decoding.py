"""Decoded streams: the same bytes as qpdf's, and no gigabytes."""

import base64
import tracemalloc
import zlib
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure.stream_decoding import read_head, read_stream
from preflight.errors import OverLimit, Undecodable

PDF = pikepdf.new()
TEXT = b"0 0 10 10 re f q 1 0 0 1 5 5 cm Q\n" * 40


def packed_lzw(data: bytes) -> bytes:
    """LZW by the book, early change, written for this test alone."""
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
        width = max(9, (next_code).bit_length()) if next_code < 4095 else 12
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
