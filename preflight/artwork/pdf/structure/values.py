"""Plain values out of PDF objects that may be anything: nothing in here raises on a wrong type.

pikepdf hands out Python numbers, booleans and None beside its own objects, and raises on keys and names that are
no UTF-8; every look at a customer's dictionary goes through here.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

import pikepdf

LARGEST_NUMBER: Final = 1e9
"""Numbers beyond this are no lengths, tints or counts; they are taken as unreadable."""

Key = str | bytes


def name_bytes(value: Any) -> bytes | None:
    """Bytes of a name after ``#xx`` decoding, without its slash; None for anything that is no name."""
    if isinstance(value, bytes):
        return value.removeprefix(b"/")
    if isinstance(value, str):
        return value.removeprefix("/").encode("utf-8", "surrogateescape")
    return bytes(value)[1:] if isinstance(value, pikepdf.Name) else None


def spelt(name: bytes) -> str:
    """Name as people wrote it: UTF-8, else Latin-1 (ISO 32000-2, 7.3.5), invisible characters spelt out.

    Control and format characters (NUL, zero-width blanks, direction marks) are spelt as escapes.
    """
    try:
        text = name.decode("utf-8")
    except UnicodeDecodeError:
        text = name.decode("latin-1")
    return "".join(_visible(character) for character in text) or "(empty name)"


def _visible(character: str) -> str:
    if unicodedata.category(character) in ("Cc", "Cf", "Zl", "Zp", "Cs", "Co"):
        code = ord(character)
        return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"
    return character


def lookup(container: Any, key: Key) -> Any:
    """Value of a dictionary's or stream's key; None where there is neither. Key with or without its slash."""
    if not isinstance(container, (pikepdf.Dictionary, pikepdf.Stream)):
        return None
    raw = name_bytes(key) or b""
    try:
        return container.get("/" + raw.decode("utf-8"))
    except UnicodeDecodeError:
        wanted = "/" + raw.decode("utf-8", "surrogateescape")
        return next((value for name, value in entries(container) if name == wanted), None)
    except (pikepdf.PdfError, ValueError, TypeError):
        return None


def entries(container: Any) -> Iterator[tuple[str, Any]]:
    """Keys (with slash; bytes that are no UTF-8 as surrogates) and values of a dictionary or stream."""
    if isinstance(container, pikepdf.Stream):
        container = container.stream_dict
    if isinstance(container, pikepdf.Dictionary):
        yield from container.items()


def present(container: Any) -> Iterator[tuple[str, Any]]:
    """The entries but for those that are null or refer to nothing, which are as good as absent (ISO 32000-2, 7.3.7)."""
    return ((key, value) for key, value in entries(container) if value is not None)


def items(value: Any, most: int = 100_000) -> list[Any]:
    """Members of an array, at most so many; empty for anything else."""
    if not isinstance(value, pikepdf.Array):
        return []
    return [value[index] for index in range(min(len(value), most))]


def number(value: Any) -> float | None:
    """Finite number of sensible size; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        return None
    try:
        result = float(value)
    except (OverflowError, ValueError):
        return None
    return result if math.isfinite(result) and abs(result) <= LARGEST_NUMBER else None


def whole(value: Any) -> int | None:
    """Whole number (a real one without a fraction will do); None for anything else."""
    result = number(value)
    return int(result) if result is not None and result == int(result) else None


def numbers(value: Any, count: int | None = None) -> list[float] | None:
    """Array of numbers, of the given length where one is given; None for anything else."""
    found = [number(member) for member in items(value)]
    good = [member for member in found if member is not None]
    if not isinstance(value, pikepdf.Array) or len(good) != len(found) or (count is not None and len(good) != count):
        return None
    return good


def text(value: Any) -> str:
    """Text string: UTF-16 by its mark (either byte order), UTF-8 by its mark, else PDFDocEncoding; names too."""
    if isinstance(value, pikepdf.Name):
        return spelt(bytes(value)[1:])
    if not isinstance(value, pikepdf.String):
        return ""
    raw = bytes(value)
    if raw[:2] == b"\xff\xfe":  # not in the standard, but written
        decoded = raw[2:].decode("utf-16-le", "replace")
    elif raw[:2] == b"\xfe\xff":
        decoded = raw[2:].decode("utf-16-be", "replace")
    elif raw[:3] == b"\xef\xbb\xbf":
        decoded = raw[3:].decode("utf-8", "replace")
    else:
        decoded = raw.rstrip(b"\0").decode("pdfdoc", "replace")
    return "".join(_visible(character) for character in decoded)


def identity(value: Any) -> object:
    """Key that two looks at one object share: its number where it is indirect, else what it says."""
    if not isinstance(value, pikepdf.Object):
        return value
    if value.is_indirect:
        return value.objgen
    return value.unparse()
