"""The next piece of work is begun by a second thread while the caller is at the one before."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from threading import Thread
from typing import Final, Generic, TypeVar

Item = TypeVar("Item")
_END: Final = object()


class _Coming(Thread, Generic[Item]):
    """One item while it is made. An executor does the same, and loading it takes longer than most files need it."""

    def __init__(self, items: Iterator[Item]) -> None:
        super().__init__(daemon=True)
        self._items = items
        self._made: Item | object = _END
        self._fault: BaseException | None = None
        self.start()

    def run(self) -> None:
        """In the second thread."""
        try:
            self._made = next(self._items, _END)
        except BaseException as fault:  # raised where the item is waited for
            self._fault = fault

    def made(self) -> Item | object:
        """The item once it is there, or ``_END``; raises what making it raised."""
        self.join()
        if self._fault is not None:
            raise self._fault
        return self._made


def made_ahead(items: Iterator[Item]) -> Generator[Item]:
    """The same items, each made while the one before it is in use. It pays where making them leaves the GIL."""
    coming = _Coming(items)
    try:
        while (item := coming.made()) is not _END:
            coming = _Coming(items)
            yield item  # type: ignore[misc]
    finally:
        coming.join()
