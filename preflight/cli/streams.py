"""Standard output and standard error that a reader may leave early: what is told then goes nowhere, and nothing breaks.

The exit status is the verdict's, so that ``preflight check … | head -1`` ends as it does without ``head``.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Any, Final, TextIO

OUTPUT: Final = 1
"""Number of standard output."""
OUTPUT_UNWRITTEN: Final = "Standard output cannot be written: {}."


def make_lasting() -> None:
    """Put lasting streams in the place of this process's own, and open those that it was started without.

    A stream that is closed leaves its number to the next file that is opened, and whatever a library writes there,
    a warning of a decoder say, would land in that file.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free, which is this one
    sys.stdout, sys.stderr = _lasting(sys.stdout, OUTPUT), _lasting(sys.stderr, 2)


def _lasting(stream: TextIO | None, number: int) -> TextIO:
    """A stream over the same file; one that was closed (None) leads nowhere now."""
    own = stream if isinstance(stream, io.TextIOWrapper) else None
    if stream is not None and own is None:  # somebody else's, who knows what to do with it
        return stream
    return io.TextIOWrapper(
        io.BufferedWriter(_UntilTheReaderGoes(number, "w", closefd=False)),
        encoding=own.encoding if own else "utf-8",
        errors=own.errors if own else "backslashreplace",
        line_buffering=own is not None and (own.line_buffering or own.write_through),
    )


class _UntilTheReaderGoes(io.FileIO):
    """A file in which writing to a pipe that nobody reads any more counts as written; a full disk is still said.

    Such an error names the stream, by its number, as any other names its file.
    """

    def write(self, data: Any, /) -> int:
        try:
            return super().write(data)
        except BrokenPipeError:
            return memoryview(data).nbytes
        except OSError as fault:
            raise OSError(fault.errno, fault.strerror, self.fileno()) from fault
