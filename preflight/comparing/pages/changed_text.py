"""Words that are not the same in both files, where both have real text; a word that only moved is none of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from preflight.artwork.page.geometry import Box
from preflight.artwork.page_text import Word
from preflight.comparing.comparison import ChangedText, PlateChange
from preflight.comparing.pages.shared_frame import SharedFrame

MOST_CHANGES: Final = 200
"""Words that changed, on one page; where there are more, the text is another one and is not listed."""
FARTHEST: Final = 3.0
"""Heights of a word that the word in its place lies off, at most."""


def changed_text(
    old: Sequence[Word] | None, new: Sequence[Word] | None, frame: SharedFrame, page: int
) -> tuple[ChangedText, ...]:
    """Words that one page has and the other has not, those in one place as old and new; in reading order of NEW.

    Empty where one of them has no text: nothing can be told then.
    """
    if not old or not new:
        return ()
    lying = [replace(word, box_mm=frame.on_new(word.box_mm)) for word in old]
    gone, more = _without(lying, new), _without(new, lying)
    if max(len(gone), len(more)) > MOST_CHANGES:
        return ()
    found = list[ChangedText]()
    for word in more:
        before = min(gone, key=lambda each: _apart(each.box_mm, word.box_mm), default=None)
        if before is not None and _apart(before.box_mm, word.box_mm) > FARTHEST * _height(word.box_mm):
            before = None
        if before is not None:
            gone.remove(before)
        found.append(ChangedText(before.text if before else "", word.text, word.box_mm, page))
    return (*found, *(ChangedText(word.text, "", word.box_mm, page) for word in gone))


def on_plates(texts: Iterable[ChangedText], plates: Sequence[PlateChange]) -> tuple[ChangedText, ...]:
    """The same with the plates that changed at their place."""
    return tuple(
        replace(
            text,
            plates=tuple(
                plate.name
                for plate in plates
                if any(page == text.page and meet(box, text.box_mm) for box, page in (*plate.places, *plate.outside))
            ),
        )
        for text in texts
    )


def _without(words: Sequence[Word], others: Sequence[Word]) -> list[Word]:
    """Words that the others have fewer of; of one that is there several times those without one in their place."""
    spare = Counter(word.text for word in words)
    spare.subtract(word.text for word in others)
    at = {(word.text, *_corner(word.box_mm)) for word in others}
    candidates = [word for word in words if spare[word.text] > 0]
    candidates.sort(key=lambda word: (word.text, *_corner(word.box_mm)) in at)
    kept = list[Word]()
    for word in candidates:
        if spare[word.text] > 0:
            spare[word.text] -= 1
            kept.append(word)
    order = {id(word): at for at, word in enumerate(words)}
    return sorted(kept, key=lambda word: order[id(word)])


def _corner(box: Box) -> tuple[int, int]:
    return round(box[0]), round(box[1])


def _apart(one: Box, other: Box) -> float:
    """Between two boxes, 0 where they meet, and a hair more for corners that are apart, so that the nearest wins."""
    across = max(0.0, one[0] - other[2], other[0] - one[2])
    up = max(0.0, one[1] - other[3], other[1] - one[3])
    return across + up + 1e-3 * (abs(one[0] - other[0]) + abs(one[1] - other[1]))


def _height(box: Box) -> float:
    return max(0.5, min(box[2] - box[0], box[3] - box[1]))


def meet(one: Box, other: Box) -> bool:
    """Whether two boxes overlap or touch."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]
