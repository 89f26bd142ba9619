"""A digest of all that a page prints: its streams and what they lead to, as they are in the file.

Equal ones print the same in the page's own space; others say nothing. Left out is what nothing is printed by: metadata,
notes of programs, what leads back up, Rotate, and boxes but the media box.
"""

from __future__ import annotations

import hashlib
from typing import Any, Final

import pikepdf

from preflight.artwork.pdf.structure.stream_decoding import flate_pieces, is_plain_flate
from preflight.artwork.pdf.structure.values import identity, lookup
from preflight.errors import PartOfFile

OF_PAGE: Final = frozenset({
    "/Metadata", "/PieceInfo", "/LastModified", "/Thumb", "/Parent", "/StructParents", "/Tabs", "/ID", "/B", "/AA",
    "/Rotate", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox",
})  # fmt: skip
OF_ANNOTATION: Final = frozenset({
    "/P", "/Parent", "/A", "/AA", "/Dest", "/Popup", "/M", "/NM", "/CreationDate", "/StructParent", "/Kids",
})  # fmt: skip
OF_STREAM: Final = frozenset({
    "/Metadata", "/PieceInfo", "/LastModified", "/StructParent", "/StructParents", "/Length",
})  # fmt: skip
"""Keys that are left out; in any other dictionary none is, since resources may have any name."""
PACKING: Final = frozenset({"/Filter", "/DecodeParms"})
INHERITED: Final = ("MediaBox", "Resources")
MOST_PARTS: Final = 300_000
MOST_BYTES: Final = 1_000_000_000
PIECE_BYTES: Final = 1 << 20
DEEPEST: Final = 60


class _Unending(Exception):
    """There is too much of it."""


def content_digest(pdf: pikepdf.Pdf, page: pikepdf.Object) -> str:
    """The digest of a page; empty where it leads to too much, or to what cannot be read."""
    digest = _Digest()
    try:
        digest.take_page(page)
        node: Any = page
        for _ in range(DEEPEST):
            node = lookup(node, "Parent")
            if node is None:
                break
            for key in INHERITED:
                digest.take(lookup(node, key))
        for key in ("OCProperties", "OutputIntents"):
            digest.take(lookup(pdf.Root, key))
    except (_Unending, PartOfFile, pikepdf.PdfError, RuntimeError, ValueError, TypeError, RecursionError):
        return ""
    return digest.hash.hexdigest()


class _Digest:
    """Takes objects in; one that comes again is taken by the number that it had."""

    def __init__(self) -> None:
        self.hash = hashlib.blake2b(digest_size=20)
        self.seen: dict[object, int] = {}
        self.parts = self.bytes = 0

    def take_page(self, page: Any) -> None:
        """A page, and the annotations on it."""
        self._is_seen(page)
        self._entries(page, 0, OF_PAGE | {"/Annots"})
        annotations = lookup(page, "Annots")
        for annotation in annotations if isinstance(annotations, pikepdf.Array) else ():
            if not self._is_seen(annotation) and isinstance(annotation, pikepdf.Dictionary):
                self._entries(annotation, 1, OF_ANNOTATION)

    def take(self, value: Any, depth: int = 0) -> None:
        """Anything else."""
        self.parts += 1
        if self.parts > MOST_PARTS or depth > DEEPEST:
            raise _Unending
        if self._is_seen(value):
            return
        if isinstance(value, pikepdf.Stream):
            self._stream(value, depth)
        elif isinstance(value, pikepdf.Dictionary):
            self._entries(value, depth)
        elif isinstance(value, pikepdf.Array):
            self._add(f"array {len(value)}")
            for item in value:
                self.take(item, depth + 1)
        elif isinstance(value, pikepdf.Object):
            self._add(f"{value.unparse()!r}")
        else:
            self._add(repr(value))

    def _stream(self, stream: pikepdf.Stream, depth: int) -> None:
        """Unpacked where it is packed with Flate: saving a file may pack it otherwise."""
        if lookup(stream, "Filter") is None or is_plain_flate(stream):
            self._entries(stream, depth, OF_STREAM | PACKING)
            pieces = flate_pieces(stream, PIECE_BYTES) if is_plain_flate(stream) else [stream.read_raw_bytes()]
            for piece in pieces:
                self.bytes += len(piece)
                if self.bytes > MOST_BYTES:
                    raise _Unending
                self.hash.update(piece)
        else:
            self._entries(stream, depth, OF_STREAM)
            self.hash.update(stream.read_raw_bytes())
        self._add("end of stream")

    def _is_seen(self, value: Any) -> bool:
        """Whether an indirect object came before; then its number is taken."""
        if not isinstance(value, pikepdf.Object) or not value.is_indirect:
            return False
        key = identity(value)
        if key in self.seen:
            self._add(f"again {self.seen[key]}")
            return True
        self.seen[key] = len(self.seen)
        return False

    def _entries(self, value: Any, depth: int, without: frozenset[str] = frozenset()) -> None:
        keys = sorted(set(value.keys()) - without)
        self._add(f"entries {len(keys)}")
        for key in keys:
            self._add(key)
            self.take(value[key], depth + 1)

    def _add(self, words: str) -> None:
        self.hash.update(words.encode("utf-8", "surrogateescape") + b"\n")
