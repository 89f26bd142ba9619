"""What answers each row of the catalogue: rules, a view of the report, or why neither does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from preflight.judging.catalogue import Catalogue, RowKeys
from preflight.judging.rulebook import Rulebook

NOT_YET: Final = "not yet"
"""Said of a row that nothing answers."""
KINDS: Final = ("rule", "view", "off", "nobody", NOT_YET)


@dataclass(frozen=True)
class Answer:
    """A row of the catalogue with what answers it."""

    row: str
    asks: str
    rules: tuple[str, ...]
    view: str | None
    because: str | None
    """Why no rule decides it, or what its rules leave open."""
    off: tuple[str, ...] = ()
    """Rules that would decide it and are switched off or retired."""

    @property
    def by(self) -> str:
        """One of ``KINDS``; ``off`` is a row whose rules do not run, ``nobody`` one that no program can decide."""
        if self.rules or self.view:
            return "rule" if self.rules else "view"
        if self.off:
            return "off"
        return NOT_YET if self.because == NOT_YET else "nobody"


def coverage(book: Rulebook, catalogue: Catalogue) -> dict[str, tuple[Answer, ...]]:
    """The answers of all rows by the section that they stand in, in the order of the catalogue."""
    return {section.section: tuple(_answer(book, row) for row in section.rows) for section in catalogue.sections}


def _answer(book: Rulebook, row: RowKeys) -> Answer:
    rules = tuple(name for name, rule in book.rules.items() if row.row in rule.covers)
    off = {
        **{
            name: f"{name} is switched off: {book.off[name]}"
            for name, rows in book.off_covers.items()
            if row.row in rows
        },
        **{name: f"{name} is retired" for name, rows in book.retired.items() if row.row in rows},
    }
    open_still = [text for text in (row.because, *off.values()) if text]
    because = "; ".join(open_still) or (None if rules or row.view else NOT_YET)
    return Answer(row.row, row.asks, rules, row.view, because, tuple(off))
