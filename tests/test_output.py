"""What a check tells on standard output and standard error, and the exit status that it ends with."""

from __future__ import annotations

import errno
import io
import os
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from preflight.cli.output import Telling
from preflight.cli.streams import OUTPUT, _lasting, _UntilTheReaderGoes
from preflight.errors import ExitStatus
from preflight.report.saving import Shortfall

LACKS, MISSING = Shortfall("it lacks a picture", written=True), Shortfall("it was not written")


@pytest.mark.parametrize(
    ("verdict", "shortfalls", "status"),
    [
        (ExitStatus.OK, [], 0),
        (ExitStatus.OK, [LACKS], 0),
        (ExitStatus.OK, [MISSING], 6),
        (ExitStatus.OK, [LACKS, MISSING], 6),
        (ExitStatus.FAIL, [MISSING], 1),
        (ExitStatus.OWN_FAULT, [MISSING], 5),
    ],
)
def test_what_was_not_written_is_said_and_never_hides_a_verdict(verdict, shortfalls, status, capsys):
    assert Telling().ended(verdict, shortfalls) == status
    assert capsys.readouterr().err.splitlines() == [each.words for each in shortfalls]


def test_what_could_not_be_told_counts_at_the_end(capsys):
    telling = Telling()

    def broken() -> None:
        raise KeyError("no such thing")

    assert telling.tell(lambda: click.echo("told")) is True
    assert telling.tell(broken) is False
    assert telling.tell(lambda: click.echo("told again")) is True
    assert telling.ended(ExitStatus.OK, [LACKS]) == 6
    out, err = capsys.readouterr()
    assert out == "told\ntold again\n"
    assert [line.split()[0] for line in err.splitlines()] == ["it", "The"]
    assert "KeyError" in err


def test_where_output_takes_nothing_any_more_all_else_goes_to_standard_error(monkeypatch, capsys):
    telling, shown = Telling(), []
    monkeypatch.setattr("preflight.cli.output._output_goes_nowhere", lambda: shown.append("nowhere"))

    def full() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    assert telling.tell(full) is False
    assert telling.tell(lambda: shown.append("shown")) is False
    assert shown == ["nowhere"]
    telling.tell_plainly("fail", ["The gap\x1b is narrow."])
    assert telling.ended(ExitStatus.OK, []) == 6
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines()[:2] == ["The verdict is fail.", " - The gap[U+001B] is narrow."]
    assert "No space left on device" in err


def test_the_bare_verdict_goes_to_standard_output_where_that_works(capsys):
    Telling().tell_plainly("pass", [])
    assert capsys.readouterr() == ("The verdict is pass.\n", "")


# Streams -----------------------------------------------------------------------------------------------------------


def test_what_nobody_reads_any_more_counts_as_written():
    read, write = os.pipe()
    os.close(read)
    stream = _UntilTheReaderGoes(write, "w")
    assert stream.write(b"twelve bytes") == 12
    stream.close()


def test_another_fault_names_the_stream():
    class Full(io.FileIO):
        def write(self, data: Any, /) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

    class Stream(_UntilTheReaderGoes, Full):
        pass

    read, write = os.pipe()
    stream = Stream(write, "w")
    try:
        with pytest.raises(OSError, match="No space left") as fault:
            stream.write(b"x")
        assert (fault.value.errno, fault.value.filename) == (errno.ENOSPC, write)
    finally:
        stream.close()
        os.close(read)


def test_a_lasting_stream_is_as_the_one_in_whose_place_it_stands():
    read, write = os.pipe()
    own = io.TextIOWrapper(io.FileIO(write, "w"), encoding="latin-1", errors="replace", line_buffering=True)
    lasting = _lasting(own, write)
    assert (lasting.encoding, lasting.errors, lasting.line_buffering) == ("latin-1", "replace", True)
    lasting.write("é\n")
    assert os.read(read, 9) == b"\xe9\n"
    lasting.close()
    assert os.fstat(write)  # the number is still there
    own.close()
    os.close(read)


@pytest.mark.parametrize(
    ("buffered", "through", "by_line"), [(False, False, False), (False, True, True), (True, False, True)]
)
def test_it_is_written_line_by_line_where_the_other_was(buffered, through, by_line):
    read, write = os.pipe()
    own = io.TextIOWrapper(io.FileIO(write, "w"), line_buffering=buffered, write_through=through)
    assert _lasting(own, write).line_buffering is by_line
    own.close()
    os.close(read)


def test_a_stream_that_was_closed_has_one_that_leads_nowhere():
    with Path(os.devnull).open("wb") as nowhere:
        lasting = _lasting(None, nowhere.fileno())
        assert (lasting.encoding, lasting.errors, lasting.line_buffering) == ("utf-8", "backslashreplace", False)


def test_somebody_else_s_stream_is_left_alone():
    mine = io.StringIO()
    assert _lasting(mine, OUTPUT) is mine
    assert sys.stdout is not None
