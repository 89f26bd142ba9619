"""Dashed lines in the ink of the cut: folds, perforations, or a matter of taste."""

import pytest

from preflight.carton.lines.cut_or_crease import tell_roles
from tests.die_lines import line

SOLID = line([(1, 2), (40, 2)], drawn_in="Blue")
DASHED = line([(5, 2), (5, 30)], "unknown", dashed=True, drawn_in="Blue", known="stated")
FOLD = line([(9, 2), (9, 30)], "crease", drawn_in="Green")
TORN = line([(12, 2), (12, 30)], "perforate", dashed=True)


def roles(told):
    return [item.role for item in told.lines]


def test_dashed_lines_beside_solid_ones_fold_on_a_guess():
    told = tell_roles([SOLID, DASHED])
    assert roles(told) == ["cut", "crease"]
    assert [item.known for item in told.lines] == ["read", "assumed"]
    assert len(told.guessed_within) == 1
    assert "Blue" in told.guessed_within[0]
    assert told.notes == ()


def test_dashed_lines_perforate_where_something_else_folds():
    told = tell_roles([FOLD, SOLID, DASHED])
    assert roles(told) == ["crease", "cut", "perforate"]
    assert told.guessed_within == ()
    assert len(told.notes) == 1
    assert "Blue" in told.notes[0]


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        pytest.param([DASHED, DASHED], ["cut", "cut"], id="nothing is solid"),
        pytest.param([line([(1, 2), (11, 2)]), DASHED], ["cut", "cut"], id="10 mm is solid"),
        pytest.param([line([(1, 2), (11.1, 2)]), DASHED], ["cut", "crease"], id="more than 10 mm is solid"),
        pytest.param([FOLD, DASHED], ["crease", "cut"], id="only the crease is solid"),
        pytest.param([SOLID, TORN], ["cut", "perforate"], id="dashes that have a role"),
        pytest.param([line([(1, 2), (40, 2)], "unknown")], ["cut"], id="all solid"),
        pytest.param([], [], id="nothing"),
    ],
)
def test_what_dashes_are(lines, found):
    told = tell_roles(lines)
    assert roles(told) == found
    assert bool(told.guessed_within) == ("crease" in found and lines[0] is not FOLD)
    assert told.notes == ()


def test_what_is_not_dashed_is_known_as_before():
    told = tell_roles([line([(1, 2), (40, 2)], "unknown", known="stated"), FOLD])
    assert [item.known for item in told.lines] == ["stated", "read"]


def test_inks_of_dashed_lines_are_named_once_and_those_of_others_are_not():
    told = tell_roles([SOLID, line([(3, 2), (3, 9)], dashed=True, drawn_in="Red"), FOLD, DASHED, DASHED])
    assert "in Blue, Red " in told.notes[0]
    unnamed = tell_roles([SOLID, line([(3, 2), (3, 9)], dashed=True)])
    assert " in " not in unnamed.guessed_within[0].split("taken")[0]
