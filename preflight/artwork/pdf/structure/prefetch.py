"""The next piece of work is begun by a second thread while the caller is at the one before."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")


def made_ahead(items: Iterator[Item]) -> Iterator[Item]:
    """The same items, each made while the one before it is in use. It pays where making them leaves the GIL."""
    with ThreadPoolExecutor(1) as pool:
        end = object()
        coming = pool.submit(next, items, end)
        while (item := coming.result()) is not end:
            coming = pool.submit(next, items, end)
            yield item  # type: ignore[misc]
