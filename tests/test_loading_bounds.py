"""Bounds of what a YAML file may hold, each just held and just passed, and where a slip in its form is said to be."""

from __future__ import annotations

import os

import pytest

from preflight.errors import InvalidInput
from preflight.inputs import loading
from preflight.inputs.loading import (
    DEEPEST,
    MOST_BYTES,
    MOST_ENTRIES,
    load_press,
    load_ticket,
    load_yaml,
    read_table,
    state_of,
)

PRESS = "press: P\nsheet: {largest: 1000 x 700 mm}\nunits: [{}]\n"


@pytest.fixture
def write(tmp_path):
    def _write(text, name="t.yaml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return _write


def faults(load, path, **more):
    with pytest.raises(InvalidInput) as refusal:
        load(path, **more)
    return refusal.value.faults


def test_a_file_of_a_megabyte_is_read(write):
    comment = b"a: 1 #" + b"x" * (MOST_BYTES - 6)
    assert load_yaml(write(comment)).data == {"a": "1"}
    assert [fault.line for fault in faults(load_yaml, write(comment + b"x"))] == [0]


def test_as_many_entries_as_may_be(write):
    """The list is an entry of its own."""
    assert len(load_yaml(write("- x\n" * (MOST_ENTRIES - 1))).data) == MOST_ENTRIES - 1
    [fault] = faults(load_yaml, write("- x\n" * MOST_ENTRIES))
    assert fault.line == MOST_ENTRIES


def test_as_many_levels_as_may_be(write):
    assert load_yaml(write("[" * DEEPEST + "x" + "]" * DEEPEST)).data
    [fault] = faults(load_yaml, write("\n" + "[" * (DEEPEST + 1) + "x" + "]" * (DEEPEST + 1)))
    assert fault.line == 2


@pytest.mark.parametrize(("times", "read"), [(197, True), (198, False)])
def test_written_out_the_whole_stays_under_the_bound(write, times, read):
    """The mapping and its two keys, a hundred entries, and for each alias 101."""
    assert (3 + 100 + 101 * times <= MOST_ENTRIES) is read
    path = write("a: &a [" + "x, " * 99 + "x]\nb:\n" + "  - *a\n" * times)
    if read:
        assert len(load_yaml(path).data["b"]) == times
    else:
        assert len(faults(load_yaml, path)) == 1


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        ("a: 1\nb: [1,\n  2\n", 2, "b: [1,"),
        ("a: 1\nb: 'open\nc: 2\n", 2, "b: 'open"),
        ("a: 1\n  b: 2\n", 2, "b: 2"),
        ("a: 1\n \tb: 2\n", 2, "a tab"),
        ("a: 1\n...\n---\nb: 1\n", 3, "a second document"),
        ("a: 1\nb: &x 1\nc: *y\n", 3, "the alias"),
        ("a: 1\nb: !x 1\n", 2, "the tag"),
        ("a: 1\n[b]: 2\n", 2, "a key that is not text"),
        ("a: \x07\n", 0, "characters"),
        (b"a: 1\nb: 2\nc: \xff\n", 3, "UTF-8"),
        (b"\xfe\xff\0a", 0, "UTF-16"),
        (b"%PDF-1.7", 0, "a PDF"),
        (b"a\0b", 0, "binary"),
        ("# nothing\n", 1, "an empty file"),
    ],
)
def test_where_a_slip_in_the_form_is(write, text, line, found):
    [fault] = faults(load_yaml, write(text))
    assert fault.line == line
    assert found in fault.found


@pytest.mark.parametrize(
    ("text", "data", "found"),
    [
        ("a: {b: 0,45 mm, c: 1}", {"a": {"b": "0.45 mm", "c": "1"}}, ["'0,45 mm'"]),
        ("a: {b: 0,25 mm to 0,9 mm}", {"a": {"b": "0.25 mm to 0.9 mm"}}, ["'0,25 mm to 0,9 mm'"]),
        ("a: {b: 1,5, c: 2,5}", {"a": {"b": "1.5", "c": "2.5"}}, ["'1,5'", "'2,5'"]),
    ],
)
def test_a_decimal_comma_between_braces(write, text, data, found):
    table = read_table(write(text))
    assert table.data == data
    assert [fault.found for fault in table.faults] == found


@pytest.mark.parametrize(
    ("text", "data"),
    [
        ("a: {b: 0, 45: x}", {"a": {"b": "0", "45": "x"}}),
        ("a: {b: x, 45}", {"a": {"b": "x", "45": None}}),
        ("a: {b: '1', 45}", {"a": {"b": "1", "45": None}}),
        ("a: {b: 1, c}", {"a": {"b": "1", "c": None}}),
        ("a: {45}", {"a": {"45": None}}),
        ("a: {b: 1, 45: ''}", {"a": {"b": "1", "45": ""}}),
        ("b: 1\n45:\n", {"b": "1", "45": None}),
    ],
)
def test_what_is_no_decimal_comma(write, text, data):
    assert load_yaml(write(text)).data == data


def test_a_key_that_stands_three_times_is_two_faults(write):
    table = read_table(write("a: 1\nb:\n  c: 1\n  c: 2\na: 3\na: 4\n"))
    assert [(fault.line, fault.key) for fault in table.faults] == [(4, "b.c"), (5, "a"), (6, "a")]
    assert all(f"line {line}" in fault.expected for fault, line in zip(table.faults, (3, 1, 1), strict=True))
    assert table.data == {"a": "1", "b": {"c": "1"}}


def test_the_last_of_several_anchors_of_a_name_counts(write):
    assert load_yaml(write("a: &x 1\nb: &x 2\nc: *x\n")).data == {"a": "1", "b": "2", "c": "2"}


# What a file is taken for ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "mistaken"),
    [
        ("ticket: 1\nquantity: 5\n", True),
        ("press: P\nsheet: {}\nunits: []\n", False),  # keys that both have
        ("ticket: 1\nedges: {}\n", False),  # as many of the one as of the other
        ("ticket: 1\ntitle: T\nedges: {}\n", True),
        ("ticket: 1\nedges: {}\ncures: []\n", False),
    ],
)
def test_a_file_with_mostly_keys_of_a_ticket_is_no_press(write, text, mistaken):
    found = faults(load_press, write(text))
    assert any("job ticket" in fault.found for fault in found) is mistaken
    assert not mistaken or len(found) == 1


# Where a ticket points ---------------------------------------------------------------------------------------------


def test_a_file_of_nearly_the_name_is_looked_for_where_the_ticket_points(write, tmp_path):
    (tmp_path / "art").mkdir()
    write("%PDF", "art/sage-tea.pdf")
    write("%PDF", "sage-teas.pdf")
    found = faults(load_ticket, write("artwork: art/sage-tee.pdf\n"))
    assert [fault.suggestion for fault in found] == ["art/sage-tea.pdf"]


@pytest.mark.parametrize("given", [[], ["artwork"], ["press"], ["artwork", "press"]])
def test_what_is_given_need_not_be_there(write, given):
    path = write("artwork: [a.pdf, b.pdf]\npress: p.yaml\ndie: {file: d.pdf}\n")
    missing = {"artwork[0]", "artwork[1]", "press", "die.file"}
    expected = {key for key in missing if key.partition("[")[0] not in given}
    assert {fault.key for fault in faults(load_ticket, path, given=given)} == expected


def test_a_press_that_the_ticket_names_wrongly_is_not_opened(write):
    [fault] = faults(loading.load_job, write("press: nowhere.yaml\n"))
    assert fault.key == "press"


def test_the_press_is_the_one_given_else_the_tickets(write):
    write(PRESS, "one.yaml")
    other = write(PRESS.replace("press: P", "press: Q"), "other.yaml")
    ticket = write("press: one.yaml\n")
    assert [press and press.name for _, press in (loading.load_job(ticket), loading.load_job(ticket, press=other))] == [
        "P", "Q",
    ]  # fmt: skip


def test_the_state_of_a_file_changes_with_it(write, tmp_path):
    path = write("a: 1\n")
    before = state_of(path)
    assert before == state_of(path)
    path.write_text("a: 12\n")
    assert state_of(path) != before
    os.utime(path, ns=(1, 1))
    assert state_of(path)[2:] == (1, 6)
    assert state_of(tmp_path / "none") == ()
