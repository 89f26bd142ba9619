"""Opens a customer's PDF: refuses what is none, repairs what can be, and says what was repaired."""

from __future__ import annotations

import hashlib
import re
from collections import deque
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import pikepdf

from preflight.artwork.page.artwork import Repair
from preflight.artwork.pdf.structure.completeness import all_is_found, are_whole, calls_for_resources, end_is_there
from preflight.artwork.pdf.structure.repairs import in_plain_words, lengths_found_anew, lost_objects, was_rebuilt
from preflight.artwork.pdf.structure.stream_decoding import content_pieces, read_content, read_stream
from preflight.artwork.pdf.structure.values import entries, identity, items, lookup, name_bytes, text, whole
from preflight.errors import ArtworkEmpty, ArtworkNotThere, ArtworkUnreadable, OverLimit, Undecodable

__all__ = [
    "DocumentFacts",
    "OpenedPdf",
    "document_facts",
    "open_pdf",
    "output_profile",
    "read_content",
    "read_stream",
]

MOST_BYTES: Final = 2_000_000_000
MOST_PAGES: Final = 20
"""Pages whose content is looked at for damage."""
MOST_LOOKED_AT: Final = 20_000
MOST_PROFILE_BYTES: Final = 16_000_000
TRIED_BYTES: Final = 32_000_000
HASH_STEP: Final = 1 << 20


@dataclass
class OpenedPdf:
    """A PDF that can be read."""

    pdf: pikepdf.Pdf
    path: Path
    sha256: str
    repairs: tuple[Repair, ...]
    """What had to be repaired or is missing; empty where the file is whole."""


@dataclass(frozen=True)
class DocumentFacts:
    """What the file says of itself."""

    pdf_version: str
    title: str
    producer: str
    output_intent: str
    """Identifier of the printing condition; empty where none is named."""
    page_count: int


def open_pdf(path: Path) -> OpenedPdf:
    """Open a PDF that qpdf can open or repair; a file that only has an owner password opens too.

    Raises:
        ArtworkUnreadable: with one plain sentence on why; ArtworkNotThere and ArtworkEmpty among them.
    """
    head, digest = _take_in(path)
    pdf = _open(path, head)
    try:
        count = len(pdf.pages)
    except (pikepdf.PdfError, RuntimeError, ValueError, TypeError, KeyError, AttributeError, RecursionError) as fault:
        raise ArtworkUnreadable(f"{path.name} is damaged: its list of pages cannot be read") from fault
    if not count:
        raise ArtworkUnreadable(f"{path.name} has no pages")
    return OpenedPdf(pdf, path, digest, tuple(_repairs(pdf, path)))


def _take_in(path: Path) -> tuple[bytes, str]:
    """First kilobyte and SHA-256 of the file."""
    try:
        if path.is_dir():
            raise ArtworkNotThere(f"{path.name or path.absolute()} is a folder, not a PDF")
        size = path.stat().st_size
        if size == 0:
            raise ArtworkEmpty(f"{path.name} is empty")
        if size > MOST_BYTES:
            raise ArtworkUnreadable(
                f"{path.name} is {size / 1e9:.1f} GB large; up to {MOST_BYTES / 1e9:.0f} GB are read"
            )
        digest, head = hashlib.sha256(), b""
        with path.open("rb") as file:
            while step := file.read(HASH_STEP):
                head = head or step[:1024]
                digest.update(step)
    except FileNotFoundError:
        raise ArtworkNotThere(f"there is no file {path}") from None
    except PermissionError:
        raise ArtworkNotThere(f"there is no permission to read {path}") from None
    except (OSError, ValueError) as fault:
        raise ArtworkNotThere(f"{path} cannot be read: {fault}") from None
    return head, digest.hexdigest()


def _open(path: Path, head: bytes) -> pikepdf.Pdf:
    try:
        # not memory-mapped: a file that shrinks while it is read would end the process
        return pikepdf.open(path, access_mode=pikepdf.AccessMode.stream)
    except pikepdf.PasswordError:
        raise ArtworkUnreadable(f"{path.name} is locked with a password") from None
    except (pikepdf.PdfError, RuntimeError, ValueError, TypeError, OSError, MemoryError, RecursionError) as fault:
        from preflight.artwork.pdf.structure.file_type import looks_like  # a PDF does without

        kind = looks_like(head)
        if kind != "a damaged PDF":
            raise ArtworkUnreadable(f"{path.name} is not a PDF: it looks like {kind}") from fault
        if re.search(r"encrypt|security|crypt filter", str(fault), re.IGNORECASE):
            raise ArtworkUnreadable(f"{path.name} is protected in a way that cannot be opened") from fault
        if "Loop detected" in str(fault):
            raise ArtworkUnreadable(f"{path.name} is damaged: its list of pages is circular") from fault
        raise ArtworkUnreadable(f"{path.name} is damaged or cut off beyond repair") from fault


def _repairs(pdf: pikepdf.Pdf, path: Path) -> list[Repair]:
    """Everything that was repaired on the way to the content, and content that is not there.

    Raises:
        ArtworkUnreadable: content of a page is lost, so that any verdict would be on half the artwork.
    """
    warnings = _warnings(pdf, path)
    read = _read_pages(pdf)
    _look_at_resources(pdf)
    warnings += _warnings(pdf, path)
    rebuilt = was_rebuilt(warnings)
    lost = {read.pieces[number] for number in lost_objects(warnings) if number in read.pieces}
    lost |= set(read.missing) if rebuilt else set()
    if lost:
        raise ArtworkUnreadable(f"{path.name} is cut off or damaged: the content of page {min(lost)} is lost")
    own = [Repair(words, True, len(pages), tuple(pages)) for words, pages in read.remarks.items()]
    if read.missing:
        pages = tuple(dict.fromkeys(read.missing))
        own.append(Repair("a page names content that is not in the file", True, len(pages), pages))
    claimed = whole(lookup(lookup(pdf.Root, "Pages"), "Count"))
    if claimed is not None and claimed > len(pdf.pages):
        own.append(Repair(f"the file says that it has {claimed} pages; {len(pdf.pages)} can be found", True))
    all_found = not rebuilt or all_is_found(pdf)
    warnings += _warnings(pdf, path) if rebuilt else []
    told = in_plain_words(
        warnings,
        end_is_there=not warnings or end_is_there(path),
        all_found=all_found,
        streams_whole=are_whole(pdf, lengths_found_anew(warnings)),
        resources_missed=read.resources_missed,
    )
    return sorted([*own, *told], key=lambda repair: not repair.lost)


def _warnings(pdf: pikepdf.Pdf, path: Path) -> list[str]:
    """What the library has to say since it was last asked, without the folders that the file lies in."""
    return [str(warning).replace(str(path), "file") for warning in pdf.get_warnings()]


@dataclass
class _Read:
    """What came to light when the content of the first pages was read."""

    pieces: dict[int, int] = field(default_factory=dict)
    """Page of each piece of content, by the piece's number."""
    missing: list[int] = field(default_factory=list)
    """Pages that name content which is not there."""
    remarks: dict[str, list[int]] = field(default_factory=dict)
    """What was left out, and on which pages."""
    resources_missed: bool = False


def _read_pages(pdf: pikepdf.Pdf) -> _Read:
    read = _Read()
    for number, page in enumerate(_first_pages(pdf), 1):
        remarks: list[str] = []
        for piece in content_pieces(page):
            if isinstance(piece, pikepdf.Stream):
                read.pieces.setdefault(piece.objgen[0], number)
            else:
                read.missing.append(number)
        try:
            content = read_content(page, TRIED_BYTES, remarks)
        except OverLimit:
            continue
        for remark in dict.fromkeys(remarks):
            if "there is no stream" not in remark:  # it is among the missing
                read.remarks.setdefault(remark, []).append(number)
        if not [*entries(lookup(page, "Resources"))]:
            read.resources_missed |= calls_for_resources(content)
    return read


def _first_pages(pdf: pikepdf.Pdf) -> list[Any]:
    return [pdf.pages[index].obj for index in range(min(len(pdf.pages), MOST_PAGES))]


def _look_at_resources(pdf: pikepdf.Pdf) -> None:
    """Resolve what the first pages use, so that qpdf meets what is damaged there; breadth first, bounded."""
    waiting = deque(lookup(page, "Resources") for page in _first_pages(pdf))
    seen: set[object] = set()
    looked_at = 0
    while waiting and looked_at < MOST_LOOKED_AT:
        resources = waiting.popleft()
        if not isinstance(resources, pikepdf.Dictionary) or (resources.is_indirect and resources.objgen in seen):
            continue
        seen.add(identity(resources) if resources.is_indirect else looked_at)
        for _, category in entries(resources):
            for _, value in entries(category):
                looked_at += 1
                inner = lookup(value, "Resources")
                if inner is not None:
                    waiting.append(inner)


def document_facts(pdf: pikepdf.Pdf) -> DocumentFacts:
    """Facts that the file states of itself; what it does not say is empty. Never raises."""
    info = lookup(pdf.trailer, "Info")
    packet = _metadata(pdf)
    return DocumentFacts(
        pdf_version=str(pdf.pdf_version),
        title=text(lookup(info, "Title")) or _described(packet, "dc:title"),
        producer=text(lookup(info, "Producer")) or _described(packet, "pdf:Producer"),
        output_intent=_output_intent(pdf),
        page_count=len(pdf.pages),
    )


def _output_intent(pdf: pikepdf.Pdf) -> str:
    intents = items(lookup(pdf.Root, "OutputIntents"), 100)
    for_print = [intent for intent in intents if name_bytes(lookup(intent, "S")) == b"GTS_PDFX"]
    for intent in [*for_print, *intents]:
        for key in ("OutputConditionIdentifier", "OutputCondition", "Info"):
            words = text(lookup(intent, key)).strip()
            if words and words.lower() != "custom":
                return words
    return ""


def output_profile(pdf: pikepdf.Pdf) -> bytes:
    """The profile of the printing condition that the file names; empty where it holds none that can be read."""
    intents = items(lookup(pdf.Root, "OutputIntents"), 100)
    for_print = [intent for intent in intents if name_bytes(lookup(intent, "S")) == b"GTS_PDFX"]
    for intent in [*for_print, *intents]:
        profile = lookup(intent, "DestOutputProfile")
        if isinstance(profile, pikepdf.Stream):
            try:
                return read_stream(profile, MOST_PROFILE_BYTES)
            except (OverLimit, Undecodable):
                continue
    return b""


def _metadata(pdf: pikepdf.Pdf) -> str:
    try:
        return read_stream(lookup(pdf.Root, "Metadata"), 1_000_000).decode("utf-8", "replace")
    except (OverLimit, Undecodable):
        return ""


def _described(packet: str, tag: str) -> str:
    """Property of an XMP packet, element or attribute; looked for as text, since packets are often malformed."""
    match = re.search(rf"<{tag}[^>]*>(.{{0,2000}}?)</{tag}>", packet, re.DOTALL) or re.search(
        rf'{tag}="([^"]*)"', packet
    )
    if not match:
        return ""
    import html  # most files have no such text, and its tables take a while

    return html.unescape(re.sub(r"<[^>]*>", " ", match[1])).strip()
