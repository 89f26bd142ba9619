"""The guard: what crashes, hangs or swells in the child could not be checked, and is never a pass."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.cli.main import run
from preflight.errors import ArtworkNotThere, ArtworkUnreadable, InvalidInput
from preflight.guarded import CouldNotBeChecked, Limits, check_guarded
from tests.drawn import Drawing

PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


@pytest.fixture
def press(tmp_path: Path) -> Path:
    path = tmp_path / "press.yaml"
    path.write_text(PRESS)
    return path


@pytest.fixture
def art(tmp_path: Path) -> Path:
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    drawing.fill("Leaf Green", rect=(2, 2, 98, 78))
    return drawing.save(tmp_path / "art.pdf")


def test_the_child_says_what_the_caller_would_have(art, press, tmp_path):
    guarded = check_guarded(art, press=press, reports=[tmp_path / "r.html"])
    assert guarded.document["separations"][0]["name"] == "Leaf Green"
    assert guarded.exit_status == run(["check", str(art), "--press", str(press), "--guarded"])
    assert (tmp_path / "r.html").exists()


@pytest.mark.parametrize(
    "limits", [Limits(address_space_bytes=200_000_000), Limits(wall_seconds=0)], ids=["memory", "clock"]
)
def test_at_a_limit_it_could_not_be_checked(art, press, limits):
    with pytest.raises(CouldNotBeChecked):
        check_guarded(art, press=press, limits=limits)


def test_a_child_that_is_killed_could_not_be_checked(art, press, monkeypatch):
    monkeypatch.setattr("preflight.guarded.sys.executable", "/bin/false")
    with pytest.raises(CouldNotBeChecked):
        check_guarded(art, press=press)


def test_refusals_come_back_as_they_are(art, press, tmp_path):
    (tmp_path / "no.pdf").write_text("no")
    with pytest.raises(ArtworkUnreadable) as refused:
        check_guarded(tmp_path / "no.pdf", press=press)
    assert not isinstance(refused.value, CouldNotBeChecked)
    with pytest.raises(ArtworkNotThere):
        check_guarded(tmp_path / "nowhere.pdf", press=press)
    press.write_text(PRESS.replace("units", "unitts"))
    with pytest.raises(InvalidInput) as wrong:
        check_guarded(art, press=press)
    assert "unitts" in {fault.key for fault in wrong.value.faults} | {fault.found for fault in wrong.value.faults}
    assert run(["check", str(art), "--press", str(press), "--guarded"]) == 4
