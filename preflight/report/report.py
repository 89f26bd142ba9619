"""What a check comes to: judged pages, verdict, exit status, and the document that every rendering shows."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from preflight.artwork.page.page import Page
from preflight.errors import ExitStatus
from preflight.findings import Finding, Judgement, Verdict
from preflight.job_facts import JobFacts
from preflight.quantities import shown
from preflight.report.document import RunFacts, build_document
from preflight.report.saving import Shortfall, form_of, save, save_customer, save_each


@dataclass(repr=False)
class Report:
    """What came out: the judged pages and the one document that every rendering shows.

    The artwork stays open for the pictures of the HTML page; a service closes it, or uses ``with``. A pickled report
    leaves the artwork behind: what is taken out again has all but the pictures.
    """

    pages: list[tuple[JobFacts, Judgement]]
    run: RunFacts
    drawn_from: list[Page]
    """The same pages of the artwork, for the pictures of an HTML page; none where the report was pickled."""
    started: ExitStack = field(default_factory=ExitStack, repr=False, compare=False)
    """The artwork, open."""

    def close(self) -> None:
        """Let go of the artwork; pictures cannot be drawn any more."""
        self.started.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        self.close()

    def __repr__(self) -> str:
        try:
            counted = [finding.verdict for finding in self.findings if not finding.trial]
            faults, queries = shown(counted.count(Verdict.FAIL), "faults"), counted.count(Verdict.WARN)
            found = f"{faults}, {queries} {'query' if queries == 1 else 'queries'}"
            file = self.pages[0][0].file.name
            return f"<Report {self.verdict}: {found}; {file!r}, {shown(len(self.pages), 'pages')}>"
        except Exception:  # one that was built by hand, of whatever parts
            return "<Report>"

    def __getstate__(self) -> dict[str, Any]:
        return {"pages": self.pages, "run": self.run}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__init__(state["pages"], state["run"], [])  # type: ignore[misc]

    @cached_property
    def document(self) -> dict[str, Any]:
        """The report as plain data, ``preflight-report/1``."""
        return build_document(self.pages, self.run)

    @property
    def _shown(self) -> list[tuple[JobFacts, Page]]:
        """Pages to draw pictures of."""
        pages = zip(self.pages, self.drawn_from, strict=True) if self.drawn_from else ()
        return [(facts, page) for (facts, _), page in pages]

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

    def save(self, path: str | Path) -> list[Shortfall]:
        """Write the report; the ending chooses the form.

        Returns:
            what it lacks: pictures that could not be made.

        Raises:
            WrongUsage: no form has this ending.
            CannotWrite: the file cannot be written.
        """
        lacking = save(self.document, self._shown, Path(path))
        return self._without_pictures(path, lacking) if form_of(path) == "html" else lacking

    def save_customer(self, path: str | Path) -> list[Shortfall]:
        """Write the customer edition, a page; what comes back and what is raised are as in ``save``."""
        return self._without_pictures(path, save_customer(self.document, self._shown, Path(path)))

    def save_all(self, paths: Iterable[str | Path], customer: str | Path | None = None) -> list[Shortfall]:
        """Write several reports and, where it is wanted, the customer edition.

        What could not be written is returned in words, and the others come all the same.
        """
        editions = [] if customer is None else [Path(customer)]
        return save_each(map(Path, paths), self.save) + save_each(editions, self.save_customer)

    def _without_pictures(self, path: str | Path, lacking: list[Shortfall]) -> list[Shortfall]:
        if not self.drawn_from:
            words = f"the pictures are not in {path}: the artwork stayed behind when the report was pickled."
            lacking.append(Shortfall(words, written=True, file=str(path)))
        return lacking
