"""Which of the lines cut and which fold, where the ink alone does not tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from preflight.carton.lines.drawn_lines import DieLine, Role


@dataclass(frozen=True)
class Told:
    """Lines with their roles, and which of them were taken for folds on a guess."""

    lines: list[DieLine]
    guessed_within: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def tell_roles(lines: Sequence[DieLine]) -> Told:
    """Solid strokes of the cut ink cut; its dashed ones fold, or perforate where creases have an ink of their own.

    Where nothing of the cut ink is solid, dashes are a matter of taste and everything in it cuts.
    """
    in_doubt = [line.role in ("cut", "unknown") for line in lines]
    solid = any(doubt and not line.dashed and line.length_mm > 10 for doubt, line in zip(in_doubt, lines, strict=True))
    dashed = [doubt and line.dashed and solid for doubt, line in zip(in_doubt, lines, strict=True)]
    folds = any(line.role == "crease" for line in lines)
    other: Role = "perforate" if folds else "crease"
    told = [
        replace(line, role=other if dash else "cut", known="assumed" if dash else line.known) if doubt else line
        for line, doubt, dash in zip(lines, in_doubt, dashed, strict=True)
    ]
    names = ", ".join(
        sorted({line.drawn_in for line, dash in zip(lines, dashed, strict=True) if dash and line.drawn_in})
    )
    if not any(dashed):
        return Told(told)
    where = f" in {names}" if names else ""
    if folds:
        return Told(told, notes=(f"dashed lines{where} are read as perforations",))
    return Told(told, (f"solid lines{where} are taken as cuts and dashed ones as creases",))
