"""Tables of the rules folder that are kept between checks are read anew once their file has changed."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from preflight.errors import InvalidInput
from preflight.inputs.ink_names import needs_adhesive
from preflight.inputs.kind_names import classify, load_names
from preflight.inputs.loading import RULES_VARIABLE, rules_dir
from preflight.measures.one_ink import one_ink_groups


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """A rules folder of its own, which a service would have for as long as it runs."""
    copy = Path(tmp_path) / "rules"
    shutil.copytree(rules_dir(), copy)
    monkeypatch.setenv(RULES_VARIABLE, str(copy))
    return copy


def edit(file: Path, old: str, new: str, *, same_time: bool = False) -> None:
    """Replace words; ``same_time``: as on a file system whose clock is coarse."""
    text, before = file.read_text("utf-8"), file.stat().st_mtime_ns
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")
    os.utime(file, ns=(before, before if same_time else before + 1_000_000_000))


@pytest.mark.parametrize("same_time", [True, False], ids=["in the same moment", "later"])
def test_ink_names_follow_their_table(folder, same_time):
    names = ["Fern 20", "Fern 20 zz"]
    assert one_ink_groups(names) == []
    edit(folder / "inks.yaml", "    - c\n", "    - c\n    - zz\n", same_time=same_time)
    assert one_ink_groups(names) == [tuple(names)]


def test_foils_follow_their_table(folder):
    assert not needs_adhesive("Fern foil")
    edit(folder / "inks.yaml", "adhesive: [", "adhesive: [fern foil, ")
    assert needs_adhesive("Fern foil")


@pytest.mark.parametrize("same_time", [True, False], ids=["in the same moment", "later"])
def test_kinds_follow_their_table(folder, same_time):
    assert classify("Zurrkontur", load_names()) is None
    edit(folder / "names.yaml", "en: [cut, cuts,", "en: [zurrkontur, cut, cuts,", same_time=same_time)
    assert classify("Zurrkontur", load_names()) is not None


@pytest.mark.parametrize("renamed", [True, False], ids=["renamed into place", "written over"])
def test_a_table_of_the_same_size_and_time_is_read_anew(folder, tmp_path, renamed):
    """As ``cp -p`` and ``rsync -t`` leave it."""
    table = folder / "names.yaml"
    assert classify("cuq", load_names()) is None
    if renamed:
        shutil.copy2(table, tmp_path / "other.yaml")
    edit(tmp_path / "other.yaml" if renamed else table, "en: [cut, cuts,", "en: [cuq, cuts,", same_time=True)
    if renamed:
        (tmp_path / "other.yaml").replace(table)
    assert classify("cuq", load_names()) is not None


def test_a_table_that_has_gone_is_missed(folder):
    assert one_ink_groups(["Fern 20", "Fern 20 c"]) == [("Fern 20", "Fern 20 c")]
    (folder / "inks.yaml").unlink()
    with pytest.raises(InvalidInput):
        one_ink_groups(["Fern 20", "Fern 20 c"])
