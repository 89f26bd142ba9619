"""A separation whose name is Latin-1 and no UTF-8 goes through every command and every form of the report."""

from __future__ import annotations

import json
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Dictionary, Name

from preflight import check, check_guarded
from preflight.cli.main import run
from tests.drawn import Drawing

PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


@pytest.fixture
def art(tmp_path: Path) -> Path:
    """Fills in ``/Gr#FCn`` and, through a DeviceN space, ``/Stra#DFe``."""
    page = Drawing(100, 80, trim=(5, 5, 95, 75))
    tint = page.pdf.make_indirect(Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[1, 0, 1, 0]))
    space = pikepdf.Object.parse(b"[/Separation /Gr#FCn /DeviceCMYK null]")
    space[3] = tint
    page.resources.ColorSpace[Name.Odd] = page.pdf.make_indirect(space)
    two = pikepdf.Object.parse(b"[/DeviceN [/Stra#DFe /Gr#fcn] /DeviceCMYK null]")
    program = page.pdf.make_stream(
        b"{0 exch 0 exch 0}", FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1, 0, 1, 0, 1, 0, 1]
    )
    two[3] = program
    page.resources.ColorSpace[Name.Two] = page.pdf.make_indirect(two)
    page.raw("/Odd cs 1 scn 0 0 300 227 re f /Two cs 0.5 1 scn 60 60 100 100 re f")
    return page.save(tmp_path / "art.pdf")


@pytest.fixture
def ticket(tmp_path: Path, art) -> Path:
    (tmp_path / "press.yaml").write_text(PRESS)
    path = tmp_path / "ticket.yaml"
    path.write_text(
        "ticket: 1\nartwork: art.pdf\npress: press.yaml\nartwork_is: one-up\nunits: [Grün, Straße]\n"
        "separations: {Grün: metallic}\n",
        "utf-8",
    )
    return path


def test_the_name_is_matched_and_stands_in_every_report(ticket, tmp_path):
    with check(ticket) as report:
        separations = {s["name"]: s for s in report.separations}
        assert report.save_all([tmp_path / "r.html", tmp_path / "r.json"]) == []
    assert list(separations) == ["Grün", "Straße"]
    assert (separations["Grün"]["kind"], separations["Grün"]["units"]) == ("metallic", [1])
    assert separations["Straße"]["units"] == [2]
    assert "Grün" in (tmp_path / "r.html").read_text("utf-8")
    assert json.loads((tmp_path / "r.json").read_text("utf-8")) == report.document


@pytest.mark.parametrize("more", [[], ["--guarded"], ["--report", "-"], ["--no-cache"], ["-q"]])
def test_it_goes_through_the_command(more, ticket, capsys):
    assert run(["check", str(ticket), *more]) in (0, 1)
    out, err = capsys.readouterr()
    assert err == ""
    assert "Grün" in out or more == ["-q"]


def test_a_guarded_check_hands_it_back(ticket):
    document = check_guarded(ticket).document
    assert [s["name"] for s in document["separations"]] == ["Grün", "Straße"]


def test_kept_plates_have_it(ticket):
    one, two = check(ticket), check(ticket)
    assert one.document["separations"] == two.document["separations"]


def test_plates_are_named_for_it(art, tmp_path, capsys):
    assert run(["plates", str(art), "--out", str(tmp_path / "out")]) == 0
    entries = json.loads((tmp_path / "out" / "plates.json").read_text("utf-8"))
    assert [(entry["name"], entry["file"]) for entry in entries] == [
        ("Grün", "Gr%C3%BCn.png"),
        ("Straße", "Stra%C3%9Fe.png"),
    ]
    assert all((tmp_path / "out" / entry["file"]).exists() for entry in entries)
    assert "Grün" in capsys.readouterr().out


def test_a_ticket_drafted_from_it_names_it(art, tmp_path):
    assert run(["new", "ticket", str(art), "--out", str(tmp_path / "new.yaml")]) == 0
    assert '"Grün": spot' in (tmp_path / "new.yaml").read_text("utf-8")
