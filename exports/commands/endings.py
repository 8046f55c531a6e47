"""How a command ends: exit codes, and one clear message for whatever went wrong."""

from __future__ import annotations

import errno
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

import typer

from planestock.params.problems import InputProblem

FINE = 0
"""All went well."""
CHECK_FAILED = 1
"""The set can be built, but a check fails."""
BAD_INPUT = 2
"""Something given cannot be used: a set, a value, an option, a place to write to."""
BROKE = 3
"""A fault of the program, of the solid kernel or of the machine."""
STOPPED = 130
"""Ended from the keyboard, as shells count it: 128 and the signal's number."""
ENDED_BY = ("SIGTERM", "SIGHUP")
"""Other signals that end a command as the keyboard does: the system asks it to end, its terminal is closed."""
READER_GONE = 141
"""What reads the output went away, as shells count it."""

STOPPED_WORDS = "stopped; no file was left half-written"

TRACEBACK = "PLANESTOCK_TRACEBACK"
"""Environment variable: set to anything, a fault shows where in the program it arose."""

MOST_PROBLEMS = 20
"""Problems listed in one message; the rest are counted."""

HOW_TO_REPORT = (
    "This is no mistake of yours. Please report this line together with the parameter set; "
    f"{TRACEBACK}=1 before the command adds where it arose."
)


def ended(command: Callable[[], int | None]) -> int:
    """Run a command and return its exit code; whatever it raises becomes a message on stderr, never a traceback."""
    try:
        with _ending_by_signals():
            code = command() or FINE
            sys.stdout.flush()
    except _Ended as asked:
        return _said(128 + asked.number, STOPPED_WORDS)
    except (KeyboardInterrupt, typer.Abort):
        code = STOPPED
    except SystemExit:  # The one exit that typer takes by itself: what reads the output went away.
        return _reader_gone()
    except Exception as error:  # noqa: BLE001 - the last guard: whatever it is, the user gets a message and a code
        return _told(error)
    return _said(STOPPED, STOPPED_WORDS) if code == STOPPED else code


class _Ended(BaseException):
    """One of `ENDED_BY` came. It passes wherever the keyboard's interrupt does, and clears up on its way.

    It is not that interrupt itself, which typer answers in its own way.
    """

    def __init__(self, number: int) -> None:
        self.number = number


@contextmanager
def _ending_by_signals() -> Iterator[None]:
    """Let `ENDED_BY` raise `_Ended` meanwhile; a signal that is ignored (nohup) or handled already stays so."""

    def end(number: int, _: object) -> None:
        raise _Ended(number)

    numbers = [getattr(signal, name) for name in ENDED_BY if hasattr(signal, name)]
    mine = threading.current_thread() is threading.main_thread()
    taken = [number for number in numbers if mine and signal.getsignal(number) is signal.SIG_DFL]
    for number in taken:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number in taken:
            signal.signal(number, signal.SIG_DFL)


def _told(error: Exception) -> int:
    """Say what an exception means, and return the exit code that goes with it."""
    if os.environ.get(TRACEBACK):
        import traceback

        traceback.print_exception(error)
    if isinstance(error, BrokenPipeError):
        return _reader_gone()
    if isinstance(error, InputProblem):
        return _said(BAD_INPUT, *_problems(error))
    if isinstance(error, _usage_error()):
        return _said(BAD_INPUT, error.format_message().strip(), hint=f"see {_command_of(error)} --help")
    lacking = isinstance(error, OSError | MemoryError) or type(error).__name__ == "Unavailable"
    return _said(BROKE, _fault(error), hint="" if lacking else HOW_TO_REPORT)


def _command_of(error: Exception) -> str:
    """Return the command that was used wrongly, as it is typed."""
    return str(getattr(getattr(error, "ctx", None), "command_path", "planestock"))


def _fault(error: Exception) -> str:
    first = (str(error).strip() or "no message").splitlines()[0]
    if isinstance(error, OSError):
        _drop_stdout()
        place = f"{error.filename}: " if error.filename else ""
        return (
            f"{place}{error.strerror or first}; {'free some space' if error.errno == errno.ENOSPC else 'look at that place'}"
        )
    if isinstance(error, MemoryError):
        return "there is not enough memory for this body"
    known = type(error).__name__ in {"KernelProblem", "Unavailable", "WriterFailed"}
    return first if known else f"something broke: {type(error).__name__}: {first}"


def _usage_error() -> type[typer.BadParameter]:
    """Return the base of the errors that typer raises on wrong usage; it is not public by a name of its own."""
    base: type[typer.BadParameter] = typer.BadParameter.__mro__[1]
    return base


def _problems(problem: InputProblem) -> list[str]:
    lines = str(problem).splitlines()
    more = len(lines) - MOST_PROBLEMS
    return lines if more <= 0 else [*lines[:MOST_PROBLEMS], f"and {more} more"]


def _said(code: int, *lines: str, hint: str = "") -> int:
    """Print lines to stderr, the program's name before the first, and return the code."""
    with suppress(OSError):  # Where stderr is gone too, nothing is left to say it on.
        for line in lines:
            print(f"planestock: {line}", file=sys.stderr)
        if hint:
            print(hint, file=sys.stderr)
    return code


def _reader_gone() -> int:
    """Leave quietly: what read our output has seen enough."""
    _drop_stdout()
    return READER_GONE


def _drop_stdout() -> None:
    """Send what is still to be printed nowhere: Python flushes stdout at its end, and would fail there once more."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
