"""One guess of what was probably meant by a word that nobody knows: the known word that is spelt most like it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

NEAR: Final = 0.6
"""Likeness (0..1, of ``difflib``) from which on a known word is offered."""
AMONG_FEW: Final = 0.5
"""The same in a short closed list, such as that of units: little else can be meant."""
SLIP: Final = 0.8
"""Likeness from which on a word is no word of somebody's own but a slip of the pen."""


def nearest(given: str, known: Iterable[str], *, at_least: float = NEAR) -> str:
    """The known word that is spelt most like the given one, whatever the case; empty where none is near."""
    from difflib import get_close_matches  # where all words are known it is not needed

    folded = {word.casefold(): word for word in reversed(list(known))}
    near = get_close_matches(given.casefold(), folded, 1, at_least)
    return folded[near[0]] if near else ""


def likeness(given: str, word: str) -> float:
    """How much alike two words are spelt, 0..1, whatever the case."""
    from difflib import SequenceMatcher

    return SequenceMatcher(None, given.casefold(), word.casefold()).ratio()
