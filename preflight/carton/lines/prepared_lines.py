"""Lines ready to be noded: fills to edges, loose dashes to dashed lines, lettering and dimension lines put aside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from preflight.carton.lines.cut_or_crease import Told, tell_roles
from preflight.carton.lines.dashed_lines import join_dashes
from preflight.carton.lines.dimensions_and_lettering import dimensions_and_lettering
from preflight.carton.lines.drawn_lines import DieLine
from preflight.carton.lines.filled_shapes import edges_of_fills
from preflight.quantities import shown


@dataclass
class PreparedLines:
    """Lines ready to be noded, and what was put aside."""

    lines: list[DieLine]
    dimension: list[DieLine] = field(default_factory=list)
    """Dimension lines with an arrow head."""
    aside: list[DieLine] = field(default_factory=list)
    """Arrow heads and lettering."""
    words: int = 0
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    guessed_within: tuple[str, ...] = ()
    """What is guessed of lines within the cut."""


def prepare_lines(lines: Sequence[DieLine]) -> PreparedLines:
    """Tidies the lines: fills to edges, loose dashes to dashed lines, lettering and dimension lines put aside."""
    tidy, bands = edges_of_fills(lines)
    tidy = join_dashes(tidy)
    apart = dimensions_and_lettering(tidy)
    told: Told = tell_roles([line for line, gone in zip(tidy, apart.any, strict=True) if not gone])
    return PreparedLines(
        told.lines,
        [line for line, mine in zip(tidy, apart.dimension, strict=True) if mine],
        [line for line, mine in zip(tidy, apart.arrows | apart.lettering, strict=True) if mine],
        apart.words,
        notes=(
            *told.notes,
            *([f"{shown(bands, 'strokes')} turned into outlines: the middle is taken"] if bands else []),
        ),
        guessed_within=told.guessed_within,
    )
