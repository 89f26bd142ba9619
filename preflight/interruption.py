"""Ctrl-C at any moment: what was begun is cleared away, one line is said, and the command ends with status 130.

Python's own way is an exception, which is lost where it comes up in a destructor or a callback and is a traceback where
a module is being imported; so the command takes the signal itself (``end_when_interrupted``). A program that uses the
package keeps Python's way, and nothing in here then changes anything for it.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

INTERRUPTED = 130
SAID = b"interrupted\n"
_ERASED_LINE = b"\r\x1b[2K"

_begun: dict[object, Callable[[], object]] = {}
_holding = 0
_waiting = False


def end_when_interrupted() -> None:
    """Have the first Ctrl-C clear away what was begun and end this process; left as it is where it is ignored."""
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        return
    own = os.getpid()

    def interrupted(_number: int, _frame: object) -> None:
        global _waiting
        if os.getpid() != own:  # a fork that has not gone its own way yet
            os._exit(INTERRUPTED)
        if _holding:
            _waiting = True
            return
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        clear_away()
        with suppress(OSError):
            on_a_screen = os.isatty(2) and os.environ.get("TERM") not in (None, "dumb", "unknown")
            os.write(2, (_ERASED_LINE if on_a_screen else b"") + SAID)
        os._exit(INTERRUPTED)

    signal.signal(signal.SIGINT, interrupted)


def begin(clear: Callable[[], object]) -> object:
    """Note something that must not outlive the process (a half file, another process), and how it is cleared away.

    Returns:
        what ``done`` takes once it is over.
    """
    token = object()
    _begun[token] = clear
    return token


def done(token: object) -> None:
    """What ``begin`` noted is over."""
    _begun.pop(token, None)


def clear_away() -> None:
    """Clear away all that was begun and is not done, the last first; what cannot be is passed over."""
    for clear in reversed(list(_begun.values())):
        with suppress(Exception):
            clear()


@contextmanager
def cleared_if_interrupted(clear: Callable[[], object]) -> Iterator[None]:
    """``begin`` and ``done`` round a block."""
    token = begin(clear)
    try:
        yield
    finally:
        done(token)


@contextmanager
def in_one_go() -> Iterator[None]:
    """An interruption waits until this block, which is over at once, has noted what it began."""
    global _holding
    _holding += 1
    try:
        yield
    finally:
        _holding -= 1
        if _waiting and not _holding:
            signal.raise_signal(signal.SIGINT)


@contextmanager
def folder_for_a_while() -> Iterator[str]:
    """A folder of one's own in the system's place for such, which goes with all that is in it.

    Raises:
        OSError: it cannot be made.
    """
    import shutil
    import tempfile
    from contextlib import ExitStack

    with ExitStack() as stack:
        with in_one_go():
            folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="preflight-"))
            stack.enter_context(cleared_if_interrupted(lambda: shutil.rmtree(folder, ignore_errors=True)))
        yield folder
