"""From a ticket to the set-up: check as ``pipeline.check`` does, then plan units and run, on one press or several."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page
from preflight.artwork.read_artwork import read_artwork
from preflight.crew.planned_job import JudgedPage, PlannedJob
from preflight.crew.presses_document import build_presses_document
from preflight.crew.run_question import run_request
from preflight.crew.setup_document import Made, build_setup_document
from preflight.errors import ExitStatus, NotMeasured, WrongUsage
from preflight.findings import Verdict
from preflight.inputs.loading import load_before, load_job, load_press, table_file
from preflight.inputs.press import Press
from preflight.inputs.ticket import ArtworkEntry, Ticket
from preflight.job import Job
from preflight.job_facts import final_facts
from preflight.judging.judge import judge
from preflight.judging.rulebook import TRADE_TABLES, Rule, Rulebook, load_rules
from preflight.measures import MEASURES
from preflight.measures.job_assembly import assemble_job, names_in
from preflight.measures.plan_question import plan_request
from preflight.measures.sheet_question import own_sheet, sheet_of_jobs
from preflight.report.document import RunFacts, build_document
from preflight.report.simulation import shown_colours
from preflight.setup.merged_requests import Side, merged_requests
from preflight.setup.on_press import on_press
from preflight.setup.plan_request import OnPress, PlanRequest
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.run_plan import plan_run
from preflight.setup.unit_order.plan_press import plan_press
from preflight.setup.unit_plan import same_name

PathLike = str | Path
Progress = Callable[[str], None]
_log = logging.getLogger("preflight")

OF_AN_ORDER: Final = frozenset(
    (
        "units-of-each-ink",
        "ink-against-its-unit",
        "process-units-around-metallic",
        "inks-before-white",
        "inks-after-varnish",
    )
)
"""Measures that look at what the ticket has on each unit."""
PRESS_MEASURES: Final = ("units", "sheet", "press_fit", "unit_order", "ticket_statements")
"""Modules of measures whose readings another press may change; so it may those on the sheet. Others are asked once."""


@dataclass(frozen=True)
class SetUp:
    """The set-up of a job on a press."""

    job: PlannedJob
    made: Made

    @cached_property
    def document(self) -> dict[str, Any]:
        """All of it as plain data, ``preflight-setup/1``."""
        pages = [(page.facts, page.judgement) for page in self.job.pages]
        sentence = build_document(pages, RunFacts(self.made.when, self.made.rules))["sentence"]
        inks = {ink.separation.name: ink.separation for page in self.job.pages for ink in page.facts.inks}
        said = str(sentence)
        if not self.job.may_run and self.job.verdict is not Verdict.FAIL:
            said = f"No order of the units in one pass. The check: {said}"
        return build_setup_document(self.job, self.made, said, shown_colours(inks.values()))

    @cached_property
    def press_files(self) -> dict[str, bytes]:
        """``ink-keys.ppf`` and ``job.xjdf`` by name; none where ``crew/press_files.py`` says so."""
        from preflight.crew.press_files import press_files  # only where they are wanted

        return press_files(self.job, self.made, self.document["ink_keys"])

    @property
    def exit_status(self) -> ExitStatus:
        """As of the check: 5 where something of ours broke, 1 where the job fails."""
        if any(entry.own_fault for page in self.job.pages for entry in page.judgement.not_checked):
            return ExitStatus.OWN_FAULT
        return ExitStatus.FAIL if self.job.verdict is Verdict.FAIL else ExitStatus.OK


def set_up(
    ticket: PathLike,
    *,
    press: PathLike | None = None,
    after: PathLike | None = None,
    rules: PathLike | Sequence[PathLike] = (),
    progress: Progress | None = None,
    cache: bool = True,
) -> SetUp:
    """Check a job and plan it on its press.

    Args:
        ticket: the job ticket.
        press: press profile; wins over the ticket's.
        after: what is on the press: the last job's ticket, or a file with ``on_press``.
        rules: a rule file laid over the shipped ones, or several in their order.
        progress: called with a few words before each long step.
        cache: keep plates in the user's cache folder between runs.

    Raises:
        ArtworkUnreadable: an artwork cannot be opened.
        InvalidInput: a press, ticket, state or rules file is wrong.
        WrongUsage: the ticket names no artwork.
    """
    loaded, profile = load_job(ticket, press=press)
    before = on_press(load_before(after)) if after is not None else None
    with ExitStack() as started:
        opened = _opened(loaded, Path(ticket), rules, progress, started, cache=cache)
        job = _planned(opened, profile, before)
        named = str(press or (loaded.press or ""))
        return SetUp(job, opened.made(Path(named).name if named else ""))


def compare_presses(
    ticket: PathLike,
    presses: Sequence[PathLike],
    *,
    rules: PathLike | Sequence[PathLike] = (),
    progress: Progress | None = None,
    cache: bool = True,
) -> dict[str, Any]:
    """What each press would take for a job, the best first, ``preflight-presses/1``; artwork is read and drawn once.

    Raises:
        ArtworkUnreadable, InvalidInput, WrongUsage: as ``set_up`` does.
    """
    profiles = [(Path(path).name, load_press(path)) for path in presses]
    loaded, _ = load_job(ticket, press=presses[0])
    with ExitStack() as started:
        opened = _opened(loaded, Path(ticket), rules, progress, started, cache=cache)
        only = {name for name, rule in opened.rulebook.rules.items() if _asks_the_press(rule)}
        planned = []
        for file, profile in profiles:
            opened.say(f"planning on {profile.name}")
            planned.append((file, _planned(opened, profile, None, only)))
        return build_presses_document(planned, opened.made())


def _asks_the_press(rule: Rule) -> bool:
    on_sheet = any(condition.text == "job.laid_out" for condition, _ in rule.when)
    return on_sheet or MEASURES[rule.measure].function.__module__.rpartition(".")[2] in PRESS_MEASURES


# Opening -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Opened:
    """A ticket with its artworks open and the rules read."""

    ticket: Ticket
    ticket_file: str
    rulebook: Rulebook
    say: Progress
    artworks: list[tuple[ArtworkEntry, Artwork]] = field(default_factory=list)

    @property
    def pages(self) -> Iterator[tuple[ArtworkEntry, Artwork, Page]]:
        """Every page of every file, or the one that the ticket names of a file."""
        for entry, artwork in self.artworks:
            yield from ((entry, artwork, page) for page in artwork.pages if entry.page in (None, page.number))

    def ticket_of(self, entry: ArtworkEntry, artwork: Artwork) -> Ticket:
        """The ticket as one artwork has to be held against it.

        Units of inks that only others print in are idle; areas are stated as they lie on the outside.
        """
        own = set(names_in(artwork))
        others = [name for name in self.names if name not in own]
        units = self.ticket.unit_list and tuple(
            None if unit and any(same_name(unit[0], name) for name in others) else unit
            for unit in self.ticket.unit_list
        )
        areas = () if entry.is_back else self.ticket.areas
        return self.ticket.model_copy(update={"areas": areas, "unit_list": units})

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Separations of all artworks: the ticket speaks of them all."""
        return tuple(dict.fromkeys(name for _, artwork in self.artworks for name in names_in(artwork)))

    def made(self, press_file: str = "") -> Made:
        when = datetime.now(UTC).astimezone()
        return Made(when, self.rulebook.files, _rules_version(self.rulebook), press_file, self.ticket_file)


def _rules_version(rulebook: Rulebook) -> str:
    """First figures of a digest of what decides: all rules, and the trade tables that the plan is made by."""
    digest = hashlib.sha256(repr(sorted(rulebook.rules.items())).encode())
    for table in map(table_file, TRADE_TABLES):
        digest.update(table.read_bytes() if table.is_file() else b"")
    return digest.hexdigest()[:12]


def _opened(
    ticket: Ticket,
    path: Path,
    rules: PathLike | Sequence[PathLike],
    progress: Progress | None,
    started: ExitStack,
    *,
    cache: bool,
) -> _Opened:
    def say(step: str) -> None:
        _log.info(step)
        if progress is not None:
            progress(step)

    if not ticket.artwork_list:
        raise WrongUsage(f"{path} names no artwork: give its `artwork:` key")
    opened = _Opened(ticket, path.name, load_rules(rules), say)
    for entry in ticket.artwork_list:
        say(f"reading {entry.file.name}")
        opened.artworks.append((entry, started.enter_context(read_artwork(entry.file, ticket, cache=cache))))
    return opened


# Planning ----------------------------------------------------------------------------------------------------------


def _planned(opened: _Opened, press: Press | None, before: OnPress | None, only: set[str] | None = None) -> PlannedJob:
    """Every page judged, and one plan for all of them."""
    jobs, judged = list[tuple[ArtworkEntry, Job]](), list[JudgedPage]()
    sheet = _Sheet(jobs, opened.say)
    try:
        for entry, artwork, page in opened.pages:
            opened.say(f"{artwork.path.name}, page {page.number}: plates")
            ticket = opened.ticket_of(entry, artwork)
            jobs.append((entry, assemble_job(artwork, page, press, ticket, before, sheet.of, opened.names)))
        if not jobs:
            raise WrongUsage(f"{opened.ticket_file}: the artwork has no such page as the ticket names")
        for entry, job in jobs:
            opened.say(f"{job.artwork.path.name}, page {job.page.number}: checks")
            seen, rules = (job, only) if only is None else _as_planned(job, opened.rulebook, only)
            judgement = judge(seen, opened.rulebook, rules)
            judged.append(JudgedPage(final_facts(seen), judgement, entry))
        return _with_plan(opened, jobs, judged, press, before, sheet)
    finally:
        for _, job in jobs:
            job.page.close()


@dataclass
class _Sheet:
    """The sheet of all pages of a job, brought together when it is first asked for; its first front speaks for it."""

    jobs: Sequence[tuple[ArtworkEntry, Job]]
    say: Progress

    def of(self, job: Job) -> PressSheet | None:
        """The sheet that a page speaks for; None where another page does.

        Raises:
            NotMeasured: as ``sheet_of_jobs`` does.
        """
        speaker = min(self.jobs, key=lambda page: page[0].is_back)[1]
        if job.page is speaker.page:
            if isinstance(self.whole, NotMeasured):
                raise self.whole
            return self.whole
        on_its_own = job.artwork_is != "one-up" and not any(
            entry.is_back and other.page is job.page for entry, other in self.jobs
        )
        return own_sheet(job) if on_its_own else None

    @cached_property
    def whole(self) -> PressSheet | NotMeasured:
        """The sheet, or why there is none."""
        self.say("laying out the sheet")
        try:
            return sheet_of_jobs(self.jobs)
        except NotMeasured as reason:
            return reason


def _as_planned(job: Job, rulebook: Rulebook, only: set[str]) -> tuple[Job, set[str]]:
    """The job with the tool's own order in place of the ticket's list, which is a wish and was made for another press.

    Where there is no order, the rules that judge one are left out.
    """
    if job.ticket is None or job.ticket.units_fixed or job.ticket.units is None:
        return job, only
    with suppress(NotMeasured):
        plan = job.press_plan
        if plan.possible:
            stations = plan.passes[0].units
            units = tuple((unit.separation, unit.overall) if unit.separation else None for unit in stations)
            return replace(job, ticket=job.ticket.model_copy(update={"unit_list": units})), only
    return job, {name for name in only if rulebook.rules[name].measure not in OF_AN_ORDER}


def _with_plan(
    opened: _Opened,
    jobs: Sequence[tuple[ArtworkEntry, Job]],
    judged: Sequence[JudgedPage],
    press: Press | None,
    before: OnPress | None,
    sheet: _Sheet,
) -> PlannedJob:
    ticket = jobs[0][1].ticket or opened.ticket
    laid, not_laid_out = _laid(sheet)
    if press is None:
        unplanned = "no press profile is given (press: on the ticket, or --press)"
        return PlannedJob(judged, press, ticket, unplanned=unplanned, sheet=laid, not_laid_out=not_laid_out)
    opened.say("planning")
    try:
        question = _question(jobs, before, distances=False)
        plan = jobs[0][1].press_plan if len(jobs) == 1 else plan_press(question)
        if not plan.possible and len(jobs) > 1:  # two passes rest on which inks touch, which takes time to find out
            question = _question(jobs, before, distances=True)
            plan = plan_press(question)
    except NotMeasured as reason:
        unplanned = f"{reason} ({reason.would_help})"
        return PlannedJob(judged, press, ticket, unplanned=unplanned, sheet=laid, not_laid_out=not_laid_out)
    run = plan_run(run_request(judged, plan, question, press, ticket, laid))
    return PlannedJob(judged, press, ticket, question, plan, run, sheet=laid, not_laid_out=not_laid_out)


def _laid(sheet: _Sheet) -> tuple[PressSheet | None, str]:
    """The sheet, or why there is none."""
    if isinstance(sheet.whole, NotMeasured):
        help_ = f" ({sheet.whole.would_help})" if sheet.whole.would_help else ""
        return None, f"{sheet.whole}{help_}"
    return sheet.whole, ""


def _question(jobs: Sequence[tuple[ArtworkEntry, Job]], before: OnPress | None, *, distances: bool) -> PlanRequest:
    sides: list[Side] = ["back" if entry.is_back else "front" for entry, _ in jobs]
    asked = [plan_request(job, before, distances=distances) for _, job in jobs]
    return merged_requests(list(zip(sides, asked, strict=True)))
