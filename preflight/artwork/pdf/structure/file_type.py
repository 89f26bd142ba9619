"""What a file is that was sent as a PDF and is none, by its first bytes."""

from __future__ import annotations

from typing import Final

SIGNATURES: Final = (
    (b"%!PS", "a PostScript or EPS file"),
    (b"\xc5\xd0\xd3\xc6", "an EPS file with a preview"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"II*\0", "a TIFF picture"),
    (b"MM\0*", "a TIFF picture"),
    (b"GIF8", "a GIF picture"),
    (b"8BPS", "a layered picture file"),
    (b"\x06\x06\xed\xf5", "a page-layout document"),
    (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"Rar!", "a compressed archive"),
    (b"7z\xbc\xaf", "a compressed archive"),
    (b"\xd0\xcf\x11\xe0", "an old office document"),
    (b"{\\rtf", "a word-processor document"),
)
MARKUP: Final = ((b"<svg", "an SVG drawing"), (b"<html", "a web page"), (b"<!doctype html", "a web page"))


def looks_like(head: bytes) -> str:
    """Words for the first kilobyte of a file, such as ``a web page`` or ``a damaged PDF``."""
    if b"%PDF-" in head:
        return "a damaged PDF"
    if not head.strip(b"\0"):
        return "nothing but zeros, as after a copy that did not finish"
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    for signature, words in SIGNATURES:
        if start.startswith(signature):
            return words
    lower = start.lower()
    for mark, words in MARKUP:
        if mark in lower:
            return words
    if lower.startswith(b"<?xml"):
        return "an XML file"
    if lower.startswith((b"received:", b"return-path:", b"mime-version:")):
        return "an e-mail"
    return "a text file" if _is_text(head) else "an unknown kind of file"


def _is_text(head: bytes) -> bool:
    text = head.decode("utf-8", "replace")
    odd = sum(
        1 for character in text if not character.isprintable() and character not in "\t\r\n\f" or character == "�"
    )
    return odd <= max(1, len(text) // 50)
