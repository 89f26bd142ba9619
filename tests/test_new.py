"""``preflight new``: what it writes loads as it is, and loads and checks with every line in force."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from preflight import check
from preflight.artwork.read_artwork import read_artwork
from preflight.cli.main import run
from preflight.drafting.press_draft import NAME, press_draft
from preflight.drafting.ticket_draft import ticket_draft
from preflight.drafting.yaml_text import text
from preflight.inputs.loading import load_press, load_ticket, load_yaml
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing

JOBS = Path(__file__).parents[1] / "sample_jobs"
SIX_UNITS = JOBS / "presses" / "six-units.yaml"


def in_force(draft: str) -> str:
    """With the # taken away before every setting; remarks have a blank after theirs."""
    return re.sub(r"^#(?! \S)", "", draft, flags=re.MULTILINE)


@pytest.fixture
def carton(tmp_path: Path) -> Path:
    """A carton of odd names: recognised, not recognised, in another script, with marks of YAML in them."""
    page = Drawing(220, 200)
    page.fill("Moss: Green #1", 1, rect=(30, 60, 90, 120)).fill("Grün, hell", 0.5, rect=(40, 70, 60, 90))
    page.fill("Copper", 1, rect=(100, 60, 120, 80)).fill("緑", 1, rect=(100, 90, 120, 100))
    page.stroke("Shade 9", [(35, 65), (80, 65)], close=False)
    page.gs(OP=True, op=True, OPM=1).fill('Top "7" \\', 1, rect=(60, 60, 80, 90))
    draw_die(page, reverse_tuck(at=(10, 10)))
    return page.save(tmp_path / "carton.pdf")


@pytest.fixture
def ticket(carton, tmp_path: Path, capsys) -> Path:
    out = tmp_path / "ticket.yaml"
    assert run(["new", "ticket", str(carton), "--press", str(SIX_UNITS), "--out", str(out)]) == 0
    assert str(out) in capsys.readouterr().out
    return out


def test_a_ticket_loads_as_it_is_and_states_what_the_file_does(ticket):
    loaded = load_ticket(ticket)
    assert loaded.artwork == ticket.parent / "carton.pdf"
    assert loaded.press is not None
    assert loaded.press.resolve() == SIX_UNITS.resolve()
    assert loaded.die.lines == {"cut": ("Cutting",), "crease": ("Creasing",)}
    assert (loaded.areas, loaded.artwork_is, loaded.units, loaded.separations) == ((), None, None, {})


def test_what_is_guessed_waits(ticket):
    draft = ticket.read_text()
    assert "\n#artwork_is: one-up " in draft
    assert re.search(r"\n#  - \{is: glue flap, box: \[10, ", draft)
    assert "\n#  Shade 9: cut  " in draft
    assert '\n#  "Moss: Green #1": spot' in draft
    assert re.search(r'\n#  "Top \\"7\\" \\\\": varnish +# all of it overprints', draft)
    assert "\n# Copper: metallic" in draft.replace('"', "")


def test_a_ticket_with_every_line_in_force_loads_and_checks(ticket):
    ticket.write_text(in_force(ticket.read_text()))
    loaded = load_ticket(ticket)
    assert [area.is_ for area in loaded.areas] == ["glue flap", "code"]
    x0, y0, x1, y1 = loaded.areas[0].box
    assert (x0, x1) == (10, 25)
    assert 50 < y0 < y1 < 150
    names = {"Moss: Green #1", "Grün, hell", "緑", 'Top "7" \\', "Shade 9"}
    assert set(loaded.separations) == names
    assert loaded.separations["Shade 9"].kind == "cut"
    assert loaded.artwork_is == "one-up"
    assert loaded.board.caliper == 0.45
    assert loaded.units is not None
    with check(ticket) as report:
        die = report.document["die"]
        assert die["found"] in ("stated", "read")
        assert not [area for area in die["areas"] if area["known"] == "assumed"]
        unknown = [note for note in report.document["notes"] if "no such separation" in note]
        assert unknown == []


@pytest.mark.parametrize("job", ["oat-biscuits", "winter-tea"])
def test_tickets_of_the_sample_jobs_load_and_check(job, tmp_path):
    art, out = JOBS / job / "artwork.pdf", tmp_path / "t.yaml"
    assert run(["new", "ticket", str(art), "--out", str(out)]) == 0
    assert load_ticket(out).press is None
    assert run(["check", str(out), "-q"]) in (0, 1)
    named = Path(tmp_path / "press.yaml")
    named.write_text(SIX_UNITS.read_text())
    out.write_text(in_force(out.read_text()))
    assert load_ticket(out).die.lines["cut"] == ("Cutting",)


def test_of_several_pages_the_first_is_drafted_and_that_is_said(tmp_path, capsys):
    page = Drawing(100, 80).fill("Leaf Green", rect=(0, 0, 100, 80))
    page.pdf.add_blank_page(page_size=(300, 200))
    assert run(["new", "ticket", str(page.save(tmp_path / "art.pdf"))]) == 0
    assert "\n# The file has 2 pages; " in capsys.readouterr().out


def test_a_page_without_a_die_has_the_line_to_fill_in(tmp_path):
    art = Drawing(100, 80).fill("Leaf Green", rect=(0, 0, 100, 80)).save(tmp_path / "art.pdf")
    draft = ticket_draft(read_artwork(art).pages[0], "art.pdf")
    assert "\n#die: {lines: {cut: [Cutting]}}" in draft
    assert "\n#press: press.yaml" in draft


def test_a_die_that_is_guessed_waits_too(tmp_path):
    page = Drawing(220, 200)
    page.fill("Leaf Green", rect=(30, 60, 90, 120))
    carton = reverse_tuck(at=(10, 10))
    for lines in (carton.cut, carton.crease):
        dash = (2.0, 1.0) if lines is carton.crease else ()
        for line in lines:
            page.stroke((0, 0, 0, 1), line, close=False, dash_mm=dash)
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    draft = ticket_draft(read, "art.pdf")
    assert "\ndie:" not in draft
    assert "\n#die:" in draft
    (tmp_path / "t.yaml").write_text(in_force(draft))
    (tmp_path / "press.yaml").write_text(SIX_UNITS.read_text())
    load_ticket(tmp_path / "t.yaml")


def test_lines_that_look_like_the_die_are_offered_as_that_and_have_no_unit(tmp_path):
    page = Drawing(220, 200).fill("Leaf Green", rect=(30, 60, 90, 120))
    page.spot("Never Used")
    draw_die(page, reverse_tuck(at=(10, 10)), cut="Werkzeug 7", crease="Linie B", crease_dash_mm=(2.0, 1.0))
    draft = in_force(ticket_draft(read_artwork(page.save(tmp_path / "art.pdf")).pages[0], "art.pdf"))
    (tmp_path / "t.yaml").write_text(draft)
    (tmp_path / "press.yaml").write_text(SIX_UNITS.read_text())
    stated = load_ticket(tmp_path / "t.yaml")
    kinds = {name: note.kind for name, note in stated.separations.items()}
    assert (kinds["Werkzeug 7"], kinds["Linie B"], kinds["Leaf Green"]) == ("cut", "crease", "spot")
    assert [entry.name for entry in stated.units or ()] == ["Leaf Green"]


def test_no_file_is_written_over(ticket, carton, capsys):
    before = ticket.read_text()
    assert run(["new", "ticket", str(carton), "--out", str(ticket)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert ticket.read_text() == before
    assert run(["new", "press", "--out", str(ticket)]) == 2


def test_a_place_that_takes_no_file_is_said(carton, tmp_path, capsys):
    assert run(["new", "press", "--out", str(tmp_path / "nowhere" / "p.yaml")]) == 6
    assert "cannot be written" in capsys.readouterr().err


def test_without_a_file_it_goes_to_standard_output(carton, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(["new", "ticket", "carton.pdf"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# yaml-language-server: $schema=ticket.schema.json\n")
    assert "\nartwork: carton.pdf " in out
    assert run(["new", "press"]) == 0
    assert capsys.readouterr().out == press_draft()


def test_a_press_loads_as_it_is_and_with_every_line_in_force(tmp_path):
    path = tmp_path / "press.yaml"
    path.write_text(press_draft())
    press = load_press(path)
    assert (press.name, press.unit_count, press.edges.gripper, press.cures) == (NAME, 4, None, None)
    path.write_text(in_force(press_draft()))
    press = load_press(path)
    assert (press.unit_count, press.edges.gripper, press.cures) == (6, 10, ("uv",))
    assert len(press.coaters) == 1
    assert press.sheet.smallest is not None


@pytest.mark.parametrize("what", ["ticket", "press"])
def test_editors_find_the_schema_beside_it_and_it_fits(what, carton, tmp_path, capsys):
    out = tmp_path / f"{what}.yaml"
    assert run(["new", what, *([str(carton)] if what == "ticket" else []), "--out", str(out)]) == 0
    assert run(["schema", "--write", str(tmp_path)]) == 0
    first = out.read_text().splitlines()[0]
    assert first == f"# yaml-language-server: $schema={what}.schema.json"
    schema = json.loads((tmp_path / f"{what}.schema.json").read_text())
    out.write_text(in_force(out.read_text()))
    assert list(Draft202012Validator(schema).iter_errors(load_yaml(out).data)) == []


SCHEMAS = ("press", "ticket", "rules", "checks", "report", "setup", "presses", "compare")


def test_all_schemas_are_written(tmp_path, capsys):
    assert run(["schema", "--write", str(tmp_path / "new" / "folder")]) == 0
    names = {path.name for path in (tmp_path / "new" / "folder").iterdir()}
    assert names == {f"{what}.schema.json" for what in SCHEMAS}
    assert str(tmp_path / "new" / "folder" / "press.schema.json") in capsys.readouterr().out
    (tmp_path / "file").write_text("")
    assert run(["schema", "--write", str(tmp_path / "file")]) == 6
    assert run(["schema"]) == 2
    assert run(["schema", "press", "--write", str(tmp_path)]) == 2


@pytest.mark.parametrize(
    "name",
    ["Moss Green", "a: b", "#1", "null", "none", "NO", "12:30", 'q"\\', "x\u2028\x07y", "😀", "- x", "{a}", "K", "x,y"],
)
def test_texts_are_read_back_as_they_are(name, tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(f"a: {text(name)}\nb: [{text(name)}, {text(name)}]\n{text(name)}: c\n", "utf-8")
    data = load_yaml(path).data
    assert (data["a"], data["b"], data[name]) == (name, [name, name], "c")
    assert sys.getdefaultencoding() == "utf-8"
