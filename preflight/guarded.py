"""Checking in a child process with limits on memory and time, for files that nobody is watching.

A file that makes the parser crash, hang or swell takes down the child and not its caller. What ends so *could not be
checked*; it is never a pass. The child writes the same reports and hands the document back as JSON.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preflight.errors import (
    ArtworkEmpty,
    ArtworkNotThere,
    ArtworkUnreadable,
    CannotWrite,
    ExitStatus,
    InputFault,
    InvalidInput,
    PreflightError,
    WrongUsage,
)
from preflight.report.saving import Shortfall, write_aside

if TYPE_CHECKING:
    from preflight.report.report import Report


@dataclass(frozen=True)
class Limits:
    """What the child may use. Address space is more than memory in use: libraries map more than they touch."""

    address_space_bytes: int = 4_000_000_000
    cpu_seconds: int = 120
    wall_seconds: int = 180


class CouldNotBeChecked(ArtworkUnreadable):
    """The child crashed or reached a limit."""

    advice = "Nothing is known of this file; it is not released. Look at it by hand, or ask for it exported afresh."


@dataclass(frozen=True)
class GuardedReport:
    """What came back from the child."""

    document: dict[str, Any]
    exit_status: ExitStatus
    """That of the verdict, whatever became of the reports."""
    unwritten: tuple[Shortfall, ...] = ()
    """Reports that were not written, or not whole."""


def check_guarded(
    subject: Path, *, press: Path | None = None, ticket: Path | None = None, rules: Sequence[Path] = (),
    reports: Sequence[Path] = (), warnings_fail: bool = False, cache: bool = False, limits: Limits = Limits(),
) -> GuardedReport:  # fmt: skip
    """Check a job in a child process; see ``pipeline.check``.

    Raises:
        CouldNotBeChecked: the child crashed, or reached a limit.
        ArtworkUnreadable, InvalidInput, WrongUsage: as in ``pipeline.check``.
    """
    with tempfile.TemporaryDirectory(prefix="preflight-") as folder:
        answer = Path(folder) / "answer.json"
        order = {
            "subject": str(subject), "press": press and str(press), "ticket": ticket and str(ticket),
            "rules": [str(path) for path in rules], "reports": [str(path) for path in reports],
            "warnings_fail": warnings_fail, "cache": cache, "answer": str(answer), "limits": asdict(limits),
        }  # fmt: skip
        name = Path(subject).name
        try:
            ended = subprocess.run(  # our own interpreter and module, no shell
                [sys.executable, "-m", "preflight.guarded"], input=json.dumps(order), text=True, check=False,
                stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, timeout=limits.wall_seconds,
            )  # fmt: skip
            why = _why(ended.returncode, limits)
        except subprocess.TimeoutExpired:
            why = f"no end after {limits.wall_seconds} s"
        if not answer.exists():
            raise CouldNotBeChecked(f"{name} could not be checked: {why}")
        return _answered(json.loads(answer.read_text("utf-8")), why)


def _why(returncode: int, limits: Limits) -> str:
    if returncode in (-24, -9):  # SIGXCPU, then SIGKILL
        return f"no end after {limits.cpu_seconds} s of computing"
    if returncode < 0:
        return f"the parser crashed (signal {-returncode})"
    limit = f"{limits.address_space_bytes / 1e9:g} GB"
    return f"the parser stopped with status {returncode}, perhaps at the limit of {limit}"


def _answered(answer: dict[str, Any], why: str) -> GuardedReport:
    """What the child came to; ``why`` it ended, where it ended before its reports were written."""
    if "document" in answer:
        late = [Shortfall(f"{path} was not written: {why}.") for path in answer["to_be_written"]]
        unwritten = [Shortfall(**shortfall) for shortfall in answer["unwritten"]]
        return GuardedReport(answer["document"], ExitStatus(answer["status"]), (*unwritten, *late))
    if answer.get("memory"):
        raise CouldNotBeChecked(answer["error"])
    status = ExitStatus(answer["status"])
    if status is ExitStatus.INVALID_INPUT:
        raise InvalidInput([InputFault(**fault) for fault in answer["faults"]])
    raise next((kind for kind in _KINDS if kind.__name__ == answer.get("kind")), PreflightError)(answer["error"])


_KINDS: tuple[type[PreflightError], ...] = (ArtworkUnreadable, ArtworkNotThere, ArtworkEmpty, WrongUsage, CannotWrite)


def _child(order: dict[str, Any]) -> None:
    """In the child: limits first, then the check, then the answer, written aside and renamed."""
    _limit(Limits(**order["limits"]))
    from preflight.pipeline import check

    try:
        report = check(
            order["subject"],
            press=order["press"],
            ticket=order["ticket"],
            rules=order["rules"],
            cache=order["cache"],
        )
        answer = _document_first(report, order)
    except MemoryError:
        name = Path(order["subject"]).name
        answer = {"memory": True, "error": f"{name} could not be checked: it asks for more memory than the limit"}
    except InvalidInput as wrong:
        answer = {"status": int(wrong.exit_status), "faults": [asdict(fault) for fault in wrong.faults]}
    except PreflightError as error:
        answer = {"status": int(error.exit_status), "error": str(error), "kind": type(error).__name__}
    except Exception as fault:  # said by the caller, like every other
        answer = {"status": int(ExitStatus.OWN_FAULT), "error": f"{type(fault).__name__}: {fault}"}
    _hand_back(answer, order)


def _document_first(report: Report, order: dict[str, Any]) -> dict[str, Any]:
    """The answer with the verdict, handed back before the reports are written, and then with what became of them."""
    answer = {
        "document": report.document, "status": int(report.exit_status(warnings_fail=order["warnings_fail"])),
        "to_be_written": order["reports"], "unwritten": [],
    }  # fmt: skip
    if not order["reports"]:
        return answer
    _hand_back(answer, order)
    unwritten = [asdict(shortfall) for shortfall in report.save_all(order["reports"])]
    return {**answer, "to_be_written": [], "unwritten": unwritten}


def _hand_back(answer: dict[str, Any], order: dict[str, Any]) -> None:
    write_aside(Path(order["answer"]), json.dumps(answer).encode("utf-8"))


def _limit(limits: Limits) -> None:
    try:
        import resource
    except ImportError:  # no such limits on this system; the caller's clock still holds
        return
    resource.setrlimit(resource.RLIMIT_AS, (limits.address_space_bytes, limits.address_space_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (limits.cpu_seconds, limits.cpu_seconds + 5))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    _child(json.load(sys.stdin))
