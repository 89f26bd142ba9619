"""Decoded streams, bounded: a stream that inflates to gigabytes is given up at the limit."""

from __future__ import annotations

import base64
import binascii
import re
import zlib
from collections.abc import Iterator
from typing import Any, Final

import pikepdf
from isal import isal_zlib

from preflight.artwork.pdf.structure.values import entries, items, lookup, name_bytes, whole
from preflight.errors import OverLimit, Undecodable

STEP: Final = 1 << 16
BROKEN: Final[type[Exception]] = isal_zlib.error  # type: ignore[assignment]  # its stub has an instance
FILTERS: Final = {
    b"FlateDecode": b"Fl",
    b"Fl": b"Fl",
    b"LZWDecode": b"LZW",
    b"LZW": b"LZW",
    b"ASCII85Decode": b"A85",
    b"A85": b"A85",
    b"ASCIIHexDecode": b"AHx",
    b"AHx": b"AHx",
    b"RunLengthDecode": b"RL",
    b"RL": b"RL",
    b"Crypt": b"Crypt",
}
MOST_FILTERS: Final = 8
DAMAGED: Final = "compressed data is damaged, and everything after the damage is lost"


def read_stream(stream: Any, limit_bytes: int, remarks: list[str] | None = None) -> bytes:
    """Bytes of a stream, decoded; of a damaged one what could be unpacked, with a word in ``remarks``.

    Raises:
        OverLimit: more than ``limit_bytes`` come out.
        Undecodable: no stream, or a filter that gives no plain bytes.
    """
    if not isinstance(stream, pikepdf.Stream):
        raise Undecodable("there is no stream")
    remarks = [] if remarks is None else remarks
    filters = _filters(stream)
    try:
        data = stream.read_raw_bytes()
    except (pikepdf.PdfError, RuntimeError) as fault:
        raise Undecodable("its bytes cannot be read") from fault
    for kind, parameters in filters:
        if kind == b"Fl":
            data = _inflate(data, limit_bytes, remarks)
        elif kind == b"LZW":
            data = _unlzw(data, limit_bytes, whole(lookup(parameters, "EarlyChange")) != 0, remarks)
        elif kind == b"A85":
            data = _ascii85(data, limit_bytes, remarks)
        elif kind == b"AHx":
            data = _hex(data)
        elif kind == b"RL":
            data = _run_lengths(data, limit_bytes)
        if kind in (b"Fl", b"LZW"):
            data = _unpredict(data, parameters, remarks)
    if len(data) > limit_bytes:
        raise OverLimit(limit_bytes)
    return data


def flate_pieces(stream: Any, piece_bytes: int) -> Iterator[bytes]:
    """Bytes of a stream that is packed with nothing but Flate, in pieces of this size, the last one smaller.

    Raises:
        Undecodable: packed otherwise, or damaged. What came before the damage has been handed out by then.
    """
    if not is_plain_flate(stream):
        raise Undecodable("it is compressed in another way")
    try:
        packed, machine, at = memoryview(stream.read_raw_bytes()), isal_zlib.decompressobj(), 0
        pending, parts, size = packed[:0], list[bytes](), 0
        while not machine.eof:
            if not len(pending):
                pending, at = packed[at : at + STEP], at + STEP
            parts.append(machine.decompress(pending, piece_bytes - size))
            pending = memoryview(machine.unconsumed_tail)
            size += len(parts[-1])
            if not (parts[-1] or len(pending) or at < len(packed)):  # bytes it held back come without input, too
                break
            if size == piece_bytes:
                yield b"".join(parts)
                parts, size = [], 0
        yield b"".join(parts)
    except (BROKEN, pikepdf.PdfError, RuntimeError) as fault:
        raise Undecodable("compressed data is damaged") from fault


def is_plain_flate(stream: Any) -> bool:
    """Whether a stream is packed with nothing but Flate."""
    filters = _filters(stream) if isinstance(stream, pikepdf.Stream) else []
    return [kind for kind, _ in filters] == [b"Fl"] and (whole(lookup(filters[0][1], "Predictor")) or 1) <= 1


def read_content(holder: Any, limit_bytes: int, remarks: list[str] | None = None) -> bytes:
    """Content of a page (its pieces joined by line ends, ISO 32000-2, 7.8.2) or of a form.

    Pieces that are missing or cannot be unpacked are left out, with a word in ``remarks``.

    Raises:
        OverLimit: all pieces together come to more than ``limit_bytes``.
    """
    remarks = [] if remarks is None else remarks
    holder = holder.obj if isinstance(holder, pikepdf.Page) else holder
    pieces, total = [], 0
    for piece in content_pieces(holder):
        try:
            pieces.append(read_stream(piece, limit_bytes - total, remarks))
        except OverLimit:
            raise OverLimit(limit_bytes) from None
        except Undecodable as fault:
            remarks.append(f"a piece of the content is left out: {fault}")
            continue
        total += len(pieces[-1]) + 1
        if total > limit_bytes + 1:
            raise OverLimit(limit_bytes)
    return b"\n".join(pieces)


def content_pieces(holder: Any) -> list[Any]:
    """Pieces of a page's or form's content as they stand; None for one that the file refers to and does not have."""
    if isinstance(holder, pikepdf.Stream):
        return [holder]
    contents = lookup(holder, "Contents")
    if isinstance(contents, pikepdf.Array):
        return items(contents)
    if contents is None and not any(key == "/Contents" for key, _ in entries(holder)):
        return []
    return [contents]


def read_head(stream: Any, count: int) -> bytes:
    """First bytes of a decoded stream, as many as come out; empty where it cannot be read."""
    try:
        filters = _filters(stream) if isinstance(stream, pikepdf.Stream) else [(b"none", None)]
        if not filters:
            return bytes(stream.read_raw_bytes()[:count])
        if [kind for kind, _ in filters] == [b"Fl"] and (whole(lookup(filters[0][1], "Predictor")) or 1) < 2:
            return zlib.decompressobj().decompress(stream.read_raw_bytes()[: STEP + count], count)
    except (pikepdf.PdfError, RuntimeError, zlib.error, Undecodable):
        pass
    return b""


def _filters(stream: pikepdf.Stream) -> list[tuple[bytes, Any]]:
    entry, parameters = lookup(stream, "Filter"), lookup(stream, "DecodeParms")
    names = items(entry, MOST_FILTERS + 1) if isinstance(entry, pikepdf.Array) else [] if entry is None else [entry]
    if len(names) > MOST_FILTERS:
        raise Undecodable(f"it is compressed more than {MOST_FILTERS} times over")
    beside = items(parameters) if isinstance(parameters, pikepdf.Array) else [parameters]
    beside += [None] * (len(names) - len(beside))
    found = [(FILTERS.get(name_bytes(name) or b""), beside[index]) for index, name in enumerate(names)]
    known = [(kind, parameter) for kind, parameter in found if kind is not None]
    if len(known) < len(found):
        raise Undecodable("its filter gives no plain bytes")
    return known


def _inflate(data: bytes, limit_bytes: int, remarks: list[str]) -> bytes:
    """Deflated data; a wrong header is passed over, a wrong checksum is said: the data are there all the same."""
    start = next((start for start in (2, 0) if _starts(data[start : start + STEP])), 2)
    data = data[start:]
    machine = isal_zlib.decompressobj(-15)
    try:
        out = machine.decompress(data, limit_bytes + 1)
    except BROKEN:
        out, machine = _inflate_to_damage(data, limit_bytes)
        if not machine.eof:
            remarks.append(DAMAGED)
            return out
    if len(out) > limit_bytes:
        raise OverLimit(limit_bytes)
    checksum = machine.unused_data[:4]
    if data and not machine.eof:
        remarks.append("compressed data ends early")
    elif start and len(checksum) == 4 and int.from_bytes(checksum) != zlib.adler32(out):
        remarks.append("compressed data does not match its checksum and may be damaged")
    return out


def _inflate_to_damage(data: bytes, limit_bytes: int) -> tuple[bytes, Any]:
    """Everything up to the damage, and the machine that stopped there."""
    out, machine, at, size, pending = bytearray(), zlib.decompressobj(-15), 0, STEP, b""
    while (pending or at < len(data)) and not machine.eof:
        if not pending:
            pending, at = data[at : at + size], min(at + size, len(data))
        before = machine.copy()
        try:
            out += machine.decompress(pending, 16 * STEP)
            pending = machine.unconsumed_tail
        except zlib.error:
            if size == 1:
                break
            # once more from before this step, byte by byte, to have everything up to the damage
            machine, at, size, pending = before, at - len(pending), 1, b""
        if len(out) > limit_bytes:
            raise OverLimit(limit_bytes)
    return bytes(out), machine


def _starts(data: bytes) -> bool:
    try:
        machine = zlib.decompressobj(-15)
        return bool(machine.decompress(data, 16)) or machine.eof
    except zlib.error:
        return False


def _unlzw(data: bytes, limit_bytes: int, early: bool, remarks: list[str]) -> bytes:
    """LZW as of ISO 32000-2, 7.4.4; stops at the first code that makes no sense."""
    out: list[bytes] = []
    table: list[bytes] = [bytes([value]) for value in range(256)] + [b"", b""]
    total, width, held, bits, last = 0, 9, 0, 0, b""
    for byte in data:
        held, bits = (held << 8 | byte) & 0xFFFFFF, bits + 8
        if bits < width:
            continue
        bits -= width
        code = held >> bits & ((1 << width) - 1)
        if code == 257:
            return b"".join(out)
        if code == 256:
            del table[258:]
            width, last = 9, b""
            continue
        if code < len(table):
            entry = table[code]
        elif code == len(table) and last:
            entry = last + last[:1]
        else:
            remarks.append(DAMAGED)
            break
        out.append(entry)
        total += len(entry)
        if total > limit_bytes:
            raise OverLimit(limit_bytes)
        if last and len(table) < 4096:
            table.append(last + entry[:1])
        last = entry
        width = min(12, max(9, (len(table) + early).bit_length()))
    return b"".join(out)


def _ascii85(data: bytes, limit_bytes: int, remarks: list[str]) -> bytes:
    text = re.sub(rb"[\0-\x20]", b"", data).removeprefix(b"<~").partition(b"~")[0]
    if len(text) + 3 * text.count(b"z") > limit_bytes * 5 // 4 + 8:
        raise OverLimit(limit_bytes)
    try:
        return base64.a85decode(text)
    except ValueError:
        remarks.append("data encoded as text has characters that do not belong there")
        good = re.match(rb"(?:z|[!-u]{5})*", text)
        try:
            return base64.a85decode(good.group() if good else b"")
        except ValueError:
            return b""


def _hex(data: bytes) -> bytes:
    digits = re.sub(rb"[^0-9A-Fa-f]", b"", data.partition(b">")[0])
    return binascii.unhexlify(digits + b"0" * (len(digits) % 2))


def _run_lengths(data: bytes, limit_bytes: int) -> bytes:
    out, at = bytearray(), 0
    while at < len(data) and data[at] != 128:
        length = data[at]
        if length < 128:
            out += data[at + 1 : at + 2 + length]
            at += length + 2
        else:
            out += data[at + 1 : at + 2] * (257 - length)
            at += 2
        if len(out) > limit_bytes:
            raise OverLimit(limit_bytes)
    return bytes(out)


def _unpredict(data: bytes, parameters: Any, remarks: list[str]) -> bytes:
    """Predictors of ISO 32000-2, 7.4.4.4: left to qpdf, over data whose size is known by now."""
    predictor = whole(lookup(parameters, "Predictor")) or 1
    if predictor < 2 or not data:
        return data
    row = max(1, whole(lookup(parameters, "Columns")) or 1) * max(1, whole(lookup(parameters, "Colors")) or 1)
    row = (row * max(1, whole(lookup(parameters, "BitsPerComponent")) or 8) + 7) // 8 + (predictor >= 10)
    data += bytes(-len(data) % row) if row <= len(data) else b""
    pdf = pikepdf.new()
    packed = pdf.make_stream(zlib.compress(data, 1))
    packed.Filter = pikepdf.Name.FlateDecode
    kept = {key: lookup(parameters, key) for key in ("Predictor", "Columns", "Colors", "BitsPerComponent")}
    packed.DecodeParms = pikepdf.Dictionary({f"/{key}": value for key, value in kept.items() if value is not None})
    try:
        return bytes(packed.read_bytes())
    except (pikepdf.PdfError, RuntimeError):
        remarks.append("compressed data has a predictor that cannot be undone")
        return data
