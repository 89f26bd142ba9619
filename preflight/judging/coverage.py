"""What answers each row of the catalogue: rules, a view of the report, or why neither does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from preflight.judging.catalogue import Catalogue, RowKeys
from preflight.judging.rulebook import Rulebook

NOT_YET: Final = "not yet"
"""Said of a row that nothing answers."""
KINDS: Final = ("rule", "view", "nobody", NOT_YET)


@dataclass(frozen=True)
class Answer:
    """A row of the catalogue with what answers it; its fields are the keys of ``rules --coverage --json``."""

    row: str
    asks: str
    rules: tuple[str, ...]
    view: str | None
    because: str | None
    """Why no rule decides it, or what its rules leave open."""

    @property
    def by(self) -> str:
        """One of ``KINDS``; ``nobody`` is a row that no program can decide, or whose rules are switched off."""
        if self.rules or self.view:
            return "rule" if self.rules else "view"
        return NOT_YET if self.because == NOT_YET else "nobody"


def coverage(book: Rulebook, catalogue: Catalogue) -> dict[str, tuple[Answer, ...]]:
    """The answers of all rows by the section that they stand in, in the order of the catalogue."""
    return {section.section: tuple(_answer(book, row) for row in section.rows) for section in catalogue.sections}


def _answer(book: Rulebook, row: RowKeys) -> Answer:
    rules = tuple(name for name, rule in book.rules.items() if row.row in rule.covers)
    off = [f"{name} is switched off: {book.off[name]}" for name, rows in book.off_covers.items() if row.row in rows]
    open_still = [text for text in (row.because, *off) if text]
    because = "; ".join(open_still) or (None if rules or row.view else NOT_YET)
    return Answer(row.row, row.asks, rules, row.view, because)
