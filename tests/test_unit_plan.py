"""Which coater lays a coating: what it takes and how it lays are two things, and both have to be so."""

from __future__ import annotations

import pytest

from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.setup.unit_plan import can_lay, free_coaters

PATTERNED, OVERALL = {"kind": "uv", "area": "Gloss Varnish"}, {"kind": "uv", "area": "overall"}


def press(*coaters: dict[str, list[str]]) -> Press:
    line = [{"unit": {}}, *({"coater": coater} for coater in coaters)]
    return Press.model_validate({"press": "P", "sheet": {"largest": "1050 x 750 mm"}, "line": line})


@pytest.mark.parametrize(
    ("coater", "kind", "area", "can"),
    [
        ({}, "uv", "plate", True),
        ({"takes": ["uv"]}, "uv", "plate", True),
        ({"takes": ["uv"]}, None, "plate", True),
        ({"takes": ["water-based"]}, "uv", "plate", False),
        ({"lays": ["overall"]}, "uv", "overall", True),
        ({"lays": ["overall"]}, "uv", "plate", False),
        ({"lays": ["plate"]}, "uv", "overall", False),
        ({"lays": ["cut blanket"]}, "uv", "plate", True),
        ({"lays": ["cut blanket"]}, "uv", "overall", False),
        ({"takes": ["uv"], "lays": ["overall"]}, "uv", "plate", False),
        ({"takes": ["uv"], "lays": ["overall"]}, None, "plate", False),
        ({"takes": ["water-based"], "lays": ["plate"]}, "uv", "plate", False),
        ({"takes": ["water-based", "uv"], "lays": ["overall", "plate"]}, "uv", "plate", True),
    ],
)
def test_a_coater_takes_the_kind_and_lays_it_as_wanted(coater, kind, area, can):
    assert can_lay(press(coater).coaters[0], kind, area) is can


@pytest.mark.parametrize(
    ("coating", "free"),
    [
        (None, [1, 2]),
        (PATTERNED, [1]),
        (OVERALL, [2]),
        ({"kind": "oil-based", "area": "overall"}, [2]),  # neither can: the first has to, and a rule says so
    ],
)
def test_the_coater_that_can_lay_the_coating_is_not_free(coating, free):
    two = press({"takes": ["uv"], "lays": ["overall"]}, {"takes": ["uv"], "lays": ["plate"]})
    ticket = Ticket.model_validate({} if coating is None else {"coating": coating}, context={"folder": "/jobs"})
    assert [coater.number for coater in free_coaters(two, ticket)] == free


def test_without_a_ticket_every_coater_is_free_and_none_is_none():
    assert [coater.number for coater in free_coaters(press({}, {}), None)] == [1, 2]
    assert free_coaters(press(), Ticket.model_validate({"coating": OVERALL}, context={"folder": "/jobs"})) == ()
