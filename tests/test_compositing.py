"""Groups laid on what is below them: blend functions and the compositing formula, by numbers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking.compositing import (
    NONSEPARABLE_FUNCTIONS,
    SEPARABLE_FUNCTIONS,
    lay_blended,
    lay_on,
    lay_through,
    mask_of,
    plates_of_light,
)


def canvas(*pixels: tuple[int, int, int, int]) -> np.ndarray:
    """Pixels in a row: blue, green, red and alpha."""
    return np.array([pixels], np.uint8)


@pytest.mark.parametrize(
    ("mode", "below", "above", "expected"),
    [
        ("Multiply", 0.3, 0.8, 0.24),
        ("Screen", 0.3, 0.8, 0.86),
        ("Overlay", 0.3, 0.8, 0.48),  # the colour below decides: 2 x 0.3 x 0.8
        ("Overlay", 0.8, 0.3, 0.72),  # 0.3 screened by 0.6
        ("HardLight", 0.3, 0.8, 0.72),  # the colour above decides
        ("HardLight", 0.8, 0.3, 0.48),
        ("HardLight", 0.3, 0.5, 0.3),
        ("Darken", 0.3, 0.8, 0.3),
        ("Darken", 0.7, 0.2, 0.2),
        ("Lighten", 0.3, 0.8, 0.8),
        ("Lighten", 0.7, 0.2, 0.7),
        ("ColorDodge", 0.3, 0.4, 0.5),
        ("ColorDodge", 0.2, 0.8, 1),
        ("ColorDodge", 0.3, 0.8, 1),
        ("ColorDodge", 0, 1, 0),
        ("ColorDodge", 0.5, 1, 1),
        ("ColorBurn", 0.7, 0.6, 0.5),
        ("ColorBurn", 0.7, 0.2, 0),
        ("ColorBurn", 0.3, 0.4, 0),
        ("ColorBurn", 1, 0, 1),
        ("ColorBurn", 0.5, 0, 0),
        ("SoftLight", 0.4, 0.25, 0.28),  # b - (1 - 0.5) b (1 - b)
        ("SoftLight", 0.4, 0.5, 0.4),
        ("SoftLight", 0.64, 0.75, 0.72),  # half way to the root
        ("SoftLight", 0.16, 0.75, 0.279168),  # half way to ((16 b - 12) b + 4) b
        ("SoftLight", 0.25, 1, 0.5),
        ("Difference", 0.3, 0.8, 0.5),
        ("Difference", 0.8, 0.3, 0.5),
        ("Exclusion", 0.3, 0.8, 0.62),
    ],
)
def test_separable_modes_are_those_of_the_standard(mode, below, above, expected):
    """ISO 32000-2, 11.3.5.2, table 134."""
    found = SEPARABLE_FUNCTIONS[mode](np.array([below]), np.array([above]))
    assert found.tolist() == pytest.approx([expected], abs=1e-6)


BELOW, ABOVE = (0.3, 0.4, 0.5), (0.1, 0.2, 0.6)
"""Blue, green and red: luminosities 0.419 and 0.309, saturations 0.2 and 0.5."""


@pytest.mark.parametrize(
    ("mode", "below", "above", "expected"),
    [
        ("Color", BELOW, ABOVE, (0.21, 0.31, 0.71)),
        ("Luminosity", BELOW, ABOVE, (0.19, 0.29, 0.39)),
        ("Saturation", BELOW, ABOVE, (0.1215, 0.3715, 0.6215)),
        ("Hue", BELOW, ABOVE, (0.3354, 0.3754, 0.5354)),
        ("Saturation", (0.4, 0.4, 0.4), ABOVE, (0.4, 0.4, 0.4)),  # grey has no hue to saturate
        ("Hue", BELOW, (0.7, 0.7, 0.7), (0.419, 0.419, 0.419)),
        ("Color", (0.9, 0.9, 0.9), (0, 0, 1), (0.857143, 0.857143, 1)),  # clipped: 1.6 of red comes down to 1
        ("Color", (0.1, 0.1, 0.1), (1, 1, 0), (0.142857, 0.142857, 0)),  # clipped: -0.6 of red comes up to 0
    ],
)
def test_nonseparable_modes_are_those_of_the_standard(mode, below, above, expected):
    """ISO 32000-2, 11.3.5.3."""
    found = NONSEPARABLE_FUNCTIONS[mode](np.array([[below]]), np.array([[above]]))
    assert found[0, 0].tolist() == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(
    ("blend", "expected"),
    [
        ("Normal", 140),  # (0.5 x 0.6 x 0.8 + 0.5 x 0.4) / 0.8
        ("Multiply", 133),  # the source is 0.4 x 0.4 + 0.6 x 0.32
        ("NoSuchMode", 140),
    ],
)
def test_a_group_is_laid_on_by_its_alpha_and_mask(blend, expected):
    """A colour of 0.8 at an alpha of 0.6 below, 0.4 at a half above: alpha is 0.6 + 0.5 - 0.3."""
    below = canvas((204, 204, 255, 153))
    lay_on(below, canvas((102, 102, 255, 255)), 0.5, blend)
    assert below.tolist() == [[[expected, expected, 255, 204]]]


def test_the_alpha_of_a_group_and_its_mask_are_multiplied():
    below = canvas((204, 204, 204, 255), (204, 204, 204, 255))
    lay_on(below, canvas((0, 51, 102, 127), (0, 51, 102, 127)), np.array([[0.5, 0.0]], np.float32), "Normal")
    assert below[0, 0].tolist() == pytest.approx([153, 166, 179, 255], abs=1)  # a quarter of the way
    assert below[0, 1].tolist() == [204, 204, 204, 255]


def test_where_nothing_is_there_is_bare_board():
    nothing = canvas((10, 20, 30, 0))
    lay_on(nothing, canvas((40, 50, 60, 0)), 1.0, "Normal")
    assert nothing.tolist() == [[[255, 255, 255, 0]]]
    lay_on(nothing, canvas((40, 50, 60, 255)), 1.0, "Multiply")
    assert nothing.tolist() == [[[40, 50, 60, 255]]]


def test_of_what_a_group_painted_a_share_is_kept():
    """Alpha 0.6 + a quarter of 0.2, ink 0.48 + a quarter of (0.8 x 0.4 - 0.48), which is 0.44 of 0.65."""
    now = canvas((102, 102, 102, 204))
    lay_through(now, canvas((204, 204, 204, 153)), 0.25)
    assert now.tolist() == [[[173, 173, 173, 166]]]


def test_a_group_with_a_blend_mode_is_laid_on_without_its_backdrop():
    """The group's own colour is 0.4 + (0.4 - 0.8) (0.6 / 0.6 - 0.6) = 0.24 (11.4.8); it is multiplied at 0.6 x 0.5."""
    now, before = canvas((102, 102, 102, 230)), canvas((204, 204, 204, 153))
    lay_blended(now, before, canvas((7, 8, 9, 153)), 0.5, "Multiply")
    assert now.tolist() == [[[141, 141, 141, 184]]]


def test_a_colour_without_its_backdrop_stays_within_bounds():
    now, before = canvas((51, 51, 255, 255)), canvas((204, 204, 204, 255))
    lay_blended(now, before, canvas((0, 0, 0, 102)), 1.0, "Normal")
    # Green is 0.2 - 0.6 x 1.5 at most 0, red 1 + 0.2 x 1.5 at most 1; 0.4 of it over 0.6 of what was there.
    assert now[0, 0].tolist() == pytest.approx([122, 122, 224, 255], abs=1)


def test_tall_canvases_are_composed_row_by_row_with_their_masks():
    """They are gone through in bands: what belongs to a row stays with it, the last ones too."""
    rows = 300
    levels = np.arange(rows) % 250
    below = np.full((rows, 2, 4), 255, np.uint8)
    group = np.zeros((rows, 2, 4), np.uint8)
    group[:, :, :3], group[:, :, 3] = levels[:, None, None], 255
    mask = np.ones((rows, 2), np.float32)
    mask[:, 1] = np.arange(rows) % 2
    lay_on(below, group, mask, "Normal")
    assert (below[:, 0, 0] == levels).all()
    assert (below[:, 1, 2] == np.where(np.arange(rows) % 2, levels, 255)).all()


@pytest.mark.parametrize(
    ("channels", "expected"),
    [
        (("Cyan", "Magenta", "Yellow"), (255, 204, 153)),
        (("Magenta", "Black", ""), (255, 153, 204)),
        (("Black",), (255, 255, 153)),
        (("Yellow", "", "Cyan"), (153, 255, 255)),
    ],
)
def test_light_is_brought_to_the_plates_of_its_channels(channels, expected):
    """Red 0.2, green 0.4, blue 0.6: cyan 0.4, magenta 0.2, no yellow, and black 0.4 (10.4.2.4)."""
    layer = canvas((153, 102, 51, 77))
    plates_of_light(layer, channels)
    assert layer.tolist() == [[[*expected, 77]]]


def test_light_of_tall_layers_is_brought_to_plates_in_every_row():
    layer = np.zeros((260, 3, 4), np.uint8)
    layer[:, :, :3] = (np.arange(260) % 256)[:, None, None]
    plates_of_light(layer, ("Black",))
    assert (layer[:, 0, 2] == np.arange(260) % 256).all()
    assert (layer[:, 0, 0] == 255).all()


def test_a_mask_is_what_shows_of_a_shape():
    shown = canvas((0, 204, 0, 255), (0, 255, 0, 255), (0, 0, 0, 255), (0, 100, 0, 255))
    whole = canvas((9, 153, 9, 255), (9, 255, 9, 255), (9, 55, 9, 255), (9, 255, 9, 255))
    assert mask_of(shown, whole).tolist() == [pytest.approx([0.5, 0, 1, 0])]
