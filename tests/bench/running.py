"""Runs a command and measures it: wall time, processor seconds and memory, each over all of its processes.

A run that is timed is not disturbed; memory is sampled in a run of its own, since asking the system for it takes time.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
_BECOME_REAPER = 36
"""PR_SET_CHILD_SUBREAPER of Linux: processes whose parent has ended become ours, so that they can be counted."""
_SAMPLED_S = 0.01


@dataclass(frozen=True)
class Run:
    """What one command took."""

    seconds: float
    cpu_seconds: float
    """User and system time of all its processes."""
    megabytes: float
    """Greatest sum of the proportional set sizes of all its processes; 0 where it was not sampled."""
    status: int
    said: str


def measured(command: list[str], folder: Path, repeat: int, limit_s: float) -> Run:
    """Medians of several runs, and the memory of one more; a run that broke as it is."""
    runs = list[Run]()
    for sampled in [False] * repeat + [True]:
        runs.append(run(command, folder, limit_s, sampled=sampled))
        if runs[-1].status not in (0, 1):
            return runs[-1]
    timed, last = runs[:-1], runs[-1]
    seconds, cpu = median(one.seconds for one in timed), median(one.cpu_seconds for one in timed)
    return Run(seconds, cpu, last.megabytes, last.status, last.said)


def run(command: list[str], folder: Path, limit_s: float, *, sampled: bool) -> Run:
    """Runs a command in a session of its own to its end, or kills it at the limit."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_BECOME_REAPER, 1, 0, 0, 0)
    log = folder / "output.txt"
    # An empty cache for each run: what is timed is the first look at a file.
    with log.open("wb") as output, tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "XDG_CACHE_HOME": cache}
        start, peak = time.perf_counter(), 0.0
        process = subprocess.Popen(
            command, cwd=ROOT, stdout=output, stderr=subprocess.STDOUT, env=environment, start_new_session=True
        )
        while True:
            done, status, used = os.wait4(process.pid, os.WNOHANG)
            if done:
                break
            if time.perf_counter() - start > limit_s:
                os.killpg(process.pid, signal.SIGKILL)
            if sampled:
                peak = max(peak, _megabytes(process.pid))
            time.sleep(_SAMPLED_S if sampled else 0.002)
        seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    cpu = used.ru_utime + used.ru_stime + _left_behind()
    return Run(seconds, cpu, peak, process.returncode, log.read_text(errors="replace")[-400:])


def _left_behind() -> float:
    """Processor seconds of processes that the command had not waited for."""
    found = 0.0
    with contextlib.suppress(ChildProcessError):
        while True:
            _, _, used = os.wait4(-1, 0)
            found += used.ru_utime + used.ru_stime
    return found


def _megabytes(session: int) -> float:
    """Proportional set size of every process of a session, added up."""
    total = 0
    for entry in os.scandir("/proc"):
        if not entry.name.isdigit():
            continue
        with contextlib.suppress(OSError, ValueError, IndexError):
            if os.getsid(int(entry.name)) != session:
                continue
            for line in Path(entry.path, "smaps_rollup").read_text().splitlines():
                if line.startswith("Pss:"):
                    total += int(line.split()[1])
    return total / 1024
