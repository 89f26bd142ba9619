"""The closed language of limits and conditions, and how a value is held against one.

    below V   above V   outside LOW to HIGH   is V   is not V   one of [V, V]   not one of [V, V]

V is a value with its unit, a word, or a reference into press, ticket or job. A limit names what is *objected to*:
``fail: below 2 mm`` fails what is below 2 mm. There is no arithmetic and no ``and``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from preflight.errors import NotUnderstood
from preflight.findings import Value
from preflight.judging.references import Reference, is_reference, reference
from preflight.quantities import MEASURED, Range, Size, in_own_unit, in_unit, shown, shown_limit, size_mm

COMPARISONS: Final = ("below", "above", "outside", "is not", "is", "not one of", "one of")
_EPSILON: Final = 1e-9
_FORM: Final = "a limit: below, above, outside, is, is not, one of [..] or not one of [..], and a value"

LookUp = Callable[[Reference], Any]
Operand = float | str | bool | Size | Range | tuple[str, ...] | tuple[float | Size, ...]


@dataclass(frozen=True)
class Limit:
    """One comparison; the right-hand side as written."""

    comparison: str
    right: str | tuple[str, ...] | Reference

    def __str__(self) -> str:
        if isinstance(self.right, tuple):
            return f"{self.comparison} [{', '.join(self.right)}]"
        return f"{self.comparison} {self.right.text if isinstance(self.right, Reference) else self.right}"


@dataclass(frozen=True)
class Outcome:
    """A value held against a limit."""

    trips: bool
    limit: Value | None
    """The limit in the unit of the value, for scales; None where it is a yes or no."""
    words: str
    """The limit as people read it: ``minimum 2 mm``, ``one of uv, led-uv``."""
    figure: str
    """The limit on its own: ``2 mm``."""
    excess: float = 0.0
    """How far beyond the limit, in the value's unit; 0 for words."""


def read_limit(text: object) -> Limit:
    """Read a limit; raises NotUnderstood on anything outside the language or a reference that leads nowhere."""
    if not isinstance(text, str):
        raise NotUnderstood(_FORM)
    tidy = re.sub(r"\s+", " ", text).strip()
    comparison = next((word for word in COMPARISONS if tidy.startswith(word + " ")), None)
    if comparison is None:
        raise NotUnderstood(_FORM)
    right = tidy.removeprefix(comparison).strip()
    _refuse_two_in_one(comparison, right)
    if is_reference(right):
        return Limit(comparison, reference(right))
    if comparison.endswith("one of"):
        inner = re.fullmatch(r"\[(.*)\]", right)
        words = tuple(word.strip().strip("\"'") for word in inner.group(1).split(",")) if inner else ()
        if not all(words) or not words:
            raise NotUnderstood(f"{comparison} [word, word], or a reference to a list")
        return Limit(comparison, words)
    return Limit(comparison, right)


def _refuse_two_in_one(comparison: str, right: str) -> None:
    """Raises NotUnderstood, with what is meant, on ``is not one of [..]``, ``is below 2 mm`` and ``is [..]``."""
    second = "one of" if right.startswith("[") else next((w for w in COMPARISONS if right.startswith(f"{w} ")), "")
    if comparison not in ("is", "is not") or not second:
        return
    rest = right.removeprefix(second).strip()
    if second == "one of" and not rest.startswith("[") and not is_reference(rest):
        meant = f"{'not ' * (comparison == 'is not')}one of [{rest}]" if "," in rest else f"{comparison} {rest}"
    elif comparison == "is":
        meant = f"{second} {rest}"
    else:
        meant = f"not one of {rest}" if second == "one of" else ""
    raise NotUnderstood(_FORM, meant if _is_limit(meant) else "")


def _is_limit(text: str) -> bool:
    try:
        read_limit(text)
    except NotUnderstood:
        return False
    return True


def hold(
    value: Value, limit: Limit, unit: str, look_up: LookUp, tolerance: float = 0.0, cap: float | None = None
) -> Outcome:
    """Hold a reading against a limit.

    Args:
        value: the reading; a tuple is a sheet's two dimensions, each of which is compared.
        limit: what is objected to.
        unit: of the reading; a literal limit is converted into it.
        look_up: gives the value of a reference, or raises NotMeasured.
        tolerance: a numeric limit missed by no more than this is not missed.
        cap: a numeric limit is at most this.

    Raises:
        NotMeasured: the limit refers to what is not there.
        TypeError: a word is compared with a number.
    """
    right = look_up(limit.right) if isinstance(limit.right, Reference) else typed(limit, unit)
    if limit.comparison in ("below", "above"):
        return _beyond(value, right, limit.comparison, unit, tolerance, cap)
    if limit.comparison == "outside":
        return _outside(value, right, unit, tolerance)
    return _word(value, right, limit.comparison, unit)


def typed(limit: Limit, unit: str) -> Operand:
    """The right-hand side of a limit that is no reference; raises NotUnderstood where it has another unit."""
    right = limit.right
    if isinstance(right, tuple):
        return tuple(_literal(word, unit) for word in right) if unit else right
    text = str(right)
    if limit.comparison == "outside":
        ends = re.split(r"\s+to\s+", text)
        if len(ends) != 2:
            raise NotUnderstood(f"outside LOW to HIGH, such as outside {text} to {text}")
        low = ends[0] if re.search(r"[^\d.]", ends[0]) else ends[0] + re.sub(r"^[\d.\s]+", " ", ends[1])
        low_value, high_value = _number(low, unit), _number(ends[1], unit)
        if low_value > high_value:
            raise NotUnderstood("the smaller end first")
        return Range(low_value, high_value)
    if limit.comparison in ("below", "above"):
        return _literal(text, unit)
    if text in ("true", "false"):
        return text == "true"
    return _literal(text, unit) if unit else text


def _literal(text: str, unit: str) -> float | Size:
    """A number in the unit of the reading; two lengths with a times sign between them are a size."""
    is_size = unit in ("mm", "") and re.search(r"\d\s*[a-z]*\s*[x×]\s*\d", text, re.IGNORECASE)
    return size_mm(text) if is_size else _number(text, unit)


def _number(text: str, unit: str) -> float:
    """A literal in the unit of the reading; where that has none, points are two things."""
    if unit:
        return in_unit(text, unit)
    if re.search(r"\d\s*(pt|points?)$", text):
        raise NotUnderstood("a length in mm or in; a point is two things")
    return in_own_unit(text)


def _beyond(value: Value, right: object, comparison: str, unit: str, tolerance: float, cap: float | None) -> Outcome:
    pairs = [(float(a), float(b)) for a, b in zip(_numbers(value), _numbers(right), strict=True)]
    if cap is not None:
        pairs = [(a, min(b, cap)) for a, b in pairs]
    sign = 1 if comparison == "above" else -1
    excess = max(sign * (a - b) for a, b in pairs)
    limits = tuple(b for _, b in pairs)
    figure = shown_limit(limits[0], unit) if len(limits) == 1 else str(Size(limits[0], limits[1]))
    words = f"{'maximum' if sign > 0 else 'minimum'} {figure}"
    if sign > 0 and not any(limits) and unit not in MEASURED:
        words = "none"  # of what is counted
    number: Value = limits[0] if len(limits) == 1 else (limits[0], limits[1])
    return Outcome(excess > tolerance + _EPSILON, number, words, figure, excess)


def _outside(value: Value, right: object, unit: str, tolerance: float) -> Outcome:
    if not isinstance(right, Range):
        raise TypeError(f"outside wants a range and got {right!r}")
    number = _one_number(value)
    below, above = right.low - number, number - right.high
    figure = f"{shown_limit(right.low, unit)} to {shown_limit(right.high, unit)}"
    excess = max(below, above)
    end = right.low if below >= above else right.high
    return Outcome(excess > tolerance + _EPSILON, end, figure, figure, excess)


def _word(value: Value, right: object, comparison: str, unit: str) -> Outcome:
    several = right if isinstance(right, tuple | frozenset) else (right,)
    held = any(_same(value, option) for option in several)
    trips = held != comparison.startswith(("is not", "not"))
    names = [_name(option, unit) for option in several]
    figure = ", ".join(names)
    if isinstance(right, bool):
        return Outcome(trips, None, "", figure)
    wanted = comparison.startswith(("is not", "not"))  # what is not V is objected to, so V is asked for
    words = f"{'' if wanted else 'not '}{'one of ' if len(names) > 1 else ''}{figure}"
    return Outcome(trips, right if isinstance(right, str | float | int) else figure, words, figure)


def _same(value: object, option: object) -> bool:
    """Words without regard to case, sizes both ways; of a list, whether it holds the word."""
    if isinstance(option, Size):
        return all(abs(a - b) <= _EPSILON for a, b in zip(_numbers(value), _numbers(option), strict=True))
    if isinstance(value, tuple | frozenset) and not _is_size(value):
        return any(_same(item, option) for item in value)
    if isinstance(value, bool) or isinstance(option, bool):
        return str(value).lower() == str(option).lower()
    if isinstance(value, int | float):
        return _is_number(option) and abs(value - float(str(option))) <= _EPSILON
    return str(value).casefold() == str(option).casefold()


def _is_size(value: Sequence[object] | frozenset[object]) -> bool:
    return len(value) == 2 and all(isinstance(item, int | float) for item in value)


def _is_number(option: object) -> bool:
    return bool(re.fullmatch(r"[\d.]+", str(option)))


def _name(option: object, unit: str) -> str:
    return shown(option, unit) if isinstance(option, int | float) and not isinstance(option, bool) else str(option)


def _numbers(value: object) -> tuple[float, ...]:
    if isinstance(value, Size):
        return (value.across_mm, value.along_mm)
    if isinstance(value, tuple):
        return tuple(_one_number(item) for item in value)
    return (_one_number(value),)


def _one_number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"a number was wanted and {value!r} found")
    return float(value)
