"""The spine: load, read, measure, judge, report. Read this first.

No rule, no PDF operator and no HTML in here.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.read_artwork import read_artwork
from preflight.errors import WrongUsage
from preflight.findings import Judgement
from preflight.inputs.loading import load_job, load_press
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job_facts import JobFacts, final_facts, opening_facts
from preflight.judging.judge import judge
from preflight.judging.rulebook import Rulebook, load_rules
from preflight.measures.job_assembly import assemble_job, begin_job
from preflight.report.document import RunFacts
from preflight.report.report import Report

PathLike = str | Path
Progress = Callable[[str], None]
Opening = Callable[[JobFacts, RunFacts], None]
_log = logging.getLogger("preflight")
_log.addHandler(logging.NullHandler())


def check(
    subject: PathLike,
    *,
    press: PathLike | None = None,
    ticket: PathLike | None = None,
    rules: PathLike | Sequence[PathLike] = (),
    opening: Opening | None = None,
    progress: Progress | None = None,
    cache: bool = True,
) -> Report:
    """Check a job; ``with`` the report, or its ``close``, lets go of the artwork.

    Args:
        subject: a ticket (``.yaml``), or the artwork (``.pdf``) with ``press`` and perhaps ``ticket``.
        press: press profile; wins over the ticket's.
        ticket: job ticket, where ``subject`` is the artwork.
        rules: a rule file laid over the shipped ones, or several in their order.
        opening: called with what is known of the first page before its plates are drawn.
        progress: called with a few words before each long step; the logger ``preflight`` has them too.
        cache: keep plates in the user's cache folder between runs.

    Raises:
        ArtworkUnreadable: the artwork cannot be opened.
        InvalidInput: a press, ticket or rules file is wrong.
        WrongUsage: nothing says where the artwork is.
    """

    def say(step: str) -> None:
        _log.info(step)
        if progress is not None:
            progress(step)

    rulebook = load_rules(rules)
    artwork_path, profile, job_ticket, run = _load(Path(subject), press, ticket, rulebook)
    say(f"reading {artwork_path.name}")
    with ExitStack() as started:
        artwork = started.enter_context(read_artwork(artwork_path, job_ticket, cache=cache))
        if opening is not None:
            opening(opening_facts(begin_job(artwork, artwork.pages[0], profile, job_ticket)), run)
        judged = list(_judged(artwork, profile, job_ticket, rulebook, say))
        return Report(judged, run, artwork.pages, started.pop_all())


def _judged(
    artwork: Artwork, press: Press | None, ticket: Ticket | None, rulebook: Rulebook, say: Progress
) -> Iterator[tuple[JobFacts, Judgement]]:
    for page in artwork.pages:
        say(f"page {page.number} of {artwork.page_count}: plates")
        job = assemble_job(artwork, page, press, ticket)
        say(f"page {page.number} of {artwork.page_count}: measuring")
        try:
            judgement = judge(job, rulebook)
            yield final_facts(job), judgement
        finally:
            page.close()


def _load(
    subject: Path, press: PathLike | None, ticket: PathLike | None, rulebook: Rulebook
) -> tuple[Path, Press | None, Ticket | None, RunFacts]:
    is_ticket = subject.suffix.lower() in (".yaml", ".yml")
    if is_ticket and ticket:
        raise WrongUsage(f"{subject} is a ticket, and --ticket names {ticket} too: check the PDF with one of them")
    ticket_path = subject if is_ticket else Path(ticket) if ticket else None
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
