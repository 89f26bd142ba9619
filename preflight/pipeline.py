"""The spine: load, read, measure, judge, report. Read this first.

No rule, no PDF operator and no HTML in here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from preflight.artwork.document import Artwork, Page
from preflight.artwork.reading import read_artwork
from preflight.errors import ExitStatus, WrongUsage
from preflight.findings import Finding, Judgement, NotChecked, Verdict
from preflight.judge import judge
from preflight.loading import load_job, load_press
from preflight.measures.assemble import assemble_job, open_job
from preflight.measures.job import Job
from preflight.press import Press
from preflight.report.document import RunFacts, build_document
from preflight.report.saving import save
from preflight.rulebook import Rulebook, load_rules
from preflight.ticket import Ticket

PathLike = str | Path
Progress = Callable[[str], None]
Opening = Callable[[Job, RunFacts], None]


@dataclass
class Report:
    """What came out: the judged pages and the one document that every rendering shows."""

    pages: list[tuple[Job, Judgement]]
    run: RunFacts

    @cached_property
    def document(self) -> dict[str, Any]:
        """The report as plain data, ``preflight-report/1``."""
        return build_document(self.pages, self.run)

    @property
    def verdict(self) -> str:
        """``pass``, ``warn`` or ``fail``: the worst of all pages."""
        return max(judgement.verdict for _, judgement in self.pages).word

    @property
    def findings(self) -> list[Finding]:
        """Findings of all pages, page by page."""
        return [finding for _, judgement in self.pages for finding in judgement.findings]

    @property
    def separations(self) -> list[dict[str, Any]]:
        """Separations of the first page, as in the document."""
        return list(self.document["separations"])

    def exit_status(self, *, warnings_fail: bool = False) -> ExitStatus:
        """The exit status of a command that ends with this report."""
        if any(entry.own_fault for _, judgement in self.pages for entry in judgement.not_checked):
            return ExitStatus.OWN_FAULT
        limit = Verdict.WARN.word if warnings_fail else Verdict.FAIL.word
        return ExitStatus.FAIL if self.verdict in (Verdict.FAIL.word, limit) else ExitStatus.OK

    def save(self, path: PathLike) -> None:
        """Write the report; the ending chooses the form. Raises WrongUsage on an ending that has none."""
        save(self.document, self.pages, Path(path))


def check(  # noqa: PLR0913 - one door, all options by name
    subject: PathLike, *, press: PathLike | None = None, ticket: PathLike | None = None,
    rules: Sequence[PathLike] = (), opening: Opening | None = None, progress: Progress | None = None,
) -> Report:  # fmt: skip
    """Check a job.

    Args:
        subject: a ticket (``.yaml``), or the artwork (``.pdf``) with ``press`` and perhaps ``ticket``.
        press: press profile; wins over the ticket's.
        ticket: job ticket, where ``subject`` is the artwork.
        rules: rule files laid over the shipped ones, in order.
        opening: called with the first page's job before its plates are drawn.
        progress: called with a few words before each long step.

    Raises:
        ArtworkUnreadable: the artwork cannot be opened.
        InvalidInput: a press, ticket or rules file is wrong.
        WrongUsage: nothing says where the artwork is.
    """
    say = progress or (lambda _words: None)
    rulebook = load_rules(rules)
    artwork_path, profile, job_ticket, run = _load(Path(subject), press, ticket, rulebook)
    say(f"reading {artwork_path.name}")
    artwork = read_artwork(artwork_path, job_ticket)
    if opening is not None:
        opening(open_job(artwork, artwork.pages[0], profile, job_ticket), run)
    return Report(list(_judged(artwork, profile, job_ticket, rulebook, say)), run)


def _judged(
    artwork: Artwork, press: Press | None, ticket: Ticket | None, rulebook: Rulebook, say: Progress
) -> Iterator[tuple[Job, Judgement]]:
    for page in artwork.pages:
        say(f"page {page.number} of {artwork.page_count}: plates")
        job = assemble_job(artwork, page, press, ticket)
        say(f"page {page.number} of {artwork.page_count}: measuring")
        judgement = judge(job, rulebook)
        yield job, replace(judgement, not_checked=judgement.not_checked + _unread_keys(page, press, ticket))


def _unread_keys(page: Page, press: Press | None, ticket: Ticket | None) -> tuple[NotChecked, ...]:
    """Keys that the press profile or the ticket gives and that nothing is decided by yet; said once, on the first page."""
    if page.number > 1:
        return ()
    keys = [("ticket", key) for key in (ticket.not_acted_on() if ticket else ())]
    keys += [("press", key) for key in (press.not_acted_on() if press else ())]
    return tuple(NotChecked(f"{file}: {key}", "nothing is decided by this key yet") for file, key in keys)


def _load(
    subject: Path, press: PathLike | None, ticket: PathLike | None, rulebook: Rulebook
) -> tuple[Path, Press | None, Ticket | None, RunFacts]:
    ticket_path = subject if subject.suffix.lower() in (".yaml", ".yml") else Path(ticket) if ticket else None
    press_path = Path(press) if press else None
    job_ticket, profile = None, None
    if ticket_path is not None:
        given = () if ticket_path is subject else ("artwork",)
        job_ticket, profile = load_job(ticket_path, press=press_path, given=given)
        press_path = press_path or job_ticket.press
    elif press_path is not None:
        profile = load_press(press_path)
    artwork = subject if ticket_path is not subject else job_ticket.artwork if job_ticket else None
    if artwork is None:
        raise WrongUsage(f"{subject} names no artwork: give its `artwork:` key, or check the PDF with --ticket")
    names = [str(path.name) if path else "" for path in (press_path, ticket_path)]
    return artwork, profile, job_ticket, RunFacts(datetime.now(UTC).astimezone(), rulebook.files, *names)
