"""What a check puts on standard output and standard error: no fault of a report keeps back the verdict."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import click

from preflight.cli.streams import OUTPUT_UNWRITTEN
from preflight.errors import ExitStatus
from preflight.report import words
from preflight.report.saving import Shortfall, in_words


@dataclass
class Telling:
    """Tells what came out, and keeps what could not be told or written until the end."""

    shortfalls: list[Shortfall] = field(default_factory=list)
    _deaf: bool = False
    """Standard output takes nothing any more."""

    def tell(self, show: Callable[[], None]) -> bool:
        """Show something on standard output; what breaks is kept, and False is returned."""
        if self._deaf:
            return False
        try:
            show()
            sys.stdout.flush()
        except OSError as fault:
            self.shortfalls.append(Shortfall(OUTPUT_UNWRITTEN.format(fault.strerror or fault)))
            self._deaf = True
            _output_goes_nowhere()
            return False
        except Exception as fault:
            self.shortfalls.append(Shortfall(f"The report could not be shown: {in_words(fault)}"))
            return False
        return True

    def tell_plainly(self, verdict: str, says: Sequence[str]) -> None:
        """The verdict and the findings in bare lines, where the report itself could not be shown."""
        lines = [f"The verdict is {verdict}.", *(f" - {words.plain(sentence)}" for sentence in says)]
        with suppress(OSError):
            click.echo("\n".join(lines), err=self._deaf)

    def complain(self, told: str) -> None:
        """Say on standard error why there is no verdict."""
        with suppress(OSError):
            click.echo("\n".join(words.plain(line) for line in told.splitlines()), err=True)

    def ended(self, verdict: ExitStatus, unwritten: Iterable[Shortfall]) -> int:
        """Say on standard error what was not written or shown.

        Returns:
            the exit status: that of the verdict, or where that is 0 and something was not written, 6.
        """
        all_of_them = [*unwritten, *self.shortfalls]
        with suppress(OSError):
            for shortfall in all_of_them:
                click.echo(words.plain(shortfall.words), err=True)
        if verdict is ExitStatus.OK and not all(shortfall.written for shortfall in all_of_them):
            return int(ExitStatus.REPORT_NOT_WRITTEN)
        return int(verdict)


def _output_goes_nowhere() -> None:
    """What is left in the buffer must not raise once more."""
    with suppress(OSError, ValueError), Path(os.devnull).open("wb") as nowhere:
        os.dup2(nowhere.fileno(), sys.stdout.fileno())
