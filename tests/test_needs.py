"""What a measure has to have: a bound that was hit hides what rests on it, and nothing else."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import shapely
from shapely import MultiLineString

from preflight.artwork.page.page import OverBound
from preflight.carton.die import Blank, Die
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.measures import needs
from tests.house import job_of, printed


def over(folder, *hits: str) -> Job:
    job = job_of(printed("Cyan"), folder, {"artwork_is": "one-up"})
    job.page.over_bounds += [OverBound(f"too much of {hit}", frozenset({hit})) for hit in hits]
    return job


@pytest.mark.parametrize(
    ("hits", "parts", "whole"),
    [
        ((), ("text", "images"), True),
        (("text",), (), True),
        (("text",), ("images",), True),
        (("text",), ("text",), False),
        (("text",), ("images", "text"), False),
        (("images", "text"), ("text",), False),
        (("objects",), (), False),
        (("plates",), ("text", "images"), True),
    ],
)
def test_a_bound_hides_only_what_rests_on_it(hits, parts, whole, tmp_path):
    job = over(tmp_path, *hits)
    if whole:
        assert needs.objects(job, *parts) is job.page.objects
    else:
        with pytest.raises(NotMeasured):
            needs.objects(job, *parts)


def bare(**more: Any) -> Any:
    """A job of which a measure looks at nothing else."""
    die = Die("none", "nothing is called one")
    given = {"press": None, "ticket": None, "die": die, "artwork_is": "one-up", "page": SimpleNamespace(number=4)}
    return SimpleNamespace(**{**given, **more})


def ticket(**keys: Any) -> Ticket:
    return Ticket.model_validate(keys)


def blank(**more: Any) -> Die:
    return Die(more.pop("found", "read"), "", blanks=(Blank(1, shapely.box(5, 6, 50, 40), MultiLineString()),), **more)


@pytest.mark.parametrize(
    ("ask", "want_of"),
    [
        (lambda: needs.press(bare()), "press"),
        (lambda: needs.ticket(bare(), "units"), "ticket"),
        (lambda: needs.said(None, "units"), "ticket"),
        (lambda: needs.said((), "units"), "ticket"),
        (lambda: needs.said(None, "cures", "press profile"), "press"),
        (lambda: needs.board_surface(bare()), "ticket"),
        (lambda: needs.board_surface(bare(ticket=ticket())), "ticket"),
        (lambda: needs.die(bare()), "file"),
        (lambda: needs.die(bare(die=blank(uncertain=("two lines may be the cut",)))), "file"),
        (lambda: needs.sure_inside(bare(artwork_is="sheet")), "file"),
        (lambda: needs.sure_inside(bare(die=blank(uncertain=("two lines may be the cut",)))), "file"),
        (lambda: needs.unit_list(bare()), "ticket"),
        (lambda: needs.unit_list(bare(ticket=ticket())), "ticket"),
    ],
)
def test_what_is_missing_is_wanted_of_whoever_can_give_it(ask, want_of):
    with pytest.raises(NotMeasured) as raised:
        ask()
    assert raised.value.want_of == want_of
    assert raised.value.because


def test_what_is_there_is_handed_out():
    its_ticket, its_press, its_die = ticket(board={"surface": "kraft"}), object(), blank()
    job = bare(ticket=its_ticket, press=its_press, die=its_die)
    assert needs.press(job) is its_press
    assert needs.ticket(job, "units") is its_ticket
    assert needs.board_surface(job) == "kraft"
    assert needs.die(job) is its_die
    for value in (0, "", 0.0, ("Cyan",)):
        needs.said(value, "units")
    needs.sure_inside(job)
    needs.sure_inside(bare())


def test_a_cut_that_is_uncertain_at_known_places_is_good_for_the_rest():
    doubtful = blank(uncertain=("two lines may be the cut", "a gap"), uncertain_places=((5, 6, 7, 8), (40, 30, 50, 40)))
    job = bare(die=doubtful)
    assert needs.die(job) is doubtful
    needs.sure_inside(job)
    gaps = needs.gaps_of_the_die(job)
    assert len(gaps) == 1
    assert [(place.box_mm, place.page) for place in gaps[0].places] == [((5, 6, 7, 8), 4), ((40, 30, 50, 40), 4)]
    assert needs.gaps_of_the_die(bare(die=blank())) == []


@pytest.mark.parametrize(
    ("found", "known"), [("stated", "stated"), ("read", "read"), ("assumed", "assumed"), ("none", "assumed")]
)
def test_how_the_inside_of_the_cut_is_known(found, known):
    assert needs.die_known(bare(die=Die(found, ""))) == known


def test_inks_are_told_once_there_are_plates():
    class NoPlates:
        inks, plan = ("Cyan",), "the plan"

        @property
        def plates(self):
            raise NotMeasured("over a bound")

    its_job: Any = NoPlates()
    for ask in (needs.inks, needs.plan):
        with pytest.raises(NotMeasured):
            ask(its_job)
    inks: Any = ("Cyan",)
    standing: Any = ("one",)
    drawn = bare(plates=object(), inks=inks, plan=SimpleNamespace(standing=standing))
    assert needs.inks(drawn) is inks
    assert needs.plan(drawn) is drawn.plan
    drawn.ticket = ticket(units=["Cyan"])
    assert needs.unit_list(drawn) is standing
