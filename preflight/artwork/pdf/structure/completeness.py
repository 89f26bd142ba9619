"""Whether all of a repaired file is there: its end, what it refers to, the data whose length was wrong."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import pikepdf

from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import items, lookup, name_bytes
from preflight.errors import OverLimit, Undecodable

TAIL_BYTES: Final = 4_000_000
"""A cross-reference table of 200,000 objects, behind the last of them."""
MOST_OBJECTS: Final = 300_000
MOST_STREAMS: Final = 50
MOST_BYTES: Final = 32_000_000
ENDS: Final = {b"DCTDecode": b"\xff\xd9", b"DCT": b"\xff\xd9", b"JPXDecode": b"\xff\xd9"}
"""How the data of a filter end that is not unpacked here."""
NAMED: Final = re.compile(
    rb"/(?!Device(?:Gray|RGB|CMYK)\b|Pattern\b)[^\s/<>\[\](){}%]+\s+(?:[\d.]+\s+)?(?:gs|cs|CS|Do|Tf|sh|scn|SCN)\b"
)


def end_is_there(path: Path) -> bool:
    """Whether something stands behind the file's last object: a list of objects, or the place of one.

    A file that was cut off ends within an object or right behind one.
    """
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - TAIL_BYTES))
        tail = file.read().rstrip(b"\0\t\n\f\r ")
    last = max(tail.rfind(b"endobj"), tail.rfind(b" obj"))
    behind = tail[last:]
    if b"%%EOF" in behind or re.search(rb"startxref\s+\d", behind):
        return True
    return bool(re.search(rb"trailer\s*<<.*>>", behind, re.DOTALL))


def all_is_found(pdf: pikepdf.Pdf) -> bool:
    """Whether everything that objects of the file refer to is in it; False too where it is too much to look through.

    What is referred to and is not there stands among the objects as null.
    """
    return all(count < MOST_OBJECTS and value is not None for count, value in enumerate(pdf.objects))


def are_whole(pdf: pikepdf.Pdf, numbers: Iterable[int]) -> bool:
    """Whether each of these streams unpacks to its own end; False too where that cannot be told."""
    wanted = sorted(numbers)
    return len(wanted) <= MOST_STREAMS and all(_is_whole(_object(pdf, number)) for number in wanted)


def calls_for_resources(content: bytes) -> bool:
    """Whether content names fonts, colour spaces, states, pictures or forms, which only a list of resources gives."""
    return NAMED.search(content) is not None


def _object(pdf: pikepdf.Pdf, number: int) -> Any:
    try:
        return pdf.get_object(number, 0)
    except (pikepdf.PdfError, RuntimeError, ValueError, OverflowError):
        return None


def _is_whole(stream: Any) -> bool:
    if not isinstance(stream, pikepdf.Stream):
        return False
    entry = lookup(stream, "Filter")
    filters = items(entry) if isinstance(entry, pikepdf.Array) else [] if entry is None else [entry]
    end = ENDS.get(name_bytes(filters[-1]) or b"") if filters else None
    remarks: list[str] = []
    try:
        if not filters:  # text of a page or form goes on to where it was found to end; pixels may not
            return name_bytes(lookup(stream, "Subtype")) != b"Image"
        data = read_stream(stream, MOST_BYTES, remarks) if end is None else _unpacked_but_last(stream, filters, remarks)
    except (OverLimit, Undecodable, pikepdf.PdfError, RuntimeError):
        return False
    return not remarks and (end is None or data.rstrip(b"\0\r\n ").endswith(end))


def _unpacked_but_last(stream: pikepdf.Stream, filters: list[Any], remarks: list[str]) -> bytes:
    """The bytes as the last of the filters would get them."""
    pdf = pikepdf.new()
    outer = pdf.make_stream(stream.read_raw_bytes())
    outer.Filter = pikepdf.Array([pikepdf.Name(str(name)) for name in filters[:-1]])
    return read_stream(outer, MOST_BYTES, remarks)
