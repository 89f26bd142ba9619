"""The only way that anything unattended runs a check: a child with limits, speaking JSON, its traceback kept.

A file that makes the parser crash, hang or swell takes down the child and not its caller. What ends so *could not be
checked*; it is never a pass. The child writes the same reports and hands the document back as JSON. Where the tool
itself breaks, the document says so in place of a report:

    {"format": "preflight-fault/1", "file", "sentence", "advice", "traceback"}
"""

from __future__ import annotations

import ctypes
import gc
import json
import logging
import os
import signal
import subprocess
import sys
import sysconfig
import time
import traceback
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import asdict, dataclass
from errno import ENOMEM
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from preflight.errors import (
    CouldNotBeChecked,
    Crashed,
    ExitStatus,
    InputFault,
    InvalidInput,
    Killed,
    OutOfMemory,
    OutOfTime,
    PreflightError,
)
from preflight.interruption import cleared_if_interrupted, end_when_interrupted, folder_for_a_while, in_one_go
from preflight.report.saving import Shortfall, save, save_each, write_aside

if TYPE_CHECKING:
    from preflight.report.report import Report

PathLike = str | Path
_log = logging.getLogger(__name__)
FAULT_FORMAT: Final = "preflight-fault/1"
CHILD: Final = ("-P", "-m", "preflight.worker")
"""What our interpreter is told to run; without -P it would import from the current folder, where anything may lie."""
_CRASHES: Final = frozenset(
    getattr(signal, name, None) for name in ("SIGSEGV", "SIGBUS", "SIGABRT", "SIGFPE", "SIGILL", "SIGTRAP", "SIGSYS")
)
_SIGNAL_ON_PARENTS_DEATH: Final = 1
"""PR_SET_PDEATHSIG of Linux."""
_GRACE_SECONDS: Final = 2.0
"""Which a child that is interrupted has to clear away what it began."""
_HAS_GROUPS: Final = hasattr(os, "killpg")
_MOST_TOLD_BYTES: Final = 100_000
"""Of what the child wrote to standard error, the end: there a traceback stands."""


@dataclass(frozen=True)
class Limits:
    """What the child may use. Address space is more than memory in use: libraries map more than they touch."""

    address_space_bytes: int = 4_000_000_000
    cpu_seconds: int = 120
    wall_seconds: int = 180


@dataclass(frozen=True)
class GuardedReport:
    """What came back from the child."""

    document: dict[str, Any]
    """The report, ``preflight-report/1``; where the tool itself broke, ``preflight-fault/1``."""
    exit_status: ExitStatus
    """That of the verdict, whatever became of the reports."""
    unwritten: tuple[Shortfall, ...] = ()
    """Reports that were not written, or not whole."""

    @property
    def broke(self) -> bool:
        """Whether the tool itself broke, so that there is no report."""
        return bool(self.document["format"] == FAULT_FORMAT)


def check_guarded(
    subject: PathLike,
    *,
    press: PathLike | None = None,
    ticket: PathLike | None = None,
    rules: PathLike | Sequence[PathLike] = (),
    reports: Sequence[PathLike] = (),
    customer_report: PathLike | None = None,
    warnings_fail: bool = False,
    cache: bool = True,
    limits: Limits = Limits(),
) -> GuardedReport:
    """Check a job in a child process; see ``pipeline.check``.

    Where the tool itself breaks the exit status is 5, and the document, which is also written to the JSON reports that
    were asked for, has the traceback.

    Raises:
        OutOfTime, OutOfMemory, Crashed, Killed: the child came to no end.
        ArtworkUnreadable, InvalidInput, WrongUsage: as in ``pipeline.check``.
    """
    _log.info("checking %s in a child process", subject)
    with folder_for_a_while() as folder:
        asked, answer, told = (Path(folder) / name for name in ("order.json", "answer.json", "told.txt"))
        order = {
            "subject": str(subject),
            "press": press and str(press),
            "ticket": ticket and str(ticket),
            "rules": str(rules) if isinstance(rules, str | Path) else [str(path) for path in rules],
            "reports": [str(path) for path in reports],
            "customer_report": customer_report and str(customer_report),
            "warnings_fail": warnings_fail,
            "cache": cache,
            "answer": str(answer),
            "limits": asdict(limits),
            "caller": os.getpid(),
        }
        asked.write_text(json.dumps(order), "utf-8")
        why = _run_child(asked, told, limits)
        came = json.loads(answer.read_text("utf-8")) if answer.exists() else _no_answer(why, told, Path(subject))
    if "document" in came:
        late = [Shortfall(f"{path} was not written: {why}.", file=path) for path in came["to_be_written"]]
        unwritten = [Shortfall(**shortfall) for shortfall in came["unwritten"]]
        return GuardedReport(came["document"], ExitStatus(came["status"]), (*unwritten, *late))
    if "fault" in came:
        asked_for = [*reports, *([customer_report] if customer_report else [])]
        return _broke(came["fault"], [Path(path) for path in asked_for])
    if "faults" in came:
        raise InvalidInput([InputFault(**fault) for fault in came["faults"]])
    raise _kinds()[came["kind"]](came["error"])


@dataclass(frozen=True)
class _Ending:
    """How the child ended."""

    kind: type[CouldNotBeChecked]
    words: str
    broke: bool = False
    """It ended by itself with an error status: if it gave no answer, that was our own doing."""

    def __str__(self) -> str:
        return self.words


def _run_child(order: Path, told: Path, limits: Limits) -> _Ending:
    """Run the child to its end, or end it and what it started at the limit of time."""
    command = [sys.executable, *CHILD]  # our own interpreter and module, no shell
    with order.open("rb") as asked, told.open("wb") as said, ExitStack() as started:
        with in_one_go():
            child = subprocess.Popen(
                command,
                stdin=asked,
                stdout=subprocess.DEVNULL,
                stderr=said,
                env=_environment(),
                process_group=0 if _HAS_GROUPS else None,
            )
            started.enter_context(cleared_if_interrupted(partial(_interrupt, child)))
        try:
            child.wait(limits.wall_seconds)
        except subprocess.TimeoutExpired:
            return _Ending(OutOfTime, f"not finished after {limits.wall_seconds} s")
        finally:
            if child.poll() is None:
                if _HAS_GROUPS:  # and with it the second process that draws
                    os.killpg(child.pid, signal.SIGKILL)
                else:
                    child.kill()
                child.wait()
    return _ending(child.returncode, limits)


def _interrupt(child: subprocess.Popen[bytes]) -> None:
    """Hand an interruption on, so that the child clears away its half files, and end what is left of it."""
    if not _HAS_GROUPS:
        child.kill()
        return
    os.killpg(child.pid, signal.SIGINT)
    until = time.monotonic() + _GRACE_SECONDS
    with suppress(ChildProcessError):
        # Not child.wait(): the interruption may have come in the middle of that.
        while not os.waitpid(child.pid, os.WNOHANG)[0] and time.monotonic() < until:
            time.sleep(0.01)
    os.killpg(child.pid, signal.SIGKILL)


def _environment() -> dict[str, str]:
    """The caller's environment, in which the child finds this package where it is not installed."""
    package_in = str(Path(__file__).resolve().parents[1])
    # An empty entry would mean the current folder.
    folders = [folder for folder in os.environ.get("PYTHONPATH", "").split(os.pathsep) if folder]
    if package_in not in (sysconfig.get_path("purelib"), *folders):
        folders.insert(0, package_in)
    return {**os.environ, "PYTHONPATH": os.pathsep.join(folders)}


def _ending(status: int, limits: Limits) -> _Ending:
    """What an exit status of the child says; a negative one is that of a signal."""
    if status >= 0:
        return _Ending(Crashed, f"the process ended with status {status} before it had finished", broke=True)
    if status == -signal.SIGXCPU:
        return _Ending(OutOfTime, f"not finished after {limits.cpu_seconds} s of computing")
    try:
        name = f"{signal.Signals(-status).name}, signal {-status}"
    except ValueError:
        name = f"signal {-status}"
    if -status in _CRASHES:
        return _Ending(Crashed, f"the process crashed while it looked at the file ({name})")
    return _Ending(Killed, f"the process was stopped from outside ({name})")


def _no_answer(why: _Ending, told: Path, subject: Path) -> dict[str, Any]:
    """In place of an answer: that there is none, and why."""
    said = told.read_bytes()[-_MOST_TOLD_BYTES:].decode("utf-8", "replace")
    if not why.broke or "Traceback (most recent call last)" not in said:
        return {"kind": why.kind.__name__, "error": f"{subject.name} could not be checked: {why}"}
    last = said.rstrip().rpartition("\n")[2]
    if last.startswith(MemoryError.__name__):
        return _out_of_memory(subject)
    return _fault(subject, last, said)


def _out_of_memory(subject: Path) -> dict[str, Any]:
    words = f"{subject.name} could not be checked: it needs more memory than the limit"
    return {"kind": OutOfMemory.__name__, "error": words}


def _fault(subject: Path, broke: str, lines: str) -> dict[str, Any]:
    sentence = f"{subject.name} could not be checked: internal error ({broke})"
    document = {
        "format": FAULT_FORMAT,
        "file": subject.name,
        "sentence": sentence,
        "advice": PreflightError.advice,
        "traceback": lines,
    }
    return {"fault": document}


def _broke(document: dict[str, Any], reports: Sequence[Path]) -> GuardedReport:
    """The tool's own fault, written where JSON was asked for."""
    as_json = [path for path in reports if path.suffix.lower() == ".json"]
    others = [
        Shortfall(f"{path} was not written: internal error.", file=str(path)) for path in reports if path not in as_json
    ]
    unwritten = save_each(as_json, lambda path: save(document, [], path))
    return GuardedReport(document, ExitStatus.OWN_FAULT, (*unwritten, *others))


def _kinds() -> dict[str, type[PreflightError]]:
    """Every exception of the package by its name."""
    found, open_ends = dict[str, type[PreflightError]](), [PreflightError]
    while open_ends:
        kind = open_ends.pop()
        found[kind.__name__] = kind
        open_ends += kind.__subclasses__()
    return found


# In the child -------------------------------------------------------------------------------------------------------


def run_ordered(order: dict[str, Any]) -> None:
    """In the child: limits first, then the check, then the answer, written aside and renamed."""
    end_when_interrupted()
    _end_with(order["caller"])
    # Loaded before the limits hold: what does not fit then is the file's doing.
    from preflight.pipeline import check

    _limit(Limits(**order["limits"]))
    gc.set_threshold(100_000, 50, 100)  # as in the console command, which owns its process too
    try:
        with check(
            order["subject"],
            press=order["press"],
            ticket=order["ticket"],
            rules=order["rules"],
            cache=order["cache"],
        ) as report:
            answer = _document_first(report, order)
    except Exception as fault:
        answer = _said(fault, Path(order["subject"]))
    _hand_back(answer, order)


def _said(fault: Exception, subject: Path) -> dict[str, Any]:
    """What stopped the check, for the caller to raise or to report."""
    if _for_want_of_memory(fault):
        return _out_of_memory(subject)
    if isinstance(fault, InvalidInput):
        return {"faults": [asdict(each) for each in fault.faults]}
    if isinstance(fault, PreflightError) and fault.exit_status is not ExitStatus.OWN_FAULT:
        return {"error": str(fault), "kind": type(fault).__name__}
    return _fault(subject, f"{type(fault).__name__}: {fault}", "".join(traceback.format_exception(fault)))


def _for_want_of_memory(fault: BaseException | None) -> bool:
    """Whether this came of a limit of memory; libraries that are loaded late say it in words of their own."""
    while fault is not None:
        if isinstance(fault, MemoryError) or (isinstance(fault, OSError) and fault.errno == ENOMEM):
            return True
        if isinstance(fault, ImportError) and ("Cannot allocate" in str(fault) or "failed to map" in str(fault)):
            return True
        fault = fault.__cause__ or fault.__context__
    return False


def _document_first(report: Report, order: dict[str, Any]) -> dict[str, Any]:
    """The answer with the verdict, handed back before the reports are written, and then with what became of them."""
    customer = order["customer_report"]
    answer = {
        "document": report.document,
        "status": int(report.exit_status(warnings_fail=order["warnings_fail"])),
        "to_be_written": [*order["reports"], *([customer] if customer else [])],
        "unwritten": [],
    }
    if not answer["to_be_written"]:
        return answer
    _hand_back(answer, order)
    unwritten = [asdict(shortfall) for shortfall in report.save_all(order["reports"], customer)]
    return {**answer, "to_be_written": [], "unwritten": unwritten}


def _hand_back(answer: dict[str, Any], order: dict[str, Any]) -> None:
    write_aside(Path(order["answer"]), json.dumps(answer).encode("utf-8"))


def _end_with(caller: int) -> None:
    """Whoever kills the caller, so that it can end nothing any more, ends this process too."""
    if sys.platform != "linux":
        return
    ctypes.CDLL(None).prctl(_SIGNAL_ON_PARENTS_DEATH, signal.SIGKILL)
    if os.getppid() != caller:  # it was too late to ask for that
        os._exit(ExitStatus.INTERRUPTED)


def _limit(limits: Limits) -> None:
    try:
        import resource
    except ImportError:  # no such limits on this system; the caller's clock still holds
        return
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)  # whatever the caller made of it: at the limit it ends the child
    resource.setrlimit(resource.RLIMIT_AS, (limits.address_space_bytes, limits.address_space_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (limits.cpu_seconds, limits.cpu_seconds + 5))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    run_ordered(json.load(sys.stdin))
