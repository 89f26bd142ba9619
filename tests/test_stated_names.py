"""Names that the ticket gives to lines of the die, and what is said of those that the page does not have."""

from types import SimpleNamespace

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour, Colours, Family
from preflight.artwork.page.page import Layer
from preflight.artwork.page.separations import Separation
from preflight.carton.lines.stated_names import is_registration, names_not_found
from preflight.inputs.ticket import Ticket


def page(registration=False):
    colours = Colours()
    colours.add(Family.of(Colour("DeviceCMYK", (("Black", 1.0),))), np.array([0]))
    colours.add(Family.of(Colour("Separation", (("Black", 1.0),), registration=registration)), np.array([1]))
    return SimpleNamespace(
        separations=[Separation("Black", "process", ""), Separation("Cutting", "cut", "")],
        layers=[Layer("Artwork", True), Layer("Folding lines", True)],
        objects=SimpleNamespace(colours=colours),
    )


@pytest.mark.parametrize(
    ("name", "registration"),
    [
        ("All", True), ("registration", True), ("Registration  Colour", True), (" registration color ", True),
        ("Alle", False), ("Registered", False), ("", False),
    ],
)  # fmt: skip
def test_what_people_call_registration_colour(name, registration):
    assert is_registration(name) is registration


@pytest.mark.parametrize(
    ("lines", "registration", "missing"),
    [
        pytest.param({"cut": "Cutting", "crease": "Folding lines"}, False, [], id="a separation and a layer"),
        pytest.param({"cut": "Cuting"}, False, [("cut", "Cuting", "mean Cutting?")], id="a misspelt name"),
        pytest.param({"cut": "Zebra"}, False, [("cut", "Zebra", "")], id="nothing near"),
        pytest.param({"cut": ["Zebra", "Cutting"]}, False, [], id="one of two is there"),
        pytest.param(
            {"cut": "Zebra", "crease": "Cutting", "perforate": "Folding line"},
            False,
            [("cut", "Zebra", ""), ("perforate", "Folding line", "mean Folding lines?")],
            id="two of three roles",
        ),
        pytest.param(
            {"cut": ["Cuting", "Folding line"]}, False, [("cut", "Cuting, Folding line", " or ")], id="two names"
        ),
        pytest.param(
            {"cut": ["Cuting", "Cutingg"]}, False, [("cut", "Cuting", "mean Cutting?")], id="one hint for both"
        ),
        pytest.param({"cut": "All"}, True, [], id="registration colour"),
        pytest.param({"cut": "All"}, False, [("cut", "All", "")], id="no registration colour on the page"),
        pytest.param({"cut": "Zebra"}, True, [("cut", "Zebra", "")], id="another name, and registration colour"),
    ],
)
def test_names_that_the_page_does_not_have(lines, registration, missing):
    said = names_not_found(page(registration), Ticket.model_validate({"die": {"lines": lines}}))
    assert len(said) == len(missing)
    for words, (role, names, hint) in zip(said, missing, strict=True):
        assert f"{role} lines" in words
        assert names in words
        assert hint in words
        assert ("did you mean" in words) == bool(hint)


def test_without_a_ticket_no_name_is_missing():
    assert names_not_found(page(), None) == []
