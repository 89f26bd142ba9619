"""What a check is asked for, and where its reports go: files, folders with a page and JSON for each subject."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from preflight.report.saving import FORMS, STANDARD_OUTPUT, customer_form_of, form_of

_IN_A_FOLDER = (".html", ".json")


@dataclass(frozen=True, kw_only=True)
class CheckOptions:
    """The options of the command; see ``preflight check --help``."""

    press: Path | None = None
    ticket: Path | None = None
    reports: tuple[str, ...] = ()
    rules: tuple[Path, ...] = ()
    warnings_fail: bool = False
    cache: bool = True
    guarded: bool = False
    quiet: bool = False
    customer_report: Path | None = None


@dataclass(frozen=True)
class ReportTargets:
    """What ``--report`` asks for."""

    files: tuple[Path, ...]
    folders: tuple[Path, ...]
    standard_output: bool
    _taken: set[str] = field(default_factory=set)
    """Names that reports in the folders have already, in small letters."""

    def files_for(self, subject: Path) -> list[Path]:
        """Report files of one subject; those in folders are named after it, and no two subjects have the same."""
        if not self.folders:
            return list(self.files)
        name, number = subject.stem, 2
        while name.lower() in self._taken:
            name, number = f"{subject.stem}-{number}", number + 1
        self._taken.add(name.lower())
        for folder in self.folders:
            with suppress(OSError):  # what cannot be written there is said for each report
                folder.mkdir(parents=True, exist_ok=True)
        return [*self.files, *(folder / f"{name}{ending}" for folder in self.folders for ending in _IN_A_FOLDER)]


def targets_of(reports: Sequence[str], customer_report: Path | None = None) -> ReportTargets:
    """Told apart before the work, so that a slip costs no time.

    Raises:
        WrongUsage: a report has an ending that no form has, or the customer edition another one than that of a page.
    """
    folders = [name for name in reports if name != STANDARD_OUTPUT and _is_folder(name)]
    files = [Path(name) for name in reports if name != STANDARD_OUTPUT and name not in folders]
    for file in files:
        form_of(file)
    if customer_report is not None:
        customer_form_of(customer_report)
    return ReportTargets(tuple(files), tuple(map(Path, folders)), STANDARD_OUTPUT in reports)


def written(files: Iterable[Path], unwritten: Iterable[str]) -> list[str]:
    """Paths of the reports that are there, by those that are not."""
    missing = set(unwritten)
    return [str(file) for file in files if str(file) not in missing]


def _is_folder(name: str) -> bool:
    """Called a folder, or one already; a folder called as a report is stands in the way of that report."""
    if name.endswith(("/", os.sep)):
        return True
    return Path(name).suffix.lower() not in FORMS and is_folder(Path(name))


def is_folder(path: Path) -> bool:
    """Whether there is such a folder; of a name that no file can have, that there is none."""
    try:
        return path.is_dir()
    except OSError:
        return False
