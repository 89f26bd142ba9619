"""Every exception of the package, one tree, the exit status and the advice on the class.

    PreflightError                  5
    ├── ArtworkUnreadable           3   not a PDF, cut off, locked, no pages
    │   ├── ArtworkNotThere         3   no such file, a folder, no right to read it
    │   ├── ArtworkEmpty            3
    │   ├── PageNotDrawn            3   it can be opened, and the plates of a page cannot be made
    │   └── CouldNotBeChecked       3   a check in a child process that came to no end
    │       ├── OutOfTime           3   it reached its limit of time
    │       ├── OutOfMemory         3   it reached its limit of memory
    │       ├── Crashed             3   a library ended the process
    │       └── Killed              3   somebody, or the system, ended the process
    ├── InvalidInput                4   a press, ticket or rules file; carries every fault
    ├── NotUnderstood               4   one text in such a file
    ├── WrongUsage                  2
    ├── CannotWrite                 6   no such folder, no right to write there, a full disk
    ├── NotMeasured                     no error: a measure says *not checked*, with the reason
    │   ├── PageTooBig                  over a bound
    │   └── RendererStopped             the second process that draws has died
    └── PartOfFile                      something within a file; where it is, the page is uncertain
        ├── OverLimit, Undecodable      a stream: larger than is held, in no form that can be unpacked
        ├── NotRead                     a form
        ├── Jpeg2000Fault                     a JPEG 2000 picture
        ├── FunctionFault, CalculatorFault, MeshFault
        └── NotDrawn
            ├── TooBig                  over a bound
            └── CannotBeRendered        in no form that can be decoded or drawn truly

What has no status of its own is caught where it is understood; at the top it would be a fault of the tool's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final, Literal

TRACEBACK_VARIABLE: Final = "PREFLIGHT_TRACEBACK"
"""Variable of the environment that has faults of the tool's own shown with where they happened."""


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
    advice = "This is an internal error. Keep the file and the message, and report it."


class ArtworkUnreadable(PreflightError):
    """The artwork cannot be opened at all."""

    exit_status = ExitStatus.ARTWORK_UNREADABLE
    advice = "Ask for the file again, newly exported and without a password."


class ArtworkNotThere(ArtworkUnreadable):
    """There is no file of this name, it is a folder, or it may not be read."""

    advice = "Check the name, the folder and the permission to read the file."


class ArtworkEmpty(ArtworkUnreadable):
    """The file is there and holds nothing."""

    advice = "Copy the file again, or ask for it again: it was cut short in transfer."


class PageNotDrawn(ArtworkUnreadable):
    """The plates of a page cannot be made."""

    advice = (
        "Ask for a new export, or for the file without what is named above; "
        "`preflight check` still reports whatever can be checked."
    )


class CouldNotBeChecked(ArtworkUnreadable):
    """A check in a child process that came to no end."""

    advice = "This file is not checked and not released. Check it by hand, or ask for a new export."


class OutOfTime(CouldNotBeChecked):
    """The child reached its limit of computing or of waiting."""


class OutOfMemory(CouldNotBeChecked):
    """The child asked for more memory than its limit."""


class Crashed(CouldNotBeChecked):
    """A library broke down in the child and took it along."""


class Killed(CouldNotBeChecked):
    """The child was ended from outside: by a person, or by a system that is short of memory."""

    advice = "This file is not checked and not released. Check it again; if that fails too, check it by hand."


class WrongUsage(PreflightError):
    """The command was asked for something that does not go together."""

    exit_status = ExitStatus.WRONG_USAGE
    advice = "See `preflight --help`."


class CannotWrite(PreflightError):
    """A file cannot be written where it was asked for; of a report it is said after the check."""

    exit_status = ExitStatus.REPORT_NOT_WRITTEN
    advice = "Choose another file name, or check the folder, the permission to write there and the free disk space."


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
    """A press, ticket or rules file is wrong; ``faults`` holds every fault, each file's in the order of its lines."""

    exit_status = ExitStatus.INVALID_INPUT
    advice = "Correct the lines named above."

    def __init__(self, faults: list[InputFault]) -> None:
        files = list(dict.fromkeys(fault.file for fault in faults))
        self.faults = sorted(faults, key=lambda fault: (files.index(fault.file), fault.line))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class NotUnderstood(PreflightError, ValueError):
    """A text that is no such quantity or word; ``expected`` in words, ``suggestion`` empty where none is near.

    ``entry`` is the number, from 0, of the entry of a list that it is about; None where it is about all of it.
    """

    exit_status = ExitStatus.INVALID_INPUT
    advice = InvalidInput.advice

    def __init__(self, expected: str, suggestion: str = "", entry: int | None = None) -> None:
        super().__init__(f"expected {expected}" + (f"; did you mean {suggestion}?" if suggestion else ""))
        self.expected = expected
        self.suggestion = suggestion
        self.entry = entry


WantOf = Literal["file", "ticket", "press", "tool"]
"""What a rule could not be decided for want of."""


class NotMeasured(PreflightError):
    """Raised by a measure: this cannot be decided here.

    ``would_help`` says what would let it be checked, ``want_of`` in what something is missing or broken.
    """

    def __init__(self, because: str, would_help: str = "", want_of: WantOf = "file") -> None:
        super().__init__(because)
        self.because = because
        self.would_help = would_help
        self.want_of = want_of


class PageTooBig(NotMeasured):
    """The page, or something on it, is over a bound, so that no plates are made of it."""


class RendererStopped(NotMeasured):
    """The second process that draws the plates has died."""


class PartOfFile(PreflightError):
    """Something within a file is not read or not drawn; the text says what."""


class OverLimit(PartOfFile):
    """A decoded stream is larger than the caller wants to hold."""

    def __init__(self, limit_bytes: int) -> None:
        super().__init__(f"it inflates to more than {limit_bytes / 1e6:.0f} MB")


class Undecodable(PartOfFile):
    """A stream is packed in a way that gives no plain bytes (an unknown filter, a picture's compression)."""


class NotRead(PartOfFile):
    """A form that is not read; the text says why."""


class Jpeg2000Fault(PartOfFile):
    """A JPEG 2000 picture is none, or in no form that can be decoded truly; the text says which."""


class FunctionFault(PartOfFile):
    """A function that cannot be read or evaluated."""


class CalculatorFault(PartOfFile):
    """A program of a calculator function that cannot be read, or that comes to grief."""


class MeshFault(PartOfFile):
    """A mesh that cannot be read, or that is too large."""


class NotDrawn(PartOfFile):
    """Something is painted that is left out of the plates; the text says what."""


class TooBig(NotDrawn):
    """It is over a bound."""


class CannotBeRendered(NotDrawn):
    """It is in no form that can be decoded or drawn truly."""
