"""What every test has in common: a cache folder of its own, so that no run leaves anything in the user's."""

from __future__ import annotations

import os

import pytest


@pytest.fixture(autouse=True)
def own_cache_folder(tmp_path_factory, monkeypatch):
    folder = tmp_path_factory.getbasetemp() / f"cache-{os.getpid()}"
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    return folder
