"""A job that was judged and planned on one press: what the set-up sheet says, before it is put into a document."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from preflight.findings import Finding, Judgement, Verdict
from preflight.inputs.press import Press
from preflight.inputs.ticket import ArtworkEntry, Ticket
from preflight.job_facts import JobFacts
from preflight.setup.plan_request import PlanRequest
from preflight.setup.press_plan import PressPlan
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.run_plan import RunPlan


@dataclass(frozen=True)
class JudgedPage:
    """One page of one file of the job."""

    facts: JobFacts
    judgement: Judgement
    entry: ArtworkEntry | None = None
    """What the ticket says of the file; None where no ticket names it."""


@dataclass(frozen=True)
class PlannedJob:
    """All pages of a job, and its plan for one press."""

    pages: Sequence[JudgedPage]
    press: Press | None
    ticket: Ticket | None
    question: PlanRequest | None = None
    """What the planner was asked; None where it could not be asked."""
    plan: PressPlan | None = None
    run: RunPlan | None = None
    unplanned: str = ""
    """Why there is no plan; empty where there is one."""
    sheet: PressSheet | None = None
    """The sheet as it is printed, with its layout; None where it is not known."""
    not_laid_out: str = ""
    """Why there is no sheet; empty where there is one."""

    @property
    def verdict(self) -> Verdict:
        """The worst of all pages."""
        return max(page.judgement.verdict for page in self.pages)

    @property
    def findings(self) -> list[Finding]:
        """Of all pages, the worst first and notes last; what is said of each page alike is there once."""
        found = dict.fromkeys(finding for page in self.pages for finding in page.judgement.findings)
        return sorted(found, key=lambda finding: finding.order)

    @property
    def may_run(self) -> bool:
        """Whether the job may go to the press: nothing failed, all was drawn, and an order of the units stands."""
        return not self.why_not

    @property
    def why_not(self) -> list[str]:
        """Why nobody may run it as it is; empty where somebody may."""
        told = [f.says for f in self.findings if f.verdict is Verdict.FAIL and not f.trial]
        if any(page.facts.drawn == "not at all" for page in self.pages):
            told.append("A page could not be drawn, and what it prints is not known.")
        if self.verdict is Verdict.FAIL and not told:
            told.append("A check that this job needs could not be made.")
        if self.plan is not None and not self.plan.possible:
            told += [conflict.says for conflict in self.plan.conflict] or ["No order of the units keeps all demands."]
        return list(dict.fromkeys(told))

    @property
    def about_units(self) -> str | None:
        """What units the reasons against the job mean, where the sheet shows other ones; it is none of the reasons."""
        if self.why_not and self.plan is not None and self.plan.possible and any(f.units for f in self.findings):
            return "What is said of units means the ticket's own list; the units shown are the tool's plan."
        return None
