"""Field types of the press and ticket models: text in, typed value out, a sentence when it is wrong.

Every scalar of a YAML file arrives as text. Each type here is a parser of ``quantities`` or a closed word list,
with the JSON Schema that lets an editor accept what the parser accepts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from preflight import quantities
from preflight.errors import NotUnderstood
from preflight.kinds import SAME_WORD
from preflight.quantities import Range, Size
from preflight.suggest import AMONG_FEW, SLIP, nearest

_T = TypeVar("_T")

LONGEST_TEXT: Final = 2000
NO_DECIMAL_COMMA: Final = r"^(?!.*\d,\d)"


class ClosedKeys(BaseModel):
    """A mapping of a press profile or ticket: closed keys, cannot be changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


def plain_text(value: object) -> str:
    """A text; a number from Python is taken as written."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise NotUnderstood("text")
    text = str(value).strip()
    if not text or len(text) > LONGEST_TEXT:
        raise NotUnderstood("text" if not text else f"text of at most {LONGEST_TEXT} characters")
    return text


def text_or_blank(value: object) -> str | None:
    """A text; None for an empty one: a line that nobody has filled in yet."""
    return None if isinstance(value, str) and not value.strip() else plain_text(value)


def each_of(parse: Callable[[Any], _T], entries: Sequence[object]) -> tuple[_T, ...]:
    """The entries of a list, each read; one that is not understood is named by its number."""
    found = list[_T]()
    for number, entry in enumerate(entries):
        try:
            found.append(parse(entry))
        except NotUnderstood as fault:
            raise NotUnderstood(fault.expected, fault.suggestion, number) from None
    return tuple(found)


def text_or_texts(value: object) -> tuple[str, ...]:
    """One text or a list of them."""
    if isinstance(value, list | tuple):
        return each_of(plain_text, value)
    if isinstance(value, Mapping):
        raise NotUnderstood("a text or a list of texts")
    return (plain_text(value),)


def signed(value: object) -> float:
    """A number without a unit that may be below 0."""
    text = plain_text(value)
    return -quantities.number(text[1:]) if text.startswith("-") else quantities.number(text)


def yes_or_no(value: object) -> bool:
    """``true``, ``false``, ``yes``, ``no``."""
    word = str(value).strip().lower()
    if word not in ("true", "false", "yes", "no"):
        raise NotUnderstood("true or false")
    return word in ("true", "yes")


def known_word(value: object, words: Sequence[str], *, open_list: bool = False) -> str:
    """The word of the list that was meant.

    Raises:
        NotUnderstood: no such word. With ``open_list`` only where a word of the list is so near that this must be
            a slip; other words are the plant's own and are taken as they are.
    """
    given = plain_text(value).lower()
    given = SAME_WORD.get(given, given)
    for known in words:
        if given in (known, known.replace("-", " ")):
            return known
    near = nearest(given, words, at_least=SLIP if open_list else AMONG_FEW)
    if open_list and not near:
        return given
    raise NotUnderstood("one of " + ", ".join(words), near)


@dataclass(frozen=True, eq=False)
class Parsed:
    """Field metadata: how the text is read, and the JSON Schema of what an editor may accept."""

    parse: Callable[[Any], Any]
    schema: Mapping[str, Any]
    unit: str = ""
    """Of the value, where it is a quantity; each length of a size or a range has it."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return dict(self.schema)


def word(*words: str, open_list: bool = False) -> Parsed:
    """One word of a list; see ``known_word``."""
    return Parsed(lambda value: known_word(value, words, open_list=open_list), _word_schema(words, open_list))


def some_words(*words: str, open_list: bool = False) -> Parsed:
    """One word of a list, or several in a YAML list; a tuple either way."""

    def parse(value: object) -> tuple[str, ...]:
        def read(item: object) -> str:
            return known_word(item, words, open_list=open_list)

        return each_of(read, value) if isinstance(value, list | tuple) else (read(value),)

    return Parsed(parse, one_or_more(_word_schema(words, open_list)))


@dataclass(frozen=True, eq=False)
class AlsoWritten:
    """Field metadata: another way to write the same, turned into the usual one before it is read."""

    convert: Callable[[Any], Any]
    schema: Mapping[str, Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.convert, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [dict(self.schema), handler(schema)]}


def short_form(key: str, schema: Mapping[str, Any]) -> AlsoWritten:
    """A mapping that may be written as one text, which then is the value of ``key``."""
    return AlsoWritten(lambda value: {key: value} if isinstance(value, str) else value, schema)


def one_or_more(schema: Mapping[str, Any]) -> dict[str, Any]:
    """JSON Schema of a thing or a list of such things."""
    return {"anyOf": [dict(schema), {"type": "array", "items": dict(schema)}]}


def _word_schema(words: Sequence[str], open_list: bool) -> dict[str, Any]:
    return {"type": "string"} | ({"examples": list(words)} if open_list else {"enum": spellings(words)})


def spellings(words: Sequence[str]) -> list[str]:
    """The words and the synonyms that are read as one of them."""
    return [*words, *(other for other, word in SAME_WORD.items() if word in words)]


def _quantity(parse: Callable[[object], Any], *examples: str, unit: str = "mm", bare: bool = False) -> Parsed:
    """``bare``: a number without a unit is read too."""
    kinds: str | list[str] = ["string", "number"] if bare else "string"
    return Parsed(parse, {"type": kinds, "pattern": NO_DECIMAL_COMMA, "examples": list(examples)}, unit)


SCALAR: Final = {"type": ["string", "number", "boolean"]}
Text = Annotated[str, Parsed(plain_text, SCALAR)]
TextOrBlank = Annotated[str | None, Parsed(text_or_blank, SCALAR)]
Texts = Annotated[tuple[str, ...], Parsed(text_or_texts, one_or_more(SCALAR))]
YesNo = Annotated[bool, Parsed(yes_or_no, {"enum": [True, False, "yes", "no"]})]
Length = Annotated[float, _quantity(quantities.length_mm, "10 mm", "3/8 in", bare=True)]
Caliper = Annotated[float, _quantity(quantities.caliper_mm, "0.45 mm", "18 pt")]
CaliperRange = Annotated[Range, _quantity(quantities.caliper_range_mm, "0.25 mm to 0.9 mm")]
SheetSize = Annotated[Size, _quantity(quantities.size_mm, "1040 x 740 mm", "40 x 28 1/8 in")]
Weight = Annotated[float, _quantity(quantities.weight_gsm, "295 g/m2", unit="g/m2")]
Speed = Annotated[float, _quantity(quantities.sheets_per_hour, "15000 sheets/h", unit="sheets/h")]
Percent = Annotated[float, _quantity(quantities.percent, "2 %", unit="%")]
Minutes = Annotated[float, _quantity(quantities.minutes, "12 min", unit="min")]
Mass = Annotated[float, _quantity(quantities.kilograms, "900 kg", unit="kg")]
Number = Annotated[float, _quantity(quantities.number, "1.4", unit="", bare=True)]
SignedNumber = Annotated[float, Parsed(lambda value: signed(value), {"type": ["number", "string"]})]
Count = Annotated[int, _quantity(quantities.count, "32", unit="", bare=True)]

OrEmpty: Final = AlsoWritten(lambda value: {} if value is None else value, {"type": "null"})
"""``edges:`` with nothing after it is the same as leaving the key out."""
