"""A PDF from standard input, as a file for as long as it is checked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from preflight.artwork.pdf.structure.opening import MOST_BYTES
from preflight.interruption import folder_for_a_while

NAME: Final = "standard-input.pdf"
_STEP: Final = 1 << 20


@contextmanager
def pdf_from_standard_input() -> Iterator[Path]:
    """The file; of more than is ever checked no more is taken in than shows that.

    Raises:
        OSError: there is no room for it.
    """
    with folder_for_a_while() as folder:
        path = Path(folder) / NAME
        with open(0, "rb", closefd=False) as given, path.open("wb") as kept:
            taken = 0
            while taken <= MOST_BYTES and (step := given.read(_STEP)):
                taken += kept.write(step)
        yield path
