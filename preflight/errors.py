"""Every exception of the package, one tree, the exit status and the advice on the class.

    PreflightError                  5
    ├── ArtworkUnreadable           3   not a PDF, cut off, locked, no pages
    │   ├── ArtworkNotThere         3   no such file, a folder, no right to read it
    │   ├── ArtworkEmpty            3
    │   └── PageNotDrawn            3   it can be opened, and the plates of a page cannot be made
    ├── InvalidInput                4   a press, ticket or rules file; carries every fault
    └── WrongUsage                  2
        └── CannotWrite             2   no such folder, no right to write there

``NotMeasured`` is not an error: a measure raises it to say *not checked*, with the reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Literal


class ExitStatus(IntEnum):
    """Exit statuses of every command."""

    OK = 0
    FAIL = 1
    WRONG_USAGE = 2
    ARTWORK_UNREADABLE = 3
    INVALID_INPUT = 4
    OWN_FAULT = 5
    REPORT_NOT_WRITTEN = 6
    """And the verdict alone would have been 0."""
    INTERRUPTED = 130


class PreflightError(Exception):
    """Root of everything this package raises on purpose."""

    exit_status = ExitStatus.OWN_FAULT
    advice = "This is a fault of the tool's own. Keep the file and the message."


class ArtworkUnreadable(PreflightError):
    """The artwork cannot be opened at all."""

    exit_status = ExitStatus.ARTWORK_UNREADABLE
    advice = "Ask for the file again, exported afresh and without a password."


class ArtworkNotThere(ArtworkUnreadable):
    """There is no file of this name, it is a folder, or it may not be read."""

    advice = "Check the name, the folder and the right to read the file."


class ArtworkEmpty(ArtworkUnreadable):
    """The file is there and holds nothing."""

    advice = "Copy the file again, or ask for it again: it was cut short on its way."


class PageNotDrawn(ArtworkUnreadable):
    """The plates of a page cannot be made."""

    advice = (
        "Ask for the file again, exported afresh, or for what is named above without it; "
        "`preflight check` says what can be told of the file all the same."
    )


class WrongUsage(PreflightError):
    """The command was asked for something that does not go together."""

    exit_status = ExitStatus.WRONG_USAGE
    advice = "See `preflight --help`."


class CannotWrite(WrongUsage):
    """A file cannot be written where it was asked for."""

    advice = "Name another file, or see to the folder, the right to write there and the room on its disk."


@dataclass(frozen=True)
class InputFault:
    """One fault in a YAML file."""

    file: str
    line: int
    key: str
    """Dotted path of the key: ``line[2].unit.inks``."""
    found: str
    expected: str
    suggestion: str = ""
    """The nearest known key or value; empty where none is near."""

    def __str__(self) -> str:
        hint = f"; did you mean {self.suggestion}?" if self.suggestion else ""
        where = f"{self.file}:{self.line}" if self.line else self.file
        key = f" {self.key}:" if self.key else ""
        return f"{where}:{key} found {self.found}, expected {self.expected}{hint}"


class InvalidInput(PreflightError):
    """A press, ticket or rules file is wrong; ``faults`` holds all that was found, in file order."""

    exit_status = ExitStatus.INVALID_INPUT
    advice = "Mend the lines named above."

    def __init__(self, faults: list[InputFault]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


WantOf = Literal["file", "ticket", "press", "tool"]
"""What a rule could not be decided for want of."""


class NotMeasured(Exception):
    """Raised by a measure: this cannot be decided here.

    ``would_help`` says what would let it be, ``want_of`` in what something is missing or broken.
    """

    def __init__(self, because: str, would_help: str = "", want_of: WantOf = "file") -> None:
        super().__init__(because)
        self.because = because
        self.would_help = would_help
        self.want_of = want_of
