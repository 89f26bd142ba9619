"""The spine of a comparison: read two files, lay them on each other, compare, say.

Which room does what stands in DEVELOPERS.md; nothing is compared or drawn in here.
"""

from __future__ import annotations

import filecmp
import logging
from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property, partial
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_document import ComparedFile, build_compare_document
from preflight.comparing.compare_revisions import compare_revisions
from preflight.comparing.comparison import Comparison
from preflight.errors import ExitStatus, NotMeasured, PageNotDrawn, WrongUsage
from preflight.inputs.loading import load_ticket
from preflight.inputs.ticket import Ticket
from preflight.report.compare_saving import save_comparison
from preflight.report.compared_page import ComparedPage, ComparedSheet
from preflight.report.saving import Shortfall, save_each

PathLike = str | Path
Progress = Callable[[str], None]
As = Literal["revision", "sheet"]
_log = logging.getLogger("preflight")


@dataclass(repr=False)
class CompareResult:
    """What came out; it keeps the files open for pictures: use ``with``, or ``close`` it."""

    comparison: Comparison
    old: Artwork
    new: Artwork
    files: tuple[str, str]
    """Names of OLD and NEW."""
    modified: tuple[datetime | None, datetime | None] = (None, None)
    """When OLD and NEW were last written."""
    when: datetime = field(default_factory=lambda: datetime.now(UTC).astimezone())
    started: ExitStack = field(default_factory=ExitStack, repr=False, compare=False)

    def close(self) -> None:
        """Let go of the files; pictures cannot be drawn any more."""
        self.started.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        self.close()

    def __repr__(self) -> str:
        return f"<CompareResult {' against '.join(self.files)}: {self.document['says']}>"

    @cached_property
    def document(self) -> dict[str, Any]:
        """The comparison as plain data, ``preflight-compare/1``."""
        named = zip(self.files, (self.old, self.new), self.modified, strict=True)
        old, new = (
            ComparedFile(name, artwork.sha256, artwork.page_count, modified) for name, artwork, modified in named
        )
        return build_compare_document(self.comparison, old, new, self.when)

    @property
    def pages(self) -> list[ComparedPage]:
        """Pages that both files have and how they lie on each other, for pictures; none of files that are equal."""
        numbers = {page.number: page for page in self.old.pages}
        frames = dict(self.comparison.frames)
        return [
            ComparedPage(numbers[page.number], page, frames[page.number])
            for page in self.new.pages
            if page.number in frames and page.number in numbers
        ]

    @property
    def sheet(self) -> ComparedSheet | None:
        """The sheet and its one-up, for pictures; None of revisions."""
        if self.comparison.as_ != "sheet":
            return None
        frames = {blank.number: blank.frame for blank in self.comparison.blanks if blank.frame is not None}
        return ComparedSheet(self.old.pages[0], self.new.pages[0], frames)

    @property
    def exit_status(self) -> ExitStatus:
        """0 where no plate changes, else 1."""
        return ExitStatus.OK if self.comparison.same else ExitStatus.FAIL

    def save(self, path: PathLike) -> list[Shortfall]:
        """Write the comparison; the ending chooses the form.

        Returns:
            what it lacks: pictures that could not be made.

        Raises:
            WrongUsage: no form has this ending.
            CannotWrite: the file cannot be written.
        """
        return save_comparison(self.document, self.pages, Path(path), self.sheet)

    def save_all(self, paths: Iterable[PathLike]) -> list[Shortfall]:
        """Write several; what could not be written is returned in words, and the others come all the same."""
        return save_each(map(Path, paths), self.save)


def compare(
    old: PathLike,
    new: PathLike,
    *,
    ticket: PathLike | None = None,
    as_: As | None = "revision",
    versions: Sequence[PathLike] = (),
    progress: Progress | None = None,
    cache: bool = True,
) -> CompareResult:
    """Compare two files plate by plate.

    Args:
        old: the file before, or the one-up.
        new: the file now, or the sheet.
        ticket: the job ticket: kinds of separations, the die, ``changes``.
        as_: ``revision``: two states of one artwork; ``sheet``: every blank of NEW against OLD; None: told by the dies.
        versions: other versions and old revisions of the one-up, to know a blank of the sheet by.
        progress: called with a few words before each long step.
        cache: keep plates in the user's cache folder between runs.

    Raises:
        ArtworkUnreadable: a file cannot be opened, or a page of it cannot be drawn.
        InvalidInput: the ticket is wrong.
        WrongUsage: versions were given, and the files are compared as revisions.
    """
    if versions and as_ == "revision":
        raise WrongUsage("versions are versions of a blank on a sheet: compare as sheet")
    stated = load_ticket(ticket, given=("artwork", "press")) if ticket is not None else None
    say = partial(_say, progress)
    with ExitStack() as started:
        opened = _opened(Path(old), Path(new), stated, started, say, cache=cache)
        guessed = as_ or ("sheet" if versions else None)
        found, notes = _compared(opened, guessed, versions, stated, started, say, cache=cache)
        found = replace(found, notes=(*notes, *found.notes))
        paths = (Path(old), Path(new))
        modified = (_modified(paths[0]), _modified(paths[1]))
        return CompareResult(found, *opened, (paths[0].name, paths[1].name), modified, started=started.pop_all())


def _modified(path: Path) -> datetime | None:
    """When a file was last written; None where nothing is told of it."""
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone()
    except OSError:
        return None


def _say(progress: Progress | None, words: str) -> None:
    _log.info(words)
    if progress is not None:
        progress(words)


def _opened(
    old: Path, new: Path, ticket: Ticket | None, started: ExitStack, say: Progress, *, cache: bool
) -> tuple[Artwork, Artwork]:
    """Both files; of two that are equal only one is read."""
    say(f"reading {old.name}")
    before = started.enter_context(read_artwork(old, ticket, cache=cache))
    if _equal(old, new):
        return before, before
    say(f"reading {new.name}")
    return before, started.enter_context(read_artwork(new, ticket, cache=cache))


def _equal(old: Path, new: Path) -> bool:
    try:
        return filecmp.cmp(old, new, shallow=False)
    except OSError:  # reading it says what is the matter
        return False


def _compared(
    opened: tuple[Artwork, Artwork],
    as_: As | None,
    versions: Sequence[PathLike],
    ticket: Ticket | None,
    started: ExitStack,
    say: Progress,
    *,
    cache: bool,
) -> tuple[Comparison, tuple[str, ...]]:
    """What came out, and what was taken for granted."""
    notes: tuple[str, ...] = ()
    if as_ is None and opened[0] is not opened[1]:
        from preflight.comparing.guess_as import blanks_as_one_up, says_sheet

        blanks = blanks_as_one_up(*opened, ticket)
        if blanks > 1:
            as_, notes = "sheet", (says_sheet(blanks),)
    if as_ != "sheet":
        return compare_revisions(*opened, ticket, say), notes
    from preflight.comparing.compare_sheet import compare_sheet

    others = list[tuple[str, Artwork]]()
    for version in map(Path, versions):
        say(f"reading {version.name}")
        others.append((version.name, started.enter_context(read_artwork(version, ticket, cache=cache))))
    say("comparing the blanks of the sheet")
    try:
        return compare_sheet(*opened, others, ticket), notes
    except NotMeasured as reason:
        raise PageNotDrawn(f"the sheet cannot be compared: {reason}") from reason
