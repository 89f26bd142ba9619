"""What a separation looks like on a screen: by its alternate colour, where the colour space has one."""

from __future__ import annotations

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.colour.spot_spaces import is_separation

FUNCTION = Dictionary(FunctionType=2, Domain=[0, 1], N=1)


@pytest.mark.parametrize(
    ("space", "is_one"),
    [
        (Array([Name.Separation, Name.Brown, Name.DeviceCMYK, FUNCTION]), True),
        (Array([Name.Separation, Name.Brown, Name.DeviceCMYK]), False),
        (Array([Name.Separation]), False),
        (Array([Name.DeviceN, Array([Name.Brown]), Name.DeviceCMYK, FUNCTION]), False),
        (Array([]), False),
        (Name.Separation, False),
        (None, False),
    ],
)
def test_a_separation_has_four_parts(space, is_one):
    assert is_separation(space) is is_one
