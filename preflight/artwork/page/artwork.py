"""A customer's PDF as it is handed out: its pages, what it says of itself, and what had to be repaired."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import Alternate


@dataclass(frozen=True)
class Repair:
    """Something that had to be put right before the file could be read."""

    words: str
    """What it was, in plain words."""
    lost: bool
    """Something of the file may be lost by it."""
    times: int = 1
    """How many parts of the file it happened to."""
    pages: tuple[int, ...] = ()
    """Pages that it is known to concern."""

    @property
    def told(self) -> str:
        """The words with the pages, or with how often it happened."""
        if self.pages:
            *first, last = map(str, self.pages)
            return f"{self.words} (pages {', '.join(first)} and {last})" if first else f"{self.words} (page {last})"
        return f"{self.words} ({self.times} times)" if self.times > 1 else self.words


@dataclass
class Artwork:
    """A customer's PDF, opened; ``with`` ends what it started once it is no longer needed."""

    path: Path
    sha256: str
    repairs: tuple[Repair, ...]
    """What had to be repaired or is missing; empty where the file was whole."""
    page_count: int
    pages: list[Page]
    """The first 20 pages."""
    pdf_version: str = ""
    title: str = ""
    producer: str = ""
    output_intent: str = ""
    alternates: Mapping[str, tuple[Alternate, ...]] = field(default_factory=dict)
    """Of separations that the pages paint in by more than one colour space: the alternate colours of each of these."""
    output_profile: Callable[[], bytes] = field(default=bytes, repr=False, compare=False)
    """Unpacks the profile of the printing condition; empty where the file holds none."""
    started: ExitStack = field(default_factory=ExitStack, repr=False, compare=False)
    """The file, open."""

    def close(self) -> None:
        """End the processes that draw its pages and close all files; its pages cannot be drawn any more."""
        for page in self.pages:
            page.close()
        self.started.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        self.close()
