"""Quantities as people write them: ``0.45 mm``, ``18 pt`` board, ``1040 x 740 mm``, ``0.25 mm to 0.9 mm``.

A point is two things in this trade. Board thickness is counted in points of 0.001 in (also called thou); type
size and line width in points of 1/72 in. ``caliper_mm`` reads the first, everything else the second.

Every parser takes text (a plain number from Python is taken as if it had been written) and raises
``NotUnderstood``, a ``ValueError``, that says in words what was expected and, where a slip is likely, what was
probably meant. What is suggested can be read by the same parser.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from typing import Concatenate, Final, ParamSpec, TypeVar

from preflight.errors import NotUnderstood
from preflight.suggest import AMONG_FEW, nearest

INCH_MM: Final = 25.4
BOARD_POINT_MM: Final = 0.0254
TYPE_POINT_MM: Final = 25.4 / 72
THICKEST_BOARD_MM: Final = 5.0
"""Solid board stops well short of this; a caliper over it is a slip of the unit."""

LENGTHS: Final[Mapping[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "µm": 0.001,
    "um": 0.001,
    "micron": 0.001,
    "microns": 0.001,
    "in": INCH_MM,
    "inch": INCH_MM,
    "inches": INCH_MM,
    '"': INCH_MM,
}
BOARD_POINTS: Final[Mapping[str, float]] = dict.fromkeys(("pt", "point", "points", "thou"), BOARD_POINT_MM)
TYPE_POINTS: Final[Mapping[str, float]] = dict.fromkeys(("pt", "point", "points"), TYPE_POINT_MM)
AREAS: Final[Mapping[str, float]] = {"mm2": 1.0, "cm2": 100.0, "in2": INCH_MM**2}
WEIGHTS: Final[Mapping[str, float]] = {"g/m2": 1.0, "gsm": 1.0}
MASSES: Final[Mapping[str, float]] = {"kg": 1.0, "t": 1000.0}
SPEEDS: Final[Mapping[str, float]] = dict.fromkeys(("sheets/h", "sheets/hour", "sheets/hr", "sph"), 1.0)
MEASURED: Final = frozenset({"mm", "pt", "mm2", "%", "ppi", "g/m2", "sheets/h", "min"})
"""Units of readings; any other unit is a counted noun (``plates``)."""
TIMES: Final[Mapping[str, float]] = {"min": 1.0, "minutes": 1.0, "h": 60.0, "s": 1 / 60}

SQUARE: Final = re.compile(r"(?<=\d )((?:g/)?[cm]?m)2\b")
_NUMBER = re.compile(r"\d{1,12}(?:\.\d{1,12})?|\.\d{1,12}")
_FRACTION = re.compile(r"(?:(\d{1,6})[ -])?(\d{1,4})/(\d{1,4})")
_QUANTITY = re.compile(r"([+-]?[\d.,'/ -]*[\d.])\s*([^\d\s.,][^\d]*[2]?)?")
_THOUSANDS = re.compile(r"(?<![\d.,'/])\d{1,3}(?:(?:[ ']\d{3})+|(?:\.\d{3}){2,})(?![\d/])")
_TIMES_SIGN = re.compile(r"\s*[x×X*]\s*(?=[\d.,+-])")


@dataclass(frozen=True)
class Size:
    """A sheet or plate: across the press, and along the direction of travel."""

    across_mm: float
    along_mm: float

    def __str__(self) -> str:
        return f"{self.across_mm:g} x {self.along_mm:g} mm"


@dataclass(frozen=True)
class Range:
    """Both ends belong to it; the unit is that of the field it stands in (mm for a caliper)."""

    low: float
    high: float


_T = TypeVar("_T")
_P = ParamSpec("_P")
_Parser = Callable[Concatenate[object, _P], _T]
_SLIPS_AT_ONCE: Final = 3
"""A suggestion that cannot be read either leads to another so many times: a decimal comma, then a missing unit."""


def _suggests_what_it_reads(parse: _Parser[_P, _T]) -> _Parser[_P, _T]:
    @wraps(parse)
    def parsed(text: object, /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        try:
            return parse(text, *args, **kwargs)
        except NotUnderstood as fault:
            expected, suggestion = fault.expected, fault.suggestion
        for _ in range(_SLIPS_AT_ONCE if suggestion else 0):
            try:
                parse(suggestion, *args, **kwargs)
            except NotUnderstood as fault:
                suggestion = fault.suggestion
            else:
                raise NotUnderstood(expected, suggestion)
        raise NotUnderstood(expected)

    return parsed


@_suggests_what_it_reads
def length_mm(text: object) -> float:
    """A length in mm, zero or more; a bare number is mm."""
    return _quantity(text, LENGTHS, "a length such as 10 mm", bare="mm")


@_suggests_what_it_reads
def caliper_mm(text: object) -> float:
    """Board thickness in mm; ``pt`` and ``thou`` are 0.001 in; the unit has to be given."""
    value = _quantity(text, {**LENGTHS, **BOARD_POINTS}, "a board thickness with its unit, such as 0.45 mm or 18 pt")
    if not 0 < value <= THICKEST_BOARD_MM:
        number = _QUANTITY.fullmatch(_tidy(text))
        hint = _likely_caliper(number.group(1)) if number else ""
        raise NotUnderstood(f"a board thickness above 0 and up to {THICKEST_BOARD_MM:g} mm", hint)
    return value


@_suggests_what_it_reads
def size_mm(text: object) -> Size:
    """``1040 x 740 mm``: across, then along; a bare size is mm; each number may have its own unit."""
    if isinstance(text, Size):
        return text
    expected = "two lengths, across the press x along the travel, such as 1040 x 740 mm"
    tidy = _tidy(text)
    _refuse_separators(tidy, expected)
    parts = _TIMES_SIGN.split(tidy)
    if len(parts) != 2:
        raise NotUnderstood(expected)
    across, along = _same_unit(parts[0], parts[1])
    size = Size(_quantity(across, LENGTHS, expected, bare="mm"), _quantity(along, LENGTHS, expected, bare="mm"))
    if min(size.across_mm, size.along_mm) <= 0:
        raise NotUnderstood("a size above 0 both ways")
    return size


@_suggests_what_it_reads
def caliper_range_mm(text: object) -> Range:
    """``0.25 mm to 0.9 mm`` or ``10 to 36 pt``; the unit has to be given."""
    return _range(text, caliper_mm, "a range such as 0.25 mm to 0.9 mm")


@_suggests_what_it_reads
def weight_gsm(text: object) -> float:
    """Board weight in g/m2. Pounds depend on a trade's basis size and are refused."""
    if re.search(r"\d\s*(lb|lbs|#)\s*$", _tidy(text)):
        raise NotUnderstood("a weight in g/m² (pounds mean nothing without the basis size)")
    return _above_zero(_quantity(text, WEIGHTS, "a weight such as 295 g/m²"), "a weight above 0")


@_suggests_what_it_reads
def sheets_per_hour(text: object) -> float:
    """A speed in sheets an hour."""
    return _above_zero(_quantity(text, SPEEDS, "a speed such as 15000 sheets/h"), "a speed above 0")


@_suggests_what_it_reads
def percent(text: object) -> float:
    """``2 %`` is 2.0."""
    return _quantity(text, {"%": 1.0}, "a percentage such as 2 %")


@_suggests_what_it_reads
def minutes(text: object) -> float:
    """A time in minutes."""
    return _quantity(text, TIMES, "a time such as 12 min")


@_suggests_what_it_reads
def kilograms(text: object) -> float:
    """A mass in kg, above 0."""
    return _above_zero(_quantity(text, MASSES, "a mass such as 900 kg"), "a mass above 0")


@_suggests_what_it_reads
def count(text: object) -> int:
    """A whole number, zero or more."""
    tidy = _tidy(text)
    if not re.fullmatch(r"\d{1,9}", tidy):
        _refuse_separators(tidy, "a whole number")
        raise NotUnderstood("a whole number", tidy.replace(".", "") if re.fullmatch(r"\d{1,3}\.\d{3}", tidy) else "")
    return int(tidy)


@_suggests_what_it_reads
def number(text: object) -> float:
    """A number without a unit."""
    return _quantity(text, {}, "a number without a unit", bare="")


@_suggests_what_it_reads
def in_unit(text: object, unit: str) -> float:
    """A limit in the unit of the reading it is held against: ``in_unit("1 cm2", "mm2")`` is 100.0.

    Lengths, type sizes (points of 1/72 in) and areas are converted; in any other unit (``%``, ``ppi``, ``plates``)
    the text has to carry just that unit. A bare number is taken where the reading has no unit or is counted.
    """
    for table in ({**LENGTHS, **TYPE_POINTS}, AREAS, TIMES, WEIGHTS, SPEEDS):
        if unit in table:
            others = ", ".join(sorted(in_print(u) for u in table if len(u) < 4 and u != '"'))
            return _quantity(text, table, f"a value with its unit ({others})") / table[unit]
    if unit in ("%", "ppi"):
        return _quantity(text, {unit: 1.0}, f"a value in {unit}")
    nouns = {unit: 1.0, unit.removesuffix("s"): 1.0} if unit else {}
    return _quantity(text, nouns, f"a number of {unit}" if unit else "a number without a unit", bare=unit)


@_suggests_what_it_reads
def in_own_unit(text: object) -> float:
    """A value whose unit says what it is: lengths in mm, areas in mm2, ``%``, ``pt`` (1/72 in), ``ppi`` and minutes as
    they are, and bare numbers too.
    """
    plain = {"%": 1.0, "ppi": 1.0, "pt": 1.0, "min": 1.0}
    return _quantity(text, {**LENGTHS, **AREAS, **plain}, "a number with its unit (mm, mm², %, pt, ppi)", bare="")


def in_print(unit: str) -> str:
    """A unit as people read it: ``mm²`` for ``mm2``, ``g/m²`` for ``g/m2``; any other as it stands."""
    return f"{unit[:-1]}²" if unit in AREAS or unit in WEIGHTS and unit.endswith("2") else unit


def with_squares(text: str) -> str:
    """``1.7 cm2`` as ``1.7 cm²``; a name that ends in ``mm2`` is left alone."""
    return SQUARE.sub(r"\1²", text)


def shown(value: float, unit: str) -> str:
    """A number as reports show it: ``0.0 mm``, ``0.45 mm``, ``7 plates``, ``352 %``, ``1 plate``, ``2 mm²``."""
    if not math.isfinite(value):
        return f"{value} {unit}".strip()
    if unit in ("%", "ppi", "mm2", "g/m2", "sheets/h"):
        digits = 0 if abs(value) >= 10 or value == round(value) else 1
        return f"{value:.{digits}f} {in_print(unit)}"
    if unit in ("mm", "pt"):
        return f"{_length(value)} {unit}"
    figure = f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}".rstrip("0").rstrip(".")
    noun = in_print(unit.removesuffix("s") if figure == "1" and len(unit) > 2 else unit)
    return f"{figure} {noun}".strip()


def shown_limit(value: float, unit: str) -> str:
    """A number that somebody chose, as they would write it: ``2 mm``, ``0.25 mm``, ``340 %``."""
    noun = in_print(unit.removesuffix("s") if value == 1 and len(unit) > 2 and "/" not in unit else unit)
    figure = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{figure} {noun}".strip()


def _length(value: float) -> str:
    """Two decimals under 1 (thickness, hairlines), more under 0.1, one above 1; whole where it is whole."""
    if abs(value) >= 10 and abs(value - round(value)) < 0.05:
        return f"{value:.0f}"
    if 0.0005 <= abs(value) < 0.1:
        return f"{value:.2g}"
    text = f"{value:.2f}" if abs(value) < 1 else f"{value:.1f}"
    return text[:-1] if text.endswith("0") and "." in text[:-2] else text


def _tidy(text: object) -> str:
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise NotUnderstood("a number with its unit")
    plain = str(text).replace("\u00a0", " ").replace("\u202f", " ").replace("\u03bc", "µ").replace("\u2033", '"')
    plain = re.sub(r"(?<=[mn])²", "2", plain)
    return re.sub(r"\s+", " ", plain).strip()


def _quantity(text: object, units: Mapping[str, float], expected: str, bare: str | None = None) -> float:
    """Number and unit; ``bare`` is the unit of a number without one, None where it has to be asked for."""
    tidy = _tidy(text)
    _refuse_separators(tidy, expected)
    match = _QUANTITY.fullmatch(tidy)
    if not match:
        raise NotUnderstood(expected)
    figure, unit = match.group(1).strip(), (match.group(2) or "").strip().lower()
    if not unit and bare is None:
        raise NotUnderstood(expected, _with_likely_unit(figure, units))
    factor = 1.0 if not unit and not bare else units.get(unit or str(bare))
    if factor is None:
        raise NotUnderstood(expected, _nearest_unit(figure, unit, units))
    return _figure(figure, expected, fractions=factor == INCH_MM) * factor


def _figure(text: str, expected: str, *, fractions: bool) -> float:
    if _NUMBER.fullmatch(text):
        return float(text)
    fraction = _FRACTION.fullmatch(text)
    if fraction and not fractions:
        raise NotUnderstood(f"{expected}; fractions are read in inches only")
    if fraction and int(fraction.group(3)):
        whole, top, bottom = fraction.groups()
        return int(whole or 0) + int(top) / int(bottom)
    if text.startswith("-"):
        raise NotUnderstood(f"{expected}, not below 0")
    raise NotUnderstood(expected)


def _refuse_separators(tidy: str, expected: str) -> None:
    """A comma between digits is a decimal comma, or parts thousands as spaces and points do: none of it is read."""
    if not re.search(r"\d,\d", tidy):
        together = _THOUSANDS.sub(lambda match: re.sub(r"[ '.]", "", match.group()), tidy)
        if together != tidy:
            raise NotUnderstood(f"{expected}, with the digits of a number written together", together)
        return
    grouped = re.fullmatch(r"([1-9]\d{0,2}(?:,\d{3})+)(\D.*)?", tidy)
    if grouped:
        raise NotUnderstood(f"{expected}, written without commas", tidy.replace(",", ""))
    raise NotUnderstood(f"{expected}, with a decimal point", re.sub(r"(?<=\d),(?=\d)", ".", tidy))


def _with_likely_unit(figure: str, units: Mapping[str, float]) -> str:
    if "thou" in units:
        return _likely_caliper(figure)
    return f"{figure} {next(iter(units), '')}".strip()


def _likely_caliper(figure: str) -> str:
    """0.45 was meant in mm, 18 in points, 450 in µm."""
    if not _NUMBER.fullmatch(figure.strip()):
        return ""
    value = float(figure)
    if not 0 < value <= 2000:
        return ""
    return f"{figure.strip()} {'mm' if value <= 2 else 'pt' if value <= 60 else 'um'}"


def _nearest_unit(figure: str, unit: str, units: Mapping[str, float]) -> str:
    near = nearest(unit, units, at_least=AMONG_FEW) if len(unit) > 1 else ""  # "10 m" is not "10 µm"
    return f"{figure} {near}" if near else ""


def _same_unit(first: str, second: str) -> tuple[str, str]:
    """``40 x 28 in``: a first part without a unit has that of the second."""
    match = _QUANTITY.fullmatch(second)
    if match and match.group(2) and re.fullmatch(r"[\d.,'/ +-]+", first):
        return f"{first} {match.group(2)}", second
    return first, second


def _range(text: object, parse: Callable[[object], float], expected: str) -> Range:
    if isinstance(text, Range):
        return text
    tidy = _tidy(text)
    _refuse_separators(tidy, expected)
    parts = re.split(r"\s+to\s+", tidy)
    if len(parts) != 2:
        dashed = re.fullmatch(r"([\d.]+ ?[^\d\s-]*) ?[-–—] ?([\d.]+ ?\D*)", tidy)
        raise NotUnderstood(expected, f"{dashed.group(1).strip()} to {dashed.group(2).strip()}" if dashed else "")
    low, high = (_end(part, parse, expected, parts) for part in _same_unit(parts[0], parts[1]))
    if low > high:
        raise NotUnderstood("a range with the smaller end first", f"{parts[1]} to {parts[0]}")
    return Range(low, high)


def _end(text: str, parse: Callable[[object], float], expected: str, parts: list[str]) -> float:
    """One end of a range; where it is not understood, the whole range as it was probably meant is suggested."""
    try:
        return parse(text)
    except NotUnderstood as fault:
        meant = [_meant(part, parse) for part in parts]
        raise NotUnderstood(
            fault.expected if not all(meant) else expected, " to ".join(meant) if all(meant) else ""
        ) from None


def _meant(text: str, parse: Callable[[object], float]) -> str:
    """The text, or what was probably meant by it; empty where nobody can tell."""
    try:
        parse(text)
    except NotUnderstood as fault:
        return fault.suggestion
    return text


def _above_zero(value: float, expected: str) -> float:
    if value <= 0:
        raise NotUnderstood(expected)
    return value
