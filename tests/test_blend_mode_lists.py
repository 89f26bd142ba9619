"""Lists of blend modes are what comes of the formulas of ISO 32000-2, 11.3.5.2 and 11.3.5.3."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from preflight.artwork.platemaking.blend_modes import (
    CHANGING_WITH_ITSELF,
    DIFFERENT_ON_BARE_BOARD,
    NONSEPARABLE,
    NORMAL_ON_SPOTS,
    NOT_WHITE_PRESERVING,
)
from preflight.artwork.platemaking.compositing import NONSEPARABLE_FUNCTIONS, SEPARABLE_FUNCTIONS

Blend = Callable[[NDArray[np.floating], NDArray[np.floating]], NDArray[np.floating]]
FUNCTIONS: dict[str, Blend] = {**SEPARABLE_FUNCTIONS, **NONSEPARABLE_FUNCTIONS}
COLOURS = np.random.default_rng(3).uniform(0.05, 0.95, (500, 3))
BARE = np.ones_like(COLOURS)


def differing(backdrop: NDArray[np.floating], source: NDArray[np.floating], wanted: NDArray[np.floating]) -> set[str]:
    return {mode for mode, blend in FUNCTIONS.items() if not np.allclose(blend(backdrop, source), wanted, atol=1e-6)}


def test_every_nonseparable_mode_has_a_formula() -> None:
    assert set(NONSEPARABLE_FUNCTIONS) == NONSEPARABLE


def test_modes_that_do_not_preserve_white() -> None:
    assert differing(BARE, BARE, BARE) == NOT_WHITE_PRESERVING


def test_modes_that_change_a_colour_blended_with_itself() -> None:
    assert differing(COLOURS, COLOURS, COLOURS) == CHANGING_WITH_ITSELF


def test_modes_in_which_ink_over_white_is_not_the_ink() -> None:
    assert differing(BARE, COLOURS, COLOURS) == DIFFERENT_ON_BARE_BOARD


@pytest.mark.parametrize("mode", sorted(FUNCTIONS))
def test_spots_take_what_is_separable_and_preserves_white(mode: str) -> None:
    """Whether the first plate stays the same beside two others: a separable mode does not look at these."""
    blend, source, beside = FUNCTIONS[mode], COLOURS[::-1], COLOURS.copy()
    beside[:, 1:] = COLOURS[:, :0:-1]
    separable = bool(np.allclose(blend(COLOURS, source)[:, 0], blend(beside, source)[:, 0]))
    preserves = bool(np.allclose(blend(BARE, BARE), BARE))
    assert (mode in NORMAL_ON_SPOTS) is not (separable and preserves)
