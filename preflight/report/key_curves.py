"""What was learnt of the ink keys, in lines: each curve with its spread, what was refused, what was kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final

from preflight.inputs.key_curves_table import KeyCurve
from preflight.report import words
from preflight.setup.ink_keys.learn_curves import METHOD, Learnt, called

WIDTH: Final = 80


def learnt_lines(learnt: Learnt, older: Sequence[KeyCurve] = ()) -> Iterator[str]:
    """The lines, at most about 80 columns but for names.

    Args:
        learnt: of the OK sheets.
        older: curves of the table that is written anew.
    """
    for each in learnt.curves:
        curve = each.curve
        said = words.plain(_called(curve))
        yield said[0].upper() + said[1:]
        yield (
            f"  {curve.sheets} sheets, {curve.readings} readings; spread {curve.spread:.1f} points of opening, "
            f"the farthest {each.farthest:+.1f} (line {each.farthest_line})"
        )
        yield "  cover    " + " ".join(f"{100 * cover:5.1f}" for cover, _ in curve.points) + "  %"
        yield "  opening  " + " ".join(f"{opening:5.1f}" for _, opening in curve.points) + "  %"
    for refused in learnt.refused:
        yield f"No curve for {words.plain(refused.what)}: {refused.because}."
    new = {each.curve.is_for for each in learnt.curves}
    yield from (f"Kept as it was: {words.plain(_called(curve))}." for curve in older if curve.is_for not in new)
    if learnt.curves:
        yield from wrap(f"Method: {METHOD}.", WIDTH)


def table_remarks(learnt_from: str) -> tuple[str, ...]:
    """What is written on top of a learnt table."""
    said = f"Openings of ink keys, learnt from {words.plain(learnt_from)}. Method: {METHOD}."
    return (*wrap(said, WIDTH), "")


def _called(curve: KeyCurve) -> str:
    return called(curve.press, curve.unit, curve.ink, curve.board)
