"""What two files that were compared come to, as a sentence to forward."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from preflight.comparing.comparison import BlankCheck, Comparison, PlateChange
from preflight.comparing.pages.page_changes import in_words
from preflight.findings import listed, with_and
from preflight.quantities import shown
from preflight.setup.unit_plan import same_name

NUMBERS: Final = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"
)  # fmt: skip
SAME_SHIFT_MM: Final = 0.03
MOST_NAMED: Final = 8
KINDS: Final = {"other": "of another version", "turned": "turned", "moved": "moved", "missing": "missing"}


def headline(found: Comparison) -> str:
    """The first line of every rendering: ``Only Black and Matt Varnish changed. Five plates can stay.``."""
    said = [*_of_the_sheet(found.blanks), *found.faults, *_of_the_plates(found)]
    if found.export:
        said.append(f"It looks like {found.export}.")
    if undeclared(found):
        said.append(f"{_names(undeclared(found))} {_are(undeclared(found))} not among the changes on the ticket.")
    if unchanged(found):
        said.append(f"{_names(unchanged(found))}, among the changes on the ticket, did not change.")
    if found.not_compared:
        said.append("Not all of it could be compared.")
    return " ".join(said)


def undeclared(found: Comparison) -> list[str]:
    """Plates that changed and that the ticket does not list as changed; none where it lists nothing."""
    if found.declared is None:
        return []
    named = [(plate.name, *([plate.renamed_from] if plate.renamed_from else [])) for plate in found.changed]
    return [names[0] for names in named if not any(_in(name, found.declared or ()) for name in names)]


def unchanged(found: Comparison) -> list[str]:
    """Names that the ticket lists as changed and that are none of the plates that changed."""
    changed = [name for plate in found.changed for name in (plate.name, plate.renamed_from) if name]
    return [name for name in found.declared or () if not _in(name, changed)]


def remake(found: Comparison) -> list[str]:
    """Plates to be made: those that changed and those that are new; all of a sheet on which a blank lies wrong."""
    if _lies_wrong(found):
        return [plate.name for plate in found.plates if plate.change != "gone"]
    return [plate.name for plate in found.changed if plate.change != "gone"]


def keep(found: Comparison) -> list[str]:
    """Plates that can stay."""
    if _lies_wrong(found):
        return []
    return [plate.name for plate in found.plates if plate.change in ("none", "renamed")]


def _lies_wrong(found: Comparison) -> bool:
    """Whether a blank is missing, turned or off its place, which is so on every plate of the sheet."""
    return any(blank.kind in ("turned", "moved", "missing") for blank in found.blanks)


def counted(number: int, noun: str) -> str:
    """``five plates``, ``1 plate``, ``14 plates``; small numbers as words."""
    word = NUMBERS[number] if number < len(NUMBERS) else f"{number:,}"
    return f"{word} {noun if number == 1 else noun + 's'}"


def _of_the_plates(found: Comparison) -> list[str]:
    renamed = [
        f"{plate.name} is only renamed, from {plate.renamed_from}."
        for plate in found.plates
        if plate.change == "renamed"
    ]
    if _lies_wrong(found):
        return ["All plates of the sheet have to be made again.", *renamed]
    if not found.changed:
        if found.as_ == "sheet":
            return renamed
        return ["No plate change was found." if found.not_compared else "No plate changes.", *renamed]
    return [*_changed(found.changed, bool(keep(found))), *_staying(len(keep(found))), *renamed]


def _changed(plates: Sequence[PlateChange], some_stay: bool) -> list[str]:
    own = [plate.name for plate in plates if plate.change not in ("new", "gone")]
    new, gone = ([plate.name for plate in plates if plate.change == how] for how in ("new", "gone"))
    said = []
    together = _moved_together(plates)
    if together and not some_stay:
        said.append(f"Every plate moved by {together}.")
    elif own and some_stay:
        said.append(f"Only {_names(own)} changed.")
    elif own:
        said.append(
            f"{'Every plate changed: ' if len(own) > 1 else ''}{_names(own)}{'' if len(own) > 1 else ' changed'}."
        )
    said += [f"{_names(names)} {_are(names)} {how}." for names, how in ((new, "new"), (gone, "gone")) if names]
    return said


def _moved_together(plates: Sequence[PlateChange]) -> str:
    """By how much all plates moved, in words; empty where they did not, or not together."""
    shifts = [plate.moved_mm for plate in plates if plate.change == "moved" and not plate.also]
    if len(shifts) < max(2, len(plates)):
        return ""
    across, up = (sorted(side) for side in zip(*shifts, strict=True))
    if max(across[-1] - across[0], up[-1] - up[0]) > SAME_SHIFT_MM:
        return ""
    return in_words((across[len(across) // 2], up[len(up) // 2]))


def _staying(number: int) -> list[str]:
    return [f"{counted(number, 'plate').capitalize()} can stay." if number else "No plate can stay."]


def _of_the_sheet(blanks: Sequence[BlankCheck]) -> list[str]:
    if not blanks:
        return []
    wrong = [blank for blank in blanks if blank.kind != "same"]
    if not wrong:
        several = len(blanks) > 1
        return [f"All {counted(len(blanks), 'blank')} are as the one-up." if several else "The blank is as the one-up."]
    of_each = []
    for kind, words in KINDS.items():
        numbers = [str(blank.number) for blank in wrong if blank.kind == kind]
        if numbers:
            named = f"blank{'s' * (len(numbers) > 1)} {with_and(numbers)}"
            which = named if len(numbers) <= MOST_NAMED else shown(len(numbers), "blanks")
            of_each.append(f"{which} {_are(numbers)} {words}")
    of_all = f"{len(wrong)} of {shown(len(blanks), 'blanks')}"
    return [f"{of_all} {_is(len(wrong))} not as the one-up: {'; '.join(of_each)}."]


def _names(names: Sequence[str]) -> str:
    return with_and(names) if len(names) <= MOST_NAMED else listed(names, MOST_NAMED)


def _are(names: Sequence[str]) -> str:
    return _is(len(names))


def _is(number: int) -> str:
    return "is" if number == 1 else "are"


def _in(name: str, names: Iterable[str]) -> bool:
    return any(same_name(name, other) for other in names)
