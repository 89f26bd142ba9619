"""Names on the ticket against those in the file: what was meant, and what is said of names that nobody has."""

import pytest

from preflight.artwork.page.separations import Separation
from preflight.inputs.ticket import Ticket
from preflight.job_facts import final_facts
from preflight.report.press_line import line_of, units_of
from preflight.setup.ticket_names import as_meant, only_on_ticket
from tests.drawn import Drawing
from tests.house import SIX_UNITS, job_of, printed, units, with_die

NAMES = ["Cyan", "Black", "Mill Brown", "MILL BROWN C", "Gloss Varnish"]


def meant(names=NAMES, **keys):
    return as_meant(Ticket.model_validate(keys), names)


@pytest.mark.parametrize(
    ("units", "names", "read"),
    [
        (["K", "c", None], NAMES, ["Black", "Cyan", None]),
        (["K"], [*NAMES, "K"], ["K"]),
        (["k"], [*NAMES, "K"], ["k"]),
        (["M"], NAMES, ["Magenta"]),
        ([{"overall": "K"}], NAMES, ["K"]),
        (["Black", "MY"], NAMES, ["Black", "MY"]),
    ],
)
def test_letters_are_process_inks_where_no_separation_has_that_name(units, names, read):
    found = meant(names, units=units)
    assert [entry.name for entry in found.ticket.units] == read
    assert [entry.overall for entry in found.ticket.units] == [isinstance(unit, dict) for unit in units]
    changed = read != [unit["overall"] if isinstance(unit, dict) else unit for unit in units]
    assert bool(found.assumed) == changed


@pytest.mark.parametrize(
    ("changes", "names", "read"),
    [
        (["K", "mill  brown", "Gold"], NAMES, ("Black", "Mill Brown", "Gold")),
        (["K"], [*NAMES, "K"], ("K",)),
        ([], NAMES, ()),
        (None, NAMES, None),
    ],
)
def test_changes_go_by_the_names_of_the_file(changes, names, read):
    """A plate that is gone may be listed, so that no name is unknown."""
    found = meant(names, changes=changes)
    assert (found.ticket.changes, found.unusable, found.assumed) == (read, (), ())


def test_a_letter_among_the_changes_that_the_ticket_explains_stays():
    assert meant(changes=["K"], separations={"K": "varnish"}).ticket.changes == ("K",)


def test_what_is_printed_overall_keeps_its_name_beside_letters():
    found = meant(units=[{"overall": "Matt"}, "K", None, {"overall": "Y"}, "Y"])
    assert [(entry.name, entry.overall) for entry in found.ticket.units] == [
        ("Matt", True), ("Black", False), (None, False), ("Y", True), ("Yellow", False),
    ]  # fmt: skip


def test_a_letter_that_the_ticket_explains_stays():
    found = meant(units=["K"], separations={"K": "varnish"})
    assert [entry.name for entry in found.ticket.units] == ["K"]


@pytest.mark.parametrize(
    ("keys", "inks", "words"),
    [
        pytest.param({"separations": {"Mill Brown": {"same_as": "Mill Braun"}}}, "Mill Brown", "MILL", id="lost"),
        pytest.param({"separations": {"Mill Brown": {"same_as": "Cyan"}}}, "Cyan", "", id="in the file"),
        pytest.param(
            {"separations": {"Mill Brown": {"same_as": "Earth"}}, "units": ["Earth"]}, "Earth", "", id="on a unit"
        ),
        pytest.param(
            {"separations": {name: {"same_as": "Earth"} for name in ("Mill Brown", "MILL BROWN C")}}, "Earth", "",
            id="of two inks",
        ),
        pytest.param({"separations": {"Mil Brown": "metallic"}}, "Mill Brown", "Mill Brown", id="a misspelt name"),
        pytest.param({"separations": {"Sky": "metallic"}}, "Mill Brown", "Sky", id="nothing near"),
        pytest.param({"separations": {"Sky": "varnish"}, "units": ["Sky"]}, "Mill Brown", "", id="only on the ticket"),
        pytest.param({"coating": {"area": "Glos Varnish"}}, "Mill Brown", "Gloss Varnish", id="the coating's area"),
        pytest.param({"coating": {"area": "gloss varnish"}}, "Mill Brown", "", id="other capitals"),
        pytest.param(
            {"coating": {"area": "Glos Varnish"}, "units": [None, "Black"]}, "Mill Brown", "Gloss Varnish",
            id="the coating's area, and a unit that is idle",
        ),
        pytest.param({"coating": {"area": "Sheen"}, "units": [None, "sheen"]}, "Mill Brown", "", id="on a unit only"),
        pytest.param({"coating": {"area": "overall"}}, "Mill Brown", "", id="overall"),
    ],
)  # fmt: skip
def test_names_that_nobody_has_are_said(keys, inks, words):
    found = meant(**keys)
    assert found.ticket.ink_of("Mill Brown") == inks
    assert len(found.unusable) == bool(words)
    assert all(words in (each.meant or each.statement) for each in found.unusable)


def test_the_job_tells_of_them(tmp_path):
    ticket = {"artwork_is": "one-up", "units": ["K"], "separations": {"Sky": "metallic"}}
    job = job_of(printed("Black"), tmp_path, ticket)
    assert [each.statement for each in job.unusable] == ["separations.Sky"]
    assert any("Black" in words for words in job.assumed)
    assert [ink.units for ink in job.inks if ink.separation.name == "Black"] == [(1,)]


@pytest.mark.parametrize(("name", "notes"), [("Cold Foil", 1), ("Hot Foil", 0)])
def test_a_cold_foil_needs_an_adhesive_plate(name, notes, tmp_path):
    page = with_die(Drawing(215, 200).fill(name, rect=(40, 60, 60, 80)))
    assert len(job_of(page, tmp_path, {"artwork_is": "one-up"}).notes) == notes


@pytest.mark.parametrize(
    ("ticket", "assumed"),
    [
        ({"artwork_is": "sheet"}, 2),
        ({"artwork_is": "sheet", "gripper_edge": "top"}, 1),
        ({"artwork_is": "sheet", "gripper_edge": "top", "sheet": {"size": "450 x 320 mm"}}, 0),
        ({"artwork_is": "one-up"}, 0),
    ],
)
def test_what_is_taken_for_granted_of_the_sheet_is_said(ticket, assumed, tmp_path):
    page = Drawing(450, 320).fill((0, 0, 0, 1), rect=(20, 100, 40, 120))
    assert len(job_of(page, tmp_path, ticket).assumed) == assumed


@pytest.mark.parametrize(
    ("unit", "kind"),
    [
        ("Cyan", "process"),
        ("MAGENTA", "process"),
        ("K", "process"),  # read as Black
        ({"overall": "Yellow"}, "process"),
        ("Silver Ink", "metallic"),
        ({"overall": "Opaque White"}, "white"),
        ("Matt Varnish", "varnish"),
        ({"overall": "Soft Touch"}, "varnish"),
        ({"overall": "Perforation"}, "varnish"),  # what is printed overall is no die
        ("Moss Green", "spot"),
    ],
)
def test_what_only_the_ticket_names_has_the_kind_of_its_name(unit, kind, tmp_path):
    """The page has Mill Brown alone, so that nothing else is in the file."""
    job = job_of(printed("Mill Brown"), tmp_path, {"artwork_is": "one-up", "units": ["Mill Brown", unit]})
    [ink] = [ink for ink in job.inks if not ink.in_file]
    assert (ink.separation.kind, ink.units) == (kind, (2,))


def test_a_unit_shows_the_ink_that_the_ticket_writes_otherwise(tmp_path):
    ticket = {"artwork_is": "one-up", "units": ["MILL  brown", "black", "Sky"]}
    job = job_of(printed("Mill Brown", "Black"), tmp_path, ticket)
    shown = [(unit["separation"], unit["kind"]) for unit in units_of(final_facts(job), [])]
    assert shown == [("Mill Brown", "spot"), ("Black", "process"), ("Sky", "spot")]


@pytest.mark.parametrize(
    ("unit", "separations", "shown"),
    [
        # The file has the ink under another name only: the unit had no kind.
        ("Moss Green", {"Mill Brown": {"same_as": "Moss Green"}}, ("Moss Green", "spot")),
        # The unit showed a name that no plate has.
        ("Mill Brown", {"Mill Brown": {"same_as": "Black"}}, ("Black", "process")),
        ("cyan", {"Mill Brown": {"same_as": "Cyan"}}, ("Cyan", "process")),
        ("black", {}, ("Black", "process")),
        # The file has it, and it has no plate.
        ("cutting", {}, ("Cutting", "cut")),
    ],
)
def test_units_of_the_report_show_what_the_plan_has_on_them(unit, separations, shown, tmp_path):
    ticket = {"artwork_is": "one-up", "units": [unit, None], "separations": separations}
    page = with_die(printed("Mill Brown", "Black"))
    job = job_of(page, tmp_path, ticket)
    units = units_of(final_facts(job), [])
    assert [(entry["separation"], entry["kind"]) for entry in units] == [shown, (None, None)]
    assert [(place.name, place.kind) for place in job.plan.standing] == [shown]


def test_what_the_ticket_says_of_a_name_goes_before_the_name(tmp_path):
    ticket = {"artwork_is": "one-up", "units": ["Mill Brown", "Silver Ink"], "separations": {"Silver Ink": "spot"}}
    job = job_of(printed("Mill Brown"), tmp_path, ticket)
    assert [ink.separation.kind for ink in job.inks if not ink.in_file] == ["spot"]


@pytest.mark.parametrize(
    ("coating", "told"),
    [
        ({"kind": "uv", "area": "overall", "clear": ["glue flap", "code"]}, "uv, overall, clear of glue flap and code"),
        ({"kind": "uv", "area": "overall", "clear": "none"}, "uv, overall"),
        ({"kind": "water-based", "area": "Gloss Varnish"}, "water-based, Gloss Varnish"),
        ({"kind": "uv"}, "uv, area not stated"),
        (None, None),
    ],
)
def test_the_coater_of_the_report_shows_the_coating_of_the_ticket(coating, told, tmp_path):
    ticket = {"artwork_is": "one-up", "units": ["Black"], **({"coating": coating} if coating else {})}
    stations = line_of(final_facts(job_of(printed("Black"), tmp_path, ticket, SIX_UNITS)))
    assert stations is not None
    assert [station["coating"] for station in stations if station["is"] == "coater"] == [told]


def test_what_a_coater_takes_and_lays_is_not_known_where_the_press_does_not_say(tmp_path):
    press = units({"unit": {}}, {"coater": {}}, {"coater": {"takes": ["uv"], "lays": ["overall"]}})
    unsaid, said = (
        s for s in line_of(final_facts(job_of(printed("Black"), tmp_path, {}, press))) if s["is"] == "coater"
    )
    assert (unsaid["takes"], unsaid["lays"]) == (None, None)
    assert (said["takes"], said["lays"]) == (["uv"], ["overall"])


def added(known, **keys):
    """What the ticket adds to separations of the file: name, kind, how it is known, and whether it is overall."""
    separations = [Separation(name, "spot", "") for name in known]
    found = only_on_ticket(Ticket.model_validate(keys), separations)
    return [(each.name, each.kind, each.known, overall) for each, overall in found]


@pytest.mark.parametrize(
    ("known", "keys", "names"),
    [
        pytest.param(["Sky"], {}, [], id="no unit list"),
        pytest.param(["Sky"], {"units": [None, "SKY", "Moss"]}, [("Moss", "spot", "read", False)], id="other capitals"),
        pytest.param(
            [],
            {"units": ["Moss", None, "Sky", "Moss"]},
            [("Moss", "spot", "read", False), ("Sky", "spot", "read", False)],
            id="a double hit",
        ),
        pytest.param(
            ["Sky"],
            {"units": ["Sky", {"overall": "Matt"}, "magenta"]},
            [("Matt", "varnish", "read", True), ("magenta", "process", "read", False)],
            id="overall",
        ),
        pytest.param(
            [], {"units": [{"overall": "Moss"}]}, [("Moss", "varnish", "stated", True)], id="overall by no name"
        ),
        pytest.param([], {"units": ["Cutting"]}, [("Cutting", "cut", "read", False)], id="a die"),
        pytest.param(
            [],
            {"units": ["Moss"], "separations": {"Moss": "metallic"}},
            [("Moss", "metallic", "stated", False)],
            id="with its kind",
        ),
        pytest.param(
            [],
            {"units": ["Moss"], "separations": {"Moss": {"printed_over": True}}},
            [("Moss", "spot", "read", False)],
            id="without",
        ),
        pytest.param(
            ["Sky"],
            {"units": ["Moss"], "separations": {"Moss": {"same_as": "Sky"}}},
            [],
            id="the same as one of the file",
        ),
        pytest.param(
            ["Sky"],
            {"units": ["Moss"], "separations": {"Sky": {"same_as": "Moss"}}},
            [],
            id="one of the file is the same",
        ),
        pytest.param(
            ["Sky"],
            {"units": ["Moss"], "separations": {"Moss": {"same_as": "Leaf"}}},
            [("Leaf", "spot", "read", False)],
            id="the same as another",
        ),
        pytest.param(
            ["Leaf"],
            {"units": [{"overall": "Moss"}], "separations": {"Moss": {"same_as": "Leaf"}}},
            [("Moss", "varnish", "stated", True)],
            id="overall goes by its own name",
        ),
    ],
)
def test_what_the_unit_list_adds(known, keys, names):
    assert added(known, **keys) == names


def test_without_a_ticket_nothing_is_added():
    assert only_on_ticket(None, [Separation("Sky", "spot", "")]) == []


def test_only_the_lost_name_and_only_the_letters_are_changed():
    found = meant(
        [*NAMES, "Sky"], units=["K", "Mill Brown", "y"],
        separations={"Sky": {"same_as": "Zebra", "kind": "metallic"}, "MILL BROWN C": {"same_as": "Mill Brown"}},
    )  # fmt: skip
    assert [entry.name for entry in found.ticket.units] == ["Black", "Mill Brown", "Yellow"]
    assert (found.ticket.separations["Sky"].same_as, found.ticket.separations["Sky"].kind) == (None, "metallic")
    assert found.ticket.ink_of("MILL BROWN C") == "Mill Brown"
    assert len(found.assumed) == 1
    assert "K and y" in found.assumed[0]
    assert "Black and Yellow" in found.assumed[0]


def test_a_ticket_that_says_what_it_means_is_left_alone():
    ticket = Ticket.model_validate({"units": ["Cyan", None], "separations": {"Mill Brown": "spot"}})
    found = as_meant(ticket, NAMES)
    assert found.ticket is ticket
    assert (found.assumed, found.unusable) == ((), ())


@pytest.mark.parametrize(
    ("keys", "kept"),
    [
        pytest.param({"coating": {"area": "earth"}}, True, id="the coating's area"),
        pytest.param({"units": [None, "EARTH"]}, True, id="on a unit"),
        pytest.param({"coating": {"kind": "uv"}, "units": [None]}, False, id="nowhere"),
    ],
)
def test_an_ink_may_be_the_same_as_what_the_ticket_names_elsewhere(keys, kept):
    found = meant(separations={"Mill Brown": {"same_as": "Earth"}}, **keys)
    assert found.ticket.ink_of("Mill Brown") == ("Earth" if kept else "Mill Brown")


def test_a_name_that_the_file_does_not_have_leads_nowhere_by_itself():
    found = meant(separations={"Zebra": {"same_as": "Earth"}})
    assert found.ticket.ink_of("Zebra") == "Earth"
    assert [each.statement for each in found.unusable] == ["separations.Zebra"]
