"""Field types of presses and tickets: text in, typed value out, and what an editor may accept."""

from __future__ import annotations

from typing import Annotated, Any

import pytest
from pydantic import TypeAdapter

from preflight.errors import NotUnderstood
from preflight.inputs.fields import (
    LONGEST_TEXT,
    Count,
    Length,
    OrEmpty,
    Speed,
    Text,
    YesNo,
    known_word,
    one_or_more,
    plain_text,
    short_form,
    some_words,
    spellings,
    text_or_texts,
    word,
    yes_or_no,
)


@pytest.mark.parametrize(
    ("given", "text"), [(" a b ", "a b"), (72, "72"), (0.5, "0.5"), ("x" * LONGEST_TEXT, "x" * 2000)]
)
def test_texts(given, text):
    assert plain_text(given) == text


@pytest.mark.parametrize("given", ["", "   ", None, True, ["a"], {"a": 1}, "x" * 2001])
def test_what_is_no_text(given):
    with pytest.raises(NotUnderstood) as refusal:
        plain_text(given)
    assert ("2000" in refusal.value.expected) is (given == "x" * 2001)


@pytest.mark.parametrize(("given", "texts"), [("a", ("a",)), (["a", 7], ("a", "7")), ((), ()), (7, ("7",))])
def test_one_text_or_several(given, texts):
    assert text_or_texts(given) == texts


@pytest.mark.parametrize("given", [{"a": "b"}, ["a", None], [["a"]], None])
def test_what_is_no_list_of_texts(given):
    with pytest.raises(NotUnderstood):
        text_or_texts(given)


@pytest.mark.parametrize(
    ("given", "said"), [("true", True), (" Yes ", True), (True, True), ("NO", False), ("false", False), (False, False)]
)
def test_yes_and_no(given, said):
    assert yes_or_no(given) is said


@pytest.mark.parametrize("given", ["1", "on", "", None, "truee"])
def test_what_is_neither(given):
    with pytest.raises(NotUnderstood):
        yes_or_no(given)


WORDS = ("uv", "led-uv", "water-based", "oxidising", "half-cut")


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("UV", "uv"),
        ("led uv", "led-uv"),
        (" LED-UV ", "led-uv"),
        ("conventional", "oxidising"),
        ("Aqueous", "water-based"),
        ("half cut", "half-cut"),
    ],
)
def test_words_of_a_list_are_those_used_everywhere(given, meant):
    assert known_word(given, WORDS) == meant
    assert known_word(given, WORDS, open_list=True) == meant


@pytest.mark.parametrize(
    ("given", "suggestion", "own"),
    [
        ("oxidisin", "oxidising", None),
        ("waterbased", "water-based", None),
        ("water", "water-based", "water"),  # near enough to be suggested, not to be a slip
        ("Soft-Touch", "", "soft-touch"),
    ],
)
def test_a_word_that_is_not_in_the_list(given, suggestion, own):
    with pytest.raises(NotUnderstood) as refusal:
        known_word(given, WORDS)
    assert refusal.value.suggestion == suggestion
    if own is None:
        with pytest.raises(NotUnderstood):
            known_word(given, WORDS, open_list=True)
    else:
        assert known_word(given, WORDS, open_list=True) == own


def read(kind: Any, value: object) -> Any:
    return TypeAdapter(kind).validate_python(value)


def schema(kind: Any) -> dict[str, Any]:
    return TypeAdapter(kind).json_schema()


def test_words_and_lists_of_words_as_fields():
    one, several = Annotated[str, word(*WORDS)], Annotated[tuple[str, ...], some_words(*WORDS)]
    assert read(one, "conventional") == "oxidising"
    assert read(several, "UV") == ("uv",)
    assert read(several, ["uv", "led uv"]) == ("uv", "led-uv")
    assert read(several, []) == ()
    own = Annotated[tuple[str, ...], some_words(*WORDS, open_list=True)]
    assert read(own, ["soft-touch"]) == ("soft-touch",)
    assert read(Annotated[str, word(*WORDS, open_list=True)], "soft-touch") == "soft-touch"


def test_what_an_editor_accepts_of_words():
    closed = schema(Annotated[str, word("uv", "oxidising")])
    assert closed["type"] == "string"
    assert set(closed["enum"]) == {"uv", "oxidising", "conventional", "oxidizing", "oxidative"}
    open_list = schema(Annotated[str, word("uv", open_list=True)])
    assert (open_list["examples"], "enum" in open_list) == (["uv"], False)
    several = schema(Annotated[tuple[str, ...], some_words("uv")])
    single = {"type": "string", "enum": ["uv"]}
    assert several == one_or_more(single) == {"anyOf": [single, {"type": "array", "items": single}]}
    assert spellings(["white"]) == ["white"]


def test_what_an_editor_accepts_of_quantities():
    """A unit has to be written but for lengths and counts; a decimal comma is flagged."""
    assert schema(Length)["type"] == schema(Count)["type"] == ["string", "number"]
    assert schema(Speed)["type"] == "string"
    assert schema(Speed)["pattern"] == r"^(?!.*\d,\d)"
    assert schema(YesNo) == {"enum": [True, False, "yes", "no"]}
    assert schema(Text)["type"] == ["string", "number", "boolean"]


def test_a_mapping_in_its_short_form():
    kind = Annotated[dict[str, str], short_form("file", {"type": "string"})]
    assert read(kind, "a.pdf") == read(kind, {"file": "a.pdf"}) == {"file": "a.pdf"}
    assert schema(kind)["anyOf"][0] == {"type": "string"}


def test_nothing_is_an_empty_mapping():
    kind = Annotated[dict[str, str], OrEmpty]
    assert read(kind, None) == {}
    assert read(kind, {"a": "b"}) == {"a": "b"}
    assert schema(kind)["anyOf"][0] == {"type": "null"}
