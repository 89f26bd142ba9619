"""The nearest known word."""

import pytest

from preflight.suggest import AMONG_FEW, NEAR, SLIP, likeness, nearest

WORDS = ["sheet", "sheets", "Plate", "one-up"]


@pytest.mark.parametrize(
    ("given", "at_least", "meant"),
    [
        ("shet", None, "sheet"),
        ("PLATE", None, "Plate"),
        ("plates", None, "Plate"),
        ("oneup", None, "one-up"),
        ("ink", None, ""),
        ("pate ink", AMONG_FEW, "Plate"),
        ("pate ink", SLIP, ""),
        ("", None, ""),
    ],
)
def test_the_nearest_known_word(given, at_least, meant):
    assert nearest(given, iter(WORDS), **({} if at_least is None else {"at_least": at_least})) == meant


def test_of_two_spelt_alike_the_first_is_offered():
    assert nearest("gold", ["Gold", "GOLD"]) == "Gold"


def test_likeness_does_not_look_at_the_case():
    assert likeness("Sheet", "sHEET") == 1
    assert likeness("sheet", "ink") < 0.2


def test_nobody_guesses_in_a_way_of_their_own():
    from tests.test_architecture import MODULES, PACKAGE, imports_of

    guessing = {str(path.relative_to(PACKAGE)) for path in MODULES if "difflib" in imports_of(path)}
    assert guessing == {"suggest.py"}


@pytest.mark.parametrize(
    ("given", "known", "at_least", "meant"),
    [
        ("abcde", "abcxy", NEAR, "abcxy"),  # three of five letters: 0.6
        ("abcdef", "abcxyz", AMONG_FEW, "abcxyz"),  # three of six: 0.5
        ("abcdef", "abcxyz", NEAR, ""),
        ("abcde", "abcdx", SLIP, "abcdx"),  # four of five: 0.8
        ("abcd", "abcx", SLIP, ""),
    ],
)
def test_a_word_just_as_near_as_is_asked_is_offered(given, known, at_least, meant):
    assert nearest(given, [known], at_least=at_least) == meant


def test_the_nearest_of_several_is_offered():
    assert nearest("metalic", ["metal", "metallic", "italic"]) == "metallic"
    assert nearest("metalic", []) == ""
