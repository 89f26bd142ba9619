"""Limits and conditions held, when rules are loaded, against what they will be held against on a job.

A limit is held against the readings of a measure, a condition of ``when`` against a value of the press profile, the
ticket or the job. What can never hold, or never can be compared, is refused with the nearest word; words are
taken as they are everywhere else (``conventional`` is ``oxidising``).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, get_args, get_origin

from preflight.errors import NotUnderstood
from preflight.inputs.fields import known_word
from preflight.judging.limits import Limit, LookUp, typed
from preflight.judging.references import Reference
from preflight.measures import Measure
from preflight.quantities import MEASURED, Range, Size, count, number, shown, shown_limit, size_mm
from preflight.suggest import nearest

Sort = Literal["a number", "a size", "a range", "true or false", "a word", "a list of words"]
SORTS: Final[dict[Any, Sort]] = {
    bool: "true or false",
    int: "a number",
    float: "a number",
    Size: "a size",
    Range: "a range",
}
ORDERED: Final = ("below", "above", "outside")
WORDS: Final = ("a word", "a list of words")
CALLED: Final = {
    "job.artwork_is": "artwork",
    "job.artwork_is_because": "reason for the kind of artwork",
    "job.artwork_is_known": "kind of artwork",
    "job.die.found": "die",
    "press.cures": "ink systems that they dry",
    "press.ink_keys.count": "number of ink keys",
    "press.unit_count": "number of units",
    "ticket.artwork_is": "artwork",
    "ticket.coating.clear": "areas left bare",
    "ticket.coating.kind": "coating",
    "ticket.sheet": "sheet size",
}
"""What is referred to, where its key does not say it in plain words."""


@dataclass(frozen=True)
class _Left:
    """What stands on the left of a limit: the readings of a measure, or the value of a reference."""

    called: str
    sort: Sort
    unit: str = ""
    words: tuple[str, ...] = ()
    """The words that it can be, where that is a closed list."""
    reference: Reference | None = None

    def word(self, given: str) -> str:
        """A word that it can be, as it is used everywhere; raises NotUnderstood on any other."""
        if self.reference is None or self.reference.parsed is None:
            return known_word(given, self.words) if self.words else given
        read = self.reference.parsed.parse(given)
        return str(read[0] if isinstance(read, tuple) else read)


def of_measure(limit: Limit, measure: Measure) -> Limit:
    """A limit for readings of a measure, its words as they are used everywhere; raises NotUnderstood on a slip."""
    sort: Sort = "a size" if measure.sizes else "a number" if measure.unit else "a word"
    return _fitted(limit, _Left(f"the readings of {measure.name}", sort, measure.unit, measure.words))


def of_reference(limit: Limit, ref: Reference) -> Limit:
    """The same for a condition on the value of a reference."""
    words = get_args(ref.kind) if get_origin(ref.kind) is Literal else ()
    left = _Left(ref.text, sort_of(ref.kind), ref.unit, tuple(map(str, words)), ref)
    if left.sort == "a range":
        raise NotUnderstood(f"a condition on a single value ({ref.text} is a range)")
    points = isinstance(limit.right, str) and re.search(r"\d\s*(pt|points?)$", limit.right)
    if points and left.unit == "mm":
        raise NotUnderstood("a length in mm or in; a point is two things")
    fitted = _fitted(limit, left)
    if left.sort == "a number" and not isinstance(fitted.right, Reference):
        _can_hold(fitted, ref)
    return fitted


def _can_hold(limit: Limit, ref: Reference) -> None:
    """Raises NotUnderstood on a number that the value of a reference never is: no count or measure is below 0."""
    if ref.kind is int and limit.comparison not in ORDERED:
        for text in _texts(limit):
            count(text)
    if limit.comparison == "below" and typed(limit, ref.unit) == 0:
        raise NotUnderstood(f"a number above 0, since {ref.text} is never below 0")


def sort_of(kind: Any) -> Sort:
    """What a value of a type is compared as."""
    if get_origin(kind) in (tuple, frozenset):
        return "a list of words"
    return SORTS.get(kind, "a word")


def _fitted(limit: Limit, left: _Left) -> Limit:
    if limit.comparison in ORDERED and left.sort in (*WORDS, "true or false"):
        raise NotUnderstood(f"is, is not, one of or not one of, since {left.called} {_be(left)} {left.sort}")
    if limit.comparison == "outside" and left.sort == "a size":
        raise NotUnderstood("below or above, since a size lies in no range")
    if isinstance(limit.right, Reference):
        _comparable(limit, left, limit.right)
        return limit
    if left.sort in WORDS:
        return replace(limit, right=_each(limit.right, left.word))
    if left.sort == "true or false":
        return replace(limit, right=_each(limit.right, _yes_or_no))
    if left.sort == "a size":
        return replace(limit, right=_each(limit.right, lambda text: str(size_mm(text))))
    _a_number(limit, left.unit)
    return limit


def _be(left: _Left) -> str:
    return "is" if left.reference else "are each"


def _each(right: str | tuple[str, ...] | Reference, read: Any) -> str | tuple[str, ...]:
    return tuple(read(word) for word in right) if isinstance(right, tuple) else read(right)


def _yes_or_no(text: str) -> str:
    if text not in ("true", "false"):
        raise NotUnderstood("true or false", nearest(text, ("true", "false")))
    return text


def _a_number(limit: Limit, unit: str) -> None:
    """Raises NotUnderstood where the right-hand side is no number of this unit."""
    ends = re.split(r"\s+to\s+", str(limit.right)) if limit.comparison == "outside" else None
    for text in () if unit else ends or _texts(limit):
        number(text)
    value = typed(limit, unit)
    if any(isinstance(one, Size) for one in (value if isinstance(value, tuple) else (value,))):
        raise NotUnderstood("one number, not a size")
    if isinstance(value, bool):
        raise NotUnderstood("a number with its unit" if unit else "a number")


def _texts(limit: Limit) -> Sequence[str]:
    return limit.right if isinstance(limit.right, tuple) else (str(limit.right),)


def _comparable(limit: Limit, left: _Left, right: Reference) -> None:
    """Raises NotUnderstood where what a reference stands for cannot be compared with what is on the left."""
    sort = sort_of(right.kind)
    if left.sort in WORDS:
        wanted: tuple[Sort, ...] = WORDS
    elif limit.comparison == "outside":
        wanted = ("a range",)
    else:
        wanted = (left.sort,)
    if sort not in wanted:
        raise NotUnderstood(f"a reference to {' or '.join(wanted)} ({right.text} is {sort})")
    if sort not in WORDS and _unit_of(left.unit) != _unit_of(right.unit):
        wanted_in, found = (f"in {unit}" if unit else "a plain number" for unit in (left.unit, right.unit))
        wanted_as = f"a value {wanted_in}" if left.unit else wanted_in
        raise NotUnderstood(f"a reference to {wanted_as}, as {left.called} ({right.text} is {found})")


def _unit_of(unit: str) -> str:
    """The unit; whatever is counted is a number."""
    return unit if unit in MEASURED else ""


# In words ----------------------------------------------------------------------------------------------------------


def why_not_asked(ref: Reference, limit: Limit, value: object, look_up: LookUp) -> str:
    """Why a rule is not asked on this job: ``only for jobs whose artwork is one-up (job.artwork_is) …``.

    ``look_up`` gives the value of what the limit refers to.
    """
    if ref.text == "ticket.nothing_coated":
        bare = (str(limit.right) == "true") == (limit.comparison == "is")
        return f"only for jobs that are {'not ' if bare else ''}coated ({ref.text})"
    what = "presses" if ref.root == "press" else "jobs"
    here = _value(value, ref.unit)
    return f"only for {what} {_asked(ref, limit, look_up)} ({ref.text}); here it is {here}"


def called(ref: Reference) -> str:
    """What a reference stands for, in plain words: ``board surface``."""
    return CALLED.get(ref.text, " ".join(ref.text.split(".")[1:]).replace("_", " "))


def _asked(ref: Reference, limit: Limit, look_up: LookUp) -> str:
    right = limit.right
    if isinstance(right, Reference):
        among = "among " if limit.comparison.endswith("one of") else ""
        several = f"{among}{right.text}, which is {_value(look_up(right), right.unit)}"
    else:
        several = " or ".join(right) if isinstance(right, tuple) else right
    negated = limit.comparison.startswith(("is not", "not"))
    if sort_of(ref.kind) == "a list of words":
        return f"{'without' if negated else 'with'} {several} among the {called(ref)}"
    if ref.text == "job.die.found":
        return _with_die(right, several, negated=negated)
    told = limit.comparison if limit.comparison in ORDERED else "not" if negated else ""
    return f"whose {called(ref)} is {told} {several}".replace("  ", " ")


def _with_die(right: str | tuple[str, ...] | Reference, several: str, *, negated: bool) -> str:
    """``without a die``, ``with a die``, or how the die has to be known."""
    if right in ("none", ("none",)):
        return "with a die" if negated else "without a die"
    words = several.replace("none", "missing")
    return f"whose die is {'not ' * negated}{words}"


def _value(value: object, unit: str) -> str:
    if isinstance(value, Range):
        return f"{shown_limit(value.low, unit)} to {shown_limit(value.high, unit)}"
    if isinstance(value, tuple | frozenset):
        return ", ".join(map(str, value)) or "nothing"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return shown(value, unit)
    return str(value).lower() if isinstance(value, bool) else str(value)
