"""What an object does to plates that its overprint leaves alone."""

from __future__ import annotations

import pytest

from preflight.artwork.platemaking.overprint import (
    BARE,
    SQUARED,
    blended_shapes,
    changes_plates_left_alone,
)
from preflight.artwork.platemaking.renderings import LUMINOSITY, SILHOUETTE, Rendering
from preflight.errors import CannotBeRendered

INKS, SPOTS = Rendering((("Cyan",), ("Gold",))), Rendering((("Gold",),))


@pytest.mark.parametrize(
    ("mode", "rendering", "changes"),
    [
        ("Normal", INKS, False),
        ("Darken", INKS, False),
        ("Lighten", INKS, False),
        ("Hue", INKS, False),
        ("Multiply", INKS, True),
        ("Screen", INKS, True),
        ("Difference", INKS, True),
        ("Difference", SPOTS, False),  # Normal on spots: 11.7.4.2
        ("Multiply", SPOTS, True),
        ("Multiply", LUMINOSITY, False),
        ("Multiply", SILHOUETTE, False),
        ("Multiply", Rendering(light="RGB"), True),
        ("Exclusion", Rendering(light="RGB"), True),
    ],
)
def test_which_modes_change_a_colour_that_they_blend_with_itself(mode, rendering, changes):
    assert changes_plates_left_alone(mode, rendering) == changes


def on_ink() -> bool:
    return True


def on_board() -> bool:
    return False


def unasked() -> bool:
    raise AssertionError("nobody has to know what lies below")


@pytest.mark.parametrize(
    ("mode", "meets", "isolated", "faint", "expected"),
    [
        ("Normal", unasked, False, False, []),
        ("Normal", unasked, True, True, [BARE]),
        ("Multiply", unasked, False, True, [SQUARED]),
        ("Multiply", on_board, True, False, [BARE]),
        ("Multiply", on_ink, True, False, [BARE, SQUARED]),
        ("Multiply", on_board, True, True, [BARE]),
        ("Screen", on_board, False, False, []),
        ("Screen", on_board, True, True, [BARE]),
    ],
)
def test_what_is_painted_on_plates_left_alone(mode, meets, isolated, faint, expected):
    assert blended_shapes(mode, INKS, meets, isolated=isolated, faint=faint) == expected


@pytest.mark.parametrize(("mode", "isolated", "faint"), [("Screen", False, False), ("Multiply", True, True)])
def test_what_cannot_be_blended_with_itself_is_refused(mode, isolated, faint):
    with pytest.raises(CannotBeRendered):
        blended_shapes(mode, INKS, on_ink, isolated=isolated, faint=faint)
