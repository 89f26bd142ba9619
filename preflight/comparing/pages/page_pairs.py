"""Which page of NEW is which of OLD: pages go by their number."""

from __future__ import annotations

from dataclasses import dataclass

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page
from preflight.findings import numbers_listed


@dataclass(frozen=True)
class PagePairs:
    """Pages of two files beside each other."""

    both: tuple[tuple[Page, Page], ...]
    """Pages of OLD and of NEW under one number."""
    gone: tuple[Page, ...] = ()
    """Pages of OLD that NEW has not."""
    more: tuple[Page, ...] = ()
    """Pages of NEW that OLD has not."""
    says: tuple[str, ...] = ()
    not_compared: tuple[str, ...] = ()


def page_pairs(old: Artwork, new: Artwork) -> PagePairs:
    """Pairs pages by their number; those that one file has more are said, and those past what is read of a file."""
    read = min(len(old.pages), len(new.pages))
    both = tuple(zip(old.pages[:read], new.pages[:read], strict=True))
    gone = tuple(page for page in old.pages[read:] if page.number > new.page_count)
    more = tuple(page for page in new.pages[read:] if page.number > old.page_count)
    says = [f"{_pages(more)} new: the old file has {old.page_count}."] if more else []
    says += [f"{_pages(gone)} gone: the new file has {new.page_count}."] if gone else []
    last = max(old.page_count, new.page_count)
    read = max(len(old.pages), len(new.pages))
    unread = [f"page {last}" if last == read + 1 else f"pages {read + 1} to {last}"] if last > read else []
    return PagePairs(both, gone, more, tuple(says), tuple(f"{words}: {_MOST.format(read)}" for words in unread))


_MOST = "of each file the first {} pages are compared"


def _pages(pages: tuple[Page, ...]) -> str:
    numbers = numbers_listed(page.number for page in pages)
    return f"Pages {numbers} are" if len(pages) > 1 else f"Page {numbers} is"
