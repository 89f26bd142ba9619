"""A YAML file as plain data with lines, and what a model has to say about it."""

from __future__ import annotations

from typing import Annotated

import pytest
from pydantic import Field

from preflight.errors import InputFault
from preflight.inputs.fields import ClosedKeys, Count, Length, OrEmpty, Text, short_form
from preflight.inputs.yaml_table import Table, build, described, key_text, keys_at, unknown_key


class Edge(ClosedKeys):
    gripper: Length | None = None
    tail: Length


class Entry(ClosedKeys):
    file: Text
    up: Count | None = None


class Other(ClosedKeys):
    depth: Length | None = None


class Model(ClosedKeys):
    name: Text = Field(alias="press")
    edges: Annotated[Edge, OrEmpty] | None = None
    entries: tuple[Annotated[Entry, short_form("file", {})], ...] = ()
    by_name: dict[str, Entry] = {}
    maybe: int | Other | None = None


DATA = {
    "press": "P",
    "edges": {"gripper": "1 mm", "tail": "2 mm"},
    "entries": ["a.pdf", {"file": "b.pdf", "up": "x"}],
    "by_name": {"n": {"file": "c.pdf"}},
}
LINES = {
    (): 1, ("press",): 2, ("edges",): 3, ("edges", "gripper"): 4, ("edges", "tail"): 5, ("entries",): 6,
    ("entries", 0): 7, ("entries", 1): 8, ("entries", 1, "file"): 8, ("entries", 1, "up"): 9, ("by_name",): 10,
    ("by_name", "n"): 11,
}  # fmt: skip


def table(**changes) -> Table:
    data = {key: value for key, value in {**DATA, **changes}.items() if value != "gone"}
    return Table("t.yaml", data, dict(LINES))


def faults(**changes) -> list[tuple[int, str, str]]:
    model, found = build(Model, table(**changes))
    assert model is None
    return [(fault.line, fault.key, fault.suggestion) for fault in found]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"press": "gone"}, [(1, "press", "")]),
        ({"edges": {"gripper": "1 mm"}}, [(3, "edges.tail", "")]),
        ({"edges": {"griper": "1 mm", "tail": "2 mm"}}, [(3, "edges.griper", "gripper")]),
        ({"edges": {"tail": "2 milimeter"}}, [(5, "edges.tail", "")]),
        ({"edges": "5 mm"}, [(3, "edges", "")]),
        ({"entries": "a.pdf"}, [(6, "entries", "[a.pdf]")]),
        ({"by_name": ["a"]}, [(10, "by_name", "")]),
        ({"by_name": {"n": {"flie": "x"}}}, [(11, "by_name.n.file", ""), (11, "by_name.n.flie", "file")]),
        ({"gripper": "1 mm"}, [(1, "gripper", "edges.gripper")]),
        ({"name": "P"}, [(1, "name", "by_name")]),  # as the field of press is called in Python, which is no key
    ],
)
def test_faults_stand_at_the_line_of_their_key(changes, expected):
    clean = {"entries": ["a.pdf"]}
    assert faults(**{**clean, **changes}) == expected


def test_faults_come_in_file_order():
    found = faults(press="gone", edges={"gripper": "x", "tail": "2 mm"})
    assert [line for line, _, _ in found] == [1, 4, 9]


def test_what_is_right_becomes_a_model():
    model, found = build(Model, table(entries=["a.pdf", {"file": "b.pdf", "up": "3"}]))
    assert found == []
    assert model is not None
    assert model.entries[1].up == 3
    assert model.edges is not None
    assert (model.edges.gripper, model.edges.tail) == (1, 2)


def test_a_part_of_the_table_is_built_by_itself():
    entry, found = build(Entry, table(), at=("entries", 1))
    assert entry is None
    assert [(fault.line, fault.key) for fault in found] == [(9, "entries[1].up")]
    edge, found = build(Edge, table(), at=("edges",))
    assert (edge and edge.tail, found) == (2, [])


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        ((), ["press", "edges", "entries", "by_name", "maybe"]),
        (("edges",), ["gripper", "tail"]),
        (("entries",), []),
        (("entries", 1), ["file", "up"]),
        (("by_name",), []),
        (("by_name", "x"), ["file", "up"]),
        (("maybe",), ["depth"]),
        (("press",), []),
        (("nothing",), []),
        (("edges", "tail"), []),
    ],
)
def test_keys_that_are_known_at_a_place(path, keys):
    assert keys_at(Model, path) == keys


@pytest.mark.parametrize(
    ("path", "known", "deeper", "meant"),
    [
        (("edgs",), ["edges", "entries"], (), "edges"),
        (("griper",), ["edges"], ["edges.gripper", "edges.tail"], "edges.gripper"),
        (("edge",), ["edges"], ["a.edge"], "a.edge"),  # the nearest wins, wherever it is
        (("edges2",), ["edges"], ["a.ledges"], "edges"),
        (("gripp",), [], ["edges.gripper"], "edges.gripper"),
        (("grip",), [], ["edges.gripper"], ""),  # further in only what must be a slip
        (("zzz",), ["edges"], ["edges.tail"], ""),
    ],
)
def test_the_nearest_known_key(path, known, deeper, meant):
    fault = unknown_key(table(), path, known, deeper)
    assert fault.suggestion == meant
    assert ("one of" in fault.expected) is bool(known)


@pytest.mark.parametrize(
    ("path", "line", "nearest"),
    [
        (("edges", "tail"), 5, ("edges", "tail")),
        (("edges", "tail", "x", 3), 5, ("edges", "tail")),
        (("edges", "sides"), 3, ("edges",)),
        (("none",), 1, ()),
    ],
)
def test_what_is_not_in_the_file_stands_at_what_is_around_it(path, line, nearest):
    assert (table().line(path), table().nearest(path)) == (line, nearest)


def test_a_table_without_lines_is_all_on_the_first():
    assert Table("t", None).line(("a", "b")) == 1


@pytest.mark.parametrize(
    ("path", "text"),
    [(("line", 2, "unit"), "line[2].unit"), ((3, "a"), "[3].a"), ((), ""), (("a", 0, 1), "a[0][1]")],
)
def test_a_path_as_it_is_shown(path, text):
    assert key_text(path) == text


def test_entries_of_a_list_go_by_their_names():
    named = Table("t", [], called={1: "gap-narrow"})
    assert named.key((1, "warn")) == "gap-narrow.warn"
    assert named.key((0, "warn")) == "[0].warn"
    assert named.key(("a", 1)) == "a[1]"
    assert named.key(()) == ""
    given = [InputFault("t", 1, key, "x", "y") for key in ("[1].warn", "[0].warn", "warn", "[12]", "[1]")]
    assert [fault.key for fault in named.with_names(given)] == [
        "gap-narrow.warn",
        "[0].warn",
        "warn",
        "[12]",
        "gap-narrow",
    ]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "nothing"),
        ({}, "an empty mapping"),
        ({"a": 1, "b": 2, "c": 3, "d": 4, "e": 5}, "a mapping (a, b, c, d)"),
        ([1, 2, 3], "a list of 3"),
        ((), "a list of 0"),
        ("a\x1bb", "'a?b'"),
        ("x" * 61, f"'{'x' * 61}'"),
        ("x" * 62, f"'{'x' * 60}…'"),
        (7, "'7'"),
    ],
)
def test_what_was_found_in_a_few_words(value, words):
    assert described(value) == words
