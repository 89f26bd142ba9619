"""A PDF from standard input, as a file for as long as it is checked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Final

from preflight.artwork.pdf.structure.opening import MOST_BYTES
from preflight.errors import ArtworkNotThere
from preflight.interruption import folder_for_a_while

NAME: Final = "standard-input.pdf"
_STEP: Final = 1 << 20


@contextmanager
def pdf_from_standard_input() -> Iterator[Path]:
    """The file.

    Raises:
        ArtworkNotThere: it cannot be read, or there is no room for it.
    """
    with ExitStack() as kept:
        try:
            path = Path(kept.enter_context(folder_for_a_while())) / NAME
            _take_in(path)
        except OSError as error:
            raise ArtworkNotThere(f"standard input cannot be taken in: {error.strerror or error}") from error
        yield path


def _take_in(path: Path) -> None:
    """Of more than is ever checked no more is taken in than shows that."""
    with open(0, "rb", closefd=False) as given, path.open("wb") as kept:
        taken = 0
        while taken <= MOST_BYTES and (step := given.read(_STEP)):
            taken += kept.write(step)
