"""Papers of the set-up sheet and the sizes of type on each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Paper = Literal["a4", "a3"]


@dataclass(frozen=True)
class Sizes:
    """A landscape page in points."""

    width: float
    height: float
    margin: float
    head: float
    row: float
    """Type of the row of units."""
    body: float
    """Everything else on the pages for the crew."""
    small: float
    """Pages behind them."""
    columns: int
    gap: float
    pad: float
    """Between the frame of a station and what is in it."""

    @property
    def room(self) -> float:
        """Width between the margins."""
        return self.width - 2 * self.margin


PAPERS: Final[dict[Paper, Sizes]] = {
    "a4": Sizes(841.89, 595.28, 24, head=17, row=12, body=11, small=9, columns=3, gap=16, pad=3),
    "a3": Sizes(1190.55, 841.89, 32, head=24, row=16, body=14, small=11.5, columns=3, gap=22, pad=5.5),
}
"""Nothing for the crew is under 11 pt; the row of units is at least 12 pt on A4 and 16 pt on A3."""
